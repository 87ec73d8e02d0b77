//! Departures from rules that were agreed to.

use super::name::Name;
use crate::layout::kinds::Kind;
use crate::source::Place;

/// An agreed departure from a rule.
#[derive(Debug, Clone, PartialEq)]
pub struct Deviation {
    /// The rule's name.
    pub rule: Name,
    /// For what: its kind and name; none for the whole room.
    pub target: Option<(Kind, String)>,
    /// Why.
    pub reason: String,
    /// Last day it holds.
    pub until: Option<jiff::civil::Date>,
    /// The statement.
    pub place: Place,
}
