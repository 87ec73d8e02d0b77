//! The kinds of layouts, and what goes through those of each.

use super::fit::Layout;
use super::search::Search;
use super::spiral::Spirals;
use super::until::Until;

/// How runs lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// To and fro in rows.
    Rows,
    /// The same, and what rows leave bare is filled.
    Filled,
    /// The same, of many more rows.
    ManyFilled,
    /// Round the floor, inward and back between.
    Spiral,
}

/// For how many lines through a set of rows what they leave bare is filled, and for how many where all else is done.
const FILLED: usize = 6;
const MANY_FILLED: usize = 60;

impl Kind {
    /// For how many lines through a set of rows what they leave bare is filled.
    pub fn filled(self) -> usize {
        match self {
            Kind::Rows | Kind::Spiral => 0,
            Kind::Filled => FILLED,
            Kind::ManyFilled => MANY_FILLED,
        }
    }
}

/// Which kinds of layouts are asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Pattern {
    /// Whichever is found clean first, rows before spirals.
    #[default]
    Auto,
    /// To and fro.
    Loops,
    /// Inward and back between.
    Spiral,
}

impl Pattern {
    /// The kinds of layouts, those tried first at first.
    pub fn kinds(self) -> &'static [Kind] {
        match self {
            Pattern::Auto => &[Kind::Rows, Kind::Spiral, Kind::Filled],
            Pattern::Loops => &[Kind::Rows, Kind::Filled],
            Pattern::Spiral => &[Kind::Spiral],
        }
    }
}

impl Pattern {
    /// The kind that is tried where none of the others gave anything.
    pub fn at_last(self) -> Option<Kind> {
        match self {
            Pattern::Auto | Pattern::Loops => Some(Kind::ManyFilled),
            Pattern::Spiral => None,
        }
    }
}

/// What goes through the layouts of a cable.
pub enum Source {
    /// In rows in one direction.
    Rows(Box<Search>),
    /// In spirals.
    Spirals(Box<Spirals>),
}

impl Source {
    /// What goes through rows.
    pub fn rows(&self) -> Option<&Search> {
        match self {
            Source::Rows(search) => Some(search),
            Source::Spirals(_) => None,
        }
    }

    fn next(&mut self, until: Until<'_>) -> Option<Vec<Layout>> {
        match self {
            Source::Rows(search) => search.next(until),
            Source::Spirals(spirals) => spirals.next(until),
        }
    }
}

/// One kind of layouts: what goes through those of each cable, and how many were judged.
pub struct Ways {
    /// A list for each cable.
    pub sources: Vec<Vec<Source>>,
    /// How many were judged.
    pub judged: usize,
}

impl Ways {
    /// Those that come of some sources, a list for each cable.
    pub fn new(sources: Vec<Vec<Source>>) -> Self {
        Ways { sources, judged: 0 }
    }

    /// The next layouts of each cable, best first; nothing where there are none.
    pub fn next(&mut self, until: Until<'_>) -> Option<Vec<Vec<Layout>>> {
        // Of one cable a few at a time; of several all, since each goes with any of the others.
        let rounds = if self.sources.len() > 1 { usize::MAX } else { 1 };
        let next = |sources: &mut Vec<Source>| {
            let each = sources.iter_mut().map(|source| {
                std::iter::from_fn(|| source.next(until)).take(rounds).flatten().collect::<Vec<Layout>>()
            });
            let mut all = each.collect::<Vec<_>>().concat();
            all.sort_by(|a, b| b.merit.total_cmp(&a.merit));
            all
        };
        let each: Vec<Vec<Layout>> = self.sources.iter_mut().map(next).collect();
        each.iter().all(|found| !found.is_empty()).then_some(each)
    }
}
