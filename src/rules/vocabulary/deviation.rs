//! What a rule may ask about agreed departures.

use super::*;
use crate::quantity::Quantity;
use crate::things::DeviationId;

pub(super) fn declare(all: &mut Vocabulary) {
    all.collection(
        "deviations",
        "Every agreed departure. Rules that go through these are held last, when it is known what each matched.",
    )
    .is(|world, _, mut visit| {
        for (room, measured) in world.each_room() {
            visit.items((0..measured.room.deviations.len()).map(|index| DeviationId { room, index }));
        }
    });
    all.fields(deviation);
}

fn deviation(its: &mut Fields<'_, DeviationId>) {
    its.field("rule", TEXT, "The rule it departs from.").is(|world, one| world.deviation(one).rule.text.clone());
    its.field("reason", TEXT, "Why.").is(|world, one| world.deviation(one).reason.clone());
    its.field("until", DATE, "The last day it holds.").is(|world, one| {
        let until = world.deviation(one).until.map(|until| Quantity::date(until).value);
        until.ok_or_else(|| "it holds for good".to_string())
    });
    its.field("lapsed", TRUTH, "Whether that day is past.").is(|world, one| world.deviation_state(one).lapsed);
    its.field("matched", TRUTH, "Whether a finding matched it.").is(|world, one| {
        let state = world.deviation_state(one);
        if state.judged || state.matched {
            Ok(state.matched)
        } else {
            let rule = &world.deviation(one).rule.text;
            Err(format!("the rule `{rule}` is off, or could not be held to everything"))
        }
    });
}
