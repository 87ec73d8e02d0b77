//! What a check comes to.

use crate::finding::{Finding, Severity};
use crate::rules::evaluate::{RuleFault, Unchecked};
use crate::source::Sources;

/// What was found in one plan.
#[derive(Debug, Clone)]
pub struct Report {
    /// The plan's own file and those it uses.
    pub sources: Sources,
    /// How many rooms the plan has.
    pub rooms: usize,
    /// What reading the plan and holding it to the rules found, in the order of places.
    pub findings: Vec<Finding>,
    /// How many rules were held to everything they speak of.
    pub checked: usize,
    /// The rules that were not, each with why.
    pub unchecked: Vec<Unchecked>,
    /// What rules themselves got wrong on this plan.
    pub rule_faults: Vec<RuleFault>,
}

impl Report {
    /// The weight of the heaviest finding that no deviation covers.
    pub fn worst(&self) -> Option<Severity> {
        self.findings.iter().filter(|finding| finding.accepted.is_none()).map(|finding| finding.severity).max()
    }

    /// How many rules could not be held to everything they speak of.
    pub fn rules_unchecked(&self) -> usize {
        // The reasons of a rule stand together.
        self.unchecked.chunk_by(|one, next| one.rule == next.rule).count()
    }

    /// The report with the findings of one room, and of what belongs to no room, alone.
    pub fn of_room(&self, room: &str) -> Report {
        let mut report = self.clone();
        report.findings.retain(|finding| finding.room.as_deref().is_none_or(|own| own == room));
        report
    }
}
