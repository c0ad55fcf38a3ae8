//! The curve that is asked for.

use serde::Serialize;

use super::branch::{mean, runs_of_equal, turning_point};
use super::choice::BranchChoice;
use super::choice::ReadChoice;
use super::column::ColumnQuantity;
use super::error::CurveError;
use super::header::Origin;
use super::measurement::{self, TESTERS_ZERO};
use super::table::{self, Points};
use crate::numeric::straight_between;

/// Points at different deflections a curve needs: two make a straight line.
const FEWEST_POINTS: usize = 2;
/// Points on the line that two points stand for.
const LINE_POINTS: usize = 11;
/// Points at different deflections of a rise before its fall is taken for unloading.
const FEWEST_OF_RISE: usize = 3;

/// A wanted force-deflection curve. All arrays have the same length. Only [`read_both_sides`] and
/// [`CurvePoints::through_zero`](super::CurvePoints::through_zero) give one with deflection and force below zero on one side.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct TargetCurve {
    /// deflection (mm), strictly increasing, none negative
    pub deflection: Vec<f64>,
    /// wanted force (N), none negative, not all zero
    pub force: Vec<f64>,
    /// lower edge of the band to stay in (N)
    pub force_min: Option<Vec<f64>>,
    /// upper edge of the band to stay in (N)
    pub force_max: Option<Vec<f64>>,
    /// allowed force error (percent of the force), where the curve states one for all its points
    pub tolerance_percent: Option<f64>,
    /// what was assumed or changed while reading, a sentence each
    pub notes: Vec<String>,
}

/// Points of a thinned target; more add no detail to a curve that a spring can follow.
const THINNED_POINTS: usize = 60;

/// Reads a curve file; `file` is the name to use in messages.
///
/// ```
/// let target = flatspire::curve::read(b"travel_mm;force_N\n0;0\n2,5;10\n5;25\n", "pedal.csv")?;
/// assert_eq!(target.force_at(1.25), 5.0);
/// # Ok::<(), flatspire::curve::CurveError>(())
/// ```
pub fn read(bytes: &[u8], file: &str) -> Result<TargetCurve, CurveError> {
    read_with(bytes, &ReadChoice::default(), file)
}

/// As [`read`], with the branch of a measurement that is aimed at.
pub fn read_branch(bytes: &[u8], branch: BranchChoice, file: &str) -> Result<TargetCurve, CurveError> {
    read_with(bytes, &ReadChoice { branch: Some(branch), columns: None }, file)
}

/// As [`read`], with the columns and the branch that were asked for.
pub fn read_with(bytes: &[u8], choice: &ReadChoice, file: &str) -> Result<TargetCurve, CurveError> {
    let points = table::read_columns(bytes, Origin::TargetStart, choice.columns.as_ref(), file)?;
    TargetCurve::assemble(points, choice.branch, Sides::One, file)
}

/// As [`read_with`], and takes a curve that goes through zero to both sides: deflection and force are below zero on one
/// side then. One disc pushes one way only; two set against each other do both.
pub fn read_both_sides(bytes: &[u8], choice: &ReadChoice, file: &str) -> Result<TargetCurve, CurveError> {
    let points = table::read_columns(bytes, Origin::TargetStart, choice.columns.as_ref(), file)?;
    TargetCurve::assemble(points, choice.branch, Sides::Both, file)
}

/// Sides of zero that a curve may have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sides {
    One,
    Both,
}

impl TargetCurve {
    pub(super) fn assemble(
        mut points: Points,
        choice: Option<BranchChoice>,
        sides: Sides,
        file: &str,
    ) -> Result<Self, CurveError> {
        let mut notes = std::mem::take(&mut points.notes);
        points.check_size(file)?;
        let both = match check_two_sided(&points, file) {
            Err(CurveError::TwoSided { .. }) if sides == Sides::Both => true,
            checked => {
                checked?;
                false
            }
        };
        let conditioned =
            if both { None } else { measurement::conditioned(&points, choice.unwrap_or_default()) };
        if let Some((deflection, force, done)) = conditioned {
            notes.extend(done);
            (points.deflection, points.force) = (deflection, force);
            points.tolerance =
                points.tolerance.and_then(|list| list.into_iter().flatten().next()).map(|v| vec![Some(v)]);
            points.lines = Vec::new();
        } else if let Some(choice) = choice {
            notes.push(take_branch(&mut points, choice));
        }
        if !both {
            set_testers_zero(&mut points, &mut notes);
            check_signs(&points, file)?;
        }
        let tolerance = Tolerance::of(&points, file)?;
        let order = order_of(&points, &mut notes);

        let pick = |list: &[f64]| order.iter().map(|&index| list[index] + 0.0).collect::<Vec<f64>>();
        let deflection = pick(&points.deflection);
        let runs = runs_of_equal(&deflection);
        let repeated = runs.iter().filter(|run| run.len() > 1).count();
        if repeated > 0 {
            notes.push(format!(
                "deflections given more than once: {repeated}, the first of them {} mm; their forces are averaged",
                runs.iter().find(|run| run.len() > 1).map_or(0.0, |run| deflection[run.start])
            ));
        }
        let averaged = |list: &[f64]| {
            let list = pick(list);
            runs.iter().map(|run| mean(&list[run.clone()])).collect::<Vec<f64>>()
        };
        let mut curve = Self {
            deflection: averaged(&points.deflection),
            force: averaged(&points.force),
            force_min: points.force_min.as_deref().map(averaged),
            force_max: points.force_max.as_deref().map(averaged),
            tolerance_percent: None,
            notes,
        };
        match tolerance {
            Tolerance::None => {}
            Tolerance::Same(value) => curve.tolerance_percent = Some(value),
            Tolerance::Changing(list) => {
                let band = |sign: f64| -> Vec<f64> {
                    let tolerance = averaged(&list);
                    curve.force.iter().zip(tolerance).map(|(f, t)| f * (1.0 + sign * t / 100.0)).collect()
                };
                (curve.force_min, curve.force_max) = (Some(band(-1.0)), Some(band(1.0)));
                curve.notes.push("the tolerance changes along the curve and is read as a band".to_owned());
            }
        }
        if curve.len() < FEWEST_POINTS {
            return Err(CurveError::TooFewPoints {
                file: file.to_owned(),
                found: curve.len(),
                least: FEWEST_POINTS,
            });
        }
        if curve.max_force() == 0.0 {
            return Err(CurveError::NoForce { file: file.to_owned() });
        }
        if curve.len() == 2 {
            curve.draw_line();
        }
        curve.note_points_outside_their_band();
        Ok(curve)
    }

    /// Points on the straight line that two points stand for: the error is taken at points, and a spring may not bend between
    /// them.
    fn draw_line(&mut self) {
        let ends = [self.deflection[0], self.deflection[1]];
        let along = |list: &[f64]| -> Vec<f64> {
            let share = |k: usize| k as f64 / (LINE_POINTS - 1) as f64;
            (0..LINE_POINTS).map(|k| list[0] + (list[1] - list[0]) * share(k)).collect()
        };
        self.deflection = along(&ends);
        self.force = along(&self.force);
        self.force_min = self.force_min.as_deref().map(along);
        self.force_max = self.force_max.as_deref().map(along);
        self.notes.push("two points are read as the straight line between them".to_owned());
    }

    fn note_points_outside_their_band(&mut self) {
        let outside = |i: &usize| {
            self.force_min.as_ref().is_some_and(|min| self.force[*i] < min[*i])
                || self.force_max.as_ref().is_some_and(|max| self.force[*i] > max[*i])
        };
        let count = (0..self.len()).filter(outside).count();
        if let Some(first) = (0..self.len()).find(outside) {
            self.notes.push(format!(
                "forces outside their own band: {count}, the first at {} mm; the force is what is aimed at",
                self.deflection[first]
            ));
        }
    }

    /// The target with at most as many points as an evaluation needs; both ends kept, bands kept.
    #[must_use]
    pub fn thinned(&self) -> Self {
        let kept = crate::numeric::evenly_spread(self.len(), THINNED_POINTS);
        let pick = |list: &[f64]| kept.iter().map(|&i| list[i]).collect::<Vec<f64>>();
        Self {
            deflection: pick(&self.deflection),
            force: pick(&self.force),
            force_min: self.force_min.as_deref().map(pick),
            force_max: self.force_max.as_deref().map(pick),
            tolerance_percent: self.tolerance_percent,
            notes: Vec::new(),
        }
    }

    /// Number of points.
    pub fn len(&self) -> usize {
        self.deflection.len()
    }

    /// Whether there is no point at all.
    pub fn is_empty(&self) -> bool {
        self.deflection.is_empty()
    }

    /// The largest force (N), to either side.
    pub fn max_force(&self) -> f64 {
        self.force.iter().map(|force| force.abs()).fold(0.0, f64::max)
    }

    /// The last deflection (mm).
    pub fn max_deflection(&self) -> f64 {
        self.deflection.last().copied().unwrap_or(0.0)
    }

    /// Force (N) at a deflection (mm): straight between the points, the end values outside them.
    pub fn force_at(&self, deflection: f64) -> f64 {
        straight_between(&self.deflection, &self.force, deflection)
    }

    /// Rate (N/mm) of the straight piece at a deflection (mm), the one after it at a point; the end pieces outside.
    pub fn rate_at(&self, deflection: f64) -> f64 {
        let Some(last) = self.len().checked_sub(2) else { return 0.0 };
        let i = self.deflection.partition_point(|&x| x <= deflection).saturating_sub(1).min(last);
        (self.force[i + 1] - self.force[i]) / (self.deflection[i + 1] - self.deflection[i])
    }

    /// Base of the force error at each point (N): the larger of its force and one tenth of the largest
    /// force.
    pub fn error_bases(&self) -> Vec<f64> {
        let tenth = 0.1 * self.max_force();
        self.force.iter().map(|force| force.abs().max(tenth)).collect()
    }

    /// Force errors of another curve, `force` in N at this curve's deflections: root mean square and largest, in
    /// percent of the [error bases](Self::error_bases).
    pub fn errors_percent(&self, force: &[f64]) -> (f64, f64) {
        let mut sum = 0.0;
        let mut largest = 0.0_f64;
        for ((wanted, found), base) in self.force.iter().zip(force).zip(self.error_bases()) {
            let error = 100.0 * (found - wanted) / base;
            sum += error * error;
            largest = largest.max(error.abs());
        }
        ((sum / self.len().max(1) as f64).sqrt(), largest)
    }
}

/// Where a curve leaves the band that was asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BandBreach {
    /// deflection as the target counts it (mm)
    pub deflection: f64,
    /// force there (N)
    pub force: f64,
    /// band there (N); an edge that was not asked for is infinite
    pub band: (f64, f64),
}

impl TargetCurve {
    /// The place where a curve leaves the band furthest; none where it stays inside or no band was asked for. `deflection`
    /// (mm) and `force` (N) have the same length.
    pub fn band_breach(&self, deflection: &[f64], force: &[f64]) -> Option<BandBreach> {
        let edge = |edge: &Option<Vec<f64>>, otherwise: f64, x: f64| {
            edge.as_ref().map_or(otherwise, |edge| straight_between(&self.deflection, edge, x))
        };
        let breaches = deflection.iter().zip(force).map(|(&deflection, &force)| {
            let low = edge(&self.force_min, f64::NEG_INFINITY, deflection);
            let high = edge(&self.force_max, f64::INFINITY, deflection);
            BandBreach { deflection, force, band: (low, high) }
        });
        breaches.filter(|breach| breach.outside() > 0.0).max_by(|a, b| a.outside().total_cmp(&b.outside()))
    }
}

impl BandBreach {
    /// How far outside (N).
    pub fn outside(&self) -> f64 {
        (self.band.0 - self.force).max(self.force - self.band.1)
    }

    /// In words.
    pub fn said(&self) -> String {
        let (low, high) = self.band;
        let asked = match (low.is_finite(), high.is_finite()) {
            (true, true) => format!("{low:.2} to {high:.2} N"),
            (true, false) => format!("at least {low:.2} N"),
            _ => format!("at most {high:.2} N"),
        };
        format!(
            "band failed: at {:.2} mm the force is {:.2} N, {asked} was asked: widen the band there, or allow a larger disc, \
             more height or other sheet",
            self.deflection, self.force
        )
    }
}

/// Takes one branch, or the middle of both, of a short table; returns a note on the choice.
fn take_branch(points: &mut Points, choice: BranchChoice) -> String {
    let Some(peak) = turning_point(&points.deflection).filter(|peak| peak + 1 < points.len()) else {
        return "only one branch was measured: it is the target as it stands, friction included".to_owned();
    };
    let kept: Vec<usize> = match choice {
        BranchChoice::Unloading => (peak..points.len()).rev().collect(),
        _ => (0..=peak).collect(),
    };
    if choice == BranchChoice::Mean {
        let back: Vec<f64> = points.deflection[peak..].iter().rev().copied().collect();
        let down: Vec<f64> = points.force[peak..].iter().rev().copied().collect();
        for i in 0..=peak {
            if points.deflection[i] >= back[0] {
                let other = straight_between(&back, &down, points.deflection[i]);
                points.force[i] = 0.5 * (points.force[i] + other);
            }
        }
    }
    let pick = |list: &[f64]| kept.iter().map(|&i| list[i]).collect::<Vec<f64>>();
    points.deflection = pick(&points.deflection);
    points.force = pick(&points.force);
    points.force_min = points.force_min.as_deref().map(pick);
    points.force_max = points.force_max.as_deref().map(pick);
    points.tolerance = points.tolerance.take().map(|list| kept.iter().map(|&i| list[i]).collect());
    points.lines = kept.iter().filter_map(|&i| points.lines.get(i).copied()).collect();
    match choice {
        BranchChoice::Loading => "loading is the target, friction included",
        BranchChoice::Unloading => "unloading is the target, friction taken off",
        BranchChoice::Mean => "the middle of loading and unloading is the target",
    }
    .to_owned()
}

enum Tolerance {
    None,
    Same(f64),
    Changing(Vec<f64>),
}

impl Tolerance {
    fn of(points: &Points, file: &str) -> Result<Self, CurveError> {
        let Some(list) = &points.tolerance else { return Ok(Self::None) };
        let mut current: Option<f64> = None;
        let mut filled = Vec::with_capacity(list.len());
        let mut changed_at = None;
        for (index, value) in list.iter().enumerate() {
            if let Some(value) = *value {
                if !(value.is_finite() && value > 0.0) {
                    let place = points.place(index, ColumnQuantity::Tolerance);
                    return Err(CurveError::BadTolerance { file: file.to_owned(), place, value });
                }
                if let Some(earlier) = current.filter(|earlier| *earlier != value) {
                    changed_at = changed_at.or(Some((index, value, earlier)));
                }
                current = Some(value);
            }
            filled.push(current);
        }
        let Some(first) = filled.iter().flatten().next().copied() else { return Ok(Self::None) };
        let Some((index, value, earlier)) = changed_at else { return Ok(Self::Same(first)) };
        if points.force_min.is_some() || points.force_max.is_some() {
            let place = points.place(index, ColumnQuantity::Tolerance);
            return Err(CurveError::TwoBands { file: file.to_owned(), place, value, earlier });
        }
        // a row that leaves it out keeps the one above
        Ok(Self::Changing(filled.into_iter().map(|value| value.unwrap_or(first)).collect()))
    }
}

/// Share of the range below zero beyond which both deflection and force make a curve to both sides.
const TWO_SIDED: f64 = 0.05;

fn check_two_sided(points: &Points, file: &str) -> Result<(), CurveError> {
    let range = |list: &[f64]| {
        list.iter().fold((0.0_f64, 0.0_f64), |(low, high), value| (low.min(*value), high.max(*value)))
    };
    let (x, f) = (range(&points.deflection), range(&points.force));
    let both = |(low, high): (f64, f64)| high > 0.0 && -low > TWO_SIDED * (high - low);
    let lowest =
        (0..points.len()).min_by(|&a, &b| points.deflection[a].total_cmp(&points.deflection[b])).unwrap_or(0);
    if both(x) && both(f) && points.force.get(lowest).is_some_and(|force| *force < 0.0) {
        let place = points.place(lowest, ColumnQuantity::Deflection);
        return Err(CurveError::TwoSided { file: file.to_owned(), place, value_mm: x.0 });
    }
    Ok(())
}

/// Small values below zero are the tester's zero: deflection is counted from the lowest one, the force of the least
/// deflection is taken off, and what is left below zero is noise.
fn set_testers_zero(points: &mut Points, notes: &mut Vec<String>) {
    let least = |list: &[f64]| list.iter().copied().fold(0.0, f64::min);
    let most = |list: &[f64]| list.iter().copied().fold(0.0, f64::max);
    let small = |list: &[f64]| {
        let (low, high) = (least(list), most(list));
        low < 0.0 && -low <= TESTERS_ZERO * (high - low)
    };
    if small(&points.deflection) {
        let off = least(&points.deflection);
        for x in &mut points.deflection {
            *x -= off;
        }
        notes.push(format!("the tester's zero of the deflection is off by {off:.4} mm and is set right"));
    }
    if small(&points.force) {
        let first = (0..points.len())
            .min_by(|&a, &b| points.deflection[a].total_cmp(&points.deflection[b]))
            .and_then(|i| points.force.get(i).copied());
        let off = first.unwrap_or(0.0).min(0.0);
        for list in [Some(&mut points.force), points.force_min.as_mut(), points.force_max.as_mut()]
            .into_iter()
            .flatten()
        {
            for f in list {
                *f -= off;
            }
        }
        for f in &mut points.force {
            *f = f.max(0.0);
        }
        notes.push(format!(
            "the tester's zero of the force is off by {off:.4} N and is set right; what is left below zero counts as zero"
        ));
    }
}

fn check_signs(points: &Points, file: &str) -> Result<(), CurveError> {
    let file = || file.to_owned();
    for index in 0..points.len() {
        let (value_mm, value_n) = (points.deflection[index], points.force[index]);
        if value_mm < 0.0 {
            let place = points.place(index, ColumnQuantity::Deflection);
            return Err(CurveError::NegativeDeflection { file: file(), place, value_mm, least_mm: 0.0 });
        }
        if value_n < 0.0 {
            let place = points.place(index, ColumnQuantity::Force);
            return Err(CurveError::NegativeForce { file: file(), place, value_n, least_n: 0.0 });
        }
        // a lower edge below zero asks for nothing; an upper one cannot be met
        if let Some(value_n) = points.force_max.as_ref().map(|max| max[index]).filter(|max| *max < 0.0) {
            let place = points.place(index, ColumnQuantity::ForceMax);
            return Err(CurveError::NegativeForce { file: file(), place, value_n, least_n: 0.0 });
        }
        if let (Some(min), Some(max)) = (&points.force_min, &points.force_max)
            && min[index] > max[index]
        {
            let place = points.place(index, ColumnQuantity::ForceMin);
            let (minimum_n, maximum_n) = (min[index], max[index]);
            return Err(CurveError::BandReversed { file: file(), place, minimum_n, maximum_n });
        }
    }
    Ok(())
}

/// The points to keep, ordered by deflection.
fn order_of(points: &Points, notes: &mut Vec<String>) -> Vec<usize> {
    let all = &points.deflection;
    let mut order: Vec<usize> = (0..all.len()).collect();
    // a rise too short to be a curve of its own is rather a short list out of order
    let turn = turning_point(all).filter(|&peak| distinct(&all[..=peak]) >= FEWEST_OF_RISE);
    if let Some(peak) = turn {
        notes.push(format!(
            "the deflection falls after its largest value, {} mm; the unloading branch ({} of {} points, from {} on) is \
             dropped",
            all[peak],
            all.len() - peak - 1,
            all.len(),
            points.row_name(peak + 1)
        ));
        order.truncate(peak + 1);
    }
    if let Some(index) = order.windows(2).position(|pair| all[pair[1]] < all[pair[0]]) {
        if turn.is_none() {
            notes.push(format!(
                "the rows are not in order of deflection, the first out of order is {}; they are sorted",
                points.row_name(index + 1)
            ));
        }
        order.sort_by(|&a, &b| all[a].total_cmp(&all[b]));
    }
    order
}

fn distinct(values: &[f64]) -> usize {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    runs_of_equal(&sorted).len()
}

#[cfg(test)]
#[path = "target_tests.rs"]
mod tests;
