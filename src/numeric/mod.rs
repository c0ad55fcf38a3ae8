//! Mathematics without springs: interpolation, quadrature, roots, banded systems.

pub mod block_tridiagonal;
pub mod monotone_cubic;
pub mod quadrature;
pub mod root;
pub mod straight_line;

pub use block_tridiagonal::BlockTridiagonal;
pub use monotone_cubic::MonotoneCubic;
pub use straight_line::straight_between;
