//! The spatial indexes that every pairwise question goes through.

use rstar::primitives::{GeomWithData, Line};
use rstar::{AABB, RTree};

use super::TOUCH;
use crate::geometry::{Approach, approach, cross, dot, point_distance};
use crate::model::shape::{bounds, edges};
use crate::model::{Point, Room, Run};

/// A run: its cable and its place in it, both from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RunId {
    /// Index of the cable.
    pub cable: u32,
    /// Index of the run.
    pub run: u32,
}

type Piece<T> = GeomWithData<Line<[f64; 2]>, T>;

fn piece<T>(start: Point, end: Point, data: T) -> Piece<T> {
    GeomWithData::new(Line::new([start.x, start.y], [end.x, end.y]), data)
}

fn around(low: Point, high: Point, margin: f64) -> AABB<[f64; 2]> {
    AABB::from_corners([low.x - margin, low.y - margin], [high.x + margin, high.y + margin])
}

/// The box around a straight piece.
pub(super) fn piece_box(a: Point, b: Point) -> (Point, Point) {
    (Point { x: a.x.min(b.x), y: a.y.min(b.y) }, Point { x: a.x.max(b.x), y: a.y.max(b.y) })
}

/// The runs of a room, by where they lie.
#[derive(Debug)]
pub struct RunIndex<'a> {
    room: &'a Room,
    tree: RTree<Piece<RunId>>,
}

impl<'a> RunIndex<'a> {
    /// Indexes every run of the room.
    pub fn new(room: &'a Room) -> Self {
        let pieces = room.cables.iter().zip(0u32..).flat_map(|(cable, number)| {
            cable
                .runs
                .iter()
                .zip(0u32..)
                .map(move |(run, index)| piece(run.start, run.end, RunId { cable: number, run: index }))
        });
        RunIndex { room, tree: RTree::bulk_load(pieces.collect()) }
    }

    /// The run behind an id that this index gave.
    pub fn run(&self, id: RunId) -> &'a Run {
        &self.room.cables[id.cable as usize].runs[id.run as usize]
    }

    /// Every run, cable by cable.
    pub fn runs(&self) -> impl Iterator<Item = (RunId, &'a Run)> + 'a {
        self.room.cables.iter().zip(0u32..).flat_map(|(cable, number)| {
            cable.runs.iter().zip(0u32..).map(move |(run, index)| (RunId { cable: number, run: index }, run))
        })
    }

    /// How many runs there are.
    pub fn count(&self) -> usize {
        self.tree.size()
    }

    /// Least and greatest corner of the box around all runs.
    pub fn bounds(&self) -> (Point, Point) {
        let whole = self.tree.root().envelope();
        let corner = |corner: [f64; 2]| Point { x: corner[0], y: corner[1] };
        (corner(whole.lower()), corner(whole.upper()))
    }

    /// The runs whose boxes meet the box from `low` to `high` widened by `margin`.
    pub fn near(&self, low: Point, high: Point, margin: f64) -> impl Iterator<Item = RunId> {
        self.tree.locate_in_envelope_intersecting(around(low, high, margin)).map(|piece| piece.data)
    }

    /// The runs in the order of their distance from a point, with that distance.
    pub fn by_distance(&self, point: Point) -> impl Iterator<Item = (RunId, f64)> {
        self.tree
            .nearest_neighbor_iter_with_distance_2([point.x, point.y])
            .map(|(piece, square)| (piece.data, square.sqrt()))
    }
}

/// A closed ring of edges, by where they lie.
#[derive(Debug)]
pub struct Ring {
    corners: Vec<Point>,
    bounds: (Point, Point),
    tree: RTree<Piece<u32>>,
}

/// Below this many edges a plain loop beats the tree.
const FEW: usize = 24;

impl Ring {
    /// Indexes the edges of a ring of corners.
    pub fn new(corners: &[Point]) -> Self {
        let pieces = if corners.len() <= FEW {
            Vec::new()
        } else {
            edges(corners).zip(0u32..).map(|((a, b), i)| piece(a, b, i)).collect()
        };
        Ring { corners: corners.to_vec(), bounds: bounds(corners), tree: RTree::bulk_load(pieces) }
    }

    /// Its corners.
    pub fn corners(&self) -> &[Point] {
        &self.corners
    }

    /// An edge by its number from 0.
    pub fn edge(&self, index: usize) -> (Point, Point) {
        (self.corners[index], self.corners[(index + 1) % self.corners.len()])
    }

    /// Calls `visit` with the number of every edge whose box meets the box from `low` to `high` widened by `margin`.
    pub fn for_edges_near(&self, low: Point, high: Point, margin: f64, mut visit: impl FnMut(usize)) {
        let (own_low, own_high) = self.bounds;
        if low.x - margin > own_high.x
            || high.x + margin < own_low.x
            || low.y - margin > own_high.y
            || high.y + margin < own_low.y
        {
            return;
        }
        if self.corners.len() <= FEW {
            for index in 0..self.corners.len() {
                let (a, b) = self.edge(index);
                let (edge_low, edge_high) = piece_box(a, b);
                if edge_low.x <= high.x + margin
                    && edge_high.x >= low.x - margin
                    && edge_low.y <= high.y + margin
                    && edge_high.y >= low.y - margin
                {
                    visit(index);
                }
            }
        } else {
            for piece in self.tree.locate_in_envelope_intersecting(around(low, high, margin)) {
                visit(piece.data as usize);
            }
        }
    }

    /// Whether a point lies inside; what holds on an edge itself is not defined.
    ///
    /// ```
    /// use layrule::{measure::index::Ring, model::Point};
    /// let p = |x, y| Point { x, y };
    /// let ring = Ring::new(&[p(0.0, 0.0), p(10.0, 0.0), p(10.0, 10.0), p(0.0, 10.0)]);
    /// assert!(ring.contains(p(1.0, 1.0)) && !ring.contains(p(11.0, 1.0)));
    /// ```
    pub fn contains(&self, point: Point) -> bool {
        // Counts the edges that a ray to the east crosses.
        let mut inside = false;
        let far = Point { x: f64::MAX, y: point.y };
        self.for_edges_near(point, far, 0.0, |index| {
            let (a, b) = self.edge(index);
            if (a.y > point.y) != (b.y > point.y) {
                let side = cross(b - a, point - a);
                inside ^= (side > 0.0) == (b.y > a.y);
            }
        });
        inside
    }

    /// The edge nearest to the piece from `a` to `b`, and where they come nearest.
    pub fn nearest(&self, a: Point, b: Point) -> (usize, Approach) {
        let mut best = (0, Approach { first: 0.0, second: 0.0, distance: f64::INFINITY });
        let (low, high) = piece_box(a, b);
        let mut reach = f64::INFINITY;
        if self.corners.len() > FEW {
            // The edge nearest to the piece's middle bounds how far any better one can be.
            let middle = (a + b) / 2.0;
            if let Some(piece) = self.tree.nearest_neighbor([middle.x, middle.y]) {
                let (c, d) = self.edge(piece.data as usize);
                reach = approach((a, b), (c, d)).distance;
            }
        }
        let mut consider = |index: usize| {
            let near = approach((a, b), self.edge(index));
            if near.distance < best.1.distance || (near.distance == best.1.distance && index < best.0) {
                best = (index, near);
            }
        };
        if reach.is_finite() {
            self.for_edges_near(low, high, reach, consider);
        } else {
            (0..self.corners.len()).for_each(&mut consider);
        }
        best
    }

    /// Adds the shares along the piece `a` to `b` at which it may enter or leave, or come to lie along an edge.
    pub fn cuts(&self, a: Point, b: Point, cuts: &mut Vec<f64>) {
        let step = b - a;
        let square = dot(step, step);
        let (low, high) = piece_box(a, b);
        self.for_edges_near(low, high, TOUCH, |index| {
            let (c, d) = self.edge(index);
            let edge = d - c;
            let area = cross(step, edge);
            let crossing = (area != 0.0).then(|| cross(c - a, edge) / area);
            // The ends of an edge along the piece part what lies on it from what doesn't.
            let ends = [c, d].map(|p| dot(p - a, step) / square);
            cuts.extend(crossing.into_iter().chain(ends).filter(|cut| (0.0..=1.0).contains(cut)));
        });
    }

    /// The length of the piece from `a` to `b` that lies inside, mm; a stretch along an edge counts only where
    /// `with_edges` says so.
    pub fn length_inside(&self, a: Point, b: Point, with_edges: bool) -> f64 {
        let step = b - a;
        let length = dot(step, step).sqrt();
        if length == 0.0 {
            return 0.0;
        }
        let mut cuts = vec![0.0, 1.0];
        self.cuts(a, b, &mut cuts);
        cuts.sort_by(f64::total_cmp);
        let mut inside = 0.0;
        for pair in cuts.windows(2) {
            let share = pair[1] - pair[0];
            if share * length <= 1e-9 {
                continue;
            }
            let middle = a + step * f64::midpoint(pair[0], pair[1]);
            // A stretch lies along an edge where its middle and both its ends do; one hardly longer than what lengths are compared to
            // only passes through it.
            let ends = [a + step * pair[0], a + step * pair[1]];
            let mut on_edge = false;
            if share * length > 4.0 * TOUCH {
                self.for_edges_near(middle, middle, TOUCH, |index| {
                    let (c, d) = self.edge(index);
                    on_edge |= [middle, ends[0], ends[1]].iter().all(|point| point_distance(*point, c, d) <= TOUCH);
                });
            }
            if if on_edge { with_edges } else { self.contains(middle) } {
                inside += share * length;
            }
        }
        inside
    }
}
