//! The reference pages say what the program does: their examples are read, and what can be printed is printed afresh.

use crate::common::pages::blocks;
use crate::common::{RULES, check, root, rules_with};

fn page(name: &str) -> String {
    std::fs::read_to_string(root().join(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
}

fn blocks_are_sound(name: &str) {
    let blocks = blocks(&page(name));
    let mut read = 0;
    for (tag, text, line) in &blocks {
        match tag.as_str() {
            "lay" => {
                let faults = layrule::layout::parse(text).faults;
                assert!(faults.is_empty(), "{name}:{line}: {faults:#?}");
                read += 1;
            }
            "rule" => {
                rules_with(text);
                read += 1;
            }
            "text" | "console" | "yaml" | "toml" | "sh" | "rust" => {}
            other => panic!("{name}:{line}: a block of `{other}`"),
        }
    }
    assert!(read > 0, "{name} shows nothing of the languages");
}

#[test]
fn the_plan_language_is_as_its_page_says() {
    blocks_are_sound("grammar/layout.md");
    let page = page("grammar/layout.md");
    for (block, words) in layrule::layout::explain::LANGUAGE.blocks.iter().map(|(_, name, words)| (name, words)) {
        for word in *words {
            assert!(
                page.contains(&format!("`{word}"))
                    || page.contains(&format!("\n{word} "))
                    || page.contains(&format!("  {word} ")),
                "{block}'s `{word}` is not explained"
            );
        }
    }
    for unit in layrule::quantity::UNITS {
        assert!(page.contains(&format!("`{}`", unit.symbol)), "the unit {} is not explained", unit.symbol);
    }
    for material in layrule::model::materials::MATERIALS {
        assert!(page.contains(&format!("`{}`", material.name)), "the material {} is not listed", material.name);
    }
}

#[test]
fn the_rule_language_is_as_its_page_says() {
    blocks_are_sound("grammar/rules.md");
    let page = page("grammar/rules.md");
    for (_, block, words) in layrule::rules::explain::LANGUAGE.blocks {
        for word in *words {
            assert!(page.contains(&format!("`{word}")), "{block}'s `{word}` is not explained");
        }
    }
}

/// The words a statement can start with stand in `explain` for messages and in the grammar for reading: here they meet.
#[test]
fn every_statement_word_is_a_keyword_of_its_grammar() {
    let grammars = [page("grammar/layout.pest"), page("grammar/rules.pest")];
    let layout = layrule::layout::explain::LANGUAGE.blocks.iter().flat_map(|(.., words)| words.iter());
    let rules = layrule::rules::explain::LANGUAGE.blocks.iter().flat_map(|(.., words)| words.iter());
    for (word, grammar) in layout.map(|word| (word, &grammars[0])).chain(rules.map(|word| (word, &grammars[1]))) {
        assert!(grammar.contains(&format!("\"{word}\"")), "`{word}` is not in its grammar");
    }
    // And each statement's usage, filled in nowhere, at least begins with its word.
    for (rule, _, words) in layrule::layout::explain::LANGUAGE.blocks {
        for word in *words {
            let usage = (layrule::layout::explain::LANGUAGE.usage)(word, *rule)
                .unwrap_or_else(|| panic!("`{word}` has no usage"));
            // What is still read by an old word is shown by its new one.
            let old = layrule::layout::explain::LANGUAGE.former.contains(word);
            assert!(old || usage.starts_with(word) || usage.starts_with("STAGE"), "{usage}");
        }
    }
}

/// A rule's text in a grammar, from its name to the end of the last line that it takes.
fn rule_text<'g>(grammar: &'g str, name: &str) -> Option<&'g str> {
    let ends = |rest: &str| rest.starts_with(' ') && rest.trim_start().starts_with('=');
    let at = grammar
        .match_indices(name)
        .map(|(at, _)| at)
        .find(|at| (*at == 0 || grammar[..*at].ends_with('\n')) && ends(&grammar[at + name.len()..]))?;
    let text = &grammar[at..];
    let end = text.match_indices('\n').map(|(end, _)| end).find(|end| !text[end + 1..].starts_with(' '));
    Some(&text[..end.unwrap_or(text.len())])
}

/// The rules that a rule of alternatives names, in their order.
fn named_rules(text: &str) -> Vec<&str> {
    let body = text.split_once('{').map_or("", |(_, body)| body);
    let words = body.split(|c: char| !(c.is_ascii_alphanumeric() || c == '_')).filter(|word| !word.is_empty());
    words.filter(|word| *word != "stop").collect()
}

/// The keywords that a statement may start with: those before its first `~`.
fn first_words<'g>(grammar: &'g str, name: &str) -> Vec<&'g str> {
    let text = rule_text(grammar, name).unwrap_or_else(|| panic!("no rule {name}"));
    let begins = text.split_once('{').map_or("", |(_, body)| body.split('~').next().unwrap_or(""));
    let rules = begins.split(|c: char| !(c.is_ascii_alphanumeric() || c == '_')).filter(|rule| rule.ends_with("_word"));
    rules.filter_map(|rule| rule_text(grammar, rule)?.split('"').nth(1)).collect()
}

/// What a grammar reads in a block is told of by `explain`, so that it is offered, explained and named in messages.
#[test]
fn every_statement_of_a_grammar_is_told_of() {
    let layout = layrule::layout::explain::LANGUAGE.blocks;
    let layout = layout.iter().map(|(rule, _, words)| ("grammar/layout.pest", format!("{rule:?}"), *words));
    let rules = layrule::rules::explain::LANGUAGE.blocks;
    let rules = rules.iter().map(|(rule, _, words)| ("grammar/rules.pest", format!("{rule:?}"), *words));
    let mut asked = 0;
    for (file, block, words) in layout.chain(rules) {
        let grammar = page(file);
        let lines = rule_text(&grammar, &block).unwrap_or_else(|| panic!("{file}: no rule {block}"));
        for statement in named_rules(lines) {
            for word in first_words(&grammar, statement) {
                assert!(
                    words.contains(&word),
                    "{file}: `{word}` can start a line of {block}, and `explain` has it not"
                );
                asked += 1;
            }
        }
    }
    assert!(asked > 70, "{asked}");
}

/// What a deviation may name is the same to the grammar as to what names lead to.
#[test]
fn a_deviation_may_name_what_names_lead_to() {
    let grammar = page("grammar/layout.pest");
    let read = rule_text(&grammar, "target_kind").expect("the rule");
    let mut read: Vec<&str> = read.split('"').skip(1).step_by(2).collect();
    read.sort_unstable();
    let mut known: Vec<&str> =
        layrule::layout::kinds::Kind::TARGETS.map(layrule::layout::kinds::Kind::statement).to_vec();
    known.sort_unstable();
    assert_eq!(read, known);
}

/// Units are spelt in both grammars and declared in `quantity`: the same ones, longer before shorter that they begin with.
#[test]
fn the_grammars_read_just_the_units_there_are() {
    for grammar in ["grammar/layout.pest", "grammar/rules.pest"] {
        let text = page(grammar);
        let rule = &text[text.find("\nunit ").expect("the rule")..];
        let rule = &rule[..rule.find("!ASCII_ALPHANUMERIC").expect("its end")];
        let read: Vec<&str> = rule.split('"').skip(1).step_by(2).filter(|unit| *unit != "%").chain(["%"]).collect();
        let mut sorted: Vec<&str> = read.clone();
        sorted.sort_unstable();
        sorted.dedup();
        let mut declared: Vec<&str> = layrule::quantity::UNITS.iter().map(|unit| unit.symbol).collect();
        declared.sort_unstable();
        assert_eq!(sorted, declared, "{grammar}");
        for (at, unit) in read.iter().enumerate() {
            assert!(
                read[..at].iter().all(|earlier| earlier == unit || !unit.starts_with(earlier)),
                "{grammar}: `{unit}` is never reached"
            );
        }
    }
}

#[test]
fn printed_pages_are_printed_afresh() {
    for (name, text) in [
        ("grammar/vocabulary.md", layrule::reference::fields()),
        ("grammar/takeoff.md", layrule::reference::takeoff()),
        ("rules/README.md", layrule::reference::rules(&RULES)),
    ] {
        if std::env::var_os("LAYRULE_PRINT_PAGES").is_some() {
            std::fs::write(root().join(name), &text).expect("the page");
        }
        assert!(page(name) == text, "{name} is stale; LAYRULE_PRINT_PAGES=1 cargo test prints it");
    }
}

#[test]
fn syntax_faults_say_what_was_expected() {
    // Several faults in one plan: each is told at its own line, and the rest is read.
    let text = "let gap = 75 inch\nkit k {\n  output 100 W\n  lenght 4 m\n}\nroom r {\n  outline (0, 0) (900, 0) (900, 900 (0, 900)\n  thermostat t (0, 0)\n  loops 3 of 4\n  cable a {\n    start (100, 100)\n    run est 500\n    run east 3 m + 2 A\n    run north\n  }\n  room x {\n  }\n}\n";
    insta::assert_snapshot!(crate::common::text_of(&check(text)));
}

#[test]
fn what_is_missing_is_asked_for_where_it_is_missing() {
    let room = |line: &str| format!("room r {{\n outline (0, 0) (900, 0) (900, 900) (0, 900)\n {line}\n}}\n");
    let told = |text: &str| {
        let report = check(text);
        let finding = report.findings.first().expect("a finding");
        let (line, column) =
            report.sources.get(finding.place().file).expect("a file").line_and_column(finding.place().span.start());
        (finding.message.clone(), line, column)
    };
    let early = |first: &str, mark: &str| format!("the line ends too early in this `{first}`: expected `{mark}`");
    assert_eq!(told(&room("cable east")), (early("cable", "{"), 3, 12));
    assert_eq!(told(&room("record")), (early("record", "{"), 3, 8));
    assert_eq!(told("supply s {\n conductor 1.5 mm2 copper, 12\n}\n"), (early("conductor", ","), 2, 30));
    let (message, line, column) = told(&room("fixture f rect (370,, 0) (5, 5)"));
    assert!(message.contains("a length such as `75 mm`") && message.contains("`(`"), "{message}");
    assert_eq!((line, column), (3, 22));
}
