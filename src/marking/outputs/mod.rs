//! Shows marks. One file an output.

mod csv;
pub mod json;
mod markdown;
mod text;

use super::{Class, Marked};
use crate::takeoff::outputs::Form;

/// Marks in a form. Text is broken to `width` columns, where there is one.
pub fn write(class: &Class, form: Form, width: Option<usize>) -> Vec<u8> {
    match form {
        Form::Text => text::write(class, width).into_bytes(),
        Form::Json => json::write(class),
        Form::Csv => csv::write(class),
        Form::Markdown => markdown::write(class).into_bytes(),
    }
}

/// A number of points: whole ones without decimals.
fn number(value: f64) -> String {
    let rounded = (value * 100.0).round() / 100.0;
    format!("{}", rounded + 0.0)
}

/// Points, their share, and the mark where there is one: `3 of 4 points, 75 %, passed`.
fn points(marked: &Marked) -> String {
    let mark = marked.mark.as_ref().map_or(String::new(), |mark| format!(", {mark}"));
    format!("{} of {} points, {:.0} %{mark}", number(marked.points), number(marked.most), marked.share())
}

/// Whose an answer is.
fn whose(marked: &Marked) -> String {
    marked.learner.clone().unwrap_or_else(|| format!("exercise {}", marked.exercise))
}

/// How many answers there are, and what they come to on average.
fn summary(class: &Class) -> String {
    let count = crate::text::counted(class.answers.len() - class.unmarked(), "answer");
    let mean = class.mean().map_or(String::new(), |mean| format!(", {mean:.0} % on average"));
    let unmarked = match class.unmarked() {
        0 => String::new(),
        many => format!("; {} could not be marked", crate::text::counted(many, "answer")),
    };
    format!("{count} marked{mean}{unmarked}")
}
