//! What expressions come to on a plan.

use super::evaluate::Judge;
use super::program::Expr;
use super::tree::Gathering;
use super::value::{Untold, Value};
use super::vocabulary::{Collection, Field};
use crate::language::arithmetic::{self, Chain, Function};
use crate::source::Span;
use crate::things::Item;

/// Why a rule that takes too long is not held to the end.
#[cold]
fn too_many_steps() -> Untold {
    Untold::Missing("it takes too many steps on this plan".into())
}

/// What an expression comes to, or why it can't be told.
type Told<T = Value> = Result<T, Untold>;

impl Judge<'_, '_> {
    /// The value of an expression. Its depth is that of the rule's parentheses, which the parser bounds.
    pub(super) fn value(&mut self, expr: &Expr) -> Told {
        self.step()?;
        match expr {
            // Most are fields.
            Expr::Field(owner, field, arguments, span) => self.field(owner, field, arguments, *span),
            other => self.worked_out(other),
        }
    }

    /// The value of an expression that has been counted.
    fn worked_out(&mut self, expr: &Expr) -> Told {
        match expr {
            Expr::Number(value) => Ok(Value::Number(*value)),
            Expr::Truth(truth) => Ok(Value::Truth(*truth)),
            Expr::Text(text) => Ok(Value::Text(text.clone())),
            Expr::Slot(slot) => self.slots[*slot].clone(),
            Expr::Field(owner, field, arguments, span) => self.field(owner, field, arguments, *span),
            Expr::Collect(collection, arguments, span) => self.collect(collection, arguments, *span),
            Expr::Negated(inner) => self.number(inner).map(|number| Value::Number(-number)),
            Expr::Chain(chain, span) => self.chain(chain, *span).map(Value::Number),
            Expr::Compare(..) | Expr::Same(..) | Expr::And(_) | Expr::Or(_) | Expr::Not(_) | Expr::Has(_) => {
                self.decision(expr).map(Value::Truth)
            }
            Expr::If(cases, otherwise) => self.choice(cases, otherwise),
            Expr::Call(function, arguments, span) => self.call(*function, arguments, *span).map(Value::Number),
            Expr::Gather { gathering, slot, items, condition, value } => {
                self.gather(*gathering, *slot, items, condition.as_deref(), value.as_deref())
            }
        }
    }

    /// Counts one more value.
    fn step(&mut self) -> Told<()> {
        self.steps += 1;
        if self.steps > self.allowed { Err(too_many_steps()) } else { Ok(()) }
    }

    /// The number that an expression comes to.
    fn number(&mut self, expr: &Expr) -> Told<f64> {
        self.steps += 1;
        // Limits and what a rule has kept are asked for most, and need no copy.
        match expr {
            Expr::Number(value) => return Ok(*value),
            Expr::Slot(slot) => {
                if let Ok(Value::Number(value)) = self.slots[*slot] {
                    return Ok(value);
                }
            }
            _ => {}
        }
        match self.value(expr)? {
            Value::Number(value) => Ok(value),
            other => Err(Untold::of_another_kind(&other)),
        }
    }

    /// The item that an expression comes to.
    fn item(&mut self, expr: &Expr) -> Told<Item> {
        if let Expr::Slot(slot) = expr
            && let Ok(Value::Item(item)) = self.slots[*slot]
        {
            return Ok(item);
        }
        match self.value(expr)? {
            Value::Item(item) => Ok(item),
            other => Err(Untold::of_another_kind(&other)),
        }
    }

    /// Whether an expression holds.
    pub(super) fn truth(&mut self, expr: &Expr) -> Told<bool> {
        match expr {
            Expr::Compare(..) | Expr::Same(..) | Expr::And(_) | Expr::Or(_) | Expr::Not(_) | Expr::Has(_) => {
                self.step()?;
                self.decision(expr)
            }
            _ => match self.value(expr)? {
                Value::Truth(truth) => Ok(truth),
                other => Err(Untold::of_another_kind(&other)),
            },
        }
    }

    /// Whether an expression holds that decides something; what is none doesn't.
    fn decision(&mut self, expr: &Expr) -> Told<bool> {
        match expr {
            Expr::Compare(comparator, left, right, grain) => {
                Ok(comparator.holds(self.number(left)?, self.number(right)?, *grain))
            }
            Expr::Same(different, left, right) => self.same(left, right).map(|same| same != *different),
            Expr::And(list) => self.decided(list, false),
            Expr::Or(list) => self.decided(list, true),
            Expr::Not(inner) => self.truth(inner).map(|truth| !truth),
            Expr::Has(inner) => {
                let world = self.world;
                Ok(!matches!(world.without_reasons(|| self.value(inner)), Err(Untold::Missing(_))))
            }
            _ => Ok(false),
        }
    }

    /// What a thing says of itself.
    fn field(&mut self, owner: &Expr, field: &'static Field, arguments: &[Expr], span: Span) -> Told {
        let item = self.item(owner)?;
        // Most fields are given nothing.
        if arguments.is_empty() {
            return (field.get)(self.world, item, &[]).told();
        }
        self.field_given(item, field, arguments, span)
    }

    /// What a thing says of itself, given something.
    fn field_given(&mut self, item: Item, field: &'static Field, arguments: &[Expr], span: Span) -> Told {
        let given = self.numbers(arguments, span)?;
        self.measure_anew(field.name, Some(item), &given);
        (field.get)(self.world, item, &given).told()
    }

    /// The things of a collection.
    fn collect(&mut self, collection: &'static Collection, arguments: &[Expr], span: Span) -> Told {
        let given = self.numbers(arguments, span)?;
        if !given.is_empty() {
            self.measure_anew(collection.name, None, &given);
        }
        let mut items = Vec::new();
        let mut missing = None;
        (collection.visit)(self.world, &given, &mut |item| match item {
            Ok(item) => items.push(item),
            Err(reason) => missing = Some(reason),
        });
        self.steps += items.len();
        missing.map_or(Ok(Value::Items(items)), |reason| Err(Untold::Missing(reason)))
    }

    /// Counts what it takes to measure something with values given to it, where these are new: each time is a look at all runs of a room.
    fn measure_anew(&mut self, name: &'static str, item: Option<Item>, given: &[f64]) {
        let world = self.world;
        let room = item.and_then(|item| item.room_of_finding(world));
        if self.asked.insert((name, room, given.iter().map(|value| value.to_bits()).collect())) {
            let runs = |room| world.room(room).cables.iter().map(|cable| cable.runs.len()).sum::<usize>();
            let runs = room.map_or_else(|| world.each_room().map(|(room, _)| runs(room)).sum(), runs);
            self.steps += 20 * (runs + 50);
        }
    }

    /// Whether two texts, truths or things are the same.
    fn same(&mut self, left: &Expr, right: &Expr) -> Told<bool> {
        // Most are held to a word, which needs no copy.
        if let Expr::Text(word) = right {
            let left = self.value(left);
            let counted = self.step();
            return match left? {
                Value::Text(text) => counted.map(|()| text == *word),
                other => Err(Untold::of_another_kind(&other)),
            };
        }
        let (left, right) = (self.value(left), self.value(right));
        Ok(match (left?, right?) {
            (Value::Text(a), Value::Text(b)) => a == b,
            (Value::Truth(a), Value::Truth(b)) => a == b,
            (Value::Item(a), Value::Item(b)) => a == b,
            (other, _) => return Err(Untold::of_another_kind(&other)),
        })
    }

    /// The value of the first case whose condition holds.
    fn choice(&mut self, cases: &[(Expr, Expr)], otherwise: &Expr) -> Told {
        for (condition, value) in cases {
            if self.truth(condition)? {
                return self.value(value);
            }
        }
        self.value(otherwise)
    }

    /// The value of a function of numbers.
    fn call(&mut self, function: Function, arguments: &[Expr], span: Span) -> Told<f64> {
        let given = arguments.iter().map(|argument| self.number(argument)).collect::<Told<Vec<f64>>>()?;
        function.number(&given).map_err(|fault| faulty(fault, span))
    }

    /// What a collection or a field is given: distances, shares, currents, of which none can be less than nothing.
    pub(super) fn numbers(&mut self, arguments: &[Expr], span: Span) -> Told<Vec<f64>> {
        arguments
            .iter()
            .map(|argument| match self.number(argument)? {
                value if value < 0.0 => Err(Untold::Faulty(span, "this is given less than nothing".into())),
                value => Ok(value),
            })
            .collect()
    }

    /// The value of a sum or a product.
    fn chain(&mut self, chain: &Chain<Expr>, span: Span) -> Told<f64> {
        let mut total = self.number(&chain.first)?;
        for (operator, operand) in &chain.rest {
            total = operator.number(total, self.number(operand)?).map_err(|fault| faulty(fault, span))?;
        }
        Ok(total)
    }

    /// `and` and `or`: the first operand that decides, decides; a missing one counts where none does.
    fn decided(&mut self, list: &[Expr], decides: bool) -> Told<bool> {
        let mut missing = None;
        for part in list {
            match self.truth(part) {
                Ok(truth) if truth == decides => return Ok(decides),
                Ok(_) => {}
                Err(faulty @ Untold::Faulty(..)) => return Err(faulty),
                Err(other) => {
                    missing.get_or_insert(other);
                }
            }
        }
        missing.map_or(Ok(!decides), Err)
    }

    fn gather(
        &mut self,
        gathering: Gathering,
        slot: usize,
        items: &Expr,
        condition: Option<&Expr>,
        value: Option<&Expr>,
    ) -> Told {
        let items = match self.value(items)? {
            Value::Items(items) => items,
            other => return Err(Untold::of_another_kind(&other)),
        };
        let mut tally = Tally { count: 0.0, total: None, any: false, all: true, missing: None };
        for item in items {
            self.step()?;
            self.slots[slot] = Ok(Value::Item(item));
            if let Some(condition) = condition
                && !self.truth(condition)?
            {
                continue;
            }
            tally.count += 1.0;
            if let Some(value) = value {
                tally.add(gathering, self.value(value))?;
            }
        }
        tally.value(gathering)
    }
}

/// Why the value of an expression can't be told whose arithmetic can't be done.
fn faulty(fault: arithmetic::Fault, span: Span) -> Untold {
    Untold::Faulty(span, fault.message())
}

/// What has been gathered so far.
struct Tally {
    count: f64,
    /// The sum, the least or the greatest.
    total: Option<f64>,
    any: bool,
    all: bool,
    /// Why the first can't be told of those that can't be.
    missing: Option<Untold>,
}

impl Tally {
    /// Adds the value of one more item.
    fn add(&mut self, gathering: Gathering, value: Told) -> Told<()> {
        match value {
            Ok(Value::Number(value)) => {
                self.total = Some(match (self.total, gathering) {
                    (None, _) => value,
                    (Some(total), Gathering::Least) => total.min(value),
                    (Some(total), Gathering::Greatest) => total.max(value),
                    (Some(total), _) => total + value,
                });
            }
            Ok(Value::Truth(truth)) => {
                self.any |= truth;
                self.all &= truth;
            }
            Ok(other) => return Err(Untold::of_another_kind(&other)),
            // One that can't be told matters only where the others don't decide.
            Err(untold @ Untold::Missing(_)) if matches!(gathering, Gathering::Any | Gathering::All) => {
                self.missing.get_or_insert(untold);
            }
            Err(untold) => return Err(untold),
        }
        Ok(())
    }

    fn value(self, gathering: Gathering) -> Told {
        Ok(match (gathering, self.missing) {
            (Gathering::Any, _) if self.any => Value::Truth(true),
            (Gathering::All, _) if !self.all => Value::Truth(false),
            (_, Some(missing)) => return Err(missing),
            (Gathering::Any, None) => Value::Truth(false),
            (Gathering::All, None) => Value::Truth(true),
            (Gathering::Count, None) => Value::Number(self.count),
            (Gathering::Sum, None) => Value::Number(self.total.unwrap_or(0.0)),
            (Gathering::Least | Gathering::Greatest, None) => {
                let total = self.total.ok_or_else(|| Untold::Missing("there is nothing to compare".into()));
                Value::Number(total?)
            }
        })
    }
}
