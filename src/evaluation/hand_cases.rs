//! Numbers at written precision.

use super::json_bytes;

#[test]
fn numbers_of_a_summary_have_seven_digits_and_no_signed_zero() {
    let text = String::from_utf8(json_bytes(&[1.234_567_89, -0.0, 9_876_543.21, 1e-9 / 3.0])).unwrap();
    let numbers: Vec<&str> =
        text.lines().map(|line| line.trim().trim_end_matches(',')).filter(|line| line.len() > 1).collect();
    assert_eq!(numbers, ["1.234568", "0.0", "9876543.0", "3.333333e-10"]);
}
