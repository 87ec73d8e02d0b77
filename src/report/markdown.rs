//! Findings as Markdown: a summary to put under a merge request.

use std::fmt::Write as _;

use super::{Reporter, Summary};
use crate::alike::{Alike, alike};
use crate::checker::Report;
use crate::source::{FileId, Sources, printable};
use crate::text::counted;

/// The Markdown output.
#[derive(Debug, Clone, Copy, Default)]
pub struct Markdown;

/// Text that Markdown, and the HTML in it, show as it stands, on one line and in its direction; a name after `@` calls nobody.
///
/// ```
/// assert_eq!(layrule::report::markdown::escaped("a|b <i>\n@c"), "a\\|b &lt;i&gt; @\u{200b}c");
/// assert_eq!(layrule::report::markdown::escaped("\u{202e}yal.b"), "\u{fffd}yal.b");
/// ```
pub fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in printable(text.to_string()).chars() {
        match c {
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '&' => safe.push_str("&amp;"),
            '@' => safe.push_str("@\u{200b}"),
            '\\' | '`' | '*' | '_' | '[' | ']' | '|' | '~' | '#' | '!' | '$' => {
                safe.push('\\');
                safe.push(c);
            }
            '\t' | '\n' | '\r' | '\u{2028}' | '\u{2029}' => safe.push(' '),
            c => safe.push(c),
        }
    }
    safe
}

fn row(found: &Alike<'_>, sources: &Sources) -> String {
    let finding = found.worst;
    let place = sources.file_and_line(finding.place());
    let mut what = escaped(&finding.message);
    if let Some(others) = found.others() {
        let _ = write!(what, "<br>{others}");
    }
    let limits: Vec<String> = finding
        .figures
        .iter()
        .filter(|figure| figure.limit)
        .map(|figure| format!("{} {}", escaped(&figure.name), escaped(&figure.text)))
        .collect();
    if !limits.is_empty() {
        let _ = write!(what, "<br>held to: {}", limits.join(", "));
    }
    if let Some(basis) = &finding.basis {
        let _ = write!(what, "<br>basis: {}", escaped(&basis.to_string()));
    }
    let (weight, then) = match &finding.accepted {
        None => (finding.severity.word(), finding.advice.as_deref().map(escaped).unwrap_or_default()),
        Some(accepted) => {
            let until = accepted.until.map_or_else(String::new, |until| format!(" until {until}"));
            ("accepted", format!("agreed{until}: {}", escaped(&accepted.reason)))
        }
    };
    format!("| {} | {weight} | {} | {} | {what} | {then} |\n", found.number(), escaped(&finding.rule), escaped(&place))
}

/// What hosts take of a comment is 65 536 characters at the most: bytes of all plans, of one of them, and of each list after them. Bytes are
/// counted, of which there are no fewer than characters.
const MOST: usize = 48_000;
const MOST_OF_A_PLAN: usize = 40_000;
const MOST_OF_A_LIST: usize = 5_000;

/// Where everything is told that was left out.
const ALL_ELSEWHERE: &str = "`layrule check` on the command line, or another output, tells all of them";

/// A list that is folded up until it is asked for.
fn folded(text: &mut String, title: &str, lines: impl Iterator<Item = String>) {
    let _ = writeln!(text, "\n<details><summary>{title}</summary>\n");
    listed(text, lines);
    text.push_str("\n</details>\n");
}

/// A list, as far as there is room for it.
fn listed(text: &mut String, lines: impl Iterator<Item = String>) {
    let (mut taken, mut left_out) = (0, 0);
    for line in lines {
        taken += line.len() + 3;
        if taken > MOST_OF_A_LIST {
            left_out += 1;
        } else {
            let _ = writeln!(text, "- {line}");
        }
    }
    if left_out > 0 {
        let _ = writeln!(text, "- and {left_out} more, left out here; {ALL_ELSEWHERE}");
    }
}

impl Reporter for Markdown {
    fn opening(&self) -> String {
        "## Floor heating plans\n".into()
    }

    fn plan(&self, report: &Report) -> Vec<u8> {
        if report.findings.is_empty() {
            return Vec::new();
        }
        let name = report.sources.get(FileId(0)).map_or("", |file| &file.name);
        let mut text = format!(
            "\n### {}\n\n| no. | severity | rule | line | finding | what to do |\n| --- | --- | --- | --- | --- | --- |\n",
            escaped(name)
        );
        let mut left_out = 0;
        for found in alike(&report.findings) {
            let row = row(&found, &report.sources);
            if left_out > 0 || text.len() + row.len() > MOST_OF_A_PLAN {
                left_out += found.all.len();
            } else {
                text.push_str(&row);
            }
        }
        if left_out > 0 {
            let _ = writeln!(text, "\nLeft out here: {}; {ALL_ELSEWHERE}.", counted(left_out, "more finding"));
        }
        text.into_bytes()
    }

    fn most(&self) -> Option<usize> {
        Some(MOST)
    }

    fn left_out(&self, plans: usize) -> String {
        format!(
            "\nLeft out here, since a host takes no more: the findings of {}; {ALL_ELSEWHERE}.\n",
            counted(plans, "more plan")
        )
    }

    fn closing(&self, summary: &Summary) -> String {
        let mut text = format!("\n**{} checked: {}", counted(summary.files, "file"), summary.findings());
        if summary.accepted > 0 {
            let _ = write!(text, ", {} accepted", summary.accepted);
        }
        if summary.known > 0 {
            let _ = write!(text, ", {} known before", summary.known);
        }
        text.push_str("**\n");
        if !summary.problems.is_empty() {
            text.push_str("\n**The check could not be made in full:**\n\n");
            listed(&mut text, summary.problems.iter().map(|problem| escaped(problem)));
        }
        if !summary.gone.is_empty() {
            let lines = summary.gone.iter().map(|(gone, count)| {
                let times = if *count > 1 { format!(" ({count} of them)") } else { String::new() };
                format!("{}: {}: {}{times}", escaped(&gone.plan), escaped(&gone.rule), escaped(&gone.text))
            });
            folded(&mut text, "Known findings that are gone", lines);
        }
        if !summary.unchecked.is_empty() {
            let reasons = summary.unchecked_by_reason().into_iter();
            let lines = reasons.map(|(reason, rules)| escaped(&format!("{reason}: {}", rules.join(", "))));
            folded(&mut text, &format!("{} not checked", counted(summary.unchecked.len(), "rule")), lines);
        }
        text.push_str("\nA clean check is not an approval; a qualified person and the local wiring rules decide.\n");
        text
    }
}
