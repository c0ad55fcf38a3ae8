//! Cubic Hermite interpolation that never overshoots its points.
//!
//! Fritsch & Carlson, "Monotone piecewise cubic interpolation", SIAM J. Numer. Anal. 17 (1980) 238–246, with the
//! weighted harmonic mean of Fritsch & Butland (1984) for the inner slopes and the shape-preserving three-point
//! formula at the ends. Continuous with its first derivative.

/// Monotone interpolant of points with increasing arguments, constant outside them.
#[derive(Debug, Clone, PartialEq)]
pub struct MonotoneCubic {
    x: Vec<f64>,
    y: Vec<f64>,
    slope: Vec<f64>,
}

impl MonotoneCubic {
    /// Through the points (`x`, `y`); `None` unless there are at least two, all finite, with `x` increasing.
    pub fn through(x: &[f64], y: &[f64]) -> Option<Self> {
        let sound = x.len() >= 2
            && x.len() == y.len()
            && x.iter().chain(y).all(|v| v.is_finite())
            && x.windows(2).all(|p| p[1] > p[0]);
        sound.then(|| Self { x: x.to_vec(), y: y.to_vec(), slope: slopes(x, y) })
    }

    /// The points' arguments, increasing.
    pub fn arguments(&self) -> &[f64] {
        &self.x
    }

    /// The points' values.
    pub fn values(&self) -> &[f64] {
        &self.y
    }

    /// Value at `x`; outside the points the nearest end value.
    pub fn value(&self, x: f64) -> f64 {
        self.value_and_slope(x).0
    }

    /// Value and first derivative at `x`; outside the points the end value and zero.
    pub fn value_and_slope(&self, x: f64) -> (f64, f64) {
        let last = self.x.len() - 1;
        if x <= self.x[0] {
            let inside = if x == self.x[0] { self.slope[0] } else { 0.0 };
            return (self.y[0], inside);
        }
        if x >= self.x[last] {
            let inside = if x == self.x[last] { self.slope[last] } else { 0.0 };
            return (self.y[last], inside);
        }
        let i = self.piece(x);
        let h = self.x[i + 1] - self.x[i];
        let s = (x - self.x[i]) / h;
        let rise = self.y[i + 1] - self.y[i];
        let (d0, d1) = (self.slope[i] * h, self.slope[i + 1] * h);
        // Hermite form y0 + s d0 + s²(3 rise − 2 d0 − d1) + s³(d0 + d1 − 2 rise)
        let (c2, c3) = (3.0 * rise - 2.0 * d0 - d1, d0 + d1 - 2.0 * rise);
        (self.y[i] + s * (d0 + s * (c2 + s * c3)), (d0 + s * (2.0 * c2 + 3.0 * s * c3)) / h)
    }
}

impl MonotoneCubic {
    /// Index of the piece that contains `x`, which lies between the ends; the first guess is that of even knots.
    fn piece(&self, x: f64) -> usize {
        let last = self.x.len() - 1;
        let share = (x - self.x[0]) / (self.x[last] - self.x[0]);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a share from 0 to 1
        let even = ((share * last as f64) as usize).min(last - 1);
        if self.x[even] <= x && x < self.x[even + 1] {
            return even;
        }
        self.x.partition_point(|&knot| knot <= x) - 1
    }
}

fn slopes(x: &[f64], y: &[f64]) -> Vec<f64> {
    let h: Vec<f64> = x.windows(2).map(|p| p[1] - p[0]).collect();
    let secant: Vec<f64> = y.windows(2).zip(&h).map(|(p, h)| (p[1] - p[0]) / h).collect();
    let last = x.len() - 1;
    if last == 1 {
        return vec![secant[0]; 2];
    }
    let mut slope = vec![0.0; x.len()];
    for i in 1..last {
        if secant[i - 1] * secant[i] > 0.0 {
            let (w1, w2) = (2.0 * h[i] + h[i - 1], h[i] + 2.0 * h[i - 1]);
            slope[i] = (w1 + w2) / (w1 / secant[i - 1] + w2 / secant[i]);
        }
    }
    slope[0] = end_slope(h[0], h[1], secant[0], secant[1]);
    slope[last] = end_slope(h[last - 1], h[last - 2], secant[last - 1], secant[last - 2]);
    slope
}

/// One-sided three-point derivative, limited so that the end interval stays monotone.
fn end_slope(h0: f64, h1: f64, secant0: f64, secant1: f64) -> f64 {
    let slope = ((2.0 * h0 + h1) * secant0 - h0 * secant1) / (h0 + h1);
    if slope * secant0 <= 0.0 {
        0.0
    } else if secant0 * secant1 <= 0.0 && slope.abs() > 3.0 * secant0.abs() {
        3.0 * secant0
    } else {
        slope
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn reproduces_a_straight_line_and_its_slope() {
        let line = MonotoneCubic::through(&[0.0, 1.0, 3.0, 7.0], &[1.0, 3.0, 7.0, 15.0]).unwrap();
        for x in [0.0, 0.3, 2.2, 6.9, 7.0] {
            let (value, slope) = line.value_and_slope(x);
            assert_relative_eq!(value, 1.0 + 2.0 * x, max_relative = 1e-14);
            assert_relative_eq!(slope, 2.0, max_relative = 1e-13);
        }
    }

    #[test]
    fn never_overshoots_a_step() {
        let step = MonotoneCubic::through(&[0.0, 1.0, 1.1, 2.0], &[0.0, 0.0, 5.0, 5.0]).unwrap();
        for k in 0..=200 {
            let value = step.value(0.01 * f64::from(k));
            assert!((0.0..=5.0).contains(&value), "overshoot to {value} at {}", 0.01 * f64::from(k));
        }
    }

    #[test]
    fn pieces_of_uneven_knots_are_found() {
        let x = [0.0, 0.1, 0.15, 2.0, 2.1, 9.0, 9.5];
        let y = [1.0, 2.0, 4.0, 4.5, 7.0, 8.0, 11.0];
        let curve = MonotoneCubic::through(&x, &y).unwrap();
        for (x, y) in x.iter().zip(y) {
            assert_relative_eq!(curve.value(*x), y, max_relative = 1e-14);
            assert_relative_eq!(curve.value(x - 1e-9), y, max_relative = 1e-6);
        }
    }

    #[test]
    fn refuses_unordered_points() {
        assert!(MonotoneCubic::through(&[0.0, 0.0, 1.0], &[1.0, 2.0, 3.0]).is_none());
        assert!(MonotoneCubic::through(&[0.0], &[1.0]).is_none());
    }
}
