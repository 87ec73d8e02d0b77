//! The test record: readings mistyped, dates out of order, what was never read or written down.

use super::{Way, forgotten, mistyped, word};
use crate::exercise::site::{Change, Site, What};
use crate::language::Word;
use crate::layout::tree::{Reading, RecordEntry, RoomEntry, ScreenExpr};

pub(super) const WAYS: &[Way] = &[
    Way {
        name: "reading-mistyped",
        does: "a reading is mistyped",
        aims: &[
            "resistance-drift",
            "resistance-reading",
            "insulation-reading",
            "insulation-fall",
            "sensor-change",
            "drying-time",
        ],
        changes: |site, changes| {
            mistyped(site, changes, |what| matches!(what, What::Record(_)), |_| true);
        },
    },
    Way {
        name: "date-mistyped",
        does: "a date is mistyped",
        aims: &["stage-order", "record-unsigned", "drying-time"],
        changes: date_mistyped,
    },
    Way {
        name: "line-forgotten",
        does: "a line of the record is forgotten",
        aims: &["stage-missing", "sensor-untested", "kit-label", "screen-untested", "rcd-untested", "record-unsigned"],
        changes: |site, changes| {
            forgotten(
                site,
                changes,
                |what| matches!(what, What::Record(entry) if !matches!(entry, RecordEntry::Note(..))),
            )
        },
    },
    Way {
        name: "test-forgotten",
        does: "a test is forgotten beside another",
        aims: &["screen-untested", "insulation-untested"],
        changes: test_forgotten,
    },
    Way {
        name: "test-voltage-mistaken",
        does: "the insulation is tested at another voltage",
        aims: &["insulation-reading"],
        changes: test_voltage,
    },
    Way {
        name: "insulation-damp",
        does: "little is read of the insulation",
        aims: &["insulation-low", "insulation-reading", "insulation-fall"],
        changes: insulation_damp,
    },
    Way { name: "rcd-slow", does: "an RCD trips late", aims: &["rcd-test"], changes: rcd_slow },
    Way {
        name: "screen-open",
        does: "the screen turns out to lead nowhere",
        aims: &["screen-reading"],
        changes: screen_open,
    },
    Way {
        name: "screed-hurried",
        does: "a screed is heated or tiled before it has set",
        aims: &["screed-heating", "screed-tiling"],
        changes: screed_hurried,
    },
];

fn date_of(entry: &RecordEntry) -> Option<&Word> {
    Some(match entry {
        RecordEntry::Reading(item) => &item.date,
        RecordEntry::SensorReading(item) => &item.date,
        RecordEntry::Screeded(item) => &item.date,
        RecordEntry::RcdTest(item) => &item.date,
        RecordEntry::Tiled(date, ..)
        | RecordEntry::SwitchedOn(date, _)
        | RecordEntry::Primed(date, _)
        | RecordEntry::Signed(_, date, _) => date,
        RecordEntry::Note(_) | RecordEntry::Photo(_) | RecordEntry::Label(_) => return None,
    })
}

/// A day or a month that somebody gets wrong.
fn date_mistyped(site: &Site<'_>, changes: &mut Vec<Change>) {
    for line in &site.lines {
        let What::Record(entry) = line.what else { continue };
        let Some(date) = date_of(entry) else { continue };
        let Ok(right) = date.text.parse::<jiff::civil::Date>() else { continue };
        for days in [-60_i32, -30, -10, -5, -2, 2, 5, 10, 30, 60] {
            let Ok(wrong) = right.checked_add(jiff::Span::new().days(days)) else { continue };
            let edits = vec![site.edit(date.span, wrong.to_string())];
            let size = f64::from(days).abs() / 60.0;
            changes.push(Change { edits, said: format!("{wrong} written for {right}"), size });
        }
    }
}

/// The readings of cables.
fn readings<'s>(site: &'s Site<'_>) -> impl Iterator<Item = &'s Reading> {
    site.lines.iter().filter_map(|line| match line.what {
        What::Record(RecordEntry::Reading(reading)) => Some(reading),
        _ => None,
    })
}

/// What is written behind a reading, from a word to the next part of it.
fn part<'s>(site: &Site<'s>, reading: &Reading, word: &str, next: &[&str]) -> Option<(crate::source::Span, &'s str)> {
    let text = site.text(reading.span);
    let at = text.find(word)?;
    let rest = &text[at..];
    let end = next.iter().filter_map(|next| rest.find(next)).min().unwrap_or(rest.len());
    let span =
        crate::source::Span::new(reading.span.start() + at..reading.span.start() + at + rest[..end].trim_end().len());
    Some((span, site.text(span)))
}

fn test_forgotten(site: &Site<'_>, changes: &mut Vec<Change>) {
    for reading in readings(site) {
        let parts = [("insulation ", &[" screen ", " with ", " by "][..]), ("screen ", &[" with ", " by "][..])];
        for (span, text) in parts.into_iter().filter_map(|(word, next)| part(site, reading, word, next)) {
            changes.push(Change { edits: vec![site.edit(span, "")], said: format!("`{text}` left out"), size: 1.0 });
        }
    }
}

fn test_voltage(site: &Site<'_>, changes: &mut Vec<Change>) {
    for reading in readings(site) {
        let Some(voltage) = reading.insulation.as_ref().and_then(|test| test.voltage.as_ref()) else { continue };
        word(site, changes, voltage.span, "250 V");
        word(site, changes, voltage.span, "9 V");
    }
}

fn insulation_damp(site: &Site<'_>, changes: &mut Vec<Change>) {
    for reading in readings(site) {
        let Some(value) = reading.insulation.as_ref().and_then(|test| test.value.as_ref()) else { continue };
        for read in ["0.4 Mohm", "3 Mohm", "6 Mohm", "8 Mohm", "20 Mohm"] {
            word(site, changes, value.span, read);
        }
    }
}

fn rcd_slow(site: &Site<'_>, changes: &mut Vec<Change>) {
    for line in &site.lines {
        let What::Record(RecordEntry::RcdTest(test)) = line.what else { continue };
        for read in ["310 ms", "420 ms", "900 ms"] {
            word(site, changes, test.time.span, read);
        }
    }
}

fn screen_open(site: &Site<'_>, changes: &mut Vec<Change>) {
    for reading in readings(site) {
        let Some(ScreenExpr::Reads(value)) = &reading.screen else { continue };
        word(site, changes, value.span, "open");
    }
}

/// A record of a floor in screed, with the day on which it was screeded.
fn screed_hurried(site: &Site<'_>, changes: &mut Vec<Change>) {
    for line in &site.lines {
        let What::Room(RoomEntry::Record(_)) = line.what else { continue };
        let own = site.lines.iter().filter(|other| other.room == line.room);
        let dated = own.filter_map(|other| match other.what {
            What::Record(entry) => date_of(entry)?.text.parse::<jiff::civil::Date>().ok().map(|date| (date, other)),
            _ => None,
        });
        let Some((last, at)) = dated.max_by_key(|(date, _)| *date) else { continue };
        let day = |days: i64| last.checked_add(jiff::Span::new().days(days)).unwrap_or(last);
        for (kind, days) in [("cement", 12), ("anhydrite", 4)] {
            for then in ["tiled", "switched-on"] {
                let statements = format!("screeded {} {kind}\n{then} {}", day(1), day(1 + days));
                let said = format!("{then} {days} days after the screed was laid");
                changes.push(Change { edits: vec![site.after(at, &statements)], said, size: 1.0 });
            }
        }
    }
}
