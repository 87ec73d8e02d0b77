//! Whatever text it is given, nothing panics and nothing hangs.

use std::path::Path;
use std::sync::LazyLock;
use std::time::{Duration, Instant};

use layrule::rules::packs::{Pack, RuleSet, built_in};
use proptest::prelude::*;

use crate::common::{check, files_below, root, text_of};

#[path = "../fuzz/targets.rs"]
mod targets;

use targets::{TARGETS, Target};

/// Every example plan and every built-in pack, as texts to be mutated.
static TEXTS: LazyLock<Vec<String>> = LazyLock::new(|| {
    files_below(&root().join("examples"), &["lay"])
        .into_iter()
        .map(|file| std::fs::read_to_string(file).expect("an example").replace("../kits.lay", "kits.lay"))
        .collect()
});

#[test]
fn what_is_mutated_is_whole_before() {
    let reading = ["syntax", "name", "quantity", "use", "plan"];
    for text in TEXTS.iter() {
        let report = check(text);
        assert!(report.findings.iter().all(|finding| !reading.contains(&&*finding.rule)), "{}", text_of(&report));
    }
}

/// Whatever ends a line or a comment for the parser ends it for what counts brackets too.
#[test]
fn nesting_is_bounded_however_it_is_hidden() {
    for opening in ["", "#\r", "\"\r", "# a\r\n", "\"a\"\n"] {
        let text = format!("{opening}let y = {}1{}\n", "(".repeat(5_000), ")".repeat(5_000));
        let report = check(&text);
        assert!(
            report.findings.iter().any(|finding| finding.message.contains("brackets nest more than")),
            "{opening:?}"
        );
    }
    let deepest = format!("let y = {}1{}\n", "(".repeat(30), ")".repeat(30));
    assert!(check(&deepest).findings.is_empty());
    let rule = format!(
        "rule deep {{\nabout \"a\"\nseverity note\nbasis practice\ncheck r in runs\nmessage \"{{{}1{}}}\"\n}}\n",
        "(".repeat(5_000),
        ")".repeat(5_000)
    );
    assert!(build(&rule).is_err());
}

/// Cuts, doubles, swaps and strews words over a text.
fn mutate(text: &str, changes: &[(usize, usize, u8)]) -> String {
    let words = [
        "{",
        "}",
        "(",
        ")",
        "\"",
        "#",
        ",",
        "to",
        "run",
        "-",
        "/ 0",
        "0",
        "loops",
        "room x {",
        "99999999",
        "%",
        "\n",
        "é",
        "let a = a",
        ".",
        "2026-02-30",
    ];
    let mut text: Vec<char> = text.chars().collect();
    for &(at, length, kind) in changes {
        let at = at % (text.len() + 1);
        let end = (at + length % 40).min(text.len());
        match kind % 4 {
            0 => drop(text.drain(at..end)),
            1 => {
                let copy: Vec<char> = text[at..end].to_vec();
                text.splice(at..at, copy);
            }
            2 => drop(text.splice(at..at, words[length % words.len()].chars()).count()),
            _ => text[at..end].reverse(),
        }
    }
    text.into_iter().collect()
}

fn quick<T>(work: impl FnOnce() -> T) -> T {
    let begun = Instant::now();
    let made = work();
    // Generous, since it is there to catch what never ends.
    assert!(begun.elapsed() < Duration::from_secs(20), "it took {:?}", begun.elapsed());
    made
}

fn build(text: &str) -> Result<RuleSet, Vec<layrule::rules::packs::PackFaults>> {
    let mut packs = built_in();
    packs.push(Pack { name: "fuzz.rule".into(), text: text.into() });
    RuleSet::build(packs)
}

proptest! {
    #![proptest_config(crate::common::cases(400))]

    #[test]
    fn any_bytes_are_a_plan_or_faults(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let text = String::from_utf8_lossy(&bytes);
        quick(|| text_of(&check(&text)));
    }

    #[test]
    fn any_text_of_the_language_is_a_plan_or_faults(words in proptest::collection::vec(proptest::sample::select(vec![
        "room", "r", "{", "}", "\n", "outline", "(0, 0)", "(900, 0)", "(900, 900)", "cable", "a", "start", "run", "east", "900", "loops", "3", "of",
        ",", "stepping", "north", "kit", "to", "+", "-", "*", "/", "(", ")", "let", "=", "\"x\"", "m", "A", "tail", "use", "#", "strip", "width", "0",
    ]), 0..120)) {
        let text = words.join(" ");
        quick(|| text_of(&check(&text)));
    }

    #[test]
    fn any_bytes_are_rules_or_faults(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let text = String::from_utf8_lossy(&bytes);
        quick(|| drop(build(&text)));
    }
}

/// What a target begins with: its own seeds (of pages, those of plans), and the files of the project that are of its kind.
fn seeds(name: &str) -> Vec<Vec<u8>> {
    let read = |path: &Path| std::fs::read(path).expect("it can be read");
    let mut seeds: Vec<Vec<u8>> =
        walkdir::WalkDir::new(root().join("tests/fuzz/seeds").join(if name == "pages" { "plan" } else { name }))
            .sort_by_file_name()
            .into_iter()
            .map(|entry| entry.expect("it can be walked"))
            .filter(|entry| entry.file_type().is_file())
            .map(|entry| read(entry.path()))
            .collect();
    assert!(seeds.len() > 2, "{name} has seeds of its own");
    let kinds: &[(&str, &str)] = match name {
        "plan" | "pages" => &[("examples", "lay")],
        "pack" => &[("rules", "rule")],
        "tidy" => &[("examples", "lay"), ("rules", "rule")],
        _ => &[],
    };
    for (folder, ending) in kinds {
        seeds.extend(files_below(&root().join(folder), &[ending]).iter().map(|path| read(path)));
    }
    seeds
}

/// Each way in takes its seeds as they are, and as many mutated ones as it is worth here; `tests/fuzz/run` goes on from there.
fn hold(name: &str) {
    let target = TARGETS.iter().find(|target| target.name == name).expect("a target");
    let seeds = seeds(name);
    for seed in &seeds {
        quick(|| (target.run)(seed));
    }
    let changes = proptest::collection::vec((any::<usize>(), any::<usize>(), any::<u8>()), 1..12);
    let mutated = (proptest::sample::select(seeds), changes)
        .prop_map(|(seed, changes)| mutate(&String::from_utf8_lossy(&seed), &changes));
    let mut runner = proptest::test_runner::TestRunner::new(crate::common::cases(target.bounded));
    let held = runner.run(&mutated, |text| {
        quick(|| (target.run)(text.as_bytes()));
        Ok(())
    });
    assert_eq!(held.map_err(|failure| failure.to_string()), Ok(()), "{name}");
}

macro_rules! held {
    ($($test:ident: $name:literal,)*) => {
        $(#[test] fn $test() { hold($name); })*

        #[test]
        fn every_target_is_held_here_and_has_a_program() {
            let held = [$($name),*];
            let manifest = std::fs::read_to_string(root().join("tests/fuzz/Cargo.toml")).expect("it is there");
            for Target { name, .. } in TARGETS {
                assert!(held.contains(&name), "{name}");
                assert!(manifest.contains(&format!("path = \"bin/{name}.rs\"")), "{name}");
                assert!(root().join(format!("tests/fuzz/bin/{name}.rs")).is_file(), "{name}");
            }
        }
    };
}

held! {
    plans: "plan",
    packs: "pack",
    project_files: "project-file",
    known_findings: "known-findings",
    texts_to_tidy: "tidy",
    messages_of_editors: "messages",
    pages_of_plans: "pages",
    drawings_outlined: "outline",
}

/// Read twice at each level, thirty calls left open would take a day.
#[test]
fn calls_left_open_are_read_once() {
    for call in ["max(", "min(1, ", "abs(", "any(a in runs where ", "not (", "x.y("] {
        let text = format!("rule r {{\n  check run in runs\n  require {}1\n}}\n", call.repeat(30));
        assert!(!layrule::rules::parse(&text).faults.is_empty(), "{call}");
    }
}
