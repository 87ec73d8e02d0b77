//! The syntax tree of a plan: what was written, statement by statement, each with its span. No meaning yet.

use crate::language::expression;
pub use crate::language::{Word, faults::SyntaxFault};
use crate::source::Span;
use crate::worded::Worded;

/// A whole file.
#[derive(Debug, Clone, Default)]
pub struct File {
    /// What could be read, in order.
    pub statements: Vec<Statement>,
    /// What could not, in order.
    pub faults: Vec<SyntaxFault>,
}

/// An expression.
pub type Expr = expression::Expr<ValueName>;

/// What it is made of.
pub type ExprKind = expression::ExprKind<ValueName>;

/// The name of a `let` in an expression.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ValueName(pub String);

/// `(x, y)`.
#[derive(Debug, Clone, PartialEq)]
pub struct PointExpr {
    /// East.
    pub x: Expr,
    /// North.
    pub y: Expr,
    /// With its parentheses.
    pub span: Span,
}

/// A compass heading of the plan's own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Heading {
    /// x grows.
    East,
    /// y grows.
    North,
    /// x falls.
    West,
    /// y falls.
    South,
}

impl Worded for Heading {
    const WORDS: &'static [(Heading, &'static str)] =
        &[(Heading::East, "east"), (Heading::North, "north"), (Heading::West, "west"), (Heading::South, "south")];
}

/// A shape.
#[derive(Debug, Clone, PartialEq)]
pub enum ShapeExpr {
    /// Two opposite corners.
    Rect(PointExpr, PointExpr),
    /// Centre and radius.
    Circle(PointExpr, Expr),
    /// Corners.
    Polygon(Vec<PointExpr>),
    /// Centre-line and width.
    Strip(Vec<PointExpr>, Expr),
}

/// A statement of the top level.
#[derive(Debug, Clone)]
pub enum Statement {
    /// `use "file.lay"`
    Use(Word),
    /// `let NAME = VALUE`
    Let(Let),
    /// `material NAME { … }`
    Material(Material),
    /// `kit NAME { … }`
    Kit(Kit),
    /// `supply NAME { … }`
    Supply(Supply),
    /// `room NAME { … }`
    Room(Box<Room>),
}

/// `let NAME = VALUE`
#[derive(Debug, Clone)]
pub struct Let {
    /// The name.
    pub name: Word,
    /// Its value.
    pub value: Expr,
}

/// `material NAME { … }`
#[derive(Debug, Clone)]
pub struct Material {
    /// The name.
    pub name: Word,
    /// Its lines.
    pub entries: Vec<MaterialEntry>,
    /// Whether a line of it could not be read.
    pub broken: bool,
}

/// A line of a material.
#[derive(Debug, Clone)]
pub enum MaterialEntry {
    /// `conductivity VALUE`
    Conductivity(Expr, Span),
    /// `kind WORD`
    Kind(Word, Span),
    /// `heat-capacity VALUE`
    HeatCapacity(Expr, Span),
    /// `surface-limit TEMPERATURE`
    SurfaceLimit(Expr, Span),
}

/// `kit NAME "title" { … }`
#[derive(Debug, Clone)]
pub struct Kit {
    /// The name.
    pub name: Word,
    /// The maker's name for it.
    pub title: Option<Word>,
    /// Its lines.
    pub entries: Vec<KitEntry>,
    /// Whether a line of it could not be read.
    pub broken: bool,
    /// The line that opens it.
    pub span: Span,
}

/// A line of a kit.
#[derive(Debug, Clone)]
pub enum KitEntry {
    /// `output POWER at VOLTAGE`
    Output(Expr, Expr, Span),
    /// `length LENGTH`
    Length(Expr, Span),
    /// `resistance R, LEAST to MOST`
    Resistance(Expr, Option<(Expr, Expr)>, Span),
    /// `diameter LENGTH`
    Diameter(Expr, Span),
    /// `bend-radius LENGTH`
    BendRadius(Expr, Span),
    /// `tail LENGTH`
    Tail(Expr, Span),
    /// `screen earthed` or `screen none`
    Screen(bool, Span),
    /// `cores COUNT`
    Cores(Expr, Span),
    /// `mat WIDTH by LENGTH, spacing LENGTH`
    Mat(Mat),
}

/// `mat WIDTH by LENGTH, spacing LENGTH`
#[derive(Debug, Clone)]
pub struct Mat {
    /// Across.
    pub width: Expr,
    /// Along.
    pub length: Expr,
    /// From run to run of its cable.
    pub spacing: Expr,
    /// The statement.
    pub span: Span,
}

/// `supply NAME { … }`
#[derive(Debug, Clone)]
pub struct Supply {
    /// The name.
    pub name: Word,
    /// Its lines.
    pub entries: Vec<SupplyEntry>,
    /// The line that opens it.
    pub span: Span,
}

/// A line of a supply.
#[derive(Debug, Clone)]
pub enum SupplyEntry {
    /// `voltage VOLTAGE`
    Voltage(Expr, Span),
    /// `rcd CURRENT type TYPE`
    Rcd(Expr, Option<Word>, Span),
    /// `breaker CURRENT`
    Breaker(Expr, Span),
    /// `conductor AREA METAL, LENGTH, method METHOD, INSULATION`
    Conductor(Conductor),
    /// `ambient TEMPERATURE`
    Ambient(Expr, Span),
    /// `fuse CURRENT`
    Fuse(Expr, Span),
    /// `selv`
    Selv(Span),
    /// `before SHARE`
    Before(Expr, Span),
    /// `grouped COUNT`
    Grouped(Expr, Span),
    /// `in-insulation LENGTH`
    InInsulation(Expr, Span),
}

/// `conductor AREA METAL, LENGTH, method METHOD, INSULATION`
#[derive(Debug, Clone)]
pub struct Conductor {
    /// Cross-section.
    pub section: Expr,
    /// Length of the supply, one way.
    pub length: Expr,
    /// Installation method of IEC 60364-5-52.
    pub method: Word,
    /// Insulation.
    pub insulation: Option<Word>,
    /// The line.
    pub span: Span,
}

/// `room NAME "title" { … }`
#[derive(Debug, Clone)]
pub struct Room {
    /// The name.
    pub name: Word,
    /// What people call it.
    pub title: Option<Word>,
    /// Its lines.
    pub entries: Vec<RoomEntry>,
    /// Whether a line of it could not be read that may say what lies in the floor.
    pub broken: bool,
    /// The line that opens it.
    pub span: Span,
}

/// A statement in a room.
#[derive(Debug, Clone)]
pub enum RoomEntry {
    /// `let NAME = VALUE`
    Let(Let),
    /// `outline …`
    Outline(Outline),
    /// `wall N "title" outside`
    Wall(Wall),
    /// `door NAME wall N from A to B through`
    Door(Door),
    /// A shape that stands or lies in the room: `fixture`, `drill`, `level`.
    Area(Area),
    /// A line in or on the floor: `joint`, `pipe`, `partition`.
    Line(Line),
    /// `floor KIND { … }`
    Floor(Floor),
    /// `outlet NAME (x, y) height H`
    Outlet(Outlet),
    /// `earthed-grid mesh LENGTH`
    EarthedGrid(Expr, Span),
    /// `inside TEMPERATURE`
    Inside(Expr, Span),
    /// `below room|ground TEMPERATURE`
    Below(Below),
    /// `heat-loss POWER`
    HeatLoss(Expr, Span),
    /// `bonded`, or `bonded main`
    Bonded(bool, Span),
    /// `junction NAME (x, y) height H ip CODE wired JUNCTION`
    Junction(Junction),
    /// `thermostat NAME (x, y) height H rated CURRENT limit TEMPERATURE behind CURRENT on SUPPLY`
    Thermostat(Thermostat),
    /// `contactor NAME rated CURRENT CATEGORY for THERMOSTAT`
    Contactor(Contactor),
    /// `cable NAME { … }`
    Cable(Cable),
    /// `sensor NAME from THERMOSTAT points… lead LENGTH`
    Sensor(Sensor),
    /// `record { … }`
    Record(Record),
    /// `deviation RULE KIND NAME "reason" until DATE`
    Deviation(Deviation),
}

/// `wall N "title" outside`
#[derive(Debug, Clone)]
pub struct Wall {
    /// Its number, from 1.
    pub number: Word,
    /// What people call it.
    pub title: Option<Word>,
    /// An outside wall.
    pub outside: bool,
    /// The statement.
    pub span: Span,
}

/// `door NAME wall N from A to B through`
#[derive(Debug, Clone)]
pub struct Door {
    /// The name.
    pub name: Word,
    /// The wall's number.
    pub wall: Word,
    /// From the wall's first corner.
    pub from: Expr,
    /// From the wall's first corner.
    pub to: Expr,
    /// Whether the covering goes on through it.
    pub through: bool,
    /// The statement.
    pub span: Span,
}

/// A shape that stands or lies in the room: `fixture`, `drill`, `level`.
#[derive(Debug, Clone)]
pub struct Area {
    /// Which, with what is said of it.
    pub kind: AreaExpr,
    /// The name.
    pub name: Word,
    /// Its shape.
    pub shape: ShapeExpr,
    /// The statement.
    pub span: Span,
}

/// A line in or on the floor: `joint`, `pipe`, `partition`.
#[derive(Debug, Clone)]
pub struct Line {
    /// Which, with what is said of it.
    pub kind: LineExpr,
    /// The name.
    pub name: Word,
    /// Its corners.
    pub points: Vec<PointExpr>,
    /// The statement.
    pub span: Span,
}

/// `floor KIND { … }`
#[derive(Debug, Clone)]
pub struct Floor {
    /// `timber` or `concrete`.
    pub kind: Word,
    /// Top first.
    pub layers: Vec<Layer>,
    /// Whether a line of it could not be read.
    pub broken: bool,
    /// The line that opens it.
    pub span: Span,
}

/// `outlet NAME (x, y) height H`
#[derive(Debug, Clone)]
pub struct Outlet {
    /// The name.
    pub name: Word,
    /// The point of the floor below it.
    pub at: PointExpr,
    /// Above the floor.
    pub height: Option<Expr>,
    /// The statement.
    pub span: Span,
}

/// `below room|ground TEMPERATURE`
#[derive(Debug, Clone)]
pub struct Below {
    /// `room` or `ground`.
    pub kind: Word,
    /// Its temperature.
    pub temperature: Expr,
    /// The statement.
    pub span: Span,
}

/// `junction NAME (x, y) height H ip CODE wired JUNCTION`
#[derive(Debug, Clone)]
pub struct Junction {
    /// The name.
    pub name: Word,
    /// Where on the floor.
    pub at: PointExpr,
    /// Above the floor.
    pub height: Option<Expr>,
    /// Its IP code, such as `X4`.
    pub ip: Option<Word>,
    /// The box that it is wired together with.
    pub wired: Option<Word>,
    /// The statement.
    pub span: Span,
}

/// `thermostat NAME (x, y) height H rated CURRENT limit TEMPERATURE behind CURRENT on SUPPLY`
#[derive(Debug, Clone)]
pub struct Thermostat {
    /// The name.
    pub name: Word,
    /// Where on the floor.
    pub at: PointExpr,
    /// Above the floor.
    pub height: Option<Expr>,
    /// Rated current.
    pub rated: Expr,
    /// How warm it lets the floor get.
    pub limit: Option<Expr>,
    /// The most that the device before it may be rated.
    pub behind: Option<Expr>,
    /// The supply's name.
    pub supply: Option<Word>,
    /// The statement.
    pub span: Span,
}

/// `contactor NAME rated CURRENT CATEGORY for THERMOSTAT`
#[derive(Debug, Clone)]
pub struct Contactor {
    /// The name.
    pub name: Word,
    /// Rated current.
    pub rated: Expr,
    /// The category of utilization that it is rated for.
    pub category: Option<Word>,
    /// The thermostat that works it.
    pub thermostat: Word,
    /// The statement.
    pub span: Span,
}

/// `sensor NAME from THERMOSTAT points… lead LENGTH`
#[derive(Debug, Clone)]
pub struct Sensor {
    /// The name.
    pub name: Word,
    /// The thermostat it belongs to.
    pub from: Word,
    /// The conduit on the floor; the last is the tip.
    pub points: Vec<PointExpr>,
    /// The sensor's own lead.
    pub lead: Option<Expr>,
    /// The statement.
    pub span: Span,
}

/// `record { … }`
#[derive(Debug, Clone)]
pub struct Record {
    /// Its lines.
    pub entries: Vec<RecordEntry>,
    /// Whether a line of it could not be read.
    pub broken: bool,
    /// The line that opens it.
    pub span: Span,
}

/// `deviation RULE KIND NAME "reason" until DATE`
#[derive(Debug, Clone)]
pub struct Deviation {
    /// The rule departed from.
    pub rule: Word,
    /// For what: a kind and a name.
    pub target: Option<(Word, Word)>,
    /// Why.
    pub reason: Word,
    /// Last day it holds.
    pub until: Option<Word>,
    /// The statement.
    pub span: Span,
}

/// The kinds of area, with what each says of itself.
#[derive(Debug, Clone)]
pub enum AreaExpr {
    /// `fixture NAME KIND raised H open SHAPE`
    Fixture {
        /// `bath`, `shower` …
        kind: Option<Word>,
        /// Free height under it.
        raised: Option<Expr>,
        /// Whether what is under it is open to the room.
        open: bool,
    },
    /// `drill NAME SHAPE`
    Drill,
    /// `level NAME HEIGHT SHAPE`; no height for stairs.
    Level(Option<Expr>),
}

/// The kinds of line in or on the floor.
#[derive(Debug, Clone)]
pub enum LineExpr {
    /// A movement joint.
    Joint,
    /// A pipe, `hot` or `cold`.
    Pipe(Option<Word>),
    /// A partition, with its height.
    Partition(Option<Expr>),
}

/// `outline …`
#[derive(Debug, Clone)]
pub struct Outline {
    /// The first corner.
    pub first: PointExpr,
    /// The way on from it.
    pub legs: Vec<Leg>,
    /// The statement.
    pub span: Span,
}

/// One step of an outline.
#[derive(Debug, Clone)]
pub enum Leg {
    /// To a corner.
    To(PointExpr),
    /// So far in a direction.
    Along(Heading, Expr, Span),
}

/// One layer of a floor, top first.
#[derive(Debug, Clone)]
pub struct Layer {
    /// What it is called; its material too, where none is named.
    pub name: Word,
    /// Thickness, or thermal resistance.
    pub thickness: Expr,
    /// Its material.
    pub material: Option<Word>,
    /// Height of the cable's centre over the layer's underside.
    pub cable: Option<Expr>,
    /// The statement.
    pub span: Span,
}

/// `cable NAME { … }`
#[derive(Debug, Clone)]
pub struct Cable {
    /// The name.
    pub name: Word,
    /// Its lines.
    pub entries: Vec<CableEntry>,
    /// Whether a line of it could not be read.
    pub broken: bool,
    /// The line that opens it.
    pub span: Span,
}

/// A line of a cable.
#[derive(Debug, Clone)]
pub enum CableEntry {
    /// `kit NAME`
    Kit(Word),
    /// `tail JUNCTION points… sleeve JOINT, JOINT` or `tail cable CABLE points…`
    Tail(Box<Tail>),
    /// `second-tail JUNCTION points… sleeve JOINT, JOINT`
    SecondTail(Box<Tail>),
    /// `by THERMOSTAT`
    By(Word),
    /// `start (x, y)`
    Start(PointExpr, Span),
    /// `run HEADING LENGTH`
    Run(Heading, Expr, Span),
    /// `run to (x, y)`
    RunTo(PointExpr, Span),
    /// `loops N of LENGTH HEADING, stepping PITCH HEADING`
    Loops(Box<Loops>),
}

/// A cold tail: `tail` or `second-tail`.
#[derive(Debug, Clone)]
pub struct Tail {
    /// Where it comes from.
    pub from: TailFrom,
    /// Its way along the floor; the last point is the cable's end that it is joined to.
    pub points: Vec<PointExpr>,
    /// The joints that it crosses in a sleeve.
    pub sleeves: Vec<Word>,
    /// The statement.
    pub span: Span,
}

/// Where a cold tail comes from.
#[derive(Debug, Clone)]
pub enum TailFrom {
    /// A junction box.
    Junction(Word),
    /// The far end of another cable.
    Cable(Word),
}

/// `loops N of LENGTH HEADING, stepping PITCH HEADING`
#[derive(Debug, Clone)]
pub struct Loops {
    /// How many parallel runs.
    pub count: Expr,
    /// Length of each.
    pub length: Expr,
    /// Direction of the first.
    pub heading: Heading,
    /// From one to the next.
    pub pitch: Expr,
    /// Direction of the steps.
    pub stepping: Heading,
    /// The statement.
    pub span: Span,
}

/// `insulation RESISTANCE at VOLTAGE`
#[derive(Debug, Clone)]
pub struct InsulationExpr {
    /// The resistance shown; none for `over range`.
    pub value: Option<Expr>,
    /// Whether there was more than that: `> 999 Mohm`, or `over range`.
    pub over: bool,
    /// The voltage it was tested at.
    pub voltage: Option<Expr>,
}

/// `screen RESISTANCE` or `screen open`
#[derive(Debug, Clone)]
pub enum ScreenExpr {
    /// What was read.
    Reads(Expr),
    /// It leads nowhere.
    Open,
}

/// A line of the test record.
#[derive(Debug, Clone)]
pub enum RecordEntry {
    /// `STAGE DATE cable NAME RESISTANCE insulation R at VOLTAGE with "instrument"`
    Reading(Reading),
    /// `STAGE DATE sensor NAME RESISTANCE with "instrument"`
    SensorReading(SensorReading),
    /// `screeded DATE KIND drying TIME`
    Screeded(Screeded),
    /// `tiled DATE drying TIME`
    Tiled(Word, Option<Expr>, Span),
    /// `switched-on DATE`
    SwitchedOn(Word, Span),
    /// `signed "NAME" DATE`
    Signed(Word, Word, Span),
    /// `label cable NAME serial "TEXT" batch "TEXT"`
    Label(Label),
    /// `rcd-tested DATE supply NAME TIME with "instrument"`
    RcdTest(RcdTest),
    /// `note DATE "TEXT"`
    Note(Word, Word, Span),
}

/// `STAGE DATE cable NAME RESISTANCE insulation R at VOLTAGE with "instrument"`
#[derive(Debug, Clone)]
pub struct Reading {
    /// `delivered`, `laid` …
    pub stage: Word,
    /// When.
    pub date: Word,
    /// The cable's name.
    pub cable: Word,
    /// Measured.
    pub resistance: Expr,
    /// The test of its insulation.
    pub insulation: Option<InsulationExpr>,
    /// The test of its screen.
    pub screen: Option<ScreenExpr>,
    /// Measured with.
    pub instrument: Option<Word>,
    /// The statement.
    pub span: Span,
}

/// `STAGE DATE sensor NAME RESISTANCE with "instrument"`
#[derive(Debug, Clone)]
pub struct SensorReading {
    /// `delivered`, `laid` …
    pub stage: Word,
    /// When.
    pub date: Word,
    /// The sensor's name.
    pub sensor: Word,
    /// Measured.
    pub resistance: Expr,
    /// Measured with.
    pub instrument: Option<Word>,
    /// The statement.
    pub span: Span,
}

/// `screeded DATE KIND drying TIME`
#[derive(Debug, Clone)]
pub struct Screeded {
    /// When.
    pub date: Word,
    /// `cement` or `anhydrite`.
    pub kind: Word,
    /// How long it is left before it is heated or covered, where its maker says.
    pub drying: Option<Expr>,
    /// The statement.
    pub span: Span,
}

/// `label cable NAME serial "TEXT" batch "TEXT"`
#[derive(Debug, Clone)]
pub struct Label {
    /// The cable's name.
    pub cable: Word,
    /// The serial number.
    pub serial: Word,
    /// The batch.
    pub batch: Option<Word>,
    /// The statement.
    pub span: Span,
}

/// `rcd-tested DATE supply NAME TIME with "instrument"`
#[derive(Debug, Clone)]
pub struct RcdTest {
    /// When.
    pub date: Word,
    /// The supply's name.
    pub supply: Word,
    /// How soon it tripped.
    pub time: Expr,
    /// Measured with.
    pub instrument: Option<Word>,
    /// The statement.
    pub span: Span,
}
