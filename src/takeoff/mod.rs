//! The take-off: what a plan comes to in areas, cable, load, heat and materials, as data.
//!
//! A take-off is made of [`Part`]s, each a thing of the plan with its [`Figure`]s; what figures there are, and how each is reckoned, is
//! declared in [`figures`]. A figure that can't be told carries the reason. One file in [`outputs`] shows it in each form.

pub mod allowances;
mod cables;
mod circuit;
pub mod figures;
mod floor;
mod materials;
mod notes;
pub mod order;
pub mod outputs;

use crate::measure::plan::Measured;
use crate::measure::room::RoomMeasure;
use crate::model::{Plan, Room, Thermostat};
use crate::quantity::{Dimension, Quantity};
use crate::report::Worded;
use crate::source::FileId;
use allowances::Allowances;
use figures::What;

/// A value, or why it can't be told.
pub type Told<T> = Result<T, String>;

/// What a figure comes to.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Something with a dimension.
    Quantity(Quantity),
    /// So much cable, mm: people are told of it in metres, as it is sold and measured off, of distances on the floor in millimetres.
    Cable(f64),
    /// A volume, litres.
    Litres(f64),
    /// A share; 1 is all of it.
    Share(f64),
    /// So many.
    Count(usize),
    /// A name or a description.
    Words(String),
}

impl Value {
    /// The number and its unit, in the one unit that other programs are given for it; nothing for words.
    pub fn measured(&self) -> Option<(f64, String)> {
        match self {
            Value::Quantity(quantity) => Some(quantity.in_fixed_unit()),
            Value::Cable(length) => Some(Quantity::new(*length, Dimension::LENGTH).in_fixed_unit()),
            Value::Litres(litres) => Some((*litres, "l".into())),
            Value::Share(share) => Some((share * 100.0, "%".into())),
            Value::Count(count) => Some((*count as f64, String::new())),
            Value::Words(_) => None,
        }
    }

    /// As a person reads it.
    ///
    /// ```
    /// use layrule::takeoff::Value;
    /// assert_eq!(Value::Share(0.0714).text(), "7.1 %");
    /// assert_eq!(Value::Litres(61.26).text(), "61.3 l");
    /// assert_eq!((Value::Cable(3470.0).text(), Value::Cable(55_640.0).text()), ("3.47 m".into(), "55.6 m".into()));
    /// ```
    pub fn text(&self) -> String {
        match self {
            Value::Quantity(quantity) => quantity.show(0),
            Value::Cable(length) => {
                let decimals = if *length < 10_000.0 { 2 } else { 1 };
                format!("{} m", crate::quantity::number(length / 1e3, decimals))
            }
            Value::Litres(litres) => format!("{} l", crate::quantity::number(*litres, 1)),
            Value::Share(share) => format!("{} %", crate::quantity::number(share * 100.0, 1)),
            Value::Count(count) => count.to_string(),
            Value::Words(words) => words.clone(),
        }
    }
}

/// One line of a take-off.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// What it is, and how it is reckoned.
    pub what: &'static What,
    /// What it comes to.
    pub value: Told<Value>,
}

/// What a [`Part`] is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The room's floor as a whole.
    Areas,
    /// A fixture or another level that stands on it.
    Obstacle,
    /// A heating cable.
    Cable,
    /// A thermostat with what it switches.
    Thermostat,
    /// The heat of the floor as a whole.
    Heat,
    /// A layer of the floor.
    Layer,
    /// A kit that the room takes.
    Kit,
    /// A floor sensor with its conduit.
    Sensor,
    /// What holds the cable.
    Fixing,
    /// A note or a photograph of the record.
    Note,
    /// A supply with what it feeds.
    Supply,
}

impl Worded for Kind {
    const WORDS: &'static [(Kind, &'static str)] = &[
        (Kind::Areas, "areas"),
        (Kind::Obstacle, "obstacle"),
        (Kind::Cable, "cable"),
        (Kind::Thermostat, "thermostat"),
        (Kind::Heat, "heat"),
        (Kind::Kit, "kit"),
        (Kind::Fixing, "fixing"),
        (Kind::Sensor, "sensor"),
        (Kind::Layer, "layer"),
        (Kind::Note, "note"),
        (Kind::Supply, "supply"),
    ];
}

/// A thing of the plan with its figures.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// What it is.
    pub kind: Kind,
    /// Its name; empty where the room has one of the kind.
    pub name: String,
    /// In the order they are shown.
    pub figures: Vec<Figure>,
}

impl Part {
    fn new(kind: Kind, name: impl Into<String>) -> Self {
        Part { kind, name: name.into(), figures: Vec::new() }
    }

    fn add(&mut self, what: &'static What, value: Told<Value>) {
        self.figures.push(Figure { what, value });
    }

    fn quantity(&mut self, what: &'static What, dimension: Dimension, value: Told<f64>) {
        self.add(what, value.map(|value| Value::Quantity(Quantity::new(value, dimension))));
    }

    fn cable(&mut self, what: &'static What, length: Told<f64>) {
        self.add(what, length.map(Value::Cable));
    }

    fn words(&mut self, what: &'static What, words: Told<String>) {
        self.add(what, words.map(Value::Words));
    }

    /// What a figure of it comes to; nothing where it has none of that name.
    pub fn get(&self, what: &What) -> Option<&Told<Value>> {
        self.figures.iter().find(|figure| figure.what.name == what.name).map(|figure| &figure.value)
    }
}

/// The take-off of a room.
#[derive(Debug, Clone, PartialEq)]
pub struct RoomTakeOff {
    /// Its name.
    pub name: String,
    /// What people call it.
    pub title: Option<String>,
    /// Why what belongs to the room as a whole can't be told: something in it could not be read.
    pub incomplete: Option<String>,
    /// What it comes to.
    pub parts: Vec<Part>,
}

/// The take-off of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct TakeOff {
    /// The plan's file, as it is shown.
    pub file: String,
    /// Whether all of it could be read.
    pub complete: bool,
    /// Its rooms.
    pub rooms: Vec<RoomTakeOff>,
    /// The supplies that feed its thermostats.
    pub supplies: Vec<Part>,
}

impl TakeOff {
    /// Leaves nothing but parts of these kinds.
    pub fn keep(&mut self, kinds: &[Kind]) {
        let rooms = self.rooms.iter_mut().map(|room| &mut room.parts);
        for parts in rooms.chain([&mut self.supplies]) {
            parts.retain(|part| kinds.contains(&part.kind));
        }
    }

    /// Leaves nothing but one room (an index) and the supplies that feed it, these with all that they feed.
    pub fn keep_room(&mut self, plan: &Plan, room: usize) {
        let fed = |thermostat: &Thermostat| Some(plan.supplies.get(thermostat.supply?)?.name.text.as_str());
        let thermostats = plan.rooms.get(room).map_or(&[][..], |room| &room.thermostats);
        self.rooms = self.rooms.drain(..).skip(room).take(1).collect();
        self.supplies.retain(|supply| thermostats.iter().filter_map(fed).any(|name| name == supply.name));
    }
}

/// A room that is being taken off.
struct Taken<'m, 'a> {
    plan: &'a Plan,
    room: &'a Room,
    measure: &'m RoomMeasure<'a>,
    allowances: &'m Allowances,
}

impl Taken<'_, '_> {
    /// What belongs to the room as a whole, where all of the room could be read.
    fn whole<T>(&self, value: impl FnOnce() -> Told<T>) -> Told<T> {
        self.room.incomplete.as_ref().map_or_else(value, |why| Err(why.clone()))
    }

    fn gives_no(&self, what: &str) -> String {
        format!("room `{}` gives no {what}", self.room.name.text)
    }
}

/// Takes off a measured plan.
pub fn take_off(measured: &Measured, allowances: &Allowances) -> TakeOff {
    let plan = measured.plan();
    let measures: Vec<RoomMeasure<'_>> = measured.rooms().collect();
    let rooms = measures.iter().map(|measure| {
        let taken = Taken { plan, room: measure.room, measure, allowances };
        let mut parts = floor::areas(&taken);
        parts.extend(cables::cables(&taken));
        parts.extend(circuit::thermostats(&taken));
        parts.push(floor::heat(&taken));
        parts.extend(materials::materials(&taken));
        parts.extend(notes::notes(measure.room));
        RoomTakeOff {
            name: measure.room.name.text.clone(),
            title: measure.room.title.clone(),
            incomplete: measure.room.incomplete.clone(),
            parts,
        }
    });
    TakeOff {
        file: plan.sources.get(FileId(0)).map_or_else(String::new, |file| file.name.clone()),
        complete: plan.faults.is_empty(),
        rooms: rooms.collect(),
        supplies: circuit::supplies(plan, &measures),
    }
}
