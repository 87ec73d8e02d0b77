//! Fields over a raster as sums of cosines: what a floor between walls that let no heat through is made of.
//!
//! A field has its values at the middles of cells, row by row. Its waves go with `cos(πj(x + ½)/columns)·cos(πk(y + ½)/rows)`, row `k` of them
//! after row `k − 1`; those of `j = 0` and of `k = 0` count half each.

use std::sync::Arc;

use rustdct::{DctPlanner, TransformType2And3};

/// The way from values to waves and back, for a raster of so many columns and rows.
pub(super) struct Cosines {
    pub columns: usize,
    pub rows: usize,
    along: Arc<dyn TransformType2And3<f64>>,
    up: Arc<dyn TransformType2And3<f64>>,
}

impl Cosines {
    pub(super) fn new(columns: usize, rows: usize) -> Self {
        let mut planner = DctPlanner::new();
        Cosines { columns, rows, along: planner.plan_dct2(columns), up: planner.plan_dct2(rows) }
    }

    /// Values to waves.
    pub(super) fn waves(&self, values: &mut Vec<f64>) {
        self.each(values, |transform, row, scratch| transform.process_dct2_with_scratch(row, scratch));
        let share = 4.0 / (self.columns * self.rows) as f64;
        values.iter_mut().for_each(|value| *value *= share);
    }

    /// Waves to values.
    pub(super) fn values(&self, waves: &mut Vec<f64>) {
        self.each(waves, |transform, row, scratch| transform.process_dct3_with_scratch(row, scratch));
    }

    /// Rows, then columns.
    fn each(&self, field: &mut Vec<f64>, work: impl Fn(&dyn TransformType2And3<f64>, &mut [f64], &mut [f64])) {
        let mut scratch = vec![0.0; self.along.get_scratch_len().max(self.up.get_scratch_len())];
        for row in field.chunks_exact_mut(self.columns) {
            work(&*self.along, row, &mut scratch[..self.along.get_scratch_len()]);
        }
        let mut turned = transposed(field, self.columns, self.rows);
        for column in turned.chunks_exact_mut(self.rows) {
            work(&*self.up, column, &mut scratch[..self.up.get_scratch_len()]);
        }
        *field = transposed(&turned, self.rows, self.columns);
    }
}

/// How large the blocks are that a field is turned in, so that what is read and what is written both stay near at hand.
const BLOCK: usize = 16;

/// Rows as columns.
fn transposed(field: &[f64], columns: usize, rows: usize) -> Vec<f64> {
    let mut turned = vec![0.0; field.len()];
    for row in (0..rows).step_by(BLOCK) {
        for column in (0..columns).step_by(BLOCK) {
            for y in row..(row + BLOCK).min(rows) {
                for x in column..(column + BLOCK).min(columns) {
                    turned[x * rows + y] = field[y * columns + x];
                }
            }
        }
    }
    turned
}
