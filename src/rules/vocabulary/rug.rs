//! What a rule may ask about rugs and flat furniture, and about the floor below them.

use super::*;
use crate::measure::floor_heat::Unknown;
use crate::measure::rugs::UnderRug;
use crate::things::{RugId, SensorId, UnderRugId};

/// A square metre in mm2: heat is measured by the metre, rules by the millimetre.
const SQUARE_METRE: f64 = 1e6;

pub(super) fn declare(all: &mut Vocabulary) {
    all.collection("rugs", "Every rug and flat piece of furniture.").is(|world, _, mut visit| {
        for (room, measured) in world.each_room() {
            visit.items((0..measured.room.rugs.len()).map(|index| RugId { room, index }));
        }
    });
    all.collection(
        "stretches-under-rugs",
        "Of each cable and of all rugs that lie over a part of it together, the stretch there that heats the \
         narrowest strip of floor.",
    )
    .is(|world, _, mut visit| {
        for (room, measured) in world.each_room().filter(|(_, measured)| !measured.room.rugs.is_empty()) {
            for (index, under) in measured.under_rugs().iter().enumerate() {
                match under {
                    Ok(_) => visit.item(UnderRugId { room, index }),
                    Err(unknown) => visit.missing(why(world, room, *unknown)),
                }
            }
        }
    });
    all.fields(rug);
    all.fields(under_rug);
}

/// Why a floor's heat can't be told, in words.
fn why(world: &World<'_>, room: RoomId, unknown: Unknown) -> String {
    crate::reasons::heat(world.plan, world.room(room), unknown)
}

fn rug(its: &mut Fields<'_, RugId>) {
    its.field("room", one(Kind::Room), "The room it is in.").is(|_, rug| rug.room);
    its.field("name", TEXT, "Its name.").is(|world, rug| world.rug(rug).name.text.clone());
    its.field("resistance", THERMAL_RESISTANCE, "Its thermal resistance.")
        .is(|world, rug| world.rug(rug).resistance * SQUARE_METRE);
    its.field("place", PLACE, "The middle of the box around it.")
        .is(|world, rug| rug.spot(world).ok_or_else(|| "it has no middle".to_string()));
}

/// A figure of the floor below rugs.
fn below(
    world: &World<'_>,
    under: UnderRugId,
    figure: impl Fn(&RoomMeasure<'_>, &UnderRug) -> Result<f64, Unknown>,
) -> Result<f64, String> {
    let measured = under.measured(world).ok_or_else(|| "nothing lies there".to_string())?;
    figure(world.measured(under.room), measured).map_err(|unknown| why(world, under.room, unknown))
}

fn under_rug(its: &mut Fields<'_, UnderRugId>) {
    its.field("stretch", one(Kind::Stretch), "The stretch; its own temperatures are of it without rugs.")
        .is(|world, under| under.stretch(world).ok_or_else(|| "nothing lies there".to_string()));
    its.field("cable", one(Kind::Cable), "The cable that it is part of.")
        .is(|world, under| under.cable(world).ok_or_else(|| "nothing lies there".to_string()));
    its.field("rugs", several(Kind::Rug), "The rugs that lie over it.").is(|world, under| under.rugs(world));
    its.field("resistance", THERMAL_RESISTANCE, "The thermal resistances of these, one on the other.")
        .is(|world, under| below(world, under, |_, under| Ok(under.resistance * SQUARE_METRE)));
    its.field(
        "warmest-surface",
        TEMPERATURE,
        "The floor's surface below the rugs at full power, right over the run, where it is warmest.",
    )
    .is(|world, under| {
        below(world, under, |room, under| Ok(room.heat_below(under.stretch, under.resistance)?.warmest))
    });
    its.field("sheath-temperature", TEMPERATURE, "The mean round the sheath there at full power.")
        .is(|world, under| below(world, under, |room, under| room.sheath_below(under)));
    its.field(
        "over-sensor",
        TRUTH,
        "Whether the tip of a sensor of its cable's thermostat lies below the same rugs, so that it holds the floor there.",
    )
    .is(|world, under| {
        let room = world.room(under.room);
        let thermostat = under.cable(world).and_then(|cable| world.cable(cable).thermostat);
        let measured = world.measured(under.room);
        let rugs = under.measured(world).map(|under| under.rugs.as_slice()).unwrap_or_default();
        let own = (0..room.sensors.len()).filter(|index| Some(room.sensors[*index].thermostat) == thermostat);
        let tips = own.filter_map(|index| SensorId { room: under.room, index }.spot(world));
        tips.into_iter().any(|tip| {
            let over: Vec<usize> = measured.rugs_over(tip).collect();
            rugs.iter().all(|rug| over.contains(rug))
        })
    });
}
