//! The pitch of a cable against its definition, run by run without an index.

use std::fmt::Write as _;

use layrule::measure::plan::Measured;
use layrule::model::{Point, Run};
use proptest::prelude::*;

use crate::common;

fn cross(a: Point, b: Point) -> f64 {
    a.x * b.y - a.y * b.x
}

/// The distance straight across from the middle of a run to another that is parallel to it and passes alongside.
fn gap(run: &Run, other: &Run) -> Option<f64> {
    let step = (run.end - run.start) / run.length();
    let middle = (run.start + run.end) / 2.0;
    if cross(step, (other.end - other.start) / other.length()).abs() > 1e-3 {
        return None;
    }
    let along = |point: Point| (point - middle).x * step.x + (point - middle).y * step.y;
    let (from, to) = (along(other.start), along(other.end));
    let gap = cross(step, other.start - middle).abs();
    (from.min(to) <= 0.0 && from.max(to) >= 0.0 && gap > 1e-3 && gap <= 4320.0).then_some(gap)
}

/// The median of the gaps beside each run, weighted by the runs' lengths.
fn pitch(runs: &[Run]) -> Option<f64> {
    let mut gaps: Vec<(f64, f64)> = Vec::new();
    for (index, run) in runs.iter().enumerate() {
        let others = runs.iter().enumerate().filter(|(other, _)| other.abs_diff(index) > 1);
        let least = others.filter_map(|(_, other)| gap(run, other)).min_by(f64::total_cmp);
        gaps.extend(least.map(|gap| (gap, run.length())));
    }
    gaps.sort_by(|a, b| a.0.total_cmp(&b.0));
    let half = gaps.iter().map(|(_, length)| length).sum::<f64>() / 2.0;
    let mut sum = 0.0;
    gaps.iter()
        .find(|(_, length)| {
            sum += length;
            sum >= half
        })
        .map(|(gap, _)| *gap)
}

/// Two runs on one slanting line, 53.67 mm apart, whose directions differ by rounding alone.
#[test]
fn runs_in_one_line_do_not_meet() {
    let plan = common::plan(
        "room r {\n outline (-9000, -9000) (9000, -9000) (9000, 9000) (-9000, 9000)\n cable a {\n start (-1000.5, -119.9)\n run to (-904.5, 72.1)\n }\n cable b {\n start (-880.5, 120.1)\n run to (-808.5, 264.1)\n }\n}\n",
    );
    let measured = Measured::new(plan.clone());
    let room = measured.room(0).expect("a room");
    assert!(room.close_approaches(50.0).found.is_empty() && room.crossings().found.is_empty());
    let near = room.close_approaches(60.0);
    assert!((near.found[0].distance - 24f64.hypot(48.0)).abs() < 1e-9, "{:?}", near.found);
}

proptest! {
    #![proptest_config(crate::common::cases(300))]

    #[test]
    fn the_pitch_is_the_median_gap(loops in prop::collection::vec((50..900i32, 50..900i32, 10..200i32), 1..20)) {
        let mut text = String::from("room r {\n  outline (0, 0) (9000, 0) (9000, 9000) (0, 9000)\n  cable a {\n    start (4000, 100)\n");
        for (out, back, step) in loops {
            let _ = writeln!(text, "    run west {out}\n    run north {step}\n    run east {back}\n    run north {}", step + 7);
        }
        text.push_str("  }\n}\n");
        let plan = common::plan(&text);
        let measured = Measured::new(plan.clone());
        let room = measured.room(0).expect("a room");
        prop_assert_eq!(room.pitch(0), pitch(&plan.rooms[0].cables[0].runs));
    }
}
