//! A finished design and the order of ranking: every verdict yes, most good parts, the simplest arm, small.

use serde::Serialize;

use super::own_weight::{self, HEAVY};
use super::rung::{Arm, FormerShape, Rung};
use crate::curve::TargetCurve;
use crate::evaluation::{Asked, Evaluation, Extent};
use crate::layout::Spring;
use crate::model::ModelError;
use crate::variation::{self, Tolerances, good_share};

/// Points of good parts that count as equal: within the uncertainty of draws and tolerances.
pub(super) const EQUAL_POINTS: f64 = 3.0;

/// Most springs on a shortlist.
const SHORTLIST: usize = 8;

/// Preference between springs whose verdicts are all yes.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Preference {
    /// most good parts, then the simplest arm, then the smallest disc
    #[default]
    Robust,
    /// the smallest disc
    Small,
    /// the least share of the allowable stress
    LowStress,
    /// the shortest time on the machine
    QuickToCut,
}

/// One spring that answers the target.
#[derive(Debug, Clone)]
pub struct Design {
    /// the spring
    pub spring: Spring,
    /// the numbers to compare it by
    pub merits: Merits,
    /// rungs of the ladder that were tried with its sheet, arms and circles; empty where none was
    pub ladder: Vec<Rung>,
}

/// Numbers that designs are compared by.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Merits {
    /// whether every verdict asked for is yes
    pub passed: bool,
    /// verdicts that are no or not judged
    pub failing: usize,
    /// share of good parts as bought (percent)
    pub good_percent: f64,
    /// weight of the full disc over the largest force asked for; 0 where density or force is unknown
    pub own_weight_share: f64,
    /// share of good parts with thickness and modulus of the sheet known (percent)
    pub good_percent_sheet_measured: f64,
    /// shape of the arm
    pub arm: Arm,
    /// shape of the former
    pub former: FormerShape,
    /// root mean square force error over the target's own points (percent of the error base)
    pub rms_percent: f64,
    /// largest force error (percent of the error base)
    pub max_percent: f64,
    /// outside diameter (mm)
    pub outer_diameter_mm: f64,
    /// sheet thickness (mm)
    pub thickness_mm: f64,
    /// number of arms
    pub arms: usize,
    /// travel to flat (mm)
    pub free_height_mm: f64,
    /// largest von Mises stress of the arms up to 99 % of the travel (MPa)
    pub peak_stress_mpa: f64,
    /// the allowable (MPa); none where no strength is known
    pub allowable_mpa: Option<f64>,
    /// largest stress of arms, slot ends and rings over the allowable; none where no strength is known
    pub stress_use: Option<f64>,
    /// height of the highest arm point above its flat place, hub down (mm)
    pub proud_mm: f64,
    /// force with 1 % of the free height left (N)
    pub closing_force_n: f64,
    /// narrowest arm, normal to it (mm)
    pub narrowest_mm: f64,
    /// length of all cuts (mm)
    pub cut_length_mm: f64,
    /// time on the machine, the longer estimate (s); none where no speed is known
    pub cut_seconds: Option<f64>,
    /// time on the machine, the shorter estimate (s)
    pub cut_seconds_least: Option<f64>,
    /// weight (g); none without a density
    pub mass_g: Option<f64>,
    /// price of a part, from and to; none where the shop gives no rates
    pub part_price: Option<[f64; 2]>,
}

impl Design {
    /// Evaluates a spring.
    pub fn of(spring: Spring, asked: &Asked, arm: Arm) -> Result<Self, ModelError> {
        let evaluation = Evaluation::of(&spring, asked.clone().to_extent(Extent::WithoutParts))?;
        let tolerances = Tolerances::of(&spring, &asked.tolerance, &asked.checks.process);
        let wanted = variation::Asked {
            target: asked.target.as_ref(),
            installed: asked.installed(),
            tolerance_percent: asked.tolerance_percent(),
        };
        // a spring whose scatter cannot be followed has no good parts to count
        let good = good_share(&spring, &tolerances, &wanted).unwrap_or_default();
        let (checks, fit) = (&evaluation.checks, evaluation.fit.as_ref());
        let cut = evaluation.drawing.as_ref().ok().map(|drawing| drawing.cut);
        let merits = Merits {
            passed: evaluation.passed(),
            failing: evaluation.verdicts.failing().count(),
            good_percent: 100.0 * good.as_bought,
            own_weight_share: own_weight::of_spring(
                &spring,
                asked.target.as_ref().map_or(0.0, TargetCurve::max_force),
            ),
            good_percent_sheet_measured: 100.0 * good.sheet_measured,
            arm,
            former: if spring.former.is_cone() { FormerShape::Cone } else { FormerShape::Profile },
            rms_percent: fit.map_or(0.0, |fit| fit.summary.rms_percent),
            max_percent: fit.map_or(0.0, |fit| fit.summary.max_percent),
            outer_diameter_mm: 2.0 * spring.disc.outer_radius,
            thickness_mm: spring.sheet.thickness,
            arms: spring.arms,
            free_height_mm: checks.flat.travel_mm,
            peak_stress_mpa: checks.stress.peak_mpa,
            allowable_mpa: checks.stress.allowable_mpa,
            stress_use: checks.stress.worst_use().map(|(used, _)| used),
            proud_mm: checks.flat.proud_mm,
            closing_force_n: checks.flat.closing_force_n,
            narrowest_mm: evaluation.closing.arm.normal_widths().into_iter().fold(f64::INFINITY, f64::min),
            cut_length_mm: cut.map_or(0.0, |cut| cut.cut_length_mm),
            cut_seconds: cut.and_then(|cut| cut.machine_seconds).map(|[_, most]| most),
            cut_seconds_least: cut.and_then(|cut| cut.machine_seconds).map(|[least, _]| least),
            mass_g: checks.mass.mass_g,
            part_price: evaluation.drawing.as_ref().ok().and_then(|drawing| drawing.cost.part),
        };
        Ok(Self { spring, merits, ladder: Vec::new() })
    }

    /// Replaces the estimate of the shares of good parts (percent), as bought and with the sheet measured, by those of an
    /// evaluation.
    pub fn set_good_parts(&mut self, as_bought: f64, sheet_measured: f64) {
        self.merits.good_percent = as_bought;
        self.merits.good_percent_sheet_measured = sheet_measured;
        for rung in self.ladder.iter_mut().filter(|rung| rung.taken) {
            rung.good_percent = as_bought;
            rung.good_percent_sheet_measured = sheet_measured;
        }
    }
}

impl Merits {
    /// Whether a noticeable part of the force depends on the orientation of the spring.
    pub fn heavy(&self) -> bool {
        self.own_weight_share > HEAVY
    }

    /// Mean of both shares of good parts (percent), by which springs are ordered.
    pub fn good_mean(&self) -> f64 {
        0.5 * (self.good_percent + self.good_percent_sheet_measured)
    }

    /// Time on the machine, from and to (s).
    pub fn cut_seconds_range(&self) -> Option<[f64; 2]> {
        Some([self.cut_seconds_least?, self.cut_seconds?])
    }

    /// Whether the curve is met: rms error within `tolerance` (percent).
    pub fn fits(&self, tolerance: f64) -> bool {
        self.rms_percent <= tolerance
    }

    /// Whether the stress of the arms stays within the allowable; `None` without a strength.
    pub fn holds(&self) -> Option<bool> {
        self.allowable_mpa.map(|allowable| self.peak_stress_mpa <= allowable)
    }

    /// How far the design is from what was asked: error over tolerance and stress over allowable, beyond 1 each.
    fn excess(&self, tolerance: f64) -> f64 {
        (self.rms_percent / tolerance - 1.0).max(0.0) + (self.stress_use.unwrap_or(0.0) - 1.0).max(0.0)
    }

    /// Rung of the ladder; lower is simpler.
    fn simplicity(&self) -> f64 {
        (self.arm as usize + Arm::ALL.len() * self.former as usize) as f64
    }

    /// Whether this design is at least as good in good parts, diameter, stress, cutting time and simplicity, and better in
    /// one of them.
    fn dominates(&self, other: &Self) -> bool {
        let pairs = [
            (-self.good_mean(), -other.good_mean()),
            (self.outer_diameter_mm, other.outer_diameter_mm),
            (self.stress_use.unwrap_or(0.0), other.stress_use.unwrap_or(0.0)),
            (
                self.cut_seconds.unwrap_or(self.cut_length_mm),
                other.cut_seconds.unwrap_or(other.cut_length_mm),
            ),
            (self.simplicity(), other.simplicity()),
        ];
        pairs.iter().all(|(own, other)| own <= other) && pairs.iter().any(|(own, other)| own < other)
    }
}

/// Designs in the order of ranking, the best first; behind it, those dominated by another one are left out. `tolerance`
/// is the rms error that counts as met (percent).
pub(super) fn ordered(mut designs: Vec<Design>, preference: Preference, tolerance: f64) -> Vec<Design> {
    let mut order = Vec::new();
    while let Some(next) = best(&designs, preference, tolerance) {
        order.push(designs.swap_remove(next));
        // `swap_remove` changes the order of equals: the result must not depend on it
        designs.sort_by(|a, b| a.merits.outer_diameter_mm.total_cmp(&b.merits.outer_diameter_mm));
    }
    let first_passes = order.first().is_some_and(|design: &Design| design.merits.passed);
    order.truncate(SHORTLIST);
    let merits: Vec<Merits> = order.iter().map(|design| design.merits).collect();
    let mut place = 0;
    order.retain(|design| {
        place += 1;
        let beaten = merits
            .iter()
            .any(|other| other.passed >= design.merits.passed && other.dominates(&design.merits));
        place == 1 || !beaten && (design.merits.passed || !first_passes)
    });
    order
}

/// Index of the best of the designs left.
fn best(designs: &[Design], preference: Preference, tolerance: f64) -> Option<usize> {
    let fewest = designs.iter().map(|design| design.merits.failing).min()?;
    let left: Vec<(usize, &Merits)> = designs
        .iter()
        .enumerate()
        .map(|(place, design)| (place, &design.merits))
        .filter(|(_, merits)| merits.failing == fewest)
        .collect();
    let left: Vec<(usize, &Merits)> = if left.iter().any(|(_, merits)| !merits.heavy()) {
        left.into_iter().filter(|(_, merits)| !merits.heavy()).collect()
    } else {
        left
    };
    let least = |value: &dyn Fn(&Merits) -> f64| {
        left.iter().min_by(|a, b| value(a.1).total_cmp(&value(b.1))).map(|(place, _)| *place)
    };
    if fewest > 0 {
        return least(&|merits| merits.excess(tolerance));
    }
    match preference {
        Preference::Small => least(&|merits| merits.outer_diameter_mm),
        Preference::LowStress => least(&|merits| merits.stress_use.unwrap_or(0.0)),
        Preference::QuickToCut => least(&|merits| merits.cut_seconds.unwrap_or(merits.cut_length_mm)),
        Preference::Robust => {
            let most = left.iter().map(|(_, merits)| merits.good_mean()).fold(0.0, f64::max);
            let equal = left.iter().filter(|(_, merits)| merits.good_mean() >= most - EQUAL_POINTS);
            equal
                .min_by(|(_, a), (_, b)| {
                    (a.former, a.arm)
                        .cmp(&(b.former, b.arm))
                        .then(a.outer_diameter_mm.total_cmp(&b.outer_diameter_mm))
                })
                .map(|(place, _)| *place)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spec::SpringFile;

    fn spring() -> Spring {
        let text = "[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = 1.0\n[disc]\narms = 2\nslot = 1.4\narm_outer_diameter = 60\n\
                    arm_inner_diameter = 20\n[arm]\nradius = [10, 30]\nwidth = [3, 5]\n[former]\nfree_height = 4\n";
        Spring::from_file(&SpringFile::parse(text, "spring.toml").unwrap(), None).unwrap()
    }

    fn design(failing: usize, good: f64, arm: Arm, diameter: f64) -> Design {
        let merits = Merits {
            passed: failing == 0,
            failing,
            good_percent: good,
            good_percent_sheet_measured: good,
            arm,
            outer_diameter_mm: diameter,
            stress_use: Some(0.5),
            cut_seconds: Some(100.0),
            ..Merits::default()
        };
        Design { spring: spring(), merits, ladder: Vec::new() }
    }

    fn diameters(designs: Vec<Design>, preference: Preference) -> Vec<f64> {
        ordered(designs, preference, 3.0).iter().map(|design| design.merits.outer_diameter_mm).collect()
    }

    #[test]
    fn verdicts_come_before_good_parts_before_simplicity_before_size() {
        let found = diameters(
            vec![
                design(1, 99.0, Arm::Constant, 20.0),
                design(0, 60.0, Arm::Linear, 40.0),
                design(0, 70.0, Arm::Free, 80.0),
                design(0, 68.0, Arm::Linear, 90.0),
                design(0, 68.5, Arm::Linear, 85.0),
            ],
            Preference::Robust,
        );
        // within three points of 70 the linear tapers are simpler; 90 is beaten by 85, the failing one comes last or not
        assert_eq!(found, [85.0, 80.0, 40.0]);
    }

    #[test]
    fn a_preference_decides_among_those_that_pass() {
        let designs = || {
            vec![
                design(0, 70.0, Arm::Free, 80.0),
                design(0, 30.0, Arm::Free, 40.0),
                design(2, 99.0, Arm::Free, 10.0),
            ]
        };
        assert_eq!(diameters(designs(), Preference::Small), [40.0, 80.0]);
        assert_eq!(diameters(designs(), Preference::Robust)[0], 80.0);
    }
}
