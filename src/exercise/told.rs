//! What a finding is told by, whatever the lines of the plan: its rule, its room, and what it is about.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::checker::Report;
use crate::finding::Finding;

/// A finding's rule, room and things.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Told {
    /// The rule's name.
    pub rule: String,
    /// The room's name; none for what is outside any.
    pub room: Option<String>,
    /// The things it is about, such as `cable a`, in the order in which it names them.
    pub about: Vec<String>,
}

impl Told {
    /// What a finding is told by.
    pub fn of(finding: &Finding) -> Told {
        let about = finding.subjects.iter().map(|subject| format!("{} {}", subject.kind.statement(), subject.name));
        Told { rule: finding.rule.to_string(), room: finding.room.clone(), about: about.collect() }
    }
}

/// How many findings of a report are told alike.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Count(BTreeMap<Told, usize>);

impl Count {
    /// The findings of a report that no deviation covers.
    pub fn open(report: &Report) -> Count {
        Count::those(report, |finding| finding.accepted.is_none())
    }

    /// The findings of a report that a deviation covers.
    pub fn accepted(report: &Report) -> Count {
        Count::those(report, |finding| finding.accepted.is_some())
    }

    fn those(report: &Report, counts: impl Fn(&Finding) -> bool) -> Count {
        let mut count = Count::default();
        for finding in report.findings.iter().filter(|finding| counts(finding)) {
            *count.0.entry(Told::of(finding)).or_default() += 1;
        }
        count
    }

    /// How many are told so.
    pub fn of(&self, told: &Told) -> usize {
        self.0.get(told).copied().unwrap_or_default()
    }

    /// What there is more of than in another.
    pub fn beyond<'c>(&'c self, other: &'c Count) -> impl Iterator<Item = &'c Told> {
        self.0.iter().filter(|(told, count)| **count > other.of(told)).map(|(told, _)| told)
    }

    /// Whether there is nothing more than in another.
    pub fn within(&self, other: &Count) -> bool {
        self.beyond(other).next().is_none()
    }
}
