//! What the rules in force ask of a cable's way. No limit stands here: each is asked of the rule that holds it, amended ones included.

use crate::measure::areas::Margins;
use crate::model::{LayerBody, Room};
use crate::rules::packs::RuleSet;

/// What the rules in force keep a cable, its tail and its sensor to. A rule that is switched off, or that a set doesn't have, asks for nothing.
/// Lengths are in mm, shares of one.
#[derive(Debug, Clone, PartialEq)]
pub struct Limits {
    /// From a wall to the cable: `wall-clearance`.
    pub wall: f64,
    /// From a fixture to the cable: `fixture-clearance`.
    pub fixture: f64,
    /// From a stove to the cable: `stove-clearance`.
    pub stove: f64,
    /// From a drill zone to the cable: `drill-zone`.
    pub drill: f64,
    /// From a movement joint to the cable: `movement-joint`.
    pub joint: f64,
    /// From a partition to the cable: `under-partition`.
    pub partition: f64,
    /// From a hot pipe to the cable: `pipe-clearance`.
    pub pipe: f64,
    /// From a door's line to the cable: `doorway`.
    pub door: f64,
    /// What the free floor leaves: `heated-share`; a fixture raised by as much has free floor under it.
    pub margins: Margins,
    /// The least between runs: `spacing`.
    pub least_spacing: f64,
    /// The most power on each mm2 of a timber floor and of a concrete one, W: `power-density`.
    pub power: (f64, f64),
    /// The most between runs, by what the cable lies in: `wide-spacing`.
    pub most_spacing: WidestSpacing,
    /// How much neighbouring runs may differ from the usual spacing: `even-spacing`.
    pub uneven: f64,
    /// How long runs lie alongside each other for that to hold: `even-spacing`.
    pub alongside: f64,
    /// From the free floor to the nearest run: `cold-patch`.
    pub cold: f64,
    /// How much of that is passed over, mm2, and how wide a slot of floor is in which it isn't asked for: `cold-patch`.
    pub crumb: (f64, f64),
    /// From walls to the free floor of that rule: `cold-patch`.
    pub cold_clearance: f64,
    /// The least and the most spacing that a kit may come to: `kit-size`.
    pub kit_size: (f64, WidestSpacing),
    /// How much of a kit may be left over, and drawn beyond its length: `laid-length`.
    pub length: (f64, f64),
    /// Straight cable at its ends: `cold-joint`.
    pub straight: f64,
    /// Left of a tail to connect it with: `tail-reach`.
    pub tail_allowance: f64,
    /// From a drill zone to a tail or a conduit: `drilled-lead`.
    pub lead_drill: f64,
    /// From a hot pipe to a tail: `tail-over-pipe`.
    pub tail_pipe: f64,
    /// From a door's line to a tail: `tail-in-doorway`.
    pub tail_door: f64,
    /// How near a tail may lie to a conduit, and for how long nearer than that: `tail-beside-conduit`.
    pub beside_conduit: (f64, f64),
    /// How deep a sensor's tip lies in the heated floor, and how much less it may: `sensor-depth`.
    pub sensor_depth: (f64, f64),
    /// Left of a sensor's lead to connect it with: `sensor-reach`.
    pub sensor_allowance: f64,
}

/// The most between runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WidestSpacing {
    /// In adhesive or levelling compound, mm.
    pub thin: f64,
    /// In screed, mm.
    pub in_screed: f64,
    /// The thickness from which what the cable lies in is screed, mm.
    pub screed: f64,
    /// How much more it may be at one place, a share.
    pub give: f64,
}

impl WidestSpacing {
    /// The most in a room, by what cable lies in there.
    pub fn in_room(&self, room: &Room) -> f64 {
        let bed = room.floor.as_ref().and_then(|floor| match &floor.layers.get(floor.cable()?.0)?.body {
            LayerBody::Solid { thickness, .. } => Some(*thickness),
            LayerBody::Resistance(_) => None,
        });
        if bed.is_some_and(|thickness| thickness >= self.screed) { self.in_screed } else { self.thin }
    }
}

impl Limits {
    /// What a set of rules asks for.
    pub fn of(rules: &RuleSet) -> Self {
        let given = |rule: &str, name: &str| {
            let rule = rules.rule(rule).filter(|rule| rule.severity.is_some())?;
            rule.limits.iter().find(|limit| limit.name == name).map(|limit| limit.value.value)
        };
        let or_none = |rule: &str, name: &str| given(rule, name).unwrap_or(0.0);
        // Where nothing holds the spacing, any will do.
        let or_any = |rule: &str, name: &str| given(rule, name).unwrap_or(f64::INFINITY);
        Limits {
            wall: or_none("wall-clearance", "clearance"),
            fixture: or_none("fixture-clearance", "clearance"),
            stove: or_none("stove-clearance", "clearance"),
            drill: or_none("drill-zone", "clearance"),
            joint: or_none("movement-joint", "clearance"),
            partition: or_none("under-partition", "clearance"),
            pipe: or_none("pipe-clearance", "clearance"),
            door: or_none("doorway", "threshold"),
            margins: Margins {
                clearance: or_none("heated-share", "clearance"),
                free_height: or_none("fixture-overlap", "free-height").max(or_none("fixture-clearance", "free-height")),
            },
            least_spacing: or_none("spacing", "minimum"),
            power: (or_any("power-density", "on-timber"), or_any("power-density", "on-concrete")),
            most_spacing: WidestSpacing {
                thin: or_any("wide-spacing", "most"),
                in_screed: or_any("wide-spacing", "in-screed"),
                screed: or_any("wide-spacing", "screed"),
                give: or_none("wide-spacing", "give"),
            },
            uneven: or_any("even-spacing", "give"),
            alongside: or_any("even-spacing", "least"),
            cold: or_any("cold-patch", "reach"),
            cold_clearance: or_none("cold-patch", "clearance"),
            kit_size: (
                or_none("kit-size", "least"),
                WidestSpacing {
                    thin: or_any("kit-size", "most"),
                    in_screed: or_any("kit-size", "in-screed"),
                    screed: or_any("kit-size", "screed"),
                    give: 0.0,
                },
            ),
            crumb: (or_none("cold-patch", "crumb"), or_none("cold-patch", "slot")),
            length: (or_any("laid-length", "over").min(1.0), or_any("laid-length", "short").min(1.0)),
            straight: or_none("cold-joint", "straight"),
            tail_allowance: or_none("tail-reach", "allowance"),
            lead_drill: or_none("drilled-lead", "clearance"),
            tail_pipe: or_none("tail-over-pipe", "clearance"),
            tail_door: or_none("tail-in-doorway", "threshold"),
            beside_conduit: (or_none("tail-beside-conduit", "clearance"), or_any("tail-beside-conduit", "most")),
            sensor_depth: (or_none("sensor-depth", "usual"), or_none("sensor-depth", "give")),
            sensor_allowance: or_none("sensor-reach", "allowance"),
        }
    }
}
