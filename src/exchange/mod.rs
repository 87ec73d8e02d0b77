//! Open exchange formats: a plan as a DXF drawing, and rooms out of drawings, building models and maps of others.
//!
//! What is read is a stranger's file. Each format's reader ([`dxf_in`], [`geojson_in`], [`ifc`]) makes a [`Traced`] of it: shapes, lines and names
//! in mm, with what they may be. [`rooms`] finds the rooms among them ([`walls`] those
//! between walls drawn as two lines each) and what lies in each, [`mod@write`] writes these as a plan. Nothing is
//! deepened by what the file nests, and all that it can make grow is capped.

mod chains;
mod dxf_binary;
mod dxf_blocks;
mod dxf_entities;
pub mod dxf_in;
pub mod dxf_out;
mod dxf_text;
mod flatten;
pub mod geojson_in;
pub mod ifc;
mod ifc_shapes;
pub mod layers;
mod part21;
pub mod rooms;
pub mod sorts;
pub mod tag;
pub mod walls;
pub mod write;

use crate::geometry::Point;
use sorts::Sort;
use tag::Tag;

/// What the program's own words in a drawing go under.
pub const APPLICATION: &str = "LAYRULE";

/// The largest file that is read, bytes: drawings of whole buildings are larger than any plan.
pub const LARGEST_FILE: u64 = 64 * 1024 * 1024;

/// The most shapes, lines and names that are looked at, those of symbols counted as often as they stand.
pub const MOST_THINGS: usize = 300_000;

/// The most corners of all of them.
pub const MOST_CORNERS: usize = 3_000_000;

/// How far from a curve the straight pieces lie that stand for it, mm.
pub const CHORD: f64 = 2.0;

/// Why nothing can be made of a file: what is wrong, and what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what}")]
pub struct Unreadable {
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub help: String,
}

impl Unreadable {
    /// Of these words.
    pub fn new(what: impl Into<String>, help: impl Into<String>) -> Self {
        Unreadable { what: what.into(), help: help.into() }
    }

    /// Of a file that holds more than is looked at.
    fn too_much() -> Self {
        Unreadable::new(
            format!("it draws more than {MOST_THINGS} things with {MOST_CORNERS} corners, the most that is looked at"),
            "save the layers with the room and what stands in it to a file by themselves",
        )
    }
}

/// A length's unit that a file may be drawn in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// How it is written.
    pub word: &'static str,
    /// How many mm it is.
    pub mm: f64,
}

/// The units that there are.
pub const UNITS: [Unit; 6] = [
    Unit { word: "mm", mm: 1.0 },
    Unit { word: "cm", mm: 10.0 },
    Unit { word: "dm", mm: 100.0 },
    Unit { word: "m", mm: 1000.0 },
    Unit { word: "in", mm: 25.4 },
    Unit { word: "ft", mm: 304.8 },
];

impl Unit {
    /// The unit of that word.
    pub fn of_word(word: &str) -> Option<Unit> {
        UNITS.into_iter().find(|unit| unit.word == word)
    }
}

/// Where something lies, mm.
#[derive(Debug, Clone, PartialEq)]
pub enum Form {
    /// Corners of what is closed.
    Ring(Vec<Point>),
    /// A circle.
    Circle {
        /// Its centre.
        centre: Point,
        /// Its radius.
        radius: f64,
    },
    /// Points of a line, two or more.
    Line(Vec<Point>),
    /// The points that a symbol is drawn through.
    Symbol(Vec<Point>),
}

/// Something that a file draws.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// Where it lies.
    pub form: Form,
    /// The layer or the type that the file has it in.
    pub layer: String,
    /// What the file calls it.
    pub name: Option<String>,
    /// What it may be.
    pub sort: Sort,
    /// What this program said of it when it wrote the file.
    pub tag: Option<Tag>,
    /// Whether straight pieces stand for curves of it.
    pub curved: bool,
    /// How high it stands, mm, where the file tells: a building has its storeys one over the other.
    pub height: Option<f64>,
}

/// Something written in a drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// What.
    pub text: String,
    /// Where it begins.
    pub at: Point,
    /// How high its letters are, mm.
    pub height: f64,
}

/// What was found in a file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Traced {
    /// What is drawn.
    pub items: Vec<Item>,
    /// What is written.
    pub labels: Vec<Label>,
    /// What whoever reads the plan is to know, a sentence each.
    pub remarks: Vec<String>,
}
