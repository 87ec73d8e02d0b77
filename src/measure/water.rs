//! How far thermostats and junction boxes lie from baths, showers and their heads, the way round walls and partitions.
//!
//! IEC 60364-7-701 measures its zones along a string drawn taut from the water to the fitting, round walls and fixed partitions and
//! through doorways. A taut string is straight but where it bends round an end of them, so it runs along the edges of the graph of
//! those ends that see each other.

use std::collections::BinaryHeap;

use super::TOUCH;
use super::room::{Feature, RoomMeasure};
use super::zones::Zone;
use crate::geometry::ring::edges;
use crate::geometry::{Piece, along, cross, distance, dot};
use crate::layout::kinds::FixtureKind;
use crate::model::{AreaKind, LineKind, Point, Room, Shape};

/// A thermostat or a junction box, by its index.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fitting {
    /// An index into the room's thermostats.
    Thermostat(usize),
    /// An index into the room's junction boxes.
    Junction(usize),
}

/// A fitting near water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NearWater {
    /// The fitting.
    pub fitting: Fitting,
    /// The bath, the shower's basin, or the head of a shower that has none.
    pub water: Feature,
    /// From that, along a string drawn taut round walls and partitions, mm.
    pub distance: f64,
    /// The height of the highest shower head there, mm; 0 where none is given.
    pub shower_head: f64,
}

/// That a room's walls and partitions are too many to follow strings round.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TooIntricate;

/// How far a string keeps from what it bends round, mm: well below [`TOUCH`], well above the error of a coordinate.
const GAP: f64 = 1e-5;
/// How far a shape is drawn in, mm, so that its edge lies off a wall that it stands against.
const INSET: f64 = 3e-5;
// What is drawn in stays farther off a wall than a string keeps from it, and neither is a length that anyone reads off a plan.
const _: () = assert!(INSET > 2.5 * GAP && 30.0 * INSET <= TOUCH);
/// How many questions whether one point sees another may be asked of a room, counted by the obstacles that each is held to.
const MOST_LOOKS: usize = 20_000_000;

/// The water of a room: baths and showers with a basin, and heads of showers without.
struct Water {
    feature: Feature,
    /// A bath or a basin, drawn in; nothing for a shower head.
    shape: Option<Shape>,
    /// Where a shower head can be reached.
    points: Vec<Point>,
    /// What zones begin at.
    zone: Zone,
    shower_head: f64,
}

/// The fittings of a room that lie nearer than `reach` (mm) to its water. Walls without a gap keep water off; partitions lower than
/// `least_height` (mm) don't.
///
/// # Errors
/// Where there are too many walls and partitions to tell.
pub fn near_water(room: &RoomMeasure<'_>, reach: f64, least_height: f64) -> Result<Vec<NearWater>, TooIntricate> {
    let obstacles = obstacles(room.room, least_height);
    let mut looks = 0;
    let waters = waters(room, &obstacles, &mut looks)?;
    if waters.is_empty() {
        return Ok(Vec::new());
    }
    let mut found = Vec::new();
    for (fitting, at) in fittings(room.room) {
        let near: Vec<&Water> = waters.iter().filter(|water| water.zone.distance(Piece::at(at)) < reach).collect();
        if near.is_empty() {
            continue;
        }
        let mut strings = Strings::new(room, at, &obstacles, reach, &mut looks)?;
        for water in near {
            if let Some(distance) = strings.length_to(water)? {
                found.push(NearWater { fitting, water: water.feature, distance, shower_head: water.shower_head });
            }
        }
    }
    Ok(found)
}

fn fittings(room: &Room) -> impl Iterator<Item = (Fitting, Point)> {
    let thermostats = room.thermostats.iter().zip(0..).map(|(own, index)| (Fitting::Thermostat(index), own.at));
    thermostats.chain(room.junctions.iter().zip(0..).map(|(own, index)| (Fitting::Junction(index), own.at)))
}

fn waters(measure: &RoomMeasure<'_>, obstacles: &[Piece], looks: &mut usize) -> Result<Vec<Water>, TooIntricate> {
    let room = measure.room;
    let basins = room.areas.iter().zip(0..).filter(|(area, _)| match &area.kind {
        AreaKind::Fixture { kind, .. } => matches!(kind, Some(FixtureKind::Bath | FixtureKind::Shower)),
        _ => false,
    });
    let mut waters: Vec<Water> = basins
        .map(|(area, index)| Water {
            feature: Feature::Area(index),
            shape: Some(drawn_in(&area.shape)),
            points: Vec::new(),
            zone: Zone::new(&area.shape),
            shower_head: 0.0,
        })
        .collect();
    let basins = waters.len();
    for (head, index) in room.shower_heads.iter().zip(0..) {
        let height = head.height.unwrap_or(0.0);
        let mut over = false;
        for water in waters[..basins].iter_mut().filter(|water| water.zone.distance(Piece::at(head.at)) <= TOUCH) {
            water.shower_head = water.shower_head.max(height);
            over = true;
        }
        if !over {
            look(looks, obstacles.len())?;
            let points = standing(measure, obstacles, head.at);
            let zone = Zone::Circle(head.at, 0.0);
            waters.push(Water { feature: Feature::ShowerHead(index), shape: None, points, zone, shower_head: height });
        }
    }
    Ok(waters)
}

/// Where something at a point stands for its strings: beside a wall, on the inner side; beside a partition, on either.
fn standing(room: &RoomMeasure<'_>, obstacles: &[Piece], at: Point) -> Vec<Point> {
    let walls = room.outline();
    let off_wall = walls.nearest(Piece::at(at)).1.distance;
    if off_wall <= TOUCH {
        let inside = around(at, off_wall + 2.0 * GAP).filter(|point| walls.contains(*point));
        inside.filter(|point| !touches(obstacles, *point)).collect()
    } else if touches(obstacles, at) {
        around(at, 2.0 * GAP).filter(|point| !touches(obstacles, *point)).collect()
    } else {
        vec![at]
    }
}

/// A shape with its edge moved inwards by [`INSET`].
fn drawn_in(shape: &Shape) -> Shape {
    match shape {
        Shape::Circle { centre, radius } => Shape::Circle { centre: *centre, radius: (radius - INSET).max(0.0) },
        Shape::Polygon(corners) => {
            let count = corners.len();
            let moved = (0..count).map(|index| {
                let (before, here, after) =
                    (corners[(index + count - 1) % count], corners[index], corners[(index + 1) % count]);
                // Corners go counter-clockwise, so that the inside is to the left of both edges.
                let (a, b) = (left_of(before, here), left_of(here, after));
                let scale = 1.0 + dot(a, b);
                if scale < 1e-3 { here } else { here + (a + b) * (INSET / scale) }
            });
            Shape::Polygon(moved.collect())
        }
    }
}

/// The step of length 1 to the left of the way from `a` to `b`.
fn left_of(a: Point, b: Point) -> Point {
    let step = (b - a) / distance(a, b);
    Point { x: -step.y, y: step.x }
}

/// Walls without their doorways, and partitions of at least this height.
fn obstacles(room: &Room, least_height: f64) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let count = room.corners.len();
    for wall in 0..count {
        let whole = Piece::new(room.corners[wall], room.corners[(wall + 1) % count]);
        let mut doors: Vec<(f64, f64)> = room
            .lines
            .iter()
            .filter(|line| matches!(line.kind, LineKind::Door { wall: own, .. } if own == wall))
            .filter_map(|line| Some((*line.points.first()?, *line.points.last()?)))
            .map(|(from, to)| (whole.nearest_share(from), whole.nearest_share(to)))
            .collect();
        doors.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut from = 0.0;
        for (open, shut) in doors {
            pieces.push(Piece::new(whole.along(from), whole.along(open.max(from))));
            from = shut.max(from);
        }
        pieces.push(Piece::new(whole.along(from), whole.end));
    }
    for line in &room.lines {
        let LineKind::Partition(height) = line.kind else { continue };
        if height.is_none_or(|height| height >= least_height - TOUCH) {
            pieces.extend(Piece::of_line(&line.points));
        }
    }
    pieces.retain(|piece| piece.length() > TOUCH);
    pieces
}

/// Strings from one fitting.
struct Strings<'s> {
    /// Pieces of wall and partition within reach.
    obstacles: Vec<Piece>,
    /// Where a string may start.
    starts: Vec<Point>,
    /// Where it may start or bend, each with how much string leads there; worked out when first one must bend.
    bends: Option<Vec<(Point, f64)>>,
    reach: f64,
    looks: &'s mut usize,
}

impl<'s> Strings<'s> {
    fn new(
        room: &RoomMeasure<'_>,
        at: Point,
        obstacles: &[Piece],
        reach: f64,
        looks: &'s mut usize,
    ) -> Result<Self, TooIntricate> {
        look(looks, obstacles.len())?;
        let near = obstacles.iter().filter(|piece| piece.distance(at) <= reach);
        let obstacles: Vec<Piece> = near.copied().collect();
        let starts = standing(room, &obstacles, at);
        Ok(Strings { obstacles, starts, bends: None, reach, looks })
    }

    /// Whether nothing stands between two points.
    fn sees(&mut self, a: Point, b: Point) -> Result<bool, TooIntricate> {
        look(self.looks, self.obstacles.len())?;
        Ok(self.obstacles.iter().all(|piece| !blocks(*piece, a, b)))
    }

    /// The length of the taut string to some water; nothing where it is longer than the reach, or there is none.
    fn length_to(&mut self, water: &Water) -> Result<Option<f64>, TooIntricate> {
        let Some(first) = self.starts.first().copied() else { return Ok(None) };
        let corners = self.where_they_meet(water);
        let mut least = f64::INFINITY;
        for start in self.starts.clone() {
            least = least.min(self.last_piece(start, water, &corners, self.reach)?);
        }
        // Only a string that something stands in the way of bends.
        if least > water.zone.distance(Piece::at(first)) + TOUCH / 2.0 && !self.obstacles.is_empty() {
            let bends = match self.bends.take() {
                Some(bends) => bends,
                None => self.spread()?,
            };
            for (bend, length) in &bends {
                if *length < least.min(self.reach) {
                    least = least.min(length + self.last_piece(*bend, water, &corners, least - length)?);
                }
            }
            self.bends = Some(bends);
        }
        Ok((least < self.reach).then_some(least))
    }

    /// Beside each place where a wall or a partition enters some water's shape: how far a string can slide along its edge.
    fn where_they_meet(&self, water: &Water) -> Vec<Point> {
        let Some(shape) = &water.shape else { return Vec::new() };
        let zone = Zone::new(shape);
        let mut places = Vec::new();
        let mut shares = Vec::new();
        for piece in &self.obstacles {
            shares.clear();
            zone.cuts(*piece, &mut shares);
            let side = left_of(piece.start, piece.end) * (2.0 * GAP);
            let beside = shares.iter().flat_map(|share| {
                let at = piece.along(*share);
                [at + side, at - side]
            });
            // Where one runs along the edge, its other side is off the shape.
            places.extend(beside.filter(|place| zone.distance(Piece::at(*place)) <= 2.5 * GAP));
        }
        places
    }

    /// The straight way from a point to some water, where it is shorter than `most` and nothing stands in it.
    fn last_piece(&mut self, from: Point, water: &Water, corners: &[Point], most: f64) -> Result<f64, TooIntricate> {
        if water.zone.distance(Piece::at(from)) == 0.0 {
            return Ok(0.0);
        }
        let mut targets = [corners, &water.points].concat();
        match &water.shape {
            None => {}
            Some(Shape::Circle { centre, radius }) => {
                let away = distance(from, *centre);
                targets.push(along(*centre, from, if away > 0.0 { (radius / away).min(1.0) } else { 0.0 }));
            }
            Some(Shape::Polygon(corners)) => {
                targets.extend(edges(corners).map(|edge| edge.along(edge.nearest_share(from))));
            }
        }
        let mut least = f64::INFINITY;
        for target in targets {
            let length = distance(from, target);
            if length < least.min(most) && self.sees(from, target)? {
                least = length;
            }
        }
        Ok(least)
    }

    /// The length of string to each place where it may bend and that it reaches, by Dijkstra's algorithm.
    fn spread(&mut self) -> Result<Vec<(Point, f64)>, TooIntricate> {
        let mut ends: Vec<Point> = self.obstacles.iter().flat_map(|piece| [piece.start, piece.end]).collect();
        ends.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
        ends.dedup();
        look(self.looks, ends.len() * AROUND as usize * self.obstacles.len())?;
        // Round each end, wherever a string could pass it; one that leads through a joint between two pieces is stopped there.
        let bends = ends.into_iter().flat_map(|end| around(end, 2.0 * GAP));
        let bends = bends.filter(|point| !touches(&self.obstacles, *point));
        let nodes: Vec<Point> = self.starts.iter().copied().chain(bends).collect();
        let mut lengths = vec![f64::INFINITY; nodes.len()];
        let mut done = vec![false; nodes.len()];
        let mut next = BinaryHeap::new();
        for (start, length) in lengths.iter_mut().enumerate().take(self.starts.len()) {
            *length = 0.0;
            next.push((std::cmp::Reverse(0u64), start));
        }
        while let Some((_, node)) = next.pop() {
            if std::mem::replace(&mut done[node], true) {
                continue;
            }
            for other in 0..nodes.len() {
                let length = lengths[node] + distance(nodes[node], nodes[other]);
                if !done[other] && length < lengths[other].min(self.reach) && self.sees(nodes[node], nodes[other])? {
                    lengths[other] = length;
                    // The bits of floats that are not negative sort as they do.
                    next.push((std::cmp::Reverse(length.to_bits()), other));
                }
            }
        }
        Ok(nodes.into_iter().zip(lengths).filter(|(_, length)| length.is_finite()).collect())
    }
}

/// Counts what is looked at.
fn look(looks: &mut usize, obstacles: usize) -> Result<(), TooIntricate> {
    *looks += obstacles.max(1);
    if *looks > MOST_LOOKS { Err(TooIntricate) } else { Ok(()) }
}

fn touches(obstacles: &[Piece], point: Point) -> bool {
    obstacles.iter().any(|piece| piece.distance(point) < GAP / 2.0)
}

/// How many points stand round an end.
const AROUND: u32 = 16;

/// Points round another.
fn around(at: Point, radius: f64) -> impl Iterator<Item = Point> {
    (0..AROUND).map(move |step| {
        let (sine, cosine) = (std::f64::consts::TAU * (f64::from(step) + 0.5) / f64::from(AROUND)).sin_cos();
        at + Point { x: cosine, y: sine } * radius
    })
}

/// Whether a piece of wall touches or crosses the way from `a` to `b`.
fn blocks(piece: Piece, a: Point, b: Point) -> bool {
    let (step, across) = (piece.step(), b - a);
    // Most lie wholly to one side.
    let sides = (cross(step, a - piece.start), cross(step, b - piece.start));
    let clear = GAP / 4.0 * (step.x.abs() + step.y.abs());
    if (sides.0 > clear && sides.1 > clear) || (sides.0 < -clear && sides.1 < -clear) {
        return false;
    }
    if dot(across, across) == 0.0 {
        return piece.distance(a) < GAP / 4.0;
    }
    piece.approach(Piece::new(a, b)).distance < GAP / 4.0
}
