//! Resolves a floor's build-up.

use super::resolver::Resolver;
use super::room::Draft;
use crate::finding::{Finding, ids};
use crate::layout::tree;
use crate::model::{Floor, Layer, LayerBody};
use crate::quantity::{Dimension, Quantity};

/// The most layers that a floor may have.
const MOST_LAYERS: usize = 30;

/// The largest resistance of one layer, m2K/W.
const MOST_RESISTANCE: f64 = 100.0;

impl Resolver {
    /// `floor KIND { … }`
    pub(super) fn floor(&mut self, item: &tree::Floor, draft: &mut Draft) {
        // Without a layer of it, a floor is another.
        let built = self.build_up(item).filter(|_| !item.broken);
        self.once(&mut draft.floor, built, "the floor", item.span);
    }

    /// A floor; nothing where a layer of it is at fault.
    fn build_up(&mut self, item: &tree::Floor) -> Option<Floor> {
        let place = self.place(item.span);
        if item.layers.len() > MOST_LAYERS {
            let finding = Finding::reading(
                ids::PLAN,
                format!("the floor has more than {MOST_LAYERS} layers"),
                place,
                format!("{} in this block", item.layers.len()),
            );
            self.fault(finding.advise("draw layers of one material that lie on each other as one"));
            return None;
        }
        let layers: Vec<Option<Layer>> = item.layers.iter().map(|layer| self.layer(layer)).collect();
        let layers = layers.into_iter().collect::<Option<Vec<_>>>()?;
        let holding: Vec<&Layer> = layers.iter().filter(|layer| layer.cable.is_some()).collect();
        if let [first, second, ..] = holding[..] {
            let fault = Finding::reading(ids::PLAN, "the cable lies in two layers", second.name.place, "here as well");
            self.fault(fault.mark(first.name.place, "here"));
        }
        Some(Floor { timber: item.kind.text == "timber", layers, place })
    }

    /// `NAME THICKNESS of MATERIAL cable H`
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
        Some(Layer { name: self.name(&item.name), body, cable })
    }

    /// The thermal resistance that a layer is given by, m2K/W.
    fn layer_resistance(&mut self, item: &tree::Layer) -> Option<f64> {
        let resistance = self.positive(&item.thickness, Dimension::THERMAL_RESISTANCE)? / 1e6;
        if resistance > MOST_RESISTANCE {
            let finding = Finding::reading(
                ids::QUANTITY,
                "no floor has a layer that resists heat like this",
                self.place(item.thickness.span),
                format!("{MOST_RESISTANCE} m²·K/W, metres of insulation, is the most"),
            );
            self.fault(finding.advise("a resistance is thickness in m over conductivity in W/mK"));
            return None;
        }
        let material = item.material.as_ref().map(|word| (word.span, "a material"));
        if let Some((span, what)) = material.or(item.cable.as_ref().map(|expr| (expr.span, "a cable in it"))) {
            self.fault(Finding::reading(
                ids::PLAN,
                format!("a layer given by its resistance has no thickness for {what}"),
                self.place(span),
                "give a thickness and a material instead",
            ));
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
            self.fault(
                Finding::reading(
                    ids::PLAN,
                    format!("the cable lies above layer `{}`", item.name.text),
                    self.place(expr.span),
                    format!("the layer is {} thick", Quantity::new(thickness, Dimension::LENGTH)),
                )
                .advise("the height is measured from the layer's underside to the cable's centre"),
            );
            return None;
        }
        let material = item.material.as_ref().unwrap_or(&item.name);
        let known = self.find_material(material)?;
        Some(LayerBody::Solid {
            thickness,
            conductivity: known.conductivity,
            material: material.text.clone(),
            kind: known.kind,
            surface_limit: known.surface_limit,
        })
    }
}
