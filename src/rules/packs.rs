//! Rule packs: those that come with the program, and how packs are put together.

use std::collections::HashMap;

use rayon::prelude::*;

use super::check::{AmendedLimit, Fault, check, renamed};
use super::program::Rule;
use super::tree::{self, Line, Statement, SyntaxFault};
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
        let mut faults: Vec<Fault> = Vec::new();
        for (index, tree) in trees.iter().enumerate() {
            faults.extend(tree.faults.iter().map(|fault| (index, fault.clone())));
        }
        let mut known: HashMap<&str, usize> = HashMap::new();
        for (index, rule) in rules_of(&trees) {
            if crate::finding::ids::ALL.contains(&rule.name.text.as_str()) {
                let fault = SyntaxFault {
                    span: rule.name.span,
                    message: format!("`{}` is what faults of reading a plan are called", rule.name.text),
                    label: "taken".into(),
                    instead: None,
                    help: Some("give the rule another name".into()),
                };
                faults.push((index, fault));
            }
            if let Some(earlier) = known.insert(&rule.name.text, index) {
                let same = if earlier == index { "here".to_string() } else { format!("in {}", packs[earlier].name) };
                let fault = SyntaxFault {
                    span: rule.name.span,
                    message: format!("rule `{}` is defined twice", rule.name.text),
                    label: format!("already defined {same}"),
                    instead: None,
                    help: Some("give it another name, or change the other with `amend`".into()),
                };
                faults.push((index, fault));
            }
        }
        for (index, rule) in rules_of(&trees) {
            let named = rule.lines.iter().filter_map(|(line, _)| match line {
                tree::Line::Unless(rules) => Some(rules),
                _ => None,
            });
            for word in named.flatten().filter(|word| !known.contains_key(word.text.as_str())) {
                let near = nearest(&word.text, known.keys().copied());
                let help = match near {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => "`layrule rules` lists the rules there are".into(),
                };
                let fault = SyntaxFault {
                    span: word.span,
                    message: format!("there is no rule `{}`", word.text),
                    label: "not known".into(),
                    instead: near.map(String::from),
                    help: Some(help),
                };
                faults.push((index, fault));
            }
        }
        let mut severities: HashMap<&str, &str> = HashMap::new();
        let mut limits: HashMap<&str, Vec<AmendedLimit<'_>>> = HashMap::new();
        for (index, tree) in trees.iter().enumerate() {
            for statement in &tree.statements {
                let Statement::Amend(amend) = statement else { continue };
                let name = amend.name.text.as_str();
                if !known.contains_key(name) {
                    let near = nearest(name, known.keys().copied());
                    let help = match near {
                        Some(near) => format!("did you mean `{near}`?"),
                        None => "`layrule rules` lists the rules there are".into(),
                    };
                    let fault = SyntaxFault {
                        span: amend.name.span,
                        message: format!("there is no rule `{name}` to amend"),
                        label: "not known".into(),
                        instead: near.map(String::from),
                        help: Some(help),
                    };
                    faults.push((index, fault));
                    continue;
                }
                for (line, _) in &amend.lines {
                    match line {
                        Line::Severity(word) => {
                            severities.insert(name, &word.text);
                        }
                        Line::Limit { name: limit, value, .. } => {
                            limits.entry(name).or_default().push(AmendedLimit { name: limit, value, pack: index });
                        }
                        _ => {}
                    }
                }
            }
        }
        let mut notes = Vec::new();
        for (rule, amended) in &limits {
            for own in amended {
                if let Some(now) = renamed(rule, &own.name.text) {
                    let now = quoted(now.iter().copied(), "and");
                    let pack = &packs[own.pack].name;
                    notes.push(format!("{pack}: limit `{}` of rule `{rule}` is now called {now}", own.name.text));
                }
            }
        }
        notes.sort();
        let mut rules = Vec::new();
        for (index, rule) in rules_of(&trees) {
            let name = rule.name.text.as_str();
            let amended = limits.get(name).map_or(&[][..], Vec::as_slice);
            match check(rule, &packs[index].text, index, severities.get(name).copied(), amended) {
                Ok(rule) => rules.push(rule),
                Err(found) => faults.extend(found),
            }
        }
        if faults.is_empty() {
            return Ok(RuleSet { packs, rules, notes });
        }
        let mut by_pack: Vec<PackFaults> =
            packs.into_iter().map(|pack| PackFaults { pack, faults: Vec::new() }).collect();
        for (index, fault) in faults {
            by_pack[index].faults.push(fault);
        }
        by_pack.retain(|pack| !pack.faults.is_empty());
        for pack in &mut by_pack {
            pack.faults.sort_by_key(|fault| fault.span);
            pack.faults.dedup();
        }
        Err(by_pack)
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
