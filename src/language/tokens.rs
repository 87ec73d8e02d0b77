//! A text of either language cut into its smallest parts, whatever is wrong with it: what an editor colours, folds and completes by.

use crate::quantity::UNITS;
use crate::source::Span;

/// What a [`Token`] is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    /// `# …`, up to the end of its line.
    Comment,
    /// A text with its quotation marks, or up to the end of its line where it is not closed.
    Text,
    /// A number or a date.
    Number,
    /// A unit behind a number.
    Unit,
    /// A keyword or a name.
    Word,
    /// Any other character.
    Mark,
}

/// The smallest part of a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Token {
    /// What it is.
    pub sort: Sort,
    /// Where it stands.
    pub span: Span,
}

/// A block: what stands before its brace, and the brace with its fellow.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Block {
    /// From the statement's first word up to the brace.
    pub head: Span,
    /// Offset of the opening brace.
    pub open: usize,
    /// Offset of the closing brace, or the text's end where there is none.
    pub close: usize,
    /// The block it stands in (an index).
    pub outer: Option<usize>,
}

/// The tokens of a text, in order.
///
/// ```
/// use layrule::language::tokens::{Sort, tokens};
/// let sorts: Vec<Sort> = tokens("run east 75 mm # on").iter().map(|token| token.sort).collect();
/// assert_eq!(sorts, [Sort::Word, Sort::Word, Sort::Number, Sort::Unit, Sort::Comment]);
/// ```
pub fn tokens(text: &str) -> Vec<Token> {
    let bytes = text.as_bytes();
    let mut tokens: Vec<Token> = Vec::new();
    let mut at = 0;
    // Whether nothing but blanks stands between a number and here.
    let mut after_number = false;
    while at < bytes.len() {
        let byte = bytes[at];
        let line_end = |from: usize| {
            bytes[from..].iter().position(|b| matches!(b, b'\n' | b'\r')).map_or(bytes.len(), |length| from + length)
        };
        let run = |from: usize, holds: fn(u8) -> bool| {
            bytes[from..].iter().position(|b| !holds(*b)).map_or(bytes.len(), |length| from + length)
        };
        let (sort, end) = match byte {
            b' ' | b'\t' => {
                at += 1;
                continue;
            }
            b'\n' | b'\r' => {
                after_number = false;
                at += 1;
                continue;
            }
            b'#' => (Sort::Comment, line_end(at)),
            b'"' => {
                let end = run(at + 1, |b| !matches!(b, b'"' | b'\n' | b'\r'));
                // Without a fellow on its line it is a text that is still being written.
                (Sort::Text, if bytes.get(end) == Some(&b'"') { end + 1 } else { end })
            }
            _ if after_number && unit_at(text, at) > 0 => (Sort::Unit, at + unit_at(text, at)),
            b'0'..=b'9' => match date_at(bytes, at) {
                true => (Sort::Number, at + 10),
                false => (Sort::Number, run(at, |b| b.is_ascii_digit() || b == b'.')),
            },
            b'a'..=b'z' | b'A'..=b'Z' => {
                (Sort::Word, run(at, |b| b.is_ascii_alphanumeric() || matches!(b, b'-' | b'_')))
            }
            _ => (Sort::Mark, at + text[at..].chars().next().map_or(1, char::len_utf8)),
        };
        after_number = sort == Sort::Number;
        tokens.push(Token { sort, span: Span::new(at..end) });
        at = end;
    }
    tokens
}

/// The length of the unit at an offset; 0 where there is none.
fn unit_at(text: &str, at: usize) -> usize {
    let rest = &text[at..];
    let fits = |symbol: &&str| {
        rest.strip_prefix(*symbol).is_some_and(|after| !after.starts_with(|c: char| c.is_ascii_alphanumeric()))
    };
    UNITS.iter().map(|unit| unit.symbol).filter(fits).map(str::len).max().unwrap_or(0)
}

fn date_at(bytes: &[u8], at: usize) -> bool {
    bytes.get(at..at + 10).is_some_and(|word| {
        word.iter().enumerate().all(|(index, byte)| match index {
            4 | 7 => *byte == b'-',
            _ => byte.is_ascii_digit(),
        })
    })
}

/// The blocks of a text, in the order of their braces.
///
/// ```
/// use layrule::language::tokens::{blocks, tokens};
/// let text = "room r {\n cable a {\n }\n}\n";
/// let blocks = blocks(text, &tokens(text));
/// assert_eq!(&text[blocks[1].head.range()], "cable a");
/// assert_eq!(blocks[1].outer, Some(0));
/// ```
pub fn blocks(text: &str, tokens: &[Token]) -> Vec<Block> {
    let mut blocks: Vec<Block> = Vec::new();
    let mut open: Vec<usize> = Vec::new();
    let mut head: Option<Span> = None;
    let mut last = 0;
    for token in tokens.iter().filter(|token| token.sort != Sort::Comment) {
        let span = token.span;
        let between = &text[last..span.start()];
        last = span.end();
        if between.contains(['\n', '\r']) {
            head = None;
        }
        match &text[span.range()] {
            "{" if token.sort == Sort::Mark => {
                let head = head.take().unwrap_or(Span::new(span.start()..span.start()));
                open.push(blocks.len());
                let outer = open.len().checked_sub(2).map(|index| open[index]);
                blocks.push(Block { head, open: span.start(), close: text.len(), outer });
            }
            "}" if token.sort == Sort::Mark => {
                head = None;
                if let Some(index) = open.pop() {
                    blocks[index].close = span.start();
                }
            }
            _ => head = Some(head.map_or(span, |head| head.to(span))),
        }
    }
    blocks
}

/// The innermost block that an offset lies in (an index).
pub fn block_at(blocks: &[Block], at: usize) -> Option<usize> {
    blocks.iter().rposition(|block| block.open < at && at <= block.close)
}

/// Where the statement starts that an offset lies in: at the first token of its line, or of an earlier line where that goes on.
pub fn statement_start(text: &str, tokens: &[Token], at: usize) -> usize {
    let mut start = None;
    let (mut depth, mut last) = (0usize, 0);
    let mut goes_on = false;
    for token in tokens.iter().take_while(|token| token.span.start() < at) {
        let span = token.span;
        let word = &text[span.range()];
        let broken = text[last..span.start()].contains(['\n', '\r']);
        last = span.end();
        // Points of a path may stand on lines of their own.
        if start.is_none() || (broken && depth == 0 && !goes_on && word != "(") {
            start = Some(span.start());
            depth = 0;
        }
        match word {
            "(" => depth += 1,
            ")" => depth = depth.saturating_sub(1),
            "{" | "}" => {
                start = None;
                depth = 0;
            }
            _ => {}
        }
        if token.sort == Sort::Comment && start == Some(span.start()) {
            start = None;
        }
        goes_on = word == "," || (goes_on && token.sort == Sort::Comment);
    }
    let fresh = text[last.min(at)..at].contains(['\n', '\r']) && depth == 0 && !goes_on;
    match start {
        Some(start) if !fresh => start,
        _ => at,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn statements_start_where_they_start() {
        let text = "room r {\n  outline (0, 0)\n    (1, 0)\n  cable a { start (2,\n 3)\n }\n  run\n";
        let tokens = tokens(text);
        let start = |part: &str| statement_start(text, &tokens, text.find(part).unwrap_or(0) + part.len());
        assert_eq!(start("(1, "), text.find("outline").unwrap_or(0));
        assert_eq!(start("(2,\n 3"), text.find("start").unwrap_or(0));
        assert_eq!(start("cable a"), text.find("cable").unwrap_or(0));
        assert_eq!(start("ru"), text.find("run").unwrap_or(0));
        assert_eq!(start("run\n"), text.len());
    }
}
