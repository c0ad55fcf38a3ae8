//! What the taper buys: a spring beside the best of constant width and the best linear taper in the same circles, from the
//! same sheet.

mod contender;
mod contest;
mod pictures;

pub use contender::{Contender, Kind, SEATED_AT};
pub use contest::{CompareError, CompareSettings, Comparison, compare, nominal_target};
pub use pictures::files;
