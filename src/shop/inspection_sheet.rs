//! The inspection sheet: characteristics, limits, blank columns for the values. One page, portrait: A4 within the height
//! of Letter, or Letter.

use ttf_parser::Face;

use super::SheetError;
use super::characteristic::characteristics;
use super::page::{Align, FONT, Page, WIDE};
use super::paper::inspection_paper;
use super::table::{Column, Table, fitted};
use crate::evaluation::{Drawing, Evaluation};
use crate::numeric::decimal;

const WIDTH: f64 = 186.0;
const EM: f64 = 2.9;

/// The inspection sheet of a spring with this title.
pub fn inspection_sheet(evaluation: &Evaluation, drawing: &Drawing, title: &str) -> Result<Page, SheetError> {
    let face = Face::parse(FONT, 0)?;
    let list = characteristics(evaluation, drawing)?;
    let (paper, room) = inspection_paper(evaluation.asked.checks.shop.paper.unwrap_or_default());
    let left = 0.5 * (paper[0] - WIDTH);
    let mut page = Page::new(paper[0], paper[1], &format!("Inspection: {title}"));
    let mut y = room[1] - 5.0;
    page.text("Inspection sheet", [left, y], 5.0, Align::Left);
    y -= 7.0;
    let (em, lines) = fitted(&face, title, [3.2, 2.4], WIDTH, 1);
    page.text(&lines.concat(), [left, y], em, Align::Left);
    y -= 5.0;
    page.text(
        "Numbers as on the drawing sheet. Sizes of the blank before setting; height and forces after presetting.",
        [left, y],
        EM,
        Align::Left,
    );
    y -= 8.0;
    for (label, x) in [("Order", left), ("Batch, heat", left + 62.0), ("Quantity", left + 124.0)] {
        page.text(label, [x, y], EM, Align::Left);
        page.line([x + 20.0, y - 0.6], [x + 56.0, y - 0.6], WIDE);
    }
    let columns = [
        Column { heading: "No.", width: 9.0 },
        Column { heading: "Characteristic", width: 52.0 },
        Column { heading: "Min.", width: 15.0 },
        Column { heading: "Max.", width: 15.0 },
        Column { heading: "Unit", width: 10.0 },
        Column { heading: "1", width: 17.0 },
        Column { heading: "2", width: 17.0 },
        Column { heading: "3", width: 17.0 },
        Column { heading: "4", width: 17.0 },
        Column { heading: "5", width: 17.0 },
    ];
    let rows: Vec<Vec<String>> = list
        .iter()
        .map(|one| {
            let limit =
                |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |value| decimal(value, one.places));
            vec![
                one.number.to_string(),
                one.name.clone(),
                limit(one.low),
                limit(one.high),
                one.unit.to_owned(),
            ]
        })
        .collect();
    y = Table { columns: &columns, row: 8.5, em: EM }.draw(&mut page, &face, [left, y - 6.0], &rows);
    y -= 7.0;
    page.text("Measured with", [left, y], 3.2, Align::Left);
    for one in &list {
        y -= 4.2;
        page.text(&one.number.to_string(), [left, y], EM, Align::Left);
        page.text(&one.gauge, [left + 7.0, y], EM, Align::Left);
    }
    y -= 7.0;
    page.text(
        "Cracks, nicks or scratches across the arms (magnifier, 10 times), slot ends above all: none",
        [left, y],
        EM,
        Align::Left,
    );
    page.text("yes / no", [left + WIDTH, y], EM, Align::Right);
    let y = room[0] + 4.0;
    for (label, x) in [("Measured by", left), ("Date", left + 66.0), ("Accepted by", left + 126.0)] {
        page.text(label, [x, y], EM, Align::Left);
        page.line([x + 20.0, y - 0.6], [x + 58.0, y - 0.6], WIDE);
    }
    Ok(page)
}
