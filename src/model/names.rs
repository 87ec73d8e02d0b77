//! Looks up the things that names stand for.

use super::resolve::Resolver;
use super::{AreaKind, LineKind, Name, Room};
use crate::finding::{Finding, Fix, ids};
use crate::layout::tree::Word;
use crate::source::{FileId, Place};
use crate::text::{nearest, quoted};

impl Resolver {
    /// The index of the thing that `word` names, among things of one kind.
    pub(super) fn find<T>(
        &mut self,
        kind: &'static str,
        file: FileId,
        word: &Word,
        things: &[T],
        name: impl Fn(&T) -> &Name,
    ) -> Option<usize> {
        let found = things.iter().position(|thing| name(thing).text == word.text);
        if found.is_none() {
            let known: Vec<&str> = things.iter().map(|thing| name(thing).text.as_str()).collect();
            self.unknown(kind, file, word, &known);
        }
        found
    }

    /// A fault for a name that nothing of its kind bears, unless what bears it is at fault itself.
    pub(super) fn unknown(&mut self, kind: &'static str, file: FileId, word: &Word, known: &[&str]) {
        if self.unread.contains(&(kind, word.text.clone())) {
            return;
        }
        let place = Place { file, span: word.span };
        let near = nearest(&word.text, known.iter().copied());
        let advice = match near {
            Some(near) => format!("did you mean `{near}`?"),
            None if known.is_empty() => format!("there is no {kind} here; add one"),
            None => format!("there is {}", quoted(known.iter().copied().take(12), "and")),
        };
        self.fault(
            Finding::reading(ids::NAME, format!("no {kind} is called `{}`", word.text), place, "not known")
                .advise(advice)
                .fix(near.map(|near| Fix::write(near, place))),
        );
    }
}

/// The kind of thing that a deviation names, as messages call it.
pub(super) fn target_kind(word: &str) -> &'static str {
    match word {
        "cable" => "cable",
        "fixture" => "fixture",
        "sensor" => "sensor",
        "thermostat" => "thermostat",
        "junction" => "junction",
        "door" => "door",
        "drill" => "drill zone",
        "joint" => "joint",
        "pipe" => "pipe",
        _ => "level",
    }
}

impl Room {
    /// The names of its things of a kind, as a deviation names kinds.
    pub(super) fn names(&self, kind: &str) -> Vec<String> {
        let areas = |wanted: fn(&AreaKind) -> bool| -> Vec<String> {
            self.areas.iter().filter(|area| wanted(&area.kind)).map(|area| area.name.text.clone()).collect()
        };
        let lines = |wanted: fn(&LineKind) -> bool| -> Vec<String> {
            self.lines.iter().filter(|line| wanted(&line.kind)).map(|line| line.name.text.clone()).collect()
        };
        match kind {
            "cable" => self.cables.iter().map(|cable| cable.name.text.clone()).collect(),
            "sensor" => self.sensors.iter().map(|sensor| sensor.name.text.clone()).collect(),
            "thermostat" => self.thermostats.iter().map(|thermostat| thermostat.name.text.clone()).collect(),
            "junction" => self.junctions.iter().map(|junction| junction.name.text.clone()).collect(),
            "fixture" => areas(|kind| matches!(kind, AreaKind::Fixture { .. })),
            "drill" => areas(|kind| matches!(kind, AreaKind::Drill)),
            "level" => areas(|kind| matches!(kind, AreaKind::Level { .. })),
            "joint" => lines(|kind| matches!(kind, LineKind::Joint)),
            "pipe" => lines(|kind| matches!(kind, LineKind::Pipe(_))),
            _ => lines(|kind| matches!(kind, LineKind::Door(_))),
        }
    }
}
