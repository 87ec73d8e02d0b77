//! Kits tried in a room: the plan as it would be with them, held to the rules.
//!
//! The cables of a trial lie evenly, each over its share of the free floor, and aren't drawn: rules about how cable is led have nothing to
//! speak of. Of the plan's other rooms nothing is left but what they take from supplies. What rules find without any cable, and what they
//! say of sensors, which are laid with it, isn't the kits' doing.

use std::collections::{BTreeMap, HashSet};
use std::sync::Arc;

use super::choice::{Choice, Load};
use super::combinations::Combination;
use super::{Stop, Wanted};
use crate::finding::Finding;
use crate::layout::kinds::Kind;
use crate::measure::circuit::design_current;
use crate::measure::floor_heat::Unknown;
use crate::measure::plan::Measured;
use crate::measure::room::RoomMeasure;
use crate::model::{Cable, Kit, Name, Plan, Room, SecondTail, Sensor};
use crate::reasons;
use crate::rules::evaluate::{Detail, Outcome, Unchecked, evaluate};
use crate::rules::packs::RuleSet;
use crate::takeoff::Told;
use crate::things::World;

/// What is tried in one room.
pub(super) struct Trials<'r> {
    /// With the kits there are; while something is tried it is lent to what measures it.
    plan: Plan,
    room: usize,
    rules: &'r RuleSet,
    today: jiff::civil::Date,
    /// What rules find without any cable.
    before: HashSet<(Arc<str>, String)>,
    /// Rules that can't be held without any cable.
    unheld_before: Vec<Unchecked>,
    presumed: Vec<String>,
    /// Rules that could not be held where kits were tried.
    unheld: Vec<Unchecked>,
}

impl<'r> Trials<'r> {
    pub(super) fn new(measured: &Measured, room: usize, kits: &[Kit], wanted: &Wanted<'r>) -> Self {
        let mut plan = measured.plan().clone();
        for (index, other) in plan.rooms.iter_mut().enumerate().filter(|(index, _)| *index != room) {
            debug_assert!(index != room, "the room itself stays whole");
            *other = load_alone(other);
        }
        let mut trials = Trials {
            presumed: plan.rooms.get_mut(room).map(clear).unwrap_or_default(),
            plan,
            room,
            rules: wanted.rules,
            today: wanted.today,
            before: HashSet::new(),
            unheld_before: Vec::new(),
            unheld: Vec::new(),
        };
        let (measured, outcome) = trials.held();
        trials.plan = measured.into_plan();
        trials.before = outcome.findings.into_iter().map(|finding| (finding.rule, finding.message)).collect();
        trials.unheld_before = outcome.unchecked;
        // The cables of other rooms keep the kits that they have.
        trials.plan.kits.extend(kits.iter().cloned());
        trials
    }

    /// The plan as it stands, measured and held to the rules.
    fn held(&mut self) -> (Measured, Outcome) {
        let measured = Measured::new(std::mem::take(&mut self.plan));
        let outcome = evaluate(&mut World::new(&measured, self.today), &self.rules.rules, Detail::Whole);
        (measured, outcome)
    }

    /// What rules find of kits, each with the floor that it gets (mm2), and what `of` makes of the plan with them.
    fn tried<T>(&mut self, kits: &[(Kit, f64)], of: impl FnOnce(&Measured) -> T) -> (Vec<Stop>, T) {
        let own = self.plan.kits.len();
        self.plan.kits.extend(kits.iter().map(|(kit, _)| kit.clone()));
        if let Some(room) = self.plan.rooms.get_mut(self.room) {
            room.cables = kits.iter().enumerate().map(|(index, (kit, _))| cable(room, kit, own + index)).collect();
            share_thermostats(room, kits);
            room.evenly = Some(kits.iter().map(|(kit, floor)| spacing(kit, *floor)).collect());
        }
        let (measured, outcome) = self.held();
        let made = of(&measured);
        self.plan = measured.into_plan();
        self.plan.kits.truncate(own);
        for unchecked in outcome.unchecked {
            if !self.unheld_before.contains(&unchecked) && !self.unheld.contains(&unchecked) {
                self.unheld.push(unchecked);
            }
        }
        (self.found(outcome.findings), made)
    }

    /// The findings that are the kits' doing, each once, the heaviest first.
    fn found(&self, findings: Vec<Finding>) -> Vec<Stop> {
        let own = self.plan.rooms.get(self.room).map(|room| room.name.text.as_str());
        let mut stops: Vec<Stop> = Vec::new();
        for finding in findings {
            let here = finding.room.as_deref().is_none_or(|room| Some(room) == own);
            let of_sensor = finding.subjects.iter().any(|subject| subject.kind == Kind::Sensor);
            let open = finding.accepted.is_none();
            let stop = Stop { rule: finding.rule, severity: finding.severity, message: finding.message };
            let known = |stop: &Stop| self.before.contains(&(Arc::clone(&stop.rule), stop.message.clone()));
            if here && !of_sensor && open && !known(&stop) && !stops.contains(&stop) {
                stops.push(stop);
            }
        }
        stops.sort_by_key(|stop| std::cmp::Reverse(stop.severity));
        stops
    }

    /// What rules find of one kit that gets all of the floor, mm2.
    pub(super) fn stops_of(&mut self, kit: Kit, floor: f64) -> Vec<Stop> {
        let mut found = self.tried(&[(kit, floor)], |_| ()).0;
        found.retain(Stop::stops);
        found
    }

    /// What a combination comes to.
    pub(super) fn choice(&mut self, combination: &Combination, kits: &[Kit]) -> Choice {
        let each: Vec<(Kit, f64)> =
            combination.cables.iter().filter_map(|(kit, floor)| Some((kits.get(*kit)?.clone(), *floor))).collect();
        let room = self.room;
        let (found, mut choice) = self.tried(&each, |measured| measured_choice(measured, room, &each));
        (choice.stops, choice.notes) = found.into_iter().partition(Stop::stops);
        choice.make = combination.make;
        choice
    }

    /// The thermostats for which a sensor was presumed, and the rules that could not be held for a reason that keeps a figure of these
    /// choices from being told.
    pub(super) fn said<'c>(
        self,
        choices: impl Iterator<Item = &'c Choice>,
    ) -> (Vec<String>, BTreeMap<String, Vec<String>>) {
        let mut unheld: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for why in choices.flat_map(Choice::missing) {
            unheld.entry(why.clone()).or_default();
        }
        for unchecked in self.unheld {
            if let Some(rules) = unheld.get_mut(&unchecked.reason) {
                rules.push(unchecked.rule.to_string());
            }
        }
        unheld.retain(|_, rules| !rules.is_empty());
        (self.presumed, unheld)
    }
}

/// A room with nothing left of it but what it takes from supplies.
fn load_alone(room: &Room) -> Room {
    let mut cables = room.cables.clone();
    for cable in &mut cables {
        (cable.runs, cable.tail, cable.second_tail) = (Vec::new(), Vec::new(), None);
    }
    Room {
        name: room.name.clone(),
        corners: room.corners.clone(),
        walls: room.walls.clone(),
        junctions: room.junctions.clone(),
        thermostats: room.thermostats.clone(),
        contactors: room.contactors.clone(),
        // No rule is asked what it finds there.
        evenly: Some(vec![1.0; cables.len()]),
        incomplete: room.incomplete.clone(),
        cables,
        ..Room::default()
    }
}

/// Takes what is drawn of cable out of a room, and gives each thermostat without a floor sensor one; these thermostats' names.
fn clear(room: &mut Room) -> Vec<String> {
    room.cables.clear();
    room.record = None;
    room.evenly = Some(Vec::new());
    let without = |index: &usize| room.sensors.iter().all(|sensor| sensor.thermostat != *index);
    let without: Vec<usize> = (0..room.thermostats.len()).filter(without).collect();
    let mut names = Vec::new();
    for index in without {
        let thermostat = &room.thermostats[index];
        names.push(thermostat.name.text.clone());
        room.sensors.push(Sensor {
            name: thermostat.name.clone(),
            thermostat: index,
            conduit: vec![thermostat.at],
            lead: None,
            place: thermostat.place,
        });
    }
    names
}

/// A cable of a kit, known by the kit's name.
fn cable(room: &Room, kit: &Kit, index: usize) -> Cable {
    let place = room.name.place;
    Cable {
        name: Name { text: kit.name.text.clone(), place },
        kit: Some(index),
        unknown_kit: None,
        junction: None,
        tail: Vec::new(),
        tail_place: place,
        tail_from: None,
        sleeves: Vec::new(),
        // Both ends of a single conductor come home, however it is led.
        second_tail: (kit.cores == 1).then(|| SecondTail {
            junction: None,
            route: Vec::new(),
            sleeves: Vec::new(),
            place,
        }),
        thermostat: None,
        start: place,
        runs: Vec::new(),
        place,
    }
}

/// How far apart a kit lies on its floor, mm: a mat as it is made, any other evenly.
fn spacing(kit: &Kit, floor: f64) -> f64 {
    kit.mat.map_or(floor / kit.length, |mat| mat.spacing)
}

/// Puts each cable on the thermostat that has the least load for its rating.
fn share_thermostats(room: &mut Room, kits: &[(Kit, f64)]) {
    let mut loads = vec![0.0; room.thermostats.len()];
    for (cable, (kit, _)) in room.cables.iter_mut().zip(kits) {
        let share = |index: usize| loads[index] / room.thermostats[index].rated;
        let least = (0..loads.len()).min_by(|a, b| share(*a).total_cmp(&share(*b)));
        cable.thermostat = least;
        if let Some(least) = least {
            loads[least] += kit.output;
        }
    }
}

/// What kits come to in the room of a measured plan.
fn measured_choice(measured: &Measured, index: usize, kits: &[(Kit, f64)]) -> Choice {
    let mut choice = Choice::of(kits);
    let Some(room) = measured.room(index) else { return choice };
    let told = |unknown: Unknown| reasons::heat(measured.plan(), room.room, unknown);
    let powers = room.room.cables.iter().map(|cable| room.power(cable));
    choice.power = powers.sum::<Option<f64>>().unwrap_or(choice.power);
    choice.surface = warmest(&room).map_err(told);
    let loss = room.room.heat_loss.ok_or_else(|| format!("room `{}` gives no heat loss", room.room.name.text));
    let output = room.heat_flows().map(|flows| flows.0).map_err(told);
    choice.cover = loss.and_then(|loss| if loss > 0.0 { Ok(output? / loss) } else { Err("no heat is lost".into()) });
    choice.thermostats = thermostats(&room);
    choice.supplies = supplies(measured, &room);
    choice
}

/// The warmest that the floor gets anywhere, degC: while it makes up for the room's heat loss, as far as it can, or at full power where the
/// plan gives no heat loss, or no sensor limits the floor.
fn warmest(room: &RoomMeasure<'_>) -> Result<f64, Unknown> {
    let sensed = |cable: &Cable| room.room.sensors.iter().any(|sensor| Some(sensor.thermostat) == cable.thermostat);
    let share = match room.room.heat_loss {
        Some(loss) if room.room.cables.iter().all(sensed) => (loss / room.heat_flows()?.0).min(1.0),
        _ => 1.0,
    };
    let mut warmest = f64::NEG_INFINITY;
    for cable in 0..room.room.cables.len() {
        let narrowest = room.strips_heated(cable)?.narrowest;
        warmest = warmest.max(room.stretch_heat(narrowest, share)?.warmest);
    }
    Ok(warmest)
}

fn thermostats(room: &RoomMeasure<'_>) -> Vec<Load> {
    let loads = room.room.thermostats.iter().enumerate().map(|(index, thermostat)| {
        let currents = room.cables_of(index).map(|cable| room.current(&room.room.cables[cable]));
        let contactor = room.room.contactors.iter().find(|contactor| contactor.thermostat == index);
        Load {
            name: thermostat.name.text.clone(),
            current: currents.sum::<Option<f64>>().ok_or_else(|| "a kit has no voltage".to_string()),
            rated: Some(contactor.map_or(thermostat.rated, |contactor| contactor.rated)),
        }
    });
    loads.collect()
}

fn supplies(measured: &Measured, room: &RoomMeasure<'_>) -> Vec<Load> {
    let mut indices: Vec<usize> = room.room.thermostats.iter().filter_map(|own| own.supply).collect();
    indices.sort_unstable();
    indices.dedup();
    let rooms: Vec<RoomMeasure<'_>> = measured.rooms().collect();
    let load = |index: usize| -> Option<Load> {
        let supply = measured.plan().supplies.get(index)?;
        let rated = supply.breaker.as_ref().or(supply.fuse.as_ref()).map(|stated| stated.value);
        let current: Told<f64> = design_current(&rooms, index).map_err(reasons::no_load);
        Some(Load { name: supply.name.text.clone(), current, rated })
    };
    indices.into_iter().filter_map(load).collect()
}
