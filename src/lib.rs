//! Checks plans for electric floor heating.
//!
//! A plan is plain text: a room, its fixtures, its heating cables, its sensor, its circuit. The way it goes through this crate:
//!
//! ```text
//! text ─parse→ syntax tree ─resolve→ model ─measure→ measurements ─rules→ findings ─report→ reader
//! ```
//!
//! The front door is [`model::load::Library`], which reads plans, and [`check`](checker::check), which finds what is wrong
//! with them:
//!
//! ```
//! use layrule::{checker, model::load::Library, rules::packs, source::Memory};
//!
//! let mut files = Memory::default();
//! files.insert("plans/bath.lay", "room bath {\n outline (0, 0) (2000, 0) (2000, 1500) (0, 1500)\n cable a {\n start (20, 60)\n run east 1800\n }\n}\n");
//! let rules = packs::RuleSet::build(packs::built_in()).expect("the built-in packs are sound");
//! let library = Library::new(&files, "plans", "");
//! let loaded = library.load("plans/bath.lay".as_ref(), "bath.lay").expect("it is there");
//! let report = checker::check(loaded, &rules, jiff::civil::date(2026, 11, 25));
//! assert!(report.findings.iter().any(|finding| &*finding.rule == "wall-clearance"));
//! ```

// What pest generates without its `std` feature names it.
extern crate alloc;

/// What a check is not; said wherever the program speaks of itself.
pub const CAUTION: &str = "layrule checks a drawing. Electrical work belongs to a qualified person under the local wiring rules; the cable \
maker's instructions and local codes come first; a clean check is not an approval.";

pub mod checker;
#[doc(hidden)]
pub mod cli;
pub mod draw;
pub mod finding;
pub mod fingerprint;
pub mod geometry;
pub mod handover;
pub mod known;
pub mod language_server;
pub mod layout;
pub mod measure;
pub mod mend;
pub mod model;
pub mod project;
pub mod quantity;
pub mod reasons;
pub mod reference;
pub mod remedy;
pub mod report;
pub mod rules;
pub mod source;
pub mod syntax;
pub mod takeoff;
pub mod text;
pub mod things;
pub mod tidy;
pub mod walk;
pub mod watch;
pub mod worded;
