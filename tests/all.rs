//! Every integration test, in one program so that it links once.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
mod editors;
mod exercise;
mod languages;
mod measure;
mod outputs;
mod program;
#[path = "bench/rooms_to_lay.rs"]
mod rooms_to_lay;
mod rules;
#[path = "bench/varied.rs"]
mod varied;
