//! What makes the covering areas fast and changes no answer: each can be left out, which the tests do.
//!
//! What each saves is counted in instructions over 300 plans of `tests/bench/varied.rs`: without `keep_left` a whole check takes a twentieth
//! more, without `thin_first` two fifths.

use super::capsule::{Capsule, Laid};
use super::edge::{Covered, Edge};
use super::patches::{LEAST_PATCH, Patch};
use super::{Cover, Search, laid};
use crate::geometry::{Bounds, Point, Ring};

/// Which shortcuts are taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shortcuts {
    /// What a free floor's obstacles leave is found once, and more laid on it; else all is laid anew for each question.
    pub keep_left: bool,
    /// Patches are looked for where some of the capsules, well apart, leave any; else everywhere.
    pub thin_first: bool,
}

impl Shortcuts {
    /// All of them.
    pub const ALL: Shortcuts = Shortcuts { keep_left: true, thin_first: true };
    /// None of them.
    pub const NONE: Shortcuts = Shortcuts { keep_left: false, thin_first: false };
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
        more: impl Iterator<Item = Capsule>,
    ) -> Option<Cover<'a>> {
        let left = self.left.as_ref()?;
        Some(if self.shortcuts.keep_left {
            Cover::over(outline, left, more, solids)
        } else {
            Cover::new(outline, self.obstacles.iter().copied().chain(more), solids)
        })
    }

    /// The part of it that more capsules don't cover, mm2. Outline and solids are those it was made with.
    pub fn uncovered_area(&self, outline: &Ring, solids: &[&Ring], more: impl Iterator<Item = Capsule>) -> Option<f64> {
        self.covered(outline, solids, more)?.uncovered_area()
    }

    /// The connected parts of it that more capsules don't cover, the largest first. Outline and solids are those it was made with.
    pub fn uncovered_patches(
        &self,
        outline: &Ring,
        solids: &[&Ring],
        more: impl Iterator<Item = Capsule>,
    ) -> Option<Vec<Patch>> {
        if !self.shortcuts.thin_first {
            return self.covered(outline, solids, more)?.patches();
        }
        // Where reaches overlap, a few capsules cover what all do, but for little; the others matter only where they reach into that.
        let (kept, others) = thinned(more);
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
            search.near.retain(|other| *other >= known);
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

/// Those of a row of capsules that hardly lie within the ones kept before them, and the others.
fn thinned(capsules: impl Iterator<Item = Capsule>) -> (Vec<Capsule>, Vec<Capsule>) {
    let mut last: Option<Capsule> = None;
    capsules.partition(|capsule| {
        let near = |kept: &Capsule, end| kept.piece.distance(end) <= capsule.radius * THIN;
        let thin = last.as_ref().is_some_and(|kept| near(kept, capsule.piece.start) && near(kept, capsule.piece.end));
        if !thin {
            last = Some(*capsule);
        }
        !thin
    })
}
