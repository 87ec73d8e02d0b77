//! How a floor sensor lies between the runs.

use super::cover::Capsule;
use super::index::{RunId, RunIndex};
use super::{TOUCH, length};
use crate::geometry::tolerance::ROUNDING;
use crate::geometry::{Bounds, Piece, cross, distance};
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

/// How many of the nearest runs are tried as one side of the tip at the most.
const SIDES: usize = 64;

/// The runs beside a sensor's tip: of the runs up to twice as far as the very nearest, the one that has another most nearly as far on its
/// other side. Near a turn the nearest may be the step at its end, which has nothing opposite, while the runs of the channel are hardly
/// farther.
pub fn neighbours(index: &RunIndex<'_>, tip: Point) -> Neighbours {
    let mut sides = index.by_distance(tip).take(SIDES).map(|(run, gap)| Beside { run, gap }).peekable();
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
        .take_while(|side| side.gap <= 2.0 * first.gap)
        .map(|side| Neighbours { nearest: Some(side), opposite: opposite(index, tip, side) })
        .min_by(|a, b| {
            let (a, b) = (key(a), key(b));
            a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
        })
        .unwrap_or_default()
}

/// The first run that is met going from the tip away from another.
fn opposite(index: &RunIndex<'_>, tip: Point, beside: Beside) -> Option<Beside> {
    let run = index.run(beside.run).piece();
    let foot = run.along(run.nearest_share(tip));
    let away = (tip - foot) / beside.gap;
    // Far enough to leave the box around all the runs.
    let Bounds { low, high } = index.bounds();
    let ray = Piece::new(tip, tip + away * (distance(low, high) + distance(tip, low)));
    index
        .near(ray.bounds(), TOUCH)
        .filter_map(|other| {
            let piece = index.run(other).piece();
            let parallel = cross(ray.step(), piece.step()) == 0.0;
            let near = ray.approach(piece);
            (!parallel && near.distance <= TOUCH).then(|| Beside { run: other, gap: near.first * ray.length() })
        })
        .min_by(|a, b| a.gap.total_cmp(&b.gap).then(a.run.cmp(&b.run)))
}

/// The runs that a line of points crosses or touches, with the point, in their order; a run as often as pieces of the line
/// meet it.
pub fn crossed(index: &RunIndex<'_>, line: &[Point]) -> Vec<(RunId, Point)> {
    let mut crossed: Vec<(RunId, Point)> = Vec::new();
    for piece in Piece::of_line(line) {
        for id in index.near(piece.bounds(), TOUCH) {
            let run = index.run(id).piece();
            let near = run.approach(piece);
            if near.distance <= TOUCH {
                crossed.push((id, run.along(near.first)));
            }
        }
    }
    crossed.sort_by_key(|(id, _)| *id);
    crossed
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
