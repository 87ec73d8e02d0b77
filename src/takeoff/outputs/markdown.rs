//! A take-off as Markdown tables.

use std::fmt::Write as _;

use super::{heading, shown, titled};
use crate::report::markdown::escaped;
use crate::takeoff::{Part, TakeOff};

pub(super) fn write(taken: &TakeOff) -> String {
    let mut text = format!("## Take-off of {}\n", escaped(&taken.file));
    if !taken.complete {
        text.push_str("\n**The plan could not be read whole; this is as far as it goes.**\n");
    }
    for room in &taken.rooms {
        let _ = writeln!(text, "\n### Room {}", escaped(&titled(&room.name, room.title.as_deref())));
        room.parts.iter().for_each(|part| table(&mut text, part));
    }
    if !taken.supplies.is_empty() {
        text.push_str("\n### Supplies\n");
        taken.supplies.iter().for_each(|part| table(&mut text, part));
    }
    let _ = writeln!(text, "\n{}", escaped(crate::CAUTION));
    text
}

fn table(text: &mut String, part: &Part) {
    let _ = writeln!(
        text,
        "\n#### {}\n\n| figure | value | how it is reckoned |\n| --- | ---: | --- |",
        escaped(&heading(part))
    );
    for figure in &part.figures {
        let (value, reckoned) = shown(figure);
        // What the program says itself holds code in backquotes.
        let reckoned = if figure.value.is_ok() { reckoned } else { escaped(&reckoned) };
        let _ = writeln!(text, "| {} | {} | {reckoned} |", figure.what.words(), escaped(&value));
    }
}
