//! The predictor against 3-D finite elements: isolated arms and complete discs (see `tests/data/README.md`).

use flatspire::checks::proud_allowed;
use flatspire::layout::Spring;
use flatspire::model::loose_rim::RimSupport;
use flatspire::model::stress::SurfaceStress;
use flatspire::model::{Model, ModelError, ModelSettings};
use flatspire::numeric::straight_between;
use flatspire::spec::{Pressing, Rim};

use crate::validity::{OutsideCheck, hold};

#[path = "../references/finite_elements.rs"]
mod finite_elements;

use finite_elements::{
    DISC_CURVES, FRESH, Hold, NEARLY_FLAT_OUTSIDE, SHAPE_SHARES, WHOLE_CHAIN_CURVES, flat_discs,
    pressed_shape,
};
pub use finite_elements::{curve, spring};

/// Force errors (percent of the reference force) between two shares of the travel.
pub fn errors(
    spring: &Spring,
    settings: &ModelSettings,
    reference: &(Vec<f64>, Vec<f64>),
    range: (f64, f64),
) -> Vec<f64> {
    let model = Model::of(spring, settings).unwrap();
    let travel = model.travel();
    let points: Vec<(f64, f64)> = reference
        .0
        .iter()
        .zip(&reference.1)
        .map(|(x, f)| (*x, *f))
        .filter(|(x, _)| *x >= range.0 * travel && *x <= range.1 * travel)
        .collect();
    let deflections: Vec<f64> = points.iter().map(|point| point.0).collect();
    let response = model.response(&deflections).unwrap();
    points.iter().zip(&response.force).map(|(point, force)| 100.0 * (force / point.1 - 1.0)).collect()
}

/// Root mean square.
pub fn rms(values: &[f64]) -> f64 {
    (values.iter().map(|v| v * v).sum::<f64>() / values.len() as f64).sqrt()
}

/// Largest magnitude.
pub fn worst(values: &[f64]) -> f64 {
    values.iter().fold(0.0, |worst, v| worst.max(v.abs()))
}

const ARMS: [&str; 6] = [
    "double_domed",
    "double_linear_taper",
    "quad_short_arms",
    "single_constant",
    "single_even_closing",
    "triple_constant",
];

/// Where the curves come from.
pub const FINITE_ELEMENTS: &str = "20-node solids, large displacement, contact (CalculiX)";

/// Root mean square and largest error of one curve between 3 and 90 % of the travel.
fn curve_checks(what: &str, errors: &[f64], allowed: [f64; 2]) -> [OutsideCheck; 2] {
    [("rms", rms(errors), allowed[0]), ("worst point", worst(errors), allowed[1])].map(
        |(kind, measured, allowed)| OutsideCheck {
            what: format!("force, {what}: {kind}"),
            source: FINITE_ELEMENTS,
            allowed,
            measured,
        },
    )
}

/// Isolated arms between ideal clamps.
pub fn arms() -> Vec<OutsideCheck> {
    ARMS.iter()
        .flat_map(|name| {
            let reference = curve("arms", name, "curve.csv");
            let errors = errors(&spring("arms", name), &ModelSettings::default(), &reference, (0.03, 0.9));
            // short wide arms touch much at once, where the solids' contact is soft
            curve_checks(name, &errors, if *name == "quad_short_arms" { [1.8, 4.5] } else { [0.7, 2.0] })
        })
        .collect()
}

#[test]
fn arms_follow_finite_elements() {
    hold(&arms());
}

/// The curve of one case, of a spring whose disc is whole, against the `limits` of such springs.
fn disc_checks(
    kind: &str,
    (name, file, words, held): (&str, &str, &str, Hold),
    limits: impl FnOnce(&Spring) -> [f64; 2],
) -> [OutsideCheck; 2] {
    let mut spring = spring(kind, name);
    held(&mut spring);
    let errors = errors(&spring, &ModelSettings::default(), &curve(kind, name, file), (0.03, 0.9));
    curve_checks(&format!("{name}, {words}"), &errors, limits(&spring))
}

/// Complete discs, through contact.
pub fn discs() -> Vec<OutsideCheck> {
    DISC_CURVES.into_iter().flat_map(|case| disc_checks("discs", case, |_| [2.4, 5.5])).collect()
}

#[test]
fn discs_follow_finite_elements_through_contact() {
    hold(&discs());
}

/// Designed springs, meshed from their own drawings.
pub fn whole_chain() -> Vec<OutsideCheck> {
    // between plates the model's contact is on the centre line
    let limits = |spring: &Spring, usual| {
        if spring.seat.pressing == Pressing::Plates { [4.5, 6.5] } else { usual }
    };
    let others = WHOLE_CHAIN_CURVES.into_iter().map(|case| (case, [1.4, 3.0]));
    let nearly_flat = NEARLY_FLAT_OUTSIDE.into_iter().map(|case| (case, [1.9, 5.2]));
    others
        .chain(nearly_flat)
        .flat_map(|(case, usual)| disc_checks("whole_chain", case, |spring| limits(spring, usual)))
        .collect()
}

/// The same of springs that no fit has used.
pub fn fresh() -> Vec<OutsideCheck> {
    // between plates contact is on the centre line; plate of 12 mm seats early in the solids
    let limits = |spring: &Spring| {
        if spring.seat.pressing == Pressing::Plates || spring.sheet.thickness > 10.0 {
            [2.6, 6.5]
        } else {
            [1.4, 3.8]
        }
    };
    FRESH.into_iter().flat_map(|case| disc_checks("whole_chain", case, limits)).collect()
}

#[test]
fn springs_that_no_fit_has_used_follow_finite_elements() {
    hold(&fresh());
}

#[test]
fn designed_springs_follow_finite_elements() {
    hold(&whole_chain());
}

/// Heights of a pressed arm in the model and in finite elements, at the angles and shares of these.
struct Heights {
    case: String,
    rolls: bool,
    travel: f64,
    /// found and expected at each share (mm)
    pairs: [Vec<(f64, f64)>; 3],
}

impl Heights {
    /// Highest place found and expected with 1 % of the travel left (mm).
    fn proud(&self) -> [f64; 2] {
        let most = |pick: fn(&(f64, f64)) -> f64| self.pairs[2].iter().map(pick).fold(0.0, f64::max);
        [most(|pair| pair.0), most(|pair| pair.1)]
    }
}

fn heights() -> Vec<Heights> {
    let others = WHOLE_CHAIN_CURVES.into_iter().chain(FRESH).map(|case| (case, false));
    let cases = others.chain(NEARLY_FLAT_OUTSIDE.into_iter().map(|case| (case, true)));
    let known = cases.filter_map(|((name, file, words, held), rolls)| {
        let shape = pressed_shape("whole_chain", name, file)?;
        let mut spring = spring("whole_chain", name);
        held(&mut spring);
        let settings = ModelSettings::default();
        let arm = spring.arm(settings.segments).unwrap();
        let model = Model::of_arm(&spring, &arm, &settings);
        let travel = model.travel();
        let states = model.states(&SHAPE_SHARES.map(|share| share * travel)).unwrap();
        let pairs = std::array::from_fn(|k| {
            let found =
                shape.angle.iter().map(|angle| straight_between(&arm.angle, &states[k].height, *angle));
            found.zip(shape.height[k].iter().copied()).collect()
        });
        Some(Heights { case: format!("{name}, {words}"), rolls, travel, pairs })
    });
    known.collect()
}

/// Pressed shapes of designed springs, as a share of the travel; and by how much arms that pass as flat in the model stand
/// higher than allowed in the solids.
pub fn pressed_shapes() -> Vec<OutsideCheck> {
    let mut checks = Vec::new();
    for heights in heights() {
        let percent = |height: f64| 100.0 * height / heights.travel;
        for ((share, pairs), allowed) in SHAPE_SHARES.iter().zip(&heights.pairs).zip([1.0, 2.5, 2.5]) {
            let off = pairs.iter().map(|(found, expected)| percent((found - expected).abs()));
            checks.push(OutsideCheck {
                what: format!(
                    "height of the arm, {}, at {:.0} % of travel, over travel",
                    heights.case,
                    100.0 * share
                ),
                source: FINITE_ELEMENTS,
                allowed,
                measured: off.fold(0.0, f64::max),
            });
        }
        let ([found, expected], limit) = (heights.proud(), proud_allowed(heights.travel));
        if found <= limit {
            checks.push(OutsideCheck {
                what: format!("height of the flat arm above its limit, {}, over travel", heights.case),
                source: FINITE_ELEMENTS,
                allowed: 2.5,
                measured: percent((expected - limit).max(0.0)),
            });
        }
    }
    checks
}

#[test]
fn pressed_springs_have_the_shape_of_finite_elements() {
    hold(&pressed_shapes());
}

/// Arms that pass as flat, and are not known to rest on their edges, lie flat in the solids but for the accuracy of their
/// contact, 0.3 % of travel.
#[test]
fn springs_that_pass_as_flat_lie_flat_in_finite_elements() {
    let mut seen = 0;
    for heights in heights().into_iter().filter(|heights| !heights.rolls) {
        let ([found, expected], limit) = (heights.proud(), proud_allowed(heights.travel));
        if found <= limit {
            seen += 1;
            assert!(
                expected <= limit + 0.003 * heights.travel,
                "{}: {expected} mm, {limit} allowed",
                heights.case
            );
        }
    }
    assert!(seen > 1, "only {seen} springs pass as flat");
}

/// Linear rates of flat discs.
pub fn rates() -> Vec<OutsideCheck> {
    let (mut bonded, mut resting) = (Vec::new(), Vec::new());
    for disc in flat_discs() {
        let mut spring = disc.spring;
        spring.disc.rim_clamp_radius = Some(spring.disc.slot_outer_radius + 0.5 * spring.slot);
        spring.disc.hub_clamp_radius = Some(spring.disc.slot_inner_radius - 0.5 * spring.slot);
        spring.seat.rim = Rim::Held;
        let settings = ModelSettings::default();
        bonded.push((Model::of(&spring, &settings).unwrap().linear_rate(), disc.bonded));
        if let Some(rate) = disc.resting {
            spring.seat.rim = Rim::Resting;
            spring.disc.hub_clamp_radius = None;
            // the solids' rims are attached to a ring support under their outer edge
            let mut round = settings;
            round.roots.support = RimSupport::Round;
            resting.push((Model::of(&spring, &round).unwrap().linear_rate(), rate));
        }
    }
    let solids = "20-node solids, small displacement (CalculiX)";
    vec![
        OutsideCheck::of_pairs(
            format!("linear rate of {} flat discs, rings held", bonded.len()),
            solids,
            3.0,
            bonded,
        ),
        OutsideCheck::of_pairs(
            format!("linear rate of {} of them, rim supported all round", resting.len()),
            solids,
            3.0,
            resting,
        ),
    ]
}

#[test]
fn flat_discs_have_the_rates_of_finite_elements() {
    hold(&rates());
}

/// Surface stress along the arm of a complete disc.
pub fn stress() -> Vec<OutsideCheck> {
    // triple_constant with flexible rings: fraction of arm angle from the outer root, von Mises at the strip centre and
    // at the inner edge at half travel, the same at 97 % (MPa)
    const TABLE: [(f64, [f64; 2], [f64; 2]); 6] = [
        (0.10, [127.5, 131.3], [156.9, 162.3]),
        (0.20, [121.7, 125.7], [165.7, 172.1]),
        (0.35, [138.7, 144.2], [238.0, 246.4]),
        (0.50, [145.7, 152.0], [285.8, 299.3]),
        (0.65, [119.8, 126.2], [341.1, 359.7]),
        (0.80, [74.5, 79.1], [364.3, 387.9]),
    ];
    let mut spring = spring("discs", "triple_constant");
    spring.disc.rim_clamp_radius = None;
    spring.disc.hub_clamp_radius = None;
    let settings = ModelSettings::default();
    let arm = spring.arm(settings.segments).unwrap();
    let model = Model::of_arm(&spring, &arm, &settings);
    let travel = model.travel();
    let states = model.states(&[0.5 * travel, 0.97 * travel]).unwrap();
    let total = arm.angle[arm.angle.len() - 1];
    let (mut centre, mut edge) = (Vec::new(), Vec::new());
    for (fraction, half, flat) in TABLE {
        for (state, expected) in states.iter().zip([half, flat]) {
            let found = |pick: fn(&SurfaceStress) -> f64| {
                let along: Vec<f64> = state.stress.iter().map(pick).collect();
                straight_between(&arm.angle, &along, fraction * total)
            };
            centre.push((found(|stress| stress.centre), expected[0]));
            edge.push((found(|stress| stress.edge), expected[1]));
        }
    }
    [("at the middle of the arm's width", centre, 3.6), ("at its inner edge", edge, 6.0)]
        .map(|(place, pairs, allowed)| {
            let what = format!("surface stress {place}, triple_constant, half and 97 % of travel");
            OutsideCheck::of_pairs(what, FINITE_ELEMENTS, allowed, pairs)
        })
        .into()
}

#[test]
fn stress_follows_finite_elements() {
    hold(&stress());
}

/// A rim that may lift is softer than the same rim supported all round, and fewer arms bend it more.
#[test]
fn a_loose_rim_is_softer_than_one_supported_all_round() {
    let mut excess = Vec::new();
    for disc in flat_discs().into_iter().filter(|disc| disc.resting.is_some()) {
        let mut spring = disc.spring;
        spring.seat.rim = Rim::Resting;
        let mut loose = ModelSettings::default();
        loose.roots.support = RimSupport::Loose;
        let mut round = ModelSettings::default();
        round.roots.support = RimSupport::Round;
        round.roots.roll = 1.0;
        let [loose, round] =
            [loose, round].map(|settings| Model::of(&spring, &settings).unwrap().linear_rate());
        assert!(loose < round, "{} arms: {loose} {round}", spring.arms);
        excess.push((spring.arms, round / loose - 1.0));
    }
    let mean = |two: bool| {
        let of: Vec<f64> =
            excess.iter().filter(|(arms, _)| (*arms == 2) == two).map(|(_, share)| *share).collect();
        of.iter().sum::<f64>() / of.len() as f64
    };
    assert!(mean(true) > mean(false), "{excess:?}");
}

/// A sheet whose stiffness is below the smallest number has no curve, and the answer says so.
#[test]
fn a_singular_stiffness_matrix_is_an_error() {
    for in_plane in [true, false] {
        let mut spring = spring("discs", "triple_constant");
        spring.sheet.thickness = 1e-120;
        let settings = ModelSettings { in_plane, ..ModelSettings::default() };
        let travel = spring.former.free_height;
        let answer = Model::of(&spring, &settings).unwrap().response(&[0.5 * travel]);
        assert!(matches!(answer, Err(ModelError::Singular { .. })), "{answer:?}");
    }
}
