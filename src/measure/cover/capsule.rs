//! Capsules: what lies within a radius of a straight piece.

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

/// A capsule with what is asked of it again and again.
#[derive(Debug, Clone, Copy)]
pub(super) struct Laid {
    pub(super) capsule: Capsule,
    pub(super) bounds: Bounds,
    /// From one end to the other, mm.
    pub(super) length: f64,
    /// To the left of its piece, a unit; nothing where the piece is a point.
    pub(super) normal: Point,
}

impl Laid {
    pub(super) fn new(capsule: Capsule) -> Self {
        let axis = capsule.piece.step();
        let length = dot(axis, axis).sqrt();
        let left = Point { x: -axis.y, y: axis.x };
        let normal = if length > 0.0 { left / length } else { left };
        Laid { capsule, bounds: capsule.bounds(), length, normal }
    }

    /// From a point to its piece, mm.
    pub(super) fn distance(&self, p: Point) -> f64 {
        self.square_distance(p).sqrt()
    }

    /// The square of that, mm2.
    fn square_distance(&self, p: Point) -> f64 {
        let Piece { start, end } = self.capsule.piece;
        let from = p - start;
        let along = cross(from, self.normal);
        if along <= 0.0 {
            return dot(from, from);
        }
        if along >= self.length {
            let from = p - end;
            return dot(from, from);
        }
        let across = dot(from, self.normal);
        across * across
    }

    /// Whether a piece lies wholly on one side of it, and whether wholly inside it.
    pub(super) fn apart_or_around(&self, piece: Piece) -> (bool, bool) {
        let radius = self.capsule.radius;
        let from = [piece.start, piece.end].map(|end| end - self.capsule.piece.start);
        let beyond = |[first, last]: [f64; 2], low: f64, high: f64| first.min(last) >= high || first.max(last) <= low;
        let apart = beyond(from.map(|from| dot(from, self.normal)), -radius, radius)
            || beyond(from.map(|from| cross(from, self.normal)), -radius, self.length + radius);
        // It is convex: what holds both ends holds all between them.
        let inside = |end| self.square_distance(end) < radius * radius;
        (apart, !apart && inside(piece.start) && inside(piece.end))
    }
}
