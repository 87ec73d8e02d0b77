//! Marks, checked by hand for answers whose points follow from the scheme, and for a class of thirty.

use layrule::exercise::choose::{Asked, Level, Mistake};
use layrule::exercise::key::{self, Exercise, FORMAT, Key, Origin, SoundPlan, VERSION, fingerprint, rules_fingerprint};
use layrule::exercise::learners::learners;
use layrule::exercise::provoke::provoked;
use layrule::exercise::site::Change;
use layrule::exercise::sound::Sound;
use layrule::exercise::{Wanted, exercises, ways};
use layrule::finding::Edit;
use layrule::marking::hints::Hint;
use layrule::marking::outputs::write;
use layrule::marking::scheme::Scheme;
use layrule::marking::{Answer, Class, Content, Marked, MarkedBy, Outcome, mark};
use layrule::source::{FileId, Place, Span};
use layrule::takeoff::outputs::Form;

use super::sound;
use crate::common::{RULES, TODAY};

/// A mistake that writes one text for another.
fn mistake(sound: &Sound, rule: &str, pairs: &[(&str, &str)]) -> Mistake {
    let edits = pairs.iter().map(|(from, to)| {
        let at = sound.text.find(from).unwrap_or_else(|| panic!("no `{from}` in\n{}", sound.text));
        Edit { place: Place { file: FileId(0), span: Span::new(at..at + from.len()) }, text: (*to).into() }
    });
    let change = Change { edits: edits.collect(), said: format!("`{}` for `{}`", pairs[0].1, pairs[0].0), size: 1.0 };
    let provoked = provoked(sound, &change, &RULES, TODAY).expect("it is found");
    assert!(provoked.by(rule).next().is_some(), "{provoked:?}");
    Mistake { way: ways::all().next().expect("a way"), rule: rule.into(), change, provoked }
}

/// An exercise of the boot room with three mistakes: an RCD of 300 mA, a sensor 15 mm beside the middle, two rows of the last four forgotten.
fn boot_room() -> (Key, Exercise) {
    let sound = sound("boot-room.lay");
    let mistakes = [
        mistake(&sound, "rcd", &[(RCD.1, RCD.0)]),
        mistake(&sound, "sensor-between-runs", &[(SENSOR.1, SENSOR.0)]),
        mistake(&sound, "laid-length", &[(ROWS.1, ROWS.0)]),
    ];
    let origin = Origin { sound: &sound, rules: &RULES, today: TODAY, seed: 1 };
    let exercise = key::exercise(origin, 0, Some(("Ada".into(), "ada".into())), &mistakes).expect("an exercise");
    (key_of(&sound, vec![exercise.clone()]), exercise)
}

/// What is wrong, and what is right.
const RCD: (&str, &str) = ("rcd        300 mA", "rcd        30 mA");
const SENSOR: (&str, &str) = ("(3400, 1590 + pitch) (2820, 1590 + pitch)", "(3400, 1605 + pitch) (2820, 1605 + pitch)");
const ROWS: (&str, &str) = ("loops  2 of 820", "loops  4 of 820");

fn key_of(sound: &Sound, exercises: Vec<Exercise>) -> Key {
    let plan = SoundPlan { name: sound.name.clone(), fingerprint: fingerprint(&sound.text), text: sound.text.clone() };
    Key {
        format: FORMAT.into(),
        version: VERSION,
        plan,
        rules: rules_fingerprint(&RULES),
        date: TODAY.to_string(),
        seed: 1,
        exercises,
    }
}

fn with(text: &str, changes: &[(&str, &str)]) -> String {
    changes.iter().fold(text.to_string(), |text, (from, to)| {
        assert!(text.contains(from), "no `{from}` in\n{text}");
        text.replace(from, to)
    })
}

fn marked_by(key: &Key, answers: Vec<Content>, hint: Option<Hint>) -> Class {
    let answers = answers
        .into_iter()
        .zip(1..)
        .map(|(content, number)| Answer { file: format!("answer {number}"), content: Ok(content) });
    let scheme = Scheme::default();
    mark(&answers.collect::<Vec<_>>(), MarkedBy { key, rules: &RULES, today: TODAY, scheme: &scheme, hint })
}

fn one(key: &Key, content: Content) -> Marked {
    let mut class = marked_by(key, vec![content], None);
    class.answers.remove(0).marked.expect("it is marked")
}

/// What became of a fault of a rule.
fn of(marked: &Marked, rule: &str) -> Outcome {
    marked.faults.iter().find(|fault| fault.rule == rule).expect("a fault").outcome
}

/// A text without a block: from the line that begins it to its brace.
fn without_block(text: &str, head: &str) -> String {
    let start = text.find(head).unwrap_or_else(|| panic!("no {head}"));
    let end = start + text[start..].find("\n  }\n").expect("its end") + 5;
    format!("{}{}", &text[..start], &text[end..])
}

/// By hand, two points a fault: six in all.
#[test]
fn six_answers_have_the_points_that_are_worked_out_by_hand() {
    let (key, exercise) = boot_room();
    let begun = exercise.text.as_str();
    let all = [RCD, SENSOR, ROWS];

    // All mended: 3 x 2.
    let marked = one(&key, Content::Plan(with(begun, &all)));
    assert_eq!((marked.points, marked.most), (6.0, 6.0), "{marked:#?}");
    assert!(marked.new.is_empty() && marked.needless.is_empty(), "{marked:#?}");

    // The sensor left as it was: 2 x 2.
    let marked = one(&key, Content::Plan(with(begun, &[RCD, ROWS])));
    assert_eq!((marked.points, of(&marked, "sensor-between-runs")), (4.0, Outcome::StillThere), "{marked:#?}");

    // All mended, and a door hung otherwise for nothing: 6 - 0.5.
    let door = ("door     garden  wall 1 from 300 to 1200", "door     garden  wall 1 from 320 to 1220");
    let marked = one(&key, Content::Plan(with(begun, &[RCD, SENSOR, ROWS, door])));
    assert_eq!((marked.points, marked.needless.len()), (5.5, 1), "{marked:#?}");

    // The sensor agreed to: 2 x 2.
    let agreed = ("  record {", "  deviation sensor-between-runs sensor s \"agreed with the owner\"\n  record {");
    let marked = one(&key, Content::Plan(with(begun, &[RCD, ROWS, agreed])));
    assert_eq!((marked.points, of(&marked, "sensor-between-runs")), (4.0, Outcome::Agreed), "{marked:#?}");

    // The RCD mended, the cable taken away with its readings, which leaves a room without any: 2 - 1.
    let bare = without_block(&without_block(&with(begun, &[RCD]), "  cable a {"), "  record {");
    let marked = one(&key, Content::Plan(bare));
    assert_eq!(of(&marked, "laid-length"), Outcome::TakenAway, "{marked:#?}");
    assert_eq!(of(&marked, "sensor-between-runs"), Outcome::TakenAway, "{marked:#?}");
    assert_eq!((marked.points, marked.new.len(), marked.new[0].rule.as_str()), (1.0, 1, "no-cable"), "{marked:#?}");

    // All mended, and a breaker of 63 A, which the conductor doesn't carry: 6 - 1.
    let breaker = ("breaker    16 A", "breaker    63 A");
    let marked = one(&key, Content::Plan(with(begun, &[RCD, SENSOR, ROWS, breaker])));
    assert_eq!((marked.points, marked.new.len(), marked.new[0].rule.as_str()), (5.0, 1, "breaker"), "{marked:#?}");
    assert!(marked.needless.is_empty(), "{marked:#?}");
}

#[test]
fn mending_otherwise_than_the_sound_plan_is_mending() {
    let (key, exercise) = boot_room();
    // Another channel, an RCD of 10 mA, lines elsewhere, another layout, notes.
    let other = ("(3400, 1590 + pitch) (2820, 1590 + pitch)", "(3400, 1935) (2820, 1935)  # the next open channel");
    let rcd = ("rcd        300 mA", "rcd 10 mA");
    let text = with(&exercise.text, &[rcd, other, ROWS]).replace("\n  inside", "\n\n\n  inside");
    let marked = one(&key, Content::Plan(text));
    assert_eq!(marked.points, 6.0, "{marked:#?}");
}

#[test]
fn what_cannot_be_told_is_not_taken_for_mended() {
    let (key, exercise) = boot_room();
    let text = with(&exercise.text, &[("loops  19 of", "loops  19 off"), RCD]);
    let marked = one(&key, Content::Plan(text));
    assert_eq!(of(&marked, "laid-length"), Outcome::Untold, "{marked:#?}");
    assert!(
        marked.faults.iter().any(|fault| fault.why.as_ref().is_some_and(|why| why.contains("can't be read whole")))
    );
    // A cable of which a stump is left was taken away, whatever its kit is then said to be.
    let short = with(
        &exercise.text,
        &[("loops  19 of", "loops  2 of"), ("W-700     700 W    70 m", "W-700     700 W     9 m")],
    );
    let marked = one(&key, Content::Plan(short));
    assert_ne!(of(&marked, "laid-length"), Outcome::Mended, "{marked:#?}");
}

#[test]
fn tables_are_held_to_lines_and_rules() {
    let (key, exercise) = boot_room();
    let line = |part: &str| exercise.text.lines().position(|line| line.contains(part)).expect("a line") + 1;
    let (rcd, sensor) = (line("rcd "), line("sensor s"));
    // Two found (1 each), a rule alone (0.5), and a row that names nothing (-0.5).
    let table = format!(
        "exercise,line,rule,what is wrong\n{},{rcd},rcd,too much\n,line {sensor},`Sensor-Between-Runs`,\"off, a bit\"\n,1,laid-length,\n,2,wall-clearance,\n",
        exercise.id
    );
    let marked = one(&key, Content::Table(table));
    assert_eq!((marked.points, marked.most, marked.wrong.len()), (2.0, 3.0, 1), "{marked:#?}");
    assert_eq!(of(&marked, "laid-length"), Outcome::RuleAlone);
    // As other spreadsheets write it; and a rule that is misspelt at the right line.
    let table = format!("\u{feff}rule;line\r\nrdc;{rcd}\r\nspacign;3\r\n");
    let marked = one(&key, Content::Table(table));
    assert_eq!((of(&marked, "rcd"), marked.wrong.len()), (Outcome::PlaceAlone, 1), "{marked:#?}");
    assert!(marked.wrong[0].why.as_ref().is_some_and(|why| why.contains("`spacing`")), "{marked:#?}");
}

#[test]
fn hints_tell_more_by_degrees() {
    let (key, exercise) = boot_room();
    let text = with(&exercise.text, &[RCD, ROWS]);
    let told = |hint| {
        let class = marked_by(&key, vec![Content::Plan(text.clone())], hint);
        let marked = class.answers[0].marked.clone().expect("marked");
        marked.faults.into_iter().flat_map(|fault| fault.hints).collect::<Vec<_>>()
    };
    assert!(told(None).is_empty());
    // Who asks for hints is shown no more than they tell.
    let shown = |hint| {
        let marked =
            marked_by(&key, vec![Content::Plan(text.clone())], hint).answers[0].marked.clone().expect("marked");
        let fault = marked.faults.into_iter().find(|fault| fault.outcome.is_open()).expect("it is still there");
        (fault.done.is_some(), fault.line.is_some())
    };
    assert_eq!([None, Some(Hint::Reason), Some(Hint::Place)].map(shown), [(true, true), (false, false), (false, true)]);
    let line = text.lines().position(|line| line.contains("sensor s")).expect("a line") + 1;
    let all = told(Some(Hint::Advice));
    assert_eq!(all.iter().map(|(hint, _)| *hint).collect::<Vec<_>>(), [Hint::Reason, Hint::Place, Hint::Advice]);
    assert_eq!(told(Some(Hint::Reason)), all[..1]);
    assert_eq!(told(Some(Hint::Place)), all[..2]);
    assert!(all[0].1.contains("reads too warm") && all[1].1.starts_with(&format!("line {line}: ")), "{all:?}");
    assert!(all[2].1.contains("the conduit of sensor `s`"), "{all:?}");
}

#[test]
fn schemes_are_held_to_their_keys() {
    let (key, exercise) = boot_room();
    let scheme = Scheme::read("mended = 4\nnew = -2\nagreed = 1\n[marks]\n\"distinction\" = 90\n\"pass\" = 50\n")
        .expect("a scheme");
    let answers = [Answer { file: "a".into(), content: Ok(Content::Plan(with(&exercise.text, &[RCD, ROWS]))) }];
    let class = mark(&answers, MarkedBy { key: &key, rules: &RULES, today: TODAY, scheme: &scheme, hint: None });
    let marked = class.answers[0].marked.as_ref().expect("marked");
    assert_eq!((marked.points, marked.most, marked.mark.as_deref()), (8.0, 12.0, Some("pass")));
    for (text, says) in [
        ("mended = \"two\"", "line 1: "),
        ("\nmendet = 2", "mendet"),
        ("mended = 0", "more than nothing"),
        ("new = inf", "between"),
        ("laid-share = 120", "per cent"),
        ("[marks]\npass = 101", "per cent"),
        ("mended", "line 1"),
    ] {
        let why = Scheme::read(text).expect_err(text);
        assert!(why.contains(says), "{text}: {why}");
    }
}

/// Thirty learners: those who restore the sound plan have all points, those who do nothing none, others some; whatever their files are called.
#[test]
fn a_class_of_thirty_is_marked_at_once() {
    let sound = sound("flat-6.lay");
    let names: String = (0..30).map(|number| format!("=Learner, <b>{number}</b> @x\n")).collect();
    let learners = learners(&names).expect("names");
    let wanted = Wanted { asked: Asked::Count(2), level: Level::Easy, learners };
    let key = exercises(Origin { sound: &sound, rules: &RULES, today: TODAY, seed: 11 }, &wanted).expect("exercises");
    let answers: Vec<Answer> = key
        .exercises
        .iter()
        .enumerate()
        .map(|(number, exercise)| {
            let head = exercise.text.lines().next().expect("a line");
            let restored = format!("{head}\n{}", sound.text);
            let content = match number % 5 {
                0 => Ok(Content::Plan(restored)),
                1 => Ok(Content::Plan(exercise.text.clone())),
                // Without the line that says whose it is: by what it is like.
                2 => Ok(Content::Plan(exercise.text.split_once('\n').expect("lines").1.to_string())),
                3 => {
                    let rows = exercise.faults.iter().map(|fault| {
                        let line = fault.aimed().find_map(|one| one.lines.first()).expect("a line");
                        format!("{},{line},{}\n", exercise.id, fault.rule)
                    });
                    Ok(Content::Table(format!("exercise,line,rule\n{}", rows.collect::<String>())))
                }
                _ => Err("it is not UTF-8 text".to_string()),
            };
            Answer { file: format!("-{number},=x.lay"), content }
        })
        .collect();
    let scheme = Scheme::default();
    let start = std::time::Instant::now();
    let class = mark(&answers, MarkedBy { key: &key, rules: &RULES, today: TODAY, scheme: &scheme, hint: None });
    let took = start.elapsed();
    // Well below a second on a machine that has nothing else to do; this one may.
    assert!(took.as_secs() < 10, "{took:?}");
    println!("thirty answers marked in {took:?}");
    assert_eq!((class.answers.len(), class.unmarked(), class.missing.len()), (30, 6, 6));
    for (number, answer) in class.answers.iter().enumerate() {
        match (number % 5, &answer.marked) {
            (0 | 3, Ok(marked)) => assert_eq!(marked.share(), 100.0, "{number}: {marked:#?}"),
            (1 | 2, Ok(marked)) => {
                assert_eq!((marked.points, marked.needless.len()), (0.0, 0), "{number}: {marked:#?}")
            }
            (4, Err(why)) => assert!(why.contains("UTF-8")),
            (_, other) => panic!("{number}: {other:?}"),
        }
        let own = answer.marked.as_ref().ok().map(|marked| marked.exercise.clone());
        assert!(own.is_none_or(|own| own == key.exercises[number].id), "{number} is taken for another's");
    }
    outputs_hold_words(&class);
}

/// Names that spreadsheets, Markdown and HTML would obey stay words.
fn outputs_hold_words(class: &Class) {
    let text = |form| String::from_utf8(write(class, form, None)).expect("UTF-8");
    let table = text(Form::Csv);
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let width = reader.headers().expect("a header").len();
    let mut rows = 0;
    for record in reader.records() {
        let record = record.expect("a row");
        rows += 1;
        assert_eq!(record.len(), width);
        for cell in &record {
            let number = cell.parse::<f64>().is_ok();
            assert!(number || !cell.starts_with(['=', '+', '-', '@']) || cell.starts_with('\''), "{cell}");
        }
    }
    assert_eq!(rows, 30);
    assert!(table.contains("\"'=Learner, <b>0</b> @x\""), "{table}");
    let page = text(Form::Markdown);
    assert!(page.contains("&lt;b&gt;0&lt;/b&gt;") && !page.contains("<b>") && !page.contains(" @x"), "{page}");
    assert!(page.lines().filter(|line| line.starts_with("| =Learner")).count() == 24, "{page}");
    let schema: serde_json::Value =
        serde_json::from_str(include_str!("../../grammar/marks.schema.json")).expect("JSON");
    let schema = jsonschema::validator_for(&schema).expect("a schema");
    let json: serde_json::Value = serde_json::from_str(&text(Form::Json)).expect("JSON");
    let faults: Vec<String> =
        schema.iter_errors(&json).map(|error| format!("{error} at {}", error.instance_path())).collect();
    assert!(faults.is_empty(), "{faults:#?}");
    assert!(text(Form::Text).contains("24 answers marked"), "{}", text(Form::Text));
}

#[test]
fn answers_to_other_exercises_are_told_of() {
    let (key, exercise) = boot_room();
    let foreign = exercise.text.replace(&exercise.id, "0123abcd");
    let other = "room r {\n outline (0, 0) (900, 0) (900, 900) (0, 900)\n}\n";
    let contents = vec![
        Content::Plan(foreign),
        Content::Plan(other.into()),
        Content::Plan(String::new()),
        Content::Table("line,rule\n,\n".into()),
        Content::Table("a,b\n1,2\n".into()),
        Content::Table("exercise,line,rule\n99999999,3,rcd\n".into()),
        Content::Plan(with(&exercise.text, &[RCD, SENSOR, ROWS])),
    ];
    let class = marked_by(&key, contents, None);
    let whys: Vec<String> =
        class.answers.iter().map(|answer| answer.marked.as_ref().err().cloned().unwrap_or_default()).collect();
    for (why, says) in whys.iter().zip([
        "exercise 0123abcd, which this key doesn't hold",
        "another plan",
        "another plan",
        "nothing is filled in",
        "the columns `line` and `rule`",
        "exercise 99999999",
        "",
    ]) {
        assert!(why.contains(says), "{why} / {says}");
    }
    assert_eq!(class.answers[6].marked.as_ref().expect("marked").points, 6.0);
}
