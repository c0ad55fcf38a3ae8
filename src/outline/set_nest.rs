//! Discs of several diameters on one sheet, in complete sets: the discs of an assembly cut together.

use super::nesting::{NestError, border};
use super::{Nest, Point};
use crate::spec::Shop;

/// Most discs that are placed: the work grows with their square.
const MOST: usize = 600;
/// Densest packing of equal circles, π/√12: an upper bound that different ones seldom pass.
const DENSEST: f64 = 0.906_9;
/// Rounding of a fit (mm).
const ROUNDING: f64 = 1e-6;

/// Discs of one diameter in a set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DiscKind {
    /// largest extent of the part (mm)
    pub diameter: f64,
    /// discs of this kind in a set
    pub count: usize,
}

/// Complete sets of discs on a sheet. Every disc lies the same way, the rolling direction along the first side.
#[derive(Debug, Clone, PartialEq)]
pub struct SetNest {
    /// sheet (mm): along the rolling direction, across it
    pub sheet: [f64; 2],
    /// border that stays free (mm)
    pub margin: f64,
    /// distance of neighbouring parts (mm)
    pub spacing: f64,
    /// complete sets
    pub sets: usize,
    /// kind and centre of every disc, the sheet's lower left corner the origin
    pub discs: Vec<(usize, Point)>,
}

impl SetNest {
    /// As many sets as fit the shop's sheet; none where no sheet is given.
    pub fn of(kinds: &[DiscKind], spacing: f64, shop: &Shop) -> Option<Result<Self, NestError>> {
        Some(Self::on(kinds, spacing, border(shop), shop.sheet?))
    }

    /// As many sets as fit a sheet. mm.
    pub fn on(kinds: &[DiscKind], spacing: f64, margin: f64, sheet: [f64; 2]) -> Result<Self, NestError> {
        let [width, height] = sheet;
        let each: usize = kinds.iter().map(|kind| kind.count).sum();
        let whole = |sets, discs| Self { sheet, margin, spacing, sets, discs };
        let none = || NestError::NoSet { width, height, discs: each };
        if let [kind] = kinds {
            // rows of equal discs are at least as good
            let nest = Nest::discs(kind.diameter, spacing, margin, sheet)?;
            let sets = nest.centres.len() / each.max(1);
            if sets == 0 {
                return Err(none());
            }
            let discs = nest.centres.into_iter().take(sets * each).map(|centre| (0, centre)).collect();
            return Ok(whole(sets, discs));
        }
        let taken: f64 =
            kinds.iter().map(|kind| kind.count as f64 * (kind.diameter + spacing).powi(2)).sum::<f64>()
                * std::f64::consts::FRAC_PI_4;
        let room: f64 = sheet.iter().map(|side| (side - 2.0 * margin + spacing).max(0.0)).product();
        let most = (1..=MOST / each.max(1))
            .take_while(|sets| *sets as f64 * taken <= DENSEST * room + taken)
            .last()
            .unwrap_or(0);
        let (mut best, mut low, mut high) = (None, 0, most);
        while low < high {
            let sets = low + (high - low).div_ceil(2);
            let tried = WAYS.into_iter().find_map(|way| placed(kinds, sets, spacing, margin, sheet, way));
            match tried {
                Some(discs) => {
                    best = Some(whole(sets, discs));
                    low = sets;
                }
                None => high = sets - 1,
            }
        }
        best.ok_or_else(none)
    }

    /// Share of the sheet that becomes part, for parts of these areas (mm²), one for each kind.
    pub fn sheet_use(&self, areas: &[f64]) -> f64 {
        let parts: f64 = self.discs.iter().filter_map(|(kind, _)| areas.get(*kind)).sum();
        parts / (self.sheet[0] * self.sheet[1])
    }
}

/// A way of placing discs.
#[derive(Debug, Clone, Copy)]
struct Way {
    /// coordinate that is kept smallest first, 0 or 1
    side: usize,
    /// whether equal discs may lie in each other's gaps, or only in rows and columns
    staggered: bool,
}

/// Ways that are tried, in this order.
const WAYS: [Way; 4] = [
    Way { side: 0, staggered: true },
    Way { side: 1, staggered: true },
    Way { side: 0, staggered: false },
    Way { side: 1, staggered: false },
];

/// Centres of so many sets, the largest discs first, each as near to one edge of the sheet as it goes, then to the other: in
/// a corner, or touching two of edges and discs. None where they do not all fit.
fn placed(
    kinds: &[DiscKind],
    sets: usize,
    spacing: f64,
    margin: f64,
    sheet: [f64; 2],
    way: Way,
) -> Option<Vec<(usize, Point)>> {
    let mut order: Vec<usize> = (0..kinds.len()).collect();
    order.sort_by(|a, b| kinds[*b].diameter.total_cmp(&kinds[*a].diameter));
    let mut discs: Vec<(usize, Point)> = Vec::new();
    for kind in order {
        let radius = 0.5 * kinds[kind].diameter;
        let low = margin + radius;
        let high = sheet.map(|side| side - margin - radius);
        let distance = |other: usize| radius + 0.5 * kinds[other].diameter + spacing;
        let free = |at: &Point, discs: &[(usize, Point)]| {
            (0..2).all(|side| at[side] >= low - ROUNDING && at[side] <= high[side] + ROUNDING)
                && discs
                    .iter()
                    .all(|(other, [x, y])| (at[0] - x).hypot(at[1] - y) >= distance(*other) - ROUNDING)
        };
        let edges = [(0, low), (1, low), (0, high[0]), (1, high[1])];
        let before = |a: &Point, b: &Point| {
            a[way.side].total_cmp(&b[way.side]).then(a[1 - way.side].total_cmp(&b[1 - way.side]))
        };
        let touching = |k: usize, discs: &[(usize, Point)]| {
            let (own, centre) = discs[k];
            let mut places = Vec::new();
            for (side, at) in edges {
                let across = at - centre[side];
                let along = (distance(own).powi(2) - across * across).max(-1.0);
                if along >= 0.0 {
                    for sign in [-1.0, 1.0] {
                        let mut place = centre;
                        place[side] = at;
                        place[1 - side] += sign * along.sqrt();
                        places.push(place);
                    }
                }
            }
            if own == kind && !way.staggered {
                let pitch = distance(own);
                places.extend(
                    [[pitch, 0.0], [-pitch, 0.0], [0.0, pitch], [0.0, -pitch]]
                        .map(|[x, y]| [centre[0] + x, centre[1] + y]),
                );
            }
            let gaps = |other: usize| way.staggered || (own != kind && other != kind);
            for &(other, at) in discs[..k].iter().filter(|(other, _)| gaps(*other)) {
                places.extend(crossings(centre, distance(own), at, distance(other)).into_iter().flatten());
            }
            places
        };
        let mut places = vec![[low, low], [low, high[1]], [high[0], low]];
        places.extend((0..discs.len()).flat_map(|k| touching(k, &discs)));
        places.retain(|place| free(place, &discs));
        for _ in 0..sets * kinds[kind].count {
            let first = places.iter().copied().min_by(before)?;
            discs.push((kind, first));
            places.retain(|place| {
                (place[0] - first[0]).hypot(place[1] - first[1]) >= distance(kind) - ROUNDING
            });
            let new = touching(discs.len() - 1, &discs);
            places.extend(new.into_iter().filter(|place| free(place, &discs)));
        }
    }
    Some(discs)
}

/// Places at both distances from two centres.
fn crossings(a: Point, from_a: f64, b: Point, from_b: f64) -> Option<[Point; 2]> {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let apart = dx.hypot(dy);
    if apart > from_a + from_b || apart < (from_a - from_b).abs() || apart < ROUNDING {
        return None;
    }
    let along = (from_a * from_a - from_b * from_b + apart * apart) / (2.0 * apart);
    let across = (from_a * from_a - along * along).max(0.0).sqrt();
    let [ux, uy] = [dx / apart, dy / apart];
    Some(
        [-1.0, 1.0]
            .map(|sign| [a[0] + along * ux - sign * across * uy, a[1] + along * uy + sign * across * ux]),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kinds(list: &[(f64, usize)]) -> Vec<DiscKind> {
        list.iter().map(|&(diameter, count)| DiscKind { diameter, count }).collect()
    }

    #[test]
    fn sets_are_complete_apart_and_inside() {
        for (list, sheet) in [
            (vec![(60.0, 1), (45.0, 1)], [500.0, 300.0]),
            (vec![(30.0, 2), (80.0, 1)], [400.0, 400.0]),
            (vec![(20.0, 3), (20.5, 1), (35.0, 1)], [300.0, 200.0]),
        ] {
            let kinds = kinds(&list);
            let (spacing, margin) = (3.0, 10.0);
            let nest = SetNest::on(&kinds, spacing, margin, sheet).unwrap();
            for (k, kind) in kinds.iter().enumerate() {
                let count = nest.discs.iter().filter(|(of, _)| *of == k).count();
                assert_eq!(count, nest.sets * kind.count);
            }
            for (i, (a, p)) in nest.discs.iter().enumerate() {
                let radius = 0.5 * kinds[*a].diameter;
                for side in 0..2 {
                    assert!(
                        p[side] >= margin + radius - 1e-5 && p[side] <= sheet[side] - margin - radius + 1e-5
                    );
                }
                for (b, q) in &nest.discs[..i] {
                    let apart = (p[0] - q[0]).hypot(p[1] - q[1]) - radius - 0.5 * kinds[*b].diameter;
                    assert!(apart >= spacing - 1e-5, "{apart}");
                }
            }
            let areas: Vec<f64> =
                kinds.iter().map(|kind| std::f64::consts::FRAC_PI_4 * kind.diameter.powi(2)).collect();
            let share = nest.sheet_use(&areas);
            // judgement: rows of equal discs with this spacing and margin use 55 to 65 %
            assert!((0.42..0.91).contains(&share), "{list:?}: {share}");
        }
    }

    #[test]
    fn small_discs_go_into_the_gaps_of_large_ones() {
        // by hand: four circles of 10 in a square of 20 leave a gap of 10(√2 − 1) = 4.142 in its middle
        let fits = |diameter: f64| SetNest::on(&kinds(&[(10.0, 4), (diameter, 1)]), 0.0, 0.0, [20.0, 20.0]);
        assert_eq!(fits(4.142).unwrap().sets, 1);
        let error = fits(4.2).unwrap_err().to_string();
        assert!(error.contains("shop.sheet") && error.contains('5'), "{error}");
    }

    #[test]
    fn equal_discs_are_nested_as_ever() {
        let nest = SetNest::on(&kinds(&[(78.0, 2)]), 4.0, 4.0, [500.0, 250.0]).unwrap();
        let rows = Nest::discs(78.0, 4.0, 4.0, [500.0, 250.0]).unwrap();
        assert_eq!(nest.sets, rows.centres.len() / 2);
        assert!(SetNest::on(&kinds(&[(78.0, 30)]), 4.0, 4.0, [500.0, 250.0]).is_err());
    }
}
