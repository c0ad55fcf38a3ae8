//! One contour and what it is for.

use super::{ArcChain, Point};

/// Use of a contour; drawings keep one layer for each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Role {
    /// the hole in the hub
    Bore,
    /// the outline of a slot
    Slot,
    /// the centre line of a slot that is one kerf wide
    CutOnLine,
    /// the outside of the disc
    Outside,
    /// the way of the middle of the cut; never the part's own size
    Path,
    /// the way from a pierce to such a path
    Entry,
}

impl Role {
    /// All roles, in the order in which they are cut.
    pub const ALL: [Self; 6] =
        [Self::Bore, Self::Slot, Self::CutOnLine, Self::Outside, Self::Path, Self::Entry];

    /// The layer's name: letters, digits and underscores, all that the oldest readers take.
    pub fn layer(self) -> &'static str {
        match self {
            Self::Bore => "bore",
            Self::Slot => "slots",
            Self::CutOnLine => "cut_on_line",
            Self::Outside => "outside",
            Self::Path => "KERF_COMPENSATED_PATH",
            Self::Entry => "KERF_COMPENSATED_ENTRY",
        }
    }

    /// The role a layer's name stands for.
    pub fn of_layer(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.layer().eq_ignore_ascii_case(name))
    }
}

/// One contour of a drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Contour {
    /// what it is for
    pub role: Role,
    /// its arcs; closed ones run counter-clockwise
    pub chain: ArcChain,
}

impl Contour {
    /// The full circle it is, if it is one: centre and radius (mm).
    pub fn as_circle(&self) -> Option<(Point, f64)> {
        match self.chain.vertices.as_slice() {
            [a, b] if self.chain.closed && a.bulge.abs() == 1.0 && a.bulge == b.bulge => {
                let centre = [0.5 * (a.point[0] + b.point[0]), 0.5 * (a.point[1] + b.point[1])];
                Some((centre, 0.5 * (a.point[0] - b.point[0]).hypot(a.point[1] - b.point[1])))
            }
            _ => None,
        }
    }
}
