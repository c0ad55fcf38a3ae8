//! The study of the search: springs are found again from their curves alone.
//!
//! `cargo run --release --example study` takes some ten minutes, writes `tests/study/results.csv` and prints the sentence
//! that the README quotes. The springs behind the curves are made by `tests/study/targets.rs`.

// an example speaks on the terminal
#![allow(clippy::print_stdout, clippy::print_stderr)]

use std::fs;
use std::path::Path;

#[path = "../tests/study/draw.rs"]
mod draw;
#[path = "../tests/study/results.rs"]
mod results;
#[path = "../tests/study/table.rs"]
mod table;
#[path = "../tests/study/targets.rs"]
mod targets;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut rows = Vec::new();
    for case in 0..results::CASES {
        let row = results::Row::of(case, &targets::hidden(case))?;
        eprintln!("{}", row.line());
        rows.push(row);
    }
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/study");
    fs::write(folder.join("results.csv"), results::table(&rows))?;
    println!("{}", results::sentence(&rows));
    Ok(())
}
