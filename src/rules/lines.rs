//! Lines of a supply and of a test record, as things to point at.

use crate::model::{Record, Supply};
use crate::source::Place;

/// A line of a supply.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum SupplyLine {
    Voltage,
    Rcd,
    Breaker,
    Conductor,
    Ambient,
}

impl SupplyLine {
    /// What it gives.
    pub fn word(self) -> &'static str {
        match self {
            SupplyLine::Voltage => "voltage",
            SupplyLine::Rcd => "RCD",
            SupplyLine::Breaker => "breaker",
            SupplyLine::Conductor => "conductor",
            SupplyLine::Ambient => "ambient temperature",
        }
    }

    /// Where a supply gives it.
    pub fn place(self, supply: &Supply) -> Option<Place> {
        match self {
            SupplyLine::Voltage => supply.voltage.as_ref().map(|line| line.place),
            SupplyLine::Rcd => supply.rcd.as_ref().map(|line| line.place),
            SupplyLine::Breaker => supply.breaker.as_ref().map(|line| line.place),
            SupplyLine::Conductor => supply.conductor.as_ref().map(|line| line.place),
            SupplyLine::Ambient => supply.ambient.as_ref().map(|line| line.place),
        }
    }
}

/// A line of a test record that is no reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum RecordLine {
    Tiled,
    SwitchedOn,
    Signed,
}

impl RecordLine {
    /// What it gives.
    pub fn word(self) -> &'static str {
        match self {
            RecordLine::Tiled => "day of tiling",
            RecordLine::SwitchedOn => "day of switching on",
            RecordLine::Signed => "signature",
        }
    }

    /// Where a record gives it.
    pub fn place(self, record: &Record) -> Option<Place> {
        match self {
            RecordLine::Tiled => record.tiled.as_ref().map(|line| line.2),
            RecordLine::SwitchedOn => record.switched_on.as_ref().map(|line| line.1),
            RecordLine::Signed => record.signed.as_ref().map(|line| line.2),
        }
    }
}
