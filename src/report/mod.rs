//! Shows findings. One file an output, each behind [`Reporter`].

pub mod checkstyle;
pub mod csv_text;
pub mod github;
pub mod gitlab;
pub mod json;
pub mod json_lines;
pub mod junit;
pub mod markdown;
pub mod sarif;
pub mod text;
mod xml;

use crate::checker::Report;
use crate::finding::{Finding, Severity};
use crate::fingerprint::Identity;
use crate::text::counted;
pub use crate::worded::Worded;

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
    /// Findings that people aren't shown, since they are like others from the same lines.
    pub folded: usize,
    /// Rules held to everything they speak of, summed over the files.
    pub checked: usize,
    /// Rules not held to something, with the first reason and how many files it is so in; in the order first met.
    pub unchecked: Vec<(String, String, usize)>,
    /// Findings left out because they were known before.
    pub known: usize,
    /// Known findings that are no more: what each was about, and how many of it are gone.
    pub gone: Vec<(Identity, u32)>,
    /// Why the check could not be made, or not all of it: files that can't be read, rules that fail.
    pub problems: Vec<String>,
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
        self.folded += report.findings.len() - crate::alike::alike(&report.findings).len();
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

    /// The rules not held, by why, each with how many more files it is so in: one thing that a plan doesn't say keeps many rules from being
    /// held.
    pub fn unchecked_by_reason(&self) -> Vec<(&str, Vec<String>)> {
        let mut reasons: Vec<(&str, Vec<String>)> = Vec::new();
        for (rule, reason, files) in &self.unchecked {
            let files = match files {
                0 | 1 => String::new(),
                more => format!(" (and so in {} more)", counted(more - 1, "file")),
            };
            let rule = format!("{rule}{files}");
            match reasons.iter_mut().find(|(known, _)| known == reason) {
                Some((_, rules)) => rules.push(rule),
                None => reasons.push((reason, vec![rule])),
            }
        }
        reasons
    }

    /// How many findings of each weight there are, in words: `2 errors, 1 warning`.
    pub fn findings(&self) -> String {
        let counts = [(self.errors, "error"), (self.warnings, "warning"), (self.notes, "note")];
        let words: Vec<String> =
            counts.iter().filter(|(count, _)| *count > 0).map(|(count, word)| counted(*count, word)).collect();
        if words.is_empty() { "no findings".into() } else { words.join(", ") }
    }
}

/// What is said of a finding, with the number by which a drawing marks it, where `all` are several.
fn numbered(message: &str, number: u32, all: &[Finding]) -> String {
    let several = all.iter().any(|finding| finding.number > 1);
    if several { format!("{message} (no. {number})") } else { message.to_string() }
}

/// An output: what stands before all plans, for each of them, and after all.
pub trait Reporter: Sync {
    /// Before the first plan.
    fn opening(&self) -> String {
        String::new()
    }

    /// Between one plan and the next, of those for which anything is written.
    fn between(&self) -> &'static str {
        ""
    }

    /// One plan. Bytes, since colours are.
    fn plan(&self, report: &Report) -> Vec<u8>;

    /// The most bytes that all plans together may take; none where there is no such bound.
    fn most(&self) -> Option<usize> {
        None
    }

    /// Said before the end where plans were left out, since there was no room for them: how many of them.
    fn left_out(&self, _plans: usize) -> String {
        String::new()
    }

    /// After the last plan.
    fn closing(&self, summary: &Summary) -> String;
}

/// The outputs there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Form {
    /// For a person, each finding at its line.
    Text,
    /// One JSON object.
    Json,
    /// One JSON object a line.
    JsonLines,
    /// SARIF 2.1.0.
    Sarif,
    /// JUnit's XML.
    Junit,
    /// A summary for a merge request.
    Markdown,
    /// GitHub's workflow commands.
    Github,
    /// GitLab's code quality report.
    Gitlab,
    /// Checkstyle's XML.
    Checkstyle,
}

impl Form {
    /// All of them, with their words.
    pub const ALL: &[(Form, &str)] = &[
        (Form::Text, "text"),
        (Form::Json, "json"),
        (Form::JsonLines, "json-lines"),
        (Form::Sarif, "sarif"),
        (Form::Junit, "junit"),
        (Form::Markdown, "markdown"),
        (Form::Github, "github"),
        (Form::Gitlab, "gitlab"),
        (Form::Checkstyle, "checkstyle"),
    ];
}

impl Worded for Form {
    const WORDS: &'static [(Form, &'static str)] = Form::ALL;
}

/// An output and where it goes: `sarif=findings.sarif`, or `text` for standard output.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Target<F = Form> {
    /// In which form.
    pub form: F,
    /// The file; none for standard output.
    pub file: Option<std::path::PathBuf>,
}

impl<F: Worded> std::str::FromStr for Target<F> {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (word, file) = match text.split_once('=') {
            Some((_, "")) => return Err(format!("`{text}` names no file; write `{text}FILE`, or leave `=` out")),
            Some((word, file)) => (word, Some(file.into())),
            None => (text, None),
        };
        F::meant(word, "output").map(|form| Target { form, file })
    }
}

impl<F: Worded> std::fmt::Display for Target<F> {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.write_str(self.form.word())?;
        self.file
            .as_ref()
            .map_or(Ok(()), |file| write!(formatter, "={}", crate::source::one_line(&file.to_string_lossy())))
    }
}
