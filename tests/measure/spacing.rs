//! The pitch of a cable against its definition, run by run without an index.

use std::fmt::Write as _;

use layrule::measure::plan::Measured;
use layrule::model::length::laid_length;
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
    // Where the line straight across meets it.
    let share = if from == to { 0.0 } else { (from / (from - to)).clamp(0.0, 1.0) };
    let gap = cross(step, other.start + (other.end - other.start) * share - middle).abs();
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

/// The length of a cable by the page's words: of each corner the curve in place of the straight cable that it takes up, by the angle between the two
/// runs as `atan2` has it.
fn length_by_curves(runs: &[Run], bend_radius: f64) -> f64 {
    let mut length: f64 = runs.iter().map(Run::length).sum();
    for (index, pair) in runs.windows(2).enumerate() {
        let (into, out) = (pair[0].end - pair[0].start, pair[1].end - pair[1].start);
        let turn = cross(into, out).atan2(into.x * out.x + into.y * out.y).abs();
        if turn < 1e-6 || std::f64::consts::PI - turn < 1e-6 {
            continue;
        }
        let before = if index == 0 { pair[0].length() } else { pair[0].length() / 2.0 };
        let after = if index + 2 == runs.len() { pair[1].length() } else { pair[1].length() / 2.0 };
        let taken = (bend_radius * (turn / 2.0).tan()).min(before).min(after);
        length -= 2.0 * taken - taken / (turn / 2.0).tan() * turn;
    }
    length
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

    /// Rows of which some are doubled back on themselves, some jog, and some slant by a little more or less than parallel runs may.
    #[test]
    fn the_pitch_and_the_length_of_cable_laid_anyhow(
        rows in prop::collection::vec((0..6u8, 2..18i32, 1..4i32), 2..14),
        bend_radius in 5..60i32,
    ) {
        let mut text = String::from("kit k {\n  output 440 W at 230 V\n  length 44 m\n  bend-radius RADIUS mm\n}\nroom r {\n  outline (0, 0) (9000, 0) (9000, 9000) (0, 9000)\n  cable a {\n    kit k\n    start (4000, 100)\n")
            .replace("RADIUS", &bend_radius.to_string());
        let (mut x, mut y, mut side) = (4000.0, 100.0, 1.0);
        for (kind, long, step) in rows {
            let (long, step) = (f64::from(long) * 50.0, f64::from(step) * 40.0);
            let row: &[(f64, f64)] = match kind {
                // Back over half of itself, and on.
                0 => &[(long, 0.0), (-long / 2.0, 0.0)],
                // Nearly back over itself.
                1 => &[(long, 0.0), (-long / 2.0, 1.3)],
                // A jog of 10 mm in its middle.
                2 => &[(long / 2.0, 0.0), (0.0, 10.0), (long / 2.0, 0.0)],
                // Slants of 1 in 4000 and of 1 in 500.
                3 => &[(long, long / 4000.0)],
                4 => &[(long, long / 500.0)],
                _ => &[(long, 0.0)],
            };
            for (east, north) in row.iter().copied().chain([(0.0, step)]) {
                (x, y) = (x + side * east, y + north);
                let _ = writeln!(text, "    run to ({x:.6}, {y:.6})");
            }
            side = -side;
        }
        text.push_str("  }\n}\n");
        let plan = common::plan(&text);
        prop_assert!(plan.faults.is_empty(), "{:?}\n{text}", plan.faults);
        let measured = Measured::new(plan.clone());
        let room = measured.room(0).expect("a room");
        let runs = &plan.rooms[0].cables[0].runs;
        let (ours, theirs) = (room.pitch(0), pitch(runs));
        prop_assert!(
            ours.is_some() == theirs.is_some() && (ours.unwrap_or(0.0) - theirs.unwrap_or(0.0)).abs() < 1e-6,
            "{ours:?} {theirs:?}\n{text}"
        );
        let (ours, theirs) = (laid_length(runs, f64::from(bend_radius)), length_by_curves(runs, f64::from(bend_radius)));
        prop_assert!((ours - theirs).abs() < 1e-6 * theirs, "{ours} {theirs}\n{text}");
    }
}
