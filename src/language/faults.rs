//! What a text can have wrong with it before its statements mean anything: each kind with its words, and the list of those that are told.

use super::caps::{DEEPEST_NESTING, LONGEST_LINE, MOST_SIGNS};
use crate::quantity::{Dimension, UNITS};
use crate::source::Span;
use crate::text::{list, nearest, quoted};

/// A stretch of text that is no statement of its language.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SyntaxFault {
    /// Where reading stopped.
    pub span: Span,
    /// What is wrong.
    pub message: String,
    /// What the mark in the text says.
    pub label: String,
    /// What to do.
    pub help: Option<String>,
    /// What to write in place of what is marked, where that is definite.
    pub instead: Option<String>,
}

impl SyntaxFault {
    /// A fault with nothing to do about it.
    pub fn new(span: Span, message: impl Into<String>, label: impl Into<String>) -> Self {
        SyntaxFault { span, message: message.into(), label: label.into(), help: None, instead: None }
    }

    /// With what to do.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// With what to write in place of what is marked, where that is definite.
    pub fn instead(mut self, instead: Option<String>) -> Self {
        self.instead = instead;
        self
    }
}

/// What keeps a text, or a statement of it, from being read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unread {
    /// A bracket opens within as many as may be.
    NestedTooDeep,
    /// A brace is opened and not closed.
    NeverClosed,
    /// A brace closes that was not opened.
    StrayBrace,
    /// A line goes on without end.
    LineTooLong,
    /// The text holds more signs than a parser is handed.
    TooManySigns,
    /// The grammar as a whole refuses the text here.
    NotPast,
    /// The grammar takes a line that no tree is made of. It never is dropped in silence: what it says would count as not said.
    SenselessLine,
    /// A statement begins on the line of another.
    AnotherStatement(String),
    /// A name with a letter that is none from a to z.
    ForeignLetter(String),
    /// What stands where a unit would is none; with what is measured there, where that is known.
    UnknownUnit(String, Option<Dimension>),
    /// A number with a comma in it.
    DecimalComma(String),
    /// A statement without the name of what it is about.
    NameMissing {
        /// The statement's first word.
        first: String,
        /// The word that the name should stand before.
        before: String,
    },
    /// A name in quotation marks.
    NameInQuotes {
        /// The statement's first word.
        first: String,
        /// The name.
        name: String,
    },
    /// A part of a statement behind another that it goes before.
    TooLate {
        /// Its word.
        found: String,
        /// The statement's first word.
        first: String,
        /// The word that it goes before.
        later: String,
        /// How the statement is written.
        usage: &'static str,
    },
    /// A word that starts no statement of its block; nothing where there is no word.
    UnknownStatement {
        /// The word.
        first: String,
        /// What its block is called.
        block: &'static str,
        /// The words that do start one.
        words: Vec<&'static str>,
        /// The blocks whose statements it starts.
        owners: Vec<&'static str>,
        /// What a line of the block is where no fixed word starts it.
        free_line: &'static str,
    },
    /// A statement goes on with something else than it may.
    Unexpected {
        /// What it goes on with.
        found: String,
        /// The statement's first word.
        first: String,
        /// What it may go on with, in the reader's words; at least one.
        wanted: Vec<String>,
        /// The word that was meant.
        meant: Option<String>,
        /// How the statement is written.
        usage: Option<&'static str>,
    },
    /// So many faults are not told, of so many.
    More(usize, usize),
}

impl Unread {
    /// The fault in words, of what stands in `span`.
    pub fn at(self, span: Span) -> SyntaxFault {
        match self {
            Unread::NestedTooDeep => SyntaxFault::new(
                span,
                format!("brackets nest more than {DEEPEST_NESTING} deep; the file is not read"),
                "one too many opens here",
            )
            .help("name the inner parts with `let`"),
            Unread::NeverClosed => SyntaxFault::new(span, "this brace is never closed", "opened here")
                .help("close the block with `}` on a line of its own"),
            Unread::StrayBrace => SyntaxFault::new(span, "this brace closes nothing", "no block is open here")
                .help("take it out, or look above for a block that was closed too early"),
            Unread::LineTooLong => SyntaxFault::new(
                span,
                format!("a line is longer than {} KiB; the file is not read", LONGEST_LINE / 1024),
                "here",
            )
            .help("write a statement a line; within parentheses a line may break"),
            Unread::TooManySigns => SyntaxFault::new(
                span,
                format!("more than {MOST_SIGNS} of `+ - * / , (` stand in one file; it is not read"),
                "here",
            )
            .help("split the file"),
            Unread::NotPast => SyntaxFault::new(span, "the file can't be read past this place", "here"),
            Unread::SenselessLine => SyntaxFault::new(span, "this line can't be made sense of", "this line")
                .help("write it as the reference of the language shows, one thing a line"),
            Unread::AnotherStatement(found) => SyntaxFault::new(
                span,
                format!("a statement ends with its line, and `{found}` begins another"),
                "put this on a line of its own",
            ),
            Unread::ForeignLetter(found) => {
                SyntaxFault::new(span, format!("`{found}` can't stand in a name"), "not a letter from a to z").help(
                    "a name is made of the letters a to z, digits, `-` and `_`; a text in double quotes may hold any",
                )
            }
            Unread::DecimalComma(found) => {
                let meant = found.replace(',', ".");
                let fault =
                    SyntaxFault::new(span, format!("`{found}` has a decimal comma"), "a number has a decimal point");
                // A comma before three digits may part thousands.
                match found.split_once(',') {
                    Some((_, decimals)) if decimals.len() == 3 => {
                        let whole = found.replace(',', "");
                        fault.help(format!("write `{meant}`, or `{whole}` where the comma parts thousands"))
                    }
                    _ => fault.help(format!("write `{meant}`")).instead(Some(meant)),
                }
            }
            Unread::NameMissing { first, before } => SyntaxFault::new(
                span,
                format!("this `{first}` has no name: one stands before `{before}`"),
                "expected a name",
            )
            .help(format!("write `{first} NAME {before} …`")),
            Unread::NameInQuotes { first, name } => SyntaxFault::new(
                span,
                format!("the name of this `{first}` stands in quotation marks"),
                "a name has none",
            )
            .help(format!("write `{name}`; a title in quotation marks may follow where the statement has one"))
            .instead(Some(name)),
            Unread::TooLate { found, first, later, usage } => SyntaxFault::new(
                span,
                format!("`{found}` stands too late in this `{first}`: it goes before `{later}`"),
                format!("goes before `{later}`"),
            )
            .help(format!("it is written `{usage}`")),
            Unread::UnknownUnit(found, dimension) => {
                let fits =
                    |unit: &&crate::quantity::Unit| dimension.is_none_or(|dimension| unit.dimension == dimension);
                let units = || UNITS.iter().filter(fits).map(|unit| unit.symbol);
                let near = unit_of_sign(&found).or_else(|| nearest(&found, units()));
                SyntaxFault::new(span, format!("no unit is called `{found}`"), "not a unit, nor what comes next")
                    .instead(near.map(String::from))
                    .help(match near {
                        Some(unit) => format!("did you mean `{unit}`?"),
                        None => format!("the units are {}", quoted(units(), "and")),
                    })
            }
            Unread::UnknownStatement { first, block, words, owners, free_line } => {
                let message = match first.as_str() {
                    "" => format!("no statement of {block} starts like this"),
                    _ => format!("`{first}` starts no statement of {block}"),
                };
                let near = nearest(&first, words.iter().copied()).filter(|_| owners.is_empty());
                let help = match near {
                    _ if !owners.is_empty() => format!("`{first}` belongs in {}", list(owners.into_iter(), "or")),
                    Some(word) => format!("did you mean `{word}`?"),
                    None if words.is_empty() => free_line.to_string(),
                    None => format!("{block} holds {}", quoted(words.iter().copied(), "and")),
                };
                SyntaxFault::new(span, message, "expected a statement").instead(near.map(String::from)).help(help)
            }
            Unread::Unexpected { found, first, wanted, meant, usage } => {
                let found = match found.chars().next() {
                    None | Some('#') => "the line ends too early".to_string(),
                    Some('"') if found.len() == 1 => {
                        "this quotation mark has no fellow on its line, or can't stand here,".to_string()
                    }
                    Some(_) => format!("`{found}` can't stand here"),
                };
                let expected = list(wanted.iter().map(String::as_str), "or");
                let label = format!("expected {}", wanted.first().map_or("", String::as_str));
                let help = match &meant {
                    Some(word) => Some(format!("did you mean `{word}`?")),
                    None => usage.map(|usage| format!("it is written `{usage}`")),
                };
                let fault = SyntaxFault::new(span, format!("{found} in this `{first}`: expected {expected}"), label);
                SyntaxFault { help, ..fault.instead(meant) }
            }
            Unread::More(more, all) => SyntaxFault::new(
                span,
                format!("{} not told; the file has {all}", crate::text::more_faults(more)),
                "the first of them",
            )
            .help("mend those above first"),
        }
    }
}

/// How many faults of a file are told; a file with more is no file of its language.
pub const MOST_FAULTS: usize = 1_000;

/// The faults of a text, of which [`MOST_FAULTS`] are told.
#[derive(Debug, Default)]
pub struct Faults {
    list: Vec<SyntaxFault>,
    more: usize,
    /// Where the first of those stands that are not told.
    first_more: Span,
}

impl Faults {
    /// Those found so far.
    pub fn new(list: Vec<SyntaxFault>) -> Self {
        Faults { list, ..Faults::default() }
    }

    /// How many there are, told or not.
    pub fn count(&self) -> usize {
        self.list.len() + self.more
    }

    /// Adds the fault at a place, which is put into words only where it will be told.
    pub fn add(&mut self, at: Span, fault: impl FnOnce() -> SyntaxFault) {
        if self.list.len() < MOST_FAULTS {
            self.list.push(fault());
            return;
        }
        if self.more == 0 {
            self.first_more = at;
        }
        self.more += 1;
    }

    /// Those that are told, in the order of the text, and that there are more, where there are.
    pub fn told(mut self) -> Vec<SyntaxFault> {
        if self.more > 0 {
            let at = Span::new(self.first_more.start()..self.first_more.start());
            self.list.push(Unread::More(self.more, self.count()).at(at));
        }
        self.list.sort_by_key(|fault| (fault.span, fault.message.clone()));
        self.list
    }
}

/// The unit that a sign or a word in full stands for, where that isn't how the languages write it.
pub(super) fn unit_of_sign(sign: &str) -> Option<&'static str> {
    // The sign for the ohm is a character of its own too, and so are those for feet and inches.
    let sign = sign.replace('\u{2126}', "\u{3a9}");
    match &*sign {
        "'" | "\u{2032}" | "foot" | "feet" => return Some("ft"),
        "''" | "\u{2033}" | "inch" | "inches" => return Some("in"),
        _ => {}
    }
    let signed = |unit: &&crate::quantity::Unit| unit.sign == sign && unit.symbol != sign;
    UNITS.iter().find(signed).map(|unit| unit.symbol)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::parse;

    fn first(faults: Vec<SyntaxFault>) -> String {
        faults.into_iter().next().map(|fault| fault.message).unwrap_or_default()
    }

    /// Each kind of fault, by a text of a plan that has it.
    #[test]
    fn each_kind_is_told_in_its_words() {
        let long = format!("let a = 1{}\n", "+1".repeat(LONGEST_LINE));
        let signs = format!("let a = (1{})\n", "\n+1".repeat(MOST_SIGNS));
        let deep = "(".repeat(DEEPEST_NESTING + 1);
        let words = [
            (deep.as_str(), "brackets nest more than 32 deep; the file is not read"),
            ("room a {\n", "this brace is never closed"),
            ("}\n", "this brace closes nothing"),
            (&long, "a line is longer than 64 KiB; the file is not read"),
            (&signs, "more than 300000 of `+ - * / , (` stand in one file; it is not read"),
            ("let a = 1 let b = 2\n", "a statement ends with its line, and `let` begins another"),
            ("let é = 1\n", "`é` can't stand in a name"),
            ("let a = 1 inch\n", "no unit is called `inch`"),
            ("run east 80\n", "`run` starts no statement of a plan"),
            ("= 1\n", "no statement of a plan starts like this"),
            ("let a\n", "the line ends too early in this `let`: expected `=`"),
            (
                "use \"a\n",
                "this quotation mark has no fellow on its line, or can't stand here, in this `use`: expected a text in double quotes",
            ),
            ("let 1 = 2\n", "`1` can't stand here in this `let`: expected a name"),
            ("let a = 1,5 m\n", "`1,5` has a decimal comma"),
            ("room a {\ndoor wall 1 from 0 to 800\n}\n", "this `door` has no name: one stands before `wall`"),
            ("kit \"a\" {\n}\n", "the name of this `kit` stands in quotation marks"),
            (
                "room a {\nthermostat t (0, 0) rated 16 A height 1200\n}\n",
                "`height` stands too late in this `thermostat`: it goes before `rated`",
            ),
        ];
        for (text, message) in words {
            assert_eq!(first(parse(text).faults), message, "{text:.60}");
        }
        let many = parse(&"}\n".repeat(MOST_FAULTS + 2)).faults;
        assert_eq!(many[MOST_FAULTS].message, format!("2 more faults are not told; the file has {}", MOST_FAULTS + 2));
        // Neither grammar refuses a text or takes a line that comes to nothing, as far as is known.
        for (fault, message) in [
            (Unread::NotPast, "the file can't be read past this place"),
            (Unread::SenselessLine, "this line can't be made sense of"),
        ] {
            assert_eq!(fault.at(Span::default()).message, message);
        }
    }
}
