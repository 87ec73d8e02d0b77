//! Doors: how near a movement joint follows a threshold.

use crate::geometry::{Piece, along};
use crate::model::{Line, LineKind, Room};

/// How near one movement joint comes to the whole of a threshold, mm: the farthest of its ends and its middle from the joint, of several
/// joints the nearest. Nothing where the room has no joint.
pub fn joint_beside(room: &Room, threshold: &Line) -> Option<f64> {
    let (from, to) = (*threshold.points.first()?, *threshold.points.last()?);
    let joints = room.lines.iter().filter(|line| line.kind == LineKind::Joint);
    let farthest = joints.map(|joint| {
        let nearest =
            |point| Piece::of_line(&joint.points).map(|piece| piece.distance(point)).fold(f64::INFINITY, f64::min);
        [from, along(from, to, 0.5), to].map(nearest).into_iter().fold(0.0, f64::max)
    });
    farthest.min_by(f64::total_cmp)
}
