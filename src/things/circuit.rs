//! The circuit: junction boxes, thermostats, contactors, supplies, earthed grids; and fittings near water.

use super::{InRoom, Named, RoomId, Thing, World};
use crate::finding::Subject;
use crate::layout::kinds::Kind;
use crate::measure::room::Feature;
use crate::measure::water::{Fitting, NearWater};
use crate::model::{Contactor, Junction, Plan, Point, Stated, Supply, Thermostat};
use crate::source::Place;

/// A junction box: its index in its room.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct JunctionId {
    /// The room.
    pub room: RoomId,
    /// The index.
    pub index: usize,
}

impl<'a> World<'a> {
    /// A junction box as the plan gives it.
    pub fn junction(&self, junction: JunctionId) -> &'a Junction {
        &self.room(junction.room).junctions[junction.index]
    }
}

impl Thing for JunctionId {
    const WORD: &'static str = "junction";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("{} `{}`", Kind::Junction.word(), world.junction(self).name.text)
    }

    fn place(self, world: &World<'_>) -> Place {
        world.junction(self).place
    }

    fn spot(self, world: &World<'_>) -> Option<Point> {
        Some(world.junction(self).at)
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        super::subject(Kind::Junction, &world.junction(self).name)
    }

    fn named(plan: &Plan, room: Option<RoomId>, name: Named<'_>) -> Option<Self> {
        let room = room?;
        let index = name.position(Kind::Junction, &plan.rooms[room.0].junctions, |junction| &junction.name)?;
        Some(JunctionId { room, index })
    }
}

/// A thermostat: its index in its room.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ThermostatId {
    /// The room.
    pub room: RoomId,
    /// The index.
    pub index: usize,
}

impl<'a> World<'a> {
    /// A thermostat as the plan gives it.
    pub fn thermostat(&self, thermostat: ThermostatId) -> &'a Thermostat {
        &self.room(thermostat.room).thermostats[thermostat.index]
    }
}

impl Thing for ThermostatId {
    const WORD: &'static str = "thermostat";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("thermostat `{}`", world.thermostat(self).name.text)
    }

    fn place(self, world: &World<'_>) -> Place {
        world.thermostat(self).place
    }

    fn spot(self, world: &World<'_>) -> Option<Point> {
        Some(world.thermostat(self).at)
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        super::subject(Kind::Thermostat, &world.thermostat(self).name)
    }

    fn named(plan: &Plan, room: Option<RoomId>, name: Named<'_>) -> Option<Self> {
        let room = room?;
        let index = name.position(Kind::Thermostat, &plan.rooms[room.0].thermostats, |thermostat| &thermostat.name)?;
        Some(ThermostatId { room, index })
    }
}

/// A contactor: its index in its room.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ContactorId {
    /// The room.
    pub room: RoomId,
    /// The index.
    pub index: usize,
}

impl<'a> World<'a> {
    /// A contactor as the plan gives it.
    pub fn contactor(&self, contactor: ContactorId) -> &'a Contactor {
        &self.room(contactor.room).contactors[contactor.index]
    }
}

impl Thing for ContactorId {
    const WORD: &'static str = "contactor";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("contactor `{}`", world.contactor(self).name.text)
    }

    fn place(self, world: &World<'_>) -> Place {
        world.contactor(self).place
    }

    /// That of the thermostat which works it.
    fn spot(self, world: &World<'_>) -> Option<Point> {
        ThermostatId { room: self.room, index: world.contactor(self).thermostat }.spot(world)
    }

    fn named(plan: &Plan, room: Option<RoomId>, name: Named<'_>) -> Option<Self> {
        let room = room?;
        let index = name.position(Kind::Contactor, &plan.rooms[room.0].contactors, |contactor| &contactor.name)?;
        Some(ContactorId { room, index })
    }
}

/// A supply: its index in the plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct SupplyId(pub usize);

impl<'a> World<'a> {
    /// A supply as the plan gives it.
    pub fn supply(&self, supply: SupplyId) -> &'a Supply {
        &self.plan.supplies[supply.0]
    }
}

impl Thing for SupplyId {
    const WORD: &'static str = "supply";

    fn room(self) -> Option<RoomId> {
        None
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("supply `{}`", world.supply(self).name.text)
    }

    fn place(self, world: &World<'_>) -> Place {
        world.supply(self).name.place
    }

    /// The first room that it feeds.
    fn room_of_finding(self, world: &World<'_>) -> Option<RoomId> {
        let feeds = |thermostat: &Thermostat| thermostat.supply == Some(self.0);
        world.plan.rooms.iter().position(|room| room.thermostats.iter().any(feeds)).map(RoomId)
    }

    fn named(plan: &Plan, _room: Option<RoomId>, name: Named<'_>) -> Option<Self> {
        name.position(Kind::Supply, &plan.supplies, |supply| &supply.name).map(SupplyId)
    }
}

/// A line of a supply.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum SupplyLine {
    Voltage,
    Rcd,
    Breaker,
    Fuse,
    Conductor,
    Ambient,
}

impl SupplyLine {
    /// What it gives.
    pub fn word(self) -> &'static str {
        match self {
            SupplyLine::Voltage => "voltage",
            SupplyLine::Rcd => "RCD",
            SupplyLine::Breaker => "breaker",
            SupplyLine::Fuse => "fuse",
            SupplyLine::Conductor => "conductor",
            SupplyLine::Ambient => "ambient temperature",
        }
    }

    /// Where a supply gives it.
    pub fn place(self, supply: &Supply) -> Option<Place> {
        match self {
            SupplyLine::Voltage => supply.voltage.as_ref().map(|line| line.place),
            SupplyLine::Rcd => supply.rcd.as_ref().map(|line| line.place),
            SupplyLine::Breaker => supply.breaker.as_ref().map(|line| line.place),
            SupplyLine::Fuse => supply.fuse.as_ref().map(|line| line.place),
            SupplyLine::Conductor => supply.conductor.as_ref().map(|line| line.place),
            SupplyLine::Ambient => supply.ambient.as_ref().map(|line| line.place),
        }
    }
}

/// A line that a supply gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SupplyLineOf {
    /// The supply.
    pub supply: SupplyId,
    /// Which line.
    pub line: SupplyLine,
}

impl Thing for SupplyLineOf {
    const WORD: &'static str = "supply line";

    fn room(self) -> Option<RoomId> {
        None
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("the {} of {}", self.line.word(), self.supply.describe(world))
    }

    fn place(self, world: &World<'_>) -> Place {
        self.line.place(world.supply(self.supply)).unwrap_or_else(|| self.supply.place(world))
    }

    fn room_of_finding(self, world: &World<'_>) -> Option<RoomId> {
        self.supply.room_of_finding(world)
    }
}

/// The earthed grid of a room that has one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct GridOf(pub RoomId);

impl<'a> World<'a> {
    /// The mesh of a grid, mm.
    pub fn grid(&self, grid: GridOf) -> Option<&'a Stated<f64>> {
        self.room(grid.0).earthed_grid.as_ref()
    }
}

impl Thing for GridOf {
    const WORD: &'static str = "earthed grid";

    fn room(self) -> Option<RoomId> {
        Some(self.0)
    }

    fn describe(self, _world: &World<'_>) -> String {
        "the earthed grid".into()
    }

    fn place(self, world: &World<'_>) -> Place {
        world.grid(self).map_or_else(|| self.0.place(world), |grid| grid.place)
    }
}

/// What a fitting is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum FittingId {
    Thermostat(ThermostatId),
    Junction(JunctionId),
}

impl InRoom<Fitting> {
    fn id(self) -> FittingId {
        let room = self.room;
        match self.thing {
            Fitting::Thermostat(index) => FittingId::Thermostat(ThermostatId { room, index }),
            Fitting::Junction(index) => FittingId::Junction(JunctionId { room, index }),
        }
    }

    /// Its name.
    pub fn name<'a>(self, world: &World<'a>) -> &'a str {
        match self.id() {
            FittingId::Thermostat(thermostat) => &world.thermostat(thermostat).name.text,
            FittingId::Junction(junction) => &world.junction(junction).name.text,
        }
    }

    /// Its height over the floor, mm, where it is given.
    pub fn height(self, world: &World<'_>) -> Option<f64> {
        match self.id() {
            FittingId::Thermostat(thermostat) => world.thermostat(thermostat).height,
            FittingId::Junction(junction) => world.junction(junction).height,
        }
    }
}

impl InRoom<Fitting> {
    /// The second digit of a junction box's IP code, where the plan gives one.
    pub fn water_protection(self, world: &World<'_>) -> Option<u8> {
        match self.id() {
            FittingId::Thermostat(_) => None,
            FittingId::Junction(junction) => world.junction(junction).water_protection,
        }
    }
}

/// A thermostat or a junction box.
impl Thing for InRoom<Fitting> {
    const WORD: &'static str = "fitting";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        match self.id() {
            FittingId::Thermostat(thermostat) => thermostat.describe(world),
            FittingId::Junction(junction) => junction.describe(world),
        }
    }

    fn place(self, world: &World<'_>) -> Place {
        match self.id() {
            FittingId::Thermostat(thermostat) => thermostat.place(world),
            FittingId::Junction(junction) => junction.place(world),
        }
    }

    fn spot(self, world: &World<'_>) -> Option<Point> {
        match self.id() {
            FittingId::Thermostat(thermostat) => thermostat.spot(world),
            FittingId::Junction(junction) => junction.spot(world),
        }
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        match self.id() {
            FittingId::Thermostat(thermostat) => thermostat.subjects(world),
            FittingId::Junction(junction) => junction.subjects(world),
        }
    }
}

impl InRoom<NearWater> {
    /// The thermostat or junction box.
    pub fn fitting(self) -> InRoom<Fitting> {
        self.beside(self.thing.fitting)
    }

    /// The bath, the shower's basin or the shower head.
    pub fn water(self) -> InRoom<Feature> {
        self.beside(self.thing.water)
    }
}

/// A fitting near water.
impl Thing for InRoom<NearWater> {
    const WORD: &'static str = "fitting near water";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("{} and {}", self.fitting().describe(world), self.water().describe(world))
    }

    fn place(self, world: &World<'_>) -> Place {
        self.fitting().place(world)
    }

    fn spot(self, world: &World<'_>) -> Option<Point> {
        self.fitting().spot(world)
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        [self.fitting().subjects(world), self.water().subjects(world)].concat()
    }
}
