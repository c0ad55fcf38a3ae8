//! Gauss–Legendre quadrature on an interval.

/// Places of the two-point rule on \[0, 1\] (Abramowitz & Stegun, table 25.4); each weighs a half.
pub const TWO_POINT: [f64; 2] = [0.211_324_865_405_187_13, 0.788_675_134_594_812_9];

/// ∫ f from `a` to `b` by one two-point Gauss–Legendre rule: exact for polynomials up to degree three.
pub fn gauss2(a: f64, b: f64, f: impl Fn(f64) -> f64) -> f64 {
    let (middle, half) = (0.5 * (a + b), 0.5 * (b - a));
    let away = half / 3f64.sqrt();
    half * (f(middle - away) + f(middle + away))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn is_exact_for_degree_three() {
        assert_relative_eq!(gauss2(-1.0, 2.0, |x| 4.0 * x.powi(3)), 15.0, max_relative = 1e-13);
    }
}
