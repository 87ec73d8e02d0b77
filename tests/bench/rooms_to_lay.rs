//! Rooms as they vary whose cables are yet to be laid: rectangles, L, T and U, bays, slanting walls, hexagons, of 1 to 60 m2; fixtures, doors,
//! drill zones, pipes, joints. Each is told by its number alone. Kits are invented, and chosen by the spacing that they come to on the free
//! floor.

use std::fmt::Write as _;

use layrule::geometry::ring::{edges, signed_area};
use layrule::geometry::{Piece, Point, Ring};
use layrule::measure::areas::Margins;
use layrule::measure::plan::Measured;
use layrule::model::load::Library;
use layrule::model::resolve::resolve;
use layrule::source::Memory;

use super::varied::Numbers;

/// What kits are made: their lengths, m, at 10 W/m for adhesive and at 18 W/m for screed.
const THIN: [f64; 14] = [8.0, 11.0, 13.0, 17.0, 21.0, 26.0, 30.0, 36.0, 42.0, 56.0, 70.0, 85.0, 100.0, 120.0];
const THICK: [f64; 8] = [20.0, 30.0, 42.0, 60.0, 80.0, 100.0, 130.0, 170.0];

/// The margins of the free floor that kits are chosen by, mm.
const MARGINS: Margins = Margins { clearance: 50.0, free_height: 60.0 };

/// A generated room.
pub(crate) struct ToLay {
    /// The plan, its cables named with their kits alone.
    pub(crate) text: String,
    /// What shape the room has.
    pub(crate) shape: &'static str,
}

/// A room of a number.
pub(crate) fn room(number: u64) -> ToLay {
    let mut numbers = Numbers(number.wrapping_mul(0x2545_f491_4f6c_dd1d) ^ 0x9e37);
    loop {
        if let Some(room) = attempt(&mut numbers) {
            return room;
        }
    }
}

/// What reads a plan by itself.
pub(crate) fn read(text: &str) -> Measured {
    let files = Memory::default();
    let library = Library::new(&files, "", "");
    Measured::new(resolve(library.load_text("room.lay".as_ref(), "room.lay", text.to_string())))
}

/// A room while things are put in it.
struct Draft {
    shape: &'static str,
    corners: Vec<Point>,
    ring: Ring,
    walls: Vec<Piece>,
    /// m2.
    area: f64,
    /// Stretches of walls that are taken: the wall, from, to.
    taken: Vec<(usize, f64, f64)>,
    /// Boxes of floor that are taken, by two corners.
    blocked: Vec<(Point, Point)>,
    /// Points that stay free: the box, the thermostat, and before the door.
    kept: Vec<Point>,
    body: String,
}

fn attempt(numbers: &mut Numbers) -> Option<ToLay> {
    let (shape, corners) = outline(numbers);
    let mut draft = Draft {
        shape,
        ring: Ring::new(&corners),
        walls: edges(&corners).collect(),
        area: signed_area(&corners) / 1e6,
        corners,
        taken: Vec::new(),
        blocked: Vec::new(),
        kept: Vec::new(),
        body: String::new(),
    };
    // The box and the thermostat first, since a plan is drawn round them.
    let (junction, thermostat) = draft.devices(numbers)?;
    draft.door(numbers)?;
    let joined = draft.joint(numbers);
    draft.fixtures(numbers);
    draft.inner(numbers, joined);
    draft.pipe(numbers);
    draft.finished(numbers, junction, thermostat, joined)
}

/// Whether two boxes of floor lie so far apart, mm.
fn apart((low, top): (Point, Point), (other_low, other_top): (Point, Point), room: f64) -> bool {
    low.x >= other_top.x + room
        || top.x <= other_low.x - room
        || low.y >= other_top.y + room
        || top.y <= other_low.y - room
}

impl Draft {
    /// A free stretch of a wall; of one along an axis where that is asked for.
    fn place(&mut self, numbers: &mut Numbers, wide: f64, axis: bool) -> Option<(usize, f64)> {
        for _ in 0..12 {
            let wall = numbers.below(self.walls.len() as u64) as usize;
            let (length, step) = (self.walls[wall].length(), self.walls[wall].step());
            if length < wide + 60.0 || (axis && step.x != 0.0 && step.y != 0.0) {
                continue;
            }
            let from = numbers.between(0.0, length - wide);
            let from = if numbers.below(3) == 0 { 0.0 } else { from };
            let free =
                |(other, a, b): &(usize, f64, f64)| *other != wall || from >= b + 150.0 || from + wide <= a - 150.0;
            if self.taken.iter().all(free) {
                self.taken.push((wall, from, from + wide));
                return Some((wall, from));
            }
        }
        None
    }

    /// A point of a wall, and the way into the room from there.
    fn at(&self, wall: usize, far: f64) -> (Point, Point, Point) {
        let step = self.walls[wall].step() / self.walls[wall].length();
        (self.walls[wall].start + step * far, step, Point { x: -step.y, y: step.x })
    }

    fn devices(&mut self, numbers: &mut Numbers) -> Option<(Point, Point)> {
        let (wall, from) = match self.area > 11.0 {
            // Whoever needs several cables puts their box where all tails reach it.
            true => {
                let length = |wall: &usize| self.walls[*wall].length();
                let long = (0..self.walls.len()).max_by(|a, b| length(a).total_cmp(&length(b)))?;
                let from = (length(&long) / 2.0 - 225.0).round();
                self.taken.push((long, from, from + 450.0));
                (long, from)
            }
            false => self.place(numbers, 450.0, false)?,
        };
        let (one, other) = if numbers.below(2) == 0 { (100.0, 350.0) } else { (350.0, 100.0) };
        let (junction, thermostat) = (self.at(wall, from + one).0, self.at(wall, from + other).0);
        self.kept.extend([junction, thermostat]);
        Some((junction, thermostat))
    }

    fn door(&mut self, numbers: &mut Numbers) -> Option<()> {
        let wide = if self.area < 2.0 { 600.0 } else { 800.0 };
        let (wall, from) = self.place(numbers, wide, false)?;
        let _ = writeln!(self.body, "  door     way  wall {} from {from} to {}", wall + 1, from + wide);
        for share in [0.0, 0.25, 0.5, 0.75, 1.0] {
            let (at, _, inward) = self.at(wall, from + wide * share);
            self.kept.extend([at, at + inward * 200.0, at + inward * 400.0]);
        }
        Some(())
    }

    /// A movement joint across the room, now and then.
    fn joint(&mut self, numbers: &mut Numbers) -> bool {
        let joined = self.shape == "rectangle" && self.area > 9.0 && numbers.below(5) == 0;
        if joined {
            // It halves the room's longer side, as bays are made; so it ends beside the box.
            let high = self.ring.bounds().high;
            let across = if high.x >= high.y { high.x } else { high.y };
            let middle = (across / 2.0).round();
            let at = |along: f64, off: f64| match high.x >= high.y {
                true => Point { x: middle + off, y: along },
                false => Point { x: along, y: middle + off },
            };
            let (start, end) = (at(0.0, 0.0), at(high.x.min(high.y), 0.0));
            let _ = writeln!(self.body, "  joint    bay  ({}, {}) ({}, {})", start.x, start.y, end.x, end.y);
            self.blocked.push((at(0.0, -300.0), at(high.x.min(high.y), 300.0)));
        }
        joined
    }

    fn fixtures(&mut self, numbers: &mut Numbers) {
        let count = numbers.below(7).min((self.area * 1.2) as u64);
        for fixture in 0..count {
            let wide = numbers.between(300.0, if self.area < 4.0 { 600.0 } else { 1400.0 });
            let deep = numbers.between(250.0, if self.area < 4.0 { 400.0 } else { 650.0 });
            let kind = ["", "unit ", if fixture == 0 { "basin " } else { "" }, ""][numbers.below(4) as usize];
            let Some((wall, from)) = self.place(numbers, wide, true) else { continue };
            let (foot, step, inward) = self.at(wall, from);
            let far = foot + step * wide + inward * deep;
            let low = Point { x: foot.x.min(far.x).round(), y: foot.y.min(far.y).round() };
            let top = Point { x: foot.x.max(far.x).round(), y: foot.y.max(far.y).round() };
            if self.holds(low, top) {
                let _ = writeln!(
                    self.body,
                    "  fixture  f{fixture}  {kind}rect ({}, {}) ({}, {})",
                    low.x, low.y, top.x, top.y
                );
                self.blocked.push((low, top));
            }
        }
    }

    /// Whether a fixture can stand there: in the room, clear of others and of what is kept free.
    fn holds(&self, low: Point, top: Point) -> bool {
        let corners = [low, top, Point { x: low.x, y: top.y }, Point { x: top.x, y: low.y }];
        let inside = corners.iter().all(|corner| self.ring.contains(*corner + ((low + top) / 2.0 - *corner) * 0.02));
        let clear =
            |at: &Point| at.x < low.x - 120.0 || at.x > top.x + 120.0 || at.y < low.y - 120.0 || at.y > top.y + 120.0;
        let crossed = self.walls.iter().any(|wall| {
            let middle = wall.along(0.5);
            low.x + 1.0 < middle.x && middle.x < top.x - 1.0 && low.y + 1.0 < middle.y && middle.y < top.y - 1.0
        });
        let others = self.blocked.iter().all(|other| apart((low, top), *other, 350.0));
        inside && !crossed && others && self.kept.iter().all(clear)
    }

    /// A free box of floor, `room` mm from walls and from what stands there.
    fn free(&mut self, numbers: &mut Numbers, wide: f64, deep: f64, room: f64) -> Option<(Point, Point)> {
        let high = self.ring.bounds().high;
        for _ in 0..10 {
            let low = Point { x: numbers.between(0.0, high.x), y: numbers.between(0.0, high.y) };
            let top = Point { x: low.x + wide, y: low.y + deep };
            let across = Piece::new(Point { x: low.x, y: top.y }, Point { x: top.x, y: low.y });
            let sides = [Piece::new(low, top), across];
            let clear =
                sides.iter().all(|side| self.ring.contains(side.start) && self.ring.nearest(*side).1.distance >= room);
            if clear && self.blocked.iter().all(|other| apart((low, top), *other, room)) {
                self.blocked.push((low, top));
                return Some((low, top));
            }
        }
        None
    }

    /// An island now and then, and where the floor is drilled.
    fn inner(&mut self, numbers: &mut Numbers, joined: bool) {
        if self.area > 9.0 && !joined && numbers.below(5) == 0 {
            let (wide, deep) = (numbers.between(500.0, 1400.0), numbers.between(400.0, 900.0));
            if let Some((low, top)) = self.free(numbers, wide, deep, 700.0) {
                let _ =
                    writeln!(self.body, "  fixture  island  unit rect ({}, {}) ({}, {})", low.x, low.y, top.x, top.y);
            }
        }
        for drill in 0..numbers.below(4).min(self.area as u64 / 2) {
            if let Some((low, top)) = self.free(numbers, 60.0, 60.0, 150.0) {
                let (middle, radius) = ((low + top) / 2.0, numbers.between(15.0, 40.0));
                let _ = writeln!(self.body, "  drill    d{drill}  circle ({}, {}) radius {radius}", middle.x, middle.y);
            }
        }
    }

    /// A hot pipe that comes out of a wall, now and then.
    fn pipe(&mut self, numbers: &mut Numbers) {
        if numbers.below(6) != 0 || self.area <= 3.0 {
            return;
        }
        if let Some((wall, from)) = self.place(numbers, 300.0, true) {
            let (at, _, inward) = self.at(wall, from + 150.0);
            let to = at + inward * numbers.between(150.0, 500.0);
            let _ = writeln!(
                self.body,
                "  pipe     p  hot ({}, {}) ({}, {})",
                at.x.round(),
                at.y.round(),
                to.x.round(),
                to.y.round()
            );
        }
    }

    fn finished(self, numbers: &mut Numbers, junction: Point, thermostat: Point, joined: bool) -> Option<ToLay> {
        let shown = |point: Point| format!("({:.1}, {:.1})", point.x, point.y);
        let outline: Vec<String> = self.corners.iter().map(|corner| format!("({}, {})", corner.x, corner.y)).collect();
        let head = format!(
            "room r {{\n  outline  {}\n{}  junction    j  {} height 300\n  thermostat  t  {} height 1200 rated 16 A\n",
            outline.join(" "),
            self.body,
            shown(junction),
            shown(thermostat)
        );
        let free = read(&format!("{head}}}\n")).rooms().next()?.free_area(MARGINS)?;
        let single = numbers.below(12) == 0;
        let (kits, screed) = choice(free, joined)?;
        // What one thermostat may switch.
        if kits.iter().sum::<f64>() * if screed { 18.0 } else { 10.0 } > 3600.0 {
            return None;
        }
        Some(ToLay { text: whole(&head, &kits, screed, single), shape: self.shape })
    }
}

/// The plan of a room with its kits.
fn whole(head: &str, kits: &[f64], screed: bool, single: bool) -> String {
    let mut text = String::from("# A room of Harrow Mill.\n");
    let power = if screed { 18.0 } else { 10.0 };
    let mut known: Vec<f64> = kits.to_vec();
    known.dedup();
    for length in &known {
        let cores = if single { "  cores        1\n" } else { "" };
        let _ = write!(
            text,
            "kit K-{length} {{\n  output       {} W at 230 V\n  length       {length} m\n  diameter     6 mm\n  bend-radius  25 mm\n  tail         3 m\n  screen       earthed\n{cores}}}\n\n",
            length * power
        );
    }
    text.push_str(head);
    if screed {
        text.push_str("  floor concrete {\n    tile        10 mm\n    screed      55 mm cable at 20 mm\n    insulation  60 mm\n    concrete    150 mm\n  }\n");
    }
    for (length, name) in kits.iter().zip(["a", "b", "c", "d", "e", "f"]) {
        let _ = write!(text, "\n  cable {name} {{\n    kit  K-{length}\n  }}\n");
    }
    // What the tiler has to say of bays is none of a cable's business.
    for rule in ["bay-size", "bay-corner", "bay-proportion"] {
        let _ = writeln!(text, "  deviation {rule} \"agreed with the tiler\"");
    }
    text.push_str("}\n");
    text
}

/// The kits that come nearest to a usual spacing on a free floor (mm2), and whether they lie in screed.
fn choice(free: f64, joined: bool) -> Option<(Vec<f64>, bool)> {
    let least = if joined { 2 } else { 1 };
    for count in least..=5_usize {
        let best = |kits: &[f64], usual: f64, from: f64, to: f64| {
            let spacing = |length: &f64| free / (length * 1e3 * count as f64);
            let fitting = kits.iter().filter(|length| (from..=to).contains(&spacing(length)));
            fitting.min_by(|a, b| (spacing(a) - usual).abs().total_cmp(&(spacing(b) - usual).abs())).copied()
        };
        if let Some(length) = best(&THIN, 95.0, 62.0, 117.0) {
            return Some((vec![length; count], false));
        }
        if let Some(length) = best(&THICK, 150.0, 100.0, 235.0) {
            return Some((vec![length; count], true));
        }
    }
    None
}

fn outline(numbers: &mut Numbers) -> (&'static str, Vec<Point>) {
    // As many small rooms as large ones.
    let exponent = numbers.between(0.0, 1000.0) / 1000.0;
    let area = 1.2e6 * 50.0_f64.powf(exponent);
    let slim = numbers.between(600.0, 1600.0) / 1000.0;
    let wide = (area.sqrt() * slim).max(900.0).round();
    let deep = (area / wide).max(900.0).round();
    let p = |x: f64, y: f64| Point { x: x.round(), y: y.round() };
    let part = |numbers: &mut Numbers, whole: f64, from: f64, to: f64| {
        (whole * numbers.between(from * 1000.0, to * 1000.0) / 1000.0).round()
    };
    // What is smaller has no corners to speak of.
    let kind = if wide.min(deep) < 1500.0 { numbers.below(2) } else { numbers.below(9) };
    match kind {
        2 => {
            let (x, y) = (part(numbers, wide, 0.35, 0.65), part(numbers, deep, 0.35, 0.65));
            ("L", vec![p(0.0, 0.0), p(wide, 0.0), p(wide, y), p(x, y), p(x, deep), p(0.0, deep)])
        }
        3 => {
            let (a, b, y) =
                (part(numbers, wide, 0.2, 0.35), part(numbers, wide, 0.65, 0.8), part(numbers, deep, 0.35, 0.65));
            ("T", vec![p(0.0, 0.0), p(wide, 0.0), p(wide, y), p(b, y), p(b, deep), p(a, deep), p(a, y), p(0.0, y)])
        }
        4 => {
            let (a, b, y) =
                (part(numbers, wide, 0.28, 0.4), part(numbers, wide, 0.6, 0.72), part(numbers, deep, 0.4, 0.6));
            (
                "U",
                vec![p(0.0, 0.0), p(wide, 0.0), p(wide, deep), p(b, deep), p(b, y), p(a, y), p(a, deep), p(0.0, deep)],
            )
        }
        5 => {
            let (a, b, out) =
                (part(numbers, wide, 0.2, 0.3), part(numbers, wide, 0.7, 0.8), numbers.between(300.0, 700.0));
            let slant = numbers.between(200.0, 500.0).min((b - a) / 4.0);
            let y = deep;
            (
                "bay",
                vec![
                    p(0.0, 0.0),
                    p(wide, 0.0),
                    p(wide, y),
                    p(b, y),
                    p(b - slant, y + out),
                    p(a + slant, y + out),
                    p(a, y),
                    p(0.0, y),
                ],
            )
        }
        6 => {
            let lower = part(numbers, deep, 0.6, 0.9);
            ("slanting wall", vec![p(0.0, 0.0), p(wide, 0.0), p(wide, lower), p(0.0, deep)])
        }
        7 => {
            let (a, b) = (part(numbers, wide, 0.15, 0.4), part(numbers, deep, 0.15, 0.4));
            ("cut corner", vec![p(0.0, 0.0), p(wide, 0.0), p(wide, deep - b), p(wide - a, deep), p(0.0, deep)])
        }
        8 => {
            let side = (area / 2.598).sqrt();
            let (half, high) = (side / 2.0, side * 3.0_f64.sqrt() / 2.0);
            let corners = [
                (half, 0.0),
                (half + side, 0.0),
                (2.0 * side, high),
                (half + side, 2.0 * high),
                (half, 2.0 * high),
                (0.0, high),
            ];
            ("hexagon", corners.map(|(x, y)| p(x, y)).to_vec())
        }
        _ => ("rectangle", vec![p(0.0, 0.0), p(wide, 0.0), p(wide, deep), p(0.0, deep)]),
    }
}
