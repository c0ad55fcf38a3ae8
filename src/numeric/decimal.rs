//! Numbers as they are written in tables and messages.

/// A number with so many decimals. What is written as nothing has no sign.
pub fn decimal(value: f64, digits: usize) -> String {
    let text = format!("{value:.digits$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|byte| matches!(byte, b'0' | b'.')) => rest.to_owned(),
        _ => text,
    }
}

#[cfg(test)]
mod tests {
    use super::decimal;

    #[test]
    fn nothing_has_no_sign() {
        let written = [(-0.0, 2), (-0.004, 2), (-0.006, 2), (-0.4, 0), (0.0, 1), (-12.34, 1)];
        assert_eq!(
            written.map(|(value, digits)| decimal(value, digits)),
            ["0.00", "0.00", "-0.01", "0", "0.0", "-12.3"]
        );
    }
}
