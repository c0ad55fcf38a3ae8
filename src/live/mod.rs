//! A page on this computer where a wanted curve is shaped by hand and the spring follows at once.
//!
//! The browser draws, the program computes: the page sends what is asked ([`Asked`]) with the spring it last saw, and
//! gets the spring that follows the curve ([`Draft`]) as numbers to draw ([`Picture`]). A draft keeps sheet, arms and
//! circles and shapes widths and height alone, over few segments while the hand moves and over many when it rests; the
//! search of the whole stock is [`crate::pipeline::answer_unless`]. This room takes and returns values; sockets,
//! threads and the clock belong to `cli`.

mod archive;
mod asked;
mod assembled;
mod assets;
mod body;
mod draft;
mod error;
mod guard;
mod opened;
mod picture;
mod replies;
mod rivals;
mod saved;
mod taken;

pub use archive::archive;
pub use asked::{Asked, CurveGiven};
pub use assembled::{AssemblyGiven, AssemblyShown};
pub use assets::{Asset, POLICY, asset};
pub use body::Body;
pub use draft::{Depth, Draft, draft, draft_unless};
pub use error::LiveError;
pub use guard::{Head, MOST_BODY, Refusal, admit};
pub use opened::Opened;
pub use picture::Picture;
pub use replies::{Candidate, DraftAsked, Found, Opening, ProcessOffered, SheetOffered, parse};
pub use rivals::{Rival, Rivals, RivalsAsked};
pub use saved::SavedState;
pub use taken::{Taken, TakenAsked};
