//! What thermostats switch and supplies feed.

use super::figures::*;
use super::{Kind, Part, Taken, Told, Value};
use crate::measure::circuit;
use crate::measure::electricity;
use crate::measure::room::RoomMeasure;
use crate::model::{Conductor, Plan, Supply, Thermostat};
use crate::quantity::{Dimension, Quantity};
use crate::reasons;
use crate::worded::Worded as _;

pub(super) fn thermostats(taken: &Taken<'_, '_>) -> Vec<Part> {
    taken.room.thermostats.iter().enumerate().map(|(index, thermostat)| one(taken, index, thermostat)).collect()
}

fn one(taken: &Taken<'_, '_>, index: usize, thermostat: &Thermostat) -> Part {
    let mut part = Part::new(Kind::Thermostat, &thermostat.name.text);
    let cables = || taken.measure.cables_of(index).map(|cable| &taken.room.cables[cable]);
    let sum = |each: &dyn Fn(&crate::model::Cable) -> Option<f64>| -> Told<f64> {
        taken.whole(|| {
            if cables().next().is_none() {
                return Err("it switches no cable".into());
            }
            cables().map(|cable| each(cable).ok_or_else(|| reasons::no_kit(cable))).sum()
        })
    };
    let contactor = taken.room.contactors.iter().find(|contactor| contactor.thermostat == index);
    let no_contactor = || "no contactor".to_string();
    let supply = thermostat.supply.and_then(|supply| taken.plan.supplies.get(supply));
    part.quantity(&RATED, Dimension::CURRENT, Ok(thermostat.rated));
    if taken.room.thermostats.iter().any(|thermostat| thermostat.limit.is_some()) {
        let limit = thermostat.limit.ok_or_else(|| "the plan gives no floor limit".to_string());
        part.quantity(&FLOOR_LIMIT, Dimension::TEMPERATURE, limit);
    }
    part.words(&CONTACTOR, contactor.map(|contactor| contactor.name.text.clone()).ok_or_else(no_contactor));
    let rated = contactor.map(|contactor| contactor.rated).ok_or_else(no_contactor);
    part.quantity(&CONTACTOR_RATED, Dimension::CURRENT, rated);
    if taken.room.contactors.iter().any(|contactor| contactor.category.is_some()) {
        let category = contactor.ok_or_else(no_contactor).and_then(|contactor| {
            let gives_none = || format!("contactor `{}` gives no category", contactor.name.text);
            contactor.category.map(|category| category.word().to_string()).ok_or_else(gives_none)
        });
        part.words(&CONTACTOR_CATEGORY, category);
    }
    part.words(&FED_BY, supply.map(|supply| supply.name.text.clone()).ok_or_else(|| reasons::no_supply(thermostat)));
    part.add(&CABLES, taken.whole(|| Ok(Value::Count(cables().count()))));
    part.quantity(&LOAD_POWER, Dimension::POWER, sum(&|cable| taken.measure.power(cable)));
    part.quantity(&LOAD, Dimension::CURRENT, sum(&|cable| taken.measure.current(cable)));
    let kits = taken.whole(|| cables().map(|cable| taken.kit(cable)).collect::<Told<Vec<_>>>());
    let parallel = kits.clone().and_then(|kits| {
        electricity::in_parallel(kits.iter().map(|kit| kit.resistance)).ok_or_else(|| "it switches no cable".into())
    });
    part.quantity(&PARALLEL, Dimension::RESISTANCE, parallel);
    let band = kits.and_then(|kits| taken.band(&kits));
    part.quantity(&LEAST_PARALLEL, Dimension::RESISTANCE, band.clone().map(|band| band.0));
    part.quantity(&GREATEST_PARALLEL, Dimension::RESISTANCE, band.map(|band| band.1));
    part
}

/// The supplies that feed something of the plan.
pub(super) fn supplies(plan: &Plan, rooms: &[RoomMeasure<'_>]) -> Vec<Part> {
    let feeding = plan.supplies.iter().enumerate().filter(|(index, _)| circuit::fed(rooms, *index).next().is_some());
    feeding.map(|(index, supply)| feeds(plan, rooms, index, supply)).collect()
}

fn feeds(plan: &Plan, rooms: &[RoomMeasure<'_>], index: usize, supply: &Supply) -> Part {
    let mut part = Part::new(Kind::Supply, &supply.name.text);
    let gives_no = |what: &str| format!("supply `{}` gives no {what}", supply.name.text);
    let stated = |value: &Option<crate::model::Stated<f64>>, what: &str| {
        value.as_ref().map(|stated| stated.value).ok_or_else(|| gives_no(what))
    };
    let conductor = supply.conductor.as_ref().map(|stated| &stated.value).ok_or_else(|| gives_no("conductor"));
    let ambient = supply.ambient.as_ref().map_or(circuit::REFERENCE_AMBIENT, |stated| stated.value);
    let voltage = stated(&supply.voltage, "voltage");
    let load = circuit::design_current(rooms, index).map_err(reasons::no_load);
    let drop = conductor.clone().and_then(|conductor| {
        let lost = circuit::voltage_drop(conductor, load.clone()?);
        lost.ok_or_else(|| reasons::no_conductor_resistance(conductor))
    });
    let capacity = conductor
        .clone()
        .and_then(|own| circuit::carries(own, ambient).ok_or_else(|| reasons::not_tabulated(own, ambient)));
    part.quantity(&SUPPLY_VOLTAGE, Dimension::VOLTAGE, voltage.clone());
    part.quantity(&RCD, Dimension::CURRENT, stated(&supply.rcd, "RCD"));
    if plan.supplies.iter().any(|supply| supply.rcd_type.is_some()) {
        let kind = supply.rcd_type.map(|kind| kind.word().to_string());
        let missing = if supply.rcd.is_some() { "type of its RCD" } else { "RCD" };
        part.words(&RCD_TYPE, kind.ok_or_else(|| gives_no(missing)));
    }
    let fused = plan.supplies.iter().any(|supply| supply.fuse.is_some());
    part.quantity(&BREAKER, Dimension::CURRENT, stated(&supply.breaker, "breaker"));
    if fused {
        part.quantity(&FUSE, Dimension::CURRENT, stated(&supply.fuse, "fuse"));
    }
    part.words(&CONDUCTOR, conductor.map(describe));
    part.quantity(&DESIGN_CURRENT, Dimension::CURRENT, load);
    part.quantity(&CAPACITY, Dimension::CURRENT, capacity);
    part.quantity(&DROP, Dimension::VOLTAGE, drop.clone());
    part.add(&DROP_SHARE, voltage.and_then(|voltage| super::floor::share(drop?, voltage, "there is no voltage")));
    if plan.supplies.iter().any(|supply| supply.before.is_some()) {
        let before = supply.before.ok_or_else(|| gives_no("voltage drop before it"));
        part.add(&DROP_BEFORE, before.map(Value::Share));
    }
    part
}

fn describe(conductor: &Conductor) -> String {
    let length = Quantity::new(conductor.length, Dimension::LENGTH).show(0);
    let insulation = match conductor.insulation {
        crate::model::Insulation::Pvc => "PVC",
        crate::model::Insulation::Xlpe => "XLPE",
    };
    let mut words =
        format!("{} mm² copper, {insulation}, {length}, method {}", conductor.section, conductor.method.word());
    if conductor.grouped > 1.0 {
        words.push_str(&format!(", {} circuits bunched", conductor.grouped));
    }
    if conductor.in_insulation > 0.0 {
        let length = Quantity::new(conductor.in_insulation, Dimension::LENGTH).show(0);
        words.push_str(&format!(", {length} in thermal insulation"));
    }
    words
}
