//! Parts of the floor: fixtures, drill zones, levels; and what may lie on it for long.

use super::name::Name;
use super::shape::Shape;
use crate::layout::kinds::{FixtureKind, Kind};
use crate::layout::tree::Heading;
use crate::source::Place;

/// A part of the floor.
#[derive(Debug, Clone, PartialEq)]
pub struct Area {
    /// Its name.
    pub name: Name,
    /// What it is.
    pub kind: AreaKind,
    /// Where it lies.
    pub shape: Shape,
    /// Where a flight of stairs leads up to, where the plan says.
    pub rises: Option<Heading>,
    /// The statement.
    pub place: Place,
}

/// A rug, or flat furniture: what may lie or stand on the heated floor for long.
#[derive(Debug, Clone, PartialEq)]
pub struct Rug {
    /// Its name.
    pub name: Name,
    /// Where it lies.
    pub shape: Shape,
    /// Its thermal resistance, m2K/W.
    pub resistance: f64,
    /// The statement.
    pub place: Place,
}

/// What an [`Area`] is.
#[derive(Debug, Clone, PartialEq)]
pub enum AreaKind {
    /// A fixture.
    Fixture {
        /// What it is, where the plan says.
        kind: Option<FixtureKind>,
        /// Free height under it, mm; none where it stands on the floor.
        raised: Option<f64>,
        /// Whether what is under it is open to the room.
        open: bool,
    },
    /// Where the floor will be drilled.
    Drill,
    /// A part of the floor at another level: mm above the rest; none for stairs.
    Level {
        /// Height, mm.
        height: Option<f64>,
    },
}

impl AreaKind {
    /// What its name is given to.
    pub fn named(&self) -> Kind {
        match self {
            AreaKind::Fixture { .. } => Kind::Fixture,
            AreaKind::Drill => Kind::Drill,
            AreaKind::Level { .. } => Kind::Level,
        }
    }

    /// The height under a fixture, mm, where its air is the room's, so that cable may lie there. What stands on legs behind a plinth or a
    /// panel has none: a bath, a shower, a wc and a unit count as such unless the plan says that they are open.
    pub fn clear_below(&self) -> Option<f64> {
        let AreaKind::Fixture { kind, raised, open } = self else { return None };
        let closed = matches!(
            kind,
            Some(FixtureKind::Bath | FixtureKind::Shower | FixtureKind::Wc | FixtureKind::Unit) if !open
        );
        raised.filter(|_| !closed)
    }

    /// What it is called: `stairs` of a level without a height.
    pub fn word(&self) -> &'static str {
        match self {
            AreaKind::Level { height: None } => "stairs",
            other => other.named().word(),
        }
    }
}
