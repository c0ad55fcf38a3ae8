//! The facts of a report, ready to be set.

use serde::Serialize;

use super::ReportError;
use super::assumptions::{Assumption, assumptions};
use super::blank::Blank;
use super::captions::{
    Way, body_notes, curve_caption, height_caption, notes, ring_note, section_caption, setting_lines,
    stress_caption, title, units_note, ways,
};
use super::charts::{self, Along, NamedChart};
use super::formed::{FormedBody, cut_places, sections};
use super::glossary::{Term, terms};
use super::page_data::{DrawnChart, in_page, page_data};
use super::rivals::{Rivals, ScatterFacts, bars, comparison_chart, comparison_table, scatter_facts, shade};
use super::roots;
use super::shown::{Shown, sentence};
use super::stroke::Stroke;
use super::subject::Subject;
use super::tables::{self, Table};
use super::tiles::{Tile, tiles};
use crate::checks::FLATNESS_MM;
use crate::export::former_profile;
use crate::outline::CutRules;
use crate::plot::{
    ChartPicture, ListedSpring, PageSize, Picture, PlanPicture, RingStack, StackRing, Units, share_bars,
    shortlist_view,
};

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
const PRINT_WIDTH: f64 = 78.0;

/// A picture with the name of its files.
pub(super) type NamedPicture = (&'static str, Picture);

/// A picture in the page.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub(super) struct Figure {
    pub name: String,
    pub svg: String,
    pub caption: String,
}

/// All facts of the page.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub(super) struct Facts {
    pub title: String,
    pub subtitle: String,
    pub passed: bool,
    pub outcome: String,
    pub reason: String,
    pub curve: Option<Figure>,
    pub plan: Option<Figure>,
    pub roots: Option<Figure>,
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
    pub shortlist_picture: Option<Figure>,
    pub considered: String,
    pub setting_lines: Vec<String>,
    pub ways: Vec<Way>,
    pub former: Option<Figure>,
    pub rings: Table,
    pub ring_note: String,
    pub heights: Table,
    pub cut: Option<Table>,
    pub assumptions: Vec<Assumption>,
    pub terms: Vec<Term>,
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

    let mut curve = charts::named_curve(&charts::curve(subject, &stroke))?;
    curve.chart.bands.extend(rivals.scatter.iter().map(shade).filter(|band| band.x.len() > 1));
    let mut drawn = vec![draw(curve, CURVE, shown)?];
    for chart in charts::others(subject, &stroke) {
        drawn.push(draw(chart, CHART, shown)?);
    }
    if let Ok(comparison) = &rivals.comparison {
        let chart = comparison_chart(comparison, subject.target, subject.installed);
        let named = NamedChart { name: "comparison", along: Along::Travel, chart };
        drawn.push(draw(named, CHART, shown)?);
    }
    pictures.extend(drawn.iter().map(|chart| (chart.named.name, chart.picture.picture.clone())));
    let plan = match &blank {
        Ok(blank) => Some(blank.plan.picture(PLAN_WIDTH, units)?),
        Err(_) => None,
    };
    pictures.extend(plan.iter().map(|plan| ("plan", plan.picture.clone())));
    let root_picture = match &blank {
        Ok(blank) => roots::picture(subject, blank, PLAN_WIDTH, shown)?,
        Err(_) => None,
    };
    pictures.extend(root_picture.iter().map(|picture| ("roots", picture.clone())));
    let cuts = cut_places(spring, &stroke);
    let titles = [0.0, 0.5, 1.0].map(|share| {
        let shape = stroke.shape_at(share);
        let name = if share == 0.0 {
            "free"
        } else if share < 1.0 {
            "half closed"
        } else {
            "with 1\u{a0}% of the travel left"
        };
        format!("{name}: deflection {}, force {}", shown.sized(shape.deflection), shown.force(shape.force))
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

    let choices = shortlist_picture(subject, units)?;

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
    let facts = Facts {
        title: title(subject, shown),
        subtitle: format!(
            "{} {}, travel to flat {}, solid height {}",
            spring.sheet.material.as_deref().unwrap_or("sheet not named,"),
            shown.sized(spring.sheet.thickness),
            shown.sized(stroke.travel),
            shown.sized(subject.checks.flat.solid_height_mm)
        ),
        passed: subject.evaluation.passed(),
        outcome: sentence(&subject.evaluation.verdicts.outcome()),
        reason: subject.fit.map(|fit| sentence(&fit.reason)).unwrap_or_default(),
        curve: Some(figure("curve", curve_caption(subject, &stroke, rivals.scatter.as_ref().ok(), shown))),
        plan: plan.as_ref().map(plan_figure),
        roots: root_picture.map(|picture| Figure {
            name: "roots".to_owned(),
            svg: picture.svg(),
            caption: "Where an arm grows out of rim and hub. The largest stress is on the red arc, on one face under \
                      tension, on the other under compression."
                .to_owned(),
        }),
        plan_missing: blank.as_ref().err().cloned().unwrap_or_default(),
        tiles: tiles(subject, shown),
        cautions: subject.checks.cautions.clone(),
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
                    "Seated: nearer to a plate than {}, the flatness of a formed spring. A seated part is no longer active: the \
                     free length shrinks and the rate rises.",
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
            figure("stress_over_travel", "Maximum over the arms, slot ends not included.".to_owned()),
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
        shortlist_picture: choices.map(|picture| Figure {
            name: "shortlist".to_owned(),
            svg: picture.svg(),
            caption: "Each spring as an outline at one scale, with its place; this one is blue. Good parts: mean of as bought and sheet measured.".to_owned(),
        }),
        considered: subject
            .considered
            .map(|count| format!("{count} combinations of sheet, arms and size were evaluated."))
            .unwrap_or_default(),
        setting_lines: setting_lines(subject, shown),
        ways: ways(subject, shown),
        former: Some(Figure { name: "former".to_owned(), svg: former.svg(), caption: String::new() }),
        rings: tables::rings(subject, shown),
        ring_note: ring_note(subject, shown),
        heights: tables::heights(subject, shown),
        cut: blank.as_ref().ok().map(|blank| tables::cut(subject, blank, shown)),
        assumptions: assumptions(subject, &rules, shown),
        terms: terms()?,
        file: subject.file.to_toml(),
        data: in_page(&data),
        flat_caption: titles[2].clone(),
    };
    Ok((facts, pictures))
}

/// Picture of this spring and the others found; none where there is no other.
fn shortlist_picture(subject: &Subject, units: Units) -> Result<Option<Picture>, ReportError> {
    let process = subject.file.process.clone().unwrap_or_default();
    let listed: Vec<ListedSpring> = subject
        .designs
        .iter()
        .enumerate()
        .filter_map(|(place, design)| {
            let rules = CutRules::of(&process, design.spring.sheet.thickness);
            let plan = Blank::of(&design.spring, rules).ok()?.plan;
            Some(ListedSpring {
                plan,
                diameter: design.merits.outer_diameter_mm,
                good_percent: design.merits.good_mean(),
                label: (place + 1).to_string(),
            })
        })
        .collect();
    if listed.len() < 2 {
        return Ok(None);
    }
    Ok(Some(shortlist_view(&listed, CHART.width, units)?))
}

fn draw(named: NamedChart, size: PageSize, shown: Shown) -> Result<DrawnChart, ReportError> {
    let picture = ChartPicture::of(&named.chart, shown.units, size)?;
    Ok(DrawnChart { named, picture })
}

fn plan_figure(plan: &PlanPicture) -> Figure {
    let (scale, said) = PRINT_SCALES
        .into_iter()
        .find(|(scale, _)| scale * plan.picture.size().width / plan.scale <= PRINT_WIDTH)
        .unwrap_or(PRINT_SCALES[PRINT_SCALES.len() - 1]);
    let size = plan.picture.size();
    let millimetres = |points: f64| format!("{:.2}mm", points / plan.scale * scale);
    // the page on paper shows it to scale: sizes in millimetres instead of points
    let svg = plan.picture.svg_of_size(&millimetres(size.width), &millimetres(size.height));
    Figure { name: "plan".to_owned(), svg, caption: format!("The blank from above. On paper {said}.") }
}

fn ring_stack(subject: &Subject) -> RingStack {
    let former = &subject.checks.former;
    let mut turned = former_profile(former, subject.spring.disc.bore_radius);
    // the base plate and the bore are drawn apart
    turned.truncate(turned.len().saturating_sub(2));
    turned.drain(..turned.len().min(2));
    RingStack {
        rings: former
            .rings
            .iter()
            .map(|ring| StackRing { outer_radius: ring.outer_radius_mm, top: ring.top_mm })
            .collect(),
        turned,
        bore_radius: former.rings.first().map_or(subject.spring.disc.bore_radius, |ring| ring.bore_radius_mm),
        base_radius: former.base_radius_mm,
    }
}
