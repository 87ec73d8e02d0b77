//! Expressions as both languages write them: numbers with their units, signs, sums and products, with whatever else a language reckons with
//! between them.

use pest::RuleType;

use super::arithmetic::{Chain, Operator};
use super::nodes::{Node, Parts};
use crate::quantity::{Dimension, Quantity, Unit, unit_named};
use crate::source::Span;
use crate::text::nearest;
use crate::worded::Worded as _;

/// An expression; its operands beside numbers are a language's own.
#[derive(Debug, Clone, PartialEq)]
pub struct Expr<Operand> {
    /// What it is made of.
    pub kind: ExprKind<Operand>,
    /// All of it.
    pub span: Span,
}

/// What an expression is made of. It is as deep as its parentheses, which [`DEEPEST_NESTING`](super::caps::DEEPEST_NESTING) bounds.
#[derive(Debug, Clone, PartialEq)]
pub enum ExprKind<Operand> {
    /// A number, with or without a unit.
    Number(f64, Option<&'static Unit>),
    /// `-x`
    Negated(Box<Expr<Operand>>),
    /// A sum or a product.
    Chain(Box<Chain<Expr<Operand>>>),
    /// What only this language has.
    Operand(Operand),
}

/// The quantity that a number with its unit stands for; without one, a plain number.
pub fn quantity(number: f64, unit: Option<&Unit>) -> Quantity {
    unit.map_or(Quantity::new(number, Dimension::NUMBER), |unit| Quantity::of(number, unit))
}

/// The rules by which a language's grammar has what expressions of both are made of.
pub struct Rules<R> {
    /// `+`, `-`, `*` and `/` between operands.
    pub operator: R,
    /// `+` and `-` ahead of one.
    pub sign: R,
    /// Digits.
    pub number: R,
    /// What may stand behind them.
    pub unit: R,
}

/// Operands, signs and all, joined by operators: a sum of products. An operand alone stands for itself. Operands that are no numbers, and
/// what parentheses hold, are left to `read`.
pub fn sum<R: RuleType, Operand>(
    node: Node<'_, R>,
    rules: &Rules<R>,
    read: impl Fn(Node<'_, R>) -> Option<Expr<Operand>>,
) -> Option<Expr<Operand>> {
    let mut parts = node.parts();
    let first = signed(&mut parts, rules, &read)?;
    if parts.peek().is_none() {
        return Some(first);
    }
    let mut products = vec![(Operator::Plus, Chain { first, rest: Vec::new() })];
    while let Some(operator) = parts.if_is(rules.operator) {
        let operator = Operator::of_word(operator.text())?;
        let operand = signed(&mut parts, rules, &read)?;
        match products.last_mut() {
            Some((_, product)) if !operator.of_sum() => product.rest.push((operator, operand)),
            _ => products.push((operator, Chain { first: operand, rest: Vec::new() })),
        }
    }
    let mut products = products.into_iter().map(|(operator, product)| (operator, joined(product)));
    let (_, first) = products.next()?;
    Some(joined(Chain { first, rest: products.collect() }))
}

/// Digits, and the unit behind them.
pub fn number<R: RuleType, Operand>(digits: Node<'_, R>, unit: Option<Node<'_, R>>) -> Expr<Operand> {
    let span = unit.map_or(digits.span(), |unit| digits.span().to(unit.span()));
    let number = digits.text().parse().unwrap_or(f64::INFINITY);
    Expr { kind: ExprKind::Number(number, unit.and_then(|unit| unit_named(unit.text()))), span }
}

/// Operands joined by operators; one alone stands for itself.
fn joined<Operand>(chain: Chain<Expr<Operand>>) -> Expr<Operand> {
    match chain.rest.last() {
        None => chain.first,
        Some((_, last)) => {
            let span = chain.first.span.to(last.span);
            Expr { kind: ExprKind::Chain(Box::new(chain)), span }
        }
    }
}

/// An operand and the signs ahead of it, if any; a number takes them up.
fn signed<R: RuleType, Operand>(
    parts: &mut Parts<'_, R>,
    rules: &Rules<R>,
    read: impl Fn(Node<'_, R>) -> Option<Expr<Operand>>,
) -> Option<Expr<Operand>> {
    let (mut start, mut negative) = (None, false);
    while let Some(sign) = parts.if_is(rules.sign) {
        start.get_or_insert(sign.span());
        negative ^= Operator::of_word(sign.text()) == Some(Operator::Minus);
    }
    let operand = parts.next()?;
    let (value, own) = if operand.rule() == rules.number {
        let number = number(operand, parts.if_is(rules.unit));
        let span = number.span;
        (number, span)
    } else {
        (read(operand)?, operand.tight())
    };
    let kind = match (negative, value.kind) {
        (true, ExprKind::Number(number, unit)) => ExprKind::Number(-number, unit),
        (true, kind) => ExprKind::Negated(Box::new(Expr { kind, span: value.span })),
        (false, kind) => kind,
    };
    Some(Expr { kind, span: start.map_or(own, |start| start.to(own)) })
}

/// What a reader may have meant by a name that nothing has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Meant {
    /// A subtraction, which blanks round its sign make one.
    Subtraction(String),
    /// A name that is much like it.
    Name(String),
}

impl Meant {
    /// What was meant by `name`: a subtraction of numbers and of what it `stands_for` a value, or else the nearest name `known`.
    ///
    /// ```
    /// use layrule::language::expression::Meant;
    ///
    /// let names = ["edge", "pitch"];
    /// let meant = |name| Meant::by(name, |part| names.contains(&part), names.into_iter()).unwrap().instead();
    /// assert_eq!([meant("edge-50"), meant("pich")], ["edge - 50", "pitch"]);
    /// ```
    pub fn by<'k>(name: &str, stands_for: impl Fn(&str) -> bool, known: impl Iterator<Item = &'k str>) -> Option<Self> {
        let is_value = |part: &str| stands_for(part) || part.parse::<f64>().is_ok();
        if name.contains('-') && name.split('-').all(is_value) {
            return Some(Meant::Subtraction(name.replace('-', " - ")));
        }
        nearest(name, known).map(|near| Meant::Name(near.to_string()))
    }

    /// What to tell the reader.
    pub fn help(&self) -> String {
        match self {
            Meant::Subtraction(written) => format!("a name may hold `-`; to subtract, write `{written}`"),
            Meant::Name(near) => format!("did you mean `{near}`?"),
        }
    }

    /// What to write instead.
    pub fn instead(self) -> String {
        match self {
            Meant::Subtraction(text) | Meant::Name(text) => text,
        }
    }
}
