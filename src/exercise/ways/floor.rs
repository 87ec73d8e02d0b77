//! The floor's build-up and the heat that is asked of it.

use super::{Way, mistyped, word};
use crate::exercise::site::{Change, Site, What};
use crate::layout::tree::RoomEntry;
use crate::model::materials::MATERIALS;

pub(super) const WAYS: &[Way] = &[
    Way {
        name: "layer-mistyped",
        does: "a number of a floor's layer is mistyped",
        aims: &["downward-loss", "cover", "surface-temperature", "even-warmth", "overboarding"],
        changes: |site, changes| mistyped(site, changes, |what| matches!(what, What::Layer(_)), |_| true),
    },
    Way {
        name: "layer-forgotten",
        does: "a layer of the floor is forgotten",
        aims: &["downward-loss", "even-warmth", "overboarding", "surface-temperature", "heat-demand", "insulation"],
        changes: layer_forgotten,
    },
    Way {
        name: "covering-mistaken",
        does: "another covering than the floor was planned for",
        aims: &["floor-limit", "surface-temperature", "covering-resistance", "power-density", "rug-surface"],
        changes: covering_mistaken,
    },
    Way {
        name: "material-mistaken",
        does: "what lies under the cable is of another material",
        aims: &[
            "downward-loss",
            "overboarding",
            "insulation-at-cable",
            "combustible-floor",
            "heat-demand",
            "insulation",
        ],
        changes: material_mistaken,
    },
    Way {
        name: "temperature-mistyped",
        does: "a temperature or the heat that a room loses is mistyped",
        aims: &["surface-temperature", "heat-demand", "downward-loss", "sheath-temperature"],
        changes: |site, changes| {
            let heat = |what: &What<'_>| {
                matches!(what, What::Room(RoomEntry::Inside(..) | RoomEntry::Below(_) | RoomEntry::HeatLoss(..)))
            };
            mistyped(site, changes, heat, |_| true);
        },
    },
];

fn layer_forgotten(site: &Site<'_>, changes: &mut Vec<Change>) {
    // Without the layer that holds the cable nothing of the floor can be told.
    super::forgotten(site, changes, |what| matches!(what, What::Layer(layer) if layer.cable.is_none()));
}

/// The first layer of each floor, covered with something else.
fn covering_mistaken(site: &Site<'_>, changes: &mut Vec<Change>) {
    const COVERINGS: &[&str] = &[
        "18 mm hardwood",
        "22 mm softwood",
        "30 mm hardwood",
        "12 mm carpet",
        "8 mm cork",
        "4 mm vinyl",
        "5 mm linoleum",
    ];
    let mut before = false;
    for line in &site.lines {
        let is_layer = matches!(line.what, What::Layer(_));
        if let (What::Layer(layer), false) = (line.what, before)
            && layer.cable.is_none()
        {
            for covering in COVERINGS {
                let edits = vec![site.edit(line.span, format!("{} {covering}", layer.name.text))];
                let said = format!("{covering} instead of `{}`", super::short(site.text(line.span)));
                changes.push(Change { edits, said, size: 1.0 });
            }
        }
        before = is_layer;
    }
}

/// A layer under the cable's of something else.
fn material_mistaken(site: &Site<'_>, changes: &mut Vec<Change>) {
    let mut below = false;
    for line in &site.lines {
        let What::Layer(layer) = line.what else {
            below = false;
            continue;
        };
        if below {
            for material in ["insulation", "mineral-wool", "plywood", "concrete", "decoupling"] {
                match &layer.material {
                    Some(own) => word(site, changes, own.span, material),
                    None if MATERIALS.iter().any(|one| one.name == layer.name.text) => {
                        word(site, changes, layer.name.span, material);
                    }
                    None => {}
                }
            }
        }
        below |= layer.cable.is_some();
    }
}
