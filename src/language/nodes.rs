//! What a parser made of a text, in one piece: every rule that matched, in the order of the text, and where its parts end.
//!
//! pest's own pairs count their parts and hold on to what they share each time they are gone into; a tree is made of tens of thousands
//! of them, and this goes through its tokens once.

use std::borrow::Cow;

use pest::iterators::Pairs;
use pest::{RuleType, Token};

use super::Word;
use super::brackets::NEVER_CLOSED;
use crate::source::Span;

/// A text as pest is shown it, with a blank for each tab: what is read of it is read at the same places, and in a text between quotation marks
/// a tab stays one.
///
/// ```
/// let file = layrule::layout::parse("room\tr \"Boot\troom\" {\n\tinside\t21\tdegC\n}\n");
/// assert!(file.faults.is_empty());
/// assert!(format!("{:?}", file.statements).contains(r"Boot\troom"));
/// ```
pub fn with_blanks(text: &str) -> Cow<'_, str> {
    if text.contains('\t') { Cow::Owned(text.replace('\t', " ")) } else { Cow::Borrowed(text) }
}

/// A text with every rule that matched in it.
#[derive(Debug)]
pub struct Nodes<'i, R> {
    text: &'i str,
    /// Where in its file the text begins.
    base: usize,
    list: Vec<Matched<R>>,
}

/// A rule that matched a stretch of the text; its parts stand behind it, up to `next`.
#[derive(Debug)]
struct Matched<R> {
    rule: R,
    span: Span,
    next: usize,
}

impl<'i, R: RuleType> Nodes<'i, R> {
    /// All that `pairs` hold of `text`, or of it [`with_blanks`], which begins at `base` in its file, but for rules without parts that are not
    /// `wanted`.
    pub fn new(text: &'i str, base: usize, pairs: Pairs<'_, R>, wanted: impl Fn(R) -> bool) -> Self {
        let tokens = pairs.tokens();
        let mut list: Vec<Matched<R>> = Vec::with_capacity(tokens.len() / 2);
        let mut open: Vec<usize> = Vec::new();
        for token in tokens {
            match token {
                Token::Start { rule, pos } if wanted(rule) => {
                    open.push(list.len());
                    let start = pos.pos() + base;
                    list.push(Matched { rule, span: Span::new(start..start), next: 0 });
                }
                Token::End { rule, pos } if wanted(rule) => {
                    let next = list.len();
                    if let Some(matched) = open.pop().and_then(|at| list.get_mut(at)) {
                        matched.span = Span::new(matched.span.start()..pos.pos() + base);
                        matched.next = next;
                    }
                }
                Token::Start { .. } | Token::End { .. } => {}
            }
        }
        Nodes { text, base, list }
    }

    /// The outermost rules.
    pub fn roots(&self) -> Parts<'_, R> {
        Parts { nodes: self, at: 0, end: self.list.len() }
    }
}

/// One rule that matched.
#[derive(Debug)]
pub struct Node<'n, R> {
    nodes: &'n Nodes<'n, R>,
    at: usize,
}

impl<R> Clone for Node<'_, R> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<R> Copy for Node<'_, R> {}

impl<'n, R: RuleType> Node<'n, R> {
    /// The rule.
    pub fn rule(self) -> R {
        self.nodes.list[self.at].rule
    }

    /// Where it matched.
    pub fn span(self) -> Span {
        self.nodes.list[self.at].span
    }

    /// What it matched.
    pub fn text(self) -> &'n str {
        let range = self.span().range();
        self.nodes.text.get(range.start - self.nodes.base..range.end - self.nodes.base).unwrap_or("")
    }

    /// What matched within it, in order.
    pub fn parts(self) -> Parts<'n, R> {
        Parts { nodes: self.nodes, at: self.at + 1, end: self.nodes.list[self.at].next }
    }

    /// Where it matched, less the blanks it may end with.
    pub fn tight(self) -> Span {
        let range = self.span().range();
        let text = self.text();
        let blanks = text.len() - text.trim_end().len();
        Span::new(range.start..range.end - blanks)
    }

    /// What it matched as a word, a text without its quotes.
    pub fn word(self) -> Word {
        let text = self.text();
        let bare = text.strip_prefix('"').and_then(|text| text.strip_suffix('"')).unwrap_or(text);
        Word { text: bare.to_string(), span: self.span() }
    }

    /// The first line of a block, up to its brace.
    pub fn head(self) -> Span {
        let text = self.text();
        let line = text.find(['{', NEVER_CLOSED, '\n']).map_or(text, |end| &text[..end]);
        let start = self.span().start();
        Span::new(start..start + line.trim_end().len())
    }
}

/// Rules that matched one after another within another.
#[derive(Debug)]
pub struct Parts<'n, R> {
    nodes: &'n Nodes<'n, R>,
    at: usize,
    end: usize,
}

impl<R> Clone for Parts<'_, R> {
    fn clone(&self) -> Self {
        Parts { ..*self }
    }
}

impl<'n, R: RuleType> Parts<'n, R> {
    /// The next of them, which stays the next.
    pub fn peek(&self) -> Option<Node<'n, R>> {
        (self.at < self.end).then_some(Node { nodes: self.nodes, at: self.at })
    }

    /// The next of them where it is of this rule.
    pub fn if_is(&mut self, rule: R) -> Option<Node<'n, R>> {
        self.peek().filter(|node| node.rule() == rule).inspect(|_| {
            self.next();
        })
    }

    /// All that come next of this rule.
    pub fn all_of(&mut self, rule: R) -> impl Iterator<Item = Node<'n, R>> + '_ {
        std::iter::from_fn(move || self.if_is(rule))
    }

    /// The next of them as a word.
    pub fn word(&mut self) -> Option<Word> {
        self.next().map(Node::word)
    }

    /// The next of them as a word where it is of this rule.
    pub fn word_if(&mut self, rule: R) -> Option<Word> {
        self.if_is(rule).map(Node::word)
    }
}

impl<'n, R: RuleType> Iterator for Parts<'n, R> {
    type Item = Node<'n, R>;

    fn next(&mut self) -> Option<Self::Item> {
        let node = self.peek()?;
        self.at = self.nodes.list[node.at].next;
        Some(node)
    }
}
