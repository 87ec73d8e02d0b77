//! The two languages: reading, laying out, bounds on what they take.

mod circuit_language;
mod faults;
mod fuzz;
mod highlighting;
mod kit_tables;
mod reaching;
mod rule_language;
mod slips;
mod tidy;
