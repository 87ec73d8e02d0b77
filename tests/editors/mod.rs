//! The language server, spoken to as an editor does.

mod language_features;
mod language_protocol;
mod language_server;
mod laying;
