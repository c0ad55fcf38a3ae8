//! Noise of a curve: the scatter of neighbouring points, and averages that reduce it.

use super::target::TargetCurve;

/// Points needed before scatter can be told from shape.
const FEWEST_POINTS: usize = 8;
/// Mean of the smallest three quarters of |z|, z standard normal: 2 (φ(0) − φ(1.1503))/0.75. Kinks and outliers are
/// among the rest.
const MEAN_OF_THREE_QUARTERS: f64 = 0.514_9;
/// Most scatter that is forgiven (percent of the error base): beyond it the points no longer describe a curve.
pub(super) const MOST_SCATTER_PERCENT: f64 = 3.0;

/// Scatter of the points about a smooth curve: standard deviation in percent of the error base.
///
/// Each point is compared with the straight line between its two neighbours (pseudo-residuals: Gasser, Sroka &
/// Jennen-Steinmetz, "Residual variance and residual pattern in nonlinear regression", Biometrika 73 (1986)
/// 625–633). A smooth bend passes for scatter too, but only with the square of the spacing over the range: with
/// eight points less than a tenth of what the bend itself departs from its chord.
pub(super) fn scatter_percent(target: &TargetCurve) -> f64 {
    let (x, y) = (&target.deflection, &target.force);
    if x.len() < FEWEST_POINTS {
        return 0.0;
    }
    let base = target.error_bases();
    let mut departures: Vec<f64> = (1..x.len() - 1)
        .map(|i| {
            let b = (x[i] - x[i - 1]) / (x[i + 1] - x[i - 1]);
            let a = 1.0 - b;
            let departure = y[i] - a * y[i - 1] - b * y[i + 1];
            100.0 * departure.abs() / ((1.0 + a * a + b * b).sqrt() * base[i])
        })
        .collect();
    departures.sort_by(f64::total_cmp);
    let share = departures.len() * 3 / 4;
    departures[..share].iter().sum::<f64>() / (share.max(1) as f64 * MEAN_OF_THREE_QUARTERS)
}

/// Scatter (percent) that is set aside in judging a curve of `count` points whose scatter was estimated.
///
/// Somewhat more than the estimate, which from few points is uncertain, but at most [`MOST_SCATTER_PERCENT`], and
/// less than that below forty points: few points do not prove that a departure is noise.
pub(super) fn forgiven_percent(scatter: f64, count: usize) -> f64 {
    const UNCERTAINTY: f64 = 3.5;
    const POINTS_FOR_PROOF: f64 = 40.0;
    let count = count.max(1) as f64;
    let most = MOST_SCATTER_PERCENT * (count / POINTS_FOR_PROOF).min(1.0);
    (scatter * (1.0 + UNCERTAINTY / count.sqrt())).min(most)
}

/// A curve averaged over equally many neighbouring points.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Averaged {
    /// mean deflection of each group (mm)
    pub deflection: Vec<f64>,
    /// mean force of each group (N)
    pub force: Vec<f64>,
    /// points in a group
    pub group: usize,
}

/// Averages groups of points until the scatter of a mean is at most `wanted_percent`, but leaves at least
/// a dozen groups.
pub(super) fn averaged(target: &TargetCurve, scatter: f64, wanted_percent: f64) -> Averaged {
    const FEWEST_GROUPS: usize = 12;
    let most = (target.len() / FEWEST_GROUPS).max(1);
    let mut group = 1;
    while group < most && scatter > wanted_percent * (group as f64).sqrt() {
        group += 1;
    }
    let mean = |list: &[f64]| -> Vec<f64> {
        list.chunks(group).map(|chunk| chunk.iter().map(|v| v / chunk.len() as f64).sum()).collect()
    };
    Averaged { deflection: mean(&target.deflection), force: mean(&target.force), group }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve(count: usize, force: impl Fn(usize, f64) -> f64) -> TargetCurve {
        let deflection: Vec<f64> = (0..count).map(|i| i as f64 / (count - 1) as f64).collect();
        let force = deflection.iter().enumerate().map(|(i, &x)| force(i, x)).collect();
        TargetCurve { deflection, force, ..TargetCurve::default() }
    }

    #[test]
    fn scatter_is_measured_and_shape_is_not() {
        let smooth = curve(200, |_, x| 10.0 * x * x);
        assert!(scatter_percent(&smooth) < 0.05, "{}", scatter_percent(&smooth));
        let kinked = curve(41, |_, x| if x < 0.5 { x } else { 5.0 * x - 2.0 });
        assert!(scatter_percent(&kinked) < 1e-9, "{}", scatter_percent(&kinked));
        // a fixed pattern of ±1 % without trend: its standard deviation is 1 %, its kurtosis not that of noise
        let pattern = [1.0, 1.0, -1.0, 1.0, -1.0, -1.0, 1.0, -1.0];
        let noisy = curve(800, |i, x| (10.0 + x) * (1.0 + 0.01 * pattern[(i * i / 3) % 8]));
        let found = scatter_percent(&noisy);
        assert!((0.6..=1.8).contains(&found), "{found}");
    }

    #[test]
    fn few_points_and_wild_ones_are_forgiven_less() {
        assert!((forgiven_percent(1.0, 10_000) - 1.035).abs() < 1e-12);
        assert!(forgiven_percent(1.0, 100) > 1.3);
        assert_eq!(forgiven_percent(5.0, 10_000), 3.0);
        assert_eq!(forgiven_percent(5.0, 10), 0.75);
        let drop = curve(10, |i, x| if i < 5 { 90.0 * x } else { 90.0 * x - 15.0 });
        assert!(scatter_percent(&drop) < 1e-9, "{}", scatter_percent(&drop));
    }

    #[test]
    fn averaging_stops_where_the_scatter_is_small_enough() {
        let line = curve(240, |_, x| x);
        assert_eq!(averaged(&line, 0.0, 0.25).group, 1);
        let means = averaged(&line, 1.0, 0.25);
        assert_eq!((means.group, means.force.len()), (16, 15));
        assert_eq!(averaged(&line, 3.0, 0.25).group, 20);
    }
}
