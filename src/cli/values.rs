//! What arguments may be, where that is one of several words: for reading them, for shells that complete them, for help.

use std::ffi::OsStr;
use std::marker::PhantomData;
use std::str::FromStr;

use clap::builder::{PossibleValue, StringValueParser, TypedValueParser};
use clap::{Arg, Command, Error};

use crate::report::{Target, Worded};
use crate::rules::packs::{RuleSet, built_in};

/// An output: one of the words of `F` and, after `=`, a file.
#[derive(Debug, Clone, Copy)]
pub(super) struct Outputs<F>(PhantomData<F>);

/// Reads outputs whose forms are the words of `F`.
pub(super) fn outputs<F: Worded + Send + Sync>() -> Outputs<F> {
    Outputs(PhantomData)
}

impl<F: Worded + Send + Sync> TypedValueParser for Outputs<F> {
    type Value = Target<F>;

    fn parse_ref(&self, command: &Command, argument: Option<&Arg>, value: &OsStr) -> Result<Target<F>, Error> {
        // What is wrong with it is told in its own words.
        let read = |text: &str| Target::<F>::from_str(text);
        TypedValueParser::parse_ref(&read, command, argument, value)
    }

    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = PossibleValue> + '_>> {
        Some(Box::new(F::words().into_iter().map(PossibleValue::new)))
    }
}

/// One of the words of `F`, `what` they are.
#[derive(Debug, Clone, Copy)]
pub(super) struct Word<F>(&'static str, PhantomData<F>);

/// Reads one of the words of `F`; `what` says what they are.
pub(super) fn word<F: Worded + Send + Sync>(what: &'static str) -> Word<F> {
    Word(what, PhantomData)
}

impl<F: Worded + Send + Sync> TypedValueParser for Word<F> {
    type Value = F;

    fn parse_ref(&self, command: &Command, argument: Option<&Arg>, value: &OsStr) -> Result<F, Error> {
        let what = self.0;
        let read = move |text: &str| F::meant(text, what);
        TypedValueParser::parse_ref(&read, command, argument, value)
    }

    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = PossibleValue> + '_>> {
        Some(Box::new(F::words().into_iter().map(PossibleValue::new)))
    }
}

/// The name of a rule. Packs of the user's own have others than those that are completed.
#[derive(Debug, Clone, Copy)]
pub(super) struct RuleName;

impl TypedValueParser for RuleName {
    type Value = String;

    fn parse_ref(&self, command: &Command, argument: Option<&Arg>, value: &OsStr) -> Result<String, Error> {
        StringValueParser::new().parse_ref(command, argument, value)
    }

    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = PossibleValue> + '_>> {
        let names = RuleSet::build(built_in()).map(|set| set.rules).unwrap_or_default();
        Some(Box::new(names.into_iter().map(|rule| PossibleValue::new(rule.name.to_string()))))
    }
}
