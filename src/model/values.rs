//! Works out expressions and checks their dimensions.

use std::collections::HashMap;

use crate::finding::Finding;
use crate::language::arithmetic::{Chain, finite};
use crate::language::expression::{self, Meant};
use crate::layout::tree::{Expr, ExprKind, Heading, PointExpr, ValueName, Word};
use crate::model::fault::Fault;
use crate::model::{Name, NamedValue, Point};
use crate::quantity::{Dimension, Quantity};
use crate::source::{FileId, Place};

/// Farthest that a coordinate may lie from the plan's origin, mm.
pub const FARTHEST: f64 = 1e6;

/// The largest value of any quantity, in its coherent unit: 10 000 Mohm, or 300 years.
const LARGEST: f64 = 1e10;

/// How many faults of a plan may come with the nearest known name.
const MOST_SUGGESTIONS: usize = 100;

/// Absolute zero, degC.
const COLDEST: f64 = -273.15;

/// The names that `let` gave, and where the faults go.
#[derive(Debug, Clone, Default)]
pub(super) struct Values {
    /// Whether a `use` failed: what nothing is called may then stand in the file that wasn't read, and is no fault of its own.
    pub(super) use_failed: bool,
    names: HashMap<String, (Value, Place)>,
    /// The names in the order they were given.
    order: Vec<String>,
    /// All that were ever given, those of rooms left again too.
    pub given: Vec<NamedValue>,
    /// What was found wrong so far.
    pub faults: Faults,
}

/// What reading a plan found wrong, of which so many are listed.
#[derive(Debug, Clone, Default)]
pub(super) struct Faults {
    list: Vec<Finding>,
    more: usize,
    /// Where the first of those stands that are not listed.
    first_more: Place,
}

impl Faults {
    /// How many there are, listed or not.
    pub(super) fn len(&self) -> usize {
        self.list.len() + self.more
    }

    pub(super) fn push(&mut self, fault: Finding) {
        if self.list.len() < MOST_FAULTS {
            self.list.push(fault);
            return;
        }
        if self.more == 0 {
            self.first_more = fault.place();
        }
        self.more += 1;
    }

    /// Forgets all that were added since there were so many.
    pub(super) fn truncate(&mut self, count: usize) {
        self.more = count.saturating_sub(self.list.len());
        self.list.truncate(count);
    }

    /// Those that are listed, and that there are more, where there are.
    pub(super) fn take(&mut self) -> Vec<Finding> {
        let mut list = std::mem::take(&mut self.list);
        let more = std::mem::take(&mut self.more);
        if more > 0 {
            list.push(Fault::MoreFaults { more }.finding(self.first_more));
        }
        list
    }
}

/// How many faults of names, quantities and the like are listed for a plan.
pub const MOST_FAULTS: usize = 1_000;

/// A quantity, and whether it was written without any unit and so may still stand for millimetres.
#[derive(Debug, Clone, Copy)]
pub(super) struct Value {
    quantity: Quantity,
    bare: bool,
}

impl Value {
    fn as_length(self) -> Value {
        if self.bare && self.quantity.dimension == Dimension::NUMBER {
            Value { quantity: Quantity::new(self.quantity.value, Dimension::LENGTH), bare: false }
        } else {
            self
        }
    }
}

/// The mathematical unit step of a heading.
pub(crate) fn direction(heading: Heading) -> Point {
    let (x, y) = match heading {
        Heading::East => (1.0, 0.0),
        Heading::North => (0.0, 1.0),
        Heading::West => (-1.0, 0.0),
        Heading::South => (0.0, -1.0),
    };
    Point { x, y }
}

impl Values {
    /// How many names stand now, to be handed to [`Values::leave`].
    pub(super) fn enter(&self) -> usize {
        self.order.len()
    }

    /// Forgets the names given since there were so many.
    pub(super) fn leave(&mut self, count: usize) {
        for name in self.order.drain(count..) {
            self.names.remove(&name);
        }
    }

    /// Gives a name its value.
    pub(super) fn define(&mut self, file: FileId, name: &Word, expr: &Expr) {
        let Some(value) = self.value(file, expr) else { return };
        let place = Place { file, span: name.span };
        if let Some((_, earlier)) = self.names.get(&name.text) {
            let fault = Fault::ValueTwice { name: name.text.clone(), earlier: *earlier };
            self.faults.push(fault.finding(place));
            return;
        }
        self.given.push(NamedValue { name: Name { text: name.text.clone(), place }, value: value.quantity });
        self.order.push(name.text.clone());
        self.names.insert(name.text.clone(), (value, place));
    }

    /// Whether a name was given a value.
    pub(super) fn has(&self, name: &str) -> bool {
        self.names.contains_key(name)
    }

    /// A quantity of the wanted dimension, in coherent units; a plain number serves as a length in mm.
    pub(super) fn quantity(&mut self, file: FileId, expr: &Expr, wanted: Dimension) -> Option<f64> {
        let place = Place { file, span: expr.span };
        let mut value = self.value(file, expr)?;
        if wanted == Dimension::LENGTH {
            value = value.as_length();
        }
        let found = value.quantity.dimension;
        if found != wanted {
            return self.refuse(place, Fault::OtherDimension { wanted, found });
        }
        if wanted == Dimension::TEMPERATURE && value.quantity.value < COLDEST {
            return self.refuse(place, Fault::TooCold);
        }
        Some(value.quantity.value)
    }

    /// A quantity that must be greater than nothing.
    pub(super) fn positive(&mut self, file: FileId, expr: &Expr, wanted: Dimension) -> Option<f64> {
        let value = self.quantity(file, expr, wanted)?;
        if value <= 0.0 {
            let value = Quantity::new(value, wanted);
            return self.refuse(Place { file, span: expr.span }, Fault::NotMoreThanNothing { value });
        }
        Some(value)
    }

    /// A quantity of nothing or more.
    pub(super) fn not_negative(&mut self, file: FileId, expr: &Expr, wanted: Dimension) -> Option<f64> {
        let value = self.quantity(file, expr, wanted)?;
        if value < 0.0 {
            let value = Quantity::new(value, wanted);
            return self.refuse(Place { file, span: expr.span }, Fault::LessThanNothing { value });
        }
        Some(value)
    }

    /// Whether an expression is of a dimension; what is wrong with it is not told.
    pub(super) fn is(&mut self, file: FileId, expr: &Expr, wanted: Dimension) -> bool {
        let faults = self.faults.len();
        let value = self.value(file, expr);
        self.faults.truncate(faults);
        value.is_some_and(|value| value.quantity.dimension == wanted)
    }

    /// A point within [`FARTHEST`] of the origin.
    pub(super) fn point(&mut self, file: FileId, expr: &PointExpr) -> Option<Point> {
        let x = self.quantity(file, &expr.x, Dimension::LENGTH);
        let y = self.quantity(file, &expr.y, Dimension::LENGTH);
        let point = Point { x: x?, y: y? };
        self.within_reach(point, Place { file, span: expr.span }).then_some(point)
    }

    /// Several; none of them where one can't be had.
    pub(super) fn points(&mut self, file: FileId, exprs: &[PointExpr]) -> Option<Vec<Point>> {
        let points: Vec<Option<Point>> = exprs.iter().map(|expr| self.point(file, expr)).collect();
        points.into_iter().collect()
    }

    /// Whether a point lies within [`FARTHEST`] of the origin; a fault where not.
    pub(super) fn within_reach(&mut self, point: Point, place: Place) -> bool {
        let near = point.x.abs() <= FARTHEST && point.y.abs() <= FARTHEST;
        if !near {
            let fault = Fault::OutOfReach { x: (point.x / 1e3).round(), y: (point.y / 1e3).round() };
            self.faults.push(fault.finding(place));
        }
        near
    }

    /// The value of an expression; a fault and nothing where it has none.
    fn value(&mut self, file: FileId, expr: &Expr) -> Option<Value> {
        let value = match &expr.kind {
            ExprKind::Number(number, unit) => {
                Value { quantity: expression::quantity(*number, *unit), bare: unit.is_none() }
            }
            ExprKind::Operand(ValueName(name)) => self.named(file, name, expr)?,
            ExprKind::Negated(inner) => {
                let value = self.value(file, inner)?;
                Value { quantity: Quantity::new(-value.quantity.value, value.quantity.dimension), ..value }
            }
            ExprKind::Chain(chain) => self.chain(file, expr, chain)?,
        };
        let place = Place { file, span: expr.span };
        if let Err(fault) = finite(value.quantity.value) {
            return self.refuse(place, Fault::Arithmetic { fault });
        }
        if value.quantity.value.abs() > LARGEST {
            return self.refuse(place, Fault::TooLarge);
        }
        Some(value)
    }

    fn named(&mut self, file: FileId, name: &str, expr: &Expr) -> Option<Value> {
        if let Some((value, _)) = self.names.get(name) {
            return Some(*value);
        }
        let place = Place { file, span: expr.span };
        // Among very many faults no one waits for the nearest name to each.
        let known =
            if self.faults.len() < MOST_SUGGESTIONS { Some(self.names.keys().map(String::as_str)) } else { None };
        let meant = Meant::by(name, |part| self.names.contains_key(part), known.into_iter().flatten());
        if self.use_failed && meant.is_none() {
            return None;
        }
        self.refuse(place, Fault::NoValue { name: name.into(), meant })
    }

    /// A fault, and nothing.
    fn refuse<T>(&mut self, place: Place, fault: Fault) -> Option<T> {
        self.faults.push(fault.finding(place));
        None
    }

    fn chain(&mut self, file: FileId, whole: &Expr, chain: &Chain<Expr>) -> Option<Value> {
        let mut values = chain.made(|operand| self.value(file, operand))?;
        // Beside a length, a number without a unit is in millimetres like any other length without one.
        let is_length = |value: &Value| value.quantity.dimension == Dimension::LENGTH;
        if chain.is_sum() && values.operands().any(is_length) {
            values = values.made(|value| Some(value.as_length()))?;
        }
        let mut total = values.first.quantity;
        for ((operator, value), (_, operand)) in values.rest.iter().zip(&chain.rest) {
            let before = total.dimension;
            match operator.quantity(total, value.quantity) {
                Ok(quantity) => total = quantity,
                Err(fault) => {
                    let before = match chain.is_sum() {
                        true => format!("what stands before it is {}", before.describe()),
                        false => "in this expression".into(),
                    };
                    let finding = Fault::Arithmetic { fault }.finding(Place { file, span: operand.span });
                    self.faults.push(finding.mark(Place { file, span: whole.span }, before));
                    return None;
                }
            }
        }
        Some(Value { quantity: total, bare: values.operands().all(|value| value.bare) })
    }
}
