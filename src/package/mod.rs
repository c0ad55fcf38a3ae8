//! The files of a package: names and bytes, the same for the same answer.

mod assembled;
mod bench_sheet;
mod corrected;
mod files;
#[cfg(test)]
mod hand_cases;
mod spring_text;

pub use assembled::{
    AssemblyPart, assembled_chart, assembled_csv, assembly_files, cautions, disc_files, hub_radius,
    member_names, parts, shared_sheet_files, steps,
};
pub use bench_sheet::bench_sheet;
pub use corrected::{corrected_files, measured_plot};
pub use files::{PackageError, files, former_files, spring_files, whole_file};
pub use spring_text::{response_csv, rings_text};

pub use crate::export::NamedFile;
