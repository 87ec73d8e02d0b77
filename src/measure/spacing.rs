//! Spacing and crossing: where a cable comes too near to itself or to another.

use std::f64::consts::FRAC_PI_2;

use super::index::{RunId, RunIndex};
use super::{Pairs, TOUCH};
use crate::geometry::{Piece, cross, distance, dot};
use crate::model::{Point, Run};

/// Two runs that touch, cross, overlap or pass through one point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossing {
    /// The earlier run.
    pub first: RunId,
    /// The later one.
    pub second: RunId,
    /// A point they share.
    pub at: Point,
}

/// Two runs that come nearer than some minimum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CloseApproach {
    /// The earlier run.
    pub first: RunId,
    /// The later one.
    pub second: RunId,
    /// Their distance at the worst place, mm.
    pub distance: f64,
    /// That place on the first.
    pub at: Point,
}

/// How many neighbouring boxes are looked at before the search gives up, for each run and at the least: many times what a floor that can
/// be laid has, and a bound on what a plan made to be slow can cost.
const CANDIDATES_EACH: usize = 150;
const LEAST_CANDIDATES: usize = 1_000_000;
/// However many runs there are: those of a floor that can be laid have some ten each.
const MOST_CANDIDATES: usize = 5_000_000;

/// Every pair of runs that cross. Consecutive runs of a cable share their corner; they cross where they share more.
pub fn crossings(index: &RunIndex<'_>) -> Pairs<Crossing> {
    approaches(index, 0.0).0
}

/// Every pair of runs that cross, and every pair that come nearer than `minimum` (mm) without crossing.
///
/// Two points of one cable count only where the cable between them is at least a half-circle of diameter `minimum` long
/// (`π/2 · minimum`): a turn of that pitch passes, and so does a jog smaller than it, but a tighter hairpin or a sharp fold
/// does not.
pub fn approaches(index: &RunIndex<'_>, minimum: f64) -> (Pairs<Crossing>, Pairs<CloseApproach>) {
    let (mut crossings, mut close) = (Pairs::default(), Pairs::default());
    for_neighbours(index, minimum.max(2.0 * TOUCH), |first, second| {
        // Once there are more than are listed, no more are asked for.
        if crossings.more && close.more {
            return;
        }
        let (a, b) = (index.run(first), index.run(second));
        // Only what nearly meets is asked where: boxes twice as far apart as what meets can't.
        if a.piece().bounds().widened(2.0 * TOUCH).meets(&b.piece().bounds())
            && let Some(at) = meeting(index, first, second)
        {
            crossings.add(Crossing { first, second, at });
            return;
        }
        if minimum <= TOUCH || close.more {
            return;
        }
        let near = if first.cable == second.cable {
            apart_along(a, b, FRAC_PI_2 * minimum)
        } else {
            let near = a.piece().approach(b.piece());
            Some((near.distance, a.piece().along(near.first)))
        };
        if let Some((distance, at)) = near.filter(|(distance, _)| *distance < minimum - TOUCH) {
            close.add(CloseApproach { first, second, distance, at });
        }
    })
    .unwrap_or_else(|| (crossings.more, close.more) = (true, true));
    (crossings, close)
}

/// Visits each pair of runs whose boxes come within `margin`, once, the earlier run first; nothing where there are too many.
fn for_neighbours(index: &RunIndex<'_>, margin: f64, mut visit: impl FnMut(RunId, RunId)) -> Option<()> {
    let mut candidates = (LEAST_CANDIDATES + index.count() * CANDIDATES_EACH).min(MOST_CANDIDATES);
    let mut neighbours = Vec::new();
    for (id, run) in index.runs() {
        neighbours.clear();
        index.later_near(id, run.piece().bounds(), margin).for_each(|other| neighbours.push(other));
        candidates = candidates.checked_sub(neighbours.len())?;
        neighbours.sort_unstable();
        neighbours.iter().for_each(|other| visit(id, *other));
    }
    Some(())
}

/// A point that two runs share, beyond the corner that consecutive ones have in common.
fn meeting(index: &RunIndex<'_>, first: RunId, second: RunId) -> Option<Point> {
    let (a, b) = (index.run(first), index.run(second));
    if first.cable == second.cable && first.run + 1 == second.run {
        return folded_back(a, b);
    }
    let near = a.piece().approach(b.piece());
    (near.distance <= TOUCH).then(|| a.piece().along(near.first))
}

/// Where a run lies on the one before it: the far end of the shorter of the two.
fn folded_back(a: &Run, b: &Run) -> Option<Point> {
    let (u, v) = (a.end - a.start, b.end - b.start);
    if dot(u, v) >= 0.0 {
        return None;
    }
    let (end, of) = if dot(v, v) <= dot(u, u) { (b.end, a) } else { (a.start, b) };
    (of.piece().distance(end) <= TOUCH).then_some(end)
}

/// The least distance between a point of `a` and a point of the later run `b` with at least `least` of cable between
/// them, and the point on `a`; nothing where there is no such pair of points.
///
/// With u the way along `a` and v the way along `b`, the distance is convex and the condition is the half-plane
/// `(|a| - u) + gap + v >= least`: the minimum is the free one, or lies on the half-plane's edge.
fn apart_along(a: &Run, b: &Run, least: f64) -> Option<(f64, Point)> {
    let (length_a, length_b) = (a.length(), b.length());
    let gap = b.before - (a.before + length_a);
    let missing = least - gap;
    let free = a.piece().approach(b.piece());
    if (1.0 - free.first) * length_a + free.second * length_b >= missing {
        return Some((free.distance, a.piece().along(free.first)));
    }
    let (lowest, highest) = ((length_a - missing).max(0.0), (length_a - missing + length_b).min(length_a));
    if lowest > highest {
        return None;
    }
    let (step_a, step_b) = ((a.end - a.start) / length_a, (b.end - b.start) / length_b);
    let shift = missing - length_a;
    let offset = a.start - b.start - step_b * shift;
    let drift = step_a - step_b;
    let square = dot(drift, drift);
    let u = if square > 0.0 { (-dot(offset, drift) / square).clamp(lowest, highest) } else { lowest };
    let (on_a, on_b) = (a.start + step_a * u, b.start + step_b * (shift + u));
    Some((distance(on_a, on_b), on_a))
}

/// How far apart a cable's parallel runs are laid, mm: over its runs, weighted by their lengths, the median distance from a
/// run's middle straight across to the nearest run alongside. Nothing where no run has one.
pub fn pitch(index: &RunIndex<'_>, cable: u32, runs: &[Run]) -> Option<f64> {
    // Of a very long cable every so many-th run tells as much as all.
    let every = runs.len() / MOST_SAMPLES + 1;
    let samples = || runs.iter().zip(0u32..).step_by(every).map(|(run, number)| (number, run.length()));
    let (count, whole) = samples().fold((0.0, 0.0), |(count, whole), (_, length)| (count + 1.0, whole + length));
    let mean = whole / count;
    let weighted = |(number, length): (u32, f64)| Some((gap_beside(index, RunId { cable, run: number })?, length));
    // The steps at the ends of loops have no run beside them, look far for one, and mostly weigh too little to matter.
    let mut gaps: Vec<(f64, f64)> = samples().filter(|(_, length)| *length >= mean).filter_map(weighted).collect();
    gaps.sort_by(|a, b| a.0.total_cmp(&b.0));
    let rest: f64 = samples().map(|(_, length)| length).filter(|length| *length < mean).sum();
    let (least, greatest) = (weighted_median(&gaps, -rest), weighted_median(&gaps, rest));
    if least.is_some() && least == greatest {
        return least;
    }
    gaps.extend(samples().filter(|(_, length)| *length < mean).filter_map(weighted));
    gaps.sort_by(|a, b| a.0.total_cmp(&b.0));
    weighted_median(&gaps, 0.0)
}

/// The first of some values in order that, with those before it, has half of the weight of all and of `more`.
fn weighted_median(values: &[(f64, f64)], more: f64) -> Option<f64> {
    let half = (values.iter().map(|(_, weight)| weight).sum::<f64>() + more) / 2.0;
    let mut sum = 0.0;
    let found = values.iter().find(|(_, weight)| {
        sum += weight;
        sum >= half
    });
    found.map(|(value, _)| *value)
}

/// The distance from a run's middle straight across to the nearest run of its cable alongside; nothing where none is in reach.
fn gap_beside(index: &RunIndex<'_>, id: RunId) -> Option<f64> {
    let run = index.run(id);
    let step = (run.end - run.start) / run.length();
    let middle = (run.start + run.end) / 2.0;
    let across = Point { x: -step.y, y: step.x };
    let beside = |other: RunId| alongside(index, id, other, middle, step);
    // In parallel loops every other run lies beside the last, and bounds how far any other that matters can be.
    let next = [id.run.checked_add(2), id.run.checked_sub(2)].into_iter().flatten();
    let next = next.map(|run| RunId { cable: id.cable, run }).filter(|other| index.has(*other));
    let known = next.filter_map(beside).min_by(f64::total_cmp);
    let far = if index.is_small() { &REACHES[REACHES.len() - 1..] } else { &REACHES };
    let mut reaches = known.into_iter().chain(far.iter().copied());
    reaches.find_map(|reach| {
        let ray = Piece::new(middle - across * reach, middle + across * reach);
        let others =
            index.near(ray.bounds(), TOUCH).filter(|other| other.cable == id.cable && other.run.abs_diff(id.run) > 2);
        others.filter_map(beside).chain(known).filter(|gap| *gap <= reach).min_by(f64::total_cmp)
    })
}

/// How many of a cable's runs are asked for their neighbour.
const MOST_SAMPLES: usize = 10_000;

/// How far across a run its neighbour is looked for, mm: near first, since most have one there.
const REACHES: [f64; 4] = [160.0, 480.0, 1440.0, 4320.0];

/// The distance straight across from the middle of a run to another of the same cable that is parallel to it and passes alongside.
fn alongside(index: &RunIndex<'_>, own: RunId, other: RunId, middle: Point, step: Point) -> Option<f64> {
    if other.cable != own.cable || other.run.abs_diff(own.run) < 2 {
        return None;
    }
    let piece = index.run(other).piece();
    let other_step = piece.step();
    let (from, to) = (dot(piece.start - middle, step), dot(piece.end - middle, step));
    let parallel = cross(step, other_step).abs() <= 1e-3 * dot(step, other_step).abs();
    // Where the line straight across meets it, since nearly parallel runs draw apart.
    let share = if to == from { 0.0 } else { (-from / (to - from)).clamp(0.0, 1.0) };
    let gap = cross(step, piece.along(share) - middle).abs();
    (parallel && from.min(to) <= 0.0 && from.max(to) >= 0.0 && gap > TOUCH).then_some(gap)
}
