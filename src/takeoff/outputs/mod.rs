//! Shows a take-off. One file an output.

mod csv;
pub mod json;
mod markdown;
pub mod order;
mod text;

use super::{Figure, Part, TakeOff};
use crate::report::Worded;

/// The outputs there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// For a person.
    Text,
    /// One JSON object, as its schema in `grammar/` says.
    Json,
    /// A row a figure or a choice.
    Csv,
    /// Tables for a merge request or a wiki.
    Markdown,
}

impl Worded for Form {
    const WORDS: &'static [(Form, &'static str)] =
        &[(Form::Text, "text"), (Form::Json, "json"), (Form::Csv, "csv"), (Form::Markdown, "markdown")];
}

/// A take-off in a form. Text is broken to `width` columns, where there is one.
pub fn write(taken: &TakeOff, form: Form, width: Option<usize>) -> Vec<u8> {
    match form {
        Form::Text => text::write(taken, width).into_bytes(),
        Form::Json => json::write(taken),
        Form::Csv => csv::write(taken),
        Form::Markdown => markdown::write(taken).into_bytes(),
    }
}

/// A number without what rounding leaves of it.
fn rounded(value: f64) -> f64 {
    let rounded = (value * 1e6).round() / 1e6;
    if rounded == 0.0 { 0.0 } else { rounded }
}

/// What is shown for what can't be told.
const DASH: &str = "–";

/// A figure as a person reads it: its value, and why it can't be told or else how it is reckoned.
fn shown(figure: &Figure) -> (String, String) {
    match &figure.value {
        Ok(value) => (value.text(), figure.what.reckoned.to_string()),
        Err(why) => (DASH.into(), why.clone()),
    }
}

/// What a part is headed by: `cable a`.
fn heading(part: &Part) -> String {
    if part.name.is_empty() { part.kind.word().into() } else { format!("{} {}", part.kind.word(), part.name) }
}

/// A room's name with what people call it.
fn titled(name: &str, title: Option<&str>) -> String {
    title.map_or_else(|| name.to_string(), |title| format!("{name} \"{title}\""))
}
