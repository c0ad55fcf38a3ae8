//! Symmetric block-tridiagonal systems with small square blocks: factorise once, solve often, allocate nothing.

use nalgebra::{Matrix3, SMatrix, SVector};

/// A symmetric positive definite matrix with blocks `D_i` on and `E_i = A_{i,i+1}` beside the diagonal, factorised as
/// `L D Lᵀ` by blocks (Golub & Van Loan, Matrix Computations, section 4.5).
#[derive(Debug, Clone, Default)]
pub struct BlockTridiagonal<const N: usize> {
    inverse: Vec<SMatrix<f64, N, N>>,
    /// `D̃_i⁻¹ E_i`
    coupling: Vec<SMatrix<f64, N, N>>,
}

impl<const N: usize> BlockTridiagonal<N> {
    /// Room for `blocks` diagonal blocks.
    pub fn with_capacity(blocks: usize) -> Self {
        Self { inverse: Vec::with_capacity(blocks), coupling: Vec::with_capacity(blocks) }
    }

    /// Factorises `blocks` block rows; `diagonal(i)` and `beside(i)` give D_i and A_{i,i+1}. Returns whether every
    /// pivot block was positive definite.
    pub fn factorise(
        &mut self,
        blocks: usize,
        diagonal: impl Fn(usize) -> SMatrix<f64, N, N>,
        beside: impl Fn(usize) -> SMatrix<f64, N, N>,
    ) -> bool {
        self.inverse.clear();
        self.coupling.clear();
        let mut before = SMatrix::<f64, N, N>::zeros();
        for i in 0..blocks {
            let mut pivot = diagonal(i);
            if i > 0 {
                pivot -= before.transpose() * self.coupling[i - 1];
            }
            let Some(factor) = pivot.cholesky() else { return false };
            let inverse = factor.inverse();
            self.inverse.push(inverse);
            if i + 1 < blocks {
                before = beside(i);
                self.coupling.push(inverse * before);
            }
        }
        true
    }

    /// Solves in place: `right` holds the right-hand side and then the solution, one vector for each block row.
    pub fn solve(&self, right: &mut [SVector<f64, N>]) {
        let last = self.inverse.len().min(right.len());
        for i in 1..last {
            let carried = self.coupling[i - 1].transpose() * right[i - 1];
            right[i] -= carried;
        }
        for i in (0..last).rev() {
            right[i] = self.inverse[i] * right[i];
            if i + 1 < last {
                let carried = self.coupling[i] * right[i + 1];
                right[i] -= carried;
            }
        }
    }
}

/// Inverse of a symmetric 3×3 matrix by cofactors; `None` where the determinant vanishes or is not finite.
pub fn invert_symmetric(m: &Matrix3<f64>) -> Option<Matrix3<f64>> {
    let (a, b, c) = (m[(0, 0)], m[(0, 1)], m[(0, 2)]);
    let (d, e, f) = (m[(1, 1)], m[(1, 2)], m[(2, 2)]);
    let (c0, c1, c2) = (d * f - e * e, c * e - b * f, b * e - c * d);
    let determinant = a * c0 + b * c1 + c * c2;
    if determinant == 0.0 || !determinant.is_finite() {
        return None;
    }
    let s = 1.0 / determinant;
    let (i11, i12, i22) = (s * (a * f - c * c), s * (b * c - a * e), s * (a * d - b * b));
    Some(Matrix3::new(s * c0, s * c1, s * c2, s * c1, i11, i12, s * c2, i12, i22))
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::{DMatrix, DVector, Vector3};

    #[test]
    fn solves_what_a_dense_cholesky_solves() {
        let blocks = 7;
        let size = 3 * blocks;
        // a full-rank factor with a lower bidiagonal block shape makes a block-tridiagonal positive definite matrix
        let factor = DMatrix::from_fn(size, size, |i, j| {
            let (bi, bj) = (i / 3, j / 3);
            if bi == bj {
                if i == j { 3.0 } else { 0.3 * ((i * 7 + j * 3) as f64).sin() }
            } else if bi == bj + 1 {
                0.8 * ((i * 5 + j * 11) as f64).cos()
            } else {
                0.0
            }
        });
        let dense = &factor * factor.transpose();
        let right = DVector::from_fn(size, |i, _| (i as f64 * 0.7).sin());
        let expected = dense.clone().cholesky().unwrap().solve(&right);
        let block = |i: usize, j: usize| dense.fixed_view::<3, 3>(3 * i, 3 * j).into_owned();
        let mut banded = BlockTridiagonal::<3>::with_capacity(blocks);
        assert!(banded.factorise(blocks, |i| block(i, i), |i| block(i, i + 1)));
        let mut x: Vec<Vector3<f64>> =
            (0..blocks).map(|i| Vector3::new(right[3 * i], right[3 * i + 1], right[3 * i + 2])).collect();
        banded.solve(&mut x);
        for i in 0..size {
            assert!((x[i / 3][i % 3] - expected[i]).abs() < 1e-10);
        }
    }
}
