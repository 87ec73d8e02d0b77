//! How runs lie to the levels of a floor.

use super::TOUCH;
use super::zones::Zone;
use crate::geometry::{along, distance};
use crate::model::{Point, Run};

/// The levels of a room: areas above or below the rest, and stairs. Where two overlap, the one drawn last is on top.
pub struct Levels<'a> {
    zones: Vec<(&'a Zone, Option<f64>)>,
}

/// What a point lies on.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Ground {
    /// At this height over the rest of the floor, mm.
    Height(f64),
    Stairs,
    /// On the edge of a level, where either is right.
    Edge,
}

impl<'a> Levels<'a> {
    /// The levels among zones, each with its height (mm; none for stairs), in the order drawn.
    pub fn new(zones: impl Iterator<Item = (&'a Zone, Option<f64>)>) -> Self {
        Levels { zones: zones.collect() }
    }

    /// Whether the room has but one level.
    pub fn is_empty(&self) -> bool {
        self.zones.is_empty()
    }

    /// For each run of a cable, the length of it on another level than the cable's start, or on stairs, mm. Along the edge of a level
    /// it counts as on either.
    pub fn lengths_off(&self, runs: &[Run]) -> Vec<f64> {
        let mut home = None;
        let mut lengths = Vec::with_capacity(runs.len());
        for run in runs {
            let mut off = 0.0;
            for (length, ground) in self.stretches(run.start, run.end) {
                if let (None, Ground::Height(_)) = (home, ground) {
                    home = Some(ground);
                }
                if ground == Ground::Stairs || (ground != Ground::Edge && Some(ground) != home) {
                    off += length;
                }
            }
            lengths.push(if off <= TOUCH { 0.0 } else { off });
        }
        lengths
    }

    /// The stretches of a piece between the edges of levels, each with what it lies on.
    fn stretches(&self, a: Point, b: Point) -> Vec<(f64, Ground)> {
        let mut cuts = vec![0.0, 1.0];
        for (zone, _) in &self.zones {
            zone.cuts(a, b, &mut cuts);
        }
        cuts.sort_by(f64::total_cmp);
        let length = distance(a, b);
        let stretches = cuts.windows(2).filter(|pair| (pair[1] - pair[0]) * length > 1e-9);
        stretches
            .map(|pair| ((pair[1] - pair[0]) * length, self.ground(along(a, b, f64::midpoint(pair[0], pair[1])))))
            .collect()
    }

    fn ground(&self, point: Point) -> Ground {
        if self.zones.iter().any(|(zone, _)| zone.edge_distance(point) <= TOUCH) {
            return Ground::Edge;
        }
        match self.zones.iter().rev().find(|(zone, _)| zone.contains(point)) {
            Some((_, Some(height))) => Ground::Height(*height),
            Some((_, None)) => Ground::Stairs,
            None => Ground::Height(0.0),
        }
    }
}
