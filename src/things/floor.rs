//! The floor of a room: its build-up, its bays, what of it stays cold.

use super::{InRoom, Named, RoomId, Thing, World, show_place};
use crate::geometry::Site;
use crate::layout::kinds::Kind;
use crate::measure::bays::Bay;
use crate::measure::cover::Patch;
use crate::model::{Floor, Layer, Plan, Point};
use crate::source::Place;

/// The build-up of the floor of a room that gives one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct FloorOf(pub RoomId);

impl<'a> World<'a> {
    /// The build-up of a room's floor.
    pub fn floor(&self, room: RoomId) -> Option<&'a Floor> {
        self.room(room).floor.as_ref()
    }
}

impl Thing for FloorOf {
    const WORD: &'static str = "floor";

    fn room(self) -> Option<RoomId> {
        Some(self.0)
    }

    fn describe(self, world: &World<'_>) -> String {
        let timber = world.floor(self.0).is_some_and(|floor| floor.timber);
        format!("the {} floor", if timber { "timber" } else { "concrete" })
    }

    fn place(self, world: &World<'_>) -> Place {
        world.floor(self.0).map_or_else(|| self.0.place(world), |floor| floor.place)
    }
}

/// A layer of a floor: its index from the top.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct LayerId {
    /// The room.
    pub room: RoomId,
    /// The index.
    pub index: usize,
}

impl<'a> World<'a> {
    /// A layer as the plan gives it.
    pub fn layer(&self, layer: LayerId) -> Option<&'a Layer> {
        self.floor(layer.room)?.layers.get(layer.index)
    }
}

impl Thing for LayerId {
    const WORD: &'static str = "layer";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("layer `{}`", world.layer(self).map_or("", |layer| &layer.name.text))
    }

    fn place(self, world: &World<'_>) -> Place {
        world.layer(self).map_or_else(|| self.room.place(world), |layer| layer.name.place)
    }

    fn named(plan: &Plan, room: Option<RoomId>, name: Named<'_>) -> Option<Self> {
        let room = room?;
        let floor = plan.rooms[room.0].floor.as_ref()?;
        let index = name.position(Kind::Layer, &floor.layers, |layer| &layer.name)?;
        Some(LayerId { room, index })
    }
}

impl Thing for InRoom<Bay> {
    const WORD: &'static str = "bay";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        match world.measured(self.room).bays() {
            Some([_]) => format!("the floor of {}", self.room.describe(world)),
            _ => format!("the bay from {}", show_place(self.thing.at)),
        }
    }

    fn place(self, world: &World<'_>) -> Place {
        self.room.place(world)
    }

    fn spot(self, _world: &World<'_>) -> Option<Point> {
        Some(self.thing.at)
    }

    fn site(self, world: &World<'_>) -> Option<Site> {
        let outline = world.measured(self.room).bay_outline(&self.thing)?.to_vec();
        Some(Site::of_area(self.thing.at, outline, true))
    }
}

/// A cold patch.
impl Thing for InRoom<Patch> {
    const WORD: &'static str = "cold patch";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, _world: &World<'_>) -> String {
        format!("the cold patch near {}", show_place(self.thing.at))
    }

    fn place(self, world: &World<'_>) -> Place {
        self.room.place(world)
    }

    fn spot(self, _world: &World<'_>) -> Option<Point> {
        Some(self.thing.at)
    }

    fn site(self, world: &World<'_>) -> Option<Site> {
        world.measured(self.room).site_of_patch(&self.thing).or_else(|| self.spot(world).map(Site::at))
    }
}
