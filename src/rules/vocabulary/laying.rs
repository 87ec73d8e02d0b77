//! What a rule may ask about how cables, tails and conduits lie to each other, to what is in the floor, and in it.

use super::cable::clear;
use super::*;
use crate::measure::Pairs;
use crate::measure::cover::Patch;
use crate::measure::leads::{BesideConduit, NearLead};
use crate::measure::spacing::{CloseApproach, Crossing};
use crate::model::{AreaKind, LineKind};
use crate::things::{CableId, ConduitCrossing, InRoom, MeetingWith, SensorId, TailCrossing};

pub(super) fn declare(all: &mut Vocabulary) {
    pairs(all);
    near_features(all);
    leads(all);
    all.collection(
        "cold-patches",
        "Connected parts of the free floor, as in a room's `free-area`, that lie farther than `reach` from every run; \
         of 1 mm2 and more.",
    )
    .given(&[REACH, CLEARANCE, FREE_HEIGHT])
    .is(|world, given, mut visit| {
        for (room, measured) in whole_rooms(world, &mut visit) {
            match &*measured.cold_patches(given[0], margins(&given[1..])) {
                Some(patches) => visit.items(patches.iter().map(|outlined| InRoom { room, thing: outlined.patch })),
                None => visit.missing(too_intricate(world, room)),
            }
        }
    });
    all.fields(close_approach);
    all.fields(crossing);
    all.fields(meeting);
    all.fields(conduit_crossing);
    all.fields(near_lead);
    all.fields(beside_conduit);
    all.fields(tail_crossing);
    all.fields(cold_patch);
}

/// Visits pairs of which no more than so many are listed.
fn visit_pairs<P: Copy, T: OfKind>(pairs: &Pairs<P>, what: &str, visit: &mut Visit<'_, T>, thing: impl Fn(P) -> T) {
    visit.items(pairs.found.iter().map(|pair| thing(*pair)));
    if pairs.more {
        visit.missing(format!("there are too many {what} to list them all"));
    }
}

fn pairs(all: &mut Vocabulary) {
    all.collection(
        "close-approaches",
        "Pairs of runs nearer than `minimum` to each other, each pair at its worst place. Two points of one cable \
         count only with at least a half-circle of diameter `minimum` of cable between them. Pairs that cross are left \
         to `crossings`.",
    )
    .given(&[MINIMUM])
    .is(|world, given, mut visit| {
        for (room, measured) in world.each_room() {
            let pairs = measured.close_approaches(given[0]);
            visit_pairs(&pairs, "close approaches", &mut visit, |thing| InRoom { room, thing });
        }
    });
    all.collection("crossings", "Pairs of runs that touch, cross, overlap or pass through one point.").is(
        |world, _, mut visit| {
            for (room, measured) in world.each_room() {
                visit_pairs(measured.crossings(), "crossings", &mut visit, |thing| InRoom { room, thing });
            }
        },
    );
}

/// Visits the runs that come near the features that are wanted.
fn visit_meetings(
    world: &World<'_>,
    minimum: f64,
    visit: &mut Visit<'_, MeetingWith>,
    wanted: impl Fn(Option<&AreaKind>, Option<&LineKind>) -> bool,
) {
    for (room, measured) in world.each_room() {
        for feature in measured.features(&wanted) {
            let meetings = measured.meetings(feature, minimum);
            let feature = InRoom { room, thing: feature };
            visit_pairs(&meetings, "runs near it", visit, |meeting| MeetingWith { feature, meeting });
        }
    }
}

fn near_features(all: &mut Vocabulary) {
    all.collection("near-fixtures", "Runs nearer than `minimum` to a fixture, or touching it, or under it.")
        .given(&[MINIMUM])
        .is(|world, given, mut visit| {
            let is_one = |area: Option<&AreaKind>, _: Option<&_>| matches!(area, Some(AreaKind::Fixture { .. }));
            visit_meetings(world, given[0], &mut visit, is_one);
        });
    all.collection("near-drill-zones", "Runs nearer than `minimum` to a drill zone, or touching it, or in it.")
        .given(&[MINIMUM])
        .is(|world, given, mut visit| {
            let is_one = |area: Option<&AreaKind>, _: Option<&_>| matches!(area, Some(AreaKind::Drill));
            visit_meetings(world, given[0], &mut visit, is_one);
        });
    all.collection("near-levels", "Runs nearer than `minimum` to an area of another level, or touching it, or on it.")
        .given(&[MINIMUM])
        .is(|world, given, mut visit| {
            let is_one = |area: Option<&AreaKind>, _: Option<&_>| matches!(area, Some(AreaKind::Level { .. }));
            visit_meetings(world, given[0], &mut visit, is_one);
        });
    all.collection("near-joints", "Runs nearer than `minimum` to a movement joint, or crossing it.")
        .given(&[MINIMUM])
        .is(|world, given, mut visit| {
            let is_one = |_: Option<&_>, line: Option<&LineKind>| matches!(line, Some(LineKind::Joint));
            visit_meetings(world, given[0], &mut visit, is_one);
        });
    all.collection("near-pipes", "Runs nearer than `minimum` to a pipe, or crossing it.").given(&[MINIMUM]).is(
        |world, given, mut visit| {
            let is_one = |_: Option<&_>, line: Option<&LineKind>| matches!(line, Some(LineKind::Pipe(_)));
            visit_meetings(world, given[0], &mut visit, is_one);
        },
    );
    all.collection("near-partitions", "Runs nearer than `minimum` to the line of a partition, or crossing it.")
        .given(&[MINIMUM])
        .is(|world, given, mut visit| {
            let is_one = |_: Option<&_>, line: Option<&LineKind>| matches!(line, Some(LineKind::Partition(_)));
            visit_meetings(world, given[0], &mut visit, is_one);
        });
    all.collection("near-doors", "Runs nearer than `minimum` to the threshold of a door.").given(&[MINIMUM]).is(
        |world, given, mut visit| {
            let is_one = |_: Option<&_>, line: Option<&LineKind>| matches!(line, Some(LineKind::Door { .. }));
            visit_meetings(world, given[0], &mut visit, is_one);
        },
    );
}

/// What crosses conduits and tails, and what lies where the floor will be drilled.
fn leads(all: &mut Vocabulary) {
    all.collection("conduit-crossings", "Runs that a sensor's conduit crosses or touches.").is(
        |world, _, mut visit| {
            for (room, measured) in whole_rooms(world, &mut visit) {
                for index in 0..measured.room.sensors.len() {
                    let sensor = SensorId { room, index };
                    for (thing, at) in measured.conduit_crossed(index) {
                        visit.item(ConduitCrossing { sensor, run: InRoom { room, thing }, at });
                    }
                }
            }
        },
    );
    all.collection(
        "tail-crossings",
        "Runs that a cold tail crosses or touches anywhere but where it joins its own cable.",
    )
    .is(|world, _, mut visit| {
        for (room, measured) in world.each_room() {
            for index in 0..measured.room.cables.len() {
                let cable = CableId { room, index };
                for (lead, thing, at) in measured.tail_crossed(index) {
                    visit.item(TailCrossing {
                        tail: InRoom { room, thing: lead },
                        cable,
                        run: InRoom { room, thing },
                        at,
                    });
                }
            }
        }
    });
    all.collection(
        "drilled-leads",
        "Cold tails and conduits of sensors nearer than `minimum` to a drill zone, or touching it, or in it.",
    )
    .given(&[MINIMUM])
    .is(|world, given, mut visit| {
        for (room, measured) in world.each_room() {
            let zones = measured.features(|area, _| matches!(area, Some(AreaKind::Drill)));
            visit.items(measured.near_leads(&zones, given[0]).into_iter().map(|thing| InRoom { room, thing }));
        }
    });
    all.collection(
        "near-leads",
        "Cold tails and conduits of sensors nearer than `minimum` to a fixture, a drill zone, another level, a joint, a pipe, \
         a partition or the threshold of a door, or touching it, or in it.",
    )
    .given(&[MINIMUM])
    .is(|world, given, mut visit| {
        for (room, measured) in world.each_room() {
            visit.items(measured.leads_near_any(given[0]).iter().map(|thing| InRoom { room, thing: *thing }));
        }
    });
    all.collection(
        "tails-beside-conduits",
        "Cold tails that lie within `clearance` of a sensor's conduit somewhere, each with every such conduit.",
    )
    .given(&[CLEARANCE])
    .is(|world, given, mut visit| {
        for (room, measured) in whole_rooms(world, &mut visit) {
            visit.items(measured.beside_conduits(given[0]).into_iter().map(|thing| InRoom { room, thing }));
        }
    });
}

fn close_approach(its: &mut Fields<'_, InRoom<CloseApproach>>) {
    its.field("first", one(Kind::Run), "The earlier run.").is(|_, pair| pair.first());
    its.field("second", one(Kind::Run), "The later run.").is(|_, pair| pair.second());
    let shown = |world: &World<'_>, pair: InRoom<CloseApproach>, limit| {
        let CloseApproach { first, second, at, .. } = pair.thing;
        world.measured(pair.room).site_of_runs(first, second, at, limit)
    };
    its.field("distance", LENGTH, "Between their centre-lines at the worst place.")
        .shown(shown)
        .is(|_, pair| pair.thing.distance);
    its.field("clear-distance", LENGTH, "The same between the cables' surfaces.")
        .is(|world, pair| clear(world, [pair.first().cable(), pair.second().cable()], pair.thing.distance));
    its.field("place", PLACE, "That place.").is(|_, pair| pair.thing.at);
}

fn crossing(its: &mut Fields<'_, InRoom<Crossing>>) {
    its.field("first", one(Kind::Run), "The earlier run.").is(|_, pair| pair.first());
    its.field("second", one(Kind::Run), "The later run.").is(|_, pair| pair.second());
    its.field("place", PLACE, "A point they share.").is(|_, pair| pair.thing.at);
}

fn meeting(its: &mut Fields<'_, MeetingWith>) {
    its.field("run", one(Kind::Run), "The run.").is(|_, meeting| meeting.run());
    its.field("feature", one(Kind::Feature), "What it comes near.").is(|_, meeting| meeting.feature);
    its.field("distance", LENGTH, "From the run's centre-line; nothing where they touch or overlap.")
        .shown(|world, meeting, limit| meeting.nearer_than(world, limit))
        .is(|_, meeting| meeting.meeting.distance);
    its.field("clear-distance", LENGTH, "The same from the cable's surface.")
        .is(|world, meeting| clear(world, [meeting.run().cable()], meeting.meeting.distance));
    its.field("inside-length", LENGTH, "How much of the run lies inside, along the edge not counted.")
        .is(|_, meeting| meeting.meeting.inside);
}

fn conduit_crossing(its: &mut Fields<'_, ConduitCrossing>) {
    its.field("sensor", one(Kind::Sensor), "The sensor whose conduit is crossed.").is(|_, crossing| crossing.sensor);
    its.field("run", one(Kind::Run), "The run that crosses it.").is(|_, crossing| crossing.run);
    its.field("place", PLACE, "Where.").is(|_, crossing| crossing.at);
}

fn near_lead(its: &mut Fields<'_, InRoom<NearLead>>) {
    its.field("feature", one(Kind::Feature), "What it comes near.").is(|_, near| near.feature());
    its.field("cable", one(Kind::Cable), "The cable whose cold tail it is.").is(|world, near| {
        near.lead().cable().ok_or_else(|| format!("{} is a sensor's conduit", near.lead().called(world)))
    });
    its.field("room", one(Kind::Room), "The room it lies in.").is(|_, near| near.room);
    its.field("zone", one(Kind::Feature), "The same, of a drill zone.").is(|_, near| near.feature());
    its.field("distance", LENGTH, "From its line to that; nothing where it touches it or lies in it.")
        .shown(|world, near, limit| near.nearer_than(world, limit))
        .is(|_, near| near.thing.distance);
    its.field("inside-length", LENGTH, "How much of it lies inside, along the edge not counted.")
        .is(|_, near| near.thing.inside);
    its.field(
        "crosses",
        TRUTH,
        "Whether it lies inside an area, or meets a line anywhere but below its own junction box or thermostat.",
    )
    .is(|_, near| near.thing.crosses);
    its.field("is-tail", TRUTH, "Whether it is a cold tail rather than a sensor's conduit.")
        .is(|_, near| near.lead().cable().is_some());
    its.field("sleeved", TRUTH, "Whether it crosses that joint in a sleeve; a conduit is one itself.")
        .is(|world, near| world.measured(near.room).is_sleeved(&near.thing));
}

fn beside_conduit(its: &mut Fields<'_, InRoom<BesideConduit>>) {
    its.field("sensor", one(Kind::Sensor), "The sensor whose conduit it is.").is(|_, beside| beside.sensor());
    its.field("length", LENGTH, "How much of the tail lies so near.").is(|_, beside| beside.thing.length);
}

fn tail_crossing(its: &mut Fields<'_, TailCrossing>) {
    its.field("cable", one(Kind::Cable), "The cable whose cold tail it is.").is(|_, crossing| crossing.cable);
    its.field("tail", TEXT, "What the tail is called: that at the start of the cable, or that at its far end.")
        .is(|world, crossing| crossing.tail.called(world));
    its.field("run", one(Kind::Run), "The run it crosses.").is(|_, crossing| crossing.run);
    its.field("place", PLACE, "Where.").is(|_, crossing| crossing.at);
}

fn cold_patch(its: &mut Fields<'_, InRoom<Patch>>) {
    its.field("room", one(Kind::Room), "The room it is in.").is(|_, patch| patch.room);
    its.field("area", AREA, "Its area.").is(|_, patch| patch.thing.area);
    its.field("width", LENGTH, "Its extent from west to east.").is(|_, patch| patch.thing.high.x - patch.thing.low.x);
    its.field("height", LENGTH, "Its extent from south to north.")
        .is(|_, patch| patch.thing.high.y - patch.thing.low.y);
    its.field(
        "slot",
        LENGTH,
        "How wide the floor is there, between walls and what stands on it: the diameter of the largest disc of floor that reaches into the box around it, up to 500 mm.",
    )
    .is(|world, patch| world.measured(patch.room).slot_width(&patch.thing));
    its.field("place", PLACE, "A point on its edge.").is(|_, patch| patch.thing.at);
    its.field("south-west", PLACE, "The least corner of the box around it.").is(|_, patch| patch.thing.low);
    its.field("north-east", PLACE, "The greatest corner of the box around it.").is(|_, patch| patch.thing.high);
}
