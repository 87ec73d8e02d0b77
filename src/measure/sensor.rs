//! How a floor sensor lies between the runs.

use super::cover::Capsule;
use super::index::{RunId, RunIndex, piece_box};
use super::segment::{along, approach, cross, distance};
use super::{TOUCH, length};
use crate::model::Point;
use crate::model::shape::bounds;

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

/// The runs beside a sensor's tip.
pub fn neighbours(index: &RunIndex<'_>, tip: Point) -> Neighbours {
    let Some((id, gap)) = index.by_distance(tip).next() else { return Neighbours::default() };
    let nearest = Some(Beside { run: id, gap });
    if gap <= TOUCH {
        return Neighbours { nearest, opposite: None };
    }
    let run = index.run(id);
    let foot = along(run.start, run.end, super::segment::nearest_share(tip, run.start, run.end));
    let away = (tip - foot) / gap;
    // Far enough to leave any box around all the runs.
    let corners: Vec<Point> = index.runs().flat_map(|(_, run)| [run.start, run.end]).collect();
    let (low, high) = bounds(&corners);
    let far = tip + away * (distance(low, high) + distance(tip, low));
    let (ray_low, ray_high) = piece_box(tip, far);
    let opposite = index
        .near(ray_low, ray_high, TOUCH)
        .filter_map(|other| {
            let piece = index.run(other);
            let parallel = cross(far - tip, piece.end - piece.start) == 0.0;
            let near = approach((tip, far), (piece.start, piece.end));
            (!parallel && near.distance <= TOUCH).then(|| Beside { run: other, gap: near.first * distance(tip, far) })
        })
        .min_by(|a, b| a.gap.total_cmp(&b.gap).then(a.run.cmp(&b.run)));
    Neighbours { nearest, opposite }
}

/// The runs that a line of points crosses or touches, with the point, in their order; a run as often as pieces of the line
/// meet it.
pub fn crossed(index: &RunIndex<'_>, line: &[Point]) -> Vec<(RunId, Point)> {
    let mut crossed: Vec<(RunId, Point)> = Vec::new();
    for pair in line.windows(2) {
        let (low, high) = piece_box(pair[0], pair[1]);
        for id in index.near(low, high, TOUCH) {
            let run = index.run(id);
            let near = approach((run.start, run.end), (pair[0], pair[1]));
            if near.distance <= TOUCH {
                crossed.push((id, along(run.start, run.end, near.first)));
            }
        }
    }
    crossed.sort_by_key(|(id, _)| *id);
    crossed
}

/// What a distance may miss by rounding, mm. Far below [`TOUCH`]: the edge of the heated floor is grazed, and what widens it by a
/// little moves the place where it is entered by much more.
const ROUNDING: f64 = 1e-9;

/// How far along its conduit a sensor's tip lies inside the heated floor, mm: from where the conduit first comes within
/// `reach` (mm) of a run, to its end.
pub fn depth(index: &RunIndex<'_>, conduit: &[Point], reach: f64) -> f64 {
    let whole = length::line_length(conduit);
    let mut before = 0.0;
    for pair in conduit.windows(2) {
        let (low, high) = piece_box(pair[0], pair[1]);
        let entered = index
            .near(low, high, reach)
            .filter_map(|id| {
                let run = index.run(id);
                // The middle of a channel lies just at half its width from both sides.
                Capsule { a: run.start, b: run.end, radius: reach + ROUNDING }.stretch(pair[0], pair[1])
            })
            .map(|(from, _)| from)
            .min_by(f64::total_cmp);
        let length = distance(pair[0], pair[1]);
        if let Some(share) = entered {
            return whole - before - share * length;
        }
        before += length;
    }
    0.0
}
