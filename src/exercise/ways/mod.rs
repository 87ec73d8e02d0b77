//! The ways in which people get a plan wrong, as data: what is done, and which rules it is done against. A file a family.
//!
//! A way knows no limits: it writes something otherwise, as somebody might, and the rules say whether anything comes of it.

mod cables;
mod circuit;
mod deviations;
mod floor;
mod kits;
mod records;
mod sensor;
mod tails;
mod things;

use super::site::{Change, Line, Site, What};
use super::slips::slips;
use crate::layout::tree::RoomEntry;

/// A way of getting a plan wrong.
#[derive(Debug)]
pub struct Way {
    /// Its name.
    pub name: &'static str,
    /// What somebody does, in a phrase.
    pub does: &'static str,
    /// The rules that it is done against.
    pub aims: &'static [&'static str],
    /// All that it could do to a plan.
    pub changes: fn(&Site<'_>, &mut Vec<Change>),
}

/// All ways there are, family by family.
pub fn all() -> impl Iterator<Item = &'static Way> {
    let families = [
        cables::WAYS,
        sensor::WAYS,
        things::WAYS,
        kits::WAYS,
        tails::WAYS,
        circuit::WAYS,
        floor::WAYS,
        records::WAYS,
        deviations::WAYS,
    ];
    families.into_iter().flatten()
}

/// By what share an outline's length may be wrong: a room of more than twice its length is put right as soon as it is drawn.
const MOST_SEEN: f64 = 1.0;

/// Numbers mistyped in the statements that are `wanted`, behind the words that are.
fn mistyped(
    site: &Site<'_>,
    changes: &mut Vec<Change>,
    wanted: impl Fn(&What<'_>) -> bool,
    behind: impl Fn(&str) -> bool,
) {
    for line in site.lines.iter().filter(|line| wanted(&line.what)) {
        let step = steps(&line.what).then(|| site.spacing(line)).flatten();
        let is_outline = matches!(line.what, What::Room(RoomEntry::Outline(_)));
        for number in site.numbers(line.span).into_iter().filter(|number| behind(&number.after)) {
            for slip in slips(&number.digits, step).into_iter().filter(|slip| !is_outline || slip.size <= MOST_SEEN) {
                let said = format!("{} written for {}", slip.digits, number.digits);
                changes.push(Change { edits: vec![site.edit(number.span, slip.digits)], said, size: slip.size });
            }
        }
    }
}

/// Whether a statement's lengths are counted in rows: the cable's own, and what lies between its rows.
fn steps(what: &What<'_>) -> bool {
    matches!(what, What::Cable(_) | What::Room(RoomEntry::Sensor(_) | RoomEntry::Area(_) | RoomEntry::Line(_)))
}

/// One of several values that somebody takes for another: `30 mA` for `100 mA`.
fn mistaken(
    site: &Site<'_>,
    changes: &mut Vec<Change>,
    wanted: impl Fn(&What<'_>) -> bool,
    behind: &str,
    values: &[&str],
) {
    for line in site.lines.iter().filter(|line| wanted(&line.what)) {
        for number in site.numbers(line.span).into_iter().filter(|number| number.after == behind) {
            for value in values.iter().filter(|value| **value != number.digits) {
                let (right, wrong) = (number.digits.parse::<f64>(), value.parse::<f64>());
                let size =
                    right.ok().zip(wrong.ok()).map_or(1.0, |(right, wrong)| (wrong - right).abs() / right.max(1e-9));
                let said = format!("{value} taken for {}", number.digits);
                changes.push(Change { edits: vec![site.edit(number.span, *value)], said, size });
            }
        }
    }
}

/// A statement forgotten.
fn forgotten(site: &Site<'_>, changes: &mut Vec<Change>, wanted: impl Fn(&What<'_>) -> bool) {
    for line in site.lines.iter().filter(|line| wanted(&line.what)) {
        changes.push(Change { edits: vec![site.without(line.span)], said: left_out(site, line), size: 1.0 });
    }
}

fn left_out(site: &Site<'_>, line: &Line<'_>) -> String {
    format!("`{}` left out", short(site.text(line.span)))
}

/// A statement on one line, as far as it is needed to know it.
pub(super) fn short(statement: &str) -> String {
    const MOST: usize = 60;
    let words = statement.split_whitespace().collect::<Vec<_>>().join(" ");
    match words.char_indices().nth(MOST) {
        Some((at, _)) => format!("{}…", &words[..at]),
        None => words,
    }
}

/// One word written for another.
fn word(site: &Site<'_>, changes: &mut Vec<Change>, place: crate::source::Span, instead: &str) {
    let own = site.text(place);
    if own != instead {
        let said = format!("`{instead}` written for `{own}`");
        changes.push(Change { edits: vec![site.edit(place, instead)], said, size: 1.0 });
    }
}
