//! Exercises as they are made: sound but for what the key says, with nothing that gives it away, the same for the same seed.

use std::collections::HashSet;

use layrule::exercise::choose::{Asked, Lacking, Level};
use layrule::exercise::key::{self, Key, Origin, fingerprint};
use layrule::exercise::learners::{Learner, MOST, learners};
use layrule::exercise::sound::{Sound, Unsound};
use layrule::exercise::told::{Count, Told};
use layrule::exercise::{Wanted, exercises, provoke, sheet};
use layrule::language::tokens::{Sort, tokens};
use layrule::layout::tidy::tidy;
use layrule::model::load::Library;
use layrule::source::Memory;

use super::{sound, sound_examples};
use crate::common::{RULES, TODAY, rules_with};

fn made(sound: &Sound, asked: Asked, level: Level, seed: u64, names: &str) -> Result<Key, Lacking> {
    let learners = if names.is_empty() { Vec::new() } else { learners(names).expect("names") };
    exercises(Origin { sound, rules: &RULES, today: TODAY, seed }, &Wanted { asked, level, learners })
}

/// What must hold of any exercise.
fn is_as_its_key_says(sound: &Sound, key: &Key) {
    for exercise in &key.exercises {
        let report = provoke::report_on(&sound.name, &exercise.text, &RULES, TODAY);
        let text = &exercise.text;
        let open = Count::open(&report);
        let new: HashSet<&Told> = open.beyond(&sound.open).collect();
        let told: HashSet<&Told> =
            exercise.faults.iter().flat_map(|fault| &fault.provokes).map(|one| &one.told).collect();
        assert!(new.is_subset(&told), "{text}\n{new:?}\n{told:?}");
        for fault in &exercise.faults {
            assert!(
                fault.aimed().next().is_some() && fault.aimed().all(|one| new.contains(&one.told)),
                "{fault:?}\n{text}"
            );
            assert!(fault.aimed().all(|one| one.told.rule == fault.rule && !one.lines.is_empty()), "{fault:?}\n{text}");
            assert!(!fault.changed.is_empty(), "{fault:?}\n{text}");
            let lines: Vec<&str> = text.lines().collect();
            for changed in &fault.changed {
                let there = lines[changed.line - 1..].iter().take(changed.is.len()).map(|line| line.trim());
                assert!(there.eq(changed.is.iter().map(String::as_str)), "{changed:?}\n{text}");
                assert!(changed.was.iter().all(|line| sound.text.contains(line.as_str())), "{changed:?}");
            }
        }
        // What the rule of one fault finds, no other fault brings.
        for fault in &exercise.faults {
            let others = exercise.faults.iter().filter(|other| *other != fault).flat_map(|other| &other.provokes);
            let others: Vec<&Told> = others.map(|one| &one.told).collect();
            assert!(fault.aimed().all(|one| !others.contains(&&one.told)), "{fault:?}\n{text}");
        }
        assert_eq!(exercise.fingerprint, fingerprint(text));
        let notes: Vec<&str> = tokens(text)
            .iter()
            .filter(|token| token.sort == Sort::Comment)
            .map(|token| &text[token.span.range()])
            .collect();
        let whose = exercise.learner.as_ref().map_or(String::new(), |name| format!(": {name}"));
        assert_eq!(notes, [format!("# Exercise {}{whose}", exercise.id)]);
        assert_eq!(tidy(text).as_deref(), Ok(text.as_str()), "it is laid out as the canonical form");
    }
}

#[test]
fn what_the_key_says_is_found_and_nothing_else() {
    for (number, sound) in sound_examples().iter().enumerate() {
        // By turns, since it takes a while.
        let turns = [(Level::Easy, 3), (Level::Hard, 2)];
        for (level, count) in turns.into_iter().skip(number % 2).take(1) {
            let key = made(sound, Asked::Count(count), level, number as u64, "")
                .unwrap_or_else(|why| panic!("{}: {why:?}", sound.name));
            assert_eq!(key.exercises[0].faults.len(), count);
            is_as_its_key_says(sound, &key);
            for fault in &key.exercises[0].faults {
                let rules: HashSet<&str> = fault.provokes.iter().map(|one| one.told.rule.as_str()).collect();
                match level {
                    Level::Easy => assert!(rules.len() <= 2 && fault.changed.len() == 1, "{fault:?}"),
                    Level::Hard => assert!(rules.len() <= 5, "{fault:?}"),
                }
            }
        }
    }
}

#[test]
fn the_same_seed_makes_the_same_and_each_learner_gets_their_own() {
    let sound = sound("bathroom.lay");
    let names: String = (1..=12).map(|number| format!("Learner {number}\n")).collect();
    let key = made(&sound, Asked::Count(3), Level::Easy, 7, &names).expect("exercises");
    assert_eq!(key, made(&sound, Asked::Count(3), Level::Easy, 7, &names).expect("exercises"));
    assert_ne!(
        key.exercises[0].text,
        made(&sound, Asked::Count(3), Level::Easy, 8, &names).expect("exercises").exercises[0].text
    );
    is_as_its_key_says(&sound, &key);
    let plans: HashSet<&str> = key.exercises.iter().map(|one| one.text.split_once('\n').expect("lines").1).collect();
    let ids: HashSet<&str> = key.exercises.iter().map(|one| one.id.as_str()).collect();
    assert_eq!((plans.len(), ids.len()), (12, 12));
    // What one learner gets hangs on their place in the list alone.
    let fewer = made(&sound, Asked::Count(3), Level::Easy, 7, "Learner 1\nLearner 2\n").expect("exercises");
    assert_eq!(fewer.exercises[..2], key.exercises[..2]);
}

#[test]
fn rules_that_are_asked_for_are_broken() {
    let sound = sound("boot-room.lay");
    let asked = ["spacing", "sensor-crossed", "rcd", "insulation-reading"].map(String::from).to_vec();
    let key = made(&sound, Asked::Rules(asked.clone()), Level::Easy, 3, "").expect("an exercise");
    let mut rules: Vec<String> = key.exercises[0].faults.iter().map(|fault| fault.rule.clone()).collect();
    rules.sort();
    let mut wanted = asked;
    wanted.sort();
    assert_eq!(rules, wanted);
    is_as_its_key_says(&sound, &key);
    // A plan without a bath has no bonding to forget.
    let none = made(&sound, Asked::Rules(vec!["bonding".into()]), Level::Easy, 3, "");
    assert_eq!(none, Err(Lacking::Rule("bonding".into())));
}

/// A rule of somebody's own, which no way knows of, is broken by whatever is found by it.
#[test]
fn rules_of_ones_own_are_broken_too() {
    let rules = rules_with(
        "rule small-stat {\n about \"Small thermostat\"\n severity error\n basis practice\n limit least = 12 A \"of our own stock\"\n \
         check thermostat in thermostats\n require thermostat.rated >= least\n message \"{thermostat} is rated {thermostat.rated}\"\n}",
    );
    let library_text = super::sound("boot-room.lay").text;
    let files = Memory::default();
    let library = Library::new(&files, "", "");
    let sound = Sound::new(library.load_text("p.lay".as_ref(), "p.lay", library_text), &rules, TODAY);
    let sound = sound.unwrap_or_else(|why| panic!("{why}"));
    let origin = Origin { sound: &sound, rules: &rules, today: TODAY, seed: 1 };
    let wanted = Wanted { asked: Asked::Rules(vec!["small-stat".into()]), level: Level::Easy, learners: Vec::new() };
    let key = exercises(origin, &wanted).expect("an exercise");
    assert_eq!(key.exercises[0].faults[0].rule, "small-stat");
}

#[test]
fn what_is_not_sound_is_no_ground() {
    let files = Memory::default();
    let library = Library::new(&files, "", "");
    let of =
        |text: &str| Sound::new(library.load_text("p.lay".as_ref(), "p.lay", text.into()), &RULES, TODAY).map(|_| ());
    let near = of(crate::common::program::NEAR_WALL).expect_err("a cable near a wall");
    assert!(matches!(&near, Unsound::Found(found) if found[0].starts_with("wall-clearance at p.lay:5: ")), "{near}");
    assert_eq!(of("let a = 3\n"), Err(Unsound::Empty));
    assert!(matches!(of("room {\n"), Err(Unsound::Found(_))));
    assert_eq!(of(crate::common::program::SOUND), Ok(()));
}

/// What a plan uses stands in the learner's, whatever the order that it asks for; rooms of used files are no part of it.
#[test]
fn a_learners_plan_is_one_file() {
    let mut files = Memory::default();
    files.insert(
        "house/values.lay",
        "# As measured.\nlet far = 800\nroom other {\n outline (0, 0) (900, 0) (900, 900) (0, 900)\n}\n",
    );
    let library = Library::new(&files, "house", "");
    let text = crate::common::program::SOUND.replace("run east 800", "run east far  # to the wall");
    let loaded = library.load_text("house/p.lay".as_ref(), "p.lay", format!("use \"values.lay\"\n{text}"));
    let sound = Sound::new(loaded, &RULES, TODAY).unwrap_or_else(|why| panic!("{why}"));
    assert!(
        sound.text.contains("let far = 800") && !sound.text.contains("use") && !sound.text.contains("other"),
        "{}",
        sound.text
    );
    assert!(!sound.text.contains('#'), "{}", sound.text);
}

#[test]
fn the_key_is_as_its_schema_says_and_is_read_again() {
    let schema: serde_json::Value = serde_json::from_str(include_str!("../../grammar/key.schema.json")).expect("JSON");
    let schema = jsonschema::validator_for(&schema).expect("a schema");
    let sound = sound("hall.lay");
    let key = made(&sound, Asked::Count(3), Level::Hard, 5, "Ada\nBo\n").expect("exercises");
    let text = serde_json::to_string_pretty(&key).expect("JSON");
    let json = serde_json::from_str(&text).expect("JSON");
    let faults: Vec<String> =
        schema.iter_errors(&json).map(|error| format!("{error} at {}", error.instance_path())).collect();
    assert!(faults.is_empty(), "{faults:#?}");
    assert_eq!(key::read(&text), Ok(key));
    for (from, to, says) in [
        ("layrule-exercise-key", "layrule-findings", "it is a `layrule-findings`"),
        ("\"version\": 1", "\"version\": 2", "another version"),
        ("room hall", "room hell", "changed by hand"),
        ("\"exercises\"", "\"exercise\"", "it is not whole"),
        ("{\n  \"format\"", "{\n  \"form\"", "doesn't say that it is"),
        ("{", "", "it is no JSON"),
    ] {
        let spoilt = text.replacen(from, to, 1);
        assert_ne!(spoilt, text, "{from}");
        let why = key::read(&spoilt).expect_err(says);
        assert!(why.contains(says), "{why}");
    }
}

#[test]
fn names_become_folders_that_any_system_takes() {
    let folders =
        |text: &str| learners(text).expect("names").into_iter().map(|one: Learner| one.folder).collect::<Vec<_>>();
    assert_eq!(
        folders("con\nCOM1\n...\n=1+1\n<b>Zoë</b>, Dr.\n"),
        ["con-learner", "com1-learner", "learner-3", "1-1", "b-zoë-b-dr"]
    );
    assert_eq!(folders("Ann\nann\nANN\nann-2\n"), ["ann", "ann-2", "ann-3", "ann-2-2"]);
    let many: String = (0..=MOST).map(|number| format!("n{number}\n")).collect();
    assert!(learners(&many).expect_err("too many").contains("the most that a class may have"));
    assert!(learners("# nobody\n\n").expect_err("none").contains("no name"));
    assert_eq!(folders(&"x".repeat(500))[0].len(), 48);
}

/// The sheet shows the plan and its drawing, and nothing that was measured.
#[test]
fn the_task_sheet_tells_nothing() {
    let sound = sound("boot-room.lay");
    let name = "<b>Mallory & \"Co\"</b>";
    let key =
        made(&sound, Asked::Rules(vec!["sensor-between-runs".into()]), Level::Easy, 2, name).expect("an exercise");
    let page = sheet::sheet(&key.exercises[0], "boot-room.lay").expect("a page");
    assert!(page.contains("&#60;b&#62;Mallory &#38; &#34;Co&#34;") && !page.contains("<b>"), "the name stays a name");
    let read = scraper::Html::parse_document(&page);
    let words = |selector: &str| -> Vec<String> {
        let selector = scraper::Selector::parse(selector).expect("a selector");
        read.select(&selector).map(|one| one.text().collect::<String>()).collect()
    };
    let svg = words("svg text").join(" ");
    for told in ["spacing", "supplied", "clearance", "Load", "heated floor", "°C"] {
        assert!(!svg.contains(told), "the drawing tells `{told}`: {svg}");
    }
    assert!(svg.contains("3400") && svg.contains("Legend"), "walls are measured, and lines explained: {svg}");
    assert!(words("svg .pitch, svg .clearance, svg .mark").is_empty());
    let lines: Vec<String> = words("ol.text li");
    assert_eq!(lines.join("\n").trim_end(), key.exercises[0].text.trim_end());
    assert_eq!(words("table.form tbody tr").len(), 12);
    assert!(!page.contains(&key.exercises[0].faults[0].rule), "the sheet names the rule");
    let table = String::from_utf8(sheet::table(&key.exercises[0])).expect("UTF-8");
    assert_eq!(table, format!("exercise,line,rule,what is wrong\r\n{},,,\r\n", key.exercises[0].id));
}
