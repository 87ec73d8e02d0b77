//! The kinds of things that a plan's text tells apart: what names are given to, and what fixtures, pipes and materials are said to be.
//!
//! The words stand here once; resolving, rules, drawings and editors ask for them.

use crate::quantity::Dimension;
use crate::worded::Worded;

/// What a name is given to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[allow(missing_docs)]
pub enum Kind {
    /// A file, by its path.
    File,
    /// A `let`.
    Value,
    Material,
    Kit,
    Supply,
    /// A floor's build-up that rooms may use.
    Floor,
    Room,
    /// A layer that names its material apart.
    Layer,
    Door,
    Fixture,
    Drill,
    Joint,
    Pipe,
    Level,
    Rug,
    Partition,
    ShowerHead,
    Junction,
    Thermostat,
    Contactor,
    Cable,
    Sensor,
    /// A rule, in a deviation.
    Rule,
}

impl Kind {
    /// What a deviation may name, in the order in which it is offered.
    pub const TARGETS: [Kind; 11] = [
        Kind::Cable,
        Kind::Fixture,
        Kind::Sensor,
        Kind::Thermostat,
        Kind::Junction,
        Kind::Door,
        Kind::Drill,
        Kind::Joint,
        Kind::Pipe,
        Kind::Level,
        Kind::Rug,
    ];

    /// What it is called.
    pub fn word(self) -> &'static str {
        match self {
            Kind::File => "file",
            Kind::Value => "value",
            Kind::Material => "material",
            Kind::Kit => "kit",
            Kind::Supply => "supply",
            Kind::Floor => "floor",
            Kind::Room => "room",
            Kind::Layer => "layer",
            Kind::Door => "door",
            Kind::Fixture => "fixture",
            Kind::Drill => "drill zone",
            Kind::Joint => "joint",
            Kind::Pipe => "pipe",
            Kind::Level => "level",
            Kind::Rug => "rug",
            Kind::Partition => "partition",
            Kind::ShowerHead => "shower head",
            Kind::Junction => "junction box",
            Kind::Thermostat => "thermostat",
            Kind::Contactor => "contactor",
            Kind::Cable => "cable",
            Kind::Sensor => "sensor",
            Kind::Rule => "rule",
        }
    }

    /// What it is called for short, in faults and by rules.
    pub fn short(self) -> &'static str {
        match self {
            Kind::Junction => "junction",
            other => other.word(),
        }
    }

    /// The word that its statement begins with, by which a deviation names it too.
    pub fn statement(self) -> &'static str {
        match self {
            Kind::Drill => "drill",
            Kind::ShowerHead => "shower-head",
            other => other.short(),
        }
    }

    /// The kind that a deviation names by `word`.
    pub fn of_target(word: &str) -> Option<Kind> {
        Kind::TARGETS.into_iter().find(|kind| kind.statement() == word)
    }
}

/// What a column of a table of kits says of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[allow(missing_docs)]
pub enum KitColumn {
    Output,
    Length,
    Resistance,
    Diameter,
    BendRadius,
    Tail,
    Cores,
    Mat,
}

impl KitColumn {
    /// What its values measure; the sides of a mat are lengths.
    pub fn dimension(self) -> Dimension {
        match self {
            KitColumn::Output => Dimension::POWER,
            KitColumn::Resistance => Dimension::RESISTANCE,
            KitColumn::Cores => Dimension::NUMBER,
            KitColumn::Length | KitColumn::Diameter | KitColumn::BendRadius | KitColumn::Tail | KitColumn::Mat => {
                Dimension::LENGTH
            }
        }
    }
}

impl Worded for KitColumn {
    const WORDS: &'static [(KitColumn, &'static str)] = &[
        (KitColumn::Output, "output"),
        (KitColumn::Length, "length"),
        (KitColumn::Resistance, "resistance"),
        (KitColumn::Diameter, "diameter"),
        (KitColumn::BendRadius, "bend-radius"),
        (KitColumn::Tail, "tail"),
        (KitColumn::Cores, "cores"),
        (KitColumn::Mat, "mat"),
    ];
}

/// What a fixture is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[allow(missing_docs)]
pub enum FixtureKind {
    Bath,
    Shower,
    Basin,
    Wc,
    /// A built-in unit.
    Unit,
    Column,
    Stove,
}

impl Worded for FixtureKind {
    const WORDS: &'static [(FixtureKind, &'static str)] = &[
        (FixtureKind::Bath, "bath"),
        (FixtureKind::Shower, "shower"),
        (FixtureKind::Basin, "basin"),
        (FixtureKind::Wc, "wc"),
        (FixtureKind::Unit, "unit"),
        (FixtureKind::Column, "column"),
        (FixtureKind::Stove, "stove"),
    ];
}

/// What runs in a pipe.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[allow(missing_docs)]
pub enum PipeKind {
    Hot,
    Cold,
}

impl Worded for PipeKind {
    const WORDS: &'static [(PipeKind, &'static str)] = &[(PipeKind::Hot, "hot"), (PipeKind::Cold, "cold")];
}

/// What residual currents an RCD trips at: its type by IEC 60755.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum RcdType {
    /// Alternating ones alone.
    Ac,
    /// Pulsating direct ones too.
    A,
    /// Those of single-phase frequency converters too.
    F,
    /// Smooth direct ones too.
    B,
}

impl Worded for RcdType {
    const WORDS: &'static [(RcdType, &'static str)] =
        &[(RcdType::Ac, "AC"), (RcdType::A, "A"), (RcdType::F, "F"), (RcdType::B, "B")];
}

/// What load a contactor's rating is for: its category of utilization by IEC 60947-4-1 and IEC 61095.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum UtilizationCategory {
    /// Resistive loads.
    Ac1,
    /// Motors.
    Ac3,
    /// Resistive loads of buildings.
    Ac7a,
    /// Motors of buildings.
    Ac7b,
}

impl Worded for UtilizationCategory {
    const WORDS: &'static [(UtilizationCategory, &'static str)] = &[
        (UtilizationCategory::Ac1, "AC-1"),
        (UtilizationCategory::Ac3, "AC-3"),
        (UtilizationCategory::Ac7a, "AC-7a"),
        (UtilizationCategory::Ac7b, "AC-7b"),
    ];
}

/// A field of the title block.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[allow(missing_docs)]
pub enum DrawingField {
    Owner,
    Address,
    Number,
    Revision,
    Drawn,
    Checked,
    Approved,
}

impl Worded for DrawingField {
    const WORDS: &'static [(DrawingField, &'static str)] = &[
        (DrawingField::Owner, "owner"),
        (DrawingField::Address, "address"),
        (DrawingField::Number, "number"),
        (DrawingField::Revision, "revision"),
        (DrawingField::Drawn, "drawn"),
        (DrawingField::Checked, "checked"),
        (DrawingField::Approved, "approved"),
    ];
}

/// Of what kind a material is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[allow(missing_docs)]
pub enum MaterialKind {
    /// Tiles and stone slabs.
    Tile,
    /// Screed, concrete, mortar and the like.
    Mineral,
    Timber,
    Insulation,
    /// Tile backer board, insulated or of cement.
    Backer,
    /// Matting that keeps tiles free of what moves below.
    Decoupling,
}

impl Worded for MaterialKind {
    const WORDS: &'static [(MaterialKind, &'static str)] = &[
        (MaterialKind::Tile, "tile"),
        (MaterialKind::Mineral, "mineral"),
        (MaterialKind::Timber, "timber"),
        (MaterialKind::Insulation, "insulation"),
        (MaterialKind::Backer, "backer"),
        (MaterialKind::Decoupling, "decoupling"),
    ];
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_means_its_kind() {
        assert!(Kind::TARGETS.into_iter().all(|kind| Kind::of_target(kind.statement()) == Some(kind)));
        assert_eq!((Kind::of_target("drill zone"), Kind::of_target("shower-head")), (None, None));
    }
}
