//! Rule text to syntax tree.

use pest::Parser as _;
use pest::error::Error;

use super::explain::LANGUAGE;
use super::tree::{
    Amend, Basis, Comparator, Expr, ExprKind, File, Function, Gathering, Line, Part, Path, Remedy, Rule as RuleTree,
    Statement, Step, SyntaxFault, Template, Word,
};
use crate::quantity;
use crate::source::Span;
use crate::syntax::nodes::{self, Nodes};
use crate::syntax::{self, Faults, position, scan_brackets};

/// What pest makes of the grammar; its rules are explained there.
#[allow(missing_docs)]
mod grammar {
    /// pest's parser of the rule language.
    #[derive(pest_derive::Parser)]
    #[grammar = "../grammar/rules.pest"]
    pub struct RulesParser;
}
pub use grammar::{Rule, RulesParser};

/// The largest rule pack that is read, bytes: more than a thousand rules.
pub const LARGEST: usize = 1024 * 1024;

/// Reads a rule pack's text. What can't be read stands in [`File::faults`].
pub fn parse(text: &str) -> File {
    let mut file = File::default();
    if text.len() > LARGEST {
        file.faults.push(SyntaxFault {
            span: syntax::word_at(text, 0),
            message: format!("a rule pack holds {} KiB at the most, and this one more; it is not read", LARGEST / 1024),
            label: "here".into(),
            instead: None,
            help: Some("split it by themes".into()),
        });
        return file;
    }
    let shown = match scan_brackets(text, &mut file.faults) {
        Ok(shown) => shown,
        Err(fault) => {
            file.faults.push(fault);
            return file;
        }
    };
    match nodes(Rule::file, &shown, 0) {
        Ok(nodes) => {
            let mut builder = Builder { text, faults: Faults::new(std::mem::take(&mut file.faults)) };
            for node in nodes.roots().flat_map(Node::parts) {
                file.statements.extend(builder.statement(node));
            }
            file.faults = builder.faults.told();
        }
        Err(error) => file.faults.push(LANGUAGE.whole_file(text, &error)),
    }
    file
}

/// What pest makes of a text by one rule, keywords left out but for the one that tells a condition; they stand last in the grammar. The
/// text begins at `base` in its file.
fn nodes(rule: Rule, text: &str, base: usize) -> Result<Nodes<'_, Rule>, Box<Error<Rule>>> {
    let pairs = RulesParser::parse(rule, text)?;
    let wanted = |rule: Rule| (rule as usize) < Rule::rule_word as usize || rule == Rule::where_word;
    Ok(Nodes::new(text, base, pairs, wanted))
}

type Node<'n> = nodes::Node<'n, Rule>;
type Parts<'n> = nodes::Parts<'n, Rule>;

impl Parts<'_> {
    fn texts(&mut self) -> Vec<Word> {
        self.all_of(Rule::text).map(Node::word).collect()
    }

    fn expr(&mut self) -> Option<Expr> {
        self.next().and_then(expr)
    }

    fn path(&mut self) -> Option<Path> {
        self.next().and_then(path)
    }

    /// What follows `where`, if that is next.
    fn condition(&mut self) -> Option<Option<Expr>> {
        if self.if_is(Rule::where_word).is_some() { Some(Some(self.expr()?)) } else { Some(None) }
    }
}

fn path(node: Node<'_>) -> Option<Path> {
    let span = node.tight();
    let steps = node
        .parts()
        .map(|step| {
            let mut parts = step.parts();
            let name = parts.word()?;
            let arguments = parts.if_is(Rule::arguments).map_or_else(|| Some(Vec::new()), arguments)?;
            Some(Step { name, arguments })
        })
        .collect::<Option<Vec<_>>>()?;
    Some(Path { steps, span })
}

fn arguments(node: Node<'_>) -> Option<Vec<Expr>> {
    node.parts().map(expr).collect()
}

/// An expression; the depth of the recursion is the depth of its parentheses, which the bracket scan bounds.
fn expr(node: Node<'_>) -> Option<Expr> {
    let span = node.tight();
    let rule = node.rule();
    let text = node.text().trim_end();
    let kind = match rule {
        Rule::expr => return expr(node.parts().next()?),
        Rule::if_expr => {
            let mut parts = node.parts();
            let mut values = Vec::new();
            while parts.peek().is_some() {
                values.push(parts.expr()?);
            }
            let otherwise = values.pop()?;
            let mut values = values.into_iter();
            let mut cases = Vec::new();
            while let (Some(condition), Some(value)) = (values.next(), values.next()) {
                cases.push((condition, value));
            }
            ExprKind::If(cases, Box::new(otherwise))
        }
        Rule::or_expr | Rule::and_expr => {
            let mut parts = node.parts();
            let mut list = Vec::new();
            while parts.peek().is_some() {
                list.push(parts.expr()?);
            }
            if list.len() == 1 {
                return list.pop();
            }
            if rule == Rule::or_expr { ExprKind::Or(list) } else { ExprKind::And(list) }
        }
        Rule::not_expr => {
            let mut parts = node.parts();
            let mut negative = false;
            while parts.if_is(Rule::negation).is_some() {
                negative = !negative;
            }
            let value = parts.expr()?;
            if !negative {
                return Some(value);
            }
            ExprKind::Not(Box::new(value))
        }
        Rule::comparison => {
            let mut inner = node.parts();
            let left = expr(inner.next()?)?;
            let Some(comparator) = inner.next() else { return Some(left) };
            let comparator = match comparator.text() {
                "<" => Comparator::Less,
                "<=" => Comparator::AtMost,
                ">" => Comparator::More,
                ">=" => Comparator::AtLeast,
                "=" => Comparator::Equal,
                _ => Comparator::Different,
            };
            ExprKind::Compare(comparator, Box::new(left), Box::new(expr(inner.next()?)?))
        }
        Rule::sum | Rule::product => {
            let mut inner = node.parts();
            let first = expr(inner.next()?)?;
            if inner.peek().is_none() {
                return Some(first);
            }
            let inverse = if rule == Rule::sum { "-" } else { "/" };
            let mut list = vec![(false, first)];
            while let (Some(sign), Some(operand)) = (inner.next(), inner.next()) {
                list.push((sign.text() == inverse, expr(operand)?));
            }
            if rule == Rule::sum { ExprKind::Sum(list) } else { ExprKind::Product(list) }
        }
        Rule::signed => {
            let mut negative = false;
            let mut inner = node.parts();
            let value = loop {
                let part = inner.next()?;
                if part.rule() != Rule::sign {
                    break expr(part)?;
                }
                negative ^= part.text() == "-";
            };
            match (negative, value.kind) {
                (true, ExprKind::Number(number, unit)) => ExprKind::Number(-number, unit),
                (true, kind) => ExprKind::Negated(Box::new(Expr { kind, span: value.span })),
                (false, kind) => kind,
            }
        }
        Rule::quantity => {
            let mut inner = node.parts();
            let number = inner.next()?.text().parse().unwrap_or(f64::INFINITY);
            ExprKind::Number(number, inner.next().and_then(|unit| quantity::unit_named(unit.text())))
        }
        Rule::date => ExprKind::Date(text.to_string()),
        Rule::text => ExprKind::Text(node.word().text),
        Rule::truth => ExprKind::Truth(text == "true"),
        Rule::path => ExprKind::Path(path(node)?),
        Rule::has => ExprKind::Has(node.parts().path()?),
        Rule::call => {
            let mut inner = node.parts();
            let function = match inner.next()?.text() {
                "min" => Function::Min,
                "max" => Function::Max,
                "abs" => Function::Abs,
                "round-up" => Function::RoundUp,
                _ => Function::Sqrt,
            };
            ExprKind::Call(function, arguments(inner.next()?)?)
        }
        _ => {
            let mut parts = node.parts();
            let gathering = match parts.next()?.text() {
                "count" => Gathering::Count,
                "sum" => Gathering::Sum,
                "least" => Gathering::Least,
                "greatest" => Gathering::Greatest,
                "any" => Gathering::Any,
                _ => Gathering::All,
            };
            let name = parts.word()?;
            let collection = parts.path()?;
            let condition = parts.condition()?.map(Box::new);
            let value = if parts.peek().is_some() { Some(Box::new(parts.expr()?)) } else { None };
            ExprKind::Gather { gathering, name, collection, condition, value }
        }
    };
    Some(Expr { kind, span })
}

/// A change that a remedy makes.
fn change(node: Node<'_>) -> Option<Remedy> {
    let rule = node.rule();
    let mut parts = node.parts();
    let path = parts.path()?;
    Some(match rule {
        Rule::move_run => Remedy::Move(path, parts.expr()?, parts.path()?),
        Rule::put_sensor => Remedy::Put(path, parts.path()?),
        Rule::lead_in => Remedy::LeadIn(path, parts.expr()?),
        Rule::step_loops => Remedy::Step(path, parts.expr()?),
        Rule::lay_anew => {
            let first = parts.expr()?;
            let (kits, clear) = match parts.peek() {
                Some(_) => (Some(first), parts.expr()?),
                None => (None, first),
            };
            Remedy::LayAnew { cables: path, kits, clear }
        }
        Rule::choose_kit => Remedy::ChooseKit(path, parts.expr()?),
        Rule::insulate => Remedy::Insulate(path, parts.expr()?),
        _ => Remedy::TakeOut(path),
    })
}

struct Builder<'i> {
    text: &'i str,
    faults: Faults,
}

impl<'i> Builder<'i> {
    fn skipped(&mut self, node: Node<'_>, context: Rule) {
        self.faults.add(node.span(), || LANGUAGE.skipped(self.text, node.span(), context));
    }

    fn statement(&mut self, node: Node<'_>) -> Option<Statement> {
        let rule = node.rule();
        let span = node.head();
        match rule {
            Rule::EOI => return None,
            Rule::skipped => {
                self.skipped(node, Rule::file_line);
                return None;
            }
            Rule::stray => {
                self.faults.add(node.tight(), || syntax::stray_brace(node.tight()));
                return None;
            }
            _ => {}
        }
        let context = if rule == Rule::rule_block { Rule::rule_line } else { Rule::amend_line };
        let mut parts = node.parts();
        let name = parts.word()?;
        let mut lines = Vec::new();
        let faults = self.faults.count();
        for node in parts {
            if node.rule() == Rule::skipped {
                self.skipped(node, context);
            } else {
                let span = node.tight();
                match self.line(node) {
                    Some(line) => lines.push((line, span)),
                    None => self.faults.add(span, || syntax::unread_line(span)),
                }
            }
        }
        Some(if rule == Rule::rule_block {
            Statement::Rule(RuleTree { name, lines, broken: self.faults.count() > faults, span })
        } else {
            Statement::Amend(Amend { name, lines })
        })
    }

    fn line(&mut self, node: Node<'_>) -> Option<Line> {
        let rule = node.rule();
        let mut parts = node.parts();
        parts.if_is(Rule::where_word);
        Some(match rule {
            Rule::about => Line::About(parts.texts()),
            Rule::why => Line::Why(parts.texts()),
            Rule::severity => Line::Severity(parts.word()?),
            Rule::basis => {
                let node = parts.next()?;
                Line::Basis(match node.rule() {
                    Rule::practice => Basis::Practice,
                    Rule::maker => Basis::Maker,
                    _ => {
                        let mut parts = node.parts();
                        let title = parts.word()?;
                        Basis::Standard(title, parts.peek().and_then(|_| parts.word()))
                    }
                })
            }
            Rule::memory => Line::Memory(parts.word()?.text == "yes"),
            Rule::binding => Line::Binding,
            Rule::unless => Line::Unless(parts.map(Node::word).collect()),
            Rule::limit => Line::Limit { name: parts.word()?, value: parts.expr()?, meaning: parts.texts() },
            Rule::check => {
                Line::Check { name: parts.word()?, collection: parts.path()?, condition: parts.condition()? }
            }
            Rule::condition => Line::Where(parts.expr()?),
            Rule::value => Line::Let(parts.word()?, parts.expr()?),
            Rule::needs => Line::Needs(parts.path()?),
            Rule::require => Line::Require(parts.expr()?),
            Rule::message | Rule::advice => {
                let condition = parts.if_is(Rule::expr).and_then(expr);
                let template = self.template(&parts.texts());
                if rule == Rule::message {
                    Line::Message(condition, template)
                } else {
                    Line::Advice(condition, template)
                }
            }
            Rule::remedy => {
                let condition = parts.if_is(Rule::expr).and_then(expr);
                let remedy = change(parts.next()?)?;
                let texts = parts.texts();
                Line::Remedy(condition, remedy, (!texts.is_empty()).then(|| self.template(&texts)))
            }
            _ => {
                let path = parts.path()?;
                let texts = parts.texts();
                Line::Point(path, (!texts.is_empty()).then(|| self.template(&texts)))
            }
        })
    }

    /// Texts, joined by blanks, with the expressions between their braces.
    fn template(&mut self, texts: &[Word]) -> Template {
        let span = match (texts.first(), texts.last()) {
            (Some(first), Some(last)) => first.span.to(last.span),
            _ => Span::default(),
        };
        let mut parts = Vec::new();
        for (number, text) in texts.iter().enumerate() {
            if number > 0 {
                parts.push(Part::Text(" ".into()));
            }
            // The text without its opening quotation mark begins one byte after the word's span.
            let base = text.span.start as usize + 1;
            let mut rest = text.text.as_str();
            while let Some(open) = rest.find('{') {
                let at = base + (text.text.len() - rest.len()) + open;
                if open > 0 {
                    parts.push(Part::Text(rest[..open].to_string()));
                }
                let Some(close) = rest[open..].find('}').map(|close| open + close) else {
                    let span = Span::new(at..at + 1);
                    self.faults.add(span, || SyntaxFault {
                        span,
                        message: "this brace is never closed in its text".into(),
                        label: "opened here".into(),
                        instead: None,
                        help: Some("what stands in a text as `{EXPRESSION}` is worked out".into()),
                    });
                    rest = "";
                    break;
                };
                let inner = &rest[open + 1..close];
                if let Err(fault) = scan_brackets(inner, &mut Vec::new()) {
                    let place = Span::new(at..at + 1);
                    self.faults.add(place, || SyntaxFault { span: place, ..fault });
                    rest = &rest[close + 1..];
                    continue;
                }
                match nodes(Rule::in_text, inner, at + 1) {
                    Ok(nodes) => {
                        let whole = nodes.roots().next().and_then(|node| node.parts().next());
                        parts.extend(whole.and_then(expr).map(Part::Expr));
                    }
                    Err(error) => {
                        let start = at + 1 + position(&error);
                        let span = syntax::word_at(self.text, start);
                        self.faults.add(span, || SyntaxFault {
                            span,
                            message: format!("`{inner}` is no expression"),
                            label: "this can't be read".into(),
                            instead: None,
                            help: Some("what stands in a text as `{EXPRESSION}` is worked out".into()),
                        });
                    }
                }
                rest = &rest[close + 1..];
            }
            if !rest.is_empty() {
                parts.push(Part::Text(rest.to_string()));
            }
        }
        Template { parts, span }
    }
}
