//! The test record of a room: its lines, its readings, its tests of RCDs, the stages that it misses.

use super::{CableId, InRoom, RoomId, SensorId, SupplyId, Thing, World};
use crate::finding::Subject;
use crate::measure::record::{MissingStage, Past};
use crate::model::{Point, RcdTest, Reading, Record, SensorReading};
use crate::source::Place;
use crate::worded::Worded as _;

/// The test record of a room that has one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct RecordOf(pub RoomId);

impl<'a> World<'a> {
    /// The record of a room that has one.
    pub fn record(&self, room: RoomId) -> Option<&'a Record> {
        self.room(room).record.as_ref()
    }

    /// Every record, with its room.
    pub fn each_record(&self) -> impl Iterator<Item = (RoomId, &'a Record)> {
        self.each_room().filter_map(|(room, _)| Some((room, self.record(room)?)))
    }
}

impl Thing for RecordOf {
    const WORD: &'static str = "record";

    fn room(self) -> Option<RoomId> {
        Some(self.0)
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("the test record of {}", self.0.describe(world))
    }

    fn place(self, world: &World<'_>) -> Place {
        world.record(self.0).map_or_else(|| self.0.place(world), |record| record.place)
    }
}

/// A line of a test record that is no reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum RecordLine {
    Screeded,
    Tiled,
    SwitchedOn,
    Signed,
}

impl RecordLine {
    /// What it gives.
    pub fn word(self) -> &'static str {
        match self {
            RecordLine::Screeded => "screed",
            RecordLine::Tiled => "day of tiling",
            RecordLine::SwitchedOn => "day of switching on",
            RecordLine::Signed => "signature",
        }
    }

    /// Where a record gives it.
    pub fn place(self, record: &Record) -> Option<Place> {
        match self {
            RecordLine::Screeded => record.screeded.as_ref().map(|line| line.place),
            RecordLine::Tiled => record.tiled.as_ref().map(|line| line.2),
            RecordLine::SwitchedOn => record.switched_on.as_ref().map(|line| line.1),
            RecordLine::Signed => record.signed.as_ref().map(|line| line.2),
        }
    }
}

impl Thing for InRoom<RecordLine> {
    const WORD: &'static str = "record line";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("the {} of {}", self.thing.word(), self.room.describe(world))
    }

    fn place(self, world: &World<'_>) -> Place {
        let given = world.record(self.room).and_then(|record| self.thing.place(record));
        given.unwrap_or_else(|| self.room.place(world))
    }
}

/// A reading of a test record: its index there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ReadingId {
    /// The room.
    pub room: RoomId,
    /// The index.
    pub index: usize,
}

impl<'a> World<'a> {
    /// A reading as the plan gives it.
    pub fn reading(&self, reading: ReadingId) -> Option<&'a Reading> {
        self.record(reading.room)?.readings.get(reading.index)
    }
}

impl ReadingId {
    /// The cable that was measured.
    pub fn cable(self, world: &World<'_>) -> Option<CableId> {
        Some(CableId { room: self.room, index: world.reading(self)?.cable })
    }
}

impl Thing for ReadingId {
    const WORD: &'static str = "reading";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        match (world.reading(self), self.cable(world)) {
            (Some(reading), Some(cable)) => {
                format!("the reading `{}` of {}", reading.stage.word(), cable.describe(world))
            }
            _ => "a reading".into(),
        }
    }

    fn place(self, world: &World<'_>) -> Place {
        world.reading(self).map_or_else(|| self.room.place(world), |reading| reading.place)
    }

    fn spot(self, world: &World<'_>) -> Option<Point> {
        self.cable(world)?.spot(world)
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        self.cable(world).map(|cable| cable.subjects(world)).unwrap_or_default()
    }
}

/// A reading of a floor sensor: its index in the record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct SensorReadingId {
    /// The room.
    pub room: RoomId,
    /// The index.
    pub index: usize,
}

impl<'a> World<'a> {
    /// A reading of a sensor as the plan gives it.
    pub fn sensor_reading(&self, reading: SensorReadingId) -> Option<&'a SensorReading> {
        self.record(reading.room)?.sensor_readings.get(reading.index)
    }
}

impl SensorReadingId {
    /// The sensor that was measured.
    pub fn sensor(self, world: &World<'_>) -> Option<SensorId> {
        Some(SensorId { room: self.room, index: world.sensor_reading(self)?.sensor })
    }
}

impl Thing for SensorReadingId {
    const WORD: &'static str = "sensor reading";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        match (world.sensor_reading(self), self.sensor(world)) {
            (Some(reading), Some(sensor)) => {
                format!("the reading `{}` of {}", reading.stage.word(), sensor.describe(world))
            }
            _ => "a reading".into(),
        }
    }

    fn place(self, world: &World<'_>) -> Place {
        world.sensor_reading(self).map_or_else(|| self.room.place(world), |reading| reading.place)
    }

    fn spot(self, world: &World<'_>) -> Option<Point> {
        self.sensor(world)?.spot(world)
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        self.sensor(world).map(|sensor| sensor.subjects(world)).unwrap_or_default()
    }
}

/// A test of a supply's RCD: its index in the record of a room.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct RcdTestId {
    /// The room.
    pub room: RoomId,
    /// The index.
    pub index: usize,
}

impl<'a> World<'a> {
    /// A test of an RCD as the plan gives it.
    pub fn rcd_test(&self, test: RcdTestId) -> Option<&'a RcdTest> {
        self.record(test.room)?.rcd_tests.get(test.index)
    }
}

impl RcdTestId {
    /// The supply whose RCD was tested.
    pub fn supply(self, world: &World<'_>) -> Option<SupplyId> {
        world.rcd_test(self).map(|test| SupplyId(test.supply))
    }
}

impl Thing for RcdTestId {
    const WORD: &'static str = "RCD test";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        let supply = self.supply(world).map_or_else(String::new, |supply| format!(" of {}", supply.describe(world)));
        format!("the test of the RCD{supply}")
    }

    fn place(self, world: &World<'_>) -> Place {
        world.rcd_test(self).map_or_else(|| self.room.place(world), |test| test.place)
    }
}

impl InRoom<MissingStage> {
    /// The cable that wasn't measured.
    pub fn cable(self) -> CableId {
        CableId { room: self.room, index: self.thing.cable }
    }
}

/// A stage that a record misses a reading of.
impl Thing for InRoom<MissingStage> {
    const WORD: &'static str = "missing stage";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("the missing reading `{}` of {}", self.thing.stage.word(), self.cable().describe(world))
    }

    /// That of what shows that the stage is past.
    fn place(self, world: &World<'_>) -> Place {
        match self.thing.past {
            Past::Reading(index) => ReadingId { room: self.room, index }.place(world),
            Past::Tiled => self.beside(RecordLine::Tiled).place(world),
            Past::SwitchedOn => self.beside(RecordLine::SwitchedOn).place(world),
        }
    }

    fn spot(self, world: &World<'_>) -> Option<Point> {
        self.cable().spot(world)
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        self.cable().subjects(world)
    }
}
