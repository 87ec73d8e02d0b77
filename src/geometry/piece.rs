//! Straight pieces, and how near they come to points and to one another.

use super::tolerance::SAME;
use super::{Bounds, Point, along, cross, distance, dot, square_distance};

/// A straight piece from one point to another; a point where they are one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Where it starts.
    pub start: Point,
    /// Where it ends.
    pub end: Point,
}

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

impl Piece {
    /// The piece between two points.
    pub fn new(start: Point, end: Point) -> Self {
        Piece { start, end }
    }

    /// The piece that is just a point.
    pub fn at(point: Point) -> Self {
        Piece { start: point, end: point }
    }

    /// The pieces of a line of points, each from one to the next.
    pub fn of_line(points: &[Point]) -> impl Iterator<Item = Piece> + Clone + '_ {
        points.windows(2).map(|pair| Piece::new(pair[0], pair[1]))
    }

    /// The step from its start to its end.
    pub fn step(&self) -> Point {
        self.end - self.start
    }

    /// Its length, mm.
    pub fn length(&self) -> f64 {
        distance(self.start, self.end)
    }

    /// The piece from its end to its start.
    #[must_use]
    pub fn reversed(self) -> Self {
        Piece { start: self.end, end: self.start }
    }

    /// The piece moved by a step.
    #[must_use]
    pub fn moved(self, by: Point) -> Self {
        Piece { start: self.start + by, end: self.end + by }
    }

    /// The box around it.
    pub fn bounds(&self) -> Bounds {
        Bounds::between(self.start, self.end)
    }

    /// The point a share of the way along it.
    pub fn along(&self, share: f64) -> Point {
        along(self.start, self.end, share)
    }

    /// How far along it its nearest point to `p` lies, as a share from 0 to 1.
    pub fn nearest_share(&self, p: Point) -> f64 {
        let step = self.step();
        let square = dot(step, step);
        if square == 0.0 { 0.0 } else { (dot(p - self.start, step) / square).clamp(0.0, 1.0) }
    }

    /// The square of its distance from a point, mm2.
    pub(crate) fn square_distance(&self, p: Point) -> f64 {
        square_distance(p, self.along(self.nearest_share(p)))
    }

    /// Its distance from a point, mm.
    ///
    /// ```
    /// use layrule::geometry::{Piece, Point};
    /// let p = |x, y| Point { x, y };
    /// let piece = Piece::new(p(0.0, 0.0), p(10.0, 0.0));
    /// assert_eq!((piece.distance(p(3.0, 4.0)), piece.distance(p(13.0, 4.0))), (4.0, 5.0));
    /// ```
    pub fn distance(&self, p: Point) -> f64 {
        self.square_distance(p).sqrt()
    }

    /// Where it and another come nearest. Pieces that share a point are 0 apart there.
    ///
    /// ```
    /// use layrule::geometry::{Piece, Point};
    /// let piece = |a: (f64, f64), b: (f64, f64)| Piece::new(a.into(), b.into());
    /// let near = piece((0.0, 0.0), (10.0, 0.0)).approach(piece((5.0, 3.0), (5.0, 9.0)));
    /// assert_eq!((near.first, near.second, near.distance), (0.5, 0.0, 3.0));
    /// ```
    pub fn approach(self, other: Piece) -> Approach {
        let (u, v, w) = (self.step(), other.step(), other.start - self.start);
        let area = cross(u, v);
        if area != 0.0 {
            let (first, second) = (cross(w, v) / area, cross(w, u) / area);
            // Of pieces on one slanting line, rounding leaves an area that isn't nothing, and shares that mean nothing.
            let meets = || square_distance(self.along(first), other.along(second)) <= SAME * SAME;
            if (0.0..=1.0).contains(&first) && (0.0..=1.0).contains(&second) && meets() {
                return Approach { first, second, distance: 0.0 };
            }
        }
        // Apart, the least distance lies at an end of one of them.
        let at_end = |p: Point, piece: Piece| {
            let share = piece.nearest_share(p);
            (share, square_distance(p, piece.along(share)))
        };
        let ends = [
            (at_end(self.start, other), 0.0, true),
            (at_end(self.end, other), 1.0, true),
            (at_end(other.start, self), 0.0, false),
            (at_end(other.end, self), 1.0, false),
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
}
