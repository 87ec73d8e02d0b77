//! What differs between two plans of one floor, such as a design and what was built: things, not lines of text.
//!
//! Rooms are matched by their names, things of a room by kind and name, runs of a cable by nearness in their order. A room that lies elsewhere
//! on the sheet, as where the origin was moved, is the same room. How the text is laid out, what its file is called and by what sums it says
//! its figures is no difference.

mod cables;
mod cards;
mod changes;
mod findings;
mod matching;
mod offset;
pub mod outputs;
mod record;
mod runs;

use std::collections::HashMap;

use crate::checker::Report;
use crate::finding::Severity;
use crate::measure::plan::Measured;
use crate::measure::room::RoomMeasure;
use crate::model::{Cable, Point, Room};
pub use changes::{Change, How, Led, What};
pub use findings::{Finds, Turn};

/// One of the two plans: what is measured of it, and what the rules find in it.
#[derive(Debug, Clone, Copy)]
pub struct Side<'a> {
    /// The plan, measured.
    pub measured: &'a Measured,
    /// What the rules find.
    pub report: &'a Report,
}

/// What differs between two plans.
#[derive(Debug, Clone, Default)]
pub struct Comparison {
    /// The first plan, as it is named.
    pub design: String,
    /// The second.
    pub built: String,
    /// Whether all of both could be read.
    pub complete: bool,
    /// Room by room, those that differ in something.
    pub rooms: Vec<RoomComparison>,
    /// What differs in the supplies and kits that the rooms draw on.
    pub shared: Vec<Change>,
    /// Findings that are new, gone, agreed to or no longer agreed to.
    pub findings: Vec<Finds>,
}

/// What differs in a room.
#[derive(Debug, Clone)]
pub struct RoomComparison {
    /// Its name, in the second plan where it stands in both.
    pub name: String,
    /// What people call it.
    pub title: Option<String>,
    /// Its place among the rooms of each plan.
    pub at: (Option<usize>, Option<usize>),
    /// What is to be added to a point of the first plan for the same point of the second, mm.
    pub offset: Point,
    /// What differs.
    pub changes: Vec<Change>,
}

impl Comparison {
    /// How many things differ, findings aside.
    pub fn differences(&self) -> usize {
        self.shared.len() + self.rooms.iter().map(|room| room.changes.len()).sum::<usize>()
    }

    /// Whether neither the plans nor what is found in them differ.
    pub fn is_empty(&self) -> bool {
        self.differences() == 0 && self.findings.is_empty()
    }

    /// The weight of the heaviest finding that the second plan has more than the first.
    pub fn worst(&self) -> Option<Severity> {
        let more = self.findings.iter().filter(|finds| matches!(finds.turn, Turn::New | Turn::Open));
        more.map(|finds| finds.severity).max()
    }

    /// Keeps what differs in one room alone.
    pub fn keep_room(&mut self, name: &str) {
        self.rooms.retain(|room| room.name == name);
        self.findings.retain(|finds| finds.room.as_deref().is_none_or(|room| room == name));
    }
}

/// Compares a plan with another.
pub fn compare(design: Side<'_>, built: Side<'_>) -> Comparison {
    let name = |side: &Side<'_>| side.report.sources.own().map(|(name, ..)| name.to_string()).unwrap_or_default();
    let (old, new) = (design.measured.plan(), built.measured.plan());
    let mut comparison = Comparison {
        design: name(&design),
        built: name(&built),
        complete: old.faults.is_empty() && new.faults.is_empty(),
        shared: matching::changes(
            cards::shared(design.measured),
            cards::shared(built.measured),
            Point { x: 0.0, y: 0.0 },
        ),
        ..Comparison::default()
    };
    for (before, after) in pairs(&old.rooms, &new.rooms) {
        let measured =
            (before.and_then(|index| design.measured.room(index)), after.and_then(|index| built.measured.room(index)));
        let offset = match (&measured.0, &measured.1) {
            (Some(before), Some(after)) => offset::between(before.room, after.room),
            _ => Point { x: 0.0, y: 0.0 },
        };
        let changes = room_changes(measured.0, measured.1, offset);
        let Some(room) = measured.1.or(measured.0).map(|measure| measure.room) else { continue };
        comparison.rooms.push(RoomComparison {
            name: room.name.text.clone(),
            title: room.title.clone(),
            at: (before, after),
            offset,
            changes,
        });
    }
    comparison.findings = findings::turns(design.report, built.report, &comparison.rooms, &old.rooms);
    comparison.rooms.retain(|room| !room.changes.is_empty());
    comparison
}

/// The rooms of two plans that are the same: by name; where one is left on each side whose walls lie alike, it was renamed.
fn pairs(old: &[Room], new: &[Room]) -> Vec<(Option<usize>, Option<usize>)> {
    let named = |rooms: &[Room]| -> HashMap<String, usize> {
        rooms.iter().enumerate().rev().map(|(index, room)| (room.name.text.clone(), index)).collect()
    };
    let (before, after) = (named(old), named(new));
    let mut lone: Vec<usize> = (0..old.len()).filter(|index| !after.contains_key(&old[*index].name.text)).collect();
    let mut pairs = Vec::new();
    for (index, room) in new.iter().enumerate() {
        let known = before.get(&room.name.text).copied().or_else(|| {
            let alike = |other: &usize| offset::same_outline(&old[*other], room).is_some();
            Some(lone.remove(lone.iter().take(MOST_LONE).position(alike)?))
        });
        pairs.push((known, Some(index)));
    }
    pairs.extend(lone.into_iter().map(|index| (Some(index), None)));
    pairs
}

/// How many rooms are looked through for one that was renamed.
const MOST_LONE: usize = 100;

fn room_changes(before: Option<RoomMeasure<'_>>, after: Option<RoomMeasure<'_>>, offset: Point) -> Vec<Change> {
    let (before, after) = match (before, after) {
        (Some(before), Some(after)) => (before, after),
        (lone, other) => {
            let what = if lone.is_some() { What::Gone } else { What::Added };
            let name = lone.or(other).map(|measure| measure.room.name.text.clone()).unwrap_or_default();
            return vec![Change { kind: "room", name, what, at: None }];
        }
    };
    let mut changes = Vec::new();
    let (old, new) = (&before.room.name.text, &after.room.name.text);
    if old != new {
        changes.push(Change { kind: "room", name: new.clone(), what: What::Renamed(old.clone()), at: None });
    }
    changes.extend(offset::outline(before.room, after.room, offset));
    changes.extend(matching::changes(cards::drawn(&before), cards::drawn(&after), offset));
    let cables: HashMap<&str, &Cable> =
        before.room.cables.iter().map(|cable| (cable.name.text.as_str(), cable)).collect();
    for cable in &after.room.cables {
        if let Some(old) = cables.get(cable.name.text.as_str()) {
            changes.extend(runs::changes(old, cable, offset));
        }
    }
    changes.extend(matching::changes(cards::beside(&before), cards::beside(&after), offset));
    // What is said of a thing stands together, in the order in which things are first met.
    let mut order: HashMap<(&'static str, String), usize> = HashMap::new();
    let rank = changes.iter().map(|change| {
        let next = order.len();
        *order.entry((change.kind, change.name.clone())).or_insert(next)
    });
    let rank: Vec<usize> = rank.collect();
    let mut ranked: Vec<(usize, Change)> = rank.into_iter().zip(changes).collect();
    ranked.sort_by_key(|(rank, _)| *rank);
    ranked.into_iter().map(|(_, change)| change).collect()
}
