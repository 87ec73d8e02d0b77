//! What a learner is told of a fault that is still there, by degrees.

use crate::finding::Finding;
use crate::rules::packs::RuleSet;
use crate::worded::Worded;

/// How much is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hint {
    /// Why its rule is kept.
    Reason,
    /// Where it is, too.
    Place,
    /// What to do, too.
    Advice,
}

impl Worded for Hint {
    const WORDS: &'static [(Hint, &'static str)] = &[(Hint::Reason, "1"), (Hint::Place, "2"), (Hint::Advice, "3")];
}

impl Hint {
    /// What it tells, in a word.
    pub fn tells(self) -> &'static str {
        match self {
            Hint::Reason => "why",
            Hint::Place => "where",
            Hint::Advice => "what to do",
        }
    }
}

/// What is told of a finding up to a degree; `line` is the one at fault.
pub(super) fn hints(
    most: Option<Hint>,
    rule: &str,
    line: Option<usize>,
    finding: Option<&Finding>,
    rules: &RuleSet,
) -> Vec<(Hint, String)> {
    let Some(most) = most else { return Vec::new() };
    let own = rules.rule(rule);
    let reason = own.map(|rule| rule.why.clone().unwrap_or_else(|| rule.about.clone()));
    let place = line.map(|line| match finding {
        Some(finding) => format!("line {line}: {}", finding.message),
        None => format!("line {line}"),
    });
    let advice = finding.and_then(|finding| finding.advice.clone());
    let all = [(Hint::Reason, reason), (Hint::Place, place), (Hint::Advice, advice)];
    all.into_iter().filter(|(hint, _)| *hint <= most).filter_map(|(hint, told)| Some((hint, told?))).collect()
}
