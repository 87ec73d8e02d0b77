//! The strip of floor that each stretch of a cable heats: how far its neighbours lie on both sides, whichever cable they are of.
//!
//! A run is cut into stretches wherever the nearest thing straight across changes, on its left or on its right. A stretch heats the floor
//! half way to its neighbour. Where something comes first that cable keeps clear of (a wall, a fixture that stands on the floor, a level's
//! edge, a drill zone, a joint, a pipe, a partition), or nothing lies within [`FARTHEST_NEIGHBOUR`], that side is open, and it heats as far
//! as half the cable's usual spacing. What is asked of a place rather than of a point is the mean over one usual spacing of a run, since heat evens out
//! over about that much floor. Runs no longer than that are turns: they heat a strip as wide as they are long.

use std::collections::BTreeMap;

use super::cover::Capsule;
use super::index::{RunId, RunIndex};
use super::levels::shape_polygon;
use super::{Pairs, TOUCH};
use crate::geometry::index::Index;
use crate::geometry::ring::edges;
use crate::geometry::{Piece, Point, cross, dot};
use crate::model::{AreaKind, Room, Run, Shape};

/// How far across a run another still is its neighbour, mm: a little more than two hands. What lies farther off is warmed by neither.
pub const FARTHEST_NEIGHBOUR: f64 = 500.0;

/// What another run may slant against a run and still lie alongside it, mm across for each mm along.
const MOST_SLANT: f64 = 0.5;

/// How many neighbouring boxes are looked at before the search gives up, for each run and at the least.
const CANDIDATES_EACH: usize = 300;
const LEAST_CANDIDATES: usize = 1_000_000;

/// What cable keeps clear of, so that runs on both sides of it are no neighbours: walls, fixtures that stand on the floor, edges of levels,
/// drill zones, joints, pipes, partitions.
#[derive(Debug)]
pub struct Obstacles {
    pieces: Vec<Piece>,
    index: Index,
}

impl Obstacles {
    /// Those of a room.
    pub fn new(room: &Room) -> Self {
        let mut pieces: Vec<Piece> = edges(&room.corners).collect();
        for area in &room.areas {
            match &area.shape {
                // Cable may lie under it.
                _ if matches!(area.kind, AreaKind::Fixture { raised: Some(_), .. }) => {}
                Shape::Polygon(corners) => pieces.extend(edges(corners)),
                circle @ Shape::Circle { .. } => {
                    let lines = shape_polygon(circle);
                    pieces.extend(lines.exterior().lines().map(|line| Piece::new(line.start, line.end)));
                }
            }
        }
        pieces.extend(room.lines.iter().flat_map(|line| Piece::of_line(&line.points)));
        Obstacles { index: Index::new(pieces.iter().copied()), pieces }
    }

    /// Those near a run.
    fn near(&self, run: &Run) -> impl Iterator<Item = Piece> {
        let wanted = run.piece().bounds().widened(FARTHEST_NEIGHBOUR);
        self.index.near(wanted).map(|place| self.pieces[place])
    }
}

/// What lies straight across: another run, or an obstacle.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Across {
    run: Option<RunId>,
    /// How far off it lies at the run's start if it went on there, mm, and how that changes with each mm along the run.
    at_start: f64,
    slope: f64,
}

impl Across {
    fn at(&self, along: f64) -> f64 {
        self.at_start + self.slope * along
    }
}

/// What lies nearest on one side of a run, from its start to its end: stretches, mm along it, that follow on each other.
#[derive(Debug, Clone, PartialEq)]
struct Side(Vec<(f64, f64, Option<Across>)>);

impl Side {
    /// Nothing lies there yet.
    fn open(length: f64) -> Self {
        Side(vec![(0.0, length, None)])
    }

    /// Puts another run there, where it is nearer than what is there already.
    fn put(&mut self, from: f64, to: f64, other: Across) {
        if to - from <= TOUCH {
            return;
        }
        let mut after = Vec::with_capacity(self.0.len() + 2);
        for &(start, end, there) in &self.0 {
            let (low, high) = (start.max(from), end.min(to));
            if high - low <= 0.0 {
                after.push((start, end, there));
                continue;
            }
            if start < low {
                after.push((start, low, there));
            }
            match there {
                None => after.push((low, high, Some(other))),
                Some(known) => {
                    let (first, last) = (other.at(low) - known.at(low), other.at(high) - known.at(high));
                    let nearer = |nearer: bool| Some(if nearer { other } else { known });
                    if (first < 0.0) == (last < 0.0) {
                        after.push((low, high, nearer(first < 0.0)));
                    } else {
                        let meet = low + (high - low) * first / (first - last);
                        after.extend([(low, meet, nearer(first < 0.0)), (meet, high, nearer(last < 0.0))]);
                    }
                }
            }
            if high < end {
                after.push((high, end, there));
            }
        }
        // What goes on as it was is one stretch.
        after.dedup_by(|next, last| {
            let same = last.2 == next.2;
            if same {
                last.1 = next.1;
            }
            same
        });
        self.0 = after;
    }

    /// The farthest of what lies there; nothing where some of it is open.
    fn farthest(&self) -> Option<f64> {
        let each = self.0.iter().map(|(from, to, there)| there.map(|there| there.at(*from).max(there.at(*to))));
        each.collect::<Option<Vec<f64>>>().map(|each| each.into_iter().fold(0.0, f64::max))
    }
}

/// What lies nearest on both sides of a run, the left first.
type Sides = [Side; 2];

/// Puts a piece, of another run or of an obstacle, on the sides of a run that it lies alongside, as far as it does.
fn put(sides: &mut Sides, run: &Run, step: Point, id: Option<RunId>, piece: Piece) {
    let length = run.length();
    let place = |point: Point| (dot(point - run.start, step), cross(step, point - run.start));
    let (one, two) = (place(piece.start), place(piece.end));
    let ((from, first), (to, last)) = if one.0 > two.0 { (two, one) } else { (one, two) };
    if to - from <= TOUCH {
        return;
    }
    let slope = (last - first) / (to - from);
    if id.is_some() && slope.abs() > MOST_SLANT {
        return;
    }
    let at_start = first - slope * from;
    let (from, to) = (from.max(0.0), to.min(length));
    for (side, sign) in sides.iter_mut().zip([1.0, -1.0]) {
        let across = Across { run: id, at_start: at_start * sign, slope: slope * sign };
        // As far as it lies on this side, and not too far off: between the places where it would be TOUCH and FARTHEST_NEIGHBOUR away.
        let (mut low, mut high) = (from, to);
        for (bound, over) in [(TOUCH, true), (FARTHEST_NEIGHBOUR, false)] {
            let inside = |along: f64| if over { across.at(along) > bound } else { across.at(along) <= bound };
            match (inside(low), inside(high)) {
                (true, true) => {}
                (false, false) => high = low,
                (starts, _) => {
                    let meet = (bound - across.at_start) / across.slope;
                    if starts { high = meet } else { low = meet }
                }
            }
            if high <= low {
                break;
            }
        }
        side.put(low, high, across);
    }
}

/// What lies on both sides of a run; counts down the boxes that may still be looked at, and is nothing once there are none.
fn sides(index: &RunIndex<'_>, obstacles: &Obstacles, id: RunId, candidates: &mut usize) -> Option<Sides> {
    let run = index.run(id);
    let length = run.length();
    let step = (run.end - run.start) / length;
    let mut sides = [Side::open(length), Side::open(length)];
    for piece in obstacles.near(run) {
        *candidates = candidates.checked_sub(1)?;
        put(&mut sides, run, step, None, piece);
    }
    let put = |sides: &mut Sides, other: RunId| put(sides, run, step, Some(other), index.run(other).piece());
    // In parallel loops every other run lies beside the last, and bounds how far any other that matters can be.
    let next = [id.run.checked_add(2), id.run.checked_sub(2)].into_iter().flatten();
    let next: Vec<RunId> = next.map(|run| RunId { cable: id.cable, run }).filter(|other| index.has(*other)).collect();
    next.iter().for_each(|other| put(&mut sides, *other));
    let reach = match (sides[0].farthest(), sides[1].farthest()) {
        (Some(left), Some(right)) => left.max(right),
        _ => FARTHEST_NEIGHBOUR,
    };
    for other in index.near(run.piece().bounds(), reach + TOUCH) {
        *candidates = candidates.checked_sub(1)?;
        let joined = other.cable == id.cable && other.run.abs_diff(id.run) <= 1;
        if !joined && !next.contains(&other) {
            put(&mut sides, other);
        }
    }
    Some(sides)
}

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

/// A run's strip: its width at the ends of stretches in which it changes evenly, mm along the run and mm.
struct Widths {
    stretches: Vec<(f64, f64, f64, f64)>,
    length: f64,
}

impl Widths {
    fn new(sides: &Sides, usual: f64) -> Self {
        let [left, right] = sides;
        let length = left.0.last().map_or(0.0, |stretch| stretch.1);
        let mut cuts: Vec<f64> = left.0.iter().chain(&right.0).map(|stretch| stretch.1).collect();
        cuts.sort_by(f64::total_cmp);
        cuts.dedup_by(|a, b| *a - *b <= TOUCH);
        let half = |side: &Side, along: f64, of: f64| {
            let (_, _, there) = at(side, of);
            there.filter(|there| there.run.is_some()).map_or(usual, |there| there.at(along)) / 2.0
        };
        let mut from = 0.0;
        let stretches = cuts.into_iter().filter(|to| *to > 0.0).map(|to| {
            let middle = f64::midpoint(from, to);
            let width = |along: f64| half(left, along, middle) + half(right, along, middle);
            let stretch = (from, to, width(from), width(to));
            from = to;
            stretch
        });
        Widths { stretches: stretches.collect(), length }
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

/// What lies on a side at a place along the run.
fn at(side: &Side, along: f64) -> (f64, f64, Option<Across>) {
    let stretch = side.0.iter().find(|(_, to, _)| along <= *to).or(side.0.last());
    stretch.copied().unwrap_or((0.0, 0.0, None))
}

/// The floor that each stretch of a cable heats, `usual` being its usual spacing, mm; nothing where its runs lie too thick to be gone through.
pub fn strips(index: &RunIndex<'_>, obstacles: &Obstacles, cable: u32, runs: &[Run], usual: f64) -> Option<Strips> {
    let mut candidates = LEAST_CANDIDATES + index.count() * CANDIDATES_EACH;
    let mut area = 0.0;
    let (mut narrowest, mut widest): (Option<Stretch>, Option<Stretch>) = (None, None);
    let mut turn = None;
    for (run, number) in runs.iter().zip(0u32..) {
        let (id, length) = (RunId { cable, run: number }, run.length());
        if length <= usual + TOUCH {
            area += length * length;
            turn.get_or_insert(Stretch { run: id, from: 0.0, to: length, width: usual, beside: [None, None] });
            continue;
        }
        let sides = sides(index, obstacles, id, &mut candidates)?;
        let widths = Widths::new(&sides, usual);
        area += widths.area(0.0, length);
        for (from, to) in widths.windows(usual) {
            let middle = f64::midpoint(from, to);
            let beside = [0, 1].map(|side| at(&sides[side], middle).2.and_then(|there| there.run));
            let stretch = Stretch { run: id, from, to, width: widths.area(from, to) / usual, beside };
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

/// The floor between the runs of a cable and neighbours that lie farther off than usual, as far as half way to these: a capsule for each side
/// of a stretch. Nothing where its runs lie too thick.
pub fn wide_sides(
    index: &RunIndex<'_>,
    obstacles: &Obstacles,
    cable: u32,
    runs: &[Run],
    usual: f64,
) -> Option<Vec<Capsule>> {
    let mut candidates = LEAST_CANDIDATES + index.count() * CANDIDATES_EACH;
    let mut capsules = Vec::new();
    for (run, number) in runs.iter().zip(0u32..).filter(|(run, _)| run.length() > usual + TOUCH) {
        let sides = sides(index, obstacles, RunId { cable, run: number }, &mut candidates)?;
        let step = (run.end - run.start) / run.length();
        for (side, sign) in sides.into_iter().zip([1.0, -1.0]) {
            let left = Point { x: -step.y, y: step.x } * sign;
            for (from, to, there) in side.0 {
                let Some(there) = there.filter(|there| there.run.is_some()) else { continue };
                let (first, last) = (there.at(from), there.at(to));
                if first.max(last) <= usual + ALIKE {
                    continue;
                }
                // From the run to half way: a quarter of the distance round the line that lies a quarter of it off.
                let at = |along: f64, off: f64| run.start + step * along + left * (off / 4.0);
                capsules
                    .push(Capsule { piece: Piece::new(at(from, first), at(to, last)), radius: first.max(last) / 4.0 });
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
pub fn spacings(index: &RunIndex<'_>, obstacles: &Obstacles, least: f64) -> Option<Pairs<Spacing>> {
    let mut candidates = LEAST_CANDIDATES + index.count() * CANDIDATES_EACH;
    let mut each: Vec<Spacing> = Vec::new();
    // Of pairs that draw apart, as seen from each of the two: how far apart they lie over `least`
    // at the nearer end and at the farther, and over how much they do how far in the mean.
    let mut fans: BTreeMap<(RunId, RunId), Vec<[f64; 4]>> = BTreeMap::new();
    for (id, _) in index.runs().filter(|(_, run)| run.length() >= least - TOUCH) {
        // Each pair is met from both sides; from the earlier run it counts.
        let own = each.len();
        let mut parts: BTreeMap<RunId, Vec<(f64, f64, Across)>> = BTreeMap::new();
        for (from, to, there) in sides(index, obstacles, id, &mut candidates)?.into_iter().flat_map(|side| side.0) {
            let Some((there, second)) = there.and_then(|there| Some((there, there.run?))) else { continue };
            if there.slope != 0.0 {
                parts.entry(second).or_default().push((from, to, there));
            }
            if second < id {
                continue;
            }
            let (length, distance) = (to - from, there.at(f64::midpoint(from, to)));
            match each[own..].iter_mut().find(|known| known.second == second) {
                Some(known) => known.join(length, distance),
                None => each.push(Spacing { first: id, second, distance, usual: distance, pairs: 1, length }),
            }
        }
        let long = each.split_off(own).into_iter().filter(|pair| pair.length >= least - TOUCH);
        each.extend(long);
        for (other, mut parts) in parts {
            parts.sort_by(|a, b| a.0.total_cmp(&b.0));
            let whole: f64 = parts.iter().map(|(from, to, _)| to - from).sum();
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
fn mean_over<'s>(parts: impl Iterator<Item = &'s (f64, f64, Across)>, least: f64, forwards: bool) -> f64 {
    let (mut left, mut sum) = (least, 0.0);
    for (from, to, there) in parts {
        let take = (to - from).min(left);
        let middle = if forwards { from + take / 2.0 } else { to - take / 2.0 };
        sum += take * there.at(middle);
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
