//! Solids as STEP (ISO 10303-21, schema AUTOMOTIVE_DESIGN of AP214): the flat blank exactly, with planes and cylinders; a
//! turned part exactly, with cones too; a closed surface of triangles as plane faces.

mod blank;
mod boundary;
mod faceted;
mod turned;
mod writer;

pub use blank::blank;
pub use boundary::Boundary;
pub use faceted::faceted;
pub use turned::turned;
pub use writer::step;
