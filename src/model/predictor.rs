//! The predictor: a spring in, its force-deflection curve out.

use std::sync::OnceLock;

use super::arm_state::{ArmState, Snapshot, SnapshotBuffer};
use super::chain::{Chain, SectionLaw, Segment};
use super::condensation::{Affine, Condensation, Contact, Motion};
use super::in_plane::NodeState;
use super::loose_rim::{RestingRim, RimSupport};
use super::plane_frame::PlaneFrame;
use super::root::{RootCompliance, RootLaw, RootSlopes};
use super::seating::{Path, Plates, Seating, SeatingError};
use super::second_order::{SecondOrder, hub_modes};
use super::sensitivity::{self, Direction, SectionSlopes};
use super::stops::{Rest, Stops};
use super::stress::{StressFactors, SurfaceStress};
use super::stress_sensitivity::PeakStress;
use nalgebra::Matrix3;

use crate::layout::{ArmPath, LayoutError, SheetProperties, Spring};
use crate::response::Response;
use crate::spec::{HubGuide, Pressing, Rim, Roots};

/// Settings of the segment model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ModelSettings {
    /// segments of one arm; 300 when left alone
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
        Self { segments: 300, sections: SectionLaw::default(), in_plane: true, roots: RootLaw::default() }
    }
}

/// Errors of a prediction.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ModelError {
    /// Invalid geometry.
    #[error(transparent)]
    Layout(#[from] LayoutError),
    /// The contacts could not be followed.
    #[error(transparent)]
    Seating(#[from] SeatingError),
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
    arms: f64,
    pub(super) plates: Plates,
    tilt: Option<[f64; 2]>,
    pub(super) sheet: SheetProperties,
    in_plane: bool,
    factors: Vec<StressFactors>,
    pub(super) arm: ArmPath,
    pub(super) law: SectionLaw,
    roots: Option<Yielding>,
    /// worked out when a gradient is first asked for
    section_slopes: OnceLock<Vec<SectionSlopes>>,
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
    fn compliance(&self, root: &Segment, outer: bool) -> RootCompliance {
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
        let mut chain = Chain::new(
            arm,
            sheet,
            settings.sections,
            |root| roots.map(|roots| roots.compliance(root, true)),
            |root| roots.map(|roots| roots.compliance(root, false)),
            rim.is_some_and(|rim| rim.support == RimSupport::Loose),
        );
        let tilt = (spring.seat.hub == HubGuide::Tilting && spring.arms == 1)
            .then(|| chain.position[chain.position.len() - 1]);
        let upper = spring.seat.pressing == Pressing::Plates;
        if upper {
            // a section between plates would need contact at either edge: both plates touch its centre line
            chain.line.fill([0.0; 2]);
        }
        let plates = Plates::new(&chain, upper);
        let factors = chain
            .segments
            .iter()
            .map(|segment| StressFactors::of(segment, sheet.shear_modulus, sheet.thickness))
            .collect();
        let (arms, in_plane) = (spring.arms as f64, settings.in_plane);
        Self {
            chain,
            arms,
            plates,
            tilt,
            sheet: sheet.clone(),
            in_plane,
            factors,
            arm: arm.clone(),
            law: settings.sections,
            roots,
            section_slopes: OnceLock::new(),
        }
    }

    /// Travel to flat (mm).
    pub fn travel(&self) -> f64 {
        self.plates.travel
    }

    /// Rate of the flat disc at small deflection, no arm touched (N/mm).
    pub fn linear_rate(&self) -> f64 {
        let mut tree = self.condensation();
        if self.chain.first == 2 {
            // a rim that rests does so half-way between two arms
            tree.set_contact(1, Contact::Base);
        }
        self.arms * tree.hub(0.0).1.slope
    }

    /// The curve at `deflections` (mm, increasing, from 0 to the free height).
    pub fn response(&self, deflections: &[f64]) -> Result<Response, ModelError> {
        let mut response = Response::default();
        let length = self.chain.length();
        self.at_each(deflections, |snapshot| self.add_point(&mut response, snapshot, length))?;
        Ok(response)
    }

    /// The curve at `deflections`, and for each of them the slopes of the spring's force along `directions` (N per unit of
    /// each parameter; one row a deflection).
    pub fn response_and_gradient(
        &self,
        deflections: &[f64],
        directions: &[Direction],
    ) -> Result<(Response, Vec<Vec<f64>>), ModelError> {
        let mut rows = Vec::with_capacity(deflections.len());
        let mut response = Response::default();
        let length = self.chain.length();
        self.at_each(deflections, |snapshot| {
            self.add_point(&mut response, snapshot, length);
            let gradient = sensitivity::force_gradient(self, snapshot);
            rows.push(directions.iter().map(|direction| self.arms * gradient.along(direction)).collect());
        })?;
        Ok((response, rows))
    }

    /// The curve at `deflections`, and for each of them the slopes of the peak stress along `directions` (MPa per unit of
    /// each parameter; one row a deflection). The slopes are those of the stress at the place where it peaks: where the
    /// peak changes its place, or a contact its node, the true slope has a step. The largest stress over a travel has
    /// the slopes of the deflection at which it occurs. The search does not use them (its estimate of the stress when
    /// flat costs nothing); they are for shaping a spring against its stress at other deflections.
    pub fn response_and_stress_gradient(
        &self,
        deflections: &[f64],
        directions: &[Direction],
    ) -> Result<(Response, Vec<Vec<f64>>), ModelError> {
        let mut rows = Vec::with_capacity(deflections.len());
        let mut response = Response::default();
        let length = self.chain.length();
        let mut peak = PeakStress::new(self)?;
        let mut singular = false;
        self.at_each(deflections, |snapshot| {
            self.add_point(&mut response, snapshot, length);
            match peak.gradient(snapshot) {
                Some(gradient) => {
                    rows.push(directions.iter().map(|direction| gradient.along(direction)).collect());
                }
                None => singular = true,
            }
        })?;
        if singular { Err(self.singular("out of its plane")) } else { Ok((response, rows)) }
    }

    /// Slopes of every segment's section.
    pub(super) fn section_slopes(&self) -> &[SectionSlopes] {
        self.section_slopes.get_or_init(|| {
            self.chain
                .segments
                .iter()
                .map(|segment| SectionSlopes::of(segment, &self.sheet, self.law))
                .collect()
        })
    }

    /// The in-plane part of the model; none where it does not count.
    pub(super) fn plane(&self) -> Result<Option<PlaneFrame>, ModelError> {
        if !self.in_plane {
            return Ok(None);
        }
        let frame = PlaneFrame::new(&self.chain, self.sheet.youngs_modulus, self.sheet.thickness);
        frame.map(Some).ok_or_else(|| self.singular("in its plane"))
    }

    /// Degrees of freedom of the hub's node: columns 1 and 2 tilt about x and y.
    pub(super) fn hub_modes(&self) -> Matrix3<f64> {
        hub_modes(self.tilt)
    }

    /// Factors from the strains of segment `i` to its surface stresses.
    pub(super) fn stress_factors(&self, i: usize) -> &StressFactors {
        &self.factors[i]
    }

    /// Whether the hub may tilt.
    pub(super) fn tilts(&self) -> bool {
        self.tilt.is_some()
    }

    /// Slopes of the compliances of the outer or inner root.
    pub(super) fn root_slopes(&self, root: &Segment, outer: bool) -> RootSlopes {
        self.roots.map_or_else(RootSlopes::default, |roots| {
            let rim = roots.rim.as_ref().filter(|_| outer);
            RootSlopes::of(roots.law, root, roots.clamped[usize::from(!outer)], rim)
        })
    }

    fn add_point(&self, response: &mut Response, snapshot: &Snapshot, length: f64) {
        response.deflection.push(snapshot.deflection);
        response.force.push(self.arms * snapshot.force.value);
        response.rate.push(self.arms * snapshot.force.slope);
        response.seated_share.push(self.seated(snapshot) / length);
        let (place, peak) = self.peak_stress(snapshot);
        response.peak_stress.push(peak);
        response.peak_station.push(place / length);
        response.not_converged += usize::from(!snapshot.converged);
    }

    /// The exact piecewise-linear curve of the linear path up to `deflection` (mm), for one arm.
    pub fn path(&self, deflection: f64) -> Result<Path, ModelError> {
        self.check(&[deflection])?;
        let mut tree = self.condensation();
        Seating::new(&mut tree, &self.plates)
            .follow(&[deflection], |_| ())
            .map_err(|error| self.failure(error))
    }

    /// The states of one arm at `deflections` (mm, increasing).
    pub fn states(&self, deflections: &[f64]) -> Result<Vec<ArmState>, ModelError> {
        let mut states = Vec::with_capacity(deflections.len());
        self.at_each(deflections, |snapshot| states.push(self.arm_state(snapshot)))?;
        Ok(states)
    }

    /// Shows one arm at each of `deflections` (mm, increasing, from 0 to the free height). The path returned is that of
    /// the small-slope model; with in-plane stiffness there is none, and it is empty. Where no path is needed, the
    /// calls above give the same answer in less time.
    pub fn sweep(&self, deflections: &[f64], mut show: impl FnMut(&Snapshot)) -> Result<Path, ModelError> {
        if self.in_plane {
            self.at_each(deflections, show)?;
            return Ok(Path::default());
        }
        self.check(deflections)?;
        let mut tree = self.condensation();
        let nodes = self.chain.elements.len() + 1;
        let mut motions = vec![Motion::default(); nodes];
        let mut reactions = vec![Affine::default(); nodes];
        let mut buffer = SnapshotBuffer::new(nodes);
        let followed = Seating::new(&mut tree, &self.plates).follow(deflections, |stop| {
            stop.tree.recover(stop.deflection, &mut motions);
            stop.tree.reactions(stop.deflection, &motions, &mut reactions);
            let rest = Rest {
                deflection: stop.deflection,
                force: stop.force,
                motions: &motions,
                reactions: &reactions,
                contacts: stop.tree.contacts(),
            };
            show(&buffer.snapshot(self, &rest));
        });
        followed.map_err(|error| self.failure(error))
    }

    /// Shows one arm at each of `deflections`, by the fastest method that applies.
    fn at_each(&self, deflections: &[f64], mut show: impl FnMut(&Snapshot)) -> Result<(), ModelError> {
        self.check(deflections)?;
        let stiff = |k: &f64| k.is_finite() && *k > 0.0;
        if !self.chain.elements.iter().all(|element| element.stiffness.iter().all(stiff)) {
            return Err(self.singular("out of its plane"));
        }
        if self.in_plane {
            let (e, t) = (self.sheet.youngs_modulus, self.sheet.thickness);
            let mut second = SecondOrder::new(&self.chain, &self.plates, e, t, self.tilt)
                .ok_or_else(|| self.singular("in its plane"))?;
            let pieces = second.frame.pieces.clone();
            for &deflection in deflections {
                let state = second.reach(deflection);
                if !(state.force.value.is_finite() && state.force.slope.is_finite()) {
                    return Err(self.singular("out of its plane"));
                }
                show(&Snapshot {
                    deflection,
                    force: state.force,
                    state: state.states,
                    slope: state.slopes,
                    contacts: state.contacts,
                    pieces: &pieces,
                    reaction: state.reaction,
                    reaction_slope: state.reaction_slope,
                    hub_force: state.hub_force,
                    hub_force_slope: state.hub_force_slope,
                    converged: state.converged,
                });
            }
            return Ok(());
        }
        let mut tree = self.condensation();
        if !stiff(&tree.hub(0.0).1.slope) {
            return Err(self.singular("out of its plane"));
        }
        let mut buffer = SnapshotBuffer::new(self.chain.elements.len() + 1);
        Stops::new(&mut tree, &self.plates)
            .visit(deflections, |rest| show(&buffer.snapshot(self, rest)))
            .map_err(|error| self.failure(error))
    }

    fn condensation(&self) -> Condensation {
        Condensation::new(&self.chain, self.tilt)
    }

    /// Surface stress of segment `i` in a state.
    fn segment_stress(&self, snapshot: &Snapshot, i: usize) -> SurfaceStress {
        let node = self.chain.first + i;
        let (a, b) = (&snapshot.state[node], &snapshot.state[node + 1]);
        let d = |state: &NodeState| state.fixed_rows::<3>(0).into_owned();
        let [twist, slope, _] = self.chain.elements[node].strains(&d(a), &d(b));
        self.factors[i].stress(&self.chain.segments[i], twist, slope, self.plane_stress(snapshot, i))
    }

    /// Axial stress and in-plane bending stress of segment `i` in a state, signed (MPa).
    fn plane_stress(&self, snapshot: &Snapshot, i: usize) -> [f64; 2] {
        let node = self.chain.first + i;
        let segment = &self.chain.segments[i];
        snapshot.pieces.get(i).map_or([0.0; 2], |piece| {
            let misfit = piece.misfit(&snapshot.state[node], &snapshot.state[node + 1]);
            let modulus = self.sheet.youngs_modulus / segment.length;
            [modulus * misfit[0], modulus * 0.5 * segment.width * misfit[1]]
        })
    }

    /// The segment with the largest surface von Mises stress.
    pub(super) fn peak_segment(&self, snapshot: &Snapshot) -> usize {
        let mut peak = (0, 0.0);
        for i in 0..self.chain.segments.len() {
            let stress = self.segment_stress(snapshot, i).edge;
            if stress > peak.1 {
                peak = (i, stress);
            }
        }
        peak.0
    }

    /// Largest surface von Mises stress on the arm (MPa) and the arc length at which it is (mm).
    fn peak_stress(&self, snapshot: &Snapshot) -> (f64, f64) {
        let mut arc = 0.0;
        let mut peak = (0.0, 0.0);
        for (i, segment) in self.chain.segments.iter().enumerate() {
            let stress = self.segment_stress(snapshot, i).edge;
            if stress > peak.1 {
                peak = (arc + 0.5 * segment.length, stress);
            }
            arc += segment.length;
        }
        peak
    }

    pub(super) fn arm_state(&self, snapshot: &Snapshot) -> ArmState {
        let first = self.chain.first;
        let nodes = first..=first + self.chain.segments.len();
        let hub = snapshot.state[snapshot.state.len() - 1];
        let tilting = self.tilt.is_some();
        ArmState {
            deflection: snapshot.deflection,
            force: self.arms * snapshot.force.value,
            height: nodes
                .clone()
                .map(|node| self.plates.free_height[node] + snapshot.state[node][0])
                .collect(),
            touching_height: nodes
                .clone()
                .map(|node| self.plates.height(node, &snapshot.state[node].fixed_rows::<3>(0).into_owned()))
                .collect(),
            shift: nodes.clone().map(|node| [snapshot.state[node][3], snapshot.state[node][4]]).collect(),
            rotation: nodes.clone().map(|node| [snapshot.state[node][1], snapshot.state[node][2]]).collect(),
            contact: nodes.map(|node| snapshot.contacts[node]).collect(),
            seated_share: self.seated(snapshot) / self.chain.length(),
            stress: (0..self.chain.segments.len()).map(|i| self.segment_stress(snapshot, i)).collect(),
            plane_stress: (0..self.chain.segments.len()).map(|i| self.plane_stress(snapshot, i)).collect(),
            hub_turn: hub[5],
            hub_tilt: if tilting { hub[1].hypot(hub[2]) } else { 0.0 },
            converged: snapshot.converged,
        }
    }

    fn failure(&self, error: SeatingError) -> ModelError {
        match error {
            SeatingError::Singular { .. } => self.singular("out of its plane"),
            SeatingError::Lost { .. } => error.into(),
        }
    }

    fn singular(&self, place: &'static str) -> ModelError {
        ModelError::Singular { place, length_mm: self.chain.length(), thickness_mm: self.sheet.thickness }
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

    /// Arc length between nodes that both touch a plate within [`TOUCHING`] (mm).
    fn seated(&self, snapshot: &Snapshot) -> f64 {
        let first = self.chain.first;
        let near = TOUCHING * self.plates.travel;
        let hub = self.plates.travel - snapshot.deflection;
        // the arm's ends belong to rim and hub: the outer one lies on the base from the start
        let touches = |node: usize| {
            let deviation = snapshot.state[node].fixed_rows::<3>(0).into_owned();
            let height = self.plates.height(node, &deviation);
            node == first
                || snapshot.contacts[node] != Contact::None
                || height < near
                || (self.plates.upper && hub - height < near)
        };
        let segments = self.chain.segments.iter().enumerate();
        let seated = segments.filter(|(i, _)| touches(first + i) && touches(first + i + 1));
        seated.map(|(_, segment)| segment.length).fold(0.0, |sum, length| sum + length)
    }
}
