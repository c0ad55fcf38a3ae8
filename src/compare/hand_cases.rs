//! Turns between plates.

use super::turn_seats::turn_seats;
use crate::layout::Spring;
use crate::model::{Model, ModelSettings};
use crate::spec::SpringFile;

/// Two arms, narrow inside: the inner turns come up against an upper plate.
fn spring(seat: &str) -> Spring {
    let text = format!(
        "[sheet]\nthickness = 1.0\nyoungs_modulus = 200000\nshear_modulus = 80000\n[disc]\narms = 2\nslot = 1.2\n\
         outer_diameter = 80\narm_outer_diameter = 60\narm_inner_diameter = 20\n[arm]\nradius = [10, 30]\nwidth = [2, 7]\n\
         [former]\nfree_height = 6\n[seat]\n{seat}\n"
    );
    Spring::from_file(&SpringFile::parse(&text, "spring.toml").unwrap(), None).unwrap()
}

#[test]
fn between_plates_a_turn_lies_on_the_nearer_one() {
    let spring = spring("pressing = \"plates\"");
    let seats = turn_seats(&spring).unwrap();
    let (model, arm) = (Model::of(&spring, &ModelSettings::default()).unwrap(), spring.arm(100).unwrap());
    let total = arm.angle[100] / std::f64::consts::TAU;
    assert!((seats.last().unwrap().turns[1] - total).abs() < 1e-12 && seats[0].turns[0] == 0.0);
    // where a turn is said to lie its nodes are within a tenth of their free way from a plate, on average; a step of a
    // sixtieth before they are not
    for seat in &seats {
        let nodes: Vec<usize> = (1..100)
            .filter(|&node| {
                (seat.turns[0]..=seat.turns[1]).contains(&(arm.angle[node] / std::f64::consts::TAU))
            })
            .collect();
        let mean = |height: &[f64], top: f64| {
            nodes.iter().map(|&node| height[node].min(top - height[node])).sum::<f64>() / nodes.len() as f64
        };
        let (free, at) = (mean(&arm.height, 6.0), seat.lies_at_mm.unwrap());
        let step = 0.98 * 6.0 / 60.0;
        let states = model.states(&[at - step, at]).unwrap();
        let [before, there] = [0, 1].map(|k| mean(&states[k].height, 6.0 - states[k].deflection) / free);
        assert!(before > 0.1 && there <= 0.1, "turn {:?}: {before} and {there}", seat.turns);
    }
}
