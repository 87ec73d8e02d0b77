//! The floor on which a cable, or a lead, may lie: the outline less what each thing in the room keeps to itself.

use geo::{Area as _, BooleanOps as _, LineString, MultiPolygon, Polygon};

use super::limits::Limits;
use crate::geometry::ring::signed_area;
use crate::geometry::{Point, cross, dot};
use crate::layout::kinds::{FixtureKind, PipeKind};
use crate::model::{Area, AreaKind, Line, LineKind, Room, Shape};

/// Corners of the polygon that is taken for a circle, round it.
const ROUND: usize = 16;

/// Parts of the floor smaller than this are no place for a run, mm2.
const CRUMB: f64 = 20_000.0;

/// How far, in clearances, the strip along a sharp corner's edges is led on.
const LONGEST_MITRE: f64 = 2.0;

/// What the floor leaves a heating cable that belongs on one level: the rest of the floor, or a level by its place among the room's areas.
pub fn for_cable(room: &Room, limits: &Limits, level: Option<usize>) -> MultiPolygon<f64> {
    for_cable_over(room, limits, level, &|_| true)
}

/// The same, as if only those areas lay there that are wanted.
pub fn for_cable_over(
    room: &Room,
    limits: &Limits,
    level: Option<usize>,
    wanted: &dyn Fn(&Area) -> bool,
) -> MultiPolygon<f64> {
    let mut kept = Kept::default();
    kept.walls(&room.corners, limits.wall);
    for (index, area) in room.areas.iter().enumerate() {
        if level == Some(index) || !wanted(area) {
            continue;
        }
        if let Some(clearance) = area_clearance(area, limits) {
            kept.shape(&area.shape, clearance);
        }
    }
    for line in &room.lines {
        let clearance = line_clearance(line, limits);
        if clearance > 0.0 {
            kept.line(&line.points, clearance);
        }
    }
    let whole = MultiPolygon::from(polygon(&room.corners));
    let whole = match level.and_then(|level| room.areas.get(level)) {
        Some(area) => {
            kept.walls(&corners_of(&area.shape), limits.margins.clearance);
            whole.intersection(&polygon(&corners_of(&area.shape)))
        }
        None => whole,
    };
    kept.taken_from(&whole)
}

/// The floor that is not to stay cold: what things in the room leave of it by the clearance that the rules reckon the free floor with.
pub fn free(room: &Room, limits: &Limits) -> MultiPolygon<f64> {
    let clearance = limits.margins.clearance;
    let bare = Limits {
        wall: clearance,
        fixture: clearance,
        stove: clearance,
        drill: 0.0,
        joint: 0.0,
        partition: 0.0,
        pipe: 0.0,
        door: 0.0,
        ..limits.clone()
    };
    for_cable_over(room, &bare, None, &|area| area.kind != AreaKind::Drill)
}

/// What the floor leaves a cold tail or a conduit that keeps `border` mm off walls and what stands on the floor.
pub fn for_lead(room: &Room, limits: &Limits, border: f64) -> MultiPolygon<f64> {
    let mut kept = Kept::default();
    kept.walls(&room.corners, border);
    for area in &room.areas {
        match &area.kind {
            AreaKind::Drill => kept.shape(&area.shape, limits.lead_drill + 1.0),
            AreaKind::Fixture { .. } if area.kind.clear_below().is_none() => kept.shape(&area.shape, border),
            AreaKind::Level { height: None } => kept.shape(&area.shape, border),
            // A lead lies on a level, and doesn't cross its edge.
            AreaKind::Level { .. } => {
                let mut edge = corners_of(&area.shape);
                edge.extend(edge.first().copied());
                kept.line(&edge, border);
            }
            AreaKind::Fixture { .. } => {}
        }
    }
    for line in &room.lines {
        match &line.kind {
            // A tail crosses a joint in a sleeve.
            LineKind::Joint => {}
            LineKind::Partition(_) => kept.line(&line.points, border),
            LineKind::Pipe(kind) if *kind != Some(PipeKind::Cold) => kept.line(&line.points, limits.tail_pipe + 1.0),
            LineKind::Pipe(_) => {}
            LineKind::Door { .. } => kept.line(&line.points, limits.tail_door + 1.0),
        }
    }
    kept.taken_from(&MultiPolygon::from(polygon(&room.corners)))
}

/// The floor within some distance of a straight piece, and a little more at its corners.
pub fn around(from: Point, to: Point, distance: f64) -> MultiPolygon<f64> {
    let mut kept = Kept::default();
    kept.line(&[from, to], distance);
    MultiPolygon::new(kept.parts)
}

/// How far a cable keeps from an area; nothing where it may lie there.
fn area_clearance(area: &Area, limits: &Limits) -> Option<f64> {
    match &area.kind {
        AreaKind::Drill => Some(limits.drill),
        AreaKind::Level { .. } => Some(limits.margins.clearance),
        AreaKind::Fixture { kind, .. } => {
            let free = area.kind.clear_below().is_some_and(|clear| clear >= limits.margins.free_height);
            let own = if *kind == Some(FixtureKind::Stove) { limits.stove } else { limits.fixture };
            (!free).then_some(own)
        }
    }
}

fn line_clearance(line: &Line, limits: &Limits) -> f64 {
    match &line.kind {
        LineKind::Joint => limits.joint.max(1.0),
        LineKind::Pipe(Some(PipeKind::Cold)) => 0.0,
        LineKind::Pipe(_) => limits.pipe,
        LineKind::Door { .. } => limits.door,
        LineKind::Partition(_) => limits.partition,
    }
}

/// The polygon of a ring of corners.
pub fn polygon(corners: &[Point]) -> Polygon<f64> {
    Polygon::new(LineString::new(corners.to_vec()), Vec::new())
}

/// The corners of a shape, of a circle those of a polygon round it.
fn corners_of(shape: &Shape) -> Vec<Point> {
    match shape {
        Shape::Polygon(corners) => corners.clone(),
        Shape::Circle { centre, radius } => round(*centre, *radius),
    }
}

/// A polygon round a disc.
pub fn disc(centre: Point, radius: f64) -> Polygon<f64> {
    polygon(&round(centre, radius))
}

fn round(centre: Point, radius: f64) -> Vec<Point> {
    let step = std::f64::consts::TAU / ROUND as f64;
    let outer = radius / (step / 2.0).cos();
    let corner = |index: usize| {
        let (sine, cosine) = ((index as f64 + 0.5) * step).sin_cos();
        centre + Point { x: cosine, y: sine } * outer
    };
    (0..ROUND).map(corner).collect()
}

/// What is kept from a cable.
#[derive(Default)]
struct Kept {
    parts: Vec<Polygon<f64>>,
}

impl Kept {
    /// A strip inside a ring.
    fn walls(&mut self, corners: &[Point], clearance: f64) {
        let inward = if signed_area(corners) < 0.0 { 1.0 } else { -1.0 };
        self.along_ring(corners, clearance, inward);
    }

    /// A shape and a strip round it.
    fn shape(&mut self, shape: &Shape, clearance: f64) {
        match shape {
            Shape::Circle { centre, radius } => self.parts.push(polygon(&round(*centre, radius + clearance))),
            Shape::Polygon(corners) => {
                self.parts.push(polygon(corners));
                let outward = if signed_area(corners) < 0.0 { -1.0 } else { 1.0 };
                self.along_ring(corners, clearance, outward);
            }
        }
    }

    /// Strips along the edges of a ring, led on round corners that stand out into the floor: those that turn left, times `side`.
    fn along_ring(&mut self, corners: &[Point], clearance: f64, side: f64) {
        let count = corners.len();
        let beyond = |index: usize| {
            let (before, at, after) =
                (corners[(index + count - 1) % count], corners[index % count], corners[(index + 1) % count]);
            mitre(before, at, after, side) * clearance
        };
        for index in 0..count {
            let (from, to) = (corners[index], corners[(index + 1) % count]);
            self.strip(from, to, clearance, [beyond(index), beyond(index + 1)]);
        }
    }

    /// A strip on both sides of a line of points, and beyond its ends.
    fn line(&mut self, points: &[Point], clearance: f64) {
        let last = points.len().saturating_sub(1);
        let beyond = |index: usize| {
            if index == 0 || index == last {
                return clearance;
            }
            let of = |side| mitre(points[index - 1], points[index], points[index + 1], side);
            of(1.0).max(of(-1.0)) * clearance
        };
        for index in 0..last {
            self.strip(points[index], points[index + 1], clearance, [beyond(index), beyond(index + 1)]);
        }
    }

    fn strip(&mut self, from: Point, to: Point, clearance: f64, beyond: [f64; 2]) {
        let step = to - from;
        let length = step.x.hypot(step.y);
        if length == 0.0 || clearance <= 0.0 {
            return;
        }
        let unit = step / length;
        let aside = Point { x: -unit.y, y: unit.x } * clearance;
        let (from, to) = (from - unit * beyond[0], to + unit * beyond[1]);
        self.parts.push(polygon(&[from - aside, to - aside, to + aside, from + aside]));
    }

    fn taken_from(&self, whole: &MultiPolygon<f64>) -> MultiPolygon<f64> {
        let mut left = whole.difference(&geo::unary_union(&self.parts));
        left.0.retain(|part| part.unsigned_area() > CRUMB);
        left
    }
}

/// How far, in clearances, the strips along two edges are led on beyond the corner between them so that they meet round it; nothing where
/// the corner doesn't turn to that side.
fn mitre(before: Point, at: Point, after: Point, side: f64) -> f64 {
    let (one, other) = (at - before, after - at);
    let (sine, cosine) = (cross(one, other) * side, dot(one, other));
    if sine <= 0.0 {
        return 0.0;
    }
    let whole = sine.hypot(cosine);
    // tan(φ/2) = sin φ / (1 + cos φ).
    (sine / (whole + cosine)).min(LONGEST_MITRE)
}
