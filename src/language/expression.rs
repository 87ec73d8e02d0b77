//! Expressions as both languages write them: numbers with their units, signs, sums and products, with whatever else a language reckons with
//! between them.

use pest::RuleType;

use super::arithmetic::{Chain, Operator};
use super::nodes::Node;
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

/// A number, with a unit where the rule matched one.
pub fn number<R: RuleType, Operand>(node: Node<'_, R>) -> Option<Expr<Operand>> {
    let mut parts = node.parts();
    let digits = parts.next()?.text();
    let unit = parts.next().and_then(|unit| unit_named(unit.text()));
    Some(Expr { kind: ExprKind::Number(digits.parse().unwrap_or(f64::INFINITY), unit), span: node.tight() })
}

/// What follows signs, if any; a number takes them up.
pub fn signed<R: RuleType, Operand>(
    node: Node<'_, R>,
    read: impl Fn(Node<'_, R>) -> Option<Expr<Operand>>,
) -> Option<Expr<Operand>> {
    let mut parts = node.parts();
    let mut negative = false;
    let value = loop {
        let part = parts.next()?;
        match Operator::of_word(part.text()) {
            Some(sign) => negative ^= sign == Operator::Minus,
            None => break read(part)?,
        }
    };
    let span = node.tight();
    let kind = match (negative, value.kind) {
        (true, ExprKind::Number(number, unit)) => ExprKind::Number(-number, unit),
        (true, kind) => ExprKind::Negated(Box::new(Expr { kind, span: value.span })),
        (false, kind) => kind,
    };
    Some(Expr { kind, span })
}

/// A sum or a product; an operand alone stands for itself.
pub fn chain<R: RuleType, Operand>(
    node: Node<'_, R>,
    read: impl Fn(Node<'_, R>) -> Option<Expr<Operand>>,
) -> Option<Expr<Operand>> {
    let mut parts = node.parts();
    let first = read(parts.next()?)?;
    if parts.peek().is_none() {
        return Some(first);
    }
    let mut rest = Vec::new();
    while let (Some(sign), Some(operand)) = (parts.next(), parts.next()) {
        rest.push((Operator::of_word(sign.text())?, read(operand)?));
    }
    Some(Expr { kind: ExprKind::Chain(Box::new(Chain { first, rest })), span: node.tight() })
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
