//! Which findings are new, gone, or agreed to since.
//!
//! A finding is the same by its rule, its room and the things that it is about; of several that agree in these, by its words, else by its place,
//! and those that have none in their order. Lines and names of files are no matter.

use std::collections::BTreeMap;

use super::RoomComparison;
use crate::checker::Report;
use crate::finding::{Finding, Severity};
use crate::geometry::{Point, distance};
use crate::model::Room;

/// A finding that one of the plans has and the other hasn't, or that was agreed to in one of them.
#[derive(Debug, Clone, PartialEq)]
pub struct Finds {
    /// Which it is.
    pub turn: Turn,
    /// Its rule.
    pub rule: String,
    /// Its weight.
    pub severity: Severity,
    /// The name of its room.
    pub room: Option<String>,
    /// What it says.
    pub message: String,
    /// The file and line, of the plan that it stands in.
    pub line: String,
    /// Its fingerprint.
    pub fingerprint: String,
}

/// What became of a finding.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turn {
    /// The second plan alone has it.
    New,
    /// The first alone has it.
    Gone,
    /// It is agreed to in the second.
    Agreed,
    /// It was agreed to in the first, and is no longer.
    Open,
}

impl Turn {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Turn::New => "new",
            Turn::Gone => "gone",
            Turn::Agreed => "agreed to",
            Turn::Open => "no longer agreed to",
        }
    }
}

/// How far a finding may have moved for it to be the same, mm: as far as a run may have.
const FARTHEST: f64 = 500.0;

type Key<'f> = (&'f str, Option<&'f str>, Vec<(&'static str, &'f str)>);

/// What became of the findings of two reports. Rooms tell which are the same under other names, and how far each lies elsewhere.
pub(super) fn turns(design: &Report, built: &Report, rooms: &[RoomComparison], old: &[Room]) -> Vec<Finds> {
    let names: BTreeMap<&str, (&str, Point)> = rooms
        .iter()
        .filter_map(|room| Some((old.get(room.at.0?)?.name.text.as_str(), (room.name.as_str(), room.offset))))
        .collect();
    let offset =
        |finding: &Finding| finding.room.as_deref().and_then(|name| names.get(name)).map_or(Point::zero(), |own| own.1);
    let mut keyed: BTreeMap<Key<'_>, (Vec<&Finding>, Vec<&Finding>)> = BTreeMap::new();
    for finding in &design.findings {
        let room = finding.room.as_deref().map(|name| names.get(name).map_or(name, |own| own.0));
        keyed.entry(key(finding, room)).or_default().0.push(finding);
    }
    for finding in &built.findings {
        keyed.entry(key(finding, finding.room.as_deref())).or_default().1.push(finding);
    }
    let mut turns = Vec::new();
    for (mut before, mut after) in keyed.into_values() {
        let mut same: Vec<(&Finding, &Finding)> = Vec::new();
        take_pairs(&mut before, &mut after, &mut same, |a, b| (a.message == b.message).then_some(0.0));
        take_pairs(&mut before, &mut after, &mut same, |a, b| {
            let apart = distance(a.at()? + offset(a), b.at()?);
            (apart <= FARTHEST).then_some(apart)
        });
        take_pairs(&mut before, &mut after, &mut same, |a, b| (a.site.is_none() && b.site.is_none()).then_some(0.0));
        for (a, b) in same {
            match (a.accepted.is_some(), b.accepted.is_some()) {
                (false, true) => turns.push(finds(b, built, Turn::Agreed)),
                (true, false) => turns.push(finds(b, built, Turn::Open)),
                _ => {}
            }
        }
        turns.extend(before.into_iter().map(|finding| finds(finding, design, Turn::Gone)));
        turns.extend(after.into_iter().map(|finding| finds(finding, built, Turn::New)));
    }
    let rank = |turn: Turn| [Turn::New, Turn::Open, Turn::Agreed, Turn::Gone].iter().position(|own| *own == turn);
    turns.sort_by_key(|finds| (rank(finds.turn), std::cmp::Reverse(finds.severity)));
    turns
}

fn key<'f>(finding: &'f Finding, room: Option<&'f str>) -> Key<'f> {
    let about = finding.subjects.iter().map(|subject| (subject.kind.statement(), subject.name.as_str())).collect();
    (&finding.rule, room, about)
}

/// Most findings of one key that are compared by place, each with each.
const MOST_NEAR: usize = 1_000;

/// Takes out pairs that are the same, those first that lie nearest.
fn take_pairs<'f>(
    before: &mut Vec<&'f Finding>,
    after: &mut Vec<&'f Finding>,
    same: &mut Vec<(&'f Finding, &'f Finding)>,
    apart: impl Fn(&Finding, &Finding) -> Option<f64>,
) {
    let mut near: Vec<(f64, usize, usize)> = Vec::new();
    for (i, a) in before.iter().enumerate().take(MOST_NEAR) {
        near.extend(after.iter().enumerate().take(MOST_NEAR).filter_map(|(j, b)| Some((apart(a, b)?, i, j))));
    }
    near.sort_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    let (mut taken_before, mut taken_after) = (vec![false; before.len()], vec![false; after.len()]);
    for (_, i, j) in near {
        if !taken_before[i] && !taken_after[j] {
            (taken_before[i], taken_after[j]) = (true, true);
            same.push((before[i], after[j]));
        }
    }
    let keep = |taken: Vec<bool>| {
        let mut taken = taken.into_iter();
        move |_: &&Finding| !taken.next().unwrap_or(false)
    };
    before.retain(keep(taken_before));
    after.retain(keep(taken_after));
}

fn finds(finding: &Finding, report: &Report, turn: Turn) -> Finds {
    Finds {
        turn,
        rule: finding.rule.to_string(),
        severity: finding.severity,
        room: finding.room.clone(),
        message: finding.message.clone(),
        line: report.sources.file_and_line(finding.place()),
        fingerprint: crate::fingerprint::fingerprint(finding, &report.sources),
    }
}
