//! Values in the reader's units, at significant digits.

use crate::numeric::{Quantity, Units, decimal, figures, grouped, rounded, with_unit};

/// Format of values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Shown {
    pub units: Units,
}

impl Shown {
    /// A value with its unit.
    pub fn with_unit(self, value: f64, quantity: Quantity) -> String {
        with_unit(value, quantity, self.units).replace(' ', "\u{a0}")
    }

    /// A value without its unit, four figures.
    pub fn number(self, value: f64, quantity: Quantity) -> String {
        figures(value * quantity.factor(self.units))
    }

    /// A value without its unit and without trailing zeros, one decimal at most.
    pub fn short_number(self, value: f64, quantity: Quantity) -> String {
        rounded(value * quantity.factor(self.units), 1).to_string()
    }

    /// A length at the precision of a drawing: hundredths of a millimetre, thousandths of an inch.
    pub fn size(self, value: f64) -> String {
        let value = value * Quantity::Length.factor(self.units);
        match self.units {
            Units::MillimetreNewton => decimal(value, 2),
            Units::InchPound => decimal(value, 3),
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
            "°" => format!("{}°", grouped(value)),
            _ => format!("{}\u{a0}{unit}", grouped(value)),
        }
    }

    /// A unit's sign.
    pub fn unit(self, quantity: Quantity) -> &'static str {
        quantity.unit(self.units)
    }
}

/// A sentence begins with a capital.
pub(super) fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_in_the_readers_units() {
        assert_eq!(sentence("über"), "Über");
        let inch = Shown { units: Units::InchPound };
        assert_eq!(inch.sized(25.4), "1.000\u{a0}in");
        assert_eq!(inch.force(4.448_221_615), "1.000\u{a0}lbf");
    }
}
