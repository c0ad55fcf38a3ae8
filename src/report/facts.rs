//! The facts of a report, ready to be set.

use serde::Serialize;

use super::ReportError;
use super::assumptions::{Assumption, assumptions};
use super::blank::Blank;
use super::charts::{self, Along, NamedChart};
use super::formed::{FormedBody, cut_places, sections};
use super::page_data::{DrawnChart, in_page, page_data};
use super::rivals::{Rivals, ScatterFacts, bars, comparison_chart, comparison_table, scatter_facts, shade};
use super::shown::{Shown, sentence};
use super::stroke::Stroke;
use super::subject::Subject;
use super::tables::{self, Table};
use super::tiles::{Tile, tiles};
use crate::checks::FLATNESS_MM;
use crate::outline::CutRules;
use crate::plot::{ChartPicture, PageSize, Picture, PlanPicture, RingStack, StackRing, Units, share_bars};
use crate::variation::Scatter;

/// Size of a chart in the page: text of 13 points stays readable on a phone.
const CHART: PageSize = PageSize { width: 460.0, height: 330.0 };
/// Size of the curve.
const CURVE: PageSize = PageSize { width: 460.0, height: 310.0 };
/// Width of the other pictures (points).
const PLAN_WIDTH: f64 = 380.0;
const SECTION_WIDTH: f64 = 520.0;
const BODY_WIDTH: f64 = 560.0;
const FORMER_WIDTH: f64 = 520.0;

/// Scales at which the plan may be printed, and the widest it may become (mm).
const PRINT_SCALES: [(f64, &str); 7] = [
    (5.0, "5 : 1"),
    (2.0, "2 : 1"),
    (1.0, "1 : 1"),
    (0.5, "1 : 2"),
    (0.2, "1 : 5"),
    (0.1, "1 : 10"),
    (0.05, "1 : 20"),
];
const PRINT_WIDTH: f64 = 84.0;

/// A picture with the name of its files.
pub(super) type NamedPicture = (&'static str, Picture);

/// A picture in the page.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub(super) struct Figure {
    pub name: String,
    pub svg: String,
    pub caption: String,
}

/// One way to set the spring.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Way {
    pub name: String,
    pub height: String,
    pub steps: Vec<String>,
    pub source: String,
}

/// Everything the page says.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub(super) struct Facts {
    pub title: String,
    pub subtitle: String,
    pub passed: bool,
    pub outcome: String,
    pub reason: String,
    pub curve: Option<Figure>,
    pub plan: Option<Figure>,
    pub plan_missing: String,
    pub tiles: Vec<Tile>,
    pub cautions: Vec<String>,
    pub sizes: Vec<Vec<String>>,
    pub units_note: String,
    pub departures: Table,
    pub findings: Table,
    pub notes: Vec<String>,
    pub travel_charts: Vec<Figure>,
    pub arm_charts: Vec<Figure>,
    pub stress_charts: Vec<Figure>,
    pub body: bool,
    pub body_notes: Vec<String>,
    pub sections: Option<Figure>,
    pub comparison: Option<Figure>,
    pub comparison_table: Table,
    pub comparison_missing: String,
    pub scatter: Option<Figure>,
    pub parts: ScatterFacts,
    pub scatter_missing: String,
    pub shortlist: Option<Table>,
    pub considered: String,
    pub setting_lines: Vec<String>,
    pub ways: Vec<Way>,
    pub former: Option<Figure>,
    pub rings: Table,
    pub ring_note: String,
    pub heights: Table,
    pub cut: Option<Table>,
    pub assumptions: Vec<Assumption>,
    pub file: String,
    pub data: String,
    pub flat_caption: String,
}

/// Gathers the facts and draws the pictures.
pub(super) fn gather(subject: &Subject, units: Units) -> Result<(Facts, Vec<NamedPicture>), ReportError> {
    let shown = Shown { units };
    let spring = subject.spring;
    let (stroke, rivals) = rayon::join(|| Stroke::of(spring), || Rivals::of(subject));
    let stroke = stroke?;
    let rules = CutRules::of(&subject.file.process.clone().unwrap_or_default(), spring.sheet.thickness);
    let blank = Blank::of(spring, rules.clone()).map_err(|error| error.to_string());
    let mut pictures: Vec<NamedPicture> = Vec::new();

    let mut curve = charts::named_curve(subject, &charts::curve(subject, &stroke))?;
    curve.chart.bands.extend(rivals.scatter.iter().map(shade).filter(|band| band.x.len() > 1));
    let mut drawn = vec![draw(curve, CURVE, shown)?];
    for chart in charts::others(subject, &stroke) {
        drawn.push(draw(chart, CHART, shown)?);
    }
    if let Ok(comparison) = &rivals.comparison {
        let chart = comparison_chart(comparison, subject.target);
        let named = NamedChart { name: "comparison", along: Along::Travel(subject.installed), chart };
        drawn.push(draw(named, CHART, shown)?);
    }
    pictures.extend(drawn.iter().map(|chart| (chart.named.name, chart.picture.picture.clone())));
    let plan = match &blank {
        Ok(blank) => Some(blank.plan.picture(PLAN_WIDTH, units)?),
        Err(_) => None,
    };
    pictures.extend(plan.iter().map(|plan| ("plan", plan.picture.clone())));
    let cuts = cut_places(spring, &stroke);
    let titles = [0.0, 0.5, 1.0].map(|share| {
        let shape = stroke.shape_at(share);
        let name = if share == 0.0 {
            "free"
        } else if share < 1.0 {
            "half closed"
        } else {
            "closed to 1\u{a0}%"
        };
        format!("{name}: pressed in by {}, {}", shown.sized(shape.deflection), shown.force(shape.force))
    });
    let section = sections(spring, &stroke, &cuts, titles.clone()).picture(SECTION_WIDTH, units)?;
    pictures.push(("sections", section.clone()));
    let body = FormedBody::of(spring, &stroke, BODY_WIDTH).map_err(|error| error.to_string());
    if let Ok(body) = &body {
        for ((name, share), title) in [("spring_free", 0.0), ("spring_half", 0.5), ("spring_closed", 1.0)]
            .into_iter()
            .zip(titles.clone())
        {
            pictures.push((name, body.picture(stroke.shape_at(share), format!("The spring, {title}"))));
        }
    }
    let shares = match &rivals.scatter {
        Ok(found) => Some(share_bars("What makes the force scatter", &bars(found, shown), CHART.width)?),
        Err(_) => None,
    };
    pictures.extend(shares.iter().map(|shares| ("scatter", shares.clone())));
    let former = ring_stack(subject).picture(FORMER_WIDTH, units)?;
    pictures.push(("former", former.clone()));

    let data = page_data(spring, &stroke, &drawn, body.as_ref().ok(), &cuts, plan.as_ref(), shown);
    let figure = |name: &str, caption: String| Figure {
        name: name.to_owned(),
        svg: drawn
            .iter()
            .find(|chart| chart.named.name == name)
            .map(|chart| chart.picture.picture.svg())
            .unwrap_or_default(),
        caption,
    };
    let failed: Vec<String> = subject.verdicts.failed().map(|finding| finding.check.to_owned()).collect();
    let facts = Facts {
        title: title(subject, shown),
        subtitle: format!(
            "{} {}, travel to flat {}, closed {}",
            spring.sheet.material.as_deref().unwrap_or("sheet not named,"),
            shown.sized(spring.sheet.thickness),
            shown.sized(stroke.travel),
            shown.sized(subject.verdicts.flat.solid_height_mm)
        ),
        passed: subject.passed(),
        outcome: outcome(subject, &failed),
        reason: subject.fit.map(|fit| sentence(&fit.reason)).unwrap_or_default(),
        curve: Some(figure("curve", curve_caption(subject, &stroke, rivals.scatter.as_ref().ok(), shown))),
        plan: plan.as_ref().map(|plan| plan_figure(plan, spring.disc.outer_radius)),
        plan_missing: blank.as_ref().err().cloned().unwrap_or_default(),
        tiles: tiles(subject, blank.as_ref().map_err(String::as_str), shown),
        cautions: subject.verdicts.cautions.clone(),
        sizes: tables::sizes(subject, shown),
        departures: subject.reach.map(|reach| tables::departures(reach, shown)).unwrap_or_default(),
        units_note: units_note(units),
        findings: tables::findings(subject, shown),
        notes: notes(subject),
        travel_charts: vec![
            figure("rate", "Slope of the predicted curve, taken over 1.5\u{a0}% of the travel.".to_owned()),
            figure(
                "seated",
                format!(
                    "Nearer to a plate than {}, as flat as a set spring is. What lies works no longer: the free length \
                     shrinks and the rate rises.",
                    shown.sized(FLATNESS_MM)
                ),
            ),
        ],
        arm_charts: vec![
            figure("width", "Along the radius, at mid-thickness; between the roots.".to_owned()),
            figure("height", height_caption(subject, shown)),
        ],
        stress_charts: vec![
            figure("stress_along", stress_caption(subject, shown)),
            figure("stress_over_travel", "Wherever on the arms it is largest; slot ends apart.".to_owned()),
        ],
        body: body.is_ok(),
        body_notes: body_notes(&stroke, body.as_ref().err(), &titles),
        sections: Some(Figure {
            name: "sections".to_owned(),
            svg: section.svg(),
            caption: section_caption(subject),
        }),
        comparison: rivals.comparison.is_ok().then(|| figure("comparison", String::new())),
        comparison_table: rivals
            .comparison
            .as_ref()
            .map(|comparison| comparison_table(comparison, shown))
            .unwrap_or_default(),
        comparison_missing: rivals
            .comparison
            .as_ref()
            .err()
            .map(|error| sentence(&error.to_string()))
            .unwrap_or_default(),
        scatter: shares.map(|shares| Figure {
            name: "scatter".to_owned(),
            svg: shares.svg(),
            caption: "Shares of the force's variance over the curve.".to_owned(),
        }),
        parts: rivals.scatter.as_ref().map(|found| scatter_facts(found, shown)).unwrap_or_default(),
        scatter_missing: rivals
            .scatter
            .as_ref()
            .err()
            .map(|error| sentence(&error.to_string()))
            .unwrap_or_default(),
        shortlist: tables::shortlist(subject, shown),
        considered: subject
            .considered
            .map(|count| format!("{count} combinations of sheet, arms and size were judged."))
            .unwrap_or_default(),
        setting_lines: setting_lines(subject, shown),
        ways: ways(subject, shown),
        former: Some(Figure { name: "former".to_owned(), svg: former.svg(), caption: String::new() }),
        rings: tables::rings(subject, shown),
        ring_note: ring_note(subject, shown),
        heights: tables::heights(subject, shown),
        cut: blank.as_ref().ok().map(|blank| tables::cut(blank, shown)),
        assumptions: assumptions(subject, &rules, shown),
        file: subject.file.to_toml(),
        data: in_page(&data),
        flat_caption: titles[2].clone(),
    };
    Ok((facts, pictures))
}

fn draw(named: NamedChart, size: PageSize, shown: Shown) -> Result<DrawnChart, ReportError> {
    let picture = ChartPicture::of(&named.chart, shown.units, size)?;
    Ok(DrawnChart { named, picture })
}

fn title(subject: &Subject, shown: Shown) -> String {
    let arms = subject.spring.arms;
    let kind = if arms == 1 { "One-arm".to_owned() } else { format!("{arms}-arm") };
    format!("{kind} flat spiral spring, Ø\u{a0}{}", shown.sized(2.0 * subject.spring.disc.outer_radius))
}

fn outcome(subject: &Subject, failed: &[String]) -> String {
    if subject.passed() {
        return "Every check passed".to_owned();
    }
    let mut faults = Vec::new();
    match subject.fit {
        Some(fit) if !fit.reachable => faults.push("the curve cannot be followed".to_owned()),
        Some(fit) if fit.rms_percent > fit.tolerance_percent => {
            faults.push("the curve is not met".to_owned());
        }
        _ => {}
    }
    let mut names: Vec<&str> = failed.iter().map(String::as_str).collect();
    names.dedup();
    if !names.is_empty() {
        faults.push(format!("failed: {}", names.join(", ")));
    }
    if faults.is_empty() {
        faults.push("a check failed".to_owned());
    }
    format!("Do not cut yet: {}", faults.join("; "))
}

fn curve_caption(subject: &Subject, stroke: &Stroke, scatter: Option<&Scatter>, shown: Shown) -> String {
    let mut caption = Vec::new();
    if subject.target.is_none() {
        caption.push("No curve was asked for: the prediction alone.".to_owned());
    }
    let piece = if stroke.by_quarters { "a quarter turn" } else { "a turn" };
    if !stroke.seats.is_empty() {
        caption.push(format!("Marks on the axis: half of {piece} has come to rest."));
    }
    if scatter.is_some_and(|found| found.curve.high_n.contains(&None)) {
        caption.push("The shade ends where more than 5\u{a0}% of the parts lie flat.".to_owned());
    }
    if subject.installed > 0.0 {
        caption.push(format!(
            "Where this curve counts zero, the spring is already pressed in by {}.",
            shown.sized(subject.installed)
        ));
    }
    if subject.reach.is_some_and(|reach| !reach.reachable) {
        caption
            .push("The dashed line is the nearest curve that a spring of this kind can follow.".to_owned());
    }
    caption.join(" ")
}

fn plan_figure(plan: &PlanPicture, radius: f64) -> Figure {
    let (scale, said) = PRINT_SCALES
        .into_iter()
        .find(|(scale, _)| scale * 2.0 * radius <= PRINT_WIDTH)
        .unwrap_or(PRINT_SCALES[PRINT_SCALES.len() - 1]);
    let size = plan.picture.size();
    let millimetres = |points: f64| format!("{:.2}mm", points / plan.scale * scale);
    // the page on paper shows it to scale: sizes in millimetres instead of points
    let svg = plan.picture.svg().replacen(
        &format!("width=\"{}\" height=\"{}\"", whole(size.width), whole(size.height)),
        &format!("width=\"{}\" height=\"{}\"", millimetres(size.width), millimetres(size.height)),
        1,
    );
    Figure { name: "plan".to_owned(), svg, caption: format!("The blank from above. On paper {said}.") }
}

/// A length of the page as the picture writes it.
fn whole(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").unwrap_or(&text).to_owned()
}

fn notes(subject: &Subject) -> Vec<String> {
    // what the checks found stands in a table of its own
    let found: Vec<String> = subject.verdicts.findings.iter().map(ToString::to_string).collect();
    subject
        .warnings
        .iter()
        .filter(|warning| !found.contains(warning))
        .map(|warning| sentence(warning))
        .collect()
}

fn units_note(units: Units) -> String {
    match units {
        Units::MillimetreNewton => String::new(),
        Units::InchPound => "Words of the checks, setting steps and files speak in mm, N and MPa.".to_owned(),
    }
}

fn height_caption(subject: &Subject, shown: Shown) -> String {
    match subject.verdicts.setting.as_ref().and_then(|setting| setting.former_height_mm) {
        Some(height) => {
            format!(
                "The former stands {} high at the hub; pressed flat once, the free height is left.",
                shown.sized(height)
            )
        }
        None => "Free height of the arm's middle above the rim.".to_owned(),
    }
}

fn stress_caption(subject: &Subject, shown: Shown) -> String {
    let ends: Vec<String> = subject
        .verdicts
        .stress
        .slot_ends
        .iter()
        .map(|end| format!("{} at the {}", shown.stress(end.stress_mpa), end.root))
        .collect();
    let mut caption = "Surface of the arm, inner edge included.".to_owned();
    if !ends.is_empty() {
        caption.push_str(&format!(" Slot ends, estimated apart: {}.", ends.join(", ")));
    }
    caption
}

fn body_notes(stroke: &Stroke, missing: Option<&String>, titles: &[String; 3]) -> Vec<String> {
    let mut notes: Vec<String> = match missing {
        Some(reason) => vec![format!("The formed spring cannot be drawn: {reason}.")],
        None => titles.to_vec(),
    };
    let tilt = stroke.shapes.iter().fold(0.0, |tilt: f64, shape| tilt.max(shape.hub_tilt));
    if tilt > 0.0 {
        notes.push(format!("The hub tilts by up to {:.1}°, which is not drawn.", tilt.to_degrees()));
    }
    let turn = stroke.shapes.iter().fold(0.0, |turn: f64, shape| turn.max(shape.hub_turn.abs()));
    if turn.to_degrees() > 0.05 {
        notes.push(format!("On the way the hub turns about its axis by up to {:.1}°.", turn.to_degrees()));
    }
    notes
}

fn section_caption(subject: &Subject) -> String {
    let arms = subject.spring.arms;
    let bent = if arms > 1 && arms % 2 == 1 {
        " The left half is cut where the arms stand as on the right."
    } else {
        ""
    };
    format!("Cut through the axis, heights to the same scale as widths. Blue: lies on a plate.{bent}")
}

fn setting_lines(subject: &Subject, shown: Shown) -> Vec<String> {
    let Some(setting) = &subject.verdicts.setting else {
        return vec!["No strength of the sheet is known: no advice on setting can be given.".to_owned()];
    };
    let mut lines = vec![format!(
        "Formed to its free height and pressed flat once, the spring keeps {} of {}.",
        shown.sized(setting.height_after_first_closing_mm),
        shown.sized(subject.verdicts.flat.travel_mm)
    )];
    match (setting.former_height_mm, setting.over_height) {
        (Some(height), Some(over)) => lines.push(format!(
            "Form to {} ({:+.1}\u{a0}%), so that the free height is left.",
            shown.sized(height),
            100.0 * (over - 1.0)
        )),
        _ => lines
            .push("However high it is formed, it does not keep this height: see what to change.".to_owned()),
    }
    lines.push(format!(
        "Largest elastic shear at flat over shear yield stress: {:.2}, at radius {}; yields there to a depth of {}.",
        setting.stress_ratio,
        shown.sized(setting.radius_mm),
        shown.sized(setting.yield_depth_mm)
    ));
    lines
}

fn ways(subject: &Subject, shown: Shown) -> Vec<Way> {
    let ways = subject.verdicts.setting.iter().flat_map(|setting| &setting.ways);
    ways.map(|way| Way {
        name: way.name.to_owned(),
        height: way.former_height_mm.map_or_else(
            || "no height holds".to_owned(),
            |height| format!("height at the hub {}", shown.sized(height)),
        ),
        steps: way.steps.clone(),
        source: way.source.clone(),
    })
    .collect()
}

fn ring_stack(subject: &Subject) -> RingStack {
    let former = &subject.verdicts.former;
    RingStack {
        rings: former
            .rings
            .iter()
            .map(|ring| StackRing { outer_radius: ring.outer_radius_mm, top: ring.top_mm })
            .collect(),
        bore_radius: former.rings.first().map_or(subject.spring.disc.bore_radius, |ring| ring.bore_radius_mm),
        base_radius: former.base_radius_mm,
    }
}

fn ring_note(subject: &Subject, shown: Shown) -> String {
    let former = &subject.verdicts.former;
    let shim = if former.shim_mm.abs() < 0.005 {
        "The stack is as high as the former has to be.".to_owned()
    } else if former.shim_mm > 0.0 {
        format!(
            "The stack is {} too low: make that up with a shim under the hub.",
            shown.sized(former.shim_mm)
        )
    } else {
        format!("The stack is {} too high: take that off the last ring.", shown.sized(-former.shim_mm))
    };
    format!(
        "Rings of the spring's own sheet on a flat base, or turned as one piece. {shim} A ring carries the inner edge \
         of the arm above it."
    )
}
