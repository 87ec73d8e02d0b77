//! Measurements against published laws and worked figures; each names its source.

use layrule::measure::circuit::{
    PREFERRED_RATINGS, SECTIONS, capacity, expected_resistance, is_breaker_rating, preferred_rating, voltage_drop,
};
use layrule::measure::electricity::{in_parallel, power_at};
use layrule::measure::length::laid_length;
use layrule::measure::plan::Measured;

use layrule::model::{Conductor, Insulation, Method};

use crate::common::{check, plan};

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * b.abs()
}

/// Ohm's and Joule's laws: R = U²/P, I = P/U. Physics; the figures are worked by hand.
#[test]
fn currents_and_resistances_follow_from_voltage_and_power() {
    let text = "kit k {\n  output 1150 W at 230 V\n  length 4 m\n}\nsupply s {\n  voltage 230 V\n}\nroom r {\n  outline (0, 0) (4000, 0) (4000, 3000) (0, 3000)\n  thermostat t (4000, 0) rated 16 A on s\n  cable a {\n    kit k\n    start (500, 500)\n    run east 2000\n  }\n  cable b {\n    kit k\n    start (500, 900)\n    run east 2000\n  }\n}\n";
    let plan = plan(text);
    assert!(plan.faults.is_empty(), "{:#?}", plan.faults);
    let measured = Measured::new(plan.clone());
    let room = measured.room(0).expect("a room");
    let cable = &plan.rooms[0].cables[0];
    assert!(close(plan.kits[0].resistance, 46.0), "230² / 1150 = 46 ohm");
    assert!(close(room.current(cable).expect("a current"), 5.0), "1150 / 230 = 5 A");
    // Two alike in parallel: half the resistance, twice the current.
    assert!(close(in_parallel([46.0, 46.0].into_iter()).expect("a resistance"), 23.0));
    // And so the plan itself measures them.
    let rules = crate::common::rules_with(
        "rule together {\n  about \"Together\"\n  severity note\n  basis practice\n  check thermostat in thermostats\n  message \"{thermostat.resistance}, {thermostat.load}\"\n}\n",
    );
    let report = crate::common::check_with(text, &rules);
    let found = report.findings.iter().find(|finding| &*finding.rule == "together").expect("a finding");
    assert_eq!(found.message, "23 Ω, 10 A");
    // At 240 V the same resistance gives (240/230)² of the power.
    assert!(close(power_at(1150.0, 230.0, 240.0), 240.0 * 240.0 / 46.0));
}

/// 1/R = Σ 1/Ri. Physics: of 10, 20 and 20 ohm half of the current takes the first, and R = 5 ohm.
#[test]
fn parallel_resistances_add_as_conductances() {
    assert!(close(in_parallel([10.0, 20.0, 20.0].into_iter()).expect("a resistance"), 5.0));
    assert_eq!(in_parallel(std::iter::empty()), None);
}

/// Pitch = free floor area / cable length; 1 m2 with 10 m of cable gives 100 mm. Common practice in the trade.
#[test]
fn pitch_follows_from_area_and_length() {
    // Its free floor is 1 m by 1 m.
    let text = "kit k {\n  output 100 W at 230 V\n  length 10 m\n}\nroom r {\n  outline (0, 0) (1100, 0) (1100, 1100) (0, 1100)\n  cable a {\n    kit k\n    start (100, 100)\n    run east 900\n  }\n}\n";
    let rules = crate::common::rules_with(
        "rule pitch {\n  about \"Pitch\"\n  severity note\n  basis practice\n  check room in rooms\n  message \"{room.free-area(50 mm, 60 mm) / room.kit-length}\"\n}\n",
    );
    let report = crate::common::check_with(text, &rules);
    let found = report.findings.iter().find(|finding| &*finding.rule == "pitch").expect("a finding");
    assert_eq!(found.message, "100 mm");
}

/// A quarter turn of radius r takes π/2·r where the corner takes 2·r: elementary geometry.
#[test]
fn rounded_corners_take_less_cable() {
    let text = "room r {\n  outline (0, 0) (4000, 0) (4000, 3000) (0, 3000)\n  cable a {\n    start (500, 500)\n    loops 5 of 1000 east, stepping 80 north\n  }\n}\n";
    let plan = plan(text);
    let runs = &plan.rooms[0].cables[0].runs;
    let drawn = 5.0 * 1000.0 + 4.0 * 80.0;
    assert!(close(laid_length(runs, 0.0), drawn));
    let saved = 2.0 - std::f64::consts::FRAC_PI_2;
    assert!(close(laid_length(runs, 25.0), drawn - 8.0 * 25.0 * saved));
    // More than half a turn there is no room for.
    assert!(close(laid_length(runs, 500.0), drawn - 8.0 * 40.0 * saved));
}

/// A hairpin of diameter m is a half-circle of π/2·m of cable: elementary geometry. A little over that pitch it passes however it is
/// drawn, a little under it doesn't. (Straight pieces inside the half-circle are shorter than it, hence the millimetre.)
#[test]
fn a_half_circle_of_the_least_spacing_passes() {
    let around = |diameter: f64, pieces: u32| {
        let mut path = String::from("start (500, 500)\nrun to (2000, 500)\n");
        for step in 1..=pieces {
            let angle = std::f64::consts::PI * f64::from(step) / f64::from(pieces) - std::f64::consts::FRAC_PI_2;
            let (x, y) = (2000.0 + diameter / 2.0 * angle.cos(), 500.0 + diameter / 2.0 * (1.0 + angle.sin()));
            path += &format!("run to ({x:.6}, {y:.6})\n");
        }
        path += &format!("run to (500, {:.6})", 500.0 + diameter);
        format!("room r {{\noutline (0, 0) (4000, 0) (4000, 3000) (0, 3000)\ncable a {{\n{path}\n}}\n}}\n")
    };
    let found = |text: &str| check(text).findings.iter().any(|finding| &*finding.rule == "spacing");
    for pieces in [6, 24] {
        assert!(!found(&around(51.0, pieces)), "{pieces} pieces of 51 mm");
        assert!(found(&around(48.0, pieces)), "{pieces} pieces of 48 mm");
    }
}

/// BS 7671, table 4E4B, two-core copper at 90 degC: 31, 19, 12, 7.9, 4.7, 2.9 mV/A/m for 1.5 to 16 mm2, rounded to two figures as the
/// table rounds. Ours come from the resistances of IEC 60228.
#[test]
fn voltage_drops_are_those_of_the_published_table() {
    let table = [31.0, 19.0, 12.0, 7.9, 4.7, 2.9];
    for (section, published) in SECTIONS.into_iter().zip(table) {
        let metre = Conductor {
            section,
            length: 1000.0,
            method: Method::C,
            insulation: Insulation::Xlpe,
            grouped: 1.0,
            in_insulation: 0.0,
        };
        let lost = voltage_drop(&metre, 1.0).expect("a tabulated section") * 1e3;
        let step = if published < 10.0 { 0.1 } else { 1.0 };
        let rounded = (lost / step).round() * step;
        assert!((rounded - published).abs() < 1e-9, "{section} mm2: {lost} mV/A/m, published {published}");
    }
    let odd = Conductor {
        section: 3.0,
        length: 1000.0,
        method: Method::C,
        insulation: Insulation::Pvc,
        grouped: 1.0,
        in_insulation: 0.0,
    };
    assert_eq!(voltage_drop(&odd, 1.0), None);
}

/// IEC 60898-1, preferred rated currents.
#[test]
fn preferred_ratings_are_those_of_the_standard() {
    assert_eq!(PREFERRED_RATINGS.map(|rating| rating as u32), [6, 10, 13, 16, 20, 25, 32, 40, 50, 63, 80, 100, 125]);
    assert!(is_breaker_rating(13.0) && !is_breaker_rating(13.5) && !is_breaker_rating(15.0));
    assert_eq!(
        (preferred_rating(13.04), preferred_rating(16.0), preferred_rating(126.0)),
        (Some(16.0), Some(16.0), None)
    );
}

/// IEC 60364-5-52, tables B.52.2 and B.52.14 (recalled): PVC, two loaded conductors. The factor by temperature is that of
/// sqrt((70 - t) / 40), to the two figures of the table.
#[test]
fn capacities_follow_the_tables() {
    let pvc = |section, method| capacity(section, method, Insulation::Pvc, 30.0).expect("a capacity");
    for (method, row) in [
        (Method::A1, [14.5, 19.5, 26.0, 34.0]),
        (Method::B1, [17.5, 24.0, 32.0, 41.0]),
        (Method::B2, [16.5, 23.0, 30.0, 38.0]),
        (Method::C, [19.5, 27.0, 36.0, 46.0]),
    ] {
        assert_eq!([1.5, 2.5, 4.0, 6.0].map(|section| pvc(section, method)), row, "{method:?}");
    }
    for (insulation, limit, top) in [(Insulation::Pvc, 70.0f64, 60), (Insulation::Xlpe, 90.0, 80)] {
        for ambient in (10..=top).step_by(5).map(f64::from) {
            let factor = capacity(10.0, Method::C, insulation, ambient).expect("a capacity")
                / capacity(10.0, Method::C, insulation, 30.0).expect("a capacity");
            let law = ((limit - ambient) / (limit - 30.0)).sqrt();
            assert!((factor - law).abs() < 0.006, "{insulation:?} at {ambient}: {factor}, {law}");
        }
    }
    // Between two temperatures the warmer counts, below the least the least, and above the greatest nothing is known.
    let at = |ambient| capacity(10.0, Method::C, Insulation::Pvc, ambient);
    assert_eq!((at(31.0), at(0.0), at(61.0)), (at(35.0), at(10.0), None));
}

/// 1/R = sum of 1/Ri holds for the ends of the tolerance bands too. Physics; the figures are worked by hand.
#[test]
fn parallel_bands_add_as_conductances() {
    let text = "kit k {\n  output 529 W at 230 V\n  length 4 m\n  resistance 100 ohm, -4 % to +8 %\n}\nkit l {\n  output 1058 W at 230 V\n  length 4 m\n  resistance 50 ohm\n}\n";
    let plan = plan(text);
    let (least, greatest) = expected_resistance(plan.kits.iter(), (0.05, 0.10)).expect("a band");
    assert!(close(least, 1.0 / (1.0 / 96.0 + 1.0 / 47.5)) && close(greatest, 1.0 / (1.0 / 108.0 + 1.0 / 55.0)));
    assert_eq!(expected_resistance(std::iter::empty(), (0.05, 0.10)), None);
}
