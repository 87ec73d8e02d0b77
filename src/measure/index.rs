//! The spatial indexes that every pairwise question goes through.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use rstar::primitives::{GeomWithData, Line};
use rstar::{AABB, RTree};

use super::TOUCH;
use super::boxes::Boxes;
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

/// A box, by its least and greatest corner.
pub(super) type Corners = (Point, Point);

/// Whether two boxes meet.
pub(super) fn boxes_meet(a: &Corners, b: &Corners) -> bool {
    a.0.x <= b.1.x && a.1.x >= b.0.x && a.0.y <= b.1.y && a.1.y >= b.0.y
}

/// The square of how far apart two boxes lie, mm2; 0 where they meet.
fn box_gap(a: &Corners, b: &Corners) -> f64 {
    let x = (a.0.x - b.1.x).max(b.0.x - a.1.x).max(0.0);
    let y = (a.0.y - b.1.y).max(b.0.y - a.1.y).max(0.0);
    x * x + y * y
}

/// The box around two boxes.
pub(super) fn box_around((a, b): Corners, (low, high): Corners) -> Corners {
    (Point { x: a.x.min(low.x), y: a.y.min(low.y) }, Point { x: b.x.max(high.x), y: b.y.max(high.y) })
}

/// A box widened to every side.
pub(super) fn widened((low, high): Corners, by: f64) -> Corners {
    (Point { x: low.x - by, y: low.y - by }, Point { x: high.x + by, y: high.y + by })
}

/// Up to so many pieces are looked through one by one, which costs less than a tree.
pub(super) const FEW_PIECES: usize = 128;

/// Where the runs of a room lie: what an index of them is made of.
#[derive(Debug)]
pub(super) struct RunPlaces {
    count: usize,
    bounds: Corners,
    /// The runs in order and the boxes around them where there are few …
    ids: Vec<RunId>,
    boxes: Boxes,
    /// … and a tree of them where there are many.
    tree: Option<RTree<Piece<RunId>>>,
}

impl RunPlaces {
    /// Of every run of the room.
    pub(super) fn new(room: &Room) -> Self {
        let count = room.cables.iter().map(|cable| cable.runs.len()).sum();
        let empty = Point { x: f64::INFINITY, y: f64::INFINITY };
        let bounds = runs(room).map(|(_, run)| piece_box(run.start, run.end)).reduce(box_around);
        let bounds = bounds.unwrap_or((empty, empty * -1.0));
        let mut places = RunPlaces { count, bounds, ids: Vec::new(), boxes: Boxes::default(), tree: None };
        if count <= FEW_PIECES {
            places.ids = runs(room).map(|(id, _)| id).collect();
            places.boxes = Boxes::new(runs(room).map(|(_, run)| piece_box(run.start, run.end)));
        } else {
            let pieces = runs(room).map(|(id, run)| piece(run.start, run.end, id)).collect();
            places.tree = Some(RTree::bulk_load(pieces));
        }
        places
    }
}

/// Every run of a room, cable by cable.
fn runs(room: &Room) -> impl Iterator<Item = (RunId, &Run)> {
    room.cables.iter().zip(0u32..).flat_map(|(cable, number)| {
        cable.runs.iter().zip(0u32..).map(move |(run, index)| (RunId { cable: number, run: index }, run))
    })
}

/// The runs of a room, by where they lie.
#[derive(Debug, Clone, Copy)]
pub struct RunIndex<'a> {
    room: &'a Room,
    places: &'a RunPlaces,
}

impl<'a> RunIndex<'a> {
    /// The runs of a room, whose places these are.
    pub(super) fn new(room: &'a Room, places: &'a RunPlaces) -> Self {
        RunIndex { room, places }
    }

    /// The run behind an id that this index gave.
    pub fn run(&self, id: RunId) -> &'a Run {
        &self.room.cables[id.cable as usize].runs[id.run as usize]
    }

    /// Whether there is a run of this id.
    pub fn has(&self, id: RunId) -> bool {
        self.room.cables.get(id.cable as usize).is_some_and(|cable| (id.run as usize) < cable.runs.len())
    }

    /// Every run, cable by cable.
    pub fn runs(&self) -> impl Iterator<Item = (RunId, &'a Run)> + 'a {
        runs(self.room)
    }

    /// How many runs there are.
    pub fn count(&self) -> usize {
        self.places.count
    }

    /// Least and greatest corner of the box around all runs.
    pub fn bounds(&self) -> (Point, Point) {
        self.places.bounds
    }

    /// The runs whose boxes meet the box from `low` to `high` widened by `margin`.
    pub fn near(&self, low: Point, high: Point, margin: f64) -> impl Iterator<Item = RunId> + use<'a> {
        self.near_from(0, low, high, margin)
    }

    /// The same, without the first few where there is no tree.
    fn near_from(&self, first: usize, low: Point, high: Point, margin: f64) -> impl Iterator<Item = RunId> + use<'a> {
        let wanted = widened((low, high), margin);
        let few = self.places.boxes.near(wanted, first).map(|at| self.places.ids[at]);
        let many =
            self.places.tree.as_ref().map(|tree| tree.locate_in_envelope_intersecting(around(low, high, margin)));
        few.chain(many.into_iter().flatten().map(|piece| piece.data))
    }

    /// Those of them that come later than one, in no order.
    pub fn later_near(
        &self,
        than: RunId,
        low: Point,
        high: Point,
        margin: f64,
    ) -> impl Iterator<Item = RunId> + use<'a> {
        let later = self.places.ids.partition_point(|id| *id <= than);
        self.near_from(later, low, high, margin).filter(move |other| *other > than)
    }

    /// Whether there are so few runs that to look for a wide neighbourhood costs no more than for a narrow one.
    pub fn is_small(&self) -> bool {
        self.places.tree.is_none()
    }

    /// The runs in the order of their distance from a point, with that distance.
    pub fn by_distance(&self, point: Point) -> impl Iterator<Item = (RunId, f64)> + use<'a> {
        // The bits of numbers that aren't negative are in the numbers' own order. Mostly a few are wanted, so that not all are put in order.
        let distance = |id: &RunId| {
            let run = self.run(*id);
            Reverse((point_distance(point, run.start, run.end).to_bits(), *id))
        };
        let mut few: BinaryHeap<Reverse<(u64, RunId)>> = self.places.ids.iter().map(distance).collect();
        let few = std::iter::from_fn(move || few.pop().map(|Reverse((bits, id))| (id, f64::from_bits(bits))));
        let many = self.places.tree.as_ref().map(|tree| tree.nearest_neighbor_iter_with_distance_2([point.x, point.y]));
        few.chain(many.into_iter().flatten().map(|(piece, square)| (piece.data, square.sqrt())))
    }
}

/// A closed ring of edges, by where they lie.
#[derive(Debug)]
pub struct Ring {
    corners: Vec<Point>,
    bounds: Corners,
    /// The boxes around the edges.
    boxes: Vec<Corners>,
    tree: Option<RTree<Piece<u32>>>,
}

/// Distances that differ by less are alike but for rounding, mm.
const ALIKE: f64 = 1e-9;

/// Below this many edges a plain loop beats the tree.
const FEW: usize = 24;

impl Ring {
    /// Indexes the edges of a ring of corners.
    pub fn new(corners: &[Point]) -> Self {
        let tree = (corners.len() > FEW)
            .then(|| RTree::bulk_load(edges(corners).zip(0u32..).map(|((a, b), i)| piece(a, b, i)).collect()));
        let boxes = edges(corners).map(|(a, b)| piece_box(a, b)).collect();
        Ring { corners: corners.to_vec(), bounds: bounds(corners), boxes, tree }
    }

    /// Least and greatest corner of the box around it.
    pub fn bounds(&self) -> (Point, Point) {
        self.bounds
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
        let wanted = widened((low, high), margin);
        if !boxes_meet(&self.bounds, &wanted) {
            return;
        }
        match &self.tree {
            Some(tree) => {
                for piece in tree.locate_in_envelope_intersecting(around(low, high, margin)) {
                    visit(piece.data as usize);
                }
            }
            None => {
                for (index, own) in self.boxes.iter().enumerate() {
                    if boxes_meet(own, &wanted) {
                        visit(index);
                    }
                }
            }
        }
    }

    /// Whether the box of any edge meets the box from `low` to `high`.
    pub fn has_edges_near(&self, low: Point, high: Point) -> bool {
        let wanted = (low, high);
        boxes_meet(&self.bounds, &wanted)
            && match &self.tree {
                Some(tree) => tree.locate_in_envelope_intersecting(around(low, high, 0.0)).next().is_some(),
                None => self.boxes.iter().any(|own| boxes_meet(own, &wanted)),
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
        let mut cross_edge = |a: Point, b: Point| {
            if (a.y > point.y) != (b.y > point.y) {
                let side = cross(b - a, point - a);
                inside ^= (side > 0.0) == (b.y > a.y);
            }
        };
        if self.tree.is_none() {
            edges(&self.corners).for_each(|(a, b)| cross_edge(a, b));
        } else {
            let far = Point { x: f64::MAX, y: point.y };
            self.for_edges_near(point, far, 0.0, |index| {
                let (a, b) = self.edge(index);
                cross_edge(a, b);
            });
        }
        inside
    }

    /// The edge nearest to the piece from `a` to `b`, and where they come nearest.
    pub fn nearest(&self, a: Point, b: Point) -> (usize, Approach) {
        let mut best = (0, Approach { first: 0.0, second: 0.0, distance: f64::INFINITY });
        let (low, high) = piece_box(a, b);
        let mut reach = f64::INFINITY;
        if let Some(tree) = &self.tree {
            // The edge nearest to the piece's middle bounds how far any better one can be.
            let middle = (a + b) / 2.0;
            if let Some(piece) = tree.nearest_neighbor([middle.x, middle.y]) {
                let (c, d) = self.edge(piece.data as usize);
                reach = approach((a, b), (c, d)).distance;
            }
        }
        let mut consider = |index: usize| {
            // Boxes are no farther apart than what lies in them.
            if box_gap(&self.boxes[index], &(low, high)) > (best.1.distance + ALIKE).powi(2) {
                return;
            }
            let near = approach((a, b), self.edge(index));
            // Of edges as near as each other, as those of a corner are, the first.
            if near.distance < best.1.distance - ALIKE || (near.distance <= best.1.distance + ALIKE && index < best.0) {
                best = (index, near);
            }
        };
        if reach.is_finite() {
            // A box just as wide as that edge is far may lose it by rounding.
            self.for_edges_near(low, high, reach + ALIKE, consider);
        } else {
            // The one that looks nearest mostly is, and then no other needs a closer look.
            let gaps = self.boxes.iter().map(|own| box_gap(own, &(low, high))).enumerate();
            let likely = gaps.min_by(|a, b| a.1.total_cmp(&b.1)).map_or(0, |(index, _)| index);
            consider(likely);
            (0..self.corners.len()).filter(|index| *index != likely).for_each(&mut consider);
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
