//! Packs held to their own examples.

use crate::common::program::Folder;

const PACK: &str = "rule short-run {\n about \"Run too short\"\n severity note\n basis practice\n limit least = 30 mm\n check run in runs\n \
                    require run.length >= least\n message \"{run} is {run.length} long\"\n}\n\
                    rule low-dial {\n about \"Thermostat low\"\n severity note\n basis practice\n check thermostat in thermostats\n \
                    require thermostat.height >= 1 m\n message \"{thermostat} hangs low\"\n}\n\
                    amend wall-clearance { limit clearance = 60 mm }\n";

fn plan(length: u32, thermostat: &str) -> String {
    format!(
        "use \"kits.lay\"\nroom r {{\n outline (0, 0) (2000, 0) (2000, 2000) (0, 2000)\n {thermostat}\n cable a {{\n kit k\n start (500, 500)\n run east {length}\n }}\n}}\n"
    )
}

const KITS: &str = "kit k {\n output 200 W at 230 V\n length 20 m\n}\n";

#[test]
fn packs_are_held_to_their_examples() {
    let dial = |height: &str| format!("thermostat t (0, 500) {height} rated 16 A");
    let near_wall = plan(1000, "").replace("start (500, 500)", "start (500, 55)");
    let folder = Folder::new(&[
        ("ours.rule", PACK),
        ("ours-examples/kits.lay", KITS),
        ("ours-examples/short-run.sound.lay", &plan(30, "")),
        ("ours-examples/short-run.faulty.lay", &plan(29, "")),
        ("ours-examples/short-run.faulty.very.lay", &plan(5, "")),
        ("ours-examples/low-dial.sound.lay", &plan(100, &dial("height 1 m"))),
        ("ours-examples/low-dial.faulty.lay", &plan(100, &dial("height 900"))),
        ("ours-examples/wall-clearance.faulty.lay", &near_wall),
    ]);
    let (code, out, said) = folder.run(&["rules", "--test", "ours.rule"]);
    assert_eq!((code, out.as_str(), said.as_str()), (0, "ours.rule: 6 examples, all as they should be\n", ""));
    // Each way to fail, with its line.
    for (name, text, why) in [
        (
            "short-run.sound.lay",
            plan(29, ""),
            "it is to be sound, and `short-run` finds at line 8: run 1 of cable `a` is 29 mm long",
        ),
        ("short-run.faulty.lay", plan(30, ""), "it is to be faulty, and `short-run` finds nothing"),
        (
            "low-dial.faulty.lay",
            plan(100, &dial("")),
            "it is to be faulty, and `low-dial` isn't held to it: thermostat `t` gives no height",
        ),
        ("low-dial.sound.lay", plan(100, &dial("")), "it is to be sound, and `low-dial` isn't held to it"),
        ("low-dial.sound.lay", "room r {\n oultine\n}\n".into(), "it can't be read: line 2"),
        ("short-rum.sound.lay", plan(30, ""), "no rule is called `short-rum`; did you mean `short-run`?"),
        ("short-run.good.lay", plan(30, ""), "it is named neither `RULE.sound.lay` nor `RULE.faulty.lay`"),
    ] {
        let file = folder.path(&format!("ours-examples/{name}"));
        let before = std::fs::read_to_string(&file).ok();
        std::fs::write(&file, text).expect("a file");
        let (code, out, said) = folder.run(&["rules", "--test", "ours.rule"]);
        assert_eq!((code, said.as_str()), (1, ""), "{name}");
        assert!(
            out.starts_with(&format!("ours-examples/{name}: {why}")) && out.contains("1 not as it should be"),
            "{out}"
        );
        match before {
            Some(before) => std::fs::write(&file, before).expect("a file"),
            None => std::fs::remove_file(&file).expect("it is there"),
        }
    }
    // A rule without examples is named; a pack without any, one that isn't there and one that is broken end with 2.
    std::fs::remove_file(folder.path("ours-examples/low-dial.sound.lay")).expect("it is there");
    let (code, out, _) = folder.run(&["rules", "--test", "ours.rule"]);
    assert!(
        code == 0 && out.contains("5 examples, all as they should be; without a sound or a faulty one: `low-dial`"),
        "{out}"
    );
    std::fs::write(folder.path("bare.rule"), "rule x {").expect("a file");
    std::fs::write(folder.path("lone.rule"), "amend spacing { severity error }").expect("a file");
    for (pack, why) in [
        ("bare.rule", "has no `about` line"),
        ("lone.rule", "lone-examples: there is no such folder"),
        ("none.rule", "there is no such file"),
    ] {
        let (code, out, said) = folder.run(&["rules", "--test", pack]);
        let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(code == 2 && out.is_empty() && said.contains(why), "{pack}: {said}");
    }
}
