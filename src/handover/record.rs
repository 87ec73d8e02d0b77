//! The test record: what was read, what is still to be read, and what happened when.

use super::chart::chart;
use super::tables::{band, quantity, title};
use super::{Cell, Picture, Table};
use crate::measure::record::STAGES;
use crate::model::{InsulationTest, Plan, Point, Reading, Room, ScreedKind, ScreenTest, Stage};
use crate::quantity::{Dimension, number};
use crate::rules::tree::Comparator;
use crate::takeoff::allowances::Allowances;
use crate::takeoff::figures::{GREATEST_RESISTANCE, LEAST_RESISTANCE};
use crate::takeoff::{Kind, RoomTakeOff, Value};
use crate::worded::Worded as _;

const COLUMNS: [&str; 10] = [
    "Stage",
    "Date",
    "Resistance expected",
    "Resistance read",
    "Insulation expected",
    "Insulation read",
    "Tested at",
    "Screen read",
    "Instrument",
    "Measured by",
];

/// For each cable its readings by stage, and a chart of them.
pub(super) fn readings(room: &Room, taken: &RoomTakeOff, allowances: &Allowances) -> Vec<(Table, Picture)> {
    let parts = taken.parts.iter().filter(|part| part.kind == Kind::Cable);
    let each = parts.enumerate().map(|(index, part)| {
        let figure = |what| match part.get(what) {
            Some(Ok(Value::Quantity(quantity))) => Some(quantity.value),
            _ => None,
        };
        let limits = figure(&LEAST_RESISTANCE).zip(figure(&GREATEST_RESISTANCE));
        let mut table = Table::new(format!("Readings of cable {}", part.name), &COLUMNS);
        table.form = true;
        let expected = band(part, &LEAST_RESISTANCE, &GREATEST_RESISTANCE);
        let insulation = match &allowances.insulation {
            Ok((least, voltage)) => Cell::Text(format!(
                "{} or more at {}",
                quantity(*least, Dimension::RESISTANCE),
                quantity(*voltage, Dimension::VOLTAGE)
            )),
            Err(why) => Cell::Missing(why.clone()),
        };
        let limits = Limits {
            resistance: limits,
            insulation: allowances.insulation.as_ref().ok().copied(),
            screen: allowances.screen.as_ref().ok().copied(),
        };
        let own = || room.record.iter().flat_map(|record| &record.readings).filter(|reading| reading.cable == index);
        for stage in STAGES {
            let mut none = true;
            for reading in own().filter(|reading| reading.stage == stage) {
                none = false;
                table.row(title(stage), read(reading, limits, &expected, &insulation));
            }
            if none {
                let blank = Cell::Blank;
                let cells = [&blank, &expected, &blank, &insulation, &blank, &blank, &blank, &blank, &blank];
                table.row(title(stage), cells.into_iter().cloned().collect());
            }
        }
        let svg = chart(&part.name, limits.resistance, &own().collect::<Vec<_>>());
        (table, Picture { svg, wide: false })
    });
    each.collect()
}

/// A quantity as read, and that it isn't as it should be where it isn't.
fn judged(value: f64, dimension: Dimension, as_expected: bool) -> Cell {
    let text = quantity(value, dimension);
    Cell::Text(if as_expected { text } else { format!("{text}, not as expected") })
}

/// What a cable's readings are held to, as far as it is known.
#[derive(Debug, Clone, Copy)]
struct Limits {
    /// The least and the greatest resistance, ohm.
    resistance: Option<(f64, f64)>,
    /// The least insulation resistance, ohm, and the least voltage to test it with, V.
    insulation: Option<(f64, f64)>,
    /// The most that its screen may read, ohm.
    screen: Option<f64>,
}

/// The cells of a reading.
fn read(reading: &Reading, limits: Limits, expected: &Cell, insulation: &Cell) -> Vec<Cell> {
    let least = limits.insulation;
    let holds = |comparator: Comparator, value: f64, limit: f64, dimension: Dimension| {
        comparator.holds(value, limit, dimension.grain())
    };
    let read = reading.resistance;
    let within = limits.resistance.is_none_or(|(least, greatest)| {
        holds(Comparator::AtLeast, read, least, Dimension::RESISTANCE)
            && holds(Comparator::AtMost, read, greatest, Dimension::RESISTANCE)
    });
    let tested = reading.insulation;
    let or_blank = |value: Option<String>| value.map_or(Cell::Blank, Cell::Text);
    let enough = |value: f64, least: Option<f64>, dimension: Dimension| {
        judged(value, dimension, least.is_none_or(|least| holds(Comparator::AtLeast, value, least, dimension)))
    };
    let voltage = tested.and_then(|tested| tested.voltage);
    let shown = |tested: InsulationTest| match tested.resistance {
        None => Cell::Text("over range".into()),
        Some(value) => match enough(value, least.map(|least| least.0), Dimension::RESISTANCE) {
            Cell::Text(text) if tested.over => Cell::Text(format!("> {text}")),
            cell => cell,
        },
    };
    let screen = |tested: ScreenTest| match tested {
        ScreenTest::Open => Cell::Text("open, not as expected".into()),
        ScreenTest::Reads(value) => {
            let most = limits.screen;
            judged(
                value,
                Dimension::RESISTANCE,
                most.is_none_or(|most| holds(Comparator::AtMost, value, most, Dimension::RESISTANCE)),
            )
        }
    };
    vec![
        Cell::Text(reading.date.to_string()),
        expected.clone(),
        judged(read, Dimension::RESISTANCE, within),
        insulation.clone(),
        tested.map_or(Cell::Blank, shown),
        voltage.map_or(Cell::Blank, |voltage| enough(voltage, least.map(|least| least.1), Dimension::VOLTAGE)),
        reading.screen.map_or(Cell::Blank, screen),
        or_blank(reading.measured.instrument_words()),
        or_blank(reading.measured.person.clone()),
    ]
}

/// For each floor sensor its readings by stage; before tiling and after tiling there is one to be filled in where none was taken.
pub(super) fn sensors(room: &Room) -> Vec<Table> {
    let each = room.sensors.iter().enumerate().map(|(index, sensor)| {
        let columns = ["Stage", "Date", "Resistance read", "Instrument", "Measured by"];
        let mut table = Table::new(format!("Readings of sensor {}", sensor.name.text), &columns);
        table.form = true;
        let all = || room.record.iter().flat_map(|record| &record.sensor_readings);
        let own = || all().filter(|reading| reading.sensor == index);
        let begun = |after: bool| own().any(|reading| (reading.stage > Stage::BeforeTiling) == after);
        for stage in STAGES {
            for reading in own().filter(|reading| reading.stage == stage) {
                let or_blank = |text: Option<String>| text.map_or(Cell::Blank, Cell::Text);
                let instrument = or_blank(reading.measured.instrument_words());
                let person = or_blank(reading.measured.person.clone());
                let read = Cell::Text(quantity(reading.resistance, Dimension::RESISTANCE));
                table.row(title(stage), vec![Cell::Text(reading.date.to_string()), read, instrument, person]);
            }
            let asked =
                (stage == Stage::BeforeTiling && !begun(false)) || (stage == Stage::AfterTiling && !begun(true));
            if asked {
                table.row(title(stage), vec![Cell::Blank; 4]);
            }
        }
        table
    });
    each.collect()
}

/// What stands on the labels of the kits.
pub(super) fn labels(plan: &Plan, room: &Room) -> Table {
    let mut table = Table::new("Labels of the kits", &["Cable", "Kit", "Serial number", "Batch"]);
    table.form = true;
    for (index, cable) in room.cables.iter().enumerate() {
        let mut labels = room.record.iter().flat_map(|record| &record.labels);
        let label = labels.find(|label| label.cable == index);
        let or_blank = |text: Option<String>| text.map_or(Cell::Blank, Cell::Text);
        let kit = cable.kit.and_then(|kit| plan.kits.get(kit)).map(|kit| kit.name.text.clone());
        let kit = kit.map_or_else(|| Cell::Missing(crate::reasons::no_kit(cable)), Cell::Text);
        let serial = or_blank(label.map(|label| label.serial.clone()));
        table.row(&cable.name.text, vec![kit, serial, or_blank(label.and_then(|label| label.batch.clone()))]);
    }
    table
}

/// Tests of the RCDs of the supplies that feed a room.
pub(super) fn rcd_tests(plan: &Plan, room: &Room, allowances: &Allowances) -> Table {
    let columns = ["Supply", "Date", "Rated residual current", "Tripped after", "Instrument", "Tested by"];
    let mut table = Table::new("Tests of RCDs", &columns);
    table.form = true;
    let records = || plan.rooms.iter().filter_map(|room| room.record.as_ref());
    for (index, supply) in plan.supplies.iter().enumerate() {
        let feeds = room.thermostats.iter().any(|thermostat| thermostat.supply == Some(index));
        let Some(rated) = supply.rcd.as_ref().filter(|_| feeds) else { continue };
        let rated = Cell::Text(quantity(rated.value, Dimension::CURRENT));
        let mut none = true;
        for test in records().flat_map(|record| &record.rcd_tests).filter(|test| test.supply == index) {
            none = false;
            let most = allowances.trip_time.as_ref().ok();
            let soon = most.is_none_or(|most| Comparator::AtMost.holds(test.time, *most, Dimension::TIME.grain()));
            let cells = vec![
                Cell::Text(test.date.to_string()),
                rated.clone(),
                judged(test.time, Dimension::TIME, soon),
                test.measured.instrument_words().map_or(Cell::Blank, Cell::Text),
                test.measured.person.clone().map_or(Cell::Blank, Cell::Text),
            ];
            table.row(&supply.name.text, cells);
        }
        if none {
            table.row(&supply.name.text, vec![Cell::Blank, rated, Cell::Blank, Cell::Blank, Cell::Blank]);
        }
    }
    table
}

/// What was built otherwise than drawn.
pub(super) fn notes(room: &Room) -> Table {
    let columns = ["Number", "Noted on", "What", "Where on the plan", "Photograph"];
    let mut table = Table::new("Built otherwise than drawn", &columns);
    let or_dash = |text: Option<String>| Cell::Text(text.unwrap_or_else(|| "–".into()));
    for (number, note) in (1..).zip(room.record.iter().flat_map(|record| &record.notes)) {
        let cells = vec![
            Cell::Text(note.date.to_string()),
            Cell::Text(note.text.clone()),
            or_dash(note.at.map(spot)),
            or_dash(note.photo.clone()),
        ];
        table.row(number.to_string(), cells);
    }
    table
}

/// A point as a plan writes it.
pub(super) fn spot(at: Point) -> String {
    format!("({}, {})", number(at.x, 1), number(at.y, 1))
}

/// Photographs of the work, numbered after the notes.
pub(super) fn photos(room: &Room) -> Table {
    let mut table = Table::new("Photographs", &["Number", "Taken on", "File", "Where on the plan"]);
    if let Some(record) = &room.record {
        for (number, photo) in (record.notes.len() + 1..).zip(&record.photos) {
            let at = photo.at.map_or_else(|| "–".to_string(), spot);
            let cells = [photo.date.to_string(), photo.file.clone(), at].map(Cell::Text);
            table.row(number.to_string(), cells.to_vec());
        }
    }
    table
}

/// A day, s.
const DAY: f64 = 86_400.0;

/// What happened when, and when the floor may be switched on.
pub(super) fn milestones(room: &Room, allowances: &Allowances) -> Table {
    let mut table = Table::new("Tiling, drying and switching on", &["What", "When"]);
    table.form = true;
    let record = room.record.as_ref();
    let tiled = record.and_then(|record| record.tiled.as_ref());
    let day = |date: Option<jiff::civil::Date>| date.map_or(Cell::Blank, |date| Cell::Text(date.to_string()));
    let days_after = |date: jiff::civil::Date, time: f64| {
        let days = jiff::Span::new().try_days((time / DAY).ceil() as i64).ok();
        match days.and_then(|days| date.checked_add(days).ok()) {
            Some(day) => Cell::Text(day.to_string()),
            None => Cell::Missing("beyond the calendar".into()),
        }
    };
    if let Some(screeded) = record.and_then(|record| record.screeded.as_ref()) {
        let own = screeded.value;
        table.row("Screeded on", vec![Cell::Text(format!("{}, {}", own.date, own.kind.word()))]);
        let usual = allowances.screed.clone().map(|(cement, anhydrite)| match own.kind {
            ScreedKind::Cement => cement,
            ScreedKind::Anhydrite => anhydrite,
        });
        let cell = match own.drying.map_or(usual, Ok) {
            Ok(time) => days_after(own.date, time),
            Err(why) => Cell::Missing(why),
        };
        table.row("Screed neither tiled nor heated before", vec![cell]);
    }
    let drying = tiled.and_then(|(_, drying, _)| *drying).map_or_else(|| allowances.drying.clone(), Ok);
    table.row("Tiled on", vec![day(tiled.map(|(date, ..)| *date))]);
    let given = tiled.is_some_and(|(_, drying, _)| drying.is_some());
    let basis = if given { "by the record" } else { "where the adhesive's maker says nothing else" };
    table.row(
        "Adhesive dries",
        vec![match &drying {
            Ok(drying) => Cell::Text(format!("{}, {basis}", quantity(*drying, Dimension::TIME))),
            Err(why) => Cell::Missing(why.clone()),
        }],
    );
    let dry = match (tiled, &drying) {
        (Some((date, ..)), Ok(drying)) => days_after(*date, *drying),
        (None, _) => Cell::Blank,
        (_, Err(why)) => Cell::Missing(why.clone()),
    };
    table.row("Not switched on before", vec![dry]);
    table.row("First switched on", vec![day(record.and_then(|record| Some(record.switched_on.as_ref()?.0)))]);
    let signed = record.and_then(|record| record.signed.as_ref());
    let signed = signed.map_or(Cell::Blank, |(who, date, _)| Cell::Text(format!("{who}, {date}")));
    table.row("Record signed", vec![signed]);
    table
}

/// Places for those who answer for the work.
pub(super) fn signatures() -> Table {
    let mut table = Table::new("Names and signatures", &["Who", "Name", "Signature", "Date"]);
    table.form = true;
    for who in ["Laid the cable", "Covered the floor", "Connected and tested the circuit", "Took the floor over"] {
        table.row(who, vec![Cell::Blank; 3]);
    }
    table
}
