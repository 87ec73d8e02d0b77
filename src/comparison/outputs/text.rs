//! What differs, as text for a person.

use std::fmt::Write as _;

use super::{alike, said, sum, titled};
use crate::comparison::{Change, Comparison};

/// Width of the things, at the most; what is longer pushes the rest along.
const WIDEST: usize = 32;

pub(super) fn write(comparison: &Comparison) -> String {
    let mut text = format!("{} → {}\n", comparison.design, comparison.built);
    if !comparison.complete {
        text.push_str("not all of both plans could be read; this is as far as it goes\n");
    }
    if !comparison.shared.is_empty() {
        text.push_str("\nsupplies and kits\n");
        rows(&mut text, &comparison.shared);
    }
    for room in &comparison.rooms {
        let _ = writeln!(text, "\nroom {}", titled(room));
        rows(&mut text, &room.changes);
    }
    let mut last = None;
    for (finds, more) in alike(comparison) {
        if last != Some(finds.turn) {
            let _ = writeln!(text, "\nfindings {}", finds.turn.word());
            last = Some(finds.turn);
        }
        let _ = writeln!(text, "  {}[{}]: {}: {}", finds.severity.word(), finds.rule, finds.line, said((finds, more)));
    }
    if !comparison.is_empty() {
        text.push('\n');
    }
    let _ = writeln!(text, "{}", sum(comparison));
    text
}

fn rows(text: &mut String, changes: &[Change]) {
    let wide =
        changes.iter().map(|change| change.thing().chars().count()).filter(|wide| *wide <= WIDEST).max().unwrap_or(0);
    for change in changes {
        let _ = writeln!(text, "  {:wide$}  {}", change.thing(), change.words());
    }
}
