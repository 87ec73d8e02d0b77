//! A plan with its measurements: made once by whoever reads the plan, and lent to all that speak of it, so that a figure is the same wherever it
//! is shown.

use super::room::{Kept, RoomMeasure};
use crate::model::Plan;

/// A plan and what has been measured of its rooms. Rules, drawings, take-offs and handovers are made of one and the same.
///
/// ```
/// use layrule::measure::plan::Measured;
/// use layrule::model::{load::Library, resolve::resolve};
///
/// let files = layrule::source::Memory::default();
/// let text = "room bath {\n outline (0, 0) (2000, 0) (2000, 1500) (0, 1500)\n}\n";
/// let loaded = Library::new(&files, "", "").load_text("bath.lay".as_ref(), "bath.lay", text.into());
/// let measured = Measured::new(resolve(loaded));
/// assert_eq!(measured.rooms().map(|room| room.area()).sum::<f64>(), 2000.0 * 1500.0);
/// ```
#[derive(Debug)]
pub struct Measured {
    plan: Plan,
    kept: Vec<Kept>,
}

impl Measured {
    /// A plan of which nothing is measured yet.
    pub fn new(plan: Plan) -> Self {
        let kept = plan.rooms.iter().map(Kept::new).collect();
        Measured { plan, kept }
    }

    /// A plan that may be much like one that is measured already: of rooms in which floor and runs are the same, what is known of these
    /// is known of both.
    pub fn like(plan: Plan, known: &Measured) -> Self {
        let rooms = plan.rooms.iter().enumerate();
        let kept = rooms
            .map(|(index, room)| known.room(index).map_or_else(|| Kept::new(room), |known| Kept::like(room, known)));
        Measured { kept: kept.collect(), plan }
    }

    /// The plan.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// The plan, without what was measured of it.
    pub fn into_plan(self) -> Plan {
        self.plan
    }

    /// A room by its place among the plan's, from 0.
    pub fn room(&self, index: usize) -> Option<RoomMeasure<'_>> {
        Some(RoomMeasure::new(&self.plan, self.plan.rooms.get(index)?, self.kept.get(index)?))
    }

    /// The rooms, in their order.
    pub fn rooms(&self) -> impl Iterator<Item = RoomMeasure<'_>> {
        self.plan.rooms.iter().zip(&self.kept).map(|(room, kept)| RoomMeasure::new(&self.plan, room, kept))
    }
}
