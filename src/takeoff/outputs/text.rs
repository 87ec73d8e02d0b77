//! A take-off as text for a person.

use std::fmt::Write as _;

use textwrap::{Options, WordSplitter, wrap};

use super::{heading, shown, titled};
use crate::takeoff::{Kind, Part, TakeOff};

/// Widths of the names and the values; what is longer pushes the rest along.
const NAME: usize = 28;
const VALUE: usize = 12;
/// Width of what says how a figure is reckoned.
const RECKONED: usize = 54;

pub(super) fn write(taken: &TakeOff) -> String {
    let mut text = format!("{}\n", taken.file);
    if taken.rooms.is_empty() {
        text.push_str("\nno room\n");
    }
    for room in &taken.rooms {
        let _ = writeln!(text, "\nroom {}", titled(&room.name, room.title.as_deref()));
        parts(&mut text, &room.parts);
    }
    if !taken.supplies.is_empty() {
        text.push_str("\nsupplies\n");
        parts(&mut text, &taken.supplies);
    }
    let _ = writeln!(text, "\n{}", wrapped(crate::CAUTION));
    text
}

/// A paragraph of its own.
pub(super) fn wrapped(paragraph: &str) -> String {
    wrap(paragraph, whole_words(100)).join("\n")
}

/// Lines of no more than so many characters; a longer word has a line of its own.
fn whole_words(width: usize) -> Options<'static> {
    Options::new(width).break_words(false).word_splitter(WordSplitter::NoHyphenation)
}

/// How a figure is reckoned is said of the first part of a kind only.
fn parts(text: &mut String, parts: &[Part]) {
    let mut said: Vec<Kind> = Vec::new();
    for part in parts {
        let first = !said.contains(&part.kind);
        said.push(part.kind);
        let _ = writeln!(text, "\n  {}", heading(part));
        for figure in &part.figures {
            let (value, reckoned) = shown(figure);
            let reckoned =
                if first || figure.value.is_err() { wrap(&reckoned, whole_words(RECKONED)) } else { Vec::new() };
            let line = format!("    {:NAME$}  {value:VALUE$}  ", figure.what.words());
            let indent = " ".repeat(NAME + VALUE + 8);
            let _ = writeln!(text, "{}", format!("{line}{}", reckoned.join(&format!("\n{indent}"))).trim_end());
        }
    }
}
