//! The page of outside checks, `data/validity.md`: made of what the tests measure.
//!
//! Each module below holds the program to something outside it and gives its results as [`OutsideCheck`]s; its own tests
//! fail where one is exceeded. `FLATSPIRE_WRITE_VALIDITY=1 cargo test --test all validity` writes the page anew.

use std::path::PathBuf;

use crate::{assemblies, closed_forms, handbook, reference, seating, slot_ends, strength};

/// One number of the program held against one from outside.
#[derive(Debug, Clone)]
pub struct OutsideCheck {
    /// what is compared
    pub what: String,
    /// where the other number comes from
    pub source: &'static str,
    /// largest difference allowed (percent)
    pub allowed: f64,
    /// difference measured (percent)
    pub measured: f64,
}

impl OutsideCheck {
    /// The largest difference of some pairs of found and expected, as a share of the expected.
    pub fn of_pairs(
        what: impl Into<String>,
        source: &'static str,
        allowed: f64,
        pairs: impl IntoIterator<Item = (f64, f64)>,
    ) -> Self {
        let measured = pairs
            .into_iter()
            .map(|(found, expected)| 100.0 * (found / expected - 1.0).abs())
            .fold(0.0, f64::max);
        Self { what: what.into(), source, allowed, measured }
    }

    fn cells(&self) -> [String; 5] {
        let reason = self.reason().to_owned();
        [self.what.clone(), self.source.to_owned(), shown(self.allowed), reason, shown(self.measured)]
    }

    /// Reason for a limit that may be more than half as much again as what is measured; empty for all others.
    fn reason(&self) -> &'static str {
        if self.what.starts_with("force, ") || self.what.starts_with("height of the ") {
            "one limit for all springs of the table"
        } else if self.what.starts_with("linear rate ") {
            "one limit for both rims"
        } else if self.what.starts_with("force of random springs") {
            "tolerance of the other solver"
        } else if self.allowed <= 1e-3 {
            "digits of the source, rounding"
        } else {
            ""
        }
    }
}

/// Fails where a check is exceeded.
pub fn hold(checks: &[OutsideCheck]) {
    for check in checks {
        println!("{}: {} (allowed {})", check.what, shown(check.measured), shown(check.allowed));
    }
    let exceeded: Vec<&OutsideCheck> =
        checks.iter().filter(|check| check.measured.is_nan() || check.measured > check.allowed).collect();
    assert!(exceeded.is_empty(), "{exceeded:#?}");
}

/// Two digits and the percent sign; differences of rounding all look alike.
fn shown(percent: f64) -> String {
    if percent < 1e-7 {
        "below 1e-7 %".to_owned()
    } else if percent < 1e-3 {
        format!("{percent:.0e} %")
    } else if percent < 1.0 {
        let digits = 1 - percent.log10().floor() as i32;
        format!("{percent:.*} %", digits.max(0) as usize)
    } else {
        format!("{percent:.1} %")
    }
}

fn groups() -> [(&'static str, Vec<OutsideCheck>); 10] {
    [
        ("3-D finite elements: isolated arms", reference::arms()),
        (
            "3-D finite elements: complete discs",
            [reference::discs(), reference::rates(), reference::stress(), strength::slot_ends()].concat(),
        ),
        ("3-D finite elements: designed springs, from the drawing", reference::whole_chain()),
        ("3-D finite elements: designed springs that no fit has used", reference::fresh()),
        ("3-D finite elements: shape of designed springs when pressed", reference::pressed_shapes()),
        ("3-D finite elements: two discs put together", assemblies::pairs()),
        (
            "3-D finite elements: slot ends and rings",
            [slot_ends::outside_checks(), strength::rings()].concat(),
        ),
        ("General-purpose solvers", seating::against_quadratic_programme()),
        ("Closed forms", closed_forms::outside_checks()),
        ("Handbook tables and formulas", handbook::outside_checks()),
    ]
}

fn page() -> String {
    let mut text = String::from(
        "# How far the predictions are from what others say\n\n\
         Every check against something outside this project that is a number: what it is held against, the largest difference that the\n\
         tests allow, and the one they measure. Where a limit may be more than 1.5 times what is measured, the reason stands beside\n\
         it. Written by the tests (`tests/all/validity.rs`), not by hand. Finite elements are described in `tests/data/README.md`, `tests/data/discs/README.md` and `tests/data/slot_ends/README.md`.\n",
    );
    for (title, checks) in groups() {
        text.push_str(&format!(
            "\n## {title}\n\n| what | source | allowed | reason | measured |\n|---|---|---|---|---|\n"
        ));
        for check in checks {
            text.push_str(&format!("| {} |\n", check.cells().join(" | ")));
        }
    }
    text
}

/// The cells of a table's row but the last, and the last one as a number, where it is one.
fn row(line: &str) -> (String, Option<f64>) {
    let Some((before, last)) = line.trim_end_matches(" |").rsplit_once(" | ") else {
        return (line.to_owned(), None);
    };
    match last.trim_end_matches(" %").trim_start_matches("below ").parse() {
        Ok(number) => (before.to_owned(), Some(number)),
        Err(_) => (line.to_owned(), None),
    }
}

/// Measured differences over which a limit without a reason may lie.
const ROOM: f64 = 1.5;

#[test]
fn a_limit_lies_near_what_is_measured_or_says_why_not() {
    let all: Vec<OutsideCheck> = groups().into_iter().flat_map(|(_, checks)| checks).collect();
    for check in &all {
        // of rows that share a limit the worst counts
        let shares =
            |other: &&OutsideCheck| other.reason() == check.reason() && other.allowed == check.allowed;
        let worst = all.iter().filter(shares).map(|other| other.measured).fold(0.0, f64::max);
        let near = check.allowed <= ROOM * check.measured;
        let shared = check.reason().starts_with("one limit") && check.allowed <= 2.0 * worst;
        let small =
            matches!(check.reason(), "digits of the source, rounding" | "tolerance of the other solver");
        assert!(near || shared || small, "{check:?}");
    }
}

#[test]
fn the_page_says_what_the_tests_measure() {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("data/validity.md");
    let page = page();
    if std::env::var_os("FLATSPIRE_WRITE_VALIDITY").is_some() {
        std::fs::write(&path, &page).unwrap();
    }
    let written = std::fs::read_to_string(&path).unwrap();
    let advice = "write data/validity.md anew: FLATSPIRE_WRITE_VALIDITY=1 cargo test --test all validity";
    assert_eq!(written.lines().count(), page.lines().count(), "{advice}");
    for (written, now) in written.lines().zip(page.lines()) {
        let (written, now) = (row(written), row(now));
        assert_eq!(written.0, now.0, "{advice}");
        // other processors round differently
        if let (Some(written), Some(now)) = (written.1, now.1) {
            assert!(
                (written - now).abs() <= 0.1 * written.max(now).max(1e-3),
                "{}: {now}, {advice}",
                "measured"
            );
        }
    }
}
