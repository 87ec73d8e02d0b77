//! Lines that meet end to end, joined into closed rings: much of what is drawn closed is drawn piece by piece.

use std::collections::HashMap;

use crate::geometry::{Point, cross, distance, dot};

/// Ends that lie nearer than this are one corner, mm.
const MEETS: f64 = 1.0;

/// Corners that lie nearer to the line between their neighbours are none, mm.
const STRAIGHT: f64 = 0.5;

/// Where the ends of pieces lie, by cells of [`MEETS`].
struct Ends<'p> {
    pieces: &'p [&'p [Point]],
    cells: HashMap<(i64, i64), Vec<(usize, bool)>>,
}

fn cell(point: Point) -> (i64, i64) {
    // A coordinate beyond all cells lies in the last.
    ((point.x / MEETS).floor() as i64, (point.y / MEETS).floor() as i64)
}

impl<'p> Ends<'p> {
    fn of(pieces: &'p [&'p [Point]]) -> Self {
        let mut cells: HashMap<(i64, i64), Vec<(usize, bool)>> = HashMap::new();
        for (index, piece) in pieces.iter().enumerate() {
            if let [first, .., last] = piece {
                cells.entry(cell(*first)).or_default().push((index, false));
                cells.entry(cell(*last)).or_default().push((index, true));
            }
        }
        Ends { pieces, cells }
    }

    fn point(&self, (piece, last): (usize, bool)) -> Option<Point> {
        let points = self.pieces.get(piece)?;
        if last { points.last().copied() } else { points.first().copied() }
    }

    /// The one other end that lies at a point; nothing where there is none, or more than one.
    fn only_other(&self, at: Point, own: (usize, bool)) -> Option<(usize, bool)> {
        let (x, y) = cell(at);
        let mut found = None;
        for (dx, dy) in (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| (dx, dy))) {
            let there = self.cells.get(&(x.saturating_add(dx), y.saturating_add(dy)));
            // A place where very many lines end is no corner of a ring, and isn't gone through.
            for end in there.into_iter().flatten().take(8) {
                let near = self.point(*end).is_some_and(|point| distance(point, at) <= MEETS);
                if *end == own || !near {
                    continue;
                }
                if found.is_some() {
                    return None;
                }
                found = Some(*end);
            }
        }
        found
    }
}

/// The rings that pieces of line make, each with the pieces that it is made of. A piece that three or more meet at the end of is in none.
pub(super) fn rings(pieces: &[&[Point]]) -> Vec<(Vec<Point>, Vec<usize>)> {
    let ends = Ends::of(pieces);
    let mut used = vec![false; pieces.len()];
    let mut rings = Vec::new();
    for start in 0..pieces.len() {
        if used[start] || pieces[start].len() < 2 {
            continue;
        }
        let mut members = Vec::new();
        let mut corners: Vec<Point> = Vec::new();
        let (mut piece, mut backwards) = (start, false);
        let closed = loop {
            if used[piece] {
                break piece == start && !members.is_empty();
            }
            used[piece] = true;
            members.push(piece);
            let points = pieces[piece];
            let kept = points.len().saturating_sub(1);
            if backwards {
                corners.extend(points.iter().rev().take(kept));
            } else {
                corners.extend(points.iter().take(kept));
            }
            let end = (piece, !backwards);
            let Some(next) = ends.point(end).and_then(|at| ends.only_other(at, end)) else { break false };
            (piece, backwards) = next;
        };
        if closed && corners.len() >= 3 {
            rings.push((corners, members));
        }
    }
    rings
}

/// Corners without those that stand on a straight line or on one another.
pub(super) fn straightened(corners: &[Point]) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::with_capacity(corners.len());
    let is_straight = |a: Point, b: Point, c: Point| {
        let long = distance(a, c);
        distance(a, b) < STRAIGHT
            || (long > 0.0 && (cross(c - a, b - a) / long).abs() < STRAIGHT && dot(b - a, c - b) > 0.0)
    };
    for (index, corner) in corners.iter().enumerate() {
        let before = kept.last().copied().or_else(|| corners.last().copied());
        let after = corners.get(index + 1).or_else(|| corners.first()).copied();
        if let (Some(before), Some(after)) = (before, after)
            && corners.len() > 3
            && is_straight(before, *corner, after)
        {
            continue;
        }
        kept.push(*corner);
    }
    kept
}
