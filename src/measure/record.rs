//! What a test record says of a cable's stages: which reading went before which, and which are missing.

use jiff::civil::Date;

use crate::model::{Reading, Record, Stage};

/// The stages, in the order of the work.
pub const STAGES: [Stage; 5] =
    [Stage::Delivered, Stage::Laid, Stage::BeforeTiling, Stage::AfterTiling, Stage::BeforeSwitchingOn];

/// The stages at which each cable is measured, by common practice: before laying, after laying, after tiling.
const NEEDED: [Stage; 3] = [Stage::Delivered, Stage::Laid, Stage::AfterTiling];

/// The reading (an index) of the same cable that went before another (an index): of an earlier stage, or written earlier of the same one.
pub fn previous(record: &Record, reading: usize) -> Option<usize> {
    let own = &record.readings[reading];
    let before = record
        .readings
        .iter()
        .enumerate()
        .filter(|(index, other)| other.cable == own.cable && (other.stage, *index) < (own.stage, reading));
    before.max_by_key(|(index, other)| (other.stage, *index)).map(|(index, _)| index)
}

/// The reading (an index) of the same sensor that went before another (an index).
pub fn previous_of_sensor(record: &Record, reading: usize) -> Option<usize> {
    let own = &record.sensor_readings[reading];
    let before = record
        .sensor_readings
        .iter()
        .enumerate()
        .filter(|(index, other)| other.sensor == own.sensor && (other.stage, *index) < (own.stage, reading));
    before.max_by_key(|(index, other)| (other.stage, *index)).map(|(index, _)| index)
}

/// Whether a screed was heated before the floor is tiled, as EN 1264-4 has it: being switched on then shows nothing of tiling.
pub fn screed_heated_first(record: &Record) -> bool {
    let Some((on, _)) = record.switched_on else { return false };
    record.screeded.is_some() && record.tiled.as_ref().is_none_or(|(tiled, ..)| on < *tiled)
}

/// Whether something was read at a stage after tiling, or the tiled floor was switched on.
pub fn past_tiling_tests(record: &Record) -> bool {
    let read = record.readings.iter().map(|reading| reading.stage);
    let mut stages = read.chain(record.sensor_readings.iter().map(|reading| reading.stage));
    let on = record.switched_on.is_some() && !screed_heated_first(record);
    on || stages.any(|stage| stage > Stage::BeforeTiling)
}

/// Whether a floor is tiled by now.
pub fn past_tiling(record: &Record) -> bool {
    record.tiled.is_some() || past_tiling_tests(record)
}

/// What shows that a stage is past.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Past {
    /// A reading (an index) of a later stage.
    Reading(usize),
    /// The day of tiling.
    Tiled,
    /// The day of switching on.
    SwitchedOn,
}

/// A stage of which a cable has no reading although it is past.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MissingStage {
    /// The cable (an index).
    pub cable: usize,
    /// The stage.
    pub stage: Stage,
    /// What shows that it is past: the first thing written that does.
    pub past: Past,
}

/// The stages that a room's cables, of which there are `cables`, lack a reading of although they are past: a later one of some cable
/// is recorded, or the floor was tiled or switched on. Heating a screed before it is tiled shows nothing of what comes after. Before tiling and before switching on, only where one of them has been read then.
pub fn missing_stages(record: &Record, cables: usize) -> Vec<MissingStage> {
    let past = STAGES.map(|stage| past(record, stage));
    let mut read = vec![[false; STAGES.len()]; cables];
    for reading in &record.readings {
        read[reading.cable][reading.stage as usize] = true;
    }
    let mut missing = Vec::new();
    for (cable, read) in read.iter().enumerate() {
        for ((stage, past), read) in STAGES.into_iter().zip(past).zip(read) {
            // Three tests every floor has; others are for all cables once they are made of one.
            let begun = || record.readings.iter().any(|reading| reading.stage == stage);
            if let (Some(past), false) = (past, read)
                && (NEEDED.contains(&stage) || begun())
            {
                missing.push(MissingStage { cable, stage, past });
            }
        }
    }
    missing
}

fn past(record: &Record, stage: Stage) -> Option<Past> {
    let later = record.readings.iter().zip(0..).find(|(reading, _)| reading.stage > stage);
    if let Some((_, index)) = later {
        return Some(Past::Reading(index));
    }
    if record.tiled.is_some() && stage <= Stage::BeforeTiling {
        return Some(Past::Tiled);
    }
    let shows = stage <= Stage::BeforeTiling || !screed_heated_first(record);
    (record.switched_on.is_some() && shows).then_some(Past::SwitchedOn)
}

/// The day of the last reading.
pub fn last_day(readings: &[Reading]) -> Option<Date> {
    readings.iter().map(|reading| reading.date).max()
}
