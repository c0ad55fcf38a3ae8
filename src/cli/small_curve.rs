//! A small curve drawn in characters, to show the shape on the terminal.

use crate::numeric::straight_between;
use crate::plot::{Quantity, Units};

const COLUMNS: usize = 56;
const ROWS: usize = 12;

/// Force over deflection: the prediction as dots, the target as `o`. mm and N; all lists increasing in deflection.
pub fn small_curve(
    [deflection, force]: [&[f64]; 2],
    [target_deflection, target_force]: [&[f64]; 2],
    units: Units,
) -> String {
    let most = |list: &[f64]| list.iter().copied().fold(0.0, f64::max);
    let (end, top) = (most(deflection).max(most(target_deflection)), most(force).max(most(target_force)));
    if deflection.len() < 2 || end <= 0.0 || top <= 0.0 {
        return String::new();
    }
    let mut grid = vec![[' '; COLUMNS]; ROWS];
    let row = |value: f64| place(value / top, ROWS);
    let first = deflection.first().copied().unwrap_or(0.0);
    let columns = (0..COLUMNS).map(|column| (column, end * column as f64 / (COLUMNS - 1) as f64));
    for (column, x) in columns.filter(|(_, x)| *x >= first && *x <= most(deflection)) {
        grid[row(straight_between(deflection, force, x))][column] = '·';
    }
    for (x, value) in target_deflection.iter().zip(target_force) {
        grid[row(*value)][place(x / end, COLUMNS)] = 'o';
    }
    let shown = |value: f64, quantity: Quantity| crate::numeric::with_unit(value, quantity, units);
    let labels = [shown(top, Quantity::Force), "0".to_owned()];
    let wide = labels.iter().map(|label| label.chars().count()).max().unwrap_or(0);
    let mut text = String::new();
    for (index, line) in grid.iter().rev().enumerate() {
        let label = match index {
            0 => labels[0].as_str(),
            k if k == ROWS - 1 => labels[1].as_str(),
            _ => "",
        };
        let drawn: String = line.iter().collect();
        text.push_str(&format!("  {label:>wide$} |{}\n", drawn.trim_end()));
    }
    let last = shown(end, Quantity::Length);
    text.push_str(&format!("  {:>wide$} +{}\n", "", "-".repeat(COLUMNS)));
    text.push_str(&format!("  {:>wide$}  0{last:>width$}\n", "", width = COLUMNS - 1));
    text.push_str(&format!("  {:>wide$}  o asked for   · predicted\n", ""));
    text
}

/// Cell of a share of the whole.
fn place(share: f64, cells: usize) -> usize {
    let last = cells - 1;
    // a share between 0 and 1
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let cell = (share.clamp(0.0, 1.0) * last as f64).round() as usize;
    cell.min(last)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_line_runs_from_corner_to_corner() {
        let (x, f) = ([0.0, 4.0, 8.0], [0.0, 50.0, 100.0]);
        let text = small_curve([&x, &f], [&x, &f], Units::default());
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines.len(), ROWS + 3);
        assert!(lines[0].starts_with("  100.0 N |") && lines[0].ends_with('o'), "{text}");
        assert!(lines[ROWS - 1].contains("|o"), "{text}");
        assert!(lines[ROWS + 1].ends_with("8.000 mm"), "{text}");
        assert!(lines.iter().all(|line| line.chars().count() <= 80), "{text}");
    }

    #[test]
    fn an_empty_curve_draws_nothing() {
        assert!(small_curve([&[], &[]], [&[], &[]], Units::default()).is_empty());
    }
}
