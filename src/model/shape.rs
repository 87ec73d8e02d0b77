//! Shapes on the floor, and the tests that make a polygon one.

use geo::algorithm::line_intersection::{LineIntersection, line_intersection};
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

use crate::geometry::ring::{edges, signed_area};
use crate::geometry::sweep::any_that_meet;
use crate::geometry::{Bounds, Point, cross};

/// A shape on the floor.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// Corners of a polygon that doesn't cross itself, counter-clockwise.
    Polygon(Vec<Point>),
    /// A circle.
    Circle {
        /// Its centre.
        centre: Point,
        /// Its radius, mm.
        radius: f64,
    },
}

impl Shape {
    /// The box around it.
    pub fn bounds(&self) -> Bounds {
        match self {
            Shape::Polygon(corners) => Bounds::around(corners),
            Shape::Circle { centre, radius } => Bounds::at(*centre).widened(*radius),
        }
    }

    /// Its area, mm2.
    ///
    /// ```
    /// use layrule::model::{Point, Shape};
    /// let circle = Shape::Circle { centre: Point { x: 0.0, y: 0.0 }, radius: 100.0 };
    /// assert!((circle.area() - 31_415.926_5).abs() < 0.001);
    /// ```
    pub fn area(&self) -> f64 {
        match self {
            Shape::Polygon(corners) => signed_area(corners).abs(),
            Shape::Circle { radius, .. } => std::f64::consts::PI * radius * radius,
        }
    }
}

/// The most corners that an outline or a shape may have.
pub const MOST_CORNERS: usize = 10_000;

/// What keeps a ring of corners from being the outline of something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RingFault {
    /// Fewer than three corners.
    TooFew,
    /// More than [`MOST_CORNERS`].
    TooMany,
    /// This edge has no length.
    EmptyEdge(usize),
    /// These two edges cross or touch.
    Crossing(usize, usize),
    /// Nothing lies inside.
    NoArea,
}

/// How many pairs of edges are looked at for each edge because their boxes meet, before a line is swept over the ring: long slanted edges side by
/// side have boxes that all meet.
const VISITS_EACH: usize = 64;

/// Whether a ring of corners encloses an area without crossing or touching itself.
///
/// # Errors
/// The first fault met, by edges numbered from 0.
///
/// ```
/// use layrule::model::{Point, shape::{check_ring, RingFault}};
/// let p = |x, y| Point { x, y };
/// assert_eq!(check_ring(&[p(0.0, 0.0), p(9.0, 0.0), p(9.0, 9.0)]), Ok(()));
/// assert_eq!(check_ring(&[p(0.0, 0.0), p(9.0, 9.0), p(9.0, 0.0), p(0.0, 9.0)]), Err(RingFault::Crossing(0, 2)));
/// ```
pub fn check_ring(corners: &[Point]) -> Result<(), RingFault> {
    check_ring_counting(corners, &mut 0)
}

/// As [`check_ring`]; counts the pairs of edges that are looked at.
///
/// # Errors
/// The first fault met, by edges numbered from 0.
pub fn check_ring_counting(corners: &[Point], visits: &mut usize) -> Result<(), RingFault> {
    if corners.len() < 3 {
        return Err(RingFault::TooFew);
    }
    if corners.len() > MOST_CORNERS {
        return Err(RingFault::TooMany);
    }
    let edges: Vec<geo::Line<f64>> = edges(corners).map(|edge| geo::Line::new(edge.start, edge.end)).collect();
    if let Some(empty) = edges.iter().position(|edge| edge.start == edge.end) {
        return Err(RingFault::EmptyEdge(empty));
    }
    let index = RTree::bulk_load(
        edges
            .iter()
            .enumerate()
            .map(|(i, edge)| {
                let low = [edge.start.x.min(edge.end.x), edge.start.y.min(edge.end.y)];
                let high = [edge.start.x.max(edge.end.x), edge.start.y.max(edge.end.y)];
                GeomWithData::new(Rectangle::from_corners(low, high), i)
            })
            .collect(),
    );
    let last = edges.len() - 1;
    let mut meet = |i: usize, j: usize| {
        *visits += 1;
        let neighbours = j == i + 1 || (i == 0 && j == last);
        match line_intersection(edges[i], edges[j]) {
            None => false,
            Some(LineIntersection::SinglePoint { .. }) => !neighbours,
            Some(LineIntersection::Collinear { intersection }) => !neighbours || intersection.start != intersection.end,
        }
    };
    let crossing = |i: usize, j: usize| {
        let flat = edges.iter().all(|other| cross(edges[0].end - edges[0].start, other.end - edges[0].start) == 0.0);
        Err(if flat { RingFault::NoArea } else { RingFault::Crossing(i, j) })
    };
    let mut left = VISITS_EACH * edges.len();
    for (i, edge) in edges.iter().enumerate() {
        let around = AABB::from_corners([edge.start.x, edge.start.y], [edge.end.x, edge.end.y]);
        for other in index.locate_in_envelope_intersecting(around) {
            let j = other.data;
            if left == 0 {
                return any_that_meet(&edges, meet).map_or(Ok(()), |(i, j)| crossing(i, j));
            }
            left -= 1;
            if j > i && meet(i, j) {
                return crossing(i, j);
            }
        }
    }
    Ok(())
}

/// The polygon that a strip of some width along a line of corners covers: flat ends, mitred corners.
///
/// ```
/// use layrule::{geometry::{Point, ring::signed_area}, model::shape::strip};
/// let p = |x, y| Point { x, y };
/// let corners = strip(&[p(0.0, 0.0), p(100.0, 0.0), p(100.0, 100.0)], 20.0);
/// assert_eq!(signed_area(&corners), 110.0 * 20.0 + 90.0 * 20.0);
/// ```
pub fn strip(line: &[Point], width: f64) -> Vec<Point> {
    let half = width / 2.0;
    let unit = |a: Point, b: Point| {
        let step = b - a;
        step / step.x.hypot(step.y)
    };
    let normal = |step: Point| Point { x: -step.y, y: step.x };
    let mut left = Vec::with_capacity(line.len());
    let mut right = Vec::with_capacity(line.len());
    for (i, &corner) in line.iter().enumerate() {
        let before = (i > 0).then(|| unit(line[i - 1], corner));
        let after = line.get(i + 1).map(|&next| unit(corner, next));
        let offset = match (before, after) {
            (Some(a), Some(b)) => {
                let mean = normal(a) + normal(b);
                // The mitre reaches as far as makes its distance from both edges `half`.
                mean * (half / (1.0 + a.x * b.x + a.y * b.y))
            }
            (Some(step), None) | (None, Some(step)) => normal(step) * half,
            (None, None) => Point::zero(),
        };
        left.push(corner + offset);
        right.push(corner - offset);
    }
    right.extend(left.into_iter().rev());
    right
}
