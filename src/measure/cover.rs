//! The part of an outline that nothing covers, exactly, round ends and all.
//!
//! What covers is a union of [`Capsule`]s (all points within a radius of a straight piece) and of polygons whose edges have
//! capsules of their own. The uncovered part is bounded by pieces of the outline and of the capsules' edges; each such edge
//! is cut down to the stretches that no other capsule covers, and Green's theorem sums the area from those stretches alone:
//! `A = ½ ∮ (x dy - y dx)`. Only neighbours meet, so the cost grows as n log n.
//!
//! Plans are full of edges that coincide: strips of heated floor side by side, a bench in its corner. To tell inside from
//! outside there without special cases, each capsule is widened by its own tiny amount, spread evenly by the golden ratio so
//! that neighbours never get the same. That moves an edge by at most a few millionths of a millimetre.

use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

use super::arc::cover_arc;
use super::block::{Block, blocks};
use super::boxes::Boxes;
use super::capsule::{Capsule, Laid};
use super::edge::{Covered, Edge, capsule_edges, ring_cuts, stretches_where};
use super::index::{Corners, FEW_PIECES, Ring};
use crate::model::Point;

/// A connected part of the uncovered floor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Patch {
    /// mm2.
    pub area: f64,
    /// A point on its edge.
    pub at: Point,
    /// Least corner of the box around it.
    pub low: Point,
    /// Greatest corner of the box around it.
    pub high: Point,
}

/// Patches below this area are what rounding leaves, mm2.
pub(super) const LEAST_PATCH: f64 = 1.0;

/// How much capsules are widened by at least, mm.
const WIDENING: f64 = 1e-6;

/// What covers a floor.
pub struct Cover<'a> {
    outline: &'a Ring,
    origin: Point,
    capsules: Vec<Laid>,
    /// What rows of them cover together.
    blocks: Vec<Block>,
    solids: &'a [&'a Ring],
    /// What the first of the capsules and of the solids leave, where that is known.
    left: Option<&'a Left>,
    /// The boxes around the capsules where there are few …
    boxes: Boxes,
    /// … and an index of them where there are many.
    tree: Option<RTree<GeomWithData<Rectangle<[f64; 2]>, u32>>>,
}

/// What capsules and solids leave uncovered of a floor, kept so that more can be laid on it.
#[derive(Debug)]
pub struct Left {
    origin: Point,
    capsules: Vec<Laid>,
    solids: usize,
    edges: Vec<OpenEdge>,
    /// mm2.
    pub area: f64,
}

impl Left {
    /// Points between which all of it lies: the corners of boxes around its edges.
    pub(super) fn corners(&self) -> impl Iterator<Item = Point> + Clone + '_ {
        self.edges.iter().flat_map(|open| {
            let (low, high) = open.remains;
            let others = (Point { x: low.x, y: high.y }, Point { x: high.x, y: low.y });
            [low, others.0, high, others.1].map(|corner| corner + self.origin)
        })
    }
}

/// An edge that bounds what is left.
#[derive(Debug)]
struct OpenEdge {
    edge: Edge,
    covered: Covered,
    /// The box around what is open of it.
    remains: Corners,
}

/// What a search for open edges goes through, edge by edge.
#[derive(Default)]
struct Search<'a> {
    /// How many neighbours may still be looked at.
    visits: usize,
    covered: Covered,
    near: Vec<u32>,
    cuts: Vec<f64>,
    /// The solids, whose insides cover.
    solids: Vec<(&'a Ring, bool)>,
}

/// How many neighbours may be looked at in all: many times what a floor that can be laid has, and a bound on what a plan made to be
/// slow can cost.
const VISITS_EACH: usize = 150;
const LEAST_VISITS: usize = 1_000_000;
/// However many capsules there are: a floor that can be laid needs some ten for each of the most that a plan may have.
const MOST_VISITS: usize = 5_000_000;

/// For each edge of a capsule, in the order of [`capsule_edges`], how many places before and after it those are laid that cover most of it:
/// of a side the next runs on both sides, of an end the piece that goes on from there.
const FIRST_ASKED: [&[isize]; 4] = [&[2, -2], &[1, 2, -2], &[2, -2], &[-1, 2, -2]];

impl<'a> Cover<'a> {
    /// The floor inside `outline`, covered by the capsules and by the insides of `solids`. Every edge of a solid must have a
    /// capsule among them, of whatever radius, even 0.
    pub fn new(outline: &'a Ring, capsules: impl Iterator<Item = Capsule>, solids: &'a [&'a Ring]) -> Self {
        Cover::with(outline, None, capsules, solids)
    }

    /// What is `left` of the floor inside `outline`, covered by more capsules. The solids are those that were there, and then more.
    pub fn over(
        outline: &'a Ring,
        left: &'a Left,
        capsules: impl Iterator<Item = Capsule>,
        solids: &'a [&'a Ring],
    ) -> Self {
        Cover::with(outline, Some(left), capsules, solids)
    }

    fn with(
        outline: &'a Ring,
        left: Option<&'a Left>,
        more: impl Iterator<Item = Capsule>,
        solids: &'a [&'a Ring],
    ) -> Self {
        let golden = (5f64.sqrt() - 1.0) / 2.0;
        // Near the origin, coordinates keep more digits.
        let origin = outline.corners().first().copied().unwrap_or_default();
        let mut capsules: Vec<Laid> = left.map_or_else(Vec::new, |left| left.capsules.clone());
        let first = capsules.len();
        capsules.extend(more.zip(first..).map(|(capsule, index)| {
            Laid::new(Capsule {
                a: capsule.a - origin,
                b: capsule.b - origin,
                radius: capsule.radius + WIDENING * (1.0 + (index as f64 * golden).fract()),
            })
        }));
        for index in first + 1..capsules.len() {
            if let [before, after] = &mut capsules[index - 1..=index] {
                before.join(after);
            }
        }
        let blocks = blocks(&capsules);
        let boxes = capsules.iter().map(|laid| laid.capsule.bounds());
        let (boxes, tree) = if capsules.len() <= FEW_PIECES {
            (Boxes::new(boxes), None)
        } else {
            let items = boxes.zip(0u32..).map(|((low, high), index)| {
                GeomWithData::new(Rectangle::from_corners([low.x, low.y], [high.x, high.y]), index)
            });
            (Boxes::default(), Some(RTree::bulk_load(items.collect())))
        };
        Cover { outline, origin, capsules, blocks, solids, left, boxes, tree }
    }

    /// The uncovered area, mm2; nothing where the capsules lie too thick to be gone through.
    pub fn uncovered_area(&self) -> Option<f64> {
        let mut area = 0.0;
        self.for_open_edges(|edge, covered| area += covered.open_area(edge))?;
        Some(area.max(0.0))
    }

    /// What is left uncovered, to lay more on; nothing where the capsules lie too thick.
    pub fn left(self) -> Option<Left> {
        let mut edges: Vec<OpenEdge> = Vec::new();
        self.for_open_edges(|edge, covered| {
            edges.push(OpenEdge { edge: *edge, covered: covered.clone(), remains: covered.remains(edge) });
        })?;
        let area = edges.iter().map(|open| open.covered.open_area(&open.edge)).sum::<f64>().max(0.0);
        Some(Left { origin: self.origin, capsules: self.capsules, solids: self.solids.len(), edges, area })
    }

    /// The connected parts of the uncovered floor of 1 mm2 or more, the largest first; nothing where the capsules lie too thick.
    pub fn patches(&self) -> Option<Vec<Patch>> {
        let mut stretches: Vec<(Edge, f64, f64)> = Vec::new();
        self.for_open_edges(|edge, covered| {
            stretches.extend(covered.open().map(|(from, to)| (*edge, from, to)));
        })?;
        Some(join(&stretches, self.origin))
    }

    /// Visits every edge of which a part bounds the uncovered floor, with the stretches of it that don't.
    fn for_open_edges(&self, mut visit: impl FnMut(&Edge, &Covered)) -> Option<()> {
        let mut search = Search {
            visits: (LEAST_VISITS + self.capsules.len() * VISITS_EACH).min(MOST_VISITS),
            solids: self.solids.iter().map(|solid| (*solid, true)).collect(),
            ..Search::default()
        };
        match self.left {
            Some(left) => self.for_edges_left(left, &mut search, &mut visit)?,
            None => self.for_outline_edges(&mut search, &mut visit),
        }
        self.for_capsule_edges(&mut search, &mut visit)
    }

    /// The edges of what was left, as far as more capsules and solids leave them.
    fn for_edges_left(
        &self,
        left: &Left,
        search: &mut Search<'_>,
        visit: &mut impl FnMut(&Edge, &Covered),
    ) -> Option<()> {
        let Search { visits, covered, near, cuts, solids } = search;
        for open in &left.edges {
            self.near(open.remains, near);
            *visits = visits.checked_sub(near.len())?;
            covered.0.clone_from(&open.covered.0);
            let others = near.iter().copied().filter(|other| *other as usize >= left.capsules.len());
            if !self.cover_by_capsules(&open.edge, others, covered, cuts)
                && !self.cover_by_rings(&open.edge, &solids[left.solids..], covered, cuts)
            {
                visit(&open.edge, covered);
            }
        }
        Some(())
    }

    /// The edges of the outline.
    fn for_outline_edges(&self, search: &mut Search<'_>, visit: &mut impl FnMut(&Edge, &Covered)) {
        let Search { covered, near, cuts, solids, .. } = search;
        let forward = crate::model::shape::signed_area(self.outline.corners()) > 0.0;
        for index in 0..self.outline.corners().len() {
            let (a, b) = self.outline.edge(index);
            let (a, b) = if forward { (a, b) } else { (b, a) };
            let edge = Edge::Straight(a - self.origin, b - self.origin);
            self.near(edge.bounds(), near);
            covered.0.clear();
            if !self.cover_by_capsules(&edge, near.iter().copied(), covered, cuts)
                && !self.cover_by_rings(&edge, solids, covered, cuts)
            {
                visit(&edge, covered);
            }
        }
    }

    /// The edges of the capsules but for those whose edges are known.
    fn for_capsule_edges(&self, search: &mut Search<'_>, visit: &mut impl FnMut(&Edge, &Covered)) -> Option<()> {
        let Search { visits, covered, near, cuts, solids } = search;
        let known = self.left.map_or(0, |left| left.capsules.len());
        let all_rings: Vec<(&Ring, bool)> = solids.iter().copied().chain([(self.outline, false)]).collect();
        let mut own_rings: Vec<(&Ring, bool)> = Vec::new();
        let mut rings: Vec<(&Ring, bool)> = Vec::new();
        let (least, most) = self.outline.bounds();
        let (least, most) = (least - self.origin, most - self.origin);
        let mut blocks = self.blocks.iter().peekable();
        for (index, laid) in self.capsules.iter().enumerate().skip(known) {
            while blocks.next_if(|block| block.rows.end <= index).is_some() {}
            let block = blocks.peek().filter(|block| block.rows.contains(&index));
            // The rings that the capsule meets, once that is asked; most lie clear of all of them.
            let mut asked_rings = false;
            for (edge, first) in capsule_edges(laid).into_iter().zip(FIRST_ASKED) {
                let Some(edge) = edge else { continue };
                covered.0.clear();
                // What a block leaves lies along its sides, where those laid next don't cover it either; and the outer side of a turn lies
                // outside the capsule that is joined there, which is the first of an arc's to be asked.
                let (first, asked) = match (&edge, block) {
                    (Edge::Straight(a, b), Some(block)) => {
                        covered.0.extend(block.stretch(*a, *b));
                        (&[][..], &[][..])
                    }
                    (Edge::Arc(arc), _) if arc.is_part() => (&[][..], &first[..1]),
                    _ => (first, first),
                };
                if covered.is_whole() || self.cover_by_capsules(&edge, self.laid_near(index, first), covered, cuts) {
                    continue;
                }
                if !asked_rings {
                    asked_rings = true;
                    let bounds = laid.capsule.bounds();
                    if !rings_near(&all_rings, self.origin, bounds, laid.capsule.a, &mut own_rings) {
                        break;
                    }
                }
                // What those leave is mostly little, and lies in a box that little else meets.
                let remains = covered.remains(&edge);
                if remains.0.x >= most.x || remains.0.y >= most.y || remains.1.x <= least.x || remains.1.y <= least.y {
                    continue;
                }
                self.near(remains, near);
                *visits = visits.checked_sub(near.len())?;
                let asked = |other: &u32| asked.iter().any(|step| index.wrapping_add_signed(*step) == *other as usize);
                let others = near.iter().copied().filter(|other| *other as usize != index && !asked(other));
                if self.cover_by_capsules(&edge, others, covered, cuts) {
                    continue;
                }
                let in_rings = |covered: &mut Covered, rings: &mut Vec<_>, cuts: &mut Vec<f64>| {
                    let (remains, point) = (covered.remains(&edge), covered.first_open(&edge));
                    !rings_near(&own_rings, self.origin, remains, point, rings)
                        || self.cover_by_rings(&edge, rings, covered, cuts)
                };
                if own_rings.is_empty() || !in_rings(covered, &mut rings, cuts) {
                    visit(&edge, covered);
                }
            }
        }
        Some(())
    }

    /// The capsules so many places before or after one.
    fn laid_near(&self, index: usize, steps: &'static [isize]) -> impl Iterator<Item = u32> + use<> {
        let count = self.capsules.len();
        let others = steps.iter().map(move |step| index.wrapping_add_signed(*step));
        others.filter(move |other| *other < count).map(|other| u32::try_from(other).unwrap_or(u32::MAX))
    }

    /// The capsules whose boxes meet a box.
    fn near(&self, wanted: Corners, near: &mut Vec<u32>) {
        near.clear();
        match &self.tree {
            Some(tree) => {
                let (low, high) = wanted;
                let found = tree.locate_in_envelope_intersecting(AABB::from_corners([low.x, low.y], [high.x, high.y]));
                near.extend(found.map(|item| item.data));
            }
            None => {
                near.extend(self.boxes.near(wanted, 0).map(|index| u32::try_from(index).unwrap_or(u32::MAX)));
            }
        }
    }

    /// Adds the stretches of an edge inside capsules; whether all of it is covered then.
    fn cover_by_capsules(
        &self,
        edge: &Edge,
        near: impl Iterator<Item = u32>,
        covered: &mut Covered,
        cuts: &mut Vec<f64>,
    ) -> bool {
        for index in near {
            let laid = &self.capsules[index as usize];
            let capsule = &laid.capsule;
            match edge {
                Edge::Straight(a, b) => {
                    // A capsule is convex: what holds both ends holds all between them.
                    if capsule.contains(*a) && capsule.contains(*b) {
                        return true;
                    }
                    let Some(stretch) = capsule.stretch(*a, *b) else { continue };
                    covered.add(stretch);
                }
                Edge::Arc(arc) => cover_arc(arc, laid, covered, cuts),
            }
            if covered.is_whole() {
                return true;
            }
        }
        false
    }

    /// Adds the stretches of an edge on the covering side of rings; whether all of it is covered then.
    fn cover_by_rings(&self, edge: &Edge, rings: &[(&Ring, bool)], covered: &mut Covered, cuts: &mut Vec<f64>) -> bool {
        for (ring, inside) in rings {
            let (low, high) = covered.remains(edge);
            // What is covered already need not be cut.
            cuts.clear();
            covered.cuts(cuts);
            ring.for_edges_near(low + self.origin, high + self.origin, 0.0, |index| {
                let (c, d) = ring.edge(index);
                ring_cuts(edge, c - self.origin, d - self.origin, cuts);
            });
            stretches_where(edge, cuts, |point| ring.contains(point + self.origin) == *inside, covered);
            if covered.is_whole() {
                return true;
            }
        }
        false
    }
}

/// Those of some rings whose edges meet a box, each with whether its inside covers; whether anything in the box is left by the others,
/// which have it wholly inside or wholly outside, as they have a point of it. The box and the point are told from `origin`.
fn rings_near<'a>(
    from: &[(&'a Ring, bool)],
    origin: Point,
    (low, high): Corners,
    point: Point,
    near: &mut Vec<(&'a Ring, bool)>,
) -> bool {
    near.clear();
    for &(ring, inside) in from {
        if ring.has_edges_near(low + origin, high + origin) {
            near.push((ring, inside));
        } else if ring.contains(point + origin) == inside {
            return false;
        }
    }
    true
}

/// Joins stretches end to start into the loops they form, and loops into patches with their holes.
fn join(stretches: &[(Edge, f64, f64)], origin: Point) -> Vec<Patch> {
    if stretches.is_empty() {
        return Vec::new();
    }
    let starts: Vec<Point> = stretches.iter().map(|(edge, from, _)| edge.at(*from)).collect();
    let tree = RTree::bulk_load(starts.iter().enumerate().map(|(i, p)| GeomWithData::new([p.x, p.y], i)).collect());
    let next = stretches.iter().map(|(edge, _, to)| {
        let end = edge.at(*to);
        tree.nearest_neighbor([end.x, end.y]).map_or(0, |start| start.data)
    });
    let next: Vec<usize> = next.collect();
    let mut loops: Vec<(Patch, Vec<Point>)> = Vec::new();
    let mut walked = vec![false; stretches.len()];
    for first in 0..stretches.len() {
        if walked[first] {
            continue;
        }
        let at = starts[first];
        let mut patch = Patch { area: 0.0, at, low: at, high: at };
        let mut ring: Vec<Point> = Vec::new();
        let mut here = first;
        while !walked[here] {
            walked[here] = true;
            let (edge, from, to) = &stretches[here];
            patch.area += edge.area(*from, *to);
            // A few points of each stretch stand for it where only its whereabouts matter.
            let points = match edge {
                Edge::Straight(..) => 1,
                Edge::Arc(_) => 8,
            };
            for step in 0..points {
                let point = edge.at(from + (to - from) * f64::from(step) / f64::from(points));
                patch.low = Point { x: patch.low.x.min(point.x), y: patch.low.y.min(point.y) };
                patch.high = Point { x: patch.high.x.max(point.x), y: patch.high.y.max(point.y) };
                ring.push(point);
            }
            here = next[here];
        }
        loops.push((patch, ring));
    }
    gather(loops, origin)
}

/// Takes each hole from the smallest loop around it.
fn gather(loops: Vec<(Patch, Vec<Point>)>, origin: Point) -> Vec<Patch> {
    let (mut outer, holes): (Vec<_>, Vec<_>) = loops.into_iter().partition(|(patch, _)| patch.area > 0.0);
    outer.retain(|(patch, _)| patch.area >= LEAST_PATCH);
    outer.sort_by(|a, b| a.0.area.total_cmp(&b.0.area));
    let boxes = outer.iter().enumerate().map(|(i, (patch, _))| {
        GeomWithData::new(Rectangle::from_corners([patch.low.x, patch.low.y], [patch.high.x, patch.high.y]), i)
    });
    let tree = RTree::bulk_load(boxes.collect());
    let rings: Vec<Ring> =
        if holes.is_empty() { Vec::new() } else { outer.iter().map(|(_, points)| Ring::new(points)).collect() };
    let mut lost = vec![0.0; outer.len()];
    for (hole, points) in &holes {
        let Some(&at) = points.first() else { continue };
        let around = tree
            .locate_in_envelope_intersecting(AABB::from_point([at.x, at.y]))
            .map(|item| item.data)
            .filter(|&i| rings[i].contains(at))
            .min();
        if let Some(i) = around {
            lost[i] += hole.area;
        }
    }
    let mut patches: Vec<Patch> = outer
        .into_iter()
        .zip(lost)
        .map(|((patch, _), lost)| Patch {
            area: patch.area + lost,
            at: patch.at + origin,
            low: patch.low + origin,
            high: patch.high + origin,
        })
        .filter(|patch| patch.area >= LEAST_PATCH)
        .collect();
    patches
        .sort_by(|a, b| b.area.total_cmp(&a.area).then(a.low.x.total_cmp(&b.low.x)).then(a.low.y.total_cmp(&b.low.y)));
    patches
}
