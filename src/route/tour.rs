//! In which order a cable goes through the cells of a field. Cells on its path it crosses to and fro, from one side to the other; whatever lies
//! beside the path it goes into and comes out of where it went in. Either way it never crosses itself.

use std::collections::VecDeque;

use super::cells::{Field, Joined};
use super::until::Until;
use crate::geometry::Point;

/// The left or the right end of a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// Where x is least.
    Left,
    /// Where it is greatest.
    Right,
}

impl Side {
    /// The other one.
    pub fn other(self) -> Side {
        match self {
            Side::Left => Side::Right,
            Side::Right => Side::Left,
        }
    }
}

/// A cell that is crossed once.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Leg {
    /// The cell (an index).
    pub cell: usize,
    /// Whether it is gone through from the lowest row to the highest.
    pub up: bool,
    /// At which end of its first row the cable comes in.
    pub side: Side,
}

/// A cell that is gone into and out of by a pair of pieces across from a row of another.
#[derive(Debug, Clone, PartialEq)]
pub struct Hung {
    /// Its rows from the nearest to the other cell on; even in number.
    pub rows: Vec<usize>,
    /// The row that it hangs on.
    pub on: usize,
    /// From where to where pieces across may lie.
    pub from: f64,
    /// To where.
    pub to: f64,
}

/// A cable's way through a field.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tour {
    /// The cells that are crossed, in order.
    pub path: Vec<Leg>,
    /// Rows of a cell that is gone round instead, so that the cable comes back to where it starts: it starts on the first of the two with these
    /// indices among them. The path is empty then.
    pub round: Option<(Vec<usize>, usize)>,
    /// Those beside it, each after the one that it hangs on.
    pub hung: Vec<Hung>,
    /// The row of the first cell (its place among those) beside whose end the cable starts, to go along the side of the cell first.
    pub lead: Option<usize>,
    /// At which end cells that are gone into are open for preference.
    pub inner: Option<Side>,
    /// Length of rows that are not reached, mm.
    pub missed: f64,
    /// How many rows are left out in the middle, so that their neighbours lie two spacings apart.
    pub gaps: usize,
}

impl Tour {
    /// How many cells are gone into by pairs of pieces across so short that runs before and behind them lie no farther apart than `far` mm.
    pub fn slots(&self, field: &Field, far: f64) -> usize {
        let short = |hung: &&Hung| {
            let ends = hung.rows.first().zip(hung.rows.last());
            ends.is_some_and(|(near, last)| {
                (field.rows[*near].y - field.rows[*last].y).abs() + 2.0 * field.pitch <= far
            })
        };
        self.hung.iter().filter(short).count()
    }
}

/// How many paths are followed up in one field.
const MOST_PATHS: usize = 400;

/// The ways through a field from where a cable may start, those first that miss the least, then those that go into the fewest cells.
pub fn tours(field: &Field, most: usize, near: &dyn Fn(Point) -> f64, until: Until<'_>) -> Vec<Tour> {
    // Each with the length of rows that its turns leave out.
    let mut paths: Vec<(Vec<Leg>, f64)> = Vec::new();
    // Explicitly stacked: a plan may have any number of cells.
    let mut open: Vec<(Vec<Leg>, f64)> = Vec::new();
    let mut leads: Vec<(Leg, usize)> = Vec::new();
    for cell in 0..field.cells.len() {
        for (up, side) in [(true, Side::Left), (true, Side::Right), (false, Side::Left), (false, Side::Right)] {
            let rows = &field.cells[cell];
            let first = if up { rows.first() } else { rows.last() };
            let off = first.map_or(f64::INFINITY, |row| near(field.rows[*row].end(side)));
            let leg = Leg { cell, up, side };
            if off <= 1.0 {
                open.push((vec![leg], 0.0));
            }
            // From the middle of a side it first goes along that to where its rows begin.
            if let Some(row) = lead(field, leg, near).filter(|_| off > CLOSE) {
                leads.push((leg, row));
            }
        }
    }
    while let Some((path, missed)) = open.pop() {
        if paths.len() >= MOST_PATHS {
            break;
        }
        open.extend(onward(field, &path).into_iter().map(|(path, more)| (path, missed + more)));
        paths.push((path, missed));
    }
    let in_time = |_: &(Vec<Leg>, f64)| !until.is_over();
    let paths = paths.into_iter().take_while(in_time);
    let mut tours: Vec<Tour> = paths.map(|(path, missed)| with_the_rest(field, path, missed)).collect();
    for (leg, row) in leads {
        let mut open = vec![(vec![leg], 0.0)];
        while let Some((path, missed)) = open.pop() {
            if tours.len() >= 2 * MOST_PATHS || until.is_over() {
                break;
            }
            open.extend(onward(field, &path).into_iter().map(|(path, more)| (path, missed + more)));
            tours.push(Tour { lead: Some(row), ..with_the_rest(field, path, missed) });
        }
    }
    tours.retain(|tour| tour.gaps == 0);
    let key = |tour: &Tour| (tour.missed.round() as i64, tour.hung.len(), tour.path.len());
    tours.sort_by_key(key);
    tours.truncate(most);
    tours
}

/// How near a cable's start is as good as anywhere, as a share of how far its tail reaches.
const CLOSE: f64 = 0.6;

/// The row (its place among those of the first cell, an even one) beside which a cable starts that first goes along the side of that cell.
fn lead(field: &Field, leg: Leg, near: &dyn Fn(Point) -> f64) -> Option<usize> {
    let cell = &field.cells[leg.cell];
    let row = |place: usize| {
        if leg.up { cell.get(place) } else { cell.len().checked_sub(place + 1).and_then(|at| cell.get(at)) }
    };
    let off = |place: &usize| row(*place).map_or(f64::INFINITY, |row| near(field.rows[*row].end(leg.side)));
    let best = (2..cell.len()).step_by(2).min_by(|a, b| off(a).total_cmp(&off(b)))?;
    (off(&best) <= 1.0).then_some(best)
}

/// The ways through a field that come back to where they start, begun at any pair of rows of a cell that lies near enough to where it is to start.
pub fn rounds(field: &Field, most: usize, near: &dyn Fn(Point) -> f64, until: Until<'_>) -> Vec<Tour> {
    let mut tours = Vec::new();
    for cell in &field.cells {
        let upward = cell.clone();
        let downward: Vec<usize> = cell.iter().rev().copied().collect();
        for mut rows in [upward, downward] {
            rows.truncate(rows.len() / 2 * 2);
            for pair in 0..rows.len() / 2 {
                let row = &field.rows[rows[2 * pair]];
                if until.is_over() || near(row.end(Side::Left)).min(near(row.end(Side::Right))) > 1.0 {
                    continue;
                }
                let mut tour = Tour { round: Some((rows.clone(), 2 * pair)), ..Tour::default() };
                hang(field, &mut tour);
                tours.push(tour);
            }
        }
    }
    tours.retain(|tour: &Tour| tour.gaps == 0);
    tours.sort_by_key(|tour| (tour.missed.round() as i64, tour.hung.len()));
    tours.truncate(most);
    tours
}

/// The longer paths that a path goes on to, each with the length of rows that its last turn leaves out.
fn onward(field: &Field, path: &[Leg]) -> Vec<(Vec<Leg>, f64)> {
    let Some(leg) = path.last() else { return Vec::new() };
    let rows = &field.cells[leg.cell];
    let side = if rows.len() % 2 == 1 { leg.side.other() } else { leg.side };
    let Some(last) = (if leg.up { rows.last() } else { rows.first() }) else { return Vec::new() };
    let nexts = if leg.up { field.above(*last) } else { field.below(*last) };
    let mut longer = Vec::new();
    for joint in nexts {
        let next = if leg.up { joint.high } else { joint.low };
        let cell = field.cell_of[next];
        let first = if leg.up { field.cells[cell].first() } else { field.cells[cell].last() };
        if first != Some(&next) {
            continue;
        }
        let left_out = [*last, next].iter().map(|row| overhang(field, joint, *row, side)).sum();
        if path.iter().all(|leg| leg.cell != cell) {
            let mut path = path.to_vec();
            path.push(Leg { cell, up: leg.up, side });
            longer.push((path, left_out));
        }
    }
    longer
}

/// How far a row reaches beyond where it can be joined to another.
fn overhang(field: &Field, joint: &Joined, row: usize, side: Side) -> f64 {
    let row = &field.rows[row];
    match side {
        Side::Left => joint.from - row.from,
        Side::Right => row.to - joint.to,
    }
}

fn with_the_rest(field: &Field, path: Vec<Leg>, missed: f64) -> Tour {
    let mut tour = Tour { path, ..Tour::default() };
    hang(field, &mut tour);
    tour.missed += missed;
    tour
}

/// Hangs the cells beside a path, and those beside them, on it.
fn hang(field: &Field, tour: &mut Tour) {
    let mut reached = vec![false; field.cells.len()];
    // Rows that others may hang on, each with the one that stands in its place where it is left out.
    let mut ends: VecDeque<(usize, Option<usize>)> = VecDeque::new();
    let mut laid = vec![false; field.rows.len()];
    for leg in &tour.path {
        reached[leg.cell] = true;
        let rows = &field.cells[leg.cell];
        rows.iter().for_each(|row| laid[*row] = true);
        ends.extend([rows.first(), rows.last()].into_iter().flatten().map(|row| (*row, None)));
    }
    if let Some((rows, _)) = &tour.round {
        rows.iter().for_each(|row| laid[*row] = true);
        let cell = field.cell_of[rows[0]];
        reached[cell] = true;
        ends.extend(far_ends(&field.cells[cell], rows));
        ends.push_back((rows[0], None));
    }
    while let Some((end, through)) = ends.pop_front() {
        let own = through.unwrap_or(end);
        for joint in field.below(own).iter().chain(field.above(own)) {
            let up = joint.low == own;
            let near = if up { joint.high } else { joint.low };
            let cell = field.cell_of[near];
            let first = if up { field.cells[cell].first() } else { field.cells[cell].last() };
            if reached[cell] || first != Some(&near) {
                continue;
            }
            let mut rows = field.cells[cell].clone();
            if !up {
                rows.reverse();
            }
            let (mut from, mut to) = (joint.from, joint.to);
            let mut first = near;
            if let Some(between) = through {
                let (low, high) = if up { (end, between) } else { (between, end) };
                let Some(more) = field.joint(low, high) else { continue };
                (from, to) = (from.max(more.from), to.min(more.to));
                // What the one cell can't use makes the other even, as far as it lies before that.
                if rows.len() % 2 == 1 && !laid[between] {
                    rows.insert(0, between);
                    first = between;
                } else {
                    tour.gaps += 1;
                }
            }
            rows.truncate(rows.len() / 2 * 2);
            reached[cell] = true;
            rows.iter().for_each(|row| laid[*row] = true);
            ends.extend(far_ends(&field.cells[cell], &rows));
            ends.push_back((first, None));
            tour.hung.push(Hung { rows, on: end, from, to });
        }
    }
    let missed = field.rows.iter().zip(&laid).filter(|(_, laid)| !**laid);
    tour.missed = missed.map(|(row, _)| row.to - row.from).sum();
}

/// The farthest of some rows of a cell, on which others may hang, and the one beyond it that is left out.
fn far_ends(cell: &[usize], rows: &[usize]) -> Option<(usize, Option<usize>)> {
    let far = *rows.last()?;
    let left_out = cell.iter().find(|row| !rows.contains(row)).copied();
    Some((far, left_out))
}
