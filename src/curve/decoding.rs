//! From bytes to text: UTF-8, with or without a byte order mark, or Latin-1; anything else is refused.

use std::borrow::Cow;

use super::error::CurveError;

/// The text in `bytes`, without its byte order mark; owned where it was Latin-1.
pub(super) fn text<'a>(bytes: &'a [u8], file: &str) -> Result<Cow<'a, str>, CurveError> {
    if let Some(coding) = wide_coding(bytes) {
        return Err(CurveError::WideCoding { file: file.to_owned(), coding });
    }
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    let error = match std::str::from_utf8(bytes) {
        Ok(text) => return Ok(Cow::Borrowed(text)),
        Err(error) => error.valid_up_to(),
    };
    // letters of Latin-1 and line ends, no control characters: otherwise it is no text
    let foreign = |byte: &u8| matches!(byte, 0..=8 | 11 | 14..=31 | 127..=0x9F);
    if bytes[error..].iter().any(foreign) {
        return Err(CurveError::NotUtf8 {
            file: file.to_owned(),
            row: LineCount::new(bytes).line_at(error),
            byte: bytes.get(error).copied().unwrap_or_default(),
        });
    }
    Ok(Cow::Owned(bytes.iter().map(|&byte| char::from(byte)).collect()))
}

fn wide_coding(bytes: &[u8]) -> Option<&'static str> {
    // the four-byte mark begins like the two-byte one
    if bytes.starts_with(b"\xFF\xFE\x00\x00") || bytes.starts_with(b"\x00\x00\xFE\xFF") {
        Some("UTF-32")
    } else if bytes.starts_with(b"\xFF\xFE") || bytes.starts_with(b"\xFE\xFF") {
        Some("UTF-16")
    } else if bytes.iter().take(64).filter(|&&byte| byte == 0).count() >= 2 {
        // plain letters take one zero byte each; no text of ours has any
        Some("UTF-16 or another coding with zero bytes")
    } else {
        None
    }
}

/// Counts lines up to a byte offset. LF, CRLF and a lone CR each end a line.
#[derive(Debug)]
pub(super) struct LineCount<'a> {
    bytes: &'a [u8],
    offset: usize,
    line: usize,
}

impl<'a> LineCount<'a> {
    pub fn new(bytes: &'a [u8]) -> Self {
        Self { bytes, offset: 0, line: 1 }
    }

    /// The line, from 1, on which the byte at `offset` stands. Offsets have to be asked for in increasing order.
    pub fn line_at(&mut self, offset: usize) -> usize {
        let end = offset.min(self.bytes.len());
        while self.offset < end {
            let byte = self.bytes[self.offset];
            let before_lf = byte == b'\r' && self.bytes.get(self.offset + 1) == Some(&b'\n');
            if byte == b'\n' || (byte == b'\r' && !before_lf) {
                self.line += 1;
            }
            self.offset += 1;
        }
        self.line
    }

    /// As [`line_at`](Self::line_at), for the first byte from `offset` on that ends no line.
    pub fn line_of_text_after(&mut self, offset: usize) -> usize {
        let start = offset.min(self.bytes.len());
        let ends = self.bytes[start..].iter().take_while(|&&byte| matches!(byte, b'\r' | b'\n')).count();
        self.line_at(start + ends)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_byte_order_mark_is_no_part_of_the_text() {
        assert_eq!(text(b"\xEF\xBB\xBFx,f", "c.csv").unwrap(), "x,f");
    }

    #[test]
    fn other_codings_are_refused_by_name() {
        for (bytes, word) in [
            (&b"\xFF\xFEx\x00,\x00"[..], "UTF-16"),
            (b"\xFE\xFF\x00x\x00,", "UTF-16"),
            (b"\xFF\xFE\x00\x00x\x00\x00\x00", "UTF-32"),
            (b"x\x00,\x00f\x00", "zero bytes"),
        ] {
            let message = text(bytes, "c.csv").unwrap_err().to_string();
            assert!(message.starts_with("c.csv: ") && message.contains(word), "{message}");
            assert!(message.contains("expected UTF-8"), "{message}");
        }
    }

    #[test]
    fn latin_1_is_read() {
        assert_eq!(text(b"Pr\xFCfkraft [N];Weg [\xB5m]", "c.csv").unwrap(), "Prüfkraft [N];Weg [µm]");
    }

    #[test]
    fn a_foreign_byte_is_named_with_its_row() {
        let message = text(b"x,f\r\n1,2\r\n# f\xFCr \x01", "c.csv").unwrap_err().to_string();
        assert!(message.contains("row 3") && message.contains("0xFC"), "{message}");
    }

    #[test]
    fn each_kind_of_line_end_counts_once() {
        let bytes = b"a\nb\r\nc\rd\n\r\ne";
        let mut count = LineCount::new(bytes);
        let lines: Vec<usize> = (0..bytes.len())
            .filter(|&at| bytes[at].is_ascii_alphabetic())
            .map(|at| count.line_at(at))
            .collect();
        assert_eq!(lines, [1, 2, 3, 4, 6]);
    }
}
