//! Equal discs on a sheet: rows side by side or staggered, whichever takes more.
//!
//! Every disc lies the same way, the rolling direction along the first side of the sheet.

use super::{CutRules, Outline, Point};
use crate::spec::Shop;

/// Border that stays free where none is given (mm): clamps and a wavy sheet edge (common practice).
const MARGIN: f64 = 10.0;
/// Least distance of neighbouring parts (mm).
const SPACING_MIN: f64 = 1.0;
/// Most parts that are placed.
const MOST: usize = 20_000;
/// Common sheets (mm), along and across the rolling direction: plates and strips of sheet-metal shops, and panels of
/// etchers, whose mask has no kerf (common practice).
const COMMON: [[f64; 2]; 3] = [[1000.0, 500.0], [2000.0, 1000.0], [2500.0, 1250.0]];
const COMMON_ETCHED: [[f64; 2]; 2] = [[450.0, 300.0], [600.0, 450.0]];
/// Rounding of a fit (mm): a disc that fits to a nanometre fits.
const ROUNDING: f64 = 1e-6;

/// Pattern of the rows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NestPattern {
    /// rows and columns
    Square,
    /// rows staggered by half a pitch
    Hexagonal,
}

impl NestPattern {
    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            Self::Square => "square",
            Self::Hexagonal => "hexagonal",
        }
    }
}

/// Parts on a sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Nest {
    /// sheet (mm): along the rolling direction, across it
    pub sheet: [f64; 2],
    /// border that stays free (mm)
    pub margin: f64,
    /// distance of neighbouring parts (mm)
    pub spacing: f64,
    /// pattern
    pub pattern: NestPattern,
    /// centres of the parts, the sheet's lower left corner the origin
    pub centres: Vec<Point>,
}

/// Errors of nesting.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum NestError {
    /// The sheet is too small.
    #[error(
        "shop.sheet: found {width} by {height} mm, expected at least {least:.1} mm on both sides for one part and its \
         margins; give a larger sheet or a smaller shop.margin"
    )]
    TooSmall {
        /// side along the rolling direction (mm)
        width: f64,
        /// other side (mm)
        height: f64,
        /// least side (mm)
        least: f64,
    },
    /// Not one set.
    #[error("shop.sheet: a set of {discs} discs does not fit {width} by {height} mm; give a larger sheet")]
    NoSet {
        /// side along the rolling direction (mm)
        width: f64,
        /// other side (mm)
        height: f64,
        /// discs of a set
        discs: usize,
    },
    /// More parts than a drawing can hold.
    #[error("shop.sheet: more than {MOST} parts would fit {width} by {height} mm; give a smaller sheet")]
    TooMany {
        /// side along the rolling direction (mm)
        width: f64,
        /// other side (mm)
        height: f64,
    },
}

/// Border of a sheet that stays free (mm).
pub(super) fn border(shop: &Shop) -> f64 {
    shop.margin.unwrap_or(MARGIN)
}

/// Distance of neighbouring parts by process (mm): the least web and a cut on either side.
pub fn part_spacing(rules: &CutRules, shop: &Shop) -> f64 {
    shop.spacing.unwrap_or((rules.arm_min + 2.0 * rules.kerf).max(SPACING_MIN))
}

/// Largest extent of a part (mm).
pub fn part_diameter(outline: &Outline) -> f64 {
    let [low, high] = outline.extents();
    (high[0] - low[0]).max(high[1] - low[1])
}

impl Nest {
    /// The pattern that takes most parts on the shop's sheet; none where no sheet is given.
    pub fn of(outline: &Outline, rules: &CutRules, shop: &Shop) -> Option<Result<Self, NestError>> {
        let sheet = shop.sheet?;
        Some(Self::discs(part_diameter(outline), part_spacing(rules, shop), border(shop), sheet))
    }

    /// Parts on the shop's sheet, or else on common sheets, those left out that take none or too many to draw.
    pub fn on_common(outline: &Outline, rules: &CutRules, shop: &Shop) -> Vec<Self> {
        let common: &[[f64; 2]] = match (shop.sheet.as_ref(), rules.kerf > 0.0) {
            (Some(sheet), _) => std::slice::from_ref(sheet),
            (None, true) => &COMMON,
            (None, false) => &COMMON_ETCHED,
        };
        let on = |sheet: &[f64; 2]| {
            Self::of(outline, rules, &Shop { sheet: Some(*sheet), ..shop.clone() }).and_then(Result::ok)
        };
        common.iter().filter_map(on).collect()
    }

    /// Discs of this diameter on a sheet. mm.
    pub fn discs(diameter: f64, spacing: f64, margin: f64, sheet: [f64; 2]) -> Result<Self, NestError> {
        let [width, height] = sheet;
        // room for centres
        let room = sheet.map(|side| side - 2.0 * margin - diameter + ROUNDING);
        if !room.iter().all(|side| *side >= 0.0) {
            return Err(NestError::TooSmall { width, height, least: diameter + 2.0 * margin });
        }
        let pitch = diameter + spacing;
        if (room[0] / pitch + 1.0) * (room[1] / pitch + 1.0) > MOST as f64 {
            return Err(NestError::TooMany { width, height });
        }
        let first = margin + 0.5 * diameter;
        let mut best: Option<(NestPattern, Vec<Point>)> = None;
        for (pattern, turned) in
            [(NestPattern::Square, false), (NestPattern::Hexagonal, false), (NestPattern::Hexagonal, true)]
        {
            let along = if turned { [room[1], room[0]] } else { room };
            let centres: Vec<Point> = rows(pattern, along, pitch)
                .into_iter()
                .map(|[a, b]| if turned { [b, a] } else { [a, b] })
                .map(|[x, y]| [first + x, first + y])
                .collect();
            // a plainer pattern stays where it takes as many
            if best.as_ref().is_none_or(|(_, other)| centres.len() > other.len()) {
                best = Some((pattern, centres));
            }
        }
        let (pattern, centres) = best.unwrap_or((NestPattern::Square, Vec::new()));
        Ok(Self { sheet, margin, spacing, pattern, centres })
    }

    /// Share of the sheet that becomes part, for parts of this area (mm²).
    pub fn sheet_use(&self, part_area: f64) -> f64 {
        self.centres.len() as f64 * part_area / (self.sheet[0] * self.sheet[1])
    }
}

/// Centres in a room for them, row by row from its corner.
fn rows(pattern: NestPattern, [along, across]: [f64; 2], pitch: f64) -> Vec<Point> {
    let (rise, shift) = match pattern {
        NestPattern::Square => (pitch, 0.0),
        NestPattern::Hexagonal => (0.75_f64.sqrt() * pitch, 0.5 * pitch),
    };
    let mut list = Vec::new();
    for row in (0..MOST).take_while(|row| *row as f64 * rise <= across) {
        let start = if row % 2 == 1 { shift } else { 0.0 };
        for column in (0..MOST).take_while(|column| start + *column as f64 * pitch <= along) {
            list.push([start + column as f64 * pitch, row as f64 * rise]);
        }
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    fn count(diameter: f64, sheet: [f64; 2]) -> (NestPattern, usize) {
        let nest = Nest::discs(diameter, 0.0, 0.0, sheet).unwrap();
        (nest.pattern, nest.centres.len())
    }

    #[test]
    fn counts_are_those_of_known_packings() {
        // unit circles: a 2 by 2 square takes four; a strip 1 + √3/2 high staggers two rows
        assert_eq!(count(1.0, [2.0, 2.0]), (NestPattern::Square, 4));
        assert_eq!(count(1.0, [2.5, 1.8661]), (NestPattern::Hexagonal, 4));
        // eleven staggered rows of ten and nine in a square of side 10
        assert_eq!(count(1.0, [10.0, 10.0]).1, 105);
        assert_eq!(count(1.0, [1.0, 1.0]).1, 1);
    }

    #[test]
    fn no_two_parts_are_nearer_than_the_spacing_and_none_leaves_the_margin() {
        for (diameter, sheet) in [(37.0, [500.0, 300.0]), (90.0, [300.0, 200.0]), (12.3, [150.0, 400.0])] {
            let (spacing, margin) = (3.05, 10.0);
            let nest = Nest::discs(diameter, spacing, margin, sheet).unwrap();
            for (i, a) in nest.centres.iter().enumerate() {
                for side in 0..2 {
                    assert!(a[side] >= margin + 0.5 * diameter - 1e-9, "{a:?}");
                    assert!(a[side] <= sheet[side] - margin - 0.5 * diameter + 1e-5, "{a:?}");
                }
                for b in &nest.centres[..i] {
                    assert!((a[0] - b[0]).hypot(a[1] - b[1]) >= diameter + spacing - 1e-9, "{a:?} {b:?}");
                }
            }
        }
    }

    #[test]
    fn a_sheet_that_is_too_small_is_refused_with_its_least_side() {
        let error = Nest::discs(80.0, 3.0, 10.0, [90.0, 300.0]).unwrap_err().to_string();
        assert!(error.contains("100.0 mm") && error.contains("shop.sheet"), "{error}");
        assert!(Nest::discs(1.0, 1.0, 0.0, [f64::NAN, 5.0]).is_err());
        assert!(Nest::discs(0.1, 0.1, 0.0, [1e4, 1e4]).is_err());
    }
}
