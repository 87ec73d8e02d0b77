//! Test records: what was measured of the cables, and when.

use crate::source::Place;
use crate::worded::Worded;

/// The test record.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// In the order written.
    pub readings: Vec<Reading>,
    /// The day of tiling, and the adhesive's drying time, s.
    pub tiled: Option<(jiff::civil::Date, Option<f64>, Place)>,
    /// The day of first switching on.
    pub switched_on: Option<(jiff::civil::Date, Place)>,
    /// Who signed, and when.
    pub signed: Option<(String, jiff::civil::Date, Place)>,
    /// Whether a line of it could not be read.
    pub incomplete: bool,
    /// The statement.
    pub place: Place,
}

/// One reading of the test record.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// When in the work.
    pub stage: Stage,
    /// On what day.
    pub date: jiff::civil::Date,
    /// Of which cable (an index).
    pub cable: usize,
    /// ohm.
    pub resistance: f64,
    /// The test of its insulation.
    pub insulation: Option<InsulationTest>,
    /// Measured with.
    pub instrument: Option<String>,
    /// The statement.
    pub place: Place,
}

/// A test of a cable's insulation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InsulationTest {
    /// What the instrument showed, ohm; none where it showed only that it was over its range.
    pub resistance: Option<f64>,
    /// Whether there was more than that.
    pub over: bool,
    /// The voltage of the test, V.
    pub voltage: Option<f64>,
}

/// When a reading is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// On delivery, still on the drum.
    Delivered,
    /// Laid, before anything covers it.
    Laid,
    /// Just before tiling.
    BeforeTiling,
    /// After tiling.
    AfterTiling,
    /// Just before it is first switched on.
    BeforeSwitchingOn,
}

impl Worded for Stage {
    const WORDS: &'static [(Stage, &'static str)] = &[
        (Stage::Delivered, "delivered"),
        (Stage::Laid, "laid"),
        (Stage::BeforeTiling, "before-tiling"),
        (Stage::AfterTiling, "after-tiling"),
        (Stage::BeforeSwitchingOn, "before-switching-on"),
    ];
}
