//! Checks plans for electric floor heating.
//!
//! A plan is plain text: a room, its fixtures, its heating cables, its sensor, its circuit. The way it goes through this crate:
//!
//! ```text
//! text ─parse→ syntax tree ─resolve→ model ─measure→ measurements ─rules→ findings ─report→ reader
//! ```
//!
//! [`Library`](model::load::Library) reads plans, from a disk, an editor or memory: whatever is a [`Reader`](source::Reader).
//! [`resolve`](model::resolve::resolve) makes a [`Plan`](model::Plan) of one, and [`Measured`](measure::plan::Measured) keeps what is measured of
//! it. That is lent to all that speak of the plan: [`check_plan`](checker::check_plan) holds it to a [`RuleSet`](rules::packs::RuleSet),
//! [`take_off`](takeoff::take_off) adds it up. A fault of the plan's text is a finding like any other, so that reading never fails but for
//! want of the file.
//!
//! ```
//! use layrule::measure::plan::Measured;
//! use layrule::model::{load::Library, resolve::resolve};
//! use layrule::rules::packs::{RuleSet, built_in};
//! use layrule::takeoff::{allowances::Allowances, take_off};
//! use layrule::{checker, source::Memory};
//!
//! // The plan that README shows, with its cable laid too near to the wall.
//! let readme = include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/README.md"));
//! let plan = readme.split("```lay\n").nth(1).and_then(|rest| rest.split("```").next()).expect("README shows a plan");
//! let plan = plan.replace("start  (1850, 90)", "start  (1970, 90)");
//!
//! // Files are looked up by their paths, those that a plan uses too; on a disk by `source::Disk`.
//! let files = Memory::default();
//! let library = Library::new(&files, "plans", "");
//! let loaded = library.load_text("plans/store.lay".as_ref(), "store.lay", plan);
//! let measured = Measured::new(resolve(loaded));
//!
//! let rules = RuleSet::build(built_in()).expect("the built-in packs are sound");
//! let report = checker::check_plan(&measured, &rules, jiff::civil::date(2026, 11, 25));
//! for finding in &report.findings {
//!     println!("{}: {}: {}", report.sources.file_and_line(finding.place()), finding.rule, finding.message);
//! }
//! assert!(report.findings.iter().any(|finding| &*finding.rule == "wall-clearance"));
//!
//! let taken = take_off(&measured, &Allowances::of(&rules));
//! assert_eq!(taken.rooms[0].name, "store");
//! ```
//!
//! # Features
//!
//! All are on by default, since the program needs them. With `default-features = false` a library is left that reads, measures, checks, reports
//! and takes off; these add to it:
//!
//! - `draw`: plans as SVG, PNG and PDF
//! - `exchange`: plans as DXF drawings, and rooms out of drawings and building models of others
//! - `exercise`: broken plans for learners, and marks for what they make of them
//! - `handover`: the page that is handed over with a floor
//! - `language-server`: what an editor is answered
//! - `watch`: the page that is drawn afresh
//! - `cli`: the program, with all of these

// What pest generates without its `std` feature names it.
extern crate alloc;

/// What a check is not; said wherever the program speaks of itself.
pub const CAUTION: &str = "layrule checks a drawing. Electrical work belongs to a qualified person under the local wiring rules; the cable \
maker's instructions and local codes come first; a clean check is not an approval.";

pub mod alike;
pub mod bundle;
pub mod checker;
#[cfg(feature = "cli")]
#[doc(hidden)]
pub mod cli;
pub mod comparison;
#[cfg(feature = "draw")]
pub mod draw;
#[cfg(feature = "exchange")]
pub mod exchange;
#[cfg(feature = "exercise")]
pub mod exercise;
pub mod finding;
pub mod fingerprint;
pub mod geometry;
#[cfg(feature = "handover")]
pub mod handover;
pub mod known;
pub mod language;
#[cfg(feature = "language-server")]
pub mod language_server;
pub mod layout;
#[cfg(feature = "exercise")]
pub mod marking;
pub mod measure;
pub mod model;
pub mod project;
pub mod quantity;
pub mod reasons;
pub mod reference;
pub mod remedy;
pub mod report;
pub mod route;
pub mod rules;
pub mod sizing;
pub mod source;
pub mod takeoff;
pub mod text;
pub mod things;
pub mod walk;
#[cfg(feature = "watch")]
pub mod watch;
pub mod worded;

/// README's own examples are held to compile.
#[cfg(doctest)]
#[doc = include_str!("../README.md")]
struct Readme;
