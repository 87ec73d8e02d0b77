//! Materials, as they are written.

use super::{Expr, Word};
use crate::source::Span;

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
