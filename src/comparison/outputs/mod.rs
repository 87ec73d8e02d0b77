//! Shows what differs between two plans. One file an output; JSON is as `grammar/comparison.schema.json` says.

pub mod json;
mod markdown;
mod text;

use super::{Comparison, Finds, RoomComparison};
use crate::report::Worded;
use crate::text::counted;

/// The outputs there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// For a person.
    Text,
    /// One JSON object, as its schema in `grammar/` says.
    Json,
    /// Tables for a merge request.
    Markdown,
}

impl Worded for Form {
    const WORDS: &'static [(Form, &'static str)] =
        &[(Form::Text, "text"), (Form::Json, "json"), (Form::Markdown, "markdown")];
}

/// What differs, in a form.
pub fn write(comparison: &Comparison, form: Form) -> Vec<u8> {
    match form {
        Form::Text => text::write(comparison).into_bytes(),
        Form::Json => json::write(comparison),
        Form::Markdown => markdown::write(comparison).into_bytes(),
    }
}

/// A room's name with what people call it.
fn titled(room: &RoomComparison) -> String {
    room.title.as_ref().map_or_else(|| room.name.clone(), |title| format!("{} \"{title}\"", room.name))
}

/// What it comes to: `3 differences; findings: 1 new, 2 gone`.
fn sum(comparison: &Comparison) -> String {
    use super::Turn;
    if comparison.is_empty() {
        return "no difference".into();
    }
    let mut words = counted(comparison.differences(), "difference");
    let turns = [Turn::New, Turn::Open, Turn::Agreed, Turn::Gone].into_iter().filter_map(|turn| {
        let count = comparison.findings.iter().filter(|finds| finds.turn == turn).count();
        (count > 0).then(|| format!("{count} {}", turn.word()))
    });
    let turns: Vec<String> = turns.collect();
    if !turns.is_empty() {
        words.push_str(&format!("; findings: {}", turns.join(", ")));
    }
    words
}

/// Findings of one rule and one line once, for people: the first of each, and how many more there are.
fn alike(comparison: &Comparison) -> Vec<(&Finds, usize)> {
    let mut told: Vec<(&Finds, usize)> = Vec::new();
    for finds in &comparison.findings {
        let same = |other: &Finds| other.turn == finds.turn && other.rule == finds.rule && other.line == finds.line;
        match told.last_mut().filter(|(last, _)| same(last)) {
            Some((_, more)) => *more += 1,
            None => told.push((finds, 0)),
        }
    }
    told
}

/// What a finding says, and how many more of its line say the like.
fn said((finds, more): (&Finds, usize)) -> String {
    if more == 0 { finds.message.clone() } else { format!("{} (and {more} more of that line)", finds.message) }
}
