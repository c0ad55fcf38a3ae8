//! The small-slope problem at one deflection handed to a general-purpose interior-point solver.

use clarabel::algebra::CscMatrix;
use clarabel::solver::{
    DefaultSettings, DefaultSolver, IPSolver, NonnegativeConeT, SolverStatus, SupportedConeT, ZeroConeT,
};
use flatspire::model::chain::Chain;
use flatspire::model::element::{Deviation, Element};

/// One arm as a strictly convex quadratic programme: minimise half the sum of squared strains, each in units of its
/// stiffness, that belong to the deviations of the nodes, the hub's tilt and the deflection.
pub struct QuadraticProgramme {
    squares: CscMatrix<f64>,
    constraints: CscMatrix<f64>,
    bounds: Vec<f64>,
    equalities: usize,
    /// unit of length (mm)
    travel: f64,
    /// unit of energy (N·mm)
    energy: f64,
}

impl QuadraticProgramme {
    /// `tilt` is the hub node's position where the hub may tilt.
    pub fn new(chain: &Chain, upper: bool, tilt: Option<[f64; 2]>) -> Self {
        let (elements, free_height) = (&chain.elements, &chain.free_height);
        let count = elements.len();
        let travel = free_height[count];
        // unknowns in units that make them all of order one
        let size: f64 = elements.iter().map(Element::length).sum();
        let turn = travel / size;
        let energy = elements.iter().map(|e| e.flexibility[(1, 1)]).sum::<f64>().recip() * turn.powi(2);
        let first_tilt = 3 * (count - 1);
        let deflection = first_tilt + if tilt.is_some() { 2 } else { 0 };
        let first_strain = deflection + 1;
        let unknowns = first_strain + 3 * count;
        // what moves a node, and how
        let movers = |node: usize| -> Vec<(usize, Deviation)> {
            if node == 0 {
                return Vec::new();
            }
            if node < count {
                let first = 3 * (node - 1);
                return vec![
                    (first, Deviation::new(travel, 0.0, 0.0)),
                    (first + 1, Deviation::new(0.0, turn, 0.0)),
                    (first + 2, Deviation::new(0.0, 0.0, turn)),
                ];
            }
            let mut movers = vec![(deflection, Deviation::new(-travel, 0.0, 0.0))];
            if let Some([x, y]) = tilt {
                movers.push((first_tilt, Deviation::new(y, 1.0, 0.0) * turn));
                movers.push((first_tilt + 1, Deviation::new(-x, 0.0, 1.0) * turn));
            }
            movers
        };
        let mut triplets = Vec::new();
        let still = Deviation::zeros();
        for (i, element) in elements.iter().enumerate() {
            for k in 0..3 {
                triplets.push((3 * i + k, first_strain + 3 * i + k, -1.0));
                for (place, motion) in movers(i) {
                    triplets.push((3 * i + k, place, squares_of(element, &motion, &still, energy)[k]));
                }
                for (place, motion) in movers(i + 1) {
                    triplets.push((3 * i + k, place, squares_of(element, &still, &motion, energy)[k]));
                }
            }
        }
        let mut bounds = vec![0.0; 3 * count];
        triplets.push((bounds.len(), deflection, 1.0));
        bounds.push(0.0);
        let equalities = bounds.len();
        // −z ≤ z0 and, between plates, z + deflection ≤ travel − z0
        for (node, z0) in free_height.iter().enumerate().take(count).skip(1) {
            // rise of the touching line, (dx, dy) from the centre: z + ωx dy − ωy dx
            let [dx, dy] = chain.line[node].map(|lever| lever * turn / travel);
            let first = 3 * (node - 1);
            let line = [(first, 1.0), (first + 1, dy), (first + 2, -dx)];
            triplets.extend(line.map(|(unknown, rise)| (bounds.len(), unknown, -rise)));
            bounds.push(z0 / travel);
            if upper {
                triplets.extend(line.map(|(unknown, rise)| (bounds.len(), unknown, rise)));
                triplets.push((bounds.len(), deflection, 1.0));
                bounds.push(1.0 - z0 / travel);
            }
        }
        let squares: Vec<_> = (first_strain..unknowns).map(|k| (k, k, 1.0)).collect();
        Self {
            squares: sparse(unknowns, unknowns, squares),
            constraints: sparse(bounds.len(), unknowns, triplets),
            bounds,
            equalities,
            travel,
            energy,
        }
    }

    /// Force of one arm at deflection `x` (N), with the solver's tolerances set to `tolerance`; `None` where it gets
    /// stuck before.
    pub fn force(&self, x: f64, tolerance: f64) -> Option<f64> {
        let mut bounds = self.bounds.clone();
        bounds[self.equalities - 1] = x / self.travel;
        let cones: [SupportedConeT<f64>; 2] =
            [ZeroConeT(self.equalities), NonnegativeConeT(bounds.len() - self.equalities)];
        let settings = DefaultSettings {
            verbose: false,
            tol_gap_abs: tolerance,
            tol_gap_rel: tolerance,
            tol_feas: tolerance,
            ..DefaultSettings::default()
        };
        let linear = vec![0.0; self.squares.n];
        let mut solver =
            DefaultSolver::new(&self.squares, &linear, &self.constraints, &bounds, &cones, settings).ok()?;
        solver.solve();
        // the multiplier of the prescribed deflection
        let force = -solver.solution.z[self.equalities - 1] * self.energy / self.travel;
        (solver.solution.status == SolverStatus::Solved).then_some(force)
    }
}

/// The strains whose squares add up to twice the stored energy of an element.
fn squares_of(element: &Element, a: &Deviation, b: &Deviation, energy: f64) -> [f64; 3] {
    let factor = element.stiffness.cholesky().unwrap().l();
    let squares = factor.transpose() * element.strains(a, b) / energy.sqrt();
    [squares[0], squares[1], squares[2]]
}

/// Compressed columns.
fn sparse(rows: usize, columns: usize, mut entries: Vec<(usize, usize, f64)>) -> CscMatrix<f64> {
    entries.sort_by_key(|(row, column, _)| (*column, *row));
    let mut start = vec![0; columns + 1];
    for (_, column, _) in &entries {
        start[column + 1] += 1;
    }
    for column in 0..columns {
        start[column + 1] += start[column];
    }
    let places = entries.iter().map(|entry| entry.0).collect();
    CscMatrix::new(rows, columns, start, places, entries.iter().map(|entry| entry.2).collect())
}
