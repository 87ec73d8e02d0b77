//! Resolves heating cables. Their ways over the floor are walked in [`path`](super::path).

use super::path::Around;
use super::resolver::{Once, Resolver};
use super::room::Draft;
use crate::geometry::tolerance::TOUCH;
use crate::layout::kinds::Kind;
use crate::layout::tree::{self, CableEntry, RoomEntry, TailFrom, Word};
use crate::model::fault::Fault;
use crate::model::{Cable, LineKind, Name, Point, Room, Run, SecondTail, Stated};
use crate::source::{Place, Span};

/// What the lines of a cable give besides its runs.
#[derive(Default)]
struct Given {
    kit: Once<usize>,
    /// The name of a kit that isn't known.
    unknown_kit: Option<String>,
    tail: Once<Tail>,
    second_tail: Once<Tail>,
    by: Once<usize>,
}

/// A cold tail as it is drawn.
struct Tail {
    /// The junction box that it comes from.
    junction: Option<usize>,
    points: Vec<Point>,
    /// Where the last point is written.
    end: Option<Span>,
    /// The joints that it crosses in a sleeve.
    sleeves: Vec<usize>,
}

/// An end of a cable.
#[derive(Clone, Copy)]
enum CableEnd {
    Start,
    Far,
}

impl Resolver {
    /// `cable NAME { … }`
    pub(super) fn cable(&mut self, item: &tree::Cable, draft: &mut Draft) {
        let place = self.place(item.span);
        let name = self.name(&item.name);
        let mut given = Given::default();
        item.entries.iter().for_each(|entry| self.cable_entry(entry, &draft.room, &mut given));
        let kit = given.kit.place().map(|_| given.kit.known().copied());
        let around = Around { cable: &name.text, kit, room: &draft.room };
        let runs = self.runs(item, place, &around);
        let (Some((start, runs)), false) = (runs, item.broken) else {
            let why = if item.broken || item.has_path() { "could not be read" } else { "has no path yet" };
            draft.incomplete(|| format!("cable `{}` {why}", name.text));
            self.unread.insert((Kind::Cable, name.text));
            return;
        };
        let room = &mut draft.room;
        let thermostat = match given.by.place() {
            Some(_) => given.by.value(),
            None => self.only_thermostat(&name, place, room),
        };
        let (junction, tail, sleeves, tail_place) = match given.tail.stated() {
            Some(tail) => {
                self.hold_to_end(&name, &tail, &runs, CableEnd::Start);
                (tail.value.junction, tail.value.points, tail.value.sleeves, tail.place)
            }
            None => (None, Vec::new(), Vec::new(), place),
        };
        let second_tail = given.second_tail.stated().map(|tail| {
            self.hold_to_end(&name, &tail, &runs, CableEnd::Far);
            let Tail { junction, points: route, sleeves, .. } = tail.value;
            SecondTail { junction, route, sleeves, place: tail.place }
        });
        if self.is_free(Kind::Cable, &name, &room.cables) {
            let kit = given.kit.value();
            let unknown_kit = given.unknown_kit.filter(|_| kit.is_none());
            let tail_from = None;
            room.cables.push(Cable {
                name,
                kit,
                unknown_kit,
                junction,
                tail,
                tail_place,
                tail_from,
                sleeves,
                second_tail,
                thermostat,
                start,
                runs,
                place,
            });
        }
    }

    fn cable_entry(&mut self, entry: &CableEntry, room: &Room, given: &mut Given) {
        match entry {
            CableEntry::Kit(word) => {
                let kit = self.find_kit(word);
                if kit.is_none() {
                    given.unknown_kit = Some(word.text.clone());
                }
                self.once(&mut given.kit, kit, "the kit", word.span);
            }
            CableEntry::Tail(item) => {
                let tail = self.tail(item, room);
                self.once(&mut given.tail, tail, "the tail", item.span);
            }
            CableEntry::SecondTail(item) => {
                let tail = self.tail(item, room);
                self.once(&mut given.second_tail, tail, "the second tail", item.span);
            }
            CableEntry::By(word) => {
                let thermostat = self.find(Kind::Thermostat, word, &room.thermostats);
                self.once(&mut given.by, thermostat, "the thermostat", word.span);
            }
            // Its way over the floor; see `runs`.
            CableEntry::Start(..)
            | CableEntry::Run(..)
            | CableEntry::RunTo(..)
            | CableEntry::RunReach(..)
            | CableEntry::RunRest(..)
            | CableEntry::Loops(_) => {}
        }
    }

    fn tail(&mut self, item: &tree::Tail, room: &Room) -> Option<Tail> {
        let junction = match &item.from {
            TailFrom::Junction(word) => self.find(Kind::Junction, word, &room.junctions),
            // The other cable may stand below; see `join_tails`.
            TailFrom::Cable(_) => None,
        };
        let end = item.points.last().map(|point| point.span);
        let sleeves = item.sleeves.iter().filter_map(|word| self.joint(word, room)).collect();
        let mut points = self.points(&item.points)?;
        // A point said twice leads nowhere else.
        points.dedup();
        Some(Tail { junction, points, end, sleeves })
    }

    /// The movement joint that a word names, by its place among the room's lines.
    fn joint(&mut self, word: &Word, room: &Room) -> Option<usize> {
        let found = room.lines.iter().position(|line| line.kind == LineKind::Joint && line.name.text == word.text);
        if found.is_none() {
            self.unknown(Kind::Joint, word, &room.names(Kind::Joint));
        }
        found
    }

    /// The thermostat of a cable that names none; a fault where there are several.
    fn only_thermostat(&mut self, name: &Name, place: Place, room: &Room) -> Option<usize> {
        match &room.thermostats[..] {
            [] => None,
            [_] => Some(0),
            [first, ..] => {
                let (cable, one) = (name.text.clone(), first.name.text.clone());
                self.fault(place, Fault::NoThermostatNamed { cable, one });
                None
            }
        }
    }

    /// A fault where a tail ends somewhere else than the end of the cable that it is joined to.
    fn hold_to_end(&mut self, name: &Name, tail: &Stated<Tail>, runs: &[Run], which: CableEnd) {
        let Tail { points, end: written, .. } = &tail.value;
        let (Some(end), Some(first), Some(last)) = (points.last(), runs.first(), runs.last()) else { return };
        let (at, place) = match which {
            CableEnd::Start => (first.start, first.place),
            CableEnd::Far => (last.end, last.place),
        };
        let gap = *end - at;
        if gap.x.hypot(gap.y) <= TOUCH {
            return;
        }
        let (cable, written) = (name.text.clone(), written.map(|span| self.place(span)));
        let fault = match which {
            CableEnd::Start => Fault::TailEndsElsewhere { cable, end: *end, start: at, starts: place, written },
            CableEnd::Far => Fault::SecondTailEndsElsewhere { cable, end: *end, far: at, ends: place, written },
        };
        self.fault(tail.place, fault);
    }

    /// Looks up the cables from whose far ends tails come, once all cables of a room are read.
    pub(super) fn join_tails(&mut self, entries: &[RoomEntry], room: &mut Room) {
        for entry in entries {
            let RoomEntry::Cable(item) = entry else { continue };
            let from = item.entries.iter().find_map(|entry| match entry {
                CableEntry::Tail(tail) => match &tail.from {
                    TailFrom::Cable(word) => Some(word),
                    TailFrom::Junction(_) => None,
                },
                _ => None,
            });
            let Some(word) = from else { continue };
            let Some(found) = self.find(Kind::Cable, word, &room.cables) else { continue };
            let Some(own) = room.cables.iter().position(|cable| cable.name.text == item.name.text) else { continue };
            if own == found {
                let fault = Fault::TailFromItself { cable: item.name.text.clone() };
                self.fault(self.place(word.span), fault);
                continue;
            }
            room.cables[own].tail_from = Some(found);
        }
    }
}
