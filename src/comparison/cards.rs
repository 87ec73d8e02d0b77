//! What there is in a plan, thing by thing, with all that is compared of each.

use std::collections::HashSet;

use super::{cables, record};
use crate::geometry::Point;
use crate::measure::plan::Measured;
use crate::measure::room::RoomMeasure;
use crate::model::{AreaKind, Below, Bonding, Floor, Kit, LayerBody, LineKind, Room, Shape, Supply};
use crate::quantity::{Dimension, Quantity, unit_named};
use crate::worded::Worded as _;

/// A thing, with what is compared of it.
#[derive(Debug, Clone)]
pub(super) struct Card {
    /// What it is.
    pub kind: &'static str,
    /// Its name; empty where there is but one of its kind.
    pub name: String,
    /// Where it is.
    pub place: Where,
    /// Figures of it.
    pub figures: Vec<Figure>,
}

/// Where a thing is.
#[derive(Debug, Clone)]
pub(super) enum Where {
    Nowhere,
    At(Point),
    Line(Vec<Point>),
    Shape(Shape),
}

/// A figure of a thing, as it is shown, and its value where it is a quantity.
#[derive(Debug, Clone)]
pub(super) struct Figure {
    pub label: &'static str,
    pub text: String,
    pub quantity: Option<Quantity>,
}

impl Card {
    pub(super) fn new(kind: &'static str, name: &str, place: Where) -> Self {
        Card { kind, name: name.to_string(), place, figures: Vec::new() }
    }

    /// Adds a figure in words; what is not given says so.
    pub(super) fn words(mut self, label: &'static str, text: Option<impl Into<String>>) -> Self {
        let text = text.map_or_else(|| "none".to_string(), Into::into);
        self.figures.push(Figure { label, text, quantity: None });
        self
    }

    /// Adds a quantity, which may not be given.
    pub(super) fn quantity(mut self, label: &'static str, value: Option<f64>, dimension: Dimension) -> Self {
        let quantity = value.map(|value| Quantity::new(value, dimension));
        let text = quantity.map_or_else(|| "none".to_string(), |quantity| quantity.show(0));
        self.figures.push(Figure { label, text, quantity });
        self
    }

    /// Adds a quantity in a unit of its own, which may not be given.
    pub(super) fn in_unit(self, label: &'static str, value: Option<f64>, unit: &str) -> Self {
        let unit = unit_named(unit);
        let quantity = value.zip(unit).map(|(value, unit)| Quantity::of(value, unit));
        self.quantity(label, quantity.map(|own| own.value), unit.map_or(Dimension::NUMBER, |unit| unit.dimension))
    }

    /// Adds whether something is so.
    pub(super) fn whether(self, label: &'static str, so: bool) -> Self {
        self.words(label, Some(if so { "yes" } else { "no" }))
    }
}

/// What rooms draw on: the kits and supplies that they name.
pub(super) fn shared(measured: &Measured) -> Vec<Card> {
    let plan = measured.plan();
    let rooms = || plan.rooms.iter();
    let supplied: HashSet<usize> = rooms().flat_map(|room| &room.thermostats).filter_map(|one| one.supply).collect();
    let laid: HashSet<usize> = rooms().flat_map(|room| &room.cables).filter_map(|one| one.kit).collect();
    let supplies = plan.supplies.iter().enumerate().filter(|(index, _)| supplied.contains(index));
    let kits = plan.kits.iter().enumerate().filter(|(index, _)| laid.contains(index));
    supplies.map(|(_, own)| supply(own)).chain(kits.map(|(_, own)| kit(own))).collect()
}

fn supply(own: &Supply) -> Card {
    let value = |stated: &Option<crate::model::Stated<f64>>| stated.as_ref().map(|stated| stated.value);
    let conductor = own.conductor.as_ref().map(|stated| &stated.value);
    Card::new("supply", &own.name.text, Where::Nowhere)
        .quantity("voltage", value(&own.voltage), Dimension::VOLTAGE)
        .quantity("rcd", value(&own.rcd), Dimension::CURRENT)
        .words("rcd type", own.rcd_type.map(|own| own.word()))
        .quantity("breaker", value(&own.breaker), Dimension::CURRENT)
        .quantity("fuse", value(&own.fuse), Dimension::CURRENT)
        .quantity("conductor", conductor.map(|own| own.section), Dimension::AREA)
        .quantity("conductor length", conductor.map(|own| own.length), Dimension::LENGTH)
        .words("method", conductor.map(|own| own.method.word()))
        .words("insulation", conductor.map(|own| own.insulation.word()))
        .quantity("circuits grouped", conductor.map(|own| own.grouped), Dimension::NUMBER)
        .quantity("length in insulation", conductor.map(|own| own.in_insulation), Dimension::LENGTH)
        .quantity("ambient", value(&own.ambient), Dimension::TEMPERATURE)
        .whether("extra-low voltage", own.selv.is_some())
        .quantity("lost before", own.before, Dimension::NUMBER)
}

fn kit(own: &Kit) -> Card {
    let share = |share: f64| crate::takeoff::Value::Share(share).text();
    Card::new("kit", &own.name.text, Where::Nowhere)
        .quantity("output", Some(own.output), Dimension::POWER)
        .quantity("voltage", Some(own.voltage), Dimension::VOLTAGE)
        .quantity("length", Some(own.length), Dimension::LENGTH)
        .quantity("resistance", Some(own.resistance), Dimension::RESISTANCE)
        .words("tolerance", own.tolerance.map(|(least, most)| format!("{} to {}", share(least), share(most))))
        .quantity("diameter", own.diameter, Dimension::LENGTH)
        .quantity("bending radius", own.bend_radius, Dimension::LENGTH)
        .quantity("tail", own.tail, Dimension::LENGTH)
        .words("earthed screen", own.earthed_screen.map(|so| if so { "yes" } else { "no" }))
        .words("cores", Some(own.cores.to_string()))
        .quantity("mat width", own.mat.map(|mat| mat.width), Dimension::LENGTH)
        .quantity("mat length", own.mat.map(|mat| mat.length), Dimension::LENGTH)
        .quantity("mat spacing", own.mat.map(|mat| mat.spacing), Dimension::LENGTH)
}

/// The things of a room up to its cables, in the order in which differences of them are told.
pub(super) fn drawn(measure: &RoomMeasure<'_>) -> Vec<Card> {
    let room = measure.room;
    let mut cards = vec![whole(room)];
    cards.extend(areas(room));
    cards.extend(lines(room));
    cards.extend(devices(measure));
    cards.extend(cables::cards(measure));
    cards
}

/// The things of a room that are told of after its cables' runs.
pub(super) fn beside(measure: &RoomMeasure<'_>) -> Vec<Card> {
    let room = measure.room;
    let mut cards = sensors(room);
    cards.extend(floor(room.floor.as_ref()));
    cards.extend(record::cards(measure.plan, room));
    cards.extend(room.deviations.iter().map(|own| {
        let of = own.target.as_ref().map(|(kind, name)| format!(" {} {name}", kind.statement()));
        Card::new("deviation", &format!("{}{}", own.rule.text, of.unwrap_or_default()), Where::Nowhere)
            .words("reason", Some(own.reason.as_str()))
            .words("until", own.until.map(|day| day.to_string()))
    }));
    cards
}

fn whole(room: &Room) -> Card {
    let below = match room.below {
        None => None,
        Some(Below::Room(warm)) => Some(("a room of", warm)),
        Some(Below::Ground(warm)) => Some(("the ground at", warm)),
    };
    let below = below.map(|(what, warm)| format!("{what} {}", Quantity::new(warm, Dimension::TEMPERATURE)));
    let bonded = room.bonded.map(|bonding| match bonding {
        Bonding::Supplementary => "in the room",
        Bonding::Main => "by the main bonding",
    });
    Card::new("room", "", Where::Nowhere)
        .words("title", room.title.as_deref())
        .quantity("inside", room.inside, Dimension::TEMPERATURE)
        .words("below", below)
        .quantity("heat loss", room.heat_loss, Dimension::POWER)
        .quantity("earthed grid", room.earthed_grid.as_ref().map(|grid| grid.value), Dimension::LENGTH)
        .words("bonded", bonded)
}

fn areas(room: &Room) -> Vec<Card> {
    let areas = room.areas.iter().map(|area| {
        let card = Card::new(area.kind.named().word(), &area.name.text, Where::Shape(area.shape.clone()));
        match &area.kind {
            AreaKind::Fixture { kind, raised, open } => card
                .words("sort", kind.map(|kind| kind.word()))
                .quantity("raised", *raised, Dimension::LENGTH)
                .whether("open below", *open),
            AreaKind::Level { height } => card
                .quantity("height", *height, Dimension::LENGTH)
                .words("leads up", area.rises.map(crate::worded::Worded::word)),
            AreaKind::Drill => card,
        }
    });
    let rugs = room.rugs.iter().map(|rug| {
        Card::new("rug", &rug.name.text, Where::Shape(rug.shape.clone())).in_unit(
            "resistance",
            Some(rug.resistance),
            "m2K/W",
        )
    });
    areas.chain(rugs).collect()
}

fn lines(room: &Room) -> Vec<Card> {
    let lines = room.lines.iter().map(|line| {
        let card = Card::new(line.kind.named().word(), &line.name.text, Where::Line(line.points.clone()));
        match &line.kind {
            LineKind::Joint => card,
            LineKind::Pipe(kind) => card.words("holds", kind.map(|kind| kind.word())),
            LineKind::Door { wall, through } => {
                let way = |swing: crate::model::Swing| match (swing.at_last, swing.outward) {
                    (false, false) => "at its first end, inward",
                    (false, true) => "at its first end, outward",
                    (true, false) => "at its last end, inward",
                    (true, true) => "at its last end, outward",
                };
                card.words("wall", Some((wall + 1).to_string()))
                    .whether("tiles go through", *through)
                    .words("hinged", line.swing.map(way))
            }
            LineKind::Partition(height) => card.quantity("height", *height, Dimension::LENGTH),
        }
    });
    lines.collect()
}

fn devices(measure: &RoomMeasure<'_>) -> Vec<Card> {
    let (room, plan) = (measure.room, measure.plan);
    let heads = room.shower_heads.iter().map(|head| {
        Card::new("shower head", &head.name.text, Where::At(head.at)).quantity("height", head.height, Dimension::LENGTH)
    });
    let boxes = room.junctions.iter().map(|own| {
        let wired = own.wired.and_then(|other| room.junctions.get(other));
        Card::new("junction box", &own.name.text, Where::At(own.at))
            .quantity("height", own.height, Dimension::LENGTH)
            .words("protection against water", own.water_protection.map(|digit| format!("IPX{digit}")))
            .words("wired to", wired.map(|other| other.name.text.as_str()))
    });
    let thermostats = room.thermostats.iter().enumerate().map(|(index, own)| {
        let supply = own.supply.and_then(|supply| plan.supplies.get(supply)).map(|supply| &supply.name.text);
        let currents: Option<f64> = measure.cables_of(index).map(|cable| measure.current(&room.cables[cable])).sum();
        Card::new("thermostat", &own.name.text, Where::At(own.at))
            .quantity("height", own.height, Dimension::LENGTH)
            .quantity("rated", Some(own.rated), Dimension::CURRENT)
            .quantity("floor limit", own.limit, Dimension::TEMPERATURE)
            .quantity("breaker before it", own.behind, Dimension::CURRENT)
            .words("supply", supply.or(own.unknown_supply.as_ref()).map(String::as_str))
            .quantity("load", currents, Dimension::CURRENT)
    });
    let contactors = room.contactors.iter().map(|own| {
        let by = room.thermostats.get(own.thermostat).map(|thermostat| thermostat.name.text.as_str());
        Card::new("contactor", &own.name.text, Where::Nowhere)
            .quantity("rated", Some(own.rated), Dimension::CURRENT)
            .words("category", own.category.map(|category| category.word()))
            .words("thermostat", by)
    });
    heads.chain(boxes).chain(thermostats).chain(contactors).collect()
}

fn sensors(room: &Room) -> Vec<Card> {
    let sensors = room.sensors.iter().map(|own| {
        let from = room.thermostats.get(own.thermostat).map(|thermostat| thermostat.name.text.as_str());
        Card::new("sensor", &own.name.text, Where::Line(own.conduit.clone())).words("thermostat", from).quantity(
            "lead",
            own.lead,
            Dimension::LENGTH,
        )
    });
    sensors.collect()
}

fn floor(floor: Option<&Floor>) -> Vec<Card> {
    let Some(floor) = floor else { return Vec::new() };
    let whole = Card::new("floor", "", Where::Nowhere)
        .words("built of", Some(if floor.timber { "timber" } else { "concrete" }));
    let layers = floor.layers.iter().map(|layer| {
        let card = Card::new("layer", &layer.name.text, Where::Nowhere);
        let card = match &layer.body {
            LayerBody::Solid { thickness, conductivity, heat_capacity, material, kind, surface_limit } => card
                .quantity("thickness", Some(*thickness), Dimension::LENGTH)
                .words("material", Some(material.as_str()))
                .in_unit("conductivity", Some(*conductivity), "W/mK")
                .in_unit("heat capacity", *heat_capacity, "MJ/m3K")
                .words("sort", kind.map(|kind| kind.word()))
                .quantity("surface limit", *surface_limit, Dimension::TEMPERATURE),
            LayerBody::Resistance(resistance) => card.in_unit("resistance", Some(*resistance), "m2K/W"),
        };
        card.quantity("cable over its underside", layer.cable, Dimension::LENGTH)
    });
    std::iter::once(whole).chain(layers).collect()
}
