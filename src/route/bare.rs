//! How much of a floor a way leaves bare, roughly and fast: by points on a grid.

use super::rows::Ground;
use crate::geometry::{Piece, Point};

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

/// What a way leaves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Left {
    /// The share of the floor farther off than what is near.
    pub bare: f64,
    /// The share of it farther off than what is far.
    pub cold: f64,
}

impl Grid {
    /// Points about `step` mm apart.
    pub fn new(ground: &Ground, step: f64) -> Self {
        let xs = || ground.edges().iter().flat_map(|edge| [edge.start.x, edge.end.x]);
        let (left, right) = (xs().fold(f64::INFINITY, f64::min), xs().fold(f64::NEG_INFINITY, f64::max));
        let (across, along) = ((ground.high - ground.low).max(0.0), (right - left).max(0.0));
        let step = step.max((across * along / MOST_POINTS).sqrt()).max(1.0);
        let (wide, high) = ((along / step) as usize + 1, (across / step) as usize + 1);
        let origin = Point { x: left, y: ground.low };
        let mut floor = vec![false; wide * high];
        for row in 0..high {
            for (from, to) in ground.intervals(origin.y + (row as f64 + 0.5) * step) {
                let place = |x: f64| ((x - origin.x) / step - 0.5).max(0.0);
                let (from, to) = (place(from).ceil() as usize, place(to).floor() as usize);
                floor[row * wide..(row + 1) * wide].iter_mut().take(to + 1).skip(from).for_each(|on| *on = true);
            }
        }
        let count = floor.iter().filter(|on| **on).count();
        Grid { origin, step, wide, high, floor, count }
    }

    /// What lies farther from a line than `near` and than `far` mm, in shares of the floor.
    pub fn left(&self, line: &[Point], near: f64, far: f64) -> Left {
        let share = |radius: f64| {
            let reached = self.reached(line, radius);
            let left = self.floor.iter().zip(&reached).filter(|(on, reached)| **on && !**reached).count();
            left as f64 / self.count.max(1) as f64
        };
        let bare = share(near);
        Left { bare, cold: if bare > 0.0 { share(far) } else { 0.0 } }
    }

    /// The points within some distance of a line.
    fn reached(&self, line: &[Point], radius: f64) -> Vec<bool> {
        let mut reached = vec![false; self.floor.len()];
        let place = |value: f64, count: usize| (value.max(0.0) as usize).min(count);
        for piece in Piece::of_line(line) {
            let bounds = piece.bounds().widened(radius);
            let low = (bounds.low - self.origin) / self.step;
            let top = (bounds.high - self.origin) / self.step;
            for row in place((low.y - 0.5).ceil(), self.high)..place((top.y + 0.5).floor(), self.high) {
                for column in place((low.x - 0.5).ceil(), self.wide)..place((top.x + 0.5).floor(), self.wide) {
                    let cell = row * self.wide + column;
                    if self.floor[cell] && !reached[cell] {
                        let at = Point { x: column as f64 + 0.5, y: row as f64 + 0.5 } * self.step + self.origin;
                        reached[cell] = piece.distance(at) <= radius;
                    }
                }
            }
        }
        reached
    }
}
