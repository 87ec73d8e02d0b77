//! Rooms of a file as a plan: what is known as statements, what could not be told as comments.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use super::chains::straightened;
use super::rooms::{Room, slug, unlike};
use super::sorts::Sort;
use super::tag::{Tag, hinged};
use super::walls::CLOSES;
use super::{CHORD, Form, Item, Traced, Unreadable};
use crate::geometry::ring::{edges, signed_area};
use crate::geometry::{Bounds, Piece, Point, distance, dot};
use crate::layout::kinds::PipeKind;
use crate::layout::tidy::tidy;
use crate::model::Swing;
use crate::model::load::Library;
use crate::model::resolve::resolve;
use crate::model::shape::{MOST_CORNERS, RingFault, check_ring};
use crate::quantity::number;
use crate::source::{Memory, one_line};
use crate::worded::Worded as _;

/// The most things that are written of one room.
const MOST_IN_ROOM: usize = 400;
/// The most things of which nothing is known that are written as comments.
const MOST_UNTOLD: usize = 20;

/// The most doors that are looked at for one room, and the most points of one.
const MOST_DOORS: usize = 2_000;
const MOST_POINTS: usize = 5_000;

/// How far from a wall what is drawn in its opening may lie, mm: as far as walls are thick.
const IN_WALL: f64 = 400.0;
/// How wide a door's opening is, mm.
const OPENING: std::ops::RangeInclusive<f64> = 400.0..=6_000.0;
/// Two openings that share more than this are one, mm.
const SHARED: f64 = 100.0;

/// Writes rooms of a file as a plan. `name` is what the file is called.
///
/// # Errors
/// Where a room's outline can't stand in a plan.
pub fn plan(traced: &Traced, rooms: &[&Room], name: &str) -> Result<String, Unreadable> {
    let by = moved(rooms);
    let mut text = String::new();
    let mut say = |line: &str| text.push_str(&format!("# {}\n", one_line(line)));
    say(&format!("Outlined from {name}."));
    traced.remarks.iter().for_each(|remark| say(remark));
    if by != Point::zero() {
        say(&format!("(0, 0) here is ({}, {}) there, in mm.", number(-by.x, 1), number(-by.y, 1)));
    }
    if rooms.iter().any(|room| room.curved) {
        say(&format!("Curves are written as straight pieces that lie within {} mm of them.", number(CHORD, 1)));
    }
    if rooms.iter().any(|room| room.between_walls) {
        say(
            "Walls are drawn as two lines each: a room is what lies between them, closed at doors and windows as if its walls",
        );
        say(&format!("went on, and at corners that are open by up to {} mm.", number(2.0 * CLOSES, 0)));
    }
    if rooms.iter().all(|room| room.tag.is_some()) {
        say(
            "Not read back, and to be added: the floor's build-up, what lies below it, thermostat, supply, cables, record.",
        );
    } else {
        say("Not told by the file, and to be added: the floor's build-up, what lies below it, pipes and joints in it,");
        say("heights under fixtures, thermostat and supply. Measure the room before any cable is ordered.");
    }
    let taken: BTreeSet<usize> = rooms.iter().flat_map(|room| room.items.iter().copied()).collect();
    // Where each thing lies is asked for every room.
    let things: Vec<(&Item, Bounds)> = traced.items.iter().map(|item| (item, bounds(item))).collect();
    for room in rooms {
        let written = Written::of(&things, room, &taken, by)?;
        text.push('\n');
        text.push_str(&written.text);
    }
    let text = sound(text)?;
    Ok(tidy(&text).unwrap_or(text))
}

/// By how much everything is moved, so that a foreign file's rooms lie at the plan's origin.
fn moved(rooms: &[&Room]) -> Point {
    if rooms.iter().any(|room| room.tag.is_some()) {
        return Point::zero();
    }
    let boxes = rooms.iter().map(|room| room.outline.bounds()).reduce(Bounds::with);
    boxes.map_or(Point::zero(), |around| Point { x: -round(around.low.x, 1), y: -round(around.low.y, 1) })
}

fn round(value: f64, decimals: u32) -> f64 {
    let scale = f64::from(10_u32.pow(decimals));
    (value * scale).round() / scale
}

/// Takes what reading finds at fault out of a plan, as comments: a plan that is written here is read without one.
fn sound(mut text: String) -> Result<String, Unreadable> {
    const ROUNDS: usize = 4;
    for _ in 0..ROUNDS {
        let files = Memory::default();
        let plan =
            resolve(Library::new(&files, "", "").load_text(Path::new("outline.lay"), "outline.lay", text.clone()));
        if plan.faults.is_empty() {
            return Ok(text);
        }
        let lines: BTreeMap<usize, &str> = plan
            .faults
            .iter()
            .map(|fault| {
                let place = fault.place();
                let line = plan.sources.get(place.file).map_or(0, |file| file.line_and_column(place.span.start()).0);
                (line, fault.message.as_str())
            })
            .collect();
        let outlined = |line: &str| line.trim_start().starts_with("outline") || line.starts_with("room");
        let mut after = String::new();
        for (line, number) in text.lines().zip(1..) {
            match lines.get(&number) {
                Some(why) if outlined(line) => {
                    return Err(Unreadable::new(format!("its outline can't stand in a plan: {why}"), REDRAW));
                }
                Some(why) => after.push_str(&format!("  # Left out, since {}: {}\n", one_line(why), line.trim())),
                None => {
                    after.push_str(line);
                    after.push('\n');
                }
            }
        }
        text = after;
    }
    Err(Unreadable::new("what it draws can't be written as a plan", REDRAW))
}

const REDRAW: &str = "draw the inside of the room's walls as one closed polyline that neither crosses nor touches itself, on a layer of its own, and \
name that with `--layer`";

/// A room as it is being written.
struct Written<'r> {
    room: &'r Room,
    corners: Vec<Point>,
    by: Point,
    decimals: usize,
    /// How high its floor lies, mm, where the file tells.
    floor: Option<f64>,
    /// Whether the file has another room that is tagged alike, as a copy of it is.
    copied: bool,
    text: String,
    /// Names that are taken, by statement.
    names: BTreeMap<String, BTreeSet<String>>,
    /// The openings that are written: wall, from, to.
    doors: Vec<(usize, f64, f64)>,
    /// What is drawn of doors, piece by piece: leaves and the arcs that they swing through.
    leaves: Vec<(Vec<Point>, Bounds)>,
    untold: usize,
}

impl<'r> Written<'r> {
    fn of(things: &[(&Item, Bounds)], room: &'r Room, taken: &BTreeSet<usize>, by: Point) -> Result<Self, Unreadable> {
        let decimals = if room.tag.is_some() { 3 } else { 1 };
        let mut written = Written {
            room,
            corners: Vec::new(),
            by,
            decimals,
            floor: room.height,
            copied: false,
            text: String::new(),
            names: BTreeMap::new(),
            doors: Vec::new(),
            leaves: Vec::new(),
            untold: 0,
        };
        written.outline()?;
        written.walls();
        let namesakes = things.iter().filter(|(item, _)| {
            let tag = item.tag.as_ref().filter(|tag| tag.statement == "room");
            tag.is_some_and(|tag| room.tag.as_ref().is_some_and(|own| own.name == tag.name))
        });
        written.copied = namesakes.count() > 1;
        let mut looked_at = 0;
        let mut items: Vec<&(&Item, Bounds)> = things
            .iter()
            .enumerate()
            .filter(|(index, _)| !taken.contains(index))
            .map(|(_, thing)| thing)
            .filter(|(item, around)| written.holds(item, around, &mut looked_at))
            .collect();
        // The larger hold the smaller: a bath's own edge is drawn round its basin.
        items.sort_by(|a, b| order(a.0).cmp(&order(b.0)).then(foreign_size(b).total_cmp(&foreign_size(a))));
        if items.len() > MOST_IN_ROOM {
            let more = items.len() - MOST_IN_ROOM;
            written.comment(&format!("{more} more things are drawn in this room than are written here."));
            items.truncate(MOST_IN_ROOM);
        }
        let leaves = items.iter().filter(|(item, _)| item.tag.is_none() && item.sort == Sort::Door);
        written.leaves = leaves.map(|(item, around)| (spots(item), *around)).collect();
        let told = written.doorways(&items);
        let mut fixtures: Vec<Bounds> = Vec::new();
        for (place, (item, around)) in items.into_iter().enumerate() {
            if told.contains(&place) {
                continue;
            }
            let inner = item.tag.is_none()
                && !matches!(item.sort, Sort::Door)
                && fixtures.iter().any(|outer| within(outer, around));
            if inner {
                continue;
            }
            if item.tag.is_none() && matches!(item.sort, Sort::Fixture(_)) {
                fixtures.push(*around);
            }
            written.item(item);
        }
        if written.untold > MOST_UNTOLD {
            let more = written.untold - MOST_UNTOLD;
            written.comment(&format!("{more} more closed shapes, of which the file doesn't say what they are."));
        }
        written.text.push_str("}\n");
        Ok(written)
    }

    fn comment(&mut self, text: &str) {
        self.text.push_str(&format!("  # {}\n", one_line(text)));
    }

    fn line(&mut self, words: &[&str]) {
        let words: Vec<&str> = words.iter().copied().filter(|word| !word.is_empty()).collect();
        self.text.push_str(&format!("  {}\n", words.join(" ")));
    }

    fn point(&self, point: Point) -> String {
        let at = point + self.by;
        format!("({}, {})", number(at.x, self.decimals), number(at.y, self.decimals))
    }

    fn points(&self, points: &[Point]) -> String {
        points.iter().map(|point| self.point(*point)).collect::<Vec<_>>().join(" ")
    }

    fn outline(&mut self) -> Result<(), Unreadable> {
        let room = self.room;
        let corners = room.outline.corners();
        let title = room.title.as_deref().map(plain);
        let title = title.filter(|title| !title.is_empty() && (room.tag.is_some() || *title != room.name));
        let quoted = title.map_or_else(String::new, |title| format!(" \"{title}\""));
        self.text.push_str(&format!("room {}{quoted} {{\n", room.name));
        let rounded: Vec<Point> = corners.iter().map(|corner| self.rounded(*corner)).collect();
        // Counter-clockwise, as plans have their walls numbered.
        self.corners = rounded;
        if room.tag.is_none() && signed_area(&self.corners) < 0.0 {
            self.corners.reverse();
        }
        let refused = |why: String| Err(Unreadable::new(format!("room `{}`: {why}", room.name), REDRAW));
        match check_ring(&self.corners) {
            Ok(()) => {}
            Err(RingFault::TooMany) => {
                return refused(format!("its outline has {} corners; {MOST_CORNERS} are the most", self.corners.len()));
            }
            Err(RingFault::Crossing(..)) => return refused("its outline crosses or touches itself".into()),
            Err(RingFault::TooFew | RingFault::EmptyEdge(_) | RingFault::NoArea) => {
                return refused("its outline encloses nothing".into());
            }
        }
        let points = self.points(&self.corners);
        self.line(&["outline", &points]);
        Ok(())
    }

    fn rounded(&self, point: Point) -> Point {
        let decimals = u32::try_from(self.decimals).unwrap_or(0);
        Point { x: round(point.x, decimals), y: round(point.y, decimals) }
    }

    /// What this program wrote of the room's walls.
    fn walls(&mut self) {
        let Some(tag) = &self.room.tag else { return };
        for (wall, title) in &tag.walls {
            let (number, outside) = wall.split_once(' ').unwrap_or((wall, ""));
            let quoted = if title.is_empty() { String::new() } else { format!("\"{}\"", plain(title)) };
            self.line(&["wall", number, &quoted, outside]);
        }
    }

    /// Whether something belongs to the room. Doors are looked for along every wall, and so no more than so many of them.
    fn holds(&self, item: &Item, around: &Bounds, looked_at: &mut usize) -> bool {
        let inside =
            || self.room.outline.bounds().meets(around) && self.room.outline.contains((around.low + around.high) / 2.0);
        if let Some(tag) = &item.tag {
            let own = self.room.tag.as_ref().map(|own| own.name == tag.room);
            return tag.statement != "room" && own.unwrap_or(true) && ((own.is_some() && !self.copied) || inside());
        }
        if !self.on_storey(item) {
            return false;
        }
        match item.sort {
            // What stands by itself between walls may be a pier.
            Sort::Wall if self.room.between_walls => {
                matches!(item.form, Form::Ring(_) | Form::Circle { .. })
                    && within(&self.room.outline.bounds(), around)
                    && inside()
            }
            Sort::Aside | Sort::Window | Sort::Room | Sort::Wall => false,
            Sort::Door => {
                let near = self.room.outline.bounds().widened(IN_WALL).meets(around) && *looked_at < MOST_DOORS;
                *looked_at += usize::from(near);
                near && self.opening(&spots(item)).is_some()
            }
            Sort::Fixture(_) | Sort::Stairs | Sort::Joint | Sort::Pipe(_) => inside(),
            Sort::Unknown => {
                let larger = self.room.between_walls && !within(&self.room.outline.bounds(), around);
                !matches!(item.form, Form::Line(_) | Form::Symbol(_)) && !larger && inside()
            }
        }
    }

    /// Whether something stands as high as the room's floor, or as things do that hang on its walls.
    fn on_storey(&self, item: &Item) -> bool {
        let (Some(floor), Some(height)) = (self.floor, item.height) else { return true };
        (floor - 500.0..floor + 1_800.0).contains(&height)
    }

    fn name(&mut self, statement: &str, wanted: &str) -> String {
        let wanted = if wanted.is_empty() { statement } else { wanted };
        unlike(wanted, self.names.entry(statement.to_string()).or_default())
    }

    fn item(&mut self, item: &Item) {
        if let Some(tag) = &item.tag {
            return self.tagged(item, tag);
        }
        let called = item.name.as_deref().map(slug).unwrap_or_default();
        match item.sort {
            Sort::Door => self.door(item, &called),
            Sort::Fixture(_) if !within(&self.room.outline.bounds().widened(IN_WALL), &bounds(item)) => {
                let called = item.name.as_deref().unwrap_or(&item.layer);
                self.comment(&format!("`{called}` is drawn larger than the room, and left out."));
            }
            Sort::Fixture(kind) => {
                let word = kind.map_or("", |kind| kind.word());
                let name = self.name("fixture", if called.is_empty() { word } else { &called });
                let Some(shape) = self.shape(&item.form) else { return };
                let said = if word == name { "" } else { word };
                if word.is_empty() {
                    self.comment(&format!(
                        "`{}` doesn't say what this is; a bath, shower, wc or unit wants its kind.",
                        item.layer
                    ));
                }
                self.line(&["fixture", &name, said, &shape]);
            }
            Sort::Stairs => {
                let name = self.name("level", "stairs");
                if let Some(shape) = self.shape(&item.form) {
                    self.line(&["level", &name, "stairs", &shape]);
                }
            }
            Sort::Joint | Sort::Pipe(_) => {
                let (statement, kind) = match item.sort {
                    Sort::Pipe(kind) => ("pipe", kind.map_or("", PipeKind::word)),
                    _ => ("joint", ""),
                };
                if let Form::Line(points) = &item.form {
                    let name = self.name(statement, &called);
                    let points = self.points(points);
                    self.line(&[statement, &name, kind, &points]);
                }
            }
            _ => self.untold(item),
        }
    }

    /// A closed shape of which nothing is known, as a statement that somebody may take the sign off.
    fn untold(&mut self, item: &Item) {
        self.untold += 1;
        if self.untold > MOST_UNTOLD {
            return;
        }
        if let Some(shape) = self.shape(&item.form) {
            let name = format!("shape-{}", self.untold);
            let layer = one_line(&item.layer);
            self.comment(&format!("On `{layer}`, which doesn't say what it is: fixture {name} {shape}"));
        }
    }

    fn tagged(&mut self, item: &Item, tag: &Tag) {
        let name = self.name(&tag.statement, &tag.name);
        match tag.statement.as_str() {
            "door" => {
                let wall = tag.before.strip_prefix("wall ").and_then(|wall| wall.parse::<usize>().ok());
                match self.tagged_opening(&spots(item), wall.and_then(|wall| wall.checked_sub(1))) {
                    Some(opening) => self.opened(&name, opening, &tag.after),
                    None => self.comment(&format!("Door {name} lies in no wall any more.")),
                }
            }
            "joint" | "pipe" | "partition" => {
                if let Form::Line(points) = &item.form {
                    let points = self.points(points);
                    self.line(&[&tag.statement, &name, &tag.before, &points, &tag.after]);
                }
            }
            "shower-head" => {
                let Bounds { low, high } = bounds(item);
                let at = self.point((low + high) / 2.0);
                self.line(&[&tag.statement, &name, &at, &tag.after]);
            }
            _ => {
                if let Some(shape) = self.shape(&item.form) {
                    self.line(&[&tag.statement, &name, &tag.before, &shape, &tag.after]);
                }
            }
        }
    }

    /// A shape as a plan has it; nothing where it can't be one.
    fn shape(&mut self, form: &Form) -> Option<String> {
        match form {
            Form::Circle { centre, radius } => {
                let radius = number(*radius, self.decimals);
                Some(format!("circle {} radius {radius}", self.point(*centre)))
            }
            Form::Ring(corners) => {
                let corners: Vec<Point> = straightened(corners).iter().map(|corner| self.rounded(*corner)).collect();
                if check_ring(&corners).is_err() {
                    let around = Bounds::around(&corners);
                    self.comment(&format!(
                        "A shape between {} and {} can't be one in a plan: it crosses itself or has too many corners.",
                        self.point(around.low),
                        self.point(around.high)
                    ));
                    return None;
                }
                let Bounds { low, high } = Bounds::around(&corners);
                let along =
                    corners.len() == 4 && edges(&corners).all(|edge| edge.step().x == 0.0 || edge.step().y == 0.0);
                Some(match along {
                    true => format!("rect {} {}", self.point(low), self.point(high)),
                    false => format!("polygon {}", self.points(&corners)),
                })
            }
            Form::Line(_) | Form::Symbol(_) => None,
        }
    }

    /// The openings that the walls round the room leave, each by the name and the swing of the door that is drawn in it; the doors that are then told.
    fn doorways(&mut self, items: &[&(&Item, Bounds)]) -> BTreeSet<usize> {
        let room = self.room;
        let mut told = BTreeSet::new();
        let is_door = |item: &Item| item.tag.is_none() && item.sort == Sort::Door;
        let doors = items.iter().enumerate().filter(|(_, (item, _))| is_door(item) && !room.doors.is_empty());
        let doors: Vec<(usize, &Item, Vec<Point>)> = doors
            .map(|(place, (item, _))| (place, *item, spots(item)))
            .filter(|own| own.2.len() <= MOST_POINTS)
            .collect();
        for doorway in room.doors.iter().take(MOST_IN_ROOM) {
            let ends = [doorway.piece.start, doorway.piece.end];
            let tried = edges(&self.corners).enumerate().filter_map(|(wall, edge)| {
                let far = edge.distance(ends[0]).max(edge.distance(ends[1]));
                along(edge, &ends).map(|(from, to, _)| (wall, edge, from, to, far))
            });
            let nearest = tried.min_by(|a, b| a.4.total_cmp(&b.4)).filter(|(.., far)| *far <= 2.0 * CLOSES);
            let Some((wall, edge, from, to, _)) = nearest else { continue };
            // Doors that are drawn along the better part of it.
            let drawn = doors.iter().filter_map(|(place, item, points)| {
                let (low, high, _) = along(edge, points).filter(|(low, high, far)| {
                    *far <= IN_WALL && to.min(*high) - from.max(*low) > 0.5 * (to - from).max(high - low)
                })?;
                Some((*place, *item, (wall, low, high)))
            });
            let drawn: Vec<(usize, &Item, (usize, f64, f64))> = drawn.collect();
            told.extend(drawn.iter().map(|(place, ..)| *place));
            let called = drawn.iter().find_map(|(_, item, _)| item.name.as_deref().map(slug)).unwrap_or_default();
            let name = self.name("door", &called);
            // A leaf is a little narrower than the opening that its frame stands in.
            let swing =
                self.swing((wall, from, to)).or_else(|| drawn.iter().find_map(|(.., opening)| self.swing(*opening)));
            let swing = swing.map(|swing| hinged(swing, signed_area(&self.corners) >= 0.0)).unwrap_or_default();
            if !doorway.drawn {
                self.comment(&format!("No door is drawn in the opening that is written as {name}."));
            }
            self.opened(&name, (wall, from, to), &swing);
        }
        told
    }

    fn door(&mut self, item: &Item, called: &str) {
        let Some(opening) = self.opening(&spots(item)) else { return };
        let (wall, from, to) = opening;
        let shared = |(other, low, high): &(usize, f64, f64)| *other == wall && to.min(*high) - from.max(*low) > SHARED;
        // Leaf, swing and frame of one door are often drawn apart.
        if self.doors.iter().any(shared) {
            return;
        }
        let name = self.name("door", called);
        let swing = self.swing(opening).map(|swing| hinged(swing, signed_area(&self.corners) >= 0.0));
        self.opened(&name, opening, &swing.unwrap_or_default());
    }

    /// How a door swings, by the arc drawn round one of its ends from the other; nothing where none is, or one round each.
    fn swing(&self, (wall, from, to): (usize, f64, f64)) -> Option<Swing> {
        let edge = edges(&self.corners).nth(wall)?;
        let step = edge.step() / edge.length().max(1e-9);
        let inward = Point { x: -step.y, y: step.x } * signed_area(&self.corners).signum();
        let (start, wide) = (edge.start + step * from, to - from);
        let around = Bounds::around(&[start, start + step * wide]).widened(wide + IN_WALL);
        let own = self.leaves.iter().filter(|(_, leaf)| within(&around, leaf)).flat_map(|(points, _)| points);
        // From the first end along the wall, and into the room.
        let points: Vec<(f64, f64)> = own.map(|at| *at - start).map(|at| (dot(at, step), dot(at, inward))).collect();
        let swung = |at_last: bool| {
            let ends =
                points.iter().filter(|(along, _)| (along - if at_last { 0.0 } else { wide }).abs() < 0.03 * wide);
            // The arc ends at the latch, as far in the wall as the hinges are.
            let tried = ends.take(MOST_LATCHES).map(|(_, latch)| on_arc(&points, wide, at_last, *latch));
            tried.max_by_key(|(inward, outward)| inward.max(outward).to_owned()).unwrap_or((0, 0))
        };
        let [first, last] = [false, true].map(swung);
        let most = |(inward, outward): (usize, usize)| inward.max(outward);
        let (at_last, found) = if most(last) > most(first) { (true, last) } else { (false, first) };
        let clear = most(found) >= FEWEST_OF_ARC && most(first).min(most(last)) * 3 <= most(found);
        clear.then_some(Swing { at_last, outward: found.1 > found.0 })
    }

    fn opened(&mut self, name: &str, opening: (usize, f64, f64), after: &str) {
        let (wall, from, to) = opening;
        self.doors.push(opening);
        let (from, to) = (number(from, self.decimals), number(to, self.decimals));
        self.line(&["door", name, "wall", &(wall + 1).to_string(), "from", &from, "to", &to, after]);
    }

    /// The opening that points drawn round it show: the wall, and from where to where in it.
    fn opening(&self, points: &[Point]) -> Option<(usize, f64, f64)> {
        // No door is drawn through so many.
        if points.len() > MOST_POINTS {
            return None;
        }
        let tried = edges(&self.corners).enumerate().filter_map(|(wall, edge)| {
            let (from, to, far) = along(edge, points)?;
            (far <= IN_WALL && OPENING.contains(&(to - from))).then_some((wall, from, to, far))
        });
        // What is drawn nearest to its wall at both ends of the opening.
        tried.min_by(|a, b| a.3.total_cmp(&b.3)).map(|(wall, from, to, _)| (wall, from, to))
    }

    /// The opening that a threshold drawn from a plan shows, in the wall that it was in where it still is.
    fn tagged_opening(&self, points: &[Point], wall: Option<usize>) -> Option<(usize, f64, f64)> {
        let in_wall = |(wall, edge): (usize, Piece)| {
            let (from, to, far) = along(edge, points)?;
            (far <= IN_WALL).then_some((wall, from, to, far))
        };
        let own = edges(&self.corners).enumerate().filter(|(index, _)| Some(*index) == wall).find_map(in_wall);
        let own = own.filter(|(_, _, _, far)| *far <= 1.0);
        let nearest = || edges(&self.corners).enumerate().filter_map(in_wall).min_by(|a, b| a.3.total_cmp(&b.3));
        own.or_else(nearest).map(|(wall, from, to, _)| (wall, from, to))
    }
}

/// How many points of an arc tell that it is one, and how many places of a latch are tried.
const FEWEST_OF_ARC: usize = 4;
const MOST_LATCHES: usize = 8;

/// How many points lie on an arc round one end of an opening, from the other, and between wall and open leaf: into the room and out of it.
fn on_arc(points: &[(f64, f64)], wide: f64, at_last: bool, latch: f64) -> (usize, usize) {
    let swung = points.iter().filter_map(|(along, off)| {
        let (along, off) = (if at_last { wide - along } else { *along }, off - latch);
        let arc =
            (along.hypot(off) - wide).abs() <= 0.01 * wide + 2.0 && along > 0.05 * wide && off.abs() > 0.05 * wide;
        arc.then_some(off > 0.0)
    });
    swung.fold((0, 0), |(inward, outward), into| (inward + usize::from(into), outward + usize::from(!into)))
}

/// What some points cover of an edge, and how far from it the outermost of them lie.
fn along(edge: Piece, points: &[Point]) -> Option<(f64, f64, f64)> {
    let length = edge.length();
    let step = edge.step() / length.max(1e-9);
    let told = points.iter().map(|point| {
        let offset = *point - edge.start;
        (offset.x * step.x + offset.y * step.y, (offset.y * step.x - offset.x * step.y).abs())
    });
    // The nearest of those that lie as far along as any.
    let told: Vec<(f64, f64)> = told.collect();
    let low = told.iter().map(|(at, _)| *at).fold(f64::INFINITY, f64::min);
    let high = told.iter().map(|(at, _)| *at).fold(f64::NEG_INFINITY, f64::max);
    let nearest = |end: f64| {
        let near = told.iter().filter(|(at, _)| (at - end).abs() <= 60.0).map(|(_, far)| *far);
        near.fold(f64::INFINITY, f64::min)
    };
    let far = nearest(low).max(nearest(high));
    let (from, to) = (low.max(0.0), high.min(length));
    (to > from && low > -IN_WALL && high < length + IN_WALL).then_some((from, to, far))
}

/// The points that tell where something is.
fn spots(item: &Item) -> Vec<Point> {
    match &item.form {
        Form::Ring(points) | Form::Line(points) | Form::Symbol(points) => points.clone(),
        Form::Circle { centre, radius } => {
            let reach = Point { x: *radius, y: *radius };
            vec![*centre - reach, *centre + reach]
        }
    }
}

fn bounds(item: &Item) -> Bounds {
    match &item.form {
        Form::Ring(points) | Form::Line(points) | Form::Symbol(points) => Bounds::around(points),
        Form::Circle { centre, radius } => Bounds::at(*centre).widened(*radius),
    }
}

/// How large something of a foreign file is; what came from a plan stays in its order.
fn foreign_size((item, around): &(&Item, Bounds)) -> f64 {
    if item.tag.is_some() { 0.0 } else { distance(around.low, around.high) }
}

fn within(outer: &Bounds, inner: &Bounds) -> bool {
    let slack = outer.widened(1.0);
    slack.low.x <= inner.low.x
        && slack.low.y <= inner.low.y
        && inner.high.x <= slack.high.x
        && inner.high.y <= slack.high.y
}

/// In what order things are written: as plans mostly have them, what came from a plan as it came.
fn order(item: &Item) -> usize {
    match (&item.tag, item.sort) {
        (Some(_), _) => 0,
        (None, Sort::Door) => 1,
        (None, Sort::Fixture(_)) => 2,
        (None, Sort::Stairs) => 3,
        (None, Sort::Joint | Sort::Pipe(_)) => 4,
        _ => 5,
    }
}

/// A text as it stands between quotes.
fn plain(text: &str) -> String {
    one_line(text).replace('"', "'")
}
