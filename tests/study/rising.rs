//! Rising curves drawn at random, of any curvature: the rate wanders, rises and falls again, within a twentyfold range and
//! beyond.

use flatspire::curve::TargetCurve;

use super::draw::Draw;

/// Pieces of the rate, and points of the curve.
const PIECES: usize = 600;
/// See [`PIECES`].
const POINTS: usize = 40;
/// Range of the rate of a curve of one sort.
const RANGE: f64 = 20.0;
/// Stretches of the other sorts.
const STRETCHES: usize = 24;

/// The curve of this number, the same one every time: 4 to 10 mm, 1 to 10 N/mm in the mean.
pub fn rising(number: u64) -> TargetCurve {
    let mut draw = Draw(0x0071_5196 + number);
    let travel = draw.between(4.0, 10.0);
    let force = draw.scale(1.0, 10.0) * travel;
    let rate = match number % 5 {
        0 | 1 => levels(&mut draw),
        2 => steps(&mut draw),
        3 => walk(&mut draw),
        _ => stretches(&mut draw),
    };
    let mut sum = vec![0.0];
    for k in 0..PIECES {
        sum.push(sum[k] + rate((k as f64 + 0.5) / PIECES as f64));
    }
    let every = PIECES / POINTS;
    let x: Vec<f64> = (0..=POINTS).map(|i| travel * i as f64 / POINTS as f64).collect();
    let f: Vec<f64> = (0..=POINTS).map(|i| force * sum[every * i] / sum[PIECES]).collect();
    TargetCurve::points(&x, &f).curve("rising").expect("a curve that rises")
}

/// Straight between evenly spread values on a logarithmic scale.
fn between(values: Vec<f64>) -> impl Fn(f64) -> f64 {
    move |s| {
        let place = s * (values.len() - 1) as f64;
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        // between 0 and the number of values
        let k = (place as usize).min(values.len() - 2);
        (values[k] + (place - k as f64) * (values[k + 1] - values[k])).exp()
    }
}

/// Two to five rates of a twentyfold range, evenly spread, smooth in between.
fn levels(draw: &mut Draw) -> Box<dyn Fn(f64) -> f64> {
    let count = 2 + draw.one_of(4);
    Box::new(between((0..count).map(|_| draw.between(0.0, RANGE.ln())).collect()))
}

/// One to three steps, each up to twentyfold, up or down, sharp or wide.
fn steps(draw: &mut Draw) -> Box<dyn Fn(f64) -> f64> {
    let count = 1 + draw.one_of(3);
    let steps: Vec<[f64; 3]> = (0..count)
        .map(|_| [draw.between(0.0, 1.0), draw.between(0.05, 0.35), draw.scale(1.0 / RANGE, RANGE)])
        .collect();
    Box::new(move |s| {
        let step = |[at, wide, factor]: &[f64; 3]| {
            let share = ((s - at) / (2.0 * wide) + 0.5).clamp(0.0, 1.0);
            factor.powf(share * share * (3.0 - 2.0 * share))
        };
        steps.iter().map(step).product()
    })
}

/// A random walk of the rate's logarithm.
fn walk(draw: &mut Draw) -> Box<dyn Fn(f64) -> f64> {
    let mut values = vec![0.0];
    for k in 0..STRETCHES {
        // as wide as normal steps that come to a standard deviation of one
        values.push(values[k] + draw.between(-1.0, 1.0) * (3.0 / STRETCHES as f64).sqrt());
    }
    Box::new(between(values))
}

/// Four stretches of constant rate, each up to three times or a third of the one before.
fn stretches(draw: &mut Draw) -> Box<dyn Fn(f64) -> f64> {
    let mut rates = vec![1.0];
    for k in 0..3 {
        rates.push(rates[k] * draw.scale(1.0 / 3.0, 3.0));
    }
    Box::new(move |s| {
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 0 to 3
        let k = ((4.0 * s) as usize).min(3);
        rates[k]
    })
}
