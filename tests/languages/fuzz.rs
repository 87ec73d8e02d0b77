//! Whatever text it is given, nothing panics and nothing hangs.

use std::sync::LazyLock;
use std::time::{Duration, Instant};

use layrule::rules::packs::{Pack, RuleSet, built_in};
use proptest::prelude::*;

use crate::common::{check, files_below, plan_with_kits, root, text_of};

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
    fn mutated_examples_are_plans_or_faults(which in any::<usize>(), changes in proptest::collection::vec((any::<usize>(), any::<usize>(), any::<u8>()), 1..12)) {
        let text = mutate(&TEXTS[which % TEXTS.len()], &changes);
        quick(|| text_of(&check(&text)));
    }

    #[test]
    fn any_bytes_are_rules_or_faults(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let text = String::from_utf8_lossy(&bytes);
        quick(|| drop(build(&text)));
    }
}

proptest! {
    #![proptest_config(crate::common::cases(150))]

    #[test]
    fn mutated_packs_are_rules_or_faults(which in any::<usize>(), changes in proptest::collection::vec((any::<usize>(), any::<usize>(), any::<u8>()), 1..8)) {
        let packs = built_in();
        let text = mutate(&packs[which % packs.len()].text, &changes);
        let mut packs: Vec<Pack> = packs.into_iter().enumerate().filter(|(i, _)| *i != which % built_in().len()).map(|(_, pack)| pack).collect();
        packs.push(Pack { name: "fuzz.rule".into(), text });
        quick(|| {
            if let Ok(rules) = RuleSet::build(packs) {
                drop(crate::common::check_with(&TEXTS[which % TEXTS.len()], &rules));
            }
        });
    }
}

proptest! {
    #![proptest_config(crate::common::cases(60))]

    #[test]
    fn mutated_examples_are_handed_over(which in any::<usize>(), changes in proptest::collection::vec((any::<usize>(), any::<usize>(), any::<u8>()), 1..12)) {
        let text = mutate(&TEXTS[which % TEXTS.len()], &changes);
        let plan = plan_with_kits(&text);
        let page = quick(|| crate::common::handover_page(&plan));
        prop_assert!(scraper::Html::parse_document(&page).errors.is_empty());
    }
}

/// Read twice at each level, thirty calls left open would take a day.
#[test]
fn calls_left_open_are_read_once() {
    for call in ["max(", "min(1, ", "abs(", "any(a in runs where ", "not (", "x.y("] {
        let text = format!("rule r {{\n  check run in runs\n  require {}1\n}}\n", call.repeat(30));
        assert!(!layrule::rules::parse(&text).faults.is_empty(), "{call}");
    }
}
