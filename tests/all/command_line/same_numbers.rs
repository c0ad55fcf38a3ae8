//! One word, one number: every place that names a size of a designed spring has the same one, to the digits shown.

use std::fs;

use super::{designed, desk, json, out, package, run};

/// A number as it is written: value and decimals.
type Written = (f64, usize);

/// The number at the beginning of a text.
fn number(text: &str) -> Option<Written> {
    let end = text.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(text.len());
    let digits = text[..end].trim_end_matches('.');
    let decimals = digits.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    digits.parse().ok().map(|value| (value, decimals))
}

/// The numbers that directly follow a label, wherever it stands in a text.
fn after(text: &str, label: &str) -> Vec<Written> {
    let blank = |c: char| c.is_whitespace() || c == ':';
    text.match_indices(label)
        .filter_map(|(at, _)| number(text[at + label.len()..].trim_start_matches(blank)))
        .collect()
}

/// Visible words of a page, one cell a line.
fn words(page: &str) -> String {
    let mut words = page.split("<body").nth(1).unwrap().to_owned();
    for (open, close) in [("<svg", "</svg>"), ("<script", "</script>"), ("<pre", "</pre>")] {
        while let Some(start) = words.find(open) {
            let end = words[start..].find(close).map_or(words.len(), |end| start + end + close.len());
            words.replace_range(start..end, "");
        }
    }
    let mut text = String::new();
    for piece in words.split('<') {
        text.push('\n');
        text.push_str(piece.split_once('>').map_or(piece, |(_, words)| words));
    }
    text.replace('\u{a0}', " ")
}

/// The value beside a name in a table of a drawing: texts of one height on the page.
fn beside(svg: &str, name: &str) -> Vec<Written> {
    let texts: Vec<(&str, &str)> = svg
        .split("<text ")
        .skip(1)
        .filter_map(|text| {
            let height = text.split(" y=\"").nth(1)?.split('"').next()?;
            Some((height, text.split_once('>')?.1.split('<').next()?))
        })
        .collect();
    let rows = texts.iter().filter(|(_, text)| text.starts_with(name));
    rows.filter_map(|(height, _)| {
        let mut cells = texts.iter().filter(|(other, text)| other == height && text.contains('.'));
        cells.find_map(|(_, text)| number(text))
    })
    .collect()
}

/// Checks that all of these are `value`, but for half a unit of the last digit shown and `slack`; at least `least` of them.
#[track_caller]
fn assert_same(place: &str, found: &[Written], least: usize, value: f64, slack: f64) {
    assert!(found.len() >= least, "{place}: {} numbers", found.len());
    for (shown, decimals) in found {
        let room = 0.5 * 0.1f64.powi(i32::try_from(*decimals).unwrap()) * (1.0 + 1e-6) + slack;
        assert!((shown - value).abs() <= room, "{place}: {shown} is shown, {value} is meant");
    }
}

#[test]
fn one_word_has_one_number_in_every_place() {
    let folder = desk();
    let path = package();
    let read = |name: &str| fs::read_to_string(path.join(name)).unwrap();
    let spring = path.join("spring.toml");
    let spring = spring.to_str().unwrap();
    let summary = json(&read("summary.json"));
    let at = |pointer: &str| summary.pointer(pointer).unwrap().as_f64().unwrap();
    let stations: Vec<Vec<f64>> = read("stations.csv")
        .lines()
        .skip(1)
        .map(|line| line.split(',').map(|cell| cell.parse().unwrap()).collect())
        .collect();
    let (rim, hub) = (&stations[0], stations.last().unwrap());
    let compared = json(&out(&run(folder.path(), &["compare", spring, "--json"])));
    let rate = |k: usize| compared["springs"][0]["rate_n_per_mm"][k].as_f64().unwrap();
    let narrowest = at("/drawing/read_back/least_arm_mm");
    let peak = at("/stress/peak_mpa");
    let travel = at("/spring/former/free_height");
    let solid = at("/flat/solid_height_mm");

    // tables and drawings of the package, in mm
    assert!((hub[3] - travel).abs() < 1e-5 && (at("/merits/free_height_mm") - travel).abs() < 1e-6);
    assert!(
        (at("/merits/peak_stress_mpa") - peak).abs() < 1e-3 && at("/merits/narrowest_mm") > 0.999 * narrowest
    );
    let drawing = read("pictures/drawing.svg");
    assert_same("drawing", &beside(&drawing, "Travel to flat"), 1, travel, 0.0);
    assert_same("drawing", &beside(&drawing, "Solid height"), 1, solid, 0.01);
    let thickness = at("/spring/sheet/thickness");
    assert_same("drawing", &beside(&drawing, "Free height, overall"), 1, travel + thickness, 0.0);
    let roots = ["outer", "inner"].map(|root| beside(&drawing, &format!("Arm at {root} root"))[0]);
    let least = roots
        .iter()
        .chain(&beside(&drawing, "Arm where narrowest"))
        .map(|(width, _)| *width)
        .fold(9e9, f64::min);
    assert_same("drawing", &[(least, 2)], 1, narrowest, 0.001);
    let notes = read("outline_mm.dxf").replace("\r\n", " ");
    assert_same("notes", &after(&notes, "arm where it is narrowest"), 1, narrowest, 0.001);
    for (root, (width, _)) in ["outer", "inner"].into_iter().zip(roots) {
        assert_same("notes", &after(&notes, &format!("arm at its {root} root")), 1, width, 0.001);
    }

    for (units, inch, pound) in [("mm-n", 1.0, 1.0), ("in-lbf", 25.4, 4.448_221_615_260_5)] {
        let told = |command: &[&str]| out(&run(folder.path(), &[command, &["--units", units]].concat()));
        let report = format!("report-{units}");
        let flat = told(&["flat", spring, "--out", &report]);
        let page = words(&fs::read_to_string(folder.path().join(report).join("report.html")).unwrap());
        let compare = told(&["compare", spring]);
        let outline = told(&["outline", spring, "--out", &format!("drawn-{units}")]);
        let (length, stress) = (1.0 / inch, if inch > 1.0 { inch * inch / pound / 1000.0 } else { 1.0 });
        // a sentence is converted from three figures
        let sentence = |value: f64| if inch > 1.0 { 0.005 * value } else { 0.0 };
        for (place, text, counts) in [
            ("flat", &flat, [2, 1, 1, 0]),
            ("compare", &compare, [1, 1, 0, 1]),
            ("report", &page, [3, 3, 0, 1]),
        ] {
            let (solid, travel, peak) = (solid * length, travel * length, peak * stress);
            assert_same(place, &after(text, "solid height"), counts[0], solid, sentence(solid));
            assert_same(place, &after(text, "travel to flat"), counts[1], travel, 0.0);
            assert_same(place, &after(text, "peak stress"), counts[2], peak, 0.0);
            assert_same(place, &after(text, "peak stress of the arms"), counts[3], peak, 0.0);
        }
        assert_same("flat", &after(&flat, "yes: arms"), 1, peak * stress, sentence(peak * stress));
        for (place, text) in [("flat", &flat), ("outline", &outline), ("report", &page)] {
            let narrowest = narrowest * length;
            assert_same(place, &after(text, "narrowest arm"), 1, narrowest, sentence(narrowest));
        }
        assert_same("compare", &after(&compare, "radial width at hub"), 1, hub[2] * length, 0.0);
        assert_same("compare", &after(&compare, "radial width at rim"), 1, rim[2] * length, 0.0);
        let widths = page.split("radial width at hub and rim").nth(1).unwrap().trim_start();
        let [first, second] = [0, 1].map(|k| number(widths.split(", ").nth(k).unwrap().trim()).unwrap());
        assert_same("report", &[first], 1, hub[2] * length, 0.0);
        assert_same("report", &[second], 1, rim[2] * length, 0.0);
        let per = inch / pound;
        assert_same("compare", &after(&compare, "rate at 90 % of travel"), 1, rate(9) * per, 0.0);
        assert_same("report", &after(&page, "rate at 96 % of travel"), 1, rate(10) * per, 0.0);
    }
}

#[test]
fn good_parts_are_the_same_share_in_every_place() {
    let summary = json(&fs::read_to_string(package().join("summary.json")).unwrap());
    let shares = ["good_percent", "good_percent_sheet_measured"].map(|key| {
        let share = summary["parts"][key].as_f64().unwrap();
        assert!((summary["merits"][key].as_f64().unwrap() - share).abs() < 1e-6, "{key}");
        let ladder = summary["ladder"].as_array().unwrap();
        for rung in ladder.iter().filter(|rung| rung["taken"] == true) {
            assert!((rung[key].as_f64().unwrap() - share).abs() < 1e-6, "{key} of the rung taken");
        }
        share
    });
    let [bought, measured] = shares.map(|share| format!("{share:.0}"));
    let told = out(&designed().1);
    for text in [
        format!("good parts                    {bought} % as bought, {measured} % with the sheet measured"),
        format!("with {bought} % good parts as bought and {measured} % with the sheet measured"),
    ] {
        assert!(told.contains(&text), "{text}\n{told}");
    }
    let page = words(&fs::read_to_string(package().join("report.html")).unwrap());
    assert!(page.contains(&format!("drawn from the tolerances {bought} % are as wanted")), "{page}");
    if let Some(row) = page.split("1, this one").nth(1) {
        assert!(row.contains(&format!("{bought}, {measured}")), "{}", &row[..200]);
    }
}

#[test]
fn headings_follow_the_units_of_the_reader() {
    let folder = desk();
    for command in [
        &["stock"][..],
        &["stock", "1.4310+C1300"],
        &["correct", "examples/brake_cut.toml", "--heights", "examples/brake_heights.csv"],
    ] {
        let told = out(&run(folder.path(), &[command, &["--units", "in-lbf"]].concat()));
        assert!(told.contains(" ksi") || told.contains(" in"), "{told}");
        for metric in [" mm", " MPa", "g/cm³"] {
            assert!(!told.contains(metric), "{command:?}: {metric}\n{told}");
        }
    }
}
