//! Several discs on one sheet: a plain grid.

use super::{Contour, Outline, Point, contours_extents};

/// A grid of equal discs.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetLayout {
    /// all contours, one disc after the other, row by row from the lower left
    pub contours: Vec<Contour>,
    /// discs in a row
    pub columns: usize,
    /// rows
    pub rows: usize,
    /// metal between neighbouring discs (mm)
    pub spacing: f64,
    /// distance of neighbouring centres along and across a row (mm)
    pub pitch: Point,
}

/// Errors of laying out discs on a sheet.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SheetLayoutError {
    /// No disc asked for.
    #[error("{columns} columns and {rows} rows make no disc; ask for at least one of each")]
    Empty {
        /// columns asked for
        columns: usize,
        /// rows asked for
        rows: usize,
    },
    /// Too many.
    #[error("{discs} discs are more than {most}; lay them out on several sheets")]
    TooMany {
        /// discs asked for
        discs: usize,
        /// most there may be
        most: usize,
    },
    /// Discs would overlap.
    #[error("a spacing of {spacing_mm} mm is too small; leave at least twice the kerf between discs")]
    Spacing {
        /// spacing asked for (mm)
        spacing_mm: f64,
    },
}

/// Most discs on a sheet: drawings beyond that stop most readers.
const MOST: usize = 10_000;

impl SheetLayout {
    /// `columns` × `rows` discs with `spacing` mm of metal between them; the first one's centre is the origin.
    pub fn grid(
        outline: &Outline,
        columns: usize,
        rows: usize,
        spacing: f64,
    ) -> Result<Self, SheetLayoutError> {
        if columns == 0 || rows == 0 {
            return Err(SheetLayoutError::Empty { columns, rows });
        }
        let discs = columns.saturating_mul(rows);
        if discs > MOST {
            return Err(SheetLayoutError::TooMany { discs, most: MOST });
        }
        if !(spacing.is_finite() && spacing > 0.0) {
            return Err(SheetLayoutError::Spacing { spacing_mm: spacing });
        }
        let [low, high] = outline.extents();
        let pitch = [high[0] - low[0] + spacing, high[1] - low[1] + spacing];
        let mut contours = Vec::with_capacity(discs * outline.contours.len());
        for row in 0..rows {
            for column in 0..columns {
                let by = [column as f64 * pitch[0], row as f64 * pitch[1]];
                contours.extend(
                    outline
                        .contours
                        .iter()
                        .map(|one| Contour { role: one.role, chain: one.chain.shifted(by) }),
                );
            }
        }
        Ok(Self { contours, columns, rows, spacing, pitch })
    }

    /// Smallest upright box around everything: least and largest corner (mm).
    pub fn extents(&self) -> [Point; 2] {
        contours_extents(&self.contours)
    }

    /// Number of discs.
    pub fn discs(&self) -> usize {
        self.columns * self.rows
    }
}
