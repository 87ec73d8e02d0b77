//! Measures a plan: geometry and electricity as pure functions of the model. No limits stand here; they are the rules'.

pub mod across;
pub mod areas;
pub mod bays;
pub mod channels;
pub mod circuit;
pub mod cover;
pub mod doors;
pub mod electricity;
pub mod floor_heat;
pub mod gaps;
pub mod heat;
pub mod heat_up;
pub mod index;
pub mod lay_anew;
pub mod leads;
pub mod levels;
pub mod nearest;
mod neighbour;
pub mod overlap;
pub mod plan;
pub mod record;
pub mod room;
pub mod rugs;
pub mod sensor;
pub mod sites;
mod slot;
pub mod spacing;
pub mod strips;
pub mod temperature_map;
pub mod walls;
pub mod water;
pub mod zones;

pub use crate::geometry::tolerance::TOUCH;
pub use crate::model::length;

/// The most pairs of one kind that are listed for a room. A plan with more is told so.
pub const MOST_PAIRS: usize = 10_000;

/// Pairs found, and whether there are more than are listed.
#[derive(Debug, Clone, PartialEq)]
pub struct Pairs<T> {
    /// In the order of the runs.
    pub found: Vec<T>,
    /// Whether the search stopped at [`MOST_PAIRS`].
    pub more: bool,
}

impl<T> Pairs<T> {
    /// Lists one more, where there is room.
    fn add(&mut self, pair: T) {
        if self.found.len() < MOST_PAIRS {
            self.found.push(pair);
        } else {
            self.more = true;
        }
    }
}

impl<T> Default for Pairs<T> {
    fn default() -> Self {
        Pairs { found: Vec::new(), more: false }
    }
}
