//! Every integration test, in one program so that it links once.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
mod examples;
mod invariance;
mod reference_geometry;
mod rule_limits;
