//! An error as JSON: one shape for every command.

use serde::Serialize;

use super::failure::Failure;
use super::terminal;

/// `{"error": {...}}`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ErrorReport {
    error: ErrorParts,
}

/// The parts of a message; empty where a message has none.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
struct ErrorParts {
    /// `read`, `write`, `input`, `usage` or `port`
    kind: &'static str,
    /// file or folder
    file: String,
    /// row, column, key or option
    place: String,
    /// value found
    found: String,
    /// what was expected
    expected: String,
    /// remedy
    remedy: String,
    /// the whole message
    message: String,
}

impl ErrorReport {
    /// Of a command that ended early.
    pub fn of(failure: &Failure) -> Self {
        let kind = match failure {
            Failure::Read { .. } => "read",
            Failure::Write { .. }
            | Failure::OtherTarget { .. }
            | Failure::OtherSpring { .. }
            | Failure::ChangedFile { .. }
            | Failure::StrangeFile { .. }
            | Failure::SavedElsewhere { .. }
            | Failure::MeasuredSpring { .. } => "write",
            Failure::Port { .. } => "port",
            _ => "input",
        };
        Self { error: ErrorParts::of(kind, &terminal::plain(&failure.to_string())) }
    }

    /// Of a command line that cannot be understood.
    pub fn of_usage(message: &str) -> Self {
        let mut lines = message.lines().map(str::trim).filter(|line| !line.is_empty());
        let found = lines.next().unwrap_or_default().trim_start_matches("error: ").to_owned();
        let remedy = "see --help".to_owned();
        Self {
            error: ErrorParts {
                kind: "usage",
                message: found.clone(),
                found,
                remedy,
                ..ErrorParts::default()
            },
        }
    }
}

impl ErrorParts {
    /// Messages read "file: place: found this, expected that; what to do".
    fn of(kind: &'static str, message: &str) -> Self {
        let (said, remedy) = message.rsplit_once("; ").unwrap_or((message, ""));
        let (head, rest) = said.split_once(": ").unwrap_or(("", said));
        let is_file = !head.is_empty() && !head.contains(' ') || head.contains('/') || head.contains('.');
        let (file, rest) = if is_file { (head, rest) } else { ("", said) };
        let (place, rest) = match rest.split_once(": ") {
            Some((place, rest)) => (place, rest),
            None => ("", rest),
        };
        let (found, expected) = rest.split_once(", expected ").unwrap_or((rest, ""));
        let found = found.strip_prefix("found ").unwrap_or(found);
        Self {
            kind,
            file: file.to_owned(),
            place: place.to_owned(),
            found: found.to_owned(),
            expected: expected.to_owned(),
            remedy: remedy.to_owned(),
            message: message.to_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_message_is_taken_apart() {
        let parts = ErrorParts::of(
            "input",
            "curve.csv: row 3, column 2: found \"x\", expected a number; write a force in N",
        );
        assert_eq!((parts.file.as_str(), parts.place.as_str()), ("curve.csv", "row 3, column 2"));
        assert_eq!((parts.found.as_str(), parts.expected.as_str()), ("\"x\"", "a number"));
        assert_eq!(parts.remedy, "write a force in N");
    }
}
