//! Plans of assemblies for a wanted curve, the simplest first.

use crate::assembly::split::{in_series, nearest_opposed, opposed, series_levels};
use crate::assembly::{MemberTarget, OpposedLimit};
use crate::curve::{Reach, TargetCurve, nearest_reachable};
use crate::spec::{AssemblyKind, AssemblyWish, Brief, Stacking};

/// Clearance by which the discs of an opposed pair stay in touch, over the range of the deflection.
const TOUCH: f64 = 0.05;
/// Shares of the spare rate tried for disc a.
const SHARES: [f64; 10] = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.12, 0.88, 0.95];
/// Opposed plans that are searched for.
const OPPOSED_PLANS: usize = 3;
/// Weight of an e-fold range of rates of a disc, in ranges of deflection of height.
const RANGE_WEIGHT: f64 = 0.8;
/// Weight of a disc that is taller than allowed.
const TOO_TALL: f64 = 100.0;
/// Share of the tolerance that the nearest curve of a class may use up.
const OF_TOLERANCE: f64 = 0.6;
/// Ratio of the preloads tried, and how many.
const PRELOAD_STEP: f64 = 1.12;
/// See [`PRELOAD_STEP`].
const PRELOADS: i32 = 60;
/// Least force at the start over the largest that makes a preload.
const START: f64 = 0.02;
/// Departure from an odd curve, over the largest force, up to which two equal discs are taken.
const SYMMETRIC: f64 = 2e-3;

/// Member of a plan: `count` discs, each with its target.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct PlannedMember {
    /// target of one disc
    pub target: MemberTarget,
    pub count: usize,
    pub stacking: Stacking,
}

/// A plan.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Plan {
    pub kind: AssemblyKind,
    pub members: Vec<PlannedMember>,
    /// deflection of the whole at rest (mm), in series and parallel
    pub preload: f64,
    /// whether both sides of an opposed pair are the same disc
    pub symmetric: bool,
}

impl Plan {
    /// In words.
    pub fn name(&self) -> String {
        let discs: usize = self.members.iter().map(|member| member.count).sum();
        let equal = self.members.len() == 1 || self.symmetric;
        let sort = if equal { "equal" } else { "unequal" };
        match self.kind {
            AssemblyKind::Opposed => format!("opposed pair of {discs} {sort} discs"),
            kind => format!("{} of {discs} {sort} discs", kind.name()),
        }
    }

    fn of_equals(kind: AssemblyKind, count: usize, whole: &MemberTarget) -> Self {
        let stacking = match kind {
            AssemblyKind::Parallel => Stacking::Parallel,
            _ => Stacking::Series,
        };
        let target = whole.share(count, stacking);
        Self {
            kind,
            members: vec![PlannedMember { target, count, stacking }],
            preload: whole.installed,
            symmetric: false,
        }
    }
}

/// Plans for a curve, and the limits of its class.
#[derive(Debug, Clone)]
pub(super) struct Plans {
    /// plans in the order in which they are tried
    pub tried: Vec<Plan>,
    /// deflection at which one disc would have to be installed, where the curve starts with a force that one can hold
    pub installed: Option<f64>,
    /// why no opposed pair has the wanted curve, and how near one comes (percent rms)
    pub limit: Option<(OpposedLimit, f64)>,
}

impl Plans {
    /// For a target, a brief and a tolerance (percent rms).
    pub fn of(target: &TargetCurve, brief: &Brief, tolerance: f64) -> Self {
        let wish = brief.assembly.kind;
        let may = |kind: AssemblyWish| wish == AssemblyWish::Any || wish == kind;
        let two_sided = target.deflection.first().is_some_and(|x| *x < 0.0);
        let given = brief.duty.installed.unwrap_or(0.0);
        let mut found = Self { tried: Vec::new(), installed: None, limit: None };
        let reach = (!two_sided).then(|| reach(target, given, tolerance)).flatten();
        if let Some(reach) = &reach {
            found.installed = (reach.installed > given).then_some(reach.installed);
            found.tried.extend(stacks(reach, brief, &may));
        }
        let stiffening = reach.as_ref().is_some_and(|reach| reach.rms_percent < 0.5 * tolerance);
        if may(AssemblyWish::Opposed) && (!stiffening || wish == AssemblyWish::Opposed) {
            let (plans, limit) = pairs(target, brief);
            found.tried.extend(plans);
            found.limit = limit;
        }
        let height = |plan: &Plan| -> f64 {
            plan.members.iter().map(|member| member.count as f64 * member.target.reach()).sum()
        };
        if let Some(most) = brief.assembly.height_max {
            found.tried.retain(|plan| {
                let pressed =
                    if plan.kind == AssemblyKind::Opposed { least_opposed(plan) } else { height(plan) };
                pressed - plan.preload < most
            });
        }
        found
    }
}

/// Least height that the discs of an opposed pair have left at rest together (mm).
fn least_opposed(plan: &Plan) -> f64 {
    let range = |member: &PlannedMember| member.target.deflection.last().copied().unwrap_or(0.0);
    plan.members.first().map_or(0.0, range)
}

/// The nearest curve that a disc or a stack can follow, pressed in as little as its start asks for; none where it is far
/// off.
fn reach(target: &TargetCurve, given: f64, tolerance: f64) -> Option<Reach> {
    let near = |installed: f64| {
        let reach = nearest_reachable(target, installed);
        (reach.rms_percent <= OF_TOLERANCE * tolerance).then_some(reach)
    };
    let start = target.force.first().copied().unwrap_or(0.0);
    if given > 0.0 || start <= START * target.max_force() {
        return near(given)
            .or_else(|| Some(nearest_reachable(target, given)).filter(|reach| reach.reachable));
    }
    let first = 0.05 * target.max_deflection();
    (0..PRELOADS).find_map(|k| near(first * PRELOAD_STEP.powi(k)))
}

/// Series and parallel: a soft disc before a stiff one, then equal discs.
fn stacks(reach: &Reach, brief: &Brief, may: &dyn Fn(AssemblyWish) -> bool) -> Vec<Plan> {
    let most = brief.assembly.discs_max();
    let (x, f) = reach.from_free_height();
    let whole = MemberTarget {
        installed: reach.installed,
        deflection: reach.nearest.deflection.clone(),
        force: reach.nearest.force.clone(),
        closes: false,
    };
    let mut plans = Vec::new();
    if may(AssemblyWish::Series) && most >= 2 && reach.installed == 0.0 {
        for level in series_levels(&x[1..], &f[1..]).into_iter().take(2) {
            let Some(targets) = in_series(&x[1..], &f[1..], level) else { continue };
            let members = targets
                .into_iter()
                .map(|target| PlannedMember { target, count: 1, stacking: Stacking::Series })
                .collect();
            plans.push(Plan { kind: AssemblyKind::Series, members, preload: 0.0, symmetric: false });
        }
    }
    for count in 2..=most {
        for (wish, kind) in
            [(AssemblyWish::Series, AssemblyKind::Series), (AssemblyWish::Parallel, AssemblyKind::Parallel)]
        {
            if may(wish) {
                plans.push(Plan::of_equals(kind, count, &whole));
            }
        }
    }
    plans
}

/// Opposed pairs, the most promising split first; and why the curve itself is out of reach, where it is.
fn pairs(target: &TargetCurve, brief: &Brief) -> (Vec<Plan>, Option<(OpposedLimit, f64)>) {
    let most = brief.assembly.discs_max();
    if most < 2 || target.len() < 3 {
        return (Vec::new(), None);
    }
    let base = target.error_bases();
    let limit = opposed(&target.deflection, &target.force, 0.5, 0.0).err();
    let (x, f) = nearest_opposed(&target.deflection, &target.force, &base);
    let limit = limit.map(|limit| {
        let near: Vec<f64> =
            target.deflection.iter().map(|at| crate::numeric::straight_between(&x, &f, *at)).collect();
        (limit, target.errors_percent(&near).0)
    });
    let range = x[x.len() - 1] - x[0];
    let symmetric = is_odd(&x, &f);
    let mut found: Vec<(f64, f64, Plan)> = Vec::new();
    let shares: &[f64] = if symmetric { &SHARES[..1] } else { &SHARES };
    for (count, share) in [1, 2].into_iter().flat_map(|count| shares.iter().map(move |share| (count, *share)))
    {
        if 2 * count > most {
            continue;
        }
        let Ok(targets) = opposed(&x, &f, share, TOUCH * range) else { continue };
        let mut cost: f64 = targets.iter().map(|target| cost(target, range)).sum();
        let tallest = targets.iter().map(MemberTarget::reach).fold(0.0, f64::max) / count as f64;
        if brief.envelope.free_height_max.is_some_and(|most| tallest > most) {
            // the less too tall the better
            cost += TOO_TALL + tallest;
        }
        let members = targets
            .into_iter()
            .map(|target| PlannedMember {
                target: target.share(count, Stacking::Series),
                count,
                stacking: Stacking::Series,
            })
            .collect();
        let plan = Plan { kind: AssemblyKind::Opposed, members, preload: 0.0, symmetric };
        // single discs before stacks
        found.push((cost + 1e3 * count as f64, share, plan));
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut kept: Vec<(f64, f64, Plan)> = Vec::new();
    for (cost, share, plan) in found {
        let count = plan.members[0].count;
        let alike = |other: &&(f64, f64, Plan)| other.2.members[0].count == count;
        let near = kept.iter().filter(alike).any(|other| (other.1 - share).abs() < 0.15);
        if !near && kept.iter().filter(alike).count() < OPPOSED_PLANS {
            kept.push((cost, share, plan));
        }
    }
    (kept.into_iter().map(|(_, _, plan)| plan).collect(), limit)
}

/// Height in units of the range, and how far the rates of a disc lie apart.
fn cost(target: &MemberTarget, range: f64) -> f64 {
    let spread = target.curve().map_or(10.0, |curve| {
        let rates: Vec<f64> = curve
            .deflections()
            .windows(2)
            .map(|pair| curve.rate(0.5 * (pair[0] + pair[1])))
            .filter(|rate| *rate > 0.0)
            .collect();
        let least = rates.iter().copied().fold(f64::INFINITY, f64::min);
        (rates.iter().copied().fold(0.0, f64::max) / least).ln()
    });
    target.reach() / range + RANGE_WEIGHT * spread
}

/// Whether a curve is the same to both sides of zero.
fn is_odd(x: &[f64], f: &[f64]) -> bool {
    let largest = f.iter().map(|f| f.abs()).fold(0.0, f64::max);
    let mirrored = |at: f64| crate::numeric::straight_between(x, f, -at);
    (x[0] + x[x.len() - 1]).abs() < 1e-6 * x[x.len() - 1].abs()
        && x.iter().zip(f).all(|(x, f)| (mirrored(*x) + f).abs() <= SYMMETRIC * largest)
}
