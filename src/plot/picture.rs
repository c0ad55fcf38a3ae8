//! A finished picture, ready to be written as SVG or PNG.

use std::fmt::Write;

use super::error::PlotError;
use super::line_chart::LineChart;
use super::page::{PageSize, compose, compose_on};
use super::paint;
use super::scene::{Anchor, Ink, Point, Scene, Shape};
use crate::numeric::Units;

/// Width of the edge that closes the seam between neighbouring cells (points).
const SEAM: f64 = 0.5;

/// A finished picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture(pub(super) Scene);

impl Picture {
    /// Title of the picture.
    pub fn title(&self) -> &str {
        &self.0.title
    }

    /// Width and height (points).
    pub fn size(&self) -> PageSize {
        PageSize { width: self.0.width, height: self.0.height }
    }

    /// The picture as an SVG file.
    pub fn svg_file(&self) -> Vec<u8> {
        let mut text = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
        text.push_str(&self.svg());
        text.push('\n');
        text.into_bytes()
    }

    /// The picture as one SVG element, to stand in a page. Coordinates to a tenth of a point.
    pub fn svg(&self) -> String {
        self.svg_of_size(&tenth(self.0.width), &tenth(self.0.height))
    }

    /// As [`Self::svg`], shown with another width and height, given with their unit.
    pub fn svg_of_size(&self, width: &str, height: &str) -> String {
        let scene = &self.0;
        let mut text = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {w} {h}\" role=\"img\" \
             font-family=\"DejaVu Sans, Verdana, sans-serif\" stroke-linecap=\"round\" stroke-linejoin=\"round\">\n<title>{}\
             </title>\n<rect width=\"{w}\" height=\"{h}\" fill=\"#fff\"/>\n",
            escaped(&scene.title),
            w = tenth(scene.width),
            h = tenth(scene.height)
        );
        let mut shapes = scene.shapes.iter().peekable();
        while let Some(shape) = shapes.next() {
            // writing to a string cannot fail
            let _ = match shape {
                Shape::Area { outline, ink } => {
                    writeln!(text, "<path d=\"{}Z\" {}/>", path(outline), fill(*ink))
                }
                Shape::Cell { outline, ink } => {
                    let mut data = path(outline) + "Z";
                    // neighbours in the list of one ink make one path: their order among themselves does not show
                    while let Some(Shape::Cell { outline, ink: next }) = shapes.peek() {
                        if next != ink {
                            break;
                        }
                        data.push_str(&path(outline));
                        data.push('Z');
                        shapes.next();
                    }
                    writeln!(
                        text,
                        "<path d=\"{data}\" {} stroke=\"{}\" stroke-width=\"{SEAM}\"/>",
                        fill(*ink),
                        hex(*ink)
                    )
                }
                Shape::Stroke { path: points, width, ink } => writeln!(
                    text,
                    "<path d=\"{}\" fill=\"none\" stroke=\"{}\"{} stroke-width=\"{}\"/>",
                    path(points),
                    hex(*ink),
                    cover("stroke", *ink),
                    tenth(*width)
                ),
                Shape::Dot { centre, radius, ink } => writeln!(
                    text,
                    "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" {}/>",
                    tenth(centre.x),
                    tenth(centre.y),
                    tenth(*radius),
                    fill(*ink)
                ),
                Shape::Text { text: words, place, em, anchor, ink } => {
                    let anchor = match anchor {
                        Anchor::Start => "",
                        Anchor::Middle => " text-anchor=\"middle\"",
                        Anchor::End => " text-anchor=\"end\"",
                    };
                    writeln!(
                        text,
                        "<text x=\"{}\" y=\"{}\" font-size=\"{}\"{anchor} {}>{}</text>",
                        tenth(place.x),
                        tenth(place.y),
                        tenth(*em),
                        fill(*ink),
                        escaped(words)
                    )
                }
            };
        }
        text.push_str("</svg>");
        text
    }

    /// The picture as a PNG file.
    pub fn png_file(&self) -> Result<Vec<u8>, PlotError> {
        paint::png(&self.0)
    }
}

/// A chart as a picture, and where its values lie in it, so that a page can show readings on it.
#[derive(Debug, Clone, PartialEq)]
pub struct ChartPicture {
    /// the picture
    pub picture: Picture,
    /// left, top, right and bottom of the field in which the curves run (points)
    pub field: [f64; 4],
    /// values at its left and right, as shown
    pub x: [f64; 2],
    /// values at its bottom and top, as shown
    pub y: [f64; 2],
}

impl ChartPicture {
    /// Draws a chart.
    pub fn of(chart: &LineChart, units: Units, page: PageSize) -> Result<Self, PlotError> {
        let composed = compose_on(chart, units, page)?;
        let plot = composed.plot;
        Ok(Self {
            picture: Picture(composed.scene),
            field: [plot.left, plot.top, plot.right, plot.bottom],
            x: composed.x,
            y: composed.y,
        })
    }
}

/// The chart as an SVG file.
pub fn line_chart_svg(chart: &LineChart, units: Units) -> Result<Vec<u8>, PlotError> {
    Ok(Picture(compose(chart, units)?).svg_file())
}

/// The chart as a PNG file.
pub fn line_chart_png(chart: &LineChart, units: Units) -> Result<Vec<u8>, PlotError> {
    paint::png(&compose(chart, units)?)
}

fn path(points: &[Point]) -> String {
    let mut data = String::new();
    for (index, point) in points.iter().enumerate() {
        let pen = if index == 0 { 'M' } else { 'L' };
        let _ = write!(data, "{pen}{} {}", tenth(point.x), tenth(point.y));
    }
    data
}

fn hex(ink: Ink) -> String {
    format!("#{:02x}{:02x}{:02x}", ink.rgb.0, ink.rgb.1, ink.rgb.2)
}

fn cover(of: &str, ink: Ink) -> String {
    if ink.cover < 1.0 { format!(" {of}-opacity=\"{}\"", ink.cover) } else { String::new() }
}

fn fill(ink: Ink) -> String {
    format!("fill=\"{}\"{}", hex(ink), cover("fill", ink))
}

/// A number at one decimal, without an idle zero.
fn tenth(value: f64) -> String {
    let text = format!("{value:.1}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cell(at: f64, ink: Ink) -> Shape {
        let corner = |x: f64, y: f64| Point { x: at + x, y };
        Shape::Cell { outline: vec![corner(0.0, 0.0), corner(4.04, 0.0), corner(0.0, 4.0)], ink }
    }

    #[test]
    fn cells_of_one_ink_share_a_path_and_words_are_escaped() {
        let (light, dark) = (Ink::solid(200, 200, 200), Ink::solid(20, 20, 20));
        let scene = Scene {
            width: 40.0,
            height: 20.0,
            title: "a < b & c".to_owned(),
            shapes: vec![cell(0.0, light), cell(10.0, light), cell(20.0, dark), cell(30.0, light)],
        };
        let text = Picture(scene).svg();
        assert_eq!(text.matches("<path").count(), 3, "{text}");
        assert!(text.contains("d=\"M0 0L4 0L0 4ZM10 0L14 0L10 4Z\""), "{text}");
        assert!(text.contains("<title>a &lt; b &amp; c</title>"), "{text}");
    }
}
