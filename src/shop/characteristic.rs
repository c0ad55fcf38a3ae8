//! Characteristics dimensioned on the drawing and measured at inspection: one numbered list for both sheets.

use super::sheet_units::SheetUnits;
use crate::evaluation::{Drawing, Evaluation};
use crate::layout::LayoutError;
use crate::model::ModelSettings;
use crate::numeric::{Quantity, decimal};
use crate::outline::{ArcChain, Role};
use crate::spec::{Pressing, SlotEnds};
use crate::variation::{Cause, Tolerances};

/// Length of a contour that is walked along to find a place on it: share of the whole.
const QUARTER: f64 = 0.25;
/// ± of a cut size below which a caliper is too coarse (mm): its error is about a third of that (common practice).
const FINE: f64 = 0.06;
/// Largest share of the travel at which a force is tested: the last deflection that the usual reserve of 5 % leaves. Nearer
/// to flat the force rises too steeply to be a test (common practice: 95 %).
const LAST_TEST: f64 = 1.0 / 1.05;

/// Names of the characteristics that the section shows.
pub(super) const SHEET_THICKNESS: &str = "Sheet thickness";
pub(super) const OUTSIDE: &str = "Outside Ø";
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
    /// decimal places of the limits
    pub places: usize,
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
    let units = SheetUnits::of(evaluation);
    let cut = drawing.rules.tolerance;
    let by = |coarse: &'static str, fine: &'static str| if cut < FINE { fine } else { coarse };
    let spreads = Tolerances::of(spring, &evaluation.asked.tolerance, &evaluation.asked.checks.process);
    let mut list = List { units, list: Vec::new() };
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
        OUTSIDE,
        2.0 * disc.outer_radius,
        cut,
        by("caliper, two directions", "micrometer or measuring microscope"),
        around(disc.outer_radius, 58.0),
    );
    if disc.is_bored() {
        list.both(
            "Bore Ø",
            2.0 * disc.bore_radius,
            cut,
            by("plug gauge or caliper", "pin gauge or measuring microscope"),
            around(disc.bore_radius, 150.0),
        );
    }
    let slot = drawing.outline.role(Role::Slot).next();
    let on_slot =
        slot.or_else(|| drawing.outline.role(Role::CutOnLine).next()).map(|contour| walked(&contour.chain));
    let gauge = by("pin or feeler gauge, every slot", "measuring microscope, every slot");
    list.both("Slot width", spring.slot, cut, gauge, on_slot);
    let ends = match drawing.rules.ends {
        _ if slot.is_none() => None,
        SlotEnds::Round => None,
        SlotEnds::Keyhole | SlotEnds::Bulb => Some(drawing.outline.end_diameter()),
    };
    if let Some(diameter) = ends {
        list.both("Slot end Ø, all ends", diameter, cut, by("pin gauge", "measuring microscope"), None);
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
        let named = format!("{name}, R {}", units.length(arm.radius, 1));
        let gauge = by("caliper across the arm, every arm", "measuring microscope, every arm");
        list.both(&named, arm.width, cut, gauge, Some(place));
    }
    let free = disc_height(evaluation);
    list.both(
        FREE_HEIGHT,
        free,
        spreads.of_cause(Cause::FreeHeight).plus_minus,
        "height gauge, after presetting",
        None,
    );
    let flat = &evaluation.checks.flat;
    let plates = spring.seat.pressing == Pressing::Plates;
    let closed = if plates {
        "between plates, at the closing force"
    } else {
        "highest point, hub at the closing force"
    };
    list.at_most(SOLID_HEIGHT, flat.solid_height_mm, closed);
    if flat.burr_mm > 0.0 {
        list.at_most("Burr, both faces together", flat.burr_mm, "micrometer beside and on the edge");
    }
    let forces = test_forces(evaluation);
    // a hundredth of a millimetre is too coarse for a foil
    let fine = if flat.travel_mm < 3.0 { 3 } else { 2 };
    let at = if plates { "at height" } else { "hub at height" };
    for (i, test) in forces.iter().enumerate() {
        let [force, plus_minus] =
            [test.force, test.plus_minus].map(|newtons| newtons * units.factor(Quantity::Force));
        // one place more than the force is said with, so that a small tolerance is not rounded away
        let places = 1 + force_places(force);
        let [force, plus_minus] = [rounded(force, places), rounded(plus_minus, places)];
        let unit = units.unit(Quantity::Force);
        list.push(
            format!("Force F{}, {at} {}", i + 1, units.with_unit(test.height, fine)),
            format!("{} ± {} {unit}", decimal(force, places), decimal(plus_minus, places)),
            [Some(force - plus_minus), Some(force + plus_minus)],
            (unit, places),
            format!("load tester, {} from free, loading", units.with_unit(test.deflection, fine)),
            None,
        );
    }
    Ok(list.list)
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

/// Whether the spring is deflected where the curve asked for begins.
pub(super) fn preloaded(evaluation: &Evaluation) -> bool {
    evaluation.asked.target.is_some() && evaluation.asked.installed() > 0.0
}

/// Two test forces: at rest where the spring is installed with a preload, else in the middle, and at the end of what was
/// asked, at most [`LAST_TEST`] of the travel; half and 90 % of the travel where nothing was asked.
pub(super) fn test_forces(evaluation: &Evaluation) -> Vec<TestForce> {
    let travel = evaluation.checks.flat.travel_mm;
    let [start, end] = evaluation.asked.checks.asked.unwrap_or([0.1 * travel, 0.9 * travel]);
    let end = end.min(LAST_TEST * travel);
    let first = if preloaded(evaluation) { start.min(end) } else { 0.5 * (start + end) };
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
    [first, end]
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

/// The characteristics so far.
struct List {
    units: SheetUnits,
    list: Vec<Characteristic>,
}

impl List {
    fn push(
        &mut self,
        name: String,
        asked: String,
        [low, high]: [Option<f64>; 2],
        (unit, places): (&'static str, usize),
        gauge: String,
        place: Option<[f64; 2]>,
    ) {
        let number = self.list.len() + 1;
        self.list.push(Characteristic { number, name, asked, low, high, unit, places, gauge, place });
    }

    /// A size (mm) with a tolerance; the limits are those of the numbers as written, so that both sheets agree.
    fn both(&mut self, name: &str, value: f64, plus_minus: f64, gauge: &str, place: Option<[f64; 2]>) {
        let places = self.units.places(places_of(plus_minus));
        let factor = self.units.factor(Quantity::Length);
        let [value, plus_minus] = [rounded(value * factor, places), rounded(plus_minus * factor, places)];
        let asked = format!("{} ± {}", decimal(value, places), decimal(plus_minus, places));
        let limits = [Some(value - plus_minus), Some(value + plus_minus)];
        let unit = self.units.unit(Quantity::Length);
        self.push(name.to_owned(), asked, limits, (unit, places), gauge.to_owned(), place);
    }

    /// A size (mm) of which only the largest counts.
    fn at_most(&mut self, name: &str, value: f64, gauge: &str) {
        let places = self.units.places(2);
        let unit = ten_to(places);
        // rounded up, so that the value itself is never refused
        let value = (value * self.units.factor(Quantity::Length) * unit - 1e-9).ceil() / unit;
        self.push(
            name.to_owned(),
            format!("{} max.", decimal(value, places)),
            [None, Some(value)],
            (self.units.unit(Quantity::Length), places),
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
    let unit = ten_to(places);
    (value * unit).round() / unit
}

fn ten_to(places: usize) -> f64 {
    (0..places).map(|_| 10.0).product()
}
