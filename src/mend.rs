//! Makes the changes that findings carry, one by one, and keeps those that leave a plan better than it was.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use crate::checker::Report;
use crate::finding::{Edit, Finding, Fix, Severity};
use crate::source::FileId;

/// How many changes are tried on one plan.
const MOST_TRIES: usize = 500;

/// What came of mending a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mended {
    /// The plan's text after it.
    pub text: String,
    /// What was done, in order.
    pub made: Vec<String>,
    /// What was tried and not kept, since it left no fewer findings.
    pub dropped: Vec<String>,
}

/// How much is wrong with a plan: its findings, and how many of them are errors.
fn weight(report: &Report) -> (usize, usize) {
    let open = report.findings.iter().filter(|finding| finding.accepted.is_none());
    let errors = open.clone().filter(|finding| finding.severity == Severity::Error).count();
    (open.count(), errors)
}

/// Whether a plan that now has the one report is no worse than when it had the other.
pub fn no_worse(now: &Report, before: &Report) -> bool {
    let ((now, now_errors), (before, before_errors)) = (weight(now), weight(before));
    now <= before && now_errors <= before_errors
}

/// Whether a change settles something without bringing anything else about. What is misspelt hides what is wrong behind it, so that more
/// rules speak once it is written right; any other change must leave no rule with more findings, nor more rules that can't be held.
fn better(now: &Report, before: &Report, was_reading: bool) -> bool {
    let count = |report: &Report| {
        let mut counts: HashMap<Arc<str>, usize> = HashMap::new();
        for finding in report.findings.iter().filter(|finding| finding.accepted.is_none()) {
            *counts.entry(Arc::clone(&finding.rule)).or_default() += 1;
        }
        counts
    };
    let known = count(before);
    let none_more = || count(now).iter().all(|(rule, count)| known.get(rule).is_some_and(|known| count <= known));
    weight(now).0 < weight(before).0
        && no_worse(now, before)
        && now.unchecked.len() <= before.unchecked.len()
        && (was_reading || none_more())
}

/// Mends a plan's own text; other files are left alone. `check` says what is found in a text; a change is kept where it leaves
/// fewer findings than before and adds none of another kind.
pub fn mend(text: &str, report: &Report, mut check: impl FnMut(&str) -> Report) -> Mended {
    let mut mended = Mended { text: text.to_string(), made: Vec::new(), dropped: Vec::new() };
    let mut tried: HashSet<(String, String)> = HashSet::new();
    let mut newest: Option<Report> = None;
    for _ in 0..MOST_TRIES {
        let report = newest.as_ref().unwrap_or(report);
        let Some((finding, fix)) = next(report, &tried) else { break };
        let key = (finding.message.clone(), fix.title.clone());
        let changed = apply(&mended.text, &fix.edits);
        let title = fix.title.clone();
        let was_reading = finding.basis.is_none();
        tried.insert(key.clone());
        let Some(changed) = changed else { continue };
        let after = check(&changed);
        if better(&after, report, was_reading) {
            mended.text = changed;
            mended.made.push(title);
            // There may be another finding of the same words.
            tried.remove(&key);
            newest = Some(after);
        } else {
            mended.dropped.push(title);
        }
    }
    mended
}

/// The first change of the plan's own text that was not tried yet, and its finding.
fn next<'r>(report: &'r Report, tried: &HashSet<(String, String)>) -> Option<(&'r Finding, &'r Fix)> {
    let open = report.findings.iter().filter(|finding| finding.accepted.is_none());
    let own = |fix: &&Fix| fix.edits.iter().all(|edit| edit.place.file == FileId(0));
    let mut fixes = open.filter_map(|finding| Some((finding, finding.fix.as_ref().filter(own)?)));
    // Told apart by words, since a change above moves every place below it.
    fixes.find(|(finding, fix)| !tried.contains(&(finding.message.clone(), fix.title.clone())))
}

/// A text with changes made to it; nothing where they overlap or lie outside it.
///
/// ```
/// use layrule::{finding::Edit, mend::apply, source::{FileId, Place, Span}};
///
/// let edit = |start, end, text: &str| Edit { place: Place { file: FileId(0), span: Span { start, end } }, text: text.into() };
/// assert_eq!(apply("run east 80", &[edit(9, 11, "75"), edit(4, 8, "west")]).as_deref(), Some("run west 75"));
/// assert_eq!(apply("run", &[edit(0, 2, ""), edit(1, 3, "")]), None);
/// ```
pub fn apply(text: &str, edits: &[Edit]) -> Option<String> {
    let mut ordered: Vec<&Edit> = edits.iter().collect();
    ordered.sort_by_key(|edit| edit.place.span);
    let mut changed = String::with_capacity(text.len());
    let mut reached = 0;
    for edit in ordered {
        let range = edit.place.span.range();
        changed.push_str(text.get(reached..range.start)?);
        text.get(range.clone())?;
        changed.push_str(&edit.text);
        reached = range.end;
    }
    changed.push_str(text.get(reached..)?);
    Some(changed)
}
