//! A plan with its measurements, as rules see it.

use std::cell::Cell;

use super::RoomId;
use crate::measure::plan::Measured;
use crate::measure::room::RoomMeasure;
use crate::model::{Deviation, Plan};

/// What becomes of the deviations of a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DeviationState {
    /// Whether its last day is past.
    pub lapsed: bool,
    /// Whether a finding matched it.
    pub matched: bool,
    /// Whether its rule was held to everything it speaks of, so that it could have matched.
    pub judged: bool,
}

/// A plan with its measurements, as rules see it.
pub struct World<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// Its rooms' measurements, in their order.
    pub rooms: Vec<RoomMeasure<'a>>,
    /// Its deviations, room by room.
    pub deviations: Vec<Vec<DeviationState>>,
    /// Whether no one wants to know why something can't be told.
    tacit: Cell<bool>,
}

impl<'a> World<'a> {
    /// A measured plan. `today` decides which deviations have lapsed.
    pub fn new(measured: &'a Measured, today: jiff::civil::Date) -> Self {
        let state = |deviation: &Deviation| DeviationState {
            lapsed: deviation.until.is_some_and(|until| until < today),
            matched: false,
            judged: true,
        };
        let plan = measured.plan();
        World {
            plan,
            rooms: measured.rooms().collect(),
            deviations: plan.rooms.iter().map(|room| room.deviations.iter().map(state).collect()).collect(),
            tacit: Cell::new(false),
        }
    }

    /// Asks only whether something can be told: what is wanted of [`World::reason`] meanwhile is empty.
    pub fn without_reasons<T>(&self, ask: impl FnOnce() -> T) -> T {
        let before = self.tacit.replace(true);
        let told = ask();
        self.tacit.set(before);
        told
    }

    /// Why something can't be told, put into words where anyone wants to know.
    pub fn reason(&self, why: impl FnOnce() -> String) -> String {
        if self.tacit.get() { String::new() } else { why() }
    }

    /// The rooms, each with its measurements.
    pub fn each_room(&self) -> impl Iterator<Item = (RoomId, &RoomMeasure<'a>)> {
        self.rooms.iter().enumerate().map(|(index, room)| (RoomId(index), room))
    }
}
