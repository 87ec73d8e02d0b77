//! Where a sensor's conduit can be led in: along the walls from its thermostat, then straight into a channel between two runs that no turn
//! closes.

use super::across::FARTHEST_NEIGHBOUR;
use super::index::RunId;
use super::room::{RoomMeasure, kept};
use super::{TOUCH, length, sensor};
use crate::geometry::{Piece, Ring, cross, distance, dot};
use crate::model::Point;

/// How many runs, the nearest to the thermostat first, are looked at for a channel beside them.
const MOST_TRIED: usize = 120;

/// Conduits are led to whole millimetres, so that depth and middle are met to this, mm.
const WHOLE: f64 = 1.0;

fn whole(point: Point) -> Point {
    Point { x: point.x.round() + 0.0, y: point.y.round() + 0.0 }
}

/// The ways along a ring's edges from the point nearest to one point to another on an edge: forwards and backwards, ends left out.
fn round_the_walls(outline: &Ring, from: Point, to: Point) -> [Vec<Point>; 2] {
    let corners = outline.corners();
    let (first, _) = outline.nearest(Piece::at(from));
    let (last, _) = outline.nearest(Piece::at(to));
    let foot = outline.edge(first).along(outline.edge(first).nearest_share(from));
    let count = corners.len();
    let (mut forwards, mut backwards) = (vec![foot], vec![foot]);
    let mut edge = first;
    while edge != last {
        edge = (edge + 1) % count;
        forwards.push(corners[edge]);
    }
    let mut edge = first;
    while edge != last {
        backwards.push(corners[edge]);
        edge = (edge + count - 1) % count;
    }
    [forwards, backwards]
}

/// Where a way first leaves a ring.
fn leaves(outline: &Ring, way: Piece) -> Option<Point> {
    let mut cuts = Vec::new();
    outline.cuts(way, &mut cuts);
    cuts.into_iter().filter(|cut| *cut > 0.0).min_by(f64::total_cmp).map(|cut| way.along(cut))
}

impl RoomMeasure<'_> {
    /// The shortest conduit for a sensor, from the wall by its thermostat on, whose tip lies midway between two runs and `depth` (mm) inside
    /// the heated floor, and that crosses no run; nothing where there is no such channel. All its points are whole millimetres.
    pub fn lead_in(&self, sensor: usize, depth: f64) -> Option<Vec<Point>> {
        // Several rules may offer the same.
        kept(&self.kept.conduits, (sensor, depth.to_bits()), || self.find_lead_in(sensor, depth)).as_ref().clone()
    }

    fn find_lead_in(&self, sensor: usize, depth: f64) -> Option<Vec<Point>> {
        let own = self.room.sensors.get(sensor)?;
        let from = self.room.thermostats.get(own.thermostat)?.at;
        let index = self.index();
        let mut best: Option<(f64, Vec<Point>)> = None;
        for (id, near) in index.by_distance(from).take(MOST_TRIED) {
            // What lies farther off than the best is long needs no look.
            if best.as_ref().is_some_and(|(least, _)| near > *least) {
                break;
            }
            for other in index.near(index.run(id).piece().bounds(), FARTHEST_NEIGHBOUR) {
                if other <= id || !self.is_channel(id, other) {
                    continue;
                }
                let most = best.as_ref().map_or(f64::INFINITY, |(least, _)| least - TOUCH);
                for conduit in self.conduits_between(id, other, from, depth, most) {
                    let line: Vec<Point> = std::iter::once(from).chain(conduit.iter().copied()).collect();
                    let long = length::line_length(&line);
                    let shorter = best.as_ref().is_none_or(|(least, _)| long < least - TOUCH);
                    if shorter && self.leads_well(&line) {
                        best = Some((long, conduit));
                    }
                }
            }
        }
        best.map(|(_, conduit)| conduit)
    }

    /// Whether two runs lie side by side for longer than they lie apart, and none between them half way along.
    fn is_channel(&self, one: RunId, other: RunId) -> bool {
        let Some((low, high, gap)) = self.side_by_side(one, other) else { return false };
        let run = self.index().run(one).piece();
        let step = run.step() / run.length();
        let middle = run.start + step * f64::midpoint(low, high) + Point { x: -step.y, y: step.x } * (gap / 2.0);
        let free = |distance: f64| distance >= gap.abs() / 2.0 - WHOLE;
        high - low > gap.abs() && self.index().by_distance(middle).next().is_some_and(|(_, distance)| free(distance))
    }

    /// From where to where along a run another lies beside it, and how far to its left, mm; nothing where it doesn't, or askew.
    fn side_by_side(&self, one: RunId, other: RunId) -> Option<(f64, f64, f64)> {
        let index = self.index();
        let (run, beside) = (index.run(one).piece(), index.run(other).piece());
        let step = run.step() / run.length();
        let parallel = cross(step, beside.step() / beside.length()).abs() <= 1e-3;
        let (first, last) = (dot(beside.start - run.start, step), dot(beside.end - run.start, step));
        let (low, high) = (first.min(last).max(0.0), first.max(last).min(run.length()));
        let gap = cross(step, beside.start - run.start);
        let beside = parallel && high - low > TOUCH && gap.abs() > TOUCH && gap.abs() <= FARTHEST_NEIGHBOUR;
        beside.then_some((low, high, gap))
    }

    /// Conduits into the channel between two runs, from either end of it, by either way round the walls that is shorter than `most`, mm, whose
    /// tips lie as deep as wanted.
    fn conduits_between(&self, one: RunId, other: RunId, from: Point, depth: f64, most: f64) -> Vec<Vec<Point>> {
        let Some((low, high, gap)) = self.side_by_side(one, other) else { return Vec::new() };
        let run = self.index().run(one).piece();
        let long = run.length();
        let step = run.step() / long;
        let along = |point: Point| dot(point - run.start, step);
        let across = Point { x: -step.y, y: step.x } * (gap / 2.0);
        let middle = |at: f64| run.start + step * at + across;
        let mut conduits = Vec::new();
        for (end, out) in [(low, step * -1.0), (high, step)] {
            // From inside the channel outwards, as far as any room goes.
            let bounds = self.outline().bounds();
            let far = distance(bounds.low, bounds.high) + long;
            let Some(mouth) = leaves(self.outline(), Piece::new(middle(end), middle(end) + out * far)) else {
                continue;
            };
            let mouth = whole(mouth);
            for way in round_the_walls(self.outline(), from, mouth) {
                // To the mouth and into the channel it goes in any case; to a millimetre, since its points are whole ones.
                let least = [mouth, middle(end)];
                let points: Vec<Point> = [from].into_iter().chain(way.iter().copied()).chain(least).collect();
                if length::line_length(&points) - WHOLE * points.len() as f64 >= most {
                    continue;
                }
                let mut inside = depth;
                // The heated floor begins before the run does: what is too deep at first is drawn back by so much.
                for _ in 0..3 {
                    let tip = whole(middle(end) - out * inside);
                    let at = along(tip);
                    if at <= low + TOUCH || at >= high - TOUCH {
                        break;
                    }
                    let mut conduit: Vec<Point> = way.iter().copied().map(whole).chain([mouth, tip]).collect();
                    conduit.dedup();
                    let line: Vec<Point> = std::iter::once(from).chain(conduit.iter().copied()).collect();
                    let off = self.depth_of(&line) - depth;
                    if off.abs() <= WHOLE {
                        conduits.push(conduit);
                        break;
                    }
                    inside -= off;
                }
            }
        }
        conduits
    }

    /// How deep the tip of a conduit, from its thermostat on, lies in the heated floor, mm.
    fn depth_of(&self, line: &[Point]) -> f64 {
        let tip = line.last().copied().unwrap_or_default();
        let beside = sensor::neighbours(&self.index(), tip);
        let channel = beside.nearest.zip(beside.opposite).map_or(0.0, |(one, other)| f64::midpoint(one.gap, other.gap));
        sensor::depth(&self.index(), line, channel.max(self.widest_pitch() / 2.0))
    }

    /// Whether a conduit, from its thermostat on, crosses no run, and its tip lies midway between two.
    fn leads_well(&self, line: &[Point]) -> bool {
        let tip = line.last().copied().unwrap_or_default();
        let middle = sensor::neighbours(&self.index(), tip).off_centre();
        middle.is_some_and(|off| off <= WHOLE) && sensor::crossed(&self.index(), line, &[]).is_empty()
    }
}
