//! The drawing sheet: views to scale, numbered characteristics, notes, data block, title block. ISO A3, landscape.

use ttf_parser::Face;

use super::SheetError;
use super::characteristic::{
    Characteristic, FREE_HEIGHT, SHEET_THICKNESS, SOLID_HEIGHT, characteristics, disc_height, places_of,
};
use super::page::{Align, FONT, NARROW, Page, PagePoint, WIDE};
use super::section::draw_section;
use super::sheet_notes::{data_block, material, work_notes};
use super::table::{Column, Table, wrapped};
use super::view_scale::view_scale;
use crate::evaluation::{Drawing, Evaluation};
use crate::numeric::decimal;
use crate::outline::Role;

/// A3 (ISO 216), landscape (mm).
const PAPER: [f64; 2] = [420.0, 297.0];
/// Frame: margin on the left for filing, elsewhere (ISO 5457).
const MARGIN: [f64; 2] = [20.0, 10.0];
/// Room of the disc in the plan, and of a section (mm on the page).
const PLAN_ROOM: [f64; 2] = [132.0, 132.0];
const SECTION_ROOM: [f64; 2] = [132.0, 26.0];
/// Centre of the plan, and axis and base of the sections, free and closed.
const PLAN: PagePoint = [115.0, 192.0];
const FREE: PagePoint = [115.0, 62.0];
const CLOSED: PagePoint = [115.0, 21.0];
/// Left edge and width of the column of tables.
const COLUMN: f64 = 222.0;
const COLUMN_WIDTH: f64 = 182.0;
/// Height of the title block.
const TITLE_HEIGHT: f64 = 36.0;

const EM: f64 = 2.6;
const HEADING: f64 = 3.4;
/// Radius of the ring round a characteristic's number.
const RING: f64 = 3.2;

/// The drawing sheet of a spring with this title.
pub fn drawing_sheet(evaluation: &Evaluation, drawing: &Drawing, title: &str) -> Result<Page, SheetError> {
    let face = Face::parse(FONT, 0)?;
    let list = characteristics(evaluation, drawing)?;
    let mut page = Page::new(PAPER[0], PAPER[1], title);
    page.rectangle([MARGIN[0], MARGIN[1]], [PAPER[0] - MARGIN[1], PAPER[1] - MARGIN[1]], 0.7);
    page.line([COLUMN - 6.0, MARGIN[1]], [COLUMN - 6.0, PAPER[1] - MARGIN[1]], WIDE);
    let scale = plan(&mut page, evaluation, drawing, &list);
    sections(&mut page, evaluation, &list);
    column(&mut page, &face, evaluation, drawing, &list);
    title_block(&mut page, &face, evaluation, drawing, title, scale);
    Ok(page)
}

fn plan(
    page: &mut Page,
    evaluation: &Evaluation,
    drawing: &Drawing,
    list: &[Characteristic],
) -> &'static str {
    let radius = evaluation.spring.disc.outer_radius;
    let (scale, words) = view_scale([2.0 * radius; 2], PLAN_ROOM);
    page.text(&format!("Blank, flat, {words}"), [MARGIN[0] + 4.0, PAPER[1] - 17.0], HEADING, Align::Left);
    if drawing.rules.edge_slope != 0.0 {
        page.text(
            "seen from the face where the cut enters",
            [MARGIN[0] + 4.0, PAPER[1] - 21.5],
            EM,
            Align::Left,
        );
    }
    for contour in &drawing.outline.contours {
        let width = if contour.role == Role::CutOnLine { NARROW } else { WIDE };
        page.contour(&contour.chain, PLAN, scale, width);
    }
    for chain in drawing.marks.layers().iter().flat_map(|(_, chains)| chains) {
        page.contour(chain, PLAN, scale, NARROW);
    }
    let reach = scale * radius + 5.0;
    page.centre_line([PLAN[0] - reach, PLAN[1]], [PLAN[0] + reach, PLAN[1]]);
    page.centre_line([PLAN[0], PLAN[1] - reach], [PLAN[0], PLAN[1] + reach]);
    // the outside diameter as a dimension line below the view
    let below = PLAN[1] - scale * radius - 11.0;
    for side in [-1.0, 1.0] {
        let x = PLAN[0] + side * scale * radius;
        page.line([x, PLAN[1]], [x, below - 1.5], NARROW);
    }
    let outside = format!("Ø {}", decimal(2.0 * radius, 2));
    page.dimension([PLAN[0] - scale * radius, below], [PLAN[0] + scale * radius, below], &outside, EM);
    rings(page, list, scale, scale * radius + 11.0);
    let arrow = [MARGIN[0] + 8.0, PLAN[1] - 66.0];
    page.line(arrow, [arrow[0] + 22.0, arrow[1]], WIDE);
    page.arrow([arrow[0] + 22.0, arrow[1]], [1.0, 0.0]);
    page.text("rolling direction", [arrow[0], arrow[1] + 1.5], EM, Align::Left);
    words
}

/// Numbers round the plan, each with a leader to its place, spread so that no two rings touch.
fn rings(page: &mut Page, list: &[Characteristic], scale: f64, distance: f64) {
    let mut seen: Vec<(f64, &Characteristic, PagePoint)> = list
        .iter()
        .filter_map(|one| {
            let place = one.place?;
            Some((place[1].atan2(place[0]), one, [PLAN[0] + scale * place[0], PLAN[1] + scale * place[1]]))
        })
        .collect();
    seen.sort_by(|a, b| a.0.total_cmp(&b.0));
    let least = 2.6 * RING / distance;
    for k in 1..seen.len() {
        if seen[k].0 < seen[k - 1].0 + least {
            seen[k].0 = seen[k - 1].0 + least;
        }
    }
    for (angle, one, place) in seen {
        let centre = [PLAN[0] + distance * angle.cos(), PLAN[1] + distance * angle.sin()];
        page.line(centre, place, NARROW);
        page.dot(place, 0.6);
        ring(page, centre, one.number);
    }
}

fn ring(page: &mut Page, centre: PagePoint, number: usize) {
    page.circle(centre, RING, NARROW, true);
    page.text(&number.to_string(), [centre[0], centre[1] - 0.37 * EM], EM, Align::Centre);
}

fn number_of(list: &[Characteristic], name: &str) -> Option<usize> {
    list.iter().find(|one| one.name.eq(name)).map(|one| one.number)
}

fn sections(page: &mut Page, evaluation: &Evaluation, list: &[Characteristic]) {
    let radius = evaluation.spring.disc.outer_radius;
    let free = disc_height(evaluation);
    let (scale, words) = view_scale([2.0 * radius, free], SECTION_ROOM);
    let left = MARGIN[0] + 4.0;
    let solid = list
        .iter()
        .find(|one| one.name == SOLID_HEIGHT)
        .and_then(|one| one.high)
        .unwrap_or(evaluation.checks.flat.solid_height_mm);
    for (name, title, at, height, characteristic) in [
        ("free", format!("Section, free, {words}"), FREE, free, FREE_HEIGHT),
        ("closed", format!("Section, closed, {words}"), CLOSED, solid, SOLID_HEIGHT),
    ] {
        page.text(
            &title,
            [left, at[1] + 30.0 - if name == "closed" { 8.0 } else { 0.0 }],
            HEADING,
            Align::Left,
        );
        draw_section(page, evaluation, name, at, scale);
        let x = at[0] + scale * radius + 12.0;
        let top = at[1] + scale * height;
        page.line([at[0] + scale * evaluation.spring.disc.bore_radius, top], [x + 1.5, top], NARROW);
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
        page.text(&decimal(height, 2), [x + 2.5, 0.5 * (at[1] + top) - 0.37 * EM], EM, Align::Left);
        if let Some(number) = number_of(list, characteristic) {
            ring(page, [x + 16.0, 0.5 * (at[1] + top)], number);
        }
    }
    // thickness of the sheet at the left edge of the rim of the free section
    if let Some(number) = number_of(list, SHEET_THICKNESS) {
        let edge = [FREE[0] - scale * radius, FREE[1] + 0.5 * scale * evaluation.spring.sheet.thickness];
        let centre = [edge[0] - 12.0, edge[1] + 8.0];
        page.line(centre, edge, NARROW);
        page.dot(edge, 0.6);
        ring(page, centre, number);
    }
}

fn column(
    page: &mut Page,
    face: &Face<'_>,
    evaluation: &Evaluation,
    drawing: &Drawing,
    list: &[Characteristic],
) {
    let mut y = PAPER[1] - 17.0;
    page.text("Characteristics, sizes in mm", [COLUMN, y], HEADING, Align::Left);
    let rows: Vec<Vec<String>> = list
        .iter()
        .map(|one| vec![one.number.to_string(), one.name.clone(), one.asked.clone(), one.gauge.clone()])
        .collect();
    let columns = [
        Column { heading: "No.", width: 9.0 },
        Column { heading: "Characteristic", width: 58.0 },
        Column { heading: "Value and tolerance", width: 36.0 },
        Column { heading: "Measured with", width: COLUMN_WIDTH - 103.0 },
    ];
    y = Table { columns: &columns, row: 5.2, em: EM }.draw(page, face, [COLUMN, y - 2.5], &rows);
    y -= 6.5;
    page.text("Spring data", [COLUMN, y], HEADING, Align::Left);
    let columns =
        [Column { heading: "Item", width: 42.0 }, Column { heading: "Value", width: COLUMN_WIDTH - 42.0 }];
    y = Table { columns: &columns, row: 5.0, em: EM }.draw(
        page,
        face,
        [COLUMN, y - 2.5],
        &data_block(evaluation),
    );
    y -= 6.5;
    page.text("Notes", [COLUMN, y], HEADING, Align::Left);
    y -= 5.0;
    for (k, note) in work_notes(evaluation, drawing).iter().enumerate() {
        page.text(&format!("{}", k + 1), [COLUMN, y], EM, Align::Left);
        for line in wrapped(face, note, EM, COLUMN_WIDTH - 6.0) {
            page.text(&line, [COLUMN + 6.0, y], EM, Align::Left);
            y -= 4.0;
        }
        y -= 0.6;
    }
}

fn title_block(
    page: &mut Page,
    face: &Face<'_>,
    evaluation: &Evaluation,
    drawing: &Drawing,
    title: &str,
    scale: &str,
) {
    let (left, right) = (COLUMN - 6.0, PAPER[0] - MARGIN[1]);
    let low = MARGIN[1];
    page.rectangle([left, low], [right, low + TITLE_HEIGHT], WIDE);
    let sheet = &evaluation.spring.sheet;
    let name = material(evaluation).map_or_else(
        || sheet.material.clone().unwrap_or_else(|| "as ordered".to_owned()),
        |material| material.name.clone(),
    );
    let mass = evaluation
        .checks
        .mass
        .mass_g
        .map_or_else(|| "-".to_owned(), |mass| format!("{} g", decimal(mass, 2)));
    let shop = &evaluation.asked.checks.shop;
    let own = |field: &Option<String>| field.clone().unwrap_or_default();
    let drawn: Vec<String> = [&shop.drawn_by, &shop.date].into_iter().flatten().cloned().collect();
    let fields: [[(&str, String, f64); 4]; 3] = [
        [
            ("Title", title.to_owned(), 100.0),
            ("Drawing number", own(&shop.drawing_number), 40.0),
            ("Revision", own(&shop.revision), 24.0),
            ("Sheet", "1 of 1, A3".to_owned(), 30.0),
        ],
        [
            ("Material and thickness", format!("{name}, {} mm", decimal(sheet.thickness, 3)), 100.0),
            ("Scale of the plan", scale.to_owned(), 40.0),
            ("Mass", mass, 24.0),
            ("Units", "mm, N".to_owned(), 30.0),
        ],
        [
            ("Company", own(&shop.company), 60.0),
            (
                "Sizes without tolerance",
                format!("± {} mm", decimal(drawing.rules.tolerance, places_of(drawing.rules.tolerance))),
                40.0,
            ),
            ("Drawn, date", drawn.join(", "), 47.0),
            ("Checked, date", String::new(), 47.0),
        ],
    ];
    let row = TITLE_HEIGHT / 3.0;
    for (k, fields) in fields.iter().enumerate() {
        let top = low + TITLE_HEIGHT - row * k as f64;
        page.line([left, top], [right, top], NARROW);
        let mut x = left;
        for (label, value, width) in fields {
            page.line([x, top], [x, top - row], NARROW);
            page.text(label, [x + 1.2, top - 3.0], 2.0, Align::Left);
            let room = width - 2.4;
            let em = 3.2 * (room / super::page::text_width(face, value, 3.2).max(1e-9)).min(1.0);
            page.text(value, [x + 1.2, top - 9.0], em, Align::Left);
            x += width;
        }
    }
}
