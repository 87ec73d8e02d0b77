//! The rooms that a file draws, and what each is called.

use std::collections::BTreeSet;

use super::chains::straightened;
use super::sorts::Sort;
use super::tag::{Tag, is_name};
use super::walls::{self, Doorway, Size};
use super::{CHORD, Form, Item, Label, Traced, Unreadable, flatten};
use crate::geometry::ring::signed_area;
use crate::geometry::{Bounds, Point, Ring, distance};

/// The most outlines that are looked at for a room.
const MOST_OUTLINES: usize = 2_000;
/// The most names that are laid to rooms.
const MOST_LABELS: usize = 20_000;

/// What is taken for a room's outline at the least and at the most, mm2, and how wide it is on the whole: less is a wall's own, a symbol or
/// a frame.
const LEAST: f64 = 0.4e6;
const MOST: f64 = 5_000e6;
const NARROWEST: f64 = 330.0;

/// Floors that differ by less are of one storey, mm.
const STOREY: f64 = 500.0;

/// A room that a file draws.
#[derive(Debug)]
pub struct Room {
    /// What a plan calls it; no two are called alike.
    pub name: String,
    /// What the file calls it.
    pub title: Option<String>,
    /// The layer or the type that it is drawn in.
    pub layer: String,
    /// Its outline, which neither crosses nor touches itself where it came from a plan.
    pub outline: Ring,
    /// Whether straight pieces stand for curves of it.
    pub curved: bool,
    /// What this program said of it when it wrote the file.
    pub tag: Option<Tag>,
    /// The items that it is drawn by: its outline, or the walls round it.
    pub items: Vec<usize>,
    /// Its openings, where it was found between walls that are drawn as two lines each.
    pub doors: Vec<Doorway>,
    /// Whether it was found so.
    pub between_walls: bool,
    /// How high its floor lies, mm, where the file tells.
    pub height: Option<f64>,
}

impl Room {
    /// How wide and how deep it is, mm.
    pub fn size(&self) -> Point {
        let Bounds { low, high } = self.outline.bounds();
        high - low
    }
}

/// The rooms of a file, of one layer where that is asked for, in the order of their names.
///
/// # Errors
/// Where there are none, or more outlines than are looked at.
pub fn rooms(traced: &Traced, layer: Option<&str>) -> Result<Vec<Room>, Unreadable> {
    let is_wanted = |item: &Item| layer.is_none_or(|layer| item.layer.eq_ignore_ascii_case(layer));
    let all: Vec<(usize, &Item, Vec<Point>)> = traced
        .items
        .iter()
        .enumerate()
        .filter(|(_, item)| is_wanted(item))
        .filter_map(|(index, item)| corners(item).map(|corners| (index, item, corners)))
        .collect();
    // What was written for a room, else what a layer says is one, else the inner faces of walls, else whatever is as large as one.
    type Test = fn(&Item) -> bool;
    let tests: [Test; 4] = [
        |item| item.tag.as_ref().is_some_and(|tag| tag.statement == "room"),
        |item| item.sort == Sort::Room,
        |item| item.sort == Sort::Wall,
        |item| item.sort == Sort::Unknown,
    ];
    let mut found: Vec<&(usize, &Item, Vec<Point>)> = Vec::new();
    let mut unclosed = Unclosed::default();
    match layer {
        Some(_) => {
            found.extend(&all);
            if found.is_empty() {
                let between = between_walls(traced, is_wanted, true, &mut unclosed);
                return between.ok_or_else(|| unclosed.told(|| no_layer(traced, layer.unwrap_or_default())));
            }
        }
        None => {
            for (rank, test) in tests.iter().enumerate() {
                // Walls drawn as two lines each have more closed outlines than their rooms'.
                let may_be_wall = |item: &Item| test(item) || walls::is_wall(item);
                if rank >= 2
                    && unclosed.too_much.is_none()
                    && let Some(rooms) = between_walls(traced, may_be_wall, rank == 2, &mut unclosed)
                {
                    return Ok(rooms);
                }
                found.extend(all.iter().filter(|(_, item, _)| test(item)));
                if !found.is_empty() {
                    break;
                }
            }
        }
    }
    if found.is_empty() {
        return Err(unclosed.told(|| none_large_enough(traced)));
    }
    if found.len() > MOST_OUTLINES {
        let what = format!("it draws {} outlines as large as a room; {MOST_OUTLINES} are looked at", found.len());
        return Err(Unreadable::new(what, "name the layer of the rooms with `--layer`"));
    }
    // The smaller one stands nearer to what is written in it.
    found.sort_by(|a, b| signed_area(&a.2).abs().total_cmp(&signed_area(&b.2).abs()));
    let mut rooms: Vec<Room> = Vec::new();
    for (index, item, corners) in found {
        let outline = Ring::new(corners);
        let storey = |room: &Room| room.height.zip(item.height).is_none_or(|(a, b)| (a - b).abs() < STOREY);
        let twice = |other: &Room| storey(other) && alike(&other.outline, &outline);
        if rooms.iter().any(twice) {
            continue;
        }
        rooms.push(Room {
            name: String::new(),
            title: item.name.clone(),
            layer: item.layer.clone(),
            outline,
            curved: item.curved,
            tag: item.tag.clone().filter(|tag| tag.statement == "room"),
            items: vec![*index],
            doors: Vec::new(),
            between_walls: false,
            height: item.height,
        });
    }
    name(&mut rooms, &traced.labels);
    Ok(rooms)
}

/// Why no room was found between walls.
#[derive(Default)]
struct Unclosed {
    too_much: Option<Unreadable>,
    /// Where walls end freely.
    open: Vec<Point>,
}

impl Unclosed {
    fn told(self, otherwise: impl FnOnce() -> Unreadable) -> Unreadable {
        if let Some(error) = self.too_much {
            return error;
        }
        let other = otherwise();
        if self.open.is_empty() {
            return other;
        }
        let millimetres = |value: f64| crate::quantity::number(value, 0);
        let places: Vec<String> =
            self.open.iter().map(|at| format!("({}, {})", millimetres(at.x), millimetres(at.y))).collect();
        let places = crate::text::list(places.iter().map(String::as_str), "and");
        let help =
            format!("walls drawn as two lines end openly at {places}, in mm: close them there, or {}", other.help);
        Unreadable::new(other.what, help)
    }
}

/// The rooms between walls that are drawn as two lines each; nothing where there are none.
fn between_walls(
    traced: &Traced,
    may_be_wall: impl Fn(&Item) -> bool,
    known: bool,
    unclosed: &mut Unclosed,
) -> Option<Vec<Room>> {
    // A building has its storeys one over the other, and their walls too.
    let flat = |item: &Item| item.height.is_none() && may_be_wall(item);
    let found = match walls::find(&traced.items, flat, known, &Size { area: LEAST..=MOST, narrowest: NARROWEST }) {
        Ok(found) => found,
        Err(error) => {
            unclosed.too_much = Some(error);
            return None;
        }
    };
    unclosed.open.extend(found.open);
    let mut rooms: Vec<Room> = found
        .rooms
        .into_iter()
        .map(|room| Room {
            name: String::new(),
            title: None,
            layer: room.items.first().map_or_else(String::new, |item| traced.items[*item].layer.clone()),
            outline: Ring::new(&room.outline),
            curved: room.items.iter().any(|item| traced.items[*item].curved),
            tag: None,
            items: room.items,
            doors: room.doors,
            between_walls: true,
            height: None,
        })
        .collect();
    if rooms.is_empty() {
        return None;
    }
    rooms.sort_by(|a, b| signed_area(a.outline.corners()).total_cmp(&signed_area(b.outline.corners())));
    name(&mut rooms, &traced.labels);
    Some(rooms)
}

/// Whether two outlines are one that was drawn twice.
fn alike(a: &Ring, b: &Ring) -> bool {
    let (a_box, b_box) = (a.bounds(), b.bounds());
    let near = distance(a_box.low, b_box.low) < 1.0 && distance(a_box.high, b_box.high) < 1.0;
    near && (signed_area(a.corners()).abs() - signed_area(b.corners()).abs()).abs() < 1000.0
}

/// The corners of what may be a room.
fn corners(item: &Item) -> Option<Vec<Point>> {
    let tagged = item.tag.as_ref().map(|tag| tag.statement == "room");
    if tagged == Some(false) {
        return None;
    }
    let corners = match &item.form {
        Form::Ring(corners) if tagged == Some(true) => return Some(corners.clone()),
        Form::Ring(corners) => straightened(corners),
        Form::Circle { centre, radius } => flatten::circle(*centre, *radius, CHORD),
        Form::Line(_) | Form::Symbol(_) => return None,
    };
    let area = signed_area(&corners).abs();
    let around: f64 = corners.iter().zip(corners.iter().cycle().skip(1)).map(|(a, b)| distance(*a, *b)).sum();
    let large = (LEAST..=MOST).contains(&area) && 2.0 * area / around.max(1.0) >= NARROWEST;
    large.then_some(corners)
}

fn no_layer(traced: &Traced, layer: &str) -> Unreadable {
    let mut layers: BTreeSet<&str> = BTreeSet::new();
    layers.extend(traced.items.iter().filter(|item| corners(item).is_some()).map(|item| item.layer.as_str()));
    let named: Vec<String> = layers.iter().take(20).map(|layer| format!("`{layer}`")).collect();
    let help = if named.is_empty() {
        "no layer holds a closed outline as large as a room".into()
    } else {
        format!(
            "closed outlines as large as a room are on {}",
            crate::text::list(named.iter().map(String::as_str), "and")
        )
    };
    Unreadable::new(format!("layer `{layer}` holds no closed outline as large as a room"), help)
}

/// What to say where nothing is a room: most often the unit is another, or outlines are left open.
fn none_large_enough(traced: &Traced) -> Unreadable {
    let closed: Vec<f64> = traced
        .items
        .iter()
        .filter_map(|item| match &item.form {
            Form::Ring(corners) => Some(signed_area(corners).abs()),
            _ => None,
        })
        .collect();
    let largest = closed.iter().copied().fold(0.0, f64::max);
    let what = "it draws no closed outline as large as a room".to_string();
    if closed.is_empty() {
        return Unreadable::new(
            what,
            "draw the inside of the room's walls as a closed polyline, on a layer called `ROOM`",
        );
    }
    let side = crate::quantity::number(largest.sqrt(), 2);
    let help = format!(
        "the largest of {} closed ones is about {side} mm across: where that is another unit's, say which with `--unit`; map coordinates in \
         degrees must be turned into metres first",
        closed.len()
    );
    Unreadable::new(what, help)
}

/// Gives each room a name of its own: as it is tagged, as the file calls it, or as what is written in it.
fn name(rooms: &mut [Room], labels: &[Label]) {
    for label in labels.iter().filter(|label| is_worth(&label.text)).take(MOST_LABELS) {
        // The smallest room that it stands in; they come by their size.
        let around = Bounds::at(label.at);
        let holds = |room: &&mut Room| room.outline.bounds().meets(&around) && room.outline.contains(label.at);
        let Some(room) = rooms.iter_mut().find(holds) else { continue };
        let larger = room.title.is_none() && room.tag.is_none();
        if larger {
            room.title = Some(label.text.clone());
        }
    }
    let mut names: BTreeSet<String> = BTreeSet::new();
    for (index, room) in rooms.iter_mut().enumerate() {
        if let Some(tag) = &room.tag {
            room.title = (!tag.title.is_empty()).then(|| tag.title.clone());
            room.name = unlike(&tag.name, &mut names);
        } else {
            let wanted = room.title.as_deref().map_or_else(String::new, slug);
            let wanted = if wanted.is_empty() { format!("room-{}", index + 1) } else { wanted };
            room.name = unlike(&wanted, &mut names);
        }
    }
    rooms.sort_by(|a, b| a.name.cmp(&b.name));
}

/// Whether a text can be what a room is called: it has a letter, and is no size or area.
fn is_worth(text: &str) -> bool {
    let letters = text.chars().filter(|c| c.is_alphabetic()).count();
    let figures = text.chars().filter(char::is_ascii_digit).count();
    letters >= 2 && letters > figures
}

/// A name out of what something is called: letters, digits and hyphens; empty where nothing of it can stand in one.
///
/// ```
/// assert_eq!(layrule::exchange::rooms::slug("WC 1.02 (north)"), "wc-1-02-north");
/// ```
pub fn slug(text: &str) -> String {
    let lower = text.to_lowercase();
    let words = lower.split(|c: char| !c.is_ascii_alphanumeric()).filter(|word| !word.is_empty());
    let name = words.collect::<Vec<_>>().join("-");
    let name = name.get(..name.len().min(60)).unwrap_or_default().trim_matches('-');
    match name.bytes().next() {
        Some(first) if first.is_ascii_digit() => format!("n-{name}"),
        _ => name.to_string(),
    }
}

/// A name that isn't taken yet, which it then is.
pub(super) fn unlike(wanted: &str, taken: &mut BTreeSet<String>) -> String {
    let wanted = if is_name(wanted) { wanted } else { "thing" };
    let mut name = wanted.to_string();
    let mut number = 2;
    while !taken.insert(name.clone()) {
        name = format!("{wanted}-{number}");
        number += 1;
    }
    name
}
