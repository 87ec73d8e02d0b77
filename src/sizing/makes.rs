//! Makes of cable, as a catalogue has them in several lengths, and what lengths of each would do in a room.

use super::Stop;
use super::trial::Trials;
use crate::model::Kit;
use crate::quantity::{Dimension, Quantity};

/// Outputs per length, and spacings of mats, that differ by less than this share are of one make.
const ALIKE: f64 = 0.02;

/// What cable of whatever length is called where rules speak of it.
const ANY: &str = "any";

/// The closest and the widest spacing at which cable is tried, mm: no farther than anyone would think of. What may be laid is for the rules
/// to say.
const CLOSEST: f64 = 10.0;
const WIDEST: f64 = 1000.0;

/// The least and the greatest share of the free floor that a mat is tried on.
const LEAST_MAT: f64 = 0.05;
const LARGEST_MAT: f64 = 1.5;

/// How many lengths are tried first, each as much longer than the one before.
const LENGTHS: usize = 33;

/// How often the step between a length that does and one that doesn't is halved.
const HALVINGS: usize = 7;

/// For how many makes lengths are looked for.
pub(super) const MOST_BOUNDED: usize = 8;

/// How long cable of a make may be in all by one rule.
#[derive(Debug, Clone, PartialEq)]
pub struct Bound {
    /// What the rule says of what is too short or, where nothing is, too long.
    pub stop: Stop,
    /// At the least, mm.
    pub least: Option<f64>,
    /// At the most, mm.
    pub most: Option<f64>,
}

/// Cable of one make.
#[derive(Debug, Clone, PartialEq)]
pub struct Make {
    /// The kits of it: indices, the shortest first.
    pub kits: Vec<usize>,
    /// What it gives, W/mm.
    pub output: f64,
    /// The voltage that it is made for, V.
    pub voltage: f64,
    /// From run to run where it is held on a mesh, mm.
    pub mat_spacing: Option<f64>,
    /// What rules bound its length in all; none where that was not looked for.
    pub bounds: Vec<Bound>,
    /// What rules find of every length of it.
    pub never: Vec<Stop>,
    /// Whether lengths were looked for.
    pub looked: bool,
    /// Whether the catalogue has others that are made for another voltage.
    pub voltage_differs: bool,
}

impl Make {
    /// What it is called: `10 W/m cable`.
    pub fn words(&self) -> String {
        let words = match self.mat_spacing {
            Some(spacing) => {
                let density = Quantity::new(self.output / spacing, Dimension::POWER_PER_AREA);
                format!("{} mat", density.show(0))
            }
            None => format!("{} cable", Quantity::new(self.output, Dimension::POWER_PER_LENGTH).show(0)),
        };
        if !self.voltage_differs {
            return words;
        }
        format!("{words} for {}", Quantity::new(self.voltage, Dimension::VOLTAGE).show(0))
    }

    /// What bounds its length in all from below, mm.
    pub fn least(&self) -> Option<(f64, &Bound)> {
        let each = self.bounds.iter().filter_map(|bound| Some((bound.least?, bound)));
        each.max_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// What bounds its length in all from above, mm.
    pub fn most(&self) -> Option<(f64, &Bound)> {
        let each = self.bounds.iter().filter_map(|bound| Some((bound.most?, bound)));
        each.min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// The least and the greatest length in all that no rule stops, mm: 0, and without end, where no rule bounds it. Nothing where rules leave
    /// none, or lengths were not looked for.
    pub fn fits(&self) -> Option<(f64, f64)> {
        let least = self.least().map_or(0.0, |(least, _)| least);
        let most = self.most().map_or(f64::INFINITY, |(most, _)| most);
        (self.looked && self.never.is_empty() && least <= most).then_some((least, most))
    }
}

fn alike(one: f64, other: f64) -> bool {
    (one - other).abs() <= ALIKE * one.max(other)
}

/// The makes of some kits, in the order of the first of each.
pub(super) fn tell_apart(kits: &[Kit]) -> Vec<Make> {
    let mut makes: Vec<Make> = Vec::new();
    for (index, kit) in kits.iter().enumerate() {
        let (output, mat_spacing) = (kit.output / kit.length, kit.mat.map(|mat| mat.spacing));
        let same = |make: &&mut Make| {
            alike(make.output, output)
                && alike(make.voltage, kit.voltage)
                && match (make.mat_spacing, mat_spacing) {
                    (Some(one), Some(other)) => alike(one, other),
                    (one, other) => one.is_none() && other.is_none(),
                }
        };
        match makes.iter_mut().find(same) {
            Some(make) => make.kits.push(index),
            None => makes.push(Make {
                kits: vec![index],
                output,
                voltage: kit.voltage,
                mat_spacing,
                bounds: Vec::new(),
                never: Vec::new(),
                looked: false,
                voltage_differs: false,
            }),
        }
    }
    let differs = makes.iter().any(|make| !alike(make.voltage, makes[0].voltage));
    for make in &mut makes {
        make.voltage_differs = differs;
        make.kits.sort_by(|a, b| kits[*a].length.total_cmp(&kits[*b].length));
    }
    makes
}

/// A kit of the same make and another length, mm.
fn of_length(kit: &Kit, length: f64) -> Kit {
    let share = length / kit.length;
    let mut kit = kit.clone();
    kit.name.text = ANY.into();
    (kit.length, kit.output, kit.resistance) = (length, kit.output * share, kit.resistance / share);
    if let Some(mat) = &mut kit.mat {
        mat.length *= share;
    }
    kit
}

/// Asks the rules what lengths of a make would do on so much free floor, mm2: lengths from far too little to far too much are tried, and between
/// one that a rule stops and the next that it doesn't the step is halved.
pub(super) fn bound(make: &mut Make, kits: &[Kit], trials: &mut Trials<'_>, floor: f64) {
    let Some(kit) = make.kits.get(make.kits.len() / 2).and_then(|index| kits.get(*index)) else { return };
    let (least, most) = match make.mat_spacing {
        Some(spacing) => (LEAST_MAT * floor / spacing, LARGEST_MAT * floor / spacing),
        None => (floor / WIDEST, floor / CLOSEST),
    };
    let step = (most / least).powf(1.0 / (LENGTHS - 1) as f64);
    let tried: Vec<(f64, Vec<Stop>)> = (0..LENGTHS)
        .map(|number| least * step.powi(i32::try_from(number).unwrap_or(0)))
        .map(|length| (length, trials.stops_of(of_length(kit, length), floor)))
        .collect();
    let clean = tried.iter().position(|(_, stops)| stops.is_empty());
    let mut rules: Vec<&Stop> = Vec::new();
    for stop in tried.iter().flat_map(|(_, stops)| stops) {
        if rules.iter().all(|known| known.rule != stop.rule) {
            rules.push(stop);
        }
    }
    let stops = |stops: &[Stop], rule: &str| stops.iter().any(|stop| &*stop.rule == rule);
    for stop in rules {
        let passed: Vec<bool> = tried.iter().map(|(_, found)| !stops(found, &stop.rule)).collect();
        let Some((first, last)) = stretch(&passed, clean) else {
            make.never.push(stop.clone());
            continue;
        };
        let mut edge = |mut does: f64, mut does_not: f64| {
            for _ in 0..HALVINGS {
                let middle = f64::midpoint(does, does_not);
                let found = trials.stops_of(of_length(kit, middle), floor);
                if stops(&found, &stop.rule) { does_not = middle } else { does = middle }
            }
            does
        };
        let least = (first > 0).then(|| edge(tried[first].0, tried[first - 1].0));
        let most = tried.get(last + 1).map(|(length, _)| edge(tried[last].0, *length));
        make.bounds.push(Bound { stop: stop.clone(), least, most });
    }
    make.looked = true;
}

/// The first and the last of neighbouring lengths that pass: those round the one that every rule passes or, where there is none, the most of
/// them. What a rule asks may come and go: a floor that can't make up for a room's heat loss stays cool.
fn stretch(passed: &[bool], clean: Option<usize>) -> Option<(usize, usize)> {
    let mut stretches: Vec<(usize, usize)> = Vec::new();
    for (number, _) in passed.iter().enumerate().filter(|(_, passed)| **passed) {
        match stretches.last_mut().filter(|(_, last)| last + 1 == number) {
            Some((_, last)) => *last = number,
            None => stretches.push((number, number)),
        }
    }
    let holds = |(first, last): &&(usize, usize)| clean.is_some_and(|clean| (*first..=*last).contains(&clean));
    let round = stretches.iter().find(holds);
    round.or_else(|| stretches.iter().max_by_key(|(first, last)| last - first)).copied()
}

/// Takes out what rules find of every length of every make: it isn't the kits' doing.
pub(super) fn take_common(makes: &mut [Make]) -> Vec<Stop> {
    let looked = || makes.iter().filter(|make| make.looked);
    let Some(first) = looked().next() else { return Vec::new() };
    let everywhere = |stop: &&Stop| looked().all(|make| make.never.iter().any(|own| own.rule == stop.rule));
    let common: Vec<Stop> = first.never.iter().filter(everywhere).cloned().collect();
    for make in makes {
        make.never.retain(|stop| !common.iter().any(|own| own.rule == stop.rule));
    }
    common
}
