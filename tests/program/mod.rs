//! The program as its users run it, and the pages about it.

mod bounds;
mod bundle;
mod command_line;
mod completion;
mod known_findings;
mod packaging;
mod project_file;
mod readme;
mod reference_pages;
mod route;
mod rule_examples;
mod safety;
