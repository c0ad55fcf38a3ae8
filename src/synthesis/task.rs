//! Shaping of one candidate: coarsely first, then rung by rung up the ladder of arms.

use std::cell::Cell;

use super::closed_use::{ClosedRequirement, ClosedUse};
use super::limits::{CuttingLimits, easing_range, free_height_range, width_range};
use super::own_weight::{self, HEAVY};
use super::ranking::{Design, EQUAL_POINTS, Merits};
use super::rung::{Arm, FormerShape, Rung};
use super::shape_settings::{ShapeError, ShapeFreedom, ShapeSettings};
use super::shaping::{Shaped, shape};
use super::target_points::TargetPoints;
use crate::evaluation::Asked;
use crate::layout::{LayoutError, Spring};
use crate::model::ModelSettings;
use crate::spec::{Brief, FormerLaw};
use crate::variation::{self, GoodShare, Tolerances, good_share};

/// Segments while shaping; the finish uses the model's own number.
const COARSE_SEGMENTS: usize = 48;
/// Control radii of a first shape.
const FIRST_CONTROLS: usize = 6;
/// Control radii tried beyond the ladder where the curve is not met, one after the other, with the cost of bends: a knee
/// needs steep changes of width.
const MORE_CONTROLS: [(usize, f64); 2] = [(10, 1.0), (19, 0.5)];
/// Iterations of a first shape, of a rung, and at full resolution.
const ITERATIONS: [u64; 3] = [16, 16, 6];
/// Share of the tolerated error below which a plain cone is good enough that no shaped former is tried: what is left to gain
/// in good parts is less than the former costs.
const WELL_MET: f64 = 0.4;
/// Largest width over the narrowest that costs nothing. Judgement; a larger ratio looks like a mistake.
const WIDTH_RATIO: f64 = 4.0;
/// Clearance holes for screws M2 to M12, medium series (mm). ISO 273; from memory.
const CLEARANCE_HOLES: [f64; 9] = [2.4, 2.9, 3.4, 4.5, 5.5, 6.6, 9.0, 11.0, 13.5];
/// Largest bore over the hub's diameter where the brief asks for none.
const BORE_SHARE: f64 = 0.4;
/// Width of the hub's ring beside a bore that nobody asked for, in root widths.
const HUB_RING: f64 = 1.5;
/// Width of the rim in root widths.
const RIM_RING: f64 = 1.2;

/// A candidate shaped coarsely.
#[derive(Debug, Clone)]
pub(super) struct Coarse {
    pub spring: Spring,
    pub rms_percent: f64,
    /// stress of the arms over the allowable
    pub stress: f64,
    pub closed: ClosedUse,
    /// shares of good parts
    pub good: GoodShare,
    /// weight of the full disc over the largest force asked for
    pub own_weight: f64,
    /// the spring on a plain cone that this one was shaped from
    pub on_cone: Spring,
}

impl Coarse {
    /// Whether curve, stress and the closed spring are within their limits.
    pub fn feasible(&self, tolerance: f64) -> bool {
        self.excess(tolerance) <= 0.0
    }

    /// How far beyond its limits the candidate is, relative to each.
    fn excess(&self, tolerance: f64) -> f64 {
        let beyond = |used: f64| (used - 1.0).max(0.0);
        beyond(self.rms_percent / tolerance) + beyond(self.stress) + beyond(self.closed.largest())
    }

    /// Lower is better: feasible before infeasible, then good parts, steps of three points apart, then size.
    pub fn rank(&self, tolerance: f64) -> f64 {
        let excess = self.excess(tolerance);
        if excess > 0.0 {
            return 1e3 + excess;
        }
        // springs too heavy for their force rank behind all others
        let heavy = if self.own_weight > HEAVY { 100.0 + self.own_weight.min(500.0) } else { 0.0 };
        let steps = (100.0 * (1.0 - self.good.mean()) / EQUAL_POINTS).round() + heavy;
        // diameters stay below one step: they decide between equal steps only
        steps + 1e-6 * self.spring.disc.outer_radius
    }
}

/// Conditions shared by all candidates of an attempt.
pub(super) struct Task<'a> {
    pub points: &'a TargetPoints,
    pub brief: &'a Brief,
    pub limits: &'a (dyn Fn(f64) -> CuttingLimits + Sync),
    pub allowable: Option<f64>,
    pub tolerance: f64,
    pub reserve: f64,
    pub asked: Asked,
    /// whether no further rung may begin
    pub over: &'a (dyn Fn() -> bool + Sync),
}

impl Task<'_> {
    fn settings(
        &self,
        start: &Spring,
        freedom: ShapeFreedom,
        segments: usize,
        iterations: u64,
    ) -> ShapeSettings {
        let limits = (self.limits)(start.sheet.thickness);
        ShapeSettings {
            freedom,
            width: width_range(limits.arm_min, &start.disc),
            free_height: free_height_range(self.points.reach(), self.reserve, &self.brief.envelope),
            ease: easing_range(&self.brief.former),
            profile: false,
            allowable: self.allowable,
            width_ratio: WIDTH_RATIO,
            closed: Some(ClosedRequirement {
                process: self.asked.checks.process.clone(),
                solid_height_max: self.brief.envelope.solid_height_max,
                allowable: self.allowable,
                life: (self.asked.checks.duty.cycles > 0.0).then(|| self.asked.checks.clone()),
            }),
            smoothness: 1.0,
            iterations,
            model: ModelSettings { segments, ..ModelSettings::default() },
        }
    }

    /// A free width of few control radii, its rings fitted; on a shaped former where a cone does not do.
    pub fn shape_coarsely(&self, start: &Spring) -> Result<Coarse, ShapeError> {
        let freedom = ShapeFreedom::Free(FIRST_CONTROLS);
        let settings = self.settings(start, freedom, COARSE_SEGMENTS, ITERATIONS[0]);
        let first = shape(start, self.points, &settings)?;
        let fitted = self.fit_rings(first.spring)?;
        let again = ShapeSettings { iterations: ITERATIONS[2], ..settings };
        let cone = self.coarse(shape(&fitted, self.points, &again)?);
        let suffices =
            self.brief.former.law == Some(FormerLaw::Cone) || cone.feasible(WELL_MET * self.tolerance);
        if suffices || (self.over)() {
            return Ok(cone);
        }
        let settings = self.settings(&cone.spring, freedom, COARSE_SEGMENTS, ITERATIONS[0]);
        let shaped = shape(&cone.spring, self.points, &ShapeSettings { profile: true, ..settings });
        match shaped.map(|shaped| self.coarse(shaped)) {
            Ok(profile) if profile.rank(self.tolerance) < cone.rank(self.tolerance) => {
                Ok(Coarse { on_cone: cone.spring, ..profile })
            }
            _ => Ok(cone),
        }
    }

    fn coarse(&self, shaped: Shaped) -> Coarse {
        let good = self.good(&shaped.spring);
        Coarse {
            rms_percent: shaped.rms_percent,
            stress: self.allowable.map_or(0.0, |allowable| shaped.flat_stress / allowable),
            closed: shaped.closed,
            good,
            own_weight: own_weight::of_spring(&shaped.spring, self.points.largest_force()),
            on_cone: shaped.spring.clone(),
            spring: shaped.spring,
        }
    }

    /// Shares of good parts.
    fn good(&self, spring: &Spring) -> GoodShare {
        let tolerances = Tolerances::of(spring, &self.asked.tolerance, &self.asked.checks.process);
        let wanted = variation::Asked {
            target: self.asked.target.as_ref(),
            installed: self.asked.installed(),
            tolerance_percent: self.tolerance,
        };
        // a spring whose scatter cannot be followed has no good parts to count
        good_share(spring, &tolerances, &wanted).unwrap_or_default()
    }

    /// The lowest rung of the ladder whose share of good parts is within three points of the best, finished at the model's
    /// own resolution; none where no rung makes a spring. When the time is up, of the rungs climbed so far.
    pub fn climb(&self, found: &Coarse) -> Option<Design> {
        let mut rungs: Vec<(Arm, Coarse)> = Vec::new();
        let cone = &found.on_cone;
        let cut = Cell::new(false);
        let in_time = || {
            cut.set(cut.get() || (self.over)());
            !cut.get()
        };
        if self.brief.former.law != Some(FormerLaw::Profile) {
            for arm in Arm::ALL {
                if in_time() {
                    self.add_rung(&mut rungs, arm, cone, false);
                }
            }
        }
        let well_met =
            |rungs: &[(Arm, Coarse)]| rungs.iter().any(|(_, rung)| rung.feasible(WELL_MET * self.tolerance));
        if self.brief.former.law != Some(FormerLaw::Cone) && !well_met(&rungs) {
            for arm in [Arm::Linear, Arm::Free] {
                if in_time() {
                    self.add_rung(&mut rungs, arm, &found.spring, true);
                }
            }
        }
        for (controls, smoothness) in MORE_CONTROLS {
            if rungs.iter().any(|(_, rung)| rung.feasible(self.tolerance)) || !in_time() {
                break;
            }
            // a knee needs steep changes of width
            let best = rungs
                .iter()
                .min_by(|a, b| a.1.excess(self.tolerance).total_cmp(&b.1.excess(self.tolerance)))?;
            let start = best.1.spring.clone();
            let settings =
                self.settings(&start, ShapeFreedom::Free(controls), COARSE_SEGMENTS, ITERATIONS[1]);
            let profile = !start.former.is_cone();
            rungs.extend(self.rung(Arm::Free, &start, &ShapeSettings { profile, smoothness, ..settings }));
        }
        if cut.get() {
            // in place of the rungs left out
            rungs.push((Arm::Free, found.clone()));
        }
        let finished = |place: usize| {
            let (arm, rung) = &rungs[place];
            let coarse = 100.0 * rung.good.mean();
            let design = self.finish(*arm, &rung.spring);
            // last steps that cost good parts are not taken
            if design.as_ref().is_some_and(|design| design.merits.good_mean() >= coarse - EQUAL_POINTS) {
                return design;
            }
            let before = self.design(*arm, rung.spring.clone());
            match (design, before) {
                (Some(design), Some(before)) if behind(&design.merits, &before.merits) => Some(before),
                (design, before) => design.or(before),
            }
        };
        let mut taken = self.lowest(&rungs)?;
        let mut design = finished(taken)?;
        // where the last steps cost the simple arm more good parts than it may lack, the best one is finished too
        let best = (0..rungs.len())
            .filter(|&k| k != taken && rungs[k].1.feasible(self.tolerance))
            .max_by(|&a, &b| rungs[a].1.good.mean().total_cmp(&rungs[b].1.good.mean()));
        if let Some(place) = best
            && 100.0 * rungs[place].1.good.mean() > design.merits.good_mean() + EQUAL_POINTS
            && in_time()
            && let Some(other) = finished(place)
            && behind(&design.merits, &other.merits)
        {
            (taken, design) = (place, other);
        }
        design.ladder = rungs
            .iter()
            .enumerate()
            .map(|(place, (arm, rung))| Rung {
                arm: *arm,
                former: if rung.spring.former.is_cone() { FormerShape::Cone } else { FormerShape::Profile },
                rms_percent: rung.rms_percent,
                good_percent: 100.0 * rung.good.as_bought,
                good_percent_sheet_measured: 100.0 * rung.good.sheet_measured,
                taken: place == taken,
            })
            .collect();
        // the spring's own numbers, as its last steps left them
        let merits = design.merits;
        let rung = &mut design.ladder[taken];
        rung.rms_percent = merits.rms_percent;
        rung.good_percent = merits.good_percent;
        rung.good_percent_sheet_measured = merits.good_percent_sheet_measured;
        Some(design)
    }

    /// Adds a rung shaped from `start`. A shape contains every simpler one: where it comes out behind the best of those, the
    /// start was misleading, and that one is the start.
    fn add_rung(&self, rungs: &mut Vec<(Arm, Coarse)>, arm: Arm, start: &Spring, profile: bool) {
        let from = |start: &Spring| {
            let settings = self.settings(start, arm.freedom(start), COARSE_SEGMENTS, ITERATIONS[1]);
            self.rung(arm, start, &ShapeSettings { profile, ..settings })
        };
        let rank = |rung: &Coarse| rung.rank(self.tolerance);
        let better = |a: Option<(Arm, Coarse)>, b: Option<(Arm, Coarse)>| match (&a, &b) {
            (Some(one), Some(other)) if rank(&other.1) < rank(&one.1) => b,
            (None, _) => b,
            _ => a,
        };
        let mut found = from(start);
        let simpler = rungs
            .iter()
            .filter(|(other, _)| *other <= arm)
            .min_by(|a, b| rank(&a.1).total_cmp(&rank(&b.1)))
            .map(|(_, rung)| rung);
        if let Some(simpler) = simpler
            && found.as_ref().is_none_or(|found| rank(&found.1) > rank(simpler))
        {
            found = better(found, from(&simpler.spring));
            // no better one was found than the simpler shape itself
            if found.as_ref().is_none_or(|found| rank(&found.1) > rank(simpler)) {
                found = Some((arm, simpler.clone()));
            }
        }
        rungs.extend(found);
    }

    /// One rung shaped; none where it makes no spring.
    fn rung(&self, arm: Arm, start: &Spring, settings: &ShapeSettings) -> Option<(Arm, Coarse)> {
        let shaped = shape(start, self.points, settings).ok()?;
        Some((arm, self.coarse(shaped)))
    }

    /// Index of the lowest rung that is as good as any.
    fn lowest(&self, rungs: &[(Arm, Coarse)]) -> Option<usize> {
        let feasible = |rung: &Coarse| rung.feasible(self.tolerance);
        if !rungs.iter().any(|(_, rung)| feasible(rung)) {
            let excess = |rung: &Coarse| rung.excess(self.tolerance);
            return (0..rungs.len()).min_by(|&a, &b| excess(&rungs[a].1).total_cmp(&excess(&rungs[b].1)));
        }
        let most = rungs
            .iter()
            .filter(|(_, rung)| feasible(rung))
            .map(|(_, rung)| rung.good.mean())
            .fold(0.0, f64::max);
        rungs.iter().position(|(_, rung)| feasible(rung) && rung.good.mean() >= most - 0.01 * EQUAL_POINTS)
    }

    /// Last steps at the model's own resolution, the numbers as the file has them.
    fn finish(&self, arm: Arm, spring: &Spring) -> Option<Design> {
        let segments = ModelSettings::default().segments;
        let controls = match &spring.shape {
            crate::layout::ArmShape::Slots(line) => line.nominal_width().arguments().len(),
            crate::layout::ArmShape::Stations(_) => FIRST_CONTROLS,
        };
        let freedom = match arm {
            Arm::Free => ShapeFreedom::Free(controls),
            other => other.freedom(spring),
        };
        let settings = self.settings(spring, freedom, segments, ITERATIONS[2]);
        let settings = ShapeSettings { profile: !spring.former.is_cone(), ..settings };
        let last =
            shape(spring, self.points, &settings).map_or_else(|_| spring.clone(), |shaped| shaped.spring);
        self.design(arm, last)
    }

    /// The spring with its rings and the numbers as the file has them.
    fn design(&self, arm: Arm, spring: Spring) -> Option<Design> {
        let fitted = self.fit_rings(spring).ok()?;
        Design::of(rounded(fitted).ok()?, &self.asked, arm).ok()
    }

    /// Rings as wide as the roots ask for, within the envelope; a bore that the brief asks for, or a clearance hole where
    /// the hub has room for one.
    fn fit_rings(&self, mut spring: Spring) -> Result<Spring, LayoutError> {
        let arm = spring.arm(60)?;
        let last = arm.width.len() - 1;
        let most = self.brief.envelope.outer_diameter_max.map_or(f64::INFINITY, |d| 0.5 * d);
        let edge = spring.disc.slot_outer_radius + 0.5 * spring.slot;
        let least_ring = (self.limits)(spring.sheet.thickness).arm_min;
        let wanted = edge + (RIM_RING * arm.width[0]).max(least_ring);
        spring.disc.outer_radius = wanted.min(most).max(edge + 0.5 * least_ring);
        let hub_edge = spring.disc.slot_inner_radius - 0.5 * spring.slot;
        let ring = HUB_RING * arm.width[last].max(least_ring);
        spring.disc.bore_radius = bore_radius(hub_edge, ring, self.brief.envelope.bore_diameter_min);
        Ok(spring)
    }
}

/// Radius of the bore (mm) in a hub that ends at `hub_edge` (mm) and keeps a ring `ring` wide (mm): as asked for, else the
/// largest clearance hole that fits, else none.
pub(super) fn bore_radius(hub_edge: f64, ring: f64, asked: Option<f64>) -> f64 {
    if let Some(diameter) = asked {
        return 0.5 * diameter;
    }
    let most = (2.0 * (hub_edge - ring)).min(BORE_SHARE * 2.0 * hub_edge);
    0.5 * CLEARANCE_HOLES.into_iter().filter(|hole| *hole <= most).fold(0.0, f64::max)
}

/// The spring with its numbers as they will stand in the file: widths, heights and radii to a micrometre, circles to
/// ten.
pub(super) fn rounded(spring: Spring) -> Result<Spring, LayoutError> {
    let mut file = spring.to_file();
    for list in [&mut file.arm.radius, &mut file.arm.width, &mut file.former.radius, &mut file.former.height]
        .into_iter()
        .flatten()
    {
        for value in list.iter_mut() {
            *value = decimals(*value, 3);
        }
    }
    file.former.free_height = decimals(file.former.free_height, 3);
    file.former.ease = decimals(file.former.ease, 2);
    for diameter in [
        &mut file.disc.outer_diameter,
        &mut file.disc.arm_outer_diameter,
        &mut file.disc.arm_inner_diameter,
        &mut file.disc.bore_diameter,
    ]
    .into_iter()
    .flatten()
    {
        *diameter = decimals(*diameter, 2);
    }
    let mut again = Spring::from_file(&file, None)?;
    again.sheet = spring.sheet;
    Ok(again)
}

/// The value as it reads with so many decimals.
fn decimals(value: f64, count: usize) -> f64 {
    format!("{value:.count$}").parse().unwrap_or(value)
}

/// Whether one spring fails where the other passes, or has fewer good parts by more than a simpler arm may have.
fn behind(one: &Merits, other: &Merits) -> bool {
    if one.passed == other.passed {
        return one.good_mean() < other.good_mean() - EQUAL_POINTS;
    }
    other.passed
}
