//! A plan resolved: names looked up, quantities worked out, paths walked. Lengths and coordinates are in mm, every other
//! value in the unit its field names. Everything knows the place in the text it came from.

mod cable;
pub mod floor;
pub mod load;
pub mod materials;
mod names;
pub mod path;
mod record;
pub mod resolve;
pub mod room;
pub mod shape;
pub mod values;

use crate::finding::Finding;
use crate::geometry::Piece;
pub use crate::geometry::Point;
use crate::layout::kinds::{FixtureKind, Kind, MaterialKind, PipeKind};
use crate::quantity::Quantity;
use crate::source::{Place, Sources};
use crate::worded::Worded;
pub use shape::Shape;

/// A name and where it was given.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Name {
    /// The name.
    pub text: String,
    /// Where.
    pub place: Place,
}

/// A plan: its rooms and what they draw on.
#[derive(Debug, Clone, Default)]
pub struct Plan {
    /// The plan's own file and those it uses.
    pub sources: Sources,
    /// Kits, from every file.
    pub kits: Vec<Kit>,
    /// Supplies, from every file.
    pub supplies: Vec<Supply>,
    /// The plan's own rooms.
    pub rooms: Vec<Room>,
    /// What `let` gave names to, from every file.
    pub values: Vec<NamedValue>,
    /// What reading the plan found wrong.
    pub faults: Vec<Finding>,
}

/// What a `let` gave a name to.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedValue {
    /// The name.
    pub name: Name,
    /// Its value; a number without a unit where none was written, since it may serve as a length in mm.
    pub value: Quantity,
}

/// A heating cable kit: a cable of fixed length with its cold tail.
#[derive(Debug, Clone, PartialEq)]
pub struct Kit {
    /// Its name.
    pub name: Name,
    /// What its maker calls it.
    pub title: Option<String>,
    /// Power at the rated voltage, W.
    pub output: f64,
    /// Rated voltage, V.
    pub voltage: f64,
    /// Length of the heating part, mm.
    pub length: f64,
    /// Cold resistance, ohm; where the maker gives none, that of output and voltage.
    pub resistance: f64,
    /// Least and most that the resistance may differ by, as shares, where the maker says.
    pub tolerance: Option<(f64, f64)>,
    /// Outside diameter, mm.
    pub diameter: Option<f64>,
    /// Least bending radius, mm.
    pub bend_radius: Option<f64>,
    /// Length of the cold tail, mm.
    pub tail: Option<f64>,
    /// Whether it has an earthed screen.
    pub earthed_screen: Option<bool>,
}

/// A value and the line that gives it.
#[derive(Debug, Clone, PartialEq)]
pub struct Stated<T> {
    /// The value.
    pub value: T,
    /// Where.
    pub place: Place,
}

/// A supply: what a thermostat is fed from.
#[derive(Debug, Clone, PartialEq)]
pub struct Supply {
    /// Its name.
    pub name: Name,
    /// Nominal voltage, V.
    pub voltage: Option<Stated<f64>>,
    /// Rated residual current of its RCD, A.
    pub rcd: Option<Stated<f64>>,
    /// Rated current of its breaker, A.
    pub breaker: Option<Stated<f64>>,
    /// Its conductor.
    pub conductor: Option<Stated<Conductor>>,
    /// Ambient temperature of the conductor, degC.
    pub ambient: Option<Stated<f64>>,
    /// Rated current of the fuse in its connection unit, A.
    pub fuse: Option<Stated<f64>>,
    /// Where it says that it is safety extra-low voltage.
    pub selv: Option<Place>,
    /// The share of its voltage that is lost before it.
    pub before: Option<f64>,
}

/// The conductor of a supply; copper.
#[derive(Debug, Clone, PartialEq)]
pub struct Conductor {
    /// Cross-section, mm2.
    pub section: f64,
    /// Length one way, mm.
    pub length: f64,
    /// How it is installed.
    pub method: Method,
    /// What it is insulated with; where the plan doesn't say, PVC, which carries less.
    pub insulation: Insulation,
    /// Circuits that lie bunched, itself counted; 1 where it lies alone.
    pub grouped: f64,
    /// For how long it runs in thermal insulation, mm.
    pub in_insulation: f64,
}

/// A reference method of installation of IEC 60364-5-52, table B.52.1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// Single conductors in conduit in a thermally insulated wall.
    A1,
    /// A cable in conduit in a thermally insulated wall.
    A2,
    /// Single conductors in conduit on a wall.
    B1,
    /// A cable in conduit on a wall.
    B2,
    /// A cable on a wall.
    C,
}

impl Worded for Method {
    const WORDS: &'static [(Method, &'static str)] =
        &[(Method::A1, "A1"), (Method::A2, "A2"), (Method::B1, "B1"), (Method::B2, "B2"), (Method::C, "C")];
}

/// What a conductor is insulated with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Insulation {
    /// PVC, for 70 degC at the conductor.
    Pvc,
    /// XLPE or EPR, for 90 degC at the conductor.
    Xlpe,
}

impl Worded for Insulation {
    const WORDS: &'static [(Insulation, &'static str)] = &[(Insulation::Pvc, "pvc"), (Insulation::Xlpe, "xlpe")];
}

/// A room.
#[derive(Debug, Clone)]
pub struct Room {
    /// Its name.
    pub name: Name,
    /// What people call it.
    pub title: Option<String>,
    /// Corners, each wall from one to the next and the last back to the first.
    pub corners: Vec<Point>,
    /// Its walls; as many as corners.
    pub walls: Vec<Wall>,
    /// Fixtures, drill zones and level changes.
    pub areas: Vec<Area>,
    /// Joints, pipes and thresholds of doors.
    pub lines: Vec<Line>,
    /// The floor's build-up.
    pub floor: Option<Floor>,
    /// Room temperature, degC.
    pub inside: Option<f64>,
    /// What lies below the floor.
    pub below: Option<Below>,
    /// Heat loss, W.
    pub heat_loss: Option<f64>,
    /// Junction boxes.
    pub junctions: Vec<Junction>,
    /// Thermostats.
    pub thermostats: Vec<Thermostat>,
    /// Contactors.
    pub contactors: Vec<Contactor>,
    /// Fixed water outlets of showers.
    pub outlets: Vec<Outlet>,
    /// An earthed grid over the heating cables: its mesh, mm.
    pub earthed_grid: Option<Stated<f64>>,
    /// Heating cables.
    pub cables: Vec<Cable>,
    /// Floor sensors.
    pub sensors: Vec<Sensor>,
    /// Test record.
    pub record: Option<Record>,
    /// Agreed departures.
    pub deviations: Vec<Deviation>,
    /// Why rules about the room as a whole can't be held to it: something in it could not be read.
    pub incomplete: Option<String>,
}

/// A wall: one edge of the outline.
#[derive(Debug, Clone, PartialEq)]
pub struct Wall {
    /// What people call it.
    pub title: Option<String>,
    /// Whether it is an outside wall.
    pub outside: bool,
    /// Where the outline draws it.
    pub place: Place,
}

/// What an [`Area`] is.
#[derive(Debug, Clone, PartialEq)]
pub enum AreaKind {
    /// A fixture.
    Fixture {
        /// What it is, where the plan says.
        kind: Option<FixtureKind>,
        /// Free height under it, mm; none where it stands on the floor.
        raised: Option<f64>,
        /// Whether what is under it is open to the room.
        open: bool,
    },
    /// Where the floor will be drilled.
    Drill,
    /// A part of the floor at another level: mm above the rest; none for stairs.
    Level {
        /// Height, mm.
        height: Option<f64>,
    },
}

impl AreaKind {
    /// What its name is given to.
    pub fn named(&self) -> Kind {
        match self {
            AreaKind::Fixture { .. } => Kind::Fixture,
            AreaKind::Drill => Kind::Drill,
            AreaKind::Level { .. } => Kind::Level,
        }
    }

    /// The height under a fixture, mm, where its air is the room's, so that cable may lie there. What stands on legs behind a plinth or a
    /// panel has none: a bath, a shower, a wc and a unit count as such unless the plan says that they are open.
    pub fn clear_below(&self) -> Option<f64> {
        let AreaKind::Fixture { kind, raised, open } = self else { return None };
        let closed = matches!(
            kind,
            Some(FixtureKind::Bath | FixtureKind::Shower | FixtureKind::Wc | FixtureKind::Unit) if !open
        );
        raised.filter(|_| !closed)
    }

    /// What it is called: `stairs` of a level without a height.
    pub fn word(&self) -> &'static str {
        match self {
            AreaKind::Level { height: None } => "stairs",
            other => other.named().word(),
        }
    }
}

/// A part of the floor.
#[derive(Debug, Clone, PartialEq)]
pub struct Area {
    /// Its name.
    pub name: Name,
    /// What it is.
    pub kind: AreaKind,
    /// Where it lies.
    pub shape: Shape,
    /// The statement.
    pub place: Place,
}

/// What a [`Line`] is.
#[derive(Debug, Clone, PartialEq)]
pub enum LineKind {
    /// A movement joint.
    Joint,
    /// A pipe, and what runs in it, where the plan says.
    Pipe(Option<PipeKind>),
    /// A door's threshold, in this wall (an index).
    Door(usize),
    /// A fixed partition, of this height, mm; to the ceiling where none is given.
    Partition(Option<f64>),
}

impl LineKind {
    /// What its name is given to.
    pub fn named(&self) -> Kind {
        match self {
            LineKind::Joint => Kind::Joint,
            LineKind::Pipe(_) => Kind::Pipe,
            LineKind::Door(_) => Kind::Door,
            LineKind::Partition(_) => Kind::Partition,
        }
    }
}

/// A line on or in the floor.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Its name.
    pub name: Name,
    /// What it is.
    pub kind: LineKind,
    /// Two corners or more.
    pub points: Vec<Point>,
    /// The statement.
    pub place: Place,
}

/// What lies below a floor, degC.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Below {
    /// A room of that temperature.
    Room(f64),
    /// The ground, so warm at the underside of the floor's last layer.
    Ground(f64),
}

/// The floor's build-up.
#[derive(Debug, Clone, PartialEq)]
pub struct Floor {
    /// Timber rather than concrete.
    pub timber: bool,
    /// Top first.
    pub layers: Vec<Layer>,
    /// The statement.
    pub place: Place,
}

/// One layer of a floor.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    /// What it is called.
    pub name: Name,
    /// Its body.
    pub body: LayerBody,
    /// Height of the cable's centre over the layer's underside, mm.
    pub cable: Option<f64>,
}

/// What a layer is made of.
#[derive(Debug, Clone, PartialEq)]
pub enum LayerBody {
    /// A material of some thickness.
    Solid {
        /// mm.
        thickness: f64,
        /// W/mK.
        conductivity: f64,
        /// The material's name.
        material: String,
        /// Of what kind it is, where that is known.
        kind: Option<MaterialKind>,
        /// How warm the material's surface may get by its maker, degC.
        surface_limit: Option<f64>,
    },
    /// A thermal resistance, m2K/W.
    Resistance(f64),
}

impl Floor {
    /// The layer the cable lies in, by its index, and how high over its underside the cable's centre lies, mm.
    pub fn cable(&self) -> Option<(usize, f64)> {
        self.layers.iter().enumerate().find_map(|(index, layer)| Some((index, layer.cable?)))
    }
}

/// A junction box.
#[derive(Debug, Clone, PartialEq)]
pub struct Junction {
    /// Its name.
    pub name: Name,
    /// Where on the floor plan.
    pub at: Point,
    /// Height over the floor, mm: its own, or that of a thermostat at the same point, where one of them is given.
    pub height: Option<f64>,
    /// The second digit of its IP code, which tells the water that it keeps out, where the plan gives one.
    pub water_protection: Option<u8>,
    /// The box (an index) that it is wired together with.
    pub wired: Option<usize>,
    /// The statement.
    pub place: Place,
}

/// A thermostat.
#[derive(Debug, Clone, PartialEq)]
pub struct Thermostat {
    /// Its name.
    pub name: Name,
    /// Where on the floor plan.
    pub at: Point,
    /// Height over the floor, mm.
    pub height: Option<f64>,
    /// Rated current, A.
    pub rated: f64,
    /// What feeds it: an index into the plan's supplies.
    pub supply: Option<usize>,
    /// The statement.
    pub place: Place,
}

/// The fixed water outlet of a shower.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlet {
    /// Its name.
    pub name: Name,
    /// The point of the floor below it.
    pub at: Point,
    /// Height over the floor, mm.
    pub height: Option<f64>,
    /// The statement.
    pub place: Place,
}

/// A contactor.
#[derive(Debug, Clone, PartialEq)]
pub struct Contactor {
    /// Its name.
    pub name: Name,
    /// Rated current, A.
    pub rated: f64,
    /// The thermostat that works it (an index).
    pub thermostat: usize,
    /// The statement.
    pub place: Place,
}

/// One straight piece of a cable.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run {
    /// Where it starts.
    pub start: Point,
    /// Where it ends.
    pub end: Point,
    /// Length of cable laid before it, mm.
    pub before: f64,
    /// The statement that lays it.
    pub place: Place,
}

impl Run {
    /// The piece that it is.
    pub fn piece(&self) -> Piece {
        Piece::new(self.start, self.end)
    }

    /// Its length, mm.
    pub fn length(&self) -> f64 {
        self.piece().length()
    }
}

/// A heating cable.
#[derive(Debug, Clone, PartialEq)]
pub struct Cable {
    /// Its name.
    pub name: Name,
    /// Its kit: an index into the plan's kits.
    pub kit: Option<usize>,
    /// The junction box its cold tail comes from (an index) …
    pub junction: Option<usize>,
    /// … and the tail's route on the floor from there to the cable's start; empty where none is drawn.
    pub tail: Vec<Point>,
    /// Where the tail is drawn.
    pub tail_place: Place,
    /// The cable (an index) from whose far end the tail comes, where it comes from no junction box.
    pub tail_from: Option<usize>,
    /// The thermostat it is switched by (an index).
    pub thermostat: Option<usize>,
    /// The statement of its start.
    pub start: Place,
    /// Its straight pieces.
    pub runs: Vec<Run>,
    /// The statement.
    pub place: Place,
}

/// A floor sensor in its conduit.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensor {
    /// Its name.
    pub name: Name,
    /// The thermostat it belongs to (an index).
    pub thermostat: usize,
    /// The conduit on the floor; the last point is the tip.
    pub conduit: Vec<Point>,
    /// Length of the sensor's own lead, mm.
    pub lead: Option<f64>,
    /// The statement.
    pub place: Place,
}

/// When a reading is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// On delivery, still on the drum.
    Delivered,
    /// Laid, before anything covers it.
    Laid,
    /// Just before tiling.
    BeforeTiling,
    /// After tiling.
    AfterTiling,
    /// Just before it is first switched on.
    BeforeSwitchingOn,
}

impl Worded for Stage {
    const WORDS: &'static [(Stage, &'static str)] = &[
        (Stage::Delivered, "delivered"),
        (Stage::Laid, "laid"),
        (Stage::BeforeTiling, "before-tiling"),
        (Stage::AfterTiling, "after-tiling"),
        (Stage::BeforeSwitchingOn, "before-switching-on"),
    ];
}

/// A test of a cable's insulation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InsulationTest {
    /// What the instrument showed, ohm; none where it showed only that it was over its range.
    pub resistance: Option<f64>,
    /// Whether there was more than that.
    pub over: bool,
    /// The voltage of the test, V.
    pub voltage: Option<f64>,
}

/// One reading of the test record.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// When in the work.
    pub stage: Stage,
    /// On what day.
    pub date: jiff::civil::Date,
    /// Of which cable (an index).
    pub cable: usize,
    /// ohm.
    pub resistance: f64,
    /// The test of its insulation.
    pub insulation: Option<InsulationTest>,
    /// Measured with.
    pub instrument: Option<String>,
    /// The statement.
    pub place: Place,
}

/// The test record.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// In the order written.
    pub readings: Vec<Reading>,
    /// The day of tiling, and the adhesive's drying time, s.
    pub tiled: Option<(jiff::civil::Date, Option<f64>, Place)>,
    /// The day of first switching on.
    pub switched_on: Option<(jiff::civil::Date, Place)>,
    /// Who signed, and when.
    pub signed: Option<(String, jiff::civil::Date, Place)>,
    /// Whether a line of it could not be read.
    pub incomplete: bool,
    /// The statement.
    pub place: Place,
}

/// An agreed departure from a rule.
#[derive(Debug, Clone, PartialEq)]
pub struct Deviation {
    /// The rule's name.
    pub rule: Name,
    /// For what: its kind and name; none for the whole room.
    pub target: Option<(Kind, String)>,
    /// Why.
    pub reason: String,
    /// Last day it holds.
    pub until: Option<jiff::civil::Date>,
    /// The statement.
    pub place: Place,
}
