//! Outlines of very many corners: what is found of them, and what looking for it costs, counted in pairs of edges.

use layrule::geometry::hull::least_rectangle;
use layrule::geometry::{Point, Ring};
use layrule::model::shape::{MOST_CORNERS, RingFault, check_ring, check_ring_counting};
use proptest::prelude::*;

use crate::common::check;

fn p(x: f64, y: f64) -> Point {
    Point { x, y }
}

/// A regular polygon.
fn round(corners: usize) -> Vec<Point> {
    let turn = |corner: usize| (corner as f64 / corners as f64 * std::f64::consts::TAU).sin_cos();
    (0..corners).map(turn).map(|(y, x)| p(5e3 * x, 5e3 * y)).collect()
}

/// Bays along one side.
fn comb(corners: usize) -> Vec<Point> {
    let bays = corners / 4;
    let wide = bays as f64 * 4.0;
    let mut ring = vec![p(wide, 150.0), p(wide, 2000.0), p(0.0, 2000.0)];
    for bay in (0..bays).map(|bay| bay as f64 * 4.0) {
        ring.extend([p(bay, 150.0), p(bay, 0.0), p(bay + 2.0, 0.0), p(bay + 2.0, 150.0)]);
    }
    ring.truncate(corners);
    ring
}

/// Long teeth side by side, slanted so that the boxes around all of them meet.
fn slanted(corners: usize) -> Vec<Point> {
    let teeth = (corners - 2) / 2;
    let mut ring = Vec::new();
    for tooth in (0..teeth).map(|tooth| tooth as f64) {
        ring.extend([p(tooth, -tooth), p(tooth + 9_000.5, 9_000.0 - tooth)]);
    }
    let last = teeth as f64;
    ring.extend([p(last, -last), p(-100.0, -last - 100.0)]);
    ring
}

/// Two arms wound round each other.
fn spiral(corners: usize) -> Vec<Point> {
    let half = corners / 2;
    let at = |step: usize, more: f64| {
        let turn = step as f64 * 0.05;
        let far = 50.0 + 10.0 * turn + more;
        p(far * turn.cos(), far * turn.sin())
    };
    (0..half).map(|step| at(step, 0.0)).chain((0..half).rev().map(|step| at(step, 20.0))).collect()
}

/// What a ring is called, and the ring of so many corners.
type Shape = (&'static str, fn(usize) -> Vec<Point>);

const SHAPES: [Shape; 4] = [("round", round), ("comb", comb), ("slanted", slanted), ("spiral", spiral)];

#[test]
fn looking_for_crossings_grows_as_the_corners_do() {
    for (shape, ring) in SHAPES {
        let [few, many] = [MOST_CORNERS / 8, MOST_CORNERS].map(|corners| {
            let mut visits = 0;
            assert_eq!(check_ring_counting(&ring(corners), &mut visits), Ok(()), "{shape}");
            visits
        });
        // All pairs would be 64 times as many.
        assert!(
            many <= 16 * few && many <= 80 * MOST_CORNERS,
            "{shape}: {few} pairs, {many} of eight times the corners"
        );
    }
    let ring = round(MOST_CORNERS + 1);
    assert_eq!(check_ring(&ring), Err(RingFault::TooMany));
}

#[test]
fn one_crossing_among_very_many_edges_is_found() {
    for (shape, ring) in SHAPES {
        let mut crossed = ring(4_000);
        // Two corners change places, so that edges at them cross.
        crossed.swap(1_234, 1_236);
        let found = check_ring(&crossed);
        assert!(
            matches!(found, Err(RingFault::Crossing(a, b)) if (1_230..1_240).contains(&a) && (1_230..1_240).contains(&b)),
            "{shape}: {found:?}"
        );
        // A corner that lies on an edge far from it touches that.
        let mut touching = ring(4_000);
        let middle = (touching[100] + touching[101]) / 2.0;
        touching[2_345] = middle;
        assert!(matches!(check_ring(&touching), Err(RingFault::Crossing(..))), "{shape}");
    }
}

/// Whether a point lies inside is the same by all edges one after the other.
#[test]
fn what_lies_inside_is_told_by_chains_as_by_edges() {
    let by_edges = |ring: &[Point], at: Point| {
        let pairs = ring.iter().zip(ring.iter().cycle().skip(1));
        let crossed = pairs
            .filter(|(a, b)| (a.y > at.y) != (b.y > at.y) && a.x + (at.y - a.y) / (b.y - a.y) * (b.x - a.x) > at.x);
        crossed.count() % 2 == 1
    };
    for (shape, ring) in SHAPES {
        let corners = ring(3_001);
        let ring = Ring::new(&corners);
        let bounds = ring.bounds();
        let (wide, high) = (bounds.high.x - bounds.low.x, bounds.high.y - bounds.low.y);
        let mut inside = 0;
        for number in 1..4_000_u32 {
            // Points strewn evenly, by the fractional parts of multiples of irrational numbers.
            let share = |step: f64| (f64::from(number) * step).fract();
            let at = p(bounds.low.x + wide * share(0.754_877_666), bounds.low.y + high * share(0.569_840_291));
            assert_eq!(ring.contains(at), by_edges(&corners, at), "{shape}: {at:?}");
            inside += usize::from(ring.contains(at));
        }
        assert!(inside > 100, "{shape}: {inside}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    /// Rings that the sweep must judge, since their boxes all meet, are judged as every pair of their edges is: on a coarse grid, where much touches.
    #[test]
    fn the_sweep_finds_what_all_pairs_do(moved in prop::collection::vec((0_usize..600, -4_i32..5, -4_i32..5), 0..4)) {
        let mut ring = slanted(600);
        for (corner, x, y) in moved {
            ring[corner] = ring[corner] + p(f64::from(x) / 2.0, f64::from(y) / 2.0);
        }
        let count = ring.len();
        let edge = |index: usize| (ring[index], ring[(index + 1) % count]);
        let turn = |a: Point, b: Point, c: Point| {
            let area = (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
            // Coordinates are halves, so that this is exact.
            area.partial_cmp(&0.0).map_or(0, |order| order as i32)
        };
        let within = |a: Point, b: Point, c: Point| {
            turn(a, b, c) == 0 && c.x >= a.x.min(b.x) && c.x <= a.x.max(b.x) && c.y >= a.y.min(b.y) && c.y <= a.y.max(b.y)
        };
        let meet = |i: usize, j: usize| {
            let ((a, b), (c, d)) = (edge(i), edge(j));
            if j == i + 1 || (i == 0 && j == count - 1) {
                // Neighbours share a corner; where one reaches back over the other, that is a fault.
                let (far_of_one, far_of_other) = if j == i + 1 { (a, d) } else { (b, c) };
                return within(a, b, far_of_other) || within(c, d, far_of_one);
            }
            (turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0)
                || within(a, b, c) || within(a, b, d) || within(c, d, a) || within(c, d, b)
        };
        let empty = (0..count).any(|index| edge(index).0 == edge(index).1);
        let crossing = (0..count).any(|i| (i + 1..count).any(|j| meet(i, j)));
        match check_ring(&ring) {
            Ok(()) => prop_assert!(!empty && !crossing),
            Err(RingFault::Crossing(a, b)) => prop_assert!(meet(a, b), "{a} {b}"),
            Err(fault) => prop_assert!(empty && matches!(fault, RingFault::EmptyEdge(_)), "{fault:?}"),
        }
    }
}

/// The smallest rectangle is that of geo's, which tries every side with every corner.
#[test]
fn the_smallest_rectangle_is_found_by_going_round_once() {
    use geo::MinimumRotatedRect as _;
    for (shape, ring) in SHAPES {
        for corners in [4, 7, 40, 401] {
            let mut ring = ring(corners);
            ring.dedup();
            let turned = |at: &Point| p(at.x * 0.8 - at.y * 0.6, at.x * 0.6 + at.y * 0.8);
            for points in [ring.clone(), ring.iter().map(turned).collect()] {
                let reference = geo::Polygon::new(points.clone().into(), Vec::new()).minimum_rotated_rect();
                let reference = reference.expect("a rectangle").exterior().0.clone();
                let side = |index: usize| {
                    (reference[index + 1] - reference[index]).x.hypot((reference[index + 1] - reference[index]).y)
                };
                let (one, other) = least_rectangle(&points).expect("it has an area");
                let area = side(0) * side(1);
                assert!(
                    (one * other - area).abs() < 1e-9 * area,
                    "{shape} {corners}: {one} by {other}, {} by {}",
                    side(0),
                    side(1)
                );
                // Of several as small either may be found.
                let alike = (one.max(other) - side(0).max(side(1))).abs() < 1e-6 * one.max(other);
                assert!(alike || shape == "round", "{shape} {corners}: {one} by {other}, {} by {}", side(0), side(1));
            }
        }
    }
    assert_eq!(least_rectangle(&[p(0.0, 0.0), p(1.0, 1.0), p(2.0, 2.0)]), None);
}

/// A plan whose outline has as many corners as one may is checked, and the next is told how many there may be.
#[test]
fn an_outline_may_have_ten_thousand_corners() {
    let plan = |corners: usize| {
        let points: String = round(corners).iter().map(|at| format!("\n    ({:.4}, {:.4})", at.x, at.y)).collect();
        format!("room hall {{\n  outline {}\n}}\n", points.trim_start())
    };
    let report = check(&plan(MOST_CORNERS));
    let told: Vec<&str> = report.findings.iter().map(|finding| &*finding.rule).collect();
    assert!(!told.iter().any(|rule| ["plan", "syntax"].contains(rule)), "{told:?}");
    let report = check(&plan(MOST_CORNERS + 1));
    assert!(
        report.findings.iter().any(|finding| finding.message.contains("more than 10000 corners")),
        "{:?}",
        report.findings[0].message
    );
}
