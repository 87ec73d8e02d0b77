//! The regions that straight pieces enclose: pieces cut where they meet, and gone round with the floor to the left.

use std::collections::HashMap;

use super::Budget;
use crate::exchange::Unreadable;
use crate::geometry::index::Index;
use crate::geometry::ring::signed_area;
use crate::geometry::{Bounds, Piece, Point, Ring, cross, distance};

/// Points nearer than this are one corner, mm.
const SNAP: f64 = 0.5;
/// How many corners of one cell are looked at: those that lie beyond all cells are in the last.
const MOST_IN_CELL: usize = 32;
/// The sine of the angle between two pieces below which they run along one another: 0.6°.
const ALONG: f64 = 0.01;

/// A piece that takes part.
#[derive(Debug, Clone, Copy)]
pub(super) struct Part {
    pub(super) piece: Piece,
    /// By how much it is made longer at each end, so that what is left open by less closes, mm.
    pub(super) reach: f64,
}

/// A stretch of a region's edge, the region to its left.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stretch {
    /// The part that it is of.
    pub(super) part: usize,
    pub(super) piece: Piece,
}

/// A region with what lies apart in it.
#[derive(Debug)]
pub(super) struct Region {
    /// Its outer edge, counter-clockwise.
    pub(super) edge: Vec<Stretch>,
    /// Its corners, one at each stretch's start.
    pub(super) outline: Ring,
    /// The outer edges of what lies in it without touching its own: areas, mm2, and lengths, mm.
    pub(super) holes: Vec<(Point, f64, f64)>,
}

/// Corners by where they lie.
#[derive(Default)]
struct Corners {
    at: Vec<Point>,
    cells: HashMap<(i64, i64), Vec<usize>>,
}

impl Corners {
    fn of(&mut self, point: Point) -> usize {
        let cell = ((point.x / SNAP).floor() as i64, (point.y / SNAP).floor() as i64);
        for (x, y) in (-1..=1).flat_map(|x| (-1..=1).map(move |y| (x, y))) {
            let there = self.cells.get(&(cell.0.saturating_add(x), cell.1.saturating_add(y)));
            if let Some(found) =
                there.into_iter().flatten().take(MOST_IN_CELL).find(|corner| distance(self.at[**corner], point) <= SNAP)
            {
                return *found;
            }
        }
        self.at.push(point);
        self.cells.entry(cell).or_default().push(self.at.len() - 1);
        self.at.len() - 1
    }
}

/// The regions of at least some area that parts enclose, mm2.
///
/// # Errors
/// Where parts meet more often than is looked at.
pub(super) fn regions(parts: &[Part], least: f64, budget: &mut Budget) -> Result<Vec<Region>, Unreadable> {
    let (corners, edges) = cut(parts, budget)?;
    let loops = Loops::of(&corners, &edges);
    // What has one region at both sides ends freely, or links what lies apart.
    let kept: Vec<(usize, usize, usize)> = edges
        .iter()
        .enumerate()
        .filter(|(edge, _)| loops.of[2 * edge] != loops.of[2 * edge + 1])
        .map(|(_, e)| *e)
        .collect();
    let loops = Loops::of(&corners, &kept);
    let groups = groups(corners.len(), &kept);
    let (mut regions, mut own, mut apart) = (Vec::new(), Vec::new(), Vec::new());
    for start in &loops.starts {
        let half_edges = loops.around(*start);
        let outline: Vec<Point> = half_edges.iter().map(|half| corners[tail(&kept, *half)]).collect();
        let (area, group) = (signed_area(&outline), groups[tail(&kept, *start)]);
        if area >= least {
            let edge = half_edges.iter().map(|half| Stretch {
                part: kept[half / 2].2,
                piece: Piece::new(corners[tail(&kept, *half)], corners[tail(&kept, half ^ 1)]),
            });
            own.push(group);
            regions.push(Region { edge: edge.collect(), outline: Ring::new(&outline), holes: Vec::new() });
        } else if area < 0.0 {
            let around = outline.iter().zip(outline.iter().cycle().skip(1)).map(|(a, b)| distance(*a, *b)).sum();
            apart.push((outline.first().copied().unwrap_or_default(), -area, around, group));
        }
    }
    // What lies apart is in the smallest region round it.
    let boxes = regions.iter().map(|region| region.outline.bounds());
    let boxes = Index::new(boxes.map(|around| Piece::new(around.low, around.high)).collect::<Vec<_>>().into_iter());
    let areas: Vec<f64> = regions.iter().map(|region| signed_area(region.outline.corners())).collect();
    for (at, area, around, group) in apart {
        let mut smallest: Option<usize> = None;
        for region in boxes.near(Bounds::at(at)) {
            budget.take()?;
            let smaller = smallest.is_none_or(|other| areas[region] < areas[other]);
            if own[region] != group && smaller && regions[region].outline.contains(at) {
                smallest = Some(region);
            }
        }
        if let Some(region) = smallest {
            regions[region].holes.push((at, area, around));
        }
    }
    Ok(regions)
}

/// An edge: from which corner to which, and of what part.
type Edge = (usize, usize, usize);

/// The corner that a half-edge comes from: an edge has two, one in each direction.
fn tail(edges: &[Edge], half: usize) -> usize {
    let (from, to, _) = edges[half / 2];
    if half.is_multiple_of(2) { from } else { to }
}

/// Parts cut where they meet.
fn cut(parts: &[Part], budget: &mut Budget) -> Result<(Vec<Point>, Vec<Edge>), Unreadable> {
    let longer: Vec<Piece> = parts
        .iter()
        .map(|Part { piece, reach }| {
            let step = piece.step() / piece.length().max(1e-9) * *reach;
            Piece::new(piece.start - step, piece.end + step)
        })
        .collect();
    let index = Index::with_reach(longer.iter().map(|piece| (*piece, SNAP)));
    let mut corners = Corners::default();
    let mut cuts: Vec<Vec<(f64, usize)>> = vec![Vec::new(); parts.len()];
    for (first, a) in longer.iter().enumerate() {
        let (u, long) = (a.step(), a.length());
        for second in index.near_from(first + 1, a.bounds()) {
            budget.take()?;
            let b = longer[second];
            let (v, w) = (b.step(), b.start - a.start);
            let area = cross(u, v);
            if area.abs() < ALONG * long * b.length() {
                for (end, on, own) in
                    [(b.start, *a, first), (b.end, *a, first), (a.start, b, second), (a.end, b, second)]
                {
                    if on.distance(end) <= SNAP {
                        cuts[own].push((on.nearest_share(end), corners.of(end)));
                    }
                }
                continue;
            }
            let shares = [cross(w, v) / area, cross(w, u) / area];
            if shares.iter().all(|share| (-1e-9..=1.0 + 1e-9).contains(share)) {
                budget.take()?;
                let corner = corners.of(a.along(shares[0]));
                cuts[first].push((shares[0], corner));
                cuts[second].push((shares[1], corner));
            }
        }
    }
    let mut edges: Vec<Edge> = Vec::new();
    let mut known: HashMap<(usize, usize), ()> = HashMap::new();
    for (part, mut places) in cuts.into_iter().enumerate() {
        places.push((0.0, corners.of(longer[part].start)));
        places.push((1.0, corners.of(longer[part].end)));
        places.sort_by(|a, b| a.0.total_cmp(&b.0));
        for pair in places.windows(2) {
            let (from, to) = (pair[0].1, pair[1].1);
            // What is drawn twice is the first of it.
            if from != to && known.insert((from.min(to), from.max(to)), ()).is_none() {
                edges.push((from, to, part));
            }
        }
    }
    Ok((corners.at, edges))
}

/// Half-edges in the loops that they make round regions.
struct Loops {
    next: Vec<usize>,
    /// The loop of each half-edge.
    of: Vec<usize>,
    /// A half-edge of each loop.
    starts: Vec<usize>,
}

impl Loops {
    fn of(corners: &[Point], edges: &[Edge]) -> Self {
        let mut leaving: Vec<Vec<(f64, usize)>> = vec![Vec::new(); corners.len()];
        for half in 0..2 * edges.len() {
            let (from, to) = (tail(edges, half), tail(edges, half ^ 1));
            let step = corners[to] - corners[from];
            leaving[from].push((step.y.atan2(step.x), half));
        }
        let mut next = vec![0; 2 * edges.len()];
        for around in &mut leaving {
            around.sort_by(|a, b| a.0.total_cmp(&b.0));
            // Who comes in along one goes out along the next clockwise, which is the sharpest turn to the left.
            for (place, (_, half)) in around.iter().enumerate() {
                let before = (place + around.len() - 1) % around.len();
                next[half ^ 1] = around[before].1;
            }
        }
        let mut of = vec![usize::MAX; next.len()];
        let mut starts = Vec::new();
        for start in 0..next.len() {
            if of[start] != usize::MAX {
                continue;
            }
            let mut half = start;
            while of[half] == usize::MAX {
                of[half] = starts.len();
                half = next[half];
            }
            starts.push(start);
        }
        Loops { next, of, starts }
    }

    /// The half-edges of a loop, from one of them on.
    fn around(&self, start: usize) -> Vec<usize> {
        let rest = std::iter::successors(Some(self.next[start]), |half| Some(self.next[*half]));
        std::iter::once(start).chain(rest.take_while(|half| *half != start)).collect()
    }
}

/// For each corner the group of those that edges link it to.
fn groups(corners: usize, edges: &[Edge]) -> Vec<usize> {
    let mut parents: Vec<usize> = (0..corners).collect();
    for (from, to, _) in edges {
        let (a, b) = (root(&mut parents, *from), root(&mut parents, *to));
        parents[a] = b;
    }
    (0..corners).map(|corner| root(&mut parents, corner)).collect()
}

fn root(parents: &mut [usize], mut corner: usize) -> usize {
    while parents[corner] != corner {
        parents[corner] = parents[parents[corner]];
        corner = parents[corner];
    }
    corner
}
