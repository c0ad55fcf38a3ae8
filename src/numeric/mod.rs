//! Mathematics without springs: interpolation, quadrature, roots, banded systems.

pub mod monotone_cubic;
pub mod quadrature;
pub mod root;

pub use monotone_cubic::MonotoneCubic;
