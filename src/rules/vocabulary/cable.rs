//! What a rule may ask about heating cables, their runs and corners, the kits they are made of and what switches them.

use super::*;
use crate::measure::index::RunId;
use crate::measure::leads::CableEnd;
use crate::measure::strips::Spacing;
use crate::model::{Cable, Kit, Mat};
use crate::reasons::no_kit;
use crate::things::{CableId, InRoom, JunctionId, KitId, ThermostatId, TurnOf, WallId};

pub(super) fn declare(all: &mut Vocabulary) {
    all.collection("cables", "Every heating cable.").is(|world, _, mut visit| {
        for (room, measured) in world.each_room() {
            visit.items((0..measured.room.cables.len()).map(|index| CableId { room, index }));
        }
    });
    all.collection("runs", "Every straight piece of every heating cable.").is(|world, _, mut visit| {
        for (room, measured) in world.each_room() {
            visit.items(measured.index().runs().map(|(thing, _)| InRoom { room, thing }));
        }
    });
    all.collection("turns", "Every corner of every heating cable, where one run ends and the next begins.").is(
        |world, _, mut visit| {
            for (room, measured) in world.each_room() {
                for index in 0..measured.room.cables.len() {
                    visit.items(turns(world, CableId { room, index }));
                }
            }
        },
    );
    all.collection(
        "cable-ends",
        "Both ends of every heating cable: where it starts, at its cold joint, and its far end, which is the end termination or \
         a second cold joint.",
    )
    .is(|world, _, mut visit| {
        for (room, measured) in world.each_room() {
            let drawn = measured.room.cables.iter().enumerate().filter(|(_, cable)| !cable.runs.is_empty());
            for (cable, _) in drawn {
                visit.items([false, true].map(|far| InRoom { room, thing: CableEnd { cable, far } }));
            }
        }
    });
    all.collection("kits", "Every kit that a cable of the plan is made of.").is(|world, _, mut visit| {
        for kit in 0..world.plan.kits.len() {
            let used = |cable: &Cable| cable.kit == Some(kit);
            if world.plan.rooms.iter().any(|room| room.cables.iter().any(used)) {
                visit.item(KitId(kit));
            }
        }
    });
    all.collection("thermostats", "Every thermostat.").is(|world, _, mut visit| {
        for (room, measured) in whole_rooms(world, &mut visit) {
            for cable in measured.room.cables.iter().filter(|cable| cable.thermostat.is_none()) {
                visit.missing(format!("cable `{}` has no thermostat", cable.name.text));
            }
            visit.items((0..measured.room.thermostats.len()).map(|index| ThermostatId { room, index }));
        }
    });
    all.collection(
        "spacings",
        "Every distance at which neighbouring runs, of one cable or of two, lie alongside each other for `least` or \
         more; pairs of runs that follow on each other at the same distance, to 1 mm, are one.",
    )
    .given(&[LEAST])
    .is(|world, given, mut visit| {
        for (room, measured) in whole_rooms(world, &mut visit) {
            match measured.spacings(given[0]).as_ref() {
                Some(spacings) => {
                    visit.items(spacings.found.iter().map(|thing| InRoom { room, thing: *thing }));
                    if spacings.more {
                        visit.missing("there are too many spacings to list them all".into());
                    }
                }
                None => {
                    visit.missing(format!("the runs of {} lie too thick to tell their spacings", room.describe(world)))
                }
            }
        }
    });
    all.fields(cable);
    all.fields(run);
    all.fields(spacing);
    all.fields(turn);
    all.fields(cable_end);
    all.fields(kit);
    all.fields(mat);
}

fn turns(world: &World<'_>, cable: CableId) -> Vec<TurnOf> {
    world.measured(cable.room).turns(cable.index).iter().map(|turn| TurnOf { cable, turn: *turn }).collect()
}

/// The kit of a cable, where one is known.
pub(super) fn kit_of<'a>(world: &World<'a>, cable: CableId) -> Option<&'a Kit> {
    world.cable(cable).kit.map(|kit| world.kit(KitId(kit)))
}

/// A field of a cable that its kit decides.
fn by_kit(
    world: &World<'_>,
    cable: CableId,
    value: impl FnOnce(&RoomMeasure<'_>, &Cable) -> Option<f64>,
) -> Result<f64, String> {
    let own = world.cable(cable);
    value(world.measured(cable.room), own).ok_or_else(|| no_kit(own))
}

/// The clear value of a distance from some cables: less half the diameter of each.
pub(super) fn clear(
    world: &World<'_>,
    cables: impl IntoIterator<Item = CableId>,
    distance: f64,
) -> Result<f64, String> {
    let mut left = distance;
    for cable in cables {
        let kit = kit_of(world, cable).ok_or_else(|| no_kit(world.cable(cable)))?;
        left -= kit.diameter.ok_or_else(|| format!("kit `{}` gives no diameter", kit.name.text))? / 2.0;
    }
    Ok(left.max(0.0))
}

fn cable(its: &mut Fields<'_, CableId>) {
    its.field("name", TEXT, "Its name.").is(|world, cable| world.cable(cable).name.text.clone());
    its.field("room", one(Kind::Room), "The room it lies in.").is(|_, cable| cable.room);
    its.field("kit", one(Kind::Kit), "The kit it is made of.").is(|world, cable| {
        let own = world.cable(cable);
        own.kit.map(KitId).ok_or_else(|| no_kit(own))
    });
    its.field("thermostat", one(Kind::Thermostat), "The thermostat that switches it.").is(|world, cable| {
        let index = world.cable(cable).thermostat;
        let thermostat = index.map(|index| ThermostatId { room: cable.room, index });
        thermostat.ok_or_else(|| world.reason(|| format!("{} has no thermostat", cable.describe(world))))
    });
    its.field("junction", one(Kind::Junction), "The junction box its cold tail comes from.").is(|world, cable| {
        let junction = world.cable(cable).junction.map(|index| JunctionId { room: cable.room, index });
        junction.ok_or_else(|| gives_no(world, cable, "tail"))
    });
    its.field("runs", NUMBER, "How many runs it has.").is(|world, cable| world.cable(cable).runs.len() as f64);
    its.field("drawn-length", LENGTH, "Its length along the middle of its runs, with sharp corners.")
        .is(|world, cable| world.measured(cable.room).drawn_length(cable.index));
    its.field(
        "laid-length",
        LENGTH,
        "Its length with corners rounded to the kit's bending radius, or to half a turn where that is less; \
         as drawn where the kit gives none.",
    )
    .is(|world, cable| {
        let bend_radius = kit_of(world, cable).and_then(|kit| kit.bend_radius);
        world.measured(cable.room).laid_length(cable.index, bend_radius.unwrap_or(0.0))
    });
    its.field("pitch", LENGTH, "The spacing of its parallel runs, centre to centre: the median over their length.").is(
        |world, cable| {
            let pitch = world.measured(cable.room).pitch(cable.index);
            pitch.ok_or_else(|| format!("{} has no parallel runs", cable.describe(world)))
        },
    );
    its.field("tail-route", LENGTH, "The length its cold tail needs: down from the junction box and along the floor.")
        .shown(|world, cable, limit| world.measured(cable.room).site_of_tail(world.cable(cable), limit))
        .is(|world, cable| {
            let route = world.measured(cable.room).tail_route(world.cable(cable));
            route.ok_or_else(|| format!("{} has no tail from a junction box of known height", cable.describe(world)))
        });
    its.field("tail-off-floor", LENGTH, "How much of its cold tails lies outside the walls, once they have come in.")
        .is(|world, cable| world.measured(cable.room).tails_off_floor(world.cable(cable)));
    its.field("second-tail", TRUTH, "Whether its far end has a cold tail too.")
        .is(|world, cable| world.cable(cable).second_tail.is_some());
    its.field("second-junction", one(Kind::Junction), "The junction box that the cold tail of its far end comes from.")
        .is(|world, cable| {
            let junction = world.cable(cable).second_tail.as_ref().and_then(|tail| tail.junction);
            let junction = junction.map(|index| JunctionId { room: cable.room, index });
            junction.ok_or_else(|| gives_no(world, cable, "second tail"))
        });
    its.field("second-tail-route", LENGTH, "The length that the cold tail of its far end needs, as `tail-route`.")
        .shown(|world, cable, limit| {
            world.measured(cable.room).site_of_second_tail(world.cable(cable).second_tail.as_ref()?, limit)
        })
        .is(|world, cable| {
            let tail = world.cable(cable).second_tail.as_ref();
            let route = tail.and_then(|tail| world.measured(cable.room).second_tail_route(tail));
            let why = || format!("{} has no second tail from a junction box of known height", cable.describe(world));
            route.ok_or_else(why)
        });
    its.field("voltage", VOLTAGE, "What it works at: its supply's voltage, or the kit's where no supply is given.")
        .is(|world, cable| by_kit(world, cable, |room, cable| room.voltage(cable)));
    its.field("power", POWER, "Its power at that voltage.")
        .is(|world, cable| by_kit(world, cable, |room, cable| room.power(cable)));
    its.field("current", CURRENT, "Its current at that voltage.")
        .is(|world, cable| by_kit(world, cable, |room, cable| room.current(cable)));
    its.field("turns", several(Kind::Turn), "Its corners.").is(turns);
}

fn run(its: &mut Fields<'_, InRoom<RunId>>) {
    its.field("number", NUMBER, "Its number in its cable, from 1.").is(|_, run| f64::from(run.thing.run) + 1.0);
    its.field("length", LENGTH, "From end to end.").is(|world, run| world.run(run).length());
    its.field("cable", one(Kind::Cable), "The cable it is part of.").is(|_, run| run.cable());
    its.field("room", one(Kind::Room), "The room it lies in.").is(|_, run| run.room);
    its.field(
        "wall-distance",
        LENGTH,
        "From its centre-line to the nearest wall; nothing where it touches or crosses one.",
    )
    .shown(|world, run, limit| world.measured(run.room).site_at_wall(run.thing, limit))
    .is(|world, run| world.measured(run.room).wall_distance(run.thing).distance);
    its.field("clear-wall-distance", LENGTH, "The same from the cable's surface.")
        .is(|world, run| clear(world, [run.cable()], world.measured(run.room).wall_distance(run.thing).distance));
    its.field("nearest-wall", one(Kind::Wall), "The wall nearest to it.").is(|world, run| {
        let index = world.measured(run.room).wall_distance(run.thing).wall;
        WallId { room: run.room, index }
    });
    its.field(
        "neighbour-distance",
        LENGTH,
        "From its centre-line to that of the run nearest straight across from it, on either side, where that comes nearest.",
    )
    .is(|world, run| Ok::<_, String>(neighbour(world, run)?.1));
    its.field("neighbour", one(Kind::Run), "That run.").is(|world, run| {
        let (thing, _) = neighbour(world, run)?;
        Ok::<_, String>(InRoom { room: run.room, thing })
    });
    its.field("length-off-floor", LENGTH, "How much of it lies outside the walls.")
        .shown(|world, run, _| world.measured(run.room).site_off_floor(run.thing))
        .is(|world, run| world.measured(run.room).wall_distance(run.thing).outside);
    its.field("length-off-level", LENGTH, "How much of it lies on another level than its cable's start, or on stairs.")
        .shown(|world, run, _| world.measured(run.room).site_off_level(run.thing))
        .is(|world, run| world.measured(run.room).length_off_level(run.thing));
}

/// The run nearest straight across from another, and how far off it is.
fn neighbour(world: &World<'_>, run: InRoom<RunId>) -> Result<(RunId, f64), String> {
    match world.measured(run.room).neighbour(run.thing) {
        None => Err(format!("the runs of {} lie too thick to tell their neighbours", run.room.describe(world))),
        Some(None) => Err(format!("no run lies straight across from {}", run.describe(world))),
        Some(Some(found)) => Ok(found),
    }
}

fn spacing(its: &mut Fields<'_, InRoom<Spacing>>) {
    its.field("distance", LENGTH, "How far the runs lie apart, centre-line to centre-line.")
        .is(|_, its| its.thing.distance);
    its.field(
        "usual",
        LENGTH,
        "How far apart the runs of their cable usually lie: the median over their length; of two cables, the one that is \
         nearer to how far these lie apart.",
    )
    .is(|_, its| its.thing.usual);
    its.field("pairs", NUMBER, "How many pairs of runs lie so.").is(|_, its| its.thing.pairs as f64);
    its.field("length", LENGTH, "How long they lie alongside each other, in all.").is(|_, its| its.thing.length);
    its.field("first", one(Kind::Run), "The earlier run of the first pair.").is(|_, its| its.first());
    its.field("second", one(Kind::Run), "The later run of the first pair.").is(|_, its| its.second());
    its.field("room", one(Kind::Room), "The room they lie in.").is(|_, its| its.room);
}

fn turn(its: &mut Fields<'_, TurnOf>) {
    its.field("cable", one(Kind::Cable), "The cable that turns.").is(|_, turn| turn.cable);
    its.field(
        "radius",
        LENGTH,
        "The largest radius there is room for: a curve may take half of each run, and all of a first or last one.",
    )
    .is(|_, turn| turn.turn.radius);
    its.field("angle", NUMBER, "By how many degrees the direction changes.")
        .is(|_, turn| turn.turn.angle().to_degrees());
}

fn cable_end(its: &mut Fields<'_, InRoom<CableEnd>>) {
    its.field("cable", one(Kind::Cable), "The cable that ends here.").is(|_, end| end.cable());
    its.field("run", one(Kind::Run), "Its first run or its last, which ends here.").is(|world, end| {
        let last = world.cable(end.cable()).runs.len().saturating_sub(1);
        end.beside(RunId::new(end.thing.cable, if end.thing.far { last } else { 0 }))
    });
    its.field("is-joint", TRUTH, "Whether it is a cold joint rather than the end termination.")
        .is(|world, end| end.is_joint(world));
    its.field("straight", LENGTH, "How much cable lies straight between it and the first turn.")
        .shown(|world, end, _| world.measured(end.room).site_of_straight(end.thing))
        .is(|world, end| world.measured(end.room).straight_at(end.thing));
    its.field("bend", NUMBER, "By how many degrees the way turns here, from the cold tail into the heating cable.")
        .shown(|world, end, _| world.measured(end.room).site_of_bend(end.thing))
        .is(|world, end| {
            let bend = world.measured(end.room).bend_at(end.thing).map(f64::to_degrees);
            bend.ok_or_else(|| format!("no tail is drawn to {}", end.describe(world)))
        });
    its.field("on-floor", TRUTH, "Whether it lies inside the room, clear of its walls.")
        .is(|world, end| world.measured(end.room).is_on_floor(end.thing));
}

fn kit(its: &mut Fields<'_, KitId>) {
    its.field("name", TEXT, "Its name.").is(|world, kit| world.kit(kit).name.text.clone());
    its.field("output", POWER, "Its power at its rated voltage.").is(|world, kit| world.kit(kit).output);
    its.field("voltage", VOLTAGE, "Its rated voltage.").is(|world, kit| world.kit(kit).voltage);
    its.field("length", LENGTH, "The length of its heating cable.").is(|world, kit| world.kit(kit).length);
    its.field("resistance", RESISTANCE, "Its cold resistance; that of output and voltage where the maker gives none.")
        .is(|world, kit| world.kit(kit).resistance);
    its.field("diameter", LENGTH, "The cable's outside diameter.")
        .is(|world, kit| world.kit(kit).diameter.ok_or_else(|| gives_no(world, kit, "diameter")));
    its.field("bend-radius", LENGTH, "The least radius the cable may be bent to.")
        .is(|world, kit| world.kit(kit).bend_radius.ok_or_else(|| gives_no(world, kit, "bend-radius")));
    its.field(
        "cores",
        NUMBER,
        "Its conductors: 2, joined at the far end, or 1, so that both ends have a cold tail; 2 where none is given.",
    )
    .is(|world, kit| f64::from(world.kit(kit).cores));
    its.field("tail", LENGTH, "The length of its cold tail; of each of them, where it has two.")
        .is(|world, kit| world.kit(kit).tail.ok_or_else(|| gives_no(world, kit, "tail")));
}

/// What a kit is as a mat.
fn mat(its: &mut Fields<'_, KitId>) {
    fn of(world: &World<'_>, kit: KitId) -> Result<Mat, String> {
        world.kit(kit).mat.ok_or_else(|| world.reason(|| format!("{} is no mat", kit.describe(world))))
    }
    its.field("mat-area", AREA, "The floor that it heats, where it is a mat: width times length.")
        .is(|world, kit| Ok(of(world, kit)?.area()));
    its.field("mat-spacing", LENGTH, "The spacing of the cable on it, where it is a mat.")
        .is(|world, kit| Ok(of(world, kit)?.spacing));
    its.field("mat-density", POWER_PER_AREA, "Its power at its rated voltage over its area, where it is a mat.")
        .is(|world, kit| Ok(world.kit(kit).output / of(world, kit)?.area()));
}
