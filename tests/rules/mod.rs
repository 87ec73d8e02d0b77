//! What the rules find, at their limits and beyond, and what mends it.

mod advice;
mod circuit_limits;
mod examples;
mod floor_faults;
mod floor_limits;
mod remedies;
mod rule_limits;
mod stopping;
mod tail_limits;
