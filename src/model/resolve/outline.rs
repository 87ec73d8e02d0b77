//! Resolves outlines, and the walls and doors along them.

use super::resolver::Resolver;
use super::room::Draft;
use crate::geometry::ring::signed_area;
use crate::geometry::tolerance::TOUCH;
use crate::layout::kinds::Kind;
use crate::layout::tree::{self, Leg, Outline, Word};
use crate::model::fault::Fault;
use crate::model::shape::{MOST_CORNERS, RingFault, check_ring};
use crate::model::values::direction;
use crate::model::{Line, LineKind, Point, Swing, Wall};
use crate::quantity::{Dimension, Quantity};
use crate::source::Place;

impl Resolver {
    /// `outline …`
    pub(super) fn outline(&mut self, item: &Outline, draft: &mut Draft) {
        let place = self.place(item.span);
        if let Some(earlier) = draft.outline {
            self.fault(place, Fault::TwoOutlines { room: draft.room.name.text.clone(), earlier });
            return;
        }
        draft.outline = Some(place);
        let Some((corners, walls)) = self.corners(item) else { return };
        if let Err(fault) = check_ring(&corners) {
            self.no_ring(fault, &draft.room.name.text, place, &walls);
            return;
        }
        draft.room.corners = corners;
        draft.room.walls = walls;
        draft.outlined = true;
    }

    /// The corners of an outline and the walls between them.
    fn corners(&mut self, outline: &Outline) -> Option<(Vec<Point>, Vec<Wall>)> {
        let first = self.point(&outline.first)?;
        let mut corners = vec![first];
        let mut walls = Vec::with_capacity(outline.legs.len() + 1);
        let mut last_span = outline.first.span;
        let mut here = first;
        let mut whole = true;
        for leg in &outline.legs {
            let (next, span) = match leg {
                Leg::To(point) => (self.point(point), last_span.to(point.span)),
                Leg::Along(heading, length, span) => {
                    let end =
                        self.quantity(length, Dimension::LENGTH).map(|length| here + direction(*heading) * length);
                    let place = self.place(*span);
                    (end.filter(|end| self.values.within_reach(*end, place)), *span)
                }
            };
            let Some(next) = next else {
                whole = false;
                continue;
            };
            walls.push(Wall { title: None, outside: false, place: self.place(span) });
            last_span = match leg {
                Leg::To(point) => point.span,
                Leg::Along(.., span) => *span,
            };
            corners.push(next);
            here = next;
        }
        if !whole {
            return None;
        }
        // A walk may end by stepping back onto its first corner; the closing wall is then drawn already.
        if corners.len() > 1 && (here - first).x.hypot((here - first).y) < TOUCH {
            corners.pop();
        } else {
            walls.push(Wall { title: None, outside: false, place: self.place(last_span) });
        }
        Some((corners, walls))
    }

    /// A fault for an outline that encloses nothing.
    fn no_ring(&mut self, fault: RingFault, room: &str, place: Place, walls: &[Wall]) {
        let room = room.to_string();
        let wall = |index: usize| walls.get(index).map_or(place, |wall| wall.place);
        let (place, fault) = match fault {
            RingFault::TooFew => (place, Fault::OutlineTooShort { room }),
            RingFault::TooMany => (place, Fault::OutlineTooLong { room, most: MOST_CORNERS }),
            RingFault::NoArea => (place, Fault::OutlineOfNoArea { room }),
            RingFault::EmptyEdge(index) => (wall(index), Fault::WallOfNoLength { room, wall: index + 1 }),
            RingFault::Crossing(a, b) => {
                (wall(b), Fault::OutlineCrossesItself { room, wall: b + 1, other: a + 1, first: wall(a) })
            }
        };
        self.fault(place, fault);
    }

    /// `wall N "title" outside`
    pub(super) fn wall(&mut self, item: &tree::Wall, draft: &mut Draft) {
        let Some(index) = self.wall_number(&item.number, draft) else { return };
        let place = self.place(item.span);
        if let Some(earlier) = draft.described.insert(index, place) {
            self.fault(place, Fault::WallTwice { wall: index + 1, earlier });
        }
        let wall = &mut draft.room.walls[index];
        wall.title = item.title.as_ref().map(|title| title.text.clone());
        wall.outside = item.outside;
    }

    /// The index of the wall that a number stands for; nothing where there is no outline to count along, which is a fault of its own.
    fn wall_number(&mut self, word: &Word, draft: &Draft) -> Option<usize> {
        if !draft.outlined {
            return None;
        }
        let number: usize = word.text.parse().unwrap_or(0);
        if number == 0 || number > draft.room.walls.len() {
            let fault = Fault::UnknownWall { number: word.text.clone(), walls: draft.room.walls.len() };
            self.fault(self.place(word.span), fault);
            return None;
        }
        Some(number - 1)
    }

    /// `door NAME wall N from A to B`
    pub(super) fn door(&mut self, item: &tree::Door, draft: &mut Draft) {
        let place = self.place(item.span);
        let wall = self.wall_number(&item.wall, draft);
        let from = self.quantity(&item.from, Dimension::LENGTH);
        let to = self.quantity(&item.to, Dimension::LENGTH);
        let (Some(wall), Some(from), Some(to)) = (wall, from, to) else { return };
        let room = &mut draft.room;
        let (start, end) = (room.corners[wall], room.corners[(wall + 1) % room.corners.len()]);
        let along = end - start;
        let length = along.x.hypot(along.y);
        // Round the room the other way, the wall's first corner is on the other hand.
        let counter_clockwise = signed_area(&room.corners) > 0.0;
        let (first, last) = match item.side {
            Some(side) if (side == tree::Side::Left) == counter_clockwise => (length - to, length - from),
            _ => (from, to),
        };
        if from >= to || from < -TOUCH || to > length + TOUCH {
            let fault = Fault::DoorOffWall {
                door: item.name.text.clone(),
                from,
                to,
                wall: wall + 1,
                length: Quantity::new(length, Dimension::LENGTH),
                drawn: room.walls[wall].place,
            };
            self.fault(place, fault);
            return;
        }
        let name = self.name(&item.name);
        let doors = room.lines.iter().filter(|line| matches!(line.kind, LineKind::Door { .. }));
        if self.is_free(Kind::Door, &name, doors) {
            let at = |distance: f64| start + along * (distance / length);
            room.lines.push(Line {
                name,
                kind: LineKind::Door { wall, through: item.through },
                points: vec![at(first), at(last)],
                // Facing the wall from inside, its left end is the one that a room drawn counter-clockwise comes to last.
                swing: item
                    .swing
                    .map(|(side, outward)| Swing { at_last: (side == tree::Side::Left) == counter_clockwise, outward }),
                place,
            });
        }
    }
}
