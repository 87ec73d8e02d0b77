//! Capsules, the edges of what they leave uncovered, and the stretches of those edges that something covers.

use std::f64::consts::TAU;

use super::index::{Corners, piece_box};
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
    pub(super) fn bounds(&self) -> Corners {
        let (low, high) = piece_box(self.a, self.b);
        let by = self.radius;
        (Point { x: low.x - by, y: low.y - by }, Point { x: high.x + by, y: high.y + by })
    }

    pub(super) fn contains(&self, p: Point) -> bool {
        let gap = p - along(self.a, self.b, nearest_share(p, self.a, self.b));
        dot(gap, gap) < self.radius * self.radius
    }

    /// The stretch of the piece `p` to `q` inside it, as shares from 0 to 1. A capsule is convex, so there is one at most.
    ///
    /// ```
    /// use layrule::{measure::edge::Capsule, model::Point};
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
pub(super) fn band(start: f64, slope: f64, low: f64, high: f64) -> Option<(f64, f64)> {
    if slope == 0.0 {
        return (start > low && start < high).then_some((0.0, 1.0));
    }
    let (a, b) = ((low - start) / slope, (high - start) / slope);
    let (from, to) = (a.min(b).max(0.0), a.max(b).min(1.0));
    (to > from).then_some((from, to))
}

/// A capsule with what is asked of it again and again.
#[derive(Debug, Clone, Copy)]
pub(super) struct Laid {
    pub(super) capsule: Capsule,
    /// From one end to the other, mm.
    pub(super) length: f64,
    /// To the left of its piece, a unit; nothing where the piece is a point.
    normal: Point,
    /// What of its round ends may bound what is uncovered, the start's and the end's.
    round: [Option<Round>; 2],
}

/// A part of a capsule's round end: from one unit direction to another, clockwise, by so many [quarters](Arc::quarters).
#[derive(Debug, Clone, Copy)]
struct Round {
    from: Point,
    to: Point,
    quarters: f64,
}

/// Capsules whose radii differ by no more than this are joined where they meet, mm.
const ALIKE: f64 = 2e-6;
/// Pieces shorter than this, and capsules of a smaller radius, are not joined, mm.
const LEAST_JOINED: f64 = 1.0;
/// How far behind an end may lie what lies beyond it, mm: its distance from the piece is that from the end all the same.
const HARDLY: f64 = 1e-9;
/// Pieces that turn by less than this from one to the next, or from folding back, are not joined: the sine of the angle.
const LEAST_TURN: f64 = 0.01;

impl Laid {
    pub(super) fn new(capsule: Capsule) -> Self {
        let axis = capsule.b - capsule.a;
        let length = dot(axis, axis).sqrt();
        if length == 0.0 {
            let east = Point { x: 1.0, y: 0.0 };
            let whole = Round { from: east, to: east, quarters: 4.0 };
            return Laid { capsule, length, normal: Point { x: 0.0, y: 0.0 }, round: [None, Some(whole)] };
        }
        let normal = Point { x: -axis.y, y: axis.x } / length;
        let round = [normal * -1.0, normal].map(|from| Some(Round { from, to: from * -1.0, quarters: 2.0 }));
        Laid { capsule, length, normal, round }
    }

    /// Along its piece and to the left of it, units; nothing where the piece is a point.
    pub(super) fn directions(&self) -> Option<(Point, Point)> {
        (self.length > 0.0).then_some((Point { x: self.normal.y, y: -self.normal.x }, self.normal))
    }

    /// Where the next capsule goes on from the end of this one with a turn, only the outer side of the turn is left of the two round ends,
    /// and only the wider capsule has it: a little farther than the turn, up to where the side of the narrower comes out of it.
    pub(super) fn join(&mut self, next: &mut Laid) {
        let (radius, other) = (self.capsule.radius, next.capsule.radius);
        let turn = cross(self.normal, next.normal);
        if self.capsule.b != next.capsule.a
            || (radius - other).abs() > ALIKE
            || radius.min(other).min(self.length).min(next.length) < LEAST_JOINED
            || turn.abs() < LEAST_TURN
        {
            return;
        }
        let narrow_ends = radius > other;
        let cosine = radius.min(other) / radius.max(other);
        let sine = (1.0 - cosine * cosine).sqrt();
        // Clockwise, the left sides of a turn to the right come in the order of the runs, the right sides of one to the left the other way.
        let (mut from, mut to, narrow_last) = if turn < 0.0 {
            (self.normal, next.normal, narrow_ends)
        } else {
            (next.normal * -1.0, self.normal * -1.0, !narrow_ends)
        };
        if narrow_last {
            to = Point { x: to.x * cosine + to.y * sine, y: to.y * cosine - to.x * sine };
        } else {
            from = Point { x: from.x * cosine - from.y * sine, y: from.y * cosine + from.x * sine };
        }
        let round = Some(Round { from, to, quarters: quarters_to(from, to) });
        (self.round[1], next.round[0]) = if narrow_ends { (round, None) } else { (None, round) };
    }

    /// From a point to its piece, mm.
    pub(super) fn distance(&self, p: Point) -> f64 {
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

/// One edge of the uncovered part, which lies to its left.
#[derive(Debug, Clone, Copy)]
pub(super) enum Edge {
    Straight(Point, Point),
    Arc(Arc),
}

/// A part of a circle, clockwise. Places on it are told by directions from its centre, not by angles, so that finding where
/// others cut it takes no trigonometry.
#[derive(Debug, Clone, Copy)]
pub(super) struct Arc {
    pub(super) centre: Point,
    pub(super) radius: f64,
    /// Unit directions of its start and of its end.
    from: Point,
    to: Point,
    /// How far it turns, as [`quarters_to`] tells it: 2 for a half, 4 for a whole circle.
    quarters: f64,
}

/// How far round a direction lies clockwise from another, as a number that grows with the angle by 1 a quarter: in each, sine over sine
/// plus cosine.
fn quarters_to(from: Point, direction: Point) -> f64 {
    let (cosine, sine) = (dot(from, direction), cross(direction, from));
    match (cosine >= 0.0, sine >= 0.0) {
        (true, true) => sine / (cosine + sine),
        (false, true) => 1.0 - cosine / (sine - cosine),
        (false, false) => 2.0 + sine / (cosine + sine),
        (true, false) => 3.0 + cosine / (cosine - sine),
    }
}

impl Arc {
    /// Whether it is less than the half or the whole circle that bounds a capsule by itself.
    pub(super) fn is_part(&self) -> bool {
        self.quarters < 2.0
    }

    /// The share at which the arc has a direction; more than 1 where it doesn't reach so far.
    fn share(&self, direction: Point) -> f64 {
        quarters_to(self.from, direction) / self.quarters
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

    pub(super) fn at(&self, share: f64) -> Point {
        if share == 0.0 {
            return self.centre + self.from * self.radius;
        }
        if share == 1.0 {
            return self.centre + self.to * self.radius;
        }
        let (cosine, sine) = self.turned(share);
        let scale = self.radius / (cosine * cosine + sine * sine).sqrt();
        let side = Point { x: self.from.y, y: -self.from.x };
        self.centre + self.from * (cosine * scale) + side * (sine * scale)
    }

    /// The angle turned from one share to another, radians.
    fn angle(&self, from: f64, to: f64) -> f64 {
        let (a, b) = (self.turned(from), self.turned(to));
        let (cosine, sine) = (a.0 * b.0 + a.1 * b.1, a.0 * b.1 - a.1 * b.0);
        let angle = sine.atan2(cosine);
        // More than a quarter is no rounding about nothing; a whole circle comes back to where it began.
        if angle <= 0.0 && (to - from) * self.quarters > 1.0 { angle + TAU } else { angle }
    }

    /// The end of a capsule that all of it lies beyond, so that only that end's disc can reach it: 0 for its start, 1 for its end.
    fn beyond_end(&self, laid: &Laid) -> Option<usize> {
        let Capsule { a, b, .. } = laid.capsule;
        let Some((along, _)) = laid.directions() else { return Some(1) };
        // No point of it lies farther back than its radius; and less than half a circle between two directions that both point along a way
        // has none that points against it, so that its ends lie farthest back.
        let lies_beyond = |end: Point, way: Point| {
            let ahead = dot(self.centre - end, way);
            ahead >= self.radius
                || self.is_part()
                    && [self.from, self.to].iter().all(|direction| {
                        let more = dot(*direction, way);
                        more >= -HARDLY && ahead + more * self.radius >= -HARDLY
                    })
        };
        if lies_beyond(b, along) {
            return Some(1);
        }
        lies_beyond(a, along * -1.0).then_some(0)
    }

    /// Adds the stretch within a radius of a point, told by the square of its distance from the centre.
    fn cover_by_disc(&self, point: Point, radius: f64, covered: &mut Covered) {
        let to = point - self.centre;
        let square = dot(to, to);
        // A disc round the same centre covers all or nothing.
        if square == 0.0 {
            if self.radius < radius {
                covered.add((0.0, 1.0));
            }
            return;
        }
        let gap = square.sqrt();
        let cosine = (square + self.radius * self.radius - radius * radius) / (2.0 * gap * self.radius);
        if cosine >= 1.0 {
            return;
        }
        if cosine <= -1.0 {
            covered.add((0.0, 1.0));
            return;
        }
        let sine = (1.0 - cosine * cosine).sqrt();
        let toward = to / gap;
        let across = Point { x: -toward.y, y: toward.x };
        let (first, last) = (self.share(toward * cosine + across * sine), self.share(toward * cosine - across * sine));
        if first <= last {
            if first < 1.0 {
                covered.add((first, last.min(1.0)));
            }
        } else {
            // It reaches over the start.
            covered.add((0.0, last.min(1.0)));
            if first < 1.0 {
                covered.add((first, 1.0));
            }
        }
    }

    fn push(&self, direction: Point, cuts: &mut Vec<f64>) {
        let share = self.share(direction);
        if share < 1.0 {
            cuts.push(share);
        }
    }
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
        let around = boxes.reduce(|(a, b), (low, high)| {
            (Point { x: a.x.min(low.x), y: a.y.min(low.y) }, Point { x: b.x.max(high.x), y: b.y.max(high.y) })
        });
        around.unwrap_or_else(|| edge.bounds())
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

/// Adds the stretches of an arc inside a capsule.
pub(super) fn cover_arc(arc: &Arc, laid: &Laid, covered: &mut Covered, cuts: &mut Vec<f64>) {
    let radius = laid.capsule.radius;
    let gap = laid.distance(arc.centre);
    if gap >= radius + arc.radius {
        return;
    }
    if gap + arc.radius < radius {
        covered.add((0.0, 1.0));
        return;
    }
    if let Some(end) = arc.beyond_end(laid) {
        // Where a wider capsule is joined at that end, it is near too, and covers all that this one does.
        if laid.round[end].is_some() {
            arc.cover_by_disc([laid.capsule.a, laid.capsule.b][end], radius, covered);
        }
        return;
    }
    cuts.clear();
    covered.cuts(cuts);
    arc_cuts(arc, laid, cuts);
    stretches_where(&Edge::Arc(*arc), cuts, |point| laid.distance(point) < radius, covered);
}

/// Adds the shares at which an arc may enter or leave a capsule.
fn arc_cuts(arc: &Arc, laid: &Laid, cuts: &mut Vec<f64>) {
    let Laid { capsule, length, normal, .. } = *laid;
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
