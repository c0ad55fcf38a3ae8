//! Words on a drawing: a few lines below the disc, on a layer of their own.

use crate::layout::{LayoutError, Spring};
use crate::outline::{CutRules, Marks, Nest, Outline, SHEET_EDGE};
use crate::spec::SlotEnds;

/// Segments that are enough to read widths from an arm.
const LOOKS: usize = 200;

/// Lines of the layer "notes".
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct DrawingNotes {
    /// lines of plain text, top to bottom; none leaves the layer out
    pub lines: Vec<String>,
}

impl DrawingNotes {
    /// A drawing of geometry alone.
    pub fn none() -> Self {
        Self::default()
    }

    /// Notes for the shop on this disc.
    pub fn of(
        title: &str,
        spring: &Spring,
        outline: &Outline,
        rules: &CutRules,
        marks: &Marks,
    ) -> Result<Self, LayoutError> {
        let arm = spring.arm(LOOKS)?;
        let places = places(rules);
        let mut lines = vec![
            title.to_owned(),
            "all sizes in mm, finished size, kerf not compensated".to_owned(),
            format!(
                "sheet {} {:.places$} thick",
                spring.sheet.material.as_deref().unwrap_or("as ordered,"),
                spring.sheet.thickness
            ),
        ];
        let kerf = if rules.kerf > 0.0 { format!("kerf {:.2}, ", rules.kerf) } else { String::new() };
        lines.push(format!("{}, {kerf}cut widths ±{:.places$}", rules.process, rules.tolerance));
        let ends = match (rules.cuts_on_line(spring.slot), rules.ends) {
            (true, _) => "one pass on the line of layer cut_on_line".to_owned(),
            (false, SlotEnds::Round) => "round ends".to_owned(),
            (false, SlotEnds::Bulb) => format!("bulb ends Ø{:.2}", outline.end_diameter()),
            (false, SlotEnds::Keyhole) => format!("keyhole ends Ø{:.2}", outline.end_diameter()),
        };
        lines.push(format!("{} equal slots {:.places$} wide, {ends}", spring.arms, spring.slot));
        let widths = arm.normal_widths();
        let narrowest = widths.iter().copied().fold(f64::INFINITY, f64::min);
        for (place, width) in [
            ("at its outer root", widths[0]),
            ("where it is narrowest", narrowest),
            ("at its inner root", widths[widths.len() - 1]),
        ] {
            lines.push(width_line(place, width, rules));
        }
        if rules.edge_slope != 0.0 {
            lines.push("the jet enters at the face seen here".to_owned());
        }
        lines.extend(marks.words());
        Ok(Self { lines })
    }

    /// Notes on a sheet of parts, before those on the part.
    #[must_use]
    pub fn on_sheet(&self, nest: &Nest, part_area: f64) -> Self {
        let [width, height] = nest.sheet;
        let mut lines = vec![
            format!(
                "{} parts on a sheet of {width} by {height}, {} rows, {:.0} % of the sheet in parts",
                nest.centres.len(),
                nest.pattern.word(),
                100.0 * nest.sheet_use(part_area)
            ),
            format!(
                "{:.2} between parts, margin {:.2}; rolling direction along the arrow on layer {SHEET_EDGE}",
                nest.spacing, nest.margin
            ),
        ];
        lines.extend(self.lines.iter().cloned());
        Self { lines }
    }

    /// Notes on a sheet of different parts: its own lines, and which parts are whose.
    pub fn on_shared_sheet(lines: Vec<String>) -> Self {
        let mut lines = lines;
        lines.push(format!("rolling direction along the arrow on layer {SHEET_EDGE}"));
        lines.push("all sizes in mm, finished size, kerf not compensated".to_owned());
        Self { lines }
    }

    /// The lines as the oldest readers take them: ASCII, control characters as blanks.
    pub(super) fn ascii(&self) -> Vec<String> {
        self.lines
            .iter()
            .map(|line| {
                let mut text = String::with_capacity(line.len());
                for c in line.chars() {
                    match c {
                        '±' => text.push_str("+/-"),
                        '×' => text.push('x'),
                        '÷' => text.push('/'),
                        '°' => text.push_str(" deg"),
                        'Ø' | '⌀' => text.push_str("dia "),
                        '–' | '—' => text.push('-'),
                        '≤' => text.push_str("<="),
                        '≥' => text.push_str(">="),
                        '³' => text.push('3'),
                        '²' => text.push('2'),
                        'ä' => text.push_str("ae"),
                        'ö' => text.push_str("oe"),
                        'ü' => text.push_str("ue"),
                        'ß' => text.push_str("ss"),
                        // `^` and `%%` start control codes in drawing text
                        '^' => text.push(' '),
                        '%' if text.ends_with('%') => {}
                        c if c.is_ascii_graphic() || c == ' ' => text.push(c),
                        c if c.is_whitespace() || c.is_control() => text.push(' '),
                        _ => text.push('?'),
                    }
                }
                text
            })
            .collect()
    }
}

/// Decimal places of lengths (mm): three where the second would hide a tenth of the tolerance.
fn places(rules: &CutRules) -> usize {
    if rules.tolerance < 0.095 { 3 } else { 2 }
}

fn width_line(place: &str, width: f64, rules: &CutRules) -> String {
    let places = places(rules);
    let faces = rules.face_widths(width);
    if rules.edge_slope == 0.0 {
        format!("arm {place} {width:.places$} across")
    } else {
        format!(
            "arm {place} {width:.places$} across at mid-thickness, {:.places$} at the entry face, {:.places$} at the exit face",
            faces.entry, faces.exit
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn characters_outside_ascii_are_spelled_out() {
        let notes = DrawingNotes { lines: vec!["w 3 ±0.1 mm\tØ70 — 5 %%d ^J µ".to_owned()] };
        assert_eq!(notes.ascii(), ["w 3 +/-0.1 mm dia 70 - 5 %d  J ?"]);
    }
}
