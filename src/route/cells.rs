//! Rows on the floor, as far as it leaves them, and the cells that they stand in: stacks of rows of which each lies over the whole of the one
//! before.

use super::rows::{EVEN, Ground};
use super::tour::Side;
use crate::geometry::Point;

/// A row, or a part of one between things in the way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// Its place across, mm.
    pub y: f64,
    /// From where to where cable may lie, mm.
    pub from: f64,
    /// To where.
    pub to: f64,
    /// Whether it ends, left and right, at something small with floor beyond: there cable lies as near as it may.
    pub tight: [bool; 2],
}

impl Row {
    /// One of its ends.
    pub fn end(&self, side: Side) -> Point {
        Point { x: if side == Side::Left { self.from } else { self.to }, y: self.y }
    }
}

/// Rows that the floor joins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Joined {
    /// The lower row (an index).
    pub low: usize,
    /// The upper one.
    pub high: usize,
    /// From where to where a piece across can join them, mm.
    pub from: f64,
    /// To where.
    pub to: f64,
}

/// The rows of a floor at some pitch.
#[derive(Debug)]
pub struct Field {
    /// From row to row, mm.
    pub pitch: f64,
    /// From the lowest up, those of one line from left to right.
    pub rows: Vec<Row>,
    /// Which are joined.
    pub joined: Vec<Joined>,
    /// Stacks of rows, each from the lowest up.
    pub cells: Vec<Vec<usize>>,
    /// The cell of each row (an index).
    pub cell_of: Vec<usize>,
}

/// The least length of a row, and how far a row may reach beyond the next within a cell, there along a slanting wall too; in spacings.
const LEAST_ROW: f64 = 1.5;
const OVERHANG: f64 = 1.6;
const SLANTING: f64 = 5.0;

/// What is no wider leaves rows on both sides near to each other, mm.
const SMALL: f64 = 600.0;

impl Field {
    /// Lays rows on lines, `pitch` mm apart or so.
    pub fn new(ground: &Ground, pitch: f64, lines: &[f64]) -> Self {
        let mut rows: Vec<Row> = Vec::new();
        let mut line_starts = vec![0];
        for y in lines {
            let intervals = ground.intervals(*y);
            for (number, (from, to)) in intervals.iter().copied().enumerate() {
                if to - from < LEAST_ROW * pitch {
                    continue;
                }
                let beyond = |end: f64, other: Option<&f64>| other.is_some_and(|other| (end - other).abs() <= SMALL);
                let before = number.checked_sub(1).and_then(|before| intervals.get(before)).map(|(_, to)| to);
                let after = intervals.get(number + 1).map(|(from, _)| from);
                rows.push(Row { y: *y, from, to, tight: [beyond(from, before), beyond(to, after)] });
            }
            line_starts.push(rows.len());
        }
        let mut joined = Vec::new();
        for line in 1..lines.len() {
            let (low, high) = (line_starts[line - 1]..line_starts[line], line_starts[line]..line_starts[line + 1]);
            for (from, to) in ground.through(lines[line - 1], lines[line]) {
                let holds = |row: &usize| rows[*row].from <= from + 0.1 && rows[*row].to >= to - 0.1;
                if let (Some(low), Some(high)) = (low.clone().find(holds), high.clone().find(holds)) {
                    joined.push(Joined { low, high, from, to });
                }
            }
        }
        joined.retain(|joint| joint.to - joint.from >= pitch);
        // Along a slanting wall rows get longer step by step, and beside a thing that stands there at once.
        let slants = |joint: &Joined| {
            let (low, high) = (rows[joint.low], rows[joint.high]);
            let middle = ground.intervals(f64::midpoint(low.y, high.y));
            let even = |from: f64, to: f64, between: f64| {
                (between - f64::midpoint(from, to)).abs() <= 0.1 * (from - to).abs() + 1.0
            };
            let between = middle.iter().find(|(from, to)| *from <= joint.from + 1.0 && *to >= joint.to - 1.0);
            between.is_some_and(|(from, to)| even(low.from, high.from, *from) && even(low.to, high.to, *to))
        };
        let overhang = |joint: &Joined| pitch * if slants(joint) { SLANTING } else { OVERHANG };
        let cells = cells(&rows, &joined, &overhang);
        let mut cell_of = vec![0; rows.len()];
        for (number, cell) in cells.iter().enumerate() {
            cell.iter().for_each(|row| cell_of[*row] = number);
        }
        let mut field = Field { pitch, rows, joined, cells, cell_of };
        field.even_out();
        field
    }

    /// Ends the rows of a cell on one line where they end almost on one, as beside a door's threshold.
    fn even_out(&mut self) {
        for (number, cell) in self.cells.iter().enumerate() {
            let within = |joint: &Joined| self.cell_of[joint.low] == number && self.cell_of[joint.high] == number;
            let joints = || self.joined.iter().filter(|joint| within(joint));
            let froms = || cell.iter().map(|row| self.rows[*row].from).chain(joints().map(|joint| joint.from));
            let tos = || cell.iter().map(|row| self.rows[*row].to).chain(joints().map(|joint| joint.to));
            let (left, right) = (froms().fold(f64::NEG_INFINITY, f64::max), tos().fold(f64::INFINITY, f64::min));
            let even_left = froms().all(|from| left - from <= EVEN);
            let even_right = tos().all(|to| to - right <= EVEN);
            for row in cell {
                let row = &mut self.rows[*row];
                (row.from, row.to) = (if even_left { left } else { row.from }, if even_right { right } else { row.to });
            }
            for joint in self.joined.iter_mut().filter(|joint| within(joint)) {
                (joint.from, joint.to) =
                    (if even_left { left } else { joint.from }, if even_right { right } else { joint.to });
            }
        }
    }

    /// How two rows next to each other are joined, the lower first.
    pub fn joint(&self, low: usize, high: usize) -> Option<&Joined> {
        self.above(low).iter().find(|joint| joint.high == high)
    }

    /// How a row is joined to those above it. They are in order: what is joined was found from the lowest row up, from left to right.
    pub fn above(&self, row: usize) -> &[Joined] {
        let from = self.joined.partition_point(|joint| joint.low < row);
        let count = self.joined[from..].partition_point(|joint| joint.low == row);
        &self.joined[from..from + count]
    }

    /// How a row is joined to those below it.
    pub fn below(&self, row: usize) -> &[Joined] {
        let from = self.joined.partition_point(|joint| joint.high < row);
        let count = self.joined[from..].partition_point(|joint| joint.high == row);
        &self.joined[from..from + count]
    }

    /// How often the distance from one line of rows to the next changes.
    pub fn changes(&self) -> usize {
        let mut lines: Vec<f64> = self.rows.iter().map(|row| row.y).collect();
        lines.dedup();
        let gaps: Vec<f64> = lines.windows(2).map(|pair| pair[1] - pair[0]).collect();
        gaps.windows(2).filter(|pair| (pair[1] - pair[0]).abs() > 0.05).count()
    }

    /// The length of all rows, mm.
    pub fn length(&self) -> f64 {
        self.rows.iter().map(|row| row.to - row.from).sum()
    }
}

fn cells(rows: &[Row], joined: &[Joined], overhang: &dyn Fn(&Joined) -> f64) -> Vec<Vec<usize>> {
    let mut above: Vec<Vec<&Joined>> = vec![Vec::new(); rows.len()];
    let mut below = vec![0_usize; rows.len()];
    for joint in joined {
        above[joint.low].push(joint);
        below[joint.high] += 1;
    }
    let follows = |row: usize| {
        let [joint] = above[row][..] else { return None };
        let most = overhang(joint);
        let ends = |row: &Row| (joint.from - row.from).max(row.to - joint.to) <= most;
        (below[joint.high] == 1 && ends(&rows[row]) && ends(&rows[joint.high])).then_some(joint.high)
    };
    let mut taken = vec![false; rows.len()];
    let mut cells = Vec::new();
    for row in 0..rows.len() {
        if taken[row] {
            continue;
        }
        let mut cell = vec![row];
        taken[row] = true;
        let mut last = row;
        while let Some(next) = follows(last) {
            taken[next] = true;
            cell.push(next);
            last = next;
        }
        cells.push(cell);
    }
    cells
}
