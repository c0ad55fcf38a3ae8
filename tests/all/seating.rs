//! Contact: what must hold for any spring whatever, on thousands drawn at random.

use flatspire::layout::Spring;
use flatspire::model::contact::Contact;
use flatspire::model::element::Deviation;
use flatspire::model::{Model, ModelSettings, Snapshot};
use flatspire::spec::{HubGuide, Pressing};

use crate::quadratic_programme::QuadraticProgramme;
use crate::random_spring::{Draw, random_spring};
use crate::validity::{OutsideCheck, hold};

/// Residuals of the springs' states, as shares of their tolerances.
#[derive(Debug, Default, Clone, Copy)]
struct Findings {
    /// deepest penetration (mm)
    penetration: f64,
    /// largest pulling contact force over the largest force of an element
    pulling: f64,
    /// largest residual over the largest term that it is a difference of, forces and moments each by themselves
    residual: f64,
    /// largest fall of force between neighbouring points over the force
    fall: f64,
    /// largest jump of force over the force
    jump: f64,
    /// work less energy over energy
    work: f64,
    /// states that did not settle
    not_converged: usize,
}

impl Findings {
    /// Keeps the worse of both.
    fn join(&mut self, other: &Self) {
        self.penetration = self.penetration.max(other.penetration);
        self.pulling = self.pulling.max(other.pulling);
        self.residual = self.residual.max(other.residual);
        self.fall = self.fall.max(other.fall);
        self.jump = self.jump.max(other.jump);
        self.work = self.work.max(other.work);
        self.not_converged += other.not_converged;
    }

    /// Fails where anything is above its limit.
    fn check(&self, limits: &Self, seed: u64) {
        let sound = self.penetration <= limits.penetration
            && self.pulling <= limits.pulling
            && self.residual <= limits.residual
            && self.fall <= limits.fall
            && self.jump <= limits.jump
            && self.work <= limits.work
            && self.not_converged <= limits.not_converged;
        assert!(sound, "spring {seed}: found {self:?}, expected at most {limits:?}");
    }
}

/// Position of the hub's node where the hub may tilt.
fn tilt(spring: &Spring, model: &Model) -> Option<[f64; 2]> {
    (spring.arms == 1 && spring.seat.hub == HubGuide::Tilting)
        .then(|| model.chain.position[model.chain.position.len() - 1])
}

/// Energy stored in one arm, in its plane as well where that counts (N·mm).
fn energy(model: &Model, snapshot: &Snapshot) -> f64 {
    let ends = snapshot.state.windows(2);
    let bent: f64 =
        model.chain.elements.iter().zip(ends).map(|(element, ends)| element.energy(&ends[0], &ends[1])).sum();
    bent + snapshot.plane.map_or(0.0, |plane| plane.energy(snapshot.redundant))
}

/// Judges the rest in one state.
fn judge(spring: &Spring, model: &Model, snapshot: &Snapshot, findings: &mut Findings) {
    let chain = &model.chain;
    let nodes = chain.free_height.len();
    let travel = model.travel();
    findings.not_converged += usize::from(!snapshot.converged);
    let mut sum = vec![Deviation::zeros(); nodes];
    let mut largest: f64 = 0.0;
    // forces and moments are differences of the stiffest piece's terms
    let mut terms = [0.0_f64; 2];
    for (i, element) in chain.elements.iter().enumerate() {
        let [a, b] = element.forces(&snapshot.state[i], &snapshot.state[i + 1]);
        largest = largest.max(a[0].abs()).max(b[0].abs());
        if !element.is_root() {
            let largest = element.stiffness[(0, 0)] * travel;
            terms = [terms[0].max(largest), terms[1].max(largest * element.length())];
        }
        sum[i] += a;
        sum[i + 1] += b;
    }
    if let Some(plane) = snapshot.plane {
        for (i, (own, influence)) in plane.piece_slopes.iter().zip(&plane.influence).enumerate() {
            let node = chain.first + i;
            let slope = own.of(snapshot.state[node + 1][0] - snapshot.state[node][0]).0;
            let force = -influence.dot(&snapshot.redundant) * slope / own.length;
            largest = largest.max(force.abs());
            sum[node][0] += force;
            sum[node + 1][0] -= force;
        }
    }
    for node in 1..nodes - 1 {
        // what touches is a line beside the centre
        let ([dx, dy], state) = (chain.line[node], &snapshot.state[node]);
        let z = chain.free_height[node] + state[0] + state[1] * dy - state[2] * dx;
        findings.penetration = findings.penetration.max(-z);
        if spring.seat.pressing == Pressing::Plates {
            findings.penetration = findings.penetration.max(z - (travel - snapshot.deflection));
        }
        let mut force = sum[node];
        if snapshot.contacts[node] != Contact::None {
            force[1] -= dy * force[0];
            force[2] += dx * force[0];
        }
        match snapshot.contacts[node] {
            Contact::None => findings.residual = findings.residual.max(force[0].abs() / terms[0]),
            Contact::Base => findings.pulling = findings.pulling.max(-force[0] / largest),
            Contact::Upper => findings.pulling = findings.pulling.max(force[0] / largest),
        }
        findings.residual = findings.residual.max(force[1].hypot(force[2]) / terms[1]);
    }
    if let Some([x, y]) = tilt(spring, model) {
        let hub = &sum[nodes - 1];
        let moment = (hub[1] + y * hub[0]).hypot(hub[2] - x * hub[0]);
        findings.residual = findings.residual.max(moment / terms[1]);
    }
}

/// Segments between 30 and 80.
fn segments(seed: u64) -> usize {
    30 + Draw(seed ^ 0x5e6).one_of(51)
}

/// Forces of random springs against a general-purpose quadratic programme.
pub fn against_quadratic_programme() -> Vec<OutsideCheck> {
    let mut pairs = Vec::new();
    for seed in 0..60 {
        let spring = random_spring(seed, 0.5);
        let settings = ModelSettings { segments: 40, in_plane: false, ..ModelSettings::default() };
        let model = Model::of(&spring, &settings).unwrap();
        let programme = QuadraticProgramme::new(
            &model.chain,
            spring.seat.pressing == Pressing::Plates,
            tilt(&spring, &model),
        );
        let x = Draw(seed ^ 0x9ad).between(0.1, 0.97) * model.travel();
        let mut force = 0.0;
        model.at_each(&[x], |snapshot| force = snapshot.force.value).unwrap();
        // where the general solver gets stuck it has nothing to say
        if let Some(expected) = programme.force(x, 1e-9) {
            pairs.push((force, expected));
        }
    }
    assert!(pairs.len() >= 50, "only {} of 60 quadratic programmes were solved", pairs.len());
    vec![OutsideCheck::of_pairs(
        "force of random springs, small slopes, contact",
        "interior-point solver Clarabel on the same quadratic programme",
        5e-4,
        pairs,
    )]
}

#[test]
fn forces_are_those_of_a_quadratic_programme() {
    hold(&against_quadratic_programme());
}

/// States in pairs close together, so that force, rate and energy can be held against each other.
fn in_pairs(spring: &Spring, seed: u64, in_plane: bool) -> (Findings, bool) {
    const APART: f64 = 1e-5;
    let settings = ModelSettings { segments: segments(seed), in_plane, ..ModelSettings::default() };
    let model = Model::of(spring, &settings).unwrap();
    let travel = model.travel();
    let mut draw = Draw(seed ^ 0x91a);
    let mut shares: Vec<f64> = (0..12).map(|_| draw.between(0.01, 0.98)).collect();
    shares.sort_by(f64::total_cmp);
    shares.dedup_by(|b, a| *b < *a + 2.0 * APART);
    let stops: Vec<f64> =
        shares.iter().flat_map(|share| [share * travel, (share + APART) * travel]).collect();
    let mut findings = Findings::default();
    let mut points = Vec::new();
    model
        .at_each(&stops, |snapshot| {
            judge(spring, &model, snapshot, &mut findings);
            points.push((snapshot.force, energy(&model, snapshot)));
        })
        .unwrap();
    let mut falls = false;
    for pair in points.chunks(2) {
        let [(from, stored), (to, stored_then)] = [pair[0], pair[1]];
        let run = APART * travel;
        let scale = from.value.abs().max(run * from.slope.abs());
        let work = 0.5 * run * (from.value + to.value);
        findings.work = findings.work.max((stored_then - stored - work).abs() / (run * scale));
        // between the two the rate is that of either, or between them where a contact changes
        let (least, most) = (from.slope.min(to.slope), from.slope.max(to.slope));
        let rise = (to.value - from.value) / run;
        findings.jump = findings.jump.max((least - rise).max(rise - most).max(0.0) * run / scale);
        falls |= from.slope < 0.0;
    }
    (findings, falls)
}

#[test]
fn small_slope_states_are_states_of_rest() {
    // wild widths cost digits where stiff and soft pieces meet; the ordinary spring keeps nearly all of them
    let limits = Findings {
        penetration: 1e-9,
        pulling: 1e-12,
        residual: 1e-8,
        fall: 0.0,
        jump: 1e-5,
        work: 1e-3,
        not_converged: 0,
    };
    let mut residuals: Vec<f64> = (0..2000)
        .map(|seed| {
            let (findings, falls) = in_pairs(&random_spring(seed, 0.5), seed, false);
            findings.check(&limits, seed);
            assert!(!falls, "spring {seed}: a convex energy has no falling force");
            findings.residual
        })
        .collect();
    residuals.sort_by(f64::total_cmp);
    assert!(residuals[1960] < 1e-11, "2 % of the springs are above {:.1e}", residuals[1960]);
}

#[test]
fn states_with_the_plane_are_states_of_rest() {
    let limits = Findings {
        penetration: 1e-9,
        pulling: 1e-12,
        residual: 1e-11,
        fall: 0.0,
        jump: 1e-6,
        work: 1e-3,
        not_converged: 0,
    };
    let mut worst = Findings::default();
    let mut falling = 0;
    for seed in 0..700 {
        let (findings, falls) = in_pairs(&random_spring(seed, 0.2), seed, true);
        findings.check(&limits, seed);
        worst.join(&findings);
        falling += usize::from(falls);
    }
    println!("{worst:?}; {falling} springs with a falling force");
}

#[test]
fn forces_do_not_depend_on_the_contacts_that_are_tried_first() {
    for seed in 0..200 {
        let spring = random_spring(seed, 0.2);
        let settings =
            ModelSettings { segments: segments(seed), in_plane: false, ..ModelSettings::default() };
        let model = Model::of(&spring, &settings).unwrap();
        let stops: Vec<f64> = (1..=20).map(|k| f64::from(k) / 21.0 * model.travel()).collect();
        let expected = model.forces(&stops).unwrap();
        let mut thicker = spring.clone();
        thicker.sheet.thickness *= 1.03;
        let near = Model::of(&thicker, &settings).unwrap().contacts(&stops).unwrap();
        let nodes = near[0].len();
        for (k, tried) in [near, vec![vec![Contact::None; nodes]; 20], vec![vec![Contact::Base; nodes]; 20]]
            .into_iter()
            .enumerate()
        {
            let found = model.forces_near(&stops, &tried).unwrap();
            for (found, expected) in found.iter().zip(&expected) {
                let error = (found / expected - 1.0).abs();
                assert!(error < 1e-7, "spring {seed}, guess {k}: {error:.1e} apart");
            }
        }
    }
}

#[test]
fn states_do_not_depend_on_the_way_there() {
    for (seed, in_plane) in (0..300).map(|seed| (seed, seed % 2 == 0)) {
        let spring = random_spring(seed, 0.2);
        let settings = ModelSettings { segments: segments(seed), in_plane, ..ModelSettings::default() };
        let model = Model::of(&spring, &settings).unwrap();
        let stops: Vec<f64> = (1..=30).map(|k| f64::from(k) / 31.0 * model.travel()).collect();
        let curve = model.response(&stops).unwrap();
        for k in [8, 17, 28] {
            let alone = model.response(&stops[k..=k]).unwrap();
            let error = (alone.force[0] / curve.force[k] - 1.0).abs();
            assert!(error < 1e-8, "spring {seed} at {} mm: {error:.1e} apart", stops[k]);
        }
    }
}

/// Springs so tall and slender that they snap: whatever comes back is finite, and what is said to be converged is.
#[test]
fn springs_far_too_tall_give_states_of_rest_or_say_that_they_do_not() {
    let limits = Findings { penetration: 1e-9, pulling: 1e-12, residual: 1e-11, ..Findings::default() };
    let (mut points, mut not_converged) = (0, 0);
    for seed in 5000..5300 {
        let spring = random_spring(seed, 2.0);
        let settings = ModelSettings { segments: segments(seed), ..ModelSettings::default() };
        let model = Model::of(&spring, &settings).unwrap();
        let stops: Vec<f64> = (1..=20).map(|k| f64::from(k) / 20.5 * model.travel()).collect();
        let mut worst = Findings::default();
        model
            .at_each(&stops, |snapshot| {
                let finite = snapshot.state.iter().all(|node| node.iter().all(|v| v.is_finite()));
                assert!(finite && snapshot.force.value.is_finite(), "spring {seed}: not a number");
                if snapshot.converged {
                    judge(&spring, &model, snapshot, &mut worst);
                }
            })
            .unwrap();
        worst.check(&limits, seed);
        let response = model.response(&stops).unwrap();
        points += stops.len();
        not_converged += response.not_converged;
    }
    println!("{not_converged} of {points} states did not settle");
    assert!(not_converged * 1000 <= points, "{not_converged} of {points} states did not settle");
}

#[test]
fn a_falling_force_is_reported_with_its_place() {
    let first_fall = |tall: f64| {
        let model =
            Model::of(&random_spring(55, tall), &ModelSettings { segments: 60, ..ModelSettings::default() })
                .unwrap();
        let stops: Vec<f64> = (1..=100).map(|k| f64::from(k) / 102.0 * model.travel()).collect();
        model.response(&stops).unwrap().first_fall().map(|x| x / model.travel())
    };
    let falls = first_fall(0.2);
    assert!(falls.is_some_and(|share| (0.3..0.6).contains(&share)), "{falls:?}");
    assert_eq!(first_fall(0.05), None);
}
