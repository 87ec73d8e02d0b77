//! Parts of circles that bound what capsules leave uncovered.

use std::f64::consts::TAU;

use super::capsule::{Capsule, Laid};
use super::edge::{Covered, Edge, stretches_where};
use crate::geometry::{cross, dot};
use crate::model::Point;

/// How far behind an end may lie what lies beyond it, mm: its distance from the piece is that from the end all the same.
const HARDLY: f64 = 1e-9;

/// A part of a circle, clockwise. Places on it are told by directions from its centre, not by angles, so that finding where
/// others cut it takes no trigonometry.
#[derive(Debug, Clone, Copy)]
pub(super) struct Arc {
    pub(super) centre: Point,
    pub(super) radius: f64,
    /// Unit directions of its start and of its end.
    pub(super) from: Point,
    pub(super) to: Point,
    /// How far it turns, as [`quarters_to`] tells it: 2 for a half, 4 for a whole circle.
    pub(super) quarters: f64,
}

/// How far round a direction lies clockwise from another, as a number that grows with the angle by 1 a quarter: in each, sine over sine
/// plus cosine.
pub(super) fn quarters_to(from: Point, direction: Point) -> f64 {
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
    pub(super) fn angle(&self, from: f64, to: f64) -> f64 {
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

    pub(super) fn push(&self, direction: Point, cuts: &mut Vec<f64>) {
        let share = self.share(direction);
        if share < 1.0 {
            cuts.push(share);
        }
    }
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
