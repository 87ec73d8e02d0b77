//! Findings as text for a person: each at its line, marked.

use std::path::Path;

use codespan_reporting::diagnostic::{self, Diagnostic, Label};
use codespan_reporting::files::{Error, Files};
use codespan_reporting::term::termcolor::{Ansi, NoColor};
use codespan_reporting::term::{Config, Styles, StylesWriter, emit_to_write_style};

use super::{Reporter, Summary};
use crate::alike::{Alike, alike};
use crate::checker::Report;
use crate::finding::{Finding, Severity};
use crate::source::{FileId, SourceFile, Sources, one_line, shown};
use crate::text::counted;

/// The text output.
#[derive(Debug, Clone, Copy, Default)]
pub struct Text {
    /// Whether to colour it.
    pub color: bool,
    /// How many columns what is said of a finding is broken to; none where lines may be of any length.
    pub width: Option<usize>,
    /// Whether findings are told alone, without what they come to.
    pub quiet: bool,
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

/// What lines of a note stand behind, columns: numbers of lines of up to four digits, and the sign before the note.
const GUTTER: usize = 8;

/// Text broken to lines, each but the first behind `indent`; whole words stay whole. The first has `before` columns less.
fn broken(text: &str, width: Option<usize>, before: usize, indent: &str) -> String {
    let Some(width) = width else { return text.to_string() };
    let ahead = "x".repeat(before);
    let options = textwrap::Options::new(width).initial_indent(&ahead).subsequent_indent(indent).break_words(false);
    let lines = textwrap::wrap(text, options.word_splitter(textwrap::WordSplitter::NoHyphenation));
    lines.join("\n").split_off(before.min(lines.first().map_or(0, |line| line.len())))
}

fn diagnostic(found: &Alike<'_>, sources: &Sources, width: Option<usize>, all: &[Finding]) -> Diagnostic<FileId> {
    let finding = found.worst;
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
    notes.extend(found.others());
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
    let message = super::numbered(&message, found.number(), all);
    // "warning[rule]: "
    let before = finding.severity.word().len() + finding.rule.len() + 4;
    let message = broken(&message, width, before, "  ");
    let width = width.map(|width| width.saturating_sub(GUTTER));
    let notes = notes.iter().map(|note| broken(note, width, 0, "  ")).collect();
    Diagnostic::new(severity).with_code(&*finding.rule).with_message(message).with_labels(labels).with_notes(notes)
}

impl Text {
    /// Findings, each at its line; those that are alike once.
    pub fn show(&self, findings: &[Finding], sources: &Sources) -> Vec<u8> {
        let config = Config::default();
        let files = Marked(sources);
        let styles = Styles::default();
        let mut bytes = Vec::new();
        for found in alike(findings) {
            let finding = found.worst;
            let diagnostic = diagnostic(&found, sources, self.width, findings);
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
}

impl Reporter for Text {
    fn plan(&self, report: &Report) -> Vec<u8> {
        self.show(&report.findings, &report.sources)
    }

    fn closing(&self, summary: &Summary) -> String {
        if self.quiet {
            return String::new();
        }
        let mut text = format!("{} checked: {}", counted(summary.files, "file"), summary.findings());
        if summary.accepted > 0 {
            text.push_str(&format!(", {} accepted", summary.accepted));
        }
        if summary.known > 0 {
            text.push_str(&format!(", {} known before", summary.known));
        }
        if summary.folded > 0 {
            text.push_str(&format!(" ({} of them like others from the same lines)", summary.folded));
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
            for (reason, rules) in summary.unchecked_by_reason() {
                let line = broken(&format!("  {reason}: {}", rules.join(", ")), self.width, 0, "    ");
                text.push_str(&format!("{line}\n"));
            }
        }
        text
    }
}
