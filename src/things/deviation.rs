//! Agreed departures from rules.

use super::{DeviationState, RoomId, Thing, World};
use crate::model::Deviation;
use crate::source::Place;

/// A deviation: its index in its room.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct DeviationId {
    /// The room.
    pub room: RoomId,
    /// The index.
    pub index: usize,
}

impl<'a> World<'a> {
    /// A deviation as the plan gives it.
    pub fn deviation(&self, deviation: DeviationId) -> &'a Deviation {
        &self.room(deviation.room).deviations[deviation.index]
    }

    /// What has become of a deviation.
    pub fn deviation_state(&self, deviation: DeviationId) -> DeviationState {
        self.deviations[deviation.room.0][deviation.index]
    }
}

impl Thing for DeviationId {
    const WORD: &'static str = "deviation";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("the deviation from `{}`", world.deviation(self).rule.text)
    }

    fn place(self, world: &World<'_>) -> Place {
        world.deviation(self).place
    }
}
