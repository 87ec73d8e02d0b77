//! Areas of a room: what is free, what is heated, what stays cold.

use std::collections::BTreeSet;
use std::rc::Rc;

use super::cover::shortcuts::{Floor, Shortcuts};
use super::cover::{Capsule, Outlined};
use super::levels::shown_beside;
use super::room::{RoomMeasure, kept};
use super::zones::Zone;
use crate::geometry::{Piece, Ring};
use crate::model::{AreaKind, Room};

/// What is left free round obstacles.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Margins {
    /// From walls, fixtures and other levels, mm.
    pub clearance: f64,
    /// The floor under a fixture raised by this or more is free, mm.
    pub free_height: f64,
}

/// Whether an area takes floor from what can be heated: a fixture, but for one raised by `free_height` (mm) or more, and a level that isn't
/// `heated` for itself.
pub(super) fn takes_floor(kind: &AreaKind, heated: bool, free_height: f64) -> bool {
    match kind {
        AreaKind::Fixture { .. } => kind.clear_below().is_none_or(|clear| clear < free_height - super::TOUCH),
        AreaKind::Drill => false,
        AreaKind::Level { .. } => !heated,
    }
}

/// The floor that can be heated in a room: without its fixtures, other levels, and a clearance along all of them.
#[derive(Debug)]
pub struct FreeFloor {
    /// Which of the room's areas take away floor, but for the round ones.
    solids: Vec<usize>,
    /// What shows of levels that others lie on.
    shown: Vec<Ring>,
    floor: Floor,
}

impl FreeFloor {
    /// The free floor of `room`. `zones` are those of the room's areas, in their order; `heated` which of those are levels that a cable
    /// belongs on, and so are heated for themselves.
    pub fn new(
        room: &Room,
        outline: &Ring,
        zones: &[Zone],
        heated: &BTreeSet<usize>,
        margins: Margins,
        shortcuts: Shortcuts,
    ) -> Self {
        let Margins { clearance, free_height } = margins;
        let along_edges =
            |ring: &Ring| ring.edges().map(|piece| Capsule { piece, radius: clearance }).collect::<Vec<_>>();
        let mut obstacles = if clearance > 0.0 { along_edges(outline) } else { Vec::new() };
        let mut solids = Vec::new();
        let mut shown: Vec<Ring> = Vec::new();
        for (index, (area, zone)) in room.areas.iter().zip(zones).enumerate() {
            if !takes_floor(&area.kind, heated.contains(&index), free_height) {
                continue;
            }
            if matches!(area.kind, AreaKind::Level { .. })
                && let Some(parts) = shown_beside(room, zones, index, heated)
            {
                obstacles.extend(parts.iter().flat_map(along_edges));
                shown.extend(parts);
                continue;
            }
            match zone {
                Zone::Ring(ring) => {
                    obstacles.extend(along_edges(ring));
                    solids.push(index);
                }
                Zone::Circle(centre, radius) => {
                    obstacles.push(Capsule { piece: Piece::at(*centre), radius: radius + clearance });
                }
            }
        }
        let floor = Floor::new(outline, obstacles, &rings(&solids, &shown, zones), shortcuts);
        FreeFloor { solids, shown, floor }
    }

    /// The rings that take away floor.
    fn rings<'z>(&'z self, zones: &'z [Zone]) -> Vec<&'z Ring> {
        rings(&self.solids, &self.shown, zones)
    }

    /// Its area, mm2; nothing where it is too intricate to measure, as for the others.
    pub fn area(&self) -> Option<f64> {
        self.floor.area()
    }

    /// The part of it that no `heated` capsule covers, mm2. Outline and zones are those it was made with.
    pub fn unheated_area(&self, outline: &Ring, zones: &[Zone], heated: impl Iterator<Item = Capsule>) -> Option<f64> {
        self.floor.uncovered_area(outline, &self.rings(zones), heated)
    }

    /// The connected parts of it that no `heated` capsule covers, the largest first. Outline and zones are those it was made with.
    pub fn unheated_patches(
        &self,
        outline: &Ring,
        zones: &[Zone],
        heated: impl Iterator<Item = Capsule>,
    ) -> Option<Vec<Outlined>> {
        self.floor.uncovered_patches(outline, &self.rings(zones), heated)
    }
}

/// The rings of some zones, and more.
fn rings<'z>(which: &[usize], more: &'z [Ring], zones: &'z [Zone]) -> Vec<&'z Ring> {
    let rings = which.iter().filter_map(|index| match zones.get(*index) {
        Some(Zone::Ring(ring)) => Some(ring),
        _ => None,
    });
    rings.chain(more).collect()
}

impl RoomMeasure<'_> {
    fn free_floor(&self, margins: Margins) -> Rc<FreeFloor> {
        kept(&self.kept.on_floor.free_floors, margins.key(), || {
            FreeFloor::new(self.room, self.outline(), self.zones(), self.heated_levels(), margins, Shortcuts::ALL)
        })
    }

    /// The free floor inside a ring that is a part of the room, mm2; nothing where it is too intricate to measure.
    pub(super) fn free_within(&self, part: &Ring, margins: Margins) -> Option<f64> {
        FreeFloor::new(self.room, part, self.zones(), self.heated_levels(), margins, Shortcuts::ALL).area()
    }

    /// The free floor, mm2; nothing where it is too intricate to measure.
    pub fn free_area(&self, margins: Margins) -> Option<f64> {
        self.free_floor(margins).area()
    }

    /// The free floor that its cables heat, mm2: within half a pitch of a cable and, where its runs lie farther apart than that, half way to
    /// their neighbours. Nothing where a cable has no pitch, or the floor is too intricate to measure.
    pub fn heated_area(&self, margins: Margins) -> Option<f64> {
        *kept(&self.kept.on_floor.heated_areas, margins.key(), || {
            let reaches = (0..self.room.cables.len()).map(|cable| self.pitch(cable).map(|pitch| pitch / 2.0));
            let reaches: Vec<f64> = reaches.collect::<Option<_>>()?;
            let floor = self.free_floor(margins);
            if self.room.evenly.is_some() {
                let strips = (0..reaches.len()).filter_map(|cable| self.strips(cable));
                return Some(strips.map(|strips| strips.area).sum::<f64>().min(floor.area()?));
            }
            let wide: Vec<Capsule> = (0..reaches.len()).filter_map(|cable| self.wide_sides(cable)).flatten().collect();
            let strips = self.capsules(|cable| reaches[cable]).chain(wide);
            Some(floor.area()? - floor.unheated_area(self.outline(), self.zones(), strips)?)
        })
    }

    /// The part of the free floor farther than `reach` (mm) from every run, mm2.
    pub fn unheated_area(&self, margins: Margins, reach: f64) -> Option<f64> {
        if self.room.evenly.is_some() {
            return Some((self.free_area(margins)? - self.heated_area(margins)?).max(0.0));
        }
        self.free_floor(margins).unheated_area(self.outline(), self.zones(), self.capsules(|_| reach))
    }

    /// The connected parts of the free floor farther than `reach` (mm) from every run, the largest first.
    pub fn cold_patches(&self, reach: f64, margins: Margins) -> Rc<Option<Vec<Outlined>>> {
        kept(&self.kept.on_floor.patches, (reach.to_bits(), margins.key()), || {
            // Where nothing is drawn, no place is known to stay cold.
            if self.room.evenly.is_some() {
                return Some(Vec::new());
            }
            self.free_floor(margins).unheated_patches(self.outline(), self.zones(), self.capsules(|_| reach))
        })
    }

    /// A capsule round every run, of the radius that `reach` gives its cable.
    pub fn capsules<'s>(&'s self, reach: impl Fn(usize) -> f64 + 's) -> impl Iterator<Item = Capsule> + 's {
        self.room.cables.iter().enumerate().flat_map(move |(number, cable)| {
            let radius = reach(number);
            cable.runs.iter().map(move |run| Capsule { piece: run.piece(), radius })
        })
    }
}
