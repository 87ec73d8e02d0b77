//! What the lines of a test record say.

use super::{Node, Parts, Rule};
use crate::layout::tree::*;
use crate::source::Span;

/// A line of a test record.
pub(super) fn record_entry(node: Node<'_>) -> Option<RecordEntry> {
    let span = node.tight();
    let rule = node.rule();
    let mut parts = node.parts();
    Some(match rule {
        Rule::reading => {
            let (stage, date) = (parts.word()?, parts.word()?);
            if let Some(read) = parts.if_is(Rule::sensor_reading) {
                let mut read = read.parts();
                let (sensor, resistance) = (read.word()?, read.expr()?);
                let measured = measured(&mut parts);
                return Some(RecordEntry::SensorReading(SensorReading {
                    stage,
                    date,
                    sensor,
                    resistance,
                    measured,
                    span,
                }));
            }
            RecordEntry::Reading(cable_reading(parts, stage, date, span)?)
        }
        Rule::screeded => RecordEntry::Screeded(Screeded {
            date: parts.word()?,
            kind: parts.word()?,
            drying: parts.clause(Rule::drying),
            span,
        }),
        Rule::tiled => RecordEntry::Tiled(parts.word()?, parts.clause(Rule::drying), span),
        Rule::switched_on => RecordEntry::SwitchedOn(parts.word()?, span),
        Rule::label => RecordEntry::Label(Label {
            cable: parts.word()?,
            serial: parts.word()?,
            batch: parts.if_is(Rule::batch).and_then(|node| node.parts().word()),
            span,
        }),
        Rule::rcd_test => RecordEntry::RcdTest(RcdTest {
            date: parts.word()?,
            supply: parts.word()?,
            time: parts.expr()?,
            measured: measured(&mut parts),
            span,
        }),
        Rule::note => RecordEntry::Note(Note {
            date: parts.word()?,
            text: parts.word()?,
            at: spot(&mut parts),
            photo: parts.if_is(Rule::pictured).and_then(|node| node.parts().word()),
            span,
        }),
        Rule::photo => {
            RecordEntry::Photo(Photo { date: parts.word()?, file: parts.word()?, at: spot(&mut parts), span })
        }
        Rule::primed => RecordEntry::Primed(parts.word()?, span),
        _ => RecordEntry::Signed(parts.word()?, parts.word()?, span),
    })
}

/// `with "INSTRUMENT" serial "NUMBER" by "NAME"`
fn measured(parts: &mut Parts<'_>) -> MeasuredExpr {
    let mut measured = MeasuredExpr::default();
    if let Some(node) = parts.if_is(Rule::instrument) {
        let mut own = node.parts();
        measured.instrument = own.word();
        measured.serial = own.if_is(Rule::instrument_serial).and_then(|node| node.parts().word());
    }
    measured.by = parts.if_is(Rule::measured_by).and_then(|node| node.parts().word());
    measured
}

/// `at (X, Y)`
fn spot(parts: &mut Parts<'_>) -> Option<PointExpr> {
    parts.if_is(Rule::spot).and_then(|node| node.parts().point())
}

/// A reading of a cable, behind its date.
fn cable_reading(mut parts: Parts<'_>, stage: Word, date: Word, span: Span) -> Option<Reading> {
    Some(Reading {
        stage,
        date,
        cable: parts.word()?,
        resistance: parts.expr()?,
        insulation: parts.if_is(Rule::insulation_reading).and_then(|node| {
            let mut parts = node.parts();
            let out = parts.if_is(Rule::over_range).is_some();
            let over = out || parts.if_is(Rule::more_than).is_some();
            let value = if out { None } else { Some(parts.expr()?) };
            Some(InsulationExpr { value, over, voltage: parts.peek().and_then(|_| parts.expr()) })
        }),
        screen: parts.if_is(Rule::screen_reading).and_then(|node| {
            let mut parts = node.parts();
            match parts.if_is(Rule::interrupted) {
                Some(_) => Some(ScreenExpr::Open),
                None => parts.expr().map(ScreenExpr::Reads),
            }
        }),
        measured: measured(&mut parts),
        span,
    })
}
