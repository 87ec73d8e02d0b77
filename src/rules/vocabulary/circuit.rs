//! What a rule may ask about the circuit: thermostats, contactors, supplies, resistances.

use super::{
    CURRENT, Collection, Field, LENGTH, as_index, cable, each, each_room, gives_no, kit, no_kit, room, whole_rooms,
    wrong,
};
use crate::measure::circuit;
use crate::measure::electricity;
use crate::measure::room::Feature;
use crate::measure::water::{Fitting, TooIntricate, near_water};
use crate::model::{Conductor, Stated, Supply};
use crate::quantity::Dimension;
use crate::reasons::{no_conductor_resistance, no_load, not_tabulated};
use crate::rules::item::{Item, Kind, SupplyLine, Type, Value, World};

const RESISTANCE: Type = Type::Quantity(Dimension::RESISTANCE);
const VOLTAGE: Type = Type::Quantity(Dimension::VOLTAGE);
const AREA: Type = Type::Quantity(Dimension::AREA);
const BELOW: super::Parameter = ("below", Dimension::NUMBER);
const ABOVE: super::Parameter = ("above", Dimension::NUMBER);

fn supply<'w>(world: &'w World<'_>, index: u32) -> &'w Supply {
    &world.plan.supplies[index as usize]
}

fn stated(world: &World<'_>, item: Item, value: Option<&Stated<f64>>, what: &str) -> Value {
    Value::number(value.map(|stated| stated.value), || gives_no(world, item, what))
}

/// What is asked of a supply's conductor and the temperature round it.
fn by_conductor(world: &World<'_>, index: u32, ask: impl FnOnce(&Conductor, f64) -> Result<Value, String>) -> Value {
    let supply = supply(world, index);
    let Some(conductor) = &supply.conductor else {
        return Value::Missing(gives_no(world, Item::Supply(index), "conductor"));
    };
    let ambient = supply.ambient.as_ref().map_or(circuit::REFERENCE_AMBIENT, |stated| stated.value);
    ask(&conductor.value, ambient).unwrap_or_else(Value::Missing)
}

fn design_current(world: &World<'_>, index: u32) -> Result<f64, String> {
    circuit::design_current(&world.rooms, index as usize).map_err(no_load)
}

fn no_section() -> String {
    "no tabulated cross-section is large enough".into()
}

fn line(world: &World<'_>, item: Item, line: SupplyLine) -> Value {
    let Item::Supply(index) = item else { return wrong(item) };
    let given = line.place(supply(world, index)).map(|_| Item::SupplyLine(index, line));
    Value::item(given, || gives_no(world, item, line.word()))
}

/// The expected resistances of a thermostat's cables in parallel, ohm.
fn expected(world: &World<'_>, number: u32, index: u32, usual: (f64, f64)) -> Result<(f64, f64), String> {
    let room = room(world, number);
    let cables = room.cables_of(index as usize).map(|index| &room.room.cables[index]);
    let kits = cables.map(|cable| kit(world, cable).ok_or_else(|| no_kit(cable))).collect::<Result<Vec<_>, _>>()?;
    circuit::expected_resistance(kits.into_iter(), usual)
        .ok_or_else(|| format!("{} switches no cable", world.describe(Item::Thermostat(number, index))))
}

fn one_of((least, greatest): (f64, f64), greater: bool) -> Value {
    Value::Number(if greater { greatest } else { least })
}

fn expected_of_cable(world: &World<'_>, number: u32, index: u32, given: f64, greater: bool) -> Value {
    let cable = cable(world, number, index);
    let usual = if greater { (0.0, given) } else { (given, 0.0) };
    match kit(world, cable).and_then(|kit| circuit::expected_resistance(std::iter::once(kit), usual)) {
        Some(band) => one_of(band, greater),
        None => Value::Missing(no_kit(cable)),
    }
}

fn expected_together(world: &World<'_>, number: u32, index: u32, given: f64, greater: bool) -> Value {
    let usual = if greater { (0.0, given) } else { (given, 0.0) };
    expected(world, number, index, usual).map_or_else(Value::Missing, |band| one_of(band, greater))
}

collections! {
    "supplies" () of Supply: "Every supply that feeds a thermostat of the plan." = |world, _, visit| {
        for (_, room) in whole_rooms(world, visit) {
            for thermostat in room.room.thermostats.iter().filter(|thermostat| thermostat.supply.is_none()) {
                visit(Err(format!("thermostat `{}` names no supply", thermostat.name.text)));
            }
            if room.room.thermostats.is_empty() && !room.room.cables.is_empty() {
                visit(Err(format!("room `{}` has no thermostat", room.room.name.text)));
            }
        }
        for index in each(world.plan.supplies.len()) {
            if circuit::fed(&world.rooms, index as usize).next().is_some() {
                visit(Ok(Item::Supply(index)));
            }
        }
    };
    "fittings-near-water" (("reach", Dimension::LENGTH), ("height", Dimension::LENGTH)) of NearWater: "Thermostats and junction boxes nearer than `reach` to a bath, to a shower's \
        basin, or to the outlet of a shower without one, in their own room. Partitions lower than `height` keep no water off." = |world, given, visit| {
        for (number, room) in whole_rooms(world, visit) {
            match near_water(room, given[0], given[1]) {
                Ok(found) => found.into_iter().for_each(|near| visit(Ok(Item::NearWater(number, near)))),
                Err(TooIntricate) => visit(Err(format!("room `{}` has too many walls and partitions to follow", room.room.name.text))),
            }
        }
    };
}

fields! {
    Room {
        "earthed-grid" () Type::Item(Kind::Grid), "The earthed grid laid over its heating cables." = |world, item, _| of!(item, Item::Room(n) => Value::item(room(world, n).room.earthed_grid.as_ref().map(|_| Item::Grid(n)), || gives_no(world, item, "earthed grid")));
    }
    Grid {
        "mesh" () LENGTH, "From wire to wire." = |world, item, _| of!(item, Item::Grid(n) => stated(world, item, room(world, n).room.earthed_grid.as_ref(), "mesh"));
    }
    Cable {
        "joined-to" () Type::Item(Kind::Cable), "The cable that it is joined to in series: the one from whose far end its tail comes, or at whose far end it starts." = |world, item, _| of!(item, Item::Cable(n, i) => Value::item(room(world, n).in_series_with(i as usize).map(|other| Item::Cable(n, as_index(other))), || format!("{} is joined to no other", world.describe(item))));
        "least-resistance" (BELOW) RESISTANCE, "The least that its resistance may be: its kit's less the kit's tolerance, or less the share `below` where its maker gives none." = |world, item, given| of!(item, Item::Cable(n, i) => expected_of_cable(world, n, i, given[0], false));
        "greatest-resistance" (ABOVE) RESISTANCE, "The most that its resistance may be: its kit's and the kit's tolerance, or the share `above` where its maker gives none." = |world, item, given| of!(item, Item::Cable(n, i) => expected_of_cable(world, n, i, given[0], true));
    }
    Kit {
        "earthed-screen" () Type::Truth, "Whether it has an earthed screen." = |world, item, _| of!(item, Item::Kit(i) => world.plan.kits[i as usize].earthed_screen.map_or_else(|| Value::Missing(gives_no(world, item, "screen")), Value::Truth));
    }
    Thermostat {
        "name" () Type::Text, "Its name." = |world, item, _| of!(item, Item::Thermostat(n, i) => Value::Text(room(world, n).room.thermostats[i as usize].name.text.clone()));
        "room" () Type::Item(Kind::Room), "The room it stands in." = |_, item, _| of!(item, Item::Thermostat(n, _) => Value::Item(Item::Room(n)));
        "rated" () CURRENT, "Its rated current." = |world, item, _| of!(item, Item::Thermostat(n, i) => Value::Number(room(world, n).room.thermostats[i as usize].rated));
        "cables" () Type::Collection(Kind::Cable), "The cables it switches." = |world, item, _| of!(item, Item::Thermostat(n, i) => Value::Items(room(world, n).cables_of(i as usize).map(|c| Item::Cable(n, as_index(c))).collect()));
        "load" () CURRENT, "The currents of its cables, added up." = |world, item, _| of!(item, Item::Thermostat(n, i) => {
            let room = room(world, n);
            let mut load = 0.0;
            for index in room.cables_of(i as usize) {
                let cable = &room.room.cables[index];
                match room.current(cable) {
                    Some(current) => load += current,
                    None => return Value::Missing(no_kit(cable)),
                }
            }
            Value::Number(load)
        });
        "resistance" () RESISTANCE, "The resistance of its cables in parallel." = |world, item, _| of!(item, Item::Thermostat(n, i) => {
            let room = room(world, n);
            let kits = room.cables_of(i as usize).map(|index| kit(world, &room.room.cables[index]).map(|kit| kit.resistance));
            let kits: Option<Vec<f64>> = kits.collect();
            Value::number(kits.and_then(|kits| electricity::in_parallel(kits.into_iter())), || format!("{} switches no cable of a known kit", world.describe(item)))
        });
        "supply" () Type::Item(Kind::Supply), "What feeds it." = |world, item, _| of!(item, Item::Thermostat(n, i) => Value::item(room(world, n).room.thermostats[i as usize].supply.map(|s| Item::Supply(as_index(s))), || gives_no(world, item, "supply")));
        "contactor" () Type::Item(Kind::Contactor), "The contactor it works." = |world, item, _| of!(item, Item::Thermostat(n, i) => {
            let contactor = room(world, n).room.contactors.iter().position(|contactor| contactor.thermostat == i as usize);
            Value::item(contactor.map(|c| Item::Contactor(n, as_index(c))), || format!("{} works no contactor", world.describe(item)))
        });
        "sensor" () Type::Item(Kind::Sensor), "Its floor sensor." = |world, item, _| of!(item, Item::Thermostat(n, i) => {
            let sensor = room(world, n).room.sensors.iter().position(|sensor| sensor.thermostat == i as usize);
            Value::item(sensor.map(|s| Item::Sensor(n, as_index(s))), || format!("{} has no floor sensor", world.describe(item)))
        });
        "least-resistance" (BELOW) RESISTANCE, "The least that its cables may measure in parallel; see the field of a cable." = |world, item, given| of!(item, Item::Thermostat(n, i) => expected_together(world, n, i, given[0], false));
        "greatest-resistance" (ABOVE) RESISTANCE, "The most that its cables may measure in parallel." = |world, item, given| of!(item, Item::Thermostat(n, i) => expected_together(world, n, i, given[0], true));
    }
    Contactor {
        "name" () Type::Text, "Its name." = |world, item, _| of!(item, Item::Contactor(n, i) => Value::Text(room(world, n).room.contactors[i as usize].name.text.clone()));
        "rated" () CURRENT, "Its rated current." = |world, item, _| of!(item, Item::Contactor(n, i) => Value::Number(room(world, n).room.contactors[i as usize].rated));
    }
    Supply {
        "name" () Type::Text, "Its name." = |world, item, _| of!(item, Item::Supply(i) => Value::Text(supply(world, i).name.text.clone()));
        "voltage" () VOLTAGE, "Its nominal voltage." = |world, item, _| of!(item, Item::Supply(i) => stated(world, item, supply(world, i).voltage.as_ref(), "voltage"));
        "rcd" () CURRENT, "The rated residual current of its RCD." = |world, item, _| of!(item, Item::Supply(i) => stated(world, item, supply(world, i).rcd.as_ref(), "RCD"));
        "breaker" () CURRENT, "The rated current of its breaker, In." = |world, item, _| of!(item, Item::Supply(i) => stated(world, item, supply(world, i).breaker.as_ref(), "breaker"));
        "breaker-preferred" () Type::Truth, "Whether that is a preferred rating: 6, 10, 13, 16, 20, 25, 32, 40, 50, 63, 80, 100 or 125 A (IEC 60898-1)." = |world, item, _| of!(item, Item::Supply(i) => match &supply(world, i).breaker {
            Some(breaker) => Value::Truth(circuit::is_preferred(breaker.value)),
            None => Value::Missing(gives_no(world, item, "breaker")),
        });
        "preferred-breaker" () CURRENT, "The least preferred rating that carries its load." = |world, item, _| of!(item, Item::Supply(i) => match design_current(world, i) {
            Ok(load) => Value::number(circuit::preferred_rating(load), || "no breaker of a preferred rating carries as much".into()),
            Err(why) => Value::Missing(why),
        });
        "ambient" () Type::Quantity(Dimension::TEMPERATURE), "The temperature round its conductor; 30 degC where the plan doesn't say." = |world, item, _| of!(item, Item::Supply(i) => Value::Number(supply(world, i).ambient.as_ref().map_or(circuit::REFERENCE_AMBIENT, |stated| stated.value)));
        "section" () AREA, "The cross-section of its conductor." = |world, item, _| of!(item, Item::Supply(i) => by_conductor(world, i, |conductor, _| Ok(Value::Number(conductor.section))));
        "length" () LENGTH, "The length of its conductor, one way." = |world, item, _| of!(item, Item::Supply(i) => by_conductor(world, i, |conductor, _| Ok(Value::Number(conductor.length))));
        "method" () Type::Text, "How its conductor is installed: `A1`, `A2`, `B1`, `B2` or `C` (IEC 60364-5-52)." = |world, item, _| of!(item, Item::Supply(i) => by_conductor(world, i, |conductor, _| Ok(Value::Text(conductor.method.word().into()))));
        "insulation" () Type::Text, "`pvc` or `xlpe`; `pvc` where the plan doesn't say." = |world, item, _| of!(item, Item::Supply(i) => by_conductor(world, i, |conductor, _| Ok(Value::Text(conductor.insulation.word().into()))));
        "load" () CURRENT, "The design current, Ib: the currents of all cables on it, in whatever room." = |world, item, _| of!(item, Item::Supply(i) => design_current(world, i).map_or_else(Value::Missing, Value::Number));
        "capacity" () CURRENT, "What its conductor carries for good, Iz: by cross-section, method, insulation and ambient temperature (IEC 60364-5-52, tables B.52.2, B.52.3 and B.52.14)." = |world, item, _| of!(item, Item::Supply(i) => by_conductor(world, i, |conductor, ambient| {
            let capacity = circuit::capacity(conductor.section, conductor.method, conductor.insulation, ambient);
            capacity.map(Value::Number).ok_or_else(|| not_tabulated(conductor, ambient))
        }));
        "voltage-drop" () VOLTAGE, "What is lost on the way out and back at that load, with the conductor as warm as at full load: 70 degC in PVC, 90 degC in XLPE." = |world, item, _| of!(item, Item::Supply(i) => by_conductor(world, i, |conductor, _| {
            let lost = circuit::voltage_drop(conductor, design_current(world, i)?);
            lost.map(Value::Number).ok_or_else(|| no_conductor_resistance(conductor))
        }));
        "section-for-current" (("current", Dimension::CURRENT)) AREA, "The least tabulated cross-section that carries `current`, installed as its conductor is." = |world, item, given| of!(item, Item::Supply(i) => by_conductor(world, i, |conductor, ambient| {
            circuit::section_for_current(conductor, ambient, given[0]).map(Value::Number).ok_or_else(no_section)
        }));
        "section-for-drop" (("drop", Dimension::VOLTAGE)) AREA, "The least tabulated cross-section on which no more than `drop` is lost at its load." = |world, item, given| of!(item, Item::Supply(i) => by_conductor(world, i, |conductor, _| {
            circuit::section_for_drop(conductor, design_current(world, i)?, given[0]).map(Value::Number).ok_or_else(no_section)
        }));
        "thermostats" () Type::Collection(Kind::Thermostat), "The thermostats it feeds, in whatever room." = |world, item, _| of!(item, Item::Supply(i) => Value::Items(each_room(world).flat_map(|(n, room)| {
            let own = room.room.thermostats.iter().zip(0u32..).filter(move |(thermostat, _)| thermostat.supply == Some(i as usize));
            own.map(move |(_, t)| Item::Thermostat(n, t))
        }).collect()));
        "voltage-line" () Type::Item(Kind::SupplyLine), "The line that gives its voltage." = |world, item, _| line(world, item, SupplyLine::Voltage);
        "rcd-line" () Type::Item(Kind::SupplyLine), "The line that gives its RCD." = |world, item, _| line(world, item, SupplyLine::Rcd);
        "breaker-line" () Type::Item(Kind::SupplyLine), "The line that gives its breaker." = |world, item, _| line(world, item, SupplyLine::Breaker);
        "conductor-line" () Type::Item(Kind::SupplyLine), "The line that gives its conductor." = |world, item, _| line(world, item, SupplyLine::Conductor);
        "ambient-line" () Type::Item(Kind::SupplyLine), "The line that gives the temperature round its conductor." = |world, item, _| line(world, item, SupplyLine::Ambient);
    }
    Fitting {
        "name" () Type::Text, "Its name." = |world, item, _| of!(item, Item::Fitting(n, fitting) => Value::Text(match fitting {
            Fitting::Thermostat(i) => room(world, n).room.thermostats[i as usize].name.text.clone(),
            Fitting::Junction(i) => room(world, n).room.junctions[i as usize].name.text.clone(),
        }));
        "height" () LENGTH, "Its height over the floor." = |world, item, _| of!(item, Item::Fitting(n, fitting) => Value::number(match fitting {
            Fitting::Thermostat(i) => room(world, n).room.thermostats[i as usize].height,
            Fitting::Junction(i) => room(world, n).room.junctions[i as usize].height,
        }, || gives_no(world, item, "height")));
    }
    NearWater {
        "fitting" () Type::Item(Kind::Fitting), "The thermostat or junction box." = |_, item, _| of!(item, Item::NearWater(n, near) => Value::Item(Item::Fitting(n, near.fitting)));
        "water" () Type::Item(Kind::Feature), "The bath, the shower's basin or the outlet." = |_, item, _| of!(item, Item::NearWater(n, near) => Value::Item(Item::Feature(n, near.water)));
        "basin" () Type::Truth, "Whether that is a bath or a basin, rather than the outlet of a shower without one." = |_, item, _| of!(item, Item::NearWater(_, near) => Value::Truth(matches!(near.water, Feature::Area(_))));
        "distance" () LENGTH, "From the one to the other along a string drawn taut round walls and partitions and through doorways." = |_, item, _| of!(item, Item::NearWater(_, near) => Value::Number(near.distance));
        "outlet-height" () LENGTH, "The height of the highest outlet there; nothing where none is given." = |_, item, _| of!(item, Item::NearWater(_, near) => Value::Number(near.outlet));
    }
    SupplyLine {
        "supply" () Type::Item(Kind::Supply), "The supply it is part of." = |_, item, _| of!(item, Item::SupplyLine(i, _) => Value::Item(Item::Supply(i)));
    }
}
