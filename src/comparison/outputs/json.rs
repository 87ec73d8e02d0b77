//! What differs, as JSON, for other programs. `grammar/comparison.schema.json` describes it; [`VERSION`] grows when a reader of an older one
//! could go wrong.

use serde::Serialize;

use crate::comparison::{Change, Comparison, Finds, How, Turn, What};
use crate::geometry::Point;

/// The version of the form.
pub const VERSION: u32 = 1;

#[derive(Serialize)]
struct JsonComparison<'c> {
    format: &'static str,
    version: u32,
    design: &'c str,
    built: &'c str,
    complete: bool,
    shared: Vec<JsonChange<'c>>,
    rooms: Vec<JsonRoom<'c>>,
    findings: Vec<JsonFinds<'c>>,
    caution: &'static str,
}

#[derive(Serialize)]
struct JsonRoom<'c> {
    name: &'c str,
    title: Option<&'c str>,
    origin_moved_mm: [f64; 2],
    changes: Vec<JsonChange<'c>>,
}

/// Of what differs, only what the kind of change has.
#[derive(Serialize, Default)]
struct JsonChange<'c> {
    kind: &'c str,
    name: &'c str,
    what: &'static str,
    text: String,
    at_mm: Option<[f64; 2]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    figure: Option<&'c str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    from: Option<&'c str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    to: Option<&'c str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    by_mm: Option<[f64; 2]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    by_most_mm: Option<[f64; 2]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    longer_mm: Option<[f64; 2]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lengths_mm: Option<[f64; 2]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    runs: Option<[usize; 2]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    runs_before: Option<[usize; 2]>,
}

#[derive(Serialize)]
struct JsonFinds<'c> {
    turn: &'static str,
    rule: &'c str,
    severity: &'static str,
    room: Option<&'c str>,
    message: &'c str,
    line: &'c str,
    fingerprint: &'c str,
}

fn rounded(value: f64) -> f64 {
    let rounded = (value * 1e3).round() / 1e3;
    if rounded == 0.0 { 0.0 } else { rounded }
}

fn step(by: Point) -> [f64; 2] {
    [rounded(by.x), rounded(by.y)]
}

fn change(change: &Change) -> JsonChange<'_> {
    let whole = JsonChange {
        kind: change.kind,
        name: &change.name,
        text: change.words(),
        at_mm: change.at.map(step),
        ..JsonChange::default()
    };
    match &change.what {
        What::Added => JsonChange { what: "added", ..whole },
        What::Gone => JsonChange { what: "gone", ..whole },
        What::Renamed(from) => JsonChange { what: "renamed", from: Some(from), ..whole },
        What::Moved(by) => JsonChange { what: "moved", by_mm: Some(step(*by)), ..whole },
        What::Rerouted { lengths: (from, to), end } => JsonChange {
            what: "rerouted",
            lengths_mm: Some([rounded(*from), rounded(*to)]),
            by_mm: Some(step(*end)),
            ..whole
        },
        What::Figure { label, from, to } => {
            JsonChange { what: "figure", figure: Some(label), from: Some(from), to: Some(to), ..whole }
        }
        What::Runs(led) => {
            let whole =
                JsonChange { runs: Some(led.runs.into()), runs_before: led.before.map(<[usize; 2]>::from), ..whole };
            match &led.how {
                How::Added => JsonChange { what: "runs-added", ..whole },
                How::Gone => JsonChange { what: "runs-gone", ..whole },
                How::Turned => JsonChange { what: "runs-turned", ..whole },
                How::Shifted { by: (least, most), longer: (less, more) } => JsonChange {
                    what: "runs-shifted",
                    by_mm: Some(step(*least)),
                    by_most_mm: Some(step(*most)),
                    longer_mm: Some([rounded(*less), rounded(*more)]),
                    ..whole
                },
            }
        }
    }
}

fn finds(finds: &Finds) -> JsonFinds<'_> {
    let turn = match finds.turn {
        Turn::New => "new",
        Turn::Gone => "gone",
        Turn::Agreed => "agreed",
        Turn::Open => "open",
    };
    JsonFinds {
        turn,
        rule: &finds.rule,
        severity: finds.severity.word(),
        room: finds.room.as_deref(),
        message: &finds.message,
        line: &finds.line,
        fingerprint: &finds.fingerprint,
    }
}

pub(super) fn write(comparison: &Comparison) -> Vec<u8> {
    let whole = JsonComparison {
        format: "layrule-comparison",
        version: VERSION,
        design: &comparison.design,
        built: &comparison.built,
        complete: comparison.complete,
        shared: comparison.shared.iter().map(change).collect(),
        rooms: comparison
            .rooms
            .iter()
            .map(|room| JsonRoom {
                name: &room.name,
                title: room.title.as_deref(),
                origin_moved_mm: step(room.offset),
                changes: room.changes.iter().map(change).collect(),
            })
            .collect(),
        findings: comparison.findings.iter().map(finds).collect(),
        caution: crate::CAUTION,
    };
    // Writing plain structures to memory doesn't fail.
    let mut bytes = serde_json::to_vec_pretty(&whole).unwrap_or_default();
    bytes.push(b'\n');
    bytes
}
