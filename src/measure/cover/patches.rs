//! The connected parts of an uncovered floor, put together from the stretches that bound them.

use super::edge::Edge;
use crate::geometry::index::Index;
use crate::geometry::{Bounds, Piece, Point, Ring};

/// A connected part of the uncovered floor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Patch {
    /// mm2.
    pub area: f64,
    /// A point on its edge.
    pub at: Point,
    /// Least corner of the box around it.
    pub low: Point,
    /// Greatest corner of the box around it.
    pub high: Point,
}

/// A patch with its border.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlined {
    /// The patch.
    pub patch: Patch,
    /// Its border, and those of the holes in it; arcs are drawn by corners on them.
    pub rings: Vec<Vec<Point>>,
}

/// Patches below this area are what rounding leaves, mm2.
pub(super) const LEAST_PATCH: f64 = 1.0;

/// A stretch of an edge that bounds the uncovered floor, between two shares of it.
pub(super) type Stretch = (Edge, f64, f64);

/// Stretches joined end to start until they come back to where they began: round a patch counter-clockwise, with an area above 0, or round
/// a hole in one clockwise, with one below.
struct Loop {
    patch: Patch,
    /// Points of it, all its corners among them.
    points: Vec<Point>,
}

/// How many points of an arc stand for it.
const ARC_POINTS: u32 = 8;

/// The patches that stretches bound, the largest first; told from `origin`.
pub(super) fn patches(stretches: &[Stretch], origin: Point) -> Vec<Outlined> {
    gather(loops(stretches), origin)
}

/// Joins stretches into loops.
///
/// Invariant *loops close*: whatever bounds the uncovered floor is a stretch, and each ends where another begins, but for rounding; so
/// the start nearest to an end is the one that goes on from there.
fn loops(stretches: &[Stretch]) -> Vec<Loop> {
    let starts: Vec<Point> = stretches.iter().map(|(edge, from, _)| edge.at(*from)).collect();
    let index = Index::new(starts.iter().map(|start| Piece::at(*start)));
    let next = stretches.iter().map(|(edge, _, to)| index.by_distance(edge.at(*to)).next().map_or(0, |(next, _)| next));
    let next: Vec<usize> = next.collect();
    let mut walked = vec![false; stretches.len()];
    let mut found = Vec::new();
    for first in 0..stretches.len() {
        if walked[first] {
            continue;
        }
        let at = starts[first];
        let mut area = 0.0;
        let mut points: Vec<Point> = Vec::new();
        let mut here = first;
        while !walked[here] {
            walked[here] = true;
            let (edge, from, to) = &stretches[here];
            area += edge.area(*from, *to);
            let count = match edge {
                Edge::Straight(..) => 1,
                Edge::Arc(_) => ARC_POINTS,
            };
            let share = |step: u32| from + (to - from) * f64::from(step) / f64::from(count);
            points.extend((0..count).map(|step| edge.at(share(step))));
            here = next[here];
        }
        let Bounds { low, high } = Bounds::around(&points);
        found.push(Loop { patch: Patch { area, at, low, high }, points });
    }
    found
}

/// Takes each hole from the smallest loop around it.
fn gather(loops: Vec<Loop>, origin: Point) -> Vec<Outlined> {
    let (mut outer, holes): (Vec<Loop>, Vec<Loop>) = loops.into_iter().partition(|found| found.patch.area > 0.0);
    outer.retain(|found| found.patch.area >= LEAST_PATCH);
    outer.sort_by(|a, b| a.patch.area.total_cmp(&b.patch.area));
    let mut lost = vec![0.0; outer.len()];
    let mut own: Vec<Vec<Vec<Point>>> = outer.iter().map(|found| vec![found.points.clone()]).collect();
    if !holes.is_empty() {
        let rings: Vec<Ring> = outer.iter().map(|found| Ring::new(&found.points)).collect();
        // The diagonal of a box has that box.
        let boxes = rings.iter().map(|ring| Piece::new(ring.bounds().low, ring.bounds().high));
        let index = Index::new(boxes);
        for hole in holes {
            let around = index.near(Bounds::at(hole.patch.at)).filter(|place| rings[*place].contains(hole.patch.at));
            if let Some(smallest) = around.min() {
                lost[smallest] += hole.patch.area;
                own[smallest].push(hole.points);
            }
        }
    }
    let patches = outer.iter().zip(lost).zip(own).map(|((Loop { patch, .. }, lost), mut rings)| {
        rings.iter_mut().flatten().for_each(|point| *point = *point + origin);
        let area = patch.area + lost;
        Outlined {
            patch: Patch { area, at: patch.at + origin, low: patch.low + origin, high: patch.high + origin },
            rings,
        }
    });
    let mut patches: Vec<Outlined> = patches.filter(|outlined| outlined.patch.area >= LEAST_PATCH).collect();
    patches.sort_by(|Outlined { patch: a, .. }, Outlined { patch: b, .. }| {
        b.area.total_cmp(&a.area).then(a.low.x.total_cmp(&b.low.x)).then(a.low.y.total_cmp(&b.low.y))
    });
    patches
}
