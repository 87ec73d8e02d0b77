//! Every name in a rule pack's text: what it names, whether it gives the name or uses it, and what kind of thing comes of it.
//!
//! A pure function of the syntax tree and of the [`vocabulary`]. Which rule of which pack is meant is for those who know the other packs.

use super::tree::*;
use super::value::Type;
use super::vocabulary;
use crate::language::expression;
use crate::source::Span;
use crate::things;

/// What a name is given to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A rule.
    Rule,
    /// A limit of a rule.
    Limit,
    /// What stands for one item, or for a value, within its rule.
    Local,
    /// A collection of the vocabulary.
    Collection,
    /// A field of the vocabulary, of such an item.
    Field(things::Kind),
}

/// A name where it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Occurrence {
    /// What it names.
    pub kind: Kind,
    /// The name.
    pub text: String,
    /// Where.
    pub span: Span,
    /// Whether the name is given here.
    pub declares: bool,
    /// The rule it belongs to, where it belongs to one.
    pub rule: Option<String>,
    /// Where a limit or a local was given, where that is in this file.
    pub given: Option<Span>,
    /// What it stands for, where that can be told without checking the rule.
    pub gives: Option<Type>,
}

/// A name that can be used where it stands in scope.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    /// The name.
    pub text: String,
    /// Where it was given.
    pub span: Span,
    /// [`Kind::Limit`] or [`Kind::Local`].
    pub kind: Kind,
    /// What it stands for, where that can be told.
    pub gives: Option<Type>,
}

/// Every name of a file, in the order of the text.
///
/// ```
/// use layrule::rules::{names::{Kind, occurrences}, parse};
/// let names = occurrences(&parse("rule r {\n check run in runs\n require run.length > 0 mm\n}\n"));
/// let kinds: Vec<&str> = names.iter().map(|name| name.text.as_str()).collect();
/// assert_eq!(kinds, ["r", "run", "runs", "run", "length"]);
/// assert!(matches!(names[4].kind, Kind::Field(layrule::things::Kind::Run)));
/// ```
pub fn occurrences(file: &File) -> Vec<Occurrence> {
    let mut found = Found { list: Vec::new(), rule: None, known: Vec::new() };
    for statement in &file.statements {
        found.known.clear();
        match statement {
            Statement::Rule(rule) => found.rule(rule),
            Statement::Amend(amend) => {
                found.rule = Some(amend.name.text.clone());
                found.add(Kind::Rule, &amend.name, false, None, None);
                for (line, _) in &amend.lines {
                    if let Line::Limit { name, value, .. } = line {
                        found.add(Kind::Limit, name, false, None, None);
                        found.expr(value);
                    }
                }
            }
        }
    }
    found.list.sort_by_key(|occurrence| occurrence.span);
    found.list
}

/// The limits and locals of a rule that stand before an offset; those of gatherings excepted.
pub fn known_before(rule: &Rule, at: usize) -> Vec<Known> {
    let mut found = Found { list: Vec::new(), rule: None, known: Vec::new() };
    found.rule(rule);
    found.known.retain(|known| known.span.start() < at);
    found.known
}

/// What an item's field of that name is.
pub fn field_of(owner: Option<Type>, name: &str) -> Option<Type> {
    match owner {
        Some(Type::Item(kind)) => vocabulary::field(kind, name).map(|field| field.gives),
        _ => None,
    }
}

struct Found {
    list: Vec<Occurrence>,
    rule: Option<String>,
    known: Vec<Known>,
}

impl Found {
    fn add(&mut self, kind: Kind, word: &Word, declares: bool, given: Option<Span>, gives: Option<Type>) {
        let rule = self.rule.clone();
        self.list.push(Occurrence { kind, text: word.text.clone(), span: word.span, declares, rule, given, gives });
    }

    fn give(&mut self, kind: Kind, word: &Word, gives: Option<Type>) {
        self.add(kind, word, true, Some(word.span), gives);
        self.known.push(Known { text: word.text.clone(), span: word.span, kind, gives });
    }

    fn rule(&mut self, rule: &Rule) {
        self.rule = Some(rule.name.text.clone());
        self.add(Kind::Rule, &rule.name, true, None, None);
        rule.lines.iter().for_each(|(line, _)| self.line(line));
    }

    fn line(&mut self, line: &Line) {
        match line {
            Line::About(_) | Line::Why(_) | Line::Severity(_) | Line::Basis(_) | Line::Memory(_) | Line::Binding => {}
            Line::Unless(rules) => rules.iter().for_each(|rule| self.add(Kind::Rule, rule, false, None, None)),
            Line::Limit { name, value, .. } => {
                let gives = self.expr(value);
                self.give(Kind::Limit, name, gives);
            }
            Line::Check { name, collection, condition } => {
                let gives = self.item_of(collection);
                self.give(Kind::Local, name, gives);
                self.exprs(condition);
            }
            Line::Let(name, value) => {
                let gives = self.expr(value);
                self.give(Kind::Local, name, gives);
            }
            Line::Where(condition) | Line::Require(condition) => self.exprs([condition]),
            Line::Needs(path) => {
                self.path(path);
            }
            Line::Message(condition, template) | Line::Advice(condition, template) => {
                self.exprs(condition);
                self.template(template);
            }
            Line::Remedy(condition, remedy, text) => {
                self.exprs(condition);
                text.iter().for_each(|text| self.template(text));
                match remedy {
                    Remedy::Move(thing, by, from) => {
                        self.path(thing);
                        self.expr(by);
                        self.path(from);
                    }
                    Remedy::Put(thing, place) => {
                        self.path(thing);
                        self.path(place);
                    }
                    Remedy::Step(thing, by)
                    | Remedy::LeadIn(thing, by)
                    | Remedy::ChooseKit(thing, by)
                    | Remedy::Insulate(thing, by) => {
                        self.path(thing);
                        self.expr(by);
                    }
                    Remedy::Embed { floor, at, thickness } => {
                        self.path(floor);
                        self.exprs([at, thickness]);
                    }
                    Remedy::LayAnew { cables, kits, clear } => {
                        self.path(cables);
                        self.exprs(kits.iter().chain([clear]));
                    }
                    Remedy::TakeOut(thing) => {
                        self.path(thing);
                    }
                }
            }
            Line::Point(path, label) => {
                self.path(path);
                label.iter().for_each(|label| self.template(label));
            }
        }
    }

    fn template(&mut self, template: &Template) {
        for part in &template.parts {
            if let Part::Expr(expr, _) = part {
                self.expr(expr);
            }
        }
    }

    /// What each item of a collection is.
    fn item_of(&mut self, collection: &Path) -> Option<Type> {
        match self.path(collection) {
            Some(Type::Collection(kind)) => Some(Type::Item(kind)),
            _ => None,
        }
    }

    fn path(&mut self, path: &Path) -> Option<Type> {
        let (first, rest) = path.steps.split_first()?;
        let mut gives = match self.known.iter().rfind(|known| known.text == first.name.text).cloned() {
            Some(known) => {
                self.add(known.kind, &first.name, false, Some(known.span), known.gives);
                known.gives
            }
            None => {
                let found = vocabulary::collection(&first.name.text);
                let gives = found.map(|collection| Type::Collection(collection.of));
                if found.is_some() {
                    self.add(Kind::Collection, &first.name, false, None, gives);
                }
                gives
            }
        };
        self.exprs(&first.arguments);
        for step in rest {
            let owner = gives;
            gives = field_of(owner, &step.name.text);
            if let (Some(Type::Item(kind)), Some(_)) = (owner, gives) {
                self.add(Kind::Field(kind), &step.name, false, None, gives);
            }
            self.exprs(&step.arguments);
        }
        gives
    }

    fn exprs<'e>(&mut self, exprs: impl IntoIterator<Item = &'e Expr>) {
        for expr in exprs {
            self.expr(expr);
        }
    }

    /// As deep as the parentheses, which [`crate::language::caps::DEEPEST_NESTING`] bounds.
    fn expr(&mut self, expr: &Expr) -> Option<Type> {
        match &expr.kind {
            ExprKind::Number(number, unit) => Some(Type::Quantity(expression::quantity(*number, *unit).dimension)),
            ExprKind::Negated(inner) => self.expr(inner),
            ExprKind::Chain(chain) => {
                let types: Vec<_> = chain.operands().map(|operand| self.expr(operand)).collect();
                // A date less a time is a date; all else in a sum is as what it is added to.
                let first = types.first().copied().flatten().filter(|_| chain.is_sum());
                first.filter(|first| types.iter().all(|one| one.as_ref() == Some(first)))
            }
            ExprKind::Operand(operand) => self.operand(operand),
        }
    }

    fn operand(&mut self, operand: &Operand) -> Option<Type> {
        match operand {
            Operand::Date(_) => Some(Type::Quantity(crate::quantity::Dimension::DATE)),
            Operand::Text(_) => Some(Type::Text),
            Operand::Truth(_) => Some(Type::Truth),
            Operand::Path(path) => self.path(path),
            Operand::Has(path) => {
                self.path(path);
                Some(Type::Truth)
            }
            Operand::Not(inner) => self.expr(inner),
            Operand::Compare(_, left, right) => {
                self.expr(left);
                self.expr(right);
                Some(Type::Truth)
            }
            Operand::And(list) | Operand::Or(list) => {
                self.exprs(list);
                Some(Type::Truth)
            }
            Operand::If(cases, otherwise) => {
                for (condition, value) in cases {
                    self.expr(condition);
                    self.expr(value);
                }
                self.expr(otherwise)
            }
            Operand::Call(_, arguments) => {
                let types: Vec<_> = arguments.iter().map(|argument| self.expr(argument)).collect();
                types.first().copied().flatten()
            }
            Operand::Gather { name, collection, condition, value, .. } => {
                let gives = self.item_of(collection);
                let outside = self.known.len();
                self.give(Kind::Local, name, gives);
                self.exprs(condition.as_deref());
                self.exprs(value.as_deref());
                self.known.truncate(outside);
                None
            }
        }
    }
}
