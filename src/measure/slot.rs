//! How wide the floor is between what stands on it, round a place that stays cold.

use geo::{Area as _, BooleanOps as _, Buffer as _, Distance as _, Euclidean, LineString, MultiPolygon, Polygon, Rect};

use super::cover::Patch;
use super::room::RoomMeasure;
use crate::geometry::Point;
use crate::model::{AreaKind, Shape};

/// The widest that is told, mm: what is wider is no slot.
const WIDEST: f64 = 500.0;

/// How near the width is found, mm.
const NEAR: f64 = 2e-4;

impl RoomMeasure<'_> {
    /// How wide the floor is round a patch: the diameter of the largest disc that lies on the room's floor, on nothing that stands on it, and
    /// reaches into the box round the patch; up to 500 mm. Fixtures that are raised leave the floor below them free.
    pub fn slot_width(&self, patch: &Patch) -> f64 {
        let around = Rect::new(patch.low, patch.high);
        let near = Rect::new(patch.low - Point { x: WIDEST, y: WIDEST }, patch.high + Point { x: WIDEST, y: WIDEST });
        let ring = |corners: &[Point]| Polygon::new(LineString::new(corners.to_vec()), Vec::new());
        let mut floor = ring(&self.room.corners).intersection(&near.to_polygon());
        for area in &self.room.areas {
            let stands = match &area.kind {
                AreaKind::Drill => false,
                AreaKind::Fixture { .. } => area.kind.clear_below().is_none(),
                AreaKind::Level { height } => height.is_none(),
            };
            // A round thing leaves the slots beside it wider by its corners than they are.
            if let Shape::Polygon(corners) = &area.shape
                && stands
            {
                floor = floor.difference(&ring(corners));
            }
        }
        let fits = |radius: f64| {
            let middles: MultiPolygon<f64> = floor.buffer(-radius);
            middles.unsigned_area() > 0.0 && Euclidean.distance(&middles, &around.to_polygon()) <= radius
        };
        let (mut low, mut high) = (0.0, WIDEST / 2.0);
        if fits(high) {
            return WIDEST;
        }
        while high - low > NEAR {
            let middle = f64::midpoint(low, high);
            if fits(middle) { low = middle } else { high = middle }
        }
        low + high
    }
}
