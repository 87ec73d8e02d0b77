//! Which kits suit, as JSON, for other programs. `grammar/sizing.schema.json` describes it; [`VERSION`] grows when a reader of an older one
//! could go wrong.

use serde::Serialize;

use crate::sizing::choice::{Choice, Load, Several};
use crate::sizing::makes::{Bound, Make};
use crate::sizing::{Outcome, RoomSizing, Sizing, Stop};
use crate::takeoff::Told;

/// The version of the form.
pub const VERSION: u32 = 1;

/// A number without what rounding leaves of it.
pub(super) fn rounded(value: f64) -> f64 {
    let rounded = (value * 1e3).round() / 1e3;
    if rounded == 0.0 { 0.0 } else { rounded }
}

#[derive(Serialize)]
struct JsonSizings<'s> {
    format: &'static str,
    version: u32,
    plans: Vec<JsonSizing<'s>>,
    caution: &'static str,
}

#[derive(Serialize)]
struct JsonSizing<'s> {
    file: &'s str,
    complete: bool,
    rooms: Vec<JsonRoom<'s>>,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct JsonRoom<'s> {
    name: &'s str,
    title: Option<&'s str>,
    /// Why there is nothing else.
    left_alone: Option<&'s str>,
    untold: Option<&'s str>,
    free_parts_m2: Vec<f64>,
    heat_loss_w: Option<f64>,
    sensor_presumed: Vec<&'s str>,
    unswitched: bool,
    fitting: Vec<JsonChoice<'s>>,
    stopped: Vec<JsonChoice<'s>>,
    untried: usize,
    makes: Vec<JsonMake<'s>>,
    anyway: Vec<JsonStop<'s>>,
    unheld: Vec<JsonUnheld<'s>>,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct JsonChoice<'s> {
    kits: Vec<JsonSeveral<'s>>,
    cables: usize,
    length_mm: f64,
    spacing_mm: f64,
    power_w: f64,
    power_density_w_per_m2: f64,
    surface_deg_c: JsonTold<'s>,
    heat_loss_met: JsonTold<'s>,
    thermostats: Vec<JsonLoad<'s>>,
    supplies: Vec<JsonLoad<'s>>,
    stops: Vec<JsonStop<'s>>,
    notes: Vec<JsonStop<'s>>,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct JsonSeveral<'s> {
    kit: &'s str,
    count: usize,
    floor_m2: f64,
    spacing_mm: f64,
}

#[derive(Serialize)]
struct JsonTold<'s> {
    value: Option<f64>,
    missing: Option<&'s str>,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct JsonLoad<'s> {
    name: &'s str,
    current_a: JsonTold<'s>,
    rated_a: Option<f64>,
}

#[derive(Serialize)]
struct JsonStop<'s> {
    rule: &'s str,
    severity: &'static str,
    message: &'s str,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct JsonMake<'s> {
    words: String,
    output_w_per_m: f64,
    voltage_v: f64,
    mat_spacing_mm: Option<f64>,
    looked: bool,
    fits: bool,
    least_mm: Option<f64>,
    most_mm: Option<f64>,
    bounds: Vec<JsonBound<'s>>,
    never: Vec<JsonStop<'s>>,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct JsonBound<'s> {
    rule: &'s str,
    least_mm: Option<f64>,
    most_mm: Option<f64>,
}

#[derive(Serialize)]
struct JsonUnheld<'s> {
    rules: &'s [String],
    reason: &'s str,
}

fn told(value: &Told<f64>) -> JsonTold<'_> {
    JsonTold { value: value.as_ref().ok().copied().map(rounded), missing: value.as_ref().err().map(String::as_str) }
}

fn load(load: &Load) -> JsonLoad<'_> {
    JsonLoad { name: &load.name, current_a: told(&load.current), rated_a: load.rated.map(rounded) }
}

fn stop(stop: &Stop) -> JsonStop<'_> {
    JsonStop { rule: &stop.rule, severity: stop.severity.word(), message: &stop.message }
}

fn several(several: &Several) -> JsonSeveral<'_> {
    JsonSeveral {
        kit: &several.kit,
        count: several.count,
        floor_m2: rounded(several.floor / 1e6),
        spacing_mm: rounded(several.spacing),
    }
}

fn choice(choice: &Choice) -> JsonChoice<'_> {
    JsonChoice {
        kits: choice.kits.iter().map(several).collect(),
        cables: choice.cables(),
        length_mm: rounded(choice.length),
        spacing_mm: rounded(choice.spacing()),
        power_w: rounded(choice.power),
        power_density_w_per_m2: rounded(choice.density() * 1e6),
        surface_deg_c: told(&choice.surface),
        heat_loss_met: told(&choice.cover),
        thermostats: choice.thermostats.iter().map(load).collect(),
        supplies: choice.supplies.iter().map(load).collect(),
        stops: choice.stops.iter().map(stop).collect(),
        notes: choice.notes.iter().map(stop).collect(),
    }
}

fn make(make: &Make) -> JsonMake<'_> {
    let bound = |bound: &'_ Bound| (bound.least.map(rounded), bound.most.map(rounded));
    JsonMake {
        words: make.words(),
        output_w_per_m: rounded(make.output * 1e3),
        voltage_v: rounded(make.voltage),
        mat_spacing_mm: make.mat_spacing.map(rounded),
        looked: make.looked,
        fits: make.fits().is_some(),
        least_mm: make.fits().map(|(least, _)| rounded(least)),
        most_mm: make.fits().map(|(_, most)| rounded(most)).filter(|most| most.is_finite()),
        bounds: make
            .bounds
            .iter()
            .map(|own| JsonBound { rule: &own.stop.rule, least_mm: bound(own).0, most_mm: bound(own).1 })
            .collect(),
        never: make.never.iter().map(stop).collect(),
    }
}

fn room(room: &RoomSizing) -> JsonRoom<'_> {
    let mut json = JsonRoom {
        name: &room.name,
        title: room.title.as_deref(),
        left_alone: None,
        untold: None,
        free_parts_m2: Vec::new(),
        heat_loss_w: None,
        sensor_presumed: Vec::new(),
        unswitched: false,
        fitting: Vec::new(),
        stopped: Vec::new(),
        untried: 0,
        makes: Vec::new(),
        anyway: Vec::new(),
        unheld: Vec::new(),
    };
    match &room.outcome {
        Outcome::LeftAlone(why) => json.left_alone = Some(why),
        Outcome::Untold(why) => json.untold = Some(why),
        Outcome::Sized(sized) => {
            json.free_parts_m2 = sized.parts.iter().map(|part| rounded(part / 1e6)).collect();
            json.heat_loss_w = sized.loss.map(rounded);
            json.sensor_presumed = sized.presumed.iter().map(String::as_str).collect();
            json.unswitched = sized.unswitched;
            json.fitting = sized.fitting.iter().map(choice).collect();
            json.stopped = sized.stopped.iter().map(choice).collect();
            json.untried = sized.untried;
            json.makes = sized.makes.iter().map(make).collect();
            json.anyway = sized.anyway.iter().map(stop).collect();
            json.unheld = sized.unheld.iter().map(|(reason, rules)| JsonUnheld { rules, reason }).collect();
        }
    }
    json
}

pub(super) fn write(sizings: &[Sizing]) -> Vec<u8> {
    let plans = sizings.iter().map(|sizing| JsonSizing {
        file: &sizing.file,
        complete: sizing.complete,
        rooms: sizing.rooms.iter().map(room).collect(),
    });
    let whole =
        JsonSizings { format: "layrule-sizing", version: VERSION, plans: plans.collect(), caution: crate::CAUTION };
    // Writing plain structures to memory doesn't fail.
    let mut bytes = serde_json::to_vec_pretty(&whole).unwrap_or_else(|_| b"null".to_vec());
    bytes.push(b'\n');
    bytes
}
