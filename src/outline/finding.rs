//! Faults of a drawing, with their places.

use std::fmt;

use super::Point;

/// Rules of a drawing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum DrawingRule {
    /// every coordinate is a number
    Finite,
    /// every contour but a line that is cut on is closed
    Closed,
    /// bore first, slots next, outside last
    Order,
    /// bore and slots lie inside the outside, and none inside another
    Nesting,
    /// no contour crosses or touches itself or another
    Crossing,
    /// nothing is drawn twice
    Duplicate,
    /// no piece is shorter than controls take
    ShortPiece,
    /// no arc is larger than a half circle
    LargeArc,
    /// metal between two cuts is not narrower than the process can leave it
    LeastWeb,
    /// slots are not narrower than the process can cut them
    LeastSlot,
    /// a slot wider than one pass leaves room for two
    TwoPasses,
    /// inside corners are not sharper than the process can cut them
    InsideRadius,
    /// what falls out of a slot does not jam
    LooseSliver,
    /// the sheet is one the process is used on
    SheetThickness,
}

/// Severity of a finding.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Grade {
    /// it can be cut, but needs a look
    Advice,
    /// it exceeds the known limits of the process
    Limit,
    /// it is not a valid drawing of a part
    Fault,
}

/// One finding.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct OutlineFinding {
    /// the rule
    pub rule: DrawingRule,
    /// severity
    pub grade: Grade,
    /// which contour, from 1
    pub contour: usize,
    /// where (mm)
    pub place: Point,
    /// what was found, in the rule's unit (mm)
    pub value: f64,
    /// what is allowed (mm)
    pub limit: f64,
}

impl fmt::Display for OutlineFinding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { contour, place: [x, y], value, limit, .. } = *self;
        match self.rule {
            DrawingRule::Finite => write!(f, "contour {contour} has a coordinate that is no number"),
            DrawingRule::Closed => {
                write!(f, "contour {contour} is open by {value:.4} mm").and_then(|()| write!(f, "; close it"))
            }
            DrawingRule::Order => {
                write!(f, "contour {contour} is out of order; draw bore, slots, outside in this order")
            }
            DrawingRule::Nesting => {
                write!(f, "contour {contour} is not clear inside the outer contour; move or remove it")
            }
            DrawingRule::Crossing => {
                write!(f, "contour {contour} is crossed or touched by another or itself; part them")
            }
            DrawingRule::Duplicate => {
                write!(f, "contour {contour} is drawn over again; remove one of the two")
            }
            DrawingRule::ShortPiece => {
                write!(
                    f,
                    "contour {contour} has a piece {value:.4} mm long, least {limit:.4} mm; join it to its neighbour"
                )
            }
            DrawingRule::LargeArc => {
                write!(f, "contour {contour} has an arc larger than a half circle; split it")
            }
            DrawingRule::LeastWeb => write!(
                f,
                "the metal beside contour {contour} is {value:.3} mm wide, least {limit:.3} mm; widen the arm or ring, \
                 or choose a finer process"
            ),
            DrawingRule::LeastSlot => write!(
                f,
                "the slot of contour {contour} is {value:.3} mm wide, least {limit:.3} mm; widen the slot or choose a \
                 finer process"
            ),
            DrawingRule::TwoPasses => write!(
                f,
                "the slot of contour {contour} is {value:.3} mm wide, too narrow for two passes ({limit:.3} mm); make \
                 it as wide as the kerf or wider"
            ),
            DrawingRule::InsideRadius => write!(
                f,
                "contour {contour} has an inside corner of radius {value:.3} mm, least {limit:.3} mm; round it more, \
                 or end the slots in keyholes"
            ),
            DrawingRule::LooseSliver => write!(
                f,
                "a sliver {value:.3} mm wide falls out of the slot of contour {contour} and may jam (up to {limit:.3} \
                 mm it can); make the slot narrower, or hold the sliver"
            ),
            DrawingRule::SheetThickness => write!(
                f,
                "the sheet is {value:.3} mm thick, the process is used up to {limit:.3} mm or from it; choose another \
                 process or sheet"
            ),
        }?;
        if matches!(self.rule, DrawingRule::SheetThickness | DrawingRule::Order) {
            return Ok(());
        }
        write!(f, " (at {x:.3}, {y:.3})")
    }
}
