//! The sound plan that exercises are made of: in one file, without notes, laid out by the canonical form.

use std::fmt;
use std::path::{Path, PathBuf};

use super::told::Count;
use crate::checker::{self, Report};
use crate::finding::Severity;
use crate::language::tokens::{Sort, blocks, tokens};
use crate::layout;
use crate::layout::tree::{File, Statement};
use crate::measure::plan::Measured;
use crate::model::load::{Library, Loaded};
use crate::model::resolve::resolve;
use crate::rules::packs::RuleSet;
use crate::source::Memory;

/// A sound plan as learners get it before anything is wrong with it.
#[derive(Debug)]
pub struct Sound {
    /// What it is called: the last part of its name.
    pub name: String,
    /// Its text.
    pub text: String,
    /// What is found in it, notes and what is agreed to alone.
    pub report: Report,
    /// What of it is open.
    pub open: Count,
}

/// Why a plan is no ground for exercises.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unsound {
    /// Something is found in it: the findings, each by its rule, its line and its message.
    Found(Vec<String>),
    /// It can't be written in one file that means the same.
    Scattered,
    /// It holds no room.
    Empty,
}

impl fmt::Display for Unsound {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Unsound::Found(found) => write!(formatter, "something is found in it already: {}", found.join("; ")),
            Unsound::Scattered => formatter.write_str("what it uses can't be put into one file with it"),
            Unsound::Empty => formatter.write_str("it holds no room"),
        }
    }
}

/// How many findings of an unsound plan are told.
const MOST_TOLD: usize = 5;

impl Sound {
    /// Makes a loaded plan the ground of exercises.
    ///
    /// # Errors
    /// Where it isn't sound by the rules, or can't be put into one file.
    pub fn new(loaded: Loaded, rules: &RuleSet, today: jiff::civil::Date) -> Result<Sound, Unsound> {
        let parts = Parts::of(&loaded);
        let name = loaded.sources.own().map_or("", |(name, ..)| name).to_string();
        let name = Path::new(&name).file_name().map_or(name.clone(), |last| last.to_string_lossy().into_owned());
        let report = checker::untried(&Measured::new(resolve(loaded)), rules, today);
        let wrong = report.findings.iter().filter(|one| one.accepted.is_none() && one.severity > Severity::Note);
        let wrong: Vec<String> = wrong
            .take(MOST_TOLD)
            .map(|one| format!("{} at {}: {}", one.rule, report.sources.file_and_line(one.place()), one.message))
            .collect();
        if !wrong.is_empty() {
            return Err(Unsound::Found(wrong));
        }
        if report.rooms == 0 {
            return Err(Unsound::Empty);
        }
        // A value of another file must stand before what goes by it; kits read better at the end.
        let orders = [[&parts.own, &parts.used], [&parts.used, &parts.own]];
        for order in orders {
            let joined = order.map(String::as_str).join("\n");
            let Ok(text) = layout::tidy::tidy(&joined) else { continue };
            let own = checker::untried(&Measured::new(plan_of(&name, &text)), rules, today);
            let (open, before) = (Count::open(&own), Count::open(&report));
            if open == before && Count::accepted(&own) == Count::accepted(&report) {
                return Ok(Sound { name, text, report: own, open });
            }
        }
        Err(Unsound::Scattered)
    }

    /// The tree of its text.
    pub fn tree(&self) -> File {
        layout::parse(&self.text)
    }

    /// What is measured of it.
    pub fn measured(&self) -> Measured {
        Measured::new(plan_of(&self.name, &self.text))
    }
}

/// The plan that a text in one file means.
pub fn plan_of(name: &str, text: &str) -> crate::model::Plan {
    let nothing = Memory::default();
    let library = Library::new(&nothing, PathBuf::new(), PathBuf::new());
    resolve(library.load_text(Path::new("plan.lay"), name, text.to_string()))
}

/// A plan's own statements, and those of the files it uses.
struct Parts {
    own: String,
    used: String,
}

impl Parts {
    fn of(loaded: &Loaded) -> Parts {
        let mut parts = Parts { own: String::new(), used: String::new() };
        // The plan's own file comes last, after those it uses.
        let last = loaded.files.len().saturating_sub(1);
        for (number, (_, parsed)) in loaded.files.iter().enumerate() {
            let text = bare(&parsed.source.text, &parsed.tree, number == last);
            if number == last {
                parts.own = text;
            } else {
                parts.used.push_str(&text);
                parts.used.push('\n');
            }
        }
        parts
    }
}

/// A file's text without its notes, without the `use` of others, and, of a used file, without its rooms, which are no part of the plan.
fn bare(text: &str, tree: &File, own: bool) -> String {
    let tokens = tokens(text);
    let blocks = blocks(text, &tokens);
    let mut gone: Vec<std::ops::Range<usize>> =
        tokens.iter().filter(|token| token.sort == Sort::Comment).map(|token| token.span.range()).collect();
    for statement in &tree.statements {
        match statement {
            Statement::Use(word) => {
                let start = text[..word.span.start()].rfind("use").unwrap_or(word.span.start());
                gone.push(start..word.span.end());
            }
            Statement::Room(room) if !own => {
                let block = blocks.iter().find(|block| block.open >= room.span.start());
                let end = block.map_or(room.span.end(), |block| (block.close + 1).min(text.len()));
                gone.push(room.span.start()..end);
            }
            _ => {}
        }
    }
    gone.sort_by_key(|range| range.start);
    let mut kept = String::with_capacity(text.len());
    let mut reached = 0;
    for range in gone {
        if range.start < reached {
            continue;
        }
        kept.push_str(&text[reached..range.start]);
        // The line goes with what stood alone on it.
        let alone = kept.rsplit('\n').next().is_some_and(|before| before.trim().is_empty());
        let rest = text[range.end..].find('\n').map_or(text.len(), |length| range.end + length);
        let ends = text[range.end..rest].trim().is_empty();
        reached = if alone && ends { (rest + 1).min(text.len()) } else { range.end };
        if alone && ends {
            kept.truncate(kept.rfind('\n').map_or(0, |at| at + 1));
        }
    }
    kept.push_str(&text[reached..]);
    kept
}
