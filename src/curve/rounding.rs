//! Rounding the few sharp kinks of a regression, so that the curve bends as a spring's does.

/// Most by which rounding may lift the curve, in parts of the error base: well inside what counts as reachable.
const LARGEST_LIFT: f64 = 0.0025;

/// Adds to `values` (at increasing `x`) what rounds the kinks of a convex curve.
///
/// A kink of rise b at k becomes a parabola over k ± h: max(x − k, 0) averaged over that width, which is
/// (h + x − k)²/(4h) there and unchanged outside. The curve stays convex and is lifted by b h/4 at most, at the
/// kink. Each kink takes half the way to its neighbours, less where that would lift it too far; one that has no
/// point of `x` within its width stays as it is.
pub(super) fn round(origin: f64, kinks: &[f64], rises: &[f64], x: &[f64], values: &mut [f64]) {
    let (Some(&first), Some(&end)) = (x.first(), x.last()) else { return };
    let largest = values.iter().copied().fold(0.0, f64::max);
    let heights = values.to_vec();
    for (place, (&kink, &rise)) in kinks.iter().zip(rises).enumerate() {
        let before = if place == 0 { origin } else { kinks[place - 1] };
        let after = kinks.get(place + 1).copied().unwrap_or(end);
        let base = crate::numeric::straight_between(x, &heights, kink).max(0.1 * largest);
        let width = (0.5 * (kink - before))
            .min(0.5 * (after - kink))
            .min(kink - first)
            .min(4.0 * LARGEST_LIFT * base / rise);
        let inside = |x: f64| (x - kink).abs() < width;
        let from = x.partition_point(|&x| x <= kink - width);
        let to = x.partition_point(|&x| x < kink + width);
        let beside = x[from.min(to)..to].iter().filter(|&&x| x != kink && inside(x)).count();
        if beside < 2 {
            continue;
        }
        for i in from..to {
            values[i] += rise * (width - (x[i] - kink).abs()).powi(2) / (4.0 * width);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rounded_kink_is_convex_and_hardly_lifted() {
        let x: Vec<f64> = (0..=400).map(|i| 0.01 * f64::from(i)).collect();
        let sharp: Vec<f64> = x.iter().map(|&x| 10.0 * x + 5.0 * (x - 2.0).max(0.0)).collect();
        let mut rounded = sharp.clone();
        round(0.0, &[0.0, 2.0], &[10.0, 5.0], &x, &mut rounded);
        assert!(rounded[200] > sharp[200]);
        for (i, (sharp, rounded)) in sharp.iter().zip(&rounded).enumerate() {
            let lift = rounded - sharp;
            assert!((0.0..=LARGEST_LIFT * 20.0 + 1e-12).contains(&lift), "lifted by {lift} at {}", x[i]);
        }
        for three in rounded.windows(3) {
            assert!(three[2] - 2.0 * three[1] + three[0] > -1e-12, "{three:?}");
        }
        assert_eq!((rounded[0], rounded[400]), (sharp[0], sharp[400]));
    }

    #[test]
    fn kinks_at_every_point_stay_where_they_are() {
        let x = [0.0, 1.0, 2.0, 3.0];
        let mut values = [0.0, 1.0, 3.0, 6.0];
        round(0.0, &[0.0, 1.0, 2.0], &[1.0, 1.0, 1.0], &x, &mut values);
        assert_eq!(values, [0.0, 1.0, 3.0, 6.0]);
    }
}
