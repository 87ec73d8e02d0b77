//! A floor's temperature everywhere: against finite elements on sections, against the closed form, and what must hold for any floor.

use std::fmt::Write as _;

use layrule::geometry::{Piece, Point};
use layrule::measure::heat::Slab;
use layrule::measure::plan::Measured;
use layrule::measure::temperature_map::{Line, NoMap, TemperatureMap};
use proptest::prelude::*;
use serde_json::Value;

use super::reference_heat::slab_of;
use crate::common::{cases, plan, root};
use crate::varied;

fn p(x: f64, y: f64) -> Point {
    Point { x, y }
}

fn reference() -> Value {
    let file = std::fs::read_to_string(root().join("tests/reference/heat.json")).expect("the reference values");
    serde_json::from_str(&file).expect("JSON")
}

/// Cables from wall to wall across a floor `width` mm wide, each so many mm from its first wall and of so many W/m.
fn across(width: f64, slab: &Slab, cables: &[(f64, f64)]) -> TemperatureMap {
    let high = 1000.0;
    let radius = Some(slab.cable_radius);
    let line = |(at, power): &(f64, f64)| Line { piece: Piece::new(p(*at, 0.0), p(*at, high)), power: *power, radius };
    let lines: Vec<Line> = cables.iter().map(line).collect();
    TemperatureMap::new(&[p(0.0, 0.0), p(width, 0.0), p(width, high), p(0.0, high)], slab, &lines).expect("a map")
}

#[test]
fn sections_agree_with_finite_elements() {
    let values = reference();
    let sections = values["sections"].as_array().expect("sections");
    assert_eq!(sections.len(), 10);
    for section in sections {
        let name = &section["name"];
        let figure = |name: &str| section[name].as_f64().expect("a figure");
        let slab = slab_of(section);
        let cables = section["cables"].as_array().expect("cables").iter();
        let cables: Vec<(f64, f64)> = cables
            .map(|cable| (cable[0].as_f64().expect("a place") * 1e3, cable[1].as_f64().expect("a power")))
            .collect();
        let map = across(figure("width") * 1e3, &slab, &cables);
        for (number, theirs) in section["surface"].as_array().expect("temperatures").iter().enumerate() {
            let at = (number as f64 + 0.5) * figure("step") * 1e3;
            let theirs = theirs.as_f64().expect("a temperature");
            let ours = map.surface_at(p(at, 500.0)).expect("a place of the floor");
            assert!((ours - theirs).abs() < 0.3, "{name}: at {at} ours {ours}, theirs {theirs}");
        }
        for ((at, _), theirs) in cables.iter().zip(section["sheaths"].as_array().expect("sheaths")) {
            let theirs = theirs.as_f64().expect("a temperature");
            let ours =
                map.sheaths().iter().find(|sheath| (sheath.at.x - at).abs() < 1e-6).expect("a sheath").temperature;
            assert!((ours - theirs).abs() < 0.25, "{name}: the sheath at {at} ours {ours}, theirs {theirs}");
        }
        let (up, down, power) = map.flows();
        for (ours, theirs) in [(up, figure("flux_up")), (down, figure("flux_down"))] {
            assert!((ours - theirs).abs() < 0.01 * power, "{name}: ours {ours}, theirs {theirs}");
        }
    }
}

#[test]
fn an_even_block_has_the_closed_form_in_its_middle() {
    for case in reference()["cases"].as_array().expect("cases") {
        let figure = |name: &str| case[name].as_f64().expect("a figure");
        let (slab, power, pitch) = (slab_of(case), figure("power"), figure("pitch") * 1e3);
        // Cells are as wide as what is nearly one-dimensional has its cables apart.
        if pitch < 50.0 {
            continue;
        }
        let count = (2000.0 / pitch).round();
        let cables: Vec<_> = (0..count as usize).map(|number| ((number as f64 + 0.5) * pitch, power)).collect();
        let map = across(count * pitch, &slab, &cables);
        let theirs = slab.heat(power, pitch / 1e3).expect("a solution");
        let over = map.warmest(map.inside()).expect("a floor").temperature;
        let between = map.surface_at(p((count / 2.0).round() * pitch, 500.0)).expect("a place of the floor");
        let sheath = map.hottest_sheath().expect("a radius").temperature;
        for (what, ours, theirs, most) in [
            ("over a run", over, theirs.warmest, 0.05),
            ("between two", between, theirs.coolest, 0.05),
            ("sheath", sheath, theirs.sheath, 0.15),
        ] {
            assert!((ours - theirs).abs() < most, "{} {what}: ours {ours}, theirs {theirs}", case["name"]);
        }
    }
}

/// The map of a plan's only room.
fn map_of(text: &str) -> std::rc::Rc<TemperatureMap> {
    let plan = plan(text);
    assert!(plan.faults.is_empty(), "{:#?}\n{text}", plan.faults);
    let measured = Measured::new(plan);
    measured.room(0).expect("a room").temperature_map().unwrap_or_else(|unknown| panic!("{unknown:?}\n{text}"))
}

/// In a room of four right angles to the last digits; with corners that point inward and slanting walls, whose mirror images are not quite
/// the floor's own, to a thousandth.
#[test]
fn what_the_cables_give_goes_up_or_down() {
    let slab = slab_of(&reference()["cases"][10]);
    let line = |row: u32| {
        let y = 110.0 * f64::from(row);
        Line { piece: Piece::new(p(130.0, y), p(2700.0, y)), power: 12.0, radius: None }
    };
    let lines: Vec<Line> = (1..19).map(line).collect();
    let room = [p(0.0, 0.0), p(3015.0, 0.0), p(3015.0, 2207.0), p(0.0, 2207.0)];
    let (up, down, power) = TemperatureMap::new(&room, &slab, &lines).expect("a map").flows();
    assert!((up + down - power).abs() < 1e-6 * power, "{up} and {down} of {power}");
    for number in 0..48 {
        let (up, down, power) = map_of(&varied::plan(number)).flows();
        assert!((up + down - power).abs() < 1e-3 * power, "plan {number}: {up} and {down} of {power}");
    }
}

/// A room with a corner that points inward and a slanting wall, and two cables in it.
fn angled() -> (Vec<Point>, Vec<Line>) {
    let corners =
        vec![p(0.0, 0.0), p(3100.0, 0.0), p(3100.0, 1300.0), p(1900.0, 1300.0), p(1500.0, 2700.0), p(0.0, 2700.0)];
    let line = |from, to, power| Line { piece: Piece::new(from, to), power, radius: Some(0.003) };
    let mut lines: Vec<Line> =
        (0..10).map(|row| 80.0 + 120.0 * f64::from(row)).map(|y| line(p(80.0, y), p(3000.0, y), 10.0)).collect();
    lines.extend((0..8).map(|column| {
        line(p(90.0 + 150.0 * f64::from(column), 1300.0), p(90.0 + 150.0 * f64::from(column), 2600.0), 14.0)
    }));
    (corners, lines)
}

proptest! {
    #![proptest_config(cases(12))]

    /// Where a floor lies on the plan and how it is turned changes no temperature.
    #[test]
    fn a_floor_is_as_warm_wherever_it_lies(degrees in 0.0..360.0_f64, east in -5e4..5e4_f64, north in -5e4..5e4_f64, mirrored in prop::bool::ANY) {
        let slab = slab_of(&reference()["cases"][4]);
        let (corners, lines) = angled();
        let (sin, cos) = degrees.to_radians().sin_cos();
        let moved = |at: Point| {
            let x = if mirrored { -at.x } else { at.x };
            p(x * cos - at.y * sin + east, x * sin + at.y * cos + north)
        };
        let plain = TemperatureMap::new(&corners, &slab, &lines).expect("a map");
        let there = |line: &Line| Line { piece: Piece::new(moved(line.piece.start), moved(line.piece.end)), ..*line };
        let corners: Vec<Point> = corners.into_iter().map(moved).collect();
        let turned = TemperatureMap::new(&corners, &slab, &lines.iter().map(there).collect::<Vec<_>>()).expect("a map");
        let reach = |map: &TemperatureMap| {
            [map.warmest(map.inside()), map.coolest(map.inside()), map.hottest_sheath()].map(|place| place.expect("a place").temperature)
        };
        for (plain, turned) in reach(&plain).into_iter().zip(reach(&turned)) {
            prop_assert!((plain - turned).abs() < 0.02, "{plain} {turned}");
        }
        for at in [p(300.0, 300.0), p(2900.0, 700.0), p(1800.0, 1200.0), p(700.0, 2000.0), p(1400.0, 2650.0)] {
            let (plain, turned) = (plain.surface_at(at), turned.surface_at(moved(at)));
            prop_assert!((plain.expect("on the floor") - turned.expect("on the floor")).abs() < 0.02, "{plain:?} {turned:?}");
        }
    }
}

/// A floor laid all over in blocks of rows, each with its spacing and its cable's power.
#[derive(Debug, Clone)]
struct Blocks {
    floor: usize,
    blocks: Vec<(usize, f64, f64)>,
    clear: f64,
}

/// Floors of timber and of concrete, thin and thick.
const FLOORS: [&str; 4] = [
    "timber {\n  t 10 mm porcelain\n  a 10 mm adhesive cable at 3 mm\n  b 10 mm insulation\n  p 18 mm plywood\n }\n below room 18 degC",
    "concrete {\n  t 10 mm porcelain\n  s 65 mm screed cable at 20 mm\n  b 40 mm insulation\n  c 150 mm concrete\n }\n below ground 10 degC",
    "concrete {\n  t 12 mm porcelain\n  a 10 mm adhesive cable at 4 mm\n  c 150 mm concrete\n }\n below room 18 degC",
    "concrete {\n  w 14 mm hardwood\n  s 50 mm screed cable at 12 mm\n  b 30 mm insulation\n  c 120 mm concrete\n }\n below room 10 degC",
];

impl Blocks {
    fn text(&self) -> String {
        let (width, mut y) = (2400.0, self.clear);
        let (mut kits, mut cables) = (String::new(), String::new());
        let mut high = 0.0;
        for (number, (rows, pitch, power)) in self.blocks.iter().enumerate() {
            if number > 0 {
                y += (pitch + self.blocks[number - 1].1) / 2.0;
            }
            let mut points = Vec::new();
            for row in 0..*rows {
                let at = y + row as f64 * pitch;
                let ends = [(self.clear, at), (width - self.clear, at)];
                points.extend(if row % 2 == 0 { ends } else { [ends[1], ends[0]] });
            }
            let length: f64 = points.windows(2).map(|pair| (pair[1].0 - pair[0].0).hypot(pair[1].1 - pair[0].1)).sum();
            let _ = writeln!(
                kits,
                "kit k{number} {{\n  output {} W at 230 V\n  length {length} mm\n  diameter 6 mm\n  bend-radius 30 mm\n}}",
                power * length / 1e3
            );
            let _ =
                writeln!(cables, " cable c{number} {{\n  kit k{number}\n  start ({}, {})", points[0].0, points[0].1);
            for (x, y) in &points[1..] {
                let _ = writeln!(cables, "  run to ({x}, {y})");
            }
            cables.push_str(" }\n");
            y += (rows - 1) as f64 * pitch;
            high = y + self.clear;
        }
        let floor = FLOORS[self.floor];
        format!(
            "{kits}room r {{\n outline (0, 0) ({width}, 0) ({width}, {high}) (0, {high})\n floor {floor}\n inside 21 degC\n{cables}}}\n"
        )
    }
}

/// How far rows lie apart at the most, mm, by floor: in adhesive over insulation, in screed, in adhesive on concrete, in screed.
const FARTHEST: [u32; 4] = [110, 180, 200, 180];

/// How wide a block is at the least for rules not to be too careful, mm.
const WIDE_BLOCK: f64 = 500.0;

/// Rows in blocks of two rows or more.
fn blocks() -> impl Strategy<Value = Blocks> {
    (0..FLOORS.len()).prop_flat_map(|floor| {
        let block = (0..1600_u32, 10..=FARTHEST[floor] / 5, 5..19_u32).prop_map(|(wide, step, power)| {
            let spacing = f64::from(step) * 5.0;
            (((f64::from(wide) / spacing).ceil() as usize).max(2), spacing, f64::from(power))
        });
        let clear = (50..100_u32).prop_map(f64::from);
        (prop::collection::vec(block, 1..5), clear).prop_map(move |(blocks, clear)| Blocks { floor, blocks, clear })
    })
}

proptest! {
    #![proptest_config(cases(60))]

    /// What rules go by, worked out stretch by stretch, errs on the safe side, and not by much.
    #[test]
    fn rules_reckon_a_floor_no_cooler_than_its_map(blocks in blocks()) {
        let text = blocks.text();
        let plan = plan(&text);
        prop_assert!(plan.faults.is_empty(), "{:#?}\n{text}", plan.faults);
        let measured = Measured::new(plan);
        let room = measured.room(0).expect("a room");
        let map = room.temperature_map().expect("a map");
        let narrowest = |cable| room.strips_heated(cable).expect("strips").narrowest;
        let warmest = |cable| room.stretch_heat(narrowest(cable), 1.0).expect("a solution").warmest;
        let cables = || 0..room.room.cables.len();
        let closed = cables().map(warmest).fold(f64::NEG_INFINITY, f64::max);
        let peak = map.warmest(map.inside()).expect("a floor");
        prop_assert!(closed >= peak.temperature - 0.2, "{closed} by rules, {peak:?} by the map\n{text}");
        let sheath = cables().map(|cable| room.sheath(narrowest(cable)).expect("a sheath")).fold(f64::NEG_INFINITY, f64::max);
        let hottest = map.hottest_sheath().expect("a sheath");
        prop_assert!(sheath >= hottest.temperature - 0.3, "{sheath} by rules, {hottest:?} by the map\n{text}");
        // A narrow block gives much of its heat to the floor beside it, which rules leave out of account.
        if blocks.blocks.iter().all(|(rows, pitch, _)| *rows as f64 * pitch >= WIDE_BLOCK) {
            prop_assert!(closed <= peak.temperature + 1.5, "{closed} by rules, {peak:?} by the map\n{text}");
        }
    }
}

#[test]
fn a_floor_too_large_for_a_map_is_told_of() {
    let slab = slab_of(&reference()["cases"][0]);
    let room = |side: f64| [p(0.0, 0.0), p(side, 0.0), p(side, side), p(0.0, side)];
    let line =
        |side: f64| Line { piece: Piece::new(p(100.0, 100.0), p(side - 100.0, 100.0)), power: 10.0, radius: None };
    assert!(matches!(TemperatureMap::new(&room(21_000.0), &slab, &[line(21_000.0)]), Err(NoMap::TooLarge)));
    let map = TemperatureMap::new(&room(16_000.0), &slab, &[line(16_000.0)]).expect("a map");
    let (wide, high) = map.raster().cell;
    assert!(wide <= 20.0 && high <= 20.0 && wide > 10.0, "{wide} {high}");
    assert!(map.hottest_sheath().is_none() && !map.over_runs().is_empty());
}

#[test]
fn a_floor_without_power_has_the_temperature_of_itself() {
    for case in reference()["cases"].as_array().expect("cases") {
        let slab = slab_of(case);
        let map = across(1000.0, &slab, &[(500.0, 0.0)]);
        let bare = slab.heat(0.0, 0.1).expect("a solution").surface;
        let (warmest, coolest) =
            (map.warmest(map.inside()).expect("a floor"), map.coolest(map.inside()).expect("a floor"));
        assert!(
            (warmest.temperature - bare).abs() < 1e-3 && (coolest.temperature - bare).abs() < 1e-3,
            "{bare} {warmest:?} {coolest:?}"
        );
    }
}
