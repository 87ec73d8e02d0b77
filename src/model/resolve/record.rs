//! Resolves test records.

use super::resolver::{Once, Resolver};
use super::room::Draft;
use crate::layout::kinds::Kind;
use crate::layout::tree::{self, InsulationExpr, RecordEntry, Word};
use crate::model::fault::Fault;
use crate::model::{InsulationTest, Reading, Record, Room, Stage};
use crate::quantity::Dimension;
use crate::worded::Worded as _;
use jiff::civil::Date;

/// What the lines of a record give besides its readings.
#[derive(Default)]
struct Given {
    /// When, and for how long the adhesive dries, s.
    tiled: Once<(Date, Option<f64>)>,
    switched_on: Once<Date>,
    signed: Once<(String, Date)>,
}

impl Resolver {
    /// `record { … }`
    pub(super) fn record(&mut self, item: &tree::Record, draft: &mut Draft) {
        let faults = self.faults();
        let mut given = Given::default();
        let mut readings = Vec::new();
        for entry in &item.entries {
            match entry {
                RecordEntry::Reading(item) => readings.extend(self.reading(item, &draft.room)),
                RecordEntry::Tiled(date, drying, span) => {
                    let drying = drying.as_ref().and_then(|drying| self.positive(drying, Dimension::TIME));
                    if let Some(date) = self.date(date) {
                        self.once(&mut given.tiled, Some((date, drying)), "the day of tiling", *span);
                    }
                }
                RecordEntry::SwitchedOn(date, span) => {
                    if let Some(date) = self.date(date) {
                        self.once(&mut given.switched_on, Some(date), "the day of switching on", *span);
                    }
                }
                RecordEntry::Signed(who, date, span) => {
                    if let Some(signed) = self.signed(who, date) {
                        self.once(&mut given.signed, Some(signed), "the signature", *span);
                    }
                }
            }
        }
        let record = Record {
            readings,
            tiled: given.tiled.stated().map(|tiled| (tiled.value.0, tiled.value.1, tiled.place)),
            switched_on: given.switched_on.stated().map(|switched| (switched.value, switched.place)),
            signed: given.signed.stated().map(|signed| (signed.value.0, signed.value.1, signed.place)),
            incomplete: item.broken || self.faults() > faults,
            place: self.place(item.span),
        };
        self.once(&mut draft.record, Some(record), "the record", item.span);
    }

    /// `STAGE DATE cable NAME RESISTANCE insulation R at VOLTAGE with "instrument"`
    fn reading(&mut self, item: &tree::Reading, room: &Room) -> Option<Reading> {
        let date = self.date(&item.date);
        let cable = self.find(Kind::Cable, &item.cable, &room.cables);
        let resistance = self.positive(&item.resistance, Dimension::RESISTANCE);
        let insulation = item.insulation.as_ref().and_then(|tested| self.insulation_test(tested));
        Some(Reading {
            stage: Stage::of_word(&item.stage.text).unwrap_or(Stage::BeforeSwitchingOn),
            date: date?,
            cable: cable?,
            resistance: resistance?,
            insulation,
            instrument: item.instrument.as_ref().map(|word| word.text.clone()),
            place: self.place(item.span),
        })
    }

    /// `insulation RESISTANCE at VOLTAGE`; nothing where the resistance can't be read.
    fn insulation_test(&mut self, tested: &InsulationExpr) -> Option<InsulationTest> {
        let shown = tested.value.as_ref().map(|shown| self.not_negative(shown, Dimension::RESISTANCE));
        let voltage = tested.voltage.as_ref().and_then(|voltage| self.positive(voltage, Dimension::VOLTAGE));
        let resistance = match shown {
            Some(shown) => Some(shown?),
            None => None,
        };
        Some(InsulationTest { resistance, over: tested.over, voltage })
    }

    /// `signed "NAME" DATE`
    fn signed(&mut self, who: &Word, date: &Word) -> Option<(String, Date)> {
        if who.text.trim().is_empty() {
            self.fault(self.place(who.span), Fault::NoSignature);
            return None;
        }
        Some((who.text.clone(), self.date(date)?))
    }
}
