//! Mass, stored energy and natural frequency.

use std::f64::consts::{PI, TAU};

use serde::Serialize;

use super::closing::Closing;
use super::turns::slot_length;
use crate::layout::Spring;
use crate::numeric::exact_units::STANDARD_GRAVITY;
use crate::spec::Duty;

/// Share of a spring's own mass that oscillates with the load: velocity linear along the spring (Rayleigh).
const SWINGING_SHARE: f64 = 1.0 / 3.0;

/// A mass that oscillates on the spring.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Swing {
    /// mass carried (kg)
    pub mass_kg: f64,
    /// deflection about which it oscillates (mm)
    pub deflection_mm: f64,
    /// rate there (N/mm)
    pub rate_n_per_mm: f64,
    /// natural frequency (Hz)
    pub frequency_hz: f64,
}

/// Mass and energy.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MassCheck {
    /// area of the flat part (mm²)
    pub area_mm2: f64,
    /// mass of the part (g); none without a density
    pub mass_g: Option<f64>,
    /// weight of the part (N); none without a density
    pub weight_n: Option<f64>,
    /// energy stored when closed (J): ∫ F dx
    pub energy_j: f64,
    /// half of force times travel when closed (J), as cautions usually count
    pub half_force_travel_j: f64,
    /// the mass that oscillates, where one was given that the spring can carry
    pub swing: Option<Swing>,
}

impl MassCheck {
    /// Of a pressed spring; the duty gives the carried mass.
    pub fn of(spring: &Spring, closing: &Closing, duty: &Duty) -> Self {
        let disc = &spring.disc;
        let slots = spring.arms as f64
            * (spring.slot * slot_length(spring, &closing.arm) + 0.25 * PI * spring.slot.powi(2));
        let area_mm2 = PI * (disc.outer_radius.powi(2) - disc.bore_radius.powi(2)) - slots;
        // g/cm³ times mm³ is milligrams
        let mass_g = spring.sheet.density.map(|density| 1e-3 * density * area_mm2 * spring.sheet.thickness);
        let closed = closing.closed();
        let energy: f64 = closing
            .states
            .windows(2)
            .map(|pair| 0.5 * (pair[0].force + pair[1].force) * (pair[1].deflection - pair[0].deflection))
            .sum();
        let swing = duty.carried_mass.and_then(|mass| {
            let deflection = duty.working_deflection.or_else(|| resting(closing, mass * STANDARD_GRAVITY))?;
            let rate = rate_at(closing, deflection)?;
            let moving = mass + SWINGING_SHARE * 1e-3 * mass_g.unwrap_or(0.0);
            Some(Swing {
                mass_kg: mass,
                deflection_mm: deflection,
                rate_n_per_mm: rate,
                frequency_hz: natural_frequency(rate, moving),
            })
        });
        Self {
            area_mm2,
            mass_g,
            weight_n: mass_g.map(|mass| 1e-3 * mass * STANDARD_GRAVITY),
            energy_j: 1e-3 * energy,
            half_force_travel_j: 0.5e-3 * closed.force * closed.deflection,
            swing,
        }
    }
}

/// Natural frequency (Hz) of a mass (kg) on a rate (N/mm): √(k/m)/2π.
pub fn natural_frequency(rate: f64, mass: f64) -> f64 {
    (1e3 * rate / mass).sqrt() / TAU
}

/// Deflection at which the spring carries `force` (N); none where it cannot.
fn resting(closing: &Closing, force: f64) -> Option<f64> {
    closing.states.windows(2).find(|pair| pair[0].force <= force && force <= pair[1].force).map(|pair| {
        let share = (force - pair[0].force) / (pair[1].force - pair[0].force);
        pair[0].deflection + share * (pair[1].deflection - pair[0].deflection)
    })
}

/// Tangent rate at a deflection (N/mm); none outside the travel.
fn rate_at(closing: &Closing, deflection: f64) -> Option<f64> {
    let response = closing.model.response(&[deflection]).ok()?;
    response.rate.first().copied().filter(|rate| rate.is_finite() && *rate > 0.0)
}
