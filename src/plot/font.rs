//! The font shipped with the program: registration and widths of text.

use std::sync::OnceLock;

use plotters::style::{FontDesc, FontFamily, FontStyle, register_font};

use super::error::PlotError;

/// Name the font is registered under, and what a viewer of the SVG looks for, best first.
pub(super) const FAMILY: &str = "DejaVu Sans, sans-serif";

/// Ascent plus descent over em of the font (its `hhea` table: 1901 + 483 of 2048). The bitmap drawer takes this
/// height for the size.
pub(super) const LINE_OVER_EM: f64 = 2384.0 / 2048.0;

/// Letters are measured at this size, where whole pixels do not matter.
const MEASURE_EM: f64 = 256.0;

/// Makes the font known to the drawing library, once.
pub(super) fn register() -> Result<(), PlotError> {
    static REGISTERED: OnceLock<bool> = OnceLock::new();
    let done = REGISTERED.get_or_init(|| {
        let font = include_bytes!("../../data/fonts/DejaVuSans-pictures.ttf");
        register_font(FAMILY, FontStyle::Normal, font).is_ok()
    });
    if *done { Ok(()) } else { Err(PlotError::Drawing { message: "the font cannot be read".to_owned() }) }
}

/// The font at an em, for the bitmap drawer.
pub(super) fn at(em: f64) -> FontDesc<'static> {
    FontDesc::new(FontFamily::Name(FAMILY), em * LINE_OVER_EM, FontStyle::Normal)
}

/// Width of a text, in the unit of the em. The font has to be registered.
pub(super) fn width(text: &str, em: f64) -> Result<f64, PlotError> {
    let ((left, _), (right, _)) = at(MEASURE_EM)
        .layout_box(text)
        .map_err(|error| PlotError::Drawing { message: format!("text {text:?}: {error}") })?;
    Ok(f64::from(right - left) * em / MEASURE_EM)
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_cut_where_the_room_ends() {
        register().unwrap();
        let full = "a name that is far too long for the room there is";
        let short = fitted(full, 12.0, 120.0).unwrap();
        assert!(short.ends_with('…') && width(&short, 12.0).unwrap() <= 120.0, "{short}");
        assert_eq!(fitted("tab\there", 12.0, 500.0).unwrap(), "tab here");
    }

    #[test]
    fn letters_are_as_wide_as_the_font_says() {
        register().unwrap();
        // advance of "0" in DejaVu Sans is 1303 of 2048
        let digits = width("0000000000", 100.0).unwrap();
        assert!((digits - 1000.0 * 1303.0 / 2048.0).abs() < 1.0, "{digits}");
    }
}
