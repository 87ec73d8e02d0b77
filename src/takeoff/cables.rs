//! What each heating cable comes to.

use super::figures::*;
use super::{Kind, Part, Taken, Told, Value};
use crate::measure::circuit::expected_resistance;
use crate::measure::length::laid_length;
use crate::measure::strips::Stretch;
use crate::model::{Cable, Kit};
use crate::quantity::Dimension;
use crate::reasons;

impl<'a> Taken<'_, 'a> {
    pub(super) fn kit(&self, cable: &Cable) -> Told<&'a Kit> {
        cable.kit.and_then(|kit| self.plan.kits.get(kit)).ok_or_else(|| reasons::no_kit(cable))
    }

    /// What of a cable its kit decides.
    fn by_kit(&self, cable: &Cable, value: Option<f64>) -> Told<f64> {
        value.ok_or_else(|| reasons::no_kit(cable))
    }

    /// The least and the greatest resistance of some kits in parallel, ohm.
    pub(super) fn band(&self, kits: &[&Kit]) -> Told<(f64, f64)> {
        let usual = match &self.allowances.tolerance {
            Err(why) if kits.iter().any(|kit| kit.tolerance.is_none()) => return Err(why.clone()),
            usual => usual.clone().unwrap_or_default(),
        };
        expected_resistance(kits.iter().copied(), usual).ok_or_else(|| "it switches no cable".into())
    }
}

/// The length of a cable as drawn, mm.
pub(super) fn drawn(cable: &Cable, kit: Option<&Kit>) -> f64 {
    laid_length(&cable.runs, kit.and_then(|kit| kit.bend_radius).unwrap_or(0.0))
}

fn kit_gives(kit: &Kit, value: Option<f64>, what: &str) -> Told<f64> {
    value.ok_or_else(|| format!("kit `{}` gives no {what}", kit.name.text))
}

pub(super) fn cables(taken: &Taken<'_, '_>) -> Vec<Part> {
    taken.room.cables.iter().enumerate().map(|(index, cable)| part_of(taken, index, cable)).collect()
}

fn part_of(taken: &Taken<'_, '_>, index: usize, cable: &Cable) -> Part {
    let mut part = Part::new(Kind::Cable, &cable.name.text);
    let measure = taken.measure;
    let kit = taken.kit(cable);
    let runs = || if cable.runs.is_empty() { Err("it has no run".to_string()) } else { Ok(()) };
    let drawn = runs().map(|()| drawn(cable, kit.as_ref().ok().copied()));
    let pitch = measure.pitch(index).ok_or_else(|| reasons::no_pitch(cable));
    let supplied = kit.clone().map(|kit| kit.length);
    part.words(&KIT, kit.clone().map(|kit| kit.name.text.clone()));
    part.cable(&LAID, drawn.clone());
    part.cable(&SUPPLIED, supplied.clone());
    part.add(
        &DIFFERENCE,
        supplied.and_then(|supplied| super::floor::share(drawn? - supplied, supplied, "the kit has no length")),
    );
    part.add(&RUNS, Ok(Value::Count(cable.runs.len())));
    part.quantity(&PITCH, Dimension::LENGTH, pitch);
    part.quantity(&VOLTAGE, Dimension::VOLTAGE, taken.by_kit(cable, measure.voltage(cable)));
    part.quantity(&POWER, Dimension::POWER, taken.by_kit(cable, measure.power(cable)));
    part.quantity(&CURRENT, Dimension::CURRENT, taken.by_kit(cable, measure.current(cable)));
    part.quantity(&RESISTANCE, Dimension::RESISTANCE, kit.clone().map(|kit| kit.resistance));
    let band = kit.clone().and_then(|kit| taken.band(&[kit]));
    part.quantity(&LEAST_RESISTANCE, Dimension::RESISTANCE, band.clone().map(|band| band.0));
    part.quantity(&GREATEST_RESISTANCE, Dimension::RESISTANCE, band.map(|band| band.1));
    part.cable(&TAIL, kit.and_then(|kit| kit_gives(kit, kit.tail, "tail")));
    part.cable(&TAIL_ROUTE, tail_route(taken, cable));
    if taken.room.cables.iter().any(|cable| two_tails(taken, cable)) {
        part.cable(&SECOND_TAIL_ROUTE, second_tail_route(taken, cable));
    }
    let strips = taken.heat(measure.strips_heated(index));
    part.quantity(&NARROWEST, Dimension::LENGTH, strips.clone().map(|strips| strips.narrowest.width));
    part.quantity(&WIDEST, Dimension::LENGTH, strips.clone().map(|strips| strips.widest.width));
    let density = taken.heat(measure.power_density(index).map(|density| density / 1e6));
    part.quantity(&CABLE_DENSITY, Dimension::POWER_PER_AREA, density);
    let narrowest = || strips.clone().map(|strips| strips.narrowest);
    let greatest = narrowest().and_then(|stretch| taken.heat(measure.stretch_density(stretch)));
    part.quantity(&GREATEST_DENSITY, Dimension::POWER_PER_AREA, greatest.map(|density| density / 1e6));
    let heat = taken.heat(measure.cable_heat(index, 1.0));
    part.quantity(&MEAN_SURFACE, Dimension::TEMPERATURE, heat.clone().map(|heat| heat.slab.surface));
    let over = |stretch: Told<Stretch>| taken.heat(measure.stretch_heat(stretch?, 1.0));
    part.quantity(&PEAK_SURFACE, Dimension::TEMPERATURE, over(narrowest()).map(|heat| heat.warmest));
    let widest = strips.clone().map(|strips| strips.widest);
    part.quantity(&COOLEST_SURFACE, Dimension::TEMPERATURE, over(widest).map(|heat| heat.coolest));
    let downward = heat.and_then(|heat| super::floor::share(heat.slab.downward, heat.density(), "no heat is given"));
    part.add(&DOWNWARD, downward);
    part.quantity(&SHEATH, Dimension::TEMPERATURE, narrowest().and_then(|stretch| taken.heat(measure.sheath(stretch))));
    part
}

/// Whether a cable has a cold tail at both ends, or its kit says that it should.
fn two_tails(taken: &Taken<'_, '_>, cable: &Cable) -> bool {
    cable.second_tail.is_some() || taken.kit(cable).is_ok_and(|kit| kit.cores == 1)
}

fn second_tail_route(taken: &Taken<'_, '_>, cable: &Cable) -> Told<f64> {
    let Some(tail) = &cable.second_tail else {
        let needed = two_tails(taken, cable);
        return Err(if needed { "no second tail is drawn" } else { "its far end has no cold tail" }.into());
    };
    taken.measure.second_tail_route(tail).ok_or_else(|| {
        match tail.junction.and_then(|junction| taken.room.junctions.get(junction)) {
            Some(junction) => format!("junction box `{}` gives no height", junction.name.text),
            None => "the second tail comes from no junction box".into(),
        }
    })
}

fn tail_route(taken: &Taken<'_, '_>, cable: &Cable) -> Told<f64> {
    taken.measure.tail_route(cable).ok_or_else(|| {
        match cable.junction.and_then(|box_| taken.room.junctions.get(box_)) {
            Some(junction) if !cable.tail.is_empty() => {
                format!("junction box `{}` gives no height", junction.name.text)
            }
            _ => "no tail is drawn from a junction box".into(),
        }
    })
}
