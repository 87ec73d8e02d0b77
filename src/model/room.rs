//! Rooms, with all that stands in them.

use super::area::{Area, Rug};
use super::cable::Cable;
use super::circuit::{Contactor, Junction, Thermostat};
use super::deviation::Deviation;
use super::floor::{Below, Floor};
use super::line::Line;
use super::name::{Name, Stated, names};
use super::record::Record;
use super::sensor::Sensor;
use crate::geometry::Point;
use crate::layout::kinds::Kind;
use crate::source::Place;

/// A room.
#[derive(Debug, Clone, Default)]
pub struct Room {
    /// Its name.
    pub name: Name,
    /// What people call it.
    pub title: Option<String>,
    /// Corners, each wall from one to the next and the last back to the first.
    pub corners: Vec<Point>,
    /// Its walls; as many as corners.
    pub walls: Vec<Wall>,
    /// Fixtures, drill zones and level changes.
    pub areas: Vec<Area>,
    /// Rugs and flat furniture.
    pub rugs: Vec<Rug>,
    /// Joints, pipes and thresholds of doors.
    pub lines: Vec<Line>,
    /// The floor's build-up.
    pub floor: Option<Floor>,
    /// Room temperature, degC.
    pub inside: Option<f64>,
    /// What lies below the floor.
    pub below: Option<Below>,
    /// Heat loss, W.
    pub heat_loss: Option<f64>,
    /// Junction boxes.
    pub junctions: Vec<Junction>,
    /// Thermostats.
    pub thermostats: Vec<Thermostat>,
    /// Contactors.
    pub contactors: Vec<Contactor>,
    /// Fixed shower heads.
    pub shower_heads: Vec<ShowerHead>,
    /// An earthed grid over the heating cables: its mesh, mm.
    pub earthed_grid: Option<Stated<f64>>,
    /// How its metal is bonded, where the plan says that it is.
    pub bonded: Option<Bonding>,
    /// Heating cables.
    pub cables: Vec<Cable>,
    /// The spacing of each of its cables, mm, where they are meant to lie evenly over the free floor and none of their runs is drawn: a plan
    /// that is tried says so, none that is written does.
    pub evenly: Option<Vec<f64>>,
    /// Floor sensors.
    pub sensors: Vec<Sensor>,
    /// Test record.
    pub record: Option<Record>,
    /// Agreed departures.
    pub deviations: Vec<Deviation>,
    /// Why rules about the room as a whole can't be held to it: something in it could not be read.
    pub incomplete: Option<String>,
}

impl Room {
    /// The names of its things of a kind that a deviation may name.
    pub(crate) fn names(&self, kind: Kind) -> Vec<&str> {
        match kind {
            Kind::Cable => names(&self.cables),
            Kind::Sensor => names(&self.sensors),
            Kind::Thermostat => names(&self.thermostats),
            Kind::Junction => names(&self.junctions),
            Kind::Rug => names(&self.rugs),
            _ => {
                let areas = self.areas.iter().filter(|area| area.kind.named() == kind);
                let lines = self.lines.iter().filter(|line| line.kind.named() == kind);
                names(areas).into_iter().chain(names(lines)).collect()
            }
        }
    }
}

/// How the metal of a room that water runs in is bonded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bonding {
    /// Joined in the room itself: supplementary protective equipotential bonding.
    Supplementary,
    /// By the main bonding, where local rules let that do.
    Main,
}

/// A wall: one edge of the outline.
#[derive(Debug, Clone, PartialEq)]
pub struct Wall {
    /// What people call it.
    pub title: Option<String>,
    /// Whether it is an outside wall.
    pub outside: bool,
    /// Where the outline draws it.
    pub place: Place,
}

/// The fixed head of a shower, where its water comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct ShowerHead {
    /// Its name.
    pub name: Name,
    /// The point of the floor below it.
    pub at: Point,
    /// Height over the floor, mm.
    pub height: Option<f64>,
    /// The statement.
    pub place: Place,
}
