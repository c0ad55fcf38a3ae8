//! Drawings and tables as bytes: nothing here touches the disk.

mod drawing_notes;
mod dxf_drawing;
pub mod former;
mod former_drawings;
mod named_file;
mod nest_drawing;
pub mod step;
pub mod stl;
mod svg_drawing;

pub use drawing_notes::DrawingNotes;
pub use dxf_drawing::{dxf, dxf_marked, dxf_sheet, dxf_tool_path};
pub use former_drawings::{dxf_profile, dxf_rings, former_profile};
pub use named_file::NamedFile;
pub use nest_drawing::{NestedPart, dxf_nest, dxf_sets, svg_nest, svg_sets};
pub use svg_drawing::{svg, svg_marked, svg_path, svg_sheet};

/// Errors of writing a drawing.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ExportError {
    /// The writer of the file format refused.
    #[error("the drawing cannot be written as DXF: {0}")]
    Dxf(#[from] dxf::DxfError),
    /// The writer's bytes are not valid DXF.
    #[error("the drawing cannot be written as DXF: line {line} is {found:?}, expected a group code")]
    Pairs {
        /// line of the text, from 1
        line: usize,
        /// value found
        found: String,
    },
    /// A coordinate is not finite.
    #[error(
        "contour {contour} has a coordinate that is not finite near {place:.3?} mm; check the spring's numbers"
    )]
    NotFinite {
        /// which contour, from 1
        contour: usize,
        /// where (mm)
        place: [f64; 2],
    },
}
