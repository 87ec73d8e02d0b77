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

use std::f64::consts::TAU;

use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

use super::index::{Corners, FEW_PIECES, Ring, boxes_meet, piece_box};
use super::zones::circle_chord;
use crate::geometry::{along, cross, dot, nearest_share};
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
    fn bounds(&self) -> Corners {
        let (low, high) = piece_box(self.a, self.b);
        let by = self.radius;
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

/// A capsule with what is asked of it again and again.
#[derive(Debug, Clone, Copy)]
struct Laid {
    capsule: Capsule,
    /// From one end to the other, mm.
    length: f64,
    /// To the left of its piece, a unit; nothing where the piece is a point.
    normal: Point,
}

impl Laid {
    fn new(capsule: Capsule) -> Self {
        let axis = capsule.b - capsule.a;
        let length = dot(axis, axis).sqrt();
        let normal = if length > 0.0 { Point { x: -axis.y, y: axis.x } / length } else { Point { x: 0.0, y: 0.0 } };
        Laid { capsule, length, normal }
    }

    /// From a point to its piece, mm.
    fn distance(&self, p: Point) -> f64 {
        let Capsule { a, b, .. } = self.capsule;
        let from = p - a;
        let along = cross(from, self.normal);
        if along <= 0.0 {
            return dot(from, from).sqrt();
        }
        if along >= self.length {
            let from = p - b;
            return dot(from, from).sqrt();
        }
        dot(from, self.normal).abs()
    }
}

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
    solids: &'a [&'a Ring],
    /// The boxes around the capsules where there are few …
    boxes: Vec<Corners>,
    /// … and an index of them where there are many.
    tree: Option<RTree<GeomWithData<Rectangle<[f64; 2]>, u32>>>,
}

/// How many neighbours may be looked at in all: many times what a floor that can be laid has, and a bound on what a plan made to be
/// slow can cost.
const VISITS_EACH: usize = 150;
const LEAST_VISITS: usize = 1_000_000;

/// For each edge of a capsule, in the order of [`capsule_edges`], how many places before and after it those are laid that cover most of it:
/// of a side the next runs on both sides, of an end the piece that goes on from there.
const FIRST_ASKED: [&[isize]; 4] = [&[2, -2], &[1, 2, -2], &[2, -2], &[-1, 2, -2]];

/// One edge of the uncovered part, which lies to its left.
#[derive(Debug, Clone, Copy)]
enum Edge {
    Straight(Point, Point),
    Arc(Arc),
}

/// A half or a whole circle, clockwise. Places on it are told by directions from its centre, not by angles, so that finding where
/// others cut it takes no trigonometry.
#[derive(Debug, Clone, Copy)]
struct Arc {
    centre: Point,
    radius: f64,
    /// Unit direction of its start.
    from: Point,
    /// How many quarters it turns by: 2 or 4.
    quarters: f64,
}

impl Arc {
    /// The share at which the arc has a direction, as a number that grows with the angle: in each quarter, sine over sine plus
    /// cosine. More than 1 where it doesn't reach so far.
    fn share(&self, direction: Point) -> f64 {
        let (cosine, sine) = (dot(self.from, direction), cross(direction, self.from));
        let quarter = match (cosine >= 0.0, sine >= 0.0) {
            (true, true) => sine / (cosine + sine),
            (false, true) => 1.0 - cosine / (sine - cosine),
            (false, false) => 2.0 + sine / (cosine + sine),
            (true, false) => 3.0 + cosine / (cosine - sine),
        };
        quarter / self.quarters
    }

    /// Cosine and sine of the angle turned to a share, not brought to unit length.
    fn turned(&self, share: f64) -> (f64, f64) {
        let quarter = share * self.quarters;
        let cosine = if quarter <= 2.0 { 1.0 - quarter } else { quarter - 3.0 };
        let sine = if quarter <= 1.0 {
            quarter
        } else if quarter <= 3.0 {
            2.0 - quarter
        } else {
            quarter - 4.0
        };
        (cosine, sine)
    }

    fn at(&self, share: f64) -> Point {
        let (cosine, sine) = self.turned(share);
        let scale = self.radius / (cosine * cosine + sine * sine).sqrt();
        let side = Point { x: self.from.y, y: -self.from.x };
        self.centre + self.from * (cosine * scale) + side * (sine * scale)
    }

    /// The angle turned to a share, radians.
    fn angle(&self, share: f64) -> f64 {
        let (cosine, sine) = self.turned(share);
        let angle = sine.atan2(cosine);
        if angle < 0.0 || (angle == 0.0 && share > 0.5) { angle + TAU } else { angle }
    }

    fn push(&self, direction: Point, cuts: &mut Vec<f64>) {
        let share = self.share(direction);
        if share < 1.0 {
            cuts.push(share);
        }
    }
}

impl Edge {
    fn at(&self, share: f64) -> Point {
        match self {
            Edge::Straight(a, b) => along(*a, *b, share),
            Edge::Arc(arc) => arc.at(share),
        }
    }

    /// `½ ∫ (x dy - y dx)` from one share of it to another.
    fn area(&self, from: f64, to: f64) -> f64 {
        let (p, q) = (self.at(from), self.at(to));
        match self {
            Edge::Straight(..) => cross(p, q) / 2.0,
            Edge::Arc(arc) => {
                let turned = arc.angle(to) - arc.angle(from);
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

    fn bounds(&self) -> Corners {
        match self {
            Edge::Straight(a, b) => piece_box(*a, *b),
            Edge::Arc(arc) => {
                let by = Point { x: arc.radius, y: arc.radius };
                (arc.centre - by, arc.centre + by)
            }
        }
    }
}

/// The covered stretches of an edge, in order and apart.
#[derive(Debug, Default)]
struct Covered(Vec<(f64, f64)>);

impl Covered {
    fn add(&mut self, (mut from, mut to): (f64, f64)) {
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

    /// The box around what is left open of an edge.
    fn remains(&self, edge: &Edge) -> Corners {
        if self.0.is_empty() {
            return edge.bounds();
        }
        let mut around: Option<Corners> = None;
        let mut reached = 0.0;
        let ends = self.0.iter().copied().chain([(1.0, 1.0)]);
        for (from, to) in ends {
            if from > reached {
                let (low, high) = edge.stretch_bounds(reached, from);
                around = Some(around.map_or((low, high), |(a, b)| {
                    (Point { x: a.x.min(low.x), y: a.y.min(low.y) }, Point { x: b.x.max(high.x), y: b.y.max(high.y) })
                }));
            }
            reached = to;
        }
        around.unwrap_or_else(|| edge.bounds())
    }

    /// A point of an edge that is left open.
    fn first_open(&self, edge: &Edge) -> Point {
        match self.0.first() {
            Some((from, _)) if *from > 0.0 => edge.at(from / 2.0),
            Some((_, to)) => edge.at(f64::midpoint(*to, self.0.get(1).map_or(1.0, |next| next.0))),
            None => edge.at(0.5),
        }
    }

    fn is_whole(&self) -> bool {
        self.0.first().is_some_and(|stretch| stretch.0 <= 0.0 && stretch.1 >= 1.0)
    }
}

impl<'a> Cover<'a> {
    /// The floor inside `outline`, covered by the capsules and by the insides of `solids`. Every edge of a solid must have a
    /// capsule among them, of whatever radius, even 0.
    pub fn new(outline: &'a Ring, capsules: impl Iterator<Item = Capsule>, solids: &'a [&'a Ring]) -> Self {
        let golden = (5f64.sqrt() - 1.0) / 2.0;
        // Near the origin, coordinates keep more digits.
        let origin = outline.corners().first().copied().unwrap_or_default();
        let capsules: Vec<Laid> = capsules
            .enumerate()
            .map(|(index, capsule)| {
                Laid::new(Capsule {
                    a: capsule.a - origin,
                    b: capsule.b - origin,
                    radius: capsule.radius + WIDENING * (1.0 + (index as f64 * golden).fract()),
                })
            })
            .collect();
        let boxes = capsules.iter().map(|laid| laid.capsule.bounds());
        let (boxes, tree) = if capsules.len() <= FEW_PIECES {
            (boxes.collect(), None)
        } else {
            let items = boxes.zip(0u32..).map(|((low, high), index)| {
                GeomWithData::new(Rectangle::from_corners([low.x, low.y], [high.x, high.y]), index)
            });
            (Vec::new(), Some(RTree::bulk_load(items.collect())))
        };
        Cover { outline, origin, capsules, solids, boxes, tree }
    }

    /// The uncovered area, mm2; nothing where the capsules lie too thick to be gone through.
    pub fn uncovered_area(&self) -> Option<f64> {
        let mut area = 0.0;
        self.for_open_stretches(|edge, from, to| area += edge.area(from, to))?;
        Some(area.max(0.0))
    }

    /// The connected parts of the uncovered floor of 1 mm2 or more, the largest first; nothing where the capsules lie too thick.
    pub fn patches(&self) -> Option<Vec<Patch>> {
        let mut stretches: Vec<(Edge, f64, f64)> = Vec::new();
        self.for_open_stretches(|edge, from, to| stretches.push((*edge, from, to)))?;
        Some(join(&stretches, self.origin))
    }

    /// Visits every stretch of edge that bounds the uncovered part.
    fn for_open_stretches(&self, mut visit: impl FnMut(&Edge, f64, f64)) -> Option<()> {
        let mut left = LEAST_VISITS + self.capsules.len() * VISITS_EACH;
        let mut covered = Covered::default();
        let mut near: Vec<u32> = Vec::new();
        let mut cuts: Vec<f64> = Vec::new();
        let solids: Vec<(&Ring, bool)> = self.solids.iter().map(|solid| (*solid, true)).collect();
        let all_rings: Vec<(&Ring, bool)> = solids.iter().copied().chain([(self.outline, false)]).collect();
        let mut own_rings: Vec<(&Ring, bool)> = Vec::new();
        let mut rings: Vec<(&Ring, bool)> = Vec::new();
        let mut open = |edge: &Edge, covered: &Covered| {
            let mut reached = 0.0;
            for &(from, to) in &covered.0 {
                if from > reached {
                    visit(edge, reached, from);
                }
                reached = to;
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
            self.near(edge.bounds(), &mut near);
            covered.0.clear();
            if !self.cover_by_capsules(&edge, near.iter().copied(), &mut covered, &mut cuts)
                && !self.cover_by_rings(&edge, &solids, &mut covered, &mut cuts)
            {
                open(&edge, &covered);
            }
        }
        for (index, laid) in self.capsules.iter().enumerate() {
            // The rings that the capsule meets, once that is asked; most lie clear of all of them.
            let mut asked_rings = false;
            for (edge, first) in capsule_edges(laid).zip(FIRST_ASKED) {
                covered.0.clear();
                if self.cover_by_capsules(&edge, self.laid_near(index, first), &mut covered, &mut cuts) {
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
                if !own_rings.is_empty()
                    && (!rings_near(&own_rings, self.origin, remains, covered.first_open(&edge), &mut rings)
                        || self.cover_by_rings(&edge, &rings, &mut covered, &mut cuts))
                {
                    continue;
                }
                self.near(remains, &mut near);
                left = left.checked_sub(near.len())?;
                let asked = |other: &u32| first.iter().any(|step| index.wrapping_add_signed(*step) == *other as usize);
                let others = near.iter().copied().filter(|other| *other as usize != index && !asked(other));
                if !self.cover_by_capsules(&edge, others, &mut covered, &mut cuts) {
                    open(&edge, &covered);
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
                let found = self.boxes.iter().zip(0u32..).filter(|(own, _)| boxes_meet(own, &wanted));
                near.extend(found.map(|(_, index)| index));
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
                Edge::Arc(arc) => {
                    let gap = laid.distance(arc.centre);
                    if gap >= capsule.radius + arc.radius {
                        continue;
                    }
                    if gap + arc.radius < capsule.radius {
                        return true;
                    }
                    cuts.clear();
                    arc_cuts(arc, laid, cuts);
                    stretches_where(edge, cuts, |point| laid.distance(point) < capsule.radius, covered);
                }
            }
            if covered.is_whole() {
                return true;
            }
        }
        false
    }

    /// Adds the stretches of an edge on the covering side of rings; whether all of it is covered then.
    fn cover_by_rings(&self, edge: &Edge, rings: &[(&Ring, bool)], covered: &mut Covered, cuts: &mut Vec<f64>) -> bool {
        let (low, high) = edge.bounds();
        for (ring, inside) in rings {
            cuts.clear();
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

/// The edge of a capsule, clockwise, so that what lies outside is on its left.
fn capsule_edges(laid: &Laid) -> impl Iterator<Item = Edge> + use<> {
    let Laid { capsule: Capsule { a, b, radius }, length, normal } = *laid;
    if length == 0.0 {
        let whole = Arc { centre: a, radius, from: Point { x: 1.0, y: 0.0 }, quarters: 4.0 };
        return [Some(Edge::Arc(whole)), None, None, None].into_iter().flatten();
    }
    let side = normal * radius;
    [
        Some(Edge::Straight(a + side, b + side)),
        Some(Edge::Arc(Arc { centre: b, radius, from: normal, quarters: 2.0 })),
        Some(Edge::Straight(b - side, a - side)),
        Some(Edge::Arc(Arc { centre: a, radius, from: normal * -1.0, quarters: 2.0 })),
    ]
    .into_iter()
    .flatten()
}

/// Adds the shares at which an arc may enter or leave a capsule.
fn arc_cuts(arc: &Arc, laid: &Laid, cuts: &mut Vec<f64>) {
    let Laid { capsule, length, normal } = *laid;
    let mut push = |toward: Point, cosine: f64| {
        if cosine.abs() < 1.0 {
            let sine = (1.0 - cosine * cosine).sqrt();
            let across = Point { x: -toward.y, y: toward.x };
            arc.push(toward * cosine + across * sine, cuts);
            arc.push(toward * cosine - across * sine, cuts);
        }
    };
    for end in [capsule.a, capsule.b].into_iter().take(if length > 0.0 { 2 } else { 1 }) {
        let to = end - arc.centre;
        let square = dot(to, to);
        if square > 0.0 {
            let gap = square.sqrt();
            let cosine =
                (square + arc.radius * arc.radius - capsule.radius * capsule.radius) / (2.0 * gap * arc.radius);
            push(to / gap, cosine);
        }
    }
    if length > 0.0 {
        let height = dot(normal, arc.centre - capsule.a);
        push(normal, (capsule.radius - height) / arc.radius);
        push(normal, (-capsule.radius - height) / arc.radius);
    }
}

/// Adds the shares at which an edge crosses the straight piece `c` to `d`.
fn ring_cuts(edge: &Edge, c: Point, d: Point, cuts: &mut Vec<f64>) {
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

/// Adds the stretches between cuts in whose middle `holds`.
fn stretches_where(edge: &Edge, cuts: &mut [f64], holds: impl Fn(Point) -> bool, covered: &mut Covered) {
    cuts.sort_by(f64::total_cmp);
    let mut from = 0.0;
    let mut begun: Option<f64> = None;
    for &to in cuts.iter().chain([&1.0]) {
        if to <= from {
            continue;
        }
        if holds(edge.at(f64::midpoint(from, to))) {
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
