//! Endurance of a cut steel edge, and the life under a cyclic stress.
//!
//! Zimmerli's torsion tests of steel springs, unpeened, infinite life: amplitude 241 MPa with mean 379 MPa, whatever
//! the strength; torsional modulus of rupture 0.67 Rm (both as given in Shigley's Mechanical Engineering Design,
//! fatigue loading of helical compression springs). Goodman: `S_se = S_sa/(1 − S_sm/S_su)`. The factor of the cut edge
//! multiplies S_se. Below some Rm = 1400 MPa that line would rate softer steels higher: there the endurance limit of
//! steels, half of Rm (Shigley, on Mischke's collection), by distortion energy 0.577 of it in shear, is lower and is
//! used.

use serde::Serialize;

/// Amplitude that unpeened steel springs endure (MPa). Zimmerli.
const ZIMMERLI_AMPLITUDE: f64 = 241.0;

/// Mean stress of those tests (MPa). Zimmerli.
const ZIMMERLI_MEAN: f64 = 379.0;

/// Torsional modulus of rupture over Rm. Shigley.
const RUPTURE_SHARE: f64 = 0.67;

/// Endurance limit of steels in bending over Rm. Shigley.
const ENDURANCE_SHARE: f64 = 0.5;

/// Shear over normal stress of equal distortion energy.
const DISTORTION_ENERGY: f64 = 0.577;

/// Fully reversed strength at a thousand cycles over the modulus of rupture. Shigley gives 0.77 to 0.9 for the share
/// f over this range of strength; the lower part is taken. From memory.
pub(super) const SHARE_AT_THOUSAND: f64 = 0.8;

/// Safety factor on stress with which the cycles asked for have to be reached, and between the ends of the range of a
/// life and its estimate. 1.2 to 1.3 is common practice for Goodman lines of springs, no source.
pub const LIFE_SAFETY: f64 = 1.2;

/// Cycles from which the endurance limit decides (Shigley).
pub(super) const ENDURANCE_CYCLES: f64 = 1e6;

/// Fatigue strength of the sheet's cut edge in shear (MPa).
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct EnduranceLimit {
    /// modulus of rupture S_su
    pub rupture_mpa: f64,
    /// fully reversed endurance S_se of a good surface
    pub reversed_mpa: f64,
    /// factor of the cut edge
    pub edge_factor: f64,
}

impl EnduranceLimit {
    /// For a steel of tensile strength `tensile` (MPa) with an edge factor; none where the mean stress of the tests
    /// already exceeds the modulus of rupture.
    pub fn of(tensile: f64, edge_factor: f64) -> Option<Self> {
        let rupture = RUPTURE_SHARE * tensile;
        let reversed = ZIMMERLI_AMPLITUDE / (1.0 - ZIMMERLI_MEAN / rupture);
        let reversed = reversed.min(DISTORTION_ENERGY * ENDURANCE_SHARE * tensile);
        (rupture > ZIMMERLI_MEAN && reversed.is_finite()).then_some(Self {
            rupture_mpa: rupture,
            reversed_mpa: reversed,
            edge_factor,
        })
    }

    /// Endurance of the cut edge (MPa).
    fn edge(&self) -> f64 {
        self.reversed_mpa * self.edge_factor
    }

    /// Factor by which amplitude and mean (MPa, in shear) can rise together before the Goodman line.
    pub fn factor(&self, amplitude: f64, mean: f64) -> f64 {
        1.0 / (amplitude / self.edge() + mean / self.rupture_mpa)
    }

    /// Cycles to failure by a straight line in logarithms from `0.8 S_su` at 10³ to S_se at 10⁶ for the fully reversed
    /// stress that Goodman's line makes of amplitude and mean; none for an infinite life (Basquin; Shigley).
    pub fn life(&self, amplitude: f64, mean: f64) -> Option<f64> {
        if self.factor(amplitude, mean) >= 1.0 {
            return None;
        }
        let room = 1.0 - mean / self.rupture_mpa;
        if room <= 0.0 {
            return Some(1.0);
        }
        let reversed = amplitude / room;
        let (low, high) = (SHARE_AT_THOUSAND * self.rupture_mpa, self.edge());
        let exponent = -(low / high).log10() / 3.0;
        Some((1e3 * (reversed / low).powf(1.0 / exponent)).max(1.0))
    }

    /// Share of the stress used up by `cycles` with the safety factor [`LIFE_SAFETY`]: 1 where the cycles are just reached.
    /// Amplitude and mean may rise together by the inverse of the share.
    pub fn share_used(&self, cycles: f64, amplitude: f64, mean: f64) -> f64 {
        let endless = self.edge();
        // the reversed stress that lasts so many cycles, on the line of `life`
        let (low, high) = (SHARE_AT_THOUSAND * self.rupture_mpa, endless);
        let exponent = -(low / high).log10() / 3.0;
        let lasting = if cycles >= ENDURANCE_CYCLES {
            endless
        } else {
            (low * (cycles.max(1.0) / 1e3).powf(exponent)).max(endless)
        };
        LIFE_SAFETY * (amplitude / lasting + mean / self.rupture_mpa)
    }

    /// Range of the life: at [`LIFE_SAFETY`] times the stress, and at the stress divided by it.
    pub fn life_range(&self, amplitude: f64, mean: f64) -> [Option<f64>; 2] {
        [LIFE_SAFETY, 1.0 / LIFE_SAFETY].map(|scale| self.life(scale * amplitude, scale * mean))
    }
}

/// A number of cycles at two significant figures, digits in groups of three.
pub fn cycles_in_words(cycles: f64) -> String {
    if !cycles.is_finite() {
        return "endless".to_owned();
    }
    let cycles = cycles.max(0.0);
    let step = 10f64.powf((cycles.max(10.0).log10() + 1e-12).floor() - 1.0);
    let rounded = (cycles / step).round() * step;
    if rounded >= 1e6 {
        let millions = rounded / 1e6;
        let digits = usize::from(millions < 9.95 && (millions.fract() > 0.05));
        return format!("{millions:.digits$} million");
    }
    let plain = format!("{rounded:.0}");
    match plain.len().checked_sub(3).filter(|head| *head > 0) {
        Some(head) => format!("{},{}", &plain[..head], &plain[head..]),
        None => plain,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_goodman_point_by_hand() {
        // Rm 1500: S_su = 1005; S_se = 241/(1 − 379/1005) = 386.9, less than 0.577·0.5·1500 = 432.8; with an edge of 0.8
        // 309.5. Amplitude 200, mean 300: 1/(200/309.5 + 300/1005) = 1.0585
        let limit = EnduranceLimit::of(1500.0, 0.8).unwrap();
        assert_relative_eq!(limit.reversed_mpa, 386.9, max_relative = 1e-4);
        assert_relative_eq!(limit.factor(200.0, 300.0), 1.0585, max_relative = 1e-4);
    }

    #[test]
    fn a_basquin_life_by_hand() {
        // the same edge; amplitude 300, mean 300: reversed 300/(1 − 300/1005) = 427.66; from 804 at 10³ to 309.5 at 10⁶
        // the exponent is −log10(804/309.5)/3 = −0.13819, life 10³ (427.66/804)^(1/−0.13819) = 96,500
        let limit = EnduranceLimit::of(1500.0, 0.8).unwrap();
        assert_relative_eq!(limit.life(300.0, 300.0).unwrap(), 96_500.0, max_relative = 5e-3);
    }

    #[test]
    fn the_share_used_is_one_where_the_cycles_are_just_reached() {
        let limit = EnduranceLimit::of(1500.0, 0.8).unwrap();
        for cycles in [2e3, 5e4, 9e5] {
            let share = limit.share_used(cycles, 200.0, 250.0);
            let (amplitude, mean) = (200.0 / share, 250.0 / share);
            let life = limit.life(LIFE_SAFETY * amplitude, LIFE_SAFETY * mean).unwrap();
            assert_relative_eq!(life, cycles, max_relative = 1e-6);
        }
        let share = limit.share_used(1e7, 200.0, 250.0);
        assert_relative_eq!(share * limit.factor(200.0, 250.0), LIFE_SAFETY, max_relative = 1e-12);
    }

    #[test]
    fn the_stress_that_was_tested_lies_on_the_line() {
        let limit = EnduranceLimit::of(1500.0, 1.0).unwrap();
        assert_relative_eq!(limit.factor(241.0, 379.0), 1.0, max_relative = 1e-12);
    }

    #[test]
    fn the_life_line_runs_through_both_its_ends() {
        let limit = EnduranceLimit::of(1500.0, 0.8).unwrap();
        let endurance = 0.8 * limit.reversed_mpa;
        assert_eq!(limit.life(0.999 * endurance, 0.0), None);
        assert_relative_eq!(limit.life(1.000_001 * endurance, 0.0).unwrap(), 1e6, max_relative = 1e-3);
        assert_relative_eq!(limit.life(0.8 * limit.rupture_mpa, 0.0).unwrap(), 1e3, max_relative = 1e-9);
        assert!(limit.life(300.0, 700.0).unwrap() < limit.life(300.0, 500.0).unwrap());
        let [low, high] = limit.life_range(300.0, 300.0);
        let life = limit.life(300.0, 300.0).unwrap();
        assert!(low.unwrap() < life && high.is_none_or(|high| high > life));
    }

    #[test]
    fn a_softer_sheet_never_endures_more() {
        let limits: Vec<EnduranceLimit> =
            (0..=14).filter_map(|k| EnduranceLimit::of(600.0 + 100.0 * f64::from(k), 1.0)).collect();
        assert_eq!(limits.len(), 15);
        for pair in limits.windows(2) {
            assert!(pair[1].factor(100.0, 200.0) > 0.98 * pair[0].factor(100.0, 200.0));
            assert!(pair[0].edge() < SHARE_AT_THOUSAND * pair[0].rupture_mpa);
        }
    }

    #[test]
    fn a_worse_edge_lowers_the_factor() {
        let good = EnduranceLimit::of(1300.0, 0.9).unwrap();
        let laser = EnduranceLimit::of(1300.0, 0.6).unwrap();
        assert!(laser.factor(200.0, 300.0) < good.factor(200.0, 300.0));
        assert_eq!(EnduranceLimit::of(500.0, 1.0), None);
    }

    #[test]
    fn cycles_have_two_digits() {
        for (cycles, words) in [
            (138_412.0, "140,000"),
            (13_600.0, "14,000"),
            (9_960.0, "10,000"),
            (874.0, "870"),
            (7.0, "7"),
            (2_340_000.0, "2.3 million"),
            (2_000_000.0, "2 million"),
            (12_300_000.0, "12 million"),
            (999_999.0, "1 million"),
        ] {
            assert_eq!(cycles_in_words(cycles), words);
        }
    }
}
