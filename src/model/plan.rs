//! Plans as a whole.

use super::circuit::Supply;
use super::drawing::TitleBlock;
use super::kits::Kits;
use super::name::Name;
use super::room::Room;
use crate::finding::Finding;
use crate::quantity::Quantity;
use crate::source::Sources;

/// A plan: its rooms and what they draw on.
#[derive(Debug, Clone, Default)]
pub struct Plan {
    /// The plan's own file and those it uses.
    pub sources: Sources,
    /// Kits, from every file.
    pub kits: Kits,
    /// Supplies, from every file.
    pub supplies: Vec<Supply>,
    /// What the title block says; a plan's own words go before those of what it uses.
    pub title_block: TitleBlock,
    /// How far north lies clockwise from the plan's own north, degrees, where the plan says.
    pub north: Option<f64>,
    /// The plan's own rooms.
    pub rooms: Vec<Room>,
    /// What `let` gave names to, from every file.
    pub values: Vec<NamedValue>,
    /// What reading the plan found wrong.
    pub faults: Vec<Finding>,
}

/// What a `let` gave a name to.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedValue {
    /// The name.
    pub name: Name,
    /// Its value; a number without a unit where none was written, since it may serve as a length in mm.
    pub value: Quantity,
}
