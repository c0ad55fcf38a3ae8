//! Rings of given thicknesses that make a stepped former: few, even steps, never higher than the former.

use serde::Serialize;

use crate::layout::{ArmPath, Spring};

/// One ring of a stepped former; rings are stacked, the largest below.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FormerRing {
    /// place in the stack from below, the first is 1
    pub ring: usize,
    /// outer radius (mm)
    pub outer_radius_mm: f64,
    /// radius of the hole, all rings alike (mm); 0 without one
    pub bore_radius_mm: f64,
    /// height of its upper face above the rim's seat (mm)
    pub top_mm: f64,
    /// thickness: one shim (mm)
    pub thickness_mm: f64,
}

/// Most rings of a stack: a workshop stacks no more (common practice).
const MOST: usize = 12;
/// Number of rings that is best: each turn of an arm finds several, and none is thin.
const BEST: usize = 8;
/// Height missing that a feeler shim makes up (mm); stacks closer than this count as equal.
const MISSING: f64 = 0.05;
/// Share of the height that may be missing where the shims are finer (common practice: a feeler shim under the hub).
const OF_HEIGHT: f64 = 0.02;
/// Unit of the sums of shims (mm) of formers up to a height (mm), and of higher ones.
const FINE_UNIT: f64 = 0.001;
const FINE_HEIGHT: f64 = 50.0;
const UNIT: f64 = 0.01;
/// Highest former that is stacked (mm).
const HIGHEST: f64 = 500.0;

/// Rings under an arm that stands at `heights` (mm at its nodes), from below.
///
/// A ring's edge stands under the inner edge of the arm where the arm is half the ring's thickness below its upper face,
/// so that every level section rests on a ring. Empty where the shims do not reach the height with [`MOST`] rings.
pub(super) fn ring_stack(
    spring: &Spring,
    arm: &ArmPath,
    heights: &[f64],
    shims: Option<&[f64]>,
) -> Vec<FormerRing> {
    let height = heights.last().copied().unwrap_or(0.0);
    // without shims the spring's own sheet, up to so many sheets to a ring that there are not too many
    let mut each = 1.0;
    while height / (each * spring.sheet.thickness) >= (MOST + 1) as f64 && each < HIGHEST {
        each += 1.0;
    }
    let multiples =
        std::iter::successors(Some(1.0), |count| Some(count + 1.0)).take_while(|count| *count <= each);
    let own: Vec<f64> = multiples.map(|count| count * spring.sheet.thickness).collect();
    let mut top_mm = 0.0;
    thicknesses(height, shims.unwrap_or(&own))
        .into_iter()
        .enumerate()
        .map(|(k, thickness_mm)| {
            let level = top_mm + 0.5 * thickness_mm;
            top_mm += thickness_mm;
            FormerRing {
                ring: k + 1,
                outer_radius_mm: inner_edge_at(arm, heights, level),
                bore_radius_mm: spring.disc.bore_radius,
                top_mm,
                thickness_mm,
            }
        })
        .collect()
}

/// Thicknesses of the rings of a stack this high (mm), the thickest below.
fn thicknesses(height: f64, shims: &[f64]) -> Vec<f64> {
    if !(height > 0.0 && height <= HIGHEST) {
        return Vec::new();
    }
    let unit = if height <= FINE_HEIGHT { FINE_UNIT } else { UNIT };
    let mut shims: Vec<f64> = shims.iter().copied().filter(|shim| *shim >= unit).collect();
    shims.sort_by(|a, b| b.total_cmp(a));
    let Some(&thinnest) = shims.last() else { return Vec::new() };
    // sums that this many rings reach, and the shim that came last; shims are rounded up, so that no stack is too high
    let goal = whole((height / unit + 1e-6).floor());
    let sizes: Vec<usize> = shims.iter().map(|shim| whole((shim / unit - 1e-6).ceil())).collect();
    let equal = whole(MISSING.min(OF_HEIGHT * height) / unit);
    let mut reached: Vec<Vec<Option<usize>>> = vec![vec![None; goal + 1]];
    for rings in 1..=MOST {
        let before = &reached[rings - 1];
        let mut now = vec![None; goal + 1];
        for (shim, size) in sizes.iter().enumerate() {
            for (from, reached) in now.iter_mut().skip(*size).enumerate() {
                let stands = if rings == 1 { from == 0 } else { before[from].is_some() };
                if stands && reached.is_none() {
                    *reached = Some(shim);
                }
            }
        }
        reached.push(now);
    }
    let highest = |rings: usize| (0..=goal).rev().find(|sum| reached[rings][*sum].is_some());
    let best =
        (1..=MOST).filter_map(|rings| highest(rings).map(|sum| (rings, sum))).min_by_key(|(rings, sum)| {
            let missing = goal - sum;
            (if missing <= equal { 0 } else { missing }, rings.abs_diff(BEST), *rings)
        });
    let Some((rings, mut sum)) = best else { return Vec::new() };
    if (goal - sum) as f64 * unit >= thinnest.max(OF_HEIGHT * height) {
        // more rings than a stack may have
        return Vec::new();
    }
    let mut list = Vec::with_capacity(rings);
    for count in (1..=rings).rev() {
        if let Some(shim) = reached[count][sum] {
            list.push(shims[shim]);
            sum -= sizes[shim];
        }
    }
    list.sort_by(|a, b| b.total_cmp(a));
    list
}

/// A value that is small and not below zero, as a count.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn whole(value: f64) -> usize {
    value.clamp(0.0, HIGHEST / UNIT.min(FINE_UNIT)) as usize
}

/// Radius of the arm's inner edge where it stands at `level` (mm), linear between the nodes.
fn inner_edge_at(arm: &ArmPath, heights: &[f64], level: f64) -> f64 {
    let edge = |i: usize| arm.radius[i] - 0.5 * arm.width[i];
    let i = heights.partition_point(|height| *height < level).clamp(1, heights.len() - 1);
    let rise = heights[i] - heights[i - 1];
    let share = if rise > 0.0 { ((level - heights[i - 1]) / rise).clamp(0.0, 1.0) } else { 0.0 };
    edge(i - 1) + share * (edge(i) - edge(i - 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_a_stack_the_reason_is_the_shims() {
        use crate::checks::FormerShape;
        let former = |thinnest_mm, height_mm, rings: usize| FormerShape {
            height_mm,
            base_radius_mm: 30.0,
            table: Vec::new(),
            rings: (1..=rings)
                .map(|ring| FormerRing {
                    ring,
                    outer_radius_mm: 20.0,
                    bore_radius_mm: 0.0,
                    top_mm: 1.0,
                    thickness_mm: 1.0,
                })
                .collect(),
            shim_mm: 0.0,
            thinnest_mm,
        };
        // 6 mm plate under a former of 2.4 mm, shims of 1.5 mm under one of 24 mm
        assert!(former(6.0, 2.4, 0).no_stack().contains("give thinner shims"));
        assert!(former(0.5, 24.0, 0).no_stack().contains("give thicker shims"));
        assert!(former(0.5, 24.0, 3).no_stack().is_empty());
        // a former goes into the furnace, or under the quench
        assert!(!former(0.5, 24.0, 0).no_stack().contains("print"));
    }

    const SHIMS: [f64; 8] = [0.1, 0.2, 0.3, 0.5, 0.8, 1.0, 1.5, 2.0];

    #[test]
    fn stacks_are_few_rings_never_too_high_and_within_a_feeler_shim() {
        let mut height = 0.35;
        while height < 24.0 {
            let rings = thicknesses(height, &SHIMS);
            let sum: f64 = rings.iter().sum();
            assert!((1..=MOST).contains(&rings.len()), "{height}: {rings:?}");
            let missing = height - sum;
            assert!(missing > -1e-9 && missing < 0.1_f64.max(0.02 * height), "{height}: {rings:?}");
            assert!(height > 20.0 || missing < 0.1, "{height}: {rings:?}");
            assert!(rings.windows(2).all(|pair| pair[0] >= pair[1]), "{rings:?}");
            height += 0.37;
        }
    }

    #[test]
    fn no_stack_of_more_rings_than_a_workshop_stacks() {
        assert!(thicknesses(7.0, &[0.2]).is_empty());
        assert_eq!(thicknesses(7.3, &[1.0]).len(), 7);
        assert!(thicknesses(f64::NAN, &SHIMS).is_empty() && thicknesses(0.0, &SHIMS).is_empty());
    }
}
