//! Characteristics dimensioned on the drawing and measured at inspection: one numbered list for both sheets.

use crate::evaluation::{Drawing, Evaluation};
use crate::layout::LayoutError;
use crate::model::ModelSettings;
use crate::numeric::decimal;
use crate::outline::{ArcChain, Role};
use crate::spec::SlotEnds;
use crate::variation::{Cause, Tolerances};

/// Length of a contour that is walked along to find a place on it: share of the whole.
const QUARTER: f64 = 0.25;

/// Names of the characteristics that the section shows.
pub(super) const SHEET_THICKNESS: &str = "Sheet thickness";
pub(super) const FREE_HEIGHT: &str = "Free height, overall";
pub(super) const SOLID_HEIGHT: &str = "Solid height";

/// One characteristic.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Characteristic {
    /// number in its ring on the drawing, from 1
    pub number: usize,
    /// in words
    pub name: String,
    /// value and tolerance as the drawing says them
    pub asked: String,
    /// smallest value that is accepted; none where only the largest counts
    pub low: Option<f64>,
    /// largest value that is accepted
    pub high: Option<f64>,
    /// unit
    pub unit: &'static str,
    /// how it is measured
    pub gauge: String,
    /// place on the blank (mm from the axis); none where it is not seen there
    pub place: Option<[f64; 2]>,
}

/// A test force of the data block.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct TestForce {
    /// deflection from the free height (mm)
    pub deflection: f64,
    /// overall height there (mm)
    pub height: f64,
    /// force (N)
    pub force: f64,
    /// ± (N)
    pub plus_minus: f64,
}

/// Width of the arm normal to its centre line at one place.
struct ArmWidth {
    width: f64,
    radius: f64,
    angle: f64,
}

/// All characteristics of a spring with a drawing, in the order of inspection.
pub(super) fn characteristics(
    evaluation: &Evaluation,
    drawing: &Drawing,
) -> Result<Vec<Characteristic>, LayoutError> {
    let spring = &evaluation.spring;
    let cut = drawing.rules.tolerance;
    let spreads = Tolerances::of(spring, &evaluation.asked.tolerance, &evaluation.asked.checks.process);
    let mut list = List(Vec::new());
    let sheet = spring.sheet.thickness;
    list.both(
        SHEET_THICKNESS,
        sheet,
        spreads.of_cause(Cause::Thickness).plus_minus,
        "micrometer, three places",
        None,
    );
    let disc = &spring.disc;
    let around = |radius: f64, degrees: f64| {
        let (sin, cos) = f64::to_radians(degrees).sin_cos();
        Some([radius * cos, radius * sin])
    };
    list.both(
        "Outside Ø",
        2.0 * disc.outer_radius,
        cut,
        "caliper, two directions",
        around(disc.outer_radius, 58.0),
    );
    if disc.is_bored() {
        list.both(
            "Bore Ø",
            2.0 * disc.bore_radius,
            cut,
            "plug gauge or caliper",
            around(disc.bore_radius, 150.0),
        );
    }
    let slot = drawing.outline.role(Role::Slot).next();
    let on_slot =
        slot.or_else(|| drawing.outline.role(Role::CutOnLine).next()).map(|contour| walked(&contour.chain));
    list.both("Slot width", spring.slot, cut, "pin or feeler gauge, every slot", on_slot);
    let ends = match drawing.rules.ends {
        _ if slot.is_none() => None,
        SlotEnds::Round => None,
        SlotEnds::Keyhole | SlotEnds::Bulb => Some(drawing.outline.end_diameter()),
    };
    if let Some(diameter) = ends {
        list.both("Slot end Ø, all ends", diameter, cut, "pin", None);
    }
    let widths = arm_widths(evaluation)?;
    let [outer, narrowest, inner] = &widths;
    // a narrowest place within a micrometre of a root's width is that root
    let same = |root: &ArmWidth| (root.width - narrowest.width).abs() < 1e-3;
    for (name, arm) in [
        (if same(outer) { "Arm at outer root, narrowest" } else { "Arm at outer root" }, outer),
        ("Arm where narrowest", narrowest),
        (if same(inner) { "Arm at inner root, narrowest" } else { "Arm at inner root" }, inner),
    ] {
        if std::ptr::eq(arm, narrowest) && (same(outer) || same(inner)) {
            continue;
        }
        let place = [arm.radius * arm.angle.cos(), arm.radius * arm.angle.sin()];
        let named = format!("{name}, R {}", decimal(arm.radius, 1));
        list.both(&named, arm.width, cut, "caliper across the arm, at mid-thickness, every arm", Some(place));
    }
    let free = disc_height(evaluation);
    list.both(
        FREE_HEIGHT,
        free,
        spreads.of_cause(Cause::FreeHeight).plus_minus,
        "height gauge on a surface plate, after presetting",
        None,
    );
    let flat = &evaluation.checks.flat;
    list.at_most(SOLID_HEIGHT, flat.solid_height_mm, "mm", "between plates, at the closing force");
    list.at_most("Burr, both faces together", flat.burr_mm, "mm", "micrometer beside and on the edge");
    let forces = test_forces(evaluation);
    // a hundredth of a millimetre is too coarse for a foil
    let fine = if flat.travel_mm < 3.0 { 3 } else { 2 };
    for (i, test) in forces.iter().enumerate() {
        // one place more than the force is said with, so that a small tolerance is not rounded away
        let places = 1 + force_places(test.force);
        let [force, plus_minus] = [rounded(test.force, places), rounded(test.plus_minus, places)];
        list.push(
            format!("Force F{} at height {} mm", i + 1, decimal(test.height, fine)),
            format!("{} ± {} N", decimal(force, places), decimal(plus_minus, places)),
            [Some(force - plus_minus), Some(force + plus_minus)],
            "N",
            format!(
                "load tester, deflection {} mm from free, approached from above",
                decimal(test.deflection, fine)
            ),
            None,
        );
    }
    Ok(list.0)
}

/// Overall height of the free spring (mm): the rise of the hub and one sheet.
pub(super) fn disc_height(evaluation: &Evaluation) -> f64 {
    evaluation.checks.flat.travel_mm + evaluation.spring.sheet.thickness
}

/// Decimal places with which a force is said.
pub(super) fn force_places(force: f64) -> usize {
    match force.abs() {
        f if f >= 100.0 => 0,
        f if f >= 10.0 => 1,
        f if f >= 1.0 => 2,
        f if f >= 0.1 => 3,
        f if f >= 0.01 => 4,
        _ => 5,
    }
}

/// Two test forces: in the middle and at the end of what was asked, at most 95 % of the travel to flat, beyond which
/// the force climbs too steeply to be a test (common practice); half and 90 % of the travel where nothing was asked.
pub(super) fn test_forces(evaluation: &Evaluation) -> Vec<TestForce> {
    let travel = evaluation.checks.flat.travel_mm;
    let [start, end] = evaluation.asked.checks.asked.unwrap_or([0.1 * travel, 0.9 * travel]);
    let end = end.min(0.95 * travel);
    let free = disc_height(evaluation);
    let percent = evaluation.asked.tolerance_percent();
    let (x, f): (Vec<f64>, Vec<f64>) = match &evaluation.asked.target {
        Some(target) => (
            target.deflection.iter().map(|x| x + evaluation.asked.installed()).collect(),
            target.force.clone(),
        ),
        None => evaluation.closing.states.iter().map(|state| (state.deflection, state.force)).unzip(),
    };
    let last = interpolated(&x, &f, end);
    [0.5 * (start + end), end]
        .into_iter()
        .map(|deflection| {
            let force = interpolated(&x, &f, deflection);
            // small forces have a tenth of the largest as their measure, as the fit has
            let plus_minus = 0.01 * percent * force.max(0.1 * last);
            TestForce { deflection, height: free - deflection, force, plus_minus }
        })
        .collect()
}

fn interpolated(x: &[f64], f: &[f64], at: f64) -> f64 {
    let after = x.partition_point(|x| *x < at).clamp(1, x.len().saturating_sub(1).max(1));
    match (x.get(after - 1), x.get(after)) {
        (Some(a), Some(b)) if b > a => {
            let share = ((at - a) / (b - a)).clamp(0.0, 1.0);
            f[after - 1] + share * (f[after] - f[after - 1])
        }
        _ => f.last().copied().unwrap_or(0.0),
    }
}

/// A place on a contour, away from where it begins.
fn walked(chain: &ArcChain) -> [f64; 2] {
    let mut left = QUARTER * chain.length();
    for arc in chain.arcs() {
        let length = arc.length();
        if length >= left && length > 0.0 {
            return arc.point_at(left / length);
        }
        left -= length;
    }
    chain.vertices.first().map_or([0.0, 0.0], |vertex| vertex.point)
}

/// The arm at its outer root, where it is narrowest, at its inner root.
fn arm_widths(evaluation: &Evaluation) -> Result<[ArmWidth; 3], LayoutError> {
    let arm = evaluation.spring.arm(ModelSettings::default().segments)?;
    let widths = arm.normal_widths();
    let at = |i: usize| ArmWidth { width: widths[i], radius: arm.radius[i], angle: arm.angle[i] };
    let last = arm.angle.len() - 1;
    let narrowest = (0..=last).min_by(|a, b| widths[*a].total_cmp(&widths[*b])).unwrap_or(0);
    Ok([at(0), at(narrowest), at(last)])
}

struct List(Vec<Characteristic>);

impl List {
    fn push(
        &mut self,
        name: String,
        asked: String,
        [low, high]: [Option<f64>; 2],
        unit: &'static str,
        gauge: String,
        place: Option<[f64; 2]>,
    ) {
        let number = self.0.len() + 1;
        self.0.push(Characteristic { number, name, asked, low, high, unit, gauge, place });
    }

    /// A size with a tolerance; the limits are those of the numbers as written, so that both sheets agree.
    fn both(&mut self, name: &str, value: f64, plus_minus: f64, gauge: &str, place: Option<[f64; 2]>) {
        let places = places_of(plus_minus);
        let [value, plus_minus] = [rounded(value, places), rounded(plus_minus, places)];
        let asked = format!("{} ± {}", decimal(value, places), decimal(plus_minus, places));
        let limits = [Some(value - plus_minus), Some(value + plus_minus)];
        self.push(name.to_owned(), asked, limits, "mm", gauge.to_owned(), place);
    }

    fn at_most(&mut self, name: &str, value: f64, unit: &'static str, gauge: &str) {
        // rounded up, so that the value itself is never refused
        let value = (value * 100.0 - 1e-9).ceil() / 100.0;
        self.push(
            name.to_owned(),
            format!("{} max.", decimal(value, 2)),
            [None, Some(value)],
            unit,
            gauge.to_owned(),
            None,
        );
    }
}

/// Decimal places of a length with this tolerance (mm): three where the second would hide a tenth of it.
pub(super) fn places_of(plus_minus: f64) -> usize {
    if plus_minus < 0.095 { 3 } else { 2 }
}

fn rounded(value: f64, places: usize) -> f64 {
    let unit: f64 = (0..places).map(|_| 10.0).product();
    (value * unit).round() / unit
}
