//! Areas of a room: what is free, what is heated, what stays cold.

use std::collections::BTreeSet;

use super::cover::shortcuts::{Floor, Shortcuts};
use super::cover::{Capsule, Patch};
use super::levels::shown_beside;
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

/// The floor that can be heated in a room: without its fixtures, other levels, and a clearance along all of them.
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
            let in_the_way = match &area.kind {
                AreaKind::Fixture { .. } => {
                    area.kind.clear_below().is_none_or(|clear| clear < free_height - super::TOUCH)
                }
                AreaKind::Drill => false,
                AreaKind::Level { .. } => !heated.contains(&index),
            };
            if !in_the_way {
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
    ) -> Option<Vec<Patch>> {
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
