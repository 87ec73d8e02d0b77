//! Heating cables, their runs and corners, and the kits they are made of.

use super::{InRoom, Named, RoomId, Thing, World, middle};
use crate::finding::Subject;
use crate::geometry::{Bounds, Piece, Site};
use crate::layout::kinds::Kind;
use crate::measure::index::RunId;
use crate::measure::leads::CableEnd;
use crate::measure::length::Turn;
use crate::measure::strips::Stretch;
use crate::model::{Cable, Kit, Plan, Point, Run};
use crate::source::Place;

/// A heating cable: its index in its room.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct CableId {
    /// The room.
    pub room: RoomId,
    /// The index.
    pub index: usize,
}

impl<'a> World<'a> {
    /// A cable as the plan gives it.
    pub fn cable(&self, cable: CableId) -> &'a Cable {
        &self.room(cable.room).cables[cable.index]
    }
}

impl Thing for CableId {
    const WORD: &'static str = "cable";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("cable `{}`", world.cable(self).name.text)
    }

    fn place(self, world: &World<'_>) -> Place {
        world.cable(self).place
    }

    fn spot(self, world: &World<'_>) -> Option<Point> {
        Some(world.cable(self).runs.first()?.start)
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        super::subject(Kind::Cable, &world.cable(self).name)
    }

    fn named(plan: &Plan, room: Option<RoomId>, name: Named<'_>) -> Option<Self> {
        let room = room?;
        let index = name.position(Kind::Cable, &plan.rooms[room.0].cables, |cable| &cable.name)?;
        Some(CableId { room, index })
    }
}

impl InRoom<RunId> {
    /// The cable it is part of.
    pub fn cable(self) -> CableId {
        CableId { room: self.room, index: self.thing.in_room() }
    }
}

impl<'a> World<'a> {
    /// A run as the plan lays it.
    pub fn run(&self, run: InRoom<RunId>) -> &'a Run {
        &self.cable(run.cable()).runs[run.thing.in_cable()]
    }
}

impl Thing for InRoom<RunId> {
    const WORD: &'static str = "run";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("run {} of {}", self.thing.run + 1, self.cable().describe(world))
    }

    fn place(self, world: &World<'_>) -> Place {
        world.run(self).place
    }

    fn spot(self, world: &World<'_>) -> Option<Point> {
        let run = world.run(self);
        Some(middle(run.start, run.end))
    }

    fn site(self, world: &World<'_>) -> Option<Site> {
        Site::of_stretches(vec![world.run(self).piece()])
    }

    fn extent(self, world: &World<'_>) -> Option<Bounds> {
        Some(world.run(self).piece().bounds())
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        self.cable().subjects(world)
    }
}

/// By how many straight pieces the curve of a corner is shown.
const CHORDS: u32 = 8;

/// A corner of a cable.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TurnOf {
    /// The cable.
    pub cable: CableId,
    /// The corner.
    pub turn: Turn,
}

impl Thing for TurnOf {
    const WORD: &'static str = "turn";

    fn room(self) -> Option<RoomId> {
        Some(self.cable.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("the turn after run {} of {}", self.turn.run + 1, self.cable.describe(world))
    }

    fn place(self, world: &World<'_>) -> Place {
        // The run after the corner is the one that turns too tight.
        let runs = &world.cable(self.cable).runs;
        let run = runs.get(self.turn.run + 1).or(runs.get(self.turn.run));
        run.map_or_else(|| self.cable.room.place(world), |run| run.place)
    }

    fn spot(self, world: &World<'_>) -> Option<Point> {
        Some(world.cable(self.cable).runs.get(self.turn.run)?.end)
    }

    /// Its curve, as tight as it has to be there.
    fn site(self, world: &World<'_>) -> Option<Site> {
        let runs = &world.cable(self.cable).runs;
        let [before, after] = runs.get(self.turn.run..self.turn.run + 2)? else { return None };
        let curve = self.turn.curve(before, after, CHORDS);
        let middle = curve.get(curve.len() / 2).copied().or_else(|| self.spot(world))?;
        Some(Site { stretches: Piece::of_line(&curve).collect(), ..Site::at(middle) })
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        self.cable.subjects(world)
    }
}

impl InRoom<CableEnd> {
    /// The cable that ends here.
    pub fn cable(self) -> CableId {
        CableId { room: self.room, index: self.thing.cable }
    }

    /// Whether a cold tail is joined on here: at the start, and at the far end of a cable that has one there.
    pub fn is_joint(self, world: &World<'_>) -> bool {
        let cable = world.cable(self.cable());
        let single = cable.kit.is_some_and(|kit| world.kit(KitId(kit)).cores == 1);
        !self.thing.far || single || cable.second_tail.is_some()
    }
}

/// A cold joint or an end termination.
impl Thing for InRoom<CableEnd> {
    const WORD: &'static str = "end of a cable";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        let what = match (self.is_joint(world), self.thing.far) {
            (true, false) => "the cold joint",
            (true, true) => "the second cold joint",
            (false, _) => "the end termination",
        };
        format!("{what} of {}", self.cable().describe(world))
    }

    fn place(self, world: &World<'_>) -> Place {
        let cable = world.cable(self.cable());
        match self.thing.far {
            false => cable.start,
            true => cable.runs.last().map_or(cable.place, |run| run.place),
        }
    }

    fn spot(self, world: &World<'_>) -> Option<Point> {
        world.measured(self.room).end_at(self.thing)
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        self.cable().subjects(world)
    }
}

impl InRoom<Stretch> {
    /// The run that it is a stretch of.
    pub fn run(self) -> InRoom<RunId> {
        self.beside(self.thing.run)
    }

    /// Whether it stands for a cable that lies evenly and isn't drawn, so that it is a stretch of no run.
    fn is_even(self, world: &World<'_>) -> bool {
        world.room(self.room).evenly.is_some()
    }
}

impl Thing for InRoom<Stretch> {
    const WORD: &'static str = "stretch";

    fn room(self) -> Option<RoomId> {
        Some(self.room)
    }

    fn describe(self, world: &World<'_>) -> String {
        if self.is_even(world) {
            return format!("each run of {}", self.run().cable().describe(world));
        }
        self.run().describe(world)
    }

    fn place(self, world: &World<'_>) -> Place {
        if self.is_even(world) { self.run().cable().place(world) } else { self.run().place(world) }
    }

    fn spot(self, world: &World<'_>) -> Option<Point> {
        if self.is_even(world) {
            return None;
        }
        let run = world.run(self.run());
        let middle = f64::midpoint(self.thing.from, self.thing.to) / run.length();
        Some(crate::geometry::along(run.start, run.end, middle))
    }

    fn site(self, world: &World<'_>) -> Option<Site> {
        if self.is_even(world) {
            return None;
        }
        let run = world.run(self.run());
        let at = |mm: f64| crate::geometry::along(run.start, run.end, mm / run.length());
        Site::of_stretches(vec![Piece::new(at(self.thing.from), at(self.thing.to))])
    }

    fn subjects(self, world: &World<'_>) -> Vec<Subject> {
        self.run().subjects(world)
    }
}

/// A kit: its index in the plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct KitId(pub usize);

impl<'a> World<'a> {
    /// A kit as the plan gives it.
    pub fn kit(&self, kit: KitId) -> &'a Kit {
        &self.plan.kits[kit.0]
    }
}

impl Thing for KitId {
    const WORD: &'static str = "kit";

    fn room(self) -> Option<RoomId> {
        None
    }

    fn describe(self, world: &World<'_>) -> String {
        format!("kit `{}`", world.kit(self).name.text)
    }

    fn place(self, world: &World<'_>) -> Place {
        world.kit(self).name.place
    }

    fn named(plan: &Plan, _room: Option<RoomId>, name: Named<'_>) -> Option<Self> {
        plan.kits.named(name.text).filter(|_| name.kind == Kind::Kit).map(KitId)
    }
}
