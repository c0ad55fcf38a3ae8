//! Twenty jobs over the range of a workshop, answered by the search.
//!
//! `cargo run --release --example jobs` takes some minutes and writes `tests/study/jobs.csv`.

// an example speaks on the terminal
#![allow(clippy::print_stderr)]

use std::fs;
use std::path::Path;

#[path = "../tests/study/draw.rs"]
mod draw;
#[path = "../tests/study/jobs.rs"]
mod jobs;
#[path = "../tests/study/table.rs"]
mod table;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut rows = Vec::new();
    for number in 0..jobs::JOBS {
        let row = jobs::JobRow::of(number);
        eprintln!("{}", row.line());
        rows.push(row);
    }
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/study");
    fs::write(folder.join("jobs.csv"), jobs::table(&rows))?;
    Ok(())
}
