//! Geometry of the floor plan, in mm: points, boxes, straight pieces, rings, and the one spatial index. Knows no rooms.

pub mod boxes;
pub mod hull;
pub mod index;
pub mod piece;
pub mod ring;
pub mod site;
pub mod sweep;
pub mod tolerance;

pub use boxes::Bounds;
pub use piece::{Approach, Piece};
pub use ring::Ring;
pub use site::Site;

/// A point of the plan, or a step from one to another, mm.
pub type Point = geo::Coord<f64>;

/// The scalar product of two steps.
pub fn dot(a: Point, b: Point) -> f64 {
    a.x * b.x + a.y * b.y
}

/// The cross product of two steps: twice the area between them, positive where `b` turns left from `a`.
pub fn cross(a: Point, b: Point) -> f64 {
    a.x * b.y - a.y * b.x
}

/// The distance between two points, mm.
pub fn distance(a: Point, b: Point) -> f64 {
    // No plan is so large or so small that a square would leave the range that `hypot` is there to guard.
    square_distance(a, b).sqrt()
}

/// The square of the distance between two points, mm2.
pub(crate) fn square_distance(a: Point, b: Point) -> f64 {
    let step = b - a;
    dot(step, step)
}

/// The point a share of the way from `a` to `b`.
pub fn along(a: Point, b: Point, share: f64) -> Point {
    a + (b - a) * share
}
