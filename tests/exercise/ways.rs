//! Every way of getting a plan wrong against every rule, over all sound examples: the mutation test of the rules.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use layrule::exercise::numbers::Numbers;
use layrule::exercise::provoke::provoked;
use layrule::exercise::site::{Change, Site};
use layrule::exercise::sound::Sound;
use layrule::exercise::ways::{self, Way};
use layrule::model::load::Library;
use layrule::source::Memory;
use rayon::prelude::*;

use super::sound_examples;
use crate::common::{RULES, TODAY};

/// Rules that nothing which is done to a sound example is found by, and why; each has a plan among `examples/faults/`.
const UNREACHED: &[(&str, &str)] = &[
    (
        "heated-share",
        "it speaks only where nothing lies far from a run and the kit is neither too long nor too short, which no one mistake in a plan that is \
         laid all over brings about",
    ),
    ("shared-floor", "a room that is drawn elsewhere is drawn so line by line"),
    ("tail-off-floor", "a tail is led out of the room by two points more, not by one that is wrong"),
    ("sensor-off-floor", "a point outside the room is found by what asks where the sensor's tip lies first"),
    ("thermostat-wall", "a thermostat is drawn where its conduit begins, which no one number moves off the wall alone"),
];

/// How many changes of a way are tried on each plan, and how many on each where a rule that it is done against is not found by then.
const TRIED: (usize, usize) = (8, 160);

/// Sound plans beside the examples: those that have what none of these has.
fn others() -> Vec<Sound> {
    // A cable of one conductor with its two tails, the second of which is then long enough.
    let text = include_str!("../../examples/faults/second-tail-reach.lay");
    let mended = text.replace("tail         3 m\n", "tail         4 m\n");
    assert_ne!(text, mended);
    let mut files = Memory::default();
    files.insert("kits.lay", include_str!("../../examples/kits.lay"));
    let library = Library::new(&files, "", "");
    let loaded = library.load_text("plans/two-tails.lay".as_ref(), "two-tails.lay", mended);
    vec![Sound::new(loaded, &RULES, TODAY).unwrap_or_else(|why| panic!("two-tails.lay: {why}"))]
}

/// What a way does to a plan, in an order by lot.
fn changes(sound: &Sound, way: &Way, seed: u64) -> Vec<Change> {
    let (tree, measured) = (sound.tree(), sound.measured());
    let site = Site::new(&sound.text, &tree, &measured);
    let mut changes = Vec::new();
    (way.changes)(&site, &mut changes);
    Numbers::new(seed).shuffle(&mut changes);
    changes
}

/// What was found of the changes of one way: by rule, in which plans, and beside which other rules at the least.
#[derive(Default)]
struct Found {
    by_rule: BTreeMap<String, (BTreeSet<usize>, Option<BTreeSet<String>>)>,
    kept: usize,
    tried: usize,
}

impl Found {
    fn of(way: &Way, plans: &[Sound]) -> Found {
        let mut found = Found::default();
        let all: Vec<Vec<Change>> = (0..).zip(plans).map(|(seed, sound)| changes(sound, way, seed)).collect();
        for (number, changes) in all.iter().enumerate() {
            changes.iter().take(TRIED.0).for_each(|change| found.add(number, &plans[number], change));
        }
        for at in TRIED.0..TRIED.1 {
            if way.aims.iter().all(|rule| found.by_rule.contains_key(*rule)) {
                break;
            }
            for (number, changes) in all.iter().enumerate() {
                changes.get(at).into_iter().for_each(|change| found.add(number, &plans[number], change));
            }
        }
        found
    }

    fn add(&mut self, number: usize, sound: &Sound, change: &Change) {
        self.tried += 1;
        let Some(provoked) = provoked(sound, change, &RULES, TODAY) else { return };
        self.kept += 1;
        let rules = provoked.rules();
        for rule in &rules {
            let (plans, others) = self.by_rule.entry((*rule).to_string()).or_default();
            plans.insert(number);
            let own: BTreeSet<String> =
                rules.iter().filter(|other| *other != rule).map(|other| other.to_string()).collect();
            if others.as_ref().is_none_or(|known| own.len() < known.len()) {
                *others = Some(own);
            }
        }
    }
}

#[test]
fn every_rule_is_broken_by_what_people_do() {
    let mut plans = sound_examples();
    let examples = plans.len();
    plans.extend(others());
    let ways: Vec<&'static Way> = ways::all().collect();
    let found: Vec<Found> = ways.par_iter().map(|way| Found::of(way, &plans)).collect();

    let mut dead = Vec::new();
    let mut table = format!("{examples} sound examples and {} more\n", plans.len() - examples);
    for rule in RULES.rules.iter().map(|rule| &*rule.name) {
        let _ = writeln!(table, "\n{rule}");
        let mut none = true;
        for (way, found) in ways.iter().zip(&found).filter(|(way, _)| way.aims.contains(&rule)) {
            match found.by_rule.get(rule) {
                Some((plans, others)) => {
                    none = false;
                    let others = others.iter().flatten().cloned().collect::<Vec<_>>().join(", ");
                    let beside = if others.is_empty() { "alone".into() } else { format!("with {others}") };
                    let _ = writeln!(table, "  {:<24} found in {:>2}, {beside}", way.name, plans.len());
                }
                None => dead.push(format!("{} aims at {rule}, which never finds it", way.name)),
            }
        }
        let why = UNREACHED.iter().find(|(own, _)| *own == rule);
        match (none, why) {
            (true, Some((_, why))) => {
                let _ = writeln!(table, "  no way: {why}");
            }
            (true, None) => dead.push(format!("nothing that people do is found by {rule}")),
            (false, Some(_)) => dead.push(format!("{rule} is said to be out of reach, and is found")),
            (false, None) => {}
        }
    }
    assert!(dead.is_empty(), "{dead:#?}");
    insta::assert_snapshot!("rules-and-ways", table);
}

#[test]
fn ways_have_names_of_their_own_and_aim_at_rules_there_are() {
    let mut names = BTreeSet::new();
    for way in ways::all() {
        assert!(names.insert(way.name), "{} twice", way.name);
        assert!(!way.aims.is_empty() && !way.does.is_empty(), "{}", way.name);
        let mut aims = BTreeSet::new();
        for rule in way.aims {
            assert!(RULES.rule(rule).is_some(), "{} aims at {rule}", way.name);
            assert!(aims.insert(rule), "{} aims at {rule} twice", way.name);
        }
    }
    for (rule, _) in UNREACHED {
        let plan = crate::common::root().join(format!("examples/faults/{rule}.lay"));
        assert!(plan.exists(), "{rule} has no plan that shows it");
    }
}
