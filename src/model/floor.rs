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
