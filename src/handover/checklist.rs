//! What whoever hands a floor over goes through, item by item: what the record says of each, or a blank to be filled in.
//!
//! Common practice: the surface is primed, the cable is photographed before it is covered, the places of its joints are noted, it is tested at
//! every stage, and someone answers for it.

use super::record::spot;
use super::tables::title;
use super::{Cell, Table};
use crate::measure::record::STAGES;
use crate::model::{Cable, Plan, Record, Room};

/// The list; nothing where the room has no heating cable.
pub(super) fn checklist(plan: &Plan, room: &Room) -> Option<Table> {
    if room.cables.is_empty() {
        return None;
    }
    let mut table = Table::new("Checklist", &["What", "By the record", "Seen by, date"]);
    table.form = true;
    let record = room.record.as_ref();
    let or_blank = |text: Option<String>| text.filter(|text| !text.is_empty()).map_or(Cell::Blank, Cell::Text);
    let mut say = |what: &str, said: Option<String>| table.row(what, vec![or_blank(said), Cell::Blank]);
    say("Surface primed", record.and_then(|own| own.primed).map(|(day, _)| day.to_string()));
    let photographs = record.map(|own| own.photographs().collect::<Vec<_>>().join(", "));
    say("Cable photographed before it was covered", photographs);
    let joints: Vec<String> = room.cables.iter().filter_map(joints).collect();
    say("Positions of joints and ends noted", Some(joints.join("; ")));
    say("Resistance and insulation of every cable read", record.map(|own| stages(own, room)));
    say("Screen of every cable read", record.and_then(|own| every(room, |cable| screened(own, cable))));
    say("Floor sensor read before and after tiling", record.and_then(|own| sensors(own, room)));
    say("RCD tested", record.and_then(|own| rcds(own, plan, room)));
    let labels =
        |own: &Record| every(room, |cable| own.labels.iter().any(|label| label.cable == cable).then(String::new));
    say("Serial numbers of the kits noted", record.and_then(labels));
    say("First switched on", record.and_then(|own| own.switched_on).map(|(day, _)| day.to_string()));
    let signed = record.and_then(|own| own.signed.as_ref()).map(|(who, day, _)| format!("{who}, {day}"));
    say("Record signed", signed);
    Some(table)
}

/// Where a cable's joint and its end lie on the plan.
fn joints(cable: &Cable) -> Option<String> {
    let (first, last) = (cable.runs.first()?, cable.runs.last()?);
    Some(format!("cable {}: {} and {}", cable.name.text, spot(first.start), spot(last.end)))
}

/// The stages at which every cable was read, insulation and all.
fn stages(record: &Record, room: &Room) -> String {
    let read = |stage| {
        (0..room.cables.len()).all(|cable| {
            let mut own = record.readings.iter().filter(|own| own.cable == cable && own.stage == stage);
            own.any(|own| own.insulation.is_some())
        })
    };
    STAGES.into_iter().filter(|stage| read(*stage)).map(title).collect::<Vec<_>>().join(", ").to_lowercase()
}

/// What holds of every cable, by their names; nothing where it doesn't of one.
fn every(room: &Room, of: impl Fn(usize) -> Option<String>) -> Option<String> {
    let each = room.cables.iter().enumerate().map(|(index, cable)| {
        let told = of(index)?;
        Some(if told.is_empty() {
            format!("cable {}", cable.name.text)
        } else {
            format!("cable {}: {told}", cable.name.text)
        })
    });
    each.collect::<Option<Vec<_>>>().map(|each| each.join(", "))
}

fn screened(record: &Record, cable: usize) -> Option<String> {
    record.readings.iter().rfind(|own| own.cable == cable && own.screen.is_some()).map(|own| own.date.to_string())
}

/// That every sensor was read before and after tiling, with the days; nothing where one was not, or there is none.
fn sensors(record: &Record, room: &Room) -> Option<String> {
    use crate::model::Stage;
    let each = room.sensors.iter().enumerate().map(|(index, sensor)| {
        let own = || record.sensor_readings.iter().filter(move |own| own.sensor == index);
        let before = own().rfind(|own| own.stage <= Stage::BeforeTiling)?;
        let after = own().rfind(|own| own.stage > Stage::BeforeTiling)?;
        Some(format!("sensor {}: {}, {}", sensor.name.text, before.date, after.date))
    });
    each.collect::<Option<Vec<_>>>().map(|each| each.join("; "))
}

/// The last tests of the RCDs that the room hangs on; nothing where one was not tested.
fn rcds(record: &Record, plan: &Plan, room: &Room) -> Option<String> {
    let others = plan.rooms.iter().filter_map(|room| room.record.as_ref());
    let tests: Vec<_> = others.chain([record]).flat_map(|record| &record.rcd_tests).collect();
    let fed = |index: usize| room.thermostats.iter().any(|thermostat| thermostat.supply == Some(index));
    let supplies = plan.supplies.iter().enumerate().filter(|(index, supply)| supply.rcd.is_some() && fed(*index));
    let each = supplies.map(|(index, supply)| {
        let last = tests.iter().filter(|test| test.supply == index).map(|test| test.date).max()?;
        Some(format!("{}: {last}", supply.name.text))
    });
    each.collect::<Option<Vec<_>>>().map(|each| each.join(", "))
}
