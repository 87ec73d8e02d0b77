//! What differs, as Markdown to put under a merge request.

use std::fmt::Write as _;

use super::{alike, said, sum, titled};
use crate::comparison::{Change, Comparison};
use crate::report::markdown::escaped;

/// How many bytes of rows there are at the most: hosts take 65 536 characters of a comment.
const MOST: usize = 48_000;

pub(super) fn write(comparison: &Comparison) -> String {
    let mut text = format!("## {} → {}\n\n", escaped(&comparison.design), escaped(&comparison.built));
    let _ = writeln!(text, "**{}**\n", escaped(&sum(comparison)));
    if !comparison.complete {
        text.push_str("**Not all of both plans could be read; this is as far as it goes.**\n\n");
    }
    let mut left_out = 0;
    if !comparison.shared.is_empty() {
        text.push_str("### Supplies and kits\n\n");
        left_out += table(&mut text, &comparison.shared);
    }
    for room in &comparison.rooms {
        let _ = writeln!(text, "### Room {}\n", escaped(&titled(room)));
        left_out += table(&mut text, &room.changes);
    }
    if !comparison.findings.is_empty() {
        text.push_str("### Findings\n\n|  | severity | rule | line | finding |\n| --- | --- | --- | --- | --- |\n");
        for (finds, more) in alike(comparison) {
            let cells = [finds.turn.word(), finds.severity.word(), &finds.rule, &finds.line, &said((finds, more))];
            left_out += row(&mut text, &cells.map(escaped));
        }
        text.push('\n');
    }
    if left_out > 0 {
        let _ = writeln!(
            text,
            "Left out here: {left_out} more; `layrule compare` on the command line tells all of them.\n"
        );
    }
    let _ = writeln!(text, "{}", escaped(crate::CAUTION));
    text
}

/// A table of what differs, and how many rows there was no room for.
fn table(text: &mut String, changes: &[Change]) -> usize {
    text.push_str("| thing | what differs |\n| --- | --- |\n");
    let left_out = changes.iter().map(|change| row(text, &[escaped(&change.thing()), escaped(&change.words())])).sum();
    text.push('\n');
    left_out
}

fn row(text: &mut String, cells: &[String]) -> usize {
    let row = format!("| {} |\n", cells.join(" | "));
    if text.len() + row.len() > MOST {
        return 1;
    }
    text.push_str(&row);
    0
}
