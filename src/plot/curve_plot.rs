//! Force over deflection: target and prediction.

use super::error::{PlotError, check_length};
use super::line_chart::{Axis, Band, Line, LineChart, Marks, Shade, Ticks};
use super::picture::{line_chart_png, line_chart_svg};
use crate::numeric::{Quantity, Units};

/// Predicted against wanted force over deflection. mm and N throughout; a list left empty is left out.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CurvePlot {
    /// short title
    pub title: String,
    /// the target's own points
    pub target_deflection: Vec<f64>,
    /// force wanted at each of them
    pub target_force: Vec<f64>,
    /// name on the points; "target" where left empty
    pub target_label: String,
    /// least force allowed at each target point
    pub force_min: Vec<f64>,
    /// largest force allowed at each target point
    pub force_max: Vec<f64>,
    /// deflections of the prediction
    pub predicted_deflection: Vec<f64>,
    /// predicted force
    pub predicted_force: Vec<f64>,
    /// name on the predicted curve; "predicted" where left empty
    pub predicted_label: String,
    /// lower end of the scatter at each deflection of the prediction
    pub scatter_low: Vec<f64>,
    /// upper end of the scatter at each deflection of the prediction
    pub scatter_high: Vec<f64>,
    /// deflections at which a turn seats
    pub seats: Vec<f64>,
    /// a second curve, as that of a spring of constant width, with its name
    pub compared: Option<Line>,
}

impl CurvePlot {
    /// The same as a chart.
    pub fn chart(&self) -> Result<LineChart, PlotError> {
        let mut bands = Vec::new();
        if !(self.force_min.is_empty() && self.force_max.is_empty()) {
            bands.push(Band {
                label: "allowed".to_owned(),
                x: self.target_deflection.clone(),
                low: self.force_min.clone(),
                high: self.force_max.clone(),
                shade: Shade::Neutral,
            });
        }
        if !(self.scatter_low.is_empty() && self.scatter_high.is_empty()) {
            bands.push(Band {
                label: "scatter".to_owned(),
                x: self.predicted_deflection.clone(),
                low: self.scatter_low.clone(),
                high: self.scatter_high.clone(),
                shade: Shade::Tinted,
            });
        }
        check_length("predicted force", self.predicted_force.len(), self.predicted_deflection.len())?;
        check_length("target force", self.target_force.len(), self.target_deflection.len())?;
        let label = if self.predicted_label.is_empty() { "predicted" } else { &self.predicted_label };
        let points = if self.target_label.is_empty() { "target" } else { &self.target_label };
        let mut lines = vec![Line {
            label: label.to_owned(),
            x: self.predicted_deflection.clone(),
            y: self.predicted_force.clone(),
        }];
        lines.extend(self.compared.clone());
        // nothing asked for is no line of its own
        let wanted = (!self.target_deflection.is_empty()).then(|| Marks {
            label: points.to_owned(),
            x: self.target_deflection.clone(),
            y: self.target_force.clone(),
        });
        Ok(LineChart {
            title: self.title.clone(),
            x_axis: Axis { label: "deflection".to_owned(), quantity: Quantity::Length, from_zero: true },
            y_axis: Axis { label: "force".to_owned(), quantity: Quantity::Force, from_zero: true },
            bands,
            lines,
            marks: wanted.into_iter().collect(),
            ticks: Ticks { label: "turns seat".to_owned(), x: self.seats.clone() },
        })
    }
}

/// The picture as an SVG file.
pub fn curve_svg(plot: &CurvePlot, units: Units) -> Result<Vec<u8>, PlotError> {
    line_chart_svg(&plot.chart()?, units)
}

/// The picture as a PNG file.
pub fn curve_png(plot: &CurvePlot, units: Units) -> Result<Vec<u8>, PlotError> {
    line_chart_png(&plot.chart()?, units)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plot::paint::tests::decode;

    fn clutch_pedal() -> CurvePlot {
        let x: Vec<f64> = (0..=12).map(|i| 0.5 * f64::from(i)).collect();
        let force: Vec<f64> = x.iter().map(|x| 3.0 * x + 2.0 * x * x).collect();
        let times = |factor: f64| force.iter().map(|f| factor * f).collect::<Vec<_>>();
        CurvePlot {
            title: "Clutch pedal <1.2 mm> & \"flat\"".to_owned(),
            target_deflection: x.clone(),
            target_force: times(1.0),
            target_label: String::new(),
            force_min: times(0.95),
            force_max: times(1.05),
            predicted_deflection: x.clone(),
            predicted_force: times(0.99),
            predicted_label: String::new(),
            scatter_low: times(0.9),
            scatter_high: times(1.1),
            seats: vec![2.0, 3.5, 4.6],
            compared: Some(Line { label: "constant width".to_owned(), x, y: times(0.6) }),
        }
    }

    /// Reads the SVG with a parser; returns how many of each tag it opens.
    fn assert_well_formed(svg: &[u8], what: &str) -> usize {
        let text = std::str::from_utf8(svg).unwrap();
        assert!(!text.contains("NaN") && !text.contains("inf"), "{what}: a number is missing");
        let (mut open, mut tags) = (Vec::new(), 0);
        for event in svg::read(text).unwrap() {
            use svg::node::element::tag::Type;
            match event {
                svg::parser::Event::Tag(name, Type::Start, _) => open.push(name.to_owned()),
                svg::parser::Event::Tag(name, Type::End, _) => {
                    assert_eq!(open.pop().as_deref(), Some(name), "{what}: tags cross");
                }
                svg::parser::Event::Tag(_, Type::Empty, _) => tags += 1,
                svg::parser::Event::Error(error) => panic!("{what}: {error}"),
                _ => {}
            }
        }
        assert!(open.is_empty(), "{what}: {open:?} stay open");
        tags
    }

    fn coloured_pixels(png: &[u8]) -> (usize, usize) {
        let (width, height, pixels) = decode(png);
        assert_eq!(pixels.len(), 3 * width * height);
        let painted = pixels.chunks_exact(3).filter(|pixel| pixel.iter().any(|c| *c < 250)).count();
        let blue = pixels.chunks_exact(3).filter(|pixel| **pixel == [0, 82, 150]).count();
        (painted, blue)
    }

    #[test]
    fn the_same_plot_gives_the_same_bytes() {
        let plot = clutch_pedal();
        let units = Units::default();
        assert_eq!(curve_svg(&plot, units).unwrap(), curve_svg(&plot, units).unwrap());
        assert_eq!(curve_png(&plot, units).unwrap(), curve_png(&plot, units).unwrap());
    }

    #[test]
    fn the_svg_is_well_formed_and_as_large_as_its_page() {
        let svg = curve_svg(&clutch_pedal(), Units::InchPound).unwrap();
        assert!(assert_well_formed(&svg, "clutch pedal") > 40);
        let text = String::from_utf8(svg).unwrap();
        assert!(text.contains("width=\"720\" height=\"450\" viewBox=\"0 0 720 450\""), "{}", &text[..160]);
        assert!(text.contains("<title>Clutch pedal &lt;1.2 mm&gt; &amp; \"flat\"</title>"));
    }

    #[test]
    fn the_png_shows_the_curve_and_letters() {
        let (painted, blue) = coloured_pixels(&curve_png(&clutch_pedal(), Units::default()).unwrap());
        // 2.2 points wide at two pixels a point over some 800 pixels of length, parts of it under points
        assert!(blue > 1_500, "{blue} pixels of the predicted line");
        assert!((20_000..400_000).contains(&painted), "{painted} painted pixels");

        let named = CurvePlot { predicted_label: "quite another name".to_owned(), ..clutch_pedal() };
        let (_, renamed) = coloured_pixels(&curve_png(&named, Units::default()).unwrap());
        assert!(renamed > blue, "a longer name paints more: {renamed} after {blue}");
    }

    #[test]
    fn very_small_and_very_large_forces_and_single_points_are_drawn() {
        for force in [1e-3, 1.0, 1e6] {
            for points in [1, 2, 50] {
                let x: Vec<f64> = (0..points).map(f64::from).collect();
                let y: Vec<f64> = x.iter().map(|x| force * (x + 1.0) / f64::from(points)).collect();
                let plot = CurvePlot {
                    target_deflection: x.clone(),
                    target_force: y.clone(),
                    predicted_deflection: x.clone(),
                    predicted_force: y.clone(),
                    force_min: y.clone(),
                    force_max: y.clone(),
                    ..CurvePlot::default()
                };
                let what = format!("{force} N, {points} points");
                assert_well_formed(&curve_svg(&plot, Units::default()).unwrap(), &what);
                let (painted, _) = coloured_pixels(&curve_png(&plot, Units::default()).unwrap());
                assert!(painted > 2_000, "{what}: {painted} painted pixels");
            }
        }
    }

    #[test]
    fn a_hundred_thousand_points_make_a_small_file() {
        let x: Vec<f64> = (0..100_000).map(|i| f64::from(i) * 1e-4).collect();
        let y: Vec<f64> = x.iter().map(|x| x * x).collect();
        let plot = CurvePlot { target_deflection: x, target_force: y, ..CurvePlot::default() };
        let svg = curve_svg(&plot, Units::default()).unwrap();
        assert!(svg.len() < 60_000, "{} bytes", svg.len());
    }

    #[test]
    fn what_is_no_number_is_refused_with_its_place() {
        for bad in [f64::NAN, f64::INFINITY, 1e31] {
            let mut plot = clutch_pedal();
            plot.predicted_force[3] = bad;
            match curve_svg(&plot, Units::default()) {
                Err(PlotError::Value { what, index, .. }) => {
                    assert_eq!((what.as_str(), index), ("line \"predicted\"", 3));
                }
                other => panic!("{bad}: {other:?}"),
            }
        }
        let mut ticks = clutch_pedal();
        ticks.seats.push(f64::NAN);
        assert!(matches!(curve_png(&ticks, Units::default()), Err(PlotError::Value { .. })));
    }

    #[test]
    fn lists_of_different_length_are_refused() {
        let mut plot = clutch_pedal();
        plot.scatter_low.pop();
        assert_eq!(
            curve_svg(&plot, Units::default()),
            Err(PlotError::Lengths {
                what: "band \"scatter\", lower curve".to_owned(),
                found: 12,
                expected: 13
            })
        );
        let mut plot = clutch_pedal();
        plot.target_force.clear();
        assert!(matches!(curve_svg(&plot, Units::default()), Err(PlotError::Lengths { .. })));
    }
}
