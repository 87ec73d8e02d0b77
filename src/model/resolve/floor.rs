//! Resolves a floor's build-up.

use super::resolver::Resolver;
use super::room::Draft;
use crate::layout::kinds::Kind;
use crate::layout::tree::{self, Word};
use crate::model::fault::Fault;
use crate::model::{Floor, Layer, LayerBody, Name};
use crate::quantity::{Dimension, Quantity};
use crate::source::Span;

/// The most layers that a floor may have.
const MOST_LAYERS: usize = 30;

/// The largest resistance of one layer or one rug, m2K/W.
const MOST_RESISTANCE: f64 = 100.0;

/// A floor that rooms may use; nothing where something of it is at fault.
#[derive(Debug, Clone)]
pub(in crate::model) struct NamedFloor {
    name: Name,
    floor: Option<Floor>,
}

impl Resolver {
    /// `floor KIND { … }`
    pub(super) fn floor(&mut self, item: &tree::Floor, draft: &mut Draft) {
        // Without a layer of it, a floor is another.
        let built = self.build_up(item).filter(|_| !item.broken);
        self.once(&mut draft.floor, built, "the floor", item.span);
    }

    /// `floor NAME KIND { … }`
    pub(super) fn named_floor(&mut self, item: &tree::NamedFloor) {
        let name = self.name(&item.name);
        let floor = self.build_up(&item.floor).filter(|_| !item.floor.broken);
        let earlier = self.floors.iter().find(|known| known.name.text == name.text).map(|known| known.name.place);
        if self.is_first(Kind::Floor, &name, earlier) {
            self.floors.push(NamedFloor { name, floor });
        }
    }

    /// `floor NAME`
    pub(super) fn used_floor(&mut self, word: &Word, span: Span, draft: &mut Draft) {
        let known = self.floors.iter().find(|known| known.name.text == word.text);
        let built = known.and_then(|known| known.floor.clone());
        if known.is_none() {
            let names: Vec<String> = self.floors.iter().map(|known| known.name.text.clone()).collect();
            let names: Vec<&str> = names.iter().map(String::as_str).collect();
            self.unknown(Kind::Floor, word, &names);
        }
        self.once(&mut draft.floor, built, "the floor", span);
    }

    /// A floor; nothing where a layer of it is at fault.
    fn build_up(&mut self, item: &tree::Floor) -> Option<Floor> {
        let place = self.place(item.span);
        if item.layers.len() > MOST_LAYERS {
            self.fault(place, Fault::TooManyLayers { most: MOST_LAYERS, layers: item.layers.len() });
            return None;
        }
        let layers: Vec<Option<Layer>> = item.layers.iter().map(|layer| self.layer(layer)).collect();
        let layers = layers.into_iter().collect::<Option<Vec<_>>>()?;
        let holding: Vec<&Layer> = layers.iter().filter(|layer| layer.cable.is_some()).collect();
        if let [first, second, ..] = holding[..] {
            self.fault(second.name.place, Fault::CableInTwoLayers { first: first.name.place });
        }
        Some(Floor { timber: item.kind.text == "timber", layers, place })
    }

    /// `NAME THICKNESS MATERIAL cable at H`
    fn layer(&mut self, item: &tree::Layer) -> Option<Layer> {
        let cable = match &item.cable {
            Some(cable) => Some(self.not_negative(cable, Dimension::LENGTH)?),
            None => None,
        };
        // A layer is given by its thickness or by what it resists; its unit says which.
        let body = if self.values.is(self.file, &item.thickness, Dimension::THERMAL_RESISTANCE) {
            LayerBody::Resistance(self.layer_resistance(item)?)
        } else {
            self.layer_of_material(item, cable)?
        };
        Some(Layer { name: self.name(&item.name), body, cable, place: self.place(item.span) })
    }

    /// The thermal resistance that a layer is given by, m2K/W.
    fn layer_resistance(&mut self, item: &tree::Layer) -> Option<f64> {
        let resistance = self.thermal_resistance(&item.thickness)?;
        let material = item.material.as_ref().map(|word| (word.span, "a material"));
        if let Some((span, what)) = material.or(item.cable.as_ref().map(|expr| (expr.span, "a cable in it"))) {
            self.fault(self.place(span), Fault::LayerOfNoThickness { what });
            return None;
        }
        Some(resistance)
    }

    /// A thermal resistance that something in a floor or on it may have, m2K/W.
    pub(super) fn thermal_resistance(&mut self, expr: &tree::Expr) -> Option<f64> {
        let resistance = self.positive(expr, Dimension::THERMAL_RESISTANCE)? / 1e6;
        if resistance > MOST_RESISTANCE {
            self.fault(self.place(expr.span), Fault::NoResistance { most: MOST_RESISTANCE });
            return None;
        }
        Some(resistance)
    }

    /// The body of a layer of some thickness, with the cable's centre so high in it, mm.
    fn layer_of_material(&mut self, item: &tree::Layer, cable: Option<f64>) -> Option<LayerBody> {
        let thickness = self.positive(&item.thickness, Dimension::LENGTH)?;
        if let (Some(height), Some(expr)) = (cable, &item.cable)
            && height > thickness
        {
            let (layer, thickness) = (item.name.text.clone(), Quantity::new(thickness, Dimension::LENGTH));
            self.fault(self.place(expr.span), Fault::CableAboveLayer { layer, thickness });
            return None;
        }
        let material = item.material.as_ref().unwrap_or(&item.name);
        let known = self.find_material(material)?;
        Some(LayerBody::Solid {
            thickness,
            conductivity: known.conductivity,
            heat_capacity: known.heat_capacity,
            material: material.text.clone(),
            kind: known.kind,
            surface_limit: known.surface_limit,
        })
    }
}
