//! Every rule at its limit, and one step beyond: the plan at the limit passes, the other fails by that rule.
//!
//! The limits are common practice in the trade unless a rule's own `basis` says otherwise.

use layrule::measure::plan::Measured;

use crate::common::limits::{border, cable, finds, kit, room};
use crate::common::{check, check_with, rules_with};

#[test]
fn spacing() {
    let loops = |pitch: u32| cable(&format!("start (500, 500)\nloops 4 of 1000 east, stepping {pitch} north"));
    border("spacing", &loops(50), &loops(49));
    // `stepping` and `spacing` are one word.
    let other = |pitch: u32| loops(pitch).replace("stepping", "spacing");
    border("spacing", &other(50), &other(49));
    // A jog smaller than the minimum is no close approach, nor is a turn of that pitch; a sharp fold is.
    assert!(!finds(&cable("start (500, 500)\nrun east 1000\nrun north 20\nrun east 1000"), "spacing"));
    assert!(finds(&cable("start (500, 500)\nrun east 1000\nrun to (600, 700)"), "spacing"));
    // Between two cables the cable between two points counts as endless.
    let two = |gap: u32| {
        room(&format!(
            "cable a {{\nstart (500, 500)\nrun east 1000\n}}\ncable b {{\nstart (1500, {})\nrun east 1000\n}}",
            500 + gap
        ))
    };
    border("spacing", &two(50), &two(49));
}

#[test]
fn even_spacing() {
    // Three runs 100 mm apart and one more: 25 % more or less is the most.
    let last = |step: u32| {
        cable(&format!("start (500, 500)\nloops 4 of 1000 east, stepping 100 north\nrun north {step}\nrun east 1000"))
    };
    border("even-spacing", &last(125), &last(126));
    border("even-spacing", &last(75), &last(74));
    // Alongside for less than 300 mm they may lie as they come.
    let short = |length: u32| {
        cable(&format!("start (500, 500)\nloops 4 of 1000 east, stepping 100 north\nrun north 150\nrun east {length}"))
    };
    border("even-spacing", &short(299), &short(300));
    // Rows that spread and close like fans lie closer at the one end than is usual, and wider at the other.
    let fan = "start (2900, 100)\nrun to (100, 100)\nrun to (100, 240)\nrun to (2900, 160)\nrun to (2900, 300)\nrun to (100, 300)\n\
               run to (100, 440)\nrun to (2900, 360)\nrun to (2900, 500)\nrun to (100, 500)";
    assert!(finds(&cable(fan), "even-spacing"));
    assert!(!finds(
        &cable(&fan.replace("240", "200").replace("160", "200").replace("440", "400").replace("360", "400")),
        "even-spacing"
    ));
    // Two cables with a stripe between them, unless something stands there that both keep clear of.
    let two = |gap: u32, between: &str| {
        room(&format!(
            "cable a {{\nstart (500, 500)\nloops 4 of 1000 east, stepping 100 north\n}}\ncable b {{\nstart (500, {})\nloops 4 of 1000 east, stepping 80 north\n}}\n{between}",
            800 + gap
        ))
    };
    border("even-spacing", &two(125, ""), &two(126, ""));
    border("even-spacing", &two(60, ""), &two(59, ""));
    assert!(!finds(&two(200, "fixture f rect (400, 860) (1600, 940)"), "even-spacing"));
    assert!(finds(&two(200, "fixture f raised 200 rect (400, 860) (1600, 940)"), "even-spacing"));
    assert!(!finds(&two(200, "pipe p hot (400, 900) (1600, 900)"), "even-spacing"));
    // Farther than 500 mm nothing is a neighbour; what lies between is a cold patch.
    border("even-spacing", &two(501, ""), &two(499, ""));
    assert!(finds(&two(560, ""), "cold-patch"));
}

#[test]
fn crossing() {
    let pass =
        |y: u32| cable(&format!("start (500, 500)\nrun east 1000\nrun north 500\nrun west 500\nrun to (1000, {y})"));
    // The last run comes down onto the first: 51 mm off it is no crossing, on it is.
    border("crossing", &pass(551), &pass(500));
    // Two cables through one point cross; ends that touch do too.
    let two = |x: u32| {
        room(&format!("cable a {{\nstart (500, 500)\nrun east 500\n}}\ncable b {{\nstart ({x}, 500)\nrun east 500\n}}"))
    };
    border("crossing", &two(1001), &two(1000));
    // A crossing is not reported as a spacing fault as well.
    assert!(!finds(&two(1000), "spacing"));
}

#[test]
fn wall_clearance() {
    let along = |y: u32| cable(&format!("start (500, {y})\nrun east 1000"));
    border("wall-clearance", &along(50), &along(49));
    // The wall just as far as the nearest edge of the room is near: found among many walls too.
    let zigzag: String = (0..22)
        .map(|tooth| format!(" ({}, {})", 2500 - tooth * 100, if tooth % 2 == 0 { "1050.4" } else { "1000.4" }))
        .collect();
    let many = |y: &str| {
        format!(
            "room r {{\n  outline (0, 0.4) (2600, 0.4) (2600, 1000.4){zigzag} (0, 1050.4)\n  cable a {{\nstart (300, {y})\nrun east 1500\n}}\n}}\n"
        )
    };
    border("wall-clearance", &many("50.4"), &many("6"));
    let plan = crate::common::plan(&many("6"));
    let measured = Measured::new(plan.clone());
    let measure = measured.room(0).expect("a room");
    let near = measure.wall_distance(layrule::measure::index::RunId { cable: 0, run: 0 });
    assert!((near.distance - 5.6).abs() < 1e-9 && near.wall == 0, "{near:?}");
}

#[test]
fn off_floor() {
    let out = |length: u32| cable(&format!("start (3000, 500)\nrun east {length}"));
    border("off-floor", &out(1000), &out(1001));
}

#[test]
fn bend_radius() {
    let bend = |pitch: u32| {
        kit("  length 4 m\n  bend-radius 30 mm")
            + &cable(&format!("kit k\nstart (500, 500)\nloops 4 of 1000 east, stepping {pitch} north"))
    };
    border("bend-radius", &bend(60), &bend(59));
}

#[test]
fn fixture_overlap() {
    let under =
        |x: u32| room(&format!("fixture f rect ({x}, 0) (2000, 3000)\ncable a {{\nstart (500, 500)\nrun east 500\n}}"));
    border("fixture-overlap", &under(1000), &under(999));
    let raised = |height: u32| {
        room(&format!(
            "fixture f raised {height} rect (700, 0) (2000, 3000)\ncable a {{\nstart (500, 500)\nrun east 500\n}}"
        ))
    };
    border("fixture-overlap", &raised(60), &raised(59));
    // Behind a plinth or a panel no air carries heat away, however high the legs, unless the plan says that there is none.
    let on_legs = |kind: &str, words: &str| {
        room(&format!(
            "fixture f {kind} raised 150 {words} rect (700, 0) (2000, 3000)\ncable a {{\nstart (500, 500)\nrun east 500\n}}"
        ))
    };
    for kind in ["bath", "shower", "wc", "unit"] {
        border("fixture-overlap", &on_legs(kind, "open"), &on_legs(kind, ""));
        // What no cable may lie under keeps its clearance too.
        let beside = on_legs(kind, "").replace("rect (700", "rect (1049");
        assert!(finds(&beside, "fixture-clearance") && !finds(&beside, "fixture-overlap"));
    }
    assert!(!finds(&on_legs("basin", ""), "fixture-overlap"));
    border(
        "fixture-overlap",
        &on_legs("bath", "open").replace("150", "60"),
        &on_legs("bath", "open").replace("150", "59"),
    );
}

#[test]
fn fixture_clearance() {
    let beside =
        |x: u32| room(&format!("fixture f rect ({x}, 0) (2000, 3000)\ncable a {{\nstart (500, 500)\nrun east 500\n}}"));
    border("fixture-clearance", &beside(1050), &beside(1049));
    // Under a fixture is the other rule's.
    assert!(!finds(&beside(990), "fixture-clearance"));
}

#[test]
fn drill_zone() {
    let through = |radius: u32| {
        room(&format!("drill d circle (1000, 600) radius {radius}\ncable a {{\nstart (500, 500)\nrun east 1000\n}}"))
    };
    border("drill-zone", &through(50), &through(51));
    assert!(finds(&through(101), "drill-zone"));
}

#[test]
fn single_level() {
    let step = |x: u32| {
        room(&format!("level l +150 rect ({x}, 0) (2000, 3000)\ncable a {{\nstart (500, 500)\nrun east 500\n}}"))
    };
    border("single-level", &step(1000), &step(999));
    let down =
        |x: u32| room(&format!("level l +150 rect (0, 0) ({x}, 3000)\ncable a {{\nstart (500, 500)\nrun east 500\n}}"));
    border("single-level", &down(1000), &down(999));
    // A cable wholly on stairs is on no level to lie on.
    assert!(finds(
        &room("level l stairs rect (0, 0) (2000, 3000)\ncable a {\nstart (500, 500)\nrun east 500\n}"),
        "single-level"
    ));
    // One that starts on an edge belongs where it comes to first; along an edge between two others it is on neither.
    let from_edge = |heading: &str| {
        room(&format!(
            "level l +150 rect (0, 0) (1000, 3000)\ncable a {{\nstart (1000, 500)\nrun north 500\nrun {heading} 500\n}}"
        ))
    };
    assert!(!finds(&from_edge("east"), "single-level") && !finds(&from_edge("west"), "single-level"));
    let seam = |x: u32| {
        room(&format!(
            "level l +150 rect (1000, 0) (2000, 2000)\nlevel m +300 rect (2000, 0) (3000, 2000)\ncable a {{\nstart ({x}, 2500)\nrun south 1000\n}}"
        ))
    };
    border("single-level", &seam(1000), &seam(2000));
}

/// What lies on top counts: the edge of a level that another hides is no edge.
#[test]
fn levels_over_levels() {
    let off = |path: &str| -> f64 {
        let text = room(&format!(
            "level l +100 rect (0, 0) (2000, 1000)\nlevel m +200 rect (1000, 0) (3000, 1000)\ncable a {{\n{path}\n}}"
        ));
        let plan = crate::common::plan(&text);
        let measured = Measured::new(plan.clone());
        let measure = measured.room(0).expect("a room");
        measure.index().runs().map(|(id, _)| measure.length_off_level(id)).sum()
    };
    // From the lower level 1,000 mm over the upper one, and 400 along the lower one's edge below it.
    assert_eq!(off("start (500, 500)\nrun to (2000, 500)\nrun north 400"), 1400.0);
    assert_eq!(off("start (1500, 500)\nrun to (2000, 500)\nrun north 400"), 0.0);
    assert_eq!(off("start (1500, 500)\nrun to (1000, 500)\nrun north 400"), 0.0);
}

/// A serpentine of pitch 100 from (500, 500), with a thermostat on the east wall.
fn sensed(sensor: &str) -> String {
    room(&format!(
        "thermostat t (4000, 650) height 300 rated 16 A\ncable a {{\nstart (500, 500)\nloops 6 of 2500 east, stepping 100 north\n}}\n{sensor}"
    ))
}

#[test]
fn sensor_present() {
    border("sensor-present", &sensed("sensor s from t (2500, 650)"), &sensed(""));
}

#[test]
fn sensor_between_runs() {
    let tip = |y: u32| sensed(&format!("sensor s from t (3900, {y}) (2500, {y})"));
    border("sensor-between-runs", &tip(660), &tip(661));
    // Beyond the last run nothing lies on the other side.
    assert!(finds(&sensed("sensor s from t (3900, 1050) (2500, 1050)"), "sensor-between-runs"));
    // Near the closed end of its channel the step is nearest, and the runs that it joins count.
    border(
        "sensor-between-runs",
        &sensed("sensor s from t (3900, 650) (520, 650)"),
        &sensed("sensor s from t (3900, 661) (520, 661)"),
    );
    let rounded =
        "start (500, 500)\nrun east 1000\nrun to (1530, 530)\nrun to (1530, 570)\nrun to (1500, 600)\nrun west 1000";
    let in_round = |y: u32| {
        room(&format!("thermostat t (4000, 650) rated 16 A\ncable a {{\n{rounded}\n}}\nsensor s from t (1490, {y})"))
    };
    border("sensor-between-runs", &in_round(560), &in_round(561));
    // A side never lies behind another run: 55 and 110 mm, not 105 and 110.
    let between = |y: &str| {
        room(&format!(
            "thermostat t (4000, 650) rated 16 A\ncable a {{\nstart (300, 100)\nloops 2 of 1000 east, stepping 50 north\n}}\n\
             cable b {{\nstart (300, 315)\nrun east 1000\n}}\nsensor s from t (600, {y})"
        ))
    };
    border("sensor-between-runs", &between("232.5"), &between("205"));
    // A run that ends towards the tip is met like one that passes.
    let ended =
        "cable a {\nstart (500, 500)\nrun east 1000\n}\ncable b {\nstart (1000, 600)\nrun north 800\nrun east 1000\n}";
    let towards = |y: u32| room(&format!("thermostat t (4000, 650) rated 16 A\n{ended}\nsensor s from t (1000, {y})"));
    border("sensor-between-runs", &towards(560), &towards(561));
}

#[test]
fn sensor_crossed() {
    let from = |y: u32| sensed(&format!("sensor s from t (3900, {y}) (2500, {y})"));
    // The channel at 650 is open to the east; that at 550 is closed there by a turn.
    border("sensor-crossed", &from(650), &from(550));
    // The stretch from below the thermostat to the first point counts too.
    assert!(finds(&sensed("sensor s from t (2500, 550)"), "sensor-crossed"));
}

#[test]
fn sensor_depth() {
    let tip = |x: u32| sensed(&format!("sensor s from t ({x}, 650)"));
    // The heated floor begins where the runs end, at 3000, and the channel is heated as far as it is wide.
    border("sensor-depth", &tip(2700), &tip(2701));
    border("sensor-far", &tip(2400), &tip(2399));
    // A conduit along the wall that the thermostat stands at brings the tip no further in.
    let along = |x: u32| {
        room(&format!(
            "thermostat t (2000, 0) rated 16 A\ncable a {{\nstart (500, 100)\nloops 12 of 2500 north, stepping 100 east\n}}\n\
             sensor s from t (2000, 80) (1350, 80) (1350, {x})"
        ))
    };
    border("sensor-depth", &along(400), &along(399));
    // With the wall's corner as near, the one counts that leaves more.
    assert!(!finds(&along(500).replace("(2000, 0)", "(0, 0)"), "sensor-depth"));
    // No farther than along the conduit: that of a thermostat in the middle of the floor.
    assert!(finds(&sensed("sensor s from t (2500, 650)").replace("(4000, 650)", "(2650, 650)"), "sensor-depth"));
}

#[test]
fn sensor_reach() {
    // 300 down from the thermostat, 1500 along the floor, and 200 to connect it with.
    let lead = |length: u32| sensed(&format!("sensor s from t (2500, 650) lead {length} mm"));
    border("sensor-reach", &lead(2000), &lead(1999));
}

/// A kit of `power` (W) at 230 V on thermostats and contactors.
fn loaded(power: f64, rest: &str) -> String {
    format!("kit k {{\n  output {power} W at 230 V\n  length 4 m\n}}\n")
        + &room(&format!(
            "thermostat t (4000, 650) rated 16 A\n{rest}\ncable a {{\nkit k\nstart (500, 500)\nrun east 2500\n}}"
        ))
}

#[test]
fn thermostat_load() {
    // I = P / U: 3680 W at 230 V are 16 A.
    border("thermostat-load", &loaded(3680.0, ""), &loaded(3680.1, ""));
    // A contactor takes the load off it.
    border("thermostat-load", &loaded(4600.0, "contactor c rated 20 A for t"), &loaded(4600.0, ""));
}

#[test]
fn laid_length() {
    // One per cent of 10 m left over, three per cent too little.
    let laid = |length: u32| {
        kit("  length 10 m") + &cable(&format!("kit k\nstart (200, 500)\nloops 3 of {length} east, stepping 100 north"))
    };
    border("laid-length", &laid(3366), &laid(3367));
    let exactly = |length: u32| {
        kit("  length 10 m")
            + &cable(&format!(
                "kit k\nstart (200, 500)\nrun east 3500\nrun north 100\nrun west 3500\nrun north 100\nrun east {length}"
            ))
    };
    border("laid-length", &exactly(2700), &exactly(2699));
    border("laid-length", &exactly(3100), &exactly(3101));
}

#[test]
fn wide_spacing() {
    // The middle one of three runs heats a strip as wide as they lie apart: 120 mm and 5 % more at the most, in screed 250 mm and 5 %.
    let apart = |step: f64, bed: &str| {
        cable(&format!("start (500, 500)\nloops 5 of 1000 east, stepping {step} north"))
            .replace("  cable a", &format!("{bed}  cable a"))
    };
    border("wide-spacing", &apart(126.0, ""), &apart(126.1, ""));
    let bed = |thickness: u32| {
        format!("  floor concrete {{\ntile 10 mm\nscreed {thickness} mm cable at 20 mm\nconcrete 150 mm\n}}\n")
    };
    border("wide-spacing", &apart(262.5, &bed(30)), &apart(262.6, &bed(30)));
    border("wide-spacing", &apart(262.5, &bed(30)), &apart(262.5, &bed(29)));
    // Between two stacks of loops a run sees another 500 mm off. By hand: on its other side it heats 50 mm, and in the slot as far as half its
    // width; 152 mm make 126 mm.
    let stacks = |slot: u32| {
        let short = 1950 - slot;
        format!(
            "room r {{\n  outline (0, 0) (4000, 0) (4000, 700) (0, 700)\n  cable a {{\n    start (100, 100)\n    run east 3800\n    run north 100\n    loops 4 of 1850 west, stepping 100 north\n    run north 100\n    run west 3800\n    run south 100\n    loops 4 of {short} east, stepping 100 south\n  }}\n}}\n"
        )
    };
    border("wide-spacing", &stacks(152), &stacks(153));
}

#[test]
fn kit_size() {
    // Where the cable doesn't lie as its kit is long, that alone is told of.
    let alone = rules_with("amend laid-length { severity off }");
    let finds = |text: &str| check_with(text, &alone).findings.iter().any(|finding| &*finding.rule == "kit-size");
    let border = |at: &str, beyond: &str| assert!(!finds(at) && finds(beyond), "{at}\n{beyond}");
    // The free floor of the room is 3.9 m by 2.9 m: 11.31 m2.
    let kit = |length: f64| {
        format!("kit k {{\n  output 100 W at 230 V\n  length {length} m\n}}\n")
            + &cable("kit k\nstart (500, 500)\nrun east 2500")
    };
    border(&kit(226.2), &kit(226.3));
    // At 120 mm they take 94.25 m, in a screed, which is 30 mm thick or more, at 250 mm 45.24 m.
    border(&kit(94.25), &kit(94.24));
    let bed = |length: f64, thickness: u32| {
        let bed = format!(
            "  floor concrete {{\ntile 10 mm\nscreed {thickness} mm cable at 20 mm\nconcrete 150 mm\n}}\n  cable a"
        );
        kit(length).replace("  cable a", &bed)
    };
    border(&bed(45.24, 30), &bed(45.23, 30));
    border(&bed(45.24, 30), &bed(45.24, 29));
}

#[test]
fn tail_reach() {
    let tail = |length: u32| {
        kit(&format!("  length 4 m\n  tail {length} mm"))
            + &room(
                "junction j (4000, 500) height 300\ncable a {\nkit k\ntail j (4000, 500) (3000, 500)\nstart (3000, 500)\nrun west 2500\n}",
            )
    };
    // 300 down, 1000 along the floor, and 200 to connect it with.
    border("tail-reach", &tail(1500), &tail(1499));
}

#[test]
fn tail_crossing() {
    let tail = |y: u32| {
        room(&format!(
            "junction j (4000, 800)\ncable a {{\ntail j (3900, 800) (3900, {y}) (2000, {y}) (2000, 1000)\nstart (2000, 1000)\nrun west 1000\nrun south 500\nrun east 2500\n}}"
        ))
    };
    border("tail-crossing", &tail(501), &tail(500));
    // A tail that comes in along its own cable lies on it.
    assert!(finds(
        &room("junction j (4000, 500)\ncable a {\ntail j (3000, 500) (2000, 500)\nstart (2000, 500)\nrun east 1500\n}"),
        "tail-crossing"
    ));
    // A point said twice leads nowhere else.
    let twice = room(
        "junction j (4000, 800)\ncable a {\ntail j (3900, 800) (3900, 800) (2000, 1000) (2000, 1000)\nstart (2000, 1000)\nrun west 1000\n}",
    );
    assert!(!finds(&twice, "tail-crossing"));
    // So does one that lies along it first, and goes out and back to the joint after; out and back elsewhere it doesn't.
    let detour = |box_at: &str| {
        room(&format!(
            "junction j {box_at}\ncable a {{\ntail j (2000, 500) (2000, 900) (2000, 500)\nstart (2000, 500)\nrun east 1500\n}}"
        ))
    };
    border("tail-crossing", &detour("(0, 500)"), &detour("(4000, 500)"));
}

#[test]
fn shared_junction() {
    let boxes = |second: &str| {
        room(&format!(
            "junction j (4000, 500)\njunction k (4000, 900)\nthermostat t (4000, 700) rated 16 A\n\
             cable a {{\ntail j (3000, 500)\nstart (3000, 500)\nrun west 2500\n}}\ncable b {{\ntail {second} (3000, 900)\nstart (3000, 900)\nrun west 2500\n}}"
        ))
    };
    border("shared-junction", &boxes("j"), &boxes("k"));
    // Boxes that are wired together count as one, over a third too, whichever says so.
    for wired in [["", "wired j"], ["wired k", ""], ["wired l", "wired l"]] {
        let text = boxes("k").replace(
            "(4000, 500)\njunction k (4000, 900)",
            &format!("(4000, 500) {}\njunction k (4000, 900) {}\njunction l (4000, 1500)", wired[0], wired[1]),
        );
        border(
            "shared-junction",
            &text,
            &text.replace("wired j", "wired l").replacen("wired k", "", 1).replacen("wired l", "", 1),
        );
    }
}

#[test]
fn movement_joint() {
    let joint =
        |x: u32| room(&format!("joint m ({x}, 0) ({x}, 3000)\ncable a {{\nstart (500, 500)\nrun east 1000\n}}"));
    border("movement-joint", &joint(1550), &joint(1549));
    assert!(finds(&joint(1000), "movement-joint"));
}

#[test]
fn drilled_lead() {
    let tail = |x: u32| {
        room(&format!(
            "drill z circle ({x}, 1000) radius 100\njunction j (500, 0)\ncable a {{\ntail j (500, 2000)\nstart (500, 2000)\nrun east 1000\n}}"
        ))
    };
    border("drilled-lead", &tail(650), &tail(649));
    let conduit = |y: u32| {
        room(&format!(
            "drill z rect (700, 700) (900, 900)\nthermostat t (0, {y}) rated 10 A\ncable a {{\nstart (500, 2000)\nrun east 1000\n}}\nsensor s from t (1500, {y})"
        ))
    };
    border("drilled-lead", &conduit(950), &conduit(949));
}

#[test]
fn under_partition() {
    let screen = |x: u32| {
        room(&format!("partition s ({x}, 0) ({x}, 3000) height 2000\ncable a {{\nstart (500, 500)\nrun east 1000\n}}"))
    };
    border("under-partition", &screen(1550), &screen(1549));
    assert!(finds(&screen(1000), "under-partition"));
}

#[test]
fn pipe_clearance() {
    let pipe = |x: u32, kind: &str| {
        room(&format!("pipe p {kind} ({x}, 0) ({x}, 3000)\ncable a {{\nstart (500, 500)\nrun east 1000\n}}"))
    };
    border("pipe-clearance", &pipe(1550, "hot"), &pipe(1549, "hot"));
    // One of which it isn't said counts as hot.
    assert!(finds(&pipe(1500, ""), "pipe-clearance"));
    assert!(!finds(&pipe(1500, "cold"), "pipe-clearance"));
}

#[test]
fn doorway() {
    let door =
        |y: u32| room(&format!("door d wall 1 from 500 to 1400\ncable a {{\nstart (600, {y})\nrun east 500\n}}"));
    border("doorway", &door(100), &door(99));
}

#[test]
fn cold_patch() {
    // The free floor ends 50 mm from the wall, and the run reaches 250 mm: a strip 1 mm wide is left.
    let patch = |y: u32| {
        format!(
            "room r {{\n  outline (0, 0) (4000, 0) (4000, 600) (0, 600)\n  cable a {{\n    start (100, {y})\n    run east 3800\n  }}\n}}\n"
        )
    };
    border("cold-patch", &patch(300), &patch(301));
    // Between the wall and a unit a run is led in and out again where there is room for two at the least spacing, 50 mm off both sides.
    let slot = |wide: u32| {
        format!(
            "room r {{\n  outline (0, 0) (2000, 0) (2000, 1000) (0, 1000)\n  fixture f unit rect ({wide}, 400) (2000, 1000)\n  cable a {{\n    start (100, 80)\n    loops 4 of 1800 east, stepping 80 north\n  }}\n}}\n"
        )
    };
    border("cold-patch", &slot(150), &slot(151));
    // What is as slim but lies along open floor stays a patch.
    let stripe = "room r {\n  outline (0, 0) (4000, 0) (4000, 670) (0, 670)\n  cable a {\n    start (100, 100)\n    loops 4 of 3800 east, stepping 90 north\n  }\n}\n";
    border("cold-patch", stripe, &stripe.replace("670)", "690)"));
}

#[test]
fn heated_share() {
    // Runs of 100 mm pitch heat 50 mm to each side: n of them heat n strips of the free floor.
    let share = |loops: u32| {
        format!(
            "room r {{\n  outline (0, 0) (4100, 0) (4100, 1100) (0, 1100)\n  cable a {{\n    start (50, 100)\n    loops {loops} of 4000 east, stepping 100 north\n  }}\n}}\n"
        )
        .replace("start (50, 100)", "start (50, 220)")
    };
    border("heated-share", &share(8), &share(7));
}

#[test]
fn deviations() {
    let agreed = |until: &str, y: u32| {
        room(&format!(
            "deviation wall-clearance cable a \"boxed pipe, agreed on site\" {until}\ncable a {{\nstart (500, {y})\nrun east 1000\n}}"
        ))
    };
    // The day itself still counts; tests are held on 2026-11-25.
    border("deviation-lapsed", &agreed("until 2026-11-25", 40), &agreed("until 2026-11-24", 40));
    border("deviation-unused", &agreed("", 49), &agreed("", 50));
    let report = check(&agreed("until 2026-11-25", 40));
    let covered: Vec<_> = report.findings.iter().filter(|finding| &*finding.rule == "wall-clearance").collect();
    assert!(covered.len() == 1 && covered[0].accepted.is_some(), "{covered:#?}");
    assert_ne!(report.worst(), Some(layrule::finding::Severity::Error));
    // A lapsed one covers nothing any more.
    assert_eq!(check(&agreed("until 2026-11-24", 40)).worst(), Some(layrule::finding::Severity::Error));
}

/// A mat of 3 m2 in lanes of 442 mm at `spacing`, in a room so wide and so deep, with the data of its kit.
fn mat(spacing: f64, data: &str, width: u32, depth: u32) -> String {
    let lane = |way: &str| format!("loops 25 of 442 north, stepping {spacing} {way}\n");
    format!(
        "kit m {{\n output 450 W at 230 V\n length 39 m\n {data}\n}}\nroom r {{\n outline (0, 0) ({width}, 0) ({width}, {depth}) (0, {depth})\n \
         cable a {{\n kit m\n start (100, 100)\n{}run north 80\n{}run north 80\n{}}}\n}}\n",
        lane("east"),
        lane("west"),
        lane("east")
    )
}

#[test]
fn mats_lie_as_they_are_made() {
    let data = "mat 500 by 6 m, spacing 80";
    border("mat-spacing", &mat(85.0, data, 3000, 2000), &mat(85.1, data, 3000, 2000));
    border("mat-spacing", &mat(75.0, data, 3000, 2000), &mat(74.9, data, 3000, 2000));
    // Loose cable has the spacing that it is laid at.
    assert!(!finds(&mat(100.0, "", 3000, 2000), "mat-spacing"));
    // Its strips take about 3.1 m2: 15 % more or less than its own area at the most.
    let plan = crate::common::plan(&mat(80.0, data, 3000, 2000));
    let taken = Measured::new(plan).room(0).expect("a room").strips_heated(0).expect("strips").area / 1e6;
    let sized = |area: f64| mat(80.0, &format!("mat 500 by {:.4} m, spacing 80", area / 0.5), 4000, 3000);
    border("mat-area", &sized(taken / 1.149), &sized(taken / 1.151));
    border("mat-area", &sized(taken / 0.851), &sized(taken / 0.849));
    // 3 m2 of mat on the free floor, which keeps 50 mm from the walls: 2000 mm by 1500 mm of it.
    border("mat-size", &mat(80.0, data, 2100, 1600), &mat(80.0, data, 2099, 1600));
    // What kit-size says of loose cable it doesn't say of mats.
    assert!(finds(&mat(80.0, "", 6000, 5000), "kit-size") && !finds(&mat(80.0, data, 6000, 5000), "kit-size"));
}

#[test]
fn stove_clearance() {
    let beside = |y: f64| {
        room(&format!(
            "  fixture s stove rect (1000, 1000) (2000, 2000)\n  cable a {{\n  start (500, {y})\n  run east 2000\n  }}"
        ))
    };
    border("stove-clearance", &beside(900.0), &beside(900.1));
    // It says so alone, and of a stove only.
    assert!(!finds(&beside(960.0), "fixture-clearance"));
    assert!(!finds(&beside(940.0).replace(" stove rect", " rect"), "stove-clearance"));
}

#[test]
fn no_cable() {
    let thermostat = "  thermostat t (0, 1000) rated 10 A\n";
    let cable = "  cable a {\n  start (500, 500)\n  run east 2000\n  }";
    border("no-cable", &room(&format!("{thermostat}{cable}")), &room(thermostat));
    // Where nothing says that the room is to be heated, nothing is missing.
    assert!(!finds(&room(""), "no-cable"));
}

#[test]
fn shared_floor() {
    // Rooms of 4 m by 3 m, and of 1 m by 1 m that reaches 10 mm into the other: 0.01 m2.
    let beside = |x: u32| format!("{}room s {{\n  outline ({x}, 0) (5000, 0) (5000, 1000) ({x}, 1000)\n}}\n", room(""));
    border("shared-floor", &beside(3990), &beside(3989));
    // A wall in common shares no floor, whichever of them comes first.
    assert!(!finds(&beside(4000), "shared-floor"));
    assert!(finds(
        &format!("room s {{\n  outline (0, 0) (500, 0) (500, 500) (0, 500)\n}}\n{}", room("")),
        "shared-floor"
    ));
}

#[test]
fn thermostat_wall() {
    let at = |x: f64, more: &str| room(&format!("  thermostat t ({x}, 1000) height 1200 rated 10 A\n{more}"));
    border("thermostat-wall", &at(100.0, ""), &at(100.1, ""));
    // It may hang on a partition or on what stands on the floor, or in the next room.
    for more in ["  partition p (500, 500) (500, 2000)\n", "  fixture f unit rect (500, 500) (900, 2000)\n"] {
        border("thermostat-wall", &at(400.0, more), &at(399.9, more));
    }
    assert!(!finds(&at(-700.0, ""), "thermostat-wall"));
}

#[test]
fn sensor_off_floor() {
    let led =
        |points: &str| room(&format!("  thermostat t (0, 1000) height 1200 rated 10 A\n  sensor s from t {points}"));
    // Along the wall it is in the room, one step beyond it isn't; nor where it never comes in.
    border("sensor-off-floor", &led("(0, 600) (500, 600)"), &led("(100, 1000) (100, 600) (-0.1, 600) (500, 600)"));
    assert!(finds(&led("(-500, 1000)"), "sensor-off-floor"));
    // From a thermostat in the next room it comes through the wall.
    let beyond = led("(500, 600)").replace("t (0, 1000)", "t (-300, 600)");
    assert!(!finds(&beyond, "sensor-off-floor"));
}

#[test]
fn every_rule_is_here() {
    let text: String = ["rule_limits", "tail_limits", "floor_limits", "circuit_limits"]
        .map(|file| std::fs::read_to_string(crate::common::root().join(format!("tests/rules/{file}.rs"))).expect(file))
        .concat();
    // `kit-size` says nothing beside `laid-length`, and is held to its limits without that.
    for rule in crate::common::RULES.rules.iter().filter(|rule| &*rule.name != "kit-size") {
        assert!(text.contains(&format!("border(\"{}\"", rule.name)), "{} is not held to its limit here", rule.name);
    }
}

/// Walls of a room, tips and dials by the walls, runs and leads by what lies beside them; all worked by hand.
#[test]
fn neighbours_walls_and_heights_can_be_asked_for() {
    let lay = "room a {\n outline (0, 0) (3000, 0) (3000, 2000) (0, 2000)\n wall 1 \"yard\" outside\n wall 2 \"lane\" outside\n door d wall 3 from 500 to 1300\n \
               junction j (3000, 1900) height 300\n thermostat t (3000, 1000) height 1250 rated 16 A\n joint m (0, 1700) (3000, 1700)\n \
               cable a {\n tail j (2400, 1900) (2400, 900)\n start (2400, 900)\n run west 1000\n run south 120\n run east 1000\n run south 300\n run west 500\n }\n \
               sensor s from t (3000, 840) (2350, 840)\n}\n\
               room b {\n outline (5000, 0) (6000, 0) (6000, 1000) (5000, 1000)\n wall 1 outside\n}\n";
    let rule = |name: &str, check: &str, message: &str| {
        format!(
            "rule {name} {{\n about \"{name}\"\n severity note\n basis practice\n {check}\n message \"{message}\"\n}}\n"
        )
    };
    let rules = rules_with(
        &[
            rule("outside", "check room in rooms", "{room.name}: {count(wall in room.walls where wall.outside)} of {count(wall in walls where wall.room = room)}"),
            rule("dial", "check thermostat in thermostats", "{thermostat.height}"),
            rule("tip", "check sensor in sensors", "{sensor.wall-distance} from {sensor.nearest-wall} of {sensor.room}"),
            rule("beside", "check run in runs where has run.neighbour", "{run.number}: {run.neighbour-distance} to {run.neighbour.number}"),
            rule("lead", "check near in near-leads(400 mm) where near.is-tail", "{near.cable} of {near.room}: {near.feature.sort} {near.distance}"),
        ]
        .concat(),
    );
    let report = check_with(lay, &rules);
    let told = |name: &str| -> Vec<String> {
        let own = report.findings.iter().filter(|finding| &*finding.rule == name);
        own.map(|finding| finding.message.clone()).collect()
    };
    assert_eq!(told("outside"), ["a: 2 of 4", "b: 1 of 4"]);
    assert_eq!(told("dial"), ["1250 mm"]);
    // (2350, 840): 650 mm from wall 2 at x = 3000, 840 mm from wall 1.
    assert_eq!(told("tip"), ["650 mm from wall 2 (\"lane\") of room `a`"]);
    // Rows at 900, 780 and 480; the last reaches from 1900 to 2400. Turns 1000 mm apart see each other past nothing.
    assert_eq!(told("beside"), ["1: 120 mm to 3", "3: 120 mm to 1", "5: 300 mm to 3"]);
    // The tail crosses the joint; the door's threshold, on wall 3 from 2500 to 1700, is 100 mm from it.
    let mut leads = told("lead");
    leads.sort();
    assert_eq!(leads, ["cable `a` of room `a`: door 100 mm", "cable `a` of room `a`: joint 0 mm"]);
}
