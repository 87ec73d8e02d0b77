//! Cables laid in spirals: whatever is laid is clean, comes back to where it begins, and heats what its length and its spacing come to.

use layrule::geometry::cross;
use layrule::measure::areas::Margins;
use layrule::route::Pattern;
use layrule::rules::packs::{RuleSet, built_in};

use super::route::laid_in;
use crate::common::{check, text_of};
use crate::rooms_to_lay::read;

/// A room with its box and its thermostat near one corner, and a kit of so many metres of so many conductors.
fn plan(outline: &str, kit: f64, cores: usize, (junction, thermostat): (&str, &str), things: &str) -> String {
    format!(
        "kit K {{\n  output {} W at 230 V\n  length {kit} m\n  diameter 6 mm\n  bend-radius 25 mm\n  tail 6 m\n  screen earthed\n  cores {cores}\n}}\n\n\
         room r {{\n  outline {outline}\n{things}  junction j {junction} height 300\n  thermostat t {thermostat} height 1200 rated 16 A\n  cable a {{\n    kit K\n  }}\n}}\n",
        kit * 10.0
    )
}

/// A polygon of so many equal sides round a circle's points, touching the axes.
fn polygon(sides: usize, radius: f64) -> String {
    let corner = |number: usize| {
        let (sine, cosine) = (std::f64::consts::TAU * number as f64 / sides as f64).sin_cos();
        format!("({:.0}, {:.0})", radius * (1.0 + cosine), radius * (1.0 + sine))
    };
    (0..sides).map(corner).collect::<Vec<_>>().join(" ")
}

/// Rooms as their outlines, with places for a box and a thermostat, and the lengths of kits that come to some spacing from 90 mm to 118 mm there.
fn rooms() -> Vec<(String, (&'static str, &'static str), std::ops::RangeInclusive<usize>)> {
    vec![
        ("(0, 0) (3200, 0) (3200, 2400) (0, 2400)".into(), ("(0, 300)", "(0, 600)"), 60..=74),
        ("(0, 0) (4100, 0) (4100, 1900) (0, 1900)".into(), ("(0, 300)", "(0, 600)"), 62..=76),
        (polygon(6, 1700.0), ("(2300, 228)", "(2250, 228)"), 60..=76),
        (polygon(24, 1700.0), ("(1700, 0)", "(1750, 4)"), 72..=84),
    ]
}

/// The least share of these kits that are laid, of one conductor and of two: rounds meet evenly in the middle with some lengths alone, and a
/// conduit and two tails hardly pass through one strip along a wall.
const LEAST_LAID: [f64; 2] = [0.3, 0.6];

#[test]
fn spirals_are_clean_and_heat_what_their_length_comes_to() {
    let rules = RuleSet::build(built_in()).expect("the built-in packs are sound");
    for cores in [1, 2] {
        let (mut tried, mut laid) = (0, 0);
        for (outline, places, kits) in rooms() {
            for kit in kits.step_by(4) {
                tried += 1;
                let plan = plan(&outline, kit as f64, cores, places, "");
                let Ok(text) = laid_in(&plan, &rules, None, Pattern::Spiral) else { continue };
                laid += 1;
                let report = check(&text);
                let heavy = report.findings.iter().filter(|one| one.severity > layrule::finding::Severity::Note);
                assert_eq!(heavy.count(), 0, "{text}\n{}", text_of(&report));
                let measured = read(&text);
                let room = measured.rooms().next().expect("a room");
                let cable = &room.room.cables[0];
                assert_eq!(cable.second_tail.is_some(), cores == 1, "{text}");
                let (first, end) = (&cable.runs[0], cable.runs[cable.runs.len() - 1].end);
                // By hand: a cable heats its length times its spacing where no floor is heated twice, and the rounds lie a spacing apart, its two
                // ends too.
                let spacing = cross(first.end - first.start, end - first.start).abs() / first.length();
                let heated = room.heated_area(Margins { clearance: 50.0, free_height: 60.0 }).expect("heated");
                let length = room.laid_length(0, 25.0);
                assert!((kit as f64 * 1e3 * 0.98..=kit as f64 * 1e3 + 1.0).contains(&length), "{length} of {kit} m");
                let whole = length * spacing;
                assert!((0.9..1.04).contains(&(heated / whole)), "{heated} of {whole}:\n{text}");
            }
        }
        assert!(f64::from(laid) >= LEAST_LAID[cores - 1] * f64::from(tried), "{laid} of {tried} of {cores} conductors");
    }
}

#[test]
fn what_no_spiral_goes_round_is_told() {
    let rules = RuleSet::build(built_in()).expect("the built-in packs are sound");
    let column = "  fixture p column rect (1400, 1000) (1700, 1300)\n";
    let outline = "(0, 0) (3200, 0) (3200, 2400) (0, 2400)";
    let places = ("(0, 300)", "(0, 600)");
    let text = plan(outline, 66.0, 2, places, column);
    let why = laid_in(&text, &rules, None, Pattern::Spiral).expect_err("a column stands in the middle");
    assert!(why.contains("something stands in the middle of it"), "{why}");
    laid_in(&text, &rules, None, Pattern::Auto).expect("rows go round it");
    // Twice as long a kit would lie too close, one of half its length too wide.
    let why = laid_in(&plan(outline, 160.0, 2, places, ""), &rules, None, Pattern::Spiral).expect_err("too long");
    assert!(why.contains("`spacing`") || why.contains("`kit-size`"), "{why}");
}
