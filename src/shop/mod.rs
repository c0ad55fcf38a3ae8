//! Documents for the shop: the drawing sheet and the inspection sheet, as PDF and SVG.
//!
//! A [`Page`] holds strokes, fills and texts in millimetres; [`pdf()`] and [`svg()`] write the same page. The sheets are
//! built from an evaluation alone, so that their numbers are those of every other file.

mod characteristic;
mod drawing_sheet;
mod inspection_sheet;
mod page;
mod page_pdf;
mod page_svg;
mod paper;
mod ring_places;
mod section;
mod sheet_notes;
mod sheet_units;
mod table;
mod view_scale;

pub use drawing_sheet::drawing_sheet;
pub use inspection_sheet::inspection_sheet;
pub use page::Page;
pub use page_pdf::pdf;
pub use page_svg::svg;

use crate::evaluation::Evaluation;
use sheet_units::SheetUnits;

/// Title of the drawings of a spring: the shop's own, else by shape and size.
pub fn title(evaluation: &Evaluation) -> String {
    let spring = &evaluation.spring;
    let units = SheetUnits::of(evaluation);
    let own = evaluation.asked.checks.shop.title.clone();
    own.unwrap_or_else(|| {
        format!(
            "Spiral spring Ø{} × {}, {} travel",
            units.length(2.0 * spring.disc.outer_radius, 2),
            units.length(spring.sheet.thickness, 3),
            units.with_unit(evaluation.checks.flat.travel_mm, 2)
        )
    })
}

/// Errors of making a sheet.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum SheetError {
    /// No arm.
    #[error(transparent)]
    Layout(#[from] crate::layout::LayoutError),
    /// No font.
    #[error("the font shipped with the program cannot be read: {0}")]
    Font(#[from] ttf_parser::FaceParsingError),
}

#[cfg(test)]
mod tests;
