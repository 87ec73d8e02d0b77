//! Every integration test, in one program so that it links once.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod advice;
mod bounds;
mod circuit_language;
mod circuit_limits;
mod command_line;
mod common;
mod cover;
mod drawing;
mod examples;
mod floor_faults;
mod floor_limits;
mod fuzz;
mod handover;
mod highlighting;
mod invariance;
mod known_findings;
mod language_client;
mod language_protocol;
mod language_server;
mod outputs;
mod project_file;
mod protocol;
mod published;
mod readme;
mod reference_geometry;
mod reference_heat;
mod reference_pages;
mod remedies;
mod rule_language;
mod rule_limits;
mod safety;
mod shortcuts;
mod spacing;
mod takeoff;
mod tidy;
#[path = "bench/varied.rs"]
mod varied;
mod watch;
