//! Tests of laying out a page.
use super::*;
use crate::plot::{Axis, Band, Line, Marks, PlotError, Quantity, Ticks};

fn chart(x: Vec<f64>, y: Vec<f64>) -> LineChart {
    let axis = |label: &str, quantity| Axis { label: label.to_owned(), quantity, from_zero: true };
    LineChart {
        title: "Throttle pedal".to_owned(),
        x_axis: axis("deflection", Quantity::Length),
        y_axis: axis("force", Quantity::Force),
        bands: vec![Band {
            label: "allowed".to_owned(),
            low: y.iter().map(|y| 0.9 * y).collect(),
            high: y.iter().map(|y| 1.1 * y).collect(),
            x: x.clone(),
            shade: Shade::Neutral,
        }],
        lines: vec![
            Line { label: "predicted".to_owned(), x: x.clone(), y: y.clone() },
            Line { label: "constant width".to_owned(), x: x.clone(), y: y.iter().map(|y| 0.7 * y).collect() },
        ],
        marks: vec![Marks { label: "target".to_owned(), x: x.clone(), y }],
        ticks: Ticks { label: "turns seat".to_owned(), x },
    }
}

fn parabola(force: f64, points: i32) -> LineChart {
    let share = |i: i32| f64::from(i) / f64::from((points - 1).max(1));
    chart(
        (0..points).map(|i| 9.0 * share(i)).collect(),
        (0..points).map(|i| force * share(i) * (0.4 + 0.6 * share(i))).collect(),
    )
}

/// Frame that each text of a scene covers.
fn texts(scene: &Scene) -> Vec<(String, Frame)> {
    scene
        .shapes
        .iter()
        .filter_map(|shape| match shape {
            Shape::Text { text, place, em, anchor, .. } => {
                let width = font::width(text, *em).unwrap();
                let left = match anchor {
                    Anchor::Start => place.x,
                    Anchor::Middle => place.x - 0.5 * width,
                    Anchor::End => place.x - width,
                };
                let (top, bottom) = (place.y - 0.76 * em, place.y + 0.24 * em);
                Some((text.clone(), Frame { left, top, right: left + width, bottom }))
            }
            _ => None,
        })
        .collect()
}

fn assert_texts_are_clear(scene: &Scene, what: &str) {
    let page = Frame { left: 4.0, top: 4.0, right: scene.width - 4.0, bottom: scene.height - 4.0 };
    let texts = texts(scene);
    for (index, (text, frame)) in texts.iter().enumerate() {
        assert!(page.encloses(frame), "{what}: {text:?} leaves the page: {frame:?}");
        for (other, covered) in &texts[index + 1..] {
            assert!(!frame.overlaps(covered), "{what}: {text:?} covers {other:?}");
        }
    }
}

#[test]
fn texts_stay_on_the_page_and_apart_whatever_the_numbers() {
    for force in [1e-9, 1e-3, 0.7, 12.0, 180.0, 9_999.0, 1e6, 3e12] {
        for points in [1, 2, 7, 400] {
            for units in [Units::MillimetreNewton, Units::InchPound] {
                let scene = compose(&parabola(force, points), units).unwrap();
                assert_texts_are_clear(&scene, &format!("{force} N, {points} points, {units:?}"));
            }
        }
    }
}

#[test]
fn a_long_title_and_long_names_are_cut() {
    let mut long = parabola(50.0, 20);
    long.title = "word ".repeat(60);
    long.lines[0].label = "name ".repeat(60);
    long.x_axis.label = "axis ".repeat(60);
    long.y_axis.label = "axis ".repeat(60);
    assert_texts_are_clear(&compose(&long, Units::default()).unwrap(), "long texts");
}

#[test]
fn every_name_finds_its_place_in_an_ordinary_chart() {
    let scene = compose(&parabola(180.0, 19), Units::default()).unwrap();
    let texts = texts(&scene);
    for name in
        ["predicted", "constant width", "target", "allowed", "turns seat", "force (N)", "deflection (mm)"]
    {
        assert_eq!(texts.iter().filter(|(text, _)| text == name).count(), 1, "{name}");
    }
}

#[test]
fn names_cover_no_line_and_no_point() {
    let scene = compose(&parabola(180.0, 19), Units::default()).unwrap();
    let names = ["predicted", "constant width", "target", "allowed", "turns seat"];
    for (text, frame) in texts(&scene).iter().filter(|(text, _)| names.contains(&text.as_str())) {
        for shape in &scene.shapes {
            match shape {
                Shape::Stroke { path, width, .. } if *width > 1.0 => assert!(
                    path.windows(2).all(|piece| !frame.touches(piece[0], piece[1])),
                    "{text:?} lies on a line"
                ),
                Shape::Dot { centre, .. } => {
                    assert!(!frame.contains(*centre), "{text:?} lies on a point");
                }
                _ => {}
            }
        }
    }
}

#[test]
fn inches_and_pounds_are_shown_where_asked_for() {
    let scene = compose(&parabola(180.0, 19), Units::InchPound).unwrap();
    let texts: Vec<String> = texts(&scene).into_iter().map(|(text, _)| text).collect();
    // 9 mm are 0.354 in, 180 N are 40.5 lbf
    for expected in ["force (lbf)", "deflection (in)", "0.35", "40"] {
        assert!(texts.iter().any(|text| text == expected), "{expected} is not in {texts:?}");
    }
}

#[test]
fn values_below_zero_are_drawn_inside_the_frame() {
    let swing = chart(vec![-3.0, 0.0, 3.0], vec![-20.0, 0.0, 25.0]);
    let scene = compose(&swing, Units::default()).unwrap();
    assert_texts_are_clear(&scene, "negative values");
    for shape in &scene.shapes {
        if let Shape::Dot { centre, .. } = shape {
            assert!(
                (0.0..scene.width).contains(&centre.x) && (0.0..scene.height).contains(&centre.y),
                "{centre:?}"
            );
        }
    }
}

#[test]
fn a_picture_without_a_point_is_refused() {
    let empty = chart(vec![], vec![]);
    assert_eq!(
        compose(&empty, Units::default()),
        Err(PlotError::Empty { title: "Throttle pedal".to_owned() })
    );
}
