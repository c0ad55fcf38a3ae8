//! Tangent arcs along a smooth curve, to a measured error.
//!
//! Two arcs that meet tangentially (a biarc) take any pair of points with their tangents; the two lengths from the
//! ends to the corners of the control polygon are taken equal (Bolton, "Biarc curves", Computer-Aided Design 7 (1975)
//! 89–92). Where the curvature is linear in arc length a biarc of length h misses by |κ′| h³/324 (derived), so knots
//! at equal ∫|κ′|^⅓ ds share the error evenly; what misses by more when measured is halved.

use super::arc::{cross, dot, minus};
use super::{Arc, ArcChain, Point, Vertex};

/// Intervals in which curvature is sampled before knots are placed. Too few would miss a kink in the curvature, which
/// the measurement then finds, at the cost of a few arcs more.
const LOOKS: usize = 2000;

/// Points at which one biarc is measured against the curve.
const PROBES: usize = 24;

/// Share of the accuracy that the fit uses: the rest is for what lies between the probes and for rounded coordinates.
const USED: f64 = 0.95;

/// Largest angle of one biarc (rad); keeps each of its bulges well under 1.
const LARGEST_TURN: f64 = std::f64::consts::FRAC_PI_2;

/// Rounds of halving; each divides the error by eight.
const ROUNDS: usize = 18;

/// Rounds in which all pieces are made a little shorter before single ones are halved.
const EVEN_ROUNDS: usize = 6;

/// A place on a curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurvePoint {
    /// position (mm)
    pub position: Point,
    /// unit tangent
    pub tangent: Point,
    /// length per parameter (mm)
    pub speed: f64,
    /// curvature, positive to the left (1/mm)
    pub curvature: f64,
}

/// A smooth curve in the plane over a parameter.
pub trait PlaneCurve {
    /// First and last parameter.
    fn range(&self) -> [f64; 2];
    /// The place at a parameter.
    fn at(&self, parameter: f64) -> CurvePoint;
}

/// Arcs along a curve and how far they miss it.
#[derive(Debug, Clone, PartialEq)]
pub struct BiarcFit {
    /// the arcs, joined tangentially
    pub chain: ArcChain,
    /// largest distance measured from the curve to the arcs (mm)
    pub error: f64,
}

/// Reasons why arcs cannot follow a curve.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum BiarcError {
    /// The curve is not finite somewhere.
    #[error("the curve has no finite place at parameter {parameter}; check the numbers it is made from")]
    NotFinite {
        /// where
        parameter: f64,
    },
    /// The curve turns faster than arcs of the least length can follow.
    #[error(
        "arcs miss the curve by {error_mm} mm at parameter {parameter} where {accuracy_mm} mm is asked, and would \
         become shorter than {least_mm} mm; smooth the curve or ask for less"
    )]
    TooSharp {
        /// where
        parameter: f64,
        /// measured miss (mm)
        error_mm: f64,
        /// accuracy asked for (mm)
        accuracy_mm: f64,
        /// least length of an arc (mm)
        least_mm: f64,
    },
}

/// Fits tangent arcs to `curve` within `accuracy` (mm), none shorter than `least` (mm).
pub fn fit(curve: &impl PlaneCurve, accuracy: f64, least: f64) -> Result<BiarcFit, BiarcError> {
    let accuracy = USED * accuracy;
    let density = Density::of(curve, accuracy)?;
    let mut count = density.total().ceil().max(1.0);
    let mut knots = density.knots(count);
    let mut error = 0.0;
    for round in 0..=ROUNDS {
        let measured: Vec<f64> = knots.windows(2).map(|k| deviation(curve, k[0], k[1])).collect();
        error = measured.iter().copied().fold(0.0, f64::max);
        if error <= accuracy {
            break;
        }
        // a little too coarse everywhere: a few pieces more; far off somewhere: the curvature has a kink there
        if round < EVEN_ROUNDS && error < 4.0 * accuracy {
            count = (count + 1.0).max((count * (error / accuracy).cbrt()).floor());
            knots = density.knots(count);
            continue;
        }
        let mut finer = vec![knots[0]];
        for (pair, &miss) in knots.windows(2).zip(&measured) {
            if miss > accuracy {
                let middle = 0.5 * (pair[0] + pair[1]);
                let length = curve.at(middle).speed * (pair[1] - pair[0]);
                // a quarter of it is about the length of each new arc
                if 0.25 * length < least || round == ROUNDS {
                    return Err(BiarcError::TooSharp {
                        parameter: middle,
                        error_mm: miss,
                        accuracy_mm: accuracy / USED,
                        least_mm: least,
                    });
                }
                finer.push(middle);
            }
            finer.push(pair[1]);
        }
        knots = finer;
    }
    let mut vertices = Vec::with_capacity(2 * knots.len());
    for pair in knots.windows(2) {
        let arcs = biarc(&curve.at(pair[0]), &curve.at(pair[1]));
        vertices.extend(arcs.iter().map(|arc| Vertex { point: arc.start, bulge: arc.bulge }));
    }
    let last = curve.at(knots[knots.len() - 1]).position;
    vertices.push(Vertex { point: last, bulge: 0.0 });
    Ok(BiarcFit { chain: ArcChain { vertices, closed: false }, error })
}

/// The two arcs between two places with their tangents.
pub fn biarc(from: &CurvePoint, to: &CurvePoint) -> [Arc; 2] {
    let (p0, t0, p1, t1) = (from.position, from.tangent, to.position, to.tangent);
    let v = minus(p1, p0);
    let along = dot(v, [t0[0] + t1[0], t0[1] + t1[1]]);
    let square = dot(v, v);
    // positive root of 2(1 − t0·t1) d² + 2 v·(t0 + t1) d = v·v, in the form that does not cancel
    let reach = square / (along + (along * along + 2.0 * (1.0 - dot(t0, t1)) * square).sqrt());
    let joint =
        [0.5 * (p0[0] + p1[0] + reach * (t0[0] - t1[0])), 0.5 * (p0[1] + p1[1] + reach * (t0[1] - t1[1]))];
    // the chord turns by half the arc's angle from either tangent; the bulge is the tangent of half of that
    let bulge = |turn: f64, along: f64| turn / (turn.hypot(along) + along);
    let (first, second) = (minus(joint, p0), minus(p1, joint));
    [
        Arc { start: p0, end: joint, bulge: bulge(cross(t0, first), dot(t0, first)) },
        Arc { start: joint, end: p1, bulge: bulge(cross(second, t1), dot(second, t1)) },
    ]
}

/// How many biarcs a curve takes up to a parameter.
struct Density {
    parameter: Vec<f64>,
    sum: Vec<f64>,
}

impl Density {
    fn of(curve: &impl PlaneCurve, accuracy: f64) -> Result<Self, BiarcError> {
        let [from, to] = curve.range();
        let parameter: Vec<f64> = (0..=LOOKS).map(|i| from + (to - from) * i as f64 / LOOKS as f64).collect();
        let mut sum = Vec::with_capacity(LOOKS + 1);
        sum.push(0.0);
        let mut before = curve.at(from);
        for i in 1..=LOOKS {
            let here = curve.at(parameter[i]);
            let sound = here.position.iter().chain(&here.tangent).all(|v| v.is_finite())
                && here.speed.is_finite()
                && here.curvature.is_finite();
            if !sound {
                return Err(BiarcError::NotFinite { parameter: parameter[i] });
            }
            let step = 0.5 * (before.speed + here.speed) * (to - from) / LOOKS as f64;
            // |κ′|^⅓ ds = |Δκ|^⅓ ds^⅔
            let bend = (here.curvature - before.curvature).abs().cbrt() * step.powf(2.0 / 3.0);
            let turn = 0.5 * (before.curvature + here.curvature).abs() * step;
            let pieces = (bend / (324.0 * accuracy).cbrt()).max(turn / LARGEST_TURN);
            sum.push(sum[i - 1] + pieces);
            before = here;
        }
        Ok(Self { parameter, sum })
    }

    fn total(&self) -> f64 {
        self.sum[LOOKS]
    }

    /// Parameters that share the expected error evenly among `count` pieces.
    fn knots(&self, count: f64) -> Vec<f64> {
        let mut knots = vec![self.parameter[0]];
        let mut k = 1.0;
        while k < count {
            let wanted = self.total() * k / count;
            let i = self.sum.partition_point(|&s| s <= wanted).clamp(1, LOOKS);
            let share = (wanted - self.sum[i - 1]) / (self.sum[i] - self.sum[i - 1]);
            knots.push(self.parameter[i - 1] + share * (self.parameter[i] - self.parameter[i - 1]));
            k += 1.0;
        }
        knots.push(self.parameter[LOOKS]);
        knots
    }
}

/// Largest distance from the curve between two parameters to the biarc over them (mm).
fn deviation(curve: &impl PlaneCurve, from: f64, to: f64) -> f64 {
    let arcs = biarc(&curve.at(from), &curve.at(to));
    (1..PROBES)
        .map(|i| curve.at(from + (to - from) * i as f64 / PROBES as f64).position)
        .map(|point| arcs[0].nearest(point).1.min(arcs[1].nearest(point).1))
        .fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// r = a − bθ
    struct Spiral {
        a: f64,
        b: f64,
        turns: f64,
    }

    impl PlaneCurve for Spiral {
        fn range(&self) -> [f64; 2] {
            [0.0, std::f64::consts::TAU * self.turns]
        }

        fn at(&self, theta: f64) -> CurvePoint {
            let (r, d) = (self.a - self.b * theta, -self.b);
            let (sin, cos) = theta.sin_cos();
            let speed = r.hypot(d);
            CurvePoint {
                position: [r * cos, r * sin],
                tangent: [(d * cos - r * sin) / speed, (d * sin + r * cos) / speed],
                speed,
                curvature: (r * r + 2.0 * d * d) / speed.powi(3),
            }
        }
    }

    #[test]
    fn one_turn_of_a_spiral_takes_about_twenty_arcs_at_five_microns() {
        let spiral = Spiral { a: 45.0, b: 30.0 / std::f64::consts::TAU, turns: 1.0 };
        let found = fit(&spiral, 0.005, 0.05).unwrap();
        assert!(found.error <= 0.005, "missed by {}", found.error);
        assert!((16..=28).contains(&found.chain.len()), "{} arcs", found.chain.len());
        // an independent look, much finer than the fit's own
        let worst = (0..=20_000)
            .map(|i| spiral.at(f64::from(i) / 20_000.0 * spiral.range()[1]).position)
            .map(|point| found.chain.distance(point))
            .fold(0.0, f64::max);
        assert!(worst <= 0.005, "missed by {worst}");
    }

    #[test]
    fn arcs_join_without_a_corner() {
        let spiral = Spiral { a: 30.0, b: 1.5, turns: 2.5 };
        let chain = fit(&spiral, 0.002, 0.05).unwrap().chain;
        for i in 1..chain.len() {
            let (before, after) = (chain.arc(i - 1).tangent_at(1.0), chain.arc(i).tangent_at(0.0));
            assert!(cross(before, after).abs() < 1e-12, "corner of {} at {i}", cross(before, after));
        }
    }

    #[test]
    fn a_parallel_of_the_fit_is_as_near_to_the_parallel_curve() {
        let spiral = Spiral { a: 30.0, b: 1.5, turns: 2.0 };
        let parallel = fit(&spiral, 0.005, 0.05).unwrap().chain.parallel(0.7).unwrap();
        for i in 0..=2000 {
            let place = spiral.at(f64::from(i) / 2000.0 * spiral.range()[1]);
            let point =
                [place.position[0] - 0.7 * place.tangent[1], place.position[1] + 0.7 * place.tangent[0]];
            assert!(parallel.distance(point) <= 0.005);
        }
    }

    #[test]
    fn a_circle_is_drawn_exactly() {
        let circle = Spiral { a: 12.0, b: 0.0, turns: 0.9 };
        let found = fit(&circle, 0.005, 0.05).unwrap();
        assert!(found.error < 1e-12 && found.chain.len() <= 8, "{} arcs", found.chain.len());
        assert_relative_eq!(found.chain.length(), 0.9 * 12.0 * std::f64::consts::TAU, max_relative = 1e-12);
    }

    #[test]
    fn a_curve_without_finite_points_is_refused() {
        let spiral = Spiral { a: f64::NAN, b: 1.0, turns: 1.0 };
        assert!(matches!(fit(&spiral, 0.005, 0.05), Err(BiarcError::NotFinite { .. })));
    }
}
