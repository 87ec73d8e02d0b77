//! Which things of two plans are the same, and what differs in each.

use std::collections::{BTreeSet, HashMap, HashSet};

use super::cards::{Card, Figure, Where};
use super::changes::{Change, What};
use super::offset::spot_key;
use crate::geometry::tolerance::TOUCH;
use crate::geometry::{Point, distance};
use crate::model::Shape;
use crate::model::length::line_length;
use crate::quantity::{Dimension, Quantity};
use crate::things::show_place;

/// What differs between things before, which lie `offset` elsewhere, and after. Things are the same by kind and name, several of one name in
/// their order; one that is called otherwise and lies where it lay was renamed.
pub(super) fn changes(before: Vec<Card>, after: Vec<Card>, offset: Point) -> Vec<Change> {
    let mut left: HashMap<(&'static str, String), Vec<usize>> = HashMap::new();
    for (index, card) in before.iter().enumerate().rev() {
        left.entry((card.kind, card.name.clone())).or_default().push(index);
    }
    let mut same: Vec<Option<usize>> =
        after.iter().map(|card| left.get_mut(&(card.kind, card.name.clone())).and_then(Vec::pop)).collect();
    let gone: BTreeSet<usize> = left.into_values().flatten().collect();
    let mut lone: HashMap<(&'static str, [i64; 2]), Vec<usize>> = HashMap::new();
    for index in gone.iter().rev() {
        let card = &before[*index];
        if let Some(at) = card.place.spot() {
            lone.entry((card.kind, spot_key(at + offset))).or_default().push(*index);
        }
    }
    let mut renamed = HashSet::new();
    for (card, own) in after.iter().zip(&mut same).filter(|(_, own)| own.is_none()) {
        let there = card.place.spot().and_then(|at| lone.get_mut(&(card.kind, spot_key(at))));
        let Some(there) = there else { continue };
        let alike = |index: &usize| lies_there(&before[*index].place, &card.place, offset);
        // Of many things at one spot, the nearest few will do.
        if let Some(found) = there.iter().rev().take(MOST_AT_A_SPOT).position(alike) {
            let index = there.remove(there.len() - 1 - found);
            *own = Some(index);
            renamed.insert(index);
        }
    }
    let mut changes: Vec<Change> = order_of_layers(&before, &after).into_iter().collect();
    for (card, own) in after.iter().zip(&same) {
        let mut add =
            |what: What| changes.push(Change { kind: card.kind, name: card.name.clone(), what, at: card.place.spot() });
        match own {
            None => add(What::Added),
            Some(index) => {
                let old = &before[*index];
                if renamed.contains(index) {
                    add(What::Renamed(old.name.clone()));
                }
                // A cable's runs are compared by themselves.
                if card.kind != "cable" {
                    place_changes(&old.place, &card.place, offset).into_iter().for_each(&mut add);
                }
                figure_changes(&old.figures, &card.figures).into_iter().for_each(&mut add);
            }
        }
    }
    changes.extend(gone.into_iter().filter(|index| !renamed.contains(index)).map(|index| {
        let card = &before[index];
        Change { kind: card.kind, name: card.name.clone(), what: What::Gone, at: card.place.spot() }
    }));
    changes
}

/// How many things at one spot are looked through for the one that was renamed.
const MOST_AT_A_SPOT: usize = 16;

impl Where {
    fn spot(&self) -> Option<Point> {
        match self {
            Where::Nowhere => None,
            Where::At(at) => Some(*at),
            Where::Line(points) => points.first().copied(),
            Where::Shape(Shape::Circle { centre, .. }) => Some(*centre),
            Where::Shape(shape) => Some(shape.bounds().low),
        }
    }
}

fn near(a: Point, b: Point) -> bool {
    distance(a, b) <= TOUCH
}

/// The step by which all points of one line lie off those of another, where there is one.
fn step_of(old: &[Point], new: &[Point]) -> Option<Point> {
    let step = *new.first()? - *old.first()?;
    (old.len() == new.len() && old.iter().zip(new).all(|(a, b)| near(*a + step, *b))).then_some(step)
}

/// The step by which one shape lies off another of the same form and size. A polygon's corners may begin anywhere.
fn step_of_shape(old: &Shape, new: &Shape) -> Option<Point> {
    match (old, new) {
        (Shape::Circle { centre: a, radius: own }, Shape::Circle { centre: b, radius: other }) => {
            ((own - other).abs() <= TOUCH).then_some(*b - *a)
        }
        (Shape::Polygon(a), Shape::Polygon(b)) if a.len() == b.len() => (0..b.len()).find_map(|first| {
            let turned = || b[first..].iter().chain(&b[..first]);
            let step = *turned().next()? - *a.first()?;
            a.iter().zip(turned()).all(|(a, b)| near(*a + step, *b)).then_some(step)
        }),
        _ => None,
    }
}

/// Whether a thing lies just where another lay, so that it is the same under another name.
fn lies_there(old: &Where, new: &Where, offset: Point) -> bool {
    let step = match (old, new) {
        (Where::At(a), Where::At(b)) => Some(*b - *a),
        (Where::Line(a), Where::Line(b)) => step_of(a, b),
        (Where::Shape(a), Where::Shape(b)) => step_of_shape(a, b),
        _ => None,
    };
    step.is_some_and(|step| near(step, offset))
}

fn place_changes(old: &Where, new: &Where, offset: Point) -> Vec<What> {
    let moved = |step: Point| if near(step, offset) { Vec::new() } else { vec![What::Moved(step - offset)] };
    let place = |from: String, to: String| vec![What::Figure { label: "place", from, to }];
    match (old, new) {
        (Where::At(a), Where::At(b)) => moved(*b - *a),
        (Where::At(a), Where::Nowhere) => place(show_place(*a), "none".into()),
        (Where::Nowhere, Where::At(b)) => place("none".into(), show_place(*b)),
        (Where::Line(a), Where::Line(b)) => match (step_of(a, b), a.last(), b.last()) {
            (Some(step), ..) => moved(step),
            (None, Some(last), Some(end)) => {
                vec![What::Rerouted { lengths: (line_length(a), line_length(b)), end: *end - *last - offset }]
            }
            _ => Vec::new(),
        },
        (Where::Shape(a), Where::Shape(b)) => match step_of_shape(a, b) {
            Some(step) => moved(step),
            None => {
                let middle = |shape: &Shape| {
                    let bounds = shape.bounds();
                    crate::geometry::along(bounds.low, bounds.high, 0.5)
                };
                let (from, to) = (size(a), size(b));
                let label = if from == to { "shape, of area" } else { "size" };
                let (from, to) = if from == to { (area(a), area(b)) } else { (from, to) };
                let mut changes = vec![What::Figure { label, from, to }];
                // What grew or shrank from one of its corners lies where it lay.
                let (old, new) = (a.bounds().corners(), b.bounds().corners());
                let stays = old.iter().zip(&new).any(|(a, b)| near(*a + offset, *b));
                if !stays {
                    changes.extend(moved(middle(b) - middle(a)));
                }
                changes
            }
        },
        _ => Vec::new(),
    }
}

fn area(shape: &Shape) -> String {
    Quantity::new(shape.area(), Dimension::AREA).show(0)
}

fn size(shape: &Shape) -> String {
    let mm = |length: f64| Quantity::new(length, Dimension::LENGTH).show(0);
    match shape {
        Shape::Circle { radius, .. } => format!("radius {}", mm(*radius)),
        Shape::Polygon(_) => {
            let bounds = shape.bounds();
            format!("{} by {}", mm(bounds.high.x - bounds.low.x), mm(bounds.high.y - bounds.low.y))
        }
    }
}

/// How much two quantities may differ that are one but for rounding, as a share of either.
const ROUNDED: f64 = 1e-9;

fn figure_changes(old: &[Figure], new: &[Figure]) -> Vec<What> {
    let mut changes = Vec::new();
    for figure in new {
        let Some(was) = old.iter().find(|was| was.label == figure.label) else {
            changes.push(What::Figure { label: figure.label, from: "none".into(), to: figure.text.clone() });
            continue;
        };
        let (mut from, mut to) = (was.text.clone(), figure.text.clone());
        if let (Some(a), Some(b)) = (was.quantity, figure.quantity) {
            let grain = a.dimension.grain().max(a.value.abs() * ROUNDED);
            if (a.value - b.value).abs() <= grain {
                continue;
            }
            // What differs is shown with as many digits as that takes.
            let finer = (0..=4).map(|extra| (a.show(extra), b.show(extra))).find(|(a, b)| a != b);
            (from, to) = finer.unwrap_or((from, to));
        }
        if from != to {
            changes.push(What::Figure { label: figure.label, from, to });
        }
    }
    let lone = old.iter().filter(|was| new.iter().all(|figure| figure.label != was.label) && was.text != "none");
    changes.extend(lone.map(|was| What::Figure { label: was.label, from: was.text.clone(), to: "none".into() }));
    changes
}

/// That the layers which both floors have lie in another order.
fn order_of_layers(before: &[Card], after: &[Card]) -> Option<Change> {
    let layers = |own: &[Card], other: &[Card]| {
        let in_both = own.iter().filter(|card| {
            card.kind == "layer" && other.iter().any(|one| one.kind == "layer" && one.name == card.name)
        });
        in_both.map(|card| card.name.as_str()).collect::<Vec<_>>().join(", ")
    };
    let (from, to) = (layers(before, after), layers(after, before));
    let same_many = from.len() == to.len();
    (from != to && same_many).then(|| Change {
        kind: "floor",
        name: String::new(),
        what: What::Figure { label: "layers from the top", from, to },
        at: None,
    })
}
