//! The reference pages, printed from where things are declared, and the example plan of each rule.

use std::fmt::Write as _;
use std::path::Path;

use include_dir::{Dir, include_dir};

use crate::model::load::{Library, Loaded};
use crate::quantity::Dimension;
use crate::rules::packs::RuleSet;
use crate::rules::program::Rule;
use crate::rules::value::Type;
use crate::rules::vocabulary::{self, Parameter};
use crate::source::Memory;
use crate::text::with_article;
use crate::things::Kind;

static EXAMPLES: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/examples");

/// The day on which the example plans are checked, so that their findings don't change with the calendar.
pub const EXAMPLE_DAY: jiff::civil::Date = jiff::civil::date(2026, 11, 25);

/// The broken plan that shows a built-in rule at work: its path, its text, and the plan loaded.
pub fn example(rule: &str) -> Option<(String, &'static str, Loaded)> {
    let name = format!("faults/{rule}.lay");
    let text = EXAMPLES.get_file(&name)?.contents_utf8()?;
    let mut files = Memory::default();
    for file in EXAMPLES.files().filter(|file| file.path().extension().is_some_and(|ending| ending == "lay")) {
        files.insert(Path::new("examples").join(file.path()), file.contents_utf8().unwrap_or(""));
    }
    let shown = format!("examples/{name}");
    let library = Library::new(&files, "examples", "");
    let loaded = library.load_text(Path::new(&shown), &shown, text.to_string());
    Some((shown, text, loaded))
}

/// The severity of a rule in a word; `off` where it is switched off.
pub fn severity_word(rule: &Rule) -> &'static str {
    rule.severity.map_or("off", crate::finding::Severity::word)
}

/// A name of the vocabulary with what it is given.
pub(crate) fn signature(name: &str, parameters: &[Parameter]) -> String {
    if parameters.is_empty() {
        return name.to_string();
    }
    let given: Vec<String> = parameters
        .iter()
        .map(|(name, dimension)| match *dimension {
            Dimension::LENGTH => (*name).to_string(),
            other => format!("{name}: {}", other.describe()),
        })
        .collect();
    format!("{name}({})", given.join(", "))
}

/// A text on one line.
pub(crate) fn squeeze(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// `grammar/vocabulary.md`: what a rule may ask of a plan.
pub fn fields() -> String {
    let mut page = String::from(
        "# What a rule may ask\n\nPrinted by `layrule rules --reference fields`. A value in parentheses is given by the rule; it is a length unless the page says otherwise.\n\n\
         ## Collections\n\n| collection | items | meaning |\n| --- | --- | --- |\n",
    );
    for collection in vocabulary::collections() {
        let _ = writeln!(
            page,
            "| `{}` | {} | {} |",
            signature(collection.name, collection.parameters),
            collection.of.word(),
            squeeze(collection.meaning)
        );
    }
    for kind in Kind::ALL {
        let _ = write!(
            page,
            "\n## Fields of {}\n\n| field | gives | meaning |\n| --- | --- | --- |\n",
            with_article(kind.word())
        );
        for field in vocabulary::fields().filter(|field| field.owner == *kind) {
            let gives = match field.gives {
                Type::Item(kind) => kind.word().to_string(),
                Type::Collection(kind) => format!("collection of {}", kind.word()),
                other => other.describe().trim_start_matches("a ").trim_start_matches("an ").to_string(),
            };
            let _ = writeln!(
                page,
                "| `{}` | {gives} | {} |",
                signature(field.name, field.parameters),
                squeeze(field.meaning)
            );
        }
    }
    page
}

/// `grammar/takeoff.md`: what figures a take-off has.
pub fn takeoff() -> String {
    let mut page = String::from(
        "# What a take-off holds\n\nPrinted by `layrule measure --figures`. `layrule measure PLAN` works these out; [takeoff.schema.json](takeoff.schema.json) describes them as JSON. \
         What can't be told carries the reason in place of a value.\n",
    );
    for (title, figures) in crate::takeoff::figures::ALL {
        let _ = write!(page, "\n## {title}\n\n| figure | how it is reckoned |\n| --- | --- |\n");
        for what in *figures {
            let _ = writeln!(page, "| `{}` | {} |", what.name, what.reckoned);
        }
    }
    page
}

/// `rules/README.md`: the rules there are.
pub fn rules(rules: &RuleSet) -> String {
    let mut page = String::from(
        "# The rules\n\nPrinted by `layrule rules --reference rules`. `layrule rules NAME` shows one with its reasons and an example.\n",
    );
    let mut pack = usize::MAX;
    for rule in &rules.rules {
        if rule.pack != pack {
            pack = rule.pack;
            let _ = write!(
                page,
                "\n## {}\n\n| rule | severity | finds | limits | basis |\n| --- | --- | --- | --- | --- |\n",
                rules.packs[pack].name
            );
        }
        let limits: Vec<String> = rule.limits.iter().map(|limit| format!("{} {}", limit.name, limit.text)).collect();
        let memory = if rule.from_memory { " (from memory)" } else { "" };
        let binding = if rule.binding { ", binding" } else { "" };
        let _ = writeln!(
            page,
            "| `{}` | {}{binding} | {} | {} | {}{memory} |",
            rule.name,
            severity_word(rule),
            rule.about,
            limits.join(", "),
            rule.basis
        );
    }
    page
}
