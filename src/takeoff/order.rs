//! The order list: what the rooms of one plan or of many take, room by room and in sum.

use super::figures::*;
use super::{Figure, Kind, Part, RoomTakeOff, TakeOff, Told, Value};
use crate::quantity::Quantity;

/// What is ordered, item by item.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Order {
    /// How many plans it is for: files that have rooms.
    pub plans: usize,
    /// How many rooms they have.
    pub rooms: usize,
    /// Whether all of every plan could be read.
    pub complete: bool,
    /// In the order of their kinds, then as they are met.
    pub items: Vec<Item>,
}

/// Something that is ordered, the same for every room that takes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// What it is.
    pub kind: Kind,
    /// What it is called, with what tells it from others of its name: `tile, 10 mm`.
    pub name: String,
    /// What is counted or measured of it.
    pub figures: Vec<&'static What>,
    /// The rooms that take it.
    pub places: Vec<Place>,
}

/// What one room takes of an item.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// The room's plan, as it is shown.
    pub file: String,
    /// Which room of the list it is, from 0.
    pub room_number: usize,
    /// The room.
    pub room: String,
    /// What people call the room.
    pub title: Option<String>,
    /// One of each of the item's figures.
    pub values: Vec<Told<Value>>,
}

/// What all rooms together take of an item.
#[derive(Debug, Clone, PartialEq)]
pub struct Sum {
    /// Of what could be told; nothing where nothing could.
    pub told: Option<Value>,
    /// Of how many rooms it could not be, which take more.
    pub missing: usize,
}

/// The kinds that are ordered, in the order of the list.
pub const ORDERED: &[Kind] = &[Kind::Kit, Kind::Fixing, Kind::Sensor, Kind::Thermostat, Kind::Layer];

impl Order {
    /// An order list of nothing yet.
    pub fn new() -> Self {
        Order { complete: true, ..Order::default() }
    }

    /// Adds what a plan takes. Supplies are the installation's and not ordered with the floor.
    pub fn add(&mut self, taken: &TakeOff) {
        // A catalogue in a folder of plans is none.
        self.plans += usize::from(!taken.rooms.is_empty());
        self.complete &= taken.complete;
        for room in &taken.rooms {
            room.parts.iter().for_each(|part| self.add_part(&taken.file, room, part));
            self.rooms += 1;
        }
        self.items.sort_by_key(|item| ORDERED.iter().position(|kind| *kind == item.kind));
    }

    /// Leaves nothing but items of these kinds.
    pub fn keep(&mut self, kinds: &[Kind]) {
        self.items.retain(|item| kinds.contains(&item.kind));
    }

    fn add_part(&mut self, file: &str, room: &RoomTakeOff, part: &Part) {
        let Some((name, figures)) = ordered(part) else { return };
        let item = match self.items.iter().position(|item| item.kind == part.kind && item.name == name) {
            Some(known) => &mut self.items[known],
            None => {
                let figures = figures.iter().map(|figure| figure.what).collect();
                self.items.push(Item { kind: part.kind, name, figures, places: Vec::new() });
                let last = self.items.len() - 1;
                &mut self.items[last]
            }
        };
        let values: Vec<Told<Value>> = figures.into_iter().map(|figure| figure.value).collect();
        let room_number = self.rooms;
        match item.places.last_mut().filter(|place| place.room_number == room_number) {
            Some(place) => {
                place.values.iter_mut().zip(values).for_each(|(sum, more)| *sum = added(sum.clone(), more));
            }
            None => item.places.push(Place {
                file: file.into(),
                room_number,
                room: room.name.clone(),
                title: room.title.clone(),
                values,
            }),
        }
    }
}

impl Item {
    /// What is ordered of each of its figures.
    pub fn sums(&self) -> Vec<Sum> {
        let of = |figure: usize| {
            let values = self.places.iter().filter_map(|place| place.values.get(figure));
            let (told, missing): (Vec<_>, Vec<_>) = values.cloned().partition(Result::is_ok);
            let sum = told.into_iter().reduce(added).and_then(Result::ok);
            Sum { told: sum, missing: missing.len() }
        };
        (0..self.figures.len()).map(of).collect()
    }
}

/// What a part of a room's take-off is on the order list; nothing for what is not ordered.
fn ordered(part: &Part) -> Option<(String, Vec<Figure>)> {
    let told = |what: &What| part.get(what).and_then(|value| value.as_ref().ok());
    let words = |what: &What| told(what).map(Value::text);
    let figures = |wanted: &[&'static What]| -> Vec<Figure> {
        let own = |what: &&'static What| part.get(what).map(|value| Figure { what, value: value.clone() });
        wanted.iter().filter_map(own).collect()
    };
    let one = Figure { what: &NUMBER, value: Ok(Value::Count(1)) };
    Some(match part.kind {
        // Catalogues may have kits of one name that are not the same.
        Kind::Kit => {
            let each = match (told(&KIT_LENGTH), told(&KIT_COUNT)) {
                (Some(Value::Cable(length)), Some(Value::Count(count))) if *count > 0 => {
                    format!(", {}", Value::Cable(length / *count as f64).text())
                }
                _ => String::new(),
            };
            (format!("kit {}{each}", part.name), figures(&[&KIT_COUNT, &KIT_LENGTH, &KIT_TAILS]))
        }
        Kind::Fixing => ("fixing tape".into(), figures(&[&TAPE_LENGTH])),
        Kind::Sensor => {
            let lead = words(&LEAD).map_or_else(String::new, |lead| format!(" on {lead} of cable"));
            (format!("floor sensor{lead}"), [vec![one], figures(&[&CONDUIT])].concat())
        }
        Kind::Thermostat => {
            let rated = words(&RATED).map_or_else(String::new, |rated| format!(", {rated}"));
            (format!("thermostat{rated}"), vec![one])
        }
        Kind::Layer => {
            let thick = words(&THICKNESS).map_or_else(String::new, |thick| format!(", {thick}"));
            (format!("{}{thick}", part.name), figures(&[&LAYER_AREA, &VOLUME]))
        }
        _ => return None,
    })
}

/// Two amounts of one thing together; what can't be told of one can't be told of both.
fn added(one: Told<Value>, more: Told<Value>) -> Told<Value> {
    Ok(match (one?, more?) {
        (Value::Quantity(a), Value::Quantity(b)) => Value::Quantity(Quantity { value: a.value + b.value, ..a }),
        (Value::Cable(a), Value::Cable(b)) => Value::Cable(a + b),
        (Value::Litres(a), Value::Litres(b)) => Value::Litres(a + b),
        (Value::Count(a), Value::Count(b)) => Value::Count(a + b),
        // Figures of one name are of one kind; shares and words are on no order list.
        (one, more) => return Err(format!("{} and {} don't add up", one.text(), more.text())),
    })
}
