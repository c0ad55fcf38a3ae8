//! A question without an answer: the target, the nearest curve that can be followed, and the limit that was not met.

use super::ReportError;
use super::page;
use super::shown::{Shown, sentence};
use super::tables::{Table, departures};
use crate::curve::nearest_reachable;
use crate::pipeline::Question;
use crate::plot::{CurvePlot, Line, LineChart, PageSize, Picture, Units};
use serde::Serialize;

const CURVE: PageSize = PageSize { width: 520.0, height: 400.0 };

#[derive(Serialize)]
struct Unanswered<'a> {
    reason: &'a str,
    svg: String,
    departures: Table,
    notes: Vec<String>,
}

/// The page for a question that no spring answers; `reason` gives cause and remedy.
pub fn without_spring(question: &Question, reason: &str, units: Units) -> Result<String, ReportError> {
    let shown = Shown { units };
    let target = &question.target;
    let reach = nearest_reachable(target, question.brief.duty.installed.unwrap_or(0.0));
    let list = |list: &Option<Vec<f64>>| list.clone().unwrap_or_default();
    let chart: LineChart = CurvePlot {
        title: "Force over deflection".to_owned(),
        target_deflection: target.deflection.clone(),
        target_force: target.force.clone(),
        force_min: list(&target.force_min),
        force_max: list(&target.force_max),
        ..CurvePlot::default()
    }
    .chart()?;
    let nearest = Line {
        label: "nearest that can be followed".to_owned(),
        x: reach.nearest.deflection.clone(),
        y: reach.nearest.force.clone(),
    };
    let chart = LineChart { lines: vec![nearest], ..chart };
    let picture: Picture = crate::plot::ChartPicture::of(&chart, units, CURVE)?.picture;
    let facts = Unanswered {
        reason: &sentence(reason),
        svg: picture.svg(),
        departures: departures(&reach, shown),
        notes: target.notes.clone(),
    };
    Ok(page::set_unanswered(&facts, units)?)
}
