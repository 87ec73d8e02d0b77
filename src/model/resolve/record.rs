//! Resolves test records.

use super::resolver::{Once, Resolver};
use super::room::Draft;
use crate::layout::kinds::Kind;
use crate::layout::tree::{self, InsulationExpr, RecordEntry, ScreenExpr, Word};
use crate::model::fault::Fault;
use crate::model::{
    InsulationTest, Label, MeasuredBy, Note, Photo, RcdTest, Reading, Record, Room, ScreedKind, Screeded, ScreenTest,
    SensorReading, Stage,
};
use crate::quantity::Dimension;
use crate::worded::Worded as _;
use jiff::civil::Date;

/// What the lines of a record give.
#[derive(Default)]
struct Given {
    readings: Vec<Reading>,
    sensor_readings: Vec<SensorReading>,
    labels: Vec<Label>,
    rcd_tests: Vec<RcdTest>,
    notes: Vec<Note>,
    photos: Vec<Photo>,
    primed: Once<Date>,
    screeded: Once<Screeded>,
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
        item.entries.iter().for_each(|entry| self.record_entry(entry, &draft.room, &mut given));
        let record = Record {
            readings: given.readings,
            sensor_readings: given.sensor_readings,
            labels: given.labels,
            rcd_tests: given.rcd_tests,
            notes: given.notes,
            photos: given.photos,
            primed: given.primed.stated().map(|primed| (primed.value, primed.place)),
            screeded: given.screeded.stated(),
            tiled: given.tiled.stated().map(|tiled| (tiled.value.0, tiled.value.1, tiled.place)),
            switched_on: given.switched_on.stated().map(|switched| (switched.value, switched.place)),
            signed: given.signed.stated().map(|signed| (signed.value.0, signed.value.1, signed.place)),
            incomplete: item.broken || self.faults() > faults,
            place: self.place(item.span),
        };
        self.once(&mut draft.record, Some(record), "the record", item.span);
    }

    fn record_entry(&mut self, entry: &RecordEntry, room: &Room, given: &mut Given) {
        match entry {
            RecordEntry::Reading(item) => given.readings.extend(self.reading(item, room)),
            RecordEntry::SensorReading(item) => given.sensor_readings.extend(self.sensor_reading(item, room)),
            RecordEntry::Label(item) => self.label(item, room, given),
            RecordEntry::RcdTest(item) => given.rcd_tests.extend(self.rcd_test(item)),
            RecordEntry::Note(item) => given.notes.extend(self.note(item)),
            RecordEntry::Photo(item) => given.photos.extend(self.photo(item)),
            RecordEntry::Primed(date, span) => {
                if let Some(date) = self.date(date) {
                    self.once(&mut given.primed, Some(date), "the day of priming", *span);
                }
            }
            RecordEntry::Screeded(item) => {
                let screeded = self.screeded(item);
                self.once(&mut given.screeded, screeded, "the screed", item.span);
            }
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

    /// `STAGE DATE cable NAME RESISTANCE insulation R at VOLTAGE screen R with "instrument"`
    fn reading(&mut self, item: &tree::Reading, room: &Room) -> Option<Reading> {
        let date = self.date(&item.date);
        let cable = self.find(Kind::Cable, &item.cable, &room.cables);
        let resistance = self.positive(&item.resistance, Dimension::RESISTANCE);
        let insulation = item.insulation.as_ref().and_then(|tested| self.insulation_test(tested));
        let screen = item.screen.as_ref().and_then(|tested| self.screen_test(tested));
        Some(Reading {
            stage: Stage::of_word(&item.stage.text).unwrap_or(Stage::BeforeSwitchingOn),
            date: date?,
            cable: cable?,
            resistance: resistance?,
            insulation,
            screen,
            measured: self.measured(&item.measured),
            place: self.place(item.span),
        })
    }

    /// `with "INSTRUMENT" serial "NUMBER" by "NAME"`; what is given as nothing is a fault.
    fn measured(&mut self, item: &tree::MeasuredExpr) -> MeasuredBy {
        let mut given = |word: &Option<Word>| {
            let word = word.as_ref()?;
            if word.text.trim().is_empty() {
                self.fault(self.place(word.span), Fault::EmptyInRecord);
                return None;
            }
            Some(word.text.clone())
        };
        MeasuredBy { instrument: given(&item.instrument), serial: given(&item.serial), person: given(&item.by) }
    }

    /// `note DATE "TEXT" at (X, Y) photo "FILE"`
    fn note(&mut self, item: &tree::Note) -> Option<Note> {
        let date = self.date(&item.date);
        let place = self.place(item.span);
        let at = item.at.as_ref().map(|at| self.point(at));
        let photo = item.photo.as_ref().map(|file| self.photograph(file));
        if item.text.text.trim().is_empty() {
            self.fault(place, Fault::EmptyNote);
            return None;
        }
        let text = item.text.text.clone();
        Some(Note { date: date?, text, at: at.flatten(), photo: photo.flatten(), place })
    }

    /// `photo DATE "FILE" at (X, Y)`
    fn photo(&mut self, item: &tree::Photo) -> Option<Photo> {
        let date = self.date(&item.date);
        let at = item.at.as_ref().map(|at| self.point(at));
        let file = self.photograph(&item.file)?;
        Some(Photo { date: date?, file, at: at.flatten(), place: self.place(item.span) })
    }

    /// The name of a photograph's file, which is not read.
    fn photograph(&mut self, file: &Word) -> Option<String> {
        let named = !file.text.trim().is_empty();
        if !named {
            self.fault(self.place(file.span), Fault::EmptyInRecord);
        }
        named.then(|| file.text.clone())
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

    /// `screen RESISTANCE` or `screen open`
    fn screen_test(&mut self, tested: &ScreenExpr) -> Option<ScreenTest> {
        match tested {
            ScreenExpr::Open => Some(ScreenTest::Open),
            ScreenExpr::Reads(read) => self.not_negative(read, Dimension::RESISTANCE).map(ScreenTest::Reads),
        }
    }

    /// `STAGE DATE sensor NAME RESISTANCE with "instrument"`
    fn sensor_reading(&mut self, item: &tree::SensorReading, room: &Room) -> Option<SensorReading> {
        let date = self.date(&item.date);
        let sensor = self.find(Kind::Sensor, &item.sensor, &room.sensors);
        let resistance = self.positive(&item.resistance, Dimension::RESISTANCE);
        Some(SensorReading {
            stage: Stage::of_word(&item.stage.text).unwrap_or(Stage::BeforeSwitchingOn),
            date: date?,
            sensor: sensor?,
            resistance: resistance?,
            measured: self.measured(&item.measured),
            place: self.place(item.span),
        })
    }

    /// `label cable NAME serial "TEXT" batch "TEXT"`
    fn label(&mut self, item: &tree::Label, room: &Room, given: &mut Given) {
        let Some(cable) = self.find(Kind::Cable, &item.cable, &room.cables) else { return };
        let place = self.place(item.span);
        let empty = |word: &Word| word.text.trim().is_empty();
        if empty(&item.serial) || item.batch.as_ref().is_some_and(empty) {
            self.fault(place, Fault::EmptyLabel);
            return;
        }
        if let Some(earlier) = given.labels.iter().find(|label| label.cable == cable) {
            self.fault(place, Fault::LabelTwice { cable: item.cable.text.clone(), earlier: earlier.place });
            return;
        }
        let batch = item.batch.as_ref().map(|word| word.text.clone());
        given.labels.push(Label { cable, serial: item.serial.text.clone(), batch, place });
    }

    /// `rcd-tested DATE supply NAME TIME with "instrument"`
    fn rcd_test(&mut self, item: &tree::RcdTest) -> Option<RcdTest> {
        let date = self.date(&item.date);
        let supply = self.find_supply(&item.supply);
        let time = self.positive(&item.time, Dimension::TIME);
        Some(RcdTest {
            date: date?,
            supply: supply?,
            time: time?,
            measured: self.measured(&item.measured),
            place: self.place(item.span),
        })
    }

    /// `screeded DATE KIND drying TIME`
    fn screeded(&mut self, item: &tree::Screeded) -> Option<Screeded> {
        let date = self.date(&item.date);
        let drying = item.drying.as_ref().map(|drying| self.positive(drying, Dimension::TIME));
        let drying = match drying {
            Some(drying) => Some(drying?),
            None => None,
        };
        Some(Screeded { date: date?, kind: ScreedKind::of_word(&item.kind.text)?, drying })
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
