//! What a rule may ask of a floor's build-up, its bays and its heat.

use super::*;
use crate::measure::floor_heat::{CableHeat, Unknown};
use crate::model::{Below, Floor, Layer, LayerBody};

const AREA: Type = Type::Quantity(Dimension::AREA);
const DENSITY: Type = Type::Quantity(Dimension::POWER_PER_AREA);
const TEMPERATURE: Type = Type::Quantity(Dimension::TEMPERATURE);
const RESISTANCE: Type = Type::Quantity(Dimension::THERMAL_RESISTANCE);
const RIPPLE: Parameter = ("ripple", Dimension::TEMPERATURE_DIFFERENCE);
const SHARE: Parameter = ("share", Dimension::NUMBER);

/// A square metre in mm2: heat is measured by the metre, rules by the millimetre.
const SQUARE_METRE: f64 = 1e6;

/// Why a floor's heat can't be told, in words.
fn why(world: &World<'_>, number: u32, unknown: Unknown) -> String {
    crate::reasons::heat(world.plan, room(world, number).room, unknown)
}

fn told(world: &World<'_>, number: u32, value: Result<f64, Unknown>) -> Value {
    value.map_or_else(|unknown| Value::Missing(why(world, number, unknown)), Value::Number)
}

/// A figure of a cable's heat while it gives a share of what it can give to the room.
fn at_share(world: &World<'_>, number: u32, index: u32, share: f64, figure: fn(&CableHeat) -> f64) -> Value {
    told(world, number, room(world, number).cable_heat(index as usize, share).map(|heat| figure(&heat)))
}

fn floor<'w>(world: &'w World<'_>, number: u32) -> Option<&'w Floor> {
    world.rooms[number as usize].room.floor.as_ref()
}

fn layer<'w>(world: &'w World<'_>, number: u32, index: u32) -> Option<&'w Layer> {
    floor(world, number)?.layers.get(index as usize)
}

/// What a layer's body gives, or that this layer has none of it.
fn of_body(world: &World<'_>, item: Item, what: &str, get: impl Fn(&LayerBody) -> Option<Value>) -> Value {
    let Item::Layer(number, index) = item else { return wrong(item) };
    let value = layer(world, number, index).and_then(|layer| get(&layer.body));
    value.unwrap_or_else(|| Value::Missing(gives_no(world, item, what)))
}

/// The layers of a floor, by index.
fn layers(world: &World<'_>, number: u32) -> impl Iterator<Item = Item> {
    each(floor(world, number).map_or(0, |floor| floor.layers.len())).map(move |index| Item::Layer(number, index))
}

collections! {
    "layers" () of Layer: "Every layer of every floor, top first." = |world, _, visit| {
        for (number, _) in each_room(world) {
            layers(world, number).for_each(|layer| visit(Ok(layer)));
        }
    };
    "bays" () of Bay: "The parts of every floor that movement joints and other levels divide it into, the largest first. A joint that ends \
        inside the floor divides nothing." = |world, _, visit| {
        for (number, room) in whole_rooms(world, visit) {
            match room.bays() {
                Some(bays) => bays.iter().for_each(|bay| visit(Ok(Item::Bay(number, *bay)))),
                None => visit(Err(format!("the joints and levels of room `{}` are too intricate to measure its bays", room.room.name.text))),
            }
        }
    };
}

fields! {
    Room {
        "below" () TEMPERATURE, "How warm it is below its floor." = |world, item, _| of!(item, Item::Room(n) => {
            let below = room(world, n).room.below.map(|below| match below {
                Below::Room(temperature) | Below::Ground(temperature) => temperature,
            });
            Value::number(below, || why(world, n, Unknown::Below))
        });
        "on-ground" () Type::Truth, "Whether the ground lies below its floor, rather than a room." = |world, item, _| of!(item, Item::Room(n) => match room(world, n).room.below {
            Some(below) => Value::Truth(matches!(below, Below::Ground(_))),
            None => Value::Missing(why(world, n, Unknown::Below)),
        });
        "power-density" () DENSITY, "The power of its cables over the floor they heat: their lengths times their pitches." = |world, item, _| of!(item, Item::Room(n) => told(world, n, room(world, n).mean_power_density().map(|density| density / SQUARE_METRE)));
        "heat-output" () Type::Quantity(Dimension::POWER), "What its cables give to it at full power, in the steady state." = |world, item, _| of!(item, Item::Room(n) => told(world, n, room(world, n).heat_flows().map(|flows| flows.0)));
        "heat-below" () Type::Quantity(Dimension::POWER), "What they lose below then." = |world, item, _| of!(item, Item::Room(n) => told(world, n, room(world, n).heat_flows().map(|flows| flows.1)));
        "surface-temperature" (CLEARANCE, FREE_HEIGHT) TEMPERATURE, "The mean over its free floor at full power; what no cable heats of it counts with the temperature it has of itself." = |world, item, given| of!(item, Item::Room(n) => match room(world, n).mean_surface(margins(given)) {
            Ok(mean) => Value::number(mean, || too_intricate(world, n)),
            Err(unknown) => Value::Missing(why(world, n, unknown)),
        });
    }
    Floor {
        "layers" () Type::Collection(Kind::Layer), "Its layers, top first." = |world, item, _| of!(item, Item::Floor(n) => Value::Items(layers(world, n).collect()));
        "covering" () Type::Item(Kind::Layer), "Its top layer." = |world, item, _| of!(item, Item::Floor(n) => Value::item(layers(world, n).next(), || "the floor has no layers".into()));
        "cable-layer" () Type::Item(Kind::Layer), "The layer the cable lies in." = |world, item, _| of!(item, Item::Floor(n) => {
            let holding = floor(world, n).and_then(Floor::cable).map(|(index, _)| Item::Layer(n, as_index(index)));
            Value::item(holding, || why(world, n, Unknown::CableLayer))
        });
        "cable-height" () LENGTH, "Height of the cable's centre over that layer's underside." = |world, item, _| of!(item, Item::Floor(n) => Value::number(floor(world, n).and_then(Floor::cable).map(|(_, height)| height), || why(world, n, Unknown::CableLayer)));
    }
    Layer {
        "name" () Type::Text, "Its name." = |world, item, _| of!(item, Item::Layer(n, i) => Value::text(layer(world, n, i).map(|layer| layer.name.text.as_str()), || gives_no(world, item, "name")));
        "number" () NUMBER, "Its number in its floor, from 1 at the top." = |_, item, _| of!(item, Item::Layer(_, i) => Value::Number(f64::from(i) + 1.0));
        "thickness" () LENGTH, "How thick it is; of one given by its resistance not known." = |world, item, _| of_body(world, item, "thickness", |body| match body {
            LayerBody::Solid { thickness, .. } => Some(Value::Number(*thickness)),
            LayerBody::Resistance(_) => None,
        });
        "conductivity" () Type::Quantity(Dimension::CONDUCTIVITY), "The thermal conductivity of its material." = |world, item, _| of_body(world, item, "material", |body| match body {
            LayerBody::Solid { conductivity, .. } => Some(Value::Number(conductivity / 1e3)),
            LayerBody::Resistance(_) => None,
        });
        "resistance" () RESISTANCE, "Its thermal resistance: thickness over conductivity." = |world, item, _| of_body(world, item, "resistance", |body| Some(Value::Number(SQUARE_METRE * match body {
            LayerBody::Solid { thickness, conductivity, .. } => thickness / 1e3 / conductivity,
            LayerBody::Resistance(resistance) => *resistance,
        })));
        "material" () Type::Text, "The name of its material." = |world, item, _| of_body(world, item, "material", |body| match body {
            LayerBody::Solid { material, .. } => Some(Value::Text(material.clone())),
            LayerBody::Resistance(_) => None,
        });
        "kind" () Type::Text, "Of what kind its material is: `tile`, `mineral`, `timber` or `insulation`." = |world, item, _| of_body(world, item, "kind of material", |body| match body {
            LayerBody::Solid { kind, .. } => kind.map(|kind| Value::Text(kind.word().into())),
            LayerBody::Resistance(_) => None,
        });
        "surface-limit" () TEMPERATURE, "How warm its surface may get, where the plan says so of its material." = |world, item, _| of_body(world, item, "surface limit", |body| match body {
            LayerBody::Solid { surface_limit, .. } => surface_limit.map(Value::Number),
            LayerBody::Resistance(_) => None,
        });
        "under-cable" () Type::Truth, "Whether it lies under the layer that holds the cable." = |world, item, _| of!(item, Item::Layer(n, i) => match floor(world, n).and_then(Floor::cable) {
            Some((holding, _)) => Value::Truth(i as usize > holding),
            None => Value::Missing(why(world, n, Unknown::CableLayer)),
        });
    }
    Bay {
        "room" () Type::Item(Kind::Room), "The room it is in." = |_, item, _| of!(item, Item::Bay(n, _) => Value::Item(Item::Room(n)));
        "area" () AREA, "Its area, what stands on it included." = |_, item, _| of!(item, Item::Bay(_, bay) => Value::Number(bay.area));
        "length" () LENGTH, "The longer side of the smallest rectangle round it." = |_, item, _| of!(item, Item::Bay(_, bay) => Value::Number(bay.length));
        "width" () LENGTH, "The shorter side." = |_, item, _| of!(item, Item::Bay(_, bay) => Value::Number(bay.width));
        "place" () Type::Place, "Its corner towards the south-west." = |_, item, _| of!(item, Item::Bay(_, bay) => Value::Place(bay.at));
        "heated" () Type::Truth, "Whether heating cable lies in it." = |_, item, _| of!(item, Item::Bay(_, bay) => Value::Truth(bay.heated));
    }
    Cable {
        "power-density" () DENSITY, "Its power over the floor it heats, its length times its pitch." = |world, item, _| of!(item, Item::Cable(n, i) => told(world, n, room(world, n).power_density(i as usize).map(|density| density / SQUARE_METRE)));
        "surface-temperature" (SHARE) TEMPERATURE, "The mean temperature of the floor over it while it gives `share` of the heat it can give to the room; 100 % is full power." = |world, item, given| of!(item, Item::Cable(n, i) => at_share(world, n, i, given[0], |heat| heat.slab.surface));
        "warmest-surface" (SHARE) TEMPERATURE, "The same right over a run, where it is warmest." = |world, item, given| of!(item, Item::Cable(n, i) => at_share(world, n, i, given[0], |heat| heat.slab.warmest));
        "coolest-surface" (SHARE) TEMPERATURE, "The same midway between two runs, where it is coolest." = |world, item, given| of!(item, Item::Cable(n, i) => at_share(world, n, i, given[0], |heat| heat.slab.coolest));
        "heat-up" (SHARE) DENSITY, "What it gives to the room then." = |world, item, given| of!(item, Item::Cable(n, i) => at_share(world, n, i, given[0], |heat| heat.slab.upward / SQUARE_METRE));
        "heat-down" (SHARE) DENSITY, "What it loses below then." = |world, item, given| of!(item, Item::Cable(n, i) => at_share(world, n, i, given[0], |heat| heat.slab.downward / SQUARE_METRE));
        "sheath-temperature" () TEMPERATURE, "The mean round its sheath at full power." = |world, item, _| of!(item, Item::Cable(n, i) => told(world, n, room(world, n).sheath(i as usize)));
        "share-below" () NUMBER, "The share of its heat that is lost below at full power." = |world, item, _| of!(item, Item::Cable(n, i) => at_share(world, n, i, 1.0, |heat| heat.slab.downward / heat.density()));
        "resistance-lacking" (SHARE) RESISTANCE, "How much more resistance under it would let no more than `share` of its heat below at full power; less than nothing where there is some to spare." = |world, item, given| of!(item, Item::Cable(n, i) => match given[0] > 0.0 {
            true => told(world, n, room(world, n).resistance_lacking(i as usize, given[0]).map(|lacking| lacking * SQUARE_METRE)),
            false => Value::Missing("some heat always goes below".into()),
        });
        "even-pitch" (RIPPLE) LENGTH, "The widest pitch at which a cable that gives the floor the same power would leave no more than `ripple` between the warmest surface and the coolest at full power." = |world, item, given| of!(item, Item::Cable(n, i) => told(world, n, room(world, n).even_pitch(i as usize, given[0]).map(|pitch| pitch * 1e3)));
        "reach-from-outside" () LENGTH, "How far from an outside wall its runs lie, the farthest of them; each is measured from the outside wall that it keeps nearest to." = |world, item, _| of!(item, Item::Cable(n, i) => Value::number(room(world, n).reach_from_outside(i as usize), || format!("room `{}` has no outside wall", room(world, n).room.name.text)));
    }
}
