//! A take-off as comma-separated values by RFC 4180, a row a figure.

use super::rounded;
use crate::report::Worded as _;
use crate::report::csv_text::plain;
use crate::takeoff::{Part, TakeOff, Value};

const HEADER: [&str; 9] = ["room", "kind", "name", "figure", "value", "unit", "text", "missing", "reckoned"];

pub(super) fn write(taken: &TakeOff) -> Vec<u8> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    // Writing to memory doesn't fail.
    let mut row = |cells: &[String]| drop(writer.write_record(cells));
    row(&HEADER.map(String::from));
    let rooms = taken.rooms.iter().map(|room| (room.name.as_str(), &room.parts));
    for (room, parts) in rooms.chain([("", &taken.supplies)]) {
        for part in parts {
            rows(room, part, &mut row);
        }
    }
    writer.into_inner().unwrap_or_default()
}

fn rows(room: &str, part: &Part, row: &mut impl FnMut(&[String])) {
    for figure in &part.figures {
        let value = figure.value.as_ref();
        let measured = value.ok().and_then(Value::measured);
        row(&[
            plain(room),
            part.kind.word().into(),
            plain(&part.name),
            figure.what.name.into(),
            measured.as_ref().map_or_else(String::new, |(value, _)| rounded(*value).to_string()),
            measured.map_or_else(String::new, |(_, unit)| unit),
            value.map_or_else(|_| String::new(), |value| plain(&value.text())),
            value.err().map_or_else(String::new, |why| plain(why)),
            figure.what.reckoned.into(),
        ]);
    }
}
