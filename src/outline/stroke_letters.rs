//! Letters and digits as single strokes, drawn for this program on a grid of 4 by 6.

/// Width, height and distance of letters on the grid.
pub(super) const WIDTH: f64 = 4.0;
pub(super) const HEIGHT: f64 = 6.0;
pub(super) const ADVANCE: f64 = 5.5;

/// Strokes of a letter, each a line through points of the grid; none for a blank and for what is not in the list.
pub(super) fn strokes(letter: char) -> Vec<Vec<[f64; 2]>> {
    let digit = |byte: u8| f64::from(byte.saturating_sub(b'0'));
    path(letter)
        .split('|')
        .map(|stroke| {
            let points = stroke.split_whitespace().filter_map(|point| match point.as_bytes() {
                [x, y] => Some([digit(*x), digit(*y)]),
                _ => None,
            });
            points.collect::<Vec<_>>()
        })
        .filter(|stroke| stroke.len() > 1)
        .collect()
}

/// Points as two digits, x and y; `|` lifts the pen.
fn path(letter: char) -> &'static str {
    match letter.to_ascii_uppercase() {
        'A' => "00 04 26 44 40|02 42",
        'B' => "00 06 36 45 44 33 03|33 42 41 30 00",
        'C' => "45 36 16 05 01 10 30 41",
        'D' => "00 06 26 44 42 20 00",
        'E' => "46 06 00 40|03 33",
        'F' => "46 06 00|03 33",
        'G' => "45 36 16 05 01 10 30 41 43 23",
        'H' => "00 06|40 46|03 43",
        'I' => "20 26",
        'J' => "46 41 30 10 01",
        'K' => "00 06|46 03 40",
        'L' => "06 00 40",
        'M' => "00 06 23 46 40",
        'N' => "00 06 40 46",
        'O' => "10 01 05 16 36 45 41 30 10",
        'P' => "00 06 36 45 44 33 03",
        'Q' => "10 01 05 16 36 45 41 30 10|22 40",
        'R' => "00 06 36 45 44 33 03|23 40",
        'S' => "45 36 16 05 04 13 33 42 41 30 10 01",
        'T' => "06 46|26 20",
        'U' => "06 01 10 30 41 46",
        'V' => "06 20 46",
        'W' => "06 10 23 30 46",
        'X' => "00 46|06 40",
        'Y' => "06 23 46|23 20",
        'Z' => "06 46 00 40",
        '0' => "10 01 05 16 36 45 41 30 10|01 45",
        '1' => "14 26 20",
        '2' => "05 16 36 45 44 00 40",
        '3' => "05 16 36 45 44 33 13|33 42 41 30 10 01",
        '4' => "30 36 02 42",
        '5' => "46 06 03 33 42 41 30 10 01",
        '6' => "45 36 16 05 01 10 30 41 42 33 13 02",
        '7' => "06 46 10",
        '8' => "13 04 05 16 36 45 44 33 13 02 01 10 30 41 42 33",
        '9' => "01 10 30 41 45 36 16 05 04 13 33 44",
        '-' => "03 43",
        '.' => "10 20",
        '/' => "00 46",
        '_' => "00 40",
        _ => "",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_letter_that_a_number_may_have_is_drawn_and_no_two_are_alike() {
        let all: Vec<char> = ('0'..='9').chain('A'..='Z').chain("-./_".chars()).collect();
        for (i, letter) in all.iter().enumerate() {
            let drawn = strokes(*letter);
            assert!(!drawn.is_empty(), "{letter}");
            for [x, y] in drawn.iter().flatten() {
                assert!((0.0..=WIDTH).contains(x) && (0.0..=HEIGHT).contains(y), "{letter}");
            }
            assert!(all[..i].iter().all(|other| strokes(*other) != drawn), "{letter}");
        }
    }
}
