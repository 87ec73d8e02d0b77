//! Kits: another than was reckoned with, or one whose label was copied wrong.

use super::{Way, mistyped, word};
use crate::exercise::site::{Change, Site, What};
use crate::layout::tree::{CableEntry, KitEntry, KitTableEntry, Word};

pub(super) const WAYS: &[Way] = &[
    Way {
        name: "kit-mistaken",
        does: "one kit is taken for another",
        aims: &[
            "laid-length",
            "resistance-reading",
            "surface-temperature",
            "heat-demand",
            "cover",
            "even-warmth",
            "power-density",
            "mat-spacing",
            "mat-area",
        ],
        changes: kit_mistaken,
    },
    Way {
        name: "kit-mistyped",
        does: "a number of a kit is copied wrong from its label",
        aims: &[
            "laid-length",
            "bend-radius",
            "cover",
            "surface-temperature",
            "power-density",
            "sheath-temperature",
            "resistance-reading",
            "second-tail-reach",
        ],
        changes: mistyped_of_used,
    },
    Way {
        name: "kit-without-screen",
        does: "a kit without an earthed screen is chosen",
        aims: &["earthed-screen"],
        changes: without_screen,
    },
    Way {
        name: "kit-of-one-conductor",
        does: "a kit of one conductor is chosen",
        aims: &["second-tail"],
        changes: of_one_conductor,
    },
];

/// The names of the kits that cables are of.
fn used<'s>(site: &'s Site<'_>) -> Vec<&'s str> {
    let kits = site.lines.iter().filter_map(|line| match line.what {
        What::Cable(CableEntry::Kit(word)) => Some(word.text.as_str()),
        _ => None,
    });
    kits.collect()
}

fn kit_mistaken(site: &Site<'_>, changes: &mut Vec<Change>) {
    let kits: Vec<&str> = site.measured.plan().kits.iter().map(|kit| kit.name.text.as_str()).collect();
    for line in &site.lines {
        let What::Cable(CableEntry::Kit(own)) = line.what else { continue };
        kits.iter().for_each(|other| word(site, changes, own.span, other));
    }
}

/// The lines of the kits that cables are of; those that they share with others of their make too.
fn lines_of_used<'s>(site: &'s Site<'s>) -> Vec<What<'s>> {
    let used = used(site);
    let is_used = |name: &Word| used.contains(&name.text.as_str());
    let mut own = false;
    let mut lines = Vec::new();
    for line in &site.lines {
        match line.what {
            What::KitHead(kit) => own = is_used(&kit.name),
            What::KitTableHead(table) => own = table.rows().any(|row| is_used(&row.name)),
            What::Kit(_) if own => lines.push(line.what),
            What::KitTable(KitTableEntry::Row(row)) if is_used(&row.name) => lines.push(line.what),
            _ => {}
        }
    }
    lines
}

fn entries_of_used<'s>(site: &'s Site<'s>) -> impl Iterator<Item = &'s KitEntry> {
    lines_of_used(site).into_iter().filter_map(|what| match what {
        What::Kit(entry) => Some(entry),
        _ => None,
    })
}

fn mistyped_of_used(site: &Site<'_>, changes: &mut Vec<Change>) {
    let used = lines_of_used(site);
    let is_used = |what: &What<'_>| {
        used.iter().any(|own| match (own, what) {
            (What::Kit(own), What::Kit(entry)) => std::ptr::eq(*own, *entry),
            (What::KitTable(own), What::KitTable(entry)) => std::ptr::eq(*own, *entry),
            _ => false,
        })
    };
    mistyped(site, changes, is_used, |after| after != "cores");
}

fn without_screen(site: &Site<'_>, changes: &mut Vec<Change>) {
    for entry in entries_of_used(site) {
        let KitEntry::Screen(true, span) = entry else { continue };
        let edits = vec![site.edit(*span, "screen none")];
        changes.push(Change { edits, said: "a kit without an earthed screen chosen".into(), size: 1.0 });
    }
}

fn of_one_conductor(site: &Site<'_>, changes: &mut Vec<Change>) {
    for entry in entries_of_used(site) {
        let KitEntry::Tail(_, span) = entry else { continue };
        let Some(line) = site.lines.iter().find(|line| line.span.start() == span.start()) else { continue };
        let edits = vec![site.after(line, "cores 1")];
        changes.push(Change { edits, said: "a kit of one conductor chosen".into(), size: 1.0 });
    }
}
