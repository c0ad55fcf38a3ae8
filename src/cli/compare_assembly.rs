//! `flatspire compare` of an assembly: what the best single disc would reach for the same curve.

use std::path::Path;

use serde::Serialize;

use super::arguments::{CompareOptions, General};
use super::failure::Failure;
use super::folder::Contents;
use super::{Verdict, assembled, files, folder, terminal};
use crate::evaluation::{AssembledEvaluation, AssembledSummary, EvaluationSummary, Extent};
use crate::export::NamedFile;
use crate::pipeline::{self, Answer, Question, Solution, Wishes};
use crate::plot::{CurvePlot, Line, Quantity, Units, curve_png, curve_svg};
use crate::spec::{AssemblyFile, AssemblyWish, Brief};

#[derive(Serialize)]
struct Compared<'a> {
    assembly: AssembledSummary,
    one_disc: &'a EvaluationSummary,
}

/// Compares an assembly with one disc.
pub fn run(path: &Path, options: &CompareOptions, general: &General) -> Result<Verdict, Failure> {
    let name = files::name(path);
    if let Some(brief) = &options.brief {
        return Err(Failure::OnlyForCurves { file: name, brief: files::name(brief) });
    }
    let evaluation = assembled::read(path, Extent::Whole)?;
    let Some(target) = evaluation.target.clone() else { return Err(Failure::NoCurveAsked { file: name }) };
    if target.deflection.first().is_some_and(|x| *x < 0.0) {
        return Err(Failure::BothSides { file: name });
    }
    let question = Question { target, brief: brief(path, &evaluation.file)? };
    let single = match pipeline::solve(&Wishes::default(), question)? {
        Solution::Single(answer) => *answer,
        // one disc was asked for
        Solution::Assembly(_) => return Err(Failure::NoCurveAsked { file: name }),
    };
    let units: Units = general.units.into();
    if let Some(out) = &options.out {
        let plot = plot(&evaluation, &single);
        let pictures = vec![
            NamedFile::new("comparison.svg", curve_svg(&plot, units)?),
            NamedFile::new("comparison.png", curve_png(&plot, units)?),
        ];
        let contents = Contents::part_of(path, options.force)?;
        folder::hold(out)?.write_all(&pictures, &contents)?;
    }
    if general.json {
        terminal::print_json(&Compared {
            assembly: AssembledSummary::of(&evaluation, &[]),
            one_disc: &single.summary.evaluation,
        })?;
    } else {
        terminal::print(&table(&evaluation, &single, units))?;
    }
    Ok(Verdict::of(evaluation.passed()))
}

/// The brief for one disc: space, process and sheet of the first disc, the fit of the whole.
fn brief(path: &Path, file: &AssemblyFile) -> Result<Brief, Failure> {
    let above = path.parent().unwrap_or_else(|| Path::new(""));
    let folder = file.member.first().map_or("", |member| member.folder.as_str());
    let (spring, _) = files::read_spring(&above.join(folder).join("spring.toml"))?;
    let mut brief = spring.brief();
    brief.duty.installed = None;
    (brief.duty.stroke_start, brief.duty.stroke_end) = (None, None);
    brief.envelope.free_height_max = None;
    brief.fit = file.fit.clone().unwrap_or_default();
    brief.sheet.material = spring.sheet.material;
    brief.assembly.kind = AssemblyWish::Single;
    Ok(brief)
}

fn plot(evaluation: &AssembledEvaluation, single: &Answer) -> CurvePlot {
    let target = &single.question.target;
    let curve = &evaluation.curve;
    CurvePlot {
        title: "Force over deflection, side by side".to_owned(),
        target_deflection: target.deflection.clone(),
        target_force: target.force.clone(),
        predicted_deflection: curve.deflection.clone(),
        predicted_force: curve.force.clone(),
        predicted_label: "assembly".to_owned(),
        compared: single.evaluation.fit.as_ref().map(|fit| Line {
            label: "one disc".to_owned(),
            x: fit.table.travel(),
            y: fit.table.response.force.clone(),
        }),
        ..CurvePlot::default()
    }
}

fn table(evaluation: &AssembledEvaluation, single: &Answer, units: Units) -> String {
    let length = |value| crate::numeric::with_unit(value, Quantity::Length, units);
    let percent = |value: Option<f64>| value.map_or_else(|| "–".to_owned(), |value| format!("{value:.2} %"));
    let spring = single.spring();
    let fit = single.evaluation.fit.as_ref().map(|fit| &fit.summary);
    let whole = evaluation.fit.as_ref();
    let widest = evaluation
        .members
        .iter()
        .map(|member| 2.0 * member.evaluation.spring.disc.outer_radius)
        .fold(0.0, f64::max);
    let use_of = |verdicts: &crate::evaluation::Verdicts| {
        let verdict = verdicts.get("strength")?;
        verdict.value.zip(verdict.limit).map(|(value, limit)| 100.0 * value / limit)
    };
    let fails =
        |failed: Vec<&'static str>| if failed.is_empty() { "none".to_owned() } else { failed.join(", ") };
    let installed = single.question.brief.duty.installed.unwrap_or(0.0);
    let rows: [(&str, String, String); 8] = [
        ("", "assembly".to_owned(), "one disc".to_owned()),
        (
            "curve error, rms",
            percent(whole.map(|fit| fit.rms_percent)),
            percent(fit.map(|fit| fit.rms_percent)),
        ),
        (
            "curve error, largest",
            percent(whole.map(|fit| fit.max_percent)),
            percent(fit.map(|fit| fit.max_percent)),
        ),
        ("discs", evaluation.file.discs().to_string(), "1".to_owned()),
        (
            "height at rest",
            length(evaluation.arrangement.height_at_rest()),
            length(spring.former.free_height - installed + spring.sheet.thickness),
        ),
        ("outside diameter", length(widest), length(2.0 * spring.disc.outer_radius)),
        (
            "stress, of the allowable",
            percent(use_of(&evaluation.verdicts)),
            percent(use_of(&single.evaluation.verdicts)),
        ),
        (
            "good parts as bought",
            percent(evaluation.good_parts().map(|parts| parts.good_percent)),
            percent(single.evaluation.good_parts().map(|parts| parts.good_percent)),
        ),
    ];
    let mut text = String::new();
    for (name, whole, one) in rows {
        text.push_str(&format!("{name:<26}{whole:>17}{one:>17}\n"));
    }
    text.push_str(&format!(
        "{:<26}{:>17}{:>17}\n",
        "fails",
        fails(evaluation.verdicts.failed()),
        fails(single.evaluation.verdicts.failed())
    ));
    text
}
