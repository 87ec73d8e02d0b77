//! Makes the changes that findings carry, one by one, and keeps those that leave a plan better than it was.

use std::collections::{HashMap, HashSet, VecDeque};
use std::sync::Arc;

use super::report::Report;
use crate::finding::{Edit, Finding, Fix, Severity};
use crate::layout::tree::{Reading, Record, RecordEntry, RoomEntry, SensorReading, Statement};
use crate::model::Stage;
use crate::source::{FileId, Place, Sources};
use crate::worded::Worded as _;

/// How many changes are tried on one plan.
const MOST_TRIES: usize = 500;

/// Of how many changes what came of them is kept while a plan is mended: of findings alike, many are offered the same.
const MOST_KEPT: usize = 24;

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

/// What tells a finding from others before and after a change: its rule, its room, what it is about, and the line it marks as that was
/// numbered before.
type Told = (Arc<str>, Option<String>, Vec<String>, usize);

/// How many findings are told alike; those that a deviation covers are left out.
type Count = HashMap<Told, usize>;

fn told(finding: &Finding, line: usize) -> Told {
    let about = finding.subjects.iter().map(|subject| format!("{} {}", subject.kind.statement(), subject.name));
    (Arc::clone(&finding.rule), finding.room.clone(), about.collect(), line)
}

/// The findings of a report, whose plan's own text had `edits` made to `before`, each at its line of that.
fn count(report: &Report, before: &Sources, edits: &[Edit]) -> Count {
    let mut ordered: Vec<&Edit> = edits.iter().collect();
    ordered.sort_by_key(|edit| edit.place.span);
    let was_at = |now: usize| {
        let (mut was, mut shown) = (0, 0);
        for edit in &ordered {
            let range = edit.place.span.range();
            let start = shown + (range.start - was);
            if now < start {
                break;
            }
            if now < start + edit.text.len() {
                return range.start;
            }
            (was, shown) = (range.end, start + edit.text.len());
        }
        was + (now - shown)
    };
    let mut count = Count::new();
    for finding in report.findings.iter().filter(|finding| finding.accepted.is_none()) {
        let Place { file, span } = finding.place();
        let start = span.range().start;
        let at = if file == FileId(0) { was_at(start) } else { start };
        let line = before.get(file).map_or(0, |file| file.line_and_column(at).0);
        *count.entry(told(finding, line)).or_default() += 1;
    }
    count
}

/// Whether a change, after which a plan has the report `now`, settles a finding and brings no other; nor a rule that can't be held.
fn settles(finding: &Finding, now: &Report, known: &Count, before: &Report, edits: &[Edit]) -> bool {
    let own = told(
        finding,
        before
            .sources
            .get(finding.place().file)
            .map_or(0, |file| file.line_and_column(finding.place().span.range().start).0),
    );
    let then = count(now, &before.sources, edits);
    let of = |count: &Count, told: &Told| count.get(told).copied().unwrap_or_default();
    of(&then, &own) < of(known, &own)
        && then.iter().all(|(told, count)| *count <= of(known, told))
        && now.unchecked.len() <= before.unchecked.len()
        && now.rule_faults.len() <= before.rule_faults.len()
}

/// How many changes are tried for a report, and how many runs their plans may have in all: a bound on what it takes to tell which help.
const MOST_TRIALS: usize = 24;
const MOST_RUNS_TRIED: usize = 100_000;

/// How many runs are tried while someone types, in all: findings come soon, and the rest is tried once it is asked for.
pub const MOST_RUNS_AT_ONCE: usize = 2_000;

/// Tries the changes that findings are offered and leaves each the first that settles it without bringing another, with its advice. `tried`
/// says what is found in the plan with a change made; `runs` is how many it has, and `most_runs` how many the plans that are tried may have in
/// all, where that is fewer than are tried in any case. Whether none was left untried for want of `most_runs`.
pub fn prove(
    report: &mut Report,
    runs: usize,
    most_runs: Option<usize>,
    mut tried: impl FnMut(&Fix) -> Option<Report>,
) -> bool {
    let usual = MOST_TRIALS.min(MOST_RUNS_TRIED / runs.max(1));
    let mut trials = most_runs.map_or(usual, |most| usual.min(most / runs.max(1)));
    let mut whole = true;
    let short = trials < usual;
    let known = count(report, &report.sources, &[]);
    // Of findings alike, many are offered the same.
    let mut outcomes: Vec<(Fix, Option<Report>)> = Vec::new();
    let mut settled: Vec<(usize, Fix)> = Vec::new();
    for (number, finding) in report.findings.iter().enumerate().filter(|(_, finding)| finding.accepted.is_none()) {
        for fix in &finding.offers {
            let same = |(other, _): &(Fix, Option<Report>)| other.edits == fix.edits && other.kits == fix.kits;
            let at = match outcomes.iter().position(same) {
                Some(at) => at,
                None if trials == 0 => {
                    whole &= !short;
                    break;
                }
                None => {
                    trials -= 1;
                    outcomes.push((fix.clone(), tried(fix)));
                    outcomes.len() - 1
                }
            };
            let Some(now) = &outcomes[at].1 else { continue };
            if settles(finding, now, &known, report, &fix.edits) {
                settled.push((number, fix.clone()));
                break;
            }
        }
    }
    for finding in &mut report.findings {
        finding.offers.clear();
    }
    for (number, fix) in settled {
        let finding = &mut report.findings[number];
        finding.advice = Some(fix.advice.clone().unwrap_or_else(|| fix.title.clone()));
        finding.fix = Some(fix).filter(|fix| !fix.advised_only);
    }
    whole
}

/// Whether a change of a misspelt word settles something. What is misspelt hides what is wrong behind it, so that more rules speak once it is
/// written right.
fn better(now: &Report, before: &Report) -> bool {
    weight(now).0 < weight(before).0 && no_worse(now, before) && now.unchecked.len() <= before.unchecked.len()
}

/// Mends a plan's own text; other files are left alone. `check` says what is found in a text; a change is kept where it settles its finding
/// and brings no other. Changes that were not tried yet are tried here, so that `check` needn't; see [`untried`](super::untried).
pub fn mend(text: &str, report: &Report, mut check: impl FnMut(&str) -> Report) -> Mended {
    let unchanged = || Mended { text: text.to_string(), made: Vec::new(), dropped: Vec::new() };
    mend_until(text, report, |changed| Some(check(changed))).unwrap_or_else(unchanged)
}

/// As [`mend`]; it ends, and nothing comes of it, once `check` gives nothing.
pub fn mend_until(text: &str, report: &Report, mut check: impl FnMut(&str) -> Option<Report>) -> Option<Mended> {
    let mut mended = Mended { text: text.to_string(), made: Vec::new(), dropped: Vec::new() };
    let mut tried: HashSet<(String, String)> = HashSet::new();
    let mut newest: Option<Report> = None;
    let mut outcomes: VecDeque<(Vec<Edit>, Report)> = VecDeque::new();
    let mut tries = 0;
    while tries < MOST_TRIES {
        let report = newest.as_ref().unwrap_or(report);
        let Some((finding, fix)) = next(report, &tried) else { break };
        let key = (finding.message.clone(), fix.title.clone());
        let changed = apply(&mended.text, &fix.edits);
        let title = fix.title.clone();
        tried.insert(key.clone());
        let Some(changed) = changed else { continue };
        let known_outcome = outcomes.iter().position(|(edits, _)| *edits == fix.edits);
        let after = match known_outcome.and_then(|at| outcomes.remove(at)) {
            Some((_, after)) => after,
            None => {
                tries += 1;
                check(&changed)?
            }
        };
        let known = count(report, &report.sources, &[]);
        let keeps = match finding.basis {
            None => better(&after, report),
            Some(_) => settles(finding, &after, &known, report, &fix.edits),
        };
        if keeps {
            mended.text = changed;
            mended.made.push(title);
            // What was in the way of another may be gone now. Each change that is kept leaves fewer findings, so that this ends.
            tried.clear();
            outcomes.clear();
            newest = Some(after);
        } else {
            outcomes.truncate(MOST_KEPT - 1);
            outcomes.push_front((fix.edits.clone(), after));
            mended.dropped.push(title);
        }
    }
    Some(mended)
}

/// Whether a plan's record says that cable was laid: from there on the plan shows what is in the floor, and no longer what might be.
pub fn is_laid(text: &str) -> bool {
    let later = |entry: &RecordEntry| match entry {
        RecordEntry::Reading(Reading { stage, .. }) | RecordEntry::SensorReading(SensorReading { stage, .. }) => {
            Stage::of_word(&stage.text).is_some_and(|stage| stage >= Stage::Laid)
        }
        RecordEntry::Tiled(..) | RecordEntry::SwitchedOn(..) => true,
        // Cable may lie on a screed as well as in it.
        RecordEntry::Screeded(_)
        | RecordEntry::Signed(..)
        | RecordEntry::Label(_)
        | RecordEntry::RcdTest(_)
        | RecordEntry::Primed(..)
        | RecordEntry::Note(_)
        | RecordEntry::Photo(_) => false,
    };
    crate::layout::parse(text).statements.iter().any(|statement| match statement {
        Statement::Room(room) => room.entries.iter().any(|entry| match entry {
            RoomEntry::Record(Record { entries, .. }) => entries.iter().any(later),
            _ => false,
        }),
        _ => false,
    })
}

/// The first change of the plan's own text that was not tried yet, and its finding.
fn next<'r>(report: &'r Report, tried: &HashSet<(String, String)>) -> Option<(&'r Finding, &'r Fix)> {
    let open = report.findings.iter().filter(|finding| finding.accepted.is_none());
    let own = |fix: &&Fix| !fix.advised_only && fix.edits.iter().all(|edit| edit.place.file == FileId(0));
    let mut fixes =
        open.flat_map(|finding| finding.fix.iter().chain(&finding.offers).filter(own).map(move |fix| (finding, fix)));
    // Told apart by words, since a change above moves every place below it.
    fixes.find(|(finding, fix)| !tried.contains(&(finding.message.clone(), fix.title.clone())))
}

/// A text with changes made to it; nothing where they overlap or lie outside it.
///
/// ```
/// use layrule::{checker::mend::apply, finding::Edit, source::{FileId, Place, Span}};
///
/// let edit = |start, end, text: &str| Edit { place: Place { file: FileId(0), span: Span::new(start..end) }, text: text.into() };
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
