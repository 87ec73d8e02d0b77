//! Findings as GitHub's workflow commands: printed in a job, each becomes a note beside the lines of a pull request.
//!
//! The form is that of GitHub's documentation, "Workflow commands for GitHub Actions": `::error file=…,line=…::message`. In a message `%` and
//! the ends of lines are escaped, in a property `:` and `,` too. Columns may be given where a note covers one line alone; they count characters.

use std::fmt::Write as _;

use super::{Reporter, Summary};
use crate::alike::{Alike, alike};
use crate::checker::Report;
use crate::finding::Severity;
use crate::source::{one_line, printable, slashed};
use crate::text::counted;

/// The output for GitHub's log.
#[derive(Debug, Clone, Copy, Default)]
pub struct Github;

/// Text as a command's message.
fn message(text: &str) -> String {
    printable(text.to_string()).replace('%', "%25").replace('\r', "%0D").replace('\n', "%0A")
}

/// Text as a property of a command.
fn property(text: &str) -> String {
    message(text).replace(':', "%3A").replace(',', "%2C")
}

fn command(found: &Alike<'_>, report: &Report) -> String {
    let (finding, sources) = (found.worst, &report.sources);
    let said = super::numbered(&finding.message, found.number(), &report.findings);
    let word = match (&finding.accepted, finding.severity) {
        (None, Severity::Error) => "error",
        (None, Severity::Warning) => "warning",
        _ => "notice",
    };
    let place = finding.place();
    let mut properties = Vec::new();
    if let Some(file) = sources.get(place.file) {
        let range = place.span.range();
        let (line, column) = file.line_and_column(range.start);
        let (end_line, end_column) = file.line_and_column(range.end);
        properties.push(format!("file={}", property(&one_line(&slashed(&file.location)))));
        properties.push(format!("line={line},endLine={end_line}"));
        if line == end_line {
            properties.push(format!("col={column},endColumn={end_column}"));
        }
    }
    properties.push(format!("title={}", property(&finding.rule)));
    let mut text = match &finding.accepted {
        Some(accepted) => format!("accepted: {said}\nagreed: {}", accepted.reason),
        None => said,
    };
    if let Some(others) = found.others() {
        let _ = write!(text, "\n{others}");
    }
    if let Some(advice) = finding.advice.as_ref().filter(|_| finding.accepted.is_none()) {
        let _ = write!(text, "\nadvice: {advice}");
    }
    format!("::{word} {}::{}\n", properties.join(","), message(&text))
}

impl Reporter for Github {
    fn plan(&self, report: &Report) -> Vec<u8> {
        let lines = alike(&report.findings).into_iter().map(|found| command(&found, report));
        lines.collect::<String>().into_bytes()
    }

    fn closing(&self, summary: &Summary) -> String {
        let mut text = String::new();
        for problem in &summary.problems {
            let _ = writeln!(text, "::error title=layrule::{}", message(problem));
        }
        let _ = write!(text, "{} checked: {}", counted(summary.files, "file"), summary.findings());
        for (count, words) in [(summary.accepted, "accepted"), (summary.known, "known before")] {
            if count > 0 {
                let _ = write!(text, ", {count} {words}");
            }
        }
        if !summary.unchecked.is_empty() {
            let rules: Vec<String> = summary.unchecked.iter().map(|(rule, ..)| one_line(rule)).collect();
            let _ = write!(text, "; {} not checked: {}", counted(rules.len(), "rule"), rules.join(", "));
        }
        text.push('\n');
        text
    }
}
