//! Words on a drawing: a few lines below the disc, on a layer of their own.

/// What is written on the layer "notes".
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_old_readers_cannot_show_is_spelled_out() {
        let notes = DrawingNotes { lines: vec!["w 3 ±0.1 mm\tØ70 — 5 %%d ^J µ".to_owned()] };
        assert_eq!(notes.ascii(), ["w 3 +/-0.1 mm dia 70 - 5 %d  J ?"]);
    }
}
