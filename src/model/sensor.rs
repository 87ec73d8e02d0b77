//! Floor sensors.

use super::name::Name;
use crate::geometry::Point;
use crate::source::Place;

/// A floor sensor in its conduit.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensor {
    /// Its name.
    pub name: Name,
    /// The thermostat it belongs to (an index).
    pub thermostat: usize,
    /// The conduit on the floor; the last point is the tip.
    pub conduit: Vec<Point>,
    /// Length of the sensor's own lead, mm.
    pub lead: Option<f64>,
    /// The statement.
    pub place: Place,
}
