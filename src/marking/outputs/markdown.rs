//! Marks as Markdown tables.

use std::fmt::Write as _;

use super::{number, summary, whose};
use crate::marking::{Class, Marked, Outcome};
use crate::report::markdown::escaped;

pub(super) fn write(class: &Class) -> String {
    let mut text = format!("## Marks: {}\n\n{}\n", escaped(&class.plan), escaped(&summary(class)));
    text.push_str("\n| learner | answer | points | share | mark | mended or found | open | new | needless |\n");
    text.push_str("| --- | --- | ---: | ---: | --- | ---: | --- | ---: | ---: |\n");
    for answer in &class.answers {
        match &answer.marked {
            Ok(marked) => row(&mut text, &answer.file, marked),
            Err(why) => {
                let _ =
                    writeln!(text, "|  | {} |  |  | not marked: {} |  |  |  |  |", escaped(&answer.file), escaped(why));
            }
        }
    }
    text.push_str("\n| rule | mistakes | settled |\n| --- | ---: | ---: |\n");
    for (rule, all, settled) in class.by_rule() {
        let _ = writeln!(text, "| {} | {all} | {settled} |", escaped(&rule));
    }
    if !class.missing.is_empty() {
        let names: Vec<String> = class.missing.iter().map(|name| escaped(name)).collect();
        let _ = writeln!(text, "\nNo answer from {}.", names.join(", "));
    }
    text
}

fn row(text: &mut String, file: &str, marked: &Marked) {
    let open = marked.faults.iter().filter(|fault| fault.outcome.is_open());
    let open: Vec<String> = open.map(|fault| format!("{} ({})", escaped(&fault.rule), fault.outcome.words())).collect();
    let _ = writeln!(
        text,
        "| {} | {} | {} of {} | {:.0} % | {} | {} | {} | {} | {} |",
        escaped(&whose(marked)),
        escaped(file),
        number(marked.points),
        number(marked.most),
        marked.share(),
        escaped(marked.mark.as_deref().unwrap_or("")),
        marked.count(Outcome::Mended) + marked.count(Outcome::Found),
        open.join("<br>"),
        marked.new.len(),
        marked.needless.len() + marked.wrong.len()
    );
}
