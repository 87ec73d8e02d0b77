//! Cables laid in generated rooms: whatever is laid is clean, and as long as its kit; in rectangles it is as good as the best serpentine.

use std::time::{Duration, Instant};

use layrule::measure::areas::Margins;
use layrule::route::{Asked, Outcome, Setting, route};
use layrule::rules::packs::{RuleSet, built_in};

use crate::common::{check, text_of};
use crate::rooms_to_lay::{read, room};

/// How many rooms are laid, from which number on: others than the benchmark's.
const ROOMS: u64 = 24;
const FIRST: u64 = 70_000;
/// How many of them are laid, at the least.
const LEAST_LAID: usize = 12;

fn laid(text: &str, rules: &RuleSet) -> Result<String, String> {
    let setting = Setting { read: &read, rules, today: jiff::civil::date(2026, 11, 25) };
    // Far more than is needed, so that a busy machine changes nothing.
    let asked = Asked { room: None, kit: None, along: None, until: Instant::now() + Duration::from_secs(120) };
    let routed = route(text, &asked, &setting);
    match routed.rooms.into_iter().next() {
        Some((_, Outcome::Laid(_))) => Ok(routed.text),
        Some((_, Outcome::Stopped(stop))) => Err(stop.reason),
        None => Err("no room".into()),
    }
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
