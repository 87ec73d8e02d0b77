//! What a rule may ask about the test record.

use super::{Collection, DATE, Field, as_index, each, each_room, gives_no, wrong};
use crate::measure::record::{self, MissingStage, Past};
use crate::model::{Reading, Record, Stage};
use crate::quantity::{Dimension, Quantity};
use crate::rules::item::{Item, Kind, RecordLine, Type, Value, World};

const RESISTANCE: Type = Type::Quantity(Dimension::RESISTANCE);

/// The record of a room that has one.
fn written<'w>(world: &'w World<'_>, number: u32) -> Option<&'w Record> {
    world.rooms[number as usize].room.record.as_ref()
}

fn reading<'w>(world: &'w World<'_>, number: u32, index: u32) -> Option<&'w Reading> {
    written(world, number)?.readings.get(index as usize)
}

fn day(date: Option<jiff::civil::Date>, why: impl FnOnce() -> String) -> Value {
    Value::number(date.map(|date| Quantity::date(date).value), why)
}

fn line(world: &World<'_>, item: Item, line: RecordLine) -> Value {
    let Item::Record(number) = item else { return wrong(item) };
    let given = written(world, number).and_then(|record| line.place(record));
    Value::item(given.map(|_| Item::RecordLine(number, line)), || gives_no(world, item, line.word()))
}

/// A value of a reading, or why there is none.
fn of_reading(world: &World<'_>, item: Item, what: &str, value: impl FnOnce(&Reading) -> Option<f64>) -> Value {
    let Item::Reading(number, index) = item else { return wrong(item) };
    Value::number(reading(world, number, index).and_then(value), || gives_no(world, item, what))
}

fn stage_of(world: &World<'_>, number: u32, index: u32) -> Stage {
    reading(world, number, index).map_or(Stage::Delivered, |reading| reading.stage)
}

collections! {
    "records" () of Record: "The test record of each room that has one." = |world, _, visit| {
        for (number, room) in each_room(world) {
            if room.room.record.is_some() {
                visit(Ok(Item::Record(number)));
            }
        }
    };
    "readings" () of Reading: "Every reading of every test record." = |world, _, visit| {
        for (number, room) in each_room(world) {
            let count = room.room.record.as_ref().map_or(0, |record| record.readings.len());
            each(count).for_each(|index| visit(Ok(Item::Reading(number, index))));
        }
    };
    "missing-stages" () of MissingStage: "For each cable of a room with a test record, each stage of which it has no reading although it is past: a later one is \
        recorded of some cable of the room, or the floor was tiled or switched on." = |world, _, visit| {
        for (number, room) in each_room(world) {
            let Some(record) = &room.room.record else { continue };
            match &room.room.incomplete {
                Some(why) => visit(Err(why.clone())),
                None => {
                    let missing = record::missing_stages(record, room.room.cables.len());
                    missing.into_iter().for_each(|stage| visit(Ok(Item::MissingStage(number, stage))));
                }
            }
        }
    };
}

fields! {
    Room {
        "record" () Type::Item(Kind::Record), "Its test record." = |world, item, _| of!(item, Item::Room(n) => Value::item(written(world, n).map(|_| Item::Record(n)), || gives_no(world, item, "record")));
    }
    Record {
        "room" () Type::Item(Kind::Room), "The room it is of." = |_, item, _| of!(item, Item::Record(n) => Value::Item(Item::Room(n)));
        "readings" () Type::Collection(Kind::Reading), "Its readings." = |world, item, _| of!(item, Item::Record(n) => Value::Items(each(written(world, n).map_or(0, |record| record.readings.len())).map(|i| Item::Reading(n, i)).collect()));
        "last-reading" () DATE, "The day of its last reading." = |world, item, _| of!(item, Item::Record(n) => day(written(world, n).and_then(|record| record::last_day(&record.readings)), || gives_no(world, item, "reading")));
        "tiled" () DATE, "The day of tiling." = |world, item, _| of!(item, Item::Record(n) => day(written(world, n).and_then(|record| Some(record.tiled.as_ref()?.0)), || gives_no(world, item, "day of tiling")));
        "drying" () Type::Quantity(Dimension::TIME), "How long its adhesive dries." = |world, item, _| of!(item, Item::Record(n) => Value::number(written(world, n).and_then(|record| record.tiled.as_ref()?.1), || gives_no(world, item, "drying time")));
        "switched-on" () DATE, "The day the floor was first switched on." = |world, item, _| of!(item, Item::Record(n) => day(written(world, n).and_then(|record| Some(record.switched_on.as_ref()?.0)), || gives_no(world, item, "day of switching on")));
        "signed" () DATE, "The day it was signed." = |world, item, _| of!(item, Item::Record(n) => day(written(world, n).and_then(|record| Some(record.signed.as_ref()?.1)), || gives_no(world, item, "signature")));
        "signed-by" () Type::Text, "Who signed it." = |world, item, _| of!(item, Item::Record(n) => Value::text(written(world, n).and_then(|record| Some(record.signed.as_ref()?.0.as_str())), || gives_no(world, item, "signature")));
        "tiled-line" () Type::Item(Kind::RecordLine), "The line that gives the day of tiling." = |world, item, _| line(world, item, RecordLine::Tiled);
        "switched-on-line" () Type::Item(Kind::RecordLine), "The line that gives the day of switching on." = |world, item, _| line(world, item, RecordLine::SwitchedOn);
        "signed-line" () Type::Item(Kind::RecordLine), "The line that gives the signature." = |world, item, _| line(world, item, RecordLine::Signed);
    }
    RecordLine {
        "record" () Type::Item(Kind::Record), "The record it is part of." = |_, item, _| of!(item, Item::RecordLine(n, _) => Value::Item(Item::Record(n)));
    }
    Reading {
        "record" () Type::Item(Kind::Record), "The record it is part of." = |_, item, _| of!(item, Item::Reading(n, _) => Value::Item(Item::Record(n)));
        "cable" () Type::Item(Kind::Cable), "The cable that was measured." = |world, item, _| of!(item, Item::Reading(n, i) => Value::item(reading(world, n, i).map(|reading| Item::Cable(n, as_index(reading.cable))), || gives_no(world, item, "cable")));
        "stage" () Type::Text, "`delivered`, `laid`, `before-tiling`, `after-tiling` or `before-switching-on`." = |world, item, _| of!(item, Item::Reading(n, i) => Value::Text(stage_of(world, n, i).word().into()));
        "date" () DATE, "The day it was taken." = |world, item, _| of_reading(world, item, "date", |reading| Some(Quantity::date(reading.date).value));
        "resistance" () RESISTANCE, "The resistance of the cable." = |world, item, _| of_reading(world, item, "resistance", |reading| Some(reading.resistance));
        "insulation" () RESISTANCE, "Its insulation resistance." = |world, item, _| of_reading(world, item, "insulation resistance", |reading| Some(reading.insulation?.0));
        "test-voltage" () Type::Quantity(Dimension::VOLTAGE), "The voltage that was measured with." = |world, item, _| of_reading(world, item, "voltage of the insulation test", |reading| reading.insulation?.1);
        "instrument" () Type::Text, "What it was measured with." = |world, item, _| of!(item, Item::Reading(n, i) => Value::text(reading(world, n, i).and_then(|reading| reading.instrument.as_deref()), || gives_no(world, item, "instrument")));
        "previous" () Type::Item(Kind::Reading), "The reading of the same cable before it: of the stage before it of which there is one, or written above it of the same stage." = |world, item, _| of!(item, Item::Reading(n, i) => {
            let previous = written(world, n).and_then(|written| record::previous(written, i as usize));
            Value::item(previous.map(|index| Item::Reading(n, as_index(index))), || format!("{} has none before it", world.describe(item)))
        });
        "before-tiles" () Type::Truth, "Whether its stage comes before tiling." = |world, item, _| of!(item, Item::Reading(n, i) => Value::Truth(stage_of(world, n, i) <= Stage::BeforeTiling));
    }
    MissingStage {
        "cable" () Type::Item(Kind::Cable), "The cable that wasn't measured." = |_, item, _| of!(item, Item::MissingStage(n, missing) => Value::Item(Item::Cable(n, missing.cable)));
        "record" () Type::Item(Kind::Record), "The record it is missing from." = |_, item, _| of!(item, Item::MissingStage(n, _) => Value::Item(Item::Record(n)));
        "stage" () Type::Text, "The stage." = |_, item, _| of!(item, Item::MissingStage(_, missing) => Value::Text(missing.stage.word().into()));
        "past" () Type::Text, "What shows that the stage is past: a later stage, `tiled` or `switched-on`." = |world, item, _| of!(item, Item::MissingStage(n, MissingStage { past, .. }) => Value::Text(match past {
            Past::Reading(i) => stage_of(world, n, i).word(),
            Past::Tiled => "tiled",
            Past::SwitchedOn => "switched-on",
        }.into()));
    }
}
