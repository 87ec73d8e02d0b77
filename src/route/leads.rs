//! The ways of cold tails and conduits over the floor that a cable leaves: along walls, round what stands there, across nothing.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use geo::MultiPolygon;

use super::limits::Limits;
use super::region;
use crate::geometry::index::Index;
use crate::geometry::{Bounds, Piece, Point, distance};
use crate::model::Room;

/// How far leads keep off walls, mm, the usual first.
pub const BORDERS: [f64; 3] = [30.0, 45.0, 15.0];

/// The floor where leads may lie.
#[derive(Debug)]
pub struct Strip {
    edges: Vec<Piece>,
    by_place: Index,
    /// Corners that a way may turn at, on whole millimetres.
    corners: Vec<Point>,
}

/// What a way keeps clear of.
pub struct Way<'a> {
    strip: &'a Strip,
    /// Pieces not to be come near to, such as runs, and how many of them keep their distance: other leads, which come after these, are only
    /// not to be crossed.
    pieces: &'a [Piece],
    runs: usize,
    index: Index,
    clear: f64,
}

/// How near leads may come to each other, mm.
const BESIDE: f64 = 8.0;

/// How far beside the nearest point of the strip leads may come down too, mm, so that several do from one box.
const FEET: [f64; 5] = [0.0, 40.0, -40.0, 80.0, -80.0];

/// How far from its own strip's edge a point may lie and still be on it, mm: corners are rounded to whole ones.
const GRAZE: f64 = 1.0;

/// Corners of the strip that are looked at, at the most.
const MOST_CORNERS: usize = 240;

impl Strip {
    /// The floor of a room where leads may lie, `border` mm off its walls.
    pub fn new(room: &Room, limits: &Limits, border: f64) -> Self {
        let floor: MultiPolygon<f64> = region::for_lead(room, limits, border);
        let rings = floor.0.iter().flat_map(|part| std::iter::once(part.exterior()).chain(part.interiors()));
        let mut edges = Vec::new();
        let mut corners = Vec::new();
        for ring in rings {
            edges.extend(Piece::of_line(&ring.0));
            corners.extend(ring.0.iter().skip(1).map(|corner| Point { x: corner.x.round(), y: corner.y.round() }));
        }
        corners.truncate(MOST_CORNERS);
        let by_place = Index::new(edges.iter().copied());
        Strip { edges, by_place, corners }
    }

    /// Where a lead from a box or a thermostat may come down: the nearest point of the strip, and such as lie beside it.
    pub fn feet(&self, at: Point) -> Vec<Point> {
        let nearest = self.edges.iter().map(|edge| (edge, edge.along(edge.nearest_share(at))));
        let Some((edge, foot)) = nearest.min_by(|a, b| distance(a.1, at).total_cmp(&distance(b.1, at))) else {
            return Vec::new();
        };
        let length = edge.length();
        let step = if length > 0.0 { edge.step() / length } else { Point::zero() };
        let (back, on) = (distance(edge.start, foot), distance(foot, edge.end));
        let beside = FEET.iter().filter(|aside| -back <= **aside && **aside <= on).map(|aside| foot + step * *aside);
        beside.map(|foot| Point { x: foot.x.round(), y: foot.y.round() }).collect()
    }

    /// Whether a straight way stays on the strip.
    fn holds(&self, way: Piece) -> bool {
        let inside = |point: Point| self.contains(point) || self.near_edge(point);
        let length = way.length();
        if length == 0.0 {
            return inside(way.start);
        }
        // It leaves where it meets an edge other than at a graze.
        let shrunk = Piece::new(way.along((GRAZE / length).min(0.5)), way.along(1.0 - (GRAZE / length).min(0.5)));
        let step = way.step() / length;
        let leaves = self.by_place.near(way.bounds().widened(GRAZE)).any(|edge| {
            let edge = self.edges[edge];
            let off = |point: Point| (point.x - way.start.x) * step.y - (point.y - way.start.y) * step.x;
            let (one, other) = (off(edge.start), off(edge.end));
            let crosses = one.min(other) < -GRAZE && one.max(other) > GRAZE;
            crosses && edge.approach(shrunk).distance == 0.0
        });
        // What it only touches divides it too: between two such places it lies on the strip or off it.
        let near = self
            .by_place
            .near(way.bounds().widened(GRAZE))
            .flat_map(|edge| [self.edges[edge].start, self.edges[edge].end]);
        let touched = near.map(|corner| way.nearest_share(corner)).filter(|share| (0.0..=1.0).contains(share));
        let mut cuts: Vec<f64> = touched.chain([0.0, 1.0]).collect();
        cuts.sort_by(f64::total_cmp);
        !leaves
            && cuts
                .windows(2)
                .all(|pair| (pair[1] - pair[0]) * length < GRAZE || inside(way.along(f64::midpoint(pair[0], pair[1]))))
    }

    fn near_edge(&self, point: Point) -> bool {
        self.by_place.near(Bounds::at(point).widened(GRAZE)).any(|edge| self.edges[edge].distance(point) <= GRAZE)
    }

    fn contains(&self, point: Point) -> bool {
        let crossings = self.edges.iter().filter(|edge| {
            (edge.start.y > point.y) != (edge.end.y > point.y)
                && point.x < edge.start.x + edge.step().x * (point.y - edge.start.y) / edge.step().y
        });
        crossings.count() % 2 == 1
    }
}

impl<'a> Way<'a> {
    /// Ways over a strip that stay `clear` mm off some pieces, of which the first so many are runs.
    pub fn new(strip: &'a Strip, pieces: &'a [Piece], runs: usize, clear: f64) -> Self {
        Way { strip, pieces, runs, index: Index::new(pieces.iter().copied()), clear }
    }

    /// Whether a straight way is free, but for what it keeps off a piece that it ends on.
    pub fn is_free(&self, way: Piece, but: Option<usize>) -> bool {
        let near = || self.index.near(way.bounds().widened(self.clear));
        let keeps = |piece: usize| if piece < self.runs { self.clear } else { BESIDE };
        let clear = near().all(|piece| Some(piece) == but || self.pieces[piece].approach(way).distance >= keeps(piece));
        clear && self.strip.holds(way)
    }

    /// The shortest way from one point to another, both told, no longer than `most` mm; nothing where there is none.
    pub fn shortest(&self, from: Point, to: Point, most: f64) -> Option<Vec<Point>> {
        let mut nodes = vec![from, to];
        let far = |point: &Point| distance(from, *point) + distance(*point, to);
        nodes.extend(self.strip.corners.iter().filter(|corner| far(corner) <= most));
        let mut least = vec![f64::INFINITY; nodes.len()];
        let mut before = vec![usize::MAX; nodes.len()];
        let mut done = vec![false; nodes.len()];
        let mut open = BinaryHeap::from([(Reverse(0_u64), 0_usize)]);
        least[0] = 0.0;
        while let Some((_, here)) = open.pop() {
            if std::mem::replace(&mut done[here], true) {
                continue;
            }
            if here == 1 {
                break;
            }
            for next in 1..nodes.len() {
                let length = least[here] + distance(nodes[here], nodes[next]);
                let shorter = length < least[next] - 1e-6 && length + distance(nodes[next], to) <= most;
                if !done[next] && shorter && self.is_free(Piece::new(nodes[here], nodes[next]), None) {
                    least[next] = length;
                    before[next] = here;
                    // Ordered by thousandths of a millimetre, so that the order is whole.
                    open.push((Reverse(((length + distance(nodes[next], to)) * 1e3) as u64), next));
                }
            }
        }
        if !done[1] {
            return None;
        }
        let mut line = vec![nodes[1]];
        let mut at = 1;
        while before[at] != usize::MAX {
            at = before[at];
            line.push(nodes[at]);
        }
        line.reverse();
        line.dedup();
        Some(line)
    }
}

/// How far a tail comes in straight along the line of its cable, mm, the most first.
const LEAD_IN: [f64; 8] = [100.0, 80.0, 60.0, 50.0, 40.0, 30.0, 20.0, 15.0];

/// How far aside it comes in otherwise, for each millimetre along: little enough to be no bend.
const SLANTS: [f64; 2] = [0.45, -0.45];

/// An end of a cable that a tail is joined to.
#[derive(Debug, Clone, Copy)]
pub struct End {
    /// Where it is.
    pub at: Point,
    /// The other end of its run.
    pub inward: Point,
    /// That run among all.
    pub run: usize,
}

/// What a tail is led by.
#[derive(Debug, Clone, Copy)]
pub struct Led<'l> {
    /// The runs of all cables, from which it keeps `clear` mm.
    pub runs: &'l [Piece],
    /// Other leads, which it doesn't cross.
    pub others: &'l [Vec<Point>],
    /// The box that it comes from.
    pub from: Point,
    /// How long it is on the floor at the most, mm.
    pub most: f64,
    /// How far it keeps off runs, mm.
    pub clear: f64,
}

/// A cold tail's way on the floor to an end of a cable, which its last point is; nothing where there is none so short.
pub fn tail(strip: &Strip, end: End, led: Led<'_>) -> Option<Vec<Point>> {
    let Led { runs, others, from, most, clear } = led;
    let count = runs.len();
    let mut pieces = runs.to_vec();
    pieces.extend(others.iter().flat_map(|other| Piece::of_line(other)));
    let way = Way::new(strip, &pieces, count, clear);
    let outward = (end.at - end.inward) / distance(end.at, end.inward);
    // From the box down to the strip no other lead is crossed.
    let down = |foot: &Point| {
        let down = Piece::new(from, *foot);
        pieces[count..].iter().all(|other| other.start == from || other.approach(down).distance > 0.0 || from == *foot)
    };
    let aside = Point { x: -outward.y, y: outward.x };
    let straight = LEAD_IN.iter().map(|back| (outward, *back));
    let slanting =
        SLANTS.iter().flat_map(|slant| LEAD_IN.iter().take(3).map(move |back| (outward + aside * *slant, *back)));
    for (outward, back) in straight.chain(slanting) {
        let before = end.at + outward * back;
        let whole = Point { x: before.x.round(), y: before.y.round() };
        let straight = whole.x == end.at.x || whole.y == end.at.y;
        let before = if distance(before, whole) < 0.5 && straight { whole } else { before };
        if !way.is_free(Piece::new(before, end.at), Some(end.run)) {
            continue;
        }
        let feet = strip.feet(from).into_iter().filter(down);
        let mut ways = feet.filter_map(|foot| way.shortest(foot, before, most - distance(from, foot) - back));
        if let Some(mut line) = ways.next() {
            line.push(end.at);
            return Some(super::walk::corners(&line));
        }
    }
    None
}
