//! What a rule may ask of a plan: the collections and the fields of their items, each with its dimension and its meaning.
//!
//! This is the one place where they are declared, those of the circuit and of the test record in files of their own. The checker looks names up here, the evaluator calls what stands beside
//! them, and `grammar/vocabulary.md` is printed from here.

use super::item::{Item, Kind, Type, Value, World};
use crate::measure::areas::Margins;
use crate::measure::room::{Feature, RoomMeasure};
use crate::measure::{Pairs, length};
use crate::model::{AreaKind, Cable, Kit, LineKind};
use crate::quantity::{Dimension, Quantity};
use crate::reasons::{no_cable, no_kit};

/// What a field or a collection is given in parentheses.
pub type Parameter = (&'static str, Dimension);

/// Visits each item of a collection, or says why some can't be had.
pub type Visitor = fn(&World<'_>, &[f64], Visit<'_>);

/// What is called with each of them.
pub type Visit<'v> = &'v mut dyn FnMut(Result<Item, String>);

/// A collection that a rule can go through.
pub struct Collection {
    /// Its name.
    pub name: &'static str,
    /// What it is given.
    pub parameters: &'static [Parameter],
    /// What it holds.
    pub of: Kind,
    /// What that means.
    pub meaning: &'static str,
    /// Visits each item, or says why some can't be had.
    pub visit: Visitor,
}

/// Something to ask of an item.
pub struct Field {
    /// What can be asked.
    pub owner: Kind,
    /// Its name.
    pub name: &'static str,
    /// What it is given.
    pub parameters: &'static [Parameter],
    /// What comes back.
    pub gives: Type,
    /// What that means.
    pub meaning: &'static str,
    /// The answer.
    pub get: fn(&World<'_>, Item, &[f64]) -> Value,
}

const LENGTH: Type = Type::Quantity(Dimension::LENGTH);
const NUMBER: Type = Type::Quantity(Dimension::NUMBER);
const DATE: Type = Type::Quantity(Dimension::DATE);
const CURRENT: Type = Type::Quantity(Dimension::CURRENT);
const CLEARANCE: Parameter = ("clearance", Dimension::LENGTH);
const MINIMUM: Parameter = ("minimum", Dimension::LENGTH);
const REACH: Parameter = ("reach", Dimension::LENGTH);
const FREE_HEIGHT: Parameter = ("free-height", Dimension::LENGTH);

macro_rules! collections {
    ($($name:literal ($($parameter:expr),*) of $kind:ident: $meaning:literal = $visit:expr;)*) => {
        /// The collections of this theme.
        pub(super) static COLLECTIONS: &[Collection] = &[$(Collection {
            name: $name, parameters: &[$($parameter),*], of: Kind::$kind, meaning: $meaning, visit: $visit,
        }),*];
    };
}

macro_rules! fields {
    ($($owner:ident { $($name:literal ($($parameter:expr),*) $gives:expr, $meaning:literal = $get:expr;)* })*) => {
        /// The fields of this theme, by the kind of item they are asked of.
        pub(super) static FIELDS: &[Field] = &[$($(Field {
            owner: Kind::$owner, name: $name, parameters: &[$($parameter),*], gives: $gives, meaning: $meaning, get: $get,
        }),*),*];
    };
}

/// The answer for an item of another kind; the checker lets none through.
fn wrong(item: Item) -> Value {
    Value::Missing(format!("not known of {item:?}"))
}

macro_rules! of {
    ($item:expr, $pattern:pat => $value:expr) => {{
        let item = $item;
        match item {
            $pattern => $value,
            #[allow(unreachable_patterns)]
            _ => wrong(item),
        }
    }};
}

mod circuit;
mod heat;
mod record;

/// Every collection, theme by theme.
pub fn collections() -> impl Iterator<Item = &'static Collection> + Clone {
    [COLLECTIONS, circuit::COLLECTIONS, record::COLLECTIONS, heat::COLLECTIONS].into_iter().flatten()
}

/// Every field, theme by theme.
pub fn fields() -> impl Iterator<Item = &'static Field> + Clone {
    [FIELDS, circuit::FIELDS, record::FIELDS, heat::FIELDS].into_iter().flatten()
}

/// Visits each room by its number.
fn each_room<'w, 'a>(world: &'w World<'a>) -> impl Iterator<Item = (u32, &'w RoomMeasure<'a>)> {
    (0u32..).zip(&world.rooms)
}

/// Visits each room of which everything could be read, and says why the others are left out.
fn whole_rooms<'w, 'a>(world: &'w World<'a>, visit: Visit<'_>) -> Vec<(u32, &'w RoomMeasure<'a>)> {
    let mut whole = Vec::new();
    for (number, room) in each_room(world) {
        match &room.room.incomplete {
            None => whole.push((number, room)),
            Some(why) => visit(Err(why.clone())),
        }
    }
    whole
}

fn each(count: usize) -> impl Iterator<Item = u32> {
    (0u32..).take(count)
}

fn visit_pairs<T: Copy>(pairs: &Pairs<T>, what: &str, visit: Visit<'_>, item: impl Fn(T) -> Item) {
    for pair in &pairs.found {
        visit(Ok(item(*pair)));
    }
    if pairs.more {
        visit(Err(format!("there are too many {what} to list them all")));
    }
}

fn visit_meetings(
    world: &World<'_>,
    minimum: f64,
    visit: Visit<'_>,
    wanted: impl Fn(Option<&AreaKind>, Option<&LineKind>) -> bool,
) {
    for (number, room) in each_room(world) {
        for feature in room.features(&wanted) {
            let meetings = room.meetings(feature, minimum);
            visit_pairs(&meetings, "runs near it", visit, |meeting| Item::Meeting(number, feature, meeting));
        }
    }
}

collections! {
    "rooms" () of Room: "Every room of the plan." = |world, _, visit| {
        for (number, _) in whole_rooms(world, visit) {
            visit(Ok(Item::Room(number)));
        }
    };
    "walls" () of Wall: "Every wall of every room." = |world, _, visit| {
        for (number, room) in each_room(world) {
            each(room.room.walls.len()).for_each(|wall| visit(Ok(Item::Wall(number, wall))));
        }
    };
    "cables" () of Cable: "Every heating cable." = |world, _, visit| {
        for (number, room) in each_room(world) {
            each(room.room.cables.len()).for_each(|cable| visit(Ok(Item::Cable(number, cable))));
        }
    };
    "runs" () of Run: "Every straight piece of every heating cable." = |world, _, visit| {
        for (number, room) in each_room(world) {
            room.index().runs().for_each(|(id, _)| visit(Ok(Item::Run(number, id))));
        }
    };
    "turns" () of Turn: "Every corner of every heating cable, where one run ends and the next begins." = |world, _, visit| {
        for (number, room) in each_room(world) {
            for cable in each(room.room.cables.len()) {
                room.turns(cable as usize).iter().for_each(|turn| visit(Ok(Item::Turn(number, cable, *turn))));
            }
        }
    };
    "kits" () of Kit: "Every kit that a cable of the plan is made of." = |world, _, visit| {
        for kit in each(world.plan.kits.len()) {
            let used = |cable: &Cable| cable.kit == Some(kit as usize);
            if world.plan.rooms.iter().any(|room| room.cables.iter().any(used)) {
                visit(Ok(Item::Kit(kit)));
            }
        }
    };
    "thermostats" () of Thermostat: "Every thermostat." = |world, _, visit| {
        for (number, room) in whole_rooms(world, visit) {
            for cable in room.room.cables.iter().filter(|cable| cable.thermostat.is_none()) {
                visit(Err(format!("cable `{}` has no thermostat", cable.name.text)));
            }
            each(room.room.thermostats.len()).for_each(|index| visit(Ok(Item::Thermostat(number, index))));
        }
    };
    "sensors" () of Sensor: "Every floor sensor." = |world, _, visit| {
        for (number, room) in whole_rooms(world, visit) {
            if room.room.sensors.is_empty() && !room.room.cables.is_empty() {
                visit(Err(format!("room `{}` has no floor sensor", room.room.name.text)));
            }
            each(room.room.sensors.len()).for_each(|index| visit(Ok(Item::Sensor(number, index))));
        }
    };
    "close-approaches" (MINIMUM) of CloseApproach: "Pairs of runs nearer than `minimum` to each other, each pair at its worst place. \
        Two points of one cable count only with at least a half-circle of diameter `minimum` of cable between them. Pairs that \
        cross are left to `crossings`." = |world, given, visit| {
        for (number, room) in each_room(world) {
            let pairs = room.close_approaches(given[0]);
            visit_pairs(&pairs, "close approaches", visit, |pair| Item::CloseApproach(number, pair));
        }
    };
    "crossings" () of Crossing: "Pairs of runs that touch, cross, overlap or pass through one point." = |world, _, visit| {
        for (number, room) in each_room(world) {
            visit_pairs(room.crossings(), "crossings", visit, |pair| Item::Crossing(number, pair));
        }
    };
    "near-fixtures" (MINIMUM) of Meeting: "Runs nearer than `minimum` to a fixture, or touching it, or under it." = |world, given, visit| {
        visit_meetings(world, given[0], visit, |area, _| matches!(area, Some(AreaKind::Fixture { .. })));
    };
    "near-drill-zones" (MINIMUM) of Meeting: "Runs nearer than `minimum` to a drill zone, or touching it, or in it." = |world, given, visit| {
        visit_meetings(world, given[0], visit, |area, _| matches!(area, Some(AreaKind::Drill)));
    };
    "near-levels" (MINIMUM) of Meeting: "Runs nearer than `minimum` to an area of another level, or touching it, or on it." = |world, given, visit| {
        visit_meetings(world, given[0], visit, |area, _| matches!(area, Some(AreaKind::Level { .. })));
    };
    "near-joints" (MINIMUM) of Meeting: "Runs nearer than `minimum` to a movement joint, or crossing it." = |world, given, visit| {
        visit_meetings(world, given[0], visit, |_, line| matches!(line, Some(LineKind::Joint)));
    };
    "near-pipes" (MINIMUM) of Meeting: "Runs nearer than `minimum` to a pipe, or crossing it." = |world, given, visit| {
        visit_meetings(world, given[0], visit, |_, line| matches!(line, Some(LineKind::Pipe(_))));
    };
    "near-partitions" (MINIMUM) of Meeting: "Runs nearer than `minimum` to the line of a partition, or crossing it." = |world, given, visit| {
        visit_meetings(world, given[0], visit, |_, line| matches!(line, Some(LineKind::Partition(_))));
    };
    "near-doors" (MINIMUM) of Meeting: "Runs nearer than `minimum` to the threshold of a door." = |world, given, visit| {
        visit_meetings(world, given[0], visit, |_, line| matches!(line, Some(LineKind::Door(_))));
    };
    "conduit-crossings" () of ConduitCrossing: "Runs that a sensor's conduit crosses or touches." = |world, _, visit| {
        for (number, room) in whole_rooms(world, visit) {
            for index in each(room.room.sensors.len()) {
                for (run, at) in room.conduit_crossed(index as usize) {
                    visit(Ok(Item::ConduitCrossing(number, index, run, at)));
                }
            }
        }
    };
    "tail-crossings" () of TailCrossing: "Runs that a cold tail crosses or touches anywhere but where it joins its own cable." = |world, _, visit| {
        for (number, room) in each_room(world) {
            for (cable, index) in room.room.cables.iter().zip(0u32..) {
                for (run, at) in room.tail_crossed(cable, index) {
                    visit(Ok(Item::TailCrossing(number, index, run, at)));
                }
            }
        }
    };
    "drilled-leads" (MINIMUM) of DrilledLead: "Cold tails and conduits of sensors nearer than `minimum` to a drill zone, or touching it, or in it." = |world, given, visit| {
        for (number, room) in each_room(world) {
            for drilled in room.drilled_leads(given[0]) {
                visit(Ok(Item::DrilledLead(number, drilled)));
            }
        }
    };
    "cold-patches" (REACH, CLEARANCE, FREE_HEIGHT) of ColdPatch: "Connected parts of the free floor, as in a room's `free-area`, that \
        lie farther than `reach` from every run; of 1 mm2 and more." = |world, given, visit| {
        for (number, room) in whole_rooms(world, visit) {
            match &*room.cold_patches(given[0], margins(&given[1..])) {
                Some(patches) => patches.iter().for_each(|patch| visit(Ok(Item::ColdPatch(number, *patch)))),
                None => visit(Err(too_intricate(world, number))),
            }
        }
    };
    "deviations" () of Deviation: "Every agreed departure. Rules that go through these are held last, when it is known what each matched." = |world, _, visit| {
        for (number, room) in each_room(world) {
            each(room.room.deviations.len()).for_each(|index| visit(Ok(Item::Deviation(number, index))));
        }
    };
}

fn room<'w, 'a>(world: &'w World<'a>, number: u32) -> &'w RoomMeasure<'a> {
    &world.rooms[number as usize]
}

fn cable<'w>(world: &'w World<'_>, number: u32, index: u32) -> &'w Cable {
    &world.rooms[number as usize].room.cables[index as usize]
}

fn kit<'w>(world: &'w World<'_>, cable: &Cable) -> Option<&'w Kit> {
    world.plan.kits.get(cable.kit?)
}

fn gives_no(world: &World<'_>, item: Item, what: &str) -> String {
    format!("{} gives no {what}", world.describe(item))
}

/// A field of a cable that its kit decides.
fn by_kit(
    world: &World<'_>,
    number: u32,
    index: u32,
    value: impl FnOnce(&RoomMeasure<'_>, &Cable) -> Option<f64>,
) -> Value {
    let cable = cable(world, number, index);
    Value::number(value(room(world, number), cable), || no_kit(cable))
}

/// The clear value of a distance from a cable: less half its diameter.
fn clear(world: &World<'_>, number: u32, indexes: &[u32], distance: f64) -> Value {
    let mut left = distance;
    for index in indexes {
        let cable = cable(world, number, *index);
        let Some(kit) = kit(world, cable) else { return Value::Missing(no_kit(cable)) };
        let Some(diameter) = kit.diameter else {
            return Value::Missing(format!("kit `{}` gives no diameter", kit.name.text));
        };
        left -= diameter / 2.0;
    }
    Value::Number(left.max(0.0))
}

fn too_intricate(world: &World<'_>, number: u32) -> String {
    crate::reasons::too_intricate(room(world, number).room)
}

fn margins(given: &[f64]) -> Margins {
    Margins { clearance: given[0], free_height: given[1] }
}

fn as_index(index: usize) -> u32 {
    u32::try_from(index).unwrap_or(u32::MAX)
}

fn count(number: usize) -> Value {
    Value::Number(number as f64)
}

fields! {
    Room {
        "name" () Type::Text, "Its name." = |world, item, _| of!(item, Item::Room(n) => Value::Text(room(world, n).room.name.text.clone()));
        "area" () Type::Quantity(Dimension::AREA), "The area inside the walls." = |world, item, _| of!(item, Item::Room(n) => Value::Number(room(world, n).area()));
        "free-area" (CLEARANCE, FREE_HEIGHT) Type::Quantity(Dimension::AREA), "The free floor: the room less its fixtures, but for those raised by `free-height` or more, other levels, \
            and a strip of `clearance` along these and the walls." = |world, item, given| of!(item, Item::Room(n) => Value::number(room(world, n).free_area(margins(given)), || too_intricate(world, n)));
        "heated-area" (CLEARANCE, FREE_HEIGHT) Type::Quantity(Dimension::AREA), "The part of the free floor within half a pitch of a cable." = |world, item, given| of!(item, Item::Room(n) => {
            let room = room(world, n);
            if room.room.cables.is_empty() {
                return Value::Missing(no_cable(room.room));
            }
            if room.free_area(margins(given)).is_none() {
                return Value::Missing(too_intricate(world, n));
            }
            Value::number(room.heated_area(margins(given)), || format!("a cable of room `{}` has no parallel runs to take a pitch from", room.room.name.text))
        });
        "kit-length" () LENGTH, "The lengths of the kits of its cables, added up." = |world, item, _| of!(item, Item::Room(n) => {
            let cables = &room(world, n).room.cables;
            if cables.is_empty() {
                return Value::Missing(no_cable(room(world, n).room));
            }
            match cables.iter().find(|cable| cable.kit.is_none()) {
                Some(cable) => Value::Missing(no_kit(cable)),
                None => Value::Number(cables.iter().filter_map(|cable| kit(world, cable)).map(|kit| kit.length).sum()),
            }
        });
        "cables" () Type::Collection(Kind::Cable), "Its heating cables." = |world, item, _| of!(item, Item::Room(n) => Value::Items(each(room(world, n).room.cables.len()).map(|i| Item::Cable(n, i)).collect()));
        "thermostats" () Type::Collection(Kind::Thermostat), "Its thermostats." = |world, item, _| of!(item, Item::Room(n) => Value::Items(each(room(world, n).room.thermostats.len()).map(|i| Item::Thermostat(n, i)).collect()));
        "sensors" () Type::Collection(Kind::Sensor), "Its floor sensors." = |world, item, _| of!(item, Item::Room(n) => Value::Items(each(room(world, n).room.sensors.len()).map(|i| Item::Sensor(n, i)).collect()));
        "floor" () Type::Item(Kind::Floor), "Its floor's build-up." = |world, item, _| of!(item, Item::Room(n) => Value::item(room(world, n).room.floor.as_ref().map(|_| Item::Floor(n)), || gives_no(world, item, "floor")));
        "inside" () Type::Quantity(Dimension::TEMPERATURE), "The temperature it is heated to." = |world, item, _| of!(item, Item::Room(n) => Value::number(room(world, n).room.inside, || gives_no(world, item, "inside temperature")));
        "heat-loss" () Type::Quantity(Dimension::POWER), "The heat it loses." = |world, item, _| of!(item, Item::Room(n) => Value::number(room(world, n).room.heat_loss, || gives_no(world, item, "heat loss")));
    }
    Wall {
        "number" () NUMBER, "Its number in the outline, from 1." = |_, item, _| of!(item, Item::Wall(_, wall) => Value::Number(f64::from(wall) + 1.0));
        "length" () LENGTH, "From corner to corner." = |world, item, _| of!(item, Item::Wall(n, wall) => {
            Value::Number(room(world, n).outline().edge(wall as usize).length())
        });
        "outside" () Type::Truth, "Whether the plan calls it an outside wall." = |world, item, _| of!(item, Item::Wall(n, wall) => Value::Truth(room(world, n).room.walls[wall as usize].outside));
    }
    Floor {
        "kind" () Type::Text, "`timber` or `concrete`." = |world, item, _| of!(item, Item::Floor(n) => {
            let timber = room(world, n).room.floor.as_ref().is_some_and(|floor| floor.timber);
            Value::Text(if timber { "timber" } else { "concrete" }.into())
        });
    }
    Feature {
        "name" () Type::Text, "Its name." = |world, item, _| of!(item, Item::Feature(n, feature) => Value::Text(world.feature_name(n, feature).1.to_string()));
        "sort" () Type::Text, "`fixture`, `drill zone`, `level`, `stairs`, `joint`, `pipe`, `partition`, `door` or `outlet`." = |world, item, _| of!(item, Item::Feature(n, feature) => Value::Text(world.feature_name(n, feature).0.to_string()));
        "kind" () Type::Text, "What the plan says it is: `bath`, `shower` and so on of a fixture, `hot` or `cold` of a pipe." = |world, item, _| of!(item, Item::Feature(n, feature) => {
            let room = room(world, n).room;
            let kind = match feature {
                Feature::Area(index) => match &room.areas[index as usize].kind {
                    AreaKind::Fixture { kind, .. } => kind.as_deref(),
                    _ => None,
                },
                Feature::Line(index) => match &room.lines[index as usize].kind {
                    LineKind::Pipe(kind) => kind.as_deref(),
                    _ => None,
                },
                Feature::Outlet(_) => None,
            };
            Value::text(kind, || gives_no(world, item, "kind"))
        });
        "raised" () LENGTH, "The free height under a fixture that doesn't stand on the floor." = |world, item, _| of!(item, Item::Feature(n, feature) => {
            let raised = match feature {
                Feature::Area(index) => match room(world, n).room.areas[index as usize].kind {
                    AreaKind::Fixture { raised, .. } => raised,
                    _ => None,
                },
                Feature::Line(_) | Feature::Outlet(_) => None,
            };
            Value::number(raised, || format!("{} stands on the floor", world.describe(item)))
        });
    }
    Cable {
        "name" () Type::Text, "Its name." = |world, item, _| of!(item, Item::Cable(n, i) => Value::Text(cable(world, n, i).name.text.clone()));
        "room" () Type::Item(Kind::Room), "The room it lies in." = |_, item, _| of!(item, Item::Cable(n, _) => Value::Item(Item::Room(n)));
        "kit" () Type::Item(Kind::Kit), "The kit it is made of." = |world, item, _| of!(item, Item::Cable(n, i) => Value::item(cable(world, n, i).kit.map(|kit| Item::Kit(as_index(kit))), || no_kit(cable(world, n, i))));
        "thermostat" () Type::Item(Kind::Thermostat), "The thermostat that switches it." = |world, item, _| of!(item, Item::Cable(n, i) => Value::item(cable(world, n, i).thermostat.map(|t| Item::Thermostat(n, as_index(t))), || format!("{} has no thermostat", world.describe(item))));
        "junction" () Type::Item(Kind::Junction), "The junction box its cold tail comes from." = |world, item, _| of!(item, Item::Cable(n, i) => Value::item(cable(world, n, i).junction.map(|j| Item::Junction(n, as_index(j))), || gives_no(world, item, "tail")));
        "runs" () NUMBER, "How many runs it has." = |world, item, _| of!(item, Item::Cable(n, i) => count(cable(world, n, i).runs.len()));
        "drawn-length" () LENGTH, "Its length along the middle of its runs, with sharp corners." = |world, item, _| of!(item, Item::Cable(n, i) => Value::Number(length::drawn_length(&cable(world, n, i).runs)));
        "laid-length" () LENGTH, "Its length with corners rounded to the kit's bending radius, or to half a turn where that is less; as drawn where the kit gives none." = |world, item, _| of!(item, Item::Cable(n, i) => {
            let bend_radius = kit(world, cable(world, n, i)).and_then(|kit| kit.bend_radius);
            Value::Number(room(world, n).laid_length(i as usize, bend_radius.unwrap_or(0.0)))
        });
        "pitch" () LENGTH, "How far apart its parallel runs lie: the median over their length." = |world, item, _| of!(item, Item::Cable(n, i) => Value::number(room(world, n).pitch(i as usize), || format!("{} has no parallel runs", world.describe(item))));
        "tail-route" () LENGTH, "The length its cold tail needs: down from the junction box and along the floor." = |world, item, _| of!(item, Item::Cable(n, i) => Value::number(room(world, n).tail_route(cable(world, n, i)), || format!("{} has no tail from a junction box of known height", world.describe(item))));
        "voltage" () Type::Quantity(Dimension::VOLTAGE), "What it works at: its supply's voltage, or the kit's where no supply is given." = |world, item, _| of!(item, Item::Cable(n, i) => by_kit(world, n, i, |room, cable| room.voltage(cable)));
        "power" () Type::Quantity(Dimension::POWER), "Its power at that voltage." = |world, item, _| of!(item, Item::Cable(n, i) => by_kit(world, n, i, |room, cable| room.power(cable)));
        "current" () CURRENT, "Its current at that voltage." = |world, item, _| of!(item, Item::Cable(n, i) => by_kit(world, n, i, |room, cable| room.current(cable)));
        "turns" () Type::Collection(Kind::Turn), "Its corners." = |world, item, _| of!(item, Item::Cable(n, i) => Value::Items(room(world, n).turns(i as usize).iter().map(|turn| Item::Turn(n, i, *turn)).collect()));
    }
    Run {
        "number" () NUMBER, "Its number in its cable, from 1." = |_, item, _| of!(item, Item::Run(_, id) => Value::Number(f64::from(id.run) + 1.0));
        "length" () LENGTH, "From end to end." = |world, item, _| of!(item, Item::Run(n, id) => Value::Number(room(world, n).index().run(id).length()));
        "cable" () Type::Item(Kind::Cable), "The cable it is part of." = |_, item, _| of!(item, Item::Run(n, id) => Value::Item(Item::Cable(n, id.cable)));
        "room" () Type::Item(Kind::Room), "The room it lies in." = |_, item, _| of!(item, Item::Run(n, _) => Value::Item(Item::Room(n)));
        "wall-distance" () LENGTH, "From its centre-line to the nearest wall; nothing where it touches or crosses one." = |world, item, _| of!(item, Item::Run(n, id) => Value::Number(room(world, n).wall_distance(id).distance));
        "clear-wall-distance" () LENGTH, "The same from the cable's surface." = |world, item, _| of!(item, Item::Run(n, id) => clear(world, n, &[id.cable], room(world, n).wall_distance(id).distance));
        "nearest-wall" () Type::Item(Kind::Wall), "The wall nearest to it." = |world, item, _| of!(item, Item::Run(n, id) => Value::Item(Item::Wall(n, room(world, n).wall_distance(id).wall)));
        "length-off-floor" () LENGTH, "How much of it lies outside the walls." = |world, item, _| of!(item, Item::Run(n, id) => Value::Number(room(world, n).wall_distance(id).outside));
        "length-off-level" () LENGTH, "How much of it lies on another level than its cable's start, or on stairs." = |world, item, _| of!(item, Item::Run(n, id) => Value::Number(room(world, n).length_off_level(id)));
    }
    Turn {
        "cable" () Type::Item(Kind::Cable), "The cable that turns." = |_, item, _| of!(item, Item::Turn(n, i, _) => Value::Item(Item::Cable(n, i)));
        "radius" () LENGTH, "The largest radius there is room for: a curve may take half of each run, and all of a first or last one." = |_, item, _| of!(item, Item::Turn(_, _, turn) => Value::Number(turn.radius));
        "angle" () NUMBER, "By how many degrees the direction changes." = |_, item, _| of!(item, Item::Turn(_, _, turn) => Value::Number(turn.angle().to_degrees()));
    }
    Kit {
        "name" () Type::Text, "Its name." = |world, item, _| of!(item, Item::Kit(i) => Value::Text(world.plan.kits[i as usize].name.text.clone()));
        "output" () Type::Quantity(Dimension::POWER), "Its power at its rated voltage." = |world, item, _| of!(item, Item::Kit(i) => Value::Number(world.plan.kits[i as usize].output));
        "voltage" () Type::Quantity(Dimension::VOLTAGE), "Its rated voltage." = |world, item, _| of!(item, Item::Kit(i) => Value::Number(world.plan.kits[i as usize].voltage));
        "length" () LENGTH, "The length of its heating cable." = |world, item, _| of!(item, Item::Kit(i) => Value::Number(world.plan.kits[i as usize].length));
        "resistance" () Type::Quantity(Dimension::RESISTANCE), "Its cold resistance; that of output and voltage where the maker gives none." = |world, item, _| of!(item, Item::Kit(i) => Value::Number(world.plan.kits[i as usize].resistance));
        "diameter" () LENGTH, "The cable's outside diameter." = |world, item, _| of!(item, Item::Kit(i) => Value::number(world.plan.kits[i as usize].diameter, || gives_no(world, item, "diameter")));
        "bend-radius" () LENGTH, "The least radius the cable may be bent to." = |world, item, _| of!(item, Item::Kit(i) => Value::number(world.plan.kits[i as usize].bend_radius, || gives_no(world, item, "bend-radius")));
        "tail" () LENGTH, "The length of its cold tail." = |world, item, _| of!(item, Item::Kit(i) => Value::number(world.plan.kits[i as usize].tail, || gives_no(world, item, "tail")));
    }
    Junction {
        "name" () Type::Text, "Its name." = |world, item, _| of!(item, Item::Junction(n, i) => Value::Text(room(world, n).room.junctions[i as usize].name.text.clone()));
        "height" () LENGTH, "Its height over the floor." = |world, item, _| of!(item, Item::Junction(n, i) => Value::number(room(world, n).room.junctions[i as usize].height, || gives_no(world, item, "height")));
    }
    Sensor {
        "name" () Type::Text, "Its name." = |world, item, _| of!(item, Item::Sensor(n, i) => Value::Text(room(world, n).room.sensors[i as usize].name.text.clone()));
        "thermostat" () Type::Item(Kind::Thermostat), "The thermostat it belongs to." = |world, item, _| of!(item, Item::Sensor(n, i) => Value::Item(Item::Thermostat(n, as_index(room(world, n).room.sensors[i as usize].thermostat))));
        "between" () Type::Truth, "Whether a run lies on each side of its tip, in opposite directions." = |world, item, _| of!(item, Item::Sensor(n, i) => {
            let beside = room(world, n).neighbours(i as usize);
            if beside.nearest.is_none() {
                return Value::Missing(no_cable(room(world, n).room));
            }
            Value::Truth(beside.opposite.is_some())
        });
        "gap" () LENGTH, "From its tip to the nearest run." = |world, item, _| of!(item, Item::Sensor(n, i) => Value::number(room(world, n).neighbours(i as usize).nearest.map(|beside| beside.gap), || "there is no run beside it".into()));
        "opposite-gap" () LENGTH, "From its tip to the first run in the opposite direction." = |world, item, _| of!(item, Item::Sensor(n, i) => Value::number(room(world, n).neighbours(i as usize).opposite.map(|beside| beside.gap), || "there is no run on its other side".into()));
        "off-centre" () LENGTH, "How far its tip lies from midway between those two." = |world, item, _| of!(item, Item::Sensor(n, i) => Value::number(room(world, n).neighbours(i as usize).off_centre(), || "there is no run on its other side".into()));
        "nearest-run" () Type::Item(Kind::Run), "The run nearest to its tip." = |world, item, _| of!(item, Item::Sensor(n, i) => Value::item(room(world, n).neighbours(i as usize).nearest.map(|beside| Item::Run(n, beside.run)), || "there is no run beside it".into()));
        "opposite-run" () Type::Item(Kind::Run), "The first run in the opposite direction." = |world, item, _| of!(item, Item::Sensor(n, i) => Value::item(room(world, n).neighbours(i as usize).opposite.map(|beside| Item::Run(n, beside.run)), || "there is no run on its other side".into()));
        "midway" () Type::Place, "The point midway between those two, straight over from its tip." = |world, item, _| of!(item, Item::Sensor(n, i) => match room(world, n).midway(i as usize) { Some(at) => Value::Place(at), None => Value::Missing("there is no run on its other side".into()) });
        "depth" () LENGTH, "How far along its conduit the tip lies inside the heated floor, which reaches half a pitch from the cable and over the channel the sensor lies in." = |world, item, _| of!(item, Item::Sensor(n, i) => Value::number(room(world, n).sensor_depth(i as usize), || "there is no run beside it".into()));
        "conduit-length" () LENGTH, "Its conduit's length, down from the thermostat and along the floor." = |world, item, _| of!(item, Item::Sensor(n, i) => Value::number(room(world, n).conduit_length(i as usize), || "its thermostat gives no height".into()));
        "lead" () LENGTH, "The length of the sensor's own lead." = |world, item, _| of!(item, Item::Sensor(n, i) => Value::number(room(world, n).room.sensors[i as usize].lead, || gives_no(world, item, "lead")));
    }
    CloseApproach {
        "first" () Type::Item(Kind::Run), "The earlier run." = |_, item, _| of!(item, Item::CloseApproach(n, pair) => Value::Item(Item::Run(n, pair.first)));
        "second" () Type::Item(Kind::Run), "The later run." = |_, item, _| of!(item, Item::CloseApproach(n, pair) => Value::Item(Item::Run(n, pair.second)));
        "distance" () LENGTH, "Between their centre-lines at the worst place." = |_, item, _| of!(item, Item::CloseApproach(_, pair) => Value::Number(pair.distance));
        "clear-distance" () LENGTH, "The same between the cables' surfaces." = |world, item, _| of!(item, Item::CloseApproach(n, pair) => clear(world, n, &[pair.first.cable, pair.second.cable], pair.distance));
        "place" () Type::Place, "That place." = |_, item, _| of!(item, Item::CloseApproach(_, pair) => Value::Place(pair.at));
    }
    Crossing {
        "first" () Type::Item(Kind::Run), "The earlier run." = |_, item, _| of!(item, Item::Crossing(n, pair) => Value::Item(Item::Run(n, pair.first)));
        "second" () Type::Item(Kind::Run), "The later run." = |_, item, _| of!(item, Item::Crossing(n, pair) => Value::Item(Item::Run(n, pair.second)));
        "place" () Type::Place, "A point they share." = |_, item, _| of!(item, Item::Crossing(_, pair) => Value::Place(pair.at));
    }
    Meeting {
        "run" () Type::Item(Kind::Run), "The run." = |_, item, _| of!(item, Item::Meeting(n, _, meeting) => Value::Item(Item::Run(n, meeting.run)));
        "feature" () Type::Item(Kind::Feature), "What it comes near." = |_, item, _| of!(item, Item::Meeting(n, feature, _) => Value::Item(Item::Feature(n, feature)));
        "distance" () LENGTH, "From the run's centre-line; nothing where they touch or overlap." = |_, item, _| of!(item, Item::Meeting(_, _, meeting) => Value::Number(meeting.distance));
        "clear-distance" () LENGTH, "The same from the cable's surface." = |world, item, _| of!(item, Item::Meeting(n, _, meeting) => clear(world, n, &[meeting.run.cable], meeting.distance));
        "inside-length" () LENGTH, "How much of the run lies inside, along the edge not counted." = |_, item, _| of!(item, Item::Meeting(_, _, meeting) => Value::Number(meeting.inside));
    }
    ConduitCrossing {
        "sensor" () Type::Item(Kind::Sensor), "The sensor whose conduit is crossed." = |_, item, _| of!(item, Item::ConduitCrossing(n, sensor, ..) => Value::Item(Item::Sensor(n, sensor)));
        "run" () Type::Item(Kind::Run), "The run that crosses it." = |_, item, _| of!(item, Item::ConduitCrossing(n, _, run, _) => Value::Item(Item::Run(n, run)));
        "place" () Type::Place, "Where." = |_, item, _| of!(item, Item::ConduitCrossing(.., at) => Value::Place(at));
    }
    DrilledLead {
        "zone" () Type::Item(Kind::Feature), "The drill zone." = |_, item, _| of!(item, Item::DrilledLead(n, drilled) => Value::Item(Item::Feature(n, drilled.zone)));
        "distance" () LENGTH, "From its line to the zone; nothing where it touches the zone or lies in it." = |_, item, _| of!(item, Item::DrilledLead(_, drilled) => Value::Number(drilled.distance));
    }
    TailCrossing {
        "cable" () Type::Item(Kind::Cable), "The cable whose cold tail it is." = |_, item, _| of!(item, Item::TailCrossing(n, i, ..) => Value::Item(Item::Cable(n, i)));
        "run" () Type::Item(Kind::Run), "The run it crosses." = |_, item, _| of!(item, Item::TailCrossing(n, _, run, _) => Value::Item(Item::Run(n, run)));
        "place" () Type::Place, "Where." = |_, item, _| of!(item, Item::TailCrossing(.., at) => Value::Place(at));
    }
    ColdPatch {
        "room" () Type::Item(Kind::Room), "The room it is in." = |_, item, _| of!(item, Item::ColdPatch(n, _) => Value::Item(Item::Room(n)));
        "area" () Type::Quantity(Dimension::AREA), "Its area." = |_, item, _| of!(item, Item::ColdPatch(_, patch) => Value::Number(patch.area));
        "width" () LENGTH, "Its extent from west to east." = |_, item, _| of!(item, Item::ColdPatch(_, patch) => Value::Number(patch.high.x - patch.low.x));
        "height" () LENGTH, "Its extent from south to north." = |_, item, _| of!(item, Item::ColdPatch(_, patch) => Value::Number(patch.high.y - patch.low.y));
        "place" () Type::Place, "A point on its edge." = |_, item, _| of!(item, Item::ColdPatch(_, patch) => Value::Place(patch.at));
        "south-west" () Type::Place, "The least corner of the box around it." = |_, item, _| of!(item, Item::ColdPatch(_, patch) => Value::Place(patch.low));
        "north-east" () Type::Place, "The greatest corner of the box around it." = |_, item, _| of!(item, Item::ColdPatch(_, patch) => Value::Place(patch.high));
    }
    Deviation {
        "rule" () Type::Text, "The rule it departs from." = |world, item, _| of!(item, Item::Deviation(n, i) => Value::Text(room(world, n).room.deviations[i as usize].rule.text.clone()));
        "reason" () Type::Text, "Why." = |world, item, _| of!(item, Item::Deviation(n, i) => Value::Text(room(world, n).room.deviations[i as usize].reason.clone()));
        "until" () DATE, "The last day it holds." = |world, item, _| of!(item, Item::Deviation(n, i) => Value::number(room(world, n).room.deviations[i as usize].until.map(|until| Quantity::date(until).value), || "it holds for good".into()));
        "lapsed" () Type::Truth, "Whether that day is past." = |world, item, _| of!(item, Item::Deviation(n, i) => Value::Truth(world.deviations[n as usize][i as usize].lapsed));
        "matched" () Type::Truth, "Whether a finding matched it." = |world, item, _| of!(item, Item::Deviation(n, i) => {
            let state = world.deviations[n as usize][i as usize];
            if state.judged || state.matched {
                Value::Truth(state.matched)
            } else {
                Value::Missing(format!("the rule `{}` is off, or could not be held to everything", room(world, n).room.deviations[i as usize].rule.text))
            }
        });
    }
}

/// The collection of that name.
pub fn collection(name: &str) -> Option<&'static Collection> {
    collections().find(|collection| collection.name == name)
}

/// The field of that name of that kind of item.
pub fn field(owner: Kind, name: &str) -> Option<&'static Field> {
    fields().find(|field| field.owner == owner && field.name == name)
}
