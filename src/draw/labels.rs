//! Where labels go: off cables and off each other wherever there is room.

use std::sync::LazyLock;

use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

use super::canvas::{Frame, Item, group, straight};
use super::lettering::{self, BELOW, CAPITAL};
use super::palette::{GREY, INK, width};
use crate::geometry::{Piece, distance};
use crate::model::Point;

/// What a label must not cover …
pub(super) const BARRED: f64 = 100.0;
/// … less than another label, where it must cover something …
const TAKEN: f64 = 6.0 * BARRED;
/// … and what it rather wouldn't.
pub(super) const UNWANTED: f64 = 1.0;

/// How many obstacles are looked at for one spot: far more than a floor that can be laid has there, and a bound on what a plan made to be
/// slow can cost.
const LOOKED_AT: usize = 400;

#[derive(Debug, Clone, Copy)]
enum Obstacle {
    Box(Frame),
    Line(Point, Point),
    /// A thin line from a label to what it names.
    Leader(Point, Point),
}

/// What lies on the sheet already.
#[derive(Debug, Clone)]
pub(super) struct Labels {
    tree: RTree<GeomWithData<Rectangle<[f64; 2]>, u32>>,
    obstacles: Vec<(Obstacle, f64)>,
    area: Frame,
}

/// A place that a label may take.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spot {
    /// What it covers.
    pub frame: Frame,
    /// Whether it is turned to be read from the right.
    pub upright: bool,
    /// Where a thin line from it leads to.
    pub leader: Option<Point>,
    /// How much worse it is than the best.
    pub worse: f64,
}

fn rectangle(frame: &Frame, data: u32) -> GeomWithData<Rectangle<[f64; 2]>, u32> {
    GeomWithData::new(Rectangle::from_corners([frame.left, frame.top], [frame.right, frame.bottom]), data)
}

impl Labels {
    /// An empty sheet on which labels keep to `area`; `lines` are barred.
    pub(super) fn new(area: Frame, lines: impl Iterator<Item = Piece>) -> Self {
        let obstacles: Vec<(Obstacle, f64)> =
            lines.map(|piece| (Obstacle::Line(piece.start, piece.end), BARRED)).collect();
        let boxes = obstacles.iter().zip(0u32..).filter_map(|((obstacle, _), index)| match obstacle {
            Obstacle::Line(a, b) => Some(rectangle(&Frame::around(*a, *b), index)),
            Obstacle::Box(_) | Obstacle::Leader(..) => None,
        });
        Labels { tree: RTree::bulk_load(boxes.collect()), obstacles, area }
    }

    /// Bars a box, or makes it unwanted.
    pub(super) fn bar(&mut self, frame: Frame, weight: f64) {
        self.tree.insert(rectangle(&frame, u32::try_from(self.obstacles.len()).unwrap_or(u32::MAX)));
        self.obstacles.push((Obstacle::Box(frame), weight));
    }

    /// Bars a line, or makes it unwanted.
    pub(super) fn bar_line(&mut self, a: Point, b: Point, weight: f64) {
        self.tree.insert(rectangle(&Frame::around(a, b), u32::try_from(self.obstacles.len()).unwrap_or(u32::MAX)));
        self.obstacles.push((Obstacle::Line(a, b), weight));
    }

    /// What it costs to put something in a box.
    pub(super) fn cost(&self, frame: &Frame) -> f64 {
        let outside = if self.area.holds(frame) { 0.0 } else { 10.0 * BARRED };
        let clear = frame.grown(0.25);
        let around = AABB::from_corners([clear.left, clear.top], [clear.right, clear.bottom]);
        let met = self.tree.locate_in_envelope_intersecting(around).take(LOOKED_AT).map(|found| {
            let (obstacle, weight) = self.obstacles[found.data as usize];
            match obstacle {
                Obstacle::Box(other) if clear.meets(&other) => weight,
                Obstacle::Line(a, b) | Obstacle::Leader(a, b) if clear.cut_by(a, b) => weight,
                _ => 0.0,
            }
        });
        outside + met.sum::<f64>()
    }

    /// The best spot for a disc by a point, taken, and what it cost. Where none of the usual ones is free, it is looked for everywhere as often
    /// as `tries` says.
    pub(super) fn take_disc(&mut self, point: Point, side: f64, tries: &mut usize) -> Option<(Spot, f64)> {
        let mut best = self.best(around_disc(point, side));
        if best.is_none_or(|(cost, spot)| cost - spot.worse > CROSSED / 2.0) && *tries > 0 {
            *tries -= 1;
            let other = self.best(everywhere(point, side));
            best = [best, other].into_iter().flatten().min_by(|a, b| a.0.total_cmp(&b.0));
        }
        let (cost, spot) = best?;
        self.taken(&spot);
        Some((spot, cost - spot.worse))
    }

    /// The best of some spots, taken: the first that costs nothing, or else the cheapest up to `most`.
    pub(super) fn take(&mut self, spots: impl Iterator<Item = Spot>, most: f64) -> Option<Spot> {
        let (_, spot) = self.best(spots).filter(|(cost, _)| *cost <= most)?;
        self.taken(&spot);
        Some(spot)
    }

    /// The best of some spots, and what it costs.
    fn best(&self, spots: impl Iterator<Item = Spot>) -> Option<(f64, Spot)> {
        let mut best: Option<(f64, Spot)> = None;
        for spot in spots {
            // Spots come nearly in the order of what they cost where nothing is in the way.
            if best.as_ref().is_some_and(|(least, _)| *least <= spot.worse) {
                continue;
            }
            let leader = spot.leader.map_or(0.0, |to| self.leader_cost(&spot.frame, to));
            let cost = self.cost(&spot.frame) + spot.worse + leader;
            if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                best = Some((cost, spot));
            }
        }
        best
    }

    /// Bars a spot and its leader.
    fn taken(&mut self, spot: &Spot) {
        self.bar(spot.frame, TAKEN);
        if let Some(to) = spot.leader {
            let from = nearest_edge(&spot.frame, to);
            self.lead(from, to);
        }
    }

    /// Bars a leader: what is written keeps off it as off anything else.
    pub(super) fn lead(&mut self, a: Point, b: Point) {
        self.tree.insert(rectangle(&Frame::around(a, b), u32::try_from(self.obstacles.len()).unwrap_or(u32::MAX)));
        self.obstacles.push((Obstacle::Leader(a, b), BARRED));
    }

    /// A leader crosses lines lightly, but not what is written.
    fn leader_cost(&self, frame: &Frame, to: Point) -> f64 {
        let from = nearest_edge(frame, to);
        let whole = Frame::around(from, to);
        let around = AABB::from_corners([whole.left, whole.top], [whole.right, whole.bottom]);
        let met = self.tree.locate_in_envelope_intersecting(around).take(LOOKED_AT).map(|found| {
            match self.obstacles[found.data as usize] {
                (Obstacle::Box(other), weight) if weight >= BARRED && other.cut_by(from, to) => CROSSED,
                (Obstacle::Leader(a, b), _) if crossing(a, b, from, to) => CROSSED,
                (Obstacle::Line(..), _) => 0.02,
                _ => 0.0,
            }
        });
        met.sum()
    }
}

/// What it costs a leader to cross a label or another leader: more than any way round.
const CROSSED: f64 = 20.0;

/// Whether two leaders cross; those that come from one point don't.
fn crossing(a: Point, b: Point, from: Point, to: Point) -> bool {
    distance(b, to) > 0.1 && Piece::new(a, b).approach(Piece::new(from, to)).distance < 0.2
}

/// The point of a box's edge nearest to another point.
pub(super) fn nearest_edge(frame: &Frame, to: Point) -> Point {
    Point { x: to.x.clamp(frame.left, frame.right), y: to.y.clamp(frame.top, frame.bottom) }
}

/// Distances from the thing that is labelled at which a label is tried, mm.
const DISTANCES: [f64; 12] = [1.0, 2.0, 3.0, 4.5, 6.0, 8.0, 11.0, 14.0, 18.0, 24.0, 32.0, 42.0];

/// Directions in which it is tried, the usual ones first.
const DIRECTIONS: [(f64, f64); 16] = [
    (1.0, 0.0),
    (-1.0, 0.0),
    (0.0, -1.0),
    (0.0, 1.0),
    (0.7, -0.7),
    (-0.7, -0.7),
    (0.7, 0.7),
    (-0.7, 0.7),
    (0.38, -0.92),
    (-0.38, -0.92),
    (0.38, 0.92),
    (-0.38, 0.92),
    (0.92, -0.38),
    (-0.92, -0.38),
    (0.92, 0.38),
    (-0.92, 0.38),
];

/// Spots round a point for something of a width and a height, near ones first.
pub(super) fn around(point: Point, wide: f64, high: f64) -> impl Iterator<Item = Spot> {
    DISTANCES.into_iter().flat_map(move |distance| spots_at(point, wide, high, distance, false))
}

/// As [`around`], for what is round, so that it may stand with a corner of its box by the point: between two runs too. It always has a leader.
fn around_disc(point: Point, side: f64) -> impl Iterator<Item = Spot> {
    let close = spots_at(point, side, side, 0.5, false).zip(DIRECTIONS);
    let slanting = close.filter(|(_, (x, y))| x.abs() == y.abs()).map(|(spot, _)| spot);
    slanting.chain(around(point, side, side)).map(move |spot| Spot { leader: Some(point), ..spot })
}

/// Every spot round a point, to a millimetre, as far off as any of the usual ones; near ones first.
fn everywhere(point: Point, side: f64) -> impl Iterator<Item = Spot> {
    EVERYWHERE.iter().map(move |(away, distance)| {
        let frame = Frame::new(point.x + away.x - side / 2.0, point.y + away.y - side / 2.0, side, side);
        Spot { frame, upright: false, leader: Some(point), worse: 0.15 * distance }
    })
}

/// How far off a disc is looked for everywhere, mm.
const FARTHEST: i32 = 44;

/// Steps from a point, each with its length, the short ones first.
static EVERYWHERE: LazyLock<Vec<(Point, f64)>> = LazyLock::new(|| {
    let steps = (-FARTHEST..=FARTHEST).flat_map(|x| (-FARTHEST..=FARTHEST).map(move |y| (f64::from(x), f64::from(y))));
    let steps = steps.map(|(x, y)| (Point { x, y }, x.hypot(y)));
    let mut steps: Vec<(Point, f64)> = steps.filter(|(_, long)| (3.0..=f64::from(FARTHEST)).contains(long)).collect();
    steps.sort_by(|a, b| a.1.total_cmp(&b.1));
    steps
});

/// Spots round a point for something of a width and a height, near ones first, at each distance also turned to be read from the right.
pub(super) fn around_turned(point: Point, wide: f64, high: f64) -> impl Iterator<Item = Spot> {
    DISTANCES.into_iter().flat_map(move |distance| {
        spots_at(point, wide, high, distance, false).chain(spots_at(point, high, wide, distance, true))
    })
}

fn spots_at(point: Point, wide: f64, high: f64, distance: f64, upright: bool) -> impl Iterator<Item = Spot> {
    // A box reaches half its width beside a point that it stands straight beside, and a share of it where it stands slantwise.
    let reach = |share: f64, side: f64| share.signum() * share.abs().min(0.7) / 0.7 * side / 2.0;
    DIRECTIONS.into_iter().enumerate().map(move |(rank, (x, y))| {
        let middle = Point { x: point.x + x * distance + reach(x, wide), y: point.y + y * distance + reach(y, high) };
        let frame = Frame::new(middle.x - wide / 2.0, middle.y - high / 2.0, wide, high);
        let leader = (distance > 2.5).then_some(point);
        let worse = 0.15 * distance + 0.01 * rank as f64 + if upright { 0.6 } else { 0.0 };
        Spot { frame, upright, leader, worse }
    })
}

/// A label's words on paper.
#[derive(Debug, Clone)]
pub(super) struct Words {
    text: String,
    size: f64,
    bold: bool,
    color: &'static str,
}

/// The widest that a label may be, mm.
const WIDEST: f64 = 46.0;

impl Words {
    /// A text in the usual size, cut where it is very long.
    pub(super) fn new(text: &str) -> Self {
        Words::sized(text, lettering::size::BODY)
    }

    /// A text in a size of its own, cut where it is very long.
    pub(super) fn sized(text: &str, size: f64) -> Self {
        Words { text: lettering::shorten(text, size, false, WIDEST), size, bold: false, color: INK }
    }

    /// The words in that colour.
    #[must_use]
    pub(super) fn colored(mut self, color: &'static str) -> Self {
        self.color = color;
        self
    }

    /// Its width and height, mm; the height is that of its capitals and what hangs below.
    pub(super) fn extent(&self) -> (f64, f64) {
        (lettering::width(&self.text, self.size, self.bold), self.size * (CAPITAL + self.hang()))
    }

    fn hang(&self) -> f64 {
        let hangs = self.text.chars().any(|c| !(c.is_ascii_digit() || c.is_ascii_uppercase() || " .+-·:".contains(c)));
        if hangs { BELOW } else { 0.0 }
    }

    /// As drawn in a spot, with its leader.
    pub(super) fn draw(&self, spot: &Spot, class: &str) -> Item {
        let frame = &spot.frame;
        let at = if spot.upright {
            Point { x: frame.right - self.size * self.hang(), y: frame.bottom }
        } else {
            Point { x: frame.left, y: frame.bottom - self.size * self.hang() }
        };
        let mut written =
            lettering::haloed(lettering::line(&self.text, at, self.size, self.bold)).set("fill", self.color);
        if spot.upright {
            written = lettering::upright(written, at);
        }
        let mut whole = group(class).set(
            "data-frame",
            [frame.left, frame.top, frame.right, frame.bottom].map(|value| super::canvas::number(value, 3)).join(" "),
        );
        if let Some(to) = spot.leader {
            whole.push(straight(nearest_edge(frame, to), to, GREY, width::FINE));
        }
        whole.with(written)
    }

    /// Puts it at the best place round a point, whatever that costs.
    pub(super) fn put_around(&self, labels: &mut Labels, point: Point, class: &str) -> Option<Item> {
        let (wide, high) = self.extent();
        labels.take(around_turned(point, wide, high), f64::INFINITY).map(|spot| self.draw(&spot, class))
    }
}
