//! Resolves a test record.

use super::resolve::Resolver;
use super::{InsulationTest, Reading, Record, Room, Stage};
use crate::finding::{Finding, ids};
use crate::layout::kinds::Kind;
use crate::layout::tree::{RecordEntry, Word};
use crate::quantity::Dimension;
use crate::source::{FileId, Place};
use crate::worded::Worded as _;

impl Resolver {
    pub(super) fn record(&mut self, file: FileId, entries: &[RecordEntry], place: Place, room: &Room) -> Record {
        let mut record =
            Record { readings: Vec::new(), tiled: None, switched_on: None, signed: None, incomplete: false, place };
        let (mut tiled, mut switched_on, mut signed) = (None, None, None);
        for entry in entries {
            match entry {
                RecordEntry::Reading { stage, date, cable, resistance, insulation, instrument, span } => {
                    let date = self.date(file, date);
                    let cable = self.find(Kind::Cable, file, cable, &room.cables, |cable| &cable.name);
                    let resistance = self.values.positive(file, resistance, Dimension::RESISTANCE);
                    let insulation = match insulation {
                        None => None,
                        Some(tested) => {
                            let shown = tested.value.as_ref();
                            let shown = shown.map(|shown| self.values.not_negative(file, shown, Dimension::RESISTANCE));
                            let voltage = tested.voltage.as_ref();
                            let voltage =
                                voltage.and_then(|voltage| self.values.positive(file, voltage, Dimension::VOLTAGE));
                            let test = |resistance| InsulationTest { resistance, over: tested.over, voltage };
                            match shown {
                                None => Some(test(None)),
                                Some(shown) => shown.map(|shown| test(Some(shown))),
                            }
                        }
                    };
                    let (Some(date), Some(cable), Some(resistance)) = (date, cable, resistance) else { continue };
                    record.readings.push(Reading {
                        stage: Stage::of_word(&stage.text).unwrap_or(Stage::BeforeSwitchingOn),
                        date,
                        cable,
                        resistance,
                        insulation,
                        instrument: instrument.as_ref().map(|word| word.text.clone()),
                        place: Place { file, span: *span },
                    });
                }
                RecordEntry::Tiled(date, drying, span) => {
                    let drying = drying.as_ref().and_then(|drying| self.values.positive(file, drying, Dimension::TIME));
                    if let Some(date) = self.date(file, date) {
                        self.once(&mut tiled, (date, drying), "the day of tiling", Place { file, span: *span });
                    }
                }
                RecordEntry::SwitchedOn(date, span) => {
                    if let Some(date) = self.date(file, date) {
                        self.once(&mut switched_on, date, "the day of switching on", Place { file, span: *span });
                    }
                }
                RecordEntry::Signed(who, _, _) if who.text.trim().is_empty() => {
                    let place = Place { file, span: who.span };
                    self.fault(Finding::reading(ids::PLAN, "a signature needs a name", place, "no name"));
                }
                RecordEntry::Signed(who, date, span) => {
                    if let Some(date) = self.date(file, date) {
                        self.once(&mut signed, (who.text.clone(), date), "the signature", Place { file, span: *span });
                    }
                }
            }
        }
        record.tiled = tiled.map(|((date, drying), place)| (date, drying, place));
        record.switched_on = switched_on;
        record.signed = signed.map(|((who, date), place)| (who, date, place));
        record
    }

    pub(super) fn date(&mut self, file: FileId, word: &Word) -> Option<jiff::civil::Date> {
        let date = word.text.parse().ok();
        if date.is_none() {
            let place = Place { file, span: word.span };
            self.fault(Finding::reading(
                ids::QUANTITY,
                format!("there is no day {}", word.text),
                place,
                "write year, month and day, such as `2026-11-25`",
            ));
        }
        date
    }
}
