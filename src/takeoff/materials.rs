//! What is to be ordered for a room.

use super::figures::*;
use super::{Kind, Part, Taken, Told, Value};
use crate::measure::TOUCH;
use crate::model::{Cable, LayerBody};
use crate::quantity::{Dimension, Quantity};
use crate::reasons;

pub(super) fn materials(taken: &Taken<'_, '_>) -> Vec<Part> {
    let mut parts = kits(taken);
    parts.push(fixing(taken));
    parts.extend(sensors(taken));
    parts.extend(layers(taken));
    parts
}

/// The kits of the room's cables, each once, in the order they are met.
fn kits(taken: &Taken<'_, '_>) -> Vec<Part> {
    let mut named: Vec<usize> = Vec::new();
    for kit in taken.room.cables.iter().filter_map(|cable| cable.kit) {
        if !named.contains(&kit) {
            named.push(kit);
        }
    }
    let part = |index: usize| {
        let kit = taken.plan.kits.get(index)?;
        let mut part = Part::new(Kind::Kit, &kit.name.text);
        let count = taken.room.cables.iter().filter(|cable| cable.kit == Some(index)).count();
        let times = |length: f64| taken.whole(|| Ok(length * count as f64));
        part.add(&KIT_COUNT, taken.whole(|| Ok(Value::Count(count))));
        part.cable(&KIT_LENGTH, times(kit.length));
        if let Some(mat) = kit.mat {
            let length = |length: f64| Quantity::new(length, Dimension::LENGTH).show(0);
            let (width, along, spacing) = (length(mat.width), length(mat.length), length(mat.spacing));
            part.words(&KIT_MAT, Ok(format!("{width} by {along}, spacing {spacing}")));
        }
        let tail = kit.tail.ok_or_else(|| format!("kit `{}` gives no tail", kit.name.text));
        let ends = if kit.cores == 1 { 2.0 } else { 1.0 };
        part.cable(&KIT_TAILS, tail.and_then(|tail| times(tail * ends)));
        Some(part)
    };
    named.into_iter().filter_map(part).collect()
}

fn fixing(taken: &Taken<'_, '_>) -> Part {
    let mut part = Part::new(Kind::Fixing, "");
    part.quantity(&TAPE_SPACING, Dimension::LENGTH, Ok(taken.allowances.tape_spacing));
    let length = taken.whole(|| {
        if taken.room.cables.is_empty() {
            return Err(reasons::no_cable(taken.room));
        }
        let cables = taken.room.cables.iter().enumerate();
        cables.map(|(index, cable)| tape(taken, index, cable)).sum()
    });
    part.cable(&TAPE_LENGTH, length);
    part
}

/// The fixing tape of a cable, mm.
fn tape(taken: &Taken<'_, '_>, index: usize, cable: &Cable) -> Told<f64> {
    if taken.kit(cable).is_ok_and(|kit| kit.mat.is_some()) {
        return Ok(0.0);
    }
    let pitch = taken.measure.pitch(index).ok_or_else(|| reasons::no_pitch(cable))?;
    let long = cable.runs.iter().map(crate::model::Run::length).filter(|length| *length > pitch + TOUCH);
    // A run as long as some tape spacings isn't held once more for what rounding adds to it.
    let held = long.map(|length| (length / taken.allowances.tape_spacing - 1e-9).ceil() + 1.0);
    Ok(held.sum::<f64>() * pitch)
}

fn sensors(taken: &Taken<'_, '_>) -> Vec<Part> {
    let part = |(index, sensor): (usize, &crate::model::Sensor)| {
        let mut part = Part::new(Kind::Sensor, &sensor.name.text);
        let no_height =
            || format!("thermostat `{}` gives no height", taken.room.thermostats[sensor.thermostat].name.text);
        part.cable(&CONDUIT, taken.measure.conduit_length(index).ok_or_else(no_height));
        let no_lead = || format!("sensor `{}` gives no lead", sensor.name.text);
        part.cable(&LEAD, sensor.lead.ok_or_else(no_lead));
        part
    };
    taken.room.sensors.iter().enumerate().map(part).collect()
}

/// The layers of the floor, top first.
fn layers(taken: &Taken<'_, '_>) -> Vec<Part> {
    let part = |layer: &crate::model::Layer| {
        let mut part = Part::new(Kind::Layer, &layer.name.text);
        let thickness = match layer.body {
            LayerBody::Solid { thickness, .. } => Ok(thickness),
            LayerBody::Resistance(_) => Err(format!("layer `{}` is given by its resistance", layer.name.text)),
        };
        let area = taken.built_area();
        part.quantity(&THICKNESS, Dimension::LENGTH, thickness.clone());
        part.quantity(&LAYER_AREA, Dimension::AREA, area.clone());
        // mm3 to litres.
        part.add(&VOLUME, thickness.and_then(|thickness| Ok(Value::Litres(thickness * area? / 1e6))));
        part
    };
    taken.room.floor.iter().flat_map(|floor| &floor.layers).map(part).collect()
}
