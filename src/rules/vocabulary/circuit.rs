//! What a rule may ask about the circuit: junction boxes, thermostats, contactors, supplies, resistances.

use super::cable::kit_of;
use super::*;
use crate::layout::kinds::{FixtureKind, RcdType, UtilizationCategory};
use crate::measure::circuit::{self, REFERENCE_AMBIENT};
use crate::measure::electricity;
use crate::measure::room::Feature;
use crate::measure::water::{Fitting, NearWater, TooIntricate, near_water};
use crate::model::{AreaKind, Conductor, Stated};
use crate::reasons::{no_conductor_resistance, no_kit, no_load, no_supply, not_tabulated};
use crate::things::{
    CableId, ContactorId, GridOf, InRoom, JunctionId, KitId, SensorId, SupplyId, SupplyLine, SupplyLineOf, ThermostatId,
};
use crate::worded::Worded as _;

const BELOW: Parameter = ("below", Dimension::NUMBER);
const ABOVE: Parameter = ("above", Dimension::NUMBER);
const HEIGHT: Parameter = ("height", Dimension::LENGTH);

pub(super) fn declare(all: &mut Vocabulary) {
    all.collection("supplies", "Every supply that feeds a thermostat of the plan.").is(|world, _, mut visit| {
        for (room, measured) in whole_rooms(world, &mut visit) {
            for thermostat in measured.room.thermostats.iter().filter(|thermostat| thermostat.supply.is_none()) {
                visit.missing(no_supply(thermostat));
            }
            if measured.room.thermostats.is_empty() && !measured.room.cables.is_empty() {
                visit.missing(format!("{} has no thermostat", room.describe(world)));
            }
        }
        for index in 0..world.plan.supplies.len() {
            if circuit::fed(&world.rooms, index).next().is_some() {
                visit.item(SupplyId(index));
            }
        }
    });
    all.collection(
        "fittings-near-water",
        "Thermostats and junction boxes nearer than `reach` to a bath, to a shower's basin, or to the head of a \
         shower without one, in their own room. Partitions lower than `height` keep no water off.",
    )
    .given(&[REACH, HEIGHT])
    .is(|world, given, mut visit| {
        for (room, measured) in whole_rooms(world, &mut visit) {
            match near_water(measured, given[0], given[1]) {
                Ok(found) => visit.items(found.into_iter().map(|thing| InRoom { room, thing })),
                Err(TooIntricate) => {
                    visit.missing(format!("{} has too many walls and partitions to follow", room.describe(world)));
                }
            }
        }
    });
    all.fields(room);
    all.fields(bathroom);
    all.fields(grid);
    all.fields(cable);
    all.fields(kit);
    all.fields(junction);
    all.fields(thermostat);
    all.fields(contactor);
    all.fields(supply);
    all.fields(supply_conductor);
    all.fields(supply_lines);
    all.fields(fitting);
    all.fields(near);
    all.fields(supply_line);
}

fn stated(world: &World<'_>, thing: impl Thing, value: Option<&Stated<f64>>, what: &str) -> Result<f64, String> {
    value.map(|stated| stated.value).ok_or_else(|| gives_no(world, thing, what))
}

fn room(its: &mut Fields<'_, RoomId>) {
    its.field("earthed-grid", one(Kind::Grid), "The earthed grid laid over its heating cables.").is(|world, room| {
        world.grid(GridOf(room)).map(|_| GridOf(room)).ok_or_else(|| gives_no(world, room, "earthed grid"))
    });
}

fn bathroom(its: &mut Fields<'_, RoomId>) {
    its.field("bathroom", TRUTH, "Whether it has a bath, or a shower with a basin or without one.").is(
        |world, room| {
            let room = world.room(room);
            let holds = |kind: &AreaKind| match kind {
                AreaKind::Fixture { kind, .. } => matches!(kind, Some(FixtureKind::Bath | FixtureKind::Shower)),
                _ => false,
            };
            !room.shower_heads.is_empty() || room.areas.iter().any(|area| holds(&area.kind))
        },
    );
    its.field(
        "bonded",
        TRUTH,
        "Whether the plan says that its metal is bonded: joined in the room itself, or by the main bonding where local rules let \
         that do.",
    )
    .is(|world, room| world.room(room).bonded.is_some());
}

fn grid(its: &mut Fields<'_, GridOf>) {
    its.field("mesh", LENGTH, "From wire to wire.").is(|world, grid| stated(world, grid, world.grid(grid), "mesh"));
}

/// What a cable or several in parallel may measure, ohm.
enum Bound {
    Least,
    Greatest,
}

impl Bound {
    /// That of a band; what a maker's tolerance leaves open is within the share `given`.
    fn of<E>(self, given: f64, band: impl FnOnce((f64, f64)) -> Result<(f64, f64), E>) -> Result<f64, E> {
        match self {
            Bound::Least => band((given, 0.0)).map(|(least, _)| least),
            Bound::Greatest => band((0.0, given)).map(|(_, greatest)| greatest),
        }
    }
}

fn resistance_of_cable(world: &World<'_>, cable: CableId, given: f64, bound: Bound) -> Result<f64, String> {
    bound.of(given, |usual| {
        let kit = kit_of(world, cable);
        let band = kit.and_then(|kit| circuit::expected_resistance(std::iter::once(kit), usual));
        band.ok_or_else(|| no_kit(world.cable(cable)))
    })
}

fn resistance_together(world: &World<'_>, thermostat: ThermostatId, given: f64, bound: Bound) -> Result<f64, String> {
    bound.of(given, |usual| {
        let kits = cables_of(world, thermostat)
            .map(|cable| kit_of(world, cable).ok_or_else(|| no_kit(world.cable(cable))))
            .collect::<Result<Vec<_>, _>>()?;
        circuit::expected_resistance(kits.into_iter(), usual)
            .ok_or_else(|| format!("{} switches no cable", thermostat.describe(world)))
    })
}

fn cables_of(world: &World<'_>, thermostat: ThermostatId) -> impl Iterator<Item = CableId> {
    let ThermostatId { room, index } = thermostat;
    world.measured(room).cables_of(index).map(move |index| CableId { room, index })
}

fn cable(its: &mut Fields<'_, CableId>) {
    its.field(
        "joined-to",
        one(Kind::Cable),
        "The cable that it is joined to in series: the one from whose far end its tail comes, or at whose far end \
         it starts.",
    )
    .is(|world, cable| {
        let other = world.measured(cable.room).in_series_with(cable.index);
        let other = other.map(|index| CableId { index, ..cable });
        other.ok_or_else(|| world.reason(|| format!("{} is joined to no other", cable.describe(world))))
    });
    its.field(
        "least-resistance",
        RESISTANCE,
        "The least that its resistance may be: its kit's less the kit's tolerance, or less the share `below` where \
         its maker gives none.",
    )
    .given(&[BELOW])
    .is(|world, cable, given| resistance_of_cable(world, cable, given[0], Bound::Least));
    its.field(
        "greatest-resistance",
        RESISTANCE,
        "The most that its resistance may be: its kit's and the kit's tolerance, or the share `above` where its maker \
         gives none.",
    )
    .given(&[ABOVE])
    .is(|world, cable, given| resistance_of_cable(world, cable, given[0], Bound::Greatest));
}

fn kit(its: &mut Fields<'_, KitId>) {
    its.field("earthed-screen", TRUTH, "Whether it has an earthed screen.")
        .is(|world, kit| world.kit(kit).earthed_screen.ok_or_else(|| gives_no(world, kit, "screen")));
}

fn junction(its: &mut Fields<'_, JunctionId>) {
    its.field("name", TEXT, "Its name.").is(|world, junction| world.junction(junction).name.text.clone());
    its.field("height", LENGTH, "Its height over the floor.")
        .is(|world, junction| world.junction(junction).height.ok_or_else(|| gives_no(world, junction, "height")));
    its.field("first-wired", one(Kind::Junction), "The first of the boxes that it is wired together with, or itself.")
        .is(|world, junction| JunctionId {
            index: circuit::first_wired(&world.room(junction.room).junctions, junction.index),
            ..junction
        });
}

fn thermostat(its: &mut Fields<'_, ThermostatId>) {
    its.field("name", TEXT, "Its name.").is(|world, thermostat| world.thermostat(thermostat).name.text.clone());
    its.field("room", one(Kind::Room), "The room it stands in.").is(|_, thermostat| thermostat.room);
    its.field("height", LENGTH, "Its height over the floor.").is(|world, thermostat| {
        world.thermostat(thermostat).height.ok_or_else(|| gives_no(world, thermostat, "height"))
    });
    its.field(
        "hangs-off",
        LENGTH,
        "How far it stands from the nearest wall, partition or fixture, where it stands in its room; nothing outside it.",
    )
    .is(|world, own| world.measured(own.room).hangs_off(world.thermostat(own)));
    its.field("rated", CURRENT, "Its rated current.").is(|world, thermostat| world.thermostat(thermostat).rated);
    its.field("limit", TEMPERATURE, "How warm it lets the floor get.").is(|world, thermostat| {
        world.thermostat(thermostat).limit.ok_or_else(|| gives_no(world, thermostat, "floor limit"))
    });
    its.field("behind", CURRENT, "The most that its maker lets the breaker or fuse before it be rated.")
        .is(|world, own| world.thermostat(own).behind.ok_or_else(|| gives_no(world, own, "greatest protection")));
    its.field("cables", several(Kind::Cable), "The cables it switches.")
        .is(|world, thermostat| cables_of(world, thermostat).collect::<Vec<_>>());
    its.field("load", CURRENT, "The currents of its cables, added up.").is(|world, thermostat| {
        let measured = world.measured(thermostat.room);
        let mut load = 0.0;
        for cable in cables_of(world, thermostat) {
            let cable = world.cable(cable);
            load += measured.current(cable).ok_or_else(|| no_kit(cable))?;
        }
        Ok(load)
    });
    its.field("resistance", RESISTANCE, "The resistance of its cables in parallel.").is(|world, thermostat| {
        let kits = cables_of(world, thermostat).map(|cable| kit_of(world, cable).map(|kit| kit.resistance));
        let kits: Option<Vec<f64>> = kits.collect();
        let together = kits.and_then(|kits| electricity::in_parallel(kits.into_iter()));
        together.ok_or_else(|| format!("{} switches no cable of a known kit", thermostat.describe(world)))
    });
    its.field("supply", one(Kind::Supply), "What feeds it.").is(|world, thermostat| {
        let supply = world.thermostat(thermostat).supply.map(SupplyId);
        supply.ok_or_else(|| no_supply(world.thermostat(thermostat)))
    });
    its.field("contactor", one(Kind::Contactor), "The contactor it works.").is(|world, thermostat| {
        let ThermostatId { room, index } = thermostat;
        let contactor = world.room(room).contactors.iter().position(|contactor| contactor.thermostat == index);
        let contactor = contactor.map(|index| ContactorId { room, index });
        contactor.ok_or_else(|| world.reason(|| format!("{} works no contactor", thermostat.describe(world))))
    });
    its.field("sensor", one(Kind::Sensor), "Its floor sensor.").is(|world, thermostat| {
        let ThermostatId { room, index } = thermostat;
        let sensor = world.room(room).sensors.iter().position(|sensor| sensor.thermostat == index);
        let sensor = sensor.map(|index| SensorId { room, index });
        sensor.ok_or_else(|| world.reason(|| format!("{} has no floor sensor", thermostat.describe(world))))
    });
    its.field(
        "least-resistance",
        RESISTANCE,
        "The least that its cables may measure in parallel; see the field of a cable.",
    )
    .given(&[BELOW])
    .is(|world, thermostat, given| resistance_together(world, thermostat, given[0], Bound::Least));
    its.field("greatest-resistance", RESISTANCE, "The most that its cables may measure in parallel.")
        .given(&[ABOVE])
        .is(|world, thermostat, given| resistance_together(world, thermostat, given[0], Bound::Greatest));
}

fn contactor(its: &mut Fields<'_, ContactorId>) {
    its.field("name", TEXT, "Its name.").is(|world, contactor| world.contactor(contactor).name.text.clone());
    its.field("rated", CURRENT, "Its rated current.").is(|world, contactor| world.contactor(contactor).rated);
    its.field(
        "category",
        TEXT,
        "What load that is for, its category of utilization: `AC-1` or `AC-7a` for resistive loads, `AC-3` or `AC-7b` for motors.",
    )
    .is(|world, own| {
        let category = world.contactor(own).category;
        category.map(UtilizationCategory::word).ok_or_else(|| gives_no(world, own, "category of utilization"))
    });
}

/// The temperature round a supply's conductor, degC.
fn ambient(world: &World<'_>, supply: SupplyId) -> f64 {
    world.supply(supply).ambient.as_ref().map_or(REFERENCE_AMBIENT, |stated| stated.value)
}

fn conductor<'a>(world: &World<'a>, supply: SupplyId) -> Result<&'a Conductor, String> {
    let conductor = world.supply(supply).conductor.as_ref();
    conductor.map(|stated| &stated.value).ok_or_else(|| gives_no(world, supply, "conductor"))
}

fn design_current(world: &World<'_>, supply: SupplyId) -> Result<f64, String> {
    circuit::design_current(&world.rooms, supply.0).map_err(no_load)
}

fn no_section() -> String {
    "no tabulated cross-section is large enough".into()
}

fn supply(its: &mut Fields<'_, SupplyId>) {
    its.field("name", TEXT, "Its name.").is(|world, supply| world.supply(supply).name.text.clone());
    its.field("voltage", VOLTAGE, "Its nominal voltage.")
        .is(|world, supply| stated(world, supply, world.supply(supply).voltage.as_ref(), "voltage"));
    its.field("rcd", CURRENT, "The rated residual current of its RCD.")
        .is(|world, supply| stated(world, supply, world.supply(supply).rcd.as_ref(), "RCD"));
    its.field("rcd-type", TEXT, "The type of that RCD: `AC`, `A`, `F` or `B` (IEC 60755).").is(|world, supply| {
        let kind = world.supply(supply).rcd_type;
        kind.map(RcdType::word).ok_or_else(|| gives_no(world, supply, "type of its RCD"))
    });
    its.field("breaker", CURRENT, "The rated current of its breaker, In.")
        .is(|world, supply| stated(world, supply, world.supply(supply).breaker.as_ref(), "breaker"));
    its.field(
        "breaker-preferred",
        TRUTH,
        "Whether breakers are made for that: 6, 8, 10, 13, 16, 20, 25, 32, 40, 50, 63, 80, 100 or 125 A, and 1, 2, 3 \
         or 4 A (IEC 60898-1).",
    )
    .is(|world, supply| {
        stated(world, supply, world.supply(supply).breaker.as_ref(), "breaker").map(circuit::is_breaker_rating)
    });
    its.field("fuse", CURRENT, "The rated current of the fuse in its connection unit, In.")
        .is(|world, supply| stated(world, supply, world.supply(supply).fuse.as_ref(), "fuse"));
    its.field("fuse-made", TRUTH, "Whether fuses of connection units are made for that: 3, 5 or 13 A (BS 1362).").is(
        |world, supply| stated(world, supply, world.supply(supply).fuse.as_ref(), "fuse").map(circuit::is_fuse_rating),
    );
    its.field("fitting-fuse", CURRENT, "The least of these that carries its load.").is(|world, supply| {
        let rating = circuit::fuse_rating(design_current(world, supply)?);
        rating.ok_or_else(|| "no fuse of a connection unit carries as much".to_string())
    });
    its.field(
        "protection",
        CURRENT,
        "What protects its conductor against overload, In: its breaker or its fuse, whichever is rated less.",
    )
    .is(|world, supply| {
        let own = world.supply(supply);
        let ratings = [&own.breaker, &own.fuse].into_iter().flatten().map(|stated| stated.value);
        ratings.reduce(f64::min).ok_or_else(|| gives_no(world, supply, "breaker"))
    });
    its.field("selv", TRUTH, "Whether the plan says that it is safety extra-low voltage.")
        .is(|world, supply| world.supply(supply).selv.is_some());
    its.field("drop-before", NUMBER, "The share of its voltage that is lost before it; nothing where none is given.")
        .is(|world, supply| world.supply(supply).before.unwrap_or(0.0));
    its.field("preferred-breaker", CURRENT, "The least preferred rating that carries its load.").is(|world, supply| {
        let preferred = circuit::preferred_rating(design_current(world, supply)?);
        preferred.ok_or_else(|| "no breaker of a preferred rating carries as much".to_string())
    });
    its.field("ambient", TEMPERATURE, "The temperature round its conductor; 30 °C where the plan doesn't say.")
        .is(ambient);
}

fn supply_conductor(its: &mut Fields<'_, SupplyId>) {
    its.field("section", AREA, "The cross-section of its conductor.")
        .is(|world, supply| Ok(conductor(world, supply)?.section));
    its.field("length", LENGTH, "The length of its conductor, one way.")
        .is(|world, supply| Ok(conductor(world, supply)?.length));
    its.field("method", TEXT, "How its conductor is installed: `A1`, `A2`, `B1`, `B2` or `C` (IEC 60364-5-52).")
        .is(|world, supply| Ok(conductor(world, supply)?.method.word()));
    its.field("insulation", TEXT, "`pvc` or `xlpe`; `pvc` where the plan doesn't say.")
        .is(|world, supply| Ok(conductor(world, supply)?.insulation.word()));
    its.field("load", CURRENT, "The design current, Ib: the currents of all cables on it, in whatever room.")
        .is(design_current);
    its.field(
        "capacity",
        CURRENT,
        "What its conductor carries for good, Iz: by cross-section, method, insulation, ambient temperature, circuits \
         bunched and thermal insulation (IEC 60364-5-52, tables B.52.2, B.52.3, B.52.14 and B.52.17, and 523.9).",
    )
    .is(|world, supply| {
        let (conductor, ambient) = (conductor(world, supply)?, ambient(world, supply));
        circuit::carries(conductor, ambient).ok_or_else(|| not_tabulated(conductor, ambient))
    });
    its.field(
        "voltage-drop",
        VOLTAGE,
        "What is lost on the way out and back at that load, with the conductor as warm as at full load: 70 °C in \
         PVC, 90 °C in XLPE.",
    )
    .is(|world, supply| {
        let conductor = conductor(world, supply)?;
        let lost = circuit::voltage_drop(conductor, design_current(world, supply)?);
        lost.ok_or_else(|| no_conductor_resistance(conductor))
    });
    its.field(
        "section-for-current",
        AREA,
        "The least tabulated cross-section that carries `current`, installed as its conductor is.",
    )
    .given(&[("current", Dimension::CURRENT)])
    .is(|world, supply, given| {
        let (conductor, ambient) = (conductor(world, supply)?, ambient(world, supply));
        circuit::section_for_current(conductor, ambient, given[0]).ok_or_else(no_section)
    });
    its.field(
        "section-for-drop",
        AREA,
        "The least tabulated cross-section on which no more than `drop` is lost at its load.",
    )
    .given(&[("drop", Dimension::VOLTAGE)])
    .is(|world, supply, given| {
        let conductor = conductor(world, supply)?;
        circuit::section_for_drop(conductor, design_current(world, supply)?, given[0]).ok_or_else(no_section)
    });
}

fn line(world: &World<'_>, supply: SupplyId, line: SupplyLine) -> Result<SupplyLineOf, String> {
    let given = line.place(world.supply(supply));
    given.map(|_| SupplyLineOf { supply, line }).ok_or_else(|| gives_no(world, supply, line.word()))
}

fn supply_lines(its: &mut Fields<'_, SupplyId>) {
    its.field("thermostats", several(Kind::Thermostat), "The thermostats it feeds, in whatever room.").is(
        |world, supply| {
            let all = world.each_room().flat_map(|(room, measured)| {
                let own = measured.room.thermostats.iter().enumerate();
                let fed = own.filter(move |(_, thermostat)| thermostat.supply == Some(supply.0));
                fed.map(move |(index, _)| ThermostatId { room, index })
            });
            all.collect::<Vec<_>>()
        },
    );
    its.field("voltage-line", one(Kind::SupplyLine), "The line that gives its voltage.")
        .is(|world, supply| line(world, supply, SupplyLine::Voltage));
    its.field("rcd-line", one(Kind::SupplyLine), "The line that gives its RCD.")
        .is(|world, supply| line(world, supply, SupplyLine::Rcd));
    its.field("breaker-line", one(Kind::SupplyLine), "The line that gives its breaker.")
        .is(|world, supply| line(world, supply, SupplyLine::Breaker));
    its.field("fuse-line", one(Kind::SupplyLine), "The line that gives its fuse.")
        .is(|world, supply| line(world, supply, SupplyLine::Fuse));
    its.field("conductor-line", one(Kind::SupplyLine), "The line that gives its conductor.")
        .is(|world, supply| line(world, supply, SupplyLine::Conductor));
    its.field("ambient-line", one(Kind::SupplyLine), "The line that gives the temperature round its conductor.")
        .is(|world, supply| line(world, supply, SupplyLine::Ambient));
}

fn supply_line(its: &mut Fields<'_, SupplyLineOf>) {
    its.field("supply", one(Kind::Supply), "The supply it is part of.").is(|_, line| line.supply);
}

fn fitting(its: &mut Fields<'_, InRoom<Fitting>>) {
    its.field("name", TEXT, "Its name.").is(|world, fitting| fitting.name(world).to_string());
    its.field("height", LENGTH, "Its height over the floor.")
        .is(|world, fitting| fitting.height(world).ok_or_else(|| gives_no(world, fitting, "height")));
    its.field("is-box", TRUTH, "Whether it is a junction box rather than a thermostat.")
        .is(|_, fitting| matches!(fitting.thing, Fitting::Junction(_)));
    its.field("water-protection", NUMBER, "The second digit of a junction box's IP code.").is(|world, fitting| {
        let digit = fitting.water_protection(world).map(f64::from);
        digit.ok_or_else(|| gives_no(world, fitting, "IP code"))
    });
}

fn near(its: &mut Fields<'_, InRoom<NearWater>>) {
    its.field("fitting", one(Kind::Fitting), "The thermostat or junction box.").is(|_, near| near.fitting());
    its.field("water", one(Kind::Feature), "The bath, the shower's basin or the shower head.")
        .is(|_, near| near.water());
    its.field("basin", TRUTH, "Whether that is a bath or a basin, rather than the head of a shower without one.")
        .is(|_, near| matches!(near.thing.water, Feature::Area(_)));
    its.field(
        "distance",
        LENGTH,
        "From the one to the other along a string drawn taut round walls and partitions and through doorways.",
    )
    .is(|_, near| near.thing.distance);
    for name in ["shower-head-height", "outlet-height"] {
        its.field(name, LENGTH, "The height of the highest shower head there; nothing where none is given.")
            .is(|_, near| near.thing.shower_head);
    }
}
