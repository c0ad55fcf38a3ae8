//! Units of deflection and force, to mm and N.

use super::column::ColumnQuantity;
use crate::numeric::exact_units::{INCH, POUND_FORCE, STANDARD_GRAVITY};

/// Millimetres in the unit `text` names (lower case), if it is one of length that may stand in a header.
pub(super) fn length(text: &str) -> Option<f64> {
    Some(match text {
        "mm" => 1.0,
        "cm" => 10.0,
        "m" => 1000.0,
        "in" | "inch" | "inches" => INCH,
        // micro sign and Greek letter
        "µm" | "μm" | "um" => 1e-3,
        "thou" | "mil" => 1e-3 * INCH,
        _ => return None,
    })
}

/// Newtons in the unit `text` names (lower case), if it is one of force that may stand in a header.
pub(super) fn force(text: &str) -> Option<f64> {
    Some(match text {
        "n" => 1.0,
        "kn" => 1000.0,
        "kgf" => STANDARD_GRAVITY,
        "gf" | "g" => 1e-3 * STANDARD_GRAVITY,
        "lbf" | "lb" | "lbs" => POUND_FORCE,
        "ozf" | "oz" => POUND_FORCE / 16.0,
        _ => return None,
    })
}

/// Size of one unit `text` (as written) in the base unit of the quantity: mm, N or percent.
pub(super) fn factor(quantity: ColumnQuantity, text: &str) -> Option<f64> {
    let lower = text.to_lowercase();
    match quantity {
        ColumnQuantity::Deflection => length(&lower),
        // mN and MN would both be read as the same word: neither is taken
        ColumnQuantity::Force | ColumnQuantity::ForceMin | ColumnQuantity::ForceMax => force(&lower),
        ColumnQuantity::Tolerance => matches!(lower.as_str(), "percent" | "%").then_some(1.0),
    }
}

/// Whether `text` (lower case) names a unit of anything a header here may speak of.
pub(super) fn is_unit(text: &str) -> bool {
    length(text).is_some() || force(text).is_some() || matches!(text, "percent" | "%")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_unit_named_is_known_in_any_case() {
        for (text, value) in [
            ("mm", 1.0),
            ("CM", 10.0),
            ("m", 1000.0),
            ("In", 25.4),
            ("µm", 0.001),
            ("um", 0.001),
            ("thou", 0.0254),
            ("mil", 0.0254),
        ] {
            assert_eq!(factor(ColumnQuantity::Deflection, text), Some(value), "{text}");
        }
        // 1 ozf is a sixteenth of 1 lbf, 0.278 013 850 953 781 25 N (NIST SP 811, appendix B.8)
        for (text, value) in [
            ("N", 1.0),
            ("kN", 1000.0),
            ("KGF", 9.806_65),
            ("gf", 0.001 * 9.806_65),
            ("g", 0.001 * 9.806_65),
            ("ozf", 0.278_013_850_953_781_2),
            ("oz", 0.278_013_850_953_781_2),
        ] {
            assert_eq!(factor(ColumnQuantity::Force, text), Some(value), "{text}");
        }
    }

    #[test]
    fn a_unit_of_the_other_quantity_is_none_of_this_one() {
        assert_eq!(factor(ColumnQuantity::Force, "mm"), None);
        assert_eq!(factor(ColumnQuantity::Deflection, "N"), None);
        assert_eq!(factor(ColumnQuantity::Force, "mN"), None);
    }
}
