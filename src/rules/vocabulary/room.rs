//! What a rule may ask about rooms, their walls, and what stands or lies in them.

use super::*;
use crate::layout::kinds::{FixtureKind, PipeKind};
use crate::measure::doors;
use crate::measure::room::Feature;
use crate::model::{AreaKind, Line, LineKind};
use crate::reasons::{no_cable, no_kit};
use crate::things::{CableId, FloorOf, InRoom, KitId, SensorId, ThermostatId, WallId};
use crate::worded::Worded as _;

pub(super) fn declare(all: &mut Vocabulary) {
    all.collection("rooms", "Every room of the plan.").is(|world, _, mut visit| {
        for (room, _) in whole_rooms(world, &mut visit) {
            visit.item(room);
        }
    });
    all.collection("walls", "Every wall of every room.").is(|world, _, mut visit| {
        for (room, measured) in world.each_room() {
            visit.items((0..measured.room.walls.len()).map(|index| WallId { room, index }));
        }
    });
    all.fields(room);
    all.collection("doors", "Every door.").is(|world, _, mut visit| {
        for (room, measured) in world.each_room() {
            let is_door = |_: Option<&AreaKind>, line: Option<&LineKind>| matches!(line, Some(LineKind::Door { .. }));
            visit.items(measured.features(is_door).into_iter().map(|thing| InRoom { room, thing }));
        }
    });
    all.fields(wall);
    all.fields(feature);
}

/// The room before this one that it shares the most floor with, and how much, mm2.
fn shared_most(world: &World<'_>, room: RoomId) -> Option<(RoomId, f64)> {
    let own = world.measured(room);
    let before = world.each_room().take_while(|(other, _)| *other != room);
    let shared = before.map(|(other, measured)| (other, own.shared_floor(measured))).filter(|(_, area)| *area > 0.0);
    shared.max_by(|a, b| a.1.total_cmp(&b.1))
}

fn room(its: &mut Fields<'_, RoomId>) {
    its.field("name", TEXT, "Its name.").is(|world, room| world.room(room).name.text.clone());
    its.field("area", AREA, "The area inside the walls.").is(|world, room| world.measured(room).area());
    its.field(
        "free-area",
        AREA,
        "The free floor: the room less its fixtures, but for those raised by `free-height` or more, other levels, \
         and a strip of `clearance` along these and the walls.",
    )
    .given(&[CLEARANCE, FREE_HEIGHT])
    .is(|world, room, given| world.measured(room).free_area(margins(given)).ok_or_else(|| too_intricate(world, room)));
    its.field("heated-area", AREA, "The part of the free floor within half the usual spacing of a cable, and half way from its runs to neighbours farther off.")
        .given(&[CLEARANCE, FREE_HEIGHT])
        .is(|world, room, given| {
            let measured = world.measured(room);
            if measured.room.cables.is_empty() {
                return Err(no_cable(measured.room));
            }
            if measured.free_area(margins(given)).is_none() {
                return Err(too_intricate(world, room));
            }
            let heated = measured.heated_area(margins(given));
            heated.ok_or_else(|| {
                format!("a cable of {} has no parallel runs to take a spacing from", room.describe(world))
            })
        });
    its.field("kit-length", LENGTH, "The lengths of the kits of its cables, added up.").is(|world, room| {
        let cables = &world.room(room).cables;
        if cables.is_empty() {
            return Err(no_cable(world.room(room)));
        }
        let lengths = cables.iter().map(|cable| Ok(world.kit(KitId(cable.kit.ok_or_else(|| no_kit(cable))?)).length));
        lengths.sum::<Result<f64, String>>()
    });
    its.field(
        "shared-floor",
        AREA,
        "How much of it lies in the room too that it shares the most floor with, of those before it in the plan.",
    )
    .is(|world, room| shared_most(world, room).map_or(0.0, |(_, area)| area));
    its.field(
        "shared-with",
        one(Kind::Room),
        "The room that it shares the most floor with, of those before it in the plan.",
    )
    .is(|world, room| {
        let most = shared_most(world, room).map(|(other, _)| other);
        most.ok_or_else(|| format!("{} shares no floor", room.describe(world)))
    });
    its.field("walls", several(Kind::Wall), "Its walls, in the order of the outline.")
        .is(|world, room| (0..world.room(room).walls.len()).map(|index| WallId { room, index }).collect::<Vec<_>>());
    its.field("cables", several(Kind::Cable), "Its heating cables.")
        .is(|world, room| (0..world.room(room).cables.len()).map(|index| CableId { room, index }).collect::<Vec<_>>());
    its.field("thermostats", several(Kind::Thermostat), "Its thermostats.").is(|world, room| {
        (0..world.room(room).thermostats.len()).map(|index| ThermostatId { room, index }).collect::<Vec<_>>()
    });
    its.field("sensors", several(Kind::Sensor), "Its floor sensors.").is(|world, room| {
        (0..world.room(room).sensors.len()).map(|index| SensorId { room, index }).collect::<Vec<_>>()
    });
    its.field("floor", one(Kind::Floor), "Its floor's build-up.")
        .is(|world, room| world.floor(room).map(|_| FloorOf(room)).ok_or_else(|| gives_no(world, room, "floor")));
    its.field("inside", TEMPERATURE, "The temperature it is heated to.")
        .is(|world, room| world.room(room).inside.ok_or_else(|| gives_no(world, room, "inside temperature")));
    its.field("heat-loss", POWER, "The heat it loses.")
        .is(|world, room| world.room(room).heat_loss.ok_or_else(|| gives_no(world, room, "heat loss")));
}

fn wall(its: &mut Fields<'_, WallId>) {
    its.field("number", NUMBER, "Its number in the outline, from 1.").is(|_, wall| wall.index as f64 + 1.0);
    its.field("room", one(Kind::Room), "The room whose wall it is.").is(|_, wall| wall.room);
    its.field("length", LENGTH, "From corner to corner.")
        .is(|world, wall| world.measured(wall.room).outline().edge(wall.index).length());
    its.field("outside", TRUTH, "Whether the plan calls it an outside wall.")
        .is(|world, wall| world.wall(wall).outside);
}

fn feature(its: &mut Fields<'_, InRoom<Feature>>) {
    its.field("name", TEXT, "Its name.").is(|world, feature| feature.name(world).text.clone());
    its.field(
        "sort",
        TEXT,
        "`fixture`, `drill zone`, `level`, `stairs`, `joint`, `pipe`, `partition`, `door` or `shower head`.",
    )
    .is(|world, feature| feature.word(world));
    its.field(
        "kind",
        TEXT,
        "What the plan says it is: `bath`, `shower` and so on of a fixture, `hot` or `cold` of a pipe.",
    )
    .is(|world, feature| {
        let room = world.room(feature.room);
        let kind = match feature.thing {
            Feature::Area(index) => match room.areas[index].kind {
                AreaKind::Fixture { kind, .. } => kind.map(FixtureKind::word),
                _ => None,
            },
            Feature::Line(index) => match room.lines[index].kind {
                LineKind::Pipe(kind) => kind.map(PipeKind::word),
                _ => None,
            },
            Feature::ShowerHead(_) => None,
        };
        kind.ok_or_else(|| gives_no(world, feature, "kind"))
    });
    its.field("raised", LENGTH, "The free height under a fixture that doesn't stand on the floor.").is(
        |world, feature| {
            let raised = match feature.thing {
                Feature::Area(index) => match world.room(feature.room).areas[index].kind {
                    AreaKind::Fixture { raised, .. } => raised,
                    _ => None,
                },
                Feature::Line(_) | Feature::ShowerHead(_) => None,
            };
            raised.ok_or_else(|| format!("{} stands on the floor", feature.describe(world)))
        },
    );
    its.field(
        "clear-below",
        LENGTH,
        "The same where cable may lie under it: not of a bath, a shower, a wc or a unit, unless it is `open` to the \
         room.",
    )
    .is(|world, feature| {
        let clear = match feature.thing {
            Feature::Area(index) => world.room(feature.room).areas[index].kind.clear_below(),
            Feature::Line(_) | Feature::ShowerHead(_) => None,
        };
        clear.ok_or_else(|| format!("no cable may lie under {}", feature.describe(world)))
    });
    its.field("through", TRUTH, "Whether the floor's covering goes on through a door.").is(|world, feature| {
        match line_of(world, feature).map(|line| &line.kind) {
            Some(LineKind::Door { through, .. }) => Ok(*through),
            _ => Err(format!("{} is no door", feature.describe(world))),
        }
    });
    its.field(
        "joint-distance",
        LENGTH,
        "How near one movement joint comes to the whole of a line, such as a door's threshold: the farthest of its \
         ends and its middle.",
    )
    .is(|world, feature| {
        let room = world.room(feature.room);
        let beside = line_of(world, feature).and_then(|line| doors::joint_beside(room, line));
        beside.ok_or_else(|| format!("{} has no movement joint", feature.room.describe(world)))
    });
    its.field("room", one(Kind::Room), "The room it is in.").is(|_, feature| feature.room);
    its.field("open", TRUTH, "Whether the plan says that what is under a fixture is open to the room.").is(
        |world, feature| match feature.thing {
            Feature::Area(index) => {
                matches!(world.room(feature.room).areas[index].kind, AreaKind::Fixture { open: true, .. })
            }
            Feature::Line(_) | Feature::ShowerHead(_) => false,
        },
    );
}

/// The line that a feature is, where it is one.
fn line_of<'a>(world: &World<'a>, feature: InRoom<Feature>) -> Option<&'a Line> {
    match feature.thing {
        Feature::Line(index) => world.room(feature.room).lines.get(index),
        Feature::Area(_) | Feature::ShowerHead(_) => None,
    }
}
