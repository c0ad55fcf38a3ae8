//! Numbers as text: decimals, significant figures, the reader's units inside a sentence.

use super::quantity::{Quantity, Units};

/// Relative distance from the middle of two decimals up to which a number counts as in the middle.
const MIDDLE: f64 = 1e-12;

/// A number with so many decimals. A rounded zero has no sign.
///
/// The middle of two decimals is rounded up, as a reader does: 9.705 with two decimals is 9.71, though the binary number is
/// below it.
pub fn decimal(value: f64, digits: usize) -> String {
    let text = format!("{:.digits$}", value * (1.0 + MIDDLE));
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|byte| matches!(byte, b'0' | b'.')) => rest.to_owned(),
        _ => text,
    }
}

/// A number with so many decimals and its sign, plus as well. A rounded zero has no sign.
pub fn signed(value: f64, digits: usize) -> String {
    let text = format!("{value:+.digits$}");
    let nothing = text.bytes().all(|byte| matches!(byte, b'0' | b'.' | b'-' | b'+'));
    if nothing { decimal(0.0, digits) } else { text }
}

/// Significant figures of a table's number that is small, and most decimals.
const TABLE_FIGURES: usize = 5;
const TABLE_DECIMALS: usize = 9;

/// A number of a table (CSV): so many decimals, or five significant figures where these are more, nine decimals at most.
pub fn cell(value: f64, decimals: usize) -> String {
    let fine = at_figures(value, TABLE_FIGURES, TABLE_DECIMALS);
    let plain = decimal(value, decimals);
    let nothing = fine.bytes().all(|byte| matches!(byte, b'0' | b'.' | b'-'));
    if nothing || fine.len() <= plain.len() { plain } else { fine }
}

/// A number at four significant figures, with three decimals at most down to a tenth and four below: tables, tiles and
/// captions.
pub fn figures(value: f64) -> String {
    at_figures(value, 4, if (5e-5..0.1).contains(&value.abs()) { 4 } else { 3 })
}

/// A number at three significant figures with at most three decimals: sentences.
pub fn short(value: f64) -> String {
    at_figures(value, 3, 3)
}

/// An energy (J) at three significant figures, down to a millionth: small springs store little, but not nothing.
pub fn joules(value: f64) -> String {
    at_figures(value, 3, 6)
}

/// A number at so many significant figures with at most so many decimals; whole numbers keep all their digits.
pub fn at_figures(value: f64, figures: usize, decimals: usize) -> String {
    // the power of ten of the rounded number: 9.9996 is written as 10.00
    let rounded = format!("{:.*e}", figures.max(1) - 1, value.abs());
    let power = rounded.split_once('e').and_then(|(_, power)| power.parse::<i64>().ok()).unwrap_or(0);
    let places = i64::try_from(figures).unwrap_or(0) - 1 - power;
    decimal(value, usize::try_from(places).unwrap_or(0).min(decimals))
}

/// A value given in mm, N, N/mm, MPa, g or J at four figures in the reader's units, with the unit.
pub fn with_unit(value: f64, quantity: Quantity, units: Units) -> String {
    let unit = quantity.unit(units);
    let space = if unit.is_empty() || unit == "°" { "" } else { " " };
    format!("{}{space}{unit}", figures(value * quantity.factor(units)))
}

/// A number with at most two decimals and no trailing zeros; from a thousand on three figures, digits in groups of
/// three.
pub fn grouped(value: f64) -> String {
    if value >= 1000.0 {
        let digits = format!("{:.0}", significant(value, 3));
        let mut text = String::new();
        for (index, digit) in digits.chars().enumerate() {
            if index > 0 && (digits.len() - index).is_multiple_of(3) {
                text.push('\u{a0}');
            }
            text.push(digit);
        }
        return text;
    }
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A number rounded to decimals; zero has no sign, NaN and infinity become zero.
pub fn rounded(value: f64, decimals: i32) -> f64 {
    let tens = 10f64.powi(decimals);
    let value = (value * tens).round() / tens;
    if value.is_finite() { value + 0.0 } else { 0.0 }
}

/// A number rounded to significant figures.
pub fn significant(value: f64, figures: i32) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return 0.0;
    }
    // the exponent of a finite number is small
    #[allow(clippy::cast_possible_truncation)]
    let exponent = value.abs().log10().floor() as i32;
    rounded(value, (figures - 1 - exponent).clamp(-12, 15))
}

/// Units found in sentences, the longest first.
const WRITTEN: [(&str, Quantity); 7] = [
    ("N/mm", Quantity::Rate),
    ("MPa", Quantity::Stress),
    ("mm", Quantity::Length),
    ("kg", Quantity::Mass),
    ("N", Quantity::Force),
    ("J", Quantity::Energy),
    ("g", Quantity::Mass),
];

/// Words between two numbers that share the unit behind the second.
const SHARED: [&str; 8] = [" to ", " and ", " of ", " ± ", "±", " × ", "–", "-"];

/// A sentence written in mm, N, N/mm, MPa, g and J with its values in the reader's units: "2.5 to 3 mm" is "0.0984 to
/// 0.118 in". Speeds (mm/min), areas and moments keep their units.
pub fn in_units(sentence: &str, units: Units) -> String {
    if units == Units::MillimetreNewton {
        return sentence.to_owned();
    }
    let mut text = String::with_capacity(sentence.len());
    let mut rest = sentence;
    let mut previous = ' ';
    while let Some(letter) = rest.chars().next() {
        let length = if previous.is_alphanumeric() || matches!(previous, '.' | '-' | '_' | '/') {
            0
        } else {
            number_length(rest)
        };
        if length == 0 {
            text.push(letter);
            previous = letter;
            rest = &rest[letter.len_utf8()..];
            continue;
        }
        let number = &rest[..length];
        rest = &rest[length..];
        let Some((quantity, unit, behind)) = quantity_behind(rest) else {
            text.push_str(number);
            previous = '0';
            continue;
        };
        let scale = if unit == "kg" { 1000.0 } else { 1.0 };
        text.push_str(&converted(number, scale * quantity.factor(units)));
        match behind {
            Behind::Unit(gap) => {
                text.push_str(&rest[..gap]);
                text.push_str(quantity.unit(units));
                rest = &rest[gap + unit.len()..];
            }
            Behind::Number(word) => {
                text.push_str(word);
                rest = &rest[word.len()..];
            }
        }
        previous = ' ';
    }
    text
}

/// Bytes of the decimal number at the beginning of a text, zero without one.
fn number_length(text: &str) -> usize {
    let sign = usize::from(text.starts_with('-'));
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    let whole = digits(&text[sign..]);
    if whole == 0 {
        return 0;
    }
    let end = sign + whole;
    match text[end..].strip_prefix('.').map(digits) {
        Some(decimals) if decimals > 0 => end + 1 + decimals,
        _ => end,
    }
}

/// Text behind a number that leads to its unit.
enum Behind {
    /// the unit, after a gap of so many bytes
    Unit(usize),
    /// a word and a second number that has the unit
    Number(&'static str),
}

/// The quantity and unit of a number from the text behind it.
fn quantity_behind(text: &str) -> Option<(Quantity, &'static str, Behind)> {
    if let Some((quantity, unit, gap)) = unit_at(text) {
        return Some((quantity, unit, Behind::Unit(gap)));
    }
    let word = SHARED.into_iter().find(|word| text.starts_with(word))?;
    let rest = &text[word.len()..];
    let length = number_length(rest);
    let (quantity, unit, _) = unit_at(&rest[length..]).filter(|_| length > 0)?;
    Some((quantity, unit, Behind::Number(word)))
}

/// The unit at the beginning of a text, after a gap of so many bytes.
fn unit_at(text: &str) -> Option<(Quantity, &'static str, usize)> {
    let gap =
        text.chars().next().filter(|&letter| matches!(letter, ' ' | '\u{a0}')).map_or(0, char::len_utf8);
    let ends = |rest: &str| {
        rest.chars()
            .next()
            .is_none_or(|next| !next.is_alphanumeric() && !matches!(next, '/' | '²' | '³' | '·' | '_'))
    };
    WRITTEN
        .into_iter()
        .find(|(unit, _)| text[gap..].strip_prefix(unit).is_some_and(ends))
        .map(|(unit, quantity)| (quantity, unit, gap))
}

/// A written number times a factor, with as many significant figures as it had, three to five.
fn converted(number: &str, factor: f64) -> String {
    let Ok(value) = number.parse::<f64>() else { return number.to_owned() };
    if value == 0.0 {
        return "0".to_owned();
    }
    let digits = number.trim_start_matches(['-', '0', '.']).bytes().filter(u8::is_ascii_digit).count();
    at_figures(value * factor, digits.clamp(3, 5), 4)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_middle_of_two_decimals_is_rounded_up_and_small_energies_are_not_nothing() {
        // 9.705 as a binary number is 9.70499999999999971578…
        assert_eq!([9.705, 1.005, 44.5].map(|value| decimal(value, 2)), ["9.71", "1.01", "44.50"]);
        assert_eq!([decimal(44.5, 0), decimal(-2.5, 0)], ["45", "-3"]);
        assert_eq!([14.7, 0.731, 0.05468, 0.000_19].map(joules), ["14.7", "0.731", "0.0547", "0.000190"]);
    }

    #[test]
    fn a_rounded_zero_has_no_sign() {
        let written = [(-0.0, 2), (-0.004, 2), (-0.006, 2), (-0.4, 0), (0.0, 1), (-12.34, 1)];
        assert_eq!(
            written.map(|(value, digits)| decimal(value, digits)),
            ["0.00", "0.00", "-0.01", "0", "0.0", "-12.3"]
        );
        let written = [(-0.04, 1), (0.04, 1), (0.06, 1), (-1.25, 2)];
        assert_eq!(written.map(|(value, digits)| signed(value, digits)), ["0.0", "0.0", "+0.1", "-1.25"]);
    }

    #[test]
    fn small_numbers_of_a_table_keep_five_figures() {
        let written = [35.123_456_7, 0.5, 0.05, 0.004_321_09, -0.000_012_345_6, 4e-10, 0.0, 123_456.0];
        assert_eq!(
            written.map(|value| cell(value, 5)),
            [
                "35.12346",
                "0.50000",
                "0.050000",
                "0.0043211",
                "-0.000012346",
                "0.00000",
                "0.00000",
                "123456.00000"
            ]
        );
        assert_eq!(
            [123.456, 12.345_67, 0.012_345_67].map(|value| cell(value, 2)),
            ["123.46", "12.346", "0.012346"]
        );
    }

    #[test]
    fn numbers_have_their_significant_figures() {
        let read =
            [0.0, 0.01234, 0.5, 8.08, 9.9996, 62.348, 99.997, 108.94, 999.96, 1130.7, -1e-9].map(figures);
        assert_eq!(
            read,
            [
                "0.000", "0.0123", "0.500", "8.080", "10.00", "62.35", "100.0", "108.9", "1000", "1131",
                "0.000"
            ]
        );
        let read = [0.0, 0.01234, 0.5, 8.084, 9.996, 62.348, 108.94, 1130.7].map(short);
        assert_eq!(read, ["0.00", "0.012", "0.500", "8.08", "10.0", "62.3", "109", "1131"]);
        let read = [3.0, 2.5, 1234.0, 1_000_000.0].map(grouped);
        assert_eq!(read, ["3", "2.5", "1\u{a0}230", "1\u{a0}000\u{a0}000"]);
        assert_eq!((significant(1234.567, 4), significant(-0.001_234_5, 3)), (1235.0, -0.001_23));
    }

    /// 1 in = 25.4 mm, 1 lbf = 4.4482216152605 N, 1 ksi = 6.894757 MPa (NIST Special Publication 811, appendix B).
    #[test]
    fn sentences_are_converted_to_the_readers_units() {
        let inch = |sentence| in_units(sentence, Units::InchPound);
        assert_eq!(
            inch("stands 25.4 mm proud at radius 2.5 to 3 mm."),
            "stands 1.00 in proud at radius 0.0984 to 0.118 in."
        );
        assert_eq!(inch("100 N at -2.54 mm, 17.5 N/mm"), "22.5 lbf at -0.100 in, 99.9 lbf/in");
        assert_eq!(
            inch("1131\u{a0}MPa of 1.4310+C1300, 2.5 kg, 3 J"),
            "164.0\u{a0}ksi of 1.4310+C1300, 88.2 oz, 26.6 in·lbf"
        );
        assert_eq!(inch("0.1 ± 0.02 mm"), "0.0039 ± 0.0008 in");
        assert_eq!(inch("keeps 2.54 of 25.4 mm, 19 of 20 parts"), "keeps 0.100 of 1.00 in, 19 of 20 parts");
        assert_eq!(inch("0.03-0.08 at 1-3 mm"), "0.03-0.08 at 0.0394-0.118 in");
        // not lengths, forces or stresses
        for kept in ["650 mm/min", "12 mm²", "M3, N7 and 2 arms", "outline_mm.dxf", "5 Nm", "ISO 2768-1 m"] {
            assert_eq!(inch(kept), kept);
        }
        assert_eq!(in_units("3 mm", Units::MillimetreNewton), "3 mm");
    }
}
