//! Makes the measured curve of the guide's first blank, `examples/brake_cut.csv`: a part that is thinner, narrower and set
//! lower than drawn, with friction, a balance that does not stand at zero, and noise.
//! `cargo run --release --example bench_measurement > examples/brake_cut.csv`
#![allow(clippy::print_stdout)]

use std::fs;

use flatspire::layout::Spring;
use flatspire::model::{Model, ModelSettings};
use flatspire::spec::SpringFile;
use flatspire::variation::{Deviation, RandomStream, deviated};

/// Deviation of the blank from nominal.
const DEVIATION: Deviation = Deviation {
    thickness_mm: -0.032,
    modulus_percent: -0.8,
    kerf_mm: 0.05,
    free_height_mm: -0.06,
    cone_mm: 0.0,
    end_compliance_percent: 4.0,
};
/// Last deflection of the bench (mm).
const END: f64 = 7.6;
/// Readings on the way down; as many on the way up.
const READINGS: u32 = 39;
/// Friction, half of what lies between the branches, as a share of the force.
const FRICTION: f64 = 0.008;
/// Reading of the unloaded balance (N).
const OFFSET: f64 = 0.3;
/// Standard deviation of a reading (N).
const NOISE: f64 = 0.12;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let path = "examples/brake_cut.toml";
    let drawn = Spring::from_file(&SpringFile::parse(&fs::read_to_string(path)?, path)?, None)?;
    let part = deviated(&drawn, &DEVIATION)?;
    let settings = DEVIATION.settings(&ModelSettings::default());
    let down: Vec<f64> = (0..READINGS).map(|k| END * f64::from(k) / f64::from(READINGS - 1)).collect();
    let force = Model::of(&part, &settings)?.response(&down)?.force;
    let mut noise = RandomStream::new(7, 0);
    println!("# brake return, first blank, pressed down and let back on the bench\ntravel_mm,force_n");
    let loading = down.iter().zip(&force).map(|(x, f)| (x, f * (1.0 + FRICTION)));
    let unloading = down.iter().zip(&force).rev().skip(1).map(|(x, f)| (x, f * (1.0 - FRICTION)));
    for (x, f) in loading.chain(unloading) {
        println!("{x:.2},{:.2}", (f + OFFSET + NOISE * noise.normal()).max(0.0));
    }
    Ok(())
}
