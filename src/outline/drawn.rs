//! Chains as they were drawn, loose and on any layer: joined end to end and told apart by place.

use std::collections::BTreeMap;

use super::arc::distance;
use super::validity::contains;
use super::{ArcChain, Contour, Point, Role};

/// Ends nearer than this are one point (mm): what hand-edited drawings leave open without anyone seeing it.
const JOIN: f64 = 1e-3;

/// A chain with the layer it was drawn on.
pub(super) struct Drawn {
    pub layer: String,
    pub chain: ArcChain,
}

/// Loose pieces of one layer joined end to end, and closed where their ends meet.
pub(super) fn joined(drawn: Vec<Drawn>) -> Vec<Drawn> {
    let (mut done, loose): (Vec<Drawn>, Vec<Drawn>) = drawn.into_iter().partition(|one| one.chain.closed);
    let mut loose: Vec<Option<Drawn>> = loose.into_iter().map(Some).collect();
    // ends by cell of a grid as wide as two ends may lie apart
    let cell = |point: Point| point.map(|v| (v / JOIN).round().to_string());
    let mut ends: BTreeMap<[String; 2], Vec<usize>> = BTreeMap::new();
    let tips = |chain: &ArcChain| [chain.vertices[0].point, chain.vertices[chain.vertices.len() - 1].point];
    for (i, one) in loose.iter().enumerate() {
        for tip in one.iter().flat_map(|one| tips(&one.chain)) {
            ends.entry(cell(tip)).or_default().push(i);
        }
    }
    let neighbours = |point: Point| {
        let mut near: Vec<usize> = Vec::new();
        for dx in [-JOIN, 0.0, JOIN] {
            for dy in [-JOIN, 0.0, JOIN] {
                near.extend(ends.get(&cell([point[0] + dx, point[1] + dy])).into_iter().flatten());
            }
        }
        near.sort_unstable();
        near
    };
    for i in 0..loose.len() {
        let Some(mut one) = loose[i].take() else { continue };
        // grow at the end, then turn round and grow at the other
        for _ in 0..2 {
            loop {
                let [start, end] = tips(&one.chain);
                if one.chain.len() > 1 && distance(start, end) <= JOIN {
                    break;
                }
                let next = neighbours(end).into_iter().find(|&k| {
                    loose[k].as_ref().is_some_and(|other| {
                        other.layer == one.layer
                            && tips(&other.chain).into_iter().any(|tip| distance(tip, end) <= JOIN)
                    })
                });
                let Some(other) = next.and_then(|k| loose[k].take()) else { break };
                let forward = distance(other.chain.vertices[0].point, end) <= JOIN;
                let chain = if forward { other.chain } else { other.chain.reversed() };
                one.chain.vertices.pop();
                one.chain.vertices.extend(chain.vertices);
            }
            one.chain = one.chain.reversed();
        }
        let [start, end] = tips(&one.chain);
        if one.chain.len() > 1 && distance(start, end) <= JOIN {
            one.chain.vertices.pop();
            one.chain.closed = true;
        }
        if one.chain.vertices.len() > 1 {
            done.push(one);
        }
    }
    done
}

/// Roles by layer where a layer is named as this program names it, by place where it is not.
pub(super) fn with_roles(drawn: Vec<Drawn>) -> Vec<Contour> {
    let drawn: Vec<Drawn> = drawn
        .into_iter()
        .map(|mut one| {
            if one.chain.closed && one.chain.area() < 0.0 {
                one.chain = one.chain.reversed();
            }
            one
        })
        .collect();
    let named: Vec<Option<Role>> = drawn.iter().map(|one| Role::of_layer(&one.layer)).collect();
    let known = |role: Role| named.contains(&Some(role));
    // the largest closed contour is the outside
    let largest = (0..drawn.len())
        .filter(|&i| named[i].is_none() && drawn[i].chain.closed)
        .max_by(|&a, &b| drawn[a].chain.area().total_cmp(&drawn[b].chain.area()));
    let outside = if known(Role::Outside) { None } else { largest };
    let middle = (0..drawn.len())
        .find(|&i| named[i] == Some(Role::Outside) || Some(i) == outside)
        .map(|i| drawn[i].chain.extents())
        .map_or([0.0; 2], |[low, high]| [0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1])]);
    let role = |i: usize| match named[i] {
        Some(role) => role,
        None if Some(i) == outside => Role::Outside,
        None if !drawn[i].chain.closed => Role::CutOnLine,
        None if contains(&drawn[i].chain, middle) => Role::Bore,
        None => Role::Slot,
    };
    let roles: Vec<Role> = (0..drawn.len()).map(role).collect();
    drawn.into_iter().zip(roles).map(|(one, role)| Contour { role, chain: one.chain }).collect()
}
