//! A bench sheet to fill in: readings of several parts of one drawing, in the order in which they are taken.

use crate::layout::{LayoutError, Spring};
use crate::numeric::decimal;

/// Segments of the arm whose radii are named.
const SEGMENTS: usize = 100;
/// Share of the travel up to which forces are read: beyond, they depend on flatness and burrs.
const LAST_SHARE: f64 = 0.95;
/// Steps of the deflection on loading. Friction and noise average out over them; more take too long by hand.
const STEPS: u32 = 20;
/// Steps on unloading.
const STEPS_BACK: u32 = 10;
/// Deflections are multiples of this (mm).
const GRADUATION: f64 = 0.05;
/// Places of one part at which its thickness is read.
const THICKNESSES: usize = 3;
/// Shares of the way from hub to rim at which an arm's width is read.
const WIDTHS: [f64; 3] = [0.25, 0.5, 0.75];
/// Shares of the way from hub to rim at which heights are read, besides the hub's.
const HEIGHTS: [f64; 2] = [0.3, 0.6];

/// The sheet as CSV, for the spring of the file `name`; `last` is the largest deflection asked for (mm).
///
/// [`read_bench_sheet`](crate::curve::read_bench_sheet) reads it back.
pub fn bench_sheet(
    spring: &Spring,
    name: &str,
    last: Option<f64>,
    parts: usize,
) -> Result<String, LayoutError> {
    let arm = spring.arm(SEGMENTS)?;
    let end = (LAST_SHARE * arm.free_height()).min(last.unwrap_or(f64::INFINITY));
    let end = decimal((end / GRADUATION).floor() * GRADUATION, 2);
    let travel: f64 = end.parse().unwrap_or(0.0);
    let at = |share: f64| {
        let (hub, rim) = arm.radius.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), r| (a.min(*r), b.max(*r)));
        decimal(hub + share * (rim - hub), 1)
    };
    let thickness = decimal(spring.sheet.thickness, 3);
    let mut text = format!(
        "# Bench sheet for {name}\n\
         # caution: a compressed spring stores energy and its edges are sharp; wear a face shield; load in steps\n\
         # Parts: {parts} of one sheet and one batch; a column a part. What was not measured stays empty.\n\
         # 1 thickness: micrometer; three places of rim and hub\n\
         # 2 width of an arm: calipers; square to the arm, at the radius in at_mm\n\
         # 3 free height: overall height less one sheet ({thickness} mm); at the hub, and of the arm at the radius in at_mm\n\
         # 4 press once to {end} mm and release; then the forces row by row: down, and back up\n\
         # 5 no further than {end} mm; deflection counts from where the plunger touches\n\
         # A tester's own file goes into the row curve_file instead of forces, its name in the part's column\n\
         # Then: flatspire correct SPRING.toml THIS.csv\n\
         quantity,at_mm,branch"
    );
    for part in 1..=parts {
        text.push_str(&format!(",part {part}"));
    }
    let mut row = |quantity: &str, at: &str, branch: &str| {
        text.push_str(&format!("\n{quantity},{at},{branch}{}", ",".repeat(parts)));
    };
    for _ in 0..THICKNESSES {
        row("thickness_mm", "", "");
    }
    for share in WIDTHS {
        row("arm_width_mm", &at(share), "");
    }
    row("free_height_mm", "hub", "");
    for share in HEIGHTS {
        row("free_height_mm", &at(share), "");
    }
    // to the next graduation of a dial gauge
    let place = |k: u32, steps: u32| {
        decimal((travel * f64::from(k) / f64::from(steps) / GRADUATION).round() * GRADUATION, 2)
    };
    for k in 0..=STEPS {
        row("force_n", &place(k, STEPS), "loading");
    }
    for k in (0..STEPS_BACK).rev() {
        row("force_n", &place(k, STEPS_BACK), "unloading");
    }
    row("curve_file", "", "");
    text.push('\n');
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::{is_bench_sheet, read_bench_sheet};
    use crate::spec::SpringFile;

    #[test]
    fn a_sheet_filled_in_is_read_back() {
        let file = include_str!("../../examples/brake_cut.toml");
        let spring = Spring::from_file(&SpringFile::parse(file, "spring.toml").unwrap(), None).unwrap();
        let sheet = bench_sheet(&spring, "spring.toml", Some(8.0), 2).unwrap();
        assert!(is_bench_sheet(sheet.as_bytes()));
        assert!(read_bench_sheet(sheet.as_bytes(), "bench.csv").is_err(), "an empty sheet has no readings");
        // the first part only: its deflection as its force
        let filled: Vec<String> = sheet
            .lines()
            .map(|line| match line.split(',').collect::<Vec<_>>()[..] {
                [quantity @ "force_n", at, branch, ..] => format!("{quantity},{at},{branch},{at},"),
                [quantity @ "thickness_mm", ..] => format!("{quantity},,,1.49,"),
                _ => line.to_owned(),
            })
            .collect();
        let parts = read_bench_sheet(filled.join("\n").as_bytes(), "bench.csv").unwrap();
        assert_eq!((parts.len(), &parts[0].thickness[..]), (1, &[1.49; 3][..]));
        let curve = parts[0].measured.as_ref().unwrap();
        assert_eq!((curve.deflection.len(), curve.peak), (31, 20));
        assert_eq!(curve.max_deflection(), 7.65);
        assert_eq!(curve.force, curve.deflection);
    }
}
