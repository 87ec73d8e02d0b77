//! Lengths: of a cable as laid, of its turns, of tails and conduits.

use super::{Point, Run};
use crate::geometry::tolerance::TOUCH;
use crate::geometry::{along, cross, distance, dot};

/// A corner of a cable, where one run ends and the next begins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turn {
    /// Index of the run that ends here.
    pub run: usize,
    /// The tangent of half the angle by which the direction changes; infinite for a fold.
    pub half_tangent: f64,
    /// The largest radius it can be bent to, mm: its curve may take half of each run, all of a first or a last one.
    pub radius: f64,
}

impl Turn {
    /// By how much the direction changes, radians.
    pub fn angle(&self) -> f64 {
        2.0 * self.half_tangent.atan()
    }

    /// The curve of its largest radius between two runs, as so many chords, by their ends, mm; nothing where there is no room for one.
    pub fn curve(&self, before: &Run, after: &Run, chords: u32) -> Vec<Point> {
        let tangent = self.radius * self.half_tangent;
        if !tangent.is_finite() || tangent <= 0.0 {
            return Vec::new();
        }
        let (into, out) = (before.end - before.start, after.end - after.start);
        let from = along(before.end, before.start, tangent / before.length());
        let hand = if cross(into, out) > 0.0 { 1.0 } else { -1.0 };
        let way = into / before.length();
        let side = Point { x: -way.y, y: way.x } * hand;
        let at = |share: f64| {
            let (sine, cosine) = (self.angle() * share).sin_cos();
            from + way * (self.radius * sine) + side * (self.radius * (1.0 - cosine))
        };
        (0..=chords).map(|step| at(f64::from(step) / f64::from(chords))).collect()
    }
}

/// Directions that change by less, and folds that miss half a turn by less, are straight and whole; radians.
const LEAST_ANGLE: f64 = 1e-6;

/// The turns of a cable, in order. A corner that changes no direction is no turn.
pub fn turns(runs: &[Run]) -> impl Iterator<Item = Turn> + '_ {
    let last = runs.len().saturating_sub(2);
    runs.windows(2).enumerate().filter_map(move |(index, pair)| {
        let (a, b) = (pair[0].length(), pair[1].length());
        let (first, second) = (pair[0].end - pair[0].start, pair[1].end - pair[1].start);
        // tan(φ/2) = sin φ/(1 + cos φ) = (1 - cos φ)/sin φ; each form where it keeps its digits.
        let (sine, cosine) = (cross(first, second).abs(), dot(first, second));
        let half_tangent = if cosine >= 0.0 { sine / (a * b + cosine) } else { (a * b - cosine) / sine };
        if half_tangent < LEAST_ANGLE / 2.0 {
            return None;
        }
        let tangent = (if index == 0 { a } else { a / 2.0 }).min(if index == last { b } else { b / 2.0 });
        // A fold of half a turn has no room for any curve.
        let radius = if half_tangent > 2.0 / LEAST_ANGLE { 0.0 } else { tangent / half_tangent };
        Some(Turn { run: index, half_tangent, radius })
    })
}

/// The length of cable that a path takes when each corner is rounded to `bend_radius` (mm), or to what it has room for
/// where that is less.
///
/// A curve of radius r through an angle φ takes r·φ of cable where the corner takes 2·r·tan(φ/2).
///
/// ```
/// use layrule::model::{Point, Run, length::laid_length};
/// let p = |x, y| Point { x, y };
/// let run = |start, end, before| Run { start, end, before, place: Default::default() };
/// let path = [run(p(0.0, 0.0), p(100.0, 0.0), 0.0), run(p(100.0, 0.0), p(100.0, 100.0), 100.0)];
/// let quarter = 20.0 * std::f64::consts::FRAC_PI_2;
/// assert!((laid_length(&path, 20.0) - (200.0 - 40.0 + quarter)).abs() < 1e-9);
/// ```
pub fn laid_length(runs: &[Run], bend_radius: f64) -> f64 {
    drawn_length(runs) - saved_by_rounding(turns(runs), bend_radius)
}

/// The length of a path with sharp corners, mm.
pub fn drawn_length(runs: &[Run]) -> f64 {
    runs.last().map_or(0.0, |run| run.before + run.length())
}

/// How much shorter a path gets when its turns are rounded to `bend_radius` (mm), or to what they have room for where that is less, mm.
pub fn saved_by_rounding(turns: impl Iterator<Item = Turn>, bend_radius: f64) -> f64 {
    let saved = turns.map(|turn| {
        let radius = turn.radius.min(bend_radius);
        if radius > 0.0 { radius * (2.0 * turn.half_tangent - turn.angle()) } else { 0.0 }
    });
    saved.sum()
}

/// The angle that one straight piece of a rounded corner takes at the most, radians: 15 degrees.
const PIECE_ANGLE: f64 = std::f64::consts::FRAC_PI_6 / 2.0;

/// A path whose corners are rounded as for [`laid_length`], as a line of points; curves go in pieces of 15 degrees at the most, whose ends
/// lie on them.
pub fn rounded_line(runs: &[Run], bend_radius: f64) -> Vec<Point> {
    let mut line: Vec<Point> = runs.first().map(|run| run.start).into_iter().collect();
    for turn in turns(runs) {
        let (before, after) = (&runs[turn.run], &runs[turn.run + 1]);
        let radius = turn.radius.min(bend_radius);
        if radius <= 0.0 {
            line.push(before.end);
            continue;
        }
        let (first, second) = (before.end - before.start, after.end - after.start);
        let step = first / before.length();
        let left = cross(first, second).signum();
        let across = Point { x: -step.y, y: step.x } * left;
        let start = before.end - step * (radius * turn.half_tangent);
        let pieces = (turn.angle() / PIECE_ANGLE - 1e-9).ceil().max(1.0);
        for piece in 0..=pieces as u32 {
            let (sin, cos) = (turn.angle() * f64::from(piece) / pieces).sin_cos();
            line.push(start + across * (radius * (1.0 - cos)) + step * (radius * sin));
        }
    }
    line.extend(runs.last().map(|run| run.end));
    line.dedup_by(|next, last| distance(*next, *last) < TOUCH);
    line
}

/// Where so much of a path lies before a place, and the direction in which it goes on there, of the length of one; its corners are rounded
/// as for [`laid_length`]. `lengths` stand in order, mm; what lies beyond the end is left out.
pub fn places_along(runs: &[Run], bend_radius: f64, lengths: &[f64]) -> Vec<(Point, Point)> {
    let (Some(first), Some(last)) = (runs.first(), runs.last()) else { return Vec::new() };
    let mut walk = Walk { wanted: lengths, before: 0.0, at: first.start, found: Vec::with_capacity(lengths.len()) };
    for turn in turns(runs) {
        let (run, after) = (&runs[turn.run], &runs[turn.run + 1]);
        let radius = turn.radius.min(bend_radius);
        if radius <= 0.0 {
            walk.straight(run.end);
            continue;
        }
        let step = (run.end - run.start) / run.length();
        walk.straight(run.end - step * (radius * turn.half_tangent));
        walk.round(step, turn.angle() * cross(step, after.end - after.start).signum(), radius);
    }
    walk.straight(last.end);
    walk.found
}

/// A path as it is gone along.
struct Walk<'w> {
    wanted: &'w [f64],
    before: f64,
    at: Point,
    found: Vec<(Point, Point)>,
}

impl Walk<'_> {
    /// How far beyond here the next place lies, where that is no further than `long`.
    fn next(&mut self, long: f64) -> Option<f64> {
        let (next, rest) = self.wanted.split_first()?;
        (*next <= self.before + long).then(|| {
            self.wanted = rest;
            *next - self.before
        })
    }

    fn straight(&mut self, to: Point) {
        let (from, long) = (self.at, distance(self.at, to));
        if long > 0.0 {
            let step = (to - from) / long;
            while let Some(ahead) = self.next(long) {
                self.found.push((from + step * ahead, step));
            }
        }
        self.before += long;
        self.at = to;
    }

    /// Round a curve that begins in a direction and turns by so much, to the left where that is more than nothing, radians.
    fn round(&mut self, step: Point, angle: f64, radius: f64) {
        let from = self.at;
        let left = Point { x: -step.y, y: step.x } * angle.signum();
        let place = |ahead: f64| {
            let (sin, cos) = (ahead / radius).sin_cos();
            (from + left * (radius * (1.0 - cos)) + step * (radius * sin), step * cos + left * sin)
        };
        let long = radius * angle.abs();
        while let Some(ahead) = self.next(long) {
            self.found.push(place(ahead));
        }
        self.before += long;
        self.at = place(long).0;
    }
}

/// The length of a line of points, mm.
pub fn line_length(points: &[Point]) -> f64 {
    points.windows(2).map(|pair| distance(pair[0], pair[1])).sum()
}
