//! What the two languages say of circuits, water and records: statements and their faults, dates and what can be done with them.

use std::collections::BTreeSet;

use layrule::rules::packs::{Pack, RuleSet, built_in};

use crate::common::{RULES, check, check_with, plan_with_kits, rules_found, rules_with};

/// The faults of reading a plan: each with the text it marks.
fn faults(text: &str) -> Vec<(String, String)> {
    let report = check(text);
    let reading = report.findings.iter().filter(|finding| finding.basis.is_none());
    reading
        .map(|finding| {
            let span = finding.place().span;
            (finding.message.clone(), text[span.start()..span.end()].to_string())
        })
        .collect()
}

fn room(inside: &str) -> String {
    format!("room r {{\noutline (0, 0) (4000, 0) (4000, 3000) (0, 3000)\n{inside}\n}}\n")
}

#[test]
fn statements_that_make_no_sense_are_told_of() {
    for (inside, message, marked) in [
        (
            "partition p (100, 100)",
            "partition `p` needs two points or more, none twice in a row",
            "partition p (100, 100)",
        ),
        ("partition p (1, 1) (2, 2)\npartition p (3, 3) (4, 4)", "2 partitions are called `p`", "p"),
        ("partition p (1, 1) (2, 2) height 0", "a length must be more than nothing here", "0"),
        ("shower-head o (1, 1)\noutlet o (2, 2)", "2 shower heads are called `o`", "o"),
        ("shower-head o (1, 1) height 2 A", "a length is needed here, and this is a current", "2 A"),
        ("earthed-grid mesh 0", "a length must be more than nothing here", "0"),
        ("earthed-grid mesh 25\nearthed-grid mesh 30", "the earthed grid is given twice", "earthed-grid mesh 30"),
        ("bonded\nbonded main", "the bonding is given twice", "bonded main"),
        ("thermostat t (1, 1) rated 16 A behind 0 A", "a current must be more than nothing here", "0 A"),
        ("earthed-grid 30", "this `earthed-grid` can't be read", ""),
        ("record {\nnote 2026-11-25 \" \"\n}", "a note needs words", "note 2026-11-25 \" \""),
        ("record {\nnote 2026-11-25 \"a\" at (1, 2 A)\n}", "a length is needed here, and this is a current", "2 A"),
        (
            "record {\nnote 2026-11-25 \"a\" photo \"\"\n}",
            "an instrument, a number, a person or a photograph needs a name",
            "\"\"",
        ),
        (
            "cable a {\nstart (500, 500)\nrun east 900\n}\nrecord {\nlaid 2026-11-25 cable a 3 ohm with \"m\" by \" \"\n}",
            "an instrument, a number, a person or a photograph needs a name",
            "\" \"",
        ),
        ("record {\nprimed 2026-11-01\nprimed 2026-11-02\n}", "the day of priming is given twice", "primed 2026-11-02"),
        ("record {\nlaid 2026-11-25 sensor s 12 kohm\n}", "no sensor is called `s`", "s"),
        ("record {\nrcd-tested 2026-11-25 supply s 24 ms\n}", "no supply is called `s`", "s"),
        ("record {\nscreeded 2026-11-31 cement\n}", "there is no day 2026-11-31", "2026-11-31"),
        ("record {\nscreeded 2026-11-01 cement drying 2 m\n}", "a time is needed here, and this is a length", "2 m"),
        (
            "cable a {\nstart (500, 500)\nrun east 900\n}\nrecord {\nlabel cable a serial \"\"\n}",
            "a label needs what stands on it",
            "label cable a serial \"\"",
        ),
        (
            "cable a {\nstart (500, 500)\nrun east 900\n}\nrecord {\nlabel cable a serial \"1\"\nlabel cable a serial \"2\"\n}",
            "the label of cable `a` is given twice",
            "label cable a serial \"2\"",
        ),
        ("cable a {\ntail cable b (500, 500)\nstart (500, 500)\nrun east 900\n}", "no cable is called `b`", "b"),
        (
            "cable a {\ntail cable a (500, 500)\nstart (500, 500)\nrun east 900\n}",
            "the tail of cable `a` comes from the cable itself",
            "a",
        ),
        (
            "junction j (0, 0)\njoint m (0, 9) (9, 9)\ncable a {\ntail j (500, 500) sleeve m, n\nstart (500, 500)\nrun east 900\n}",
            "no joint is called `n`",
            "n",
        ),
        (
            "junction j (0, 0)\ncable a {\nstart (500, 500)\nrun east 900\nsecond-tail j (500, 500)\n}",
            "the second tail of cable `a` ends somewhere else than the cable ends",
            "second-tail j (500, 500)",
        ),
        ("cable a {\nsecond-tail j (1, 1)\nstart (0, 1)\nrun east 1\n}", "no junction is called `j`", "j"),
    ] {
        let found = faults(&room(inside));
        assert_eq!(found.len(), 1, "{inside}: {found:#?}");
        if !marked.is_empty() {
            assert_eq!(found[0], (message.to_string(), marked.to_string()), "{inside}");
        }
    }
    for (cores, message) in [
        ("3", "a heating cable has one conductor or two"),
        ("1.5", "a heating cable has one conductor or two"),
        ("1 m", "a plain number is needed here, and this is a length"),
    ] {
        let text = format!("kit k {{\n output 100 W at 230 V\n length 9 m\n cores {cores}\n}}\n") + &room("");
        assert_eq!(faults(&text), [(message.to_string(), cores.to_string())]);
    }
    // A junction box may be called `cable`, and a cable may stand below the one whose tail comes from it.
    let inside = "junction cable (4000, 500)\ncable a {\ntail cable (3900, 500)\nstart (3900, 500)\nrun west 900\n}\n\
                  cable b {\ntail cable c (3900, 900)\nstart (3900, 900)\nrun west 900\n}\ncable c {\nstart (3900, 1300)\nrun west 900\n}";
    assert_eq!(faults(&room(inside)), []);
}

/// Who measured, what with, notes with their places and photographs, as rules, take-off and the model have them.
#[test]
fn records_say_who_measured_and_where_things_lie() {
    let lay = room(
        "cable a {\nstart (500, 500)\nrun east 900\n}\nrecord {\nprimed 2026-10-01\n\
         laid 2026-10-02 cable a 3 ohm with \"meter\" serial \"20-118\" by \"R. Fell\"\nbefore-tiling 2026-10-03 cable a 3 ohm by \"A. Moss\"\n\
         note 2026-10-02 \"run 1 moved, pipe\" at (600, 3 m - 2500) photo \"pipe.jpg\"\nnote 2026-10-02 \"primed twice\"\n\
         photo 2026-10-02 \"all.jpg\" at (900, 700)\n}",
    );
    let record = plan_with_kits(&lay).rooms[0].record.clone().expect("a record");
    assert_eq!(
        record.marks().map(|(number, at)| (number, at.x, at.y)).collect::<Vec<_>>(),
        [(1, 600.0, 500.0), (3, 900.0, 700.0)]
    );
    assert_eq!(record.photographs().collect::<Vec<_>>(), ["pipe.jpg", "all.jpg"]);
    let rules = rules_with(
        "rule told {\n about \"r\"\n severity note\n basis practice\n check reading in readings\n \
         message \"{reading.measured-by} by {reading.instrument} {reading.instrument-serial}, {reading.record.primed}, {reading.record.notes} and {reading.record.photographs}\"\n}\n",
    );
    let report = check_with(&lay, &rules);
    let told: Vec<&str> = report
        .findings
        .iter()
        .filter(|finding| &*finding.rule == "told")
        .map(|finding| finding.message.as_str())
        .collect();
    // Of the other, who is known and the instrument isn't: what can't be told leaves what the rule is about.
    assert_eq!(told, ["R. Fell by meter 20-118, 2026-10-01, 2 and 2", "r"]);
}

/// What a pack gets wrong.
fn rule_faults(lines: &str) -> Vec<String> {
    let text = format!(
        "rule r {{\n about \"r\"\n severity note\n basis practice\n check record in records\n{lines}\n message \"m\"\n}}\n"
    );
    let mut packs = built_in();
    packs.push(Pack { name: "ours.rule".into(), text });
    match RuleSet::build(packs) {
        Ok(_) => Vec::new(),
        Err(packs) => packs.into_iter().flat_map(|pack| pack.faults).map(|fault| fault.message).collect(),
    }
}

#[test]
fn dates_can_be_compared_and_subtracted_and_nothing_else() {
    for sound in [
        "require record.tiled >= 2026-01-31",
        "require record.switched-on - record.tiled >= 14 days",
        "require record.tiled + 14 days <= record.switched-on",
        "require max(record.tiled, 2026-01-31) - 7 days = 2026-02-01",
        "require greatest(reading in record.readings : reading.date) < record.signed",
        "require if has record.tiled then record.tiled > 2026-01-01 else true",
    ] {
        assert_eq!(rule_faults(sound), Vec::<String>::new(), "{sound}");
    }
    for (faulty, message) in [
        ("require record.tiled >= 14 days", "a date can't be compared with a time"),
        ("require record.tiled + record.tiled > 2026-01-01", "a date can't be added to a date"),
        ("require record.tiled - 3 m > 2026-01-01", "a length can't be subtracted from a date"),
        ("require 14 days - record.tiled > 1 h", "a date can't be subtracted from a time"),
        ("require record.tiled - record.room.inside > 1 h", "a temperature can't be subtracted from a date"),
        ("require record.tiled * 2 > 2026-01-01", "a date can't be multiplied by a plain number"),
        ("require record.tiled > 2026-02-30", "there is no day 2026-02-30"),
        ("require -2026-02-20 < record.tiled", "a date has no sign"),
        ("require sum(reading in record.readings : reading.date) > 2026-01-01", "several of a date can't be added up"),
        ("require record.tiled = \"2026-02-20\"", "a date can't be compared with a text"),
    ] {
        assert_eq!(rule_faults(faulty), [message], "{faulty}");
    }
}

#[test]
fn dates_are_shown_as_plans_write_them() {
    let rules = rules_with(
        "rule shown {\n about \"r\"\n severity note\n basis practice\n limit from = 2026-01-31\n check record in records\n require record.tiled < from\n \
         message \"{record.tiled}, {record.tiled + 14 days}, {record.switched-on - record.tiled}, {from}\"\n}\n",
    );
    let text =
        room("cable a {\nstart (500, 500)\nrun east 900\n}\nrecord {\ntiled 2028-02-20\nswitched-on 2028-03-10\n}");
    let report = check_with(&text, &rules);
    let found = report.findings.iter().find(|finding| &*finding.rule == "shown").expect("a finding");
    assert_eq!(found.message, "2028-02-20, 2028-03-05, 19 days, 2026-01-31");
    assert!(found.figures.iter().any(|figure| figure.limit && figure.text == "2026-01-31"), "{:#?}", found.figures);
}

/// Cross-sections are shown in mm2, floors in m2; other programs get m2 for both.
#[test]
fn small_areas_are_shown_in_square_millimetres() {
    use layrule::quantity::{Dimension, Quantity};
    let area = |value| Quantity::new(value, Dimension::AREA);
    assert_eq!((area(2.5).to_string(), area(16.0).to_string()), ("2.5 mm²".into(), "16 mm²".into()));
    assert_eq!((area(2000.0).to_string(), area(0.0).to_string()), ("0.002 m²".into(), "0 m²".into()));
    assert_eq!(area(2.5).in_fixed_unit(), (2.5e-6, "m2".into()));
}

/// A supply lies in no room; what is found of it lies in the first that it feeds, so that it can be agreed to there.
#[test]
fn what_is_found_of_a_supply_can_be_agreed_to() {
    let text = "kit k {\n output 230 W at 230 V\n length 4 m\n}\nsupply s {\n voltage 230 V\n breaker 10 A\n conductor 1.5 mm2 copper, 900 m, method C\n}\n"
        .to_string()
        + &room(
            "thermostat t (4000, 2000) rated 16 A on s\ndeviation voltage-drop \"an outbuilding, agreed with its owner\"\n\
             cable a {\nkit k\nstart (500, 500)\nrun east 900\n}",
        );
    let report = check(&text);
    let found: Vec<_> = report.findings.iter().filter(|finding| &*finding.rule == "voltage-drop").collect();
    assert!(found.len() == 1 && found[0].accepted.is_some(), "{found:#?}");
    assert_eq!(found[0].room.as_deref(), Some("r"));
}

/// What can't be read keeps only those rules from being held that need it.
#[test]
fn a_fault_silences_only_what_depends_on_it() {
    let kit = "kit k {\n output 230 W at 230 V\n length 4 m\n screen earthed\n}\n\
               supply s {\n voltage 230 V\n rcd 100 mA\n breaker 10 A\n conductor 1.5 mm2 copper, 9 m, method C\n}\n";
    let floor = "floor concrete {\ntile 10 mm\nadhesive 10 mm cable at 4 mm\nboard 10 mm\nconcrete 150 mm\n}\ninside 20 degC\nbelow room 18 degC\nheat-loss 90 W";
    let record = "record {\ndelivered 2026-10-01 cable a 230 ohm insulation 500 Mohm at 500 V\nlaid 2026-10-02 cable a 230 ohm insulation 500 Mohm at 500 V\n}";
    let text = kit.to_string()
        + &room(&format!(
            "{floor}\nthermostat t (4000, 2000) rated 16 A on s\ncable a {{\nkit k\nstart (500, 500)\nrun east 1900\nrun north 100\nrun west 1900\n}}\n{record}\n"
        ));
    let held = |text: &str| {
        let report = check(text);
        let faults: Vec<_> = report.findings.iter().filter(|finding| finding.basis.is_none()).collect();
        let unchecked: BTreeSet<String> = report.unchecked.iter().map(|own| own.rule.to_string()).collect();
        (faults.len(), unchecked, rules_found(&report))
    };
    let (none, before, found) = held(&text);
    assert_eq!(none, 0, "{found:?}");
    assert!(found.contains(&"rcd".to_string()));
    // Of a record, whether the line or only its day can't be read, those about records.
    let records: BTreeSet<String> = RULES
        .rules
        .iter()
        .filter(|rule| RULES.packs[rule.pack].name == "rules/record.rule")
        .map(|rule| rule.name.to_string())
        .collect();
    for day in ["2026-1-2", "2026-13-02"] {
        let (faults, after, found) = held(&text.replace("laid 2026-10-02", &format!("laid {day}")));
        assert_eq!(faults, 1);
        assert!(after.difference(&before).all(|rule| records.contains(rule)), "{day}: {after:?}");
        assert!(
            after.contains("stage-order") && after.contains("stage-missing") && after.contains("drying-time"),
            "{after:?}"
        );
        assert!(found.contains(&"rcd".to_string()), "{found:?}");
    }
    // Of a floor, those about floors and their heat; what the room is kept at, the same; of a deviation, none.
    for (line, spoilt) in [
        ("board 10 mm", "board ten mm"),
        ("inside 20 degC", "inside warm enough"),
        ("record {", "deviation doorway until\nrecord {"),
    ] {
        let (faults, after, found) = held(&text.replace(line, spoilt));
        assert_eq!(faults, 1, "{line}");
        assert!(found.contains(&"rcd".to_string()), "{line}: {found:?}");
        assert!(
            ["rcd", "wet-zone", "sensor-present", "laid-length"].iter().all(|rule| !after.contains(*rule)),
            "{line}: {after:?}"
        );
    }
    let (_, after, _) = held(&text.replace("board 10 mm", "board ten mm"));
    assert!(after.contains("cover"), "{after:?}");
    // What may lie in the floor keeps all from being held that speak of the room as a whole.
    let (_, after, _) = held(&text.replace("inside 20", "fixture bath rect (0,\ninside 20"));
    assert!(after.contains("kit-size"), "{after:?}");
}

/// The load of a supply is that of all its rooms.
#[test]
fn a_supply_carries_every_room_on_it() {
    let own = |name: &str, x: u32| {
        format!(
            "room {name} {{\n outline ({x}, 0) ({}, 0) ({}, 3000) ({x}, 3000)\n thermostat t ({x}, 2000) rated 16 A on s\n cable a {{\n kit k\n start ({}, 500)\n run east 900\n }}\n}}\n",
            x + 4000,
            x + 4000,
            x + 500
        )
    };
    let text = "kit k {\n output 1150 W at 230 V\n length 4 m\n}\nsupply s {\n voltage 230 V\n breaker 16 A\n}\n"
        .to_string()
        + &own("one", 0)
        + &own("two", 5000);
    let rules = rules_with(
        "rule loaded {\n about \"r\"\n severity note\n basis practice\n check supply in supplies\n message \"{supply.load}, {count(t in supply.thermostats)}, {supply.preferred-breaker}\"\n}\n\
         rule expected {\n about \"r\"\n severity note\n basis practice\n check thermostat in thermostats\n message \"{thermostat.least-resistance(5 %)} to {thermostat.greatest-resistance(10 %)}\"\n}\n",
    );
    let report = check_with(&text, &rules);
    let said = |rule: &str| report.findings.iter().find(|finding| &*finding.rule == rule).expect(rule).message.clone();
    assert_eq!(said("loaded"), "10 A, 2, 10 A");
    // 46 ohm, -5 % to +10 %.
    assert_eq!(said("expected"), "43.7 Ω to 50.6 Ω");
}

/// Many fittings, baths and partitions are followed round, or told to be too many; never for long.
#[test]
fn a_maze_ends() {
    let mut inside = String::new();
    for index in 0..300 {
        let at = 10 * (index + 1);
        inside += &format!("thermostat t{index} ({at}, 1500) height 1000 rated 16 A\n");
        inside += &format!("fixture b{index} bath rect ({at}, 1900) ({}, 2000)\n", at + 5);
        inside += &format!("partition p{index} ({at}, 1600) ({}, 1700) ({at}, 1800)\n", at + 7);
    }
    let report = check(&room(&inside));
    assert!(report.unchecked.iter().any(|own| &*own.rule == "wet-zone" && own.reason.contains("too many walls")));
}
