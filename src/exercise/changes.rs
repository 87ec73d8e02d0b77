//! What differs between two texts of a plan, statement by statement: how they are spaced, and notes, make no difference.

use std::ops::Range;

use similar::{Algorithm, DiffOp, capture_diff_slices};

use crate::language::tokens::{Sort, tokens};

/// A stretch that differs: the lines (from 0) of the one text and of the other; one of the two may be empty.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hunk {
    /// Those of the first text.
    pub before: Range<usize>,
    /// Those of the second.
    pub after: Range<usize>,
}

/// The lines of a text that say something: their numbers from 0, and what they say.
fn said(text: &str) -> Vec<(usize, String)> {
    let mut lines: Vec<(usize, String)> = Vec::new();
    let mut number = 0;
    let mut reached = 0;
    for token in tokens(text).iter().filter(|token| token.sort != Sort::Comment) {
        number += text[reached..token.span.start()].matches('\n').count();
        reached = token.span.start();
        let word = &text[token.span.range()];
        match lines.last_mut() {
            Some((last, line)) if *last == number => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push((number, word.to_string())),
        }
    }
    lines
}

/// What differs, in the order of the lines. Where as many lines were changed as there were, each stands for itself.
///
/// ```
/// use layrule::exercise::changes::{Hunk, hunks};
/// let found = hunks("run east 80\nrun north 75\n", "run  east 80 # so far\n\nrun north 57\nrun west 80\n");
/// assert_eq!(found, [Hunk { before: 1..2, after: 2..4 }]);
/// ```
pub fn hunks(before: &str, after: &str) -> Vec<Hunk> {
    let (one, other) = (said(before), said(after));
    let words = |lines: &[(usize, String)]| lines.iter().map(|(_, line)| line.clone()).collect::<Vec<_>>();
    let (first, second) = (words(&one), words(&other));
    // The lines from one that says something up to behind another, or the place between two where none is meant.
    let lines = |all: &[(usize, String)], range: Range<usize>| {
        let at = |index: usize| all.get(index).map(|(number, _)| *number);
        let end = |index: usize| index.checked_sub(1).and_then(at).map_or(0, |number| number + 1);
        match range.is_empty() {
            true => end(range.start)..end(range.start),
            false => at(range.start).unwrap_or(0)..end(range.end),
        }
    };
    let mut hunks = Vec::new();
    for op in capture_diff_slices(Algorithm::Myers, &first, &second) {
        let (old, new) = match op {
            DiffOp::Equal { .. } => continue,
            DiffOp::Delete { old_index, old_len, new_index } => (old_index..old_index + old_len, new_index..new_index),
            DiffOp::Insert { old_index, new_index, new_len } => (old_index..old_index, new_index..new_index + new_len),
            DiffOp::Replace { old_index, old_len, new_index, new_len } => {
                (old_index..old_index + old_len, new_index..new_index + new_len)
            }
        };
        if old.len() == new.len() {
            let each = old.zip(new);
            hunks.extend(
                each.map(|(old, new)| Hunk { before: lines(&one, old..old + 1), after: lines(&other, new..new + 1) }),
            );
        } else {
            hunks.push(Hunk { before: lines(&one, old), after: lines(&other, new) });
        }
    }
    hunks
}

/// Some lines of a text, without what stands before and behind them.
pub fn lines(text: &str, range: &Range<usize>) -> Vec<String> {
    text.lines().skip(range.start).take(range.len()).map(|line| line.trim().to_string()).collect()
}
