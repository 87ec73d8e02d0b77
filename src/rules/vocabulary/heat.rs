//! What a rule may ask of a floor's build-up, its bays and its heat.

use super::*;
use crate::layout::kinds::{FixtureKind, MaterialKind};
use crate::measure::bays::Bay;
use crate::measure::floor_heat::{CableHeat, Unknown};
use crate::measure::heat::SlabHeat;
use crate::measure::strips::{Stretch, Strips};
use crate::model::{AreaKind, Below, Floor, LayerBody};
use crate::things::{CableId, FloorOf, InRoom, LayerId};
use crate::worded::Worded as _;

const RIPPLE: Parameter = ("ripple", Dimension::TEMPERATURE_DIFFERENCE);
const LIMIT: Parameter = ("limit", Dimension::TEMPERATURE);
const SHARE: Parameter = ("share", Dimension::NUMBER);

/// A square metre in mm2: heat is measured by the metre, rules by the millimetre.
const SQUARE_METRE: f64 = 1e6;

pub(super) fn declare(all: &mut Vocabulary) {
    all.collection("layers", "Every layer of every floor, top first.").is(|world, _, mut visit| {
        for (room, _) in world.each_room() {
            visit.items(layers(world, room));
        }
    });
    all.collection(
        "bays",
        "The parts of every floor that movement joints and other levels divide it into, the largest first. A joint \
         that ends inside the floor divides nothing.",
    )
    .is(|world, _, mut visit| {
        for (room, measured) in whole_rooms(world, &mut visit) {
            match measured.bays() {
                Some(bays) => visit.items(bays.iter().map(|bay| InRoom { room, thing: *bay })),
                None => visit.missing(format!(
                    "the joints and levels of {} are too intricate to measure its bays",
                    room.describe(world)
                )),
            }
        }
    });
    all.fields(room);
    all.fields(floor);
    all.fields(floor_round_cable);
    all.fields(layer);
    all.fields(bay);
    all.fields(cable);
    all.fields(stretch);
    all.fields(cable_evenness);
}

/// The layers of a floor.
fn layers(world: &World<'_>, room: RoomId) -> impl Iterator<Item = LayerId> + use<> {
    let count = world.floor(room).map_or(0, |floor| floor.layers.len());
    (0..count).map(move |index| LayerId { room, index })
}

/// Why a floor's heat can't be told, in words.
fn why(world: &World<'_>, room: RoomId, unknown: Unknown) -> String {
    crate::reasons::heat(world.plan, world.room(room), unknown)
}

fn told<A>(world: &World<'_>, room: RoomId, value: Result<A, Unknown>) -> Result<A, String> {
    value.map_err(|unknown| why(world, room, unknown))
}

fn room(its: &mut Fields<'_, RoomId>) {
    its.field("below", TEMPERATURE, "How warm it is below its floor.").is(|world, room| {
        let below = world.room(room).below.map(|below| match below {
            Below::Room(temperature) | Below::Ground(temperature) => temperature,
        });
        below.ok_or_else(|| why(world, room, Unknown::Below))
    });
    its.field("on-ground", TRUTH, "Whether the ground lies below its floor, rather than a room.").is(|world, room| {
        let below = world.room(room).below.map(|below| matches!(below, Below::Ground(_)));
        below.ok_or_else(|| why(world, room, Unknown::Below))
    });
    its.field("power-density", POWER_PER_AREA, "The power of its cables over all the floor that their strips take.")
        .is(|world, room| {
            let density = world.measured(room).mean_power_density();
            told(world, room, density.map(|density| density / SQUARE_METRE))
        });
    its.field("wet", TRUTH, "Whether a bath or a shower stands in it.").is(|world, room| {
        let room = world.room(room);
        let wet = |kind: &AreaKind| {
            matches!(kind, AreaKind::Fixture { kind: Some(FixtureKind::Bath | FixtureKind::Shower), .. })
        };
        room.areas.iter().any(|area| wet(&area.kind)) || !room.shower_heads.is_empty()
    });
    its.field("reach-from-outside", LENGTH, "How far from its outside walls its farthest corner lies.").is(
        |world, room| {
            let reach = world.measured(room).floor_from_outside();
            reach.ok_or_else(|| format!("{} has no outside wall", room.describe(world)))
        },
    );
    its.field("heat-output", POWER, "What its cables give to it at full power, in the steady state.")
        .is(|world, room| told(world, room, world.measured(room).heat_flows().map(|flows| flows.0)));
    its.field("heat-below", POWER, "What they lose below then.")
        .is(|world, room| told(world, room, world.measured(room).heat_flows().map(|flows| flows.1)));
    its.field(
        "surface-temperature",
        TEMPERATURE,
        "The mean over its free floor at full power; what no cable heats of it counts with the temperature it has of \
         itself.",
    )
    .given(&[CLEARANCE, FREE_HEIGHT])
    .is(|world, room, given| match world.measured(room).mean_surface(margins(given)) {
        Ok(mean) => mean.ok_or_else(|| too_intricate(world, room)),
        Err(unknown) => Err(why(world, room, unknown)),
    });
}

fn floor(its: &mut Fields<'_, FloorOf>) {
    its.field("kind", TEXT, "`timber` or `concrete`.")
        .is(|world, floor| if world.floor(floor.0).is_some_and(|floor| floor.timber) { "timber" } else { "concrete" });
    its.field("layers", several(Kind::Layer), "Its layers, top first.")
        .is(|world, floor| layers(world, floor.0).collect::<Vec<_>>());
    its.field("covering", one(Kind::Layer), "Its top layer.")
        .is(|world, floor| layers(world, floor.0).next().ok_or_else(|| "the floor has no layers".to_string()));
    its.field("cable-layer", one(Kind::Layer), "The layer the cable lies in.").is(|world, floor| {
        let holding = world.floor(floor.0).and_then(Floor::cable);
        let layer = holding.map(|(index, _)| LayerId { room: floor.0, index });
        layer.ok_or_else(|| why(world, floor.0, Unknown::CableLayer))
    });
    its.field("cable-height", LENGTH, "Height of the cable's centre over that layer's underside.").is(
        |world, floor| {
            let height = world.floor(floor.0).and_then(Floor::cable).map(|(_, height)| height);
            height.ok_or_else(|| why(world, floor.0, Unknown::CableLayer))
        },
    );
}

/// What lies on the cable and round it.
fn floor_round_cable(its: &mut Fields<'_, FloorOf>) {
    its.field(
        "resistance-over-cable",
        THERMAL_RESISTANCE,
        "The thermal resistance between the cable's centre and the surface.",
    )
    .is(|world, floor| {
        let over = world.floor(floor.0).and_then(Floor::resistance_over_cable);
        over.map(|over| over * SQUARE_METRE).ok_or_else(|| why(world, floor.0, Unknown::CableLayer))
    });
}

/// What a layer's body gives, or that this layer has none of it.
fn of_body<A>(
    world: &World<'_>,
    layer: LayerId,
    what: &str,
    get: impl Fn(&LayerBody) -> Option<A>,
) -> Result<A, String> {
    world.layer(layer).and_then(|layer| get(&layer.body)).ok_or_else(|| gives_no(world, layer, what))
}

fn layer(its: &mut Fields<'_, LayerId>) {
    its.field("name", TEXT, "Its name.").is(|world, layer| {
        let name = world.layer(layer).map(|layer| layer.name.text.clone());
        name.ok_or_else(|| gives_no(world, layer, "name"))
    });
    its.field("number", NUMBER, "Its number in its floor, from 1 at the top.").is(|_, layer| layer.index as f64 + 1.0);
    its.field("thickness", LENGTH, "How thick it is; of one given by its resistance not known.").is(|world, layer| {
        of_body(world, layer, "thickness", |body| match body {
            LayerBody::Solid { thickness, .. } => Some(*thickness),
            LayerBody::Resistance(_) => None,
        })
    });
    its.field("conductivity", CONDUCTIVITY, "The thermal conductivity of its material.").is(|world, layer| {
        of_body(world, layer, "material", |body| match body {
            LayerBody::Solid { conductivity, .. } => Some(conductivity / 1e3),
            LayerBody::Resistance(_) => None,
        })
    });
    its.field("resistance", THERMAL_RESISTANCE, "Its thermal resistance: thickness over conductivity.").is(
        |world, layer| {
            of_body(world, layer, "resistance", |body| {
                Some(
                    SQUARE_METRE
                        * match body {
                            LayerBody::Solid { thickness, conductivity, .. } => thickness / 1e3 / conductivity,
                            LayerBody::Resistance(resistance) => *resistance,
                        },
                )
            })
        },
    );
    its.field("material", TEXT, "The name of its material.").is(|world, layer| {
        of_body(world, layer, "material", |body| match body {
            LayerBody::Solid { material, .. } => Some(material.clone()),
            LayerBody::Resistance(_) => None,
        })
    });
    its.field(
        "kind",
        TEXT,
        "Of what kind its material is: `tile`, `mineral`, `timber`, `insulation`, `backer` or `decoupling`.",
    )
    .is(|world, layer| {
        of_body(world, layer, "kind of material", |body| match body {
            LayerBody::Solid { kind, .. } => kind.map(MaterialKind::word),
            LayerBody::Resistance(_) => None,
        })
    });
    its.field("surface-limit", TEMPERATURE, "How warm its surface may get, where the plan says so of its material.")
        .is(|world, layer| {
            of_body(world, layer, "surface limit", |body| match body {
                LayerBody::Solid { surface_limit, .. } => *surface_limit,
                LayerBody::Resistance(_) => None,
            })
        });
    its.field("under-cable", TRUTH, "Whether it lies under the layer that holds the cable.").is(|world, layer| {
        let holding = world.floor(layer.room).and_then(Floor::cable);
        let under = holding.map(|(holding, _)| layer.index > holding);
        under.ok_or_else(|| why(world, layer.room, Unknown::CableLayer))
    });
}

fn bay(its: &mut Fields<'_, InRoom<Bay>>) {
    its.field("room", one(Kind::Room), "The room it is in.").is(|_, bay| bay.room);
    its.field("area", AREA, "Its area, what stands on it included.").is(|_, bay| bay.thing.area);
    its.field("length", LENGTH, "The longer side of the smallest rectangle round it.").is(|_, bay| bay.thing.length);
    its.field("width", LENGTH, "The shorter side.").is(|_, bay| bay.thing.width);
    its.field("place", PLACE, "Its corner towards the south-west.").is(|_, bay| bay.thing.at);
    its.field("heated", TRUTH, "Whether heating cable lies in it.").is(|_, bay| bay.thing.heated);
}

/// A figure of a cable's heat while it gives a share of what it can give to the room.
fn at_share(world: &World<'_>, cable: CableId, share: f64, figure: fn(&CableHeat) -> f64) -> Result<f64, String> {
    let heat = world.measured(cable.room).cable_heat(cable.index, share);
    told(world, cable.room, heat.map(|heat| figure(&heat)))
}

fn cable(its: &mut Fields<'_, CableId>) {
    its.field("power-density", POWER_PER_AREA, "Its power over all the floor that it heats.").is(|world, cable| {
        let density = world.measured(cable.room).power_density(cable.index);
        told(world, cable.room, density.map(|density| density / SQUARE_METRE))
    });
    its.field("strip-area", AREA, "All the floor that its strips take.").is(|world, cable| {
        let strips = world.measured(cable.room).strips_heated(cable.index);
        told(world, cable.room, strips.map(|strips| strips.area))
    });
    its.field("narrowest", one(Kind::Stretch), "The stretch of it that heats the narrowest strip of floor.")
        .is(|world, cable| strip(world, cable, |strips| strips.narrowest));
    its.field("widest", one(Kind::Stretch), "The stretch of it that heats the widest strip of floor.")
        .is(|world, cable| strip(world, cable, |strips| strips.widest));
    its.field(
        "surface-temperature",
        TEMPERATURE,
        "The mean temperature of the floor over it while it gives `share` of the heat it can give to the room; 100 % \
         is full power.",
    )
    .given(&[SHARE])
    .is(|world, cable, given| at_share(world, cable, given[0], |heat| heat.slab.surface));
    its.field(
        "warmest-surface",
        TEMPERATURE,
        "The same right over the run where its strip is narrowest, the warmest of all.",
    )
    .given(&[SHARE])
    .is(|world, cable, given| {
        let stretch = strip(world, cable, |strips| strips.narrowest)?;
        of_stretch(world, stretch, given[0], |heat| heat.warmest)
    });
    its.field(
        "coolest-surface",
        TEMPERATURE,
        "The same at the edge of its strip where that is widest, the coolest of all.",
    )
    .given(&[SHARE])
    .is(|world, cable, given| {
        let stretch = strip(world, cable, |strips| strips.widest)?;
        of_stretch(world, stretch, given[0], |heat| heat.coolest)
    });
    its.field("heat-up", POWER_PER_AREA, "What it gives to the room then.")
        .given(&[SHARE])
        .is(|world, cable, given| at_share(world, cable, given[0], |heat| heat.slab.upward / SQUARE_METRE));
    its.field("heat-down", POWER_PER_AREA, "What it loses below then.")
        .given(&[SHARE])
        .is(|world, cable, given| at_share(world, cable, given[0], |heat| heat.slab.downward / SQUARE_METRE));
    its.field(
        "sheath-temperature",
        TEMPERATURE,
        "The mean round its sheath at full power where its strip is narrowest.",
    )
    .is(|world, cable| {
        let stretch = strip(world, cable, |strips| strips.narrowest)?;
        told(world, cable.room, world.measured(cable.room).sheath(stretch.thing))
    });
    its.field("share-below", NUMBER, "The share of its heat that is lost below at full power.")
        .is(|world, cable| at_share(world, cable, 1.0, |heat| heat.slab.downward / heat.density()));
}

/// One of the strips that a cable heats.
fn strip(world: &World<'_>, cable: CableId, of: fn(&Strips) -> Stretch) -> Result<InRoom<Stretch>, String> {
    let strips = world.measured(cable.room).strips_heated(cable.index);
    told(world, cable.room, strips.map(|strips| InRoom { room: cable.room, thing: of(&strips) }))
}

/// A figure of the floor where a stretch lies, while its cable gives a share of what it can give to the room.
fn of_stretch(
    world: &World<'_>,
    stretch: InRoom<Stretch>,
    share: f64,
    figure: fn(&SlabHeat) -> f64,
) -> Result<f64, String> {
    let heat = world.measured(stretch.room).stretch_heat(stretch.thing, share);
    told(world, stretch.room, heat.map(|heat| figure(&heat)))
}

fn stretch(its: &mut Fields<'_, InRoom<Stretch>>) {
    its.field("run", one(Kind::Run), "The run that it is part of.").is(|world, stretch| {
        let drawn = world.room(stretch.room).evenly.is_none();
        if drawn { Ok(stretch.run()) } else { Err("no run of its cable is drawn".to_string()) }
    });
    its.field("cable", one(Kind::Cable), "The cable that it is part of.").is(|_, stretch| stretch.run().cable());
    its.field("width", LENGTH, "How wide a strip of floor it heats, in the mean.").is(|_, stretch| stretch.thing.width);
    its.field("length", LENGTH, "How long it is.").is(|_, stretch| stretch.thing.to - stretch.thing.from);
    its.field("beside", several(Kind::Run), "The runs next to it, on its left and on its right.").is(|_, stretch| {
        let beside = stretch.thing.beside.into_iter().flatten();
        beside.map(|run| InRoom { room: stretch.room, thing: run }).collect::<Vec<_>>()
    });
    its.field("place", PLACE, "Its middle.")
        .is(|world, stretch| stretch.spot(world).ok_or_else(|| "it has no middle".to_string()));
    its.field("power-density", POWER_PER_AREA, "Its cable's power per length over that width.").is(|world, stretch| {
        let density = world.measured(stretch.room).stretch_density(stretch.thing);
        told(world, stretch.room, density.map(|density| density / SQUARE_METRE))
    });
    its.field(
        "surface-temperature",
        TEMPERATURE,
        "The mean temperature of the floor over it while its cable gives `share` of the heat it can give to the room; \
         100 % is full power.",
    )
    .given(&[SHARE])
    .is(|world, stretch, given| of_stretch(world, stretch, given[0], |heat| heat.surface));
    its.field("warmest-surface", TEMPERATURE, "The same right over the run, where it is warmest.")
        .given(&[SHARE])
        .is(|world, stretch, given| of_stretch(world, stretch, given[0], |heat| heat.warmest));
    its.field("coolest-surface", TEMPERATURE, "The same at the edge of its strip, where it is coolest.")
        .given(&[SHARE])
        .is(|world, stretch, given| of_stretch(world, stretch, given[0], |heat| heat.coolest));
    its.field(
        "warmest-while-held",
        TEMPERATURE,
        "How warm the floor gets right over the run while its thermostat holds it at `limit` where its sensor lies: all that \
         the thermostat switches then gives the same share of its power, as much as EN 1264-2 has leave the floor there at \
         `limit`. At full power where that doesn't get the floor there so warm.",
    )
    .given(&[LIMIT])
    .is(|world, stretch, given| {
        let room = world.room(stretch.room);
        let thermostat = room.cables[stretch.thing.run.in_room()].thermostat;
        let sensor = thermostat.and_then(|own| room.sensors.iter().position(|sensor| sensor.thermostat == own));
        let sensor = sensor.ok_or_else(|| format!("{} has no floor sensor", stretch.run().cable().describe(world)))?;
        let heat = world.measured(stretch.room).heat_while_held(stretch.thing, sensor, given[0]);
        let heat = told(world, stretch.room, heat)?;
        heat.map(|heat| heat.warmest).ok_or_else(|| "the tip of its sensor lies between no runs".to_string())
    });
    its.field("sheath-temperature", TEMPERATURE, "The mean round the sheath at full power.")
        .is(|world, stretch| told(world, stretch.room, world.measured(stretch.room).sheath(stretch.thing)));
}

/// What would have to change for its heat to go where it should.
fn cable_evenness(its: &mut Fields<'_, CableId>) {
    its.field(
        "resistance-lacking",
        THERMAL_RESISTANCE,
        "How much more resistance under it would let no more than `share` of its heat below at full power; less than \
         nothing where there is some to spare.",
    )
    .given(&[SHARE])
    .is(|world, cable, given| {
        if given[0] <= 0.0 {
            return Err("some heat always goes below".to_string());
        }
        let lacking = world.measured(cable.room).resistance_lacking(cable.index, given[0]);
        told(world, cable.room, lacking.map(|lacking| lacking * SQUARE_METRE))
    });
    its.field(
        "even-pitch",
        LENGTH,
        "The widest pitch at which a cable that gives the floor the same power would leave no more than `ripple` \
         between the warmest surface and the coolest at full power; never more than its own.",
    )
    .given(&[RIPPLE])
    .is(|world, cable, given| {
        let pitch = world.measured(cable.room).even_pitch(cable.index, given[0]);
        told(world, cable.room, pitch.map(|pitch| pitch * 1e3))
    });
    its.field(
        "reach-from-outside",
        LENGTH,
        "How far from an outside wall its runs lie, the farthest of them; each is measured from the outside wall that \
         it keeps nearest to.",
    )
    .is(|world, cable| {
        let reach = world.measured(cable.room).reach_from_outside(cable.index);
        reach.ok_or_else(|| world.reason(|| format!("{} has no outside wall", cable.room.describe(world))))
    });
}
