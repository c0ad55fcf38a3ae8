//! Scatter of assemblies: discs of one coil share their sheet's error, all else differs from disc to disc.
//!
//! The plates stand at their distance whatever the discs are, so that a higher or thicker disc is deflected by as much
//! more. A preloaded assembly that is asked for no force where it rests finds its own equilibrium, and deflection
//! counts from there; one that starts with a force rests against a stop, and deflection counts from the stop.

use rayon::prelude::*;

use super::VariationError;
use super::cause::{CAUSES, Cause};
use super::deviation::{Deviation, VariedSpring};
use super::random::RandomStream;
use super::scatter::{
    Band, CauseShare, FRACTILE, LEAST_PARTS, POINTS, SEGMENTS, Scatter, ScatterSettings, advice, band,
    fractile,
};
use super::tolerance::{Spread, Tolerances};
use super::wanted::{Asked, Wanted, judged_by};
use crate::assembly::{Arrangement, ForceCurve, PlacedMember};
use crate::curve::TargetCurve;
use crate::layout::Spring;
use crate::model::contact::Contact;
use crate::model::{Model, ModelSettings};
use crate::numeric::root::bracketed;
use crate::numeric::straight_between;
use crate::response::{CLOSED_SHARE, fine_over_coarse};
use crate::spec::{AssemblyKind, AssemblyMember, Stacking};

/// Points of a disc's curve, from free to closed.
const CURVE_POINTS: usize = 80;
/// Crowding of these points towards closed, as a power of the share left.
const CROWDING: f64 = 1.4;
/// Force asked for at rest, over the largest, above which an assembly rests against a stop.
pub(super) const STOP_SHARE: f64 = 0.02;
/// Accuracy of the deflection at rest (mm).
const REST: f64 = 1e-6;
/// Half of the step of a difference quotient, in standard deviations.
const STEP: f64 = 0.5;

/// A member of an assembly whose discs may be off.
#[derive(Debug, Clone)]
pub struct VariedMember<'a> {
    /// its place
    pub member: &'a AssemblyMember,
    /// one of its discs as drawn
    pub spring: &'a Spring,
    /// how far a disc may be off
    pub tolerances: Tolerances,
}

/// A member with its disc placed once.
struct Member<'a> {
    given: &'a VariedMember<'a>,
    varied: VariedSpring,
    /// shares of the travel
    share: Vec<f64>,
    /// force of the whole model over that of the fast one, at each
    factor: Vec<f64>,
    /// contacts of the disc as drawn, at each
    contacts: Vec<Vec<Contact>>,
    /// number of its coil
    coil: usize,
}

/// Errors that all discs of a coil share.
struct Coil {
    thickness: Spread,
    modulus: Spread,
    folders: Vec<String>,
}

/// Amounts by which the discs are off, a list for each member.
type Amounts = Vec<Vec<[f64; CAUSES]>>;

/// The assembly as drawn, ready for parts that depart from it.
struct Varied<'a> {
    kind: AssemblyKind,
    members: Vec<Member<'a>>,
    coils: Vec<Coil>,
    /// whether it is pressed in at rest
    preloaded: bool,
    /// whether it finds its own equilibrium at rest
    balances: bool,
}

/// Draws assemblies from the tolerances of their discs. The result depends on nothing but the arguments; a part is an
/// assembly there.
pub fn scatter_assembly(
    kind: AssemblyKind,
    members: &[VariedMember],
    target: Option<&TargetCurve>,
    tolerance_percent: f64,
    settings: &ScatterSettings,
) -> Result<Scatter, VariationError> {
    if settings.runs < LEAST_PARTS {
        return Err(VariationError::TooFewParts { found: settings.runs, least: LEAST_PARTS });
    }
    let varied = Varied::of(kind, members, target)?;
    let none = varied.none();
    let nominal = varied.part(&none)?;
    let deflections = places(&nominal, target);
    let force_n = varied.forces(&nominal, &deflections);
    let wanted = wanted(&deflections, &force_n, target);
    let drawn: Vec<Option<Vec<f64>>> = (0..settings.runs)
        .into_par_iter()
        .map(|index| {
            let amounts = varied.draw(&mut RandomStream::new(settings.seed, index as u64));
            varied.part(&amounts).ok().map(|part| varied.forces(&part, &deflections))
        })
        .collect();
    let parts: Vec<Vec<f64>> = drawn.into_iter().flatten().collect();
    let scrap = settings.runs - parts.len();
    let share = |count: usize| count as f64 / settings.runs as f64;
    let (low_n, high_n) = band(&parts);
    let flat = parts.iter().filter(|force| force.iter().any(|force| !force.is_finite())).count();
    let accepted = parts.iter().filter(|force| wanted.accepts(force, tolerance_percent)).count();
    let mut errors: Vec<f64> = parts.iter().map(|force| wanted.rms_percent(force)).collect();
    errors.extend(std::iter::repeat_n(f64::INFINITY, scrap));
    errors.sort_by(f64::total_cmp);
    let (causes, half) = causes(&varied, &deflections, &wanted.base)?;
    let band_percent = rms(&half, &wanted.base);
    let mut warnings = Vec::new();
    if flat > 0 {
        warnings.push(format!(
            "in {:.1} % of the assemblies a disc is flat within the deflections asked for: allow more free height",
            100.0 * share(flat)
        ));
    }
    if scrap > 0 {
        warnings.push(format!(
            "{scrap} of {} assemblies are scrap: with the tolerances given an arm, a slot or the height of a disc is gone; they \
             are counted as bad and left out of the band; widen arm and slot or tighten the tolerances",
            settings.runs
        ));
    }
    let asked = Asked { target, installed: 0.0, tolerance_percent };
    let around = |sign: f64| force_n.iter().zip(&half).map(|(f, half)| f + sign * half).collect();
    Ok(Scatter {
        runs: settings.runs,
        seed: settings.seed,
        curve: Band {
            first_order_low_n: around(-1.0),
            first_order_high_n: around(1.0),
            // where a disc of a two-sided assembly is flat already, no force bounds the band
            low_n: low_n
                .iter()
                .zip(&force_n)
                .map(|(low, f)| if low.is_finite() { *low } else { *f })
                .collect(),
            high_n,
            travel_mm: None,
            target_n: target.is_some().then(|| wanted.force.clone()),
            deflection_mm: deflections,
            force_n,
        },
        tighten_first: advice(&causes, band_percent),
        causes,
        band_percent,
        yield_share: share(accepted),
        judged_by: judged_by(&asked, wanted.band.is_some()),
        rms_of_95_percent: Some(fractile(&errors, 0.95)).filter(|error| error.is_finite()),
        flat_share: share(flat),
        scrap_share: share(scrap),
        warnings,
    })
}

/// Deflections of the whole at which the band is given (mm), without that of zero force at rest.
fn places(nominal: &Arrangement, target: Option<&TargetCurve>) -> Vec<f64> {
    let (back, most) = (CLOSED_SHARE * nominal.travel_back(), CLOSED_SHARE * nominal.travel());
    let (from, to) = target.map_or((back, most), |target| {
        (target.deflection.first().copied().unwrap_or(0.0).max(back), target.max_deflection().min(most))
    });
    let carries = nominal.force(from).abs() > STOP_SHARE * nominal.force(to).abs();
    let first = usize::from(!carries);
    let pieces = (POINTS - 1 + first) as f64;
    (0..POINTS).map(|k| from + (to - from) * (k + first) as f64 / pieces).collect()
}

fn wanted(deflections: &[f64], nominal: &[f64], target: Option<&TargetCurve>) -> Wanted {
    let force: Vec<f64> = match target {
        Some(target) => deflections.iter().map(|x| target.force_at(*x)).collect(),
        None => nominal.to_vec(),
    };
    let own = force.iter().map(|force| force.abs()).fold(0.0, f64::max);
    let tenth = 0.1 * target.map_or(own, TargetCurve::max_force);
    let band =
        target.filter(|target| target.force_min.is_some() || target.force_max.is_some()).map(|target| {
            let edge = |edge: &Option<Vec<f64>>, otherwise: f64| -> Vec<f64> {
                let at = |x: &f64| {
                    edge.as_ref().map_or(otherwise, |edge| straight_between(&target.deflection, edge, *x))
                };
                deflections.iter().map(at).collect()
            };
            (edge(&target.force_min, f64::NEG_INFINITY), edge(&target.force_max, f64::INFINITY))
        });
    Wanted { base: force.iter().map(|force| force.abs().max(tenth)).collect(), force, band }
}

impl<'a> Varied<'a> {
    fn of(
        kind: AssemblyKind,
        given: &'a [VariedMember<'a>],
        target: Option<&TargetCurve>,
    ) -> Result<Self, VariationError> {
        let mut coils: Vec<(Option<String>, f64, Coil)> = Vec::new();
        let mut members = Vec::new();
        for member in given {
            let sheet = &member.spring.sheet;
            let spread = |cause: Cause| member.tolerances.of_cause(cause).clone();
            let own = |name: &Option<String>, thickness: f64| {
                *name == sheet.material && thickness == sheet.thickness
            };
            let coil =
                coils.iter().position(|(name, thickness, _)| own(name, *thickness)).unwrap_or_else(|| {
                    let coil = Coil {
                        thickness: spread(Cause::Thickness),
                        modulus: spread(Cause::Modulus),
                        folders: Vec::new(),
                    };
                    coils.push((sheet.material.clone(), sheet.thickness, coil));
                    coils.len() - 1
                });
            let shared = &mut coils[coil].2;
            // the wider strip decides
            if spread(Cause::Thickness).plus_minus > shared.thickness.plus_minus {
                shared.thickness = spread(Cause::Thickness);
            }
            if !shared.folders.contains(&member.member.folder) {
                shared.folders.push(member.member.folder.clone());
            }
            members.push(Member::of(member, coil)?);
        }
        let mut varied = Self {
            kind,
            members,
            coils: coils.into_iter().map(|(_, _, coil)| coil).collect(),
            preloaded: kind.has_pair() || given.iter().any(|member| member.member.installed > 0.0),
            balances: false,
        };
        let nominal = varied.part(&varied.none())?;
        let (at_rest, largest) = match target {
            Some(target) => (target.force_at(0.0), target.max_force()),
            None => (nominal.force(0.0), nominal.force(CLOSED_SHARE * nominal.travel())),
        };
        varied.balances = kind == AssemblyKind::Opposed && at_rest.abs() <= STOP_SHARE * largest.abs();
        Ok(varied)
    }

    fn none(&self) -> Amounts {
        self.members.iter().map(|member| vec![[0.0; CAUSES]; member.given.member.count]).collect()
    }

    fn draw(&self, stream: &mut RandomStream) -> Amounts {
        let sheets: Vec<[f64; 2]> =
            self.coils.iter().map(|coil| [coil.thickness.draw(stream), coil.modulus.draw(stream)]).collect();
        let disc = |member: &Member, stream: &mut RandomStream| {
            let mut amounts = member.given.tolerances.0.each_ref().map(|spread| spread.draw(stream));
            [amounts[Cause::Thickness as usize], amounts[Cause::Modulus as usize]] = sheets[member.coil];
            amounts
        };
        self.members
            .iter()
            .map(|member| (0..member.given.member.count).map(|_| disc(member, stream)).collect())
            .collect()
    }

    /// The assembly of discs that are off.
    fn part(&self, amounts: &Amounts) -> Result<Arrangement, VariationError> {
        let placed: Vec<PlacedMember> = self
            .members
            .iter()
            .zip(amounts)
            .map(|(member, discs)| member.placed(discs, self.preloaded))
            .collect::<Result<_, _>>()?;
        Arrangement::of(self.kind, placed).ok_or_else(no_force)
    }

    /// Forces of a part at deflections from where it rests (mm); infinite where a disc is flat already.
    fn forces(&self, part: &Arrangement, deflections: &[f64]) -> Vec<f64> {
        let rest = if self.balances { balance(part) } else { Some(0.0) };
        match rest {
            Some(rest) => deflections.iter().map(|x| part.force(rest + x)).collect(),
            None => vec![f64::INFINITY; deflections.len()],
        }
    }
}

/// Deflection of zero force, from the drawn one at rest (mm).
pub(super) fn balance(part: &Arrangement) -> Option<f64> {
    // short of both ends, where the force has no bound
    let (low, high) = (part.travel_back() + REST, part.travel() - REST);
    bracketed(low, high, REST, |x| part.force(x))
}

fn no_force() -> VariationError {
    VariationError::Impossible {
        cause: "height",
        found: "too much".to_owned(),
        reason: "a disc has no force left",
    }
}

impl<'a> Member<'a> {
    fn of(given: &'a VariedMember<'a>, coil: usize) -> Result<Self, VariationError> {
        let varied = VariedSpring::new(given.spring, SEGMENTS)?;
        let share: Vec<f64> =
            (1..=CURVE_POINTS).map(|k| 1.0 - (1.0 - k as f64 / CURVE_POINTS as f64).powf(CROWDING)).collect();
        let whole = Model::of(given.spring, &ModelSettings::default())?;
        let stops: Vec<f64> = share.iter().map(|share| share * whole.travel()).collect();
        let whole = whole.response(&stops)?;
        let fast = varied.model(&Deviation::default(), &varied.fast())?;
        let stops: Vec<f64> = share.iter().map(|share| share * fast.travel()).collect();
        let contacts = fast.contacts(&stops)?;
        let mut member = Self { given, varied, factor: vec![1.0; share.len()], contacts, share, coil };
        let fast = member.disc(&Deviation::default())?;
        member.factor = fine_over_coarse(&whole.force, &fast.forces()[1..]);
        Ok(member)
    }

    /// The curve of a disc that is off.
    fn disc(&self, deviation: &Deviation) -> Result<ForceCurve, VariationError> {
        let model = self.varied.model(deviation, &self.varied.fast())?;
        let travel = model.travel();
        let x: Vec<f64> = self.share.iter().map(|share| share * travel).collect();
        let forces = model.forces_near(&x, &self.contacts)?;
        let f: Vec<f64> = forces.iter().zip(&self.factor).map(|(force, factor)| factor * force).collect();
        ForceCurve::through(&x, &f).ok_or_else(no_force)
    }

    /// Its discs, off by these amounts, in their place.
    fn placed(&self, discs: &[[f64; CAUSES]], preloaded: bool) -> Result<PlacedMember, VariationError> {
        let parts: Vec<Deviation> = discs.iter().map(|amounts| Cause::part(*amounts)).collect();
        let curves: Vec<ForceCurve> = parts.iter().map(|part| self.disc(part)).collect::<Result<_, _>>()?;
        let AssemblyMember { count, stacked, installed, spacer, .. } = self.given.member;
        let stacking = stacked.unwrap_or_default();
        let count = *count as f64;
        // nested discs carry their height once and their sheets all of them
        let (multiple, heights) = match stacking {
            Stacking::Series => (count, 1.0),
            Stacking::Parallel => (1.0, 1.0 / count),
        };
        let grown: f64 = parts.iter().map(|part| heights * part.free_height_mm + part.thickness_mm).sum();
        let installed = if preloaded { (multiple * installed + grown).max(0.0) } else { 0.0 };
        Ok(PlacedMember {
            curve: ForceCurve::of_stack(&curves, stacking).ok_or_else(no_force)?,
            count: 1,
            stacking: Stacking::Series,
            installed,
            thickness: count * self.given.spring.sheet.thickness,
            spacer: *spacer,
        })
    }
}

/// A cause that changes some discs at once.
struct Source {
    cause: Cause,
    folders: String,
    spread: Spread,
    /// discs that it changes together, by member
    discs: Vec<usize>,
    /// discs that each have their own such error
    times: f64,
}

fn sources(varied: &Varied) -> Vec<Source> {
    let of_coils = varied.coils.iter().enumerate().flat_map(|(k, coil)| {
        let discs: Vec<usize> = (0..varied.members.len()).filter(|m| varied.members[*m].coil == k).collect();
        [&coil.thickness, &coil.modulus].map(|spread| Source {
            cause: spread.cause,
            folders: coil.folders.join(", "),
            spread: spread.clone(),
            discs: discs.clone(),
            times: 1.0,
        })
    });
    let of_discs = varied.members.iter().enumerate().flat_map(|(k, member)| {
        let AssemblyMember { folder, count, .. } = member.given.member;
        let own = member.given.tolerances.0.iter();
        own.filter(|spread| !matches!(spread.cause, Cause::Thickness | Cause::Modulus)).map(move |spread| {
            Source {
                cause: spread.cause,
                folders: folder.clone(),
                spread: spread.clone(),
                discs: vec![k],
                times: *count as f64,
            }
        })
    });
    of_coils.chain(of_discs).collect()
}

/// The causes, the largest first, and half widths of the first-order band, middle to 95 % (N), by differences.
fn causes(
    varied: &Varied,
    deflections: &[f64],
    base: &[f64],
) -> Result<(Vec<CauseShare>, Vec<f64>), VariationError> {
    let mut variance = vec![0.0; deflections.len()];
    let mut found = Vec::new();
    for source in sources(varied) {
        let sigma = source.spread.deviation();
        if sigma <= 0.0 {
            continue;
        }
        let shared = matches!(source.cause, Cause::Thickness | Cause::Modulus);
        let off = |sign: f64| {
            let mut amounts = varied.none();
            for &member in &source.discs {
                let discs = &mut amounts[member];
                // of discs that are off each on its own one stands for all
                let changed = if shared { discs.len() } else { 1 };
                for disc in discs.iter_mut().take(changed) {
                    disc[source.cause as usize] = sign * STEP * sigma;
                }
            }
            Ok::<_, VariationError>(varied.forces(&varied.part(&amounts)?, deflections))
        };
        let (up, down) = (off(1.0)?, off(-1.0)?);
        let own: Vec<f64> = up
            .iter()
            .zip(&down)
            .map(|(up, down)| (up - down) / (2.0 * STEP))
            .map(|change| if change.is_finite() { source.times * change * change } else { 0.0 })
            .collect();
        for (sum, own) in variance.iter_mut().zip(&own) {
            *sum += own;
        }
        let mean: f64 =
            own.iter().zip(base).map(|(own, base)| own / base.powi(2)).sum::<f64>() / base.len() as f64;
        found.push((source, sigma, mean));
    }
    let total: f64 = found.iter().map(|(_, _, mean)| mean).sum::<f64>().max(f64::MIN_POSITIVE);
    let mut shares: Vec<CauseShare> = found
        .into_iter()
        .map(|(source, sigma, mean)| CauseShare {
            cause: source.cause,
            member: Some(source.folders),
            plus_minus: source.spread.plus_minus,
            unit: source.spread.unit,
            force_percent: 100.0 * mean.sqrt() / sigma * source.spread.plus_minus,
            source: source.spread.source,
            share_percent: 100.0 * mean / total,
            band_if_halved_percent: 100.0 * FRACTILE * (total - 0.75 * mean).max(0.0).sqrt(),
        })
        .collect();
    shares.sort_by(|a, b| b.share_percent.total_cmp(&a.share_percent));
    Ok((shares, variance.iter().map(|variance| FRACTILE * variance.sqrt()).collect()))
}

/// Root mean square of half widths over the error base (percent).
fn rms(half: &[f64], base: &[f64]) -> f64 {
    let sum: f64 = half.iter().zip(base).map(|(half, base)| (half / base).powi(2)).sum();
    100.0 * (sum / base.len().max(1) as f64).sqrt()
}

#[cfg(test)]
#[path = "assembled_tests.rs"]
mod tests;
