//! State of one arm at one deflection.

use nalgebra::Vector2;

use super::contact::Contact;
use super::element::Deviation;
use super::plane_frame::PlaneFrame;
use super::stress::{SectionLoads, SurfaceStress};

/// A quantity with its slope over the deflection.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Affine {
    /// value at the current deflection
    pub value: f64,
    /// slope per mm of deflection
    pub slope: f64,
}

/// One arm at one deflection, as the solver left it.
#[derive(Debug)]
pub struct Snapshot<'a> {
    /// deflection (mm)
    pub deflection: f64,
    /// force of one arm with its slope (N, N/mm)
    pub force: Affine,
    /// states of all nodes of the chain
    pub state: &'a [Deviation],
    /// their slopes per mm of deflection
    pub slope: &'a [Deviation],
    /// contacts of the nodes
    pub contacts: &'a [Contact],
    /// the arm in its plane; none in small slopes
    pub plane: Option<&'a PlaneFrame>,
    /// force by which the axis holds the hub (N)
    pub redundant: Vector2<f64>,
    /// its slope per mm of deflection (N/mm)
    pub redundant_slope: Vector2<f64>,
    /// force of the plates on every node (N)
    pub reaction: &'a [f64],
    /// its slope per mm of deflection (N/mm)
    pub reaction_slope: &'a [f64],
    /// force on the hub's node, upwards (N), with its slope (N/mm)
    pub hub_force: Affine,
    /// whether the state is a stable equilibrium: forces balance, nothing penetrates or pulls
    pub converged: bool,
}

/// Copy of a snapshot, for after the solver has gone on.
#[derive(Debug, Clone)]
pub(super) struct Kept {
    deflection: f64,
    force: Affine,
    state: Vec<Deviation>,
    slope: Vec<Deviation>,
    contacts: Vec<Contact>,
    redundant: Vector2<f64>,
    redundant_slope: Vector2<f64>,
    reaction: Vec<f64>,
    reaction_slope: Vec<f64>,
    hub_force: Affine,
    converged: bool,
}

impl Kept {
    /// Copy of `shown`.
    pub fn of(shown: &Snapshot) -> Self {
        Self {
            deflection: shown.deflection,
            force: shown.force,
            state: shown.state.to_vec(),
            slope: shown.slope.to_vec(),
            contacts: shown.contacts.to_vec(),
            redundant: shown.redundant,
            redundant_slope: shown.redundant_slope,
            reaction: shown.reaction.to_vec(),
            reaction_slope: shown.reaction_slope.to_vec(),
            hub_force: shown.hub_force,
            converged: shown.converged,
        }
    }

    /// Force of one arm (N).
    pub fn force(&self) -> f64 {
        self.force.value
    }

    /// The snapshot again, of an arm with this in-plane part.
    pub fn shown<'a>(&'a self, plane: Option<&'a PlaneFrame>) -> Snapshot<'a> {
        Snapshot {
            deflection: self.deflection,
            force: self.force,
            state: &self.state,
            slope: &self.slope,
            contacts: &self.contacts,
            plane,
            redundant: self.redundant,
            redundant_slope: self.redundant_slope,
            reaction: &self.reaction,
            reaction_slope: &self.reaction_slope,
            hub_force: self.hub_force,
            converged: self.converged,
        }
    }
}

/// One arm at one deflection, at its own nodes.
#[derive(Debug, Clone, PartialEq)]
pub struct ArmState {
    /// deflection (mm)
    pub deflection: f64,
    /// force of the whole spring (N)
    pub force: f64,
    /// height of every node above its flat place (mm)
    pub height: Vec<f64>,
    /// height there of the line that touches a plate, which is not the centre line (mm)
    pub touching_height: Vec<f64>,
    /// in-plane displacement of every node, in the axes of the arm's angles (mm); zero without in-plane stiffness
    pub shift: Vec<[f64; 2]>,
    /// rotation of every node's section from its free one: ωx, ωy (rad)
    pub rotation: Vec<[f64; 2]>,
    /// contact of every node
    pub contact: Vec<Contact>,
    /// arc length that touches a plate, within the seating tolerance, over arm length (0 to 1)
    pub seated_share: f64,
    /// moments and forces in the section at every node
    pub loads: Vec<SectionLoads>,
    /// surface stress at every node (MPa)
    pub stress: Vec<SurfaceStress>,
    /// turn of the hub about the axis (rad); 0 without in-plane stiffness
    pub hub_turn: f64,
    /// tilt of the hub (rad); 0 for a guided one
    pub hub_tilt: f64,
    /// whether the state is in equilibrium
    pub converged: bool,
}
