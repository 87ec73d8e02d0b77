//! Rule text to syntax tree.

use pest::Parser as _;
use pest::iterators::{Pair, Pairs};

use super::explain::LANGUAGE;
use super::tree::{
    Amend, Basis, Comparator, Expr, ExprKind, File, Function, Gathering, Line, Part, Path, Remedy, Rule as RuleTree,
    Statement, Step, SyntaxFault, Template, Word,
};
use crate::quantity;
use crate::source::Span;
use crate::syntax::{self, position, scan_brackets};

/// What pest makes of the grammar; its rules are explained there.
#[allow(missing_docs)]
mod grammar {
    /// pest's parser of the rule language.
    #[derive(pest_derive::Parser)]
    #[grammar = "../grammar/rules.pest"]
    pub struct RulesParser;
}
pub use grammar::{Rule, RulesParser};

/// Reads a rule pack's text. What can't be read stands in [`File::faults`].
pub fn parse(text: &str) -> File {
    let mut file = File::default();
    if let Err(fault) = scan_brackets(text, &mut file.faults) {
        file.faults.push(fault);
        return file;
    }
    match RulesParser::parse(Rule::file, text) {
        Ok(mut pairs) => {
            let mut builder = Builder { text, faults: std::mem::take(&mut file.faults) };
            for pair in pairs.next().into_iter().flat_map(Pair::into_inner) {
                file.statements.extend(builder.statement(pair));
            }
            file.faults = builder.faults;
        }
        Err(error) => file.faults.push(LANGUAGE.whole_file(text, &error)),
    }
    file.faults.sort_by_key(|fault| (fault.span, fault.message.clone()));
    file
}

fn word(pair: &Pair<'_, Rule>, shift: usize) -> Word {
    let span = pair.as_span();
    let text = pair.as_str();
    let text = if pair.as_rule() == Rule::text { text.get(1..text.len() - 1).unwrap_or("") } else { text };
    Word { text: text.to_string(), span: Span::new(span.start() + shift..span.end() + shift) }
}

/// The parts of a construct, keywords left out; spans are moved by `shift`, since texts are parsed on their own.
struct Parts<'i> {
    pairs: std::iter::Peekable<Pairs<'i, Rule>>,
    shift: usize,
}

impl<'i> Parts<'i> {
    fn of(pair: Pair<'i, Rule>, shift: usize) -> Self {
        Parts { pairs: pair.into_inner().peekable(), shift }
    }

    /// The keywords stand last in the grammar, so that a rule tells by its place whether it is one.
    fn peek(&mut self) -> Option<Rule> {
        while self.pairs.peek().is_some_and(|pair| pair.as_rule() as usize >= Rule::rule_word as usize) {
            self.pairs.next();
        }
        self.pairs.peek().map(Pair::as_rule)
    }

    fn any(&mut self) -> Option<Pair<'i, Rule>> {
        self.peek();
        self.pairs.next()
    }

    fn if_is(&mut self, rule: Rule) -> Option<Pair<'i, Rule>> {
        (self.peek() == Some(rule)).then(|| self.pairs.next()).flatten()
    }

    fn word(&mut self) -> Option<Word> {
        let shift = self.shift;
        self.any().map(|pair| word(&pair, shift))
    }

    fn texts(&mut self) -> Vec<Word> {
        let mut texts = Vec::new();
        while let Some(pair) = self.if_is(Rule::text) {
            texts.push(word(&pair, self.shift));
        }
        texts
    }

    fn expr(&mut self) -> Option<Expr> {
        let shift = self.shift;
        self.any().and_then(|pair| expr(pair, shift))
    }

    fn path(&mut self) -> Option<Path> {
        let shift = self.shift;
        self.any().and_then(|pair| path(pair, shift))
    }
}

fn tight(pair: &Pair<'_, Rule>, shift: usize) -> Span {
    let span = syntax::tight(pair.as_span());
    Span::new(span.start as usize + shift..span.end as usize + shift)
}

fn path(pair: Pair<'_, Rule>, shift: usize) -> Option<Path> {
    let span = tight(&pair, shift);
    let steps = pair
        .into_inner()
        .map(|step| {
            let mut parts = Parts::of(step, shift);
            let name = parts.word()?;
            let arguments =
                parts.if_is(Rule::arguments).map_or_else(|| Some(Vec::new()), |pair| arguments(pair, shift))?;
            Some(Step { name, arguments })
        })
        .collect::<Option<Vec<_>>>()?;
    Some(Path { steps, span })
}

fn arguments(pair: Pair<'_, Rule>, shift: usize) -> Option<Vec<Expr>> {
    pair.into_inner().map(|argument| expr(argument, shift)).collect()
}

/// An expression; the depth of the recursion is the depth of its parentheses, which the bracket scan bounds.
fn expr(pair: Pair<'_, Rule>, shift: usize) -> Option<Expr> {
    let span = tight(&pair, shift);
    let rule = pair.as_rule();
    let text = pair.as_str().trim_end();
    let kind = match rule {
        Rule::expr => return expr(pair.into_inner().next()?, shift),
        Rule::if_expr => {
            let mut parts = Parts::of(pair, shift);
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
            let mut parts = Parts::of(pair, shift);
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
            let mut parts = Parts::of(pair, shift);
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
            let mut inner = pair.into_inner();
            let left = expr(inner.next()?, shift)?;
            let Some(comparator) = inner.next() else { return Some(left) };
            let comparator = match comparator.as_str() {
                "<" => Comparator::Less,
                "<=" => Comparator::AtMost,
                ">" => Comparator::More,
                ">=" => Comparator::AtLeast,
                "=" => Comparator::Equal,
                _ => Comparator::Different,
            };
            ExprKind::Compare(comparator, Box::new(left), Box::new(expr(inner.next()?, shift)?))
        }
        Rule::sum | Rule::product => {
            let mut inner = pair.into_inner();
            let first = expr(inner.next()?, shift)?;
            if inner.is_empty() {
                return Some(first);
            }
            let inverse = if rule == Rule::sum { "-" } else { "/" };
            let mut list = vec![(false, first)];
            while let (Some(sign), Some(operand)) = (inner.next(), inner.next()) {
                list.push((sign.as_str() == inverse, expr(operand, shift)?));
            }
            if rule == Rule::sum { ExprKind::Sum(list) } else { ExprKind::Product(list) }
        }
        Rule::signed => {
            let mut negative = false;
            let mut inner = pair.into_inner();
            let value = loop {
                let part = inner.next()?;
                if part.as_rule() != Rule::sign {
                    break expr(part, shift)?;
                }
                negative ^= part.as_str() == "-";
            };
            match (negative, value.kind) {
                (true, ExprKind::Number(number, unit)) => ExprKind::Number(-number, unit),
                (true, kind) => ExprKind::Negated(Box::new(Expr { kind, span: value.span })),
                (false, kind) => kind,
            }
        }
        Rule::quantity => {
            let mut inner = pair.into_inner();
            let number = inner.next()?.as_str().parse().unwrap_or(f64::INFINITY);
            ExprKind::Number(number, inner.next().and_then(|unit| quantity::unit_named(unit.as_str())))
        }
        Rule::date => ExprKind::Date(text.to_string()),
        Rule::text => ExprKind::Text(word(&pair, shift).text),
        Rule::truth => ExprKind::Truth(text == "true"),
        Rule::path => ExprKind::Path(path(pair, shift)?),
        Rule::has => ExprKind::Has(Parts::of(pair, shift).path()?),
        Rule::call => {
            let mut inner = pair.into_inner();
            let function = match inner.next()?.as_str() {
                "min" => Function::Min,
                "max" => Function::Max,
                "abs" => Function::Abs,
                _ => Function::Sqrt,
            };
            ExprKind::Call(function, arguments(inner.next()?, shift)?)
        }
        _ => {
            let has_condition = pair.clone().into_inner().any(|part| part.as_rule() == Rule::where_word);
            let mut parts = Parts::of(pair, shift);
            let gathering = match parts.any()?.as_str() {
                "count" => Gathering::Count,
                "sum" => Gathering::Sum,
                "least" => Gathering::Least,
                "greatest" => Gathering::Greatest,
                "any" => Gathering::Any,
                _ => Gathering::All,
            };
            let name = parts.word()?;
            let collection = parts.path()?;
            let condition = if has_condition { Some(Box::new(parts.expr()?)) } else { None };
            let value = if parts.peek().is_some() { Some(Box::new(parts.expr()?)) } else { None };
            ExprKind::Gather { gathering, name, collection, condition, value }
        }
    };
    Some(Expr { kind, span })
}

struct Builder<'i> {
    text: &'i str,
    faults: Vec<SyntaxFault>,
}

impl<'i> Builder<'i> {
    fn skipped(&mut self, pair: &Pair<'i, Rule>, context: Rule) {
        if self.faults.len() >= syntax::MOST_FAULTS {
            return;
        }
        let span = pair.as_span();
        self.faults.push(LANGUAGE.skipped(self.text, Span::new(span.start()..span.end()), context));
    }

    fn statement(&mut self, pair: Pair<'i, Rule>) -> Option<Statement> {
        let rule = pair.as_rule();
        let span = syntax::head(pair.as_span());
        match rule {
            Rule::EOI => return None,
            Rule::skipped => {
                self.skipped(&pair, Rule::file_line);
                return None;
            }
            Rule::stray => {
                self.faults.push(syntax::stray_brace(tight(&pair, 0)));
                return None;
            }
            _ => {}
        }
        let context = if rule == Rule::rule_block { Rule::rule_line } else { Rule::amend_line };
        let mut parts = Parts::of(pair, 0);
        let name = parts.word()?;
        let mut lines = Vec::new();
        let faults = self.faults.len();
        for pair in parts.pairs {
            if pair.as_rule() == Rule::skipped {
                self.skipped(&pair, context);
            } else {
                let span = tight(&pair, 0);
                lines.extend(self.line(pair).map(|line| (line, span)));
            }
        }
        Some(if rule == Rule::rule_block {
            Statement::Rule(RuleTree { name, lines, broken: self.faults.len() > faults, span })
        } else {
            Statement::Amend(Amend { name, lines })
        })
    }

    fn line(&mut self, pair: Pair<'i, Rule>) -> Option<Line> {
        let rule = pair.as_rule();
        let mut parts = Parts::of(pair, 0);
        Some(match rule {
            Rule::about => Line::About(parts.texts()),
            Rule::why => Line::Why(parts.texts()),
            Rule::severity => Line::Severity(parts.word()?),
            Rule::basis => {
                let pair = parts.any()?;
                Line::Basis(match pair.as_rule() {
                    Rule::practice => Basis::Practice,
                    Rule::maker => Basis::Maker,
                    _ => {
                        let mut parts = Parts::of(pair, 0);
                        let title = parts.word()?;
                        Basis::Standard(title, parts.peek().and_then(|_| parts.word()))
                    }
                })
            }
            Rule::memory => Line::Memory(parts.word()?.text == "yes"),
            Rule::limit => Line::Limit { name: parts.word()?, value: parts.expr()?, meaning: parts.texts() },
            Rule::check => Line::Check {
                name: parts.word()?,
                collection: parts.path()?,
                condition: parts.peek().and_then(|_| parts.expr()),
            },
            Rule::condition => Line::Where(parts.expr()?),
            Rule::value => Line::Let(parts.word()?, parts.expr()?),
            Rule::needs => Line::Needs(parts.path()?),
            Rule::require => Line::Require(parts.expr()?),
            Rule::message | Rule::advice => {
                let condition = parts.if_is(Rule::expr).and_then(|pair| expr(pair, 0));
                let template = self.template(&parts.texts());
                if rule == Rule::message {
                    Line::Message(condition, template)
                } else {
                    Line::Advice(condition, template)
                }
            }
            Rule::remedy => {
                let condition = parts.if_is(Rule::expr).and_then(|pair| expr(pair, 0));
                let pair = parts.any()?;
                let rule = pair.as_rule();
                let mut parts = Parts::of(pair, 0);
                let path = parts.path()?;
                let remedy = match rule {
                    Rule::move_run => Remedy::Move(path, parts.expr()?, parts.path()?),
                    Rule::put_sensor => Remedy::Put(path, parts.path()?),
                    Rule::step_loops => Remedy::Step(path, parts.expr()?),
                    _ => Remedy::TakeOut(path),
                };
                Line::Remedy(condition, remedy)
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
                    self.faults.push(SyntaxFault {
                        span: Span::new(at..at + 1),
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
                    self.faults.push(SyntaxFault { span: place, ..fault });
                    rest = &rest[close + 1..];
                    continue;
                }
                match RulesParser::parse(Rule::in_text, inner) {
                    Ok(mut pairs) => {
                        let whole = pairs.next().and_then(|pair| pair.into_inner().next());
                        parts.extend(whole.and_then(|pair| expr(pair, at + 1)).map(Part::Expr));
                    }
                    Err(error) => {
                        let start = at + 1 + position(&error);
                        self.faults.push(SyntaxFault {
                            span: syntax::word_at(self.text, start),
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
