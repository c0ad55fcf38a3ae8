use super::*;
use crate::curve::read_measured;
use approx::assert_relative_eq;
use proptest::prelude::*;

fn accepted(text: &str) -> TargetCurve {
    read(text.as_bytes(), "pedal.csv").unwrap()
}

fn refusal(text: &str) -> String {
    read(text.as_bytes(), "pedal.csv").unwrap_err().to_string()
}

#[test]
fn a_plain_file_is_read_without_remarks() {
    let curve = accepted("deflection_mm,force_n\n0,0\n1,10\n2,25\n");
    assert_eq!(curve.deflection, [0.0, 1.0, 2.0]);
    assert_eq!(curve.force, [0.0, 10.0, 25.0]);
    assert!(curve.notes.is_empty(), "{:?}", curve.notes);
    assert_eq!((curve.max_deflection(), curve.max_force()), (2.0, 25.0));
}

#[test]
fn the_curve_is_straight_between_its_points_and_level_outside() {
    let curve = accepted("x_mm,f_n\n1,10\n2,20\n4,60\n");
    for (x, f) in [(0.0, 10.0), (1.0, 10.0), (1.5, 15.0), (2.0, 20.0), (3.0, 40.0), (4.0, 60.0), (9.0, 60.0)]
    {
        assert_eq!(curve.force_at(x), f, "at {x}");
    }
    assert_eq!((curve.rate_at(1.5), curve.rate_at(2.0), curve.rate_at(9.0)), (10.0, 20.0, 20.0));
}

#[test]
fn two_points_are_a_straight_line() {
    let curve = accepted("x_mm,f_n\n0,0\n5,20\n");
    assert_eq!((curve.deflection[0], curve.deflection[10], curve.force[10]), (0.0, 5.0, 20.0));
    // the error of a fit is taken at points: a spring that bends between two would pass
    assert_eq!((curve.len(), curve.force[5], curve.force_at(2.5)), (11, 10.0, 10.0));
    assert!(curve.notes.iter().any(|note| note.contains("straight line")), "{:?}", curve.notes);
    // read again from a spring file it is the same line
    let again = TargetCurve::points(&curve.deflection, &curve.force).curve("again").unwrap();
    assert_eq!((again.deflection, again.force), (curve.deflection.clone(), curve.force.clone()));
}

#[test]
fn a_testers_zero_is_corrected_and_noted() {
    let curve = accepted("x_mm,f_n\n-0.02,-0.1\n1,10\n2,25\n");
    assert_relative_eq!(curve.deflection[1], 1.02, max_relative = 1e-12);
    assert_relative_eq!(curve.force[1], 10.1, max_relative = 1e-12);
    assert_eq!((curve.deflection[0], curve.force[0]), (0.0, 0.0));
    assert_eq!(curve.notes.iter().filter(|note| note.contains("tester's zero")).count(), 2);
    // beyond 2 % of the range it is no zero
    assert!(refusal("x_mm,f_n\n-0.1,0\n1,10\n2,25\n").contains("row 2, column 1"));
}

#[test]
fn a_curve_to_both_sides_asks_for_an_assembly() {
    let message = refusal("x_mm,f_n\n-2,-9\n0,0\n2,9\n");
    assert!(message.contains("row 2, column 1") && message.contains("opposed"), "{message}");
}

#[test]
fn unsorted_rows_are_sorted_and_noted() {
    let curve = accepted("x_mm,f_n\n2,25\n0,0\n3,40\n1,10\n");
    assert_eq!(curve.force, [0.0, 10.0, 25.0, 40.0]);
    assert_eq!(curve.notes.len(), 1);
    assert!(curve.notes[0].contains("row 3; they are sorted"), "{:?}", curve.notes);
}

#[test]
fn a_curve_listed_backwards_is_sorted_not_dropped() {
    assert_eq!(accepted("x_mm,f_n\n2,25\n1,10\n0,0\n").force, [0.0, 10.0, 25.0]);
}

#[test]
fn repeated_deflections_are_averaged_and_noted() {
    let curve = accepted("x_mm,f_n,force_max_n\n0,0,1\n1,10,12\n1,14,14\n2,25,30\n");
    assert_eq!(curve.force, [0.0, 12.0, 25.0]);
    assert_eq!(curve.force_max, Some(vec![1.0, 13.0, 30.0]));
    assert!(curve.notes[0].contains("more than once: 1, the first of them 1 mm; their"), "{:?}", curve.notes);
}

#[test]
fn an_unloading_branch_is_dropped_and_noted() {
    let curve = accepted("x_mm,f_n\n0,0\n1,10\n2,25\n3,50\n2,20\n1,7\n0,0\n");
    assert_eq!(curve.force, [0.0, 10.0, 25.0, 50.0]);
    assert_eq!(curve.notes.len(), 1);
    assert!(
        curve.notes[0].contains("the unloading branch (3 of 7 points, from row 6 on) is dropped"),
        "{:?}",
        curve.notes
    );
}

#[test]
fn a_short_list_out_of_order_is_not_taken_for_unloading() {
    let curve = accepted("x_mm,f_n\n1,10\n3,50\n2,25\n");
    assert_eq!(curve.force, [10.0, 25.0, 50.0]);
}

#[test]
fn a_band_and_a_tolerance_are_kept_in_n_and_percent() {
    let curve = accepted(
        "x_mm;f_N;force_min_kN;force_max (N);tolerance_percent\n0;0;-0,001;1;5\n1;10;0,009;11;\n2;20;0,019;22;5\n",
    );
    assert_eq!(curve.force_min, Some(vec![-1.0, 9.0, 19.0]));
    assert_eq!(curve.force_max, Some(vec![1.0, 11.0, 22.0]));
    assert_eq!(curve.tolerance_percent, Some(5.0));
    let outside = accepted("x_mm,f_N,force_max_N\n0,0,1\n1,10,9\n2,20,30\n");
    assert!(outside.notes[0].contains("outside their own band: 1, the first at 1 mm"));
}

#[test]
fn a_changing_tolerance_becomes_a_band() {
    let curve = accepted("x_mm,f_N,tolerance_percent\n0,0,5\n1,10,\n2,20,10\n");
    assert_eq!(curve.tolerance_percent, None);
    assert_eq!(curve.force_min, Some(vec![0.0, 9.5, 18.0]));
    assert_relative_eq!(curve.force_max.unwrap()[2], 22.0, max_relative = 1e-15);
}

#[test]
fn invalid_values_are_refused_with_their_place() {
    for (text, words) in [
        (
            "x,f\n0,0\n-1,2\n2,3\n",
            "row 3, column 1 (\"x\"): found a deflection of -1 mm, expected 0 mm or more",
        ),
        ("x,f\n0,0\n1,-2\n2,3\n", "row 3, column 2 (\"f\"): found a force of -2 N, expected 0 N or more"),
        ("x,f,force_max\n0,0,-1\n1,2,3\n2,3,4\n", "row 2, column 3 (\"force_max\"): found a force of -1 N"),
        ("x,f\n1,2\n", "different deflections is 1, expected at least 2"),
        ("x,f\n1,2\n1,3\n", "different deflections is 1"),
        ("x,f\n", "different deflections is 0"),
        ("x,f\n0,0\n1,0\n2,0\n", "every force is zero"),
        (
            "x,f,force_min,force_max\n0,0,0,0\n1,2,5,4\n2,3,2,4\n",
            "row 3, column 3 (\"force_min\"): found force_min 5 N above force_max 4 N",
        ),
        ("x,f,tolerance\n0,0,0\n1,2,1\n2,3,1\n", "row 2, column 3 (\"tolerance\"): found a tolerance of 0 %"),
        (
            "x,f,force_min,tolerance\n0,0,0,1\n1,2,1,1\n2,3,2,4\n",
            "row 4, column 4 (\"tolerance\"): found a tolerance of 4 % after 1 %",
        ),
    ] {
        let message = refusal(text);
        assert!(
            message.starts_with("pedal.csv: ") && message.contains(words),
            "{message}\nexpected: {words}"
        );
    }
}

#[test]
fn points_in_a_spring_file_follow_the_same_rules() {
    let place = "[target] of spring.toml";
    let from = |x: &[f64], f: &[f64]| TargetCurve::points(x, f).curve(place);
    assert_eq!(from(&[2.0, 0.0, 1.0], &[5.0, 0.0, 2.0]).unwrap().force, [0.0, 2.0, 5.0]);
    for (x, f, words) in [
        (&[0.0, 1.0, 2.0][..], &[0.0, -1.0, 2.0][..], "point 2, force: found a force of -1 N"),
        (&[0.0, -1.0, 2.0], &[0.0, 1.0, 2.0], "point 2, deflection: found a deflection of -1 mm"),
        (&[0.0, f64::NAN, 2.0], &[0.0, 1.0, 2.0], "point 2, deflection: found NaN"),
        (&[0.0, 1.0, 2.0], &[0.0, 1.0, f64::INFINITY], "point 3, force: found \"inf\", which is infinite"),
        (&[0.0, 1.0, 2.0], &[0.0, 1.0], "values for the force is 2, expected 3"),
        (&[1.0], &[1.0], "different deflections is 1"),
    ] {
        let message = from(x, f).unwrap_err().to_string();
        assert!(message.starts_with(place) && message.contains(words), "{message}");
    }
    let message = TargetCurve::points(&[0.0, 1.0, 2.0], &[0.0, 1.0, 2.0])
        .tolerance_percent(Some(-1.0))
        .curve(place)
        .unwrap_err()
        .to_string();
    assert!(message.contains("point 1, tolerance_percent: found a tolerance of -1 %"), "{message}");
}

#[test]
fn errors_are_measured_by_the_force_or_a_tenth_of_the_largest() {
    let curve = accepted("x_mm,f_n\n0,0\n1,50\n2,100\n");
    assert_eq!(curve.error_bases(), [10.0, 50.0, 100.0]);
    let (rms, largest) = curve.errors_percent(&[1.0, 50.0, 95.0]);
    assert_relative_eq!(rms, (125.0_f64 / 3.0).sqrt(), max_relative = 1e-14);
    assert_relative_eq!(largest, 10.0, max_relative = 1e-14);
}

/// How a file may be written.
#[derive(Debug, Clone)]
#[allow(clippy::struct_excessive_bools)] // each a choice of its own
struct Writing {
    separator: char,
    decimal_comma: bool,
    quoted: bool,
    line_end: &'static str,
    byte_order_mark: bool,
    extra_column: bool,
    force_first: bool,
    length: (&'static str, f64),
    force: (&'static str, f64),
    brackets: bool,
    comments: bool,
}

fn writing() -> impl Strategy<Value = Writing> {
    (
        prop::sample::select(vec![
            (',', false),
            (',', true),
            (';', false),
            (';', true),
            ('\t', false),
            ('\t', true),
        ]),
        any::<[bool; 6]>(),
        prop::sample::select(vec!["\n", "\r\n", "\r"]),
        prop::sample::select(vec![("mm", 1.0), ("cm", 10.0), ("m", 1000.0), ("in", 25.4)]),
        prop::sample::select(vec![
            ("N", 1.0),
            ("kN", 1000.0),
            ("kgf", 9.806_65),
            ("lbf", 4.448_221_615_260_5),
        ]),
    )
        .prop_map(|((separator, decimal_comma), flags, line_end, length, force)| Writing {
            separator,
            decimal_comma,
            // a decimal comma between commas has to stand in quotes
            quoted: flags[0] || (decimal_comma && separator == ','),
            line_end,
            byte_order_mark: flags[1],
            extra_column: flags[2],
            force_first: flags[3],
            length,
            force,
            brackets: flags[4],
            comments: flags[5],
        })
}

fn written(points: &[(f64, f64)], how: &Writing) -> Vec<u8> {
    let cell = |value: f64| {
        let text = if how.decimal_comma { value.to_string().replace('.', ",") } else { value.to_string() };
        if how.quoted { format!("\"{text}\"") } else { text }
    };
    let title = |name: &str, unit: &str| {
        if how.brackets { format!("{name} [{unit}]") } else { format!("{name}_{unit}") }
    };
    let row = |deflection: String, force: String, extra: &str| {
        let mut cells = if how.force_first { vec![force, deflection] } else { vec![deflection, force] };
        if how.extra_column {
            cells.insert(1, extra.to_owned());
        }
        cells.join(&how.separator.to_string())
    };
    let mut lines = vec![row(title("Travel", how.length.0), title("LOAD", how.force.0), "operator")];
    for (number, &(x, f)) in points.iter().enumerate() {
        if how.comments && number % 3 == 1 {
            lines.push("  # \"checked, twice; and again".to_owned());
            lines.push(String::new());
        }
        lines.push(row(cell(x / how.length.1), cell(f / how.force.1), "abc"));
    }
    let mut bytes = if how.byte_order_mark { b"\xEF\xBB\xBF".to_vec() } else { Vec::new() };
    bytes.extend(lines.join(how.line_end).bytes());
    bytes
}

fn points() -> impl Strategy<Value = Vec<(f64, f64)>> {
    prop::collection::vec((0.1_f64..3.0, 0.0_f64..500.0), 3..20).prop_map(|steps| {
        let mut at = 0.0;
        steps
            .into_iter()
            .map(|(step, force)| {
                at += step;
                (at, force + 0.1)
            })
            .collect()
    })
}

proptest! {
    #[test]
    fn a_curve_reads_back_the_same_however_it_is_written(
        points in points(),
        how in writing(),
        order in any::<prop::sample::Index>(),
    ) {
        // begin somewhere in the middle and continue from the start: out of order, yet no rise and fall
        let mut shuffled = points.clone();
        // (beginning at the second point would be one, if the first lies close by)
        let turn = match order.index(points.len()) {
            1 => 2,
            turn => turn,
        };
        shuffled.rotate_left(turn);
        let curve = read(&written(&shuffled, &how), "written.csv").unwrap();
        prop_assert_eq!(curve.len(), points.len());
        for (i, &(x, f)) in points.iter().enumerate() {
            assert_relative_eq!(curve.deflection[i], x, max_relative = 1e-13);
            assert_relative_eq!(curve.force[i], f, max_relative = 1e-13);
        }
        prop_assert_eq!(curve.notes.iter().any(|note| note.contains("sorted")), turn > 0);
        prop_assert_eq!(curve.notes.iter().any(|note| note.contains("not used")), how.extra_column);
    }

    #[test]
    fn arbitrary_bytes_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = read(&bytes, "any").map_err(|error| error.to_string());
        let _ = read_measured(&bytes, "any").map_err(|error| error.to_string());
    }

    #[test]
    fn whatever_looks_like_a_table_is_a_sound_curve_or_refused(
        body in "[-0-9.,;\t\r\n\"#eE naif]{0,300}",
        head in prop::sample::select(vec!["x,f\n", "f;x;force_min\n", "x\tload [kN]\ttolerance_percent\r", ""]),
    ) {
        let text = format!("{head}{body}");
        if let Ok(curve) = read(text.as_bytes(), "any") {
            prop_assert!(curve.deflection.windows(2).all(|pair| pair[0] < pair[1]));
            prop_assert!(curve.force.iter().all(|force| force.is_finite() && *force >= 0.0));
            prop_assert!(curve.len() >= 2 && curve.len() == curve.force.len());
            let reach = crate::curve::nearest_reachable(&curve, 0.0);
            prop_assert!(reach.nearest.force.iter().all(|force| force.is_finite()));
        }
        let _ = read_measured(text.as_bytes(), "any");
    }
}
