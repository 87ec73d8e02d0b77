//! Findings in the XML that build servers read as test results: a suite for each plan, in it a case for each rule.
//!
//! A case fails where its rule found something that fails the run; what weighs less, or was agreed to, stands in the case's output. A rule
//! that could not be held to the plan is skipped, with why.

use std::collections::HashMap;
use std::fmt::Write as _;

use quick_xml::Writer;
use quick_xml::events::{BytesEnd, BytesStart, BytesText, Event};

use super::xml::{one_line, writable};
use super::{Reporter, Summary};
use crate::checker::Report;
use crate::finding::{Finding, Severity, ids};
use crate::rules::packs::RuleSet;
use crate::source::FileId;
use crate::text::counted;

/// The JUnit output.
#[derive(Debug, Clone)]
pub struct Junit {
    /// The rules there is a case for.
    rules: Vec<String>,
    /// The least weight that fails a case.
    fail_on: Severity,
}

impl Junit {
    /// The output for plans held to those of `rules` that are `selected`, in which findings of `fail_on` and above fail.
    pub fn new(rules: &RuleSet, fail_on: Severity, selected: &dyn Fn(&str) -> bool) -> Self {
        let on = rules.rules.iter().filter(|rule| rule.severity.is_some() && selected(&rule.name));
        let on = on.map(|rule| rule.name.to_string());
        Junit { rules: ids::ALL.iter().map(|id| (*id).to_string()).chain(on).collect(), fail_on }
    }

    fn fails(&self, finding: &Finding) -> bool {
        finding.accepted.is_none() && finding.severity >= self.fail_on
    }
}

/// One finding in words, place first.
fn lines(finding: &Finding, report: &Report) -> String {
    let mut text = String::new();
    let place = finding.place();
    if let Some(file) = report.sources.get(place.file) {
        let (line, column) = file.line_and_column(place.span.range().start);
        let _ = write!(text, "{}:{line}:{column}: ", file.name);
    }
    let said = super::numbered(&finding.message, finding.number, &report.findings);
    let _ = writeln!(text, "{}: {said}", finding.severity.word());
    if let Some(advice) = finding.advice.as_ref().filter(|_| finding.accepted.is_none()) {
        let _ = writeln!(text, "  advice: {advice}");
    }
    if let Some(basis) = &finding.basis {
        let _ = writeln!(text, "  basis: {basis}");
    }
    if let Some(accepted) = &finding.accepted {
        let until = accepted.until.map_or_else(String::new, |until| format!(" until {until}"));
        let _ = writeln!(text, "  accepted{until}: {}", accepted.reason);
    }
    text
}

/// Writes elements to memory, where nothing fails.
struct Xml(Writer<Vec<u8>>);

impl Xml {
    fn event(&mut self, event: Event<'_>) {
        let _ = self.0.write_event(event);
    }

    /// An element holding nothing but text, on a line of its own.
    fn leaf(&mut self, name: &str, attributes: &[(&str, &str)], text: &str) {
        let start = BytesStart::new(name).with_attributes(attributes.iter().copied());
        self.indent(6);
        if text.is_empty() {
            self.event(Event::Empty(start));
            return;
        }
        self.event(Event::Start(start));
        self.event(Event::Text(BytesText::new(&writable(text))));
        self.event(Event::End(BytesEnd::new(name)));
    }

    fn indent(&mut self, depth: usize) {
        let gap = format!("\n{:depth$}", "");
        self.event(Event::Text(BytesText::from_escaped(gap)));
    }
}

impl Junit {
    fn case(&self, xml: &mut Xml, plan: &str, rule: &str, found: &[&Finding], skipped: Option<&str>, report: &Report) {
        let start = BytesStart::new("testcase").with_attributes([("classname", plan), ("name", rule), ("time", "0")]);
        xml.indent(4);
        let (failing, other): (Vec<&Finding>, Vec<&Finding>) = found.iter().partition(|finding| self.fails(finding));
        if found.is_empty() && skipped.is_none() {
            xml.event(Event::Empty(start));
            return;
        }
        xml.event(Event::Start(start));
        if let Some(worst) = failing.iter().map(|finding| finding.severity).max() {
            let first = super::numbered(&failing[0].message, failing[0].number, &report.findings);
            let first = one_line(&first);
            let message = match failing.len() {
                1 => first,
                count => format!("{}, the first: {first}", counted(count, "finding")),
            };
            let text: String = failing.iter().map(|finding| lines(finding, report)).collect();
            xml.leaf("failure", &[("message", &message), ("type", worst.word())], &text);
        } else if let Some(reason) = skipped {
            xml.leaf("skipped", &[("message", &one_line(reason))], "");
        }
        if !other.is_empty() {
            let text: String = other.iter().map(|finding| lines(finding, report)).collect();
            xml.leaf("system-out", &[], &text);
        }
        xml.indent(4);
        xml.event(Event::End(BytesEnd::new("testcase")));
    }
}

impl Reporter for Junit {
    fn opening(&self) -> String {
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites name=\"layrule\">".into()
    }

    fn plan(&self, report: &Report) -> Vec<u8> {
        let name = one_line(report.sources.get(FileId(0)).map_or("", |file| &file.name));
        let mut found: HashMap<&str, Vec<&Finding>> = HashMap::new();
        for finding in &report.findings {
            found.entry(&finding.rule).or_default().push(finding);
        }
        let mut skipped: HashMap<&str, &str> = HashMap::new();
        for unchecked in &report.unchecked {
            skipped.entry(&unchecked.rule).or_insert(&unchecked.reason);
        }
        let failing = |rule: &str| found.get(rule).is_some_and(|all| all.iter().any(|finding| self.fails(finding)));
        let failures = self.rules.iter().filter(|rule| failing(rule)).count();
        let skips = self.rules.iter().filter(|rule| skipped.contains_key(rule.as_str()) && !failing(rule)).count();
        let mut xml = Xml(Writer::new(Vec::new()));
        xml.indent(2);
        xml.event(Event::Start(BytesStart::new("testsuite").with_attributes([
            ("name", name.as_str()),
            ("tests", &self.rules.len().to_string()),
            ("failures", &failures.to_string()),
            ("errors", "0"),
            ("skipped", &skips.to_string()),
            ("time", "0"),
        ])));
        for rule in &self.rules {
            let own = found.get(rule.as_str()).map_or(&[][..], Vec::as_slice);
            self.case(&mut xml, &name, rule, own, skipped.get(rule.as_str()).copied(), report);
        }
        xml.indent(2);
        xml.event(Event::End(BytesEnd::new("testsuite")));
        xml.0.into_inner()
    }

    fn closing(&self, summary: &Summary) -> String {
        let mut xml = Xml(Writer::new(Vec::new()));
        if !summary.problems.is_empty() {
            let count = summary.problems.len().to_string();
            xml.indent(2);
            xml.event(Event::Start(BytesStart::new("testsuite").with_attributes([
                ("name", "layrule"),
                ("tests", count.as_str()),
                ("failures", "0"),
                ("errors", &count),
                ("skipped", "0"),
                ("time", "0"),
            ])));
            for (number, problem) in summary.problems.iter().enumerate() {
                let name = format!("problem {}", number + 1);
                xml.indent(4);
                xml.event(Event::Start(BytesStart::new("testcase").with_attributes([
                    ("classname", "layrule"),
                    ("name", name.as_str()),
                    ("time", "0"),
                ])));
                xml.leaf("error", &[("message", &one_line(problem)), ("type", "problem")], problem);
                xml.indent(4);
                xml.event(Event::End(BytesEnd::new("testcase")));
            }
            xml.indent(2);
            xml.event(Event::End(BytesEnd::new("testsuite")));
        }
        format!("{}\n</testsuites>\n", String::from_utf8_lossy(&xml.0.into_inner()))
    }
}
