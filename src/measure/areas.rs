//! Areas of a room: what is free, what is heated, what stays cold.

use std::collections::BTreeSet;

use super::block::Outlined;
use super::capsule::Capsule;
use super::cover::{Cover, LEAST_PATCH, Left, Patch};
use super::index::Ring;
use super::levels::shown_beside;
use super::zones::Zone;
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
    left: Option<Left>,
}

impl FreeFloor {
    /// The free floor of `room`. `zones` are those of the room's areas, in their order; `heated` which of those are levels that a cable
    /// belongs on, and so are heated for themselves.
    pub fn new(room: &Room, outline: &Ring, zones: &[Zone], heated: &BTreeSet<usize>, margins: Margins) -> Self {
        let Margins { clearance, free_height } = margins;
        let edge_capsules = |ring: &Ring| {
            let edges = (0..ring.corners().len()).map(|i| ring.edge(i));
            edges.map(|(a, b)| Capsule { a, b, radius: clearance }).collect::<Vec<_>>()
        };
        let mut capsules = if clearance > 0.0 { edge_capsules(outline) } else { Vec::new() };
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
                capsules.extend(parts.iter().flat_map(edge_capsules));
                shown.extend(parts);
                continue;
            }
            match zone {
                Zone::Ring(ring) => {
                    capsules.extend(edge_capsules(ring));
                    solids.push(index);
                }
                Zone::Circle(centre, radius) => {
                    capsules.push(Capsule { a: *centre, b: *centre, radius: radius + clearance });
                }
            }
        }
        let left = Cover::new(outline, capsules.into_iter(), &rings(&solids, &shown, zones)).left();
        FreeFloor { solids, shown, left }
    }

    /// The rings that take away floor.
    fn rings<'z>(&'z self, zones: &'z [Zone]) -> Vec<&'z Ring> {
        rings(&self.solids, &self.shown, zones)
    }

    /// Its area, mm2; nothing where it is too intricate to measure, as for the others.
    pub fn area(&self) -> Option<f64> {
        self.left.as_ref().map(|left| left.area)
    }

    /// The part of it that no `heated` capsule covers, mm2. Outline and zones are those it was made with.
    pub fn unheated_area(&self, outline: &Ring, zones: &[Zone], heated: impl Iterator<Item = Capsule>) -> Option<f64> {
        Cover::over(outline, self.left.as_ref()?, heated, &self.rings(zones)).uncovered_area()
    }

    /// The connected parts of it that no `heated` capsule covers, the largest first. Outline and zones are those it was made with.
    pub fn unheated_patches(
        &self,
        outline: &Ring,
        zones: &[Zone],
        heated: impl Iterator<Item = Capsule>,
    ) -> Option<Vec<Patch>> {
        let left = self.left.as_ref()?;
        let heated: Vec<Capsule> = heated.collect();
        // Where some of what the capsules cover is all there is, so are they; on most floors a few do.
        let some = Outlined::new(&heated);
        if some.one_covers(left.corners()) {
            return Some(Vec::new());
        }
        let more = some.rings();
        let solids: Vec<&Ring> = self.rings(zones).into_iter().chain(&more).collect();
        let unheated = Cover::over(outline, left, some.capsules(&more).into_iter(), &solids).uncovered_area();
        if unheated.is_some_and(|unheated| unheated < LEAST_PATCH) {
            return Some(Vec::new());
        }
        Cover::over(outline, left, heated.into_iter(), &self.rings(zones)).patches()
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
