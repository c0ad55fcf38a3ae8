//! The segment model against closed forms and published laws.

use flatspire::layout::{ArmPath, SheetProperties, Station};
use flatspire::model::centre_line::{Piece, Section, SectionLaw, TWO_POINT};
use flatspire::model::chain::{Chain, Ends};
use flatspire::model::contact::Plates;
use flatspire::model::element::Element;
use flatspire::model::equilibrium::Equilibrium;
use flatspire::model::section::{CurvedStrip, torsion_constant};
use flatspire::model::touch::Touch;
use flatspire::synthesis::closed_form::Annulus;

use crate::validity::{OutsideCheck, hold};

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
const BAR: SectionLaw = SectionLaw { curved_strip: CurvedStrip::Off, plate_bending: false, free_ends: true };

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
    Chain::new(&arm, &SHEET(), BAR, Touch::Clamps, |_, _| Ends::default())
}

/// Rate of a chain whose end is pushed along the height: `free` lets the end turn, else it keeps its rotation.
fn rate(chain: &Chain, free: bool) -> f64 {
    let plates = Plates::new(chain, false);
    Equilibrium::new(chain, &plates, None, free.then_some([0.0, 0.0])).untouched(None).unwrap().force.slope
}

fn arcs() -> Vec<OutsideCheck> {
    // δ = (PR³/EI)[φ/2 − (sin 2φ)/4] + (PR³/GJ)[3φ/2 − 2 sin φ + (sin 2φ)/4]
    let free = [(90.0, 0.273_636_62), (180.0, 1.308_155_86), (270.0, 2.342_675_11), (360.0, 2.616_311_73)];
    // by Castigliano: k = GJ/{R³[φ − 4 sin²(φ/2)/(φ/2 + (sin φ)/2 + γ(φ/2 − (sin φ)/2))]}, γ = GJ/EI
    let clamped = [
        (60.0, 42.911_704),
        (90.0, 13.856_432),
        (120.0, 6.530_847),
        (180.0, 2.538_693),
        (270.0, 1.203_786),
        (360.0, 0.836_686),
        (540.0, 0.579_747),
        (720.0, 0.418_343),
    ];
    vec![
        OutsideCheck::of_pairs(
            "compliance of a clamped circular arc with free tip, 90° to 360°",
            "Roark's Formulas / Timoshenko, out-of-plane loading of a circular arc",
            3e-4,
            free.map(|(degrees, compliance)| (1.0 / rate(&arc(degrees, 60), true), compliance)),
        ),
        OutsideCheck::of_pairs(
            "rate of a circular arc clamped at both ends, 60° to 720°",
            "closed form by Castigliano's theorem",
            5e-5,
            clamped.map(|(degrees, expected)| (rate(&arc(degrees, 60), false), expected)),
        ),
    ]
}

fn die_bending() -> Vec<OutsideCheck> {
    // L = 60, EI = 103000, free curvature 1/400; below P_T = EI/(RL) linear, above δ = L²/(2R) − (EI)²/(6P²R³), lift-off
    // at L − EI/(PR)
    let (length, bending, radius, count) = (60.0, 103_000.0, 400.0, 600);
    let place = |k: usize| length * k as f64 / f64::from(count);
    let pieces: Vec<Piece> = (0..count as usize)
        .map(|k| {
            let (from, to) = (place(k), place(k + 1));
            let section = |share: f64| Section {
                position: [from + share * (to - from), 0.0],
                cosine: 1.0,
                sine: 0.0,
                ..Section::even(0.0, 1.0, 1e5, bending)
            };
            let half = 0.5 * (to - from);
            Piece {
                start: [from, 0.0],
                end: [to, 0.0],
                sections: TWO_POINT.map(section),
                lengths: [half; 2],
                length: to - from,
            }
        })
        .collect();
    let elements: Vec<Element> = pieces.iter().map(Element::piece).collect();
    let free_height: Vec<f64> = (0..=count as usize).map(|k| place(k) * place(k) / (2.0 * radius)).collect();
    let nodes = free_height.len();
    let chain = Chain {
        elements,
        free_height,
        position: vec![[0.0; 2]; nodes],
        line: vec![[0.0; 2]; nodes],
        pieces,
        sections: Vec::new(),
        first: 0,
    };
    let plates = Plates::new(&chain, false);
    let stops = [3.0 * 0.9999, 3.732_567, 4.223_724, 4.430_931, 4.488_949];
    let expected = [4.291_667 * 0.9999, 6.0, 10.0, 20.0, 50.0];
    let mut strip = Equilibrium::new(&chain, &plates, None, Some([0.0, 0.0]));
    let forces = stops.map(|x| strip.reach(x).force.value);
    // the tip load is steep at the end: compared where the force is asked for, in force
    vec![OutsideCheck::of_pairs(
        "straight strip with free curvature pressed on a flat base",
        "closed form of classical die bending",
        0.007,
        forces.into_iter().zip(expected),
    )]
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

/// The law as published, from numbers of other authors; and the segment model of a long arm, which it describes in the
/// limit of many turns.
fn bottoming() -> Vec<OutsideCheck> {
    let published = "Rodriguez, Paredes & Sartor, J. Mech. Des. 128 (2006); Wahl, Mechanical Springs (1944)";
    // the program's law of a cone that bottoms, given the wire of their spring: 3 mm, G 81500 MPa, radii 7.5 to 22.5 mm,
    // 5 turns, 60 mm of travel
    let wire = Annulus {
        arms: 1,
        slot: 1.0,
        thickness: 1.0,
        shear_modulus: 81_500.0,
        outer: 22.5,
        inner: 7.5,
        free_height: 60.0,
    };
    let rise = 60.0 / (10.0 * std::f64::consts::PI);
    let loads: Vec<f64> = (0..20_000)
        .map(|k| 22.5 - 15.0 * (f64::from(k) + 0.5) / 20_000.0)
        .map(|r: f64| 81_500.0 * std::f64::consts::PI * 81.0 / 32.0 * rise / r.powi(3))
        .collect();
    let numbers = [(150.0, 28.993_37), (200.0, 34.408_93), (300.0, 41.116_47), (400.0, 45.260_62)];
    // a long strip b = 6, t = 1, whose pitch no slot would leave room for: a calculation only
    let (turns, inner, outer, height) = (8.0, 12.0, 36.0, 9.0);
    let strip = Bottoming {
        arms: 1.0,
        torsion: SHEET().shear_modulus * torsion_constant(6.0, 1.0).value,
        inner,
        outer,
        turns,
        height,
    };
    let stations: Vec<Station> = (0..=400)
        .map(|k| {
            let share = f64::from(k) / 400.0;
            Station {
                angle: 2.0 * std::f64::consts::PI * turns * share,
                radius: outer + (inner - outer) * share,
                width: 6.0,
                height: height * share,
            }
        })
        .collect();
    let arm = ArmPath::through_stations(&stations, 1200).unwrap();
    // a round wire touches in the middle
    let chain = Chain::new(&arm, &SHEET(), BAR, Touch::Plates, |_, _| Ends::default());
    let forces = [0.35, 1.0, 3.0, 7.0];
    let stops = forces.map(|force| strip.deflection(force));
    let plates = Plates::new(&chain, true);
    let mut arm = Equilibrium::new(&chain, &plates, None, None);
    let found = stops.map(|x| arm.reach(x).force.value);
    vec![
        OutsideCheck::of_pairs(
            "deflection of a conical spring that bottoms, wire 3 mm, the law that seeds the search",
            published,
            1e-4,
            numbers.map(|(force, x)| (wire.deflection(&loads, force), x)),
        ),
        OutsideCheck::of_pairs(
            "segment model of one arm of eight turns between plates, force",
            published,
            1.3,
            found.into_iter().zip(forces),
        ),
    ]
}

/// All of them.
pub fn outside_checks() -> Vec<OutsideCheck> {
    [arcs(), die_bending(), bottoming()].concat()
}

#[test]
fn the_segment_model_agrees_with_closed_forms() {
    hold(&outside_checks());
}
