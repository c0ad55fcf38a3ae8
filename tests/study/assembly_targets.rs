//! Wanted curves that ask for assemblies, the same in the study and in the tests.

use flatspire::curve::TargetCurve;
use flatspire::spec::{AssemblyChoice, Brief, Fit};

use super::rising::rising;

/// A named job.
pub struct Job {
    /// name in the results
    pub name: String,
    /// wanted curve
    pub target: TargetCurve,
    /// brief
    pub brief: Brief,
}

fn sampled(from: f64, to: f64, points: i32, force: impl Fn(f64) -> f64) -> TargetCurve {
    let x: Vec<f64> = (0..=points).map(|k| from + (to - from) * f64::from(k) / f64::from(points)).collect();
    let f: Vec<f64> = x.iter().map(|x| force(*x)).collect();
    TargetCurve::points(&x, &f).through_zero().curve("job").expect("a curve")
}

fn brief(tolerance: f64, discs: Option<usize>) -> Brief {
    Brief {
        fit: Fit { tolerance_percent: Some(tolerance), ..Fit::default() },
        assembly: AssemblyChoice { discs_max: discs, ..AssemblyChoice::default() },
        ..Brief::default()
    }
}

/// Smooth step from 0 to 1 between two places.
fn step(x: f64, from: f64, to: f64) -> f64 {
    let s = ((x - from) / (to - from)).clamp(0.0, 1.0);
    s * s * (3.0 - 2.0 * s)
}

/// Force whose rate is given, by the trapezoidal rule.
fn integrated(to: f64, rate: impl Fn(f64) -> f64) -> impl Fn(f64) -> f64 {
    const PIECES: usize = 2000;
    let step = to / PIECES as f64;
    let mut force = vec![0.0];
    for k in 0..PIECES {
        let at = step * k as f64;
        force.push(force[k] + 0.5 * step * (rate(at) + rate(at + step)));
    }
    move |x: f64| {
        let place = (x / step).clamp(0.0, PIECES as f64);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        // between 0 and the number of pieces
        let k = (place as usize).min(PIECES - 1);
        force[k] + (place - k as f64) * (force[k + 1] - force[k])
    }
}

/// Curves drawn at random that are designed; the search for 3 takes several times as long as theirs.
const RISING: [u64; 7] = [0, 1, 2, 4, 5, 6, 7];

/// A curve drawn at random, of any curvature; sheet and arms are given, so that its search is short.
fn at_random(number: u64) -> Job {
    let mut brief = brief(2.0, None);
    brief.sheet.material = Some("1.4310+C1300".to_owned());
    brief.sheet.thickness = Some(vec![0.5, 0.8, 1.0, 1.25, 1.5, 2.0]);
    brief.arms.count = Some(vec![2, 3]);
    Job { name: format!("rising {number}"), target: rising(number), brief }
}

/// All jobs.
pub fn jobs() -> Vec<Job> {
    let job = |name: &str, target, brief| Job { name: name.to_owned(), target, brief };
    let mut constant = sampled(0.0, 5.0, 20, |_| 50.0);
    let edge = |force: f64| Some(vec![force; constant.deflection.len()]);
    let (low, high) = (edge(47.5), edge(52.5));
    (constant.force_min, constant.force_max) = (low, high);
    let named = vec![
        // rate 6 falls to 2 N/mm
        job("falling rate", sampled(0.0, 6.0, 24, |x| 6.0 * x - x * x / 3.0), brief(1.5, None)),
        // soft, hard, soft; falls by less than it starts with
        job(
            "soft, hard, soft within a pair",
            sampled(0.0, 8.0, 32, integrated(8.0, |x| 4.0 + 3.0 * (step(x, 2.0, 3.5) - step(x, 4.5, 6.0)))),
            brief(1.5, None),
        ),
        // rate 2, 8, 2 N/mm: falls by more than it starts with
        job(
            "soft, hard, soft",
            sampled(0.0, 8.0, 32, integrated(8.0, |x| 2.0 + 6.0 * (step(x, 2.0, 3.5) - step(x, 4.5, 6.0)))),
            brief(1.5, None),
        ),
        job(
            "corner",
            sampled(0.0, 7.0, 28, |x| if x < 3.5 { 4.0 * x } else { 14.0 + 18.0 * (x - 3.5) }),
            brief(1.0, None),
        ),
        job("constant force", constant, brief(1.5, None)),
        job("centring, soft middle", sampled(-4.0, 4.0, 32, |x| 1.5 * x + 0.1 * x * x * x), brief(1.5, None)),
        job("starting force", sampled(0.0, 6.0, 24, |x| 20.0 + 3.0 * x), brief(1.5, None)),
        // rate 0.5 N/mm up to 100 N/mm, the same factor for each mm
        job(
            "two hundredfold rate",
            sampled(0.0, 10.0, 40, integrated(10.0, |x| 0.5 * 200f64.powf(x / 10.0))),
            brief(1.5, None),
        ),
    ];
    named.into_iter().chain(RISING.map(at_random)).collect()
}
