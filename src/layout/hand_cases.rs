//! Numbers computed by hand, each with its computation beside it.

use super::*;
use crate::spec::SpringFile;

fn spring(text: &str) -> Spring {
    Spring::from_file(&SpringFile::parse(text, "spring.toml").unwrap(), None).unwrap()
}

/// Slots from radius 30 to 10, 2.4 mm wide arms inside and 5.6 mm outside.
const TAPERED: &str = "[sheet]\nthickness = 1.2\nyoungs_modulus = 200000\nshear_modulus = 80000\n[disc]\narms = 2\n\
    slot = 1.4\narm_outer_diameter = 60\narm_inner_diameter = 20\n[arm]\nradius = [10, 30]\nwidth = [2.4, 5.6]\n[former]\n\
    free_height = 9.0\n";

#[test]
fn rings_left_out_are_one_and_a_half_of_their_own_root_wide() {
    // rim: 30 + 0.7 + 1.5·5.6 = 39.1; bore: 10 − 0.7 − 1.5·2.4 = 5.7
    let disc = spring(TAPERED).disc;
    assert!((disc.outer_radius - 39.1).abs() < 1e-12, "{}", disc.outer_radius);
    assert!((disc.bore_radius - 5.7).abs() < 1e-12, "{}", disc.bore_radius);
    let [rim, hub] = disc.ring_widths(1.4);
    assert!((rim - 8.4).abs() < 1e-12 && (hub - 3.6).abs() < 1e-12, "{rim} {hub}");
}

#[test]
fn rings_without_width_are_refused() {
    let with = |keys: &str| {
        let text = TAPERED.replace("slot = 1.4", &format!("slot = 1.4\n{keys}"));
        Spring::from_file(&SpringFile::parse(&text, "spring.toml").unwrap(), None)
    };
    // the slot's edges lie at 30.7 and 9.3
    for (keys, ring) in [("outer_diameter = 61.3", "rim"), ("bore_diameter = 18.7", "hub")] {
        let message = with(keys).unwrap_err().to_string();
        assert!(message.contains(ring), "{message}");
    }
    assert!(with("outer_diameter = 61.5").is_ok() && with("bore_diameter = 18.5").is_ok());
}

/// An arm of even width on a straight cone, 1.9099 mm a radian, its rise faded out over `ease` widths at the roots.
fn even(ease: f64) -> ArmPath {
    spring(&format!(
        "[sheet]\nthickness = 1\nyoungs_modulus = 200000\nshear_modulus = 80000\n[disc]\narms = 2\nslot = 1\n\
         arm_outer_diameter = 60\narm_inner_diameter = 40\n[arm]\nradius = [20, 30]\nwidth = [5, 5]\n[former]\n\
         free_height = 4\nease = {ease}\n"
    ))
    .arm(400)
    .unwrap()
}

/// The node nearest to a share of the arm, and its own share.
fn node_at(share: f64, arm: &ArmPath) -> (usize, f64) {
    let length = arm.length();
    let mut along = 0.0;
    let mut nearest = (0, 0.0);
    for i in 0..arm.segments() {
        along += arm.chord(i) / length;
        if (along - share).abs() < (nearest.1 - share).abs() {
            nearest = (i + 1, along);
        }
    }
    nearest
}

#[test]
fn ramps_of_a_short_arm_meet_and_do_not_overlap() {
    // the arm is some 55 mm long; ramps of a hundred widths are cut to 45 % of it each. The rise climbs evenly over
    // them and is even between: its mean is 1 − 0.45 of its top. Over the angle, not the arc, the mean is H/θ.
    let arm = even(100.0);
    let last = arm.angle.len() - 1;
    let top = arm.rise.iter().copied().fold(0.0, f64::max);
    let mean = arm.free_height() / arm.angle[last];
    assert!((top / mean - 1.0 / 0.55).abs() < 0.02, "{}", top / mean);
    // a quarter of the way 0.25/0.45 of the top, at 46 % all of it
    for (share, wanted) in
        [(0.1, 0.1 / 0.45), (0.25, 0.25 / 0.45), (0.46, 1.0), (0.54, 1.0), (0.8, 0.2 / 0.45)]
    {
        let node = node_at(share, &arm).0;
        assert!((arm.rise[node] / top - wanted).abs() < 0.01, "{share}: {}", arm.rise[node] / top);
    }
    assert_eq!((arm.rise[0], arm.height[0]), (0.0, 0.0));
    assert!((arm.height[last] - 4.0).abs() < 1e-9 && arm.rise[last].abs() < 1e-9);
}

#[test]
fn a_cone_rises_evenly_where_it_is_not_eased() {
    // dr/dθ = −2·6/2π all along: the rise is H over the whole angle; eased over one width of 5 mm each end it climbs there
    let arm = even(0.0);
    let last = arm.angle.len() - 1;
    let mean = 4.0 / arm.angle[last];
    assert!(arm.rise.iter().all(|rise| (rise / mean - 1.0).abs() < 0.01), "{:?}", &arm.rise[..3]);
    let arm = even(1.0);
    let length = arm.length();
    let ramp = 5.0 / length;
    let top = arm.rise[last / 2];
    for place in [0.5 * ramp, 1.0 - 0.5 * ramp] {
        let (node, along) = node_at(place, &arm);
        let share = along.min(1.0 - along) / ramp;
        assert!((arm.rise[node] / top - share).abs() < 0.02, "{} of {share}", arm.rise[node] / top);
    }
}

#[test]
fn an_arm_rises_at_its_very_end_whatever_its_number_of_pieces() {
    // Archimedean spiral of 1.71887 mm a radian from 30.30 to 14.70 in 9.0757 rad: 0.7713 mm a radian all along
    let spring = spring(
        "[sheet]\nthickness = 1\nyoungs_modulus = 200000\nshear_modulus = 80000\n[disc]\narms = 2\nslot = 1.4\n\
         arm_outer_diameter = 66\narm_inner_diameter = 24\n[arm]\nradius = [12, 33]\nwidth = [4, 4]\n[former]\n\
         free_height = 7\nease = 0\n",
    );
    for segments in 50..150 {
        let arm = spring.arm(segments).unwrap();
        for node in [0, segments / 2, segments] {
            assert!(
                (arm.rise[node] - 0.7713).abs() < 1e-3,
                "{segments} pieces, node {node}: {}",
                arm.rise[node]
            );
        }
        assert!((arm.radius[0] - 30.30).abs() < 2e-3 && (arm.radius[segments] - 14.70).abs() < 2e-3);
    }
}

#[test]
fn a_pitch_cosine_is_that_of_the_spiral() {
    // Archimedean spiral, 3 mm a radian: cos = r/√(r² + 9); at r 4 it is 0.8
    let angle: Vec<f64> = (0..200).map(|k| 0.01 * f64::from(k)).collect();
    let radius: Vec<f64> = angle.iter().map(|angle| 6.0 - 3.0 * (angle - 0.0)).collect();
    let cosines = pitch_cosines(&angle, &radius);
    let node = radius.iter().position(|radius| (radius - 3.99).abs() < 1e-9).unwrap();
    assert!((cosines[node] - 3.99 / (3.99_f64.powi(2) + 9.0).sqrt()).abs() < 1e-12);
    assert!((cosines[0] - 6.0 / 45f64.sqrt()).abs() < 1e-9);
}
