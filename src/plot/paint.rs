//! A scene drawn by plotters on anti-aliased pixels, as PNG.

use plotters::coord::Shift;
use plotters::drawing::IntoDrawingArea;
use plotters::element::{Circle, PathElement, Polygon, Text};
use plotters::prelude::{DrawingArea, RGBAColor};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, FontDesc, FontFamily, FontStyle, ShapeStyle};
use png::{BitDepth, ColorType, Compression, Encoder, PixelDimensions, Unit};
use tiny_skia::Pixmap;

use super::error::PlotError;
use super::font;
use super::raster::{Cells, GRAIN, Raster};
use super::scene::{Anchor, Ink, Point, Scene, Shape};

/// Pixels of the PNG to a point of the page.
const PIXELS: u32 = 2;
/// Units of plotters' coordinates to a point of the page.
const SCALE: f64 = (PIXELS * GRAIN) as f64;
/// Pixels of a side that a picture may have: beyond it, paths lose their place in the counting of the raster.
const SIDE_MAX: u32 = 30_000;
/// Resolution written into the PNG (pixels per metre): 200 to the inch.
const PER_METRE: u32 = 7874;

/// The scene as a PNG file.
pub(super) fn png(scene: &Scene) -> Result<Vec<u8>, PlotError> {
    let (width, height) = (whole(scene.width) * PIXELS, whole(scene.height) * PIXELS);
    let mut pixels = (width.max(height) <= SIDE_MAX)
        .then(|| Pixmap::new(width, height))
        .flatten()
        .ok_or(PlotError::Size { width, height })?;
    draw(scene, &Raster::white(&mut pixels).into_drawing_area())?;
    encoded(&pixels)
}

fn draw(scene: &Scene, area: &DrawingArea<Raster<'_>, Shift>) -> Result<(), PlotError> {
    let at = |point: &Point| (unit(point.x), unit(point.y));
    let mut shapes = scene.shapes.iter().peekable();
    while let Some(shape) = shapes.next() {
        match shape {
            Shape::Area { outline, ink } => {
                area.draw(&Polygon::new(outline.iter().map(at).collect::<Vec<_>>(), colour(*ink)))
            }
            Shape::Cell { outline, ink } => {
                let mut cells = Cells::new(colour(*ink).to_backend_color());
                cells.push(outline.iter().map(at));
                // neighbours in the list of one ink are one path: their order among themselves does not show
                while let Some(Shape::Cell { outline, ink: next }) = shapes.peek() {
                    if next != ink {
                        break;
                    }
                    cells.push(outline.iter().map(at));
                    shapes.next();
                }
                area.draw(&cells)
            }
            Shape::Stroke { path, width, ink } => {
                area.draw(&PathElement::new(path.iter().map(at).collect::<Vec<_>>(), pen(*width, *ink)))
            }
            Shape::Dot { centre, radius, ink } => {
                area.draw(&Circle::new(at(centre), unit(*radius), colour(*ink).filled()))
            }
            Shape::Text { text, place, em, anchor, ink } => {
                let horizontal = match anchor {
                    Anchor::Start => HPos::Left,
                    Anchor::Middle => HPos::Center,
                    Anchor::End => HPos::Right,
                };
                let style = FontDesc::new(FontFamily::SansSerif, em * SCALE, FontStyle::Normal)
                    .color(&colour(*ink))
                    .pos(Pos::new(horizontal, VPos::Top));
                let top = Point { x: place.x, y: place.y - font::ASCENT * em };
                area.draw(&Text::new(text.as_str(), at(&top), style))
            }
        }
        .map_err(|error| PlotError::Drawing { message: error.to_string() })?;
    }
    Ok(())
}

/// The opaque pixels as a PNG file in red, green and blue.
fn encoded(pixels: &Pixmap) -> Result<Vec<u8>, PlotError> {
    let opaque: Vec<u8> =
        pixels.data().chunks_exact(4).flat_map(|pixel| [pixel[0], pixel[1], pixel[2]]).collect();
    let mut file = Vec::new();
    let mut encoder = Encoder::new(&mut file, pixels.width(), pixels.height());
    encoder.set_color(ColorType::Rgb);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_compression(Compression::Fast);
    encoder.set_pixel_dims(Some(PixelDimensions { xppu: PER_METRE, yppu: PER_METRE, unit: Unit::Meter }));
    let refused = |error: png::EncodingError| PlotError::Drawing { message: error.to_string() };
    let mut writer = encoder.write_header().map_err(refused)?;
    writer.write_image_data(&opaque).map_err(refused)?;
    writer.finish().map_err(refused)?;
    Ok(file)
}

fn colour(ink: Ink) -> RGBAColor {
    RGBAColor(ink.rgb.0, ink.rgb.1, ink.rgb.2, ink.cover)
}

fn pen(width: f64, ink: Ink) -> ShapeStyle {
    colour(ink).stroke_width(unit(width).unsigned_abs())
}

/// A length on the page in units of plotters; far outside the page is as good as just outside.
fn unit(points: f64) -> i32 {
    // clamped, so nothing is cut off
    #[allow(clippy::cast_possible_truncation)]
    let rounded = (points * SCALE).clamp(-1e6, 1e6).round() as i32;
    rounded
}

/// A side of the page in whole points.
fn whole(points: f64) -> u32 {
    // clamped, so nothing is cut off
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let rounded = points.clamp(1.0, 1e6).round() as u32;
    rounded
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// Width, height and pixels (red, green, blue, row by row) of a PNG file.
    pub fn decode(file: &[u8]) -> (usize, usize, Vec<u8>) {
        let mut reader = png::Decoder::new(std::io::Cursor::new(file)).read_info().unwrap();
        let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
        let info = reader.next_frame(&mut pixels).unwrap();
        assert_eq!((info.color_type, info.bit_depth), (ColorType::Rgb, BitDepth::Eight));
        (info.width as usize, info.height as usize, pixels)
    }

    const INK: Ink = Ink::solid(10, 120, 200);

    /// A page of 20 × 10 points with one shape; the pixel at a place (points).
    fn drawn(shape: Shape) -> impl Fn(f64, f64) -> [u8; 3] {
        let scene = Scene { width: 20.0, height: 10.0, title: String::new(), shapes: vec![shape] };
        let (width, height, pixels) = decode(&png(&scene).unwrap());
        assert_eq!((width, height), (40, 20));
        move |x, y| {
            let place = 3 * (whole(2.0 * y - 0.5) as usize * width + whole(2.0 * x - 0.5) as usize);
            pixels[place..place + 3].try_into().unwrap()
        }
    }

    fn corners(points: [[f64; 2]; 4]) -> Vec<Point> {
        points.map(|[x, y]| Point { x, y }).to_vec()
    }

    #[test]
    fn edges_are_mixed_by_the_share_of_the_pixel_they_cover() {
        // 5 to 12.25 points are 10 to 24.5 pixels: the last column is half covered
        let outline = corners([[5.0, 2.0], [12.25, 2.0], [12.25, 8.0], [5.0, 8.0]]);
        let at = drawn(Shape::Area { outline, ink: INK });
        assert_eq!(
            (at(4.75, 5.0), at(5.25, 5.0), at(11.75, 5.0)),
            ([255; 3], [10, 120, 200], [10, 120, 200])
        );
        for (found, whole) in at(12.25, 5.0).into_iter().zip([10.0, 120.0, 200.0]) {
            let expected = 0.5 * (whole + 255.0);
            assert!((f64::from(found) - expected).abs() < 10.0, "{found}, expected {expected}");
        }
        assert_eq!(at(12.75, 5.0), [255; 3]);
    }

    #[test]
    fn an_ink_that_covers_in_part_lets_the_paper_through() {
        let outline = corners([[5.0, 2.0], [15.0, 2.0], [15.0, 8.0], [5.0, 8.0]]);
        let at = drawn(Shape::Area { outline, ink: Ink { rgb: (0, 100, 200), cover: 0.2 } });
        // 0.2 ink + 0.8 paper
        for (found, expected) in at(10.25, 5.25).into_iter().zip([204, 224, 244_u8]) {
            assert!(found.abs_diff(expected) <= 1, "{found}, expected {expected}");
        }
    }

    #[test]
    fn neighbouring_cells_leave_no_seam() {
        // a slanted border between two cells of inks that are nearly the same
        let left = corners([[2.0, 1.0], [9.3, 1.0], [11.7, 9.0], [2.0, 9.0]]);
        let right = corners([[9.3, 1.0], [18.0, 1.0], [18.0, 9.0], [11.7, 9.0]]);
        let other = Ink::solid(12, 120, 200);
        let shapes = [(left, INK), (right, other)].map(|(outline, ink)| Shape::Cell { outline, ink });
        let scene = Scene { width: 20.0, height: 10.0, title: String::new(), shapes: shapes.to_vec() };
        let (width, _, pixels) = decode(&png(&scene).unwrap());
        for row in 4..16 {
            for column in 6..34 {
                let place = 3 * (row * width + column);
                let pixel = &pixels[place..place + 3];
                // the paper is white: what shows through makes a pixel lighter than both
                let own = (10..=12).contains(&pixel[0]) && pixel[1..] == [120, 200];
                assert!(own, "row {row}, column {column}: {pixel:?}");
            }
        }
    }

    #[test]
    fn a_stroke_is_as_wide_as_asked_and_a_dot_as_large() {
        let path = vec![Point { x: 4.0, y: 5.0 }, Point { x: 16.0, y: 5.0 }];
        let at = drawn(Shape::Stroke { path, width: 3.0, ink: INK });
        assert_eq!(
            [3.25, 3.75, 6.25, 6.75].map(|y| at(10.0, y) == [10, 120, 200]),
            [false, true, true, false]
        );
        let at = drawn(Shape::Dot { centre: Point { x: 10.0, y: 5.0 }, radius: 3.0, ink: INK });
        assert_eq!(
            [6.25, 7.75, 12.25, 13.75].map(|x| at(x, 5.0) == [10, 120, 200]),
            [false, true, true, false]
        );
    }

    #[test]
    fn letters_stand_where_the_anchor_says() {
        let columns = |anchor| {
            let text = "HH".to_owned();
            let place = Point { x: 10.0, y: 8.0 };
            let shape = Shape::Text { text, place, em: 5.0, anchor, ink: INK };
            let scene = Scene { width: 20.0, height: 10.0, title: String::new(), shapes: vec![shape] };
            let (width, _, pixels) = decode(&png(&scene).unwrap());
            let painted = |column: &usize| (0..20).any(|row| pixels[3 * (row * width + column)] < 200);
            let inked: Vec<usize> = (0..width).filter(painted).collect();
            (inked[0], inked[inked.len() - 1])
        };
        let (start, middle, end) = (columns(Anchor::Start), columns(Anchor::Middle), columns(Anchor::End));
        // two letters of 1540 of 2048 units at an em of ten pixels are 15 wide, from pixel 20 on, about it, or up to it
        assert!(start.0 >= 20 && start.1 < 36 && end.0 >= 4 && end.1 < 20, "{start:?} {end:?}");
        assert_eq!(middle.0 + middle.1, 39, "{middle:?}");
    }

    #[test]
    fn the_file_says_how_large_it_prints() {
        let scene = Scene { width: 20.0, height: 10.0, title: String::new(), shapes: vec![] };
        let file = png(&scene).unwrap();
        let reader = png::Decoder::new(std::io::Cursor::new(file)).read_info().unwrap();
        let pixels = reader.info().pixel_dims.unwrap();
        assert_eq!((pixels.xppu, pixels.yppu, pixels.unit), (7874, 7874, Unit::Meter));
    }

    #[test]
    fn a_page_without_end_is_refused() {
        let scene = Scene { width: f64::INFINITY, height: 10.0, title: String::new(), shapes: vec![] };
        assert!(matches!(png(&scene), Err(PlotError::Size { .. })));
    }
}
