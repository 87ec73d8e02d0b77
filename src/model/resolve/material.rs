//! Resolves materials, and looks them up.

use std::collections::HashMap;
use std::sync::LazyLock;

use super::resolver::{Once, Resolver};
use crate::layout::kinds::{Kind, MaterialKind};
use crate::layout::tree::{self, Expr, MaterialEntry, Word};
use crate::model::fault::Fault;
use crate::model::materials::{self, MATERIALS};
use crate::quantity::Dimension;
use crate::source::Place;
use crate::worded::Worded as _;

/// A material, the table's or a plan's own.
#[derive(Debug, Clone)]
pub(super) struct Material {
    /// W/mK.
    pub(super) conductivity: f64,
    /// Heat capacity of a volume, MJ/m3K, where it is said.
    pub(super) heat_capacity: Option<f64>,
    /// Of what kind it is, where it is said.
    pub(super) kind: Option<MaterialKind>,
    /// How warm its surface may get, degC, where a plan says.
    pub(super) surface_limit: Option<f64>,
    /// Where a plan defines it.
    place: Option<Place>,
}

/// The conductivities there are, W/mK: from better insulants than are made to metals.
const CONDUCTIVITIES: std::ops::RangeInclusive<f64> = 0.001..=500.0;

/// The heat capacities there are, MJ/m3K: from gases in foam to water.
const HEAT_CAPACITIES: std::ops::RangeInclusive<f64> = 0.001..=5.0;

/// The table's materials, by name.
static TABLE: LazyLock<HashMap<&str, Material>> = LazyLock::new(|| {
    let table = MATERIALS.iter().map(|material| {
        let materials::Material { conductivity, heat_capacity, kind, .. } = *material;
        let own = Material { conductivity, heat_capacity: Some(heat_capacity), kind, surface_limit: None, place: None };
        (material.name, own)
    });
    table.collect()
});

impl Resolver {
    /// `material NAME { … }`
    pub(super) fn material(&mut self, item: &tree::Material) {
        let (mut conductivity, mut kind, mut surface_limit) = (Once::default(), Once::default(), Once::default());
        let mut heat_capacity = Once::default();
        for entry in &item.entries {
            match entry {
                MaterialEntry::Conductivity(value, span) => {
                    let value = self.conductivity(value);
                    self.once(&mut conductivity, value, "the conductivity", *span);
                }
                MaterialEntry::HeatCapacity(value, span) => {
                    let value = self.heat_capacity(value);
                    self.once(&mut heat_capacity, value, "the heat capacity", *span);
                }
                MaterialEntry::Kind(word, span) => {
                    self.once(&mut kind, MaterialKind::of_word(&word.text), "the kind", *span);
                }
                MaterialEntry::SurfaceLimit(value, span) => {
                    let value = self.quantity(value, Dimension::TEMPERATURE);
                    self.once(&mut surface_limit, value, "the surface limit", *span);
                }
            }
        }
        let name = self.name(&item.name);
        if conductivity.place().is_none() && !item.broken {
            self.gives_no("conductivity", (Kind::Material, &name), item.name.span, "conductivity 0.18 W/mK");
        }
        let Some(conductivity) = conductivity.value() else {
            self.unread.insert((Kind::Material, name.text));
            return;
        };
        // A plan's own material stands before the table's of the same name.
        let earlier = self.own_materials.get(&name.text).and_then(|earlier| earlier.place);
        if self.is_first(Kind::Material, &name, earlier) {
            let place = Some(name.place);
            let own = Material {
                conductivity,
                heat_capacity: heat_capacity.value(),
                kind: kind.value(),
                surface_limit: surface_limit.value(),
                place,
            };
            self.own_materials.insert(name.text, own);
        }
    }

    /// A thermal conductivity, W/mK; a fault and nothing where no material has it.
    fn conductivity(&mut self, expr: &Expr) -> Option<f64> {
        let value = self.positive(expr, Dimension::CONDUCTIVITY)? * 1e3;
        if CONDUCTIVITIES.contains(&value) {
            return Some(value);
        }
        let (least, most) = (*CONDUCTIVITIES.start(), *CONDUCTIVITIES.end());
        self.fault(self.place(expr.span), Fault::NoConductivity { least, most });
        None
    }

    /// The heat capacity of a volume, MJ/m3K; a fault and nothing where no material has it.
    fn heat_capacity(&mut self, expr: &Expr) -> Option<f64> {
        let value = self.positive(expr, Dimension::HEAT_CAPACITY)? * 1e3;
        if HEAT_CAPACITIES.contains(&value) {
            return Some(value);
        }
        let (least, most) = (*HEAT_CAPACITIES.start(), *HEAT_CAPACITIES.end());
        self.fault(self.place(expr.span), Fault::NoHeatCapacity { least, most });
        None
    }

    /// The material that `word` names; a fault where there is none, unless it is given and at fault itself.
    pub(super) fn find_material(&mut self, word: &Word) -> Option<Material> {
        let known = self.own_materials.get(&word.text).or_else(|| TABLE.get(word.text.as_str()));
        let given = self.values.use_failed || self.unread.contains(&(Kind::Material, word.text.clone()));
        if known.is_none() && !given {
            self.unknown_material(word);
            return None;
        }
        known.cloned()
    }

    fn unknown_material(&mut self, material: &Word) {
        let own = self.own_materials.keys().map(String::as_str);
        let mut known: Vec<&str> = MATERIALS.iter().map(|material| material.name).chain(own).collect();
        known.sort_unstable();
        known.dedup();
        let known = known.into_iter().map(str::to_string).collect();
        self.fault(self.place(material.span), Fault::UnknownMaterial { name: material.text.clone(), known });
    }
}
