//! Plans of assemblies for a wanted curve, the simplest first.

use crate::assembly::split::{in_series, nearest_opposed, opposed, series_levels};
use crate::assembly::third::{ThirdSplit, splits};
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
/// Share of the deflection at rest that is left to shaping which a smaller one has to fall below to be tried first.
const WORTH_LESS: f64 = 0.85;
/// Halvings between two of them.
const PRELOAD_HALVINGS: usize = 5;
/// Shares of the tolerance that a disc deflected at rest may use up by what no disc can follow, tried in turn: the larger
/// one takes less height, the smaller one leaves more to shaping.
const AT_REST: [f64; 2] = [0.85, OF_TOLERANCE];
/// Least force at the start over the largest that makes a preload.
const START: f64 = 0.02;
/// Difference of shares below which two plans are nearly the same.
const NEAR_SHARE: f64 = 0.15;
/// Difference of the deflection of two third discs, relative, below which their splits are the same.
const SAME_REACH: f64 = 0.02;
/// Plans with a third disc that are searched for.
const THIRD_PLANS: usize = 3;
/// Weight of the error of a split over what the tolerance leaves to it, in ranges of deflection of height.
const ERROR_WEIGHT: f64 = 10.0;
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
            AssemblyKind::OpposedSeries => format!("opposed pair with a third disc in series, {discs} discs"),
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
    /// deflections at which one disc may be installed, the least height first, where the curve starts with a force
    pub installed: Vec<f64>,
    /// least deflection at rest of a disc that has the curve within the tolerance, where it starts with a force
    pub least_installed: Option<f64>,
    /// why no opposed pair has the wanted curve, and how near one comes
    pub limit: Option<PairLimit>,
}

/// Why no opposed pair has a wanted curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PairLimit {
    /// what the pair lacks
    pub lacks: OpposedLimit,
    /// error of the nearest curve of a pair (percent rms)
    pub rms_percent: f64,
    /// error of the nearest curve with a third disc in series (percent rms); none where no such was looked for
    pub with_third_percent: Option<f64>,
}

impl Plans {
    /// For a target, a brief and a tolerance (percent rms).
    pub fn of(target: &TargetCurve, brief: &Brief, tolerance: f64) -> Self {
        let wish = brief.assembly.kind;
        let may = |kind: AssemblyWish| wish == AssemblyWish::Any || wish == kind;
        let two_sided = target.deflection.first().is_some_and(|x| *x < 0.0);
        let given = brief.duty.installed.unwrap_or(0.0);
        let mut found = Self { tried: Vec::new(), installed: Vec::new(), least_installed: None, limit: None };
        let reach = (!two_sided).then(|| reach(target, given, tolerance)).flatten();
        if !two_sided && given == 0.0 && starts(target) {
            found.least_installed = least_installed(target, tolerance);
            found.installed =
                AT_REST.into_iter().filter_map(|share| least_installed(target, share * tolerance)).collect();
            if let [less, more] = found.installed[..]
                && less > WORTH_LESS * more
            {
                found.installed.remove(0);
            }
        }
        if let Some(reach) = &reach {
            found.tried.extend(stacks(reach, brief, &may));
        }
        let stiffening = reach.as_ref().is_some_and(|reach| reach.rms_percent < 0.5 * tolerance);
        if may(AssemblyWish::Opposed) && (!stiffening || wish == AssemblyWish::Opposed) {
            let (plans, limit) = pairs(target, brief);
            found.tried.extend(plans);
            found.limit = limit;
            if limit.is_some_and(|limit| limit.rms_percent > tolerance) {
                // no pair suffices: the one that comes nearest is taken
                found.tried.truncate(1);
            }
        }
        found.with_third(target, brief, tolerance, stiffening);
        let height = |plan: &Plan| -> f64 {
            plan.members.iter().map(|member| member.count as f64 * member.target.reach()).sum()
        };
        if let Some(most) = brief.assembly.height_max {
            found.tried.retain(|plan| {
                let pressed = match plan.kind {
                    AssemblyKind::Opposed => least_opposed(plan),
                    AssemblyKind::OpposedSeries => least_opposed(plan) + plan.members[2].target.reach(),
                    _ => height(plan),
                };
                pressed - plan.preload < most
            });
        }
        found
    }

    /// Plans with a third disc: before the pairs where no pair comes near enough, behind them where it is a close thing or
    /// where the brief names the kind or allows so many discs.
    fn with_third(&mut self, target: &TargetCurve, brief: &Brief, tolerance: f64, stiffening: bool) {
        let wish = brief.assembly.kind;
        let named = wish == AssemblyWish::OpposedSeries;
        let pair_percent = self.limit.map_or(0.0, |limit| limit.rms_percent);
        let needed = pair_percent > OF_TOLERANCE * tolerance;
        let asked = named || (brief.assembly.discs_max.is_some() && !stiffening);
        if !brief.assembly.third_disc() || !(needed || asked) {
            return;
        }
        let (plans, rms_percent) = thirds(target, brief, tolerance);
        if let Some(limit) = &mut self.limit {
            limit.with_third_percent = rms_percent;
        }
        let nearer = rms_percent.is_some_and(|rms| rms < pair_percent);
        if nearer && pair_percent > tolerance {
            self.tried.splice(0..0, plans);
        } else {
            self.tried.extend(plans);
        }
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
    if given > 0.0 || !starts(target) {
        return near(given)
            .or_else(|| Some(nearest_reachable(target, given)).filter(|reach| reach.reachable));
    }
    near(least_installed(target, OF_TOLERANCE * tolerance)?)
}

/// Whether a curve starts with a force.
fn starts(target: &TargetCurve) -> bool {
    target.force.first().is_some_and(|force| *force > START * target.max_force())
}

/// Least deflection at rest (mm) of a disc that can follow a curve within `percent` rms.
fn least_installed(target: &TargetCurve, percent: f64) -> Option<f64> {
    let near = |installed: f64| nearest_reachable(target, installed).rms_percent <= percent;
    let at = |k: i32| 0.05 * target.max_deflection() * PRELOAD_STEP.powi(k);
    let found = (0..PRELOADS).find(|k| near(at(*k)))?;
    let (mut low, mut high) = (if found > 0 { at(found - 1) } else { 0.0 }, at(found));
    for _ in 0..PRELOAD_HALVINGS {
        let middle = 0.5 * (low + high);
        if near(middle) { high = middle } else { low = middle }
    }
    Some(high)
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
fn pairs(target: &TargetCurve, brief: &Brief) -> (Vec<Plan>, Option<PairLimit>) {
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
        PairLimit { lacks: limit, rms_percent: target.errors_percent(&near).0, with_third_percent: None }
    });
    let symmetric = is_odd(&x, &f);
    let shares: &[f64] = if symmetric { &SHARES[..1] } else { &SHARES };
    let found = [1, 2].into_iter().filter(|count| 2 * count <= most).flat_map(|count| {
        let pairs = pairs_of(&x, &f, shares, count, brief);
        pairs.into_iter().map(move |(cost, share, members)| {
            let plan = Plan { kind: AssemblyKind::Opposed, members, preload: 0.0, symmetric };
            // single discs before stacks
            Costed { cost: cost + 1e3 * count as f64, share, split: count, plan }
        })
    });
    (cheapest(found.collect(), |costed| costed.split, OPPOSED_PLANS), limit)
}

/// Members of opposed pairs of stacks of `count` discs for a curve, one for each share of the spare rate, with the cost
/// and the share.
fn pairs_of(
    x: &[f64],
    f: &[f64],
    shares: &[f64],
    count: usize,
    brief: &Brief,
) -> Vec<(f64, f64, Vec<PlannedMember>)> {
    let range = x[x.len() - 1] - x[0];
    let mut found = Vec::new();
    for &share in shares {
        let Ok(targets) = opposed(x, f, share, TOUCH * range) else { continue };
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
        found.push((cost, share, members));
    }
    found
}

/// A plan with its cost, the share of the spare rate of its pair and its sort.
struct Costed {
    cost: f64,
    share: f64,
    /// number of its split, or of the discs on a side
    split: usize,
    plan: Plan,
}

/// The cheapest plans, at most `most` of each sort, none of one sort with nearly the same share as another.
fn cheapest(mut found: Vec<Costed>, sort: impl Fn(&Costed) -> usize, most: usize) -> Vec<Plan> {
    found.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    let mut kept: Vec<Costed> = Vec::new();
    for costed in found {
        let alike = |other: &&Costed| sort(other) == sort(&costed);
        let near = kept
            .iter()
            .filter(alike)
            .any(|other| other.split == costed.split && (other.share - costed.share).abs() < NEAR_SHARE);
        if !near && kept.iter().filter(alike).count() < most {
            kept.push(costed);
        }
    }
    kept.into_iter().map(|costed| costed.plan).collect()
}

/// Opposed pairs with a third disc in series, the most promising first, and the error of the nearest split (percent rms).
fn thirds(target: &TargetCurve, brief: &Brief, tolerance: f64) -> (Vec<Plan>, Option<f64>) {
    let two_sided = target.deflection.first().is_some_and(|x| *x < 0.0);
    // the third disc is pressed by the load alone: a force from the start on, or to both sides, is not for it
    if two_sided || starts(target) || target.len() < 3 {
        return (Vec::new(), None);
    }
    let splits = splits(&target.deflection, &target.force, &target.error_bases());
    let least = splits.first().map(|split| split.rms_percent);
    let range = target.max_deflection();
    let enough = OF_TOLERANCE * tolerance;
    let mut found = Vec::new();
    let mut reaches: Vec<f64> = Vec::new();
    for (number, split) in splits.into_iter().enumerate() {
        let ThirdSplit { third, deflection, force, rms_percent } = split;
        // splits that came to the same
        if reaches.iter().any(|reach| (third.reach() / reach - 1.0).abs() < SAME_REACH) {
            continue;
        }
        reaches.push(third.reach());
        let over = (rms_percent - enough).max(0.0) / enough;
        let mut own = cost(&third, range) + ERROR_WEIGHT * over;
        if brief.envelope.free_height_max.is_some_and(|most| third.reach() > most) {
            own += TOO_TALL + third.reach();
        }
        for (cost, share, mut members) in pairs_of(&deflection, &force, &SHARES, 1, brief) {
            members.push(PlannedMember { target: third.clone(), count: 1, stacking: Stacking::Series });
            let plan = Plan { kind: AssemblyKind::OpposedSeries, members, preload: 0.0, symmetric: false };
            found.push(Costed { cost: cost + own, share, split: number, plan });
        }
    }
    (cheapest(found, |_| 0, THIRD_PLANS), least)
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
