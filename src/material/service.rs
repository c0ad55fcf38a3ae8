//! Heat and time in service, from `data/service.toml`: moduli, highest temperature, loss of force under load.

use std::sync::OnceLock;

use serde::{Deserialize, Serialize};

use super::mark::Mark;

/// Room temperature, at which moduli and strengths of the stock hold (°C).
const ROOM: f64 = 20.0;

/// Share of Rp0.2 at the surface for which the losses are tabulated.
const LOSS_STRESS: f64 = 0.75;

/// Hours for which the losses are tabulated.
const LOSS_HOURS: f64 = 1000.0;

/// Growth of the loss per decade of hours over that of 1000 h: 0.75 of it after 48 h, 1.4 times after ten years (recalled).
const LOSS_PER_DECADE: f64 = 0.2;

/// Range of a loss that is known as an order of magnitude: half to twice.
const LOSS_RANGE: [f64; 2] = [0.5, 2.0];

/// A value with its source and mark.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Marked {
    value: f64,
    source: String,
    mark: Mark,
}

/// Loss of force over temperature.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Loss {
    temperature: Vec<f64>,
    percent: Vec<f64>,
    source: String,
    mark: Mark,
}

/// Effect of heat and time on sheets of one alloy.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Service {
    sheets: Vec<String>,
    modulus_per_kelvin: Marked,
    temperature_max: Marked,
    loss: Loss,
}

impl Service {
    /// Modulus at a temperature (°C) over that at room temperature.
    pub fn modulus_factor(&self, temperature: f64) -> f64 {
        1.0 + self.modulus_per_kelvin.value * (temperature - ROOM)
    }

    /// Highest service temperature (°C).
    pub fn temperature_max(&self) -> f64 {
        self.temperature_max.value
    }

    /// Percent of the force lost, low and high, under a surface stress of `ratio` times Rp0.2 for `hours` at a
    /// temperature (°C).
    ///
    /// Proportional to the square of the stress and to the logarithm of time (recalled).
    pub fn loss_percent(&self, temperature: f64, hours: f64, ratio: f64) -> [f64; 2] {
        let (t, percent) = (&self.loss.temperature, &self.loss.percent);
        let last = t.len() - 1;
        let i = t.partition_point(|at| *at <= temperature).clamp(1, last);
        let share = ((temperature - t[i - 1]) / (t[i] - t[i - 1])).clamp(0.0, 1.0);
        let tabulated = percent[i - 1] + share * (percent[i] - percent[i - 1]);
        let time = (1.0 + LOSS_PER_DECADE * (hours / LOSS_HOURS).log10()).max(0.0);
        let middle = tabulated * time * (ratio / LOSS_STRESS).powi(2);
        LOSS_RANGE.map(|factor| (factor * middle).min(100.0))
    }

    /// Sources of the three, with their marks.
    pub fn sources(&self) -> String {
        let named = |source: &str, mark: Mark| format!("{source} ({})", mark.words());
        format!(
            "moduli: {}; highest temperature: {}; loss: {}",
            named(&self.modulus_per_kelvin.source, self.modulus_per_kelvin.mark),
            named(&self.temperature_max.source, self.temperature_max.mark),
            named(&self.loss.source, self.loss.mark)
        )
    }
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    service: Vec<Service>,
}

/// The row of a sheet of the stock; none where nothing is known.
pub fn service_of(sheet: &str) -> Option<&'static Service> {
    static ROWS: OnceLock<Vec<Service>> = OnceLock::new();
    // part of the program, and a test reads it: an empty table cannot be released
    let rows = ROWS.get_or_init(|| {
        toml::from_str::<Table>(include_str!("../../data/service.toml"))
            .map_or_else(|_| Vec::new(), |table| table.service)
    });
    rows.iter().find(|row| row.sheets.iter().any(|beginning| sheet.starts_with(beginning.as_str())))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn every_row_is_plausible() {
        let table: Table = toml::from_str(include_str!("../../data/service.toml")).unwrap();
        for row in &table.service {
            let loss = &row.loss;
            assert_eq!(loss.temperature.len(), loss.percent.len(), "{row:?}");
            assert!(loss.temperature.is_sorted_by(|a, b| a < b) && loss.percent.is_sorted(), "{row:?}");
            assert!((-1e-3..0.0).contains(&row.modulus_per_kelvin.value), "{row:?}");
            assert!((80.0..400.0).contains(&row.temperature_max.value), "{row:?}");
        }
    }

    #[test]
    fn moduli_fall_as_in_the_handbook_table() {
        // carbon steel above 0.3 % C, GPa at °C: 202 at 21, 193.7 at 149, 189.6 at 204
        let carbon = service_of("C75S+QT").unwrap();
        for (temperature, gpa) in [(149.0, 193.7), (204.0, 189.6)] {
            let at = |t: f64| carbon.modulus_factor(t);
            assert_abs_diff_eq!(202.0 * at(temperature) / at(21.0), gpa, epsilon = 1.5);
        }
    }

    #[test]
    fn loss_grows_with_stress_time_and_heat() {
        let strip = service_of("1.4310+C1300").unwrap();
        assert_eq!(strip.loss_percent(150.0, 1000.0, 0.75), [2.0, 8.0]);
        // 48 h: three quarters of the loss of 1000 h; ten years: 1.4 times as much
        assert_abs_diff_eq!(strip.loss_percent(150.0, 48.0, 0.75)[1], 0.75 * 8.0, epsilon = 0.15);
        assert_abs_diff_eq!(strip.loss_percent(150.0, 87_600.0, 0.75)[1], 1.4 * 8.0, epsilon = 0.15);
        assert_abs_diff_eq!(strip.loss_percent(150.0, 1000.0, 0.375)[1], 2.0, epsilon = 1e-9);
        assert!(strip.loss_percent(125.0, 1000.0, 0.75)[1] < 8.0);
        assert!(service_of("7075-T6").is_none());
    }
}
