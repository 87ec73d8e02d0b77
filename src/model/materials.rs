//! The materials a floor's layers can be made of without a `material` statement.

/// A building material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Material {
    /// As a plan names it.
    pub name: &'static str,
    /// Thermal conductivity, W/mK.
    pub conductivity: f64,
    /// Where the value comes from.
    pub source: &'static str,
}

const ISO_10456: &str = "EN ISO 10456:2007, table 3";
const ISO_10456_MEMORY: &str = "EN ISO 10456:2007, table 3 (from memory)";
const PRACTICE: &str = "common practice";

const fn material(name: &'static str, conductivity: f64, source: &'static str) -> Material {
    Material { name, conductivity, source }
}

/// The table.
pub const MATERIALS: &[Material] = &[
    material("adhesive", 1.0, ISO_10456_MEMORY),
    material("board", 0.035, PRACTICE),
    material("concrete", 2.0, ISO_10456),
    material("concrete-1800", 1.15, ISO_10456),
    material("concrete-2000", 1.35, ISO_10456),
    material("felt", 0.23, ISO_10456),
    material("hardwood", 0.18, ISO_10456),
    material("insulation", 0.035, PRACTICE),
    material("levelling", 1.0, ISO_10456_MEMORY),
    material("mortar", 1.0, ISO_10456_MEMORY),
    material("plywood", 0.13, ISO_10456_MEMORY),
    material("porcelain", 1.3, ISO_10456_MEMORY),
    material("screed", 1.0, ISO_10456_MEMORY),
    material("softwood", 0.13, ISO_10456),
    material("tile", 1.3, ISO_10456_MEMORY),
];
