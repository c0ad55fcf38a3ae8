//! One root of a function that changes sign, safeguarded.

/// The root of `f` between `a` and `b` by bisection steps mixed with secant steps (Illinois rule).
///
/// Returns `None` when `f(a)` and `f(b)` have the same sign or are not finite. `tolerance` is absolute, in the
/// unit of the argument.
pub fn bracketed(a: f64, b: f64, tolerance: f64, f: impl Fn(f64) -> f64) -> Option<f64> {
    let (mut a, mut b) = (a, b);
    let (mut fa, mut fb) = (f(a), f(b));
    if fa == 0.0 {
        return Some(a);
    }
    if fb == 0.0 {
        return Some(b);
    }
    if !(fa.is_finite() && fb.is_finite()) || fa.signum() == fb.signum() {
        return None;
    }
    for step in 0..200 {
        if (b - a).abs() <= tolerance {
            break;
        }
        let secant = b - fb * (b - a) / (fb - fa);
        // every third step halves the interval, so that the bracket is sure to shrink
        let c = if step % 3 == 2 || !secant.is_finite() { 0.5 * (a + b) } else { secant };
        let fc = f(c);
        if fc == 0.0 {
            return Some(c);
        }
        if fc.signum() == fb.signum() {
            fa *= 0.5;
        } else {
            (a, fa) = (b, fb);
        }
        (b, fb) = (c, fc);
    }
    Some(0.5 * (a + b))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn finds_a_cube_root_and_refuses_no_sign_change() {
        let root = bracketed(0.0, 5.0, 1e-13, |x| x * x * x - 2.0).unwrap();
        assert_abs_diff_eq!(root, 2f64.cbrt(), epsilon = 1e-12);
        assert!(bracketed(2.0, 5.0, 1e-12, |x| x * x * x - 2.0).is_none());
    }
}
