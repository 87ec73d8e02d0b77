//! What makes the covering areas fast changes none of them: with and without each shortcut, plans as they vary come to the same.

use layrule::measure::areas::{FreeFloor, Margins};
use layrule::measure::cover::Patch;
use layrule::measure::cover::shortcuts::Shortcuts;
use layrule::measure::plan::Measured;
use layrule::measure::room::RoomMeasure;
use proptest::prelude::*;

use crate::{common, varied};

/// What is measured of a floor: free, not heated (mm2), and the patches that stay cold.
struct Areas {
    free: f64,
    unheated: f64,
    patches: Vec<Patch>,
}

fn areas(room: &RoomMeasure<'_>, margins: Margins, shortcuts: Shortcuts, strip: f64, cold: f64) -> Areas {
    let floor = FreeFloor::new(room.room, room.outline(), room.zones(), room.heated_levels(), margins, shortcuts);
    let unheated = floor.unheated_area(room.outline(), room.zones(), room.capsules(|_| strip));
    let patches = floor.unheated_patches(room.outline(), room.zones(), room.capsules(|_| cold));
    Areas {
        free: floor.area().expect("an area"),
        unheated: unheated.expect("an area"),
        patches: patches.expect("patches").into_iter().map(|outlined| outlined.patch).collect(),
    }
}

/// Patches of no account are what rounding leaves of them; others are the same ones. Of patches alike, as those round a column are, rounding
/// decides which comes first.
fn same(ours: &[Patch], theirs: &[Patch]) -> bool {
    let counted =
        |patches: &[Patch]| -> Vec<Patch> { patches.iter().filter(|patch| patch.area > 2.0).copied().collect() };
    let (ours, theirs) = (counted(ours), counted(theirs));
    let figures = |patch: &Patch| [patch.area, patch.low.x, patch.low.y, patch.high.x, patch.high.y];
    let alike = |a: &Patch, b: &Patch| figures(a).iter().zip(figures(b)).all(|(a, b)| (a - b).abs() < 0.05);
    ours.len() == theirs.len() && ours.iter().all(|own| theirs.iter().any(|other| alike(own, other)))
}

proptest! {
    #![proptest_config(common::cases(200))]

    #[test]
    fn shortcuts_change_nothing(number in 0..100_000usize, strip in 20.0..60.0, cold in 60.0..400.0, clearance in 0.0..90.0) {
        let plan = common::plan(&varied::plan(number));
        prop_assert!(plan.faults.is_empty(), "{:#?}", plan.faults);
        let measured = Measured::new(plan);
        let room = measured.room(0).expect("a room");
        let margins = Margins { clearance, free_height: 60.0 };
        let plain = areas(&room, margins, Shortcuts::NONE, strip, cold);
        let kept = Shortcuts { keep_left: true, ..Shortcuts::NONE };
        let thinned = Shortcuts { thin_first: true, ..Shortcuts::NONE };
        let joined = Shortcuts { join_rows: true, ..thinned };
        for shortcuts in [kept, thinned, joined, Shortcuts::ALL] {
            let fast = areas(&room, margins, shortcuts, strip, cold);
            prop_assert!((fast.free - plain.free).abs() < 0.05, "{shortcuts:?}: {} {}", fast.free, plain.free);
            prop_assert!((fast.unheated - plain.unheated).abs() < 0.05, "{shortcuts:?}: {} {}", fast.unheated, plain.unheated);
            prop_assert!(same(&fast.patches, &plain.patches), "{shortcuts:?}: {:?} {:?}", fast.patches, plain.patches);
        }
    }
}

/// The plans are what they are said to be: all of them can be read, two thirds are sound, and the others show many faults.
#[test]
fn a_third_of_the_plans_has_findings() {
    let reports: Vec<_> = (0..72).map(|number| common::check(&varied::plan(number))).collect();
    let found: Vec<Vec<String>> = reports.iter().map(common::rules_found).collect();
    let sound = found.iter().filter(|rules| rules.is_empty()).count();
    assert!((44..=52).contains(&sound), "{sound} of {} are sound", found.len());
    for rule in [
        "wall-clearance",
        "cold-patch",
        "fixture-overlap",
        "drill-zone",
        "movement-joint",
        "pipe-clearance",
        "doorway",
        "crossing",
        "spacing",
        "even-spacing",
        "sensor-crossed",
    ] {
        assert!(found.iter().flatten().any(|own| own == rule), "no plan shows {rule}");
    }
    assert!(!found.iter().flatten().any(|rule| rule == "plan"), "{found:?}");
}
