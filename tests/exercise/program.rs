//! `layrule exercise` and `layrule mark` as they are run.

use crate::common::program::Folder;
use crate::common::root;

/// A folder with a sound plan and its kits, and names of learners.
fn house() -> Folder {
    let example = |name: &str| std::fs::read_to_string(root().join("examples").join(name)).expect("an example");
    Folder::new(&[
        ("boot-room.lay", &example("boot-room.lay")),
        ("kits.lay", &example("kits.lay")),
        ("broken.lay", &example("boot-room.lay").replace("30 mA", "300 mA")),
        ("names.txt", "Ada\n../Bo\n=Cy, <i>\n"),
    ])
}

const DAY: [&str; 2] = ["--date", "2026-11-25"];

fn make(folder: &Folder, more: &[&str]) -> (i32, String, String) {
    folder.run(&[&["exercise", "boot-room.lay"], more, &DAY[..]].concat())
}

fn names(folder: &Folder, below: &str) -> Vec<String> {
    let walk =
        walkdir::WalkDir::new(folder.path(below)).sort_by_file_name().into_iter().map(|entry| entry.expect("one"));
    let files = walk.filter(|entry| entry.file_type().is_file());
    files
        .map(|entry| entry.path().strip_prefix(folder.path(below)).expect("below").to_string_lossy().replace('\\', "/"))
        .collect()
}

#[test]
fn exercises_are_written_once_and_marked() {
    let folder = house();
    let (code, out, said) = make(&folder, &["--output", "class", "--learners", "names.txt", "--seed", "4"]);
    assert_eq!((code, out.as_str()), (0, ""), "{said}");
    assert!(said.contains("3 exercises with 3 mistakes each written to class"), "{said}");
    let each = |name: &str| ["boot-room.lay", "findings.csv", "task.html"].map(|file| format!("{name}/{file}"));
    let mut wanted: Vec<String> = ["ada", "bo", "cy-i"].iter().flat_map(|name| each(name)).collect();
    wanted.push("key.json".into());
    assert_eq!(names(&folder, "class"), wanted);
    // The learner's files don't hold what the key does.
    let key = std::fs::read_to_string(folder.path("class/key.json")).expect("the key");
    let key: serde_json::Value = serde_json::from_str(&key).expect("JSON");
    for exercise in key["exercises"].as_array().expect("exercises") {
        for fault in exercise["faults"].as_array().expect("faults") {
            let done = fault["done"].as_str().expect("words");
            let own = exercise["folder"].as_str().expect("a folder");
            for file in each(own) {
                let text = std::fs::read_to_string(folder.path("class").join(file)).expect("a file");
                assert!(!text.contains(done), "{done}");
            }
        }
    }
    // Nothing is written over.
    let (code, _, said) = make(&folder, &["--output", "class", "--learners", "names.txt"]);
    assert_eq!(code, 2);
    assert!(said.contains("is there already") && said.contains("nothing was written"), "{said}");
    // As they were handed out nothing is mended; unfilled tables are no answers.
    let (code, out, said) = folder.run(&["mark", "class", "--key", "class/key.json"]);
    assert_eq!(code, 0, "{said}");
    assert!(out.contains("0 of 6 points, 0 %") && out.contains("3 answers marked, 0 % on average"), "{out}");
    let again = folder.run(&["mark", "class", "--key", "class/key.json"]);
    assert_eq!(out, again.1);
    // One mended, one that can't be read, one of another exercise: the others are marked all the same.
    let sound = key["plan"]["text"].as_str().expect("the plan");
    let head = format!("# Exercise {}\n", key["exercises"][1]["id"].as_str().expect("an id"));
    std::fs::create_dir(folder.path("sent")).expect("a folder");
    std::fs::write(folder.path("sent/whatever.lay"), format!("{head}{sound}")).expect("written");
    std::fs::write(folder.path("sent/zip.lay"), [0x50, 0x4b, 0xff, 0xfe]).expect("written");
    std::fs::write(folder.path("sent/::error::x.csv"), "line,rule\n1,rcd\n").expect("written");
    let arguments = ["mark", "sent", "--key", "class/key.json", "--output", "text", "--output", "csv=marks.csv"];
    let (code, out, said) = folder.run(&arguments);
    assert_eq!(code, 1, "{said}");
    assert!(out.contains("6 of 6 points, 100 %") && out.contains("zip.lay: not marked: it is not UTF-8 text"), "{out}");
    let flat = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("write its number into a column `exercise`") && !out.contains("\n::"), "{out}");
    assert!(out.contains("no answer from Ada and =Cy, <i>"), "{out}");
    let table = std::fs::read_to_string(folder.path("marks.csv")).expect("the table");
    assert!(table.contains(",6,6,100,"), "{table}");
}

/// What learners write into their plans and tables stays words, whatever it would make a terminal or a build host do.
#[test]
fn words_of_answers_stay_words() {
    let folder = house();
    let (code, _, said) = make(&folder, &["--output", "x", "--faults", "rcd"]);
    assert_eq!(code, 0, "{said}");
    let text = std::fs::read_to_string(folder.path("x/boot-room.lay")).expect("the plan");
    let odd = "::error::forged \u{1b}[31m <b>|x|</b> =1+1";
    let hostile = text.replace("\"Boot room\"", &format!("\"{odd}\"")).replace(
        "  inside     18 degC",
        &format!("  deviation spacing \"{odd}\"\n  ::error::y \u{1b}\n  inside     18 degC"),
    );
    assert_ne!(hostile, text);
    std::fs::write(folder.path("hostile.lay"), hostile).expect("written");
    std::fs::write(folder.path("hostile.csv"), format!("line,rule\n3,\"{odd}\"\n4,\"=cmd\r\n::error::z\"\n"))
        .expect("written");
    for form in ["text", "csv", "markdown", "json"] {
        let (code, out, said) =
            folder.run(&["mark", "hostile.lay", "hostile.csv", "--key", "x/key.json", "--hint", "3", "--output", form]);
        assert_eq!(code, 0, "{said}");
        assert!(!out.contains('\u{1b}'), "{form}: {out}");
        let forged = out.split(['\n', '\r']).find(|line| line.trim_start().starts_with("::"));
        assert_eq!(forged, None, "{form}: {out}");
        assert!(form != "markdown" || !out.contains("<b>"), "{out}");
    }
}

/// A key may come from anyone.
#[test]
fn a_key_s_own_words_forge_nothing() {
    let folder = house();
    let (code, _, said) = make(&folder, &["--output", "x", "--faults", "rcd"]);
    assert_eq!(code, 0, "{said}");
    let text = std::fs::read_to_string(folder.path("x/key.json")).expect("the key");
    let mut key: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    let odd = "\u{1b}[2J\n::error::forged \u{202e}";
    key["exercises"][0]["learner"] = odd.into();
    key["exercises"][0]["faults"][0]["done"] = odd.into();
    std::fs::write(folder.path("odd.json"), key.to_string()).expect("written");
    for form in ["text", "csv", "markdown"] {
        let (code, out, said) = folder.run(&["mark", "x/boot-room.lay", "--key", "odd.json", "--output", form]);
        assert_eq!(code, 0, "{said}");
        let obeyed =
            out.contains('\u{1b}') || out.contains('\u{202e}') || out.lines().any(|line| line.starts_with("::"));
        assert!(!obeyed, "{form}: {out}");
    }
    for line in [0, u64::MAX] {
        key["exercises"][0]["faults"][0]["changed"][0]["line"] = line.into();
        std::fs::write(folder.path("odd.json"), key.to_string()).expect("written");
        let (code, _, said) = folder.run(&["mark", "x/boot-room.lay", "--key", "odd.json"]);
        assert!(code == 2 && said.contains("lines that no plan has"), "{said}");
    }
}

#[test]
fn the_same_seed_writes_the_same_files() {
    let folder = house();
    for output in ["one", "two"] {
        let (code, _, said) = make(&folder, &["--output", output, "--seed", "9", "--level", "hard", "--count", "2"]);
        assert_eq!(code, 0, "{said}");
    }
    assert_eq!(names(&folder, "one"), ["boot-room.lay", "findings.csv", "key.json", "task.html"]);
    for file in names(&folder, "one") {
        let text = |below: &str| std::fs::read(folder.path(below).join(&file)).expect("a file");
        assert!(text("one") == text("two"), "{file}");
    }
}

#[test]
fn what_can_not_be_made_is_told() {
    let folder = house();
    for (arguments, says) in [
        (&["boot-room.lay", "--faults", "spacign", "--output", "x"][..], "did you mean `spacing`"),
        (&["boot-room.lay", "--faults", "bonding", "--output", "x"], "is found by `bonding`"),
        (&["boot-room.lay", "--faults", "rcd", "--count", "2", "--output", "x"], "cannot be used with"),
        (&["boot-room.lay", "--level", "hrad", "--output", "x"], "did you mean `hard`"),
        (&["boot-room.lay", "--learners", "gone.txt", "--output", "x"], "there is no such file"),
        (&["boot-room.lay", "--count", "0", "--output", "x"], "0 is not in 1..=12"),
        (&["boot-room.lay", "--key", "x/boot-room.lay", "--output", "x"], "written twice"),
        (&["broken.lay", "--output", "x"], "something is found in it already: rcd"),
        (&["gone.lay", "--output", "x"], "there is no such file"),
    ] {
        let (code, out, said) = folder.run(&[&["exercise"], arguments, &DAY[..]].concat());
        let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!((code, out.as_str()), (2, ""), "{arguments:?}: {said}");
        assert!(said.contains(says), "{arguments:?}: {said}");
        assert!(!folder.path("x").exists(), "{arguments:?}");
    }
}

#[test]
fn keys_that_are_none_are_told_of() {
    let folder = house();
    let (code, _, said) = make(&folder, &["--output", "x"]);
    assert_eq!(code, 0, "{said}");
    std::fs::write(folder.path("none.json"), "{}").expect("written");
    std::fs::write(folder.path("odd.json"), "not json").expect("written");
    std::fs::write(folder.path("odd.toml"), "mendet = 1\n").expect("written");
    std::fs::create_dir(folder.path("empty")).expect("a folder");
    for (arguments, says) in [
        (&["x/boot-room.lay", "--key", "gone.json"][..], "there is no such file"),
        (&["x/boot-room.lay", "--key", "none.json"], "doesn't say that it is the key"),
        (&["x/boot-room.lay", "--key", "odd.json"], "it is no JSON"),
        (&["x/boot-room.lay", "--key", "x"], "it is a folder"),
        (&["x/boot-room.lay", "--key", "x/key.json", "--scheme", "odd.toml"], "mendet"),
        (&["x/boot-room.lay", "--key", "x/key.json", "--hint", "4"], "degree of a hint"),
        (&["x/boot-room.lay", "--key", "x/key.json", "--output", "json=x/key.json"], "the run reads that very file"),
        (&["empty", "--key", "x/key.json"], "holds no answer"),
    ] {
        let (code, out, said) = folder.run(&[&["mark"], arguments].concat());
        let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!((code, out.as_str()), (2, ""), "{arguments:?}: {said}");
        assert!(said.contains(says), "{arguments:?}: {said}");
    }
    // An answer that isn't there is one that can't be marked.
    let (code, out, _) = folder.run(&["mark", "gone.lay", "notes.txt", "--key", "x/key.json"]);
    assert_eq!(code, 1);
    assert!(out.contains("gone.lay: not marked: there is no such file") && out.contains("neither a plan"), "{out}");
}

#[test]
fn other_rules_than_the_exercises_were_made_by_are_told_of() {
    let folder = house();
    let (code, _, said) = make(&folder, &["--output", "x"]);
    assert_eq!(code, 0, "{said}");
    std::fs::write(folder.path("ours.rule"), "amend wall-clearance { limit clearance = 40 mm }\n").expect("written");
    let (code, _, said) = folder.run(&["mark", "x", "--key", "x/key.json", "--rules", "ours.rule"]);
    assert_eq!(code, 0);
    assert!(said.contains("made by other rules"), "{said}");
}

/// The sound plan has every point whatever was done to it, and so has a table of what the key says; each mistake put right alone earns its
/// points and costs none for what the others do.
#[test]
fn what_is_right_is_never_marked_down() {
    for (plan, level, count, seeds) in
        [("studio", "easy", "3", 5..8), ("bathroom", "hard", "6", 6..8), ("two-bays", "hard", "6", 3..5)]
    {
        for seed in seeds {
            let folder = Folder::new(&[]);
            let (path, seed) = (root().join(format!("examples/{plan}.lay")), seed.to_string());
            let path = path.to_string_lossy();
            let made = ["exercise", &path, "--output", "x", "--seed", &seed, "--level", level, "--count", count];
            let (code, _, said) = folder.run(&[&made, &DAY[..]].concat());
            assert_eq!(code, 0, "{said}");
            let key = std::fs::read_to_string(folder.path("x/key.json")).expect("the key");
            let key: serde_json::Value = serde_json::from_str(&key).expect("JSON");
            let exercise = &key["exercises"][0];
            let begun = exercise["text"].as_str().expect("a text");
            let head = begun.lines().next().expect("a line");
            let sound = format!("{head}\n{}", key["plan"]["text"].as_str().expect("a text"));
            let marked = |answer: &str, name: &str| -> serde_json::Value {
                std::fs::write(folder.path(name), answer).expect("written");
                let (_, out, said) = folder.run(&["mark", name, "--key", "x/key.json", "--output", "json"]);
                let all: serde_json::Value = serde_json::from_str(&out).unwrap_or_else(|_| panic!("{out}{said}"));
                all["answers"][0]["marked"].clone()
            };
            let whole = marked(&sound, "sound.lay");
            assert_eq!(whole["points"], whole["most"], "{plan} {seed}: {whole:#}");
            let faults = exercise["faults"].as_array().expect("faults");
            let mut table = "line,rule\n".to_string();
            for fault in faults {
                let aimed = fault["provokes"].as_array().expect("a list").iter().find(|one| one["aimed"] == true);
                let line = aimed.and_then(|one| one["lines"][0].as_u64()).or(fault["changed"][0]["line"].as_u64());
                table.push_str(&format!("{},{}\n", line.expect("a line"), fault["rule"].as_str().expect("a rule")));
            }
            let listed = marked(&table, "listed.csv");
            assert_eq!(listed["points"], listed["most"], "{plan} {seed}: {listed:#}");
            for (number, fault) in faults.iter().enumerate() {
                let mut lines: Vec<&str> = begun.lines().collect();
                for one in fault["changed"].as_array().expect("a list").iter().rev() {
                    let from = one["line"].as_u64().expect("a line") as usize - 1;
                    let is = one["is"].as_array().expect("lines").len();
                    let was = one["was"].as_array().expect("lines").iter().map(|line| line.as_str().expect("a line"));
                    lines.splice(from..from + is, was);
                }
                let one = marked(&(lines.join("\n") + "\n"), "one.lay");
                assert_eq!(one["new"], serde_json::json!([]), "{plan} {seed} {number}: {one:#}");
            }
        }
    }
}
