//! The drawing of one spring with its findings, cut data, and the curve predicted from the written drawing.

use serde::Serialize;

use super::cost::Cost;
use crate::export::{DrawingNotes, ExportError, dxf_marked};
use crate::layout::{LayoutError, Spring};
use crate::model::{Model, ModelError, ModelSettings};
use crate::outline::{
    CutRules, CutSummary, Grade, Marks, MeasureError, Nest, NestError, Outline, OutlineError, OutlineFinding,
    ReadError, from_dxf, measure,
};
use crate::spec::{Process, Shop};

/// Largest difference between the force of the drawing and of the design that a sound drawing has (percent).
pub const READ_BACK_LIMIT_PERCENT: f64 = 0.3;

/// Shares of the travel at which drawing and design are compared; beyond the last the force rises without bound.
const READ_BACK_SHARES: [f64; 9] = [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9];

/// A spring as drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// the contours
    pub outline: Outline,
    /// limits of the process
    pub rules: CutRules,
    /// words on the drawing
    pub notes: DrawingNotes,
    /// tabs and engraving
    pub marks: Marks,
    /// the finished-size drawing as DXF
    pub dxf: Vec<u8>,
    /// violations of the rules of drawing and process
    pub findings: Vec<OutlineFinding>,
    /// length of cut, pierces, time
    pub cut: CutSummary,
    /// parts on the shop's sheet; none where no sheet is given
    pub nest: Option<Result<Nest, NestError>>,
    /// weight, time and price of a part
    pub cost: Cost,
    /// the written drawing measured again; none for a sketch
    pub read_back: Option<ReadBack>,
}

/// Result of measuring the written drawing as if it came from elsewhere.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ReadBack {
    /// largest difference between the force predicted from the drawing and from the design, of the larger of that
    /// force and a tenth of the largest one (percent)
    pub force_percent: f64,
    /// narrowest arm, normal to its centre line (mm)
    pub least_arm_mm: f64,
    /// slot width (mm)
    pub slot_mm: f64,
}

/// Why there is no drawing.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum DrawingError {
    /// No arm.
    #[error(transparent)]
    Layout(#[from] LayoutError),
    /// No outline.
    #[error(transparent)]
    Outline(#[from] OutlineError),
    /// The drawing cannot be written.
    #[error(transparent)]
    Export(#[from] ExportError),
    /// The written drawing cannot be read.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// The written drawing cannot be measured.
    #[error(transparent)]
    Measure(#[from] MeasureError),
    /// No curve.
    #[error(transparent)]
    Model(#[from] ModelError),
}

impl Drawing {
    /// Draws `spring`, writes the drawing, and measures what was written.
    pub fn of(spring: &Spring, process: &Process, shop: &Shop) -> Result<Self, DrawingError> {
        let mut drawing = Self::sketch(spring, process, shop)?;
        drawing.read_back = Some(ReadBack::of(&drawing.dxf, spring, &drawing.rules)?);
        Ok(drawing)
    }

    /// Draws `spring` without measuring the drawing again.
    pub fn sketch(spring: &Spring, process: &Process, shop: &Shop) -> Result<Self, DrawingError> {
        let rules = CutRules::of(process, spring.sheet.thickness);
        let outline = Outline::of(spring, &rules)?;
        let arms = if spring.arms == 1 { "one arm".to_owned() } else { format!("{} arms", spring.arms) };
        let title = format!(
            "flat spring, {arms}, dia {:.2}, to be set {:.2} high",
            2.0 * spring.disc.outer_radius,
            spring.former.free_height
        );
        let marks = Marks::of(&outline, &rules, shop);
        let notes = DrawingNotes::of(&title, spring, &outline, &rules, &marks)?;
        let dxf = dxf_marked(&outline, &marks, &notes)?;
        let findings = outline.findings(&rules);
        let cut = CutSummary::of(&outline, &rules);
        let nest = Nest::of(&outline, &rules, shop);
        let placed = nest.as_ref().and_then(|nest| nest.as_ref().ok());
        let (thickness, density) = (spring.sheet.thickness, spring.sheet.density);
        let cost = Cost::of(thickness, density, &cut, placed, shop);
        Ok(Self { outline, rules, notes, marks, dxf, findings, cut, nest, cost, read_back: None })
    }

    /// Findings beyond the limits of the process, and a read-back beyond its limit.
    pub fn warnings(&self) -> Vec<String> {
        let mut warnings: Vec<String> = self.grave().map(ToString::to_string).collect();
        if let Some(percent) = self.read_back_excess() {
            warnings.push(format!(
                "predicted from the drawing the force differs by {percent:.2} % from the design, \
                 {READ_BACK_LIMIT_PERCENT} % is usual; smoother widths draw better"
            ));
        }
        if let Some(Err(error)) = &self.nest {
            warnings.push(error.to_string());
        }
        if self.marks.part_number.is_some() && self.marks.engraving.is_empty() {
            warnings.push(
                "shop.part_number: the rim is too narrow to engrave it; the number goes on the bag"
                    .to_owned(),
            );
        }
        warnings
    }

    /// Parts on the shop's sheet, where one is given that takes some.
    pub fn placed(&self) -> Option<&Nest> {
        self.nest.as_ref().and_then(|nest| nest.as_ref().ok())
    }

    /// Whether the process can cut it as drawn.
    pub fn passed(&self) -> bool {
        self.grave().next().is_none() && self.read_back_excess().is_none()
    }

    /// Force difference of the measured drawing, where it is above the limit (percent).
    fn read_back_excess(&self) -> Option<f64> {
        self.read_back.map(|read| read.force_percent).filter(|percent| *percent > READ_BACK_LIMIT_PERCENT)
    }

    /// Findings beyond the limits of the process.
    pub(super) fn grave(&self) -> impl Iterator<Item = &OutlineFinding> {
        self.findings.iter().filter(|finding| finding.grade >= Grade::Limit)
    }
}

impl ReadBack {
    /// Reads a written drawing of `spring` and predicts from it.
    fn of(dxf: &[u8], spring: &Spring, rules: &CutRules) -> Result<Self, DrawingError> {
        let read = from_dxf(dxf, "the drawing just written")?;
        let disc = measure(&read.contours, rules.kerf)?;
        let mut drawn = disc.spring(spring.sheet.clone(), spring.former.clone(), spring.seat)?;
        // what holds the rings and how the arms end is not in a drawing
        drawn.roots = spring.roots;
        drawn.disc.rim_clamp_radius = spring.disc.rim_clamp_radius;
        drawn.disc.hub_clamp_radius = spring.disc.hub_clamp_radius;
        let force = |spring: &Spring| {
            let model = Model::of(spring, &ModelSettings::default())?;
            let stops: Vec<f64> = READ_BACK_SHARES.iter().map(|share| share * model.travel()).collect();
            Ok::<_, DrawingError>(model.response(&stops)?.force)
        };
        let (designed, drawn) = (force(spring)?, force(&drawn)?);
        let floor = 0.1 * designed.iter().copied().fold(0.0, f64::max);
        let force_percent = designed
            .iter()
            .zip(&drawn)
            .map(|(a, b)| 100.0 * (b - a).abs() / a.abs().max(floor))
            .fold(0.0, f64::max);
        let least_arm_mm = disc.arms.iter().map(|arm| arm.width_least).fold(f64::INFINITY, f64::min);
        Ok(Self { force_percent, least_arm_mm, slot_mm: disc.slot_width() })
    }
}
