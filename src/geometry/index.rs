//! The one spatial index, that every question who is near whom goes through.
//!
//! It holds straight pieces, each with how far around it reaches, and tells them by their places in the order they were given. Few of
//! them are looked through one after another, many are kept in an R-tree; which of the two is nobody's business but this file's.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use rstar::{AABB, PointDistance, RTree, RTreeObject};

use super::{Bounds, Piece, Point};

/// Up to so many pieces are looked through one by one, which costs less than a tree.
const FEW: usize = 256;

/// How many pieces make a group. Pieces come in the order they are laid, and neighbours in it are neighbours on the floor: a box around
/// each group of them tells at once that none of the group is near.
const GROUP: usize = 8;

/// Pieces, by where they lie.
#[derive(Debug)]
pub struct Index(Kept);

#[derive(Debug)]
enum Kept {
    /// The pieces, the boxes around what they reach, and the boxes around groups of those.
    Few {
        pieces: Vec<Piece>,
        boxes: Vec<Bounds>,
        groups: Vec<Bounds>,
    },
    Many(RTree<Entry>),
}

/// A piece of the tree.
#[derive(Debug)]
struct Entry {
    piece: Piece,
    reach: f64,
    place: u32,
}

impl RTreeObject for Entry {
    type Envelope = AABB<[f64; 2]>;

    fn envelope(&self) -> Self::Envelope {
        envelope(self.piece.bounds().widened(self.reach))
    }
}

impl PointDistance for Entry {
    fn distance_2(&self, point: &[f64; 2]) -> f64 {
        self.piece.square_distance(Point { x: point[0], y: point[1] })
    }
}

fn envelope(bounds: Bounds) -> AABB<[f64; 2]> {
    AABB::from_corners(bounds.low.into(), bounds.high.into())
}

impl Index {
    /// Keeps some pieces that reach no farther than themselves.
    pub fn new(pieces: impl ExactSizeIterator<Item = Piece>) -> Self {
        Index::with_reach(pieces.map(|piece| (piece, 0.0)))
    }

    /// Keeps some pieces, each with how far around it reaches, mm.
    pub fn with_reach(pieces: impl ExactSizeIterator<Item = (Piece, f64)>) -> Self {
        if pieces.len() > FEW {
            let entries = pieces.zip(0u32..).map(|((piece, reach), place)| Entry { piece, reach, place });
            return Index(Kept::Many(RTree::bulk_load(entries.collect())));
        }
        let (pieces, boxes): (Vec<Piece>, Vec<Bounds>) =
            pieces.map(|(piece, reach)| (piece, piece.bounds().widened(reach))).unzip();
        let groups = boxes.chunks(GROUP).filter_map(|group| group.iter().copied().reduce(Bounds::with)).collect();
        Index(Kept::Few { pieces, boxes, groups })
    }

    /// Whether there are so few pieces that to look for a wide neighbourhood costs no more than for a narrow one.
    pub fn is_small(&self) -> bool {
        matches!(self.0, Kept::Few { .. })
    }

    /// The places of the pieces whose boxes meet one; in order where the index [is small](Index::is_small).
    pub fn near(&self, wanted: Bounds) -> Near<'_> {
        self.near_from(0, wanted)
    }

    /// The places from `first` on of the pieces whose boxes meet one; in order where the index [is small](Index::is_small).
    pub fn near_from(&self, first: usize, wanted: Bounds) -> Near<'_> {
        match &self.0 {
            Kept::Few { boxes, groups, .. } => Near::Few { boxes, groups, wanted, at: first },
            Kept::Many(tree) => {
                let near = tree.locate_in_envelope_intersecting(envelope(wanted)).map(|entry| entry.place as usize);
                Near::Many(Box::new(near.filter(move |place| *place >= first)))
            }
        }
    }

    /// The places of the pieces in the order of their distance from a point, with that distance, mm.
    pub fn by_distance(&self, point: Point) -> impl Iterator<Item = (usize, f64)> + '_ {
        let (few, many) = match &self.0 {
            Kept::Few { pieces, .. } => {
                // The bits of numbers that aren't negative are in the numbers' own order. Mostly a few are wanted, so that not all are put in
                // order.
                let keyed =
                    pieces.iter().enumerate().map(|(place, piece)| Reverse((piece.distance(point).to_bits(), place)));
                (Some(keyed.collect::<BinaryHeap<_>>()), None)
            }
            Kept::Many(tree) => (None, Some(tree.nearest_neighbor_iter_with_distance_2([point.x, point.y]))),
        };
        let mut few = few.unwrap_or_default();
        let few = std::iter::from_fn(move || few.pop().map(|Reverse((bits, place))| (place, f64::from_bits(bits))));
        few.chain(many.into_iter().flatten().map(|(entry, square)| (entry.place as usize, square.sqrt())))
    }

    /// The place of a piece that lies near another, if not the nearest: how far off it is bounds how far the nearest can be.
    pub fn likely_nearest(&self, to: Piece) -> Option<usize> {
        match &self.0 {
            Kept::Few { boxes, .. } => {
                let wanted = to.bounds();
                let gaps = boxes.iter().map(|own| own.square_gap(&wanted)).enumerate();
                gaps.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(place, _)| place)
            }
            Kept::Many(tree) => {
                let middle = to.along(0.5);
                tree.nearest_neighbor([middle.x, middle.y]).map(|entry| entry.place as usize)
            }
        }
    }
}

/// The places of pieces near something. A small thing to hand on, since most questions are asked of a few pieces.
pub enum Near<'i> {
    /// Of a few, by the boxes around them and around groups of those.
    Few {
        /// Around each piece.
        boxes: &'i [Bounds],
        /// Around each group.
        groups: &'i [Bounds],
        /// What they are to meet.
        wanted: Bounds,
        /// The first that isn't looked at yet.
        at: usize,
    },
    /// Of many, as a tree finds them.
    Many(Box<dyn Iterator<Item = usize> + 'i>),
}

impl Near<'_> {
    /// Nothing is near.
    pub fn none() -> Self {
        Near::Few { boxes: &[], groups: &[], wanted: Bounds::NOTHING, at: 0 }
    }
}

impl Iterator for Near<'_> {
    type Item = usize;

    fn next(&mut self) -> Option<usize> {
        let (boxes, groups, wanted, at) = match self {
            Near::Few { boxes, groups, wanted, at } => (*boxes, *groups, wanted, at),
            Near::Many(places) => return places.next(),
        };
        while let Some(own) = boxes.get(*at) {
            if at.is_multiple_of(GROUP) && !groups[*at / GROUP].meets(wanted) {
                *at += GROUP;
                continue;
            }
            *at += 1;
            if own.meets(wanted) {
                return Some(*at - 1);
            }
        }
        None
    }

    fn fold<B, F: FnMut(B, usize) -> B>(self, none: B, mut add: F) -> B {
        let (boxes, groups, wanted, first) = match self {
            Near::Few { boxes, groups, wanted, at } => (boxes, groups, wanted, at),
            Near::Many(places) => return places.fold(none, add),
        };
        let (mut all, mut at) = (none, first);
        while let Some(own) = boxes.get(at) {
            if at.is_multiple_of(GROUP) && !groups[at / GROUP].meets(&wanted) {
                at += GROUP;
                continue;
            }
            if own.meets(&wanted) {
                all = add(all, at);
            }
            at += 1;
        }
        all
    }
}
