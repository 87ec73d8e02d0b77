//! What whoever uses a heated floor, or works on it, must know of it: the leaflet that is kept beside the distribution board.
//!
//! What it says is asked for by IEC 60364-7-753, 753.514, as recalled: kind, number, voltage, power and place of the heating, what protects
//! it, and what the floor may not be put to.

use super::tables::quantity;
use super::{Cell, Table};
use crate::geometry::tolerance::TOUCH;
use crate::geometry::{Piece, cross};
use crate::measure::room::RoomMeasure;
use crate::model::{Cable, Kit, Point};
use crate::quantity::Dimension;
use crate::takeoff::figures as of;
use crate::takeoff::{Kind, RoomTakeOff};
use crate::worded::Worded as _;

/// The leaflet of a room; nothing where it has no heating cable.
pub(super) fn leaflet(measure: RoomMeasure<'_>, taken: &RoomTakeOff) -> Option<Table> {
    let room = measure.room;
    if room.cables.is_empty() {
        return None;
    }
    let mut table = Table::new("What lies in this floor", &["What", "As built"]);
    table.form = true;
    let mut say = |what: String, cell: Cell| table.row(what, vec![cell]);
    for (index, cable) in room.cables.iter().enumerate() {
        let name = &cable.name.text;
        let kit = cable.kit.and_then(|kit| measure.plan.kits.get(kit));
        let kind = kit.map_or_else(|| Cell::Missing(crate::reasons::no_kit(cable)), |kit| Cell::Text(kind(kit)));
        say(format!("Cable {name}"), kind);
        say(format!("Where cable {name} lies"), Cell::Text(extent(measure, cable)));
        say(format!("Cold joint of cable {name}"), at(measure, cable.runs.first().map(|run| run.start)));
        let second = cable.second_tail.is_some();
        let end = if second { "Second cold joint" } else { "End termination" };
        say(format!("{end} of cable {name}"), at(measure, cable.runs.last().map(|run| run.end)));
        let part = taken.parts.iter().filter(|part| part.kind == Kind::Cable).nth(index);
        say(
            format!("Power of cable {name} over the floor that it heats"),
            super::tables::cell(part.and_then(|part| part.get(&of::CABLE_DENSITY))),
        );
    }
    for junction in &room.junctions {
        say(format!("Junction box {}", junction.name.text), at(measure, Some(junction.at)));
    }
    for thermostat in &room.thermostats {
        say(format!("Thermostat {}", thermostat.name.text), at(measure, Some(thermostat.at)));
        let limit = thermostat.limit.map(|limit| Cell::Text(quantity(limit, Dimension::TEMPERATURE)));
        say(format!("Floor limit set on thermostat {}", thermostat.name.text), limit.unwrap_or(Cell::Blank));
        let supply = thermostat.supply.and_then(|supply| measure.plan.supplies.get(supply));
        let rcd = supply.and_then(|supply| {
            let rated = quantity(supply.rcd.as_ref()?.value, Dimension::CURRENT);
            Some(supply.rcd_type.map_or_else(|| rated.clone(), |kind| format!("{rated}, type {}", kind.word())))
        });
        let told = rcd.map(|rcd| format!("{rcd}; press its test button every three months: the floor must go dead"));
        let none = || Cell::Missing("the plan gives no RCD".into());
        say(format!("RCD of thermostat {}", thermostat.name.text), told.map_or_else(none, Cell::Text));
    }
    for sensor in &room.sensors {
        say(format!("Tip of floor sensor {}", sensor.name.text), at(measure, sensor.conduit.last().copied()));
    }
    Some(table)
}

/// What kind of heating a kit is.
fn kind(kit: &Kit) -> String {
    let cores = if kit.cores == 1 { "one conductor" } else { "two conductors" };
    format!(
        "heating cable of fixed length with {cores}, {}, {} at {}: {}",
        quantity(kit.length, Dimension::LENGTH),
        quantity(kit.output, Dimension::POWER),
        quantity(kit.voltage, Dimension::VOLTAGE),
        kit.title.as_deref().unwrap_or(&kit.name.text),
    )
}

/// Where a cable lies, by the edges of the room on the plan.
fn extent(measure: RoomMeasure<'_>, cable: &Cable) -> String {
    let room = measure.outline().bounds();
    let runs = cable.runs.iter().map(|run| run.piece().bounds());
    let Some(own) = runs.reduce(crate::geometry::Bounds::with) else { return "nowhere".into() };
    let from = |least: f64, most: f64| {
        let length = |value: f64| quantity(value, Dimension::LENGTH);
        format!("{} to {}", length(least), length(most))
    };
    format!(
        "{} east of the room's west edge on the plan, {} north of its south edge",
        from(own.low.x - room.low.x, own.high.x - room.low.x),
        from(own.low.y - room.low.y, own.high.y - room.low.y),
    )
}

/// Where a point lies, by the nearest wall and the nearest of those that stand across to it.
fn at(measure: RoomMeasure<'_>, point: Option<Point>) -> Cell {
    let Some(point) = point else { return Cell::Missing("it isn't drawn".into()) };
    let mut walls: Vec<(f64, usize, Piece)> =
        measure.outline().edges().enumerate().map(|(index, wall)| (wall.distance(point), index, wall)).collect();
    walls.sort_by(|a, b| a.0.total_cmp(&b.0));
    let Some(&(_, _, first)) = walls.first() else { return Cell::Missing("the room has no wall".into()) };
    let across = |wall: &Piece| {
        let lengths = first.length() * wall.length();
        lengths > 0.0 && cross(first.step(), wall.step()).abs() > lengths / 2.0
    };
    let beyond = !measure.outline().contains(point) && walls.first().is_some_and(|(distance, ..)| *distance > TOUCH);
    let told = |distance: f64, index: usize, from: &str| {
        let title = measure.room.walls.get(index).and_then(|wall| wall.title.as_ref());
        let title = title.map_or_else(String::new, |title| format!(" (“{title}”)"));
        format!("{} {from} wall {}{title}", quantity(distance, Dimension::LENGTH), index + 1)
    };
    let second = walls.iter().find(|(_, _, wall)| across(wall)).map(|(_, index, wall)| {
        // From the wall's line: behind the first wall nothing lies straight across from the second.
        told(cross(wall.step(), point - wall.start).abs() / wall.length(), *index, "from")
    });
    let first =
        walls.first().map(|(distance, index, _)| told(*distance, *index, if beyond { "behind" } else { "from" }));
    Cell::Text(first.into_iter().chain(second).collect::<Vec<_>>().join(", "))
}
