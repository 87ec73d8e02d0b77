//! Resolves rooms: in what order their statements are read, and what of a room can't be relied upon after faults.

use std::collections::HashMap;

use super::resolver::{Once, Resolver, namesake};
use crate::layout::kinds::Kind;
use crate::layout::tree::{self, LineExpr, RoomEntry};
use crate::model::fault::Fault;
use crate::model::{Below, Bonding, Floor, Record, Room};
use crate::source::Place;

/// The most statements that a room may hold, the runs of its cables not counted.
const MOST_STATEMENTS: usize = 2_000;

/// A room as far as it is resolved.
#[derive(Default)]
pub(super) struct Draft {
    pub(super) room: Room,
    /// Where its outline is drawn.
    pub(super) outline: Option<Place>,
    /// Whether that is sound: without one it is no room, and its walls can't be counted.
    pub(super) outlined: bool,
    /// Where walls are described, by their indices.
    pub(super) described: HashMap<usize, Place>,
    pub(super) inside: Once<f64>,
    pub(super) below: Once<Below>,
    pub(super) heat_loss: Once<f64>,
    pub(super) floor: Once<Floor>,
    pub(super) earthed_grid: Once<f64>,
    pub(super) bonded: Once<Bonding>,
    pub(super) record: Once<Record>,
}

/// When a statement is resolved: after all whose names it may use, since these may stand below it.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Pass {
    /// What gives values their names.
    Values,
    /// The outline, of which others count the walls.
    Outline,
    /// What uses no names of the room's things.
    Things,
    /// What names thermostats and junction boxes.
    Connected,
    /// What is led in between runs.
    Laid,
    /// What names cables and all the rest.
    Papers,
}

impl Pass {
    fn of(entry: &RoomEntry) -> Pass {
        match entry {
            RoomEntry::Let(_) => Pass::Values,
            RoomEntry::Outline(_) => Pass::Outline,
            RoomEntry::Wall(_)
            | RoomEntry::Door(_)
            | RoomEntry::Area(_)
            | RoomEntry::Rug(_)
            | RoomEntry::Line(_)
            | RoomEntry::ShowerHead(_)
            | RoomEntry::EarthedGrid(..)
            | RoomEntry::Bonded(..)
            | RoomEntry::Inside(..)
            | RoomEntry::Below(_)
            | RoomEntry::HeatLoss(..)
            | RoomEntry::Floor(_)
            | RoomEntry::UsedFloor(..)
            | RoomEntry::Junction(_)
            | RoomEntry::Thermostat(_) => Pass::Things,
            RoomEntry::Sensor(item) if item.between.is_some() => Pass::Laid,
            RoomEntry::Cable(_) | RoomEntry::Contactor(_) | RoomEntry::Sensor(_) => Pass::Connected,
            RoomEntry::Record(_) | RoomEntry::Deviation(_) => Pass::Papers,
        }
    }
}

/// Whether a fault of a statement may hide what lies in the floor. A misspelt material, say, keeps no rule about the room from being held.
fn lies_in_the_floor(entry: &RoomEntry) -> bool {
    match entry {
        RoomEntry::Line(line) => matches!(line.kind, LineExpr::Partition(_)),
        RoomEntry::Let(_)
        | RoomEntry::Outline(_)
        | RoomEntry::Area(_)
        | RoomEntry::ShowerHead(_)
        | RoomEntry::Junction(_)
        | RoomEntry::Thermostat(_)
        | RoomEntry::Cable(_)
        | RoomEntry::Contactor(_)
        | RoomEntry::Sensor(_) => true,
        RoomEntry::Wall(_)
        | RoomEntry::Door(_)
        | RoomEntry::EarthedGrid(..)
        | RoomEntry::Bonded(..)
        | RoomEntry::Inside(..)
        | RoomEntry::Below(_)
        | RoomEntry::HeatLoss(..)
        | RoomEntry::Floor(_)
        | RoomEntry::Rug(_)
        | RoomEntry::UsedFloor(..)
        | RoomEntry::Record(_)
        | RoomEntry::Deviation(_) => false,
    }
}

impl Draft {
    /// Keeps rules about the room as a whole from being held to it; the first reason is the one that is told.
    pub(super) fn incomplete(&mut self, why: impl FnOnce() -> String) {
        self.room.incomplete.get_or_insert_with(why);
    }

    fn finish(self) -> Room {
        Room {
            inside: self.inside.value(),
            below: self.below.value(),
            heat_loss: self.heat_loss.value(),
            floor: self.floor.value(),
            record: self.record.value(),
            earthed_grid: self.earthed_grid.stated(),
            bonded: self.bonded.value(),
            ..self.room
        }
    }
}

impl Resolver {
    /// `room NAME { … }`; nothing where it has no outline to hold the rest.
    pub(super) fn room(&mut self, item: &tree::Room) -> Option<Room> {
        if item.entries.len() > MOST_STATEMENTS {
            let (room, statements) = (item.name.text.clone(), item.entries.len());
            let fault = Fault::TooManyStatements { room, most: MOST_STATEMENTS, statements };
            self.fault(self.place(item.span), fault);
            return None;
        }
        let name = self.name(&item.name);
        let title = item.title.as_ref().map(|title| title.text.clone());
        let mut draft = Draft { room: Room { name, title, ..Room::default() }, ..Draft::default() };
        let mut missed = item.broken;
        missed |= self.pass(Pass::Values, item, &mut draft);
        missed |= self.pass(Pass::Outline, item, &mut draft);
        if draft.outline.is_none() && !item.broken {
            self.fault(self.place(item.span), Fault::NoOutline { room: item.name.text.clone() });
        }
        missed |= self.pass(Pass::Things, item, &mut draft);
        let faults = self.faults();
        self.join_junctions(&item.entries, &mut draft.room);
        self.pass(Pass::Connected, item, &mut draft);
        self.join_tails(&item.entries, &mut draft.room);
        self.pass(Pass::Laid, item, &mut draft);
        missed |= self.faults() > faults;
        self.pass(Pass::Papers, item, &mut draft);
        if missed {
            draft.incomplete(|| format!("something in room `{}` could not be read", item.name.text));
        }
        let outlined = draft.outlined;
        let room = draft.finish();
        let earlier = namesake(&room.name, &self.rooms);
        (self.is_first(Kind::Room, &room.name, earlier) && outlined).then_some(room)
    }

    /// Resolves a room's statements of one pass; whether something that lies in the floor could not be read.
    fn pass(&mut self, pass: Pass, item: &tree::Room, draft: &mut Draft) -> bool {
        let mut missed = false;
        for entry in item.entries.iter().filter(|entry| Pass::of(entry) == pass) {
            let faults = self.faults();
            self.entry(entry, draft);
            missed |= lies_in_the_floor(entry) && self.faults() > faults;
        }
        missed
    }

    /// One statement of a room.
    fn entry(&mut self, entry: &RoomEntry, draft: &mut Draft) {
        match entry {
            RoomEntry::Let(item) => self.values.define(self.file, &item.name, &item.value),
            RoomEntry::Outline(item) => self.outline(item, draft),
            RoomEntry::Wall(item) => self.wall(item, draft),
            RoomEntry::Door(item) => self.door(item, draft),
            RoomEntry::Area(item) => self.area(item, draft),
            RoomEntry::Rug(item) => self.rug(item, draft),
            RoomEntry::Line(item) => self.line(item, draft),
            RoomEntry::ShowerHead(item) => self.shower_head(item, draft),
            RoomEntry::EarthedGrid(mesh, span) => self.earthed_grid(mesh, *span, draft),
            RoomEntry::Bonded(main, span) => self.bonded(*main, *span, draft),
            RoomEntry::Inside(temperature, span) => self.inside(temperature, *span, draft),
            RoomEntry::Below(item) => self.below(item, draft),
            RoomEntry::HeatLoss(power, span) => self.heat_loss(power, *span, draft),
            RoomEntry::Floor(item) => self.floor(item, draft),
            RoomEntry::UsedFloor(word, span) => self.used_floor(word, *span, draft),
            RoomEntry::Junction(item) => self.junction(item, draft),
            RoomEntry::Thermostat(item) => self.thermostat(item, draft),
            RoomEntry::Contactor(item) => self.contactor(item, draft),
            RoomEntry::Cable(item) => self.cable(item, draft),
            RoomEntry::Sensor(item) => self.sensor(item, draft),
            RoomEntry::Record(item) => self.record(item, draft),
            RoomEntry::Deviation(item) => self.deviation(item, draft),
        }
    }
}
