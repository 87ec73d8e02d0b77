//! How cold tails and conduits lie to where the floor will be drilled.

use super::TOUCH;
use super::room::Feature;
use super::zones::Zone;
use crate::geometry::Piece;
use crate::model::{Point, Shape};

/// A cold tail (of a cable) or a conduit (of a sensor), by its index.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lead {
    /// The cold tail of this cable.
    Tail(u32),
    /// The conduit of this sensor.
    Conduit(u32),
}

/// A lead that comes near a drill zone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrilledLead {
    /// Which.
    pub lead: Lead,
    /// The zone.
    pub zone: Feature,
    /// The distance between them, mm; 0 where they touch or overlap.
    pub distance: f64,
}

/// The zones that a lead's route comes nearer to than `minimum` (mm), or touches, in their order.
pub fn drilled(lead: Lead, route: &[Point], zones: &[(Feature, &Shape, &Zone)], minimum: f64) -> Vec<DrilledLead> {
    let distance = |shape: &Shape, zone: &Zone| {
        let wanted = shape.bounds().widened(minimum.max(TOUCH));
        let near = Piece::of_line(route).filter(|piece| piece.bounds().meets(&wanted));
        near.map(|piece| zone.distance(piece)).fold(f64::INFINITY, f64::min)
    };
    let all =
        zones.iter().map(|(zone, shape, made)| DrilledLead { lead, zone: *zone, distance: distance(shape, made) });
    all.filter(|drilled| drilled.distance < minimum - TOUCH || drilled.distance <= TOUCH).collect()
}
