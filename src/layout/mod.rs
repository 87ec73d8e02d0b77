//! The plan language: text to syntax tree.
//!
//! `grammar/layout.pest` is the grammar, [`mod@parse`] turns text into the [`tree`], and [`explain`] puts into words what was
//! expected where a statement can't be read, and [`mod@tidy`] lays a text out in its canonical form.

pub mod explain;
pub mod grammar;
pub mod kinds;
pub mod names;
pub mod parse;
pub mod tidy;
pub mod tree;

pub use parse::parse;
