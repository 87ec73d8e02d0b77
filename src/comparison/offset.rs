//! How far a room lies elsewhere on the sheet than before, and how its walls differ besides.

use std::collections::{BTreeMap, HashMap};

use super::changes::{Change, What};
use crate::geometry::ring::signed_area;
use crate::geometry::tolerance::TOUCH;
use crate::geometry::{Point, distance};
use crate::model::{Room, Shape};
use crate::quantity::{Dimension, Quantity};

/// The step that takes all walls of a room to those of another, where one does.
pub(super) fn same_outline(before: &Room, after: &Room) -> Option<Point> {
    let step = *after.corners.first()? - *before.corners.first()?;
    let alike = |(a, b): (&Point, &Point)| distance(*a + step, *b) <= TOUCH;
    let count = before.corners.len() == after.corners.len();
    (count && before.corners.iter().zip(&after.corners).all(alike)).then_some(step)
}

/// A point by which things at one place are known, to the nearest tenth of a millimetre; of what a hair may part, a few are not.
pub(super) fn spot_key(at: Point) -> [i64; 2] {
    // Drawn figures are mostly whole or half ones, which this keeps off the border between two keys.
    let tenths = |value: f64| (value * 10.0 + 0.217).round() as i64;
    [tenths(at.x), tenths(at.y)]
}

/// The step that takes a room to the same room in another plan: that of its walls, or that on which most of what stands in it agrees.
pub(super) fn between(before: &Room, after: &Room) -> Point {
    if let Some(step) = same_outline(before, after) {
        return step;
    }
    let mut votes: BTreeMap<[i64; 2], (usize, Point)> = BTreeMap::new();
    let mut vote = |step: Point| votes.entry(spot_key(step)).or_insert((0, step)).0 += 1;
    before.corners.iter().zip(&after.corners).for_each(|(a, b)| vote(*b - *a));
    let spots = |room: &Room| {
        let areas = room.areas.iter().map(|area| (area.name.text.clone(), low(&area.shape)));
        let boxes = room.junctions.iter().map(|junction| (junction.name.text.clone(), junction.at));
        let thermostats = room.thermostats.iter().map(|thermostat| (thermostat.name.text.clone(), thermostat.at));
        areas.chain(boxes).chain(thermostats).collect::<Vec<_>>()
    };
    let old: HashMap<String, Point> = spots(before).into_iter().collect();
    for (name, at) in spots(after) {
        if let Some(was) = old.get(&name) {
            vote(at - *was);
        }
    }
    // Where as many say so, it was not moved.
    let zero = votes.get(&spot_key(Point::zero())).map_or(0, |(count, _)| *count);
    let most = votes.into_values().max_by_key(|(count, _)| *count);
    most.filter(|(count, _)| *count > zero).map_or(Point::zero(), |(_, step)| step)
}

fn low(shape: &Shape) -> Point {
    shape.bounds().low
}

/// How the walls of a room differ.
pub(super) fn outline(before: &Room, after: &Room, offset: Point) -> Vec<Change> {
    let mut changes = Vec::new();
    if same_outline(before, after).is_none() {
        let area = |room: &Room| Quantity::new(signed_area(&room.corners).abs(), Dimension::AREA).show(0);
        let (from, to) = (area(before), area(after));
        let mut change =
            |what: What, at: Option<Point>| changes.push(Change { kind: "outline", name: String::new(), what, at });
        if before.corners.len() == after.corners.len() {
            let mut moved = before.corners.iter().zip(&after.corners).enumerate();
            let steps: Vec<(usize, Point)> = moved
                .by_ref()
                .map(|(index, (a, b))| (index, *b - *a - offset))
                .filter(|(_, step)| distance(*step, Point::zero()) > TOUCH)
                .collect();
            for run in steps.chunk_by(|a, b| a.0 + 1 == b.0 && distance(a.1, b.1) <= TOUCH) {
                let (first, last) = (run[0].0 + 1, run[run.len() - 1].0 + 1);
                let name = if first == last { first.to_string() } else { format!("{first} to {last}") };
                let kind = if first == last { "corner" } else { "corners" };
                changes.push(Change {
                    kind,
                    name,
                    what: What::Moved(run[0].1),
                    at: after.corners.get(first - 1).copied(),
                });
            }
        } else {
            let count = |room: &Room| room.corners.len().to_string();
            change(What::Figure { label: "corners", from: count(before), to: count(after) }, None);
        }
        if from != to {
            let what = What::Figure { label: "area", from, to };
            changes.push(Change { kind: "outline", name: String::new(), what, at: None });
        }
    }
    for (index, (old, new)) in before.walls.iter().zip(&after.walls).enumerate() {
        let mut figure = |label, from: String, to: String| {
            if from != to {
                let what = What::Figure { label, from, to };
                changes.push(Change {
                    kind: "wall",
                    name: (index + 1).to_string(),
                    what,
                    at: after.corners.get(index).copied(),
                });
            }
        };
        let title = |title: &Option<String>| title.as_ref().map_or("none".into(), |title| format!("\"{title}\""));
        let outside = |outside: bool| if outside { "outside" } else { "inside" }.to_string();
        figure("title", title(&old.title), title(&new.title));
        figure("lies", outside(old.outside), outside(new.outside));
    }
    changes
}
