//! The floor sensor, beside its channel, too near to the edge, or not there.

use super::{Way, forgotten, mistyped, word};
use crate::exercise::site::{Change, Site, What, point};
use crate::geometry::along;
use crate::layout::tree::{self, RoomEntry};
use crate::model::Point;

pub(super) const WAYS: &[Way] = &[
    Way {
        name: "sensor-beside-channel",
        does: "a sensor is led in beside its channel",
        aims: &["sensor-between-runs", "sensor-crossed"],
        changes: beside_channel,
    },
    Way {
        name: "sensor-misplaced",
        does: "a sensor ends too early or too late",
        aims: &["sensor-far", "sensor-depth", "sensor-crossed"],
        changes: misplaced,
    },
    Way {
        name: "sensor-mistyped",
        does: "a number of a sensor's way is mistyped",
        aims: &[
            "sensor-crossed",
            "sensor-between-runs",
            "sensor-reach",
            "sensor-depth",
            "sensor-far",
            "tail-beside-conduit",
        ],
        changes: |site, changes| mistyped(site, changes, is_sensor, |after| after != "lead"),
    },
    Way {
        name: "sensor-cable-mistyped",
        does: "the length of a sensor's own cable is mistyped",
        aims: &["sensor-reach"],
        changes: |site, changes| mistyped(site, changes, is_sensor, |after| after == "lead"),
    },
    Way {
        name: "sensor-forgotten",
        does: "a sensor is forgotten",
        aims: &["sensor-present", "surface-temperature"],
        changes: |site, changes| forgotten(site, changes, is_sensor),
    },
    Way {
        name: "sensor-of-another",
        does: "a sensor is joined to another thermostat",
        aims: &["sensor-present"],
        changes: of_another,
    },
];

fn is_sensor(what: &What<'_>) -> bool {
    matches!(what, What::Room(RoomEntry::Sensor(_)))
}

/// The sensors that are written by points: the statement, and where the conduit goes.
fn sensors<'s>(site: &'s Site<'_>) -> impl Iterator<Item = (&'s tree::Sensor, Vec<Point>, f64)> {
    site.lines.iter().filter_map(|line| {
        let What::Room(RoomEntry::Sensor(item)) = line.what else { return None };
        let measure = site.measure(line.room?)?;
        let own = measure.room.sensors.iter().find(|own| own.name.text == item.name.text)?;
        let spacing = site.spacing(line)?;
        (item.points.len() == own.conduit.len() && !item.points.is_empty())
            .then(|| (item, own.conduit.clone(), spacing))
    })
}

/// A conduit written anew.
fn conduit(site: &Site<'_>, item: &tree::Sensor, conduit: &[Point], said: String, size: f64) -> Option<Change> {
    let span = item.points.first()?.span.to(item.points.last()?.span);
    let written = conduit.iter().map(|at| point(*at)).collect::<Vec<_>>().join(" ");
    Some(Change { edits: vec![site.edit(span, written)], said, size })
}

/// Half a row aside, so that it lies on a run, or less.
fn beside_channel(site: &Site<'_>, changes: &mut Vec<Change>) {
    for (item, way, spacing) in sensors(site) {
        let (Some(tip), Some(first)) = (way.last(), way.first()) else { continue };
        let upright = (tip.y - first.y).abs() > (tip.x - first.x).abs();
        for share in [0.2, 0.25, 0.3, 0.4, 0.5, 0.75, -0.2, -0.25, -0.3, -0.4, -0.5, -0.75] {
            let by = spacing * share;
            let aside = if upright { Point { x: by, y: 0.0 } } else { Point { x: 0.0, y: by } };
            let moved: Vec<Point> = way.iter().map(|at| *at + aside).collect();
            let said = format!("the conduit drawn {:.0} mm beside the middle of its channel", by.abs());
            changes.extend(conduit(site, item, &moved, said, share.abs()));
        }
    }
}

/// Another share of the last piece of the conduit.
fn misplaced(site: &Site<'_>, changes: &mut Vec<Change>) {
    for (item, way, _) in sensors(site) {
        let from = site
            .measured
            .rooms()
            .flat_map(|room| room.room.thermostats.iter())
            .find(|one| one.name.text == item.from.text);
        let (Some(tip), Some(from)) = (way.last(), from) else { continue };
        let before = way.len().checked_sub(2).and_then(|at| way.get(at)).copied().unwrap_or(from.at);
        for share in [0.3, 0.45, 0.55, 0.65, 1.25, 1.4, 1.6, 2.0] {
            let mut moved = way.clone();
            if let Some(last) = moved.last_mut() {
                *last = along(before, *tip, share);
            }
            let said = format!("the conduit drawn {:.0} % as long as it should be", share * 100.0);
            changes.extend(conduit(site, item, &moved, said, (share - 1.0_f64).abs()));
        }
    }
}

fn of_another(site: &Site<'_>, changes: &mut Vec<Change>) {
    for line in &site.lines {
        let What::Room(RoomEntry::Sensor(item)) = line.what else { continue };
        let Some(measure) = line.room.and_then(|room| site.measure(room)) else { continue };
        measure.room.thermostats.iter().for_each(|other| word(site, changes, item.from.span, &other.name.text));
    }
}
