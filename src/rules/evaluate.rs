//! Holds a plan to rules.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use super::program::{Expr, Part, Rule, Step, Template};
use super::value::{Type, Untold, Value};
use crate::finding::{Acceptance, Finding};
use crate::quantity::Quantity;
use crate::source::Span;
use crate::things::{Item, RoomId, World, show_place};

/// What came of holding a plan to rules.
#[derive(Debug, Clone, Default)]
pub struct Outcome {
    /// In the order of their places.
    pub findings: Vec<Finding>,
    /// How many rules were held to everything they speak of.
    pub checked: usize,
    /// The rules that were not, each with why.
    pub unchecked: Vec<Unchecked>,
    /// What rules themselves got wrong.
    pub faults: Vec<RuleFault>,
}

/// That a rule could not be held to something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unchecked {
    /// The rule's name.
    pub rule: Arc<str>,
    /// Why.
    pub reason: String,
}

/// That a rule can't work something out for this plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RuleFault {
    /// The rule's name.
    pub rule: Arc<str>,
    /// Its pack.
    pub pack: usize,
    /// Where in the pack.
    pub span: Span,
    /// What is wrong.
    pub message: String,
}

/// How many different reasons are kept for a rule that could not be held.
const MOST_REASONS: usize = 8;

/// How many values a rule may work out on a plan, besides [`STEPS_EACH`] for each thing that it checks: gatherings over all runs for each run
/// grow with the square of their number.
const MOST_STEPS: usize = 30_000_000;

/// How many values all rules together may work out on a plan.
const MOST_STEPS_IN_ALL: usize = 60_000_000;

/// How many values a rule may work out for each thing that it checks whatever the others take: more than a rule of a page does.
const STEPS_EACH: usize = 200;

/// How much one rule may have to say of a plan, bytes.
const MOST_WORDS: usize = 16 * 1024 * 1024;

/// How much all rules together may have to say of a plan, bytes.
const MOST_WORDS_IN_ALL: usize = 256 * 1024 * 1024;

/// For how many findings of a plan changes are worked out, and how many runs these may look at in all: many more than are tried.
const MOST_OFFERED: usize = 500;
const MOST_RUNS_OFFERED: usize = 1_000_000;

/// For how many findings of a plan it is worked out which stretches of the floor they speak of: more than a drawing marks. Of others one place
/// is told.
const MOST_SITES: usize = 2_000;

/// After how many things it is asked whether to stop.
const ITEMS_BETWEEN_STOPS: usize = 256;

/// How many findings of one rule are listed for a plan.
const MOST_FINDINGS: usize = 10_000;

/// How much of a finding is worked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Detail {
    /// All that there is to say.
    Whole,
    /// What tells it from others: its rule and severity, its room, the things that it is about and the line that it marks. That is all that is
    /// asked of a plan on which a change is tried, and the words, the figures and further changes are most of the work.
    ToTellApart,
}

/// Holds a plan to `rules`, those that go through deviations last.
pub fn evaluate(world: &mut World<'_>, rules: &[Rule], detail: Detail) -> Outcome {
    evaluate_until(world, rules, detail, &|| false)
}

/// As [`evaluate`], for as long as no one wants it to stop: what came of it is then of no use.
pub fn evaluate_until(world: &mut World<'_>, rules: &[Rule], detail: Detail, stop: &dyn Fn() -> bool) -> Outcome {
    let mut outcome = Outcome::default();
    let (last, first): (Vec<&Rule>, Vec<&Rule>) =
        rules.iter().filter(|rule| rule.severity.is_some()).partition(|rule| rule.program.asks_deviations);
    hold(world, &first, detail, &mut outcome, stop);
    accept(world, &mut outcome, &first);
    hold(world, &last, detail, &mut outcome, stop);
    yield_to_others(&mut outcome.findings, rules);
    outcome.findings.sort_by(|a, b| a.place().cmp(&b.place()).then_with(|| a.rule.cmp(&b.rule)));
    outcome
}

/// Takes out what is told of already: the findings of rules that say nothing beside those of others in the same room. What is kept is marked
/// where they were made, in their words.
fn yield_to_others(findings: &mut Vec<Finding>, rules: &[Rule]) {
    let yielding = rules.iter().filter(|rule| !rule.program.unless.is_empty());
    let beside: HashMap<&str, &[String]> = yielding.map(|rule| (&*rule.name, rule.program.unless.as_slice())).collect();
    if !findings.iter().any(|finding| beside.contains_key(&*finding.rule)) {
        return;
    }
    let open = |finding: &Finding| finding.accepted.is_none() && finding.room.is_some();
    // Of each rule and room the first finding, which tells of others.
    let mut first: HashMap<(String, Option<String>), usize> = HashMap::new();
    for (number, finding) in findings.iter().enumerate().filter(|(_, finding)| open(finding)) {
        first.entry((finding.rule.to_string(), finding.room.clone())).or_insert(number);
    }
    let teller = |one: &Finding| {
        let others = open(one).then(|| beside.get(&*one.rule)).flatten()?;
        let of = |name: &String| first.get(&(name.clone(), one.room.clone())).copied();
        others.iter().find_map(|name| of(name).filter(|number| findings[*number].severity >= one.severity))
    };
    let told: Vec<Option<usize>> = findings.iter().map(teller).collect();
    for number in 0..findings.len() {
        let Some(teller) = told[number] else { continue };
        let (place, message) = (findings[number].place(), findings[number].message.clone());
        let marks = &mut findings[teller].marks;
        if marks.len() < MOST_MARKS {
            super::findings::add_mark(marks, place, message);
        }
    }
    let mut told = told.into_iter();
    findings.retain(|_| told.next().flatten().is_none());
}

/// The most marks of a finding that tells of others.
const MOST_MARKS: usize = 12;

/// Marks the findings that a deviation covers, and the deviations that cover one.
fn accept(world: &mut World<'_>, outcome: &mut Outcome, rules: &[&Rule]) {
    if world.deviations.iter().all(Vec::is_empty) {
        return;
    }
    let unsure: HashSet<&str> = outcome.unchecked.iter().map(|unchecked| &*unchecked.rule).collect();
    for (room, states) in world.plan.rooms.iter().zip(&mut world.deviations) {
        for (deviation, state) in room.deviations.iter().zip(states) {
            let name = deviation.rule.text.as_str();
            // A deviation from a binding rule is an error in itself, and not unused besides.
            if rules.iter().any(|rule| rule.binding && *rule.name == *name) {
                (state.judged, state.matched) = (true, true);
                continue;
            }
            state.judged =
                !unsure.contains(name) && room.incomplete.is_none() && rules.iter().any(|rule| *rule.name == *name);
            for finding in &mut outcome.findings {
                let covered = &*finding.rule == name
                    && finding.room.as_deref() == Some(room.name.text.as_str())
                    && deviation.target.as_ref().is_none_or(|(kind, name)| {
                        finding.subjects.iter().any(|subject| subject.kind == *kind && subject.name == *name)
                    });
                if !covered {
                    continue;
                }
                state.matched = true;
                if !state.lapsed && finding.accepted.is_none() {
                    finding.accepted = Some(Acceptance {
                        reason: deviation.reason.clone(),
                        until: deviation.until,
                        place: deviation.place,
                    });
                }
            }
        }
    }
}

/// Holds a plan to some rules, one by one.
fn hold(world: &World<'_>, rules: &[&Rule], detail: Detail, outcome: &mut Outcome, stop: &dyn Fn() -> bool) {
    let slots = rules.iter().map(|rule| rule.program.slots).max().unwrap_or_default();
    let runs = world.plan.rooms.iter().flat_map(|room| &room.cables).map(|cable| cable.runs.len()).sum::<usize>();
    let mut judge = Judge {
        world,
        detail,
        slots: vec![Ok(Value::Truth(false)); slots],
        steps: 0,
        allowed: 0,
        left: MOST_STEPS_IN_ALL,
        words_left: MOST_WORDS_IN_ALL,
        sites_left: MOST_SITES,
        offers_left: MOST_OFFERED.min(MOST_RUNS_OFFERED / runs.max(1)),
        asked: HashSet::new(),
        stop,
        stopped: false,
    };
    for rule in rules {
        judge.stopped = judge.stopped || stop();
        if judge.stopped {
            return;
        }
        judge.hold(rule, outcome);
    }
}

fn note(reasons: &mut Vec<String>, reason: String) {
    if reasons.len() < MOST_REASONS && !reasons.contains(&reason) {
        reasons.push(reason);
    }
}

/// How much memory a finding takes, about.
fn words_of(finding: &Finding) -> usize {
    let marks = finding.marks.iter().map(|mark| mark.label.len() + 40);
    let figures = finding.figures.iter().map(|figure| figure.name.len() + figure.text.len() + 80);
    let fix = finding.offers.iter().flat_map(|fix| &fix.edits).map(|edit| edit.text.len() + 60);
    let words = finding.message.len() + finding.advice.as_ref().map_or(0, String::len);
    300 + words + marks.chain(figures).chain(fix).sum::<usize>()
}

enum Verdict {
    Passed,
    Found,
    Untold(Untold),
}

pub(super) struct Judge<'w, 'a> {
    pub(super) world: &'w World<'a>,
    detail: Detail,
    pub(super) slots: Vec<Result<Value, Untold>>,
    /// Values worked out for a rule so far.
    pub(super) steps: usize,
    /// How many may be.
    pub(super) allowed: usize,
    /// How many all rules may still work out beyond their [`STEPS_EACH`].
    left: usize,
    /// How much all rules may still say, bytes.
    words_left: usize,
    /// For how many findings changes may still be worked out.
    pub(super) offers_left: usize,
    /// For how many findings places may still be worked out.
    pub(super) sites_left: usize,
    /// What has been measured with values given to it: a field or a collection, the room, the values.
    pub(super) asked: HashSet<(&'static str, Option<RoomId>, Vec<u64>)>,
    stop: &'w dyn Fn() -> bool,
    stopped: bool,
}

impl Judge<'_, '_> {
    /// Holds the plan to one rule.
    fn hold(&mut self, rule: &Rule, outcome: &mut Outcome) {
        self.steps = 0;
        self.allowed = MOST_STEPS.min(self.left) + STEPS_EACH;
        let mut words_left = MOST_WORDS.min(self.words_left);
        let (words_allowed, mut items) = (words_left, 0);
        let program = &rule.program;
        let mut reasons: Vec<String> = Vec::new();
        let mut fault: Option<(Span, String)> = None;
        let mut arguments: Vec<f64> = Vec::new();
        match self.numbers(&program.arguments, program.span) {
            Ok(given) => arguments = given,
            Err(Untold::Faulty(span, message)) => fault = Some((span, message)),
            Err(Untold::Missing(_)) => fault = Some((program.span, "what it is given can't be had".into())),
        }
        let world = self.world;
        let findings = &mut outcome.findings;
        let mut found = 0;
        if fault.is_none() {
            (program.collection.visit)(world, &arguments, &mut |item| match item {
                Err(reason) => note(&mut reasons, reason),
                Ok(_) if words_left == 0 => {}
                Ok(item) => match self.verdict_of_next(rule, item, &mut items) {
                    Verdict::Passed => {}
                    Verdict::Found if found == MOST_FINDINGS => {
                        note(&mut reasons, format!("it found more than the {MOST_FINDINGS} that are listed"));
                    }
                    Verdict::Found => {
                        found += 1;
                        let finding = match self.detail {
                            Detail::Whole => self.finding(rule, item),
                            Detail::ToTellApart => self.bare_finding(rule, item),
                        };
                        match words_left.checked_sub(words_of(&finding)) {
                            Some(left) => {
                                words_left = left;
                                findings.push(finding);
                            }
                            None => {
                                words_left = 0;
                                note(&mut reasons, "it has more to say of this plan than is kept".into());
                            }
                        }
                    }
                    Verdict::Untold(Untold::Missing(reason)) => note(&mut reasons, reason),
                    Verdict::Untold(Untold::Faulty(span, message)) => {
                        fault.get_or_insert((span, message));
                    }
                },
            });
        }
        self.left = self.left.saturating_sub(self.steps.saturating_sub(items * STEPS_EACH));
        self.words_left -= words_allowed - words_left;
        if let Some((span, message)) = fault {
            outcome.faults.push(RuleFault { rule: Arc::clone(&rule.name), pack: rule.pack, span, message });
        } else if reasons.is_empty() {
            outcome.checked += 1;
        }
        outcome.unchecked.extend(reasons.into_iter().map(|reason| Unchecked { rule: Arc::clone(&rule.name), reason }));
    }

    /// The verdict on one more thing.
    fn verdict_of_next(&mut self, rule: &Rule, item: Item, items: &mut usize) -> Verdict {
        *items += 1;
        self.allowed += STEPS_EACH;
        if items.is_multiple_of(ITEMS_BETWEEN_STOPS) {
            self.stopped = self.stopped || (self.stop)();
        }
        if self.stopped { Verdict::Passed } else { self.verdict(rule, item) }
    }

    /// Keeps a value for what asks for it next.
    pub(super) fn keep(&mut self, slot: usize, value: Value) {
        self.slots[slot] = Ok(value);
    }

    fn verdict(&mut self, rule: &Rule, item: Item) -> Verdict {
        self.slots[0] = Ok(Value::Item(item));
        for step in &rule.program.steps {
            match step {
                Step::Where(condition) => match self.truth(condition) {
                    Ok(true) => {}
                    Ok(false) => return Verdict::Passed,
                    Err(untold) => return Verdict::Untold(untold),
                },
                Step::Let(slot, expr) => {
                    let value = self.value(expr);
                    self.slots[*slot] = value;
                }
                Step::Needs(expr) => {
                    if let Err(untold) = self.value(expr) {
                        return Verdict::Untold(untold);
                    }
                }
            }
        }
        match rule.program.require.as_ref().map(|condition| self.truth(condition)) {
            Some(Ok(true)) => Verdict::Passed,
            Some(Err(untold)) => Verdict::Untold(untold),
            _ => Verdict::Found,
        }
    }

    /// The first of some texts whose condition holds and whose values are all there.
    pub(super) fn first_text(&mut self, texts: &[(Option<Expr>, Template)], extra: usize) -> Option<String> {
        texts.iter().find_map(|(condition, template)| {
            let applies =
                condition.as_ref().is_none_or(|condition| matches!(self.value(condition), Ok(Value::Truth(true))));
            if applies { self.text(template, extra) } else { None }
        })
    }

    /// A text with its values filled in; nothing where one is missing.
    pub(super) fn text(&mut self, template: &Template, extra: usize) -> Option<String> {
        let mut text = String::new();
        for part in &template.parts {
            match part {
                Part::Text(part) => text.push_str(part),
                Part::Value(expr, kind, unit) => match (self.value(expr).ok()?, kind) {
                    (Value::Number(value), Type::Quantity(dimension)) => {
                        text.push_str(&Quantity::new(value, *dimension).show_as(*unit, extra))
                    }
                    (Value::Text(value), _) => text.push_str(&value),
                    (Value::Truth(value), _) => text.push_str(if value { "yes" } else { "no" }),
                    (Value::Place(at), _) => text.push_str(&show_place(at)),
                    (Value::Item(item), _) => text.push_str(&item.describe(self.world)),
                    _ => return None,
                },
            }
        }
        Some(text)
    }
}
