//! Where rows of cable may lie: lines across the floor, the intervals that the floor leaves of each, and how far apart the lines are.

use geo::{LineString, MultiPolygon};

use super::frame::Frame;
use crate::geometry::{Piece, Point, cross};

/// The floor as a frame shows it: the edges around it, those of holes too.
#[derive(Debug)]
pub struct Ground {
    edges: Vec<Piece>,
    /// Which of them go round the floor rather than round a hole in it.
    around: Vec<bool>,
    /// The lowest and the highest y.
    pub low: f64,
    /// The highest.
    pub high: f64,
    /// The edges along x, which rows should lie half a spacing from, from the lowest up.
    brinks: Vec<Brink>,
    /// Small round places that rows are led round: their middle across, and how far rows keep from it, mm.
    spots: Vec<(f64, f64)>,
}

/// An edge of the floor along x.
#[derive(Debug, Clone, Copy)]
struct Brink {
    y: f64,
    length: f64,
    /// Whether the floor lies above it.
    floor_above: bool,
}

/// What is shorter is no edge that rows go by, mm; and how steep one along x may be.
const LEAST_BRINK: f64 = 60.0;
const FLAT: f64 = 0.02;

impl Ground {
    /// The floor in a frame, with small round places on it, each with the distance that rows keep from it, that rows are led round.
    pub fn new(floor: &MultiPolygon<f64>, spots: &[(Point, f64)], frame: Frame) -> Self {
        let (mut edges, mut around) = (Vec::new(), Vec::new());
        let mut ring = |line: &LineString<f64>, outer: bool| {
            let points: Vec<Point> = line.0.iter().map(|point| tidied(frame.turned(*point))).collect();
            edges.extend(Piece::of_line(&points).filter(|piece| piece.start != piece.end));
            around.resize(edges.len(), outer);
        };
        for part in &floor.0 {
            ring(part.exterior(), true);
            part.interiors().iter().for_each(|hole| ring(hole, false));
        }
        let ys = || edges.iter().map(|edge| edge.start.y);
        let (low, high) = (ys().fold(f64::INFINITY, f64::min), ys().fold(f64::NEG_INFINITY, f64::max));
        let spots = spots.iter().map(|(at, radius)| (frame.turned(*at).y, *radius)).collect();
        let mut ground = Ground { edges, around, low, high, brinks: Vec::new(), spots };
        ground.brinks = ground.edges.iter().filter_map(|edge| ground.brink(*edge)).collect();
        ground.brinks.sort_by(|a, b| a.y.total_cmp(&b.y));
        ground
    }

    /// The edges around it, those of holes too.
    pub fn edges(&self) -> &[Piece] {
        &self.edges
    }

    /// Whether a point lies where the floor ends, or where rows are evened out beside that, rather than where a hole in it does.
    pub fn is_at_its_border(&self, at: Point) -> bool {
        let each = self.edges.iter().map(|edge| edge.distance(at)).zip(&self.around);
        let nearest = each.min_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(a.1)));
        nearest.is_some_and(|(far, around)| *around && far <= EVEN + ON_EDGE)
    }

    /// How far from a point the floor goes on in a direction (a step of length 1), `most` where it does so farther, mm.
    pub fn ahead(&self, from: Point, step: Point, most: f64) -> f64 {
        let met = self.edges.iter().filter_map(|edge| {
            let area = cross(step, edge.step());
            let to = edge.start - from;
            let share = cross(to, step) / area;
            (area != 0.0 && (0.0..=1.0).contains(&share)).then(|| cross(to, edge.step()) / area)
        });
        met.filter(|far| *far >= -GRAZE).fold(most, f64::min).max(0.0)
    }

    fn brink(&self, edge: Piece) -> Option<Brink> {
        let step = edge.step();
        let flat = step.y.abs() <= FLAT * step.x.abs() && step.x.abs() >= LEAST_BRINK;
        let middle = edge.along(0.5);
        let above = self.intervals(middle.y + 1.0).iter().any(|(from, to)| *from < middle.x && middle.x < *to);
        flat.then_some(Brink { y: middle.y, length: step.x.abs(), floor_above: above })
    }

    /// The intervals of the floor on a line of that y, from left to right.
    pub fn intervals(&self, y: f64) -> Vec<(f64, f64)> {
        let mut cuts: Vec<f64> = self
            .edges
            .iter()
            .filter(|edge| (edge.start.y <= y) != (edge.end.y <= y))
            .map(|edge| edge.start.x + edge.step().x * (y - edge.start.y) / edge.step().y)
            .collect();
        cuts.sort_by(f64::total_cmp);
        cuts.chunks_exact(2).map(|pair| (pair[0], pair[1])).filter(|(from, to)| to > from).collect()
    }

    /// The intervals over which the floor goes on from one y to another, higher one.
    pub fn through(&self, low: f64, high: f64) -> Vec<(f64, f64)> {
        let mut free = both(&self.intervals(low), &self.intervals(high));
        for edge in &self.edges {
            let (from, to) = (edge.start.y.min(edge.end.y), edge.start.y.max(edge.end.y));
            if to <= low + GRAZE || from >= high - GRAZE {
                continue;
            }
            let x = |y: f64| {
                let step = edge.step();
                if step.y == 0.0 { edge.start.x } else { edge.start.x + step.x * (y - edge.start.y) / step.y }
            };
            let (one, other) = match edge.step().y == 0.0 {
                true => (edge.start.x, edge.end.x),
                false => (x(from.max(low)), x(to.min(high))),
            };
            free = without(&free, one.min(other), one.max(other));
        }
        free
    }

    /// Where rows lie: `pitch` apart or a little more or less, but no less than `least` and no more than `most`, so that they lie half a spacing
    /// from edges along x: as is best, then with one row more or less below some of the longest edges, since it is by their number that a
    /// cable ends on one side or the other. Round small places rows are led aside by `aside` mm at the most.
    pub fn lines(&self, pitch: f64, least: f64, most: f64, aside: f64) -> Vec<Vec<f64>> {
        let Some(places) = Places::new(self, pitch, least, most, aside) else { return Vec::new() };
        let mut pivots: Vec<f64> = Vec::new();
        let mut brinks: Vec<&Brink> = self.brinks.iter().collect();
        brinks.sort_by(|a, b| b.length.total_cmp(&a.length).then(a.y.total_cmp(&b.y)));
        for brink in brinks {
            let inner = brink.y > self.low + pitch && brink.y < self.high - pitch;
            let known = pivots.iter().any(|y| (y - brink.y).abs() < pitch);
            if inner && !known && pivots.len() < MOST_PIVOTS {
                pivots.push(brink.y);
            }
        }
        let mut ways = vec![places.rows(&[])];
        for parities in 0..1_usize << pivots.len() {
            let wanted: Vec<(f64, bool)> =
                pivots.iter().enumerate().map(|(bit, y)| (*y, parities >> bit & 1 == 1)).collect();
            if !wanted.is_empty() {
                ways.push(places.rows(&wanted));
            }
        }
        // The best one comes again with the numbers that it has.
        let mut each: Vec<Vec<f64>> = Vec::new();
        for rows in ways {
            if !rows.is_empty() && !each.contains(&rows) {
                each.push(rows);
            }
        }
        each
    }

    /// What it costs, in mm2 of floor heated badly, that two rows follow each other: how far edges between them lie from half a spacing.
    fn cost(&self, below: Option<f64>, above: Option<f64>, pitch: f64, most: f64) -> f64 {
        let (low, high) = (below.unwrap_or(f64::NEG_INFINITY), above.unwrap_or(f64::INFINITY));
        let from = self.brinks.partition_point(|brink| brink.y <= low - SAME);
        let between = self.brinks[from..].iter().take_while(|brink| brink.y < high + SAME);
        let brinks: f64 = between
            .map(|brink| {
                let near = if brink.floor_above { high - brink.y } else { brink.y - low };
                if near.is_finite() { brink.length * (near - pitch / 2.0).abs() } else { 0.0 }
            })
            .sum();
        let aside = self.spots.iter().map(|(y, radius)| {
            // Each row is led aside as far as it lies nearer.
            let aside = (radius - (high - y).abs()).max(0.0);
            aside * aside * ASIDE + if aside > most { TOO_FAR } else { 0.0 }
        });
        if high.is_finite() { brinks + aside.sum::<f64>() } else { brinks }
    }
}

/// Places for rows, and what it costs that one follows another.
struct Places {
    origin: f64,
    unit: f64,
    count: usize,
    /// How many units there may be from one row to the next.
    gaps: Vec<usize>,
    /// Of each place what it costs to begin there, to end there, and to come there over each of the gaps.
    first: Vec<f64>,
    last: Vec<f64>,
    steps: Vec<f64>,
    /// What it costs that a gap is another than the one before.
    change: f64,
}

impl Places {
    /// Places a twentieth of the pitch apart, from a whole millimetre on.
    fn new(ground: &Ground, pitch: f64, least: f64, most: f64, aside: f64) -> Option<Self> {
        let unit = pitch / GRAIN as f64;
        let origin = ground.low.ceil();
        let count = ((ground.high - origin) / unit).floor();
        if !(1.0..=MOST_PLACES).contains(&count) {
            return None;
        }
        let count = count as usize + 1;
        let fits = |gap: &usize| (least..=most).contains(&(*gap as f64 * unit)) || *gap == GRAIN;
        let gaps: Vec<usize> = (GRAIN - REACH..=GRAIN + REACH).filter(fits).collect();
        let place = |index: usize| origin + index as f64 * unit;
        let longest = ground.brinks.iter().map(|brink| brink.length).fold(1000.0, f64::max);
        let uneven = |gap: usize| {
            let off = gap.abs_diff(GRAIN) as f64;
            UNEVEN * longest * off * off.sqrt() * unit
        };
        let mut steps = Vec::with_capacity(count * gaps.len());
        for index in 0..count {
            steps.extend(gaps.iter().map(|gap| match index.checked_sub(*gap) {
                Some(before) => ground.cost(Some(place(before)), Some(place(index)), pitch, aside) + uneven(*gap),
                None => f64::INFINITY,
            }));
        }
        let first =
            (0..count.min(GRAIN + 1)).map(|index| ground.cost(None, Some(place(index)), pitch, aside)).collect();
        let last = (0..count).map(|index| match index + GRAIN + REACH >= count {
            true => ground.cost(Some(place(index)), None, pitch, aside),
            false => f64::INFINITY,
        });
        Some(Places { origin, unit, count, first, last: last.collect(), steps, gaps, change: CHANGE * longest * pitch })
    }

    fn at(&self, index: usize) -> f64 {
        self.origin + index as f64 * self.unit
    }

    /// The rows that cost the least, with an odd or an even number of them below some edges. Nothing where there are none.
    fn rows(&self, parities: &[(f64, bool)]) -> Vec<f64> {
        // The least cost of a row at a place, with the gap below it and whether it is an even or an odd one, and where that comes from.
        let (states, each) = (self.gaps.len() * 2, self.gaps.len());
        let mut best = vec![(f64::INFINITY, usize::MAX); self.count * states];
        // The first row is an odd one, so that none lies below it.
        for (index, first) in self.first.iter().enumerate() {
            if parities.iter().all(|(y, odd)| self.at(index) <= *y || !odd) {
                (0..each).for_each(|gap| best[index * states + gap * 2 + 1] = (*first, usize::MAX));
            }
        }
        // Of each place and kind of row the least cost over all gaps below it, so that a change of gaps needs no look at each.
        let mut least = vec![(f64::INFINITY, usize::MAX); self.count * 2];
        for (index, first) in self.first.iter().enumerate() {
            if best[index * states + 1].0.is_finite() {
                least[index * 2 + 1] = (*first - self.change, index * states + 1);
            }
        }
        for index in 0..self.count {
            for (number, gap) in self.gaps.iter().enumerate() {
                let Some(before) = index.checked_sub(*gap) else { continue };
                let step = self.steps[index * each + number];
                let (low, high) = (self.at(before), self.at(index));
                for odd in 0..2 {
                    // The row before is the last one below the edge.
                    if parities.iter().any(|(y, wanted)| low < *y && *y <= high && *wanted != (odd == 0)) {
                        continue;
                    }
                    let own = index * states + number * 2 + odd;
                    let same = before * states + number * 2 + 1 - odd;
                    let (other, from) = least[before * 2 + 1 - odd];
                    let (sofar, from) = if best[same].0 <= other + self.change {
                        (best[same].0, same)
                    } else {
                        (other + self.change, from)
                    };
                    if sofar + step < best[own].0 {
                        best[own] = (sofar + step, from);
                        if sofar + step < least[index * 2 + odd].0 {
                            least[index * 2 + odd] = (sofar + step, own);
                        }
                    }
                }
            }
        }
        let ends = (0..self.count * states).map(|own| (best[own].0 + self.last[own / states], own));
        let end = ends.filter(|(cost, _)| cost.is_finite()).min_by(|a, b| a.0.total_cmp(&b.0));
        let Some((_, mut own)) = end else { return Vec::new() };
        let mut rows = vec![self.at(own / states)];
        while best[own].1 != usize::MAX {
            own = best[own].1;
            rows.push(self.at(own / states));
        }
        rows.reverse();
        rows
    }
}

/// Into how many parts a spacing is divided to find places for rows, and by how many a gap may be less or more.
const GRAIN: usize = 20;
const REACH: usize = 4;
/// What a gap that isn't the pitch costs, and what a change of gaps does, as shares of the floor concerned.
const UNEVEN: f64 = 0.3;
const CHANGE: f64 = 0.06;
/// What it costs to lead a row aside, for the square of how far.
const ASIDE: f64 = 120.0;
/// What it costs to lead a row farther aside than its neighbours leave room for, mm2.
const TOO_FAR: f64 = 1e7;
/// For how many edges it is tried with one row more or less below them.
const MOST_PIVOTS: usize = 3;
/// The most places that rows are looked for at: a hall of 300 m laid at 50 mm.
const MOST_PLACES: f64 = 120_000.0;
/// What edges may reach into a strip unheeded, mm, and what is taken to be one place.
const GRAZE: f64 = 0.02;
const ON_EDGE: f64 = 0.5;
/// How far ends of rows may be drawn in so that they lie on one line, mm.
pub(super) const EVEN: f64 = 60.0;
const SAME: f64 = 0.01;

/// A point without what boolean operations on polygons add to its digits.
fn tidied(point: Point) -> Point {
    let near = |value: f64| if (value - value.round()).abs() < GRAZE { value.round() } else { value };
    Point { x: near(point.x), y: near(point.y) }
}

/// What two lists of intervals share.
fn both(one: &[(f64, f64)], other: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut shared = Vec::new();
    let (mut i, mut j) = (0, 0);
    while let (Some(a), Some(b)) = (one.get(i), other.get(j)) {
        let (from, to) = (a.0.max(b.0), a.1.min(b.1));
        if from < to {
            shared.push((from, to));
        }
        if a.1 < b.1 { i += 1 } else { j += 1 }
    }
    shared
}

/// Intervals without another; one of no width divides them.
fn without(intervals: &[(f64, f64)], from: f64, to: f64) -> Vec<(f64, f64)> {
    let parts = intervals.iter().flat_map(|(a, b)| {
        if to <= a + GRAZE || from >= b - GRAZE { [(*a, *b), (0.0, 0.0)] } else { [(*a, from), (to, *b)] }
    });
    parts.filter(|(a, b)| b - a > GRAZE).collect()
}
