//! Gain of the taper: a spring beside the best of constant width and the best linear taper in the same circles, from the
//! same sheet.

mod contender;
mod contest;
#[cfg(test)]
mod hand_cases;
mod pictures;
mod turn_seats;

pub use contender::{Contender, Kind, RATES_AT, SEATED_AT};
pub use contest::{CompareError, CompareSettings, Comparison, compare, nominal_target};
pub use pictures::files;
pub use turn_seats::TurnSeat;
