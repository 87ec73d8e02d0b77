//! Changes that findings carry: what they are, and `check --apply`, which makes them.

use proptest::prelude::*;

use layrule::checker::mend::{apply, mend, no_worse};
use layrule::finding::Fix;

use crate::common::program::Folder;
use crate::common::{cases, check, root, rules_found, untried};

/// A room of 3 m by 2 m in which one cable goes round, with what is given in place of its path.
fn room(path: &str) -> String {
    format!(
        "room r {{\n  outline (0, 0) (3000, 0) (3000, 2000) (0, 2000)\n  junction j (0, 100)\n  cable a {{\n{path}\n  }}\n}}\n"
    )
}

/// The changes that a rule's findings in a text carry, each with the text after it.
fn fixes(text: &str, rule: &str) -> Vec<(Fix, String)> {
    let report = untried(text);
    let found: Vec<_> = report.findings.iter().filter(|finding| &*finding.rule == rule).collect();
    assert!(!found.is_empty(), "{rule} finds nothing: {:?}", rules_found(&report));
    let fixes = found.iter().filter_map(|finding| finding.fix.as_ref().or(finding.offers.first()).cloned());
    fixes.map(|fix| (fix.clone(), apply(text, &fix.edits).expect("they fit"))).collect()
}

/// The text after the only change that a rule's findings carry.
fn fixed(text: &str, rule: &str) -> String {
    let fixes = fixes(text, rule);
    assert_eq!(fixes.len(), 1, "{fixes:#?}");
    fixes[0].1.clone()
}

#[test]
fn a_run_is_moved_by_those_beside_it() {
    let path = "    start (100, 100)\n    run east 2870\n    run north 400\n    run west 2870";
    // The middle run lies 30 mm from the eastern wall.
    let after = fixed(&room(path), "wall-clearance");
    assert_eq!(after, room(&path.replace("2870", "2850")));
    assert!(!rules_found(&check(&after)).contains(&"wall-clearance".to_string()));
}

#[test]
fn lengths_keep_their_units_and_formulas_go_on() {
    let path = "    start (100, 100)\n    run east 2.87 m\n    run north 400\n    run west 2 * 1435";
    let after = fixed(&room(path), "wall-clearance");
    assert_eq!(after, room("    start (100, 100)\n    run east 2.85 m\n    run north 400\n    run west 2 * 1435 - 20"));
    // A name may end with a digit, and a walk to a point is moved at its own end.
    let path = "    start (100, 100)\n    run to (2870, 100)\n    run to (2970, 100)\n    run to (2970, 500)\n    run to (100, 500)";
    assert!(
        fixes(&room(path), "wall-clearance").is_empty(),
        "its neighbour is drawn to a point, which a length can't move"
    );
}

#[test]
fn the_first_run_takes_start_and_tail_along() {
    let path = "    tail j (0, 20) (100, 20)\n    start (100, 20)\n    run east 800\n    run north 400";
    let after = fixed(&room(path), "wall-clearance");
    assert_eq!(after, room("    tail j (0, 20) (100, 50)\n    start (100, 50)\n    run east 800\n    run north 370"));
}

#[test]
fn what_can_not_be_written_is_not_offered() {
    // One of a set of loops, a run at a slant, and one whose neighbour steps for a whole set.
    for path in [
        "    start (30, 100)\n    loops 5 of 1800 north, stepping 200 east",
        "    start (100, 30)\n    run to (900, 40)",
        "    start (100, 300)\n    loops 4 of 2870 east, stepping 100 north\n    run north 500",
    ] {
        let all = fixes(&room(path), "wall-clearance");
        assert!(all.iter().all(|(fix, _)| !fix.edits.is_empty()) && all.len() < 2, "{path}: {all:#?}");
    }
}

#[test]
fn loops_step_wider_where_they_step_by_a_number() {
    let path = "    start (100, 100)\n    loops 5 of 1500 east, stepping 4.8 cm north";
    let all = fixes(&room(path), "spacing");
    assert!(all.iter().all(|(_, after)| *after == room(&path.replace("4.8 cm", "5 cm"))), "{all:#?}");
    let named = room(&path.replace("4.8 cm", "pitch")).replace("room r", "let pitch = 48\nroom r");
    assert!(fixes(&named, "spacing").is_empty());
}

#[test]
fn a_deviation_goes_with_its_line() {
    let text = room("    start (100, 100)\n    run east 800")
        .replace("  junction", "  deviation spacing cable a \"agreed\"\n  junction");
    assert_eq!(fixed(&text, "deviation-unused"), text.replace("  deviation spacing cable a \"agreed\"\n", ""));
    let crowded = text.replace("\"agreed\"\n", "\"agreed\"  # by the owner\n");
    assert_eq!(fixed(&crowded, "deviation-unused"), crowded.replace("deviation spacing cable a \"agreed\"", ""));
}

#[test]
fn a_misspelt_word_is_written_right() {
    let text = "let pitch = 80\nroom r {\n  outlin (0, 0) (3000, 0) (3000, 2000)\n  cable a {\n    start (100, 100)\n    loops 3 of 900 east, stepping pich nort\n  }\n}\n";
    let syntax = fixes(text, "syntax");
    let titles: Vec<&str> = syntax.iter().map(|(fix, _)| fix.title.as_str()).collect();
    assert_eq!(titles, ["write `outline`", "write `north`"]);
    assert_eq!(
        fixed(&text.replace("outlin ", "outline ").replace("nort\n", "north\n"), "name").matches("pitch").count(),
        2
    );
    let tail = room("    tail j (0, 100) (90, 100)\n    start (100, 100)\n    run east 800");
    assert_eq!(fixed(&tail, "plan"), tail.replace("(90, 100)", "(100, 100)"));
}

#[test]
fn changes_are_kept_only_where_they_help() {
    // Moved away from the wall, the run would come too near to the fixture: one finding in place of another.
    let path = "    start (100, 40)\n    run east 800";
    let text = room(path).replace("  cable", "  fixture f rect (300, 90) (600, 400)\n  cable");
    let before = untried(&text);
    let mended = mend(&text, &before, untried);
    assert!(no_worse(&check(&mended.text), &before));
    assert_eq!((mended.made.len(), mended.dropped.len()), (0, 1), "{mended:#?}");
    // Alike findings are mended one after the other.
    let text = "let pitch = 80\nlet a = pich\nlet b = 2 * pich\nroom r {\n  outline (0, 0) (900, 0) (900, 900) (0, 900)\n  inside 20 degC\n}\nlet c = pich\n";
    let mended = mend(text, &untried(text), untried);
    assert_eq!((mended.text.matches("pitch").count(), mended.made.len()), (4, 3), "{mended:#?}");
}

proptest! {
    #![proptest_config(cases(120))]

    /// Whatever a room looks like, mending leaves no more findings and no more errors than there were.
    #[test]
    fn mending_never_makes_a_plan_worse(x in 0..200_i32, y in 0..200_i32, runs in prop::collection::vec((0..4_usize, 20..900_i32), 1..9), tip in (0..2000_i32, 0..1000_i32)) {
        let headings = ["east", "north", "west", "south"];
        let mut path = format!("    start ({x}, {y})\n");
        for (heading, length) in runs {
            path.push_str(&format!("    run {} {length}\n", headings[heading]));
        }
        let text = room(&path).replace("  cable", "  thermostat t (0, 300) height 1200 rated 10 A\n  fixture f rect (900, 400) (1400, 700)\n  cable")
            .replace("  }\n}", &format!("  }}\n  sensor s from t (0, {0}) ({1}, {0})\n}}", tip.1, tip.0 + 1));
        let before = untried(&text);
        let mended = mend(&text, &before, untried);
        let after = check(&mended.text);
        prop_assert!(no_worse(&after, &before), "{}\n{}", text, mended.text);
        let of = |report: &layrule::checker::Report, rule: &str| report.findings.iter().filter(|one| &*one.rule == rule).count();
        for rule in rules_found(&after) {
            prop_assert!(of(&after, &rule) <= of(&before, &rule), "{}: {}\n{}", rule, text, mended.text);
        }
        prop_assert!(mended.made.is_empty() == (mended.text == text));
    }
}

const NEAR: &str = "room r {\n  outline (0, 0) (3000, 0) (3000, 400) (0, 400)\n  cable a {\n    start (100, 100)\n    run east 2870\n    run north 200\n  }\n}\n";

#[test]
fn the_command_shows_or_makes_changes() {
    let folder = Folder::new(&[("a.lay", NEAR), ("sub/b.lay", NEAR)]);
    let (code, diff, said) = folder.run(&["check", ".", "--apply", "--dry-run"]);
    assert_eq!(code, 0, "{said}");
    assert!(diff.contains("-    run east 2870\n+    run east 2850\n"), "{diff}");
    assert_eq!(said, "2 changes would be made in 2 files\n");
    assert_eq!(std::fs::read_to_string(folder.path("a.lay")).expect("it is there"), NEAR);
    // Only what is named is changed.
    let (code, text, said) = folder.run(&["check", "sub", "--apply"]);
    assert_eq!(code, 0, "{text}{said}");
    assert_eq!(said, "sub/b.lay: move run 2 of cable `a` by 20 mm\n1 change made in 1 file\n");
    assert_eq!(std::fs::read_to_string(folder.path("sub/b.lay")).expect("it is there"), NEAR.replace("2870", "2850"));
    assert_eq!(std::fs::read_to_string(folder.path("a.lay")).expect("it is there"), NEAR);
    assert!(text.starts_with("1 file checked: no findings"), "{text}");
}

/// Once cable is laid, a plan shows what is in the floor.
#[test]
fn what_is_drawn_as_built_is_not_changed() {
    let recorded = |line: &str| NEAR.replace("  }\n}", &format!("  }}\n  record {{\n    {line}\n  }}\n}}"));
    let delivered = recorded("delivered 2026-10-01 cable a 100 ohm");
    for built in ["laid 2026-10-01 cable a 100 ohm", "after-tiling 2026-10-01 cable a 100 ohm", "tiled 2026-10-01"] {
        let built = recorded(built);
        let folder = Folder::new(&[("a.lay", &built), ("b.lay", &delivered)]);
        let (_, _, said) = folder.run(&["check", ".", "--apply"]);
        assert!(said.contains("a.lay: not changed; its record says what was laid"), "{said}");
        assert!(said.contains("1 change made in 1 file"), "{said}");
        assert_eq!(std::fs::read_to_string(folder.path("a.lay")).expect("it is there"), built);
        assert_ne!(std::fs::read_to_string(folder.path("b.lay")).expect("it is there"), delivered);
    }
}

#[test]
fn a_shared_file_is_not_changed_to_another_plans_harm() {
    // Written right in one plan, the name of the kit would be missed by another that uses it as it is misspelt.
    let kits = "kit K-1 { output 10 W at 230 V\n  length 1 m\n}\n".to_string();
    let lib = "use \"kits.lay\"\nroom lib {\n  outline (0, 0) (900, 0) (900, 900) (0, 900)\n  cable a {\n    kit K-2\n    start (100, 100)\n    run east 700\n  }\n}\n";
    let user = "use \"lib.lay\"\nroom r {\n  outline (0, 0) (900, 0) (900, 900) (0, 900)\n}\n";
    let folder = Folder::new(&[("kits.lay", &kits), ("lib.lay", lib), ("user.lay", user)]);
    let before = std::fs::read_to_string(folder.path("user.lay")).expect("it is there");
    let (code, _, said) = folder.run(&["check", "lib.lay", "user.lay", "--apply"]);
    assert!(code < 2, "{said}");
    assert_eq!(std::fs::read_to_string(folder.path("user.lay")).expect("it is there"), before);
    assert_eq!(std::fs::read_to_string(folder.path("kits.lay")).expect("it is there"), kits);
}

#[test]
fn what_can_not_be_changed_is_told_of() {
    let folder = Folder::new(&[("odd.lay", &NEAR.replace("room r", "# \u{1b}[31m\nroom r"))]);
    let (code, _, said) = folder.run(&["check", "odd.lay", "--apply"]);
    assert_eq!(code, 2);
    assert!(said.contains("odd.lay is not changed: it holds characters that a terminal would obey"), "{said}");
    let (code, _, said) = folder.run(&["check", "odd.lay", "--dry-run"]);
    assert_eq!(code, 2);
    assert!(said.contains("--apply"), "{said}");
}

/// Every remedy of the built-in packs is made by the example of its rule.
#[test]
fn examples_of_rules_with_remedies_are_mended() {
    for name in ["wall-clearance", "sensor-between-runs", "deviation-unused"] {
        let text = std::fs::read_to_string(root().join(format!("examples/faults/{name}.lay"))).expect("an example");
        let text = text.replace("../kits.lay", "kits.lay");
        let before = untried(&text);
        assert!(rules_found(&before).contains(&name.to_string()));
        let mended = mend(&text, &before, untried);
        assert!(check(&mended.text).findings.is_empty(), "{name}: {mended:#?}");
    }
}

#[test]
fn a_change_is_dropped_that_brings_another_fault() {
    // Moved away from the wall, the second run would leave the third nothing to go.
    let path = "    start (2000, 200)\n    run south 170\n    run west 800\n    run to (1200, 50)\n    run west 800\n    run north 300\n    run east 800";
    let text = room(path);
    let mended = mend(&text, &untried(&text), untried);
    assert!(!rules_found(&check(&mended.text)).contains(&"plan".to_string()), "{}", mended.text);
    // Stepped wider, the loops would leave the room.
    let text = room("    start (100, 100)\n    loops 46 of 1500 east, stepping 40 north");
    let before = untried(&text);
    let mended = mend(&text, &before, untried);
    assert_eq!((mended.text.as_str(), mended.made.len()), (text.as_str(), 0), "{mended:#?}");
    assert!(!mended.dropped.is_empty());
}

#[test]
fn nothing_is_changed_where_an_output_can_not_be_written() {
    let folder = Folder::new(&[("a.lay", NEAR)]);
    let (code, _, said) = folder.run(&["check", "a.lay", "--apply", "--output", "sarif=gone/x.sarif"]);
    assert_eq!(code, 2, "{said}");
    assert_eq!(std::fs::read_to_string(folder.path("a.lay")).expect("it is there"), NEAR);
    let (code, _, said) = folder.run(&["check", "a.lay", "--apply", "--dry-run", "--output", "sarif=x.sarif"]);
    assert!(code == 2 && said.contains("--dry-run"), "{said}");
}

#[test]
fn a_cable_is_embedded_in_its_layer() {
    let plan = |layer: &str| {
        format!(
            "kit k {{\n  output 100 W at 230 V\n  length 10 m\n  diameter 6 mm\n  bend-radius 30 mm\n  tail 3 m\n  screen earthed\n}}\n\
             room r {{\n  outline (0, 0) (3000, 0) (3000, 2000) (0, 2000)\n  junction j (0, 100)\n  floor concrete {{\n    tile 10 mm porcelain\n    \
             {layer}\n    concrete 150 mm\n  }}\n  cable a {{\n    kit k\n    start (100, 100)\n    run east 2800\n    run north 400\n    run west 2800\n  }}\n}}\n"
        )
    };
    // The height alone, in the unit it has; the layer too, where it is too thin for any height; a formula goes on.
    for (before, after) in [
        ("adhesive 10 mm cable at 1 mm", "adhesive 10 mm cable at 3 mm"),
        ("adhesive 1 cm cable at 0.1 cm", "adhesive 1 cm cable at 0.3 cm"),
        ("adhesive 7 mm cable at 3 mm", "adhesive 8 mm cable at 3 mm"),
        ("adhesive 2 * 5 mm cable at 9 mm", "adhesive 2 * 5 mm cable at 3 mm"),
        ("adhesive 2 * 3 mm cable at 3 mm", "adhesive 2 * 3 mm + 2 cable at 3 mm"),
    ] {
        assert_eq!(fixed(&plan(before), "cover"), plan(after));
        assert!(!rules_found(&check(&plan(after))).contains(&"cover".to_string()));
        let (fix, _) = &fixes(&plan(before), "cover")[0];
        assert!(fix.advised_only, "what a floor is built of is for its designer to say");
    }
}
