//! Marks as JSON, for other programs. `grammar/marks.schema.json` describes it; [`VERSION`] grows when a reader of an older one could go wrong.

use serde::Serialize;

use crate::marking::{Class, Marked};
use crate::worded::Worded as _;

/// The version of the form.
pub const VERSION: u32 = 1;

#[derive(Serialize)]
struct JsonClass<'c> {
    format: &'static str,
    version: u32,
    plan: &'c str,
    answers: Vec<JsonAnswer<'c>>,
    missing: &'c [String],
}

#[derive(Serialize)]
struct JsonAnswer<'c> {
    file: &'c str,
    problem: Option<&'c str>,
    marked: Option<JsonMarked<'c>>,
}

#[derive(Serialize)]
struct JsonMarked<'c> {
    exercise: &'c str,
    learner: Option<&'c str>,
    kind: &'static str,
    points: f64,
    most: f64,
    share: f64,
    mark: Option<&'c str>,
    faults: Vec<JsonFault<'c>>,
    new: Vec<JsonNew<'c>>,
    needless: Vec<JsonNeedless<'c>>,
    wrong: Vec<JsonWrong<'c>>,
}

#[derive(Serialize)]
struct JsonFault<'c> {
    rule: &'c str,
    done: Option<&'c str>,
    outcome: &'static str,
    line: Option<usize>,
    why: Option<&'c str>,
    hints: Vec<&'c str>,
}

#[derive(Serialize)]
struct JsonNew<'c> {
    rule: &'c str,
    line: usize,
    message: &'c str,
}

#[derive(Serialize)]
struct JsonNeedless<'c> {
    line: usize,
    was: &'c str,
    is: &'c str,
}

#[derive(Serialize)]
struct JsonWrong<'c> {
    line: Option<usize>,
    rule: &'c str,
    why: Option<&'c str>,
}

fn rounded(value: f64) -> f64 {
    (value * 100.0).round() / 100.0 + 0.0
}

fn json(marked: &Marked) -> JsonMarked<'_> {
    let faults = marked.faults.iter().map(|fault| JsonFault {
        rule: &fault.rule,
        done: fault.done.as_deref(),
        outcome: fault.outcome.word(),
        line: fault.line,
        why: fault.why.as_deref(),
        hints: fault.hints.iter().map(|(_, told)| told.as_str()).collect(),
    });
    let new = marked.new.iter().map(|new| JsonNew { rule: &new.rule, line: new.line, message: &new.message });
    let needless = marked.needless.iter().map(|one| JsonNeedless { line: one.line, was: &one.was, is: &one.is });
    let wrong = marked.wrong.iter().map(|row| JsonWrong { line: row.line, rule: &row.rule, why: row.why.as_deref() });
    JsonMarked {
        exercise: &marked.exercise,
        learner: marked.learner.as_deref(),
        kind: if marked.table { "table" } else { "plan" },
        points: rounded(marked.points),
        most: rounded(marked.most),
        share: rounded(marked.share()),
        mark: marked.mark.as_deref(),
        faults: faults.collect(),
        new: new.collect(),
        needless: needless.collect(),
        wrong: wrong.collect(),
    }
}

pub(super) fn write(class: &Class) -> Vec<u8> {
    let answers = class.answers.iter().map(|answer| JsonAnswer {
        file: &answer.file,
        problem: answer.marked.as_ref().err().map(String::as_str),
        marked: answer.marked.as_ref().ok().map(json),
    });
    let whole = JsonClass {
        format: "layrule-marks",
        version: VERSION,
        plan: &class.plan,
        answers: answers.collect(),
        missing: &class.missing,
    };
    // Writing plain structures to memory doesn't fail.
    let mut bytes = serde_json::to_vec_pretty(&whole).unwrap_or_else(|_| b"null".to_vec());
    bytes.push(b'\n');
    bytes
}
