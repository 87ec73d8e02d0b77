//! What a rule may ask of a plan: the collections and the fields of their items, each with its dimension and its meaning.
//!
//! This is the one place where they are declared, a file a theme. The checker looks names up here, the evaluator calls what stands beside
//! them, and `grammar/vocabulary.md` is printed from here.

use std::marker::PhantomData;
use std::sync::LazyLock;

use super::value::{Type, Value};
use crate::geometry::Site;
use crate::measure::areas::Margins;
use crate::measure::room::RoomMeasure;
use crate::quantity::Dimension;
use crate::things::{Item, Kind, OfKind, RoomId, Thing, World};

mod cable;
mod circuit;
mod deviation;
mod heat;
mod laying;
mod record;
mod room;
mod rug;
mod sensor;

/// What a field or a collection is given in parentheses.
pub type Parameter = (&'static str, Dimension);

/// Visits each item of a collection, or says why some can't be had.
type Visitor = dyn Fn(&World<'_>, &[f64], &mut dyn FnMut(Result<Item, String>)) + Send + Sync;

/// A collection that a rule can go through.
pub struct Collection {
    /// Its name.
    pub name: &'static str,
    /// What it is given.
    pub parameters: &'static [Parameter],
    /// What it holds.
    pub of: Kind,
    /// What that means.
    pub meaning: &'static str,
    /// Visits each item, or says why some can't be had.
    pub visit: Box<Visitor>,
}

/// What a field gives of an item.
type Getter = dyn Fn(&World<'_>, Item, &[f64]) -> Value + Send + Sync;

/// Where on the floor an item is what a field says of it, given what that is held to.
type Locator = dyn Fn(&World<'_>, Item, f64) -> Option<Site> + Send + Sync;

/// Something to ask of an item.
pub struct Field {
    /// What can be asked.
    pub owner: Kind,
    /// Its name.
    pub name: &'static str,
    /// What it is given.
    pub parameters: &'static [Parameter],
    /// What comes back.
    pub gives: Type,
    /// What that means.
    pub meaning: &'static str,
    /// The answer.
    pub get: Box<Getter>,
    /// Where on the floor that is so, where the field knows better than its item.
    pub site: Option<Box<Locator>>,
}

/// All that there is to ask.
#[derive(Default)]
struct Vocabulary {
    collections: Vec<Collection>,
    fields: Vec<Field>,
}

/// The themes, in the order of the reference page.
static VOCABULARY: LazyLock<Vocabulary> = LazyLock::new(|| {
    let mut all = Vocabulary::default();
    room::declare(&mut all);
    cable::declare(&mut all);
    sensor::declare(&mut all);
    laying::declare(&mut all);
    deviation::declare(&mut all);
    circuit::declare(&mut all);
    record::declare(&mut all);
    heat::declare(&mut all);
    rug::declare(&mut all);
    all
});

/// Every collection, theme by theme.
pub fn collections() -> impl Iterator<Item = &'static Collection> + Clone {
    VOCABULARY.collections.iter()
}

/// Every field, theme by theme.
pub fn fields() -> impl Iterator<Item = &'static Field> + Clone {
    VOCABULARY.fields.iter()
}

/// The collection of that name.
pub fn collection(name: &str) -> Option<&'static Collection> {
    collections().find(|collection| collection.name == name)
}

/// The field of that name of that kind of item.
pub fn field(owner: Kind, name: &str) -> Option<&'static Field> {
    fields().find(|field| field.owner == owner && field.name == name)
}

impl Vocabulary {
    /// Begins a collection; [`NewCollection::is`] ends it.
    fn collection(&mut self, name: &'static str, meaning: &'static str) -> NewCollection<'_> {
        NewCollection { all: self, name, parameters: &[], meaning }
    }

    /// Takes the fields of the things of one kind.
    fn fields<T: OfKind + 'static>(&mut self, declare: fn(&mut Fields<'_, T>)) {
        declare(&mut Fields { all: self, of: PhantomData });
    }
}

/// A collection as far as it is declared.
#[must_use = "what has no `is` is not declared"]
struct NewCollection<'v> {
    all: &'v mut Vocabulary,
    name: &'static str,
    parameters: &'static [Parameter],
    meaning: &'static str,
}

impl NewCollection<'_> {
    /// What it is given in parentheses.
    fn given(self, parameters: &'static [Parameter]) -> Self {
        NewCollection { parameters, ..self }
    }

    /// How its items are visited, given the values of its parameters.
    fn is<T: OfKind + 'static>(self, visit: impl Fn(&World<'_>, &[f64], Visit<'_, T>) + Send + Sync + 'static) {
        let NewCollection { all, name, parameters, meaning } = self;
        let visit: Box<Visitor> = Box::new(move |world, given, to| visit(world, given, Visit { to, of: PhantomData }));
        all.collections.push(Collection { name, parameters, of: T::KIND, meaning, visit });
    }
}

/// Where a collection puts its items.
struct Visit<'v, T> {
    to: &'v mut dyn FnMut(Result<Item, String>),
    of: PhantomData<T>,
}

impl<T: OfKind> Visit<'_, T> {
    /// An item.
    fn item(&mut self, thing: T) {
        (self.to)(Ok(thing.into()));
    }

    /// Several items.
    fn items(&mut self, things: impl IntoIterator<Item = T>) {
        things.into_iter().for_each(|thing| self.item(thing));
    }

    /// Why some items can't be had.
    fn missing(&mut self, why: String) {
        (self.to)(Err(why));
    }
}

/// The fields of one kind of thing.
struct Fields<'v, T> {
    all: &'v mut Vocabulary,
    of: PhantomData<T>,
}

impl<T: OfKind + 'static> Fields<'_, T> {
    /// Begins a field; [`NewField::is`] or, where it is given something, [`GivenField::is`] ends it.
    fn field(&mut self, name: &'static str, gives: Type, meaning: &'static str) -> NewField<'_, T> {
        NewField { all: self.all, name, gives, meaning, site: None, of: PhantomData }
    }
}

/// A field as far as it is declared.
#[must_use = "what has no `is` is not declared"]
struct NewField<'v, T> {
    all: &'v mut Vocabulary,
    name: &'static str,
    gives: Type,
    meaning: &'static str,
    site: Option<Box<Locator>>,
    of: PhantomData<T>,
}

impl<'v, T: OfKind + 'static> NewField<'v, T> {
    /// Where on the floor the field is what it is, given what it is held to.
    fn shown(self, site: impl Fn(&World<'_>, T, f64) -> Option<Site> + Send + Sync + 'static) -> Self {
        let site: Box<Locator> = Box::new(move |world, item, limit| site(world, T::of(item)?, limit));
        NewField { site: Some(site), ..self }
    }

    /// What the field is of a thing.
    fn is<A: Into<Value>>(self, get: impl Fn(&World<'_>, T) -> A + Send + Sync + 'static) {
        self.given(&[]).is(move |world, thing, _| get(world, thing));
    }

    /// What it is given in parentheses.
    fn given(self, parameters: &'static [Parameter]) -> GivenField<'v, T> {
        GivenField { field: self, parameters }
    }
}

/// A field that is given something, as far as it is declared.
#[must_use = "what has no `is` is not declared"]
struct GivenField<'v, T> {
    field: NewField<'v, T>,
    parameters: &'static [Parameter],
}

impl<T: OfKind + 'static> GivenField<'_, T> {
    /// What the field is of a thing, given the values of its parameters.
    fn is<A: Into<Value>>(self, get: impl Fn(&World<'_>, T, &[f64]) -> A + Send + Sync + 'static) {
        let NewField { all, name, gives, meaning, site, .. } = self.field;
        let get: Box<Getter> = Box::new(move |world, item, given| match T::of(item) {
            Some(thing) => get(world, thing, given).into(),
            // The checker lets no other kind through.
            None => Value::Missing(format!("not known of {item:?}")),
        });
        all.fields.push(Field { owner: T::KIND, name, parameters: self.parameters, gives, meaning, get, site });
    }
}

const TEXT: Type = Type::Text;
const TRUTH: Type = Type::Truth;
const PLACE: Type = Type::Place;
const NUMBER: Type = Type::Quantity(Dimension::NUMBER);
const DATE: Type = Type::Quantity(Dimension::DATE);
const TIME: Type = Type::Quantity(Dimension::TIME);
const LENGTH: Type = Type::Quantity(Dimension::LENGTH);
const AREA: Type = Type::Quantity(Dimension::AREA);
const CURRENT: Type = Type::Quantity(Dimension::CURRENT);
const VOLTAGE: Type = Type::Quantity(Dimension::VOLTAGE);
const RESISTANCE: Type = Type::Quantity(Dimension::RESISTANCE);
const POWER: Type = Type::Quantity(Dimension::POWER);
const POWER_PER_AREA: Type = Type::Quantity(Dimension::POWER_PER_AREA);
const TEMPERATURE: Type = Type::Quantity(Dimension::TEMPERATURE);
const CONDUCTIVITY: Type = Type::Quantity(Dimension::CONDUCTIVITY);
const THERMAL_RESISTANCE: Type = Type::Quantity(Dimension::THERMAL_RESISTANCE);

/// One thing of a kind.
const fn one(kind: Kind) -> Type {
    Type::Item(kind)
}

/// Several things of a kind.
const fn several(kind: Kind) -> Type {
    Type::Collection(kind)
}

const CLEARANCE: Parameter = ("clearance", Dimension::LENGTH);
const MINIMUM: Parameter = ("minimum", Dimension::LENGTH);
const LEAST: Parameter = ("least", Dimension::LENGTH);
const REACH: Parameter = ("reach", Dimension::LENGTH);
const FREE_HEIGHT: Parameter = ("free-height", Dimension::LENGTH);

/// What [`CLEARANCE`] and [`FREE_HEIGHT`] are given.
fn margins(given: &[f64]) -> Margins {
    Margins { clearance: given[0], free_height: given[1] }
}

/// The rooms of which everything could be read; says why the others are left out.
fn whole_rooms<'w, 'a, T: OfKind>(
    world: &'w World<'a>,
    visit: &mut Visit<'_, T>,
) -> Vec<(RoomId, &'w RoomMeasure<'a>)> {
    let mut whole = Vec::new();
    for (id, room) in world.each_room() {
        match &room.room.incomplete {
            None => whole.push((id, room)),
            Some(why) => visit.missing(why.clone()),
        }
    }
    whole
}

fn gives_no(world: &World<'_>, thing: impl Thing, what: &str) -> String {
    world.reason(|| format!("{} gives no {what}", thing.describe(world)))
}

fn too_intricate(world: &World<'_>, room: RoomId) -> String {
    crate::reasons::too_intricate(world.room(room))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::packs::{RuleSet, built_in};

    /// Whether a value is of a type; what is missing has none.
    fn is_of(value: &Value, gives: Type) -> bool {
        match (value, gives) {
            (Value::Number(_), Type::Quantity(_))
            | (Value::Truth(_), Type::Truth)
            | (Value::Text(_), Type::Text)
            | (Value::Place(_), Type::Place)
            | (Value::Missing(_), _) => true,
            (Value::Item(item), Type::Item(kind)) => item.kind() == kind,
            (Value::Items(items), Type::Collection(kind)) => items.iter().all(|item| item.kind() == kind),
            _ => false,
        }
    }

    #[test]
    fn names_are_told_apart() {
        for (index, collection) in collections().enumerate() {
            assert!(collections().take(index).all(|other| other.name != collection.name), "{}", collection.name);
        }
        for (index, field) in fields().enumerate() {
            let alike = |other: &Field| other.owner == field.owner && other.name == field.name;
            assert!(!fields().take(index).any(alike), "{} of {}", field.name, field.owner.word());
        }
    }

    #[test]
    fn every_field_gives_what_it_says() {
        let mut asked = std::collections::HashSet::new();
        let built = RuleSet::build(built_in());
        for rule in built.iter().flat_map(|rules| &rules.rules) {
            let Some((_, _, loaded)) = crate::reference::example(&rule.name) else { continue };
            let measured = crate::measure::plan::Measured::new(crate::model::resolve::resolve(loaded));
            let world = World::new(&measured, crate::reference::EXAMPLE_DAY);
            let mut items = Vec::new();
            for collection in collections() {
                let given = vec![100.0; collection.parameters.len()];
                (collection.visit)(&world, &given, &mut |item| items.extend(item));
            }
            for item in items {
                for field in fields().filter(|field| field.owner == item.kind()) {
                    let value = (field.get)(&world, item, &vec![0.5; field.parameters.len()]);
                    assert!(is_of(&value, field.gives), "{} of {} is {value:?}", field.name, item.describe(&world));
                    asked.insert((field.owner, field.name));
                }
            }
        }
        // Floors, fittings and the like are reached through other things' fields.
        assert!(asked.len() > fields().count() * 2 / 3, "{} of {}", asked.len(), fields().count());
    }
}
