//! Tables of findings: each row a line of the plan and the rule that is broken there.

use super::hints::hints;
use super::{Held, Marked, MarkedFault, Outcome, WrongRow};
use crate::exercise::key::Fault;
use crate::source::one_line;
use crate::text::nearest;

/// How many rows of a table are read.
const MOST_ROWS: usize = 500;

/// A row as it was written.
struct Row {
    exercise: String,
    line: Option<usize>,
    rule: String,
}

/// The mark that parts the columns of a table: the one that its first line has most of.
fn parted_by(text: &str) -> u8 {
    let first = text.lines().next().unwrap_or("");
    let marks = [b',', b';', b'\t'];
    let count = |mark: u8| first.bytes().filter(|byte| *byte == mark).count();
    marks.into_iter().max_by_key(|mark| (count(*mark), *mark == b',')).unwrap_or(b',')
}

/// The rows of a table that say something.
fn rows(text: &str) -> Result<Vec<Row>, String> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut reader = csv::ReaderBuilder::new().delimiter(parted_by(text)).flexible(true).from_reader(text.as_bytes());
    let unread = |error: csv::Error| format!("it is no table: {}", one_line(&error.to_string()));
    let header = reader.headers().map_err(unread)?.clone();
    let column = |name: &str| header.iter().position(|own| own.trim().eq_ignore_ascii_case(name));
    let (Some(line), Some(rule)) = (column("line"), column("rule")) else {
        return Err("its first row doesn't name the columns `line` and `rule`".into());
    };
    let exercise = column("exercise");
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(unread)?;
        let cell = |at: usize| record.get(at).unwrap_or("").trim();
        if rows.len() == MOST_ROWS {
            return Err(format!("it has more than {MOST_ROWS} rows, the most that are read"));
        }
        let number = cell(line).find(|c: char| c.is_ascii_digit()).and_then(|at| {
            let digits: String = cell(line)[at..].chars().take_while(char::is_ascii_digit).collect();
            digits.parse().ok()
        });
        let rule = one_line(cell(rule).trim_matches('`')).to_lowercase();
        rows.push(Row { exercise: exercise.map_or(String::new(), |at| cell(at).to_string()), line: number, rule });
    }
    Ok(rows)
}

/// The exercise that a table says it answers.
pub(super) fn exercise_in(text: &str) -> Result<Option<String>, String> {
    Ok(rows(text)?.into_iter().map(|row| one_line(&row.exercise)).find(|exercise| !exercise.is_empty()))
}

/// Whether a table is as it was handed out: no row of it says anything.
pub fn is_blank(text: &str) -> bool {
    rows(text).is_ok_and(|rows| rows.iter().all(|row| row.line.is_none() && row.rule.is_empty()))
}

/// How well a row names a fault.
fn named(row: &Row, fault: &Fault) -> Option<Outcome> {
    let by_rule: Vec<_> = fault.provokes.iter().filter(|one| one.told.rule == row.rule).collect();
    let at = |lines: &[usize]| row.line.is_some_and(|line| lines.contains(&line));
    let changed: Vec<usize> = fault.lines().collect();
    let there = at(&changed) || by_rule.iter().any(|one| at(&one.lines));
    let at_fault = at(&changed) || fault.aimed().any(|one| one.lines.first().is_some_and(|line| at(&[*line])));
    match (by_rule.is_empty(), there, at_fault) {
        (false, true, _) => Some(Outcome::Found),
        (false, false, _) => Some(Outcome::RuleAlone),
        (true, _, true) => Some(Outcome::PlaceAlone),
        (true, ..) => None,
    }
}

/// How good it is to have named a fault so.
fn worth(outcome: Outcome) -> u8 {
    match outcome {
        Outcome::Found => 3,
        Outcome::RuleAlone => 2,
        Outcome::PlaceAlone => 1,
        _ => 0,
    }
}

/// Marks a table.
pub(super) fn mark(text: &str, held: &Held<'_>) -> Result<Marked, String> {
    if is_blank(text) {
        return Err("nothing is filled in".into());
    }
    let rows: Vec<Row> = rows(text)?.into_iter().filter(|row| row.line.is_some() || !row.rule.is_empty()).collect();
    let faults = &held.exercise.faults;
    let mut outcomes = vec![Outcome::Missed; faults.len()];
    let mut wrong = Vec::new();
    for row in &rows {
        let names = faults.iter().enumerate().filter_map(|(number, fault)| Some((number, named(row, fault)?)));
        // Of several faults that a row may mean it means the one that it names best.
        // And of those the one that no row has named yet.
        let fitting = |(number, outcome): &(usize, Outcome)| {
            let better = worth(*outcome) > worth(outcomes[*number]);
            (worth(*outcome), better, faults[*number].rule == row.rule, std::cmp::Reverse(*number))
        };
        match names.max_by_key(fitting) {
            Some((number, outcome)) if worth(outcome) > worth(outcomes[number]) => outcomes[number] = outcome,
            Some(_) => {}
            None if is_there(row, held) => {}
            None => wrong.push(WrongRow { line: row.line, rule: row.rule.clone(), why: unknown(row, held) }),
        }
    }
    let marked = faults.iter().zip(outcomes).map(|(fault, outcome)| {
        let line = fault.aimed().find_map(|one| one.lines.first().copied()).or_else(|| fault.lines().next());
        let told =
            if outcome.is_open() { hints(held.by.hint, &fault.rule, line, None, held.by.rules) } else { Vec::new() };
        MarkedFault::new(fault, outcome, line, None, told, held.by.hint)
    });
    let mut marked = held.marked(true, marked.collect());
    marked.wrong = wrong;
    held.by.scheme.count(&mut marked);
    Ok(marked)
}

/// Whether something is found where a row says, though it is no fault that was made: the sound plan has it too.
fn is_there(row: &Row, held: &Held<'_>) -> bool {
    held.begun.found.iter().any(|(rule, lines)| *rule == row.rule && row.line.is_some_and(|line| lines.contains(&line)))
}

/// What is wrong with a row that names a rule there isn't.
fn unknown(row: &Row, held: &Held<'_>) -> Option<String> {
    if row.rule.is_empty() {
        return Some("names no rule".into());
    }
    if held.by.rules.rule(&row.rule).is_some() {
        return None;
    }
    let near = nearest(&row.rule, held.by.rules.rules.iter().map(|rule| &*rule.name));
    Some(match near {
        Some(near) => format!("no rule is called so; perhaps `{near}` was meant"),
        None => "no rule is called so".into(),
    })
}
