//! The materials a floor's layers can be made of without a `material` statement.

use crate::layout::kinds::MaterialKind;

/// A building material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Material {
    /// As a plan names it.
    pub name: &'static str,
    /// Thermal conductivity, W/mK.
    pub conductivity: f64,
    /// Heat capacity of a volume, MJ/m3K: density times specific heat, both of EN ISO 10456:2007, tables 3 and 4, from memory, where it has the
    /// material, else common practice.
    pub heat_capacity: f64,
    /// Of what kind it is; none for what is of none of them.
    pub kind: Option<MaterialKind>,
    /// Where the value comes from.
    pub source: &'static str,
}

const ISO_10456: &str = "EN ISO 10456:2007, table 3";
const ISO_10456_MEMORY: &str = "EN ISO 10456:2007, table 3 (from memory)";
const PRACTICE: &str = "common practice";

const TILE: Option<MaterialKind> = Some(MaterialKind::Tile);
const MINERAL: Option<MaterialKind> = Some(MaterialKind::Mineral);
const TIMBER: Option<MaterialKind> = Some(MaterialKind::Timber);
const BACKER: Option<MaterialKind> = Some(MaterialKind::Backer);
const DECOUPLING: Option<MaterialKind> = Some(MaterialKind::Decoupling);
const INSULATION: Option<MaterialKind> = Some(MaterialKind::Insulation);

const fn material(
    name: &'static str,
    conductivity: f64,
    heat_capacity: f64,
    kind: Option<MaterialKind>,
    source: &'static str,
) -> Material {
    Material { name, conductivity, heat_capacity, kind, source }
}

/// The table.
pub const MATERIALS: &[Material] = &[
    material("adhesive", 1.0, 1.8, MINERAL, ISO_10456_MEMORY),
    material("anhydrite", 1.2, 2.1, MINERAL, PRACTICE),
    material("bitumen-felt", 0.23, 1.1, None, ISO_10456),
    material("board", 0.035, 0.05, BACKER, PRACTICE),
    material("carpet", 0.06, 0.26, None, ISO_10456_MEMORY),
    material("cement-board", 0.3, 1.3, BACKER, PRACTICE),
    material("chipboard", 0.14, 1.02, TIMBER, ISO_10456_MEMORY),
    material("concrete", 2.0, 2.4, MINERAL, ISO_10456),
    material("concrete-1800", 1.15, 1.8, MINERAL, ISO_10456),
    material("concrete-2000", 1.35, 2.0, MINERAL, ISO_10456),
    material("cork", 0.065, 0.6, None, ISO_10456_MEMORY),
    // Polyethylene of high density.
    material("decoupling", 0.5, 1.76, DECOUPLING, ISO_10456_MEMORY),
    material("felt-underlay", 0.05, 0.156, None, ISO_10456_MEMORY),
    material("granite", 2.8, 2.6, TILE, ISO_10456_MEMORY),
    material("hardwood", 0.18, 1.12, TIMBER, ISO_10456),
    material("insulation", 0.035, 0.045, INSULATION, PRACTICE),
    material("levelling", 1.0, 1.8, MINERAL, ISO_10456_MEMORY),
    material("limestone", 1.7, 2.2, TILE, ISO_10456_MEMORY),
    material("linoleum", 0.17, 1.68, None, ISO_10456_MEMORY),
    material("marble", 3.5, 2.8, TILE, ISO_10456_MEMORY),
    material("mineral-wool", 0.038, 0.05, INSULATION, PRACTICE),
    material("mortar", 1.0, 1.8, MINERAL, ISO_10456_MEMORY),
    material("osb", 0.13, 1.1, TIMBER, ISO_10456_MEMORY),
    material("plasterboard", 0.25, 0.9, MINERAL, ISO_10456_MEMORY),
    material("plywood", 0.13, 0.8, TIMBER, ISO_10456_MEMORY),
    material("porcelain", 1.3, 1.93, TILE, ISO_10456_MEMORY),
    material("screed", 1.0, 1.8, MINERAL, ISO_10456_MEMORY),
    material("slate", 2.2, 2.4, TILE, ISO_10456_MEMORY),
    material("softwood", 0.13, 0.8, TIMBER, ISO_10456),
    material("tile", 1.3, 1.93, TILE, ISO_10456_MEMORY),
    material("vinyl", 0.25, 2.38, None, ISO_10456_MEMORY),
];
