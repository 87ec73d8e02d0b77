//! A room's measurements, each worked out when first asked for and kept: those of its outline and of how its runs lie. What else there is to
//! measure stands with its theme: areas, levels, bays, leads, the sensor, the circuit, heat.

use std::cell::{OnceCell, RefCell};
use std::collections::{BTreeSet, HashMap};
use std::rc::Rc;

use super::across::AllSides;
use super::areas::{FreeFloor, Margins};
use super::bays::Bay;
use super::cover::{Capsule, Outlined};
use super::index::{RunId, RunIndex, RunPlaces};
use super::leads::NearLead;
use super::length::Turn;
use super::rugs::UnderRug;
use super::sensor::Neighbours;
use super::spacing::{self, CloseApproach, Crossing};
use super::strips::{self, Spacing, Strips};
use super::walls::{WallDistance, wall_distances};
use super::zones::{Meeting, Zone, near_area, near_line};
use super::{Pairs, floor_heat, length};
use crate::geometry::{Point, Ring};
use crate::model::{Area, AreaKind, Cable, Line, LineKind, Plan, Room, Run, Shape};

/// What areas and lines a [`Meeting`] can be with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Feature {
    /// An index into the room's areas.
    Area(usize),
    /// An index into the room's lines.
    Line(usize),
    /// An index into the room's shower heads.
    ShowerHead(usize),
}

/// A limit's bits, which can be a key where a float can't.
type Limit = u64;
/// A reach and the margins.
type PatchKey = (Limit, (Limit, Limit));

impl Margins {
    pub(super) fn key(self) -> (Limit, Limit) {
        (self.clearance.to_bits(), self.free_height.to_bits())
    }
}

/// The stretches of a run on another level than its cable's, each from and to so many mm along it.
type OffLevel = Vec<(f64, f64)>;

/// A border, and those of the holes in what lies inside.
pub(super) type Rings = Vec<Vec<Point>>;

type ByKey<K, V> = RefCell<HashMap<K, Rc<V>>>;

/// What has been measured of a room's outline, of what stands on its floor, and of how its runs lie there.
#[derive(Debug)]
pub(super) struct OnFloor {
    outline: Ring,
    places: OnceCell<RunPlaces>,
    zones: OnceCell<Vec<Zone>>,
    walls: OnceCell<Vec<Vec<WallDistance>>>,
    pitches: OnceCell<Vec<Option<f64>>>,
    sides: OnceCell<AllSides>,
    strips: OnceCell<Vec<Option<Strips>>>,
    spacings: ByKey<Limit, Option<Pairs<Spacing>>>,
    turns: OnceCell<Vec<Vec<Turn>>>,
    crossings: OnceCell<Pairs<Crossing>>,
    close: ByKey<Limit, Pairs<CloseApproach>>,
    meetings: ByKey<(Feature, Limit), Pairs<Meeting>>,
    pub(super) off_level: OnceCell<Vec<Vec<OffLevel>>>,
    pub(super) heated_levels: OnceCell<BTreeSet<usize>>,
    pub(super) free_floors: ByKey<(Limit, Limit), FreeFloor>,
    pub(super) heated_areas: ByKey<(Limit, Limit), Option<f64>>,
    pub(super) patches: ByKey<PatchKey, Option<Vec<Outlined>>>,
}

impl OnFloor {
    fn new(room: &Room) -> Self {
        OnFloor {
            outline: Ring::new(&room.corners),
            places: OnceCell::new(),
            zones: OnceCell::new(),
            walls: OnceCell::new(),
            pitches: OnceCell::new(),
            sides: OnceCell::new(),
            strips: OnceCell::new(),
            spacings: RefCell::default(),
            turns: OnceCell::new(),
            crossings: OnceCell::new(),
            close: RefCell::default(),
            meetings: RefCell::default(),
            off_level: OnceCell::new(),
            heated_levels: OnceCell::new(),
            free_floors: RefCell::default(),
            heated_areas: RefCell::default(),
            patches: RefCell::default(),
        }
    }
}

/// Whether two rooms have the same things on the same floor and the same runs, so that all of [`OnFloor`] is the same.
fn lie_alike(one: &Room, other: &Room) -> bool {
    let area = |(one, other): (&Area, &Area)| one.kind == other.kind && one.shape == other.shape;
    let line = |(one, other): (&Line, &Line)| one.kind == other.kind && one.points == other.points;
    let run = |(one, other): (&Run, &Run)| one.start == other.start && one.end == other.end;
    let cable = |(one, other): (&Cable, &Cable)| {
        one.runs.len() == other.runs.len() && one.runs.iter().zip(&other.runs).all(run)
    };
    // Cables that aren't drawn lie by their kits.
    let drawn = one.evenly.is_none() && other.evenly.is_none();
    let as_many = |room: &Room| [room.areas.len(), room.lines.len(), room.cables.len()];
    drawn
        && as_many(one) == as_many(other)
        && one.corners == other.corners
        && one.areas.iter().zip(&other.areas).all(area)
        && one.lines.iter().zip(&other.lines).all(line)
        && one.cables.iter().zip(&other.cables).all(cable)
}

/// What has been measured of a room.
#[derive(Debug)]
pub(super) struct Kept {
    pub(super) on_floor: Rc<OnFloor>,
    pub(super) neighbours: OnceCell<Vec<Neighbours>>,
    pub(super) conduits: ByKey<(usize, Limit), Option<Vec<Point>>>,
    pub(super) near_leads: ByKey<Limit, Vec<NearLead>>,
    pub(super) bays: OnceCell<Option<(Vec<Bay>, Vec<Rings>)>>,
    pub(super) under_rugs: OnceCell<Vec<Result<UnderRug, floor_heat::Unknown>>>,
    heat: floor_heat::Kept,
}

impl Kept {
    /// Nothing is measured yet.
    pub(super) fn new(room: &Room) -> Self {
        Kept::with(Rc::new(OnFloor::new(room)))
    }

    fn with(on_floor: Rc<OnFloor>) -> Self {
        Kept {
            on_floor,
            neighbours: OnceCell::new(),
            conduits: RefCell::default(),
            near_leads: RefCell::default(),
            bays: OnceCell::new(),
            under_rugs: OnceCell::new(),
            heat: floor_heat::Kept::default(),
        }
    }

    /// What a room shares with one that is measured already and may be much like it.
    pub(super) fn like(room: &Room, known: RoomMeasure<'_>) -> Self {
        if lie_alike(room, known.room) { Kept::with(Rc::clone(&known.kept.on_floor)) } else { Kept::new(room) }
    }
}

/// One room's measurements, as a [`Measured`](super::plan::Measured) plan lends them.
#[derive(Debug, Clone, Copy)]
pub struct RoomMeasure<'a> {
    /// The plan it is part of.
    pub plan: &'a Plan,
    /// The room.
    pub room: &'a Room,
    pub(super) kept: &'a Kept,
    pub(super) heat: &'a floor_heat::Kept,
}

/// How many answers of one sort are kept, each for the values it was asked with.
const MOST_KEPT: usize = 64;

/// What is kept under a key, made where it isn't yet.
pub(super) fn kept<K: std::hash::Hash + Eq, V>(store: &ByKey<K, V>, key: K, make: impl FnOnce() -> V) -> Rc<V> {
    if let Some(known) = store.borrow().get(&key) {
        return Rc::clone(known);
    }
    let made = Rc::new(make());
    let mut store = store.borrow_mut();
    // A rule may ask with other values each time; who comes back to earlier ones waits once more.
    if store.len() >= MOST_KEPT {
        store.clear();
    }
    store.insert(key, Rc::clone(&made));
    made
}

impl<'a> RoomMeasure<'a> {
    pub(super) fn new(plan: &'a Plan, room: &'a Room, kept: &'a Kept) -> Self {
        RoomMeasure { plan, room, kept, heat: &kept.heat }
    }

    /// The outline with its walls as edges.
    pub fn outline(&self) -> &'a Ring {
        &self.kept.on_floor.outline
    }

    /// The runs by where they lie.
    pub fn index(&self) -> RunIndex<'a> {
        RunIndex::new(self.room, self.kept.on_floor.places.get_or_init(|| RunPlaces::new(self.room)))
    }

    /// The room's areas, in their order.
    pub fn zones(&self) -> &'a [Zone] {
        self.kept.on_floor.zones.get_or_init(|| self.room.areas.iter().map(|area| Zone::new(&area.shape)).collect())
    }

    /// How a run lies to the walls.
    pub fn wall_distance(&self, id: RunId) -> WallDistance {
        let walls =
            self.kept.on_floor.walls.get_or_init(|| {
                self.room.cables.iter().map(|cable| wall_distances(self.outline(), &cable.runs)).collect()
            });
        walls[id.in_room()][id.in_cable()]
    }

    /// The distance between a cable's parallel runs, mm.
    pub fn pitch(&self, cable: usize) -> Option<f64> {
        if let Some(evenly) = &self.room.evenly {
            return evenly.get(cable).copied();
        }
        let pitches = self.kept.on_floor.pitches.get_or_init(|| {
            self.room
                .cables
                .iter()
                .zip(0..)
                .map(|(cable, number)| spacing::pitch(&self.index(), number, &cable.runs))
                .collect()
        });
        pitches[cable]
    }

    /// What lies beside each run.
    pub(super) fn sides(&self) -> &'a AllSides {
        self.kept.on_floor.sides.get_or_init(|| AllSides::new(self.room))
    }

    /// The floor that a cable (an index) heats, stretch by stretch; nothing where it has no pitch, or lies too thick.
    pub fn strips(&self, cable: usize) -> Option<Strips> {
        let strips = self.kept.on_floor.strips.get_or_init(|| {
            let each = self.room.cables.iter().zip(0..).enumerate();
            each.map(|(index, (cable, number))| {
                let usual = self.pitch(index).filter(|pitch| *pitch > 0.0)?;
                if self.room.evenly.is_some() {
                    return Some(Strips::even(number, usual, self.drawn_length(index)));
                }
                strips::strips(&self.index(), self.sides(), number, &cable.runs, usual)
            })
            .collect()
        });
        strips[cable]
    }

    /// Whether neighbours of a cable's (an index) runs lie farther off than its pitch anywhere, and if so the floor between, half way to
    /// each; nothing where that can't be told.
    pub(super) fn wide_sides(&self, cable: usize) -> Option<Vec<Capsule>> {
        let usual = self.pitch(cable)?;
        let widest = self.strips(cable)?.widest.width;
        if widest <= usual + strips::ALIKE {
            return Some(Vec::new());
        }
        let number = u32::try_from(cable).ok()?;
        strips::wide_sides(&self.index(), self.sides(), number, &self.room.cables[cable].runs, usual)
    }

    /// Every spacing that neighbouring runs have over `least` mm or more; nothing where they lie too thick.
    pub fn spacings(&self, least: f64) -> Rc<Option<Pairs<Spacing>>> {
        kept(&self.kept.on_floor.spacings, least.to_bits(), || strips::spacings(&self.index(), self.sides(), least))
    }

    /// The turns of a cable (an index), in order.
    pub fn turns(&self, cable: usize) -> &'a [Turn] {
        &self
            .kept
            .on_floor
            .turns
            .get_or_init(|| self.room.cables.iter().map(|cable| length::turns(&cable.runs).collect()).collect())[cable]
    }

    /// The length of a cable (an index) along the middle of its runs, mm; of one that lies evenly and isn't drawn, its kit's.
    pub fn drawn_length(&self, cable: usize) -> f64 {
        let own = &self.room.cables[cable];
        match &self.room.evenly {
            Some(_) => own.kit.and_then(|kit| self.plan.kits.get(kit)).map_or(0.0, |kit| kit.length),
            None => length::drawn_length(&own.runs),
        }
    }

    /// The length of a cable (an index) when each corner is rounded to `bend_radius`, mm; see [`laid_length`](length::laid_length).
    pub fn laid_length(&self, cable: usize, bend_radius: f64) -> f64 {
        self.drawn_length(cable) - length::saved_by_rounding(self.turns(cable).iter().copied(), bend_radius)
    }

    /// Where runs cross.
    pub fn crossings(&self) -> &'a Pairs<Crossing> {
        self.kept.on_floor.crossings.get_or_init(|| spacing::crossings(&self.index()))
    }

    /// Where runs come nearer than `minimum`, mm.
    pub fn close_approaches(&self, minimum: f64) -> Rc<Pairs<CloseApproach>> {
        kept(&self.kept.on_floor.close, minimum.to_bits(), || {
            let (crossings, close) = spacing::approaches(&self.index(), minimum);
            // Found on the way. What is kept already is the same.
            let _ = self.kept.on_floor.crossings.set(crossings);
            close
        })
    }

    /// The runs nearer than `minimum` (mm) to an area or a line, or in it.
    pub fn meetings(&self, feature: Feature, minimum: f64) -> Rc<Pairs<Meeting>> {
        kept(&self.kept.on_floor.meetings, (feature, minimum.to_bits()), || match feature {
            Feature::Area(index) => {
                near_area(&self.index(), &self.room.areas[index].shape, &self.zones()[index], minimum)
            }
            Feature::Line(index) => near_line(&self.index(), &self.room.lines[index].points, minimum),
            Feature::ShowerHead(_) => Pairs::default(),
        })
    }

    /// Every area and line of the room that `wanted` picks.
    pub fn features(&self, wanted: impl Fn(Option<&AreaKind>, Option<&LineKind>) -> bool) -> Vec<Feature> {
        let areas = self.room.areas.iter().zip(0..).filter(|(area, _)| wanted(Some(&area.kind), None));
        let lines = self.room.lines.iter().zip(0..).filter(|(line, _)| wanted(None, Some(&line.kind)));
        areas.map(|(_, i)| Feature::Area(i)).chain(lines.map(|(_, i)| Feature::Line(i))).collect()
    }

    /// The room's area, mm2.
    pub fn area(&self) -> f64 {
        Shape::Polygon(self.room.corners.clone()).area()
    }
}
