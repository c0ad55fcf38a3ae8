//! Shares of a whole as bars, the largest first.

use super::error::PlotError;
use super::font;
use super::picture::Picture;
use super::scene::{Anchor, Ink, Point, Scene, Shape};

const EDGE: f64 = 16.0;
const TITLE_EM: f64 = 16.0;
const TEXT_EM: f64 = 13.0;
const LINE: f64 = 46.0;
const BAR: f64 = 14.0;
const TEXT: Ink = Ink::solid(34, 34, 38);
const QUIET: Ink = Ink::solid(95, 95, 100);
const FULL: Ink = Ink::solid(0, 82, 150);
const REST: Ink = Ink::solid(232, 234, 237);

/// One share.
#[derive(Debug, Clone, PartialEq)]
pub struct ShareBar {
    /// name
    pub label: String,
    /// its share (0 to 1)
    pub share: f64,
    /// note
    pub note: String,
}

/// Bars one below the other on a page `width` points wide.
pub fn share_bars(title: &str, bars: &[ShareBar], width: f64) -> Result<Picture, PlotError> {
    let room = width - 2.0 * EDGE;
    let text = |text: String, x: f64, y: f64, anchor: Anchor, ink: Ink| Shape::Text {
        text,
        place: Point { x, y },
        em: TEXT_EM,
        anchor,
        ink,
    };
    let title = font::fitted(title, TITLE_EM, room)?;
    let mut shapes = vec![Shape::Text {
        text: title.clone(),
        place: Point { x: EDGE, y: EDGE + 0.8 * TITLE_EM },
        em: TITLE_EM,
        anchor: Anchor::Start,
        ink: TEXT,
    }];
    let mut top = EDGE + TITLE_EM + 14.0;
    for bar in bars {
        let said = format!("{:.0} %", 100.0 * bar.share);
        let left = room - font::width(&said, TEXT_EM)? - 12.0;
        let label = font::fitted(&bar.label, TEXT_EM, left)?;
        let after = EDGE + font::width(&label, TEXT_EM)? + 10.0;
        let note = font::fitted(&bar.note, TEXT_EM, (left - after + EDGE).max(10.0))?;
        let baseline = top + TEXT_EM;
        shapes.push(text(label, EDGE, baseline, Anchor::Start, TEXT));
        shapes.push(text(note, after, baseline, Anchor::Start, QUIET));
        shapes.push(text(said, width - EDGE, baseline, Anchor::End, TEXT));
        let mut block = |to: f64, ink: Ink| {
            let (y, end) = (baseline + 6.0, EDGE + to * room);
            let corner = |x: f64, y: f64| Point { x, y };
            let outline = vec![corner(EDGE, y), corner(end, y), corner(end, y + BAR), corner(EDGE, y + BAR)];
            shapes.push(Shape::Area { outline, ink });
        };
        block(1.0, REST);
        block(bar.share.clamp(0.0, 1.0), FULL);
        top += LINE;
    }
    Ok(Picture(Scene { width, height: top + 4.0, title, shapes }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bar_is_as_long_as_its_share() {
        let bars = [("thickness", 0.6), ("height", 0.4)].map(|(label, share)| ShareBar {
            label: label.to_owned(),
            share,
            note: "± 0.04 mm".to_owned(),
        });
        let picture = share_bars("Shares", &bars, 332.0).unwrap();
        let long: Vec<f64> = picture
            .0
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Area { outline, ink } if *ink == FULL => Some(outline[1].x - outline[0].x),
                _ => None,
            })
            .collect();
        assert_eq!(long, [180.0, 120.0]);
    }
}
