//! Cold tails: led wrong, joined wrong, without the sleeve.

use super::{Way, mistyped};
use crate::exercise::site::{Change, Site, What};
use crate::layout::tree::{CableEntry, RoomEntry, Tail, TailFrom};

pub(super) const WAYS: &[Way] = &[
    Way {
        name: "tail-mistyped",
        does: "a number of a tail's way is mistyped",
        aims: &[
            "cold-joint",
            "tail-reach",
            "tail-crossing",
            "tail-under-fixture",
            "tail-in-doorway",
            "tail-beside-conduit",
            "tail-through-partition",
            "tail-across-joint",
            "tail-over-pipe",
        ],
        changes: |site, changes| {
            mistyped(
                site,
                changes,
                |what| matches!(what, What::Cable(CableEntry::Tail(_) | CableEntry::SecondTail(_))),
                |_| true,
            )
        },
    },
    Way { name: "tail-straight", does: "a tail is led the short way", aims: &["cold-joint"], changes: tail_straight },
    Way {
        name: "tail-to-cable",
        does: "a cable is joined to the end of another",
        aims: &["in-parallel", "tail-crossing"],
        changes: to_cable,
    },
    Way {
        name: "sleeve-forgotten",
        does: "a sleeve is forgotten",
        aims: &["tail-across-joint"],
        changes: sleeve_forgotten,
    },
    Way {
        name: "wire-forgotten",
        does: "the wire between two boxes is forgotten",
        aims: &["shared-junction"],
        changes: wire_forgotten,
    },
    Way {
        name: "box-moved",
        does: "where a box or a thermostat stands is mistyped",
        aims: &[
            "sensor-reach",
            "tail-reach",
            "tail-in-doorway",
            "sensor-crossed",
            "tail-crossing",
            "tail-beside-conduit",
            "tail-under-fixture",
            "wet-zone",
        ],
        changes: |site, changes| {
            mistyped(site, changes, is_device, |after| !matches!(after, "rated" | "limit" | "behind" | "ip" | "X"))
        },
    },
];

fn is_device(what: &What<'_>) -> bool {
    matches!(what, What::Room(RoomEntry::Junction(_) | RoomEntry::Thermostat(_) | RoomEntry::ShowerHead(_)))
}

/// The tails of the plan, each with the number of its room.
fn tails<'s>(site: &'s Site<'_>) -> impl Iterator<Item = (usize, &'s Tail)> {
    site.lines.iter().filter_map(|line| match line.what {
        What::Cable(CableEntry::Tail(tail) | CableEntry::SecondTail(tail)) => Some((line.room?, &**tail)),
        _ => None,
    })
}

/// Points of the way left out.
fn tail_straight(site: &Site<'_>, changes: &mut Vec<Change>) {
    for (_, tail) in tails(site) {
        for at in 0..tail.points.len().saturating_sub(1) {
            let span = tail.points[at].span;
            let said = format!("the point {} of a tail left out", site.text(span));
            changes.push(Change { edits: vec![site.edit(span, "")], said, size: 1.0 });
        }
        if let [first, .., _] = &tail.points[..] {
            let last_but_one = &tail.points[tail.points.len() - 2];
            let span = first.span.to(last_but_one.span);
            changes.push(Change {
                edits: vec![site.edit(span, "")],
                said: "a tail led the short way".into(),
                size: 1.0,
            });
        }
    }
}

fn to_cable(site: &Site<'_>, changes: &mut Vec<Change>) {
    for line in &site.lines {
        let What::Cable(CableEntry::Tail(tail)) = line.what else { continue };
        let (TailFrom::Junction(_), Some(own)) = (&tail.from, line.cable) else { continue };
        let Some(measure) = line.room.and_then(|room| site.measure(room)) else { continue };
        let Some(last) = tail.points.last() else { continue };
        for (other, cable) in measure.room.cables.iter().enumerate() {
            let Some(end) = cable.runs.last().map(|run| run.end).filter(|_| other != own) else { continue };
            let statement = format!(
                "tail cable {} {} {}",
                cable.name.text,
                crate::exercise::site::point(end),
                site.text(last.span)
            );
            let said = format!("the tail led to the end of cable `{}`", cable.name.text);
            changes.push(Change { edits: vec![site.edit(tail.span, statement)], said, size: 1.0 });
        }
    }
}

fn sleeve_forgotten(site: &Site<'_>, changes: &mut Vec<Change>) {
    for (_, tail) in tails(site) {
        let Some(last) = tail.sleeves.last() else { continue };
        let Some(clause) = site.clause(tail.span, "sleeve", last.span) else { continue };
        let said = format!("`{}` left out", site.text(clause));
        changes.push(Change { edits: vec![site.edit(clause, "")], said, size: 1.0 });
    }
}

fn wire_forgotten(site: &Site<'_>, changes: &mut Vec<Change>) {
    for line in &site.lines {
        let What::Room(RoomEntry::Junction(junction)) = line.what else { continue };
        let Some(clause) = junction.wired.as_ref().and_then(|other| site.clause(line.span, "wired", other.span)) else {
            continue;
        };
        let said = format!("`{}` left out", site.text(clause));
        changes.push(Change { edits: vec![site.edit(clause, "")], said, size: 1.0 });
    }
}
