//! Test records: what was measured of the cables, and when.

use super::name::Stated;
use crate::geometry::Point;
use crate::source::Place;
use crate::worded::Worded;

/// The test record.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// Of cables, in the order written.
    pub readings: Vec<Reading>,
    /// Of floor sensors, in the order written.
    pub sensor_readings: Vec<SensorReading>,
    /// What stands on the labels of the kits.
    pub labels: Vec<Label>,
    /// Tests of the RCDs of supplies, in the order written.
    pub rcd_tests: Vec<RcdTest>,
    /// What was built otherwise than drawn, in the order written.
    pub notes: Vec<Note>,
    /// Photographs, in the order written, those of notes left out.
    pub photos: Vec<Photo>,
    /// The day the surface was primed.
    pub primed: Option<(jiff::civil::Date, Place)>,
    /// The screed over the floor.
    pub screeded: Option<Stated<Screeded>>,
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

/// What something was measured with, and by whom, as far as the record says.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct MeasuredBy {
    /// The instrument.
    pub instrument: Option<String>,
    /// Its serial number.
    pub serial: Option<String>,
    /// Who measured.
    pub person: Option<String>,
}

impl MeasuredBy {
    /// The instrument with its serial number.
    pub fn instrument_words(&self) -> Option<String> {
        let serial = self.serial.as_ref().map(|serial| format!(", serial {serial}"));
        self.instrument.as_ref().map(|instrument| instrument.clone() + &serial.unwrap_or_default())
    }
}

/// What was built otherwise than drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Note {
    /// On what day that was noted.
    pub date: jiff::civil::Date,
    /// What.
    pub text: String,
    /// Where on the floor.
    pub at: Option<Point>,
    /// The name of the file of a photograph of it.
    pub photo: Option<String>,
    /// The statement.
    pub place: Place,
}

/// A photograph of the work.
#[derive(Debug, Clone, PartialEq)]
pub struct Photo {
    /// On what day it was taken.
    pub date: jiff::civil::Date,
    /// The name of its file.
    pub file: String,
    /// Where on the floor.
    pub at: Option<Point>,
    /// The statement.
    pub place: Place,
}

impl Record {
    /// Notes and photographs that have a place, each with the number that it bears on drawings: notes are numbered first, from 1, then photographs.
    pub fn marks(&self) -> impl Iterator<Item = (usize, Point)> + '_ {
        let spots = self.notes.iter().map(|note| note.at).chain(self.photos.iter().map(|photo| photo.at));
        (1..).zip(spots).filter_map(|(number, at)| Some((number, at?)))
    }

    /// The names of the files of all photographs, those of notes first.
    pub fn photographs(&self) -> impl Iterator<Item = &str> {
        let of_notes = self.notes.iter().filter_map(|note| note.photo.as_deref());
        of_notes.chain(self.photos.iter().map(|photo| photo.file.as_str()))
    }
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
    /// The test of its screen.
    pub screen: Option<ScreenTest>,
    /// How, and by whom.
    pub measured: MeasuredBy,
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

/// A test of whether a cable's screen leads through.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ScreenTest {
    /// What was read, ohm.
    Reads(f64),
    /// It leads nowhere.
    Open,
}

/// A reading of a floor sensor.
#[derive(Debug, Clone, PartialEq)]
pub struct SensorReading {
    /// When in the work.
    pub stage: Stage,
    /// On what day.
    pub date: jiff::civil::Date,
    /// Of which sensor (an index).
    pub sensor: usize,
    /// ohm.
    pub resistance: f64,
    /// How, and by whom.
    pub measured: MeasuredBy,
    /// The statement.
    pub place: Place,
}

/// What stands on the label of a cable's kit.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// The cable (an index).
    pub cable: usize,
    /// Its serial number.
    pub serial: String,
    /// The batch it is from.
    pub batch: Option<String>,
    /// The statement.
    pub place: Place,
}

/// A test of the RCD of a supply.
#[derive(Debug, Clone, PartialEq)]
pub struct RcdTest {
    /// On what day.
    pub date: jiff::civil::Date,
    /// The supply: an index into the plan's supplies.
    pub supply: usize,
    /// How soon it tripped at its rated residual current, s.
    pub time: f64,
    /// How, and by whom.
    pub measured: MeasuredBy,
    /// The statement.
    pub place: Place,
}

/// When a screed was laid, and of what kind it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Screeded {
    /// On what day.
    pub date: jiff::civil::Date,
    /// What binds it.
    pub kind: ScreedKind,
    /// How long it is left before it is heated or covered, s, where its maker says.
    pub drying: Option<f64>,
}

/// What binds a screed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum ScreedKind {
    Cement,
    /// Calcium sulphate.
    Anhydrite,
}

impl Worded for ScreedKind {
    const WORDS: &'static [(ScreedKind, &'static str)] =
        &[(ScreedKind::Cement, "cement"), (ScreedKind::Anhydrite, "anhydrite")];
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
