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

use std::f64::consts::{PI, TAU};

use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

use super::index::{Ring, piece_box};
use super::segment::{along, cross, dot, nearest_share, point_distance};
use super::zones::circle_chord;
use crate::model::Point;

/// All points nearer than a radius to a straight piece; a disc where the piece is a point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Capsule {
    /// One end of the piece.
    pub a: Point,
    /// The other.
    pub b: Point,
    /// mm.
    pub radius: f64,
}

impl Capsule {
    fn bounds(&self, margin: f64) -> (Point, Point) {
        let (low, high) = piece_box(self.a, self.b);
        let by = self.radius + margin;
        (Point { x: low.x - by, y: low.y - by }, Point { x: high.x + by, y: high.y + by })
    }

    fn contains(&self, p: Point) -> bool {
        let gap = p - along(self.a, self.b, nearest_share(p, self.a, self.b));
        dot(gap, gap) < self.radius * self.radius
    }

    /// The stretch of the piece `p` to `q` inside it, as shares from 0 to 1. A capsule is convex, so there is one at most.
    ///
    /// ```
    /// use layrule::{measure::cover::Capsule, model::Point};
    /// let p = |x, y| Point { x, y };
    /// let capsule = Capsule { a: p(0.0, 0.0), b: p(100.0, 0.0), radius: 10.0 };
    /// assert_eq!(capsule.stretch(p(50.0, -20.0), p(50.0, 20.0)), Some((0.25, 0.75)));
    /// ```
    pub fn stretch(&self, p: Point, q: Point) -> Option<(f64, f64)> {
        let mut hull = circle_chord(p, q, self.a, self.radius);
        let mut widen = |stretch: Option<(f64, f64)>| {
            hull = match (hull, stretch) {
                (Some(a), Some(b)) => Some((a.0.min(b.0), a.1.max(b.1))),
                (a, b) => a.or(b),
            };
        };
        let axis = self.b - self.a;
        let square = dot(axis, axis);
        if square > 0.0 {
            widen(circle_chord(p, q, self.b, self.radius));
            // Between its round ends a capsule is a rectangle: two bands, one along the axis and one across it.
            let length = square.sqrt();
            let (from, step) = (p - self.a, q - p);
            let lengthwise = band(dot(from, axis), dot(step, axis), 0.0, square);
            let crosswise = band(cross(axis, from), cross(axis, step), -self.radius * length, self.radius * length);
            widen(lengthwise.zip(crosswise).and_then(|(a, b)| {
                let both = (a.0.max(b.0), a.1.min(b.1));
                (both.1 > both.0).then_some(both)
            }));
        }
        hull
    }
}

/// The shares t from 0 to 1 for which `start + t·slope` lies between `low` and `high`.
fn band(start: f64, slope: f64, low: f64, high: f64) -> Option<(f64, f64)> {
    if slope == 0.0 {
        return (start > low && start < high).then_some((0.0, 1.0));
    }
    let (a, b) = ((low - start) / slope, (high - start) / slope);
    let (from, to) = (a.min(b).max(0.0), a.max(b).min(1.0));
    (to > from).then_some((from, to))
}

/// A connected part of the uncovered floor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Patch {
    /// mm2.
    pub area: f64,
    /// A point on its edge, as far as can be from where the box around it is least.
    pub at: Point,
    /// Least corner of the box around it.
    pub low: Point,
    /// Greatest corner of the box around it.
    pub high: Point,
}

/// Patches below this area are what rounding leaves, mm2.
const LEAST_PATCH: f64 = 1.0;

/// How much capsules are widened by at least, mm.
const WIDENING: f64 = 1e-6;

/// What covers a floor.
pub struct Cover<'a> {
    outline: &'a Ring,
    origin: Point,
    capsules: Vec<Capsule>,
    solids: &'a [&'a Ring],
    tree: RTree<GeomWithData<Rectangle<[f64; 2]>, u32>>,
}

/// One stretch of an edge of the uncovered part, which lies to its left.
#[derive(Debug, Clone, Copy)]
enum Edge {
    Straight(Point, Point),
    /// Centre, radius, angle it starts at and angle it turns by.
    Arc(Point, f64, f64, f64),
}

impl Edge {
    fn at(&self, share: f64) -> Point {
        match *self {
            Edge::Straight(a, b) => along(a, b, share),
            Edge::Arc(centre, radius, from, sweep) => {
                let (sin, cos) = (from + sweep * share).sin_cos();
                centre + Point { x: radius * cos, y: radius * sin }
            }
        }
    }

    /// `½ ∫ (x dy - y dx)` from one share of it to another.
    fn area(&self, from: f64, to: f64) -> f64 {
        match *self {
            Edge::Straight(a, b) => cross(along(a, b, from), along(a, b, to)) / 2.0,
            Edge::Arc(centre, radius, start, sweep) => {
                let (p, q) = (start + sweep * from, start + sweep * to);
                let centred = radius * (centre.x * (q.sin() - p.sin()) - centre.y * (q.cos() - p.cos()));
                (radius * radius * (q - p) + centred) / 2.0
            }
        }
    }

    fn bounds(&self) -> (Point, Point) {
        match *self {
            Edge::Straight(a, b) => piece_box(a, b),
            Edge::Arc(centre, radius, ..) => {
                let by = Point { x: radius, y: radius };
                (centre - by, centre + by)
            }
        }
    }
}

impl<'a> Cover<'a> {
    /// The floor inside `outline`, covered by the capsules and by the insides of `solids`. Every edge of a solid must have a
    /// capsule among them, of whatever radius, even 0.
    pub fn new(outline: &'a Ring, capsules: impl Iterator<Item = Capsule>, solids: &'a [&'a Ring]) -> Self {
        let golden = (5f64.sqrt() - 1.0) / 2.0;
        // Near the origin, coordinates keep more digits.
        let origin = outline.corners().first().copied().unwrap_or_default();
        let capsules: Vec<Capsule> = capsules
            .enumerate()
            .map(|(index, capsule)| Capsule {
                a: capsule.a - origin,
                b: capsule.b - origin,
                radius: capsule.radius + WIDENING * (1.0 + (index as f64 * golden).fract()),
            })
            .collect();
        let boxes = capsules.iter().zip(0u32..).map(|(capsule, index)| {
            let (low, high) = capsule.bounds(0.0);
            GeomWithData::new(Rectangle::from_corners([low.x, low.y], [high.x, high.y]), index)
        });
        let tree = RTree::bulk_load(boxes.collect());
        Cover { outline, origin, capsules, solids, tree }
    }

    /// The uncovered area, mm2.
    pub fn uncovered_area(&self) -> f64 {
        let mut area = 0.0;
        self.for_open_stretches(|edge, from, to| area += edge.area(from, to));
        area.max(0.0)
    }

    /// The connected parts of the uncovered floor of 1 mm2 or more, the largest first.
    pub fn patches(&self) -> Vec<Patch> {
        let mut stretches: Vec<(Edge, f64, f64)> = Vec::new();
        self.for_open_stretches(|edge, from, to| stretches.push((*edge, from, to)));
        join(&stretches, self.origin)
    }

    /// Visits every stretch of edge that bounds the uncovered part.
    fn for_open_stretches(&self, mut visit: impl FnMut(&Edge, f64, f64)) {
        let mut covered: Vec<(f64, f64)> = Vec::new();
        let mut near: Vec<u32> = Vec::new();
        let mut open = |edge: &Edge, covered: &mut Vec<(f64, f64)>| {
            covered.sort_by(|a, b| a.0.total_cmp(&b.0));
            let mut reached = 0.0;
            for &(from, to) in covered.iter() {
                if from > reached {
                    visit(edge, reached, from);
                }
                reached = f64::max(reached, to);
            }
            if reached < 1.0 {
                visit(edge, reached, 1.0);
            }
        };
        let forward = crate::model::shape::signed_area(self.outline.corners()) > 0.0;
        for index in 0..self.outline.corners().len() {
            let (a, b) = self.outline.edge(index);
            let (a, b) = if forward { (a, b) } else { (b, a) };
            let edge = Edge::Straight(a - self.origin, b - self.origin);
            self.near(&edge, None, &mut near);
            covered.clear();
            self.covered_by_capsules(&edge, &near, &mut covered);
            self.covered_by_solids(&edge, &mut covered);
            open(&edge, &mut covered);
        }
        for (index, capsule) in self.capsules.iter().enumerate() {
            for edge in capsule_edges(capsule) {
                self.near(&edge, u32::try_from(index).ok(), &mut near);
                covered.clear();
                if !self.covered_by_capsules(&edge, &near, &mut covered) {
                    self.covered_by_solids(&edge, &mut covered);
                    self.outside_outline(&edge, &mut covered);
                    open(&edge, &mut covered);
                }
            }
        }
    }

    /// The capsules whose boxes an edge meets.
    fn near(&self, edge: &Edge, but: Option<u32>, near: &mut Vec<u32>) {
        let (low, high) = edge.bounds();
        near.clear();
        let found = self.tree.locate_in_envelope_intersecting(AABB::from_corners([low.x, low.y], [high.x, high.y]));
        near.extend(found.map(|item| item.data).filter(|index| Some(*index) != but));
    }

    /// Adds the stretches of an edge inside capsules; whether one of them covers it all.
    fn covered_by_capsules(&self, edge: &Edge, near: &[u32], covered: &mut Vec<(f64, f64)>) -> bool {
        let mut cuts: Vec<f64> = Vec::new();
        for &index in near {
            let capsule = &self.capsules[index as usize];
            match *edge {
                Edge::Straight(a, b) => covered.extend(capsule.stretch(a, b)),
                Edge::Arc(centre, radius, ..) => {
                    let gap = point_distance(centre, capsule.a, capsule.b);
                    if gap >= capsule.radius + radius {
                        continue;
                    }
                    if gap + radius < capsule.radius {
                        return true;
                    }
                    cuts.clear();
                    arc_cuts(edge, capsule, &mut cuts);
                    stretches_where(edge, &mut cuts, |point| capsule.contains(point), covered);
                }
            }
            if covered.last() == Some(&(0.0, 1.0)) {
                return true;
            }
        }
        false
    }

    fn covered_by_solids(&self, edge: &Edge, covered: &mut Vec<(f64, f64)>) {
        for solid in self.solids {
            self.stretches_in_ring(edge, solid, true, covered);
        }
    }

    fn outside_outline(&self, edge: &Edge, covered: &mut Vec<(f64, f64)>) {
        self.stretches_in_ring(edge, self.outline, false, covered);
    }

    /// Adds the stretches of an edge inside a ring, or outside it.
    fn stretches_in_ring(&self, edge: &Edge, ring: &Ring, inside: bool, covered: &mut Vec<(f64, f64)>) {
        let (low, high) = edge.bounds();
        let mut cuts: Vec<f64> = Vec::new();
        ring.for_edges_near(low + self.origin, high + self.origin, 0.0, |index| {
            let (c, d) = ring.edge(index);
            ring_cuts(edge, c - self.origin, d - self.origin, &mut cuts);
        });
        stretches_where(edge, &mut cuts, |point| ring.contains(point + self.origin) == inside, covered);
    }
}

/// The edge of a capsule, clockwise, so that what lies outside is on its left.
fn capsule_edges(capsule: &Capsule) -> impl Iterator<Item = Edge> + use<> {
    let Capsule { a, b, radius } = *capsule;
    let axis = b - a;
    let length = dot(axis, axis).sqrt();
    if length == 0.0 {
        return [Some(Edge::Arc(a, radius, 0.0, -TAU)), None, None, None].into_iter().flatten();
    }
    let normal = Point { x: -axis.y, y: axis.x } / length;
    let side = normal * radius;
    let angle = normal.y.atan2(normal.x);
    [
        Some(Edge::Straight(a + side, b + side)),
        Some(Edge::Arc(b, radius, angle, -PI)),
        Some(Edge::Straight(b - side, a - side)),
        Some(Edge::Arc(a, radius, angle - PI, -PI)),
    ]
    .into_iter()
    .flatten()
}

/// Adds the share of an arc at which it has a direction from its centre, where it has it.
fn push_angle(from: f64, sweep: f64, angle: f64, cuts: &mut Vec<f64>) {
    let turned = ((angle - from) * sweep.signum()).rem_euclid(TAU);
    if turned < sweep.abs() {
        cuts.push(turned / sweep.abs());
    }
}

/// Adds the shares at which an arc may enter or leave a capsule.
fn arc_cuts(edge: &Edge, capsule: &Capsule, cuts: &mut Vec<f64>) {
    let Edge::Arc(centre, radius, from, sweep) = *edge else { return };
    for end in [capsule.a, capsule.b] {
        let to = end - centre;
        let gap = dot(to, to).sqrt();
        if gap > 0.0 {
            let cosine = (gap * gap + radius * radius - capsule.radius * capsule.radius) / (2.0 * gap * radius);
            if cosine.abs() < 1.0 {
                let (middle, half) = (to.y.atan2(to.x), cosine.acos());
                push_angle(from, sweep, middle + half, cuts);
                push_angle(from, sweep, middle - half, cuts);
            }
        }
    }
    let axis = capsule.b - capsule.a;
    let length = dot(axis, axis).sqrt();
    if length > 0.0 {
        let normal = Point { x: -axis.y, y: axis.x } / length;
        let angle = normal.y.atan2(normal.x);
        let height = dot(normal, centre - capsule.a);
        for side in [capsule.radius, -capsule.radius] {
            let cosine = (side - height) / radius;
            if cosine.abs() < 1.0 {
                let half = cosine.acos();
                push_angle(from, sweep, angle + half, cuts);
                push_angle(from, sweep, angle - half, cuts);
            }
        }
    }
}

/// Adds the shares at which an edge crosses the straight piece `c` to `d`.
fn ring_cuts(edge: &Edge, c: Point, d: Point, cuts: &mut Vec<f64>) {
    match *edge {
        Edge::Straight(a, b) => {
            let (step, other) = (b - a, d - c);
            let area = cross(step, other);
            if area != 0.0 {
                let (first, second) = (cross(c - a, other) / area, cross(c - a, step) / area);
                if (0.0..=1.0).contains(&first) && (-1e-9..=1.0 + 1e-9).contains(&second) {
                    cuts.push(first);
                }
            }
        }
        Edge::Arc(centre, radius, from, sweep) => {
            let step = d - c;
            let square = dot(step, step);
            let to = centre - c;
            let middle = dot(to, step) / square;
            let height = cross(step, to);
            let half_square = (radius * radius - height * height / square) / square;
            if half_square > 0.0 {
                for share in [middle - half_square.sqrt(), middle + half_square.sqrt()] {
                    if (-1e-9..=1.0 + 1e-9).contains(&share) {
                        let out = along(c, d, share) - centre;
                        push_angle(from, sweep, out.y.atan2(out.x), cuts);
                    }
                }
            }
        }
    }
}

/// Adds the stretches between cuts in whose middle `holds`.
fn stretches_where(edge: &Edge, cuts: &mut Vec<f64>, holds: impl Fn(Point) -> bool, covered: &mut Vec<(f64, f64)>) {
    cuts.sort_by(f64::total_cmp);
    let mut from = 0.0;
    let mut begun: Option<f64> = None;
    for &to in cuts.iter().chain([&1.0]) {
        if to <= from && to < 1.0 {
            continue;
        }
        if to > from {
            if holds(edge.at(f64::midpoint(from, to))) {
                begun.get_or_insert(from);
            } else if let Some(start) = begun.take() {
                covered.push((start, from));
            }
        }
        from = to;
    }
    covered.extend(begun.map(|start| (start, 1.0)));
}

/// Joins stretches end to start into the loops they form, and loops into patches with their holes.
fn join(stretches: &[(Edge, f64, f64)], origin: Point) -> Vec<Patch> {
    if stretches.is_empty() {
        return Vec::new();
    }
    let starts: Vec<Point> = stretches.iter().map(|(edge, from, _)| edge.at(*from)).collect();
    let tree = RTree::bulk_load(starts.iter().enumerate().map(|(i, p)| GeomWithData::new([p.x, p.y], i)).collect());
    let mut group: Vec<usize> = (0..stretches.len()).collect();
    fn root(group: &mut [usize], mut i: usize) -> usize {
        while group[i] != i {
            group[i] = group[group[i]];
            i = group[i];
        }
        i
    }
    for (i, (edge, _, to)) in stretches.iter().enumerate() {
        let end = edge.at(*to);
        if let Some(next) = tree.nearest_neighbor([end.x, end.y]) {
            let (a, b) = (root(&mut group, i), root(&mut group, next.data));
            group[a] = b;
        }
    }
    let mut loops: Vec<(usize, Patch)> = Vec::new();
    let mut number = vec![usize::MAX; stretches.len()];
    let mut members: Vec<Vec<Point>> = Vec::new();
    for (i, (edge, from, to)) in stretches.iter().enumerate() {
        let root = root(&mut group, i);
        if number[root] == usize::MAX {
            number[root] = loops.len();
            let at = starts[i];
            loops.push((root, Patch { area: 0.0, at, low: at, high: at }));
            members.push(Vec::new());
        }
        let (_, patch) = &mut loops[number[root]];
        patch.area += edge.area(*from, *to);
        // A few points of each stretch stand for it where only its whereabouts matter.
        let points = match edge {
            Edge::Straight(..) => 1,
            Edge::Arc(..) => 8,
        };
        for step in 0..points {
            let point = edge.at(from + (to - from) * f64::from(step) / f64::from(points));
            patch.low = Point { x: patch.low.x.min(point.x), y: patch.low.y.min(point.y) };
            patch.high = Point { x: patch.high.x.max(point.x), y: patch.high.y.max(point.y) };
            members[number[root]].push(point);
        }
    }
    gather(loops.into_iter().map(|(_, patch)| patch).zip(members).collect(), origin)
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
