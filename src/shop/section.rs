//! The section through the axis, free or closed: cut pieces of rim, arms and hub with their heights.

use std::f64::consts::{PI, TAU};

use super::page::{NARROW, Page, PagePoint};
use crate::checks::ArmSection;
use crate::evaluation::Evaluation;

/// Grey of cut sheet.
const CUT: f64 = 0.78;
/// Width of hardware on the hub as it is drawn, relative to the hub.
const HARDWARE: f64 = 0.7;

/// One cut piece: from and to across the axis, height of its underside at both (mm).
struct Piece {
    from: [f64; 2],
    to: [f64; 2],
}

/// Draws the section `closed` or `free`; the place is where the axis meets the base.
pub(super) fn draw_section(page: &mut Page, evaluation: &Evaluation, name: &str, at: PagePoint, scale: f64) {
    let spring = &evaluation.spring;
    let Some(section) = evaluation.checks.flat.sections.iter().find(|section| section.name == name) else {
        return;
    };
    let sheet = spring.sheet.thickness;
    for piece in pieces(evaluation, section) {
        let on_page = |x: f64, z: f64| [at[0] + scale * x, at[1] + scale * z];
        page.polygon(
            &[
                on_page(piece.from[0], piece.from[1]),
                on_page(piece.to[0], piece.to[1]),
                on_page(piece.to[0], piece.to[1] + sheet),
                on_page(piece.from[0], piece.from[1] + sheet),
            ],
            CUT,
        );
    }
    let sheet_top = |index: usize| section.height_mm.get(index).copied().unwrap_or(0.0) + sheet;
    let (rim_top, hub_top) = (sheet_top(0), sheet_top(section.height_mm.len().saturating_sub(1)));
    let hub = spring.disc.slot_inner_radius - 0.5 * spring.slot;
    let rim = spring.disc.slot_outer_radius + 0.5 * spring.slot;
    for (height, from, to, top) in [
        (spring.seat.hub_hardware_above, -HARDWARE * hub, HARDWARE * hub, hub_top),
        (spring.seat.rim_hardware_above, rim, spring.disc.outer_radius, rim_top),
        (spring.seat.rim_hardware_above, -spring.disc.outer_radius, -rim, rim_top),
    ] {
        if let Some(height) = height.filter(|height| *height > 0.0) {
            let corner = |x: f64, z: f64| [at[0] + scale * x, at[1] + scale * z];
            page.outline_of_neighbour(corner(from, top), corner(to, top + height));
        }
    }
    let reach = scale * spring.disc.outer_radius + 6.0;
    page.line([at[0] - reach, at[1]], [at[0] + reach, at[1]], NARROW);
    let top = section.height_mm.last().copied().unwrap_or(0.0) + sheet;
    page.centre_line([at[0], at[1] - 4.0], [at[0], at[1] + scale * top + 5.0]);
}

fn pieces(evaluation: &Evaluation, section: &ArmSection) -> Vec<Piece> {
    let (spring, arm) = (&evaluation.spring, &evaluation.closing.arm);
    let between = TAU / spring.arms as f64;
    let span = arm.angle.last().copied().unwrap_or(0.0);
    let (rim, hub) =
        (section.height_mm.first().copied().unwrap_or(0.0), section.height_mm.last().copied().unwrap_or(0.0));
    let half = 0.5 * between.min(span);
    // on the other side half a turn on, or where the arms stand alike if their number is odd
    let other = if spring.arms == 1 { half + PI } else { half };
    let mut list = Vec::new();
    for (azimuth, side) in [(half, 1.0), (other, -1.0)] {
        let mut edges = Vec::new();
        let mut angle = azimuth;
        while angle <= span && edges.len() < 1000 {
            let radius = arm.value_at(&section.radius_mm, angle);
            let width = arm.value_at(&section.width_mm, angle);
            let height = arm.value_at(&section.height_mm, angle);
            edges.push((radius, 0.5 * width, height));
            angle += between;
        }
        let (outer, inner) = match (edges.first(), edges.last()) {
            (Some(first), Some(last)) => (first.0 + first.1 + spring.slot, last.0 - last.1 - spring.slot),
            _ => (spring.disc.slot_outer_radius, spring.disc.slot_inner_radius),
        };
        let mut ring = |from: f64, to: f64, height: f64| {
            if to > from {
                list.push(Piece { from: [side * from, height], to: [side * to, height] });
            }
        };
        ring(outer, spring.disc.outer_radius, rim);
        ring(spring.disc.bore_radius, inner, hub);
        for (radius, half, height) in edges {
            ring(radius - half, radius + half, height);
        }
    }
    list
}
