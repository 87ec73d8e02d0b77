//! The project file: what it sets, what goes over it, and what is said of one that is wrong.

use crate::common::program::{Folder, NEAR_WALL, SOUND};
use crate::common::root;

const OURS: &str = "amend wall-clearance { limit clearance = 30 mm }\n";

#[test]
fn settings_hold_and_the_command_line_goes_over_them() {
    let folder = Folder::new(&[
        ("layrule.toml", "rules = [\"rules/ours.rule\"]\nfail-on = \"note\"\noutput = \"json\"\n"),
        ("rules/ours.rule", OURS),
        ("plans/near.lay", NEAR_WALL),
    ]);
    let (code, found, said) = folder.run(&["check", "plans"]);
    assert_eq!(code, 0, "{found}{said}");
    assert!(found.starts_with("{\"format\""), "{found}");
    // From another folder the same holds, since it is found upwards from the plan.
    let inner = crate::common::program::run(&folder.path("plans"), &["check", "near.lay"]);
    assert_eq!((inner.0, inner.1.starts_with('{')), (0, true), "{inner:?}");
    let (code, found, _) = folder.run(&["check", "plans", "--output", "text", "--rules", "rules/ours.rule"]);
    assert!(code == 0 && found.starts_with("1 file checked"), "{found}");
    // Rules of the project are listed with the others.
    assert!(folder.run(&["rules", "wall-clearance"]).1.contains("clearance = 30 mm"));
    // Another failing severity.
    std::fs::write(folder.path("layrule.toml"), "fail-on = \"warning\"\n").expect("a file");
    let cold = SOUND.replace("(1000, 300) (0, 300)", "(1000, 900) (0, 900)");
    std::fs::write(folder.path("plans/near.lay"), cold).expect("a file");
    assert_eq!(folder.run(&["check", "plans"]).0, 1);
    assert_eq!(folder.run(&["check", "plans", "--fail-on", "error"]).0, 0);
}

#[test]
fn each_plan_is_held_to_its_own_project() {
    let folder = Folder::new(&[
        ("one/layrule.toml", "rules = \"ours.rule\"\noutput = \"json\"\n"),
        ("one/ours.rule", OURS),
        ("one/near.lay", NEAR_WALL),
        ("two/near.lay", NEAR_WALL),
    ]);
    let (code, found, _) = folder.run(&["check", "."]);
    assert_eq!(code, 1);
    // Several projects don't say in one voice how findings are written.
    assert!(found.contains("two/near.lay") && !found.contains("one/near.lay:"), "{found}");
    let (_, text, _) = folder.run(&["check", ".", "--output", "sarif"]);
    let log: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    let found = &log["runs"][0]["results"][0];
    assert_eq!(found["locations"][0]["physicalLocation"]["artifactLocation"]["uriBaseId"], "PROJECT-2");
}

#[test]
fn plans_are_left_out_of_folders() {
    let folder = Folder::new(&[
        ("layrule.toml", "leave-out = [\"drafts/\", \"*-old.lay\", \"!kept-old.lay\"]\n"),
        (".gitignore", "ignored/\n"),
        (".git/HEAD", "ref: refs/heads/main\n"),
        ("sound.lay", SOUND),
        ("kept-old.lay", SOUND),
        ("bath-old.lay", NEAR_WALL),
        ("drafts/deep/near.lay", NEAR_WALL),
        ("ignored/near.lay", NEAR_WALL),
        (".hidden/sound.lay", SOUND),
        (".git/near.lay", NEAR_WALL),
    ]);
    let (code, found, said) = folder.run(&["check", "."]);
    assert_eq!(code, 0, "{found}{said}");
    assert!(found.starts_with("3 files checked"), "{found}");
    // A plan that is named is checked.
    assert_eq!(folder.run(&["check", "bath-old.lay"]).0, 1);
    assert_eq!(folder.run(&["check", "ignored/near.lay"]).0, 1);
    let (code, _, said) = folder.run(&["check", "drafts"]);
    assert!(code == 2 && said.contains("every plan in it is left out"), "{said}");
    let (code, found, _) = folder.run(&["check", ".", "--leave-out", "*/", "--leave-out", "*-old.lay"]);
    assert!(code == 0 && found.starts_with("1 file checked"), "{found}");
    let (code, _, said) = folder.run(&["check", ".", "--leave-out", "{a"]);
    assert!(code == 2 && said.contains("`{a` is no glob"), "{said}");
}

#[test]
fn a_folder_of_packs_is_taken_in_the_order_of_their_names() {
    let amend = |severity: &str| format!("amend wall-clearance {{ severity {severity} }}\n");
    let folder = Folder::new(&[
        ("near.lay", NEAR_WALL),
        ("packs/a/first.rule", &amend("note")),
        ("packs/b.rule", &amend("warning")),
        ("packs/notes.txt", "no pack"),
    ]);
    // What is said last holds.
    let (code, found, said) = folder.run(&["check", "near.lay", "--rules", "packs"]);
    assert!(code == 0 && found.contains("warning[wall-clearance]"), "{found}{said}");
    std::fs::write(folder.path("layrule.toml"), "rules = \"packs/\"\n").expect("a file");
    let (code, found, said) = folder.run(&["check", "near.lay"]);
    assert!(code == 0 && found.contains("warning[wall-clearance]"), "{found}{said}");
    std::fs::write(folder.path("packs/c.rule"), amend("off")).expect("a file");
    let (code, found, _) = folder.run(&["check", "near.lay"]);
    assert!(code == 0 && !found.contains("[wall-clearance]"), "{found}");
    std::fs::create_dir(folder.path("empty")).expect("a folder");
    let (code, _, said) = folder.run(&["check", "near.lay", "--rules", "empty"]);
    assert!(code == 2 && said.contains("rule packs in empty: it holds no rule pack"), "{said}");
}

#[test]
fn everything_wrong_with_a_project_file_is_told_of_at_its_place() {
    let text = "rules = [\"../ours.rule\", 7]\nfail-no = \"error\"\nleave-out = [\"{a\"]\noutput = [\"sarf=x\", \"text=/tmp/x\"]\nknown = true\n[more]\n";
    let folder = Folder::new(&[("layrule.toml", text), ("near.lay", NEAR_WALL)]);
    let (code, found, said) = folder.run(&["check", "near.lay"]);
    assert_eq!((code, found.as_str()), (2, ""));
    for told in [
        "`../ours.rule` leads outside the project folder",
        "layrule.toml:1:10",
        "a number stands where a text belongs",
        "no setting is called `fail-no`",
        "did you mean `fail-on`?",
        "layrule.toml:2:1",
        "`{a` is no glob",
        "did you mean `sarif`?",
        "`/tmp/x` leads outside the project folder",
        "`true` or `false` stands where a text belongs",
        "no setting is called `more`",
    ] {
        assert!(said.contains(told), "`{told}` is not in:\n{said}");
    }
    // One that is no TOML in places is told of there, and the rest of it too.
    std::fs::write(folder.path("layrule.toml"), "fail-on = \n= 3\nknwon = \"a\"\n").expect("a file");
    let (code, _, said) = folder.run(&["check", "near.lay"]);
    assert_eq!(code, 2);
    assert!(said.contains("the file is no TOML") && said.contains("did you mean `known`?"), "{said}");
    for bytes in [&b"\xff"[..], b"fail-on = \"loud\"", b"rules = \"missing.rule\"", b"known = \"missing.toml\""] {
        std::fs::write(folder.path("layrule.toml"), bytes).expect("a file");
        assert_eq!(folder.run(&["check", "near.lay"]).0, 2);
    }
    std::fs::remove_file(folder.path("layrule.toml")).expect("it was there");
    std::fs::create_dir(folder.path("layrule.toml")).expect("a folder");
    let (code, _, said) = folder.run(&["check", "near.lay"]);
    assert!(code == 2 && said.contains("layrule.toml: it can't be read: it is a folder"), "{said}");
}

#[test]
fn a_project_file_reaches_nothing_outside_its_folder() {
    let outside = Folder::new(&[("ours.rule", OURS), ("known.toml", "")]);
    let folder = Folder::new(&[("near.lay", NEAR_WALL)]);
    std::os::unix::fs::symlink(outside.0.path(), folder.path("link")).expect("a link");
    for text in ["rules = \"link/ours.rule\"", "output = \"text=link/found.txt\"", "known = \"link/known.toml\""] {
        std::fs::write(folder.path("layrule.toml"), text).expect("a file");
        let (code, _, said) = folder.run(&["check", "near.lay"]);
        assert!(code == 2 && said.contains("leads outside the project folder"), "{said}");
    }
    assert!(!outside.path("found.txt").exists());
    // Nor does a plan: the project file's folder is the one that `use` stays in.
    let folder =
        Folder::new(&[("layrule.toml/../kits.lay", "kit k {\n  length 1 m\n}\n")].map(|(_, text)| ("kits.lay", text)));
    std::fs::create_dir(folder.path("plans")).expect("a folder");
    std::fs::write(folder.path("plans/layrule.toml"), "").expect("a file");
    std::fs::write(folder.path("plans/a.lay"), format!("use \"../kits.lay\"\n{SOUND}")).expect("a file");
    let (code, found, _) = folder.run(&["check", "plans"]);
    assert!(code == 1 && found.contains("leads outside the project folder"), "{found}");
}

#[test]
fn a_check_that_is_to_be_whole_fails_where_a_rule_could_not_be_held() {
    let read = |name: &str| std::fs::read_to_string(root().join("examples").join(name)).expect("the example");
    let (kits, boot_room) = (read("kits.lay"), read("boot-room.lay"));
    let folder = Folder::new(&[("kits.lay", &kits), ("sure.lay", &boot_room), ("unsure.lay", SOUND)]);
    let day = ["--date", "2026-11-25"];
    let run = |name: &str, more: &[&str]| folder.run(&[&["check", name], &day[..], more].concat());
    // Nothing is found in either; of one, much isn't known.
    let (code, text, _) = run("unsure.lay", &[]);
    assert!(code == 0 && text.contains("no findings") && text.contains("not checked: "), "{text}");
    assert_eq!(run("sure.lay", &["--whole"]).0, 0);
    assert_eq!(run("unsure.lay", &["--whole"]).0, 1);
    // What keeps many rules from being held is said once.
    let lines = |part: &str| text.lines().filter(|line| line.contains(part)).count();
    assert_eq!(lines("cable `a` names no kit"), 1, "{text}");
    let line = text.lines().find(|line| line.contains("cable `a` names no kit")).expect("its line");
    assert_eq!(line, "  cable `a` names no kit: laid-length, kit-size, second-tail, earthed-screen");
    // The project may ask for it too.
    std::fs::write(folder.path("layrule.toml"), "whole = true\n").expect("a file");
    assert_eq!((run("sure.lay", &[]).0, run("unsure.lay", &[]).0), (0, 1));
    std::fs::write(folder.path("layrule.toml"), "whole = \"yes\"\n").expect("a file");
    let (code, _, said) = run("sure.lay", &[]);
    assert!(code == 2 && said.contains("a text stands where `true` or `false` belongs"), "{said}");
}

#[test]
fn what_holds_is_shown_with_where_it_comes_from() {
    let folder = Folder::new(&[
        ("layrule.toml", "fail-on = \"warning\"\n\nleave-out = [\"drafts/\"]\n"),
        ("plans/near.lay", NEAR_WALL),
    ]);
    let (code, shown, _) = folder.run(&["check", "--show-settings", "--output", "text", "--output", "sarif=f.sarif"]);
    assert_eq!(code, 0);
    let lines: Vec<String> = shown.lines().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" ")).collect();
    assert_eq!(
        lines,
        [
            "project . (it holds layrule.toml)",
            "rules none (default)",
            "fail-on warning (layrule.toml:1)",
            "whole false (default)",
            "leave-out drafts/ (layrule.toml:3)",
            "output text, sarif=f.sarif (command line)",
            "known none (default)",
        ]
    );
    assert!(!folder.path("f.sarif").exists(), "it only says what would hold");
}

#[test]
fn each_key_is_explained() {
    let page = std::fs::read_to_string(root().join("grammar/project.md")).expect("the page");
    for key in layrule::project::KEYS {
        let row = format!("| `{}` | `{}` | {} |", key.word, key.example, key.meaning);
        assert!(page.contains(&row), "{row} is not in grammar/project.md");
    }
}
