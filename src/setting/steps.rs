//! Steps in the workshop for one way of setting, with this spring's numbers.

use super::choice::HIGHEST_FORMER;
use super::plan::Plan;
use crate::layout::SheetProperties;
use crate::numeric::{decimal, joules, signed};
use crate::spec::Way;

/// Closings before the height is measured. Common practice, no source.
pub const CLOSINGS: usize = 5;

/// Blanks of a trial. Common practice, no source.
const TRIALS: usize = 3;

/// Tensile strength over Vickers hardness of hardened spring steel (ISO 18265, about; recalled).
const TENSILE_PER_VICKERS: f64 = 3.2;

/// Means of keeping a pressed spring captive; `bored` where a bolt goes through its hub.
pub fn captive(bored: bool) -> &'static str {
    if bored { "a captive bolt through the hub" } else { "a bolted plate over the spring" }
}

impl Plan {
    /// Steps in the workshop, in order, for a spring of `sheet`; `bored` where a pin or bolt goes through its hub.
    pub fn steps(&self, sheet: &SheetProperties, arm_length: f64, bored: bool) -> Vec<String> {
        let guide = if bored { "guide the hub on a pin" } else { "guide the hub in a ring" };
        let captive = captive(bored);
        let row = &self.row;
        let mut steps = vec![format!("order: {}", row.order)];
        if row.growth != 0.0 {
            steps.push(format!(
                "cut the outline {:.5} times as large as drawn: the heat changes lengths by {:+.2} %",
                1.0 / (1.0 + row.growth),
                100.0 * row.growth
            ));
        }
        steps.push(format!(
            "deburr the blank, burrs to the upper face, away from the former; hold the rim flat all round and {guide}, so that every \
             arm follows the former; never pull by the hub alone, which would bend the outer quarter only"
        ));
        if self.former_mm() > HIGHEST_FORMER * arm_length {
            steps.push(format!(
                "caution: this former is higher than a quarter of the arm's {arm_length:.0} mm, which stretches arms; take \
                 another way, or a spring of longer arms"
            ));
        }
        steps.push(self.forming_step());
        steps.extend(self.heat_steps());
        let [low, high] = self.left_band_mm;
        steps.push(format!(
            "release it with {captive}: {} to {} mm expected, {} mm wanted",
            decimal(low, 2),
            decimal(high, 2),
            decimal(self.left_mm, 2)
        ));
        steps.push(format!("press flat {CLOSINGS} times with {captive}, behind a shield"));
        steps.push(self.check_step(sheet));
        steps.push(self.trial_step());
        steps.push(format!("side effects: {}", row.effect));
        steps.push(format!("caution: {}", row.hazard));
        steps
    }

    fn forming_step(&self) -> String {
        let how = match self.row.way {
            Way::Cold => "pull it over the former, slowly",
            Way::HardenAfterForming => "form it soft over the former",
            _ => "clamp it down on the former, hub and rim",
        };
        let ratio = if self.left_mm > 0.0 { self.former_mm() / self.left_mm } else { 1.0 };
        let mut text = format!(
            "{how}, {} mm at the hub ({ratio:.2} times the {} mm to be left), behind a shield: this does {} J of \
             work, up to {} J come back if it slips; the surface is strained by {:.2} %, {:.2} times its elastic limit \
             at Rp0.2 = {:.0} MPa",
            decimal(self.former_mm(), 2),
            decimal(self.left_mm, 2),
            joules(self.work_j),
            joules(self.elastic_j()),
            self.strain_percent,
            self.measure,
            self.forming_proof_mpa
        );
        if let Some(height) = self.soft_height_mm {
            text.push_str(&format!("; released while soft it stands at about {} mm", decimal(height, 2)));
        }
        text
    }

    fn heat_steps(&self) -> Vec<String> {
        let heat = &self.row.heat;
        match self.row.way {
            Way::Cold => vec![format!("heat: {heat}")],
            Way::HardenAfterForming => {
                vec![
                    format!("harden: {heat}, clamped on the same former"),
                    "let it cool on the former".to_owned(),
                ]
            }
            Way::ClampedRelief
            | Way::ReTemper
            | Way::AgeOnFormer
            | Way::TransformOnFormer
            | Way::CreepForm => vec![
                format!(
                    "heat: {heat}; time counts from when part and former have the temperature, an air furnace takes 20 to 40 \
                     min longer for a steel former of 20 to 40 mm"
                ),
                "let it cool on the former".to_owned(),
            ],
        }
    }

    fn check_step(&self, sheet: &SheetProperties) -> String {
        let places: Vec<String> = self
            .places
            .iter()
            .map(|place| {
                format!("{} mm at radius {}", decimal(place.height_mm, 2), decimal(place.radius_mm, 2))
            })
            .collect();
        let hardness = match (self.row.way, sheet.tensile_strength) {
            (Way::HardenAfterForming | Way::ReTemper, Some(strength)) => {
                let least = 10.0 * (strength / TENSILE_PER_VICKERS / 10.0).round();
                format!("; hardness on the rim at least {least:.0} HV")
            }
            _ => String::new(),
        };
        format!(
            "check the height of the arm's underside above the rim's: {}; the same after another closing{hardness}; no \
             crack at slot ends and edges under a lens",
            places.join(", ")
        )
    }

    fn trial_step(&self) -> String {
        let [low, high] = self.row.height_percent;
        format!(
            "trial first: set {TRIALS} blanks, measure these heights at the three radii, and raise the next former between two \
             of them by {:.2} times the rise that is missing there (flatspire correct SPRING.toml --heights HEIGHTS.csv \
             writes it); 1 % more proof strength changes the height by {} %, 0.01 more of the stress relaxed by {} \
             %; after the trial expect ±{low:.0} to {high:.0} % in a batch",
            self.correction_gain,
            signed(self.strength_gain, 1),
            signed(self.relaxation_gain, 1)
        )
    }

    /// Elastic work stored on the former before it is heated (J).
    fn elastic_j(&self) -> f64 {
        let held = 1.0 - self.row.relaxed_middle();
        if held > 0.0 { (self.back_j / (held * held)).min(self.work_j) } else { self.work_j }
    }

    /// Work stored while it is formed, in words of a caution.
    pub fn caution(&self) -> String {
        format!(
            "Forming does {} J of work, of which up to {} J come back at once if the clamp slips or the part cracks.",
            joules(self.work_j),
            joules(self.elastic_j())
        )
    }
}
