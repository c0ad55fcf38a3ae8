//! Springs with one fault each, and one without.

use super::*;
use crate::layout::{Station, read_stations};
use crate::spec::{Pressing, SpringFile};

/// A return spring of the pedal-feel rig: two tapered arms, within every limit.
const SOUND: &str = r#"
[sheet]
material = "1.4310+C1300"
thickness = 1.0
[disc]
outer_diameter = 78
arm_outer_diameter = 66
arm_inner_diameter = 24
bore_diameter = 10
arms = 2
slot = 1.4
[arm]
radius = [12, 20, 33]
width = [3.2, 4.2, 5.4]
[former]
free_height = 7.0
"#;

fn spring(text: &str) -> Spring {
    Spring::from_file(&SpringFile::parse(text, "spring.toml").unwrap(), None).unwrap()
}

fn verdicts(text: &str, options: &CheckOptions) -> Verdicts {
    Verdicts::of(&spring(text), options).unwrap()
}

fn failed(verdicts: &Verdicts, check: &str) -> String {
    let found = verdicts.failed().find(|finding| finding.check == check);
    found.unwrap_or_else(|| panic!("no failed {check}: {:#?}", verdicts.findings)).to_string()
}

#[test]
fn print_sound() {
    let v = verdicts(SOUND, &CheckOptions::default());
    println!("{:#?}", v.findings);
    println!("peak {} at {} share {} allow {:?} margin {:?}", v.stress.peak_mpa, v.stress.at_mm, v.stress.arc_share, v.stress.allowable_mpa, v.stress.margin);
    println!("slot ends {:?}", v.stress.slot_ends);
    println!("closing {} hold {} gap {} way {}", v.flat.closing_force_n, v.flat.holding_force_n, v.flat.least_gap_mm, v.flat.least_gap_on_the_way_mm);
    println!("mass {:?}", v.mass);
    let s = v.setting.unwrap();
    println!("m0 {} at {} after {} former {:?} cold {:?}", s.stress_ratio, s.arc_share, s.height_after_first_closing_mm, s.former_height_mm, s.cold_height_mm);
    println!("{:#?}", s.ways);
    println!("{:#?}", v.former.rings);
    println!("{:#?}", v.cautions);
}
#[test]
fn print_disc() {
    for name in ["triple_constant"] {
    let d = format!("{}/tests/data/discs/{name}", env!("CARGO_MANIFEST_DIR"));
    let f = SpringFile::parse(&std::fs::read_to_string(format!("{d}/spring.toml")).unwrap(), "x").unwrap();
    let st = read_stations(&std::fs::read_to_string(format!("{d}/stations.csv")).unwrap(), "x").unwrap();
    let mut s = Spring::from_file(&f, Some(st)).unwrap();
    s.disc.rim_clamp_radius = None; s.disc.hub_clamp_radius = None;
    let c = Closing::of(&s, &ModelSettings::default(), &[]).unwrap();
    for st in &c.states { let n = st.stress.len()-1;
        println!("{:.3} {:?} {:?} {:?}", st.deflection/c.travel, st.stress[0], st.stress[n], st.stress[n-3]); }
    }
    let s = spring(SOUND);
    let t = std::time::Instant::now();
    let c = Closing::of(&s, &ModelSettings::default(), &[0.0]).unwrap();
    println!("closing {:?}", t.elapsed());
    for st in &c.states { let n = st.stress.len()-1;
        println!("{:.3} {} {:?} {:?}", st.deflection/c.travel, st.force, Closing::peak(st, crate::material::StressMeasure::VonMises), st.stress[n]);}
    let t = std::time::Instant::now();
    println!("{:?}", least_gap_on_the_way(&c).unwrap());
    println!("gap {:?}", t.elapsed());
    let _ = Pressing::Hub; let _: Option<Station> = None; let _ = failed;
}
