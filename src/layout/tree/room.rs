//! Rooms and what stands and lies in them, as they are written.

use super::{
    Below, Cable, Contactor, Expr, Floor, Heading, Junction, Let, PointExpr, Record, Sensor, ShapeExpr, Thermostat,
    Word,
};
use crate::source::Span;
use crate::worded::Worded;

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
    /// `rug NAME SHAPE resistance R`
    Rug(Rug),
    /// `floor KIND { … }`
    Floor(Floor),
    /// `floor NAME`
    UsedFloor(Word, Span),
    /// `shower-head NAME (x, y) height H`
    ShowerHead(ShowerHead),
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

/// A side, as one faces a wall from inside the room.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Left.
    Left,
    /// Right.
    Right,
}

impl Worded for Side {
    const WORDS: &'static [(Side, &'static str)] = &[(Side::Left, "left"), (Side::Right, "right")];
}

/// `door NAME wall N from A to B through hinged left outward`, or `from the left A to B`
#[derive(Debug, Clone)]
pub struct Door {
    /// The name.
    pub name: Word,
    /// The wall's number.
    pub wall: Word,
    /// The end of the wall from which it is measured; its first corner where none is said.
    pub side: Option<Side>,
    /// From there.
    pub from: Expr,
    /// From there.
    pub to: Expr,
    /// Whether the covering goes on through it.
    pub through: bool,
    /// The hand of its hinges as one faces it from inside, and whether it opens outward.
    pub swing: Option<(Side, bool)>,
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
    /// Where a flight of stairs leads up to.
    pub rises: Option<Heading>,
    /// The statement.
    pub span: Span,
}

/// `rug NAME SHAPE resistance R`
#[derive(Debug, Clone)]
pub struct Rug {
    /// The name.
    pub name: Word,
    /// Its shape.
    pub shape: ShapeExpr,
    /// Its thermal resistance.
    pub resistance: Expr,
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

/// `shower-head NAME (x, y) height H`
#[derive(Debug, Clone)]
pub struct ShowerHead {
    /// The name.
    pub name: Word,
    /// The point of the floor below it.
    pub at: PointExpr,
    /// Above the floor.
    pub height: Option<Expr>,
    /// The statement.
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
