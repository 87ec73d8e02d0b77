//! Leads a cable round small round places, such as where a door stop is drilled: a short way aside, and back.

use crate::geometry::{Piece, Point, cross, distance, dot};

/// How runs are led aside, mm.
#[derive(Debug, Clone, Copy)]
pub struct Berth {
    /// The farthest.
    pub most: f64,
    /// The least length of a piece between two corners.
    pub least: f64,
    /// How far runs lie apart.
    pub pitch: f64,
    /// How near they may come to each other: where the one beside a place is led farther aside, so is the next.
    pub apart: f64,
}

/// A cable's corners with its runs led round some places, each with the distance that it keeps from them; nothing where a run would have to be
/// led farther aside than it may be, or has no length for it. Beside a run's end the end itself is led aside, where the cable turns square there.
pub fn led_round(line: &[Point], spots: &[(Point, f64)], berth: Berth) -> Option<Vec<Point>> {
    let Berth { most, least, .. } = berth;
    let mut corners = line.to_vec();
    let mut led: Vec<Vec<Point>> = vec![Vec::new(); line.len()];
    for run in 0..line.len().saturating_sub(1) {
        let (from, to) = (line[run], line[run + 1]);
        let length = distance(from, to);
        let step = (to - from) / length;
        let left = Point { x: -step.y, y: step.x };
        let mut ways: Vec<Aside> =
            spots.iter().filter_map(|spot| Aside::of(from, step, length, *spot, berth)).collect();
        ways.sort_by(|a, b| a.begin.total_cmp(&b.begin));
        let mut reached = 0.0;
        for way in &ways {
            if way.shift.abs() > most {
                return None;
            }
            let slope = least.max(2.0 * way.shift.abs());
            let at = |along: f64, aside: f64| {
                let point = from + step * along + left * aside;
                Point { x: (point.x * 10.0).round() / 10.0, y: (point.y * 10.0).round() / 10.0 }
            };
            // Where there is no length to lead it back, the end lies aside.
            let square = |other: usize| {
                line.get(other)
                    .zip(line.get(other + 1))
                    .is_some_and(|(a, b)| dot(*b - *a, step).abs() <= 1e-6 * distance(*a, *b))
            };
            let at_start = way.begin - slope < reached + least;
            let at_end = way.end + slope > length - least;
            let moves = |other: Option<usize>, at: usize, corners: &mut Vec<Point>| {
                other.filter(|other| square(*other)).map(|_| corners[at] = corners[at] + left * way.shift)
            };
            if at_start {
                if reached > 0.0 {
                    return None;
                }
                moves(run.checked_sub(1), run, &mut corners)?;
            } else {
                led[run].extend([at(way.begin - slope, 0.0), at(way.begin, way.shift)]);
            }
            if at_end {
                moves(Some(run + 1), run + 1, &mut corners)?;
                reached = length;
            } else {
                led[run].extend([at(way.end, way.shift), at(way.end + slope, 0.0)]);
                reached = way.end + slope;
            }
        }
    }
    let whole: Vec<Point> =
        corners.iter().zip(led).flat_map(|(corner, led)| std::iter::once(*corner).chain(led)).collect();
    let whole = super::walk::corners(&whole);
    // What was led aside may have come to lie nearer to another place than before.
    let clear = |pair: &[Point]| {
        let piece = Piece::new(pair[0], pair[1]);
        spots.iter().all(|(at, radius)| piece.distance(*at) >= radius - 0.5)
    };
    whole.windows(2).all(clear).then_some(whole)
}

/// How a run is led past a place.
struct Aside {
    /// From where to where along it, mm.
    begin: f64,
    end: f64,
    /// How far to its left, mm.
    shift: f64,
}

impl Aside {
    /// How a run of some length passes a place and keeps its distance; nothing where it does so as it is.
    fn of(from: Point, step: Point, length: f64, (at, radius): (Point, f64), berth: Berth) -> Option<Self> {
        let (along, aside) = (dot(at - from, step), cross(step, at - from));
        let beyond = (along - length).max(-along).max(0.0);
        // The next row keeps from the nearest, as far as that is led towards it.
        let nearest = aside.abs() % berth.pitch;
        let between = (aside.abs() / berth.pitch).floor();
        let keeps = if nearest < radius { radius + between * berth.apart } else { 0.0 };
        if aside.abs() >= keeps || beyond.hypot(aside.abs()) >= keeps || (between > 0.0 && beyond > 0.0) {
            return None;
        }
        let shift = if aside > 0.0 { aside - keeps } else { aside + keeps };
        let shift = if shift < 0.0 { shift.floor() } else { shift.ceil() };
        // As long as the nearest is aside.
        let half = (radius * radius - nearest * nearest).sqrt().max(berth.least / 2.0).ceil();
        Some(Aside { begin: (along - half).floor(), end: (along + half).ceil(), shift })
    }
}
