//! What some kits come to in a room, and which of them are shown first.

use super::Stop;
use super::makes::Make;
use crate::model::Kit;
use crate::takeoff::Told;

/// So many of a kit.
#[derive(Debug, Clone, PartialEq)]
pub struct Several {
    /// Its name.
    pub kit: String,
    /// How many.
    pub count: usize,
    /// The floor that each gets, mm2.
    pub floor: f64,
    /// How far apart its runs lie there, mm.
    pub spacing: f64,
}

/// What a thermostat or a supply carries.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// Its name.
    pub name: String,
    /// What flows, A.
    pub current: Told<f64>,
    /// What it is made for, A: a thermostat, or the contactor that switches for it; a supply's breaker or fuse.
    pub rated: Option<f64>,
}

/// Kits that are laid in parallel.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// The kits, each with how many.
    pub kits: Vec<Several>,
    /// Their make: an index.
    pub make: usize,
    /// Their length in all, mm.
    pub length: f64,
    /// Their power in all at the supply's voltage, W.
    pub power: f64,
    /// The floor that they get in all, mm2.
    pub floor: f64,
    /// The floor's surface where it is warmest, at design conditions, degC.
    pub surface: Told<f64>,
    /// What they give the room over the heat that it loses; 1 is all of it.
    pub cover: Told<f64>,
    /// What the room's thermostats carry.
    pub thermostats: Vec<Load>,
    /// What the supplies of these carry, other rooms counted.
    pub supplies: Vec<Load>,
    /// What rules find of them that stops them, the heaviest first.
    pub stops: Vec<Stop>,
    /// What rules note of them besides.
    pub notes: Vec<Stop>,
}

impl Choice {
    /// Kits on the floor (mm2) that each gets, of which nothing more is known yet. A mat takes no more than is its own.
    pub(super) fn of(each: &[(Kit, f64)]) -> Self {
        let mut kits: Vec<Several> = Vec::new();
        for (kit, given) in each {
            let (floor, spacing) = match kit.mat {
                Some(mat) => (mat.area(), mat.spacing),
                None => (*given, given / kit.length),
            };
            let same = |known: &&mut Several| known.kit == kit.name.text && (known.spacing - spacing).abs() < 0.1;
            match kits.iter_mut().find(same) {
                Some(known) => known.count += 1,
                None => kits.push(Several { kit: kit.name.text.clone(), count: 1, floor, spacing }),
            }
        }
        let untold = || Err(String::new());
        Choice {
            make: 0,
            length: each.iter().map(|(kit, _)| kit.length).sum(),
            power: each.iter().map(|(kit, _)| kit.output).sum(),
            floor: kits.iter().map(|several| several.floor * several.count as f64).sum(),
            kits,
            surface: untold(),
            cover: untold(),
            thermostats: Vec::new(),
            supplies: Vec::new(),
            stops: Vec::new(),
            notes: Vec::new(),
        }
    }

    /// How many cables they are.
    pub fn cables(&self) -> usize {
        self.kits.iter().map(|several| several.count).sum()
    }

    /// The power given to the floor that they get, W/mm2.
    pub fn density(&self) -> f64 {
        self.power / self.floor
    }

    /// How far apart their runs lie in the mean, mm.
    pub fn spacing(&self) -> f64 {
        self.floor / self.length
    }

    /// Why figures of it can't be told.
    pub(super) fn missing(&self) -> impl Iterator<Item = &String> {
        let loads = self.thermostats.iter().chain(&self.supplies);
        let figures = [&self.surface, &self.cover].into_iter().chain(loads.map(|load| &load.current));
        figures.filter_map(|figure| figure.as_ref().err())
    }

    /// How far its spacings lie from another, the farthest of them, as the logarithm of their ratio.
    fn off(&self, spacing: f64) -> f64 {
        self.kits.iter().map(|several| (several.spacing / spacing).ln().abs()).fold(0.0, f64::max)
    }
}

/// What no rule notes anything of before others; fewer cables before more, kits alike before unlike ones, then what comes nearest to the usual spacing (mm).
pub(super) fn best_first(choices: &mut [Choice], usual: f64) {
    choices.sort_by(|a, b| {
        let order = |choice: &Choice| (choice.notes.len(), choice.cables(), choice.kits.len());
        order(a).cmp(&order(b)).then(a.off(usual).total_cmp(&b.off(usual)))
    });
}

/// How far off one more rule that stops it makes a choice, as much as a quarter more or less cable does.
const ONE_RULE: f64 = 0.25;

/// Makes of which some length would do before others; of each what is nearest to that length or, where there is none, to the usual spacing
/// (mm), and what fewest rules stop.
pub(super) fn nearest_first(choices: &mut [Choice], makes: &[Make], usual: f64) {
    let off = |choice: &Choice| {
        let of_length = match makes.get(choice.make).and_then(Make::fits) {
            Some((least, most)) => (least / choice.length).max(choice.length / most).max(1.0).ln(),
            None => choice.off(usual),
        };
        of_length + ONE_RULE * choice.stops.len() as f64
    };
    let never = |choice: &Choice| makes.get(choice.make).is_none_or(|make| !make.never.is_empty());
    choices.sort_by(|a, b| {
        let order = |choice: &Choice| (never(choice), choice.notes.len());
        order(a).cmp(&order(b)).then(off(a).total_cmp(&off(b))).then(a.cables().cmp(&b.cables()))
    });
}
