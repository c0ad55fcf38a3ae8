//! The inspection sheet: characteristics, limits, blank columns for the values. One page, ISO A4, portrait, within the
//! height of US Letter.

use ttf_parser::Face;

use super::SheetError;
use super::characteristic::characteristics;
use super::page::{Align, FONT, Page, WIDE};
use super::table::{Column, Table};
use crate::evaluation::{Drawing, Evaluation};
use crate::numeric::decimal;

const PAPER: [f64; 2] = [210.0, 297.0];
/// Lowest and highest place that a sheet of US Letter, 279.4 mm high, still shows when printed about its middle.
const ROOM: [f64; 2] = [16.0, 281.0];
const LEFT: f64 = 12.0;
const WIDTH: f64 = 186.0;
const EM: f64 = 2.6;

/// The inspection sheet of a spring with this title.
pub fn inspection_sheet(evaluation: &Evaluation, drawing: &Drawing, title: &str) -> Result<Page, SheetError> {
    let face = Face::parse(FONT, 0)?;
    let list = characteristics(evaluation, drawing)?;
    let mut page = Page::new(PAPER[0], PAPER[1], &format!("Inspection: {title}"));
    let mut y = ROOM[1] - 5.0;
    page.text("Inspection sheet", [LEFT, y], 5.0, Align::Left);
    y -= 7.0;
    page.text(title, [LEFT, y], 3.2, Align::Left);
    y -= 5.0;
    page.text(
        "Numbers as on the drawing sheet. Sizes of the blank before setting; height and forces after presetting.",
        [LEFT, y],
        EM,
        Align::Left,
    );
    y -= 8.0;
    for (label, x) in [("Order", LEFT), ("Batch, heat", LEFT + 62.0), ("Quantity", LEFT + 124.0)] {
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
            let largest = one.high.unwrap_or(0.0).abs();
            let places = if one.unit == "N" { 1 + super::characteristic::force_places(largest) } else { 3 };
            let limit =
                |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |value| decimal(value, places));
            vec![
                one.number.to_string(),
                one.name.clone(),
                limit(one.low),
                limit(one.high),
                one.unit.to_owned(),
            ]
        })
        .collect();
    y = Table { columns: &columns, row: 8.5, em: EM }.draw(&mut page, &face, [LEFT, y - 6.0], &rows);
    y -= 7.0;
    page.text("Measured with", [LEFT, y], 3.2, Align::Left);
    for one in &list {
        y -= 4.2;
        page.text(&one.number.to_string(), [LEFT, y], EM, Align::Left);
        page.text(&one.gauge, [LEFT + 7.0, y], EM, Align::Left);
    }
    y -= 7.0;
    page.text(
        "Cracks, nicks or scratches across the arms (magnifier, 10 times), slot ends above all: none",
        [LEFT, y],
        EM,
        Align::Left,
    );
    page.text("yes / no", [LEFT + WIDTH, y], EM, Align::Right);
    let y = ROOM[0] + 4.0;
    for (label, x) in [("Measured by", LEFT), ("Date", LEFT + 66.0), ("Accepted by", LEFT + 126.0)] {
        page.text(label, [x, y], EM, Align::Left);
        page.line([x + 20.0, y - 0.6], [x + 58.0, y - 0.6], WIDE);
    }
    Ok(page)
}
