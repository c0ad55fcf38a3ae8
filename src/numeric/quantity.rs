//! Quantities that are shown and their units.

use super::exact_units::{INCH, POUND_FORCE};

/// Units of the reader. Values always come in mm, N, N/mm and MPa.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Units {
    /// mm, N, N/mm, MPa
    #[default]
    MillimetreNewton,
    /// in, lbf, lbf/in, ksi
    InchPound,
}

/// Physical quantity of a shown value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// mm or in
    Length,
    /// N or lbf
    Force,
    /// N/mm or lbf/in
    Rate,
    /// MPa or ksi
    Stress,
    /// g or oz
    Mass,
    /// J or in·lbf
    Energy,
    /// g/cm³ or lb/in³
    Density,
    /// degrees
    Angle,
    /// no unit
    Share,
}

impl Quantity {
    /// Sign of the unit; empty for a share, which has no unit.
    pub fn unit(self, units: Units) -> &'static str {
        match (self, units) {
            (Self::Length, Units::MillimetreNewton) => "mm",
            (Self::Length, Units::InchPound) => "in",
            (Self::Force, Units::MillimetreNewton) => "N",
            (Self::Force, Units::InchPound) => "lbf",
            (Self::Rate, Units::MillimetreNewton) => "N/mm",
            (Self::Rate, Units::InchPound) => "lbf/in",
            (Self::Stress, Units::MillimetreNewton) => "MPa",
            (Self::Stress, Units::InchPound) => "ksi",
            (Self::Mass, Units::MillimetreNewton) => "g",
            (Self::Mass, Units::InchPound) => "oz",
            (Self::Energy, Units::MillimetreNewton) => "J",
            (Self::Energy, Units::InchPound) => "in·lbf",
            (Self::Density, Units::MillimetreNewton) => "g/cm³",
            (Self::Density, Units::InchPound) => "lb/in³",
            (Self::Angle, _) => "°",
            (Self::Share, _) => "",
        }
    }

    /// Factor from mm, N, N/mm, MPa, g, J or g/cm³ to the shown unit.
    pub fn factor(self, units: Units) -> f64 {
        match (self, units) {
            (Self::Length, Units::InchPound) => 1.0 / INCH,
            (Self::Force, Units::InchPound) => 1.0 / POUND_FORCE,
            (Self::Rate, Units::InchPound) => INCH / POUND_FORCE,
            (Self::Stress, Units::InchPound) => INCH * INCH / POUND_FORCE / 1000.0,
            (Self::Mass, Units::InchPound) => 1.0 / OUNCE_GRAMS,
            (Self::Energy, Units::InchPound) => 1000.0 / (INCH * POUND_FORCE),
            (Self::Density, Units::InchPound) => (0.1 * INCH).powi(3) / (16.0 * OUNCE_GRAMS),
            _ => 1.0,
        }
    }
}

/// An avoirdupois ounce in grams, exact: a sixteenth of 453.59237 g.
const OUNCE_GRAMS: f64 = 28.349_523_125;

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn pounds_and_inches_are_those_of_the_handbooks() {
        // 1 ksi = 6.894757 MPa, 1 lbf/in = 0.1751268 N/mm (NIST SP 811, appendix B)
        assert_relative_eq!(Quantity::Stress.factor(Units::InchPound) * 6.894_757, 1.0, max_relative = 1e-6);
        assert_relative_eq!(Quantity::Rate.factor(Units::InchPound) * 0.175_126_8, 1.0, max_relative = 1e-6);
        // 1 lb/in³ = 27.67990 g/cm³ (NIST SP 811, appendix B)
        assert_relative_eq!(Quantity::Density.factor(Units::InchPound) * 27.679_90, 1.0, max_relative = 1e-6);
        assert_eq!(Quantity::Force.factor(Units::MillimetreNewton), 1.0);
    }
}
