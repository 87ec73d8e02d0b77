//! The syntax tree of a plan: what was written, statement by statement, each with its span. No meaning yet.

use crate::quantity::Unit;
use crate::source::Span;
pub use crate::syntax::{SyntaxFault, Word};
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
#[derive(Debug, Clone, PartialEq)]
pub struct Expr {
    /// What it is made of.
    pub kind: ExprKind,
    /// All of it.
    pub span: Span,
}

/// What an expression is made of. Sums and products are flat lists, so that only parentheses make it deeper.
#[derive(Debug, Clone, PartialEq)]
pub enum ExprKind {
    /// A number, with or without a unit.
    Number(f64, Option<&'static Unit>),
    /// The name of a `let`.
    Name(String),
    /// `-x`.
    Negated(Box<Expr>),
    /// Terms, each added or, where the flag is set, subtracted.
    Sum(Vec<(bool, Expr)>),
    /// Factors, each multiplied or, where the flag is set, divided by.
    Product(Vec<(bool, Expr)>),
}

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
    /// `rcd CURRENT`
    Rcd(Expr, Span),
    /// `breaker CURRENT`
    Breaker(Expr, Span),
    /// `conductor AREA METAL, LENGTH, method METHOD, INSULATION`
    Conductor {
        /// Cross-section.
        section: Expr,
        /// Length of the supply, one way.
        length: Expr,
        /// Installation method of IEC 60364-5-52.
        method: Word,
        /// Insulation.
        insulation: Option<Word>,
        /// The line.
        span: Span,
    },
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
    Wall {
        /// Its number, from 1.
        number: Word,
        /// What people call it.
        title: Option<Word>,
        /// An outside wall.
        outside: bool,
        /// The statement.
        span: Span,
    },
    /// `door NAME wall N from A to B`
    Door {
        /// The name.
        name: Word,
        /// The wall's number.
        wall: Word,
        /// From the wall's first corner.
        from: Expr,
        /// From the wall's first corner.
        to: Expr,
        /// The statement.
        span: Span,
    },
    /// A shape that stands or lies in the room: `fixture`, `drill`, `level`.
    Area {
        /// Which, with what is said of it.
        kind: AreaExpr,
        /// The name.
        name: Word,
        /// Its shape.
        shape: ShapeExpr,
        /// The statement.
        span: Span,
    },
    /// A line in or on the floor: `joint`, `pipe`, `partition`.
    Line {
        /// Which, with what is said of it.
        kind: LineExpr,
        /// The name.
        name: Word,
        /// Its corners.
        points: Vec<PointExpr>,
        /// The statement.
        span: Span,
    },
    /// `floor KIND { … }`
    Floor {
        /// `timber` or `concrete`.
        kind: Word,
        /// Top first.
        layers: Vec<Layer>,
        /// Whether a line of it could not be read.
        broken: bool,
        /// The line that opens it.
        span: Span,
    },
    /// `outlet NAME (x, y) height H`
    Outlet {
        /// The name.
        name: Word,
        /// The point of the floor below it.
        at: PointExpr,
        /// Above the floor.
        height: Option<Expr>,
        /// The statement.
        span: Span,
    },
    /// `earthed-grid mesh LENGTH`
    EarthedGrid(Expr, Span),
    /// `inside TEMPERATURE`
    Inside(Expr, Span),
    /// `below room|ground TEMPERATURE`
    Below {
        /// `room` or `ground`.
        kind: Word,
        /// Its temperature.
        temperature: Expr,
        /// The statement.
        span: Span,
    },
    /// `heat-loss POWER`
    HeatLoss(Expr, Span),
    /// `junction NAME (x, y) height H ip CODE wired JUNCTION`
    Junction {
        /// The name.
        name: Word,
        /// Where on the floor.
        at: PointExpr,
        /// Above the floor.
        height: Option<Expr>,
        /// Its IP code, such as `X4`.
        ip: Option<Word>,
        /// The box that it is wired together with.
        wired: Option<Word>,
        /// The statement.
        span: Span,
    },
    /// `thermostat NAME (x, y) height H rated CURRENT on SUPPLY`
    Thermostat {
        /// The name.
        name: Word,
        /// Where on the floor.
        at: PointExpr,
        /// Above the floor.
        height: Option<Expr>,
        /// Rated current.
        rated: Expr,
        /// The supply's name.
        supply: Option<Word>,
        /// The statement.
        span: Span,
    },
    /// `contactor NAME rated CURRENT for THERMOSTAT`
    Contactor {
        /// The name.
        name: Word,
        /// Rated current.
        rated: Expr,
        /// The thermostat that works it.
        thermostat: Word,
        /// The statement.
        span: Span,
    },
    /// `cable NAME { … }`
    Cable(Cable),
    /// `sensor NAME from THERMOSTAT points… lead LENGTH`
    Sensor {
        /// The name.
        name: Word,
        /// The thermostat it belongs to.
        from: Word,
        /// The conduit on the floor; the last is the tip.
        points: Vec<PointExpr>,
        /// The sensor's own lead.
        lead: Option<Expr>,
        /// The statement.
        span: Span,
    },
    /// `record { … }`
    Record {
        /// Its lines.
        entries: Vec<RecordEntry>,
        /// Whether a line of it could not be read.
        broken: bool,
        /// The line that opens it.
        span: Span,
    },
    /// `deviation RULE KIND NAME "reason" until DATE`
    Deviation {
        /// The rule departed from.
        rule: Word,
        /// For what: a kind and a name.
        target: Option<(Word, Word)>,
        /// Why.
        reason: Word,
        /// Last day it holds.
        until: Option<Word>,
        /// The statement.
        span: Span,
    },
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
    /// `tail JUNCTION points…` or `tail cable CABLE points…`
    Tail(TailFrom, Vec<PointExpr>, Span),
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

/// A line of the test record.
#[derive(Debug, Clone)]
pub enum RecordEntry {
    /// `STAGE DATE cable NAME RESISTANCE insulation R at VOLTAGE with "instrument"`
    Reading {
        /// `delivered`, `laid` …
        stage: Word,
        /// When.
        date: Word,
        /// The cable's name.
        cable: Word,
        /// Measured.
        resistance: Expr,
        /// The test of its insulation.
        insulation: Option<InsulationExpr>,
        /// Measured with.
        instrument: Option<Word>,
        /// The statement.
        span: Span,
    },
    /// `tiled DATE drying TIME`
    Tiled(Word, Option<Expr>, Span),
    /// `switched-on DATE`
    SwitchedOn(Word, Span),
    /// `signed "NAME" DATE`
    Signed(Word, Word, Span),
}
