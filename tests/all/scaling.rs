//! How forces and stresses scale: what has to hold whatever the model's details.

use approx::assert_relative_eq;
use flatspire::layout::{ArmShape, Disc, FormerProfile, SheetProperties, Spring, Station};
use flatspire::model::centre_line::SectionLaw;
use flatspire::model::section::{CurvedStrip, face_shear_per_twist};
use flatspire::model::stress::SURFACE_MARGIN;
use flatspire::model::{Model, ModelSettings};
use flatspire::spec::{HubGuide, Pressing, Rim, Roots, Seat};

/// A tapered spring of stations, its lengths times `scale`.
fn spring(arms: usize, roots: Roots, scale: f64, width: f64) -> Spring {
    let stations = (0..=60)
        .map(|k| {
            let s = f64::from(k) / 60.0;
            Station {
                angle: 8.0 * s,
                radius: scale * (36.0 - 22.0 * s),
                width: scale * width * (1.0 - 0.5 * s),
                // eased at both ends
                height: scale * 8.0 * s * s * (3.0 - 2.0 * s),
            }
        })
        .collect();
    Spring {
        sheet: SheetProperties {
            material: None,
            thickness: 0.8 * scale,
            youngs_modulus: 200_000.0,
            shear_modulus: 77_000.0,
            tensile_strength: None,
            yield_strength: None,
            density: None,
        },
        arms,
        slot: scale,
        disc: Disc {
            outer_radius: 52.0 * scale,
            bore_radius: 4.0 * scale,
            slot_outer_radius: 40.0 * scale,
            slot_inner_radius: 11.0 * scale,
            rim_clamp_radius: None,
            hub_clamp_radius: None,
        },
        shape: ArmShape::Stations(stations),
        roots,
        former: FormerProfile::cone(8.0 * scale, 1.0),
        seat: Seat {
            pressing: Pressing::Plates,
            hub: HubGuide::Guided,
            rim: Rim::Resting,
            ..Seat::default()
        },
    }
}

const SHARES: [f64; 5] = [0.05, 0.3, 0.55, 0.8, 0.95];

/// Forces, rates and peak stresses at shares of the travel.
fn curve(spring: &Spring, in_plane: bool) -> [Vec<f64>; 3] {
    let settings = ModelSettings { segments: 120, in_plane, ..ModelSettings::default() };
    let model = Model::of(spring, &settings).unwrap();
    let stops: Vec<f64> = SHARES.iter().map(|share| share * model.travel()).collect();
    let response = model.response(&stops).unwrap();
    [response.force, response.rate, response.peak_stress]
}

fn assert_scaled(found: &[f64], from: &[f64], factor: f64) {
    for (found, from) in found.iter().zip(from) {
        assert_relative_eq!(*found, factor * from, max_relative = 1e-7);
    }
}

#[test]
fn force_is_proportional_to_the_moduli() {
    for in_plane in [false, true] {
        let plain = curve(&spring(3, Roots::Disc, 1.0, 6.0), in_plane);
        let mut stiff = spring(3, Roots::Disc, 1.0, 6.0);
        stiff.sheet.youngs_modulus *= 0.57;
        stiff.sheet.shear_modulus *= 0.57;
        let stiff = curve(&stiff, in_plane);
        for k in 0..3 {
            assert_scaled(&stiff[k], &plain[k], 0.57);
        }
    }
}

#[test]
fn larger_springs_are_stiffer_by_their_size_and_stressed_alike() {
    for in_plane in [false, true] {
        let plain = curve(&spring(2, Roots::Disc, 1.0, 6.0), in_plane);
        let large = curve(&spring(2, Roots::Disc, 1.9, 6.0), in_plane);
        assert_scaled(&large[0], &plain[0], 1.9 * 1.9);
        assert_scaled(&large[1], &plain[1], 1.9);
        assert_scaled(&large[2], &plain[2], 1.0);
    }
}

#[test]
fn arms_add_up() {
    for in_plane in [false, true] {
        let one = curve(&spring(1, Roots::Rigid, 1.0, 6.0), in_plane);
        let four = curve(&spring(4, Roots::Rigid, 1.0, 6.0), in_plane);
        assert_scaled(&four[0], &one[0], 4.0);
        assert_scaled(&four[2], &one[2], 1.0);
    }
}

#[test]
fn shear_at_flat_does_not_depend_on_the_width() {
    // a level strip that rises evenly around the axis, pressed flat, has the twist p/r² and the shear k_t G t p/r²
    let settings = ModelSettings {
        segments: 300,
        in_plane: false,
        sections: SectionLaw { curved_strip: CurvedStrip::Off, plate_bending: true, free_ends: true },
        ..ModelSettings::default()
    };
    let rise = 0.6;
    for width in [4.0, 6.0, 9.0] {
        let mut spring = spring(2, Roots::Rigid, 1.0, width);
        spring.shape = ArmShape::Stations(
            (0..=60)
                .map(|k| {
                    let angle = 0.25 * f64::from(k);
                    Station { angle, radius: 30.0, width, height: rise * angle }
                })
                .collect(),
        );
        let model = Model::of(&spring, &settings).unwrap();
        let state = &model.states(&[model.travel()]).unwrap()[0];
        let (g, t) = (spring.sheet.shear_modulus, spring.sheet.thickness);
        let expected = SURFACE_MARGIN * g * face_shear_per_twist(width, t) * rise / (30.0 * 30.0);
        // the clamps make themselves felt over about one radius
        for stress in &state.stress[100..200] {
            assert_relative_eq!(stress.shear, expected, max_relative = 8e-3);
        }
        assert_relative_eq!(expected, SURFACE_MARGIN * g * t * rise / 900.0, max_relative = 1e-3);
    }
}

#[test]
fn an_ideally_clamped_arm_ends_where_the_turning_hub_takes_it() {
    let spring = spring(2, Roots::Rigid, 1.0, 6.0);
    let settings = ModelSettings { segments: 120, ..ModelSettings::default() };
    let model = Model::of(&spring, &settings).unwrap();
    for state in model.states(&[2.0, 5.0]).unwrap() {
        let end = state.shift.len() - 1;
        let [x, y] = model.chain.position[end];
        assert!(state.hub_turn.abs() > 1e-4, "the hub turns by {} rad", state.hub_turn);
        assert_relative_eq!(state.shift[end][0], -y * state.hub_turn, epsilon = 1e-9);
        assert_relative_eq!(state.shift[end][1], x * state.hub_turn, epsilon = 1e-9);
        assert_eq!(state.shift[0], [0.0, 0.0]);
    }
}
