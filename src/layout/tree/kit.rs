//! Kits and mats, as they are written.

use super::{Expr, Word};
use crate::source::Span;

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
