//! Holds a plan with a layout in it to the rules, and says what stands in the way.

use std::collections::HashSet;

use super::Setting;
use super::limits::Limits;
use crate::checker::{Report, untried_until};
use crate::finding::{Finding, Severity};
use crate::geometry::Point;
use crate::geometry::ring::signed_area;
use crate::measure::plan::Measured;

/// What was found in a plan before anything was laid in it, which is none of the layout's doing.
pub struct Before {
    known: HashSet<(String, String)>,
}

/// What a layout is found to be.
pub enum Verdict {
    /// Nothing is found that wasn't before, but for notes; as it was measured.
    Clean(Box<Measured>),
    /// What stands in the way: the rules, each with what it says, and how much that weighs.
    Faulty {
        /// The heaviest first.
        findings: Vec<(String, String)>,
        /// What they weigh together.
        weight: usize,
        /// Where on the floor they are.
        faults: Vec<Fault>,
    },
}

/// Where something is found on the floor.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// Its points.
    pub places: Vec<Point>,
    /// By how much a limit is missed, in the unit of its figure; of an area the side of a square as large, mm.
    pub excess: f64,
}

impl Fault {
    fn of(finding: &Finding) -> Option<Self> {
        let site = finding.site.as_ref()?;
        let mut places = vec![site.at];
        places.extend(site.nearest);
        places.extend(site.stretches.iter().flat_map(|piece| [piece.start, piece.along(0.5), piece.end]));
        places.extend(site.area.iter().flatten());
        let area = site.area.iter().map(|ring| signed_area(ring).abs()).fold(0.0, f64::max);
        Some(Fault { places, excess: finding.excess.map_or(area.sqrt(), f64::abs) })
    }
}

impl Before {
    /// What is found in a plan without the cables in question.
    pub fn of(report: &Report) -> Self {
        Before { known: open(report).map(key).collect() }
    }

    /// What is found in a plan with them.
    pub fn judged(&self, text: &str, setting: &Setting<'_>) -> Verdict {
        let measured = (setting.read)(text);
        let report = untried_until(&measured, setting.rules, setting.today, setting.stop);
        let heavy = open(&report).filter(|finding| finding.severity > Severity::Note);
        let mut new: Vec<&Finding> = heavy.filter(|finding| !self.known.contains(&key(finding))).collect();
        if new.is_empty() {
            return Verdict::Clean(Box::new(measured));
        }
        new.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
        let weight = new.iter().map(|finding| if finding.severity == Severity::Error { ERROR } else { 1 }).sum();
        let faults = new.iter().filter_map(|finding| Fault::of(finding)).collect();
        let findings = new.into_iter().map(|finding| (finding.rule.to_string(), finding.message.clone())).collect();
        Verdict::Faulty { findings, weight, faults }
    }
}

/// How many warnings weigh as much as an error.
const ERROR: usize = 10;

fn open(report: &Report) -> impl Iterator<Item = &Finding> {
    report.findings.iter().filter(|finding| finding.accepted.is_none())
}

fn key(finding: &Finding) -> (String, String) {
    (finding.rule.to_string(), finding.message.clone())
}

/// How good a clean layout is: of two the one that is less in this order.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Quality {
    /// The greatest spacing over the least, in steps too small to be felt.
    uneven: f64,
    /// The share of the free floor that is not heated, in steps.
    unheated: f64,
    /// How many corners its cables have, and how many lines say how they lie.
    turns: usize,
    lines: usize,
}

/// Layouts count as alike whose greatest spacing over the least, and whose share of floor that isn't heated, differ by less.
const FELT: f64 = 0.02;
const COUNTED: f64 = 0.005;

impl Quality {
    /// That of a room of a measured plan with a text.
    pub fn of(measured: &Measured, room: &str, text: &str, limits: &Limits) -> Self {
        let room = measured.rooms().find(|one| one.room.name.text == room);
        let steps = |value: f64, step: f64| (value / step).round();
        let Some(room) = room else {
            return Quality { uneven: f64::INFINITY, unheated: 1.0, turns: usize::MAX, lines: usize::MAX };
        };
        let spacings = room.spacings(limits.alongside);
        let found = spacings.as_ref().as_ref().map_or(&[][..], |pairs| &pairs.found);
        let least = found.iter().map(|pair| pair.distance).fold(f64::INFINITY, f64::min);
        let most = found.iter().map(|pair| pair.distance).fold(0.0, f64::max);
        let share = room.heated_area(limits.margins).zip(room.free_area(limits.margins));
        let unheated = share.map_or(1.0, |(heated, free)| 1.0 - heated / free);
        Quality {
            uneven: steps(if most > 0.0 { most / least } else { 1.0 }, FELT),
            unheated: steps(unheated, COUNTED),
            turns: room.room.cables.iter().map(|cable| cable.runs.len()).sum(),
            lines: text.lines().count(),
        }
    }

    /// The greatest spacing over the least.
    pub fn uneven(&self) -> f64 {
        self.uneven * FELT
    }
}
