//! Findings as JSON, one object a line, for programs that read as they go. `$defs/line` of `grammar/findings.schema.json` describes a
//! line.

use serde::Serialize;

use super::json::{JsonFinding, JsonSummary, JsonUnchecked, VERSION, finding, summary, unchecked};
use super::{Reporter, Summary};
use crate::checker::Report;
use crate::source::FileId;

/// The output of one JSON object a line.
#[derive(Debug, Clone, Copy, Default)]
pub struct JsonLines;

#[derive(Serialize)]
#[serde(tag = "line", rename_all = "lowercase")]
enum Line<'r> {
    Opening { format: &'static str, version: u32 },
    Finding { plan: &'r str, finding: Box<JsonFinding<'r>> },
    Plan { file: &'r str, rooms: usize, rules_checked: usize, not_checked: Vec<JsonUnchecked<'r>> },
    Summary { summary: JsonSummary<'r> },
}

impl Line<'_> {
    fn write(&self, bytes: &mut Vec<u8>) {
        // Writing plain structures to memory doesn't fail; were it to, the line would be left out and the others stay whole.
        if let Ok(line) = serde_json::to_vec(self) {
            bytes.extend(line);
            bytes.push(b'\n');
        }
    }

    fn text(&self) -> String {
        serde_json::to_string(self).map(|line| line + "\n").unwrap_or_default()
    }
}

impl Reporter for JsonLines {
    fn opening(&self) -> String {
        Line::Opening { format: "layrule-finding-lines", version: VERSION }.text()
    }

    fn plan(&self, report: &Report) -> Vec<u8> {
        let file = report.sources.get(FileId(0)).map_or("", |file| &file.name);
        let mut bytes = Vec::new();
        for one in &report.findings {
            Line::Finding { plan: file, finding: Box::new(finding(&report.sources, one)) }.write(&mut bytes);
        }
        Line::Plan { file, rooms: report.rooms, rules_checked: report.checked, not_checked: unchecked(report) }
            .write(&mut bytes);
        bytes
    }

    fn closing(&self, whole: &Summary) -> String {
        Line::Summary { summary: summary(whole) }.text()
    }
}
