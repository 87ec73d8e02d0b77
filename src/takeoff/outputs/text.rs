//! A take-off as text for a person.

use std::fmt::Write as _;

use textwrap::{Options, WordSplitter, wrap};

use super::{heading, shown, titled};
use crate::takeoff::{Figure, Kind, Part, TakeOff};

/// Widths of the names and the values; what is longer pushes the rest along.
const NAME: usize = 28;
const VALUE: usize = 12;
/// Width of what says how a figure is reckoned, at the most; where less than the least is left for it, it stands below its figure.
const RECKONED: usize = 54;
const LEAST_RECKONED: usize = 24;
/// What it stands behind there.
const BELOW: usize = 8;

/// The text, broken to so many columns where there is a width.
pub(super) fn write(taken: &TakeOff, width: Option<usize>) -> String {
    let mut text = format!("{}\n", taken.file);
    if taken.rooms.is_empty() {
        text.push_str("\nno room\n");
    }
    for room in &taken.rooms {
        let _ = writeln!(text, "\nroom {}", titled(&room.name, room.title.as_deref()));
        parts(&mut text, &room.parts, width);
    }
    if !taken.supplies.is_empty() {
        text.push_str("\nsupplies\n");
        parts(&mut text, &taken.supplies, width);
    }
    let _ = writeln!(text, "\n{}", wrapped(crate::CAUTION, width));
    text
}

/// A paragraph of its own, broken to `width` columns where there is one.
pub(super) fn wrapped(paragraph: &str, width: Option<usize>) -> String {
    wrap(paragraph, whole_words(width.map_or(CAUTION, |width| width.min(CAUTION)))).join("\n")
}

/// Lines of no more than so many characters; a longer word has a line of its own.
fn whole_words(width: usize) -> Options<'static> {
    Options::new(width).break_words(false).word_splitter(WordSplitter::NoHyphenation)
}

/// Width of the caution, at the most.
const CAUTION: usize = 100;

/// How a figure is reckoned is said of the first part of a kind only.
fn parts(text: &mut String, parts: &[Part], width: Option<usize>) {
    let mut said: Vec<Kind> = Vec::new();
    for part in parts {
        let first = !said.contains(&part.kind);
        said.push(part.kind);
        let _ = writeln!(text, "\n  {}", heading(part));
        for figure in &part.figures {
            let _ = writeln!(text, "{}", line(figure, first || figure.value.is_err(), width));
        }
    }
}

/// A figure's line, and how it is reckoned where that is told: beside it, or below where there is no room for it.
fn line(figure: &Figure, told: bool, width: Option<usize>) -> String {
    let (value, reckoned) = shown(figure);
    let reckoned = if told { reckoned } else { String::new() };
    let name = figure.what.words();
    let line = format!("    {name:NAME$}  {value:VALUE$}");
    let beside = NAME + VALUE + 8;
    let left = width.map_or(RECKONED, |width| width.saturating_sub(beside).min(RECKONED));
    let long = line.trim_end().chars().count();
    let Some(width) = width.filter(|_| left < LEAST_RECKONED || long > beside - 2) else {
        let reckoned = wrap(&reckoned, whole_words(left)).join(&format!("\n{}", " ".repeat(beside)));
        return format!("{line}  {reckoned}").trim_end().to_string();
    };
    let mut line = line.trim_end().to_string();
    let below = |line: &mut String, text: &str| {
        for part in wrap(text, whole_words(width.saturating_sub(BELOW))).iter().filter(|part| !part.is_empty()) {
            let _ = write!(line, "\n{}{part}", " ".repeat(BELOW));
        }
    };
    if long > width {
        line = format!("    {name}");
        below(&mut line, &value);
    }
    below(&mut line, &reckoned);
    line
}
