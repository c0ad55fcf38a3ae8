//! The files of a package: names and bytes, the same for the same answer, whoever asks.

mod bench_sheet;
mod corrected;
mod files;
mod spring_text;

pub use bench_sheet::bench_sheet;
pub use corrected::{corrected_files, measured_plot};
pub use files::{PackageError, files, former_files};
pub use spring_text::{response_csv, rings_text};

pub use crate::export::NamedFile;
