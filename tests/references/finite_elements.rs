//! Springs that were computed by 3-D finite elements (see `tests/data/README.md`), for the tests and for fitting the roots.

use std::path::PathBuf;

use flatspire::layout::{Spring, read_stations};
use flatspire::spec::{Pressing, Rim, SpringFile};

/// The folder of one reference case.
fn case(kind: &str, name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(kind).join(name)
}

/// The spring of one reference case.
pub fn spring(kind: &str, name: &str) -> Spring {
    let folder = case(kind, name);
    let text = std::fs::read_to_string(folder.join("spring.toml")).unwrap();
    let file = SpringFile::parse(&text, "spring.toml").unwrap();
    let stations = std::fs::read_to_string(folder.join("stations.csv")).unwrap();
    Spring::from_file(&file, Some(read_stations(&stations, "stations.csv").unwrap())).unwrap()
}

/// The finite-element curve of one reference case: deflection (mm), force (N).
pub fn curve(kind: &str, name: &str, file: &str) -> (Vec<f64>, Vec<f64>) {
    let text = std::fs::read_to_string(case(kind, name).join(file)).unwrap();
    text.lines()
        .skip(1)
        .map(|line| {
            let (x, f) = line.split_once(',').unwrap();
            (x.parse::<f64>().unwrap(), f.parse::<f64>().unwrap())
        })
        .unzip()
}

/// Puts a disc into the hold it was computed in.
pub type Hold = fn(&mut Spring);

/// Curves of complete discs: case, file, in words, how it was held and pressed.
pub const DISC_CURVES: [(&str, &str, &str, Hold); 8] = [
    ("triple_constant", "curve.csv", "rings held", |_| ()),
    ("double_tapered", "curve.csv", "rings held", |_| ()),
    ("quad_constant", "curve.csv", "rings held", |_| ()),
    ("double_overtapered", "curve.csv", "rings held", |_| ()),
    ("double_overtapered", "curve_plates.csv", "between plates", |spring| {
        spring.seat.pressing = Pressing::Plates;
    }),
    ("triple_constant", "curve_resting_rim.csv", "rim resting", |spring| spring.seat.rim = Rim::Resting),
    ("quad_constant", "curve_resting_rim.csv", "rim resting", |spring| spring.seat.rim = Rim::Resting),
    ("triple_constant", "curve_flexible_rings.csv", "flexible rings", |spring| {
        spring.disc.rim_clamp_radius = None;
        spring.disc.hub_clamp_radius = None;
    }),
];

/// Curves of designed springs that were meshed from their own drawings: case, file, in words, how it was held.
#[allow(dead_code)] // the example reads the discs alone
pub const WHOLE_CHAIN_CURVES: [(&str, &str, &str, Hold); 15] = [
    ("gentle", "curve.csv", "two arms, 1.5 mm, rim resting", |_| ()),
    ("gentle", "curve_rim_held.csv", "two arms, 1.5 mm, rim held", |spring| spring.seat.rim = Rim::Held),
    ("two_rate", "curve.csv", "two arms of varying width, 2 mm, rim resting", |_| ()),
    ("linear_three_arms", "curve.csv", "three arms, 2 mm, rim held", |_| ()),
    ("thin_foil", "curve.csv", "two arms, 0.6 mm, rim held", |_| ()),
    ("linear_three_arms", "curve_resting_rim.csv", "three arms, 2 mm, rim resting", |spring| {
        spring.seat.rim = Rim::Resting;
    }),
    ("thin_foil", "curve_resting_rim.csv", "two arms, 0.6 mm, rim resting", |spring| {
        spring.seat.rim = Rim::Resting;
    }),
    ("tilting_one_arm", "curve.csv", "one arm, 1.2 mm, shaped former, rim held, hub free to tilt", |_| ()),
    ("upright_section", "curve.csv", "two arms narrower than thick, 3 mm, shaped former, rim held", |_| ()),
    ("domed_three_arms", "curve.csv", "three arms, 1.2 mm, domed, rim held", |_| ()),
    ("domed_three_arms", "curve_resting_rim.csv", "three arms, 1.2 mm, domed, rim resting", |spring| {
        spring.seat.rim = Rim::Resting;
    }),
    ("etched_foil", "curve.csv", "three arms, 0.12 mm foil, rim resting", |_| ()),
    ("etched_foil", "curve_rim_held.csv", "three arms, 0.12 mm foil, rim held", |spring| {
        spring.seat.rim = Rim::Held;
    }),
    ("wide_arms", "curve.csv", "two wide arms, 2 mm, rim held", |_| ()),
    ("wide_arms", "curve_resting_rim.csv", "two wide arms, 2 mm, rim resting", |spring| {
        spring.seat.rim = Rim::Resting;
    }),
];

/// Designed springs whose shaped former leaves wide outer turns nearly flat: case, file, in words, how it was held. The section
/// of such an arm rolls and rests on its inner edge from the start.
#[allow(dead_code)] // the example reads the discs alone
pub const NEARLY_FLAT_OUTSIDE: [(&str, &str, &str, Hold); 6] = [
    ("shaped_four_arms", "curve.csv", "four arms, 1.2 mm, rim resting", |_| ()),
    ("heavy_plate", "curve.csv", "three arms, 8 mm, rim resting", |_| ()),
    ("plates_five_arms", "curve.csv", "five arms, 1.5 mm, between plates, rim resting", |_| ()),
    ("six_arms", "curve.csv", "six arms, 1 mm, rim held", |_| ()),
    ("six_arms", "curve_resting_rim.csv", "six arms, 1 mm, rim resting", |spring| {
        spring.seat.rim = Rim::Resting;
    }),
    ("heavy_plate", "curve_rim_held.csv", "three arms, 8 mm, rim held", |spring| {
        spring.seat.rim = Rim::Held;
    }),
];

/// Designed springs that were found and meshed after the roots had been fitted, and that no fit has used: case, file, in words,
/// how it was held.
#[allow(dead_code)] // the example reads what it fits
pub const FRESH: [(&str, &str, &str, Hold); 8] = [
    ("trigger_two_arms", "curve.csv", "two arms, 0.7 mm, 4 N, rim resting", |_| ()),
    ("pedal_two_arms", "curve.csv", "two arms, 2 mm, rim resting", |_| ()),
    ("handbrake_one_arm", "curve.csv", "one slender arm, 1.5 mm, rim resting", |_| ()),
    ("held_three_arms", "curve.csv", "three arms, 2 mm, rim held", |_| ()),
    ("four_arms", "curve.csv", "four arms, 3 mm, rim resting", |_| ()),
    ("clamp_plate", "curve.csv", "three arms, 8 mm, 1.1 kN, rim resting", |_| ()),
    ("press_plate", "curve.csv", "two arms, 12 mm, 2.7 kN, rim resting", |_| ()),
    ("plates_two_arms", "curve.csv", "two arms, 3 mm, between plates, rim resting", |_| ()),
];

/// Pressed shape of an arm in finite elements.
#[allow(dead_code)] // the example reads the curves alone
pub struct PressedShape {
    /// angles along the arm, outer root to inner root (rad)
    pub angle: Vec<f64>,
    /// height of its centre line above the flat one with half, 95 % and 99 % of the travel used (mm)
    pub height: [Vec<f64>; 3],
}

/// Shares of the travel at which pressed shapes are known.
#[allow(dead_code)] // the example reads the curves alone
pub const SHAPE_SHARES: [f64; 3] = [0.5, 0.95, 0.99];

/// The pressed shape that goes with the curve in `file`; none where it was not kept.
#[allow(dead_code)] // the example reads the curves alone
pub fn pressed_shape(kind: &str, name: &str, file: &str) -> Option<PressedShape> {
    let text = std::fs::read_to_string(case(kind, name).join(file.replace("curve", "heights"))).ok()?;
    let rows: Vec<Vec<f64>> = text
        .lines()
        .skip(1)
        .map(|line| line.split(',').map(|cell| cell.parse().unwrap()).collect())
        .collect();
    let column = |k: usize| rows.iter().map(|row| row[k]).collect::<Vec<f64>>();
    let angle = column(0).into_iter().map(f64::to_radians).collect();
    Some(PressedShape { angle, height: [column(2), column(3), column(4)] })
}

/// One row of the table of linear rates: the disc, its rate with rings bonded and with the rim resting (N/mm).
pub struct FlatDisc {
    pub spring: Spring,
    pub bonded: f64,
    pub resting: Option<f64>,
}

/// The table of linear rates.
pub fn flat_discs() -> Vec<FlatDisc> {
    let text = std::fs::read_to_string(case("discs", "flat_disc_rates.csv")).unwrap();
    text.lines()
        .skip(1)
        .map(|line| {
            let cells: Vec<Option<f64>> = line.split(',').map(|cell| cell.parse().ok()).collect();
            let value = |k: usize| cells[k].unwrap();
            let (outer, inner) = (value(2), value(3));
            let toml = format!(
                "[sheet]\nthickness = {}\nyoungs_modulus = {}\nshear_modulus = {}\n[disc]\narms = {}\nslot = {}\n\
                 arm_outer_diameter = {}\narm_inner_diameter = {}\n[arm]\nradius = [{}, {}]\nwidth = [{}, {}]\n\
                 [former]\nfree_height = 1.0\n",
                value(5),
                value(8),
                value(8) / 2.0 / (1.0 + value(9)),
                value(1),
                value(4),
                2.0 * outer,
                2.0 * inner,
                inner,
                outer,
                value(7),
                value(6)
            );
            let file = SpringFile::parse(&toml, "disc").unwrap();
            FlatDisc { spring: Spring::from_file(&file, None).unwrap(), bonded: value(10), resting: cells[11] }
        })
        .collect()
}
