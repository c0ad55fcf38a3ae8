//! Shaping the discs of an assembly together: each in turn for the force that the other one leaves to it, then their
//! deflections at rest. The error is that of the whole, over its own base.

use super::member::Disc;
use crate::assembly::Arrangement;
use crate::curve::TargetCurve;
use crate::spec::AssemblyKind;

/// Most rounds of shaping one disc after the other.
const ROUNDS: usize = 4;
/// Fall of the error below which no further round follows.
const WORTH_ANOTHER: f64 = 0.9;
/// Share of the tolerance from which on no further round follows.
const GOOD_ENOUGH: f64 = 0.35;
/// Control radii from the given round on.
const CONTROLS: [Option<usize>; ROUNDS] = [None, None, Some(10), Some(14)];
/// Most points that are shaped for.
const POINTS: usize = 36;
/// Steps of the search for deflections at rest.
const TRIM_STEPS: usize = 24;
/// Share of the closing force up to which the force of a disc that closes is shaped.
const NEARLY_CLOSED: f64 = 0.999;
/// First step of it, over the range of deflection.
const TRIM_STEP: f64 = 0.02;

/// Discs of one plan, with the wanted curve.
pub(super) struct Joint<'a> {
    pub kind: AssemblyKind,
    pub target: &'a TargetCurve,
    pub tolerance: f64,
    pub symmetric: bool,
    /// whether no further step may begin
    pub over: &'a dyn Fn() -> bool,
}

/// A point wanted of the stack `k` of a pair with a third disc in series, `k` 2 being that one, for a point `[x, force,
/// base]` (mm, N, N) of the whole.
fn behind_third(
    discs: &[Disc],
    k: usize,
    arrangement: &Arrangement,
    [x, force, base]: [f64; 3],
) -> Option<[f64; 3]> {
    let stack = |k: usize| discs[k].curve.stacked(discs[k].count, discs[k].stacking);
    let stacks = [stack(0), stack(1), stack(2)];
    let balance = arrangement.hub_deflection(0.0)?;
    let third = &stacks[2];
    let hub = if k == 2 { arrangement.hub_deflection(force)? } else { balance + x - third.deflection(force) };
    let at = |k: usize| {
        let rest = discs[k].multiples().0 * discs[k].installed;
        if k == 0 { rest + hub } else { rest - hub }
    };
    if discs[k].closes && force > NEARLY_CLOSED * stacks[k].closing_force() {
        return None;
    }
    let of_pair = stacks[0].rate(at(0)) + stacks[1].rate(at(1));
    let closed = force >= third.closing_force();
    let of_third = if closed { f64::INFINITY } else { third.rate(third.deflection(force)) };
    // an error of force matters less to the whole the softer what is in series with it
    let (y, wanted, share) = match k {
        2 => (x - hub + balance, force, 1.0 + of_third / of_pair),
        0 => (at(0), force + stacks[1].force(at(1)), 1.0 + of_pair / of_third),
        _ => (at(1), stacks[0].force(at(0)) - force, 1.0 + of_pair / of_third),
    };
    let point = [y, wanted, base * share.clamp(1.0, 100.0)];
    point.iter().all(|value| value.is_finite()).then_some(point)
}

impl Joint<'_> {
    /// The discs put together, without spacers.
    pub fn arrangement(&self, discs: &[Disc]) -> Option<Arrangement> {
        Arrangement::of(self.kind, discs.iter().map(|disc| disc.placed(0.0)).collect())
    }

    /// Root mean square error of the whole (percent).
    pub fn rms(&self, discs: &[Disc]) -> f64 {
        self.arrangement(discs).map_or(f64::INFINITY, |arrangement| self.rms_of(&arrangement))
    }

    fn rms_of(&self, arrangement: &Arrangement) -> f64 {
        let force: Vec<f64> = self.target.deflection.iter().map(|x| arrangement.force(*x)).collect();
        if force.iter().any(|force| !force.is_finite()) {
            // a disc closes too early: the nearer to the end the better
            let missing = self.target.max_deflection() - arrangement.travel();
            return 1e3
                * (1.0
                    + missing.max(0.0)
                    + (arrangement.travel_back() - self.target.deflection[0]).max(0.0));
        }
        self.target.errors_percent(&force).0
    }

    /// Shapes the discs until the whole meets the curve, or as near as they come.
    pub fn shape(&self, discs: Vec<Disc>) -> Vec<Disc> {
        let mut best = self.trimmed(discs);
        let mut least = self.rms(&best);
        if best.len() == 1 && !self.symmetric {
            return best;
        }
        for controls in CONTROLS {
            if least <= GOOD_ENOUGH * self.tolerance || (self.over)() {
                break;
            }
            let Some(shaped) = self.round(&best, controls) else { break };
            let shaped = self.trimmed(shaped);
            let rms = self.rms(&shaped);
            let worth = rms < WORTH_ANOTHER * least;
            if rms < least {
                (best, least) = (shaped, rms);
            }
            if !worth && controls.is_some() {
                break;
            }
        }
        best
    }

    /// Each disc shaped for what the others leave to it.
    fn round(&self, discs: &[Disc], controls: Option<usize>) -> Option<Vec<Disc>> {
        let mut now = discs.to_vec();
        let order: &[usize] = if self.symmetric { &[0] } else { &[0, 1, 2] };
        for &k in order {
            if k >= now.len() {
                continue;
            }
            if (self.over)() {
                break;
            }
            let wanted = self.left_to(&now, k)?;
            if let Some(shaped) = now[k].shaped_for(&wanted, controls) {
                let mut tried = now.clone();
                tried[k] = shaped;
                if self.symmetric {
                    let installed = tried[1].installed;
                    tried[1] = Disc { installed, ..tried[0].clone() };
                }
                let tried = self.trimmed(tried);
                if self.rms(&tried) < self.rms(&now) {
                    now = tried;
                }
            }
        }
        Some(now)
    }

    /// Points wanted of the stack `k`: deflection from its free height (mm), force and base of the error (N).
    pub fn left_to(&self, discs: &[Disc], k: usize) -> Option<Vec<[f64; 3]>> {
        let arrangement = self.arrangement(discs)?;
        let base = self.target.error_bases();
        let kept = crate::numeric::evenly_spread(self.target.len(), POINTS);
        let (travel, _) = discs[k].multiples();
        let stack = |k: usize| discs[k].curve.stacked(discs[k].count, discs[k].stacking);
        let own = stack(k);
        let points = kept.into_iter().filter_map(|i| {
            let (x, force) = (self.target.deflection[i], self.target.force[i]);
            match self.kind {
                AssemblyKind::Opposed => {
                    let at = |k: usize| {
                        let rest = discs[k].multiples().0 * discs[k].installed;
                        if k == 0 { rest + x } else { rest - x }
                    };
                    let other = stack(1 - k).force(at(1 - k));
                    let mut wanted = if k == 0 { force + other } else { other - force };
                    if self.symmetric {
                        // both change at once: half of the correction each
                        wanted = 0.5 * (wanted + own.force(at(k)));
                    }
                    (other.is_finite() && wanted.is_finite()).then_some([at(k), wanted, base[i]])
                }
                AssemblyKind::Series => {
                    let rest: f64 = discs.iter().map(|disc| disc.multiples().0 * disc.installed).sum();
                    let others: f64 =
                        (0..discs.len()).filter(|j| *j != k).map(|j| stack(j).deflection(force)).sum();
                    let y = rest + x - others;
                    if discs[k].closes && force > NEARLY_CLOSED * own.closing_force() {
                        return None;
                    }
                    // the same change of force matters less to the whole the softer the others are
                    let (rate, whole) = (own.rate(y.clamp(0.0, own.closed())), arrangement.rate(x));
                    let share =
                        if whole.is_finite() && whole > 0.0 { (rate / whole).clamp(1.0, 100.0) } else { 1.0 };
                    Some([y, force, base[i] * share])
                }
                AssemblyKind::OpposedSeries => behind_third(discs, k, &arrangement, [x, force, base[i]]),
                AssemblyKind::Parallel => Some([travel * discs[k].installed + x, force, base[i]]),
            }
        });
        Some(points.collect())
    }

    /// The discs with deflections at rest, or the height of the one that closes, changed to the least error: a search along
    /// the axes with steps that grow and shrink (Hooke & Jeeves 1961, without pattern moves).
    pub fn trimmed(&self, mut discs: Vec<Disc>) -> Vec<Disc> {
        let range = self.target.max_deflection() - self.target.deflection.first().copied().unwrap_or(0.0);
        if self.kind == AssemblyKind::Series {
            return self.closing_height(discs);
        }
        if self.kind == AssemblyKind::OpposedSeries {
            discs = self.closing_height(discs);
        }
        let Some(arrangement) = self.arrangement(&discs) else { return discs };
        let mut installed: Vec<f64> = discs.iter().map(|disc| disc.installed).collect();
        let mut step: Vec<f64> = vec![TRIM_STEP * range; installed.len()];
        let mut least = self.rms_of(&arrangement);
        // of a pair that finds its own balance the distance of the plates counts alone
        let one = self.symmetric || matches!(self.kind, AssemblyKind::Parallel | AssemblyKind::OpposedSeries);
        let axes = if one { 1 } else { installed.len() + 1 };
        step.resize(axes, TRIM_STEP * range);
        if self.kind == AssemblyKind::Parallel && installed[0] == 0.0 {
            return discs;
        }
        for _ in 0..TRIM_STEPS * 2 {
            for (axis, step) in step.iter_mut().enumerate() {
                let moved = |by: f64| -> Vec<f64> {
                    let mut moved = installed.clone();
                    for (k, value) in moved.iter_mut().enumerate() {
                        // the last axis moves both, as the sole one of equal discs does
                        let third = self.kind == AssemblyKind::OpposedSeries && k == 2;
                        if !third && (axis == k || axis + 1 == axes) {
                            *value = (*value + by).max(0.0);
                        }
                    }
                    moved
                };
                let mut better = false;
                for by in [*step, -*step] {
                    let tried = moved(by);
                    let Some(other) = arrangement.installed_at(&tried) else { continue };
                    let rms = self.rms_of(&other);
                    if rms < least {
                        (installed, least, better) = (tried, rms, true);
                        break;
                    }
                }
                *step *= if better { 1.5 } else { 0.5 };
            }
        }
        // the hub of a pair behind a third disc stands where it is balanced
        let balance = arrangement.installed_at(&installed).and_then(|found| found.hub_deflection(0.0));
        if let Some(balance) = balance {
            installed[0] += balance / discs[0].multiples().0;
            installed[1] -= balance / discs[1].multiples().0;
        }
        for (disc, installed) in discs.iter_mut().zip(installed) {
            // as it will stand in the file
            disc.installed = (installed * 1e3).round() / 1e3;
        }
        discs
    }

    /// The height of the disc that closes changed to the least error, its curve with it.
    fn closing_height(&self, discs: Vec<Disc>) -> Vec<Disc> {
        let Some(k) = discs.iter().position(|disc| disc.closes) else { return discs };
        let mut best = discs;
        let mut least = self.rms(&best);
        let mut step = 0.01 * best[k].spring.former.free_height;
        for _ in 0..8 {
            let height = best[k].spring.former.free_height;
            let mut better = false;
            for by in [step, -step] {
                let height = ((height + by) * 1e3).round() / 1e3;
                let Ok(Some(disc)) = best[k].with_height(height) else { continue };
                let mut tried = best.clone();
                tried[k] = disc;
                let rms = self.rms(&tried);
                if rms < least {
                    (best, least, better) = (tried, rms, true);
                    break;
                }
            }
            step *= if better { 1.3 } else { 0.4 };
        }
        best
    }
}
