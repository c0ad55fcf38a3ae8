//! The two files a person writes: the brief (requirements) and the spring file (result).
//!
//! Their structure, defaults and validation; their geometry is in `layout`.

mod assembly;
mod brief;
mod end_diameter;
mod error;
mod sections;
mod shop;
mod slot_end;
mod spring_file;
mod way;

pub use assembly::{
    AssemblyChoice, AssemblyFile, AssemblyKind, AssemblyMember, AssemblyWish, Side, Stacking,
};
pub use brief::{ArmChoice, Brief, FormerChoice, SheetChoice};
pub use error::SpecError;
pub use sections::{
    Duty, Envelope, Fit, FormerLaw, HubGuide, Pressing, Process, ProcessKind, Rim, Roots, Seat, Tolerance,
};
pub use shop::{Paper, SheetUnits, Shop};
pub use slot_end::SlotEnds;
pub(crate) use slot_end::{ONE_PASS, hole_diameter};
pub use spring_file::{Arm, Disc, Former, Sheet, SpringFile, Target};
pub use way::{SettingChoice, Way};
