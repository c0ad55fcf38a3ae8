//! Springs drawn at random, far wilder than anybody would cut: what holds for them holds for sensible ones.

pub use super::study::draw::Draw;
use flatspire::layout::{ArmShape, Disc, FormerProfile, SheetProperties, SlotLine, Spring, Station};
use flatspire::numeric::MonotoneCubic;
use flatspire::spec::{HubGuide, Pressing, Rim, Roots, Seat};

/// Any spring; the same one for the same seed. `steepest` bounds the free slope of the arm's centre line.
pub fn random_spring(seed: u64, steepest: f64) -> Spring {
    let mut draw = Draw(seed);
    loop {
        let spring =
            if draw.chance(3) { between_slots(&mut draw) } else { Some(through_stations(&mut draw)) };
        let Some(mut spring) = spring else { continue };
        let Ok(arm) = spring.arm(60) else { continue };
        let steep = (0..arm.segments())
            .map(|i| (arm.height[i + 1] - arm.height[i]) / arm.chord(i))
            .fold(0.0, f64::max);
        if steep <= 0.0 {
            continue;
        }
        // as tall as it may be, or anything below
        let share = draw.scale(0.03, 1.0) * steepest / steep;
        match &mut spring.shape {
            ArmShape::Slots(_) => spring.former.free_height *= share,
            ArmShape::Stations(stations) => {
                for station in stations {
                    station.height *= share;
                }
            }
        }
        return spring;
    }
}

fn sheet(draw: &mut Draw) -> SheetProperties {
    let youngs_modulus = draw.between(40_000.0, 210_000.0);
    SheetProperties {
        material: None,
        thickness: draw.scale(0.2, 2.5),
        youngs_modulus,
        shear_modulus: 0.5 * youngs_modulus / (1.0 + draw.between(0.2, 0.4)),
        tensile_strength: None,
        yield_strength: None,
        density: None,
    }
}

fn seat(draw: &mut Draw, arms: usize) -> Seat {
    Seat {
        pressing: if draw.chance(2) { Pressing::Plates } else { Pressing::Hub },
        hub: if arms == 1 && draw.chance(2) { HubGuide::Tilting } else { HubGuide::Guided },
        rim: if draw.chance(2) { Rim::Resting } else { Rim::Held },
        ..Seat::default()
    }
}

fn disc(draw: &mut Draw, outer: f64, inner: f64) -> Disc {
    Disc {
        outer_radius: 1.2 * outer + draw.between(1.0, 8.0),
        bore_radius: 0.5 * inner,
        slot_outer_radius: outer,
        slot_inner_radius: inner,
        rim_clamp_radius: draw.chance(2).then_some(outer),
        hub_clamp_radius: draw.chance(2).then_some(inner),
    }
}

/// Shares of the rise at equal steps along the arm: cone, dome, bowl, steps with level ground between them.
fn rise(draw: &mut Draw, rows: usize) -> Vec<f64> {
    let mut height = vec![0.0; rows];
    let kind = draw.one_of(4);
    let power = draw.scale(0.3, 3.0);
    let mut step = 1.0;
    for k in 1..rows {
        let s = k as f64 / (rows - 1) as f64;
        height[k] = match kind {
            0 => s,
            1 => s.powf(power),
            // eased at both roots
            2 => s * s * (3.0 - 2.0 * s),
            _ => {
                if draw.chance(4) {
                    step = if draw.chance(3) { 0.0 } else { draw.scale(0.05, 5.0) };
                }
                height[k - 1] + step
            }
        };
    }
    height
}

fn through_stations(draw: &mut Draw) -> Spring {
    let arms = 1 + draw.one_of(6);
    let sheet = sheet(draw);
    let outer = draw.scale(8.0, 60.0);
    let inner = outer * draw.between(0.15, 0.8);
    let turns = draw.scale(0.15, 4.0);
    let rows = 41;
    let knots = 2 + draw.one_of(7);
    let place: Vec<f64> = (0..knots).map(|k| k as f64 / (knots - 1) as f64).collect();
    let wildest = draw.scale(1.0, 20.0);
    let typical = draw.scale(0.02, 0.3) * outer;
    let width: Vec<f64> = (0..knots).map(|_| typical * draw.scale(1.0 / wildest, 1.0)).collect();
    let width = MonotoneCubic::through(&place, &width).unwrap();
    let height = rise(draw, rows);
    let stations: Vec<Station> = (0..rows)
        .map(|k| {
            let s = k as f64 / (rows - 1) as f64;
            let radius = outer + (inner - outer) * s;
            Station {
                angle: std::f64::consts::TAU * turns * s,
                radius,
                width: width.value(s).clamp(0.3 * sheet.thickness, 1.5 * radius),
                height: height[k],
            }
        })
        .collect();
    Spring {
        sheet,
        arms,
        slot: draw.between(0.3, 1.5),
        disc: disc(draw, 1.2 * outer, 0.6 * inner),
        shape: ArmShape::Stations(stations),
        roots: if draw.chance(2) { Roots::Rigid } else { Roots::Disc },
        former: FormerProfile::cone(1.0, 1.0),
        seat: seat(draw, arms),
    }
}

fn between_slots(draw: &mut Draw) -> Option<Spring> {
    let arms = 1 + draw.one_of(6);
    let outer = draw.scale(10.0, 60.0);
    let inner = outer * draw.between(0.2, 0.6);
    let slot = draw.between(0.3, 1.5);
    // over-tapered either way
    let (first, last) = (draw.scale(0.04, 0.4) * outer, draw.scale(0.02, 0.4) * outer);
    let width = MonotoneCubic::through(
        &[inner, 0.5 * (inner + outer), outer],
        &[last, draw.scale(0.6, 1.4) * 0.5 * (first + last), first],
    )?;
    let line = SlotLine::wind(arms, slot, outer, inner, width).ok()?;
    let ease = if draw.chance(4) { 0.0 } else { draw.between(0.0, 2.0) };
    let former = if draw.chance(2) {
        FormerProfile::cone(1.0, ease)
    } else {
        let power = draw.scale(0.5, 2.0);
        let radius: Vec<f64> = (0..=8).map(|k| inner + (outer - inner) * f64::from(k) / 8.0).collect();
        let height: Vec<f64> = (0..=8).map(|k| 1.0 - (f64::from(k) / 8.0).powf(power)).collect();
        FormerProfile::profile(1.0, ease, &radius, &height).ok()?
    };
    Some(Spring {
        sheet: sheet(draw),
        arms,
        slot,
        disc: disc(draw, outer, inner),
        shape: ArmShape::Slots(line),
        roots: if draw.chance(4) { Roots::Rigid } else { Roots::Disc },
        former,
        seat: seat(draw, arms),
    })
}
