//! Rules that no layout could keep together, told before one is looked for. What they ask is asked of [`Limits`]; what is said of them holds for
//! every layout, so that where in doubt nothing is said, and a layout is looked for.

use geo::Area as _;

use super::limits::Limits;
use super::region;
use crate::geometry::ring::signed_area;
use crate::model::{AreaKind, Kit, Room};
use crate::quantity::{Dimension, Quantity};
use crate::text::quoted;

/// Rules that contradict one another, or leave nothing to lay.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Contradiction {
    /// Their names.
    pub rules: Vec<&'static str>,
    /// What each asks, in a sentence.
    pub reason: String,
    /// Whether the room is at fault as much as they are: it may be too small.
    pub too_small: bool,
}

impl Contradiction {
    /// What to do about it.
    pub fn advice(&self) -> String {
        let names = quoted(self.rules.iter().copied(), "or");
        let amend = format!("amend {names}; `layrule rules NAME` shows what one asks, and where that stands");
        match self.too_small {
            true => format!("so small a floor takes no cable; where that is too much to ask, {amend}"),
            false => amend,
        }
    }
}

/// A length in words.
fn length(value: f64) -> String {
    Quantity::new(value, Dimension::LENGTH).show(0)
}

/// What of a room's floor no layout could heat as the rules ask.
pub fn in_room(room: &Room, limits: &Limits) -> Option<Contradiction> {
    within_a_rule(room, limits)
        .or_else(|| no_floor(room, limits))
        .or_else(|| spacings(room, limits))
        .or_else(|| cold_along_walls(room, limits))
}

/// What no layout of a kit could keep in any room.
pub fn of_kit(kit: &Kit, limits: &Limits) -> Option<Contradiction> {
    let longest = kit.length * (1.0 + limits.length.0);
    let name = &kit.name.text;
    if limits.straight > longest {
        let (straight, whole) = (length(limits.straight), length(kit.length));
        return Some(Contradiction {
            too_small: false,
            rules: vec!["cold-joint", "laid-length"],
            reason: format!(
                "`cold-joint` asks for {straight} of straight cable at each end, and by `laid-length` no more than the {whole} of kit `{name}` are laid"
            ),
        });
    }
    let tail = kit.tail.filter(|tail| limits.tail_allowance > *tail)?;
    Some(Contradiction {
        too_small: false,
        rules: vec!["tail-reach"],
        reason: format!(
            "`tail-reach` asks for {} of the cold tail to connect it with, and that of kit `{name}` is {} long",
            length(limits.tail_allowance),
            length(tail)
        ),
    })
}

/// A rule whose own limits leave nothing between them.
fn within_a_rule(room: &Room, limits: &Limits) -> Option<Contradiction> {
    let (least, most) = (limits.kit_size.0, limits.kit_size.1.in_room(room));
    (least > most).then(|| Contradiction {
        too_small: false,
        rules: vec!["kit-size"],
        reason: format!(
            "`kit-size` asks for a spacing of {} or more and of {} or less in room `{}`",
            length(least),
            length(most),
            room.name.text
        ),
    })
}

/// The floor that limits leave, on all levels, mm2.
fn floor(room: &Room, limits: &Limits) -> f64 {
    let levels = room.areas.iter().enumerate();
    let levels = levels.filter(|(_, area)| matches!(area.kind, AreaKind::Level { height: Some(_) }));
    let grounds = std::iter::once(None).chain(levels.map(|(index, _)| Some(index)));
    grounds.map(|level| region::for_cable(room, limits, level).unsigned_area()).sum()
}

/// One clearance that a rule keeps.
type Clearance = (&'static str, fn(&mut Limits) -> &mut f64);

const CLEARANCES: [Clearance; 8] = [
    ("wall-clearance", |limits| &mut limits.wall),
    ("fixture-clearance", |limits| &mut limits.fixture),
    ("stove-clearance", |limits| &mut limits.stove),
    ("drill-zone", |limits| &mut limits.drill),
    ("movement-joint", |limits| &mut limits.joint),
    ("under-partition", |limits| &mut limits.partition),
    ("pipe-clearance", |limits| &mut limits.pipe),
    ("doorway", |limits| &mut limits.door),
];

/// Clearances that take all of a floor of which what stands there takes less than they do.
fn no_floor(room: &Room, limits: &Limits) -> Option<Contradiction> {
    if floor(room, limits) > 0.0 {
        return None;
    }
    let with = |kept: &dyn Fn(&str) -> bool| {
        let mut limits = limits.clone();
        CLEARANCES.iter().filter(|(rule, _)| !kept(rule)).for_each(|(_, clearance)| *clearance(&mut limits) = 0.0);
        floor(room, &limits)
    };
    let bare = with(&|_| false);
    if bare < signed_area(&room.corners).abs() - bare {
        return None;
    }
    let named = |is: &dyn Fn(&str) -> bool| -> Vec<&'static str> {
        CLEARANCES.iter().map(|(rule, _)| *rule).filter(|rule| is(rule)).collect()
    };
    let mut rules = named(&|own| with(&|rule| rule != own) > 0.0);
    if rules.is_empty() {
        rules = named(&|own| with(&|rule| rule == own) < bare);
    }
    let figure = |rule: &str| {
        let mut limits = limits.clone();
        let clearance = CLEARANCES.iter().find(|(own, _)| *own == rule).map(|(_, clearance)| *clearance(&mut limits));
        length(clearance.unwrap_or_default())
    };
    let each: Vec<String> = rules.iter().map(|rule| format!("`{rule}` ({})", figure(rule))).collect();
    let leave = if each.len() == 1 { "leaves" } else { "leave" };
    let each = crate::text::list(each.iter().map(String::as_str), "and");
    let reason = format!("{each} {leave} no floor of room `{}` for a cable", room.name.text);
    (!rules.is_empty()).then_some(Contradiction { rules, reason, too_small: true })
}

/// Runs that are to lie farther apart than they may. Where floor lies so far within that what warms it is led clear of all edges, there are
/// runs on both sides of it, or none.
fn spacings(room: &Room, limits: &Limits) -> Option<Contradiction> {
    let (least, cold) = (limits.least_spacing, limits.cold);
    let widest = limits.most_spacing.in_room(room) * (1.0 + limits.most_spacing.give);
    if least > widest && cold.is_finite() && is_wider(room, limits, widest + cold) {
        return Some(Contradiction {
            too_small: false,
            rules: vec!["spacing", "wide-spacing"],
            reason: format!(
                "`spacing` asks for {} or more between runs and `wide-spacing` for {} or less",
                length(least),
                length(widest)
            ),
        });
    }
    let reached = 2.0 * cold + limits.crumb.1;
    (least > reached && is_wider(room, limits, least + cold)).then(|| Contradiction {
        too_small: false,
        rules: vec!["spacing", "cold-patch"],
        reason: format!(
            "`spacing` asks for {} or more between runs, and by `cold-patch` no free floor lies more than {} from one",
            length(least),
            length(cold)
        ),
    })
}

/// Whether floor is left that lies farther than `by` from where cable may lie no more.
fn is_wider(room: &Room, limits: &Limits, by: f64) -> bool {
    let mut limits = limits.clone();
    CLEARANCES.iter().for_each(|(_, clearance)| *clearance(&mut limits) += by);
    floor(room, &limits) > 0.0
}

/// Free floor along walls that no run may come near enough to warm.
fn cold_along_walls(room: &Room, limits: &Limits) -> Option<Contradiction> {
    let (crumb, slot) = limits.crumb;
    // So near to a wall nothing is warmed; where it is slim, none is asked for.
    let cold = limits.wall - limits.cold - slot;
    if cold <= limits.cold_clearance {
        return None;
    }
    let free = |wall: f64| {
        let mut limits = limits.clone();
        CLEARANCES.iter().for_each(|(_, clearance)| *clearance(&mut limits) = 0.0);
        (limits.wall, limits.fixture, limits.stove) = (wall, limits.cold_clearance, limits.cold_clearance);
        floor(room, &limits)
    };
    (free(limits.cold_clearance) - free(cold) > crumb + slot * slot).then(|| Contradiction {
        too_small: false,
            rules: vec!["wall-clearance", "cold-patch"],
        reason: format!(
            "`wall-clearance` keeps cable {} from walls, and by `cold-patch` the free floor, from {} on, lies no more than {} from a run",
            length(limits.wall),
            length(limits.cold_clearance),
            length(limits.cold)
        ),
    })
}
