//! What layers, symbols and types of a file are called, and what that says of the things on them.

use crate::layout::kinds::{FixtureKind, PipeKind};

/// What something may be, by the words of its layer, its symbol or its type.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    /// A room's outline.
    Room,
    /// A wall, or what is drawn along one.
    Wall,
    /// A door.
    Door,
    /// A fixture, of a kind where that is told.
    Fixture(Option<FixtureKind>),
    /// Stairs.
    Stairs,
    /// A window.
    Window,
    /// A movement joint.
    Joint,
    /// A pipe.
    Pipe(Option<PipeKind>),
    /// What says nothing of a floor: dimensions, grids, frames.
    Aside,
    /// Nothing tells.
    Unknown,
}

use FixtureKind::{Basin, Bath, Column, Shower, Stove, Unit, Wc};

/// Words of layers and symbols, in English, German and French, with those of the US National CAD Standard (recalled). The first that is
/// found counts.
const WORDS: &[(Sort, &[&str])] = &[
    (
        Sort::Aside,
        &[
            "dim",
            "dims",
            "dimension",
            "dimensions",
            "anno",
            "annotation",
            "grid",
            "hatch",
            "patt",
            "symb",
            "frame",
            "title",
            "border",
            "defpoints",
            "viewport",
            "ceiling",
            "clng",
            "roof",
            "bemassung",
            "masse",
            "raster",
            "schraffur",
            "cotation",
        ],
    ),
    (Sort::Window, &["window", "windows", "glaz", "fenster", "fenetre", "fenetres", "fenêtre", "fenêtres"]),
    (Sort::Door, &["door", "doors", "tuer", "tueren", "tür", "türen", "tur", "porte", "portes"]),
    (Sort::Fixture(Some(Bath)), &["bath", "baths", "bathtub", "tub", "badewanne", "wanne", "baignoire"]),
    (Sort::Fixture(Some(Shower)), &["shower", "showers", "dusche", "duschen", "douche"]),
    (
        Sort::Fixture(Some(Basin)),
        &["basin", "basins", "washbasin", "sink", "lavatory", "waschbecken", "waschtisch", "lavabo"],
    ),
    (Sort::Fixture(Some(Wc)), &["wc", "toilet", "toilets", "watercloset", "klo"]),
    (
        Sort::Fixture(Some(Column)),
        &["column", "columns", "cols", "pillar", "stuetze", "stuetzen", "stütze", "stützen", "poteau", "poteaux"],
    ),
    (Sort::Fixture(Some(Stove)), &["stove", "stoves", "hearth", "fireplace", "ofen", "kamin", "poele"]),
    (
        Sort::Fixture(Some(Unit)),
        &[
            "unit",
            "units",
            "case",
            "casework",
            "cupboard",
            "cupboards",
            "cabinet",
            "cabinets",
            "wardrobe",
            "worktop",
            "schrank",
            "einbauschrank",
            "kueche",
            "küche",
            "placard",
        ],
    ),
    (
        Sort::Fixture(None),
        &[
            "fixture",
            "fixtures",
            "fixt",
            "pfix",
            "sanitary",
            "sanitaryware",
            "sanitaer",
            "sanitär",
            "sanitaire",
            "plumbing",
        ],
    ),
    (Sort::Stairs, &["stair", "stairs", "strs", "treppe", "treppen", "escalier"]),
    (Sort::Joint, &["joint", "joints", "fuge", "fugen", "bewegungsfuge"]),
    (Sort::Pipe(None), &["pipe", "pipes", "rohr", "rohre", "tuyau"]),
    (
        Sort::Room,
        &[
            "room", "rooms", "space", "spaces", "area", "areas", "spce", "outline", "raum", "raeume", "räume",
            "zimmer", "piece", "pièce", "local",
        ],
    ),
    (Sort::Wall, &["wall", "walls", "wand", "waende", "wände", "mur", "murs"]),
];

/// What the words of a name say.
///
/// ```
/// use layrule::exchange::sorts::{Sort, sort};
/// assert_eq!([sort("A-DOOR"), sort("Räume EG"), sort("0")], [Sort::Door, Sort::Room, Sort::Unknown]);
/// ```
pub fn sort(name: &str) -> Sort {
    let name = name.to_lowercase();
    let words: Vec<&str> = name.split(|c: char| !c.is_alphabetic()).filter(|word| !word.is_empty()).collect();
    let found = WORDS.iter().find(|(_, known)| words.iter().any(|word| known.contains(word)));
    found.map_or(Sort::Unknown, |(sort, _)| *sort)
}
