//! The sheet: paper, scale, and where on it the floor lies.

use super::canvas::{Frame, number};
use crate::geometry::Bounds;
use crate::model::Point;

/// Sizes of paper by ISO 216.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// 210 mm by 297 mm.
    A4,
    /// 297 mm by 420 mm.
    A3,
    /// 420 mm by 594 mm.
    A2,
}

impl Paper {
    /// All of them, the smallest first.
    pub const ALL: [Paper; 3] = [Paper::A4, Paper::A3, Paper::A2];

    /// Its shorter and its longer side, mm.
    pub fn sides(self) -> (f64, f64) {
        match self {
            Paper::A4 => (210.0, 297.0),
            Paper::A3 => (297.0, 420.0),
            Paper::A2 => (420.0, 594.0),
        }
    }

    /// Its name.
    pub fn word(self) -> &'static str {
        match self {
            Paper::A4 => "A4",
            Paper::A3 => "A3",
            Paper::A2 => "A2",
        }
    }

    /// Its width and height as it is turned: A4 stands, the larger ones lie (ISO 5457, recalled).
    fn turned(self) -> (f64, f64) {
        let (short, long) = self.sides();
        if self == Paper::A4 { (short, long) } else { (long, short) }
    }
}

/// The scales that a drawing is given unasked, as how many mm of floor lie in one of paper: ISO 5455, 1, 2, 5 and their tenfolds.
pub const SCALES: [f64; 13] = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0, 10_000.0];

/// The scales between them that it is given where they are asked for, common in building.
pub const BETWEEN: [f64; 2] = [25.0, 30.0];

/// The largest scale at which a smaller paper is not left for a larger one.
const LARGE_ENOUGH: f64 = 20.0;

/// Which scales a drawing may have.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Scales {
    /// Those of [`SCALES`].
    #[default]
    Standard,
    /// Those of [`BETWEEN`] too, for pages that have no larger paper.
    Close,
    /// This one.
    Only(f64),
}

impl Scales {
    /// The largest of them at which what needs `least` mm of floor in one of paper finds room.
    fn fitting(self, least: f64) -> f64 {
        let fits = |scale: &f64| *scale >= least * (1.0 - 1e-9);
        let largest = SCALES[SCALES.len() - 1];
        let standard = SCALES.into_iter().find(fits).unwrap_or(largest);
        match self {
            Scales::Standard => standard,
            Scales::Close => BETWEEN.into_iter().find(fits).unwrap_or(standard).min(standard),
            Scales::Only(scale) => scale,
        }
    }
}

/// Margins between paper and frame, mm: 20 on the filing side and 10 elsewhere, by ISO 5457.
pub const FILING: f64 = 20.0;
/// As [`FILING`], on the other sides.
pub const MARGIN: f64 = 10.0;

/// Width of the title block, mm: as wide as the frame of A4 (ISO 7200, recalled).
pub const TITLE_WIDTH: f64 = 180.0;
/// Its height, mm.
pub const TITLE_HEIGHT: f64 = 26.0;
/// Height of the strip under the floor for scale bar and north, mm.
pub const FOOT: f64 = 12.0;
/// How much of that strip's length they take, mm.
pub const FOOT_LENGTH: f64 = 112.0;
/// Width of one column of what is written, mm.
pub const COLUMN: f64 = 88.0;
/// Gap between columns, mm.
pub const GAP: f64 = 5.0;

/// What the floor's dimensions and labels take beside it, mm of paper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surround {
    /// West of the floor.
    pub left: f64,
    /// East of it.
    pub right: f64,
    /// North of it.
    pub top: f64,
    /// South of it.
    pub bottom: f64,
}

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
    /// The title block, in the lower right corner.
    pub title: Frame,
    /// mm of floor in one of paper.
    pub scale: f64,
    /// Whether the floor has room at that scale.
    pub fits: bool,
    /// Where the plan's origin lies on the paper, mm.
    pub origin: Point,
}

/// What is to find room on a sheet.
pub struct Wanted<'a> {
    /// The box round the floor, mm of floor.
    pub bounds: Bounds,
    /// What stands beside it.
    pub surround: Surround,
    /// The paper, where it is given.
    pub paper: Option<Paper>,
    /// The scales it may have.
    pub scales: Scales,
    /// How high what is written comes out in two columns, mm: the least height and the one that leaves nothing out.
    pub heights: &'a dyn Fn() -> (f64, f64),
}

impl Sheet {
    /// A sheet on which nothing is laid out yet.
    pub fn blank() -> Sheet {
        let none = Frame::new(0.0, 0.0, 0.0, 0.0);
        let (width, height) = Paper::A4.turned();
        Sheet {
            paper: Paper::A4,
            width,
            height,
            beside: true,
            drawing: none,
            panel: none,
            title: none,
            scale: SCALES[0],
            fits: true,
            origin: Point { x: 0.0, y: 0.0 },
        }
    }

    /// A sheet of a paper for what isn't to scale.
    pub fn page(paper: Paper) -> Sheet {
        let (width, height) = paper.turned();
        let frame = Frame { left: FILING, top: MARGIN, right: width - MARGIN, bottom: height - MARGIN };
        let title = Frame { left: frame.right - TITLE_WIDTH, top: frame.bottom - TITLE_HEIGHT, ..frame };
        Sheet { paper, width, height, title, scale: 0.0, ..Sheet::blank() }
    }

    /// The sheet for a floor: the smallest paper that shows it at 1:20 or larger, or else the smallest of those that show it largest.
    pub fn fit(wanted: &Wanted<'_>) -> Sheet {
        let mut best: Option<Sheet> = None;
        for paper in Paper::ALL.into_iter().filter(|paper| wanted.paper.is_none_or(|wanted| wanted == *paper)) {
            let sheet = Sheet::lay(paper, wanted);
            let better = best.as_ref().is_none_or(|best| {
                if best.fits && sheet.fits { sheet.scale < best.scale && best.scale > LARGE_ENOUGH } else { !best.fits }
            });
            if better {
                best = Some(sheet);
            }
        }
        best.unwrap_or_else(Sheet::blank)
    }

    fn lay(paper: Paper, wanted: &Wanted<'_>) -> Sheet {
        let (width, height) = paper.turned();
        let frame = Frame { left: FILING, top: MARGIN, right: width - MARGIN, bottom: height - MARGIN };
        let title = Frame { left: frame.right - TITLE_WIDTH, top: frame.bottom - TITLE_HEIGHT, ..frame };
        let beside = width > height;
        let (drawing, panel) = if beside {
            let edge = frame.right - COLUMN - GAP;
            // Scale bar and north stand left of the title block.
            let above = Frame { bottom: title.top, ..frame };
            (Frame { right: edge, ..above }, Frame { left: edge, ..above })
        } else {
            let (least, whole) = (wanted.heights)();
            let edge = title.top - whole.clamp(least, (height * 0.4).max(least)) - GAP;
            (Frame { bottom: edge, ..frame }, Frame { top: edge, bottom: title.top, ..frame })
        };
        let Surround { left, right, top, bottom } = wanted.surround;
        let foot = if beside { 0.0 } else { FOOT };
        let space = Frame {
            left: drawing.left + left,
            top: drawing.top + top,
            right: drawing.right - right,
            bottom: drawing.bottom - bottom - foot,
        };
        let Bounds { low, high } = wanted.bounds;
        let least = ((high.x - low.x) / space.width().max(1.0)).max((high.y - low.y) / space.height().max(1.0));
        let scale = wanted.scales.fitting(least);
        let middle = space.middle();
        // Whole hundredths, so that what is written says exactly where the floor lies.
        let near = |value: f64| (value * 100.0).round() / 100.0;
        let origin = Point {
            x: near(middle.x - f64::midpoint(low.x, high.x) / scale),
            y: near(middle.y + f64::midpoint(low.y, high.y) / scale),
        };
        let fits = scale >= least * (1.0 - 1e-9);
        Sheet { paper, width, height, beside, drawing, panel, title, scale, fits, origin }
    }

    /// The frame that everything stands in.
    pub fn frame(&self) -> Frame {
        Frame { left: FILING, top: MARGIN, right: self.width - MARGIN, bottom: self.height - MARGIN }
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
        let share = number(1.0 / self.scale, 9);
        format!("matrix({share} 0 0 -{share} {} {})", number(self.origin.x, 4), number(self.origin.y, 4))
    }
}
