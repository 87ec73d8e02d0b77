//! Cables laid in generated rooms: whatever is laid is clean, and as long as its kit; in rectangles it is as good as the best serpentine.

use std::cell::Cell;
use std::time::{Duration, Instant};

use layrule::checker::untried;
use layrule::geometry::Point;
use layrule::measure::areas::Margins;
use layrule::measure::plan::Measured;
use layrule::route::bare::Grid;
use layrule::route::draw_in::DrawIn;
use layrule::route::frame::Frame;
use layrule::route::judge::Quality;
use layrule::route::limits::Limits;
use layrule::route::region::polygon;
use layrule::route::rows::Ground;
use layrule::route::{Asked, Outcome, Pattern, Setting, route};
use layrule::rules::packs::{RuleSet, built_in};

use crate::common::{check, files_below, plan_with_kits, root, rules_with, text_of};
use crate::rooms_to_lay::{read, room};

/// How many rooms are laid, from which number on: others than the benchmark's.
const ROOMS: u64 = 24;
const FIRST: u64 = 70_000;
/// How many of them are laid, at the least.
const LEAST_LAID: usize = 12;

fn laid(text: &str, rules: &RuleSet) -> Result<String, String> {
    laid_along(text, rules, None)
}

fn laid_along(text: &str, rules: &RuleSet, along: Option<usize>) -> Result<String, String> {
    laid_in(text, rules, along, Pattern::Auto)
}

pub(super) fn laid_in(text: &str, rules: &RuleSet, along: Option<usize>, pattern: Pattern) -> Result<String, String> {
    let setting = Setting { read: &read, rules, today: jiff::civil::date(2026, 11, 25), stop: &|| false };
    // Far more than is needed, so that a busy machine changes nothing.
    let asked = Asked { along, pattern, ..Asked::by(Instant::now() + Duration::from_secs(120)) };
    let routed = route(text, &asked, &setting);
    match routed.rooms.into_iter().next() {
        Some((_, Outcome::Laid(_))) => Ok(routed.text),
        Some((_, Outcome::Stopped(stop))) => Err(stop.reason),
        None => Err("no room".into()),
    }
}

/// Rooms in which rows alone, or filled, leave a rule a little broken wherever they lie: beside what is drilled, or where a pair of runs comes too near.
const TO_MEND: [u64; 3] = [1033, 1176, 2283];

/// Held to all rules and to the kit's length by the checker, which knows nothing of how they were laid.
#[test]
fn what_is_almost_clean_is_mended() {
    let rules = RuleSet::build(built_in()).expect("the built-in packs are sound");
    for number in TO_MEND {
        let text = laid(&room(number).text, &rules).unwrap_or_else(|reason| panic!("room {number}: {reason}"));
        let report = check(&text);
        let heavy = report.findings.iter().filter(|one| one.severity > layrule::finding::Severity::Note);
        let found = heavy.filter(|one| one.accepted.is_none() && &*one.rule != "deviation-unused");
        assert_eq!(found.count(), 0, "room {number}:\n{text}\n{}", text_of(&report));
    }
}

/// What is looked at is counted, not timed: with other time to spare come the same bytes.
#[test]
fn the_time_that_there_is_changes_nothing() {
    let rules = RuleSet::build(built_in()).expect("the built-in packs are sound");
    for number in [5000, 5001, 5002] {
        let text = room(number).text;
        let in_time = |seconds: u64| {
            let setting =
                Setting { read: &read, rules: &rules, today: jiff::civil::date(2026, 11, 25), stop: &|| false };
            let until = Instant::now() + Duration::from_secs(seconds);
            route(&text, &Asked::by(until), &setting).text
        };
        let once = in_time(120);
        assert!(once != text && once == in_time(240), "room {number}");
    }
}

/// Three rows of 2 m, 100 mm apart, and one of them moved by 20 mm. By hand: 100 over 100, and 120 over 80; of both are heated alike, half a spacing
/// round each, so that the even one is the better for its spacing alone.
#[test]
fn of_clean_layouts_the_most_even_is_the_best() {
    let rules = RuleSet::build(built_in()).expect("the built-in packs are sound");
    let limits = Limits::of(&rules);
    let quality = |rows: [f64; 2]| {
        let [one, other] = rows;
        let text = format!(
            "{}  cable a {{\n    kit    K\n    start  (100, 100)\n    run    east 2000\n    run    north {one}\n    run    west 2000\n    run    north {other}\n    run    east 2000\n  }}\n}}\n",
            bare(2200.0, 420.0, 6.2, 2).split("  cable a").next().expect("a room")
        );
        Quality::of(&read(&text), "r", &text, &limits)
    };
    let (even, moved) = (quality([100.0, 100.0]), quality([120.0, 80.0]));
    assert!((even.uneven() - 1.0).abs() < 0.01 && (moved.uneven() - 1.5).abs() < 0.01, "{even:?} {moved:?}");
    assert!(even < moved && moved < quality([140.0, 60.0]), "{even:?} {moved:?}");
}

/// Rows of 1 m, 100 mm apart, with three turns before free floor, 40 mm of it ahead: each turn led out by `d` takes `2·d` more. By hand, 90 mm are had by
/// 15 mm each, 240 mm by 40 mm each, and no more.
#[test]
fn turns_are_led_out_as_far_as_the_floor_goes() {
    let at = |x: f64, y: f64| Point { x, y };
    let line: Vec<Point> = [(0.0, 0.0), (1000.0, 0.0), (1000.0, 100.0), (0.0, 100.0), (0.0, 200.0), (1000.0, 200.0)]
        .into_iter()
        .chain([(1000.0, 300.0), (0.0, 300.0)])
        .map(|(x, y)| at(x, y))
        .collect();
    let floor = polygon(&[at(-40.0, -40.0), at(1040.0, -40.0), at(1040.0, 340.0), at(-40.0, 340.0)]);
    let (floor, frame) = (geo::MultiPolygon::from(floor), Frame::along(at(1.0, 0.0)));
    let (ground, grid) = (Ground::new(&floor, &[], frame), Grid::new(&floor, frame, 30.0, 0.0));
    let draw_in = DrawIn { grid: &grid, pitch: 100.0, least: 50.0, straight: 110.0, cold: (250.0, 2000.0) };
    let length =
        |line: &[Point]| line.windows(2).map(|pair| (pair[1] - pair[0]).x.hypot((pair[1] - pair[0]).y)).sum::<f64>();
    let more = |lacking: f64| draw_in.lengthened(&line, lacking, &ground).map(|longer| length(&longer) - length(&line));
    assert_eq!(more(90.0), Some(90.0));
    assert_eq!(more(240.0), Some(240.0));
    assert_eq!(more(241.0), None);
}

#[test]
fn whatever_is_laid_is_clean_and_the_rest_has_a_reason() {
    let rules = RuleSet::build(built_in()).expect("the built-in packs are sound");
    let mut count = 0;
    for number in FIRST..FIRST + ROOMS {
        let to_lay = room(number);
        match laid(&to_lay.text, &rules) {
            Ok(text) => {
                count += 1;
                let report = check(&text);
                let heavy = |finding: &&layrule::finding::Finding| finding.severity > layrule::finding::Severity::Note;
                // The deviations of these rooms may cover something or nothing.
                let open = report.findings.iter().filter(heavy).filter(|one| one.accepted.is_none());
                let found = open.filter(|one| &*one.rule != "deviation-unused");
                assert_eq!(found.count(), 0, "room {number}, {}:\n{text}\n{}", to_lay.shape, text_of(&report));
                assert!(layrule::layout::parse(&text).faults.is_empty());
            }
            Err(reason) => assert!(!reason.is_empty(), "room {number}"),
        }
    }
    assert!(count >= LEAST_LAID, "{count} of {ROOMS} laid");
}

/// Rows of a serpentine take `n·l + (n - 1)·p` of cable and, as long as they end no farther than half a spacing from the free floor's edge,
/// heat all of it: what a whole kit heats at the most is its length times the spacing, by hand.
#[test]
fn rectangles_are_heated_as_by_the_best_serpentine() {
    let rules = RuleSet::build(built_in()).expect("the built-in packs are sound");
    for (wide, deep, kit) in
        [(3400.0, 2200.0, 70.0), (2600.0, 2600.0, 62.0), (4200.0, 1500.0, 57.0), (1800.0, 3100.0, 50.0)]
    {
        let text = format!(
            "kit K {{\n  output 700 W at 230 V\n  length {kit} m\n  diameter 6 mm\n  bend-radius 25 mm\n  tail 3 m\n  screen earthed\n}}\n\nroom r {{\n  outline (0, 0) ({wide}, 0) ({wide}, {deep}) (0, {deep})\n  junction j ({wide}, 400) height 300\n  thermostat t ({wide}, 700) height 1200 rated 16 A\n  cable a {{\n    kit K\n  }}\n}}\n"
        );
        let text = laid(&text, &rules).expect("a rectangle is laid");
        let measured = read(&text);
        let room = measured.rooms().next().expect("a room");
        let margins = Margins { clearance: 50.0, free_height: 60.0 };
        let (free, heated) = (room.free_area(margins).expect("free"), room.heated_area(margins).expect("heated"));
        assert!((free - (wide - 100.0) * (deep - 100.0)).abs() < 1.0);
        let length = room.laid_length(0, 25.0);
        assert!((length - kit * 1e3).abs() <= kit * 1e3 * 0.01, "{length} of {kit} m");
        // Its rows lie half a spacing from the border and end no farther from it, so that all is heated but for what lies between open turns.
        assert!(heated >= free * 0.985, "{wide} by {deep}: {heated} of {free}");
    }
}

/// What of a strip beyond the ends of two rows, which no turn joins there, lies farther than half the spacing from both: the strip's depth `d`
/// times the spacing, less a segment of a disc of that radius round either end. By hand; for `d = r` it is `r² (2 - π/2)`.
fn between_open_ends(spacing: f64, depth: f64) -> f64 {
    let r = spacing / 2.0;
    let d = depth.clamp(0.0, r);
    spacing * d - (d * (r * r - d * d).sqrt() + r * r * (d / r).asin())
}

/// The most that a serpentine of a kit heats of free floor of `along` by `across`, mm2, its rows going along the first. `n` rows of length `l`
/// at the spacing `p` take `n·l + (n - 1)·p` as drawn, and less by `(2 - π/2)·r` for each of its `2 (n - 1)` corners, which the cable rounds by `r`.
/// They heat what lies within `p/2` of them, `min(l + p, along)` by `min(n·p, across)`, less what lies between the ends that no turn joins, one
/// for each pair of neighbours. The best of all spacings and numbers of rows that fit.
fn best_serpentine(length: f64, (along, across): (f64, f64), (least, most): (f64, f64)) -> f64 {
    let mut best: f64 = 0.0;
    for step in 0..=((most - least) * 10.0) as usize {
        let p = least + step as f64 / 10.0;
        for n in 2..=(across / p) as usize + 1 {
            let turns = (n - 1) as f64;
            let saved = 2.0 * turns * (2.0 - std::f64::consts::FRAC_PI_2) * 25.0_f64.min(p / 2.0);
            let l = (length + saved - turns * p) / n as f64;
            if l > 0.0 && l <= along && turns * p <= across {
                let open = turns * between_open_ends(p, (along - l) / 2.0);
                best = best.max((l + p).min(along) * (n as f64 * p).min(across) - open);
            }
        }
    }
    best
}

/// A bare rectangle with its box and its thermostat on wall 2, to the east, or on wall 3, to the north; and a kit.
fn bare(wide: f64, deep: f64, kit: f64, wall: usize) -> String {
    let on = |from: f64| if wall == 2 { format!("({wide}, {from})") } else { format!("({from}, {deep})") };
    format!(
        "kit K {{\n  output {} W at 230 V\n  length {kit} m\n  diameter 6 mm\n  bend-radius 25 mm\n  tail 4 m\n  screen earthed\n}}\n\nroom r {{\n  outline (0, 0) ({wide}, 0) ({wide}, {deep}) (0, {deep})\n  junction j {} height 300\n  thermostat t {} height 1200 rated 16 A\n  cable a {{\n    kit K\n  }}\n}}\n",
        kit * 10.0,
        on(400.0),
        on(700.0)
    )
}

/// What is laid along a wall in a bare rectangle heats, as a share of the best serpentine; nothing where nothing is laid.
fn share_of_best(
    rules: &RuleSet,
    (wide, deep): (f64, f64),
    kit: f64,
    along: usize,
    wall: usize,
) -> Result<f64, String> {
    let text = laid_along(&bare(wide, deep, kit, wall), rules, Some(along))?;
    let measured = read(&text);
    let room = measured.rooms().next().ok_or("no room")?;
    let heated = room.heated_area(Margins { clearance: 50.0, free_height: 60.0 }).ok_or("nothing heated")?;
    let (x, y) = (wide - 100.0, deep - 100.0);
    let best = best_serpentine(kit * 1e3, if along == 1 { (x, y) } else { (y, x) }, (50.0, 126.0));
    assert!(best <= x * y + 1e-6 && best > 0.95 * x * y, "{best} of {}", x * y);
    Ok(heated / best)
}

/// Twenty bare rectangles, from 1.6 m to 5.4 m wide and 1.4 m to 3.3 m deep, each with a kit of whole and half metres that comes to a spacing from
/// 80 mm to 118 mm.
fn rectangles() -> impl Iterator<Item = ((f64, f64), f64)> {
    (0..20).map(|number| {
        let (wide, deep) = (1600.0 + 200.0 * f64::from(number), 1400.0 + 100.0 * f64::from((number * 7) % 20));
        let spacing = 80.0 + 2.0 * f64::from((number * 3) % 20);
        ((wide, deep), ((wide - 100.0) * (deep - 100.0) / spacing / 500.0).round() / 2.0)
    })
}

/// The least of them, of which a little more is let go.
const SMALLEST: (f64, f64) = (1600.0, 1400.0);

/// Along either wall, where rows end at the wall that the cable is wired at: within a hundredth of the best serpentine, as reckoned by hand.
#[test]
fn bare_rectangles_are_heated_within_a_hundredth_of_the_best() {
    let rules = RuleSet::build(built_in()).expect("the built-in packs are sound");
    let mut wrong = Vec::new();
    for (sides, kit) in rectangles() {
        for (along, wall) in [(1, 2), (2, 3)] {
            match share_of_best(&rules, sides, kit, along, wall) {
                Ok(share) if share >= 0.99 => {}
                // On 1.95 m2 what a tail and a sensor's channel take away weighs more.
                Ok(share) if sides == SMALLEST && along == 1 && share >= 0.97 => {}
                told => wrong.push(format!("{sides:?}, {kit} m along wall {along}: {told:?}")),
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// Where rows go along the wall that the cable is wired at, no row ends where its tail and its sensor begin: these take more from it, and some
/// kits can't be laid so, which the reason says.
#[test]
fn rows_along_the_wall_of_the_box_heat_most_of_the_best() {
    let rules = RuleSet::build(built_in()).expect("the built-in packs are sound");
    let mut laid = 0;
    for (sides, kit) in rectangles() {
        match share_of_best(&rules, sides, kit, 2, 2) {
            Ok(share) => {
                laid += 1;
                assert!(share >= 0.94, "{sides:?}, {kit} m: {share}");
            }
            Err(reason) => assert!(reason.contains("the nearest breaks"), "{sides:?}, {kit} m: {reason}"),
        }
    }
    assert!(laid >= 17, "{laid} of 20 laid");
}

/// A strip as deep as half the spacing leaves two quarters of what a square has over its disc; one of no depth leaves nothing.
#[test]
fn what_lies_between_open_ends_is_reckoned_by_hand() {
    let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} is not {b}");
    near(between_open_ends(100.0, 50.0), 2500.0 * (2.0 - std::f64::consts::FRAC_PI_2));
    near(between_open_ends(100.0, 0.0), 0.0);
    // 30 and 40 beside a radius of 50: by the segment's own triangle and sector.
    near(between_open_ends(100.0, 30.0), 3000.0 - (30.0 * 40.0 + 2500.0 * 0.6_f64.asin()));
}

/// A plan's cables without their ways, sensors left in.
fn unlaid(text: &str) -> String {
    use layrule::layout::tree::{CableEntry, RoomEntry, Statement};
    let file = layrule::layout::parse(text);
    let mut edits: Vec<(std::ops::Range<usize>, String)> = Vec::new();
    let rooms = file.statements.iter().filter_map(|statement| match statement {
        Statement::Room(room) => Some(room),
        _ => None,
    });
    for entry in rooms.flat_map(|room| &room.entries) {
        let RoomEntry::Cable(cable) = entry else { continue };
        let start = cable.span.start();
        let end = start + text[start..].find('}').expect("its end") + 1;
        let kept = cable.entries.iter().filter_map(|entry| match entry {
            CableEntry::Kit(word) => Some(format!("    kit {}\n", word.text)),
            CableEntry::By(word) => Some(format!("    by {}\n", word.text)),
            _ => None,
        });
        edits.push((start..end, format!("cable {} {{\n{}  }}", cable.name.text, kept.collect::<String>())));
    }
    let mut text = text.to_string();
    edits.into_iter().rev().for_each(|(range, new)| text.replace_range(range, &new));
    text
}

/// Examples that are laid anew with less of the free floor heated than as they are drawn, or not at all: the room, the share that is heated at
/// the least (%), and why.
const EXCEPTIONS: &[(&str, &str, Option<f64>, &str)] = &[
    ("bathroom", "bathroom", Some(96.1), "the most even of the first few is taken; as drawn 96.3 %"),
    ("boot-room", "boot-room", Some(97.0), "the most even of the first few is taken; as drawn 98.8 %"),
    ("flat-6", "bedroom", Some(97.2), "the most even of the first few is taken; as drawn 99.6 %"),
    (
        "garden-room",
        "garden-room",
        None,
        "its kits ask for 124 mm, wider than rules allow: agreed for the drawing alone",
    ),
    ("kitchen", "kitchen", Some(98.4), "the most even of the first few is taken; as drawn 99.3 %"),
    ("loft", "loft", Some(97.0), "the most even of the first few is taken; as drawn 99.7 %"),
    ("studio", "studio", None, "its kit asks for 127 mm, wider than rules allow: agreed for the drawing alone"),
    ("two-bays", "living-dining", Some(95.9), "the most even of the first few is taken; as drawn 97.7 %"),
    ("wash-room", "wash-room", None, "a mat, which is cut and turned by hand"),
];

/// The examples' own cables taken away and laid anew: clean, and as much of the free floor heated as where somebody drew them.
#[test]
fn the_examples_cables_are_laid_anew() {
    let rules = RuleSet::build(built_in()).expect("the built-in packs are sound");
    let margins = Margins { clearance: 50.0, free_height: 60.0 };
    let shares = |text: &str| -> Vec<(String, f64)> {
        let measured = plan_with_kits(text);
        let measured = Measured::new(measured);
        let share = |room: layrule::measure::room::RoomMeasure<'_>| {
            let heated = room.heated_area(margins).unwrap_or(0.0);
            (room.room.name.text.clone(), 100.0 * heated / room.free_area(margins).expect("free floor"))
        };
        measured.rooms().map(share).collect()
    };
    let (mut rooms, mut wrong) = (0, Vec::new());
    for (name, text) in examples_with_cables() {
        let setting = Setting {
            read: &|text| Measured::new(plan_with_kits(text)),
            rules: &rules,
            today: jiff::civil::date(2026, 11, 25),
            stop: &|| false,
        };
        let asked = Asked::by(Instant::now() + Duration::from_secs(60));
        let routed = route(&unlaid(&text), &asked, &setting);
        let (drawn, anew) = (shares(&text), shares(&routed.text));
        let report = untried(&Measured::new(plan_with_kits(&routed.text)), &rules, jiff::civil::date(2026, 11, 25));
        for (room, outcome) in &routed.rooms {
            rooms += 1;
            let share = |of: &[(String, f64)]| of.iter().find(|(own, _)| own == room).map_or(0.0, |(_, share)| *share);
            let exception = EXCEPTIONS.iter().find(|(file, own, ..)| *file == name && own == room);
            let least = exception.map_or(Some(share(&drawn) - 0.01), |(_, _, least, _)| *least);
            match (outcome, least) {
                (Outcome::Laid(_), Some(least)) if share(&anew) >= least => {}
                (Outcome::Stopped(_), None) => continue,
                (outcome, _) => {
                    wrong.push(format!("{name} {room}: {:.2} % of {:.2} %, {outcome:?}", share(&anew), share(&drawn)));
                }
            }
            let heavy = |one: &&layrule::finding::Finding| one.severity > layrule::finding::Severity::Note;
            let found = report.findings.iter().filter(heavy).filter(|one| one.accepted.is_none());
            let found = found.filter(|one| one.room.as_ref() == Some(room) && &*one.rule != "deviation-unused");
            wrong.extend(found.map(|one| format!("{name} {room}: {}: {}", one.rule, one.message)));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(rooms >= 12, "{rooms} rooms");
}

/// The example plans in which cable lies, by their names.
fn examples_with_cables() -> Vec<(String, String)> {
    let plans = files_below(&root().join("examples"), &["lay"]);
    let own = plans.into_iter().filter(|path| path.parent() == Some(&root().join("examples")));
    let named = own.map(|path| {
        let name = path.file_stem().expect("a name").to_string_lossy().into_owned();
        (name, std::fs::read_to_string(path).expect("an example"))
    });
    named.filter(|(_, text)| text.contains("\n  cable ")).collect()
}

/// Once nobody wants it any more no further layout is drawn up or read, wherever it has come to.
#[test]
fn laying_stops_where_it_is_no_longer_wanted() {
    // No layout keeps this rule, so that one is tried after the other.
    let never = "rule never {\nabout \"a\"\nseverity error\nbasis practice\ncheck run in runs\nrequire run.length > 99 m\nmessage \"m\"\n}\n";
    let rules = rules_with(never);
    let text = room(FIRST).text;
    let read = Cell::new(0);
    let lay = |most: usize| {
        read.set(0);
        let setting = Setting {
            read: &|text| {
                read.set(read.get() + 1);
                crate::rooms_to_lay::read(text)
            },
            rules: &rules,
            today: jiff::civil::date(2026, 11, 25),
            stop: &|| read.get() >= most,
        };
        let asked = Asked::by(Instant::now() + Duration::from_secs(60));
        route(&text, &asked, &setting);
        read.get()
    };
    assert_eq!(lay(0), 0);
    for most in [1, 2, 3, 4, 5, 9, 17] {
        let now = lay(most);
        // A room's own readings, of which there are three, are one step.
        assert_eq!(now, most.max(3), "so many texts were read, though none was wanted after {most}");
    }
}
