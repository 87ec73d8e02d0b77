//! Shows findings. One file an output, each behind [`Reporter`].

pub mod json;
pub mod text;

use crate::checker::Report;
use crate::finding::Severity;
use crate::text::counted;

/// Counts over all plans of a run.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Summary {
    /// Files checked.
    pub files: usize,
    /// Files with a finding.
    pub files_with_findings: usize,
    /// Errors that no deviation covers.
    pub errors: usize,
    /// Warnings that no deviation covers.
    pub warnings: usize,
    /// Notes that no deviation covers.
    pub notes: usize,
    /// Findings that a deviation covers.
    pub accepted: usize,
    /// Rules held to everything they speak of, summed over the files.
    pub checked: usize,
    /// Rules not held to something, with the first reason and how many files it is so in; in the order first met.
    pub unchecked: Vec<(String, String, usize)>,
}

impl Summary {
    /// Counts one more report.
    pub fn add(&mut self, report: &Report) {
        self.files += 1;
        self.files_with_findings += usize::from(report.findings.iter().any(|finding| finding.accepted.is_none()));
        for finding in &report.findings {
            match (&finding.accepted, finding.severity) {
                (Some(_), _) => self.accepted += 1,
                (None, Severity::Error) => self.errors += 1,
                (None, Severity::Warning) => self.warnings += 1,
                (None, Severity::Note) => self.notes += 1,
            }
        }
        self.checked += report.checked;
        let mut last = None;
        for unchecked in &report.unchecked {
            if last == Some(&unchecked.rule) {
                continue;
            }
            last = Some(&unchecked.rule);
            match self.unchecked.iter_mut().find(|(rule, ..)| **rule == *unchecked.rule) {
                Some((.., files)) => *files += 1,
                None => self.unchecked.push((unchecked.rule.to_string(), unchecked.reason.clone(), 1)),
            }
        }
    }

    /// How many findings of each weight there are, in words: `2 errors, 1 warning`.
    pub fn findings(&self) -> String {
        let counts = [(self.errors, "error"), (self.warnings, "warning"), (self.notes, "note")];
        let words: Vec<String> =
            counts.iter().filter(|(count, _)| *count > 0).map(|(count, word)| counted(*count, word)).collect();
        if words.is_empty() { "no findings".into() } else { words.join(", ") }
    }
}

/// An output: what stands before all plans, for each of them, and after all.
pub trait Reporter: Sync {
    /// Before the first plan.
    fn opening(&self) -> String {
        String::new()
    }

    /// Between one plan and the next.
    fn between(&self) -> &'static str {
        ""
    }

    /// One plan. Bytes, since colours are.
    fn plan(&self, report: &Report) -> Vec<u8>;

    /// After the last plan.
    fn closing(&self, summary: &Summary) -> String;
}
