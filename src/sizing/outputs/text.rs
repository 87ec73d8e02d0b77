//! Which kits suit, as text for a person.

use std::fmt::Write as _;

use textwrap::{Options, WordSplitter, wrap};

use super::{DASH, HEADINGS, row, shares, would_do};
use crate::quantity::{Dimension, Quantity};
use crate::sizing::choice::Choice;
use crate::sizing::{Outcome, RoomSizing, Sized, Sizing, Stop};
use crate::text::{counted, list, quoted};

/// How wide lines of sentences are.
const WIDTH: usize = 110;

/// How many findings are told of a choice, and how many rules are named besides.
const TOLD: usize = 2;

pub(super) fn write(sizings: &[Sizing], most: usize) -> String {
    let mut text = String::new();
    for sizing in sizings {
        let _ = writeln!(text, "{}", sizing.file);
        if sizing.rooms.is_empty() {
            text.push_str("\nno room\n");
        }
        sizing.rooms.iter().for_each(|room| write_room(&mut text, room, most));
        text.push('\n');
    }
    sentence(&mut text, "", "", crate::CAUTION);
    text
}

/// Lines that begin with `first`, and with `indent` from the second on.
fn sentence(text: &mut String, first: &str, indent: &str, words: &str) {
    let options = Options::new(WIDTH).initial_indent(first).subsequent_indent(indent);
    let options = options.break_words(false).word_splitter(WordSplitter::NoHyphenation);
    for line in wrap(words, options) {
        let _ = writeln!(text, "{}", line.trim_end());
    }
}

fn write_room(text: &mut String, room: &RoomSizing, most: usize) {
    let name = room.title.as_ref().map_or_else(|| room.name.clone(), |title| format!("{} \"{title}\"", room.name));
    match &room.outcome {
        Outcome::LeftAlone(why) => sentence(text, "\n", "  ", &format!("room {name}: {why}")),
        Outcome::Untold(why) => sentence(text, "\n", "  ", &format!("room {name}: no kit can be chosen: {why}")),
        Outcome::Sized(sized) => {
            let _ = writeln!(text, "\nroom {name}: {}", floor(sized));
            write_sized(text, sized, most);
        }
    }
}

/// The floor that is to be heated, in words.
fn floor(sized: &Sized) -> String {
    let area = |area: f64| Quantity::new(area, Dimension::AREA).show(0);
    let mut words = format!("{} of free floor", area(sized.parts.iter().sum()));
    if sized.parts.len() > 1 {
        let each: Vec<String> = sized.parts.iter().map(|part| area(*part)).collect();
        let each = list(each.iter().map(String::as_str), "and");
        let _ = write!(words, " in {} between movement joints ({each})", counted(sized.parts.len(), "part"));
    }
    if let Some(loss) = sized.loss {
        let _ = write!(words, ", {} of heat loss", Quantity::new(loss, Dimension::POWER).show(0));
    }
    words
}

fn write_sized(text: &mut String, sized: &Sized, most: usize) {
    if sized.fitting.is_empty() {
        text.push_str("\n  nothing that there is fits\n");
    } else {
        text.push_str("\n  fits\n");
        table(text, &sized.fitting, most, false);
    }
    if !sized.stopped.is_empty() {
        text.push_str("\n  stopped by a rule, the nearest first\n");
        table(text, &sized.stopped, most, true);
    }
    if sized.untried > 0 {
        let _ = writeln!(text, "\n  {} more were not tried; a shorter catalogue leaves fewer", sized.untried);
    }
    if sized.makes.iter().any(|make| make.looked) {
        text.push_str("\n  would do\n");
    }
    for make in sized.makes.iter().filter(|make| make.looked) {
        sentence(text, "    ", "      ", &would_do(make));
    }
    if !sized.anyway.is_empty() {
        text.push_str("\n  whatever is chosen\n");
        sized.anyway.iter().for_each(|stop| write_stop(text, "    ", stop));
    }
    let mut gap = "\n";
    for (why, rules) in &sized.unheld {
        let rules = quoted(rules.iter().map(String::as_str), "and");
        text.push_str(std::mem::take(&mut gap));
        sentence(text, "  ", "    ", &format!("not held to {rules}: {why}"));
    }
    if sized.unswitched {
        text.push_str(std::mem::take(&mut gap));
        let why = "the room gives no thermostat: no sensor is thought to hold its floor down, and no load is judged";
        sentence(text, "  ", "    ", why);
    }
    if !sized.presumed.is_empty() {
        let names = quoted(sized.presumed.iter().map(String::as_str), "and");
        text.push_str(std::mem::take(&mut gap));
        sentence(text, "  ", "    ", &format!("taken for granted: a floor sensor on {names}, laid with the cable"));
    }
}

fn write_stop(text: &mut String, indent: &str, stop: &Stop) {
    sentence(
        text,
        indent,
        &format!("{indent}  "),
        &format!("{}[{}]: {}", stop.severity.word(), stop.rule, stop.message),
    );
}

/// Rows under their headings, and with `reasons` below each what stops it. Columns in which nothing can be told are left out.
fn table(text: &mut String, choices: &[Choice], most: usize, reasons: bool) {
    let shown = &choices[..choices.len().min(most)];
    let rows: Vec<[String; 9]> = shown.iter().map(row).collect();
    let kept: Vec<usize> = (0..HEADINGS.len()).filter(|column| rows.iter().any(|row| row[*column] != DASH)).collect();
    let width = |column: usize| {
        let cells = rows.iter().map(|row| row[column].chars().count());
        cells.max().unwrap_or(0).max(HEADINGS[column].chars().count())
    };
    let line = |cells: &dyn Fn(usize) -> String| {
        let cells = kept.iter().map(|column| {
            let (cell, width) = (cells(*column), width(*column));
            if *column == 0 { format!("{cell:width$}") } else { format!("{cell:>width$}") }
        });
        format!("    {}", cells.collect::<Vec<_>>().join("  ")).trim_end().to_string()
    };
    let head = line(&|column| HEADINGS[column].to_string());
    let lines: Vec<String> = rows.iter().map(|row| line(&|column| row[column].clone())).collect();
    let _ = writeln!(text, "{head}");
    for (choice, line) in shown.iter().zip(lines) {
        let _ = writeln!(text, "{line}");
        if let Some(shares) = shares(choice) {
            let _ = writeln!(text, "      {shares}");
        }
        choice.notes.iter().for_each(|note| write_stop(text, "      ", note));
        if reasons {
            choice.stops.iter().take(TOLD).for_each(|stop| write_stop(text, "      ", stop));
            let mut more: Vec<&str> = choice.stops.iter().skip(TOLD).map(|stop| &*stop.rule).collect();
            more.dedup();
            if !more.is_empty() {
                sentence(text, "      ", "        ", &format!("and {}", quoted(more.into_iter(), "and")));
            }
        }
    }
    if choices.len() > shown.len() {
        let _ = writeln!(text, "    and {} more; `--all` shows them", choices.len() - shown.len());
    }
}
