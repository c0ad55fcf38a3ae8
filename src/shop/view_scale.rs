//! Scales of views.

/// Scales of ISO 5455, enlarging first.
const SCALES: [(f64, &str); 11] = [
    (50.0, "50:1"),
    (20.0, "20:1"),
    (10.0, "10:1"),
    (5.0, "5:1"),
    (2.0, "2:1"),
    (1.0, "1:1"),
    (0.5, "1:2"),
    (0.2, "1:5"),
    (0.1, "1:10"),
    (0.05, "1:20"),
    (0.02, "1:50"),
];

/// The largest standard scale (ISO 5455) at which a size (mm) fits into the room on the page (mm), and how it is written.
pub(super) fn view_scale(size: [f64; 2], room: [f64; 2]) -> (f64, &'static str) {
    SCALES
        .into_iter()
        .find(|(scale, _)| scale * size[0] <= room[0] && scale * size[1] <= room[1])
        .unwrap_or(SCALES[SCALES.len() - 1])
}

#[cfg(test)]
mod tests {
    use super::view_scale;

    #[test]
    fn the_largest_standard_scale_that_fits_is_taken() {
        assert_eq!(view_scale([70.0, 70.0], [150.0, 150.0]), (2.0, "2:1"));
        assert_eq!(view_scale([76.0, 10.0], [150.0, 150.0]), (1.0, "1:1"));
        assert_eq!(view_scale([5.0, 5.0], [150.0, 150.0]), (20.0, "20:1"));
        assert_eq!(view_scale([200.0, 200.0], [150.0, 150.0]), (0.5, "1:2"));
    }
}
