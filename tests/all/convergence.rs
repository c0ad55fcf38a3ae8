//! How the error falls with the number of segments.

use flatspire::model::{Model, ModelSettings};

use crate::reference::{rms, spring, worst};

/// Segments the others are held against.
const FINEST: usize = 1600;

/// Force errors in percent against the finest mesh, between 3 and 90 % of the travel.
fn errors(kind: &str, name: &str, segments: &[usize]) -> Vec<Vec<f64>> {
    let spring = spring(kind, name);
    let curve = |segments: usize| {
        let settings = ModelSettings { segments, ..ModelSettings::default() };
        let model = Model::of(&spring, &settings).unwrap();
        let stops: Vec<f64> = (0..30).map(|k| (0.03 + 0.03 * f64::from(k)) * model.travel()).collect();
        let response = model.response(&stops).unwrap();
        assert_eq!(response.not_converged, 0, "{name} with {segments} segments");
        response.force
    };
    let finest = curve(FINEST);
    segments
        .iter()
        .map(|&segments| {
            curve(segments).iter().zip(&finest).map(|(force, fine)| 100.0 * (force / fine - 1.0)).collect()
        })
        .collect()
}

#[test]
fn the_error_falls_with_the_number_of_segments() {
    let default = ModelSettings::default().segments;
    let segments = [24, 48, default, 200, 400, 800];
    println!("{:22} {segments:?}", "rms error in %");
    for (kind, name) in [
        ("arms", "triple_constant"),
        ("arms", "double_linear_taper"),
        ("arms", "double_domed"),
        ("arms", "quad_short_arms"),
        ("arms", "single_constant"),
        ("discs", "triple_constant"),
        ("discs", "double_overtapered"),
    ] {
        let errors = errors(kind, name, &segments);
        let rms: Vec<f64> = errors.iter().map(|errors| rms(errors)).collect();
        let shown: Vec<String> =
            errors.iter().map(|errors| format!("{:.3} ({:.3})", self::rms(errors), worst(errors))).collect();
        println!("{name:22} {}", shown.join("  "));
        // contact moves in steps of a segment, so that neighbouring meshes may trade places: from one to the next but
        // one the error has to fall, and over the whole range by far
        for pair in rms.windows(3) {
            assert!(pair[2] < pair[0].max(0.01), "{name}: {rms:.4?}");
        }
        assert!(rms[5] < 0.1 * rms[0], "{name}: {rms:.4?}");
        assert!(rms[2] < 0.3, "{name}: {:.3} % rms with {default} segments", rms[2]);
    }
}
