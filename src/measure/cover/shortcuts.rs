//! What makes the covering areas fast and changes no answer: each can be left out, which the tests do.
//!
//! What each saves is counted in instructions of a whole check, over 300 plans of `tests/bench/varied.rs` and over 100 rectangular ones:
//! without `thin_first` they are 46 % and 49 % more, without `join_rows` 9 % and 11 %, without `keep_left` 3 % and 6 %. The last
//! takes no lines of its own, since `thin_first` lays more on what is left too.

use super::capsule::{Capsule, Laid};
use super::edge::{Covered, Edge};
use super::patches::{LEAST_PATCH, Outlined};
use super::{Cover, Search, laid};
use crate::geometry::tolerance::WIDENED;
use crate::geometry::{Bounds, Piece, Point, Ring, dot};

/// Which shortcuts are taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shortcuts {
    /// What a free floor's obstacles leave is found once, and more laid on it; else all is laid anew for each question.
    pub keep_left: bool,
    /// Patches are looked for where some of the capsules, well apart, leave any; else everywhere.
    pub thin_first: bool,
    /// Of rows side by side there, a rectangle that they cover stands for all.
    pub join_rows: bool,
}

impl Shortcuts {
    /// All of them.
    pub const ALL: Shortcuts = Shortcuts { keep_left: true, thin_first: true, join_rows: true };
    /// None of them.
    pub const NONE: Shortcuts = Shortcuts { keep_left: false, thin_first: false, join_rows: false };
}

/// A floor with what stands on it, ready for one covering after another.
#[derive(Debug)]
pub struct Floor {
    obstacles: Vec<Capsule>,
    left: Option<Left>,
    shortcuts: Shortcuts,
}

impl Floor {
    /// The floor inside `outline`, without its obstacles and what lies inside `solids`, as [`Cover::new`] has it.
    pub fn new(outline: &Ring, obstacles: Vec<Capsule>, solids: &[&Ring], shortcuts: Shortcuts) -> Self {
        let left = Cover::new(outline, obstacles.iter().copied(), solids).left();
        Floor { obstacles, left, shortcuts }
    }

    /// Its area, mm2; nothing where it is too intricate to measure, as for the others.
    pub fn area(&self) -> Option<f64> {
        self.left.as_ref().map(|left| left.area)
    }

    /// The floor covered by more. Outline and solids are those it was made with.
    fn covered<'a>(
        &'a self,
        outline: &'a Ring,
        solids: &'a [&'a Ring],
        more: impl Iterator<Item = Laid>,
    ) -> Option<Cover<'a>> {
        let left = self.left.as_ref()?;
        Some(if self.shortcuts.keep_left {
            Cover::over_laid(outline, left, more, solids)
        } else {
            let obstacles = self.obstacles.iter().copied().map(Laid::new);
            Cover::of(outline, left.origin, laid(left.origin, 0, obstacles.chain(more)).collect(), solids)
        })
    }

    /// The part of it that more capsules don't cover, mm2. Outline and solids are those it was made with.
    pub fn uncovered_area(&self, outline: &Ring, solids: &[&Ring], more: impl Iterator<Item = Capsule>) -> Option<f64> {
        self.covered(outline, solids, more.map(Laid::new))?.uncovered_area()
    }

    /// The connected parts of it that more capsules don't cover, the largest first. Outline and solids are those it was made with.
    pub fn uncovered_patches(
        &self,
        outline: &Ring,
        solids: &[&Ring],
        more: impl Iterator<Item = Capsule>,
    ) -> Option<Vec<Outlined>> {
        if !self.shortcuts.thin_first {
            return self.covered(outline, solids, more.map(Laid::new))?.patches();
        }
        // Where reaches overlap, a few capsules cover what all do, but for little; the others matter only where they reach into that.
        let (kept, others) = thinned(&more.collect::<Vec<_>>(), self.shortcuts.join_rows);
        let left = self.covered(outline, solids, kept.into_iter())?.left()?;
        if left.area < LEAST_PATCH {
            return Some(Vec::new());
        }
        let others = others.into_iter().filter(|other| other.bounds().meets(&left.bounds));
        Cover::over(outline, &left, others, solids).patches()
    }
}

/// What capsules and solids leave uncovered of a floor, kept so that more can be laid on it.
#[derive(Debug)]
pub struct Left {
    origin: Point,
    capsules: Vec<Laid>,
    /// The edges that bound it, each with what of it doesn't.
    edges: Vec<(Edge, Covered)>,
    /// A box around it.
    bounds: Bounds,
    /// mm2.
    pub area: f64,
}

impl<'a> Cover<'a> {
    /// What is `left` of the floor inside `outline`, covered by more capsules. The solids are those that were there.
    pub fn over(
        outline: &'a Ring,
        left: &'a Left,
        capsules: impl Iterator<Item = Capsule>,
        solids: &'a [&'a Ring],
    ) -> Self {
        Cover::over_laid(outline, left, capsules.map(Laid::new), solids)
    }

    fn over_laid(
        outline: &'a Ring,
        left: &'a Left,
        capsules: impl Iterator<Item = Laid>,
        solids: &'a [&'a Ring],
    ) -> Self {
        let more = laid(left.origin, left.capsules.len(), capsules);
        let capsules = left.capsules.iter().copied().chain(more).collect();
        Cover { left: Some(left), ..Cover::of(outline, left.origin, capsules, solids) }
    }

    /// What is left uncovered, to lay more on; nothing where the capsules lie too thick.
    pub fn left(self) -> Option<Left> {
        let mut edges: Vec<(Edge, Covered)> = Vec::new();
        self.for_open_edges(|edge, covered| edges.push((*edge, covered.clone())))?;
        let area = edges.iter().map(|(edge, covered)| covered.open_area(edge)).sum::<f64>().max(0.0);
        let boxes = edges.iter().map(|(edge, covered)| covered.open_bounds(edge));
        let bounds = boxes.fold(Bounds::NOTHING, Bounds::with).moved(self.origin);
        Some(Left { origin: self.origin, capsules: self.capsules, edges, bounds, area })
    }

    /// The edges of what was left, as far as the capsules that came after leave them. How many capsules need not be asked for their edges
    /// any more.
    pub(super) fn for_edges_left(
        &self,
        left: &Left,
        search: &mut Search<'a>,
        visit: &mut impl FnMut(&Edge, &Covered),
    ) -> Option<usize> {
        let known = left.capsules.len();
        for (edge, covered) in &left.edges {
            self.find_near(covered.open_bounds(edge), None, search)?;
            search.near.retain(|(other, _)| *other >= known);
            search.covered.copy(covered);
            if !self.capsules_cover(edge, search) {
                visit(edge, &search.covered);
            }
        }
        Some(known)
    }
}

/// How far from the last one kept the next capsule is kept, as a share of its radius: near enough to leave no hollow at the ends of runs.
const THIN: f64 = 0.8;

/// Of capsules in the order they are laid, what covers most of what they do; and those that are not among it.
fn thinned(capsules: &[Capsule], join_rows: bool) -> (Vec<Laid>, Vec<Capsule>) {
    let (mut kept, mut others): (Vec<Laid>, Vec<Capsule>) = (Vec::new(), Vec::new());
    let mut at = 0;
    while let Some(capsule) = capsules.get(at) {
        if let Some((rows, end)) = join_rows.then(|| rows(&capsules[at..])).flatten() {
            kept.push(rows);
            others.extend(&capsules[at..at + end]);
            at += end;
            continue;
        }
        let near = |kept: &Laid, end| kept.square_distance(end) <= (capsule.radius * THIN).powi(2);
        let thin = kept.last().is_some_and(|kept| near(kept, capsule.piece.start) && near(kept, capsule.piece.end));
        if thin {
            others.push(*capsule);
        } else {
            kept.push(Laid::new(*capsule));
        }
        at += 1;
    }
    (kept, others)
}

/// Fewer rows are left as they are.
const LEAST_ROWS: usize = 3;
/// How far apart rows may lie that are joined, and how far beyond the others one may reach, as shares of their radius.
const MOST_GAP: f64 = 0.7;
const MOST_BEYOND: f64 = 0.5;
/// How far from parallel they may be, mm from end to end.
const ASKEW: f64 = 1e-8;

/// What the rows cover that capsules begin with, every other of them a row, and how many capsules that takes; nothing where they are no
/// rows.
///
/// It is the rectangle that they have in common, with what lies near it: off the ends of two rows a gap apart, a point is half a gap to
/// the side of one of them at the most, so that it is covered as far as √(radius² - gap²/4) from the rectangle.
fn rows(capsules: &[Capsule]) -> Option<(Laid, usize)> {
    let first = Laid::new(*capsules.first()?);
    let (start, axis, radius) = (first.capsule.piece.start, first.axis(), first.capsule.radius);
    let (mut inner, mut outer) = ((0.0, first.length), (0.0, first.length));
    // To the left of the first row, or else to its right.
    let mut side = 1.0;
    let (mut depth, mut widest, mut count) = (0.0, 0.0, 1);
    for row in capsules.iter().skip(2).step_by(2) {
        let ends = [row.piece.start - start, row.piece.end - start];
        let [over, other] = ends.map(|end| dot(end, first.normal));
        if count == 1 && over < 0.0 {
            side = -1.0;
        }
        let (gap, along) = (over * side - depth, ends.map(|end| dot(end, axis)));
        let (low, high) = (along[0].min(along[1]), along[0].max(along[1]));
        let (inside, outside) =
            ((f64::max(inner.0, low), f64::min(inner.1, high)), (f64::min(outer.0, low), f64::max(outer.1, high)));
        let beyond = (inside.0 - outside.0).max(outside.1 - inside.1);
        let joins = row.radius == radius && (over - other).abs() <= ASKEW && gap > 0.0 && gap <= radius * MOST_GAP;
        if !joins || beyond > radius * MOST_BEYOND || inside.1 <= inside.0 {
            break;
        }
        (inner, outer, depth, widest, count) = (inside, outside, depth + gap, f64::max(widest, gap), count + 1);
    }
    if count < LEAST_ROWS {
        return None;
    }
    let near = Piece::new(start + axis * inner.0, start + axis * inner.1);
    let piece = if side > 0.0 { near } else { near.reversed() };
    // Less what all are widened by.
    let reach = (radius * radius - widest * widest / 4.0).sqrt() - WIDENED;
    Some((Laid::with_depth(Capsule { piece, radius: reach }, depth), 2 * count - 1))
}
