//! Rooms that are drawn one over the other.

use geo::{Area as _, BooleanOps as _, LineString, Polygon};

use super::room::RoomMeasure;

impl RoomMeasure<'_> {
    /// The floor that lies in another room too, mm2.
    pub fn shared_floor(&self, other: &RoomMeasure<'_>) -> f64 {
        let inside = |one: &RoomMeasure<'_>| one.outline().bounds().widened(-GRAZE);
        if !inside(self).meets(&inside(other)) {
            return 0.0;
        }
        let [own, other] =
            [self, other].map(|one| Polygon::new(LineString::new(one.outline().corners().to_vec()), Vec::new()));
        own.intersection(&other).unsigned_area()
    }
}

/// Outlines that only touch share no floor, mm.
const GRAZE: f64 = 0.5;
