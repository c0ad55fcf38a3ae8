//! The font shipped with the program: widths and outlines of text.

use std::sync::OnceLock;

use tiny_skia::{Path, PathBuilder};
use ttf_parser::{Face, FaceParsingError, GlyphId, OutlineBuilder};

use super::error::PlotError;

/// Ascent over em of the font (its `hhea` table: 1901 of 2048).
pub(super) const ASCENT: f64 = 1901.0 / 2048.0;

const FILE: &[u8] = include_bytes!("../../data/fonts/DejaVuSans-pictures.ttf");

/// The font, read once.
fn face() -> Result<&'static Face<'static>, PlotError> {
    static FACE: OnceLock<Result<Face<'static>, FaceParsingError>> = OnceLock::new();
    FACE.get_or_init(|| Face::parse(FILE, 0)).as_ref().map_err(|error| PlotError::Font(*error))
}

/// Glyphs of a text, each with where it begins and how far it advances (units of the font).
fn glyphs<'a>(face: &'a Face<'_>, text: &'a str) -> impl Iterator<Item = (GlyphId, f64, f64)> + 'a {
    text.chars().scan(0.0, |pen, letter| {
        let glyph = face.glyph_index(letter).unwrap_or_default();
        let advance = face.glyph_hor_advance(glyph).map_or(0.0, f64::from);
        let start = *pen;
        *pen += advance;
        Some((glyph, start, advance))
    })
}

/// Width of a text, in the unit of the em.
pub(super) fn width(text: &str, em: f64) -> Result<f64, PlotError> {
    let face = face()?;
    let advances: f64 = glyphs(face, text).map(|(_, _, advance)| advance).sum();
    Ok(advances * em / f64::from(face.units_per_em()))
}

/// The text cut to a width, with an ellipsis where something was cut; control characters become spaces.
pub(super) fn fitted(text: &str, em: f64, available: f64) -> Result<String, PlotError> {
    let clean: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let clean = clean.trim();
    if width(clean, em)? <= available {
        return Ok(clean.to_owned());
    }
    let mut kept: Vec<char> = clean.chars().collect();
    loop {
        kept.pop();
        let short: String = kept.iter().collect::<String>().trim_end().to_owned() + "…";
        if kept.is_empty() || width(&short, em)? <= available {
            return Ok(short);
        }
    }
}

/// The letters of a text as one path, the baseline beginning at (x, y), y downward. None where nothing shows.
pub(super) fn outlines(text: &str, em: f64, [x, y]: [f64; 2]) -> Result<Option<Path>, PlotError> {
    let face = face()?;
    let scale = em / f64::from(face.units_per_em());
    let mut letters = Letters { path: PathBuilder::new(), scale, x, y };
    for (glyph, start, _) in glyphs(face, text) {
        letters.x = x + scale * start;
        // a space has no outline
        let _ = face.outline_glyph(glyph, &mut letters);
    }
    Ok(letters.path.finish())
}

/// Outlines in units of the font, put in their place.
struct Letters {
    path: PathBuilder,
    scale: f64,
    x: f64,
    y: f64,
}

impl Letters {
    // places on a page
    #[allow(clippy::cast_possible_truncation)]
    fn at(&self, x: f32, y: f32) -> (f32, f32) {
        ((self.x + self.scale * f64::from(x)) as f32, (self.y - self.scale * f64::from(y)) as f32)
    }
}

impl OutlineBuilder for Letters {
    fn move_to(&mut self, x: f32, y: f32) {
        let (x, y) = self.at(x, y);
        self.path.move_to(x, y);
    }

    fn line_to(&mut self, x: f32, y: f32) {
        let (x, y) = self.at(x, y);
        self.path.line_to(x, y);
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let ((x1, y1), (x, y)) = (self.at(x1, y1), self.at(x, y));
        self.path.quad_to(x1, y1, x, y);
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let ((x1, y1), (x2, y2), (x, y)) = (self.at(x1, y1), self.at(x2, y2), self.at(x, y));
        self.path.cubic_to(x1, y1, x2, y2, x, y);
    }

    fn close(&mut self) {
        self.path.close();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_cut_where_the_room_ends() {
        let full = "a name that is far too long for the room there is";
        let short = fitted(full, 12.0, 120.0).unwrap();
        assert!(short.ends_with('…') && width(&short, 12.0).unwrap() <= 120.0, "{short}");
        assert_eq!(fitted("tab\there", 12.0, 500.0).unwrap(), "tab here");
    }

    #[test]
    fn letters_are_as_wide_as_the_font_says() {
        // advance of "0" in DejaVu Sans is 1303 of 2048
        let digits = width("0000000000", 100.0).unwrap();
        assert!((digits - 1000.0 * 1303.0 / 2048.0).abs() < 1e-9, "{digits}");
        assert_eq!(ASCENT * 2048.0, f64::from(face().unwrap().ascender()));
    }

    #[test]
    fn letters_stand_on_their_baseline_one_after_the_other() {
        // "H" of DejaVu Sans is 1493 of 2048 high (its cap height) and stands on the line
        let box_of = |text| outlines(text, 2048.0, [100.0, 3000.0]).unwrap().unwrap().bounds();
        let one = box_of("H");
        assert_eq!((one.bottom(), one.top()), (3000.0, 3000.0 - 1493.0));
        let (two, advance) = (box_of("HH"), width("H", 2048.0).unwrap());
        assert!((f64::from(two.right() - one.right()) - advance).abs() < 0.01, "{two:?} {one:?} {advance}");
        assert!(outlines(" ", 12.0, [0.0, 0.0]).unwrap().is_none());
    }
}
