//! Checks a rule completely before it runs: names, dimensions, types, and that it says all a rule must say.

use std::collections::{HashMap, HashSet};

use super::caps::MOST_LIMITS;
use super::expressions::fold;
use super::faults::{Fault, Needed};
use super::program::{Cure, Expr, Limit, Part, Program, Remedy, Rule, ShownFigure, Step, Template};
use super::tree::{self, ExprKind, Line, ShownIn, SyntaxFault, Word};
use super::value::Type;
use super::vocabulary::{self, Collection, Parameter};
use crate::finding::{Basis, Severity};
use crate::quantity::{Dimension, Quantity, Unit};
use crate::source::Span;
use crate::text::nearest;
use crate::things::Kind;

/// What the text of a remedy calls its change.
const CHANGE: &str = "change";

/// The most figures that a finding shows besides.
const MOST_FIGURES: usize = 64;

/// A limit that an amendment sets, and where.
pub struct AmendedLimit<'t> {
    /// Its name.
    pub name: &'t Word,
    /// Its new value.
    pub value: &'t tree::Expr,
    /// Which pack sets it.
    pub pack: usize,
}

/// Limits that had another name, or that nothing is held to any more: the rule, that name, and what it is called now. An amendment by the
/// old name sets each of these; it is heeded for one version, with a note.
pub const FORMER_LIMITS: &[(&str, &str, &[&str])] = &[
    ("laid-length", "share", &["over", "short"]),
    ("laid-length", "least", &[]),
    ("laid-length", "most", &[]),
    ("even-warmth", "apart", &[]),
];

/// What a limit of a rule is called now that an amendment names by a former name.
pub fn renamed(rule: &str, limit: &str) -> Option<&'static [&'static str]> {
    let former = FORMER_LIMITS.iter().find(|(of, name, _)| (*of, *name) == (rule, limit));
    former.map(|(_, _, now)| *now)
}

/// A fault and the pack it stands in.
pub type PackFault = (usize, SyntaxFault);

/// Checks a rule of pack `pack`, whose text is `text`, with what amendments say of it.
///
/// # Errors
/// Everything that is wrong with it, in the order of the text.
pub fn check(
    tree: &tree::Rule,
    text: &str,
    pack: usize,
    severity: Option<&str>,
    limits: &[AmendedLimit<'_>],
) -> Result<Rule, Vec<PackFault>> {
    let mut checker = Checker {
        text,
        rule: &tree.name.text,
        pack,
        faults: Vec::new(),
        names: HashMap::new(),
        used: HashSet::new(),
        slots: 0,
        figures: Vec::new(),
        asks_deviations: false,
        mentioned: Vec::new(),
        checked: None,
    };
    let rule = checker.rule(tree, severity, limits);
    match rule {
        Some(rule) if checker.faults.is_empty() => Ok(rule),
        _ => {
            checker.faults.sort_by_key(|(pack, fault)| (*pack, fault.span));
            Err(checker.faults)
        }
    }
}

/// The severity a word stands for; nothing for `off`.
pub fn severity(word: &str) -> Option<Severity> {
    match word {
        "error" => Some(Severity::Error),
        "warning" => Some(Severity::Warning),
        "note" => Some(Severity::Note),
        _ => None,
    }
}

#[derive(Clone)]
pub(super) enum Named {
    /// Something whose definition is at fault; what uses it is not faulted for that.
    Unknown,
    Limit(Quantity),
    Slot(usize, Type),
}

pub(super) struct Checker<'t> {
    pub(super) text: &'t str,
    rule: &'t str,
    pub(super) pack: usize,
    pub(super) faults: Vec<PackFault>,
    pub(super) names: HashMap<String, Named>,
    pub(super) used: HashSet<String>,
    pub(super) slots: usize,
    pub(super) figures: Vec<ShownFigure>,
    pub(super) asks_deviations: bool,
    /// The slots that were asked for, in order.
    pub(super) mentioned: Vec<usize>,
    /// What is checked: its name and its kind.
    pub(super) checked: Option<(String, Kind)>,
}

pub(super) type Typed = (Expr, Type);

fn resolved_basis(basis: &tree::Basis) -> Basis {
    match basis {
        tree::Basis::Practice => Basis::Practice,
        tree::Basis::Maker => Basis::Maker,
        tree::Basis::Standard(title, clause) => {
            Basis::Standard { title: title.text.clone(), clause: clause.as_ref().map(|word| word.text.clone()) }
        }
    }
}

fn joined(words: &[Word]) -> String {
    words.iter().map(|word| word.text.as_str()).collect::<Vec<_>>().join(" ")
}

impl Checker<'_> {
    pub(super) fn fault(&mut self, span: Span, fault: Fault) {
        self.faults.push((self.pack, fault.at(span)));
    }

    /// A fault, and nothing.
    pub(super) fn refuse<T>(&mut self, span: Span, fault: Fault) -> Option<T> {
        self.fault(span, fault);
        None
    }

    fn rule(&mut self, tree: &tree::Rule, amended: Option<&str>, limits: &[AmendedLimit<'_>]) -> Option<Rule> {
        self.said_once(tree);
        let mut rule = Parts { broken: tree.broken, ..Parts::default() };
        for (line, span) in &tree.lines {
            self.line(line, *span, limits, &mut rule);
        }
        self.unused_limits(tree, &rule.limits);
        self.unknown_limits(tree, &rule.limits, limits);
        let (collection, arguments, span) = rule.check?;
        if rule.points.is_empty() {
            rule.points.push((Expr::Slot(0), None));
        }
        let check_text = tree.lines.iter().filter(|(line, _)| {
            matches!(line, Line::Check { .. } | Line::Where(_) | Line::Let(..) | Line::Needs(_) | Line::Require(_))
        });
        Some(Rule {
            name: tree.name.text.as_str().into(),
            about: rule.about?,
            why: rule.why,
            severity: severity(amended.unwrap_or(rule.severity.as_deref()?)),
            basis: rule.basis?,
            from_memory: rule.memory,
            binding: rule.binding,
            limits: rule.limits,
            check_text: check_text.map(|(_, span)| self.text.get(span.range()).unwrap_or("").to_string()).collect(),
            pack: self.pack,
            program: Program {
                collection,
                arguments,
                span,
                asks_deviations: self.asks_deviations || collection.of == Kind::Deviation,
                steps: rule.steps,
                require: rule.require,
                message: rule.message,
                points: rule.points,
                advice: rule.advice,
                remedies: rule.remedies,
                unless: rule.unless,
                figures: std::mem::take(&mut self.figures),
                slots: self.slots,
            },
        })
    }

    /// Faults for lines that a rule must have and lacks, and for those that it has twice.
    fn said_once(&mut self, tree: &tree::Rule) {
        let mut once: HashMap<&'static str, Span> = HashMap::new();
        for (line, span) in &tree.lines {
            let word = match line {
                Line::About(_) => "about",
                Line::Why(_) => "why",
                Line::Severity(_) => "severity",
                Line::Basis(_) => "basis",
                Line::Memory(_) => "memory",
                Line::Binding => "binding",
                Line::Check { .. } => "check",
                Line::Require(_) => "require",
                Line::Message(..) => {
                    once.insert("message", *span);
                    continue;
                }
                _ => continue,
            };
            if once.insert(word, *span).is_some() {
                self.fault(*span, Fault::LineTwice(tree.name.text.clone(), word));
            }
        }
        for word in ["about", "severity", "basis", "check", "message"] {
            if !once.contains_key(word) && !tree.broken {
                self.fault(tree.span, Fault::NoLine(tree.name.text.clone(), word));
            }
        }
    }

    /// Faults for limits that nothing is held to.
    fn unused_limits(&mut self, tree: &tree::Rule, limits: &[Limit]) {
        for limit in limits {
            if !self.used.contains(&limit.name) && !tree.broken {
                let span = tree.lines.iter().find_map(|(line, _)| match line {
                    Line::Limit { name, .. } if name.text == limit.name => Some(name.span),
                    _ => None,
                });
                self.fault(span.unwrap_or(tree.span), Fault::UnusedLimit(limit.name.clone()));
            }
        }
    }

    /// Faults for limits that amendments set and the rule doesn't have.
    fn unknown_limits(&mut self, tree: &tree::Rule, own: &[Limit], amended: &[AmendedLimit<'_>]) {
        for limit in amended {
            if own.iter().any(|own| own.name == limit.name.text) || renamed(self.rule, &limit.name.text).is_some() {
                continue;
            }
            let near = nearest(&limit.name.text, own.iter().map(|own| own.name.as_str()));
            let own_pack = std::mem::replace(&mut self.pack, limit.pack);
            let near = near.map(String::from);
            let fault = Fault::NoSuchLimit { rule: tree.name.text.clone(), limit: limit.name.text.clone(), near };
            self.fault(limit.name.span, fault);
            self.pack = own_pack;
        }
    }

    fn line(&mut self, line: &Line, span: Span, limits: &[AmendedLimit<'_>], rule: &mut Parts) {
        let needs_check = !matches!(
            line,
            Line::About(_)
                | Line::Why(_)
                | Line::Severity(_)
                | Line::Basis(_)
                | Line::Memory(_)
                | Line::Binding
                | Line::Unless(_)
                | Line::Limit { .. }
                | Line::Check { .. }
        );
        if needs_check && rule.check.is_none() {
            if !rule.check_failed && !rule.broken {
                self.fault(span, Fault::BeforeCheck);
            }
            return;
        }
        match line {
            Line::About(words) => rule.about = Some(joined(words)),
            Line::Why(words) => rule.why = Some(joined(words)),
            Line::Severity(word) => rule.severity = Some(word.text.clone()),
            Line::Memory(yes) => rule.memory = *yes,
            Line::Binding => rule.binding = true,
            Line::Basis(basis) => rule.basis = Some(resolved_basis(basis)),
            Line::Limit { name, value, meaning } => self.limit(name, value, meaning, limits, rule),
            Line::Check { name, collection, condition } => self.check_line(name, collection, condition.as_ref(), rule),
            Line::Where(condition) => rule.steps.extend(self.truth(condition).map(Step::Where)),
            Line::Let(name, value) => {
                let Some((expr, kind)) = self.expr(value) else {
                    self.names.insert(name.text.clone(), Named::Unknown);
                    return;
                };
                let slot = self.slot();
                self.define(name, Named::Slot(slot, kind));
                rule.steps.push(Step::Let(slot, expr));
            }
            Line::Needs(path) => rule.steps.extend(self.path(path).map(|(expr, _)| Step::Needs(expr))),
            Line::Require(condition) => rule.require = self.truth(condition),
            Line::Message(condition, template) => {
                let texts = self.conditional(condition.as_ref(), template);
                rule.message.extend(texts);
            }
            Line::Point(path, label) => self.point(path, label.as_ref(), rule),
            Line::Advice(condition, template) => {
                let texts = self.conditional(condition.as_ref(), template);
                rule.advice.extend(texts);
            }
            Line::Remedy(condition, remedy, text) => {
                let condition = condition.as_ref().map(|condition| self.truth(condition));
                let remedy = self.remedy(remedy);
                let advice = text.as_ref().map(|text| self.about_change(text));
                if let (Some(remedy), false) = (remedy, matches!(condition, Some(None)) || matches!(advice, Some(None)))
                {
                    rule.remedies.push(Cure { condition: condition.flatten(), remedy, advice: advice.flatten() });
                }
            }
            Line::Unless(rules) => rule.unless.extend(rules.iter().map(|rule| rule.text.clone())),
        }
    }

    /// What the rule is held to, item by item.
    fn check_line(&mut self, name: &Word, collection: &tree::Path, condition: Option<&tree::Expr>, rule: &mut Parts) {
        let Some((source, kind)) = self.top_collection(collection) else {
            rule.check_failed = true;
            return;
        };
        let arguments = self.arguments(collection.steps.first(), source.parameters, source.name);
        let slot = self.slot();
        self.define(name, Named::Slot(slot, Type::Item(kind)));
        self.checked = Some((name.text.clone(), kind));
        rule.check = arguments.map(|arguments| (source, arguments, collection.span));
        rule.check_failed = rule.check.is_none();
        if let Some(condition) = condition.and_then(|condition| self.truth(condition)) {
            rule.steps.push(Step::Where(condition));
        }
    }

    /// What a finding marks in the plan.
    fn point(&mut self, path: &tree::Path, label: Option<&tree::Template>, rule: &mut Parts) {
        let Some((expr, kind)) = self.path(path) else { return };
        if !matches!(kind, Type::Item(_) | Type::Collection(_)) {
            self.fault(path.span, Fault::Needed(Needed::InPlan, kind));
            return;
        }
        let label = label.map(|label| self.template(label));
        if !matches!(label, Some(None)) {
            rule.points.push((expr, label.flatten()));
        }
    }

    /// The text of a remedy, in which `change` is what its change is called, and the slot that this is kept in.
    fn about_change(&mut self, text: &tree::Template) -> Option<(Template, usize)> {
        let slot = self.slot();
        let own = self.names.insert(CHANGE.into(), Named::Slot(slot, Type::Text));
        let template = self.template(text);
        match own {
            Some(own) => self.names.insert(CHANGE.into(), own),
            None => self.names.remove(CHANGE),
        };
        Some((template?, slot))
    }

    fn remedy(&mut self, remedy: &tree::Remedy) -> Option<Remedy> {
        let runs = &[Type::Item(Kind::Run)];
        Some(match remedy {
            tree::Remedy::Move(run, by, from) => {
                let run = self.one_of(run, runs);
                let by = self.length(by);
                let (from_expr, kind) = self.path(from)?;
                if !matches!(kind, Type::Item(_)) {
                    return self.refuse(from.span, Fault::Needed(Needed::MovedFrom, kind));
                }
                Remedy::Move(run?, by?, from_expr)
            }
            tree::Remedy::Put(sensor, at) => {
                let sensor = self.one_of(sensor, &[Type::Item(Kind::Sensor)]);
                Remedy::Put(sensor?, self.one_of(at, &[Type::Place])?)
            }
            tree::Remedy::LeadIn(sensor, by) => {
                let sensor = self.one_of(sensor, &[Type::Item(Kind::Sensor)]);
                Remedy::LeadIn(sensor?, self.length(by)?)
            }
            tree::Remedy::LayAnew { cables, kits, clear } => {
                let cables = self.one_of(cables, &[Type::Item(Kind::Cable), Type::Collection(Kind::Cable)]);
                let kits = kits.as_ref().map(|kits| self.length(kits));
                let clear = self.length(clear);
                Remedy::LayAnew(cables?, kits.map_or(Some(None), |kits| kits.map(Some))?, clear?)
            }
            tree::Remedy::ChooseKit(cable, length) => {
                let cable = self.one_of(cable, &[Type::Item(Kind::Cable)]);
                Remedy::ChooseKit(cable?, self.length(length)?)
            }
            tree::Remedy::Insulate(floor, by) => {
                let floor = self.one_of(floor, &[Type::Item(Kind::Floor)]);
                Remedy::Insulate(floor?, self.length(by)?)
            }
            tree::Remedy::Embed { floor, at, thickness } => {
                let floor = self.one_of(floor, &[Type::Item(Kind::Floor)]);
                let (at, thickness) = (self.length(at), self.length(thickness));
                Remedy::Embed(floor?, at?, thickness?)
            }
            tree::Remedy::Step(run, by) => {
                let run = self.one_of(run, &[Type::Item(Kind::Run), Type::Item(Kind::Turn)]);
                Remedy::Step(run?, self.length(by)?)
            }
            tree::Remedy::TakeOut(deviation) => {
                Remedy::TakeOut(self.one_of(deviation, &[Type::Item(Kind::Deviation)])?)
            }
        })
    }

    /// Something named, which must be of one of some types.
    fn one_of(&mut self, path: &tree::Path, wanted: &[Type]) -> Option<Expr> {
        let (expr, kind) = self.path(path)?;
        if wanted.contains(&kind) {
            return Some(expr);
        }
        self.refuse(path.span, Fault::Needed(Needed::OneOf(wanted.to_vec()), kind))
    }

    fn length(&mut self, expr: &tree::Expr) -> Option<Expr> {
        let (checked, dimension) = self.quantity(expr)?;
        if dimension == Dimension::LENGTH {
            return Some(checked);
        }
        self.refuse(expr.span, Fault::Needed(Needed::Length, Type::Quantity(dimension)))
    }

    /// A text and the condition it is shown under.
    fn conditional(
        &mut self,
        condition: Option<&tree::Expr>,
        template: &tree::Template,
    ) -> Option<(Option<Expr>, Template)> {
        let condition = condition.map(|condition| self.truth(condition));
        let template = self.template(template)?;
        Some((condition.map_or(Some(None), |condition| condition.map(Some))?, template))
    }

    fn limit(
        &mut self,
        name: &Word,
        value: &tree::Expr,
        meaning: &[Word],
        limits: &[AmendedLimit<'_>],
        rule: &mut Parts,
    ) {
        let Some(own) = self.constant(value) else {
            self.names.insert(name.text.clone(), Named::Unknown);
            return;
        };
        let mut current = own;
        let mut written = value;
        let mut changed = false;
        let rule_name = self.rule;
        let meant = |amended: &&AmendedLimit<'_>| {
            let now = renamed(rule_name, &amended.name.text);
            amended.name.text == name.text || now.is_some_and(|now| now.contains(&name.text.as_str()))
        };
        for amended in limits.iter().filter(meant) {
            let own_pack = std::mem::replace(&mut self.pack, amended.pack);
            if let Some(new) = self.constant(amended.value) {
                if new.dimension == own.dimension {
                    current = new;
                    written = amended.value;
                    changed = true;
                } else {
                    let fault = Fault::LimitIsOf(name.text.clone(), own.dimension, new.dimension);
                    self.fault(amended.value.span, fault);
                }
            }
            self.pack = own_pack;
        }
        self.define(name, Named::Limit(current));
        if rule.limits.len() == MOST_LIMITS {
            self.fault(name.span, Fault::TooManyLimits);
        }
        rule.limits.push(Limit {
            name: name.text.clone(),
            value: current,
            text: match written.kind {
                ExprKind::Number(_, Some(unit)) => current.show_in(unit),
                _ => current.show(0),
            },
            meaning: (!meaning.is_empty()).then(|| joined(meaning)),
            amended: changed,
        });
    }

    /// The value of a limit: an expression of quantities and of limits above it.
    fn constant(&mut self, expr: &tree::Expr) -> Option<Quantity> {
        let (checked, kind) = self.expr(expr)?;
        let Type::Quantity(dimension) = kind else {
            return self.refuse(expr.span, Fault::LimitIs(kind));
        };
        let value = self.reckoned(expr.span, fold(&checked))?;
        if value.is_none() {
            self.fault(expr.span, Fault::LimitNotFixed);
        }
        value.map(|value| Quantity::new(value, dimension))
    }

    pub(super) fn slot(&mut self) -> usize {
        self.slots += 1;
        self.slots - 1
    }

    pub(super) fn define(&mut self, name: &Word, named: Named) {
        if self.names.contains_key(&name.text) {
            self.fault(name.span, Fault::NameTwice(name.text.clone()));
        }
        self.names.insert(name.text.clone(), named);
    }

    fn top_collection(&mut self, path: &tree::Path) -> Option<(&'static Collection, Kind)> {
        let first = path.steps.first()?;
        let found = vocabulary::collection(&first.name.text).filter(|_| path.steps.len() == 1);
        if found.is_none() {
            let near = nearest(&first.name.text, vocabulary::collections().map(|collection| collection.name));
            let written = self.text.get(path.span.range()).unwrap_or("").to_string();
            // What it is given stays.
            let alone = path.span == first.name.span;
            self.fault(path.span, Fault::UnknownCollection(written, near, alone));
        }
        found.map(|collection| (collection, collection.of))
    }

    pub(super) fn arguments(
        &mut self,
        step: Option<&tree::Step>,
        parameters: &'static [Parameter],
        owner: &str,
    ) -> Option<Vec<Expr>> {
        let step = step?;
        if step.arguments.len() != parameters.len() {
            let fault = Fault::Arguments(owner.into(), parameters, step.arguments.len());
            return self.refuse(step.name.span, fault);
        }
        let mut checked = Vec::new();
        for (argument, parameter) in step.arguments.iter().zip(parameters) {
            match self.expr(argument) {
                Some((expr, Type::Quantity(found))) if found == parameter.1 => checked.push(Some(expr)),
                Some((_, found)) => {
                    self.fault(argument.span, Fault::Argument(owner.into(), *parameter, found));
                    checked.push(None);
                }
                None => checked.push(None),
            }
        }
        checked.into_iter().collect()
    }

    pub(super) fn truth(&mut self, expr: &tree::Expr) -> Option<Expr> {
        let (checked, kind) = self.expr(expr)?;
        if kind != Type::Truth {
            return self.refuse(expr.span, Fault::Needed(Needed::Condition, kind));
        }
        Some(checked)
    }

    pub(super) fn quantity(&mut self, expr: &tree::Expr) -> Option<(Expr, Dimension)> {
        match self.expr(expr)? {
            (checked, Type::Quantity(dimension)) => Some((checked, dimension)),
            (_, kind) => self.refuse(expr.span, Fault::Needed(Needed::Quantity, kind)),
        }
    }

    fn template(&mut self, template: &tree::Template) -> Option<Template> {
        let parts: Vec<Option<Part>> = template
            .parts
            .iter()
            .map(|part| match part {
                tree::Part::Text(text) => Some(Part::Text(text.clone())),
                tree::Part::Expr(expr, shown_in) => {
                    let (checked, kind) = self.expr(expr)?;
                    if matches!(kind, Type::Collection(_)) {
                        return self.refuse(expr.span, Fault::SeveralShown(kind));
                    }
                    if let Some(ShownIn { unit, span }) =
                        shown_in.filter(|asked| kind != Type::Quantity(asked.unit.dimension))
                    {
                        return self.refuse(span, Fault::OtherUnit(unit.symbol, kind));
                    }
                    let unit = shown_in.map(|asked| asked.unit);
                    self.note_figure(expr, &checked, kind, unit);
                    Some(Part::Value(checked, kind, unit))
                }
            })
            .collect();
        parts.into_iter().collect::<Option<Vec<_>>>().map(|parts| Template { parts })
    }

    /// Keeps a quantity that is shown or compared as a figure of the rule's findings.
    pub(super) fn note_figure(&mut self, expr: &tree::Expr, checked: &Expr, kind: Type, unit: Option<&'static Unit>) {
        let name = self.text.get(expr.span.range()).unwrap_or("").to_string();
        // Limits are figures of their own, and a bare `0 mm` is none.
        if matches!(checked, Expr::Number(_)) {
            return;
        }
        if let Some(known) = self.figures.iter_mut().find(|known| known.words == name) {
            known.unit = known.unit.or(unit);
        } else if self.figures.len() < MOST_FIGURES && matches!(kind, Type::Quantity(_) | Type::Place) {
            self.figures.push(ShownFigure { words: name, value: checked.clone(), kind, unit });
        }
    }
}

/// What a rule's lines have come to so far.
#[derive(Default)]
struct Parts {
    about: Option<String>,
    why: Option<String>,
    severity: Option<String>,
    basis: Option<Basis>,
    memory: bool,
    binding: bool,
    limits: Vec<Limit>,
    check: Option<(&'static Collection, Vec<Expr>, Span)>,
    check_failed: bool,
    /// Whether a line of the rule could not be read, and may be the one that is missed.
    broken: bool,
    steps: Vec<Step>,
    require: Option<Expr>,
    message: Vec<(Option<Expr>, Template)>,
    points: Vec<(Expr, Option<Template>)>,
    advice: Vec<(Option<Expr>, Template)>,
    remedies: Vec<Cure>,
    unless: Vec<String>,
}
