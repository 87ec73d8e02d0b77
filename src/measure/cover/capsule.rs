//! Capsules: what lies within a radius of a straight piece.

use crate::geometry::ring::edges;
use crate::geometry::{Bounds, Piece, Point, cross, dot};
use crate::measure::zones::circle_chord;

/// All points nearer than a radius to a straight piece; a disc where the piece is a point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Capsule {
    /// The piece.
    pub piece: Piece,
    /// mm.
    pub radius: f64,
}

impl Capsule {
    /// The box around it.
    pub fn bounds(&self) -> Bounds {
        self.piece.bounds().widened(self.radius)
    }

    /// The stretch of a piece inside it, as shares from 0 to 1. A capsule is convex, so there is one at most.
    ///
    /// ```
    /// use layrule::{geometry::Piece, measure::cover::Capsule};
    /// let piece = |a: (f64, f64), b: (f64, f64)| Piece::new(a.into(), b.into());
    /// let capsule = Capsule { piece: piece((0.0, 0.0), (100.0, 0.0)), radius: 10.0 };
    /// assert_eq!(capsule.stretch(piece((50.0, -20.0), (50.0, 20.0))), Some((0.25, 0.75)));
    /// ```
    pub fn stretch(&self, piece: Piece) -> Option<(f64, f64)> {
        let mut hull = circle_chord(piece, self.piece.start, self.radius);
        let mut widen = |stretch: Option<(f64, f64)>| {
            hull = match (hull, stretch) {
                (Some(a), Some(b)) => Some((a.0.min(b.0), a.1.max(b.1))),
                (a, b) => a.or(b),
            };
        };
        let axis = self.piece.step();
        let square = dot(axis, axis);
        if square > 0.0 {
            widen(circle_chord(piece, self.piece.end, self.radius));
            // Between its round ends a capsule is a rectangle: two bands, one along the axis and one across it.
            let length = square.sqrt();
            let (from, step) = (piece.start - self.piece.start, piece.step());
            let lengthwise = band(dot(from, axis), dot(step, axis), 0.0, square);
            let crosswise = band(cross(axis, from), cross(axis, step), -self.radius * length, self.radius * length);
            widen(lengthwise.zip(crosswise).and_then(|(a, b)| {
                let both = (a.0.max(b.0), a.1.min(b.1));
                (both.1 > both.0).then_some(both)
            }));
        }
        hull
    }
}

/// The shares t from 0 to 1 for which `start + t·slope` lies between `low` and `high`.
fn band(start: f64, slope: f64, low: f64, high: f64) -> Option<(f64, f64)> {
    if slope == 0.0 {
        return (start > low && start < high).then_some((0.0, 1.0));
    }
    let (a, b) = ((low - start) / slope, (high - start) / slope);
    let (from, to) = (a.min(b).max(0.0), a.max(b).min(1.0));
    (to > from).then_some((from, to))
}

/// A capsule with what is asked of it again and again; or what lies within its radius of a rectangle.
#[derive(Debug, Clone, Copy)]
pub(super) struct Laid {
    pub(super) capsule: Capsule,
    /// How far the rectangle reaches to the left of the piece, mm; 0 where there is none.
    pub(super) depth: f64,
    pub(super) bounds: Bounds,
    /// From one end to the other, mm.
    pub(super) length: f64,
    /// To the left of its piece, a unit.
    pub(super) normal: Point,
}

impl Laid {
    pub(super) fn new(capsule: Capsule) -> Self {
        Laid::with_depth(capsule, 0.0)
    }

    pub(super) fn with_depth(capsule: Capsule, depth: f64) -> Self {
        let axis = capsule.piece.step();
        let length = dot(axis, axis).sqrt();
        let normal = if length > 0.0 { Point { x: -axis.y, y: axis.x } / length } else { Point { x: 0.0, y: 1.0 } };
        let far = capsule.piece.moved(normal * depth);
        let bounds = capsule.bounds().with(far.bounds().widened(capsule.radius));
        Laid { capsule, depth, bounds, length, normal }
    }

    /// Along its piece, a unit.
    pub(super) fn axis(&self) -> Point {
        Point { x: self.normal.y, y: -self.normal.x }
    }

    /// The corners of its rectangle, in order.
    pub(super) fn corners(&self) -> [Point; 4] {
        let Piece { start, end } = self.capsule.piece;
        let far = self.normal * self.depth;
        [start, end, end + far, start + far]
    }

    /// How far along its piece from its start a point lies, and how far to the left of it, mm.
    fn place(&self, p: Point) -> (f64, f64) {
        let from = p - self.capsule.piece.start;
        (cross(from, self.normal), dot(from, self.normal))
    }

    /// The square of how far from its piece, or its rectangle, a place lies, mm2.
    fn square_gap(&self, (along, across): (f64, f64)) -> f64 {
        let beyond = |place: f64, end: f64| (-place).max(place - end).max(0.0);
        let (along, across) = (beyond(along, self.length), beyond(across, self.depth));
        along * along + across * across
    }

    /// The square of how far from its piece, or its rectangle, a point lies, mm2.
    pub(super) fn square_distance(&self, p: Point) -> f64 {
        self.square_gap(self.place(p))
    }

    /// Whether a point lies inside.
    pub(super) fn contains(&self, p: Point) -> bool {
        self.square_distance(p) < self.capsule.radius * self.capsule.radius
    }

    /// The stretch of a piece inside it, as shares from 0 to 1.
    pub(super) fn stretch(&self, piece: Piece) -> Option<(f64, f64)> {
        if self.depth == 0.0 {
            return self.capsule.stretch(piece);
        }
        // Its edge lies on the capsules round the rectangle's sides; within those it holds all.
        let radius = self.capsule.radius;
        let corners = self.corners();
        let round = edges(&corners).filter_map(|side| Capsule { piece: side, radius }.stretch(piece));
        let inside = [(piece.start, 0.0), (piece.end, 1.0)];
        let inside = inside.into_iter().filter(|(end, _)| self.contains(*end)).map(|(_, share)| (share, share));
        round.chain(inside).reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
    }

    /// Whether a piece lies wholly on one side of it, and whether wholly inside it.
    pub(super) fn apart_or_around(&self, piece: Piece) -> (bool, bool) {
        let radius = self.capsule.radius;
        let (start, end) = (self.place(piece.start), self.place(piece.end));
        let beyond = |first: f64, last: f64, end: f64| first.min(last) >= end + radius || first.max(last) <= -radius;
        let apart = beyond(start.1, end.1, self.depth) || beyond(start.0, end.0, self.length);
        // It is convex: what holds both ends holds all between them.
        let inside = |place| self.square_gap(place) < radius * radius;
        (apart, !apart && inside(start) && inside(end))
    }
}
