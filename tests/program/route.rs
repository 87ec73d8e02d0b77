//! `layrule route`: cables laid in plans that name them, and what stands in the way.

use crate::common::program::Folder;
use crate::common::{check, text_of};

const KITS: &str = "kit K-70 {\n  output       700 W at 230 V\n  length       70 m\n  diameter     6 mm\n  bend-radius  25 mm\n  tail         3 m\n  screen       earthed\n}\n";

/// A room of 3.4 by 2.2 m with a door, a box and a thermostat, and what else is said of it.
fn room(more: &str) -> String {
    format!(
        "{KITS}\nroom r {{\n  outline     (0, 0) (3400, 0) (3400, 2200) (0, 2200)\n  door        d  wall 1 from 300 to 1200\n  junction    j  (3400, 400) height 300\n  thermostat  t  (3400, 700) height 1200 rated 16 A\n{more}}}\n"
    )
}

const UNLAID: &str = "\n  cable a {\n    kit K-70\n  }\n";

#[test]
fn what_is_laid_is_clean_and_laid_once() {
    let folder = Folder::new(&[("r.lay", &room(UNLAID))]);
    let (code, shown, said) = folder.run(&["route", "r.lay"]);
    assert_eq!(code, 0, "{said}");
    assert!(shown.contains("+    loops") && shown.contains("+  sensor"), "{shown}");
    assert_eq!(std::fs::read_to_string(folder.path("r.lay")).expect("the plan"), room(UNLAID), "it only shows");
    assert_eq!(folder.run(&["route", "r.lay", "--write"]).0, 0);
    let laid = std::fs::read_to_string(folder.path("r.lay")).expect("the plan");
    let report = check(&laid);
    assert!(report.findings.is_empty(), "{laid}\n{}", text_of(&report));
    assert_eq!(layrule::layout::tidy::tidy(&laid).as_deref(), Ok(laid.as_str()));
    // From the same text come the same bytes, and what is laid stays.
    std::fs::write(folder.path("r.lay"), room(UNLAID)).expect("the plan");
    folder.run(&["route", "r.lay", "--write", "--room", "r"]);
    assert_eq!(std::fs::read_to_string(folder.path("r.lay")).expect("the plan"), laid);
    let (code, _, said) = folder.run(&["route", "r.lay", "--write"]);
    assert!(code == 1 && said.contains("has no cable to be laid"), "{said}");
    assert_eq!(std::fs::read_to_string(folder.path("r.lay")).expect("the plan"), laid);
}

#[test]
fn a_kit_named_on_the_command_line_is_added() {
    let folder = Folder::new(&[("r.lay", &room(""))]);
    let (code, _, said) = folder.run(&["route", "r.lay", "--kit", "K-70", "--write", "--draw", "r.svg"]);
    assert_eq!(code, 0, "{said}");
    let laid = std::fs::read_to_string(folder.path("r.lay")).expect("the plan");
    let report = check(&laid);
    assert!(laid.contains("kit    K-70") && report.findings.is_empty(), "{laid}\n{}", text_of(&report));
    assert!(std::fs::read_to_string(folder.path("r.svg")).expect("the drawing").contains("<svg"));
}

#[test]
fn runs_go_along_the_wall_that_is_asked_for() {
    for (wall, heading) in [("1", ["west", "east"]), ("2", ["north", "south"])] {
        let folder = Folder::new(&[("r.lay", &room(UNLAID))]);
        let (code, shown, said) = folder.run(&["route", "r.lay", "--along", wall]);
        assert_eq!(code, 0, "{said}");
        let loops = shown.lines().find(|line| line.contains("loops")).expect("loops").to_string();
        let of = loops.split_once(" of ").and_then(|(_, rest)| rest.split_once(',')).expect("a length").0.to_string();
        assert!(heading.iter().any(|word| of.ends_with(word)), "{loops}");
    }
}

#[test]
fn an_amended_limit_holds() {
    let folder =
        Folder::new(&[("r.lay", &room(UNLAID)), ("ours.rule", "amend wall-clearance { limit clearance = 80 mm }\n")]);
    let (code, _, said) = folder.run(&["route", "r.lay", "--write", "--rules", "ours.rule"]);
    assert_eq!(code, 0, "{said}");
    assert_eq!(folder.run(&["check", "r.lay", "--rules", "ours.rule", "--fail-on", "warning"]).0, 0);
}

/// A cable on each side of a movement joint; only a cold tail crosses it, in a sleeve.
#[test]
fn each_bay_has_its_cable() {
    let plan = room("").replace("length       70 m", "length       34 m");
    let plan = plan.replace("  door        d  wall 1 from 300 to 1200\n", "  joint       m  (1700, 0) (1700, 2200)\n");
    let plan = plan.replace("(3400, 400)", "(1500, 0)").replace("(3400, 700)", "(1200, 0)");
    let cables = "\n  cable a {\n    kit K-70\n  }\n\n  cable b {\n    kit K-70\n  }\n}\n";
    let plan = format!("{}{cables}", plan.strip_suffix("}\n").expect("its end"));
    let folder = Folder::new(&[("r.lay", &plan)]);
    let (code, _, said) = folder.run(&["route", "r.lay", "--write", "--time", "60"]);
    assert_eq!(code, 0, "{said}");
    let laid = std::fs::read_to_string(folder.path("r.lay")).expect("the plan");
    let report = check(&laid);
    assert!(report.findings.is_empty(), "{laid}\n{}", text_of(&report));
    assert_eq!(laid.matches("sleeve m").count(), 1, "{laid}");
}

#[test]
fn what_stands_in_the_way_is_told_and_nothing_is_written() {
    let far = room(UNLAID).replace("junction    j  (3400, 400)", "junction    j  (-9000, 400)");
    let tight = room(UNLAID).replace("length       70 m", "length       190 m");
    let wide = room(UNLAID).replace("length       70 m", "length       20 m");
    let parted = room(&format!("  joint       m  (1700, 0) (1700, 2200)\n{UNLAID}"));
    let mat = room(UNLAID).replace("  screen", "  mat          500 by 6 m, spacing 80\n  screen");
    let full = room(&format!("  fixture     f  rect (10, 10) (3390, 2190)\n{UNLAID}"));
    let two = room(&format!("  thermostat  u  (0, 700) height 1200 rated 16 A\n{UNLAID}"));
    let faulty = room(UNLAID).replace("length       70 m", "length       70 W");
    let short = room(UNLAID).replace("length       70 m", "length       0.03 m");
    let cases = [
        (far.as_str(), "no cold tail reaches"),
        (&tight, "is the least (rule `spacing`)"),
        (&wide, "is the most (rule `wide-spacing`)"),
        (&parted, "is cut into 2 parts"),
        (&mat, "is a mat"),
        (&full, "no floor left"),
        (&two, "doesn't say which thermostat"),
        (&room("\n  cable a {\n    kit K-71\n  }\n"), "no kit is called `K-71`"),
        (&faulty, "kit `K-70` could not be read"),
        (&short, "30 mm of kit `K-70`"),
        (&room("\n  cable a {\n  }\n"), "names no kit"),
        (&room(&format!("  fixture     g  rect (0, 0)\n{UNLAID}")), "isn't whole"),
    ];
    for (text, told) in cases {
        let folder = Folder::new(&[("r.lay", text)]);
        let (code, _, said) = folder.run(&["route", "r.lay", "--write", "--time", "30"]);
        let said = said.split_whitespace().filter(|word| *word != "│").collect::<Vec<_>>().join(" ");
        assert!(code == 1 && said.contains(told), "{told}: {code}\n{said}");
        assert_eq!(std::fs::read_to_string(folder.path("r.lay")).expect("the plan"), text, "{told}");
    }
}

#[test]
fn bad_arguments_are_told() {
    let folder = Folder::new(&[("r.lay", &room(UNLAID))]);
    let cases: [(&[&str], i32, &str); 6] = [
        (&["route", "-", "--write"], 2, "standard input"),
        (&["route", "r.lay", "--time", "0"], 2, "number of seconds"),
        (&["route", "r.lay", "--along", "9"], 1, "has no wall 9"),
        (&["route", "r.lay", "--room", "s"], 2, "no room is called `s`"),
        (&["route", "r.lay", "--draw", "r.txt"], 2, "doesn't say what to draw"),
        (&["route", "none.lay"], 2, "none.lay"),
    ];
    for (arguments, code, told) in cases {
        let (ended, _, said) = folder.run(arguments);
        assert!(ended == code && said.contains(told), "{arguments:?}: {ended}\n{said}");
    }
}
