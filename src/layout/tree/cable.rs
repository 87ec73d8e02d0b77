//! Cables, their paths and tails, and sensors, as they are written.

use super::{Expr, Heading, PointExpr, Word};
use crate::source::Span;

/// `between runs N and M of cable CABLE depth LENGTH`
#[derive(Debug, Clone)]
pub struct Channel {
    /// The numbers of the runs beside it.
    pub runs: [Word; 2],
    /// Their cable, where it is named.
    pub cable: Option<Word>,
    /// How far in the tip lies.
    pub depth: Expr,
    /// The words.
    pub span: Span,
}

/// `sensor NAME from THERMOSTAT points… lead LENGTH`, or `between runs …` for the points
#[derive(Debug, Clone)]
pub struct Sensor {
    /// The name.
    pub name: Word,
    /// The thermostat it belongs to.
    pub from: Word,
    /// The conduit on the floor; the last is the tip. None where its channel is named.
    pub points: Vec<PointExpr>,
    /// The channel that it is led into, where that is named.
    pub between: Option<Channel>,
    /// The sensor's own lead.
    pub lead: Option<Expr>,
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

impl Cable {
    /// Whether anything is said of its way over the floor.
    pub fn has_path(&self) -> bool {
        use CableEntry::{By, Kit, SecondTail, Tail};
        !self.entries.iter().all(|entry| matches!(entry, Kit(_) | Tail(_) | SecondTail(_) | By(_)))
    }
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
    /// `run HEADING to wall N less LENGTH`
    RunReach(Heading, Reach, Span),
    /// `run HEADING rest`
    RunRest(Heading, Word, Span),
    /// `loops N of LENGTH HEADING, stepping PITCH HEADING`, or without N and `to wall N less LENGTH` behind
    Loops(Box<Loops>),
}

/// How far something goes: `to wall N less LENGTH`, `to fixture NAME less LENGTH`.
#[derive(Debug, Clone)]
pub struct Reach {
    /// To what.
    pub to: ReachTo,
    /// How much short of it.
    pub less: Option<Expr>,
    /// The words.
    pub span: Span,
}

/// What is reached for.
#[derive(Debug, Clone)]
pub enum ReachTo {
    /// A wall, by its number.
    Wall(Word),
    /// A fixture, by its name.
    Fixture(Word),
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

/// How many loops there are.
#[derive(Debug, Clone)]
pub enum LoopCount {
    /// So many.
    Counted(Expr),
    /// As many as lie before something.
    Fitting(Reach),
}

/// `loops N of LENGTH HEADING, stepping PITCH HEADING`
#[derive(Debug, Clone)]
pub struct Loops {
    /// How many parallel runs.
    pub count: LoopCount,
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
