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
