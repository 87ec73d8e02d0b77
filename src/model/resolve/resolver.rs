//! What resolving has in common whatever the statement: values worked out, names looked up, faults kept.

use std::collections::{HashMap, HashSet};

use super::floor::NamedFloor;
use super::material::Material;
use crate::layout::kinds::Kind;
use crate::layout::tree::{Expr, PointExpr, Word};
use crate::model::fault::Fault;
use crate::model::values::Values;
use crate::model::{Kits, Name, Named, Point, Room, Stated, Supply, TitleBlock, names};
use crate::quantity::Dimension;
use crate::source::{FileId, Place, Span};

/// Everything resolved so far.
#[derive(Debug, Clone, Default)]
pub(in crate::model) struct Resolver {
    /// The file whose statements are being resolved.
    pub(super) file: FileId,
    pub(super) values: Values,
    pub(super) kits: Kits,
    pub(super) supplies: Vec<Supply>,
    pub(super) title_block: TitleBlock,
    pub(super) north: Option<f64>,
    pub(super) floors: Vec<NamedFloor>,
    /// The plan's own, by name; they stand before the table's.
    pub(super) own_materials: HashMap<String, Material>,
    pub(super) rooms: Vec<Room>,
    /// How many runs the cables of all rooms have.
    pub(super) laid: usize,
    /// Kinds and names of things that were given but are at fault, so that naming them is no fault of its own.
    pub(super) unread: HashSet<(Kind, String)>,
}

/// Whether things of a kind may stand in another file than the plan's own.
fn may_be_used(kind: Kind) -> bool {
    matches!(kind, Kind::Material | Kind::Kit | Kind::Supply | Kind::Floor)
}

/// What a block may give once: where, and what it is, unless that could not be read.
#[derive(Debug, Clone)]
pub(super) struct Once<T>(Option<(Option<T>, Place)>);

impl<T> Default for Once<T> {
    fn default() -> Self {
        Once(None)
    }
}

impl<T> Once<T> {
    /// Where it is given.
    pub(super) fn place(&self) -> Option<Place> {
        self.0.as_ref().map(|(_, place)| *place)
    }

    /// What is given here; nothing of it where it could not be read.
    pub(super) fn given(value: Option<T>, place: Place) -> Self {
        Once(Some((value, place)))
    }

    /// The value as long as more may come, where one was given and read.
    pub(super) fn known(&self) -> Option<&T> {
        self.0.as_ref().and_then(|(value, _)| value.as_ref())
    }

    /// The value, where one was given and read.
    pub(super) fn value(self) -> Option<T> {
        self.stated().map(|stated| stated.value)
    }

    /// The value and where it is given.
    pub(super) fn stated(self) -> Option<Stated<T>> {
        let (value, place) = self.0?;
        Some(Stated { value: value?, place })
    }

    /// The value, and another where none was given; nothing where what was given could not be read.
    pub(super) fn or(self, unsaid: T) -> Option<T> {
        self.0.map_or(Some(unsaid), |(value, _)| value)
    }
}

impl Resolver {
    /// Where a stretch of the file lies.
    pub(super) fn place(&self, span: Span) -> Place {
        Place { file: self.file, span }
    }

    /// A name out of a tree.
    pub(super) fn name(&self, word: &Word) -> Name {
        Name { text: word.text.clone(), place: self.place(word.span) }
    }

    /// A quantity of a dimension, in its coherent unit; a fault and nothing where the expression is none.
    pub(super) fn quantity(&mut self, expr: &Expr, wanted: Dimension) -> Option<f64> {
        self.values.quantity(self.file, expr, wanted)
    }

    /// A quantity that must be greater than nothing.
    pub(super) fn positive(&mut self, expr: &Expr, wanted: Dimension) -> Option<f64> {
        self.values.positive(self.file, expr, wanted)
    }

    /// A quantity of nothing or more.
    pub(super) fn not_negative(&mut self, expr: &Expr, wanted: Dimension) -> Option<f64> {
        self.values.not_negative(self.file, expr, wanted)
    }

    /// A point of the floor.
    pub(super) fn point(&mut self, expr: &PointExpr) -> Option<Point> {
        self.values.point(self.file, expr)
    }

    /// Several; none of them where one can't be had.
    pub(super) fn points(&mut self, exprs: &[PointExpr]) -> Option<Vec<Point>> {
        self.values.points(self.file, exprs)
    }

    /// A day of the calendar.
    pub(super) fn date(&mut self, word: &Word) -> Option<jiff::civil::Date> {
        let date = word.text.parse().ok();
        if date.is_none() {
            self.fault(self.place(word.span), Fault::NoDay { day: word.text.clone() });
        }
        date
    }

    pub(super) fn fault(&mut self, place: Place, fault: Fault) {
        self.values.faults.push(fault.finding(place));
    }

    /// How many faults there are.
    pub(super) fn faults(&self) -> usize {
        self.values.faults.len()
    }

    /// A fault where one of `things` is called `name` already; whether it is free.
    pub(super) fn is_free<'n, T: Named + 'n>(
        &mut self,
        kind: Kind,
        name: &Name,
        things: impl IntoIterator<Item = &'n T>,
    ) -> bool {
        self.is_first(kind, name, namesake(name, things))
    }

    /// A fault where a name was given `earlier` already; whether it was not.
    pub(super) fn is_first(&mut self, kind: Kind, name: &Name, earlier: Option<Place>) -> bool {
        let Some(earlier) = earlier else { return true };
        self.fault(name.place, Fault::NameTwice { kind, name: name.text.clone(), earlier });
        false
    }

    /// Keeps a value that a block may give once only.
    pub(super) fn once<T>(&mut self, slot: &mut Once<T>, value: Option<T>, what: &'static str, span: Span) {
        let place = self.place(span);
        let Some(earlier) = slot.place() else {
            *slot = Once::given(value, place);
            return;
        };
        self.fault(place, Fault::GivenTwice { what, earlier });
    }

    /// A fault for a block that doesn't give what it must.
    pub(super) fn gives_no(&mut self, line: &'static str, owner: (Kind, &Name), span: Span, example: &'static str) {
        let (kind, name) = owner;
        self.fault(self.place(span), Fault::GivesNo { kind, name: name.text.clone(), line, example });
    }

    /// The index of the thing that `word` names, among things of one kind.
    pub(super) fn find<T: Named>(&mut self, kind: Kind, word: &Word, things: &[T]) -> Option<usize> {
        let found = things.iter().position(|thing| thing.name().text == word.text);
        if found.is_none() {
            self.unknown(kind, word, &names(things));
        }
        found
    }

    /// A fault for a name that nothing of its kind bears, unless what bears it is at fault itself.
    pub(super) fn unknown(&mut self, kind: Kind, word: &Word, known: &[&str]) {
        let elsewhere = self.values.use_failed && may_be_used(kind);
        if elsewhere || self.unread.contains(&(kind, word.text.clone())) {
            return;
        }
        let known = known.iter().map(|name| name.to_string()).collect();
        self.fault(self.place(word.span), Fault::UnknownName { kind, name: word.text.clone(), known });
    }
}

/// Where one of `things` was given the same name.
pub(super) fn namesake<'n, T: Named + 'n>(name: &Name, things: impl IntoIterator<Item = &'n T>) -> Option<Place> {
    let earlier = things.into_iter().map(Named::name).find(|other| other.text == name.text);
    earlier.map(|other| other.place)
}
