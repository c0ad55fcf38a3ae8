//! A table on a page.

use super::page::{Align, NARROW, Page, PagePoint, WIDE, text_width};

/// A column: heading and width (mm).
pub(super) struct Column {
    pub heading: &'static str,
    pub width: f64,
}

/// A table of texts.
pub(super) struct Table<'a> {
    /// columns, left to right
    pub columns: &'a [Column],
    /// height of a row (mm)
    pub row: f64,
    /// size of the letters (mm)
    pub em: f64,
}

impl Table<'_> {
    /// Draws the rows below a place, the upper left corner; gives the y of the lower edge.
    pub(super) fn draw(
        &self,
        page: &mut Page,
        face: &ttf_parser::Face<'_>,
        at: PagePoint,
        rows: &[Vec<String>],
    ) -> f64 {
        let width: f64 = self.columns.iter().map(|column| column.width).sum();
        let height = self.row * (rows.len() + 1) as f64;
        page.rectangle([at[0], at[1] - height], [at[0] + width, at[1]], WIDE);
        let mut left = at[0];
        for (i, column) in self.columns.iter().enumerate() {
            if i > 0 {
                page.line([left, at[1]], [left, at[1] - height], NARROW);
            }
            let headings = std::iter::once(column.heading);
            let cells = headings.chain(rows.iter().map(|row| row.get(i).map_or("", String::as_str)));
            for (k, cell) in cells.enumerate() {
                let baseline = at[1] - self.row * (k as f64 + 0.5) - 0.36 * self.em;
                let room = column.width - 2.0;
                // a cell that is too long is written smaller, not cut off
                let em = self.em * (room / text_width(face, cell, self.em).max(1e-9)).min(1.0);
                page.text(cell, [left + 1.0, baseline], em, Align::Left);
            }
            left += column.width;
        }
        for k in 1..=rows.len() {
            let y = at[1] - self.row * k as f64;
            page.line([at[0], y], [at[0] + width, y], if k == 1 { WIDE } else { NARROW });
        }
        at[1] - height
    }
}

/// Lines of text broken at blanks, words that are too long within, so that none is wider than the room (mm).
pub(super) fn wrapped(face: &ttf_parser::Face<'_>, text: &str, em: f64, room: f64) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if text_width(face, &longer, em) <= room {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for letter in word.chars() {
            if !line.is_empty() && text_width(face, &format!("{line}{letter}"), em) > room {
                lines.push(std::mem::take(&mut line));
            }
            line.push(letter);
        }
    }
    lines.push(line);
    lines
}

/// A text in at most `most` lines of a room (mm), in letters between the largest and the smallest size (mm): size and
/// lines. What the smallest size does not hold ends in an ellipsis.
pub(super) fn fitted(
    face: &ttf_parser::Face<'_>,
    text: &str,
    [largest, smallest]: [f64; 2],
    room: f64,
    most: usize,
) -> (f64, Vec<String>) {
    let mut em = largest;
    loop {
        let mut lines = wrapped(face, text, em, room);
        if lines.len() <= most {
            return (em, lines);
        }
        if em <= smallest {
            lines.truncate(most);
            if let Some(last) = lines.last_mut() {
                while !last.is_empty() && text_width(face, &format!("{last}…"), em) > room {
                    last.pop();
                }
                last.push('…');
            }
            return (em, lines);
        }
        em = (em - 0.1).max(smallest);
    }
}
