//! How cables, tails and conduits lie to each other and to what is in the floor.

use std::fmt::Debug;

use super::{CableId, InRoom, RoomId, SensorId, Thing, World, middle};
use crate::finding::Subject;
use crate::geometry::Site;
use crate::measure::index::RunId;
use crate::measure::leads::{BesideConduit, Lead, NearLead};
use crate::measure::room::Feature;
use crate::measure::spacing::{CloseApproach, Crossing};
use crate::measure::strips::Spacing;
use crate::measure::zones::Meeting;
use crate::model::Point;
use crate::source::Place;

/// What is measured of two runs.
pub trait OfTwoRuns: Debug + Copy + PartialEq {
    /// What the kind is called.
    const WORD: &'static str;

    /// The earlier run and the later one.
    fn runs(self) -> (RunId, RunId);

    /// Where on the floor it is.
    fn spot(this: InRoom<Self>, world: &World<'_>) -> Option<Point>;

    /// Where a reader is shown it.
    fn site(this: InRoom<Self>, world: &World<'_>) -> Option<Site> {
        Self::spot(this, world).map(Site::at)
    }
}

impl<T: OfTwoRuns> InRoom<T> {
    /// The earlier run.
    pub fn first(self) -> InRoom<RunId> {
        self.beside(self.thing.runs().0)
    }

    /// The later run.
    pub fn second(self) -> InRoom<RunId> {
        self.beside(self.thing.runs().1)
    }
}

impl<T: OfTwoRuns> Thing for InRoom<T> {
    const WORD: &'static str = T::WORD;

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("{} and {}", self.first().describe(world), self.second().describe(world))
    }

    fn place(self, world: &World<'_>) -> Place {
        self.second().place(world)
    }

    fn spot(self, world: &World<'_>) -> Option<Point> {
        T::spot(self, world)
    }

    fn site(self, world: &World<'_>) -> Option<Site> {
        T::site(self, world)
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        [self.first().subjects(world), self.second().subjects(world)].concat()
    }
}

impl OfTwoRuns for CloseApproach {
    const WORD: &'static str = "close approach";

    fn runs(self) -> (RunId, RunId) {
        (self.first, self.second)
    }

    fn spot(this: InRoom<Self>, _world: &World<'_>) -> Option<Point> {
        Some(this.thing.at)
    }

    fn site(this: InRoom<Self>, world: &World<'_>) -> Option<Site> {
        let CloseApproach { first, second, at, distance } = this.thing;
        world.measured(this.room).site_of_runs(first, second, at, distance)
    }
}

impl OfTwoRuns for Crossing {
    const WORD: &'static str = "crossing";

    fn runs(self) -> (RunId, RunId) {
        (self.first, self.second)
    }

    fn spot(this: InRoom<Self>, _world: &World<'_>) -> Option<Point> {
        Some(this.thing.at)
    }
}

impl OfTwoRuns for Spacing {
    const WORD: &'static str = "spacing";

    fn runs(self) -> (RunId, RunId) {
        (self.first, self.second)
    }

    fn spot(this: InRoom<Self>, world: &World<'_>) -> Option<Point> {
        Some(middle(this.first().spot(world)?, this.second().spot(world)?))
    }

    fn site(this: InRoom<Self>, world: &World<'_>) -> Option<Site> {
        world.measured(this.room).site_of_spacing(&this.thing)
    }
}

/// A run that comes near a feature of its room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeetingWith {
    /// The feature.
    pub feature: InRoom<Feature>,
    /// The run, and how near it comes.
    pub meeting: Meeting,
}

impl MeetingWith {
    /// The run.
    pub fn run(self) -> InRoom<RunId> {
        self.feature.beside(self.meeting.run)
    }

    /// Where it is, with what of the run is nearer than so many mm.
    pub fn nearer_than(self, world: &World<'_>, limit: f64) -> Option<Site> {
        let measured = world.measured(self.feature.room);
        measured.site_of_meeting(self.meeting.run, self.feature.thing, limit)
    }
}

impl Thing for MeetingWith {
    const WORD: &'static str = "meeting";

    fn room(self) -> Option<RoomId> {
        Some(self.feature.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("{} and {}", self.run().describe(world), self.feature.describe(world))
    }

    fn place(self, world: &World<'_>) -> Place {
        self.run().place(world)
    }

    fn spot(self, world: &World<'_>) -> Option<Point> {
        self.run().spot(world)
    }

    fn site(self, world: &World<'_>) -> Option<Site> {
        self.nearer_than(world, 0.0)
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        [self.run().subjects(world), self.feature.subjects(world)].concat()
    }
}

/// A run that a cold tail crosses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TailCrossing {
    /// The tail.
    pub tail: InRoom<Lead>,
    /// The cable whose tail it is.
    pub cable: CableId,
    /// The run.
    pub run: InRoom<RunId>,
    /// Where.
    pub at: Point,
}

impl Thing for TailCrossing {
    const WORD: &'static str = "tail crossing";

    fn room(self) -> Option<RoomId> {
        Some(self.cable.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("{} and {}", self.tail.called(world), self.run.describe(world))
    }

    fn place(self, world: &World<'_>) -> Place {
        self.tail.statement(world)
    }

    fn spot(self, _world: &World<'_>) -> Option<Point> {
        Some(self.at)
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        [self.cable.subjects(world), self.run.subjects(world)].concat()
    }
}

/// What a lead belongs to.
enum Owner {
    Cable(CableId),
    Sensor(SensorId),
}

impl InRoom<Lead> {
    fn owner(self) -> Owner {
        let room = self.room;
        match self.thing {
            Lead::Tail(cable) | Lead::SecondTail(cable) => Owner::Cable(CableId { room, index: cable }),
            Lead::Conduit(sensor) => Owner::Sensor(SensorId { room, index: sensor }),
        }
    }

    /// The cable whose cold tail it is.
    pub fn cable(self) -> Option<CableId> {
        match self.owner() {
            Owner::Cable(cable) => Some(cable),
            Owner::Sensor(_) => None,
        }
    }

    /// How it is called in a sentence.
    pub fn called(self, world: &World<'_>) -> String {
        match (self.owner(), self.thing) {
            (Owner::Cable(cable), Lead::SecondTail(_)) => format!("the second cold tail of {}", cable.describe(world)),
            (Owner::Cable(cable), _) => format!("the cold tail of {}", cable.describe(world)),
            (Owner::Sensor(sensor), _) => format!("the conduit of {}", sensor.describe(world)),
        }
    }

    /// Where the plan draws it.
    fn statement(self, world: &World<'_>) -> Place {
        match (self.owner(), self.thing) {
            (Owner::Cable(cable), Lead::SecondTail(_)) => {
                let own = world.cable(cable);
                own.second_tail.as_ref().map_or(own.place, |tail| tail.place)
            }
            (Owner::Cable(cable), _) => world.cable(cable).tail_place,
            (Owner::Sensor(sensor), _) => sensor.place(world),
        }
    }

    fn about(self, world: &World<'_>) -> Vec<Subject> {
        match self.owner() {
            Owner::Cable(cable) => cable.subjects(world),
            Owner::Sensor(sensor) => sensor.subjects(world),
        }
    }
}

impl InRoom<NearLead> {
    /// What it comes near.
    pub fn feature(self) -> InRoom<Feature> {
        self.beside(self.thing.feature)
    }

    /// The tail or the conduit.
    pub fn lead(self) -> InRoom<Lead> {
        self.beside(self.thing.lead)
    }

    /// Where it is, with what of the lead is nearer than so many mm.
    pub fn nearer_than(self, world: &World<'_>, limit: f64) -> Option<Site> {
        world.measured(self.room).site_of_lead(self.thing.lead, self.thing.feature, limit)
    }
}

/// A cold tail or a conduit near something on or in the floor.
impl Thing for InRoom<NearLead> {
    const WORD: &'static str = "lead near a feature";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        self.lead().called(world)
    }

    fn place(self, world: &World<'_>) -> Place {
        self.lead().statement(world)
    }

    fn spot(self, world: &World<'_>) -> Option<Point> {
        self.feature().spot(world)
    }

    fn site(self, world: &World<'_>) -> Option<Site> {
        self.nearer_than(world, 0.0)
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        [self.lead().about(world), self.feature().subjects(world)].concat()
    }
}

impl InRoom<BesideConduit> {
    /// The tail.
    pub fn tail(self) -> InRoom<Lead> {
        self.beside(self.thing.tail)
    }

    /// The sensor.
    pub fn sensor(self) -> SensorId {
        SensorId { room: self.room, index: self.thing.sensor }
    }
}

/// A cold tail beside a sensor's conduit.
impl Thing for InRoom<BesideConduit> {
    const WORD: &'static str = "tail beside a conduit";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        self.tail().called(world)
    }

    fn place(self, world: &World<'_>) -> Place {
        self.tail().statement(world)
    }

    fn spot(self, world: &World<'_>) -> Option<Point> {
        self.sensor().spot(world)
    }

    fn site(self, world: &World<'_>) -> Option<Site> {
        world.measured(self.room).site_beside(&self.thing)
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        [self.tail().about(world), self.sensor().subjects(world)].concat()
    }
}
