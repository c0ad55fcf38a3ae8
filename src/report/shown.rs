//! Values as the reader sees them: in his units, with no more digits than they are worth.

use super::tiles::figures_short;
use crate::plot::{Quantity, Units};

/// How values are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Shown {
    pub units: Units,
}

impl Shown {
    /// A value with its unit.
    pub fn with_unit(self, value: f64, quantity: Quantity) -> String {
        let unit = quantity.unit(self.units);
        let space = if unit.is_empty() || unit == "°" { "" } else { "\u{a0}" };
        format!("{}{space}{unit}", self.number(value, quantity))
    }

    /// A value without its unit, four figures.
    pub fn number(self, value: f64, quantity: Quantity) -> String {
        figures(value * quantity.factor(self.units))
    }

    /// A length at the precision of a drawing: hundredths of a millimetre, thousandths of an inch.
    pub fn size(self, value: f64) -> String {
        let value = value * Quantity::Length.factor(self.units);
        match self.units {
            Units::MillimetreNewton => format!("{value:.2}"),
            Units::InchPound => format!("{value:.3}"),
        }
    }

    /// The same with its unit.
    pub fn sized(self, value: f64) -> String {
        format!("{}\u{a0}{}", self.size(value), self.unit(Quantity::Length))
    }

    /// A length with its unit.
    pub fn length(self, value: f64) -> String {
        self.with_unit(value, Quantity::Length)
    }

    /// A force with its unit.
    pub fn force(self, value: f64) -> String {
        self.with_unit(value, Quantity::Force)
    }

    /// A stress with its unit.
    pub fn stress(self, value: f64) -> String {
        self.with_unit(value, Quantity::Stress)
    }

    /// A rate with its unit.
    pub fn rate(self, value: f64) -> String {
        self.with_unit(value, Quantity::Rate)
    }

    /// A value of a check, in the reader's unit where it is one of length, force or stress.
    pub fn in_unit(self, value: f64, unit: &str) -> String {
        match unit {
            "mm" => self.length(value),
            "N" => self.force(value),
            "MPa" => self.stress(value),
            "" => figures(value),
            "°" => format!("{}°", figures_short(value)),
            _ => format!("{}\u{a0}{unit}", figures_short(value)),
        }
    }

    /// A unit's sign.
    pub fn unit(self, quantity: Quantity) -> &'static str {
        quantity.unit(self.units)
    }
}

/// A number at four figures, with at most four decimals.
pub(super) fn figures(value: f64) -> String {
    // what would be written as a negative nothing is nothing
    let value = if value.abs() < 5e-5 { 0.0 } else { value };
    match value.abs() {
        v if v >= 999.95 => format!("{value:.0}"),
        v if v >= 99.995 => format!("{value:.1}"),
        v if v >= 9.9995 => format!("{value:.2}"),
        v if v >= 0.099_95 || v == 0.0 => format!("{value:.3}"),
        _ => format!("{value:.4}"),
    }
}

/// A sentence begins with a capital.
pub(super) fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

/// A number rounded to decimals, as it stands in the page's data.
pub(super) fn rounded(value: f64, decimals: i32) -> f64 {
    let tens = 10f64.powi(decimals);
    let value = (value * tens).round() / tens;
    // no negative nothing, and a place for what is none
    if value.is_finite() { value + 0.0 } else { 0.0 }
}

/// A number rounded to significant figures, as it stands in the page's data.
pub(super) fn significant(value: f64, figures: i32) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return 0.0;
    }
    // the exponent of a finite number is small
    #[allow(clippy::cast_possible_truncation)]
    let exponent = value.abs().log10().floor() as i32;
    rounded(value, (figures - 1 - exponent).clamp(-12, 15))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_the_digits_they_are_worth() {
        let read = [0.0, 0.01234, 0.5, 8.08, 62.348, 108.94, 1130.7].map(figures);
        assert_eq!(read, ["0.000", "0.0123", "0.500", "8.080", "62.35", "108.9", "1131"]);
        assert_eq!((figures(-1e-9), sentence("über")), ("0.000".to_owned(), "Über".to_owned()));
        let inch = Shown { units: Units::InchPound };
        assert_eq!(inch.sized(25.4), "1.000\u{a0}in");
        assert_eq!(inch.force(4.448_221_615), "1.000\u{a0}lbf");
        assert_eq!((significant(1234.567, 4), significant(-0.001_234_5, 3)), (1235.0, -0.001_23));
    }
}
