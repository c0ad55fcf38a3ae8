//! Tabs that hold a part in its sheet: on the outer edge, midway between roots, never on an arm.

use std::f64::consts::TAU;

use super::arc::distance;
use super::{ArcChain, Contour, CutRules, Outline, Point, Role, Vertex};
use crate::spec::Shop;

/// Widest tab: share of the outside radius, so that a tiny part keeps a round edge.
const WIDEST: f64 = 0.15;

/// A tab.
#[derive(Debug, Clone, PartialEq)]
pub struct Tab {
    /// azimuth of its middle (rad)
    pub azimuth: f64,
    /// width along the edge (mm)
    pub width: f64,
    /// its outline: from the edge of the part across the cut
    pub outline: ArcChain,
}

/// Tabs of a part by process and size, or as the shop asks for. None where the part stays in the sheet without.
pub fn tabs(outline: &Outline, rules: &CutRules, shop: &Shop) -> Vec<Tab> {
    let Some((centre, radius)) = outside(outline) else { return Vec::new() };
    let usual = rules.tabs;
    let needed = usual.filter(|usual| 2.0 * radius < usual.below);
    let count = shop.tabs.or(needed.map(|usual| usual.count)).unwrap_or(0);
    let width = shop.tab_width.or(usual.map(|usual| usual.width)).unwrap_or(0.5).min(WIDEST * radius);
    // across the cut and a little into the sheet, so that it is seen on the drawing
    let reach = rules.kerf.max(width);
    let half = 0.5 * width / radius;
    azimuths(outline.arms, count)
        .into_iter()
        .map(|azimuth| {
            let at = |radius: f64, angle: f64| {
                let (sin, cos) = (azimuth + angle).sin_cos();
                [centre[0] + radius * cos, centre[1] + radius * sin]
            };
            let bulge = (0.5 * half).tan();
            let vertices = [
                (at(radius, half), 0.0),
                (at(radius, -half), 0.0),
                (at(radius + reach, -half), bulge),
                (at(radius + reach, half), 0.0),
            ];
            let mut vertices: Vec<Vertex> =
                vertices.map(|(point, bulge)| Vertex { point, bulge }).into_iter().collect();
            // along the part's own edge
            vertices[0].bulge = -bulge;
            Tab { azimuth, width, outline: ArcChain { vertices, closed: true } }
        })
        .collect()
}

/// All azimuths where tabs may be (rad).
pub(super) fn tab_places(arms: usize) -> Vec<f64> {
    azimuths(arms, usize::MAX)
}

/// Middles between roots, which lie where the slots begin; one arm leaves the whole far side.
fn azimuths(arms: usize, count: usize) -> Vec<f64> {
    let places = if arms < 2 { 4 } else { arms };
    let offset = if arms < 2 { 0.0 } else { 0.5 };
    // a single arm's root is at azimuth 0
    let free: Vec<usize> = (0..places).filter(|k| arms >= 2 || *k > 0).collect();
    let count = count.min(free.len());
    (0..count)
        .map(|k| {
            let place = match (arms, count) {
                (0 | 1, 2) => free[2 * k],
                (0 | 1, 1) => free[1],
                _ => free[k * free.len() / count],
            };
            TAU * (place as f64 + offset) / places as f64
        })
        .collect()
}

/// Centre and radius of the outer edge.
pub(super) fn outside(outline: &Outline) -> Option<(Point, f64)> {
    outline.role(Role::Outside).find_map(Contour::as_circle).or_else(|| {
        let vertex = outline.role(Role::Outside).next()?.chain.vertices.first()?.point;
        Some(([0.0; 2], distance(vertex, [0.0; 2])))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tabs_lie_midway_between_roots() {
        let degrees = |arms, count| -> Vec<f64> {
            azimuths(arms, count).iter().map(|a| a.to_degrees().round()).collect()
        };
        assert_eq!(degrees(1, 3), [90.0, 180.0, 270.0]);
        assert_eq!(degrees(1, 2), [90.0, 270.0]);
        assert_eq!(degrees(1, 1), [180.0]);
        assert_eq!(degrees(2, 3), [90.0, 270.0]);
        assert_eq!(degrees(3, 3), [60.0, 180.0, 300.0]);
        assert_eq!(degrees(6, 3), [30.0, 150.0, 270.0]);
        assert!(degrees(4, 0).is_empty());
    }
}
