//! The discs of an assembly cut from one sheet.

use serde::Serialize;

use super::assembled::AssembledEvaluation;
use super::drawing::Drawing;
use super::member::AssembledMember;
use crate::layout::SheetProperties;
use crate::outline::{DiscKind, NestError, SetNest, part_diameter, part_spacing};
use crate::spec::Shop;

/// Discs of an assembly on one sheet.
#[derive(Debug, Clone)]
pub struct SharedSheet<'a> {
    /// the sets on the sheet
    pub nest: SetNest,
    /// folder and drawing of every kind of disc, as the nest counts them
    pub drawings: Vec<(&'a str, &'a Drawing)>,
    /// discs of every kind in a set
    pub counts: Vec<usize>,
}

/// Numbers of a shared sheet.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SharedSheetSummary {
    /// sheet (mm): along the rolling direction, across it
    pub sheet_mm: [f64; 2],
    /// complete assemblies on it
    pub assemblies: usize,
    /// discs on it
    pub parts: usize,
    /// distance of neighbouring parts (mm)
    pub spacing_mm: f64,
    /// border that stays free (mm)
    pub margin_mm: f64,
    /// share of the sheet that becomes part
    pub sheet_use: f64,
}

/// One kind of disc of an assembly.
#[derive(Debug, Clone, Copy)]
pub struct SharedDisc<'a> {
    /// folder of the member
    pub folder: &'a str,
    /// discs in an assembly
    pub count: usize,
    /// its sheet
    pub sheet: &'a SheetProperties,
    /// its drawing
    pub drawing: &'a Drawing,
}

impl<'a> SharedSheet<'a> {
    /// The discs of an assembly on the sheet that its first disc's shop names. None as for [`SharedSheet::among`], and
    /// where a disc has no drawing.
    pub fn of(evaluation: &'a AssembledEvaluation) -> Option<Result<Self, NestError>> {
        let mut discs: Vec<SharedDisc<'a>> = Vec::new();
        for AssembledMember { member, evaluation } in &evaluation.members {
            let drawing = evaluation.drawing.as_ref().ok()?;
            match discs.iter_mut().find(|known| known.folder == member.folder) {
                Some(known) => known.count += member.count,
                None => discs.push(SharedDisc {
                    folder: &member.folder,
                    count: member.count,
                    sheet: &evaluation.spring.sheet,
                    drawing,
                }),
            }
        }
        Self::among(&discs, &evaluation.members.first()?.evaluation.asked.checks.shop)
    }

    /// Discs on the sheet that the shop names. None where no sheet is named, where all discs are of one kind (its own nest
    /// shows them), or where they differ in material, thickness or process.
    pub fn among(discs: &[SharedDisc<'a>], shop: &Shop) -> Option<Result<Self, NestError>> {
        let (first, others) = discs.split_first()?;
        let alike = others.iter().all(|disc| {
            disc.sheet.material == first.sheet.material
                && disc.sheet.thickness == first.sheet.thickness
                && disc.drawing.rules.process == first.drawing.rules.process
        });
        if others.is_empty() || !alike {
            return None;
        }
        let spacing = discs.iter().map(|disc| part_spacing(&disc.drawing.rules, shop)).fold(0.0, f64::max);
        let kinds: Vec<DiscKind> = discs
            .iter()
            .map(|disc| DiscKind { diameter: part_diameter(&disc.drawing.outline), count: disc.count })
            .collect();
        let nest = SetNest::of(&kinds, spacing, shop)?;
        Some(nest.map(|nest| Self {
            nest,
            drawings: discs.iter().map(|disc| (disc.folder, disc.drawing)).collect(),
            counts: discs.iter().map(|disc| disc.count).collect(),
        }))
    }

    /// Its numbers.
    pub fn summary(&self) -> SharedSheetSummary {
        let areas: Vec<f64> = self.drawings.iter().map(|(_, drawing)| drawing.cut.part_area_mm2).collect();
        SharedSheetSummary {
            sheet_mm: self.nest.sheet,
            assemblies: self.nest.sets,
            parts: self.nest.discs.len(),
            spacing_mm: self.nest.spacing,
            margin_mm: self.nest.margin,
            sheet_use: self.nest.sheet_use(&areas),
        }
    }

    /// The sheet in words, a line each.
    pub fn words(&self) -> Vec<String> {
        let found = self.summary();
        let [along, across] = found.sheet_mm;
        let (sets, discs) = (found.assemblies, found.parts);
        let each: Vec<String> = self
            .drawings
            .iter()
            .zip(&self.counts)
            .map(|((folder, _), count)| format!("{} of {folder}", sets * count))
            .collect();
        vec![
            format!(
                "{sets} assemblies, {discs} discs ({}) on a sheet of {along} by {across} mm, {:.0} % of the sheet in parts",
                each.join(", "),
                100.0 * found.sheet_use
            ),
            format!("{:.2} mm between parts, margin {:.2} mm", found.spacing_mm, found.margin_mm),
        ]
    }
}
