//! Goes through the spacings at which a cable could lie on a floor, the widest first, and the ways at each.

use geo::{Area as _, MultiPolygon};

use super::bare::Grid;
use super::cells::Field;
use super::fit::{Cable, Floor, Layout, Trial};
use super::frame::Frame;
use super::mend::Mender;
use super::rows::Ground;
use super::until::Until;
use crate::geometry::Point;

/// Into how many parts a spacing is divided to look for bare floor.
const POINTS: f64 = 3.0;

/// How much less than wider rows may lie closer: what counts is how far the widest and the closest lie apart.
const CLOSER: f64 = 0.625;

/// How far runs are led aside at the most, in spacings.
pub(super) const MOST_ASIDE: f64 = 1.1;

/// The spacings tried, as shares of what the floor has for each length of cable, and from one to the next, mm.
const WIDEST: f64 = 1.12;
const FILLED_WIDEST: f64 = 1.04;
const CLOSEST: f64 = 0.78;
const EVERY: f64 = 2.0;

/// The least share of a cable that rows alone take where the rest fills what they leave bare.
const LEAST_REACH: f64 = 0.85;

/// How many spacings at which the kit fits are looked at.
const SPACINGS: usize = 9;
/// How many ways of one spacing and one set of rows are looked at before those of the next.
const OF_ONE: usize = 2;
/// How many layouts of a spacing and of them all are looked at that leave floor cold whatever is made of them, so that it can be mended or shown
/// where.
const COLD_AT_ONCE: usize = 3;
const COLD_ONES: usize = 24;

/// The ways in which a cable can be laid on a floor with its runs along a direction.
pub struct Search {
    frame: Frame,
    cable: Cable,
    filled: usize,
    /// The floor with small round places that runs are led round where their spacing leaves room for that, then without: there they end before them.
    grounds: Vec<(Ground, Vec<(Point, f64)>)>,
    grid: Grid,
    /// What the floor has for each length of cable, mm.
    ideal: f64,
    /// The next spacing, and the last, mm.
    pitch: f64,
    last: f64,
    /// At how many spacings it was found to fit.
    fitting: usize,
    cold_ones: usize,
}

impl Search {
    /// One that is yet to begin. Where rows alone don't do, what they leave bare is filled besides, for `filled` lines through each set of rows;
    /// `open` is all the floor that is not to stay cold.
    pub fn new(floor: &Floor, open: &MultiPolygon<f64>, frame: Frame, cable: Cable, filled: usize) -> Self {
        let ideal = floor.without_spots.unsigned_area() / cable.length;
        let parted = Ground::new(&floor.without_spots, &[], frame);
        let grid = Grid::new(open, frame, ideal / POINTS, cable.slim);
        let mut grounds = vec![(parted, Vec::new())];
        if !floor.spots.is_empty() {
            let turned = floor.spots.iter().map(|(at, radius)| (frame.turned(*at), *radius)).collect();
            grounds.insert(0, (Ground::new(&floor.with_spots, &floor.spots, frame), turned));
        }
        let widest = if filled > 0 { FILLED_WIDEST } else { WIDEST };
        let pitch = ((ideal * widest).min(cable.spacing.1) / EVERY).floor() * EVERY;
        let last = (ideal * CLOSEST).max(least(cable));
        Search { frame, cable, filled, grounds, grid, ideal, pitch, last, fitting: 0, cold_ones: 0 }
    }

    /// The ways at the next spacing at which there are any, best first; nothing once all are done, or time is up.
    pub fn next(&mut self, until: Until<'_>) -> Option<Vec<Layout>> {
        while self.pitch >= self.last - EVERY
            && self.pitch >= least(self.cable)
            && self.fitting < SPACINGS
            && !until.is_over()
        {
            let found = self.at(self.pitch, until);
            self.pitch -= EVERY;
            if !found.is_empty() {
                self.fitting += 1;
                return Some(found);
            }
        }
        None
    }

    /// Which way its rows go.
    pub fn frame(&self) -> Frame {
        self.frame
    }

    /// Layouts that differ from one of its own a little near some places.
    pub fn changed(&self, layout: &Layout, places: &[Point]) -> Vec<Layout> {
        let Some((ground, spots)) = self.grounds.first() else { return Vec::new() };
        let (frame, grid, cable) = (self.frame, &self.grid, self.cable);
        Mender { frame, ground, grid, spots, cable, pitch: layout.pitch }.changed(layout, places)
    }

    /// The ways at one spacing.
    fn at(&mut self, pitch: f64, until: Until<'_>) -> Vec<Layout> {
        let (cable, filled, give) = (self.cable, self.filled, self.cable.uneven);
        let closest = least(cable).max(pitch * (1.0 - give * CLOSER));
        let widest = cable.spacing.1.min(pitch * (1.0 + give));
        let mut groups: Vec<Vec<Layout>> = Vec::new();
        for (ground, spots) in &self.grounds {
            for lines in ground.lines(pitch, closest, widest, pitch * MOST_ASIDE) {
                let field = Field::new(ground, pitch, &lines);
                // Each row but the last goes with a turn.
                let reach = field.length() + field.pitch * field.rows.len() as f64;
                if reach < cable.length * if filled > 0 { LEAST_REACH } else { 1.0 - cable.over } {
                    continue;
                }
                let cold_ones = COLD_ONES.saturating_sub(self.cold_ones).min(COLD_AT_ONCE);
                let trial = Trial {
                    frame: self.frame,
                    ground,
                    grid: &self.grid,
                    field: &field,
                    spots,
                    cable,
                    filled,
                    cold_ones,
                    until,
                };
                let found = trial.fitted(self.ideal);
                self.cold_ones += found.iter().filter(|layout| layout.cold).count();
                groups.push(found);
            }
        }
        varied(groups)
    }
}

/// How near its runs may lie for what it is bent to, mm.
fn least(cable: Cable) -> f64 {
    cable.spacing.0.max(2.0 * cable.bend_radius)
}

/// Layouts of several groups, the best first, no more than a few of a group before those of the next.
fn varied(groups: Vec<Vec<Layout>>) -> Vec<Layout> {
    let mut all: Vec<(usize, Layout)> = Vec::new();
    for mut group in groups {
        group.sort_by(|a, b| b.merit.total_cmp(&a.merit));
        group.dedup_by(|a, b| a.line == b.line);
        all.extend(group.into_iter().enumerate().map(|(rank, layout)| (rank / OF_ONE, layout)));
    }
    all.sort_by(|a, b| a.0.cmp(&b.0).then(b.1.merit.total_cmp(&a.1.merit)));
    all.into_iter().map(|(_, layout)| layout).collect()
}
