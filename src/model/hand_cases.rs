//! Numbers computed by hand, each with its computation or its source beside it.

use approx::assert_relative_eq;
use nalgebra::{Vector2, Vector3};

use super::arm_state::{Affine, Snapshot};
use super::centre_line::Section;
use super::contact::Contact;
use super::element::Deviation;
use super::loose_rim::RimSupport;
use super::root::RootLaw;
use super::section::{bending_stiffness, inner_edge_factor};
use super::sensitivity::Direction;
use super::stress::{SURFACE_MARGIN, SectionLoads, StressFactors};
use super::{Model, ModelSettings};
use crate::layout::{ArmPath, Spring};
use crate::spec::SpringFile;

fn spring(text: &str) -> Spring {
    Spring::from_file(&SpringFile::parse(text, "spring.toml").unwrap(), None).unwrap()
}

/// Three arms of even width in a disc with a known rim; `keys` of the disc and the seat.
fn even(disc: &str, seat: &str) -> Spring {
    spring(&format!(
        "[sheet]\nthickness = 1.0\nyoungs_modulus = 200000\nshear_modulus = 80000\n[disc]\narms = 3\nslot = 1.2\n\
         outer_diameter = 80\narm_outer_diameter = 60\narm_inner_diameter = 20\nbore_diameter = 8\n{disc}\n[arm]\n\
         radius = [10, 30]\nwidth = [4, 4]\n[former]\nfree_height = 6\n[seat]\n{seat}\n"
    ))
}

#[test]
fn a_strip_three_times_as_wide_as_thick_bends_as_a_plate() {
    // cylindrical bending of a plate, D = E t³/12(1 − ν²) per width (Timoshenko & Woinowsky-Krieger): 3 wide, 1 thick,
    // E 200000, ν 0.3: 200000·3/12/0.91 = 54945; a square section 200000/12 = 16666.7; half of the way, b = 2: the
    // anticlastic share is 0.5²(3 − 1) = 0.5, 200000·2/12/(1 − 0.045) = 34904
    for (width, stiffness) in [(3.0, 54_945.0), (1.0, 16_666.7), (2.0, 34_904.0), (8.0, 146_520.0)] {
        assert_relative_eq!(bending_stiffness(2e5, 0.3, width, 1.0).value, stiffness, max_relative = 1e-5);
    }
}

#[test]
fn a_thin_strip_bent_sharply_shears_at_its_inner_edge_as_a_helicoid() {
    // twist p/ρ² at radius ρ: at the inner edge 1/(1 − 1/C)² times that of the middle, C = 2r/b = 2 gives 4; the table
    // ends at C = 3 and is continued in 1/C, a tenth low there
    let found = inner_edge_factor(10.0, 1e-3, 10.0);
    assert!((3.4..=4.1).contains(&found), "{found}");
    // 1/(1 − 1/6)² = 1.44, a row of the table
    assert_relative_eq!(inner_edge_factor(10.0, 1e-6, 30.0), 1.44, max_relative = 1e-3);
}

/// Root lengths of the hand cases.
const LAW: RootLaw = RootLaw {
    twist: 1.14,
    slope: 1.09,
    height: 0.97,
    curved: 0.94,
    ring: 0.36,
    roll: 1.24,
    loose: 1.0,
    support: RimSupport::Round,
};

#[test]
fn roots_are_as_compliant_as_pieces_of_their_own_section() {
    // lengths in root widths: 1.14 − 0.94 w/r against twist, 0.36 more where the ring is not held at the slots' ends,
    // 1.09 − 0.94 w/r against slope, the height's 0.97 cubed over 3
    let settings = ModelSettings { roots: LAW, segments: 60, ..ModelSettings::default() };
    for (disc, [rim, hub]) in [
        ("rim_clamp_diameter = 62", [0.0, 0.36]),
        ("hub_clamp_diameter = 18", [0.36, 0.0]),
        ("rim_clamp_diameter = 62\nhub_clamp_diameter = 18", [0.0, 0.0]),
    ] {
        let model = Model::of(&even(disc, "rim = \"held\""), &settings).unwrap();
        let (elements, sections) = (&model.chain.elements, &model.chain.sections);
        let ends = [(&elements[0], &sections[0], rim), (&elements[elements.len() - 1], &sections[60], hub)];
        for (element, root, ring) in ends {
            let width = root.radial_width;
            let along = Vector3::new(0.0, root.cosine, root.sine);
            let across = Vector3::new(0.0, root.sine, -root.cosine);
            let length = 1.14 - 0.94 * width / root.radius + ring;
            let twist = along.dot(&(element.flexibility * along));
            assert_relative_eq!(twist, length * width / root.torsion, max_relative = 1e-9);
            let slope = across.dot(&(element.flexibility * across));
            assert_relative_eq!(slope, (length - 0.05) * width / root.bending, max_relative = 1e-9);
            let height = (0.97 * width).powi(3) / (3.0 * root.bending);
            assert_relative_eq!(element.flexibility[(0, 0)], height, max_relative = 1e-9);
        }
    }
}

#[test]
fn a_resting_rim_rolls_as_the_ring_that_the_slots_leave() {
    // 12 N/(2π E t³ ln(Ro/Ri)) per root (Timoshenko, Strength of Materials II), times 1.24; inside of the rim 30 mm, half
    // a slot of 1.2 out, half a root in: with a root of 4 mm 30 + 0.6 − 2 = 28.6, Ro = 40
    let settings = ModelSettings { segments: 60, roots: LAW, ..ModelSettings::default() };
    let model = Model::of(&even("", ""), &settings).unwrap();
    let root = &model.chain.sections[0];
    let inner: f64 = 30.6 - 0.5 * root.radial_width;
    let roll = 1.24 * 12.0 * 3.0 / (std::f64::consts::TAU * 2e5 * (40.0 / inner).ln());
    // a resting rim is not held, but its own roll replaces the ring's compliance
    let wedge = (1.14 - 0.94 * root.radial_width / root.radius) * root.radial_width / root.torsion;
    let along = Vector3::new(0.0, root.cosine, root.sine);
    let twist = along.dot(&(model.chain.elements[0].flexibility * along));
    assert_relative_eq!(twist, wedge + roll, max_relative = 1e-9);
    assert!(roll > 0.2 * wedge, "{roll} {wedge}");
}

#[test]
fn the_peak_lies_at_a_node() {
    let settings = ModelSettings { segments: 20, ..ModelSettings::default() };
    let model = Model::of(&even("", ""), &settings).unwrap();
    let response = model.response(&[1.0, 3.0, 5.0]).unwrap();
    let (arcs, length) = (model.chain.arcs(), model.chain.length());
    for share in response.peak_station {
        assert!(arcs.iter().any(|arc| (arc / length - share).abs() < 1e-12), "{share}");
    }
}

#[test]
fn stresses_add_up_as_by_hand() {
    let section =
        Section { radial_width: 4.0, width: 4.0, radius: 40.0, ..Section::even(0.0, 40.0, 1e5, 64_000.0) };
    // 6 M/(b t²): 1.5 MPa per N·mm, across the width 6/16; kt = 0.997 for b = 4 t, 80000·0.997 per twist, of which a moment
    // makes 1e-5 (Timoshenko & Goodier)
    let factors = StressFactors::of(&section, 80_000.0, 1.0);
    assert_relative_eq!(factors.bending, 1.5, max_relative = 1e-12);
    assert_relative_eq!(factors.in_plane, 0.375, max_relative = 1e-12);
    assert_relative_eq!(factors.axial, 0.25, max_relative = 1e-12);
    assert_relative_eq!(factors.shear, SURFACE_MARGIN * 0.797_58, max_relative = 1e-4);
    // 1 MPa of shear, 1.5 at the edge; bending 3; axial 10, in the plane 20: √(13² + 3) and √(33² + 3·1.5²)
    let factors = StressFactors { shear: 0.1, edge: 1.5, bending: 0.2, axial: 0.5, in_plane: 4.0 };
    let stress = factors.stress(&SectionLoads {
        twist: -10.0,
        bending: 15.0,
        axial: -20.0,
        in_plane: 5.0,
        shear: 7.0,
    });
    assert_relative_eq!(stress.centre, 172f64.sqrt(), max_relative = 1e-12);
    assert_relative_eq!(stress.edge, 1095.75_f64.sqrt(), max_relative = 1e-12);
    assert_eq!((stress.shear, stress.edge_shear, stress.bending), (1.0, 1.5, 3.0));
}

#[test]
fn a_section_is_as_wide_as_normal_to_the_arm() {
    // pitch 3·(4 + 1.2) = 15.6 mm a turn, 2.4828 a radian: cos = 1/√(1 + (2.4828/r)²), 0.979 at r 12
    let model =
        Model::of(&even("", ""), &ModelSettings { segments: 80, ..ModelSettings::default() }).unwrap();
    for section in &model.chain.sections[2..78] {
        let cosine = 1.0 / (2.4828 / section.radius).hypot(1.0);
        assert_relative_eq!(section.width / section.radial_width, cosine, max_relative = 1e-3);
    }
}

#[test]
fn a_rate_is_that_of_the_whole_spring() {
    let settings = ModelSettings { segments: 80, ..ModelSettings::default() };
    let model = Model::of(&even("", ""), &settings).unwrap();
    let response = model.response(&[0.999, 1.0, 1.001]).unwrap();
    let quotient = (response.force[2] - response.force[0]) / 0.002;
    assert_relative_eq!(response.rate[1], quotient, max_relative = 1e-3);
}

/// A snapshot of an arm with every node at `height` (mm), touching nothing, the hub pressed to `deflection`.
fn seated_share(model: &Model, deflection: f64, height: f64) -> f64 {
    let nodes = model.chain.elements.len() + 1;
    let state: Vec<Deviation> =
        model.chain.free_height.iter().map(|free| Deviation::new(height - free, 0.0, 0.0)).collect();
    let (none, nothing) = (vec![Contact::None; nodes], vec![0.0; nodes]);
    let snapshot = Snapshot {
        deflection,
        force: Affine::default(),
        state: &state,
        slope: &state,
        contacts: &none,
        plane: None,
        redundant: Vector2::zeros(),
        redundant_slope: Vector2::zeros(),
        reaction: &nothing,
        reaction_slope: &nothing,
        hub_force: Affine::default(),
        converged: true,
    };
    model.arm_state(&snapshot).seated_share
}

#[test]
fn nodes_at_either_plate_are_seated() {
    let settings = ModelSettings { segments: 60, ..ModelSettings::default() };
    let by_hub = Model::of(&even("", ""), &settings).unwrap();
    let by_plates = Model::of(&even("", "pressing = \"plates\""), &settings).unwrap();
    // pressed by 4 of 6 mm the upper plate stands 2 mm high; a touch is 0.2 % of 6 mm, 0.012 mm
    for (height, hub, plates) in [
        (0.0, 1.0, 1.0),
        (0.011, 1.0, 1.0),
        (0.013, 0.0, 0.0),
        (1.0, 0.0, 0.0),
        (1.987, 0.0, 0.0),
        (1.989, 0.0, 1.0),
        (2.0, 0.0, 1.0),
    ] {
        let found = [seated_share(&by_hub, 4.0, height), seated_share(&by_plates, 4.0, height)];
        for (found, wanted) in found.into_iter().zip([hub, plates]) {
            assert!((found - wanted).abs() < 1e-9, "{height} mm: {found} instead of {wanted}");
        }
    }
}

/// An arm on a former higher by `lift` (mm) at the hub, in the same proportions.
fn raised(arm: &ArmPath, lift: f64) -> ArmPath {
    let mut raised = arm.clone();
    let top = arm.free_height();
    for (z, p) in raised.height.iter_mut().zip(&mut raised.rise) {
        *z += lift * *z / top;
        *p += lift * *p / top;
    }
    raised
}

#[test]
fn the_slope_over_the_free_height_holds_between_plates() {
    // arms so narrow inside that their inner turns come up against the upper plate
    let text = "[sheet]\nthickness = 1.0\nyoungs_modulus = 200000\nshear_modulus = 80000\n[disc]\narms = 2\nslot = 1.2\n\
        outer_diameter = 80\narm_outer_diameter = 60\narm_inner_diameter = 20\n[arm]\nradius = [10, 30]\nwidth = [2, 7]\n\
        [former]\nfree_height = 6\n[seat]\npressing = \"plates\"\n";
    let spring = spring(text);
    let settings = ModelSettings { segments: 80, in_plane: false, ..ModelSettings::default() };
    let arm = spring.arm(80).unwrap();
    let direction = Direction {
        height: arm.height.iter().map(|z| z / arm.free_height()).collect(),
        ..Direction::default()
    };
    let stops: Vec<f64> = (1..=11).map(|k| 0.5 * f64::from(k)).collect();
    let model = Model::of_arm(&spring, &arm, &settings);
    let states = model.states(&stops).unwrap();
    assert!(
        states.iter().any(|state| state.contact.contains(&Contact::Upper)),
        "no turn meets the upper plate"
    );
    let (_, slopes) = model.response_and_gradient(&stops, &[direction]).unwrap();
    let force =
        |lift: f64| Model::of_arm(&spring, &raised(&arm, lift), &settings).response(&stops).unwrap().force;
    let step = 1e-5;
    let (low, high) = (force(-step), force(step));
    for (i, slope) in slopes.iter().enumerate() {
        let expected = (high[i] - low[i]) / (2.0 * step);
        assert!(
            (slope[0] - expected).abs() <= 1e-3 * expected.abs().max(0.1),
            "at {} mm: {} against {expected}",
            stops[i],
            slope[0]
        );
    }
}
