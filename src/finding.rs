//! What is found in a plan, as data: by a rule, or by reading the plan itself.

use std::sync::Arc;

use crate::geometry::{Point, Site};
use crate::layout::kinds::Kind;
use crate::quantity::Quantity;
use crate::source::Place;

/// How much a finding weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Worth knowing.
    Note,
    /// Worth a second look.
    Warning,
    /// Not to be built like this.
    Error,
}

impl Severity {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Note => "note",
            Severity::Warning => "warning",
            Severity::Error => "error",
        }
    }
}

/// A place in a plan that has to do with a finding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// Where.
    pub place: Place,
    /// What is there.
    pub label: String,
}

/// A figure that a finding rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// What it is, in the rule's words, such as `run.wall-distance`.
    pub name: String,
    /// Its value, where it is a quantity.
    pub quantity: Option<Quantity>,
    /// Its value as shown.
    pub text: String,
    /// Whether it is a limit of the rule rather than something measured.
    pub limit: bool,
}

/// Where a rule or a value comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Basis {
    /// Common practice in the trade; no published source.
    Practice,
    /// A published standard or guide and, where it has one, the clause.
    Standard {
        /// Its number and year, or its title.
        title: String,
        /// The clause.
        clause: Option<String>,
    },
    /// The cable maker's instruction.
    Maker,
}

impl std::fmt::Display for Basis {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Basis::Practice => formatter.write_str("common practice"),
            Basis::Maker => formatter.write_str("the cable maker's instructions"),
            Basis::Standard { title, clause: Some(clause) } => write!(formatter, "{title}, {clause}"),
            Basis::Standard { title, clause: None } => formatter.write_str(title),
        }
    }
}

/// A thing of the plan that a finding is about: its kind and its name, as a deviation names them.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Subject {
    /// Its kind; one that a deviation may name.
    pub kind: Kind,
    /// Its name.
    pub name: String,
}

/// That a finding was agreed to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Acceptance {
    /// Why.
    pub reason: String,
    /// The last day it holds.
    pub until: Option<jiff::civil::Date>,
    /// The deviation that says so.
    pub place: Place,
}

/// A change to a stretch of a file's text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Edit {
    /// What is replaced; where it is empty, what is written goes in there.
    pub place: Place,
    /// What is written in its place.
    pub text: String,
}

/// A change that settles a finding, where what to do is a definite change to the plan's text.
#[derive(Debug, Clone, PartialEq)]
pub struct Fix {
    /// What it does, in a phrase.
    pub title: String,
    /// The changes, which don't overlap.
    pub edits: Vec<Edit>,
    /// The kits that are to be others than the plan's.
    pub kits: Vec<OtherKit>,
    /// Whether it is advised and never made: which kits there are, and what a floor is built of, is for who draws the plan to say.
    pub advised_only: bool,
    /// What is advised with it.
    pub advice: Option<String>,
}

/// That a cable is to be of a kit of another length, with as much power per length.
#[derive(Debug, Clone, PartialEq)]
pub struct OtherKit {
    /// The name of the cable's room.
    pub room: String,
    /// The cable's name.
    pub cable: String,
    /// How long the kit is to be, mm.
    pub length: f64,
}

impl Fix {
    /// Changes to the text alone.
    pub fn new(title: String, edits: Vec<Edit>) -> Self {
        Fix { title, edits, kits: Vec::new(), advised_only: false, advice: None }
    }

    /// Writes a word in place of another.
    pub fn write(word: &str, place: Place) -> Self {
        Fix::new(format!("write `{word}`"), vec![Edit { place, text: word.to_string() }])
    }
}

/// One finding.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// The rule's name, or one of [`ids`]'s.
    pub rule: Arc<str>,
    /// How much it weighs.
    pub severity: Severity,
    /// One sentence.
    pub message: String,
    /// The places; the first is the one at fault.
    pub marks: Vec<Mark>,
    /// What was measured and what it was held to.
    pub figures: Vec<Figure>,
    /// What to do.
    pub advice: Option<String>,
    /// The change that does it, where that is definite.
    pub fix: Option<Fix>,
    /// Changes that may do it and were not tried yet, the best first; see [`prove`](crate::checker::mend::prove).
    pub offers: Vec<Fix>,
    /// Where the rule comes from; none for what reading the plan found.
    pub basis: Option<Basis>,
    /// Whether the rule's values were recalled rather than looked up.
    pub from_memory: bool,
    /// Whether nothing excuses it: its rule is binding, so that no deviation covers it and it is never known.
    pub binding: bool,
    /// The name of the room.
    pub room: Option<String>,
    /// Where on the floor it is, as its rule measured it, where it is anywhere.
    pub site: Option<Site>,
    /// What it is about.
    pub subjects: Vec<Subject>,
    /// By how much a figure misses its limit, in its coherent unit: of findings alike, the worst has the most.
    pub excess: Option<f64>,
    /// Set where a deviation covers it.
    pub accepted: Option<Acceptance>,
    /// What it is called by wherever it is shown, from 1: findings that go [`together`](crate::alike::together) share one. 0 before it is numbered.
    pub number: u32,
    /// How many findings before it in the plan are about the same; see [`fingerprint`](crate::fingerprint).
    pub repeat: u32,
}

/// What findings are called that come from reading a plan rather than from a rule.
pub mod ids {
    /// A statement that can't be read.
    pub const SYNTAX: &str = "syntax";
    /// A name that nothing bears, or that two things bear.
    pub const NAME: &str = "name";
    /// A quantity of the wrong dimension, or out of all bounds.
    pub const QUANTITY: &str = "quantity";
    /// A `use` that can't be followed.
    pub const USE: &str = "use";
    /// Something that contradicts itself.
    pub const PLAN: &str = "plan";

    /// All of them, each with what it finds, in a phrase.
    pub const ABOUT: &[(&str, &str)] = &[
        (SYNTAX, "A statement that can't be read"),
        (NAME, "A name that nothing bears, or that two things bear"),
        (QUANTITY, "A quantity of the wrong dimension, or out of all bounds"),
        (USE, "A `use` that can't be followed"),
        (PLAN, "Something that contradicts itself"),
    ];

    /// All of them.
    pub const ALL: &[&str] = &[SYNTAX, NAME, QUANTITY, USE, PLAN];
}

impl Finding {
    /// An error found while reading a plan, marked at `place`.
    pub fn reading(id: &str, message: impl Into<String>, place: Place, label: impl Into<String>) -> Self {
        Finding {
            rule: id.into(),
            severity: Severity::Error,
            message: message.into(),
            marks: vec![Mark { place, label: label.into() }],
            figures: Vec::new(),
            advice: None,
            fix: None,
            offers: Vec::new(),
            basis: None,
            from_memory: false,
            binding: false,
            room: None,
            site: None,
            subjects: Vec::new(),
            excess: None,
            accepted: None,
            number: 0,
            repeat: 0,
        }
    }

    /// The finding with advice.
    #[must_use]
    pub fn advise(mut self, advice: impl Into<String>) -> Self {
        self.advice = Some(advice.into());
        self
    }

    /// The finding with the change that settles it.
    #[must_use]
    pub fn fix(mut self, fix: Option<Fix>) -> Self {
        self.fix = fix;
        self
    }

    /// The finding with one more mark.
    #[must_use]
    pub fn mark(mut self, place: Place, label: impl Into<String>) -> Self {
        self.marks.push(Mark { place, label: label.into() });
        self
    }

    /// The very place on the floor, where it is anywhere.
    pub fn at(&self) -> Option<Point> {
        self.site.as_ref().map(|site| site.at)
    }

    /// Where it is at fault.
    pub fn place(&self) -> Place {
        self.marks.first().map(|mark| mark.place).unwrap_or_default()
    }
}
