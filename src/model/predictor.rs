//! The predictor: a spring in, its force-deflection curve out.

use std::sync::OnceLock;

use nalgebra::Vector3;

use super::arm_state::{ArmState, Snapshot};
use super::centre_line::{Section, SectionLaw};
use super::chain::{Chain, Ends};
use super::contact::{Contact, Plates};
use super::equilibrium::Equilibrium;
use super::loose_rim::{RestingRim, RimSupport};
use super::plane_frame::{PlaneFrame, with_plane};
use super::root::{RootCompliance, RootLaw, RootSlopes};
use super::section_gradient::{Between, NodeGradient, SectionGradient, SectionSlopes, spread};
use super::stress::{SectionLoads, StressFactors};
use super::touch::Touch;
use crate::layout::{ArmPath, LayoutError, SheetProperties, Spring};
use crate::numeric::quadrature::TWO_POINT;
use crate::response::Response;
use crate::spec::{HubGuide, Pressing, Rim, Roots};

/// Settings of the model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ModelSettings {
    /// pieces of one arm; 100 when left alone
    pub segments: usize,
    /// stiffness of sections
    pub sections: SectionLaw,
    /// whether the in-plane stiffness of the arm counts
    pub in_plane: bool,
    /// compliance of roots
    pub roots: RootLaw,
}

impl Default for ModelSettings {
    fn default() -> Self {
        Self { segments: 100, sections: SectionLaw::default(), in_plane: true, roots: RootLaw::default() }
    }
}

/// Errors of a prediction.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ModelError {
    /// Invalid geometry.
    #[error(transparent)]
    Layout(#[from] LayoutError),
    /// A singular stiffness matrix of the arm: values so far apart that the smaller ones are lost.
    #[error(
        "the stiffness matrix of the arm {place} is singular (arm {length_mm} mm long, sheet {thickness_mm} mm thick); \
         check widths, thickness and moduli for a wrong unit"
    )]
    Singular {
        /// in its plane, or out of it
        place: &'static str,
        /// length of the arm (mm)
        length_mm: f64,
        /// thickness of the sheet (mm)
        thickness_mm: f64,
    },
    /// A deflection that cannot be asked for.
    #[error(
        "deflection {found} mm was asked for; the spring goes from 0 to its free height of {travel_mm} mm"
    )]
    Deflection {
        /// what was asked (mm)
        found: f64,
        /// free height (mm)
        travel_mm: f64,
    },
}

/// One spring, ready to be pressed.
#[derive(Debug, Clone)]
pub struct Model {
    /// one arm
    pub chain: Chain,
    pub(super) arms: f64,
    pub(super) plates: Plates,
    tilt: Option<[f64; 2]>,
    pub(super) sheet: SheetProperties,
    in_plane: bool,
    factors: Vec<StressFactors>,
    /// arc length from the outer root to every node of the arm (mm)
    arcs: Vec<f64>,
    pub(super) arm: ArmPath,
    pub(super) touch: Touch,
    law: SectionLaw,
    roots: Option<Yielding>,
    /// slopes of the sections, worked out when a gradient is first asked for
    section_slopes: OnceLock<Vec<SectionSlopes>>,
    /// slopes of the roots, likewise
    root_slopes: OnceLock<[RootSlopes; 2]>,
}

/// Compliance of both roots.
#[derive(Debug, Clone, Copy)]
struct Yielding {
    law: RootLaw,
    /// rim and hub
    clamped: [bool; 2],
    rim: Option<RestingRim>,
}

impl Yielding {
    fn compliance(&self, root: &Section, outer: bool) -> RootCompliance {
        let mut compliance = RootCompliance::wedge(self.law, root, self.clamped[usize::from(!outer)]);
        if let Some(rim) = self.rim.as_ref().filter(|_| outer) {
            compliance.rest(rim, root);
        }
        compliance
    }
}

/// Gap below which a node counts as touching in the seated share, over the free height. Arms that close smoothly touch at
/// single nodes that move along them and lie within a thousandth of the height behind these.
pub const TOUCHING: f64 = 0.002;

impl Model {
    /// The model of a spring.
    pub fn of(spring: &Spring, settings: &ModelSettings) -> Result<Self, ModelError> {
        let arm = spring.arm(settings.segments)?;
        Ok(Self::of_arm(spring, &arm, settings))
    }

    /// The model of a spring whose arm's nodes are already placed.
    pub fn of_arm(spring: &Spring, arm: &ArmPath, settings: &ModelSettings) -> Self {
        let sheet = &spring.sheet;
        let rim = (spring.seat.rim == Rim::Resting).then_some(RestingRim {
            youngs_modulus: sheet.youngs_modulus,
            thickness: sheet.thickness,
            outer_radius: spring.disc.outer_radius,
            inner_radius: spring.disc.slot_outer_radius + 0.5 * spring.slot,
            arms: spring.arms,
            support: settings.roots.support,
            factor: settings.roots.rim_factor(),
        });
        let clamped =
            [spring.disc.rim_clamp_radius.is_some() || rim.is_some(), spring.disc.hub_clamp_radius.is_some()];
        let roots = (spring.roots == Roots::Disc).then_some(Yielding { law: settings.roots, clamped, rim });
        let upper = spring.seat.pressing == Pressing::Plates;
        let touch = match (upper, roots) {
            (true, _) => Touch::Plates,
            (false, None) => Touch::Clamps,
            (false, Some(_)) => Touch::Rings,
        };
        // what a root restrains is part of its fitted lengths
        let law =
            SectionLaw { free_ends: settings.sections.free_ends || roots.is_some(), ..settings.sections };
        let chain = Chain::new(arm, sheet, law, touch, |outer, inner| Ends {
            outer: roots.map(|roots| roots.compliance(outer, true)),
            inner: roots.map(|roots| roots.compliance(inner, false)),
            lifts: rim.is_some_and(|rim| rim.support == RimSupport::Loose),
        });
        let tilt = (spring.seat.hub == HubGuide::Tilting && spring.arms == 1)
            .then(|| chain.position[chain.position.len() - 1]);
        let plates = Plates::new(&chain, upper);
        let factors = chain
            .sections
            .iter()
            .map(|section| StressFactors::of(section, sheet.shear_modulus, sheet.thickness))
            .collect();
        let (arms, in_plane) = (spring.arms as f64, settings.in_plane);
        Self {
            arcs: chain.arcs(),
            chain,
            arms,
            plates,
            tilt,
            sheet: sheet.clone(),
            in_plane,
            factors,
            arm: arm.clone(),
            touch,
            law,
            roots,
            section_slopes: OnceLock::new(),
            root_slopes: OnceLock::new(),
        }
    }

    /// Travel to flat (mm).
    pub fn travel(&self) -> f64 {
        self.plates.travel
    }

    /// Rate of the flat disc at small deflection, no arm touched (N/mm).
    pub fn linear_rate(&self) -> f64 {
        // a rim that rests does so half-way between two arms
        let held = (self.chain.first == 2).then_some(1);
        let mut free = Equilibrium::new(&self.chain, &self.plates, None, self.tilt);
        free.untouched(held).map_or(f64::NAN, |snapshot| self.arms * snapshot.force.slope)
    }

    /// The curve at `deflections` (mm, increasing, from 0 to the free height).
    pub fn response(&self, deflections: &[f64]) -> Result<Response, ModelError> {
        let mut response = Response::default();
        self.at_each(deflections, |snapshot| self.add_point(&mut response, snapshot))?;
        Ok(response)
    }

    /// The forces (N) at `deflections` (mm, increasing, from 0 to the free height), alone.
    pub fn forces(&self, deflections: &[f64]) -> Result<Vec<f64>, ModelError> {
        let mut equilibrium = self.equilibrium(deflections)?;
        deflections.iter().map(|x| self.sound(self.arms * equilibrium.force_at(*x))).collect()
    }

    /// Contacts of the nodes at `deflections` (mm, increasing, from 0 to the free height).
    pub fn contacts(&self, deflections: &[f64]) -> Result<Vec<Vec<Contact>>, ModelError> {
        let mut contacts = Vec::with_capacity(deflections.len());
        self.at_each(deflections, |snapshot| contacts.push(snapshot.contacts.to_vec()))?;
        Ok(contacts)
    }

    /// As [`forces`](Self::forces); `expected` are the [`contacts`](Self::contacts) of a spring that hardly differs at the same
    /// deflections, tried first.
    pub fn forces_near(
        &self,
        deflections: &[f64],
        expected: &[Vec<Contact>],
    ) -> Result<Vec<f64>, ModelError> {
        let mut equilibrium = self.equilibrium(deflections)?;
        let mut force = |(x, expected): (&f64, &Vec<Contact>)| {
            self.sound(self.arms * equilibrium.force_near(*x, expected))
        };
        deflections.iter().zip(expected).map(&mut force).collect()
    }

    /// The force if it is finite, else the error of a singular stiffness matrix.
    fn sound(&self, force: f64) -> Result<f64, ModelError> {
        if force.is_finite() { Ok(force) } else { Err(self.singular("out of its plane")) }
    }

    /// Slopes of the sections between the nodes, two a piece, and of those at the roots of rim and hub.
    pub(super) fn section_slopes(&self) -> &[SectionSlopes] {
        self.section_slopes.get_or_init(|| {
            let sections = &self.chain.sections;
            let slopes = |section: &Section| SectionSlopes::of(section, &self.sheet, self.law);
            let between = self.chain.pieces.iter().flat_map(|piece| &piece.sections).map(|section| {
                slopes(section).restrained(section.restraint(&self.arm, &self.sheet, self.law))
            });
            between.chain([&sections[0], &sections[sections.len() - 1]].map(slopes)).collect()
        })
    }

    /// Adds the slopes over section `k` of piece `i` to those over the nodes and the sheet.
    pub(super) fn spread(&self, own: &SectionGradient, i: usize, k: usize, gradient: &mut NodeGradient) {
        let (section, length) = (&self.chain.pieces[i].sections[k], self.chain.pieces[i].lengths[k]);
        let place = Between { node: i, share: TWO_POINT[k], length };
        let slopes = &self.section_slopes()[2 * i + k];
        spread(own, section, slopes, place, &self.arm, &self.sheet, gradient);
    }

    /// The in-plane part of the model; none where it does not count.
    fn plane(&self) -> Result<Option<PlaneFrame>, ModelError> {
        if !self.in_plane {
            return Ok(None);
        }
        PlaneFrame::new(&self.chain).map(Some).ok_or_else(|| self.singular("in its plane"))
    }

    /// Whether the hub may tilt.
    pub(super) fn tilts(&self) -> bool {
        self.tilt.is_some()
    }

    /// Slopes of the compliances of the roots at rim and hub.
    pub(super) fn root_slopes(&self) -> &[RootSlopes; 2] {
        self.root_slopes.get_or_init(|| {
            let sections = &self.chain.sections;
            let slopes = |root: &Section, outer: bool| {
                self.roots.map_or_else(RootSlopes::default, |roots| {
                    let rim = roots.rim.as_ref().filter(|_| outer);
                    RootSlopes::of(roots.law, root, roots.clamped[usize::from(!outer)], rim)
                })
            };
            [slopes(&sections[0], true), slopes(&sections[sections.len() - 1], false)]
        })
    }

    /// Adds what a snapshot shows to a response.
    pub(super) fn add_point(&self, response: &mut Response, snapshot: &Snapshot) {
        response.deflection.push(snapshot.deflection);
        response.force.push(self.arms * snapshot.force.value);
        response.rate.push(self.arms * snapshot.force.slope);
        response.seated_share.push(self.seated_share(snapshot));
        let (place, peak) = self.peak_stress(snapshot);
        response.peak_stress.push(peak);
        response.peak_station.push(place / self.length());
        response.not_converged += usize::from(!snapshot.converged);
    }

    /// The states of one arm at `deflections` (mm, increasing).
    pub fn states(&self, deflections: &[f64]) -> Result<Vec<ArmState>, ModelError> {
        let mut states = Vec::with_capacity(deflections.len());
        self.at_each(deflections, |snapshot| states.push(self.arm_state(snapshot)))?;
        Ok(states)
    }

    /// Shows one arm at each of `deflections` (mm, increasing, from 0 to the free height).
    pub fn at_each(&self, deflections: &[f64], mut show: impl FnMut(&Snapshot)) -> Result<(), ModelError> {
        let mut equilibrium = self.equilibrium(deflections)?;
        for &deflection in deflections {
            let snapshot = equilibrium.reach(deflection);
            if !(snapshot.force.value.is_finite() && snapshot.force.slope.is_finite()) {
                return Err(self.singular("out of its plane"));
            }
            show(&snapshot);
        }
        Ok(())
    }

    /// The free arm, about to be pressed to `deflections`.
    fn equilibrium(&self, deflections: &[f64]) -> Result<Equilibrium<'_>, ModelError> {
        self.check(deflections)?;
        let regular = |k: f64| k.is_finite() && k > 0.0;
        let elements = &self.chain.elements;
        if !elements.iter().all(|element| (0..3).all(|k| regular(element.stiffness[(k, k)]))) {
            return Err(self.singular("out of its plane"));
        }
        Ok(Equilibrium::new(&self.chain, &self.plates, self.plane()?, self.tilt))
    }

    /// Moments and forces in the sections at the arm's nodes: the mean of the two pieces that meet there, between which a plate
    /// may act.
    fn loads(&self, snapshot: &Snapshot) -> impl Iterator<Item = SectionLoads> {
        let chain = &self.chain;
        let count = chain.pieces.len();
        let mut before: Option<Vector3<f64>> = None;
        (0..=count).map(move |i| {
            let node = chain.first + i;
            let after = (i < count)
                .then(|| chain.elements[node].forces(&snapshot.state[node], &snapshot.state[node + 1]));
            let carried = match (before, after) {
                (Some(before), Some([after, _])) => 0.5 * (before - after),
                (Some(only), None) => only,
                (None, Some([only, _])) => -only,
                (None, None) => Vector3::zeros(),
            };
            before = after.map(|[_, end]| end);
            let section = &chain.sections[i];
            with_plane(SectionLoads::carried(section, &carried), section, snapshot.redundant)
        })
    }

    /// Largest surface von Mises stress on the arm (MPa) and the arc length at which it is (mm).
    fn peak_stress(&self, snapshot: &Snapshot) -> (f64, f64) {
        let mut peak = (0.0, 0.0);
        for (i, loads) in self.loads(snapshot).enumerate() {
            let square = self.factors[i].square_at_edge(&loads);
            if square > peak.1 {
                peak = (self.arcs[i], square);
            }
        }
        (peak.0, peak.1.sqrt())
    }

    pub(super) fn arm_state(&self, snapshot: &Snapshot) -> ArmState {
        let first = self.chain.first;
        let nodes = first..=first + self.chain.pieces.len();
        let state = &snapshot.state[nodes.clone()];
        let hub = snapshot.state[snapshot.state.len() - 1];
        let loads: Vec<SectionLoads> = self.loads(snapshot).collect();
        let (shift, hub_turn) = snapshot.plane.map_or_else(
            || (vec![[0.0; 2]; state.len()], 0.0),
            |plane| plane.motions(&self.chain, snapshot.state, snapshot.redundant),
        );
        ArmState {
            deflection: snapshot.deflection,
            force: self.arms * snapshot.force.value,
            height: nodes
                .clone()
                .map(|node| self.plates.free_height[node] + snapshot.state[node][0])
                .collect(),
            touching_height: nodes
                .clone()
                .map(|node| self.plates.height(node, &snapshot.state[node]))
                .collect(),
            shift,
            rotation: state.iter().map(|state| [state[1], state[2]]).collect(),
            contact: snapshot.contacts[nodes].to_vec(),
            seated_share: self.seated_share(snapshot),
            stress: self.factors.iter().zip(&loads).map(|(factors, loads)| factors.stress(loads)).collect(),
            loads,
            hub_turn,
            hub_tilt: if self.tilts() { hub[1].hypot(hub[2]) } else { 0.0 },
            converged: snapshot.converged,
        }
    }

    /// Length of the arm (mm).
    fn length(&self) -> f64 {
        self.arcs.last().copied().unwrap_or(0.0)
    }

    fn singular(&self, place: &'static str) -> ModelError {
        ModelError::Singular { place, length_mm: self.length(), thickness_mm: self.sheet.thickness }
    }

    fn check(&self, deflections: &[f64]) -> Result<(), ModelError> {
        let travel = self.plates.travel;
        let mut before = 0.0;
        for &x in deflections {
            if !(x >= before && x <= travel) {
                return Err(ModelError::Deflection { found: x, travel_mm: travel });
            }
            before = x;
        }
        Ok(())
    }

    /// Share of the arm's length that touches a plate within [`TOUCHING`]: every node stands for half of the pieces beside it.
    fn seated_share(&self, snapshot: &Snapshot) -> f64 {
        let first = self.chain.first;
        let near = TOUCHING * self.plates.travel;
        let hub = self.plates.travel - snapshot.deflection;
        // the outer end belongs to the rim, which lies on the base from the start: it goes with its neighbour
        let touches = |node: usize| {
            let node = node.max(first + 1);
            let height = self.plates.height(node, &snapshot.state[node]);
            snapshot.contacts[node] != Contact::None
                || height < near
                || (self.plates.upper && hub - height < near)
        };
        let pieces = self.chain.pieces.iter().enumerate();
        let seated = pieces.map(|(i, piece)| {
            let ends = [first + i, first + i + 1].into_iter().filter(|node| touches(*node)).count();
            0.5 * ends as f64 * piece.length
        });
        seated.fold(0.0, |sum, length| sum + length) / self.length()
    }
}
