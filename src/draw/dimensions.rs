//! Dimensions: the walls' lengths outside the room; pitch and clearances where they are least.

use super::View;
use super::canvas::{Frame, Item, group, number, straight};
use super::labels::{BARRED, Labels, Spot, Words, around_turned};
use super::lettering::size;
use super::palette as color;
use super::palette::width;
use super::room::outward;
use crate::geometry::ring::edges;
use crate::geometry::{Piece, along, cross, distance, dot};
use crate::measure::TOUCH;
use crate::model::{AreaKind, Point, Run, Shape};

/// How far outside the outline the walls' dimension lines stand, mm of paper.
const OFFSETS: [f64; 3] = [9.0, 13.5, 6.0];
/// Where along a dimension line its words are tried.
const SHARES: [f64; 5] = [0.5, 0.35, 0.65, 0.2, 0.8];
/// Half the length of the strokes at a dimension's ends, mm.
const TICK: f64 = 0.8;

/// An oblique stroke at a dimension's end.
fn tick(at: Point, along: Point) -> Item {
    let slant = Point { x: along.x - along.y, y: along.y + along.x } * (TICK * std::f64::consts::FRAC_1_SQRT_2);
    straight(at - slant, at + slant, color::INK, width::MEDIUM)
}

/// The walls' lengths and what the walls are called.
pub fn walls(view: &View<'_>, labels: &mut Labels) -> Item {
    let mut whole = group("wall-lengths");
    let corners = &view.room.corners;
    for (index, edge) in edges(corners).enumerate() {
        let out = outward(corners, edge.start, edge.end);
        let out = Point { x: out.x, y: -out.y };
        let on_paper = Piece::new(view.sheet.on_paper(edge.start), view.sheet.on_paper(edge.end));
        whole.extend(wall_length(labels, on_paper, out, edge.length()));
        whole.extend(wall_name(view, labels, on_paper, out, index));
    }
    whole
}

/// A dimension line beside a wall with its length over it; nothing where there is no room for one.
fn wall_length(labels: &mut Labels, Piece { start: a, end: b }: Piece, out: Point, length: f64) -> Option<Item> {
    let words = Words::new(&number(length, 1));
    let reach = distance(a, b);
    let step = (b - a) / reach;
    let (wide, high) = words.extent();
    let upright = step.y.abs() > step.x.abs();
    let (wide, high) = if upright { (high, wide) } else { (wide, high) };
    if reach < 2.0 {
        return None;
    }
    // The words stand over the line as it is read: above it, or left of it where it is upright.
    let over = if upright { Point { x: -1.0, y: 0.0 } } else { Point { x: 0.0, y: -1.0 } };
    let straight_on = step.x.abs() < 1e-9 || step.y.abs() < 1e-9;
    let spots = OFFSETS.into_iter().enumerate().flat_map(|(rank, offset)| {
        SHARES.into_iter().map(move |share| {
            let middle = along(a, b, share) + out * offset;
            let clear = if straight_on { 0.8 } else { 1.4 };
            let lift = wide * over.x.abs() / 2.0 + high * over.y.abs() / 2.0 + clear;
            let centre = middle + over * lift;
            let frame = Frame::new(centre.x - wide / 2.0, centre.y - high / 2.0, wide, high);
            (offset, Spot { frame, upright, leader: None, worse: rank as f64 + (share - 0.5).abs() })
        })
    });
    let spots: Vec<(f64, Spot)> = spots.collect();
    let spot = labels.take(spots.iter().map(|(_, spot)| *spot), BARRED - 1.0)?;
    let offset = spots.iter().find(|(_, tried)| tried.frame == spot.frame).map_or(OFFSETS[0], |(offset, _)| *offset);
    let (from, to) = (a + out * offset, b + out * offset);
    labels.bar_line(from, to, BARRED);
    let mut own = group("dimension").set("data-mm", number(length, 4));
    own.push(straight(from, to, color::GREY, width::FINE));
    for (corner, end) in [(a, from), (b, to)] {
        own.push(straight(corner + out * (width::WALL + 0.8), end + out * 1.2, color::GREY, width::FINE));
        own.push(tick(end, step));
    }
    Some(own.with(words.draw(&spot, "length")))
}

/// A wall's number and name beside it.
fn wall_name(
    view: &View<'_>,
    labels: &mut Labels,
    Piece { start: a, end: b }: Piece,
    out: Point,
    index: usize,
) -> Option<Item> {
    let title = view.room.walls.get(index).and_then(|wall| wall.title.as_deref());
    let full = title.map(|title| format!("{} {title}", index + 1));
    let texts = full.into_iter().chain([(index + 1).to_string()]);
    let upright = (b - a).y.abs() > (b - a).x.abs();
    texts.into_iter().find_map(|text| {
        let words = Words::sized(&text, size::SMALL).colored(color::GREY);
        let (wide, high) = words.extent();
        let (wide, high) = if upright { (high, wide) } else { (wide, high) };
        let spots = [0.5, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9].into_iter().flat_map(move |share| {
            [3.9, 5.2].into_iter().map(move |far| {
                let centre = along(a, b, share) + out * far;
                let frame = Frame::new(centre.x - wide / 2.0, centre.y - high / 2.0, wide, high);
                Spot { frame, upright, leader: None, worse: (share - 0.5).abs() + 0.1 * (far - 3.9) }
            })
        });
        labels.take(spots, BARRED - 1.0).map(|spot| words.draw(&spot, "wall-name"))
    })
}

/// A length taken straight across between two things.
struct Across {
    from: Point,
    to: Point,
    words: String,
    color: &'static str,
    class: &'static str,
}

/// Each cable's pitch, and the least clearances from walls and fixtures.
pub fn clearances(view: &View<'_>, labels: &mut Labels) -> Item {
    let mut whole = group("clearances");
    let pitches = view.room.cables.iter().enumerate().filter_map(|(index, _)| least_pitch(view, index));
    let mut found: Vec<Vec<Across>> = pitches.map(|pitch| vec![pitch]).collect();
    found.push(least_to_wall(view));
    found.extend(least_to_fixture(view).map(|clearance| vec![clearance]));
    for alike in &found {
        // Of several places that have the least, the first whose words cover nothing.
        let clear = alike.iter().find(|across| {
            let (from, to) = (view.sheet.on_paper(across.from), view.sheet.on_paper(across.to));
            // Nothing but its two ends lies on the dimension line.
            let inner = Frame::around(along(from, to, 0.3), along(from, to, 0.7));
            labels.cost(&inner) < BARRED && within(view, across).iter().any(|spot| labels.cost(&spot.frame) < BARRED)
        });
        whole.extend(clear.or(alike.first()).map(|across| draw_across(view, labels, across)));
    }
    whole
}

impl Across {
    fn text(&self) -> String {
        format!("{}{}", self.words, number(distance(self.from, self.to), 1))
    }
}

/// The spots in the gap itself, beside the dimension line.
fn within(view: &View<'_>, across: &Across) -> [Spot; 2] {
    let (from, to) = (view.sheet.on_paper(across.from), view.sheet.on_paper(across.to));
    let (wide, high) = Words::sized(&across.text(), size::SMALL).extent();
    let flat = (to - from).y.abs() >= (to - from).x.abs();
    let (wide, high) = if flat { (wide, high) } else { (high, wide) };
    [1.0, -1.0].map(|hand: f64| {
        let side = if flat { Point { x: hand, y: 0.0 } } else { Point { x: 0.0, y: -hand } };
        let off = if flat { wide } else { high } / 2.0 + 0.9;
        let centre = along(from, to, 0.5) + side * off;
        let frame = Frame::new(centre.x - wide / 2.0, centre.y - high / 2.0, wide, high);
        Spot { frame, upright: !flat, leader: None, worse: if hand < 0.0 { 0.1 } else { 0.0 } }
    })
}

fn draw_across(view: &View<'_>, labels: &mut Labels, across: &Across) -> Item {
    let (from, to) = (view.sheet.on_paper(across.from), view.sheet.on_paper(across.to));
    let length = distance(across.from, across.to);
    let step = (to - from) / distance(from, to).max(f64::MIN_POSITIVE);
    let words = Words::sized(&across.text(), size::SMALL).colored(across.color);
    let (wide, high) = words.extent();
    let middle = along(from, to, 0.5);
    let beside =
        around_turned(middle, wide, high).map(|spot| Spot { worse: spot.worse + 0.5, leader: Some(middle), ..spot });
    let spot = labels.take(within(view, across).into_iter().chain(beside), f64::INFINITY);
    let mut own = group(across.class).set("data-mm", number(length, 4));
    own.push(straight(from, to, color::INK, width::THIN));
    own.push(tick(from, step));
    own.push(tick(to, step));
    own.extend(spot.map(|spot| words.draw(&spot, "length")));
    labels.bar_line(from, to, BARRED);
    own
}

/// The most of a cable's runs that are asked for their least gap.
const MOST_ASKED: usize = 20_000;
/// The most neighbours that are looked at for a least distance: a bound on what a plan made to be slow can cost.
const MOST_VISITS: usize = 1_000_000;

/// The least gap between parallel runs of a cable that lie side by side, at the middle of the longest stretch that has it.
fn least_pitch(view: &View<'_>, cable: usize) -> Option<Across> {
    let pitch = view.measure.pitch(cable)?;
    let runs = &view.room.cables[cable].runs;
    let number = u32::try_from(cable).ok()?;
    let index = view.measure.index();
    let mut best: Option<(f64, f64, Point, Point)> = None;
    let mut visits = 0;
    let every = runs.len() / MOST_ASKED + 1;
    for (own, run) in runs.iter().enumerate().step_by(every) {
        if visits > MOST_VISITS {
            break;
        }
        // In their own order, so that of places alike the same one is shown whatever the index's order.
        let mut others: Vec<_> = index.near(run.piece().bounds(), 1.5 * pitch).take(MOST_VISITS).collect();
        others.sort_unstable();
        for other in others {
            visits += 1;
            if other.cable != number || (other.run as usize) < own + 2 {
                continue;
            }
            let Some((gap, stretch, from, to)) = side_by_side(run, index.run(other)) else { continue };
            // A pitch is what runs of some length keep between them.
            if stretch < 2.0 * pitch {
                continue;
            }
            let better = best.is_none_or(|(least, longest, ..)| {
                gap < least - 0.05 || ((gap - least).abs() <= 0.05 && stretch > longest + TOUCH)
            });
            if better {
                best = Some((gap, stretch, from, to));
            }
        }
    }
    let (_, _, from, to) = best?;
    let words = if view.room.cables.len() > 1 {
        format!("pitch {} ", view.room.cables[cable].name.text)
    } else {
        "pitch ".into()
    };
    Some(Across { from, to, words, color: color::CABLE, class: "pitch" })
}

/// For two parallel runs: their gap, how long they lie side by side, and a line straight across a third of the way along that.
fn side_by_side(a: &Run, b: &Run) -> Option<(f64, f64, Point, Point)> {
    let length = a.length();
    let step = (a.end - a.start) / length;
    if cross(step, b.end - b.start).abs() > 1e-6 * b.length() {
        return None;
    }
    let (one, two) = (dot(b.start - a.start, step), dot(b.end - a.start, step));
    let (from, to) = (one.min(two).max(0.0), one.max(two).min(length));
    let gap = Piece::new(a.start - step * 1e7, a.end + step * 1e7).distance(b.start);
    if to <= from || gap <= TOUCH {
        return None;
    }
    let foot = a.start + step * (from + (to - from) * 0.62);
    let side = if cross(step, b.start - a.start) > 0.0 { 1.0 } else { -1.0 };
    let across = Point { x: -step.y, y: step.x } * (side * gap);
    Some((gap, to - from, foot, foot + across))
}

/// The most places that are compared for where a least distance is shown best.
const MOST_ALIKE: usize = 64;

/// The least distance from a cable inside the room to a wall, in each place that has it.
fn least_to_wall(view: &View<'_>) -> Vec<Across> {
    if view.room.corners.is_empty() {
        return Vec::new();
    }
    let inside = view.measure.index().runs().filter_map(|(id, run)| {
        let near = view.measure.wall_distance(id);
        (near.distance > TOUCH && near.outside <= TOUCH).then_some((near, run))
    });
    let inside: Vec<_> = inside.collect();
    let least = inside.iter().map(|(near, _)| near.distance).fold(f64::INFINITY, f64::min);
    let alike = inside.into_iter().filter(|(near, _)| near.distance <= least + TOUCH).take(MOST_ALIKE);
    alike
        .filter_map(|(near, run)| {
            let wall = edges(&view.room.corners).nth(near.wall as usize)?;
            let (from, to) = nearest_points(run.piece(), wall);
            Some(Across { from, to, words: String::new(), color: color::INK, class: "clearance" })
        })
        .collect()
}

/// How far from a fixture cable is looked for, mm.
const FARTHEST: f64 = 1000.0;

/// The least distance from a cable outside a fixture that stands on the floor to that fixture.
fn least_to_fixture(view: &View<'_>) -> Option<Across> {
    // The gap, the length of the run that has it, and the points between which it lies.
    let mut best: Option<(f64, f64, Point, Point)> = None;
    let mut visits = 0;
    let fixtures = view.room.areas.iter().zip(view.measure.zones());
    for (area, zone) in fixtures.filter(|(area, _)| matches!(area.kind, AreaKind::Fixture { raised: None, .. })) {
        let reach = best.map_or(FARTHEST, |(least, ..)| least + TOUCH);
        let index = view.measure.index();
        let mut near: Vec<_> =
            index.near(area.shape.bounds(), reach).take(MOST_VISITS.saturating_sub(visits)).collect();
        near.sort_unstable();
        visits += near.len();
        for id in near {
            let run = index.run(id);
            let gap = zone.distance(run.piece());
            // Of places alike the one on the longest run, where a dimension shows best.
            let better = best.is_none_or(|(least, long, ..)| {
                gap < least - TOUCH || (gap < least + TOUCH && run.length() > long + TOUCH)
            });
            if gap <= TOUCH || !better {
                continue;
            }
            let (from, to) = match &area.shape {
                Shape::Polygon(corners) => {
                    let pairs = edges(corners).map(|edge| nearest_points(run.piece(), edge));
                    let least = pairs.min_by(|a, b| distance(a.0, a.1).total_cmp(&distance(b.0, b.1)));
                    let Some(least) = least else { continue };
                    least
                }
                Shape::Circle { centre, radius } => {
                    let (on_run, _) = nearest_points(run.piece(), Piece::at(*centre));
                    (on_run, along(*centre, on_run, radius / distance(*centre, on_run)))
                }
            };
            best = Some((gap, run.length(), from, to));
        }
    }
    best.map(|(_, _, from, to)| Across { from, to, words: String::new(), color: color::INK, class: "clearance" })
}

/// The points at which two pieces come nearest; of parallel ones, in the middle of what they have side by side.
fn nearest_points(a: Piece, b: Piece) -> (Point, Point) {
    let step = a.step();
    let square = dot(step, step);
    if square > 0.0 && b.start != b.end && cross(step, b.step()).abs() <= 1e-9 * square {
        let (one, two) = (dot(b.start - a.start, step) / square, dot(b.end - a.start, step) / square);
        let (from, to) = (one.min(two).max(0.0), one.max(two).min(1.0));
        if to > from {
            let on_a = a.along(from + (to - from) * 0.38);
            return (on_a, b.along(b.nearest_share(on_a)));
        }
    }
    let near = a.approach(b);
    (a.along(near.first), b.along(near.second))
}
