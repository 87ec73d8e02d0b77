//! Looks up the things that names stand for.

use super::resolve::Resolver;
use super::{Name, Room};
use crate::finding::{Finding, Fix, ids};
use crate::layout::kinds::Kind;
use crate::layout::tree::Word;
use crate::source::{FileId, Place};
use crate::text::{nearest, quoted};

impl Resolver {
    /// The index of the thing that `word` names, among things of one kind.
    pub(super) fn find<T>(
        &mut self,
        kind: Kind,
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
    pub(super) fn unknown(&mut self, kind: Kind, file: FileId, word: &Word, known: &[&str]) {
        if self.unread.contains(&(kind, word.text.clone())) {
            return;
        }
        let place = Place { file, span: word.span };
        let called = kind.short();
        let near = nearest(&word.text, known.iter().copied());
        let advice = match near {
            Some(near) => format!("did you mean `{near}`?"),
            None if known.is_empty() => format!("there is no {called} here; add one"),
            None => format!("there is {}", quoted(known.iter().copied().take(12), "and")),
        };
        self.fault(
            Finding::reading(ids::NAME, format!("no {called} is called `{}`", word.text), place, "not known")
                .advise(advice)
                .fix(near.map(|near| Fix::write(near, place))),
        );
    }
}

impl Room {
    /// The names of its things of a kind that a deviation may name.
    pub(super) fn names(&self, kind: Kind) -> Vec<&str> {
        fn all<'r, T>(things: &'r [T], name: impl Fn(&'r T) -> &'r Name) -> Vec<&'r str> {
            things.iter().map(|thing| name(thing).text.as_str()).collect()
        }
        match kind {
            Kind::Cable => all(&self.cables, |cable| &cable.name),
            Kind::Sensor => all(&self.sensors, |sensor| &sensor.name),
            Kind::Thermostat => all(&self.thermostats, |thermostat| &thermostat.name),
            Kind::Junction => all(&self.junctions, |junction| &junction.name),
            _ => {
                let areas = self.areas.iter().filter(|area| area.kind.named() == kind).map(|area| &area.name);
                let lines = self.lines.iter().filter(|line| line.kind.named() == kind).map(|line| &line.name);
                areas.chain(lines).map(|name| name.text.as_str()).collect()
            }
        }
    }
}
