//! The order in which cells of a plan are painted, so that nearer ones cover those behind them.
//!
//! The cells do not overlap in the plan, so a body that stands on them (a height field) is seen rightly from obliquely
//! above if every cell is painted after those behind it in the plan: whatever its height, it can hide only what lies
//! behind. For convex cells and one direction that order always exists (Guibas & Yao, "On translating a set of
//! rectangles", STOC 1980, for convex objects in the plane).

use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// Places over a cell's width at which its neighbours in depth are looked up: neighbours that meet on a shorter stretch
/// cannot be told apart by eye.
const LOOKS: [f64; 5] = [0.02, 0.25, 0.5, 0.75, 0.98];

/// A cell whose predecessors are all painted.
struct Free {
    depth: f64,
    cell: usize,
}

impl PartialEq for Free {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Free {}

impl PartialOrd for Free {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Free {
    fn cmp(&self, other: &Self) -> Ordering {
        self.depth.total_cmp(&other.depth).then(other.cell.cmp(&self.cell))
    }
}

/// Order in which triangles of the plan (x to the right, y away from the viewer) are painted: back to front.
pub(super) fn back_to_front(points: &[[f64; 2]], triangles: &[[usize; 3]]) -> Vec<usize> {
    let corners = |cell: usize| triangles[cell].map(|corner| points[corner]);
    let spans: Vec<[f64; 2]> = (0..triangles.len())
        .map(|cell| {
            corners(cell).iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], point| {
                [low.min(point[0]), high.max(point[0])]
            })
        })
        .collect();
    // what each cell has to be painted before: the next nearer one on each look
    let mut nearer: Vec<Vec<usize>> = vec![Vec::new(); triangles.len()];
    for span in &spans {
        for look in LOOKS {
            let x = span[0] + look * (span[1] - span[0]);
            let mut met: Vec<(f64, usize)> = spans
                .iter()
                .enumerate()
                .filter(|(_, other)| other[0] < x && x < other[1])
                .map(|(cell, _)| (depth_at(corners(cell), x), cell))
                .collect();
            met.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
            for pair in met.windows(2) {
                nearer[pair[0].1].push(pair[1].1);
            }
        }
    }
    let mut waiting = vec![0_usize; triangles.len()];
    for list in &mut nearer {
        list.sort_unstable();
        list.dedup();
        for &cell in list.iter() {
            waiting[cell] += 1;
        }
    }
    let depth: Vec<f64> = (0..triangles.len())
        .map(|cell| corners(cell).iter().map(|point| point[1]).sum::<f64>() / 3.0)
        .collect();
    let free = |cell: usize| Free { depth: depth[cell], cell };
    let mut heap: BinaryHeap<Free> =
        (0..triangles.len()).filter(|cell| waiting[*cell] == 0).map(free).collect();
    let mut done = vec![false; triangles.len()];
    let mut order = Vec::with_capacity(triangles.len());
    // cells in a cycle caused by rounding come last, the farthest first
    let mut rest: Vec<usize> = (0..triangles.len()).collect();
    rest.sort_by_key(|cell| std::cmp::Reverse(free(*cell)));
    let mut rest = rest.into_iter();
    while order.len() < triangles.len() {
        let next = match heap.pop() {
            Some(next) => next.cell,
            None => match rest.next() {
                Some(cell) => cell,
                None => break,
            },
        };
        if std::mem::replace(&mut done[next], true) {
            continue;
        }
        order.push(next);
        for &cell in &nearer[next] {
            waiting[cell] -= 1;
            if waiting[cell] == 0 && !done[cell] {
                heap.push(free(cell));
            }
        }
    }
    order
}

/// Middle of the stretch on which the line at `x` crosses a triangle.
fn depth_at(corners: [[f64; 2]; 3], x: f64) -> f64 {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for k in 0..3 {
        let (a, b) = (corners[k], corners[(k + 1) % 3]);
        let run = b[0] - a[0];
        let share = (x - a[0]) / run;
        if run != 0.0 && (0.0..=1.0).contains(&share) {
            let y = a[1] + share * (b[1] - a[1]);
            low = low.min(y);
            high = high.max(y);
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A fan of triangles between two circles, in any order.
    fn ring(inner: f64, outer: f64, count: usize, first: usize) -> (Vec<[f64; 2]>, Vec<[usize; 3]>) {
        let at = |radius: f64, k: usize| {
            let angle = std::f64::consts::TAU * k as f64 / count as f64;
            [radius * angle.cos(), radius * angle.sin()]
        };
        let points = (0..count).flat_map(|k| [at(inner, k), at(outer, k)]).collect();
        let triangles = (0..count)
            .flat_map(|k| {
                let (a, b) = (2 * k, 2 * ((k + 1) % count));
                [[a, a + 1, b + 1], [a, b + 1, b]].map(|t| t.map(|corner| corner + first))
            })
            .collect();
        (points, triangles)
    }

    #[test]
    fn no_cell_is_painted_before_one_that_it_hides() {
        // wide and narrow rings, so that the middles of the cells alone mislead
        let (mut points, mut triangles) = ring(10.0, 30.0, 24, 0);
        let more = ring(2.0, 9.9, 40, points.len());
        points.extend(more.0);
        triangles.extend(more.1);
        let order = back_to_front(&points, &triangles);
        let mut place = vec![usize::MAX; triangles.len()];
        for (at, cell) in order.iter().enumerate() {
            place[*cell] = at;
        }
        assert!(place.iter().all(|at| *at < triangles.len()), "every cell once");
        let corners = |cell: usize| triangles[cell].map(|corner: usize| points[corner]);
        for k in 1..200 {
            let x = -30.0 + 60.0 * f64::from(k) / 200.0 + 0.001;
            let mut met: Vec<(f64, usize)> = (0..triangles.len())
                .filter(|cell| {
                    let xs = corners(*cell).map(|point| point[0]);
                    xs.iter().any(|v| *v < x) && xs.iter().any(|v| *v > x)
                })
                .map(|cell| (depth_at(corners(cell), x), cell))
                .collect();
            met.sort_by(|a, b| b.0.total_cmp(&a.0));
            for pair in met.windows(2) {
                assert!(place[pair[0].1] < place[pair[1].1], "at {x}: {pair:?}");
            }
        }
    }

    #[test]
    fn the_same_cells_give_the_same_order() {
        let (points, triangles) = ring(5.0, 6.0, 60, 0);
        assert_eq!(back_to_front(&points, &triangles), back_to_front(&points, &triangles));
        assert!(back_to_front(&[], &[]).is_empty());
    }
}
