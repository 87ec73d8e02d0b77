//! The measurements against Shapely (GEOS) on generated plans.
//!
//! `tests/reference/geometry.py` made the plans and the values, with the versions that `geometry.json` names; CI makes them afresh
//! and compares.

use layrule::measure::areas::Margins;
use layrule::measure::plan::Measured;
use layrule::measure::room::{Feature, RoomMeasure};
use layrule::model::AreaKind;
use serde_json::Value;

use crate::common::{plan, root};

/// Lengths agree to 0.001 mm or a millionth; areas to a millionth or 0.01 mm2.
fn same(ours: f64, theirs: f64, least: f64) -> bool {
    (ours - theirs).abs() <= (theirs.abs() * 1e-6).max(least)
}

struct Case<'v> {
    number: usize,
    value: &'v Value,
    wrong: Vec<String>,
}

impl Case<'_> {
    fn number(&self, name: &str) -> f64 {
        self.value[name].as_f64().unwrap_or_else(|| panic!("plan {} gives {name}", self.number))
    }

    fn compare(&mut self, what: &str, ours: f64, theirs: f64, least: f64) {
        if !same(ours, theirs, least) {
            self.wrong.push(format!("plan {}: {what}: ours {ours}, theirs {theirs}", self.number));
        }
    }
}

fn as_index(value: &Value) -> u32 {
    u32::try_from(value.as_u64().expect("an index")).expect("a small one")
}

fn check_case(case: &mut Case<'_>) {
    let text = case.value["text"].as_str().expect("a plan");
    let plan = plan(text);
    assert!(plan.faults.is_empty(), "plan {}: {:#?}\n{text}", case.number, plan.faults);
    let measured = Measured::new(plan.clone());
    let room = measured.room(0).expect("a room");
    let (clearance, reach, cold, minimum) =
        (case.number("clearance"), case.number("reach"), case.number("cold"), case.number("minimum"));

    let margins = Margins { clearance, free_height: f64::INFINITY };
    case.compare("room area", room.area(), case.number("room_area"), 0.01);
    case.compare("free area", room.free_area(margins).expect("an area"), case.number("free_area"), 0.01);
    let heated = room.free_area(margins).expect("an area") - room.unheated_area(margins, reach).expect("an area");
    case.compare("heated area", heated, case.number("heated_area"), 0.01);
    case.compare("cold area", room.unheated_area(margins, cold).expect("an area"), case.number("cold_area"), 0.01);
    if let Some(theirs) = case.value["cold_patches"].as_array() {
        let ours = room.cold_patches(cold, margins);
        let ours = ours.as_ref().as_ref().expect("patches");
        if ours.len() == theirs.len() {
            for (ours, theirs) in ours.iter().zip(theirs) {
                case.compare("cold patch", ours.patch.area, theirs.as_f64().expect("an area"), 0.01);
            }
        } else {
            let ours: Vec<f64> = ours.iter().map(|patch| patch.patch.area).collect();
            case.wrong.push(format!("plan {}: cold patches {ours:?}, theirs {theirs:?}", case.number));
        }
    }

    let runs: Vec<_> = room.index().runs().collect();
    let theirs = case.value["runs"].as_array().expect("runs").clone();
    assert_eq!(runs.len(), theirs.len(), "plan {}", case.number);
    let areas = |wanted: fn(&AreaKind) -> bool| -> Vec<usize> {
        plan.rooms[0].areas.iter().enumerate().filter(|(_, area)| wanted(&area.kind)).map(|(i, _)| i).collect()
    };
    let fixtures = areas(|kind| matches!(kind, AreaKind::Fixture { .. }));
    let drills = areas(|kind| matches!(kind, AreaKind::Drill));
    for ((id, run), theirs) in runs.iter().zip(&theirs) {
        let figure = |at: usize| theirs[at].as_f64().expect("a figure");
        let walls = room.wall_distance(*id);
        let name = format!("cable {} run {}", id.cable, id.run + 1);
        case.compare(&format!("{name} length"), run.length(), figure(2), 1e-3);
        case.compare(&format!("{name} wall distance"), walls.distance, figure(3), 1e-3);
        case.compare(&format!("{name} off floor"), walls.outside, figure(4), 1e-3);
        for (list, indexes) in [(5, &fixtures), (6, &drills)] {
            for (theirs, index) in theirs[list].as_array().expect("areas").iter().zip(indexes) {
                let zone = &room.zones()[*index];
                let distance = zone.distance(run.piece());
                let inside = zone.length_inside(run.piece());
                case.compare(
                    &format!("{name} to area {index}"),
                    distance,
                    theirs[0].as_f64().expect("a distance"),
                    1e-3,
                );
                case.compare(&format!("{name} in area {index}"), inside, theirs[1].as_f64().expect("a length"), 1e-3);
                // The indexed search finds just the runs that are near.
                let found = room.meetings(Feature::Area(*index), 50.0);
                let met = found.found.iter().find(|meeting| meeting.run == *id);
                if met.is_some() != (distance < 50.0 - 1e-3) && (distance - 50.0).abs() > 2e-3 {
                    case.wrong
                        .push(format!("plan {}: {name} to area {index} at {distance}: found {met:?}", case.number));
                }
            }
        }
    }

    let crossings = &room.crossings().found;
    let theirs = case.value["crossings"].as_array().expect("crossings").clone();
    let key = |value: &Value| [0, 1, 2, 3].map(|at| as_index(&value[at]));
    let ours: Vec<[u32; 4]> = crossings
        .iter()
        .map(|pair| [pair.first.cable, pair.first.run + 1, pair.second.cable, pair.second.run + 1])
        .collect();
    let expected: Vec<[u32; 4]> = theirs.iter().map(key).collect();
    if ours == expected {
        for (pair, theirs) in crossings.iter().zip(&theirs) {
            if let (Some(x), Some(y)) = (theirs[4][0].as_f64(), theirs[4][1].as_f64()) {
                case.compare("crossing east", pair.at.x, x, 1e-3);
                case.compare("crossing north", pair.at.y, y, 1e-3);
            }
        }
    } else {
        let missed: Vec<_> = expected.iter().filter(|pair| !ours.contains(pair)).collect();
        let extra: Vec<_> = ours.iter().filter(|pair| !expected.contains(pair)).collect();
        case.wrong.push(format!("plan {}: crossings missed {missed:?}, extra {extra:?}", case.number));
    }

    let close = room.close_approaches(minimum);
    let ours: Vec<([u32; 4], f64)> = close
        .found
        .iter()
        .map(|pair| ([pair.first.cable, pair.first.run + 1, pair.second.cable, pair.second.run + 1], pair.distance))
        .collect();
    let find = |pair: [u32; 4]| ours.iter().find(|(own, _)| *own == pair).map(|(_, distance)| *distance);
    for theirs in case.value["near"].as_array().expect("near pairs").clone() {
        let pair = key(&theirs);
        match find(pair) {
            Some(distance) => {
                case.compare(&format!("spacing {pair:?}"), distance, theirs[4].as_f64().expect("a distance"), 1e-3)
            }
            None => case.wrong.push(format!("plan {}: near pair {pair:?} missed", case.number)),
        }
    }
    if let Some(theirs) = case.value["close"].as_array() {
        let theirs: Vec<([u32; 4], f64)> = theirs
            .iter()
            .map(|pair| {
                let (cable, distance) = (as_index(&pair[0]), pair[3].as_f64().expect("a distance"));
                ([cable, as_index(&pair[1]), cable, as_index(&pair[2])], distance)
            })
            .collect();
        for (pair, distance) in &theirs {
            match find(*pair) {
                Some(ours) => case.compare(&format!("close approach {pair:?}"), ours, *distance, 1e-3),
                None => case.wrong.push(format!("plan {}: close approach {pair:?} at {distance} missed", case.number)),
            }
        }
        for (pair, distance) in &ours {
            let known = theirs.iter().any(|(their, _)| their == pair);
            if pair[0] == pair[2] && !known && *distance < minimum - 0.02 {
                case.wrong.push(format!("plan {}: close approach {pair:?} at {distance} is not theirs", case.number));
            }
        }
    }
    check_levels_and_sensor(case, &room);
    if let Some(least) = case.value["least_between_cables"].as_f64()
        && least > 0.0
    {
        let pairs = room.close_approaches(least + 1.0);
        let between = pairs.found.iter().filter(|pair| pair.first.cable != pair.second.cable).map(|pair| pair.distance);
        case.compare("least between cables", between.fold(f64::INFINITY, f64::min), least, 1e-3);
    }
}

/// What only some plans have.
fn check_levels_and_sensor(case: &mut Case<'_>, room: &RoomMeasure<'_>) {
    if let Some(theirs) = case.value["off_level"].as_array() {
        let ours = room.index().runs().map(|(id, _)| room.length_off_level(id));
        for (run, (ours, theirs)) in ours.zip(theirs).enumerate() {
            case.compare(&format!("run {run} off its level"), ours, theirs.as_f64().expect("a length"), 1e-3);
        }
        let free = room.free_area(Margins { clearance: 0.0, free_height: f64::INFINITY }).expect("an area");
        case.compare("taken off", room.area() - free, case.number("taken_off"), 0.01);
    }
    if let Some(theirs) = case.value["sensor"].as_array() {
        let beside = room.neighbours(0);
        let ours = [beside.nearest, beside.opposite].map(|side| side.map(|side| side.gap));
        for (what, ours, theirs) in [("gap", ours[0], &theirs[0]), ("opposite gap", ours[1], &theirs[1])] {
            match (ours, theirs.as_f64()) {
                (Some(ours), Some(theirs)) => case.compare(what, ours, theirs, 1e-3),
                (None, None) => {}
                pair => case.wrong.push(format!("plan {}: {what}: {pair:?}", case.number)),
            }
        }
    }
}

#[test]
fn measurements_agree_with_shapely() {
    let file = std::fs::read_to_string(root().join("tests/reference/geometry.json")).expect("the reference values");
    let values: Value = serde_json::from_str(&file).expect("JSON");
    let plans = values["plans"].as_array().expect("plans");
    assert!(plans.len() >= 500, "{} plans", plans.len());
    let apart = plans.iter().filter(|plan| plan["least_between_cables"].as_f64().is_some_and(|least| least > 0.0));
    assert!(apart.count() >= 150, "cables of most plans touch");
    let with = |key: &str| plans.iter().filter(|plan| !plan[key].is_null()).count();
    assert!(
        with("off_level") >= 60 && with("sensor") >= 140,
        "{} with levels, {} sensors",
        with("off_level"),
        with("sensor")
    );
    let mut wrong = Vec::new();
    for (number, value) in plans.iter().enumerate() {
        let mut case = Case { number, value, wrong: Vec::new() };
        check_case(&mut case);
        wrong.extend(case.wrong);
    }
    assert!(wrong.is_empty(), "{} differences:\n{}", wrong.len(), wrong[..wrong.len().min(40)].join("\n"));
}
