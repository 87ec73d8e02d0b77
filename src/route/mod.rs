//! Lays heating cables that a plan names with their kit alone: their way over the floor, their cold tails and the floor sensor, written as
//! ordinary statements. Every layout is judged by the rules in force, as a plan drawn by hand is; what isn't clean is not laid.
//!
//! ```text
//! text ─text→ cables without a way ─region→ floor ─rows, cells→ field ─tour, walk, fit→ layouts ─leads, conduit→ statements ─judge→ text
//! ```
//!
//! Rows of cable lie on lines across the floor, as far apart as makes the kit fill it. What the floor leaves of them stands in cells, as in a
//! boustrophedon decomposition (H. Choset, "Coverage of known spaces: the boustrophedon cellular decomposition", Autonomous Robots 9, 2000). A
//! cell is crossed to and fro, or gone round as in spanning-tree coverage (Y. Gabriely, E. Rimon, "Spanning-tree based coverage of continuous
//! areas by a mobile robot", Annals of Mathematics and Artificial Intelligence 31, 2001): into it and out again side by side.

pub mod aside;
pub mod bare;
pub mod cells;
pub mod choose;
pub mod conduit;
pub mod contradictions;
pub mod draw_in;
pub mod fit;
pub mod frame;
pub mod judge;
pub mod leads;
pub mod limits;
pub mod mend;
pub mod named;
pub mod region;
pub mod room;
pub mod rows;
pub mod search;
pub mod share;
pub mod spiral;
pub mod teeth;
pub mod text;
pub mod tour;
pub mod until;
pub mod walk;
pub mod ways;
pub mod why;
pub mod write;

use std::time::Instant;

use limits::Limits;

pub use ways::Pattern;

use crate::layout::tidy::tidy;
use crate::measure::plan::Measured;
use crate::rules::packs::RuleSet;

/// What is to be laid, and how.
#[derive(Debug, Clone)]
pub struct Asked {
    /// Only in the room of this name.
    pub room: Option<String>,
    /// Besides, a cable of this kit in each room that has none.
    pub kit: Option<String>,
    /// Along this wall, from 1; along whichever is best where none is given.
    pub along: Option<usize>,
    /// To and fro, in a spiral, or whichever.
    pub pattern: Pattern,
    /// When to have done.
    pub until: Instant,
}

impl Asked {
    /// All that is to be laid, in any way, by so long.
    pub fn by(until: Instant) -> Self {
        Asked { room: None, kit: None, along: None, pattern: Pattern::default(), until }
    }
}

/// What a plan is read and held to by.
pub struct Setting<'s> {
    /// Reads and measures a text of the plan.
    pub read: &'s dyn Fn(&str) -> Measured,
    /// What it is held to.
    pub rules: &'s RuleSet,
    /// What deviations are judged by.
    pub today: jiff::civil::Date,
    /// Whether what is laid is no longer wanted: it then ends soon, and what it came to is of no use.
    pub stop: &'s dyn Fn() -> bool,
}

/// What came of laying the cables of a room.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// They are laid, clean; what they come to, in a phrase each.
    Laid(Vec<String>),
    /// They are not.
    Stopped(Stop),
}

/// Why a cable was not laid.
#[derive(Debug, Clone, PartialEq)]
pub struct Stop {
    /// What stands in the way, in a sentence.
    pub reason: String,
    /// What to do about it.
    pub advice: String,
    /// The plan with the nearest layout, where there is one.
    pub nearest: Option<String>,
}

/// How long laying a plan's cables may take where nothing else is said, s.
pub const USUAL_TIME: f64 = 2.0;

pub(crate) fn stop(reason: impl Into<String>, advice: impl Into<String>) -> Stop {
    Stop { reason: reason.into(), advice: advice.into(), nearest: None }
}

/// A plan with cables laid in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Routed {
    /// Its text: as it was but for the rooms that are laid.
    pub text: String,
    /// What came of each room that was asked for, by name.
    pub rooms: Vec<(String, Outcome)>,
}

/// The text in its canonical form where it was in that before.
pub fn in_form(before: &str, after: String) -> String {
    let was_tidy = tidy(before).is_ok_and(|tidied| tidied == before);
    if was_tidy { tidy(&after).unwrap_or(after) } else { after }
}

/// Lays the cables of a plan that are named with no way over the floor.
pub fn route(text: &str, asked: &Asked, setting: &Setting<'_>) -> Routed {
    route_telling(text, asked, setting, &|_| {})
}

/// The same; `begins` is told of each room before its cables are laid, by name.
pub fn route_telling(text: &str, asked: &Asked, setting: &Setting<'_>, begins: &dyn Fn(&str)) -> Routed {
    let limits = Limits::of(setting.rules);
    let mut routed = Routed { text: text.to_string(), rooms: Vec::new() };
    for said in text::rooms(text) {
        if asked.room.as_ref().is_some_and(|room| *room != said.name) {
            continue;
        }
        let added = asked.kit.as_ref().filter(|_| said.unlaid.is_empty() && said.laid == 0);
        if said.unlaid.is_empty() && added.is_none() {
            continue;
        }
        if (setting.stop)() {
            break;
        }
        begins(&said.name);
        if Instant::now() >= asked.until {
            let reason = format!("time was up before room `{}` was looked at", said.name);
            routed.rooms.push((said.name, Outcome::Stopped(stop(reason, "give it more `--time`, or one `--room`"))));
            continue;
        }
        let laid = match contradicted(&routed.text, &said, added, &limits, setting) {
            None => room::lay(&routed.text, &said.name, added, asked, setting),
            Some(stop) => Err(stop),
        };
        let outcome = match laid {
            Ok((text, told)) => {
                routed.text = text;
                Outcome::Laid(told)
            }
            Err(stop) => Outcome::Stopped(stop),
        };
        routed.rooms.push((said.name, outcome));
    }
    routed
}

/// Why rules let no cable of a room be laid, whichever way it is led; nothing where the plan is at fault, which is told later.
fn contradicted(
    text: &str,
    said: &text::RoomText,
    added: Option<&String>,
    limits: &Limits,
    setting: &Setting<'_>,
) -> Option<Stop> {
    // A cable without a way leaves its room incomplete.
    let mut bare = text.to_string();
    said.unlaid.iter().rev().for_each(|cable| bare.replace_range(cable.span.range(), ""));
    let measured = (setting.read)(&bare);
    let plan = measured.plan();
    let kits = said.unlaid.iter().filter_map(|cable| cable.kit.as_ref()).chain(added);
    let mut kits = kits.filter_map(|name| plan.kits.get(plan.kits.named(name)?));
    let room = plan.rooms.iter().find(|room| room.name.text == said.name && room.incomplete.is_none())?;
    let found =
        contradictions::in_room(room, limits).or_else(|| kits.find_map(|kit| contradictions::of_kit(kit, limits)))?;
    Some(stop(found.reason.clone(), found.advice()))
}
