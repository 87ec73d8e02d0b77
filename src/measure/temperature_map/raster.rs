//! The cells that a floor is laid out in: a box along its walls, cut into columns and rows. Heat is spread onto them and fields are read from
//! them by cubic B-splines, whose own smoothing is known for every wave and is taken out again.

use crate::geometry::ring::signed_area;
use crate::geometry::{Bounds, Piece, Point, Ring, cross, distance, dot};
use crate::measure::TOUCH;
use crate::model::Shape;

/// How wide cells are where the floor has room for them, mm. A ripple between runs is many of them wide, and what a run has under a thin
/// covering in less than one is reckoned by itself ([`Slab::beyond_soft`](crate::measure::heat::Slab::beyond_soft)).
const USUAL_CELL: f64 = 10.0;

/// The widest cells, mm: with wider ones, neighbouring runs would no longer be told apart.
pub const WIDEST_CELL: f64 = 20.0;

/// The most cells of a raster, but for what is added until their numbers suit the transforms; with cells of [`WIDEST_CELL`] the box round a floor
/// of 300 m2.
pub const MOST_CELLS: usize = 750_000;

/// How far beyond a wall that lies within the box the floor is taken to go on as its mirror image, mm: farther than heat finds its way in
/// any floor.
const MIRRORED: f64 = 1_000.0;

/// Columns and rows of cells along a floor's walls.
#[derive(Debug, Clone, PartialEq)]
pub struct Raster {
    /// The corner from which columns and rows are counted, mm.
    pub origin: Point,
    /// The step along a row, of length 1; columns go to its left.
    pub along: Point,
    /// How wide and high a cell is, mm.
    pub cell: (f64, f64),
    /// How many there are.
    pub columns: usize,
    /// How many there are.
    pub rows: usize,
}

impl Raster {
    /// That of an outline; nothing where it is too large, or has no size.
    pub fn new(corners: &[Point]) -> Option<Self> {
        let along = direction(corners);
        let turned: Vec<Point> = corners.iter().map(|corner| into(along, *corner)).collect();
        let Bounds { low, high } = Bounds::around(&turned);
        let (width, height) = (high.x - low.x, high.y - low.y);
        if !(width > TOUCH && height > TOUCH) {
            return None;
        }
        let cell = USUAL_CELL.max((width * height / MOST_CELLS as f64).sqrt());
        if cell > WIDEST_CELL {
            return None;
        }
        let (columns, rows) = (smooth(width / cell), smooth(height / cell));
        let origin = out_of(along, low);
        Some(Raster { origin, along, cell: (width / columns as f64, height / rows as f64), columns, rows })
    }

    /// The same box in cells twice as wide and twice as high.
    pub(super) fn coarse(&self) -> Self {
        let cell = (2.0 * self.cell.0, 2.0 * self.cell.1);
        Raster { cell, columns: self.columns / 2, rows: self.rows / 2, ..self.clone() }
    }

    /// How many cells there are.
    pub fn cells(&self) -> usize {
        self.columns * self.rows
    }

    /// Area of a cell, mm2.
    pub fn cell_area(&self) -> f64 {
        self.cell.0 * self.cell.1
    }

    /// A point in cells from the origin.
    pub fn place(&self, point: Point) -> (f64, f64) {
        let turned = into(self.along, point - self.origin);
        (turned.x / self.cell.0, turned.y / self.cell.1)
    }

    /// The point so many cells from the origin.
    pub fn point(&self, (x, y): (f64, f64)) -> Point {
        self.origin + out_of(self.along, Point { x: x * self.cell.0, y: y * self.cell.1 })
    }

    /// A point beyond a side of the box, not far off, as the one before it that mirrors it.
    pub(super) fn mirrored(&self, point: Point) -> Point {
        let (x, y) = self.place(point);
        let folded = |at: f64, most: usize| if at > most as f64 { 2.0 * most as f64 - at } else { at.abs() };
        self.point((folded(x, self.columns), folded(y, self.rows)))
    }

    /// The middle of a cell.
    pub fn middle(&self, cell: usize) -> Point {
        self.point(((cell % self.columns) as f64 + 0.5, (cell / self.columns) as f64 + 0.5))
    }

    /// The cell that a point lies in; nothing outside the box.
    pub fn cell_at(&self, point: Point) -> Option<usize> {
        let (x, y) = self.place(point);
        let inside = (0.0..self.columns as f64).contains(&x) && (0.0..self.rows as f64).contains(&y);
        inside.then(|| y as usize * self.columns + x as usize)
    }

    /// Spreads `heat` at a point over the cells round it, as if it lay behind the box's sides as before them.
    pub(super) fn spread(&self, field: &mut [f64], (x, y): (f64, f64), heat: f64) {
        let ((first_column, columns), (first_row, rows)) = (weights(x), weights(y));
        for (row, high) in (first_row..).zip(rows) {
            let row = folded(row, self.rows) * self.columns;
            for (column, wide) in (first_column..).zip(columns) {
                field[row + folded(column, self.columns)] += heat * high * wide;
            }
        }
    }

    /// What a field of spline coefficients comes to at a point; nothing outside the box.
    pub fn read(&self, field: &[f64], point: Point) -> Option<f64> {
        let (x, y) = self.place(point);
        let within = |at: f64, most: usize| (-1e-6..=most as f64 + 1e-6).contains(&at);
        if !within(x, self.columns) || !within(y, self.rows) {
            return None;
        }
        let ((first_column, columns), (first_row, rows)) = (weights(x), weights(y));
        let row = |row: isize| {
            let row = folded(row, self.rows) * self.columns;
            let each = (first_column..).zip(columns);
            each.map(|(column, wide)| wide * field[row + folded(column, self.columns)]).sum::<f64>()
        };
        Some((first_row..).zip(rows).map(|(at, high)| high * row(at)).sum())
    }

    /// How much a cubic B-spline leaves of the waves along rows and of those up columns.
    pub fn spline(&self) -> (Vec<f64>, Vec<f64>) {
        let left = |count: usize| {
            let each = (0..count).map(|wave| {
                let half = std::f64::consts::FRAC_PI_2 * wave as f64 / count as f64;
                if wave == 0 { 1.0 } else { (half.sin() / half).powi(4) }
            });
            each.collect()
        };
        (left(self.columns), left(self.rows))
    }

    /// Marks the cells whose middles lie in a shape.
    pub fn mark(&self, shape: &Shape, marks: &mut [bool], mark: bool) {
        match shape {
            Shape::Polygon(corners) => {
                let places: Vec<(f64, f64)> = corners.iter().map(|corner| self.place(*corner)).collect();
                for row in 0..self.rows {
                    for pair in cuts(&places, row as f64 + 0.5).chunks_exact(2) {
                        self.mark_row(row, pair[0], pair[1], marks, mark);
                    }
                }
            }
            Shape::Circle { centre, radius } => {
                let (x, y) = self.place(*centre);
                for row in 0..self.rows {
                    let up = (row as f64 + 0.5 - y) * self.cell.1;
                    let half = (radius * radius - up * up).max(0.0).sqrt() / self.cell.0;
                    self.mark_row(row, x - half, x + half, marks, mark);
                }
            }
        }
    }

    /// How much of each cell lies within a ring of corners, in `SLICES` slices of a row; 1 is all of it.
    pub fn coverage(&self, corners: &[Point]) -> Vec<f64> {
        let places: Vec<(f64, f64)> = corners.iter().map(|corner| self.place(*corner)).collect();
        let mut covered = vec![0.0; self.cells()];
        for (row, cells) in covered.chunks_exact_mut(self.columns).enumerate() {
            for slice in 0..SLICES {
                let y = row as f64 + (f64::from(slice) + 0.5) / f64::from(SLICES);
                for pair in cuts(&places, y).chunks_exact(2) {
                    let (from, to) = (pair[0].max(0.0), pair[1].min(self.columns as f64));
                    for (column, cell) in cells.iter_mut().enumerate().take(to.ceil() as usize).skip(from as usize) {
                        let within = (column as f64 + 1.0).min(to) - (column as f64).max(from);
                        *cell += within.max(0.0) / f64::from(SLICES);
                    }
                }
            }
        }
        covered
    }

    /// Marks the cells of a row whose middles lie between two places along it.
    fn mark_row(&self, row: usize, from: f64, to: f64, marks: &mut [bool], mark: bool) {
        let cell = |at: f64| (at - 0.5).ceil().clamp(0.0, self.columns as f64) as usize;
        let (from, to) = (cell(from), cell(to));
        if from < to {
            marks[row * self.columns + from..row * self.columns + to].fill(mark);
        }
    }
}

/// In how many slices of a row it is told how much of a cell lies within a ring.
const SLICES: u32 = 8;

/// Where a row at a height crosses a ring of corners, from left to right, in cells.
fn cuts(places: &[(f64, f64)], y: f64) -> Vec<f64> {
    let next = places.iter().cycle().skip(1);
    let crossed = places.iter().zip(next).filter(|(a, b)| (a.1 > y) != (b.1 > y));
    let mut cuts: Vec<f64> = crossed.map(|(a, b)| a.0 + (y - a.1) / (b.1 - a.1) * (b.0 - a.0)).collect();
    cuts.sort_by(f64::total_cmp);
    cuts
}

/// Spreads what lines give over a raster's cells.
pub(super) struct Spreading<'r> {
    raster: &'r Raster,
    outline: Ring,
    /// Whether some wall lies within the box rather than along its sides.
    walls_within: bool,
    pub field: Vec<f64>,
}

impl<'r> Spreading<'r> {
    pub(super) fn new(raster: &'r Raster, corners: &[Point]) -> Self {
        let outline = Ring::new(corners);
        let walls_within = outline.edges().any(|edge| !on_side(raster, edge));
        Spreading { raster, outline, walls_within, field: vec![0.0; raster.cells()] }
    }

    /// The walls that lie within the box rather than along its sides, each with the floor on its left.
    pub(super) fn walls_within(&self) -> Vec<Piece> {
        let turned = signed_area(self.outline.corners()) < 0.0;
        let within = self.outline.edges().filter(|edge| !on_side(self.raster, *edge));
        within.map(|edge| if turned { Piece::new(edge.end, edge.start) } else { edge }).collect()
    }

    /// Spreads `power` (W/m) along a piece; what of it lies beyond the box is left out. Beyond a wall within the box lies its mirror
    /// image, as far as that wall is the nearest there.
    pub(super) fn line(&mut self, piece: Piece, power: f64) {
        let length = piece.length();
        let step = self.raster.cell.0.min(self.raster.cell.1) / 2.0;
        let count = (length / step).ceil().max(1.0);
        let heat = power * length / 1e3 / count;
        // A cable that reaches far beyond a room is a fault of its plan; the box bounds what it may cost.
        let (first, last) = self.within(piece);
        let mut number = (first * count).floor();
        while number < (last * count).ceil() {
            let point = piece.along((number + 0.5) / count);
            self.point(point, heat);
            if self.walls_within {
                self.images(point, heat);
            }
            number += 1.0;
        }
    }

    /// Between which shares of it a piece can lie within the box.
    fn within(&self, piece: Piece) -> (f64, f64) {
        let (start, end) = (self.raster.place(piece.start), self.raster.place(piece.end));
        let (mut from, mut to) = (0.0_f64, 1.0_f64);
        for (start, end, most) in [(start.0, end.0, self.raster.columns), (start.1, end.1, self.raster.rows)] {
            let step = end - start;
            if step.abs() > 1e-12 {
                let cuts = [-start / step, (most as f64 - start) / step];
                from = from.max(cuts[0].min(cuts[1]));
                to = to.min(cuts[0].max(cuts[1]));
            } else if !(0.0..=most as f64).contains(&start) {
                return (0.0, 0.0);
            }
        }
        (from, to.max(from))
    }

    fn point(&mut self, point: Point, heat: f64) {
        let (x, y) = self.raster.place(point);
        if (0.0..=self.raster.columns as f64).contains(&x) && (0.0..=self.raster.rows as f64).contains(&y) {
            self.raster.spread(&mut self.field, (x, y), heat);
        }
    }

    /// The images of a point beyond the walls and corners near it.
    fn images(&mut self, point: Point, heat: f64) {
        let near: Vec<Piece> = self.outline.edges_near(Bounds::at(point).widened(MIRRORED)).collect();
        for edge in near {
            if on_side(self.raster, edge) {
                continue;
            }
            let step = edge.step();
            let share = dot(point - edge.start, step) / dot(step, step);
            let foot = edge.along(share);
            let mut image = |foot: Point| {
                let there = foot + (foot - point);
                let far = distance(there, foot);
                if far > TOUCH && far <= MIRRORED && self.nearest_is(there, far) {
                    self.point(there, heat);
                }
            };
            if (0.0..=1.0).contains(&share) {
                image(foot);
            }
            image(edge.start);
        }
    }

    /// Whether no wall comes nearer to a point than so far.
    fn nearest_is(&self, point: Point, far: f64) -> bool {
        let mut near = self.outline.edges_near(Bounds::at(point).widened(far));
        near.all(|edge| edge.distance(point) >= far - TOUCH)
    }
}

/// Whether a wall lies along a side of the box.
fn on_side(raster: &Raster, edge: Piece) -> bool {
    let (a, b) = (raster.place(edge.start), raster.place(edge.end));
    let on = |at: f64, most: usize, cell: f64| at.abs() * cell <= TOUCH || (at - most as f64).abs() * cell <= TOUCH;
    let along_x = on(a.1, raster.rows, raster.cell.1) && (a.1 - b.1).abs() * raster.cell.1 <= TOUCH;
    let along_y = on(a.0, raster.columns, raster.cell.0) && (a.0 - b.0).abs() * raster.cell.0 <= TOUCH;
    along_x || along_y
}

/// The direction, up to right angles, that most of an outline's length lies in.
fn direction(corners: &[Point]) -> Point {
    let edges = || crate::geometry::ring::edges(corners).filter(|edge| edge.length() > TOUCH);
    // Walls at right angles to each other speak for the same box.
    let aligned = |one: Point, other: Point| dot(one, other).abs().max(cross(one, other).abs());
    let mut best = (0.0, Point { x: 1.0, y: 0.0 });
    // Corners that draw a curve have many directions and none that matters more.
    for edge in edges().take(100) {
        let own = edge.step() / edge.length();
        let like = edges().filter(|other| aligned(own, other.step() / other.length()) > 1.0 - 1e-9);
        let length: f64 = like.map(|edge| edge.length()).sum();
        if length > best.0 + TOUCH {
            best = (length, own);
        }
    }
    // Of the four ways that it can be meant, that which turns the plan least.
    let turns = [best.1, Point { x: -best.1.y, y: best.1.x }, best.1 * -1.0, Point { x: best.1.y, y: -best.1.x }];
    turns.into_iter().max_by(|a, b| a.x.total_cmp(&b.x)).unwrap_or(best.1)
}

/// A step in the directions along rows and up columns.
fn into(along: Point, step: Point) -> Point {
    Point { x: dot(along, step), y: cross(along, step) }
}

/// The way back.
fn out_of(along: Point, step: Point) -> Point {
    Point { x: along.x * step.x - along.y * step.y, y: along.y * step.x + along.x * step.y }
}

/// The least even number not below this that has no factor but 2, 3 and 5, which waves are reckoned quickly of.
fn smooth(least: f64) -> usize {
    let mut count = (least.ceil() as usize).next_multiple_of(2).max(8);
    loop {
        let mut rest = count;
        for factor in [2, 3, 5] {
            while rest.is_multiple_of(factor) {
                rest /= factor;
            }
        }
        if rest == 1 {
            return count;
        }
        count += 2;
    }
}

/// The first of the four cells that a cubic B-spline at a place touches, and its weights there. Cells have their values in the middle.
fn weights(at: f64) -> (isize, [f64; 4]) {
    let cell = (at - 0.5).floor();
    let t = at - 0.5 - cell;
    let u = 1.0 - t;
    let weights = [
        u * u * u / 6.0,
        (4.0 - 6.0 * t * t + 3.0 * t * t * t) / 6.0,
        (4.0 - 6.0 * u * u + 3.0 * u * u * u) / 6.0,
        t * t * t / 6.0,
    ];
    (cell as isize - 1, weights)
}

/// A cell beyond a side as the one before it that mirrors it.
pub(super) fn folded(cell: isize, count: usize) -> usize {
    let mirrored = if cell < 0 { -1 - cell } else { cell };
    let mirrored = mirrored.unsigned_abs();
    if mirrored >= count { 2 * count - 1 - mirrored } else { mirrored }
}
