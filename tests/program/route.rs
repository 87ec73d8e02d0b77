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

/// What is said, on one line.
fn words(said: &str) -> String {
    said.split_whitespace().filter(|word| *word != "│").collect::<Vec<_>>().join(" ")
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
fn where_a_kit_suits_no_floor_size_tells_which_do() {
    let longer = KITS.replace("K-70", "K-160").replace("700 W", "1600 W").replace("70 m", "160 m");
    let room = room("\n  cable a {\n    kit K-160\n  }\n").replace(KITS, &format!("{KITS}{longer}"));
    let folder = Folder::new(&[("r.lay", &room)]);
    let (code, _, said) = folder.run(&["route", "r.lay"]);
    let said = words(&said);
    assert!(code == 1 && said.contains("`layrule size` shows"), "{said}");
    // The cable that has no way yet is none to it.
    let (code, shown, said) = folder.run(&["size", "r.lay"]);
    assert!(code == 0 && shown.contains("K-70") && !shown.contains("no path yet"), "{shown}{said}");
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
    let behind = room(&format!("  fixture     f  rect (2900, 0) (3400, 1400)\n{UNLAID}"));
    let little = room(&format!("  fixture     f  rect (0, 0) (3000, 2200)\n{UNLAID}"));
    let table = |row: &str| {
        room(UNLAID)
            .replace(KITS, &format!("kits \"K\" {{\n  voltage  230 V\n\n  columns  output  length\n  {row}\n}}\n"))
    };
    let otherwise = room(UNLAID).replace("  diameter     6 mm", "  resistance   9 ohm, -5 % to +10 %");
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
        (&behind, "the nearest breaks `tail-under-fixture`"),
        (&little, "is the least (rule `spacing`)"),
        (&table("K-70     700 W"), "kit `K-70` could not be read"),
        (&table("K-70     700 W     0 m"), "kit `K-70` could not be read"),
        (&format!("{KITS}{}", room(UNLAID)), "is not as it should be: 2 kits are called `K-70`"),
        (&otherwise, "is not as it should be: kit `K-70` contradicts itself"),
        (&room(UNLAID).replace(KITS, "use \"kits.lay\"\n"), "a file that the plan uses can't be read"),
        (&room("\n  cable a {\n  }\n"), "names no kit"),
        (&room(&format!("  fixture     g  rect (0, 0)\n{UNLAID}")), "isn't whole"),
    ];
    for (text, told) in cases {
        let folder = Folder::new(&[("r.lay", text)]);
        let (code, _, said) = folder.run(&["route", "r.lay", "--write", "--time", "30"]);
        let said = words(&said);
        assert!(code == 1 && said.contains(told), "{told}: {code}\n{said}");
        assert_eq!(std::fs::read_to_string(folder.path("r.lay")).expect("the plan"), text, "{told}");
    }
}

/// Rules amended so that no layout keeps them: told at once, by their names, by `route` and, of what doesn't hang on a kit, by `size`.
#[test]
fn rules_that_contradict_one_another_are_named() {
    let cases: [(&str, &[&str], bool); 9] = [
        ("amend spacing { limit minimum = 130 mm }", &["`spacing` asks for 130 mm", "`wide-spacing` for 126 mm"], true),
        ("amend wall-clearance { limit clearance = 1.2 m }", &["`wall-clearance` (1200 mm) leaves no floor"], true),
        (
            "amend wall-clearance { limit clearance = 600 mm }",
            &["`wall-clearance` keeps cable 600 mm", "`cold-patch`"],
            true,
        ),
        (
            "amend spacing { limit minimum = 700 mm }\namend wide-spacing { severity off }",
            &["`spacing` asks for 700 mm", "`cold-patch` no free floor lies more than 250 mm"],
            true,
        ),
        (
            "amend kit-size { limit least = 130 mm }",
            &["`kit-size` asks for a spacing of 130 mm or more and of 120 mm or less"],
            true,
        ),
        (
            "amend cold-joint { limit straight = 80 m }",
            &["`cold-joint` asks for 80", "`laid-length`", "kit `K-70`"],
            false,
        ),
        ("amend tail-reach { limit allowance = 4 m }", &["`tail-reach` asks for 4000 mm", "is 3000 mm long"], false),
        // Harsh, and yet no contradiction.
        ("amend spacing { limit minimum = 100 mm }", &[], false),
        ("amend wall-clearance { limit clearance = 150 mm }", &[], false),
    ];
    for (ours, told, of_any_kit) in cases {
        let folder = Folder::new(&[("r.lay", &room(UNLAID)), ("ours.rule", ours)]);
        let begun = std::time::Instant::now();
        let (code, _, said) = folder.run(&["route", "r.lay", "--write", "--rules", "ours.rule", "--time", "300"]);
        let said = words(&said);
        let contradicts = said.contains("`layrule rules NAME` shows");
        assert_eq!(contradicts, !told.is_empty(), "{ours}: {said}");
        assert!(told.iter().all(|told| said.contains(told)), "{ours}: {said}");
        if contradicts {
            assert!(code == 1 && begun.elapsed().as_secs() < 60, "{ours}: {said}");
            assert_eq!(std::fs::read_to_string(folder.path("r.lay")).expect("the plan"), room(UNLAID), "{ours}");
        }
        let folder = Folder::new(&[("r.lay", &room("")), ("ours.rule", ours)]);
        let (code, sized, _) = folder.run(&["size", "r.lay", "--rules", "ours.rule"]);
        let sized = words(&sized);
        assert_eq!(sized.contains("no kit can be chosen"), of_any_kit, "{ours}: {sized}");
        assert!(!of_any_kit || code == 1 && told.iter().all(|told| sized.contains(told)), "{ours}: {sized}");
    }
}

#[test]
fn bad_arguments_are_told() {
    let folder = Folder::new(&[("r.lay", &room(UNLAID))]);
    let cases: [(&[&str], i32, &str); 7] = [
        (&["route", "-", "--write"], 2, "standard input"),
        (&["route", "r.lay", "--time", "0"], 2, "number of seconds"),
        (&["route", "r.lay", "--along", "9"], 1, "has no wall 9"),
        (&["route", "r.lay", "--along", "1", "--pattern", "spiral"], 2, "a spiral goes along all walls"),
        (&["route", "r.lay", "--room", "s"], 2, "no room is called `s`"),
        (&["route", "r.lay", "--draw", "r.txt"], 2, "doesn't say what to draw"),
        (&["route", "none.lay"], 2, "none.lay"),
    ];
    for (arguments, code, told) in cases {
        let (ended, _, said) = folder.run(arguments);
        assert!(ended == code && said.contains(told), "{arguments:?}: {ended}\n{said}");
    }
}
