//! Boxes along the axes.

use super::Point;

/// A box along the axes, by its least and its greatest corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// The least east and the least north of it, mm.
    pub low: Point,
    /// The greatest east and the greatest north of it, mm.
    pub high: Point,
}

impl Bounds {
    /// What no point lies in, and what adds nothing to a box that it is joined to.
    pub const NOTHING: Bounds = Bounds {
        low: Point { x: f64::INFINITY, y: f64::INFINITY },
        high: Point { x: f64::NEG_INFINITY, y: f64::NEG_INFINITY },
    };

    /// The box that is just a point.
    pub fn at(point: Point) -> Self {
        Bounds { low: point, high: point }
    }

    /// The box that two points span.
    pub fn between(a: Point, b: Point) -> Self {
        Bounds { low: Point { x: a.x.min(b.x), y: a.y.min(b.y) }, high: Point { x: a.x.max(b.x), y: a.y.max(b.y) } }
    }

    /// The box around some points; the origin where there are none.
    pub fn around(points: &[Point]) -> Self {
        let boxes = points.iter().copied().map(Bounds::at);
        boxes.reduce(Bounds::with).unwrap_or(Bounds::at(Point { x: 0.0, y: 0.0 }))
    }

    /// The box around this one and another.
    #[must_use]
    pub fn with(self, other: Bounds) -> Self {
        Bounds {
            low: Point { x: self.low.x.min(other.low.x), y: self.low.y.min(other.low.y) },
            high: Point { x: self.high.x.max(other.high.x), y: self.high.y.max(other.high.y) },
        }
    }

    /// The box widened to every side, mm.
    #[must_use]
    pub fn widened(self, by: f64) -> Self {
        let by = Point { x: by, y: by };
        Bounds { low: self.low - by, high: self.high + by }
    }

    /// The box moved by a step.
    #[must_use]
    pub fn moved(self, by: Point) -> Self {
        Bounds { low: self.low + by, high: self.high + by }
    }

    /// Whether two boxes meet; those that touch do.
    pub fn meets(&self, other: &Bounds) -> bool {
        self.low.x <= other.high.x
            && self.high.x >= other.low.x
            && self.low.y <= other.high.y
            && self.high.y >= other.low.y
    }

    /// The square of how far apart two boxes lie, mm2; 0 where they meet.
    pub fn square_gap(&self, other: &Bounds) -> f64 {
        let x = (self.low.x - other.high.x).max(other.low.x - self.high.x).max(0.0);
        let y = (self.low.y - other.high.y).max(other.low.y - self.high.y).max(0.0);
        x * x + y * y
    }

    /// Its corners, in order.
    pub fn corners(&self) -> [Point; 4] {
        let Bounds { low, high } = *self;
        [low, Point { x: high.x, y: low.y }, high, Point { x: low.x, y: high.y }]
    }
}
