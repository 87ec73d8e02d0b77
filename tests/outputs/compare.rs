//! Two plans compared: nothing where they mean the same, and each change that a test makes named as what it is.

use std::path::Path;

use layrule::comparison::{Comparison, Side, Turn, compare};
use layrule::measure::plan::Measured;
use layrule::model::load::Library;
use layrule::model::resolve::resolve;
use layrule::source::Disk;
use layrule::{checker, layout::tidy::tidy};
use serde_json::Value as Json;

use crate::common::program::Folder;
use crate::common::{RULES, TODAY, files_below, plan_with_kits, root};

fn compared(old: Measured, new: Measured) -> Comparison {
    let [before, after] = [&old, &new].map(|measured| checker::untried(measured, &RULES, TODAY));
    compare(Side { measured: &old, report: &before }, Side { measured: &new, report: &after })
}

fn of_texts(old: &str, new: &str) -> Comparison {
    compared(Measured::new(plan_with_kits(old)), Measured::new(plan_with_kits(new)))
}

/// What differs in the rooms and what they draw on, as it is told.
fn told(comparison: &Comparison) -> Vec<String> {
    let changes = comparison.shared.iter().chain(comparison.rooms.iter().flat_map(|room| &room.changes));
    changes.map(|change| format!("{}: {}", change.thing(), change.words())).collect()
}

/// A text with every point drawn from an origin that lies 1370 mm farther west and 240 mm farther north.
fn from_another_origin(text: &str) -> String {
    let point = fancy_regex::Regex::new(r"\(([^(),]*), ([^(),]*)\)").expect("a pattern");
    let code = |line: &str| match line.split_once('#') {
        Some((code, note)) => format!("{}#{note}", point.replace_all(code, "(($1) + 1370, ($2) - 240)")),
        None => point.replace_all(line, "(($1) + 1370, ($2) - 240)").into_owned(),
    };
    text.lines().map(|line| code(line) + "\n").collect()
}

/// Every example against itself laid out in another way, under another name, and drawn from another origin; in the last, findings stand
/// on moved places too.
#[test]
fn what_means_the_same_does_not_differ() {
    let mut plans = files_below(&root().join("examples"), &["lay"]);
    plans.retain(|path| !path.ends_with("kits.lay"));
    assert!(plans.len() > 100, "{}", plans.len());
    for path in plans {
        let library = Library::new(&Disk, root(), root());
        let text = std::fs::read_to_string(&path).expect("a plan");
        let read = |name: &str, text: &str| {
            let beside = path.with_file_name(name);
            Measured::new(resolve(library.load_text(&beside, name, text.to_string())))
        };
        let bare: String = text.lines().map(|line| line.trim_start().to_string() + "\n\n").collect();
        assert_ne!(bare, text);
        let others = [
            ("as laid out", bare.clone()),
            ("tidied", tidy(&bare).expect("it can be read")),
            ("moved", from_another_origin(&text)),
        ];
        for (how, other) in others {
            let comparison = compared(read("own.lay", &text), read("renamed.lay", &other));
            assert!(
                comparison.is_empty(),
                "{} {how}: {:#?}\n{:#?}",
                path.display(),
                told(&comparison),
                comparison.findings
            );
        }
    }
}

const ROOM: &str = "supply spur {\n voltage 230 V\n breaker 16 A\n}\nroom r \"Hall\" {\n outline (0, 0) (3000, 0) (3000, 2000) (0, 2000)\n \
                    wall 1 \"yard wall\"\n door d wall 1 from 500 to 1300\n fixture bench unit rect (0, 1500) (800, 2000)\n \
                    drill stop circle (1500, 100) radius 60\n junction j (3000, 1000) height 300\n \
                    thermostat t (3000, 1000) height 1200 rated 10 A on spur\n floor concrete {\n tile 10 mm porcelain\n adhesive 8 mm cable at 3 mm\n \
                    screed 50 mm\n }\n inside 21 degC\n cable a {\n kit W-420\n tail j (2900, 1000) (2900, 200)\n start (2900, 200)\n \
                    loops 6 of 1900 west, stepping 100 north\n run north 100\n loops 4 of 1900 west, stepping 100 north\n }\n \
                    sensor s from t (3000, 550) (2400, 550) lead 3 m\n record {\n laid 2026-10-14 cable a 126 ohm with \"tester no. 2\"\n \
                    tiled 2026-10-16\n }\n deviation spacing cable a \"agreed on site\"\n}\n";

fn after(changes: &[(&str, &str)]) -> Comparison {
    let mut text = ROOM.to_string();
    for (old, new) in changes {
        assert!(text.contains(old), "{old}");
        text = text.replacen(old, new, 1);
    }
    of_texts(ROOM, &text)
}

/// Each change by itself, and all that is told of it.
#[test]
fn changes_are_named() {
    let cases: [(&str, &str, &[&str]); 22] = [
        ("rect (0, 1500) (800, 2000)", "rect (40, 1500) (840, 2000)", &["fixture bench: moved 40 mm east"]),
        (
            "rect (0, 1500) (800, 2000)",
            "rect (0, 1400) (800, 2000)",
            &["fixture bench: size 800 mm by 500 mm → 800 mm by 600 mm"],
        ),
        ("fixture bench unit", "fixture bench basin", &["fixture bench: sort unit → basin"]),
        ("fixture bench", "fixture seat", &["fixture seat: renamed, bench before"]),
        (" drill stop circle (1500, 100) radius 60\n", "", &["drill zone stop: gone"]),
        ("radius 60\n", "radius 60\n drill hook circle (200, 200) radius 20\n", &["drill zone hook: added"]),
        ("from 500 to 1300", "from 600 to 1400", &["door d: moved 100 mm east"]),
        ("height 300", "height 450", &["junction box j: height 300 mm → 450 mm"]),
        ("rated 10 A", "rated 16 A", &["thermostat t: rated 10 A → 16 A"]),
        ("(2400, 550)", "(2350, 550)", &["sensor s: goes another way, 600 mm → 650 mm, its end 50 mm west"]),
        ("lead 3 m", "lead 4 m", &["sensor s: lead 3000 mm → 4000 mm"]),
        ("breaker 16 A", "breaker 10 A", &["supply spur: breaker 16 A → 10 A"]),
        ("tile 10 mm porcelain", "tile 12 mm porcelain", &["layer tile: thickness 10 mm → 12 mm"]),
        (
            "tile 10 mm porcelain",
            "tile 10 mm slate",
            &[
                "layer tile: material porcelain → slate",
                "layer tile: conductivity 1.3 W/(m·K) → 2.2 W/(m·K)",
                "layer tile: heat capacity 1.93 MJ/m³·K → 2.4 MJ/m³·K",
            ],
        ),
        (" screed 50 mm\n", "", &["layer screed: gone"]),
        ("inside 21 degC", "inside 24 degC", &["room: inside 21 °C → 24 °C"]),
        ("\"yard wall\"", "\"yard wall\" outside", &["wall 1: lies inside → outside"]),
        ("126 ohm", "127 ohm", &["reading laid of cable a: resistance 126 Ω → 127 Ω"]),
        ("tiled 2026-10-16", "tiled 2026-10-17", &["record: tiled 2026-10-16 → 2026-10-17"]),
        (
            "\"agreed on site\"",
            "\"agreed by letter\"",
            &["deviation spacing cable a: reason agreed on site → agreed by letter"],
        ),
        (
            "(3000, 2000) (0, 2000)",
            "(3000, 2100) (0, 2100)",
            &["corners 3 to 4: moved 100 mm north", "outline: area 6 m² → 6.3 m²"],
        ),
        (
            "(2900, 1000) (2900, 200)",
            "(2900, 1000) (2950, 600) (2900, 200)",
            &["cold tail of cable a: goes another way, 800 mm → 806.2 mm"],
        ),
    ];
    for (old, new, expected) in cases {
        assert_eq!(told(&after(&[(old, new)])), expected, "{old} -> {new}");
    }
}

/// Rows and figures worked by hand: ten rows of 1900 mm, 100 mm apart, nine turns of 100 mm; round ends by the kit's 25 mm of bending radius.
#[test]
fn runs_are_told_by_their_rows() {
    let laid = |text: &str, expected: &[&str]| {
        let lines = told(&after(&[(
            "loops 6 of 1900 west, stepping 100 north\n run north 100\n loops 4 of 1900 west, stepping 100 north",
            text,
        )]));
        let runs: Vec<&String> = lines.iter().filter(|line| line.contains(" run")).collect();
        assert_eq!(runs, expected, "{text}");
    };
    // One row 30 mm farther north: the turns beside it follow.
    laid(
        "loops 2 of 1900 west, stepping 100 north\n run north 130\n run west 1900\n run north 70\n loops 3 of 1900 east, stepping 100 north\n run north 100\n loops 4 of 1900 west, stepping 100 north",
        &["cable a: run 5 shifted 30 mm north"],
    );
    // A row more at the end.
    laid("loops 11 of 1900 west, stepping 100 north", &["cable a: run 21 added"]);
    // One left out in the middle: all after it are laid the other way, and lie where they lay.
    laid(
        "loops 4 of 1900 west, stepping 100 north\n run north 200\n loops 5 of 1900 west, stepping 100 north",
        &["cable a: run 9 gone"],
    );
    // One put in between.
    laid(
        "loops 4 of 1900 west, stepping 100 north\n run north 50\n run west 1900\n run north 50\n loops 6 of 1900 east, stepping 100 north",
        &["cable a: run 9 added"],
    );
    // All rows shorter by 60 mm at one end.
    laid("loops 10 of 1840 west, stepping 100 north", &["cable a: runs 1 to 19 60 mm shorter"]);
    // Closer: each by 5 mm more than the one before it.
    laid("loops 10 of 1900 west, stepping 95 north", &["cable a: runs 3 to 19 shifted 5 mm to 45 mm south"]);
    // So much closer that rows come to lie where others lay: still the same rows.
    laid("loops 10 of 1900 west, stepping 60 north", &["cable a: runs 3 to 19 shifted 40 mm to 360 mm south"]);
    // Nothing but another way of saying it.
    laid("loops 10 of 1900 west, stepping 100 north", &[]);
}

#[test]
fn a_cable_moved_as_a_whole_is_one_line() {
    let moved = after(&[("(2900, 200)\n start (2900, 200)", "(2900, 900)\n start (2900, 900)")]);
    let lines = told(&moved);
    assert!(lines.contains(&"cable a: runs 1 to 19 shifted 700 mm north".to_string()), "{lines:#?}");
    assert_eq!(lines.iter().filter(|line| line.contains("run")).count(), 1, "{lines:#?}");
    let (start, others) = (
        "start (2900, 200)\n loops 6 of 1900 west, stepping 100 north\n run north 100\n loops 4 of 1900 west, stepping 100 north",
        "loops 10 of 1900",
    );
    let reversed = after(&[(start, &format!("start (2900, 1100)\n {others} west, stepping 100 south"))]);
    assert!(
        told(&reversed).contains(&"cable a: laid from one end → from the other".to_string()),
        "{:#?}",
        told(&reversed)
    );
}

/// A fixture moved onto the cable brings findings; moved back, they are gone; what of them may be agreed to is told as that.
#[test]
fn findings_come_and_go() {
    let onto = ROOM.replace("rect (0, 1500) (800, 2000)", "rect (1500, 700) (2300, 1200)");
    let there = of_texts(ROOM, &onto);
    let of = |comparison: &Comparison, turn: Turn| -> Vec<String> {
        let own = comparison.findings.iter().filter(|finds| finds.turn == turn);
        own.map(|finds| finds.rule.clone()).filter(|rule| rule.starts_with("fixture-")).collect()
    };
    let new = of(&there, Turn::New);
    assert!(
        new.iter().all(|rule| rule == "fixture-clearance" || rule == "fixture-overlap") && !new.is_empty(),
        "{new:?}"
    );
    assert_eq!(of(&of_texts(&onto, ROOM), Turn::Gone), new);
    let agreed =
        onto.replace(" deviation spacing", " deviation fixture-clearance cable a \"boxed\"\n deviation spacing");
    let agreement = of_texts(&onto, &agreed);
    assert_eq!(
        (of(&agreement, Turn::Agreed), of(&agreement, Turn::New)),
        (vec!["fixture-clearance".to_string()], vec![])
    );
    assert_eq!(of(&of_texts(&agreed, &onto), Turn::Open), ["fixture-clearance"]);
    // An inserted line moves all findings below it, and is none.
    let lower = onto.replacen("room r", "let unused = 5\n\n\nroom r", 1);
    assert!(of_texts(&onto, &lower).is_empty());
}

/// Rooms that are new, gone and renamed; a room moved on the sheet.
#[test]
fn rooms_are_told_by_name_and_walls() {
    let room = |name: &str, x: i32| {
        format!("room {name} {{\n outline ({x}, 0) ({}, 0) ({}, 900) ({x}, 1000)\n}}\n", x + 1000, x + 1000)
    };
    let comparison = of_texts(&(room("a", 0) + &room("b", 2000)), &(room("a", 0) + &room("c", 5000)));
    assert_eq!(told(&comparison), ["room c: renamed, b before"]);
    let other = "room d {\n outline (0, 0) (500, 0) (500, 900)\n}\n";
    assert_eq!(told(&of_texts(&room("a", 0), &(room("a", 0) + other))), ["room d: added"]);
    assert_eq!(told(&of_texts(&(room("a", 0) + other), &room("a", 0))), ["room d: gone"]);
}

fn folder() -> Folder {
    let built = ROOM.replace("rect (0, 1500) (800, 2000)", "rect (1500, 700) (2300, 1200)");
    let kits = include_str!("../../examples/kits.lay");
    Folder::new(&[
        ("kits.lay", kits),
        ("design.lay", &format!("use \"kits.lay\"\n{ROOM}")),
        ("built.lay", &format!("use \"kits.lay\"\n{built}")),
    ])
}

#[test]
fn the_exit_code_tells_new_findings() {
    let folder = folder();
    let day = ["--date", "2026-11-25"];
    let code = |arguments: &[&str]| folder.run(&[arguments, &day].concat()).0;
    assert_eq!(code(&["compare", "design.lay", "built.lay"]), 1);
    // What is gone fails nothing.
    assert_eq!(code(&["compare", "built.lay", "design.lay"]), 0);
    assert_eq!(code(&["compare", "built.lay", "design.lay", "--fail-on", "difference"]), 1);
    assert_eq!(code(&["compare", "design.lay", "design.lay", "--fail-on", "difference"]), 0);
    let (code, out, said) = folder.run(&["compare", "design.lay", "missing.lay"]);
    assert_eq!((code, out.as_str()), (2, ""), "{said}");
    assert!(said.contains("missing.lay: there is no such file"), "{said}");
    let (code, _, said) = folder.run(&["compare", "design.lay", "built.lay", "--room", "loft"]);
    assert!(code == 2 && said.contains("no room of either plan is called `loft`"), "{said}");
    std::fs::write(folder.path("broken.lay"), "room r {\n outlin (0, 0)\n}\n").expect("a file");
    let (code, out, said) = folder.run(&["compare", "design.lay", "broken.lay"]);
    assert!(
        code == 1 && out.contains("not all of both plans could be read") && said.contains("outlin"),
        "{out}\n{said}"
    );
}

#[test]
fn json_follows_its_schema_and_markdown_keeps_words() {
    let schema: Json = serde_json::from_str(include_str!("../../grammar/comparison.schema.json")).expect("JSON");
    let schema = jsonschema::validator_for(&schema).expect("a schema");
    let folder = folder();
    let text = format!(
        "use \"kits.lay\"\n{}",
        ROOM.replace("\"Hall\"", "\"=1+1, <b>|`@everyone\"")
            .replace("agreed on site", "<script>,|`=x`")
            .replace("loops 4 of", "loops 5 of")
    );
    std::fs::write(folder.path("words.lay"), text).expect("a file");
    for (old, new) in [
        ("design.lay", "built.lay"),
        ("design.lay", "words.lay"),
        ("design.lay", "design.lay"),
        ("words.lay", "design.lay"),
    ] {
        let (_, out, said) = folder.run(&["compare", old, new, "--output", "json"]);
        let json: Json = serde_json::from_str(&out).unwrap_or_else(|error| panic!("{error}: {said}"));
        let faults: Vec<String> = schema.iter_errors(&json).map(|error| error.to_string()).collect();
        assert!(faults.is_empty(), "{faults:#?}\n{out}");
        assert_eq!(json["rooms"].as_array().is_some_and(Vec::is_empty), old == new);
    }
    let (_, out, _) = folder.run(&["compare", "design.lay", "words.lay", "--output", "markdown"]);
    assert!(out.contains("=1+1, &lt;b&gt;\\|\\`@\u{200b}everyone") && !out.contains("<script>"), "{out}");
}

/// The drawing holds the room as it was, moved to where the room is, and the room as it is.
#[test]
fn the_old_way_is_drawn_behind() {
    let folder = folder();
    let moved = format!("use \"kits.lay\"\n{}", from_another_origin(&ROOM.replace("(800, 2000)", "(900, 2000)")));
    std::fs::write(folder.path("moved.lay"), moved).expect("a file");
    let (code, _, said) =
        folder.run(&["compare", "design.lay", "moved.lay", "--draw", "it.svg", "--date", "2026-11-25"]);
    assert!(code < 2, "{said}");
    let svg = std::fs::read_to_string(folder.path("it.svg")).expect("a drawing");
    let document = roxmltree::Document::parse(&svg).expect("SVG");
    let ghost =
        document.descendants().find(|node| node.attribute("class") == Some("ghost")).expect("the room as it was");
    // The bench as it was, 1370 mm farther east and 240 mm farther south: the only thing that differs.
    let drawn: Vec<Option<&str>> =
        ghost.children().filter(|node| node.is_element()).map(|node| node.attribute("d")).collect();
    assert_eq!(drawn, [Some("M1370 1260L2170 1260L2170 1760L1370 1760Z")]);
    assert!(svg.contains("as it was before"));
    let (code, _, said) = folder.run(&["compare", "design.lay", "moved.lay", "--draw", "it.doc"]);
    assert!(code == 2 && said.contains("doesn't say what to draw"), "{said}");
}

/// The lines that README shows, in a repository of the test's own.
#[test]
fn git_shows_what_differs_between_revisions() {
    let readme = std::fs::read_to_string(root().join("README.md")).expect("README");
    let shown: Vec<&str> =
        readme.lines().filter(|line| line.contains("layrule compare") && line.starts_with("git ")).collect();
    assert!(shown.len() >= 2, "{shown:?}");
    let folder = folder();
    let program = Path::new(env!("CARGO_BIN_EXE_layrule")).parent().expect("a folder");
    let path = std::env::join_paths(
        std::iter::once(program.to_path_buf()).chain(std::env::split_paths(&std::env::var_os("PATH").expect("a path"))),
    );
    let path = path.expect("a path");
    // A folder down, since a second copy is taken beside the repository.
    let repository = folder.path("repository");
    std::fs::create_dir(&repository).expect("a folder");
    let shell = |line: &str| {
        let mut command = std::process::Command::new("sh");
        command.current_dir(&repository).args(["-c", line]).env("PATH", &path);
        for (name, value) in
            [("GIT_CONFIG_GLOBAL", "/dev/null"), ("GIT_CONFIG_SYSTEM", "/dev/null"), ("HOME", "/nonexistent")]
        {
            command.env(name, value);
        }
        command.env_remove("COLUMNS").output().expect("a shell")
    };
    let done = |line: &str| {
        let output = shell(line);
        assert!(output.status.success(), "{line}: {}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).expect("UTF-8")
    };
    done("git init --quiet && git config user.name tester && git config user.email tester@example.org");
    done(
        "mkdir plans && mv ../kits.lay plans/kits.lay && mv ../design.lay plans/bath.lay && git add plans && git commit --quiet -m design",
    );
    done("mv ../built.lay plans/bath.lay && git commit --quiet -am built");
    for line in shown {
        let output = shell(line);
        let mut text = String::from_utf8_lossy(&output.stdout).into_owned();
        if let Ok(written) = std::fs::read_to_string(repository.join("changes.md")) {
            text.push_str(&written);
        }
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(
            text.contains("fixture bench") && text.contains("moved 1500 mm east, 800 mm south"),
            "{line}: {text}{said}"
        );
    }
}
