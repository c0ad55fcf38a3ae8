//! Legal input drawn at random: spring files, briefs with their curves, assemblies. The same ones for the same seed.

use flatspire::layout::{ArmShape, Spring};
use flatspire::model::{Model, ModelSettings};
use flatspire::spec::{
    Duty, Envelope, Fit, Process, ProcessKind, Sheet, SlotEnds, SpringFile, Target, Tolerance,
};

use super::super::random_spring::{Draw, random_spring};

/// Steepest arm of a random spring: twice what the search takes.
const STEEPEST: f64 = 0.3;
/// Sheets of the stock, one of each kind of alloy and one without a strength.
const SHEETS: [&str; 8] = [
    "1.4310+C1300",
    "1.4310+C1700",
    "1.4568+CH900",
    "C75S+QT",
    "51CrV4+QT",
    "C17200+TH02",
    "CuSn8+hard",
    "Ti-6Al-4V+annealed",
];

/// Files of a case by their names.
pub type Files = Vec<(String, String)>;

/// A spring file, with its stations beside it where the arm is given by stations.
pub fn spring(case: u64) -> Files {
    let mut draw = Draw(0x5f1a_7000 + 104_729 * case);
    loop {
        let spring = random_spring(draw.bits(), STEEPEST);
        let slots = matches!(spring.shape, ArmShape::Slots(_));
        // stations are the rarer way to give an arm
        if !slots && !draw.chance(6) {
            continue;
        }
        if let Some(file) = described(&mut draw, &spring) {
            let mut files = vec![("spring.toml".to_owned(), file.to_toml())];
            if let ArmShape::Stations(stations) = &spring.shape {
                let mut table = "angle_deg,radius_mm,width_mm,free_height_mm\n".to_owned();
                for at in stations {
                    let angle = at.angle.to_degrees();
                    table.push_str(&format!("{angle},{},{},{}\n", at.radius, at.width, at.height));
                }
                files.push(("stations.csv".to_owned(), table));
            }
            return files;
        }
    }
}

/// A random spring as a file, with some of the sections that only its user knows; `None` where it has no curve.
fn described(draw: &mut Draw, spring: &Spring) -> Option<SpringFile> {
    let mut file = spring.to_file();
    if !draw.chance(3) {
        let name = SHEETS[draw.one_of(SHEETS.len())].to_owned();
        file.sheet = Sheet { material: Some(name), thickness: file.sheet.thickness, ..Sheet::default() };
    }
    file.process = draw.chance(2).then(|| process(draw));
    let model = Model::of(spring, &ModelSettings::default()).ok()?;
    let travel = model.travel();
    let installed = if draw.chance(4) { draw.between(0.02, 0.3) * travel } else { 0.0 };
    if draw.chance(2) {
        let end = draw.between(0.6, 0.95) * travel;
        file.duty = Some(Duty {
            cycles: if draw.chance(2) { draw.scale(1e3, 1e7).round() } else { 0.0 },
            stroke_start: Some(draw.between(0.0, 0.5) * travel),
            stroke_end: Some(end),
            installed: (installed > 0.0).then_some(installed),
            carried_mass: draw.chance(3).then(|| draw.scale(0.01, 10.0)),
            temperature: draw.chance(3).then(|| draw.between(-20.0, 200.0)),
            hours: draw.chance(3).then(|| draw.scale(1.0, 1e5)),
            ..Duty::default()
        });
    }
    if draw.chance(2) {
        file.fit = Some(Fit {
            tolerance_percent: Some(draw.scale(0.3, 20.0)),
            reserve: draw.chance(3).then(|| draw.between(0.0, 0.2)),
            good_parts_min: draw.chance(4).then(|| draw.between(0.0, 100.0)),
        });
    }
    if draw.chance(3) {
        file.envelope = Some(Envelope {
            solid_height_max: Some(draw.scale(0.5, 5.0) * file.sheet.thickness),
            ..Envelope::default()
        });
    }
    if draw.chance(3) {
        file.tolerance = Some(Tolerance {
            kerf: Some(draw.scale(0.005, 0.2)),
            free_height: Some(draw.scale(0.005, 0.1) * travel),
            modulus_percent: Some(draw.between(0.0, 6.0)),
            ..Tolerance::default()
        });
    }
    let installed = file.duty.as_ref().and_then(|duty| duty.installed).unwrap_or(0.0);
    if draw.chance(2) {
        // near its own curve, or well off it
        let off = draw.scale(0.8, 1.25);
        let end = draw.between(0.5, 0.95) * (travel - installed);
        let deflection: Vec<f64> = (0..=12).map(|k| end * f64::from(k) / 12.0).collect();
        let from_free: Vec<f64> = deflection.iter().map(|x| x + installed).collect();
        let force = model.response(&from_free).ok()?.force.iter().map(|f| (off * f).max(0.0)).collect();
        file.target = Some(Target { deflection: Some(deflection), force: Some(force), ..Target::default() });
    }
    file.check("spring.toml").ok()?;
    Some(file)
}

fn process(draw: &mut Draw) -> Process {
    let kinds = [ProcessKind::Waterjet, ProcessKind::Laser, ProcessKind::Etch, ProcessKind::WireEdm];
    Process {
        kind: Some(kinds[draw.one_of(kinds.len())]),
        ends: draw.chance(2).then(|| [SlotEnds::Round, SlotEnds::Keyhole, SlotEnds::Bulb][draw.one_of(3)]),
        burr: draw.chance(4).then(|| draw.scale(0.005, 0.2)),
        edge_slope: draw.chance(4).then(|| draw.between(-0.1, 0.1)),
        ..Process::default()
    }
}

/// A wanted curve and a brief.
pub fn brief(case: u64) -> Files {
    let mut draw = Draw(0xb41e_f000 + 15_485_863 * case);
    let travel = draw.scale(0.3, 20.0);
    let top = draw.scale(0.05, 500.0);
    // soft at first and firm at the end, straight, or what no single disc follows
    let share = if draw.chance(6) { draw.between(1.1, 1.6) } else { draw.between(0.3, 1.0) };
    let points = 3 + draw.one_of(18);
    let mut curve = "deflection_mm,force_n\n".to_owned();
    for k in 0..points {
        let s = k as f64 / (points - 1) as f64;
        let force = top * (share * s + (1.0 - share) * s * s);
        curve.push_str(&format!("{},{}\n", travel * s, force.max(0.0)));
    }
    // the search itself is tried elsewhere: few sheets and arms keep this short
    let mut text = String::from("[sheet]\n");
    if !draw.chance(3) {
        text.push_str(&format!("material = \"{}\"\n", SHEETS[draw.one_of(SHEETS.len())]));
    }
    text.push_str(&format!("thickness = {:.2}\n", draw.scale(0.2, 2.0)));
    text.push_str(&format!("[arms]\ncount = {}\n", 1 + draw.one_of(6)));
    if draw.chance(2) {
        text.push_str(&format!("[envelope]\nouter_diameter_max = {:.1}\n", draw.scale(30.0, 200.0)));
        if draw.chance(2) {
            text.push_str(&format!("bore_diameter_min = {:.1}\n", draw.between(2.0, 12.0)));
        }
        if draw.chance(3) {
            text.push_str(&format!("free_height_max = {:.2}\n", draw.between(0.9, 3.0) * travel));
        }
    }
    if draw.chance(2) {
        let kind = ["waterjet", "laser", "etch", "wire-edm"][draw.one_of(4)];
        let ends = ["round", "keyhole", "bulb"][draw.one_of(3)];
        text.push_str(&format!("[process]\nkind = \"{kind}\"\nends = \"{ends}\"\n"));
    }
    if draw.chance(2) {
        let pressing = ["hub", "plates"][draw.one_of(2)];
        let hub = ["guided", "tilting"][draw.one_of(2)];
        let rim = ["resting", "held"][draw.one_of(2)];
        text.push_str(&format!("[seat]\npressing = \"{pressing}\"\nhub = \"{hub}\"\nrim = \"{rim}\"\n"));
    }
    if draw.chance(2) {
        text.push_str(&format!("[duty]\ncycles = {:.0}\n", draw.scale(1.0, 1e7)));
        if draw.chance(3) {
            text.push_str(&format!("temperature = {:.0}\nhours = 1000\n", draw.between(0.0, 250.0)));
        }
        if draw.chance(4) {
            text.push_str(&format!("installed = {:.3}\n", draw.between(0.0, 0.5) * travel));
        }
    }
    if draw.chance(2) {
        text.push_str(&format!("[fit]\ntolerance_percent = {:.2}\n", draw.scale(0.5, 10.0)));
        if draw.chance(3) {
            text.push_str(&format!("good_parts_min = {:.0}\n", draw.between(0.0, 100.0)));
        }
    }
    if !draw.chance(5) {
        text.push_str("[assembly]\nkind = \"single\"\n");
    }
    vec![("curve.csv".to_owned(), curve), ("brief.toml".to_owned(), text)]
}

/// Kinds of assemblies.
pub const KINDS: [&str; 4] = ["series", "parallel", "opposed", "opposed-series"];

/// An assembly of two members, three with a third disc.
pub fn assembly(case: u64) -> Files {
    let mut draw = Draw(0xa55e_3000 + 32_452_843 * case);
    let kind = KINDS[usize::try_from(case % 4).unwrap_or(0)];
    let mut text = format!("format = 1\nkind = \"{kind}\"\nheight = 20\n");
    let mut files = Files::new();
    let third = kind == "opposed-series";
    for (folder, side) in
        [("disc-a", "a"), ("disc-b", "b"), ("disc-c", "c")].into_iter().take(if third { 3 } else { 2 })
    {
        let (spring, travel) = loop {
            let spring = random_spring(draw.bits(), STEEPEST);
            if !matches!(spring.shape, ArmShape::Slots(_)) {
                continue;
            }
            let Some(file) = described(&mut draw, &spring) else { continue };
            let Ok(spring) = Spring::from_file(&file, None) else { continue };
            let Ok(model) = Model::of(&spring, &ModelSettings::default()) else { continue };
            // where the force falls an assembly takes it as level, a single disc snaps through
            let shares: Vec<f64> = (1..=40).map(|k| 0.025 * f64::from(k) * model.travel()).collect();
            if !model.response(&shares).is_ok_and(|response| response.first_fall().is_none()) {
                continue;
            }
            break (file.to_toml(), model.travel());
        };
        files.push((format!("{folder}/spring.toml"), spring));
        text.push_str(&format!("[[member]]\nfolder = \"{folder}\"\n"));
        let count = 1 + draw.one_of(3);
        if count > 1 && !third {
            let stacked = ["series", "parallel"][draw.one_of(2)];
            text.push_str(&format!("count = {count}\nstacked = \"{stacked}\"\n"));
        }
        if third && side == "c" {
            // plate, shoulder and the way of the hub
            text.push_str(&format!("side = \"c\"\nspacer = {:.2}\n", draw.between(30.0, 60.0)));
            continue;
        }
        if third || kind == "opposed" {
            let installed = draw.between(0.1, 0.8) * travel;
            text.push_str(&format!("side = \"{side}\"\ninstalled = {installed}\n"));
        }
        text.push_str(&format!("spacer = {:.2}\n", draw.between(0.0, 5.0)));
    }
    files.push(("assembly.toml".to_owned(), text));
    files
}
