//! The rule language: text → [`tree`] → [`mod@check`]ed → [`mod@evaluate`]d; and the [`packs`] of rules that come with the program.
//!
//! What a rule may ask of a plan is declared in [`vocabulary`], and nowhere else.

pub mod caps;
pub mod check;
pub mod evaluate;
pub mod explain;
mod expressions;
pub mod faults;
mod findings;
pub mod grammar;
pub mod names;
pub mod packs;
pub mod parse;
pub mod program;
mod reckon;
pub mod tidy;
pub mod tree;
pub mod value;
pub mod vocabulary;

pub use parse::parse;
