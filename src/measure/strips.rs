//! The strip of floor that each stretch of a cable heats: how far its neighbours lie on both sides, whichever cable they are of.
//!
//! A run is cut into stretches wherever its neighbour [straight across](super::across) changes, on its left or on its right. A stretch heats
//! the floor half way to its neighbour; where a side is open, it heats as far as half the cable's usual spacing, or to a wall that is nearer,
//! as seen from the stretch's ends: heat that finds a wall goes nowhere else. Where a neighbour is seen through a slot between nearer ones, it
//! heats no farther than half the width of the slot: the rest lies nearer to the cable on both sides of that. So at the end of a run, where the
//! turn heats the same floor: its strip is less wide by as much as a wall straight ahead is nearer than half the spacing. What is asked of a place
//! rather than of a point is the mean over one usual spacing of a run, since heat evens out over about that much floor. Runs no longer than
//! that are turns: they heat a strip as wide as they are long.

use std::collections::BTreeMap;

use super::across::{AllSides, Beside, Side, Sides};
use super::cover::Capsule;
use super::index::{RunId, RunIndex};
use super::{Pairs, TOUCH};
use crate::geometry::{Piece, Point};
use crate::model::Run;

/// A place along a run, and what lies beside it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// The run.
    pub run: RunId,
    /// From its start to where the stretch begins, mm.
    pub from: f64,
    /// From its start to where the stretch ends, mm.
    pub to: f64,
    /// How wide a strip of floor it heats, in the mean, mm.
    pub width: f64,
    /// The runs nearest to its middle, on its left and on its right; none where that side is open.
    pub beside: [Option<RunId>; 2],
}

/// The floor that a cable heats, stretch by stretch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strips {
    /// mm2.
    pub area: f64,
    /// Where the strip is narrowest, and so the floor gets most.
    pub narrowest: Stretch,
    /// Where it is widest.
    pub widest: Stretch,
}

impl Strips {
    /// The floor that a cable of some length (mm) heats where it lies at one spacing (mm) throughout, and isn't drawn.
    pub(super) fn even(cable: u32, spacing: f64, length: f64) -> Self {
        let run = RunId { cable, run: 0 };
        let stretch = Stretch { run, from: 0.0, to: length, width: spacing, beside: [None, None] };
        Strips { area: spacing * length, narrowest: stretch, widest: stretch }
    }
}

/// A run's strip: its width at the ends of stretches in which it changes evenly, mm along the run and mm.
struct Widths {
    stretches: Vec<(f64, f64, f64, f64)>,
    length: f64,
}

impl Widths {
    /// `open` says how far a side (0 the left) reaches at a place along the run where it has no neighbour, mm.
    fn new(sides: &Sides, open: impl Fn(usize, f64) -> f64) -> Self {
        let length = sides[0].stretches().last().map_or(0.0, |stretch| stretch.to);
        let mut cuts: Vec<f64> = sides.iter().flat_map(Side::stretches).map(|stretch| stretch.to).collect();
        cuts.sort_by(f64::total_cmp);
        cuts.dedup_by(|a, b| *a - *b <= TOUCH);
        let slots = [0, 1].map(|side| slots(&sides[side]));
        let half = |side: usize, along: f64, of: f64| {
            let place = sides[side].place(of);
            let beside = place.and_then(|place| sides[side].stretches().get(place));
            let neighbour = beside.and_then(|beside| beside.distance(along)).map(|distance| distance / 2.0);
            let slot = place.and_then(|place| slots[side].get(place)).map_or(f64::INFINITY, |half| *half);
            neighbour.map_or_else(|| open(side, along), |half| half.min(slot))
        };
        let mut from = 0.0;
        let stretches = cuts.into_iter().filter(|to| *to > 0.0).map(|to| {
            let middle = f64::midpoint(from, to);
            let width = |along: f64| half(0, along, middle) + half(1, along, middle);
            let stretch = (from, to, width(from), width(to));
            from = to;
            stretch
        });
        Widths { stretches: stretches.collect(), length }
    }

    /// The least and the greatest.
    fn range(&self) -> (f64, f64) {
        let ends = self.stretches.iter().flat_map(|(_, _, first, last)| [*first, *last]);
        ends.fold((f64::INFINITY, 0.0), |(least, greatest), width| (least.min(width), f64::max(greatest, width)))
    }

    /// mm2.
    fn area(&self, from: f64, to: f64) -> f64 {
        let parts = self.stretches.iter().filter_map(|(start, end, first, last)| {
            let (low, high) = (start.max(from), end.min(to));
            let width = |along: f64| first + (last - first) * (along - start) / (end - start);
            (high > low).then(|| (high - low) * f64::midpoint(width(low), width(high)))
        });
        parts.sum()
    }

    /// Where over `window` mm of the run the strip may be narrowest or widest in the mean: windows that begin, end or have their
    /// middle where the strip changes.
    fn windows(&self, window: f64) -> impl Iterator<Item = (f64, f64)> + '_ {
        let last = self.length - window;
        let corners = [0.0, window, self.length - window];
        let marks = corners.into_iter().chain(self.stretches.iter().map(|stretch| stretch.1));
        let starts = marks.flat_map(move |mark| [mark, mark - window, mark - window / 2.0]);
        starts.map(move |start| start.clamp(0.0, last)).map(move |start| (start, start + window))
    }
}

/// How far on one side each stretch reaches at the most where it sees its neighbour through a slot between nearer ones, mm; without bound
/// elsewhere and where nothing is told. Of the floor in a slot what lies farther in than half its width is nearer to the cable on both sides of it, unless that begins
/// farther off still. What lies behind that cable is seen by the cable itself, on its other side.
fn slots(side: &Side) -> Vec<f64> {
    let stretches = side.stretches();
    // What has none nearer on both sides of it is no slot.
    if stretches.len() < 3 {
        return Vec::new();
    }
    let far = |beside: &Beside| beside.distance(f64::midpoint(beside.from, beside.to));
    let before = nearer(stretches.iter().map(far));
    let mut after = nearer(stretches.iter().rev().map(far));
    after.reverse();
    let last = stretches.len();
    let reach = |(before, after): (Option<usize>, Option<usize>)| {
        let (before, after) = (stretches.get(before?)?, stretches.get(last - 1 - after?)?);
        let (one, other) = (before.distance(before.to)?, after.distance(after.from)?);
        Some(((after.from - before.to) / 2.0).max(one.max(other) / 2.0))
    };
    before.into_iter().zip(after).map(|flanks| reach(flanks).unwrap_or(f64::INFINITY)).collect()
}

/// Of each of some distances the last one before it that is less, with none open between them (an index).
fn nearer(distances: impl Iterator<Item = Option<f64>>) -> Vec<Option<usize>> {
    // Those that may yet be the last that is less: each less than the next.
    let mut open: Vec<(usize, f64)> = Vec::new();
    let found = distances.enumerate().map(|(place, distance)| {
        let Some(distance) = distance else {
            open.clear();
            return None;
        };
        while open.last().is_some_and(|(_, before)| *before >= distance - TOUCH) {
            open.pop();
        }
        let before = open.last().map(|(before, _)| *before);
        open.push((place, distance));
        before
    });
    found.collect()
}

/// A run longer than a turn, and the strip of floor along it.
struct Laid<'s> {
    run: RunId,
    usual: f64,
    sides: &'s Sides,
    widths: Widths,
    /// How much of its width the strip keeps over the last of the run at either end, where a wall lies straight ahead.
    left: [f64; 2],
}

impl<'s> Laid<'s> {
    /// Nothing where runs lie too thick to be gone through.
    fn new(index: &RunIndex<'_>, all: &'s AllSides, id: RunId, run: &Run, usual: f64) -> Option<Self> {
        let length = run.length();
        let sides = all.of(index, id)?;
        let step = (run.end - run.start) / length;
        let open = |side: usize, along: f64| {
            let across = Point { x: -step.y, y: step.x } * if side == 0 { 1.0 } else { -1.0 };
            all.ahead(run.start + step * along.clamp(TOUCH, length - TOUCH), across, usual / 2.0)
        };
        let ends = [(run.start, step * -1.0), (run.end, step)];
        let left = ends.map(|(end, ahead)| 0.5 + all.ahead(end, ahead, usual / 2.0) / usual);
        Some(Laid { run: id, usual, sides, widths: Widths::new(sides, open), left })
    }

    /// That from one place along it to another, a usual spacing on.
    fn stretch(&self, from: f64, to: f64) -> Stretch {
        let middle = f64::midpoint(from, to);
        let beside = [0, 1].map(|side| self.sides[side].at(middle).and_then(|beside| beside.run()));
        let ends = [from <= TOUCH, to >= self.widths.length - TOUCH];
        let at_ends = ends.into_iter().zip(self.left).filter(|(at_end, _)| *at_end);
        let width = self.widths.area(from, to) / self.usual * at_ends.map(|(_, left)| left).product::<f64>();
        Stretch { run: self.run, from, to, width, beside }
    }
}

/// A turn: it heats a strip as wide as is usual.
fn turn_of(id: RunId, length: f64, usual: f64) -> Stretch {
    Stretch { run: id, from: 0.0, to: length, width: usual, beside: [None, None] }
}

/// Where the strip of floor along a run is narrowest of all stretches whose middle lies between two places along it, mm; nothing where runs
/// lie too thick.
pub(super) fn narrowest_between(
    index: &RunIndex<'_>,
    all: &AllSides,
    id: RunId,
    usual: f64,
    (low, high): (f64, f64),
) -> Option<Stretch> {
    let run = index.run(id);
    let length = run.length();
    if length <= usual + TOUCH {
        return Some(turn_of(id, length, usual));
    }
    let laid = Laid::new(index, all, id, run, usual)?;
    let bounded = |start: f64| start.clamp(low - usual / 2.0, high - usual / 2.0).clamp(0.0, length - usual);
    let ends = [low, high].map(|middle| middle - usual / 2.0);
    let starts = laid.widths.windows(usual).map(|(from, _)| from).chain(ends).map(bounded);
    let each = starts.map(|from| laid.stretch(from, from + usual));
    each.reduce(|known, stretch| if stretch.width < known.width - TOUCH { stretch } else { known })
}

/// The floor that each stretch of a cable heats, `usual` being its usual spacing, mm; nothing where its runs lie too thick to be gone through.
pub(super) fn strips(index: &RunIndex<'_>, all: &AllSides, cable: u32, runs: &[Run], usual: f64) -> Option<Strips> {
    let mut area = 0.0;
    let (mut narrowest, mut widest): (Option<Stretch>, Option<Stretch>) = (None, None);
    let mut turn = None;
    for (run, number) in runs.iter().zip(0u32..) {
        let (id, length) = (RunId { cable, run: number }, run.length());
        if length <= usual + TOUCH {
            area += length * length;
            turn.get_or_insert(turn_of(id, length, usual));
            continue;
        }
        let laid = Laid::new(index, all, id, run, usual)?;
        area += laid.widths.area(0.0, length);
        // A mean lies within what it is the mean of; most runs lie like one before.
        let (least, greatest) = laid.widths.range();
        let least = least * laid.left[0].min(laid.left[1]);
        if narrowest.is_some_and(|known| least >= known.width - TOUCH)
            && widest.is_some_and(|known| greatest <= known.width + TOUCH)
        {
            continue;
        }
        for (from, to) in laid.widths.windows(usual) {
            let stretch = laid.stretch(from, to);
            // Of places alike the first, whatever rounding says.
            if narrowest.is_none_or(|known| stretch.width < known.width - TOUCH) {
                narrowest = Some(stretch);
            }
            // Within a corner the run that goes on from there lies beside it, and heats what nothing straight across does.
            let in_corner = from < usual - TOUCH || to > length - usual + TOUCH;
            if !in_corner && widest.is_none_or(|known| stretch.width > known.width + TOUCH) {
                widest = Some(stretch);
            }
        }
    }
    // A cable of turns alone heats what is usual, and one without a stretch clear of corners nowhere more than where it heats least.
    let narrowest = narrowest.or(turn)?;
    Some(Strips { area, narrowest, widest: widest.unwrap_or(narrowest) })
}

/// How much longer than far apart two runs lie beside each other for one capsule to stand for all between them: no ratio that plans are drawn to,
/// so that both runs are of one mind.
const LONG_BESIDE: f64 = 1.37;

/// The floor between the runs of a cable and neighbours that lie farther off than usual, as far as half way to these: a capsule for each side
/// of a stretch, and of two runs of the cable one for all between them. Nothing where its runs lie too thick.
pub(super) fn wide_sides(
    index: &RunIndex<'_>,
    all: &AllSides,
    cable: u32,
    runs: &[Run],
    usual: f64,
) -> Option<Vec<Capsule>> {
    let mut capsules = Vec::new();
    for (run, number) in runs.iter().zip(0u32..).filter(|(run, _)| run.length() > usual + TOUCH) {
        let sides = all.of(index, RunId { cable, run: number })?;
        let step = (run.end - run.start) / run.length();
        for (side, sign) in sides.iter().zip([1.0, -1.0]) {
            let left = Point { x: -step.y, y: step.x } * sign;
            for beside in side.stretches() {
                let (from, to) = (beside.from, beside.to);
                let Some((first, last)) = beside.distance(from).zip(beside.distance(to)) else { continue };
                if first.max(last) <= usual + ALIKE {
                    continue;
                }
                let far = first.max(last);
                // Two that lie level see the same of each other.
                let level = (first - last).abs() <= TOUCH && to - from > LONG_BESIDE * far;
                let own =
                    beside.run().filter(|other| other.cable == cable && index.run(*other).length() > usual + TOUCH);
                let (share, ends) = match own.filter(|_| level) {
                    // The later run has it from the earlier.
                    Some(other) if other.run < number => continue,
                    // From the one to the other, as far beyond its ends as half of it would be; nearer to the runs they cover it themselves.
                    Some(_) => (2.0, far / 4.0),
                    // From the run to half way: a quarter of the distance round the line that lies a quarter of it off.
                    _ => (4.0, 0.0),
                };
                let at = |along: f64, off: f64| run.start + step * along + left * (off / share);
                let piece = Piece::new(at(from + ends, first), at(to - ends, last));
                capsules.push(Capsule { piece, radius: far / share });
            }
        }
    }
    Some(capsules)
}

/// Neighbouring runs of one cable, or of two, that lie as far apart as each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spacing {
    /// The first such pair, the earlier run first.
    pub first: RunId,
    /// The later run of it.
    pub second: RunId,
    /// How far they lie apart in the mean, mm.
    pub distance: f64,
    /// How far apart half of all the length of such pairs of their cable lies at the most, mm; of two cables, what is nearer to how far these
    /// do. Of cables that lie alongside each other alone, their own distance.
    pub usual: f64,
    /// How many pairs there are.
    pub pairs: usize,
    /// How long they lie alongside each other in all, mm.
    pub length: f64,
}

/// How far the spacing of pairs may differ that are told of together, mm.
pub const ALIKE: f64 = 1.0 + TOUCH;

/// Every spacing that neighbouring runs of a room have over `least` mm or more, in the order of the first pairs that have it; nothing where
/// runs lie too thick. Pairs of the same cables as far apart as each other, to 1 mm, are one; a pair that draws apart has two, over the
/// first `least` mm of it and over the last, in the mean of what is seen from either run.
pub(super) fn spacings(index: &RunIndex<'_>, all: &AllSides, least: f64) -> Option<Pairs<Spacing>> {
    let mut each: Vec<Spacing> = Vec::new();
    // Of pairs that draw apart, as seen from each of the two: how far apart they lie over `least`
    // at the nearer end and at the farther, and over how much they do how far in the mean.
    let mut fans: BTreeMap<(RunId, RunId), Vec<[f64; 4]>> = BTreeMap::new();
    for (id, _) in index.runs().filter(|(_, run)| run.length() >= least - TOUCH) {
        // Each pair is met from both sides; from the earlier run it counts.
        let own = each.len();
        let mut parts: BTreeMap<RunId, Vec<Beside>> = BTreeMap::new();
        for beside in all.of(index, id)?.iter().flat_map(Side::stretches) {
            let Some(second) = beside.run() else { continue };
            if beside.draws_apart() {
                parts.entry(second).or_default().push(*beside);
            }
            let (middle, length) = (f64::midpoint(beside.from, beside.to), beside.to - beside.from);
            let Some(distance) = beside.distance(middle).filter(|_| second > id) else {
                continue;
            };
            match each[own..].iter_mut().find(|known| known.second == second) {
                Some(known) => known.join(length, distance),
                None => each.push(Spacing { first: id, second, distance, usual: distance, pairs: 1, length }),
            }
        }
        let long = each.split_off(own).into_iter().filter(|pair| pair.length >= least - TOUCH);
        each.extend(long);
        for (other, mut parts) in parts {
            parts.sort_by(|a, b| a.from.total_cmp(&b.from));
            let whole: f64 = parts.iter().map(|part| part.to - part.from).sum();
            if whole < least - TOUCH {
                continue;
            }
            let ends = [mean_over(parts.iter(), least, true), mean_over(parts.iter().rev(), least, false)];
            let ends = [ends[0].min(ends[1]), ends[0].max(ends[1]), whole, mean_over(parts.iter(), whole, true)];
            fans.entry((id.min(other), id.max(other))).or_default().push(ends);
        }
    }
    // Whichever of the two comes first, they lie so far apart.
    let seen = |pair: &Spacing| match fans.get(&(pair.first, pair.second))?[..] {
        [one, other] => Some([0, 1, 2, 3].map(|what| f64::midpoint(one[what], other[what]))),
        _ => None,
    };
    for pair in &mut each {
        if let Some(seen) = seen(pair) {
            (pair.length, pair.distance) = (seen[2], seen[3]);
        }
    }
    let cables = |pair: &Spacing| (pair.first.cable, pair.second.cable);
    each.sort_by(|one, other| cables(one).cmp(&cables(other)).then(one.distance.total_cmp(&other.distance)));
    let medians = medians(&each);
    if !fans.is_empty() {
        let ends = |pair: &Spacing| {
            let seen = seen(pair)?;
            (seen[1] - seen[0] > ALIKE).then_some([seen[0], seen[1]])
        };
        each = each
            .into_iter()
            .flat_map(|pair| match ends(&pair) {
                Some(ends) => ends.map(|distance| Spacing { distance, length: least, ..pair }).to_vec(),
                None => vec![pair],
            })
            .collect();
        each.sort_by(|one, other| cables(one).cmp(&cables(other)).then(one.distance.total_cmp(&other.distance)));
    }
    let mut together: Vec<Spacing> = Vec::new();
    let mut nearest = 0.0;
    for pair in each {
        match together.last_mut().filter(|last| cables(last) == cables(&pair) && pair.distance - nearest <= ALIKE) {
            Some(last) => {
                last.join(pair.length, pair.distance);
                last.pairs += 1;
                if pair.first < last.first {
                    (last.first, last.second) = (pair.first, pair.second);
                }
            }
            None => {
                nearest = pair.distance;
                together.push(pair);
            }
        }
    }
    for spacing in &mut together {
        let own = [spacing.first.cable, spacing.second.cable].into_iter().filter_map(|cable| medians.get(&cable));
        let off = |usual: &&f64| (**usual - spacing.distance).abs();
        spacing.usual = own.min_by(|a, b| off(a).total_cmp(&off(b))).copied().unwrap_or(spacing.distance);
    }
    together.sort_by_key(|spacing| (spacing.first, spacing.second));
    let mut found = Pairs::default();
    together.into_iter().for_each(|spacing| found.add(spacing));
    Some(found)
}

/// How far apart a pair lies in the mean over `least` mm from its first part on, forwards or backwards; nothing for no parts.
fn mean_over<'s>(parts: impl Iterator<Item = &'s Beside>, least: f64, forwards: bool) -> f64 {
    let (mut left, mut sum) = (least, 0.0);
    for part in parts {
        let take = (part.to - part.from).min(left);
        let middle = if forwards { part.from + take / 2.0 } else { part.to - take / 2.0 };
        sum += take * part.distance(middle).unwrap_or_default();
        left -= take;
    }
    if left < least { sum / (least - left) } else { 0.0 }
}

/// Of each cable the median distance of its own neighbouring runs, weighted by how long they lie alongside. The pairs are in order of the
/// cables and then of distance.
fn medians(pairs: &[Spacing]) -> BTreeMap<u32, f64> {
    let own = pairs.iter().filter(|pair| pair.first.cable == pair.second.cable);
    let mut wholes: BTreeMap<u32, f64> = BTreeMap::new();
    own.clone().for_each(|pair| *wholes.entry(pair.first.cable).or_default() += pair.length);
    let mut medians: BTreeMap<u32, f64> = BTreeMap::new();
    let mut sums: BTreeMap<u32, f64> = BTreeMap::new();
    for pair in own {
        let cable = pair.first.cable;
        let sum = sums.entry(cable).or_default();
        *sum += pair.length;
        if *sum >= wholes[&cable] / 2.0 {
            medians.entry(cable).or_insert(pair.distance);
        }
    }
    medians
}

impl Spacing {
    /// Takes in that its runs, or others, lie so far apart over so much length.
    fn join(&mut self, length: f64, distance: f64) {
        let all = self.length + length;
        self.distance = (self.distance * self.length + distance * length) / all;
        self.length = all;
    }
}
