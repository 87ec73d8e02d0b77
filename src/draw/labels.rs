//! Where labels go: off cables and off each other wherever there is room.

use std::sync::LazyLock;

use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

use super::canvas::{Frame, Item, group, number, straight};
use super::lettering::{self, BELOW, CAPITAL};
use super::palette::{GREY, INK, PAPER, width};
use crate::geometry::{Piece, cross};
use crate::model::Point;

/// What a label must not cover …
pub(super) const BARRED: f64 = 100.0;
/// … more than one leader another, which it must not either …
const CROSSED: f64 = 0.6 * BARRED;
/// … less than another label, where it must cover something …
const TAKEN: f64 = 6.0 * BARRED;
/// … and what it rather wouldn't.
pub(super) const UNWANTED: f64 = 1.0;

/// How many labels of a sheet are looked for everywhere where no usual spot is free: far more than a plan that can be read has, and a bound.
const MOST_SEARCHES: usize = 24;

/// How many are where there are very many obstacles.
const FEWEST_SEARCHES: usize = 2;

/// How many of these go on between whole millimetres where no spot is free at those, and by which steps, mm.
const CLOSE_SEARCHES: usize = 8;
const BETWEEN: [(f64, f64); 7] =
    [(0.5, 0.0), (0.0, 0.5), (0.5, 0.5), (0.0, 0.25), (0.0, 0.75), (0.5, 0.25), (0.5, 0.75)];

/// How near to each other two leaders can be told apart, mm.
const APART: f64 = 0.03;

/// How often a spot is looked for everywhere on a sheet, and how often more closely.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Tries {
    pub everywhere: usize,
    pub closely: usize,
}

/// How near to a line a label rather isn't, mm.
const NEAR: f64 = 0.9;

/// What is kept clear round a label, mm.
const CLEAR: f64 = 0.25;

/// How many obstacles are looked at for one spot: far more than a floor that can be laid has there, and a bound on what a plan made to be
/// slow can cost.
const LOOKED_AT: usize = 400;

#[derive(Debug, Clone, Copy, PartialEq)]
enum Obstacle {
    /// Something written, or a part of the sheet.
    Box(Frame),
    /// A sign that a leader may lead to.
    Sign(Frame),
    Line(Point, Point),
    /// The line from a label to its thing.
    Leader(Point, Point),
}

/// What lies on the sheet already.
#[derive(Debug, Clone)]
pub(super) struct Labels {
    tree: RTree<GeomWithData<Rectangle<[f64; 2]>, u32>>,
    obstacles: Vec<(Obstacle, f64)>,
    area: Frame,
    /// How many more labels may be given a spot by looking everywhere.
    searches: usize,
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

impl Spot {
    fn moved(self, x: f64, y: f64) -> Spot {
        let Frame { left, top, right, bottom } = self.frame;
        Spot { frame: Frame { left: left + x, top: top + y, right: right + x, bottom: bottom + y }, ..self }
    }
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
            _ => None,
        });
        Labels { tree: RTree::bulk_load(boxes.collect()), obstacles, area, searches: MOST_SEARCHES }
    }

    fn add(&mut self, obstacle: Obstacle, weight: f64) {
        let frame = match obstacle {
            Obstacle::Box(frame) | Obstacle::Sign(frame) => frame,
            Obstacle::Line(a, b) | Obstacle::Leader(a, b) => Frame::around(a, b),
        };
        self.tree.insert(rectangle(&frame, u32::try_from(self.obstacles.len()).unwrap_or(u32::MAX)));
        self.obstacles.push((obstacle, weight));
    }

    /// Bars a box, or makes it unwanted.
    pub(super) fn bar(&mut self, frame: Frame, weight: f64) {
        self.add(Obstacle::Box(frame), weight);
    }

    /// Bars the box of a sign, or makes it unwanted; what leads to it may reach into it.
    pub(super) fn bar_sign(&mut self, frame: Frame, weight: f64) {
        self.add(Obstacle::Sign(frame), weight);
    }

    /// Looks everywhere for next to no spot: among very many obstacles each such search goes through all there are, and mostly for nothing.
    pub(super) fn search_hardly(&mut self) {
        self.searches = self.searches.min(FEWEST_SEARCHES);
    }

    /// Bars a line, or makes it unwanted.
    pub(super) fn bar_line(&mut self, a: Point, b: Point, weight: f64) {
        self.add(Obstacle::Line(a, b), weight);
    }

    /// Bars the leader of a sign that is put down by itself.
    pub(super) fn bar_leader(&mut self, a: Point, b: Point) {
        self.add(Obstacle::Leader(a, b), BARRED);
    }

    /// What it costs to put something in a box.
    pub(super) fn cost(&self, frame: &Frame) -> f64 {
        self.cost_on(frame, None)
    }

    /// As [`Labels::cost`], for what may lie on one line.
    fn cost_on(&self, frame: &Frame, own: Option<(Point, Point)>) -> f64 {
        let outside = if self.area.holds(frame) { 0.0 } else { 10.0 * BARRED };
        let clear = frame.grown(CLEAR);
        let around = AABB::from_corners([clear.left, clear.top], [clear.right, clear.bottom]);
        let met = self.tree.locate_in_envelope_intersecting(around).take(LOOKED_AT).map(|found| {
            let (obstacle, weight) = self.obstacles[found.data as usize];
            match obstacle {
                Obstacle::Box(other) | Obstacle::Sign(other) if clear.meets(&other) => weight,
                Obstacle::Line(a, b) if own == Some((a, b)) => 0.0,
                Obstacle::Line(a, b) | Obstacle::Leader(a, b) if clear.cut_by(a, b) => weight,
                _ => 0.0,
            }
        });
        outside + met.sum::<f64>()
    }

    /// How many lines and words lie so near to a box that it could be taken for theirs.
    fn crowd(&self, frame: &Frame) -> f64 {
        let wide = frame.grown(NEAR);
        let around = AABB::from_corners([wide.left, wide.top], [wide.right, wide.bottom]);
        let met = self.tree.locate_in_envelope_intersecting(around).take(LOOKED_AT);
        let near = met.filter(|found| match self.obstacles[found.data as usize] {
            (Obstacle::Line(a, b), weight) => weight >= BARRED && wide.cut_by(a, b),
            (Obstacle::Box(other), weight) => weight >= BARRED && wide.meets(&other),
            _ => false,
        });
        near.count().min(4) as f64
    }

    /// The first of some spots on a line that lies on nothing else, taken.
    pub(super) fn take_on(&mut self, line: (Point, Point), mut spots: impl Iterator<Item = Spot>) -> Option<Spot> {
        let spot = spots.find(|spot| self.cost_on(&spot.frame, Some(line)) < BARRED)?;
        self.bar(spot.frame, BARRED);
        Some(spot)
    }

    /// Whether a line meets nothing that is written or barred by a line.
    pub(super) fn is_clear(&self, a: Point, b: Point) -> bool {
        let whole = Frame::around(a, b);
        let around = AABB::from_corners([whole.left, whole.top], [whole.right, whole.bottom]);
        !self.tree.locate_in_envelope_intersecting(around).take(LOOKED_AT).any(|found| {
            let (obstacle, weight) = self.obstacles[found.data as usize];
            weight >= BARRED
                && match obstacle {
                    Obstacle::Box(other) | Obstacle::Sign(other) => other.cut_by(a, b),
                    Obstacle::Line(c, d) | Obstacle::Leader(c, d) => crosses((a, b), (c, d)),
                }
        })
    }

    /// Whether a box that lies along a direction round a point is free.
    pub(super) fn is_free_along(&self, centre: Point, step: Point, size: (f64, f64)) -> bool {
        pieces_along(centre, step, size).all(|piece| self.cost(&piece) < BARRED)
    }

    /// Bars a box that lies along a direction round a point.
    pub(super) fn bar_along(&mut self, centre: Point, step: Point, size: (f64, f64)) {
        pieces_along(centre, step, size).for_each(|piece| self.bar(piece, BARRED));
    }

    /// The spot for something `wide` by `high` that a point bears: the cheapest of `first` and of those round the point; where all of
    /// these lie on something or lead across something, one found by looking everywhere.
    pub(super) fn take_near(
        &mut self,
        point: Point,
        (wide, high): (f64, f64),
        turned: bool,
        first: impl Iterator<Item = Spot>,
    ) -> Option<Spot> {
        let near: Box<dyn Iterator<Item = Spot>> =
            if turned { Box::new(around_turned(point, wide, high)) } else { Box::new(around(point, wide, high)) };
        let (first, near) = (self.best(first, false), self.best(near, true));
        let (cost, spot) = first.into_iter().chain(near).min_by(|a, b| a.0.total_cmp(&b.0))?;
        if cost < CROSSED || self.searches == 0 {
            return Some(self.put(spot));
        }
        self.searches -= 1;
        let free = |spot: &Spot| {
            let leads = || spot.leader.map_or(0.0, |to| self.leader_cost(&spot.frame, to)) < CROSSED;
            self.cost(&spot.frame) < BARRED && leads()
        };
        let closely = self.searches + CLOSE_SEARCHES >= MOST_SEARCHES;
        let shifted = |(x, y): (f64, f64)| everywhere(point, wide, high, turned).map(move |spot| spot.moved(x, y));
        let between = || BETWEEN.into_iter().filter(|_| closely).flat_map(shifted);
        let found = everywhere(point, wide, high, turned).chain(between()).find(free);
        Some(self.put(found.unwrap_or(spot)))
    }

    /// The best spot for a disc by a point, taken, and what it cost. Where none of the usual ones is free, it is looked for everywhere, then
    /// more closely, as often as `tries` says of either.
    pub(super) fn take_disc(&mut self, point: Point, side: f64, tries: &mut Tries) -> Option<(Spot, f64)> {
        let lies_badly = |best: &Option<(f64, Spot)>| best.is_none_or(|(cost, spot)| cost - spot.worse > BARRED / 2.0);
        let mut best = self.best(around_disc(point, side), false);
        for (closely, tries) in [(false, &mut tries.everywhere), (true, &mut tries.closely)] {
            if !lies_badly(&best) || *tries == 0 {
                continue;
            }
            *tries -= 1;
            let beside = everywhere(point, side, side, false).filter(|spot| spot.worse >= FARTHER * BESIDE);
            // Halves of the steps between.
            let shifts: &[(f64, f64)] = if closely { &[(0.5, 0.0), (0.0, 0.5), (0.5, 0.5)] } else { &[(0.0, 0.0)] };
            let shifted = beside.flat_map(|spot| shifts.iter().map(move |(x, y)| spot.moved(*x, *y)));
            let other = self.best(shifted, false);
            best = [best, other].into_iter().flatten().min_by(|a, b| a.0.total_cmp(&b.0));
        }
        let (cost, spot) = best?;
        Some((self.put(spot), cost - spot.worse))
    }

    /// Finds a better spot for a disc that was taken, where it lies on something, or its leader does; nothing else is moved.
    pub(super) fn take_disc_again(&mut self, point: Point, side: f64, taken: Spot, tries: &mut Tries) -> Spot {
        self.lift(&taken);
        let leader = taken.leader.map_or(0.0, |to| self.leader_cost(&taken.frame, to));
        let before = self.cost(&taken.frame) + leader;
        if before > BARRED / 2.0
            && let Some((spot, cost)) = self.take_disc(point, side, tries)
        {
            if cost < before {
                return spot;
            }
            self.lift(&spot);
        }
        self.put(taken)
    }

    /// Takes away what was put in a spot.
    fn lift(&mut self, spot: &Spot) {
        let leader = spot.leader.map(|to| (nearest_edge(&spot.frame, to), to));
        let leader = leader.map(|(from, to)| (Obstacle::Leader(from, to), Frame::around(from, to)));
        for (obstacle, frame) in [(Obstacle::Box(spot.frame), spot.frame)].into_iter().chain(leader) {
            let around = AABB::from_corners([frame.left, frame.top], [frame.right, frame.bottom]);
            let there =
                self.tree.locate_in_envelope(around).find(|one| self.obstacles[one.data as usize].0 == obstacle);
            if let Some(there) = there.copied() {
                self.tree.remove(&there);
            }
        }
    }

    /// The best of some spots, taken: the first that costs nothing, or else the cheapest up to `most`.
    pub(super) fn take(&mut self, spots: impl Iterator<Item = Spot>, most: f64) -> Option<Spot> {
        let (cost, spot) = self.best(spots, false)?;
        (cost <= most).then(|| self.put(spot))
    }

    /// The cheapest of some spots, and what it costs; `alone` where it is the better, the further it lies from other things.
    fn best(&self, spots: impl Iterator<Item = Spot>, alone: bool) -> Option<(f64, Spot)> {
        let mut best: Option<(f64, Spot)> = None;
        for spot in spots {
            // Spots come nearly in the order of what they cost where nothing is in the way.
            if best.as_ref().is_some_and(|(least, _)| *least <= spot.worse) {
                continue;
            }
            let leader = spot.leader.map_or(0.0, |to| self.leader_cost(&spot.frame, to));
            let mut cost = self.cost(&spot.frame) + spot.worse + leader;
            if alone && cost < BARRED {
                cost += 0.5 * self.crowd(&spot.frame);
            }
            if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                best = Some((cost, spot));
            }
        }
        best
    }

    fn put(&mut self, spot: Spot) -> Spot {
        self.bar(spot.frame, TAKEN);
        if let Some(to) = spot.leader {
            self.bar_leader(nearest_edge(&spot.frame, to), to);
        }
        spot
    }

    /// A leader crosses lines lightly, but neither what is written nor another leader.
    fn leader_cost(&self, frame: &Frame, to: Point) -> f64 {
        let from = nearest_edge(frame, to);
        let whole = Frame::around(from, to);
        let around = AABB::from_corners([whole.left, whole.top], [whole.right, whole.bottom]);
        let met = self.tree.locate_in_envelope_intersecting(around).take(LOOKED_AT).map(|found| {
            match self.obstacles[found.data as usize] {
                (Obstacle::Box(other), weight) if weight >= BARRED && other.cut_by(from, to) => BARRED,
                (Obstacle::Sign(other), weight) if weight >= BARRED && !other.reaches(to) && other.cut_by(from, to) => {
                    BARRED
                }
                // One that runs along another can't be told from it, but for those of one place.
                (Obstacle::Leader(a, b), _)
                    if b != to && Piece::new(from, to).approach(Piece::new(a, b)).distance < APART =>
                {
                    CROSSED
                }
                (Obstacle::Line(a, b), _) if crosses((from, to), (a, b)) => 0.02,
                _ => 0.0,
            }
        });
        met.sum()
    }
}

/// A box `wide` along a direction and `high` across it, round a point, as upright boxes of its pieces.
fn pieces_along(centre: Point, step: Point, (wide, high): (f64, f64)) -> impl Iterator<Item = Frame> {
    let count = (wide / high.max(0.1)).ceil().max(1.0);
    let long = wide / count;
    let reach = |one: f64, other: f64| (one.abs() * long + other.abs() * high) / 2.0;
    let (x, y) = (reach(step.x, step.y), reach(step.y, step.x));
    (0..count as u32).map(move |index| {
        let at = centre + step * ((f64::from(index) + 0.5) * long - wide / 2.0);
        Frame { left: at.x - x, top: at.y - y, right: at.x + x, bottom: at.y + y }
    })
}

/// Whether two straight pieces meet elsewhere than at an end that they share.
fn crosses((a, b): (Point, Point), (c, d): (Point, Point)) -> bool {
    let side = |from: Point, to: Point, at: Point| cross(to - from, at - from);
    let (one, two) = (side(a, b, c), side(a, b, d));
    let (three, four) = (side(c, d, a), side(c, d, b));
    one * two < 0.0 && three * four < 0.0
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

/// Spots round a point for something of a width and a height, near ones first, at each distance also turned to be read from the right.
pub(super) fn around_turned(point: Point, wide: f64, high: f64) -> impl Iterator<Item = Spot> {
    DISTANCES.into_iter().flat_map(move |distance| {
        spots_at(point, wide, high, distance, false).chain(spots_at(point, high, wide, distance, true))
    })
}

/// How far from its thing a spot is looked for where no usual one is free, mm.
const FARTHEST: i32 = 44;
/// How much worse a spot is for each mm that it lies farther off, and how near a disc lies at the least, mm.
const FARTHER: f64 = 0.15;
const BESIDE: f64 = 3.0;

/// Steps of whole millimetres from a point, each with its length, the short ones first.
static STEPS: LazyLock<Vec<(Point, f64)>> = LazyLock::new(|| {
    let steps = (-FARTHEST..=FARTHEST).flat_map(|x| (-FARTHEST..=FARTHEST).map(move |y| (f64::from(x), f64::from(y))));
    let steps = steps.map(|(x, y)| (Point { x, y }, x.hypot(y)));
    let mut steps: Vec<(Point, f64)> = steps.filter(|(_, long)| *long <= f64::from(FARTHEST)).collect();
    steps.sort_by(|a, b| a.1.total_cmp(&b.1));
    steps
});

/// Spots everywhere round a point, the nearer ones first, each with a leader.
fn everywhere(point: Point, wide: f64, high: f64, turned: bool) -> impl Iterator<Item = Spot> {
    STEPS.iter().flat_map(move |(step, distance)| {
        [false, true].into_iter().filter(move |upright| turned || !upright).map(move |upright| {
            let (wide, high) = if upright { (high, wide) } else { (wide, high) };
            let frame = Frame::new(point.x + step.x - wide / 2.0, point.y + step.y - high / 2.0, wide, high);
            Spot { frame, upright, leader: Some(point), worse: FARTHER * distance }
        })
    })
}

fn spots_at(point: Point, wide: f64, high: f64, distance: f64, upright: bool) -> impl Iterator<Item = Spot> {
    // A box reaches half its width beside a point that it stands straight beside, and a share of it where it stands slantwise.
    let reach = |share: f64, side: f64| share.signum() * share.abs().min(0.7) / 0.7 * side / 2.0;
    DIRECTIONS.into_iter().enumerate().map(move |(rank, (x, y))| {
        let middle = Point { x: point.x + x * distance + reach(x, wide), y: point.y + y * distance + reach(y, high) };
        let frame = Frame::new(middle.x - wide / 2.0, middle.y - high / 2.0, wide, high);
        let leader = (distance > 2.5).then_some(point);
        let worse = FARTHER * distance + 0.01 * rank as f64 + if upright { 0.6 } else { 0.0 };
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
    grounded: bool,
}

/// The widest that a label may be, mm.
const WIDEST: f64 = 62.0;

impl Words {
    /// A text in the usual size, cut where it is very long.
    pub(super) fn new(text: &str) -> Self {
        Words::sized(text, lettering::size::BODY)
    }

    /// A text in a size of its own, cut where it is very long.
    pub(super) fn sized(text: &str, size: f64) -> Self {
        Words { text: lettering::shorten(text, size, false, WIDEST), size, bold: false, color: INK, grounded: false }
    }

    /// The words in that colour.
    #[must_use]
    pub(super) fn colored(mut self, color: &'static str) -> Self {
        self.color = color;
        self
    }

    /// The words on a piece of blank paper, to be read on a line.
    #[must_use]
    pub(super) fn grounded(mut self) -> Self {
        self.grounded = true;
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
            [frame.left, frame.top, frame.right, frame.bottom].map(|value| number(value, 3)).join(" "),
        );
        if let Some(to) = spot.leader {
            whole.push(straight(nearest_edge(frame, to), to, GREY, width::FINE));
        }
        if self.grounded {
            whole.push(frame.grown(0.2).item().set("fill", PAPER));
        }
        whole.with(written)
    }

    /// As drawn along a direction round a point, with the corners of its box.
    pub(super) fn draw_along(&self, centre: Point, step: Point, class: &str) -> Item {
        let (wide, high) = self.extent();
        let down = Point { x: -step.y, y: step.x };
        let at = centre - step * (wide / 2.0) + down * (high / 2.0 - self.size * self.hang());
        let corner = |x: f64, y: f64| centre + step * (x * wide / 2.0) + down * (y * high / 2.0);
        let corners = [corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)];
        let corners = corners.map(|at| format!("{} {}", number(at.x, 3), number(at.y, 3))).join(" ");
        let written = lettering::haloed(lettering::line(&self.text, at, self.size, self.bold)).set("fill", self.color);
        let angle = number(step.y.atan2(step.x).to_degrees(), 3);
        let turn = format!("rotate({angle} {} {})", number(at.x, 3), number(at.y, 3));
        group(class).set("data-corners", corners).with(written.set("transform", turn))
    }

    /// Puts it at the best place round a point, whatever that costs.
    pub(super) fn put_around(&self, labels: &mut Labels, point: Point, class: &str) -> Option<Item> {
        labels.take_near(point, self.extent(), true, std::iter::empty()).map(|spot| self.draw(&spot, class))
    }
}
