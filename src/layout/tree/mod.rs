//! The syntax tree of a plan: what was written, statement by statement, each with its span. No meaning yet.

mod cable;
mod circuit;
mod drawing;
mod floor;
mod kit;
mod material;
mod record;
mod room;

pub use crate::language::{Word, faults::SyntaxFault};

use crate::language::expression;
use crate::source::Span;
use crate::worded::Worded;
pub use cable::{Cable, CableEntry, Channel, LoopCount, Loops, Reach, ReachTo, Sensor, Tail, TailFrom};
pub use circuit::{Conductor, Contactor, Junction, Supply, SupplyEntry, Thermostat};
pub use drawing::{Drawing, DrawingEntry};
pub use floor::{Below, Floor, Layer, NamedFloor};
pub use kit::{Kit, KitCell, KitEntry, KitRow, KitTable, KitTableEntry, Mat};
pub use material::{Material, MaterialEntry};
pub use record::{
    InsulationExpr, Label, MeasuredExpr, Note, Photo, RcdTest, Reading, Record, RecordEntry, Screeded, ScreenExpr,
    SensorReading,
};
pub use room::{
    Area, AreaExpr, Deviation, Door, Leg, Line, LineExpr, Outline, Room, RoomEntry, Rug, ShowerHead, Side, Wall,
};

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

impl Heading {
    /// The heading the other way.
    pub fn opposite(self) -> Heading {
        match self {
            Heading::East => Heading::West,
            Heading::North => Heading::South,
            Heading::West => Heading::East,
            Heading::South => Heading::North,
        }
    }
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
    /// `kits { … }`
    Kits(KitTable),
    /// `supply NAME { … }`
    Supply(Supply),
    /// `floor NAME KIND { … }`
    Floor(NamedFloor),
    /// `room NAME { … }`
    Room(Box<Room>),
    /// `drawing { … }`
    Drawing(Drawing),
    /// `north ANGLE deg`
    North(Expr, Span),
}

impl Statement {
    /// The title of the room or kit whose name stands in a span, where it has one.
    pub fn title_of(&self, name: Span) -> Option<String> {
        let text = |title: &Option<Word>| title.as_ref().map(|title| title.text.clone());
        match self {
            Statement::Room(room) if room.name.span == name => text(&room.title),
            Statement::Kit(kit) if kit.name.span == name => text(&kit.title),
            Statement::Kits(table) => {
                table.rows().find(|row| row.name.span == name).and_then(|row| table.title_of(row, &table.columns()))
            }
            _ => None,
        }
    }
}

/// `let NAME = VALUE`
#[derive(Debug, Clone)]
pub struct Let {
    /// The name.
    pub name: Word,
    /// Its value.
    pub value: Expr,
}
