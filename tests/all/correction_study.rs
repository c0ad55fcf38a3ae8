//! First-part correction over 200 made-up parts: parts that depart as tolerances allow, measured with friction, free play, offset
//! and noise; the truth is a finer model. Whether intervals hold it, whether the error stated of the next part is the true
//! one, and how much of it the remedies leave.

use flatspire::curve::MeasuredCurve;
use flatspire::curve::TargetCurve;
use flatspire::layout::Spring;
use flatspire::model::ModelSettings;
use flatspire::pipeline::{Corrected, TrimKind, correct};
use flatspire::spec::SpringFile;
use flatspire::variation::{
    Cause, DEVIATIONS, Deviation, EstimatedQuantity, IdentifySettings, MeasuredPart, PART_SHARES,
    RandomStream, Readings, Tolerances, VariedSpring, identify_parts,
};
use rayon::prelude::*;

const PARTS: u64 = 200;
const TRUE_SEGMENTS: usize = 300;
/// Standard deviation of a reading of the thickness (mm): what the correction takes it to be.
const MICROMETER: f64 = 0.0025;
/// Deflections of either branch.
const STEPS: usize = 40;

struct Job {
    file: SpringFile,
    spring: Spring,
    target: TargetCurve,
    tolerances: Tolerances,
}

/// Truths and statements of one part.
struct Case {
    /// whether each of the six intervals holds the truth
    held: [bool; DEVIATIONS],
    /// error of the next part as drawn, stated (half of the parts, 19 of 20) and true
    as_drawn: [f64; 3],
    /// the same with the drawing of the package
    drawing: [f64; 3],
    /// the same with the remedy advised; none where that is to do nothing
    advised: Option<[f64; 3]>,
    kind: Option<TrimKind>,
}

fn job() -> Job {
    let text = include_str!("../../examples/first_cut.toml");
    let file = SpringFile::parse(text, "spring.toml").unwrap();
    let spring = Spring::from_file(&file, None).unwrap();
    let given = file.target.clone().unwrap();
    let target =
        TargetCurve::points(&given.deflection.unwrap(), &given.force.unwrap()).curve("target").unwrap();
    let tolerance = file.tolerance.clone().unwrap_or_default();
    let tolerances = Tolerances::of(&spring, &tolerance, &file.process.clone().unwrap_or_default());
    Job { file, spring, target, tolerances }
}

fn truth(spring: &Spring, deviation: &Deviation, deflections: &[f64]) -> Vec<f64> {
    let settings = ModelSettings { segments: TRUE_SEGMENTS, ..ModelSettings::default() };
    let part = VariedSpring::new(spring, TRUE_SEGMENTS).unwrap().model(deviation, &settings).unwrap();
    // beyond flat the plate carries: its force is that of the last place before
    let last = 0.999 * part.travel();
    let mut places: Vec<f64> = deflections.iter().map(|x| x.clamp(0.0, last)).collect();
    let wanted = places.clone();
    // the model presses from above to below: either branch has its places in the same list
    places.sort_by(f64::total_cmp);
    places.dedup();
    let force = part.response(&places).unwrap().force;
    wanted.iter().map(|x| force[places.partition_point(|place| place < x)]).collect()
}

impl Job {
    fn sigmas(&self) -> [f64; DEVIATIONS] {
        let half = |cause| 0.5 * self.tolerances.of_cause(cause).plus_minus;
        [
            half(Cause::Thickness),
            half(Cause::Modulus),
            half(Cause::Kerf),
            half(Cause::FreeHeight),
            half(Cause::Cone),
            15.0,
        ]
    }

    fn measured(&self, part: &Deviation, stream: &mut RandomStream) -> Readings {
        let end = 0.92 * self.spring.former.free_height;
        let (play, friction) = (0.06 * stream.normal(), 0.008);
        let up = (0..STEPS).map(|k| end * k as f64 / (STEPS - 1) as f64);
        let down = up.clone().rev().skip(1);
        let x: Vec<f64> = up.chain(down).collect();
        let pressed: Vec<f64> = x.iter().map(|x| (x - play).max(0.0)).collect();
        let force = truth(&self.spring, part, &pressed);
        let largest = force[STEPS - 1];
        let offset = 0.005 * largest * stream.normal();
        let force = force
            .iter()
            .enumerate()
            .map(|(i, f)| {
                let way = if i < STEPS { 1.0 } else { -1.0 };
                f * (1.0 + way * friction) + offset + 0.003 * largest * stream.normal()
            })
            .collect();
        let curve = MeasuredCurve { deflection: x, force, peak: STEPS - 1, notes: Vec::new() };
        Readings::of(&curve)
    }

    /// True error of a part (percent rms).
    fn error(&self, spring: &Spring, part: &Deviation, shim: f64) -> f64 {
        let places: Vec<f64> = self.target.deflection.iter().map(|x| x + shim).collect();
        self.target.errors_percent(&truth(spring, part, &places)).0
    }

    /// True error of a part of the new drawing, from the same sheet.
    fn error_of_new(&self, new: &Corrected, part: &Deviation) -> f64 {
        let mut made = new.recut.drawn.clone();
        made.sheet.thickness = self.spring.sheet.thickness + part.thickness_mm;
        made.sheet.youngs_modulus = self.spring.sheet.youngs_modulus * part.modulus_factor();
        made.sheet.shear_modulus = self.spring.sheet.shear_modulus * part.modulus_factor();
        self.error(&made, &Deviation { thickness_mm: 0.0, modulus_percent: 0.0, ..*part }, 0.0)
    }

    fn case(&self, number: u64) -> Option<Case> {
        let mut stream = RandomStream::new(97, number);
        let sigmas = self.sigmas();
        let common: [f64; DEVIATIONS] =
            std::array::from_fn(|k| sigmas[k] * (1.0 - PART_SHARES[k]).sqrt() * stream.truncated_normal(2.5));
        let mut of_part = || {
            let own = |k: usize, z: f64| sigmas[k] * PART_SHARES[k].sqrt() * z;
            Deviation::from_values(std::array::from_fn(|k| common[k] + own(k, stream.truncated_normal(2.5))))
        };
        let (first, next) = (of_part(), of_part());
        let part = MeasuredPart {
            name: "1".to_owned(),
            thickness: vec![self.spring.sheet.thickness + first.thickness_mm + MICROMETER * stream.normal()],
            curves: vec![self.measured(&first, &mut stream)],
            ..MeasuredPart::default()
        };
        let found =
            identify_parts(&self.spring, &self.tolerances, &[part], IdentifySettings::default()).unwrap();
        if !found.explained {
            println!("part {number}: {}", found.reason);
            return None;
        }
        let mut held = [false; DEVIATIONS];
        for (k, quantity) in EstimatedQuantity::ALL.into_iter().take(DEVIATIONS).enumerate() {
            let estimate = found.estimate(quantity).unwrap();
            held[k] = (estimate.low..=estimate.high).contains(&first.values()[k]);
        }
        let new = correct(&self.spring, &self.file, &self.target, found).unwrap();
        let correction = &new.summary.correction;
        let stated = |kind: TrimKind| {
            let trim = correction.trims.iter().find(|trim| trim.kind == kind)?;
            Some((trim.next.rms_percent, trim.next.within_percent, trim.amount_mm.unwrap_or(0.0)))
        };
        let of = |kind: TrimKind| {
            let (half, most, amount) = stated(kind)?;
            let true_error = match kind {
                TrimKind::Shim => self.error(&self.spring, &next, amount),
                TrimKind::SetAgain => {
                    let set = Deviation { free_height_mm: next.free_height_mm + amount, ..next };
                    self.error(&self.spring, &set, 0.0)
                }
                TrimKind::NewCut => self.error_of_new(&new, &next),
                _ => self.error(&self.spring, &next, 0.0),
            };
            Some([half, most, true_error])
        };
        let as_drawn = of(TrimKind::Nothing)?;
        Some(Case {
            held,
            as_drawn,
            drawing: if correction.kept { as_drawn } else { of(TrimKind::NewCut)? },
            advised: correction.advised.filter(|kind| *kind != TrimKind::Nothing).and_then(of),
            kind: correction.advised,
        })
    }
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

#[test]
fn the_error_stated_of_the_next_part_is_the_true_one() {
    let job = job();
    let cases: Vec<Case> = (0..PARTS).into_par_iter().filter_map(|number| job.case(number)).collect();
    let count = cases.len() as f64;
    let share = |holds: &dyn Fn(&Case) -> bool| {
        100.0 * cases.iter().filter(|case| holds(case)).count() as f64 / count
    };
    println!("{count} of {PARTS} parts explained");
    for (k, quantity) in EstimatedQuantity::ALL.into_iter().take(DEVIATIONS).enumerate() {
        let held = share(&|case| case.held[k]);
        println!("{:<18} {held:5.1} % held", quantity.name());
        // 93 to 97 %, and two standard deviations of so many draws
        assert!((90.0..=99.0).contains(&held), "{}: {held} %", quantity.name());
    }
    let told = |name: &str, list: &[[f64; 3]]| {
        let ratio = median(list.iter().map(|[half, _, truth]| half / truth).collect());
        let below = list.iter().filter(|[_, most, truth]| truth <= most).count() as f64 / list.len() as f64;
        let pick = |k: usize| median(list.iter().map(|one| one[k]).collect());
        println!(
            "{name:<18} {} parts: stated {:.2} %, true {:.2} % in the median; ratio {ratio:.2}; {:.1} % within the bound",
            list.len(),
            pick(0),
            pick(2),
            100.0 * below
        );
        (ratio, below)
    };
    let as_drawn: Vec<[f64; 3]> = cases.iter().map(|case| case.as_drawn).collect();
    let drawing: Vec<[f64; 3]> = cases.iter().map(|case| case.drawing).collect();
    let advised: Vec<[f64; 3]> = cases.iter().filter_map(|case| case.advised).collect();
    let found = [told("as drawn", &as_drawn), told("drawing", &drawing), told("advised", &advised)];
    for kind in [TrimKind::Nothing, TrimKind::Shim, TrimKind::SetAgain, TrimKind::NewCut] {
        println!("{kind:?} advised in {:.1} %", share(&|case| case.kind == Some(kind)));
    }
    let halved = |least: f64| {
        let off: Vec<&Case> =
            cases.iter().filter(|case| case.as_drawn[2] > least && case.advised.is_some()).collect();
        let half = off.iter().filter(|case| case.advised.is_some_and(|one| one[2] < 0.5 * case.as_drawn[2]));
        let half = half.count();
        println!("more than {least} % off: {} parts, {half} halved by the remedy advised", off.len());
        half as f64 / off.len() as f64
    };
    let [_, beyond_tolerance, far_off] = [0.0, 3.0, 5.0].map(halved);
    // below the tolerance what is left is the scatter from part to part, which no drawing takes away
    assert!(beyond_tolerance > 0.8 && far_off > 0.9, "{beyond_tolerance} {far_off}");
    for (ratio, below) in found {
        assert!((0.8..=1.25).contains(&ratio) && below > 0.9, "{ratio} {below}");
    }
}
