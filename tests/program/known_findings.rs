//! Known findings: recorded, then left out, and known again although lines move.

use layrule::known::Known;

use crate::common::program::{Folder, NEAR_WALL, SOUND};

fn recorded(files: &[(&str, &str)]) -> Folder {
    let folder = Folder::new(files);
    let (code, _, said) = folder.run(&["check", ".", "--record-known", "known.toml"]);
    assert_eq!(code, 0, "{said}");
    folder
}

#[test]
fn only_new_findings_are_reported_and_those_gone_are_named() {
    let folder = recorded(&[("a/near.lay", NEAR_WALL), ("sound.lay", SOUND)]);
    let (code, found, _) = folder.run(&["check", ".", "--known", "known.toml"]);
    assert!(code == 0 && found.starts_with("2 files checked: no findings, 1 known before\n"), "{found}");
    assert!(!found.contains("gone"), "{found}");
    // Lines move, and a new fault joins.
    let moved =
        format!("# Notes\n\n\n{}", NEAR_WALL.replace("    run east 800", "    run east 800\n    run north 240"));
    std::fs::write(folder.path("a/near.lay"), moved).expect("a file");
    let (code, found, _) = folder.run(&["check", ".", "--known", "known.toml"]);
    assert_eq!(code, 1, "{found}");
    assert!(found.contains("run 2 of cable") && !found.contains("run 1 of cable `a` lies 40 mm"), "{found}");
    assert!(found.contains("1 known before"), "{found}");
    // Mended.
    std::fs::write(folder.path("a/near.lay"), SOUND).expect("a file");
    let (code, found, _) = folder.run(&["check", ".", "--known", "known.toml"]);
    let gone = "gone: 1 known finding\n  a/near.lay: wall-clearance: `run east 800`\n";
    assert!(code == 0 && found.contains(gone), "{found}");
    // A plan that isn't asked about is not said to be mended; one that is deleted is.
    let (_, found, _) = folder.run(&["check", "sound.lay", "--known", "known.toml"]);
    assert!(!found.contains("gone"), "{found}");
    std::fs::remove_file(folder.path("a/near.lay")).expect("it was there");
    assert!(folder.run(&["check", "sound.lay", "--known", "known.toml"]).1.contains(gone));
}

#[test]
fn alike_findings_are_counted() {
    let two = NEAR_WALL.replace("    run east 800", "    run east 300\n    run east 300");
    let folder = recorded(&[("near.lay", &two)]);
    let text = std::fs::read_to_string(folder.path("known.toml")).expect("it is there");
    assert!(text.contains("\ncount = 2\n"), "{text}");
    // And the floor that stays cold.
    let three = NEAR_WALL.replace("    run east 800", "    run east 300\n    run east 300\n    run east 300");
    std::fs::write(folder.path("near.lay"), three.replace("(1000, ", "(1300, ")).expect("a file");
    let (code, found, _) = folder.run(&["check", ".", "--known", "known.toml"]);
    assert!(code == 1 && found.contains("1 error, 3 known before"), "{found}");
    assert!(found.contains("run 3 of cable"), "{found}");
}

#[test]
fn the_file_is_the_same_for_the_same_findings_and_is_read_back() {
    let folder = recorded(&[("b/near.lay", NEAR_WALL), ("a \"q\" é.lay", NEAR_WALL)]);
    let text = std::fs::read_to_string(folder.path("known.toml")).expect("it is there");
    insta::assert_snapshot!(text);
    assert_eq!(Known::parse(&text).expect("it is sound").print(), text);
    assert_eq!(folder.run(&["check", ".", "--record-known", "known.toml", "--threads", "1"]).0, 0);
    assert_eq!(std::fs::read_to_string(folder.path("known.toml")).expect("it is there"), text);
    // Recording some plans afresh keeps what is known of the others.
    std::fs::write(folder.path("b/near.lay"), SOUND).expect("a file");
    assert_eq!(folder.run(&["check", "b", "--record-known", "known.toml"]).0, 0);
    let kept = Known::parse(&std::fs::read_to_string(folder.path("known.toml")).expect("it is there"));
    let plans: Vec<String> = kept.expect("it is sound").counts.into_keys().map(|known| known.plan).collect();
    assert_eq!(plans, ["a \"q\" é.lay"]);
}

#[test]
fn what_cannot_be_known_is_never_hidden_or_lost() {
    // A plan that can't be read is no known finding.
    let folder = recorded(&[("near.lay", NEAR_WALL)]);
    std::fs::write(folder.path("near.lay"), format!("nonsense\n{NEAR_WALL}")).expect("a file");
    let (code, found, _) = folder.run(&["check", ".", "--record-known", "more.toml"]);
    assert!(code == 1 && found.contains("error[syntax]"), "{found}");
    // A check that was not made in full leaves the file as it was.
    let before = std::fs::read(folder.path("known.toml")).expect("it is there");
    std::fs::write(folder.path("bad.lay"), b"\xff").expect("a file");
    let (code, _, said) = folder.run(&["check", ".", "--record-known", "known.toml"]);
    assert!(code == 2 && said.contains("known findings are not recorded"), "{said}");
    assert_eq!(std::fs::read(folder.path("known.toml")).expect("it is there"), before);
}

#[test]
fn a_broken_file_of_known_findings_is_told_of() {
    let folder = Folder::new(&[("near.lay", NEAR_WALL), ("two/layrule.toml", ""), ("two/near.lay", NEAR_WALL)]);
    let told = |text: &str, told: &str| {
        std::fs::write(folder.path("known.toml"), text).expect("a file");
        let (code, found, said) = folder.run(&["check", "near.lay", "--known", "known.toml"]);
        assert_eq!((code, found.as_str()), (2, ""));
        assert!(said.contains(told), "`{told}` is not in:\n{said}");
        // It is not written over either.
        assert_eq!(folder.run(&["check", "near.lay", "--record-known", "known.toml"]).0, 2);
        assert_eq!(std::fs::read_to_string(folder.path("known.toml")).expect("it is there"), text);
    };
    let head = "format = \"layrule-known-findings\"\n";
    told("", "this is no file of known findings");
    told("format = \"shopping\"\nversion = 1\n", "but `shopping`");
    told(&format!("{head}version = 2\n"), "the file is of version 2, and version 1 is read");
    told(&format!("{head}version = 1\n[[known]]\nplan = 7\n"), "known.toml:4:8");
    let (code, _, said) = folder.run(&["check", "near.lay", "--known", "missing.toml"]);
    assert!(code == 2 && said.contains("there is no such file"), "{said}");
    let (code, _, said) = folder.run(&["check", ".", "--known", "missing.toml"]);
    assert!(code == 2 && said.contains("these plans belong to several"), "{said}");
}

#[test]
fn findings_of_binding_rules_are_never_known() {
    let back = "    run east 800\n    run north 150\n    run west 400\n    run south 240";
    let crossing = SOUND.replace("300)", "600)").replace("    run east 800", back);
    let folder = Folder::new(&[("crossing.lay", &crossing)]);
    let (code, found, said) = folder.run(&["check", ".", "--record-known", "known.toml"]);
    assert!(code == 1 && found.contains("error[crossing]"), "{found}");
    assert!(said.contains("not recorded: 1 finding of `crossing`; the rule is binding"), "{said}");
    let text = std::fs::read_to_string(folder.path("known.toml")).expect("it is there");
    assert!(!text.contains("crossing\""), "{text}");
    // Nor is one heeded that a file holds, and it isn't said to be gone.
    let entry = "\n[[known]]\nplan = \"crossing.lay\"\nrule = \"crossing\"\ntext = \"run south 240\"\ncount = 3\n";
    std::fs::write(folder.path("known.toml"), format!("{text}{entry}")).expect("a file");
    let (code, found, said) = folder.run(&["check", ".", "--known", "known.toml"]);
    assert!(code == 1 && found.contains("error[crossing]") && !found.contains("gone"), "{found}");
    assert!(said.contains("known.toml: not heeded: 3 findings of `crossing`; the rule is binding"), "{said}");
}
