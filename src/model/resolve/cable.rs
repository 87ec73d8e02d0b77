//! Resolves heating cables. Their ways over the floor are walked in [`path`](super::path).

use super::resolver::{Once, Resolver};
use super::room::Draft;
use crate::geometry::tolerance::TOUCH;
use crate::layout::kinds::Kind;
use crate::layout::tree::{self, CableEntry, RoomEntry, TailFrom};
use crate::model::fault::Fault;
use crate::model::{Cable, Name, Point, Room, Run, Stated};
use crate::source::{Place, Span};

/// What the lines of a cable give besides its runs.
#[derive(Default)]
struct Given {
    kit: Once<usize>,
    tail: Once<Tail>,
    by: Once<usize>,
}

/// A cold tail as it is drawn.
struct Tail {
    /// The junction box that it comes from.
    junction: Option<usize>,
    points: Vec<Point>,
    /// Where the last point is written.
    end: Option<Span>,
}

impl Resolver {
    /// `cable NAME { … }`
    pub(super) fn cable(&mut self, item: &tree::Cable, draft: &mut Draft) {
        let place = self.place(item.span);
        let name = self.name(&item.name);
        let mut given = Given::default();
        item.entries.iter().for_each(|entry| self.cable_entry(entry, &draft.room, &mut given));
        let runs = self.runs(&item.entries, &name.text, place);
        let (Some((start, runs)), false) = (runs, item.broken) else {
            draft.incomplete(|| format!("cable `{}` could not be read", name.text));
            self.unread.insert((Kind::Cable, name.text));
            return;
        };
        let room = &mut draft.room;
        let thermostat = match given.by.place() {
            Some(_) => given.by.value(),
            None => self.only_thermostat(&name, place, room),
        };
        let (junction, tail, tail_place) = match given.tail.stated() {
            Some(tail) => {
                self.hold_to_start(&name, &tail, &runs);
                (tail.value.junction, tail.value.points, tail.place)
            }
            None => (None, Vec::new(), place),
        };
        if self.is_free(Kind::Cable, &name, &room.cables) {
            let kit = given.kit.value();
            let tail_from = None;
            room.cables.push(Cable {
                name,
                kit,
                junction,
                tail,
                tail_place,
                tail_from,
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
                self.once(&mut given.kit, kit, "the kit", word.span);
            }
            CableEntry::Tail(from, points, span) => {
                let junction = match from {
                    TailFrom::Junction(word) => self.find(Kind::Junction, word, &room.junctions),
                    // The other cable may stand below; see `join_tails`.
                    TailFrom::Cable(_) => None,
                };
                let end = points.last().map(|point| point.span);
                let tail = self.points(points).map(|mut points| {
                    // A point said twice leads nowhere else.
                    points.dedup();
                    Tail { junction, points, end }
                });
                self.once(&mut given.tail, tail, "the tail", *span);
            }
            CableEntry::By(word) => {
                let thermostat = self.find(Kind::Thermostat, word, &room.thermostats);
                self.once(&mut given.by, thermostat, "the thermostat", word.span);
            }
            // Its way over the floor; see `runs`.
            CableEntry::Start(..) | CableEntry::Run(..) | CableEntry::RunTo(..) | CableEntry::Loops(_) => {}
        }
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

    /// A fault where a tail ends somewhere else than its cable starts.
    fn hold_to_start(&mut self, name: &Name, tail: &Stated<Tail>, runs: &[Run]) {
        let Tail { points, end: written, .. } = &tail.value;
        let (Some(end), Some(first)) = (points.last(), runs.first()) else { return };
        let gap = *end - first.start;
        if gap.x.hypot(gap.y) <= TOUCH {
            return;
        }
        let fault = Fault::TailEndsElsewhere {
            cable: name.text.clone(),
            end: *end,
            start: first.start,
            starts: first.place,
            written: written.map(|span| self.place(span)),
        };
        self.fault(tail.place, fault);
    }

    /// Looks up the cables from whose far ends tails come, once all cables of a room are read.
    pub(super) fn join_tails(&mut self, entries: &[RoomEntry], room: &mut Room) {
        for entry in entries {
            let RoomEntry::Cable(item) = entry else { continue };
            let from = item.entries.iter().find_map(|entry| match entry {
                CableEntry::Tail(TailFrom::Cable(word), ..) => Some(word),
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
