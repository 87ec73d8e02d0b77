//! Findings as JSON, for other programs. `grammar/findings.schema.json` describes it; [`VERSION`] grows when a reader of an
//! older one could go wrong.

use rayon::prelude::*;
use serde::Serialize;

use super::{Reporter, Summary};
use crate::checker::Report;
use crate::finding::{Basis, Finding, Mark};
use crate::fingerprint::fingerprint;
use crate::geometry::{Piece, Point, Site};
use crate::source::{Place, Sources};

/// The version of the form.
pub const VERSION: u32 = 1;

/// The JSON output.
#[derive(Debug, Clone, Copy, Default)]
pub struct Json;

#[derive(Serialize)]
struct JsonPlan<'r> {
    file: &'r str,
    rooms: usize,
    findings: Vec<JsonFinding<'r>>,
    rules_checked: usize,
    not_checked: Vec<JsonUnchecked<'r>>,
}

#[derive(Serialize)]
pub(super) struct JsonFinding<'r> {
    number: u32,
    rule: &'r str,
    severity: &'static str,
    message: &'r str,
    place: JsonPlace<'r>,
    label: &'r str,
    related: Vec<JsonMark<'r>>,
    figures: Vec<JsonFigure<'r>>,
    advice: Option<&'r str>,
    fix: Option<JsonFix<'r>>,
    basis: Option<JsonBasis<'r>>,
    room: Option<&'r str>,
    site: Option<JsonSite>,
    subjects: Vec<JsonSubject<'r>>,
    accepted: Option<JsonAcceptance<'r>>,
    fingerprint: String,
}

#[derive(Serialize)]
struct JsonFix<'r> {
    title: &'r str,
    edits: Vec<JsonEdit<'r>>,
}

#[derive(Serialize)]
struct JsonEdit<'r> {
    place: JsonPlace<'r>,
    text: &'r str,
}

#[derive(Serialize)]
struct JsonPlace<'r> {
    file: &'r str,
    line: usize,
    column: usize,
    end_line: usize,
    end_column: usize,
}

#[derive(Serialize)]
struct JsonMark<'r> {
    place: JsonPlace<'r>,
    label: &'r str,
}

#[derive(Serialize)]
struct JsonFigure<'r> {
    name: &'r str,
    value: Option<f64>,
    unit: Option<String>,
    text: &'r str,
    limit: bool,
}

#[derive(Serialize)]
struct JsonBasis<'r> {
    kind: &'static str,
    title: Option<&'r str>,
    clause: Option<&'r str>,
    from_memory: bool,
}

/// A point of the floor, mm.
#[derive(Serialize)]
struct JsonPoint {
    x: f64,
    y: f64,
}

#[derive(Serialize)]
struct JsonStretch {
    from: JsonPoint,
    to: JsonPoint,
}

#[derive(Serialize)]
struct JsonSite {
    at: JsonPoint,
    nearest: Option<JsonPoint>,
    stretches: Vec<JsonStretch>,
    area: Vec<Vec<JsonPoint>>,
    bay: bool,
}

#[derive(Serialize)]
struct JsonSubject<'r> {
    kind: &'static str,
    name: &'r str,
}

#[derive(Serialize)]
struct JsonAcceptance<'r> {
    reason: &'r str,
    until: Option<String>,
    place: JsonPlace<'r>,
}

#[derive(Serialize)]
pub(super) struct JsonUnchecked<'r> {
    rule: &'r str,
    reason: &'r str,
}

#[derive(Serialize)]
pub(super) struct JsonSummary<'s> {
    files: usize,
    files_with_findings: usize,
    errors: usize,
    warnings: usize,
    notes: usize,
    accepted: usize,
    rules_checked: usize,
    not_checked: Vec<JsonSummaryUnchecked<'s>>,
    known: usize,
    gone: Vec<JsonGone<'s>>,
    problems: &'s [String],
}

#[derive(Serialize)]
struct JsonGone<'s> {
    plan: &'s str,
    rule: &'s str,
    room: Option<&'s str>,
    about: &'s [String],
    text: &'s str,
    count: u32,
}

#[derive(Serialize)]
struct JsonSummaryUnchecked<'s> {
    rule: &'s str,
    reason: &'s str,
    files: usize,
}

fn place(sources: &Sources, place: Place) -> JsonPlace<'_> {
    let range = place.span.range();
    let Some(file) = sources.get(place.file) else {
        return JsonPlace { file: "", line: 0, column: 0, end_line: 0, end_column: 0 };
    };
    let (line, column) = file.line_and_column(range.start);
    let (end_line, end_column) = file.line_and_column(range.end);
    JsonPlace { file: &file.name, line, column, end_line, end_column }
}

fn mark<'r>(sources: &'r Sources, mark: &'r Mark) -> JsonMark<'r> {
    JsonMark { place: place(sources, mark.place), label: &mark.label }
}

/// A point to a hundredth of a millimetre.
fn point(point: Point) -> JsonPoint {
    let near = |value: f64| (value * 100.0).round() / 100.0 + 0.0;
    JsonPoint { x: near(point.x), y: near(point.y) }
}

fn site(site: &Site) -> JsonSite {
    let stretch = |piece: &Piece| JsonStretch { from: point(piece.start), to: point(piece.end) };
    JsonSite {
        at: point(site.at),
        nearest: site.nearest.map(point),
        stretches: site.stretches.iter().map(stretch).collect(),
        area: site.area.iter().map(|ring| ring.iter().copied().map(point).collect()).collect(),
        bay: site.bay,
    }
}

fn basis(basis: &Basis, from_memory: bool) -> JsonBasis<'_> {
    let (kind, title, clause) = match basis {
        Basis::Practice => ("practice", None, None),
        Basis::Maker => ("maker", None, None),
        Basis::Standard { title, clause } => ("standard", Some(title.as_str()), clause.as_deref()),
    };
    JsonBasis { kind, title, clause, from_memory }
}

pub(super) fn finding<'r>(sources: &'r Sources, finding: &'r Finding) -> JsonFinding<'r> {
    let figures = finding.figures.iter().map(|figure| {
        let shown = figure.quantity.map(crate::quantity::Quantity::in_fixed_unit);
        JsonFigure {
            name: &figure.name,
            value: shown.as_ref().map(|(value, _)| *value),
            unit: shown.map(|(_, unit)| unit),
            text: &figure.text,
            limit: figure.limit,
        }
    });
    JsonFinding {
        number: finding.number,
        rule: &finding.rule,
        severity: finding.severity.word(),
        message: &finding.message,
        place: place(sources, finding.place()),
        label: finding.marks.first().map_or("", |mark| &mark.label),
        related: finding.marks.iter().skip(1).map(|other| mark(sources, other)).collect(),
        figures: figures.collect(),
        advice: finding.advice.as_deref(),
        fix: finding.fix.as_ref().map(|fix| JsonFix {
            title: &fix.title,
            edits: fix
                .edits
                .iter()
                .map(|edit| JsonEdit { place: place(sources, edit.place), text: &edit.text })
                .collect(),
        }),
        basis: finding.basis.as_ref().map(|own| basis(own, finding.from_memory)),
        room: finding.room.as_deref(),
        site: finding.site.as_ref().map(site),
        subjects: finding
            .subjects
            .iter()
            .map(|subject| JsonSubject { kind: subject.kind.statement(), name: &subject.name })
            .collect(),
        accepted: finding.accepted.as_ref().map(|accepted| JsonAcceptance {
            reason: &accepted.reason,
            until: accepted.until.map(|until| until.to_string()),
            place: place(sources, accepted.place),
        }),
        fingerprint: fingerprint(finding, sources),
    }
}

pub(super) fn unchecked(report: &Report) -> Vec<JsonUnchecked<'_>> {
    let unchecked = report.unchecked.iter();
    unchecked.map(|unchecked| JsonUnchecked { rule: &unchecked.rule, reason: &unchecked.reason }).collect()
}

pub(super) fn summary(summary: &Summary) -> JsonSummary<'_> {
    let unchecked = summary.unchecked.iter();
    let gone = summary.gone.iter().map(|(gone, count)| JsonGone {
        plan: &gone.plan,
        rule: &gone.rule,
        room: Some(gone.room.as_str()).filter(|room| !room.is_empty()),
        about: &gone.about,
        text: &gone.text,
        count: *count,
    });
    JsonSummary {
        files: summary.files,
        files_with_findings: summary.files_with_findings,
        errors: summary.errors,
        warnings: summary.warnings,
        notes: summary.notes,
        accepted: summary.accepted,
        rules_checked: summary.checked,
        not_checked: unchecked
            .map(|(rule, reason, files)| JsonSummaryUnchecked { rule, reason, files: *files })
            .collect(),
        known: summary.known,
        gone: gone.collect(),
        problems: &summary.problems,
    }
}

impl Reporter for Json {
    fn opening(&self) -> String {
        format!("{{\"format\":\"layrule-findings\",\"version\":{VERSION},\"plans\":[")
    }

    fn between(&self) -> &'static str {
        ","
    }

    fn plan(&self, report: &Report) -> Vec<u8> {
        let plan = JsonPlan {
            file: report.sources.get(crate::source::FileId(0)).map_or("", |file| &file.name),
            rooms: report.rooms,
            // Places, figures and fingerprints of each are worked out side by side; one plan may have a hundred thousand.
            findings: report.findings.par_iter().map(|one| finding(&report.sources, one)).collect(),
            rules_checked: report.checked,
            not_checked: unchecked(report),
        };
        let mut bytes = b"\n".to_vec();
        // Writing plain structures to memory doesn't fail; were it to, the plan would be left out and the form stay whole.
        bytes.extend(serde_json::to_vec(&plan).unwrap_or_else(|_| b"null".to_vec()));
        bytes
    }

    fn closing(&self, summary: &Summary) -> String {
        let whole = self::summary(summary);
        format!("\n],\"summary\":{}}}\n", serde_json::to_string(&whole).unwrap_or_else(|_| "null".into()))
    }
}
