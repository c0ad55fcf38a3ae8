//! A scene drawn through the drawing library, as SVG and as PNG.

use plotters::backend::{BitMapBackend, DrawingBackend, SVGBackend};
use plotters::coord::Shift;
use plotters::drawing::IntoDrawingArea;
use plotters::element::{Circle, PathElement, Polygon, Text};
use plotters::prelude::{DrawingArea, RGBAColor, ShapeStyle};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, FontDesc, FontFamily, FontStyle};

use super::error::PlotError;
use super::font;
use super::png;
use super::scene::{Anchor, Ink, Point, Scene, Shape};

/// The SVG drawer rounds to whole units: eight of them to a point keep curves smooth.
const SVG_SCALE: f64 = 8.0;
/// Pixels of the PNG to a point of the page.
const PNG_SCALE: usize = 2;
/// The bitmap is drawn this much larger and averaged, which smooths its edges.
const PNG_OVERDRAW: usize = 3;
/// Resolution written into the PNG (pixels per metre): 200 to the inch.
const PNG_PER_METRE: u32 = 7874;

/// What differs between the two drawers.
struct Pen {
    scale: f64,
    /// size to ask for over em
    size_over_em: f64,
    /// how far below the given place the drawer sets the baseline, over em
    baseline: f64,
    /// draw strokes as pieces with round joints instead of one path
    pieces: bool,
}

/// The scene as an SVG file.
pub(super) fn svg(scene: &Scene) -> Result<Vec<u8>, PlotError> {
    font::register()?;
    // the drawer writes font-size = size / 1.24 and sets "top" text 0.76 em lower
    let pen = Pen { scale: SVG_SCALE, size_over_em: 1.24, baseline: 0.76, pieces: false };
    let (width, height) = (whole(scene.width * SVG_SCALE), whole(scene.height * SVG_SCALE));
    let mut text = String::new();
    {
        let area = SVGBackend::with_string(&mut text, (width, height)).into_drawing_area();
        draw(scene, &pen, &area)?;
        area.present().map_err(|error| drawing(&error))?;
    }
    // the root is shrunk to points of the page, strokes get round ends, and the title is there to be read out
    let drawn = format!("<svg width=\"{width}\" height=\"{height}\" ");
    let Some(rest) = text.strip_prefix(&drawn) else {
        return Err(PlotError::Drawing { message: "the SVG does not begin as expected".to_owned() });
    };
    let root = format!(
        "<svg width=\"{}\" height=\"{}\" stroke-linecap=\"round\" stroke-linejoin=\"round\" role=\"img\" ",
        scene.width, scene.height
    );
    let (open, body) = rest.split_once('\n').unwrap_or((rest, ""));
    let title = escaped(&scene.title);
    Ok(format!("{root}{open}\n<title>{title}</title>\n{body}").into_bytes())
}

/// The scene as a PNG file.
pub(super) fn png(scene: &Scene) -> Result<Vec<u8>, PlotError> {
    font::register()?;
    let factor = PNG_SCALE * PNG_OVERDRAW;
    // the drawer takes ascent plus descent for the size and sets "top" text half a size lower
    let pen = Pen {
        scale: factor as f64,
        size_over_em: font::LINE_OVER_EM,
        baseline: 0.5 * font::LINE_OVER_EM,
        pieces: true,
    };
    let (width, height) = (whole(scene.width) as usize * factor, whole(scene.height) as usize * factor);
    let mut pixels = vec![255_u8; width * height * 3];
    {
        let size = (whole(width as f64), whole(height as f64));
        let area = BitMapBackend::with_buffer(&mut pixels, size).into_drawing_area();
        draw(scene, &pen, &area)?;
        area.present().map_err(|error| drawing(&error))?;
    }
    let averaged = averaged(&pixels, width, height, PNG_OVERDRAW);
    Ok(png::encode(&averaged, width / PNG_OVERDRAW, height / PNG_OVERDRAW, PNG_PER_METRE))
}

fn draw<B: DrawingBackend>(scene: &Scene, pen: &Pen, area: &DrawingArea<B, Shift>) -> Result<(), PlotError> {
    area.fill(&plotters::style::WHITE).map_err(|error| drawing(&error))?;
    let at = |point: Point| (pixel(point.x * pen.scale), pixel(point.y * pen.scale));
    for shape in &scene.shapes {
        let drawn = match shape {
            Shape::Area { outline, ink } | Shape::Cell { outline, ink } => {
                area.draw(&Polygon::new(outline.iter().map(|p| at(*p)).collect::<Vec<_>>(), colour(*ink)))
            }
            Shape::Stroke { path, width, ink } if pen.pieces => pieces(path, *width, *ink, pen, area),
            Shape::Stroke { path, width, ink } => {
                let style =
                    ShapeStyle { color: colour(*ink), filled: false, stroke_width: whole(width * pen.scale) };
                area.draw(&PathElement::new(path.iter().map(|p| at(*p)).collect::<Vec<_>>(), style))
            }
            Shape::Dot { centre, radius, ink } => {
                area.draw(&Circle::new(at(*centre), pixel(radius * pen.scale), colour(*ink).filled()))
            }
            Shape::Text { text, place, em, anchor, ink } => {
                let size = em * pen.scale * pen.size_over_em;
                let horizontal = match anchor {
                    Anchor::Start => HPos::Left,
                    Anchor::Middle => HPos::Center,
                    Anchor::End => HPos::Right,
                };
                let family = FontFamily::Name(font::FAMILY);
                let style = FontDesc::new(family, size, FontStyle::Normal)
                    .color(&colour(*ink))
                    .pos(Pos::new(horizontal, VPos::Top));
                let top = Point { x: place.x, y: place.y - pen.baseline * em };
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
    pen: &Pen,
    area: &DrawingArea<B, Shift>,
) -> Result<(), plotters::drawing::DrawingAreaErrorKind<B::ErrorType>> {
    let half = 0.5 * width * pen.scale;
    let style = colour(ink).filled();
    for piece in path.windows(2) {
        let (a, b) = (piece[0], piece[1]);
        let length = (b.x - a.x).hypot(b.y - a.y);
        if length == 0.0 {
            continue;
        }
        let (nx, ny) = (half * (a.y - b.y) / length, half * (b.x - a.x) / length);
        let corner =
            |p: Point, side: f64| (pixel(p.x * pen.scale + side * nx), pixel(p.y * pen.scale + side * ny));
        let outline = vec![corner(a, 1.0), corner(b, 1.0), corner(b, -1.0), corner(a, -1.0)];
        area.draw(&Polygon::new(outline, style))?;
    }
    // hair lines need no round ends, and would grow longer by them
    if width > 1.0 {
        for point in path {
            let centre = (pixel(point.x * pen.scale), pixel(point.y * pen.scale));
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

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
