//! Marks as comma-separated values by RFC 4180, a row an answer.

use super::number;
use crate::marking::{Class, Outcome};
use crate::report::csv_text::plain;

const HEADER: [&str; 24] = [
    "learner",
    "file",
    "exercise",
    "kind",
    "points",
    "most",
    "share",
    "mark",
    "faults",
    "mended",
    "partly",
    "taken away",
    "agreed",
    "can't be told",
    "still there",
    "found",
    "rule alone",
    "line alone",
    "missed",
    "new",
    "needless",
    "wrong rows",
    "open rules",
    "not marked",
];

/// The outcomes in the order of the columns.
const OUTCOMES: [Outcome; 10] = [
    Outcome::Mended,
    Outcome::Partly,
    Outcome::TakenAway,
    Outcome::Agreed,
    Outcome::Untold,
    Outcome::StillThere,
    Outcome::Found,
    Outcome::RuleAlone,
    Outcome::PlaceAlone,
    Outcome::Missed,
];

pub(super) fn write(class: &Class) -> Vec<u8> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    // Writing to memory doesn't fail.
    let mut row = |cells: &[String]| drop(writer.write_record(cells));
    row(&HEADER.map(String::from));
    for answer in &class.answers {
        let mut cells = vec![String::new(); HEADER.len()];
        cells[1] = plain(&answer.file);
        match &answer.marked {
            Err(why) => cells[HEADER.len() - 1] = plain(why),
            Ok(marked) => {
                cells[0] = plain(marked.learner.as_deref().unwrap_or(""));
                cells[2].clone_from(&marked.exercise);
                cells[3] = if marked.table { "table" } else { "plan" }.into();
                cells[4] = number(marked.points);
                cells[5] = number(marked.most);
                cells[6] = number(marked.share());
                cells[7] = plain(marked.mark.as_deref().unwrap_or(""));
                cells[8] = marked.faults.len().to_string();
                for (cell, outcome) in cells[9..].iter_mut().zip(OUTCOMES) {
                    *cell = marked.count(outcome).to_string();
                }
                cells[19] = marked.new.len().to_string();
                cells[20] = marked.needless.len().to_string();
                cells[21] = marked.wrong.len().to_string();
                let open = marked.faults.iter().filter(|fault| fault.outcome.is_open());
                cells[22] = plain(&open.map(|fault| fault.rule.as_str()).collect::<Vec<_>>().join(" "));
            }
        }
        row(&cells);
    }
    writer.into_inner().unwrap_or_default()
}
