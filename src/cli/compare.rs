//! `flatspire compare`: the effect of the taper.

use std::path::Path;

use serde::Serialize;

use super::arguments::{CompareOptions, General};
use super::failure::Failure;
use super::folder::Contents;
use super::{Verdict, assembled, compare_assembly, files, folder, terminal};
use crate::compare::{
    self, CompareSettings, Comparison, Contender, RATES_AT, SEATED_AT, TurnSeat, compare, nominal_target,
};
use crate::curve::TargetCurve;
use crate::layout::Spring;
use crate::pipeline::{self, Question};
use crate::plot::{Quantity, Units};
use crate::spec::Brief;

/// Numbers of arms tried where the brief names none.
const ARMS: [usize; 4] = [1, 2, 3, 4];
/// Shares of the travel at which the table shows the rate.
const RATES_SHOWN: [f64; 4] = [0.02, 0.3, 0.6, 0.9];
#[derive(Serialize)]
struct Shown<'a> {
    #[serde(flatten)]
    comparison: &'a Comparison,
    seated_at_travel_share: [f64; 5],
    rates_at_travel_share: [f64; 11],
    warnings: &'a [String],
}

/// The spring to compare, with the curve and the brief.
struct Subject {
    spring: Spring,
    target: TargetCurve,
    brief: Brief,
    arms: Vec<usize>,
    warnings: Vec<String>,
}

/// Compares.
pub fn run(options: &CompareOptions, general: &General) -> Result<Verdict, Failure> {
    if let Some(path) = assembled::path_of(&options.file) {
        return compare_assembly::run(&path, options, general);
    }
    let path = &files::spring_path(&options.file);
    let is_spring = path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("toml"));
    if let Some(brief) = options.brief.as_deref().filter(|_| is_spring) {
        return Err(Failure::OnlyForCurves { file: files::name(path), brief: files::name(brief) });
    }
    let reading =
        [("--branch", options.reading.branch.is_some()), ("--columns", options.reading.columns.is_some())];
    if let Some((option, _)) = reading.into_iter().find(|(_, given)| *given && is_spring) {
        let found = files::name(path);
        return Err(Failure::Option { option, found, expected: "a curve file (CSV) beside it" });
    }
    let subject = if is_spring { from_spring(path) } else { from_curve(options) }?;
    let settings = CompareSettings {
        arms: subject.arms.clone(),
        ..CompareSettings::of(&subject.spring, &subject.target, &subject.brief)
    };
    let comparison = compare(&subject.spring, &subject.target, &settings)
        .map_err(|source| Failure::Compare { file: files::name(path), source: source.into() })?;
    let units = general.units.into();
    if let Some(out) = &options.out {
        let contents = Contents::part_of(path, options.force)?;
        folder::write_or_save(out, &compare::files(&comparison, units)?, &contents)?;
    }
    for warning in &subject.warnings {
        terminal::warn(warning);
    }
    if general.json {
        terminal::print_json(&Shown {
            comparison: &comparison,
            seated_at_travel_share: SEATED_AT,
            rates_at_travel_share: RATES_AT,
            warnings: &subject.warnings,
        })?;
    } else {
        terminal::print(&report(&comparison, units))?;
    }
    Ok(Verdict::of(comparison.springs.first().is_some_and(|first| first.passed)))
}

fn from_curve(options: &CompareOptions) -> Result<Subject, Failure> {
    let (path, brief) = (&options.file, options.brief.as_deref());
    let target = files::read_curve(path, &options.reading.choice())?;
    let brief = match brief {
        Some(path) => files::read_brief(path)?,
        None => Brief::default(),
    };
    let answer = pipeline::answer(Question { target: target.clone(), brief: brief.clone() }, &|_| {})?;
    Ok(Subject {
        spring: answer.spring().clone(),
        target,
        arms: brief.arms.count.clone().unwrap_or_else(|| ARMS.to_vec()),
        brief,
        warnings: answer.summary.evaluation.warnings,
    })
}

fn from_spring(path: &Path) -> Result<Subject, Failure> {
    let (file, spring) = files::read_spring(path)?;
    let mut warnings = Vec::new();
    let target = if let Some(target) = files::read_target(path, &file)? {
        target
    } else {
        warnings
            .push("the spring file has no [target]: the others are designed for its own curve".to_owned());
        nominal_target(&spring)
            .map_err(|source| Failure::Compare { file: files::name(path), source: source.into() })?
    };
    Ok(Subject { spring, target, brief: file.brief(), arms: ARMS.to_vec(), warnings })
}

/// Table for the terminal.
fn report(comparison: &Comparison, units: Units) -> String {
    let mut text = String::new();
    let mut row = |name: &str, cell: &dyn Fn(&Contender) -> String| {
        text.push_str(&format!("{name:<26}"));
        for spring in &comparison.springs {
            text.push_str(&format!("{:>17}", cell(spring)));
        }
        text.push('\n');
    };
    let length = |value| crate::numeric::with_unit(value, Quantity::Length, units);
    let force = |value| crate::numeric::with_unit(value, Quantity::Force, units);
    let rate = |value| crate::numeric::with_unit(value, Quantity::Rate, units);
    let stress = |value| crate::numeric::with_unit(value, Quantity::Stress, units);
    row("", &|spring| spring.kind.name().to_owned());
    row("curve error, rms", &|spring| format!("{:.2} %", spring.fit.rms_percent));
    row("curve error, largest", &|spring| format!("{:.2} %", spring.fit.max_percent));
    for share in RATES_SHOWN {
        row(&format!("rate at {:.0} % of travel", 100.0 * share), &|spring| rate(spring.rate_at(share)));
    }
    row("arms, turns of each", &|spring| format!("{}, {:.2}", spring.arms, spring.turn_count()));
    let most = comparison.springs.iter().map(|spring| spring.turns.len()).max().unwrap_or(0);
    for turn in 0..most {
        let cell = |pick: fn(&TurnSeat) -> Option<f64>| {
            move |spring: &Contender| {
                let Some(turn) = spring.turns.get(turn) else { return String::new() };
                pick(turn).map_or_else(|| "not before flat".to_owned(), length)
            }
        };
        row(&format!("turn {} from rim touches", turn + 1), &cell(|turn| turn.touches_at_mm));
        row(&format!("turn {} from rim 90 % down", turn + 1), &cell(|turn| turn.lies_at_mm));
    }
    for (k, share) in SEATED_AT.iter().enumerate() {
        let name = format!("seated at {:.0} % of travel", 100.0 * share);
        row(&name, &|spring| format!("{:.0} %", 100.0 * spring.seated_share[k]));
    }
    row("peak stress of the arms", &|spring| stress(spring.stress.peak_mpa));
    row("largest at a slot end", &|spring| spring.stress.slot_end_mpa().map_or_else(String::new, stress));
    row("largest in a ring", &|spring| spring.stress.ring_mpa().map_or_else(String::new, stress));
    row("verdicts", &|spring| if spring.passed { "all yes".to_owned() } else { "not all yes".to_owned() });
    let most = comparison.springs.iter().map(|spring| spring.verdicts.failing().count()).max().unwrap_or(0);
    for k in 0..most {
        row("", &|spring| {
            let failing = spring.verdicts.failing().nth(k);
            failing
                .map_or_else(String::new, |named| format!("{} {}", named.label, named.verdict.state.word()))
        });
    }
    row("travel to flat", &|spring| length(spring.free_height_mm));
    row("solid height", &|spring| length(spring.flat.solid_height_mm));
    row("closing force", &|spring| force(spring.flat.closing_force_n));
    row("length cut", &|spring| spring.cut.map_or_else(String::new, |cut| length(cut.cut_length_mm)));
    row("machine time", &|spring| {
        let seconds = spring.cut.and_then(|cut| cut.machine_seconds);
        seconds.map_or_else(String::new, |[from, to]| format!("{from:.0} to {to:.0} s"))
    });
    row("weight", &|spring| spring.mass_g.map_or_else(String::new, |mass| format!("{mass:.1} g")));
    if comparison.springs.iter().any(|spring| spring.cost.is_some_and(|cost| cost.part.is_some())) {
        row("price of a part", &|spring| {
            let price = spring.cost.and_then(|cost| cost.part);
            let shop = spring.spring.shop.clone().unwrap_or_default();
            price.map_or_else(String::new, |price| shop.money_range(price))
        });
    }
    row("radial width at hub", &|spring| spring.width_mm.map_or_else(String::new, |width| length(width[0])));
    row("radial width at rim", &|spring| spring.width_mm.map_or_else(String::new, |width| length(width[1])));
    text.push('\n');
    for finding in &comparison.findings {
        text.push_str(&format!("{finding}\n"));
    }
    text
}
