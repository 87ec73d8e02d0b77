//! Finds the spacing at which a whole kit lies on a floor, and the ways in which it does.

use std::time::Instant;

use geo::{Area as _, MultiPolygon};

use super::aside::led_round;
use super::cells::Field;
use super::frame::Frame;
use super::rows::Ground;
use super::tour::{Side, Tour, rounds, tours};
use super::walk::{Pen, drawn};
use crate::geometry::{Point, distance};
use crate::measure::across::FARTHEST_NEIGHBOUR;
use crate::measure::length::{drawn_length, laid_length};
use crate::model::Run;
use crate::source::Place;

/// What is to be laid.
#[derive(Debug, Clone, Copy)]
pub struct Cable {
    /// How long it is, mm.
    pub length: f64,
    /// The least radius it is bent to, mm.
    pub bend_radius: f64,
    /// Whether both its ends are to come home.
    pub comes_home: bool,
    /// How much of its length may be left over, a share.
    pub over: f64,
    /// The least and the most that its runs may lie apart, mm.
    pub spacing: (f64, f64),
    /// By what share neighbouring runs may differ from that.
    pub uneven: f64,
    /// Straight cable at its ends, mm.
    pub straight: f64,
    /// The box that its tail comes from, and how far from it the cable may start, mm.
    pub home: Option<(Point, f64)>,
}

/// The floor that a cable is laid on.
#[derive(Debug)]
pub struct Floor {
    /// What there is of it, small round places left out.
    pub without_spots: MultiPolygon<f64>,
    /// What there is of it with them.
    pub with_spots: MultiPolygon<f64>,
    /// These places, and how far a cable keeps from the middle of each, mm.
    pub spots: Vec<(Point, f64)>,
}

/// A way in which a cable can be laid.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// Its corners on the plan, from the cable's start to its end.
    pub line: Vec<Point>,
    /// From run to run, mm.
    pub pitch: f64,
    /// How good it is: about the share of the floor that it heats, in percent, less something for each corner.
    pub merit: f64,
}

/// How near to where the floor for cable ends a row ends, mm: a cold tail passes between it and the wall.
const LEAST_INSET: f64 = 20.0;

/// How much less than wider rows may lie closer: what counts is how far the widest and the closest lie apart.
const CLOSER: f64 = 0.625;

/// How near, in spacings, the run beyond one that is led aside may lie.
const NEXT: f64 = 0.94;

/// What each corner costs, and a last run that is cut short, in percent of the floor heated.
const CORNER: f64 = 0.03;
const CUT_SHORT: f64 = 0.3;
/// What each cell costs that is gone into and out of rather than through, in percent of the floor heated.
const DETOUR: f64 = 0.8;
/// What each change of the distance from row to row costs, in percent: it is one more line to read, and to lay by.
const CHANGE: f64 = 0.4;
/// What it costs that a cable first goes along a wall to where its rows begin, in percent.
const LEAD: f64 = 1.0;
/// What each cell costs beyond that, in percent, through whose open side runs see each other as neighbours, though cable lies beside it.
const SLOT: f64 = 4.0;

/// The spacings tried, as shares of what the floor has for each length of cable, and from one to the next, mm.
const WIDEST: f64 = 1.12;
const CLOSEST: f64 = 0.78;
const EVERY: f64 = 2.0;

/// How many spacings at which the kit fits are looked at, how many ways in each, and of how many ways it is asked whether it does.
const SPACINGS: usize = 5;
const WAYS: usize = 12;

/// The ways in which a cable can be laid on a floor with its runs along a direction, best first.
pub fn layouts(floor: &Floor, frame: Frame, cable: Cable, until: Instant) -> Vec<Layout> {
    let ideal = floor.without_spots.unsigned_area() / cable.length;
    let mut found = Vec::new();
    let parted = Ground::new(&floor.without_spots, &[], frame);
    let whole = Ground::new(&floor.with_spots, &floor.spots, frame);
    let turned: Vec<(Point, f64)> = floor.spots.iter().map(|(at, radius)| (frame.turned(*at), *radius)).collect();
    let (least, most) = (cable.spacing.0.max(2.0 * cable.bend_radius), cable.spacing.1);
    let even = |value: f64| (value / EVERY).floor() * EVERY;
    let (mut pitch, last) = (even((ideal * WIDEST).min(most)), (ideal * CLOSEST).max(least));
    let mut fitting = 0;
    while pitch >= last - EVERY && pitch >= least && fitting < SPACINGS && Instant::now() < until {
        let before = found.len();
        // Runs are led round small places where their spacing leaves room for that, or end before them.
        let grounds = [(&whole, &turned[..]), (&parted, &[][..])];
        for (ground, spots) in &grounds[usize::from(floor.spots.is_empty())..] {
            let give = cable.uneven;
            for lines in ground.lines(
                pitch,
                least.max(pitch * (1.0 - give * CLOSER)),
                most.min(pitch * (1.0 + give)),
                pitch * NEXT - cable.spacing.0,
            ) {
                let field = Field::new(ground, pitch, &lines);
                // Each row but the last goes with a turn.
                let reach = field.length() + field.pitch * field.rows.len() as f64;
                if reach >= cable.length * (1.0 - cable.over) {
                    Trial { field: &field, spots, cable, until }.fitted(frame, ideal, &mut found);
                }
            }
        }
        fitting += usize::from(found.len() > before);
        pitch -= EVERY;
    }
    found.sort_by(|a: &Layout, b| b.merit.total_cmp(&a.merit));
    found
}

/// A field that a cable is tried on.
struct Trial<'t> {
    field: &'t Field,
    spots: &'t [(Point, f64)],
    cable: Cable,
    /// When to have done.
    until: Instant,
}

impl Trial<'_> {
    /// The ways through the field that take the whole cable.
    fn fitted(&self, frame: Frame, ideal: f64, found: &mut Vec<Layout>) {
        let (field, cable) = (self.field, self.cable);
        let near = |at: Point| cable.home.map_or(0.0, |(home, reach)| distance(frame.back(at), home) / reach);
        let mut ways = if cable.comes_home { Vec::new() } else { tours(field, WAYS, &near, self.until) };
        ways.extend(rounds(field, if cable.comes_home { 3 * WAYS } else { WAYS / 2 }, &near, self.until));
        for mut tour in ways {
            if Instant::now() >= self.until {
                return;
            }
            for inner in [Some(Side::Left), Some(Side::Right)] {
                if tour.hung.is_empty() && tour.round.is_none() && inner == Some(Side::Right) {
                    continue;
                }
                tour.inner = inner;
                if let Some((line, cut)) = self.whole(&tour) {
                    let line: Vec<Point> = line.iter().map(|point| frame.back(*point)).collect();
                    let short = if cut > 2.0 * field.pitch { CUT_SHORT } else { 0.0 };
                    let around = DETOUR * (tour.hung.len() + 2 * usize::from(tour.round.is_some())) as f64
                        + CHANGE * self.field.changes() as f64
                        + LEAD * f64::from(u8::from(tour.lead.is_some()))
                        + SLOT * tour.slots(field, FARTHEST_NEIGHBOUR) as f64;
                    let merit = 100.0 * field.pitch / ideal - CORNER * line.len() as f64 - short - around;
                    found.push(Layout { line, pitch: field.pitch, merit });
                }
            }
        }
    }

    /// A tour that takes the whole cable: rows end so far from where the floor does that it is just as long, and what is left over is cut off the
    /// last one. With how much that is, mm.
    fn whole(&self, tour: &Tour) -> Option<(Vec<Point>, f64)> {
        let cable = self.cable;
        let least = 2.0 * cable.bend_radius;
        let aside = self.field.pitch - cable.spacing.0;
        let line_at = |inset: f64| {
            let line = drawn(self.field, tour, Pen { inset, least })?;
            if self.spots.is_empty() { Some(line) } else { led_round(&line, self.spots, aside, least) }
        };
        let length_at = |inset: f64| line_at(inset).map(|line| laid(&line, cable.bend_radius));
        let (mut low, mut high) = (LEAST_INSET, (self.field.pitch / 2.0).floor().max(LEAST_INSET));
        let longest = length_at(low)?;
        if longest < cable.length * (1.0 - cable.over) {
            return None;
        }
        if length_at(high).is_some_and(|length| length >= cable.length) {
            low = high;
        }
        while high - low > 1.0 {
            let middle = f64::midpoint(low, high).floor();
            if length_at(middle).is_some_and(|length| length >= cable.length) { low = middle } else { high = middle }
        }
        let line = line_at(low)?;
        let over = laid(&line, cable.bend_radius) - cable.length;
        if over <= 0.0 {
            return Some((line, 0.0));
        }
        // A cable that comes home is as long as it is: its rest is taken off the end that comes home.
        let cut = cut_off(&line, over.floor(), cable.straight)?;
        Some((cut, over))
    }
}

/// A line without the last `over` mm of it; nothing where its end would then lie in a turn.
fn cut_off(line: &[Point], over: f64, straight: f64) -> Option<Vec<Point>> {
    let mut line = line.to_vec();
    let mut over = over;
    loop {
        let [.., before, end] = line[..] else { return None };
        let last = distance(before, end);
        if last > over {
            let left = last - over;
            // Too short a piece after a turn is taken off too where hardly anything is lost by it.
            if left < straight {
                return None;
            }
            let at = end + (before - end) * (over / last);
            *line.last_mut()? = at;
            return Some(line);
        }
        over -= last;
        line.pop();
    }
}

/// The length that a line of points takes when it is laid with rounded corners, mm.
pub fn laid(line: &[Point], bend_radius: f64) -> f64 {
    laid_length(&runs(line), bend_radius)
}

/// The runs along a line of points.
pub fn runs(line: &[Point]) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::with_capacity(line.len());
    for pair in line.windows(2) {
        let before = drawn_length(&runs);
        runs.push(Run { start: pair[0], end: pair[1], before, place: Place::default() });
    }
    runs
}
