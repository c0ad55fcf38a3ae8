//! Sheet: what it is made of, how strong, how thick, and how sure that is.

mod sheet;

pub use sheet::{Confidence, Material, Sourced, stock};
