//! Marks: what learners made of an exercise, held to its key.
//!
//! An answer is a mended plan (`plan`) or a table of what was found (`table`). Findings of a mended plan are compared with the key's by rule and
//! thing, never by line. `scheme` says what each is worth, `hints` what a learner is told of what is still there; `outputs`, one file each.
//! Nothing here reads a file or writes one.

pub mod hints;
pub mod outputs;
mod plan;
pub mod scheme;
pub mod table;

use std::collections::HashMap;

use crate::exercise::changes::hunks;
use crate::exercise::key::{Exercise, Fault, Key};
use crate::exercise::provoke::report_on;
use crate::exercise::told::Count;
use crate::rules::packs::RuleSet;
use crate::text::quoted;
use crate::worded::Worded;
use hints::Hint;
use scheme::Scheme;

/// What a learner handed in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// What its file is called.
    pub file: String,
    /// What it holds; or why it can't be read.
    pub content: Result<Content, String>,
}

/// What an answer holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Content {
    /// A mended plan.
    Plan(String),
    /// A table of findings, as comma-separated values.
    Table(String),
}

/// What became of a fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Outcome {
    /// Mended, with all that followed from it.
    Mended,
    /// Its rule finds nothing any more, but others still find what followed from it.
    Partly,
    /// Nothing is found any more, since what it was about was taken away.
    TakenAway,
    /// It is there, and was agreed to in a deviation.
    Agreed,
    /// It can't be told: the plan can't be read whole, or no longer says what its rule asks for.
    Untold,
    /// It is still there.
    StillThere,
    /// Named in a table with its rule and its line.
    Found,
    /// Its rule alone is named.
    RuleAlone,
    /// Its line alone is named.
    PlaceAlone,
    /// It is not in the table.
    Missed,
}

impl Worded for Outcome {
    const WORDS: &'static [(Outcome, &'static str)] = &[
        (Outcome::Mended, "mended"),
        (Outcome::Partly, "partly"),
        (Outcome::TakenAway, "taken-away"),
        (Outcome::Agreed, "agreed"),
        (Outcome::Untold, "untold"),
        (Outcome::StillThere, "still-there"),
        (Outcome::Found, "found"),
        (Outcome::RuleAlone, "rule-alone"),
        (Outcome::PlaceAlone, "place-alone"),
        (Outcome::Missed, "missed"),
    ];
}

impl Outcome {
    /// As a person reads it.
    pub fn words(self) -> &'static str {
        match self {
            Outcome::TakenAway => "taken away",
            Outcome::StillThere => "still there",
            Outcome::RuleAlone => "rule alone",
            Outcome::PlaceAlone => "line alone",
            Outcome::Untold => "can't be told",
            other => other.word(),
        }
    }

    /// Whether a learner has something left to do about it.
    pub fn is_open(self) -> bool {
        !matches!(self, Outcome::Mended | Outcome::Found)
    }
}

/// What became of one fault of an exercise.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkedFault {
    /// The rule that it was made against.
    pub rule: String,
    /// What was done, in a phrase; not told of what is open where hints are asked for.
    pub done: Option<String>,
    /// What became of it.
    pub outcome: Outcome,
    /// Where it is at fault, from 1: in the answer where it is found there, else in the learner's plan. Told of what is open only as far as the
    /// hints that are asked for tell it.
    pub line: Option<usize>,
    /// Why it is so, where that is more than the outcome says.
    pub why: Option<String>,
    /// What the learner is told, by degrees.
    pub hints: Vec<(Hint, String)>,
}

impl MarkedFault {
    /// What became of a fault. Who asks for hints is shown no more than they tell: the answer is for the learner then.
    fn new(
        fault: &Fault,
        outcome: Outcome,
        line: Option<usize>,
        why: Option<String>,
        hints: Vec<(Hint, String)>,
        asked: Option<Hint>,
    ) -> Self {
        let shown = asked.is_none() || !outcome.is_open();
        let placed = shown || asked.is_some_and(|hint| hint >= Hint::Place);
        MarkedFault {
            rule: fault.rule.clone(),
            done: shown.then(|| fault.done.clone()),
            outcome,
            line: line.filter(|_| placed),
            why,
            hints,
        }
    }
}

/// Something that is found in a mended plan and was in neither the sound one nor the learner's.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewFinding {
    /// Its rule.
    pub rule: String,
    /// Its line in the answer, from 1.
    pub line: usize,
    /// What is said of it.
    pub message: String,
}

/// A statement that was changed and needn't have been.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Needless {
    /// Its line in the answer, from 1.
    pub line: usize,
    /// As the learner's plan had it.
    pub was: String,
    /// As the answer has it.
    pub is: String,
}

/// A row of a table that names no fault.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WrongRow {
    /// The line that it names, where it names one.
    pub line: Option<usize>,
    /// The rule that it names.
    pub rule: String,
    /// What is wrong with it, where that is more than that nothing is there.
    pub why: Option<String>,
}

/// An answer marked.
#[derive(Debug, Clone, PartialEq)]
pub struct Marked {
    /// The exercise.
    pub exercise: String,
    /// Whose it is.
    pub learner: Option<String>,
    /// Whether it is a table.
    pub table: bool,
    /// What became of each fault, in the order of the key.
    pub faults: Vec<MarkedFault>,
    /// What was newly made.
    pub new: Vec<NewFinding>,
    /// What was changed needlessly.
    pub needless: Vec<Needless>,
    /// Rows that name nothing.
    pub wrong: Vec<WrongRow>,
    /// The points, no fewer than none.
    pub points: f64,
    /// The most there are.
    pub most: f64,
    /// The mark, where the scheme gives marks.
    pub mark: Option<String>,
}

impl Marked {
    /// How many faults came to something.
    pub fn count(&self, outcome: Outcome) -> usize {
        self.faults.iter().filter(|fault| fault.outcome == outcome).count()
    }

    /// The points in per cent of the most.
    pub fn share(&self) -> f64 {
        if self.most > 0.0 { 100.0 * self.points / self.most } else { 0.0 }
    }
}

/// An answer with what it came to, or why it could not be marked.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkedAnswer {
    /// What its file is called.
    pub file: String,
    /// What it came to.
    pub marked: Result<Marked, String>,
}

/// A class marked.
#[derive(Debug, Clone, PartialEq)]
pub struct Class {
    /// The sound plan's name.
    pub plan: String,
    /// The answers, in the order in which they were given.
    pub answers: Vec<MarkedAnswer>,
    /// Exercises that nobody handed in an answer to: whose they are, or what they are known by.
    pub missing: Vec<String>,
}

impl Class {
    /// How many answers could not be marked.
    pub fn unmarked(&self) -> usize {
        self.answers.iter().filter(|answer| answer.marked.is_err()).count()
    }

    /// The mean of the shares of those that could, per cent; nothing where none could.
    pub fn mean(&self) -> Option<f64> {
        let shares: Vec<f64> =
            self.answers.iter().filter_map(|answer| answer.marked.as_ref().ok()).map(Marked::share).collect();
        (!shares.is_empty()).then(|| shares.iter().sum::<f64>() / shares.len() as f64)
    }

    /// Of each rule that mistakes were made against: how many there were, and how many were settled; in the order of their names.
    pub fn by_rule(&self) -> Vec<(String, usize, usize)> {
        let mut rules: std::collections::BTreeMap<&str, (usize, usize)> = std::collections::BTreeMap::new();
        for fault in self.answers.iter().filter_map(|answer| answer.marked.as_ref().ok()).flat_map(|one| &one.faults) {
            let own = rules.entry(&fault.rule).or_default();
            own.0 += 1;
            own.1 += usize::from(!fault.outcome.is_open());
        }
        rules.into_iter().map(|(rule, (all, settled))| (rule.to_string(), all, settled)).collect()
    }
}

/// What answers are marked by.
#[derive(Debug, Clone, Copy)]
pub struct MarkedBy<'m> {
    /// The key.
    pub key: &'m Key,
    /// The rules in force.
    pub rules: &'m RuleSet,
    /// The day on which deviations are judged to hold.
    pub today: jiff::civil::Date,
    /// What each thing is worth.
    pub scheme: &'m Scheme,
    /// How much is told of what is still there.
    pub hint: Option<Hint>,
}

/// Marks answers, each by itself: one that can't be read keeps no other from being marked.
pub fn mark(answers: &[Answer], by: MarkedBy<'_>) -> Class {
    use rayon::prelude::*;
    let key = by.key;
    let report = report_on(&key.plan.name, &key.plan.text, by.rules, by.today);
    let (sound, agreed) = (Count::open(&report), Count::accepted(&report));
    let whose: Vec<Result<&Exercise, String>> = answers.iter().map(|answer| exercise_of(answer, key)).collect();
    let asked: HashMap<&str, &Exercise> =
        whose.iter().filter_map(|one| one.as_ref().ok()).map(|one| (one.id.as_str(), *one)).collect();
    let begun: HashMap<&str, Begun> =
        asked.into_par_iter().map(|(id, exercise)| (id, Begun::new(exercise, by))).collect();
    let jobs: Vec<(&Answer, &Result<&Exercise, String>)> = answers.iter().zip(&whose).collect();
    let marked = jobs.par_iter().map(|(answer, whose)| {
        let marked = whose.as_ref().map_err(Clone::clone).and_then(|exercise| {
            let held = Held { by, exercise, sound: &sound, agreed: &agreed, begun: &begun[exercise.id.as_str()] };
            match &answer.content {
                Ok(Content::Plan(text)) => plan::mark(text, &held),
                Ok(Content::Table(text)) => table::mark(text, &held),
                Err(why) => Err(why.clone()),
            }
        });
        MarkedAnswer { file: answer.file.clone(), marked }
    });
    let missing = key.exercises.iter().filter(|exercise| !begun.contains_key(exercise.id.as_str()));
    let missing = missing.map(|one| one.learner.clone().unwrap_or_else(|| format!("exercise {}", one.id))).collect();
    Class { plan: key.plan.name.clone(), answers: marked.collect(), missing }
}

/// What is known of a learner's plan as it was handed out.
struct Begun {
    open: Count,
    accepted: Count,
    /// The rules that could not be held to it.
    unchecked: Vec<String>,
    /// Each open finding's rule and lines (from 1).
    found: Vec<(String, Vec<usize>)>,
}

impl Begun {
    fn new(exercise: &Exercise, by: MarkedBy<'_>) -> Begun {
        let report = report_on(&by.key.plan.name, &exercise.text, by.rules, by.today);
        let file = report.sources.get(crate::source::FileId(0));
        let line = |at: usize| file.map_or(0, |file| file.line_and_column(at).0);
        let found = report.findings.iter().filter(|one| one.accepted.is_none()).map(|finding| {
            let lines = finding.marks.iter().map(|mark| line(mark.place.span.start()));
            (finding.rule.to_string(), lines.collect())
        });
        Begun {
            open: Count::open(&report),
            accepted: Count::accepted(&report),
            unchecked: report.unchecked.iter().map(|one| one.rule.to_string()).collect(),
            found: found.collect(),
        }
    }
}

/// What an answer is held to.
struct Held<'h> {
    by: MarkedBy<'h>,
    exercise: &'h Exercise,
    /// What is open in the sound plan.
    sound: &'h Count,
    /// What deviations cover in it.
    agreed: &'h Count,
    begun: &'h Begun,
}

impl Held<'_> {
    /// A marked answer with its points.
    fn marked(&self, table: bool, faults: Vec<MarkedFault>) -> Marked {
        Marked {
            exercise: self.exercise.id.clone(),
            learner: self.exercise.learner.clone(),
            table,
            faults,
            new: Vec::new(),
            needless: Vec::new(),
            wrong: Vec::new(),
            points: 0.0,
            most: 0.0,
            mark: None,
        }
    }
}

/// How many lines of a plan are looked through for the exercise that it says it is.
const LINES_WITH_NUMBER: usize = 20;

/// Which exercise an answer is to.
fn exercise_of<'k>(answer: &Answer, key: &'k Key) -> Result<&'k Exercise, String> {
    let said = match answer.content.as_ref().map_err(Clone::clone)? {
        Content::Plan(text) => {
            let notes = text.lines().take(LINES_WITH_NUMBER).filter_map(|line| line.trim().strip_prefix('#'));
            notes.filter_map(|note| note.trim().strip_prefix("Exercise ")).find_map(number_in)
        }
        Content::Table(text) => table::exercise_in(text)?,
    };
    if let Some(said) = said {
        let own = key.exercises.iter().find(|exercise| exercise.id.eq_ignore_ascii_case(&said));
        return own.ok_or_else(|| format!("it is an answer to exercise {said}, which this key doesn't hold"));
    }
    match (&key.exercises[..], &answer.content) {
        ([only], _) => Ok(only),
        (_, Ok(Content::Plan(text))) => most_alike(text, key),
        _ => Err("it doesn't say which exercise it answers; write its number into a column `exercise`".into()),
    }
}

/// The number of an exercise that a text begins with.
fn number_in(text: &str) -> Option<String> {
    let end = text.find(|c: char| !c.is_ascii_hexdigit()).unwrap_or(text.len());
    (end == 8).then(|| text[..end].to_string())
}

/// The exercise that a plan differs least from, where no other is as near.
fn most_alike<'k>(text: &str, key: &'k Key) -> Result<&'k Exercise, String> {
    let far = |exercise: &Exercise| -> usize {
        hunks(&exercise.text, text).iter().map(|hunk| hunk.before.len() + hunk.after.len()).sum()
    };
    let mut near: Vec<(usize, &Exercise)> = key.exercises.iter().map(|exercise| (far(exercise), exercise)).collect();
    near.sort_by_key(|(far, _)| *far);
    match near.as_slice() {
        [(first, own), (second, _), ..] if first < second => Ok(own),
        [(_, one), (_, other), ..] => {
            let ids = quoted([one.id.as_str(), other.id.as_str()].into_iter(), "and");
            Err(format!("its first line doesn't say which exercise it answers, and it is as like {ids}"))
        }
        _ => Err("the key holds no exercise".into()),
    }
}
