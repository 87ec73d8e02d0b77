//! Dimensions: the walls' lengths outside the room; pitch and clearances where they are least.

use super::View;
use super::canvas::{Frame, Item, group, number, straight};
use super::labels::{BARRED, Labels, Spot, Words, around_turned};
use super::lettering::size;
use super::palette as color;
use super::palette::width;
use super::room::outward;
use crate::geometry::ring::edges;
use crate::geometry::{Piece, along, distance};
use crate::measure::gaps::Gap;
use crate::model::Point;

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
pub(super) fn walls(view: &View<'_>, labels: &mut Labels) -> Item {
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
    gap: Gap,
    words: String,
    color: &'static str,
    class: &'static str,
}

/// Each cable's pitch, and the least clearances from walls and fixtures.
pub(super) fn clearances(view: &View<'_>, labels: &mut Labels) -> Item {
    let mut whole = group("clearances");
    let clearance = |gap: Gap| Across { gap, words: String::new(), color: color::INK, class: "clearance" };
    let pitches = view.room.cables.iter().enumerate().filter_map(|(index, cable)| {
        let own = if view.room.cables.len() > 1 { format!("spacing {} ", cable.name.text) } else { "spacing ".into() };
        let gap = view.measure.least_pitch(index)?;
        Some(Across { gap, words: own, color: color::CABLE, class: "pitch" })
    });
    let mut found: Vec<Vec<Across>> = pitches.map(|pitch| vec![pitch]).collect();
    found.push(view.measure.least_to_wall().into_iter().map(clearance).collect());
    found.extend(view.measure.least_to_fixture().map(|gap| vec![clearance(gap)]));
    for alike in &found {
        // Of several places that have the least, the first whose words cover nothing.
        let clear = alike.iter().find(|across| {
            let (from, to) = (view.sheet.on_paper(across.gap.from), view.sheet.on_paper(across.gap.to));
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
        format!("{}{}", self.words, number(self.gap.width(), 1))
    }
}

/// The spots in the gap itself, beside the dimension line.
fn within(view: &View<'_>, across: &Across) -> [Spot; 2] {
    let (from, to) = (view.sheet.on_paper(across.gap.from), view.sheet.on_paper(across.gap.to));
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
    let (from, to) = (view.sheet.on_paper(across.gap.from), view.sheet.on_paper(across.gap.to));
    let length = across.gap.width();
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
