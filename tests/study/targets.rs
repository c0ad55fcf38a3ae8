//! Curves that are known to be reachable: those of random springs, whose widths and heights the designer is not told.
//!
//! The springs are made otherwise than the designer makes its own: widths are a cosine series along the radius at 41
//! places (the designer has a handful of control radii), domed formers are powers, the mesh is twice as fine.

use std::f64::consts::PI;

use flatspire::curve::TargetCurve;
use flatspire::layout::{ArmShape, Disc, FormerProfile, SheetProperties, SlotLine, Spring};
use flatspire::model::{Model, ModelSettings};
use flatspire::numeric::MonotoneCubic;
use flatspire::pipeline::Question;
use flatspire::spec::{Brief, Pressing, Rim, Roots, Seat};

use super::draw::Draw;

/// Segments of the springs whose curves are the targets: twice the model's default.
const FINE: usize = 600;
/// Points of a target.
const POINTS: usize = 25;
/// Share of the free height that a target covers, least and most.
const COVERED: (f64, f64) = (0.80, 0.94);
/// Most that the stiffness of the arms in their own plane may add to the force at the start: far beyond what was checked
/// against solids (some 4 %).
const STIFFENED: f64 = 0.25;
/// Peak stress of the hidden spring in units of the proof strength.
const STRESSED: (f64, f64) = (0.3, 0.85);

/// A target with the spring behind it.
pub struct Hidden {
    /// the spring that is not shown to the designer
    pub spring: Spring,
    /// its curve
    pub target: TargetCurve,
    /// rate at the last point over rate at the first
    pub rise: f64,
    /// widest over narrowest arm
    pub taper: f64,
    /// mean width over thickness
    pub aspect: f64,
    /// slot radii: outer over inner
    pub ratio: f64,
    /// what the stiffness in the plane adds to the force at the start (percent)
    pub stiffened_percent: f64,
    /// what the designer is told besides the curve
    pub brief: Brief,
}

impl Hidden {
    /// The question as the designer gets it.
    pub fn question(&self) -> Question {
        Question { target: self.target.clone(), brief: self.brief.clone() }
    }
}

/// The target of a case; the same one every time.
pub fn hidden(case: u64) -> Hidden {
    let mut draw = Draw(0x5eed_0000 + 7919 * case);
    loop {
        if let Some(hidden) = attempt(&mut draw) {
            return hidden;
        }
    }
}

fn attempt(draw: &mut Draw) -> Option<Hidden> {
    let thickness = [0.8, 1.0, 1.2, 1.5, 2.0][draw.one_of(5)];
    let slot = 1.4;
    let arms = 1 + draw.one_of(6);
    let ratio = draw.between(2.0, 5.0);
    let aspect = draw.scale(1.5, 8.0);
    let typical = aspect * thickness;
    let turns = draw.scale(if arms == 1 { 1.8 } else { 1.4 / (arms as f64).sqrt() }, 4.0);
    let outer = arms as f64 * (typical + slot) * turns / (1.0 - 1.0 / ratio);
    let inner = outer / ratio;
    if outer > 90.0 || inner < 4.0 + slot + 1.5 * thickness {
        return None;
    }
    // a cosine series with falling coefficients, then stretched to the taper wanted
    let coefficients: Vec<f64> = (1..=3).map(|k| draw.between(-1.0, 1.0) / f64::from(k)).collect();
    let series = |s: f64| -> f64 {
        coefficients.iter().zip(1u8..).map(|(c, k)| c * (PI * f64::from(k) * s).cos()).sum()
    };
    let raw: Vec<f64> = (0..=40).map(|k| series(f64::from(k) / 40.0)).collect();
    let (low, high) = raw.iter().fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(*v), h.max(*v)));
    let taper = draw.scale(1.0, 3.0);
    let radius: Vec<f64> = (0..=40).map(|k| inner + (outer - inner) * f64::from(k) / 40.0).collect();
    let width: Vec<f64> =
        raw.iter().map(|v| typical * taper.powf((v - low) / (high - low).max(1e-9) - 0.5)).collect();
    let narrowest = width.iter().copied().fold(f64::INFINITY, f64::min);
    if narrowest < 1.4 * thickness || width.iter().zip(&radius).any(|(w, r)| *w > 0.5 * r) {
        return None;
    }
    let line = SlotLine::wind(arms, slot, outer, inner, MonotoneCubic::through(&radius, &width)?).ok()?;
    let height = draw.scale(2.0, 16.0);
    let former = if draw.chance(3) {
        // domes and bowls
        let power = draw.scale(0.6, 1.7);
        let shape: Vec<f64> = (0..=40).map(|k| 1.0 - (f64::from(k) / 40.0).powf(power)).collect();
        FormerProfile::profile(height, 1.0, &radius, &shape).ok()?
    } else {
        FormerProfile::cone(height, 1.0)
    };
    let [hub_root, rim_root] = [width[0], width[40]];
    let bore_radius = (inner - 0.5 * slot - 1.5 * hub_root).max(2.0);
    if bore_radius > inner - 0.5 * slot - 0.5 * hub_root {
        return None;
    }
    let seat = Seat {
        pressing: if draw.chance(3) { Pressing::Plates } else { Pressing::Hub },
        rim: if draw.chance(2) { Rim::Held } else { Rim::Resting },
        ..Seat::default()
    };
    let mut spring = Spring {
        sheet: SheetProperties {
            material: Some("1.4310+C1300".to_owned()),
            thickness,
            youngs_modulus: 185_000.0,
            shear_modulus: 70_000.0,
            tensile_strength: Some(1300.0),
            yield_strength: Some(1131.0),
            density: Some(7.9),
        },
        arms,
        slot,
        disc: Disc {
            outer_radius: outer + 0.5 * slot + 1.5 * rim_root,
            bore_radius,
            slot_outer_radius: outer,
            slot_inner_radius: inner,
            rim_clamp_radius: None,
            hub_clamp_radius: None,
        },
        shape: ArmShape::Slots(line),
        roots: Roots::Disc,
        former,
        seat,
    };
    let arm = spring.arm(FINE).ok()?;
    let covered = draw.between(COVERED.0, COVERED.1);
    let stressed = draw.between(STRESSED.0, STRESSED.1);
    let settings = ModelSettings { segments: FINE, ..ModelSettings::default() };
    let peak = |spring: &Spring| -> Option<f64> {
        let model = Model::of(spring, &settings).ok()?;
        let peaks = model.response(&[0.9 * model.travel(), 0.995 * model.travel()]).ok()?.peak_stress;
        Some(peaks.into_iter().fold(0.0, f64::max))
    };
    // stress goes with the height: twice is enough to bring it where it is wanted, if it is above
    for _ in 0..2 {
        let over = peak(&spring)? / (stressed * 1131.0);
        if over > 1.0 {
            spring.former.free_height /= over;
        }
    }
    let steep = (0..arm.segments())
        .map(|i| (arm.height[i + 1] - arm.height[i]) / arm.chord(i) * spring.former.free_height / height)
        .fold(0.0, f64::max);
    if spring.former.free_height < 1.0 || steep > 0.25 || peak(&spring)? > 0.9 * 1131.0 {
        return None;
    }
    let height = spring.former.free_height;
    let model = Model::of(&spring, &settings).ok()?;
    let reach = covered * height;
    let deflection: Vec<f64> = (0..POINTS).map(|k| reach * k as f64 / (POINTS - 1) as f64).collect();
    let response = model.response(&deflection).ok()?;
    let flat = ModelSettings { in_plane: false, ..settings };
    let linear = Model::of(&spring, &flat).ok()?.response(&deflection[1..3]).ok()?.force;
    let stiffened = response.force[2] / linear[1] - 1.0;
    if stiffened > STIFFENED {
        return None;
    }
    let force: Vec<f64> = response.force.iter().map(|f| f.max(0.0)).collect();
    let rise = response.rate[POINTS - 1] / response.rate[0];
    if !(1.0..=30.0).contains(&rise) {
        return None;
    }
    let target = TargetCurve::points(&deflection, &force).curve("hidden spring").ok()?;
    let mut brief = Brief::default();
    brief.envelope.outer_diameter_max = Some(2.0 * spring.disc.outer_radius);
    brief.envelope.bore_diameter_min = Some(2.0 * bore_radius);
    // some room above the hidden height
    brief.envelope.free_height_max = Some(1.2 * height);
    brief.sheet.material.clone_from(&spring.sheet.material);
    brief.sheet.thickness = Some(vec![thickness]);
    brief.arms.count = Some(vec![arms]);
    brief.process.slot = Some(slot);
    brief.seat = seat;
    Some(Hidden { stiffened_percent: 100.0 * stiffened, target, rise, taper, aspect, ratio, brief, spring })
}
