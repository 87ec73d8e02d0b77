//! Parts of circles that bound what capsules leave uncovered.

use std::f64::consts::TAU;

use super::capsule::Laid;
use crate::geometry::{Bounds, Piece, Point, cross, dot};

/// How far beyond the ends of a ring's edge it is still crossed, as a share of it, so that nothing slips between two edges by rounding. A
/// crossing too many does no harm: it parts a stretch in two that are alike.
pub(super) const SLIP: f64 = 1e-9;

/// How far beyond a capsule's ends its sides, and within them the circles round these, are still met, mm: many times what rounding makes. A
/// place too many does no harm either.
const BESIDE: f64 = 1e-3;

/// A quarter, a half or a whole circle, clockwise. Places on it are told by directions from its centre, not by angles, so that finding where
/// others cut it takes no trigonometry.
#[derive(Debug, Clone, Copy)]
pub(super) struct Arc {
    pub(super) centre: Point,
    pub(super) radius: f64,
    /// Unit direction of its start.
    pub(super) from: Point,
    /// How far it turns, as [`quarters_to`] tells it: 1 for a quarter, 2 for a half, 4 for a whole circle.
    pub(super) quarters: f64,
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
        // Its ends without rounding, where other edges go on.
        if share == 0.0 {
            return self.centre + self.from * self.radius;
        }
        if share == 1.0 {
            let to = match self.quarters {
                1.0 => Point { x: self.from.y, y: -self.from.x },
                2.0 => self.from * -1.0,
                _ => self.from,
            };
            return self.centre + to * self.radius;
        }
        let (cosine, sine) = self.turned(share);
        let scale = self.radius / (cosine * cosine + sine * sine).sqrt();
        let side = Point { x: self.from.y, y: -self.from.x };
        self.centre + self.from * (cosine * scale) + side * (sine * scale)
    }

    /// The box around it.
    pub(super) fn bounds(&self) -> Bounds {
        let whole = Bounds::at(self.centre).widened(self.radius);
        if self.quarters != 2.0 {
            return whole;
        }
        // Half a circle has the directions that don't point against its middle, and so half of the box's sides; on the others lie its ends.
        let middle = Point { x: self.from.y, y: -self.from.x };
        let ends = Piece::new(self.at(0.0), self.at(1.0)).bounds();
        let side = |middle: f64, end: f64, whole: f64| if middle >= 0.0 { whole } else { end };
        Bounds {
            low: Point { x: side(-middle.x, ends.low.x, whole.low.x), y: side(-middle.y, ends.low.y, whole.low.y) },
            high: Point { x: side(middle.x, ends.high.x, whole.high.x), y: side(middle.y, ends.high.y, whole.high.y) },
        }
    }

    /// The angle turned from one share to another, radians.
    pub(super) fn angle(&self, from: f64, to: f64) -> f64 {
        let (a, b) = (self.turned(from), self.turned(to));
        let (cosine, sine) = (a.0 * b.0 + a.1 * b.1, a.0 * b.1 - a.1 * b.0);
        let angle = sine.atan2(cosine);
        // More than a quarter is no rounding about nothing; a whole circle comes back to where it began.
        if angle <= 0.0 && (to - from) * self.quarters > 1.0 { angle + TAU } else { angle }
    }

    /// The share at which it has a direction; 1 or more where it doesn't reach so far.
    fn share(&self, direction: Point) -> f64 {
        quarters_to(self.from, direction) / self.quarters
    }

    /// Adds the share at which it has a direction, where it reaches so far.
    fn cut_at(&self, direction: Point, cuts: &mut Vec<f64>) {
        let share = self.share(direction);
        if share < 1.0 {
            cuts.push(share);
        }
    }

    /// Adds the shares at which it has those of the directions that `counts`, whose cosine against a unit is this: where a line or a circle
    /// across that unit meets it.
    fn cut_across(&self, toward: Point, cosine: f64, counts: impl Fn(Point) -> bool, cuts: &mut Vec<f64>) {
        if cosine.abs() < 1.0 {
            let sine = (1.0 - cosine * cosine).sqrt();
            let across = Point { x: -toward.y, y: toward.x };
            let mut cut = |direction: Point| {
                if counts(direction) {
                    self.cut_at(direction, cuts);
                }
            };
            cut(toward * cosine + across * sine);
            cut(toward * cosine - across * sine);
        }
    }

    /// Adds the shares at which it may enter or leave a capsule: where it meets the circles round its ends, and the lines along its sides. Of
    /// a capsule, circles count beyond its ends and lines between them; of a rectangle, all do.
    pub(super) fn capsule_cuts(&self, laid: &Laid, cuts: &mut Vec<f64>) {
        let Piece { start, end } = laid.capsule.piece;
        let (axis, straight) = (laid.axis(), laid.length > 0.0);
        let before = dot(self.centre - start, axis);
        let along = |direction: Point| before + self.radius * dot(direction, axis);
        if laid.depth > 0.0 {
            laid.corners().into_iter().for_each(|corner| self.circle_cuts(laid, corner, |_| true, cuts));
            self.band_cuts(laid, axis, laid.length, |_| true, cuts);
        } else {
            self.circle_cuts(laid, start, |direction| !straight || along(direction) <= BESIDE, cuts);
            if straight {
                self.circle_cuts(laid, end, |direction| along(direction) >= laid.length - BESIDE, cuts);
            }
        }
        if straight {
            let between = |direction: Point| (-BESIDE..=laid.length + BESIDE).contains(&along(direction));
            self.band_cuts(laid, laid.normal, laid.depth, between, cuts);
        }
    }

    /// Adds the shares at which it meets the circle round one of a capsule's corners, in directions that `counts`.
    fn circle_cuts(&self, laid: &Laid, corner: Point, counts: impl Fn(Point) -> bool, cuts: &mut Vec<f64>) {
        let radius = laid.capsule.radius;
        let to = corner - self.centre;
        let square = dot(to, to);
        if square > 0.0 {
            let gap = square.sqrt();
            let cosine = (square + self.radius * self.radius - radius * radius) / (2.0 * gap * self.radius);
            self.cut_across(to / gap, cosine, counts, cuts);
        }
    }

    /// Adds the shares at which it meets the lines along two of a capsule's sides, in directions that `counts`: across a unit, a radius before
    /// and a radius beyond so much.
    fn band_cuts(&self, laid: &Laid, across: Point, width: f64, counts: impl Fn(Point) -> bool, cuts: &mut Vec<f64>) {
        let height = dot(across, self.centre - laid.capsule.piece.start);
        for line in [width + laid.capsule.radius, -laid.capsule.radius] {
            self.cut_across(across, (line - height) / self.radius, &counts, cuts);
        }
    }

    /// Adds the shares at which it crosses a straight piece. Ends of pieces are given a little more, so that none slips between two.
    pub(super) fn piece_cuts(&self, piece: Piece, cuts: &mut Vec<f64>) {
        let step = piece.step();
        let square = dot(step, step);
        let to = self.centre - piece.start;
        let middle = dot(to, step) / square;
        let height = cross(step, to);
        let half_square = (self.radius * self.radius - height * height / square) / square;
        if half_square > 0.0 {
            let half = half_square.sqrt();
            for share in [middle - half, middle + half] {
                if (-SLIP..=1.0 + SLIP).contains(&share) {
                    self.cut_at((piece.along(share) - self.centre) / self.radius, cuts);
                }
            }
        }
    }
}
