//! The edges of what capsules leave uncovered, and the stretches of those edges that something covers.

use super::arc::{Arc, SLIP};
use super::capsule::Laid;
use crate::geometry::{Bounds, Piece, Point, Ring, cross};

/// One edge of the uncovered part.
///
/// Invariant *left*: what may be uncovered lies to the left of it, what covers to the right.
#[derive(Debug, Clone, Copy)]
pub(super) enum Edge {
    Straight(Piece),
    Arc(Arc),
}

/// How much of an edge a capsule covers, as far as that can be told without cutting it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Share {
    None,
    Some,
    All,
}

impl Edge {
    /// How much of it a capsule covers.
    pub(super) fn share_in(&self, laid: &Laid) -> Share {
        let radius = laid.capsule.radius;
        let (apart, inside) = match self {
            Edge::Straight(piece) => laid.apart_or_around(*piece),
            Edge::Arc(arc) => {
                let (square, reach, within) =
                    (laid.square_distance(arc.centre), radius + arc.radius, radius - arc.radius);
                (square >= reach * reach, within > 0.0 && square < within * within)
            }
        };
        match (apart, inside) {
            (true, _) => Share::None,
            (false, true) => Share::All,
            (false, false) => Share::Some,
        }
    }

    /// The point at a share of it.
    pub(super) fn at(&self, share: f64) -> Point {
        match self {
            Edge::Straight(piece) => piece.along(share),
            Edge::Arc(arc) => arc.at(share),
        }
    }

    /// `½ ∫ (x dy - y dx)` from one share of it to another.
    pub(super) fn area(&self, from: f64, to: f64) -> f64 {
        let (p, q) = (self.at(from), self.at(to));
        match self {
            Edge::Straight(_) => cross(p, q) / 2.0,
            Edge::Arc(arc) => {
                let turned = arc.angle(from, to);
                (cross(arc.centre, q - p) - arc.radius * arc.radius * turned) / 2.0
            }
        }
    }

    /// The box around it.
    pub(super) fn bounds(&self) -> Bounds {
        self.stretch_bounds(0.0, 1.0)
    }

    /// A box around the stretch between two shares of it; of an arc, around all of it.
    fn stretch_bounds(&self, from: f64, to: f64) -> Bounds {
        match self {
            Edge::Straight(piece) => Bounds::between(piece.along(from), piece.along(to)),
            Edge::Arc(arc) => arc.bounds(),
        }
    }
}

/// The covered stretches of an edge.
///
/// Invariant *apart*: they are in order, and none touches the next.
#[derive(Debug, Clone, Default)]
pub(super) struct Covered(Vec<(f64, f64)>);

impl Covered {
    /// Forgets all of them.
    pub(super) fn clear(&mut self) {
        self.0.clear();
    }

    /// Takes over those of another edge.
    pub(super) fn copy(&mut self, other: &Covered) {
        self.0.clone_from(&other.0);
    }

    /// Adds one more.
    fn add(&mut self, (mut from, mut to): (f64, f64)) {
        // Mostly it comes last.
        if self.0.last().is_none_or(|last| last.1 < from) {
            self.0.push((from, to));
            return;
        }
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

    /// Whether a share lies in one of them.
    fn has(&self, share: f64) -> bool {
        self.0.iter().any(|(from, to)| *from <= share && share <= *to)
    }

    /// Whether they are all of the edge.
    pub(super) fn is_whole(&self) -> bool {
        self.0.first().is_some_and(|stretch| stretch.0 <= 0.0 && stretch.1 >= 1.0)
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

    /// A box around what is left open of an edge.
    pub(super) fn open_bounds(&self, edge: &Edge) -> Bounds {
        self.open().map(|(from, to)| edge.stretch_bounds(from, to)).fold(Bounds::NOTHING, Bounds::with)
    }

    /// Adds the stretch of an edge inside a capsule; whether all of it is covered then.
    pub(super) fn add_capsule(&mut self, edge: &Edge, laid: &Laid, cuts: &mut Vec<f64>) -> bool {
        match edge {
            Edge::Straight(piece) => {
                if let Some(stretch) = laid.stretch(*piece) {
                    self.add(stretch);
                }
            }
            Edge::Arc(arc) => {
                cuts.clear();
                arc.capsule_cuts(laid, cuts);
                self.add_where(cuts, |middle| laid.contains(arc.at(middle)));
            }
        }
        self.is_whole()
    }

    /// Adds the stretches of an edge on one side of a ring, in it or out of it; whether all of it is covered then. The edge is told from
    /// `origin`.
    pub(super) fn add_ring(
        &mut self,
        edge: &Edge,
        ring: &Ring,
        inside: bool,
        origin: Point,
        cuts: &mut Vec<f64>,
    ) -> bool {
        let mut near = ring.edges_near(edge.bounds().moved(origin)).peekable();
        if near.peek().is_none() {
            // All of it lies as any of it does.
            return ring.contains(edge.at(0.0) + origin) == inside;
        }
        // A ring takes longest to ask: what is covered already is parted from the rest, and passed over.
        cuts.clear();
        cuts.extend(self.0.iter().flat_map(|(from, to)| [*from, *to]));
        let known = self.clone();
        for side in near {
            let side = side.moved(origin * -1.0);
            match edge {
                Edge::Straight(piece) => straight_cuts(*piece, side, cuts),
                Edge::Arc(arc) => arc.piece_cuts(side, cuts),
            }
        }
        self.add_where(cuts, |middle| !known.has(middle) && ring.contains(edge.at(middle) + origin) == inside);
        self.is_whole()
    }

    /// Adds the stretches between cuts in whose middle, a share, `holds`.
    ///
    /// Invariant *cut*: between two cuts an edge lies wholly inside or wholly outside, so that its middle tells which.
    fn add_where(&mut self, cuts: &mut Vec<f64>, holds: impl Fn(f64) -> bool) {
        cuts.push(1.0);
        cuts.sort_unstable_by(f64::total_cmp);
        let mut from = 0.0;
        let mut begun: Option<f64> = None;
        for &to in &*cuts {
            if to <= from {
                continue;
            }
            let middle = f64::midpoint(from, to);
            if holds(middle) {
                begun.get_or_insert(from);
            } else if let Some(start) = begun.take() {
                self.add((start, from));
            }
            from = to;
        }
        if let Some(start) = begun {
            self.add((start, 1.0));
        }
    }
}

/// Adds the share at which a piece crosses a ring's edge.
fn straight_cuts(piece: Piece, side: Piece, cuts: &mut Vec<f64>) {
    let (step, other) = (piece.step(), side.step());
    let area = cross(step, other);
    if area != 0.0 {
        let from = side.start - piece.start;
        let (first, second) = (cross(from, other) / area, cross(from, step) / area);
        if (0.0..=1.0).contains(&first) && (-SLIP..=1.0 + SLIP).contains(&second) {
            cuts.push(first);
        }
    }
}

/// The edges of a capsule, clockwise, so that what lies outside is on their left: its left side, its end, its right side, its start; of a
/// disc its circle alone, of a rectangle four sides and what is round between them.
pub(super) fn capsule_edges(laid: &Laid) -> impl Iterator<Item = Edge> {
    let Laid { capsule, length, normal, depth, .. } = *laid;
    let (Piece { start, end }, radius, axis) = (capsule.piece, capsule.radius, laid.axis());
    let far = normal * depth;
    let arc = |centre: Point, from: Point, quarters: f64| Some(Edge::Arc(Arc { centre, radius, from, quarters }));
    let side = |from: Point, to: Point, out: Point| Some(Edge::Straight(Piece::new(from, to).moved(out * radius)));
    let back = |way: Point| way * -1.0;
    let edges = if depth > 0.0 {
        [
            side(start + far, end + far, normal),
            arc(end + far, normal, 1.0),
            side(end + far, end, axis),
            arc(end, axis, 1.0),
            side(end, start, back(normal)),
            arc(start, back(normal), 1.0),
            side(start, start + far, back(axis)),
            arc(start + far, back(axis), 1.0),
        ]
    } else if length > 0.0 {
        let (there, here) = (arc(end, normal, 2.0), arc(start, back(normal), 2.0));
        [side(start, end, normal), there, side(end, start, back(normal)), here, None, None, None, None]
    } else {
        [arc(start, axis, 4.0), None, None, None, None, None, None, None]
    };
    edges.into_iter().flatten()
}
