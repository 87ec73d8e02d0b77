//! Floor sensors, and what crosses their conduits.

use super::{InRoom, Named, RoomId, Thing, World};
use crate::finding::Subject;
use crate::layout::kinds::Kind;
use crate::measure::index::RunId;
use crate::model::{Plan, Point, Sensor};
use crate::source::Place;

/// A floor sensor: its index in its room.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct SensorId {
    /// The room.
    pub room: RoomId,
    /// The index.
    pub index: usize,
}

impl<'a> World<'a> {
    /// A sensor as the plan gives it.
    pub fn sensor(&self, sensor: SensorId) -> &'a Sensor {
        &self.room(sensor.room).sensors[sensor.index]
    }
}

impl Thing for SensorId {
    const WORD: &'static str = "sensor";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("sensor `{}`", world.sensor(self).name.text)
    }

    fn place(self, world: &World<'_>) -> Place {
        world.sensor(self).place
    }

    fn spot(self, world: &World<'_>) -> Option<Point> {
        world.sensor(self).conduit.last().copied()
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        super::subject(Kind::Sensor, &world.sensor(self).name)
    }

    fn named(plan: &Plan, room: Option<RoomId>, name: Named<'_>) -> Option<Self> {
        let room = room?;
        let index = name.position(Kind::Sensor, &plan.rooms[room.0].sensors, |sensor| &sensor.name)?;
        Some(SensorId { room, index })
    }
}

/// A run that a sensor's conduit crosses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ConduitCrossing {
    /// The sensor.
    pub sensor: SensorId,
    /// The run.
    pub run: InRoom<RunId>,
    /// Where.
    pub at: Point,
}

impl Thing for ConduitCrossing {
    const WORD: &'static str = "conduit crossing";

    fn room(self) -> Option<RoomId> {
        Some(self.sensor.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("{} and {}", self.sensor.describe(world), self.run.describe(world))
    }

    fn place(self, world: &World<'_>) -> Place {
        self.sensor.place(world)
    }

    fn spot(self, _world: &World<'_>) -> Option<Point> {
        Some(self.at)
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        [self.sensor.subjects(world), self.run.subjects(world)].concat()
    }
}
