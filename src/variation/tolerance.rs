//! Tolerances of parts, each with its source.

use serde::Serialize;

use super::cause::{CAUSES, Cause};
use super::random::RandomStream;
use crate::layout::{SheetProperties, Spring};
use crate::material::{self, thickness_tolerance};
use crate::outline::CutRules;
use crate::spec::{Process, Tolerance};

/// ± on both moduli (percent): melt, rolling and heat treatment. Judgement, no source.
const MODULUS_PERCENT: f64 = 3.0;
/// ± on the thickness where no table reaches, over the thickness. Judgement, no source.
const THICKNESS_SHARE: f64 = 0.03;
/// ± on the free height over the height, and the least of it (mm): setting springs back unevenly. Judgement, no source.
const HEIGHT_SHARE: f64 = 0.02;
const HEIGHT_LEAST: f64 = 0.1;
/// ± on the former's shape halfway up over the free height, and the least of it (mm). Judgement, no source.
const CONE_SHARE: f64 = 0.005;
const CONE_LEAST: f64 = 0.03;
/// ± on the edge slope over the process's edge slope. Judgement, no source.
const EDGE_SHARE: f64 = 0.5;
/// Nothing lies beyond so many standard deviations, one and a half times the ±: sheet outside its tolerance is mostly
/// caught, and a setting that is far off is seen.
const CUT_OFF: f64 = 3.0;
/// Standard deviation of a standard normal cut off there: √(1 − 6 φ(3)/(2Φ(3) − 1)).
const CUT_OFF_DEVIATION: f64 = 0.986_58;

/// Distribution of parts within a ±.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Law {
    /// normal, the ± two standard deviations, cut off at one and a half times the ±
    Normal,
    /// even: what grows steadily within a batch
    Even,
}

/// The ± of one cause.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spread {
    /// cause
    pub cause: Cause,
    /// ± of its amount, in `unit`
    pub plus_minus: f64,
    /// mm or %
    pub unit: &'static str,
    /// distribution within it
    pub law: Law,
    /// source of the number
    pub source: String,
}

impl Spread {
    /// One standard deviation of what is drawn, in the spread's unit.
    pub fn deviation(&self) -> f64 {
        match self.law {
            Law::Normal => 0.5 * CUT_OFF_DEVIATION * self.plus_minus,
            Law::Even => self.plus_minus / 3f64.sqrt(),
        }
    }

    /// One part's amount.
    pub(super) fn draw(&self, stream: &mut RandomStream) -> f64 {
        match self.law {
            Law::Normal => 0.5 * self.plus_minus * stream.truncated_normal(CUT_OFF),
            Law::Even => self.plus_minus * (2.0 * stream.uniform() - 1.0),
        }
    }
}

/// The ± of every cause, in the order of [`Cause::ALL`].
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Tolerances(pub [Spread; CAUSES]);

impl Tolerances {
    /// The given tolerances, with tables and judgement for the rest.
    pub fn of(spring: &Spring, given: &Tolerance, process: &Process) -> Self {
        Self::of_sizes(
            &spring.sheet,
            2.0 * spring.disc.outer_radius,
            spring.former.free_height,
            given,
            process,
        )
    }

    /// The same for a disc of which no more is known than its sheet, outside diameter (mm) and free height (mm).
    pub fn of_sizes(
        sheet: &SheetProperties,
        outer_diameter: f64,
        height: f64,
        given: &Tolerance,
        process: &Process,
    ) -> Self {
        let rules = CutRules::of(process, sheet.thickness);
        Self(Cause::ALL.map(|cause| {
            let (plus_minus, source) = match cause {
                Cause::Thickness => of_thickness(sheet, outer_diameter, given),
                Cause::Modulus => given_or(given.modulus_percent, MODULUS_PERCENT, "judgement".to_owned()),
                Cause::Kerf => given_or(
                    given.kerf,
                    rules.tolerance,
                    format!("everyday tolerance of a width, {}", rules.process),
                ),
                Cause::FreeHeight => given_or(
                    given.free_height,
                    (HEIGHT_SHARE * height).max(HEIGHT_LEAST),
                    format!(
                        "{} % of the free height, {HEIGHT_LEAST} mm or more; judgement",
                        100.0 * HEIGHT_SHARE
                    ),
                ),
                Cause::KerfDrift => match given.kerf_drift {
                    Some(drift) => {
                        (0.5 * drift, "half of the drift given, the offset set for its middle".to_owned())
                    }
                    None => (0.0, "none given: part of the kerf's ±".to_owned()),
                },
                Cause::EdgeSlope => given_or(
                    given.edge_slope,
                    EDGE_SHARE * rules.edge_slope.abs(),
                    format!("{} % of the edge slope, {}; judgement", 100.0 * EDGE_SHARE, rules.process),
                ),
                Cause::Cone => given_or(
                    given.cone,
                    (CONE_SHARE * height).max(CONE_LEAST),
                    format!(
                        "{} % of the free height, {CONE_LEAST} mm or more; judgement",
                        100.0 * CONE_SHARE
                    ),
                ),
            };
            let law = if cause == Cause::KerfDrift { Law::Even } else { Law::Normal };
            Spread { cause, plus_minus, unit: cause.unit(), law, source }
        }))
    }

    /// The ± of one cause.
    pub fn of_cause(&self, cause: Cause) -> &Spread {
        // the order of the list is that of the causes
        &self.0[cause as usize]
    }

    /// Standard deviations, in the order of [`Cause::ALL`].
    pub fn deviations(&self) -> [f64; CAUSES] {
        std::array::from_fn(|k| self.0[k].deviation())
    }

    /// Tolerances that remain once the sheet at hand is measured: the coil's own thickness and modulus are known then.
    #[must_use]
    pub fn sheet_measured(&self) -> Self {
        let mut left = self.clone();
        for spread in &mut left.0 {
            if matches!(spread.cause, Cause::Thickness | Cause::Modulus) {
                spread.plus_minus = 0.0;
            }
        }
        left
    }

    /// The same tolerances, all of them narrowed by a factor.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        let mut scaled = self.clone();
        for spread in &mut scaled.0 {
            spread.plus_minus *= factor;
        }
        scaled
    }
}

fn given_or(given: Option<f64>, otherwise: f64, source: String) -> (f64, String) {
    given.map_or((otherwise, source), |value| (value, "as given".to_owned()))
}

fn of_thickness(sheet: &SheetProperties, outer_diameter: f64, given: &Tolerance) -> (f64, String) {
    let thickness = sheet.thickness;
    let class = given.thickness_class.unwrap_or_default();
    // the disc has to come out of the strip
    let strip = given.strip_width.unwrap_or(outer_diameter);
    let sheet = sheet.material.as_deref().and_then(|name| material::find(name).ok());
    let found = sheet.and_then(|sheet| thickness_tolerance(sheet, thickness, strip, class));
    found.map_or_else(
        || {
            let share = 100.0 * THICKNESS_SHARE;
            (THICKNESS_SHARE * thickness, format!("{share} % of the thickness, no table reaches; judgement"))
        },
        |sourced| (sourced.value, format!("{}, {class:?} class, strip {strip:.0} mm wide", sourced.source)),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::ToleranceClass;
    use crate::spec::SpringFile;

    const TEXT: &str = "[sheet]\nthickness = 1.2\nmaterial = \"1.4310+C1300\"\n[disc]\narms = 2\nslot = 1.4\n\
        outer_diameter = 75\narm_outer_diameter = 60\narm_inner_diameter = 20\n[arm]\nradius = [10, 30]\n\
        width = [2.4, 5.6]\n[former]\nfree_height = 9.0\n";

    fn spring(text: &str) -> Spring {
        Spring::from_file(&SpringFile::parse(text, "spring.toml").unwrap(), None).unwrap()
    }

    #[test]
    fn tables_fill_in_what_is_not_given() {
        let found = Tolerances::of(&spring(TEXT), &Tolerance::default(), &Process::default());
        // strip under 125 mm, 1.2 mm thick, normal class: ISO 9445-1; the rest as documented above
        let expected = [0.040, 3.0, 0.1, 0.18, 0.0, 0.025, 0.045];
        for (spread, expected) in found.0.iter().zip(expected) {
            assert!((spread.plus_minus - expected).abs() < 1e-12, "{spread:?}, expected {expected}");
        }
        let given = Tolerance {
            thickness_class: Some(ToleranceClass::Precision),
            kerf: Some(0.02),
            kerf_drift: Some(0.1),
            edge_slope: Some(0.01),
            modulus_percent: Some(1.0),
            cone: Some(0.02),
            ..Tolerance::default()
        };
        let found = Tolerances::of(&spring(TEXT), &given, &Process::default());
        assert_eq!(
            found.0.each_ref().map(|spread| spread.plus_minus),
            [0.020, 1.0, 0.02, 0.18, 0.05, 0.01, 0.02]
        );
        assert!(found.0[0].source.contains("Precision"), "{}", found.0[0].source);
        assert_eq!(found.of_cause(Cause::Cone).cause, Cause::Cone);
        assert_eq!(found.of_cause(Cause::KerfDrift).law, Law::Even);
    }

    #[test]
    fn a_sheet_without_a_table_says_so() {
        let own =
            TEXT.replace("material = \"1.4310+C1300\"", "youngs_modulus = 206000\nshear_modulus = 79000");
        let found = Tolerances::of(&spring(&own), &Tolerance::default(), &Process::default());
        assert!((found.0[0].plus_minus - 0.036).abs() < 1e-12);
        assert!(found.0[0].source.contains("no table reaches"));
    }

    #[test]
    fn draws_spread_as_stated() {
        let found = Tolerances::of(
            &spring(TEXT),
            &Tolerance { kerf_drift: Some(0.2), ..Tolerance::default() },
            &Process::default(),
        );
        for spread in &found.0 {
            let draws: Vec<f64> = (0..20_000).map(|k| spread.draw(&mut RandomStream::new(3, k))).collect();
            let variance = draws.iter().map(|x| x * x).sum::<f64>() / draws.len() as f64;
            let ratio = variance.sqrt() / spread.deviation();
            assert!((ratio - 1.0).abs() < 0.02, "{:?}: {ratio}", spread.cause);
            assert!(draws.iter().all(|x| x.abs() <= 1.5 * spread.plus_minus + 1e-12));
        }
    }
}
