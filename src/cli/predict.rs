//! `flatspire predict`: a spring in, its curve out.

use std::path::Path;

use serde::Serialize;

use super::arguments::{General, PredictOptions};
use super::failure::Failure;
use super::{Verdict, assembled, files, folder, given_spring, terminal};
use crate::checks::{Ring, Root, SlotEnd, along_in_words, ring_stress, root_stress};
use crate::layout::Spring;
use crate::model::{ArmState, Model, ModelError, ModelSettings};
use crate::numeric::figures;
use crate::package::response_csv;
use crate::plot::Quantity;
use crate::response::CLOSED_SHARE;
use crate::spec::Process;

/// Rows of the table where no deflections are given.
const ROWS: usize = 99;

#[derive(Serialize)]
struct Prediction<'a> {
    free_height_mm: f64,
    curve: Columns<'a>,
    stress: RootStresses,
}

/// Stress at the roots over the deflections of the curve.
#[derive(Serialize)]
struct RootStresses {
    slot_ends: Vec<OverDeflection>,
    rings: Vec<OverDeflection>,
}

#[derive(Serialize)]
struct OverDeflection {
    root: Root,
    stress_mpa: Vec<f64>,
}

impl RootStresses {
    /// Of a spring at deflections (mm); empty where the arms end in ideal clamps.
    fn of(
        spring: &Spring,
        process: &Process,
        model: &Model,
        deflections: &[f64],
    ) -> Result<Self, ModelError> {
        let mut found = Self { slot_ends: Vec::new(), rings: Vec::new() };
        let (Some(ends), Some(rings)) = (SlotEnd::of(spring, process, model), Ring::of(spring, model)) else {
            return Ok(found);
        };
        let states = model.states(deflections)?;
        for (k, root) in Root::BOTH.into_iter().enumerate() {
            let over = |stress: &dyn Fn(&ArmState) -> [f64; 2]| OverDeflection {
                root,
                stress_mpa: states.iter().map(|state| stress(state)[k]).collect(),
            };
            found.slot_ends.push(over(&|state| root_stress(&ends, model, state)));
            found.rings.push(over(&|state| ring_stress(&rings, model, state)));
        }
        Ok(found)
    }
}

#[derive(Serialize)]
struct Columns<'a> {
    deflection_mm: &'a [f64],
    #[serde(skip_serializing_if = "Option::is_none")]
    travel_mm: Option<Vec<f64>>,
    force_n: &'a [f64],
    rate_n_per_mm: &'a [f64],
    seated_share: &'a [f64],
    peak_stress_mpa: &'a [f64],
    peak_station_share: &'a [f64],
}

/// Share of the travel by which a tester's zero may be off.
const ZERO_OFF: f64 = 0.02;

/// Deflections of a file as the spring can have them: a little below zero is a tester's zero, anything else outside is
/// refused.
fn within_travel(mut deflections: Vec<f64>, travel: f64, path: &Path) -> Result<Vec<f64>, Failure> {
    let mut moved = 0;
    for deflection in &mut deflections {
        if *deflection < 0.0 && *deflection >= -ZERO_OFF * travel {
            *deflection = 0.0;
            moved += 1;
        }
        if !(0.0..=travel).contains(deflection) {
            return Err(Failure::OutsideTravel {
                file: files::name(path),
                found: figures(*deflection),
                travel: figures(travel),
            });
        }
    }
    if moved > 0 {
        terminal::note("deflections a little below zero are taken as the free height");
    }
    deflections.dedup();
    Ok(deflections)
}

/// Predicts a spring's curve.
pub fn run(options: &PredictOptions, general: &General) -> Result<Verdict, Failure> {
    if let Some(path) = assembled::path_of(&options.spring) {
        return assembled::predict(&path, options, general);
    }
    let (file, spring) = given_spring::read(&options.spring, &options.drawn)?;
    let installed = file.duty.as_ref().and_then(|duty| duty.installed).unwrap_or(0.0);
    let failed = |source| Failure::Model { file: files::name(&options.spring), source };
    let model = Model::of(&spring, &ModelSettings::default()).map_err(failed)?;
    let travel = model.travel();
    let deflections = match &options.at {
        Some(path) => within_travel(files::read_deflections(path)?, travel, path)?,
        None => (0..=ROWS).map(|k| CLOSED_SHARE * travel * k as f64 / ROWS as f64).collect(),
    };
    let response = model.response(&deflections).map_err(failed)?;
    if response.not_converged > 0 {
        terminal::warn(&format!(
            "the equilibrium iteration did not converge at {} of {} points: take them as estimates",
            response.not_converged,
            response.len()
        ));
    }
    if let Some(from) = response.first_fall() {
        terminal::warn(&format!(
            "the force falls from {from:.2} mm on: pressed by a weight the spring snaps through there; lower the free height \
             or take thicker sheet"
        ));
    }
    if let Some(path) = &options.out {
        let table = response_csv(&response, installed);
        let header = table.lines().next().unwrap_or_default();
        folder::write(path, table.as_bytes(), |found| found.starts_with(header.as_bytes()), options.force)?;
        terminal::note(&format!("{} deflections written to {}", response.len(), files::output_name(path)));
    }
    if general.json {
        let process = file.process.clone().unwrap_or_default();
        let stress = RootStresses::of(&spring, &process, &model, &deflections).map_err(failed)?;
        let prediction = Prediction {
            free_height_mm: travel,
            stress,
            curve: Columns {
                deflection_mm: &response.deflection,
                travel_mm: (installed > 0.0)
                    .then(|| response.deflection.iter().map(|x| x - installed).collect()),
                force_n: &response.force,
                rate_n_per_mm: &response.rate,
                seated_share: &response.seated_share,
                peak_stress_mpa: &response.peak_stress,
                peak_station_share: &response.peak_station,
            },
        };
        terminal::print_json(&prediction)?;
    } else if options.out.is_none() {
        terminal::print(&response_csv(&response, installed))?;
    }
    let worst =
        (0..response.len()).max_by(|&a, &b| response.peak_stress[a].total_cmp(&response.peak_stress[b]));
    if let Some(worst) = worst {
        let units = general.units.into();
        terminal::note(&format!(
            "peak stress {} at {} deflection, {}",
            crate::numeric::with_unit(response.peak_stress[worst], Quantity::Stress, units),
            crate::numeric::with_unit(response.deflection[worst], Quantity::Length, units),
            along_in_words(response.peak_station[worst])
        ));
    }
    Ok(Verdict::Passed)
}
