//! Where in a plan's text cables that are yet to be laid stand, and how their statements go in.

use crate::layout::tree::{Cable, CableEntry, File, Room, RoomEntry, Sensor, Statement};
use crate::source::Span;

/// A cable that a plan names with no way over the floor.
#[derive(Debug, Clone, PartialEq)]
pub struct Unlaid {
    /// The room's name.
    pub room: String,
    /// The cable's.
    pub name: String,
    /// The kit's, where one is named.
    pub kit: Option<String>,
    /// The thermostat's, where one is named.
    pub by: Option<String>,
    /// The statement with its block; empty, at where it goes in, for one that is to be added.
    pub span: Span,
}

/// What a plan's text says of a room, as far as routing asks.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RoomText {
    /// Its name.
    pub name: String,
    /// Its cables without a way.
    pub unlaid: Vec<Unlaid>,
    /// How many cables have one.
    pub laid: usize,
    /// Its sensors: name, thermostat, what stands behind the points, and the statement.
    pub sensors: Vec<SensorText>,
    /// All names given in it.
    pub names: Vec<String>,
    /// Where a statement more goes in: behind the last of its devices or cables.
    pub end: usize,
    /// Whether something of it could not be read.
    pub broken: bool,
}

/// A sensor as it is written.
#[derive(Debug, Clone, PartialEq)]
pub struct SensorText {
    /// Its name.
    pub name: String,
    /// The thermostat's.
    pub from: String,
    /// Its lead with the word before it; empty where none is given.
    pub lead: String,
    /// The statement.
    pub span: Span,
}

/// What a plan's text says of its rooms.
pub fn rooms(text: &str) -> Vec<RoomText> {
    rooms_of(&crate::layout::parse(text), text)
}

/// The same of a text that has been parsed.
pub fn rooms_of(file: &File, text: &str) -> Vec<RoomText> {
    let rooms = file.statements.iter().filter_map(|statement| match statement {
        Statement::Room(room) => Some(room_text(room, text)),
        _ => None,
    });
    rooms.collect()
}

fn room_text(room: &Room, text: &str) -> RoomText {
    let mut said = RoomText { name: room.name.text.clone(), broken: room.broken, ..RoomText::default() };
    let opened = room.span.range().end;
    said.end = opened;
    for entry in &room.entries {
        match entry {
            RoomEntry::Cable(cable) => {
                said.names.push(cable.name.text.clone());
                let span = block(text, cable);
                said.end = said.end.max(span.end());
                match !cable.broken && !cable.has_path() {
                    true => said.unlaid.push(described(&said.name, cable, span)),
                    false => said.laid += 1,
                }
            }
            RoomEntry::Sensor(sensor) => {
                said.names.push(sensor.name.text.clone());
                said.sensors.push(sensor_text(sensor, text));
                said.end = said.end.max(sensor.span.end());
            }
            RoomEntry::Junction(item) => said.end = said.end.max(item.span.end()),
            RoomEntry::Thermostat(item) => said.end = said.end.max(item.span.end()),
            RoomEntry::Contactor(item) => said.end = said.end.max(item.span.end()),
            RoomEntry::Outline(item) => said.end = said.end.max(item.span.end()),
            _ => {}
        }
    }
    said
}

fn described(room: &str, cable: &Cable, span: Span) -> Unlaid {
    let mut unlaid = Unlaid { room: room.into(), name: cable.name.text.clone(), kit: None, by: None, span };
    for entry in &cable.entries {
        match entry {
            CableEntry::Kit(word) => unlaid.kit = Some(word.text.clone()),
            CableEntry::By(word) => unlaid.by = Some(word.text.clone()),
            _ => {}
        }
    }
    unlaid
}

/// A cable's statement up to the brace that closes it.
fn block(text: &str, cable: &Cable) -> Span {
    let range = cable.span.range();
    // Nothing but names, lengths and comments stands in the block: the first brace outside a comment closes it.
    let (mut depth, mut comment, mut quoted) = (0_usize, false, false);
    for (at, letter) in text[range.start..].char_indices() {
        match letter {
            '\n' => (comment, quoted) = (false, false),
            _ if comment => {}
            '"' => quoted = !quoted,
            _ if quoted => {}
            '#' => comment = true,
            '{' => depth += 1,
            '}' => {
                depth = depth.saturating_sub(1);
                if depth == 0 {
                    return Span::new(range.start..range.start + at + 1);
                }
            }
            _ => {}
        }
    }
    cable.span
}

fn sensor_text(sensor: &Sensor, text: &str) -> SensorText {
    let lead = sensor.lead.as_ref().and_then(|lead| text.get(lead.span.range()));
    SensorText {
        name: sensor.name.text.clone(),
        from: sensor.from.text.clone(),
        lead: lead.map_or_else(String::new, |lead| format!("lead {}", lead.trim())),
        span: sensor.span,
    }
}

/// What stands before a place on its line, where that is blank.
pub fn indent(text: &str, at: usize) -> &str {
    let start = text[..at].rfind('\n').map_or(0, |newline| newline + 1);
    let before = &text[start..at];
    let blank = before.len() - before.trim_start_matches([' ', '\t']).len();
    &before[..blank]
}

/// The words of a cable's block that stay: each of its lines as written, without what a tail or a path says.
pub fn kept_lines(block: &str) -> Vec<String> {
    let inner = block.split_once('{').map_or("", |(_, rest)| rest);
    let inner = inner.rsplit_once('}').map_or(inner, |(inner, _)| inner);
    let lines = inner.lines().map(str::trim).filter(|line| !line.is_empty());
    lines.filter(|line| !line.starts_with("tail") && !line.starts_with("second-tail")).map(String::from).collect()
}
