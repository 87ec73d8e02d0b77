//! Kits and mats, as they are written.

use super::{Expr, Word};
use crate::layout::kinds::KitColumn;
use crate::source::Span;
use crate::worded::Worded as _;

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

impl KitEntry {
    /// The whole line.
    pub fn span(&self) -> Span {
        match self {
            KitEntry::Output(.., span)
            | KitEntry::Length(_, span)
            | KitEntry::Resistance(.., span)
            | KitEntry::Diameter(_, span)
            | KitEntry::BendRadius(_, span)
            | KitEntry::Tail(_, span)
            | KitEntry::Screen(_, span)
            | KitEntry::Cores(_, span) => *span,
            KitEntry::Mat(mat) => mat.span,
        }
    }
}

/// `kits "title" { … }`: kits of one make, one a row.
#[derive(Debug, Clone)]
pub struct KitTable {
    /// What the make is called.
    pub title: Option<Word>,
    /// Its lines.
    pub entries: Vec<KitTableEntry>,
    /// The first words of the lines that could not be read, which may be names of kits.
    pub unread: Vec<Word>,
    /// Whether a line of it could not be read.
    pub broken: bool,
    /// The line that opens it.
    pub span: Span,
}

impl KitTable {
    /// Its rows.
    pub fn rows(&self) -> impl Iterator<Item = &KitRow> {
        self.entries.iter().filter_map(|entry| match entry {
            KitTableEntry::Row(row) => Some(row),
            _ => None,
        })
    }

    /// What is said of all of its kits alike, in the words that one kit says it in.
    pub fn shared(&self) -> impl Iterator<Item = &KitEntry> {
        self.entries.iter().filter_map(|entry| match entry {
            KitTableEntry::Shared(entry) => Some(entry),
            _ => None,
        })
    }

    /// What is in each column, of the first line that says so.
    pub fn columns(&self) -> Vec<KitColumn> {
        let words = self.entries.iter().find_map(|entry| match entry {
            KitTableEntry::Columns(words, _) => Some(words),
            _ => None,
        });
        words.into_iter().flatten().filter_map(|word| KitColumn::of_word(&word.text)).collect()
    }

    /// The title of the kit in a row whose values are in these columns: the row's own, else the make's with the kit's output, as it is written,
    /// behind it.
    pub fn title_of(&self, row: &KitRow, columns: &[KitColumn]) -> Option<String> {
        if let Some(own) = &row.title {
            return Some(own.text.clone());
        }
        let make = &self.title.as_ref()?.text;
        let output = columns.iter().position(|column| *column == KitColumn::Output);
        Some(match output.and_then(|column| row.cells.get(column)) {
            Some(output) => format!("{make}, {}", output.text),
            None => make.clone(),
        })
    }
}

/// A line of a table of kits.
#[derive(Debug, Clone)]
pub enum KitTableEntry {
    /// What one kit says too, of all of them.
    Shared(KitEntry),
    /// `voltage VOLTAGE`, at which the outputs hold
    Voltage(Expr, Span),
    /// `tolerance LEAST to MOST`, of the resistances
    Tolerance(Expr, Expr, Span),
    /// `spacing LENGTH`, of the mats' cable
    Spacing(Expr, Span),
    /// `columns WORD WORD …`
    Columns(Vec<Word>, Span),
    /// `NAME VALUE VALUE … "title"`
    Row(KitRow),
}

impl KitTableEntry {
    /// The whole line.
    pub fn span(&self) -> Span {
        match self {
            KitTableEntry::Shared(entry) => entry.span(),
            KitTableEntry::Voltage(_, span)
            | KitTableEntry::Tolerance(.., span)
            | KitTableEntry::Spacing(_, span)
            | KitTableEntry::Columns(_, span) => *span,
            KitTableEntry::Row(row) => row.span,
        }
    }
}

/// A kit as a row of a table.
#[derive(Debug, Clone)]
pub struct KitRow {
    /// The name.
    pub name: Word,
    /// Its values, column by column.
    pub cells: Vec<KitCell>,
    /// The maker's name for it.
    pub title: Option<Word>,
    /// The whole line.
    pub span: Span,
}

/// A value in a row: `VALUE`, or `WIDTH by LENGTH` of a mat.
#[derive(Debug, Clone)]
pub struct KitCell {
    /// The value; a mat's width.
    pub value: Expr,
    /// A mat's length.
    pub by: Option<Expr>,
    /// As it is written.
    pub text: String,
    /// All of it.
    pub span: Span,
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
