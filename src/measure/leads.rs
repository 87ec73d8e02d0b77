//! Cold tails and conduits: where they lead, and how they lie to the runs and to where the floor will be drilled.

use super::index::RunId;
use super::room::{Feature, RoomMeasure};
use super::zones::Zone;
use super::{TOUCH, length, sensor};
use crate::geometry::{Piece, distance};
use crate::model::{AreaKind, Cable, LineKind, Point, Shape};

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

impl RoomMeasure<'_> {
    /// The length a cold tail needs from its junction box, down from it and along the floor to the cable, mm; nothing where no tail is
    /// drawn, or its box's height isn't given.
    pub fn tail_route(&self, cable: &Cable) -> Option<f64> {
        let junction = &self.room.junctions[cable.junction?];
        (!cable.tail.is_empty()).then_some(junction.height? + length::line_length(&self.tail(cable)))
    }

    /// A cable's cold tail from below its junction box, or from the far end of the cable it comes from, to the cable, without pieces
    /// of no length.
    fn tail(&self, cable: &Cable) -> Vec<Point> {
        let from = match (cable.junction, cable.tail_from) {
            (Some(junction), _) => Some(self.room.junctions[junction].at),
            (None, Some(other)) => self.far_end(other),
            (None, None) => None,
        };
        let mut route: Vec<Point> = from.into_iter().chain(cable.tail.iter().copied()).collect();
        route.dedup();
        route
    }

    /// The cold tails and conduits nearer than `minimum` (mm) to a drill zone, or in it, each with every such zone.
    pub fn drilled_leads(&self, minimum: f64) -> Vec<DrilledLead> {
        let is_zone = |area: Option<&AreaKind>, _: Option<&LineKind>| matches!(area, Some(AreaKind::Drill));
        let zones: Vec<(Feature, &Shape, &Zone)> = self
            .features(is_zone)
            .into_iter()
            .filter_map(|feature| match feature {
                Feature::Area(index) => {
                    Some((feature, &self.room.areas[index as usize].shape, &self.zones()[index as usize]))
                }
                _ => None,
            })
            .collect();
        if zones.is_empty() {
            return Vec::new();
        }
        let tails = self.room.cables.iter().zip(0u32..).filter(|(cable, _)| !cable.tail.is_empty());
        let tails = tails.map(|(cable, index)| (Lead::Tail(index), self.tail(cable)));
        let conduits = (0u32..).zip(&self.room.sensors).map(|(i, _)| (Lead::Conduit(i), self.conduit(i as usize)));
        tails.chain(conduits).flat_map(|(lead, route)| drilled(lead, &route, &zones, minimum)).collect()
    }

    /// The runs that a cable's cold tail crosses or touches, each with a point they share. Where the tail joins the cable's own first run,
    /// or leaves the last run of the cable it comes from, it meets that run in one point; only what it shares with it beyond counts.
    pub fn tail_crossed(&self, cable: &Cable, index: u32) -> Vec<(RunId, Point)> {
        if cable.tail.is_empty() {
            return Vec::new();
        }
        let joins = cable.runs.first().map(|run| (RunId { cable: index, run: 0 }, run.start));
        let leaves = cable.tail_from.and_then(|from| {
            let last = self.room.cables[from].runs.len().checked_sub(1)?;
            let id = RunId { cable: u32::try_from(from).ok()?, run: u32::try_from(last).ok()? };
            Some((id, self.far_end(from)?))
        });
        let joints: Vec<(RunId, Point)> = joins.into_iter().chain(leaves).collect();
        let mut crossed = sensor::crossed(&self.index(), &self.tail(cable), &joints);
        crossed.dedup_by_key(|(id, _)| *id);
        crossed
    }

    /// Where a cable (an index) ends.
    fn far_end(&self, cable: usize) -> Option<Point> {
        self.room.cables[cable].runs.last().map(|run| run.end)
    }

    /// The cable (an index) that another (an index) is joined to in series: the one from whose far end its tail comes, or at whose far
    /// end it starts itself.
    pub fn in_series_with(&self, cable: usize) -> Option<usize> {
        let own = &self.room.cables[cable];
        let start = own.runs.first()?.start;
        let touches =
            |other: &usize| *other != cable && self.far_end(*other).is_some_and(|end| distance(end, start) <= TOUCH);
        own.tail_from.or_else(|| (0..self.room.cables.len()).find(touches))
    }
}
