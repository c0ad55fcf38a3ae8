//! Evenly spread subsets.

/// Indices of at most `most` of `count` things, evenly spread, first and last among them; at least two where there are
/// two.
pub fn evenly_spread(count: usize, most: usize) -> Vec<usize> {
    let most = most.max(2);
    if count <= most {
        return (0..count).collect();
    }
    (0..most).map(|i| i * (count - 1) / (most - 1)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_ends_stay_and_few_stay_as_they_are() {
        assert_eq!(evenly_spread(3, 5), [0, 1, 2]);
        assert_eq!(evenly_spread(11, 3), [0, 5, 10]);
        assert_eq!(evenly_spread(11, 0), [0, 10]);
        assert!(evenly_spread(0, 4).is_empty());
    }
}
