//! Errors of a brief or a spring file.

/// Errors of reading a brief or a spring file.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SpecError {
    /// Not TOML, an unknown key, or a value of the wrong kind. The reader's message names line and column.
    #[error("{file}: {message}")]
    Syntax {
        /// name of the file as the user gave it
        file: String,
        /// the reader's message with line, column and the expected kind
        message: String,
    },
    /// An invalid value.
    #[error("{file}: [{key}] is {found}, expected {expected}; {remedy}")]
    Value {
        /// name of the file as the user gave it
        file: String,
        /// section and key, as `disc.arms`
        key: String,
        /// value found
        found: String,
        /// accepted content
        expected: String,
        /// remedy
        remedy: String,
    },
    /// A value that has to be there and is not.
    #[error("{file}: [{key}] is missing, expected {expected}; {remedy}")]
    Missing {
        /// name of the file as the user gave it
        file: String,
        /// section and key, as `disc.arms`
        key: String,
        /// accepted content
        expected: String,
        /// remedy
        remedy: String,
    },
}

/// Number types as the TOML reader names them, and in plain words.
const KINDS: [(&str, &str); 6] = [
    ("expected f64", "expected a number"),
    ("expected usize", "expected a whole number, none below zero"),
    ("expected u32", "expected a whole number, none below zero"),
    ("expected a string", "expected one text in quotes"),
    ("invalid type: sequence", "found a list"),
    (
        "string values must be quoted, expected literal string",
        "found neither a number nor a text in quotes, expected a number alone, without its unit, or a text in quotes",
    ),
];

impl SpecError {
    pub(crate) fn value(
        file: &str,
        key: &str,
        found: impl ToString,
        expected: impl ToString,
        remedy: impl ToString,
    ) -> Self {
        Self::Value {
            file: file.to_owned(),
            key: key.to_owned(),
            found: found.to_string(),
            expected: expected.to_string(),
            remedy: remedy.to_string(),
        }
    }

    pub(crate) fn missing(file: &str, key: &str, expected: impl ToString, remedy: impl ToString) -> Self {
        Self::Missing {
            file: file.to_owned(),
            key: key.to_owned(),
            expected: expected.to_string(),
            remedy: remedy.to_string(),
        }
    }

    /// The message of the TOML reader, on one line.
    pub(crate) fn syntax(file: &str, error: &toml::de::Error, text: &str) -> Self {
        let place = error.span().map_or_else(String::new, |span| {
            let before = &text[..span.start.min(text.len())];
            let line = before.matches('\n').count() + 1;
            let column = before.rsplit('\n').next().map_or(0, |tail| tail.chars().count()) + 1;
            format!("line {line}, column {column}: ")
        });
        let mut message = error.message().trim().replace('\n', "; ");
        for (kind, words) in KINDS {
            message = message.replace(kind, words);
        }
        Self::Syntax {
            file: file.to_owned(),
            message: format!("{place}{message}; correct that line and try again"),
        }
    }
}

/// Least and most of a number that has to be above zero, in the units of the files: a value outside is a mistake, and
/// its powers may overflow.
const SENSIBLE: [f64; 2] = [1e-9, 1e9];
/// Most of a number that may be zero, such as a number of cycles.
const MOST: f64 = 1e15;

/// Checks numbers of one file and words the finding.
pub(crate) struct Reader<'a> {
    pub file: &'a str,
}

impl Reader<'_> {
    /// The version of a file's format.
    pub fn format(&self, found: u32, expected: u32) -> Result<(), SpecError> {
        if found == expected {
            return Ok(());
        }
        Err(SpecError::value(self.file, "format", found, expected, "write the file for this program"))
    }

    /// A finite number above zero.
    pub fn positive(&self, key: &str, value: f64, remedy: &str) -> Result<(), SpecError> {
        let [least, most] = SENSIBLE;
        if value > 0.0 && value.is_finite() && !(least..=most).contains(&value) {
            let expected = format!("a number from {least:e} to {most:e}");
            return Err(SpecError::value(self.file, key, format!("{value:e}"), expected, remedy));
        }
        if value.is_finite() && value > 0.0 {
            Ok(())
        } else {
            Err(SpecError::value(self.file, key, value, "a number above zero", remedy))
        }
    }

    /// As [`positive`](Self::positive), where the value is there at all.
    pub fn positive_if_given(&self, key: &str, value: Option<f64>, remedy: &str) -> Result<(), SpecError> {
        value.map_or(Ok(()), |value| self.positive(key, value, remedy))
    }

    /// Whether a number of a list is valid.
    pub fn sensible(value: f64) -> bool {
        value.abs() <= SENSIBLE[1]
    }

    /// A finite number, zero or above, where the value is there at all.
    pub fn not_negative(&self, key: &str, value: Option<f64>, remedy: &str) -> Result<(), SpecError> {
        match value {
            Some(value) if value.is_finite() && value > MOST => {
                let expected = format!("a number of at most {MOST:e}");
                Err(SpecError::value(self.file, key, format!("{value:e}"), expected, remedy))
            }
            Some(value) if !(value.is_finite() && value >= 0.0) => {
                Err(SpecError::value(self.file, key, value, "zero or a number above it", remedy))
            }
            _ => Ok(()),
        }
    }
}
