//! The edges of what capsules leave uncovered, and the stretches of those edges that something covers.

use super::arc::Arc;
use super::capsule::{Capsule, Laid, Round};
use super::index::{Corners, box_around, piece_box};
use crate::geometry::{along, cross, dot};
use crate::model::Point;

/// One edge of the uncovered part, which lies to its left.
#[derive(Debug, Clone, Copy)]
pub(super) enum Edge {
    Straight(Point, Point),
    Arc(Arc),
}

impl Edge {
    pub(super) fn at(&self, share: f64) -> Point {
        match self {
            Edge::Straight(a, b) => along(*a, *b, share),
            Edge::Arc(arc) => arc.at(share),
        }
    }

    /// `½ ∫ (x dy - y dx)` from one share of it to another.
    pub(super) fn area(&self, from: f64, to: f64) -> f64 {
        let (p, q) = (self.at(from), self.at(to));
        match self {
            Edge::Straight(..) => cross(p, q) / 2.0,
            Edge::Arc(arc) => {
                let turned = arc.angle(from, to);
                (cross(arc.centre, q - p) - arc.radius * arc.radius * turned) / 2.0
            }
        }
    }

    /// A box around the stretch from one share to another.
    fn stretch_bounds(&self, from: f64, to: f64) -> Corners {
        let (p, q) = (self.at(from), self.at(to));
        match self {
            Edge::Straight(..) => piece_box(p, q),
            Edge::Arc(arc) if (to - from) * arc.quarters <= 1.0 => {
                // Between its ends and its middle an arc of up to a right angle strays from the chord by its sagitta, which is less than
                // a sixth of the chord's square over the radius (an eighth, for one that is flat).
                let middle = self.at(f64::midpoint(from, to));
                let half = [middle - p, q - middle].map(|chord| dot(chord, chord)).into_iter().fold(0.0, f64::max);
                let by = half / (6.0 * arc.radius);
                let (low, high) = piece_box(p, q);
                (
                    Point { x: low.x.min(middle.x) - by, y: low.y.min(middle.y) - by },
                    Point { x: high.x.max(middle.x) + by, y: high.y.max(middle.y) + by },
                )
            }
            Edge::Arc(_) => self.bounds(),
        }
    }

    pub(super) fn bounds(&self) -> Corners {
        match self {
            Edge::Straight(a, b) => piece_box(*a, *b),
            Edge::Arc(arc) if arc.quarters <= 1.0 => self.stretch_bounds(0.0, 1.0),
            Edge::Arc(arc) => {
                let by = Point { x: arc.radius, y: arc.radius };
                (arc.centre - by, arc.centre + by)
            }
        }
    }
}

/// The covered stretches of an edge, in order and apart.
#[derive(Debug, Clone, Default)]
pub(super) struct Covered(pub(super) Vec<(f64, f64)>);

impl Covered {
    pub(super) fn add(&mut self, (mut from, mut to): (f64, f64)) {
        let first = self.0.partition_point(|stretch| stretch.1 < from);
        let last = self.0.partition_point(|stretch| stretch.0 <= to);
        if first == last {
            self.0.insert(first, (from, to));
            return;
        }
        from = from.min(self.0[first].0);
        to = to.max(self.0[last - 1].1);
        self.0[first] = (from, to);
        if last - first > 1 {
            self.0.drain(first + 1..last);
        }
    }

    /// Adds the shares where they begin and end.
    pub(super) fn cuts(&self, cuts: &mut Vec<f64>) {
        cuts.extend(self.0.iter().flat_map(|(from, to)| [*from, *to]));
    }

    /// Whether a share lies in one of them.
    fn has(&self, share: f64) -> bool {
        self.0.iter().any(|(from, to)| *from <= share && share <= *to)
    }

    /// The stretches that are not covered, in order.
    pub(super) fn open(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        let mut reached = 0.0;
        self.0.iter().copied().chain([(1.0, 1.0)]).filter_map(move |(from, to)| {
            let open = (from > reached).then_some((reached, from));
            reached = to;
            open
        })
    }

    /// `½ ∫ (x dy - y dx)` over what is left open of an edge.
    pub(super) fn open_area(&self, edge: &Edge) -> f64 {
        self.open().map(|(from, to)| edge.area(from, to)).sum()
    }

    /// The box around what is left open of an edge.
    pub(super) fn remains(&self, edge: &Edge) -> Corners {
        if self.0.is_empty() {
            return edge.bounds();
        }
        let boxes = self.open().map(|(from, to)| edge.stretch_bounds(from, to));
        boxes.reduce(box_around).unwrap_or_else(|| edge.bounds())
    }

    /// A point of an edge that is left open.
    pub(super) fn first_open(&self, edge: &Edge) -> Point {
        match self.0.first() {
            Some((from, _)) if *from > 0.0 => edge.at(from / 2.0),
            Some((_, to)) => edge.at(f64::midpoint(*to, self.0.get(1).map_or(1.0, |next| next.0))),
            None => edge.at(0.5),
        }
    }

    pub(super) fn is_whole(&self) -> bool {
        self.0.first().is_some_and(|stretch| stretch.0 <= 0.0 && stretch.1 >= 1.0)
    }
}

/// What may be uncovered of the edge of a capsule, clockwise, so that what lies outside is on its left: its left side, its end, its right
/// side, its start.
pub(super) fn capsule_edges(laid: &Laid) -> [Option<Edge>; 4] {
    let Laid { capsule: Capsule { a, b, radius }, length, normal, round } = *laid;
    let side = normal * radius;
    let straight = |a: Point, b: Point| (length > 0.0).then_some(Edge::Straight(a, b));
    let arc = |centre: Point, round: Option<Round>| {
        round.map(|Round { from, to, quarters }| Edge::Arc(Arc { centre, radius, from, to, quarters }))
    };
    [straight(a + side, b + side), arc(b, round[1]), straight(b - side, a - side), arc(a, round[0])]
}

/// Adds the shares at which an edge crosses the straight piece `c` to `d`.
pub(super) fn ring_cuts(edge: &Edge, c: Point, d: Point, cuts: &mut Vec<f64>) {
    match edge {
        Edge::Straight(a, b) => {
            let (step, other) = (*b - *a, d - c);
            let area = cross(step, other);
            if area != 0.0 {
                let (first, second) = (cross(c - *a, other) / area, cross(c - *a, step) / area);
                if (0.0..=1.0).contains(&first) && (-1e-9..=1.0 + 1e-9).contains(&second) {
                    cuts.push(first);
                }
            }
        }
        Edge::Arc(arc) => {
            let step = d - c;
            let square = dot(step, step);
            let to = arc.centre - c;
            let middle = dot(to, step) / square;
            let height = cross(step, to);
            let half_square = (arc.radius * arc.radius - height * height / square) / square;
            if half_square > 0.0 {
                for share in [middle - half_square.sqrt(), middle + half_square.sqrt()] {
                    if (-1e-9..=1.0 + 1e-9).contains(&share) {
                        arc.push((along(c, d, share) - arc.centre) / arc.radius, cuts);
                    }
                }
            }
        }
    }
}

/// Adds the stretches between cuts in whose middle `holds`. The ends of what is covered already are among the cuts, and what lies between
/// them isn't asked.
pub(super) fn stretches_where(edge: &Edge, cuts: &mut [f64], holds: impl Fn(Point) -> bool, covered: &mut Covered) {
    cuts.sort_unstable_by(f64::total_cmp);
    let mut from = 0.0;
    let mut begun: Option<f64> = None;
    for &to in cuts.iter().chain([&1.0]) {
        if to <= from {
            continue;
        }
        let middle = f64::midpoint(from, to);
        if !covered.has(middle) && holds(edge.at(middle)) {
            begun.get_or_insert(from);
        } else if let Some(start) = begun.take() {
            covered.add((start, from));
        }
        from = to;
    }
    if let Some(start) = begun {
        covered.add((start, 1.0));
    }
}
