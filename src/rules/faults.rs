//! What a rule pack can have wrong with it that its grammar takes: each kind with its words.

use super::caps::{LARGEST, MOST_LIMITS};
use super::value::Type;
use super::vocabulary::{self, Parameter};
use crate::language::arithmetic;
use crate::language::expression::Meant;
use crate::language::faults::SyntaxFault;
use crate::quantity::Dimension;
use crate::source::Span;
use crate::text::{list, nearest, quoted, with_article};
use crate::things::Kind;

/// What is wrong.
#[derive(Debug, Clone, PartialEq)]
pub enum Fault {
    // ---- a text
    /// A pack is larger than any that is read.
    PackTooLarge,
    /// A brace in a text has no fellow.
    BraceInText,
    /// What stands between braces in a text is no expression.
    NoExpression(String),

    // ---- packs together
    /// A rule has the name of a fault of reading.
    NameTaken(String),
    /// Two rules have one name; where the first is from another pack, that one's name.
    RuleTwice(String, Option<String>),
    /// An amendment of a rule that isn't there, with the nearest that is.
    NoSuchRule(String, Option<String>),
    /// An amendment sets a limit that its rule doesn't have.
    NoSuchLimit {
        /// The rule.
        rule: String,
        /// The limit.
        limit: String,
        /// The nearest that it has.
        near: Option<String>,
    },

    // ---- the lines of a rule
    /// A rule has two lines of a kind.
    LineTwice(String, &'static str),
    /// A rule has no line of a kind.
    NoLine(String, &'static str),
    /// A line stands before the one that says what is checked.
    BeforeCheck,
    /// Nothing asks for a limit.
    UnusedLimit(String),
    /// A limit beyond as many as a rule may have.
    TooManyLimits,
    /// A limit is worth no quantity.
    LimitIs(Type),
    /// A limit asks the plan.
    LimitNotFixed,
    /// An amendment gives a limit another dimension than its own.
    LimitIsOf(String, Dimension, Dimension),
    /// A name is given twice.
    NameTwice(String),

    // ---- names
    /// Nothing has a name; what was meant, or else what names there are.
    UnknownName(String, Option<Meant>, Vec<String>),
    /// No collection has a name; whether the nearest could stand in its place.
    UnknownCollection(String, Option<&'static str>, bool),
    /// A field of what has none.
    NoFields(Type),
    /// A field that things of a kind don't have.
    UnknownField(Kind, String),
    /// What takes nothing is given something in parentheses.
    TakesNothing(String),
    /// So many values in parentheses are too few or too many.
    Arguments(String, &'static [Parameter], usize),
    /// A value in parentheses is of another type than what it is given as.
    Argument(String, Parameter, Type),

    // ---- types
    /// Something else is needed.
    Needed(Needed, Type),
    /// Nothing ties what is gathered (its name, its collection) to what is checked (its name, and whether that is a room).
    Unbound(String, &'static str, String, bool),
    /// These can't be compared.
    Incomparable(Type, Type),
    /// The outcomes of an `if` are of two types: this one, and that of the `else`.
    Outcomes(Type, Type),
    /// A function of one value is given so many.
    TakesOne(usize),
    /// A function of a value and a step is given so many values.
    TakesTwo(usize),
    /// `count` is given a value.
    CountedValue,
    /// A gathering is given no value.
    NothingGathered,
    /// Several things are to be shown in a text.
    SeveralShown(Type),
    /// A unit that a value is to be shown in is of another dimension.
    OtherUnit(&'static str, Type),
    /// A day that no calendar has.
    NoSuchDay(String),
    /// Arithmetic that can't be done.
    Arithmetic(arithmetic::Fault),
}

/// What is needed where something else stands.
#[derive(Debug, Clone, PartialEq)]
pub enum Needed {
    /// A quantity of any dimension.
    Quantity,
    /// A length.
    Length,
    /// True or false, for `any` and `all`.
    Truth,
    /// True or false.
    Condition,
    /// Several things.
    Collection,
    /// What can be marked in the plan.
    InPlan,
    /// What a run is moved away from.
    MovedFrom,
    /// One of these types.
    OneOf(Vec<Type>),
}

impl Needed {
    fn words(&self) -> String {
        match self {
            Needed::Quantity => "a quantity".into(),
            Needed::Length => Dimension::LENGTH.describe(),
            Needed::Truth | Needed::Condition => "a condition".into(),
            Needed::Collection => "a collection".into(),
            Needed::InPlan => "a place in the plan".into(),
            Needed::MovedFrom => "a thing to move away from".into(),
            Needed::OneOf(types) => {
                let words: Vec<String> = types.iter().map(|kind| kind.describe()).collect();
                list(words.iter().map(String::as_str), "or")
            }
        }
    }

    fn help(&self) -> Option<String> {
        match self {
            Needed::Length => Some(format!("write {}", Dimension::LENGTH.describe_with_example())),
            Needed::Condition => Some("compare it with something, such as `>= 50 mm`".into()),
            Needed::InPlan => Some("point at a thing, such as the run or the wall".into()),
            _ => None,
        }
    }
}

fn did_you_mean(near: &str) -> String {
    format!("did you mean `{near}`?")
}

impl Fault {
    /// The fault in words, of what stands in `span`.
    pub fn at(self, span: Span) -> SyntaxFault {
        let (message, label) = self.message_and_label();
        let (help, instead) = self.help_and_instead();
        SyntaxFault { span, message, label, help, instead }
    }

    /// What is wrong, and what the mark in the text says.
    fn message_and_label(&self) -> (String, String) {
        let told = |message: String, label: &str| (message, label.to_string());
        match self {
            Fault::PackTooLarge => told(
                format!("a rule pack holds {} KiB at the most, and this one more; it is not read", LARGEST / 1024),
                "here",
            ),
            Fault::BraceInText => told("this brace is never closed in its text".into(), "opened here"),
            Fault::NoExpression(text) => told(format!("`{text}` is no expression"), "this can't be read"),

            Fault::NameTaken(name) => told(format!("`{name}` is what faults of reading a plan are called"), "taken"),
            Fault::RuleTwice(name, elsewhere) => {
                let place = elsewhere.as_ref().map_or("here".into(), |pack| format!("in {pack}"));
                (format!("rule `{name}` is defined twice"), format!("already defined {place}"))
            }
            Fault::NoSuchRule(name, _) => told(format!("there is no rule `{name}`"), "not known"),
            Fault::NoSuchLimit { rule, limit, .. } => {
                told(format!("rule `{rule}` has no limit `{limit}`"), "not known")
            }

            Fault::LineTwice(rule, word) => told(format!("rule `{rule}` has two `{word}` lines"), "again here"),
            Fault::NoLine(rule, word) => {
                (format!("rule `{rule}` has no `{word}` line"), format!("no `{word}` in this block"))
            }
            Fault::BeforeCheck => told("this stands before what is checked is named".into(), "no `check` above this"),
            Fault::UnusedLimit(name) => told(format!("limit `{name}` is never used"), "given here"),
            Fault::TooManyLimits => told(format!("a rule has {MOST_LIMITS} limits at the most"), "one too many"),
            Fault::LimitIs(kind) => {
                (format!("a limit is a quantity, and this is {}", kind.describe()), kind.describe())
            }
            Fault::LimitNotFixed => {
                told("a limit is a fixed value, worked out from quantities alone".into(), "this has no fixed value")
            }
            Fault::LimitIsOf(name, own, new) => {
                (format!("limit `{name}` is {}, and this is {}", own.describe(), new.describe()), new.describe())
            }
            Fault::NameTwice(name) => told(format!("`{name}` is defined twice in this rule"), "again here"),

            Fault::UnknownName(name, ..) => told(format!("nothing is called `{name}` here"), "not known"),
            Fault::UnknownCollection(name, ..) => told(format!("no collection is called `{name}`"), "not known"),
            Fault::NoFields(kind) => {
                (format!("{} has no fields", kind.describe()), format!("asked of {}", kind.describe()))
            }
            Fault::UnknownField(owner, name) => {
                told(format!("{} has no field `{name}`", with_article(owner.word())), "not known")
            }
            Fault::TakesNothing(name) => told(format!("`{name}` is given nothing in parentheses"), "not a collection"),
            Fault::Arguments(owner, parameters, given) => {
                let wanted = parameters.iter().map(|(name, dimension)| format!("`{name}` ({})", dimension.describe()));
                let wanted: Vec<String> = wanted.collect();
                let wanted = match parameters {
                    [] => "nothing".into(),
                    _ => list(wanted.iter().map(String::as_str), "and"),
                };
                (format!("`{owner}` is given {wanted} in parentheses"), format!("{given} given"))
            }
            Fault::Argument(owner, (name, dimension), found) => (
                format!("`{owner}` takes {} for `{name}`, and this is {}", dimension.describe(), found.describe()),
                found.describe(),
            ),

            Fault::Needed(needed, found) => {
                (format!("{} is needed, and this is {}", needed.words(), found.describe()), found.describe())
            }
            Fault::Unbound(item, collection, checked, _) => (
                format!("nothing ties `{item}` to `{checked}`: `{collection}` holds those of all rooms"),
                "of the whole plan".into(),
            ),
            Fault::Incomparable(first, second) => {
                told(format!("{} can't be compared with {}", first.describe(), second.describe()), "these two")
            }
            Fault::Outcomes(found, wanted) => {
                (format!("this is {}, and the `else` is {}", found.describe(), wanted.describe()), found.describe())
            }
            Fault::TakesOne(given) => ("this function takes one value".into(), format!("{given} given")),
            Fault::TakesTwo(given) => {
                ("this function takes a value and the step that it is rounded up by".into(), format!("{given} given"))
            }
            Fault::CountedValue => told("`count` takes no value".into(), "only how many there are is counted"),
            Fault::NothingGathered => told("what is gathered of each item isn't said".into(), "no `: VALUE` here"),
            Fault::OtherUnit(unit, kind) => (format!("`{unit}` is no unit of this"), kind.describe()),
            Fault::SeveralShown(kind) => ("several things can't be shown in a text".into(), kind.describe()),
            Fault::NoSuchDay(day) => told(format!("there is no day {day}"), "not in the calendar"),
            Fault::Arithmetic(fault) => (fault.message(), fault.label()),
        }
    }

    /// What to do, and what to write in place of what is marked, where that is definite.
    fn help_and_instead(self) -> (Option<String>, Option<String>) {
        let help = match self {
            Fault::PackTooLarge => "split it by themes".into(),
            Fault::BraceInText | Fault::NoExpression(_) => {
                "what stands in a text as `{EXPRESSION}` is worked out".into()
            }
            Fault::NameTaken(_) => "give the rule another name".into(),
            Fault::RuleTwice(..) => "give it another name, or change the other with `amend`".into(),
            Fault::NoSuchRule(_, None) => "`layrule rules` lists the rules there are".into(),
            Fault::NoSuchRule(_, Some(near)) | Fault::NoSuchLimit { near: Some(near), .. } => {
                return (Some(did_you_mean(&near)), Some(near));
            }
            Fault::BeforeCheck => "write `check NAME in COLLECTION` first".into(),
            Fault::UnusedLimit(_) => "use it in `check`, `where`, `let` or `require`, or take it out".into(),
            Fault::TooManyLimits => "make several rules of it".into(),
            Fault::NameTwice(_) => "give one of them another name".into(),
            Fault::UnknownName(_, Some(meant), _) => return (Some(meant.help()), Some(meant.instead())),
            Fault::UnknownName(_, None, known) if known.is_empty() => {
                "a limit is worked out from quantities and from limits above it".into()
            }
            Fault::UnknownName(_, None, known) => {
                format!("here stand {}, and the collections", quoted(known.iter().map(String::as_str), "and"))
            }
            Fault::UnknownCollection(_, Some(near), alone) => {
                return (Some(did_you_mean(near)), alone.then(|| near.into()));
            }
            Fault::UnknownCollection(_, None, _) => {
                let names = vocabulary::collections().map(|collection| collection.name);
                format!("the collections are {}", quoted(names, "and"))
            }
            Fault::UnknownField(owner, name) => {
                let known = || vocabulary::fields().filter(|field| field.owner == owner).map(|field| field.name);
                match nearest(&name, known()) {
                    Some(near) => return (Some(did_you_mean(near)), Some(near.into())),
                    None => format!("{} has {}", with_article(owner.word()), quoted(known(), "and")),
                }
            }
            Fault::Argument(_, (_, wanted), _)
            | Fault::LimitIsOf(_, wanted, _)
            | Fault::Incomparable(Type::Quantity(wanted), _) => format!("write {}", wanted.describe_with_example()),
            Fault::Unbound(item, collection, checked, is_room) => {
                let room = if is_room { checked } else { format!("{checked}.room") };
                format!(
                    "write which are meant, such as `{item} in {collection} where {item}.room = {room}`, or go through a field such as `room.{collection}`"
                )
            }
            Fault::Incomparable(..) => {
                "only quantities are less or more than each other; `=` and `!=` compare what is alike".into()
            }
            Fault::Needed(needed, _) => return (needed.help(), None),
            Fault::Outcomes(..) => "all outcomes of an `if` must be alike".into(),
            Fault::NothingGathered => {
                "write the value after a colon, such as `sum(c in room.cables : c.current)`".into()
            }
            Fault::OtherUnit(..) => "name a unit of what is shown, or none".into(),
            Fault::SeveralShown(_) => "count them, or pick one".into(),
            Fault::NoSuchDay(_) => "write year, month and day, such as `2026-11-25`".into(),
            Fault::Arithmetic(fault) => return (fault.help().map(String::from), None),
            Fault::NoSuchLimit { near: None, .. }
            | Fault::LineTwice(..)
            | Fault::NoLine(..)
            | Fault::LimitIs(_)
            | Fault::LimitNotFixed
            | Fault::NoFields(_)
            | Fault::TakesNothing(_)
            | Fault::Arguments(..)
            | Fault::TakesOne(_)
            | Fault::TakesTwo(_)
            | Fault::CountedValue => return (None, None),
        };
        (Some(help), None)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::packs::{Pack, RuleSet};

    /// What is wrong with a rule that has these lines among those that it must have.
    fn told(lines: &str) -> Vec<String> {
        let own = "about \"a\"\n severity note\n basis practice\n message \"found\"";
        told_of_pack(&format!("rule ours {{\n {own}\n {lines}\n}}\n"))
    }

    fn told_of_pack(text: &str) -> Vec<String> {
        let packs = vec![Pack { name: "ours.rule".into(), text: text.into() }];
        let faults = RuleSet::build(packs).map(|_| ()).map_err(|packs| packs.into_iter().flat_map(|pack| pack.faults));
        faults.map_err(|faults| faults.map(|fault| fault.message).collect()).err().unwrap_or_default()
    }

    #[test]
    fn each_kind_of_a_line_is_told_in_its_words() {
        let runs = |lines: &str| format!("check run in runs\n {lines}");
        let limits: String = (0..=MOST_LIMITS).map(|number| format!("limit a{number} = {number} mm\n")).collect();
        for (lines, message) in [
            (runs("message \"{run\""), "this brace is never closed in its text"),
            (runs("message \"{+}\""), "`+` is no expression"),
            (runs("about \"b\""), "rule `ours` has two `about` lines"),
            (String::new(), "rule `ours` has no `check` line"),
            ("where 1 = 1\n check run in runs".into(), "this stands before what is checked is named"),
            (runs("limit a = 1 mm"), "limit `a` is never used"),
            (runs(&limits), "a rule has 64 limits at the most"),
            (runs("limit a = true"), "a limit is a quantity, and this is true or false"),
            (runs("limit a = run.length"), "a limit is a fixed value, worked out from quantities alone"),
            (runs("limit a = 1 mm / 0"), "this divides by nothing"),
            (runs("let run = 1"), "`run` is defined twice in this rule"),
            (runs("where nought > 1"), "nothing is called `nought` here"),
            ("check run in walks".into(), "no collection is called `walks`"),
            (runs("where run.length.length > 1"), "a length has no fields"),
            (runs("where run.lenght > 1 mm"), "a run has no field `lenght`"),
            (runs("where run(1 mm).length > 1 mm"), "`run` is given nothing in parentheses"),
            (
                "check pair in close-approaches".into(),
                "`close-approaches` is given `minimum` (a length) in parentheses",
            ),
            (
                "check pair in close-approaches(1 A)".into(),
                "`close-approaches` takes a length for `minimum`, and this is a current",
            ),
            (runs("where run.length > 1 A"), "a length can't be compared with a current"),
            (runs("where (if true then 1 else 1 mm) = 1 mm"), "this is a plain number, and the `else` is a length"),
            (runs("where abs(1, 2) = 1"), "this function takes one value"),
            (runs("where min(1 mm, 1 A) = 1 mm"), "a current stands beside a length"),
            (runs("where sqrt(1 mm) = 1 mm"), "a length has no square root"),
            (runs("where count(other in runs : other.length) = 1"), "`count` takes no value"),
            (runs("where sum(other in runs) = 1 mm"), "what is gathered of each item isn't said"),
            (runs("message \"{run.length in W}\""), "`W` is no unit of this"),
            (runs("message \"{runs}\""), "several things can't be shown in a text"),
            (runs("where 2026-02-30 = 2026-03-01"), "there is no day 2026-02-30"),
            (runs("where -(run.number) + true = 1"), "a quantity is needed, and this is true or false"),
            (runs("where run.length"), "a condition is needed, and this is a length"),
            (runs("where any(other in runs : other.length)"), "a condition is needed, and this is a length"),
            (runs("where sum(other in runs : true) = 1"), "a quantity is needed, and this is true or false"),
            (runs("where count(other in run) = 1"), "a collection is needed, and this is a run"),
            (
                runs("where count(wall in walls where wall.outside) = 1"),
                "nothing ties `wall` to `run`: `walls` holds those of all rooms",
            ),
            (runs("point run.length"), "a place in the plan is needed, and this is a length"),
            (
                runs("remedy move run by 1 mm from run.length"),
                "a thing to move away from is needed, and this is a length",
            ),
            (runs("remedy move run by 1 A from run"), "a length is needed, and this is a current"),
            (runs("remedy step run.cable by 1 mm"), "a run or a turn is needed, and this is a cable"),
        ] {
            assert!(told(&lines).iter().any(|told| told == message), "{lines}: {:?}", told(&lines));
        }
    }

    #[test]
    fn each_kind_between_packs_is_told_in_its_words() {
        for (text, message) in [
            ("x".repeat(LARGEST + 1), "a rule pack holds 1024 KiB at the most, and this one more; it is not read"),
            ("rule syntax { }".into(), "`syntax` is what faults of reading a plan are called"),
            ("rule a { }\nrule a { }".into(), "rule `a` is defined twice"),
            ("amend a { severity off }".into(), "there is no rule `a`"),
            ("rule a { }\namend a { limit b = 1 }".into(), "rule `a` has no limit `b`"),
            (
                "rule a {\n limit b = 1 mm\n}\namend a { limit b = 1 A }".into(),
                "limit `b` is a length, and this is a current",
            ),
        ] {
            let told = told_of_pack(&text);
            assert!(told.iter().any(|told| told == message), "{text:.60}: {told:?}");
        }
    }
}
