//! Statements that meet the room: what they come to, against sums worked by hand.

use layrule::layout::tidy::tidy;
use layrule::measure::plan::Measured;
use layrule::model::{Plan, Point};

use crate::common::plan;

/// 4 m by 3 m with a bench along the north wall, a round column, and a kit of 10 m.
fn room(lines: &str) -> String {
    format!(
        "kit K {{\n output 100 W at 230 V\n length 10 m\n bend-radius 25 mm\n}}\nroom r {{\n \
         outline (0, 0) (4000, 0) (4000, 3000) (0, 3000)\n fixture bench unit rect (3000, 2400) (4000, 3000)\n \
         fixture post column circle (1000, 1500) radius 150\n{lines}\n}}\n"
    )
}

fn cable(lines: &str) -> String {
    room(&format!("cable a {{\n kit K\n{lines}\n}}"))
}

fn sound(text: &str) -> Plan {
    let plan = plan(text);
    assert!(plan.faults.is_empty(), "{text}\n{:#?}", plan.faults);
    plan
}

fn messages(text: &str) -> Vec<String> {
    plan(text).faults.iter().map(|fault| fault.message.clone()).collect()
}

/// Where each run of the only cable ends.
fn ends(text: &str) -> Vec<(f64, f64)> {
    sound(text).rooms[0].cables[0].runs.iter().map(|run| (run.end.x, run.end.y)).collect()
}

#[test]
fn runs_go_up_to_walls_and_fixtures() {
    let text = cable(
        "start (500, 500)\n run east to wall 2 less 80\n run north to fixture bench less 60\n run west to wall 4 less 100\n \
         run south to wall 1",
    );
    assert_eq!(ends(&text), [(3920.0, 500.0), (3920.0, 2340.0), (100.0, 2340.0), (100.0, 0.0)]);
    // A circle of 150 is met 120 off its middle at 90 short of that: 150² = 120² + 90².
    assert_eq!(ends(&cable("start (200, 1620)\n run east to fixture post less 10")), [(900.0, 1620.0)]);
    // The first that is met: of a shape that is entered and left again, where it is entered.
    assert_eq!(ends(&cable("start (3500, 500)\n run north to fixture bench")), [(3500.0, 2400.0)]);
    // Values and sums stand where a length may.
    assert_eq!(ends(&cable("start (500, 500)\n run east to wall 2 less 2 * 40")), [(3920.0, 500.0)]);
}

/// From (0, 0) to (2000, 1000): at y = 400 the wall is at x = 800. Along the run, 100 less of it is (700, 400).
#[test]
fn at_a_slant_lengths_are_along_the_run() {
    let text = "room r {\n outline (0, 0) (2000, 1000) (0, 2000)\n cable a {\n start (100, 400)\n run east to wall 1 less 100\n }\n}\n";
    assert_eq!(ends(text), [(700.0, 400.0)]);
    // Of loops every corner keeps off: those of 300 to the east, stepping south from y = 900, meet the wall at their east end, at x = 400, y = 200.
    let text = "room r {\n outline (0, 0) (2000, 1000) (0, 2000)\n cable a {\n start (100, 900)\n loops of 300 east, stepping 100 south to wall 1 less 50\n }\n}\n";
    let runs = ends(text);
    assert_eq!(runs.len(), 2 * 7 - 1);
    assert_eq!(runs.last(), Some(&(400.0, 300.0)));
}

/// (3000 - 100 - 80) / 100 is 28.2: 29 runs, the last of them 100 + 28 · 100 to the north.
#[test]
fn loops_are_as_many_as_fit() {
    let all = ends(&cable("start (1300, 100)\n loops of 1200 east, stepping 100 north to wall 3 less 80"));
    assert_eq!(all.len(), 2 * 29 - 1);
    assert_eq!(all.last(), Some(&(2500.0, 2900.0)));
    // Exactly as far as they may: (3000 - 100 - 100) / 100 = 28 steps.
    assert_eq!(ends(&cable("start (1300, 100)\n loops of 1200 east, stepping 100 north to wall 3 less 100")).len(), 57);
    // Before a fixture that part of their length meets: (2400 - 100 - 50) / 100 is 22.5.
    let before = ends(&cable("start (1300, 100)\n loops of 2000 east, stepping 100 north to fixture bench less 50"));
    assert_eq!(before.len(), 2 * 23 - 1);
    // One fits always where the first does.
    assert_eq!(
        ends(&cable("start (1300, 2350)\n loops of 2000 east, stepping 100 north to fixture bench less 50")).len(),
        1
    );
}

/// What is laid then, corners rounded, is the kit: 10 m.
#[test]
fn the_rest_is_what_the_kit_has_left() {
    for lines in [
        "start (500, 500)\n loops 3 of 2000 east, stepping 100 north\n run north 100\n run west rest",
        "start (100, 2900)\n loops 4 of 2300 east, stepping 90 south\n run south rest",
        "start (100, 100)\n run east 3000\n run north 500\n run west 2900\n run north 100\n run east 2900\n run north 10\n run west rest",
    ] {
        let measured = Measured::new(sound(&cable(lines)));
        let laid = measured.room(0).expect("a room").laid_length(0, 25.0);
        assert!((laid - 10_000.0).abs() < 1e-6, "{lines}: {laid}");
    }
    // A first run is all of it, and no corner saves any.
    assert_eq!(ends(&cable("start (100, 100)\n run east rest")), [(10_100.0, 100.0)]);
}

#[test]
fn words_that_were_values_stay_values() {
    let text = format!(
        "let rest = 300\nlet to = 400\nlet less = 50\n{}",
        cable("start (500, 500)\n run east rest\n run north to\n run west less")
    );
    assert_eq!(ends(&text), [(800.0, 500.0), (800.0, 900.0), (750.0, 900.0)]);
}

#[test]
fn what_can_not_be_reached_says_why() {
    let only = |lines: &str| {
        let told = messages(&cable(lines));
        assert_eq!(told.len(), 1, "{told:#?}");
        told.into_iter().next().unwrap_or_default()
    };
    assert_eq!(only("start (500, 500)\n run east to wall 4"), "wall 4 doesn't lie straight to the east of (500, 500)");
    assert_eq!(
        only("start (500, 500)\n run east to fixture bench"),
        "fixture `bench` doesn't lie straight to the east of (500, 500)"
    );
    assert!(
        only("start (500, 500)\n run east to wall 9").contains("no wall 9"),
        "{}",
        only("start (500, 500)\n run east to wall 9")
    );
    assert!(only("start (500, 500)\n run east to fixture bensch").contains("no fixture is called `bensch`"));
    assert_eq!(
        only("start (500, 500)\n run west to wall 4 less 500"),
        "wall 4 is 500 mm ahead here, and 500 mm less leaves nothing"
    );
    assert!(only("start (500, 500)\n run east to wall 2 less 3 A").contains("a length is needed here"));
    assert!(only("start (100, 100)\n run east 12 m\n run north rest").contains("nothing is left of the kit"));
    assert!(messages(&room("cable a {\n start (1, 1)\n run east rest\n}"))[0].contains("names no kit"));
    // Loops that would be more than any cable has.
    assert!(
        only("start (1300, 100)\n loops of 1200 east, stepping 0.001 north to wall 3")
            .contains("more than a cable can have")
    );
    // A kit that isn't there is told of once.
    let unknown = messages(&room("cable a {\n kit Q\n start (1, 1)\n run east rest\n}"));
    assert_eq!(unknown.len(), 1, "{unknown:#?}");
}

#[test]
fn they_are_laid_out_as_others_are() {
    let text = "room r {\n  outline (0, 0) (1, 0) (1, 1)\n\n  cable a {\n    start  (0, 0)\n    run    west to wall 4 less 80\n    \
                run    north to fixture bench less 60\n    run    west rest\n    loops  of 1200 east, stepping 100 north to wall 3 less 80\n  }\n}\n";
    assert_eq!(tidy(text).as_deref(), Ok(text));
    let loose = text.replace("wall 4 less", "wall   4   less").replace("rest", " rest");
    assert_eq!(tidy(&loose).as_deref(), Ok(text));
}

/// A point is a place of the plan.
#[test]
fn a_reach_from_on_the_wall_itself_is_nothing() {
    let told = messages(&cable("start (0, 500)\n run west to wall 4"));
    assert_eq!(told, ["wall 4 is 0 mm ahead here, and 0 mm less leaves nothing"]);
    let at = Point { x: 0.0, y: 0.0 };
    assert_eq!(sound(&cable("start (500, 500)\n run west to wall 4")).rooms[0].corners[0], at);
}

/// From inside, facing the south wall of a room drawn counter-clockwise, its east end is on the left; facing its north wall, its west end.
#[test]
fn doors_are_measured_from_either_hand() {
    let ends = |outline: &str, door: &str| {
        let text = format!("room r {{\n outline {outline}\n door d {door}\n}}\n");
        let points = sound(&text).rooms[0].lines[0].points.clone();
        let mut each: Vec<(f64, f64)> = points.iter().map(|point| (point.x, point.y)).collect();
        each.sort_by(|a, b| a.partial_cmp(b).expect("numbers"));
        each
    };
    let turned = "(0, 0) (4000, 0) (4000, 3000) (0, 3000)";
    let south = "wall 1 from the left 300 to 1200";
    assert_eq!(ends(turned, south), [(2800.0, 0.0), (3700.0, 0.0)]);
    assert_eq!(ends(turned, "on wall 1 from the right 300 to 1200"), [(300.0, 0.0), (1200.0, 0.0)]);
    assert_eq!(ends(turned, "on wall 3 from the left 300 to 1200"), [(300.0, 3000.0), (1200.0, 3000.0)]);
    // Drawn the other way round, the same wall has the same hands; here the south wall is the fourth.
    let clockwise = "(0, 0) (0, 3000) (4000, 3000) (4000, 0)";
    assert_eq!(ends(clockwise, "on wall 4 from the left 300 to 1200"), [(2800.0, 0.0), (3700.0, 0.0)]);
    assert_eq!(ends(turned, "on wall 1 from 300 to 1200"), [(300.0, 0.0), (1200.0, 0.0)]);
    // A value that is called so.
    let text = format!("let the = 200\nroom r {{\n outline {turned}\n door d wall 1 from the to 900\n}}\n");
    assert_eq!(sound(&text).rooms[0].lines[0].points[0].x, 200.0);
    assert!(
        messages(&format!("room r {{\n outline {turned}\n door d on wall 1 from the left 900 to 300\n}}\n")).len() == 1
    );
}

#[test]
fn rooms_use_floors_of_the_plan() {
    let floor =
        "concrete {\n cover 10 mm own\n screed 65 mm cable at 10 mm\n insulation 100 mm\n slab 150 mm concrete\n }";
    let material = "material own {\n conductivity 1.2 W/mK\n}\n";
    let outline = "outline (0, 0) (4000, 0) (4000, 3000) (0, 3000)";
    let named = format!(
        "floor on-slab {floor}\n{material}room r {{\n {outline}\n floor on-slab\n}}\nroom s {{\n {outline}\n floor on-slab\n}}\n"
    );
    let plan = sound(&named);
    let own = sound(&format!("{material}room r {{\n {outline}\n floor {floor}\n}}\n"));
    let bodies = |plan: &Plan, room: usize| -> Vec<_> {
        plan.rooms[room]
            .floor
            .as_ref()
            .expect("a floor")
            .layers
            .iter()
            .map(|layer| (layer.body.clone(), layer.cable))
            .collect()
    };
    assert_eq!(bodies(&plan, 0), bodies(&own, 0));
    assert_eq!(bodies(&plan, 1), bodies(&own, 0));
    let told = |text: &str| messages(text);
    assert_eq!(
        told(&named.replace("floor on-slab\n}\nroom s", "floor on-slap\n}\nroom s")),
        ["no floor is called `on-slap`"]
    );
    assert_eq!(told(&format!("{named}floor on-slab {floor}\n")), ["2 floors are called `on-slab`"]);
    assert_eq!(
        told(&named.replace("}\nroom s", " floor timber {\n tile 9 mm\n }\n}\nroom s")),
        ["the floor is given twice"]
    );
    // A fault in it is told of once, and rooms that use it have none.
    let broken = named.replace("10 mm own", "10 A own");
    assert_eq!(told(&broken).len(), 1, "{:#?}", told(&broken));
    assert!(crate::common::plan(&broken).rooms.iter().all(|room| room.floor.is_none()));
    let text = "floor on-slab concrete {\n  tile    10 mm porcelain\n  screed  65 mm\n}\n\nroom r {\n  outline  (0, 0) (1, 0) (1, 1)\n  floor    on-slab\n}\n";
    assert_eq!(tidy(text).as_deref(), Ok(text));
}

/// Runs at y = 700 and y = 800 begin at x = 500 and open to the west: 500 in and midway lies (1000, 750), straight in from (0, 750).
#[test]
fn sensors_are_led_into_a_channel() {
    let text = |sensor: &str| {
        room(&format!(
            "thermostat t (0, 1600) height 1200 rated 16 A\n{sensor}\ncable a {{\n kit K\n start (500, 500)\n loops 7 of 2000 east, stepping 100 north\n}}"
        ))
    };
    let whole = "sensor s from t between runs 5 and 7 depth 500 lead 3 m";
    let measured = Measured::new(sound(&text(whole)));
    let sensor = &measured.plan().rooms[0].sensors[0];
    assert_eq!(sensor.conduit, [Point { x: 0.0, y: 750.0 }, Point { x: 1000.0, y: 750.0 }]);
    assert_eq!(sensor.lead, Some(3000.0));
    // As it is measured, which knows nothing of how it was written.
    let measure = measured.room(0).expect("a room");
    assert!((measure.sensor_depth(0).expect("a depth") - 500.0).abs() < 0.01, "{:?}", measure.sensor_depth(0));
    assert!(measure.neighbours(0).off_centre().expect("two sides") < 1e-6);
    // In whatever order the runs are named, and with their cable.
    for same in ["between runs 7 and 5 depth 500", "between runs 5 and 7 of cable a depth 500"] {
        let other = sound(&text(&format!("sensor s from t {same}")));
        assert_eq!(other.rooms[0].sensors[0].conduit, sensor.conduit, "{same}");
    }
    // A channel with runs between its own is open at both ends; it is entered from the thermostat's wall.
    let wide = sound(&text("sensor s from t between runs 1 and 9 depth 500"));
    assert_eq!(wide.rooms[0].sensors[0].conduit[1], Point { x: 1000.0, y: 700.0 });
    // Right at the channel, nothing leads along the wall.
    let straight = sound(&text(whole).replace("(0, 1600)", "(0, 750)"));
    assert_eq!(straight.rooms[0].sensors[0].conduit, [Point { x: 1000.0, y: 750.0 }]);
    let only = |sensor: &str| {
        let told = messages(&text(sensor));
        assert_eq!(told.len(), 1, "{told:#?}");
        told.into_iter().next().unwrap_or_default()
    };
    assert_eq!(only("sensor s from t between runs 5 and 70 depth 500"), "cable `a` has no run 70");
    assert!(only("sensor s from t between runs 7 and 9 depth 500").contains("doesn't open towards wall 4"));
    assert!(only("sensor s from t between runs 5 and 6 depth 500").contains("they don't lie parallel"));
    assert!(only("sensor s from t between runs 2 and 4 depth 500").contains("they don't lie beside each other"));
    assert!(only("sensor s from t between runs 5 and 5 depth 500").contains("they lie in one line"));
    assert!(only("sensor s from t between runs 5 and 7 depth 2100").contains("is 2000 mm long"));
    assert!(only("sensor s from t between runs 5 and 7 depth 0").contains("more than nothing"));
    assert!(only("sensor s from u between runs 5 and 7 depth 500").contains("no thermostat is called `u`"));
    assert!(only("sensor s from t between runs 5 and 7 of cable b depth 500").contains("no cable is called `b`"));
    // A cable that could not be read is told of by itself.
    assert_eq!(messages(&text(whole).replace("start (500, 500)", "start (500, 500 A)")).len(), 1);
}
