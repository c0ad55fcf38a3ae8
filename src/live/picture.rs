//! A draft as numbers to draw and words to show.

use serde::Serialize;

use super::body::Body;
use super::draft::Draft;
use crate::checks::Finding;
use crate::curve::ReachFinding;
use crate::evaluation::EvaluationSummary;
use crate::export::svg_path;
use crate::model::{ArmState, TOUCHING};
use crate::numeric::{evenly_spread, rounded};
use crate::outline::Role;
use crate::spec::{Pressing, SpringFile};

/// Nodes of an arm that are drawn.
const NODES: usize = 96;
/// Shortest line of the small outline, as a share of the outside diameter.
const COARSE: f64 = 0.02;
/// Largest turn of a line of the small outline (rad).
const TURN: f64 = 0.25;
/// Least step between two positions of the travel that are drawn, as a share of the travel.
const STEP: f64 = 0.035;

/// All that the page shows. Keys as in a summary for the same numbers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Picture {
    /// whether sheet, arms and size were chosen anew
    pub chosen_anew: bool,
    /// verdicts and numbers, as in a summary
    #[serde(flatten)]
    pub evaluation: EvaluationSummary,
    /// result in words
    pub outcome: String,
    /// its sizes
    pub size: Size,
    /// findings of the checks, the most severe first
    pub findings: Vec<Finding>,
    /// cautions
    pub cautions: Vec<String>,
    /// the predicted curve, as the target counts deflection
    pub drawn_curve: Line,
    /// what can be followed
    pub reach: Option<Following>,
    /// what is cut
    pub outline: Drawing,
    /// the same coarsely, for a small picture
    pub small: String,
    /// one arm, rim to hub
    pub arm: Arm,
    /// one arm over the travel
    pub motion: Motion,
    /// the spring in one piece; none where it cannot be put together
    pub body: Option<Body>,
    /// way of setting; none where no strength of the sheet is known
    pub setting: Option<SettingShown>,
    /// the spring, as in its file
    pub spring: SpringFile,
}

/// The way to take first of giving a spring its height.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SettingShown {
    /// the way in words
    pub way: &'static str,
    /// height of the former to make (mm); none where no height holds
    pub former_height_mm: Option<f64>,
    /// reason
    pub why: String,
}

/// Sizes of a spring.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Size {
    /// number of arms
    pub arms: usize,
    /// name of the sheet
    pub material: Option<String>,
    /// sheet thickness (mm)
    pub thickness_mm: f64,
    /// outside diameter (mm)
    pub outer_diameter_mm: f64,
    /// bore diameter (mm)
    pub bore_diameter_mm: f64,
    /// slot width (mm)
    pub slot_mm: f64,
    /// travel to flat (mm)
    pub free_height_mm: f64,
    /// narrowest and widest place of the arm (mm)
    pub width_mm: [f64; 2],
    /// turns of one arm
    pub turns: f64,
    /// mass (g)
    pub mass_g: Option<f64>,
    /// stored energy when flat (J)
    pub energy_j: f64,
}

/// A curve.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Line {
    /// deflection (mm)
    pub deflection_mm: Vec<f64>,
    /// force (N)
    pub force_n: Vec<f64>,
}

/// Whether the curve can be followed, and the nearest curve that can.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Following {
    /// whether it can
    pub reachable: bool,
    /// the nearest curve that can be followed
    pub nearest: Line,
    /// where, by how much and why not
    pub findings: Vec<ReachFinding>,
}

/// Outline of the cut, as SVG paths in mm.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Drawing {
    /// bore, slots, outside
    pub parts: Vec<Part>,
    /// reason for which it cannot be drawn
    pub problem: Option<String>,
}

/// One contour.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Part {
    /// what it is for
    pub role: Role,
    /// its path
    pub d: String,
}

/// One arm at its nodes, outer root to inner root.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Arm {
    /// arc length from the outer root over arm length
    pub arc_share: Vec<f64>,
    /// winding angle (rad)
    pub angle_rad: Vec<f64>,
    /// radius of the arm centre (mm)
    pub radius_mm: Vec<f64>,
    /// width along the radius (mm)
    pub width_mm: Vec<f64>,
}

/// One arm over the travel: a row for each position, a number for each node.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Motion {
    /// deflection from the free height (mm)
    pub deflection_mm: Vec<f64>,
    /// force of the whole spring (N)
    pub force_n: Vec<f64>,
    /// height above the flat place (mm)
    pub height_mm: Vec<Vec<f64>>,
    /// height there of the line that touches a plate (mm)
    pub line_mm: Vec<Vec<f64>>,
    /// rise across the arm, outwards (mm per mm of radius)
    pub slope: Vec<Vec<f64>>,
    /// largest surface stress beside the node (MPa)
    pub stress_mpa: Vec<Vec<f64>>,
    /// distance from a plate below which the arm counts as seated (mm)
    pub touching_mm: f64,
    /// whether a plate presses from above
    pub upper: bool,
    /// arc length touching a plate over arm length
    pub seated_share: Vec<f64>,
}

impl Picture {
    /// Of a draft.
    pub fn of(draft: &Draft) -> Self {
        let evaluation = &draft.evaluation;
        let (spring, checks, closing) = (&evaluation.spring, &evaluation.checks, &evaluation.closing);
        let arm = &closing.arm;
        let extremes = arm
            .width
            .iter()
            .fold([f64::INFINITY, 0.0], |[least, most]: [f64; 2], w| [least.min(*w), most.max(*w)]);
        let installed = evaluation.asked.installed();
        let reach = evaluation.fit.as_ref().map(|fit| {
            // what was followed where a part of the curve was left out, else the nearest to all of it
            let nearest = draft.followed.as_ref().unwrap_or(&fit.reach.nearest);
            (&fit.reach, fit.summary.reachable, nearest)
        });
        let turns = arm.angle.last().map_or(0.0, |angle| angle / std::f64::consts::TAU);
        Self {
            chosen_anew: draft.chosen_anew,
            evaluation: EvaluationSummary::of(evaluation),
            outcome: evaluation.verdicts.outcome(),
            size: Size {
                arms: spring.arms,
                material: spring.sheet.material.clone(),
                thickness_mm: spring.sheet.thickness,
                outer_diameter_mm: 2.0 * spring.disc.outer_radius,
                bore_diameter_mm: 2.0 * spring.disc.bore_radius,
                slot_mm: spring.slot,
                free_height_mm: spring.former.free_height,
                width_mm: extremes,
                turns,
                mass_g: checks.mass.mass_g,
                energy_j: checks.mass.energy_j,
            },
            findings: checks.findings.clone(),
            cautions: checks.cautions.clone(),
            drawn_curve: Line {
                deflection_mm: short(closing.states.iter().map(|state| state.deflection - installed)),
                force_n: short(closing.states.iter().map(|state| state.force)),
            },
            reach: reach.map(|(reach, reachable, nearest)| Following {
                reachable,
                nearest: Line {
                    deflection_mm: nearest.deflection.clone(),
                    force_n: short(nearest.force.iter().copied()),
                },
                findings: reach.findings.clone(),
            }),
            outline: drawing(draft),
            small: small(draft),
            arm: arm_of(draft),
            motion: motion(draft),
            body: Body::of(spring, arm, &evenly_spread(arm.angle.len(), NODES)).ok(),
            setting: checks.setting.as_ref().and_then(|setting| {
                setting.ways.first().map(|way| SettingShown {
                    way: way.words,
                    former_height_mm: way.former_height_mm,
                    why: setting.why.clone(),
                })
            }),
            spring: spring.to_file(),
        }
    }
}

fn drawing(draft: &Draft) -> Drawing {
    match &draft.evaluation.drawing {
        Ok(drawing) => Drawing {
            parts: drawing
                .outline
                .contours
                .iter()
                .map(|contour| Part { role: contour.role, d: svg_path(contour) })
                .collect(),
            problem: None,
        },
        Err(error) => Drawing { parts: Vec::new(), problem: Some(error.to_string()) },
    }
}

/// The outline as one SVG path of straight lines, coarse enough for a thumbnail.
fn small(draft: &Draft) -> String {
    let Ok(drawing) = &draft.evaluation.drawing else { return String::new() };
    let coarse = COARSE * 2.0 * draft.spring().disc.outer_radius;
    let mut d = String::new();
    for contour in &drawing.outline.contours {
        let chain = &contour.chain;
        let mut last: Option<[f64; 2]> = None;
        for arc in chain.arcs() {
            // a chord of a circle keeps to it within a fraction of its length, as wide as the turn is small
            let turns = (arc.sweep().abs() / TURN).ceil().max(1.0);
            let mut share = 0.0;
            while share < 1.0 {
                let [x, y] = arc.point_at(share);
                if last.is_none_or(|[a, b]| (x - a).hypot(y - b) >= coarse) {
                    let letter = if last.is_none() { 'M' } else { 'L' };
                    d.push_str(&format!("{letter}{} {}", rounded(x, 1), rounded(-y, 1)));
                    last = Some([x, y]);
                }
                share += 1.0 / turns;
            }
        }
        if chain.closed {
            d.push('Z');
        }
    }
    d
}

fn arm_of(draft: &Draft) -> Arm {
    let arm = &draft.evaluation.closing.arm;
    let mut arc = vec![0.0];
    for i in 0..arm.segments() {
        arc.push(arc[i] + arm.chord(i));
    }
    let length = arc[arc.len() - 1];
    let nodes = evenly_spread(arm.angle.len(), NODES);
    let pick = |list: &[f64]| short(nodes.iter().map(|&i| list[i]));
    Arm {
        arc_share: short(nodes.iter().map(|&i| arc[i] / length)),
        angle_rad: pick(&arm.angle),
        radius_mm: pick(&arm.radius),
        width_mm: pick(&arm.width),
    }
}

fn motion(draft: &Draft) -> Motion {
    let closing = &draft.evaluation.closing;
    let count = closing.states.len();
    let mut kept: Vec<usize> = Vec::new();
    for (i, state) in closing.states.iter().enumerate() {
        let far = kept
            .last()
            .is_none_or(|&last| state.deflection - closing.states[last].deflection >= STEP * closing.travel);
        if far {
            kept.push(i);
        }
    }
    if kept.last().is_some_and(|last| last + 1 < count) {
        kept.push(count - 1);
    }
    let nodes = evenly_spread(closing.arm.angle.len(), NODES);
    // contact is told from near contact by a hundredth of the distance
    let fine = 10f64.powf((100.0 / (TOUCHING * closing.travel)).log10().ceil());
    let states: Vec<_> = kept.iter().map(|&i| &closing.states[i]).collect();
    let heights = |list: &dyn Fn(&ArmState) -> &Vec<f64>| {
        let rounded = |height: f64| (fine * height).round() / fine + 0.0;
        states.iter().map(|state| nodes.iter().map(|&i| rounded(list(state)[i])).collect()).collect()
    };
    Motion {
        deflection_mm: short(states.iter().map(|state| state.deflection)),
        force_n: short(states.iter().map(|state| state.force)),
        height_mm: heights(&|state| &state.height),
        line_mm: heights(&|state| &state.touching_height),
        slope: states
            .iter()
            .map(|state| {
                // ω × e_r, its part along the axis
                let slope = |i: usize| {
                    let ([x, y], angle) = (state.rotation[i], closing.arm.angle[i]);
                    x * angle.sin() - y * angle.cos()
                };
                short(nodes.iter().map(|&i| slope(i)))
            })
            .collect(),
        stress_mpa: states
            .iter()
            .map(|state| nodes.iter().map(|&i| state.stress[i].edge.round()).collect())
            .collect(),
        touching_mm: TOUCHING * closing.travel,
        upper: draft.evaluation.spring.seat.pressing == Pressing::Plates,
        seated_share: states.iter().map(|state| (1e3 * state.seated_share).round() / 1e3).collect(),
    }
}

/// Values to a ten-thousandth: finer than any line drawn.
fn short(values: impl Iterator<Item = f64>) -> Vec<f64> {
    values.map(|value| (1e4 * value).round() / 1e4).collect()
}
