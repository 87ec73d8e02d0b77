//! Rooms, their walls, and what stands or lies in them.

use super::{InRoom, Named, Thing, World, middle};
use crate::finding::Subject;
use crate::geometry::{Bounds, Piece, Site};
use crate::layout::kinds::Kind;
use crate::measure::room::{Feature, RoomMeasure};
use crate::model::{Name, Plan, Point, Room, Wall};
use crate::source::Place;

/// A room: its index in the plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct RoomId(pub usize);

impl<'a> World<'a> {
    /// A room's measurements.
    pub fn measured(&self, room: RoomId) -> &RoomMeasure<'a> {
        &self.rooms[room.0]
    }

    /// A room as the plan gives it.
    pub fn room(&self, room: RoomId) -> &'a Room {
        self.rooms[room.0].room
    }
}

impl Thing for RoomId {
    const WORD: &'static str = "room";

    fn room(self) -> Option<RoomId> {
        Some(self)
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("room `{}`", world.room(self).name.text)
    }

    fn place(self, world: &World<'_>) -> Place {
        world.room(self).name.place
    }

    fn named(_plan: &Plan, room: Option<RoomId>, name: Named<'_>) -> Option<Self> {
        room.filter(|_| name.kind == Kind::Room)
    }
}

/// A wall: its index in its room, which is that of the corner it starts at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct WallId {
    /// The room.
    pub room: RoomId,
    /// The index.
    pub index: usize,
}

impl<'a> World<'a> {
    /// A wall as the plan gives it.
    pub fn wall(&self, wall: WallId) -> &'a Wall {
        &self.room(wall.room).walls[wall.index]
    }

    /// A wall's corners.
    fn ends(&self, wall: WallId) -> Option<[Point; 2]> {
        let corners = &self.room(wall.room).corners;
        let next = (wall.index + 1) % corners.len().max(1);
        Some([*corners.get(wall.index)?, *corners.get(next)?])
    }
}

impl Thing for WallId {
    const WORD: &'static str = "wall";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        match &world.wall(self).title {
            Some(title) => format!("wall {} (\"{title}\")", self.index + 1),
            None => format!("wall {}", self.index + 1),
        }
    }

    fn place(self, world: &World<'_>) -> Place {
        world.wall(self).place
    }

    fn spot(self, world: &World<'_>) -> Option<Point> {
        world.ends(self).map(|[a, b]| middle(a, b))
    }

    fn site(self, world: &World<'_>) -> Option<Site> {
        Site::of_stretches(vec![world.ends(self).map(|[a, b]| Piece::new(a, b))?])
    }

    fn extent(self, world: &World<'_>) -> Option<Bounds> {
        world.ends(self).map(|[a, b]| Bounds::between(a, b))
    }
}

/// What the plan says of a feature: its kind as names have it, what it is called, its name, its statement.
struct Said<'a> {
    kind: Kind,
    word: &'static str,
    name: &'a Name,
    place: Place,
}

impl InRoom<Feature> {
    fn said<'a>(self, world: &World<'a>) -> Said<'a> {
        let room = world.room(self.room);
        match self.thing {
            Feature::Area(index) => {
                let area = &room.areas[index];
                Said { kind: area.kind.named(), word: area.kind.word(), name: &area.name, place: area.place }
            }
            Feature::Line(index) => {
                let line = &room.lines[index];
                let kind = line.kind.named();
                Said { kind, word: kind.word(), name: &line.name, place: line.place }
            }
            Feature::ShowerHead(index) => {
                let head = &room.shower_heads[index];
                let kind = Kind::ShowerHead;
                Said { kind, word: kind.word(), name: &head.name, place: head.place }
            }
        }
    }

    /// What it is called: `fixture`, `drill zone`, `stairs` …
    pub fn word(self, world: &World<'_>) -> &'static str {
        self.said(world).word
    }

    /// Its name.
    pub fn name<'a>(self, world: &World<'a>) -> &'a Name {
        self.said(world).name
    }
}

impl Thing for InRoom<Feature> {
    const WORD: &'static str = "feature";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        let said = self.said(world);
        format!("{} `{}`", said.word, said.name.text)
    }

    fn place(self, world: &World<'_>) -> Place {
        self.said(world).place
    }

    fn spot(self, world: &World<'_>) -> Option<Point> {
        let room = world.room(self.room);
        match self.thing {
            Feature::Area(index) => {
                let Bounds { low, high } = room.areas[index].shape.bounds();
                Some(middle(low, high))
            }
            Feature::Line(index) => match room.lines[index].points.as_slice() {
                [first, second, ..] => Some(middle(*first, *second)),
                _ => None,
            },
            Feature::ShowerHead(index) => Some(room.shower_heads[index].at),
        }
    }

    fn site(self, world: &World<'_>) -> Option<Site> {
        match self.thing {
            Feature::Line(index) => {
                Site::of_stretches(Piece::of_line(&world.room(self.room).lines[index].points).collect())
            }
            Feature::Area(_) | Feature::ShowerHead(_) => self.spot(world).map(Site::at),
        }
    }

    fn extent(self, world: &World<'_>) -> Option<Bounds> {
        let room = world.room(self.room);
        match self.thing {
            Feature::Area(index) => Some(room.areas[index].shape.bounds()),
            Feature::Line(index) => Some(Bounds::around(&room.lines[index].points)),
            Feature::ShowerHead(_) => None,
        }
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        let said = self.said(world);
        if Kind::TARGETS.contains(&said.kind) { super::subject(said.kind, said.name) } else { Vec::new() }
    }

    fn named(plan: &Plan, room: Option<RoomId>, name: Named<'_>) -> Option<Self> {
        let id = room?;
        let room = &plan.rooms[id.0];
        let is_it = |kind: Kind, own: &Name| kind == name.kind && own.text == name.text;
        let area = room.areas.iter().zip(0..).find(|(area, _)| is_it(area.kind.named(), &area.name));
        let line = room.lines.iter().zip(0..).find(|(line, _)| is_it(line.kind.named(), &line.name));
        let head = room.shower_heads.iter().zip(0..).find(|(head, _)| is_it(Kind::ShowerHead, &head.name));
        let feature = area.map(|(_, index)| Feature::Area(index));
        let feature = feature.or(line.map(|(_, index)| Feature::Line(index)));
        let thing = feature.or(head.map(|(_, index)| Feature::ShowerHead(index)))?;
        Some(InRoom { room: id, thing })
    }
}
