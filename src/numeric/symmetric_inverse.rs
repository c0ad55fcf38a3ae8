//! Inverses of small symmetric matrices, written out.

use nalgebra::Matrix3;

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

    #[test]
    fn the_inverse_undoes_a_matrix_and_a_singular_one_has_none() {
        let matrix = Matrix3::new(4.0, -1.0, 0.5, -1.0, 3.0, 0.2, 0.5, 0.2, -2.0);
        let inverse = invert_symmetric(&matrix).unwrap();
        assert_eq!(inverse, inverse.transpose());
        assert!((matrix * inverse - Matrix3::identity()).abs().max() < 1e-14);
        let flat = Matrix3::new(1.0, 2.0, 0.0, 2.0, 4.0, 0.0, 0.0, 0.0, 1.0);
        assert_eq!(invert_symmetric(&flat), None);
    }
}
