//! `summary.json` of an assembly: the keys of a spring's, for the whole.

use serde::Serialize;

use super::assembled::AssembledEvaluation;
use super::fit::FitSummary;
use super::parts::Parts;
use super::shared_sheet::{SharedSheet, SharedSheetSummary};
use super::summary::{CurveSummary, FlatSummary, StressSummary};
use super::verdict::Verdicts;
use crate::spec::{AssemblyKind, AssemblyMember, Side, Stacking};

/// An assembly in numbers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AssembledSummary {
    /// whether every verdict asked for is yes
    pub passed: bool,
    /// verdicts that are no or not judged
    pub failed: Vec<&'static str>,
    /// verdicts by name: the worst disc's, but curve and assembly of the whole
    pub verdicts: Verdicts,
    /// errors of the whole against the curve asked for
    pub fit: Option<FitSummary>,
    /// the disc whose closed state is the worst
    pub flat: Option<OfMember<FlatSummary>>,
    /// the disc whose stress is the largest share of the allowable
    pub stress: Option<OfMember<StressSummary>>,
    /// assemblies as wanted; null where they were not computed
    pub parts: Option<Parts>,
    /// the curve of the whole, deflection from where it rests
    pub curve: CurveSummary,
    /// null: the members have their own files
    pub spring: Option<()>,
    /// the assembly
    pub assembly: AssemblySummary,
    /// warnings, a sentence each
    pub warnings: Vec<String>,
}

/// Numbers of one member.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OfMember<T> {
    /// folder of the member
    pub member: String,
    /// the numbers
    #[serde(flatten)]
    pub numbers: T,
}

/// Kind, height and members.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AssemblySummary {
    /// kind
    pub kind: AssemblyKind,
    /// height between the plates at rest (mm)
    pub height_mm: f64,
    /// height between the plates with every disc free (mm)
    pub free_height_mm: f64,
    /// height between the plates with every loaded disc closed (mm)
    pub closed_height_mm: f64,
    /// discs in all
    pub discs: usize,
    /// deflection from rest until the first disc that bears the load is closed, in series all of them (mm)
    pub travel_mm: f64,
    /// deflection from rest from which on disc b of an opposed pair is loose (mm)
    pub loose_from_mm: Option<f64>,
    /// energy stored at rest (J)
    pub energy_at_rest_j: f64,
    /// friction at the last point of the curve, least and largest (N, each way); common practice, from memory
    pub friction_n: [f64; 2],
    /// members
    pub members: Vec<MemberSummary>,
    /// discs of the assembly on the shop's sheet; null where none is given, where all discs are
    /// equal, or where they are not of one sheet
    pub shared_sheet: Option<SharedSheetSummary>,
}

/// One member.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MemberSummary {
    /// folder
    pub folder: String,
    /// side of an opposed pair
    pub side: Option<Side>,
    /// number of equal discs
    pub count: usize,
    /// arrangement of the equal discs
    pub stacked: Option<Stacking>,
    /// deflection of one disc at rest (mm)
    pub installed_mm: f64,
    /// force at rest (N)
    pub preload_n: f64,
    /// thickness of its spacers in all (mm)
    pub spacer_mm: f64,
    /// travel to flat of one disc (mm)
    pub free_height_mm: f64,
    /// thickness of the sheet (mm)
    pub thickness_mm: f64,
    /// outside diameter (mm)
    pub outer_diameter_mm: f64,
    /// least and largest deflection of one disc over the curve (mm)
    pub deflection_mm: [f64; 2],
}

impl MemberSummary {
    fn of(evaluation: &AssembledEvaluation, k: usize, preload: f64) -> Self {
        let (AssemblyMember { folder, side, count, stacked, installed, spacer }, spring) =
            (&evaluation.members[k].member, &evaluation.members[k].evaluation.spring);
        let seen = &evaluation.curve.discs[k];
        Self {
            folder: folder.clone(),
            side: *side,
            count: *count,
            stacked: *stacked,
            installed_mm: *installed,
            preload_n: preload,
            spacer_mm: *spacer,
            free_height_mm: spring.former.free_height,
            thickness_mm: spring.sheet.thickness,
            outer_diameter_mm: 2.0 * spring.disc.outer_radius,
            deflection_mm: [
                seen.iter().copied().fold(f64::INFINITY, f64::min),
                seen.iter().copied().fold(0.0, f64::max),
            ],
        }
    }
}

impl AssemblySummary {
    /// Of an evaluation.
    pub fn of(evaluation: &AssembledEvaluation) -> Self {
        let arrangement = &evaluation.arrangement;
        let last = evaluation.curve.deflection.last().copied().unwrap_or(0.0);
        let preloads = arrangement.preloads();
        Self {
            kind: evaluation.file.kind,
            height_mm: arrangement.height_at_rest(),
            free_height_mm: arrangement.free_height(),
            closed_height_mm: arrangement.closed_height(),
            discs: evaluation.file.discs(),
            travel_mm: arrangement.travel(),
            loose_from_mm: arrangement.loose_from(),
            energy_at_rest_j: 1e-3 * arrangement.energy_at_rest(),
            friction_n: arrangement.friction(last),
            members: preloads
                .into_iter()
                .enumerate()
                .map(|(k, preload)| MemberSummary::of(evaluation, k, preload))
                .collect(),
            shared_sheet: SharedSheet::of(evaluation).and_then(Result::ok).map(|sheet| sheet.summary()),
        }
    }
}

impl AssembledSummary {
    /// Of an evaluation; `notes` are what was chosen before.
    pub fn of(evaluation: &AssembledEvaluation, notes: &[String]) -> Self {
        let worst = |name: &str| {
            let folder =
                evaluation.worst.iter().find(|(other, _)| *other == name).map(|(_, folder)| folder)?;
            evaluation.members.iter().find(|member| member.member.folder == *folder)
        };
        let curve = &evaluation.curve;
        let mut warnings = evaluation.warnings.clone();
        warnings.extend(notes.iter().cloned());
        Self {
            passed: evaluation.passed(),
            failed: evaluation.verdicts.failed(),
            verdicts: evaluation.verdicts.clone(),
            fit: evaluation.fit.clone(),
            flat: worst("flat").map(|member| OfMember {
                member: member.member.folder.clone(),
                numbers: FlatSummary::of(&member.evaluation.checks),
            }),
            stress: worst("strength").map(|member| OfMember {
                member: member.member.folder.clone(),
                numbers: StressSummary::of(&member.evaluation.checks),
            }),
            parts: evaluation.good_parts().cloned(),
            curve: CurveSummary {
                deflection_mm: curve.deflection.clone(),
                travel_mm: None,
                force_n: curve.force.clone(),
                target_n: evaluation.target.as_ref().map_or_else(Vec::new, |target| {
                    curve.deflection.iter().map(|x| target.force_at(*x)).collect()
                }),
            },
            spring: None,
            assembly: AssemblySummary::of(evaluation),
            warnings,
        }
    }
}
