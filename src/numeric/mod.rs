//! Mathematics without springs: interpolation, quadrature, roots, small inverses.

pub(crate) mod exact_units;
#[cfg(test)]
mod hand_cases;
pub(crate) mod monotone_cubic;
pub(crate) mod non_negative;
pub(crate) mod quadrature;
pub(crate) mod quantity;
pub(crate) mod root;
pub(crate) mod straight_line;
pub(crate) mod symmetric_inverse;
pub(crate) mod text;
pub(crate) mod thinning;

pub use monotone_cubic::MonotoneCubic;
pub use non_negative::non_negative_least_squares;
pub use quantity::{Quantity, Units};
pub use straight_line::straight_between;
pub use symmetric_inverse::invert_symmetric;
pub use text::{
    cell, decimal, figures, grouped, in_units, joules, rounded, short, signed, significant, with_unit,
};
pub use thinning::evenly_spread;
