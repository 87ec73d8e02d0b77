//! The runs of a room, by where they lie.

use crate::geometry::index::Index;
use crate::geometry::{Bounds, Point};
use crate::model::{Room, Run};

/// A run: its cable and its place in it, both from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RunId {
    /// Index of the cable.
    pub cable: u32,
    /// Index of the run.
    pub run: u32,
}

impl RunId {
    /// A run by the places of its cable and of itself, neither of which leaves the narrow type: a cable's runs are counted when it is read.
    pub fn new(cable: usize, run: usize) -> Self {
        let narrow = |index: usize| u32::try_from(index).unwrap_or(u32::MAX);
        RunId { cable: narrow(cable), run: narrow(run) }
    }

    /// Where its cable stands among those of the room.
    pub fn in_room(self) -> usize {
        self.cable as usize
    }

    /// Where it stands among the runs of its cable.
    pub fn in_cable(self) -> usize {
        self.run as usize
    }
}

/// Where the runs of a room lie: what an index of them is made of.
#[derive(Debug)]
pub(super) struct RunPlaces {
    bounds: Bounds,
    /// Every run, cable by cable: which one stands at a place of the index.
    ids: Vec<RunId>,
    index: Index,
}

impl RunPlaces {
    /// Of every run of the room.
    pub(super) fn new(room: &Room) -> Self {
        let ids: Vec<RunId> = runs(room).map(|(id, _)| id).collect();
        let pieces = ids.iter().map(|id| run(room, *id).piece());
        let bounds = pieces.clone().map(|piece| piece.bounds()).reduce(Bounds::with).unwrap_or(Bounds::NOTHING);
        let index = Index::new(pieces);
        RunPlaces { bounds, ids, index }
    }
}

/// The runs of a room, by where they lie.
#[derive(Debug, Clone, Copy)]
pub struct RunIndex<'a> {
    room: &'a Room,
    places: &'a RunPlaces,
}

impl<'a> RunIndex<'a> {
    /// The runs of a room, whose places these are.
    pub(super) fn new(room: &'a Room, places: &'a RunPlaces) -> Self {
        RunIndex { room, places }
    }

    /// The run behind an id that this index gave.
    pub fn run(&self, id: RunId) -> &'a Run {
        run(self.room, id)
    }

    /// Whether there is a run of this id.
    pub fn has(&self, id: RunId) -> bool {
        self.room.cables.get(id.in_room()).is_some_and(|cable| id.in_cable() < cable.runs.len())
    }

    /// Every run, cable by cable.
    pub fn runs(&self) -> impl Iterator<Item = (RunId, &'a Run)> + 'a {
        runs(self.room)
    }

    /// How many runs there are.
    pub fn count(&self) -> usize {
        self.places.ids.len()
    }

    /// The box around all runs.
    pub fn bounds(&self) -> Bounds {
        self.places.bounds
    }

    /// The runs whose boxes meet one widened by `margin`, mm.
    pub fn near(&self, wanted: Bounds, margin: f64) -> impl Iterator<Item = RunId> + use<'a> {
        let places = self.places;
        places.index.near(wanted.widened(margin)).map(|place| places.ids[place])
    }

    /// Those of them that come later than one.
    pub fn later_near(&self, than: RunId, wanted: Bounds, margin: f64) -> impl Iterator<Item = RunId> + use<'a> {
        let places = self.places;
        let later = places.ids.partition_point(|id| *id <= than);
        places.index.near_from(later, wanted.widened(margin)).map(|place| places.ids[place])
    }

    /// Whether there are so few runs that to look for a wide neighbourhood costs no more than for a narrow one.
    pub fn is_small(&self) -> bool {
        self.places.index.is_small()
    }

    /// The runs in the order of their distance from a point, with that distance, mm.
    pub fn by_distance(&self, point: Point) -> impl Iterator<Item = (RunId, f64)> + use<'a> {
        let places = self.places;
        places.index.by_distance(point).map(|(place, distance)| (places.ids[place], distance))
    }
}

fn run(room: &Room, id: RunId) -> &Run {
    &room.cables[id.in_room()].runs[id.in_cable()]
}

/// Every run of a room, cable by cable.
fn runs(room: &Room) -> impl Iterator<Item = (RunId, &Run)> {
    room.cables.iter().zip(0u32..).flat_map(|(cable, number)| {
        cable.runs.iter().zip(0u32..).map(move |(run, index)| (RunId { cable: number, run: index }, run))
    })
}
