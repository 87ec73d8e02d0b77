//! Floors and what lies below them, as they are written.

use super::{Expr, Word};
use crate::source::Span;

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

/// `floor NAME KIND { … }` at the top of a plan
#[derive(Debug, Clone)]
pub struct NamedFloor {
    /// The name.
    pub name: Word,
    /// The floor.
    pub floor: Floor,
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
