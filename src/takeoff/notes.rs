//! Notes and photographs of the record, numbered as on drawings: notes first, then photographs.

use super::figures::{NOTE, NOTE_AT, NOTED, PHOTOGRAPH};
use super::{Kind, Part};
use crate::model::{Point, Room};
use crate::quantity::number;

pub(super) fn notes(room: &Room) -> Vec<Part> {
    let Some(record) = &room.record else { return Vec::new() };
    let part =
        |index: usize, date: jiff::civil::Date, note: Option<&String>, at: Option<Point>, photo: Option<&String>| {
            let mut part = Part::new(Kind::Note, (index + 1).to_string());
            part.words(&NOTED, Ok(date.to_string()));
            part.words(&NOTE, note.cloned().ok_or_else(|| "it is a photograph alone".into()));
            let at = at.map(|at| format!("({}, {})", number(at.x, 1), number(at.y, 1)));
            part.words(&NOTE_AT, at.ok_or_else(|| "the record gives none".into()));
            part.words(&PHOTOGRAPH, photo.cloned().ok_or_else(|| "the record names none".into()));
            part
        };
    let notes = record.notes.iter().map(|own| (own.date, Some(&own.text), own.at, own.photo.as_ref()));
    let photos = record.photos.iter().map(|own| (own.date, None, own.at, Some(&own.file)));
    notes.chain(photos).enumerate().map(|(index, (date, note, at, photo))| part(index, date, note, at, photo)).collect()
}
