//! The way of setting that is taken: the one asked for, else the one that suits sheet, thickness and arm.

use super::plan::Plan;
use super::way::ways_for;
use crate::layout::{ArmPath, SheetProperties};
use crate::material;
use crate::spec::Way;

/// Highest former over the arm's length: beyond it the arm is stretched rather than twisted. Judgement, no source.
pub(super) const HIGHEST_FORMER: f64 = 0.25;

/// Way asked for that is not known for the sheet.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("setting.way = \"{}\" is not known for {sheet}, {thickness} mm; known: {known}", asked.name())]
pub struct NotForSheet {
    /// the way asked for
    pub asked: Way,
    /// name of the sheet
    pub sheet: String,
    /// thickness (mm)
    pub thickness: f64,
    /// names of the ways that are
    pub known: String,
}

/// Ways worked out for one spring.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// the ways, the one taken first
    pub plans: Vec<Plan>,
    /// reason for the first
    pub why: String,
    /// the way asked for, where it is not known for the sheet
    pub refused: Option<NotForSheet>,
}

impl Choice {
    /// For an arm that is to stand at `wanted` heights (mm at its nodes) after release, of a finished proof strength
    /// `proof` (MPa), `arms` of them.
    pub fn of(
        asked: Option<Way>,
        arm: &ArmPath,
        arms: usize,
        wanted: &[f64],
        sheet: &SheetProperties,
        proof: f64,
    ) -> Self {
        // names that the stock does not know are sheets of their own
        let name = sheet.material.as_deref().filter(|name| material::find(name).is_ok());
        let rows = ways_for(name, sheet.thickness);
        let mut plans: Vec<Plan> =
            rows.into_iter().map(|row| Plan::of(row, arm, arms, wanted, sheet, proof)).collect();
        let highest = HIGHEST_FORMER * arm.length();
        let mut refused = None;
        if let Some(way) = asked {
            if let Some(place) = plans.iter().position(|plan| plan.row.way == way) {
                let plan = plans.remove(place);
                plans.insert(0, plan);
                return Self { plans, why: "asked for by setting.way".to_owned(), refused };
            }
            let known: Vec<&str> = plans.iter().map(|plan| plan.row.way.name()).collect();
            refused = Some(NotForSheet {
                asked: way,
                sheet: name.unwrap_or("a sheet that is not in the stock").to_owned(),
                thickness: sheet.thickness,
                known: known.join(", "),
            });
        }
        let mut why = plans.first().map_or_else(String::new, |plan| plan.row.why.clone());
        // the first whose former an arm can follow
        if let Some(place) = plans.iter().position(|plan| plan.former_mm() <= highest)
            && place > 0
        {
            let first = &plans[0];
            why = format!(
                "{}; {} would need a former of {:.1} mm, more than a quarter of the arm's {:.0} mm",
                plans[place].row.why,
                first.row.way.name(),
                first.former_mm(),
                arm.length()
            );
            let plan = plans.remove(place);
            plans.insert(0, plan);
        }
        Self { plans, why, refused }
    }
}
