//! A language server for plans and rule packs, by the Language Server Protocol 3.17.
//!
//! [`server`] takes messages from an editor and hands each to the file of its feature, those that take a check to [`checking`], a thread of its
//! own; features ask [`workspace`], which knows the files and checks them again only where something they draw on has changed. Nothing here reads arguments or knows of a terminal.

pub mod actions;
pub mod capabilities;
pub mod checking;
pub mod client;
pub mod completion;
pub mod definition;
pub mod diagnostics;
pub mod documents;
pub mod edits;
pub mod folding;
pub mod formatting;
pub mod forms;
pub mod highlights;
pub mod hover;
pub mod inlay;
pub mod laying;
pub mod links;
pub mod meaning;
pub mod occurrences;
pub mod positions;
pub mod pulled;
pub mod rename;
pub mod rule_in_short;
pub mod selection;
pub mod server;
pub mod symbols;
pub mod tokens;
pub mod transport;
pub mod wanted;
pub mod workspace;

pub use server::{Options, run};
pub use workspace::remove_written;
