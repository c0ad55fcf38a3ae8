//! The segment model against closed forms and published laws.

use approx::assert_relative_eq;
use flatspire::layout::{ArmPath, SheetProperties, Station};
use flatspire::model::chain::{Chain, SectionLaw};
use flatspire::model::condensation::Condensation;
use flatspire::model::element::Element;
use flatspire::model::seating::{Plates, Seating};
use flatspire::model::section::CurvedStrip;

const SHEET: fn() -> SheetProperties = || SheetProperties {
    material: None,
    thickness: 1.0,
    youngs_modulus: 206_000.0,
    shear_modulus: 79_300.0,
    tensile_strength: None,
    yield_strength: None,
    density: None,
};

/// Beam theory alone: straight-bar torsion, plain E.
const BAR: SectionLaw = SectionLaw { curved_strip: CurvedStrip::Off, plate_bending: false };

fn arc(degrees: f64, segments: usize) -> Chain {
    let stations: Vec<Station> = (0..=200)
        .map(|k| Station {
            angle: degrees.to_radians() * f64::from(k) / 200.0,
            radius: 30.0,
            width: 6.0,
            height: 0.01 * f64::from(k),
        })
        .collect();
    let arm = ArmPath::through_stations(&stations, segments).unwrap();
    Chain::new(&arm, &SHEET(), BAR, |_| None, |_| None)
}

/// Rate of a chain whose end is pushed along the height: `free` lets the end turn, else it keeps its rotation.
fn rate(chain: &Chain, free: bool) -> f64 {
    let mut tree =
        Condensation::new(&chain.elements, &chain.free_height, chain.travel(), free.then_some([0.0, 0.0]));
    tree.hub(0.0).1.slope
}

#[test]
fn clamped_arc_with_free_tip() {
    // Roark's Formulas / Timoshenko, out-of-plane loading of a circular arc:
    // δ = (PR³/EI)[φ/2 − (sin 2φ)/4] + (PR³/GJ)[3φ/2 − 2 sin φ + (sin 2φ)/4]
    for (degrees, compliance) in
        [(90.0, 0.273_636_62), (180.0, 1.308_155_86), (270.0, 2.342_675_11), (360.0, 2.616_311_73)]
    {
        assert_relative_eq!(1.0 / rate(&arc(degrees, 1600), true), compliance, max_relative = 1e-4);
    }
}

#[test]
fn arc_clamped_at_both_ends() {
    // closed form by Castigliano: k = GJ/{R³[φ − 4 sin²(φ/2)/(φ/2 + (sin φ)/2 + γ(φ/2 − (sin φ)/2))]}, γ = GJ/EI
    for (degrees, expected) in [
        (60.0, 42.911_704),
        (90.0, 13.856_432),
        (120.0, 6.530_847),
        (180.0, 2.538_693),
        (270.0, 1.203_786),
        (360.0, 0.836_686),
        (540.0, 0.579_747),
        (720.0, 0.418_343),
    ] {
        assert_relative_eq!(rate(&arc(degrees, 1600), false), expected, max_relative = 1e-4);
    }
}

#[test]
fn straight_strip_pressed_on_a_flat_base() {
    // classical die bending: L = 60, EI = 103000, free curvature 1/400; below P_T = EI/(RL) linear, above
    // δ = L²/(2R) − (EI)²/(6P²R³), lift-off at L − EI/(PR)
    let (length, bending, radius, count) = (60.0, 103_000.0, 400.0, 600);
    let place = |k: usize| length * k as f64 / f64::from(count);
    let elements: Vec<Element> = (0..count as usize)
        .map(|k| Element::piece([place(k), 0.0], [place(k + 1), 0.0], 1e5, bending))
        .collect();
    let free_height: Vec<f64> = (0..=count as usize).map(|k| place(k) * place(k) / (2.0 * radius)).collect();
    let travel = free_height[count as usize];
    let plates = Plates::new(&elements, &free_height, false);
    let stops = [3.0 * 0.9999, 3.732_567, 4.223_724, 4.430_931, 4.488_949];
    let expected = [4.291_667 * 0.9999, 6.0, 10.0, 20.0, 50.0];
    let mut tree = Condensation::new(&elements, &free_height, travel, Some([0.0, 0.0]));
    let mut forces = Vec::new();
    Seating::new(&mut tree, &plates).follow(&stops, |stop| forces.push(stop.force.value)).unwrap();
    for (force, expected) in forces.iter().zip(expected) {
        // the tip load is steep at the end: compare where the force is asked for, in force
        assert_relative_eq!(*force, expected, max_relative = 0.005);
    }
}

/// Torsion-only law of an arm whose radius and rise are linear in the angle.
struct Bottoming {
    arms: f64,
    torsion: f64,
    inner: f64,
    outer: f64,
    turns: f64,
    height: f64,
}

impl Bottoming {
    /// Deflection under a force: Rodriguez, Paredes & Sartor, "Analytical behavior law for a constant pitch conical
    /// compression spring", J. Mech. Des. 128 (2006); also Wahl, Mechanical Springs (1944).
    fn deflection(&self, force: f64) -> f64 {
        let turn = 2.0 * std::f64::consts::PI * self.turns;
        let load = force / self.arms;
        let front = (self.torsion * self.height / (turn * load)).cbrt().clamp(self.inner, self.outer);
        turn * load * (front.powi(4) - self.inner.powi(4)) / (4.0 * self.torsion * (self.outer - self.inner))
            + self.height * (self.outer - front) / (self.outer - self.inner)
    }
}

#[test]
fn progressive_bottoming_follows_the_published_law() {
    let wire = Bottoming {
        arms: 1.0,
        torsion: 81_500.0 * std::f64::consts::PI * 81.0 / 32.0,
        inner: 7.5,
        outer: 22.5,
        turns: 5.0,
        height: 60.0,
    };
    for (force, x) in [(150.0, 28.993_37), (200.0, 34.408_93), (300.0, 41.116_47), (400.0, 45.260_62)] {
        assert_relative_eq!(wire.deflection(force), x, max_relative = 1e-6);
    }
    // the strip of three arms: b = 6, t = 1, R 12 → 36, two turns, H = 9
    let torsion = 79_300.0 * 6.0 * 0.298_320;
    let strip = Bottoming { arms: 3.0, torsion, inner: 12.0, outer: 36.0, turns: 2.0, height: 9.0 };
    for (force, x) in [(10.0, 4.649_151), (20.0, 6.398_182), (50.0, 8.042_552), (120.0, 8.896_955)] {
        assert_relative_eq!(strip.deflection(force), x, max_relative = 1e-4);
    }
}
