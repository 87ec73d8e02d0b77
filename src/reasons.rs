//! Why a figure can't be told, in words.

use crate::measure::circuit::{NoLoad, ambient_factor};
use crate::measure::floor_heat::Unknown;
use crate::measure::heat::Unsolved;
use crate::measure::temperature_map::{MOST_CELLS, WIDEST_CELL};
use crate::model::{Cable, Conductor, Plan, Room, Thermostat};
use crate::worded::Worded as _;

/// That a cable names no kit, or one that nothing is known of.
pub fn no_kit(cable: &Cable) -> String {
    match &cable.unknown_kit {
        Some(kit) => format!("nothing is known of kit `{kit}`, which cable `{}` names", cable.name.text),
        None => format!("cable `{}` names no kit", cable.name.text),
    }
}

/// That a thermostat names no supply, or one that nothing is known of.
pub fn no_supply(thermostat: &Thermostat) -> String {
    match &thermostat.unknown_supply {
        Some(supply) => {
            format!("nothing is known of supply `{supply}`, which thermostat `{}` names", thermostat.name.text)
        }
        None => format!("thermostat `{}` names no supply", thermostat.name.text),
    }
}

/// That a cable has no pitch.
pub fn no_pitch(cable: &Cable) -> String {
    format!("cable `{}` has no parallel runs to take a spacing from", cable.name.text)
}

/// That a cable's runs lie too thick.
pub fn too_thick(cable: &Cable) -> String {
    format!("the runs of cable `{}` lie too thick for what each heats to be told", cable.name.text)
}

/// That a room has no cable.
pub fn no_cable(room: &Room) -> String {
    format!("room `{}` has no cable", room.name.text)
}

/// That a room's floor can't be measured.
pub fn too_intricate(room: &Room) -> String {
    format!("the floor of room `{}` is too intricate to measure", room.name.text)
}

/// Why the heat of a room's floor can't be told.
pub fn heat(plan: &Plan, room: &Room, unknown: Unknown) -> String {
    let name = &room.name.text;
    let unsolved = |why: &str| format!("the heat of room `{name}` can't be worked out: {why}");
    match unknown {
        Unknown::Floor => format!("room `{name}` gives no floor"),
        Unknown::CableLayer => format!("the floor of room `{name}` doesn't say where the cable lies"),
        Unknown::Inside => format!("room `{name}` gives no inside temperature"),
        Unknown::Below => format!("room `{name}` doesn't say what lies below its floor"),
        Unknown::Cable => no_cable(room),
        Unknown::Kit(cable) => no_kit(&room.cables[cable]),
        Unknown::Pitch(cable) => no_pitch(&room.cables[cable]),
        Unknown::Thick(cable) => too_thick(&room.cables[cable]),
        Unknown::Diameter(cable) => {
            let kit = room.cables[cable].kit.and_then(|kit| plan.kits.get(kit));
            format!("kit `{}` gives no diameter", kit.map_or("", |kit| &kit.name.text))
        }
        Unknown::Rugs => format!("rugs lie over too many runs in room `{name}` to look below each"),
        Unknown::Steps => format!("the heat of room `{name}` takes too many steps to work out"),
        Unknown::Capacity(layer) => {
            let layer = room.floor.as_ref().and_then(|floor| floor.layers.get(layer));
            format!("the material of layer `{}` gives no heat capacity", layer.map_or("", |layer| &layer.name.text))
        }
        Unknown::TooWeak => format!("at full power the floor of room `{name}` makes up for less than its heat loss"),
        Unknown::TooSlow => format!("the floor of room `{name}` takes more than 60 days to warm up"),
        Unknown::TooLarge => {
            let most = MOST_CELLS as f64 * (WIDEST_CELL / 1e3).powi(2);
            format!(
                "the floor of room `{name}` is too large for a map of its temperature: a box of {most} m2 is the most"
            )
        }
        Unknown::Unsolved(Unsolved::NotSettled) => {
            unsolved("the cable's centre lies too near to the edge of its layer")
        }
        Unknown::Unsolved(Unsolved::NotInLayer) => unsolved("the cable lies in no layer with a thickness"),
        Unknown::Unsolved(Unsolved::NoSize) => unsolved("something in its floor has no size"),
    }
}

/// Why the load of a supply can't be told.
pub fn no_load(why: NoLoad<'_>) -> String {
    match why {
        NoLoad::Incomplete(room) => room.incomplete.clone().unwrap_or_default(),
        NoLoad::NoKit(cable) => no_kit(cable),
    }
}

/// Why the capacity of a conductor at an ambient temperature, degC, can't be told.
pub fn not_tabulated(conductor: &Conductor, ambient: f64) -> String {
    let insulation = conductor.insulation;
    if ambient_factor(ambient, insulation).is_none() {
        return format!("no capacity is tabulated for {} insulation at {ambient} °C", insulation.word());
    }
    format!("no capacity is tabulated for {} mm²", conductor.section)
}

/// Why the resistance of a conductor can't be told.
pub fn no_conductor_resistance(conductor: &Conductor) -> String {
    format!("no resistance is tabulated for {} mm²", conductor.section)
}
