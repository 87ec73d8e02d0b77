//! How far it is from a place on the floor to a wall or a fixture, straight ahead.

use super::resolver::Resolver;
use crate::geometry::ring::edges;
use crate::geometry::tolerance::TOUCH;
use crate::geometry::{Piece, Point, distance, dot};
use crate::layout::kinds::Kind;
use crate::layout::tree::{Heading, Reach, ReachTo};
use crate::model::fault::Fault;
use crate::model::values::direction;
use crate::model::{AreaKind, Room, Shape};
use crate::quantity::Dimension;
use crate::worded::Worded as _;

/// What is reached for, in words.
pub(super) fn what(reach: &Reach) -> String {
    match &reach.to {
        ReachTo::Wall(number) => format!("wall {}", number.text),
        ReachTo::Fixture(name) => format!("fixture `{}`", name.text),
    }
}

impl Resolver {
    /// How much short of what is reached for something ends, mm.
    pub(super) fn less(&mut self, reach: &Reach) -> Option<f64> {
        reach.less.as_ref().map_or(Some(0.0), |less| self.not_negative(less, Dimension::LENGTH))
    }

    /// How far a line from one point to another, or one point twice, may go in a direction across it until it meets what is reached for, mm; a
    /// fault where that doesn't lie ahead.
    pub(super) fn ahead(&mut self, reach: &Reach, room: &Room, line: [Point; 2], heading: Heading) -> Option<f64> {
        let ahead = match &reach.to {
            ReachTo::Wall(word) => {
                // Without an outline there are no walls to count, which is told of already.
                if room.corners.is_empty() {
                    return None;
                }
                let number = word.text.parse::<usize>().unwrap_or(0);
                let Some(wall) = number.checked_sub(1).and_then(|index| edges(&room.corners).nth(index)) else {
                    let fault = Fault::UnknownWall { number: word.text.clone(), walls: room.corners.len() };
                    self.fault(self.place(word.span), fault);
                    return None;
                };
                Sight::new(line, heading).edge(wall)
            }
            ReachTo::Fixture(word) => {
                let is_it = |kind: &AreaKind| matches!(kind, AreaKind::Fixture { .. });
                let Some(area) = room.areas.iter().find(|area| is_it(&area.kind) && area.name.text == word.text) else {
                    self.unknown(Kind::Fixture, word, &room.names(Kind::Fixture));
                    return None;
                };
                Sight::new(line, heading).shape(&area.shape)
            }
        };
        if ahead.is_none() {
            let fault = Fault::NotAhead { what: what(reach), heading: heading.word(), here: line[0] };
            self.fault(self.place(reach.span), fault);
        }
        ahead
    }
}

/// What is looked for straight ahead of a line.
struct Sight {
    origin: Point,
    step: Point,
    side: Point,
    width: f64,
}

impl Sight {
    fn new(line: [Point; 2], heading: Heading) -> Self {
        let step = direction(heading);
        let width = distance(line[0], line[1]);
        let side = if width > 0.0 { (line[1] - line[0]) / width } else { Point { x: -step.y, y: step.x } };
        Sight { origin: line[0], step, side, width }
    }

    /// Where a point lies: how far ahead, and how far aside, mm.
    fn place(&self, point: Point) -> (f64, f64) {
        (dot(point - self.origin, self.step), dot(point - self.origin, self.side))
    }

    /// How far ahead an edge is met; nothing where it lies aside or behind.
    fn edge(&self, edge: Piece) -> Option<f64> {
        let ((ahead, aside), (ahead_then, aside_then)) = (self.place(edge.start), self.place(edge.end));
        let across = aside_then - aside;
        let (from, to) = if across.abs() <= TOUCH {
            if aside < -TOUCH || aside > self.width + TOUCH {
                return None;
            }
            (0.0, 1.0)
        } else {
            let (one, other) = (-aside / across, (self.width - aside) / across);
            let give = TOUCH / across.abs();
            let (first, last) = (one.min(other), one.max(other));
            if last < -give || first > 1.0 + give {
                return None;
            }
            (first.clamp(0.0, 1.0), last.clamp(0.0, 1.0))
        };
        let at = |share: f64| ahead + (ahead_then - ahead) * share;
        let (near, far) = (at(from).min(at(to)), at(from).max(at(to)));
        (far > -TOUCH).then_some(near.max(0.0))
    }

    /// How far ahead a shape is met.
    fn shape(&self, shape: &Shape) -> Option<f64> {
        match shape {
            Shape::Polygon(corners) => edges(corners).filter_map(|edge| self.edge(edge)).min_by(f64::total_cmp),
            Shape::Circle { centre, radius } => {
                let (ahead, aside) = self.place(*centre);
                let off = aside - aside.clamp(0.0, self.width);
                let half = (radius * radius - off * off).max(0.0).sqrt();
                (off.abs() < *radius && ahead + half > -TOUCH).then_some((ahead - half).max(0.0))
            }
        }
    }
}
