//! Resolves a heating cable.

use super::resolve::{Resolver, name};
use super::room::SAME_POINT;
use super::{Cable, Room};
use crate::finding::{Finding, Fix, ids};
use crate::layout::kinds::Kind;
use crate::layout::tree::{self, CableEntry, RoomEntry, TailFrom};
use crate::source::{FileId, Place};

impl Resolver {
    pub(super) fn cable(&mut self, file: FileId, item: &tree::Cable, room: &mut Room) {
        let place = Place { file, span: item.span };
        let own = name(file, &item.name);
        let (mut kit, mut tail, mut by) = (None, None, None);
        for entry in &item.entries {
            match entry {
                CableEntry::Kit(word) => {
                    let found = self.kits.iter().position(|kit| kit.name.text == word.text);
                    if found.is_none() {
                        let names: Vec<String> = self.kits.iter().map(|kit| kit.name.text.clone()).collect();
                        self.unknown(Kind::Kit, file, word, &names.iter().map(String::as_str).collect::<Vec<_>>());
                    }
                    self.once(&mut kit, found, "the kit", Place { file, span: word.span });
                }
                CableEntry::Tail(from, points, span) => {
                    let junction = match from {
                        TailFrom::Junction(word) => self.find(Kind::Junction, file, word, &room.junctions, |j| &j.name),
                        // The other cable may stand below; see `join_tails`.
                        TailFrom::Cable(_) => None,
                    };
                    let end = points.last().map(|point| point.span);
                    let points = self.values.points(file, points);
                    self.once(&mut tail, (junction, points, end), "the tail", Place { file, span: *span });
                }
                CableEntry::By(word) => {
                    let thermostat = self.find(Kind::Thermostat, file, word, &room.thermostats, |t| &t.name);
                    self.once(&mut by, thermostat, "the thermostat", Place { file, span: word.span });
                }
                _ => {}
            }
        }
        let runs = self.runs(file, &item.entries, &own.text, place);
        let (Some((start, runs)), false) = (runs, item.broken) else {
            room.incomplete.get_or_insert_with(|| format!("cable `{}` could not be read", own.text));
            self.unread.insert((Kind::Cable, own.text));
            return;
        };
        let thermostat = match by {
            Some((thermostat, _)) => thermostat,
            None if room.thermostats.len() > 1 => {
                self.fault(
                    Finding::reading(
                        ids::PLAN,
                        format!("cable `{}` doesn't say which thermostat switches it", own.text),
                        place,
                        "the room has more than one",
                    )
                    .advise(format!("add `by {}` or the name of another", room.thermostats[0].name.text)),
                );
                None
            }
            None => (!room.thermostats.is_empty()).then_some(0),
        };
        let (junction, tail, tail_place) = match tail {
            Some(((junction, Some(mut points), tail_end), tail_place)) => {
                // A point said twice leads nowhere else.
                points.dedup();
                if let (Some(end), Some(first)) = (points.last(), runs.first()) {
                    let gap = *end - first.start;
                    if gap.x.hypot(gap.y) > SAME_POINT {
                        self.fault(
                            Finding::reading(
                                ids::PLAN,
                                format!("the tail of cable `{}` ends somewhere else than the cable starts", own.text),
                                tail_place,
                                format!("ends at ({}, {})", end.x, end.y),
                            )
                            .mark(first.place, format!("starts at ({}, {})", first.start.x, first.start.y))
                            .advise("end the tail at the cable's start")
                            .fix(tail_end.map(|span| {
                                let start = format!("({}, {})", first.start.x, first.start.y);
                                Fix::write(&start, Place { file, span })
                            })),
                        );
                    }
                }
                (junction, points, tail_place)
            }
            _ => (None, Vec::new(), place),
        };
        if self.is_free(Kind::Cable, &own, room.cables.iter().map(|cable| &cable.name)) {
            let kit = kit.and_then(|(kit, _)| kit);
            room.cables.push(Cable {
                name: own,
                kit,
                junction,
                tail,
                tail_place,
                tail_from: None,
                thermostat,
                start,
                runs,
                place,
            });
        }
    }

    /// Looks up the cables from whose far ends tails come, once all cables of a room are read.
    pub(super) fn join_tails(&mut self, file: FileId, entries: &[RoomEntry], room: &mut Room) {
        for entry in entries {
            let RoomEntry::Cable(item) = entry else { continue };
            let from = item.entries.iter().find_map(|entry| match entry {
                CableEntry::Tail(TailFrom::Cable(word), ..) => Some(word),
                _ => None,
            });
            let Some(word) = from else { continue };
            let Some(found) = self.find(Kind::Cable, file, word, &room.cables, |cable| &cable.name) else { continue };
            let Some(own) = room.cables.iter().position(|cable| cable.name.text == item.name.text) else { continue };
            if own == found {
                let place = Place { file, span: word.span };
                let message = format!("the tail of cable `{}` comes from the cable itself", item.name.text);
                self.fault(
                    Finding::reading(ids::PLAN, message, place, "its own name")
                        .advise("name the junction box that it comes from"),
                );
                continue;
            }
            room.cables[own].tail_from = Some(found);
        }
    }
}
