//! Tables that a take-off fills: cables, circuit, areas, floor and heat.

use super::{Cell, Table};
use crate::model::{Below, LayerBody, Room, Stage};
use crate::quantity::{Dimension, Quantity};
use crate::takeoff::figures::{self as of, What};
use crate::takeoff::{Kind, Part, RoomTakeOff, TakeOff, Told, Value};

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

/// A value as a printed page shows it: its unit on the line of its number, with a true minus.
pub(super) fn shown(value: &Value) -> String {
    let text = value.text();
    match (value, text.rsplit_once(' ')) {
        (Value::Words(_), _) | (_, None) => text,
        (_, Some((number, unit))) => format!("{}\u{a0}{}", number.replace('-', "−"), unit),
    }
}

/// A quantity as a printed page shows it.
pub(super) fn quantity(value: f64, dimension: Dimension) -> String {
    shown(&Value::Quantity(Quantity::new(value, dimension)))
}

pub(super) fn cell(value: Option<&Told<Value>>) -> Cell {
    match value {
        Some(Ok(value)) => Cell::Text(shown(value)),
        Some(Err(why)) => Cell::Missing(why.clone()),
        None => Cell::Missing("not measured".into()),
    }
}

/// From the least to the greatest of two figures.
pub(super) fn band(part: &Part, least: &What, greatest: &What) -> Cell {
    match (cell(part.get(least)), cell(part.get(greatest))) {
        (Cell::Text(least), Cell::Text(greatest)) => Cell::Text(format!("{least} to {greatest}")),
        (Cell::Missing(why), _) | (_, Cell::Missing(why)) => Cell::Missing(why),
        _ => Cell::Blank,
    }
}

fn of_kind(taken: &RoomTakeOff, kind: Kind) -> impl Iterator<Item = &Part> {
    taken.parts.iter().filter(move |part| part.kind == kind)
}

/// A table with a row for each of some parts, and a column for each of some figures.
fn by_part<'p>(caption: &str, head: &str, parts: impl Iterator<Item = &'p Part>, columns: &[(&str, Column)]) -> Table {
    let titles: Vec<&str> = std::iter::once(head).chain(columns.iter().map(|(title, _)| *title)).collect();
    let mut table = Table::new(caption, &titles);
    for part in parts {
        let value = |column: &Column| match column {
            Column::One(what) => cell(part.get(what)),
            Column::Band(least, greatest) => band(part, least, greatest),
        };
        table.row(&part.name, columns.iter().map(|(_, column)| value(column)).collect());
    }
    table
}

#[derive(Debug, Clone, Copy)]
enum Column {
    One(&'static What),
    Band(&'static What, &'static What),
}
use Column::{Band, One};

pub(super) fn cables(taken: &RoomTakeOff) -> Table {
    let columns = [
        ("Kit", One(&of::KIT)),
        ("Laid", One(&of::LAID)),
        ("Supplied", One(&of::SUPPLIED)),
        ("Runs", One(&of::RUNS)),
        ("Spacing", One(&of::PITCH)),
        ("Power", One(&of::POWER)),
        ("Current", One(&of::CURRENT)),
        ("Resistance at 20 °C", One(&of::RESISTANCE)),
        ("Expected reading", Band(&of::LEAST_RESISTANCE, &of::GREATEST_RESISTANCE)),
    ];
    let mut columns = columns.to_vec();
    if of_kind(taken, Kind::Cable).any(|part| part.get(&of::SECOND_TAIL_ROUTE).is_some()) {
        let tails = [("Cold tail needed", One(&of::TAIL_ROUTE)), ("Second tail needed", One(&of::SECOND_TAIL_ROUTE))];
        columns.splice(4..4, tails);
    }
    by_part("Schedule of cables", "Cable", of_kind(taken, Kind::Cable), &columns)
}

pub(super) fn circuit(taken: &RoomTakeOff) -> Table {
    let mut columns = vec![
        ("Rated", One(&of::RATED)),
        ("Contactor", One(&of::CONTACTOR)),
        ("Contactor rated", One(&of::CONTACTOR_RATED)),
        ("Cables", One(&of::CABLES)),
        ("Power", One(&of::LOAD_POWER)),
        ("Load", One(&of::LOAD)),
        ("Cables in parallel", One(&of::PARALLEL)),
        ("Expected reading", Band(&of::LEAST_PARALLEL, &of::GREATEST_PARALLEL)),
        ("Supply", One(&of::FED_BY)),
    ];
    if of_kind(taken, Kind::Thermostat).any(|part| part.get(&of::CONTACTOR_CATEGORY).is_some()) {
        columns.insert(3, ("Contactor rated for", One(&of::CONTACTOR_CATEGORY)));
    }
    if of_kind(taken, Kind::Thermostat).any(|part| part.get(&of::FLOOR_LIMIT).is_some()) {
        columns.insert(1, ("Floor limit", One(&of::FLOOR_LIMIT)));
    }
    by_part("Thermostats and what they switch", "Thermostat", of_kind(taken, Kind::Thermostat), &columns)
}

pub(super) fn supplies(taken: &TakeOff) -> Table {
    let mut columns = vec![
        ("Voltage", One(&of::SUPPLY_VOLTAGE)),
        ("RCD", One(&of::RCD)),
        ("Breaker", One(&of::BREAKER)),
        ("Conductor", One(&of::CONDUCTOR)),
        ("Carries Iz", One(&of::CAPACITY)),
        ("Design current Ib", One(&of::DESIGN_CURRENT)),
        ("Voltage drop", One(&of::DROP)),
    ];
    let given = |what| taken.supplies.iter().any(|part| part.get(what).is_some());
    if given(&of::DROP_BEFORE) {
        columns.push(("Lost before it", One(&of::DROP_BEFORE)));
    }
    if given(&of::FUSE) {
        columns.insert(3, ("Fuse", One(&of::FUSE)));
    }
    if given(&of::RCD_TYPE) {
        columns.insert(2, ("RCD type", One(&of::RCD_TYPE)));
    }
    by_part("Supplies", "Supply", taken.supplies.iter(), &columns)
}

/// A table with a row for each of some figures of one part.
fn listed(caption: &str, part: Option<&Part>, rows: &[(&str, &'static What)]) -> Table {
    let mut table = Table::new(caption, &["Figure", "Value"]);
    for (head, what) in rows {
        table.row(*head, vec![cell(part.and_then(|part| part.get(what)))]);
    }
    table
}

pub(super) fn areas(taken: &RoomTakeOff) -> Table {
    let rows = [
        ("Room", &of::ROOM_AREA),
        ("Less what stands on the floor", &of::TAKEN_OFF),
        ("Less a strip along it and the walls", &of::CLEARANCE_AREA),
        ("Free floor", &of::FREE_AREA),
        ("Heated: within half the spacing of a cable", &of::HEATED_AREA),
        ("Heated share of the free floor", &of::HEATED_SHARE),
    ];
    listed("Areas", of_kind(taken, Kind::Areas).next(), &rows)
}

pub(super) fn layers(room: &Room, taken: &RoomTakeOff) -> Table {
    let kind = room.floor.as_ref().map(|floor| if floor.timber { ", timber floor" } else { ", concrete floor" });
    let caption = format!("Floor build-up, top first{}", kind.unwrap_or(""));
    let mut table = Table::new(caption, &["Layer", "Thickness", "Conductivity or resistance", "Area", "Cable"]);
    let layers = room.floor.iter().flat_map(|floor| &floor.layers);
    for (layer, part) in layers.zip(of_kind(taken, Kind::Layer)) {
        let conductivity = match &layer.body {
            LayerBody::Solid { conductivity, .. } => quantity(conductivity / 1e3, Dimension::CONDUCTIVITY),
            LayerBody::Resistance(resistance) => quantity(resistance * 1e6, Dimension::THERMAL_RESISTANCE),
        };
        let cable = layer.cable.map_or_else(
            || "none".to_string(),
            |height| format!("centre {} over its underside", quantity(height, Dimension::LENGTH)),
        );
        let cells = vec![
            cell(part.get(&of::THICKNESS)),
            Cell::Text(conductivity),
            cell(part.get(&of::LAYER_AREA)),
            Cell::Text(cable),
        ];
        table.row(&layer.name.text, cells);
    }
    table
}

pub(super) fn heat(room: &Room, taken: &RoomTakeOff) -> Table {
    let below = match room.below {
        Some(Below::Ground(_)) => "Ground below the floor",
        _ => "Room below",
    };
    let rows = [
        ("Room", &of::INSIDE),
        (below, &of::BELOW),
        ("Power over the heated floor", &of::ROOM_DENSITY),
        ("Floor surface, mean over the free floor", &of::ROOM_SURFACE),
        ("Floor surface, warmest place", &of::WARMEST),
        ("… which lies at", &of::WARMEST_AT),
        ("Floor surface, coolest place", &of::COOLEST),
        ("… which lies at", &of::COOLEST_AT),
        ("Free floor over the limit where people stay", &of::OVER_OCCUPIED),
        ("Free floor over the limit along outside walls", &of::OVER_EDGE),
        ("Free floor over the limit of timber and the like", &of::OVER_TIMBER),
        ("Free floor over the limit of any floor", &of::OVER_GREATEST),
        ("Sheath of a cable, hottest place", &of::HOTTEST_SHEATH),
        ("Heat to the room", &of::HEAT_OUTPUT),
        ("Heat lost below", &of::HEAT_BELOW),
        ("Heat loss of the room", &of::HEAT_LOSS),
        ("Mean power to make up for it", &of::RUNNING_POWER),
        ("Time to warm up from cold", &of::HEAT_UP_TIME),
        ("Energy for that", &of::HEAT_UP_ENERGY),
    ];
    listed("Heat at full power, computed for the steady state", of_kind(taken, Kind::Heat).next(), &rows)
}

pub(super) fn warmth(taken: &RoomTakeOff) -> Table {
    let columns = [
        ("Power density", One(&of::CABLE_DENSITY)),
        ("Surface, mean", One(&of::MEAN_SURFACE)),
        ("Surface, warmest", One(&of::PEAK_SURFACE)),
        ("Surface, coolest", One(&of::COOLEST_SURFACE)),
        ("Lost below", One(&of::DOWNWARD)),
        ("Sheath", One(&of::SHEATH)),
    ];
    by_part("Temperatures by cable at full power, computed", "Cable", of_kind(taken, Kind::Cable), &columns)
}
