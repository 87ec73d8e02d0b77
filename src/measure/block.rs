//! Rows of capsules laid so close side by side that nothing between them stays uncovered.
//!
//! A cable laid in parallel loops has every other run beside the last. The rectangle that such rows have in common is then covered
//! by them whole, however many there are, so that what lies in it need not be asked of each.

use std::ops::Range;

use super::capsule::{Capsule, Laid, band};
use super::index::Ring;
use crate::geometry::{dot, point_distance};
use crate::model::Point;

/// A rectangle that rows of capsules cover.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Block {
    /// From the first of its rows to the last, by their place among the capsules.
    pub(super) rows: Range<usize>,
    /// Where the first row begins.
    origin: Point,
    /// Along the rows, a unit.
    along: Point,
    /// From the first row over to the last, a unit.
    across: Point,
    /// What the rows have in common along them, mm from the origin.
    common: (f64, f64),
    /// From the first row to the last, mm.
    depth: f64,
    /// The widest gap between two rows, mm.
    gap: f64,
}

/// How much neighbours must overlap, mm; less than half of what two capsules are widened by.
const OVERLAP: f64 = 5e-7;
/// How far beyond its edges a block is still sure to cover, mm: at their ends, rows overlap by so much more than this that it can't matter.
const SLACK: f64 = 1e-7;
/// How far from parallel rows may be, mm from end to end.
const ASKEW: f64 = 1e-8;
/// What a row must have in common with the others, as a share of its length.
const IN_COMMON: f64 = 0.8;
/// Fewer rows aren't worth a block.
const LEAST_ROWS: usize = 3;

impl Block {
    /// The block of the rows that begin with one, if there is one.
    fn from_row(capsules: &[Laid], first: usize) -> Option<Self> {
        let row = &capsules[first];
        let (along, left) = row.directions()?;
        let mut block = Block {
            rows: first..first + 1,
            origin: row.capsule.a,
            along,
            across: left,
            common: (0.0, row.length),
            depth: 0.0,
            gap: 0.0,
        };
        let mut before = row.capsule.radius;
        // Between two rows lies the step from one to the other.
        for (index, next) in capsules.iter().enumerate().skip(first + 2).step_by(2) {
            let Capsule { a, b, radius } = next.capsule;
            let (a, b) = (a - block.origin, b - block.origin);
            let (start, end) = (dot(a, along), dot(b, along));
            let (over, other_end) = (dot(a, block.across), dot(b, block.across));
            if (over - other_end).abs() > ASKEW {
                break;
            }
            if block.depth == 0.0 && over < 0.0 {
                block.across = block.across * -1.0;
            }
            let over = if block.depth == 0.0 { over.abs() } else { over };
            let gap = over - block.depth;
            let common = (block.common.0.max(start.min(end)), block.common.1.min(start.max(end)));
            if gap <= 0.0
                || gap > before + radius - OVERLAP
                || common.1 - common.0 < IN_COMMON * next.length.max(row.length)
            {
                break;
            }
            (block.common, block.depth, block.gap) = (common, over, block.gap.max(gap));
            block.rows.end = index + 1;
            before = radius;
        }
        (block.rows.len() >= 2 * LEAST_ROWS - 1).then_some(block)
    }

    /// The stretch of the piece `p` to `q` inside it, as shares from 0 to 1.
    pub(super) fn stretch(&self, p: Point, q: Point) -> Option<(f64, f64)> {
        let (from, step) = (p - self.origin, q - p);
        let side =
            |way: Point, (low, high): (f64, f64)| band(dot(from, way), dot(step, way), low - SLACK, high + SLACK);
        let (a, b) = side(self.along, self.common).zip(side(self.across, (0.0, self.depth)))?;
        let both = (a.0.max(b.0), a.1.min(b.1));
        (both.1 > both.0).then_some(both)
    }

    /// Its corners, in order.
    fn corners(&self) -> [Point; 4] {
        let at = |along: f64, across: f64| self.origin + self.along * along + self.across * across;
        let (low, high) = self.common;
        [at(low, 0.0), at(high, 0.0), at(high, self.depth), at(low, self.depth)]
    }

    /// How far around the rectangle rows of a radius cover everything, mm: between two rows a gap apart, a point straight off their ends
    /// is half a gap from either.
    fn reach(&self, radius: f64) -> f64 {
        (radius * radius - self.gap * self.gap / 4.0).max(0.0).sqrt()
    }

    /// Whether a point lies no farther than `reach` (mm) from the rectangle.
    fn reaches(&self, point: Point, reach: f64) -> bool {
        let from = point - self.origin;
        let beyond = |place: f64, (low, high): (f64, f64)| (low - place).max(place - high).max(0.0);
        let off = Point {
            x: beyond(dot(from, self.along), self.common),
            y: beyond(dot(from, self.across), (0.0, self.depth)),
        };
        dot(off, off) <= reach * reach
    }
}

/// The blocks among capsules in the order they are laid, apart and in order.
pub(super) fn blocks(capsules: &[Laid]) -> Vec<Block> {
    let mut found = Vec::new();
    let mut first = 0;
    while first < capsules.len() {
        match Block::from_row(capsules, first) {
            Some(block) => {
                first = block.rows.end;
                found.push(block);
            }
            None => first += 1,
        }
    }
    found
}

/// Some of what capsules cover, told by less: by the blocks among them.
pub(super) struct Outlined<'c> {
    capsules: &'c [Capsule],
    /// Each with how far around it all is covered, mm.
    blocks: Vec<(Block, f64)>,
}

/// More blocks than this are no simpler than their rows.
const MOST_OUTLINED: usize = 8;

impl<'c> Outlined<'c> {
    /// Finds the blocks among capsules.
    pub(super) fn new(capsules: &'c [Capsule]) -> Self {
        let laid: Vec<Laid> = capsules.iter().copied().map(Laid::new).collect();
        let reach = |block: Block| {
            let radii = capsules[block.rows.clone()].iter().map(|capsule| capsule.radius);
            let reach = block.reach(radii.fold(f64::INFINITY, f64::min));
            (block, reach)
        };
        let mut blocks: Vec<(Block, f64)> = blocks(&laid).into_iter().map(reach).collect();
        if blocks.len() > MOST_OUTLINED {
            blocks.clear();
        }
        Outlined { capsules, blocks }
    }

    /// Whether one block covers all points, and so, being convex with what is covered around it, all between them.
    pub(super) fn one_covers(&self, points: impl Iterator<Item = Point> + Clone) -> bool {
        self.blocks.iter().any(|(block, reach)| points.clone().all(|point| block.reaches(point, *reach)))
    }

    /// In place of the rows of each block a rectangle.
    pub(super) fn rings(&self) -> Vec<Ring> {
        self.blocks.iter().map(|(block, _)| Ring::new(&block.corners())).collect()
    }

    /// Capsules along the edges of the rectangles, and of the other capsules those that hardly lie within the one kept before them.
    pub(super) fn capsules(&self, rings: &[Ring]) -> Vec<Capsule> {
        let mut found = Vec::new();
        let mut done = 0;
        for ((block, radius), ring) in self.blocks.iter().zip(rings) {
            found.extend(thinned(&self.capsules[done..block.rows.start]));
            done = block.rows.end;
            found.extend((0..4).map(|edge| ring.edge(edge)).map(|(a, b)| Capsule { a, b, radius: *radius }));
        }
        found.extend(thinned(&self.capsules[done..]));
        found
    }
}

/// How far from the last one kept the next capsule is kept, as a share of its radius: near enough to leave no hollow at the ends of runs.
const THIN: f64 = 0.8;

/// Those of a row of capsules that hardly lie within the ones kept before them.
fn thinned(capsules: &[Capsule]) -> impl Iterator<Item = Capsule> {
    let mut kept: Option<Capsule> = None;
    capsules.iter().copied().filter(move |capsule| {
        let near = |kept: &Capsule, end| point_distance(end, kept.a, kept.b) <= capsule.radius * THIN;
        let thin = kept.as_ref().is_some_and(|kept| near(kept, capsule.a) && near(kept, capsule.b));
        if !thin {
            kept = Some(*capsule);
        }
        !thin
    })
}
