//! Areas of a room: what is free, what is heated, what stays cold.

use super::cover::{Cover, LEAST_PATCH, Patch};
use super::edge::Capsule;
use super::index::Ring;
use super::zones::Zone;
use crate::geometry::point_distance;
use crate::model::{AreaKind, Room};

/// What is left free round obstacles.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Margins {
    /// From walls, fixtures and other levels, mm.
    pub clearance: f64,
    /// The floor under a fixture raised by this or more is free, mm.
    pub free_height: f64,
}

/// What can't be heated in a room: its fixtures, other levels, and a clearance along all of them.
pub struct Obstacles<'a> {
    outline: &'a Ring,
    solids: Vec<&'a Ring>,
    capsules: Vec<Capsule>,
}

impl<'a> Obstacles<'a> {
    /// The obstacles of `room`. `zones` are those of the room's areas, in their order.
    ///
    /// A level on which a cable starts is taken to be heated for itself.
    pub fn new(room: &Room, outline: &'a Ring, zones: &'a [Zone], margins: Margins) -> Self {
        let Margins { clearance, free_height } = margins;
        let ring_capsules = |ring: &Ring, radius: f64| {
            (0..ring.corners().len()).map(|i| ring.edge(i)).map(|(a, b)| Capsule { a, b, radius }).collect::<Vec<_>>()
        };
        let mut capsules = if clearance > 0.0 { ring_capsules(outline, clearance) } else { Vec::new() };
        let mut solids = Vec::new();
        for (area, zone) in room.areas.iter().zip(zones) {
            let in_the_way = match &area.kind {
                AreaKind::Fixture { raised, .. } => raised.is_none_or(|raised| raised < free_height - super::TOUCH),
                AreaKind::Drill => false,
                AreaKind::Level { height } => {
                    let starts =
                        |cable: &crate::model::Cable| cable.runs.first().is_some_and(|run| zone.contains(run.start));
                    height.is_none() || !room.cables.iter().any(starts)
                }
            };
            if !in_the_way {
                continue;
            }
            match zone {
                Zone::Ring(ring) => {
                    capsules.extend(ring_capsules(ring, clearance));
                    solids.push(ring);
                }
                Zone::Circle(centre, radius) => {
                    capsules.push(Capsule { a: *centre, b: *centre, radius: radius + clearance });
                }
            }
        }
        Obstacles { outline, solids, capsules }
    }

    /// The free floor, mm2; nothing where it is too intricate to measure, as for the others.
    pub fn free_area(&self) -> Option<f64> {
        Cover::new(self.outline, self.capsules.iter().copied(), &self.solids).uncovered_area()
    }

    /// The part of the free floor that no `heated` capsule covers, mm2.
    pub fn unheated_area(&self, heated: impl Iterator<Item = Capsule>) -> Option<f64> {
        Cover::new(self.outline, self.capsules.iter().copied().chain(heated), &self.solids).uncovered_area()
    }

    /// The connected parts of the free floor that no `heated` capsule covers, the largest first.
    pub fn unheated_patches(&self, heated: impl Iterator<Item = Capsule> + Clone) -> Option<Vec<Patch>> {
        // Where some of the capsules cover it all, so do all of them; on most floors a few do.
        if self.unheated_area(thinned(heated.clone())).is_some_and(|left| left < LEAST_PATCH) {
            return Some(Vec::new());
        }
        Cover::new(self.outline, self.capsules.iter().copied().chain(heated), &self.solids).patches()
    }
}

/// How far from the last one kept the next capsule is kept, as a share of its radius: near enough to leave no hollow at the ends of runs.
const THIN: f64 = 0.8;

/// Those of a row of capsules that hardly lie within the ones kept before them.
fn thinned(capsules: impl Iterator<Item = Capsule>) -> impl Iterator<Item = Capsule> {
    let mut kept: Option<Capsule> = None;
    capsules.filter(move |capsule| {
        let near = |kept: &Capsule, end| point_distance(end, kept.a, kept.b) <= capsule.radius * THIN;
        let thin = kept.as_ref().is_some_and(|kept| near(kept, capsule.a) && near(kept, capsule.b));
        if !thin {
            kept = Some(*capsule);
        }
        !thin
    })
}
