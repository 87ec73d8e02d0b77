//! What a rule may ask about the test record.

use super::*;
use crate::measure::record::{self, MissingStage, Past};
use crate::model::{Record, ScreenTest, Stage};
use crate::quantity::Quantity;
use crate::things::{CableId, InRoom, RcdTestId, ReadingId, RecordLine, RecordOf, SensorId, SensorReadingId, SupplyId};
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
    all.collection("sensor-readings", "Every reading of a floor sensor of every test record.").is(
        |world, _, mut visit| {
            for (room, record) in world.each_record() {
                visit.items((0..record.sensor_readings.len()).map(|index| SensorReadingId { room, index }));
                if record.incomplete {
                    visit.missing(could_not_be_read(world, room));
                }
            }
        },
    );
    all.collection("rcd-tests", "Every test of an RCD of every test record.").is(|world, _, mut visit| {
        for (room, record) in world.each_record() {
            visit.items((0..record.rcd_tests.len()).map(|index| RcdTestId { room, index }));
            if record.incomplete {
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
    all.fields(cable);
    all.fields(sensor);
    all.fields(sensor_reading);
    all.fields(supply);
    all.fields(rcd_test);
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
    its.field("screeded", DATE, "The day the floor was screeded.")
        .is(|world, record| day(world, record, "screed", |record| Some(record.screeded.as_ref()?.value.date)));
    its.field("screed", TEXT, "What binds that screed: `cement` or `anhydrite`.").is(|world, record| {
        let screed = world.record(record.0).and_then(|record| Some(record.screeded.as_ref()?.value.kind.word()));
        screed.ok_or_else(|| gives_no(world, record, "screed"))
    });
    its.field("screed-drying", TIME, "How long its maker leaves it before it is heated or covered.").is(
        |world, record| {
            let drying = world.record(record.0).and_then(|record| record.screeded.as_ref()?.value.drying);
            drying.ok_or_else(|| gives_no(world, record, "drying time of its screed"))
        },
    );
    its.field("primed", DATE, "The day the surface was primed.")
        .is(|world, record| day(world, record, "day of priming", |record| Some(record.primed?.0)));
    its.field("notes", NUMBER, "How many notes it holds of what was built otherwise than drawn.")
        .is(|world, record| world.record(record.0).map_or(0.0, |record| record.notes.len() as f64));
    its.field("photographs", NUMBER, "How many photographs it names.")
        .is(|world, record| world.record(record.0).map_or(0.0, |record| record.photographs().count() as f64));
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
    its.field(
        "past-tiling",
        TRUTH,
        "Whether the floor is tiled by now: the day of tiling is given, something was read at a later stage, or the \
         floor was switched on, unless that was to heat its screed first.",
    )
    .is(|world, record| world.record(record.0).is_some_and(record::past_tiling));
    its.field(
        "past-tiling-tests",
        TRUTH,
        "Whether the tests after tiling are past: something was read at such a stage, or the floor was switched on \
         after tiling.",
    )
    .is(|world, record| world.record(record.0).is_some_and(record::past_tiling_tests));
    its.field(
        "screed-heated-first",
        TRUTH,
        "Whether the floor was screeded, and first switched on before it is tiled.",
    )
    .is(|world, record| world.record(record.0).is_some_and(record::screed_heated_first));
    its.field("screeded-line", one(Kind::RecordLine), "The line that gives the screed.")
        .is(|world, record| line(world, record, RecordLine::Screeded));
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
    its.field(
        "screen",
        RESISTANCE,
        "What was read of its screen: between both ends where both are at hand, else from the cold tail's earth \
         conductor, once it is connected, to the earth terminal.",
    )
    .is(|world, reading| match world.reading(reading).and_then(|own| own.screen) {
        Some(ScreenTest::Reads(read)) => Ok(read),
        Some(ScreenTest::Open) => Err(format!("the screen leads nowhere at {}", reading.describe(world))),
        None => Err(gives_no(world, reading, "test of the screen")),
    });
    its.field("screen-open", TRUTH, "Whether its screen was found to lead nowhere.").is(|world, reading| {
        let tested = world.reading(reading).and_then(|own| own.screen);
        tested.map(|tested| tested == ScreenTest::Open).ok_or_else(|| gives_no(world, reading, "test of the screen"))
    });
    its.field("instrument", TEXT, "What it was measured with.").is(|world, reading| {
        let instrument = world.reading(reading).and_then(|own| own.measured.instrument.clone());
        instrument.ok_or_else(|| gives_no(world, reading, "instrument"))
    });
    its.field("instrument-serial", TEXT, "The serial number of that instrument.").is(|world, reading| {
        let serial = world.reading(reading).and_then(|own| own.measured.serial.clone());
        serial.ok_or_else(|| gives_no(world, reading, "serial number of its instrument"))
    });
    its.field("measured-by", TEXT, "Who measured it.").is(|world, reading| {
        let person = world.reading(reading).and_then(|own| own.measured.person.clone());
        person.ok_or_else(|| gives_no(world, reading, "name of who measured it"))
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
            Past::Reading(index) => stage_of(world, ReadingId { room: missing.room, index }).word(),
            Past::Tiled => "tiled",
            Past::SwitchedOn => "switched-on",
        },
    );
}

/// The record of a room, where one is begun and can be read whole.
fn whole_record<'a>(world: &World<'a>, room: RoomId) -> Result<&'a Record, String> {
    let record = world.record(room).ok_or_else(|| gives_no(world, room, "record"))?;
    if record.incomplete { Err(could_not_be_read(world, room)) } else { Ok(record) }
}

fn cable(its: &mut Fields<'_, CableId>) {
    its.field("readings", several(Kind::Reading), "Its readings in the test record of its room.").is(|world, cable| {
        let record = whole_record(world, cable.room)?;
        let own = record.readings.iter().enumerate().filter(|(_, reading)| reading.cable == cable.index);
        Ok(own.map(|(index, _)| ReadingId { room: cable.room, index }).collect::<Vec<_>>())
    });
    let label = |world: &World<'_>, cable: CableId| {
        let record = whole_record(world, cable.room)?;
        let label = record.labels.iter().find(|label| label.cable == cable.index).cloned();
        label.ok_or_else(|| format!("the record gives no label of {}", cable.describe(world)))
    };
    its.field("serial", TEXT, "The serial number of its kit, as the record gives it.")
        .is(move |world, cable| Ok(label(world, cable)?.serial));
    its.field("batch", TEXT, "The batch that its kit is from.").is(move |world, cable| {
        label(world, cable)?.batch.ok_or_else(|| format!("the label of {} gives no batch", cable.describe(world)))
    });
}

fn sensor(its: &mut Fields<'_, SensorId>) {
    its.field("room", one(Kind::Room), "The room it lies in.").is(|_, sensor| sensor.room);
    its.field("readings", several(Kind::SensorReading), "Its readings in the test record of its room.").is(
        |world, sensor| {
            let record = whole_record(world, sensor.room)?;
            let own = record.sensor_readings.iter().enumerate().filter(|(_, reading)| reading.sensor == sensor.index);
            Ok(own.map(|(index, _)| SensorReadingId { room: sensor.room, index }).collect::<Vec<_>>())
        },
    );
}

fn sensor_reading(its: &mut Fields<'_, SensorReadingId>) {
    its.field("record", one(Kind::Record), "The record it is part of.").is(|_, reading| RecordOf(reading.room));
    its.field("sensor", one(Kind::Sensor), "The sensor that was measured.")
        .is(|world, reading| reading.sensor(world).ok_or_else(|| gives_no(world, reading, "sensor")));
    its.field("stage", TEXT, "`delivered`, `laid`, `before-tiling`, `after-tiling` or `before-switching-on`.").is(
        |world, reading| {
            let stage = world.sensor_reading(reading).map(|own| own.stage.word());
            stage.ok_or_else(|| gives_no(world, reading, "stage"))
        },
    );
    its.field("date", DATE, "The day it was taken.").is(|world, reading| {
        let date = world.sensor_reading(reading).map(|own| Quantity::date(own.date).value);
        date.ok_or_else(|| gives_no(world, reading, "date"))
    });
    its.field("resistance", RESISTANCE, "The resistance of the sensor.").is(|world, reading| {
        let resistance = world.sensor_reading(reading).map(|own| own.resistance);
        resistance.ok_or_else(|| gives_no(world, reading, "resistance"))
    });
    its.field("instrument", TEXT, "What it was measured with.").is(|world, reading| {
        let instrument = world.sensor_reading(reading).and_then(|own| own.measured.instrument.clone());
        instrument.ok_or_else(|| gives_no(world, reading, "instrument"))
    });
    its.field("instrument-serial", TEXT, "The serial number of that instrument.").is(|world, reading| {
        let serial = world.sensor_reading(reading).and_then(|own| own.measured.serial.clone());
        serial.ok_or_else(|| gives_no(world, reading, "serial number of its instrument"))
    });
    its.field("measured-by", TEXT, "Who measured it.").is(|world, reading| {
        let person = world.sensor_reading(reading).and_then(|own| own.measured.person.clone());
        person.ok_or_else(|| gives_no(world, reading, "name of who measured it"))
    });
    its.field(
        "previous",
        one(Kind::SensorReading),
        "The reading of the same sensor before it: of the stage before it of which there is one, or written above it \
         of the same stage.",
    )
    .is(|world, reading| {
        let record = world.record(reading.room);
        let previous = record.and_then(|record| record::previous_of_sensor(record, reading.index));
        let previous = previous.map(|index| SensorReadingId { index, ..reading });
        previous.ok_or_else(|| format!("{} has none before it", reading.describe(world)))
    });
    its.field("before-tiles", TRUTH, "Whether its stage comes before tiling.")
        .is(|world, reading| world.sensor_reading(reading).is_none_or(|own| own.stage <= Stage::BeforeTiling));
}

fn supply(its: &mut Fields<'_, SupplyId>) {
    its.field("rcd-tests", several(Kind::RcdTest), "The tests of its RCD, in the records of whatever rooms.").is(
        |world, supply| {
            let mut tests = Vec::new();
            for (room, record) in world.each_record() {
                if record.incomplete {
                    return Err(could_not_be_read(world, room));
                }
                let own = record.rcd_tests.iter().enumerate().filter(|(_, test)| test.supply == supply.0);
                tests.extend(own.map(|(index, _)| RcdTestId { room, index }));
            }
            Ok(tests)
        },
    );
}

fn rcd_test(its: &mut Fields<'_, RcdTestId>) {
    its.field("record", one(Kind::Record), "The record it is part of.").is(|_, test| RecordOf(test.room));
    its.field("supply", one(Kind::Supply), "The supply whose RCD was tested.")
        .is(|world, test| test.supply(world).ok_or_else(|| gives_no(world, test, "supply")));
    its.field("date", DATE, "The day it was tested.").is(|world, test| {
        let date = world.rcd_test(test).map(|own| Quantity::date(own.date).value);
        date.ok_or_else(|| gives_no(world, test, "date"))
    });
    its.field("trip-time", TIME, "How soon it tripped at its rated residual current.").is(|world, test| {
        let time = world.rcd_test(test).map(|own| own.time);
        time.ok_or_else(|| gives_no(world, test, "time"))
    });
    its.field("instrument", TEXT, "What it was tested with.").is(|world, test| {
        let instrument = world.rcd_test(test).and_then(|own| own.measured.instrument.clone());
        instrument.ok_or_else(|| gives_no(world, test, "instrument"))
    });
    its.field("instrument-serial", TEXT, "The serial number of that instrument.").is(|world, test| {
        let serial = world.rcd_test(test).and_then(|own| own.measured.serial.clone());
        serial.ok_or_else(|| gives_no(world, test, "serial number of its instrument"))
    });
    its.field("measured-by", TEXT, "Who tested it.").is(|world, test| {
        let person = world.rcd_test(test).and_then(|own| own.measured.person.clone());
        person.ok_or_else(|| gives_no(world, test, "name of who tested it"))
    });
}
