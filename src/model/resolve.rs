//! Syntax trees to a plan: names looked up, quantities worked out, contradictions found.

use std::collections::{HashMap, HashSet};
use std::sync::LazyLock;

use super::load::{Loaded, Parsed};
use super::materials::{self, MATERIALS};
use super::values::Values;
use super::{Conductor, Insulation, Kit, Method, Name, Plan, Room, Stated, Supply};
use crate::finding::{Finding, ids};
use crate::layout::kinds::{Kind, MaterialKind};
use crate::layout::tree::{self, KitEntry, MaterialEntry, Statement, SupplyEntry, Word};
use crate::quantity::{Dimension, Quantity};
use crate::source::{FileId, Place, Span};
use crate::text::counted;
use crate::worded::Worded as _;

/// Everything resolved so far.
#[derive(Debug, Clone, Default)]
pub(super) struct Resolver {
    pub values: Values,
    pub kits: Vec<Kit>,
    pub supplies: Vec<Supply>,
    /// The plan's own, by name; they stand before the table's.
    pub own_materials: HashMap<String, Material>,
    pub rooms: Vec<Room>,
    /// How many runs the cables of all rooms have.
    pub laid: usize,
    /// Kinds and names of things that were given but are at fault, so that naming them is no fault of its own.
    pub unread: HashSet<(Kind, String)>,
}

/// A material, the table's or a plan's own.
#[derive(Debug, Clone)]
pub(super) struct Material {
    /// W/mK.
    pub conductivity: f64,
    /// Of what kind it is, where it is said.
    pub kind: Option<MaterialKind>,
    /// How warm its surface may get, degC, where a plan says.
    pub surface_limit: Option<f64>,
    /// Where a plan defines it.
    pub place: Option<Place>,
}

/// The conductivities there are, W/mK: from better insulants than are made to metals.
const CONDUCTIVITIES: std::ops::RangeInclusive<f64> = 0.001..=500.0;

/// The table's materials, by name.
static TABLE: LazyLock<HashMap<&str, Material>> = LazyLock::new(|| {
    let table = MATERIALS.iter().map(|material| {
        let materials::Material { conductivity, kind, .. } = *material;
        let own = Material { conductivity, kind, surface_limit: None, place: None };
        (material.name, own)
    });
    table.collect()
});

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
    if let Some((file, parsed)) = loaded.files.last() {
        resolver.definitions(*file, parsed);
    }
    if let Some((file, parsed)) = loaded.files.last() {
        if parsed.tree.statements.is_empty() && parsed.tree.faults.is_empty() {
            let place = Place { file: *file, span: Span::default() };
            faults.push(
                Finding::reading(ids::PLAN, "this file holds nothing to check", place, "no statement in it")
                    .advise("write a room, or a kit or supply for other plans to use"),
            );
        }
        for statement in &parsed.tree.statements {
            if let Statement::Room(item) = statement {
                let values = resolver.values.enter();
                if let Some(room) = resolver.room(*file, item) {
                    resolver.rooms.push(room);
                }
                resolver.values.leave(values);
            }
        }
    }
    resolver.outside_every_room();
    faults.extend(resolver.values.faults.take());
    faults.sort_by_key(Finding::place);
    Plan {
        sources: loaded.sources,
        kits: resolver.kits,
        supplies: resolver.supplies,
        rooms: resolver.rooms,
        values: resolver.values.given,
        faults,
    }
}

/// A name out of a tree.
pub(super) fn name(file: FileId, word: &Word) -> Name {
    Name { text: word.text.clone(), place: Place { file, span: word.span } }
}

impl Resolver {
    /// What a file defines outside its rooms.
    fn definitions(&mut self, file: FileId, parsed: &Parsed) {
        for statement in &parsed.tree.statements {
            match statement {
                Statement::Let(item) => self.values.define(file, &item.name, &item.value),
                Statement::Material(item) => self.material(file, item),
                Statement::Kit(item) => self.kit(file, item),
                Statement::Supply(item) => self.supply(file, item),
                Statement::Use(_) | Statement::Room(_) => {}
            }
        }
    }

    /// A material by its name.
    pub fn known_material(&self, name: &str) -> Option<&Material> {
        self.own_materials.get(name).or_else(|| TABLE.get(name))
    }

    /// What materials are called.
    pub fn material_names(&self) -> impl Iterator<Item = &str> {
        MATERIALS.iter().map(|material| material.name).chain(self.own_materials.keys().map(String::as_str))
    }

    pub fn fault(&mut self, fault: Finding) {
        self.values.faults.push(fault);
    }

    /// A fault where `name` is among `taken` already; whether it is free.
    pub fn is_free<'n>(&mut self, kind: Kind, name: &Name, mut taken: impl Iterator<Item = &'n Name>) -> bool {
        let Some(earlier) = taken.find(|other| other.text == name.text).map(|other| other.place) else { return true };
        self.fault(
            Finding::reading(
                ids::NAME,
                format!("{} are called `{}`", counted(2, kind.short()), name.text),
                name.place,
                "again here",
            )
            .mark(earlier, "first here")
            .advise("give one of them another name"),
        );
        false
    }

    /// Sets a value that a block may give once only.
    pub fn once<T>(&mut self, slot: &mut Option<(T, Place)>, value: T, what: &str, place: Place) {
        if let Some((_, earlier)) = slot {
            let fault = Finding::reading(ids::PLAN, format!("{what} is given twice"), place, "again here")
                .mark(*earlier, "first here")
                .advise("keep the one that holds");
            self.fault(fault);
            return;
        }
        *slot = Some((value, place));
    }

    fn lacking(&mut self, what: &str, owner: &str, file: FileId, span: Span, example: &str) {
        self.fault(
            Finding::reading(
                ids::PLAN,
                format!("{owner} gives no {what}"),
                Place { file, span },
                format!("no `{what}` in this block"),
            )
            .advise(format!("add a line such as `{example}`")),
        );
    }

    fn material(&mut self, file: FileId, item: &tree::Material) {
        let place = Place { file, span: item.name.span };
        let (mut conductivity, mut kind, mut surface_limit) = (None, None, None);
        for entry in &item.entries {
            match entry {
                MaterialEntry::Conductivity(value, span) => {
                    let value = self.conductivity(file, value);
                    self.once(&mut conductivity, value, "the conductivity", Place { file, span: *span });
                }
                MaterialEntry::Kind(word, span) => {
                    self.once(&mut kind, MaterialKind::of_word(&word.text), "the kind", Place { file, span: *span });
                }
                MaterialEntry::SurfaceLimit(value, span) => {
                    let value = self.values.quantity(file, value, Dimension::TEMPERATURE);
                    self.once(&mut surface_limit, value, "the surface limit", Place { file, span: *span });
                }
            }
        }
        if conductivity.is_none() && !item.broken {
            let owner = format!("material `{}`", item.name.text);
            self.lacking("conductivity", &owner, file, item.name.span, "conductivity 0.18 W/mK");
        }
        let Some((Some(conductivity), _)) = conductivity else {
            self.unread.insert((Kind::Material, item.name.text.clone()));
            return;
        };
        if let Some(Material { place: Some(earlier), .. }) = self.own_materials.get(&item.name.text) {
            let earlier = Name { text: item.name.text.clone(), place: *earlier };
            self.is_free(Kind::Material, &name(file, &item.name), std::iter::once(&earlier));
            return;
        }
        // A plan's own material stands before the table's of the same name.
        let own = Material {
            conductivity,
            kind: kind.and_then(|(kind, _)| kind),
            surface_limit: surface_limit.and_then(|(limit, _)| limit),
            place: Some(place),
        };
        self.own_materials.insert(item.name.text.clone(), own);
    }

    /// A thermal conductivity, W/mK; a fault and nothing where no material has it.
    fn conductivity(&mut self, file: FileId, expr: &tree::Expr) -> Option<f64> {
        let value = self.values.positive(file, expr, Dimension::CONDUCTIVITY)? * 1e3;
        if CONDUCTIVITIES.contains(&value) {
            return Some(value);
        }
        let finding = Finding::reading(
            ids::QUANTITY,
            "no material conducts heat like this",
            Place { file, span: expr.span },
            format!("conductivities lie between {} and {} W/mK", CONDUCTIVITIES.start(), CONDUCTIVITIES.end()),
        );
        self.fault(finding.advise("check it against the material's data sheet"));
        None
    }

    fn kit(&mut self, file: FileId, item: &tree::Kit) {
        let (mut output, mut length, mut resistance, mut diameter) = (None, None, None, None);
        let (mut bend_radius, mut tail, mut screen) = (None, None, None);
        for entry in &item.entries {
            match entry {
                KitEntry::Output(power, voltage, span) => {
                    let power = self.values.positive(file, power, Dimension::POWER);
                    let voltage = self.values.positive(file, voltage, Dimension::VOLTAGE);
                    self.once(&mut output, power.zip(voltage), "the output", Place { file, span: *span });
                }
                KitEntry::Length(value, span) => {
                    let value = self.values.positive(file, value, Dimension::LENGTH);
                    self.once(&mut length, value, "the length", Place { file, span: *span });
                }
                KitEntry::Resistance(value, tolerance, span) => {
                    let value = self.values.positive(file, value, Dimension::RESISTANCE);
                    let tolerance = tolerance.as_ref().and_then(|(least, most)| {
                        let least = self.values.quantity(file, least, Dimension::NUMBER);
                        least.zip(self.values.quantity(file, most, Dimension::NUMBER))
                    });
                    if let Some((least, most)) = tolerance
                        && (least > most || least <= -1.0)
                    {
                        self.fault(Finding::reading(
                            ids::PLAN,
                            "this tolerance leaves no resistance that would fit",
                            Place { file, span: *span },
                            "write the least first, such as `-5 % to +10 %`",
                        ));
                        self.once(&mut resistance, None, "the resistance", Place { file, span: *span });
                        continue;
                    }
                    self.once(
                        &mut resistance,
                        value.map(|value| (value, tolerance)),
                        "the resistance",
                        Place { file, span: *span },
                    );
                }
                KitEntry::Diameter(value, span) => {
                    let value = self.values.positive(file, value, Dimension::LENGTH);
                    self.once(&mut diameter, value, "the diameter", Place { file, span: *span });
                }
                KitEntry::BendRadius(value, span) => {
                    let value = self.values.positive(file, value, Dimension::LENGTH);
                    self.once(&mut bend_radius, value, "the bending radius", Place { file, span: *span });
                }
                KitEntry::Tail(value, span) => {
                    let value = self.values.positive(file, value, Dimension::LENGTH);
                    self.once(&mut tail, value, "the tail's length", Place { file, span: *span });
                }
                KitEntry::Screen(earthed, span) => {
                    self.once(&mut screen, *earthed, "the screen", Place { file, span: *span });
                }
            }
        }
        let owner = format!("kit `{}`", item.name.text);
        if output.is_none() && !item.broken {
            self.lacking("output", &owner, file, item.span, "output 420 W at 230 V");
        }
        if length.is_none() && !item.broken {
            self.lacking("length", &owner, file, item.span, "length 42 m");
        }
        let (Some((Some((power, voltage)), output_place)), Some((Some(length), _))) = (output, length) else {
            self.unread.insert((Kind::Kit, item.name.text.clone()));
            return;
        };
        let implied = voltage * voltage / power;
        let (resistance, tolerance) = match resistance {
            Some((Some((value, tolerance)), place)) => {
                let band = tolerance.map(|(least, most)| (value * (1.0 + least), value * (1.0 + most)));
                if let Some((least, most)) = band
                    && (implied < least * (1.0 - 1e-9) || implied > most * (1.0 + 1e-9))
                {
                    let shown = |ohm| Quantity::new(ohm, Dimension::RESISTANCE);
                    self.fault(
                        Finding::reading(
                            ids::PLAN,
                            format!("{owner} contradicts itself: its output at its voltage means {}", shown(implied)),
                            place,
                            format!("this allows {} to {}", shown(least), shown(most)),
                        )
                        .mark(output_place, "R = U2 / P from this line")
                        .advise("check both lines against the kit's data sheet"),
                    );
                }
                (value, tolerance)
            }
            _ => (implied, None),
        };
        let name = name(file, &item.name);
        let kits = std::mem::take(&mut self.kits);
        let free = self.is_free(Kind::Kit, &name, kits.iter().map(|kit| &kit.name));
        self.kits = kits;
        if free {
            self.kits.push(Kit {
                name,
                title: item.title.as_ref().map(|title| title.text.clone()),
                output: power,
                voltage,
                length,
                resistance,
                tolerance,
                diameter: diameter.and_then(|(value, _)| value),
                bend_radius: bend_radius.and_then(|(value, _)| value),
                tail: tail.and_then(|(value, _)| value),
                earthed_screen: screen.map(|(value, _)| value),
            });
        }
    }

    fn supply(&mut self, file: FileId, item: &tree::Supply) {
        let (mut voltage, mut rcd, mut breaker, mut conductor, mut ambient) = (None, None, None, None, None);
        let (mut fuse, mut selv, mut before, mut grouped, mut in_insulation) = (None, None, None, None, None);
        for entry in &item.entries {
            match entry {
                SupplyEntry::Voltage(value, span) => {
                    let value = self.values.positive(file, value, Dimension::VOLTAGE);
                    self.once(&mut voltage, value, "the voltage", Place { file, span: *span });
                }
                SupplyEntry::Rcd(value, span) => {
                    let value = self.values.positive(file, value, Dimension::CURRENT);
                    self.once(&mut rcd, value, "the RCD", Place { file, span: *span });
                }
                SupplyEntry::Breaker(value, span) => {
                    let value = self.values.positive(file, value, Dimension::CURRENT);
                    self.once(&mut breaker, value, "the breaker", Place { file, span: *span });
                }
                SupplyEntry::Fuse(value, span) => {
                    let value = self.values.positive(file, value, Dimension::CURRENT);
                    self.once(&mut fuse, value, "the fuse", Place { file, span: *span });
                }
                SupplyEntry::Selv(span) => {
                    let place = Place { file, span: *span };
                    self.once(&mut selv, (), "the extra-low voltage", place);
                }
                SupplyEntry::Before(value, span) => {
                    let value = self.values.not_negative(file, value, Dimension::NUMBER);
                    self.once(&mut before, value, "the voltage lost before", Place { file, span: *span });
                }
                SupplyEntry::Grouped(value, span) => {
                    let value = self.values.positive(file, value, Dimension::NUMBER);
                    self.once(&mut grouped, value, "the number of circuits", Place { file, span: *span });
                }
                SupplyEntry::InInsulation(value, span) => {
                    let value = self.values.not_negative(file, value, Dimension::LENGTH);
                    self.once(&mut in_insulation, value, "the length in insulation", Place { file, span: *span });
                }
                SupplyEntry::Ambient(value, span) => {
                    let value = self.values.quantity(file, value, Dimension::TEMPERATURE);
                    self.once(&mut ambient, value, "the ambient temperature", Place { file, span: *span });
                }
                SupplyEntry::Conductor { section, length, method, insulation, span } => {
                    let section = self.values.positive(file, section, Dimension::AREA);
                    let length = self.values.positive(file, length, Dimension::LENGTH);
                    let value = section.zip(length).map(|(section, length)| Conductor {
                        section,
                        length,
                        method: Method::of_word(&method.text).unwrap_or(Method::C),
                        insulation: insulation
                            .as_ref()
                            .map_or(Insulation::Pvc, |word| Insulation::of_word(&word.text).unwrap_or(Insulation::Pvc)),
                        grouped: 1.0,
                        in_insulation: 0.0,
                    });
                    self.once(&mut conductor, value, "the conductor", Place { file, span: *span });
                }
            }
        }
        let name = name(file, &item.name);
        let supplies = std::mem::take(&mut self.supplies);
        let free = self.is_free(Kind::Supply, &name, supplies.iter().map(|supply| &supply.name));
        self.supplies = supplies;
        if free {
            fn value<T>(slot: Option<(Option<T>, Place)>) -> Option<Stated<T>> {
                slot.and_then(|(value, place)| value.map(|value| Stated { value, place }))
            }
            // How a conductor lies is said on lines of their own; what can't be read there must not let it carry more.
            let said = |slot: Option<(Option<f64>, Place)>, nothing: f64| match slot {
                None => Some(nothing),
                Some((value, _)) => value,
            };
            let conductor = value(conductor).and_then(|own| {
                let (grouped, in_insulation) = (said(grouped, 1.0)?, said(in_insulation, 0.0)?);
                let conductor: Conductor = own.value;
                Some(Stated { value: Conductor { grouped, in_insulation, ..conductor }, place: own.place })
            });
            self.supplies.push(Supply {
                name,
                voltage: value(voltage),
                rcd: value(rcd),
                breaker: value(breaker),
                conductor,
                ambient: value(ambient),
                fuse: value(fuse),
                selv: selv.map(|((), place)| place),
                before: before.and_then(|(value, _)| value),
            });
        }
    }

    /// Things drawn where no room is.
    fn outside_every_room(&mut self) {
        let mut faults = Vec::new();
        for room in &self.rooms {
            let own = super::room::outline_polygon(room);
            let mut report = |kind: Kind, name: &Name, place: Place, inside: &dyn Fn(&geo::Polygon<f64>) -> bool| {
                if inside(&own) {
                    return;
                }
                let elsewhere = self.rooms.iter().find(|other| inside(&super::room::outline_polygon(other)));
                let advice = match elsewhere {
                    Some(other) => format!("it lies in room `{}`; move the statement there", other.name.text),
                    None => "check its coordinates: no room is there".into(),
                };
                faults.push(
                    Finding::reading(
                        ids::PLAN,
                        format!("{} `{}` lies outside room `{}`", kind.word(), name.text, room.name.text),
                        place,
                        "no part of it is in the room",
                    )
                    .mark(room.name.place, "the room")
                    .advise(advice),
                );
            };
            for area in &room.areas {
                report(area.kind.named(), &area.name, area.place, &|outline| {
                    super::room::touches(outline, &area.shape)
                });
            }
            for cable in &room.cables {
                report(Kind::Cable, &cable.name, cable.place, &|outline| {
                    use geo::Intersects as _;
                    cable.runs.is_empty()
                        || cable.runs.iter().any(|run| outline.intersects(&geo::Line::new(run.start, run.end)))
                });
            }
        }
        faults.into_iter().for_each(|fault| self.values.faults.push(fault));
    }
}
