//! Rule packs: those that come with the program, and how packs are put together.

use std::collections::HashMap;

use rayon::prelude::*;

use super::check::{AmendedLimit, PackFault, check, renamed};
use super::faults::Fault;
use super::program::Rule;
use super::tree::{self, Line, Statement, SyntaxFault, Word};
use crate::source::Span;
use crate::text::{nearest, quoted};

/// A rule pack: its name, as its reader is shown it, and its text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pack {
    /// A path, or the name of a built-in pack.
    pub name: String,
    /// Its text.
    pub text: String,
}

macro_rules! packs {
    ($($file:literal),* $(,)?) => {
        /// The packs that come with the program, one a theme.
        pub const BUILT_IN: &[(&str, &str)] = &[$((concat!("rules/", $file), include_str!(concat!("../../rules/", $file)))),*];
    };
}

packs!(
    "laying.rule",
    "obstacles.rule",
    "sensor.rule",
    "kit.rule",
    "tail.rule",
    "circuit.rule",
    "record.rule",
    "coverage.rule",
    "heat.rule",
    "floor.rule",
    "deviations.rule"
);

/// The packs that come with the program.
pub fn built_in() -> Vec<Pack> {
    BUILT_IN.iter().map(|(name, text)| Pack { name: (*name).to_string(), text: (*text).to_string() }).collect()
}

/// What is wrong with one pack.
#[derive(Debug, Clone)]
pub struct PackFaults {
    /// The pack.
    pub pack: Pack,
    /// Everything that is wrong with it, in the order of its text.
    pub faults: Vec<SyntaxFault>,
}

/// Rules ready to be held to plans.
#[derive(Debug, Clone)]
pub struct RuleSet {
    /// The packs they came from.
    pub packs: Vec<Pack>,
    /// The rules, in the order of the packs; those switched off are kept, without a severity.
    pub rules: Vec<Rule>,
    /// What packs say in words that are no longer the newest.
    pub notes: Vec<String>,
}

impl RuleSet {
    /// The value of a limit of a rule, in the units of [`quantity`](crate::quantity), by which others reckon as the rule does; it counts
    /// where the rule is switched off too.
    ///
    /// # Errors
    /// That there is none, in words.
    pub fn limit(&self, rule: &str, name: &str) -> Result<f64, String> {
        let limits = self.rule(rule).map_or(&[][..], |rule| rule.limits.as_slice());
        let limit = limits.iter().find(|limit| limit.name == name);
        limit.map(|limit| limit.value.value).ok_or_else(|| format!("no rule `{rule}` gives a limit `{name}`"))
    }

    /// Puts packs together: rules as they stand, changed by the amendments of any pack.
    ///
    /// ```
    /// use layrule::rules::packs::{RuleSet, Pack, built_in};
    /// let mut packs = built_in();
    /// packs.push(Pack { name: "ours.rule".into(), text: "amend spacing { limit minimum = 60 mm }".into() });
    /// assert!(RuleSet::build(packs).is_ok());
    /// ```
    ///
    /// # Errors
    /// All that is wrong with any of the packs, pack by pack.
    pub fn build(packs: Vec<Pack>) -> Result<RuleSet, Vec<PackFaults>> {
        let trees: Vec<tree::File> = packs.par_iter().map(|pack| super::parse(&pack.text)).collect();
        let mut faults: Vec<PackFault> = Vec::new();
        for (index, tree) in trees.iter().enumerate() {
            faults.extend(tree.faults.iter().map(|fault| (index, fault.clone())));
        }
        let known = known_rules(&packs, &trees, &mut faults);
        unknown_rules(&trees, &known, &mut faults);
        let amendments = Amendments::of(&trees, &known, &mut faults);
        let notes = amendments.notes(&packs);
        let mut rules = Vec::new();
        for (index, rule) in rules_of(&trees) {
            let name = rule.name.text.as_str();
            let amended = amendments.limits.get(name).map_or(&[][..], Vec::as_slice);
            match check(rule, &packs[index].text, index, amendments.severities.get(name).copied(), amended) {
                Ok(rule) => rules.push(rule),
                Err(found) => faults.extend(found),
            }
        }
        if faults.is_empty() { Ok(RuleSet { packs, rules, notes }) } else { Err(by_pack(packs, faults)) }
    }

    /// The rule of that name.
    pub fn rule(&self, name: &str) -> Option<&Rule> {
        self.rules.iter().find(|rule| *rule.name == *name)
    }
}

fn rules_of(trees: &[tree::File]) -> impl Iterator<Item = (usize, &tree::Rule)> {
    trees.iter().enumerate().flat_map(|(index, tree)| {
        tree.statements.iter().filter_map(move |statement| match statement {
            Statement::Rule(rule) => Some((index, rule)),
            Statement::Amend(_) => None,
        })
    })
}

/// Which pack each rule is from, by the rule's name. Faults for names that are taken.
fn known_rules<'t>(packs: &[Pack], trees: &'t [tree::File], faults: &mut Vec<PackFault>) -> HashMap<&'t str, usize> {
    let mut known: HashMap<&str, usize> = HashMap::new();
    for (index, rule) in rules_of(trees) {
        let Word { text: name, span } = &rule.name;
        if crate::finding::ids::ALL.contains(&name.as_str()) {
            faults.push((index, Fault::NameTaken(name.clone()).at(*span)));
        }
        if let Some(earlier) = known.insert(name, index) {
            let elsewhere = (earlier != index).then(|| packs[earlier].name.clone());
            faults.push((index, Fault::RuleTwice(name.clone(), elsewhere).at(*span)));
        }
    }
    known
}

/// Faults for rules that lines `unless` name and that aren't there.
fn unknown_rules(trees: &[tree::File], known: &HashMap<&str, usize>, faults: &mut Vec<PackFault>) {
    for (index, rule) in rules_of(trees) {
        let named = rule.lines.iter().filter_map(|(line, _)| match line {
            Line::Unless(rules) => Some(rules),
            _ => None,
        });
        for word in named.flatten().filter(|word| !known.contains_key(word.text.as_str())) {
            let near = nearest(&word.text, known.keys().copied()).map(String::from);
            faults.push((index, Fault::NoSuchRule(word.text.clone(), near).at(word.span)));
        }
    }
}

/// What the packs change of rules that stand elsewhere, by the rules' names.
#[derive(Default)]
struct Amendments<'t> {
    severities: HashMap<&'t str, &'t str>,
    limits: HashMap<&'t str, Vec<AmendedLimit<'t>>>,
}

impl<'t> Amendments<'t> {
    /// All of them. Faults for those of rules that aren't there.
    fn of(trees: &'t [tree::File], known: &HashMap<&str, usize>, faults: &mut Vec<PackFault>) -> Self {
        let mut all = Amendments::default();
        for (index, tree) in trees.iter().enumerate() {
            for statement in &tree.statements {
                let Statement::Amend(amend) = statement else { continue };
                let name = amend.name.text.as_str();
                if known.contains_key(name) {
                    all.add(name, &amend.lines, index);
                } else {
                    let near = nearest(name, known.keys().copied()).map(String::from);
                    faults.push((index, Fault::NoSuchRule(name.into(), near).at(amend.name.span)));
                }
            }
        }
        all
    }

    fn add(&mut self, rule: &'t str, lines: &'t [(Line, Span)], pack: usize) {
        for (line, _) in lines {
            match line {
                Line::Severity(word) => {
                    self.severities.insert(rule, &word.text);
                }
                Line::Limit { name, value, .. } => {
                    self.limits.entry(rule).or_default().push(AmendedLimit { name, value, pack });
                }
                _ => {}
            }
        }
    }

    /// What is said of limits by names that they no longer have.
    fn notes(&self, packs: &[Pack]) -> Vec<String> {
        let mut notes = Vec::new();
        for (rule, amended) in &self.limits {
            for AmendedLimit { name, pack, .. } in amended {
                if let Some(now) = renamed(rule, &name.text) {
                    let become_of = match now {
                        [] => "is no more, and sets nothing".into(),
                        now => format!("is now called {}", quoted(now.iter().copied(), "and")),
                    };
                    notes.push(format!("{}: limit `{}` of rule `{rule}` {become_of}", packs[*pack].name, name.text));
                }
            }
        }
        notes.sort();
        notes
    }
}

/// The packs that have faults, each with its own in the order of its text.
fn by_pack(packs: Vec<Pack>, faults: Vec<PackFault>) -> Vec<PackFaults> {
    let mut by_pack: Vec<PackFaults> = packs.into_iter().map(|pack| PackFaults { pack, faults: Vec::new() }).collect();
    for (index, fault) in faults {
        by_pack[index].faults.push(fault);
    }
    by_pack.retain(|pack| !pack.faults.is_empty());
    for pack in &mut by_pack {
        pack.faults.sort_by_key(|fault| fault.span);
        pack.faults.dedup();
    }
    by_pack
}
