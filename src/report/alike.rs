//! Findings that say the same of the same lines, so that a reader is told once: those of one rule, at the same places, agreed to or not.
//!
//! Twelve loops that one statement lays make twelve findings. Programs are given all of them; what people read shows one.

use std::collections::HashMap;

use crate::finding::Finding;
use crate::source::Place;

/// Findings that are alike.
#[derive(Debug, Clone, Copy)]
pub struct Alike<'r> {
    /// The first of them, in the order of the plan.
    pub first: &'r Finding,
    /// The one that misses its limit by most.
    pub worst: &'r Finding,
    /// How many there are besides the worst.
    pub more: usize,
}

impl Alike<'_> {
    /// That there are more, where there are.
    pub fn others(&self) -> Option<String> {
        let worst = if self.worst.excess.is_some() { ", none of them worse" } else { "" };
        (self.more > 0).then(|| format!("and {} more like it from the same lines{worst}", self.more))
    }
}

/// What findings that are alike have in common. What reading found is alike only to the word.
type Key<'r> = (&'r str, Vec<Place>, bool, Option<&'r str>);

fn key(finding: &Finding) -> Key<'_> {
    let places = finding.marks.iter().map(|mark| mark.place).collect();
    let message = finding.basis.is_none().then_some(finding.message.as_str());
    (&finding.rule, places, finding.accepted.is_some(), message)
}

/// Findings by what is alike, each where the first of its like stands.
pub fn alike(findings: &[Finding]) -> Vec<Alike<'_>> {
    let mut groups: HashMap<Key<'_>, usize> = HashMap::new();
    let mut told: Vec<Alike<'_>> = Vec::new();
    for finding in findings {
        let group = *groups.entry(key(finding)).or_insert(told.len());
        match told.get_mut(group) {
            None => told.push(Alike { first: finding, worst: finding, more: 0 }),
            Some(own) => {
                own.more += 1;
                if finding.excess > own.worst.excess {
                    own.worst = finding;
                }
            }
        }
    }
    told
}
