//! The likely cause of a measured curve that no deviation of the part explains, from the place where its rate departs
//! from the drawn one.

/// Groups of readings whose means are compared.
const GROUPS: usize = 12;
/// Rate over the drawn rate, against the first half of the travel, from which an arm touches.
const STIFFENS: f64 = 1.2;
/// The same below which an arm yields.
const SOFTENS: f64 = 0.83;
/// Standard deviations of a difference of two readings above which a drop is not noise.
const DROP: f64 = 5.0;
/// Least drop of the force over the largest one that counts as a slip.
const LEAST_DROP: f64 = 0.01;

/// The likely cause in words; `None` where the curve shows none. `x` (mm) increases; `measured`, `drawn` and `noise` in N.
pub(super) fn likely_cause(x: &[f64], measured: &[f64], drawn: &[f64], noise: f64) -> Option<String> {
    let largest = measured.iter().copied().fold(0.0, f64::max);
    let least = (DROP * std::f64::consts::SQRT_2 * noise).max(LEAST_DROP * largest);
    let drops = measured.windows(2).zip(drawn.windows(2)).map(|(f, d)| (d[1] - d[0]) - (f[1] - f[0]));
    let steps: Vec<f64> = measured.windows(2).map(|f| f[0] - f[1]).collect();
    if let Some((at, drop)) = drops
        .enumerate()
        .filter(|(i, drop)| *drop > least && steps[*i] > 0.0)
        .max_by(|a, b| a.1.total_cmp(&b.1))
    {
        return Some(format!(
            "at about {:.2} mm the force drops by {drop:.2} N against the drawn curve: rim or hub slips; clean and hold \
             the seats and measure again",
            x[at + 1]
        ));
    }
    let size = x.len().div_ceil(GROUPS).max(1);
    let mean = |list: &[f64]| -> Vec<f64> {
        list.chunks(size).map(|chunk| chunk.iter().map(|v| v / chunk.len() as f64).sum()).collect()
    };
    let (place, found, expected) = (mean(x), mean(measured), mean(drawn));
    let mut ratios = Vec::new();
    for k in 1..place.len() {
        let rise = expected[k] - expected[k - 1];
        ratios.push(if rise > 0.0 { (found[k] - found[k - 1]) / rise } else { 1.0 });
    }
    let mut first_half = ratios.get(..ratios.len() / 2)?.to_vec();
    first_half.sort_by(f64::total_cmp);
    let usual = *first_half.get(first_half.len() / 2)?;
    if usual <= 0.0 {
        return None;
    }
    let from = |holds: &dyn Fn(f64) -> bool| {
        let tail = ratios.iter().rev().take_while(|ratio| holds(**ratio / usual)).count();
        (tail > 0).then(|| ratios.len() - tail)
    };
    if let Some(k) = from(&|ratio| ratio > STIFFENS) {
        return Some(format!(
            "from about {:.2} mm the rate is {:.1} times the drawn one: an arm touches its neighbour or the fixture, or the \
             part bottoms early; look for burrs, marks and the hub's clearance",
            place[k],
            ratios[k..].iter().sum::<f64>() / (ratios.len() - k) as f64
        ));
    }
    from(&|ratio| ratio < SOFTENS).map(|k| {
        format!(
            "from about {:.2} mm the rate stays behind the drawn one: the arm yields, or the rim spreads; measure the free \
             height again after the test",
            place[k]
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn likely(measured: impl Fn(f64) -> f64) -> Option<String> {
        let x: Vec<f64> = (0..60).map(|k| 0.1 * f64::from(k)).collect();
        let drawn: Vec<f64> = x.iter().map(|x| 8.0 * x).collect();
        let found: Vec<f64> = x.iter().map(|x| measured(*x)).collect();
        likely_cause(&x, &found, &drawn, 0.01)
    }

    #[test]
    fn a_touch_a_slip_and_a_yield_are_told_apart_with_their_place() {
        let touch = likely(|x| 8.4 * x + 4.0 * (x - 3.5).max(0.0)).unwrap();
        assert!(touch.contains("touches") && touch.contains("from about 3."), "{touch}");
        let slip = likely(|x| 8.0 * x - if x > 3.05 { 2.0 } else { 0.0 }).unwrap();
        assert!(slip.contains("slips") && slip.contains("at about 3.10 mm"), "{slip}");
        let yielding = likely(|x| 8.0 * x - 4.0 * (x - 4.0).max(0.0)).unwrap();
        assert!(yielding.contains("yields"), "{yielding}");
    }

    #[test]
    fn a_part_that_is_only_stiffer_gives_no_cause() {
        assert_eq!(likely(|x| 9.0 * x), None);
    }
}
