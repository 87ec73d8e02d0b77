//! What the rules found, what was agreed to, and what they could not be held to.

use super::{Cell, Table};
use crate::alike::{Alike, together};
use crate::checker::Report;
use crate::finding::Finding;
use crate::model::Plan;
use crate::report::Summary;
use crate::text::counted;

/// How much was found, in words.
pub(super) fn summary(report: &Report) -> String {
    let mut summary = Summary::default();
    summary.add(report);
    let agreed = if summary.accepted > 0 { format!("; {} agreed to", summary.accepted) } else { String::new() };
    let rules: Vec<String> = report.rule_faults.iter().map(|fault| fault.message.clone()).collect();
    let rules = if rules.is_empty() { String::new() } else { format!("; rules that failed: {}", rules.join("; ")) };
    let unchecked = match summary.unchecked.len() {
        0 => String::new(),
        count => format!("; {} not held to all of it", counted(count, "rule")),
    };
    format!("{}{agreed}{unchecked}{rules}", summary.findings())
}

/// Findings, those that go together once, with the numbers that the drawing marks them by.
fn numbered(report: &Report, agreed: bool) -> Vec<Alike<'_>> {
    together(report.findings.iter().filter(|finding| finding.accepted.is_some() == agreed))
}

/// What a finding says, and that there are more like it.
fn said(found: &Alike<'_>) -> Cell {
    let others = found.others().map(|others| format!("; {others}")).unwrap_or_default();
    Cell::Text(sentence(&format!("{}{others}", found.worst.message)))
}

fn line(plan: &Plan, finding: &Finding) -> Cell {
    Cell::Text(plan.sources.file_and_line(finding.place()))
}

/// A sentence as a printed page shows it, without the quotes that mark names in a terminal.
fn sentence(text: &str) -> String {
    text.replace('`', "")
}

pub(super) fn open(plan: &Plan, report: &Report) -> Table {
    let mut table = Table::new("Open findings", &["No.", "Severity", "Rule", "Room", "Line", "Finding", "What to do"]);
    for found in numbered(report, false) {
        let finding = found.worst;
        let cells = vec![
            Cell::Text(finding.severity.word().into()),
            Cell::Text(finding.rule.to_string()),
            Cell::Text(finding.room.clone().unwrap_or_default()),
            line(plan, finding),
            said(&found),
            Cell::Text(finding.advice.as_deref().map(sentence).unwrap_or_default()),
        ];
        table.row(found.number().to_string(), cells);
    }
    table
}

pub(super) fn agreed(plan: &Plan, report: &Report) -> Table {
    let mut table = Table::new("Deviations agreed to", &["No.", "Rule", "Room", "Line", "Finding", "Agreed", "Until"]);
    for found in numbered(report, true) {
        let finding = found.worst;
        let Some(accepted) = &finding.accepted else { continue };
        let cells = vec![
            Cell::Text(finding.rule.to_string()),
            Cell::Text(finding.room.clone().unwrap_or_default()),
            line(plan, finding),
            said(&found),
            Cell::Text(accepted.reason.clone()),
            Cell::Text(accepted.until.map_or_else(|| "without end".into(), |until| until.to_string())),
        ];
        table.row(found.number().to_string(), cells);
    }
    table
}

pub(super) fn unchecked(report: &Report) -> Table {
    let mut table = Table::new("Rules that could not be held to the plan", &["Rule", "Why"]);
    for unchecked in &report.unchecked {
        table.row(unchecked.rule.to_string(), vec![Cell::Text(sentence(&unchecked.reason))]);
    }
    table
}
