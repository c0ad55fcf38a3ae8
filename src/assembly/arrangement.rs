//! Discs put together: the force of the whole from the curves of its members.
//!
//! `F_m(y)` force of a disc at its own deflection `y`, `y_m(F)` its inverse, `x` deflection of the whole from where it
//! rests, `y⁰_m` deflection of a member at rest:
//!
//! ```text
//! series    x = Σ [y_m(F) − y⁰_m]             deflections add at equal force; a closed disc adds nothing more
//! parallel  F = Σ F_m(y⁰_m + x)               forces add at equal deflection
//! opposed   F = F_a(y⁰_a + x) − F_b(y⁰_b − x) a disc that is loose adds nothing
//! opposed-series   x = u(F) + y_c(F)          u deflection of the pair's hub from its own balance
//! ```
//!
//! In the last one the third disc is pressed by nothing but the load: the force is never below zero, the pair rests where
//! its two forces are equal, and the inverse of its curve from there is single-valued because neither rate is below zero.
//!
//! Equilibrium and compatibility, nothing else; friction is told apart ([`Arrangement::friction`]).

use super::force_curve::ForceCurve;
use super::spacers::{SHOULDER_MM, outer_plate_mm};
use crate::spec::{AssemblyKind, Stacking};

/// Friction of each face that slides over a plate or over another sheet, in units of the force it carries: least and
/// largest. Common practice for stacked disc springs is 2 to 3 % a face; from memory.
pub const FRICTION_PER_FACE: [f64; 2] = [0.02, 0.03];

/// A disc, or a stack of equal discs, in its place.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacedMember {
    /// one disc
    pub curve: ForceCurve,
    /// number of equal discs
    pub count: usize,
    /// arrangement of the equal discs
    pub stacking: Stacking,
    /// deflection of one disc at rest (mm)
    pub installed: f64,
    /// thickness of the sheet (mm)
    pub thickness: f64,
    /// thickness of its spacers in all (mm)
    pub spacer: f64,
}

impl PlacedMember {
    /// The curve of the whole stack.
    fn stack(&self) -> ForceCurve {
        self.curve.stacked(self.count, self.stacking)
    }

    /// Deflection of the stack over that of one disc.
    fn multiple(&self) -> f64 {
        match self.stacking {
            Stacking::Series => self.count as f64,
            Stacking::Parallel => 1.0,
        }
    }

    /// Height of the stack with each disc deflected by `deflection` (mm), its spacers included.
    pub fn height(&self, deflection: f64) -> f64 {
        self.multiple() * (self.curve.closed() - deflection)
            + self.count as f64 * self.thickness
            + self.spacer
    }

    /// Faces that slide: one seat a disc, and between nested sheets.
    fn faces(&self) -> f64 {
        match self.stacking {
            Stacking::Series => 1.0,
            Stacking::Parallel => self.count as f64,
        }
    }
}

/// Members and how they are put together.
#[derive(Debug, Clone, PartialEq)]
pub struct Arrangement {
    kind: AssemblyKind,
    members: Vec<PlacedMember>,
    stacks: Vec<ForceCurve>,
    /// in series: the whole from where every disc is free; with a third disc from where the pair is balanced
    whole: Option<ForceCurve>,
    /// the pair in series with a third disc
    pair: Option<BalancedPair>,
}

/// An opposed pair that is in balance without load.
#[derive(Debug, Clone, PartialEq)]
struct BalancedPair {
    /// deflection of the hub in balance, from where the discs are deflected as installed (mm)
    balance: f64,
    /// force over the deflection of the hub from there
    curve: ForceCurve,
}

impl PlacedMember {
    /// Deflection (mm) at which the shoulder under a third disc meets the plate over the pair, `thickest` (mm) being the
    /// thickest sheet; none where its place is not known yet.
    pub fn stop(&self, thickest: f64) -> Option<f64> {
        (self.spacer > 0.0).then(|| self.spacer - outer_plate_mm(thickest) - SHOULDER_MM)
    }
}

/// Least distance of two points of a pair's curve (mm).
const LEAST_STEP: f64 = 1e-9;

impl BalancedPair {
    /// Of stacks with their deflections at rest (mm), the hub stopped after `stop` (mm). None where the forces are nowhere
    /// equal.
    fn of(stacks: &[ForceCurve], at_rest: [f64; 2], stop: Option<f64>) -> Option<Self> {
        let [a, b] = stacks.get(..2)? else { return None };
        let (low, high) = (at_rest[1] - b.closed(), a.closed() - at_rest[0]);
        let mut places: Vec<f64> = a.deflections().iter().map(|y| y - at_rest[0]).collect();
        places.extend(b.deflections().iter().map(|y| at_rest[1] - y));
        places.retain(|u| (low..=high).contains(u));
        places.sort_by(f64::total_cmp);
        places.dedup_by(|next, before| *next - *before < LEAST_STEP);
        let force =
            |u: f64| a.force((at_rest[0] + u).min(a.closed())) - b.force((at_rest[1] - u).min(b.closed()));
        let forces: Vec<f64> = places.iter().map(|u| force(*u)).collect();
        let first = forces.iter().position(|force| *force > 0.0).filter(|first| *first > 0)?;
        let (from, to) = (places[first - 1], places[first]);
        let share = -forces[first - 1] / (forces[first] - forces[first - 1]);
        let balance = from + share * (to - from);
        let beyond = places.iter().zip(&forces).filter(|(u, _)| **u - balance > LEAST_STEP);
        let (mut u, mut f): (Vec<f64>, Vec<f64>) = beyond.map(|(u, f)| (u - balance, *f)).unzip();
        if let Some(stop) = stop.filter(|stop| u.last().is_some_and(|last| stop < last)) {
            let before = u.partition_point(|u| *u < stop - LEAST_STEP);
            u.truncate(before);
            f.truncate(before);
            u.push(stop);
            f.push(force(balance + stop));
        }
        Some(Self { balance, curve: ForceCurve::through(&u, &f)? })
    }
}

impl Arrangement {
    /// `None` without members, where an opposed pair does not have exactly two or, with a third disc, three, and where such
    /// a pair has no balance. A third disc is loose at rest.
    pub fn of(kind: AssemblyKind, mut members: Vec<PlacedMember>) -> Option<Self> {
        let expected = kind.sides().len();
        if members.is_empty() || expected > 0 && members.len() != expected {
            return None;
        }
        if kind == AssemblyKind::OpposedSeries {
            members[2].installed = 0.0;
        }
        let stacks: Vec<ForceCurve> = members.iter().map(PlacedMember::stack).collect();
        let mut arrangement = Self { kind, members, stacks, whole: None, pair: None };
        arrangement.whole = match kind {
            AssemblyKind::Series => Some(ForceCurve::in_series(&arrangement.stacks)?),
            AssemblyKind::OpposedSeries => {
                let at_rest = [arrangement.at_rest(0), arrangement.at_rest(1)];
                let thickest = arrangement.members.iter().map(|member| member.thickness).fold(0.0, f64::max);
                let stop = arrangement.members[2].stop(thickest);
                let pair = BalancedPair::of(&arrangement.stacks, at_rest, stop)?;
                let discs = [pair.curve.clone(), arrangement.stacks[2].clone()];
                arrangement.pair = Some(pair);
                Some(ForceCurve::in_series(&discs)?)
            }
            _ => None,
        };
        Some(arrangement)
    }

    /// Kind.
    pub fn kind(&self) -> AssemblyKind {
        self.kind
    }

    /// Members in their places.
    pub fn members(&self) -> &[PlacedMember] {
        &self.members
    }

    /// Deflection of each stack at rest (mm).
    fn at_rest(&self, k: usize) -> f64 {
        self.members[k].multiple() * self.members[k].installed
    }

    fn whole_at_rest(&self) -> f64 {
        if self.pair.is_some() {
            return 0.0;
        }
        (0..self.members.len()).map(|k| self.at_rest(k)).sum()
    }

    /// Force (N) at a deflection from rest (mm); without bound beyond [`travel`](Self::travel).
    pub fn force(&self, x: f64) -> f64 {
        match (self.kind, &self.whole) {
            (AssemblyKind::Opposed, _) => {
                self.stacks[0].force(self.at_rest(0) + x) - self.stacks[1].force(self.at_rest(1) - x)
            }
            (_, Some(whole)) => whole.force(self.whole_at_rest() + x),
            _ => (0..self.stacks.len()).map(|k| self.stacks[k].force(self.at_rest(k) + x)).sum(),
        }
    }

    /// Rate (N/mm) at a deflection from rest (mm).
    pub fn rate(&self, x: f64) -> f64 {
        match (self.kind, &self.whole) {
            (AssemblyKind::Opposed, _) => {
                self.stacks[0].rate(self.at_rest(0) + x) + self.stacks[1].rate(self.at_rest(1) - x)
            }
            (_, Some(whole)) => whole.rate(self.whole_at_rest() + x),
            _ => (0..self.stacks.len()).map(|k| self.stacks[k].rate(self.at_rest(k) + x)).sum(),
        }
    }

    /// Deflection (mm) of the hub of the pair behind a third disc, from where the discs are deflected as installed, at a
    /// force (N); none of other kinds.
    pub fn hub_deflection(&self, force: f64) -> Option<f64> {
        self.pair.as_ref().map(|pair| pair.balance + pair.curve.deflection(force))
    }

    /// Largest deflection (mm) of the hub of the pair behind a third disc, from where it is balanced: disc a is closed, or the
    /// shoulder under the third disc meets the plate over the pair. 0 of other kinds.
    pub fn hub_travel(&self) -> f64 {
        self.pair.as_ref().map_or(0.0, |pair| pair.curve.closed())
    }

    /// Deflection (mm) of one disc of each member, from its free height, at a deflection of the whole from rest (mm); none
    /// where it is loose, closed at most.
    pub fn disc_deflections(&self, x: f64) -> Vec<f64> {
        let force = self.whole.as_ref().map(|whole| whole.force(self.whole_at_rest() + x));
        let hub = force.and_then(|force| self.hub_deflection(force));
        (0..self.members.len())
            .map(|k| {
                let stack = &self.stacks[k];
                let of_stack = match (force, hub) {
                    (_, Some(hub)) if k == 0 => self.at_rest(k) + hub,
                    (_, Some(hub)) if k == 1 => self.at_rest(k) - hub,
                    (Some(force), _) => stack.deflection(force),
                    _ if self.kind == AssemblyKind::Opposed && k == 1 => self.at_rest(k) - x,
                    _ => self.at_rest(k) + x,
                };
                (of_stack / self.members[k].multiple()).clamp(0.0, self.members[k].curve.closed())
            })
            .collect()
    }

    /// Deflection from rest (mm) at which the first disc that bears the load is closed, all of them in series, with a third
    /// disc that one, and disc a closed or its hub at its stop.
    pub fn travel(&self) -> f64 {
        match &self.whole {
            Some(whole) => whole.closed() - self.whole_at_rest(),
            None if self.kind == AssemblyKind::Opposed => self.stacks[0].closed() - self.at_rest(0),
            None => (0..self.stacks.len())
                .map(|k| self.stacks[k].closed() - self.at_rest(k))
                .fold(f64::INFINITY, f64::min),
        }
    }

    /// Deflection from rest (mm), below zero, at which disc b of an opposed pair is closed; 0 for other kinds.
    pub fn travel_back(&self) -> f64 {
        if self.kind == AssemblyKind::Opposed { self.at_rest(1) - self.stacks[1].closed() } else { 0.0 }
    }

    /// Deflection from rest (mm) from which on disc b of an opposed pair is loose.
    pub fn loose_from(&self) -> Option<f64> {
        if let Some(pair) = &self.pair {
            let hub = self.at_rest(1) - pair.balance;
            let force = pair.curve.force(hub);
            return force.is_finite().then(|| hub + self.stacks[2].deflection(force));
        }
        (self.kind == AssemblyKind::Opposed).then(|| self.at_rest(1))
    }

    /// Least and largest friction (N) at a deflection from rest (mm): loading needs so much more force, unloading gives so
    /// much less. Common practice, see [`FRICTION_PER_FACE`].
    pub fn friction(&self, x: f64) -> [f64; 2] {
        if let (Some(pair), Some(whole)) = (&self.pair, &self.whole) {
            let carried = whole.force(x);
            let hub = pair.balance + pair.curve.deflection(carried);
            let of_a = self.members[0].faces()
                * self.stacks[0].force((self.at_rest(0) + hub).min(self.stacks[0].closed()));
            let of_b = self.members[1].faces() * self.stacks[1].force(self.at_rest(1) - hub);
            // the pair and the third disc carry the same force, and the softer of them decides
            let largest = (of_a + of_b).max(self.members[2].faces() * carried);
            return FRICTION_PER_FACE.map(|share| share * largest);
        }
        let force = |k: usize| match (self.kind, &self.whole) {
            (AssemblyKind::Opposed, _) if k == 1 => self.stacks[1].force(self.at_rest(1) - x),
            (_, Some(whole)) => whole.force(self.whole_at_rest() + x),
            _ => self.stacks[k].force(self.at_rest(k) + x),
        };
        let shares = (0..self.members.len()).map(|k| self.members[k].faces() * force(k));
        // in series every face carries the same force, and the softest of the discs decides
        let carried = if self.whole.is_some() { shares.fold(0.0, f64::max) } else { shares.sum::<f64>() };
        FRICTION_PER_FACE.map(|share| share * carried)
    }

    /// Force (N) with which each member is pressed at rest.
    pub fn preloads(&self) -> Vec<f64> {
        (0..self.members.len()).map(|k| self.stacks[k].force(self.balanced(k))).collect()
    }

    /// Deflection of each stack at rest (mm), a pair behind a third disc in its balance.
    fn balanced(&self, k: usize) -> f64 {
        let balance = self.pair.as_ref().map_or(0.0, |pair| pair.balance);
        match k {
            0 => self.at_rest(0) + balance,
            1 => self.at_rest(1) - balance,
            _ => self.at_rest(k),
        }
    }

    /// Energy (N·mm) stored at rest.
    pub fn energy_at_rest(&self) -> f64 {
        (0..self.members.len()).map(|k| self.stacks[k].energy(self.balanced(k))).sum()
    }

    /// Height between the plates (mm) with every disc free, nothing pressing.
    pub fn free_height(&self) -> f64 {
        self.members.iter().map(|member| member.height(0.0)).sum()
    }

    /// Height between the plates at rest (mm).
    pub fn height_at_rest(&self) -> f64 {
        self.members.iter().map(|member| member.height(member.installed)).sum()
    }

    /// Height between the plates (mm) with every loaded disc closed; that of an opposed pair never changes, with a third
    /// disc it is that from the lower plate to the loaded one.
    pub fn closed_height(&self) -> f64 {
        match self.kind {
            AssemblyKind::Opposed => self.height_at_rest(),
            AssemblyKind::OpposedSeries => self.height_at_rest() - self.travel(),
            _ => self.members.iter().map(|member| member.height(member.curve.closed())).sum(),
        }
    }

    /// The same arrangement with other deflections at rest (mm), one for each member. None where a pair behind a third disc
    /// has no balance then.
    pub fn installed_at(&self, installed: &[f64]) -> Option<Self> {
        let mut other = self.clone();
        for (member, installed) in other.members.iter_mut().zip(installed) {
            member.installed = *installed;
        }
        if self.kind == AssemblyKind::OpposedSeries {
            return Self::of(self.kind, other.members);
        }
        Some(other)
    }
}

#[cfg(test)]
#[path = "arrangement_tests.rs"]
mod tests;
