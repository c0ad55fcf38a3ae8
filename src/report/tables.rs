//! The tables of a report: rows of words, ready to be set.

use serde::Serialize;

use super::blank::Blank;
use super::shown::Shown;
use super::subject::Subject;
use super::tiles::minutes;
use crate::curve::Reach;
use crate::evaluation::Drawing;
use crate::numeric::figures;
use crate::outline::{Grade, Nest};
use crate::plot::Quantity;
use crate::synthesis::Merits;

/// A table.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub(super) struct Table {
    pub head: Vec<String>,
    pub rows: Vec<Vec<String>>,
}

fn words(list: &[&str]) -> Vec<String> {
    list.iter().map(|word| (*word).to_owned()).collect()
}

/// The spring in a few numbers.
pub(super) fn sizes(subject: &Subject, shown: Shown) -> Vec<Vec<String>> {
    let spring = subject.spring;
    let (disc, checks) = (&spring.disc, subject.checks);
    let mut rows = vec![
        vec!["outside diameter".to_owned(), shown.sized(2.0 * disc.outer_radius)],
        vec!["bore".to_owned(), shown.sized(2.0 * disc.bore_radius)],
        vec!["arms".to_owned(), format!("{}, slots {} wide", spring.arms, shown.sized(spring.slot))],
        vec![
            "sheet".to_owned(),
            format!(
                "{}, {}",
                spring.sheet.material.as_deref().unwrap_or("not named"),
                shown.sized(spring.sheet.thickness)
            ),
        ],
        vec!["travel to flat".to_owned(), shown.sized(checks.flat.travel_mm)],
        vec!["solid height".to_owned(), shown.sized(checks.flat.solid_height_mm)],
        vec!["energy when closed".to_owned(), format!("{}\u{a0}J", figures(checks.mass.energy_j))],
    ];
    if let Some(mass) = checks.mass.mass_g {
        rows.push(vec!["mass".to_owned(), format!("{}\u{a0}g", figures(mass))]);
    }
    rows
}

/// This spring and the other candidates.
pub(super) fn shortlist(subject: &Subject, shown: Shown) -> Option<Table> {
    let own = subject.merits?;
    let length = shown.unit(Quantity::Length);
    let stress = shown.unit(Quantity::Stress);
    let mut head = vec![
        "place".to_owned(),
        "arms".to_owned(),
        format!("sheet {length}"),
        format!("outside {length}"),
        format!("travel {length}"),
        "good parts %".to_owned(),
        "arm".to_owned(),
        "error rms %".to_owned(),
        format!("peak {stress}"),
        format!("closing force {}", shown.unit(Quantity::Force)),
        format!("cut {length}"),
    ];
    head.push("machine time s".to_owned());
    let shop = &subject.evaluation.asked.checks.shop;
    let priced = own.part_price.is_some() || subject.shortlist.iter().any(|other| other.part_price.is_some());
    if priced {
        head.push("price of a part".to_owned());
    }
    let row = |place: String, merits: &Merits| {
        let mut cells = vec![
            place,
            merits.arms.to_string(),
            shown.size(merits.thickness_mm),
            shown.size(merits.outer_diameter_mm),
            shown.size(merits.free_height_mm),
            format!("{:.0}, {:.0}", merits.good_percent, merits.good_percent_sheet_measured),
            merits.arm.name().to_owned(),
            format!("{:.2}", merits.rms_percent),
            shown.number(merits.peak_stress_mpa, Quantity::Stress),
            shown.number(merits.closing_force_n, Quantity::Force),
            shown.number(merits.cut_length_mm, Quantity::Length),
            merits
                .cut_seconds_range()
                .map_or_else(|| "–".to_owned(), |[from, to]| format!("{from:.0}–{to:.0}")),
        ];
        if priced {
            let price = merits.part_price.map(|price| shop.money_range(price));
            cells.push(price.unwrap_or_else(|| "–".to_owned()));
        }
        cells
    };
    let mut rows = vec![row("1, this one".to_owned(), own)];
    rows.extend(subject.shortlist.iter().enumerate().map(|(k, merits)| row((k + 2).to_string(), merits)));
    Some(Table { head, rows })
}

/// Reasons for which the curve cannot be followed, with the deviation of the nearest curve.
pub(super) fn departures(reach: &Reach, shown: Shown) -> Table {
    let rows = reach
        .findings
        .iter()
        .map(|finding| {
            vec![
                format!("{} to {}", shown.size(finding.from_deflection), shown.sized(finding.to_deflection)),
                format!("{} ({:.1}\u{a0}%)", shown.force(finding.size_n), finding.size_percent),
                finding.reason.clone(),
                finding.remedy.clone(),
            ]
        })
        .collect();
    Table { head: words(&["from … to", "target less nearest", "reason", "remedy"]), rows }
}

/// Table of the checks' findings, the most severe first.
pub(super) fn findings(subject: &Subject, shown: Shown) -> Table {
    let rows = subject
        .checks
        .findings
        .iter()
        .map(|finding| {
            let number = |value: Option<f64>| {
                value.map_or_else(|| "–".to_owned(), |value| shown.in_unit(value, finding.unit))
            };
            let severity = match finding.severity {
                crate::checks::Severity::Failed => "failed",
                crate::checks::Severity::Warning => "warning",
                crate::checks::Severity::Remark => "remark",
            };
            vec![
                format!("{}: {severity}", finding.check),
                finding.place.clone(),
                number(finding.value),
                number(finding.limit),
                finding.rule.clone(),
                finding.remedy.clone(),
            ]
        })
        .collect();
    Table { head: words(&["check", "where", "found", "limit", "rule", "what to change"]), rows }
}

/// Table of cutting length, pierces and time.
pub(super) fn cut(subject: &Subject, blank: &Blank, shown: Shown) -> Table {
    let (cut, rules) = (&blank.cut, &blank.rules);
    let mut rows = vec![
        vec!["process".to_owned(), rules.process.clone()],
        vec!["length of all cuts".to_owned(), shown.length(cut.cut_length_mm)],
        vec!["pierces".to_owned(), cut.pierces.to_string()],
        vec!["sheet for one".to_owned(), format!("{} square", shown.length(cut.square_mm))],
        vec!["share that becomes part".to_owned(), format!("{:.0}\u{a0}%", 100.0 * cut.sheet_use)],
        vec!["kerf".to_owned(), format!("{}, not compensated in the drawing", shown.sized(rules.kerf))],
        vec!["± on a cut width".to_owned(), shown.sized(rules.tolerance)],
    ];
    if let Some([from, to]) = cut.machine_seconds {
        rows.insert(3, vec!["machine time".to_owned(), format!("{}, an estimate", minutes(from, to))]);
    }
    if let Ok(drawing) = &subject.evaluation.drawing {
        rows.extend(shop_rows(subject, drawing, shown));
    }
    for finding in &blank.findings {
        let grade = match finding.grade {
            Grade::Advice => "look at",
            Grade::Limit => "ask the shop",
            Grade::Fault => "fault",
        };
        rows.push(vec![grade.to_owned(), finding.to_string()]);
    }
    Table { head: Vec::new(), rows }
}

/// Rows on tabs, engraving, sheets and price.
fn shop_rows(subject: &Subject, drawing: &Drawing, shown: Shown) -> Vec<Vec<String>> {
    let shop = &subject.evaluation.asked.checks.shop;
    let row = |what: &str, value: String| vec![what.to_owned(), value];
    let mut rows: Vec<Vec<String>> = drawing
        .marks
        .words()
        .into_iter()
        .zip(["tabs", "marking"])
        .map(|(words, what)| row(what, words))
        .collect();
    for nest in Nest::on_common(&drawing.outline, &drawing.rules, shop) {
        let [along, across] = nest.sheet.map(|side| shown.short_number(side, Quantity::Length));
        rows.push(row(
            &format!("sheet {along} × {across} {}", shown.unit(Quantity::Length)),
            format!(
                "{} parts in {} rows, {:.0}\u{a0}% of it becomes part, {} between parts",
                nest.centres.len(),
                nest.pattern.word(),
                100.0 * nest.sheet_use(drawing.cut.part_area_mm2),
                shown.sized(nest.spacing)
            ),
        ));
    }
    let cost = &drawing.cost;
    if let Some(count) = cost.sheets.filter(|_| cost.batch > 1) {
        rows.push(row("sheets for the batch", count.to_string()));
    }
    if let Some(mass) = cost.part_g {
        let taken = cost.sheet_g.map(|mass| format!(", from {}\u{a0}g of sheet", figures(mass)));
        rows.push(row("weight", format!("{}\u{a0}g{}", figures(mass), taken.unwrap_or_default())));
    }
    rows.extend(cost.price(shop).map(|price| row("price of a part", price)));
    rows
}

/// The rings of the stepped former.
pub(super) fn rings(subject: &Subject, shown: Shown) -> Table {
    let length = shown.unit(Quantity::Length);
    let head = vec![
        "ring, from below".to_owned(),
        format!("outside Ø {length}"),
        format!("hole Ø {length}"),
        format!("thickness {length}"),
        format!("top {length}"),
    ];
    let rows = subject
        .checks
        .former
        .rings
        .iter()
        .map(|ring| {
            vec![
                ring.ring.to_string(),
                shown.size(2.0 * ring.outer_radius_mm),
                shown.size(2.0 * ring.bore_radius_mm),
                shown.size(ring.thickness_mm),
                shown.size(ring.top_mm),
            ]
        })
        .collect();
    Table { head, rows }
}

/// Heights of the former under one arm, every so many rows.
pub(super) fn heights(subject: &Subject, shown: Shown) -> Table {
    const EVERY: usize = 5;
    let length = shown.unit(Quantity::Length);
    let head = vec![
        "angle °".to_owned(),
        format!("radius {length}"),
        format!("inner edge {length}"),
        format!("height {length}"),
    ];
    let rows = subject
        .checks
        .former
        .table
        .iter()
        .step_by(EVERY)
        .map(|row| {
            vec![
                format!("{:.1}", row.angle_deg),
                shown.size(row.radius_mm),
                shown.size(row.inner_edge_mm),
                shown.size(row.height_mm),
            ]
        })
        .collect();
    Table { head, rows }
}
