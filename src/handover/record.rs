//! The test record: what was read, what is still to be read, and what happened when.

use super::chart::chart;
use super::tables::{band, quantity};
use super::{Cell, Picture, Table};
use crate::measure::record::STAGES;
use crate::model::{InsulationTest, Reading, Room, Stage};
use crate::quantity::Dimension;
use crate::rules::tree::Comparator;
use crate::takeoff::allowances::Allowances;
use crate::takeoff::figures::{GREATEST_RESISTANCE, LEAST_RESISTANCE};
use crate::takeoff::{Kind, RoomTakeOff, Value};

/// What a stage is called on paper.
pub(super) fn title(stage: Stage) -> &'static str {
    match stage {
        Stage::Delivered => "On delivery",
        Stage::Laid => "Laid, not covered",
        Stage::BeforeTiling => "Before tiling",
        Stage::AfterTiling => "After tiling",
        Stage::BeforeSwitchingOn => "Before switching on",
    }
}

const COLUMNS: [&str; 8] = [
    "Stage",
    "Date",
    "Resistance expected",
    "Resistance read",
    "Insulation expected",
    "Insulation read",
    "Tested at",
    "Instrument",
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
        let least = allowances.insulation.as_ref().map(|(least, voltage)| (*least, *voltage));
        let own = || room.record.iter().flat_map(|record| &record.readings).filter(|reading| reading.cable == index);
        for stage in STAGES {
            let mut none = true;
            for reading in own().filter(|reading| reading.stage == stage) {
                none = false;
                table.row(title(stage), read(reading, limits, &expected, &insulation, least.ok()));
            }
            if none {
                let blank = Cell::Blank;
                let cells = [&blank, &expected, &blank, &insulation, &blank, &blank, &blank];
                table.row(title(stage), cells.into_iter().cloned().collect());
            }
        }
        let svg = chart(&part.name, limits, &own().collect::<Vec<_>>());
        (table, Picture { svg, wide: false })
    });
    each.collect()
}

/// A quantity as read, and that it isn't as it should be where it isn't.
fn judged(value: f64, dimension: Dimension, as_expected: bool) -> Cell {
    let text = quantity(value, dimension);
    Cell::Text(if as_expected { text } else { format!("{text}, not as expected") })
}

/// The cells of a reading. `least` is the least insulation resistance, ohm, and the least voltage to test it with, V.
fn read(
    reading: &Reading,
    limits: Option<(f64, f64)>,
    expected: &Cell,
    insulation: &Cell,
    least: Option<(f64, f64)>,
) -> Vec<Cell> {
    let holds = |comparator: Comparator, value: f64, limit: f64, dimension: Dimension| {
        comparator.holds(value, limit, dimension.grain())
    };
    let read = reading.resistance;
    let within = limits.is_none_or(|(least, greatest)| {
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
    vec![
        Cell::Text(reading.date.to_string()),
        expected.clone(),
        judged(read, Dimension::RESISTANCE, within),
        insulation.clone(),
        tested.map_or(Cell::Blank, shown),
        voltage.map_or(Cell::Blank, |voltage| enough(voltage, least.map(|least| least.1), Dimension::VOLTAGE)),
        or_blank(reading.instrument.clone()),
    ]
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
        (Some((date, ..)), Ok(drying)) => {
            let days = jiff::Span::new().try_days((drying / DAY).ceil() as i64).ok();
            match days.and_then(|days| date.checked_add(days).ok()) {
                Some(dry) => Cell::Text(dry.to_string()),
                None => Cell::Missing("beyond the calendar".into()),
            }
        }
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
