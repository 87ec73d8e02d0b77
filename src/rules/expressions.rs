//! Checks expressions: what their names stand for, and that dimensions and types fit.

use super::check::{Checker, Named, Typed};
use super::faults::{Fault, Needed};
use super::program::Expr;
use super::tree::{self, Comparator, ExprKind, Gathering, Operand, Word};
use super::value::Type;
use super::vocabulary::{self, Field};
use crate::language::arithmetic::{self, Chain, Function, finite};
use crate::language::expression::{self, Meant};
use crate::quantity::{Dimension, Quantity};
use crate::source::Span;
use crate::things::Kind;

impl Checker<'_> {
    pub(super) fn expr(&mut self, expr: &tree::Expr) -> Option<Typed> {
        match &expr.kind {
            ExprKind::Number(number, unit) => {
                let quantity = expression::quantity(*number, *unit);
                let value = self.reckoned(expr.span, finite(quantity.value))?;
                Some((Expr::Number(value), Type::Quantity(quantity.dimension)))
            }
            ExprKind::Negated(inner) => {
                let (checked, dimension) = self.quantity(inner)?;
                if dimension == Dimension::DATE {
                    return self.refuse(expr.span, Fault::Arithmetic(arithmetic::Fault::SignedDate));
                }
                Some((Expr::Negated(Box::new(checked)), Type::Quantity(dimension)))
            }
            ExprKind::Chain(chain) => self.chain(expr, chain),
            ExprKind::Operand(operand) => self.operand(expr, operand),
        }
    }

    fn operand(&mut self, expr: &tree::Expr, operand: &Operand) -> Option<Typed> {
        match operand {
            Operand::Date(day) => match day.parse() {
                Ok(day) => Some((Expr::Number(Quantity::date(day).value), Type::Quantity(Dimension::DATE))),
                Err(_) => self.refuse(expr.span, Fault::NoSuchDay(day.clone())),
            },
            Operand::Text(text) => Some((Expr::Text(text.clone()), Type::Text)),
            Operand::Truth(truth) => Some((Expr::Truth(*truth), Type::Truth)),
            Operand::Path(path) => self.path(path),
            Operand::Compare(comparator, left, right) => self.compare(expr, *comparator, left, right),
            Operand::And(list) | Operand::Or(list) => {
                let checked: Vec<Option<Expr>> = list.iter().map(|part| self.truth(part)).collect();
                let checked = checked.into_iter().collect::<Option<Vec<_>>>()?;
                let and = matches!(operand, Operand::And(_));
                Some((if and { Expr::And(checked) } else { Expr::Or(checked) }, Type::Truth))
            }
            Operand::Not(inner) => Some((Expr::Not(Box::new(self.truth(inner)?)), Type::Truth)),
            Operand::If(cases, otherwise) => self.choice(cases, otherwise),
            Operand::Has(path) => Some((Expr::Has(Box::new(self.path(path)?.0)), Type::Truth)),
            Operand::Call(function, arguments) => self.call(expr, *function, arguments),
            Operand::Gather { gathering, name, collection, condition, value } => {
                self.gather(expr, *gathering, name, collection, condition.as_deref(), value.as_deref())
            }
        }
    }

    pub(super) fn path(&mut self, path: &tree::Path) -> Option<Typed> {
        let first = path.steps.first()?;
        let (mut expr, mut kind) = self.named(first, path.span)?;
        let name = &first.name;
        if !first.arguments.is_empty() && !matches!(expr, Expr::Collect(..)) {
            return self.refuse(name.span, Fault::TakesNothing(name.text.clone()));
        }
        for step in &path.steps[1..] {
            let field = self.field(kind, &step.name)?;
            let arguments = self.arguments(Some(step), field.parameters, field.name)?;
            expr = Expr::Field(Box::new(expr), field, arguments, step.name.span);
            kind = field.gives;
        }
        Some((expr, kind))
    }

    /// What the first name of a path stands for: a limit, a value or a collection.
    fn named(&mut self, step: &tree::Step, whole: Span) -> Option<Typed> {
        let name = &step.name;
        if let Some(named) = self.names.get(&name.text).cloned() {
            return match named {
                Named::Slot(slot, kind) => {
                    self.mentioned.push(slot);
                    Some((Expr::Slot(slot), kind))
                }
                Named::Limit(value) => {
                    self.used.insert(name.text.clone());
                    Some((Expr::Number(value.value), Type::Quantity(value.dimension)))
                }
                Named::Unknown => {
                    self.used.insert(name.text.clone());
                    None
                }
            };
        }
        let Some(collection) = vocabulary::collection(&name.text) else {
            self.unknown_name(name);
            return None;
        };
        self.asks_deviations |= collection.of == Kind::Deviation;
        let arguments = self.arguments(Some(step), collection.parameters, collection.name)?;
        Some((Expr::Collect(collection, arguments, whole), Type::Collection(collection.of)))
    }

    fn unknown_name(&mut self, name: &Word) {
        let collections = vocabulary::collections().map(|collection| collection.name);
        let known = self.names.keys().map(String::as_str).chain(collections);
        let meant = Meant::by(&name.text, |part| self.names.contains_key(part), known);
        let mut known: Vec<String> = self.names.keys().cloned().collect();
        known.sort_unstable();
        self.fault(name.span, Fault::UnknownName(name.text.clone(), meant, known));
    }

    /// The field of that name that things of a kind have.
    fn field(&mut self, kind: Type, name: &Word) -> Option<&'static Field> {
        let Type::Item(owner) = kind else {
            return self.refuse(name.span, Fault::NoFields(kind));
        };
        let field = vocabulary::field(owner, &name.text);
        if field.is_none() {
            self.fault(name.span, Fault::UnknownField(owner, name.text.clone()));
        }
        field
    }

    /// What arithmetic came to; where it can't, a fault of what stands in `span`.
    pub(super) fn reckoned<T>(&mut self, span: Span, reckoned: Result<T, arithmetic::Fault>) -> Option<T> {
        reckoned.map_err(|fault| self.fault(span, Fault::Arithmetic(fault))).ok()
    }

    fn chain(&mut self, whole: &tree::Expr, chain: &Chain<tree::Expr>) -> Option<Typed> {
        let checked = chain.made(|operand| self.quantity(operand))?;
        let mut total = checked.first.1;
        for ((operator, (_, dimension)), (_, operand)) in checked.rest.iter().zip(&chain.rest) {
            total = self.reckoned(operand.span, operator.dimension(total, *dimension))?;
        }
        let numbers = checked.made(|(expr, _)| Some(expr.clone()))?;
        Some((Expr::Chain(Box::new(numbers), whole.span), Type::Quantity(total)))
    }

    fn compare(
        &mut self,
        whole: &tree::Expr,
        comparator: Comparator,
        left: &tree::Expr,
        right: &tree::Expr,
    ) -> Option<Typed> {
        let (a, b) = (self.expr(left), self.expr(right));
        let ((a, first), (b, second)) = (a?, b?);
        let same = matches!(comparator, Comparator::Equal | Comparator::Different);
        match (first, second) {
            (Type::Quantity(x), Type::Quantity(y)) if x == y => {
                for (side, checked, kind) in [(left, &a, first), (right, &b, second)] {
                    self.note_figure(side, checked, kind, None);
                }
                Some((Expr::Compare(comparator, Box::new(a), Box::new(b), x.grain()), Type::Truth))
            }
            (Type::Text, Type::Text) | (Type::Truth, Type::Truth) if same => {
                Some((Expr::Same(comparator == Comparator::Different, Box::new(a), Box::new(b)), Type::Truth))
            }
            (Type::Item(x), Type::Item(y)) if same && x == y => {
                Some((Expr::Same(comparator == Comparator::Different, Box::new(a), Box::new(b)), Type::Truth))
            }
            _ => self.refuse(whole.span, Fault::Incomparable(first, second)),
        }
    }

    fn choice(&mut self, cases: &[(tree::Expr, tree::Expr)], otherwise: &tree::Expr) -> Option<Typed> {
        let mut checked = Vec::new();
        let last = self.expr(otherwise);
        for (condition, value) in cases {
            let condition = self.truth(condition);
            let typed = self.expr(value);
            if let (Some((_, found)), Some((_, wanted))) = (&typed, &last)
                && found != wanted
            {
                return self.refuse(value.span, Fault::Outcomes(*found, *wanted));
            }
            checked.push(condition.zip(typed.map(|(expr, _)| expr)));
        }
        let (last, kind) = last?;
        Some((Expr::If(checked.into_iter().collect::<Option<_>>()?, Box::new(last)), kind))
    }

    fn call(&mut self, whole: &tree::Expr, function: Function, arguments: &[tree::Expr]) -> Option<Typed> {
        let checked: Vec<_> = arguments.iter().map(|argument| self.quantity(argument)).collect();
        let checked = checked.into_iter().collect::<Option<Vec<_>>>()?;
        if function.takes_one() && checked.len() != 1 {
            return self.refuse(whole.span, Fault::TakesOne(checked.len()));
        }
        if function == Function::RoundUp && checked.len() != 2 {
            return self.refuse(whole.span, Fault::TakesTwo(checked.len()));
        }
        let first = checked.first().map(|(_, dimension)| *dimension)?;
        for ((_, other), argument) in checked.iter().zip(arguments) {
            if *other != first {
                let fault = arithmetic::Fault::Beside(first, *other);
                return self.refuse(argument.span, Fault::Arithmetic(fault));
            }
        }
        let dimension = self.reckoned(whole.span, function.dimension(first))?;
        Some((
            Expr::Call(function, checked.into_iter().map(|(expr, _)| expr).collect(), whole.span),
            Type::Quantity(dimension),
        ))
    }

    fn gather(
        &mut self,
        whole: &tree::Expr,
        gathering: Gathering,
        name: &Word,
        collection: &tree::Path,
        condition: Option<&tree::Expr>,
        value: Option<&tree::Expr>,
    ) -> Option<Typed> {
        let mentioned = self.mentioned.len();
        let (items, kind) = self.path(collection)?;
        let Type::Collection(kind) = kind else {
            return self.refuse(collection.span, Fault::Needed(Needed::Collection, kind));
        };
        let slot = self.slot();
        self.define(name, Named::Slot(slot, Type::Item(kind)));
        let figures = self.figures.len();
        let condition = condition.map(|condition| self.truth(condition).map(Box::new));
        let value = value.map(|value| (self.expr(value), value.span));
        let tied = self.mentioned[mentioned..].iter().any(|other| *other < slot);
        if !tied {
            self.unbound(name, collection, kind)?;
        }
        // What is asked of each item is no figure of the finding.
        self.figures.truncate(figures);
        self.names.remove(&name.text);
        let condition = condition.map_or(Some(None), |condition| condition.map(Some))?;
        let (value, gives) = match (gathering, value) {
            (Gathering::Count, None) => (None, Type::Quantity(Dimension::NUMBER)),
            (Gathering::Count, Some((_, span))) => return self.refuse(span, Fault::CountedValue),
            (_, None) => return self.refuse(whole.span, Fault::NothingGathered),
            (gathering, Some((typed, span))) => {
                let (expr, kind) = typed?;
                self.gathered(gathering, kind, span)?;
                (Some(Box::new(expr)), kind)
            }
        };
        Some((Expr::Gather { gathering, slot, items: Box::new(items), condition, value }, gives))
    }

    /// A fault where things of all rooms are gathered for a single room, or walls of all rooms for anything: no one means these.
    fn unbound(&mut self, name: &Word, collection: &tree::Path, kind: Kind) -> Option<()> {
        let Some((checked, own)) = self.checked.clone() else { return Some(()) };
        let of_a_room = vocabulary::field(kind, "room").is_some();
        if !(of_a_room && own == Kind::Room || kind == Kind::Wall) {
            return Some(());
        }
        let known = collection.steps.first().and_then(|step| vocabulary::collection(&step.name.text));
        let word = known.map_or("items", |known| known.name);
        let fault = Fault::Unbound(name.text.clone(), word, checked, own == Kind::Room);
        self.refuse(collection.span, fault)
    }

    /// Whether what each item comes to can be gathered.
    fn gathered(&mut self, gathering: Gathering, kind: Type, span: Span) -> Option<()> {
        match (gathering, kind) {
            (Gathering::Sum, Type::Quantity(dimension)) if dimension.on_scale => {
                self.refuse(span, Fault::Arithmetic(arithmetic::Fault::NoSum(dimension)))
            }
            (Gathering::Any | Gathering::All, Type::Truth) => Some(()),
            (Gathering::Any | Gathering::All, _) => self.refuse(span, Fault::Needed(Needed::Truth, kind)),
            (_, Type::Quantity(_)) => Some(()),
            _ => self.refuse(span, Fault::Needed(Needed::Quantity, kind)),
        }
    }
}

/// The value of an expression that asks nothing of a plan; nothing where it asks something.
///
/// # Errors
/// What is wrong with its arithmetic.
pub(super) fn fold(expr: &Expr) -> Result<Option<f64>, arithmetic::Fault> {
    Ok(match expr {
        Expr::Number(value) => Some(*value),
        Expr::Negated(inner) => fold(inner)?.map(|value| -value),
        Expr::Chain(chain, _) => {
            let Some(mut total) = fold(&chain.first)? else { return Ok(None) };
            for (operator, operand) in &chain.rest {
                let Some(value) = fold(operand)? else { return Ok(None) };
                total = operator.number(total, value)?;
            }
            Some(total)
        }
        Expr::Call(function, arguments, _) => {
            let values = arguments.iter().map(fold).collect::<Result<Option<Vec<_>>, _>>()?;
            values.map(|values| function.number(&values)).transpose()?
        }
        _ => None,
    })
}
