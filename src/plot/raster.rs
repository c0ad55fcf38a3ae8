//! Anti-aliased pixels that plotters draws on.

use std::convert::Infallible;

use plotters::element::{Drawable, PointCollection};
use plotters_backend::text_anchor::HPos;
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind,
};
use tiny_skia::{
    Color, FillRule, LineCap, LineJoin, Paint, Path, PathBuilder, Pixmap, PixmapMut, Stroke, Transform,
};

use super::font;

/// Units of a coordinate to a pixel: plotters counts in whole numbers.
pub(super) const GRAIN: u32 = 16;

/// A picture in pixels. Its coordinates are sixteenths of a pixel; a text's size is its em, and its upper edge lies an
/// ascent above the baseline.
pub(super) struct Raster<'a>(PixmapMut<'a>);

type Drawn = Result<(), DrawingErrorKind<Infallible>>;

impl<'a> Raster<'a> {
    /// A white page over pixels.
    pub fn white(pixels: &'a mut Pixmap) -> Self {
        pixels.fill(Color::WHITE);
        Self(pixels.as_mut())
    }

    fn fill(&mut self, path: Option<Path>, colour: BackendColor) {
        if let Some(path) = path {
            self.0.fill_path(&path, &paint(colour), FillRule::Winding, Transform::identity(), None);
        }
    }

    fn stroke(&mut self, path: Option<Path>, width: u32, colour: BackendColor) {
        let stroke = Stroke {
            width: width as f32 / GRAIN as f32,
            line_cap: LineCap::Round,
            line_join: LineJoin::Round,
            ..Stroke::default()
        };
        if let Some(path) = path {
            self.0.stroke_path(&path, &paint(colour), &stroke, Transform::identity(), None);
        }
    }
}

impl DrawingBackend for Raster<'_> {
    type ErrorType = Infallible;

    fn get_size(&self) -> (u32, u32) {
        (self.0.width() * GRAIN, self.0.height() * GRAIN)
    }

    fn ensure_prepared(&mut self) -> Drawn {
        Ok(())
    }

    fn present(&mut self) -> Drawn {
        Ok(())
    }

    fn draw_pixel(&mut self, (x, y): BackendCoord, colour: BackendColor) -> Drawn {
        self.fill(path([(x, y), (x + 1, y), (x + 1, y + 1), (x, y + 1)], true), colour);
        Ok(())
    }

    fn draw_line<S: BackendStyle>(&mut self, from: BackendCoord, to: BackendCoord, style: &S) -> Drawn {
        self.draw_path([from, to], style)
    }

    fn draw_rect<S: BackendStyle>(
        &mut self,
        (left, top): BackendCoord,
        (right, bottom): BackendCoord,
        style: &S,
        fill: bool,
    ) -> Drawn {
        let outline = path([(left, top), (right, top), (right, bottom), (left, bottom)], true);
        if fill {
            self.fill(outline, style.color());
        } else {
            self.stroke(outline, style.stroke_width(), style.color());
        }
        Ok(())
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        points: I,
        style: &S,
    ) -> Drawn {
        self.stroke(path(points, false), style.stroke_width(), style.color());
        Ok(())
    }

    fn draw_circle<S: BackendStyle>(
        &mut self,
        centre: BackendCoord,
        radius: u32,
        style: &S,
        fill: bool,
    ) -> Drawn {
        let (x, y) = pixel(centre);
        let outline = PathBuilder::from_circle(x, y, radius as f32 / GRAIN as f32);
        if fill {
            self.fill(outline, style.color());
        } else {
            self.stroke(outline, style.stroke_width(), style.color());
        }
        Ok(())
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        points: I,
        style: &S,
    ) -> Drawn {
        self.fill(path(points, true), style.color());
        Ok(())
    }

    fn draw_text<S: BackendTextStyle>(&mut self, text: &str, style: &S, (x, y): BackendCoord) -> Drawn {
        let grain = f64::from(GRAIN);
        let em = style.size() / grain;
        let refused = |error| DrawingErrorKind::FontError(Box::new(error));
        let before = match style.anchor().h_pos {
            HPos::Left => 0.0,
            HPos::Center => 0.5,
            HPos::Right => 1.0,
        };
        let left = f64::from(x) / grain - before * font::width(text, em).map_err(refused)?;
        let baseline = f64::from(y) / grain + font::ASCENT * em;
        self.fill(font::outlines(text, em, [left, baseline]).map_err(refused)?, style.color());
        Ok(())
    }
}

/// Cells of one ink that leave no seam to their neighbours, as a plotters element.
pub(super) struct Cells {
    corners: Vec<BackendCoord>,
    /// number of corners of each
    sides: Vec<usize>,
    colour: BackendColor,
}

impl Cells {
    pub fn new(colour: BackendColor) -> Self {
        Self { corners: Vec::new(), sides: Vec::new(), colour }
    }

    pub fn push(&mut self, outline: impl IntoIterator<Item = BackendCoord>) {
        let before = self.corners.len();
        self.corners.extend(outline);
        self.sides.push(self.corners.len() - before);
    }
}

impl<'a> PointCollection<'a, BackendCoord> for &'a Cells {
    type Point = &'a BackendCoord;
    type IntoIter = &'a [BackendCoord];

    fn point_iter(self) -> Self::IntoIter {
        &self.corners
    }
}

impl Drawable<Raster<'_>> for Cells {
    /// Twice: whole pixels whose middle lies inside, so that no pixel between two cells shows what is below both, then
    /// the edges.
    fn draw<I: Iterator<Item = BackendCoord>>(
        &self,
        mut corners: I,
        raster: &mut Raster<'_>,
        _: (u32, u32),
    ) -> Drawn {
        let mut path = PathBuilder::new();
        for sides in &self.sides {
            polygon(&mut path, corners.by_ref().take(*sides), true);
        }
        if let Some(path) = path.finish() {
            let mut paint = paint(self.colour);
            for smooth in [false, true] {
                paint.anti_alias = smooth;
                raster.0.fill_path(&path, &paint, FillRule::Winding, Transform::identity(), None);
            }
        }
        Ok(())
    }
}

fn pixel((x, y): BackendCoord) -> (f32, f32) {
    (x as f32 / GRAIN as f32, y as f32 / GRAIN as f32)
}

/// A path in pixels; none where it has no extent.
fn path(points: impl IntoIterator<Item = BackendCoord>, closed: bool) -> Option<Path> {
    let mut path = PathBuilder::new();
    polygon(&mut path, points, closed);
    path.finish()
}

fn polygon(path: &mut PathBuilder, points: impl IntoIterator<Item = BackendCoord>, closed: bool) {
    for (index, point) in points.into_iter().enumerate() {
        let (x, y) = pixel(point);
        if index == 0 {
            path.move_to(x, y);
        } else {
            path.line_to(x, y);
        }
    }
    if closed {
        path.close();
    }
}

fn paint(colour: BackendColor) -> Paint<'static> {
    let (red, green, blue) = colour.rgb;
    let mut paint = Paint::default();
    // clamped, so nothing is cut off
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let cover = (255.0 * colour.alpha).clamp(0.0, 255.0).round() as u8;
    paint.set_color_rgba8(red, green, blue, cover);
    paint
}
