//! Marks as a person reads them.

use std::fmt::Write as _;

use textwrap::Options;

use super::{points, summary, whose};
use crate::marking::{Class, Marked};
use crate::text::{counted, list};

/// How wide lines are where no width is known.
const WIDE: usize = 100;

pub(super) fn write(class: &Class, width: Option<usize>) -> String {
    let width = width.unwrap_or(WIDE).max(40);
    let mut text = String::new();
    for answer in &class.answers {
        match &answer.marked {
            Ok(marked) => one(&mut text, &answer.file, marked, width),
            Err(why) => {
                let _ = writeln!(text, "{}", wrapped(&format!("{}: not marked: {why}", answer.file), "", "  ", width));
            }
        }
        text.push('\n');
    }
    if class.answers.len() > 1 {
        text.push_str("of each rule, how many mistakes were settled\n");
        let rules = class.by_rule();
        let wide = rules.iter().map(|(rule, ..)| rule.len()).max().unwrap_or(0);
        for (rule, all, settled) in rules {
            let _ = writeln!(text, "  {rule:<wide$}  {settled} of {all}");
        }
        text.push('\n');
    }
    if !class.missing.is_empty() {
        let names = list(class.missing.iter().map(String::as_str), "and");
        let _ = writeln!(text, "{}", wrapped(&format!("no answer from {names}"), "", "  ", width));
    }
    let _ = writeln!(text, "{}", summary(class));
    text
}

fn wrapped(text: &str, first: &str, next: &str, width: usize) -> String {
    // No line begins as a command to a build host does: a blank that doesn't break keeps such a word behind the one before it.
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ").replace(" ::", "\u{a0}::");
    textwrap::fill(&text, Options::new(width).initial_indent(first).subsequent_indent(next).break_words(false))
}

fn one(text: &mut String, file: &str, marked: &Marked, width: usize) {
    let kind = if marked.table { "table" } else { "plan" };
    let head = format!("{file} ({kind}), {}: {}", whose(marked), points(marked));
    let _ = writeln!(text, "{}", wrapped(&head, "", "  ", width));
    for fault in &marked.faults {
        let place = fault.line.map_or(String::new(), |line| format!(" at line {line}"));
        let why = fault.why.as_ref().map_or(String::new(), |why| format!("; {why}"));
        let done = fault.done.as_ref().map_or(String::new(), |done| format!(": {done}"));
        let line = format!("{}{place}{done}{why}", fault.rule);
        let first = format!("  {:<13}  ", fault.outcome.words());
        let _ = writeln!(text, "{}", wrapped(&line, &first, &" ".repeat(17), width));
        for (hint, told) in &fault.hints {
            let _ = writeln!(
                text,
                "{}",
                wrapped(&format!("{}: {told}", hint.tells()), &" ".repeat(17), &" ".repeat(19), width)
            );
        }
    }
    for new in &marked.new {
        let line = format!("{} at line {}: {}", new.rule, new.line, new.message);
        let _ = writeln!(text, "{}", wrapped(&line, "  new            ", &" ".repeat(17), width));
    }
    for needless in &marked.needless {
        let change = match (needless.was.is_empty(), needless.is.is_empty()) {
            (true, _) => format!("`{}` written", needless.is),
            (_, true) => format!("`{}` left out", needless.was),
            _ => format!("`{}` for `{}`", needless.is, needless.was),
        };
        let line = format!("line {}: {change}", needless.line);
        let _ = writeln!(text, "{}", wrapped(&line, "  needless       ", &" ".repeat(17), width));
    }
    for row in &marked.wrong {
        let place = row.line.map_or("no line".into(), |line| format!("line {line}"));
        let why = row.why.as_ref().map_or(String::new(), |why| format!("; {why}"));
        let line = format!("{place}, `{}`: nothing of that is wrong there{why}", row.rule);
        let _ = writeln!(text, "{}", wrapped(&line, "  wrong          ", &" ".repeat(17), width));
    }
    if marked.faults.is_empty() {
        let _ = writeln!(text, "  {}", counted(0, "mistake"));
    }
}
