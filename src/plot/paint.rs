//! A scene drawn through the drawing library as PNG.

use plotters::backend::{BitMapBackend, DrawingBackend};
use plotters::coord::Shift;
use plotters::drawing::IntoDrawingArea;
use plotters::element::{Circle, Polygon, Text};
use plotters::prelude::{DrawingArea, RGBAColor};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, FontDesc, FontFamily, FontStyle};

use super::error::PlotError;
use super::font;
use super::png;
use super::scene::{Anchor, Ink, Point, Scene, Shape};

/// Pixels of the PNG to a point of the page.
const PNG_SCALE: usize = 2;
/// The bitmap is drawn this much larger and averaged, which smooths its edges.
const PNG_OVERDRAW: usize = 3;
/// Resolution written into the PNG (pixels per metre): 200 to the inch.
const PNG_PER_METRE: u32 = 7874;

/// The scene as a PNG file.
pub(super) fn png(scene: &Scene) -> Result<Vec<u8>, PlotError> {
    font::register()?;
    let factor = PNG_SCALE * PNG_OVERDRAW;
    let (width, height) = (whole(scene.width) as usize * factor, whole(scene.height) as usize * factor);
    let mut pixels = vec![255_u8; width * height * 3];
    {
        let size = (whole(width as f64), whole(height as f64));
        let area = BitMapBackend::with_buffer(&mut pixels, size).into_drawing_area();
        draw(scene, factor as f64, &area)?;
        area.present().map_err(|error| drawing(&error))?;
    }
    let averaged = averaged(&pixels, width, height, PNG_OVERDRAW);
    Ok(png::encode(&averaged, width / PNG_OVERDRAW, height / PNG_OVERDRAW, PNG_PER_METRE))
}

fn draw<B: DrawingBackend>(scene: &Scene, scale: f64, area: &DrawingArea<B, Shift>) -> Result<(), PlotError> {
    area.fill(&plotters::style::WHITE).map_err(|error| drawing(&error))?;
    let at = |point: Point| (pixel(point.x * scale), pixel(point.y * scale));
    for shape in &scene.shapes {
        let drawn = match shape {
            Shape::Area { outline, ink } | Shape::Cell { outline, ink } => {
                area.draw(&Polygon::new(outline.iter().map(|p| at(*p)).collect::<Vec<_>>(), colour(*ink)))
            }
            Shape::Stroke { path, width, ink } => pieces(path, *width, *ink, scale, area),
            Shape::Dot { centre, radius, ink } => {
                area.draw(&Circle::new(at(*centre), pixel(radius * scale), colour(*ink).filled()))
            }
            Shape::Text { text, place, em, anchor, ink } => {
                // the drawer takes ascent plus descent for the size and sets "top" text half a size lower
                let size = em * scale * font::LINE_OVER_EM;
                let horizontal = match anchor {
                    Anchor::Start => HPos::Left,
                    Anchor::Middle => HPos::Center,
                    Anchor::End => HPos::Right,
                };
                let family = FontFamily::Name(font::FAMILY);
                let style = FontDesc::new(family, size, FontStyle::Normal)
                    .color(&colour(*ink))
                    .pos(Pos::new(horizontal, VPos::Top));
                let top = Point { x: place.x, y: place.y - 0.5 * font::LINE_OVER_EM * em };
                area.draw(&Text::new(text.as_str(), at(top), style))
            }
        };
        drawn.map_err(|error| drawing(&error))?;
    }
    Ok(())
}

/// A stroke as one quadrilateral per piece and a disc at each joint: the bitmap drawer's own wide paths tear where
/// their points lie close.
fn pieces<B: DrawingBackend>(
    path: &[Point],
    width: f64,
    ink: Ink,
    scale: f64,
    area: &DrawingArea<B, Shift>,
) -> Result<(), plotters::drawing::DrawingAreaErrorKind<B::ErrorType>> {
    let half = 0.5 * width * scale;
    let style = colour(ink).filled();
    for piece in path.windows(2) {
        let (a, b) = (piece[0], piece[1]);
        let length = (b.x - a.x).hypot(b.y - a.y);
        if length == 0.0 {
            continue;
        }
        let (nx, ny) = (half * (a.y - b.y) / length, half * (b.x - a.x) / length);
        let corner = |p: Point, side: f64| (pixel(p.x * scale + side * nx), pixel(p.y * scale + side * ny));
        let outline = vec![corner(a, 1.0), corner(b, 1.0), corner(b, -1.0), corner(a, -1.0)];
        area.draw(&Polygon::new(outline, style))?;
    }
    // hair lines need no round ends, and would grow longer by them
    if width > 1.0 {
        for point in path {
            let centre = (pixel(point.x * scale), pixel(point.y * scale));
            area.draw(&Circle::new(centre, pixel(half), style))?;
        }
    }
    Ok(())
}

/// Mean over squares of `factor` pixels.
fn averaged(pixels: &[u8], width: usize, height: usize, factor: usize) -> Vec<u8> {
    let (columns, rows) = (width / factor, height / factor);
    let mut small = Vec::with_capacity(columns * rows * 3);
    let count = factor * factor;
    for row in 0..rows {
        for column in 0..columns {
            for channel in 0..3 {
                let mut sum = 0;
                for y in 0..factor {
                    let start = ((row * factor + y) * width + column * factor) * 3 + channel;
                    sum += (0..factor).map(|x| usize::from(pixels[start + 3 * x])).sum::<usize>();
                }
                small.push(u8::try_from((sum + count / 2) / count).unwrap_or(u8::MAX));
            }
        }
    }
    small
}

fn colour(ink: Ink) -> RGBAColor {
    RGBAColor(ink.rgb.0, ink.rgb.1, ink.rgb.2, ink.cover)
}

fn drawing(error: &dyn std::error::Error) -> PlotError {
    PlotError::Drawing { message: error.to_string() }
}

/// A coordinate in whole units; far outside the page is as good as just outside.
fn pixel(value: f64) -> i32 {
    // clamped, so nothing is cut off
    #[allow(clippy::cast_possible_truncation)]
    let rounded = value.clamp(-1e6, 1e6).round() as i32;
    rounded
}

fn whole(value: f64) -> u32 {
    u32::try_from(pixel(value).max(1)).unwrap_or(1)
}
