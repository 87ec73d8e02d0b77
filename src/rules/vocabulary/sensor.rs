//! What a rule may ask about floor sensors.

use super::*;
use crate::geometry::Piece;
use crate::reasons::no_cable;
use crate::things::{InRoom, SensorId, ThermostatId, WallId};

const DEPTH: Parameter = ("depth", Dimension::LENGTH);

pub(super) fn declare(all: &mut Vocabulary) {
    all.collection("sensors", "Every floor sensor.").is(|world, _, mut visit| {
        for (room, measured) in whole_rooms(world, &mut visit) {
            if measured.room.sensors.is_empty() && !measured.room.cables.is_empty() {
                visit.missing(format!("{} has no floor sensor", room.describe(world)));
            }
            visit.items((0..measured.room.sensors.len()).map(|index| SensorId { room, index }));
        }
    });
    all.fields(sensor);
}

fn none_beside() -> String {
    "there is no run beside it".into()
}

fn none_opposite() -> String {
    "there is no run on its other side".into()
}

/// The wall nearest to a sensor's tip, and how far off it is, mm.
fn nearest_wall(world: &World<'_>, sensor: SensorId) -> Result<(WallId, f64), String> {
    let tip = world.sensor(sensor).conduit.last().copied();
    let tip = tip.ok_or_else(|| format!("no conduit of {} is drawn", sensor.describe(world)))?;
    let (index, near) = world.measured(sensor.room).outline().nearest(Piece::at(tip));
    Ok((WallId { room: sensor.room, index }, near.distance))
}

fn sensor(its: &mut Fields<'_, SensorId>) {
    its.field("name", TEXT, "Its name.").is(|world, sensor| world.sensor(sensor).name.text.clone());
    its.field("wall-distance", LENGTH, "From its tip to the nearest wall.")
        .is(|world, sensor| Ok::<_, String>(nearest_wall(world, sensor)?.1));
    its.field("off-floor", LENGTH, "How much of its conduit lies outside the walls, once it has come in.")
        .is(|world, sensor| world.measured(sensor.room).conduit_off_floor(sensor.index));
    its.field("nearest-wall", one(Kind::Wall), "The wall nearest to its tip.")
        .is(|world, sensor| Ok::<_, String>(nearest_wall(world, sensor)?.0));
    its.field("thermostat", one(Kind::Thermostat), "The thermostat it belongs to.")
        .is(|world, sensor| ThermostatId { room: sensor.room, index: world.sensor(sensor).thermostat });
    its.field("between", TRUTH, "Whether a run lies on each side of its tip, in opposite directions.").is(
        |world, sensor| {
            let beside = world.measured(sensor.room).neighbours(sensor.index);
            if beside.nearest.is_none() {
                return Err(no_cable(world.room(sensor.room)));
            }
            Ok(beside.opposite.is_some())
        },
    );
    its.field("gap", LENGTH, "From its tip to the nearest run.").is(|world, sensor| {
        let nearest = world.measured(sensor.room).neighbours(sensor.index).nearest;
        nearest.map(|beside| beside.gap).ok_or_else(none_beside)
    });
    its.field("opposite-gap", LENGTH, "From its tip to the first run in the opposite direction.").is(
        |world, sensor| {
            let opposite = world.measured(sensor.room).neighbours(sensor.index).opposite;
            opposite.map(|beside| beside.gap).ok_or_else(none_opposite)
        },
    );
    its.field("off-centre", LENGTH, "How far its tip lies from midway between those two.").is(|world, sensor| {
        world.measured(sensor.room).neighbours(sensor.index).off_centre().ok_or_else(none_opposite)
    });
    its.field("nearest-run", one(Kind::Run), "The run nearest to its tip.").is(|world, sensor| {
        let nearest = world.measured(sensor.room).neighbours(sensor.index).nearest;
        nearest.map(|beside| InRoom { room: sensor.room, thing: beside.run }).ok_or_else(none_beside)
    });
    its.field("opposite-run", one(Kind::Run), "The first run in the opposite direction.").is(|world, sensor| {
        let opposite = world.measured(sensor.room).neighbours(sensor.index).opposite;
        opposite.map(|beside| InRoom { room: sensor.room, thing: beside.run }).ok_or_else(none_opposite)
    });
    its.field(
        "power-density",
        POWER_PER_AREA,
        "The power given to the floor where its tip lies: that of the runs on both sides over the width between them.",
    )
    .is(|world, sensor| {
        let measured = world.measured(sensor.room);
        let density = measured
            .sensor_density(sensor.index)
            .map_err(|unknown| crate::reasons::heat(world.plan, world.room(sensor.room), unknown))?;
        density.map(|density| density / 1e6).ok_or_else(none_opposite)
    });
    its.field("midway", PLACE, "The point midway between those two, straight over from its tip.")
        .is(|world, sensor| world.measured(sensor.room).midway(sensor.index).ok_or_else(none_opposite));
    its.field(
        "tip-at",
        PLACE,
        "Where its tip lies `depth` into the heated floor, straight on along its conduit or back; to the whole millimetre.",
    )
    .given(&[DEPTH])
    .is(|world, sensor, given| {
        let tip = world.measured(sensor.room).tip_at(sensor.index, given[0]);
        tip.ok_or_else(|| "its conduit has no length".to_string())
    });
    its.field(
        "depth",
        LENGTH,
        "How far its tip lies inside the heated floor, straight in from the wall that its thermostat stands at, and no farther \
         than along its conduit. The heated floor reaches half a pitch from the cable and over the channel the sensor lies in.",
    )
    .is(|world, sensor| world.measured(sensor.room).sensor_depth(sensor.index).ok_or_else(none_beside));
    its.field("conduit-length", LENGTH, "Its conduit's length, down from the thermostat and along the floor.").is(
        |world, sensor| {
            let length = world.measured(sensor.room).conduit_length(sensor.index);
            length.ok_or_else(|| "its thermostat gives no height".to_string())
        },
    );
    its.field("lead", LENGTH, "The length of the sensor's own lead.")
        .is(|world, sensor| world.sensor(sensor).lead.ok_or_else(|| gives_no(world, sensor, "lead")));
}
