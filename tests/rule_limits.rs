//! Every rule at its limit, and one step beyond: the plan at the limit passes, the other fails by that rule.
//!
//! The limits are common practice in the trade unless a rule's own `basis` says otherwise.

use layrule::measure::heat::{Below, Slab, SlabHeat, SlabLayer};
use layrule::measure::plan::Measured;

use crate::common::{check, rules_found};

/// A room of 4 m by 3 m with whatever is put in it.
fn room(inside: &str) -> String {
    format!("room r {{\n  outline (0, 0) (4000, 0) (4000, 3000) (0, 3000)\n{inside}\n}}\n")
}

/// The same with one cable.
fn cable(path: &str) -> String {
    room(&format!("  cable a {{\n{path}\n  }}"))
}

fn kit(lines: &str) -> String {
    format!("kit k {{\n  output 100 W at 230 V\n{lines}\n}}\n")
}

pub fn finds(text: &str, rule: &str) -> bool {
    let report = check(text);
    let reading = ["syntax", "name", "quantity", "use", "plan"];
    let faults: Vec<_> = report.findings.iter().filter(|finding| reading.contains(&&*finding.rule)).collect();
    assert!(faults.is_empty(), "{faults:#?}\n{text}");
    rules_found(&report).iter().any(|name| name == rule)
}

/// `at` is a plan at the limit, `beyond` one step beyond.
pub fn border(rule: &str, at: &str, beyond: &str) {
    let unchecked = check(at).unchecked;
    assert!(unchecked.iter().all(|unchecked| *unchecked.rule != *rule), "{rule} is not held to:\n{at}\n{unchecked:#?}");
    assert!(!finds(at, rule), "{rule} must pass at its limit:\n{at}");
    assert!(finds(beyond, rule), "{rule} must fail one step beyond its limit:\n{beyond}");
}

#[test]
fn spacing() {
    let loops = |pitch: u32| cable(&format!("start (500, 500)\nloops 4 of 1000 east, stepping {pitch} north"));
    border("spacing", &loops(50), &loops(49));
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
    // Rows that spread and close like fans are as far apart in the mean as each other.
    let fan = "start (2900, 100)\nrun to (100, 100)\nrun to (100, 240)\nrun to (2900, 160)\nrun to (2900, 300)\nrun to (100, 300)\n\
               run to (100, 440)\nrun to (2900, 360)\nrun to (2900, 500)\nrun to (100, 500)";
    assert!(!finds(&cable(fan), "even-spacing"));
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
    border("sensor-depth", &tip(2400), &tip(2399));
    border("sensor-depth", &tip(2600), &tip(2601));
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
fn kit_size() {
    // The free floor of the room is 3.9 m by 2.9 m: 11.31 m2.
    let kit = |length: f64| {
        format!("kit k {{\n  output 100 W at 230 V\n  length {length} m\n}}\n")
            + &cable("kit k\nstart (500, 500)\nrun east 2500")
    };
    border("kit-size", &kit(226.2), &kit(226.3));
    // At 120 mm they take 94.25 m, in a screed, which is 30 mm thick or more, at 250 mm 45.24 m.
    border("kit-size", &kit(94.25), &kit(94.24));
    let bed = |length: f64, thickness: u32| {
        let bed = format!(
            "  floor concrete {{\ntile 10 mm\nscreed {thickness} mm cable at 20 mm\nconcrete 150 mm\n}}\n  cable a"
        );
        kit(length).replace("  cable a", &bed)
    };
    border("kit-size", &bed(45.24, 30), &bed(45.23, 30));
    border("kit-size", &bed(45.24, 30), &bed(45.24, 29));
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
}

#[test]
fn heated_share() {
    // Runs of 100 mm pitch heat 50 mm to each side: n of them heat n strips of the free floor.
    let share = |loops: u32| {
        format!(
            "room r {{\n  outline (0, 0) (4100, 0) (4100, 1100) (0, 1100)\n  cable a {{\n    start (50, 100)\n    loops {loops} of 4000 east, stepping 100 north\n  }}\n}}\n"
        )
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

/// A heated floor: 20 m of cable of `power` (W) in four runs from (500, `start`), 100 mm apart; `layers` with the cable in one of them,
/// `rest` of the room.
fn warmed(power: f64, start: u32, kind: &str, layers: &str, rest: &str) -> String {
    format!(
        "material flooring {{\n  conductivity 0.2 W/mK\n}}\nkit k {{\n  output {power} W at 230 V\n  length 20 m\n  diameter 6 mm\n}}\n"
    ) + &room(&format!(
        "wall 1 outside\nfloor {kind} {{\n{layers}\n}}\ninside 20 degC\nthermostat t (4000, 650) height 300 rated 16 A\n{rest}\n\
             cable a {{\nkit k\nstart (500, {start})\nloops 4 of 2500 east, stepping 100 north\n}}"
    ))
}

/// Tile, adhesive, board and plywood over a room of 18 degC, as the slab and as the plan's layers.
const USUAL: &str = "tile 10 mm\nadhesive 10 mm cable at 3 mm\nboard 10 mm\nplywood 18 mm";
const OVER_ROOM: &str = "below room 18 degC";

fn slab(top: SlabLayer, below: f64) -> Slab {
    let solid = |thickness: f64, conductivity: f64| SlabLayer::Solid { thickness, conductivity };
    Slab {
        layers: vec![top, solid(0.01, 1.0), solid(0.01, 0.035), solid(0.018, 0.13)],
        cable_layer: 1,
        cable_height: 0.003,
        cable_radius: 0.003,
        below: Below::Room(below),
        inside: 20.0,
    }
}

const TILE: SlabLayer = SlabLayer::Solid { thickness: 0.01, conductivity: 1.3 };

/// The steady state of the usual floor with 20 m of cable of `power` (W) at 100 mm, by what is held to finite elements.
fn heat_of(power: f64) -> SlabHeat {
    slab(TILE, 18.0).heat(power / 20.0, 0.1).expect("a solution")
}

/// Where what grows from `low` to `high` comes to `limit`.
fn meets(limit: f64, mut low: f64, mut high: f64, of: impl Fn(f64) -> f64) -> f64 {
    assert!(of(low) < limit && limit < of(high), "{} {limit} {}", of(low), of(high));
    for _ in 0..80 {
        let middle = f64::midpoint(low, high);
        if of(middle) < limit { low = middle } else { high = middle }
    }
    low
}

/// Just below a figure and just above it, short enough to write.
fn about(figure: f64) -> (f64, f64) {
    ((figure * 1e3).floor() / 1e3, (figure * 1e3).ceil() / 1e3)
}

/// A floor that is laid close on one half and wide on the other is held to its close half: 10 W/m at 50 mm is 200 W/m2, at 60 mm 167.
#[test]
fn uneven_floors_are_held_at_their_worst() {
    let laid = |path: &str, length: u32| {
        format!(
            "kit k {{\n output {} W at 230 V\n length {length} m\n diameter 6 mm\n}}\nroom r {{\n outline (0, 0) (3200, 0) (3200, 3200) (0, 3200)\n \
             floor timber {{\n{USUAL}\n}}\n inside 20 degC\n below room 18 degC\n cable a {{\n kit k\n start (3050, 100)\n{path}\n}}\n}}\n",
            length * 10
        )
    };
    let halves = |first: (u32, u32), second: (u32, u32)| {
        let back = if first.0.is_multiple_of(2) { "west" } else { "east" };
        let length = (f64::from(first.0 + second.0) * 2.9 + 2.5).round() as u32;
        laid(
            &format!(
                "loops {} of 2900 west, stepping {} north\nrun north 140\nloops {} of 2900 {back}, stepping {} north",
                first.0, first.1, second.0, second.1
            ),
            length,
        )
    };
    for (first, second, density) in [((12, 50), (13, 167), 200.0), ((14, 60), (15, 135), 1000.0 / 6.0)] {
        let text = halves(first, second);
        assert!(finds(&text, "power-density") && finds(&text, "even-spacing"), "{text}");
        let plan = crate::common::plan(&text);
        let measured = Measured::new(plan);
        let measure = measured.room(0).expect("a room");
        let strips = measure.strips_heated(0).expect("strips");
        let greatest = measure.stretch_density(strips.narrowest).expect("a density");
        assert!((greatest - density).abs() < 1e-6, "{greatest}");
        assert!((strips.narrowest.width - f64::from(first.1)).abs() < 1e-6, "{strips:?}");
        // The widest lies among the wide rows, or between the first of them and the last of the others.
        let between = f64::midpoint(140.0, f64::from(second.1)).max(f64::from(second.1));
        assert!((strips.widest.width - between).abs() < 1e-6, "{strips:?}");
        // In the mean it is what the strips of both halves take, which the room has.
        let rows = |(rows, pitch): (u32, u32)| f64::from(rows) * f64::from(pitch) * 2900.0;
        let about = rows(first) + rows(second);
        assert!(
            (strips.area - about).abs() < 0.08 * about && strips.area < measure.area(),
            "{} of {about}",
            strips.area
        );
    }
    // In the corners of a spiral the run that goes on lies beside the one that ends: nowhere is it wider than its spacing.
    let mut spiral = String::from("run west 2900\nrun north 2900\n");
    let mut side = 2900;
    for heading in ["east", "south", "west", "north"].iter().cycle().take(24) {
        spiral += &format!("run {heading} {side}\n");
        side -= if *heading == "east" || *heading == "west" { 100 } else { 0 };
    }
    let plan = crate::common::plan(&laid(&spiral, 60));
    let measured = Measured::new(plan);
    let strips = measured.room(0).expect("a room").strips_heated(0).expect("strips");
    assert!((strips.narrowest.width - 100.0).abs() < 1.0 && strips.widest.width < 101.0, "{strips:?}");
    // Laid evenly it is all one.
    let even = halves((12, 100), (13, 100)).replace("run north 140", "run north 100");
    assert!(!finds(&even, "power-density") && !finds(&even, "even-spacing"), "{even}");
}

#[test]
fn sensor_place() {
    // Ten runs 100 mm apart with the sensor between two of them, and ten more at a spacing of their own on the same thermostat.
    let beside = |pitch: f64, power: u32| {
        format!(
            "kit k {{\n output {power} W at 230 V\n length 26 m\n diameter 6 mm\n}}\nroom r {{\n outline (0, 0) (3000, 0) (3000, 3200) (0, 3200)\n \
             floor timber {{\n{USUAL}\n}}\n inside 20 degC\n below room 18 degC\n thermostat t (0, 550) rated 16 A\n \
             cable a {{\n kit k\n start (100, 100)\n loops 10 of 2600 east, stepping 100 north\n}}\n \
             cable b {{\n kit k\n start (100, 3100)\n loops 10 of 2600 east, stepping {pitch} south\n}}\n sensor s from t (600, 550)\n}}\n"
        )
    };
    // 15 % more on each square metre than at the sensor: 100 mm over 1.15.
    border("sensor-place", &beside(87.0, 300), &beside(86.9, 300));
    // What can't get too warm even at full power needs no limit.
    assert!(!finds(&beside(80.0, 100), "sensor-place"));
}

#[test]
fn power_density() {
    // 20 m at 100 mm heat 2 m2.
    let on = |kind: &str, layers: &str, power: f64| warmed(power, 500, kind, layers, OVER_ROOM);
    let wood = USUAL.replace("tile", "hardwood");
    border("power-density", &on("timber", USUAL, 300.0), &on("timber", USUAL, 300.1));
    border("power-density", &on("concrete", USUAL, 400.0), &on("concrete", USUAL, 400.1));
    border("power-density", &on("concrete", &wood, 200.0), &on("concrete", &wood, 200.1));
}

#[test]
fn surface_temperature() {
    let plan = |power: f64, start: u32| warmed(power, start, "timber", USUAL, OVER_ROOM);
    // EN 1264-2: 9 K over the room where people stay, 15 K within a metre of an outside wall. No sensor limits these.
    let edge = about(meets(35.0, 100.0, 800.0, |power| heat_of(power).warmest));
    border("surface-temperature", &plan(edge.0, 500), &plan(edge.1, 500));
    let (at, beyond) = about(meets(29.0, 100.0, 800.0, |power| heat_of(power).warmest));
    border("surface-temperature", &plan(at, 900), &plan(beyond, 900));
    // None where a bath stands, none where the strip is the whole room, and never over 35 degC.
    let bath = |text: String| {
        text.replace("wall 1 outside", "wall 1 outside\nfixture tub bath rect (3000, 2000) (3900, 2900)")
    };
    border("surface-temperature", &bath(plan(at, 500)), &bath(plan(beyond, 500)));
    let narrow =
        |text: String, depth: u32| text.replace("(4000, 3000) (0, 3000)", &format!("(4000, {depth}) (0, {depth})"));
    border("surface-temperature", &narrow(plan(beyond, 500), 1001), &narrow(plan(beyond, 500), 1000));
    let warm_edge = |power: f64| plan(power, 500).replace("inside 20", "inside 24");
    let warm = Slab { inside: 24.0, ..slab(TILE, 18.0) };
    let greatest = about(meets(35.0, 100.0, 800.0, |power| warm.heat(power / 20.0, 0.1).expect("a solution").warmest));
    border("surface-temperature", &warm_edge(greatest.0), &warm_edge(greatest.1));
    // The runs at 700 to 1000 lie in the edge zone, those at 701 to 1001 no longer.
    border("surface-temperature", &plan(edge.0, 700), &plan(edge.0, 701));
    // A bathroom kept at 24 degC may have a floor of 33 degC.
    let bathroom = |power: f64| plan(power, 900).replace("inside 20", "inside 24");
    let warm = Slab { inside: 24.0, ..slab(TILE, 18.0) };
    let (at, beyond) =
        about(meets(33.0, 100.0, 800.0, |power| warm.heat(power / 20.0, 0.1).expect("a solution").warmest));
    border("surface-temperature", &bathroom(at), &bathroom(beyond));
    // The covering's own limit: 27 degC on timber by practice, else what its material says.
    let wood = SlabLayer::Solid { thickness: 0.01, conductivity: 0.18 };
    let oak = |power: f64| warmed(power, 500, "timber", &USUAL.replace("tile", "hardwood"), OVER_ROOM);
    let (at, beyond) =
        about(meets(27.0, 50.0, 800.0, |power| slab(wood, 18.0).heat(power / 20.0, 0.1).expect("a solution").warmest));
    border("surface-temperature", &oak(at), &oak(beyond));
    let cork = SlabLayer::Solid { thickness: 0.01, conductivity: 0.065 };
    let corked = |power: f64| warmed(power, 500, "timber", &USUAL.replace("tile", "cork"), OVER_ROOM);
    let (at, beyond) =
        about(meets(27.0, 50.0, 800.0, |power| slab(cork, 18.0).heat(power / 20.0, 0.1).expect("a solution").warmest));
    border("surface-temperature", &corked(at), &corked(beyond));
    let said = |limit: f64| {
        plan(150.0, 500)
            .replace("10 mm\nadhesive", "10 mm flooring\nadhesive")
            .replace("0.2 W/mK", &format!("0.2 W/mK\nsurface-limit {limit} degC"))
    };
    let flooring = SlabLayer::Solid { thickness: 0.01, conductivity: 0.2 };
    let (beyond, at) = about(slab(flooring, 18.0).heat(7.5, 0.1).expect("a solution").warmest);
    border("surface-temperature", &said(at), &said(beyond));
    // A sensor limits the floor: then what the room loses decides.
    let limited = |loss: f64| {
        warmed(600.0, 900, "timber", USUAL, &format!("{OVER_ROOM}\nheat-loss {loss} W\nsensor s from t (2400, 950)"))
    };
    let (at, beyond) = about(2.0 * heat_of(meets(29.0, 100.0, 800.0, |power| heat_of(power).warmest)).upward);
    border("surface-temperature", &limited(at), &limited(beyond));
    // Not knowing what the room loses, it can't tell.
    let unknown = warmed(600.0, 900, "timber", USUAL, &format!("{OVER_ROOM}\nsensor s from t (2400, 950)"));
    assert!(check(&unknown).unchecked.iter().any(|unchecked| &*unchecked.rule == "surface-temperature"));
}

#[test]
fn sheath_temperature() {
    let rug = format!("rug 0.4 m2K/W\n{USUAL}").replace("tile 10 mm\n", "");
    let plan = |power: f64| warmed(power, 500, "concrete", &rug, OVER_ROOM);
    let under = slab(SlabLayer::Resistance(0.4), 18.0);
    let (at, beyond) =
        about(meets(80.0, 50.0, 1500.0, |power| under.heat(power / 20.0, 0.1).expect("a solution").sheath));
    border("sheath-temperature", &plan(at), &plan(beyond));
}

#[test]
fn even_warmth() {
    let plan = |power: f64| warmed(power, 500, "concrete", USUAL, OVER_ROOM);
    let (at, beyond) = about(meets(5.0, 50.0, 1500.0, |power| heat_of(power).warmest - heat_of(power).coolest));
    border("even-warmth", &plan(at), &plan(beyond));
    // What it advises is even enough, and half a millimetre more isn't.
    let advice = check(&plan(600.0))
        .findings
        .iter()
        .find(|finding| &*finding.rule == "even-warmth")
        .and_then(|f| f.advice.clone());
    let advice = advice.expect("advice");
    let pitch: f64 = advice
        .split("a pitch of ")
        .nth(1)
        .and_then(|rest| rest.split(' ').next())
        .and_then(|n| n.parse().ok())
        .expect("a pitch");
    let ripple = |pitch: f64| {
        let heat = slab(TILE, 18.0).heat(300.0 * pitch / 1e3, pitch / 1e3).expect("a solution");
        heat.warmest - heat.coolest
    };
    assert!(ripple(pitch - 0.2) <= 5.0 && ripple(pitch + 0.5) > 5.0, "{advice}");
}

#[test]
fn downward_loss() {
    let plan = |layers: &str, below: f64| warmed(200.0, 500, "concrete", layers, &format!("below room {below} degC"));
    let lost = |below: f64| slab(TILE, below).heat(10.0, 0.1).expect("a solution").downward / 100.0;
    let (beyond, at) = about(-meets(0.2, -25.0, 10.0, |below| lost(-below)));
    border("downward-loss", &plan(USUAL, at), &plan(USUAL, beyond));
    // With the board it advises, rounded up, it passes.
    let report = check(&plan(USUAL, 5.0));
    let advice =
        report.findings.iter().find(|finding| &*finding.rule == "downward-loss").and_then(|f| f.advice.clone());
    let more: f64 = advice.expect("advice").split(' ').next().and_then(|n| n.parse().ok()).expect("a thickness");
    let thicker = |more: f64| USUAL.replace("board 10 mm", &format!("board {} mm", 10.0 + more));
    border("downward-loss", &plan(&thicker(more + 0.1), 5.0), &plan(&thicker(more - 0.2), 5.0));
}

#[test]
fn heat_demand() {
    let plan = |loss: f64| warmed(200.0, 500, "timber", USUAL, &format!("{OVER_ROOM}\nheat-loss {loss} W"));
    let (at, beyond) = about(2.0 * heat_of(200.0).upward);
    border("heat-demand", &plan(at), &plan(beyond));
}

#[test]
fn overboarding() {
    let over =
        |board: f64| warmed(200.0, 500, "timber", &USUAL.replace("board 10", &format!("board {board}")), OVER_ROOM);
    border("overboarding", &over(6.0), &over(5.9));
    let cement = |board: f64| {
        let board = format!("cement-board {board}");
        warmed(200.0, 500, "timber", &USUAL.replace("board 10", &board), OVER_ROOM)
    };
    border("overboarding", &cement(6.0), &cement(5.9));
    // A wood-based board on the deck needs 15 mm, and a decoupling layer or a backer board over it (BS 5385-3:2024, as quoted
    // publicly); the deck alone, what insulates, or what hangs under it, doesn't do.
    let under = |layers: &str| {
        warmed(200.0, 500, "timber", &format!("tile 10 mm\nadhesive 10 mm cable at 3 mm\n{layers}"), OVER_ROOM)
    };
    border(
        "overboarding",
        &under("decoupling 3 mm\nplywood 15 mm\nsoftwood 22 mm"),
        &under("decoupling 3 mm\nplywood 14.9 mm\nsoftwood 22 mm"),
    );
    border(
        "overboarding",
        &under("board 4 mm\nplywood 15 mm\nsoftwood 22 mm"),
        &under("plywood 15 mm\nsoftwood 22 mm"),
    );
    assert!(finds(&under("plywood 18 mm"), "overboarding"));
    assert!(finds(&under("mineral-wool 40 mm\nsoftwood 22 mm"), "overboarding"));
    assert!(finds(&under("decoupling 3 mm\nsoftwood 22 mm"), "overboarding"));
    assert!(finds(&under("plywood 18 mm\nquilt 100 mm mineral-wool\ncavity 0.2 m2K/W"), "overboarding"));
    assert!(!finds(&under("plywood 18 mm").replace("floor timber", "floor concrete"), "overboarding"));
}

#[test]
fn insulation() {
    // 5.25 mm over 0.035 W/mK are 0.15 m2K/W.
    let on = |layers: &str| {
        warmed(
            200.0,
            500,
            "concrete",
            &format!("tile 10 mm\nadhesive 10 mm cable at 3 mm\n{layers}\nconcrete 150 mm"),
            OVER_ROOM,
        )
    };
    border("insulation", &on("board 5.25 mm"), &on("board 5.24 mm"));
    border("insulation", &on("quilt 0.15 m2K/W"), &on("quilt 0.149 m2K/W"));
    // Over the cable it doesn't count.
    let over = warmed(
        200.0,
        500,
        "concrete",
        "tile 10 mm\nboard 10 mm\nadhesive 10 mm cable at 3 mm\nconcrete 150 mm",
        OVER_ROOM,
    );
    assert!(finds(&over, "insulation"));
}

#[test]
fn bay_size() {
    let floor = |width: u32, depth: u32, rest: &str| {
        format!(
            "room r {{\n  outline (0, 0) ({width}, 0) ({width}, {depth}) (0, {depth})\n{rest}\ncable a {{\nstart (500, 500)\nrun east 1000\n}}\n}}\n"
        )
    };
    border("bay-size", &floor(8000, 5000, ""), &floor(8000, 5001, ""));
    border("bay-size", &floor(8000, 3000, ""), &floor(8001, 3000, ""));
    // A joint from wall to wall makes two of it, one that stops short doesn't.
    let joint =
        |end: u32| floor(16000, 5000, &format!("joint j (8000, 0) (8000, 2500)\njoint k (8000, 2500) (8000, {end})"));
    border("bay-size", &joint(5000), &joint(4999));
    // Another level is a bay of its own; a large bay without cable doesn't matter.
    let level = |x: u32| floor(16000, 2000, &format!("level l +100 rect ({x}, 0) (16000, 2000)"));
    border("bay-size", &level(8000), &level(8001));
    assert!(finds(&floor(16000, 2000, "floor concrete {\ntile 10 mm\n}"), "bay-size"));
    assert!(!finds(&floor(16000, 2000, "floor concrete {\ncarpet 10 mm\n}"), "bay-size"));
    // A bay is heated by what only crosses it; and what shows of a level under stairs is no larger than that.
    let crossed = |end: u32| {
        format!(
            "room r {{\n  outline (0, 0) (12000, 0) (12000, 6000) (0, 6000)\njoint j (4000, 0) (4000, 6000)\n\
             cable a {{\nstart (500, 500)\nrun east {end}\n}}\n}}\n"
        )
    };
    border("bay-size", &crossed(3500), &crossed(4500));
    let stairs = |x: u32| {
        floor(9000, 3000, &format!("level l +100 rect (0, 0) (9000, 3000)\nlevel s stairs rect ({x}, 0) (9000, 3000)"))
    };
    border("bay-size", &stairs(8000), &stairs(8001));
    // Joints take nothing off the figures that are shown.
    let report = check(&floor(32000, 3000, "joint j (16000, 0) (16000, 3000)"));
    let finding = report.findings.iter().find(|finding| &*finding.rule == "bay-size").expect("a finding");
    assert!(finding.message.contains("measures 16 m by 3000 mm, 48 m2"), "{}", finding.message);
}

#[test]
fn cover() {
    let lies = |thickness: f64, height: f64| {
        warmed(
            200.0,
            500,
            "timber",
            &USUAL.replace("10 mm cable at 3", &format!("{thickness} mm cable at {height}")),
            OVER_ROOM,
        )
    };
    // A cable of 6 mm in a bed of 8 mm: nothing under it, 2 mm over it.
    border("cover", &lies(8.0, 3.0), &lies(8.0, 3.1));
    border("cover", &lies(8.0, 3.0), &lies(8.0, 2.9));
    border("cover", &lies(8.0, 3.0), &lies(7.9, 3.0));
}

#[test]
fn every_rule_is_here() {
    let text: String = ["tests/rule_limits.rs", "tests/circuit_limits.rs"]
        .map(|file| std::fs::read_to_string(crate::common::root().join(file)).expect(file))
        .concat();
    for rule in &crate::common::RULES.rules {
        assert!(text.contains(&format!("border(\"{}\"", rule.name)), "{} is not held to its limit here", rule.name);
    }
}
