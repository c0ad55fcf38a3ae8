//! Loading and unloading: one rise to the largest deflection, then one fall.

/// Travel a rise may fall back, or a fall may rise, and still count as one, over the largest deflection: a reading
/// trembles by about a thousandth of its range.
const TREMBLE: f64 = 0.001;

/// How far below the beginning of the rise a fall may end, over the largest deflection: unloading comes back over
/// travel that was covered before.
const BEYOND_START: f64 = 0.05;

/// Index of the last point of the rise, where the deflections in the order given are one rise followed by one
/// fall; `None` where they are not, or where nothing follows the largest deflection.
///
/// A largest deflection that is held for some rows belongs to the rise.
pub(super) fn turning_point(deflection: &[f64]) -> Option<usize> {
    let peak = last_of_largest(deflection)?;
    if peak + 1 >= deflection.len() || peak == 0 {
        return None;
    }
    let allowed = TREMBLE * deflection[peak].abs();
    let rises = never_falls_back(deflection[..=peak].iter().copied(), allowed);
    let falls = never_falls_back(deflection[peak..].iter().rev().copied(), allowed);
    let least = |part: &[f64]| part.iter().copied().fold(f64::INFINITY, f64::min);
    let covered =
        least(&deflection[peak..]) >= least(&deflection[..=peak]) - BEYOND_START * deflection[peak].abs();
    (rises && falls && covered).then_some(peak)
}

/// Index of the largest deflection, the last where several are equal.
pub(super) fn last_of_largest(deflection: &[f64]) -> Option<usize> {
    (0..deflection.len()).max_by(|&a, &b| deflection[a].total_cmp(&deflection[b]))
}

fn never_falls_back(values: impl Iterator<Item = f64>, allowed: f64) -> bool {
    let mut largest = f64::NEG_INFINITY;
    for value in values {
        if value < largest - allowed {
            return false;
        }
        largest = largest.max(value);
    }
    true
}

/// Deflections closer than this count as equal (mm): below the resolution of a gauge, with no meaningful rate between
/// them.
const SAME: f64 = 1e-9;

/// Runs of equal deflection in points ordered by it, as index ranges.
pub(super) fn runs_of_equal(deflection: &[f64]) -> Vec<std::ops::Range<usize>> {
    let mut runs = Vec::new();
    let mut start = 0;
    for end in 1..=deflection.len() {
        if end == deflection.len() || deflection[end] - deflection[start] > SAME {
            runs.push(start..end);
            start = end;
        }
    }
    runs
}

/// Mean that does not overflow.
pub(super) fn mean(values: &[f64]) -> f64 {
    match values {
        [single] => *single,
        _ => values.iter().map(|value| value / values.len() as f64).sum(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rise_and_a_fall_turn_at_the_largest_deflection() {
        assert_eq!(turning_point(&[0.0, 1.0, 2.0, 3.0, 2.0, 1.0]), Some(3));
        assert_eq!(turning_point(&[0.0, 2.0, 3.0, 3.0, 1.0]), Some(3));
        assert_eq!(turning_point(&[0.0, 2.0, 1.9995, 3.0, 1.0, 1.001]), Some(3));
    }

    #[test]
    fn anything_else_does_not_turn() {
        for deflection in [
            &[0.0, 1.0, 2.0][..],
            &[3.0, 2.0, 1.0],
            &[0.0, 2.0, 1.0, 3.0, 2.0],
            &[0.0, 3.0, 1.0, 2.0],
            &[1.0],
            &[],
        ] {
            assert_eq!(turning_point(deflection), None, "{deflection:?}");
        }
    }

    #[test]
    fn equal_deflections_form_one_run() {
        assert_eq!(runs_of_equal(&[0.0, 1.0, 1.0, 2.0]), [0..1, 1..3, 3..4]);
        assert!(runs_of_equal(&[]).is_empty());
    }
}
