//! The rules of cold tails, of the ends of cables and of single-conductor kits at their limits, and one step beyond.

use crate::common::limits::{border, finds, kit, room};

/// A cable from (1000, 1000) to the east, whose cold tail comes down at (0, 500) and has `route` before the cable's start.
fn tailed(route: &str, more: &str) -> String {
    room(&format!(
        "{more}\njunction j (0, 500)\ncable a {{\ntail j {route} (500, 1000) (1000, 1000)\nstart (1000, 1000)\nrun east 2500\n}}"
    ))
}

#[test]
fn tail_under_fixture() {
    let by =
        |kind: &str, x: u32| tailed("(200, 500) (200, 1000)", &format!("fixture f {kind} rect ({x}, 700) (600, 900)"));
    border("tail-under-fixture", &by("unit", 200), &by("unit", 199));
    // Under a washstand on legs it may lie, and not under a bath on feet behind its panel.
    assert!(!finds(&by("basin raised 250", 100), "tail-under-fixture"));
    assert!(finds(&by("bath raised 250", 100), "tail-under-fixture"));
}

#[test]
fn tail_off_floor() {
    // Out by 25 mm and back: 50 mm, and what lies along the wall is inside.
    let out = |x: f64| tailed(&format!("(100, 500) (100, 700) ({x}, 700) (0, 700) (0, 800)"), "");
    border("tail-off-floor", &out(-25.0), &out(-25.1));
    // From a box in the next room it comes through the wall.
    assert!(!finds(&tailed("(200, 500)", "").replace("j (0, 500)\n", "j (-400, 500)\n"), "tail-off-floor"));
}

#[test]
fn tail_over_pipe() {
    let beside = |kind: &str, x: u32| tailed("(200, 500) (200, 1000)", &format!("pipe p {kind} ({x}, 600) ({x}, 900)"));
    border("tail-over-pipe", &beside("hot", 150), &beside("hot", 151));
    border("tail-over-pipe", &beside("cold", 200), &beside("", 200));
}

#[test]
fn tail_across_joint() {
    let across = |sleeve: &str| {
        tailed("(200, 500) (200, 1000)", "joint m (0, 750) (4000, 750)\njoint n (0, 2000) (4000, 2000)")
            .replace("(1000, 1000)\nstart", &format!("(1000, 1000) {sleeve}\nstart"))
    };
    border("tail-across-joint", &across("sleeve m"), &across(""));
    border("tail-across-joint", &across("sleeve n, m"), &across("sleeve n"));
    // A box over the joint's end crosses nothing.
    let over = |y: u32| tailed("(200, 500) (200, 1000)", &format!("joint m (0, 500) (4000, {y})"));
    border("tail-across-joint", &over(300), &over(1500));
}

#[test]
fn tail_in_doorway() {
    // Wall 4 leads from (0, 3000) down to (0, 0).
    let door = |from: u32| tailed("(200, 500) (200, 1000)", &format!("door d wall 4 from {from} to 2900"));
    border("tail-in-doorway", &door(2550), &door(2549));
    let along = |x: u32| tailed(&format!("({x}, 500) ({x}, 1000)"), "door d wall 4 from 2200 to 2400");
    border("tail-in-doorway", &along(50), &along(49));
}

#[test]
fn tail_through_partition() {
    let wall = |x: u32| tailed("(200, 500) (200, 1000)", &format!("partition p (300, 700) ({x}, 700)"));
    border("tail-through-partition", &wall(201), &wall(200));
    // A box on the partition's own line stands on it.
    let on = |end: u32| tailed("(200, 500) (200, 1000)", &format!("partition p (0, 200) (0, {end})"));
    assert!(!finds(&on(900), "tail-through-partition"));
}

#[test]
fn tail_beside_conduit() {
    // Both come down 50 mm apart or more, and lie alongside for so long.
    let beside = |x: u32| {
        room(&format!(
            "junction j (0, 500)\nthermostat t (0, 550) rated 16 A\ncable a {{\ntail j ({x}, 500) ({x}, 100) (1000, 100)\nstart (1000, 100)\n\
             run east 2500\n}}\nsensor s from t (2000, 550)"
        ))
    };
    border(
        "tail-beside-conduit",
        &beside(500),
        &beside(500).replace("(0, 550)", "(0, 549)").replace("(2000, 550)", "(2000, 549)"),
    );
    // Within 40 mm of it, 300 mm and then down through 30 mm more of the strip.
    let near = |x: u32| beside(x).replace("550", "540");
    border("tail-beside-conduit", &near(290), &near(291));
}

#[test]
fn cold_joint() {
    let first = |length: u32| {
        room(&format!("cable a {{\nstart (1000, 1000)\nrun east {length}\nrun north 500\nrun west 500\n}}"))
    };
    border("cold-joint", &first(100), &first(99));
    let last = |length: u32| {
        room(&format!("cable a {{\nstart (1000, 1000)\nrun east 500\nrun north 500\nrun west {length}\n}}"))
    };
    border("cold-joint", &last(100), &last(99));
    // Pieces of one line are no turn.
    assert!(!finds(&first(500).replace("run east 500", "run east 50\nrun east 450"), "cold-joint"));
    // Tails that come in along the cable, and at a slant: tan 30 degrees are 0.57735.
    let slant = |y: u32| tailed("(200, 500)", "").replace("(500, 1000) (1000", &format!("(0, {y}) (1000"));
    border("cold-joint", &slant(1577), &slant(1578));
    // In a wall it isn't on the floor.
    let from = |x: u32| room(&format!("cable a {{\nstart ({x}, 1000)\nrun east 2500\n}}"));
    border("cold-joint", &from(1), &from(0));
    // What leaves the room is told of by another rule.
    let out = room("cable a {\nstart (3000, 1000)\nrun east 1200\n}");
    assert!(!finds(&out, "cold-joint") && finds(&out, "off-floor"));
}

/// A cable of a kit with so many conductors, out and back, with `lines` of its own.
fn back(kit_lines: &str, boxes: &str, lines: &str) -> String {
    kit(&format!("  length 4 m\n  tail 1500 mm\n{kit_lines}"))
        + &room(&format!(
            "junction j (0, 1000) height 300\n{boxes}\ncable a {{\nkit k\n{lines}\nstart (500, 1000)\nrun east 2000\nrun north 100\nrun west 2000\n}}"
        ))
}

#[test]
fn second_tail() {
    let both = "tail j (400, 1000) (500, 1000)\nsecond-tail j (400, 1100) (500, 1100)";
    let one = "tail j (400, 1000) (500, 1000)";
    border("second-tail", &back("  cores 1", "", both), &back("  cores 1", "", one));
    // A kit has two conductors unless it says so.
    border("second-tail", &back("", "", one), &back("", "", both));
    assert!(!finds(&back("  cores 2", "", one), "second-tail"));
    // To one box, or to boxes that are wired together.
    let apart = both.replace("second-tail j", "second-tail l");
    let boxes = |wired: &str| format!("junction l (0, 1100) height 300 {wired}");
    border("second-tail", &back("  cores 1", &boxes("wired j"), &apart), &back("  cores 1", &boxes(""), &apart));
}

#[test]
fn second_tail_reach() {
    let both = |height: u32| {
        back("  cores 1", "", "tail j (400, 1000) (500, 1000)\nsecond-tail j (0, 1100) (500, 1100)")
            .replace("height 300", &format!("height {height}"))
    };
    // 700 down, 100 along the wall, 500 along the floor, and 200 to connect it with.
    border("second-tail-reach", &both(700), &both(701));
}

#[test]
fn second_tails_are_held_to_what_tails_are() {
    let over = |y: u32| {
        back(
            "  cores 1",
            &format!("pipe p hot (200, {y}) (200, 2000)"),
            "tail j (400, 1000) (500, 1000)\nsecond-tail j (0, 1100) (500, 1100)",
        )
    };
    border("tail-over-pipe", &over(1150), &over(1149));
    let across =
        back("  cores 1", "", "tail j (400, 1000) (500, 1000)\nsecond-tail j (600, 900) (600, 1200) (500, 1100)");
    assert!(finds(&across, "tail-crossing"));
    let bent = |x: u32| {
        back(
            "  cores 1",
            "",
            &format!("tail j (400, 1000) (500, 1000)\nsecond-tail j (0, 1200) ({x}, 1200) (500, 1100)"),
        )
    };
    // tan 30 degrees are 100 over 173.2.
    border("cold-joint", &bent(326), &bent(327));
}
