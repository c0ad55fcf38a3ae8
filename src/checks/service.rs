//! Heat and time in service: force at temperature, and loss under load.

use serde::Serialize;

use super::finding::{Finding, Severity};
use super::strength::StrengthCheck;
use crate::layout::SheetProperties;
use crate::material::service_of;
use crate::numeric::{decimal, signed};
use crate::spec::Duty;

/// Temperature in service where none is given (°C).
const ROOM: f64 = 20.0;

/// Force at the temperature of `[duty] temperature`, and its loss over `[duty] hours`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ServiceCheck {
    /// temperature in service (°C)
    pub temperature_c: f64,
    /// highest temperature for the sheet (°C)
    pub temperature_max_c: f64,
    /// force at that temperature over the force at room temperature
    pub force_factor: f64,
    /// hours under load; none where not asked
    pub hours: Option<f64>,
    /// loss of force over these hours, low and high (percent)
    pub loss_percent: Option<[f64; 2]>,
    /// surface stress at the last deflection asked for over the proof strength, for which the loss is
    pub stress_ratio: f64,
    /// sources with their marks
    pub source: String,
}

impl ServiceCheck {
    /// For a spring of `sheet` with these stresses; none where neither temperature nor hours are asked for, or where
    /// nothing is known.
    pub fn of(duty: &Duty, stress: &StrengthCheck, sheet: &SheetProperties) -> Option<Self> {
        if duty.temperature.is_none() && duty.hours.is_none() {
            return None;
        }
        let service = service_of(sheet.material.as_deref()?)?;
        let temperature = duty.temperature.unwrap_or(ROOM);
        let stress_ratio = stress.peak_mpa / stress.allowable_mpa?;
        Some(Self {
            temperature_c: temperature,
            temperature_max_c: service.temperature_max(),
            force_factor: service.modulus_factor(temperature),
            hours: duty.hours,
            loss_percent: duty.hours.map(|hours| service.loss_percent(temperature, hours, stress_ratio)),
            stress_ratio,
            source: service.sources(),
        })
    }

    /// In words: force at temperature, loss over the hours.
    pub fn words(&self) -> String {
        let mut words = format!(
            "{} % force at {} °C",
            signed(100.0 * (self.force_factor - 1.0), 1),
            decimal(self.temperature_c, 0)
        );
        if let (Some(hours), Some([low, high])) = (self.hours, self.loss_percent) {
            words.push_str(&format!(", {low:.1} to {high:.1} % of it lost in {hours:.0} h under load"));
        }
        words
    }

    /// Findings: too hot for the sheet.
    pub fn findings(&self) -> Vec<Finding> {
        if self.temperature_c <= self.temperature_max_c {
            return Vec::new();
        }
        vec![Finding::new(
            "service",
            Severity::Failed,
            "in service",
            [self.temperature_c, self.temperature_max_c],
            "°C",
            format!("highest temperature for springs of this sheet; {}", self.source),
            "take a sheet for this temperature: 1.4310 to 250 °C, 1.4568 to 315 °C, 51CrV4 to 220 °C",
        )]
    }
}
