//! What lies straight across a run, on its left and on its right: at each place along it the run that is nearest there, its neighbour.
//!
//! Something that cable keeps clear of (a wall, a fixture that stands on the floor, a level's edge, a drill zone, a joint, a pipe, a
//! partition) hides what lies behind it. Where it comes first, or no run lies within [`FARTHEST_NEIGHBOUR`], that side is open.

use std::cell::{Cell, OnceCell};

use super::TOUCH;
use super::index::{RunId, RunIndex};
use crate::geometry::index::Index;
use crate::geometry::ring::edges;
use crate::geometry::{Bounds, Piece, Point, cross, dot};
use crate::model::{AreaKind, Room, Run, Shape};

/// How far across a run another still is its neighbour, mm: a little more than two hands. What lies farther off is warmed by neither.
pub const FARTHEST_NEIGHBOUR: f64 = 500.0;

/// What another run may slant against a run and still lie alongside it, mm across for each mm along.
const MOST_SLANT: f64 = 0.5;

/// How many neighbouring boxes are looked at before the search gives up, for each run and at the least.
const CANDIDATES_EACH: usize = 300;
const LEAST_CANDIDATES: usize = 1_000_000;

/// What cable keeps clear of, so that runs on both sides of it are no neighbours.
#[derive(Debug)]
struct Obstacles {
    /// Each with its radius, mm: 0 for a straight one, a point with one for a circle. Walls come first.
    each: Vec<(Piece, f64)>,
    walls: usize,
    index: Index,
}

impl Obstacles {
    /// Those of a room.
    fn new(room: &Room) -> Self {
        let mut each: Vec<(Piece, f64)> = Vec::new();
        let straight = |piece| (piece, 0.0);
        each.extend(edges(&room.corners).map(straight));
        for area in &room.areas {
            match &area.shape {
                // Cable may lie under it.
                _ if matches!(area.kind, AreaKind::Fixture { raised: Some(_), .. }) => {}
                Shape::Polygon(corners) => each.extend(edges(corners).map(straight)),
                Shape::Circle { centre, radius } => each.push((Piece::at(*centre), *radius)),
            }
        }
        each.extend(room.lines.iter().flat_map(|line| Piece::of_line(&line.points)).map(straight));
        Obstacles { index: Index::with_reach(each.iter().copied()), each, walls: room.corners.len() }
    }

    /// How far from a point a wall comes in a direction (a step of length 1), `most` where none comes nearer, mm.
    fn ahead(&self, from: Point, step: Point, most: f64) -> f64 {
        let near = self.index.near(Bounds::between(from, from + step * most)).filter(|place| *place < self.walls);
        let distances = near.filter_map(|place| {
            let (piece, _) = self.each[place];
            let to = piece.start - from;
            let area = cross(step, piece.step());
            let share = cross(to, step) / area;
            (area != 0.0 && (0.0..=1.0).contains(&share)).then(|| cross(to, piece.step()) / area)
        });
        distances.filter(|distance| *distance >= 0.0).fold(most, f64::min)
    }
}

/// A run, and where something lies as seen from it: how far along it, and how far across it to the left, mm.
struct View {
    start: Point,
    step: Point,
    length: f64,
}

impl View {
    fn new(run: &Run) -> Self {
        let length = run.length();
        View { start: run.start, step: (run.end - run.start) / length, length }
    }

    fn of(&self, point: Point) -> (f64, f64) {
        let from = point - self.start;
        (dot(from, self.step), cross(self.step, from))
    }

    /// A straight piece, and from where to where it lies alongside; nothing where that is no stretch.
    fn line(&self, piece: Piece) -> Option<(Line, Extent)> {
        let (one, two) = (self.of(piece.start), self.of(piece.end));
        let ((begin, first), (end, last)) = if one.0 > two.0 { (two, one) } else { (one, two) };
        let (from, to) = (begin.max(0.0), end.min(self.length));
        if to - from <= TOUCH {
            return None;
        }
        let slope = (last - first) / (end - begin);
        Some((Line { at_start: first - slope * begin, slope }, (from, to)))
    }

    /// The box around what lies straight across, as far as some distances on the left and on the right.
    fn bounds(&self, reaches: [f64; 2]) -> Bounds {
        let end = self.start + self.step * self.length;
        let left = Point { x: -self.step.y, y: self.step.x };
        let side = |reach: f64| Bounds::between(self.start + left * reach, end + left * reach);
        side(reaches[0]).with(side(-reaches[1]))
    }
}

/// From where to where along a run, mm.
type Extent = (f64, f64);

/// A straight piece as seen from a run: how far off it lies at the run's start if it went on there, mm, and how that changes with each mm
/// along the run.
#[derive(Debug, Clone, Copy)]
struct Line {
    at_start: f64,
    slope: f64,
}

impl Line {
    fn at(&self, along: f64) -> f64 {
        self.at_start + self.slope * along
    }

    /// The line as the other side sees it.
    fn mirrored(self) -> Self {
        Line { at_start: -self.at_start, slope: -self.slope }
    }

    /// As far as it lies on this side, and not too far off: between the places where it would be [`TOUCH`] and [`FARTHEST_NEIGHBOUR`]
    /// away. Nothing where the end is not beyond the beginning.
    fn in_reach(&self, (mut low, mut high): Extent) -> Extent {
        for (bound, over) in [(TOUCH, true), (FARTHEST_NEIGHBOUR, false)] {
            let inside = |along: f64| if over { self.at(along) > bound } else { self.at(along) <= bound };
            match (inside(low), inside(high)) {
                (true, true) => {}
                (false, false) => return (low, low),
                (starts, _) => {
                    let meet = (bound - self.at_start) / self.slope;
                    if starts { high = meet } else { low = meet }
                }
            }
            if high <= low {
                break;
            }
        }
        (low, high)
    }
}

/// An obstacle as seen from a run.
#[derive(Clone, Copy)]
enum Seen {
    Line(Line, Extent),
    /// Its centre along and across the run, and its radius.
    Circle(f64, f64, f64),
}

impl Seen {
    /// Adds the places along the run where it may begin or cease to hide another run: where it begins and ends, and where it comes to lie
    /// behind that run, or behind the one that it is seen from.
    fn cuts(&self, hidden: &Line, cuts: &mut Vec<f64>) {
        let behind = [*hidden, Line { at_start: TOUCH, slope: 0.0 }];
        match *self {
            Seen::Line(own, (from, to)) => {
                cuts.extend([from, to]);
                let parted = behind.into_iter().filter(|other| other.slope != own.slope);
                cuts.extend(parted.map(|other| (other.at_start - own.at_start) / (own.slope - other.slope)));
            }
            Seen::Circle(along, across, radius) => {
                cuts.extend([along - radius, along + radius]);
                for other in behind {
                    // (x - along)² + (other.at(x) - across)² = radius²
                    let (square, height) = (1.0 + other.slope * other.slope, other.at(along) - across);
                    let root = radius * radius * square - height * height;
                    if root > 0.0 {
                        let (middle, half) = (along - other.slope * height / square, root.sqrt() / square);
                        cuts.extend([middle - half, middle + half]);
                    }
                }
            }
        }
    }

    /// Whether some of it lies between the run and what is so far off at a place along it.
    fn hides(&self, along: f64, distance: f64) -> bool {
        let between = |across: f64| across > TOUCH && across <= distance;
        match *self {
            Seen::Line(own, (from, to)) => from <= along && along <= to && between(own.at(along)),
            Seen::Circle(centre, across, radius) => {
                let square = radius * radius - (along - centre) * (along - centre);
                square > 0.0 && (between(across - square.sqrt()) || between(across + square.sqrt()))
            }
        }
    }
}

/// The run nearest on one side from one place to another, mm along the run that has it there; none where the side is open.
#[derive(Debug, Clone, Copy)]
pub(super) struct Beside {
    pub(super) from: f64,
    pub(super) to: f64,
    neighbour: Option<(RunId, Line)>,
}

impl Beside {
    /// The neighbour.
    pub(super) fn run(&self) -> Option<RunId> {
        self.neighbour.map(|(run, _)| run)
    }

    /// Whether the neighbour draws nearer or away along the run.
    pub(super) fn draws_apart(&self) -> bool {
        self.neighbour.is_some_and(|(_, line)| line.slope != 0.0)
    }

    /// How far off the neighbour lies at a place along the run, mm.
    pub(super) fn distance(&self, along: f64) -> Option<f64> {
        self.neighbour.map(|(_, line)| line.at(along))
    }
}

/// What lies on one side of a run, from its start to its end: stretches that follow on each other.
#[derive(Debug, Clone)]
pub(super) struct Side(Vec<Beside>);

impl Side {
    /// Nothing lies there yet.
    fn open(length: f64) -> Self {
        Side(vec![Beside { from: 0.0, to: length, neighbour: None }])
    }

    /// The stretches, in order.
    pub(super) fn stretches(&self) -> &[Beside] {
        &self.0
    }

    /// What lies there at a place along the run.
    pub(super) fn at(&self, along: f64) -> Option<&Beside> {
        self.place(along).and_then(|place| self.0.get(place))
    }

    /// Which of the stretches holds a place along the run (an index).
    pub(super) fn place(&self, along: f64) -> Option<usize> {
        let found = self.0.iter().position(|beside| along <= beside.to);
        found.or(self.0.len().checked_sub(1))
    }

    /// Puts another run there, where it is nearer than what is there already.
    fn put(&mut self, run: RunId, line: Line, extent: Extent) {
        let (from, to) = line.in_reach(extent);
        if to - from <= TOUCH {
            return;
        }
        let nearer = |known: &Line, along: f64| line.at(along) < known.at(along);
        // Most runs lie behind others.
        let shows = self.0.iter().any(|there| {
            let (low, high) = (there.from.max(from), there.to.min(to));
            high > low && there.neighbour.is_none_or(|(_, known)| nearer(&known, low) || nearer(&known, high))
        });
        if !shows {
            return;
        }
        let own = Some((run, line));
        if let [there @ Beside { neighbour: None, .. }] = &mut self.0[..]
            && from <= there.from
            && to >= there.to
        {
            there.neighbour = own;
            return;
        }
        let mut after = Vec::with_capacity(self.0.len() + 2);
        for there in &self.0 {
            let (low, high) = (there.from.max(from), there.to.min(to));
            if high <= low {
                after.push(*there);
                continue;
            }
            let stretch = |from: f64, to: f64, neighbour| Beside { from, to, neighbour };
            if there.from < low {
                after.push(Beside { to: low, ..*there });
            }
            match there.neighbour {
                None => after.push(stretch(low, high, own)),
                Some((_, known)) => {
                    let (starts, ends) = (nearer(&known, low), nearer(&known, high));
                    let of = |nearer: bool| if nearer { own } else { there.neighbour };
                    if starts == ends {
                        after.push(stretch(low, high, of(starts)));
                    } else {
                        let (first, last) = (line.at(low) - known.at(low), line.at(high) - known.at(high));
                        let meet = low + (high - low) * first / (first - last);
                        after.extend([stretch(low, meet, of(starts)), stretch(meet, high, of(ends))]);
                    }
                }
            }
            if high < there.to {
                after.push(Beside { from: high, ..*there });
            }
        }
        self.0 = after;
        self.join();
    }

    /// Opens it where an obstacle hides what is there.
    fn hide(&mut self, obstacle: Seen) {
        let mut cuts = Vec::new();
        let mut after = Vec::new();
        for there in &self.0 {
            let Some((_, line)) = there.neighbour else {
                after.push(*there);
                continue;
            };
            cuts.clear();
            obstacle.cuts(&line, &mut cuts);
            cuts.retain(|cut| *cut > there.from && *cut < there.to);
            cuts.push(there.to);
            cuts.sort_unstable_by(f64::total_cmp);
            let mut from = there.from;
            for &to in &cuts {
                if to > from {
                    let middle = f64::midpoint(from, to);
                    let hidden = obstacle.hides(middle, line.at(middle));
                    after.push(Beside { from, to, neighbour: if hidden { None } else { there.neighbour } });
                    from = to;
                }
            }
        }
        self.0 = after;
        self.join();
    }

    /// What goes on as it was is one stretch.
    fn join(&mut self) {
        self.0.dedup_by(|next, last| {
            let same = last.run() == next.run();
            if same {
                last.to = next.to;
            }
            same
        });
    }

    /// How far off the farthest neighbour lies, and how far off runs may lie that are neighbours yet, mm.
    fn reaches(&self) -> (f64, f64) {
        let each =
            self.0.iter().map(|there| there.neighbour.map(|(_, line)| line.at(there.from).max(line.at(there.to))));
        each.fold((0.0, 0.0), |(known, reach): (f64, f64), far| match far {
            Some(far) => (known.max(far), reach.max(far)),
            None => (known, FARTHEST_NEIGHBOUR),
        })
    }
}

/// What lies on both sides of a run, the left first.
pub(super) type Sides = [Side; 2];

/// What lies on both sides of a run; counts down the boxes that may still be looked at, and is nothing once there are none.
fn sides(index: &RunIndex<'_>, obstacles: &Obstacles, id: RunId, candidates: &mut usize) -> Option<Sides> {
    let view = View::new(index.run(id));
    let mut sides = [Side::open(view.length), Side::open(view.length)];
    let put = |[left, right]: &mut Sides, other: RunId| {
        let seen = view.line(index.run(other).piece());
        if let Some((line, extent)) = seen.filter(|(line, _)| line.slope.abs() <= MOST_SLANT) {
            left.put(other, line, extent);
            right.put(other, line.mirrored(), extent);
        }
    };
    // In parallel loops every other run lies beside the last, and bounds how far any other that matters can be.
    let next = [id.run.checked_add(2), id.run.checked_sub(2)].map(|run| Some(RunId { cable: id.cable, run: run? }));
    let next = next.map(|other| other.filter(|other| index.has(*other)));
    next.into_iter().flatten().for_each(|other| put(&mut sides, other));
    let reaches = [0, 1].map(|side| sides[side].reaches().1);
    for other in index.near(view.bounds(reaches), TOUCH) {
        *candidates = candidates.checked_sub(1)?;
        let joined = other.cable == id.cable && other.run.abs_diff(id.run) <= 1;
        if !joined && !next.contains(&Some(other)) {
            put(&mut sides, other);
        }
    }
    let reaches = [0, 1].map(|side| sides[side].reaches().0);
    if reaches != [0.0, 0.0] {
        for place in obstacles.index.near(view.bounds(reaches)) {
            *candidates = candidates.checked_sub(1)?;
            let (piece, radius) = obstacles.each[place];
            let [left, right] = &mut sides;
            if radius > 0.0 {
                let (along, across) = view.of(piece.start);
                left.hide(Seen::Circle(along, across, radius));
                right.hide(Seen::Circle(along, -across, radius));
            } else if let Some((line, extent)) = view.line(piece) {
                left.hide(Seen::Line(line, extent));
                right.hide(Seen::Line(line.mirrored(), extent));
            }
        }
    }
    Some(sides)
}

/// The sides of every run of a room, each worked out when first asked for.
#[derive(Debug)]
pub(super) struct AllSides {
    obstacles: Obstacles,
    /// By cable and run.
    each: Vec<Vec<OnceCell<Sides>>>,
    /// How many boxes may still be looked at.
    candidates: Cell<usize>,
}

impl AllSides {
    /// Of a room's runs.
    pub(super) fn new(room: &Room) -> Self {
        let each = room.cables.iter().map(|cable| vec![OnceCell::new(); cable.runs.len()]).collect();
        let runs: usize = room.cables.iter().map(|cable| cable.runs.len()).sum();
        AllSides {
            obstacles: Obstacles::new(room),
            each,
            candidates: Cell::new(LEAST_CANDIDATES + runs * CANDIDATES_EACH),
        }
    }

    /// How far from a point a wall comes in a direction (a step of length 1), `most` where none comes nearer, mm.
    pub(super) fn ahead(&self, from: Point, step: Point, most: f64) -> f64 {
        self.obstacles.ahead(from, step, most)
    }

    /// What lies on both sides of a run; nothing where runs lie too thick to be gone through.
    pub(super) fn of(&self, index: &RunIndex<'_>, id: RunId) -> Option<&Sides> {
        let own = &self.each[id.in_room()][id.in_cable()];
        if own.get().is_none() {
            let mut candidates = self.candidates.get();
            let found = sides(index, &self.obstacles, id, &mut candidates);
            self.candidates.set(if found.is_some() { candidates } else { 0 });
            let _ = own.set(found?);
        }
        own.get()
    }
}
