//! Lays a cable in a spiral: side by side with itself along the edge of the floor, round after round inward, and back between.
//!
//! Both its ends then lie where it begins, as a cable of one conductor needs them, and each round is as far from the next as the two are from each
//! other. It is what goes round a path that spirals inward, as in spanning-tree coverage (see [`super`]); the rounds of that path are the floor's
//! edges led inward, as in connected Fermat spirals (H. Zhao et al., "Connected Fermat spirals for layered fabrication", ACM Transactions on
//! Graphics 35, 2016). A round loses an edge where its neighbours meet before it; floor that has a hole has no spiral.

use geo::{Area as _, MultiPolygon, Simplify as _};

use super::bare::Grid;
use super::fit::{Cable, Layout, bends, laid};
use super::frame::Frame;
use super::until::Until;
use crate::geometry::ring::signed_area;
use crate::geometry::{Piece, Point, cross, distance, dot};

/// How far the floor's edge may be off where it is drawn with fewer corners, mm; less than the cable keeps from it in any case.
const ROUGHLY: f64 = 2.0;

/// The sine of the angle below which two edges never meet, for what is laid.
const PARALLEL: f64 = 0.02;

/// How far from where the floor for cable ends the first round lies, mm: a tail passes between it and the wall; the least, from one to the next,
/// the most in spacings, and the most of them along the longest edges.
const LEAST_INSET: f64 = 20.0;
const INSET_STEP: f64 = 8.0;
const MOST_INSET: f64 = 0.85;
const MOST_LONG_INSET: f64 = 0.6;

/// The spacings tried, as shares of what the floor has for each length of cable.
const WIDEST: f64 = 1.15;
const CLOSEST: f64 = 0.78;

/// By what shares more or less than the rounds' spacing that in the middle may be.
const MIDDLES: [f64; 3] = [1.0, 0.99, 1.01];

/// By what share the floor over the spacing may differ from the cable's length for a spiral to be worth drawing.
const ABOUT: f64 = 0.05;

/// How many ways are handed over at a time.
const AT_ONCE: usize = 12;

/// At how many corners a spiral may begin, those nearest to the box first, and how many straight pieces it has at the most.
const BEGINNINGS: usize = 4;
const MOST_LEGS: usize = 2_000;

/// How near rounds may come to each other in the middle, in spacings, and how far off floor is bare.
const NEAREST: f64 = 0.8;
const BARE_BEYOND: f64 = 0.7;

/// What each corner costs, and how much more cold floor does, in percent of the floor heated: as where cable goes to and fro.
const CORNER: f64 = 0.04;
const COLD: f64 = 50.0;

/// What it costs to begin at the next corner from the box rather than the nearest, in percent of the floor heated.
const FARTHER: f64 = 0.05;
/// What it costs to begin with the inner side, in percent of the floor heated: the tail then passes the other end's side of the channel.
const BACKWARDS: f64 = 0.02;

/// Into how many parts a spacing is divided to look for bare floor, and what rounding takes off a piece's length, mm.
const POINTS: f64 = 3.0;
const ROUNDED: f64 = 0.4;

/// How many rounds inside the innermost one that the floor has room for may be left out.
const TAKEN_BACK: usize = 2;

/// The sine of the angle to the longest edge up to which others count as along it.
const ASLANT: f64 = 0.3;

/// By how much a spiral turns before it may come near to where it was, in radians.
const STRAIGHT_ON: f64 = 2.0;

/// At corners that turn less than this, in radians, rounds don't lead on.
const FLAT: f64 = 0.65;

/// Farther than any room is wide, mm.
const FARTHEST: f64 = 1e6;

/// How exactly the end of a spiral is looked for, mm.
const EXACT: f64 = 0.2;

/// An edge of the floor, gone along with the floor on one side.
#[derive(Debug, Clone, Copy)]
struct Edge {
    /// Which way it is gone along, and square to that into the floor; one mm.
    along: Point,
    inward: Point,
    /// How far inward from the origin it lies, mm.
    at: f64,
}

impl Edge {
    /// Where it meets another, the one led inward by `depth` and the other by `other_depth`, mm; nothing where they never do.
    fn meets(&self, depth: f64, other: &Edge, other_depth: f64) -> Option<Point> {
        let across = cross(self.inward, other.inward);
        if across.abs() < PARALLEL {
            return None;
        }
        let (one, two) = (self.at + depth, other.at + other_depth);
        let x = (one * other.inward.y - two * self.inward.y) / across;
        let y = (two * self.inward.x - one * other.inward.x) / across;
        Some(Point { x, y })
    }

    /// How far along it a point lies, mm.
    fn far(&self, point: Point) -> f64 {
        dot(self.along, point)
    }

    /// The point that lies so far along it, so deep in the floor.
    fn point(&self, far: f64, depth: f64) -> Point {
        self.along * far + self.inward * (self.at + depth)
    }
}

/// A straight piece of the path that a spiral goes round: along an edge (an index), so deep in the floor, mm.
#[derive(Debug, Clone, Copy)]
struct Leg {
    edge: usize,
    depth: f64,
}

/// The spirals of a cable on a floor.
pub struct Spirals {
    /// The floor's edges, gone round to the left and to the right.
    rounds: Vec<Vec<Edge>>,
    /// Where spirals may begin: round which way, and along which edge first.
    beginnings: Vec<(usize, usize)>,
    cable: Cable,
    open: MultiPolygon<f64>,
    ideal: f64,
    /// Those that are still to be handed over, the best last; nothing as long as they weren't looked for.
    left: Option<Vec<Layout>>,
}

impl Spirals {
    /// Those on a part of the floor; `open` is all the floor that is not to stay cold.
    pub fn new(floor: &MultiPolygon<f64>, open: &MultiPolygon<f64>, cable: Cable) -> Self {
        let corners = corners(floor);
        let rounds: Vec<Vec<Edge>> = match corners.len() {
            0..3 => Vec::new(),
            _ => {
                let back: Vec<Point> = corners.iter().rev().copied().collect();
                vec![edges(&corners), edges(&back)]
            }
        };
        let ideal = floor.unsigned_area() / cable.length;
        let beginnings = beginnings(&rounds, cable);
        Spirals { rounds, beginnings, cable, open: open.clone(), ideal, left: None }
    }

    /// Whether the floor is of a shape that cable can be led round.
    pub fn are_any(&self) -> bool {
        !self.rounds.is_empty()
    }

    /// The next best spirals; nothing once all were, or time is up.
    pub fn next(&mut self, until: Until<'_>) -> Option<Vec<Layout>> {
        let mut left = self.left.take().unwrap_or_else(|| self.all(until));
        let next: Vec<Layout> = left.split_off(left.len().saturating_sub(AT_ONCE)).into_iter().rev().collect();
        self.left = Some(left);
        if next.is_empty() { None } else { Some(next) }
    }

    /// All of them, the best last.
    fn all(&self, until: Until<'_>) -> Vec<Layout> {
        if !self.are_any() {
            return Vec::new();
        }
        let frame = Frame::along(Point { x: 1.0, y: 0.0 });
        let grid = Grid::new(&self.open, frame, self.ideal / POINTS, self.cable.slim);
        let least = self.cable.spacing.0.max(2.0 * self.cable.bend_radius).max(self.ideal * CLOSEST);
        let most = (self.ideal * WIDEST).min(self.cable.spacing.1);
        let insets = |most: f64| {
            (0_u16..).map(|step| LEAST_INSET + f64::from(step) * INSET_STEP).take_while(move |inset| *inset <= most)
        };
        let mut found: Vec<Layout> = Vec::new();
        for insets in
            insets(most * MOST_LONG_INSET).flat_map(|long| insets(most * MOST_INSET).map(move |other| [long, other]))
        {
            let drawn_in: Vec<Vec<Edge>> = self.rounds.iter().map(|edges| drawn_in(edges, insets)).collect();
            for pitch in pitches(deepest(&drawn_in[0]), [least, most]) {
                let share = heated(&drawn_in[0], pitch) / pitch / self.cable.length;
                if (share - 1.0).abs() > ABOUT || until.is_over() {
                    continue;
                }
                for (rank, (round, first)) in self.beginnings.iter().enumerate() {
                    let spiral = Spiral { edges: &drawn_in[*round], first: *first, pitch, cable: self.cable };
                    let Some(line) = spiral.whole() else { continue };
                    let left = grid.left(&line, pitch * BARE_BEYOND, self.cable.cold);
                    let less = CORNER * line.len() as f64 + FARTHER * rank as f64;
                    let merit = 100.0 * (1.0 - left.bare - COLD * left.cold) - less;
                    found.push(Layout { line, pitch, merit, cold: grid.area(left.cold) > self.cable.crumb, frame });
                }
            }
        }
        if !self.cable.comes_home {
            // Between its two ends a conduit comes in: which of them has the tail decides whether it can.
            let back = |layout: &Layout| {
                let line = layout.line.iter().rev().copied().collect();
                Layout { line, merit: layout.merit - BACKWARDS, ..layout.clone() }
            };
            found = found.iter().flat_map(|layout| [layout.clone(), back(layout)]).collect();
        }
        found.sort_by(|a, b| b.cold.cmp(&a.cold).then(a.merit.total_cmp(&b.merit)));
        found
    }
}

/// The spacings within bounds at which rounds fill a floor so deep, mm: the two innermost lie a spacing apart there too.
fn pitches(deepest: f64, [least, most]: [f64; 2]) -> impl Iterator<Item = f64> {
    let gaps =
        (0_u16..).map(|half| f64::from(2 * half + 1)).skip_while(move |gaps| 2.0 * deepest / gaps > most * MIDDLES[2]);
    let whole = gaps.map(move |gaps| 2.0 * deepest / gaps).take_while(move |pitch| *pitch >= least / MIDDLES[2]);
    let shares = whole.flat_map(|pitch| MIDDLES.map(|share| tenths(pitch * share)));
    shares.filter(move |pitch| (least..=most).contains(pitch))
}

/// How far edges can be led inward before nothing is left between them, mm.
fn deepest(edges: &[Edge]) -> f64 {
    let (mut low, mut high) = (0.0, FARTHEST);
    while high - low > EXACT {
        let middle = f64::midpoint(low, high);
        if round(edges, 0, middle).is_some() { low = middle } else { high = middle }
    }
    low
}

/// The corners of a floor in one piece, without those that hardly are any; nothing where it has holes or several parts.
fn corners(floor: &MultiPolygon<f64>) -> Vec<Point> {
    let [whole] = &floor.0[..] else { return Vec::new() };
    if !whole.interiors().is_empty() {
        return Vec::new();
    }
    let mut corners: Vec<Point> = whole.exterior().simplify(ROUGHLY).0;
    corners.pop();
    if signed_area(&corners) < 0.0 {
        corners.reverse();
    }
    without_flat_ones(&corners)
}

/// A ring of corners without most of those at which it hardly turns inward, as round walls have them: rounds can lead on to the next only where
/// an edge turns from the one before. What is left lies within it.
fn without_flat_ones(corners: &[Point]) -> Vec<Point> {
    let count = corners.len();
    let mut turned = 0.0;
    let wanted = |place: &usize| {
        let [before, at, after] = [place + count - 1, *place, place + 1].map(|place| corners[place % count]);
        let turn = cross(at - before, after - at).atan2(dot(at - before, after - at));
        if !(0.0..FLAT).contains(&turn) {
            turned = 0.0;
            return true;
        }
        turned += turn;
        let enough = turned >= FLAT;
        if enough {
            turned = 0.0;
        }
        enough
    };
    (0..count).filter(wanted).map(|place| corners[place]).collect()
}

/// The edges of a ring of corners, the floor within them.
fn edges(corners: &[Point]) -> Vec<Edge> {
    let side = signed_area(corners).signum();
    let pieces = crate::geometry::ring::edges(corners);
    let edge = |piece: Piece| {
        let along = piece.step() / piece.length();
        let inward = Point { x: -along.y, y: along.x } * side;
        Edge { along, inward, at: dot(inward, piece.start) }
    };
    pieces.map(edge).collect()
}

/// Edges led inward: those along the longest by the first of two insets, mm, and the others by the second. Rounds meet in the middle as their
/// spacing and the one inset have them, and the other makes up the length.
fn drawn_in(edges: &[Edge], insets: [f64; 2]) -> Vec<Edge> {
    let corner =
        |place: usize| edges[(place + edges.len() - 1) % edges.len()].meets(0.0, &edges[place % edges.len()], 0.0);
    let length = |place: usize| corner(place).zip(corner(place + 1)).map_or(0.0, |(from, to)| distance(from, to));
    let longest = (0..edges.len()).max_by(|a, b| length(*a).total_cmp(&length(*b)));
    let Some(along) = longest.map(|longest| edges[longest].along) else { return Vec::new() };
    let inset = |edge: &Edge| if cross(edge.along, along).abs() < ASLANT { insets[0] } else { insets[1] };
    edges.iter().map(|edge| Edge { at: edge.at + inset(edge), ..*edge }).collect()
}

/// The floor within half a spacing of what edges enclose, mm2.
fn heated(edges: &[Edge], pitch: f64) -> f64 {
    let corner = |place: usize| {
        edges[(place + edges.len() - 1) % edges.len()].meets(-pitch / 2.0, &edges[place % edges.len()], -pitch / 2.0)
    };
    let corners: Option<Vec<Point>> = (0..edges.len()).map(corner).collect();
    corners.map_or(0.0, |corners| signed_area(&corners).abs())
}

/// Where spirals may begin, nearest to the box that their tails lead to: corners at which the floor stands out into the room are none.
fn beginnings(rounds: &[Vec<Edge>], cable: Cable) -> Vec<(usize, usize)> {
    let mut all: Vec<((usize, usize), f64)> = Vec::new();
    for (round, edges) in rounds.iter().enumerate() {
        for (first, edge) in edges.iter().enumerate() {
            let before = &edges[(first + edges.len() - 1) % edges.len()];
            let Some(corner) = before.meets(0.0, edge, 0.0) else { continue };
            if dot(before.inward, edge.along) > 0.0 {
                all.push(((round, first), cable.home.map_or(0.0, |(home, _)| distance(home, corner))));
            }
        }
    }
    all.sort_by(|a, b| a.1.total_cmp(&b.1));
    all.into_iter().map(|(beginning, _)| beginning).take(BEGINNINGS).collect()
}

/// The edges that are left of a floor led inward by `depth` (mm), in order from the one that comes first; nothing where it is gone.
fn round(edges: &[Edge], first: usize, depth: f64) -> Option<Vec<usize>> {
    let count = edges.len();
    let mut left: Vec<usize> = (0..count).map(|step| (first + step) % count).collect();
    loop {
        if left.len() < 3 {
            return None;
        }
        let long = |place: usize| {
            let [before, own, after] =
                [place + left.len() - 1, place, place + 1].map(|place| &edges[left[place % left.len()]]);
            let (from, to) = (before.meets(depth, own, depth)?, own.meets(depth, after, depth)?);
            Some(own.far(to) - own.far(from))
        };
        let lengths: Option<Vec<f64>> = (0..left.len()).map(long).collect();
        let (shortest, length) =
            lengths?.into_iter().enumerate().min_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or_default();
        if length > 0.0 {
            return Some(left);
        }
        left.remove(shortest);
    }
}

/// One spiral.
struct Spiral<'s> {
    edges: &'s [Edge],
    /// The edge that it begins along.
    first: usize,
    pitch: f64,
    cable: Cable,
}

/// A spiral's two sides, outer and inner, up to the beginning of each of its legs, and those legs.
struct Sides {
    legs: Vec<Leg>,
    /// A point for each leg's beginning.
    starts: [Vec<Point>; 2],
}

impl Spiral<'_> {
    /// The spiral that takes the whole cable: as far inward as it is long. Nothing where the floor is too small for it, or what it leaves over
    /// is too much.
    fn whole(&self) -> Option<Vec<Point>> {
        let sides = self.sides();
        let most = self.cable.length;
        // The innermost leg that doesn't make it too long.
        let mut best: Option<Vec<Point>> = None;
        for leg in (0..sides.legs.len()).rev().take(TAKEN_BACK * self.edges.len()) {
            let Some((least, farthest)) = self.ends(&sides, leg) else { continue };
            let line = self.line(&sides, leg, farthest);
            let length = laid(&line, self.cable.bend_radius);
            if length.is_finite() && length <= most {
                best = Some(line);
                break;
            }
            let (mut low, mut high) = (least, farthest);
            let shortest = self.line(&sides, leg, low);
            let shortest = laid(&shortest, self.cable.bend_radius);
            if !shortest.is_finite() || shortest > most {
                continue;
            }
            while high - low > EXACT {
                let middle = (low + high) / 2.0;
                let line = self.line(&sides, leg, middle);
                if laid(&line, self.cable.bend_radius) <= most { low = middle } else { high = middle }
            }
            best = Some(self.line(&sides, leg, low));
            break;
        }
        let line = best?;
        let length = laid(&line, self.cable.bend_radius);
        let least = 2.0 * self.cable.bend_radius + ROUNDED;
        (length >= most * (1.0 - self.cable.over) && length <= most && bends(&line, least)).then_some(line)
    }

    /// The legs of the path that it goes round, inward as far as its sides keep clear of each other.
    fn sides(&self) -> Sides {
        let half = self.pitch / 2.0;
        let mut sides = Sides { legs: Vec::new(), starts: [Vec::new(), Vec::new()] };
        let before = &self.edges[(self.first + self.edges.len() - 1) % self.edges.len()];
        for number in 0.. {
            let depth = half + 2.0 * self.pitch * f64::from(number);
            let Some(edges) = round(self.edges, self.first, depth) else { break };
            for edge in edges {
                let (own, previous) = (&self.edges[edge], sides.legs.last().copied());
                // At its beginning both sides start as far from the edge before.
                let start = |aside: f64| match previous {
                    None => before.meets(0.0, own, depth + aside),
                    Some(leg) => self.edges[leg.edge].meets(leg.depth + aside, own, depth + aside),
                };
                let [Some(outer), Some(inner)] = [start(-half), start(half)] else { return sides };
                // The leg that ends there must be one, and clear of those before it.
                if previous.is_some() && !self.is_clear(&sides, sides.legs.len() - 1, [outer, inner]) {
                    return sides;
                }
                sides.legs.push(Leg { edge, depth });
                sides.starts[0].push(outer);
                sides.starts[1].push(inner);
                if sides.legs.len() >= MOST_LEGS {
                    return sides;
                }
            }
        }
        sides
    }

    /// Whether a leg that ends there goes on, and keeps clear of all before it but the one it comes from.
    fn is_clear(&self, sides: &Sides, last: usize, ends: [Point; 2]) -> bool {
        let own = &self.edges[sides.legs[last].edge];
        let clear = self.clear();
        let from = last.saturating_sub(3 * self.edges.len());
        // Those before it that it hardly turns from only lead up to it.
        let turn = |leg: usize| {
            let [one, other] = [leg, leg + 1].map(|leg| self.edges[sides.legs[leg].edge].along);
            cross(one, other).atan2(dot(one, other)).abs()
        };
        let (mut to, mut turned) = (last, 0.0);
        while to > from && turned + turn(to - 1) < STRAIGHT_ON {
            turned += turn(to - 1);
            to -= 1;
        }
        [0, 1].into_iter().all(|side| {
            let piece = Piece::new(sides.starts[side][last], ends[side]);
            own.far(piece.end) > own.far(piece.start)
                && (from..to.min(last.saturating_sub(1))).all(|leg| {
                    [0, 1].into_iter().all(|other| {
                        let other = Piece::new(sides.starts[other][leg], sides.starts[other][leg + 1]);
                        piece.approach(other).distance >= clear
                    })
                })
        })
    }

    fn clear(&self) -> f64 {
        (self.pitch * NEAREST).max(self.cable.spacing.0).max(self.cable.dense) + ROUNDED
    }

    /// Where it may end on a leg: how far along its edge at the least and at the most.
    fn ends(&self, sides: &Sides, leg: usize) -> Option<(f64, f64)> {
        let Leg { edge, depth } = sides.legs[leg];
        let (own, half) = (&self.edges[edge], self.pitch / 2.0);
        let turn = 2.0 * self.cable.bend_radius + ROUNDED;
        let least = sides.starts.iter().map(|starts| own.far(starts[leg])).fold(f64::NEG_INFINITY, f64::max) + turn;
        // Its end keeps as far from the round before it as runs do.
        let edges = round(self.edges, self.first, depth).unwrap_or_default();
        let place = edges.iter().position(|known| *known == edge)?;
        let (next, deeper) = match edges.get(place + 1) {
            Some(next) => (*next, depth),
            None => (*edges.first()?, depth + 2.0 * self.pitch),
        };
        let farthest = [-half, half].map(|aside| {
            own.meets(depth + aside, &self.edges[next], deeper - half).map_or(f64::NEG_INFINITY, |at| own.far(at))
        });
        let farthest = farthest[0].min(farthest[1]);
        let clear = |far: f64| self.is_clear(sides, leg, [-half, half].map(|aside| own.point(far, depth + aside)));
        if farthest < least || !clear(least) {
            return None;
        }
        let (mut low, mut high) = (least, farthest);
        if clear(high) {
            return Some((least, high));
        }
        while high - low > EXACT {
            let middle = (low + high) / 2.0;
            if clear(middle) { low = middle } else { high = middle }
        }
        Some((least, low))
    }

    /// In along the outer side, across at the end of a leg, back along the inner one.
    fn line(&self, sides: &Sides, leg: usize, far: f64) -> Vec<Point> {
        let Leg { edge, depth } = sides.legs[leg];
        let (own, half) = (&self.edges[edge], self.pitch / 2.0);
        let [outer, inner] = [0, 1].map(|side| sides.starts[side][..=leg].iter().copied());
        let across = [-half, half].map(|aside| own.point(far, depth + aside));
        let line: Vec<Point> = outer.chain(across).chain(inner.rev()).collect();
        blunted(&line).into_iter().map(|point| Point { x: tenths(point.x), y: tenths(point.y) }).collect()
    }
}

/// A line with its sharp corners cut off: cable that turns back on itself there would lie too near to itself.
fn blunted(line: &[Point]) -> Vec<Point> {
    let mut blunt: Vec<Point> = line.iter().take(1).copied().collect();
    for corner in line.windows(3) {
        let [before, at, after] = [corner[0], corner[1], corner[2]];
        let (one, other) = (before - at, after - at);
        let (long, longer) = (distance(before, at), distance(at, after));
        match dot(one, other) > SHARP * long * longer && long.min(longer) > 2.0 * CUT {
            true => blunt.extend([at + one * (CUT / long), at + other * (CUT / longer)]),
            false => blunt.push(at),
        }
    }
    blunt.extend(line.last());
    blunt
}

/// The cosine of the angle between two pieces below which their corner is sharp, and how much is cut off then, mm.
const SHARP: f64 = 0.06;
const CUT: f64 = 60.0;

fn tenths(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}
