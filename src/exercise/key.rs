//! The key to exercises: what was made wrong, what it provokes, and by what the sound plan and each learner's are known. One JSON file,
//! described by `grammar/key.schema.json`.

use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};

use super::changes::{hunks, lines};
use super::choose::{Mistake, touched};
use super::provoke::{changed, report_on};
use super::sound::Sound;
use super::told::Told;
use crate::checker::Report;
use crate::layout::names::occurrences;
use crate::rules::packs::RuleSet;
use crate::source::{FileId, one_line};

/// What a key says that it is.
pub const FORMAT: &str = "layrule-exercise-key";
/// The version of the form; it grows when a reader of an older one could go wrong.
pub const VERSION: u32 = 1;
/// The largest key that is read, bytes.
pub const LARGEST: u64 = 32 * 1024 * 1024;

/// A key.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Key {
    /// [`FORMAT`].
    pub format: String,
    /// [`VERSION`].
    pub version: u32,
    /// The sound plan.
    pub plan: SoundPlan,
    /// What the rules are known by that the mistakes were held to.
    pub rules: String,
    /// The day on which deviations were judged to hold.
    pub date: String,
    /// What the mistakes were drawn by.
    pub seed: u64,
    /// An exercise a learner, or one.
    pub exercises: Vec<Exercise>,
}

/// The sound plan that exercises were made of.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SoundPlan {
    /// What it is called.
    pub name: String,
    /// What its text is known by.
    pub fingerprint: String,
    /// Its text in one file, without notes.
    pub text: String,
}

/// An exercise.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Exercise {
    /// What it is known by; the first line of the learner's plan says it.
    pub id: String,
    /// Whose it is, where it is somebody's.
    pub learner: Option<String>,
    /// The learner's folder, where there are several.
    pub folder: Option<String>,
    /// What the learner's plan is known by.
    pub fingerprint: String,
    /// The learner's plan.
    pub text: String,
    /// What is wrong with it, in the order of its lines.
    pub faults: Vec<Fault>,
}

/// Something that was made wrong.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Fault {
    /// The rule that it was done against.
    pub rule: String,
    /// The way that it was done.
    pub way: String,
    /// What was done, in a phrase.
    pub done: String,
    /// What is written otherwise than in the sound plan.
    pub changed: Vec<Changed>,
    /// The things that it is about, such as `cable a`: those that its rule names, and those whose statements were changed.
    pub things: Vec<String>,
    /// The room that it is in.
    pub room: Option<String>,
    /// What is found of it: by its own rule, and by others.
    pub provokes: Vec<Provokes>,
}

impl Fault {
    /// What its own rule finds of it.
    pub fn aimed(&self) -> impl Iterator<Item = &Provokes> {
        self.provokes.iter().filter(|one| one.aimed)
    }

    /// The lines of the learner's plan that were changed, from 1.
    pub fn lines(&self) -> impl Iterator<Item = usize> {
        self.changed.iter().flat_map(|one| one.line..one.line + one.is.len().max(1))
    }
}

/// Lines that are written otherwise.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Changed {
    /// The first of them in the learner's plan, from 1; where they were left out, the line that now stands there.
    pub line: usize,
    /// As the sound plan has them.
    pub was: Vec<String>,
    /// As the learner's has them.
    pub is: Vec<String>,
}

/// Something that is found of a fault.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Provokes {
    /// What it is told by.
    #[serde(flatten)]
    pub told: Told,
    /// Whether it is the rule that the fault was done against that finds it.
    pub aimed: bool,
    /// The lines of the learner's plan that are marked, from 1, the one at fault first; of what other faults hide, none.
    pub lines: Vec<usize>,
    /// What is said of it.
    pub messages: Vec<String>,
}

/// What a text is known by: 64 hexadecimal digits of its SHA-256.
pub fn fingerprint(text: &str) -> String {
    Sha256::digest(text.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// What rules are known by.
pub fn rules_fingerprint(rules: &RuleSet) -> String {
    let mut hash = Sha256::new();
    for pack in &rules.packs {
        hash.update((pack.text.len() as u64).to_le_bytes());
        hash.update(pack.text.as_bytes());
    }
    hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Reads a key.
///
/// # Errors
/// In words, where it is none, or not whole.
pub fn read(text: &str) -> Result<Key, String> {
    let any: serde_json::Value = serde_json::from_str(text).map_err(|error| format!("it is no JSON: {error}"))?;
    match any.get("format").and_then(serde_json::Value::as_str) {
        Some(FORMAT) => {}
        Some(other) => return Err(format!("it is a `{}`, not the key to exercises", one_line(other))),
        None => return Err("it doesn't say that it is the key to exercises".into()),
    }
    match any.get("version").and_then(serde_json::Value::as_u64) {
        Some(version) if version == u64::from(VERSION) => {}
        _ => {
            return Err(format!(
                "it is of another version than {VERSION}; make the exercises anew, or mark them with the program that made them"
            ));
        }
    }
    let mut key: Key = serde_json::from_value(any).map_err(|error| format!("it is not whole: {error}"))?;
    let odd = |line: usize| line == 0 || line > MOST_LINES;
    let mut lines = key.exercises.iter().flat_map(|one| &one.faults).flat_map(|fault| {
        let found = fault.provokes.iter().flat_map(|one| &one.lines);
        fault.changed.iter().map(|one| one.line).chain(found.copied())
    });
    if lines.any(odd) {
        return Err("it speaks of lines that no plan has: it was changed by hand".into());
    }
    drop(lines);
    plainly(&mut key);
    if fingerprint(&key.plan.text) != key.plan.fingerprint {
        return Err("its sound plan is not the one that it was made with: it was changed by hand".into());
    }
    match key.exercises.iter().find(|one| fingerprint(&one.text) != one.fingerprint) {
        Some(one) => Err(format!("exercise {} is not as it was made: it was changed by hand", one_line(&one.id))),
        None => Ok(key),
    }
}

/// More lines than a plan may have.
const MOST_LINES: usize = 10_000_000;

/// Leaves nothing in a key's own words that a terminal would obey: whoever hands it over may have written it.
fn plainly(key: &mut Key) {
    let plain = |text: &mut String| *text = one_line(text);
    for exercise in &mut key.exercises {
        plain(&mut exercise.id);
        exercise.learner.iter_mut().chain(&mut exercise.folder).for_each(plain);
        for fault in &mut exercise.faults {
            [&mut fault.rule, &mut fault.way, &mut fault.done].into_iter().for_each(plain);
            fault.things.iter_mut().chain(&mut fault.room).for_each(plain);
            for one in &mut fault.provokes {
                plain(&mut one.told.rule);
                one.told.about.iter_mut().chain(&mut one.told.room).chain(&mut one.messages).for_each(plain);
            }
        }
    }
    plain(&mut key.plan.name);
}

/// Where an exercise comes from.
#[derive(Debug, Clone, Copy)]
pub struct Origin<'o> {
    /// The sound plan.
    pub sound: &'o Sound,
    /// The rules that are held to it.
    pub rules: &'o RuleSet,
    /// The day on which deviations are judged to hold.
    pub today: jiff::civil::Date,
    /// What mistakes are drawn by.
    pub seed: u64,
}

/// Writes down an exercise: the learner's plan, and what is wrong with it. Nothing where the mistakes can't be made together.
pub fn exercise(
    origin: Origin<'_>,
    number: usize,
    learner: Option<(String, String)>,
    mistakes: &[Mistake],
) -> Option<Exercise> {
    let Origin { sound, rules, today, seed } = origin;
    let plan = changed(&sound.text, mistakes.iter().map(|one| &one.change))?;
    let id: String = fingerprint(&format!("{seed} {number} {plan}")).chars().take(8).collect();
    let whose = learner.as_ref().map_or(String::new(), |(name, _)| format!(": {name}"));
    let text = format!("# Exercise {id}{whose}\n{plan}");
    let report = report_on(&sound.name, &text, rules, today);
    let mut faults: Vec<Fault> = mistakes.iter().map(|mistake| fault(sound, mistake, &text, &report)).collect();
    faults.sort_by_key(|fault| fault.lines().next());
    let (learner, folder) = learner.unzip();
    Some(Exercise { id, learner, folder, fingerprint: fingerprint(&text), text, faults })
}

fn fault(sound: &Sound, mistake: &Mistake, text: &str, report: &Report) -> Fault {
    let edits: Vec<(usize, usize)> =
        mistake.change.edits.iter().map(|edit| touched(&sound.text, edit.place.span)).collect();
    let own = hunks(&sound.text, text).into_iter().filter(|hunk| {
        edits.iter().any(|(first, last)| match hunk.before.is_empty() {
            true => hunk.before.start == last + 1,
            false => hunk.before.start <= *last && *first < hunk.before.end,
        })
    });
    let changed = own.map(|hunk| Changed {
        line: hunk.after.start + 1,
        was: lines(&sound.text, &hunk.before),
        is: lines(text, &hunk.after),
    });
    let provokes = mistake.provoked.told.iter().map(|told| {
        let found: Vec<_> =
            report.findings.iter().filter(|finding| finding.accepted.is_none() && Told::of(finding) == *told).collect();
        let marks = found.iter().flat_map(|finding| &finding.marks).filter(|mark| mark.place.file == FileId(0));
        let mut lines: Vec<usize> = Vec::new();
        for mark in marks {
            let line = report.sources.get(FileId(0)).map_or(0, |file| file.line_and_column(mark.place.span.start()).0);
            if !lines.contains(&line) {
                lines.push(line);
            }
        }
        let messages = found.iter().map(|finding| finding.message.clone()).collect();
        Provokes { told: told.clone(), aimed: told.rule == mistake.rule, lines, messages }
    });
    let provokes: Vec<Provokes> = provokes.collect();
    let room = provokes.iter().find(|one| one.aimed).and_then(|one| one.told.room.clone());
    Fault {
        rule: mistake.rule.clone(),
        way: mistake.way.name.to_string(),
        done: mistake.change.said.clone(),
        changed: changed.collect(),
        things: things(sound, mistake, &provokes),
        room,
        provokes,
    }
}

/// What a fault is about.
fn things(sound: &Sound, mistake: &Mistake, provokes: &[Provokes]) -> Vec<String> {
    // What is written behind a statement changes nothing of it.
    let changed = mistake.change.edits.iter().filter(|edit| !edit.place.span.range().is_empty());
    let changed: Vec<(usize, usize)> = changed.map(|edit| touched(&sound.text, edit.place.span)).collect();
    let mut things: Vec<String> =
        provokes.iter().filter(|one| one.aimed).flat_map(|one| one.told.about.clone()).collect();
    for name in occurrences(&sound.tree()).iter().filter(|name| name.declares) {
        let (line, _) = touched(&sound.text, name.span);
        if changed.iter().any(|(first, last)| (*first..=*last).contains(&line)) {
            things.push(format!("{} {}", name.kind.statement(), name.text));
        }
    }
    let mut known = std::collections::HashSet::new();
    things.retain(|thing| known.insert(thing.clone()));
    things
}
