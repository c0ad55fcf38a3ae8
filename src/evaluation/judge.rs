//! The table of verdicts: for each a name, a label and a judge. A new verdict is one row here and its judge.

use super::asked::Asked;
use super::drawing::{Drawing, DrawingError, READ_BACK_LIMIT_PERCENT};
use super::fit::Fit;
use super::parts::Parts;
use super::verdict::{NamedVerdict, Verdict, VerdictState, Verdicts};
use crate::checks::{
    Checks, Finding, LIFE_SAFETY, LOCAL_YIELDING_SHARE, RootStress, Severity, cycles_in_words,
};
use crate::numeric::short;

/// Evidence for the judges.
pub(super) struct Evidence<'a> {
    pub asked: &'a Asked,
    pub checks: &'a Checks,
    pub fit: Option<&'a Fit>,
    pub drawing: Result<&'a Drawing, &'a DrawingError>,
    pub parts: Option<&'a Parts>,
}

/// A judge.
type Judge = fn(&Evidence) -> Verdict;

/// Name in files, name in texts, judge.
const TABLE: [(&str, &str, Judge); 9] = [
    ("curve", "curve", curve),
    ("flat", "flat", flat),
    ("strength", "strength", strength),
    ("life", "life", life),
    ("keeps_height", "keeps height", keeps_height),
    ("cutting", "cutting", cutting),
    ("guide", "guide", guide),
    ("parts", "parts", parts),
    ("assembly", "assembly", |_| Verdict::not_asked("a single disc")),
];

/// Verdict on each row of the table.
pub(super) fn judge(evidence: &Evidence) -> Verdicts {
    let rows = TABLE.iter();
    Verdicts(
        rows.map(|&(name, label, judge)| NamedVerdict { name, label, verdict: judge(evidence) }).collect(),
    )
}

/// The verdict of the first failed finding of some checks.
fn failed(evidence: &Evidence, checks: &[&str]) -> Option<Verdict> {
    evidence.checks.failed().find(|finding| checks.contains(&finding.check)).map(Verdict::failed)
}

fn warned<'a>(evidence: &'a Evidence, check: &str) -> Option<&'a Finding> {
    evidence
        .checks
        .findings
        .iter()
        .find(|finding| finding.check == check && finding.severity == Severity::Warning)
}

fn curve(evidence: &Evidence) -> Verdict {
    let Some(fit) = evidence.fit else { return Verdict::not_asked("no curve is asked for") };
    let summary = &fit.summary;
    let figures = format!(
        "{:.2} % rms, {} % allowed; largest {:.1} % of the force there",
        summary.rms_percent, summary.tolerance_percent, summary.largest_relative_percent
    );
    let verdict = if fit.met {
        let remark = if summary.reachable { "" } else { "; no seating spring follows the curve exactly" };
        Verdict::yes(figures + remark)
    } else {
        let remedy = fit.reach.findings.first().filter(|_| !summary.reachable).map_or_else(
            || "allow a larger disc, more height, another sheet, or a wider tolerance".to_owned(),
            |finding| finding.remedy.clone(),
        );
        Verdict::new(VerdictState::No, format!("{figures}; {}", summary.reason), remedy)
    };
    verdict
        .with(summary.rms_percent, Some(summary.tolerance_percent), "%")
        .at(format!("largest relative error at {:.2} mm", summary.largest_relative_at_mm))
}

fn flat(evidence: &Evidence) -> Verdict {
    failed(evidence, &["flat", "turns"]).unwrap_or_else(|| {
        let flat = &evidence.checks.flat;
        Verdict::yes(format!(
            "solid height {} mm, arms {} mm proud, a flat plate lays everything down with {} N",
            short(flat.solid_height_mm),
            short(flat.proud_mm),
            short(flat.flattening_force_n)
        ))
        .with(flat.solid_height_mm, flat.solid_height_limit_mm, "mm")
        .at(format!("highest point: the {}", flat.highest))
    })
}

fn strength(evidence: &Evidence) -> Verdict {
    let stress = &evidence.checks.stress;
    let Some(allowable) = stress.allowable_mpa else {
        return Verdict::new(
            VerdictState::NotJudged,
            format!("peak {} MPa, no strength of the sheet is known", short(stress.peak_mpa)),
            "name a sheet of the stock (sheet.material) or give sheet.yield_strength or sheet.tensile_strength",
        )
        .with(stress.peak_mpa, None, "MPa");
    };
    failed(evidence, &["strength", "slot end", "ring"]).unwrap_or_else(|| {
        let most = |parts: &[RootStress]| parts.iter().map(|part| part.stress_mpa).fold(0.0, f64::max);
        let mut reason = format!("arms {} MPa", short(stress.peak_mpa));
        if !stress.slot_ends.is_empty() {
            reason.push_str(&format!(
                ", slot ends {} MPa, rings {} MPa",
                short(most(&stress.slot_ends)),
                short(most(&stress.rings))
            ));
        }
        reason.push_str(&format!("; {} MPa allowed", short(allowable)));
        if stress.slot_ends.iter().any(|end| end.yields_locally) {
            reason.push_str(&format!(
                ", {LOCAL_YIELDING_SHARE} times that at slot ends, which yield locally at the first closings \
                 (duty.local_yielding)"
            ));
        }
        let (share, place) = stress.worst_use().unwrap_or_default();
        Verdict::yes(reason).with(share * allowable, Some(allowable), "MPa").at(place)
    })
}

fn life(evidence: &Evidence) -> Verdict {
    let cycles = evidence.asked.checks.duty.cycles;
    if cycles <= 0.0 {
        return Verdict::not_asked("static use: no cycles are asked for");
    }
    if let Some(verdict) = failed(evidence, &["life"]) {
        return verdict;
    }
    let Some(fatigue) = &evidence.checks.fatigue else {
        let finding = warned(evidence, "life");
        return Verdict::new(
            VerdictState::NotJudged,
            finding.map_or_else(|| "no fatigue data".to_owned(), |finding| finding.rule.clone()),
            finding.map_or_else(
                || "test samples over the stroke to the cycles wanted".to_owned(),
                |finding| finding.remedy.clone(),
            ),
        );
    };
    // asked is a life with the safety factor on the stress, which an infinite one may miss by its margin
    let with_safety = fatigue.life_cycles.map_or(fatigue.life_range[0], Some);
    let safe = match (fatigue.life_cycles, fatigue.life_range[0]) {
        (None, Some(low)) => {
            format!(", {} cycles with {LIFE_SAFETY} on the stress", cycles_in_words(low))
        }
        _ => String::new(),
    };
    let verdict = Verdict::yes(format!(
        "{} at the weakest place{safe}, {} cycles asked over {} to {} mm",
        fatigue.life_in_words(),
        cycles_in_words(cycles),
        short(fatigue.stroke_start_mm),
        short(fatigue.stroke_end_mm)
    ));
    let verdict = match with_safety {
        Some(life) => verdict.with(life, Some(cycles), "cycles"),
        None => verdict.with(fatigue.factor, Some(LIFE_SAFETY), "safety factor"),
    };
    verdict.at(fatigue.place.clone())
}

fn keeps_height(evidence: &Evidence) -> Verdict {
    let Some(setting) = &evidence.checks.setting else {
        return Verdict::new(
            VerdictState::NotJudged,
            "no strength of the sheet is known",
            "name a sheet of the stock (sheet.material) or give sheet.yield_strength",
        );
    };
    let duty = &evidence.asked.checks.duty;
    let service = evidence.checks.service.as_ref();
    if (duty.temperature.is_some() || duty.hours.is_some()) && service.is_none() {
        return Verdict::new(
            VerdictState::NotJudged,
            "no data on this sheet at temperature and over time",
            "test samples at the temperature, or leave duty.temperature and duty.hours out",
        );
    }
    failed(evidence, &["setting", "service"]).unwrap_or_else(|| {
        let travel = evidence.checks.flat.travel_mm;
        let kept = setting.height_after_first_closing_mm;
        // what differs by less than can be measured is the same number
        let kept = if (kept / travel - 1.0).abs() < 1e-6 { travel } else { kept };
        let reason = match setting.former_height_mm {
            Some(former) if former > 1.001 * travel => {
                format!("formed to {} mm it keeps {} mm", short(former), short(travel))
            }
            _ => format!("keeps {} of {} mm at the first closing", short(kept), short(travel)),
        };
        let reason = service.map_or(reason.clone(), |service| format!("{reason}; {}", service.words()));
        Verdict::yes(reason).with(kept, None, "mm")
    })
}

fn cutting(evidence: &Evidence) -> Verdict {
    let drawing = match evidence.drawing {
        Ok(drawing) => drawing,
        Err(reason) => {
            return Verdict::new(
                VerdictState::NotJudged,
                format!("no drawing: {reason}"),
                "give [arm] radius and width, so that the slots can be drawn",
            );
        }
    };
    if let Some(finding) = drawing.grave().next() {
        return Verdict::new(
            VerdictState::No,
            finding.to_string(),
            "change the spring or the process's limits",
        )
        .with(finding.value, Some(finding.limit), "mm")
        .at(format!("contour {}", finding.contour));
    }
    if let Some(read_back) = drawing.read_back.filter(|read| read.force_percent > READ_BACK_LIMIT_PERCENT) {
        return Verdict::new(
            VerdictState::No,
            format!("the force predicted from the drawing differs by {:.2} %", read_back.force_percent),
            "take smoother widths",
        )
        .with(read_back.force_percent, Some(READ_BACK_LIMIT_PERCENT), "%");
    }
    let rules = &drawing.rules;
    match drawing.read_back {
        Some(read_back) => Verdict::yes(format!(
            "{}: narrowest arm {} mm, {} mm is the least",
            rules.process,
            short(read_back.least_arm_mm),
            short(rules.arm_min)
        ))
        .with(read_back.least_arm_mm, Some(rules.arm_min), "mm"),
        None => Verdict::yes(rules.process.clone()),
    }
}

fn guide(evidence: &Evidence) -> Verdict {
    let guide = &evidence.checks.guide;
    failed(evidence, &["guide"]).unwrap_or_else(|| {
        if !guide.guided {
            return Verdict::yes(format!("the free hub tilts by up to {:.1}°", guide.tilt_degrees)).with(
                guide.tilt_degrees,
                Some(crate::checks::TILT_MAX_DEGREES),
                "°",
            );
        }
        let reason = if guide.moment_nmm > 0.0 {
            format!("a single arm: the guide resists a hub moment of {} N·mm", short(guide.moment_nmm))
        } else {
            "the arms balance: no moment on the guide".to_owned()
        };
        Verdict::yes(reason).with(guide.moment_nmm, guide.moment_max_nmm, "N·mm")
    })
}

fn parts(evidence: &Evidence) -> Verdict {
    parts_verdict(evidence.parts, evidence.asked.fit.good_parts_min)
}

/// Verdict on a share of good parts, or of good assemblies, against the least asked for (percent).
pub(super) fn parts_verdict(parts: Option<&Parts>, asked: Option<f64>) -> Verdict {
    let (Some(parts), Some(least)) = (parts, asked) else {
        return match asked {
            None => Verdict::not_asked("no share of good parts is asked for (fit.good_parts_min)"),
            Some(_) => Verdict::new(
                VerdictState::NotJudged,
                "the scatter of parts could not be computed",
                "check the tolerances ([tolerance])",
            ),
        };
    };
    let good = parts.good_percent;
    let reason = format!(
        "{good:.0} % of parts as wanted as bought, {:.0} % with the sheet measured",
        parts.good_percent_sheet_measured
    );
    let verdict = if good >= least {
        Verdict::yes(reason)
    } else {
        Verdict::new(VerdictState::No, reason, parts.as_bought.tighten_first.clone())
    };
    verdict.with(good, Some(least), "%")
}
