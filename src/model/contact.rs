//! Contact of the arm's nodes with the plates.

use nalgebra::{Matrix3, Vector3};

use super::chain::Chain;
use super::element::Deviation;

/// Contact of one node.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Contact {
    /// nothing
    #[default]
    None,
    /// the base
    Base,
    /// the upper plate
    Upper,
}

impl Contact {
    /// Motion of the node (mm, rad) for one of the touching `line` with the same rotations: columns are rise, ωx, ωy. A node without
    /// contact moves by itself.
    pub fn about(self, line: [f64; 2]) -> Matrix3<f64> {
        let [dx, dy] = if self == Self::None { [0.0; 2] } else { line };
        Matrix3::new(1.0, -dy, dx, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0)
    }
}

/// Rise of the touching line (mm) for the motion `d` of its node.
pub fn rise(line: [f64; 2], d: &Deviation) -> f64 {
    d[0] + d[1] * line[1] - d[2] * line[0]
}

/// Force and moments on the node (N, N·mm) of a unit force at the touching line.
pub fn row(line: [f64; 2]) -> Vector3<f64> {
    Vector3::new(1.0, line[1], -line[0])
}

/// Possible contacts of the nodes and the tolerances that decide them.
#[derive(Debug, Clone)]
pub struct Plates {
    /// free height of every node (mm)
    pub free_height: Vec<f64>,
    /// from the centre line of every node to where its section touches a plate (mm)
    pub line: Vec<[f64; 2]>,
    /// rise of the hub (mm)
    pub travel: f64,
    /// whether an upper plate moves with the hub
    pub upper: bool,
    /// gap below which a node counts as touching (mm)
    pub gap_tolerance: f64,
    /// force below which a touching node counts as leaving (N)
    pub force_tolerance: f64,
}

impl Plates {
    /// Plates for a chain.
    pub fn new(chain: &Chain, upper: bool) -> Self {
        let travel = chain.travel();
        // a contact force is a difference of terms as large as the stiffest piece moved by the whole travel
        let stiffest = chain
            .elements
            .iter()
            .filter(|element| !element.is_root())
            .map(|element| element.stiffness[(0, 0)])
            .fold(0.0, f64::max);
        Self {
            free_height: chain.free_height.clone(),
            line: chain.line.clone(),
            travel,
            upper,
            gap_tolerance: 1e-12 * travel,
            force_tolerance: 64.0 * f64::EPSILON * stiffest * travel,
        }
    }

    /// Height of the touching line above the base (mm).
    pub fn height(&self, node: usize, deviation: &Deviation) -> f64 {
        self.free_height[node] + self.rise(node, deviation)
    }

    /// Rise of the touching line for a motion of its node (mm).
    pub fn rise(&self, node: usize, motion: &Deviation) -> f64 {
        rise(self.line[node], motion)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_section_that_rolls_inwards_lowers_its_inner_edge() {
        // at angle 0 the inner edge is at x = −2 mm; a turn of −0.1 about y lowers it by 0.2 mm
        let (line, d) = ([-2.0, 0.0], Deviation::new(0.5, 0.0, -0.1));
        assert_relative_eq!(rise(line, &d), 0.3, max_relative = 1e-14);
    }

    #[test]
    fn work_of_a_force_at_the_line_is_that_of_its_row() {
        let (line, d) = ([1.5, -0.7], Deviation::new(0.3, 0.02, -0.05));
        assert!((row(line).dot(&d) - rise(line, &d)).abs() < 1e-15);
        let moved = Deviation::new(rise(line, &d), d[1], d[2]);
        assert!((Contact::Base.about(line) * moved - d).abs().max() < 1e-15);
        assert_eq!(Contact::None.about(line), Matrix3::identity());
    }
}
