//! What is compared of cables, their runs aside.

use super::cards::{Card, Where};
use crate::measure::length::laid_length;
use crate::measure::room::RoomMeasure;
use crate::model::{Cable, Point};
use crate::quantity::Dimension;

/// A room's cables and their cold tails.
pub(super) fn cards(measure: &RoomMeasure<'_>) -> Vec<Card> {
    measure.room.cables.iter().enumerate().flat_map(|(index, cable)| of_cable(measure, index, cable)).collect()
}

fn of_cable(measure: &RoomMeasure<'_>, index: usize, cable: &Cable) -> Vec<Card> {
    let (room, plan) = (measure.room, measure.plan);
    let kit = cable.kit.and_then(|kit| plan.kits.get(kit));
    let named = kit.map(|kit| &kit.name.text).or(cable.unknown_kit.as_ref());
    let radius = kit.and_then(|kit| kit.bend_radius).unwrap_or(0.0);
    let laid = (!cable.runs.is_empty()).then(|| laid_length(&cable.runs, radius));
    let thermostat = cable.thermostat.and_then(|own| room.thermostats.get(own)).map(|own| own.name.text.as_str());
    // Where two cables are compared by their runs, the place serves to know one again that was renamed.
    let line: Vec<Point> =
        cable.runs.first().map(|run| run.start).into_iter().chain(cable.runs.iter().map(|run| run.end)).collect();
    let junction = |own: Option<usize>| own.and_then(|own| room.junctions.get(own)).map(|own| own.name.text.as_str());
    let sleeves = |joints: &[usize]| {
        let names: Vec<&str> =
            joints.iter().filter_map(|joint| room.lines.get(*joint)).map(|line| line.name.text.as_str()).collect();
        (!names.is_empty()).then(|| names.join(", "))
    };
    let tail_from = cable.tail_from.and_then(|own| room.cables.get(own)).map(|own| own.name.text.as_str());
    let mut cards = vec![
        Card::new("cable", &cable.name.text, Where::Line(line))
            .words("kit", named.map(String::as_str))
            .quantity("laid length", laid, Dimension::LENGTH)
            .quantity("spacing", measure.pitch(index), Dimension::LENGTH)
            .quantity("power", measure.power(cable), Dimension::POWER)
            .quantity("load", measure.current(cable), Dimension::CURRENT)
            .words("thermostat", thermostat),
    ];
    if !cable.tail.is_empty() {
        cards.push(
            Card::new("cold tail of cable", &cable.name.text, Where::Line(cable.tail.clone()))
                .words("junction box", junction(cable.junction))
                .words("from the end of cable", tail_from)
                .words("sleeved across", sleeves(&cable.sleeves)),
        );
    }
    if let Some(tail) = &cable.second_tail {
        cards.push(
            Card::new("second tail of cable", &cable.name.text, Where::Line(tail.route.clone()))
                .words("junction box", junction(tail.junction))
                .words("sleeved across", sleeves(&tail.sleeves)),
        );
    }
    cards
}
