//! Arithmetic on quantities: what its operators make of dimensions and of numbers, and what is wrong where they can't.

use crate::language::faults::SyntaxFault;
use crate::quantity::{Dimension, Quantity};
use crate::source::Span;
use crate::worded::Worded;

/// What stands between two operands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Operator {
    /// `+`
    Plus,
    /// `-`
    Minus,
    /// `*`
    Times,
    /// `/`
    Over,
}

impl Worded for Operator {
    const WORDS: &'static [(Self, &'static str)] =
        &[(Operator::Plus, "+"), (Operator::Minus, "-"), (Operator::Times, "*"), (Operator::Over, "/")];
}

impl Operator {
    /// Whether it stands in a sum rather than in a product.
    pub fn of_sum(self) -> bool {
        matches!(self, Operator::Plus | Operator::Minus)
    }

    /// The dimension of what it makes of two operands.
    ///
    /// ```
    /// use layrule::language::arithmetic::{Fault, Operator};
    /// use layrule::quantity::Dimension;
    ///
    /// assert_eq!(Operator::Over.dimension(Dimension::POWER, Dimension::VOLTAGE), Ok(Dimension::CURRENT));
    /// let fault = Operator::Plus.dimension(Dimension::LENGTH, Dimension::CURRENT).unwrap_err();
    /// assert_eq!(fault.message(), "a current can't be added to a length");
    /// ```
    ///
    /// # Errors
    /// [`Fault::Unlike`] where it can't join the two.
    pub fn dimension(self, left: Dimension, right: Dimension) -> Result<Dimension, Fault> {
        let joined = match self {
            Operator::Plus => left.plus(right),
            Operator::Minus => left.minus(right),
            Operator::Times => left.times(right),
            Operator::Over => left.over(right),
        };
        joined.ok_or(Fault::Unlike(self, left, right))
    }

    /// What it makes of two numbers, in coherent units.
    ///
    /// # Errors
    /// [`Fault::DividesByNothing`] and [`Fault::NotFinite`].
    pub fn number(self, left: f64, right: f64) -> Result<f64, Fault> {
        finite(match self {
            Operator::Plus => left + right,
            Operator::Minus => left - right,
            Operator::Times => left * right,
            Operator::Over if right == 0.0 => return Err(Fault::DividesByNothing),
            Operator::Over => left / right,
        })
    }

    /// What it makes of two quantities.
    ///
    /// # Errors
    /// Those of [`Operator::dimension`] and [`Operator::number`].
    pub fn quantity(self, left: Quantity, right: Quantity) -> Result<Quantity, Fault> {
        let dimension = self.dimension(left.dimension, right.dimension)?;
        Ok(Quantity::new(self.number(left.value, right.value)?, dimension))
    }
}

/// Operands joined from the left: of a sum by `+` and `-`, of a product by `*` and `/`. A flat list, so that only parentheses make an
/// expression deeper.
#[derive(Debug, Clone, PartialEq)]
pub struct Chain<E> {
    /// The first operand.
    pub first: E,
    /// Those after it, each with what joins it to what stands before.
    pub rest: Vec<(Operator, E)>,
}

impl<E> Chain<E> {
    /// Whether it is a sum rather than a product.
    pub fn is_sum(&self) -> bool {
        self.rest.first().is_some_and(|(operator, _)| operator.of_sum())
    }

    /// Its operands, in order.
    pub fn operands(&self) -> impl Iterator<Item = &E> {
        std::iter::once(&self.first).chain(self.rest.iter().map(|(_, operand)| operand))
    }

    /// Its operators between what each operand is made into. All operands are gone through, so that all faults are found; nothing
    /// where one comes to nothing.
    pub fn made<F>(&self, mut make: impl FnMut(&E) -> Option<F>) -> Option<Chain<F>> {
        let first = make(&self.first);
        let rest: Vec<_> = self.rest.iter().map(|(operator, operand)| (*operator, make(operand))).collect();
        let rest = rest.into_iter().map(|(operator, operand)| Some((operator, operand?))).collect::<Option<_>>();
        Some(Chain { first: first?, rest: rest? })
    }
}

/// A function of numbers. Plans have none so far.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Function {
    /// The least of its arguments.
    Min,
    /// The greatest.
    Max,
    /// Without its sign.
    Abs,
    /// The square root.
    Sqrt,
    /// Up to the next whole number of steps.
    RoundUp,
}

impl Worded for Function {
    const WORDS: &'static [(Self, &'static str)] = &[
        (Function::Min, "min"),
        (Function::Max, "max"),
        (Function::Abs, "abs"),
        (Function::Sqrt, "sqrt"),
        (Function::RoundUp, "round-up"),
    ];
}

impl Function {
    /// Whether it takes one value rather than any number of them.
    pub fn takes_one(self) -> bool {
        matches!(self, Function::Abs | Function::Sqrt)
    }

    /// The dimension of its value where it is given values of another.
    ///
    /// # Errors
    /// [`Fault::NoRoot`].
    pub fn dimension(self, given: Dimension) -> Result<Dimension, Fault> {
        match self {
            Function::Sqrt => given.root().ok_or(Fault::NoRoot(given)),
            Function::Min | Function::Max | Function::Abs | Function::RoundUp => Ok(given),
        }
    }

    /// Its value, in the coherent unit of its dimension.
    ///
    /// # Errors
    /// [`Fault::RootBelowNothing`], [`Fault::RoundsByNothing`], and [`Fault::NotFinite`] where it is given nothing.
    pub fn number(self, given: &[f64]) -> Result<f64, Fault> {
        let given = given.iter().copied();
        let value = match self {
            Function::Min => given.reduce(f64::min),
            Function::Max => given.reduce(f64::max),
            Function::Abs => given.reduce(|first, _| first).map(f64::abs),
            Function::Sqrt => given.reduce(|first, _| first).map(f64::sqrt),
            Function::RoundUp => {
                let (value, step) = given.clone().next().zip(given.clone().nth(1)).ok_or(Fault::NotFinite)?;
                Some(round_up(value, step).ok_or(Fault::RoundsByNothing)?)
            }
        };
        match value {
            Some(value) if value.is_nan() => Err(Fault::RootBelowNothing),
            value => value.ok_or(Fault::NotFinite),
        }
    }
}

/// A value up to the next whole number of steps; one that is a whole number of them but for rounding stays. Nothing for steps that lead
/// nowhere.
fn round_up(value: f64, step: f64) -> Option<f64> {
    let steps = value / step;
    let near = steps.round();
    let whole = if (steps - near).abs() < 1e-6 { near } else { steps.ceil() };
    (step > 0.0).then_some(whole * step)
}

/// A number that can be reckoned with.
///
/// # Errors
/// [`Fault::NotFinite`].
pub fn finite(value: f64) -> Result<f64, Fault> {
    if value.is_finite() { Ok(value) } else { Err(Fault::NotFinite) }
}

/// What is wrong with arithmetic.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// An operator stands between dimensions that it can't join.
    Unlike(Operator, Dimension, Dimension),
    /// A function is given another dimension beside its first.
    Beside(Dimension, Dimension),
    /// Several of what stands on a scale are added up.
    NoSum(Dimension),
    /// A square root of what has none.
    NoRoot(Dimension),
    /// A square root of a number below nothing.
    RootBelowNothing,
    /// A value is rounded up by steps of nothing or less.
    RoundsByNothing,
    /// A sign stands before a date.
    SignedDate,
    /// A divisor is nothing.
    DividesByNothing,
    /// The value is beyond all numbers.
    NotFinite,
}

impl Fault {
    /// What is wrong.
    pub fn message(self) -> String {
        match self {
            Fault::Unlike(Operator::Plus, left, right) => {
                format!("{} can't be added to {}", right.describe(), left.describe())
            }
            Fault::Unlike(Operator::Minus, left, right) => {
                format!("{} can't be subtracted from {}", right.describe(), left.describe())
            }
            Fault::Unlike(Operator::Times, left, right) => {
                format!("{} can't be multiplied by {}", left.describe(), right.describe())
            }
            Fault::Unlike(Operator::Over, left, right) => {
                format!("{} can't be divided by {}", left.describe(), right.describe())
            }
            Fault::Beside(first, other) => format!("{} stands beside {}", other.describe(), first.describe()),
            Fault::NoSum(dimension) => format!("several of {} can't be added up", dimension.describe()),
            Fault::NoRoot(dimension) => format!("{} has no square root", dimension.describe()),
            Fault::RootBelowNothing => "a number below nothing has no square root".into(),
            Fault::RoundsByNothing => "what is rounded up by must be more than nothing".into(),
            Fault::SignedDate => "a date has no sign".into(),
            Fault::DividesByNothing => "this divides by nothing".into(),
            Fault::NotFinite => "this has no finite value".into(),
        }
    }

    /// What the mark in the text says.
    pub fn label(self) -> String {
        match self {
            Fault::Unlike(_, _, dimension)
            | Fault::Beside(_, dimension)
            | Fault::NoSum(dimension)
            | Fault::NoRoot(dimension) => dimension.describe(),
            Fault::RootBelowNothing => "below nothing".into(),
            Fault::RoundsByNothing => "no step".into(),
            Fault::SignedDate => Dimension::DATE.describe(),
            Fault::DividesByNothing => "nothing to divide by".into(),
            Fault::NotFinite => "too large a number".into(),
        }
    }

    /// What to do, where more is to be said of that.
    pub fn help(self) -> Option<&'static str> {
        match self {
            Fault::SignedDate => Some("subtract a time from a date, or a date from another"),
            _ => None,
        }
    }

    /// The fault of what stands in `span`.
    pub fn at(self, span: Span) -> SyntaxFault {
        let fault = SyntaxFault::new(span, self.message(), self.label());
        SyntaxFault { help: self.help().map(String::from), ..fault }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_fault_is_told_in_its_words() {
        let (length, current) = (Dimension::LENGTH, Dimension::CURRENT);
        let temperature = Dimension::TEMPERATURE;
        let told = [
            (Operator::Plus.dimension(length, current), "a current can't be added to a length"),
            (Operator::Minus.dimension(length, current), "a current can't be subtracted from a length"),
            (Operator::Times.dimension(temperature, length), "a temperature can't be multiplied by a length"),
            (Operator::Over.dimension(length, temperature), "a length can't be divided by a temperature"),
            (Function::Sqrt.dimension(length), "a length has no square root"),
        ];
        for (joined, message) in told {
            assert_eq!(joined.map_err(Fault::message), Err(message.to_string()));
        }
        let told = [
            (Operator::Over.number(1.0, 0.0), "this divides by nothing"),
            (Operator::Times.number(1e300, 1e300), "this has no finite value"),
            (Function::Sqrt.number(&[-1.0]), "a number below nothing has no square root"),
        ];
        for (number, message) in told {
            assert_eq!(number.map_err(Fault::message), Err(message.to_string()));
        }
        assert_eq!(Fault::Beside(length, current).message(), "a current stands beside a length");
        assert_eq!(Fault::NoSum(temperature).message(), "several of a temperature can't be added up");
        assert_eq!(Fault::SignedDate.message(), "a date has no sign");
    }
}
