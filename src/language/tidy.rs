//! The canonical form of a text of either language: the same tokens and comments, laid out in one way.
//!
//! pest says what the tokens are and where statements begin; what a language does in its own way stands in its [`Manner`].
//! Tokens become rows, rows get their columns, and what is printed is read again and held against what was read, so that
//! no text can come out meaning anything else than it did.

use std::collections::HashMap;
use std::ops::Range;

use pest::iterators::{Pair, Pairs};
use pest::{RuleType, Token as Edge};

use crate::language::{faults::SyntaxFault, is_word, nodes::with_blanks};
use crate::source::Span;

/// Blanks for each block that a line stands in.
const INDENT: usize = 2;
/// Blanks before a comment that ends a line.
const COMMENT_GAP: usize = 2;
/// How wide a part of a statement, or a line before its comment, may be for others to be lined up with it; what is wider stands for itself.
/// Without a bound, one long name would have every line near it filled up with blanks to its length.
const WIDEST: usize = 120;

/// The columns of a kind of statement, its last left out. The first is its first word; each other ends with a part of the statement.
#[derive(Debug, Clone, Copy)]
pub struct Columns {
    /// Statements of one kind share their columns; of the first, all statements of a block share one.
    pub kind: &'static str,
    /// How each is parted from the next.
    pub each: &'static [Column],
}

/// How a column is parted from the next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// Blanks after it, at the least.
    pub gap: usize,
    /// Whether what stands in it, unless it is a text, ends rather than begins at one place.
    pub right: bool,
}

impl Column {
    /// A column whose entries begin at one place.
    pub const fn left(gap: usize) -> Self {
        Column { gap, right: false }
    }

    /// A column whose entries end at one place.
    pub const fn right(gap: usize) -> Self {
        Column { gap, right: true }
    }

    /// Whether what stands in it ends at one place.
    fn ends(self, cell: &str) -> bool {
        self.right && !cell.starts_with('"')
    }
}

/// What a language does in its own way.
pub struct Manner<R: 'static> {
    /// Reads a whole text.
    pub parse: fn(&str) -> Option<Pairs<'_, R>>,
    /// The statements that hold others between braces.
    pub blocks: &'static [R],
    /// A sign that belongs to what follows it.
    pub sign: R,
    /// What a parenthesis follows without a blank.
    pub called: &'static [R],
    /// A statement's columns.
    pub columns: fn(R) -> Columns,
}

/// Lays out a text that its language's parser has found no fault in.
///
/// # Errors
/// Should the result not read as the same tokens, which a fault of this program alone could bring about: a fault that says so.
pub fn tidy<R: RuleType>(text: &str, manner: &Manner<R>) -> Result<String, SyntaxFault> {
    let refused = || SyntaxFault {
        span: Span::default(),
        message: "the file can't be laid out without changing what it says; it is left as it is".into(),
        label: "this file".into(),
        instead: None,
        help: Some("this is a fault of layrule's own".into()),
    };
    let shown = with_blanks(text);
    let pairs = (manner.parse)(&shown).ok_or_else(refused)?;
    let tokens = tokens(&pairs, text);
    let line_end = if text.find('\n').is_some_and(|at| text[..at].ends_with('\r')) { "\r\n" } else { "\n" };
    let mut rows = Rows { text, tokens: &tokens, at: 0, rows: Vec::new(), manner };
    for file in pairs {
        rows.statements(file.into_inner(), 0);
    }
    let laid_out = print(&rows.rows, line_end);
    let again = (manner.parse)(&laid_out).ok_or_else(refused)?;
    let same = significant(&tokens, text).eq(significant(&self::tokens(&again, &laid_out), &laid_out));
    if same { Ok(laid_out) } else { Err(refused()) }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind<R> {
    /// Read by a rule.
    Leaf(R),
    /// A mark, or a word that has no rule of its own.
    Plain,
    Comment,
    LineEnd,
}

#[derive(Debug, Clone)]
struct Token<R> {
    kind: Kind<R>,
    span: Range<usize>,
}

/// The leaves of the tree, and what stands between them.
fn tokens<R: RuleType>(pairs: &Pairs<'_, R>, text: &str) -> Vec<Token<R>> {
    let mut tokens = Vec::new();
    let mut reached = 0;
    let mut begun = None;
    for edge in pairs.clone().tokens() {
        match edge {
            Edge::Start { rule, pos } => begun = Some((rule, pos.pos())),
            Edge::End { pos, .. } => {
                // A pair that ends right after it began holds no other.
                let Some((rule, start)) = begun.take() else { continue };
                let span = start..pos.pos();
                if !span.is_empty() {
                    between(text, reached..start, &mut tokens);
                    reached = span.end;
                    tokens.push(Token { kind: Kind::Leaf(rule), span });
                }
            }
        }
    }
    between(text, reached..text.len(), &mut tokens);
    tokens
}

/// Marks, comments and ends of lines, which the tree doesn't hold.
fn between<R>(text: &str, range: Range<usize>, tokens: &mut Vec<Token<R>>) {
    let mut at = range.start;
    while let Some(c) = text[at..range.end].chars().next() {
        let rest = &text[at..range.end];
        let (kind, length) = match c {
            '\r' if rest.starts_with("\r\n") => (Some(Kind::LineEnd), 2),
            '\n' | '\r' => (Some(Kind::LineEnd), 1),
            '#' => (Some(Kind::Comment), rest.find(['\n', '\r']).unwrap_or(rest.len())),
            ' ' | '\t' | '\u{FEFF}' => (None, c.len_utf8()),
            _ if is_word(c) => (Some(Kind::Plain), rest.find(|c: char| !is_word(c)).unwrap_or(rest.len())),
            _ => (Some(Kind::Plain), c.len_utf8()),
        };
        tokens.extend(kind.map(|kind| Token { kind, span: at..at + length }));
        at += length;
    }
}

/// What must not change: every token but ends of lines.
fn significant<'t, R: RuleType>(tokens: &'t [Token<R>], text: &'t str) -> impl Iterator<Item = (bool, &'t str)> {
    let kept = tokens.iter().filter(|token| token.kind != Kind::LineEnd);
    // Which rule reads a token may hang on what follows it.
    kept.map(move |token| (token.kind == Kind::Comment, text[token.span.clone()].trim_end()))
}

/// A line of the result, its columns not yet settled.
struct Row<'t> {
    depth: usize,
    /// Whether a blank line stands before it.
    apart: bool,
    content: Content,
    comment: Option<&'t str>,
}

enum Content {
    /// A statement, by columns.
    Cells(Columns, Vec<String>),
    /// A line that goes on with the statement above it, with how many parentheses are open before it.
    More(usize, String),
    /// A line with no columns: of a block's braces.
    Whole(String),
    /// Nothing but its comment.
    Nothing,
}

struct Rows<'t, R: 'static> {
    text: &'t str,
    tokens: &'t [Token<R>],
    at: usize,
    rows: Vec<Row<'t>>,
    manner: &'t Manner<R>,
}

impl<'t, R: RuleType> Rows<'t, R> {
    fn text(&self, token: &Token<R>) -> &'t str {
        &self.text[token.span.clone()]
    }

    /// The statements of a block, up to the brace that closes it or to the end of the text. The grammars nest blocks three deep.
    fn statements(&mut self, pairs: Pairs<'_, R>, depth: usize) {
        let mut pairs = pairs.peekable();
        let (mut line_ends, mut first) = (0, true);
        while let Some(token) = self.tokens.get(self.at) {
            match token.kind {
                Kind::LineEnd => {
                    line_ends += 1;
                    self.at += 1;
                }
                Kind::Comment => {
                    let comment = Some(self.text(token).trim_end());
                    self.at += 1;
                    match self.rows.last_mut().filter(|row| line_ends == 0 && row.comment.is_none()) {
                        Some(row) => row.comment = comment,
                        None => {
                            let apart = line_ends > 1 && !first;
                            self.rows.push(Row { depth, apart, content: Content::Nothing, comment });
                            first = false;
                        }
                    }
                    line_ends = 0;
                }
                _ => {
                    // What stands before this token are the words of the block's own first line.
                    let start = token.span.start;
                    while pairs.next_if(|pair| pair.as_span().start() < start).is_some() {}
                    let Some(pair) = pairs.next_if(|pair| pair.as_span().start() == start) else { return };
                    self.statement(pair, depth, line_ends > 1 && !first);
                    (line_ends, first) = (0, false);
                }
            }
        }
    }

    fn statement(&mut self, pair: Pair<'_, R>, depth: usize, apart: bool) {
        let span = pair.as_span();
        let end = span.start() + span.as_str().trim_end().len();
        let count = self.tokens[self.at..].partition_point(|token| token.span.start < end);
        let tokens = &self.tokens[self.at..self.at + count];
        if self.manner.blocks.contains(&pair.as_rule()) {
            return self.block(pair, tokens, depth, apart);
        }
        self.at += count;
        let columns = (self.manner.columns)(pair.as_rule());
        let rule_ends: Vec<usize> = pair.into_inner().map(|part| part.as_span().end()).collect();
        let lines = tokens.split(|token| token.kind == Kind::LineEnd);
        let (mut apart, mut open) = (apart, 0_usize);
        for (number, line) in lines.enumerate() {
            let (line, comment) = match line.split_last() {
                Some((last, line)) if last.kind == Kind::Comment => (line, Some(self.text(last).trim_end())),
                _ => (line, None),
            };
            if line.is_empty() && comment.is_none() {
                apart = true;
                continue;
            }
            let content = if number > 0 {
                let closing = line.iter().take_while(|token| self.is(token, ")")).count();
                Content::More(open.saturating_sub(closing), self.join(line))
            } else {
                Content::Cells(columns, self.cells(line, columns.each.len(), &rule_ends))
            };
            for token in line {
                open += usize::from(self.is(token, "("));
                open = open.saturating_sub(usize::from(self.is(token, ")")));
            }
            self.rows.push(Row { depth, apart, content, comment });
            apart = false;
        }
    }

    /// A statement's first line in cells: its first word, then one for each part that ends a column, then the rest.
    fn cells(&self, line: &[Token<R>], columns: usize, rule_ends: &[usize]) -> Vec<String> {
        let mut cells = Vec::new();
        let mut rest = line;
        for column in 0..columns {
            let count = match column {
                0 => 1,
                _ => {
                    let end = rule_ends.get(column).copied().unwrap_or(usize::MAX);
                    rest.partition_point(|token| token.span.start < end)
                }
            };
            if count >= rest.len() {
                break;
            }
            let (cell, after) = rest.split_at(count);
            cells.push(self.join(cell));
            rest = after;
        }
        cells.push(self.join(rest));
        cells
    }

    /// A block: on one line where it is written so, else a line for each of its statements.
    fn block(&mut self, pair: Pair<'_, R>, tokens: &'t [Token<R>], depth: usize, apart: bool) {
        let head = tokens.iter().position(|token| self.is(token, "{")).map_or(tokens.len(), |brace| brace + 1);
        let row = |text: String| Row { depth, apart, content: Content::Whole(text), comment: None };
        if !tokens.iter().any(|token| matches!(token.kind, Kind::LineEnd | Kind::Comment)) {
            self.at += tokens.len();
            let mut starts = pair.into_inner().map(|part| part.as_span().start()).peekable();
            let mut text = self.join(&tokens[..head]);
            let mut rest = &tokens[head..tokens.len().max(head + 1) - 1];
            let mut gap = " ";
            while let Some(first) = rest.first() {
                while starts.next_if(|start| *start <= first.span.start).is_some() {}
                let next = starts.peek().copied().unwrap_or(usize::MAX);
                let (statement, after) = rest.split_at(rest.partition_point(|token| token.span.start < next));
                text.push_str(gap);
                text.push_str(&self.join(statement));
                (rest, gap) = (after, "  ");
            }
            text.push_str(if gap == " " { "}" } else { " }" });
            self.rows.push(row(text));
            return;
        }
        let head_text = self.join(&tokens[..head]);
        self.at += head;
        self.rows.push(row(head_text));
        self.statements(pair.into_inner(), depth + 1);
        // The closing brace.
        self.at += 1;
        self.rows.push(Row { depth, apart: false, content: Content::Whole("}".into()), comment: None });
    }

    fn is(&self, token: &Token<R>, mark: &str) -> bool {
        token.kind == Kind::Plain && self.text(token) == mark
    }

    /// Tokens of one line, with a blank wherever one belongs.
    fn join(&self, tokens: &[Token<R>]) -> String {
        let mut text = String::new();
        for (number, token) in tokens.iter().enumerate() {
            if let Some(before) = number.checked_sub(1).map(|before| &tokens[before])
                && self.parted(before, token)
            {
                text.push(' ');
            }
            text.push_str(self.text(token));
        }
        text
    }

    fn parted(&self, before: &Token<R>, after: &Token<R>) -> bool {
        let is_leaf = |rules: &[R]| matches!(before.kind, Kind::Leaf(rule) if rules.contains(&rule));
        let joins = |token: &Token<R>, marks: &[&str]| marks.iter().any(|mark| self.is(token, mark));
        !(joins(before, &["(", "."])
            || joins(after, &[")", ",", "."])
            || is_leaf(&[self.manner.sign])
            || (self.is(after, "(") && is_leaf(self.manner.called)))
    }
}

fn width(text: &str) -> usize {
    text.chars().count()
}

/// The rows as text.
fn print(rows: &[Row<'_>], line_end: &str) -> String {
    let mut lines = Vec::with_capacity(rows.len());
    let mut start = 0;
    while start < rows.len() {
        let end = group_end(rows, start);
        lay_out(&rows[start..end], &mut lines);
        start = end;
    }
    align_comments(rows, &mut lines);
    let mut text = String::new();
    for (row, line) in rows.iter().zip(&lines) {
        if row.apart {
            text.push_str(line_end);
        }
        text.push_str(line.trim_end());
        text.push_str(line_end);
    }
    text
}

/// Where the rows end that share columns with the one at `start`: at a blank line, a brace or another block.
fn group_end(rows: &[Row<'_>], start: usize) -> usize {
    let parts = |row: &Row<'_>| row.apart || matches!(row.content, Content::Whole(_));
    let goes_on = |row: &&Row<'_>| !parts(row) || matches!(row.content, Content::More(..));
    if matches!(rows[start].content, Content::Whole(_)) {
        return start + 1;
    }
    start + 1 + rows[start + 1..].iter().take_while(goes_on).count()
}

/// The lines of rows that share columns, without their comments.
fn lay_out(rows: &[Row<'_>], lines: &mut Vec<String>) {
    let mut widest = 0;
    let mut statements = 0;
    // Of columns after the first, only statements of the same kind share one.
    let mut widths: HashMap<(&str, usize), usize> = HashMap::new();
    for row in rows {
        let Content::Cells(columns, cells) = &row.content else { continue };
        statements += 1;
        for (column, cell) in cells.iter().enumerate() {
            // What stands last has nothing after it to be parted from.
            if column + 1 == cells.len() && !columns.each.get(column).is_some_and(|column| column.ends(cell)) {
                continue;
            }
            let known = if column == 0 { &mut widest } else { widths.entry((columns.kind, column)).or_default() };
            let own = width(cell);
            if own <= WIDEST {
                *known = own.max(*known);
            }
        }
    }
    // Where a statement's last column begins, and with it what goes on below.
    let mut second = 0;
    for row in rows {
        let mut line = " ".repeat(row.depth * INDENT);
        match &row.content {
            Content::Whole(text) => line.push_str(text),
            Content::Nothing => {}
            Content::More(open, text) => {
                line = " ".repeat(second + open * INDENT);
                line.push_str(text);
            }
            Content::Cells(columns, cells) => {
                for (column, cell) in cells.iter().enumerate() {
                    let last = column + 1 == cells.len();
                    let Some(own) = columns.each.get(column).filter(|column| !last || column.ends(cell)) else {
                        // What goes on after a `=` stands below what follows it.
                        second = width(&line).min(WIDEST) + if cell.starts_with("= ") { INDENT } else { 0 };
                        line.push_str(cell);
                        break;
                    };
                    let wide = if column == 0 { widest } else { widths[&(columns.kind, column)] };
                    // One statement by itself, and those of no block, have nothing to be told from.
                    let gap = if column == 0 && (statements == 1 || row.depth == 0) { 1 } else { own.gap };
                    let ends = own.ends(cell);
                    let fill = wide.saturating_sub(width(cell));
                    let (before, after) = if ends { (fill, 0) } else { (0, fill) };
                    line.push_str(&" ".repeat(before));
                    line.push_str(cell);
                    line.push_str(&" ".repeat(after + gap));
                }
                if cells.len() == 1 {
                    second = (row.depth + 1) * INDENT;
                }
            }
        }
        lines.push(line);
    }
}

/// Adds comments to lines; those that end neighbouring lines begin at one place.
fn align_comments(rows: &[Row<'_>], lines: &mut [String]) {
    let ends_line = |at: usize| rows[at].comment.is_some() && !only_comment(&rows[at]);
    let brace = |at: usize| matches!(rows[at].content, Content::Whole(_));
    let mut start = 0;
    while start < rows.len() {
        let mut end = start + 1;
        if ends_line(start) {
            while end < rows.len() && ends_line(end) && !rows[end].apart && !brace(end) && !brace(start) {
                end += 1;
            }
            let widths = lines[start..end].iter().map(|line| width(line));
            let widest = widths.filter(|width| *width <= WIDEST).max().unwrap_or(0);
            for line in &mut lines[start..end] {
                line.push_str(&" ".repeat(widest.saturating_sub(width(line)) + COMMENT_GAP));
            }
        }
        for (row, line) in rows[start..end].iter().zip(&mut lines[start..end]) {
            line.push_str(row.comment.unwrap_or(""));
        }
        start = end;
    }
}

/// Whether a row holds nothing but its comment.
fn only_comment(row: &Row<'_>) -> bool {
    match &row.content {
        Content::Nothing => true,
        Content::More(_, text) => text.is_empty(),
        _ => false,
    }
}
