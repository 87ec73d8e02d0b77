//! Distances between points and straight pieces.

use crate::model::Point;

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

fn square_distance(a: Point, b: Point) -> f64 {
    let step = b - a;
    dot(step, step)
}

/// How far along the piece from `a` to `b` its nearest point to `p` lies, as a share from 0 to 1.
pub fn nearest_share(p: Point, a: Point, b: Point) -> f64 {
    let step = b - a;
    let square = dot(step, step);
    if square == 0.0 { 0.0 } else { (dot(p - a, step) / square).clamp(0.0, 1.0) }
}

/// The point a share of the way from `a` to `b`.
pub fn along(a: Point, b: Point, share: f64) -> Point {
    a + (b - a) * share
}

/// The distance from a point to the straight piece from `a` to `b`, mm.
///
/// ```
/// use layrule::{geometry::point_distance, model::Point};
/// let p = |x, y| Point { x, y };
/// assert_eq!(point_distance(p(3.0, 4.0), p(0.0, 0.0), p(10.0, 0.0)), 4.0);
/// assert_eq!(point_distance(p(13.0, 4.0), p(0.0, 0.0), p(10.0, 0.0)), 5.0);
/// ```
pub fn point_distance(p: Point, a: Point, b: Point) -> f64 {
    distance(p, along(a, b, nearest_share(p, a, b)))
}

/// Points nearer than this are one but for rounding, mm: coordinates reach to a kilometre, and floats hold sixteen digits of them.
const SAME: f64 = 1e-6;

/// Where two pieces come nearest: the shares along each, and the distance between those points, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Approach {
    /// Along the first piece.
    pub first: f64,
    /// Along the second.
    pub second: f64,
    /// mm.
    pub distance: f64,
}

/// Where the pieces `a` and `b` come nearest. Pieces that share a point are 0 apart there.
///
/// ```
/// use layrule::{geometry::approach, model::Point};
/// let p = |x, y| Point { x, y };
/// let near = approach((p(0.0, 0.0), p(10.0, 0.0)), (p(5.0, 3.0), p(5.0, 9.0)));
/// assert_eq!((near.first, near.second, near.distance), (0.5, 0.0, 3.0));
/// ```
pub fn approach(a: (Point, Point), b: (Point, Point)) -> Approach {
    let (u, v, w) = (a.1 - a.0, b.1 - b.0, b.0 - a.0);
    let area = cross(u, v);
    if area != 0.0 {
        let (first, second) = (cross(w, v) / area, cross(w, u) / area);
        // Of pieces on one slanting line, rounding leaves an area that isn't nothing, and shares that mean nothing.
        let meets = || square_distance(along(a.0, a.1, first), along(b.0, b.1, second)) <= SAME * SAME;
        if (0.0..=1.0).contains(&first) && (0.0..=1.0).contains(&second) && meets() {
            return Approach { first, second, distance: 0.0 };
        }
    }
    // Apart, the least distance lies at an end of one of them.
    let at_end = |p: Point, piece: (Point, Point)| {
        let share = nearest_share(p, piece.0, piece.1);
        (share, square_distance(p, along(piece.0, piece.1, share)))
    };
    let ends = [
        (at_end(a.0, b), 0.0, true),
        (at_end(a.1, b), 1.0, true),
        (at_end(b.0, a), 0.0, false),
        (at_end(b.1, a), 1.0, false),
    ];
    let mut best = Approach { first: 0.0, second: 0.0, distance: f64::INFINITY };
    // Squares until the least is known.
    for ((share, square), end, of_first) in ends {
        if square < best.distance {
            let (first, second) = if of_first { (end, share) } else { (share, end) };
            best = Approach { first, second, distance: square };
        }
    }
    Approach { distance: best.distance.sqrt(), ..best }
}
