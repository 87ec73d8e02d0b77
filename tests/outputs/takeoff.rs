//! Take-offs: figures against sums worked by hand, what can't be told, each output read back.

use layrule::measure::plan::Measured;
use layrule::report::Worded as _;
use layrule::takeoff::allowances::Allowances;
use layrule::takeoff::figures::{self as of, What};
use layrule::takeoff::{Kind, Part, RoomTakeOff, TakeOff, Value, take_off};
use serde_json::Value as Json;

use crate::common::program::Folder;
use crate::common::{RULES, plan, rules_with};

/// A room whose every figure can be worked out on paper: 2.4 m by 1.4 m, a unit 300 mm deep along the west wall, twelve runs of 1.9 m.
const STORE: &str = "\
kit K \"Invented\" {
  output 240 W at 230 V
  length 24 m
  resistance 220 ohm, -5 % to +10 %
  diameter 6 mm
  bend-radius 25 mm
  tail 3 m
}
supply spur {
  voltage 230 V
  rcd 30 mA
  breaker 6 A
  conductor 1.5 mm2 copper, 20 m, method C, xlpe
}
room store \"Store\" {
  outline (0, 0) (2400, 0) (2400, 1400) (0, 1400)
  fixture shelf unit rect (0, 0) (300, 1400)
  fixture stand basin raised 220 rect (1000, 0) (1500, 300)
  floor concrete {
    tile 10 mm porcelain
    adhesive 8 mm cable at 3 mm
    board 10 mm insulation
    concrete 150 mm
  }
  inside 20 degC
  below room 20 degC
  heat-loss 200 W
  junction j (2400, 100) height 300
  thermostat t (2400, 650) height 1200 rated 10 A on spur
  cable a {
    kit K
    tail j (2350, 100) (2350, 60) (400, 60) (400, 100)
    start (400, 100)
    loops 12 of 1900 east, stepping 100 north
  }
  sensor s from t (1900, 650) lead 3 m
}
";

fn taken(text: &str) -> TakeOff {
    take_off(&Measured::new(plan(text)), &Allowances::of(&RULES))
}

fn part<'t>(room: &'t RoomTakeOff, kind: Kind, name: &str) -> &'t Part {
    room.parts
        .iter()
        .find(|part| part.kind == kind && part.name == name)
        .unwrap_or_else(|| panic!("{kind:?} {name} of {:#?}", room.parts))
}

/// A figure in its fixed unit.
fn value(part: &Part, what: &What) -> f64 {
    let told = part.get(what).unwrap_or_else(|| panic!("{} of {part:#?}", what.name));
    told.as_ref().unwrap_or_else(|why| panic!("{}: {why}", what.name)).measured().expect("a number").0
}

fn why<'p>(part: &'p Part, what: &What) -> &'p str {
    part.get(what).unwrap_or_else(|| panic!("{}", what.name)).as_ref().expect_err("no value")
}

fn near(found: f64, expected: f64, give: f64) {
    assert!((found - expected).abs() <= give, "{found} is not {expected} within {give}");
}

/// Each sum is worked out beside it, from the plan's own measures; clearance 50 mm and free height 60 mm are the rule's.
#[test]
fn areas_are_as_worked_by_hand() {
    let taken = taken(STORE);
    let areas = part(&taken.rooms[0], Kind::Areas, "");
    near(value(areas, &of::ROOM_AREA), 2.4 * 1.4, 1e-6);
    near(value(areas, &of::TAKEN_OFF), 0.3 * 1.4, 1e-6);
    // 350 to 2350 and 50 to 1350.
    near(value(areas, &of::FREE_AREA), 2.0 * 1.3, 1e-6);
    near(value(areas, &of::CLEARANCE_AREA), 2.4 * 1.4 - 0.3 * 1.4 - 2.0 * 1.3, 1e-6);
    // 50 mm round the runs: a box of 2.0 m by 1.2 m, less what its 26 round corners leave: one at each end of each run but where a turn
    // fills the pair between two ends.
    let round = 26.0 * (1.0 - std::f64::consts::FRAC_PI_4) * 0.05 * 0.05;
    near(value(areas, &of::HEATED_AREA), 2.0 * 1.2 - round, 1e-5);
    near(value(areas, &of::HEATED_SHARE), 100.0 * (2.4 - round) / 2.6, 1e-3);
    near(value(areas, &of::COLD_PATCHES), 0.0, 0.0);
    near(value(part(&taken.rooms[0], Kind::Obstacle, "shelf"), &of::OBSTACLE_AREA), 0.42, 1e-6);
    let stand = part(&taken.rooms[0], Kind::Obstacle, "stand").get(&of::OBSTACLE_COUNTS);
    assert_eq!(stand, Some(&Ok(Value::Words("left free: it is raised".into()))));
}

#[test]
fn a_cable_is_as_worked_by_hand() {
    let taken = taken(STORE);
    let cable = part(&taken.rooms[0], Kind::Cable, "a");
    // Twelve runs and eleven steps; each of 22 corners of a right angle saves r·(2 - π/2), the elementary length of tangents less arc.
    let corners = 22.0 * 25.0 * (2.0 - std::f64::consts::FRAC_PI_2);
    near(value(cable, &of::LAID), 12.0 * 1900.0 + 11.0 * 100.0 - corners, 1e-6);
    near(value(cable, &of::SUPPLIED), 24_000.0, 0.0);
    near(value(cable, &of::RUNS), 23.0, 0.0);
    near(value(cable, &of::PITCH), 100.0, 1e-6);
    // P/U, and the kit's resistance less 5 % and with 10 %.
    near(value(cable, &of::CURRENT), 240.0 / 230.0, 1e-9);
    near(value(cable, &of::LEAST_RESISTANCE), 209.0, 1e-9);
    near(value(cable, &of::GREATEST_RESISTANCE), 242.0, 1e-9);
    // 10 W/m at 100 mm.
    near(value(cable, &of::CABLE_DENSITY), 100.0, 1e-6);
    // 300 mm down, then 50, 40, 1950 and 40 mm along the floor.
    near(value(cable, &of::TAIL_ROUTE), 300.0 + 50.0 + 40.0 + 1950.0 + 40.0, 1e-6);
}

/// Of a level under another only what shows is taken off, and what is heated is free.
#[test]
fn levels_over_levels_are_as_worked_by_hand() {
    let room = |levels: &str, start: &str| {
        taken(&format!(
            "room r {{\n outline (0, 0) (4000, 0) (4000, 3000) (0, 3000)\n{levels}\ncable a {{\nstart {start}\nrun east 300\n}}\n}}\n"
        ))
    };
    let off = |taken: &TakeOff| value(part(&taken.rooms[0], Kind::Areas, ""), &of::TAKEN_OFF);
    let counts = |taken: &TakeOff, name: &str| {
        format!("{:?}", part(&taken.rooms[0], Kind::Obstacle, name).get(&of::OBSTACLE_COUNTS))
    };
    // 2 m by 1 m below, 2 m by 1 m on its east half and beyond.
    let two = "level low +100 rect (0, 0) (2000, 1000)\nlevel high +200 rect (1000, 0) (3000, 1000)";
    let upper = room(two, "(1200, 500)");
    near(off(&upper), 1.0, 1e-6);
    assert!(counts(&upper, "high").contains("left free") && counts(&upper, "low").contains("taken off"));
    // What lies on a heated level is still taken off it, and the cable that starts on what is hidden belongs on what hides it.
    near(off(&room(two, "(500, 500)")), 2.0, 1e-6);
    near(off(&room(two, "(3300, 2000)")), 3.0, 1e-6);
    // All round a heated level: a ring of 4 m2 less 1 m2, in whatever shape.
    near(
        off(&room(
            "level low +100 rect (0, 0) (2000, 2000)\nlevel high +200 rect (500, 500) (1500, 1500)",
            "(600, 1000)",
        )),
        3.0,
        1e-6,
    );
    let round = "level low +100 rect (0, 0) (2000, 2000)\nlevel high +200 circle (1000, 1000) radius 500";
    near(off(&room(round, "(800, 1000)")), 4.0 - std::f64::consts::PI * 0.25, 1e-5);
    // One that starts on an edge belongs where it comes to.
    near(off(&room("level high +200 rect (1000, 0) (3000, 1000)", "(1000, 500)")), 0.0, 1e-6);
}

#[test]
fn materials_are_as_worked_by_hand() {
    let taken = taken(STORE);
    let room = &taken.rooms[0];
    near(value(part(room, Kind::Kit, "K"), &of::KIT_LENGTH), 24_000.0, 0.0);
    // 1900 mm at no more than 500 mm: four spaces and so five lines, each a pitch of 100 mm, on twelve runs. Turns of a pitch take none.
    near(value(part(room, Kind::Fixing, ""), &of::TAPE_LENGTH), 12.0 * 5.0 * 100.0, 1e-6);
    // A pitch that sums to a hair more by rounding makes no run of a step: twenty runs of 3500 mm, eight lines each of 70.7 mm.
    let loops = "room r {\n outline (0, 0) (4000, 0) (4000, 4000) (0, 4000)\ncable a {\nstart (500, 3900)\nloops 20 of 3500 south, stepping 70.7 east\n}\n}\n";
    near(
        value(part(&super::takeoff::taken(loops).rooms[0], Kind::Fixing, ""), &of::TAPE_LENGTH),
        20.0 * 8.0 * 70.7,
        1e-6,
    );
    // 1200 mm down the wall and 500 mm along the floor.
    near(value(part(room, Kind::Sensor, "s"), &of::CONDUIT), 1700.0, 1e-6);
    // 2.94 m2 of floor, 8 mm of adhesive: a litre is a millimetre on a square metre.
    near(value(part(room, Kind::Layer, "adhesive"), &of::VOLUME), (3.36 - 0.42) * 8.0, 1e-5);
    near(value(part(room, Kind::Layer, "board"), &of::LAYER_AREA), 3.36 - 0.42, 1e-6);
    let mut closer = Allowances::of(&RULES);
    closer.tape_spacing = 380.0;
    // 1900 = 5 · 380: exactly five spaces.
    let taken = take_off(&Measured::new(plan(STORE)), &closer);
    near(value(part(&taken.rooms[0], Kind::Fixing, ""), &of::TAPE_LENGTH), 12.0 * 6.0 * 100.0, 1e-6);
}

/// IEC 60364-5-52 table B.52.3, 1.5 mm2, method C: 24 A (recalled). Voltage drop of two-core cable, 90 degC: 31 mV/A/m, BS 7671 table 4E4B.
#[test]
fn a_circuit_is_as_tabulated() {
    let taken = taken(STORE);
    let supply = &taken.supplies[0];
    near(value(supply, &of::DESIGN_CURRENT), 240.0 / 230.0, 1e-9);
    near(value(supply, &of::CAPACITY), 24.0, 1e-9);
    near(value(supply, &of::DROP), 0.031 * 20.0 * 240.0 / 230.0, 0.005);
    let thermostat = part(&taken.rooms[0], Kind::Thermostat, "t");
    near(value(thermostat, &of::LOAD), 240.0 / 230.0, 1e-9);
    assert_eq!(why(thermostat, &of::CONTACTOR), "no contactor");
}

/// Two in parallel: 60 and 30 ohm make 20 (1/R = Σ 1/Ri); 5 % less and 10 % more of each make 19 to 22.
#[test]
fn cables_in_parallel_are_as_worked_by_hand() {
    let kit = |name: &str, ohm: f64| {
        let output = (230.0_f64 * 230.0 / ohm).round();
        format!("kit {name} {{\n output {output} W at 230 V\n length 20 m\n resistance {ohm} ohm\n}}\n")
    };
    let cable = |name: &str, kit: &str, south: i32| {
        format!(
            " cable {name} {{\n kit {kit}\n tail j (50, 100) (50, {south}) (100, {south})\n start (100, {south})\n loops 3 of 2000 east, stepping 100 north\n }}\n"
        )
    };
    let text = format!(
        "{}{}room r {{\n outline (0, 0) (4000, 0) (4000, 3000) (0, 3000)\n junction j (0, 100) height 300\n thermostat t (0, 200) height 1200 rated 16 A\n{}{}}}\n",
        kit("P", 60.0),
        kit("Q", 30.0),
        cable("a", "P", 150),
        cable("b", "Q", 1150)
    );
    let taken = taken(&text);
    let thermostat = part(&taken.rooms[0], Kind::Thermostat, "t");
    near(value(thermostat, &of::CABLES), 2.0, 0.0);
    near(value(thermostat, &of::PARALLEL), 20.0, 1e-9);
    near(value(thermostat, &of::LEAST_PARALLEL), 19.0, 1e-9);
    near(value(thermostat, &of::GREATEST_PARALLEL), 22.0, 1e-9);
}

/// EN 1264-2: q = 8.92·(θF - θi)^1.1; and all the power goes up or down.
#[test]
fn the_heat_holds_together() {
    let taken = taken(STORE);
    let heat = part(&taken.rooms[0], Kind::Heat, "");
    let (up, down) = (value(heat, &of::HEAT_OUTPUT), value(heat, &of::HEAT_BELOW));
    near(up + down, 240.0, 0.01);
    let surface = value(part(&taken.rooms[0], Kind::Cable, "a"), &of::MEAN_SURFACE);
    // 24 m at 100 mm heat 2.4 m2.
    near(surface, 20.0 + (up / 2.4 / 8.92).powf(1.0 / 1.1), 0.01);
    near(value(heat, &of::HEAT_COVER), 100.0 * up / 200.0, 1e-6);
    let cable = part(&taken.rooms[0], Kind::Cable, "a");
    assert!(value(cable, &of::PEAK_SURFACE) > surface && surface > value(cable, &of::COOLEST_SURFACE));
}

#[test]
fn what_is_left_free_is_the_rules_to_say() {
    let rules =
        rules_with("amend heated-share { limit clearance = 100 mm }\namend resistance-reading { limit below = 2 % }\n");
    let text = STORE.replace("220 ohm, -5 % to +10 %", "220 ohm");
    let taken = take_off(&Measured::new(plan(&text)), &Allowances::of(&rules));
    near(value(part(&taken.rooms[0], Kind::Areas, ""), &of::FREE_AREA), 1.9 * 1.2, 1e-6);
    near(value(part(&taken.rooms[0], Kind::Cable, "a"), &of::LEAST_RESISTANCE), 220.0 * 0.98, 1e-9);
}

/// Never a zero for what isn't known.
#[test]
fn what_can_not_be_told_says_why() {
    let bare = "room r {\n outline (0, 0) (2000, 0) (2000, 2000) (0, 2000)\n cable a {\n start (100, 100)\n loops 3 of 900 east, stepping 100 north\n }\n thermostat t (0, 0) rated 10 A\n sensor s from t (500, 500)\n}\n";
    let taken = taken(bare);
    let room = &taken.rooms[0];
    let cable = part(room, Kind::Cable, "a");
    for what in
        [&of::KIT, &of::SUPPLIED, &of::POWER, &of::CURRENT, &of::RESISTANCE, &of::LEAST_RESISTANCE, &of::CABLE_DENSITY]
    {
        assert_eq!(why(cable, what), "cable `a` names no kit", "{}", what.name);
    }
    assert_eq!(why(part(room, Kind::Heat, ""), &of::INSIDE), "room `r` gives no inside temperature");
    assert_eq!(why(part(room, Kind::Sensor, "s"), &of::CONDUIT), "thermostat `t` gives no height");
    // With a kit it is the floor that is wanting.
    let taken = self::taken(&STORE.replace("floor concrete {\n    tile 10 mm porcelain\n    adhesive 8 mm cable at 3 mm\n    board 10 mm insulation\n    concrete 150 mm\n  }\n", ""));
    assert_eq!(why(part(&taken.rooms[0], Kind::Cable, "a"), &of::SHEATH), "room `store` gives no floor");
    assert_eq!(why(part(&taken.rooms[0], Kind::Heat, ""), &of::HEAT_OUTPUT), "room `store` gives no floor");
    // Nothing to heat.
    let taken = self::taken("room r {\n outline (0, 0) (2000, 0) (2000, 2000) (0, 2000)\n}\n");
    assert_eq!(why(part(&taken.rooms[0], Kind::Areas, ""), &of::HEATED_AREA), "room `r` has no cable");
    assert_eq!(why(part(&taken.rooms[0], Kind::Fixing, ""), &of::TAPE_LENGTH), "room `r` has no cable");
    // Something in it can't be read.
    let taken = self::taken(&STORE.replace("fixture shelf unit", "fixture shelf unti"));
    assert!(!taken.complete);
    let room = &taken.rooms[0];
    assert_eq!(why(part(room, Kind::Areas, ""), &of::FREE_AREA), "something in room `store` could not be read");
    assert_eq!(why(part(room, Kind::Thermostat, "t"), &of::LOAD), "something in room `store` could not be read");
}

/// Every figure there is stands in the list that the reference page is printed from, once in its part.
#[test]
fn figures_are_all_listed() {
    // What few plans have is told of where some part of the kind has it.
    let all = [
        ("rated 10 A on spur", "rated 10 A limit 29 degC on spur\n  contactor k rated 20 A AC-7a for t"),
        ("  breaker 6 A\n", "  breaker 6 A\n  fuse 3 A\n  before 1 %\n"),
        ("rcd 30 mA", "rcd 30 mA type A"),
        ("  tail 3 m\n", "  tail 3 m\n  cores 1\n  mat 500 by 4.8 m, spacing 100\n"),
    ];
    let taken = taken(&all.iter().fold(STORE.to_string(), |plan, (from, to)| plan.replace(from, to)));
    let parts = taken.rooms[0].parts.iter().chain(&taken.supplies);
    for part in parts {
        let (_, listed) = of::ALL.iter().find(|(title, _)| *title == part.kind.word()).expect("a list");
        let names: Vec<&str> = part.figures.iter().map(|figure| figure.what.name).collect();
        let mut once = names.clone();
        once.sort_unstable();
        once.dedup();
        assert_eq!(once.len(), names.len(), "{names:?}");
        for name in names {
            assert!(listed.iter().any(|what| what.name == name), "{name}");
        }
        for what in *listed {
            assert!(part.get(what).is_some(), "{} of {:?}", what.name, part.kind);
        }
    }
}

fn schema() -> jsonschema::Validator {
    let schema: Json = serde_json::from_str(include_str!("../../grammar/takeoff.schema.json")).expect("JSON");
    jsonschema::validator_for(&schema).expect("a schema")
}

const HOSTILE: &str = "room r \"=1+1 | <script>alert(1)</script> \\\"x, `y` _z_\" {\n outline (0, 0) (2000, 0) (2000, 2000) (0, 2000)\n cable a {\n start (100, 100)\n run east 900\n }\n}\nroom e {\n}\n";

#[test]
fn outputs_say_the_same() {
    let folder = Folder::new(&[("store.lay", STORE), ("hostile.lay", HOSTILE)]);
    for (file, expected) in [("store.lay", 0), ("hostile.lay", 1)] {
        let arguments = [
            "measure",
            file,
            "--output",
            "text",
            "--output",
            "json=t.json",
            "--output",
            "csv=t.csv",
            "--output",
            "markdown=t.md",
        ];
        let (code, text, _) = folder.run(&arguments);
        assert_eq!(code, expected);
        let json: Json = serde_json::from_slice(&std::fs::read(folder.path("t.json")).expect("a file")).expect("JSON");
        let faults: Vec<String> = schema().iter_errors(&json).map(|error| error.to_string()).collect();
        assert!(faults.is_empty(), "{faults:#?}");
        assert_eq!(json["complete"], expected == 0);
        let figures: Vec<&Json> = json["rooms"]
            .as_array()
            .expect("rooms")
            .iter()
            .flat_map(|room| room["parts"].as_array().expect("parts"))
            .chain(json["supplies"].as_array().expect("supplies"))
            .flat_map(|part| part["figures"].as_array().expect("figures"))
            .collect();
        let mut rows = csv::Reader::from_path(folder.path("t.csv")).expect("a file");
        let rows: Vec<csv::StringRecord> = rows.records().map(|row| row.expect("a row")).collect();
        assert_eq!(rows.len(), figures.len());
        let markdown = std::fs::read_to_string(folder.path("t.md")).expect("a file");
        let table = markdown
            .lines()
            .filter(|line| line.starts_with("| ") && !line.starts_with("| figure") && !line.starts_with("| ---"));
        assert_eq!(table.clone().count(), figures.len());
        for ((figure, row), line) in figures.iter().zip(&rows).zip(table) {
            assert_eq!(figure["name"].as_str(), row.get(3));
            let number = row.get(4).expect("a cell");
            assert_eq!(figure["value"].as_f64(), number.parse().ok());
            let shown = figure["text"].as_str().unwrap_or("–");
            assert!(line.contains(&layrule::report::markdown::escaped(shown)), "{line} says nothing of {shown}");
            assert!(text.contains(shown), "the text says nothing of {shown}");
            assert_eq!(figure["missing"].as_str().unwrap_or(""), row.get(7).expect("a cell"));
            assert!(line.matches('|').count() - line.matches("\\|").count() == 4, "{line}");
        }
        assert!(!markdown.contains("<script>"));
    }
}

#[test]
fn no_cell_is_a_formula() {
    let hostile = "kit K \"-1+1\" {\n output 240 W at 230 V\n length 24 m\n}\nroom r {\n outline (0, 0) (2000, 0) (2000, 2000) (0, 2000)\n floor concrete {\n tile 10 mm porcelain\n adhesive 8 mm cable at 3 mm\n }\n}\n";
    let folder = Folder::new(&[("p.lay", hostile), ("store.lay", STORE)]);
    for file in ["p.lay", "store.lay"] {
        let (_, text, _) = folder.run(&["measure", file, "--output", "csv"]);
        let mut rows = csv::Reader::from_reader(text.as_bytes());
        for row in rows.records() {
            for cell in &row.expect("a row") {
                let number = cell.split(' ').next().is_some_and(|first| first.parse::<f64>().is_ok());
                assert!(number || !cell.starts_with(['=', '+', '-', '@']), "{cell}");
            }
        }
        assert!(text.contains("\r\n"), "RFC 4180 ends lines with CRLF");
    }
}

#[test]
fn bad_input_is_told_of() {
    let folder = Folder::new(&[
        ("store.lay", STORE),
        ("empty.lay", ""),
        ("broken.lay", "room r {\n outline (0, 0\n"),
        ("long.lay", &STORE.replace("\"Store\"", &format!("\"{}\"", "x".repeat(500)))),
    ]);
    let refused = |arguments: &[&str], word: &str| {
        let (code, out, said) = folder.run(arguments);
        assert_eq!((code, out.as_str()), (2, ""), "{arguments:?}: {said}");
        assert!(said.contains(word), "{arguments:?}: {said}");
    };
    refused(&["measure", "store.lay", "--output", "csv=nowhere/t.csv"], "its folder is not there");
    refused(&["measure", "store.lay", "--output", "csv=a", "--output", "json=./a"], "two outputs would go to");
    refused(
        &["measure", "store.lay", "--output", "csv", "--output", "json"],
        "only one output can go to standard output",
    );
    refused(&["measure", "store.lay", "--output", "cvs"], "did you mean");
    refused(&["measure", "store.lay", "--output", "csv=store.lay"], "never written over");
    refused(&["measure", "gone.lay"], "there is no such file");
    refused(&["measure", "store.lay", "--tape-spacing", "0"], "1 mm to 1 km");
    refused(&["measure", "store.lay", "--tape-spacing", "3 W"], "1 mm to 1 km");
    refused(&["measure", "store.lay", "--project", "gone"], "is no folder");
    assert_eq!(std::fs::read_to_string(folder.path("store.lay")).expect("a file"), STORE);
    assert!(!folder.path("a").exists());
    let (code, out, said) = folder.run(&["measure", "empty.lay"]);
    assert_eq!(code, 1);
    assert!(said.contains("nothing to check"), "{said}");
    assert!(out.contains("no room"), "{out}");
    assert_eq!(folder.run(&["measure", "broken.lay"]).0, 1);
    assert_eq!(folder.run(&["measure", "long.lay"]).0, 0);
    refused(&["measure", "store.lay", "--part", "cabel"], "did you mean");
    let (code, out, _) = folder.run(&["measure", "store.lay", "--part", "kit", "--part", "supply"]);
    assert_eq!(code, 0);
    assert!(out.contains("kit K") && out.contains("supply spur") && !out.contains("cable a"), "{out}");
    let (code, out, _) = folder.run(&["measure", "--figures"]);
    assert_eq!((code, out.as_str()), (0, include_str!("../../grammar/takeoff.md")));
    let (_, out, _) = folder.run(&["measure", "store.lay", "--tape-spacing", "38 cm"]);
    assert!(out.contains("380 mm"), "{out}");
}

#[test]
fn one_room_of_several_can_be_asked_for() {
    let folder = Folder::new(&[
        ("flat.lay", include_str!("../../examples/flat-6.lay")),
        ("kits.lay", include_str!("../../examples/kits.lay")),
    ]);
    let figures = |arguments: &[&str]| -> Json {
        let (code, out, said) = folder.run(&[&["measure", "flat.lay", "--output", "json"], arguments].concat());
        assert_eq!((code, said.as_str()), (0, ""));
        serde_json::from_str(&out).expect("JSON")
    };
    let (all, one) = (figures(&[]), figures(&["--room", "shower-room"]));
    assert_eq!(all["rooms"].as_array().map(Vec::len), Some(2));
    assert_eq!(one["rooms"].as_array().map(Vec::len), Some(1));
    assert_eq!(one["rooms"][0], all["rooms"][1]);
    // The supply that feeds both rooms keeps all that it feeds.
    assert_eq!(one["supplies"], all["supplies"]);
    for command in ["measure", "handover", "draw"] {
        let (code, out, said) = folder.run(&[command, "flat.lay", "--room", "showeroom"]);
        assert_eq!((code, out.as_str()), (2, ""), "{command}");
        assert!(said.contains("no room is called `showeroom`") && said.contains("`shower-room`"), "{said}");
    }
}

#[test]
fn kinds_of_devices_and_second_tails_are_taken_off() {
    let plan = STORE
        .replace("rcd 30 mA", "rcd 30 mA type A\n  before 1.5 %")
        .replace("method C, xlpe", "method C, xlpe\n  grouped 3\n  in-insulation 200 mm")
        .replace("rated 10 A on spur", "rated 10 A on spur\n  contactor k rated 20 A AC-7a for t")
        .replace("  tail 3 m\n", "  tail 3 m\n  cores 1\n")
        .replace(
            "start (400, 100)",
            "second-tail j (2350, 100) (2350, 1250) (400, 1250) (400, 1200)\n    start (400, 100)",
        );
    let taken = taken(&plan);
    let supply = &taken.supplies[0];
    let words = |part: &Part, what| part.get(what).cloned().map(|told| told.map(|value| value.text()));
    assert_eq!(words(supply, &of::RCD_TYPE), Some(Ok("A".into())));
    assert_eq!(words(supply, &of::DROP_BEFORE), Some(Ok("1.5 %".into())));
    let conductor = "1.5 mm² copper, XLPE, 20 m, method C, 3 circuits bunched, 200 mm in thermal insulation";
    assert_eq!(words(supply, &of::CONDUCTOR), Some(Ok(conductor.into())));
    let room = &taken.rooms[0];
    assert_eq!(words(part(room, Kind::Thermostat, "t"), &of::CONTACTOR_CATEGORY), Some(Ok("AC-7a".into())));
    // By hand: 300 down from the box, then 50, 1150, 1950 and 50 along the floor.
    assert_eq!(words(part(room, Kind::Cable, "a"), &of::SECOND_TAIL_ROUTE), Some(Ok("3.5 m".into())));
    // A mat's mesh holds its cable: it takes no tape.
    let mat = STORE.replace("  tail 3 m\n", "  tail 3 m\n  mat 500 by 4.8 m, spacing 100\n");
    let taken = self::taken(&mat);
    assert_eq!(
        words(part(&taken.rooms[0], Kind::Kit, "K"), &of::KIT_MAT),
        Some(Ok("500 mm by 4800 mm, spacing 100 mm".into()))
    );
    assert_eq!(words(part(&taken.rooms[0], Kind::Fixing, ""), &of::TAPE_LENGTH), Some(Ok("0 m".into())));
}
