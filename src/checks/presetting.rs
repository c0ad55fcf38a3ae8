//! Presetting of a strip in torsion: yielding when a spring is pressed flat for the first time, and the height it
//! keeps.
//!
//! An elastic, perfectly plastic thin strip twisted to `m` times its yield twist carries `T/Te = 1.5 − 0.5/m²`: the
//! fully plastic torque of a thin rectangle is 1.5 Te (Nadai, Theory of Flow and Fracture of Solids, sand-heap
//! analogy), less what the elastic core of thickness t/m leaves out. It springs back elastically by T/Te.
//! Twists are counted in yield twists, stresses in shear yield stresses.

/// Elastic shear over shear yield stress at which a strip is plastic throughout: it cannot hold its height there.
pub const FULLY_PLASTIC: f64 = 1.5;

/// No over-height holds the height wanted.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error(
    "elastic shear at flat is {m0:.3} times the shear yield stress; from 1.5 on the strip is plastic throughout and \
     no over-height holds the height; lower the free height or take stronger sheet"
)]
pub struct CannotHold {
    /// elastic shear at flat over the shear yield stress
    pub m0: f64,
}

/// Torque over the torque at first yield, for a twist of `m` yield twists.
pub fn torque_ratio(m: f64) -> f64 {
    if m <= 1.0 { m } else { 1.5 - 0.5 / (m * m) }
}

/// Twist that stays after release, in yield twists: springing back takes T/Te.
pub fn residual_twist(m: f64) -> f64 {
    m - torque_ratio(m)
}

/// Surface shear that stays after release, in shear yield stresses; negative: against the twisting.
pub fn residual_surface_shear(m: f64) -> f64 {
    if m <= 1.0 { 0.0 } else { -(0.5 - 0.5 / (m * m)) }
}

/// Depth that has yielded over half the thickness.
pub fn yield_depth(m: f64) -> f64 {
    if m <= 1.0 { 0.0 } else { 1.0 - 1.0 / m }
}

/// Height to form to over the height to keep, where the kept height asks for an elastic shear at flat of `m0` shear
/// yield stresses.
///
/// Formed to m and pressed flat once, the strip springs back by `1.5 − 0.5/m²`, which has to be m0: `m = 1/√(3 − 2 m0)`.
pub fn over_height(m0: f64) -> Result<f64, CannotHold> {
    if m0 <= 1.0 {
        Ok(1.0)
    } else if m0 < FULLY_PLASTIC {
        Ok(1.0 / (m0 * (3.0 - 2.0 * m0).sqrt()))
    } else {
        Err(CannotHold { m0 })
    }
}

/// Share of its height that a strip keeps when it is formed to an elastic shear at flat of `m` shear yield stresses
/// and pressed flat.
pub fn kept_share(m: f64) -> f64 {
    if m <= 1.0 { 1.0 } else { torque_ratio(m) / m }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn torque_is_the_integral_of_the_shear_over_the_thickness() {
        // T/Te = 3 ∫ min(m s, 1) s ds over the half thickness s from 0 to 1
        for m in [0.4, 1.0, 1.3, 2.0, 5.0] {
            let pieces = 200_000;
            let sum: f64 = (0..pieces)
                .map(|i| {
                    let s = (f64::from(i) + 0.5) / f64::from(pieces);
                    (m * s).min(1.0) * s
                })
                .sum();
            assert_abs_diff_eq!(torque_ratio(m), 3.0 * sum / f64::from(pieces), epsilon = 1e-6);
        }
    }

    #[test]
    fn from_one_and_a_half_on_no_over_height_holds() {
        for m0 in [1.5, 1.7] {
            let message = over_height(m0).unwrap_err().to_string();
            assert!(message.contains("lower the free height"), "{message}");
        }
    }

    #[test]
    fn formed_over_height_the_strip_keeps_the_height_wanted() {
        for m0 in [0.7, 1.02, 1.25, 1.45] {
            let formed = m0 * over_height(m0).unwrap();
            assert_abs_diff_eq!(kept_share(formed) * formed, m0, epsilon = 1e-12);
        }
    }
}
