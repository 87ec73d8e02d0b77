//! Findings in the XML that Checkstyle writes and that many viewers and build servers read: a `file` with an `error` for each finding.
//!
//! The severities there are `error`, `warning` and `info`; what was agreed to is `info`.

use std::collections::BTreeMap;

use quick_xml::Writer;
use quick_xml::events::{BytesEnd, BytesStart, BytesText, Event};

use super::xml::one_line;
use super::{Reporter, Summary};
use crate::alike::{Alike, alike};
use crate::checker::Report;
use crate::finding::{Finding, Severity};
use crate::source::FileId;

/// The Checkstyle output.
#[derive(Debug, Clone, Copy, Default)]
pub struct Checkstyle;

/// An `error` of a file.
struct Entry {
    line: usize,
    column: usize,
    severity: &'static str,
    message: String,
    source: String,
}

impl Entry {
    fn of(found: &Alike<'_>, (line, column): (usize, usize), all: &[Finding]) -> Entry {
        let finding = found.worst;
        let said = super::numbered(&finding.message, found.number(), all);
        let severity = match (&finding.accepted, finding.severity) {
            (None, Severity::Error) => "error",
            (None, Severity::Warning) => "warning",
            _ => "info",
        };
        let message = match &finding.accepted {
            Some(accepted) => format!("accepted: {said}; agreed: {}", accepted.reason),
            None => {
                let advice = finding.advice.as_ref().map(|advice| format!("advice: {advice}"));
                let parts = [Some(said), found.others(), advice];
                parts.into_iter().flatten().collect::<Vec<_>>().join("; ")
            }
        };
        Entry { line, column, severity, message, source: format!("layrule.{}", finding.rule) }
    }
}

/// A file's element, written to memory, where nothing fails.
fn file(name: &str, entries: &[Entry]) -> Vec<u8> {
    let mut xml = Writer::new(Vec::new());
    let mut event = |event: Event<'_>| {
        let _ = xml.write_event(event);
    };
    event(Event::Text(BytesText::from_escaped("\n  ")));
    event(Event::Start(BytesStart::new("file").with_attributes([("name", one_line(name).as_str())])));
    for entry in entries {
        event(Event::Text(BytesText::from_escaped("\n    ")));
        event(Event::Empty(BytesStart::new("error").with_attributes([
            ("line", entry.line.to_string().as_str()),
            ("column", entry.column.to_string().as_str()),
            ("severity", entry.severity),
            ("message", one_line(&entry.message).as_str()),
            ("source", one_line(&entry.source).as_str()),
        ])));
    }
    event(Event::Text(BytesText::from_escaped("\n  ")));
    event(Event::End(BytesEnd::new("file")));
    xml.into_inner()
}

impl Reporter for Checkstyle {
    fn opening(&self) -> String {
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<checkstyle version=\"4.3\"><!-- layrule -->".into()
    }

    fn plan(&self, report: &Report) -> Vec<u8> {
        let mut files: BTreeMap<FileId, Vec<Entry>> = BTreeMap::new();
        for found in alike(&report.findings) {
            let place = found.worst.place();
            if let Some(file) = report.sources.get(place.file) {
                let at = file.line_and_column(place.span.start());
                files.entry(place.file).or_default().push(Entry::of(&found, at, &report.findings));
            }
        }
        let named = files.iter().filter_map(|(id, entries)| Some((report.sources.get(*id)?, entries)));
        named.flat_map(|(source, entries)| file(&source.name, entries)).collect()
    }

    fn closing(&self, summary: &Summary) -> String {
        let problems = summary.problems.iter().map(|problem| Entry {
            line: 1,
            column: 1,
            severity: "error",
            message: problem.clone(),
            source: "layrule".into(),
        });
        let problems: Vec<Entry> = problems.collect();
        let own = if problems.is_empty() { Vec::new() } else { file("layrule", &problems) };
        format!("{}\n</checkstyle>\n", String::from_utf8_lossy(&own))
    }
}
