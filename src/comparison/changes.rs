//! What is said of a thing that differs, as data and in words.

use crate::geometry::tolerance::TOUCH;
use crate::geometry::{Point, distance};
use crate::quantity::{Dimension, Quantity};

/// One difference.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// What the thing is.
    pub kind: &'static str,
    /// Its name in the second plan, or in the first where it is gone; empty for what needs none.
    pub name: String,
    /// What differs.
    pub what: What,
    /// Where it is: in the second plan, or in the first where it is gone.
    pub at: Option<Point>,
}

/// What differs in a thing.
#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// It stands in the second plan alone.
    Added,
    /// It stands in the first alone.
    Gone,
    /// It was called otherwise in the first.
    Renamed(String),
    /// It lies elsewhere, by this step, mm.
    Moved(Point),
    /// It goes another way; by how much its last point lies elsewhere, mm.
    Rerouted {
        /// Its length in each plan, mm.
        lengths: (f64, f64),
        /// mm.
        end: Point,
    },
    /// A figure of it differs, or how large it is.
    Figure {
        /// Which.
        label: &'static str,
        /// In the first plan.
        from: String,
        /// In the second.
        to: String,
    },
    /// Runs of a cable are led otherwise.
    Runs(Led),
}

/// Runs that follow one another and are all led otherwise in one way.
#[derive(Debug, Clone, PartialEq)]
pub struct Led {
    /// The numbers of the first and the last, from 1: in the second plan, or in the first where they are gone.
    pub runs: (usize, usize),
    /// The numbers in the first plan, where they stand in both.
    pub before: Option<(usize, usize)>,
    /// How.
    pub how: How,
}

/// How runs are led otherwise.
#[derive(Debug, Clone, PartialEq)]
pub enum How {
    /// They stand in the second plan alone.
    Added,
    /// They stand in the first alone.
    Gone,
    /// They lie farther over, by at least and at most this step, and are longer by so much, mm.
    Shifted {
        /// The least step and the greatest.
        by: (Point, Point),
        /// The least and the most that they are longer by; less than nothing where they are shorter.
        longer: (f64, f64),
    },
    /// They lead another way.
    Turned,
}

impl Change {
    /// The thing: `fixture bench`.
    pub fn thing(&self) -> String {
        if self.name.is_empty() { self.kind.to_string() } else { format!("{} {}", self.kind, self.name) }
    }

    /// What differs, in words: `moved 40 mm east`.
    pub fn words(&self) -> String {
        match &self.what {
            What::Added => "added".into(),
            What::Gone => "gone".into(),
            What::Renamed(from) => format!("renamed, {from} before"),
            What::Moved(by) => format!("moved {}", step(*by)),
            What::Rerouted { lengths: (from, to), end } => {
                let end = if distance(*end, Point::zero()) > TOUCH {
                    format!(", its end {}", step(*end))
                } else {
                    String::new()
                };
                let lengths =
                    if (from - to).abs() > TOUCH { format!(", {} → {}", mm(*from), mm(*to)) } else { String::new() };
                format!("goes another way{lengths}{end}")
            }
            What::Figure { label, from, to } => format!("{label} {from} → {to}"),
            What::Runs(led) => led.words(),
        }
    }
}

impl Led {
    fn words(&self) -> String {
        let range = |(first, last): (usize, usize)| match first == last {
            true => format!("run {first}"),
            false => format!("runs {first} to {last}"),
        };
        let mut words = range(self.runs);
        if let Some((first, last)) = self.before.filter(|before| *before != self.runs) {
            let numbers = if first == last { first.to_string() } else { format!("{first} to {last}") };
            words.push_str(&format!(" ({numbers} before)"));
        }
        match &self.how {
            How::Added => words + " added",
            How::Gone => words + " gone",
            How::Turned => words + " led another way",
            How::Shifted { by: (least, most), longer } => {
                let (low, high) = (distance(*least, Point::zero()), distance(*most, Point::zero()));
                if high > TOUCH {
                    words.push_str(&format!(" shifted {} {}", between(low, high), heading(*most)));
                }
                let (shorter, longer) = (longer.0.abs().min(longer.1.abs()), longer.0.abs().max(longer.1.abs()));
                if longer > TOUCH {
                    let way = if self.is_longer() { "longer" } else { "shorter" };
                    let joint = if high > TOUCH { "," } else { "" };
                    words.push_str(&format!("{joint} {} {way}", between(shorter, longer)));
                }
                words
            }
        }
    }

    fn is_longer(&self) -> bool {
        matches!(self.how, How::Shifted { longer: (_, most), .. } if most > 0.0)
    }
}

fn mm(length: f64) -> String {
    Quantity::new(length, Dimension::LENGTH).show(0)
}

/// `40 mm`, or `5 mm to 60 mm` where those are not shown alike.
fn between(low: f64, high: f64) -> String {
    let (low, high) = (mm(low), mm(high));
    if low == high { low } else { format!("{low} to {high}") }
}

/// `30 mm east, 40 mm north`.
fn step(by: Point) -> String {
    let mut parts = Vec::new();
    for (value, forth, back) in [(by.x, "east", "west"), (by.y, "north", "south")] {
        if value.abs() > TOUCH {
            parts.push(format!("{} {}", mm(value.abs()), if value > 0.0 { forth } else { back }));
        }
    }
    if parts.is_empty() { "nowhere".into() } else { parts.join(", ") }
}

/// `north`, or `north and east`.
fn heading(by: Point) -> String {
    let mut words = Vec::new();
    for (value, forth, back) in [(by.y, "north", "south"), (by.x, "east", "west")] {
        if value.abs() > TOUCH {
            words.push(if value > 0.0 { forth } else { back });
        }
    }
    words.join(" and ")
}
