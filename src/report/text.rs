//! Findings as text for a person: each at its line, marked.

use std::collections::HashMap;
use std::path::Path;

use codespan_reporting::diagnostic::{self, Diagnostic, Label};
use codespan_reporting::files::{Error, Files};
use codespan_reporting::term::termcolor::{Ansi, NoColor};
use codespan_reporting::term::{Config, Styles, StylesWriter, emit_to_write_style};

use super::{Reporter, Summary};
use crate::checker::Report;
use crate::finding::{Finding, Severity};
use crate::source::{FileId, Place, SourceFile, Sources, one_line, shown};
use crate::text::counted;

/// The text output.
#[derive(Debug, Clone, Copy)]
pub struct Text {
    /// Whether to colour it.
    pub color: bool,
}

/// [`Sources`] as codespan-reporting reads them.
struct Marked<'s>(&'s Sources);

impl<'s> Marked<'s> {
    fn file(&self, id: FileId) -> Result<&'s SourceFile, Error> {
        self.0.get(id).ok_or(Error::FileMissing)
    }
}

impl<'a> Files<'a> for Marked<'a> {
    type FileId = FileId;
    type Name = &'a str;
    type Source = &'a str;

    fn name(&'a self, id: FileId) -> Result<&'a str, Error> {
        Ok(&self.file(id)?.name)
    }

    fn source(&'a self, id: FileId) -> Result<&'a str, Error> {
        Ok(self.file(id)?.shown())
    }

    fn line_index(&'a self, id: FileId, byte_index: usize) -> Result<usize, Error> {
        Ok(self.file(id)?.line_starts().partition_point(|&start| start <= byte_index).saturating_sub(1))
    }

    fn line_range(&'a self, id: FileId, line_index: usize) -> Result<std::ops::Range<usize>, Error> {
        let file = self.file(id)?;
        let starts = file.line_starts();
        let start = *starts.get(line_index).ok_or(Error::LineTooLarge { given: line_index, max: starts.len() })?;
        Ok(start..starts.get(line_index + 1).copied().unwrap_or(file.text.len()))
    }
}

/// Findings that are shown once: of one rule, at the same places, agreed to or not; what reading found is alike only to the word.
type Alike<'r> = (&'r str, Vec<Place>, bool, Option<&'r str>);

fn alike(finding: &Finding) -> Alike<'_> {
    let places = finding.marks.iter().map(|mark| mark.place).collect();
    let message = finding.basis.is_none().then_some(finding.message.as_str());
    (&finding.rule, places, finding.accepted.is_some(), message)
}

/// The longest line that is shown, bytes.
const LONGEST_LINE: usize = 1_000;

/// Whether every line that a finding marks is short enough to be shown.
fn can_be_shown(finding: &Finding, sources: &Sources) -> bool {
    finding.marks.iter().all(|mark| {
        sources.get(mark.place.file).is_none_or(|file| {
            let starts = file.line_starts();
            let line = starts.partition_point(|&start| start <= mark.place.span.start());
            let start = starts[line.saturating_sub(1)];
            starts.get(line).copied().unwrap_or(file.text.len()) - start <= LONGEST_LINE
        })
    })
}

fn diagnostic(finding: &Finding, more: usize, sources: &Sources) -> Diagnostic<FileId> {
    let severity = match (finding.accepted.is_some(), finding.severity) {
        (true, _) => diagnostic::Severity::Note,
        (_, Severity::Error) => diagnostic::Severity::Error,
        (_, Severity::Warning) => diagnostic::Severity::Warning,
        (_, Severity::Note) => diagnostic::Severity::Note,
    };
    let mut labels = Vec::new();
    for (index, mark) in finding.marks.iter().enumerate() {
        let range = mark.place.span.range();
        let length = sources.get(mark.place.file).map_or(0, |file| file.text.len());
        let range = range.start.min(length)..range.end.min(length);
        let label =
            if index == 0 { Label::primary(mark.place.file, range) } else { Label::secondary(mark.place.file, range) };
        labels.push(label.with_message(&mark.label));
    }
    let mut notes = Vec::new();
    if !can_be_shown(finding, sources) {
        labels.clear();
        for mark in &finding.marks {
            if let Some(file) = sources.get(mark.place.file) {
                let (line, column) = file.line_and_column(mark.place.span.start());
                notes.push(format!("{}:{line}:{column}, in a line too long to show: {}", file.name, mark.label));
            }
        }
    }
    if more > 0 {
        let worst = if finding.excess.is_some() { ", none of them worse" } else { "" };
        notes.push(format!("and {more} more like it from the same lines{worst}"));
    }
    let limits = finding.figures.iter().filter(|figure| figure.limit);
    let limits: Vec<String> = limits.map(|figure| format!("{} {}", figure.name, figure.text)).collect();
    if !limits.is_empty() {
        notes.push(format!("held to: {}", limits.join(", ")));
    }
    if let Some(advice) = finding.advice.as_ref().filter(|_| finding.accepted.is_none()) {
        notes.push(format!("advice: {advice}"));
    }
    // What is written in place of a word says the advice already.
    if let Some(fix) = finding.fix.as_ref().filter(|_| finding.basis.is_some()) {
        notes.push(format!("remedy: {}; `--apply` does so", fix.title));
    }
    if let Some(basis) = &finding.basis {
        notes.push(format!("basis: {basis}"));
    }
    if let Some(accepted) = &finding.accepted {
        let until = accepted.until.map_or_else(String::new, |until| format!(" until {until}"));
        notes.push(format!("accepted{until}: {}", accepted.reason));
        labels.push(Label::secondary(accepted.place.file, accepted.place.span.range()).with_message("agreed here"));
    }
    let message = match &finding.accepted {
        Some(_) => format!("accepted: {}", finding.message),
        None => finding.message.clone(),
    };
    Diagnostic::new(severity).with_code(&*finding.rule).with_message(message).with_labels(labels).with_notes(notes)
}

impl Reporter for Text {
    fn plan(&self, report: &Report) -> Vec<u8> {
        let config = Config::default();
        let files = Marked(&report.sources);
        let styles = Styles::default();
        let mut bytes = Vec::new();
        // The worst of those alike is shown, where the first of them stands.
        let mut groups: HashMap<Alike<'_>, usize> = HashMap::new();
        let mut shown: Vec<(&Finding, usize)> = Vec::new();
        for finding in &report.findings {
            let group = *groups.entry(alike(finding)).or_insert(shown.len());
            match shown.get_mut(group) {
                None => shown.push((finding, 0)),
                Some((worst, more)) => {
                    *more += 1;
                    if finding.excess > worst.excess {
                        *worst = finding;
                    }
                }
            }
        }
        for (finding, more) in shown {
            let diagnostic = diagnostic(finding, more, &report.sources);
            let done = if self.color {
                emit_to_write_style(
                    &mut StylesWriter::new(Ansi::new(&mut bytes), &styles),
                    &config,
                    &files,
                    &diagnostic,
                )
            } else {
                emit_to_write_style(
                    &mut StylesWriter::new(NoColor::new(&mut bytes), &styles),
                    &config,
                    &files,
                    &diagnostic,
                )
            };
            if done.is_err() {
                bytes.extend_from_slice(format!("{}: {}\n\n", finding.severity.word(), finding.message).as_bytes());
            }
        }
        bytes
    }

    fn closing(&self, summary: &Summary) -> String {
        let mut text = format!("{} checked: {}", counted(summary.files, "file"), summary.findings());
        if summary.accepted > 0 {
            text.push_str(&format!(", {} accepted", summary.accepted));
        }
        if summary.known > 0 {
            text.push_str(&format!(", {} known before", summary.known));
        }
        if summary.files > 1 && summary.files_with_findings > 0 {
            text.push_str(&format!(" in {}", counted(summary.files_with_findings, "file")));
        }
        text.push('\n');
        if !summary.gone.is_empty() {
            let count: u32 = summary.gone.iter().map(|(_, count)| count).sum();
            text.push_str(&format!("gone: {}\n", counted(count as usize, "known finding")));
            for (gone, count) in &summary.gone {
                let times = if *count > 1 { format!(" ({count} of them)") } else { String::new() };
                // These are words of a file, not of a plan that was read.
                let (plan, rule) = (shown(Path::new(&gone.plan)), one_line(&gone.rule));
                text.push_str(&format!("  {plan}: {rule}: `{}`{times}\n", one_line(&gone.text)));
            }
        }
        if !summary.unchecked.is_empty() {
            text.push_str(&format!("not checked: {}\n", counted(summary.unchecked.len(), "rule")));
            // One thing that a plan doesn't say keeps many rules from being held.
            let mut reasons: Vec<(&str, Vec<String>)> = Vec::new();
            for (rule, reason, files) in &summary.unchecked {
                let files = if *files > 1 {
                    format!(" (and so in {} more)", counted(files - 1, "file"))
                } else {
                    String::new()
                };
                let rule = format!("{rule}{files}");
                match reasons.iter_mut().find(|(known, _)| known == reason) {
                    Some((_, rules)) => rules.push(rule),
                    None => reasons.push((reason, vec![rule])),
                }
            }
            for (reason, rules) in reasons {
                text.push_str(&format!("  {reason}: {}\n", rules.join(", ")));
            }
        }
        text
    }
}
