//! Resolves a floor's build-up.

use super::resolve::{Resolver, name};
use super::{Floor, Layer, LayerBody};
use crate::finding::{Finding, Fix, ids};
use crate::layout::kinds::Kind;
use crate::layout::tree::{self, Word};
use crate::quantity::Dimension;
use crate::source::{FileId, Place};
use crate::text::{nearest, quoted};

/// The most layers that a floor may have.
pub const MOST_LAYERS: usize = 30;

/// The largest resistance of one layer, m2K/W.
pub const MOST_RESISTANCE: f64 = 100.0;

impl Resolver {
    /// A floor; nothing where a layer of it is at fault.
    pub(super) fn floor(&mut self, file: FileId, kind: &Word, layers: &[tree::Layer], place: Place) -> Option<Floor> {
        if layers.len() > MOST_LAYERS {
            let finding = Finding::reading(
                ids::PLAN,
                format!("the floor has more than {MOST_LAYERS} layers"),
                place,
                format!("{} in this block", layers.len()),
            );
            self.fault(finding.advise("draw layers of one material that lie on each other as one"));
            return None;
        }
        let layers: Vec<Option<Layer>> = layers.iter().map(|layer| self.layer(file, layer)).collect();
        let layers = layers.into_iter().collect::<Option<Vec<_>>>()?;
        let holding: Vec<&Layer> = layers.iter().filter(|layer| layer.cable.is_some()).collect();
        if let [first, second, ..] = holding[..] {
            let fault = Finding::reading(ids::PLAN, "the cable lies in two layers", second.name.place, "here as well");
            self.fault(fault.mark(first.name.place, "here"));
        }
        Some(Floor { timber: kind.text == "timber", layers, place })
    }

    fn layer(&mut self, file: FileId, layer: &tree::Layer) -> Option<Layer> {
        let cable = match &layer.cable {
            Some(cable) => Some(self.values.not_negative(file, cable, Dimension::LENGTH)?),
            None => None,
        };
        // A layer is given by its thickness or by what it resists; its unit says which.
        let body = if self.values.is(file, &layer.thickness, Dimension::THERMAL_RESISTANCE) {
            let resistance = self.values.positive(file, &layer.thickness, Dimension::THERMAL_RESISTANCE)? / 1e6;
            if resistance > MOST_RESISTANCE {
                let finding = Finding::reading(
                    ids::QUANTITY,
                    "no floor has a layer that resists heat like this",
                    Place { file, span: layer.thickness.span },
                    format!("{MOST_RESISTANCE} m²·K/W, metres of insulation, is the most"),
                );
                self.fault(finding.advise("a resistance is thickness in m over conductivity in W/mK"));
                return None;
            }
            let material = layer.material.as_ref().map(|word| (word.span, "a material"));
            if let Some((span, what)) = material.or(layer.cable.as_ref().map(|expr| (expr.span, "a cable in it"))) {
                self.fault(Finding::reading(
                    ids::PLAN,
                    format!("a layer given by its resistance has no thickness for {what}"),
                    Place { file, span },
                    "give a thickness and a material instead",
                ));
                return None;
            }
            LayerBody::Resistance(resistance)
        } else {
            let thickness = self.values.positive(file, &layer.thickness, Dimension::LENGTH)?;
            if let (Some(height), Some(expr)) = (cable, &layer.cable)
                && height > thickness
            {
                let place = Place { file, span: expr.span };
                let shown = crate::quantity::Quantity::new(thickness, Dimension::LENGTH);
                self.fault(
                    Finding::reading(
                        ids::PLAN,
                        format!("the cable lies above layer `{}`", layer.name.text),
                        place,
                        format!("the layer is {shown} thick"),
                    )
                    .advise("the height is measured from the layer's underside to the cable's centre"),
                );
                return None;
            }
            let material = layer.material.as_ref().unwrap_or(&layer.name);
            let Some(known) = self.known_material(&material.text) else {
                if !self.unread.contains(&(Kind::Material, material.text.clone())) {
                    self.unknown_material(file, material);
                }
                return None;
            };
            LayerBody::Solid {
                thickness,
                conductivity: known.conductivity,
                material: material.text.clone(),
                kind: known.kind,
                surface_limit: known.surface_limit,
            }
        };
        Some(Layer { name: name(file, &layer.name), body, cable })
    }

    fn unknown_material(&mut self, file: FileId, material: &Word) {
        let mut known: Vec<&str> = self.material_names().collect();
        known.sort_unstable();
        known.dedup();
        // One word for two things, of which one conducts four times what the other does.
        let felt = material.text == "felt";
        let near = nearest(&material.text, known.iter().copied()).filter(|_| !felt);
        let advice = match near {
            None if felt => {
                "write `bitumen-felt` for roofing felt, or `felt-underlay` for what lies under a covering".into()
            }
            Some(near) => format!("did you mean `{near}`?"),
            None => format!(
                "name one of {}, or define it with `material {} {{ conductivity … }}`",
                quoted(known.into_iter(), "or"),
                material.text
            ),
        };
        let place = Place { file, span: material.span };
        self.fault(
            Finding::reading(ids::NAME, format!("no material is called `{}`", material.text), place, "not known")
                .advise(advice)
                .fix(near.map(|near| Fix::write(near, place))),
        );
    }
}
