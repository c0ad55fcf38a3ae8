//! The package of a spring that is cut again: as a design's, for what is to be drawn, with what was found at the measured
//! part and what is expected to come out.

use serde::Serialize;

use super::answer::{Answer, AnswerError, CurveTable, Question, assemble, check_options, failed};
use super::files::{PackageError, files};
use super::spring_text::curve_csv;
use super::summary::{DrawingSummary, Summary, json_bytes};
use crate::checks::{CheckOptions, Verdicts};
use crate::curve::{TargetCurve, nearest_reachable};
use crate::export::NamedFile;
use crate::layout::Spring;
use crate::model::{Model, ModelError, ModelSettings};
use crate::outline::CutRules;
use crate::plot::{CurvePlot, Line, Units, curve_png, curve_svg};
use crate::spec::SpringFile;
use crate::summary::{CurveSummary, FitSummary, FlatSummary, StressSummary};
use crate::synthesis::{Design, Outcome, ShapeError, width_range};
use crate::variation::{Identified, Recut, RecutSettings, VariationError, recut};

/// Points of the predicted line in a plot.
const LINE_POINTS: usize = 120;
/// Segments while shaping.
const SEGMENTS: usize = 150;

/// Why nothing could be cut again.
#[derive(Debug, thiserror::Error)]
pub enum CorrectError {
    /// The spring could not be shaped.
    #[error(transparent)]
    Variation(#[from] VariationError),
    /// The new one cannot be judged.
    #[error(transparent)]
    Shape(#[from] ShapeError),
    /// The new one has no curve.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// There is no answer in it.
    #[error(transparent)]
    Answer(#[from] AnswerError),
}

/// What is expected of the new cut.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Expected {
    /// root mean square force error of the most likely part (percent of the error base)
    pub rms_percent: f64,
    /// the same with what the measurement leaves open: nineteen of twenty parts stay below (percent of the error base)
    pub within_percent: f64,
}

/// What was found and what is expected.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Correction {
    /// what the measurement told
    #[serde(flatten)]
    pub found: Identified,
    /// what is expected of the new cut
    pub expected: Expected,
    /// the part that is expected to come out, as a spring file says it; `spring` is what is to be drawn
    pub part: SpringFile,
}

/// A design's summary, of the part that is expected to come out, and the correction. `spring` is what is to be drawn.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CorrectedSummary {
    /// as of a design
    #[serde(flatten)]
    pub summary: Summary,
    /// what was found at the measured part
    pub correction: Correction,
}

/// A spring cut again.
#[derive(Debug, Clone)]
pub struct Corrected {
    /// what is to be drawn, with its own checks
    pub drawn: Answer,
    /// both springs
    pub recut: Recut,
    /// numbers and verdicts of the part that is expected to come out
    pub summary: CorrectedSummary,
}

/// Shapes a spring again for its target with what a measured part told. Sheet, slots and circles stay; the sheet's
/// thickness and moduli are those found, widths and height make up for kerf and setting.
pub fn correct(
    spring: &Spring,
    file: &SpringFile,
    target: &TargetCurve,
    found: Identified,
) -> Result<Corrected, CorrectError> {
    let brief = file.brief();
    let installed = brief.duty.installed.unwrap_or(0.0);
    let rules = CutRules::of(&brief.process, spring.sheet.thickness);
    let narrowest = file.arm.width.iter().flatten().copied().fold(f64::INFINITY, f64::min);
    let allowable = spring.sheet.allowable().map(|found| found.limit);
    let settings = RecutSettings {
        width: width_range(rules.arm_min.min(narrowest), &spring.disc),
        free_height_max: brief.envelope.free_height_max,
        allowable,
        installed,
        model: ModelSettings { segments: SEGMENTS, ..ModelSettings::default() },
    };
    let mut new = recut(spring, target, &found.deviation, &settings)?;
    new.model.segments = ModelSettings::default().segments;
    let tolerance = brief.fit.tolerance(target.tolerance_percent);
    let design = Design::judge(new.drawn.clone(), target, installed, allowable, tolerance)?;
    let question = Question { target: target.clone(), brief };
    let reach = nearest_reachable(target, installed);
    let outcome = Outcome { designs: vec![design], reach, considered: 1 };
    let mut drawn = assemble(question, outcome, Vec::new())?;
    drawn.file.tolerance.clone_from(&file.tolerance);
    let options = CheckOptions { model: new.model, ..check_options(&drawn.file) };
    let verdicts = Verdicts::of(&new.part, &options)?;
    drawn.table = CurveTable {
        deflection: new.deflection.clone(),
        target: new.target_force.clone(),
        response: new.response.clone(),
    };
    let summary = summarise(&drawn, &new, &verdicts, found, tolerance);
    Ok(Corrected { drawn, recut: new, summary })
}

fn summarise(
    drawn: &Answer,
    new: &Recut,
    verdicts: &Verdicts,
    found: Identified,
    tolerance: f64,
) -> CorrectedSummary {
    let reach = &drawn.outcome.reach;
    let mut warnings: Vec<String> = verdicts.findings.iter().map(ToString::to_string).collect();
    warnings.extend(drawn.drawing.warnings());
    let breach = drawn.question.target.band_breach(&new.deflection, &new.response.force);
    warnings.extend(breach.map(|breach| breach.said()));
    let reachable = reach.can_be_followed(new.rms_percent, new.max_percent);
    let reason = if !reachable {
        reach.findings.first().map_or_else(String::new, |finding| finding.reason.clone())
    } else if new.rms_percent > tolerance {
        "the widths that would make up for what was found are narrower or wider than cutting, size and stress allow"
            .to_owned()
    } else {
        String::new()
    };
    let mut part = new.part.to_file();
    part.process.clone_from(&drawn.file.process);
    part.duty.clone_from(&drawn.file.duty);
    part.target.clone_from(&drawn.file.target);
    let expected = Expected {
        rms_percent: new.rms_percent,
        within_percent: new.rms_percent.hypot(found.force_uncertainty_percent),
    };
    CorrectedSummary {
        summary: Summary {
            fit: FitSummary {
                rms_percent: new.rms_percent,
                max_percent: new.max_percent,
                reachable,
                reason,
                tolerance_percent: tolerance,
            },
            flat: FlatSummary::of(verdicts),
            stress: StressSummary::of(verdicts),
            drawing: DrawingSummary::of(&drawn.drawing),
            stack: None,
            former_gain: None,
            failed: failed(verdicts, Some(&drawn.drawing), breach.is_some()),
            spring: drawn.file.clone(),
            shortlist: Vec::new(),
            warnings,
            curve: CurveSummary {
                deflection_mm: new.deflection.clone(),
                force_n: new.response.force.clone(),
                target_n: new.target_force.clone(),
            },
        },
        correction: Correction { found, expected, part },
    }
}

impl CorrectedSummary {
    /// The file's bytes.
    pub fn to_json(&self) -> Vec<u8> {
        json_bytes(self)
    }
}

impl Corrected {
    /// All files, in the order in which they are written: those of a design, for what is to be drawn, but curve and
    /// summary of the part that is expected to come out; the part itself; the measurement as a picture.
    pub fn files(&self, units: Units) -> Result<Vec<NamedFile>, PackageError> {
        let mut package = files(&self.drawn)?;
        let (expected, measured) = (self.expected_plot()?, self.measured_plot());
        let mut put = |name: &str, bytes: Vec<u8>| match package.iter_mut().find(|file| file.name == name) {
            Some(file) => file.bytes = bytes,
            None => package.push(NamedFile::new(name, bytes)),
        };
        put("curve.csv", curve_csv(&self.drawn.table).into_bytes());
        put("curve.svg", curve_svg(&expected, units)?);
        put("curve.png", curve_png(&expected, units)?);
        put("measured.svg", curve_svg(&measured, units)?);
        put("measured.png", curve_png(&measured, units)?);
        put("part.toml", self.summary.correction.part.to_toml().into_bytes());
        put("summary.json", self.summary.to_json());
        Ok(package)
    }

    fn expected_plot(&self) -> Result<CurvePlot, ModelError> {
        let target = &self.drawn.question.target;
        let installed = self.drawn.outcome.reach.installed;
        let model = Model::of(&self.recut.part, &self.recut.model)?;
        let to = target.max_deflection().min(model.travel() - installed);
        let deflection: Vec<f64> = (0..=LINE_POINTS).map(|k| to * k as f64 / LINE_POINTS as f64).collect();
        let stops: Vec<f64> = deflection.iter().map(|x| (x + installed).min(model.travel())).collect();
        Ok(CurvePlot {
            title: "The spring cut again, as expected".to_owned(),
            target_deflection: target.deflection.clone(),
            target_force: target.force.clone(),
            force_min: target.force_min.clone().unwrap_or_default(),
            force_max: target.force_max.clone().unwrap_or_default(),
            predicted_force: model.response(&stops)?.force,
            predicted_deflection: deflection,
            predicted_label: "expected".to_owned(),
            ..CurvePlot::default()
        })
    }

    fn measured_plot(&self) -> CurvePlot {
        measured_plot(&self.summary.correction.found)
    }
}

/// A measurement beside the spring as drawn and as corrected.
pub fn measured_plot(found: &Identified) -> CurvePlot {
    let curve = &found.curve;
    CurvePlot {
        title: "The part measured".to_owned(),
        target_deflection: curve.deflection_mm.clone(),
        target_force: curve.measured_n.clone(),
        target_label: "measured".to_owned(),
        predicted_deflection: curve.deflection_mm.clone(),
        predicted_force: curve.corrected_n.clone(),
        predicted_label: "corrected".to_owned(),
        compared: Some(Line {
            label: "as drawn".to_owned(),
            x: curve.deflection_mm.clone(),
            y: curve.drawn_n.clone(),
        }),
        ..CurvePlot::default()
    }
}
