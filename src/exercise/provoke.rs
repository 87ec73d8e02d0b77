//! What comes of a change to a sound plan: it is made, the plan is read and checked anew, and what is found that wasn't there is told.

use std::collections::BTreeSet;

use super::site::Change;
use super::sound::{Sound, plan_of};
use super::told::{Count, Told};
use crate::checker::mend::apply;
use crate::checker::{self, Report};
use crate::finding::Severity;
use crate::layout;
use crate::measure::plan::Measured;
use crate::rules::packs::RuleSet;

/// What a change provokes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Provoked {
    /// What is found that the sound plan hadn't.
    pub told: BTreeSet<Told>,
    /// The weight of the heaviest of it.
    pub worst: Severity,
}

impl Provoked {
    /// The names of the rules that find something, each once.
    pub fn rules(&self) -> BTreeSet<&str> {
        self.told.iter().map(|told| told.rule.as_str()).collect()
    }

    /// What a rule finds.
    pub fn by<'p>(&'p self, rule: &'p str) -> impl Iterator<Item = &'p Told> {
        self.told.iter().filter(move |told| told.rule == rule)
    }
}

/// A plan's text after changes, laid out as `tidy` does it; nothing where it then can't be read.
pub fn changed<'c>(text: &str, changes: impl IntoIterator<Item = &'c Change>) -> Option<String> {
    let edits: Vec<_> = changes.into_iter().flat_map(|change| change.edits.iter().cloned()).collect();
    layout::tidy::tidy(&apply(text, &edits)?).ok()
}

/// The report on a plan in one file.
pub fn report_on(name: &str, text: &str, rules: &RuleSet, today: jiff::civil::Date) -> Report {
    checker::untried(&Measured::new(plan_of(name, text)), rules, today)
}

/// What a change provokes; nothing where it provokes nothing, or where the plan then can't be read whole: that is no mistake that a rule
/// finds.
pub fn provoked(sound: &Sound, change: &Change, rules: &RuleSet, today: jiff::civil::Date) -> Option<Provoked> {
    let text = changed(&sound.text, [change])?;
    let report = report_on(&sound.name, &text, rules, today);
    if report.findings.iter().any(|finding| finding.basis.is_none()) || !report.rule_faults.is_empty() {
        return None;
    }
    let told: BTreeSet<Told> = Count::open(&report).beyond(&sound.open).cloned().collect();
    let own = report.findings.iter().filter(|finding| finding.accepted.is_none() && told.contains(&Told::of(finding)));
    let worst = own.map(|finding| finding.severity).max()?;
    Some(Provoked { told, worst })
}
