//! Rugs and flat furniture, and the cable below them.

use super::{CableId, InRoom, Named, RoomId, Thing, World, middle};
use crate::finding::Subject;
use crate::geometry::{Bounds, Site};
use crate::layout::kinds::Kind;
use crate::measure::rugs::UnderRug;
use crate::measure::strips::Stretch;
use crate::model::{Plan, Point, Rug};
use crate::source::Place;

/// A rug, or flat furniture: its index in its room.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct RugId {
    /// The room.
    pub room: RoomId,
    /// The index.
    pub index: usize,
}

impl<'a> World<'a> {
    /// A rug as the plan gives it.
    pub fn rug(&self, rug: RugId) -> &'a Rug {
        &self.room(rug.room).rugs[rug.index]
    }
}

impl Thing for RugId {
    const WORD: &'static str = "rug";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("rug `{}`", world.rug(self).name.text)
    }

    fn place(self, world: &World<'_>) -> Place {
        world.rug(self).place
    }

    fn spot(self, world: &World<'_>) -> Option<Point> {
        let Bounds { low, high } = world.rug(self).shape.bounds();
        Some(middle(low, high))
    }

    fn extent(self, world: &World<'_>) -> Option<Bounds> {
        Some(world.rug(self).shape.bounds())
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        super::subject(Kind::Rug, &world.rug(self).name)
    }

    fn named(plan: &Plan, room: Option<RoomId>, name: Named<'_>) -> Option<Self> {
        let room = room?;
        let index = name.position(Kind::Rug, &plan.rooms[room.0].rugs, |rug| &rug.name)?;
        Some(RugId { room, index })
    }
}

/// Where a cable heats the narrowest strip of floor below some rugs: its index among those of its room.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct UnderRugId {
    /// The room.
    pub room: RoomId,
    /// The index.
    pub index: usize,
}

impl UnderRugId {
    /// What is measured there; nothing where it can't be told, of which there is no such thing.
    pub fn measured<'w>(self, world: &'w World<'_>) -> Option<&'w UnderRug> {
        world.measured(self.room).under_rugs().get(self.index)?.as_ref().ok()
    }

    /// The stretch.
    pub fn stretch(self, world: &World<'_>) -> Option<InRoom<Stretch>> {
        self.measured(world).map(|under| InRoom { room: self.room, thing: under.stretch })
    }

    /// The cable.
    pub fn cable(self, world: &World<'_>) -> Option<CableId> {
        self.stretch(world).map(|stretch| stretch.run().cable())
    }

    /// The rugs over it.
    pub fn rugs(self, world: &World<'_>) -> Vec<RugId> {
        let rugs = self.measured(world).map(|under| under.rugs.as_slice()).unwrap_or_default();
        rugs.iter().map(|index| RugId { room: self.room, index: *index }).collect()
    }
}

impl Thing for UnderRugId {
    const WORD: &'static str = "stretch under a rug";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        let rugs: Vec<String> = self.rugs(world).into_iter().map(|rug| rug.describe(world)).collect();
        let run = self.stretch(world).map(|stretch| stretch.describe(world)).unwrap_or_default();
        format!("{run} below {}", rugs.join(" and "))
    }

    fn place(self, world: &World<'_>) -> Place {
        self.stretch(world).map_or_else(|| self.room.place(world), |stretch| stretch.place(world))
    }

    fn spot(self, world: &World<'_>) -> Option<Point> {
        self.stretch(world)?.spot(world)
    }

    fn site(self, world: &World<'_>) -> Option<Site> {
        self.stretch(world)?.site(world)
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        let rugs = self.rugs(world).into_iter().flat_map(|rug| rug.subjects(world));
        rugs.chain(self.cable(world).into_iter().flat_map(|cable| cable.subjects(world))).collect()
    }
}
