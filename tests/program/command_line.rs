//! The program as it is run: exit codes, standard input, folders, order, colours, and whatever bad input it is given.

use std::io::Write as _;
use std::process::Stdio;

use serde_json::Value;

use crate::common::program::{Folder, NEAR_WALL, SOUND, answer, layrule, run};
use crate::common::root;

#[test]
fn exit_codes_follow_the_findings() {
    let folder = Folder::new(&[("sound.lay", SOUND), ("near.lay", NEAR_WALL)]);
    assert_eq!(folder.run(&["check", "sound.lay"]).0, 0);
    let (code, found, _) = folder.run(&["check", "near.lay"]);
    assert_eq!(code, 1);
    assert!(found.contains("error[wall-clearance]"), "{found}");
    // A warning fails only where asked to.
    let folder = Folder::new(&[("cold.lay", &SOUND.replace("(1000, 300) (0, 300)", "(1000, 900) (0, 900)"))]);
    assert_eq!(folder.run(&["check", "cold.lay"]).0, 0);
    assert_eq!(folder.run(&["check", "cold.lay", "--fail-on", "warning"]).0, 1);
    assert_eq!(folder.run(&["check"]).0, 2);
    assert_eq!(folder.run(&["check", "cold.lay", "--date", "soon"]).0, 2);
    assert_eq!(folder.run(&["check", "cold.lay", "--output", "song"]).0, 2);
    assert_eq!(folder.run(&["polish"]).0, 2);
}

#[test]
fn standard_input_is_a_plan() {
    let folder = Folder::new(&[("kits.lay", "kit k {\n  output 100 W at 230 V\n  length 10 m\n}\n")]);
    let mut child = layrule(folder.0.path(), &["check", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program runs");
    let plan = format!("use \"kits.lay\"\n{NEAR_WALL}");
    child.stdin.take().expect("its input").write_all(plan.as_bytes()).expect("it reads");
    let (code, found, said) = answer(&child.wait_with_output().expect("it ends"));
    assert_eq!((code, said.as_str()), (1, ""));
    assert!(found.contains("standard input:6:5"), "{found}");
}

#[test]
fn folders_are_walked_in_order_whatever_the_threads() {
    let files: Vec<(String, &str)> = (0..40)
        .map(|number| (format!("{}/p{number:02}.lay", number % 3), if number % 2 == 0 { NEAR_WALL } else { SOUND }))
        .collect();
    let files: Vec<(&str, &str)> = files.iter().map(|(name, text)| (name.as_str(), *text)).collect();
    let folder = Folder::new(&files);
    std::fs::write(folder.path("0/notes.txt"), "no plan").expect("a file");
    let one = folder.run(&["check", ".", "--threads", "1"]);
    assert_eq!(one, folder.run(&["check", ".", "--threads", "7"]));
    assert_eq!(one, folder.run(&["check", "."]));
    // A file named twice is checked once.
    assert_eq!(one, folder.run(&["check", ".", "1", "./2/p02.lay"]));
    let order: Vec<usize> =
        (0..40).step_by(2).filter_map(|number| one.1.find(&format!("{}/p{number:02}.lay", number % 3))).collect();
    assert_eq!(order.len(), 20);
    assert!(
        one.1.ends_with("40 files checked: 20 errors in 20 files\n")
            || one.1.contains("40 files checked: 20 errors in 20 files\nnot checked"),
        "{}",
        one.1
    );
}

#[test]
fn links_are_not_followed_in_folders() {
    let folder = Folder::new(&[("plans/sound.lay", SOUND), ("elsewhere/near.lay", NEAR_WALL)]);
    std::os::unix::fs::symlink(folder.path("elsewhere"), folder.path("plans/link")).expect("a link");
    let (code, found, _) = folder.run(&["check", "plans"]);
    assert_eq!(code, 0, "{found}");
}

#[test]
fn colours_are_asked_for() {
    let folder = Folder::new(&[("near.lay", NEAR_WALL)]);
    let colored = |arguments: &[&str]| folder.run(arguments).1.contains('\u{1b}');
    assert!(!colored(&["check", "near.lay"]));
    assert!(colored(&["check", "near.lay", "--color", "always"]));
    assert!(!colored(&["check", "near.lay", "--color", "never"]));
    let plain =
        layrule(folder.0.path(), &["check", "near.lay"]).env("NO_COLOR", "1").output().expect("the program runs");
    assert!(!answer(&plain).1.contains('\u{1b}'));
}

#[test]
fn json_follows_its_schema() {
    let schema: Value = serde_json::from_str(include_str!("../../grammar/findings.schema.json")).expect("JSON");
    let schema = jsonschema::validator_for(&schema).expect("a schema");
    let (code, json, _) = run(&root(), &["check", "examples", "--output", "json", "--date", "2026-11-25"]);
    assert_eq!(code, 1);
    let value: Value = serde_json::from_str(&json).expect("JSON");
    let faults: Vec<String> = schema.iter_errors(&value).map(|error| error.to_string()).collect();
    assert!(faults.is_empty(), "{faults:#?}");
    let plans = value["plans"].as_array().expect("plans");
    assert!(plans.len() > 30);
    // Every figure is carried, in full and with its unit.
    let wall = plans
        .iter()
        .flat_map(|plan| plan["findings"].as_array().expect("findings"))
        .find(|finding| finding["rule"] == "wall-clearance");
    let figures = wall.expect("a finding")["figures"].as_array().expect("figures").clone();
    let figure = |name: &str| {
        figures.iter().find(|figure| figure["name"] == name).unwrap_or_else(|| panic!("{name} in {figures:?}")).clone()
    };
    assert_eq!(figure("clearance")["value"], 50.0);
    assert_eq!(figure("run.wall-distance")["unit"], "mm");
    // Where nothing can be checked it is still whole.
    let folder = Folder::new(&[]);
    let (code, json, _) = folder.run(&["check", "missing.lay", "--output", "json"]);
    assert_eq!(code, 2);
    assert!(schema.is_valid(&serde_json::from_str(&json).expect("JSON")));
}

/// A bad plan beside a sound one with a fault: the bad one is told of, and the other is still checked.
fn bad_plan(make: impl FnOnce(&Folder), code: i32, told: &str) {
    let folder = Folder::new(&[("near.lay", NEAR_WALL)]);
    make(&folder);
    let (found_code, found, said) = folder.run(&["check", "."]);
    assert_eq!(found_code, code, "{found}\n{said}");
    assert!(found.contains("error[wall-clearance]"), "{found}");
    let all = format!("{found}{said}").replace("\n  │ ", " ");
    assert!(all.contains(told), "`{told}` is not in:\n{all}");
}

fn bad_text(text: &str, told: &str) {
    bad_plan(|folder| std::fs::write(folder.path("bad.lay"), text).expect("a file"), 1, told);
}

#[test]
fn bad_files_are_told_of_and_the_others_checked() {
    bad_plan(
        |folder| std::fs::write(folder.path("bad.lay"), b"room \xff {").expect("a file"),
        2,
        "bad.lay: it is not UTF-8 text (byte 5",
    );
    bad_plan(
        |folder| {
            std::fs::File::create(folder.path("bad.lay"))
                .and_then(|file| file.set_len(100 << 20))
                .expect("a large file")
        },
        2,
        "bad.lay: it is larger than 4 MiB",
    );
    bad_text("", "this file holds nothing");
    bad_text("# only a note\n", "this file holds nothing");
    let folder = Folder::new(&[("near.lay", NEAR_WALL), ("empty/notes.txt", "")]);
    let (code, found, said) = folder.run(&["check", "empty", "missing.lay", "near.lay"]);
    assert_eq!(code, 2);
    assert!(said.contains("empty holds no plan") && said.contains("missing.lay: there is no such file"), "{said}");
    assert!(found.contains("error[wall-clearance]"), "{found}");
    // What can't be opened: a link to nowhere, named by the user.
    std::os::unix::fs::symlink("nowhere.lay", folder.path("link.lay")).expect("a link");
    assert_eq!(folder.run(&["check", "link.lay"]).0, 2);
}

#[test]
fn uses_stay_in_the_project() {
    let make = |name: &'static str, text: &'static str| {
        move |folder: &Folder| std::fs::write(folder.path(name), text).expect("a file")
    };
    bad_plan(make("a.lay", "use \"b.lay\"\n"), 1, "`b.lay` can't be used: there is no such file");
    bad_plan(make("a.lay", "use \"a.lay\"\n"), 1, "`a.lay` leads back to itself: a.lay uses a.lay");
    bad_plan(make("a.lay", "use \"../../kits.lay\"\n"), 1, "leads outside the project folder");
    bad_plan(make("a.lay", "use \"/etc/kits.lay\"\n"), 1, "is no relative path");
    bad_plan(
        |folder| {
            std::fs::write(folder.path("a.lay"), "use \"b.lay\"\n").expect("a file");
            std::fs::write(folder.path("b.lay"), "use \"c.lay\"\n").expect("a file");
            std::fs::write(folder.path("c.lay"), "use \"a.lay\"\n").expect("a file");
        },
        1,
        "a.lay uses b.lay uses c.lay uses a.lay",
    );
    // A link inside the project that leads out of it.
    let outside = Folder::new(&[("kits.lay", SOUND)]);
    bad_plan(
        |folder| {
            std::os::unix::fs::symlink(outside.0.path(), folder.path("link")).expect("a link");
            std::fs::write(folder.path("a.lay"), "use \"link/kits.lay\"\n").expect("a file");
        },
        1,
        "leads outside the project folder",
    );
}

#[test]
fn nonsense_in_a_plan_is_capped() {
    let cable = |path: &str| {
        format!("room r {{\noutline (0, 0) (9000, 0) (9000, 9000) (0, 9000)\ncable a {{\n{path}\n}}\n}}\n")
    };
    bad_text(
        &cable("start (100, 100)\nloops 1000000000 of 1000 east, stepping 75 north"),
        "1000000000 loops are more than a cable can have",
    );
    bad_text(
        &cable("start (100, 100)\nloops 90000 of 1000 east, stepping 75 north"),
        "more than 1 km from the plan's origin",
    );
    bad_text(&cable("start (1000001, 0)"), "more than 1 km from the plan's origin");
    bad_text(&format!("let x = {}1{}\n", "(".repeat(100_000), ")".repeat(100_000)), "brackets nest more than 32 deep");
    bad_text(&"room r {\n".repeat(100_000), "brackets nest more than 32 deep");
    bad_text(&format!("let x = {}\n", "9".repeat(400)), "this has no finite value");
    bad_text("let x = 1 / 0\n", "this divides by nothing");
    bad_text(&format!("let x = 1{}\n", " + 1 m2".repeat(5_000)), "an area can't be added to a plain number");
}

#[test]
fn rules_that_fail_are_told_of_at_their_place() {
    let rule = "rule ours {\n  about \"Ours\"\n  severity error\n  basis practice\n  check run in runs\n  require run.length / (run.length - run.length) > 1\n  message \"m\"\n}\n";
    let folder = Folder::new(&[("near.lay", NEAR_WALL), ("ours.rule", rule)]);
    let (code, found, said) = folder.run(&["check", "near.lay", "--rules", "ours.rule"]);
    assert_eq!(code, 2, "{said}");
    assert!(
        said.contains("rule `ours` can't be held to near.lay: this divides by nothing") && said.contains("ours.rule:6"),
        "{said}"
    );
    assert!(found.contains("error[wall-clearance]"), "{found}");
    // A pack that is wrong in several places says so of all of them, before anything is checked.
    let rule = "rule ours {\n  about \"Ours\"\n  severity loud\n  basis practice\n  check run in rnus\n}\nrule more {\n  about \"More\"\n  severity note\n  basis practice\n  check run in runs\n  require run.lenth > 50 mm\n  where run.length > 2 A\n  message \"m {run.length\"\n}\namend spacng { severity off }\n";
    std::fs::write(folder.path("ours.rule"), rule).expect("a file");
    let (code, found, said) = folder.run(&["check", "near.lay", "--rules", "ours.rule"]);
    assert_eq!((code, found.as_str()), (2, ""));
    for told in [
        "`loud` can't stand here",
        "no collection is called `rnus`",
        "a run has no field `lenth`",
        "a length can't be compared with a current",
        "never closed in its text",
        "there is no rule `spacng`",
    ] {
        assert!(said.contains(told), "`{told}` is not in:\n{said}");
    }
    std::fs::write(folder.path("ours.rule"), b"\xff").expect("a file");
    assert_eq!(folder.run(&["check", "near.lay", "--rules", "ours.rule"]).0, 2);
    assert_eq!(folder.run(&["check", "near.lay", "--rules", "missing.rule"]).0, 2);
}

#[test]
fn amendments_change_rules() {
    let folder = Folder::new(&[
        ("near.lay", NEAR_WALL),
        ("ours.rule", "amend wall-clearance { limit clearance = 40 mm  severity warning }\n"),
    ]);
    assert_eq!(folder.run(&["check", "near.lay", "--rules", "ours.rule"]).0, 0);
    std::fs::write(folder.path("ours.rule"), "amend wall-clearance { severity warning }\n").expect("a file");
    let (code, found, _) = folder.run(&["check", "near.lay", "--rules", "ours.rule"]);
    assert!(code == 0 && found.contains("warning[wall-clearance]"), "{found}");
    std::fs::write(folder.path("ours.rule"), "amend wall-clearance { severity off }\n").expect("a file");
    let (code, found, _) = folder.run(&["check", "near.lay", "--rules", "ours.rule"]);
    assert!(code == 0 && !found.contains("wall-clearance"), "{found}");
}

#[test]
fn former_names_in_packs_are_told_of() {
    let folder = Folder::new(&[("a.lay", SOUND), ("ours.rule", "amend laid-length { limit share = 5 % }\n")]);
    let (code, _, said) = folder.run(&["check", "a.lay", "--rules", "ours.rule"]);
    assert_eq!(
        (code, said.as_str()),
        (0, "ours.rule: limit `share` of rule `laid-length` is now called `over` and `short`\n")
    );
}

#[test]
fn a_closed_pipe_is_no_panic() {
    let files: Vec<(String, &str)> = (0..600).map(|number| (format!("p{number:03}.lay"), NEAR_WALL)).collect();
    let files: Vec<(&str, &str)> = files.iter().map(|(name, text)| (name.as_str(), *text)).collect();
    let folder = Folder::new(&files);
    let mut child = layrule(folder.0.path(), &["check", "."])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program runs");
    drop(child.stdout.take());
    let (code, _, said) = answer(&child.wait_with_output().expect("it ends"));
    assert_eq!(code, 2);
    assert!(said.contains("standard output was closed") && !said.contains("panicked"), "{said}");
}

#[test]
fn rules_are_listed_and_shown() {
    let (code, list, _) = run(&root(), &["rules"]);
    assert_eq!(code, 0);
    for rule in &crate::common::RULES.rules {
        assert!(list.contains(&format!("  {} ", rule.name)), "{} is not in:\n{list}", rule.name);
        let (code, full, _) = run(&root(), &["rules", &rule.name]);
        assert_eq!(code, 0);
        let why = rule.why.as_deref().expect("each built-in rule says why");
        for part in
            [rule.about.as_str(), why, "Basis:", "How it is checked:", "A plan with this fault", "What is found in it:"]
        {
            assert!(full.contains(part), "`{part}` is not in:\n{full}");
        }
    }
    let (code, _, said) = run(&root(), &["rules", "spacng"]);
    assert!(code == 2 && said.contains("did you mean `spacing`?"), "{said}");
}

#[test]
fn text_outside_ascii_and_carriage_returns_are_read() {
    let text = NEAR_WALL.replace("room r {", "room r \"Küche – 3·4 m\" {").replace('\n', "\r\n");
    let folder = Folder::new(&[("near.lay", &text)]);
    let (code, json, _) = folder.run(&["check", "near.lay", "--output", "json"]);
    let value: Value = serde_json::from_str(&json).expect("JSON");
    assert_eq!(code, 1);
    assert_eq!(
        value["plans"][0]["findings"]
            .as_array()
            .expect("findings")
            .iter()
            .filter(|finding| finding["rule"] == "syntax")
            .count(),
        0
    );
}

#[test]
fn every_command_explains_itself_with_examples() {
    let (code, help, _) = run(&root(), &["--help"]);
    assert_eq!(code, 0);
    let commands = help.lines().skip_while(|line| *line != "Commands:").skip(1).take_while(|line| !line.is_empty());
    let commands: Vec<&str> = commands.filter_map(|line| line.split_whitespace().next()).collect();
    assert!(commands.len() >= 4, "{help}");
    for command in commands.iter().filter(|command| **command != "help") {
        let (code, help, _) = run(&root(), &[command, "--help"]);
        assert_eq!(code, 0);
        assert!(help.contains("Examples:") && help.contains(&format!("  layrule {command}")), "{help}");
        // The manual knows it too.
        let (code, page, _) = run(&root(), &["man", command]);
        assert!(code == 0 && page.contains(".TH") && page.contains("Examples:"), "{page}");
    }
    assert!(run(&root(), &["man"]).1.contains("qualified person"));
    let (code, _, said) = run(&root(), &["man", "chek"]);
    assert!(code == 2 && said.contains("did you mean `check`?"), "{said}");
}

#[test]
fn the_brace_that_was_forgotten_is_the_one_told_of() {
    let blamed = |text: &str| -> Vec<String> {
        let faults = layrule::layout::parse(text).faults.into_iter();
        let open = faults.filter(|fault| fault.message == "this brace is never closed");
        open.map(|fault| text[..fault.span.start()].lines().last().unwrap_or_default().trim().to_string()).collect()
    };
    let text =
        "room r {\n  cable a {\n    start (1, 1)\n\n  sensor s from t (1, 1)\n}\nroom q {\n  floor timber {\n  }\n}\n";
    assert_eq!(blamed(text), ["cable a"]);
    // Where the indentation says nothing, the order does; and whatever is closed in the end is no fault.
    assert_eq!(blamed("room r {\ncable a {\nstart (1, 1)\n}\n"), ["room r"]);
    assert_eq!(blamed("room r {\n  cable a {\nstart (1, 1)\n}\n}\n"), [""; 0]);
}

#[test]
fn called_by_its_name_alone_it_shows_what_it_can_do() {
    let (code, help, said) = run(&root(), &[]);
    assert_eq!((code, said.as_str()), (0, ""));
    assert!(help.contains("Commands:") && help.contains("qualified person"), "{help}");
    // A command that lacks what it needs is still a fault.
    assert_eq!(run(&root(), &["check"]).0, 2);
}

#[test]
fn quiet_says_what_was_found_and_nothing_else() {
    let folder =
        Folder::new(&[("near.lay", NEAR_WALL), ("sound.lay", SOUND), ("layrule.toml", "output = \"json=f.json\"\n")]);
    let (code, found, said) = folder.run(&["check", ".", "--quiet"]);
    assert_eq!((code, said.as_str()), (1, ""));
    assert!(found.contains("error[wall-clearance]") && !found.contains("checked"), "{found}");
    assert_eq!(folder.run(&["check", "sound.lay", "-q"]), (0, String::new(), String::new()));
    assert_eq!(folder.run(&["tidy", "sound.lay", "--quiet"]).2, "");
    // What went wrong is said all the same.
    let (code, _, said) = folder.run(&["check", "missing.lay", "--quiet"]);
    assert!(code == 2 && said.contains("missing.lay"), "{said}");
}

#[test]
fn findings_of_some_rules_are_asked_for() {
    let both = NEAR_WALL.replace("(1000, 300) (0, 300)", "(1000, 900) (0, 900)");
    let folder = Folder::new(&[("near.lay", &both), ("known.toml", "")]);
    let rules = |arguments: &[&str]| {
        let (code, json, said) = folder.run(&[&["check", "near.lay", "--output", "json"], arguments].concat());
        let json: Value = serde_json::from_str(&json).unwrap_or_else(|error| panic!("{error}: {said}"));
        let findings = json["plans"][0]["findings"].as_array().expect("findings").clone();
        let mut rules: Vec<String> =
            findings.iter().map(|one| one["rule"].as_str().expect("a name").to_string()).collect();
        rules.dedup();
        (code, rules)
    };
    assert_eq!(rules(&[]), (1, vec!["cold-patch".to_string(), "wall-clearance".into()]));
    assert_eq!(rules(&["--rule", "cold-patch"]), (0, vec!["cold-patch".to_string()]));
    assert_eq!(rules(&["--no-rule", "cold-patch"]), (1, vec!["wall-clearance".to_string()]));
    assert_eq!(rules(&["--rule", "spacing"]), (0, Vec::new()));
    // What isn't asked for is not counted as unheld either, and what can't be read stays.
    let (_, found, _) = folder.run(&["check", "near.lay", "--rule", "wall-clearance"]);
    assert!(!found.contains("not checked"), "{found}");
    std::fs::write(folder.path("near.lay"), "room r {\n  nonsense\n}\n").expect("a file");
    assert!(folder.run(&["check", "near.lay", "--rule", "spacing"]).1.contains("error[syntax]"));
    for (arguments, told) in [
        (&["--rule", "wall-clearence"][..], "did you mean `wall-clearance`?"),
        (&["--no-rule", "zzz"], "no rule is called `zzz`"),
        (&["--rule", "spacing", "--no-rule", "crossing"], "cannot be used with"),
        (&["--rule", "spacing", "--apply"], "cannot be used with"),
        (&["--rule", "spacing", "--record-known", "k.toml"], "cannot be used with"),
    ] {
        let (code, _, said) = folder.run(&[&["check", "near.lay"], arguments].concat());
        assert!(code == 2 && said.contains(told), "{arguments:?}: {said}");
    }
}

#[test]
fn lines_are_broken_to_the_terminals_width() {
    let wide = run(&root(), &["check", "examples/faults/bonding.lay"]).1;
    assert!(wide.lines().any(|line| line.chars().count() > 100), "{wide}");
    for (columns, width) in [("72", 72), ("10", 60)] {
        let arguments = ["check", "examples/faults/bonding.lay"];
        let output = layrule(&root(), &arguments).env("COLUMNS", columns).output().expect("the program runs");
        let (_, narrow, _) = answer(&output);
        // The lines of the plan and the marks under them are as they are.
        let said = narrow.lines().filter(|line| !line.contains('│') && !line.contains('┌'));
        let longest = said.map(|line| line.chars().count()).max().expect("lines");
        assert!(longest <= width, "{longest} columns, {width} at the most:\n{narrow}");
        let output = layrule(&root(), &["measure", "examples/flat-6.lay"]).env("COLUMNS", columns).output();
        let (_, taken, _) = answer(&output.expect("the program runs"));
        let longest = taken.lines().map(|line| line.chars().count()).max().expect("lines");
        assert!(longest <= width, "{longest} columns, {width} at the most:\n{taken}");
        // Nothing is lost but ends of lines.
        let words = |text: &str| text.split_whitespace().map(str::to_string).collect::<Vec<_>>();
        assert_eq!(words(&narrow), words(&wide));
    }
}

#[test]
fn the_environment_asks_for_colours() {
    let folder = Folder::new(&[("near.lay", NEAR_WALL)]);
    let colored = |name: &str, value: &str| {
        let output = layrule(folder.0.path(), &["check", "near.lay"]).env(name, value).output().expect("it runs");
        answer(&output).1.contains('\u{1b}')
    };
    assert!(colored("CLICOLOR_FORCE", "1") && colored("FORCE_COLOR", "1"));
    assert!(!colored("CLICOLOR", "1") && !colored("CLICOLOR_FORCE", "0") && !colored("TERM", "dumb"));
    let over = layrule(folder.0.path(), &["check", "near.lay", "--color", "never"]).env("FORCE_COLOR", "1").output();
    assert!(!answer(&over.expect("it runs")).1.contains('\u{1b}'));
}

/// `check` and `tidy` show a line that can't be read alike, columns and all.
#[test]
fn check_and_tidy_show_faults_alike() {
    let folder = Folder::new(&[("odd.lay", "room r \"é🜂\" { nonsense here\n}\n")]);
    let (_, checked, _) = folder.run(&["check", "odd.lay"]);
    let (code, _, tidied) = folder.run(&["tidy", "odd.lay"]);
    assert_eq!(code, 1);
    let shown = checked.split("\n\n").next().expect("a finding");
    assert!(shown.contains("odd.lay:1:15") && tidied.starts_with(shown), "{checked}\n{tidied}");
}

/// Hooks name every file that was changed: with `--leave-out-named` those are left out that a folder's check leaves out.
#[test]
fn named_files_are_left_out_where_hooks_ask_for_it() {
    let folder = Folder::new(&[
        ("layrule.toml", "leave-out = [\"drafts/\"]\n"),
        ("drafts/near.lay", NEAR_WALL),
        ("sound.lay", SOUND),
    ]);
    assert_eq!(folder.run(&["check", "drafts/near.lay"]).0, 1);
    let (code, found, _) = folder.run(&["check", "--leave-out-named", "drafts/near.lay", "sound.lay"]);
    assert!(code == 0 && found.starts_with("1 file checked: no findings"), "{found}");
    assert_eq!(folder.run(&["check", "--leave-out-named", "drafts/near.lay"]).0, 0);
    std::fs::write(folder.path("drafts/near.lay"), "kit   k {\n}\n").expect("a file");
    assert_eq!(folder.run(&["tidy", "--check", "--leave-out-named", "drafts/near.lay"]).0, 0);
    let hooks = std::fs::read_to_string(root().join(".pre-commit-hooks.yaml")).expect("the hooks");
    let entries: Vec<&str> = hooks.lines().filter_map(|line| line.trim().strip_prefix("entry: ")).collect();
    assert_eq!(entries, ["layrule check --leave-out-named --affected", "layrule tidy --leave-out-named"]);
}

/// A change of a catalogue or of a rule breaks plans that did not change themselves.
#[test]
fn plans_are_checked_that_a_changed_file_touches() {
    let folder = Folder::new(&[
        ("layrule.toml", "leave-out = [\"drafts/\"]\nrules = [\"ours.rule\"]\n"),
        ("ours.rule", "amend spacing {\n  severity error\n}\n"),
        ("kits.lay", "use \"deep/values.lay\"\n"),
        ("deep/values.lay", "let gap = 40\n"),
        ("near.lay", &format!("use \"kits.lay\"\n{NEAR_WALL}")),
        ("drafts/near.lay", &format!("use \"../kits.lay\"\n{NEAR_WALL}")),
        ("sound.lay", SOUND),
    ]);
    let checked = |named: &[&str]| {
        let (code, found, said) = folder.run(&[&["check", "--leave-out-named", "--affected"], named].concat());
        let last = found
            .lines()
            .find(|line| line.contains(" checked"))
            .unwrap_or("")
            .split(" checked")
            .next()
            .unwrap_or("")
            .to_string();
        (code, last, said)
    };
    let told = |(code, last, said): (i32, String, String)| {
        assert_eq!(said, "");
        (code, last)
    };
    assert_eq!(told(checked(&["deep/values.lay"])), (1, "3 files".into()));
    assert_eq!(told(checked(&["kits.lay", "sound.lay"])), (1, "3 files".into()));
    assert_eq!(told(checked(&["sound.lay"])), (0, "1 file".into()));
    assert_eq!(told(checked(&["ours.rule"])), (1, "4 files".into()));
    assert_eq!(told(checked(&["layrule.toml", "near.lay"])), (1, "4 files".into()));
    // Without a word of it a named file stands for itself.
    assert_eq!(folder.run(&["check", "deep/values.lay"]).0, 0);
}

#[test]
fn a_project_begins_with_a_plan_that_is_sound() {
    let folder = Folder::new(&[("kept.txt", "kept")]);
    let (code, out, said) = folder.run(&["init", "--ci", "github"]);
    assert_eq!((code, out.as_str()), (0, ""), "{said}");
    assert!(said.contains("cloakroom.lay, ") && said.contains("`layrule check .` checks the plan"), "{said}");
    let (code, found, _) = folder.run(&["check", ".", "--whole", "--fail-on", "note"]);
    assert!(code == 0 && found.contains("files checked: no findings"), "{found}");
    assert_eq!(folder.run(&["tidy", ".", "--check"]).0, 0);
    let workflow = std::fs::read_to_string(folder.path(".github/workflows/plans.yml")).expect("the workflow");
    assert!(workflow.contains("layrule check . --output github"), "{workflow}");
    // What is there is never written over, and then nothing is written.
    std::fs::remove_file(folder.path("kits.lay")).expect("it was there");
    std::fs::write(folder.path("cloakroom.lay"), "mine").expect("a file");
    let (code, _, said) = folder.run(&["init"]);
    assert!(code == 2 && said.contains("cloakroom.lay is there already"), "{said}");
    assert_eq!(std::fs::read_to_string(folder.path("cloakroom.lay")).expect("it is there"), "mine");
    assert!(!folder.path("kits.lay").exists());
    let (code, _, said) = folder.run(&["init", "new/plans", "--ci", "gitlab", "--quiet"]);
    assert_eq!((code, said.as_str()), (0, ""));
    assert!(folder.path("new/plans/.gitlab-ci.yml").exists() && folder.path("new/plans/layrule.toml").exists());
    assert_eq!(folder.run(&["init", ".git/x"]).0, 2);
}

/// The sections that man-pages(7) asks for of a command's page.
#[test]
fn manual_pages_say_how_they_end_and_what_they_read() {
    for arguments in [&["man"][..], &["man", "check"], &["man", "tidy"]] {
        let (code, page, _) = run(&root(), arguments);
        assert_eq!(code, 0);
        let heads: Vec<&str> = page.lines().filter_map(|line| line.strip_prefix(".SH ")).collect();
        for head in ["NAME", "SYNOPSIS", "DESCRIPTION", "OPTIONS", "\"EXIT STATUS\"", "FILES", "\"SEE ALSO\""] {
            assert!(heads.contains(&head), "{arguments:?} has no {head}: {heads:?}");
        }
        let also = page.split(".SH \"SEE ALSO\"").nth(1).expect("the section");
        assert!(also.contains("layrule\\-draw") && page.contains("layrule.toml"), "{also}");
    }
}
