//! How much of a floor a way leaves bare, roughly and fast: by points on a grid.

use geo::MultiPolygon;

use super::frame::Frame;
use super::rows::Ground;
use crate::geometry::{Bounds, Piece, Point};

/// A floor's points, against which ways over it are held.
#[derive(Debug)]
pub struct Grid {
    origin: Point,
    step: f64,
    wide: usize,
    high: usize,
    /// Those that lie on the floor.
    floor: Vec<bool>,
    count: usize,
}

/// The most points a grid has.
const MOST_POINTS: f64 = 60_000.0;

/// So that what lies right on a point counts.
const TINY: f64 = 1e-9;

/// What a way leaves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Left {
    /// The share of the floor farther off than what is near.
    pub bare: f64,
    /// The share of it farther off than what is far.
    pub cold: f64,
}

impl Grid {
    /// Points of a floor as a frame shows it, about `step` mm apart; floor no wider than `slim` mm, along or across, has none.
    pub fn new(open: &MultiPolygon<f64>, frame: Frame, step: f64, slim: f64) -> Self {
        let ground = Ground::new(open, &[], frame);
        let xs = || ground.edges().iter().flat_map(|edge| [edge.start.x, edge.end.x]);
        let (left, right) = (xs().fold(f64::INFINITY, f64::min), xs().fold(f64::NEG_INFINITY, f64::max));
        let (across, along) = ((ground.high - ground.low).max(0.0), (right - left).max(0.0));
        let step = step.max((across * along / MOST_POINTS).sqrt()).max(1.0);
        let (wide, high) = ((along / step) as usize + 1, (across / step) as usize + 1);
        let origin = Point { x: left, y: ground.low };
        let mut grid = Grid { origin, step, wide, high, floor: vec![false; wide * high], count: 0 };
        let within = |intervals: &[(f64, f64)], at: f64| {
            intervals.iter().any(|(from, to)| (*from..=*to).contains(&at) && to - from > slim)
        };
        for row in 0..high {
            let intervals = ground.intervals(grid.at(row * wide).y);
            (0..wide).for_each(|column| {
                let cell = row * wide + column;
                grid.floor[cell] = within(&intervals, grid.at(cell).x);
            });
        }
        let square = Frame::along(frame.back(Point { x: 0.0, y: 1.0 }));
        let ground = Ground::new(open, &[], square);
        for column in 0..wide {
            let seen = |cell: usize| square.turned(frame.back(grid.at(cell)));
            let intervals = ground.intervals(seen(column).y);
            let slim: Vec<usize> = (0..high)
                .map(|row| row * wide + column)
                .filter(|cell| grid.floor[*cell] && !within(&intervals, seen(*cell).x))
                .collect();
            slim.into_iter().for_each(|cell| grid.floor[cell] = false);
        }
        grid.count = grid.floor.iter().filter(|on| **on).count();
        grid
    }

    /// What lies farther from a line than `near` and than `far` mm, in shares of the floor.
    pub fn left(&self, line: &[Point], near: f64, far: f64) -> Left {
        let bare = self.beyond(line, near);
        Left { bare, cold: if bare > 0.0 { self.beyond(line, far) } else { 0.0 } }
    }

    /// The share of the floor farther than `far` mm from a line.
    pub fn beyond(&self, line: &[Point], far: f64) -> f64 {
        self.unreached(line, far).iter().filter(|left| **left).count() as f64 / self.count.max(1) as f64
    }

    fn unreached(&self, line: &[Point], far: f64) -> Vec<bool> {
        let mut left = self.floor.clone();
        Piece::of_line(line).for_each(|piece| self.reach(&mut left, piece, far));
        left
    }

    /// The points of the floor farther than `far` mm from a line.
    pub fn points_beyond(&self, line: &[Point], far: f64) -> Vec<Point> {
        let left = self.unreached(line, far);
        (0..left.len()).filter(|cell| left[*cell]).map(|cell| self.at(cell)).collect()
    }

    /// Boxes around the points of the floor farther than `far` mm from a line, each about `wide` mm wide at the most.
    pub fn boxes_beyond(&self, line: &[Point], far: f64, wide: f64) -> Vec<Bounds> {
        let mut boxes: Vec<((i64, i64), Bounds)> = Vec::new();
        for point in self.points_beyond(line, far) {
            let place = ((point.x / wide).floor() as i64, (point.y / wide).floor() as i64);
            match boxes.iter_mut().rev().find(|(known, _)| *known == place) {
                Some((_, bounds)) => *bounds = bounds.with(Bounds::at(point)),
                None => boxes.push((place, Bounds::at(point))),
            }
        }
        boxes.into_iter().map(|(_, bounds)| bounds).collect()
    }

    /// How much floor a share of it is, mm2.
    pub fn area(&self, share: f64) -> f64 {
        share * self.count as f64 * self.step * self.step
    }

    /// How much floor so many points stand for, mm2.
    pub fn area_of(&self, points: usize) -> f64 {
        points as f64 * self.step * self.step
    }

    /// How far apart points are, mm.
    pub fn step(&self) -> f64 {
        self.step
    }

    fn at(&self, cell: usize) -> Point {
        Point { x: (cell % self.wide) as f64 + 0.5, y: (cell / self.wide) as f64 + 0.5 } * self.step + self.origin
    }

    /// Strikes out the points within some distance of a piece.
    fn reach(&self, left: &mut [bool], piece: Piece, radius: f64) {
        // A cast rounds down, and much faster than `floor` does.
        let from = |value: f64, count: usize| ((value + 0.5 - TINY).max(0.0) as usize).min(count);
        let to = |value: f64, count: usize| ((value + 0.5).max(0.0) as usize).min(count);
        let bounds = piece.bounds();
        let (low, high) = (bounds.low - self.origin, bounds.high - self.origin);
        let square = piece.start.x == piece.end.x || piece.start.y == piece.end.y;
        for row in from((low.y - radius) / self.step, self.high)..to((high.y + radius) / self.step, self.high) {
            let y = (row as f64 + 0.5) * self.step;
            // Along the grid what is near is one stretch of a row, to its round ends; else each point is asked.
            let off = if square { (low.y - y).max(y - high.y).max(0.0) } else { 0.0 };
            let aside = (radius * radius - off * off).max(0.0).sqrt();
            let first = from((low.x - aside) / self.step, self.wide);
            let (from, to) = (first, to((high.x + aside) / self.step, self.wide).max(first));
            let (from, to) = (row * self.wide + from, row * self.wide + to);
            if square {
                left[from..to].fill(false);
            } else {
                (from..to).for_each(|cell| left[cell] = left[cell] && piece.distance(self.at(cell)) > radius);
            }
        }
    }
}
