//! The list of what was found, poured into columns and over as many sheets as it takes.

use std::cell::OnceCell;

use super::View;
use super::canvas::{Item, group};
use super::findings::{RADIUS, disc};
use super::lettering::{self, size};
use crate::alike::Alike;
use crate::model::Point;

/// Height of a line of the list, mm.
const LINE: f64 = 3.5;

/// The most lines of one entry.
const MOST_LINES: usize = 12;

/// What the list says of findings that go together, and how high that is with the gap after it, mm.
#[derive(Clone)]
pub(super) struct Entry {
    item: Item,
    pub height: f64,
}

/// One entry of the list, so wide.
fn entry(view: &View<'_>, found: &Alike<'_>, wide: f64) -> Entry {
    let finding = found.worst;
    let indent = 2.0 * RADIUS + 1.6;
    let place = finding.place();
    let file = view.plan.sources.get(place.file);
    let line = file.map_or(0, |file| file.line_and_column(place.span.start()).0);
    let head = format!("{} {} · line {line}", finding.severity.word(), finding.rule);
    let others = found.others().map(|others| format!("; {others}")).unwrap_or_default();
    let agreed = finding.accepted.as_ref().map(|accepted| format!(" (agreed: {})", accepted.reason));
    let text = format!("{}{others}{}", finding.message, agreed.unwrap_or_default()).replace('`', "");
    let lines = lettering::wrap(&text, size::BODY, false, wide - indent, MOST_LINES);
    let head = lettering::shorten(&head, size::BODY, true, wide - indent);
    let mut item = group("list-entry")
        .with(disc(Point { x: RADIUS + 0.2, y: RADIUS + 0.2 }, found.number(), finding))
        .with(lettering::line(&head, Point { x: indent, y: 2.6 }, size::BODY, true));
    for (row, text) in lines.iter().enumerate() {
        let at = Point { x: indent, y: 2.6 + LINE * (row + 1) as f64 };
        item.push(lettering::line(text, at, size::BODY, false));
    }
    Entry { item, height: LINE * (lines.len() + 1) as f64 + 1.4 }
}

/// A line by itself at the end of the list.
fn closing(words: &str) -> Entry {
    let line = lettering::line(words, Point { x: 0.0, y: 2.6 }, size::BODY, false);
    Entry { item: group("list-closing").with(line), height: LINE + 1.4 }
}

/// The list in each of the widths that a column may have, each made once it is asked for.
pub(super) struct List<'f, 'a> {
    view: &'f View<'f>,
    /// What it lists.
    pub found: &'f [Alike<'a>],
    /// What is said at its end.
    closing: Option<String>,
    alone: OnceCell<Vec<Entry>>,
    several: OnceCell<Vec<Entry>>,
}

impl<'f, 'a> List<'f, 'a> {
    pub(super) fn new(view: &'f View<'f>, found: &'f [Alike<'a>], closing: Option<String>) -> Self {
        List { view, found, closing, alone: OnceCell::new(), several: OnceCell::new() }
    }

    /// How many entries it has.
    pub(super) fn len(&self) -> usize {
        self.found.len() + usize::from(self.closing.is_some())
    }

    /// Its entries in one of so many columns, so wide.
    pub(super) fn entries(&self, columns: usize, wide: f64) -> &[Entry] {
        let kept = if columns == 1 { &self.alone } else { &self.several };
        let all = || self.found.iter().map(|found| entry(self.view, found, wide));
        kept.get_or_init(|| all().chain(self.closing.as_deref().map(closing)).collect())
    }
}

/// How many entries go into each of some columns, one after the other, that have room for so many mm.
pub(super) fn poured(entries: &[Entry], columns: &[f64]) -> Vec<usize> {
    let mut rest = entries.iter().peekable();
    let mut fill = |room: f64| {
        let (mut taken, mut count) = (0.0, 0);
        while let Some(next) = rest.next_if(|next| taken + next.height <= room) {
            taken += next.height;
            count += 1;
        }
        count
    };
    columns.iter().map(|room| fill(*room)).collect()
}

/// Some entries one below the other, and how high that is, mm.
pub(super) fn column<'e>(entries: impl Iterator<Item = &'e Entry>) -> (Item, f64) {
    let mut whole = group("finding-list");
    let mut y = 0.0;
    for entry in entries {
        whole.push(entry.item.clone().set("transform", format!("translate(0 {})", super::canvas::number(y, 3))));
        y += entry.height;
    }
    (whole, y)
}
