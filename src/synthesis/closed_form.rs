//! The torsion-only law: seed, sanity check and feasibility test.
//!
//! An axial load f at the axis twists the arm at radius r with torque f·r, so each dθ gives deflection `f r³/(GJ) dθ`
//! until its own rise `p dθ` is used up; it closes at `f_c = GJ p/r³`. Hence `x(F) = ∫ min(f r³/(GJ), p) dθ`. With
//! arms between equal slots, `dθ = 2π dr/(N(w+g))`, and on a cone of slope β, `p dθ = β dr`. Wahl, Mechanical Springs
//! (1944), for conical springs; Rodriguez, Paredes & Sartor, J. Mech. Des. 128 (2006).

use std::f64::consts::TAU;

use crate::model::section::torsion_constant;
use crate::numeric::root::bracketed;

/// An annulus of arms on a cone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Annulus {
    /// number of arms
    pub arms: usize,
    /// slot width (mm)
    pub slot: f64,
    /// sheet thickness (mm)
    pub thickness: f64,
    /// shear modulus (MPa)
    pub shear_modulus: f64,
    /// radius of the arm centre at the outer root (mm)
    pub outer: f64,
    /// radius of the arm centre at the inner root (mm)
    pub inner: f64,
    /// free height (mm)
    pub free_height: f64,
}

/// The load (all arms) at which each radius closes, and the width that does it.
#[derive(Debug, Clone, PartialEq)]
pub struct Inverse {
    /// radii of the arm centre (mm), increasing
    pub radius: Vec<f64>,
    /// closing load there (N)
    pub closing_load: Vec<f64>,
    /// width there (mm)
    pub width: Vec<f64>,
}

impl Annulus {
    /// Slope of the cone.
    pub fn steepness(&self) -> f64 {
        self.free_height / (self.outer - self.inner)
    }

    /// Closing load of an arm of `width` at `radius` (N, all arms): `N² G J (w+g) β/(2π r³)`.
    pub fn closing_load(&self, width: f64, radius: f64) -> f64 {
        let arms = self.arms as f64;
        let j = torsion_constant(width, self.thickness).value;
        arms * arms * self.shear_modulus * j * (width + self.slot) * self.steepness() / (TAU * radius.powi(3))
    }

    /// The width that closes at `load` (N) at `radius`, between `narrowest` and `widest`.
    pub fn width_for(&self, load: f64, radius: f64, narrowest: f64, widest: f64) -> f64 {
        let excess = |width: f64| self.closing_load(width, radius) - load;
        if excess(narrowest) >= 0.0 {
            narrowest
        } else if excess(widest) <= 0.0 {
            widest
        } else {
            bracketed(narrowest, widest, 1e-6 * widest, excess).unwrap_or(narrowest)
        }
    }

    /// Deflection under `force` (N) for closing loads at evenly spaced radii, midpoint rule.
    pub fn deflection(&self, closing_load: &[f64], force: f64) -> f64 {
        let step = self.free_height / closing_load.len() as f64;
        closing_load.iter().map(|load| step * (force / load).min(1.0)).sum()
    }

    /// Widths that make the spring follow a convex curve through (0, 0), closing from the outside in.
    ///
    /// `deflection` and `force` rise from zero (mm, N). With C = dx/dF the seated front is at
    /// `r_c = r_o − (x − F C)/β`; what has not closed at the end closes all at once, at
    /// `F_s = β (r_c − r_i)/C`. `samples` radii at the middles of equal steps. `None` where the curve needs more height
    /// than there is.
    pub fn inverse(
        &self,
        deflection: &[f64],
        force: &[f64],
        samples: usize,
        narrowest: f64,
        widest: f64,
    ) -> Option<Inverse> {
        let count = deflection.len();
        if count < 2 || deflection[count - 1] >= self.free_height {
            return None;
        }
        // the chord up to a knot is the curve's tangent half way: it meets zero force at the height that has closed by then
        let compliance: Vec<f64> =
            (1..count).map(|k| (deflection[k] - deflection[k - 1]) / (force[k] - force[k - 1])).collect();
        if compliance.iter().any(|c| !(c.is_finite() && *c > 0.0)) {
            return None;
        }
        // heights that had closed, with the first and the last load at which it was just so much
        let mut front: Vec<(f64, f64, f64)> = Vec::with_capacity(count);
        for k in 1..count {
            let closed = (deflection[k] - force[k] * compliance[k - 1]).max(0.0);
            let load = 0.5 * (force[k] + force[k - 1]);
            match front.last_mut() {
                Some(last) if closed <= last.0 + 1e-6 * self.free_height => last.2 = load,
                _ => front.push((closed, load, load)),
            }
        }
        let (closed, _, last_load) = front[front.len() - 1];
        let final_load = ((self.free_height - closed) / compliance[count - 2]).max(force[count - 1]);
        let load_at = |height: f64| {
            let after = front.partition_point(|knot| knot.0 < height);
            if after == front.len() {
                // what is left closes at the final load; the step to it takes a twentieth of the travel
                let share = ((height - closed) / (0.05 * self.free_height)).min(1.0);
                return last_load + share * (final_load - last_load);
            }
            if after == 0 {
                return front[0].2;
            }
            let (from, to) = (front[after - 1], front[after]);
            from.2 + (height - from.0) / (to.0 - from.0) * (to.1 - from.2)
        };
        let (mut radius, mut closing, mut width) = (Vec::new(), Vec::new(), Vec::new());
        for i in (0..samples).rev() {
            let share = (i as f64 + 0.5) / samples as f64;
            let r = self.outer - share * (self.outer - self.inner);
            let height = share * self.free_height;
            let load = load_at(height);
            let w = self.width_for(load, r, narrowest, widest);
            radius.push(r);
            closing.push(self.closing_load(w, r));
            width.push(w);
        }
        Some(Inverse { radius, closing_load: closing, width })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn prescribed_centre_line_gives_back_its_constant_width() {
        // three arms, b = 6, slot −2 (a calculation only: pitch 4 and width 6 could not be nested), R 12 → 36, two turns,
        // H = 9: the law of Rodriguez, Paredes & Sartor for rise and radius linear in the angle
        let strip = Annulus {
            arms: 3,
            slot: -2.0,
            thickness: 1.0,
            shear_modulus: 79_300.0,
            outer: 36.0,
            inner: 12.0,
            free_height: 9.0,
        };
        // pitch N(w+g) = 12 mm a turn: 24 mm of radius take two turns
        assert_relative_eq!(strip.closing_load(6.0, 36.0), 6.536_608_7, max_relative = 1e-5);
        assert_relative_eq!(strip.closing_load(6.0, 12.0), 176.488_4, max_relative = 1e-5);
        let loads: Vec<f64> =
            (0..4000).map(|i| strip.closing_load(6.0, 36.0 - 24.0 * (f64::from(i) + 0.5) / 4000.0)).collect();
        for (force, x) in [
            (10.0, 4.649_151),
            (20.0, 6.398_182),
            (30.0, 7.216_130),
            (50.0, 8.042_552),
            (80.0, 8.596_499),
            (120.0, 8.896_955),
        ] {
            assert_relative_eq!(strip.deflection(&loads, force), x, max_relative = 1e-3);
        }
        let forces: Vec<f64> = (0..=400).map(|k| 120.0 * (f64::from(k) / 400.0).powi(2)).collect();
        let curve: Vec<f64> = forces.iter().map(|force| strip.deflection(&loads, *force)).collect();
        let found = strip.inverse(&curve, &forces, 60, 2.5, 20.0).unwrap();
        for (r, w) in found.radius.iter().zip(&found.width) {
            // where the curve ends it leaves the closing load open; there equal closing is taken
            if strip.closing_load(6.0, *r) < 110.0 && *r < 35.5 {
                assert_relative_eq!(*w, 6.0, max_relative = 0.005);
            }
        }
    }

    #[test]
    fn constant_width_is_progressive_and_equal_closing_is_linear() {
        // common practice, no source: a spiral of constant width is progressive
        let annulus = Annulus {
            arms: 2,
            slot: 1.4,
            thickness: 1.2,
            shear_modulus: 79_000.0,
            outer: 30.0,
            inner: 12.0,
            free_height: 8.0,
        };
        let radii: Vec<f64> = (0..500).map(|i| 30.0 - 18.0 * (f64::from(i) + 0.5) / 500.0).collect();
        let rate = |loads: &[f64], share: f64| {
            // force that reaches a share of the travel, by bisection, and its neighbour's difference
            let force = |x: f64| bracketed(0.0, 1e6, 1e-9, |f| annulus.deflection(loads, f) - x).unwrap();
            let x = share * 8.0;
            (force(x + 0.01) - force(x - 0.01)) / 0.02
        };
        let constant: Vec<f64> = radii.iter().map(|r| annulus.closing_load(4.0, *r)).collect();
        assert!(rate(&constant, 0.9) > 3.0 * rate(&constant, 0.1));
        // linear taper w ∝ r, the shop's rule of thumb: constant to about half the travel, then progressive
        let taper: Vec<f64> = radii.iter().map(|r| annulus.closing_load(4.0 * r / 20.0, *r)).collect();
        assert_relative_eq!(rate(&taper, 0.45), rate(&taper, 0.1), max_relative = 0.06);
        assert!(rate(&taper, 0.95) > 1.3 * rate(&taper, 0.1));
        // equal closing: J(w)(w+g) ∝ r³, constant rate to solid
        let equal: Vec<f64> =
            radii.iter().map(|r| annulus.closing_load(annulus.width_for(40.0, *r, 0.5, 20.0), *r)).collect();
        assert_relative_eq!(rate(&equal, 0.95), rate(&equal, 0.1), max_relative = 1e-3);
    }
}
