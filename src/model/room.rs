//! Resolves what stands in a room.

use std::collections::HashMap;

use geo::{Contains as _, Intersects as _, LineString, Polygon, Relate as _};

use super::resolve::{Resolver, name};
use super::shape::{MOST_CORNERS, RingFault, Shape, check_ring, strip};
use super::{
    Area, AreaKind, Below, Contactor, Deviation, Junction, Line, LineKind, Outlet, Point, Room, Sensor, Stated,
    Thermostat,
};
use crate::finding::{Finding, ids};
use crate::geometry::ring::signed_area;
use crate::geometry::{Piece, dot};
use crate::layout::kinds::{FixtureKind, Kind, PipeKind};
use crate::layout::tree::{self, AreaExpr, LineExpr, RoomEntry, ShapeExpr, Word};
use crate::quantity::Dimension;
use crate::source::{FileId, Place, Span};
use crate::worded::Worded as _;

/// How far a tail's end may lie from its cable's start, mm: what lengths are compared to.
pub(super) const SAME_POINT: f64 = 1e-3;

/// The most statements that a room may hold, the runs of its cables not counted.
pub const MOST_STATEMENTS: usize = 2_000;

/// The outline of a room as geo's polygon.
pub(super) fn outline_polygon(room: &Room) -> Polygon<f64> {
    Polygon::new(LineString::new(room.corners.clone()), Vec::new())
}

/// Whether some part of a shape lies in an outline.
pub(super) fn touches(outline: &Polygon<f64>, shape: &Shape) -> bool {
    match shape {
        Shape::Polygon(corners) => {
            let shape = Polygon::new(LineString::new(corners.clone()), Vec::new());
            // Mostly its middle tells, for less than the whole question costs.
            let middle = corners.iter().fold(Point::default(), |sum, corner| sum + *corner) / corners.len() as f64;
            if shape.contains(&middle) && outline.contains(&middle) {
                return true;
            }
            // Sharing an edge or a corner is not enough.
            outline.intersects(&shape) && !outline.relate(&shape).is_touches()
        }
        Shape::Circle { centre, radius } => {
            outline.intersects(centre)
                || outline.exterior().lines().any(|wall| Piece::new(wall.start, wall.end).distance(*centre) <= *radius)
        }
    }
}

impl Resolver {
    /// A room; nothing where it has no outline to hold the rest.
    pub(super) fn room(&mut self, file: FileId, item: &tree::Room) -> Option<Room> {
        let place = |span: Span| Place { file, span };
        let mut room = Room {
            name: name(file, &item.name),
            title: item.title.as_ref().map(|title| title.text.clone()),
            corners: Vec::new(),
            walls: Vec::new(),
            areas: Vec::new(),
            lines: Vec::new(),
            floor: None,
            inside: None,
            below: None,
            heat_loss: None,
            junctions: Vec::new(),
            thermostats: Vec::new(),
            contactors: Vec::new(),
            outlets: Vec::new(),
            earthed_grid: None,
            cables: Vec::new(),
            sensors: Vec::new(),
            record: None,
            deviations: Vec::new(),
            incomplete: None,
        };
        if item.entries.len() > MOST_STATEMENTS {
            self.fault(
                Finding::reading(
                    ids::PLAN,
                    format!("room `{}` holds more than {MOST_STATEMENTS} statements", item.name.text),
                    place(item.span),
                    format!("{} in this block", item.entries.len()),
                )
                .advise("draw it as several rooms"),
            );
            return None;
        }
        let faults = self.values.faults.len();
        for entry in &item.entries {
            if let RoomEntry::Let(item) = entry {
                self.values.define(file, &item.name, &item.value);
            }
        }
        let outlined = self.room_outline(file, item, &mut room);
        let (mut inside, mut below, mut heat_loss, mut floor) = (None, None, None, None);
        let (mut record, mut grid) = (None, None);
        let mut described = HashMap::new();
        // Cables, sensors and contactors name thermostats and junctions, which may stand below them.
        // What hides nothing that lies in the floor, a misspelt material say, keeps no rule about the room from being held.
        let mut missed = self.values.faults.len() > faults;
        for entry in &item.entries {
            let faults = self.values.faults.len();
            let lies_there = matches!(
                entry,
                RoomEntry::Area { .. }
                    | RoomEntry::Junction { .. }
                    | RoomEntry::Thermostat { .. }
                    | RoomEntry::Outlet { .. }
                    | RoomEntry::Line { kind: LineExpr::Partition(_), .. }
                    | RoomEntry::Outline(_)
            );
            'entry: {
                match entry {
                    RoomEntry::Wall { number, title, outside, span } => {
                        if let Some(index) = self.wall_number(file, number, &room, outlined) {
                            if let Some(earlier) = described.insert(index, place(*span)) {
                                let fault = Finding::reading(
                                    ids::PLAN,
                                    format!("wall {} is described twice", index + 1),
                                    place(*span),
                                    "again here",
                                );
                                self.fault(fault.mark(earlier, "first here"));
                            }
                            let wall = &mut room.walls[index];
                            wall.title = title.as_ref().map(|title| title.text.clone());
                            wall.outside = *outside;
                        }
                    }
                    RoomEntry::Door { name, wall, from, to, span } => {
                        self.door(file, name, wall, [from, to], place(*span), &mut room, outlined);
                    }
                    RoomEntry::Area { kind, name, shape, span } => {
                        self.area(file, kind, name, shape, place(*span), &mut room)
                    }
                    RoomEntry::Line { kind, name: word, points, span } => {
                        let Some(points) = self.values.points(file, points) else { break 'entry };
                        let own = name(file, word);
                        let kind = match kind {
                            LineExpr::Joint => LineKind::Joint,
                            LineExpr::Pipe(said) => {
                                let said = said.as_ref().map_or(own.text.as_str(), |word| word.text.as_str());
                                LineKind::Pipe(PipeKind::of_word(said))
                            }
                            LineExpr::Partition(height) => {
                                let height = height.as_ref();
                                let height =
                                    height.and_then(|height| self.values.positive(file, height, Dimension::LENGTH));
                                LineKind::Partition(height)
                            }
                        };
                        if points.len() < 2 || points.windows(2).any(|pair| pair[0] == pair[1]) {
                            self.fault(Finding::reading(
                                ids::PLAN,
                                format!(
                                    "{} `{}` needs two points or more, none twice in a row",
                                    kind.named().word(),
                                    own.text
                                ),
                                place(*span),
                                "this one has no direction",
                            ));
                            break 'entry;
                        }
                        let like = |line: &&Line| std::mem::discriminant(&line.kind) == std::mem::discriminant(&kind);
                        if self.is_free(kind.named(), &own, room.lines.iter().filter(like).map(|line| &line.name)) {
                            room.lines.push(Line { name: own, kind, points, place: place(*span) });
                        }
                    }
                    RoomEntry::Outlet { name: word, at, height, span } => {
                        let own = name(file, word);
                        let height = height.as_ref();
                        let height = height.and_then(|height| self.values.positive(file, height, Dimension::LENGTH));
                        let Some(at) = self.values.point(file, at) else { break 'entry };
                        if self.is_free(Kind::Outlet, &own, room.outlets.iter().map(|outlet| &outlet.name)) {
                            room.outlets.push(Outlet { name: own, at, height, place: place(*span) });
                        }
                    }
                    RoomEntry::EarthedGrid(value, span) => {
                        let value = self.values.positive(file, value, Dimension::LENGTH);
                        self.once(&mut grid, value, "the earthed grid", place(*span));
                    }
                    RoomEntry::Inside(value, span) => {
                        let value = self.values.quantity(file, value, Dimension::TEMPERATURE);
                        self.once(&mut inside, value, "the room's temperature", place(*span));
                    }
                    RoomEntry::Below { kind, temperature, span } => {
                        let value = self.values.quantity(file, temperature, Dimension::TEMPERATURE);
                        let value = value.map(if kind.text == "room" { Below::Room } else { Below::Ground });
                        self.once(&mut below, value, "what lies below", place(*span));
                    }
                    RoomEntry::HeatLoss(value, span) => {
                        let value = self.values.positive(file, value, Dimension::POWER);
                        self.once(&mut heat_loss, value, "the heat loss", place(*span));
                    }
                    RoomEntry::Floor { kind, layers, broken, span } => {
                        // Without a layer of it, a floor is another.
                        let built = self.floor(file, kind, layers, place(*span)).filter(|_| !broken);
                        self.once(&mut floor, built, "the floor", place(*span));
                    }
                    RoomEntry::Junction { name: word, at, height, ip, span, .. } => {
                        let own = name(file, word);
                        let height =
                            height.as_ref().map(|height| self.values.not_negative(file, height, Dimension::LENGTH));
                        let Some(at) = self.values.point(file, at) else {
                            self.unread.insert((Kind::Junction, own.text));
                            break 'entry;
                        };
                        if self.is_free(Kind::Junction, &own, room.junctions.iter().map(|junction| &junction.name)) {
                            // A box without a height of its own gets a thermostat's below, once all are read.
                            room.junctions.push(Junction {
                                name: own,
                                at,
                                height: height.flatten(),
                                water_protection: ip
                                    .as_ref()
                                    .and_then(|code| code.text.chars().nth(1)?.to_digit(10)?.try_into().ok()),
                                wired: None,
                                place: place(*span),
                            });
                        }
                    }
                    RoomEntry::Thermostat { name: word, at, height, rated, supply, span } => {
                        let own = name(file, word);
                        let at = self.values.point(file, at);
                        let height = height
                            .as_ref()
                            .and_then(|height| self.values.not_negative(file, height, Dimension::LENGTH));
                        let rated = self.values.positive(file, rated, Dimension::CURRENT);
                        let supply = supply.as_ref().and_then(|word| {
                            let found = self.supplies.iter().position(|supply| supply.name.text == word.text);
                            if found.is_none() {
                                let names: Vec<String> =
                                    self.supplies.iter().map(|supply| supply.name.text.clone()).collect();
                                self.unknown(
                                    Kind::Supply,
                                    file,
                                    word,
                                    &names.iter().map(String::as_str).collect::<Vec<_>>(),
                                );
                            }
                            found
                        });
                        let (Some(at), Some(rated)) = (at, rated) else {
                            self.unread.insert((Kind::Thermostat, own.text));
                            break 'entry;
                        };
                        if self.is_free(
                            Kind::Thermostat,
                            &own,
                            room.thermostats.iter().map(|thermostat| &thermostat.name),
                        ) {
                            room.thermostats.push(Thermostat {
                                name: own,
                                at,
                                height,
                                rated,
                                supply,
                                place: place(*span),
                            });
                        }
                    }
                    _ => {}
                }
            }
            missed |= lies_there && self.values.faults.len() > faults;
        }
        for junction in room.junctions.iter_mut().filter(|junction| junction.height.is_none()) {
            let same = room.thermostats.iter().find(|thermostat| thermostat.at == junction.at);
            junction.height = same.and_then(|thermostat| thermostat.height);
        }
        let faults = self.values.faults.len();
        for entry in &item.entries {
            if let RoomEntry::Junction { name: word, wired: Some(wired), .. } = entry {
                let other = self.find(Kind::Junction, file, wired, &room.junctions, |own| &own.name);
                if let Some(own) = room.junctions.iter_mut().find(|own| own.name.text == word.text) {
                    own.wired = other;
                }
            }
        }
        for entry in &item.entries {
            match entry {
                RoomEntry::Cable(cable) => self.cable(file, cable, &mut room),
                RoomEntry::Contactor { name: word, rated, thermostat, span } => {
                    let own = name(file, word);
                    let rated = self.values.positive(file, rated, Dimension::CURRENT);
                    let thermostat = self.find(Kind::Thermostat, file, thermostat, &room.thermostats, |t| &t.name);
                    let (Some(rated), Some(thermostat)) = (rated, thermostat) else { continue };
                    if self.is_free(Kind::Contactor, &own, room.contactors.iter().map(|contactor| &contactor.name)) {
                        room.contactors.push(Contactor { name: own, rated, thermostat, place: place(*span) });
                    }
                }
                RoomEntry::Sensor { name: word, from, points, lead, span } => {
                    let own = name(file, word);
                    let thermostat = self.find(Kind::Thermostat, file, from, &room.thermostats, |t| &t.name);
                    let conduit = self.values.points(file, points);
                    let lead = lead.as_ref().and_then(|lead| self.values.positive(file, lead, Dimension::LENGTH));
                    let (Some(thermostat), Some(mut conduit)) = (thermostat, conduit) else {
                        room.incomplete.get_or_insert_with(|| format!("sensor `{}` could not be read", own.text));
                        continue;
                    };
                    // A point said twice leads nowhere else.
                    conduit.dedup();
                    if self.is_free(Kind::Sensor, &own, room.sensors.iter().map(|sensor| &sensor.name)) {
                        room.sensors.push(Sensor { name: own, thermostat, conduit, lead, place: place(*span) });
                    }
                }
                _ => {}
            }
        }
        self.join_tails(file, &item.entries, &mut room);
        missed |= self.values.faults.len() > faults;
        for entry in &item.entries {
            match entry {
                RoomEntry::Record { entries, broken, span } => {
                    let faults = self.values.faults.len();
                    let mut built = self.record(file, entries, place(*span), &room);
                    built.incomplete = *broken || self.values.faults.len() > faults;
                    self.once(&mut record, built, "the record", place(*span));
                }
                RoomEntry::Deviation { rule, target, reason, until, span } => {
                    let until = match until {
                        None => None,
                        Some(word) => match self.date(file, word) {
                            Some(date) => Some(date),
                            None => continue,
                        },
                    };
                    if reason.text.trim().is_empty() {
                        self.fault(Finding::reading(
                            ids::PLAN,
                            "a deviation needs a reason",
                            place(reason.span),
                            "say why, and who agreed",
                        ));
                        continue;
                    }
                    // A kind that the grammar lets through and no one knows must not widen the deviation to the room.
                    let target = match target {
                        None => None,
                        Some((kind, word)) => match Kind::of_target(&kind.text) {
                            Some(kind) => Some((kind, word)),
                            None => continue,
                        },
                    };
                    if let Some((kind, word)) = target {
                        let known = room.names(kind);
                        if !known.contains(&word.text.as_str()) {
                            self.unknown(kind, file, word, &known);
                        }
                    }
                    room.deviations.push(Deviation {
                        rule: name(file, rule),
                        target: target.map(|(kind, word)| (kind, word.text.clone())),
                        reason: reason.text.clone(),
                        until,
                        place: place(*span),
                    });
                }
                _ => {}
            }
        }
        room.inside = inside.and_then(|(value, _)| value);
        room.below = below.and_then(|(value, _)| value);
        room.heat_loss = heat_loss.and_then(|(value, _)| value);
        room.floor = floor.and_then(|(value, _)| value);
        room.record = record.map(|(value, _)| value);
        room.earthed_grid = grid.and_then(|(value, place)| value.map(|value| Stated { value, place }));
        if item.broken || missed {
            room.incomplete.get_or_insert_with(|| format!("something in room `{}` could not be read", item.name.text));
        }
        let rooms = std::mem::take(&mut self.rooms);
        let free = self.is_free(Kind::Room, &room.name, rooms.iter().map(|room| &room.name));
        self.rooms = rooms;
        (outlined && free).then_some(room)
    }

    fn room_outline(&mut self, file: FileId, item: &tree::Room, room: &mut Room) -> bool {
        let mut drawn = item.entries.iter().filter_map(|entry| match entry {
            RoomEntry::Outline(outline) => Some(outline),
            _ => None,
        });
        let owner = format!("room `{}`", item.name.text);
        let Some(outline) = drawn.next() else {
            if item.broken {
                // The line that can't be read may be the outline.
                return false;
            }
            let place = Place { file, span: item.span };
            self.fault(
                Finding::reading(ids::PLAN, format!("{owner} has no outline"), place, "no `outline` in this block")
                    .advise("write its corners, such as `outline (0, 0) (3400, 0) (3400, 2200) (0, 2200)`"),
            );
            return false;
        };
        if let Some(second) = drawn.next() {
            self.fault(
                Finding::reading(
                    ids::PLAN,
                    format!("{owner} has two outlines"),
                    Place { file, span: second.span },
                    "again here",
                )
                .mark(Place { file, span: outline.span }, "first here"),
            );
        }
        let Some((corners, walls)) = self.outline(file, outline) else { return false };
        let place = Place { file, span: outline.span };
        if let Err(fault) = check_ring(&corners) {
            let wall = |index: usize| walls.get(index).map_or(place, |wall| wall.place);
            let finding = match fault {
                RingFault::TooFew => Finding::reading(
                    ids::PLAN,
                    format!("the outline of {owner} has fewer than three corners"),
                    place,
                    "no floor in it",
                ),
                RingFault::TooMany => Finding::reading(
                    ids::PLAN,
                    format!("the outline of {owner} has more than {MOST_CORNERS} corners"),
                    place,
                    "too many to measure",
                ),
                RingFault::NoArea => Finding::reading(
                    ids::PLAN,
                    format!("the outline of {owner} has no area"),
                    place,
                    "its corners lie on one line",
                ),
                RingFault::EmptyEdge(index) => Finding::reading(
                    ids::PLAN,
                    format!("wall {} of {owner} has no length", index + 1),
                    wall(index),
                    "the same corner twice",
                ),
                RingFault::Crossing(a, b) => Finding::reading(
                    ids::PLAN,
                    format!("the outline of {owner} crosses itself"),
                    wall(b),
                    format!("wall {} meets wall {}", b + 1, a + 1),
                )
                .mark(wall(a), format!("wall {}", a + 1))
                .advise("check the order of the corners"),
            };
            self.fault(finding);
            return false;
        }
        room.corners = corners;
        room.walls = walls;
        true
    }

    fn wall_number(&mut self, file: FileId, word: &Word, room: &Room, outlined: bool) -> Option<usize> {
        let number: usize = word.text.parse().unwrap_or(0);
        if outlined && (number == 0 || number > room.walls.len()) {
            let place = Place { file, span: word.span };
            self.fault(
                Finding::reading(
                    ids::NAME,
                    format!("there is no wall {}", word.text),
                    place,
                    format!("the outline has walls 1 to {}", room.walls.len()),
                )
                .advise("walls are numbered from 1 in the order the outline draws them"),
            );
            return None;
        }
        outlined.then(|| number - 1)
    }

    #[allow(clippy::too_many_arguments)]
    fn door(
        &mut self,
        file: FileId,
        word: &Word,
        wall: &Word,
        span: [&tree::Expr; 2],
        place: Place,
        room: &mut Room,
        outlined: bool,
    ) {
        let wall = self.wall_number(file, wall, room, outlined);
        let from = self.values.quantity(file, span[0], Dimension::LENGTH);
        let to = self.values.quantity(file, span[1], Dimension::LENGTH);
        let (Some(wall), Some(from), Some(to)) = (wall, from, to) else { return };
        let (start, end) = (room.corners[wall], room.corners[(wall + 1) % room.corners.len()]);
        let along = end - start;
        let length = along.x.hypot(along.y);
        if from >= to || from < -SAME_POINT || to > length + SAME_POINT {
            self.fault(
                Finding::reading(
                    ids::PLAN,
                    format!("door `{}` doesn't fit its wall", word.text),
                    place,
                    format!("from {from} to {to}"),
                )
                .mark(
                    room.walls[wall].place,
                    format!("wall {} is {} long", wall + 1, crate::quantity::Quantity::new(length, Dimension::LENGTH)),
                )
                .advise("both are measured from the wall's first corner, the lesser first"),
            );
            return;
        }
        let own = name(file, word);
        let doors = room.lines.iter().filter(|line| matches!(line.kind, LineKind::Door(_)));
        if self.is_free(Kind::Door, &own, doors.map(|line| &line.name)) {
            let at = |distance: f64| start + along * (distance / length);
            room.lines.push(Line { name: own, kind: LineKind::Door(wall), points: vec![at(from), at(to)], place });
        }
    }

    fn area(&mut self, file: FileId, kind: &AreaExpr, word: &Word, shape: &ShapeExpr, place: Place, room: &mut Room) {
        let own = name(file, word);
        let kind = match kind {
            AreaExpr::Fixture { kind, raised, open } => {
                let said = kind.as_ref().map_or(own.text.as_str(), |word| word.text.as_str());
                let raised = raised.as_ref().and_then(|raised| self.values.positive(file, raised, Dimension::LENGTH));
                AreaKind::Fixture { kind: FixtureKind::of_word(said), raised, open: *open }
            }
            AreaExpr::Drill => AreaKind::Drill,
            AreaExpr::Level(None) => AreaKind::Level { height: None },
            AreaExpr::Level(Some(height)) => {
                let span = height.span;
                let Some(height) = self.values.quantity(file, height, Dimension::LENGTH) else { return };
                if height == 0.0 {
                    self.fault(Finding::reading(
                        ids::PLAN,
                        format!("level `{}` is no other level", own.text),
                        Place { file, span },
                        "at the height of the rest",
                    ));
                    return;
                }
                AreaKind::Level { height: Some(height) }
            }
        };
        let Some(shape) = self.shape(file, shape, place) else { return };
        let like = |area: &&Area| std::mem::discriminant(&area.kind) == std::mem::discriminant(&kind);
        if self.is_free(kind.named(), &own, room.areas.iter().filter(like).map(|area| &area.name)) {
            room.areas.push(Area { name: own, kind, shape, place });
        }
    }

    fn shape(&mut self, file: FileId, shape: &ShapeExpr, place: Place) -> Option<Shape> {
        let mut corners = match shape {
            ShapeExpr::Circle(centre, radius) => {
                let centre = self.values.point(file, centre);
                let radius = self.values.positive(file, radius, Dimension::LENGTH);
                let (centre, radius) = (centre?, radius?);
                let far = Point { x: centre.x.abs() + radius, y: centre.y.abs() + radius };
                return self.values.within_reach(far, place).then_some(Shape::Circle { centre, radius });
            }
            ShapeExpr::Rect(a, b) => {
                let (a, b) = (self.values.point(file, a), self.values.point(file, b));
                let (a, b) = (a?, b?);
                vec![a, Point { x: b.x, y: a.y }, b, Point { x: a.x, y: b.y }]
            }
            ShapeExpr::Polygon(points) => self.values.points(file, points)?,
            ShapeExpr::Strip(points, width) => {
                let points = self.values.points(file, points);
                let width = self.values.positive(file, width, Dimension::LENGTH);
                let (points, width) = (points?, width?);
                if points.len() < 2 || points.windows(2).any(|pair| pair[0] == pair[1]) {
                    self.fault(Finding::reading(
                        ids::PLAN,
                        "a strip needs two points or more, none twice in a row",
                        place,
                        "this one has no direction",
                    ));
                    return None;
                }
                // A mitre reaches without bound as a corner closes on itself.
                let reversal = points.windows(3).any(|corner| {
                    let (before, after) = (corner[1] - corner[0], corner[2] - corner[1]);
                    dot(before, after) < -0.98 * dot(before, before).sqrt() * dot(after, after).sqrt()
                });
                if reversal {
                    self.fault(
                        Finding::reading(
                            ids::PLAN,
                            "a strip can't double back on itself",
                            place,
                            "it turns round at a corner",
                        )
                        .advise("draw it as two, or as a polygon"),
                    );
                    return None;
                }
                strip(&points, width)
            }
        };
        if !corners.iter().all(|corner| self.values.within_reach(*corner, place)) {
            return None;
        }
        if let Err(fault) = check_ring(&corners) {
            let message = match fault {
                RingFault::TooFew => "a polygon needs three corners or more",
                RingFault::TooMany => "this shape has more corners than can be measured",
                RingFault::EmptyEdge(_) | RingFault::NoArea => "this shape has no area",
                RingFault::Crossing(..) => "the edge of this shape crosses itself",
            };
            self.fault(Finding::reading(ids::PLAN, message, place, "check its corners"));
            return None;
        }
        if signed_area(&corners) < 0.0 {
            corners.reverse();
        }
        Some(Shape::Polygon(corners))
    }
}
