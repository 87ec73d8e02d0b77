//! What a rule may ask about the test record.

use super::*;
use crate::measure::record::{self, MissingStage, Past};
use crate::model::{Record, Stage};
use crate::quantity::Quantity;
use crate::things::{InRoom, ReadingId, RecordLine, RecordOf};
use crate::worded::Worded as _;

pub(super) fn declare(all: &mut Vocabulary) {
    all.collection("records", "The test record of each room that has one.").is(|world, _, mut visit| {
        for (room, _) in world.each_room() {
            match world.record(room) {
                None => {}
                Some(record) if record.incomplete => visit.missing(could_not_be_read(world, room)),
                Some(_) => visit.item(RecordOf(room)),
            }
        }
    });
    all.collection("readings", "Every reading of every test record.").is(|world, _, mut visit| {
        for (room, _) in world.each_room() {
            visit.items(readings(world, room));
            if world.record(room).is_some_and(|record| record.incomplete) {
                visit.missing(could_not_be_read(world, room));
            }
        }
    });
    all.collection(
        "missing-stages",
        "For each cable of a room with a test record, each stage of which it has no reading although it is past: \
         a later one is recorded of some cable of the room, or the floor was tiled or switched on.",
    )
    .is(|world, _, mut visit| {
        for (room, measured) in world.each_room() {
            let Some(record) = &measured.room.record else { continue };
            match &measured.room.incomplete {
                Some(why) => visit.missing(why.clone()),
                None if record.incomplete => visit.missing(could_not_be_read(world, room)),
                None => {
                    let missing = record::missing_stages(record, measured.room.cables.len());
                    visit.items(missing.into_iter().map(|thing| InRoom { room, thing }));
                }
            }
        }
    });
    all.fields(room);
    all.fields(record);
    all.fields(record_line);
    all.fields(reading);
    all.fields(missing_stage);
}

fn could_not_be_read(world: &World<'_>, room: RoomId) -> String {
    format!("something in {} could not be read", RecordOf(room).describe(world))
}

fn readings(world: &World<'_>, room: RoomId) -> impl Iterator<Item = ReadingId> + use<> {
    let count = world.record(room).map_or(0, |record| record.readings.len());
    (0..count).map(move |index| ReadingId { room, index })
}

fn line(world: &World<'_>, record: RecordOf, line: RecordLine) -> Result<InRoom<RecordLine>, String> {
    let given = world.record(record.0).and_then(|record| line.place(record));
    given.map(|_| InRoom { room: record.0, thing: line }).ok_or_else(|| gives_no(world, record, line.word()))
}

/// A day that a record gives.
fn day(
    world: &World<'_>,
    record: RecordOf,
    what: &str,
    date: impl Fn(&Record) -> Option<jiff::civil::Date>,
) -> Result<f64, String> {
    let date = world.record(record.0).and_then(date);
    date.map(|date| Quantity::date(date).value).ok_or_else(|| gives_no(world, record, what))
}

fn stage_of(world: &World<'_>, reading: ReadingId) -> Stage {
    world.reading(reading).map_or(Stage::Delivered, |reading| reading.stage)
}

fn room(its: &mut Fields<'_, RoomId>) {
    its.field("record", one(Kind::Record), "Its test record.")
        .is(|world, room| world.record(room).map(|_| RecordOf(room)).ok_or_else(|| gives_no(world, room, "record")));
}

fn record(its: &mut Fields<'_, RecordOf>) {
    its.field("room", one(Kind::Room), "The room it is of.").is(|_, record| record.0);
    its.field("readings", several(Kind::Reading), "Its readings.")
        .is(|world, record| readings(world, record.0).collect::<Vec<_>>());
    its.field("last-reading", DATE, "The day of its last reading.")
        .is(|world, record| day(world, record, "reading", |record| record::last_day(&record.readings)));
    its.field("tiled", DATE, "The day of tiling.")
        .is(|world, record| day(world, record, "day of tiling", |record| Some(record.tiled.as_ref()?.0)));
    its.field("drying", TIME, "How long its adhesive dries.").is(|world, record| {
        let drying = world.record(record.0).and_then(|record| record.tiled.as_ref()?.1);
        drying.ok_or_else(|| gives_no(world, record, "drying time"))
    });
    its.field("switched-on", DATE, "The day the floor was first switched on.")
        .is(|world, record| day(world, record, "day of switching on", |record| Some(record.switched_on.as_ref()?.0)));
    its.field("signed", DATE, "The day it was signed.")
        .is(|world, record| day(world, record, "signature", |record| Some(record.signed.as_ref()?.1)));
    its.field("signed-by", TEXT, "Who signed it.").is(|world, record| {
        let signed = world.record(record.0).and_then(|record| Some(record.signed.as_ref()?.0.clone()));
        signed.ok_or_else(|| gives_no(world, record, "signature"))
    });
    its.field("tiled-line", one(Kind::RecordLine), "The line that gives the day of tiling.")
        .is(|world, record| line(world, record, RecordLine::Tiled));
    its.field("switched-on-line", one(Kind::RecordLine), "The line that gives the day of switching on.")
        .is(|world, record| line(world, record, RecordLine::SwitchedOn));
    its.field("signed-line", one(Kind::RecordLine), "The line that gives the signature.")
        .is(|world, record| line(world, record, RecordLine::Signed));
}

fn record_line(its: &mut Fields<'_, InRoom<RecordLine>>) {
    its.field("record", one(Kind::Record), "The record it is part of.").is(|_, line| RecordOf(line.room));
}

fn reading(its: &mut Fields<'_, ReadingId>) {
    its.field("record", one(Kind::Record), "The record it is part of.").is(|_, reading| RecordOf(reading.room));
    its.field("cable", one(Kind::Cable), "The cable that was measured.")
        .is(|world, reading| reading.cable(world).ok_or_else(|| gives_no(world, reading, "cable")));
    its.field("stage", TEXT, "`delivered`, `laid`, `before-tiling`, `after-tiling` or `before-switching-on`.")
        .is(|world, reading| stage_of(world, reading).word());
    its.field("date", DATE, "The day it was taken.").is(|world, reading| {
        let date = world.reading(reading).map(|own| Quantity::date(own.date).value);
        date.ok_or_else(|| gives_no(world, reading, "date"))
    });
    its.field("resistance", RESISTANCE, "The resistance of the cable.").is(|world, reading| {
        let resistance = world.reading(reading).map(|own| own.resistance);
        resistance.ok_or_else(|| gives_no(world, reading, "resistance"))
    });
    its.field("insulation", RESISTANCE, "Its insulation resistance.").is(|world, reading| {
        let insulation = world.reading(reading).and_then(|own| own.insulation?.resistance);
        insulation.ok_or_else(|| gives_no(world, reading, "insulation resistance"))
    });
    its.field(
        "over-range",
        TRUTH,
        "Whether there was more than that, or the instrument showed only that it was over its range.",
    )
    .is(|world, reading| {
        let tested = world.reading(reading).and_then(|own| own.insulation);
        tested.map(|tested| tested.over).ok_or_else(|| gives_no(world, reading, "insulation resistance"))
    });
    its.field("test-voltage", VOLTAGE, "The voltage that was measured with.").is(|world, reading| {
        let voltage = world.reading(reading).and_then(|own| own.insulation?.voltage);
        voltage.ok_or_else(|| gives_no(world, reading, "voltage of the insulation test"))
    });
    its.field("instrument", TEXT, "What it was measured with.").is(|world, reading| {
        let instrument = world.reading(reading).and_then(|own| own.instrument.clone());
        instrument.ok_or_else(|| gives_no(world, reading, "instrument"))
    });
    its.field(
        "previous",
        one(Kind::Reading),
        "The reading of the same cable before it: of the stage before it of which there is one, or written above it \
         of the same stage.",
    )
    .is(|world, reading| {
        let previous = world.record(reading.room).and_then(|record| record::previous(record, reading.index));
        let previous = previous.map(|index| ReadingId { index, ..reading });
        previous.ok_or_else(|| format!("{} has none before it", reading.describe(world)))
    });
    its.field("before-tiles", TRUTH, "Whether its stage comes before tiling.")
        .is(|world, reading| stage_of(world, reading) <= Stage::BeforeTiling);
}

fn missing_stage(its: &mut Fields<'_, InRoom<MissingStage>>) {
    its.field("cable", one(Kind::Cable), "The cable that wasn't measured.").is(|_, missing| missing.cable());
    its.field("record", one(Kind::Record), "The record it is missing from.").is(|_, missing| RecordOf(missing.room));
    its.field("stage", TEXT, "The stage.").is(|_, missing| missing.thing.stage.word());
    its.field("past", TEXT, "What shows that the stage is past: a later stage, `tiled` or `switched-on`.").is(
        |world, missing| match missing.thing.past {
            Past::Reading(index) => stage_of(world, ReadingId { room: missing.room, index: index as usize }).word(),
            Past::Tiled => "tiled",
            Past::SwitchedOn => "switched-on",
        },
    );
}
