//! Plans as they vary: rooms of the shapes L, T and U and with slanting walls, fixtures in their middle, several cables, runs unevenly
//! spaced; every third with faults. Each is told by its number alone, and named in no file but its own.

use std::fmt::Write as _;

/// From a wall to the nearest run, mm.
const CLEAR: f64 = 60.0;
/// The bending radius of every kit, mm, and what a right-angled turn of it saves of a cable's length.
const BEND: f64 = 25.0;
const SAVED: f64 = BEND * (2.0 - std::f64::consts::FRAC_PI_2);

/// Numbers that look random and are the same for the same seed (SplitMix64).
pub(crate) struct Numbers(pub u64);

impl Numbers {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A whole number of mm from one to another.
    pub(crate) fn between(&mut self, from: f64, to: f64) -> f64 {
        (from + (to - from) * (self.next() >> 11) as f64 / (1u64 << 53) as f64).round()
    }

    /// One of so many, from 0.
    pub(crate) fn below(&mut self, count: u64) -> u64 {
        self.next() % count
    }
}

/// A part of the floor that one cable is laid in, row by row from the south.
struct Band {
    /// Its south and its north side, and how far from each the rows keep, mm.
    south: f64,
    north: f64,
    off: (f64, f64),
    /// Where its west side begins in the south, and where it ends in the north; and its east side.
    west: (f64, f64),
    east: (f64, f64),
    /// Whether the cable comes in from the east.
    from_east: bool,
}

impl Band {
    fn straight(west: f64, east: f64, south: f64, north: f64, pitch: f64, open: (bool, bool)) -> Self {
        let off = |open: bool| if open { pitch / 2.0 } else { CLEAR };
        Band { south, north, off: (off(open.0), off(open.1)), west: (west, west), east: (east, east), from_east: false }
    }

    /// Where the row at a height begins and ends, from the west.
    fn row(&self, y: f64) -> (f64, f64) {
        let share = (y - self.south) / (self.north - self.south);
        let side = |(from, to): (f64, f64)| {
            let slant = (to - from) / (self.north - self.south);
            (from + (to - from) * share, CLEAR * slant.hypot(1.0))
        };
        let ((west, off_west), (east, off_east)) = (side(self.west), side(self.east));
        ((west + off_west).ceil(), (east - off_east).floor())
    }

    /// The corners of the cable laid in it.
    fn path(&self, pitch: f64, uneven: f64, numbers: &mut Numbers) -> Vec<(f64, f64)> {
        let (low, high) = (self.south + self.off.0, self.north - self.off.1);
        let steps = ((high - low) / pitch).round().max(1.0);
        let mut corners = Vec::new();
        for step in 0..=steps as usize {
            let wobble = if step == 0 || step as f64 == steps { 0.0 } else { numbers.between(-uneven, uneven) };
            let y = (low + (high - low) * step as f64 / steps + wobble).round();
            let (west, east) = self.row(y);
            let eastward = (step % 2 == 0) != self.from_east;
            corners.extend(if eastward { [(west, y), (east, y)] } else { [(east, y), (west, y)] });
        }
        corners
    }
}

/// A room before it is written.
struct Floor {
    outline: Vec<(f64, f64)>,
    /// As plans write them, with what else is no cable.
    fixtures: Vec<String>,
    bands: Vec<Band>,
}

/// A bar along the south and a leg to the north of it, whose east wall slants.
fn l_shape(numbers: &mut Numbers, pitch: f64) -> Floor {
    let (width, depth) = (numbers.between(2600.0, 4200.0), numbers.between(2600.0, 4000.0));
    let (leg, bar) = (numbers.between(1200.0, width - 700.0), numbers.between(1000.0, depth - 1000.0));
    let top = leg - numbers.between(0.0, 160.0);
    let mut south = Band::straight(0.0, width, 0.0, bar, pitch, (false, false));
    south.off.1 = CLEAR;
    let mut north = Band::straight(0.0, leg, bar, depth, pitch, (true, false));
    north.off.0 = pitch - CLEAR;
    north.east.1 = top;
    Floor {
        outline: vec![(0.0, 0.0), (width, 0.0), (width, bar), (leg, bar), (top, depth), (0.0, depth)],
        fixtures: Vec::new(),
        bands: vec![south, north],
    }
}

/// A stem in the south and a bar along the north, whose east wall slants.
fn t_shape(numbers: &mut Numbers, pitch: f64) -> Floor {
    let (width, depth) = (numbers.between(3000.0, 4600.0), numbers.between(2400.0, 3600.0));
    let (from, stem) = (numbers.between(500.0, 900.0), numbers.between(1100.0, width - 1500.0));
    let bar = numbers.between(1000.0, depth - 1000.0);
    let top = width - numbers.between(0.0, 160.0);
    let mut south = Band::straight(from, from + stem, 0.0, bar, pitch, (false, true));
    south.off.1 = pitch - CLEAR;
    let mut north = Band::straight(0.0, width, bar, depth, pitch, (false, false));
    north.east.1 = top;
    let outline = [
        (from, 0.0),
        (from + stem, 0.0),
        (from + stem, bar),
        (width, bar),
        (top, depth),
        (0.0, depth),
        (0.0, bar),
        (from, bar),
    ];
    Floor { outline: outline.to_vec(), fixtures: Vec::new(), bands: vec![south, north] }
}

/// A bar along the south and an arm at each end of it.
fn u_shape(numbers: &mut Numbers, pitch: f64) -> Floor {
    let (width, depth) = (numbers.between(3600.0, 4800.0), numbers.between(2600.0, 3400.0));
    let bar = numbers.between(1000.0, depth - 1000.0);
    let (west, east) = (numbers.between(1000.0, 1500.0), numbers.between(1000.0, 1500.0));
    let (west_top, east_top) = (west - numbers.between(0.0, 150.0), east - numbers.between(0.0, 150.0));
    let mut arms = [
        Band::straight(0.0, west, bar, depth, pitch, (true, false)),
        Band::straight(width - east, width, bar, depth, pitch, (true, false)),
    ];
    arms[0].east.1 = west_top;
    arms[1].west.1 = width - east_top;
    arms[1].from_east = true;
    for arm in &mut arms {
        arm.off.0 = pitch - CLEAR;
    }
    let outline = [
        (0.0, 0.0),
        (width, 0.0),
        (width, depth),
        (width - east_top, depth),
        (width - east, bar),
        (west, bar),
        (west_top, depth),
        (0.0, depth),
    ];
    let bands = std::iter::once(Band::straight(0.0, width, 0.0, bar, pitch, (false, false))).chain(arms);
    Floor { outline: outline.to_vec(), fixtures: Vec::new(), bands: bands.collect() }
}

/// Four walls, two of which slant, round something that stands in the middle.
fn round_a_fixture(numbers: &mut Numbers, pitch: f64, round: bool) -> Floor {
    let (width, depth) = (numbers.between(3000.0, 4200.0), numbers.between(3000.0, 3800.0));
    let (west, east) = (numbers.between(0.0, 250.0), width - numbers.between(0.0, 350.0));
    let (centre_x, centre_y) = (numbers.between(1300.0, width - 1400.0), numbers.between(1200.0, depth - 1300.0));
    let (half_x, half_y) = (numbers.between(150.0, 450.0), numbers.between(150.0, 400.0));
    let half_y = if round { half_x } else { half_y };
    let (low, high) = (centre_y - half_y, centre_y + half_y);
    let side = |top: f64, bottom: f64, y: f64| bottom + (top - bottom) * y / depth;
    let band = |south: f64, north: f64, open: (bool, bool)| {
        let mut band = Band::straight(0.0, width, south, north, pitch, open);
        band.west = (side(west, 0.0, south), side(west, 0.0, north));
        band.east = (side(east, width, south), side(east, width, north));
        band
    };
    let (mut beside_west, mut beside_east) = (band(low, high, (true, true)), band(low, high, (true, true)));
    beside_west.east = (centre_x - half_x, centre_x - half_x);
    beside_east.west = (centre_x + half_x, centre_x + half_x);
    beside_east.from_east = true;
    for beside in [&mut beside_west, &mut beside_east] {
        beside.off = (pitch - CLEAR, pitch - CLEAR);
    }
    let fixture = if round {
        format!("fixture hearth column circle ({centre_x}, {centre_y}) radius {half_x}")
    } else {
        format!("fixture island unit rect ({}, {low}) ({}, {high})", centre_x - half_x, centre_x + half_x)
    };
    let (south, north) = (band(0.0, low, (false, false)), band(high, depth, (false, false)));
    Floor {
        outline: vec![(0.0, 0.0), (width, 0.0), (east, depth), (west, depth)],
        fixtures: vec![fixture],
        bands: vec![south, beside_west, beside_east, north],
    }
}

/// Four walls, two of which slant, with one cable round nothing.
fn slanting(numbers: &mut Numbers, pitch: f64) -> Floor {
    let (width, depth) = (numbers.between(2400.0, 3600.0), numbers.between(2000.0, 3200.0));
    let (west, east) = (numbers.between(100.0, 400.0), width - numbers.between(-300.0, 350.0));
    let mut band = Band::straight(0.0, width, 0.0, depth, pitch, (false, false));
    band.west.1 = west;
    band.east.1 = east;
    Floor {
        outline: vec![(0.0, 0.0), (width, 0.0), (east, depth), (west, depth)],
        fixtures: Vec::new(),
        bands: vec![band],
    }
}

/// What is done to a sound plan so that something is found in it.
#[derive(Clone, Copy, PartialEq)]
enum Fault {
    None,
    /// The first row of the first cable too near to its wall.
    Wall,
    /// The last rows of the first cable left out.
    Cold,
    /// A column stands where the first cable lies, a hole is drilled, a joint and a hot pipe cross it, and a door is hung beside it.
    Column,
    /// The first cable's first row goes askew, over the second.
    Crossing,
}

/// The plan of a number.
pub(crate) fn plan(number: usize) -> String {
    let numbers = &mut Numbers(number as u64);
    let pitch = numbers.between(84.0, 98.0);
    let mut floor = match number % 6 {
        0 => l_shape(numbers, pitch),
        1 => t_shape(numbers, pitch),
        2 => u_shape(numbers, pitch),
        3 => round_a_fixture(numbers, pitch, true),
        4 => round_a_fixture(numbers, pitch, false),
        _ => slanting(numbers, pitch),
    };
    // A third of the plans of each shape.
    let fault = match (number / 6) % 12 {
        0 => Fault::Wall,
        3 => Fault::Cold,
        6 => Fault::Column,
        9 => Fault::Crossing,
        _ => Fault::None,
    };
    let uneven = numbers.below(3) as f64 * 2.0;
    let mut cables: Vec<Vec<(f64, f64)>> = floor.bands.iter().map(|band| band.path(pitch, uneven, numbers)).collect();
    let first = &mut cables[0];
    match fault {
        Fault::None => {}
        Fault::Wall => first.iter_mut().take(2).for_each(|corner| corner.1 -= 25.0),
        Fault::Cold => first.truncate((first.len() / 4 * 2).max(4)),
        Fault::Column => {
            let ends = (first[first.len() / 4 * 2], first[first.len() / 4 * 2 + 1]);
            let (x, y) = (f64::midpoint(ends.0.0, ends.1.0).round(), ends.0.1);
            let across = |x: f64| format!("({x}, {}) ({x}, {})", y - 150.0, y + 150.0);
            floor.fixtures.extend([
                format!("fixture column column circle ({x}, {y}) radius 120"),
                format!("drill  stop circle ({}, {y}) radius 40", x - 300.0),
                format!("joint  j {}", across(x + 250.0)),
                format!("pipe   p hot {}", across(x + 350.0)),
                "door   d wall 1 from 200 to 900".into(),
            ]);
        }
        Fault::Crossing => first[0].1 += 2.0 * pitch,
    }
    write_plan(number, &floor, &cables)
}

fn write_plan(number: usize, floor: &Floor, cables: &[Vec<(f64, f64)>]) -> String {
    let mut text = String::from("# A room of Harrow Mill.\n");
    for (index, corners) in cables.iter().enumerate() {
        let drawn: f64 = corners.windows(2).map(|pair| (pair[1].0 - pair[0].0).hypot(pair[1].1 - pair[0].1)).sum();
        let length = (drawn - SAVED * (corners.len() - 2) as f64).round();
        let _ = writeln!(
            text,
            "kit own-{index} {{\n  output {:.0} W at 230 V\n  length {length} mm\n  diameter 6 mm\n  bend-radius {BEND} mm\n  tail 20 m\n  screen earthed\n}}",
            length / 100.0
        );
    }
    text.push_str("\nsupply flat {\n  voltage    230 V\n  rcd        30 mA\n  breaker    16 A\n  conductor  2.5 mm2 copper, 14 m, method C\n}\n\n");
    let _ = writeln!(text, "room r{number} \"Room {number}\" {{");
    text.push_str("  outline ");
    for (x, y) in &floor.outline {
        let _ = write!(text, " ({x}, {y})");
    }
    text.push('\n');
    for fixture in &floor.fixtures {
        let _ = writeln!(text, "  {fixture}");
    }
    text.push_str("  floor concrete {\n    tile        10 mm porcelain\n    adhesive    10 mm cable at 3 mm\n    board       40 mm\n    concrete   150 mm\n  }\n  inside     21 degC\n  below      ground 10 degC\n");
    // All outside the west wall, beside the channel between the first two runs.
    let (start, next) = (cables[0][0], cables[0][2]);
    let middle = f64::midpoint(start.1, next.1);
    let wall = start.0 - CLEAR - 200.0;
    let _ = writeln!(text, "  junction   j ({wall}, {middle}) height 300");
    let _ = writeln!(text, "  thermostat t ({wall}, {middle}) height 1200 rated 16 A on flat");
    for (index, corners) in cables.iter().enumerate() {
        let (x, y) = corners[0];
        let _ = writeln!(text, "  cable c{index} {{\n    kit    own-{index}\n    start  ({x}, {y})");
        for pair in corners.windows(2) {
            let ((x, y), (to_x, to_y)) = (pair[0], pair[1]);
            let _ = match (to_x - x, to_y - y) {
                (east, 0.0) if east > 0.0 => writeln!(text, "    run    east {east}"),
                (east, 0.0) => writeln!(text, "    run    west {}", -east),
                (0.0, north) if north > 0.0 => writeln!(text, "    run    north {north}"),
                _ => writeln!(text, "    run    to ({to_x}, {to_y})"),
            };
        }
        text.push_str("  }\n");
    }
    let _ = writeln!(text, "  sensor s from t ({}, {middle}) lead 3 m\n}}", start.0 + 450.0);
    text
}
