//! Leads runs into floor that a cable's way leaves bare: from a run beside such floor to and fro, as deep as it goes.
//!
//! A tooth is a pair of pieces square to the run that it stands on, joined at the far end. Teeth side by side heat floor as rows do, however
//! deep it is at each place; so what is too slim or too uneven for rows is filled by them.

use super::bare::Grid;
use super::rows::Ground;
use super::walk::corners;
use crate::geometry::index::Index;
use crate::geometry::{Bounds, Piece, Point, dot};

/// How teeth are drawn; lengths in mm.
#[derive(Debug, Clone, Copy)]
pub struct Comb<'g> {
    /// The floor.
    pub ground: &'g Ground,
    /// Its points.
    pub grid: &'g Grid,
    /// Small round places on it and how far from the middle of each they keep.
    pub spots: &'g [(Point, f64)],
    /// How far apart pieces are to lie.
    pub pitch: f64,
    /// How near they may come to others.
    pub clear: f64,
    /// How near the two pieces of a short one may come to each other, and what is short.
    pub narrow: (f64, f64),
    /// The least length of a piece between two corners.
    pub least: f64,
    /// How far they end from where the floor does.
    pub inset: f64,
    /// Straight cable at both ends of the line.
    pub straight: f64,
    /// How much floor beside a run is bare, where another run could lie.
    pub bare: f64,
}

/// Teeth on one run.
#[derive(Debug)]
struct Teeth {
    run: usize,
    /// Which way they stand from it; a step of length 1.
    outward: Point,
    /// From where to where along the run each stands, and how high, mm; in order.
    each: Vec<[f64; 3]>,
    /// The box around them.
    bounds: Bounds,
    /// What they are worth, mm2 of floor heated.
    worth: f64,
}

/// From a point of the grid to the corner of what it stands for, in steps, and a little more.
const HALF_DIAGONAL: f64 = 0.72;

/// How often floor is looked for.
const MOST_TIMES: usize = 24;

/// How much wider or closer than the pitch teeth and the gaps between them may be, as a share of it.
const WIDEST: f64 = 1.3;
/// Into how many parts a pitch is divided to find places for teeth, and the least part, mm.
const GRAIN: f64 = 10.0;
const LEAST_GRAIN: f64 = 8.0;
/// What a tooth costs, as a share of the square of the pitch, and what it costs that it isn't a pitch wide, as a share of the floor concerned.
const TOOTH: f64 = 0.6;
const UNEVEN: f64 = 0.6;
/// What is no more than this is on the run, mm.
const GRAZE: f64 = 0.5;
/// How far beside a place it is asked what lies on the one and on the other side of an edge there, mm.
const BESIDE: f64 = 0.03;

impl Comb<'_> {
    /// A line of points with teeth wherever floor beside its runs is bare.
    pub fn filled(&self, line: Vec<Point>) -> Vec<Point> {
        let mut line = line;
        // Teeth reach floor that is bare; then where the line was changed since it was looked at.
        let far = (self.clear - self.grid.step() * HALF_DIAGONAL).max(0.0);
        let bare = self.grid.boxes_beyond(&line, far, 4.0 * self.pitch);
        let mut changed: Vec<Bounds> = bare.into_iter().map(|bare| bare.widened(2.0 * self.pitch)).collect();
        for _ in 0..MOST_TIMES {
            let mut found = self.found(&line, &changed);
            found.sort_by(|a, b| b.worth.total_cmp(&a.worth).then(a.run.cmp(&b.run)));
            // The most worth first, and of the others those that it leaves as they are.
            let mut chosen: Vec<Teeth> = Vec::new();
            for teeth in found {
                let room = teeth.bounds.widened(2.0 * self.pitch);
                let apart = |other: &Teeth| other.run != teeth.run && !other.bounds.meets(&room);
                if chosen.iter().all(apart) {
                    chosen.push(teeth);
                }
            }
            if chosen.is_empty() {
                break;
            }
            changed = chosen.iter().map(|teeth| teeth.bounds.widened(2.0 * self.pitch)).collect();
            // From the last run on, so that the others keep their places.
            chosen.sort_by_key(|teeth| std::cmp::Reverse(teeth.run));
            line = chosen.iter().fold(line, |line, teeth| with_teeth(&line, teeth));
        }
        line
    }

    /// A line with the teeth of one run, of each in turn that could have some near a place.
    pub fn each_filled(&self, line: &[Point], near: Bounds) -> Vec<Vec<Point>> {
        let mut found = self.found(line, &[near]);
        found.retain(|teeth| teeth.bounds.meets(&near));
        found.sort_by(|a, b| b.worth.total_cmp(&a.worth).then(a.run.cmp(&b.run)));
        found.iter().map(|teeth| with_teeth(line, teeth)).collect()
    }

    /// A line led on from its end into bare floor beside that, where there is such floor.
    pub fn led_on(&self, line: Vec<Point>) -> Vec<Point> {
        let pieces: Vec<Piece> = Piece::of_line(&line).collect();
        let Some(last) = pieces.last().filter(|last| last.length() >= self.least) else { return line };
        let edges = |view: &View| self.ground.edges().iter().map(|edge| view.local(*edge)).collect::<Vec<_>>();
        let ways = [1.0, -1.0].map(|side| {
            let view = View::new(*last, side);
            let floor = above(&edges(&view), view.length).map_or(0.0, |height| height - self.inset);
            let others = pieces[..pieces.len() - 1].iter().map(|piece| (view.local(*piece), self.clear));
            let spots = self.spots.iter().map(|(at, keeps)| (view.local(Piece::at(*at)), *keeps));
            let free = |free: f64, (piece, keeps): ([Point; 2], f64)| free.min(reached(piece, view.length, keeps));
            (others.chain(spots).fold(floor, free).floor(), view.outward)
        });
        let Some((deep, outward)) = ways.into_iter().max_by(|a, b| a.0.total_cmp(&b.0)) else { return line };
        let mut line = line;
        if deep >= self.bare.max(self.straight) {
            line.push(last.end + outward * deep);
        }
        line
    }

    /// The teeth that each run could have, where something changed.
    fn found(&self, line: &[Point], changed: &[Bounds]) -> Vec<Teeth> {
        let pieces: Vec<Piece> = Piece::of_line(line).collect();
        let index = Index::new(pieces.iter().copied());
        let room = self.narrow.0.max(self.least);
        let mut found = Vec::new();
        for (run, piece) in pieces.iter().enumerate() {
            // Teeth stand on runs along the rows and across them.
            let square = piece.start.x == piece.end.x || piece.start.y == piece.end.y;
            let touched = changed.iter().any(|changed| changed.meets(&piece.bounds()));
            if !square || !touched || piece.length() < room || self.is_narrow_tip(&pieces, run) {
                continue;
            }
            found.extend([1.0, -1.0].into_iter().filter_map(|side| {
                let view = View::new(*piece, side);
                let depths = self.depths(&view, &pieces, run, &index);
                let depths = depths?;
                self.placed(&view, run, &depths)
            }));
        }
        found
    }

    /// Whether a run is the far end of a pair of pieces so near to each other that they may be no longer than they are.
    fn is_narrow_tip(&self, pieces: &[Piece], run: usize) -> bool {
        let joined = run.checked_sub(1).and_then(|before| pieces.get(before)).zip(pieces.get(run + 1));
        let back = joined.is_some_and(|(before, after)| dot(before.step(), after.step()) < 0.0);
        back && pieces[run].length() < self.clear.max(self.least)
    }

    fn grain(&self) -> f64 {
        (self.pitch / GRAIN).round().max(LEAST_GRAIN)
    }

    /// How high a tooth may stand at places along a run, a grain apart; nothing where none may.
    fn depths(&self, view: &View, pieces: &[Piece], run: usize, index: &Index) -> Option<Vec<Depth>> {
        let near: Vec<Near> = index
            .near(view.bounds(self.bare + self.clear, self.clear))
            .filter(|other| *other != run)
            .map(|other| self.near(view, pieces, run, other))
            .collect();
        if covered(
            view.length,
            near.iter().filter(|near| near.piece[0].y.min(near.piece[1].y) > GRAZE),
            self.bare + self.clear,
        ) {
            return None;
        }
        // Those that a tooth on the run can come to.
        let edges = self.ground.edges().iter().map(|edge| view.local(*edge));
        let before =
            |[a, b]: &[Point; 2]| a.y.max(b.y) > 0.0 && a.x.max(b.x) >= -BESIDE && a.x.min(b.x) <= view.length + BESIDE;
        let edges: Vec<[Point; 2]> = edges.filter(before).collect();
        let ends = [run == 0, run + 1 == pieces.len()];
        let spots: Vec<Near> = self
            .spots
            .iter()
            .map(|(at, keeps)| Near { keeps: *keeps, piece: view.local(Piece::at(*at)), goes_on: false })
            .collect();
        let free = |along: f64, near: &[Near]| {
            // Right at an edge cable may lie as deep as on the better side of it.
            let heights = [-BESIDE, BESIDE].into_iter().filter_map(|off| above(&edges, along + off));
            let floor = heights.fold(0.0, f64::max) - self.inset;
            if floor < self.bare {
                return Depth { along, leg: floor, between: floor };
            }
            let over = || near.iter().chain(&spots).filter(|near| near.over(along));
            let least = |low: bool| {
                over().filter(|near| near.is_low() == low).map(|near| near.reached(along)).fold(floor, f64::min)
            };
            // What leads away from the run is in the way of what stands on it, and not of what lies across between such.
            let between = least(false);
            let at_end = [along, view.length - along].into_iter().zip(ends);
            let joint = at_end.into_iter().any(|(far, is_end)| is_end && far < self.straight.max(self.least));
            Depth { along, leg: if joint { 0.0 } else { between.min(least(true)) }, between }
        };
        // A tooth is wider than that, so that one in which there is room for any has it at two such places.
        let coarse = self.narrow.0 / 2.0;
        let deepest = view.places(coarse).map(|along| free(along, &near).between).fold(0.0, f64::max);
        if deepest < self.bare {
            return None;
        }
        // What lies farther off is asked for where it counts alone.
        let near: Vec<Near> = index
            .near(view.bounds(deepest + self.bare + self.clear, self.clear))
            .filter(|other| *other != run)
            .map(|other| self.near(view, pieces, run, other))
            .collect();
        // Besides, right at the sides of slim floor, and as near to what lies across as may be.
        let sides = edges.iter().filter(|[a, b]| (a.x - b.x).abs() <= GRAZE && a.y.max(b.y) > GRAZE).map(|[a, _]| a.x);
        let across = near.iter().filter(|near| (near.piece[0].x - near.piece[1].x).abs() <= GRAZE);
        let across = across.flat_map(|near| [near.piece[0].x - near.keeps, near.piece[0].x + near.keeps]);
        let more = sides.chain(across).flat_map(|at| [at.floor(), at.ceil()]);
        let within = more.filter(|at| GRAZE < *at && *at < view.length - GRAZE);
        let mut places: Vec<f64> = view.places(self.grain()).chain(within).collect();
        places.sort_by(f64::total_cmp);
        places.dedup_by(|a, b| (*a - *b).abs() <= GRAZE);
        Some(places.into_iter().map(|along| free(along, &near)).collect())
    }

    /// Another piece of the line as a run sees it. From one that is joined to the run and leads away from teeth they keep no farther than bends
    /// ask for, and one that goes straight on from it none at all.
    fn near(&self, view: &View, pieces: &[Piece], run: usize, other: usize) -> Near {
        let piece = view.local(pieces[other]);
        let away = (other + 1 == run || other == run + 1) && piece[0].y.max(piece[1].y) <= GRAZE;
        let square = (piece[0].x - piece[1].x).abs() <= GRAZE / 10.0;
        Near { piece, keeps: if away { self.least } else { self.clear }, goes_on: away && square }
    }

    /// The teeth along a run that heat the most floor.
    fn placed(&self, view: &View, run: usize, depths: &[Depth]) -> Option<Teeth> {
        let (room, most) = (self.clear.max(self.least), self.pitch * WIDEST);
        let narrow = self.narrow.0.max(self.least);
        let uneven = |wide: f64, high: f64| (wide - self.pitch).abs() * high * UNEVEN;
        // Of each place the most that teeth are worth of which the last ends there, where that begins and where the one before ends.
        let mut best: Vec<(f64, usize, Option<usize>, f64)> = vec![(f64::NEG_INFINITY, 0, None, 0.0); depths.len()];
        // And the most of all up to there.
        let mut sofar: Vec<(f64, Option<usize>)> = Vec::with_capacity(depths.len());
        for end in 0..depths.len() {
            let mut between = depths[end].leg;
            for begin in (0..end).rev() {
                let wide = depths[end].along - depths[begin].along;
                between = between.min(depths[begin].between).floor();
                if between < self.bare || wide > most {
                    break;
                }
                let high = between.min(depths[begin].leg).floor();
                if wide < narrow || high < self.bare {
                    continue;
                }
                let high = if wide < room { high.min(self.narrow.1.floor()) } else { high };
                let own = 2.0 * high * self.pitch - uneven(wide, high) - TOOTH * self.pitch * self.pitch;
                let mut before = (0.0, None);
                for last in (0..begin).rev() {
                    let gap = depths[begin].along - depths[last].along;
                    if gap > most {
                        before = Some(sofar[last]).filter(|known| known.0 > before.0).unwrap_or(before);
                        break;
                    }
                    let worth = best[last].0 - uneven(gap, high.min(best[last].3));
                    if gap >= room && worth > before.0 {
                        before = (worth, Some(last));
                    }
                }
                if own + before.0 > best[end].0 {
                    best[end] = (own + before.0, begin, before.1, high);
                }
            }
            let known = sofar.last().copied().unwrap_or((0.0, None));
            sofar.push(if best[end].0 > known.0 { (best[end].0, Some(end)) } else { known });
        }
        let (worth, mut at) = sofar.last().copied()?;
        let mut each = Vec::new();
        while let Some(end) = at {
            let (_, begin, from, high) = best[end];
            each.push([depths[begin].along, depths[end].along, high]);
            at = from;
        }
        each.reverse();
        let (first, last) = (each.first()?, each.last()?);
        let high = each.iter().map(|tooth| tooth[2]).fold(0.0, f64::max);
        let at = |along: f64, high: f64| view.start + view.step * along + view.outward * high;
        let bounds = Bounds::between(at(first[0], 0.0), at(last[1], high));
        Some(Teeth { run, outward: view.outward, bounds, each, worth })
    }
}

/// How high teeth may be at a place along a run, mm.
struct Depth {
    /// Where that is.
    along: f64,
    /// How far a leg may reach that stands there.
    leg: f64,
    /// How far off what lies across may lie there, between two legs.
    between: f64,
}

/// A run, and where something lies as seen from it: how far along it and how far to one side.
struct View {
    start: Point,
    step: Point,
    outward: Point,
    length: f64,
}

impl View {
    fn new(run: Piece, side: f64) -> Self {
        let length = run.length();
        let step = run.step() / length;
        View { start: run.start, step, outward: Point { x: -step.y, y: step.x } * side, length }
    }

    /// Places along it, so far apart, and its end.
    fn places(&self, apart: f64) -> impl Iterator<Item = f64> {
        let (count, length) = ((self.length / apart).floor() as usize, self.length);
        let last = Some(length).filter(|length| length - count as f64 * apart > GRAZE);
        (0..=count).map(move |place| place as f64 * apart).chain(last)
    }

    fn local(&self, piece: Piece) -> [Point; 2] {
        [piece.start, piece.end].map(|point| {
            let from = point - self.start;
            Point { x: dot(from, self.step), y: dot(from, self.outward) }
        })
    }

    /// The box around what lies no farther off than `deep`, and `beside` round that.
    fn bounds(&self, deep: f64, beside: f64) -> Bounds {
        let end = self.start + self.step * self.length;
        Bounds::between(self.start, end + self.outward * deep).with(Bounds::at(end)).widened(beside)
    }
}

/// A piece near a run, as seen from it.
struct Near {
    piece: [Point; 2],
    /// How far teeth keep from it, mm.
    keeps: f64,
    /// Whether a tooth at its end goes straight on from it.
    goes_on: bool,
}

impl Near {
    /// Whether all of it lies on the run or behind it.
    fn is_low(&self) -> bool {
        self.piece[0].y.max(self.piece[1].y) <= GRAZE
    }

    /// Whether it may stand in the way at a place.
    fn over(&self, along: f64) -> bool {
        let [a, b] = self.piece;
        along > a.x.min(b.x) - self.keeps && along < a.x.max(b.x) + self.keeps
    }

    fn reached(&self, along: f64) -> f64 {
        if self.goes_on && (self.piece[0].x - along).abs() <= GRAZE {
            f64::INFINITY
        } else {
            reached(self.piece, along, self.keeps)
        }
    }
}

/// Whether pieces that lie along a run and no farther off than `deep` leave no room for a tooth.
fn covered<'p>(length: f64, pieces: impl Iterator<Item = &'p Near>, deep: f64) -> bool {
    let mut spans: Vec<(f64, f64)> = pieces
        .filter(|near| near.piece[0].y.max(near.piece[1].y) < deep)
        .map(|Near { keeps, piece: [a, b], .. }| (a.x.min(b.x) - keeps, a.x.max(b.x) + keeps))
        .collect();
    spans.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut reached = 0.0;
    for (from, to) in spans {
        if from > reached {
            return false;
        }
        reached = f64::max(reached, to);
    }
    reached >= length
}

/// How far above a place on a run the floor ends; nothing where none lies above it.
fn above(edges: &[[Point; 2]], along: f64) -> Option<f64> {
    let (mut count, mut least) = (0, f64::INFINITY);
    for [a, b] in edges {
        if (a.x <= along) == (b.x <= along) {
            continue;
        }
        let height = a.y + (b.y - a.y) * (along - a.x) / (b.x - a.x);
        if height > GRAZE {
            count += 1;
            least = f64::min(least, height);
        }
    }
    (count % 2 == 1).then_some(least)
}

/// How high something may stand at a place until it comes nearer than `keeps` to a piece; without bound where it never does.
fn reached([a, b]: [Point; 2], along: f64, keeps: f64) -> f64 {
    let keeps = keeps - 1e-6;
    if along <= a.x.min(b.x) - keeps || along >= a.x.max(b.x) + keeps {
        return f64::INFINITY;
    }
    let mut range: Option<(f64, f64)> = None;
    let mut add = |low: f64, high: f64| {
        range = Some(range.map_or((low, high), |(known, most)| (known.min(low), most.max(high))));
    };
    for end in [a, b] {
        let off = along - end.x;
        if off.abs() < keeps {
            let half = (keeps * keeps - off * off).sqrt();
            add(end.y - half, end.y + half);
        }
    }
    let step = b - a;
    let length = step.x.hypot(step.y);
    if length > 0.0 && step.x != 0.0 {
        let unit = step / length;
        // Where it is as far from the piece's line as it is to keep.
        for side in [keeps, -keeps] {
            let height = a.y + ((along - a.x) * unit.y + side) / unit.x;
            let share = dot(Point { x: along, y: height } - a, unit);
            if (0.0..=length).contains(&share) {
                add(height, height);
            }
        }
    }
    match range {
        Some((_, high)) if high <= 0.0 => f64::INFINITY,
        Some((low, _)) => low.max(0.0),
        None => f64::INFINITY,
    }
}

/// A line with teeth on one of its runs.
fn with_teeth(line: &[Point], teeth: &Teeth) -> Vec<Point> {
    let run = Piece::new(line[teeth.run], line[teeth.run + 1]);
    let step = run.step() / run.length();
    let mut after: Vec<Point> = line[..=teeth.run].to_vec();
    for [from, to, high] in &teeth.each {
        let at = |along: f64, high: f64| run.start + step * along + teeth.outward * high;
        after.extend([at(*from, 0.0), at(*from, *high), at(*to, *high), at(*to, 0.0)]);
    }
    after.extend(&line[teeth.run + 1..]);
    corners(&after)
}
