//! Gauss–Legendre quadrature on an interval.

/// Abscissae and weights of the five-point rule on \[−1, 1\] (Abramowitz & Stegun, table 25.4).
const FIVE_POINT: [(f64, f64); 5] = [
    (-0.906_179_845_938_664, 0.236_926_885_056_189_08),
    (-0.538_469_310_105_683_1, 0.478_628_670_499_366_47),
    (0.0, 0.568_888_888_888_888_9),
    (0.538_469_310_105_683_1, 0.478_628_670_499_366_47),
    (0.906_179_845_938_664, 0.236_926_885_056_189_08),
];

/// ∫ f from `a` to `b` by one five-point Gauss–Legendre rule: exact for polynomials up to degree nine.
pub fn gauss5(a: f64, b: f64, f: impl Fn(f64) -> f64) -> f64 {
    let (middle, half) = (0.5 * (a + b), 0.5 * (b - a));
    half * FIVE_POINT.iter().map(|&(x, weight)| weight * f(middle + half * x)).sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn is_exact_for_degree_nine() {
        assert_relative_eq!(gauss5(-1.0, 2.0, |x| 10.0 * x.powi(9)), 1023.0, max_relative = 1e-13);
    }
}
