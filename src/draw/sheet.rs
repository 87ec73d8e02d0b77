//! The sheet: paper, scale, and where on it the floor lies.

use super::canvas::{Frame, number};
use crate::model::Point;

/// Sizes of paper by ISO 216.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// 210 mm by 297 mm.
    A4,
    /// 297 mm by 420 mm.
    A3,
}

impl Paper {
    /// Its shorter and its longer side, mm.
    pub fn sides(self) -> (f64, f64) {
        match self {
            Paper::A4 => (210.0, 297.0),
            Paper::A3 => (297.0, 420.0),
        }
    }

    /// Its name.
    pub fn word(self) -> &'static str {
        match self {
            Paper::A4 => "A4",
            Paper::A3 => "A3",
        }
    }
}

/// The scales a drawing may have, as how many mm of floor lie in one of paper: ISO 5455 (1, 2, 5 and their tenfolds) and 1:25, common practice
/// in building.
pub const SCALES: [f64; 14] =
    [1.0, 2.0, 5.0, 10.0, 20.0, 25.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0, 10_000.0];

/// Margins between paper and frame, mm: 20 on the filing side and 10 elsewhere, by ISO 5457.
pub const FILING: f64 = 20.0;
/// As [`FILING`], on the other sides.
pub const MARGIN: f64 = 10.0;

/// What the floor's dimensions and labels take on each side of it, mm of paper.
pub const SURROUND: f64 = 17.5;
/// Height of the strip under the floor for scale bar and north, mm.
pub const FOOT: f64 = 12.0;
/// Width of one column of what is written, mm.
pub const COLUMN: f64 = 84.0;
/// Gap between columns, mm.
pub const GAP: f64 = 5.0;

/// A sheet laid out.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// The paper.
    pub paper: Paper,
    /// Width and height of the paper as it is turned, mm.
    pub width: f64,
    /// As `width`.
    pub height: f64,
    /// Whether what is written stands beside the floor rather than below it.
    pub beside: bool,
    /// What the floor may take.
    pub drawing: Frame,
    /// What is written: beside the floor, or below it.
    pub panel: Frame,
    /// mm of floor in one of paper.
    pub scale: f64,
    /// Where the plan's origin lies on the paper, mm.
    pub origin: Point,
}

/// How high the columns are when what is written stands in so many of them, mm: the least height and the one that leaves nothing out.
pub type ColumnHeight<'a> = &'a dyn Fn(usize) -> (f64, f64);

impl Sheet {
    /// A sheet on which nothing is laid out yet.
    pub fn blank() -> Sheet {
        let none = Frame::new(0.0, 0.0, 0.0, 0.0);
        let (width, height) = Paper::A4.sides();
        Sheet {
            paper: Paper::A4,
            width,
            height,
            beside: true,
            drawing: none,
            panel: none,
            scale: SCALES[0],
            origin: Point { x: 0.0, y: 0.0 },
        }
    }

    /// The sheet for a floor whose box is `low` to `high`, mm of floor: the smaller paper unless the larger one draws it bigger and the smaller
    /// one smaller than 1:25.
    pub fn fit(low: Point, high: Point, paper: Option<Paper>, heights: ColumnHeight<'_>) -> Sheet {
        let papers: &[Paper] = match &paper {
            Some(Paper::A4) => &[Paper::A4],
            Some(Paper::A3) => &[Paper::A3],
            None => &[Paper::A4, Paper::A3],
        };
        let wide = high.x - low.x > high.y - low.y;
        // Turned as the room is and written beside the floor where that does as well as anything.
        let ways = [(true, true), (true, false), (false, false)];
        let ways = ways
            .into_iter()
            .filter(|(landscape, _)| *landscape == wide)
            .chain(ways.into_iter().filter(|(landscape, _)| *landscape != wide));
        let mut best: Option<Sheet> = None;
        for paper in papers {
            for (landscape, beside) in ways.clone() {
                let sheet = Sheet::lay(*paper, landscape, beside, low, high, heights);
                let better = best.as_ref().is_none_or(|best| {
                    let large_enough = best.paper != *paper && best.scale <= 25.0;
                    sheet.scale < best.scale && !large_enough
                });
                if better {
                    best = Some(sheet);
                }
            }
        }
        best.unwrap_or_else(Sheet::blank)
    }

    fn lay(paper: Paper, landscape: bool, beside: bool, low: Point, high: Point, heights: ColumnHeight<'_>) -> Sheet {
        let (short, long) = paper.sides();
        let (width, height) = if landscape { (long, short) } else { (short, long) };
        let frame = Frame { left: FILING, top: MARGIN, right: width - MARGIN, bottom: height - MARGIN };
        let (drawing, panel) = if beside {
            let edge = frame.right - COLUMN - GAP;
            (Frame { right: edge, ..frame }, Frame { left: edge, ..frame })
        } else {
            let columns = Sheet::columns_in(frame.width());
            let (least, whole) = heights(columns);
            let edge = frame.bottom - whole.clamp(least, (height * 0.4).max(least)) - GAP;
            (Frame { bottom: edge, ..frame }, Frame { top: edge, ..frame })
        };
        let room = Point {
            x: (drawing.width() - 2.0 * SURROUND).max(1.0),
            y: (drawing.height() - 2.0 * SURROUND - FOOT).max(1.0),
        };
        let needed = ((high.x - low.x) / room.x).max((high.y - low.y) / room.y);
        let largest = SCALES[SCALES.len() - 1];
        let scale = SCALES.into_iter().find(|scale| *scale >= needed * (1.0 - 1e-9)).unwrap_or(largest);
        let middle = Point { x: drawing.middle().x, y: f64::midpoint(drawing.top, drawing.bottom - FOOT) };
        // Whole hundredths, so that what is written says exactly where the floor lies.
        let near = |value: f64| (value * 100.0).round() / 100.0;
        let origin = Point {
            x: near(middle.x - f64::midpoint(low.x, high.x) / scale),
            y: near(middle.y + f64::midpoint(low.y, high.y) / scale),
        };
        Sheet { paper, width, height, beside, drawing, panel, scale, origin }
    }

    /// How many columns stand side by side in a width, mm.
    pub fn columns_in(width: f64) -> usize {
        (2..=4).rev().find(|count| width >= *count as f64 * (COLUMN + GAP) - GAP).unwrap_or(2)
    }

    /// Where a point of the floor lies on paper.
    pub fn on_paper(&self, point: Point) -> Point {
        Point { x: self.origin.x + point.x / self.scale, y: self.origin.y - point.y / self.scale }
    }

    /// A length of paper in mm of floor.
    pub fn floor(&self, paper: f64) -> f64 {
        paper * self.scale
    }

    /// The transform that draws floor coordinates (mm, y north) on paper (mm, y down).
    pub fn transform(&self) -> String {
        let share = number(1.0 / self.scale, 6);
        format!("matrix({share} 0 0 -{share} {} {})", number(self.origin.x, 4), number(self.origin.y, 4))
    }
}
