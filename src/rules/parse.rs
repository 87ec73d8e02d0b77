//! Rule text to syntax tree.

use pest::Parser as _;
use pest::error::Error;

use super::caps::LARGEST;
use super::explain::LANGUAGE;
use super::faults::Fault;
use super::grammar::{Rule, RulesParser};
use super::tree::{
    Amend, Basis, Comparator, Expr, ExprKind, File, Gathering, Line, Operand, Part, Path, Remedy, Rule as RuleTree,
    ShownIn, Statement, Step, SyntaxFault, Template, Word,
};
use crate::language::arithmetic::Function;
use crate::language::brackets::scan_brackets;
use crate::language::expected::position;
use crate::language::expression::{self, Rules};
use crate::language::faults::{Faults, Unread};
use crate::language::nodes::{self, Nodes};
use crate::language::word_at;
use crate::quantity::unit_named;
use crate::source::Span;
use crate::worded::Worded as _;

/// Reads a rule pack's text. What can't be read stands in [`File::faults`].
pub fn parse(text: &str) -> File {
    let mut file = File::default();
    if text.len() > LARGEST {
        file.faults.push(Fault::PackTooLarge.at(word_at(text, 0)));
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
    let shown = nodes::with_blanks(text);
    let pairs = RulesParser::parse(rule, &shown)?;
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

/// What sums are made of.
const ARITHMETIC: Rules<Rule> =
    Rules { operator: Rule::operator, sign: Rule::sign, number: Rule::number, unit: Rule::unit };

/// An expression; the depth of the recursion is the depth of its parentheses, which the bracket scan bounds.
fn expr(node: Node<'_>) -> Option<Expr> {
    let text = node.text().trim_end();
    let operand = match node.rule() {
        Rule::expr | Rule::bracketed => return expr(node.parts().next()?),
        Rule::sum => return expression::sum(node, &ARITHMETIC, expr),
        Rule::or_expr => return joined(node, Operand::Or),
        Rule::and_expr => return joined(node, Operand::And),
        Rule::not_expr => return negation(node),
        Rule::comparison => return comparison(node),
        Rule::if_expr => choice(node)?,
        Rule::date => Operand::Date(text.to_string()),
        Rule::text => Operand::Text(node.word().text),
        Rule::truth => Operand::Truth(text == "true"),
        Rule::path => Operand::Path(path(node)?),
        Rule::has => Operand::Has(node.parts().path()?),
        Rule::call => {
            let mut parts = node.parts();
            Operand::Call(Function::of_word(parts.next()?.text())?, arguments(parts.next()?)?)
        }
        _ => gathering(node)?,
    };
    Some(operand_at(node, operand))
}

fn operand_at(node: Node<'_>, operand: Operand) -> Expr {
    Expr { kind: ExprKind::Operand(operand), span: node.tight() }
}

/// `a and b and …` or `a or b or …`; one alone stands for itself.
fn joined(node: Node<'_>, join: fn(Vec<Expr>) -> Operand) -> Option<Expr> {
    let mut list = arguments(node)?;
    if list.len() == 1 { list.pop() } else { Some(operand_at(node, join(list))) }
}

/// What follows `not`, however often that stands there.
fn negation(node: Node<'_>) -> Option<Expr> {
    let mut parts = node.parts();
    let negations = parts.all_of(Rule::negation).count();
    let value = parts.expr()?;
    Some(if negations.is_multiple_of(2) { value } else { operand_at(node, Operand::Not(Box::new(value))) })
}

/// `a < b`; what is compared with nothing stands for itself.
fn comparison(node: Node<'_>) -> Option<Expr> {
    let mut parts = node.parts();
    let left = parts.expr()?;
    let Some(comparator) = parts.next() else { return Some(left) };
    let comparator = Comparator::of_word(comparator.text())?;
    Some(operand_at(node, Operand::Compare(comparator, Box::new(left), Box::new(parts.expr()?))))
}

/// `if c then a else if d then b else …`
fn choice(node: Node<'_>) -> Option<Operand> {
    let mut values = arguments(node)?;
    let otherwise = values.pop()?;
    let mut values = values.into_iter();
    let mut cases = Vec::new();
    while let (Some(condition), Some(value)) = (values.next(), values.next()) {
        cases.push((condition, value));
    }
    Some(Operand::If(cases, Box::new(otherwise)))
}

/// `sum(x in xs where c : v)`
fn gathering(node: Node<'_>) -> Option<Operand> {
    let mut parts = node.parts();
    Some(Operand::Gather {
        gathering: Gathering::of_word(parts.next()?.text())?,
        name: parts.word()?,
        collection: parts.path()?,
        condition: parts.condition()?.map(Box::new),
        value: if parts.peek().is_some() { Some(Box::new(parts.expr()?)) } else { None },
    })
}

fn basis(node: Node<'_>) -> Option<Basis> {
    let mut parts = node.parts();
    Some(match node.rule() {
        Rule::practice => Basis::Practice,
        Rule::maker => Basis::Maker,
        _ => Basis::Standard(parts.word()?, parts.word()),
    })
}

/// A change that a remedy makes.
fn remedy(node: Node<'_>) -> Option<Remedy> {
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
        Rule::embed => Remedy::Embed { floor: path, at: parts.expr()?, thickness: parts.expr()? },
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
                self.faults.add(node.tight(), || Unread::StrayBrace.at(node.tight()));
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
                    None => self.faults.add(span, || Unread::SenselessLine.at(span)),
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
            Rule::basis => Line::Basis(basis(parts.next()?)?),
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
                let remedy = remedy(parts.next()?)?;
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
            self.template_parts(text, &mut parts);
        }
        Template { parts, span }
    }

    /// The parts of one text.
    fn template_parts(&mut self, text: &Word, parts: &mut Vec<Part>) {
        // The text without its opening quotation mark begins one byte after the word's span.
        let base = text.span.start() + 1;
        let mut rest = text.text.as_str();
        while let Some(open) = rest.find('{') {
            let at = base + (text.text.len() - rest.len()) + open;
            if open > 0 {
                parts.push(Part::Text(rest[..open].to_string()));
            }
            let Some(close) = rest[open..].find('}').map(|close| open + close) else {
                let brace = Span::new(at..at + 1);
                self.faults.add(brace, || Fault::BraceInText.at(brace));
                return;
            };
            parts.extend(self.in_text(&rest[open + 1..close], at));
            rest = &rest[close + 1..];
        }
        if !rest.is_empty() {
            parts.push(Part::Text(rest.to_string()));
        }
    }

    /// An expression behind the brace at `at`, and the unit that it is to be shown in.
    fn in_text(&mut self, text: &str, at: usize) -> Option<Part> {
        if let Err(fault) = scan_brackets(text, &mut Vec::new()) {
            let brace = Span::new(at..at + 1);
            self.faults.add(brace, || SyntaxFault { span: brace, ..fault });
            return None;
        }
        match nodes(Rule::in_text, text, at + 1) {
            Ok(nodes) => {
                let mut parts = nodes.roots().next()?.parts();
                let value = expr(parts.next()?)?;
                Some(Part::Expr(value, parts.next().and_then(shown_in)))
            }
            Err(error) => {
                let span = word_at(self.text, at + 1 + position(&error));
                self.faults.add(span, || Fault::NoExpression(text.into()).at(span));
                None
            }
        }
    }
}

/// `in UNIT`
fn shown_in(node: Node<'_>) -> Option<ShownIn> {
    let unit = node.parts().next()?;
    Some(ShownIn { unit: unit_named(unit.text())?, span: unit.span() })
}
