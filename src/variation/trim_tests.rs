use super::*;
use crate::assembly::ForceCurve;
use crate::layout::Spring;
use crate::model::ModelSettings;
use crate::spec::{AssemblyFile, Process, SpringFile, Tolerance};
use crate::variation::{Deviation, Tolerances};

const TEXT: &str = "[sheet]\nthickness = 1.2\nmaterial = \"1.4310+C1300\"\n[disc]\narms = 2\nslot = 1.4\n\
    outer_diameter = 75\narm_outer_diameter = 60\narm_inner_diameter = 20\n[arm]\nradius = [10, 30]\n\
    width = [2.4, 5.6]\n[former]\nfree_height = 9.0\n";
const REST: [f64; 2] = [4.6, 4.6];

/// The curve of a part, by the whole model.
fn curve(spring: &Spring, deviation: &Deviation) -> ForceCurve {
    let varied = VariedSpring::new(spring, 150).unwrap();
    let model = varied.model(deviation, &ModelSettings::default()).unwrap();
    let travel = model.travel();
    let stops: Vec<f64> = (1..=150).map(|k| travel * f64::from(k) / 150.0).collect();
    let response = model.response(&stops).unwrap();
    ForceCurve::through(&response.deflection, &response.force).unwrap()
}

/// The disc of these tests.
fn disc() -> Spring {
    Spring::from_file(&SpringFile::parse(TEXT, "spring.toml").unwrap(), None).unwrap()
}

/// The members of a file, all of the disc `spring`; `height_off` (mm) is the tolerance of their free heights where it is not the
/// usual one.
fn members_of<'a>(
    file: &'a AssemblyFile,
    spring: &'a Spring,
    height_off: Option<f64>,
) -> Vec<VariedMember<'a>> {
    let tolerance = Tolerance { free_height: height_off, ..Tolerance::default() };
    let tolerances = Tolerances::of(spring, &tolerance, &Process::default());
    let members = file.member.iter();
    members.map(|member| VariedMember { member, spring, tolerances: tolerances.clone() }).collect()
}

/// The arrangement of a file whose discs all have the curve `nominal`.
fn arrangement_of(file: &AssemblyFile, nominal: &ForceCurve) -> Arrangement {
    let placed = file.member.iter().map(|member| PlacedMember {
        curve: nominal.clone(),
        count: 1,
        stacking: Stacking::Series,
        installed: member.installed,
        thickness: 1.2,
        spacer: member.spacer,
    });
    Arrangement::of(file.kind, placed.collect()).unwrap()
}

/// Readings of a measurement without hysteresis.
fn readings(deflection: Vec<f64>, force: Vec<f64>) -> Readings {
    Readings { deflection, force, hysteresis: None, friction_left: true }
}

/// Least error over shims of up to two millimetres to either side (percent rms), with the errors that show that there was
/// something to trim printed beside it.
fn least_error(error: &dyn Fn(f64) -> f64, shim: f64) -> f64 {
    let least = (-40..=40).map(|k| error(0.05 * f64::from(k))).fold(f64::INFINITY, f64::min);
    println!("shim {shim}: true error {:.2} %, best {least:.2} %, without {:.2} %", error(shim), error(0.0));
    assert!(error(0.0) > 1.2 * least, "the part is off: {} {least}", error(0.0));
    least
}

/// Force of two discs between plates, each deflected by so much where no shim is; counted from where they balance, which is
/// found by halving.
fn forces(curves: &[ForceCurve; 2], pressed: [f64; 2], x: &[f64]) -> Vec<f64> {
    let force = |x: f64| curves[0].force(pressed[0] + x) - curves[1].force(pressed[1] - x);
    let (mut low, mut high) = (-2.0, 2.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if force(middle) < 0.0 { low = middle } else { high = middle }
    }
    x.iter().map(|x| force(low + x)).collect()
}

#[test]
fn the_shim_found_is_the_one_that_trims_the_true_part() {
    let spring = disc();
    let text = "kind = \"opposed\"\nheight = 10\n[[member]]\nfolder = \"disc-a\"\nside = \"a\"\ninstalled = 4.6\n\
                [[member]]\nfolder = \"disc-b\"\nside = \"b\"\ninstalled = 4.6\n";
    let file = AssemblyFile::parse(text, "assembly.toml").unwrap();
    let members = members_of(&file, &spring, Some(0.7));
    let nominal = curve(&spring, &Deviation::default());
    let arrangement = arrangement_of(&file, &nominal);
    let x: Vec<f64> = (-24..=24).map(|k| 0.125 * f64::from(k)).collect();
    let wanted = forces(&[nominal.clone(), nominal], REST, &x);
    let target = TargetCurve::points(&x, &wanted).through_zero().curve("pair").unwrap();
    // both set too low, one of them a little thick
    let parts = [
        Deviation { free_height_mm: -0.9, thickness_mm: 0.005, ..Deviation::default() },
        Deviation { free_height_mm: -0.6, ..Deviation::default() },
    ];
    let curves = parts.each_ref().map(|part| curve(&spring, part));
    let pressed =
        |shim: f64| [0, 1].map(|k| REST[k] + parts[k].free_height_mm + if k == 0 { shim } else { 0.0 });
    let error = |shim: f64| target.errors_percent(&forces(&curves, pressed(shim), &x)).0;
    let measured = forces(&curves, pressed(0.0), &x);
    let found = trim(&members, &arrangement, &target, 1.5, &readings(x.clone(), measured)).unwrap();
    assert!(found.explained, "{}", found.reason);
    assert!(
        (found.rms_measured_percent - error(0.0)).abs() < 0.5,
        "{} {}",
        found.rms_measured_percent,
        error(0.0)
    );
    let shim: f64 = found.shims.iter().map(|shim| shim.thickness_mm).sum();
    let least = least_error(&error, shim);
    assert!(error(shim) < least + 0.1, "with {shim} mm {} %, at best {least} %", error(shim));
    assert!(
        (found.rms_trimmed_percent - error(shim)).abs() < 0.5,
        "{} {}",
        found.rms_trimmed_percent,
        error(shim)
    );
}

#[test]
fn a_measurement_that_no_disc_explains_is_not_trimmed() {
    let spring = disc();
    let text = "kind = \"series\"\nheight = 10\n[[member]]\nfolder = \"disc\"\ninstalled = 2.0\n";
    let file = AssemblyFile::parse(text, "assembly.toml").unwrap();
    let members = members_of(&file, &spring, None);
    let arrangement = arrangement_of(&file, &curve(&spring, &Deviation::default()));
    let x: Vec<f64> = (0..=20).map(|k| 0.2 * f64::from(k)).collect();
    let wanted: Vec<f64> = x.iter().map(|x| arrangement.force(*x)).collect();
    let target = TargetCurve::points(&x, &wanted).through_zero().curve("stack").unwrap();
    // a rod that jams halfway
    let jammed: Vec<f64> = x.iter().zip(&wanted).map(|(x, f)| f * if *x > 2.0 { 1.3 } else { 1.0 }).collect();
    let found = trim(&members, &arrangement, &target, 1.5, &readings(x, jammed)).unwrap();
    assert!(!found.explained && !found.met && found.shims.is_empty(), "{found:?}");
    assert!(found.reason.contains("rod") || found.reason.contains("alone"), "{}", found.reason);
}

/// Forces at deflections `x` of a pair between plates with a third disc in series, from deflections at equal forces.
fn behind_third(curves: &[ForceCurve; 3], pressed: [f64; 2], x: &[f64]) -> Vec<f64> {
    let pair = [curves[0].clone(), curves[1].clone()];
    let hub: Vec<f64> = (0..=1000).map(|k| 0.005 * f64::from(k)).collect();
    let force = forces(&pair, pressed, &hub);
    let whole: Vec<f64> = hub.iter().zip(&force).map(|(u, force)| u + curves[2].deflection(*force)).collect();
    x.iter().map(|x| crate::numeric::straight_between(&whole, &force, *x)).collect()
}

#[test]
fn a_shim_trims_the_pair_behind_a_third_disc() {
    let spring = disc();
    let text = "kind = \"opposed-series\"\nheight = 40\n[[member]]\nfolder = \"disc-a\"\nside = \"a\"\ninstalled = 2.6\n\
                [[member]]\nfolder = \"disc-b\"\nside = \"b\"\ninstalled = 2.6\n\
                [[member]]\nfolder = \"disc-c\"\nside = \"c\"\nspacer = 20\n";
    let file = AssemblyFile::parse(text, "assembly.toml").unwrap();
    let rest = [2.6, 2.6];
    let members = members_of(&file, &spring, Some(0.7));
    let nominal = curve(&spring, &Deviation::default());
    let arrangement = arrangement_of(&file, &nominal);
    let x: Vec<f64> = (0..=40).map(|k| 0.25 * f64::from(k)).collect();
    let wanted = behind_third(&[nominal.clone(), nominal.clone(), nominal.clone()], rest, &x);
    let target = TargetCurve::points(&x, &wanted).curve("pair").unwrap();
    // both discs of the pair set too low
    let parts = [-0.9, -0.6].map(|free_height_mm| Deviation { free_height_mm, ..Deviation::default() });
    let [a, b] = parts.each_ref().map(|part| curve(&spring, part));
    let curves = [a, b, nominal];
    let pressed = |shim: f64| [rest[0] - 0.9 + shim, rest[1] - 0.6];
    let error = |shim: f64| target.errors_percent(&behind_third(&curves, pressed(shim), &x)).0;
    let measured = behind_third(&curves, pressed(0.0), &x);
    let found = trim(&members, &arrangement, &target, 1.5, &readings(x.clone(), measured)).unwrap();
    assert!(found.explained, "{}", found.reason);
    let shim: f64 = found.shims.iter().map(|shim| shim.thickness_mm).sum();
    let least = least_error(&error, shim);
    assert!(error(shim) < least + 0.2, "with {shim} mm {} %, at best {least} %", error(shim));
    assert!(found.shims.iter().all(|shim| !shim.member.starts_with("disc-c")), "{:?}", found.shims);
}
