//! What the rules found, what was agreed to, and what they could not be held to.

use super::{Cell, Table};
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

/// Findings with the numbers that the drawing marks them by.
fn numbered(report: &Report, agreed: bool) -> impl Iterator<Item = (usize, &Finding)> {
    (1..).zip(&report.findings).filter(move |(_, finding)| finding.accepted.is_some() == agreed)
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
    for (number, finding) in numbered(report, false) {
        let cells = vec![
            Cell::Text(finding.severity.word().into()),
            Cell::Text(finding.rule.to_string()),
            Cell::Text(finding.room.clone().unwrap_or_default()),
            line(plan, finding),
            Cell::Text(sentence(&finding.message)),
            Cell::Text(finding.advice.as_deref().map(sentence).unwrap_or_default()),
        ];
        table.row(number.to_string(), cells);
    }
    table
}

pub(super) fn agreed(plan: &Plan, report: &Report) -> Table {
    let mut table = Table::new("Deviations agreed to", &["No.", "Rule", "Room", "Line", "Finding", "Agreed", "Until"]);
    for (number, finding) in numbered(report, true) {
        let Some(accepted) = &finding.accepted else { continue };
        let cells = vec![
            Cell::Text(finding.rule.to_string()),
            Cell::Text(finding.room.clone().unwrap_or_default()),
            line(plan, finding),
            Cell::Text(sentence(&finding.message)),
            Cell::Text(accepted.reason.clone()),
            Cell::Text(accepted.until.map_or_else(|| "without end".into(), |until| until.to_string())),
        ];
        table.row(number.to_string(), cells);
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
