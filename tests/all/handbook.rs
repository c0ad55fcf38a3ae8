//! Formulas against handbook tables.

use flatspire::checks::{EnduranceLimit, HoleFactors, natural_frequency, presetting};
use flatspire::model::section::{CurvedStrip, curved_strip_factor, inner_edge_factor, k2, torsion_constant};

use crate::ring_sector::{RingSector, ring_sector, thick_sector};
use crate::validity::{OutsideCheck, hold};

/// Timoshenko & Goodier, Theory of Elasticity, torsion of rectangular bars: b/t, k1, k2; digits from the series.
const RECTANGLES: [(f64, f64, f64); 11] = [
    (1.0, 0.140_577, 0.208_165),
    (1.2, 0.166_119, 0.218_934),
    (1.5, 0.195_761, 0.230_969),
    (2.0, 0.228_682, 0.245_878),
    (2.5, 0.249_365, 0.257_590),
    (3.0, 0.263_317, 0.267_208),
    (4.0, 0.280_813, 0.281_666),
    (5.0, 0.291_317, 0.291_500),
    (6.0, 0.298_320, 0.298_359),
    (8.0, 0.307_073, 0.307_075),
    (10.0, 0.312_325, 0.312_325),
];

/// Ring sectors: C = 2r/b and b/t, in the middle of the range and at its ends.
const SECTORS: [(f64, f64); 8] =
    [(3.0, 3.0), (3.0, 10.0), (3.5, 4.5), (4.0, 6.0), (5.0, 3.0), (5.5, 8.0), (8.0, 5.0), (10.0, 10.0)];

/// The same of thick and upright ones.
const THICK_SECTORS: [(f64, f64); 6] =
    [(3.0, 1.0), (3.0, 2.0), (4.0, 0.5), (5.0, 1.5), (6.0, 0.8), (8.0, 2.5)];

/// Energy of a strip `width` wide at `radius` twisted to the helicoid z = pθ over that of a straight strip at the same
/// twist: strips at radius ρ have the twist p/ρ² over a length ρ dθ.
fn helicoid(width: f64, radius: f64) -> f64 {
    const STRIPS: usize = 20_000;
    let step = width / STRIPS as f64;
    let energy: f64 = (0..STRIPS)
        .map(|k| radius - 0.5 * width + step * (k as f64 + 0.5))
        .map(|rho| rho.powi(-4) * rho * step)
        .sum();
    energy / (radius.powi(-4) * radius * width)
}

fn torsion() -> Vec<OutsideCheck> {
    let stiffness = |b: f64, t: f64| torsion_constant(b, t).value;
    let timoshenko = "Timoshenko & Goodier, Theory of Elasticity, torsion of rectangular bars";
    let ring = "Göhner's equation (Timoshenko & Goodier), solved by finite differences beside the program";
    let sectors: Vec<(f64, f64, RingSector)> =
        SECTORS.into_iter().map(|(c, aspect)| (c, aspect, ring_sector(c, aspect))).collect();
    let thick = THICK_SECTORS.into_iter().map(|(c, aspect)| (c, aspect, thick_sector(c, aspect)));
    vec![
        OutsideCheck::of_pairs(
            "torsion constant of rectangles, b/t 1 to 10, lying and upright",
            timoshenko,
            1e-3,
            RECTANGLES.into_iter().flat_map(|(x, k1, _)| {
                let scale = 16.0 * x;
                [(stiffness(2.0 * x, 2.0) / scale, k1), (stiffness(2.0, 2.0 * x) / scale, k1)]
            }),
        ),
        OutsideCheck::of_pairs(
            "surface shear of rectangles in torsion, b/t 1 to 10",
            timoshenko,
            1e-3,
            RECTANGLES.into_iter().map(|(x, _, second)| (k2(x, 1.0), second)),
        ),
        OutsideCheck::of_pairs(
            "torsion constant of a thin strip, b t³/3",
            timoshenko,
            1e-3,
            [(stiffness(1e6, 1.0), 1e6 / 3.0)],
        ),
        OutsideCheck::of_pairs(
            "torsion constant of rectangles, approximation good to half a percent",
            "Roark's Formulas for Stress and Strain, torsion of a solid rectangle",
            0.45,
            [1.0, 1.3, 2.0, 3.7, 9.0].map(|x: f64| {
                (stiffness(x, 1.0) / x, 1.0 / 3.0 - 0.21 / x * (1.0 - 1.0 / (12.0 * x.powi(4))))
            }),
        ),
        OutsideCheck::of_pairs(
            "stiffness of curved strips in torsion, 2r/b 3 to 10, b/t 0.5 to 10",
            ring,
            0.5,
            sectors.iter().map(|(c, b, sector)| (*c, *b, sector.stiffness)).chain(thick).map(
                |(c, b, expected)| (curved_strip_factor(CurvedStrip::Ring, b, 1.0, 0.5 * c * b).0, expected),
            ),
        ),
        OutsideCheck::of_pairs(
            "shear at their inner edge",
            ring,
            3.0,
            sectors.iter().map(|(c, b, sector)| (inner_edge_factor(*b, 1.0, 0.5 * c * b), sector.shear)),
        ),
        OutsideCheck::of_pairs(
            "stiffness of curved strips in torsion, thin limit",
            "energy of the helicoid z = pθ, summed strip by strip",
            1e-5,
            [3.0, 4.0, 5.0, 6.0, 10.0].map(|c: f64| {
                (curved_strip_factor(CurvedStrip::Ring, 1.0, 1e-7, 0.5 * c).0, helicoid(1.0, 0.5 * c))
            }),
        ),
    ]
}

fn notches() -> Vec<OutsideCheck> {
    let (thin, narrow) = (HoleFactors::of(1e6, 1.0, 0.3), HoleFactors::of(1e-3, 1.0, 0.3));
    vec![
        OutsideCheck::of_pairs(
            "wide hole in a plate, bending and twist",
            "Goodier 1936: (5 + 3ν)/(3 + ν) and 4(1 + ν)/(3 + ν)",
            0.25,
            [(thin.bending, 5.9 / 3.3), (thin.twist, 5.2 / 3.3)],
        ),
        OutsideCheck::of_pairs(
            "narrow hole in a plate, bending and twist",
            "Kirsch 1898: 3 and 4",
            0.006,
            [(narrow.bending, 3.0), (narrow.twist, 4.0)],
        ),
        OutsideCheck::of_pairs(
            "hole in a plate, bending, 2a/t 0.3 to 3",
            "Roark's Formulas for Stress and Strain, table 17.1, fitted curve",
            3.0,
            [0.3, 0.6, 1.0, 1.5, 3.0].map(|x: f64| {
                let roark = 1.79 + 0.25 / (0.39 + x) + 0.81 / (1.0 + x * x) - 0.26 / (1.0 + x.powi(3));
                (HoleFactors::of(0.5 * x, 1.0, 0.3).bending, roark)
            }),
        ),
    ]
}

fn life_and_setting() -> Vec<OutsideCheck> {
    let limit = EnduranceLimit::of(1500.0, 1.0).unwrap();
    let closed_form = "elastic, perfectly plastic strip in torsion (Nadai's sand-heap analogy)";
    vec![
        OutsideCheck::of_pairs(
            "modulus of rupture and reversed endurance in shear, Rm 1500 MPa",
            "Shigley's Mechanical Engineering Design on Zimmerli's data: 1005 and 387 MPa",
            0.035,
            [(limit.rupture_mpa, 1005.0), (limit.reversed_mpa, 387.0)],
        ),
        OutsideCheck::of_pairs(
            "presetting, twice the yield twist: torque, twist and surface shear that stay",
            closed_form,
            1e-6,
            [
                (presetting::torque_ratio(2.0), 1.375),
                (presetting::residual_twist(2.0), 0.625),
                (presetting::residual_surface_shear(2.0), -0.375),
            ],
        ),
        OutsideCheck::of_pairs(
            "over-height to form to, shear at flat 1.05 to 1.4 of yield",
            closed_form,
            1e-3,
            [(1.05, 1.003_90), (1.1, 1.016_39), (1.2, 1.075_83), (1.3, 1.216_26), (1.4, 1.597_19)]
                .map(|(m0, factor)| (presetting::over_height(m0).unwrap(), factor)),
        ),
        OutsideCheck::of_pairs(
            "1 kg on 1 N/mm: natural frequency in Hz",
            "√(k/m)/2π",
            1e-6,
            [(natural_frequency(1.0, 1.0), 5.032_921_210_448_704)],
        ),
    ]
}

/// All of them.
pub fn outside_checks() -> Vec<OutsideCheck> {
    [torsion(), notches(), life_and_setting()].concat()
}

#[test]
fn formulas_agree_with_the_handbooks() {
    hold(&outside_checks());
}
