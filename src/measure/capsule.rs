//! Capsules: what lies within a radius of a straight piece, and which of their round ends may bound what they leave.

use super::arc::quarters_to;
use super::index::{Corners, piece_box};
use super::zones::circle_chord;
use crate::geometry::{along, cross, dot, nearest_share};
use crate::model::Point;

/// All points nearer than a radius to a straight piece; a disc where the piece is a point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Capsule {
    /// One end of the piece.
    pub a: Point,
    /// The other.
    pub b: Point,
    /// mm.
    pub radius: f64,
}

impl Capsule {
    pub(super) fn bounds(&self) -> Corners {
        let (low, high) = piece_box(self.a, self.b);
        let by = self.radius;
        (Point { x: low.x - by, y: low.y - by }, Point { x: high.x + by, y: high.y + by })
    }

    pub(super) fn contains(&self, p: Point) -> bool {
        let gap = p - along(self.a, self.b, nearest_share(p, self.a, self.b));
        dot(gap, gap) < self.radius * self.radius
    }

    /// The stretch of the piece `p` to `q` inside it, as shares from 0 to 1. A capsule is convex, so there is one at most.
    ///
    /// ```
    /// use layrule::{measure::capsule::Capsule, model::Point};
    /// let p = |x, y| Point { x, y };
    /// let capsule = Capsule { a: p(0.0, 0.0), b: p(100.0, 0.0), radius: 10.0 };
    /// assert_eq!(capsule.stretch(p(50.0, -20.0), p(50.0, 20.0)), Some((0.25, 0.75)));
    /// ```
    pub fn stretch(&self, p: Point, q: Point) -> Option<(f64, f64)> {
        let mut hull = circle_chord(p, q, self.a, self.radius);
        let mut widen = |stretch: Option<(f64, f64)>| {
            hull = match (hull, stretch) {
                (Some(a), Some(b)) => Some((a.0.min(b.0), a.1.max(b.1))),
                (a, b) => a.or(b),
            };
        };
        let axis = self.b - self.a;
        let square = dot(axis, axis);
        if square > 0.0 {
            widen(circle_chord(p, q, self.b, self.radius));
            // Between its round ends a capsule is a rectangle: two bands, one along the axis and one across it.
            let length = square.sqrt();
            let (from, step) = (p - self.a, q - p);
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
pub(super) fn band(start: f64, slope: f64, low: f64, high: f64) -> Option<(f64, f64)> {
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
    /// From one end to the other, mm.
    pub(super) length: f64,
    /// To the left of its piece, a unit; nothing where the piece is a point.
    pub(super) normal: Point,
    /// What of its round ends may bound what is uncovered, the start's and the end's.
    pub(super) round: [Option<Round>; 2],
}

/// A part of a capsule's round end: from one unit direction to another, clockwise, by so many [quarters](quarters_to).
#[derive(Debug, Clone, Copy)]
pub(super) struct Round {
    pub(super) from: Point,
    pub(super) to: Point,
    pub(super) quarters: f64,
}

/// Capsules whose radii differ by no more than this are joined where they meet, mm.
const ALIKE: f64 = 2e-6;
/// Pieces shorter than this, and capsules of a smaller radius, are not joined, mm.
const LEAST_JOINED: f64 = 1.0;
/// Pieces that turn by less than this from one to the next, or from folding back, are not joined: the sine of the angle.
const LEAST_TURN: f64 = 0.01;

impl Laid {
    pub(super) fn new(capsule: Capsule) -> Self {
        let axis = capsule.b - capsule.a;
        let length = dot(axis, axis).sqrt();
        if length == 0.0 {
            let east = Point { x: 1.0, y: 0.0 };
            let whole = Round { from: east, to: east, quarters: 4.0 };
            return Laid { capsule, length, normal: Point { x: 0.0, y: 0.0 }, round: [None, Some(whole)] };
        }
        let normal = Point { x: -axis.y, y: axis.x } / length;
        let round = [normal * -1.0, normal].map(|from| Some(Round { from, to: from * -1.0, quarters: 2.0 }));
        Laid { capsule, length, normal, round }
    }

    /// Along its piece and to the left of it, units; nothing where the piece is a point.
    pub(super) fn directions(&self) -> Option<(Point, Point)> {
        (self.length > 0.0).then_some((Point { x: self.normal.y, y: -self.normal.x }, self.normal))
    }

    /// Where the next capsule goes on from the end of this one with a turn, only the outer side of the turn is left of the two round ends,
    /// and only the wider capsule has it: a little farther than the turn, up to where the side of the narrower comes out of it.
    pub(super) fn join(&mut self, next: &mut Laid) {
        let (radius, other) = (self.capsule.radius, next.capsule.radius);
        let turn = cross(self.normal, next.normal);
        if self.capsule.b != next.capsule.a
            || (radius - other).abs() > ALIKE
            || radius.min(other).min(self.length).min(next.length) < LEAST_JOINED
            || turn.abs() < LEAST_TURN
        {
            return;
        }
        let narrow_ends = radius > other;
        let cosine = radius.min(other) / radius.max(other);
        let sine = (1.0 - cosine * cosine).sqrt();
        // Clockwise, the left sides of a turn to the right come in the order of the runs, the right sides of one to the left the other way.
        let (mut from, mut to, narrow_last) = if turn < 0.0 {
            (self.normal, next.normal, narrow_ends)
        } else {
            (next.normal * -1.0, self.normal * -1.0, !narrow_ends)
        };
        if narrow_last {
            to = Point { x: to.x * cosine + to.y * sine, y: to.y * cosine - to.x * sine };
        } else {
            from = Point { x: from.x * cosine - from.y * sine, y: from.y * cosine + from.x * sine };
        }
        let round = Some(Round { from, to, quarters: quarters_to(from, to) });
        (self.round[1], next.round[0]) = if narrow_ends { (round, None) } else { (None, round) };
    }

    /// From a point to its piece, mm.
    pub(super) fn distance(&self, p: Point) -> f64 {
        let Capsule { a, b, .. } = self.capsule;
        let from = p - a;
        let along = cross(from, self.normal);
        if along <= 0.0 {
            return dot(from, from).sqrt();
        }
        if along >= self.length {
            let from = p - b;
            return dot(from, from).sqrt();
        }
        dot(from, self.normal).abs()
    }
}
