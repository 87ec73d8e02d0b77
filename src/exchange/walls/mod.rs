//! Rooms between walls that are drawn as two lines each, cut at doors and windows, as floor plans mostly have them.
//!
//! `pairs` tells which lines are the two faces of a wall, `gaps` closes them where doors and windows part them, and `arrangement` finds
//! the regions that all of these enclose. Of those, rooms are what is neither wall itself nor runs round others.

mod arrangement;
mod gaps;
mod pairs;

use std::collections::BTreeSet;

use super::chains::straightened;
use super::sorts::Sort;
use super::{Form, Item, Unreadable};
use crate::geometry::index::Index;
use crate::geometry::ring::{edges, signed_area};
use crate::geometry::{Bounds, Piece, Point, cross, distance};
use crate::model::shape::check_ring;
use arrangement::{Part, Region, regions};
use gaps::{Bridge, Fills, bridges};
use pairs::{Partner, partners, wall_at};

/// Faces of walls that are left open by less at a corner are closed, mm.
pub const CLOSES: f64 = 5.0;
/// The most lines that walls are looked for among.
const MOST_LINES: usize = 200_000;
/// The most looks at what lies near a line.
const MOST_LOOKS: usize = 6_000_000;
/// The most regions as large as a room, and the most walls' ends that are told.
const MOST_ROOMS: usize = 2_000;
const MOST_ENDS: usize = 5;
/// The longest line that closes a wall's end or steps it back, where no layer says that it is a wall's, mm.
const LONGEST_STEP: f64 = 500.0;
/// The sine of the angle between two lines below which their ends are linked rather than led on to where they cross: 30°.
const LINKED: f64 = 0.5;

/// A line that may be a wall's face.
struct Face {
    piece: Piece,
    /// The item that it is of.
    item: usize,
}

/// An opening of a room that no window is drawn in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doorway {
    /// Where it is, on the room's outline.
    pub piece: Piece,
    /// Whether a door is drawn in it.
    pub drawn: bool,
}

/// A room between walls.
pub(super) struct Enclosed {
    pub(super) outline: Vec<Point>,
    pub(super) doors: Vec<Doorway>,
    /// The items that its walls are drawn by, the largest part of its edge first.
    pub(super) items: Vec<usize>,
}

/// What was found between walls.
#[derive(Default)]
pub(super) struct Found {
    pub(super) rooms: Vec<Enclosed>,
    /// Where walls end without meeting anything, some of the places.
    pub(super) open: Vec<Point>,
}

/// How many looks are left.
struct Budget(usize);

impl Budget {
    fn take(&mut self) -> Result<(), Unreadable> {
        self.0 = self.0.checked_sub(1).ok_or_else(too_many)?;
        Ok(())
    }
}

fn too_many() -> Unreadable {
    Unreadable::new(
        "it draws too many lines near one another for walls to be told among them",
        "save the layers with the walls, doors and windows to a file by themselves",
    )
}

/// What a region may be a room by: its area, mm2, and how wide it is on the whole, mm.
pub(super) struct Size {
    pub(super) area: std::ops::RangeInclusive<f64>,
    pub(super) narrowest: f64,
}

/// The rooms between walls. `may_be_wall` tells whose lines are looked at; where they are `known` to be walls', one that has no other beside it
/// counts too.
///
/// # Errors
/// Where more is drawn than is looked at.
pub(super) fn find(
    items: &[Item],
    may_be_wall: impl Fn(&Item) -> bool,
    known: bool,
    size: &Size,
) -> Result<Found, Unreadable> {
    let mut budget = Budget(MOST_LOOKS);
    let faces = faces(items, may_be_wall, known, &mut budget)?;
    let index = Index::new(faces.iter().map(|face| face.piece).collect::<Vec<_>>().into_iter());
    let partners = partners(&faces, &index, &mut budget)?;
    if partners.iter().all(Vec::is_empty) {
        return Ok(Found::default());
    }
    let used = if known { vec![true; faces.len()] } else { walls_of(&faces, &index, &partners, &mut budget)? };
    let bridges = bridges(items, &faces, &used, &index, &partners, &mut budget)?;
    let own: Vec<usize> = (0..faces.len()).filter(|face| used[*face]).collect();
    // Of what lies on one another the first counts, and a bridge knows more than a line drawn across the opening. It ends where faces do, but
    // for rounding.
    let mut parts: Vec<Part> = bridges.iter().map(|bridge| Part { piece: bridge.piece, reach: 0.01 }).collect();
    parts.extend(own.iter().map(|face| Part { piece: faces[*face].piece, reach: CLOSES }));
    parts.extend(links(&faces, &own, &mut budget)?);
    let found = regions(&parts, *size.area.start(), &mut budget)?;
    if found.len() > 4 * MOST_ROOMS {
        return Err(too_many());
    }
    let walls = Walls { faces: &faces, partners: &partners, bridges: &bridges, own: &own, known };
    let rooms: Vec<Region> = found.into_iter().filter(|region| walls.is_room(region, size)).collect();
    // What runs round rooms is the floor round a house, and no outline by itself.
    let places: Vec<(Point, f64)> =
        rooms.iter().filter_map(|room| Some((*room.outline.corners().first()?, area(room)))).collect();
    let runs_round = |room: &Region| {
        room.holes.iter().any(|(_, large, _)| large >= size.area.start())
            && places.iter().any(|(at, large)| {
                *large < area(room) && room.outline.bounds().meets(&Bounds::at(*at)) && room.outline.contains(*at)
            })
    };
    let rooms = rooms.iter().filter(|room| !runs_round(room)).take(MOST_ROOMS).filter_map(|room| walls.enclosed(room));
    Ok(Found { rooms: rooms.collect(), open: walls.open(&parts) })
}

fn area(region: &Region) -> f64 {
    signed_area(region.outline.corners())
}

/// The straight pieces that something is drawn by.
fn pieces(form: &Form) -> Vec<Piece> {
    let drawn: Vec<Piece> = match form {
        Form::Ring(corners) => edges(corners).collect(),
        Form::Line(points) => Piece::of_line(points).collect(),
        Form::Circle { .. } | Form::Symbol(_) => Vec::new(),
    };
    drawn.into_iter().filter(|piece| piece.length() > 0.1).collect()
}

/// The lines that walls are looked for among.
fn faces(
    items: &[Item],
    may_be_wall: impl Fn(&Item) -> bool,
    known: bool,
    budget: &mut Budget,
) -> Result<Vec<Face>, Unreadable> {
    let mut faces = Vec::new();
    for (item, drawn) in items.iter().enumerate().filter(|(_, item)| item.tag.is_none() && may_be_wall(item)) {
        faces.extend(pieces(&drawn.form).into_iter().map(|piece| Face { piece, item }));
        if faces.len() > MOST_LINES {
            return Err(too_many());
        }
    }
    if known {
        return Ok(faces);
    }
    // Furniture stands along walls with one of its edges on their faces.
    let index = Index::new(faces.iter().map(|face| face.piece).collect::<Vec<_>>().into_iter());
    let ring = |item: usize| if let Form::Ring(corners) = &items[item].form { Some(corners) } else { None };
    let areas: Vec<f64> =
        (0..items.len()).map(|item| ring(item).map_or(0.0, |corners| signed_area(corners).abs())).collect();
    let mut beside: BTreeSet<usize> = BTreeSet::new();
    for face in &faces {
        let Some(corners) = ring(face.item).filter(|_| !beside.contains(&face.item)) else { continue };
        let shortest = edges(corners).map(|edge| edge.length()).fold(f64::INFINITY, f64::min);
        let around: f64 = edges(corners).map(|edge| edge.length()).sum();
        let narrow = 2.0 * areas[face.item] / around < 330.0;
        let long = face.piece.length();
        if long < 50.0 || (narrow && long <= 1.05 * shortest) {
            continue;
        }
        for other in index.near(face.piece.bounds().widened(CLOSES)) {
            budget.take()?;
            let Face { piece, item } = &faces[other];
            let larger = ring(*item).is_none() || areas[*item] > areas[face.item];
            if *item != face.item && larger && shared(face.piece, *piece) >= (0.5 * long).max(50.0) {
                beside.insert(face.item);
                break;
            }
        }
    }
    faces.retain(|face| !beside.contains(&face.item));
    Ok(faces)
}

/// How much of a piece lies on another, mm.
fn shared(piece: Piece, other: Piece) -> f64 {
    let (long, step) = (piece.length(), piece.step() / piece.length());
    let off = [other.start, other.end].map(|end| cross(step, end - piece.start).abs());
    if off[0].max(off[1]) > CLOSES {
        return 0.0;
    }
    let ends = [other.start, other.end].map(|end| crate::geometry::dot(end - piece.start, step));
    ends[0].max(ends[1]).min(long) - ends[0].min(ends[1]).max(0.0)
}

/// Which lines are walls' where no layer says so: those with another across the wall, and short ones that close their ends.
fn walls_of(
    faces: &[Face],
    index: &Index,
    partners: &[Vec<Partner>],
    budget: &mut Budget,
) -> Result<Vec<bool>, Unreadable> {
    let mut used: Vec<bool> = partners.iter().map(|own| !own.is_empty()).collect();
    for (place, face) in faces.iter().enumerate() {
        if used[place] || face.piece.length() > LONGEST_STEP {
            continue;
        }
        let mut meets = [false; 2];
        for (end, meets) in [face.piece.start, face.piece.end].into_iter().zip(&mut meets) {
            for other in index.near(Bounds::at(end).widened(CLOSES)) {
                budget.take()?;
                *meets |= !partners[other].is_empty() && faces[other].piece.distance(end) <= CLOSES;
            }
        }
        used[place] = meets == [true, true];
    }
    Ok(used)
}

/// What links ends of lines that go on alike, a little aside.
fn links(faces: &[Face], own: &[usize], budget: &mut Budget) -> Result<Vec<Part>, Unreadable> {
    let ends: Vec<(Point, usize)> =
        own.iter().flat_map(|face| [(faces[*face].piece.start, *face), (faces[*face].piece.end, *face)]).collect();
    let index = Index::new(ends.iter().map(|(at, _)| Piece::at(*at)));
    let mut found = Vec::new();
    for (first, (at, face)) in ends.iter().enumerate() {
        let piece = faces[*face].piece;
        for second in index.near_from(first + 1, Bounds::at(*at).widened(CLOSES)) {
            budget.take()?;
            let (to, other) = ends[second];
            let other = faces[other].piece;
            let along = cross(piece.step(), other.step()).abs() <= LINKED * piece.length() * other.length();
            if along && (1e-3..=CLOSES).contains(&distance(*at, to)) {
                found.push(Part { piece: Piece::new(*at, to), reach: 0.0 });
            }
        }
    }
    Ok(found)
}

/// What regions are judged by.
struct Walls<'w> {
    faces: &'w [Face],
    partners: &'w [Vec<Partner>],
    bridges: &'w [Bridge],
    /// The faces that take part, after the bridges.
    own: &'w [usize],
    known: bool,
}

/// What a part is.
enum What {
    Bridge(usize),
    Face(usize),
    Link,
}

impl Walls<'_> {
    fn what(&self, part: usize) -> What {
        match part.checked_sub(self.bridges.len()) {
            None => What::Bridge(part),
            Some(place) => self.own.get(place).map_or(What::Link, |face| What::Face(*face)),
        }
    }

    fn is_room(&self, region: &Region, size: &Size) -> bool {
        let around: f64 = region.edge.iter().map(|stretch| stretch.piece.length()).sum();
        let (mut inside, mut outside) = (0.0, 0.0);
        for stretch in &region.edge {
            let long = stretch.piece.length();
            match self.what(stretch.part) {
                What::Bridge(_) => outside += long,
                What::Link => {}
                What::Face(face) => {
                    let piece = self.faces[face].piece;
                    let onward = crate::geometry::dot(piece.step(), stretch.piece.step()) > 0.0;
                    match wall_at(piece, &self.partners[face], stretch.piece.along(0.5)) {
                        // The region lies to the left of its edge.
                        Some(left) if left == onward => inside += long,
                        Some(_) => outside += long,
                        None => {}
                    }
                }
            }
        }
        let (holes, edges) =
            region.holes.iter().fold((0.0, around), |(area, around), (_, own, edge)| (area + own, around + edge));
        let free = area(region) - holes;
        size.area.contains(&free)
            && 2.0 * free / edges.max(1.0) >= size.narrowest
            && inside < 0.5 * around
            && (self.known || outside >= 0.5 * around)
    }

    /// A region as a room; nothing where its outline touches itself.
    fn enclosed(&self, region: &Region) -> Option<Enclosed> {
        let mut outline = straightened(region.outline.corners());
        check_ring(&outline).ok()?;
        // Walls are numbered from the corner to the south-west.
        let sums = outline.iter().enumerate().map(|(place, at)| (place, at.x + at.y));
        let first = sums.min_by(|a, b| a.1.total_cmp(&b.1)).map_or(0, |(place, _)| place);
        outline.rotate_left(first);
        let mut doors: Vec<Doorway> = Vec::new();
        let mut lengths: Vec<(usize, f64)> = Vec::new();
        let mut across: BTreeSet<usize> = BTreeSet::new();
        for stretch in &region.edge {
            match self.what(stretch.part) {
                What::Bridge(bridge) => {
                    let Bridge { fills, .. } = self.bridges[bridge];
                    // What meets the wall from behind cuts an opening in two.
                    match doors.last_mut().filter(|last| last.piece.end == stretch.piece.start) {
                        Some(last) if fills != Fills::Window => last.piece.end = stretch.piece.end,
                        _ if fills != Fills::Window => {
                            doors.push(Doorway { piece: stretch.piece, drawn: fills == Fills::Door });
                        }
                        _ => {}
                    }
                }
                What::Face(face) => {
                    lengths.push((self.faces[face].item, stretch.piece.length()));
                    across.extend(self.partners[face].iter().map(|partner| self.faces[partner.other].item));
                }
                What::Link => {}
            }
        }
        // The loop may begin within an opening.
        if let [first, .., last] = &mut doors[..]
            && last.piece.end == first.piece.start
        {
            first.piece.start = last.piece.start;
            doors.pop();
        }
        lengths.sort_by(|a, b| b.1.total_cmp(&a.1));
        let mut items: Vec<usize> = Vec::new();
        let mut taken: BTreeSet<usize> = BTreeSet::new();
        items.extend(lengths.iter().map(|(item, _)| *item).chain(across).filter(|item| taken.insert(*item)));
        Some(Enclosed { outline, doors, items })
    }

    /// Where faces of walls end without meeting anything.
    fn open(&self, parts: &[Part]) -> Vec<Point> {
        let index = Index::new(parts.iter().map(|part| part.piece).collect::<Vec<_>>().into_iter());
        let mut found = Vec::new();
        for (part, face) in (self.bridges.len()..).zip(self.own) {
            if self.partners[*face].is_empty() {
                continue;
            }
            for end in [self.faces[*face].piece.start, self.faces[*face].piece.end] {
                let mut near = index.near(Bounds::at(end).widened(2.0 * CLOSES));
                if !near.any(|other| other != part && parts[other].piece.distance(end) <= 2.0 * CLOSES) {
                    found.push(end);
                }
                if found.len() >= MOST_ENDS {
                    return found;
                }
            }
        }
        found
    }
}

/// Whether something may be a wall by its layer.
pub(super) fn is_wall(item: &Item) -> bool {
    item.sort == Sort::Wall
}
