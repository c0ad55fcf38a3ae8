//! Sensitivity of the peak stress to every node of the arm: one more solution with the tangent for every deflection.
//!
//! The stress σ of the segment where it peaks is a function of the state u and of the parameters p, and the state is an
//! equilibrium, `∂Π/∂u = 0` where nothing holds it. With the adjoint state λ (Haftka & Gürdal, Elements of Structural
//! Optimization, section 7.2)
//!
//! ```text
//! Π_uu λ = −∂σ/∂u,      dσ/dp = ∂σ/∂p + ∂/∂p (λ · ∂Π/∂u) + held heights as for the force
//! ```
//!
//! and the middle term is the force's own gradient with λ in the place of the state's slope over the deflection.
//! In-plane the load of σ strains the one segment alone, as a misfit would.

use nalgebra::{Matrix2, Vector2, Vector3};

use super::arm_state::Snapshot;
use super::condensation::Contact;
use super::element::Deviation;
use super::in_plane::NodeState;
use super::plane_frame::PlaneFrame;
use super::predictor::{Model, ModelError};
use super::section::{face_shear_per_twist, inner_edge_factor};
use super::sensitivity::{NodeGradient, SegmentGradient, gradient_with};
use super::stress::SURFACE_MARGIN;
use super::tangent::Tangent;

/// Rounds of solving: each recovers the digits that the last one lost to short pieces.
const ROUNDS: usize = 3;
/// Relative step of the difference quotients of the section's stress factors, which are tables and series.
const STEP: f64 = 1e-5;

/// The adjoint of the peak stress, with its buffers.
#[derive(Debug)]
pub(super) struct PeakStress<'a> {
    model: &'a Model,
    frame: Option<PlaneFrame>,
    tangent: Tangent,
    border: Vec<Vector2<f64>>,
    /// slope z′ of every piece and the geometric part of its stiffness (N/mm)
    climb: Vec<f64>,
    geometric: Vec<f64>,
    load: Vec<Deviation>,
    adjoint: Vec<Deviation>,
    column: Vec<Deviation>,
    slope: Vec<NodeState>,
    reaction: Vec<f64>,
}

/// The peak stress with its slopes over its segment's strains: twist, slope, along, turning.
struct Peak {
    segment: usize,
    stress: f64,
    by_strain: [f64; 4],
    strain: [f64; 4],
    explicit: SegmentGradient,
}

impl<'a> PeakStress<'a> {
    pub fn new(model: &'a Model) -> Result<Self, ModelError> {
        let nodes = model.chain.elements.len() + 1;
        let frame = model.plane()?;
        // without the plane the border is empty and any flexibility does
        let flexibility = frame.as_ref().map_or_else(Matrix2::identity, |frame| frame.flexibility);
        Ok(Self {
            model,
            frame,
            tangent: Tangent::new(&model.chain, model.hub_modes(), flexibility),
            border: vec![Vector2::zeros(); nodes],
            climb: vec![0.0; model.chain.segments.len()],
            geometric: vec![0.0; model.chain.segments.len()],
            load: vec![Deviation::zeros(); nodes],
            adjoint: vec![Deviation::zeros(); nodes],
            column: vec![Deviation::zeros(); nodes],
            slope: vec![NodeState::zeros(); nodes],
            reaction: vec![0.0; nodes],
        })
    }

    /// Gradient of the stress at the segment where it peaks in a state: zero where there is no stress, none where the
    /// tangent is singular.
    pub fn gradient(&mut self, snapshot: &Snapshot) -> Option<NodeGradient> {
        let peak = self.peak(snapshot);
        if peak.stress == 0.0 {
            return Some(NodeGradient::default());
        }
        self.linearise(snapshot);
        let by_plane = Vector3::new(peak.by_strain[2], peak.by_strain[3], 0.0);
        let strain_by_hold = self.frame.as_ref().map(|frame| frame.strain_by_hold(peak.segment));
        // the force at the axis strains the segment
        let by_hold = strain_by_hold.map_or_else(Vector2::zeros, |by_hold| by_hold.transpose() * by_plane);
        self.set_load(&peak, by_hold);
        let last = self.load.len() - 1;
        self.adjoint.fill(Deviation::zeros());
        if !self.tangent.factorise(snapshot.contacts, &self.border, last) {
            return None;
        }
        for _ in 0..ROUNDS {
            self.products();
            for node in 1..=last {
                self.column[node] = -self.tangent.restrict(node, snapshot.contacts, self.column[node]);
            }
            self.tangent.solve(snapshot.contacts, &mut self.column);
            for node in 1..=last {
                self.adjoint[node] += self.column[node];
            }
        }
        self.products();
        let (mut hub, position) = (NodeState::zeros(), self.model.chain.position[last]);
        for node in 0..=last {
            self.slope[node] = NodeState::zeros();
            self.slope[node].fixed_rows_mut::<3>(0).copy_from(&self.adjoint[node]);
            let touches = node > 0 && node < last && snapshot.contacts[node] != Contact::None;
            self.reaction[node] = if touches { self.column[node][0] } else { 0.0 };
        }
        hub.fixed_rows_mut::<3>(0).copy_from(&self.column[last]);
        if let Some(frame) = &self.frame {
            let mut misfit = -by_hold;
            for (adjoint, border) in self.adjoint.iter().zip(&self.border) {
                misfit += adjoint[0] * border;
            }
            let hold = -(frame.stiffness * misfit);
            let first = self.model.chain.first;
            let stretch = |k: usize| {
                let rise = self.adjoint[first + k + 1][0] - self.adjoint[first + k][0];
                -self.climb[k] * rise / frame.pieces[k].length
            };
            let k = frame.pieces[peak.segment].stiffness();
            let given = Vector3::new(-by_plane[0] / k[0], -by_plane[1] / k[1], 0.0);
            let elements = &self.model.chain.elements;
            frame.recover(elements, hold, stretch, Some((peak.segment, given)), &mut self.slope);
            hub.fixed_rows_mut::<3>(3).copy_from(&PlaneFrame::hub_force(hold, position));
        }
        let adjoint = Snapshot {
            slope: &self.slope,
            reaction_slope: &self.reaction,
            hub_force_slope: hub,
            ..*snapshot
        };
        Some(gradient_with(self.model, &adjoint, Some((peak.segment, peak.explicit))))
    }

    /// Tangent and border in the state.
    fn linearise(&mut self, snapshot: &Snapshot) {
        self.geometric.fill(0.0);
        self.border.fill(Vector2::zeros());
        let first = self.model.chain.first;
        if let Some(frame) = &self.frame {
            let mut misfit = Vector2::zeros();
            for (k, (piece, reach)) in frame.pieces.iter().zip(&frame.reach).enumerate() {
                let node = first + k;
                let (climb, stretch) = piece.climb(snapshot.state[node + 1][0] - snapshot.state[node][0]);
                self.climb[k] = climb;
                misfit += stretch * reach;
                let by_height = reach * (climb / piece.length);
                self.border[node] += by_height;
                self.border[node + 1] -= by_height;
            }
            let hold = -(frame.stiffness * misfit);
            for (k, (piece, reach)) in frame.pieces.iter().zip(&frame.reach).enumerate() {
                self.geometric[k] = reach.dot(&hold) / (piece.length * piece.length);
            }
        }
        self.tangent.assemble(self.geometric.iter().copied());
    }

    /// ∂σ/∂u, the in-plane part through the force at the axis.
    fn set_load(&mut self, peak: &Peak, by_hold: Vector2<f64>) {
        let by_misfit = self.frame.as_ref().map_or_else(Vector2::zeros, |frame| frame.stiffness * by_hold);
        for (load, border) in self.load.iter_mut().zip(&self.border) {
            *load = Vector3::new(-border.dot(&by_misfit), 0.0, 0.0);
        }
        let node = self.model.chain.first + peak.segment;
        let element = &self.model.chain.elements[node];
        let (c, s) = (element.cosine, element.sine);
        let [by_twist, by_slope, ..] = peak.by_strain;
        let end = Vector3::new(0.0, by_twist * c + by_slope * s, by_twist * s - by_slope * c);
        self.load[node] -= end;
        self.load[node + 1] += end;
    }

    /// Tangent times the adjoint plus the load, from strains, into `column`.
    fn products(&mut self) {
        self.column.copy_from_slice(&self.load);
        for (i, element) in self.model.chain.elements.iter().enumerate() {
            let [a, b] = element.forces(&self.adjoint[i], &self.adjoint[i + 1]);
            self.column[i] += a;
            self.column[i + 1] += b;
        }
        let first = self.model.chain.first;
        for (k, geometric) in self.geometric.iter().enumerate() {
            let force = geometric * (self.adjoint[first + k + 1][0] - self.adjoint[first + k][0]);
            self.column[first + k][0] -= force;
            self.column[first + k + 1][0] += force;
        }
        if let Some(frame) = &self.frame {
            let misfit: Vector2<f64> =
                self.adjoint.iter().zip(&self.border).map(|(adjoint, border)| adjoint[0] * border).sum();
            let hold = frame.stiffness * misfit;
            for (column, border) in self.column.iter_mut().zip(&self.border) {
                column[0] += border.dot(&hold);
            }
        }
    }

    /// The peak and its derivatives over its own segment's numbers at fixed state.
    fn peak(&self, snapshot: &Snapshot) -> Peak {
        let (model, segment) = (self.model, self.model.peak_segment(snapshot));
        let node = model.chain.first + segment;
        let (a, b) = (&snapshot.state[node], &snapshot.state[node + 1]);
        let small = |state: &NodeState| state.fixed_rows::<3>(0).into_owned();
        let element = &model.chain.elements[node];
        let [twist, slope, _] = element.strains(&small(a), &small(b));
        let piece = snapshot.pieces.get(segment);
        let plane = piece.map(|piece| piece.strain(a, b));
        let [along, turning, _] = plane.map_or([0.0; 3], |strain| strain.misfit);
        let (section, factors) = (&model.chain.segments[segment], model.stress_factors(segment));
        let (l, w, t) = (section.length, section.width, model.sheet.thickness);
        let (e, g) = (model.sheet.youngs_modulus, model.sheet.shear_modulus);
        let by = [factors.edge * factors.shear / l, factors.bending / l, e / l, 0.5 * e * w / l];
        let strain = [twist, slope, along, turning];
        let shear = (by[0] * twist).abs();
        let direct: [f64; 3] = std::array::from_fn(|k| (by[k + 1] * strain[k + 1]).abs());
        let all: f64 = direct.iter().sum();
        let stress = (all * all + 3.0 * shear * shear).sqrt();
        let mut peak =
            Peak { segment, stress, by_strain: [0.0; 4], strain, explicit: SegmentGradient::default() };
        if stress == 0.0 {
            return peak;
        }
        let (by_shear, by_direct) = (3.0 * shear / stress, all / stress);
        for k in 0..4 {
            let part = if k == 0 { by_shear } else { by_direct };
            peak.by_strain[k] = part * by[k] * strain[k].signum();
        }
        peak.explicit =
            self.explicit(&peak, [by_shear * shear, by_direct * direct[0]], by_direct * direct[2]);
        // stress over E: the plane's by itself, bending through its stiffness
        peak.explicit.youngs_modulus = by_direct * (direct[1] + direct[2]) / e;
        peak.explicit.shear_modulus = by_shear * shear / g;
        peak.explicit.thickness += -2.0 * by_direct * direct[0] / t;
        if let (Some(piece), Some(strain)) = (piece, plane) {
            let (c, s) = (piece.cosine, piece.sine);
            let across = c * (b[4] - a[4]) - s * (b[3] - a[3]);
            let [.., by_along, by_turn] = peak.by_strain;
            // as in the energy: e falls as 2e/ℓ
            peak.explicit.length += (by_along - by_turn * piece.curvature) * strain.stretch;
            peak.explicit.heading += by_along * across;
            peak.explicit.curvature += by_turn * l * strain.stretch;
            let by_stretch = l * (by_turn * piece.curvature - by_along);
            peak.explicit.rise += by_stretch * (piece.free_slope - strain.slope) / l;
        }
        peak
    }

    /// Of the section: `shares` are the parts of the stress that shear and bending make, `edge` the part in-plane bending.
    fn explicit(&self, peak: &Peak, shares: [f64; 2], edge: f64) -> SegmentGradient {
        let section = &self.model.chain.segments[peak.segment];
        let (w, t, l) = (section.width, self.model.sheet.thickness, section.length);
        let (radial, radius) = (section.radial_width, section.radius);
        let quotient = |at: f64, f: &dyn Fn(f64) -> f64| {
            (f(at * (1.0 + STEP)) - f(at * (1.0 - STEP))) / (2.0 * STEP * at * f(at))
        };
        let [shear, bending] = shares;
        let [by_twist, by_slope, ..] = peak.by_strain;
        SegmentGradient {
            length: -peak.stress / l,
            // turning the chord: τ′ = −φ, φ′ = τ
            heading: by_slope * peak.strain[0] - by_twist * peak.strain[1],
            bending: bending / section.bending,
            width: shear * quotient(w, &|w| SURFACE_MARGIN * face_shear_per_twist(w, t))
                + (edge - bending) / w,
            radial_width: shear * quotient(radial, &|radial| inner_edge_factor(radial, t, radius)),
            radius: shear * quotient(radius, &|radius| inner_edge_factor(radial, t, radius)),
            thickness: shear
                * (quotient(t, &|t| face_shear_per_twist(w, t))
                    + quotient(t, &|t| inner_edge_factor(radial, t, radius))),
            ..SegmentGradient::default()
        }
    }
}
