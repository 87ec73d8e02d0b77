//! Where things come nearest to each other, each with the line straight across: what a drawing shows as its least pitch and clearances.

use super::TOUCH;
use super::room::RoomMeasure;
use crate::geometry::ring::edges;
use crate::geometry::{Piece, along, cross, distance, dot};
use crate::model::{AreaKind, Point, Run, Shape};

/// The most of a cable's runs that are asked for their least gap.
const MOST_ASKED: usize = 20_000;
/// The most neighbours that are looked at for a least distance: a bound on what a plan made to be slow can cost.
const MOST_VISITS: usize = 1_000_000;
/// The most places that are compared for where a least distance is shown best.
const MOST_ALIKE: usize = 64;
/// How far from a fixture cable is looked for, mm.
const FARTHEST: f64 = 1000.0;

/// A line straight across between two things, from one to the other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// Where it begins.
    pub from: Point,
    /// Where it ends.
    pub to: Point,
}

impl Gap {
    /// How far apart they are, mm.
    pub fn width(&self) -> f64 {
        distance(self.from, self.to)
    }
}

impl RoomMeasure<'_> {
    /// The least gap between parallel runs of a cable that lie side by side, at the middle of the longest stretch that has it.
    pub fn least_pitch(&self, cable: usize) -> Option<Gap> {
        let pitch = self.pitch(cable)?;
        let runs = &self.room.cables[cable].runs;
        let number = u32::try_from(cable).ok()?;
        let index = self.index();
        let mut best: Option<(f64, f64, Point, Point)> = None;
        let mut visits = 0;
        let every = runs.len() / MOST_ASKED + 1;
        for (own, run) in runs.iter().enumerate().step_by(every) {
            if visits > MOST_VISITS {
                break;
            }
            // In their own order, so that of places alike the same one is shown whatever the index's order.
            let mut others: Vec<_> = index.near(run.piece().bounds(), 1.5 * pitch).take(MOST_VISITS).collect();
            others.sort_unstable();
            for other in others {
                visits += 1;
                if other.cable != number || other.in_cable() < own + 2 {
                    continue;
                }
                let Some((gap, stretch, from, to)) = side_by_side(run, index.run(other)) else { continue };
                // A pitch is what runs of some length keep between them.
                if stretch < 2.0 * pitch {
                    continue;
                }
                let better = best.is_none_or(|(least, longest, ..)| {
                    gap < least - 0.05 || ((gap - least).abs() <= 0.05 && stretch > longest + TOUCH)
                });
                if better {
                    best = Some((gap, stretch, from, to));
                }
            }
        }
        let (_, _, from, to) = best?;
        Some(Gap { from, to })
    }

    /// The least distance from a cable inside the room to a wall, in each place that has it.
    pub fn least_to_wall(&self) -> Vec<Gap> {
        if self.room.corners.is_empty() {
            return Vec::new();
        }
        let inside = self.index().runs().filter_map(|(id, run)| {
            let near = self.wall_distance(id);
            (near.distance > TOUCH && near.outside <= TOUCH).then_some((near, run))
        });
        let inside: Vec<_> = inside.collect();
        let least = inside.iter().map(|(near, _)| near.distance).fold(f64::INFINITY, f64::min);
        let alike = inside.into_iter().filter(|(near, _)| near.distance <= least + TOUCH).take(MOST_ALIKE);
        alike
            .filter_map(|(near, run)| {
                let wall = edges(&self.room.corners).nth(near.wall)?;
                let (from, to) = nearest_points(run.piece(), wall);
                Some(Gap { from, to })
            })
            .collect()
    }

    /// The least distance from a cable outside a fixture that stands on the floor to that fixture.
    pub fn least_to_fixture(&self) -> Option<Gap> {
        // The gap, the length of the run that has it, and the points between which it lies.
        let mut best: Option<(f64, f64, Point, Point)> = None;
        let mut visits = 0;
        let fixtures = self.room.areas.iter().zip(self.zones());
        for (area, zone) in fixtures.filter(|(area, _)| matches!(area.kind, AreaKind::Fixture { raised: None, .. })) {
            let reach = best.map_or(FARTHEST, |(least, ..)| least + TOUCH);
            let index = self.index();
            let mut near: Vec<_> =
                index.near(area.shape.bounds(), reach).take(MOST_VISITS.saturating_sub(visits)).collect();
            near.sort_unstable();
            visits += near.len();
            for id in near {
                let run = index.run(id);
                let gap = zone.distance(run.piece());
                // Of places alike the one on the longest run, where a dimension shows best.
                let better = best.is_none_or(|(least, long, ..)| {
                    gap < least - TOUCH || (gap < least + TOUCH && run.length() > long + TOUCH)
                });
                if gap <= TOUCH || !better {
                    continue;
                }
                let (from, to) = match &area.shape {
                    Shape::Polygon(corners) => {
                        let pairs = edges(corners).map(|edge| nearest_points(run.piece(), edge));
                        let least = pairs.min_by(|a, b| distance(a.0, a.1).total_cmp(&distance(b.0, b.1)));
                        let Some(least) = least else { continue };
                        least
                    }
                    Shape::Circle { centre, radius } => {
                        let (on_run, _) = nearest_points(run.piece(), Piece::at(*centre));
                        (on_run, along(*centre, on_run, radius / distance(*centre, on_run)))
                    }
                };
                best = Some((gap, run.length(), from, to));
            }
        }
        best.map(|(_, _, from, to)| Gap { from, to })
    }
}

/// For two parallel runs: their gap, how long they lie side by side, and a line straight across a third of the way along that.
fn side_by_side(a: &Run, b: &Run) -> Option<(f64, f64, Point, Point)> {
    let length = a.length();
    let step = (a.end - a.start) / length;
    if cross(step, b.end - b.start).abs() > 1e-6 * b.length() {
        return None;
    }
    let (one, two) = (dot(b.start - a.start, step), dot(b.end - a.start, step));
    let (from, to) = (one.min(two).max(0.0), one.max(two).min(length));
    let gap = Piece::new(a.start - step * 1e7, a.end + step * 1e7).distance(b.start);
    if to <= from || gap <= TOUCH {
        return None;
    }
    let foot = a.start + step * (from + (to - from) * 0.62);
    let side = if cross(step, b.start - a.start) > 0.0 { 1.0 } else { -1.0 };
    let across = Point { x: -step.y, y: step.x } * (side * gap);
    Some((gap, to - from, foot, foot + across))
}

/// The points at which two pieces come nearest; of parallel ones, in the middle of what they have side by side.
fn nearest_points(a: Piece, b: Piece) -> (Point, Point) {
    let step = a.step();
    let square = dot(step, step);
    if square > 0.0 && b.start != b.end && cross(step, b.step()).abs() <= 1e-9 * square {
        let (one, two) = (dot(b.start - a.start, step) / square, dot(b.end - a.start, step) / square);
        let (from, to) = (one.min(two).max(0.0), one.max(two).min(1.0));
        if to > from {
            let on_a = a.along(from + (to - from) * 0.38);
            return (on_a, b.along(b.nearest_share(on_a)));
        }
    }
    let near = a.approach(b);
    (a.along(near.first), b.along(near.second))
}
