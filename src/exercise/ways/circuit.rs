//! The circuit: ratings taken for others, and what protects left out.

use super::{Way, forgotten, mistaken, mistyped, word};
use crate::exercise::site::{Change, Site, What};
use crate::layout::kinds::{RcdType, UtilizationCategory};
use crate::layout::tree::{RoomEntry, SupplyEntry};
use crate::worded::Worded as _;

pub(super) const WAYS: &[Way] = &[
    Way {
        name: "rcd-mistaken",
        does: "one RCD is taken for another",
        aims: &["rcd", "rcd-type"],
        changes: rcd_mistaken,
    },
    Way {
        name: "rcd-forgotten",
        does: "the RCD is forgotten",
        aims: &["rcd"],
        changes: |site, changes| forgotten(site, changes, |what| matches!(what, What::Supply(SupplyEntry::Rcd(..)))),
    },
    Way {
        name: "breaker-mistaken",
        does: "one breaker is taken for another",
        aims: &["breaker"],
        // The ratings of IEC 60898-1, and one that is none.
        changes: |site, changes| {
            let breakers = |what: &What<'_>| matches!(what, What::Supply(SupplyEntry::Breaker(..)));
            mistaken(site, changes, breakers, "breaker", &["6", "10", "12", "13", "16", "20", "25", "32", "40"]);
        },
    },
    Way {
        name: "conductor-mistaken",
        does: "one conductor is taken for another",
        aims: &["conductor"],
        changes: |site, changes| {
            let conductors = |what: &What<'_>| matches!(what, What::Supply(SupplyEntry::Conductor(_)));
            mistaken(site, changes, conductors, "conductor", &["0.75", "1", "1.5", "2.5", "4"]);
        },
    },
    Way {
        name: "supply-mistyped",
        does: "a number of the supply is mistyped",
        aims: &["breaker", "supply-voltage", "rcd", "conductor", "rcd-load", "voltage-drop", "thermostat-protection"],
        changes: |site, changes| mistyped(site, changes, |what| matches!(what, What::Supply(_)), |_| true),
    },
    Way {
        name: "voltage-mistaken",
        does: "one supply voltage is taken for another",
        aims: &["supply-voltage", "heat-demand"],
        changes: |site, changes| {
            let voltages = |what: &What<'_>| matches!(what, What::Supply(SupplyEntry::Voltage(..)));
            mistaken(
                site,
                changes,
                voltages,
                "voltage",
                &["24", "48", "110", "120", "208", "230", "240", "277", "400"],
            );
        },
    },
    Way {
        name: "selv-mistaken",
        does: "a supply is taken for safety extra-low voltage",
        aims: &["selv-earthed", "selv-voltage"],
        changes: selv_mistaken,
    },
    Way {
        name: "lead-in-insulation",
        does: "how its conductor is installed makes it carry less",
        aims: &["breaker"],
        changes: installed_otherwise,
    },
    Way {
        name: "rating-mistaken",
        does: "one thermostat or contactor is taken for another",
        aims: &["thermostat-load", "contactor"],
        changes: |site, changes| {
            let rated =
                |what: &What<'_>| matches!(what, What::Room(RoomEntry::Thermostat(_) | RoomEntry::Contactor(_)));
            mistaken(site, changes, rated, "rated", &["1", "2", "3", "5", "6", "8", "10", "13", "16"]);
        },
    },
    Way {
        name: "rating-mistyped",
        does: "a number of a thermostat or contactor is mistyped",
        aims: &["thermostat-load", "thermostat-protection"],
        changes: |site, changes| {
            let rated =
                |what: &What<'_>| matches!(what, What::Room(RoomEntry::Thermostat(_) | RoomEntry::Contactor(_)));
            mistyped(site, changes, rated, |after| matches!(after, "rated" | "limit" | "behind"));
        },
    },
    Way {
        name: "contactor-forgotten",
        does: "a contactor is forgotten",
        aims: &["thermostat-load"],
        changes: |site, changes| forgotten(site, changes, |what| matches!(what, What::Room(RoomEntry::Contactor(_)))),
    },
    Way {
        name: "category-mistaken",
        does: "a contactor for motors is chosen",
        aims: &["contactor-category"],
        changes: category_mistaken,
    },
    Way {
        name: "bonding-forgotten",
        does: "bonding is forgotten",
        aims: &["bonding"],
        changes: |site, changes| forgotten(site, changes, |what| matches!(what, What::Room(RoomEntry::Bonded(..)))),
    },
];

fn rcd_mistaken(site: &Site<'_>, changes: &mut Vec<Change>) {
    mistaken(
        site,
        changes,
        |what| matches!(what, What::Supply(SupplyEntry::Rcd(..))),
        "rcd",
        &["10", "30", "100", "300"],
    );
    for line in &site.lines {
        let What::Supply(SupplyEntry::Rcd(_, Some(own), _)) = line.what else { continue };
        word(site, changes, own.span, RcdType::Ac.word());
    }
}

fn selv_mistaken(site: &Site<'_>, changes: &mut Vec<Change>) {
    for line in &site.lines {
        let What::Supply(SupplyEntry::Voltage(..)) = line.what else { continue };
        let edits = vec![site.after(line, "selv")];
        changes.push(Change { edits, said: "the supply taken for safety extra-low voltage".into(), size: 1.0 });
    }
}

fn installed_otherwise(site: &Site<'_>, changes: &mut Vec<Change>) {
    for line in &site.lines {
        let What::Supply(SupplyEntry::Conductor(conductor)) = line.what else { continue };
        word(site, changes, conductor.method.span, "A1");
        word(site, changes, conductor.method.span, "A2");
        for (statement, said) in [
            ("grouped 3", "led in a bunch of three"),
            ("grouped 6", "led in a bunch of six"),
            ("in-insulation 500", "led through insulation"),
        ] {
            changes.push(Change {
                edits: vec![site.after(line, statement)],
                said: format!("the conductor {said}"),
                size: 1.0,
            });
        }
    }
}

fn category_mistaken(site: &Site<'_>, changes: &mut Vec<Change>) {
    for line in &site.lines {
        let What::Room(RoomEntry::Contactor(contactor)) = line.what else { continue };
        let Some(own) = &contactor.category else { continue };
        for other in [UtilizationCategory::Ac3, UtilizationCategory::Ac7b] {
            word(site, changes, own.span, other.word());
        }
    }
}
