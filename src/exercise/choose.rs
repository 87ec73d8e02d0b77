//! Which mistakes an exercise is made of: drawn by lot from all that could be done, and kept where the rules find each by itself and all together.

use std::collections::HashMap;

use super::numbers::Numbers;
use super::provoke::{Provoked, changed, provoked, report_on};
use super::site::{Change, Site};
use super::sound::Sound;
use super::told::{Count, Told};
use super::ways::{self, Way};
use crate::finding::Severity;
use crate::rules::packs::RuleSet;
use crate::source::Span;
use crate::worded::Worded;

/// How hard exercises are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// One line is wrong, and little follows from it.
    Easy,
    /// Little is wrong, or much follows from it.
    Hard,
}

impl Worded for Level {
    const WORDS: &'static [(Level, &'static str)] = &[(Level::Easy, "easy"), (Level::Hard, "hard")];
}

/// How many other rules may find something of an easy mistake, and of any.
const OTHERS: (usize, usize) = (1, 4);
/// A number that is changed by this share or less is changed little.
const LITTLE: f64 = 0.12;
/// How many changes are tried for one mistake.
const MOST_TRIED: usize = 240;
/// How often a set of mistakes that don't go together is drawn anew.
const MOST_DRAWN: usize = 12;

impl Level {
    /// Whether a mistake is of this level.
    fn fits(self, change: &Change, provoked: &Provoked) -> bool {
        let others = provoked.rules().len().saturating_sub(1);
        match self {
            Level::Easy => {
                others <= OTHERS.0 && change.edits.len() == 1 && change.size > LITTLE && provoked.worst > Severity::Note
            }
            Level::Hard => others <= OTHERS.1 && (others > OTHERS.0 || change.size <= LITTLE),
        }
    }
}

/// What mistakes are asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Asked {
    /// So many.
    Count(usize),
    /// One against each of these rules.
    Rules(Vec<String>),
}

/// A mistake that was drawn.
#[derive(Debug, Clone)]
pub struct Mistake {
    /// The way it is made.
    pub way: &'static Way,
    /// The rule that it is made against.
    pub rule: String,
    /// The change.
    pub change: Change,
    /// What it provokes.
    pub provoked: Provoked,
}

impl Mistake {
    /// What its rule finds of it.
    pub fn aimed(&self) -> impl Iterator<Item = &Told> {
        self.provoked.by(&self.rule)
    }
}

/// Why no exercise could be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Lacking {
    /// Nothing that somebody might do to this plan is found by this rule.
    Rule(String),
    /// Only so many mistakes could be made that are told apart.
    Count(usize),
    /// Mistakes against these rules are not told apart in this plan.
    Together,
}

/// Everything that somebody might do to a sound plan, and what is known of what comes of it.
pub struct Pool<'s> {
    sound: &'s Sound,
    rules: &'s RuleSet,
    today: jiff::civil::Date,
    candidates: Vec<(&'static Way, Change)>,
    /// By the names of ways.
    of_way: HashMap<&'static str, Vec<usize>>,
    known: HashMap<usize, Option<Provoked>>,
}

impl<'s> Pool<'s> {
    /// All that could be done to a plan.
    pub fn new(sound: &'s Sound, rules: &'s RuleSet, today: jiff::civil::Date) -> Self {
        let (tree, measured) = (sound.tree(), sound.measured());
        let site = Site::new(&sound.text, &tree, &measured);
        let mut pool =
            Pool { sound, rules, today, candidates: Vec::new(), of_way: HashMap::new(), known: HashMap::new() };
        for way in ways::all() {
            let mut changes = Vec::new();
            (way.changes)(&site, &mut changes);
            let first = pool.candidates.len();
            pool.candidates.extend(changes.into_iter().map(|change| (way, change)));
            pool.of_way.insert(way.name, (first..pool.candidates.len()).collect());
        }
        pool
    }

    /// What comes of a candidate; worked out once.
    fn provoked(&mut self, number: usize) -> Option<&Provoked> {
        let (sound, rules, today) = (self.sound, self.rules, self.today);
        let change = &self.candidates[number].1;
        self.known.entry(number).or_insert_with(|| provoked(sound, change, rules, today)).as_ref()
    }

    /// The changes of some ways, one of each in turn, in an order by lot.
    fn in_turn(&self, ways: &[&'static Way], numbers: &mut Numbers) -> Vec<usize> {
        let mut lists: Vec<Vec<usize>> =
            ways.iter().filter_map(|way| self.of_way.get(way.name)).filter(|list| !list.is_empty()).cloned().collect();
        numbers.shuffle(&mut lists);
        lists.iter_mut().for_each(|list| numbers.shuffle(list));
        let longest = lists.iter().map(Vec::len).max().unwrap_or(0);
        (0..longest)
            .flat_map(|at| lists.iter().filter_map(move |list| list.get(at).copied()))
            .take(MOST_TRIED)
            .collect()
    }

    /// A mistake against a rule that goes with those that are there; of the level where `strict`, else rather of it than not.
    fn mistake(
        &mut self,
        rule: &str,
        level: Level,
        strict: bool,
        there: &[Mistake],
        numbers: &mut Numbers,
    ) -> Option<Mistake> {
        let aiming: Vec<&'static Way> = ways::all().filter(|way| way.aims.contains(&rule)).collect();
        // A rule of somebody's own is one that no way knows of.
        let tried = if aiming.is_empty() { ways::all().collect() } else { aiming };
        let mut other: Option<Mistake> = None;
        for number in self.in_turn(&tried, numbers) {
            let Some(provoked) = self.provoked(number).filter(|provoked| provoked.by(rule).next().is_some()) else {
                continue;
            };
            let provoked = provoked.clone();
            let (way, change) = &self.candidates[number];
            let mistake = Mistake { way, rule: rule.to_string(), change: change.clone(), provoked };
            if there.iter().any(|one| !apart(one, &mistake, &self.sound.text)) {
                continue;
            }
            if level.fits(change, &mistake.provoked) {
                return Some(mistake);
            }
            // Of what isn't of the level, that from which least follows.
            let fewer = |known: &Mistake| mistake.provoked.rules().len() < known.provoked.rules().len();
            if !strict && other.as_ref().is_none_or(fewer) {
                other = Some(mistake);
            }
        }
        other
    }

    /// Draws the mistakes of one exercise.
    ///
    /// # Errors
    /// Where what is asked for can't be had of this plan.
    pub fn draw(&mut self, asked: &Asked, level: Level, numbers: &mut Numbers) -> Result<Vec<Mistake>, Lacking> {
        let mut fewest = usize::MAX;
        for _ in 0..MOST_DRAWN {
            let mistakes = match asked {
                Asked::Rules(rules) => match self.against(rules, level, numbers) {
                    Err(Lacking::Together) => continue,
                    other => other?,
                },
                Asked::Count(count) => self.so_many(*count, level, numbers),
            };
            if let Asked::Count(count) = asked
                && mistakes.len() < *count
            {
                fewest = fewest.min(mistakes.len());
                continue;
            }
            if self.hold_together(&mistakes) {
                return Ok(mistakes);
            }
        }
        Err(if fewest == usize::MAX { Lacking::Together } else { Lacking::Count(fewest) })
    }

    /// A mistake against each of some rules.
    fn against(&mut self, rules: &[String], level: Level, numbers: &mut Numbers) -> Result<Vec<Mistake>, Lacking> {
        let mut mistakes = Vec::new();
        for rule in rules {
            match self.mistake(rule, level, false, &mistakes, numbers) {
                Some(mistake) => mistakes.push(mistake),
                // It may be that the others are in its way.
                None if mistakes.is_empty() || self.mistake(rule, level, false, &[], numbers).is_none() => {
                    return Err(Lacking::Rule(rule.clone()));
                }
                None => return Err(Lacking::Together),
            }
        }
        Ok(mistakes)
    }

    /// So many mistakes of a level, as far as they can be had, against rules drawn by lot.
    fn so_many(&mut self, count: usize, level: Level, numbers: &mut Numbers) -> Vec<Mistake> {
        let mut rules: Vec<&str> =
            self.rules.rules.iter().filter(|rule| rule.severity.is_some()).map(|rule| &*rule.name).collect();
        numbers.shuffle(&mut rules);
        let mut mistakes = Vec::new();
        for rule in rules {
            if mistakes.len() == count {
                break;
            }
            // What no way is made against comes about by others, but is nobody's mistake by itself.
            if ways::all().any(|way| way.aims.contains(&rule)) {
                mistakes.extend(self.mistake(rule, level, true, &mistakes, numbers));
            }
        }
        mistakes
    }

    /// Whether of mistakes made together each is still found by its rule, and nothing is that none of them brings by itself.
    fn hold_together(&self, mistakes: &[Mistake]) -> bool {
        let Some(text) = changed(&self.sound.text, mistakes.iter().map(|one| &one.change)) else { return false };
        let report = report_on(&self.sound.name, &text, self.rules, self.today);
        let open = Count::open(&report);
        let still = |told: &Told| open.of(told) > self.sound.open.of(told);
        let readable = report.findings.iter().all(|finding| finding.basis.is_some());
        let mut new = open.beyond(&self.sound.open);
        readable
            && mistakes.iter().all(|one| one.aimed().all(still))
            && new.all(|told| mistakes.iter().any(|one| one.provoked.told.contains(told)))
    }
}

/// Whether two mistakes can be told from each other: they touch no line together, and what the rule of each finds is not found of the other.
fn apart(one: &Mistake, other: &Mistake, text: &str) -> bool {
    let lines = |mistake: &Mistake| -> Vec<(usize, usize)> {
        mistake.change.edits.iter().map(|edit| touched(text, edit.place.span)).collect()
    };
    let (first, second) = (lines(one), lines(other));
    let clear = first.iter().all(|(from, to)| second.iter().all(|(start, end)| to < start || end < from));
    clear
        && !one.aimed().any(|told| other.provoked.told.contains(told))
        && !other.aimed().any(|told| one.provoked.told.contains(told))
}

/// The first and the last line (from 0) that a stretch of a text lies on.
pub fn touched(text: &str, span: Span) -> (usize, usize) {
    let line = |at: usize| text.get(..at).map_or(0, |before| before.matches('\n').count());
    // A line that goes with its end doesn't touch the next.
    let ends = text.get(span.range()).is_some_and(|stretch| stretch.ends_with('\n'));
    (line(span.start()), line(span.end() - usize::from(ends)))
}
