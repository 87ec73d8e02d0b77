//! Which kits suit a room in which no cable is drawn yet.
//!
//! What is tried of kits is thought to lie evenly over the free floor (`trial`) and is held to the rules in force: what they find is why it
//! won't do, and no limit stands here. [`makes`] tells cables of one make apart from others and asks the rules what length of it would do,
//! `combinations` which kits come to that, [`choice`] what each comes to. One file in [`outputs`] shows it in each form.

pub mod choice;
mod combinations;
pub mod makes;
pub mod outputs;
mod trial;

use std::collections::BTreeMap;

use crate::measure::areas::Margins;
use crate::measure::plan::Measured;
use crate::model::{AreaKind, Kit, Room};
use crate::route::contradictions;
use crate::route::limits::Limits;
use crate::rules::packs::RuleSet;
use crate::source::FileId;
use crate::takeoff::Told;
use crate::{finding::Severity, reasons};
use choice::Choice;
use makes::Make;
use trial::Trials;

/// The rule that says how far apart a kit may lie, and what it leaves free.
const SPACING_RULE: &str = "kit-size";

/// What a rule finds where kits are tried.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stop {
    /// The rule.
    pub rule: std::sync::Arc<str>,
    /// How much it weighs.
    pub severity: Severity,
    /// What it says.
    pub message: String,
}

/// Which kits suit the rooms of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Sizing {
    /// The plan's file, as it is shown.
    pub file: String,
    /// Whether all of it could be read.
    pub complete: bool,
    /// Its rooms.
    pub rooms: Vec<RoomSizing>,
}

impl Sizing {
    /// Whether something was looked for in a room, and nothing that is found there would do.
    pub fn lacks(&self) -> bool {
        let lacks = |sized: &Sized| sized.fitting.is_empty() || sized.anyway.iter().any(Stop::is_error);
        self.rooms.iter().any(|room| match &room.outcome {
            Outcome::Sized(sized) => lacks(sized),
            Outcome::Untold(_) => true,
            Outcome::LeftAlone(_) => false,
        })
    }
}

impl Stop {
    /// Whether it weighs enough to stop what it is found of; a note is told, and doesn't.
    fn stops(&self) -> bool {
        self.severity >= Severity::Warning
    }

    fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }
}

/// What there is to say of one room.
#[derive(Debug, Clone, PartialEq)]
pub struct RoomSizing {
    /// Its name.
    pub name: String,
    /// What people call it.
    pub title: Option<String>,
    /// What came of it.
    pub outcome: Outcome,
}

/// What came of looking for kits for a room.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// Kits were tried.
    Sized(Box<Sized>),
    /// It wasn't asked for: why.
    LeftAlone(String),
    /// It can't be told: why.
    Untold(String),
}

/// What was found for a room.
#[derive(Debug, Clone, PartialEq)]
pub struct Sized {
    /// The free floor of each of the parts that movement joints make of it, mm2, the largest first.
    pub parts: Vec<f64>,
    /// The heat it loses, W.
    pub loss: Option<f64>,
    /// The thermostats (their names) for which a floor sensor is presumed, which is laid with the cable.
    pub presumed: Vec<String>,
    /// Whether it has no thermostat, so that none is thought to hold the floor down, and no load is judged.
    pub unswitched: bool,
    /// What no rule stops, the best first.
    pub fitting: Vec<Choice>,
    /// What a rule stops, the nearest first.
    pub stopped: Vec<Choice>,
    /// How many combinations were not tried, there being too many.
    pub untried: usize,
    /// The cables of one make each that there are, and what lengths of it would do.
    pub makes: Vec<Make>,
    /// What rules find whatever is chosen.
    pub anyway: Vec<Stop>,
    /// Rules that could not be held, by why.
    pub unheld: BTreeMap<String, Vec<String>>,
}

/// What is looked for.
#[derive(Debug, Clone, Copy)]
pub struct Wanted<'w> {
    /// What counts.
    pub rules: &'w RuleSet,
    /// On which day deviations are judged to hold.
    pub today: jiff::civil::Date,
    /// This room (an index) alone, with what is drawn in it set aside; all that have no cable where none is named.
    pub room: Option<usize>,
    /// The kits there are instead of the plan's.
    pub kits: Option<&'w [Kit]>,
}

/// Looks for kits that suit the rooms of a measured plan.
pub fn size(measured: &Measured, wanted: &Wanted<'_>) -> Sizing {
    let plan = measured.plan();
    let rooms = plan.rooms.iter().enumerate().filter(|(index, _)| wanted.room.is_none_or(|only| only == *index));
    let rooms = rooms.map(|(index, room)| RoomSizing {
        name: room.name.text.clone(),
        title: room.title.clone(),
        outcome: match left_alone(room, wanted) {
            Some(why) => Outcome::LeftAlone(why),
            None => {
                sized(measured, index, wanted).map_or_else(Outcome::Untold, |sized| Outcome::Sized(Box::new(sized)))
            }
        },
    });
    Sizing {
        rooms: rooms.collect(),
        file: plan.sources.get(FileId(0)).map_or_else(String::new, |file| file.name.clone()),
        complete: plan.faults.is_empty(),
    }
}

/// Why a room isn't asked for.
fn left_alone(room: &Room, wanted: &Wanted<'_>) -> Option<String> {
    let drawn = wanted.room.is_none() && !room.cables.is_empty();
    drawn.then(|| format!("it has cable already; `--room {}` looks for kits all the same", room.name.text))
}

/// What a room leaves free: limits of the rule that judges spacing.
fn margins(rules: &RuleSet) -> Told<Margins> {
    Ok(Margins {
        clearance: rules.limit(SPACING_RULE, "clearance")?,
        free_height: rules.limit(SPACING_RULE, "free-height")?,
    })
}

/// The free floor of a room's parts, or why it can't be told.
fn parts(measured: &Measured, index: usize, margins: Margins) -> Told<Vec<f64>> {
    let room = measured.room(index).ok_or_else(String::new)?;
    if let Some(why) = &room.room.incomplete {
        return Err(why.clone());
    }
    let whole = room.free_area(margins).ok_or_else(|| reasons::too_intricate(room.room))?;
    let parts = room.free_parts(margins).filter(|parts| !parts.is_empty()).unwrap_or_else(|| vec![whole]);
    if parts.iter().sum::<f64>() <= 0.0 {
        let levels = room.room.areas.iter().any(|area| matches!(area.kind, AreaKind::Level { .. }));
        let why = "no floor of it is free: clearances, fixtures and other levels take it all";
        return Err(if levels { format!("{why}; a cable that starts on a level heats it") } else { why.into() });
    }
    Ok(parts)
}

fn sized(measured: &Measured, index: usize, wanted: &Wanted<'_>) -> Told<Sized> {
    let rules = wanted.rules;
    let kits = wanted.kits.unwrap_or(&measured.plan().kits);
    if kits.is_empty() {
        let from = "write `use \"kits.lay\"` or a `kit`, or name a catalogue with `--kits FILE`";
        return Err(format!("there is no kit to choose from; {from}"));
    }
    let parts = parts(measured, index, margins(rules)?)?;
    if let Some(room) = measured.plan().rooms.get(index)
        && let Some(found) = contradictions::in_room(room, &Limits::of(rules))
    {
        return Err(format!("{}; {}", found.reason, found.advice()));
    }
    let usual = rules.limit(SPACING_RULE, "usual")?;
    let mut trials = Trials::new(measured, index, kits, wanted);
    let mut makes = makes::tell_apart(kits);
    for make in makes.iter_mut().take(makes::MOST_BOUNDED) {
        makes::bound(make, kits, &mut trials, parts.iter().sum());
    }
    let anyway = makes::take_common(&mut makes);
    let found = combinations::of(kits, &makes, &parts, usual);
    let mut tried: Vec<Choice> = Vec::new();
    for combination in &found.tried {
        let mut choice = trials.choice(combination, kits);
        choice.stops.retain(|stop| !anyway.iter().any(|own| own.rule == stop.rule));
        // Mats lie the same wherever they lie.
        if tried.iter().all(|known| known.kits != choice.kits) {
            tried.push(choice);
        }
    }
    let (mut fitting, mut stopped): (Vec<_>, Vec<_>) = tried.into_iter().partition(|choice| choice.stops.is_empty());
    choice::best_first(&mut fitting, usual);
    choice::nearest_first(&mut stopped, &makes, usual);
    let (presumed, unheld) = trials.said(fitting.iter().chain(&stopped));
    let room = measured.plan().rooms.get(index);
    let loss = room.and_then(|room| room.heat_loss);
    let unswitched = room.is_some_and(|room| room.thermostats.is_empty());
    Ok(Sized { parts, loss, presumed, unswitched, fitting, stopped, untried: found.untried, makes, anyway, unheld })
}
