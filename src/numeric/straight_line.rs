//! Straight lines between points.

/// The value at `at` of the function that is straight between the points (`x`, `y`), the end values outside them.
pub fn straight_between(x: &[f64], y: &[f64], at: f64) -> f64 {
    let next = x.partition_point(|&knot| knot <= at);
    if next == 0 {
        return y.first().copied().unwrap_or(0.0);
    }
    if next >= x.len().min(y.len()) {
        return y.last().copied().unwrap_or(0.0);
    }
    let share = (at - x[next - 1]) / (x[next] - x[next - 1]);
    y[next - 1] * (1.0 - share) + y[next] * share
}
