//! Supplies and what cables are wired to, as they are written.

use super::{Expr, PointExpr, Word};
use crate::source::Span;

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
