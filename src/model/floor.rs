//! What a floor is built of, and what lies below it.

use super::name::Name;
use crate::layout::kinds::MaterialKind;
use crate::source::Place;

/// The floor's build-up.
#[derive(Debug, Clone, PartialEq)]
pub struct Floor {
    /// Timber rather than concrete.
    pub timber: bool,
    /// Top first.
    pub layers: Vec<Layer>,
    /// The statement.
    pub place: Place,
}

impl Floor {
    /// The layer the cable lies in, by its index, and how high over its underside the cable's centre lies, mm.
    pub fn cable(&self) -> Option<(usize, f64)> {
        self.layers.iter().enumerate().find_map(|(index, layer)| Some((index, layer.cable?)))
    }

    /// What lies over the cable's centre resists, m2K/W: the layers above the cable's, and what of that lies over it.
    pub fn resistance_over_cable(&self) -> Option<f64> {
        let (holding, height) = self.cable()?;
        let above: f64 = self.layers[..holding].iter().map(|layer| layer.resists(|thickness| thickness)).sum();
        Some(above + self.layers[holding].resists(|thickness| thickness - height))
    }
}

impl Layer {
    /// What a slice of it resists, m2K/W, so thick where it has a thickness, mm.
    fn resists(&self, slice: impl Fn(f64) -> f64) -> f64 {
        match &self.body {
            LayerBody::Solid { thickness, conductivity, .. } => slice(*thickness) / 1e3 / conductivity,
            LayerBody::Resistance(resistance) => *resistance,
        }
    }
}

/// One layer of a floor.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    /// What it is called.
    pub name: Name,
    /// Its body.
    pub body: LayerBody,
    /// Height of the cable's centre over the layer's underside, mm.
    pub cable: Option<f64>,
    /// The statement.
    pub place: Place,
}

/// What a layer is made of.
#[derive(Debug, Clone, PartialEq)]
pub enum LayerBody {
    /// A material of some thickness.
    Solid {
        /// mm.
        thickness: f64,
        /// W/mK.
        conductivity: f64,
        /// Heat capacity of a volume, MJ/m3K, where it is known.
        heat_capacity: Option<f64>,
        /// The material's name.
        material: String,
        /// Of what kind it is, where that is known.
        kind: Option<MaterialKind>,
        /// How warm the material's surface may get by its maker, degC.
        surface_limit: Option<f64>,
    },
    /// A thermal resistance, m2K/W.
    Resistance(f64),
}

/// What lies below a floor, degC.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Below {
    /// A room of that temperature.
    Room(f64),
    /// The ground, so warm at the underside of the floor's last layer.
    Ground(f64),
}
