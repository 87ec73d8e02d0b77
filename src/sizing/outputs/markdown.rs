//! Which kits suit, as Markdown tables.

use std::fmt::Write as _;

use super::{HEADINGS, row, shares, would_do};
use crate::quantity::{Dimension, Quantity};
use crate::report::markdown::escaped;
use crate::sizing::choice::Choice;
use crate::sizing::{Outcome, RoomSizing, Sized, Sizing, Stop};

pub(super) fn write(sizings: &[Sizing], most: usize) -> String {
    let mut text = String::new();
    for sizing in sizings {
        let _ = writeln!(text, "## Kits for {}\n", escaped(&sizing.file));
        if !sizing.complete {
            text.push_str("**The plan could not be read whole; this is as far as it goes.**\n\n");
        }
        sizing.rooms.iter().for_each(|room| write_room(&mut text, room, most));
    }
    let _ = writeln!(text, "{}", escaped(crate::CAUTION));
    text
}

fn write_room(text: &mut String, room: &RoomSizing, most: usize) {
    let name = room.title.as_ref().map_or_else(|| room.name.clone(), |title| format!("{} \"{title}\"", room.name));
    let _ = writeln!(text, "### Room {}\n", escaped(&name));
    match &room.outcome {
        Outcome::LeftAlone(why) | Outcome::Untold(why) => {
            let _ = writeln!(text, "{}\n", escaped(why));
        }
        Outcome::Sized(sized) => write_sized(text, sized, most),
    }
}

fn write_sized(text: &mut String, sized: &Sized, most: usize) {
    let area = Quantity::new(sized.parts.iter().sum(), Dimension::AREA).show(0);
    let _ = writeln!(text, "{area} of free floor in {}.\n", crate::text::counted(sized.parts.len(), "part"));
    if sized.fitting.is_empty() {
        text.push_str("Nothing that there is fits.\n\n");
    } else {
        text.push_str("#### Fits\n\n");
        table(text, &sized.fitting, most);
    }
    if !sized.stopped.is_empty() {
        text.push_str("#### Stopped by a rule\n\n");
        table(text, &sized.stopped, most);
    }
    for make in sized.makes.iter().filter(|make| make.looked) {
        let _ = writeln!(text, "- would do: {}", escaped(&would_do(make)));
    }
    for stop in &sized.anyway {
        let _ = writeln!(text, "- whatever is chosen: {}", told(stop));
    }
    for (why, rules) in &sized.unheld {
        let _ = writeln!(text, "- not held to {}: {}", escaped(&rules.join(", ")), escaped(why));
    }
    if sized.unswitched {
        text.push_str("- no thermostat: no sensor is thought to hold the floor down, and no load is judged\n");
    }
    if !sized.presumed.is_empty() {
        let names = escaped(&sized.presumed.join(", "));
        let _ = writeln!(text, "- taken for granted: a floor sensor on {names}, laid with the cable");
    }
    text.push('\n');
}

fn told(stop: &Stop) -> String {
    escaped(&format!("{}: {}", stop.rule, stop.message))
}

fn table(text: &mut String, choices: &[Choice], most: usize) {
    let _ = writeln!(text, "| {} | notes |", HEADINGS.join(" | "));
    let _ = writeln!(text, "| --- |{} --- |", " ---: |".repeat(HEADINGS.len() - 1));
    for choice in choices.iter().take(most) {
        let cells = row(choice).map(|cell| escaped(&cell)).join(" | ");
        let notes = shares(choice)
            .map(|shares| escaped(&shares))
            .into_iter()
            .chain(choice.stops.iter().chain(&choice.notes).map(told));
        let _ = writeln!(text, "| {cells} | {} |", notes.collect::<Vec<_>>().join("<br>"));
    }
    if choices.len() > most {
        let _ = writeln!(text, "\n{} more.", choices.len() - most);
    }
    text.push('\n');
}
