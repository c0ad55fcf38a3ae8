//! From a wanted force-deflection curve to a flat-cut spiral spring.

pub mod checks;
pub mod cli;
pub mod curve;
pub mod export;
pub mod layout;
pub mod material;
pub mod model;
pub mod numeric;
pub mod outline;
pub mod package;
pub mod plot;
pub mod response;
pub mod spec;
pub mod synthesis;
