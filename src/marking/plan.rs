//! Mended plans: what is still found of each fault, what is new, what was taken away instead of mended, what was changed for nothing.

use std::collections::HashSet;

use super::hints::{Hint, hints};
use super::{Held, Marked, MarkedFault, Needless, NewFinding, Outcome};
use crate::checker::{self, Report};
use crate::exercise::changes::{Hunk, hunks, lines};
use crate::exercise::key::Fault;
use crate::exercise::provoke::report_on;
use crate::exercise::sound::plan_of;
use crate::exercise::told::{Count, Told};
use crate::finding::Finding;
use crate::layout::names::occurrences;
use crate::layout::tree::Statement;
use crate::layout::{self, tree};
use crate::measure::plan::Measured;
use crate::source::printable;

/// How many changed statements are tried as they were.
const MOST_TRIED: usize = 16;
/// How many new findings are told.
const MOST_NEW: usize = 200;

/// A mended plan as it was read.
struct Mended<'m> {
    text: &'m str,
    report: Report,
    open: Count,
    accepted: Count,
    hunks: Vec<Hunk>,
    /// The first thing that keeps it from being read whole.
    unread: Option<String>,
    gone: Gone,
}

/// Marks a mended plan.
pub(super) fn mark(text: &str, held: &Held<'_>) -> Result<Marked, String> {
    let by = held.by;
    // Parts of it are shown.
    let text = &*printable(text.to_string());
    let measured = Measured::new(plan_of(&by.key.plan.name, text));
    let before = layout::parse(&held.exercise.text);
    let rooms = |file: &tree::File| -> HashSet<String> { rooms_of(file).into_iter().map(|(_, name)| name).collect() };
    let after = layout::parse(text);
    if rooms(&before).is_disjoint(&rooms(&after)) {
        return Err("it holds none of the exercise's rooms: it is another plan, or none".into());
    }
    // What is advised was tried on the plan, which takes a while.
    let report = match by.hint {
        Some(Hint::Advice) => checker::check_plan(&measured, by.rules, by.today),
        _ => checker::untried(&measured, by.rules, by.today),
    };
    let unread = report.findings.iter().find(|finding| finding.basis.is_none());
    let unread = unread.map(|finding| format!("line {}: {}", line_of(&report, finding), finding.message));
    let (open, accepted) = (Count::open(&report), Count::accepted(&report));
    let gone = Gone::between(&before, &after, &held.exercise.text, &measured, held);
    let hunks = hunks(&held.exercise.text, text);
    let mended = Mended { text, report, open, accepted, hunks, unread, gone };
    let faults: Vec<MarkedFault> =
        held.exercise.faults.iter().map(|fault| marked_fault(fault, &mended, held)).collect();
    let outcomes: Vec<Outcome> = faults.iter().map(|fault| fault.outcome).collect();
    let mut marked = held.marked(false, faults);
    marked.new = new_findings(&mended, &outcomes, held);
    marked.needless = needless(&mended, held);
    by.scheme.count(&mut marked);
    Ok(marked)
}

fn line_of(report: &Report, finding: &Finding) -> usize {
    let place = finding.place();
    report.sources.get(place.file).map_or(0, |file| file.line_and_column(place.span.start()).0)
}

fn marked_fault(fault: &Fault, mended: &Mended<'_>, held: &Held<'_>) -> MarkedFault {
    let (outcome, told, why) = outcome(fault, mended, held);
    let finding = told.as_ref().and_then(|told| {
        mended.report.findings.iter().find(|finding| Told::of(finding) == *told && finding.accepted.is_none())
    });
    let line = match finding {
        Some(finding) => Some(line_of(&mended.report, finding)),
        None => fault.lines().next(),
    };
    let told = match outcome.is_open() {
        true => {
            let rule = told.as_ref().map_or(fault.rule.as_str(), |told| &told.rule);
            hints(held.by.hint, rule, line, finding, held.by.rules)
        }
        false => Vec::new(),
    };
    MarkedFault::new(fault, outcome, line, why, told, held.by.hint)
}

/// What became of a fault, what is still found of it, and why that is so.
fn outcome(fault: &Fault, mended: &Mended<'_>, held: &Held<'_>) -> (Outcome, Option<Told>, Option<String>) {
    let still = |told: &Told| mended.open.of(told) > held.sound.of(told);
    // What the sound plan agrees to as well is put right.
    let agreed = |told: &Told| mended.accepted.of(told) > held.begun.accepted.of(told).max(held.agreed.of(told));
    let aimed = || fault.aimed().map(|one| &one.told);
    if let Some(told) = aimed().find(|told| still(told)) {
        return (Outcome::StillThere, Some(told.clone()), None);
    }
    if aimed().any(agreed) {
        return (Outcome::Agreed, None, Some("a deviation covers it".into()));
    }
    if let Some(unread) = &mended.unread {
        return (Outcome::Untold, None, Some(format!("the plan can't be read whole; {unread}")));
    }
    if let Some(gone) = mended.gone.of(fault, worked_on(fault, mended)).or_else(|| left_out(fault, mended)) {
        return (Outcome::TakenAway, None, Some(gone));
    }
    let unchecked = mended.report.unchecked.iter().find(|one| *one.rule == *fault.rule);
    if let Some(unchecked) = unchecked.filter(|_| !held.begun.unchecked.contains(&fault.rule)) {
        return (Outcome::Untold, None, Some(format!("its rule can't be held any more: {}", unchecked.reason)));
    }
    // What follows from several faults is no sign of any one of them.
    let shared = |told: &Told| {
        let others = held.exercise.faults.iter().filter(|other| !std::ptr::eq(*other, fault));
        others.flat_map(|other| &other.provokes).any(|one| one.told == *told)
    };
    let own = |told: &&Told| !shared(told);
    let others = || fault.provokes.iter().filter(|one| !one.aimed).map(|one| &one.told).filter(own);
    if let Some(told) = others().find(|told| still(told)) {
        return (
            Outcome::Partly,
            Some(told.clone()),
            Some(format!("`{}` still finds what followed from it", told.rule)),
        );
    }
    match others().find(|told| agreed(told)) {
        Some(told) => {
            (Outcome::Agreed, None, Some(format!("a deviation covers `{}`, which followed from it", told.rule)))
        }
        None => (Outcome::Mended, None, None),
    }
}

/// Whether the answer has something else where the fault was made, rather than nothing, or the same.
fn worked_on(fault: &Fault, mended: &Mended<'_>) -> bool {
    let lines: Vec<usize> = fault.lines().map(|line| line - 1).collect();
    let meets = |hunk: &Hunk| match hunk.before.is_empty() {
        true => lines.contains(&hunk.before.start),
        false => hunk.before.clone().any(|line| lines.contains(&line)),
    };
    mended.hunks.iter().any(|hunk| !hunk.after.is_empty() && meets(hunk))
}

/// Why a fault is gone where its statement was left out that the sound plan has.
fn left_out(fault: &Fault, mended: &Mended<'_>) -> Option<String> {
    let statements = fault.changed.iter().filter(|one| !one.was.is_empty() && !one.is.is_empty());
    for changed in statements {
        let own = changed.line - 1..changed.line - 1 + changed.is.len();
        let covers = |hunk: &&Hunk| hunk.before.start <= own.start && own.end <= hunk.before.end;
        let hunk = mended.hunks.iter().find(covers);
        // Beside other changes a statement may come out as left out and written anew.
        let written = |line: &String| mended.text.lines().any(|own| own.trim() == line.trim());
        if hunk.is_some_and(|hunk| hunk.after.is_empty()) && !changed.was.iter().all(written) {
            return Some(format!("`{}` was left out", changed.is.first().map_or("", String::as_str)));
        }
    }
    None
}

/// What is found in the exercise with those of its mistakes put right that the answer has put right: what the others do by themselves, or no
/// longer hide, is not newly made. What is put right in part is so where it was written wrong.
fn left(outcomes: &[Outcome], held: &Held<'_>) -> Count {
    let mut lines: Vec<&str> = held.exercise.text.lines().collect();
    let settled = held.exercise.faults.iter().zip(outcomes).filter(|(_, outcome)| put_right(**outcome));
    let mut changes: Vec<_> = settled.flat_map(|(fault, _)| &fault.changed).collect();
    changes.sort_by_key(|one| std::cmp::Reverse(one.line));
    for one in changes {
        let from = one.line.saturating_sub(1).min(lines.len());
        let to = (from + one.is.len()).min(lines.len());
        lines.splice(from..to, one.was.iter().map(String::as_str));
    }
    let by = held.by;
    Count::open(&report_on(&by.key.plan.name, &(lines.join("\n") + "\n"), by.rules, by.today))
}

fn put_right(outcome: Outcome) -> bool {
    matches!(outcome, Outcome::Mended | Outcome::Partly)
}

fn new_findings(mended: &Mended<'_>, outcomes: &[Outcome], held: &Held<'_>) -> Vec<NewFinding> {
    let settled = outcomes.iter().filter(|outcome| put_right(**outcome)).count();
    // With none of them put right it is the exercise, with all of them the sound plan.
    let some = 0 < settled && settled < outcomes.len();
    let left = if some { left(outcomes, held) } else { Count::default() };
    let mut known = std::collections::HashMap::new();
    let mut new = Vec::new();
    for finding in mended.report.findings.iter().filter(|finding| finding.accepted.is_none()) {
        let told = Told::of(finding);
        let most = held.sound.of(&told).max(held.begun.open.of(&told)).max(left.of(&told));
        let count: &mut usize = known.entry(told).or_default();
        *count += 1;
        if *count > most && new.len() < MOST_NEW {
            let line = line_of(&mended.report, finding);
            new.push(NewFinding { rule: finding.rule.to_string(), line, message: finding.message.clone() });
        }
    }
    new
}

/// The statements that no fault touched, and without whose change the plan checks just the same.
fn needless(mended: &Mended<'_>, held: &Held<'_>) -> Vec<Needless> {
    let by = held.by;
    let touched: HashSet<usize> = held.exercise.faults.iter().flat_map(Fault::lines).collect();
    let of_a_fault = |hunk: &Hunk| match hunk.before.is_empty() {
        true => touched.contains(&(hunk.before.start + 1)) || touched.contains(&hunk.before.start),
        false => hunk.before.clone().any(|line| touched.contains(&(line + 1))),
    };
    let others = mended.hunks.iter().filter(|hunk| !of_a_fault(hunk)).take(MOST_TRIED);
    let idle = others.filter(|hunk| {
        let Some(text) = as_it_was(&held.exercise.text, mended.text, hunk) else { return false };
        let report = report_on(&by.key.plan.name, &text, by.rules, by.today);
        Count::open(&report) == mended.open && Count::accepted(&report) == mended.accepted
    });
    let told = idle.map(|hunk| Needless {
        line: hunk.after.start + 1,
        was: lines(&held.exercise.text, &hunk.before).join(" / "),
        is: lines(mended.text, &hunk.after).join(" / "),
    });
    told.collect()
}

/// A text with one stretch as another has it.
fn as_it_was(before: &str, after: &str, hunk: &Hunk) -> Option<String> {
    let old: Vec<&str> = before.lines().collect();
    let new: Vec<&str> = after.lines().collect();
    let parts = [new.get(..hunk.after.start)?, old.get(hunk.before.clone())?, new.get(hunk.after.end..)?];
    let mut text = parts.concat().join("\n");
    text.push('\n');
    Some(text)
}

/// The rooms of a file: which statement each is, and its name.
fn rooms_of(file: &tree::File) -> Vec<(usize, String)> {
    let rooms = file.statements.iter().enumerate().filter_map(|(number, statement)| match statement {
        Statement::Room(room) => Some((number, room.name.text.clone())),
        _ => None,
    });
    rooms.collect()
}

/// A thing and its room's name: `cable a`.
type Thing = (Option<String>, String);

/// What the sound plan and the learner's had and an answer hasn't, and the cables of which little is left. What was drawn by mistake is no part
/// of it: to take that out is to mend it.
struct Gone {
    things: HashSet<Thing>,
    shortened: HashSet<Thing>,
}

impl Gone {
    fn between(before: &tree::File, after: &tree::File, text: &str, mended: &Measured, held: &Held<'_>) -> Gone {
        let things = |file: &tree::File| -> HashSet<Thing> {
            let rooms = rooms_of(file);
            let room = |number: Option<usize>| {
                rooms.iter().find(|(own, _)| Some(*own) == number).map(|(_, name)| name.clone())
            };
            let given = occurrences(file).into_iter().filter(|name| name.declares);
            given.map(|name| (room(name.room), format!("{} {}", name.kind.statement(), name.text))).collect()
        };
        let (sound, then) = (things(&layout::parse(&held.by.key.plan.text)), things(after));
        let gone = things(before).into_iter().filter(|thing| sound.contains(thing) && !then.contains(thing)).collect();
        let least = held.by.scheme.laid_share / 100.0;
        let now = lengths(mended);
        // A mistake may have made the cable longer than it should be.
        let sound_lengths = lengths(&Measured::new(plan_of("", &held.by.key.plan.text)));
        let begun = lengths(&Measured::new(plan_of("", text))).into_iter().map(|(thing, length)| {
            let should = sound_lengths.iter().find(|(own, _)| *own == thing).map_or(length, |(_, should)| *should);
            (thing, length.min(should))
        });
        let short = begun.filter(|(thing, length)| {
            now.iter().find(|(own, _)| own == thing).is_none_or(|(_, now)| *now < length * least)
        });
        Gone { things: gone, shortened: short.map(|(thing, _)| thing).collect() }
    }

    /// What of a fault is gone, in words.
    fn of(&self, fault: &Fault, worked_on: bool) -> Option<String> {
        let in_room = |room: &Option<String>| room.is_none() || fault.room.is_none() || *room == fault.room;
        let is_cable = |thing: &str| thing.starts_with("cable ");
        // What is found of a room, its sensor or its floor is gone with any of its cables, unless something was done about it.
        let with_cable = !worked_on && !fault.things.iter().any(|thing| is_cable(thing));
        let own =
            |(room, thing): &&Thing| in_room(room) && (fault.things.contains(thing) || (with_cable && is_cable(thing)));
        let mut gone: Vec<&Thing> = self.things.iter().filter(own).collect();
        gone.sort();
        if let Some((_, thing)) = gone.first() {
            return Some(format!("`{thing}` was taken away"));
        }
        let mut short: Vec<&Thing> = self.shortened.iter().filter(own).collect();
        short.sort();
        short.first().map(|(_, thing)| format!("little is left of `{thing}`"))
    }
}

/// How long each cable is drawn, mm.
fn lengths(measured: &Measured) -> Vec<(Thing, f64)> {
    let rooms = measured.rooms().flat_map(|room| {
        let lengths = room.room.cables.iter().enumerate().map(|(number, cable)| {
            let thing = (Some(room.room.name.text.clone()), format!("cable {}", cable.name.text));
            (thing, room.drawn_length(number))
        });
        lengths.collect::<Vec<_>>()
    });
    rooms.collect()
}
