//! Cost of cutting one disc: length, pierces, time, sheet.

use super::{CutRules, Outline, Role};

/// Corners, accelerations and the like, on top of length over speed (common practice, no source).
const ALLOWANCE: f64 = 1.15;

/// Shops differ: the time is given from this share below to this factor above the formula's.
const SPREAD: f64 = 2.0;

/// Cost of cutting one disc.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct CutSummary {
    /// length of all cuts (mm)
    pub cut_length_mm: f64,
    /// times the sheet is pierced
    pub pierces: usize,
    /// machine time, from and to (s); none where it does not follow the length, or the speed is not known
    pub machine_seconds: Option<[f64; 2]>,
    /// area of the finished disc (mm²)
    pub part_area_mm2: f64,
    /// side of the square of sheet it is cut from, the least web round it included (mm)
    pub square_mm: f64,
    /// share of that square that becomes part
    pub sheet_use: f64,
}

impl CutSummary {
    /// `T = 1.15 ΣL/v + pierces · (t_pierce + t_move)`, within a factor of two either way.
    pub fn of(outline: &Outline, rules: &CutRules) -> Self {
        let cut_length_mm = outline.contours.iter().map(|contour| contour.chain.length()).sum();
        let pierces = if rules.pierce_hole > 0.0 { outline.contours.len() } else { 0 };
        let machine_seconds = rules.speed.filter(|speed| *speed > 0.0).map(|speed| {
            let cutting = 60.0 * ALLOWANCE * cut_length_mm / speed;
            let time = cutting + pierces as f64 * (rules.pierce_seconds + rules.move_seconds);
            [time / SPREAD, time * SPREAD]
        });
        let part_area_mm2 = outline
            .contours
            .iter()
            .map(|contour| match contour.role {
                Role::Outside => contour.chain.area().abs(),
                // a cut on its line takes a strip and half a disc at either end
                Role::CutOnLine => {
                    let width = outline.slot;
                    -(width * contour.chain.length() + 0.25 * std::f64::consts::PI * width * width)
                }
                Role::Bore | Role::Slot => -contour.chain.area().abs(),
                Role::Path | Role::Entry => 0.0,
            })
            .sum();
        let [low, high] = outline.extents();
        let square_mm = (high[0] - low[0]).max(high[1] - low[1]) + rules.arm_min + 2.0 * rules.kerf;
        Self {
            cut_length_mm,
            pierces,
            machine_seconds,
            part_area_mm2,
            square_mm,
            sheet_use: part_area_mm2 / (square_mm * square_mm),
        }
    }
}
