//! Units of both sheets: millimetre and newton, or inch and pound-force.

use crate::evaluation::Evaluation;
use crate::numeric::{Quantity, Units, decimal};
use crate::spec;

/// Units of a sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct SheetUnits(Units);

impl SheetUnits {
    /// The units that the shop asks for.
    pub(super) fn of(evaluation: &Evaluation) -> Self {
        Self(match evaluation.asked.checks.shop.units.unwrap_or_default() {
            spec::SheetUnits::MmN => Units::MillimetreNewton,
            spec::SheetUnits::InLbf => Units::InchPound,
        })
    }

    /// The sign of a quantity's unit.
    pub(super) fn unit(self, quantity: Quantity) -> &'static str {
        quantity.unit(self.0)
    }

    /// The unit of lengths in words.
    pub(super) fn length_words(self) -> &'static str {
        match self.0 {
            Units::MillimetreNewton => "millimetres",
            Units::InchPound => "inches",
        }
    }

    /// Factor from mm, N or N/mm.
    pub(super) fn factor(self, quantity: Quantity) -> f64 {
        quantity.factor(self.0)
    }

    /// Decimal places of a length that has `places` in millimetres: an inch has two more.
    pub(super) fn places(self, places: usize) -> usize {
        if self.0 == Units::InchPound { places + 2 } else { places }
    }

    /// A length (mm) with the places that it has in millimetres, without its unit.
    pub(super) fn length(self, mm: f64, places: usize) -> String {
        decimal(mm * self.factor(Quantity::Length), self.places(places))
    }

    /// A length (mm) with the places that it has in millimetres, and its unit.
    pub(super) fn with_unit(self, mm: f64, places: usize) -> String {
        format!("{} {}", self.length(mm, places), self.unit(Quantity::Length))
    }
}
