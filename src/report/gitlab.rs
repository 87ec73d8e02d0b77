//! Findings as GitLab's code quality report, which it shows in a merge request.
//!
//! The form is that of GitLab's documentation, "Code Quality report format": a list of objects with `description`, `check_name`, `fingerprint`,
//! `severity` (`info`, `minor`, `major`, `critical`, `blocker`) and a `location`. It knows nothing that was agreed to, so that such findings are
//! left out.

use serde_json::json;

use super::{Reporter, Summary};
use crate::alike::{Alike, alike};
use crate::checker::Report;
use crate::finding::{Finding, Severity};
use crate::fingerprint::fingerprint;
use crate::source::{one_line, slashed};

/// The output for GitLab.
#[derive(Debug, Clone, Copy, Default)]
pub struct Gitlab;

/// How GitLab calls the weight of a finding. What shocks or burns stands above other errors.
fn severity(finding: &Finding) -> &'static str {
    match finding.severity {
        Severity::Error if finding.binding => "critical",
        Severity::Error => "major",
        Severity::Warning => "minor",
        Severity::Note => "info",
    }
}

fn entry(found: &Alike<'_>, report: &Report) -> Option<String> {
    let (finding, sources) = (found.worst, &report.sources);
    let place = finding.place();
    let file = sources.get(place.file)?;
    let lines = [place.span.start(), place.span.end()].map(|at| file.line_and_column(at).0);
    let said = super::numbered(&finding.message, found.number(), &report.findings);
    let parts = [Some(said), found.others(), finding.advice.as_ref().map(|own| format!("advice: {own}"))];
    let entry = json!({
        "check_name": format!("layrule/{}", finding.rule),
        "description": parts.into_iter().flatten().collect::<Vec<_>>().join("; "),
        "fingerprint": fingerprint(found.first, sources),
        "severity": severity(finding),
        "location": { "path": one_line(&slashed(&file.location)), "lines": { "begin": lines[0], "end": lines[1] } },
    });
    Some(entry.to_string())
}

impl Reporter for Gitlab {
    fn opening(&self) -> String {
        "[".into()
    }

    fn between(&self) -> &'static str {
        ","
    }

    fn plan(&self, report: &Report) -> Vec<u8> {
        let open = alike(&report.findings).into_iter().filter(|found| found.worst.accepted.is_none());
        let entries: Vec<String> = open.filter_map(|found| entry(&found, report)).collect();
        if entries.is_empty() { Vec::new() } else { format!("\n{}", entries.join(",\n")).into_bytes() }
    }

    fn closing(&self, _summary: &Summary) -> String {
        "\n]\n".into()
    }
}
