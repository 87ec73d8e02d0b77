//! A take-off as JSON, for other programs. `grammar/takeoff.schema.json` describes it; [`VERSION`] grows when a reader of an older one
//! could go wrong. A figure more is no reason for that.

use serde::Serialize;

use super::rounded;
use crate::report::Worded as _;
use crate::takeoff::{Figure, Part, TakeOff, Value};

/// The version of the form.
pub const VERSION: u32 = 1;

#[derive(Serialize)]
struct JsonTakeOff<'t> {
    format: &'static str,
    version: u32,
    file: &'t str,
    complete: bool,
    rooms: Vec<JsonRoom<'t>>,
    supplies: Vec<JsonPart<'t>>,
    caution: &'static str,
}

#[derive(Serialize)]
struct JsonRoom<'t> {
    name: &'t str,
    title: Option<&'t str>,
    incomplete: Option<&'t str>,
    parts: Vec<JsonPart<'t>>,
}

#[derive(Serialize)]
struct JsonPart<'t> {
    kind: &'static str,
    name: Option<&'t str>,
    figures: Vec<JsonFigure<'t>>,
}

#[derive(Serialize)]
struct JsonFigure<'t> {
    name: &'static str,
    value: Option<f64>,
    unit: Option<String>,
    text: Option<String>,
    missing: Option<&'t str>,
    reckoned: &'static str,
}

fn figure(figure: &Figure) -> JsonFigure<'_> {
    let measured = figure.value.as_ref().ok().and_then(Value::measured);
    JsonFigure {
        name: figure.what.name,
        value: measured.as_ref().map(|(value, _)| rounded(*value)),
        unit: measured.map(|(_, unit)| unit),
        text: figure.value.as_ref().ok().map(Value::text),
        missing: figure.value.as_ref().err().map(String::as_str),
        reckoned: figure.what.reckoned,
    }
}

fn parts(parts: &[Part]) -> Vec<JsonPart<'_>> {
    parts.iter().map(part).collect()
}

fn part(part: &Part) -> JsonPart<'_> {
    JsonPart {
        kind: part.kind.word(),
        name: Some(part.name.as_str()).filter(|name| !name.is_empty()),
        figures: part.figures.iter().map(figure).collect(),
    }
}

pub(super) fn write(taken: &TakeOff) -> Vec<u8> {
    let rooms = taken.rooms.iter().map(|room| JsonRoom {
        name: &room.name,
        title: room.title.as_deref(),
        incomplete: room.incomplete.as_deref(),
        parts: parts(&room.parts),
    });
    let whole = JsonTakeOff {
        format: "layrule-takeoff",
        version: VERSION,
        file: &taken.file,
        complete: taken.complete,
        rooms: rooms.collect(),
        supplies: parts(&taken.supplies),
        caution: crate::CAUTION,
    };
    bytes(&whole)
}

pub(super) fn bytes(whole: &impl Serialize) -> Vec<u8> {
    // Writing plain structures to memory doesn't fail.
    let mut bytes = serde_json::to_vec_pretty(whole).unwrap_or_else(|_| b"null".to_vec());
    bytes.push(b'\n');
    bytes
}
