//! Tables and steps as text.

use crate::checks::{Checks, FormerRow, FormerShape, SettingWay};
use crate::evaluation::CurveTable;
use crate::numeric::{Quantity, Units, cell, decimal};
use crate::response::Response;

/// A prediction as a table: deflection from the free height, travel from the installed position where that is another,
/// then the prediction.
pub fn response_csv(response: &Response, installed: f64) -> String {
    table(response, installed, None)
}

/// `curve.csv`: deflection, travel where the target starts elsewhere, target, prediction.
pub fn curve_csv(curve: &CurveTable) -> String {
    table(&curve.response, curve.installed, Some(&curve.target))
}

fn table(response: &Response, installed: f64, target: Option<&[f64]>) -> String {
    let (travel_name, target_name) =
        (if installed > 0.0 { "travel_mm," } else { "" }, if target.is_some() { "target_n," } else { "" });
    let mut text = format!("deflection_mm,{travel_name}{target_name}{PREDICTED}\n");
    for i in 0..response.len() {
        let mut cells = vec![cell(response.deflection[i], 5)];
        if installed > 0.0 {
            cells.push(cell(response.deflection[i] - installed, 5));
        }
        cells.extend(target.map(|target| cell(target[i], 5)));
        cells.push(predicted(response, i));
        text.push_str(&cells.join(","));
        text.push('\n');
    }
    text
}

/// The columns of [`predicted`].
const PREDICTED: &str = "force_n,rate_n_per_mm,seated_share,peak_stress_mpa";

fn predicted(response: &Response, i: usize) -> String {
    format!(
        "{},{},{},{}",
        cell(response.force[i], 5),
        cell(response.rate[i], 5),
        decimal(response.seated_share[i], 4),
        cell(response.peak_stress[i], 2)
    )
}

/// `former/former.csv`: the former to make under one arm, spring-back included.
pub fn former_csv(checks: &Checks) -> String {
    rows_csv(&checks.former.table)
}

/// `former/set_shape.csv`: the shape of one arm that is to be left after release from the former, before the first closing.
pub fn set_shape_csv(checks: &Checks) -> String {
    rows_csv(&checks.shape)
}

pub(super) fn rows_csv(rows: &[FormerRow]) -> String {
    let mut text = String::from("angle_deg,radius_mm,inner_edge_mm,height_mm\n");
    for row in rows {
        text.push_str(&format!(
            "{},{},{},{}\n",
            decimal(row.angle_deg, 3),
            decimal(row.radius_mm, 3),
            decimal(row.inner_edge_mm, 3),
            decimal(row.height_mm, 3)
        ));
    }
    text
}

/// `setting.txt`: steps of setting the spring to height, and cautions.
pub fn setting_text(checks: &Checks) -> String {
    let mut text = String::from("Setting the spring to height\n");
    match &checks.setting {
        None => text.push_str("\nNo strength of the sheet is known: no advice on setting can be given.\n"),
        Some(setting) => {
            if let Some(refused) = &setting.refused {
                text.push_str(&format!("\nNot possible as asked: {refused}\n"));
            }
            for (k, way) in setting.ways.iter().enumerate() {
                if k == 0 {
                    text.push_str(&format!("\nWay to take: {} ({})\n", way.words, way.name));
                } else {
                    text.push_str(&format!(
                        "\nAnother way, with a former of its own: {}; [setting] way = \"{}\" writes it\n",
                        way.words, way.name
                    ));
                }
                if k == 0 && !setting.why.is_empty() {
                    text.push_str(&format!("  because: {}\n", setting.why));
                }
                if let Some(height) = way.former_height_mm {
                    text.push_str(&format!("  former to make, height at the hub: {height:.2} mm\n"));
                }
                for (k, step) in way.steps.iter().enumerate() {
                    text.push_str(&format!("  {}. {step}\n", k + 1));
                }
                text.push_str(&trial_table(way));
                text.push_str(&format!("  source: {}\n", way.source));
            }
        }
    }
    if let Some(service) = &checks.service {
        text.push_str(&format!("\nIn service: {}\n  source: {}\n", service.words(), service.source));
    }
    text.push('\n');
    text.push_str(&rings_text(&checks.former, Units::MillimetreNewton));
    text.push_str("\nCautions\n");
    for caution in &checks.cautions {
        text.push_str(&format!("  - {caution}\n"));
    }
    text
}

/// Places of the trial, with blanks for the measured heights.
fn trial_table(way: &SettingWay) -> String {
    if way.places.is_empty() {
        return String::new();
    }
    let mut text = String::from("     radius mm  former mm  height wanted mm  measured\n");
    for place in &way.places {
        text.push_str(&format!(
            "     {:>9}  {:>9}  {:>16}  ________\n",
            decimal(place.radius_mm, 2),
            decimal(place.former_mm, 2),
            decimal(place.height_mm, 2)
        ));
    }
    text
}

/// The former as a stack of rings, a table in these units.
pub fn rings_text(former: &FormerShape, units: Units) -> String {
    if former.rings.is_empty() {
        return format!("{}\n", former.no_stack());
    }
    let unit = Quantity::Length.unit(units);
    let places = if units == Units::MillimetreNewton { 2 } else { 3 };
    let length = |value: f64| decimal(value * Quantity::Length.factor(units), places);
    let mut text = format!(
        "Former to make as a stack of {} rings, shim {} {unit} (as high as former.csv and former.stl)\n",
        former.rings.len(),
        length(former.shim_mm)
    );
    text.push_str(&format!("  ring  outside dia {unit}  bore dia {unit}  thickness {unit}  top {unit}\n"));
    for ring in &former.rings {
        text.push_str(&format!(
            "  {:>4}  {:>14}  {:>11}  {:>12}  {:>6}\n",
            ring.ring,
            length(2.0 * ring.outer_radius_mm),
            length(2.0 * ring.bore_radius_mm),
            length(ring.thickness_mm),
            length(ring.top_mm)
        ));
    }
    text
}
