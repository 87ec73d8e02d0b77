//! Where on a floor something is that a reader is to be shown: a point, and what of the floor is to be marked round it.

use super::{Piece, Point};

/// A place on a floor, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Site {
    /// The very place.
    pub at: Point,
    /// Where on the other thing it is nearest to that, where two things are too near to each other.
    pub nearest: Option<Point>,
    /// Stretches of what lies on the floor: of runs, of leads, of a wall.
    pub stretches: Vec<Piece>,
    /// An area of the floor, ring by ring; a ring inside another is a hole in it.
    pub area: Vec<Vec<Point>>,
    /// Whether that area is a part of the floor as it is divided, whose border alone is to be shown.
    pub bay: bool,
}

impl Site {
    /// A point.
    pub fn at(at: Point) -> Self {
        Site { at, nearest: None, stretches: Vec::new(), area: Vec::new(), bay: false }
    }

    /// Stretches: the place is the middle of the longest. None where there are none.
    pub fn of_stretches(stretches: Vec<Piece>) -> Option<Self> {
        let longest = stretches.iter().max_by(|a, b| a.length().total_cmp(&b.length()))?;
        Some(Site { stretches: stretches.clone(), ..Site::at(longest.along(0.5)) })
    }

    /// An area, at one of its points.
    pub fn of_area(at: Point, area: Vec<Vec<Point>>, bay: bool) -> Self {
        Site { area, bay, ..Site::at(at) }
    }

    /// Two points that are the nearest of two things, the first of what is at fault.
    pub fn of_pair(at: Point, other: Point) -> Self {
        Site { nearest: (at != other).then_some(other), ..Site::at(at) }
    }
}
