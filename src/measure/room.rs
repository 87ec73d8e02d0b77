//! A room's measurements, each worked out when first asked for and kept.

use std::cell::{OnceCell, RefCell};
use std::collections::{BTreeSet, HashMap};
use std::rc::Rc;

use super::areas::{FreeFloor, Margins};
use super::bays::Bay;
use super::cover::shortcuts::Shortcuts;
use super::cover::{Capsule, Patch};
use super::index::{RunId, RunIndex};
use super::leads::{self, DrilledLead, Lead};
use super::length::Turn;
use super::levels::Levels;
use super::sensor::{self, Neighbours};
use super::spacing::{self, CloseApproach, Crossing};
use super::strips::{self, Obstacles, Spacing, Strips};
use super::walls::{WallDistance, wall_distances};
use super::zones::{Meeting, Zone, near_area, near_line};
use super::{Pairs, electricity, floor_heat, length};
use crate::geometry::Ring;
use crate::model::{AreaKind, Cable, LineKind, Plan, Point, Room, Shape, Thermostat};

/// What areas and lines a [`Meeting`] can be with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Feature {
    /// An index into the room's areas.
    Area(u32),
    /// An index into the room's lines.
    Line(u32),
    /// An index into the room's water outlets.
    Outlet(u32),
}

/// A limit's bits, which can be a key where a float can't.
type Limit = u64;
/// A reach and the margins.
type PatchKey = (Limit, (Limit, Limit));

impl Margins {
    fn key(self) -> (Limit, Limit) {
        (self.clearance.to_bits(), self.free_height.to_bits())
    }
}

type Kept<K, V> = RefCell<HashMap<K, Rc<V>>>;

/// One room's measurements.
pub struct RoomMeasure<'a> {
    /// The plan it is part of.
    pub plan: &'a Plan,
    /// The room.
    pub room: &'a Room,
    outline: Ring,
    index: OnceCell<RunIndex<'a>>,
    zones: OnceCell<Vec<Zone>>,
    walls: OnceCell<Vec<Vec<WallDistance>>>,
    pitches: OnceCell<Vec<Option<f64>>>,
    obstacles: OnceCell<Obstacles>,
    strips: OnceCell<Vec<Option<Strips>>>,
    spacings: Kept<Limit, Option<Pairs<Spacing>>>,
    turns: OnceCell<Vec<Vec<Turn>>>,
    off_level: OnceCell<Vec<Vec<f64>>>,
    heated_levels: OnceCell<BTreeSet<usize>>,
    crossings: OnceCell<Pairs<Crossing>>,
    neighbours: OnceCell<Vec<Neighbours>>,
    close: Kept<Limit, Pairs<CloseApproach>>,
    meetings: Kept<(Feature, Limit), Pairs<Meeting>>,
    free_floors: Kept<(Limit, Limit), FreeFloor>,
    heated_areas: Kept<(Limit, Limit), Option<f64>>,
    patches: Kept<PatchKey, Option<Vec<Patch>>>,
    bays: OnceCell<Option<Vec<Bay>>>,
    pub(super) heat: floor_heat::Kept,
}

/// How many answers of one sort are kept, each for the values it was asked with.
const MOST_KEPT: usize = 64;

fn kept<K: std::hash::Hash + Eq, V>(store: &Kept<K, V>, key: K, make: impl FnOnce() -> V) -> Rc<V> {
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
    /// Nothing is measured yet.
    pub fn new(plan: &'a Plan, room: &'a Room) -> Self {
        RoomMeasure {
            plan,
            room,
            outline: Ring::new(&room.corners),
            index: OnceCell::new(),
            zones: OnceCell::new(),
            walls: OnceCell::new(),
            pitches: OnceCell::new(),
            obstacles: OnceCell::new(),
            strips: OnceCell::new(),
            spacings: RefCell::default(),
            turns: OnceCell::new(),
            off_level: OnceCell::new(),
            heated_levels: OnceCell::new(),
            crossings: OnceCell::new(),
            neighbours: OnceCell::new(),
            close: RefCell::default(),
            meetings: RefCell::default(),
            free_floors: RefCell::default(),
            heated_areas: RefCell::default(),
            patches: RefCell::default(),
            bays: OnceCell::new(),
            heat: floor_heat::Kept::default(),
        }
    }

    /// The outline with its walls as edges.
    pub fn outline(&self) -> &Ring {
        &self.outline
    }

    /// The runs by where they lie.
    pub fn index(&self) -> &RunIndex<'a> {
        self.index.get_or_init(|| RunIndex::new(self.room))
    }

    /// The room's areas, in their order.
    pub fn zones(&self) -> &[Zone] {
        self.zones.get_or_init(|| self.room.areas.iter().map(|area| Zone::new(&area.shape)).collect())
    }

    /// How a run lies to the walls.
    pub fn wall_distance(&self, id: RunId) -> WallDistance {
        let walls = self
            .walls
            .get_or_init(|| self.room.cables.iter().map(|cable| wall_distances(&self.outline, &cable.runs)).collect());
        walls[id.cable as usize][id.run as usize]
    }

    /// The distance between a cable's parallel runs, mm.
    pub fn pitch(&self, cable: usize) -> Option<f64> {
        let pitches = self.pitches.get_or_init(|| {
            self.room
                .cables
                .iter()
                .zip(0u32..)
                .map(|(cable, number)| spacing::pitch(self.index(), number, &cable.runs))
                .collect()
        });
        pitches[cable]
    }

    /// What cable keeps clear of.
    fn obstacles(&self) -> &Obstacles {
        self.obstacles.get_or_init(|| Obstacles::new(self.room))
    }

    /// The floor that a cable (an index) heats, stretch by stretch; nothing where it has no pitch, or lies too thick.
    pub fn strips(&self, cable: usize) -> Option<Strips> {
        let strips = self.strips.get_or_init(|| {
            let each = self.room.cables.iter().zip(0u32..).enumerate();
            each.map(|(index, (cable, number))| {
                let usual = self.pitch(index).filter(|pitch| *pitch > 0.0)?;
                strips::strips(self.index(), self.obstacles(), number, &cable.runs, usual)
            })
            .collect()
        });
        strips[cable]
    }

    /// Every spacing that neighbouring runs have over `least` mm or more; nothing where they lie too thick.
    pub fn spacings(&self, least: f64) -> Rc<Option<Pairs<Spacing>>> {
        kept(&self.spacings, least.to_bits(), || strips::spacings(self.index(), self.obstacles(), least))
    }

    /// The turns of a cable (an index), in order.
    pub fn turns(&self, cable: usize) -> &[Turn] {
        &self.turns.get_or_init(|| self.room.cables.iter().map(|cable| length::turns(&cable.runs).collect()).collect())
            [cable]
    }

    /// The length of a cable (an index) when each corner is rounded to `bend_radius`, mm; see [`laid_length`](length::laid_length).
    pub fn laid_length(&self, cable: usize, bend_radius: f64) -> f64 {
        let drawn = length::drawn_length(&self.room.cables[cable].runs);
        drawn - length::saved_by_rounding(self.turns(cable).iter().copied(), bend_radius)
    }

    /// Where runs cross.
    pub fn crossings(&self) -> &Pairs<Crossing> {
        self.crossings.get_or_init(|| spacing::crossings(self.index()))
    }

    /// Where runs come nearer than `minimum`, mm.
    pub fn close_approaches(&self, minimum: f64) -> Rc<Pairs<CloseApproach>> {
        kept(&self.close, minimum.to_bits(), || {
            let (crossings, close) = spacing::approaches(self.index(), minimum);
            // Found on the way. What is kept already is the same.
            let _ = self.crossings.set(crossings);
            close
        })
    }

    /// The runs nearer than `minimum` (mm) to an area or a line, or in it.
    pub fn meetings(&self, feature: Feature, minimum: f64) -> Rc<Pairs<Meeting>> {
        kept(&self.meetings, (feature, minimum.to_bits()), || match feature {
            Feature::Area(index) => {
                let index = index as usize;
                near_area(self.index(), &self.room.areas[index].shape, &self.zones()[index], minimum)
            }
            Feature::Line(index) => near_line(self.index(), &self.room.lines[index as usize].points, minimum),
            Feature::Outlet(_) => Pairs::default(),
        })
    }

    /// Every area and line of the room that `wanted` picks.
    pub fn features(&self, wanted: impl Fn(Option<&AreaKind>, Option<&LineKind>) -> bool) -> Vec<Feature> {
        let areas = self.room.areas.iter().zip(0u32..).filter(|(area, _)| wanted(Some(&area.kind), None));
        let lines = self.room.lines.iter().zip(0u32..).filter(|(line, _)| wanted(None, Some(&line.kind)));
        areas.map(|(_, i)| Feature::Area(i)).chain(lines.map(|(_, i)| Feature::Line(i))).collect()
    }

    /// The room's area, mm2.
    pub fn area(&self) -> f64 {
        Shape::Polygon(self.room.corners.clone()).area()
    }

    fn free_floor(&self, margins: Margins) -> Rc<FreeFloor> {
        kept(&self.free_floors, margins.key(), || {
            FreeFloor::new(self.room, &self.outline, self.zones(), self.heated_levels(), margins, Shortcuts::ALL)
        })
    }

    /// The free floor, mm2; nothing where it is too intricate to measure.
    pub fn free_area(&self, margins: Margins) -> Option<f64> {
        self.free_floor(margins).area()
    }

    /// The free floor within half a pitch of a cable, mm2; nothing where a cable has no pitch, or the floor is too intricate to measure.
    pub fn heated_area(&self, margins: Margins) -> Option<f64> {
        *kept(&self.heated_areas, margins.key(), || {
            let reaches = (0..self.room.cables.len()).map(|cable| self.pitch(cable).map(|pitch| pitch / 2.0));
            let reaches: Vec<f64> = reaches.collect::<Option<_>>()?;
            let floor = self.free_floor(margins);
            let strips = self.capsules(|cable| reaches[cable]);
            Some(floor.area()? - floor.unheated_area(&self.outline, self.zones(), strips)?)
        })
    }

    /// The part of the free floor farther than `reach` (mm) from every run, mm2.
    pub fn unheated_area(&self, margins: Margins, reach: f64) -> Option<f64> {
        self.free_floor(margins).unheated_area(&self.outline, self.zones(), self.capsules(|_| reach))
    }

    /// The connected parts of the free floor farther than `reach` (mm) from every run, the largest first.
    pub fn cold_patches(&self, reach: f64, margins: Margins) -> Rc<Option<Vec<Patch>>> {
        kept(&self.patches, (reach.to_bits(), margins.key()), || {
            self.free_floor(margins).unheated_patches(&self.outline, self.zones(), self.capsules(|_| reach))
        })
    }

    /// The bays that joints and steps divide the floor into; nothing where there are too many.
    pub fn bays(&self) -> Option<&[Bay]> {
        self.bays.get_or_init(|| super::bays::bays(self.room, self.index())).as_deref()
    }

    /// A capsule round every run, of the radius that `reach` gives its cable.
    pub fn capsules<'s>(&'s self, reach: impl Fn(usize) -> f64 + 's) -> impl Iterator<Item = Capsule> + 's {
        self.room.cables.iter().enumerate().flat_map(move |(number, cable)| {
            let radius = reach(number);
            cable.runs.iter().map(move |run| Capsule { piece: run.piece(), radius })
        })
    }

    /// The runs beside a sensor's tip.
    pub fn neighbours(&self, sensor: usize) -> Neighbours {
        let all = self.neighbours.get_or_init(|| {
            let tips = self.room.sensors.iter().map(|sensor| sensor.conduit.last().copied().unwrap_or_default());
            tips.map(|tip| sensor::neighbours(self.index(), tip)).collect()
        });
        all[sensor]
    }

    /// The point midway between the runs beside a sensor's tip, straight over from it.
    pub fn midway(&self, sensor: usize) -> Option<Point> {
        let tip = *self.room.sensors.get(sensor)?.conduit.last()?;
        sensor::midway(self.index(), tip, self.neighbours(sensor))
    }

    /// How far along its conduit a sensor's tip lies inside the heated floor, mm. The heated floor reaches half a pitch from the
    /// cable (the widest in the room), and over the whole channel that the sensor lies in where that is wider.
    pub fn sensor_depth(&self, sensor: usize) -> Option<f64> {
        let neighbours = self.neighbours(sensor);
        let nearest = neighbours.nearest?;
        let half_channel = neighbours.opposite.map_or(0.0, |opposite| f64::midpoint(nearest.gap, opposite.gap));
        let pitches = (0..self.room.cables.len()).filter_map(|cable| self.pitch(cable));
        let half_pitch = pitches.fold(0.0, f64::max) / 2.0;
        let reach = half_channel.max(half_pitch);
        (reach > 0.0).then(|| sensor::depth(self.index(), &self.conduit(sensor), reach))
    }

    /// The length of a sensor's conduit from its thermostat, down the wall and along the floor, mm; nothing where the thermostat's height
    /// isn't given.
    pub fn conduit_length(&self, sensor: usize) -> Option<f64> {
        let thermostat = &self.room.thermostats[self.room.sensors[sensor].thermostat];
        Some(thermostat.height? + length::line_length(&self.conduit(sensor)))
    }

    /// A sensor's conduit from below its thermostat to its tip.
    fn conduit(&self, sensor: usize) -> Vec<Point> {
        let sensor = &self.room.sensors[sensor];
        std::iter::once(self.room.thermostats[sensor.thermostat].at).chain(sensor.conduit.iter().copied()).collect()
    }

    /// The runs that a sensor's conduit crosses or touches, each with a point they share.
    pub fn conduit_crossed(&self, sensor: usize) -> Vec<(RunId, Point)> {
        let mut crossed = sensor::crossed(self.index(), &self.conduit(sensor), &[]);
        crossed.dedup_by_key(|(id, _)| *id);
        crossed
    }

    /// The length a cold tail needs from its junction box, down from it and along the floor to the cable, mm; nothing where no tail is
    /// drawn, or its box's height isn't given.
    pub fn tail_route(&self, cable: &Cable) -> Option<f64> {
        let junction = &self.room.junctions[cable.junction?];
        (!cable.tail.is_empty()).then_some(junction.height? + length::line_length(&self.tail(cable)))
    }

    /// A cable's cold tail from below its junction box, or from the far end of the cable it comes from, to the cable, without pieces
    /// of no length.
    fn tail(&self, cable: &Cable) -> Vec<Point> {
        let from = match (cable.junction, cable.tail_from) {
            (Some(junction), _) => Some(self.room.junctions[junction].at),
            (None, Some(other)) => self.far_end(other),
            (None, None) => None,
        };
        let mut route: Vec<Point> = from.into_iter().chain(cable.tail.iter().copied()).collect();
        route.dedup();
        route
    }

    /// The cold tails and conduits nearer than `minimum` (mm) to a drill zone, or in it, each with every such zone.
    pub fn drilled_leads(&self, minimum: f64) -> Vec<DrilledLead> {
        let is_zone = |area: Option<&AreaKind>, _: Option<&LineKind>| matches!(area, Some(AreaKind::Drill));
        let zones: Vec<(Feature, &Shape, &Zone)> = self
            .features(is_zone)
            .into_iter()
            .filter_map(|feature| match feature {
                Feature::Area(index) => {
                    Some((feature, &self.room.areas[index as usize].shape, &self.zones()[index as usize]))
                }
                _ => None,
            })
            .collect();
        if zones.is_empty() {
            return Vec::new();
        }
        let tails = self.room.cables.iter().zip(0u32..).filter(|(cable, _)| !cable.tail.is_empty());
        let tails = tails.map(|(cable, index)| (Lead::Tail(index), self.tail(cable)));
        let conduits = (0u32..).zip(&self.room.sensors).map(|(i, _)| (Lead::Conduit(i), self.conduit(i as usize)));
        tails.chain(conduits).flat_map(|(lead, route)| leads::drilled(lead, &route, &zones, minimum)).collect()
    }

    /// The runs that a cable's cold tail crosses or touches, each with a point they share. Where the tail joins the cable's own first run,
    /// or leaves the last run of the cable it comes from, it meets that run in one point; only what it shares with it beyond counts.
    pub fn tail_crossed(&self, cable: &Cable, index: u32) -> Vec<(RunId, Point)> {
        if cable.tail.is_empty() {
            return Vec::new();
        }
        let joins = cable.runs.first().map(|run| (RunId { cable: index, run: 0 }, run.start));
        let leaves = cable.tail_from.and_then(|from| {
            let last = self.room.cables[from].runs.len().checked_sub(1)?;
            let id = RunId { cable: u32::try_from(from).ok()?, run: u32::try_from(last).ok()? };
            Some((id, self.far_end(from)?))
        });
        let joints: Vec<(RunId, Point)> = joins.into_iter().chain(leaves).collect();
        let mut crossed = sensor::crossed(self.index(), &self.tail(cable), &joints);
        crossed.dedup_by_key(|(id, _)| *id);
        crossed
    }

    /// Where a cable (an index) ends.
    fn far_end(&self, cable: usize) -> Option<Point> {
        self.room.cables[cable].runs.last().map(|run| run.end)
    }

    /// The cable (an index) that another (an index) is joined to in series: the one from whose far end its tail comes, or at whose far
    /// end it starts itself.
    pub fn in_series_with(&self, cable: usize) -> Option<usize> {
        let own = &self.room.cables[cable];
        let start = own.runs.first()?.start;
        let touches = |other: &usize| {
            *other != cable
                && self.far_end(*other).is_some_and(|end| crate::geometry::distance(end, start) <= super::TOUCH)
        };
        own.tail_from.or_else(|| (0..self.room.cables.len()).find(touches))
    }

    /// The cables that a thermostat switches, by index.
    pub fn cables_of(&self, thermostat: usize) -> impl Iterator<Item = usize> + '_ {
        self.room
            .cables
            .iter()
            .enumerate()
            .filter(move |(_, cable)| cable.thermostat == Some(thermostat))
            .map(|(index, _)| index)
    }

    /// The thermostat that switches a cable.
    pub fn thermostat_of(&self, cable: &Cable) -> Option<&'a Thermostat> {
        self.room.thermostats.get(cable.thermostat?)
    }

    /// The voltage a cable works at, V: its supply's, or what its kit is rated for.
    pub fn voltage(&self, cable: &Cable) -> Option<f64> {
        let supply = self.thermostat_of(cable).and_then(|thermostat| self.plan.supplies.get(thermostat.supply?));
        supply
            .and_then(|supply| supply.voltage.as_ref().map(|own| own.value))
            .or_else(|| Some(self.plan.kits.get(cable.kit?)?.voltage))
    }

    /// A cable's power at its voltage, W.
    pub fn power(&self, cable: &Cable) -> Option<f64> {
        let kit = self.plan.kits.get(cable.kit?)?;
        Some(electricity::power_at(kit.output, kit.voltage, self.voltage(cable)?))
    }

    /// A cable's current, A: `P/U`.
    pub fn current(&self, cable: &Cable) -> Option<f64> {
        Some(self.power(cable)? / self.voltage(cable)?)
    }

    /// Which of the room's areas are levels that a cable belongs on; see [`Levels::heated`].
    pub fn heated_levels(&self) -> &BTreeSet<usize> {
        self.heated_levels.get_or_init(|| Levels::new(self.room, self.zones()).heated(&self.room.cables))
    }

    /// The length of a run on another level than the one its cable belongs on, mm; stairs are never a level to lie on.
    pub fn length_off_level(&self, id: RunId) -> f64 {
        let lengths = self.off_level.get_or_init(|| {
            let levels = Levels::new(self.room, self.zones());
            if levels.is_empty() {
                return Vec::new();
            }
            self.room.cables.iter().map(|cable| levels.lengths_off(&cable.runs)).collect()
        });
        lengths.get(id.cable as usize).map_or(0.0, |cable| cable[id.run as usize])
    }
}
