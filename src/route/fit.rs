//! Finds the spacing at which a whole kit lies on a floor, and the ways in which it does.

use geo::MultiPolygon;

use super::aside::{Berth, led_round};
use super::bare::Grid;
use super::cells::Field;
use super::draw_in::DrawIn;
use super::frame::Frame;
use super::rows::Ground;
use super::search::MOST_ASIDE;
use super::teeth::Comb;
use super::tour::{Side, Tour, rounds, tours};
use super::until::Until;
use super::walk::{Pen, drawn};
use crate::geometry::tolerance::TOUCH;
use crate::geometry::{Point, distance, dot};
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
    /// How near its runs may lie for what its floor bears, mm.
    pub dense: f64,
    /// By what share neighbouring runs may differ from that.
    pub uneven: f64,
    /// How long runs lie alongside each other for that to count, mm.
    pub alongside: f64,
    /// How far from it floor is cold, mm.
    pub cold: f64,
    /// How much of that is passed over, mm2.
    pub crumb: f64,
    /// How slim floor is where none is asked for, mm.
    pub slim: f64,
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
    /// How good it is: about the share of the floor that it lies near to, in percent, less something for each corner.
    pub merit: f64,
    /// Whether it leaves floor cold, as far as points on a grid tell.
    pub cold: bool,
    /// Which way its rows go.
    pub frame: Frame,
}

/// How near to where the floor for cable ends a row ends, mm: a cold tail passes between it and the wall.
const LEAST_INSET: f64 = 20.0;

/// How much more than the rules ask for runs keep apart there, and what rounding takes off a piece's length, mm.
pub(super) const SPARE: f64 = 3.0;
pub(super) const LEAST_SPARE: f64 = 0.5;
pub(super) const ROUNDED: f64 = 0.4;

/// How far from a run floor is bare, in spacings, and how much more cold floor costs.
const BARE_BEYOND: f64 = 0.8;
const COLD: f64 = 50.0;

/// What each corner costs, and a last run that is cut short, in percent of the floor heated.
const CORNER: f64 = 0.04;
const CUT_SHORT: f64 = 0.3;
/// What each cell costs that is gone into and out of rather than through, in percent of the floor heated.
const DETOUR: f64 = 0.8;
/// What each change of the distance from row to row costs, in percent: it is one more line to read, and to lay by.
const CHANGE: f64 = 0.4;
/// What it costs that a cable first goes along a wall to where its rows begin, in percent.
const LEAD: f64 = 1.0;
/// What each cell costs beyond that, in percent, through whose open side runs see each other as neighbours, though cable lies beside it.
const SLOT: f64 = 0.4;

/// How near pieces that fill bare floor come to others, and how much floor is bare, in spacings.
const NEAREST: f64 = 0.78;
const BARE: f64 = 1.0;

/// How many ways through a set of rows are looked at.
const WAYS: usize = 12;
/// How many of their lines are made as long as the kit.
const MOST_FITTED: usize = 8;

/// A field that a cable is tried on.
pub struct Trial<'t> {
    /// Which way its rows go.
    pub frame: Frame,
    /// The floor.
    pub ground: &'t Ground,
    /// Its points.
    pub grid: &'t Grid,
    /// The rows.
    pub field: &'t Field,
    /// Small round places that they are led round.
    pub spots: &'t [(Point, f64)],
    /// What is laid.
    pub cable: Cable,
    /// How many lines through the field have the floor filled that they leave bare; none where rows alone are to do.
    pub filled: usize,
    /// How many layouts are of use that leave floor cold.
    pub cold_ones: usize,
    /// When to have done.
    pub until: Until<'t>,
}

impl Trial<'_> {
    /// The ways through the field that take the whole cable.
    pub fn fitted(&self, ideal: f64) -> Vec<Layout> {
        let (frame, field, cable) = (self.frame, self.field, self.cable);
        // A tail comes along the walls, and not to where a hole in the floor begins.
        let near = |at: Point| match cable.home {
            Some(_) if !self.ground.is_at_its_border(at) => f64::INFINITY,
            Some((home, reach)) => distance(frame.back(at), home) / reach,
            None => 0.0,
        };
        let most = WAYS;
        let mut ways = if cable.comes_home { Vec::new() } else { tours(field, most, &near, self.until) };
        ways.extend(rounds(field, if cable.comes_home { 3 * most } else { most / 2 }, &near, self.until));
        let mut found: Vec<Layout> = Vec::new();
        let mut cold_ones = 0;
        for (tour, drawn) in self.drawn(ways, ideal) {
            if self.until.is_over() {
                break;
            }
            let whole = match self.filled {
                0 => self.whole(&tour, drawn, cold_ones < self.cold_ones),
                _ => self.filled_whole(drawn, cold_ones < self.cold_ones),
            };
            let Some((line, cut)) = whole else { continue };
            let left = self.grid.left(&line, ideal * BARE_BEYOND, cable.cold);
            let cold = self.grid.area(left.cold) > cable.crumb;
            cold_ones += usize::from(cold);
            let line: Vec<Point> = line.iter().map(|point| frame.back(*point)).collect();
            let short = if cut > 2.0 * field.pitch { CUT_SHORT } else { 0.0 };
            let covered = 100.0 * (1.0 - left.bare - COLD * left.cold);
            let merit = covered - CORNER * line.len() as f64 - short - self.detours(&tour);
            found.push(Layout { line, pitch: field.pitch, merit, cold, frame });
        }
        found
    }

    /// Tours with the side at which cells that are gone into are open, each with its line as far as that reaches: since it takes long to make
    /// one as long as the kit, only those that leave the least bare.
    fn drawn(&self, tours: Vec<Tour>, ideal: f64) -> Vec<(Tour, Vec<Point>)> {
        let each = tours.into_iter().flat_map(|tour| {
            let both = !tour.hung.is_empty() || tour.round.is_some();
            let sides = if both { &[Side::Left, Side::Right][..] } else { &[Side::Left][..] };
            sides.iter().map(move |inner| Tour { inner: Some(*inner), ..tour.clone() })
        });
        // What is filled takes all the width of slim floor that there is.
        let (inset, most) = if self.filled == 0 { (LEAST_INSET, MOST_FITTED) } else { (0.0, self.filled) };
        let mut lines: Vec<(f64, Tour, Vec<Point>)> = Vec::new();
        for tour in each {
            let Some(line) = self.line_at(&tour, inset) else { continue };
            let least = if self.filled == 0 { self.cable.length * (1.0 - self.cable.over) } else { 0.0 };
            let length = laid(&line, self.cable.bend_radius);
            if length.is_finite() && length >= least && lines.iter().all(|(.., known)| *known != line) {
                let bare = 100.0 * self.grid.beyond(&line, ideal * BARE_BEYOND);
                lines.push((bare + self.detours(&tour), tour, line));
            }
        }
        lines.sort_by(|a, b| a.0.total_cmp(&b.0));
        lines.truncate(most);
        lines.into_iter().map(|(_, tour, line)| (tour, line)).collect()
    }

    /// What a tour's turns aside cost, in percent of the floor heated.
    fn detours(&self, tour: &Tour) -> f64 {
        DETOUR * (tour.hung.len() + 2 * usize::from(tour.round.is_some())) as f64
            + CHANGE * self.field.changes() as f64
            + LEAD * f64::from(u8::from(tour.lead.is_some()))
            + SLOT * tour.slots(self.field, FARTHEST_NEIGHBOUR) as f64
    }

    /// The least length of a piece between two turns, mm: off the plan's axes corners are rounded to tenths.
    fn least(&self) -> f64 {
        2.0 * self.cable.bend_radius + if self.frame.on_axis() { 0.0 } else { ROUNDED }
    }

    /// How floor is filled that rows leave bare.
    fn comb(&self) -> Comb<'_> {
        let (pitch, cable) = (self.field.pitch, self.cable);
        let least = self.least();
        let nearest = cable.spacing.0.max(cable.dense) + LEAST_SPARE;
        let clear = (pitch * NEAREST).max(nearest);
        let (ground, spots) = (self.ground, self.spots);
        let (straight, bare) = (cable.straight + least, pitch * BARE);
        let narrow = (nearest, cable.alongside - SPARE);
        Comb { ground, grid: self.grid, spots, pitch, clear, narrow, least, inset: 0.0, straight, bare }
    }

    /// The line of a tour whose rows end so far from where the floor does.
    fn line_at(&self, tour: &Tour, inset: f64) -> Option<Vec<Point>> {
        let (cable, pitch, least) = (self.cable, self.field.pitch, self.least());
        let berth = Berth { most: pitch * MOST_ASIDE, least, pitch, apart: cable.spacing.0.max(cable.dense) + SPARE };
        let line = drawn(self.field, tour, Pen { insets: [inset; 2], least })?;
        if self.spots.is_empty() { Some(line) } else { led_round(&line, self.spots, berth) }
    }

    /// A tour, with its line as far as that reaches, that takes the whole cable: rows end so far from where the floor does that it is just as long, and what is left over is cut off the
    /// last one. With how much that is, mm. What leaves floor cold as far as it may reach is looked into only where it is of use.
    fn whole(&self, tour: &Tour, fullest: Vec<Point>, cold_too: bool) -> Option<(Vec<Point>, f64)> {
        let cable = self.cable;
        let least = self.least();
        let length_at = |inset: f64| {
            self.line_at(tour, inset).map(|line| laid(&line, cable.bend_radius)).filter(|length| length.is_finite())
        };
        let (mut low, mut high) = (LEAST_INSET, (self.field.pitch / 2.0).floor().max(LEAST_INSET));
        let mut longest = laid(&fullest, cable.bend_radius);
        if !longest.is_finite() || longest < cable.length * (1.0 - cable.over) {
            return None;
        }
        if !cold_too && self.grid.area(self.grid.beyond(&fullest, cable.cold)) > cable.crumb {
            return None;
        }
        let mut shortest = length_at(high);
        if shortest.is_some_and(|length| length >= cable.length) {
            low = high;
        }
        while high - low > 1.0 && longest > cable.length {
            // About as much shorter with every millimetre, but where it can't be drawn any more.
            let share = shortest.map_or(0.5, |shortest| (longest - cable.length) / (longest - shortest).max(1.0));
            let middle = (low + (high - low) * share.clamp(0.0, 1.0)).floor().clamp(low + 1.0, high - 1.0);
            match length_at(middle) {
                Some(length) if length >= cable.length => (low, longest) = (middle, length),
                length => (high, shortest) = (middle, length),
            }
        }
        self.cut(self.line_at(tour, low).filter(|line| bends(line, least))?)
    }

    /// A tour's line that takes the whole cable and fills what it leaves bare: what is then too long has its turns drawn in.
    fn filled_whole(&self, line: Vec<Point>, cold_too: bool) -> Option<(Vec<Point>, f64)> {
        let (cable, least) = (self.cable, self.least());
        let line = self.comb().filled(line);
        let line = if cable.comes_home { line } else { self.comb().led_on(line) };
        let over = laid(&line, cable.bend_radius) - cable.length;
        if !over.is_finite() || over < -cable.length * cable.over || !bends(&line, least) {
            return None;
        }
        if !cold_too && self.grid.area(self.grid.beyond(&line, cable.cold)) > cable.crumb {
            return None;
        }
        if over <= 0.0 {
            return Some((line, 0.0));
        }
        let draw_in = DrawIn {
            grid: self.grid,
            pitch: self.field.pitch,
            least,
            straight: cable.straight + least,
            cold: (cable.cold, cable.crumb),
        };
        self.cut(draw_in.shortened(&line, over))
    }

    /// A line without what it is too long by, and how much that is, mm.
    fn cut(&self, line: Vec<Point>) -> Option<(Vec<Point>, f64)> {
        let over = laid(&line, self.cable.bend_radius) - self.cable.length;
        if over <= 0.0 {
            return Some((line, 0.0));
        }
        // A cable that comes home is as long as it is: its rest is taken off the end that comes home.
        let cut = cut_off(&line, over.floor(), self.cable.straight)?;
        Some((cut, over))
    }
}

/// Whether a line has room for its bends: `least` mm between two sharp ones.
pub(super) fn bends(line: &[Point], least: f64) -> bool {
    let sharp = |corner: &[Point]| {
        let (one, other) = (corner[1] - corner[0], corner[2] - corner[1]);
        dot(one, other) < SHARP * (distance(corner[0], corner[1]) * distance(corner[1], corner[2]))
    };
    line.windows(4).all(|four| distance(four[1], four[2]) >= least - TOUCH || !sharp(&four[..3]) || !sharp(&four[1..]))
}

/// The cosine of the angle from which a bend is sharp.
const SHARP: f64 = 0.5;

/// A line without the last `over` mm of it; nothing where its end would then lie in a turn.
pub(super) fn cut_off(line: &[Point], over: f64, straight: f64) -> Option<Vec<Point>> {
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
