//! A measured curve as a target: branches told apart under noise, the start of contact found, zeros set, noise averaged.

use nalgebra::{Matrix3, Vector3};

use super::choice::BranchChoice;
use super::table::Points;
use crate::numeric::straight_between;

/// Rows from which a table may be a measurement.
pub(super) const FEWEST_ROWS: usize = 100;
/// Rows of a branch below which it is left out.
pub(super) const FEWEST_OF_BRANCH: usize = 30;
/// Groups a branch is averaged in, at most and at least.
const GROUPS: [usize; 2] = [12, 60];
/// Rows wanted in a group.
const ROWS_IN_GROUP: usize = 10;
/// Change of the deflection within a window of rows, over the range, above which the tester moves. Common practice: a
/// dwell shows less.
const MOVES: f64 = 0.004;
/// Largest zero offset taken for the tester's, over the range.
pub(super) const TESTERS_ZERO: f64 = 0.02;
/// Difference of the forces before contact, over the largest force.
const LEVEL: f64 = 0.004;
/// Forces over the largest between which the parabola to the start of contact is laid.
const CONTACT: [f64; 2] = [0.005, 0.3];
/// Least zero offset of the force, over the largest force, that is corrected where no gap shows it.
const LEAST_SHIFT: f64 = 0.001;
/// Step between rows, over the range, above which rows are no record of a motion.
const LONGEST_STEP: f64 = 0.05;

/// Deflection (mm) and force (N) of one branch, averaged in groups.
#[derive(Debug, Clone, Default)]
struct Grouped {
    x: Vec<f64>,
    f: Vec<f64>,
    /// standard deviation of a mean (N)
    band: f64,
}

/// Smoothed points and what was done; `None` where the table is a list of wanted points, not a measurement.
pub(super) fn conditioned(
    points: &Points,
    choice: BranchChoice,
) -> Option<(Vec<f64>, Vec<f64>, Vec<String>)> {
    let (x, f) = (&points.deflection, &points.force);
    if x.len() < FEWEST_ROWS || points.force_min.is_some() || points.force_max.is_some() {
        return None;
    }
    let (least, most) = extent(x);
    let range = most - least;
    let mut steps: Vec<f64> = x.windows(2).map(|pair| (pair[1] - pair[0]).abs()).collect();
    steps.sort_by(f64::total_cmp);
    if steps.get(steps.len() / 2).is_none_or(|step| *step > LONGEST_STEP * range) {
        return None;
    }
    let (loading, unloading) = branches(x, range);
    let cycle = loading.len() >= FEWEST_OF_BRANCH && unloading.len() >= FEWEST_OF_BRANCH;
    let noisy = x.windows(2).any(|pair| pair[1] <= pair[0]) || roughness(f) > 5e-4;
    if !(range > 0.0 && (cycle || noisy)) || loading.len() < FEWEST_OF_BRANCH {
        return None;
    }
    let mut notes = vec![format!("{} rows are read as a measurement", x.len())];
    let up = grouped(x, f, &loading);
    let down = if cycle { grouped(x, f, &unloading) } else { Grouped::default() };
    let mut curve = match choice {
        BranchChoice::Unloading if cycle => down.clone(),
        BranchChoice::Mean if cycle => middle(&up, &down),
        _ => up.clone(),
    };
    if cycle {
        notes.push(friction(&up, &down, choice));
    } else {
        let asked = match choice {
            BranchChoice::Unloading => "; no unloading was found, loading is the target",
            _ => "",
        };
        notes.push(format!("only one branch was measured: friction stays in the forces{asked}"));
    }
    notes.push(format!(
        "noise is averaged in {} groups of rows; the 95 % band of a mean is ±{:.3} N",
        curve.x.len(),
        1.96 * curve.band
    ));
    notes.extend(set_zero(&mut curve, range));
    Some((curve.x, curve.f, notes))
}

fn extent(values: &[f64]) -> (f64, f64) {
    values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(*v), b.max(*v)))
}

/// Median size of the second difference over the largest force.
fn roughness(f: &[f64]) -> f64 {
    let mut bends: Vec<f64> = f.windows(3).map(|t| (t[0] - 2.0 * t[1] + t[2]).abs()).collect();
    bends.sort_by(f64::total_cmp);
    let largest = f.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
    bends.get(bends.len() / 2).map_or(0.0, |bend| bend / largest)
}

/// Rows on which the deflection grows, and those on which it falls: by the means of the rows before and after. Rows at
/// rest belong to neither.
pub(super) fn branches(x: &[f64], range: f64) -> (Vec<usize>, Vec<usize>) {
    let window = (x.len() / 100).max(3);
    let mut sums = vec![0.0];
    for value in x {
        sums.push(sums[sums.len() - 1] + value);
    }
    let mean = |from: usize, to: usize| (sums[to] - sums[from]) / (to - from).max(1) as f64;
    let (mut up, mut down) = (Vec::new(), Vec::new());
    for i in 0..x.len() {
        let before = mean(i.saturating_sub(window), i.max(1));
        let after = mean((i + 1).min(x.len() - 1), (i + 1 + window).min(x.len()));
        if after - before > MOVES * range {
            up.push(i);
        } else if before - after > MOVES * range {
            down.push(i);
        }
    }
    (up, down)
}

fn grouped(x: &[f64], f: &[f64], rows: &[usize]) -> Grouped {
    let (least, most) = extent(&rows.iter().map(|&i| x[i]).collect::<Vec<_>>());
    let count = (rows.len() / ROWS_IN_GROUP).clamp(GROUPS[0], GROUPS[1]);
    let mut members: Vec<Vec<usize>> = vec![Vec::new(); count];
    let edges: Vec<f64> = (1..count).map(|k| least + (most - least) * k as f64 / count as f64).collect();
    for &i in rows {
        members[edges.partition_point(|edge| *edge <= x[i])].push(i);
    }
    let mut out = Grouped::default();
    let (mut squares, mut freedom, mut smallest) = (0.0, 0.0_f64, usize::MAX);
    for group in members.iter().filter(|group| group.len() >= 3) {
        let n = group.len() as f64;
        let mean_x = group.iter().map(|&i| x[i]).sum::<f64>() / n;
        let mean_f = group.iter().map(|&i| f[i]).sum::<f64>() / n;
        let sxx: f64 = group.iter().map(|&i| (x[i] - mean_x).powi(2)).sum();
        let sxf: f64 = group.iter().map(|&i| (x[i] - mean_x) * (f[i] - mean_f)).sum();
        let slope = if sxx > 0.0 { sxf / sxx } else { 0.0 };
        squares += group.iter().map(|&i| (f[i] - mean_f - slope * (x[i] - mean_x)).powi(2)).sum::<f64>();
        freedom += n - 2.0;
        smallest = smallest.min(group.len());
        out.x.push(mean_x);
        out.f.push(mean_f);
    }
    out.band = (squares / freedom.max(1.0)).sqrt() / (smallest.min(rows.len()) as f64).sqrt();
    if let ([.., xa, xb], [.., fa, fb]) = (&out.x[..], &out.f[..])
        && most > *xb
        && xb > xa
    {
        // from the last mean to the largest deflection along the last chord
        let end = fb + (fb - fa) / (xb - xa) * (most - xb);
        out.x.push(most);
        out.f.push(end);
    }
    out
}

fn middle(up: &Grouped, down: &Grouped) -> Grouped {
    let (Some(&from), Some(&to)) = (down.x.first(), down.x.last()) else { return up.clone() };
    let mut out = Grouped { band: 0.5 * up.band.hypot(down.band), ..Grouped::default() };
    for (&x, &f) in up.x.iter().zip(&up.f) {
        let reach = x.clamp(from, to);
        let half = 0.5 * (straight_between(&up.x, &up.f, reach) - straight_between(&down.x, &down.f, reach));
        out.x.push(x);
        out.f.push(f - half);
    }
    out
}

fn friction(up: &Grouped, down: &Grouped, choice: BranchChoice) -> String {
    let largest = up.f.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
    let gaps: Vec<f64> = up
        .x
        .iter()
        .zip(&up.f)
        .filter(|(x, _)| down.x.first().is_some_and(|a| *x >= a) && down.x.last().is_some_and(|b| *x <= b))
        .map(|(x, f)| f - straight_between(&down.x, &down.f, *x))
        .collect();
    let mean = gaps.iter().sum::<f64>() / gaps.len().max(1) as f64;
    let taken = match choice {
        BranchChoice::Mean => "their middle is the target",
        BranchChoice::Loading => "loading is the target, friction included",
        BranchChoice::Unloading => "unloading is the target, friction taken off",
    };
    format!(
        "loading and unloading differ by {mean:.3} N in the mean, {:.1} % of the largest force (friction); {taken}",
        100.0 * mean / largest
    )
}

/// Moves deflection and force so that the curve begins where the spring is touched; returns a note on the shift.
fn set_zero(curve: &mut Grouped, range: f64) -> Option<String> {
    let largest = curve.f.iter().copied().fold(0.0, f64::max);
    let first = *curve.f.first()?;
    let level = (LEVEL * largest).max(4.0 * curve.band);
    let idle = curve.f.iter().take_while(|f| (**f - first).abs() < level).count();
    let gap = idle >= 3;
    let rest = if gap { curve.f[..idle - 1].iter().sum::<f64>() / (idle - 1) as f64 } else { 0.0 };
    let [low, high] = CONTACT.map(|share| rest + share * largest);
    let after = curve.f.iter().position(|f| *f > low)?;
    let mut end = curve.f.iter().position(|f| *f > high).unwrap_or(curve.f.len());
    end = end.max(after + 4).min(curve.f.len());
    let (mut start, rate) = contact(&curve.x[after..end], &curve.f[after..end], rest)?;
    if !gap && start.abs() > TESTERS_ZERO * range {
        return None;
    }
    let moved = gap || start.abs() * rate > (LEAST_SHIFT * largest).max(2.0 * curve.band);
    if !moved {
        start = 0.0;
    }
    for x in &mut curve.x {
        *x -= start;
    }
    let kept: Vec<usize> = (0..curve.x.len()).filter(|&i| curve.x[i] > 0.0 && curve.f[i] > rest).collect();
    let (x, f) = (&curve.x, &curve.f);
    let begun = Grouped {
        x: std::iter::once(0.0).chain(kept.iter().map(|&i| x[i])).collect(),
        f: std::iter::once(0.0).chain(kept.iter().map(|&i| f[i] - rest)).collect(),
        band: curve.band,
    };
    *curve = begun;
    moved.then(|| format!(
        "the spring is touched at {start:.3} mm of the tester; deflection counts from there, and {rest:.3} N shown before \
         contact is taken off"
    ))
}

/// Where the parabola through points reaches `rest`, and its slope there.
fn contact(x: &[f64], f: &[f64], rest: f64) -> Option<(f64, f64)> {
    let (low, high) = extent(x);
    let (middle, half) = (0.5 * (low + high), 0.5 * (high - low));
    let (mut normal, mut right) = (Matrix3::zeros(), Vector3::zeros());
    for (x, f) in x.iter().zip(f) {
        let u = (x - middle) / half;
        let row = Vector3::new(1.0, u, u * u);
        normal += row * row.transpose();
        right += row * (f - rest);
    }
    let found = normal.cholesky()?.solve(&right);
    let (c, b, a) = (found[0], found[1], found[2]);
    let slope = (b * b - 4.0 * a * c).max(0.0).sqrt();
    // the form that stays exact where the parabola is nearly straight
    let u = -2.0 * c / (b + slope);
    (b > 0.0 && slope > 0.0 && u.is_finite()).then_some((middle + half * u, slope / half))
}

#[cfg(test)]
#[path = "measurement_tests.rs"]
mod tests;
