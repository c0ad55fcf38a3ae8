//! The kerf-compensated path: where the middle of the cut runs. Only made on request, never instead of the drawing.

use std::f64::consts::{PI, TAU};

use super::arc::{cross, dot, left};
use super::{ArcChain, Contour, CutRules, Outline, Point, Role, Vertex};

/// Straight way from the pierce to the edge outside the disc, in pierce holes (common practice, no source).
const ENTRY_HOLES: f64 = 2.0;

/// One cut: in from the pierce, then along the path.
#[derive(Debug, Clone, PartialEq)]
pub struct Pass {
    /// what is cut
    pub role: Role,
    /// where it is pierced, in what falls away (mm)
    pub pierce: Point,
    /// straight way from the pierce to the path's start; none where the path starts at the pierce
    pub entry: Option<ArcChain>,
    /// the way of the middle of the cut
    pub path: ArcChain,
}

/// All cuts in their order: bore, slots far apart in turn, outside last.
#[derive(Debug, Clone, PartialEq)]
pub struct ToolPath {
    /// the cuts
    pub passes: Vec<Pass>,
    /// kerf that is compensated (mm)
    pub kerf: f64,
}

/// Reasons why a drawing cannot be compensated.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ToolPathError {
    /// There is no kerf.
    #[error("the process has no kerf to compensate; hand over the finished-size drawing")]
    NoKerf,
    /// The cut does not fit into the contour.
    #[error("a cut {kerf_mm:.3} mm wide does not fit into contour {contour}; widen it or use a finer cut")]
    TooWide {
        /// which contour, from 1
        contour: usize,
        /// kerf (mm)
        kerf_mm: f64,
    },
}

impl ToolPath {
    /// The path for an outline, half a kerf into what falls away.
    pub fn of(outline: &Outline, rules: &CutRules) -> Result<Self, ToolPathError> {
        let kerf = rules.kerf;
        if kerf.is_nan() || kerf <= 0.0 {
            return Err(ToolPathError::NoKerf);
        }
        let mut passes = Vec::with_capacity(outline.contours.len());
        for (i, contour) in outline.contours.iter().enumerate() {
            let chain = &contour.chain;
            let too_wide = ToolPathError::TooWide { contour: i + 1, kerf_mm: kerf };
            let (pierce, path) = match contour.role {
                Role::CutOnLine => {
                    (chain.vertices.first().map_or([0.0; 2], |vertex| vertex.point), chain.clone())
                }
                Role::Outside => {
                    let path = parallel_contour(chain, -0.5 * kerf).ok_or(too_wide)?;
                    // midway between two roots, where the rim is stiffest
                    let path = started_at(&path, PI / outline.arms.max(1) as f64);
                    let start = path.vertices[0].point;
                    let reach = ENTRY_HOLES * rules.pierce_hole.max(kerf);
                    let size = start[0].hypot(start[1]);
                    ([start[0] * (1.0 + reach / size), start[1] * (1.0 + reach / size)], path)
                }
                Role::Bore => (middle(chain), parallel_contour(chain, 0.5 * kerf).ok_or(too_wide)?),
                Role::Slot => {
                    let path = parallel_contour(chain, 0.5 * kerf).ok_or(too_wide)?;
                    // the last arc of the contour goes round the slot's end on the rim
                    let end = chain.arc(chain.len() - 1);
                    (end.centre().unwrap_or_else(|| middle(chain)), path)
                }
                Role::Path | Role::Entry => continue,
            };
            let start = path.vertices[0].point;
            let apart = (start[0] - pierce[0]).hypot(start[1] - pierce[1]) > 1e-6;
            let entry = apart.then(|| ArcChain {
                vertices: vec![Vertex { point: pierce, bulge: 0.0 }, Vertex { point: start, bulge: 0.0 }],
                closed: false,
            });
            passes.push(Pass { role: contour.role, pierce, entry, path });
        }
        Ok(Self { passes, kerf })
    }

    /// The path as contours for a drawing of its own, on layers no one takes for the part.
    pub fn contours(&self) -> Vec<Contour> {
        self.passes
            .iter()
            .flat_map(|pass| {
                let entry =
                    pass.entry.iter().map(|chain| Contour { role: Role::Entry, chain: chain.clone() });
                entry.chain([Contour { role: Role::Path, chain: pass.path.clone() }])
            })
            .collect()
    }
}

fn middle(chain: &ArcChain) -> Point {
    let [low, high] = chain.extents();
    [0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1])]
}

/// A closed circle started at an angle about the origin, so that a cut begins there.
fn started_at(circle: &ArcChain, angle: f64) -> ArcChain {
    circle.turned(angle.rem_euclid(TAU))
}

/// The parallel of a closed contour to its left (mm): arcs keep their centres, and corners that open a gap are rounded
/// about the corner. `None` where an arc vanishes or a corner would need trimming.
fn parallel_contour(chain: &ArcChain, distance: f64) -> Option<ArcChain> {
    let count = chain.len();
    let mut vertices = Vec::with_capacity(count + 4);
    for i in 0..count {
        let (before, arc) = (chain.arc((i + count - 1) % count), chain.arc(i));
        if 1.0 - distance * arc.curvature() <= 0.0 {
            return None;
        }
        let (arriving, leaving) = (before.tangent_at(1.0), arc.tangent_at(0.0));
        let turn = cross(arriving, leaving).atan2(dot(arriving, leaving));
        let moved = |tangent: Point| {
            let normal = left(tangent);
            [arc.start[0] + distance * normal[0], arc.start[1] + distance * normal[1]]
        };
        if turn.abs() > 1e-6 {
            if turn * distance > 0.0 {
                return None;
            }
            vertices.push(Vertex { point: moved(arriving), bulge: (0.25 * turn).tan() });
        }
        vertices.push(Vertex { point: moved(leaving), bulge: arc.bulge });
    }
    Some(ArcChain { vertices, closed: true })
}
