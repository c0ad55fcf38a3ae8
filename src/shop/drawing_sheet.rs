//! The drawing sheet: views to scale, numbered characteristics, notes, data block, title block. Landscape, A3 or ANSI B.

use ttf_parser::Face;

use super::SheetError;
use super::characteristic::{
    Characteristic, FREE_HEIGHT, OUTSIDE, SHEET_THICKNESS, SOLID_HEIGHT, characteristics, disc_height,
    places_of,
};
use super::page::{Align, FONT, Mark, NARROW, Page, PagePoint, WIDE, text_width};
use super::paper::{
    COLUMN, DIMENSION_DISTANCE, DIVISION, MARGIN, PLAN_ROOM, Places, RING_DISTANCE, TITLE_HEIGHT,
};
use super::ring_places::{RING, ring_angles};
use super::section::draw_section;
use super::sheet_notes::{data_block, material, work_notes};
use super::sheet_units::SheetUnits;
use super::table::{Column, Table, fitted, wrapped};
use super::view_scale::view_scale;
use crate::evaluation::{Drawing, Evaluation};
use crate::numeric::{Quantity, short};
use crate::outline::Role;

/// Letters of the views (mm).
const EM: f64 = 2.8;
const HEADING: f64 = 3.4;
/// Letters of the tables and notes (mm), the largest that fit: capitals of 2.5 mm are usual on A3, 1.8 mm the least (ISO
/// 3098-1), and capitals are 0.73 of these sizes high.
const TABLE_EMS: [f64; 6] = [3.4, 3.2, 3.0, 2.8, 2.6, 2.5];

/// The drawing sheet of a spring with this title.
pub fn drawing_sheet(evaluation: &Evaluation, drawing: &Drawing, title: &str) -> Result<Page, SheetError> {
    let face = Face::parse(FONT, 0)?;
    let list = characteristics(evaluation, drawing)?;
    let places = Places::on(evaluation.asked.checks.shop.paper.unwrap_or_default());
    let mut page = Page::new(places.paper[0], places.paper[1], title);
    page.rectangle([MARGIN[0], MARGIN[1]], [places.right(), places.top()], 0.7);
    page.line([DIVISION, MARGIN[1]], [DIVISION, places.top()], WIDE);
    let scale = plan(&mut page, &places, evaluation, drawing, &list);
    sections(&mut page, &places, evaluation, &list);
    column(&mut page, &face, &places, evaluation, drawing, &list);
    title_block(&mut page, &face, &places, evaluation, drawing, title, scale);
    Ok(page)
}

fn plan(
    page: &mut Page,
    places: &Places,
    evaluation: &Evaluation,
    drawing: &Drawing,
    list: &[Characteristic],
) -> &'static str {
    let centre = places.plan;
    let radius = evaluation.spring.disc.outer_radius;
    let tabs = drawing.marks.tabs.iter().flat_map(|tab| &tab.outline.vertices);
    let reach = tabs.map(|vertex| vertex.point[0].hypot(vertex.point[1])).fold(radius, f64::max);
    let (scale, words) = view_scale([2.0 * reach; 2], [PLAN_ROOM; 2]);
    let left = MARGIN[0] + 4.0;
    page.text(&format!("Blank, flat, {words}"), [left, places.top() - 7.0], HEADING, Align::Left);
    if drawing.rules.edge_slope != 0.0 {
        page.text("seen from the face where the cut enters", [left, places.top() - 12.0], EM, Align::Left);
    }
    for contour in &drawing.outline.contours {
        let width = if contour.role == Role::CutOnLine { NARROW } else { WIDE };
        page.contour(&contour.chain, centre, scale, width);
    }
    for chain in drawing.marks.layers().iter().flat_map(|(_, chains)| chains) {
        page.contour(chain, centre, scale, NARROW);
    }
    let [radius, reach] = [radius, reach].map(|length| scale * length);
    let axis = reach + 5.0;
    page.centre_line([centre[0] - axis, centre[1]], [centre[0] + axis, centre[1]]);
    page.centre_line([centre[0], centre[1] - axis], [centre[0], centre[1] + axis]);
    // the outside diameter as a dimension line below the view and its rings
    let below = centre[1] - reach - DIMENSION_DISTANCE;
    for x in [centre[0] - radius, centre[0] + radius] {
        page.line([x, centre[1]], [x, below - 1.5], NARROW);
    }
    if let Some(outside) = named(list, OUTSIDE) {
        let words = format!("Ø {}", outside.asked);
        page.dimension([centre[0] - radius, below], [centre[0] + radius, below], &words, EM);
    }
    rings(page, list, centre, scale, [radius, reach + RING_DISTANCE]);
    // the upper right corner is free of the view
    let arrow = [DIVISION - 32.0, places.top() - 12.0];
    page.text("rolling direction", [arrow[0], arrow[1] + 3.0], EM, Align::Left);
    page.line(arrow, [arrow[0] + 25.0, arrow[1]], WIDE);
    page.arrow([arrow[0] + 26.0, arrow[1]], [1.0, 0.0]);
    words
}

/// Numbers round the plan, each with a leader to its place; `radii` are those of the disc and of the rings (mm on the page).
fn rings(page: &mut Page, list: &[Characteristic], plan: PagePoint, scale: f64, [disc, distance]: [f64; 2]) {
    let mut seen: Vec<(f64, &Characteristic, PagePoint)> = list
        .iter()
        .filter_map(|one| {
            let place = one.place?;
            let on_page = [plan[0] + scale * place[0], plan[1] + scale * place[1]];
            Some((place[1].atan2(place[0]), one, on_page))
        })
        .collect();
    seen.sort_by(|a, b| a.0.total_cmp(&b.0));
    let wanted: Vec<f64> = seen.iter().map(|(angle, _, _)| *angle).collect();
    for (angle, (_, one, place)) in ring_angles(&wanted, distance, disc).into_iter().zip(seen) {
        let centre = [plan[0] + distance * angle.cos(), plan[1] + distance * angle.sin()];
        page.line(centre, place, NARROW);
        page.dot(place, 0.6);
        ring(page, centre, one.number);
    }
}

fn ring(page: &mut Page, centre: PagePoint, number: usize) {
    page.circle(centre, RING, NARROW, true);
    page.text(&number.to_string(), [centre[0], centre[1] - 0.37 * EM], EM, Align::Centre);
}

fn named<'a>(list: &'a [Characteristic], name: &str) -> Option<&'a Characteristic> {
    list.iter().find(|one| one.name.eq(name))
}

fn sections(page: &mut Page, places: &Places, evaluation: &Evaluation, list: &[Characteristic]) {
    let (spring, flat) = (&evaluation.spring, &evaluation.checks.flat);
    let radius = spring.disc.outer_radius;
    let free = disc_height(evaluation);
    let above =
        spring.seat.hub_hardware_above.unwrap_or(0.0).max(spring.seat.rim_hardware_above.unwrap_or(0.0));
    // both at one scale: the one of them that has less room decides
    let taller = (free + above).max(flat.solid_height_mm * places.free_room[1] / places.closed_room);
    let (scale, words) = view_scale([2.0 * radius, taller], places.free_room);
    let left = MARGIN[0] + 4.0;
    let hardware = if above > 0.0 { "; hardware on top in chain-dotted lines" } else { "" };
    for (name, title, at, height, characteristic, room) in [
        (
            "free",
            format!("Section, free, {words}{hardware}"),
            places.free,
            free,
            FREE_HEIGHT,
            places.free_room[1],
        ),
        (
            "closed",
            format!("Section, closed, {words}"),
            places.closed,
            flat.solid_height_mm,
            SOLID_HEIGHT,
            places.closed_room,
        ),
    ] {
        page.text(&title, [left, at[1] + room + 3.0], HEADING, Align::Left);
        draw_section(page, evaluation, name, at, scale);
        let x = at[0] + scale * radius + 5.0;
        let top = at[1] + scale * height;
        page.line([at[0] + scale * spring.disc.bore_radius, top], [x + 1.5, top], NARROW);
        page.line([at[0], at[1]], [x + 1.5, at[1]], NARROW);
        // arrows from outside where the height is too small for two inside
        if scale * height > 7.0 {
            page.line([x, at[1]], [x, top], NARROW);
            page.arrow([x, top], [0.0, 1.0]);
            page.arrow([x, at[1]], [0.0, -1.0]);
        } else {
            page.line([x, at[1] - 6.0], [x, top + 6.0], NARROW);
            page.arrow([x, top], [0.0, -1.0]);
            page.arrow([x, at[1]], [0.0, 1.0]);
        }
        if let Some(one) = named(list, characteristic) {
            // value and tolerance below each other: there is little room beside a large disc
            let middle = 0.5 * (at[1] + top);
            let (value, tolerance) = one.asked.split_once(' ').unwrap_or((&one.asked, ""));
            page.text(value, [x + 2.0, middle + 0.3], EM, Align::Left);
            page.text(tolerance, [x + 2.0, middle - 3.4], EM, Align::Left);
            ring(page, [x + 6.5, middle + 6.6], one.number);
        }
    }
    // thickness of the sheet at the left edge of the rim of the free section
    if let Some(one) = named(list, SHEET_THICKNESS) {
        let edge = [places.free[0] - scale * radius, places.free[1] + 0.5 * scale * spring.sheet.thickness];
        let centre = [edge[0] - 9.0, edge[1] + 10.0];
        page.line(centre, edge, NARROW);
        page.dot(edge, 0.6);
        ring(page, centre, one.number);
    }
}

/// Tables and notes beside the views, in the largest letters that leave the title block free.
fn column(
    page: &mut Page,
    face: &Face<'_>,
    places: &Places,
    evaluation: &Evaluation,
    drawing: &Drawing,
    list: &[Characteristic],
) {
    let lowest = MARGIN[1] + TITLE_HEIGHT + 3.0;
    let mut best = None;
    for em in TABLE_EMS {
        let mut trial = Page::new(page.width, page.height, "");
        let end = column_in(&mut trial, face, places, evaluation, drawing, list, em);
        let full_size =
            trial.marks.iter().all(|mark| !matches!(mark, Mark::Text { em: size, .. } if *size < em));
        best = Some(trial);
        if end >= lowest && full_size {
            break;
        }
    }
    page.marks.extend(best.into_iter().flat_map(|trial| trial.marks));
}

/// The column in letters of `em` mm; gives the y of its end.
fn column_in(
    page: &mut Page,
    face: &Face<'_>,
    places: &Places,
    evaluation: &Evaluation,
    drawing: &Drawing,
    list: &[Characteristic],
    em: f64,
) -> f64 {
    let width = places.right() - 6.0 - COLUMN;
    let units = SheetUnits::of(evaluation);
    let mut y = places.top() - 7.0;
    let words = format!("Characteristics, sizes in {}", units.length_words());
    page.text(&words, [COLUMN, y], HEADING, Align::Left);
    let rows: Vec<Vec<String>> = list
        .iter()
        .map(|one| vec![one.number.to_string(), one.name.clone(), one.asked.clone(), one.gauge.clone()])
        .collect();
    let columns = [
        Column { heading: "No.", width: 9.0 },
        Column { heading: "Characteristic", width: 62.0 },
        Column { heading: "Value and tolerance", width: 38.0 },
        Column { heading: "Measured with", width: width - 109.0 },
    ];
    y = Table { columns: &columns, row: 2.0 * em, em }.draw(page, face, [COLUMN, y - 2.5], &rows);
    y -= 6.5;
    page.text("Spring data", [COLUMN, y], HEADING, Align::Left);
    let columns = [Column { heading: "Item", width: 42.0 }, Column { heading: "Value", width: width - 42.0 }];
    let data = data_block(evaluation);
    y = Table { columns: &columns, row: 1.9 * em, em }.draw(page, face, [COLUMN, y - 2.5], &data);
    y -= 6.5;
    page.text("Notes", [COLUMN, y], HEADING, Align::Left);
    y -= 2.0 * em;
    let mut end = y;
    for (k, note) in work_notes(evaluation, drawing).iter().enumerate() {
        page.text(&format!("{}", k + 1), [COLUMN, y], em, Align::Left);
        for line in wrapped(face, note, em, width - 6.0) {
            page.text(&line, [COLUMN + 6.0, y], em, Align::Left);
            end = y;
            y -= 1.5 * em;
        }
        y -= 0.25 * em;
    }
    end
}

fn title_block(
    page: &mut Page,
    face: &Face<'_>,
    places: &Places,
    evaluation: &Evaluation,
    drawing: &Drawing,
    title: &str,
    scale: &str,
) {
    let (left, right) = (DIVISION, places.right());
    let low = MARGIN[1];
    page.rectangle([left, low], [right, low + TITLE_HEIGHT], WIDE);
    let units = SheetUnits::of(evaluation);
    let sheet = &evaluation.spring.sheet;
    let name = material(evaluation).map_or_else(
        || sheet.material.clone().unwrap_or_else(|| "as ordered".to_owned()),
        |material| material.name.clone(),
    );
    let mass = evaluation.checks.mass.mass_g.map_or_else(
        || "-".to_owned(),
        |mass| {
            let mass = mass * units.factor(Quantity::Mass);
            format!("{} {}", short(mass), units.unit(Quantity::Mass))
        },
    );
    let shop = &evaluation.asked.checks.shop;
    let own = |field: &Option<String>| field.clone().unwrap_or_default();
    let drawn: Vec<String> = [&shop.drawn_by, &shop.date].into_iter().flatten().cloned().collect();
    let cut = drawing.rules.tolerance;
    let unit_names = format!("{}, {}", units.unit(Quantity::Length), units.unit(Quantity::Force));
    let fields: [[(&str, String, f64); 4]; 3] = [
        [
            ("Title", title.to_owned(), 100.0),
            ("Drawing number", own(&shop.drawing_number), 40.0),
            ("Revision", own(&shop.revision), 24.0),
            ("Sheet", format!("1 of 1, {}", places.name), 30.0),
        ],
        [
            ("Material and thickness", format!("{name}, {}", units.with_unit(sheet.thickness, 3)), 100.0),
            ("Scale of the plan", scale.to_owned(), 40.0),
            ("Mass", mass, 24.0),
            ("Units", unit_names, 30.0),
        ],
        [
            ("Company", own(&shop.company), 60.0),
            ("Sizes without tolerance", format!("± {}", units.with_unit(cut, places_of(cut))), 40.0),
            ("Drawn, date", drawn.join(", "), 47.0),
            ("Checked, date", String::new(), 47.0),
        ],
    ];
    let row = TITLE_HEIGHT / 3.0;
    for (k, fields) in fields.iter().enumerate() {
        let top = low + TITLE_HEIGHT - row * k as f64;
        page.line([left, top], [right, top], NARROW);
        let all: f64 = fields.iter().map(|(_, _, width)| width).sum();
        let mut x = left;
        for (label, value, width) in fields {
            let width = width * (right - left) / all;
            page.line([x, top], [x, top - row], NARROW);
            page.text(label, [x + 1.2, top - 3.0], 2.0, Align::Left);
            let room = width - 2.4;
            if text_width(face, value, 3.2) <= room {
                page.text(value, [x + 1.2, top - 9.0], 3.2, Align::Left);
            } else {
                let (em, lines) = fitted(face, value, [2.6, 2.0], room, 2);
                for (line, y) in lines.iter().zip([6.8, 10.4]) {
                    page.text(line, [x + 1.2, top - y], em, Align::Left);
                }
            }
            x += width;
        }
    }
}
