//! Units that are exact by definition.

/// Millimetres in an inch (ISO 80000-3; international inch, 1959).
pub const INCH: f64 = 25.4;

/// Standard acceleration of free fall (m/s²), which makes the newtons in a kilogram-force (CGPM 1901).
pub const STANDARD_GRAVITY: f64 = 9.806_65;

/// Newtons in a pound-force: 0.453 592 37 kg (international pound, 1959) times the standard free fall (ISO 80000-4).
pub const POUND_FORCE: f64 = 4.448_221_615_260_5;

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_pound_force_is_a_pound_in_free_fall() {
        assert_relative_eq!(POUND_FORCE, 0.453_592_37 * STANDARD_GRAVITY, max_relative = 1e-15);
    }
}
