//! The part of an outline that nothing covers, exactly, round ends and all.
//!
//! What covers is a union of [`Capsule`]s (all points within a radius of a straight piece) and of polygons whose edges have
//! capsules of their own. The uncovered part is bounded by pieces of the outline and of the capsules' edges; each such edge
//! is cut down to the stretches that no other capsule covers, and Green's theorem sums the area from those stretches alone:
//! `A = ½ ∮ (x dy - y dx)`. Only neighbours meet, so the cost grows as n log n.
//!
//! What makes that right, each named where it is kept:
//!
//! - *left*: the uncovered floor lies to the left of every edge that may bound it;
//! - *no two alike*: no two edges coincide, so that on each it is plain which side is covered;
//! - *all edges*: whatever bounds the uncovered floor lies on an edge of the outline or of a capsule;
//! - *apart* and *cut*: the covered stretches of an edge are in order, and between two cuts all of it is covered or none;
//! - *loops close*: the open stretches of all edges go on from one another round each patch.
//!
//! `edge` and `arc` hold the edges, `capsule` what covers them, `patches` joins what is left. What only makes it fast stands in `shortcuts`,
//! can be switched off there, and changes no answer.

mod arc;
mod capsule;
mod edge;
mod patches;
pub mod shortcuts;

pub use capsule::Capsule;
pub use patches::{Outlined, Patch};
pub use shortcuts::Left;

use capsule::Laid;
use edge::{Covered, Edge, Share, capsule_edges};
use patches::Stretch;

use crate::geometry::index::Index;
use crate::geometry::ring::signed_area;
use crate::geometry::tolerance::WIDENING;
use crate::geometry::{Bounds, Piece, Point, Ring};

/// How many neighbours may be looked at in all, for each capsule and at the least: many times what a floor that can be laid has, and a bound on what a plan made to be
/// slow can cost.
const VISITS_EACH: usize = 300;
const LEAST_VISITS: usize = 1_000_000;
/// However many capsules there are: a floor that can be laid needs some ten for each of the most that a plan may have.
const MOST_VISITS: usize = 5_000_000;

/// What covers a floor.
pub struct Cover<'a> {
    outline: &'a Ring,
    solids: &'a [&'a Ring],
    /// What everything below is told from: near the origin, coordinates keep more digits.
    origin: Point,
    capsules: Vec<Laid>,
    index: Index,
    /// Where the solids lie.
    solid_index: Index,
    /// What the first of the capsules leave, where that is known.
    left: Option<&'a Left>,
}

/// What a search for open edges goes through, edge by edge.
struct Search<'a> {
    /// How many neighbours may still be looked at.
    visits: usize,
    /// The capsules near the edge, with the boxes around them.
    near: Vec<(usize, Bounds)>,
    /// Those of them that cover some of it.
    met: Vec<usize>,
    /// The rings near the edge, each with whether its inside covers.
    rings: Vec<(&'a Ring, bool)>,
    /// What of the edge is covered.
    covered: Covered,
    cuts: Vec<f64>,
}

impl<'a> Cover<'a> {
    /// The floor inside `outline`, covered by the capsules and by the insides of `solids`.
    ///
    /// Invariant *all edges*: every edge of a solid must have a capsule among them, of whatever radius, even 0, so that nothing is bounded by
    /// the solid itself.
    pub fn new(outline: &'a Ring, capsules: impl Iterator<Item = Capsule>, solids: &'a [&'a Ring]) -> Self {
        let origin = outline.corners().first().copied().unwrap_or_default();
        Cover::of(outline, origin, laid(origin, 0, capsules.map(Laid::new)).collect(), solids)
    }

    fn of(outline: &'a Ring, origin: Point, capsules: Vec<Laid>, solids: &'a [&'a Ring]) -> Self {
        // The diagonal of a box has that box.
        let diagonal = |bounds: Bounds| Piece::new(bounds.low, bounds.high);
        let index = Index::new(capsules.iter().map(|laid| diagonal(laid.bounds)));
        let solid_index = Index::new(solids.iter().map(|solid| diagonal(solid.bounds())));
        Cover { outline, solids, origin, capsules, index, solid_index, left: None }
    }

    /// The uncovered area, mm2; nothing where the capsules lie too thick to be gone through.
    pub fn uncovered_area(&self) -> Option<f64> {
        let mut area = 0.0;
        self.for_open_edges(|edge, covered| area += covered.open_area(edge))?;
        Some(area.max(0.0))
    }

    /// The connected parts of the uncovered floor of 1 mm2 or more, the largest first; nothing where the capsules lie too thick.
    pub fn patches(&self) -> Option<Vec<Outlined>> {
        let mut stretches: Vec<Stretch> = Vec::new();
        self.for_open_edges(|edge, covered| {
            stretches.extend(covered.open().map(|(from, to)| (*edge, from, to)));
        })?;
        Some(patches::patches(&stretches, self.origin))
    }

    /// Visits every edge of which a part bounds the uncovered floor, with the stretches of it that don't.
    fn for_open_edges(&self, mut visit: impl FnMut(&Edge, &Covered)) -> Option<()> {
        let mut search = Search {
            visits: (LEAST_VISITS + self.capsules.len() * VISITS_EACH).min(MOST_VISITS),
            near: Vec::new(),
            met: Vec::new(),
            rings: Vec::new(),
            covered: Covered::default(),
            cuts: Vec::new(),
        };
        let known = match self.left {
            Some(left) => self.for_edges_left(left, &mut search, &mut visit)?,
            None => self.for_outline_edges(&mut search, &mut visit)?,
        };
        self.for_capsule_edges(known, &mut search, &mut visit)
    }

    /// The edges of the outline. How many capsules need not be asked for theirs any more: none.
    fn for_outline_edges(&self, search: &mut Search<'a>, visit: &mut impl FnMut(&Edge, &Covered)) -> Option<usize> {
        // Invariant *left*: the inside of an outline that is drawn counter-clockwise.
        let forward = signed_area(self.outline.corners()) > 0.0;
        for wall in self.outline.edges() {
            let wall = if forward { wall } else { wall.reversed() };
            let edge = Edge::Straight(wall.moved(self.origin * -1.0));
            self.find_near(edge.bounds(), None, search)?;
            search.rings.clear();
            search.rings.extend(self.solids_near(edge.bounds().moved(self.origin)).map(|solid| (solid, true)));
            search.covered.clear();
            if !self.capsules_cover(&edge, search) && !self.rings_cover(&edge, search) {
                visit(&edge, &search.covered);
            }
        }
        Some(0)
    }

    /// The edges of the capsules but for the first few, as far as they lie inside the outline.
    fn for_capsule_edges(
        &self,
        known: usize,
        search: &mut Search<'a>,
        visit: &mut impl FnMut(&Edge, &Covered),
    ) -> Option<()> {
        for (own, laid) in self.capsules.iter().enumerate().skip(known) {
            if !self.find_rings(laid, search) {
                continue;
            }
            self.find_near(laid.bounds, Some(own), search)?;
            for edge in capsule_edges(laid) {
                search.covered.clear();
                if !self.capsules_cover(&edge, search) && !self.rings_cover(&edge, search) {
                    visit(&edge, &search.covered);
                }
            }
        }
        Some(())
    }

    /// Finds the capsules whose boxes meet one, but for one of them; nothing where too many have been looked at.
    fn find_near(&self, wanted: Bounds, but: Option<usize>, search: &mut Search<'a>) -> Option<()> {
        let Search { near, visits, .. } = search;
        near.clear();
        let others = self.index.near(wanted).filter(|other| Some(*other) != but);
        others.for_each(|other| near.push((other, self.capsules[other].bounds)));
        *visits = visits.checked_sub(near.len())?;
        Some(())
    }

    /// Finds the rings whose edges come near a capsule; whether any of it is left by the others, which have it wholly inside or wholly
    /// outside, as they have a point of it. What lies outside the outline is no floor.
    fn find_rings(&self, laid: &Laid, search: &mut Search<'a>) -> bool {
        search.rings.clear();
        let (bounds, point) = (laid.bounds.moved(self.origin), laid.capsule.piece.start + self.origin);
        for (ring, inside) in self.solids_near(bounds).map(|solid| (solid, true)).chain([(self.outline, false)]) {
            if ring.has_edges_near(bounds) {
                search.rings.push((ring, inside));
            } else if ring.contains(point) == inside {
                return false;
            }
        }
        true
    }

    /// The solids that have anything to do with what lies in a box: those whose own boxes meet it.
    fn solids_near(&self, bounds: Bounds) -> impl Iterator<Item = &'a Ring> + use<'_, 'a> {
        self.solid_index.near(bounds).map(|place| self.solids[place])
    }

    /// Adds the stretches of an edge inside capsules that were found near; whether all of it is covered then.
    fn capsules_cover(&self, edge: &Edge, search: &mut Search<'a>) -> bool {
        let Search { near, met, covered, cuts, .. } = search;
        let bounds = edge.bounds();
        met.clear();
        for (other, around) in &*near {
            if around.meets(&bounds) {
                match edge.share_in(&self.capsules[*other]) {
                    Share::None => {}
                    Share::Some => met.push(*other),
                    Share::All => return true,
                }
            }
        }
        // Edges are cut only where none covers them by itself.
        met.iter().any(|other| covered.add_capsule(edge, &self.capsules[*other], cuts))
    }

    /// Adds the stretches of an edge on the covering side of rings that were found near; whether all of it is covered then.
    fn rings_cover(&self, edge: &Edge, search: &mut Search<'a>) -> bool {
        let Search { rings, covered, cuts, .. } = search;
        rings.iter().any(|(ring, inside)| covered.add_ring(edge, ring, *inside, self.origin, cuts))
    }
}

/// Capsules told from `origin`, numbered from `first` on.
///
/// Invariant *no two alike*: plans are full of edges that coincide: strips of heated floor side by side, a bench in its corner. To tell
/// inside from outside there without special cases, each capsule is widened by its own tiny amount, spread evenly by the golden ratio so
/// that neighbours never get the same. That moves an edge by at most twice [`WIDENING`].
fn laid(origin: Point, first: usize, capsules: impl Iterator<Item = Laid>) -> impl Iterator<Item = Laid> {
    let golden = (5f64.sqrt() - 1.0) / 2.0;
    capsules.zip(first..).map(move |(Laid { capsule: Capsule { piece, radius }, depth, .. }, number)| {
        let widened = radius + WIDENING * (1.0 + (number as f64 * golden).fract());
        Laid::with_depth(Capsule { piece: piece.moved(origin * -1.0), radius: widened }, depth)
    })
}
