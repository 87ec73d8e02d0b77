//! Syntax trees to a plan: names looked up, quantities worked out, contradictions found.
//!
//! Each statement has a function of its own in the file of its family. `room` says in what order a room's are resolved.

mod area;
mod cable;
mod channel;
mod circuit;
mod deviation;
mod drawing;
mod floor;
mod kit;
mod kit_table;
mod line;
mod material;
mod outline;
mod outside;
mod path;
mod reach;
mod record;
pub(super) mod resolver;
mod room;
mod sensor;
mod supply;
mod surroundings;

use super::Plan;
use super::fault::Fault;
use super::load::{Loaded, Parsed};
use crate::finding::{Finding, ids};
use crate::layout::tree::Statement;
use crate::source::{FileId, Place, Span};
pub use path::MOST_RUNS;
use resolver::{Once, Resolver};

/// Resolves a loaded plan. Rooms of used files are those files' own plans and are left to them.
pub fn resolve(loaded: Loaded) -> Plan {
    // What plans use alike is resolved once for all of them.
    let used = loaded.used.resolved.get_or_init(|| {
        let mut used = Resolver::default();
        loaded.used.files.iter().for_each(|(file, parsed)| used.definitions(*file, parsed));
        used
    });
    let mut resolver = used.clone();
    let mut faults = loaded.faults;
    resolver.values.use_failed = faults.iter().any(|fault| &*fault.rule == ids::USE);
    if let Some((file, parsed)) = loaded.files.last() {
        if parsed.tree.statements.is_empty() && parsed.tree.faults.is_empty() {
            let place = Place { file: *file, span: Span::default() };
            faults.push(Fault::NothingToCheck.finding(place));
        }
        resolver.definitions(*file, parsed);
        resolver.rooms(parsed);
    }
    resolver.outside_every_room();
    faults.extend(resolver.values.faults.take());
    faults.sort_by_key(Finding::place);
    Plan {
        sources: loaded.sources,
        kits: resolver.kits,
        supplies: resolver.supplies,
        title_block: resolver.title_block,
        north: resolver.north,
        rooms: resolver.rooms,
        values: resolver.values.given,
        faults,
    }
}

impl Resolver {
    /// What a file defines outside its rooms.
    fn definitions(&mut self, file: FileId, parsed: &Parsed) {
        self.file = file;
        let (mut block, mut north) = (drawing::Given::default(), Once::default());
        for statement in &parsed.tree.statements {
            match statement {
                Statement::Let(item) => self.values.define(file, &item.name, &item.value),
                Statement::Material(item) => self.material(item),
                Statement::Kit(item) => self.kit(item),
                Statement::Kits(item) => self.kit_table(item),
                Statement::Supply(item) => self.supply(item),
                Statement::Drawing(item) => self.drawing(item, &mut block),
                Statement::North(value, span) => self.plan_north(value, *span, &mut north),
                Statement::Use(_) | Statement::Room(_) | Statement::Floor(_) => {}
            }
        }
        self.keep_drawing(block, north);
        // Their materials may stand below them.
        for statement in &parsed.tree.statements {
            if let Statement::Floor(item) = statement {
                self.named_floor(item);
            }
        }
    }

    /// The rooms of the file at hand. What a `let` in one gives a name to holds in that one only.
    fn rooms(&mut self, parsed: &Parsed) {
        for statement in &parsed.tree.statements {
            if let Statement::Room(item) = statement {
                let values = self.values.enter();
                if let Some(room) = self.room(item) {
                    self.rooms.push(room);
                }
                self.values.leave(values);
            }
        }
    }
}
