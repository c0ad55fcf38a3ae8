//! Ways of setting for jobs of the trade: springs of plate, foil and hardenable sheet, given as files.
//!
//! The ways, and the former's height over the height wanted, are those that spring makers use (from memory, orders of
//! magnitude): clamped relief 1.8 to 3.9, ageing on the former 1.7 to 3.0 for 1.4568 and 1.1 to 1.7 for beryllium copper,
//! tempering on the former 1.05 to 1.25.

use flatspire::checks::{CheckOptions, Checks, SettingWay};
use flatspire::evaluation::{Asked, Evaluation};
use flatspire::layout::Spring;
use flatspire::model::{Model, ModelSettings};
use flatspire::outline::{Role, from_dxf};
use flatspire::package::former_files;
use flatspire::plot::Units;
use flatspire::report::spring_package;
use flatspire::spec::SpringFile;

const PLATE: &str = include_str!("../data/setting/plate.toml");
const FOIL: &str = include_str!("../data/setting/foil.toml");
const STAINLESS: &str = include_str!("../data/setting/s4310.toml");
const CARBON: &str = include_str!("../data/setting/c100.toml");
const AGED: &str = include_str!("../data/setting/ch900.toml");
const BERYLLIUM: &str = include_str!("../data/setting/cube.toml");

fn checked(text: &str) -> (Spring, Checks) {
    let file = SpringFile::parse(text, "spring.toml").unwrap();
    let spring = Spring::from_file(&file, None).unwrap();
    let checks = Checks::of(&spring, &CheckOptions::of_file(&file, None)).unwrap();
    (spring, checks)
}

fn force_at(spring: &Spring, deflection: f64) -> f64 {
    Model::of(spring, &ModelSettings::default()).unwrap().response(&[deflection]).unwrap().force[0]
}

/// The way taken, with the former's height over the height to be left.
fn taken(checks: &Checks) -> (&SettingWay, f64) {
    let setting = checks.setting.as_ref().unwrap();
    let way = &setting.ways[0];
    assert!(!setting.why.is_empty() && setting.refused.is_none());
    (way, way.former_height_mm.unwrap() / setting.former_height_mm.unwrap())
}

#[track_caller]
fn assert_way(text: &str, name: &str, ratio: [f64; 2], said: &[&str]) {
    let (_, checks) = checked(text);
    let (way, over) = taken(&checks);
    assert_eq!(way.name, name, "{}", checks.setting.as_ref().unwrap().why);
    assert!((ratio[0]..=ratio[1]).contains(&over), "{name}: former {over:.2} times the height");
    let [low, high] = way.left_band_mm.unwrap();
    let wanted = checks.setting.as_ref().unwrap().former_height_mm.unwrap();
    assert!(low < wanted && wanted < high, "{name}: {low} to {high} for {wanted}");
    let words = format!("{} {}", way.steps.join("\n"), checks.cautions.join("\n"));
    // every text ends in a trial that is measured at three radii
    assert_eq!(way.places.len(), 3);
    for part in
        said.iter().chain(&["order: ", "trial first", "three radii", "caution: ", "check the height", "°C"])
    {
        assert!(words.contains(part), "{part:?} is not in {words}");
    }
}

#[test]
fn a_spring_of_3_kn_is_formed_soft_and_hardened() {
    let (spring, checks) = checked(PLATE);
    let force = force_at(&spring, 8.0);
    assert!((2900.0..3700.0).contains(&force) && checks.stress.ok == Some(true), "{force}");
    assert_way(
        PLATE,
        "harden-after-forming",
        [1.05, 1.25],
        &[
            "(+A)",
            "austenitise",
            "oil",
            "temper",
            "on the same former",
            "HV",
            "flash point",
            "released while soft",
            "captive",
            "burst",
        ],
    );
}

#[test]
fn a_spring_of_2_n_is_set_from_hard_foil() {
    let (spring, checks) = checked(FOIL);
    let force = force_at(&spring, 0.45);
    assert!((1.7..2.4).contains(&force) && checks.stress.ok == Some(true), "{force}");
    assert_way(FOIL, "clamped-relief", [1.8, 3.9], &["425 °C", "stainless steel", "final temper"]);
}

#[test]
fn temper_rolled_stainless_strip_is_relieved_under_clamp() {
    assert_way(STAINLESS, "clamped-relief", [1.8, 3.9], &["425 °C", "never 480", "hold the rim flat"]);
}

#[test]
fn carbon_strip_is_formed_cold_where_its_arms_are_long_enough_and_soft_where_not() {
    assert_way(
        CARBON,
        "harden-after-forming",
        [1.05, 1.25],
        &["annealed", "quench", "decarburised", "hydrogen"],
    );
    let (_, checks) = checked(CARBON);
    let why = &checks.setting.as_ref().unwrap().why;
    assert!(why.contains("cold would need a former of"), "{why}");
    // longer arms follow the former of a cold way
    let long = CARBON
        .replace("thickness = 0.8", "thickness = 1.0")
        .replace("[3.6, 4.4, 4.8]", "[2.6, 3.2, 3.6]")
        .replace("free_height = 6.0", "free_height = 7.0");
    assert_way(
        &long,
        "cold",
        [2.5, 7.0],
        &["(+QT)", "200 to 250 °C", "before it is pressed flat", "eye protection"],
    );
}

#[test]
fn sheet_that_is_aged_is_ordered_before_ageing() {
    assert_way(
        AGED,
        "age-on-former",
        [1.7, 3.0],
        &["condition C, not aged", "480 °C, 60 min", "as large as drawn"],
    );
    assert_way(
        BERYLLIUM,
        "age-on-former",
        [1.1, 1.7],
        &["TD02", "315 °C", "1.00200 times as large", "lung disease", "sludge"],
    );
}

#[test]
fn the_drawing_orders_the_delivered_state_and_names_the_finished_one() {
    for (text, ordered, finished, note) in [
        (AGED, "condition C, not aged", "1.4568+CH900", "scale the geometry by 1.00050"),
        (BERYLLIUM, "C17200 TD02", "C17200+TH02", "scale the geometry by 1.00200"),
        (PLATE, "annealed strip or plate", "52CrMoV4+QT", "former 9."),
    ] {
        let file = SpringFile::parse(text, "spring.toml").unwrap();
        let spring = Spring::from_file(&file, None).unwrap();
        let evaluation = Evaluation::of(&spring, Asked::of(&file, None)).unwrap();
        let drawing = evaluation.drawing.as_ref().unwrap();
        let sheet = flatspire::shop::drawing_sheet(&evaluation, drawing, "spring").unwrap();
        let svg = String::from_utf8(flatspire::shop::svg(&sheet)).unwrap();
        let words = svg.replace("</tspan>", " ").replace('\n', " ");
        let plain: String =
            words.split('<').filter_map(|part| part.split_once('>')).map(|(_, text)| text).collect();
        let plain = plain.split_whitespace().collect::<Vec<_>>().join(" ");
        let squeezed = |text: &str| text.replace(' ', "");
        for part in ["Material to order", ordered, "Finished state", finished, note] {
            assert!(squeezed(&plain).contains(&squeezed(part)), "{part:?} is not in {plain}");
        }
    }
}

#[test]
fn a_way_that_is_asked_for_is_taken_or_refused_by_name() {
    let asked = |way: &str| checked(&format!("{STAINLESS}[setting]\nway = \"{way}\"\n")).1;
    let cold = asked("cold");
    assert_eq!(taken(&cold).0.name, "cold");
    assert!(cold.setting.as_ref().unwrap().why.contains("asked for"));
    let refused = asked("creep-form");
    let finding = refused.failed().find(|finding| finding.check == "setting").unwrap().to_string();
    for part in ["creep-form", "1.4310+C1300", "clamped-relief, cold"] {
        assert!(finding.contains(part), "{finding}");
    }
    let message =
        SpringFile::parse(&format!("{STAINLESS}[setting]\nway = \"hot\"\n"), "spring.toml").unwrap_err();
    assert!(message.to_string().contains("clamped-relief"), "{message}");
}

#[test]
fn table_solid_and_rings_of_the_former_agree() {
    let (spring, checks) = checked(STAINLESS);
    let setting = checks.setting.as_ref().unwrap();
    let height = setting.ways[0].former_height_mm.unwrap();
    let arm = spring.arm(ModelSettings::default().segments).unwrap();
    let files = former_files(&spring, &arm, &setting.heights_to_make, None).unwrap();
    let bytes = |name: &str| &files.iter().find(|file| file.name == name).unwrap().bytes;
    let csv = String::from_utf8(bytes("former.csv").clone()).unwrap();
    let last: f64 = csv.lines().last().unwrap().rsplit(',').next().unwrap().parse().unwrap();
    assert!((last - height).abs() < 1e-3, "{last} {height}");
    // binary STL: 84 bytes, then 50 for each triangle, corners after the normal
    let stl = bytes("former.stl");
    let z = |at: usize| f64::from(f32::from_le_bytes([stl[at], stl[at + 1], stl[at + 2], stl[at + 3]]));
    let top =
        (84..stl.len()).step_by(50).flat_map(|at| [at + 20, at + 32, at + 44]).map(z).fold(0.0, f64::max);
    assert!((top - 5.0 - height).abs() < 1e-3, "{top} with a base of 5 mm, {height}");
    let rings = &checks.former.rings;
    assert!((rings[rings.len() - 1].top_mm + checks.former.shim_mm - height).abs() < 1e-6);
    assert!((checks.former.height_mm - height).abs() < 1e-9 && checks.former.shim_mm >= 0.0);
}

/// The text between two others, behind a third; its number.
#[track_caller]
fn number(text: &str, before: &str, after: &str) -> f64 {
    let rest = text.split_once(before).unwrap_or_else(|| panic!("{before:?} is not in {text}")).1;
    let value = rest.split_once(after).unwrap_or_else(|| panic!("{after:?} is not behind {before:?}")).0;
    value.trim().parse().unwrap_or_else(|_| panic!("{value:?} behind {before:?}"))
}

#[test]
fn steps_report_picture_and_files_say_the_same_of_the_former() {
    let shims = [0.5, 0.8, 1.0, 1.5, 2.0];
    let file = SpringFile::parse(&format!("{STAINLESS}[shop]\nshims = {shims:?}\n"), "spring.toml").unwrap();
    let spring = Spring::from_file(&file, None).unwrap();
    let evaluation = Evaluation::of(&spring, Asked::of(&file, None)).unwrap();
    let package = spring_package(&file, &evaluation, Units::MillimetreNewton).unwrap();
    let bytes = |name: &str| &package.iter().find(|file| file.name == name).unwrap().bytes;
    let text = |name: &str| String::from_utf8(bytes(name).clone()).unwrap();

    let steps = text("setting.txt");
    let height = number(&steps, "former to make, height at the hub: ", " mm");
    let count = number(&steps, "as a stack of ", " rings");
    let shim = number(&steps, "rings, shim ", " mm");
    let rows: Vec<Vec<f64>> = steps
        .split_once("thickness mm  top mm\n")
        .unwrap()
        .1
        .lines()
        .take_while(|line| !line.is_empty())
        .map(|line| line.split_whitespace().map(|cell| cell.parse().unwrap()).collect())
        .collect();
    assert_eq!(rows.len() as f64, count);
    // the stack: thicknesses from the shims at hand, faces where the thicknesses put them, with the shim the former's height
    let mut top = 0.0;
    for row in &rows {
        let [_, _, _, thickness, face] = row[..] else { panic!("{row:?}") };
        assert!(shims.iter().any(|one| (one - thickness).abs() < 1e-9), "{thickness} is no shim at hand");
        top += thickness;
        assert!((top - face).abs() < 1e-6, "{row:?}");
    }
    assert!((0.0..0.5).contains(&shim) && (top + shim - height).abs() < 6e-3, "{top} + {shim}, {height}");

    // the step that names the height, to a hundredth
    assert!(steps.contains(&format!("{height:.2} mm at the hub")), "{height}");
    // table, solid, profile, turned solid
    let csv = text("former/former.csv");
    let last: f64 = csv.lines().last().unwrap().rsplit(',').next().unwrap().parse().unwrap();
    // the steps say it to a hundredth
    assert!((last - height).abs() < 6e-3, "{last} {height}");
    let height = last;
    let stl = bytes("former/former.stl");
    let z = |at: usize| f64::from(f32::from_le_bytes([stl[at], stl[at + 1], stl[at + 2], stl[at + 3]]));
    let solid_top =
        (84..stl.len()).step_by(50).flat_map(|at| [at + 20, at + 32, at + 44]).map(z).fold(0.0, f64::max);
    assert!((solid_top - 5.0 - height).abs() < 1e-3, "{solid_top} with a base of 5 mm, {height}");
    let profile = from_dxf(bytes("former/former_profile_mm.dxf"), "profile").unwrap();
    let highest = profile.contours[0].chain.vertices.iter().map(|v| v.point[1]).fold(0.0, f64::max);
    assert!((highest - height).abs() < 1e-3, "{highest} {height}");
    let step = text("former/former_turned.step");
    let points = step.lines().filter_map(|line| line.split_once("CARTESIAN_POINT('',(")).map(|(_, rest)| {
        let last = rest.trim_end_matches("));").rsplit(',').next().unwrap();
        last.parse::<f64>().unwrap()
    });
    let highest = points.fold(0.0, f64::max);
    assert!((highest - height).abs() < 1e-3, "{highest} {height}");
    // rings as drawn: sizes of the table, none on another
    let rings = from_dxf(bytes("former/former_rings_mm.dxf"), "rings").unwrap();
    let circles = |role: Role| {
        let contours = rings.contours.iter().filter(move |contour| contour.role == role);
        contours.filter_map(flatspire::outline::Contour::as_circle).collect::<Vec<_>>()
    };
    let (outsides, bores) = (circles(Role::Outside), circles(Role::Bore));
    assert_eq!([outsides.len(), bores.len()], [rows.len(); 2]);
    for ((row, outside), bore) in rows.iter().zip(&outsides).zip(&bores) {
        assert!((2.0 * outside.1 - row[1]).abs() < 0.006 && (2.0 * bore.1 - row[2]).abs() < 0.006, "{row:?}");
        assert_eq!(outside.0, bore.0);
    }
    assert!(
        outsides.windows(2).all(|pair| pair[1].0[0] - pair[0].0[0] > pair[0].1 + pair[1].1),
        "{outsides:?}"
    );
    // report and picture
    let report = text("report.html");
    let told = number(&report, "The former to make stands ", "\u{a0}mm high at the hub");
    assert!((told - height).abs() < 5e-4 * height, "{told} {height}");
    let picture = text("pictures/former.svg");
    for row in &rows {
        let size = format!("Ø {:.2}", row[1]);
        assert!(picture.contains(&size), "{size} is not in the picture");
    }
}

#[test]
fn heat_and_hours_are_reported_or_not_judged() {
    let duty = |text: &str, duty: &str| {
        let file = SpringFile::parse(&format!("{text}[duty]\n{duty}\n"), "spring.toml").unwrap();
        let spring = Spring::from_file(&file, None).unwrap();
        let evaluation = Evaluation::of(&spring, Asked::of(&file, None)).unwrap();
        let verdict = serde_json::to_string(evaluation.verdicts.get("keeps_height").unwrap()).unwrap();
        (evaluation.checks.service, verdict)
    };
    let (service, verdict) = duty(STAINLESS, "temperature = 150\nhours = 1000");
    let service = service.unwrap();
    // −4e−4 per kelvin over 130 K
    assert!((service.force_factor - (1.0 - 0.052)).abs() < 1e-9);
    // 2 to 8 % at three quarters of Rp0.2, by the square of the stress
    let square = (service.stress_ratio / 0.75).powi(2);
    let [low, high] = service.loss_percent.unwrap();
    assert!((low - 2.0 * square).abs() < 1e-9 && (high - 8.0 * square).abs() < 1e-9, "{low} {high}");
    assert!(verdict.contains("\"yes\"") && verdict.contains("force at 150"), "{verdict}");
    let (_, hot) = duty(CARBON, "temperature = 200");
    assert!(hot.contains("\"no\"") && hot.contains("1.4568"), "{hot}");
    let (none, unknown) = duty(&STAINLESS.replace("1.4310+C1300", "7075-T6"), "temperature = 80");
    assert!(none.is_none() && unknown.contains("not judged"), "{unknown}");
}
