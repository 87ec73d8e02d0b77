//! What a language expects at a place: the words in which its readers are told where a statement can't be read.

use std::borrow::Cow;
use std::sync::{Mutex, PoisonError};

use pest::RuleType;
use pest::error::{Error, ErrorVariant, InputLocation};

use super::brackets::{NOTHING, shown_part};
use super::faults::{SyntaxFault, Unread, unit_of_sign};
use super::{is_word, word_at};
use crate::quantity::Dimension;
use crate::source::Span;
use crate::text::nearest;

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
    /// What a rule that reads no fixed words reads, in a statement of a block that starts with one word, after another; nothing for what
    /// isn't worth saying.
    pub describe: fn(R, R, &str, &str) -> Option<String>,
    /// What a quantity measures in a statement of a block that starts with one word, after another; nothing where it may measure anything.
    pub dimension: fn(R, &str, &str) -> Option<Dimension>,
    /// How the statement that starts with a word is written, in the block of a rule.
    pub usage: fn(&str, R) -> Option<&'static str>,
    /// Words that are still read in place of others, and no longer offered.
    pub former: &'static [&'static str],
    /// Blocks in which a statement may start with a name, and with none of other words.
    pub free: &'static [R],
    /// What a line of a block whose statements start with no fixed word is.
    pub free_line: &'static str,
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
        Unread::NotPast.at(word_at(text, position(error).min(text.len())))
    }

    /// A fault for the statement in `span`, which the block of `context` can't hold as it stands.
    pub fn skipped(&self, text: &str, span: Span, context: R) -> SyntaxFault {
        let statement = text.get(span.range()).unwrap_or("");
        let block = self.blocks.iter().find(|(rule, ..)| *rule == context).unwrap_or(&self.blocks[0]);
        let (.., words) = block;
        let first = statement.split(|c: char| !is_word(c)).next().unwrap_or("");
        let elsewhere = || self.blocks.iter().any(|(.., others)| others.contains(&first));
        let named = !first.is_empty() && self.free.contains(&context) && (words.is_empty() || !elsewhere());
        if !words.contains(&first) && !named {
            return self.unknown_statement(span, statement, first, block);
        }
        let (at, expected, marks) = self.stopped(context, statement);
        let at = (span.start() + at).min(span.end());
        let mark = word_at(text, at);
        let found = text.get(mark.range()).unwrap_or("");
        let before = text.get(span.start()..at).unwrap_or("").trim_end();

        if words.contains(&found) && at > span.start() && marks.is_empty() {
            return Unread::AnotherStatement(found.into()).at(mark);
        }
        let last =
            before.rsplit(|c: char| !is_word(c)).find(|word| word.starts_with(|c: char| c.is_ascii_alphabetic()));
        let dimension = (self.dimension)(context, first, last.unwrap_or(""));
        if let Some(number) = decimal_comma(text, span, at) {
            return Unread::DecimalComma(text[number.range()].into()).at(number);
        }
        if let Some(sign) = sign_of_unit(text, span, at) {
            return Unread::UnknownUnit(text[sign.range()].into(), dimension).at(sign);
        }
        if found.chars().next().is_some_and(|c| c.is_alphabetic() && !c.is_ascii()) {
            return Unread::ForeignLetter(found.into()).at(mark);
        }
        // A word straight after a number was meant as its unit, unless a word may stand there.
        let expected_words: Vec<String> = expected.iter().flat_map(|rule| self.words_of(*rule)).collect();
        let meant = nearest(found, expected_words.iter().map(String::as_str));
        if marks.is_empty()
            && ends_with_number(before)
            && found.starts_with(|c: char| c.is_ascii_alphabetic())
            && meant.is_none()
        {
            return Unread::UnknownUnit(found.into(), dimension).at(mark);
        }
        // The name was left out, and the word after it taken for the name.
        let mut words = before.split_whitespace().skip(1);
        if let (Some(taken), None) = (words.next(), words.next())
            && expected_words.iter().any(|word| word == taken)
        {
            let taken = Span::new(span.start() + before.len() - taken.len()..span.start() + before.len());
            return Unread::NameMissing { first: first.into(), before: text[taken.range()].into() }.at(taken);
        }
        let wanted = self.wanted(context, expected, &marks, (first, last.unwrap_or("")));
        let meant = meant.map(String::from);
        let usage = (self.usage)(first, context);
        if meant.is_none()
            && let Some(later) = usage.and_then(|usage| comes_before(usage, found, before))
        {
            let (found, first, later) = (found.into(), first.into(), later.into());
            return Unread::TooLate { found, first, later, usage: usage.unwrap_or("") }.at(mark);
        }
        if let Some(name) = quoted_name(text, mark)
            && wanted.iter().any(|wanted| wanted == "a name")
        {
            let (first, name) = (first.into(), name.to_string());
            return Unread::NameInQuotes { first, name: name.clone() }.at(Span::new(at..at + name.len() + 2));
        }
        // A text that is whole, where none can stand, is no quotation mark by itself.
        let rest = text.get(mark.start()..span.end()).unwrap_or("");
        let (found, mark) = match rest.strip_prefix('"').and_then(|text| text.split('\n').next()?.find('"')) {
            Some(length) => (&rest[..length + 2], Span::new(at..at + length + 2)),
            None => (found, mark),
        };
        Unread::Unexpected { found: found.into(), first: first.into(), wanted, meant, usage }.at(mark)
    }

    /// Where reading a statement stops, and what it could go on with there: rules, or else punctuation.
    fn stopped(&self, context: R, statement: &str) -> (usize, Vec<R>, Vec<String>) {
        let error = match self.parse_in_detail(context, statement) {
            Err(error) => error,
            Ok(end) => return (end, Vec::new(), Vec::new()),
        };
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

    /// What a statement that starts with one word could go on with after another, in the reader's words.
    fn wanted(&self, context: R, expected: Vec<R>, marks: &[String], (first, last): (&str, &str)) -> Vec<String> {
        let mut wanted: Vec<String> = Vec::new();
        for rule in expected {
            let words = self.words_of(rule).into_iter().map(|word| format!("`{word}`"));
            for words in words.chain((self.describe)(context, rule, first, last)) {
                if !wanted.contains(&words) {
                    wanted.push(words);
                }
            }
        }
        wanted.extend(marks.iter().map(|mark| format!("`{mark}`")));
        if wanted.is_empty() {
            wanted.push("the end of the line".into());
        }
        wanted
    }

    /// A fault for a statement whose first word starts none of its block.
    fn unknown_statement(&self, span: Span, statement: &str, first: &str, block: &Block<R>) -> SyntaxFault {
        let (_, block, words) = *block;
        let start = span.start();
        let length = if first.is_empty() { statement.chars().next().map_or(0, char::len_utf8) } else { first.len() };
        let owners =
            self.blocks.iter().filter(|(.., words)| words.contains(&first)).map(|(_, name, _)| *name).collect();
        let free_line = self.free_line;
        let words = words.iter().copied().filter(|word| !self.former.contains(word)).collect();
        Unread::UnknownStatement { first: first.into(), block, words, owners, free_line }
            .at(Span::new(start..start + length))
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

/// The number with a comma in it at which reading a statement stopped, or just behind which it did.
fn decimal_comma(text: &str, span: Span, at: usize) -> Option<Span> {
    let statement = text.get(span.range())?;
    let stop = at.checked_sub(span.start())?;
    let digit = |index: usize| statement.as_bytes().get(index).is_some_and(u8::is_ascii_digit);
    let between = |comma: usize| comma > 0 && digit(comma - 1) && digit(comma + 1);
    let here = |index: usize| statement.as_bytes().get(index) == Some(&b',');
    let comma = if here(stop) && between(stop) {
        stop
    } else {
        // Of `(475,4 , 600)` the first comma is one too many; without blanks nobody can tell.
        let before = statement.get(..stop)?;
        let comma = before.rfind(',').filter(|comma| between(*comma))?;
        let gone_on = before[comma + 1..].trim_end().bytes().all(|byte| byte.is_ascii_digit());
        let apart = here(stop) && !digit(stop + 1) || before.ends_with(' ') && here(stop);
        if !gone_on || !(apart || stop == comma + 1) {
            return None;
        }
        comma
    };
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    let ahead = statement[..comma].bytes().rev().take_while(u8::is_ascii_digit).count();
    // Of `(0,0,5)` nobody can tell which comma was meant so.
    if statement[..comma - ahead].ends_with(',') {
        return None;
    }
    let start = span.start() + comma;
    Some(Span::new(start - ahead..start + 1 + digits(&statement[comma + 1..])))
}

/// Behind a number, a unit written with its sign, such as `Ω` for `ohm`, at which reading a statement stopped or in the midst of which it did.
fn sign_of_unit(text: &str, span: Span, at: usize) -> Option<Span> {
    let part = |c: char| !c.is_whitespace() && !matches!(c, ',' | '(' | ')' | '{' | '}' | '"' | '#');
    let before = text.get(span.start()..at)?;
    let ahead = before.len() - before.trim_end_matches(part).len();
    let rest = text.get(at..)?;
    let end = at + rest.find(|c| !part(c)).unwrap_or(rest.len());
    let whole = text.get(at - ahead..end)?;
    let sign = whole.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '+'));
    let start = end - sign.len();
    let number = text.get(span.start()..start)?.trim_end();
    (unit_of_sign(sign).is_some() && ends_with_number(number)).then_some(Span::new(start..end))
}

/// Of a usage, the word that `found` comes before there and that has been read already.
fn comes_before<'u>(usage: &'u str, found: &str, before: &str) -> Option<&'u str> {
    let keyword = |word: &&str| word.starts_with(|c: char| c.is_ascii_lowercase());
    let words: Vec<&str> = usage.split_whitespace().filter(keyword).collect();
    let read: Vec<&str> = before.split(|c: char| !is_word(c)).collect();
    let at = words.iter().position(|word| *word == found)?;
    // What may stand several times, or in one of two forms, is none too late.
    if at == 0 || read.contains(&found) || words.contains(&"or") {
        return None;
    }
    words[at + 1..].iter().copied().find(|word| read[1..].contains(word))
}

/// The name that stands in quotation marks from a place on.
fn quoted_name(text: &str, mark: Span) -> Option<&str> {
    let rest = text.get(mark.start()..)?.strip_prefix('"')?;
    let name = rest.split(['"', '\n']).next()?;
    let good = name.starts_with(|c: char| c.is_ascii_alphabetic()) && name.chars().all(is_word);
    (good && rest[name.len()..].starts_with('"')).then_some(name)
}

/// Whether the text ends with a number rather than with a name that has digits in it.
fn ends_with_number(before: &str) -> bool {
    let word = before.rsplit(|c: char| !(is_word(c) || c == '.')).next().unwrap_or("");
    word.trim_start_matches(['-', '+']).starts_with(|c: char| c.is_ascii_digit())
        && word.ends_with(|c: char| c.is_ascii_digit())
}
