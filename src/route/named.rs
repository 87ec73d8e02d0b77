//! What a cable without a way names: its kit, its thermostat; and a name for one that is added.

use super::text::Unlaid;
use super::{Stop, stop};
use crate::finding::{Finding, ids};
use crate::layout::tree::{KitEntry, Statement};
use crate::model::{Kit, Plan, Room, Thermostat};
use crate::source::Place;
use crate::text::quoted;

/// A name that is not taken.
pub(super) fn free_name(taken: &[String], wanted: &[&str]) -> String {
    let free = wanted.iter().find(|name| taken.iter().all(|taken| taken != *name));
    free.map_or_else(|| format!("{}-{}", wanted.first().unwrap_or(&"x"), taken.len()), |name| (*name).to_string())
}

/// The kit that a cable names.
///
/// # Errors
/// Where it names none, or one that the plan doesn't know or that is a mat.
pub(super) fn kit_of<'p>(cable: &Unlaid, plan: &'p Plan) -> Result<&'p Kit, Stop> {
    let Some(name) = &cable.kit else {
        return Err(stop(format!("cable `{}` names no kit", cable.name), "write `kit NAME` in its block"));
    };
    let Some(kit) = plan.kits.named(name).and_then(|kit| plan.kits.get(kit)) else {
        if plan.sources.each().any(|(_, text)| declares(text, name)) {
            return Err(stop(format!("kit `{name}` could not be read"), "`layrule check` shows what is wrong with it"));
        }
        if plan.faults.iter().any(|fault| &*fault.rule == ids::USE) {
            let reason = format!("no kit is called `{name}`, and a file that the plan uses can't be read");
            return Err(stop(reason, "`layrule check` shows which, and why"));
        }
        let known = plan.kits.iter().map(|kit| kit.name.text.as_str());
        let advice = match crate::text::nearest(name, known.clone()) {
            Some(near) => format!("did you mean `{near}`?"),
            None if plan.kits.is_empty() => "take kits from a file: `use \"kits.lay\"`".into(),
            None => format!("there is {}", quoted(known, "and")),
        };
        return Err(stop(format!("no kit is called `{name}`"), advice));
    };
    if let Some(fault) = fault_of(kit, plan) {
        return Err(stop(
            format!("kit `{name}` is not as it should be: {}", fault.message),
            "put that right first; `layrule check` shows where",
        ));
    }
    if kit.mat.is_some() {
        return Err(stop(
            format!("kit `{name}` is a mat, whose mesh is cut and turned by hand"),
            "draw it with `loops`, or choose a loose cable",
        ));
    }
    Ok(kit)
}

/// What is wrong with the statement of a kit that could be read all the same.
fn fault_of<'p>(kit: &Kit, plan: &'p Plan) -> Option<&'p Finding> {
    let Place { file, span: name } = kit.name.place;
    if plan.faults.iter().all(|fault| fault.marks.iter().all(|mark| mark.place.file != file)) {
        return None;
    }
    let tree = crate::layout::parse(&plan.sources.get(file)?.text);
    let lines = tree.statements.iter().find_map(|statement| match statement {
        Statement::Kit(own) if own.name.span == name => {
            Some(own.entries.iter().map(KitEntry::span).chain([name]).collect::<Vec<_>>())
        }
        Statement::Kits(table) => {
            let row = table.rows().find(|row| row.name.span == name)?;
            Some(table.shared().map(KitEntry::span).chain([row.span]).collect())
        }
        _ => None,
    })?;
    let own = |place: Place| place.file == file && lines.iter().any(|line| line.range().contains(&place.span.start()));
    plan.faults.iter().find(|fault| fault.marks.iter().any(|mark| own(mark.place)))
}

/// Whether a text has a kit of that name, read or not.
fn declares(text: &str, name: &str) -> bool {
    let file = crate::layout::parse(text);
    file.statements.iter().any(|statement| match statement {
        Statement::Kit(kit) => kit.name.text == name,
        Statement::Kits(table) => {
            table.rows().map(|row| &row.name).chain(&table.unread).any(|known| known.text == name)
        }
        _ => false,
    })
}

/// The thermostat that switches a cable: the one that it names, or the room's only one; none where the room has none.
///
/// # Errors
/// Where that can't be told.
pub(super) fn thermostat_of<'p>(cable: &Unlaid, room: &'p Room) -> Result<Option<&'p Thermostat>, Stop> {
    match (&cable.by, &room.thermostats[..]) {
        (_, []) => Ok(None),
        (None, [one]) => Ok(Some(one)),
        (None, [first, ..]) => Err(stop(
            format!("cable `{}` doesn't say which thermostat switches it", cable.name),
            format!("write, for example, `by {}` in its block", first.name.text),
        )),
        (Some(name), all) => all.iter().find(|own| own.name.text == *name).map(Some).ok_or_else(|| {
            let names = quoted(all.iter().map(|own| own.name.text.as_str()), "and");
            stop(format!("no thermostat is called `{name}`"), format!("there is {names}"))
        }),
    }
}
