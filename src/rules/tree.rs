//! The syntax tree of a rule pack: what was written, each part with its span. No meaning yet.

use crate::language::arithmetic::Function;
use crate::language::expression;
pub use crate::language::{Word, faults::SyntaxFault};
use crate::quantity::Unit;
use crate::source::Span;
use crate::worded::Worded;

/// A whole file.
#[derive(Debug, Clone, Default)]
pub struct File {
    /// Rules and amendments, in order.
    pub statements: Vec<Statement>,
    /// What could not be read.
    pub faults: Vec<SyntaxFault>,
}

/// A statement of the top level.
#[derive(Debug, Clone)]
pub enum Statement {
    /// `rule NAME { … }`
    Rule(Rule),
    /// `amend NAME { … }`
    Amend(Amend),
}

/// `rule NAME { … }`
#[derive(Debug, Clone)]
pub struct Rule {
    /// The name.
    pub name: Word,
    /// Its lines, each with its span.
    pub lines: Vec<(Line, Span)>,
    /// Whether a line of it could not be read.
    pub broken: bool,
    /// The line that opens it.
    pub span: Span,
}

/// `amend NAME { … }`
#[derive(Debug, Clone)]
pub struct Amend {
    /// The rule that is changed.
    pub name: Word,
    /// `severity` and `limit` lines, each with its span.
    pub lines: Vec<(Line, Span)>,
}

/// A line of a rule.
#[derive(Debug, Clone)]
pub enum Line {
    /// `about "…"`
    About(Vec<Word>),
    /// `why "…"`
    Why(Vec<Word>),
    /// `severity error`
    Severity(Word),
    /// `basis …`
    Basis(Basis),
    /// `memory yes`
    Memory(bool),
    /// `binding`
    Binding,
    /// `limit NAME = VALUE "meaning"`
    Limit {
        /// The name.
        name: Word,
        /// Its value.
        value: Expr,
        /// What it limits.
        meaning: Vec<Word>,
    },
    /// `check NAME in COLLECTION where CONDITION`
    Check {
        /// What each item is called.
        name: Word,
        /// What is gone through.
        collection: Path,
        /// Which items.
        condition: Option<Expr>,
    },
    /// `where CONDITION`
    Where(Expr),
    /// `let NAME = VALUE`
    Let(Word, Expr),
    /// `needs PATH`
    Needs(Path),
    /// `require CONDITION`
    Require(Expr),
    /// `message when CONDITION "…"`
    Message(Option<Expr>, Template),
    /// `point PATH "…"`
    Point(Path, Option<Template>),
    /// `advice when CONDITION "…"`
    Advice(Option<Expr>, Template),
    /// `remedy when CONDITION … "…"`
    Remedy(Option<Expr>, Remedy, Option<Template>),
    /// `unless RULE, …`
    Unless(Vec<Word>),
}

/// A definite change to a plan's text.
#[derive(Debug, Clone)]
pub enum Remedy {
    /// `move RUN by LENGTH from THING`
    Move(Path, Expr, Path),
    /// `put SENSOR at PLACE`
    Put(Path, Path),
    /// `lead-in SENSOR by LENGTH`
    LeadIn(Path, Expr),
    /// `step RUN by LENGTH`
    Step(Path, Expr),
    /// `lay-anew CABLES of LENGTH clear LENGTH`
    LayAnew {
        /// The cable, or several.
        cables: Path,
        /// How long their kits are in all, where they are to be others.
        kits: Option<Expr>,
        /// What is kept from walls and fixtures.
        clear: Expr,
    },
    /// `choose-kit CABLE of LENGTH`
    ChooseKit(Path, Expr),
    /// `insulate FLOOR by LENGTH`
    Insulate(Path, Expr),
    /// `embed FLOOR at LENGTH within LENGTH`
    Embed {
        /// The floor.
        floor: Path,
        /// How high the cable's centre is to lie over its layer's underside.
        at: Expr,
        /// How thick that layer is to be at the least.
        thickness: Expr,
    },
    /// `take-out DEVIATION`
    TakeOut(Path),
}

/// `basis …`
#[derive(Debug, Clone)]
pub enum Basis {
    /// `basis practice`
    Practice,
    /// `basis maker`
    Maker,
    /// `basis standard "…" clause "…"`
    Standard(Word, Option<Word>),
}

/// A text with expressions in braces.
#[derive(Debug, Clone)]
pub struct Template {
    /// Its parts, in order.
    pub parts: Vec<Part>,
    /// All of it.
    pub span: Span,
}

/// A part of a [`Template`].
#[derive(Debug, Clone)]
pub enum Part {
    /// As it stands.
    Text(String),
    /// To be worked out, and shown in a unit where one is asked for.
    Expr(Expr, Option<ShownIn>),
}

/// `in m`: the unit that a value is shown in.
#[derive(Debug, Clone, Copy)]
pub struct ShownIn {
    /// The unit.
    pub unit: &'static Unit,
    /// Where it is asked for.
    pub span: Span,
}

/// `a.b(c).d`
#[derive(Debug, Clone)]
pub struct Path {
    /// Its steps; at least one.
    pub steps: Vec<Step>,
    /// All of it.
    pub span: Span,
}

/// One step of a [`Path`].
#[derive(Debug, Clone)]
pub struct Step {
    /// Its name.
    pub name: Word,
    /// What it is given.
    pub arguments: Vec<Expr>,
}

/// An expression.
pub type Expr = expression::Expr<Operand>;

/// What it is made of.
pub type ExprKind = expression::ExprKind<Operand>;

/// A comparison.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Comparator {
    /// `<`
    Less,
    /// `<=`
    AtMost,
    /// `>`
    More,
    /// `>=`
    AtLeast,
    /// `=`
    Equal,
    /// `!=`
    Different,
}

impl Worded for Comparator {
    const WORDS: &'static [(Self, &'static str)] = &[
        (Comparator::Less, "<"),
        (Comparator::AtMost, "<="),
        (Comparator::More, ">"),
        (Comparator::AtLeast, ">="),
        (Comparator::Equal, "="),
        (Comparator::Different, "!="),
    ];
}

impl Comparator {
    /// Whether it holds between two values, forgiving a difference of `grain`. Outputs that tell which side of a limit a value lies on ask
    /// this too, so that they say what the rules say.
    pub fn holds(self, a: f64, b: f64, grain: f64) -> bool {
        match self {
            Comparator::Less => a < b - grain,
            Comparator::AtMost => a <= b + grain,
            Comparator::More => a > b + grain,
            Comparator::AtLeast => a >= b - grain,
            Comparator::Equal => (a - b).abs() <= grain,
            Comparator::Different => (a - b).abs() > grain,
        }
    }
}

/// What is made of the items of a collection.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gathering {
    /// How many there are.
    Count,
    /// The values added up.
    Sum,
    /// The least value.
    Least,
    /// The greatest value.
    Greatest,
    /// Whether the condition holds for one of them.
    Any,
    /// Whether the condition holds for all of them.
    All,
}

impl Worded for Gathering {
    const WORDS: &'static [(Self, &'static str)] = &[
        (Gathering::Count, "count"),
        (Gathering::Sum, "sum"),
        (Gathering::Least, "least"),
        (Gathering::Greatest, "greatest"),
        (Gathering::Any, "any"),
        (Gathering::All, "all"),
    ];
}

/// What an expression of a rule holds besides arithmetic. Chains are flat lists, so that only parentheses make it deeper.
#[derive(Debug, Clone)]
pub enum Operand {
    /// A date, such as `2026-11-25`.
    Date(String),
    /// A text.
    Text(String),
    /// `true` or `false`.
    Truth(bool),
    /// Something named.
    Path(Path),
    /// `a < b`
    Compare(Comparator, Box<Expr>, Box<Expr>),
    /// `a and b and …`
    And(Vec<Expr>),
    /// `a or b or …`
    Or(Vec<Expr>),
    /// `not a`
    Not(Box<Expr>),
    /// Conditions with their values, and the value where none holds.
    If(Vec<(Expr, Expr)>, Box<Expr>),
    /// `has a.b`
    Has(Path),
    /// `min(a, b)`
    Call(Function, Vec<Expr>),
    /// `sum(x in xs where c : v)`
    Gather {
        /// What is made of them.
        gathering: Gathering,
        /// What each item is called.
        name: Word,
        /// The collection.
        collection: Path,
        /// Which items.
        condition: Option<Box<Expr>>,
        /// The value of each.
        value: Option<Box<Expr>>,
    },
}
