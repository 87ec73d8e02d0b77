//! What both languages share: faults of syntax, brackets counted before a parser is let in, and the words in which a reader is
//! told what was expected.

pub mod nodes;
pub mod tokens;

use std::borrow::Cow;
use std::sync::{Mutex, PoisonError};

use pest::RuleType;
use pest::error::{Error, ErrorVariant, InputLocation};

use crate::quantity::UNITS;
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

/// A name, a word or a text, where it stands. A text is without its quotes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Word {
    /// What is written.
    pub text: String,
    /// Where.
    pub span: Span,
}

/// How many faults of a file are told; a file with more is no file of its language.
pub const MOST_FAULTS: usize = 1_000;

/// How deep parentheses and braces may nest.
pub const DEEPEST_NESTING: usize = 32;

/// What a parser is shown in place of a brace that is never closed; both are one byte, so that places stay.
const NEVER_CLOSED: char = '\u{1}';
/// What nothing in either language begins with.
const NOTHING: char = '\u{2}';

/// The longest line that is read, bytes: far more than anyone writes, and a bound on what it costs to tell columns.
pub const LONGEST_LINE: usize = 64 * 1024;

/// How many signs of arithmetic, commas and parentheses a text may hold. A parser keeps hundreds of bytes for each.
pub const MOST_SIGNS: usize = 300_000;

/// Finds what no parser should be sent into, such as brackets nested too deep, and braces never closed. Gives the text as a parser is to be
/// shown it: with `U+0001` for each brace that is never closed and `U+0002` for each such parenthesis, so that it needn't go on to the end of
/// the text to learn that, once for each block it could be in.
///
/// # Errors
/// For what is not read at all. Braces left open are added to `faults`.
pub fn scan_brackets<'t>(text: &'t str, faults: &mut Vec<SyntaxFault>) -> Result<Cow<'t, str>, SyntaxFault> {
    let open = left_open(text, false)?;
    refuse_endless(text)?;
    let shown = shown(text, &open.braces, &open.parentheses);
    let mut braces = open.braces;
    if !braces.is_empty() {
        // Which of them was forgotten, the indentation tells better than the order.
        let forgotten = left_open(text, true)?.braces;
        if forgotten.len() == braces.len() {
            braces = forgotten;
        }
    }
    for at in braces {
        faults.push(SyntaxFault {
            span: Span::new(at..at + 1),
            message: "this brace is never closed".into(),
            label: "opened here".into(),
            instead: None,
            help: Some("close the block with `}` on a line of its own".into()),
        });
    }
    Ok(shown)
}

/// Refuses lines and sums that go on without end.
fn refuse_endless(text: &str) -> Result<(), SyntaxFault> {
    let refused = |at: usize, message: String, help: &str| SyntaxFault {
        span: word_at(text, at),
        message,
        label: "here".into(),
        instead: None,
        help: Some(help.into()),
    };
    // Most texts are shorter than that as a whole.
    if text.len() > LONGEST_LINE {
        let mut start = 0;
        for line in text.split_inclusive(['\n', '\r']) {
            if line.len() > LONGEST_LINE {
                let message = format!("a line is longer than {} KiB; the file is not read", LONGEST_LINE / 1024);
                return Err(refused(start, message, "write a statement a line; within parentheses a line may break"));
            }
            start += line.len();
        }
    }
    let sign = |byte: u8| matches!(byte, b'+' | b'-' | b'*' | b'/' | b',' | b'(');
    if text.len() > MOST_SIGNS && text.bytes().filter(|byte| sign(*byte)).count() > MOST_SIGNS {
        let at = text.bytes().enumerate().filter(|(_, byte)| sign(*byte)).nth(MOST_SIGNS).map_or(0, |(at, _)| at);
        let message = format!("more than {MOST_SIGNS} of `+ - * / , (` stand in one file; it is not read");
        return Err(refused(at, message, "split the file"));
    }
    Ok(())
}

/// The text with the braces and parentheses at these places, which are never closed, told apart from all others.
fn shown<'t>(text: &'t str, braces: &[usize], parentheses: &[usize]) -> Cow<'t, str> {
    if braces.is_empty() && parentheses.is_empty() && !text.contains(NEVER_CLOSED) {
        return Cow::Borrowed(text);
    }
    let mut bytes = text.as_bytes().to_vec();
    // All of these are one byte long.
    let (never_closed, nothing) = (NEVER_CLOSED as u8, NOTHING as u8);
    bytes.iter_mut().filter(|byte| **byte == never_closed).for_each(|byte| *byte = nothing);
    braces.iter().for_each(|at| bytes[*at] = never_closed);
    parentheses.iter().for_each(|at| bytes[*at] = nothing);
    String::from_utf8(bytes).map_or(Cow::Borrowed(text), Cow::Owned)
}

/// A part of a text that is let in as a parser is to be shown it, its parentheses as they are: what is expected within them is asked.
fn shown_part(text: &str) -> Option<Cow<'_, str>> {
    left_open(text, false).ok().map(|open| shown(text, &open.braces, &[]))
}

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
            self.list.push(SyntaxFault {
                span: Span { end: self.first_more.start, ..self.first_more },
                message: format!("{} more faults are not told; the file has {}", self.more, self.count()),
                label: "the first of them".into(),
                instead: None,
                help: Some("mend those above first".into()),
            });
        }
        self.list.sort_by_key(|fault| (fault.span, fault.message.clone()));
        self.list
    }
}

/// A bracket that was opened.
struct Opened {
    byte: u8,
    at: usize,
    /// How far its line is indented, where that is asked.
    indent: usize,
}

/// The line that reading has got to.
#[derive(Default)]
struct LineStart {
    seen: usize,
    line: usize,
    indent: usize,
}

impl LineStart {
    /// Goes on to the line of a place; whether it is the first there that is no blank.
    fn go_to(&mut self, bytes: &[u8], at: usize) -> bool {
        let newline = bytes[self.seen..at].iter().rposition(|byte| matches!(byte, b'\n' | b'\r'));
        if newline.is_some() || self.seen == 0 {
            self.line = newline.map_or(0, |end| self.seen + end + 1);
            self.indent = bytes[self.line..].iter().take_while(|byte| matches!(byte, b' ' | b'\t')).count();
        }
        self.seen = at;
        at == self.line + self.indent
    }
}

/// Where brackets are opened that are never closed.
#[derive(Default)]
struct LeftOpen {
    braces: Vec<usize>,
    parentheses: Vec<usize>,
}

impl LeftOpen {
    fn add(&mut self, opened: &Opened) {
        if opened.byte == b'{' { &mut self.braces } else { &mut self.parentheses }.push(opened.at);
    }
}

/// Where the brackets are opened that are never closed. By indentation, a brace that is first on its line closes the block whose own first
/// line is indented as far, and what was opened within that was never closed.
fn left_open(text: &str, by_indentation: bool) -> Result<LeftOpen, SyntaxFault> {
    let mut open: Vec<Opened> = Vec::new();
    let mut left_open = LeftOpen::default();
    let bytes = text.as_bytes();
    let mut line = LineStart::default();
    let mut at = 0;
    while let Some(ahead) = bytes[at..].iter().position(|byte| MARKS[*byte as usize]) {
        at += ahead;
        let rest = &bytes[at + 1..];
        let byte = bytes[at];
        let first = by_indentation && line.go_to(bytes, at);
        match byte {
            b'#' => at += rest.iter().position(|b| matches!(b, b'\n' | b'\r')).unwrap_or(rest.len()),
            // A quotation mark without its fellow on the line is no text; the grammar says so where it matters.
            b'"' => {
                at += rest
                    .iter()
                    .position(|b| matches!(b, b'"' | b'\n' | b'\r'))
                    .filter(|end| rest[*end] == b'"')
                    .map_or(0, |end| end + 1);
            }
            b'(' | b'{' => {
                if open.len() == DEEPEST_NESTING {
                    return Err(SyntaxFault {
                        span: Span::new(at..at + 1),
                        message: format!("brackets nest more than {DEEPEST_NESTING} deep; the file is not read"),
                        label: "one too many opens here".into(),
                        instead: None,
                        help: Some("name the inner parts with `let`".into()),
                    });
                }
                open.push(Opened { byte, at, indent: line.indent });
            }
            _ => {
                // A parenthesis left open ends with its statement; it must not swallow the brace that closes the block.
                while byte == b'}'
                    && let Some(opened) = open.pop_if(|opened| opened.byte == b'(')
                {
                    left_open.add(&opened);
                }
                if first
                    && byte == b'}'
                    && let Some(own) = open.iter().rposition(|opened| opened.indent == line.indent)
                {
                    open.drain(own + 1..).for_each(|opened| left_open.add(&opened));
                }
                if open.last().is_some_and(|opened| (opened.byte == b'(') == (byte == b')')) {
                    open.pop();
                }
            }
        }
        at += 1;
    }
    open.iter().for_each(|opened| left_open.add(opened));
    Ok(left_open)
}

/// The bytes that open or close brackets, texts and comments.
const MARKS: [bool; 256] = {
    let mut marks = [false; 256];
    let mut index = 0;
    while index < b"#\"(){}".len() {
        marks[b"#\"(){}"[index] as usize] = true;
        index += 1;
    }
    marks
};

/// The fault of a line that the grammar takes and no tree is made of. It never is dropped in silence: what it says would count as not said.
pub fn unread_line(span: Span) -> SyntaxFault {
    SyntaxFault {
        span,
        message: "this line can't be made sense of".into(),
        label: "this line".into(),
        instead: None,
        help: Some("write it as the reference of the language shows, one thing a line".into()),
    }
}

/// The fault for a brace that closes nothing.
pub fn stray_brace(span: Span) -> SyntaxFault {
    SyntaxFault {
        span,
        message: "this brace closes nothing".into(),
        label: "no block is open here".into(),
        instead: None,
        help: Some("take it out, or look above for a block that was closed too early".into()),
    }
}

/// A block of a language: the rule that reads its lines, what it is called, and the words its statements start with.
pub type Block<R> = (R, &'static str, &'static [&'static str]);

/// The end of what was read, or where reading stopped.
pub type Parsed<R> = Result<usize, Box<Error<R>>>;

/// What a language says of itself to a reader who got it wrong.
pub struct Language<R: RuleType + 'static> {
    /// Its blocks; the first is a whole file.
    pub blocks: &'static [Block<R>],
    /// The end of what a rule reads from the start of a text.
    pub parse: fn(R, &str) -> Parsed<R>,
    /// The exact words that a rule reads, where it reads words.
    pub words: fn(R) -> Vec<&'static str>,
    /// What a rule that reads no fixed words reads, in a statement that starts with one word, after another; nothing for what isn't
    /// worth saying.
    pub describe: fn(R, &str, &str) -> Option<String>,
    /// How the statement that starts with a word is written, in the block of a rule.
    pub usage: fn(&str, R) -> Option<&'static str>,
    /// What a line of a block whose statements start with no fixed word is.
    pub free_line: &'static str,
}

/// Whether a character may stand in a name after its first.
pub fn is_word(c: char) -> bool {
    c.is_ascii_alphanumeric() || c == '-' || c == '_'
}

/// The word at a byte offset, or the one character there, or nothing at the end of a line.
pub fn word_at(text: &str, at: usize) -> Span {
    let rest = text.get(at..).unwrap_or("");
    let length = match rest.chars().next() {
        None | Some('\n' | '\r') => 0,
        Some(c) if is_word(c) => rest.find(|c: char| !is_word(c)).unwrap_or(rest.len()),
        Some(c) => c.len_utf8(),
    };
    Span::new(at..at + length)
}

/// Where pest stopped.
pub fn position<R>(error: &Error<R>) -> usize {
    match error.location {
        InputLocation::Pos(at) | InputLocation::Span((at, _)) => at,
    }
}

impl<R: RuleType + 'static> Language<R> {
    /// The exact words that a rule reads. A keyword's rule is named after its word.
    pub fn words_of(&self, rule: R) -> Vec<String> {
        let name = format!("{rule:?}");
        match name.strip_suffix("_word") {
            Some(word) => vec![word.replace('_', "-")],
            None => (self.words)(rule).into_iter().map(String::from).collect(),
        }
    }

    /// Every word that one of `rules` reads.
    pub fn every_word(&self, rules: &[R]) -> std::collections::HashSet<String> {
        rules.iter().flat_map(|rule| self.words_of(*rule)).collect()
    }

    /// What a statement of the block of `context` could go on with behind `prefix`; nothing where that is none of its beginning.
    pub fn next(&self, context: R, prefix: &str) -> Vec<R> {
        let Some(shown) = shown_part(prefix) else { return Vec::new() };
        // A character that nothing can begin with stops reading there.
        match (self.parse)(context, &format!("{shown}{NOTHING}")) {
            Err(error) if position(&error) == prefix.len() => match error.variant {
                ErrorVariant::ParsingError { positives, .. } => positives,
                ErrorVariant::CustomError { .. } => Vec::new(),
            },
            _ => Vec::new(),
        }
    }

    /// Reads with pest noting every token it looked for, which it otherwise does for named rules only.
    fn parse_in_detail(&self, context: R, statement: &str) -> Parsed<R> {
        /// pest's switch is the whole program's; held while it is on, so that it is never off in the midst of this.
        static DETAIL: Mutex<()> = Mutex::new(());
        // No statement nests deeper than the file that it is taken from, which was let in.
        let shown = shown_part(statement).unwrap_or(Cow::Borrowed(""));
        let _held = DETAIL.lock().unwrap_or_else(PoisonError::into_inner);
        pest::set_error_detail(true);
        let parsed = (self.parse)(context, &shown);
        pest::set_error_detail(false);
        parsed
    }

    /// A fault for a file that the grammar as a whole refused.
    pub fn whole_file(&self, text: &str, error: &Error<R>) -> SyntaxFault {
        SyntaxFault {
            span: word_at(text, position(error).min(text.len())),
            message: "the file can't be read past this place".into(),
            label: "here".into(),
            instead: None,
            help: None,
        }
    }

    /// A fault for the statement in `span`, which the block of `context` can't hold as it stands.
    pub fn skipped(&self, text: &str, span: Span, context: R) -> SyntaxFault {
        let statement = text.get(span.range()).unwrap_or("");
        let (_, block, words) = self.blocks.iter().find(|(rule, ..)| *rule == context).unwrap_or(&self.blocks[0]);
        let first = statement.split(|c: char| !is_word(c)).next().unwrap_or("");
        if !words.contains(&first) && (!words.is_empty() || first.is_empty()) {
            return self.unknown_statement(span, statement, first, block, words);
        }
        let (at, expected, marks) = match self.parse_in_detail(context, statement) {
            Err(error) => {
                let at = position(&error);
                let marks = expected_marks(&error);
                let reached = error.parse_attempts().map_or(0, |attempts| attempts.max_position);
                match error.variant {
                    // Where nothing but punctuation was missing, the rules that failed are other statements, at this one's own first word.
                    ErrorVariant::ParsingError { .. } if at == 0 && reached > 0 && !marks.is_empty() => {
                        (reached, Vec::new(), marks)
                    }
                    ErrorVariant::ParsingError { positives, .. } => (at, positives, marks),
                    ErrorVariant::CustomError { .. } => (at, Vec::new(), marks),
                }
            }
            Ok(end) => (end, Vec::new(), Vec::new()),
        };
        let at = (span.start as usize + at).min(span.end as usize);
        let mark = word_at(text, at);
        let found = text.get(mark.range()).unwrap_or("");
        let before = text.get(span.start as usize..at).unwrap_or("").trim_end();

        if words.contains(&found) && at > span.start as usize && marks.is_empty() {
            return SyntaxFault {
                span: mark,
                message: format!("a statement ends with its line, and `{found}` begins another"),
                label: "put this on a line of its own".into(),
                instead: None,
                help: None,
            };
        }
        if found.chars().next().is_some_and(|c| c.is_alphabetic() && !c.is_ascii()) {
            return SyntaxFault {
                span: mark,
                message: format!("`{found}` can't stand in a name"),
                label: "not a letter from a to z".into(),
                instead: None,
                help: Some(
                    "a name is made of the letters a to z, digits, `-` and `_`; a text in double quotes may hold any"
                        .into(),
                ),
            };
        }
        // A word straight after a number was meant as its unit, unless a word may stand there.
        let expected_words: Vec<String> = expected.iter().flat_map(|rule| self.words_of(*rule)).collect();
        let meant = nearest(found, expected_words.iter().map(String::as_str));
        if marks.is_empty()
            && ends_with_number(before)
            && found.starts_with(|c: char| c.is_ascii_alphabetic())
            && meant.is_none()
        {
            let units = || UNITS.iter().map(|unit| unit.symbol);
            return SyntaxFault {
                span: mark,
                message: format!("no unit is called `{found}`"),
                label: "not a unit, nor what comes next".into(),
                instead: nearest(found, units()).map(String::from),
                help: Some(match nearest(found, units()) {
                    Some(unit) => format!("did you mean `{unit}`?"),
                    None => format!("the units are {}", quoted(units(), "and")),
                }),
            };
        }
        let last =
            before.rsplit(|c: char| !is_word(c)).find(|word| word.starts_with(|c: char| c.is_ascii_alphabetic()));
        let mut wanted: Vec<String> = Vec::new();
        for rule in expected {
            let words = self.words_of(rule).into_iter().map(|word| format!("`{word}`"));
            let described = (self.describe)(rule, first, last.unwrap_or(""));
            for words in words.chain(described) {
                if !wanted.contains(&words) {
                    wanted.push(words);
                }
            }
        }
        wanted.extend(marks.iter().map(|mark| format!("`{mark}`")));
        if wanted.is_empty() {
            wanted.push("the end of the line".into());
        }
        let found_text = match found.chars().next() {
            None | Some('#') => "the line ends too early".to_string(),
            Some('"') => "this quotation mark has no fellow on its line, or can't stand here,".to_string(),
            Some(_) => format!("`{found}` can't stand here"),
        };
        SyntaxFault {
            span: mark,
            message: format!(
                "{found_text} in this `{first}`: expected {}",
                list(wanted.iter().map(String::as_str), "or")
            ),
            label: format!("expected {}", wanted[0]),
            instead: meant.map(String::from),
            help: match meant {
                Some(word) => Some(format!("did you mean `{word}`?")),
                None => (self.usage)(first, context).map(|usage| format!("it is written `{usage}`")),
            },
        }
    }

    fn unknown_statement(&self, span: Span, statement: &str, first: &str, block: &str, words: &[&str]) -> SyntaxFault {
        let start = span.start as usize;
        let length = if first.is_empty() { statement.chars().next().map_or(0, char::len_utf8) } else { first.len() };
        let owners: Vec<&str> =
            self.blocks.iter().filter(|(.., words)| words.contains(&first)).map(|(_, name, _)| *name).collect();
        let owner = (!owners.is_empty()).then(|| list(owners.into_iter(), "or"));
        let near = nearest(first, words.iter().copied()).filter(|_| owner.is_none());
        let help = match (near, owner) {
            (_, Some(owner)) => format!("`{first}` belongs in {owner}"),
            (Some(word), None) => format!("did you mean `{word}`?"),
            (None, None) if words.is_empty() => self.free_line.to_string(),
            (None, None) => format!("{block} holds {}", quoted(words.iter().copied(), "and")),
        };
        SyntaxFault {
            span: Span::new(start..start + length),
            message: if first.is_empty() {
                format!("no statement of {block} starts like this")
            } else {
                format!("`{first}` starts no statement of {block}")
            },
            label: "expected a statement".into(),
            instead: near.map(String::from),
            help: Some(help),
        }
    }
}

/// The punctuation that was looked for where reading stopped.
fn expected_marks<R: RuleType>(error: &Error<R>) -> Vec<String> {
    let tokens = error.parse_attempts().map(|attempts| attempts.expected_tokens()).unwrap_or_default();
    let mut marks: Vec<String> = tokens
        .into_iter()
        .map(|token| token.to_string())
        .filter(|token| matches!(token.as_str(), "," | "=" | "(" | ")" | "{" | ":"))
        .collect();
    marks.sort_unstable();
    marks.dedup();
    marks
}

/// Whether the text ends with a number rather than with a name that has digits in it.
fn ends_with_number(before: &str) -> bool {
    let word = before.rsplit(|c: char| !(is_word(c) || c == '.')).next().unwrap_or("");
    word.trim_start_matches(['-', '+']).starts_with(|c: char| c.is_ascii_digit())
        && word.ends_with(|c: char| c.is_ascii_digit())
}
