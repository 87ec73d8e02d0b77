//! What goes with an entity of a drawing so that it can be read back: the words of a plan's statement without its geometry.
//!
//! A drawing comes back from strangers too, so what is read is held to a few signs and to the statements that there are.

use crate::model::{Area, AreaKind, Line, LineKind, Room, Rug, ShowerHead, Swing};
use crate::quantity::number;
use crate::worded::Worded as _;

/// The words of a statement, apart from its geometry.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Tag {
    /// What it begins with: `fixture`.
    pub statement: String,
    /// What it is called.
    pub name: String,
    /// The room it belongs to; nothing for a room.
    pub room: String,
    /// What stands between its name and its geometry: `basin raised 220`.
    pub before: String,
    /// What stands behind its geometry: `height 2000`.
    pub after: String,
    /// What people call it.
    pub title: String,
    /// What its walls are, of a room: `1 outside`, and what people call them.
    pub walls: Vec<(String, String)>,
}

/// The statements that a drawing's entities are read back as.
pub const STATEMENTS: [&str; 10] =
    ["room", "fixture", "drill", "level", "rug", "joint", "pipe", "door", "partition", "shower-head"];

/// The most words that a tag is read to.
const MOST_WORDS: usize = 2_000;
/// The longest that is read, characters.
const LONGEST: usize = 200;

impl Tag {
    /// Of a room, with its walls.
    pub fn of_room(room: &Room) -> Tag {
        let walls = room.walls.iter().zip(1..).filter(|(wall, _)| wall.outside || wall.title.is_some());
        let told = |(wall, index): (&crate::model::Wall, usize)| {
            let outside = if wall.outside { " outside" } else { "" };
            (format!("{index}{outside}"), wall.title.clone().unwrap_or_default())
        };
        Tag {
            statement: "room".into(),
            name: room.name.text.clone(),
            title: room.title.clone().unwrap_or_default(),
            walls: walls.map(told).collect(),
            ..Tag::default()
        }
    }

    /// Of what is drawn and never read back.
    pub fn other(statement: &str, name: &str, room: &str) -> Tag {
        Tag { statement: statement.into(), name: name.into(), room: room.into(), ..Tag::default() }
    }

    /// Of a part of the floor.
    pub fn of_area(area: &Area, room: &str) -> Tag {
        let (statement, before) = match &area.kind {
            AreaKind::Fixture { kind, raised, open } => {
                let kind = kind.map_or_else(String::new, |kind| kind.word().to_string());
                let raised = raised.map_or_else(String::new, |raised| format!("raised {}", number(raised, 3)));
                let open = if *open { "open" } else { "" };
                ("fixture", joined(&[&kind, &raised, open]))
            }
            AreaKind::Drill => ("drill", String::new()),
            AreaKind::Level { height: None } => {
                let rises = area.rises.map(|heading| format!("up {}", heading.word())).unwrap_or_default();
                ("level", joined(&["stairs", &rises]))
            }
            AreaKind::Level { height: Some(height) } => {
                let sign = if *height > 0.0 { "+" } else { "" };
                ("level", format!("{sign}{}", number(*height, 3)))
            }
        };
        Tag { before, ..Tag::other(statement, &area.name.text, room) }
    }

    /// Of a rug.
    pub fn of_rug(rug: &Rug, room: &str) -> Tag {
        let after = format!("resistance {} m2K/W", number(rug.resistance, 6));
        Tag { after, ..Tag::other("rug", &rug.name.text, room) }
    }

    /// Of a line; of a door, whose hinges have a hand as one faces it from inside, in a room that is drawn counter-clockwise or not.
    pub fn of_line(line: &Line, room: &str, counter_clockwise: bool) -> Tag {
        let (statement, before, after) = match line.kind {
            LineKind::Joint => ("joint", String::new(), String::new()),
            LineKind::Pipe(kind) => ("pipe", kind.map_or_else(String::new, |kind| kind.word().into()), String::new()),
            LineKind::Door { wall, through } => {
                let swing = line.swing.map(|swing| hinged(swing, counter_clockwise)).unwrap_or_default();
                let after = joined(&[if through { "through" } else { "" }, &swing]);
                ("door", format!("wall {}", wall + 1), after)
            }
            LineKind::Partition(height) => ("partition", String::new(), tall(height)),
        };
        Tag { before, after, ..Tag::other(statement, &line.name.text, room) }
    }

    /// Of a shower's head.
    pub fn of_shower_head(head: &ShowerHead, room: &str) -> Tag {
        Tag { after: tall(head.height), ..Tag::other("shower-head", &head.name.text, room) }
    }

    /// As the strings of an entity's extended data.
    pub fn words(&self) -> Vec<String> {
        if self.statement.is_empty() {
            return Vec::new();
        }
        let title = crate::source::one_line(&self.title);
        let mut words = vec![
            self.statement.clone(),
            self.name.clone(),
            self.room.clone(),
            self.before.clone(),
            self.after.clone(),
            title,
        ];
        words.extend(self.walls.iter().flat_map(|(wall, title)| [wall.clone(), crate::source::one_line(title)]));
        words
    }

    /// As an entity has it; nothing where that is no tag of this program's, or one that was tampered with.
    pub fn read(words: &[String]) -> Option<Tag> {
        let [statement, name, room, before, after, title, walls @ ..] = words else { return None };
        let plain = |text: &String| {
            text.len() <= LONGEST && text.bytes().all(|b| b.is_ascii_alphanumeric() || b" +-_./".contains(&b))
        };
        let sound = STATEMENTS.contains(&statement.as_str())
            && is_name(name)
            && (room.is_empty() || is_name(room))
            && plain(before)
            && plain(after)
            && words.len() <= MOST_WORDS;
        sound.then(|| Tag {
            statement: statement.clone(),
            name: name.clone(),
            room: room.clone(),
            before: before.clone(),
            after: after.clone(),
            title: title.clone(),
            walls: walls
                .chunks_exact(2)
                .filter(|pair| plain(&pair[0]))
                .map(|pair| (pair[0].clone(), pair[1].clone()))
                .collect(),
        })
    }
}

/// Whether a plan may call something so.
pub fn is_name(word: &str) -> bool {
    let part = |b: u8| b.is_ascii_alphanumeric() || b == b'-' || b == b'_';
    word.len() <= LONGEST && word.bytes().all(part) && word.bytes().next().is_some_and(|b| b.is_ascii_alphabetic())
}

/// A swing as a plan has it.
pub(super) fn hinged(swing: Swing, counter_clockwise: bool) -> String {
    // Facing the wall from inside, its left end is the one that a room drawn counter-clockwise comes to last.
    let hand = if swing.at_last == counter_clockwise { "left" } else { "right" };
    joined(&["hinged", hand, if swing.outward { "outward" } else { "" }])
}

fn tall(height: Option<f64>) -> String {
    height.map_or_else(String::new, |height| format!("height {}", number(height, 3)))
}

fn joined(words: &[&str]) -> String {
    let words: Vec<&str> = words.iter().copied().filter(|word| !word.is_empty()).collect();
    words.join(" ")
}
