//! The things that rules speak of, and that findings, editors and take-offs name: a room, a run, a crossing of two runs.
//!
//! A kind of thing is one entry in the file of its family: a type that tells which of its kind it is, and what there is to say of it, as
//! its [`Thing`]. The line in [`things!`](self) below makes it known to everything else; what rules may ask of it stands in
//! [`crate::rules::vocabulary`].

pub mod cable;
pub mod circuit;
pub mod deviation;
pub mod floor;
pub mod laying;
pub mod record;
pub mod room;
pub mod rug;
pub mod sensor;
mod world;

use std::fmt::Debug;

pub use cable::{CableId, KitId, TurnOf};
pub use circuit::{ContactorId, GridOf, JunctionId, SupplyId, SupplyLine, SupplyLineOf, ThermostatId};
pub use deviation::DeviationId;
pub use floor::{FloorOf, LayerId};
pub use laying::{MeetingWith, TailCrossing};
pub use record::{RcdTestId, ReadingId, RecordLine, RecordOf, SensorReadingId};
pub use room::{RoomId, WallId};
pub use rug::{RugId, UnderRugId};
pub use sensor::{ConduitCrossing, SensorId};
pub use world::{DeviationState, World};

use crate::finding::Subject;
use crate::geometry::{Bounds, Site};
use crate::layout::kinds;
use crate::measure::bays::Bay;
use crate::measure::cover::Patch;
use crate::measure::index::RunId;
use crate::measure::leads::{BesideConduit, CableEnd, NearLead};
use crate::measure::record::MissingStage;
use crate::measure::room::Feature;
use crate::measure::spacing::{CloseApproach, Crossing};
use crate::measure::strips::{Spacing, Stretch};
use crate::measure::water::{Fitting, NearWater};
use crate::model::{Plan, Point};
use crate::source::Place;

/// What there is to say of every thing of one kind.
pub trait Thing: Debug + Copy + PartialEq {
    /// What the kind is called.
    const WORD: &'static str;

    /// The room it belongs to; none for what all rooms of a plan share.
    fn room(self) -> Option<RoomId>;

    /// How it is called in a sentence.
    fn describe(self, world: &World<'_>) -> String;

    /// Where it stands in the plan's text.
    fn place(self, world: &World<'_>) -> Place;

    /// Where on the floor it is, where it is anywhere: the place itself of a crossing or a patch, the middle of what is larger.
    fn spot(self, _world: &World<'_>) -> Option<Point> {
        None
    }

    /// Where on the floor a reader is shown it: its spot, and what of the floor it takes.
    fn site(self, world: &World<'_>) -> Option<Site> {
        self.spot(world).map(Site::at)
    }

    /// The box around it, by its least and greatest corner, where it lies on the floor and something may be moved away from it.
    fn extent(self, _world: &World<'_>) -> Option<Bounds> {
        None
    }

    /// The named things that a finding about it is about, as a deviation may name them.
    fn subjects(self, _world: &World<'_>) -> Vec<Subject> {
        Vec::new()
    }

    /// The room that a finding about it lies in.
    fn room_of_finding(self, _world: &World<'_>) -> Option<RoomId> {
        self.room()
    }

    /// The thing of this kind that `name` is given to in a plan's text, where names of such a kind are; `room` is the one it stands in.
    fn named(_plan: &Plan, _room: Option<RoomId>, _name: Named<'_>) -> Option<Self> {
        None
    }
}

/// A name as it stands in a plan's text, and what it is given to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Named<'n> {
    /// What it is given to.
    pub kind: kinds::Kind,
    /// The name.
    pub text: &'n str,
}

impl Named<'_> {
    /// The index of what bears this name among `things`, which bear names of one kind.
    fn position<T>(self, kind: kinds::Kind, things: &[T], name: impl Fn(&T) -> &crate::model::Name) -> Option<usize> {
        things.iter().position(|thing| self.kind == kind && name(thing).text == self.text)
    }
}

/// What is measured in a room: the room, and what of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct InRoom<T> {
    /// The room.
    pub room: RoomId,
    /// What of it.
    pub thing: T,
}

impl<T> InRoom<T> {
    /// Something else of the same room.
    pub fn beside<U>(&self, thing: U) -> InRoom<U> {
        InRoom { room: self.room, thing }
    }
}

/// A [`Thing`] that has its line among the kinds.
pub trait OfKind: Thing + Into<Item> {
    /// Its kind.
    const KIND: Kind;

    /// The thing that an item is, where it is one of this kind.
    fn of(item: Item) -> Option<Self>;
}

/// Joins the kinds: from each line, the variant of [`Kind`] and of [`Item`], and the way from an item to what its type says of it.
macro_rules! things {
    ($($kind:ident($thing:ty),)*) => {
        /// What kind of thing an [`Item`] is.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        #[allow(missing_docs)]
        pub enum Kind {
            $($kind,)*
        }

        impl Kind {
            /// Every kind, in the order of the reference page.
            pub const ALL: &[Kind] = &[$(Kind::$kind,)*];

            /// What it is called.
            pub fn word(self) -> &'static str {
                match self {
                    $(Kind::$kind => <$thing>::WORD,)*
                }
            }
        }

        /// A thing of a plan, of whatever kind.
        #[derive(Debug, Clone, Copy, PartialEq)]
        #[allow(missing_docs)]
        pub enum Item {
            $($kind($thing),)*
        }

        impl Item {
            /// Of what kind it is.
            pub fn kind(self) -> Kind {
                match self {
                    $(Item::$kind(_) => Kind::$kind,)*
                }
            }

            /// See [`Thing::describe`].
            pub fn describe(self, world: &World<'_>) -> String {
                match self {
                    $(Item::$kind(thing) => thing.describe(world),)*
                }
            }

            /// See [`Thing::place`].
            pub fn place(self, world: &World<'_>) -> Place {
                match self {
                    $(Item::$kind(thing) => thing.place(world),)*
                }
            }

            /// See [`Thing::spot`].
            pub fn spot(self, world: &World<'_>) -> Option<Point> {
                match self {
                    $(Item::$kind(thing) => thing.spot(world),)*
                }
            }

            /// See [`Thing::site`].
            pub fn site(self, world: &World<'_>) -> Option<Site> {
                match self {
                    $(Item::$kind(thing) => thing.site(world),)*
                }
            }

            /// See [`Thing::extent`].
            pub fn extent(self, world: &World<'_>) -> Option<Bounds> {
                match self {
                    $(Item::$kind(thing) => thing.extent(world),)*
                }
            }

            /// See [`Thing::subjects`].
            pub fn subjects(self, world: &World<'_>) -> Vec<Subject> {
                match self {
                    $(Item::$kind(thing) => thing.subjects(world),)*
                }
            }

            /// See [`Thing::room_of_finding`].
            pub fn room_of_finding(self, world: &World<'_>) -> Option<RoomId> {
                match self {
                    $(Item::$kind(thing) => thing.room_of_finding(world),)*
                }
            }

            /// See [`Thing::named`]: the first kind that knows the name.
            pub fn named(plan: &Plan, room: Option<RoomId>, name: Named<'_>) -> Option<Item> {
                None$(.or_else(|| <$thing>::named(plan, room, name).map(Item::$kind)))*
            }
        }

        $(
            impl From<$thing> for Item {
                fn from(thing: $thing) -> Item {
                    Item::$kind(thing)
                }
            }

            impl OfKind for $thing {
                const KIND: Kind = Kind::$kind;

                fn of(item: Item) -> Option<Self> {
                    match item {
                        Item::$kind(thing) => Some(thing),
                        _ => None,
                    }
                }
            }
        )*
    };
}

// A line a kind, in the order of the reference page: its name, and the type that tells which of its kind it is.
things! {
    Room(RoomId),
    Wall(WallId),
    Floor(FloorOf),
    Layer(LayerId),
    Bay(InRoom<Bay>),
    Feature(InRoom<Feature>),
    Rug(RugId),
    Cable(CableId),
    Run(InRoom<RunId>),
    Turn(TurnOf),
    CableEnd(InRoom<CableEnd>),
    Stretch(InRoom<Stretch>),
    Spacing(InRoom<Spacing>),
    UnderRug(UnderRugId),
    Kit(KitId),
    Junction(JunctionId),
    Thermostat(ThermostatId),
    Contactor(ContactorId),
    Supply(SupplyId),
    SupplyLine(SupplyLineOf),
    Grid(GridOf),
    Sensor(SensorId),
    Fitting(InRoom<Fitting>),
    NearWater(InRoom<NearWater>),
    CloseApproach(InRoom<CloseApproach>),
    Crossing(InRoom<Crossing>),
    Meeting(MeetingWith),
    ConduitCrossing(ConduitCrossing),
    TailCrossing(TailCrossing),
    NearLead(InRoom<NearLead>),
    BesideConduit(InRoom<BesideConduit>),
    ColdPatch(InRoom<Patch>),
    Record(RecordOf),
    RecordLine(InRoom<RecordLine>),
    Reading(ReadingId),
    SensorReading(SensorReadingId),
    RcdTest(RcdTestId),
    MissingStage(InRoom<MissingStage>),
    Deviation(DeviationId),
}

/// One thing that a finding is about.
fn subject(kind: kinds::Kind, name: &crate::model::Name) -> Vec<Subject> {
    vec![Subject { kind, name: name.text.clone() }]
}

/// The point midway between two.
fn middle(a: Point, b: Point) -> Point {
    (a + b) / 2.0
}

/// A point of the plan as a reader sees it: whole millimetres.
pub fn show_place(point: Point) -> String {
    let whole = |value: f64| if value.round() == 0.0 { 0.0 } else { value.round() };
    format!("({}, {})", whole(point.x), whole(point.y))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_leads_to_its_thing() {
        let files = crate::source::Memory::default();
        let text = "supply s {\n voltage 230 V\n}\nroom r {\n outline (0, 0) (2000, 0) (2000, 2000) (0, 2000)\n \
                    drill d circle (500, 500) radius 60\n joint j (0, 900) (2000, 900)\n shower-head j (9, 9)\n \
                    junction j (0, 100)\n}\n";
        let library = crate::model::load::Library::new(&files, "plans", "");
        let loaded = library.load_text("plans/one.lay".as_ref(), "one.lay", text.to_string());
        let measured = crate::measure::plan::Measured::new(crate::model::resolve::resolve(loaded));
        let plan = measured.plan();
        let world = World::new(&measured, jiff::civil::date(2026, 11, 25));
        let named = |kind, text| Item::named(plan, Some(RoomId(0)), Named { kind, text });
        let described = |kind, text| named(kind, text).map(|item| item.describe(&world));
        assert_eq!(described(kinds::Kind::Drill, "d").as_deref(), Some("drill zone `d`"));
        assert_eq!(described(kinds::Kind::Joint, "j").as_deref(), Some("joint `j`"));
        assert_eq!(described(kinds::Kind::ShowerHead, "j").as_deref(), Some("shower head `j`"));
        assert_eq!(described(kinds::Kind::Junction, "j").as_deref(), Some("junction box `j`"));
        assert_eq!(described(kinds::Kind::Supply, "s").as_deref(), Some("supply `s`"));
        assert_eq!((named(kinds::Kind::Cable, "j"), named(kinds::Kind::Joint, "d")), (None, None));
        // Without its room a name of the room leads nowhere, and one of the plan still does.
        let anywhere = |kind, text| Item::named(plan, None, Named { kind, text });
        assert_eq!(anywhere(kinds::Kind::Joint, "j"), None);
        assert_eq!(anywhere(kinds::Kind::Supply, "s"), Some(Item::Supply(SupplyId(0))));
    }

    #[test]
    fn a_finding_about_a_drill_zone_is_about_what_a_deviation_calls_it() {
        assert_eq!((kinds::Kind::Drill.word(), kinds::Kind::Drill.statement()), ("drill zone", "drill"));
        assert!(
            kinds::Kind::TARGETS.contains(&kinds::Kind::Level)
                && !kinds::Kind::TARGETS.contains(&kinds::Kind::ShowerHead)
        );
    }
}
