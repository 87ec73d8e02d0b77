//! Brackets counted before a parser is let in, so that no text can send it deeper, or farther, than it is meant to go.

use std::borrow::Cow;

use super::caps::{DEEPEST_NESTING, LONGEST_LINE, MOST_SIGNS};
use super::faults::{SyntaxFault, Unread};
use super::word_at;
use crate::source::Span;

/// What a parser is shown in place of a brace that is never closed; both are one byte, so that places stay.
pub(super) const NEVER_CLOSED: char = '\u{1}';
/// What nothing in either language begins with.
pub(super) const NOTHING: char = '\u{2}';

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
        faults.push(Unread::NeverClosed.at(Span::new(at..at + 1)));
    }
    Ok(shown)
}

/// Refuses lines and sums that go on without end.
fn refuse_endless(text: &str) -> Result<(), SyntaxFault> {
    // Most texts are shorter than that as a whole.
    if text.len() > LONGEST_LINE {
        let mut start = 0;
        for line in text.split_inclusive(['\n', '\r']) {
            if line.len() > LONGEST_LINE {
                return Err(Unread::LineTooLong.at(word_at(text, start)));
            }
            start += line.len();
        }
    }
    let sign = |byte: u8| matches!(byte, b'+' | b'-' | b'*' | b'/' | b',' | b'(');
    if text.len() > MOST_SIGNS && text.bytes().filter(|byte| sign(*byte)).count() > MOST_SIGNS {
        let at = text.bytes().enumerate().filter(|(_, byte)| sign(*byte)).nth(MOST_SIGNS).map_or(0, |(at, _)| at);
        return Err(Unread::TooManySigns.at(word_at(text, at)));
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
pub(super) fn shown_part(text: &str) -> Option<Cow<'_, str>> {
    left_open(text, false).ok().map(|open| shown(text, &open.braces, &[]))
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
                    return Err(Unread::NestedTooDeep.at(Span::new(at..at + 1)));
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
