//! The things that rules speak of, and the values they work with.

pub use super::lines::{RecordLine, SupplyLine};
use crate::finding::Subject;
use crate::geometry::Bounds;
use crate::measure::bays::Bay;
use crate::measure::cover::Patch;
use crate::measure::index::RunId;
use crate::measure::leads::{DrilledLead, Lead};
use crate::measure::length::Turn;
use crate::measure::record::{MissingStage, Past};
use crate::measure::room::{Feature, RoomMeasure};
use crate::measure::spacing::{CloseApproach, Crossing};
use crate::measure::water::{Fitting, NearWater};
use crate::measure::zones::Meeting;
use crate::model::{AreaKind, LineKind, Plan, Point};
use crate::quantity::Dimension;
use crate::source::{Place, Span};

/// What kind of thing an [`Item`] is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[allow(missing_docs)]
pub enum Kind {
    Room,
    Wall,
    Floor,
    Layer,
    Bay,
    Feature,
    Run,
    Cable,
    Turn,
    Kit,
    Junction,
    Thermostat,
    Contactor,
    Supply,
    SupplyLine,
    Grid,
    Sensor,
    Fitting,
    NearWater,
    CloseApproach,
    Crossing,
    Meeting,
    ConduitCrossing,
    TailCrossing,
    DrilledLead,
    ColdPatch,
    Record,
    RecordLine,
    Reading,
    MissingStage,
    Deviation,
}

impl Kind {
    /// Every kind, in the order of the reference page.
    pub const ALL: &[Kind] = &[
        Kind::Room,
        Kind::Wall,
        Kind::Floor,
        Kind::Layer,
        Kind::Bay,
        Kind::Feature,
        Kind::Cable,
        Kind::Run,
        Kind::Turn,
        Kind::Kit,
        Kind::Junction,
        Kind::Thermostat,
        Kind::Contactor,
        Kind::Supply,
        Kind::SupplyLine,
        Kind::Grid,
        Kind::Sensor,
        Kind::Fitting,
        Kind::NearWater,
        Kind::CloseApproach,
        Kind::Crossing,
        Kind::Meeting,
        Kind::ConduitCrossing,
        Kind::TailCrossing,
        Kind::DrilledLead,
        Kind::ColdPatch,
        Kind::Record,
        Kind::RecordLine,
        Kind::Reading,
        Kind::MissingStage,
        Kind::Deviation,
    ];

    /// What it is called.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Room => "room",
            Kind::Wall => "wall",
            Kind::Floor => "floor",
            Kind::Layer => "layer",
            Kind::Bay => "bay",
            Kind::Feature => "feature",
            Kind::Run => "run",
            Kind::Cable => "cable",
            Kind::Turn => "turn",
            Kind::Kit => "kit",
            Kind::Junction => "junction",
            Kind::Thermostat => "thermostat",
            Kind::Contactor => "contactor",
            Kind::Supply => "supply",
            Kind::SupplyLine => "supply line",
            Kind::Grid => "earthed grid",
            Kind::Sensor => "sensor",
            Kind::Fitting => "fitting",
            Kind::NearWater => "fitting near water",
            Kind::CloseApproach => "close approach",
            Kind::Crossing => "crossing",
            Kind::Meeting => "meeting",
            Kind::ConduitCrossing => "conduit crossing",
            Kind::TailCrossing => "tail crossing",
            Kind::DrilledLead => "drilled lead",
            Kind::ColdPatch => "cold patch",
            Kind::Record => "record",
            Kind::RecordLine => "record line",
            Kind::Reading => "reading",
            Kind::MissingStage => "missing stage",
            Kind::Deviation => "deviation",
        }
    }
}

/// A thing of a plan that a rule can ask about. The first number is the room's.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(missing_docs)]
pub enum Item {
    Room(u32),
    Wall(u32, u32),
    Floor(u32),
    /// A layer of the room's floor.
    Layer(u32, u32),
    Bay(u32, Bay),
    Feature(u32, Feature),
    Run(u32, RunId),
    Cable(u32, u32),
    Turn(u32, u32, Turn),
    /// An index into the plan's kits.
    Kit(u32),
    Junction(u32, u32),
    Thermostat(u32, u32),
    Contactor(u32, u32),
    /// An index into the plan's supplies.
    Supply(u32),
    /// A line of a supply.
    SupplyLine(u32, SupplyLine),
    /// The earthed grid of a room.
    Grid(u32),
    Sensor(u32, u32),
    /// A thermostat or a junction box.
    Fitting(u32, Fitting),
    NearWater(u32, NearWater),
    CloseApproach(u32, CloseApproach),
    Crossing(u32, Crossing),
    Meeting(u32, Feature, Meeting),
    /// Sensor, run and where.
    ConduitCrossing(u32, u32, RunId, Point),
    /// Cable whose tail it is, run and where.
    TailCrossing(u32, u32, RunId, Point),
    /// A cold tail or a conduit near a drill zone.
    DrilledLead(u32, DrilledLead),
    ColdPatch(u32, Patch),
    Record(u32),
    RecordLine(u32, RecordLine),
    Reading(u32, u32),
    MissingStage(u32, MissingStage),
    Deviation(u32, u32),
}

/// The type of a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Type {
    /// A number with a dimension.
    Quantity(Dimension),
    /// True or false.
    Truth,
    /// A text.
    Text,
    /// A point of the plan.
    Place,
    /// One thing.
    Item(Kind),
    /// Several things.
    Collection(Kind),
}

impl Type {
    /// What it is called in a message.
    pub fn describe(self) -> String {
        match self {
            Type::Quantity(dimension) => dimension.describe(),
            Type::Truth => "true or false".into(),
            Type::Text => "a text".into(),
            Type::Place => "a place".into(),
            Type::Item(kind) => format!("a {}", kind.word()),
            Type::Collection(kind) => format!("several of kind {}", kind.word()),
        }
    }
}

/// A value.
#[derive(Debug, Clone)]
pub enum Value {
    /// In coherent units.
    Number(f64),
    /// True or false.
    Truth(bool),
    /// A text.
    Text(String),
    /// A point of the plan.
    Place(Point),
    /// One thing.
    Item(Item),
    /// Several things.
    Items(Vec<Item>),
    /// Nothing, and why.
    Missing(String),
    /// What this part of the rule can't work out, and why.
    Faulty(Span, String),
}

impl Value {
    /// A number, or why there is none.
    pub fn number(value: Option<f64>, why: impl FnOnce() -> String) -> Value {
        value.map_or_else(|| Value::Missing(why()), Value::Number)
    }

    /// A text, or why there is none.
    pub fn text(value: Option<&str>, why: impl FnOnce() -> String) -> Value {
        value.map_or_else(|| Value::Missing(why()), |text| Value::Text(text.to_string()))
    }

    /// An item, or why there is none.
    pub fn item(value: Option<Item>, why: impl FnOnce() -> String) -> Value {
        value.map_or_else(|| Value::Missing(why()), Value::Item)
    }
}

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
}

impl<'a> World<'a> {
    /// A plan of which nothing is measured yet. `today` decides which deviations have lapsed.
    pub fn new(plan: &'a Plan, today: jiff::civil::Date) -> Self {
        let state = |deviation: &crate::model::Deviation| DeviationState {
            lapsed: deviation.until.is_some_and(|until| until < today),
            matched: false,
            judged: true,
        };
        World {
            plan,
            rooms: plan.rooms.iter().map(|room| RoomMeasure::new(plan, room)).collect(),
            deviations: plan.rooms.iter().map(|room| room.deviations.iter().map(state).collect()).collect(),
        }
    }

    /// The number of the room that a finding about an item lies in: of a supply, the first that it feeds.
    pub fn room_of_finding(&self, item: Item) -> Option<u32> {
        let (Item::Supply(supply) | Item::SupplyLine(supply, _)) = item else { return room_number(item) };
        let fed = |room: &RoomMeasure<'_>| {
            room.room.thermostats.iter().any(|thermostat| thermostat.supply == Some(supply as usize))
        };
        self.rooms.iter().position(fed).and_then(|number| u32::try_from(number).ok())
    }

    /// The room that an item belongs to.
    pub fn room_of(&self, item: Item) -> Option<&RoomMeasure<'a>> {
        Some(&self.rooms[room_number(item)? as usize])
    }

    /// How an item is called in a sentence.
    pub fn describe(&self, item: Item) -> String {
        let room = |number: u32| self.rooms[number as usize].room;
        match item {
            Item::Room(number) => format!("room `{}`", room(number).name.text),
            Item::Wall(number, wall) => match &room(number).walls[wall as usize].title {
                Some(title) => format!("wall {} (\"{title}\")", wall + 1),
                None => format!("wall {}", wall + 1),
            },
            Item::Floor(number) => {
                let timber = room(number).floor.as_ref().is_some_and(|floor| floor.timber);
                format!("the {} floor", if timber { "timber" } else { "concrete" })
            }
            Item::Layer(number, layer) => {
                let layer = room(number).floor.as_ref().and_then(|floor| floor.layers.get(layer as usize));
                format!("layer `{}`", layer.map_or("", |layer| &layer.name.text))
            }
            Item::Bay(number, bay) => match self.rooms[number as usize].bays() {
                Some([_]) => format!("the floor of room `{}`", room(number).name.text),
                _ => format!("the bay from {}", show_place(bay.at)),
            },
            Item::Feature(number, feature) => {
                let (sort, name) = self.feature_name(number, feature);
                format!("{sort} `{name}`")
            }
            Item::Run(number, id) => {
                format!("run {} of cable `{}`", id.run + 1, room(number).cables[id.cable as usize].name.text)
            }
            Item::Cable(number, cable) => format!("cable `{}`", room(number).cables[cable as usize].name.text),
            Item::Turn(number, cable, turn) => {
                format!(
                    "the turn after run {} of cable `{}`",
                    turn.run + 1,
                    room(number).cables[cable as usize].name.text
                )
            }
            Item::Kit(kit) => format!("kit `{}`", self.plan.kits[kit as usize].name.text),
            Item::Junction(number, junction) => {
                format!("junction box `{}`", room(number).junctions[junction as usize].name.text)
            }
            Item::Thermostat(number, index) => {
                format!("thermostat `{}`", room(number).thermostats[index as usize].name.text)
            }
            Item::Contactor(number, index) => {
                format!("contactor `{}`", room(number).contactors[index as usize].name.text)
            }
            Item::Supply(supply) => format!("supply `{}`", self.plan.supplies[supply as usize].name.text),
            Item::SupplyLine(supply, line) => {
                format!("the {} of {}", line.word(), self.describe(Item::Supply(supply)))
            }
            Item::Grid(_) => "the earthed grid".into(),
            Item::Sensor(number, sensor) => format!("sensor `{}`", room(number).sensors[sensor as usize].name.text),
            Item::Fitting(number, fitting) => self.describe(of_fitting(number, fitting)),
            Item::NearWater(number, near) => format!(
                "{} and {}",
                self.describe(of_fitting(number, near.fitting)),
                self.describe(Item::Feature(number, near.water))
            ),
            Item::CloseApproach(number, pair) => self.pair(number, pair.first, pair.second),
            Item::Crossing(number, pair) => self.pair(number, pair.first, pair.second),
            Item::Meeting(number, feature, meeting) => {
                format!(
                    "{} and {}",
                    self.describe(Item::Run(number, meeting.run)),
                    self.describe(Item::Feature(number, feature))
                )
            }
            Item::ConduitCrossing(number, sensor, run, _) => {
                format!("{} and {}", self.describe(Item::Sensor(number, sensor)), self.describe(Item::Run(number, run)))
            }
            Item::DrilledLead(number, DrilledLead { lead, .. }) => match lead {
                Lead::Tail(cable) => format!("the cold tail of {}", self.describe(Item::Cable(number, cable))),
                Lead::Conduit(sensor) => format!("the conduit of {}", self.describe(Item::Sensor(number, sensor))),
            },
            Item::TailCrossing(number, cable, run, _) => format!(
                "the tail of {} and {}",
                self.describe(Item::Cable(number, cable)),
                self.describe(Item::Run(number, run))
            ),
            Item::ColdPatch(_, patch) => format!("the cold patch near {}", show_place(patch.at)),
            Item::Record(number) => format!("the test record of {}", self.describe(Item::Room(number))),
            Item::RecordLine(number, line) => format!("the {} of room `{}`", line.word(), room(number).name.text),
            Item::Reading(number, index) => match self.reading(number, index) {
                Some(reading) => format!(
                    "the reading `{}` of {}",
                    reading.stage.word(),
                    self.describe(Item::Cable(number, u32::try_from(reading.cable).unwrap_or(u32::MAX)))
                ),
                None => "a reading".into(),
            },
            Item::MissingStage(number, missing) => format!(
                "the missing reading `{}` of {}",
                missing.stage.word(),
                self.describe(Item::Cable(number, missing.cable))
            ),
            Item::Deviation(number, deviation) => {
                format!("the deviation from `{}`", room(number).deviations[deviation as usize].rule.text)
            }
        }
    }

    fn reading(&self, room: u32, index: u32) -> Option<&'a crate::model::Reading> {
        self.rooms[room as usize].room.record.as_ref()?.readings.get(index as usize)
    }

    fn pair(&self, room: u32, first: RunId, second: RunId) -> String {
        format!("{} and {}", self.describe(Item::Run(room, first)), self.describe(Item::Run(room, second)))
    }

    /// What sort of thing a feature is, and its name.
    pub fn feature_name(&self, room: u32, feature: Feature) -> (&'static str, &'a str) {
        let room = self.rooms[room as usize].room;
        match feature {
            Feature::Area(index) => {
                let area = &room.areas[index as usize];
                let sort = match area.kind {
                    AreaKind::Fixture { .. } => "fixture",
                    AreaKind::Drill => "drill zone",
                    AreaKind::Level { height: None } => "stairs",
                    AreaKind::Level { .. } => "level",
                };
                (sort, &area.name.text)
            }
            Feature::Line(index) => {
                let line = &room.lines[index as usize];
                let sort = match line.kind {
                    LineKind::Joint => "joint",
                    LineKind::Pipe(_) => "pipe",
                    LineKind::Door(_) => "door",
                    LineKind::Partition(_) => "partition",
                };
                (sort, &line.name.text)
            }
            Feature::Outlet(index) => ("outlet", &room.outlets[index as usize].name.text),
        }
    }

    /// Where an item stands in the plan.
    pub fn place(&self, item: Item) -> Place {
        let room = |number: u32| self.rooms[number as usize].room;
        match item {
            Item::Room(number) | Item::ColdPatch(number, _) | Item::Bay(number, _) => room(number).name.place,
            Item::Layer(number, layer) => {
                let layer = room(number).floor.as_ref().and_then(|floor| floor.layers.get(layer as usize));
                layer.map_or(room(number).name.place, |layer| layer.name.place)
            }
            Item::Wall(number, wall) => room(number).walls[wall as usize].place,
            Item::Floor(number) => room(number).floor.as_ref().map_or(room(number).name.place, |floor| floor.place),
            Item::Feature(number, Feature::Area(index)) => room(number).areas[index as usize].place,
            Item::Feature(number, Feature::Line(index)) => room(number).lines[index as usize].place,
            Item::Feature(number, Feature::Outlet(index)) => room(number).outlets[index as usize].place,
            Item::Run(number, id)
            | Item::CloseApproach(number, CloseApproach { second: id, .. })
            | Item::Crossing(number, Crossing { second: id, .. })
            | Item::Meeting(number, _, Meeting { run: id, .. }) => {
                room(number).cables[id.cable as usize].runs[id.run as usize].place
            }
            Item::Cable(number, cable) => room(number).cables[cable as usize].place,
            Item::Turn(number, cable, turn) => {
                // The run after the corner is the one that turns too tight.
                let runs = &room(number).cables[cable as usize].runs;
                runs.get(turn.run + 1).or(runs.get(turn.run)).map_or(room(number).name.place, |run| run.place)
            }
            Item::Kit(kit) => self.plan.kits[kit as usize].name.place,
            Item::Supply(supply) => self.plan.supplies[supply as usize].name.place,
            Item::SupplyLine(index, line) => {
                let supply = &self.plan.supplies[index as usize];
                line.place(supply).unwrap_or(supply.name.place)
            }
            Item::Grid(number) => {
                let room = room(number);
                room.earthed_grid.as_ref().map_or(room.name.place, |grid| grid.place)
            }
            Item::Junction(number, junction) => room(number).junctions[junction as usize].place,
            Item::Thermostat(number, index) => room(number).thermostats[index as usize].place,
            Item::Contactor(number, index) => room(number).contactors[index as usize].place,
            Item::Sensor(number, sensor) | Item::ConduitCrossing(number, sensor, ..) => {
                room(number).sensors[sensor as usize].place
            }
            Item::Fitting(number, fitting) | Item::NearWater(number, NearWater { fitting, .. }) => {
                self.place(of_fitting(number, fitting))
            }
            Item::TailCrossing(number, cable, ..)
            | Item::DrilledLead(number, DrilledLead { lead: Lead::Tail(cable), .. }) => {
                room(number).cables[cable as usize].tail_place
            }
            Item::DrilledLead(number, DrilledLead { lead: Lead::Conduit(sensor), .. }) => {
                self.place(Item::Sensor(number, sensor))
            }
            Item::Deviation(number, deviation) => room(number).deviations[deviation as usize].place,
            Item::Reading(number, index)
            | Item::MissingStage(number, MissingStage { past: Past::Reading(index), .. }) => {
                self.reading(number, index).map_or(room(number).name.place, |reading| reading.place)
            }
            Item::MissingStage(number, MissingStage { past: Past::Tiled, .. }) => {
                self.place(Item::RecordLine(number, RecordLine::Tiled))
            }
            Item::MissingStage(number, MissingStage { past: Past::SwitchedOn, .. }) => {
                self.place(Item::RecordLine(number, RecordLine::SwitchedOn))
            }
            Item::Record(number) => room(number).record.as_ref().map_or(room(number).name.place, |record| record.place),
            Item::RecordLine(number, line) => {
                let record = room(number).record.as_ref();
                record.and_then(|record| line.place(record)).unwrap_or(room(number).name.place)
            }
        }
    }

    /// Where on the floor an item is, where it is anywhere: the place itself of a crossing or a patch, the middle of what is larger.
    pub fn spot(&self, item: Item) -> Option<Point> {
        let room = self.rooms.get(room_number(item)? as usize)?.room;
        let middle = |low: Point, high: Point| (low + high) / 2.0;
        let run = |id: RunId| room.cables.get(id.cable as usize)?.runs.get(id.run as usize);
        let start = |cable: u32| Some(room.cables.get(cable as usize)?.runs.first()?.start);
        match item {
            Item::CloseApproach(_, near) => Some(near.at),
            Item::Crossing(_, crossing) => Some(crossing.at),
            Item::ConduitCrossing(.., at) | Item::TailCrossing(.., at) => Some(at),
            Item::DrilledLead(_, drilled) => self.spot(Item::Feature(room_number(item)?, drilled.zone)),
            Item::ColdPatch(_, patch) => Some(patch.at),
            Item::Run(_, id) | Item::Meeting(_, _, Meeting { run: id, .. }) => {
                run(id).map(|run| middle(run.start, run.end))
            }
            Item::Turn(_, cable, turn) => Some(room.cables.get(cable as usize)?.runs.get(turn.run)?.end),
            Item::Cable(_, cable) => start(cable),
            Item::Wall(_, wall) => {
                let wall = wall as usize;
                let next = (wall + 1) % room.corners.len().max(1);
                Some(middle(*room.corners.get(wall)?, *room.corners.get(next)?))
            }
            Item::Feature(_, Feature::Area(index)) => {
                let bounds = room.areas.get(index as usize)?.shape.bounds();
                Some(middle(bounds.low, bounds.high))
            }
            Item::Feature(_, Feature::Line(index)) => {
                let points = &room.lines.get(index as usize)?.points;
                Some(middle(*points.first()?, *points.get(1)?))
            }
            Item::Feature(_, Feature::Outlet(index)) => Some(room.outlets.get(index as usize)?.at),
            Item::Junction(_, index) => Some(room.junctions.get(index as usize)?.at),
            Item::Thermostat(_, index) => Some(room.thermostats.get(index as usize)?.at),
            Item::Sensor(_, index) => room.sensors.get(index as usize)?.conduit.last().copied(),
            Item::Contactor(_, index) => {
                let thermostat = room.contactors.get(index as usize)?.thermostat;
                Some(room.thermostats.get(thermostat)?.at)
            }
            Item::Fitting(_, fitting) | Item::NearWater(_, NearWater { fitting, .. }) => match fitting {
                Fitting::Thermostat(index) => Some(room.thermostats.get(index as usize)?.at),
                Fitting::Junction(index) => Some(room.junctions.get(index as usize)?.at),
            },
            Item::Bay(_, bay) => Some(bay.at),
            Item::Reading(number, index) => start(u32::try_from(self.reading(number, index)?.cable).ok()?),
            Item::MissingStage(_, missing) => start(missing.cable),
            Item::Room(_)
            | Item::Floor(_)
            | Item::Layer(..)
            | Item::Kit(_)
            | Item::Supply(_)
            | Item::SupplyLine(..)
            | Item::Grid(_)
            | Item::Record(_)
            | Item::RecordLine(..)
            | Item::Deviation(..) => None,
        }
    }

    /// The box around what lies on the floor and something may be moved away from: walls, fixtures and the like, runs.
    pub fn extent(&self, item: Item) -> Option<Bounds> {
        let room = self.rooms.get(room_number(item)? as usize)?.room;
        match item {
            Item::Wall(_, wall) => {
                let next = (wall as usize + 1) % room.corners.len().max(1);
                Some(Bounds::between(*room.corners.get(wall as usize)?, *room.corners.get(next)?))
            }
            Item::Feature(_, Feature::Area(index)) => Some(room.areas.get(index as usize)?.shape.bounds()),
            Item::Feature(_, Feature::Line(index)) => Some(Bounds::around(&room.lines.get(index as usize)?.points)),
            Item::Run(_, id) => Some(room.cables.get(id.cable as usize)?.runs.get(id.run as usize)?.piece().bounds()),
            _ => None,
        }
    }

    /// The named things that a finding about an item is about, as a deviation may name them.
    pub fn subjects(&self, item: Item) -> Vec<Subject> {
        let room = |number: u32| self.rooms[number as usize].room;
        let one = |kind: &'static str, name: &str| vec![Subject { kind, name: name.to_string() }];
        let cable = |number: u32, cable: u32| one("cable", &room(number).cables[cable as usize].name.text);
        match item {
            Item::Run(number, id) => cable(number, id.cable),
            Item::Cable(number, index) | Item::Turn(number, index, _) => cable(number, index),
            Item::CloseApproach(number, CloseApproach { first, second, .. })
            | Item::Crossing(number, Crossing { first, second, .. }) => {
                [cable(number, first.cable), cable(number, second.cable)].concat()
            }
            Item::DrilledLead(number, DrilledLead { lead, zone, .. }) => {
                let own = match lead {
                    Lead::Tail(index) => cable(number, index),
                    Lead::Conduit(index) => self.subjects(Item::Sensor(number, index)),
                };
                [own, self.subjects(Item::Feature(number, zone))].concat()
            }
            Item::TailCrossing(number, tail, run, _) => [cable(number, tail), cable(number, run.cable)].concat(),
            Item::Meeting(number, feature, meeting) => {
                [cable(number, meeting.run.cable), self.subjects(Item::Feature(number, feature))].concat()
            }
            Item::ConduitCrossing(number, sensor, run, _) => {
                [self.subjects(Item::Sensor(number, sensor)), cable(number, run.cable)].concat()
            }
            Item::Feature(number, feature) => match self.feature_name(number, feature) {
                ("drill zone", name) => one("drill", name),
                ("stairs", name) => one("level", name),
                ("outlet" | "partition", _) => Vec::new(),
                (sort, name) => one(sort, name),
            },
            Item::MissingStage(number, missing) => cable(number, missing.cable),
            Item::Reading(number, index) => match self.reading(number, index) {
                Some(reading) => one("cable", &room(number).cables[reading.cable].name.text),
                None => Vec::new(),
            },
            Item::Junction(number, index) => one("junction", &room(number).junctions[index as usize].name.text),
            Item::Thermostat(number, index) => one("thermostat", &room(number).thermostats[index as usize].name.text),
            Item::Sensor(number, index) => one("sensor", &room(number).sensors[index as usize].name.text),
            Item::Fitting(number, fitting) => self.subjects(of_fitting(number, fitting)),
            Item::NearWater(number, near) => {
                [self.subjects(of_fitting(number, near.fitting)), self.subjects(Item::Feature(number, near.water))]
                    .concat()
            }
            Item::Room(_)
            | Item::Wall(..)
            | Item::Floor(_)
            | Item::Layer(..)
            | Item::Bay(..)
            | Item::Kit(_)
            | Item::Supply(_)
            | Item::SupplyLine(..)
            | Item::Grid(_)
            | Item::Contactor(..)
            | Item::ColdPatch(..)
            | Item::Record(_)
            | Item::RecordLine(..)
            | Item::Deviation(..) => Vec::new(),
        }
    }
}

/// The thermostat or junction box that a fitting is.
pub fn of_fitting(room: u32, fitting: Fitting) -> Item {
    match fitting {
        Fitting::Thermostat(index) => Item::Thermostat(room, index),
        Fitting::Junction(index) => Item::Junction(room, index),
    }
}

/// The number of the room that an item belongs to.
pub fn room_number(item: Item) -> Option<u32> {
    match item {
        Item::Room(number)
        | Item::Wall(number, _)
        | Item::Floor(number)
        | Item::Layer(number, _)
        | Item::Bay(number, _)
        | Item::Feature(number, _)
        | Item::Run(number, _)
        | Item::Cable(number, _)
        | Item::Turn(number, ..)
        | Item::Grid(number)
        | Item::Junction(number, _)
        | Item::Thermostat(number, _)
        | Item::Contactor(number, _)
        | Item::Sensor(number, _)
        | Item::Fitting(number, _)
        | Item::NearWater(number, _)
        | Item::CloseApproach(number, _)
        | Item::Crossing(number, _)
        | Item::Meeting(number, ..)
        | Item::ConduitCrossing(number, ..)
        | Item::TailCrossing(number, ..)
        | Item::DrilledLead(number, _)
        | Item::ColdPatch(number, _)
        | Item::Record(number)
        | Item::RecordLine(number, _)
        | Item::Reading(number, _)
        | Item::MissingStage(number, _)
        | Item::Deviation(number, _) => Some(number),
        Item::Kit(_) | Item::Supply(_) | Item::SupplyLine(..) => None,
    }
}

/// A point of the plan as a reader sees it: whole millimetres.
pub fn show_place(point: Point) -> String {
    let whole = |value: f64| if value.round() == 0.0 { 0.0 } else { value.round() };
    format!("({}, {})", whole(point.x), whole(point.y))
}
