//! The grammars for highlighting know the words that the parsers know. `tests/reference/highlight.mjs` runs them in an editor's engine.

use std::collections::BTreeSet;

use fancy_regex::Regex;
use serde_json::Value;

use crate::common::root;

const GRAMMARS: [(&str, &str); 2] = [
    ("grammar/layout.pest", "grammar/layout.tmLanguage.json"),
    ("grammar/rules.pest", "grammar/rules.tmLanguage.json"),
];

fn read(name: &str) -> String {
    std::fs::read_to_string(root().join(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// The words of a pest grammar: each literal that ends where a word ends.
fn words(pest: &str) -> BTreeSet<String> {
    let mut words = BTreeSet::new();
    for line in pest.lines().filter(|line| line.contains("@{") && line.contains("~ end }")) {
        let texts = line.split('"').skip(1).step_by(2);
        words.extend(texts.filter(|text| text.starts_with(|c: char| c.is_ascii_alphabetic())).map(str::to_string));
    }
    words
}

/// Every pattern of a grammar for highlighting, with the name of its scope where it has one.
fn patterns(value: &Value, found: &mut Vec<(String, String)>) {
    match value {
        Value::Object(parts) => {
            for key in ["match", "begin", "end"] {
                if let Some(pattern) = parts.get(key).and_then(Value::as_str) {
                    let scope = parts.get("name").and_then(Value::as_str).unwrap_or_default();
                    found.push((scope.to_string(), pattern.to_string()));
                }
            }
            parts.values().for_each(|part| patterns(part, found));
        }
        Value::Array(items) => items.iter().for_each(|item| patterns(item, found)),
        _ => {}
    }
}

#[test]
fn every_pattern_is_sound_and_every_word_has_its_scope() {
    for (pest, highlighting) in GRAMMARS {
        let grammar: Value = serde_json::from_str(&read(highlighting)).expect("JSON");
        let mut all = Vec::new();
        patterns(&grammar, &mut all);
        assert!(all.len() > 6);
        let all: Vec<(String, String, Regex)> = all
            .into_iter()
            .map(|(scope, pattern)| {
                let regex = Regex::new(&pattern).unwrap_or_else(|error| panic!("{highlighting}: {pattern}: {error}"));
                (scope, pattern, regex)
            })
            .collect();
        let words = words(&read(pest));
        assert!(words.len() > 25, "{words:?}");
        for word in &words {
            // A bracket lets a function be one.
            let text = format!("  {word} (");
            let whole = all.iter().any(|(scope, _, regex)| {
                ["keyword.control", "constant.language", "support.function"]
                    .iter()
                    .any(|known| scope.starts_with(known))
                    && regex.find(&text).expect("it ends").is_some_and(|found| found.as_str().trim() == word)
            });
            assert!(whole, "{highlighting} has no scope for `{word}`");
            let longer = format!("  {word}-er");
            for (scope, _, regex) in all.iter().filter(|(scope, ..)| scope.starts_with("keyword.control")) {
                assert!(regex.find(&longer).expect("it ends").is_none(), "{scope} takes part of `{longer}`");
            }
        }
        // And none that the parser doesn't know.
        for (_, pattern, _) in all.iter().filter(|(scope, ..)| {
            ["keyword.control", "constant.language", "support.function"].iter().any(|known| scope.starts_with(known))
        }) {
            let Some(list) = pattern.split_once("(?:").and_then(|(_, rest)| rest.split_once(')')) else { continue };
            for word in list.0.split('|') {
                assert!(words.contains(word), "{highlighting} knows `{word}`, and {pest} doesn't");
            }
        }
        let units = grammar["repository"]["quantity"]["match"].as_str().expect("a pattern");
        let units = Regex::new(units).expect("it is sound");
        for unit in layrule::quantity::UNITS {
            let text = format!("12.5 {}", unit.symbol);
            let found = units.find(&text).expect("it ends").expect("a quantity");
            assert_eq!(found.as_str(), text, "{highlighting}");
        }
    }
}

/// Statements that give a name, by the grammar, show that name as one.
#[test]
fn every_name_that_a_statement_gives_is_shown_as_one() {
    let grammar: Value = serde_json::from_str(&read("grammar/layout.tmLanguage.json")).expect("JSON");
    let pattern = grammar["repository"]["definition"]["match"].as_str().expect("a pattern");
    let pattern = Regex::new(pattern).expect("a sound one");
    let pest = read("grammar/layout.pest");
    let text_of = |rule: &str| {
        let line = pest.lines().find(|line| line.starts_with(rule) && line[rule.len()..].trim_start().starts_with('='));
        line.and_then(|line| line.split('"').nth(1)).unwrap_or_else(|| panic!("{rule}"))
    };
    let mut seen = 0;
    for line in pest.lines() {
        let Some((name, body)) = line.split_once("= {") else { continue };
        let Some((begins, _)) = body.split_once(" ~ name ~") else { continue };
        // What begins a line and is followed by a name of its own; tails and sleeves name what is given elsewhere.
        if begins.contains('~') || ["tail", "second_tail", "sleeves", "deviation_target"].contains(&name.trim()) {
            continue;
        }
        let words =
            begins.split(|c: char| !(c.is_ascii_lowercase() || c == '_')).filter(|word| word.ends_with("_word"));
        for word in words {
            let word = text_of(word);
            let line = format!("  {word} some-name timber {{");
            let shown = pattern.captures(&line).expect("it ends");
            let name = shown.and_then(|shown| shown.get(2).map(|name| name.as_str().to_string()));
            assert_eq!(name.as_deref(), Some("some-name"), "`{word} some-name`");
            seen += 1;
        }
    }
    assert!(seen >= 16, "{seen}");
}
