//! Remedies that were tried: changes of the spring or its use, each pressed and checked again before it is printed.

use serde::Serialize;

use super::closing::Closing;
use super::endurance::cycles_in_words;
use super::fatigue::FatigueCheck;
use super::strength::StrengthCheck;
use super::{CheckOptions, Checks};
use crate::curve::TargetCurve;
use crate::layout::Spring;
use crate::material::{EdgeFinish, edge_range};
use crate::model::ModelError;
use crate::numeric::short;
use crate::spec::SlotEnds;

/// Easings to try, in arm widths.
const EASINGS: [f64; 5] = [2.0, 4.0, 8.0, 12.0, 20.0];

/// Diameters of keyholes to try, over the slot's width.
const KEYHOLES: [f64; 2] = [1.5, 2.5];

/// Shares of the upper end of the stroke to try.
const SHORTER: [f64; 3] = [0.9, 0.8, 0.7];

/// Shares of the free height to try.
const LOWER: [f64; 3] = [0.95, 0.9, 0.8];

/// Shares of the width of a ring that is stressed too much to try.
const WIDER: [f64; 3] = [1.25, 1.5, 2.0];

/// One change and its result.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Remedy {
    /// the change in words: "easing 4 instead of 1"
    pub change: String,
    /// whether strength is yes with it
    pub strength: Option<bool>,
    /// whether life is yes with it; none where no cycles are asked for or life is not judged
    pub life: Option<bool>,
    /// life at the weakest place in words; empty where it is not judged
    pub life_in_words: String,
    /// stress over allowable at the worst place
    pub stress_use: Option<f64>,
    /// rms error against the curve asked for (percent); none without one or where the change ends the travel too early
    pub rms_percent: Option<f64>,
    /// whether everything judged here is yes and the curve stays within its tolerance
    pub helps: bool,
    /// whether the change is named in the plural
    #[serde(skip)]
    plural: bool,
    /// the changed spring
    #[serde(skip)]
    pub spring: Spring,
    /// the changed process and duty
    #[serde(skip)]
    pub options: CheckOptions,
}

impl Remedy {
    /// The change and its result in a sentence.
    pub fn words(&self) -> String {
        let mut results = Vec::new();
        match (self.strength, self.life) {
            (Some(true), Some(true)) => results.push("strength and life to yes".to_owned()),
            (Some(true), None) => results.push("strength to yes".to_owned()),
            (_, Some(true)) => results.push("life to yes".to_owned()),
            _ => {
                if let Some(share) = self.stress_use {
                    results.push(format!("the stress to {:.0} % of the allowable", 100.0 * share));
                }
                if self.life == Some(false) {
                    results.push(format!("life to {}", self.life_in_words));
                }
            }
        }
        let curve = match self.rms_percent {
            Some(rms) => format!(" at {rms:.1} % rms"),
            None => String::new(),
        };
        let brings = if self.plural { "bring" } else { "brings" };
        format!("{} {brings} {}{curve}", self.change, results.join(" and "))
    }
}

/// Most remedies that are listed.
const MOST: usize = 3;

/// Kind of a change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Easing,
    Ends,
    Edges,
    Ring,
    Several,
    Stroke,
    Height,
}

impl Kind {
    /// Whether it is tried only where nothing simpler helps: two changes at once, or less than what was asked for.
    fn is_last_resort(self) -> bool {
        matches!(self, Self::Several | Self::Stroke | Self::Height)
    }
}

/// Edit of a spring and its question.
type Edit<'a> = &'a dyn Fn(&mut Spring, &mut CheckOptions);

/// One change of spring and question.
struct Change {
    kind: Kind,
    words: String,
    spring: Spring,
    options: CheckOptions,
}

/// Tries remedies for a spring whose strength or life is no, with the curve asked for and its tolerance (percent): those
/// that help, the fewest changes first; where none does, the one that comes nearest.
pub fn remedies(
    spring: &Spring,
    options: &CheckOptions,
    checks: &Checks,
    target: Option<(&TargetCurve, f64)>,
) -> Result<Vec<Remedy>, ModelError> {
    let strength = checks.stress.ok != Some(false);
    let life = checks.fatigue.as_ref().is_none_or(|fatigue| fatigue.ok);
    if strength && life {
        return Ok(Vec::new());
    }
    let mut helping: Vec<Remedy> = Vec::new();
    let mut kinds = Vec::new();
    let mut nearest: Option<(f64, Remedy)> = None;
    for change in changes(spring, options, checks) {
        // one of a kind is enough
        if kinds.contains(&change.kind) || (change.kind.is_last_resort() && !kinds.is_empty()) {
            continue;
        }
        let (remedy, lack) = attempt(&change, target)?;
        if remedy.helps {
            helping.push(remedy);
            kinds.push(change.kind);
            if helping.len() == MOST {
                break;
            }
        } else if nearest.as_ref().is_none_or(|(least, _)| lack < *least) {
            nearest = Some((lack, remedy));
        }
    }
    if helping.is_empty() {
        helping.extend(nearest.map(|(_, remedy)| remedy));
    }
    Ok(helping)
}

fn changes(spring: &Spring, options: &CheckOptions, checks: &Checks) -> Vec<Change> {
    let mut list = Vec::new();
    let mut add = |kind: Kind, words: String, change: Edit| {
        let (mut spring, mut options) = (spring.clone(), options.clone());
        change(&mut spring, &mut options);
        list.push(Change { kind, words, spring, options });
    };
    let ease = spring.former.ease;
    let easings = || EASINGS.into_iter().filter(move |wanted| *wanted > 1.2 * ease);
    let eased = |wanted: f64| format!("easing {wanted} instead of {}", short(ease));
    let diameter = options.process.end_diameter(spring.slot, spring.sheet.thickness);
    let holes = || {
        KEYHOLES.into_iter().map(|share| share * spring.slot).filter(move |wanted| *wanted > 1.1 * diameter)
    };
    let keyhole = |wanted: f64| format!("keyhole ends of {} mm", short(wanted));
    let end_in = |options: &mut CheckOptions, wanted: f64| {
        options.process.ends = Some(SlotEnds::Keyhole);
        options.process.end_diameter = Some(wanted);
    };
    let finish = options.process.finish.unwrap_or_default();
    let better = [EdgeFinish::Tumbled, EdgeFinish::TemperedAndTumbled, EdgeFinish::TwoSkims]
        .into_iter()
        .filter(|wanted| finish == EdgeFinish::AsCut && checks.fatigue.is_some() && *wanted != finish)
        .find(|wanted| edge_range(options.process.kind().name(), *wanted).is_some());
    let finished = |wanted: EdgeFinish| {
        let words = match wanted {
            EdgeFinish::Tumbled => "tumbled edges",
            EdgeFinish::TemperedAndTumbled => "tempered and tumbled edges",
            EdgeFinish::TwoSkims => "two skim cuts",
            EdgeFinish::Peened => "peened edges",
            EdgeFinish::AsCut => "edges as cut",
        };
        words.to_owned()
    };
    for wanted in easings() {
        add(Kind::Easing, eased(wanted), &|spring, _| spring.former.ease = wanted);
    }
    for wanted in holes() {
        add(Kind::Ends, keyhole(wanted), &|_, options| end_in(options, wanted));
    }
    if let Some(better) = better {
        add(Kind::Edges, finished(better), &|_, options| options.process.finish = Some(better));
    }
    widen_rings(&mut add, spring, checks);
    for wanted in easings() {
        for hole in holes() {
            add(Kind::Several, format!("{} with {}", eased(wanted), keyhole(hole)), &|spring, options| {
                spring.former.ease = wanted;
                end_in(options, hole);
            });
        }
        if let Some(better) = better {
            add(Kind::Several, format!("{} with {}", eased(wanted), finished(better)), &|spring, options| {
                spring.former.ease = wanted;
                options.process.finish = Some(better);
            });
        }
    }
    if let (Some(better), Some(hole)) = (better, holes().next_back()) {
        for wanted in easings().chain([ease]) {
            let words = if wanted > ease { format!("{}, ", eased(wanted)) } else { String::new() };
            add(
                Kind::Several,
                format!("{words}{} and {}", keyhole(hole), finished(better)),
                &|spring, options| {
                    spring.former.ease = wanted;
                    end_in(options, hole);
                    options.process.finish = Some(better);
                },
            );
        }
    }
    let stroke = options.stroke(spring.former.free_height);
    if stroke.cycles > 0.0 && checks.stress.ok == Some(true) {
        for share in SHORTER {
            let end = stroke.start + share * (stroke.end - stroke.start);
            add(
                Kind::Stroke,
                format!("a stroke that ends at {} instead of {} mm", short(end), short(stroke.end)),
                &|_, options| {
                    options.duty.stroke_end = Some(end);
                },
            );
        }
    }
    for share in LOWER {
        let height = share * spring.former.free_height;
        let words =
            format!("a free height of {} instead of {} mm", short(height), short(spring.former.free_height));
        add(Kind::Height, words, &|spring, _| spring.former.free_height = height);
    }
    list
}

/// Wider rings, where a ring is stressed too much.
fn widen_rings(add: &mut dyn FnMut(Kind, String, Edit), spring: &Spring, checks: &Checks) {
    let failing = |root| checks.stress.rings.iter().any(|ring| ring.root == root && ring.ok == Some(false));
    let [rim, hub] = spring.disc.ring_widths(spring.slot);
    for share in WIDER {
        if failing("rim") {
            let outer = spring.disc.outer_radius + (share - 1.0) * rim;
            add(Kind::Ring, format!("an outside diameter of {} mm", short(2.0 * outer)), &|spring, _| {
                spring.disc.outer_radius = outer;
            });
        }
        if failing("hub") && spring.disc.is_bored() {
            let bore = (spring.disc.bore_radius - (share - 1.0) * hub).max(0.0);
            add(Kind::Ring, format!("a bore of {} mm", short(2.0 * bore)), &|spring, _| {
                spring.disc.bore_radius = bore;
            });
        }
    }
}

/// The result of a change, and how far it is from yes: the largest of stress over allowable, cycles lacking and error
/// over tolerance.
fn attempt(change: &Change, target: Option<(&TargetCurve, f64)>) -> Result<(Remedy, f64), ModelError> {
    let (spring, options) = (&change.spring, &change.options);
    let closing = Closing::of(spring, &options.model, &options.stops(spring))?;
    let stress = StrengthCheck::of(spring, &closing, options);
    let fatigue = FatigueCheck::of(spring, &closing, options.stroke(closing.travel), options);
    let installed = options.duty.installed.unwrap_or(0.0);
    let mut missed = 0.0;
    let mut rms_percent = None;
    if let Some((target, tolerance)) = target {
        let stops: Vec<f64> = target.deflection.iter().map(|x| x + installed).collect();
        if stops.last().is_some_and(|last| *last <= closing.travel) {
            let (rms, _) = target.errors_percent(&closing.model.response(&stops)?.force);
            missed = rms / tolerance;
            rms_percent = Some(rms);
        } else {
            missed = f64::INFINITY;
        }
    }
    let life = fatigue.as_ref().map(|fatigue| fatigue.ok);
    let stress_use = stress.worst_use().map(|(share, _)| share);
    let lives = fatigue.as_ref().map_or(0.0, |fatigue| {
        fatigue.life_range[0]
            .map_or(0.0, |low| if fatigue.ok { 0.0 } else { 1.0 + (fatigue.cycles / low).max(1.0).log10() })
    });
    let lack = stress_use.unwrap_or(0.0).max(lives).max(missed);
    let remedy = Remedy {
        change: change.words.clone(),
        strength: stress.ok,
        life,
        life_in_words: fatigue.as_ref().map_or_else(String::new, FatigueCheck::life_in_words),
        stress_use,
        rms_percent,
        helps: stress.ok != Some(false) && life != Some(false) && missed <= 1.0,
        plural: matches!(change.kind, Kind::Ends | Kind::Edges),
        spring: spring.clone(),
        options: options.clone(),
    };
    Ok((remedy, lack))
}

/// Remedies in words, for a verdict; empty where none was tried.
pub fn in_words(remedies: &[Remedy], cycles: f64) -> String {
    let Some(first) = remedies.first() else { return String::new() };
    if first.helps {
        let words: Vec<String> = remedies.iter().map(Remedy::words).collect();
        return format!("tried: {}", words.join("; or "));
    }
    let asked = if cycles > 0.0 { format!(" for {} cycles", cycles_in_words(cycles)) } else { String::new() };
    format!(
        "tried easing, slot ends, edges and height: none of them is enough{asked}; {}; let the search find longer arms, \
         another sheet or a larger disc",
        first.words()
    )
}
