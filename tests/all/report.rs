//! The report: what stands on it, that it needs nothing else, that it is the same every time.

use std::sync::OnceLock;

use flatspire::curve;
use flatspire::evaluation::{Asked, Evaluation};
use flatspire::layout::{Spring, read_stations};
use flatspire::package::NamedFile;
use flatspire::pipeline::{Answer, Question, answer};
use flatspire::plot::Units;
use flatspire::report::{Report, Subject, files, without_spring};
use flatspire::spec::{Brief, SpringFile};
use serde_json::Value;

const BRIEF: &str = "[envelope]\nouter_diameter_max = 90\nbore_diameter_min = 6\n[sheet]\nmaterial = \"1.4310+C1300\"\n\
                     thickness = 1.5\n[arms]\ncount = 1\n";
const SOFTENING: &str = "deflection_mm,force_n\n0,0\n1,10\n2,17\n3,22\n4,25\n5,26.5\n6,27\n";
/// The largest page there may be (bytes).
const LARGEST: usize = 1_500_000;

fn question(target: &[u8], brief: &str) -> Question {
    let target = curve::read(target, "curve.csv").unwrap();
    Question { target, brief: Brief::parse(brief, "brief.toml").unwrap() }
}

/// A design of a linear curve, shared by the tests that look at its report.
fn designed() -> &'static (Answer, Vec<NamedFile>) {
    static DESIGNED: OnceLock<(Answer, Vec<NamedFile>)> = OnceLock::new();
    DESIGNED.get_or_init(|| {
        let target = include_bytes!("../../examples/linear.csv");
        let answer = answer(question(target, BRIEF), &|_| {}).unwrap();
        let files = files(&answer, Units::MillimetreNewton).unwrap();
        (answer, files)
    })
}

fn page() -> &'static str {
    let file = designed().1.iter().find(|file| file.name == "report.html").unwrap();
    std::str::from_utf8(&file.bytes).unwrap()
}

/// The numbers the page's script reads.
fn data(page: &str) -> Value {
    let text = page.split("<script type=\"application/json\" id=\"data\">").nth(1).unwrap();
    serde_json::from_str(text.split("</script>").next().unwrap()).unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
}

fn sentence(text: &str) -> String {
    text[..1].to_uppercase() + &text[1..]
}

fn assert_holds(page: &str, parts: &[&str]) {
    for part in parts {
        assert!(page.contains(part), "{part:?} is not in the page");
    }
}

#[test]
fn everything_about_the_spring_stands_on_the_page() {
    let (answer, _) = designed();
    assert_holds(
        page(),
        &[
            &sentence(&answer.evaluation.verdicts.outcome()),
            "curve: yes",
            "strength: ",
            "cutting: yes",
            "Cautions",
            "face shield",
            "Rate over travel",
            "Width of the arm",
            "Height of former and spring",
            "Sections",
            "Stress along the arm",
            "Effect of the taper",
            "shaped for the curve and the stress of the arms alone",
            "constant width",
            "Scatter of parts",
            "thickness",
            "Other springs found",
            "Way to take: ",
            "former to make",
            "For the cutting shop",
            "EN 10151",
            "from memory: confirm",
            "id=\"spring-file\"",
        ],
    );
    let rms = format!("{:.2}\u{a0}%", answer.evaluation.fit.as_ref().unwrap().summary.rms_percent);
    assert_holds(page(), &[&rms, &answer.file.disc.arms.to_string()]);
    for caution in &answer.evaluation.checks.cautions {
        let escaped = caution.replace('\'', "&#x27;");
        assert!(page().contains(&escaped) || page().contains(caution.as_str()), "{caution}");
    }
    assert!(page().len() < LARGEST, "{} bytes", page().len());
}

#[test]
fn the_page_needs_nothing_but_itself() {
    for outside in ["http:", "https:", "src=", "href=", "url(", "@import", " style=", "onclick", "<link"] {
        let found = page().replace("http://www.w3.org/2000/svg", "");
        assert!(!found.contains(outside), "{outside} stands in the page");
    }
    let policy =
        page().split("Content-Security-Policy\" content=\"").nth(1).unwrap().split('"').next().unwrap();
    let policy = policy.replace("&#x27;", "'");
    for part in ["default-src 'none'", "script-src 'sha256-", "style-src 'sha256-", "form-action 'none'"] {
        assert!(policy.contains(part), "{part} is not in {policy}");
    }
}

#[test]
fn the_spring_file_can_be_copied_from_the_page() {
    let (answer, _) = designed();
    let element = page().split("<pre id=\"spring-file\"").nth(1).unwrap();
    let shown = element.split_once('>').unwrap().1.split("</pre>").next().unwrap();
    let plain = shown.replace("&quot;", "\"").replace("&#x2f;", "/").replace("&amp;", "&");
    assert_eq!(SpringFile::parse(&plain, "copied.toml").unwrap(), answer.file);
}

#[test]
fn readings_come_from_the_models_own_curve() {
    let (answer, _) = designed();
    let data = data(page());
    let travel = numbers(&data["travel"]["x"]);
    let force = numbers(&data["travel"]["force"]);
    assert!(travel.windows(2).all(|pair| pair[0] < pair[1]) && travel.len() == force.len());
    let table = &answer.evaluation.fit.as_ref().unwrap().table.response;
    let largest = table.force[table.len() - 1];
    for (x, wanted) in table.deflection.iter().zip(&table.force) {
        let read = flatspire::numeric::straight_between(&travel, &force, *x);
        assert!((read - wanted).abs() < 0.01 * largest, "at {x} mm: {read} N, {wanted} N predicted");
    }
}

#[test]
fn shapes_go_from_the_free_height_to_flat() {
    let (answer, _) = designed();
    let data = data(page());
    let shapes = data["shapes"].as_array().unwrap();
    let height = |shape: &Value| *numbers(&shape["height"]).last().unwrap();
    let free = answer.file.former.free_height;
    assert!((height(&shapes[0]) - free).abs() < 2e-3, "{}", height(&shapes[0]));
    for shape in shapes {
        let left = free - shape["x"].as_f64().unwrap();
        // the roots give a little under the force
        assert!((height(shape) - left).abs() < 1e-3 * free, "hub at {} mm, {left} mm left", height(shape));
        // the inner edge does not sink into the base; where a section rolls the other way its centre line may, a little
        assert!(numbers(&shape["height"]).iter().all(|z| *z > -0.1), "{:?}", shape["height"]);
    }
    let touching = |shape: &Value| shape["seated"].as_str().unwrap().matches('1').count();
    assert!(touching(shapes.last().unwrap()) >= touching(&shapes[0]));
}

#[test]
fn triangles_of_the_body_are_painted_once_each() {
    let data = data(page());
    let body = &data["body"];
    let points = numbers(&body["points"]).len() / 2;
    assert_eq!(numbers(&body["corners"]).len(), 2 * points);
    let triangles = numbers(&body["triangles"]);
    assert!(triangles.iter().all(|corner| *corner < points as f64));
    assert_eq!(triangles.len(), 3 * numbers(&body["borders"]).len());
    let mut sorted: Vec<&[f64]> = triangles.chunks(3).collect();
    sorted.sort_by(|a, b| a.partial_cmp(b).unwrap());
    let count = sorted.len();
    sorted.dedup();
    assert_eq!(sorted.len(), count);
}

#[test]
fn pictures_come_as_svg_and_png_beside_the_page() {
    let (_, files) = designed();
    let names: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
    for name in [
        "curve",
        "plan",
        "sections",
        "spring_free",
        "spring_half",
        "spring_closed",
        "rate",
        "width",
        "height",
        "stress_along",
        "stress_over_travel",
        "comparison",
        "scatter",
        "former",
    ] {
        for ending in ["svg", "png"] {
            // what the report begins with lies at the top
            let folder = if name == "curve" { "" } else { "pictures/" };
            let wanted = format!("{folder}{name}.{ending}");
            assert!(names.contains(&wanted.as_str()), "{wanted} is missing from {names:?}");
        }
    }
    for file in files {
        if file.name.ends_with("svg") {
            let text = std::str::from_utf8(&file.bytes).unwrap();
            assert!(text.ends_with("</svg>\n") && !text.contains("NaN"), "{}", file.name);
        } else if file.name.ends_with("png") {
            assert_eq!(&file.bytes[..4], b"\x89PNG", "{}", file.name);
        }
    }
}

#[test]
fn the_same_answer_gives_the_same_bytes() {
    let (answer, first) = designed();
    let again = files(answer, Units::MillimetreNewton).unwrap();
    for (one, other) in first.iter().zip(&again) {
        assert!(one == other, "{} differs", one.name);
    }
}

#[test]
fn units_are_those_of_the_reader() {
    let (answer, _) = designed();
    let page = Report::of(&Subject::of(answer), Units::InchPound).unwrap().html().unwrap();
    assert_holds(&page, &["deflection (in)", "force (lbf)", "\u{a0}ksi", "\u{a0}lbf&#x2f;in"]);
    let data = data(&page);
    assert_eq!(data["units"]["length"], "in");
    let flat = data["travel"]["flat"].as_f64().unwrap();
    assert!((flat * 25.4 - answer.file.former.free_height).abs() < 1e-3, "{flat}");
}

#[test]
fn a_curve_that_cannot_be_followed_is_reported_all_the_same() {
    let answer = answer(question(SOFTENING.as_bytes(), BRIEF), &|_| {}).unwrap();
    let report = Report::of(&Subject::of(&answer), Units::default()).unwrap();
    let page = report.html().unwrap();
    assert_holds(&page, &["Not passed: curve no", "Where the curve cannot be followed", "the rate falls"]);
    let curve = report.pictures().iter().find(|(name, _)| *name == "curve").unwrap().1.svg();
    assert!(curve.contains("nearest that can be followed"));
}

#[test]
fn a_spring_that_fails_says_what_to_change() {
    let text = "[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = 1.5\n[disc]\nouter_diameter = 74\narm_outer_diameter = 62\n\
                arm_inner_diameter = 22\nbore_diameter = 9\narms = 2\nslot = 1.4\n[arm]\nradius = [11, 21, 31]\nwidth = [5, 6, \
                8]\n[former]\nfree_height = 14.0\n";
    let file = SpringFile::parse(text, "spring.toml").unwrap();
    let spring = Spring::from_file(&file, None).unwrap();
    let found = Evaluation::of(&spring, Asked::of(&file, None)).unwrap();
    assert!(!found.passed());
    let page = Report::of_spring(&file, &found, Units::default()).unwrap().html().unwrap();
    assert_holds(
        &page,
        &["Not passed: flat no, strength no", "yield", "lower former.free_height", "No curve was asked for"],
    );
    // nothing to point at where nothing was asked for
    assert!(!page.contains("\"x\":[]"));
}

#[test]
fn missing_pictures_are_left_out_and_noted() {
    // an arm given by stations between ideal clamps: nothing says how its slots run
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/arms/single_constant");
    let read = |name: &str| std::fs::read_to_string(format!("{folder}/{name}")).unwrap();
    let file = SpringFile::parse(&read("spring.toml"), "spring.toml").unwrap();
    let stations = read_stations(&read("stations.csv"), "stations.csv").unwrap();
    let spring = Spring::from_file(&file, Some(stations)).unwrap();
    let found = Evaluation::of(&spring, Asked::of(&file, None)).unwrap();
    let page = Report::of_spring(&file, &found, Units::default()).unwrap().html().unwrap();
    assert_holds(&page, &["given by stations", "Stress along the arm", "Sections"]);
}

#[test]
fn a_question_without_an_answer_says_why() {
    let asked =
        question(SOFTENING.as_bytes(), "[envelope]\nouter_diameter_max = 20\nbore_diameter_min = 15\n");
    let reason = answer(asked.clone(), &|_| {}).unwrap_err().to_string();
    let page = without_spring(&asked, &reason, Units::default()).unwrap();
    assert_holds(
        &page,
        &["No spring found", "combinations of sheet", "nearest that can be followed", "the rate falls"],
    );
    assert!(!page.contains("<script"), "nothing moves on this page");
}
