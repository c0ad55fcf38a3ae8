//! Assemblies: composed by other code, held against finite elements, designed for the jobs of the study.

use std::sync::OnceLock;

use flatspire::assembly::split::{nearest_opposed, opposed};
use flatspire::assembly::third::splits;
use flatspire::assembly::{Arrangement, ForceCurve, MemberTarget, PlacedMember};
use flatspire::curve::TargetCurve;
use flatspire::evaluation::{AssembledMember, force_curve};
use flatspire::layout::Spring;
use flatspire::model::{Model, ModelSettings};
use flatspire::pipeline::{AssemblyAnswer, Question, Solution, Wishes, solve};
use flatspire::spec::{AssemblyKind, AssemblyWish, Stacking};

use crate::reference::{FINITE_ELEMENTS, curve, rms, spring, worst};
use crate::study::draw;
use crate::validity::{OutsideCheck, hold};

#[path = "../study/assembly_targets.rs"]
mod assembly_targets;
#[path = "../study/rising.rs"]
mod rising;

/// A job of the study designed, its sheet named so that the search is short.
fn designed(name: &str, kind: AssemblyWish, thickness: &[f64]) -> AssemblyAnswer {
    let job = assembly_targets::jobs().into_iter().find(|job| job.name == name).unwrap();
    let mut brief = job.brief;
    brief.assembly.kind = kind;
    brief.sheet.material = Some("1.4310+C1300".to_owned());
    brief.sheet.thickness = Some(thickness.to_vec());
    brief.arms.count = Some(vec![2, 3]);
    match solve(&Wishes::default(), Question { target: job.target, brief }).unwrap() {
        Solution::Assembly(answer) => *answer,
        Solution::Single(answer) => panic!("{name}: one disc, {:?}", answer.evaluation.verdicts),
    }
}

fn centring() -> &'static AssemblyAnswer {
    static ANSWER: OnceLock<AssemblyAnswer> = OnceLock::new();
    ANSWER.get_or_init(|| designed("centring, soft middle", AssemblyWish::Any, &[0.8, 1.0]))
}

fn corner() -> &'static AssemblyAnswer {
    static ANSWER: OnceLock<AssemblyAnswer> = OnceLock::new();
    ANSWER.get_or_init(|| designed("corner", AssemblyWish::Series, &[1.5, 2.0]))
}

/// Force of one disc at a deflection from its free height, straight from the model.
fn force(spring: &Spring, deflection: f64) -> f64 {
    if deflection <= 0.0 {
        return 0.0;
    }
    Model::of(spring, &ModelSettings::default()).unwrap().response(&[deflection]).unwrap().force[0]
}

#[test]
fn an_opposed_pair_has_the_difference_of_its_discs_forces() {
    let evaluation = &centring().evaluation;
    let [a, b] = &evaluation.members[..] else { panic!("{} members", evaluation.members.len()) };
    let rest = (a.member.installed, b.member.installed);
    for (x, found) in evaluation.curve.deflection.iter().zip(&evaluation.curve.force) {
        let expected = force(&a.evaluation.spring, rest.0 + x) - force(&b.evaluation.spring, rest.1 - x);
        // straight pieces between 240 points of each disc
        let scale = force(&a.evaluation.spring, rest.0);
        assert!((found - expected).abs() < 2e-3 * scale, "at {x} mm: {found} N, {expected} N");
    }
}

#[test]
fn a_series_has_the_force_at_which_its_discs_deflections_add_up() {
    let evaluation = &corner().evaluation;
    let springs: Vec<&Spring> = evaluation.members.iter().map(|member| &member.evaluation.spring).collect();
    // the deflection of a disc at a force, by halving; a disc that is flat gives no more
    let deflection = |spring: &Spring, load: f64| {
        let (mut low, mut high) = (0.0, spring.former.free_height);
        for _ in 0..30 {
            let middle = 0.5 * (low + high);
            if force(spring, middle) < load { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    };
    for (x, load) in evaluation.curve.deflection.iter().zip(&evaluation.curve.force).skip(1).step_by(4) {
        let sum: f64 = springs.iter().map(|spring| deflection(spring, *load)).sum();
        assert!((sum - x).abs() < 5e-3, "at {load} N: {x} mm, {sum} mm");
    }
}

#[test]
fn a_centring_curve_gets_two_equal_discs_and_passes() {
    let answer = centring();
    let evaluation = &answer.evaluation;
    assert!(evaluation.passed(), "{:?}", evaluation.verdicts.failed());
    assert!(evaluation.fit.as_ref().unwrap().rms_percent < 1.5);
    assert_eq!(answer.discs.len(), 1, "one drawing for both");
    let [a, b] = &evaluation.members[..] else { panic!("{} members", evaluation.members.len()) };
    assert_eq!(a.evaluation.spring, b.evaluation.spring);
    assert_eq!(a.member.installed, b.member.installed);
    let middle = evaluation.arrangement.force(0.0);
    assert!(middle.abs() < 1e-9, "{middle} N in the middle");
    // the height between the plates, piece by piece
    let t = a.evaluation.spring.sheet.thickness;
    let height = 2.0 * (a.evaluation.spring.former.free_height - a.member.installed + t) + a.member.spacer;
    assert!((evaluation.file.height - height).abs() < 1e-3, "{} {height}", evaluation.file.height);
}

#[test]
fn a_corner_is_met_by_a_soft_disc_that_closes_before_a_stiff_one() {
    let evaluation = &corner().evaluation;
    assert!(evaluation.passed(), "{:?}", evaluation.verdicts.failed());
    assert!(evaluation.fit.as_ref().unwrap().rms_percent < 1.0);
    let closed: Vec<bool> = evaluation
        .members
        .iter()
        .zip(&evaluation.curve.discs)
        .map(|(member, discs)| discs.last().unwrap() > &(0.999 * member.evaluation.spring.former.free_height))
        .collect();
    assert_eq!(closed, [true, false]);
}

#[test]
fn a_rate_that_rises_and_falls_gets_a_third_disc_in_series_with_a_pair() {
    let answer = designed("soft, hard, soft", AssemblyWish::Any, &[1.0, 1.25]);
    let evaluation = &answer.evaluation;
    assert_eq!(evaluation.file.kind, AssemblyKind::OpposedSeries);
    assert!(evaluation.passed(), "{:?}", evaluation.verdicts.failed());
    assert!(evaluation.fit.as_ref().unwrap().rms_percent < 1.5);
    let said = &answer.summary.evaluation.warnings;
    assert!(said.iter().any(|said| said.contains("falls by 6.00 N/mm")), "{said:?}");
    let springs: Vec<&Spring> = evaluation.members.iter().map(|member| &member.evaluation.spring).collect();
    let discs = &evaluation.curve.discs;
    let largest = *evaluation.curve.force.last().unwrap();
    for (i, (x, load)) in evaluation.curve.deflection.iter().zip(&evaluation.curve.force).enumerate() {
        let [a, b, c] = [discs[0][i], discs[1][i], discs[2][i]];
        // the hub of the pair and the third disc share the deflection and carry the same force
        let hub = a - evaluation.members[0].member.installed;
        assert!(
            (hub + c - x).abs() < 2e-3 && (evaluation.members[1].member.installed - hub - b).abs() < 2e-3
        );
        let of_pair = force(springs[0], a) - force(springs[1], b);
        assert!((of_pair - load).abs() < 3e-3 * largest, "at {x} mm: pair {of_pair} N, {load} N");
        if c < 0.995 * springs[2].former.free_height {
            let of_third = force(springs[2], c);
            assert!((of_third - load).abs() < 3e-3 * largest, "at {x} mm: third disc {of_third} N, {load} N");
        }
    }
    let parts = flatspire::package::parts(evaluation);
    for name in ["hub piece", "outer plate", "shoulder on the rod", "loaded plate"] {
        assert!(parts.iter().any(|part| part.part == name), "{name}: {parts:?}");
    }
    // lower plate to loaded plate, piece by piece
    let height: f64 = evaluation
        .members
        .iter()
        .map(|AssembledMember { member, evaluation }| {
            let spring = &evaluation.spring;
            spring.former.free_height - member.installed + spring.sheet.thickness + member.spacer
        })
        .sum();
    assert!((evaluation.file.height - height).abs() < 2e-3, "{} {height}", evaluation.file.height);
}

/// A row of the table that the example writes.
struct Row {
    job: String,
    answer: String,
    discs: usize,
    height: f64,
    rms: f64,
    tolerance: f64,
    failed: String,
    limit: String,
}

fn table() -> Vec<Row> {
    let text = include_str!("../study/assemblies.csv");
    let rows = text.lines().skip(1).map(|line| line.split(',').collect::<Vec<&str>>());
    rows.map(|cells| {
        assert_eq!(cells.len(), 9, "{cells:?}");
        let number = |k: usize| cells[k].parse().unwrap_or(f64::NAN);
        Row {
            job: cells[0].to_owned(),
            answer: cells[1].to_owned(),
            discs: cells[2].parse().unwrap_or(0),
            height: number(3),
            rms: number(4),
            tolerance: number(5),
            failed: cells[6].to_owned(),
            limit: cells[8].to_owned(),
        }
    })
    .collect()
}

#[test]
fn every_job_of_the_study_is_met_or_its_limit_is_named_with_numbers() {
    let rows = table();
    let names: Vec<String> = assembly_targets::jobs().iter().map(|job| job.name.replace(',', "")).collect();
    assert_eq!(rows.iter().map(|row| row.job.clone()).collect::<Vec<_>>(), names);
    let met = |row: &&Row| row.failed.is_empty() && row.rms <= row.tolerance;
    for row in rows.iter().filter(|row| !met(row)) {
        let digits = row.limit.split(|c: char| !c.is_ascii_digit()).filter(|part| !part.is_empty()).count();
        assert!(digits > 1, "{}: {} with no limit named: {:?}", row.job, row.failed, row.limit);
    }
    let missed: Vec<&str> = rows.iter().filter(|row| !met(row)).map(|row| row.job.as_str()).collect();
    assert!(missed.is_empty(), "{missed:?}");
    // an opposed pair loses no more rate than it starts with: 2 N/mm, and 6 are to go
    let three = rows.iter().find(|row| row.job == "soft hard soft").unwrap();
    assert!(three.discs == 3 && three.answer == "opposed-series", "{} of {}", three.answer, three.discs);
    assert!(three.limit.contains("falls by") && three.limit.contains("as near as"), "{}", three.limit);
    // holding 50 N within 5 % takes height
    let constant = rows.iter().find(|row| row.job == "constant force").unwrap();
    assert!(constant.height > 50.0 && constant.limit.contains("mm"), "{}", constant.limit);
    assert!(rows.iter().filter(|row| row.answer == "opposed").all(|row| row.discs >= 2));
}

#[test]
fn a_row_of_the_study_is_found_again() {
    let job = assembly_targets::jobs().into_iter().find(|job| job.name == "falling rate").unwrap();
    let row = table().into_iter().find(|row| row.job == job.name).unwrap();
    let question = Question { target: job.target, brief: job.brief };
    let Solution::Assembly(answer) = solve(&Wishes::default(), question).unwrap() else {
        panic!("one disc does not lose rate");
    };
    let evaluation = &answer.evaluation;
    assert!(evaluation.passed(), "{:?}", evaluation.verdicts.failed());
    assert_eq!(evaluation.file.kind.name(), row.answer);
    let rms = evaluation.fit.as_ref().unwrap().rms_percent;
    // as good as in the table, whatever small change of the search led to another pair
    assert!(rms < row.rms + 0.3, "{rms} %, {} % in the table: run the example again", row.rms);
    let height = evaluation.arrangement.height_at_rest();
    assert!(height < 1.2 * row.height, "{height} mm, {} mm in the table: run the example again", row.height);
}

fn placed(curve: ForceCurve, installed: f64) -> PlacedMember {
    PlacedMember { curve, count: 1, stacking: Stacking::Series, installed, thickness: 1.0, spacer: 0.0 }
}

/// Two discs put together, both curves from solid models, beside the program's own.
pub fn pairs() -> Vec<OutsideCheck> {
    let names = ["triple_constant", "double_tapered"];
    let springs = names.map(|name| spring("discs", name));
    let solids = names.map(|name| {
        let (x, f) = curve("discs", name, "curve.csv");
        ForceCurve::through(&x, &f).unwrap()
    });
    let own = springs.each_ref().map(|spring| force_curve(spring).unwrap().unwrap());
    let mut checks = Vec::new();
    for kind in [AssemblyKind::Series, AssemblyKind::Opposed] {
        // opposed: both halfway at rest, so that neither is loose nor closed over a third of the travel
        let rest = |k: usize| match kind {
            AssemblyKind::Opposed => 0.5 * springs[k].former.free_height,
            _ => 0.0,
        };
        let pair = |curves: &[ForceCurve; 2]| {
            let members = (0..2).map(|k| placed(curves[k].clone(), rest(k))).collect();
            Arrangement::of(kind, members).unwrap()
        };
        let (reference, found) = (pair(&solids), pair(&own));
        let least = springs.iter().map(|spring| spring.former.free_height).fold(f64::INFINITY, f64::min);
        let to = match kind {
            AssemblyKind::Opposed => 0.35 * least,
            _ => 0.8 * reference.travel().min(found.travel()),
        };
        let largest = reference.force(to).abs();
        let errors: Vec<f64> = (1..=40)
            .map(|k| to * f64::from(k) / 40.0)
            .map(|x| {
                let expected = reference.force(x);
                100.0 * (found.force(x) - expected) / expected.abs().max(0.1 * largest)
            })
            .collect();
        for (what, measured, allowed) in [("rms", rms(&errors), 1.6), ("worst point", worst(&errors), 2.8)] {
            checks.push(OutsideCheck {
                what: format!("force, {} of {} and {}: {what}", kind.name(), names[0], names[1]),
                source: FINITE_ELEMENTS,
                allowed,
                measured,
            });
        }
    }
    checks
}

#[test]
fn pairs_of_discs_follow_finite_elements() {
    hold(&pairs());
}

/// A curve of straight pieces from (0, 0) on; straight on beyond the last point, or closed there.
struct Straight {
    x: Vec<f64>,
    f: Vec<f64>,
    closes: bool,
}

impl Straight {
    fn of(target: &MemberTarget) -> Self {
        let (mut x, mut f) = (vec![0.0], vec![0.0]);
        for (own, force) in target.deflection.iter().zip(&target.force) {
            if own + target.installed > 1e-12 {
                x.push(own + target.installed);
                f.push(*force);
            }
        }
        Self { x, f, closes: target.closes }
    }

    fn piece(list: &[f64], value: f64) -> usize {
        (1..list.len() - 1).find(|k| list[*k] >= value).unwrap_or(list.len() - 1)
    }

    /// Force at a deflection; none where it is loose.
    fn force(&self, x: f64) -> f64 {
        let k = Self::piece(&self.x, x);
        let rate = (self.f[k] - self.f[k - 1]) / (self.x[k] - self.x[k - 1]);
        (self.f[k - 1] + rate * (x - self.x[k - 1])).max(0.0)
    }

    /// Deflection at a force.
    fn deflection(&self, f: f64) -> f64 {
        if self.closes && f >= self.f[self.f.len() - 1] {
            return self.x[self.x.len() - 1];
        }
        let k = Self::piece(&self.f, f);
        let compliance = (self.x[k] - self.x[k - 1]) / (self.f[k] - self.f[k - 1]);
        self.x[k - 1] + compliance * (f - self.f[k - 1])
    }

    /// A seated turn stays seated: the rate of a disc never falls.
    fn is_a_disc(&self) -> bool {
        let rates: Vec<f64> =
            (1..self.x.len()).map(|k| (self.f[k] - self.f[k - 1]) / (self.x[k] - self.x[k - 1])).collect();
        rates[0] > 0.0 && rates.windows(2).all(|pair| pair[1] > pair[0] * (1.0 - 1e-6))
    }
}

/// By halving: the argument between two at which a function that rises is `wanted`.
fn halved(mut low: f64, mut high: f64, wanted: f64, function: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if function(middle) < wanted { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// Error of a pair, with a third disc or without, whose members are ideal; none where one is not what a disc can be.
fn error_of(target: &TargetCurve, pair: (&[f64], &[f64]), third: Option<&MemberTarget>) -> Option<f64> {
    let range = pair.0[pair.0.len() - 1];
    let [a, b] = opposed(pair.0, pair.1, 0.5, 0.05 * range).ok()?;
    let rest = [a.installed, b.reach()];
    let (a, b) = (Straight::of(&a), Straight::of(&b));
    let third = third.map(Straight::of);
    if ![Some(&a), Some(&b), third.as_ref()].into_iter().flatten().all(Straight::is_a_disc) {
        return None;
    }
    let of_pair = |u: f64| a.force(rest[0] + u) - b.force(rest[1] - u);
    let found: Vec<f64> = target
        .deflection
        .iter()
        .map(|x| match &third {
            None => of_pair(*x),
            Some(third) => {
                let hub = |force: f64| halved(0.0, 2.0 * range, force, of_pair);
                halved(0.0, 2.0 * target.max_force(), *x, |force| hub(force) + third.deflection(force))
            }
        })
        .collect();
    Some(target.errors_percent(&found).0)
}

#[test]
fn of_a_hundred_rising_curves_of_any_curvature_ninety_five_have_an_assembly_within_two_percent() {
    const ENOUGH: f64 = 2.0;
    let (mut met, mut pairs, mut missed) = (0, 0, Vec::new());
    for number in 0..100 {
        let target = rising::rising(number);
        let base = target.error_bases();
        let (x, f) = nearest_opposed(&target.deflection, &target.force, &base);
        let of_pair = error_of(&target, (&x, &f), None).unwrap_or(f64::INFINITY);
        if of_pair <= ENOUGH {
            (met, pairs) = (met + 1, pairs + 1);
            continue;
        }
        let nearest = splits(&target.deflection, &target.force, &base)
            .iter()
            .filter_map(|split| error_of(&target, (&split.deflection, &split.force), Some(&split.third)))
            .fold(f64::INFINITY, f64::min);
        if nearest <= ENOUGH { met += 1 } else { missed.push((number, nearest)) }
    }
    println!("{met} within {ENOUGH} % rms, {pairs} of them without a third disc; missed: {missed:?}");
    assert!(met >= 95, "{met}; missed: {missed:?}");
    // pairs alone are too few
    assert!(pairs < 95, "{pairs} need no third disc");
}
