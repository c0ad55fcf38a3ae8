//! A page as SVG: millimetres, y turned down.

use std::fmt::Write;

use super::page::{Align, Mark, Page, PagePoint, Step};
use crate::numeric::decimal;

/// The page as an SVG document, on white.
pub fn svg(page: &Page) -> Vec<u8> {
    let (width, height) = (decimal(page.width, 3), decimal(page.height, 3));
    let mut text = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" \
         height=\"{height}mm\" viewBox=\"0 0 {width} {height}\" font-family=\"DejaVu Sans, sans-serif\">\n\
         <title>{}</title>\n<rect width=\"{width}\" height=\"{height}\" fill=\"white\"/>\n",
        escaped(&page.title)
    );
    for mark in &page.marks {
        // writing to a string cannot fail
        let _ = match mark {
            Mark::Stroke { path, width, dashed } => {
                let dash = if *dashed { " stroke-dasharray=\"6 1.2 0.6 1.2\"" } else { "" };
                let d = steps(path, page.height);
                writeln!(
                    text,
                    "<path d=\"{d}\" fill=\"none\" stroke=\"black\" stroke-width=\"{width}\"{dash}/>"
                )
            }
            Mark::Fill { path, grey } => {
                let level = (grey * 255.0).round();
                let d = steps(path, page.height);
                writeln!(text, "<path d=\"{d}\" fill=\"rgb({level},{level},{level})\"/>")
            }
            Mark::Text { text: words, at, em, align } => {
                let anchor = match align {
                    Align::Left => "start",
                    Align::Centre => "middle",
                    Align::Right => "end",
                };
                let (x, y) = (decimal(at[0], 3), decimal(page.height - at[1], 3));
                let words = escaped(words);
                writeln!(
                    text,
                    "<text x=\"{x}\" y=\"{y}\" font-size=\"{em}\" text-anchor=\"{anchor}\">{words}</text>"
                )
            }
        };
    }
    text.push_str("</svg>\n");
    text.into_bytes()
}

fn steps(path: &[Step], height: f64) -> String {
    let pair = |p: PagePoint| format!("{} {}", decimal(p[0], 4), decimal(height - p[1], 4));
    let mut d = String::new();
    for step in path {
        match *step {
            Step::Move(p) => d.push_str(&format!("M{}", pair(p))),
            Step::Line(p) => d.push_str(&format!("L{}", pair(p))),
            Step::Curve(a, b, c) => d.push_str(&format!("C{} {} {}", pair(a), pair(b), pair(c))),
            Step::Close => d.push('Z'),
        }
    }
    d
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
