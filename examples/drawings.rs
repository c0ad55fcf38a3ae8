//! Writes many drawings of many springs, with what should be measured on them, into a folder:
//! `cargo run --release --example drawings -- FOLDER [COUNT]`.
//!
//! `expected.json` beside the drawings holds numbers that come from the layout, not from the drawing.

use std::f64::consts::PI;
use std::path::Path;
use std::{env, error, fs};

use flatspire::export::{DrawingNotes, dxf_marked, dxf_nest, dxf_sheet, dxf_tool_path, svg_marked};
use flatspire::layout::{ArmPath, ArmShape, FormerProfile, SlotLine, Spring};
use flatspire::outline::{CutRules, Marks, Nest, Outline, Role, SheetLayout, ToolPath, least_web};
use flatspire::spec::{Process, ProcessKind, Shop, SlotEnds, SpringFile};
use serde_json::{Value, json};

/// A plain multiplicative generator (Park & Miller 1988): the same drawings on every machine.
struct Dice(u64);

impl Dice {
    fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0 * 48_271 % 2_147_483_647;
        low + (high - low) * (self.0 as f64 / 2_147_483_647.0)
    }
}

const KINDS: [ProcessKind; 5] =
    [ProcessKind::Waterjet, ProcessKind::Laser, ProcessKind::Etch, ProcessKind::WireEdm, ProcessKind::Custom];

fn main() -> Result<(), Box<dyn error::Error>> {
    let mut arguments = env::args().skip(1);
    let folder = arguments.next().unwrap_or_else(|| "drawings".to_owned());
    let count: usize = arguments.next().map_or(Ok(300), |text| text.parse())?;
    let folder = Path::new(&folder);
    fs::create_dir_all(folder)?;
    let mut dice = Dice(20_011);
    let mut expected = Vec::new();
    while expected.len() < count {
        if let Some(entry) = drawing(expected.len(), &mut dice, folder)? {
            expected.push(entry);
        }
    }
    fs::write(folder.join("expected.json"), serde_json::to_string_pretty(&expected)?)?;
    Ok(())
}

/// One drawing, unless the dice gave a spring that cannot be cut.
fn drawing(number: usize, dice: &mut Dice, folder: &Path) -> Result<Option<Value>, Box<dyn error::Error>> {
    let kind = KINDS[number % KINDS.len()];
    let arms = 1 + number / KINDS.len() % 6;
    let thickness = if kind == ProcessKind::Etch { dice.between(0.1, 0.5) } else { dice.between(0.5, 2.0) };
    let ends = if number.is_multiple_of(2) { SlotEnds::Round } else { SlotEnds::Keyhole };
    let mut process = Process { kind: Some(kind), ends: Some(ends), ..Process::default() };
    if kind == ProcessKind::Custom {
        process.kerf = Some(dice.between(0.1, 0.6));
        process.slot = process.kerf;
    }
    let rules = CutRules::of(&process, thickness);
    let on_line = number % 7 == 3 && rules.kerf > 0.0;
    let slot = if on_line { rules.kerf } else { rules.closed_slot_min * dice.between(1.1, 1.8) };
    let least = rules.arm_min * 1.3;
    // from a taper of one to six down to its opposite, straight or domed
    let (first, last) = (least * dice.between(1.0, 4.0), least * dice.between(1.0, 6.0));
    let middle = 0.5 * (first + last) * dice.between(0.8, 1.3);
    let inner = (1.5 * first + slot + 2.0 * rules.keyhole_diameter(slot)) * dice.between(1.0, 1.6);
    let turns = dice.between(1.3, 3.5) / arms as f64 + 0.3;
    let outer = inner + turns * arms as f64 * (middle + slot);
    let file = format!(
        "[sheet]\nthickness = {thickness}\nyoungs_modulus = 206000\nshear_modulus = 79300\n[disc]\n\
         arm_outer_diameter = {}\narm_inner_diameter = {}\nouter_diameter = {}\nbore_diameter = {}\narms = {arms}\n\
         slot = {slot}\n[arm]\nradius = [{inner}, {}, {outer}]\nwidth = [{first}, {middle}, {last}]\n[former]\n\
         free_height = 5\n",
        2.0 * outer,
        2.0 * inner,
        2.0 * (outer + slot + 2.0 * last + rules.keyhole_diameter(slot)),
        if number % 11 == 5 { 0.0 } else { 0.4 * inner },
        0.5 * (inner + outer),
    );
    let spring = Spring::from_file(&SpringFile::parse(&file, "generated")?, None)?;
    let ArmShape::Slots(line) = &spring.shape else { return Ok(None) };
    let Ok(arm) = ArmPath::between_slots(line, &FormerProfile::cone(5.0, 0.0), 200) else { return Ok(None) };
    let outline = Outline::of(&spring, &rules)?;
    let name = format!("disc_{number:03}_mm");
    let shop = Shop {
        sheet: Some([12.0 * outline.extents()[1][0], 9.0 * outline.extents()[1][0]]),
        margin: Some(2.0),
        part_number: number.is_multiple_of(2).then(|| format!("T-{number:03}")),
        tabs: number.is_multiple_of(3).then_some(2),
        ..Shop::default()
    };
    let marks = Marks::of(&outline, &rules, &shop);
    let notes = DrawingNotes::of(&format!("drawing {number}"), &spring, &outline, &rules, &marks)?;
    fs::write(folder.join(&name).with_extension("dxf"), dxf_marked(&outline, &marks, &notes)?)?;
    fs::write(folder.join(&name).with_extension("svg"), svg_marked(&outline, &marks))?;
    if number.is_multiple_of(9) {
        let sheet = SheetLayout::grid(&outline, 3, 2, 4.0)?;
        fs::write(folder.join(format!("sheet_{number:03}_mm.dxf")), dxf_sheet(&sheet, &notes)?)?;
    }
    if let Some(Ok(nest)) = Nest::of(&outline, &rules, &shop) {
        let sheet = notes.on_sheet(&nest, 0.0);
        fs::write(
            folder.join(format!("nest_{number:03}_mm.dxf")),
            dxf_nest(&nest, &outline, &marks, &sheet)?,
        )?;
    }
    if let Ok(path) = ToolPath::of(&outline, &rules) {
        let file = format!("KERF_COMPENSATED_{number:03}_mm.dxf");
        fs::write(folder.join(file), dxf_tool_path(&path, &DrawingNotes::none())?)?;
    }
    let Some(web) = least_web(&outline.contours, rules.kerf) else { return Ok(None) };
    let is_slot = |i: usize| matches!(outline.contours[i].role, Role::Slot | Role::CutOnLine);
    let web_between_slots = web.contour != web.other && is_slot(web.contour) && is_slot(web.other);
    let column = |value: &[f64]| value.to_vec();
    Ok(Some(json!({
        "name": name,
        "arms": arms,
        "slot": slot,
        "on_line": on_line,
        "ends": ends,
        "outer_radius": spring.disc.outer_radius,
        "bore_radius": spring.disc.bore_radius,
        "slot_angle": line.total_angle(),
        "slot_length": length(line),
        "slot_area_round": slot * length(line) + 0.25 * PI * slot * slot,
        "fit_error": outline.fit_error,
        "tabs": marks.tabs.len(),
        "engraved": !marks.engraving.is_empty(),
        "web_least": web.width,
        "web_between_slots": web_between_slots,
        "web_within_slot": web.contour == web.other && is_slot(web.contour),
        "segment_min": rules.segment_min,
        "arm_angle": column(&arm.angle),
        "arm_radius": column(&arm.radius),
        "arm_width": column(&arm.width),
    })))
}

/// Length of the slot's centre line, by Simpson's rule over its winding angle.
fn length(line: &SlotLine) -> f64 {
    let count = 20_000;
    let step = line.total_angle() / f64::from(count);
    let speed = |i: i32| {
        let angle = step * f64::from(i);
        line.radius_at(angle).hypot(line.slope_at(angle))
    };
    let inner: f64 = (1..count).map(|i| if i % 2 == 1 { 4.0 * speed(i) } else { 2.0 * speed(i) }).sum();
    step / 3.0 * (speed(0) + inner + speed(count))
}
