//! The heat of a floor against finite elements, and against what must hold for any floor.
//!
//! `tests/reference/heat.py` made the values with scikit-fem, in the versions that `heat.json` names; CI makes them afresh and
//! compares.

use layrule::measure::heat::{Below, Slab, SlabHeat, SlabLayer, floor_output};
use proptest::prelude::*;
use serde_json::Value;

use crate::common::root;

fn slab(case: &Value) -> (Slab, f64, f64) {
    let figure = |name: &str| case[name].as_f64().unwrap_or_else(|| panic!("{name} in {case}"));
    let layers = case["layers"].as_array().expect("layers").iter().map(|layer| match layer[1].as_f64() {
        Some(thickness) => SlabLayer::Solid { thickness, conductivity: layer[2].as_f64().expect("a conductivity") },
        None => SlabLayer::Resistance(layer[1]["resistance"].as_f64().expect("a resistance")),
    });
    let below = match case["bottom"]["room"].as_f64() {
        Some(temperature) => Below::Room(temperature),
        None => Below::Temperature(case["bottom"]["temperature"].as_f64().expect("a temperature")),
    };
    let slab = Slab {
        layers: layers.collect(),
        cable_layer: case["cable_layer"].as_u64().expect("an index") as usize,
        cable_height: figure("height"),
        cable_radius: figure("radius"),
        below,
        inside: figure("room"),
    };
    (slab, figure("power"), figure("pitch"))
}

#[test]
fn temperatures_and_flows_agree_with_finite_elements() {
    let file = std::fs::read_to_string(root().join("tests/reference/heat.json")).expect("the reference values");
    let values: Value = serde_json::from_str(&file).expect("JSON");
    let cases = values["cases"].as_array().expect("cases");
    assert!(cases.len() >= 12);
    for case in cases {
        let (slab, power, pitch) = slab(case);
        let heat = slab.heat(power, pitch).expect("a solution");
        // Ten times closer than a floor's designer could measure.
        for (name, ours) in [
            ("surface_mean", heat.surface),
            ("surface_peak", heat.warmest),
            ("surface_min", heat.coolest),
            ("sheath", heat.sheath),
        ] {
            let theirs = case[name].as_f64().expect("a temperature");
            assert!((ours - theirs).abs() < 1e-3, "{}: {name}: ours {ours}, theirs {theirs}", case["name"]);
        }
        for (name, ours) in [("flux_up", heat.upward), ("flux_down", heat.downward)] {
            let theirs = case[name].as_f64().expect("a flow");
            assert!(
                (ours - theirs).abs() < 1e-4 * theirs.abs(),
                "{}: {name}: ours {ours}, theirs {theirs}",
                case["name"]
            );
        }
    }
}

/// Tile on adhesive on board on timber, or on screed and concrete.
fn floors() -> impl Strategy<Value = (Slab, f64, f64)> {
    let solid = |least: f64, most: f64, conductivity: f64| {
        (least..most).prop_map(move |thickness| SlabLayer::Solid { thickness, conductivity })
    };
    let board =
        prop_oneof![solid(0.006, 0.03, 0.035), (0.0..0.3).prop_map(SlabLayer::Resistance), solid(0.05, 0.15, 2.0)];
    (
        solid(0.006, 0.03, 1.3),
        solid(0.008, 0.07, 1.0),
        board,
        solid(0.01, 0.2, 0.13),
        0.2..0.8,
        8.0..18.0,
        0.05..0.2,
        5.0..21.0,
        prop::bool::ANY,
    )
        .prop_map(|(tile, bed, board, base, share, power, pitch, temperature, room)| {
            let SlabLayer::Solid { thickness, .. } = bed else { unreachable!("the bed is a solid") };
            let slab = Slab {
                layers: vec![tile, bed, board, base],
                cable_layer: 1,
                cable_height: thickness * share,
                cable_radius: 0.003_f64.min(thickness * share).min(thickness * (1.0 - share)),
                below: if room { Below::Room(temperature) } else { Below::Temperature(temperature) },
                inside: 21.0,
            };
            (slab, power, pitch)
        })
}

fn heat((slab, power, pitch): &(Slab, f64, f64)) -> SlabHeat {
    slab.heat(*power, *pitch).expect("a solution")
}

proptest! {
    #![proptest_config(crate::common::cases(200))]

    /// What is put in goes up or down.
    #[test]
    fn energy_is_balanced(floor in floors()) {
        let heat = heat(&floor);
        let put_in = floor.1 / floor.2;
        prop_assert!((heat.upward + heat.downward - put_in).abs() <= 1e-9 * put_in.max(heat.downward.abs()), "{heat:?}");
        // EN 1264-2 holds between the mean surface temperature and the flow up.
        prop_assert!((floor_output(heat.surface - floor.0.inside) - heat.upward).abs() <= 1e-9 * heat.upward.abs().max(1.0), "{heat:?}");
    }

    /// Warmest over the cable, coolest between, and the sheath warmer than the surface.
    #[test]
    fn temperatures_are_in_order(floor in floors()) {
        let heat = heat(&floor);
        prop_assert!(heat.coolest <= heat.surface && heat.surface <= heat.warmest && heat.warmest < heat.sheath, "{heat:?}");
    }

    /// More power, a closer pitch: warmer and more even. More over the cable: more even.
    #[test]
    fn temperatures_grow_with_power_and_even_out_with_pitch(floor in floors()) {
        let (slab, power, pitch) = floor;
        let plain = slab.heat(power, pitch).expect("a solution");
        let more = slab.heat(power * 1.1, pitch).expect("a solution");
        prop_assert!(more.surface > plain.surface && more.sheath > plain.sheath);
        let closer = slab.heat(power * 0.9, pitch * 0.9).expect("a solution");
        prop_assert!(closer.warmest - closer.coolest <= plain.warmest - plain.coolest + 1e-9);
        let mut thicker = slab.clone();
        thicker.layers.insert(0, SlabLayer::Solid { thickness: 0.01, conductivity: 1.3 });
        thicker.cable_layer += 1;
        let thicker = thicker.heat(power, pitch).expect("a solution");
        prop_assert!(thicker.warmest - thicker.coolest <= plain.warmest - plain.coolest + 1e-9);
        // A floor that takes heat from its room takes less of it through a thicker covering.
        prop_assert!(plain.upward < 0.0 || thicker.downward >= plain.downward - 1e-9);
    }

    /// As the pitch goes to nothing at the same power a square metre, the floor becomes one-dimensional.
    #[test]
    fn the_limit_is_one_dimensional(floor in floors()) {
        let (slab, power, pitch) = floor;
        let fine = slab.heat(power / 100.0, pitch / 100.0).expect("a solution");
        prop_assert!(fine.warmest - fine.coolest < 1e-3, "{fine:?}");
        let coarse = slab.heat(power, pitch).expect("a solution");
        prop_assert!((fine.surface - coarse.surface).abs() < 1e-9, "{fine:?} {coarse:?}");
    }
}
