//! The values that rules work with, and their types.

use crate::model::Point;
use crate::quantity::Dimension;
use crate::source::Span;
use crate::text::with_article;
use crate::things::{Item, Kind, OfKind};

/// The type of a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Type {
    /// A number with a dimension.
    Quantity(Dimension),
    /// True or false.
    Truth,
    /// A text.
    Text,
    /// A point of the plan.
    Place,
    /// One thing.
    Item(Kind),
    /// Several things.
    Collection(Kind),
}

impl Type {
    /// What it is called in a message.
    pub fn describe(self) -> String {
        match self {
            Type::Quantity(dimension) => dimension.describe(),
            Type::Truth => "true or false".into(),
            Type::Text => "a text".into(),
            Type::Place => "a place".into(),
            Type::Item(kind) => with_article(kind.word()),
            Type::Collection(kind) => format!("several of kind {}", kind.word()),
        }
    }
}

/// A value.
#[derive(Debug, Clone)]
pub enum Value {
    /// In coherent units.
    Number(f64),
    /// True or false.
    Truth(bool),
    /// A text.
    Text(String),
    /// A point of the plan.
    Place(Point),
    /// One thing.
    Item(Item),
    /// Several things.
    Items(Vec<Item>),
    /// Nothing, and why.
    Missing(String),
}

impl Value {
    /// The value, or why there is none.
    pub(super) fn told(self) -> Result<Value, Untold> {
        match self {
            Value::Missing(reason) => Err(Untold::Missing(reason)),
            value => Ok(value),
        }
    }
}

/// Why the value of an expression can't be told.
#[derive(Debug, Clone)]
pub enum Untold {
    /// The plan doesn't say.
    Missing(String),
    /// This part of the rule can't be worked out.
    Faulty(Span, String),
}

impl Untold {
    /// A value is of another type than was checked; a field of the vocabulary gives what it doesn't say.
    pub(super) fn of_another_kind(value: &Value) -> Self {
        Untold::Missing(format!("{value:?} stands where it can't; this is a fault of layrule's own"))
    }
}

impl From<f64> for Value {
    fn from(number: f64) -> Self {
        Value::Number(number)
    }
}

impl From<bool> for Value {
    fn from(truth: bool) -> Self {
        Value::Truth(truth)
    }
}

impl From<String> for Value {
    fn from(text: String) -> Self {
        Value::Text(text)
    }
}

impl From<&str> for Value {
    fn from(text: &str) -> Self {
        Value::Text(text.to_string())
    }
}

impl From<Point> for Value {
    fn from(place: Point) -> Self {
        Value::Place(place)
    }
}

impl<T: OfKind> From<T> for Value {
    fn from(thing: T) -> Self {
        Value::Item(thing.into())
    }
}

impl<T: OfKind> From<Vec<T>> for Value {
    fn from(things: Vec<T>) -> Self {
        Value::Items(things.into_iter().map(T::into).collect())
    }
}

/// A value, or why there is none.
impl<T: Into<Value>> From<Result<T, String>> for Value {
    fn from(value: Result<T, String>) -> Self {
        value.map_or_else(Value::Missing, T::into)
    }
}
