//! The bays of a floor: the parts that movement joints and steps divide it into.

use geo::{
    Area as _, BooleanOps as _, BoundingRect as _, Contains as _, Intersects as _, MinimumRotatedRect as _,
    MultiPolygon, Polygon,
};

use super::TOUCH;
use crate::geometry::{along, distance};
use crate::model::shape::strip;
use crate::model::{AreaKind, LineKind, Point, Room, Shape};

/// The most straight pieces that the joints of a room may have.
const MOST_PIECES: usize = 500;

/// The most bays, and other levels, that a room may have.
const MOST_BAYS: usize = 200;

/// How wide a joint is taken to be, mm, and how far beyond its ends it still divides: a joint drawn up to a wall reaches it.
const JOINT: f64 = 10.0 * TOUCH;

/// The corners that a circle is drawn with here.
const CIRCLE_CORNERS: u32 = 64;

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
/// A joint that ends inside the floor divides nothing. Stairs belong to no bay; another level is one of its own, joints and all.
pub fn bays(room: &Room) -> Option<Vec<Bay>> {
    let joints = joint_strips(room)?;
    let outline = polygon(&room.corners);
    let mut levels: Vec<Polygon<f64>> = Vec::new();
    let mut steps: Vec<Polygon<f64>> = Vec::new();
    for area in &room.areas {
        match area.kind {
            AreaKind::Level { height: Some(_) } => levels.push(shape_polygon(&area.shape)),
            AreaKind::Level { height: None } => steps.push(shape_polygon(&area.shape)),
            _ => {}
        }
    }
    if levels.len() + steps.len() > MOST_BAYS {
        return None;
    }
    let mut parts = MultiPolygon::new(vec![outline.clone()]);
    if levels.len() + steps.len() > 0 {
        parts = parts.difference(&geo::unary_union(levels.iter().chain(&steps)));
    }
    for level in &levels {
        parts.0.extend(level.intersection(&outline));
    }
    if !joints.0.is_empty() {
        parts = parts.0.iter().flat_map(|part| part.difference(&joints)).collect();
    }
    // What rounding leaves over along an edge is no bay.
    parts.0.retain(|part| part.unsigned_area() > 1.0);
    if parts.0.len() > MOST_BAYS {
        return None;
    }
    let mut bays: Vec<Bay> = parts.0.iter().filter_map(|part| bay(part, room)).collect();
    bays.sort_by(|a, b| b.area.total_cmp(&a.area));
    Some(bays)
}

fn bay(part: &Polygon<f64>, room: &Room) -> Option<Bay> {
    let bounds = part.bounding_rect()?;
    let around = part.minimum_rotated_rect()?;
    let corners: Vec<Point> = around.exterior().coords().copied().collect();
    let sides = (distance(*corners.first()?, *corners.get(1)?), distance(*corners.get(1)?, *corners.get(2)?));
    let at = part.exterior().coords().copied().min_by(|a, b| (a.x + a.y).total_cmp(&(b.x + b.y)))?;
    let mut middles = room.cables.iter().flat_map(|cable| &cable.runs).map(|run| along(run.start, run.end, 0.5));
    Some(Bay {
        area: part.unsigned_area(),
        length: sides.0.max(sides.1),
        width: sides.0.min(sides.1),
        at,
        heated: middles.any(|middle| bounds.intersects(&middle) && part.contains(&middle)),
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

fn polygon(corners: &[Point]) -> Polygon<f64> {
    Polygon::new(geo::LineString::new(corners.to_vec()), Vec::new())
}

fn shape_polygon(shape: &Shape) -> Polygon<f64> {
    match shape {
        Shape::Polygon(corners) => polygon(corners),
        Shape::Circle { centre, radius } => {
            let corner = |number: u32| {
                let (sin, cos) = (std::f64::consts::TAU * f64::from(number) / f64::from(CIRCLE_CORNERS)).sin_cos();
                *centre + Point { x: cos, y: sin } * *radius
            };
            polygon(&(0..CIRCLE_CORNERS).map(corner).collect::<Vec<_>>())
        }
    }
}
