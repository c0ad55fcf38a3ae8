//! The share of parts as wanted, from the tolerances of sheet, cutting and setting.

use serde::Serialize;

use super::asked::Asked;
use super::member::AssembledMember;
use crate::curve::TargetCurve;
use crate::layout::Spring;
use crate::spec::AssemblyKind;
use crate::variation::{
    self, Scatter, ScatterSettings, Tolerances, VariationError, VariedMember, scatter, scatter_assembly,
};

/// Parts drawn: enough for the 5 and 95 % edges of the force band to a tenth of its width.
const DRAWN: ScatterSettings = ScatterSettings { runs: 300, seed: 1 };

/// Parts as wanted.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Parts {
    /// share of parts as wanted with everything at its tolerance, from coil to coil and part to part (percent)
    pub good_percent: f64,
    /// the same with thickness and modulus of the sheet known (percent)
    pub good_percent_sheet_measured: f64,
    /// criterion of a good part
    pub judged_by: String,
    /// the force band as bought
    #[serde(skip)]
    pub as_bought: Scatter,
}

/// Share of good parts with the sheet measured (percent) below which a spring that passes is told to be a matter of luck.
/// Judgement: three parts of four come out bad.
const FEW: f64 = 25.0;

impl Parts {
    /// Whether most parts come out bad even with the sheet measured.
    pub(super) fn few(&self) -> bool {
        self.good_percent_sheet_measured < FEW
    }

    /// A warning on a drawing that meets the curve where hardly a part will.
    pub(super) fn warning(&self, tolerance_percent: f64) -> String {
        format!(
            "good parts: as drawn the spring meets the curve, but of a hundred parts {:.0} come within {tolerance_percent} % of \
             it as bought, {:.0} with the sheet measured; allow more height or a larger disc, tighten what `scatter` names \
             first, or allow a wider fit.tolerance_percent",
            self.good_percent, self.good_percent_sheet_measured
        )
    }

    /// Of a spring.
    pub(super) fn of(spring: &Spring, asked: &Asked) -> Result<Self, VariationError> {
        let tolerances = Tolerances::of(spring, &asked.tolerance, &asked.checks.process);
        let wanted = variation::Asked {
            target: asked.target.as_ref(),
            installed: asked.installed(),
            tolerance_percent: asked.tolerance_percent(),
        };
        let known = tolerances.sheet_measured();
        Self::of_both(rayon::join(
            || scatter(spring, &tolerances, &wanted, &DRAWN),
            || scatter(spring, &known, &wanted, &DRAWN),
        ))
    }

    /// Of an assembly: a part is a whole one, its discs of one sheet from one coil.
    pub(super) fn of_assembly(
        kind: AssemblyKind,
        members: &[AssembledMember],
        target: Option<&TargetCurve>,
        tolerance_percent: f64,
    ) -> Result<Self, VariationError> {
        let as_bought = varied(members);
        let known: Vec<VariedMember> = as_bought
            .iter()
            .map(|member| VariedMember { tolerances: member.tolerances.sheet_measured(), ..member.clone() })
            .collect();
        let run =
            |members: &[VariedMember]| scatter_assembly(kind, members, target, tolerance_percent, &DRAWN);
        Self::of_both(rayon::join(|| run(&as_bought), || run(&known)))
    }

    fn of_both(
        (as_bought, measured): (Result<Scatter, VariationError>, Result<Scatter, VariationError>),
    ) -> Result<Self, VariationError> {
        let as_bought = as_bought?;
        Ok(Self {
            good_percent: 100.0 * as_bought.yield_share,
            good_percent_sheet_measured: 100.0 * measured?.yield_share,
            judged_by: as_bought.judged_by.clone(),
            as_bought,
        })
    }
}

/// Members of an assembly with how far their discs may be off.
pub fn varied(members: &[AssembledMember]) -> Vec<VariedMember<'_>> {
    members
        .iter()
        .map(|AssembledMember { member, evaluation }| VariedMember {
            member,
            spring: &evaluation.spring,
            tolerances: Tolerances::of(
                &evaluation.spring,
                &evaluation.asked.tolerance,
                &evaluation.asked.checks.process,
            ),
        })
        .collect()
}
