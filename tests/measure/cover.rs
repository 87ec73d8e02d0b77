//! What covers a floor covers it in whatever order it is given: rows and turns that are reckoned together where they come one after
//! another come to the same as each by itself.

use layrule::geometry::{Piece, Point, Ring};
use layrule::measure::cover::shortcuts::{Floor, Shortcuts};
use layrule::measure::cover::{Capsule, Cover};
use proptest::prelude::*;

/// A path of loops: how many rows, how long, how far apart, each a little longer or shorter and set off sideways, all turned.
fn loops() -> impl Strategy<Value = Vec<Point>> {
    let uneven = prop_oneof![Just(0.0), Just(0.0), -120.0..120.0];
    (
        prop::collection::vec((uneven.clone(), uneven, prop_oneof![Just(1.0), Just(1.0), 0.2..2.5]), 2..14),
        100.0..1500.0,
        10.0..150.0,
        prop_oneof![Just(0.0), Just(std::f64::consts::FRAC_PI_2), -3.0..3.0],
    )
        .prop_map(|(rows, length, pitch, turned)| {
            let (sine, cosine) = f64::sin_cos(turned);
            let mut across = 0.0;
            let mut points = Vec::new();
            for (index, (near, far, step)) in rows.into_iter().enumerate() {
                let ends = [(near, across), (length + far, across)];
                points.extend(if index % 2 == 0 { ends } else { [ends[1], ends[0]] });
                across += pitch * step;
            }
            let turn = |(x, y): (f64, f64)| Point { x: x * cosine - y * sine, y: x * sine + y * cosine };
            points.into_iter().map(turn).collect()
        })
}

fn capsules(path: &[Point], radius: f64) -> Vec<Capsule> {
    Piece::of_line(path).map(|piece| Capsule { piece, radius }).collect()
}

/// A room with a floor that the loops lie in, and reach out of.
fn room() -> Ring {
    let corners =
        [(-400.0, -300.0), (1200.0, -300.0), (1200.0, 900.0), (500.0, 900.0), (500.0, 1400.0), (-400.0, 1400.0)];
    Ring::new(&corners.map(|(x, y)| Point { x, y }))
}

proptest! {
    #![proptest_config(crate::common::cases(600))]

    #[test]
    fn the_order_changes_nothing(path in loops(), radius in 2.0..300.0, margin in 0.0..120.0, seed in any::<u64>()) {
        let room = room();
        // A unit against a wall, and a column.
        let unit = Ring::new(&[(300.0, 500.0), (1200.0, 500.0), (1200.0, 900.0), (300.0, 900.0)].map(|(x, y)| Point { x, y }));
        let column = Point { x: 100.0, y: 100.0 };
        let sides = [&room, &unit].into_iter().flat_map(|ring| ring.edges());
        let mut obstacles: Vec<Capsule> = sides.map(|piece| Capsule { piece, radius: margin }).collect();
        obstacles.push(Capsule { piece: Piece::at(column), radius: 80.0 + margin });
        let solids = [&unit];
        let laid = capsules(&path, radius);
        let mut mixed = [obstacles.clone(), laid.clone()].concat();
        // Neighbours in the path are none in the list any more.
        let mut random = seed | 1;
        for at in (1..mixed.len()).rev() {
            random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            mixed.swap(at, (random >> 33) as usize % (at + 1));
        }
        for capsule in mixed.iter_mut().skip(1).step_by(2) {
            capsule.piece = capsule.piece.reversed();
        }
        let of = |cover: &Cover<'_>| {
            let patches = cover.patches().unwrap();
            (cover.uncovered_area().unwrap(), patches.iter().map(|outlined| outlined.patch.area).sum::<f64>())
        };
        let (area, patches) = of(&Cover::new(&room, mixed.into_iter(), &solids));
        // The same with what obstacles leave measured first.
        let left = Cover::new(&room, obstacles.into_iter(), &solids).left().unwrap();
        let (other, others) = of(&Cover::over(&room, &left, laid.into_iter(), &solids));
        prop_assert!(left.area + 0.05 >= other, "{} {other}", left.area);
        prop_assert!((area - other).abs() < 0.05, "{area} {other}");
        prop_assert!((patches - others).abs() < 2.0, "{patches} {others}");
    }

    #[test]
    fn joined_rows_leave_the_patches_that_all_rows_leave(path in loops(), radius in 10.0..300.0, column in 0.0..200.0) {
        let room = room();
        let obstacle = Capsule { piece: Piece::at(Point { x: 700.0, y: 300.0 }), radius: column };
        let patches = |shortcuts| {
            let floor = Floor::new(&room, vec![obstacle], &[], shortcuts);
            let patches = floor.uncovered_patches(&room, &[], capsules(&path, radius).into_iter()).unwrap();
            let counted: Vec<f64> = patches.iter().map(|patch| patch.patch.area).filter(|area| *area > 2.0).collect();
            (counted.len(), counted.iter().sum::<f64>())
        };
        let (plain, thinned, joined) = (
            patches(Shortcuts::NONE),
            patches(Shortcuts { thin_first: true, ..Shortcuts::NONE }),
            patches(Shortcuts::ALL),
        );
        for (count, area) in [thinned, joined] {
            // What rounding leaves of a patch may count or not.
            prop_assert!((area - plain.1).abs() < 3.0 && count.abs_diff(plain.0) <= 1, "{plain:?} {thinned:?} {joined:?}");
        }
    }
}
