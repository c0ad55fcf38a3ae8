use super::*;
use crate::spec::{AssemblyFile, Process, SpringFile, Tolerance};
use crate::variation::{band_percent, scatter};

const TEXT: &str = "[sheet]\nthickness = 1.2\nmaterial = \"1.4310+C1300\"\n[disc]\narms = 2\nslot = 1.4\n\
    outer_diameter = 75\narm_outer_diameter = 60\narm_inner_diameter = 20\n[arm]\nradius = [10, 30]\n\
    width = [2.4, 5.6]\n[former]\nfree_height = 9.0\n";

fn spring() -> Spring {
    Spring::from_file(&SpringFile::parse(TEXT, "spring.toml").unwrap(), None).unwrap()
}

/// Tolerances of which only one cause is left.
fn only(spring: &Spring, cause: Cause) -> Tolerances {
    let mut tolerances = Tolerances::of(spring, &Tolerance::default(), &Process::default());
    for spread in &mut tolerances.0 {
        if spread.cause != cause {
            spread.plus_minus = 0.0;
        }
    }
    tolerances
}

fn pair(kind: &str, rest: f64) -> AssemblyFile {
    let side = |name: &str| if kind == "opposed" { format!("side = \"{name}\"\n") } else { String::new() };
    let text = format!(
        "kind = \"{kind}\"\nheight = 10\n[[member]]\nfolder = \"disc-a\"\ninstalled = {rest}\n{}[[member]]\n\
         folder = \"disc-b\"\ninstalled = {rest}\n{}",
        side("a"),
        side("b")
    );
    AssemblyFile::parse(&text, "assembly.toml").unwrap()
}

fn band_of(file: &AssemblyFile, springs: [&Spring; 2], cause: Cause) -> Scatter {
    let members: Vec<VariedMember> = file
        .member
        .iter()
        .zip(springs)
        .map(|(member, spring)| VariedMember { member, spring, tolerances: only(springs[0], cause) })
        .collect();
    scatter_assembly(file.kind, &members, None, 3.0, &ScatterSettings { runs: 400, seed: 3 }).unwrap()
}

fn near(found: f64, expected: f64, share: f64) {
    assert!((found / expected - 1.0).abs() < share, "{found}, expected {expected}");
}

#[test]
fn two_equal_discs_in_series_scatter_as_one_with_a_coil_and_by_root_two_less_without() {
    // at the same force each is deflected by half: a common error changes the force as it does that of one, errors of
    // their own by the mean of both
    let spring = spring();
    let mut other_coil = spring.clone();
    other_coil.sheet.material = Some("another coil".to_owned());
    let one = |cause| {
        let asked = Asked { target: None, installed: 0.0, tolerance_percent: 3.0 };
        band_percent(&spring, &only(&spring, cause), &asked).unwrap()
    };
    let file = pair("series", 0.0);
    let shared = band_of(&file, [&spring, &spring], Cause::Thickness);
    near(shared.band_percent, one(Cause::Thickness), 0.02);
    assert_eq!(shared.causes.len(), 1);
    assert_eq!(shared.causes[0].member.as_deref(), Some("disc-a, disc-b"));
    let apart = band_of(&file, [&spring, &other_coil], Cause::Thickness);
    near(apart.band_percent, one(Cause::Thickness) / 2f64.sqrt(), 0.03);
    assert_eq!(apart.causes.len(), 2);
    let kerf = band_of(&file, [&spring, &spring], Cause::Kerf);
    near(kerf.band_percent, one(Cause::Kerf) / 2f64.sqrt(), 0.03);
    // drawn parts say what the first order says: 90 % between the edges
    let half: Vec<f64> =
        (0..POINTS / 2).map(|i| 0.5 * (kerf.curve.high_n[i].unwrap() - kerf.curve.low_n[i])).collect();
    let first: Vec<f64> = (0..POINTS / 2)
        .map(|i| 0.5 * (kerf.curve.first_order_high_n[i] - kerf.curve.first_order_low_n[i]))
        .collect();
    near(half.iter().sum(), first.iter().sum(), 0.1);
}

#[test]
fn a_series_of_one_member_scatters_as_its_discs_do_alone() {
    let spring = spring();
    let tolerances = Tolerances::of(&spring, &Tolerance::default(), &Process::default());
    let mut file = pair("series", 0.0);
    file.member.truncate(1);
    let members = [VariedMember { member: &file.member[0], spring: &spring, tolerances: tolerances.clone() }];
    let settings = ScatterSettings { runs: 200, seed: 1 };
    // its own curve, away from flat, where no first order is true
    let x: Vec<f64> = (0..=28).map(|k| 0.25 * f64::from(k)).collect();
    let force = Model::of(&spring, &ModelSettings::default()).unwrap().response(&x).unwrap().force;
    let target = TargetCurve::points(&x, &force).through_zero().curve("disc").unwrap();
    let asked = Asked { target: Some(&target), installed: 0.0, tolerance_percent: 6.0 };
    let alone = scatter(&spring, &tolerances, &asked, &settings).unwrap();
    let found = scatter_assembly(file.kind, &members, Some(&target), 6.0, &settings).unwrap();
    near(found.band_percent, alone.band_percent, 0.02);
    assert!(
        (found.yield_share - alone.yield_share).abs() < 0.1,
        "{} {}",
        found.yield_share,
        alone.yield_share
    );
    assert_eq!(found, scatter_assembly(file.kind, &members, Some(&target), 6.0, &settings).unwrap());
}

#[test]
fn an_opposed_pair_finds_its_balance_and_a_common_error_leaves_the_middle_alone() {
    let spring = spring();
    let file = pair("opposed", 4.0);
    let found = band_of(&file, [&spring, &spring], Cause::Thickness);
    // both stiffer by the same factor: so is the pair, and its middle stays without force
    let stiffer = band_of(&file, [&spring, &spring], Cause::Modulus);
    let plus_minus = Tolerances::of(&spring, &Tolerance::default(), &Process::default());
    let sigma = plus_minus.of_cause(Cause::Modulus).deviation();
    for (i, x) in stiffer.curve.deflection_mm.iter().enumerate() {
        let force = stiffer.curve.force_n[i];
        let half = 0.5 * (stiffer.curve.first_order_high_n[i] - stiffer.curve.first_order_low_n[i]);
        assert!((half - 0.01 * FRACTILE * sigma * force.abs()).abs() < 1e-3 * half.abs() + 1e-6, "at {x}");
    }
    assert!(found.band_percent > 0.0 && found.yield_share < 1.0, "{found:?}");
}

#[test]
fn a_pair_behind_a_third_disc_scatters_by_all_three_and_starts_from_no_force() {
    let spring = spring();
    let text = "kind = \"opposed-series\"\nheight = 40\n[[member]]\nfolder = \"disc-a\"\nside = \"a\"\ninstalled = 4\n\
                [[member]]\nfolder = \"disc-b\"\nside = \"b\"\ninstalled = 4\n\
                [[member]]\nfolder = \"disc-c\"\nside = \"c\"\nspacer = 14\n";
    let file = AssemblyFile::parse(text, "assembly.toml").unwrap();
    let band = |cause| {
        let members: Vec<VariedMember> = file
            .member
            .iter()
            .map(|member| VariedMember { member, spring: &spring, tolerances: only(&spring, cause) })
            .collect();
        scatter_assembly(file.kind, &members, None, 3.0, &ScatterSettings { runs: 100, seed: 3 }).unwrap()
    };
    // all stiffer by the same factor: so is the whole, at equal deflections of the three
    let asked = Asked { target: None, installed: 0.0, tolerance_percent: 3.0 };
    let one = band_percent(&spring, &only(&spring, Cause::Modulus), &asked).unwrap();
    near(band(Cause::Modulus).band_percent, one, 0.05);
    // a third disc that is taller is not pressed in at rest: its force begins at nothing
    let members: Vec<VariedMember> = file
        .member
        .iter()
        .map(|member| VariedMember { member, spring: &spring, tolerances: only(&spring, Cause::FreeHeight) })
        .collect();
    let varied = Varied::of(file.kind, &members, None).unwrap();
    let mut taller = varied.none();
    taller[2][0][Cause::FreeHeight as usize] = 0.3;
    let part = varied.part(&taller).unwrap();
    assert!(part.force(0.0).abs() < 1e-9 && part.members()[2].installed == 0.0);
    assert!((part.members()[2].curve.closed() - spring.former.free_height - 0.3).abs() < 1e-6);
}
