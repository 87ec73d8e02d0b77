//! Test records, as they are written.

use super::{Expr, PointExpr, Word};
use crate::source::Span;

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

/// `with "INSTRUMENT" serial "NUMBER" by "NAME"`
#[derive(Debug, Clone, Default)]
pub struct MeasuredExpr {
    /// The instrument.
    pub instrument: Option<Word>,
    /// Its serial number.
    pub serial: Option<Word>,
    /// Who measured.
    pub by: Option<Word>,
}

/// `note DATE "TEXT" at (X, Y) photo "FILE"`
#[derive(Debug, Clone)]
pub struct Note {
    /// When.
    pub date: Word,
    /// What.
    pub text: Word,
    /// Where.
    pub at: Option<PointExpr>,
    /// The file of a photograph of it.
    pub photo: Option<Word>,
    /// The statement.
    pub span: Span,
}

/// `photo DATE "FILE" at (X, Y)`
#[derive(Debug, Clone)]
pub struct Photo {
    /// When.
    pub date: Word,
    /// The file.
    pub file: Word,
    /// Where.
    pub at: Option<PointExpr>,
    /// The statement.
    pub span: Span,
}

/// A line of the test record.
#[derive(Debug, Clone)]
pub enum RecordEntry {
    /// `STAGE DATE cable NAME RESISTANCE insulation R at VOLTAGE with "instrument" serial "NUMBER" by "NAME"`
    Reading(Reading),
    /// `STAGE DATE sensor NAME RESISTANCE with "instrument" serial "NUMBER" by "NAME"`
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
    /// `rcd-tested DATE supply NAME TIME with "instrument" serial "NUMBER" by "NAME"`
    RcdTest(RcdTest),
    /// `note DATE "TEXT" at (X, Y) photo "FILE"`
    Note(Note),
    /// `photo DATE "FILE" at (X, Y)`
    Photo(Photo),
    /// `primed DATE`
    Primed(Word, Span),
}

/// `STAGE DATE cable NAME RESISTANCE insulation R at VOLTAGE with "instrument" serial "NUMBER" by "NAME"`
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
    /// How, and by whom.
    pub measured: MeasuredExpr,
    /// The statement.
    pub span: Span,
}

/// `STAGE DATE sensor NAME RESISTANCE with "instrument" serial "NUMBER" by "NAME"`
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
    /// How, and by whom.
    pub measured: MeasuredExpr,
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

/// `rcd-tested DATE supply NAME TIME with "instrument" serial "NUMBER" by "NAME"`
#[derive(Debug, Clone)]
pub struct RcdTest {
    /// When.
    pub date: Word,
    /// The supply's name.
    pub supply: Word,
    /// How soon it tripped.
    pub time: Expr,
    /// How, and by whom.
    pub measured: MeasuredExpr,
    /// The statement.
    pub span: Span,
}
