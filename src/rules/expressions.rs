//! Checks expressions: what their names stand for, and that dimensions and types fit.

use super::check::{Checker, Named, Typed};
use super::program::Expr;
use super::tree::{self, Comparator, ExprKind, Function, Gathering, Word};
use super::value::Type;
use super::vocabulary;
use crate::quantity::{Dimension, Quantity};
use crate::text::{nearest, quoted};
use crate::things::Kind;

impl Checker<'_> {
    pub(super) fn expr(&mut self, expr: &tree::Expr) -> Option<Typed> {
        match &expr.kind {
            ExprKind::Number(number, unit) => {
                let quantity =
                    unit.map_or(Quantity::new(*number, Dimension::NUMBER), |unit| Quantity::of(*number, unit));
                if !quantity.value.is_finite() {
                    self.fault(expr.span, "this number is too large", "not finite");
                    return None;
                }
                Some((Expr::Number(quantity.value), Type::Quantity(quantity.dimension)))
            }
            ExprKind::Date(day) => match day.parse() {
                Ok(day) => Some((Expr::Number(Quantity::date(day).value), Type::Quantity(Dimension::DATE))),
                Err(_) => {
                    self.fault(expr.span, format!("there is no day {day}"), "not in the calendar").help =
                        Some("write year, month and day, such as `2026-11-25`".into());
                    None
                }
            },
            ExprKind::Text(text) => Some((Expr::Text(text.clone()), Type::Text)),
            ExprKind::Truth(truth) => Some((Expr::Truth(*truth), Type::Truth)),
            ExprKind::Path(path) => self.path(path),
            ExprKind::Negated(inner) => {
                let (checked, dimension) = self.quantity(inner)?;
                if dimension == Dimension::DATE {
                    self.fault(expr.span, "a date has no sign", "a date").help =
                        Some("subtract a time from a date, or a date from another".into());
                    return None;
                }
                Some((Expr::Negated(Box::new(checked)), Type::Quantity(dimension)))
            }
            ExprKind::Sum(terms) => self.sum(expr, terms),
            ExprKind::Product(factors) => self.product(expr, factors),
            ExprKind::Compare(comparator, left, right) => self.compare(expr, *comparator, left, right),
            ExprKind::And(list) | ExprKind::Or(list) => {
                let checked: Vec<Option<Expr>> = list.iter().map(|part| self.truth(part)).collect();
                let checked = checked.into_iter().collect::<Option<Vec<_>>>()?;
                let and = matches!(expr.kind, ExprKind::And(_));
                Some((if and { Expr::And(checked) } else { Expr::Or(checked) }, Type::Truth))
            }
            ExprKind::Not(inner) => Some((Expr::Not(Box::new(self.truth(inner)?)), Type::Truth)),
            ExprKind::If(cases, otherwise) => self.choice(cases, otherwise),
            ExprKind::Has(path) => Some((Expr::Has(Box::new(self.path(path)?.0)), Type::Truth)),
            ExprKind::Call(function, arguments) => self.call(expr, *function, arguments),
            ExprKind::Gather { gathering, name, collection, condition, value } => {
                self.gather(expr, *gathering, name, collection, condition.as_deref(), value.as_deref())
            }
        }
    }

    pub(super) fn path(&mut self, path: &tree::Path) -> Option<Typed> {
        let first = path.steps.first()?;
        let name = &first.name;
        let (mut expr, mut kind) = match self.names.get(&name.text).cloned() {
            Some(Named::Limit(value)) => {
                self.used.insert(name.text.clone());
                (Expr::Number(value.value), Type::Quantity(value.dimension))
            }
            Some(Named::Slot(slot, kind)) => (Expr::Slot(slot), kind),
            Some(Named::Unknown) => {
                self.used.insert(name.text.clone());
                return None;
            }
            None => {
                if let Some(collection) = vocabulary::collection(&name.text) {
                    self.asks_deviations |= collection.of == Kind::Deviation;
                    let arguments = self.arguments(Some(first), collection.parameters, collection.name)?;
                    (Expr::Collect(collection, arguments, path.span), Type::Collection(collection.of))
                } else {
                    let known = self
                        .names
                        .keys()
                        .map(String::as_str)
                        .chain(vocabulary::collections().map(|collection| collection.name));
                    let parted =
                        name.text.split('-').all(|part| self.names.contains_key(part) || part.parse::<f64>().is_ok());
                    let subtracted = parted && name.text.contains('-');
                    let near = nearest(&name.text, known).map(String::from);
                    let help = match &near {
                        _ if subtracted => {
                            format!("a name may hold `-`; to subtract, write `{}`", name.text.replace('-', " - "))
                        }
                        Some(near) => format!("did you mean `{near}`?"),
                        None => {
                            let mut known: Vec<&str> = self.names.keys().map(String::as_str).collect();
                            known.sort_unstable();
                            if known.is_empty() {
                                self.fault(name.span, format!("nothing is called `{}` here", name.text), "not known")
                                    .help =
                                    Some("a limit is worked out from quantities and from limits above it".into());
                                return None;
                            }
                            format!("here stand {}, and the collections", quoted(known.into_iter(), "and"))
                        }
                    };
                    let fault = self.fault(name.span, format!("nothing is called `{}` here", name.text), "not known");
                    fault.help = Some(help);
                    fault.instead = near.filter(|_| !subtracted);
                    return None;
                }
            }
        };
        if !first.arguments.is_empty() && !matches!(expr, Expr::Collect(..)) {
            self.fault(name.span, format!("`{}` is given nothing in parentheses", name.text), "not a collection");
            return None;
        }
        for step in &path.steps[1..] {
            let Type::Item(owner) = kind else {
                self.fault(
                    step.name.span,
                    format!("{} has no fields", kind.describe()),
                    format!("asked of {}", kind.describe()),
                );
                return None;
            };
            let Some(field) = vocabulary::field(owner, &step.name.text) else {
                let known = || vocabulary::fields().filter(|field| field.owner == owner).map(|field| field.name);
                let near = nearest(&step.name.text, known());
                let help = match near {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => format!("a {} has {}", owner.word(), quoted(known(), "and")),
                };
                let message = format!("a {} has no field `{}`", owner.word(), step.name.text);
                let fault = self.fault(step.name.span, message, "not known");
                fault.help = Some(help);
                fault.instead = near.map(String::from);
                return None;
            };
            let arguments = self.arguments(Some(step), field.parameters, field.name)?;
            expr = Expr::Field(Box::new(expr), field, arguments, step.name.span);
            kind = field.gives;
        }
        Some((expr, kind))
    }

    fn sum(&mut self, whole: &tree::Expr, terms: &[(bool, tree::Expr)]) -> Option<Typed> {
        let checked: Vec<_> = terms.iter().map(|(_, term)| self.quantity(term)).collect();
        let mut total: Option<Dimension> = None;
        let mut list = Vec::new();
        for ((checked, (subtracted, term)), index) in checked.into_iter().zip(terms).zip(0..) {
            let (expr, dimension) = checked?;
            total = match total {
                None if index == 0 => Some(dimension),
                None => None,
                Some(before) => {
                    let sum = if *subtracted { before.minus(dimension) } else { before.plus(dimension) };
                    if sum.is_none() {
                        let verb = if *subtracted { "subtracted from" } else { "added to" };
                        self.fault(
                            term.span,
                            format!("{} can't be {verb} {}", dimension.describe(), before.describe()),
                            dimension.describe(),
                        );
                        return None;
                    }
                    sum
                }
            };
            list.push((*subtracted, expr));
        }
        Some((Expr::Sum(list, whole.span), Type::Quantity(total?)))
    }

    fn product(&mut self, whole: &tree::Expr, factors: &[(bool, tree::Expr)]) -> Option<Typed> {
        let checked: Vec<_> = factors.iter().map(|(_, factor)| self.quantity(factor)).collect();
        let mut total = Dimension::NUMBER;
        let mut list = Vec::new();
        for ((checked, (divided, factor)), index) in checked.into_iter().zip(factors).zip(0..) {
            let (expr, dimension) = checked?;
            let next = match (index, divided) {
                (0, _) => Some(dimension),
                (_, true) => total.over(dimension),
                (_, false) => total.times(dimension),
            };
            let Some(next) = next else {
                let verb = if *divided { "divided by" } else { "multiplied by" };
                self.fault(
                    factor.span,
                    format!("{} can't be {verb} {}", total.describe(), dimension.describe()),
                    dimension.describe(),
                );
                return None;
            };
            total = next;
            list.push((*divided, expr));
        }
        Some((Expr::Product(list, whole.span), Type::Quantity(total)))
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
        let single = matches!(function, Function::Abs | Function::Sqrt);
        if single && checked.len() != 1 {
            self.fault(whole.span, "this function takes one value", format!("{} given", checked.len()));
            return None;
        }
        if function == Function::RoundUp && checked.len() != 2 {
            let message = "this function takes a value and the step that it is rounded up by";
            self.fault(whole.span, message, format!("{} given", checked.len()));
            return None;
        }
        let first = checked.first().map(|(_, dimension)| *dimension)?;
        if let Some(at) = checked.iter().position(|(_, dimension)| *dimension != first) {
            let other = checked[at].1;
            self.fault(
                arguments[at].span,
                format!("{} stands beside {}", other.describe(), first.describe()),
                other.describe(),
            );
            return None;
        }
        let dimension = if function == Function::Sqrt { first.root() } else { Some(first) };
        let Some(dimension) = dimension else {
            self.fault(whole.span, format!("{} has no square root", first.describe()), first.describe());
            return None;
        };
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
                if let (Gathering::Sum, Type::Quantity(Dimension { on_scale: true, .. })) = (gathering, kind) {
                    let message = format!("several of {} can't be added up", kind.describe());
                    self.fault(span, message, kind.describe());
                    return None;
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

/// A value up to the next whole number of steps; one that is a whole number of them but for rounding stays. Nothing for steps that lead
/// nowhere.
pub(super) fn round_up(value: f64, step: f64) -> Option<f64> {
    let steps = value / step;
    let near = steps.round();
    let whole = if (steps - near).abs() < 1e-6 { near } else { steps.ceil() };
    (step > 0.0).then_some(whole * step)
}

/// The value of an expression that asks nothing of a plan.
pub(super) fn fold(expr: &Expr) -> Option<f64> {
    Some(match expr {
        Expr::Number(value) => *value,
        Expr::Negated(inner) => -fold(inner)?,
        Expr::Sum(terms, _) => {
            let mut total = 0.0;
            for (subtracted, term) in terms {
                let value = fold(term)?;
                total += if *subtracted { -value } else { value };
            }
            total
        }
        Expr::Product(factors, _) => {
            let mut total = 1.0;
            for (divided, factor) in factors {
                let value = fold(factor)?;
                total = if *divided { total / value } else { total * value };
            }
            total
        }
        Expr::Call(function, arguments, _) => {
            let values = arguments.iter().map(fold).collect::<Option<Vec<_>>>()?;
            match function {
                Function::Min => values.into_iter().reduce(f64::min)?,
                Function::Max => values.into_iter().reduce(f64::max)?,
                Function::Abs => values.first()?.abs(),
                Function::Sqrt => values.first()?.sqrt(),
                Function::RoundUp => round_up(*values.first()?, *values.get(1)?)?,
            }
        }
        _ => return None,
    })
}
