//! Dimensions: rows outside the room, walls that no row has, and pitch and clearances where they are least.

use std::collections::BTreeMap;

use super::View;
use super::canvas::{Frame, Item, group, number, straight};
use super::labels::{BARRED, Labels, Spot, Words, around_turned};
use super::lettering::size;
use super::palette as color;
use super::palette::width;
use super::room::{MOST_WALLS, outward};
use super::setting_out::{About, FIRST, Row, STEP, Side, slanting, wall_at};
use crate::geometry::ring::edges;
use crate::geometry::{Bounds, Piece, along, distance};
use crate::measure::gaps::Gap;
use crate::model::Point;

/// Half the length of the strokes at a dimension's ends, mm.
const TICK: f64 = 0.8;
/// How far the lines that lead to a dimension go beyond it, mm.
const BEYOND: f64 = 1.2;
/// Gap between a dimension's line and its words, mm.
const LIFT: f64 = 0.65;
/// Places of things that would lie nearer on paper, where their strokes touch, are left out of their row, mm.
const NEAREST: f64 = 1.2;

/// An oblique stroke at a dimension's end.
fn tick(at: Point, along: Point) -> Item {
    let slant = Point { x: along.x - along.y, y: along.y + along.x } * (TICK * std::f64::consts::FRAC_1_SQRT_2);
    straight(at - slant, at + slant, color::INK, width::MEDIUM)
}

/// The rows of dimensions, and the lengths of walls that none of them has; what in slanting walls there was no room for.
pub(super) fn walls(view: &View<'_>, labels: &mut Labels, bounds: Bounds, rows: &[Row]) -> (Item, Vec<String>) {
    let mut whole = group("wall-lengths");
    let corners = &view.room.corners;
    let on_paper = |edge: Piece| Piece::new(view.sheet.on_paper(edge.start), view.sheet.on_paper(edge.end));
    let outside = |edge: Piece| {
        let out = outward(corners, edge.start, edge.end);
        Point { x: out.x, y: -out.y }
    };
    let few = corners.len() <= MOST_WALLS;
    // What stands in a wall is dimensioned nearer to it than its length.
    let mut chains: BTreeMap<usize, f64> = BTreeMap::new();
    let mut lacking = Vec::new();
    for own in slanting(view).into_iter().filter(|_| few) {
        let chain = Chain { on_paper: on_paper(own.edge), out: outside(own.edge), long: own.edge.length(), from: 0.0 };
        match chain.draw(labels, &own.places) {
            Some((drawn, offset)) => {
                let places: Vec<String> = own.places.iter().map(|place| number(*place, 4)).collect();
                let wall = (own.wall + 1).to_string();
                let drawn = drawn.set("class", "setting-out slanting").set("data-wall", wall);
                whole.push(drawn.set("data-places", places.join(" ")));
                chains.insert(own.wall, offset);
            }
            None => lacking.extend(own.own),
        }
    }
    for (wall, edge) in edges(corners).enumerate().filter(|(_, edge)| few && !is_told(corners, rows, *edge)) {
        let from = chains.get(&wall).copied().unwrap_or(0.0);
        whole.extend(wall_length(labels, on_paper(edge), outside(edge), edge.length(), from));
    }
    let placed = placed(view, bounds, rows);
    let leads: Vec<Item> = placed.iter().map(|own| lead(view, labels, own)).collect();
    // All lines are there before anything is written.
    for (own, leads) in placed.iter().zip(leads) {
        whole.push(draw_row(view, labels, own, leads));
    }
    (whole, lacking)
}

/// What the walls are called, where there is room for it.
pub(super) fn wall_names(view: &View<'_>, labels: &mut Labels) -> Item {
    let mut whole = group("wall-names");
    let corners = &view.room.corners;
    if corners.len() > MOST_WALLS {
        return whole;
    }
    for (index, edge) in edges(corners).enumerate() {
        let out = outward(corners, edge.start, edge.end);
        let out = Point { x: out.x, y: -out.y };
        let on_paper = Piece::new(view.sheet.on_paper(edge.start), view.sheet.on_paper(edge.end));
        whole.extend(wall_name(view, labels, on_paper, out, index));
    }
    whole
}

/// Whether a row has the length of a wall.
fn is_told(corners: &[Point], rows: &[Row], edge: Piece) -> bool {
    let out = outward(corners, edge.start, edge.end);
    rows.iter().filter(|row| row.about >= About::Walls).any(|row| {
        let (a, b) = (row.side.along(edge.start), row.side.along(edge.end));
        let straight_on = row.side.out(out).abs() > 1.0 - 1e-9;
        let near = |x: f64, y: f64| (x - y).abs() < 0.5;
        straight_on && row.places.windows(2).any(|pair| near(pair[0], a.min(b)) && near(pair[1], a.max(b)))
    })
}

/// A row where it stands.
struct Placed<'r> {
    row: &'r Row,
    places: Vec<f64>,
    /// How far out it stands, mm of floor.
    out: f64,
    /// The row between it and the room: how far out it stands, and its places.
    before: Option<(f64, Vec<f64>)>,
}

fn placed<'r>(view: &View<'_>, bounds: Bounds, rows: &'r [Row]) -> Vec<Placed<'r>> {
    let mut placed = Vec::new();
    for side in Side::ALL {
        let mut before: Option<(f64, Vec<f64>)> = None;
        for (rank, row) in rows.iter().filter(|row| row.side == side).enumerate() {
            let out = side.out(bounds.low).max(side.out(bounds.high)) + view.sheet.floor(FIRST + STEP * rank as f64);
            let places = row.thinned(view.sheet.floor(NEAREST));
            placed.push(Placed { row, places: places.clone(), out, before: before.replace((out, places)) });
        }
    }
    placed
}

/// The lines that lead to a row, barred with its own. Each reaches towards what it belongs to where it crosses nothing, from the room or
/// from the same place of the row before.
fn lead(view: &View<'_>, labels: &mut Labels, Placed { row, places, out, before }: &Placed<'_>) -> Item {
    let side = row.side;
    let mm = |paper: f64| view.sheet.floor(paper);
    let at = |place: f64, out: f64| view.sheet.on_paper(side.point(place, out));
    let mut whole = group("leading");
    for place in places {
        let short = (at(*place, out - mm(BEYOND)), at(*place, out + mm(BEYOND)));
        let from = match before {
            Some((inner, others)) => {
                others.iter().any(|other| (other - place).abs() < 0.5).then_some(inner + mm(BEYOND))
            }
            None => wall_at(&view.room.corners, side, *place).map(|wall| wall + mm(width::WALL + 0.8)),
        };
        let long = from.map(|from| (at(*place, from.min(out - mm(BEYOND))), short.1));
        let (a, b) = long.filter(|(a, b)| labels.is_clear(*a, *b)).unwrap_or(short);
        labels.bar_line(a, b, BARRED);
        whole.push(straight(a, b, color::GREY, width::FINE).set("class", "leads"));
    }
    for pair in places.windows(2) {
        labels.bar_line(at(pair[0], *out), at(pair[1], *out), BARRED);
    }
    whole
}

/// A row: what leads to it, its line, and what stands over it.
fn draw_row(view: &View<'_>, labels: &mut Labels, own: &Placed<'_>, leads: Item) -> Item {
    let Placed { row, places, out, .. } = own;
    let side = row.side;
    let class = match row.about {
        About::Things => "setting-out things",
        About::Cables => "setting-out cables",
        About::Walls => "setting-out walls",
        About::Whole => "setting-out overall",
    };
    let mut whole = group(class).set("data-side", format!("{side:?}").to_lowercase()).with(leads);
    let at = |place: f64| view.sheet.on_paper(side.point(place, *out));
    for pair in places.windows(2) {
        let (a, b) = (at(pair[0]), at(pair[1]));
        let mut own = group("dimension").set("data-mm", number(pair[1] - pair[0], 4));
        own.push(straight(a, b, color::GREY, width::FINE));
        let step = if side.flat() { Point { x: 1.0, y: 0.0 } } else { Point { x: 0.0, y: -1.0 } };
        own.push(tick(a, step));
        own.push(tick(b, step));
        whole.push(own.with(row_words(labels, row, (pair[0], pair[1]), (a, b))));
    }
    let ends = places.first().zip(places.last()).map(|(low, high)| (at(*low), at(*high)));
    whole.extend(ends.and_then(|ends| row_name(labels, row, ends)));
    whole
}

/// What stands over a stretch of a row: all that is said of it where that has room, or else its length.
fn row_words(labels: &mut Labels, row: &Row, (from, to): (f64, f64), (a, b): (Point, Point)) -> Item {
    let full = row.words(from, to);
    let plain = number(to - from, 1);
    let reach = distance(a, b);
    let text = if Words::new(&full).extent().0 + 0.8 <= reach { full } else { plain };
    let words = Words::new(&text);
    let spots = over(row.side, (a, b), words.extent());
    let spot = labels.take(spots.iter().copied(), BARRED / 2.0);
    let spot = spot.or_else(|| labels.take_near(along(a, b, 0.5), words.extent(), true, spots.into_iter()));
    spot.map_or_else(|| group("length"), |spot| words.draw(&spot, "length"))
}

/// Spots over a stretch of a row, the nearest first; those that don't stand over it lead to it.
fn over(side: Side, (a, b): (Point, Point), (wide, high): (f64, f64)) -> Vec<Spot> {
    let reach = distance(a, b);
    let flat = side.flat();
    let middle = along(a, b, 0.5);
    // Along the row, and up from it as it is read.
    let place = |shift: f64, lift: f64, turned: bool| {
        let (along, up) = if turned { (high, wide) } else { (wide, high) };
        let centre = if flat {
            Point { x: middle.x + shift, y: middle.y - lift - up / 2.0 }
        } else {
            Point { x: middle.x - lift - up / 2.0, y: middle.y + shift }
        };
        let (wide, high) = if flat { (along, up) } else { (up, along) };
        Frame::new(centre.x - wide / 2.0, centre.y - high / 2.0, wide, high)
    };
    let mut spots = Vec::new();
    let mut add = |frame: Frame, turned: bool, leads: bool, worse: f64| {
        let leader = leads.then_some(middle);
        spots.push(Spot { frame, upright: flat == turned, leader, worse });
    };
    if reach >= wide + 0.6 {
        for share in [0.0, -0.2, 0.2, -0.35, 0.35] {
            let shift: f64 = share * reach;
            if reach / 2.0 - shift.abs() >= wide / 2.0 + 0.3 {
                add(place(shift, LIFT, false), false, false, shift.abs() / reach);
            }
        }
    }
    if reach >= high + 0.7 {
        add(place(0.0, LIFT, true), true, false, 0.8);
    }
    for (lift, worse) in [(LIFT + high + 0.6, 1.0), (LIFT + 2.0 * high + 1.2, 2.0)] {
        for shift in [0.0, -wide / 2.0, wide / 2.0, -wide, wide] {
            add(place(shift, lift, false), false, true, worse + 0.1 * shift.abs());
        }
    }
    spots
}

/// What a row is about, beyond its end where no row of another side begins.
fn row_name(labels: &mut Labels, row: &Row, (low, high): (Point, Point)) -> Option<Item> {
    let words = Words::new(&row.name).colored(color::GREY);
    let (wide, high_) = words.extent();
    let upright = !row.side.flat();
    let (w, h) = if upright { (high_, wide) } else { (wide, high_) };
    let gap = 1.8;
    let centre = match row.side {
        Side::South => Point { x: low.x - gap - w / 2.0, y: low.y },
        Side::North => Point { x: high.x + gap + w / 2.0, y: high.y },
        Side::West => Point { x: high.x, y: high.y - gap - h / 2.0 },
        Side::East => Point { x: low.x, y: low.y + gap + h / 2.0 },
    };
    let frame = Frame::new(centre.x - w / 2.0, centre.y - h / 2.0, w, h);
    let spot = Spot { frame, upright, leader: None, worse: 0.0 };
    labels.take(std::iter::once(spot), BARRED - 1.0).map(|spot| words.draw(&spot, "row-name"))
}

/// How far outside a wall its own dimension line stands, mm of paper; inside where nothing outside is free.
const OFFSETS: [f64; 6] = [7.0, 9.5, 5.0, 12.0, 14.5, 3.2];

/// A wall beside which lengths are dimensioned.
struct Chain {
    on_paper: Piece,
    out: Point,
    /// How long it is, mm.
    long: f64,
    /// How far outside stands what is dimensioned already, mm of paper.
    from: f64,
}

impl Chain {
    /// Lines beside the wall from place to place, mm along it, each with its length along it, and how far outside they stand; nothing where
    /// there is no room.
    fn draw(&self, labels: &mut Labels, places: &[f64]) -> Option<(Item, f64)> {
        let Piece { start: a, end: b } = self.on_paper;
        let (reach, out) = (distance(a, b), self.out);
        if reach <= 0.0 {
            return None;
        }
        // Words are read from left to right, or upward.
        let step = (b - a) / reach;
        let read = if step.x < -1e-9 || (step.x.abs() <= 1e-9 && step.y > 0.0) { step * -1.0 } else { step };
        let up = Point { x: read.y, y: -read.x };
        let stretches: Vec<(f64, Words, (Point, Point))> = places
            .windows(2)
            .map(|pair| {
                let ends = (along(a, b, pair[0] / self.long), along(a, b, pair[1] / self.long));
                (pair[1] - pair[0], Words::new(&number(pair[1] - pair[0], 1)), ends)
            })
            .collect();
        // Where a stretch is too short for its words, these stand beyond the line beside it.
        let lifts: Vec<f64> = stretches
            .iter()
            .map(|(_, words, (from, to))| {
                let (wide, high) = words.extent();
                if wide + 0.6 <= distance(*from, *to) || places.len() == 2 { 0.0 } else { high + 0.6 }
            })
            .collect();
        let lead = if self.from > 0.0 { self.from + BEYOND + 0.3 } else { width::WALL + 0.8 };
        for offset in OFFSETS.into_iter().filter(|offset| self.from <= 0.0 || *offset >= self.from + 4.0) {
            let spots: Vec<(Point, (f64, f64))> = stretches
                .iter()
                .zip(&lifts)
                .map(|((_, words, (from, to)), lift)| {
                    let size = words.extent();
                    (along(*from, *to, 0.5) + out * offset + up * (LIFT + size.1 / 2.0 + lift), size)
                })
                .collect();
            let ends = || stretches.iter().map(|own| own.2.0).chain(stretches.last().map(|own| own.2.1));
            let leads: Vec<(Point, Point)> =
                ends().map(|end| (end + out * lead, end + out * (offset + BEYOND))).collect();
            let lines = leads.iter().copied().chain(std::iter::once((a + out * offset, b + out * offset)));
            let apart = |(index, (centre, size)): (usize, &(Point, (f64, f64)))| {
                spots.iter().skip(index + 1).all(|(other, their)| {
                    let offset = *other - *centre;
                    let (x, y) = (crate::geometry::dot(offset, read).abs(), crate::geometry::dot(offset, up).abs());
                    x >= f64::midpoint(size.0, their.0) + 0.3 || y >= f64::midpoint(size.1, their.1)
                })
            };
            let clear = lines.clone().all(|(a, b)| labels.is_clear(a, b))
                && spots.iter().all(|(centre, size)| labels.is_free_along(*centre, read, *size))
                && spots.iter().enumerate().all(apart);
            if !clear {
                continue;
            }
            lines.for_each(|(a, b)| labels.bar_line(a, b, BARRED));
            spots.iter().for_each(|(centre, size)| labels.bar_along(*centre, read, *size));
            let mut whole = group("wall-length");
            for ((length, words, (from, to)), (centre, _)) in stretches.iter().zip(&spots) {
                let mut own = group("dimension").set("data-mm", number(*length, 4));
                own.push(straight(*from + out * offset, *to + out * offset, color::GREY, width::FINE));
                own.push(tick(*from + out * offset, read));
                own.push(tick(*to + out * offset, read));
                whole.push(own.with(words.draw_along(*centre, read, "length")));
            }
            for (from, to) in &leads {
                whole.push(straight(*from, *to, color::GREY, width::FINE));
            }
            return Some((whole, offset));
        }
        None
    }
}

/// A dimension line beside a wall with its length along it; where there is no room for one, the length alone with a leader to the wall.
fn wall_length(labels: &mut Labels, on_paper: Piece, out: Point, length: f64, from: f64) -> Option<Item> {
    let chain = Chain { on_paper, out, long: length, from };
    if let Some((drawn, _)) = chain.draw(labels, &[0.0, length]) {
        return Some(drawn);
    }
    let words = Words::new(&number(length, 1));
    let mut own = group("dimension").set("data-mm", number(length, 4));
    let spot = labels.take_near(along(on_paper.start, on_paper.end, 0.5), words.extent(), true, std::iter::empty());
    own.extend(spot.map(|spot| words.draw(&spot, "length")));
    Some(own)
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
    let spots = within(view, across).into_iter().chain(beside);
    let spot = labels.take_near(middle, (wide, high), true, spots);
    let mut own = group(across.class).set("data-mm", number(length, 4));
    own.push(straight(from, to, color::INK, width::THIN));
    own.push(tick(from, step));
    own.push(tick(to, step));
    own.extend(spot.map(|spot| words.draw(&spot, "length")));
    labels.bar_line(from, to, BARRED);
    own
}
