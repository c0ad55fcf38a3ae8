//! Slot-end stress against 3-D finite elements: `tests/data/slot_ends`.

use std::collections::BTreeMap;
use std::path::PathBuf;

use flatspire::checks::{Root, RootLoads, SlotEnd, root_stress};
use flatspire::layout::Spring;
use flatspire::model::contact::Plates;
use flatspire::model::equilibrium::Equilibrium;
use flatspire::model::loose_rim::RimSupport;
use flatspire::model::stress::SectionLoads;
use flatspire::model::{Model, ModelSettings};
use flatspire::spec::{Process, SlotEnds, SpringFile};

use crate::reference::FINITE_ELEMENTS;
use crate::validity::{OutsideCheck, hold};

/// One slot end of one solid model.
struct Row {
    case: String,
    geometry: String,
    root: Root,
    kind: String,
    ends: SlotEnds,
    slot: f64,
    thickness: f64,
    width: f64,
    diameter: f64,
    /// deflection over travel, of contact rows
    share: Option<f64>,
    /// loads at the root by the solid model, where the row has them
    loads: Option<RootLoads>,
    /// largest tangential stress at the round (MPa)
    peak: f64,
}

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/data/slot_ends")
}

fn rows() -> Vec<Row> {
    let text = std::fs::read_to_string(folder().join("rows.csv")).unwrap();
    let mut lines = text.lines();
    let header: Vec<&str> = lines.next().unwrap().split(',').collect();
    lines
        .map(|line| {
            // one column holds commas in quotes in none of these rows
            let cells: Vec<&str> = line.split(',').collect();
            assert_eq!(cells.len(), header.len(), "{line}");
            let cell = |name: &str| cells[header.iter().position(|column| *column == name).unwrap()];
            let number = |name: &str| cell(name).parse::<f64>().ok();
            let loads = number("T_nmm").map(|twist| RootLoads {
                twist,
                bending: number("Mb_nmm").unwrap(),
                shear: number("V_n").unwrap(),
            });
            Row {
                case: cell("case").to_owned(),
                geometry: cell("geometry").to_owned(),
                root: if cell("end") == "rim" { Root::Rim } else { Root::Hub },
                kind: cell("kind").to_owned(),
                ends: match cell("ends") {
                    "round" => SlotEnds::Round,
                    "keyhole" => SlotEnds::Keyhole,
                    _ => SlotEnds::Bulb,
                },
                slot: number("slot_mm").unwrap(),
                thickness: number("t_mm").unwrap(),
                width: number("w_root_normal_mm").unwrap(),
                diameter: number("end_diameter_mm").unwrap(),
                share: number("share"),
                loads,
                peak: number("fe_peak_mpa").unwrap(),
            }
        })
        .collect()
}

fn model(geometry: &str) -> (Spring, Model) {
    let text = std::fs::read_to_string(folder().join(format!("{geometry}.toml"))).unwrap();
    let spring = Spring::from_file(&SpringFile::parse(&text, geometry).unwrap(), None).unwrap();
    let model = Model::of(&spring, &ModelSettings::default()).unwrap();
    (spring, model)
}

/// Loads at both roots of the flat disc whose hub is pushed by 1 mm, its rim on a ring support, its arms touching nothing.
fn linear_loads(spring: &Spring) -> [RootLoads; 2] {
    let mut settings = ModelSettings::default();
    settings.roots.support = RimSupport::Round;
    let model = &Model::of(spring, &settings).unwrap();
    let chain = &model.chain;
    let plates = Plates::new(chain, false);
    let mut free = Equilibrium::new(chain, &plates, None, None);
    let slope = free.untouched(None).unwrap().slope.to_vec();
    let last = chain.pieces.len() - 1;
    let forces = |piece: usize| {
        let node = chain.first + piece;
        chain.elements[node].forces(&slope[node], &slope[node + 1])
    };
    [
        RootLoads::of_loads(Root::Rim, &SectionLoads::carried(&chain.sections[0], &-forces(0)[0])),
        RootLoads::of_loads(Root::Hub, &SectionLoads::carried(&chain.sections[last + 1], &forces(last)[1])),
    ]
}

/// Stress by the program over stress by the solid model, with case and root, for each group of rows.
fn ratios() -> BTreeMap<&'static str, Vec<(String, f64)>> {
    let mut springs = BTreeMap::new();
    let mut groups: BTreeMap<&'static str, Vec<(String, f64)>> = BTreeMap::new();
    for row in rows() {
        let (spring, model) = springs.entry(row.geometry.clone()).or_insert_with(|| model(&row.geometry));
        let end = usize::from(row.root == Root::Hub);
        let free = SlotEnd::free(row.root, row.width, row.thickness, row.ends, row.slot, row.diameter);
        let (group, stress) = match (row.kind.as_str(), row.ends) {
            ("contact", _) => {
                let ends = SlotEnd::of(spring, &Process::default(), model).unwrap();
                let at = row.share.unwrap() * model.travel();
                let state = &model.states(&[0.5 * at, at]).unwrap()[1];
                let group = if end == 0 { "rim end in contact" } else { "hub end in contact" };
                (group, root_stress(&ends, model, state)[end])
            }
            ("linear_propped", _) => ("loads of the solid model", free.stress(&row.loads.unwrap())),
            (_, SlotEnds::Round) => ("round", free.stress(&linear_loads(spring)[end])),
            (_, SlotEnds::Keyhole) => ("keyhole", free.stress(&linear_loads(spring)[end])),
            (_, SlotEnds::Bulb) => ("bulb", free.stress(&linear_loads(spring)[end])),
            (kind, ends) => panic!("unknown row: {kind}, {ends:?}"),
        };
        let name = format!("{} {} {}", row.case, row.root.name(), row.share.unwrap_or(0.0));
        groups.entry(group).or_default().push((name, stress / row.peak));
    }
    groups
}

fn rms_percent(ratios: &[(String, f64)]) -> f64 {
    let squares: f64 = ratios.iter().map(|(_, ratio)| ratio.ln().powi(2)).sum();
    100.0 * (squares / ratios.len() as f64).sqrt()
}

/// Slot ends of 28 flat discs and seven pressed springs.
pub fn outside_checks() -> Vec<OutsideCheck> {
    let groups = ratios();
    [
        ("round", "round slot ends, flat discs, nothing touching (rms)", 5.0),
        ("loads of the solid model", "round slot ends, arms propped near the root, its own loads (rms)", 7.0),
        ("keyhole", "keyhole slot ends, flat discs (rms)", 4.5),
        ("bulb", "bulb slot ends, flat discs (rms)", 9.0),
        ("hub end in contact", "hub slot ends of pressed springs, 25 to 97 % of travel (rms)", 8.0),
        (
            "rim end in contact",
            "rim slot ends of pressed springs on a base, 25 to 97 % of travel (rms)",
            15.0,
        ),
    ]
    .into_iter()
    .map(|(group, what, allowed)| OutsideCheck {
        what: format!("stress at {what}"),
        source: FINITE_ELEMENTS,
        allowed,
        measured: rms_percent(&groups[group]),
    })
    .collect()
}

#[test]
fn slot_ends_agree_with_finite_elements() {
    let groups = ratios();
    for (group, ratios) in &groups {
        let mut sorted = ratios.clone();
        sorted.sort_by(|a, b| a.1.total_cmp(&b.1));
        println!("{group}: n {}, rms {:.1} %", ratios.len(), rms_percent(ratios));
        println!("  lowest {:?}", &sorted[..3.min(sorted.len())]);
        println!("  highest {:?}", &sorted[sorted.len().saturating_sub(3)..]);
    }
    hold(&outside_checks());
    // one in thirteen is more than a tenth too low, none more than a fifth: rim ends early in the travel or on a former eased
    // over twelve widths, and the hub end of a spring whose former is not eased, with 3 % of the travel left
    let all: Vec<&(String, f64)> = groups.values().flatten().collect();
    let low: Vec<_> = all.iter().filter(|(_, ratio)| *ratio < 0.895).collect();
    assert!(all.len() > 120 && low.len() <= 10, "{low:?}");
    assert!(low.iter().all(|(_, ratio)| *ratio > 0.8), "{low:?}");
}
