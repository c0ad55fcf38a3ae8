//! Findings on a target that a seating spring cannot follow: place, size, reason and remedy.

use serde::Serialize;

use super::noise::{Averaged, MOST_SCATTER_PERCENT, scatter_percent};
use super::target::TargetCurve;
use crate::numeric::{figures, short, straight_between};

/// Kind of reason for which a target cannot be followed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum ReachKind {
    /// the target begins with more force than the spring can have there
    ForceAtStart,
    /// the force falls
    FallingForce,
    /// the rate falls: the curve softens
    FallingRate,
    /// the points scatter too much to show a curve
    Scatter,
    /// a remark: no force over a first stretch, which is clearance in front of the spring
    FreePlay,
}

/// One reason why a target cannot be followed, or a remark on it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReachFinding {
    /// kind of reason
    pub kind: ReachKind,
    /// where it begins (mm)
    pub from_deflection: f64,
    /// where it ends (mm)
    pub to_deflection: f64,
    /// where between them the nearest reachable curve differs most from the target (mm)
    pub at_deflection: f64,
    /// by how much it differs there, wanted less reachable (N)
    pub size_n: f64,
    /// the same in percent of the larger of the target force and one tenth of its maximum
    pub size_percent: f64,
    /// the reason in words, with numbers
    pub reason: String,
    /// remedy
    pub remedy: String,
}

const STAYS_SEATED: &str = "the turns of a flat-cut spring seat one after another, and a seated turn stays \
                            seated";

struct Search<'a> {
    means: &'a Averaged,
    nearest: &'a TargetCurve,
    largest: f64,
    installed: f64,
    /// departure (percent of the base) from which a place is named
    threshold: f64,
}

/// The findings, in order of deflection. `place_percent` is the departure that noise and tolerance leave unnamed.
pub(super) fn collect(
    target: &TargetCurve,
    means: &Averaged,
    nearest: &TargetCurve,
    installed: f64,
    reachable: bool,
    place_percent: f64,
) -> Vec<ReachFinding> {
    let largest = target.max_force();
    let mut search = Search { means, nearest, largest, installed, threshold: place_percent };
    let mut found = Vec::new();
    if !reachable {
        // a long slight bend may exceed the limit as a whole and in no single place: lower thresholds follow
        for threshold in [place_percent, 0.3 * place_percent, 0.0] {
            search.threshold = threshold;
            found = search.obstacles();
            if !found.is_empty() {
                break;
            }
        }
        let scatter = scatter_percent(target);
        if found.is_empty() || scatter >= MOST_SCATTER_PERCENT {
            found.push(search.scatter(scatter));
        }
    }
    found.extend(search.free_play(target));
    found.sort_by(|a, b| a.from_deflection.total_cmp(&b.from_deflection));
    found
}

impl Search<'_> {
    fn obstacles(&self) -> Vec<ReachFinding> {
        let start = self.force_at_start();
        let falls = self.falling_force();
        let mut found: Vec<ReachFinding> = self
            .falling_rate(start.is_some())
            .into_iter()
            .filter(|bend| {
                !falls
                    .iter()
                    .any(|f| f.from_deflection < bend.to_deflection && f.to_deflection > bend.from_deflection)
            })
            .collect();
        found.extend(start);
        found.extend(falls);
        found
    }

    fn percent(&self, size: f64, force: f64) -> f64 {
        100.0 * size / force.max(0.1 * self.largest)
    }

    /// A finding over the means `from..=to`, with the largest difference among them.
    fn finding(
        &self,
        kind: ReachKind,
        from: usize,
        to: usize,
        reason: String,
        remedy: String,
    ) -> ReachFinding {
        let (x, y) = (&self.means.deflection, &self.means.force);
        let difference =
            |i: usize| y[i] - straight_between(&self.nearest.deflection, &self.nearest.force, x[i]);
        let relative = |i: usize| self.percent(difference(i), y[i]);
        let at = (from..=to).max_by(|&a, &b| relative(a).abs().total_cmp(&relative(b).abs())).unwrap_or(from);
        ReachFinding {
            kind,
            from_deflection: x[from],
            to_deflection: x[to],
            at_deflection: x[at],
            size_n: difference(at),
            size_percent: relative(at),
            reason,
            remedy,
        }
    }

    fn force_at_start(&self) -> Option<ReachFinding> {
        let (x, y) = (&self.means.deflection, &self.means.force);
        let last = x.len() - 1;
        // the rate over the first tenth of the travel, at least to the next point
        let reach = x[0] + 0.1 * (x[last] - x[0]);
        let next = x.partition_point(|&x| x < reach).clamp(1, last);
        let rate = (y[next] - y[0]) / (x[next] - x[0]);
        let at_origin = y[0] - rate * (x[0] + self.installed);
        let at_zero = if x[0] == 0.0 { y[0] } else { y[0] - rate * x[0] };
        if at_zero <= 0.0 || self.percent(at_origin, y[0]) <= self.threshold {
            return None;
        }
        let needed = at_zero / rate;
        let enough = rate > 0.0 && needed.is_finite();
        let reason = if self.installed > 0.0 {
            format!(
                "the target begins with {} N at zero travel and rises from there by {} N/mm, more force than {} mm of \
                 installed deflection can give without a steeper rise",
                short(at_zero),
                short(rate),
                short(self.installed)
            )
        } else {
            format!(
                "the target begins with {} N at zero travel and rises from there by {} N/mm; a spring without preload \
                 has no force at zero deflection, and its rate can only rise",
                short(at_zero),
                short(rate)
            )
        };
        let remedy = if enough {
            format!(
                "install the spring at a deflection of {} mm or more (`installed`), or let the force begin at zero",
                figures(needed)
            )
        } else {
            "let the force begin at zero, or let it rise at first so that the spring can be installed with preload \
             (`installed`)"
                .to_owned()
        };
        Some(self.finding(ReachKind::ForceAtStart, 0, next, reason, remedy))
    }

    fn falling_force(&self) -> Vec<ReachFinding> {
        let (x, y) = (&self.means.deflection, &self.means.force);
        let mut found = Vec::new();
        let mut peak = 0;
        while peak < y.len() {
            // from a peak to where the force is as high again, or to the end
            let back = (peak + 1..y.len()).find(|&i| y[i] >= y[peak]).unwrap_or(y.len());
            let lowest = (peak..back).min_by(|&a, &b| y[a].total_cmp(&y[b])).unwrap_or(peak);
            let fall = y[peak] - y[lowest];
            if lowest > peak && self.percent(fall, y[peak]) > self.threshold {
                let reason = format!(
                    "the force falls by {} N, from {} N at {} mm to {} N at {} mm; {STAYS_SEATED}, so the force can only \
                     rise",
                    short(fall),
                    short(y[peak]),
                    short(x[peak]),
                    short(y[lowest]),
                    short(x[lowest])
                );
                let remedy =
                    "hold the force level or let it rise there; for a force that falls take another kind of \
                              spring: a coned disc spring higher than about 1.4 of its thickness, or a detent"
                        .to_owned();
                found.push(self.finding(ReachKind::FallingForce, peak, lowest, reason, remedy));
            }
            peak = back;
        }
        found
    }

    fn falling_rate(&self, start_named: bool) -> Vec<ReachFinding> {
        let (mut x, mut y) = (self.means.deflection.clone(), self.means.force.clone());
        // the curve begins without force; where the beginning is named already, look at the rest by itself
        let with_origin = !start_named && x[0] + self.installed > 0.0;
        if with_origin {
            x.insert(0, -self.installed);
            y.insert(0, 0.0);
        }
        let offset = usize::from(with_origin);
        let hull = lower_hull(&x, &y);
        let mut found = Vec::new();
        for side in hull.windows(2) {
            let (a, b) = (side[0], side[1]);
            let above = |i: usize| y[i] - (y[a] + (y[b] - y[a]) * ((x[i] - x[a]) / (x[b] - x[a])));
            if !(a + 1..b).any(|i| self.percent(above(i), y[i]) > self.threshold) {
                continue;
            }
            // the curve bends most where it stands highest above its chord
            let Some(top) = (a + 1..b).max_by(|&i, &j| above(i).total_cmp(&above(j))) else { continue };
            let (before, after) = ((y[top] - y[a]) / (x[top] - x[a]), (y[b] - y[top]) / (x[b] - x[top]));
            let reason = format!(
                "the rate falls from about {} N/mm before {} mm to about {} N/mm up to {} mm; {STAYS_SEATED}, so the rate \
                 can only rise",
                short(before),
                short(x[top]),
                short(after),
                short(x[b])
            );
            let remedy = "accept the nearest curve, or ask for a rate that stays or rises; springs in parallel or in \
                          series do not soften either, except where one of them is held with preload against a \
                          stop and leaves it; a coned disc spring softens by itself"
                .to_owned();
            let (from, to) = (a.saturating_sub(offset), b - offset);
            let mut finding = self.finding(ReachKind::FallingRate, from, to, reason, remedy);
            finding.from_deflection = x[a].max(0.0);
            found.push(finding);
        }
        found
    }

    fn scatter(&self, scatter: f64) -> ReachFinding {
        let reason = format!(
            "the points scatter by about {scatter:.1} % or depart in no single place; no curve with a rising rate \
             is close enough to all of them"
        );
        let remedy = "average repeated readings or give fewer, smoothed points".to_owned();
        self.finding(ReachKind::Scatter, 0, self.means.deflection.len() - 1, reason, remedy)
    }

    /// The stretch without force, where it is longer than a tenth of the travel.
    fn free_play(&self, target: &TargetCurve) -> Option<ReachFinding> {
        let idle = target.force.iter().take_while(|&&force| force <= 0.0).count().checked_sub(1)?;
        let until = target.deflection[idle];
        if until <= 0.0 || until + self.installed < 0.1 * (target.max_deflection() + self.installed) {
            return None;
        }
        Some(ReachFinding {
            kind: ReachKind::FreePlay,
            from_deflection: -self.installed,
            to_deflection: until,
            at_deflection: until,
            size_n: 0.0,
            size_percent: 0.0,
            reason: format!(
                "the target has no force up to {} mm; a spring pushes back as soon as it is touched",
                short(until)
            ),
            remedy:
                "leave that travel as clearance in front of the spring and count the target from where it is \
                     touched"
                    .to_owned(),
        })
    }
}

/// Indices of the points that the greatest convex curve below all points touches (Andrew's monotone chain).
fn lower_hull(x: &[f64], y: &[f64]) -> Vec<usize> {
    let mut hull: Vec<usize> = Vec::new();
    for i in 0..x.len() {
        while let [.., a, b] = hull[..] {
            let chord = y[a] + (y[i] - y[a]) * ((x[b] - x[a]) / (x[i] - x[a]));
            if y[b] < chord {
                break;
            }
            hull.pop();
        }
        hull.push(i);
    }
    hull
}
