//! Remedies of `correct` as text: a headline with the first action, and a table of all of them.

use crate::pipeline::{Trim, TrimKind, advised};
use crate::variation::PartFound;

/// The first lines: what to do first, and the error to expect of the next part then.
pub fn headline(trims: &[Trim], tolerance_percent: f64) -> String {
    let Some(first) = advised(trims) else { return String::new() };
    let next = &first.next;
    let asked = if first.enough {
        format!("; {tolerance_percent} % asked")
    } else {
        format!(", more than the {tolerance_percent} % asked")
    };
    format!(
        "{:<20}{}\n{:<20}{:.2} % rms for half of the parts, 19 of 20 within {:.2} %{asked}\n",
        "do first", first.what, "next part", next.rms_percent, next.within_percent
    )
}

/// The first line of parts without an explanation; `judged` where the readings were enough for a fit.
pub fn unexplained(reason: &str, judged: bool) -> String {
    let what = if judged { "look at part and bench, not at the drawing" } else { "look at the measurement" };
    format!("{:<20}{what}: {reason}\n", "do first")
}

/// The remedies, the cheapest first, each with the error to expect of the next part.
pub fn table(trims: &[Trim]) -> String {
    let mut text = format!("\n{:<20}{:>10}{:>15}\n", "remedy", "half", "19 of 20");
    for trim in trims {
        text.push_str(&format!(
            "{:<20}{:>8.2} %{:>13.2} %  {}\n",
            name(trim.kind),
            trim.next.rms_percent,
            trim.next.within_percent,
            trim.what
        ));
    }
    text
}

fn name(kind: TrimKind) -> &'static str {
    match kind {
        TrimKind::Nothing => "nothing",
        TrimKind::Shim => "shim",
        TrimKind::SetAgain => "set again",
        TrimKind::SortedStack => "sorted stack",
        TrimKind::NewCut => "new cut",
    }
}

/// The parts, where there are several: their force over that of the drawing.
pub fn parts(parts: &[PartFound]) -> String {
    if parts.is_empty() {
        return String::new();
    }
    let mut text = String::from("\npart                force over the drawn one\n");
    for part in parts {
        let force = part
            .force_percent
            .map_or_else(|| "no curve".to_owned(), |force| format!("{force:+.2} % in the mean"));
        text.push_str(&format!("{:<20}{force}\n", part.name));
    }
    text
}
