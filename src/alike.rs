//! Findings that a reader is told once: those of one rule that say the same of the same lines, and those that say the same of one thing.
//!
//! Twelve loops that one statement lays make twelve findings; what people read of a plan's lines shows one ([`alike`]). Twenty runs across
//! one joint are one thing to see on a drawing, whatever lines lay them: they share a number and its disc ([`together`]). Programs are given
//! all of them.

use std::collections::HashMap;
use std::hash::Hash;

use crate::finding::{Finding, Subject};
use crate::quantity::Dimension;
use crate::source::Place;

/// Findings that are alike.
#[derive(Debug, Clone)]
pub struct Alike<'r> {
    /// The first of them, in the order of the plan.
    pub first: &'r Finding,
    /// The one that misses its limit by most.
    pub worst: &'r Finding,
    /// All of them, in the order of the plan.
    pub all: Vec<&'r Finding>,
}

impl Alike<'_> {
    /// The number that they share.
    pub fn number(&self) -> u32 {
        self.first.number
    }

    /// How many there are besides the worst.
    pub fn more(&self) -> usize {
        self.all.len() - 1
    }

    /// That there are more, where there are.
    pub fn others(&self) -> Option<String> {
        let worst = if self.worst.excess.is_some() { ", none of them worse" } else { "" };
        let more = self.more();
        let place = self.worst.place();
        let lines = if self.all.iter().all(|finding| finding.place() == place) { " from the same lines" } else { "" };
        (more > 0).then(|| format!("and {more} more like it{lines}{worst}"))
    }
}

/// What findings that are alike have in common. What reading found is alike only to the word.
type Key<'r> = (&'r str, Vec<Place>, bool, Option<&'r str>);

fn key(finding: &Finding) -> Key<'_> {
    let places = finding.marks.iter().map(|mark| mark.place).collect();
    let message = finding.basis.is_none().then_some(finding.message.as_str());
    (&finding.rule, places, finding.accepted.is_some(), message)
}

/// What findings that say the same of one thing have in common: all that the key holds but the first of the places, where there are others;
/// the things that they are about; and how many things they count.
type Wide<'r> = (Key<'r>, Option<&'r str>, &'r [Subject], Vec<&'r str>);

fn wide(finding: &Finding) -> Wide<'_> {
    let (rule, mut places, agreed, message) = key(finding);
    if places.len() > 1 && message.is_none() {
        places.remove(0);
    }
    let counts = finding.figures.iter().filter(|figure| {
        !figure.limit && figure.quantity.is_some_and(|quantity| quantity.dimension == Dimension::NUMBER)
    });
    let counts = counts.map(|figure| figure.text.as_str()).collect();
    ((rule, places, agreed, message), finding.room.as_deref(), &finding.subjects, counts)
}

/// Findings by what they have in common, each where the first of its like stands.
fn gathered<'r, K: Hash + Eq>(
    findings: impl IntoIterator<Item = &'r Finding>,
    key: impl Fn(&'r Finding) -> K,
) -> Vec<Alike<'r>> {
    let mut groups: HashMap<K, usize> = HashMap::new();
    let mut told: Vec<Alike<'_>> = Vec::new();
    for finding in findings {
        let group = *groups.entry(key(finding)).or_insert(told.len());
        match told.get_mut(group) {
            None => told.push(Alike { first: finding, worst: finding, all: vec![finding] }),
            Some(own) => {
                own.all.push(finding);
                if finding.excess > own.worst.excess {
                    own.worst = finding;
                }
            }
        }
    }
    told
}

/// Findings of the same lines.
pub fn alike<'r>(findings: impl IntoIterator<Item = &'r Finding>) -> Vec<Alike<'r>> {
    gathered(findings, key)
}

/// Findings that share a number, or would.
pub fn together<'r>(findings: impl IntoIterator<Item = &'r Finding>) -> Vec<Alike<'r>> {
    gathered(findings, |finding| (finding.number, (finding.number == 0).then(|| wide(finding))))
}

/// Numbers all that was found in a plan, from 1, in its order. What is left out later leaves the numbers of the rest as they are, so that
/// each is called the same wherever it is shown.
pub fn number(findings: &mut [Finding]) {
    let mut groups: HashMap<Wide<'_>, u32> = HashMap::new();
    // What is of the same lines goes with the first of it.
    let mut lines: HashMap<Key<'_>, u32> = HashMap::new();
    let mut numbers = Vec::with_capacity(findings.len());
    for finding in &*findings {
        let next = u32::try_from(groups.len()).unwrap_or(u32::MAX).saturating_add(1);
        let number = *lines.entry(key(finding)).or_insert_with(|| *groups.entry(wide(finding)).or_insert(next));
        numbers.push(number);
    }
    drop((groups, lines));
    for (finding, number) in findings.iter_mut().zip(numbers) {
        finding.number = number;
    }
}
