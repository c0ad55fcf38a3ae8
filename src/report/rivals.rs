//! Comparisons: springs of simpler widths, and parts within tolerance.

use serde::Serialize;

use super::shown::Shown;
use super::subject::Subject;
use super::tables::Table;
use crate::compare::{CompareError, CompareSettings, Comparison, Contender, compare, nominal_target};
use crate::curve::TargetCurve;
use crate::numeric::grouped;
use crate::plot::{Axis, Band, Line, LineChart, Marks, Quantity, Shade, ShareBar, Ticks};
use crate::variation::{Scatter, VariationError};

/// Why there is no scatter of parts.
#[derive(Debug, Clone, thiserror::Error)]
pub(super) enum NoScatter {
    #[error("the scatter of parts was not asked for")]
    NotAsked,
    #[error(transparent)]
    Variation(#[from] VariationError),
}

/// Comparison with simpler widths and scatter of parts; in place of each the reason where it is missing.
#[derive(Debug, Clone)]
pub(super) struct Rivals {
    pub comparison: Result<Comparison, CompareError>,
    pub scatter: Result<Scatter, NoScatter>,
}

impl Rivals {
    /// Finds the rivals; the parts are the evaluation's.
    pub fn of(subject: &Subject) -> Self {
        let scatter = match &subject.evaluation.parts {
            Some(Ok(parts)) => Ok(parts.as_bought.clone()),
            Some(Err(error)) => Err(error.clone().into()),
            None => Err(NoScatter::NotAsked),
        };
        Self { comparison: rivals(subject), scatter }
    }
}

fn rivals(subject: &Subject) -> Result<Comparison, CompareError> {
    let spring = subject.spring;
    let own;
    let target = if let Some(target) = subject.target {
        target
    } else {
        own = nominal_target(spring)?;
        &own
    };
    let mut brief = subject.file.brief();
    brief.arms.width_min = subject.width_min;
    let settings = CompareSettings::of(spring, target, &brief);
    compare(spring, target, &settings)
}

/// The shade of the scatter on the curve, as far as parts are not flat already.
pub(super) fn shade(found: &Scatter) -> Band {
    let curve = &found.curve;
    let mut band = Band { label: "90 % of parts".to_owned(), shade: Shade::Tinted, ..Band::default() };
    // from no force at all where the first part of the curve begins there
    if let (Some(&step), Some(&first)) = (curve.deflection_mm.get(1), curve.deflection_mm.first())
        && (first - (step - first)).abs() < 1e-6 * step
    {
        band.x.push(0.0);
        band.low.push(0.0);
        band.high.push(0.0);
    }
    for (i, high) in curve.high_n.iter().enumerate() {
        let Some(high) = high else { break };
        band.x.push(curve.deflection_mm[i]);
        band.low.push(curve.low_n[i]);
        band.high.push(*high);
    }
    band
}

/// The curves side by side.
pub(super) fn comparison_chart(
    comparison: &Comparison,
    target: Option<&TargetCurve>,
    installed: f64,
) -> LineChart {
    let axis = |label: &str, quantity| Axis { label: label.to_owned(), quantity, from_zero: true };
    LineChart {
        title: "Tapered against simpler widths".to_owned(),
        x_axis: axis("deflection", Quantity::Length),
        y_axis: axis("force", Quantity::Force),
        bands: Vec::new(),
        lines: comparison
            .springs
            .iter()
            .map(|spring| Line {
                label: spring.kind.name().to_owned(),
                x: spring.curve.deflection_mm.clone(),
                y: spring.curve.force_n.clone(),
            })
            .collect(),
        marks: target
            .map(|target| Marks {
                label: "target".to_owned(),
                x: target.deflection.iter().map(|x| x + installed).collect(),
                y: target.force.clone(),
            })
            .into_iter()
            .collect(),
        ticks: Ticks::default(),
    }
}

/// Shares of the travel at which rates stand in the table: start, half, end.
const RATE_SHARES: [f64; 3] = [0.02, 0.5, 0.96];

/// The springs side by side in numbers.
pub(super) fn comparison_table(comparison: &Comparison, shown: Shown) -> Table {
    let mut rows = Vec::new();
    let mut row = |name: &str, cell: &dyn Fn(&Contender) -> String| {
        let mut cells = vec![name.to_owned()];
        cells.extend(comparison.springs.iter().map(cell));
        rows.push(cells);
    };
    row("curve error, rms", &|spring| format!("{:.2}\u{a0}%", spring.fit.rms_percent));
    row("curve error, largest", &|spring| format!("{:.2}\u{a0}%", spring.fit.max_percent));
    for share in RATE_SHARES {
        let name = format!("rate at {:.0}\u{a0}% of travel", 100.0 * share);
        row(&name, &|spring| shown.rate(spring.rate_at(share)));
    }
    row("peak stress of the arms", &|spring| shown.stress(spring.stress.peak_mpa));
    row("largest at a slot end", &|spring| {
        spring.stress.slot_end_mpa().map_or_else(|| "–".to_owned(), |found| shown.stress(found))
    });
    row("largest in a ring", &|spring| {
        spring.stress.ring_mpa().map_or_else(|| "–".to_owned(), |found| shown.stress(found))
    });
    row("stress within the allowable", &|spring| {
        spring.stress.ok.map_or("not judged", |ok| if ok { "yes" } else { "no" }).to_owned()
    });
    row("travel to flat", &|spring| shown.sized(spring.free_height_mm));
    row("solid height", &|spring| shown.sized(spring.flat.solid_height_mm));
    row("closing force", &|spring| shown.force(spring.flat.closing_force_n));
    row("length cut", &|spring| {
        spring.cut.map_or_else(|| "–".to_owned(), |cut| shown.length(cut.cut_length_mm))
    });
    row("machine time", &|spring| {
        spring
            .cut
            .and_then(|cut| cut.machine_seconds)
            .map_or_else(|| "–".to_owned(), |[from, to]| format!("{from:.0} to {to:.0}\u{a0}s"))
    });
    row("weight", &|spring| spring.mass_g.map_or_else(|| "–".to_owned(), |mass| format!("{mass:.1}\u{a0}g")));
    if comparison.springs.iter().any(|spring| spring.cost.is_some_and(|cost| cost.part.is_some())) {
        row("price of a part", &|spring| {
            let price = spring.cost.and_then(|cost| cost.part);
            let shop = spring.spring.shop.clone().unwrap_or_default();
            price.map_or_else(|| "–".to_owned(), |price| shop.money_range(price))
        });
    }
    row("radial width at hub and rim", &|spring| {
        spring
            .width_mm
            .map_or_else(|| "–".to_owned(), |[hub, rim]| format!("{}, {}", shown.size(hub), shown.sized(rim)))
    });
    let mut head = vec![String::new()];
    head.extend(comparison.springs.iter().map(|spring| spring.kind.name().to_owned()));
    Table { head, rows }
}

/// The scatter in words and numbers.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub(super) struct ScatterFacts {
    pub lines: Vec<String>,
    pub causes: Table,
}

fn plus_minus(value: f64, unit: &str, shown: Shown) -> String {
    if unit == "mm" {
        format!("±\u{a0}{}", shown.length(value))
    } else {
        format!("±\u{a0}{}\u{a0}{unit}", grouped(value))
    }
}

/// Causes of scatter with their effect on the force.
pub(super) fn scatter_facts(found: &Scatter, shown: Shown) -> ScatterFacts {
    let mut lines = vec![format!(
        "Of {} parts drawn from the tolerances {:.0}\u{a0}% are as wanted ({}). The shade on the curve holds 90\u{a0}% of \
         them, ±\u{a0}{:.1}\u{a0}% of the force.",
        found.runs,
        100.0 * found.yield_share,
        found.judged_by,
        found.band_percent
    )];
    if found.flat_share > 0.0 {
        lines.push(format!(
            "{:.1}\u{a0}% of the parts are flat before the last deflection: allow more free height.",
            100.0 * found.flat_share
        ));
    }
    lines.push(format!("To tighten first: {}.", found.tighten_first));
    let rows = found
        .causes
        .iter()
        .map(|cause| {
            vec![
                cause.cause.name().to_owned(),
                plus_minus(cause.plus_minus, cause.unit, shown),
                format!("±\u{a0}{:.1}\u{a0}%", cause.force_percent),
                format!("{:.0}\u{a0}%", cause.share_percent),
                cause.source.clone(),
            ]
        })
        .collect();
    let head = ["cause", "deviation", "effect on force", "share", "source"].map(str::to_owned).to_vec();
    ScatterFacts { lines, causes: Table { head, rows } }
}

/// The shares as bars.
pub(super) fn bars(found: &Scatter, shown: Shown) -> Vec<ShareBar> {
    found
        .causes
        .iter()
        .map(|cause| ShareBar {
            label: match &cause.member {
                Some(member) => format!("{} of {member}", cause.cause.name()),
                None => cause.cause.name().to_owned(),
            },
            share: 0.01 * cause.share_percent,
            note: plus_minus(cause.plus_minus, cause.unit, shown),
        })
        .collect()
}
