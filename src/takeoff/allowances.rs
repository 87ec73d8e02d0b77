//! What a take-off leaves free and adds, which is for the rules and the person who orders to say.

use super::Told;
use crate::measure::areas::Margins;
use crate::rules::packs::RuleSet;

/// How far apart fixing tape lies where nothing else is said, mm: common practice, no source.
pub const TAPE_SPACING: f64 = 500.0;

/// What figures are reckoned with.
#[derive(Debug, Clone, PartialEq)]
pub struct Allowances {
    /// What the free floor leaves: the limits `clearance` and `free-height` of the rule `heated-share`.
    pub margins: Told<Margins>,
    /// How far from a run the free floor counts as cold, mm, and the least patch that counts, mm2: the limits `reach` and `crumb` of the
    /// rule `cold-patch`.
    pub cold: Told<(f64, f64)>,
    /// How warm a floor's surface may get: limits of the rule `surface-temperature`.
    pub surface: Told<SurfaceLimits>,
    /// By what share a kit's resistance may be less and more where its maker gives no tolerance: the limits `below` and `above` of the
    /// rule `resistance-reading`.
    pub tolerance: Told<(f64, f64)>,
    /// The least insulation resistance, ohm, and the voltage of its test, V: the limits `least` and `voltage` of the rule
    /// `insulation-reading`.
    pub insulation: Told<(f64, f64)>,
    /// What a cable's screen may read at the most, ohm: the limit `most` of the rule `screen-reading`.
    pub screen: Told<f64>,
    /// How late an RCD may trip at the most, s: the limit `most` of the rule `rcd-test`.
    pub trip_time: Told<f64>,
    /// How long a screed of cement and one of anhydrite is left before it is heated where the record doesn't say, s: the limits `cement`
    /// and `anhydrite` of the rule `screed-heating`.
    pub screed: Told<(f64, f64)>,
    /// How long adhesive dries where the record doesn't say, s: the limit `usual` of the rule `drying-time`.
    pub drying: Told<f64>,
    /// How far apart lines of fixing tape lie at the most, mm.
    pub tape_spacing: f64,
}

/// How warm a floor's surface may get.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurfaceLimits {
    /// Over the room's temperature, K.
    pub occupied: f64,
    /// Over the room's temperature along an outside wall, K.
    pub edge: f64,
    /// Of timber and the like, degC.
    pub timber: f64,
    /// Of any floor, degC.
    pub greatest: f64,
}

impl Allowances {
    /// What a set of rules allows.
    pub fn of(rules: &RuleSet) -> Self {
        let one = |rule: &str, name: &str| rules.limit(rule, name);
        let pair = |rule: &str, first: &str, second: &str| Ok::<_, String>((one(rule, first)?, one(rule, second)?));
        let surface = || {
            let one = |name: &str| one("surface-temperature", name);
            Ok(SurfaceLimits {
                occupied: one("occupied")?,
                edge: one("edge")?,
                timber: one("timber")?,
                greatest: one("greatest")?,
            })
        };
        Allowances {
            margins: pair("heated-share", "clearance", "free-height")
                .map(|(clearance, free_height)| Margins { clearance, free_height }),
            cold: pair("cold-patch", "reach", "crumb"),
            surface: surface(),
            tolerance: pair("resistance-reading", "below", "above"),
            insulation: pair("insulation-reading", "least", "voltage"),
            screen: one("screen-reading", "most"),
            trip_time: one("rcd-test", "most"),
            screed: pair("screed-heating", "cement", "anhydrite"),
            drying: one("drying-time", "usual"),
            tape_spacing: TAPE_SPACING,
        }
    }
}
