//! The bays of a floor: the parts that movement joints and steps divide it into.

use geo::{Area as _, BooleanOps as _, BoundingRect as _, LineString, MultiPolygon, Polygon};

use super::TOUCH;
use super::areas::Margins;
use super::index::RunIndex;
use super::levels::{LEAST_PART, polygon, shape_polygon};
use super::room::{Rings, RoomMeasure};
use crate::geometry::hull::least_rectangle;
use crate::geometry::{Bounds, Ring, along, distance};
use crate::model::shape::strip;
use crate::model::{AreaKind, LineKind, Point, Room};

/// The most straight pieces that the joints of a room may have.
const MOST_PIECES: usize = 500;

/// The most bays, and other levels, that a room may have.
const MOST_BAYS: usize = 200;

/// How wide a joint is taken to be, mm, and how far beyond its ends it still divides: a joint drawn up to a wall reaches it.
const JOINT: f64 = 10.0 * TOUCH;

/// What a bay's sides and its area are known to, mm and mm2: a joint takes up less, so that a bay drawn 16 m long is that long.
const SIDE_GRAIN: f64 = 10.0 * JOINT;
const AREA_GRAIN: f64 = 1000.0;

/// One bay.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bay {
    /// mm2.
    pub area: f64,
    /// The longer side of the smallest rectangle round it, mm.
    pub length: f64,
    /// The shorter side, mm.
    pub width: f64,
    /// Its corner nearest to the plan's south-west.
    pub at: Point,
    /// Whether a run of a heating cable lies in it.
    pub heated: bool,
}

/// The bays of a room, the largest first; nothing where there are too many, or its joints have too many pieces.
///
/// A joint that ends inside the floor divides nothing. Stairs belong to no bay; another level is one of its own, joints and all. Where levels
/// overlap, the one drawn last is on top.
pub fn bays(room: &Room, index: &RunIndex<'_>) -> Option<Vec<(Bay, Rings)>> {
    let joints = joint_strips(room)?;
    let outline = polygon(&room.corners);
    let levels: Vec<_> = room
        .areas
        .iter()
        .filter_map(|area| match area.kind {
            AreaKind::Level { height } => Some((height, shape_polygon(&area.shape))),
            _ => None,
        })
        .collect();
    if levels.len() > MOST_BAYS {
        return None;
    }
    let mut parts = MultiPolygon::new(Vec::new());
    let mut open = MultiPolygon::from(outline);
    for (height, level) in levels.iter().rev() {
        if height.is_some() {
            parts.0.extend(open.intersection(level));
        }
        open = open.difference(level);
    }
    parts.0.extend(open);
    if !joints.0.is_empty() {
        parts = parts.0.iter().flat_map(|part| part.difference(&joints)).collect();
    }
    parts.0.retain(|part| part.unsigned_area() > LEAST_PART);
    if parts.0.len() > MOST_BAYS {
        return None;
    }
    let mut bays: Vec<(Bay, Rings)> =
        parts.0.iter().filter_map(|part| Some((bay(part, index)?, corners(part)))).collect();
    bays.sort_by(|(a, _), (b, _)| b.area.total_cmp(&a.area));
    Some(bays)
}

/// The borders of a part of the floor.
fn corners(part: &Polygon<f64>) -> Rings {
    let lines = std::iter::once(part.exterior()).chain(part.interiors());
    lines.map(|line| line.0.iter().skip(1).copied().collect()).collect()
}

fn bay(part: &Polygon<f64>, index: &RunIndex<'_>) -> Option<Bay> {
    let (one, other) = least_rectangle(&part.exterior().0)?;
    let sides = (rounded(one, SIDE_GRAIN), rounded(other, SIDE_GRAIN));
    let at = part.exterior().coords().copied().min_by(|a, b| (a.x + a.y).total_cmp(&(b.x + b.y)))?;
    Some(Bay {
        area: rounded(part.unsigned_area(), AREA_GRAIN),
        length: sides.0.max(sides.1),
        width: sides.0.min(sides.1),
        at,
        heated: is_heated(part, index),
    })
}

fn rounded(value: f64, grain: f64) -> f64 {
    (value / grain).round() * grain
}

/// Whether any of a run lies in a part of the floor.
fn is_heated(part: &Polygon<f64>, index: &RunIndex<'_>) -> bool {
    let Some(bounds) = part.bounding_rect() else { return false };
    let ring = |line: &LineString<f64>| Ring::new(&line.0[..line.0.len().saturating_sub(1)]);
    let outer = ring(part.exterior());
    let holes: Vec<Ring> = part.interiors().iter().map(ring).collect();
    index.near(Bounds { low: bounds.min(), high: bounds.max() }, 0.0).any(|id| {
        let run = index.run(id).piece();
        let within = |ring: &Ring| ring.length_inside(run, false);
        within(&outer) - holes.iter().map(within).sum::<f64>() > TOUCH
    })
}

/// Every straight piece of every joint as a very narrow polygon.
fn joint_strips(room: &Room) -> Option<MultiPolygon<f64>> {
    let mut strips = Vec::new();
    for line in room.lines.iter().filter(|line| line.kind == LineKind::Joint) {
        for pair in line.points.windows(2) {
            if strips.len() == MOST_PIECES {
                return None;
            }
            let beyond = JOINT / distance(pair[0], pair[1]);
            let ends = [along(pair[0], pair[1], -beyond), along(pair[0], pair[1], 1.0 + beyond)];
            strips.push(polygon(&strip(&ends, JOINT)));
        }
    }
    Some(geo::unary_union(&strips))
}

impl RoomMeasure<'_> {
    /// The free floor of each part that movement joints divide the floor into, mm2, the largest first: one where there are none. Along joints
    /// as much is left free as along walls. Nothing where the joints have too many pieces, a part lies round another, or the floor is too
    /// intricate to measure.
    pub fn free_parts(&self, margins: Margins) -> Option<Vec<f64>> {
        let joints = joint_strips(self.room)?;
        if joints.0.is_empty() {
            return Some(vec![self.free_area(margins)?]);
        }
        let parts = polygon(&self.room.corners).difference(&joints).0;
        let parts = parts.into_iter().filter(|part| part.unsigned_area() > LEAST_PART);
        let mut areas = Vec::new();
        for part in parts.take(MOST_BAYS) {
            if !part.interiors().is_empty() {
                return None;
            }
            let corners: Vec<Point> = part.exterior().coords().skip(1).copied().collect();
            areas.push(self.free_within(&Ring::new(&corners), margins)?);
        }
        areas.retain(|area| *area > AREA_GRAIN);
        areas.sort_by(|a, b| b.total_cmp(a));
        Some(areas)
    }

    /// The bays that joints and steps divide the floor into; nothing where there are too many.
    pub fn bays(&self) -> Option<&[Bay]> {
        self.kept_bays().map(|(bays, _)| bays.as_slice())
    }

    /// The border of one of them, and those of the holes in it.
    pub fn bay_outline(&self, bay: &Bay) -> Option<&[Vec<Point>]> {
        let (bays, rings) = self.kept_bays()?;
        let index = bays.iter().position(|own| own == bay)?;
        rings.get(index).map(Vec::as_slice)
    }

    fn kept_bays(&self) -> Option<&(Vec<Bay>, Vec<Rings>)> {
        let made = || Some(bays(self.room, &self.index())?.into_iter().unzip());
        self.kept.bays.get_or_init(made).as_ref()
    }
}
