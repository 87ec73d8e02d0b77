//! What is compared of test records.

use super::cards::{Card, Where};
use crate::geometry::Point;
use crate::model::{InsulationTest, Plan, Room, ScreenTest};
use crate::quantity::{Dimension, Quantity};
use crate::worded::Worded as _;

/// The lines of a room's record.
pub(super) fn cards(plan: &Plan, room: &Room) -> Vec<Card> {
    let Some(record) = &room.record else { return Vec::new() };
    let cable = |index: usize| room.cables.get(index).map_or("", |cable| &cable.name.text);
    let ohm = |value: f64| Quantity::new(value, Dimension::RESISTANCE).show(0);
    let readings = record.readings.iter().map(|own| {
        let screen = own.screen.map(|screen| match screen {
            ScreenTest::Reads(value) => ohm(value),
            ScreenTest::Open => "open".into(),
        });
        Card::new("reading", &format!("{} of cable {}", own.stage.word(), cable(own.cable)), Where::Nowhere)
            .words("day", Some(own.date.to_string()))
            .quantity("resistance", Some(own.resistance), Dimension::RESISTANCE)
            .words("insulation", own.insulation.map(|test| insulation(&test)))
            .words("screen", screen)
            .words("instrument", own.measured.instrument_words())
            .words("measured by", own.measured.person.as_deref())
    });
    let sensors = record.sensor_readings.iter().map(|own| {
        let sensor = room.sensors.get(own.sensor).map_or("", |sensor| &sensor.name.text);
        Card::new("reading", &format!("{} of sensor {sensor}", own.stage.word()), Where::Nowhere)
            .words("day", Some(own.date.to_string()))
            .quantity("resistance", Some(own.resistance), Dimension::RESISTANCE)
            .words("instrument", own.measured.instrument_words())
            .words("measured by", own.measured.person.as_deref())
    });
    let labels = record.labels.iter().map(|own| {
        Card::new("label of cable", cable(own.cable), Where::Nowhere)
            .words("serial number", Some(own.serial.as_str()))
            .words("batch", own.batch.as_deref())
    });
    let tests = record.rcd_tests.iter().map(|own| {
        let supply = plan.supplies.get(own.supply).map_or("", |supply| &supply.name.text);
        Card::new("RCD test of supply", supply, Where::Nowhere)
            .words("day", Some(own.date.to_string()))
            .quantity("trips after", Some(own.time), Dimension::TIME)
            .words("instrument", own.measured.instrument_words())
            .words("measured by", own.measured.person.as_deref())
    });
    let spot = |at: Option<Point>| at.map_or(Where::Nowhere, Where::At);
    let notes = record.notes.iter().map(|own| {
        Card::new("note", &format!("\"{}\"", own.text), spot(own.at))
            .words("day", Some(own.date.to_string()))
            .words("photograph", own.photo.as_deref())
    });
    let photos = record
        .photos
        .iter()
        .map(|own| Card::new("photograph", &own.file, spot(own.at)).words("day", Some(own.date.to_string())));
    let screed = record.screeded.as_ref().map(|own| own.value);
    let whole = Card::new("record", "", Where::Nowhere)
        .words("screeded", screed.map(|own| format!("{}, {}", own.date, own.kind.word())))
        .quantity("screed's drying time", screed.and_then(|own| own.drying), Dimension::TIME)
        .words("primed", record.primed.map(|(day, _)| day.to_string()))
        .words("tiled", record.tiled.map(|(day, ..)| day.to_string()))
        .quantity("adhesive's drying time", record.tiled.and_then(|(_, drying, _)| drying), Dimension::TIME)
        .words("switched on", record.switched_on.map(|(day, _)| day.to_string()))
        .words("signed", record.signed.as_ref().map(|(who, day, _)| format!("{who}, {day}")));
    std::iter::once(whole)
        .chain(readings)
        .chain(sensors)
        .chain(labels)
        .chain(tests)
        .chain(notes)
        .chain(photos)
        .collect()
}

fn insulation(test: &InsulationTest) -> String {
    let ohm = |value: f64| Quantity::new(value, Dimension::RESISTANCE).show(0);
    let over = if test.over { "over " } else { "" };
    let reading = test.resistance.map_or_else(|| "over its range".into(), |value| format!("{over}{}", ohm(value)));
    let voltage = test.voltage.map(|volts| format!(" at {}", Quantity::new(volts, Dimension::VOLTAGE)));
    reading + &voltage.unwrap_or_default()
}
