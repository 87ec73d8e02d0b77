//! Findings as SARIF 2.1.0 (OASIS, "Static Analysis Results Interchange Format"), for code hosts and viewers.
//!
//! What lies in the project is named from its folder, the base [`BASE`], which is left without a place of its own: so the log is the same on
//! every machine. Columns count UTF-16 code units. A fingerprint is [`fingerprint`]'s.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;

use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};
use serde::Serialize;
use serde_json::{Value, json};

use super::{Reporter, Summary};
use crate::alike::{Alike, alike};
use crate::checker::Report;
use crate::finding::{Acceptance, Fix, Mark, Severity, ids};
use crate::fingerprint::fingerprint;
use crate::rules::packs::RuleSet;
use crate::rules::program::Rule;
use crate::source::{FileId, Place, Sources, slashed};

/// What the project's folder is called in a log.
pub const BASE: &str = "PROJECT";

/// The key of the fingerprints; its number grows when they are made otherwise.
pub const FINGERPRINT: &str = "layruleFinding/v1";

/// The SARIF output.
#[derive(Debug, Clone, Default)]
pub struct Sarif {
    /// The rules of all projects of the run, each with the text that describes it.
    descriptors: Vec<Value>,
    /// Where each rule of this project stands among them.
    places: BTreeMap<String, usize>,
    /// What the folder of this project is called.
    base: String,
    /// What those of all projects are called.
    bases: Vec<String>,
}

impl Sarif {
    /// The output for each of some sets of rules; they describe all of them, and speak of their own.
    pub fn each(sets: &[&RuleSet]) -> Vec<Sarif> {
        let mut descriptors: Vec<Value> =
            ids::ABOUT.iter().map(|(id, about)| json!({
                "id": id,
                "shortDescription": { "text": message(&format!("{about}.")) },
                "fullDescription": { "text": message(&format!("{about}. Found while reading the plan.")) },
                "help": { "text": message(&format!("{about}. `grammar/layout.md` explains how plans are written.")) },
                "defaultConfiguration": { "level": "error" },
            })).collect();
        let mut all = Vec::new();
        for set in sets {
            let mut places: BTreeMap<String, usize> =
                ids::ALL.iter().enumerate().map(|(place, id)| ((*id).to_string(), place)).collect();
            for rule in &set.rules {
                let own = descriptor(rule);
                let place = descriptors.iter().position(|known| *known == own).unwrap_or_else(|| {
                    descriptors.push(own);
                    descriptors.len() - 1
                });
                places.insert(rule.name.to_string(), place);
            }
            all.push(places);
        }
        let bases: Vec<String> = (1..=all.len())
            .map(|number| if number == 1 { BASE.to_string() } else { format!("{BASE}-{number}") })
            .collect();
        let one = |(places, base): (_, &String)| Sarif {
            descriptors: descriptors.clone(),
            places,
            base: base.clone(),
            bases: bases.clone(),
        };
        all.into_iter().zip(&bases).map(one).collect()
    }
}

/// Text as a SARIF message has it: braces doubled, since single ones stand for arguments, and nothing that reads as a link (3.11.5, 3.11.6).
fn message(text: &str) -> String {
    text.replace('{', "{{").replace('}', "}}").replace("](", "\\](")
}

fn level(severity: Severity) -> &'static str {
    severity.word()
}

fn descriptor(rule: &Rule) -> Value {
    let about = format!("{}.", rule.about);
    let why = rule.why.as_deref().unwrap_or(&about);
    let memory = if rule.from_memory { ", recalled from memory" } else { "" };
    let mut text = format!("{why}\n\nBasis: {}{memory}.", rule.basis);
    let mut marked = format!(
        "{}\n\n**Basis:** {}{memory}.",
        super::markdown::escaped(why),
        super::markdown::escaped(&rule.basis.to_string())
    );
    if !rule.limits.is_empty() {
        text.push_str("\n\nLimits:");
        marked.push_str("\n\n| limit | value | meaning |\n| --- | --- | --- |");
    }
    for limit in &rule.limits {
        let meaning = limit.meaning.as_deref().unwrap_or("");
        let _ = write!(text, "\n{} = {} {meaning}", limit.name, limit.text);
        let shown = [&limit.name, &limit.text, meaning].map(super::markdown::escaped);
        let _ = write!(marked, "\n| {} |", shown.join(" | "));
    }
    let _ = write!(text, "\n\nHow it is checked:\n{}", rule.check_text.join("\n"));
    let _ = write!(marked, "\n\n**How it is checked:**\n\n~~~~text\n{}\n~~~~", rule.check_text.join("\n"));
    json!({
        "id": &*rule.name,
        "shortDescription": { "text": message(&about) },
        "fullDescription": { "text": message(why) },
        "help": { "text": message(&text), "markdown": message(&marked) },
        "defaultConfiguration": {
            "enabled": rule.severity.is_some(),
            "level": rule.severity.map_or("none", level),
        },
        "properties": {
            "basis": rule.basis.to_string(),
            "fromMemory": rule.from_memory,
            "binding": rule.binding,
            "limits": rule.limits.iter().map(|limit| json!({ "name": limit.name, "value": limit.text, "meaning": limit.meaning })).collect::<Vec<_>>(),
        },
    })
}

/// What a path needs no escape for: RFC 3986's unreserved characters, and `/` between its parts.
const PLAIN: &AsciiSet = &NON_ALPHANUMERIC.remove(b'-').remove(b'.').remove(b'_').remove(b'~').remove(b'/');

/// Where a file is: from the project's folder, or by a whole `file` address where it lies outside.
fn artifact(base: &str, location: &Path) -> Value {
    let path = slashed(location);
    let encoded = utf8_percent_encode(&path, PLAIN).to_string();
    if location.is_absolute() {
        let slash = if encoded.starts_with('/') { "" } else { "/" };
        json!({ "uri": format!("file://{slash}{encoded}") })
    } else {
        json!({ "uri": encoded, "uriBaseId": base })
    }
}

fn physical(base: &str, sources: &Sources, place: Place) -> Value {
    let Some(file) = sources.get(place.file) else {
        return json!({ "artifactLocation": { "description": { "text": "a file that is not known" } } });
    };
    let range = place.span.range();
    let (line, column) = file.line_and_utf16_column(range.start);
    let (end_line, end_column) = file.line_and_utf16_column(range.end);
    json!({
        "artifactLocation": artifact(base, &file.location),
        "region": { "startLine": line, "startColumn": column, "endLine": end_line, "endColumn": end_column },
    })
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Found<'r> {
    rule_id: &'r str,
    #[serde(skip_serializing_if = "Option::is_none")]
    rule_index: Option<usize>,
    kind: &'static str,
    level: &'static str,
    message: Value,
    locations: [Value; 1],
    related_locations: Vec<Value>,
    partial_fingerprints: BTreeMap<&'static str, String>,
    /// How many findings say the same of the same lines: a result's `occurrenceCount`.
    occurrence_count: usize,
    suppressions: Vec<Value>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    fixes: Vec<Value>,
    properties: Value,
}

fn related(base: &str, sources: &Sources, mark: &Mark, id: usize) -> Value {
    json!({ "id": id, "physicalLocation": physical(base, sources, mark.place), "message": { "text": message(&mark.label) } })
}

fn suppression(base: &str, sources: &Sources, accepted: &Acceptance) -> Value {
    let mut one = json!({
        "kind": "inSource",
        "status": "accepted",
        "justification": accepted.reason,
        "location": { "physicalLocation": physical(base, sources, accepted.place) },
    });
    if let Some(until) = accepted.until {
        one["properties"] = json!({ "until": until.to_string() });
    }
    one
}

/// A change, file by file.
fn fix(base: &str, sources: &Sources, fix: &Fix) -> Value {
    let mut files: BTreeMap<FileId, Vec<Value>> = BTreeMap::new();
    for edit in &fix.edits {
        let region = &physical(base, sources, edit.place)["region"];
        let change = json!({ "deletedRegion": region, "insertedContent": { "text": edit.text } });
        files.entry(edit.place.file).or_default().push(change);
    }
    let changes: Vec<Value> = files
        .into_iter()
        .filter_map(|(file, replacements)| {
            let location = artifact(base, &sources.get(file)?.location);
            Some(json!({ "artifactLocation": location, "replacements": replacements }))
        })
        .collect();
    json!({ "description": { "text": message(&fix.title) }, "artifactChanges": changes })
}

impl Sarif {
    fn found<'r>(&self, own: &Alike<'r>, sources: &Sources) -> Found<'r> {
        let finding = own.worst;
        let mut location = json!({ "physicalLocation": physical(&self.base, sources, finding.place()) });
        if let Some(label) = finding.marks.first().map(|mark| &mark.label).filter(|label| !label.is_empty()) {
            location["message"] = json!({ "text": message(label) });
        }
        if let Some(room) = &finding.room {
            location["logicalLocations"] = json!([{ "name": room, "kind": "object" }]);
        }
        let mut text = message(&finding.message);
        if !text.ends_with(['.', '!', '?']) {
            text.push('.');
        }
        if let Some(others) = own.others() {
            let _ = write!(text, " There are {}.", others.trim_start_matches("and "));
        }
        if let Some(advice) = &finding.advice {
            let _ = write!(text, " Advice: {}", message(advice));
            if !text.ends_with(['.', '!', '?']) {
                text.push('.');
            }
        }
        let figures: Vec<Value> = finding
            .figures
            .iter()
            .map(|figure| json!({ "name": figure.name, "text": figure.text, "limit": figure.limit }))
            .collect();
        Found {
            rule_id: &finding.rule,
            rule_index: self.places.get(&*finding.rule).copied(),
            kind: "fail",
            level: level(finding.severity),
            message: json!({ "text": text }),
            locations: [location],
            related_locations: finding
                .marks
                .iter()
                .skip(1)
                .enumerate()
                .map(|(at, mark)| related(&self.base, sources, mark, at + 1))
                .collect(),
            // The worst may be another tomorrow; the first stays the first.
            partial_fingerprints: BTreeMap::from([(FINGERPRINT, fingerprint(own.first, sources))]),
            occurrence_count: own.more() + 1,
            suppressions: finding.accepted.iter().map(|accepted| suppression(&self.base, sources, accepted)).collect(),
            fixes: finding.fix.iter().map(|one| fix(&self.base, sources, one)).collect(),
            properties: json!({
                "number": own.number(),
                "basis": finding.basis.as_ref().map(ToString::to_string),
                "figures": figures,
                "subjects": finding.subjects.iter().map(|subject| format!("{} {}", subject.kind.statement(), subject.name)).collect::<Vec<_>>(),
            }),
        }
    }
}

impl Reporter for Sarif {
    fn opening(&self) -> String {
        let driver = json!({
            "name": "layrule",
            "version": env!("CARGO_PKG_VERSION"),
            "semanticVersion": env!("CARGO_PKG_VERSION"),
            "shortDescription": { "text": "Checks plans for electric floor heating." },
            "fullDescription": { "text": crate::CAUTION },
            "rules": self.descriptors,
        });
        let description = json!({ "description": { "text": "The folder of the project that the plans belong to." } });
        let bases: Value = self.bases.iter().map(|base| (base.clone(), description.clone())).collect();
        format!(
            "{{\"$schema\":\"https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json\",\
             \"version\":\"2.1.0\",\"runs\":[{{\"tool\":{{\"driver\":{driver}}},\"columnKind\":\"utf16CodeUnits\",\
             \"originalUriBaseIds\":{bases},\"results\":["
        )
    }

    fn between(&self) -> &'static str {
        ","
    }

    fn plan(&self, report: &Report) -> Vec<u8> {
        let found = alike(&report.findings);
        let found = found.iter().map(|found| self.found(found, &report.sources));
        // Writing plain structures to memory doesn't fail; were it to, the finding would be left out and the log stay whole.
        let lines: Vec<String> = found.filter_map(|found| serde_json::to_string(&found).ok()).collect();
        if lines.is_empty() { Vec::new() } else { format!("\n{}", lines.join(",\n")).into_bytes() }
    }

    fn closing(&self, summary: &Summary) -> String {
        let notifications: Vec<Value> = summary
            .problems
            .iter()
            .map(|problem| json!({ "level": "error", "message": { "text": message(problem) } }))
            .collect();
        let gone = summary.gone.iter().map(|(gone, count)| {
            json!({ "plan": gone.plan, "rule": gone.rule, "room": gone.room, "about": gone.about, "text": gone.text, "count": count })
        });
        let unchecked = summary
            .unchecked
            .iter()
            .map(|(rule, reason, files)| json!({ "rule": rule, "reason": reason, "files": files }));
        let invocation = json!({
            "executionSuccessful": notifications.is_empty(),
            "toolExecutionNotifications": notifications,
        });
        let properties = json!({
            "files": summary.files,
            "known": summary.known,
            "gone": gone.collect::<Vec<_>>(),
            "notChecked": unchecked.collect::<Vec<_>>(),
        });
        format!("\n],\"invocations\":[{invocation}],\"properties\":{properties}}}]}}\n")
    }
}
