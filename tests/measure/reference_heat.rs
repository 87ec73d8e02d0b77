//! The heat of a floor against finite elements, and against what must hold for any floor.
//!
//! `tests/reference/heat.py` made the values with scikit-fem, in the versions that `heat.json` names; CI makes them afresh and
//! compares.

use layrule::measure::heat::{Below, DOWNWARD_SURFACE_RESISTANCE, Slab, SlabHeat, SlabLayer, floor_output};
use layrule::measure::plan::Measured;
use proptest::prelude::*;
use serde_json::Value;

use crate::common::{plan, root};

/// The floor of a case or a section.
pub(super) fn slab_of(case: &Value) -> Slab {
    let figure = |name: &str| case[name].as_f64().unwrap_or_else(|| panic!("{name} in {case}"));
    let layers = case["layers"].as_array().expect("layers").iter().map(|layer| match layer[1].as_f64() {
        Some(thickness) => SlabLayer::Solid { thickness, conductivity: layer[2].as_f64().expect("a conductivity") },
        None => SlabLayer::Resistance(layer[1]["resistance"].as_f64().expect("a resistance")),
    });
    let below = match case["bottom"]["room"].as_f64() {
        Some(temperature) => Below::Room(temperature),
        None => Below::Temperature(case["bottom"]["temperature"].as_f64().expect("a temperature")),
    };
    Slab {
        layers: layers.collect(),
        cable_layer: case["cable_layer"].as_u64().expect("an index") as usize,
        cable_height: figure("height"),
        cable_radius: figure("radius"),
        below,
        inside: figure("room"),
    }
}

fn slab(case: &Value) -> (Slab, f64, f64) {
    let figure = |name: &str| case[name].as_f64().unwrap_or_else(|| panic!("{name} in {case}"));
    (slab_of(case), figure("power"), figure("pitch"))
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

/// The carpets of two cases as rugs on the floors below them: the same heat, and below them what the film gives goes through their resistance.
#[test]
fn below_a_rug_agrees_with_finite_elements() {
    let file = std::fs::read_to_string(root().join("tests/reference/heat.json")).expect("the reference values");
    let values: Value = serde_json::from_str(&file).expect("JSON");
    let cases = values["cases"].as_array().expect("cases").iter();
    let carpeted: Vec<&Value> = cases.filter(|case| case["layers"][0][0] == "carpet").collect();
    assert_eq!(carpeted.len(), 2);
    for case in carpeted {
        let (mut slab, power, pitch) = slab(case);
        let SlabLayer::Resistance(carpet) = slab.layers.remove(0) else { panic!("{case}") };
        slab.cable_layer -= 1;
        let heat = slab.heat_below(carpet, power, pitch).expect("a solution");
        let figure = |name: &str| case[name].as_f64().expect("a figure");
        let below = |top: f64| top + carpet * figure("film") * (top - figure("room"));
        for (name, ours, theirs) in [
            ("sheath", heat.sheath, figure("sheath")),
            ("mean below it", heat.surface, figure("surface_mean") + carpet * figure("flux_up")),
            ("warmest below it", heat.warmest, below(figure("surface_peak"))),
            ("coolest below it", heat.coolest, below(figure("surface_min"))),
        ] {
            assert!((ours - theirs).abs() < 5e-3, "{}: {name}: ours {ours}, theirs {theirs}", case["name"]);
        }
    }
}

/// The plan that a case means: its floor, and a cable of so much power at so much pitch.
fn plan_text(case: &Value) -> String {
    let figure = |name: &str| case[name].as_f64().unwrap_or_else(|| panic!("{name} in {case}"));
    let mm = |metres: f64| format!("{} mm", (metres * 1e8).round() / 1e5);
    let mut text = String::new();
    let mut floor = String::new();
    for (number, layer) in case["layers"].as_array().expect("layers").iter().enumerate() {
        let holds = case["cable_layer"].as_u64() == Some(number as u64);
        let cable = if holds { format!(" cable at {}", mm(figure("height"))) } else { String::new() };
        match layer[1].as_f64() {
            Some(thickness) => {
                text += &format!("material m{number} {{\n  conductivity {} W/mK\n}}\n", layer[2]);
                floor += &format!("    l{number} {} m{number}{cable}\n", mm(thickness));
            }
            None => floor += &format!("    l{number} {} m2K/W\n", layer[1]["resistance"]),
        }
    }
    let below = match (&case["bottom"]["room"], &case["bottom"]["temperature"]) {
        (Value::Null, ground) => format!("ground {ground}"),
        (room, _) => format!("room {room}"),
    };
    // Half the voltage the kit is rated for: a quarter of its power.
    let (length, runs, run) = (30.0, 6, 4000);
    let (power, pitch) = (4.0 * figure("power") * length, mm(figure("pitch")));
    text += &format!(
        "kit k {{\n  output {power} W at 230 V\n  length {length} m\n  diameter {}\n}}\nsupply s {{\n  voltage 115 V\n}}\n\
         room r {{\n  outline (0, 0) (5000, 0) (5000, 3000) (0, 3000)\n  floor concrete {{\n{floor}  }}\n  inside {} degC\n  \
         below {below} degC\n  thermostat t (0, 0) rated 16 A on s\n  cable a {{\n    kit k\n    start (100, 100)\n    \
         loops {runs} of {run} east, stepping {pitch} north\n  }}\n}}\n",
        mm(2.0 * figure("radius")),
        case["room"],
    );
    text
}

/// The whole way from a plan's text: its layers, pitch, power at the supply's voltage, and radius.
#[test]
fn a_plan_as_written_agrees_with_finite_elements() {
    let file = std::fs::read_to_string(root().join("tests/reference/heat.json")).expect("the reference values");
    let values: Value = serde_json::from_str(&file).expect("JSON");
    for case in values["cases"].as_array().expect("cases") {
        let text = plan_text(case);
        let plan = plan(&text);
        assert!(plan.faults.is_empty(), "{:#?}\n{text}", plan.faults);
        let measured = Measured::new(plan.clone());
        let room = measured.room(0).expect("a room");
        let heat = room.cable_heat(0, 1.0).unwrap_or_else(|unknown| panic!("{unknown:?}\n{text}"));
        let narrowest = room.strips_heated(0).expect("strips").narrowest;
        let sheath = room.sheath(narrowest).expect("a sheath");
        // To a tenth of what is asked of it: 0.1 K, 0.5 K at the sheath, 1 % of a flow.
        for (name, ours, most) in [
            ("surface_mean", heat.slab.surface, 0.01),
            ("surface_peak", heat.slab.warmest, 0.01),
            ("surface_min", heat.slab.coolest, 0.01),
            ("sheath", sheath, 0.05),
        ] {
            let theirs = case[name].as_f64().expect("a temperature");
            assert!((ours - theirs).abs() < most, "{}: {name}: ours {ours}, theirs {theirs}\n{text}", case["name"]);
        }
        let area = heat.area;
        let (up, down) = room.heat_flows().expect("flows");
        for (name, ours) in [("flux_up", up / area), ("flux_down", down / area)] {
            let theirs = case[name].as_f64().expect("a flow");
            assert!(
                (ours - theirs).abs() < 1e-3 * theirs.abs(),
                "{}: {name}: ours {ours}, theirs {theirs}",
                case["name"]
            );
        }
        // All of the cable's power goes up or down.
        let power = room.power(&plan.rooms[0].cables[0]).expect("a power");
        assert!((up + down - power).abs() <= 1e-9 * power, "{up} + {down} against {power}");
    }
}

/// What a rule sees of the same figures, in the units it sees them in.
#[test]
fn rules_see_the_same_figures() {
    let file = std::fs::read_to_string(root().join("tests/reference/heat.json")).expect("the reference values");
    let values: Value = serde_json::from_str(&file).expect("JSON");
    let case = &values["cases"][0];
    let figure = |name: &str| case[name].as_f64().expect("a figure");
    let within = |field: &str, figure: f64, give: &str, unit: &str| format!("abs({field} - {figure} {unit}) <= {give}");
    let conditions = [
        within("cable.surface-temperature(100 %)", figure("surface_mean"), "0.01 K", "degC"),
        within("cable.warmest-surface(100 %)", figure("surface_peak"), "0.01 K", "degC"),
        within("cable.coolest-surface(100 %)", figure("surface_min"), "0.01 K", "degC"),
        within("cable.sheath-temperature", figure("sheath"), "0.05 K", "degC"),
        within("cable.heat-up(100 %)", figure("flux_up"), "0.1 W/m2", "W/m2"),
        within("cable.heat-down(100 %)", figure("flux_down"), "0.1 W/m2", "W/m2"),
        within("cable.power-density", figure("power") / figure("pitch"), "0.001 W/m2", "W/m2"),
        within("cable.share-below", figure("flux_down") / figure("power") * figure("pitch"), "0.1 %", ""),
    ];
    let pack = format!(
        "rule figures {{\n  about \"x\"\n  severity note\n  basis practice\n  check cable in cables\n  require {}\n  message \"no\"\n}}\n",
        conditions.join(" and\n    ")
    );
    let report = crate::common::check_with(&plan_text(case), &crate::common::rules_with(&pack));
    assert!(!crate::common::rules_found(&report).contains(&"figures".to_string()), "{:#?}", report.findings);
    assert!(report.unchecked.iter().all(|unchecked| &*unchecked.rule != "figures"), "{:#?}", report.unchecked);
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

    /// Under a film that doesn't change, powers add up, and each temperature and flow with them.
    #[test]
    fn the_field_is_linear(floor in floors(), share in 0.1..3.0_f64) {
        let (slab, power, pitch) = floor;
        let at = |power: f64| slab.heat_by_film(power, pitch, 11.0).expect("a solution");
        let (none, once, more) = (at(0.0), at(power), at(power * share));
        let figures = |heat: &SlabHeat| [heat.surface, heat.warmest, heat.coolest, heat.upward, heat.downward, heat.sheath];
        for ((none, once), more) in figures(&none).into_iter().zip(figures(&once)).zip(figures(&more)) {
            prop_assert!((more - none - share * (once - none)).abs() <= 1e-8 * (1.0 + more.abs()), "{none} {once} {more}");
        }
    }

    /// A slab that is its own mirror image, with the same film and temperature on both sides, sends half of the heat each way.
    #[test]
    fn the_field_is_symmetric(cover in 0.004..0.05, outer in 0.005..0.1, conductivity in 0.05..2.0, power in 5.0..20.0, pitch in 0.05..0.2) {
        let skin = SlabLayer::Solid { thickness: outer, conductivity };
        let slab = Slab {
            layers: vec![skin, SlabLayer::Solid { thickness: 2.0 * cover, conductivity: 1.0 }, skin],
            cable_layer: 1,
            cable_height: cover,
            cable_radius: 0.003,
            below: Below::Room(21.0),
            inside: 21.0,
        };
        let heat = slab.heat_by_film(power, pitch, 1.0 / DOWNWARD_SURFACE_RESISTANCE).expect("a solution");
        prop_assert!((heat.upward - heat.downward).abs() <= 1e-9 * heat.upward, "{heat:?}");
        prop_assert!((heat.upward - power / pitch / 2.0).abs() <= 1e-9 * heat.upward, "{heat:?}");
    }

    /// What is asked of a drive or of a resistance is what then comes of it.
    #[test]
    fn the_way_back_leads_back(floor in floors(), share in 0.05..0.5_f64) {
        let (slab, power, pitch) = floor;
        let heat = slab.heat(power, pitch).expect("a solution");
        let drive = slab.drive_for(heat.upward).expect("a drive");
        prop_assert!((drive - power / pitch).abs() <= 1e-8 * (drive.abs() + heat.downward.abs()), "{drive} {heat:?}");
        let (needed, there) = slab.resistance_below_for(power / pitch * (1.0 - share), power / pitch * share);
        if needed > there {
            let mut better = slab.clone();
            better.layers.push(SlabLayer::Resistance(needed - there));
            let better = better.heat(power, pitch).expect("a solution");
            prop_assert!((better.downward * pitch / power - share).abs() <= 1e-9, "{better:?}");
        }
    }
}
