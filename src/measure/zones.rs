//! How runs lie to the areas and lines of a floor: fixtures, drill zones, levels, joints, pipes, doors.

use std::collections::BTreeMap;

use super::index::{RunId, RunIndex};
use super::{MOST_PAIRS, Pairs, TOUCH};
use crate::geometry::{Bounds, Piece, Ring, cross, distance, dot};
use crate::model::{Point, Shape};

/// A run that comes near an area or a line, or into it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meeting {
    /// The run.
    pub run: RunId,
    /// The distance between them, mm; 0 where they touch or overlap.
    pub distance: f64,
    /// Length of cable strictly inside the area, mm; 0 for a line.
    pub inside: f64,
}

/// A shape made ready for many questions.
#[derive(Debug)]
pub enum Zone {
    /// A polygon.
    Ring(Ring),
    /// A circle: its centre and radius.
    Circle(Point, f64),
}

impl Zone {
    /// The zone of a shape.
    pub fn new(shape: &Shape) -> Self {
        match shape {
            Shape::Polygon(corners) => Zone::Ring(Ring::new(corners)),
            Shape::Circle { centre, radius } => Zone::Circle(*centre, *radius),
        }
    }

    /// The box around it.
    pub fn bounds(&self) -> Bounds {
        match self {
            Zone::Ring(ring) => ring.bounds(),
            Zone::Circle(centre, radius) => Bounds::at(*centre).widened(*radius),
        }
    }

    /// The distance from a piece, mm; 0 where it touches or lies inside.
    pub fn distance(&self, piece: Piece) -> f64 {
        match self {
            Zone::Ring(ring) => {
                let near = ring.nearest(piece).1.distance;
                if near > 0.0 && ring.contains(piece.start) { 0.0 } else { near }
            }
            Zone::Circle(centre, radius) => (piece.distance(*centre) - radius).max(0.0),
        }
    }

    /// The length of a piece strictly inside, mm.
    pub fn length_inside(&self, piece: Piece) -> f64 {
        match self {
            Zone::Ring(ring) => ring.length_inside(piece, false),
            Zone::Circle(centre, radius) => {
                circle_chord(piece, *centre, *radius).map_or(0.0, |(from, to)| (to - from) * piece.length())
            }
        }
    }

    /// Adds the shares along a piece at which it may enter or leave.
    pub fn cuts(&self, piece: Piece, cuts: &mut Vec<f64>) {
        match self {
            Zone::Ring(ring) => ring.cuts(piece, cuts),
            Zone::Circle(centre, radius) => {
                cuts.extend(circle_chord(piece, *centre, *radius).into_iter().flat_map(|(from, to)| [from, to]));
            }
        }
    }

    /// The distance of a point from the edge, mm.
    pub fn edge_distance(&self, point: Point) -> f64 {
        match self {
            Zone::Ring(ring) => ring.nearest(Piece::at(point)).1.distance,
            Zone::Circle(centre, radius) => (distance(*centre, point) - radius).abs(),
        }
    }

    /// Whether a point lies inside.
    pub fn contains(&self, point: Point) -> bool {
        match self {
            Zone::Ring(ring) => ring.contains(point),
            Zone::Circle(centre, radius) => {
                let step = point - *centre;
                dot(step, step) < radius * radius
            }
        }
    }
}

/// The stretch of a piece inside a circle, as shares from 0 to 1.
pub(super) fn circle_chord(piece: Piece, centre: Point, radius: f64) -> Option<(f64, f64)> {
    let step = piece.step();
    let square = dot(step, step);
    let to = centre - piece.start;
    let middle = dot(to, step) / square;
    // The height of the centre over the line, by its cross product, loses no digits to cancellation.
    let height = cross(step, to);
    let half_square = (radius * radius - height * height / square) / square;
    if half_square <= 0.0 {
        return None;
    }
    let half = half_square.sqrt();
    let (from, to) = ((middle - half).max(0.0), (middle + half).min(1.0));
    (to > from).then_some((from, to))
}

/// The runs that come nearer than `minimum` (mm) to an area, or touch it, in their order.
pub fn near_area(index: &RunIndex<'_>, shape: &Shape, zone: &Zone, minimum: f64) -> Pairs<Meeting> {
    let mut near: Vec<RunId> = index.near(shape.bounds(), minimum.max(TOUCH)).collect();
    near.sort_unstable();
    let mut pairs = Pairs::default();
    for id in near {
        let run = index.run(id).piece();
        let distance = zone.distance(run);
        if distance >= minimum - TOUCH && distance > TOUCH {
            continue;
        }
        if pairs.found.len() == MOST_PAIRS {
            pairs.more = true;
            break;
        }
        // What is shorter than lengths are compared to is none.
        let inside = Some(zone.length_inside(run)).filter(|inside| *inside > TOUCH).unwrap_or(0.0);
        pairs.found.push(Meeting { run: id, distance, inside });
    }
    pairs
}

/// The runs that come nearer than `minimum` (mm) to a line of points, or touch it, in their order.
pub fn near_line(index: &RunIndex<'_>, points: &[Point], minimum: f64) -> Pairs<Meeting> {
    let mut nearest: BTreeMap<RunId, f64> = BTreeMap::new();
    let mut more = false;
    for piece in Piece::of_line(points) {
        for id in index.near(piece.bounds(), minimum.max(TOUCH)) {
            let distance = piece.approach(index.run(id).piece()).distance;
            if distance >= minimum - TOUCH && distance > TOUCH {
                continue;
            }
            if nearest.len() == MOST_PAIRS && !nearest.contains_key(&id) {
                more = true;
                continue;
            }
            nearest.entry(id).and_modify(|least| *least = least.min(distance)).or_insert(distance);
        }
    }
    let found = nearest.into_iter().map(|(run, distance)| Meeting { run, distance, inside: 0.0 }).collect();
    Pairs { found, more }
}
