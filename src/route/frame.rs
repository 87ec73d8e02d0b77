//! The plan turned so that the runs to be laid go along x.

use crate::geometry::{Point, cross, dot};

/// A turn of the plan. Along the plan's own axes it changes no digit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Which way the runs go on the plan; one mm.
    along: Point,
}

impl Frame {
    /// Runs go along a step of the plan, or back.
    pub fn along(step: Point) -> Self {
        let length = step.x.hypot(step.y);
        let unit = if length > 0.0 { step / length } else { Point { x: 1.0, y: 0.0 } };
        // A wall drawn to the millimetre along an axis is along it.
        let (x, y) = (unit.x.abs(), unit.y.abs());
        let along = match (x < STRAIGHT, y < STRAIGHT) {
            (true, _) => Point { x: 0.0, y: 1.0 },
            (_, true) => Point { x: 1.0, y: 0.0 },
            // Either way round is the same direction.
            _ if unit.x < 0.0 => unit * -1.0,
            _ => unit,
        };
        Frame { along }
    }

    /// Whether runs go along one of the plan's axes, so that headings name them.
    pub fn on_axis(self) -> bool {
        self.along.x == 0.0 || self.along.y == 0.0
    }

    /// Whether runs go about the same way as in another.
    pub fn is_near(self, other: Frame) -> bool {
        cross(self.along, other.along).abs() < NEAR
    }

    /// Whether runs go about square to those in another.
    pub fn is_across(self, other: Frame) -> bool {
        dot(self.along, other.along).abs() < NEAR
    }

    /// A point of the plan as it lies in the frame.
    pub fn turned(self, point: Point) -> Point {
        let Point { x, y } = self.along;
        Point { x: point.x * x + point.y * y, y: point.y * x - point.x * y }
    }

    /// A point of the frame as it lies on the plan.
    pub fn back(self, point: Point) -> Point {
        let Point { x, y } = self.along;
        Point { x: point.x * x - point.y * y, y: point.x * y + point.y * x }
    }
}

/// The sine of the angle to an axis below which a wall is taken to be along it.
const STRAIGHT: f64 = 1e-4;

/// The sine of the angle below which two directions are taken for one: walls of a room are hardly ever square.
const NEAR: f64 = 0.02;
