//! A rule after it has been checked: names looked up, dimensions right, ready to be evaluated.

use std::sync::Arc;

use super::tree::{Comparator, Gathering};
use super::value::Type;
use super::vocabulary::{Collection, Field};
use crate::finding::{Basis, Severity};
use crate::language::arithmetic::{Chain, Function};
use crate::quantity::{Quantity, Unit};
use crate::source::Span;

/// A rule.
#[derive(Debug, Clone)]
pub struct Rule {
    /// Its name.
    pub name: Arc<str>,
    /// What it finds, in a phrase.
    pub about: String,
    /// Why that matters.
    pub why: Option<String>,
    /// How much its findings weigh; none where it is switched off.
    pub severity: Option<Severity>,
    /// Where it comes from.
    pub basis: Basis,
    /// Whether its values were recalled rather than looked up.
    pub from_memory: bool,
    /// Whether no deviation covers its findings.
    pub binding: bool,
    /// Its limits, in order.
    pub limits: Vec<Limit>,
    /// The lines of its pack that say what is checked, as written.
    pub check_text: Vec<String>,
    /// Which pack it is from: an index into the packs it was built from.
    pub pack: usize,
    /// What is done.
    pub program: Program,
}

/// A limit of a rule.
#[derive(Debug, Clone)]
pub struct Limit {
    /// Its name.
    pub name: String,
    /// Its value.
    pub value: Quantity,
    /// As a reader is shown it: in the unit it was written in.
    pub text: String,
    /// What it limits.
    pub meaning: Option<String>,
    /// Whether an `amend` set it.
    pub amended: bool,
}

/// What a rule does.
#[derive(Debug, Clone)]
pub struct Program {
    /// What is gone through.
    pub collection: &'static Collection,
    /// What the collection is given, and where.
    pub arguments: Vec<Expr>,
    /// Where the collection is named.
    pub span: Span,
    /// Whether it asks what became of deviations, and so must wait until that is known.
    pub asks_deviations: bool,
    /// What is done with each item before it is judged.
    pub steps: Vec<Step>,
    /// What must hold; where nothing is given, every item that gets here is a finding.
    pub require: Option<Expr>,
    /// The sentence of a finding, the first that applies.
    pub message: Vec<(Option<Expr>, Template)>,
    /// The places of a finding.
    pub points: Vec<(Expr, Option<Template>)>,
    /// What to do, the first that applies.
    pub advice: Vec<(Option<Expr>, Template)>,
    /// What would settle a finding, the first that applies and stands the trial.
    pub remedies: Vec<Cure>,
    /// The rules beside whose findings in a room this one says nothing there.
    pub unless: Vec<String>,
    /// The figures of a finding, by the words the rule uses for them.
    pub figures: Vec<ShownFigure>,
    /// How many values are held at once. The item is the first.
    pub slots: usize,
}

/// A remedy: when it applies, what it changes, and what is said of it.
#[derive(Debug, Clone)]
pub struct Cure {
    /// When it applies.
    pub condition: Option<Expr>,
    /// The change.
    pub remedy: Remedy,
    /// The advice that goes with it, where that isn't what the change is called, and the slot that holds that.
    pub advice: Option<(Template, usize)>,
}

/// A definite change to a plan's text; see [`remedy`](crate::remedy).
#[derive(Debug, Clone)]
pub enum Remedy {
    /// A run is moved by a length, away from a thing.
    Move(Expr, Expr, Expr),
    /// A sensor's tip is put at a place.
    Put(Expr, Expr),
    /// A sensor's conduit is led in where loops are open, so far into the heated floor.
    LeadIn(Expr, Expr),
    /// The loops of a run, or of a turn, are stepped by a length.
    Step(Expr, Expr),
    /// The loops of cables are laid anew, for kits of such a length in all where one is given, so far from walls and fixtures.
    LayAnew(Expr, Option<Expr>, Expr),
    /// A cable is taken to be of a kit of another length.
    ChooseKit(Expr, Expr),
    /// So much insulating board is laid under a floor's cable.
    Insulate(Expr, Expr),
    /// A floor's cable is put so high over its layer's underside, and the layer made so thick where it is thinner.
    Embed(Expr, Expr, Expr),
    /// A deviation is taken out.
    TakeOut(Expr),
}

/// A step before judgement.
#[derive(Debug, Clone)]
pub enum Step {
    /// Go on only where this holds.
    Where(Expr),
    /// Keep a value.
    Let(usize, Expr),
    /// Go on only where this is there.
    Needs(Expr),
}

/// A figure that a rule's findings rest on.
#[derive(Debug, Clone)]
pub struct ShownFigure {
    /// The words that the rule uses for it.
    pub words: String,
    /// What it is.
    pub value: Expr,
    /// Of what type it is.
    pub kind: Type,
    /// The unit that it is shown in; its usual one where none is asked for.
    pub unit: Option<&'static Unit>,
}

/// A text with values in it.
#[derive(Debug, Clone, Default)]
pub struct Template {
    /// Its parts.
    pub parts: Vec<Part>,
}

/// A part of a [`Template`].
#[derive(Debug, Clone)]
pub enum Part {
    /// As it stands.
    Text(String),
    /// To be worked out and shown, in a unit where one is asked for.
    Value(Expr, Type, Option<&'static Unit>),
}

/// A checked expression.
#[derive(Clone)]
#[allow(missing_docs)]
pub enum Expr {
    Number(f64),
    Truth(bool),
    Text(String),
    Slot(usize),
    Field(Box<Expr>, &'static Field, Vec<Expr>, Span),
    Collect(&'static Collection, Vec<Expr>, Span),
    Negated(Box<Expr>),
    Chain(Box<Chain<Expr>>, Span),
    /// Numbers, forgiving the grain of their dimension.
    Compare(Comparator, Box<Expr>, Box<Expr>, f64),
    /// Texts, truths or items; the flag asks for difference.
    Same(bool, Box<Expr>, Box<Expr>),
    And(Vec<Expr>),
    Or(Vec<Expr>),
    Not(Box<Expr>),
    If(Vec<(Expr, Expr)>, Box<Expr>),
    Has(Box<Expr>),
    Call(Function, Vec<Expr>, Span),
    Gather {
        gathering: Gathering,
        slot: usize,
        items: Box<Expr>,
        condition: Option<Box<Expr>>,
        value: Option<Box<Expr>>,
    },
}

impl std::fmt::Debug for Expr {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.write_str("Expr")
    }
}

impl std::fmt::Debug for Collection {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.write_str(self.name)
    }
}
