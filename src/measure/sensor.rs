//! How a floor sensor lies between the runs.

use std::f64::consts::FRAC_PI_2;

use super::cover::Capsule;
use super::index::{RunId, RunIndex};
use super::room::RoomMeasure;
use super::{TOUCH, length};
use crate::geometry::tolerance::ROUNDING;
use crate::geometry::{Bounds, Piece, distance, dot};
use crate::model::Point;

/// A run beside the sensor's tip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beside {
    /// The run.
    pub run: RunId,
    /// From the tip to its centre-line, mm.
    pub gap: f64,
}

/// The runs beside a sensor's tip: the nearest of all, and the first that is met going the opposite way.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Neighbours {
    /// The nearest.
    pub nearest: Option<Beside>,
    /// The one opposite.
    pub opposite: Option<Beside>,
}

impl Neighbours {
    /// How far the tip lies from midway between the two, mm.
    pub fn off_centre(&self) -> Option<f64> {
        Some((self.opposite?.gap - self.nearest?.gap).abs() / 2.0)
    }
}

/// The point midway between the runs beside a tip, on the line through it at right angles to the nearest.
pub fn midway(index: &RunIndex<'_>, tip: Point, beside: Neighbours) -> Option<Point> {
    let (nearest, opposite) = (beside.nearest?, beside.opposite?);
    let run = index.run(nearest.run).piece();
    let foot = run.along(run.nearest_share(tip));
    Some(foot + (tip - foot) / nearest.gap * (nearest.gap + opposite.gap) / 2.0)
}

/// How many runs are tried as the nearest where several are as near as each other, at the most.
const AS_NEAR: usize = 8;

/// The runs beside a sensor's tip: the nearest of all, and the first that is met going from the tip straight away from it.
///
/// Near a turn the nearest may be a piece of the turn, which has nothing opposite in its channel; then the two runs that the turn joins
/// count, if the tip lies straight between them. Of runs as near as each other, the one counts that has another most nearly as far on
/// its other side. No side ever lies behind another run.
pub fn neighbours(index: &RunIndex<'_>, tip: Point) -> Neighbours {
    let mut sides = index.by_distance(tip).take(AS_NEAR).map(|(run, gap)| Beside { run, gap }).peekable();
    let Some(&first) = sides.peek() else { return Neighbours::default() };
    if first.gap <= TOUCH {
        return Neighbours { nearest: Some(first), opposite: None };
    }
    // Compared by steps of what lengths are compared to, so that what is alike is decided by distances alone, whichever run comes first.
    let step = |length: f64| (length / TOUCH).round();
    let key = |pair: &Neighbours| {
        let off = pair.off_centre().map_or(f64::INFINITY, step);
        (off, pair.nearest.map_or(f64::INFINITY, |beside| step(beside.gap)))
    };
    sides
        .take_while(|side| side.gap <= first.gap + TOUCH)
        .map(|side| {
            let across = || Neighbours { nearest: Some(side), opposite: opposite(index, tip, side) };
            joined_by_turn(index, tip, side).unwrap_or_else(across)
        })
        .min_by(|a, b| {
            let (a, b) = (key(a), key(b));
            a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
        })
        .unwrap_or_default()
}

/// How many pieces a turn may have that is looked past, to each side of the one that is nearest.
const TURN_PIECES: u32 = 16;

/// The two runs that a turn joins, where a run is a piece of that turn, the tip lies alongside both and between them, and no other run lies
/// between it and either. A turn is the cable between two runs where it is no longer than a half-circle from one to the other.
fn joined_by_turn(index: &RunIndex<'_>, tip: Point, piece: Beside) -> Option<Neighbours> {
    let RunId { cable, run: number } = piece.run;
    let legs = |numbers: std::ops::Range<u32>| {
        let legs = numbers.map(move |run| RunId { cable, run }).filter(|id| index.has(*id));
        legs.filter_map(|id| alongside(index, tip, id)).collect::<Vec<_>>()
    };
    let after = legs(number + 1..number + 1 + TURN_PIECES);
    if after.is_empty() {
        return None;
    }
    let before = legs(number.saturating_sub(TURN_PIECES)..number);
    let pairs = before.iter().flat_map(|one| after.iter().map(move |other| (one, other)));
    let turns = pairs.filter_map(|((one, foot), (other, other_foot))| {
        let run = index.run(one.run);
        let turn = index.run(other.run).before - (run.before + run.length());
        let between = dot(*foot - tip, *other_foot - tip) < 0.0;
        let joins = between && turn <= FRAC_PI_2 * (one.gap + other.gap) + TOUCH;
        (joins && in_sight(index, tip, *foot) && in_sight(index, tip, *other_foot)).then_some((turn, *one, *other))
    });
    // Of a rounded turn the whole, not its pieces.
    let (_, one, other) = turns.max_by(|a, b| a.0.total_cmp(&b.0))?;
    let (nearest, opposite) = if other.gap < one.gap { (other, one) } else { (one, other) };
    Some(Neighbours { nearest: Some(nearest), opposite: Some(opposite) })
}

/// A run that a tip lies alongside, and the point of it straight across; nothing where the tip lies beyond its ends.
fn alongside(index: &RunIndex<'_>, tip: Point, id: RunId) -> Option<(Beside, Point)> {
    let run = index.run(id).piece();
    let foot = run.along(run.nearest_share(tip));
    let inside = distance(foot, run.start).min(distance(foot, run.end)) > TOUCH;
    inside.then_some((Beside { run: id, gap: distance(tip, foot) }, foot))
}

/// Whether no run lies between a tip and a point of a run.
fn in_sight(index: &RunIndex<'_>, tip: Point, point: Point) -> bool {
    let way = Piece::new(tip, point);
    let whole = way.length();
    index
        .near(way.bounds(), TOUCH)
        .all(|other| first_met(way, index.run(other).piece()).is_none_or(|share| share * whole >= whole - TOUCH))
}

/// The first run that is met going from the tip away from another.
fn opposite(index: &RunIndex<'_>, tip: Point, beside: Beside) -> Option<Beside> {
    let run = index.run(beside.run).piece();
    let foot = run.along(run.nearest_share(tip));
    let away = (tip - foot) / beside.gap;
    // Far enough to leave the box around all the runs.
    let Bounds { low, high } = index.bounds();
    let ray = Piece::new(tip, tip + away * (distance(low, high) + distance(tip, low)));
    let whole = ray.length();
    index
        .near(ray.bounds(), TOUCH)
        .filter_map(|other| {
            first_met(ray, index.run(other).piece()).map(|share| Beside { run: other, gap: share * whole })
        })
        .min_by(|a, b| a.gap.total_cmp(&b.gap).then(a.run.cmp(&b.run)))
}

/// The share of a way at which a piece is first met; nothing where it isn't.
fn first_met(way: Piece, piece: Piece) -> Option<f64> {
    let near = way.approach(piece);
    // A piece along the way is met at an end of it.
    let end = |end: Point| {
        let share = way.nearest_share(end);
        (distance(end, way.along(share)) <= TOUCH).then_some(share)
    };
    let met = (near.distance <= TOUCH).then_some(near.first);
    [met, end(piece.start), end(piece.end)].into_iter().flatten().min_by(f64::total_cmp)
}

/// The runs that a line of points crosses or touches, with the point, in their order; a run as often as pieces of the line meet it. Of a run
/// that the line is joined to at a point, only what they share beyond that point counts.
pub fn crossed(index: &RunIndex<'_>, line: &[Point], joints: &[(RunId, Point)]) -> Vec<(RunId, Point)> {
    let mut crossed: Vec<(RunId, Point)> = Vec::new();
    for piece in Piece::of_line(line) {
        for id in index.near(piece.bounds(), TOUCH) {
            let joint = joints.iter().find(|(joined, _)| *joined == id).map(|(_, at)| *at);
            let counts = |at: &Point| joint.is_none_or(|joint| distance(*at, joint) > TOUCH);
            crossed.extend(shared(index.run(id).piece(), piece).find(counts).map(|at| (id, at)));
        }
    }
    crossed.sort_by_key(|(id, _)| *id);
    crossed
}

/// Points that two pieces share: where they come nearest and, since they may lie along one another, the ends of each that lie on the other.
pub(super) fn shared(one: Piece, other: Piece) -> impl Iterator<Item = Point> {
    let near = one.approach(other);
    let met = (near.distance <= TOUCH).then(|| one.along(near.first));
    let on = |point: Point, piece: Piece| (piece.distance(point) <= TOUCH).then_some(point);
    let ends = [on(one.start, other), on(one.end, other), on(other.start, one), on(other.end, one)];
    std::iter::once(met).chain(ends).flatten()
}

/// How far along its conduit a sensor's tip lies inside the heated floor, mm: the length of the last unbroken stretch of the conduit within
/// `reach` (mm) of a run; nothing where the tip lies outside.
pub fn depth(index: &RunIndex<'_>, conduit: &[Point], reach: f64) -> f64 {
    let whole = length::line_length(conduit);
    let mut heated: Vec<(f64, f64)> = Vec::new();
    let mut before = 0.0;
    for piece in Piece::of_line(conduit) {
        let length = piece.length();
        heated.extend(index.near(piece.bounds(), reach).filter_map(|id| {
            // The middle of a channel lies just at half its width from both sides. No more than rounding: the edge of the heated floor is
            // grazed, and what widens it by a little moves the place where it is entered by much more.
            let capsule = Capsule { piece: index.run(id).piece(), radius: reach + ROUNDING };
            capsule.stretch(piece).map(|(from, to)| (before + from * length, before + to * length))
        }));
        before += length;
    }
    // From the tip back, as long as one stretch meets the next.
    heated.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut reached = whole;
    for (from, to) in heated {
        if to < reached - TOUCH {
            break;
        }
        reached = reached.min(from);
    }
    whole - reached
}

impl RoomMeasure<'_> {
    /// The runs beside a sensor's tip.
    pub fn neighbours(&self, sensor: usize) -> Neighbours {
        let all = self.kept.neighbours.get_or_init(|| {
            let tips = self.room.sensors.iter().map(|sensor| sensor.conduit.last().copied().unwrap_or_default());
            tips.map(|tip| neighbours(&self.index(), tip)).collect()
        });
        all[sensor]
    }

    /// The point midway between the runs beside a sensor's tip, straight over from it.
    pub fn midway(&self, sensor: usize) -> Option<Point> {
        let tip = *self.room.sensors.get(sensor)?.conduit.last()?;
        midway(&self.index(), tip, self.neighbours(sensor))
    }

    /// How far a sensor's tip lies inside the heated floor, mm: straight in from the wall that its thermostat stands at, so that a conduit
    /// along that wall counts for nothing, and no farther than along the conduit. The heated floor reaches half a pitch from the cable
    /// (the widest in the room), and over the whole channel that the sensor lies in where that is wider.
    pub fn sensor_depth(&self, sensor: usize) -> Option<f64> {
        let neighbours = self.neighbours(sensor);
        let nearest = neighbours.nearest?;
        let half_channel = neighbours.opposite.map_or(0.0, |opposite| f64::midpoint(nearest.gap, opposite.gap));
        let reach = half_channel.max(self.widest_pitch() / 2.0);
        (reach > 0.0).then(|| {
            let along = depth(&self.index(), &self.conduit(sensor), reach);
            along.min(self.straight_in(sensor, reach).unwrap_or(along))
        })
    }

    /// How far straight in from the wall nearest to its thermostat a sensor's tip lies inside the heated floor, mm; of several walls as near
    /// as each other, from the one that leaves most.
    fn straight_in(&self, sensor: usize, reach: f64) -> Option<f64> {
        let sensor = &self.room.sensors[sensor];
        let (at, tip) = (self.room.thermostats[sensor.thermostat].at, *sensor.conduit.last()?);
        let nearest = self.outline().nearest(Piece::at(at)).1.distance;
        let walls = self.outline().edges().filter(|wall| wall.distance(at) <= nearest + TOUCH);
        let depths = walls.map(|wall| {
            let foot = wall.along(wall.nearest_share(tip));
            if distance(foot, tip) > TOUCH { depth(&self.index(), &[foot, tip], reach) } else { 0.0 }
        });
        depths.reduce(f64::max)
    }

    /// The widest pitch of the room's cables, mm; nothing where none has one.
    pub(super) fn widest_pitch(&self) -> f64 {
        (0..self.room.cables.len()).filter_map(|cable| self.pitch(cable)).fold(0.0, f64::max)
    }

    /// Where a sensor's tip lies `depth` mm into the heated floor, its conduit going straight on or ending earlier; whole millimetres.
    pub fn tip_at(&self, sensor: usize, depth: f64) -> Option<Point> {
        let conduit = self.conduit(sensor);
        let (tip, before) =
            (*conduit.last()?, conduit.iter().rev().find(|point| *point != conduit.last().unwrap_or(point))?);
        let further = depth - self.sensor_depth(sensor)?;
        let at = tip + (tip - *before) * (further / distance(tip, *before));
        Some(Point { x: at.x.round(), y: at.y.round() })
    }

    /// The length of a sensor's conduit from its thermostat, down the wall and along the floor, mm; nothing where the thermostat's height
    /// isn't given.
    pub fn conduit_length(&self, sensor: usize) -> Option<f64> {
        let thermostat = &self.room.thermostats[self.room.sensors[sensor].thermostat];
        Some(thermostat.height? + length::line_length(&self.conduit(sensor)))
    }

    /// A sensor's conduit from below its thermostat to its tip.
    pub(super) fn conduit(&self, sensor: usize) -> Vec<Point> {
        let sensor = &self.room.sensors[sensor];
        std::iter::once(self.room.thermostats[sensor.thermostat].at).chain(sensor.conduit.iter().copied()).collect()
    }

    /// The runs that a sensor's conduit crosses or touches, each with a point they share.
    pub fn conduit_crossed(&self, sensor: usize) -> Vec<(RunId, Point)> {
        let mut crossed = crossed(&self.index(), &self.conduit(sensor), &[]);
        crossed.dedup_by_key(|(id, _)| *id);
        crossed
    }
}
