//! The rules of the circuit and of the test record at their limits, and one step beyond.
//!
//! Figures come from the standards that the rules name, and otherwise from common practice in the trade.

use crate::common::limits::{border, finds};
use crate::common::{check, rules_found};

/// A supply that suits a cable of `power` (W) at 230 V, with `lines` in place of its own.
fn fed(power: f64, lines: &str, room: &str) -> String {
    let mut supply = String::new();
    for (word, line) in [
        ("voltage", "voltage 230 V"),
        ("rcd", "rcd 30 mA"),
        ("breaker", "breaker 16 A"),
        ("conductor", "conductor 2.5 mm2 copper, 10 m, method C"),
    ] {
        if !lines.contains(word) {
            supply += &format!("  {line}\n");
        }
    }
    format!(
        "kit k {{\n  output {power} W at 230 V\n  length 4 m\n  screen earthed\n}}\nsupply s {{\n{supply}{lines}\n}}\n\
         room r {{\n  outline (0, 0) (4000, 0) (4000, 3000) (0, 3000)\n  thermostat t (4000, 2000) height 1200 rated 63 A on s\n{room}\n  \
         cable a {{\n    kit k\n    start (500, 500)\n    run east 2500\n  }}\n}}\n"
    )
}

#[test]
fn contactor() {
    // I = P / U: 4600 W at 230 V are 20 A.
    let loaded = |power: f64| fed(power, "", "contactor c rated 20 A for t");
    border("contactor", &loaded(4600.0), &loaded(4600.1));
    // It counts for itself, also where the thermostat could switch the load.
    assert!(finds(&fed(1150.0, "", "contactor c rated 4 A for t"), "contactor"));
}

#[test]
fn contactor_category() {
    let category = |word: &str| fed(1150.0, "", &format!("contactor c rated 25 A {word} for t"));
    border("contactor-category", &category("AC-7a"), &category("AC-7b"));
    border("contactor-category", &category("AC-1"), &category("AC-3"));
    // One that doesn't say is not passed.
    assert!(check(&category("")).unchecked.iter().any(|own| &*own.rule == "contactor-category"));
}

#[test]
fn thermostat_protection() {
    let behind =
        |amperes: &str| fed(230.0, "", "").replace("rated 63 A on s", &format!("rated 63 A behind {amperes} on s"));
    border("thermostat-protection", &behind("16 A"), &behind("15.9 A"));
    // A fuse before it counts where it is rated less than the breaker.
    let fused = fed(230.0, "fuse 13 A", "").replace("rated 63 A on s", "rated 63 A behind 13 A on s");
    assert!(!finds(&fused, "thermostat-protection"));
    // What its maker doesn't say isn't asked for.
    assert!(!finds(&fed(230.0, "", ""), "thermostat-protection"));
}

#[test]
fn rcd_type() {
    let of = |word: &str| fed(230.0, &format!("rcd 30 mA {word}"), "");
    for sound in ["type A", "type F", "type B"] {
        border("rcd-type", &of(sound), &of("type AC"));
    }
    assert!(check(&of("")).unchecked.iter().any(|own| &*own.rule == "rcd-type"));
}

#[test]
fn rcd_load() {
    // 7.5 kW at 230 V are 32.6 A.
    let load = |power: f64| fed(power, "breaker 40 A\nconductor 10 mm2 copper, 10 m, method C", "");
    border("rcd-load", &load(7500.0), &load(7500.1));
}

#[test]
fn bonding() {
    let by = |fixture: &str, bonded: &str| fed(230.0, "", &format!("{fixture}\n{bonded}"));
    let bath = "fixture bath rect (0, 2000) (700, 3000)";
    let tray = "fixture tray shower rect (0, 2000) (900, 3000)";
    for water in [bath, tray, "shower-head rose (900, 3000) height 2100"] {
        border("bonding", &by(water, "bonded"), &by(water, ""));
        border("bonding", &by(water, "bonded main"), &by(water, ""));
    }
    border("bonding", &by("fixture wc rect (0, 2000) (400, 2600)", ""), &by(bath, ""));
    // A room that heats nothing is not asked, nor is one on safety extra-low voltage.
    let selv = by(bath, "").replace("  rcd 30 mA\n", "  selv\n").replace("230 V", "24 V");
    assert!(!finds(&selv, "bonding"));
    let cold =
        "room r {\n outline (0, 0) (4000, 0) (4000, 3000) (0, 3000)\n fixture bath rect (0, 2000) (700, 3000)\n}\n";
    assert!(!finds(cold, "bonding"));
}

#[test]
fn in_parallel() {
    let two = |tail: &str, x: u32| {
        format!(
            "room r {{\n outline (0, 0) (4000, 0) (4000, 3000) (0, 3000)\n junction j (4000, 500)\n cable a {{\n tail j (3900, 500)\n start (3900, 500)\n \
             run west 1000\n }}\n cable b {{\n {tail} (3900, 900)\n start ({x}, 900)\n run west 1000\n }}\n}}\n"
        )
    };
    border("in-parallel", &two("tail j", 3900), &two("tail cable a", 3900));
    // A cable that starts where another ends is joined to it without a word: within 0.001 mm.
    let touching = |y: f64| {
        format!(
            "room r {{\n outline (0, 0) (4000, 0) (4000, 3000) (0, 3000)\n cable a {{\n start (3900, 500)\n run west 1000\n }}\n cable b {{\n \
             start (2900, {y})\n run west 1000\n }}\n}}\n"
        )
    };
    border("in-parallel", &touching(500.002), &touching(500.0));
    // The joint is where its tail starts, so that the tail doesn't cross the cable it comes from there.
    let joined =
        two("tail cable a", 3900).replace("(3900, 900)\n start", "(2900, 700) (3900, 700) (3900, 900)\n start");
    assert!(!finds(&joined, "tail-crossing"), "{:#?}", check(&joined).findings);
}

#[test]
fn supply_voltage() {
    // Five per cent of 230 V are 11.5 V, either way.
    let at = |volts: f64| fed(230.0, &format!("voltage {volts} V"), "");
    border("supply-voltage", &at(241.5), &at(241.6));
    border("supply-voltage", &at(218.5), &at(218.4));
}

#[test]
fn rcd() {
    let rated = |milliamperes: u32| fed(230.0, &format!("rcd {milliamperes} mA"), "");
    border("rcd", &rated(30), &rated(31));
    // None is as bad as too coarse a one.
    assert!(finds(&rated(30).replace("rcd 30 mA\n", "\n"), "rcd"));
}

#[test]
fn breaker() {
    // Ib <= In: 3680 W at 230 V are 16 A.
    border("breaker", &fed(3680.0, "", ""), &fed(3680.1, "", ""));
    // In <= Iz: 2.5 mm2 by method A1 carry 19.5 A, by B1 24 A (IEC 60364-5-52, table B.52.2).
    let of = |amperes: u32, method: &str| {
        fed(230.0, &format!("breaker {amperes} A\nconductor 2.5 mm2 copper, 10 m, method {method}"), "")
    };
    border("breaker", &of(16, "A1"), &of(20, "A1"));
    border("breaker", &of(20, "B1"), &of(25, "B1"));
    // 1.06 x 19.5 A = 20.67 A at 25 degC, 0.71 x 27 A = 19.17 A at 50 degC (table B.52.14).
    let warm = |method: &str, ambient: u32| {
        format!("breaker 20 A\nambient {ambient} degC\nconductor 2.5 mm2 copper, 10 m, method {method}")
    };
    border("breaker", &fed(230.0, &warm("A1", 25), ""), &fed(230.0, &warm("A1", 26), ""));
    border("breaker", &fed(230.0, &warm("C", 45), ""), &fed(230.0, &warm("C", 46), ""));
    // A preferred rating (IEC 60898-1).
    border("breaker", &of(13, "C"), &of(12, "C"));
    assert!(finds(&of(15, "C"), "breaker") && finds(&of(18, "C"), "breaker"));
    // The rarer ones are made too: 8 A, and 4 A and less.
    for rare in [8, 4, 3, 2, 1] {
        assert!(!finds(&fed(230.0, &format!("breaker {rare} A"), ""), "breaker"), "{rare} A");
    }
    // Fuses of connection units: 3, 5 and 13 A (BS 1362). They protect the conductor where they are rated less than the breaker.
    let fused = |rating: u32, power: f64| fed(power, &format!("fuse {rating} A\nbreaker 32 A"), "");
    border("breaker", &fused(13, 2990.0), &fused(13, 2990.1));
    border("breaker", &fused(5, 230.0), &fused(6, 230.0));
    let alone = |rating: u32| fused(rating, 230.0).replace("\nbreaker 32 A", "").replace("  breaker 16 A\n", "");
    border("breaker", &alone(3), &alone(4));
    // 13 A on a conductor that carries 12.35 A: 19.5 A by method C, half of that bunched in so much insulation.
    let thin = |rating: u32| fused(rating, 230.0).replace("  conductor 2.5", "  in-insulation 200 mm\n  conductor 1.5");
    border("breaker", &thin(5), &thin(13));
}

#[test]
fn conductor() {
    // 1.5 mm2 by method A1 carry 14.5 A: 3335 W at 230 V.
    let thin = |power: f64| fed(power, "conductor 1.5 mm2 copper, 10 m, method A1", "");
    border("conductor", &thin(3335.0), &thin(3335.1));
    // Where it can't carry the load, the breaker isn't blamed too.
    assert!(!finds(&thin(3400.0), "breaker"));
    let section = |area: f64| fed(230.0, &format!("conductor {area} mm2 copper, 10 m, method C"), "");
    border("conductor", &section(1.5), &section(1.0));
    // Factors of IEC 60364-5-52, table B.52.17, and of BS 7671, table 52.2: 19.5 A by method C times 0.7 for three circuits, or times
    // 0.63 for 200 mm in thermal insulation, or by half for more than 400 mm.
    let lies = |power: f64, line: &str| fed(power, &format!("{line}\nconductor 1.5 mm2 copper, 10 m, method C"), "");
    border("conductor", &lies(3139.5, "grouped 3"), &lies(3139.6, "grouped 3"));
    border("conductor", &lies(2825.5, "in-insulation 200 mm"), &lies(2825.6, "in-insulation 200 mm"));
    border("conductor", &lies(2242.5, "in-insulation 500 mm"), &lies(2242.6, "in-insulation 500 mm"));
    border("conductor", &lies(2825.5, "in-insulation 200 mm"), &lies(2825.5, "in-insulation 201 mm"));
    // Of more circuits than the table has, or parts of one, and of air hotter than the insulation bears, nothing is known: that is an error, or
    // what is worse would be found less wrong.
    let too_hot = |insulation: &str, ambient: u32| {
        fed(230.0, &format!("ambient {ambient} degC\nconductor 1.5 mm2 copper, 10 m, method C{insulation}"), "")
    };
    for (sound, faulty) in [
        (lies(230.0, "grouped 20"), lies(230.0, "grouped 21")),
        (lies(230.0, "grouped 2"), lies(230.0, "grouped 2.5")),
        (too_hot("", 60), too_hot("", 61)),
        (too_hot(", xlpe", 80), too_hot(", xlpe", 81)),
    ] {
        let faults = |text: &str| check(text).findings.iter().filter(|one| one.basis.is_none()).count();
        assert_eq!((faults(&sound), faults(&faulty)), (0, 1), "{faulty}");
    }
    // As far as the factors of `measure` go.
    for insulation in [layrule::model::Insulation::Pvc, layrule::model::Insulation::Xlpe] {
        let hottest = insulation.hottest_ambient();
        assert!(layrule::measure::circuit::ambient_factor(hottest, insulation).is_some());
        assert!(layrule::measure::circuit::ambient_factor(hottest + 1.0, insulation).is_none());
    }
}

#[test]
fn voltage_drop() {
    // Five per cent of 230 V are 11.5 V. 2 x 7.41 ohm/km x (1 + 0.00393 x 50) = 17.732 ohm/km at 70 degC; at 10 A that takes 64.854 m.
    let far = |metres: f64| fed(2300.0, &format!("conductor 2.5 mm2 copper, {metres} m, method C"), "");
    border("voltage-drop", &far(64.85), &far(64.86));
    // XLPE runs at 90 degC: 18.897 ohm/km, 60.856 m.
    let hot = |metres: f64| fed(2300.0, &format!("conductor 2.5 mm2 copper, {metres} m, method C, xlpe"), "");
    border("voltage-drop", &hot(60.85), &hot(60.86));
    // Of the five per cent from the origin, 1.5 % before leave 8.05 V: 45.398 m.
    let after = |metres: f64| fed(2300.0, &format!("before 1.5 %\nconductor 2.5 mm2 copper, {metres} m, method C"), "");
    border("voltage-drop", &after(45.39), &after(45.40));
    // Where all is lost before, nothing is left to lose.
    assert!(finds(&after(1.0).replace("1.5 %", "6 %"), "voltage-drop"));
}

#[test]
fn selv_has_rules_of_its_own() {
    let at = |volts: u32, screen: &str| {
        fed(230.0, &format!("voltage {volts} V\nselv"), "")
            .replace("230 W at 230 V", &format!("230 W at {volts} V"))
            .replace("screen earthed", screen)
    };
    // 50 V a.c.: IEC 60364-4-41, 414.1.1.
    border("selv-voltage", &at(50, "screen none"), &at(51, "screen none"));
    border("selv-earthed", &at(24, "screen none"), &at(24, "screen earthed"));
    // Neither RCD nor earthed screen is asked for there.
    let bare = at(24, "screen none").replace("  rcd 30 mA\n", "");
    assert!(!finds(&bare, "rcd") && !finds(&bare, "earthed-screen"));
    let mains = bare.replace("\nselv", "");
    assert!(finds(&mains, "rcd") && finds(&mains, "earthed-screen"));
}

#[test]
fn earthed_screen() {
    let grid =
        |mesh: u32| fed(230.0, "", &format!("earthed-grid mesh {mesh}")).replace("screen earthed", "screen none");
    border("earthed-screen", &grid(30), &grid(31));
    border("earthed-screen", &fed(230.0, "", ""), &fed(230.0, "", "").replace("screen earthed", "screen none"));
    // Of a kit that doesn't say, nothing is known.
    let report = check(&fed(230.0, "", "").replace("  screen earthed\n", ""));
    assert!(report.unchecked.iter().any(|unchecked| &*unchecked.rule == "earthed-screen"), "{:#?}", report.unchecked);
    assert!(!rules_found(&report).contains(&"earthed-screen".to_string()));
}

/// A room of 4 m by 3 m with a door in its south wall, water, and a thermostat.
fn wet(inside: &str, thermostat: &str) -> String {
    format!(
        "room r {{\n outline (0, 0) (4000, 0) (4000, 3000) (0, 3000)\n door d wall 1 from 1000 to 1800\n {inside}\n thermostat t {thermostat} rated 16 A\n}}\n"
    )
}

const BATH: &str = "fixture bath rect (0, 2000) (1700, 3000)";

#[test]
fn wet_zone() {
    // Zone 2 ends 0.6 m from the bath, and 2.25 m over the floor: IEC 60364-7-701.
    let at = |x: u32, height: u32| wet(BATH, &format!("({x}, 3000) height {height}"));
    border("wet-zone", &at(2300, 1200), &at(2299, 1200));
    border("wet-zone", &at(2000, 2250), &at(2000, 2249));
    // In zone 1, over the bath, and in zone 2 alike; a junction box too.
    assert!(finds(&at(800, 1200), "wet-zone"));
    let boxed = |x: u32| wet(&format!("{BATH}\n junction j ({x}, 2500) height 300"), "(4000, 0) height 1200");
    border("wet-zone", &boxed(2300), &boxed(2299));
    // In zone 2 a box of IPX4 or better may stand, over the bath none; a thermostat in neither.
    let sealed = |x: u32, code: &str| boxed(x).replace("height 300", &format!("height 300 ip {code}"));
    border("wet-zone", &sealed(2000, "X4"), &sealed(2000, "X3"));
    border("wet-zone", &sealed(1701, "44"), &sealed(1700, "44"));
    assert!(finds(&sealed(2000, "4X"), "wet-zone"));
    // The zone is named.
    let told = |text: &str| {
        let report = check(text);
        report.findings.iter().find(|finding| &*finding.rule == "wet-zone").map(|finding| finding.message.clone())
    };
    assert!(told(&boxed(2299)).is_some_and(|message| message.contains("junction box `j` lies in zone 2 of")));
    assert!(told(&at(800, 1200)).is_some_and(|message| message.contains("thermostat `t` lies in zone 1 of")));
    assert!(told(&sealed(2000, "X3")).is_some_and(|message| message.contains("IPX3")));
    // Of a fitting whose height isn't given nothing is known inside the zone; outside it need not be.
    assert!(!check(&wet(BATH, "(2300, 3000)")).unchecked.iter().any(|own| &*own.rule == "wet-zone"));
    assert!(check(&wet(BATH, "(2299, 3000)")).unchecked.iter().any(|own| &*own.rule == "wet-zone"));
    // A basin for hands has no zones, a shower's has.
    assert!(!finds(&at(2000, 1200).replace("bath", "basin"), "wet-zone"));
    assert!(finds(&at(2000, 1200).replace("bath", "shower"), "wet-zone"));
    // Round trays are measured from their rim.
    let round = |x: u32| wet("fixture shower circle (1000, 2000) radius 450", &format!("({x}, 2000) height 1200"));
    border("wet-zone", &round(2050), &round(2049));
}

#[test]
fn wet_zone_of_a_shower_without_a_basin() {
    // 1.2 m round the shower head, and no zone 2 beyond: IEC 60364-7-701, 701.30.
    let at =
        |x: u32, height: u32| wet("shower-head rose (1000, 3000) height 2100", &format!("({x}, 3000) height {height}"));
    border("wet-zone", &at(2200, 1200), &at(2199, 1200));
    border("wet-zone", &at(2000, 2250), &at(2000, 2249));
    // The zones reach up to a shower head higher than 2.25 m.
    let high = |height: u32| at(2000, height).replace("2100", "2400");
    border("wet-zone", &high(2400), &high(2399));
    // A shower head over a basin says only how high it is.
    let over = |x: u32| {
        wet("fixture shower rect (0, 2100) (900, 3000)\n outlet rose (450, 3000)", &format!("({x}, 3000) height 1200"))
    };
    border("wet-zone", &over(1500), &over(1499));
}

#[test]
fn walls_and_partitions_lengthen_the_way() {
    // Outside, behind the wall that the bath stands against, no string leads to it but through the door.
    let behind = |x: u32| wet(BATH, &format!("({x}, 3100) height 1200"));
    assert!(!finds(&behind(800), "wet-zone"));
    // Through a doorway it does. From (1800, -100) straight up to a bath over the door.
    let through = |y: u32| wet(&format!("fixture bath rect (1000, {y}) (2600, 1200)"), "(1800, -100) height 1200");
    border("wet-zone", &through(500), &through(499));
    // A partition from the wall to 300 mm past the bath's edge: from its end (2000, 1700) the bath's corner (1700, 2000) is
    // 300 x sqrt 2 away, and the string from (2000 + x, 2000) bends there.
    let beside = |x: u32| {
        wet(&format!("{BATH}\n partition glass (2000, 3000) (2000, 1700)"), &format!("({x}, 1700) height 1200"))
    };
    // 424.26 + 175.74 = 600 at x = 2175.74.
    border("wet-zone", &beside(2176), &beside(2175));
    assert!(finds(&wet(BATH, "(2176, 1700) height 1200").replace("(2176, 1700)", "(2150, 2000)"), "wet-zone"));
    // One that is too low keeps no water off.
    let low = |height: u32| {
        wet(&format!("{BATH}\n partition glass (2000, 3000) (2000, 1000) height {height}"), "(2200, 2900) height 1200")
    };
    border("wet-zone", &low(2250), &low(2249));
    // One along the bath's own edge, or one that cuts into it, shields it too.
    for partition in ["(1700, 3000) (1700, 1000)", "(1650, 3000) (1650, 1500) (1700, 1000)"] {
        let shielded = wet(&format!("{BATH}\n partition glass {partition}"), "(1900, 2900) height 1200");
        let found = finds(&shielded, "wet-zone");
        // In the second a strip of the bath lies before the partition.
        assert_eq!(found, partition.starts_with("(1650"), "{partition}");
    }
    // No string slips through a corner where two pieces meet, nor past a partition that touches a wall.
    let corner =
        wet(&format!("{BATH}\n partition glass (2000, 3000) (2000, 1600) (0, 1600)"), "(2010, 1590) height 1200");
    assert!(!finds(&corner, "wet-zone"));
}

const STAGES: [&str; 5] = ["delivered", "laid", "before-tiling", "after-tiling", "before-switching-on"];

/// A kit of 100 ohm, its tolerance as given, with a record of these lines.
fn recorded(tolerance: &str, lines: &str) -> String {
    format!(
        "kit k {{\n output 529 W at 230 V\n length 4 m\n resistance 100 ohm{tolerance}\n}}\nroom r {{\n outline (0, 0) (4000, 0) (4000, 3000) (0, 3000)\n \
         cable a {{\n kit k\n start (500, 500)\n run east 2500\n }}\n record {{\n{lines}\n }}\n}}\n"
    )
}

fn reading(stage: &str, day: u32, rest: &str) -> String {
    format!("{stage} 2026-10-{day:02} cable a {rest}\n")
}

/// A whole record: a reading a day, tiled on the third day, with what else is given.
fn whole(rest: &str) -> String {
    let readings = STAGES.iter().zip([1, 2, 3, 4, 20]);
    let readings: String =
        readings.map(|(stage, day)| reading(stage, day, "100 ohm insulation 200 Mohm at 500 V")).collect();
    recorded("", &format!("{readings}{rest}"))
}

#[test]
fn resistance_reading() {
    let reads = |tolerance: &str, ohm: f64| recorded(tolerance, &reading("delivered", 1, &format!("{ohm} ohm")));
    // Where the maker says nothing, -5 % and +10 %: common practice.
    border("resistance-reading", &reads("", 95.0), &reads("", 94.9));
    border("resistance-reading", &reads("", 110.0), &reads("", 110.1));
    let own = ", -3 % to +4 %";
    border("resistance-reading", &reads(own, 97.0), &reads(own, 96.9));
    border("resistance-reading", &reads(own, 104.0), &reads(own, 104.1));
}

#[test]
fn resistance_drift() {
    let drift =
        |ohm: f64| recorded("", &(reading("delivered", 1, "100 ohm") + &reading("laid", 2, &format!("{ohm} ohm"))));
    border("resistance-drift", &drift(105.0), &drift(105.1));
    border("resistance-drift", &drift(95.0), &drift(94.9));
    // The stage before counts, wherever it is written, and of two of one stage the one written first.
    let turned =
        |ohm: f64| recorded("", &(reading("laid", 2, &format!("{ohm} ohm")) + &reading("delivered", 1, "100 ohm")));
    border("resistance-drift", &turned(105.0), &turned(105.1));
    let twice = |ohm: f64| recorded("", &(reading("laid", 2, "100 ohm") + &reading("laid", 2, &format!("{ohm} ohm"))));
    border("resistance-drift", &twice(105.0), &twice(105.1));
}

#[test]
fn insulation_reading() {
    // IEC 60364-6: 1 Mohm at 500 V d.c.
    let tested = |kohm: u32, volts: u32| {
        recorded("", &reading("delivered", 1, &format!("100 ohm insulation {kohm} kohm at {volts} V")))
    };
    border("insulation-reading", &tested(1000, 500), &tested(999, 500));
    border("insulation-reading", &tested(1000, 500), &tested(1000, 499));
    // What wasn't tested isn't known.
    let report = check(&recorded("", &reading("delivered", 1, "100 ohm")));
    assert!(report.unchecked.iter().any(|own| &*own.rule == "insulation-reading"), "{:#?}", report.unchecked);
    // More than the instrument shows is enough, and so is more than a figure that would be.
    let shown = |words: &str| recorded("", &reading("delivered", 1, &format!("100 ohm insulation {words} at 500 V")));
    border("insulation-reading", &shown("over range"), &shown("999 kohm"));
    border("insulation-reading", &shown("> 1 Mohm"), &shown("> 999 kohm"));
    assert!(finds(&shown("over range").replace("500 V", "250 V"), "insulation-reading"));
}

#[test]
fn insulation_low() {
    // 10 Mohm: common practice. Under 1 Mohm it is the other rule's.
    let tested =
        |kohm: u32| recorded("", &reading("delivered", 1, &format!("100 ohm insulation {kohm} kohm at 500 V")));
    border("insulation-low", &tested(10_000), &tested(9_999));
    border("insulation-low", &tested(999), &tested(1_000));
}

#[test]
fn insulation_fall() {
    let fell = |before: &str, after: &str| {
        let before = reading("delivered", 1, &format!("100 ohm insulation {before} at 500 V"));
        recorded("", &(before + &reading("laid", 2, &format!("100 ohm insulation {after} at 500 V"))))
    };
    // Ten times, or to under 10 Mohm: common practice. Warmth and damp make less of it, which is no fault.
    border("insulation-fall", &fell("200 Mohm", "20.1 Mohm"), &fell("200 Mohm", "20 Mohm"));
    border("insulation-fall", &fell("90 Mohm", "10 Mohm"), &fell("90 Mohm", "9.9 Mohm"));
    assert!(!finds(&fell("999 Mohm", "380 Mohm"), "insulation-fall"));
    // Of more than an instrument shows, that much is sure.
    border("insulation-fall", &fell("> 999 Mohm", "100 Mohm"), &fell("> 999 Mohm", "99.9 Mohm"));
    border("insulation-fall", &fell("over range", "10 Mohm"), &fell("over range", "9.9 Mohm"));
    assert!(!finds(&fell("20000 kohm", "> 1 Mohm"), "insulation-fall"));
    // What was low before fell no further into it.
    border("insulation-fall", &fell("9.9 Mohm", "1 Mohm"), &fell("10 Mohm", "9.9 Mohm"));
}

#[test]
fn stage_missing() {
    // What is past must be there, what is to come need not.
    let some = |stages: &[&str], rest: &str| {
        let readings = stages.iter().zip(1..).map(|(stage, day)| reading(stage, day, "100 ohm"));
        recorded("", &format!("{}{rest}", readings.collect::<String>()))
    };
    for count in 0..=STAGES.len() {
        assert!(!finds(&some(&STAGES[..count], ""), "stage-missing"), "the first {count}");
    }
    border("stage-missing", &some(&STAGES[..2], ""), &some(&STAGES[1..2], ""));
    // Before laying, after laying and after tiling each cable is measured; before tiling and before switching on, it may be.
    border("stage-missing", &some(&STAGES[..2], "tiled 2026-10-05"), &some(&STAGES[..1], "tiled 2026-10-05"));
    let three = ["delivered", "laid", "after-tiling"];
    border("stage-missing", &some(&three, "switched-on 2026-10-25"), &some(&three[..2], "switched-on 2026-10-25"));
    // Of two cables, one that lags by the stage at hand is not behind yet; by one more it is.
    let two = |stages: &[&str]| {
        let second: String = stages.iter().map(|stage| format!("{stage} 2026-10-01 cable b 100 ohm\n")).collect();
        some(&STAGES[..3], &second)
            .replace(" record {", " cable b {\n kit k\n start (500, 900)\n run east 2500\n }\n record {")
    };
    border("stage-missing", &two(&STAGES[..2]), &two(&STAGES[..1]));
    // What is measured of one cable before tiling is of the other.
    let tiled = |stages: &[&str]| two(stages).replace(" record {", " record {\ntiled 2026-10-05");
    border("stage-missing", &tiled(&STAGES[..3]), &tiled(&STAGES[..2]));
}

#[test]
fn stage_order() {
    let laid = |day: u32| recorded("", &(reading("delivered", 5, "100 ohm") + &reading("laid", day, "100 ohm")));
    border("stage-order", &laid(5), &laid(4));
    let tiled = |day: u32| whole(&format!("tiled 2026-10-{day:02}\nswitched-on 2026-10-20\nsigned \"me\" 2026-10-20"));
    border("stage-order", &tiled(3), &tiled(2));
    border("stage-order", &tiled(4), &tiled(5));
    let on = |day: u32| whole(&format!("tiled 2026-10-03\nswitched-on 2026-10-{day:02}"));
    border("stage-order", &on(20), &on(19));
}

#[test]
fn drying_time() {
    // Fourteen days where the record says nothing: common practice.
    let on = |day: u32, drying: &str| whole(&format!("tiled 2026-10-04 {drying}\nswitched-on 2026-10-{day:02}"));
    border("drying-time", &on(18, ""), &on(17, ""));
    border("drying-time", &on(25, "drying 21 days"), &on(24, "drying 21 days"));
    border("drying-time", &on(6, "drying 48 h"), &on(5, "drying 48 h"));
    // And a leap day is a day: 2028-02-20 and 14 days is 2028-03-05.
    let leap = |day: u32| recorded("", &format!("tiled 2028-02-20\nswitched-on 2028-03-{day:02}"));
    border("drying-time", &leap(5), &leap(4));
}

#[test]
fn record_unsigned() {
    let signed = |line: &str| whole(&format!("tiled 2026-10-03\nswitched-on 2026-10-21\n{line}"));
    border("record-unsigned", &signed("signed \"me\" 2026-10-20"), &signed(""));
    border("record-unsigned", &signed("signed \"me\" 2026-10-20"), &signed("signed \"me\" 2026-10-19"));
    // Before the floor is in use, nothing is to be signed.
    assert!(!finds(&whole("tiled 2026-10-03"), "record-unsigned"));
}

#[test]
fn insulation_untested() {
    let tested = "100 ohm insulation 200 Mohm at 500 V";
    let read = |laid: &str, after: &str, rest: &str| {
        let after = if after.is_empty() { String::new() } else { reading("after-tiling", 4, after) };
        recorded("", &(reading("laid", 2, laid) + &after + rest))
    };
    // Once the floor is tiled a test before doesn't do, and `over range` does.
    border("insulation-untested", &read(tested, tested, ""), &read(tested, "100 ohm", ""));
    assert!(!finds(&read("100 ohm", "100 ohm insulation over range at 500 V", ""), "insulation-untested"));
    // Until then, one before is asked for by the day of tiling, and none before that.
    let tiled = "tiled 2026-10-03";
    border("insulation-untested", &read(tested, "", tiled), &read("100 ohm", "", tiled));
    assert!(!finds(&read("100 ohm", "", ""), "insulation-untested"));
}

/// A whole record of a cable with an earthed screen that a supply feeds, with a sensor, its lines as given.
fn in_use(lines: &str) -> String {
    let readings: String =
        STAGES.iter().zip([1, 2, 3, 5, 20]).map(|(stage, day)| reading(stage, day, "100 ohm")).collect();
    let room = format!("sensor z from t (500, 700)\nrecord {{\n{readings}{lines}\n}}");
    // Its names stand above what gives them.
    fed(230.0, "", &room)
}

#[test]
fn the_screen_is_tested() {
    let read = |screen: &str| {
        recorded("", &reading("laid", 2, &format!("100 ohm insulation 200 Mohm at 500 V screen {screen}")))
    };
    // 10 ohm of screen and earth conductor: common practice.
    border("screen-reading", &read("10 ohm"), &read("10.1 ohm"));
    assert!(finds(&read("open"), "screen-reading") && !finds(&read("0 ohm"), "screen-reading"));
    let on = "switched-on 2026-10-25";
    let tested =
        |text: &str| text.replace("laid 2026-10-02 cable a 100 ohm", "laid 2026-10-02 cable a 100 ohm screen 1 ohm");
    border("screen-untested", &tested(&in_use(on)), &in_use(on));
    // A floor that isn't in use has time, and a cable without an earthed screen has none to test.
    assert!(!finds(&in_use(""), "screen-untested"));
    assert!(!finds(&in_use(on).replace("screen earthed", "screen none"), "screen-untested"));
}

#[test]
fn sensors_are_read_before_and_after_tiling() {
    let before = "before-tiling 2026-10-03 sensor z 12 kohm\n";
    let after = |kohm: f64| format!("after-tiling 2026-10-05 sensor z {kohm} kohm with \"meter\"\n");
    let both = format!("{before}{}", after(12.0));
    border("sensor-untested", &in_use(&both), &in_use(before));
    assert!(finds(&in_use(&after(12.0)), "sensor-untested") && finds(&in_use(""), "sensor-untested"));
    // What is to come need not be there: tiled, and not read since.
    let tiled = |lines: &str| {
        let whole = in_use(&format!("{lines}tiled 2026-10-04"));
        whole.lines().filter(|line| !line.contains("cable a 100 ohm")).collect::<Vec<_>>().join("\n")
    };
    border("sensor-untested", &tiled(before), &tiled(""));
    // Twice as much or half as much may be warmth: common practice.
    let change = |kohm: f64| in_use(&format!("{before}{}", after(kohm)));
    border("sensor-change", &change(24.0), &change(24.1));
    border("sensor-change", &change(6.0), &change(5.9));
}

#[test]
fn kits_and_rcds_in_use_are_recorded() {
    let on = |lines: &str| in_use(&format!("{lines}\nswitched-on 2026-10-25"));
    border("kit-label", &on("label cable a serial \"1\" batch \"2\""), &on(""));
    assert!(!finds(&on("label cable a serial \"1\""), "kit-label") && !finds(&in_use(""), "kit-label"));
    let tested = |ms: f64| on(&format!("rcd-tested 2026-10-20 supply s {ms} ms with \"tester\""));
    // 300 ms at the rated residual current: IEC 61008-1.
    border("rcd-test", &tested(300.0), &tested(300.1));
    border("rcd-untested", &tested(24.0), &on(""));
    // Without an RCD there is none to test; `rcd` says so.
    assert!(!finds(&in_use(""), "rcd-untested") && !finds(&on("").replace("  rcd 30 mA\n", ""), "rcd-untested"));
}

#[test]
fn screeds_set_before_they_are_heated_or_tiled() {
    // EN 1264-4: 21 days for cement, 7 for anhydrite.
    let on = |kind: &str, day: u32| recorded("", &format!("screeded 2026-10-01 {kind}\nswitched-on 2026-10-{day:02}"));
    border("screed-heating", &on("cement", 22), &on("cement", 21));
    border("screed-heating", &on("anhydrite", 8), &on("anhydrite", 7));
    border("screed-heating", &on("cement drying 3 days", 4), &on("cement drying 3 days", 3));
    let tiled = |kind: &str, day: u32| recorded("", &format!("screeded 2026-10-01 {kind}\ntiled 2026-10-{day:02}"));
    border("screed-tiling", &tiled("cement", 22), &tiled("cement", 21));
    border("screed-tiling", &tiled("anhydrite", 8), &tiled("anhydrite", 7));
    border("screed-tiling", &tiled("anhydrite drying 10 days", 11), &tiled("anhydrite drying 10 days", 10));
    // A screed that is heated before it is tiled shows nothing of tiling: no reading after it is missing, none is late, and the adhesive
    // isn't asked after.
    let first = |lines: &str| {
        let read = reading("delivered", 1, "100 ohm") + &reading("laid", 2, "100 ohm");
        recorded("", &format!("{read}screeded 2026-10-03 cement\nswitched-on 2026-10-24\n{lines}"))
    };
    assert!(!finds(&first(""), "stage-missing"));
    let later = first(&format!("tiled 2026-10-28\n{}", reading("after-tiling", 30, "100 ohm")));
    for rule in ["stage-missing", "stage-order", "drying-time", "screed-tiling"] {
        assert!(!finds(&later, rule), "{rule}");
    }
    border(
        "stage-missing",
        &later,
        &later.replace("screeded 2026-10-03 cement\n", "").replace("after-tiling", "before-switching-on"),
    );
}

#[test]
fn no_record_is_no_fault() {
    let report = check(&recorded("", "").replace(" record {\n\n }\n", ""));
    let rules = crate::common::RULES
        .rules
        .iter()
        .filter(|rule| crate::common::RULES.packs[rule.pack].name == "rules/record.rule");
    for rule in rules {
        assert!(!rules_found(&report).iter().any(|found| **found == *rule.name), "{}", rule.name);
        assert!(!report.unchecked.iter().any(|own| *own.rule == *rule.name), "{}", rule.name);
    }
}

/// What a plan names and nobody knows is not said to be left out.
#[test]
fn what_is_named_and_not_known_is_told_of_as_such() {
    let lay = "use \"gone.lay\"\nroom r {\n outline (0, 0) (2000, 0) (2000, 1000) (0, 1000)\n \
               thermostat t (2000, 500) rated 16 A on spur\n \
               cable a {\n kit K-1\n start (100, 100)\n loops 9 of 1800 east, stepping 100 north\n }\n}\n";
    let report = check(lay);
    let why = |rule: &str| report.unchecked.iter().find(|own| &*own.rule == rule).map(|own| own.reason.as_str());
    assert_eq!(why("laid-length"), Some("nothing is known of kit `K-1`, which cable `a` names"));
    assert_eq!(why("rcd"), Some("nothing is known of supply `spur`, which thermostat `t` names"));
    let report = check(&lay.replace(" kit K-1\n", "").replace(" on spur", ""));
    let why = |rule: &str| report.unchecked.iter().find(|own| &*own.rule == rule).map(|own| own.reason.as_str());
    assert_eq!(why("laid-length"), Some("cable `a` names no kit"));
    assert_eq!(why("rcd"), Some("thermostat `t` names no supply"));
}
