//! Mathematics without springs: interpolation, quadrature, roots, small inverses.

pub mod exact_units;
pub mod monotone_cubic;
pub mod non_negative;
pub mod quadrature;
pub mod quantity;
pub mod root;
pub mod straight_line;
pub mod symmetric_inverse;
pub mod text;
pub mod thinning;

pub use monotone_cubic::MonotoneCubic;
pub use non_negative::non_negative_least_squares;
pub use quantity::{Quantity, Units};
pub use straight_line::straight_between;
pub use symmetric_inverse::invert_symmetric;
pub use text::{cell, decimal, figures, grouped, in_units, rounded, short, signed, significant, with_unit};
pub use thinning::evenly_spread;
