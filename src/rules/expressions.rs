//! Checks expressions: what their names stand for, and that dimensions and types fit.

use super::check::{Checker, Named, Typed};
use super::program::Expr;
use super::tree::{self, Comparator, ExprKind, Gathering, Operand, Word};
use super::value::Type;
use super::vocabulary::{self, Field};
use crate::language::arithmetic::{self, Chain, Function, finite};
use crate::language::expression::{self, Meant};
use crate::quantity::{Dimension, Quantity};
use crate::source::Span;
use crate::text::{nearest, quoted};
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
                    return self.reckoned(expr.span, Err(arithmetic::Fault::SignedDate));
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
                Err(_) => {
                    self.fault(expr.span, format!("there is no day {day}"), "not in the calendar").help =
                        Some("write year, month and day, such as `2026-11-25`".into());
                    None
                }
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
            self.fault(name.span, format!("`{}` is given nothing in parentheses", name.text), "not a collection");
            return None;
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
                Named::Slot(slot, kind) => Some((Expr::Slot(slot), kind)),
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
        let help = match &meant {
            Some(meant) => meant.help(),
            None if self.names.is_empty() => "a limit is worked out from quantities and from limits above it".into(),
            None => {
                let mut known: Vec<&str> = self.names.keys().map(String::as_str).collect();
                known.sort_unstable();
                format!("here stand {}, and the collections", quoted(known.into_iter(), "and"))
            }
        };
        let fault = self.fault(name.span, format!("nothing is called `{}` here", name.text), "not known");
        fault.help = Some(help);
        fault.instead = meant.map(Meant::instead);
    }

    /// The field of that name that things of a kind have.
    fn field(&mut self, kind: Type, name: &Word) -> Option<&'static Field> {
        let Type::Item(owner) = kind else {
            let what = kind.describe();
            self.fault(name.span, format!("{what} has no fields"), format!("asked of {what}"));
            return None;
        };
        let field = vocabulary::field(owner, &name.text);
        if field.is_none() {
            let known = || vocabulary::fields().filter(|field| field.owner == owner).map(|field| field.name);
            let near = nearest(&name.text, known());
            let help = match near {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("a {} has {}", owner.word(), quoted(known(), "and")),
            };
            let message = format!("a {} has no field `{}`", owner.word(), name.text);
            let fault = self.fault(name.span, message, "not known");
            fault.help = Some(help);
            fault.instead = near.map(String::from);
        }
        field
    }

    /// What arithmetic came to; where it can't, a fault of what stands in `span`.
    pub(super) fn reckoned<T>(&mut self, span: Span, reckoned: Result<T, arithmetic::Fault>) -> Option<T> {
        reckoned.map_err(|fault| self.faults.push((self.pack, fault.at(span)))).ok()
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
                    self.note_figure(side, checked, kind);
                }
                Some((Expr::Compare(comparator, Box::new(a), Box::new(b), x.grain()), Type::Truth))
            }
            (Type::Text, Type::Text) | (Type::Truth, Type::Truth) if same => {
                Some((Expr::Same(comparator == Comparator::Different, Box::new(a), Box::new(b)), Type::Truth))
            }
            (Type::Item(x), Type::Item(y)) if same && x == y => {
                Some((Expr::Same(comparator == Comparator::Different, Box::new(a), Box::new(b)), Type::Truth))
            }
            _ => {
                let help = match first {
                    Type::Quantity(dimension) => Some(format!("write {}", dimension.describe_with_example())),
                    _ => Some(
                        "only quantities are less or more than each other; `=` and `!=` compare what is alike".into(),
                    ),
                };
                self.fault(
                    whole.span,
                    format!("{} can't be compared with {}", first.describe(), second.describe()),
                    "these two",
                )
                .help = help;
                None
            }
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
                let (found, wanted) = (*found, *wanted);
                self.fault(
                    value.span,
                    format!("this is {}, and the `else` is {}", found.describe(), wanted.describe()),
                    found.describe(),
                )
                .help = Some("all outcomes of an `if` must be alike".into());
                return None;
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
            self.fault(whole.span, "this function takes one value", format!("{} given", checked.len()));
            return None;
        }
        let first = checked.first().map(|(_, dimension)| *dimension)?;
        for ((_, other), argument) in checked.iter().zip(arguments) {
            if *other != first {
                return self.reckoned(argument.span, Err(arithmetic::Fault::Beside(first, *other)));
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
        let (items, kind) = self.path(collection)?;
        let Type::Collection(kind) = kind else {
            self.fault(
                collection.span,
                format!("a collection is needed, and this is {}", kind.describe()),
                kind.describe(),
            );
            return None;
        };
        let slot = self.slot();
        self.define(name, Named::Slot(slot, Type::Item(kind)));
        let figures = self.figures.len();
        let condition = condition.map(|condition| self.truth(condition).map(Box::new));
        let value = value.map(|value| (self.expr(value), value.span));
        // What is asked of each item is no figure of the finding.
        self.figures.truncate(figures);
        self.names.remove(&name.text);
        let condition = condition.map_or(Some(None), |condition| condition.map(Some))?;
        let (value, gives) = match (gathering, value) {
            (Gathering::Count, None) => (None, Type::Quantity(Dimension::NUMBER)),
            (Gathering::Count, Some((_, span))) => {
                self.fault(span, "`count` takes no value", "only how many there are is counted");
                return None;
            }
            (_, None) => {
                self.fault(whole.span, "what is gathered of each item isn't said", "no `: VALUE` here").help =
                    Some("write the value after a colon, such as `sum(c in room.cables : c.current)`".into());
                return None;
            }
            (gathering, Some((typed, span))) => {
                let (expr, kind) = typed?;
                if let (Gathering::Sum, Type::Quantity(dimension @ Dimension { on_scale: true, .. })) =
                    (gathering, kind)
                {
                    return self.reckoned(span, Err(arithmetic::Fault::NoSum(dimension)));
                }
                let truths = matches!(gathering, Gathering::Any | Gathering::All);
                let fits = if truths { kind == Type::Truth } else { matches!(kind, Type::Quantity(_)) };
                if !fits {
                    let wanted = if truths { "a condition" } else { "a quantity" };
                    self.fault(span, format!("{wanted} is needed, and this is {}", kind.describe()), kind.describe());
                    return None;
                }
                (Some(Box::new(expr)), kind)
            }
        };
        Some((Expr::Gather { gathering, slot, items: Box::new(items), condition, value }, gives))
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
