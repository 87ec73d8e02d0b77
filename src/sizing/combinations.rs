//! Which kits, one or several, come into question for a floor.
//!
//! Every kit by itself and so many of it in parallel as far as that isn't far too much; two lengths of one make together where they come to a
//! length that would do. Where movement joints make parts of the floor, each part has cables of its own.

use super::makes::Make;
use crate::model::Kit;

/// How many cables are laid in parallel in one part of a floor, at the most.
const MOST_CABLES: usize = 12;

/// How many cables more than are needed are of interest.
const SPARE: usize = 1;

/// How many combinations are tried for a room.
const MOST_TRIED: usize = 400;

/// How many combinations of a part are combined with those of others.
const EACH_PART: usize = 5;

/// How many times less or more one part of a floor may have than the whole.
const A_LITTLE: f64 = 1.1;

/// How many times less or more than what would do is still of interest.
const NEAR: f64 = 2.0;

/// Cables that are tried together.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Combination {
    /// Their make: an index.
    pub(super) make: usize,
    /// The kit (an index) of each, and the floor that it gets, mm2.
    pub(super) cables: Vec<(usize, f64)>,
}

/// What is tried.
pub(super) struct Found {
    /// The combinations.
    pub(super) tried: Vec<Combination>,
    /// How many more there are.
    pub(super) untried: usize,
}

/// Kits for one part of a floor, and their length in all, mm.
#[derive(Debug, Clone)]
struct Lengths {
    kits: Vec<usize>,
    length: f64,
}

/// The combinations that come into question for a floor of some parts (mm2); `usual` is the usual spacing, mm.
pub(super) fn of(kits: &[Kit], makes: &[Make], parts: &[f64], usual: f64) -> Found {
    let whole: f64 = parts.iter().sum();
    let mut all = Vec::new();
    for (index, make) in makes.iter().enumerate() {
        let spacing = make.mat_spacing.unwrap_or(usual);
        // Without a length that would do, what lies at the usual spacing is of interest.
        let fits = make.fits().map(|(least, most)| (least / whole, most / whole));
        let near = fits.unwrap_or((1.0 / spacing, 1.0 / spacing));
        let each: Vec<Vec<Lengths>> =
            parts.iter().map(|part| for_part(kits, make, *part, near, fits.is_some(), spacing)).collect();
        let single = parts.len() == 1;
        let each = each.into_iter().map(|mut lengths| {
            if !single {
                lengths.truncate(EACH_PART);
            }
            lengths
        });
        all.extend(together(kits, each, parts).into_iter().map(|cables| Combination { make: index, cables }));
    }
    let untried = all.len().saturating_sub(MOST_TRIED);
    // Of too many those of the fewest cables are tried.
    all.sort_by_key(|combination| combination.cables.len());
    all.truncate(MOST_TRIED);
    Found { tried: all, untried }
}

/// The kits of a make that come into question for one part, those nearest to the spacing (mm) first. `near` is how much cable on each mm2 would
/// do, at the least and at the most.
fn for_part(kits: &[Kit], make: &Make, part: f64, near: (f64, f64), fits: bool, spacing: f64) -> Vec<Lengths> {
    let (least, most) = (near.0 * part, near.1 * part);
    let length = |kit: usize| kits.get(kit).map_or(0.0, |kit| kit.length);
    // Who can do with two cables lays no five; of a make that won't do one is enough to see it.
    let longest = make.kits.last().map_or(0.0, |kit| length(*kit)).max(1.0);
    let most_cables = if make.never.is_empty() { MOST_CABLES } else { 1 };
    let needed = if least > 0.0 { least } else { part / spacing };
    let most_cables = ((needed / longest).ceil() as usize).saturating_add(SPARE).clamp(1, most_cables);
    let mut found = Vec::new();
    for (place, kit) in make.kits.iter().enumerate() {
        for count in 1..=most_cables {
            let alone = length(*kit) * count as f64;
            // The first is of interest however short or long, so that it is told of every kit why it won't do.
            if count > 1 && (alone > most * NEAR || alone < least / NEAR) {
                continue;
            }
            found.push(Lengths { kits: vec![*kit; count], length: alone });
        }
        for other in make.kits.iter().skip(place + 1).filter(|_| fits) {
            for count in 2..=most_cables {
                for own in 1..count {
                    let all = length(*kit) * own as f64 + length(*other) * (count - own) as f64;
                    if (least..=most).contains(&all) {
                        let kits = [vec![*kit; own], vec![*other; count - own]].concat();
                        found.push(Lengths { kits, length: all });
                    }
                }
            }
        }
    }
    let off = |lengths: &Lengths| (part / lengths.length / spacing).ln().abs();
    // What does for the whole may be a little more or less in one part of it; that is for the rules to say.
    let beyond = |lengths: &Lengths| !(least / A_LITTLE..=most * A_LITTLE).contains(&lengths.length);
    found.sort_by(|a, b| {
        let order = |lengths: &Lengths| (beyond(lengths), lengths.kits.len());
        order(a).cmp(&order(b)).then(off(a).total_cmp(&off(b)))
    });
    found
}

/// Every way to choose one for each part; each cable gets a share of its part's floor by its length.
fn together(kits: &[Kit], each: impl Iterator<Item = Vec<Lengths>>, parts: &[f64]) -> Vec<Vec<(usize, f64)>> {
    let mut all: Vec<Vec<(usize, f64)>> = vec![Vec::new()];
    for (lengths, part) in each.zip(parts) {
        let mut next = Vec::new();
        for begun in &all {
            for one in lengths.iter().take((MOST_TRIED * 4 / all.len().max(1)).max(1)) {
                let share = |kit: usize| part * kits.get(kit).map_or(0.0, |kit| kit.length) / one.length;
                let mut cables = begun.clone();
                cables.extend(one.kits.iter().map(|kit| (*kit, share(*kit))));
                next.push(cables);
            }
        }
        next.truncate(MOST_TRIED * 4);
        all = next;
    }
    all
}
