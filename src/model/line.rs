//! Lines on and in the floor: joints, pipes, thresholds of doors, partitions.

use super::name::Name;
use crate::geometry::Point;
use crate::layout::kinds::{Kind, PipeKind};
use crate::source::Place;

/// A line on or in the floor.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Its name.
    pub name: Name,
    /// What it is.
    pub kind: LineKind,
    /// Two corners or more.
    pub points: Vec<Point>,
    /// How a door opens, where the plan says.
    pub swing: Option<Swing>,
    /// The statement.
    pub place: Place,
}

/// How a door opens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Swing {
    /// Whether its hinges are at the line's last point rather than at its first.
    pub at_last: bool,
    /// Whether it opens out of the room.
    pub outward: bool,
}

/// What a [`Line`] is.
#[derive(Debug, Clone, PartialEq)]
pub enum LineKind {
    /// A movement joint.
    Joint,
    /// A pipe, and what runs in it, where the plan says.
    Pipe(Option<PipeKind>),
    /// A door's threshold.
    Door {
        /// The wall that it is in (an index).
        wall: usize,
        /// Whether the covering goes on through it.
        through: bool,
    },
    /// A fixed partition, of this height, mm; to the ceiling where none is given.
    Partition(Option<f64>),
}

impl LineKind {
    /// What its name is given to.
    pub fn named(&self) -> Kind {
        match self {
            LineKind::Joint => Kind::Joint,
            LineKind::Pipe(_) => Kind::Pipe,
            LineKind::Door { .. } => Kind::Door,
            LineKind::Partition(_) => Kind::Partition,
        }
    }
}
