//! The former as a workshop makes it: rings to cut from shims, and the profile to turn.

use super::dxf_drawing::contours_as_dxf;
use super::{DrawingNotes, ExportError};
use crate::checks::FormerShape;
use crate::outline::{ArcChain, Contour, Point, Role, Vertex, contours_extents};

/// Gap between rings side by side (mm).
const GAP: f64 = 5.0;
/// Thickness of the turned former below the rim's seat (mm).
const BASE: f64 = 5.0;

/// The rings of the stack side by side as a DXF file, the lowest on the left; none without a stack.
pub fn dxf_rings(former: &FormerShape) -> Result<Option<Vec<u8>>, ExportError> {
    let mut contours = Vec::new();
    let mut lines = vec![
        format!("{} rings of a stepped former, the first on the left lies below", former.rings.len()),
        "all sizes in mm; deburr, stack about one axis".to_owned(),
    ];
    let mut left = 0.0;
    for ring in &former.rings {
        let centre = [left + ring.outer_radius_mm, 0.0];
        left += 2.0 * ring.outer_radius_mm + GAP;
        contours.push(Contour { role: Role::Outside, chain: ArcChain::circle(centre, ring.outer_radius_mm) });
        let hole = if ring.bore_radius_mm > 0.0 {
            contours.push(Contour { role: Role::Bore, chain: ArcChain::circle(centre, ring.bore_radius_mm) });
            format!(", hole dia {:.2}", 2.0 * ring.bore_radius_mm)
        } else {
            String::new()
        };
        lines.push(format!(
            "ring {}: {:.2} thick, dia {:.2}{hole}",
            ring.ring,
            ring.thickness_mm,
            2.0 * ring.outer_radius_mm
        ));
    }
    if former.shim_mm > 0.0 {
        lines.push(format!("{:.2} more under the hub, by thin shims", former.shim_mm));
    }
    if contours.is_empty() {
        return Ok(None);
    }
    contours_as_dxf(&contours, contours_extents(&contours), &DrawingNotes { lines }).map(Some)
}

/// Corners of the turned former's half section, counter-clockwise: radius, height above the rim's seat (mm).
///
/// The surface of revolution through the inner edge of the arm, on which every level section of the arm lies first.
pub fn former_profile(former: &FormerShape, bore_radius: f64) -> Vec<Point> {
    let mut corners = vec![[former.base_radius_mm, -BASE], [former.base_radius_mm, 0.0]];
    for row in &former.table {
        let last = corners[corners.len() - 1];
        // inwards only: a former has one height at a radius
        if row.inner_edge_mm < last[0] {
            corners.push([row.inner_edge_mm, row.height_mm.max(last[1])]);
        }
    }
    corners.extend([[bore_radius, former.height_mm], [bore_radius, -BASE]]);
    corners
}

/// Half of the turned former in section as a DXF file: radius to the right, height above the rim's seat upwards.
pub fn dxf_profile(former: &FormerShape, bore_radius: f64) -> Result<Vec<u8>, ExportError> {
    let corners = former_profile(former, bore_radius);
    let top = corners.iter().rev().find(|corner| corner[0] > bore_radius).map_or(0.0, |corner| corner[0]);
    let hole = if bore_radius > 0.0 { format!(", hole dia {:.2}", 2.0 * bore_radius) } else { String::new() };
    let vertices = corners.into_iter().map(|point| Vertex { point, bulge: 0.0 }).collect();
    let contours = [Contour { role: Role::Outside, chain: ArcChain { vertices, closed: true } }];
    let lines = vec![
        "profile of the turned former, half section: axis at x = 0, seat of the rim at y = 0".to_owned(),
        format!("height {:.3} above the seat of the rim, {BASE:.2} below it", former.height_mm),
        format!("seat dia {:.2}, top dia {:.2}{hole}", 2.0 * former.base_radius_mm, 2.0 * top),
        "all sizes in mm; the arm's inner edge lies on it, twist of the section not included".to_owned(),
    ];
    contours_as_dxf(&contours, contours_extents(&contours), &DrawingNotes { lines })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::{FormerRing, FormerRow};
    use crate::outline::from_dxf;

    fn former() -> FormerShape {
        let ring = |ring, outer_radius_mm, top_mm, thickness_mm| FormerRing {
            ring,
            outer_radius_mm,
            bore_radius_mm: 4.0,
            top_mm,
            thickness_mm,
        };
        let row = |inner_edge_mm, height_mm| FormerRow {
            angle_deg: 0.0,
            radius_mm: inner_edge_mm + 2.0,
            inner_edge_mm,
            height_mm,
        };
        FormerShape {
            height_mm: 3.0,
            base_radius_mm: 30.0,
            table: vec![row(26.0, 0.0), row(20.0, 1.5), row(21.0, 1.6), row(12.0, 3.0)],
            rings: vec![ring(1, 24.0, 2.0, 2.0), ring(2, 16.0, 3.0, 1.0)],
            shim_mm: 0.0,
            thinnest_mm: 1.0,
        }
    }

    #[test]
    fn rings_have_the_sizes_of_the_stack_and_do_not_overlap() {
        let read = from_dxf(&dxf_rings(&former()).unwrap().unwrap(), "rings_mm.dxf").unwrap();
        let circles: Vec<_> = read.contours.iter().filter_map(Contour::as_circle).collect();
        let radii: Vec<f64> = circles.iter().map(|(_, radius)| *radius).collect();
        assert_eq!(radii, [24.0, 4.0, 16.0, 4.0]);
        let apart = circles[2].0[0] - circles[0].0[0];
        assert!(apart >= 24.0 + 16.0 + 1.0, "{apart}");
        let none = FormerShape { rings: Vec::new(), ..former() };
        assert!(dxf_rings(&none).unwrap().is_none());
    }

    #[test]
    fn the_profile_climbs_inwards_from_the_seat_to_the_height() {
        let read = from_dxf(&dxf_profile(&former(), 4.0).unwrap(), "profile.dxf").unwrap();
        let chain = &read.contours[0].chain;
        // by hand: base 26 by 5; below the cone 4·0, 6·0.75, 8·2.25; hub 8·3
        let area = 26.0 * 5.0 + 6.0 * 0.75 + 8.0 * 2.25 + 8.0 * 3.0;
        assert!((chain.area().abs() - area).abs() < 1e-6, "{} {area}", chain.area());
    }
}
