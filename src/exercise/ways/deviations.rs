//! Agreed departures that are forgotten, out of date, or cover nothing.

use super::{Way, forgotten};
use crate::exercise::site::{Change, Site, What};
use crate::layout::tree::RoomEntry;
use crate::source::Span;

pub(super) const WAYS: &[Way] = &[
    Way {
        name: "deviation-forgotten",
        does: "what was agreed is not written down",
        aims: &["doorway", "kit-size", "wide-spacing"],
        changes: |site, changes| forgotten(site, changes, is_deviation),
    },
    Way {
        name: "deviation-lapsed",
        does: "what was agreed held for a time that is past",
        aims: &["deviation-lapsed"],
        changes: lapsed,
    },
    Way {
        name: "deviation-for-nothing",
        does: "something is agreed that the plan doesn't need",
        aims: &["deviation-unused"],
        changes: for_nothing,
    },
];

fn is_deviation(what: &What<'_>) -> bool {
    matches!(what, What::Room(RoomEntry::Deviation(_)))
}

fn lapsed(site: &Site<'_>, changes: &mut Vec<Change>) {
    for line in &site.lines {
        let What::Room(RoomEntry::Deviation(deviation)) = line.what else { continue };
        // The years that there were before any plan of this program.
        for day in ["2020-03-31", "2021-09-30", "2024-12-31"] {
            let (span, text) = match &deviation.until {
                Some(until) => (until.span, day.to_string()),
                None => (Span::new(line.span.end()..line.span.end()), format!(" until {day}")),
            };
            changes.push(Change { edits: vec![site.edit(span, text)], said: format!("agreed until {day}"), size: 1.0 });
        }
    }
}

fn for_nothing(site: &Site<'_>, changes: &mut Vec<Change>) {
    for (room, measure) in site.measured.rooms().enumerate() {
        let Some(last) = site.last_thing(room) else { continue };
        for rule in ["wall-clearance", "spacing", "doorway", "sensor-depth"] {
            if measure.room.deviations.iter().all(|own| own.rule.text != rule) {
                let statement = format!("deviation {rule} \"agreed on site\"");
                let edits = vec![site.after(last, &statement)];
                changes.push(Change { edits, said: format!("`{statement}` agreed for nothing"), size: 1.0 });
            }
        }
    }
}
