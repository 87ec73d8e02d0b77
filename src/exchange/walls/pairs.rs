//! Which lines are the two faces of one wall: each is the nearest that runs along the other, as far off as walls are thick.

use super::{Budget, Face};
use crate::exchange::Unreadable;
use crate::geometry::index::Index;
use crate::geometry::{Piece, Point, cross, dot};

/// How thick a wall is, mm.
pub(super) const THICK: std::ops::RangeInclusive<f64> = 80.0..=400.0;
/// The sine of the angle between the faces of a wall at the most: 0.6°.
pub(super) const ALONG: f64 = 0.01;
/// How long two faces run beside one another at the least, mm.
const LEAST_SHARED: f64 = 20.0;
/// A line that more others than this run along is a hatch's.
const MOST_BESIDE: usize = 100;

/// A stretch of a face that another lies across the wall from.
#[derive(Debug, Clone, Copy)]
pub(super) struct Partner {
    /// Where on the face it begins and ends, mm from the face's start.
    pub(super) from: f64,
    pub(super) to: f64,
    /// How far to the left of the face the other runs, mm.
    pub(super) off: f64,
    /// The other face.
    pub(super) other: usize,
}

/// For each face the stretches that have another across the wall.
///
/// # Errors
/// Where more lines run along one another than is looked at.
pub(super) fn partners(faces: &[Face], index: &Index, budget: &mut Budget) -> Result<Vec<Vec<Partner>>, Unreadable> {
    let mut beside: Vec<Vec<Partner>> = Vec::with_capacity(faces.len());
    for (own, face) in faces.iter().enumerate() {
        let mut found = Vec::new();
        for other in index.near(face.piece.bounds().widened(*THICK.end())) {
            budget.take()?;
            if other != own {
                found.extend(along(face.piece, faces[other].piece, other));
            }
            if found.len() > MOST_BESIDE {
                found.clear();
                break;
            }
        }
        found.sort_by(|a, b| a.off.abs().total_cmp(&b.off.abs()));
        beside.push(found);
    }
    let between: Vec<bool> = (0..faces.len()).map(|own| is_one_of_a_row(faces, own, &beside[own])).collect();
    let nearest: Vec<Vec<Partner>> = (0..faces.len())
        .map(|own| {
            let others = beside[own].iter().filter(|other| !between[own] && !between[other.other]);
            nearest(others, faces[own].piece.length())
        })
        .collect();
    Ok((0..faces.len()).map(|own| mutual(faces, &nearest, own)).collect())
}

/// The stretch of a piece that another runs along as far off as a wall is thick.
fn along(piece: Piece, other: Piece, place: usize) -> Option<Partner> {
    let (long, wide) = (piece.length(), other.length());
    let step = piece.step() / long;
    if cross(step, other.step()).abs() > ALONG * wide {
        return None;
    }
    let ends = [other.start, other.end].map(|end| dot(end - piece.start, step));
    let (from, to) = (ends[0].min(ends[1]).max(0.0), ends[0].max(ends[1]).min(long));
    let off = cross(step, other.along(0.5) - piece.start);
    (to - from >= LEAST_SHARED && THICK.contains(&off.abs())).then_some(Partner { from, to, off, other: place })
}

/// Whether a face is one of three or more alike, as far apart on both sides: a stair's tread, a line along a wall's middle.
fn is_one_of_a_row(faces: &[Face], own: usize, beside: &[Partner]) -> bool {
    let long = faces[own].piece.length();
    let alike = |other: &&Partner| {
        (faces[other.other].piece.length() - long).abs() <= 0.05 * long && other.to - other.from >= 0.9 * long
    };
    let nearest = |left: bool| beside.iter().filter(alike).find(|other| (other.off > 0.0) == left);
    match (nearest(true), nearest(false)) {
        (Some(left), Some(right)) => (left.off + right.off).abs() <= 0.03 * left.off,
        _ => false,
    }
}

/// Of what lies beside a face, in the order of its distance, what is nearest to each stretch of it.
fn nearest<'p>(beside: impl Iterator<Item = &'p Partner>, long: f64) -> Vec<Partner> {
    let mut free = vec![(0.0, long)];
    let mut found = Vec::new();
    for partner in beside {
        let mut left = Vec::with_capacity(free.len() + 1);
        for (from, to) in free {
            let (low, high) = (partner.from.max(from), partner.to.min(to));
            if high - low < LEAST_SHARED {
                left.push((from, to));
                continue;
            }
            found.push(Partner { from: low, to: high, ..*partner });
            left.extend([(from, low), (high, to)].into_iter().filter(|(from, to)| to > from));
        }
        free = left;
    }
    found
}

/// Of the nearest of a face the stretches to which it is the nearest too.
fn mutual(faces: &[Face], nearest: &[Vec<Partner>], own: usize) -> Vec<Partner> {
    let piece = faces[own].piece;
    let step = piece.step() / piece.length();
    let mut found = Vec::new();
    for partner in &nearest[own] {
        let other = faces[partner.other].piece;
        let other_step = other.step() / other.length();
        for back in nearest[partner.other].iter().filter(|back| back.other == own) {
            let at = |place: f64| -> f64 { dot(other.start + other_step * place - piece.start, step) };
            let (a, b): (f64, f64) = (at(back.from), at(back.to));
            let (from, to) = (partner.from.max(a.min(b)), partner.to.min(a.max(b)));
            if to - from >= LEAST_SHARED {
                found.push(Partner { from, to, ..*partner });
            }
        }
    }
    found
}

/// Whether the wall lies to the left of a face at a point of it, or to its right; nothing where there is none.
pub(super) fn wall_at(piece: Piece, partners: &[Partner], at: Point) -> Option<bool> {
    let place = dot(at - piece.start, piece.step() / piece.length());
    let there = partners.iter().find(|partner| (partner.from..=partner.to).contains(&place));
    there.map(|partner| partner.off > 0.0)
}
