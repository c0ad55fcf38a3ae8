//! A number engraved on the rim in single strokes, midway between two roots.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use super::stroke_letters::{ADVANCE, HEIGHT, WIDTH, strokes};
use super::tabs::outside;
use super::{ArcChain, Outline, Point, Role, Vertex};

/// Letters: least and largest height (mm). Below, engraving blurs (common practice).
const LETTERS: [f64; 2] = [0.8, 4.0];
/// Share of the rim's width that letters may take.
const OF_RIM: f64 = 0.5;
/// Share of the angle between two roots that the number may take.
const OF_PITCH: f64 = 0.5;
/// Places looked at on each arc of a slot.
const LOOKS: usize = 8;

/// Strokes of a number on the rim, baseline towards the hub; none where the rim leaves no room for it.
pub fn engraving(outline: &Outline, number: &str) -> Vec<ArcChain> {
    let letters = number.chars().count() as f64;
    let Some((_, radius)) = outside(outline) else { return Vec::new() };
    let pitch = TAU / outline.arms.max(1) as f64;
    // one arm: opposite its root
    let middle = 0.5 * pitch;
    let slots = places(outline);
    // the wider the letters, the more of the slot lies below them: the largest that fits, from above
    let steps = 33;
    let height = (0..steps)
        .map(|k| LETTERS[1] + (LETTERS[0] - LETTERS[1]) * f64::from(k) / f64::from(steps - 1))
        .find(|height| {
            let inner = rim_inside(&slots, middle, 0.5 * OF_PITCH * pitch);
            let room = radius - inner;
            let centre = 0.5 * (radius + inner);
            let length = letters * ADVANCE / HEIGHT * height;
            *height <= OF_RIM * room && length <= OF_PITCH * pitch * centre
        });
    let Some(height) = height else { return Vec::new() };
    let inner = rim_inside(&slots, middle, 0.5 * OF_PITCH * pitch);
    let scale = height / HEIGHT;
    let baseline = 0.5 * (radius + inner) - 0.5 * height;
    let start = 0.5 * (letters * ADVANCE - (ADVANCE - WIDTH)) * scale;
    let mut chains = Vec::new();
    for (k, letter) in number.chars().enumerate() {
        // clockwise from the left as seen from the hub; every letter stands upright on its radius
        let along = k as f64 * ADVANCE * scale - start + 0.5 * WIDTH * scale;
        let azimuth = middle - along / (baseline + 0.5 * height);
        let turn = azimuth - FRAC_PI_2;
        let (sin, cos) = turn.sin_cos();
        let foot = [baseline * azimuth.cos(), baseline * azimuth.sin()];
        for stroke in strokes(letter) {
            let vertices = stroke
                .into_iter()
                .map(|[x, y]| {
                    let (x, y) = (scale * (x - 0.5 * WIDTH), scale * y);
                    Vertex { point: [foot[0] + x * cos - y * sin, foot[1] + x * sin + y * cos], bulge: 0.0 }
                })
                .collect();
            chains.push(ArcChain { vertices, closed: false });
        }
    }
    chains
}

/// Places on the slots' edges: azimuth and radius.
fn places(outline: &Outline) -> Vec<[f64; 2]> {
    let polar = |[x, y]: Point| [y.atan2(x), x.hypot(y)];
    let slots =
        outline.contours.iter().filter(|contour| matches!(contour.role, Role::Slot | Role::CutOnLine));
    slots
        .flat_map(|contour| {
            let half = if contour.role == Role::CutOnLine { 0.5 * outline.slot } else { 0.0 };
            contour.chain.arcs().flat_map(move |arc| {
                (0..=LOOKS).map(move |k| {
                    let [azimuth, radius] = polar(arc.point_at(k as f64 / LOOKS as f64));
                    [azimuth, radius + half]
                })
            })
        })
        .collect()
}

/// Largest radius of the slots within an angle to both sides of a place.
fn rim_inside(slots: &[[f64; 2]], middle: f64, within: f64) -> f64 {
    slots
        .iter()
        .filter(|[azimuth, _]| ((azimuth - middle + PI).rem_euclid(TAU) - PI).abs() <= within)
        .map(|[_, radius]| *radius)
        .fold(0.0, f64::max)
}
