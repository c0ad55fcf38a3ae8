//! State of one arm at one deflection.

use super::condensation::{Affine, Contact};
use super::in_plane::{NodeState, PlanePiece};
use super::predictor::Model;
use super::stops::Rest;
use super::stress::SurfaceStress;

/// One arm at one deflection, as the solver left it.
#[derive(Debug)]
pub struct Snapshot<'a> {
    /// deflection (mm)
    pub deflection: f64,
    /// force of one arm with its slope (N, N/mm)
    pub force: Affine,
    /// states of all nodes of the chain
    pub state: &'a [NodeState],
    /// their slopes per mm of deflection
    pub slope: &'a [NodeState],
    /// contacts of the nodes
    pub contacts: &'a [Contact],
    /// the arm's pieces in-plane; none without in-plane stiffness
    pub pieces: &'a [PlanePiece],
    /// force of the plates on every node (N)
    pub reaction: &'a [f64],
    /// its slope per mm of deflection (N/mm)
    pub reaction_slope: &'a [f64],
    /// forces on the hub's node, with their slopes
    pub hub_force: NodeState,
    /// slopes of the forces on the hub's node
    pub hub_force_slope: NodeState,
    /// whether the state is in equilibrium
    pub converged: bool,
}

/// Room for what is shown of a state in small slopes.
#[derive(Debug)]
pub(super) struct SnapshotBuffer {
    state: Vec<NodeState>,
    slope: Vec<NodeState>,
    reaction: Vec<f64>,
    reaction_slope: Vec<f64>,
}

impl SnapshotBuffer {
    pub(super) fn new(nodes: usize) -> Self {
        Self {
            state: vec![NodeState::zeros(); nodes],
            slope: vec![NodeState::zeros(); nodes],
            reaction: vec![0.0; nodes],
            reaction_slope: vec![0.0; nodes],
        }
    }

    pub(super) fn snapshot<'a>(&'a mut self, model: &Model, rest: &Rest<'a>) -> Snapshot<'a> {
        for (node, motion) in rest.motions.iter().enumerate() {
            self.state[node].fixed_rows_mut::<3>(0).copy_from(&motion.value);
            self.slope[node].fixed_rows_mut::<3>(0).copy_from(&motion.slope);
            self.reaction[node] = rest.reactions[node].value;
            self.reaction_slope[node] = rest.reactions[node].slope;
        }
        let (mut hub_force, mut hub_force_slope) = (NodeState::zeros(), NodeState::zeros());
        let last = rest.motions.len() - 1;
        let (element, a, b) = (&model.chain.elements[last - 1], &rest.motions[last - 1], &rest.motions[last]);
        hub_force.fixed_rows_mut::<3>(0).copy_from(&element.forces(&a.value, &b.value)[1]);
        hub_force_slope.fixed_rows_mut::<3>(0).copy_from(&element.forces(&a.slope, &b.slope)[1]);
        Snapshot {
            deflection: rest.deflection,
            force: rest.force,
            state: &self.state,
            slope: &self.slope,
            contacts: rest.contacts,
            pieces: &[],
            reaction: &self.reaction,
            reaction_slope: &self.reaction_slope,
            hub_force,
            hub_force_slope,
            converged: true,
        }
    }
}

/// One arm at one deflection, at its own nodes and segments.
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
    /// surface stress of every segment (MPa)
    pub stress: Vec<SurfaceStress>,
    /// axial stress, above zero in tension, and in-plane bending stress at the edge, of every segment (MPa); zero
    /// without in-plane stiffness
    pub plane_stress: Vec<[f64; 2]>,
    /// turn of the hub about the axis (rad); 0 without in-plane stiffness
    pub hub_turn: f64,
    /// tilt of the hub (rad); 0 for a guided one
    pub hub_tilt: f64,
    /// whether the state is in equilibrium
    pub converged: bool,
}
