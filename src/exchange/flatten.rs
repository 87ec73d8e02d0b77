//! Curves as straight pieces that lie no farther from them than is asked, in the units of the file: [`CHORD`](super::CHORD) by its own.
//!
//! What is drawn small may be put large, as a door's symbol is: so no piece stands for more than [`WIDEST`] either.

use std::f64::consts::{PI, TAU};

use crate::geometry::Point;

/// The most of a turn that one piece stands for, radians: 5°.
const WIDEST: f64 = PI / 36.0;

/// The most pieces of one curve.
const MOST_PIECES: f64 = 256.0;

/// Into how many pieces an arc of some radius and angle is cut.
fn pieces(radius: f64, angle: f64, chord: f64) -> usize {
    // A chord of angle a lies r(1 - cos(a/2)) inside its arc.
    let each = 2.0 * (1.0 - (chord / radius.max(chord)).min(1.0)).acos();
    let count = (angle.abs() / each.clamp(1e-3, WIDEST) - 1e-9).ceil();
    // A number that is none counts as one piece.
    count.clamp(1.0, MOST_PIECES) as usize
}

/// The points of an arc, its ends among them: radians, counter-clockwise where the sweep is above nothing.
pub(super) fn arc(centre: Point, radius: f64, from: f64, sweep: f64, chord: f64) -> Vec<Point> {
    let count = pieces(radius, sweep, chord);
    let at = |step: usize| {
        let angle = from + sweep * step as f64 / count as f64;
        Point { x: centre.x + radius * angle.cos(), y: centre.y + radius * angle.sin() }
    };
    (0..=count).map(at).collect()
}

/// The points between two ends that an arc joins, given by its bulge: the tangent of a quarter of its angle.
pub(super) fn bulge(from: Point, to: Point, bulge: f64, chord: f64) -> Vec<Point> {
    let step = to - from;
    let length = step.x.hypot(step.y);
    if bulge.abs() < 1e-9 || length < 1e-9 || !bulge.is_finite() {
        return Vec::new();
    }
    let sweep = 4.0 * bulge.atan();
    let radius = length * (1.0 + bulge * bulge) / (4.0 * bulge.abs());
    // From the middle of the chord towards the centre, to the left of the way where the arc turns left.
    let aside = length * (1.0 - bulge * bulge) / (4.0 * bulge);
    let normal = Point { x: -step.y / length, y: step.x / length };
    let centre = (from + to) / 2.0 + normal * aside;
    let begin = (from.y - centre.y).atan2(from.x - centre.x);
    let points = arc(centre, radius, begin, sweep, chord);
    points.get(1..points.len().saturating_sub(1)).unwrap_or_default().to_vec()
}

/// The points of an ellipse's arc by its parameters: the end of its major axis from the centre, and how much shorter the minor one is.
pub(super) fn ellipse(centre: Point, major: Point, ratio: f64, from: f64, to: f64, chord: f64) -> Vec<Point> {
    let mut sweep = (to - from).rem_euclid(TAU);
    if sweep < 1e-9 {
        sweep = TAU;
    }
    let minor = Point { x: -major.y * ratio, y: major.x * ratio };
    let count = pieces(major.x.hypot(major.y), sweep, chord);
    let at = |step: usize| {
        let angle = from + sweep * step as f64 / count as f64;
        centre + major * angle.cos() + minor * angle.sin()
    };
    (0..=count).map(at).collect()
}

/// The corners that stand for a circle.
pub(super) fn circle(centre: Point, radius: f64, chord: f64) -> Vec<Point> {
    let mut points = arc(centre, radius, 0.0, TAU, chord);
    points.pop();
    points
}

/// A spline of rational pieces (NURBS): its degree, knots, control points and their weights, all 1 where there are none.
#[derive(Debug, Default)]
pub(super) struct Spline {
    pub degree: usize,
    pub knots: Vec<f64>,
    pub points: Vec<Point>,
    pub weights: Vec<f64>,
}

/// The highest degree that is drawn with: more than programs make.
const HIGHEST_DEGREE: usize = 11;
/// Into how many pieces the stretch between two knots is cut at the most.
const MOST_OF_SPAN: usize = 128;
/// The most control points of one spline.
const MOST_CONTROLS: usize = 10_000;

impl Spline {
    /// Points of it, the straight pieces between them no farther from it than `most`; nothing where it is none.
    pub(super) fn flattened(&self, most: f64) -> Option<Vec<Point>> {
        let (degree, count) = (self.degree, self.points.len());
        let sound = (1..=HIGHEST_DEGREE).contains(&degree)
            && count > degree
            && count <= MOST_CONTROLS
            && self.knots.len() == count + degree + 1
            && self.knots.windows(2).all(|pair| pair[0] <= pair[1])
            && (self.weights.is_empty() || self.weights.len() == count)
            && self.weights.iter().all(|weight| *weight > 0.0);
        if !sound {
            return None;
        }
        let mut points = vec![self.at(degree, self.knots[degree])];
        for span in degree..count {
            let (from, to) = (self.knots[span], self.knots[span + 1]);
            if to <= from {
                continue;
            }
            let place = |share: f64| self.at(span, from + (to - from) * share);
            let mut pieces = 2 * degree;
            while pieces < MOST_OF_SPAN && farthest(&place, pieces) > most / 2.0 {
                pieces *= 2;
            }
            points.extend((1..=pieces).map(|piece| place(piece as f64 / pieces as f64)));
        }
        Some(points)
    }

    /// Its point at a place between the knots `span` and the next (de Boor).
    fn at(&self, span: usize, place: f64) -> Point {
        let weight = |index: usize| self.weights.get(index).copied().unwrap_or(1.0);
        let mut own: Vec<(Point, f64)> =
            (span - self.degree..=span).map(|index| (self.points[index] * weight(index), weight(index))).collect();
        for level in 1..=self.degree {
            for index in (level..=self.degree).rev() {
                let (low, high) = (self.knots[index + span - self.degree], self.knots[index + 1 + span - level]);
                let share = if high > low { (place - low) / (high - low) } else { 0.0 };
                let (before, after) = (own[index - 1], own[index]);
                own[index] = (before.0 * (1.0 - share) + after.0 * share, before.1 * (1.0 - share) + after.1 * share);
            }
        }
        let (sum, weight) = own[self.degree];
        sum / weight
    }
}

/// Points of the curve through some points: cubic pieces whose direction at each is that from the point before to the one after (Catmull and
/// Rom, 1974), each stretch by the length of its chord; nothing where there are too few points or too many.
pub(super) fn through(points: &[Point], closed: bool, most: f64) -> Option<Vec<Point>> {
    let mut points = points.to_vec();
    points.dedup();
    if closed && points.len() > 2 {
        points.extend(points.first().copied().filter(|first| Some(first) != points.last()));
    }
    let last = points.len().checked_sub(1).filter(|last| (1..MOST_CONTROLS).contains(last))?;
    let long = |piece: usize| crate::geometry::distance(points[piece], points[piece + 1]);
    let round = closed || points[0] == points[last];
    // The velocity at each point, as a share of the way along the chords.
    let step = |piece: usize| points[piece + 1] - points[piece];
    let between = |before: usize, after: usize| (step(before) + step(after)) / (long(before) + long(after));
    let mut velocities: Vec<Point> = (1..last).map(|at| between(at - 1, at)).collect();
    let (first_chord, last_chord) = (step(0) / long(0), step(last - 1) / long(last - 1));
    // What is open begins and ends as a parabola does.
    let end = |chord: Point, beside: Option<&Point>| beside.map_or(chord, |beside| chord * 2.0 - *beside);
    let (begin, finish) = match round && last > 1 {
        true => (between(last - 1, 0), between(last - 1, 0)),
        false => (end(first_chord, velocities.first()), end(last_chord, velocities.last())),
    };
    velocities.insert(0, begin);
    velocities.push(finish);
    let mut found = vec![points[0]];
    for piece in 0..last {
        let (a, b, chord) = (points[piece], points[piece + 1], long(piece));
        let (u, v) = (velocities[piece] * chord, velocities[piece + 1] * chord);
        // Hermite's form of a cubic by its ends and its velocities there.
        let place = |t: f64| {
            let (square, cube) = (t * t, t * t * t);
            a * (2.0 * cube - 3.0 * square + 1.0)
                + u * (cube - 2.0 * square + t)
                + b * (3.0 * square - 2.0 * cube)
                + v * (cube - square)
        };
        let mut pieces = 4;
        while pieces < MOST_OF_SPAN && farthest(&place, pieces) > most / 2.0 {
            pieces *= 2;
        }
        found.extend((1..=pieces).map(|step| place(step as f64 / pieces as f64)));
    }
    Some(found)
}

/// How far the middles of some pieces of a curve, given over 0 to 1, lie from it.
fn farthest(place: &impl Fn(f64) -> Point, pieces: usize) -> f64 {
    let at = |half: usize| place(half as f64 / (2 * pieces) as f64);
    let off = |piece: usize| {
        let (from, middle, to) = (at(2 * piece), at(2 * piece + 1), at(2 * piece + 2));
        crate::geometry::Piece::new(from, to).distance(middle)
    };
    (0..pieces).map(off).fold(0.0, f64::max)
}
