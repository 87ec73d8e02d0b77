//! How floors warm up, against solutions in closed form and against the steady state.

use std::f64::consts::PI;

use layrule::measure::heat::{Below, Slab, SlabLayer};
use layrule::measure::heat_up::{Film, Unwarmed, WarmingFloor, time_to_warm};
use layrule::measure::plan::Measured;

use crate::common::plan_with_kits;

fn slab(layers: Vec<SlabLayer>, cable_layer: usize, cable_height: f64) -> Slab {
    Slab { layers, cable_layer, cable_height, cable_radius: 0.003, below: Below::Room(20.0), inside: 20.0 }
}

fn solid(thickness: f64, conductivity: f64) -> SlabLayer {
    SlabLayer::Solid { thickness, conductivity }
}

/// Carslaw and Jaeger, Conduction of Heat in Solids, 2nd edition, §3.8: a slab with one face kept at its first temperature and a constant flux
/// into the other.
#[test]
fn a_slab_heated_from_below_warms_as_in_closed_form() {
    let (thick, conductivity, capacity, flux) = (0.05, 1.2, 1.8e6, 150.0);
    let slab = slab(vec![solid(thick, conductivity), SlabLayer::Resistance(100.0)], 0, 0.0);
    let mut floor = WarmingFloor::unheated(&slab, &[Some(capacity), None], Film::Constant(1e9)).expect("capacities");
    let diffusivity = conductivity / capacity;
    let mut asked = 0;
    while floor.time() < 6.0 * 3600.0 {
        floor.warm(flux);
        let time = floor.time();
        if time < 60.0 {
            continue;
        }
        let term = |n: u32| {
            let odd = f64::from(2 * n + 1);
            (-diffusivity * odd * odd * PI * PI * time / (4.0 * thick * thick)).exp() / (odd * odd)
        };
        let theirs = flux * thick / conductivity * (1.0 - 8.0 / (PI * PI) * (0..50).map(term).sum::<f64>());
        let ours = floor.at_cables(flux) - 20.0;
        assert!((ours - theirs).abs() < 0.01 * theirs + 0.01, "after {time} s: ours {ours}, theirs {theirs}");
        asked += 1;
    }
    assert!(asked > 300, "{asked}");
}

/// Carslaw and Jaeger, as above, §2.9: a constant flux into half a space without end; here half of it goes each way from a plane.
#[test]
fn an_endless_floor_warms_with_the_root_of_the_time() {
    let (conductivity, capacity, flux): (f64, f64, f64) = (1.2, 1.8e6, 150.0);
    let slab = slab(vec![solid(0.4, conductivity)], 0, 0.2);
    let mut floor = WarmingFloor::unheated(&slab, &[Some(capacity)], Film::Room).expect("a capacity");
    while floor.time() < 7200.0 {
        floor.warm(flux);
        let time = floor.time();
        if time > 600.0 {
            let theirs = flux * (time / (PI * conductivity * capacity)).sqrt();
            let ours = floor.at_cables(flux) - 20.0;
            assert!((ours - theirs).abs() < 0.02 * theirs, "after {time} s: ours {ours}, theirs {theirs}");
        }
    }
}

#[test]
fn in_the_end_a_floor_is_as_warm_as_in_the_steady_state() {
    let layers = vec![solid(0.01, 1.3), solid(0.01, 1.0), SlabLayer::Resistance(0.1), solid(0.018, 0.13)];
    let slab = Slab { below: Below::Room(12.0), ..slab(layers, 1, 0.003) };
    let capacities = [Some(1.9e6), Some(1.8e6), None, Some(0.8e6)];
    let (flux, steady) = (120.0, slab.heat(12.0, 0.1).expect("a solution"));
    let mut floor = WarmingFloor::unheated(&slab, &capacities, Film::Room).expect("capacities");
    assert!((floor.surface() - slab.heat(0.0, 0.1).expect("a solution").surface).abs() < 1e-6);
    let mut last = floor.surface();
    while floor.time() < 10.0 * 86_400.0 {
        floor.warm(flux);
        assert!(floor.surface() >= last - 1e-9, "it cools at {}", floor.time());
        last = floor.surface();
    }
    assert!((last - steady.surface).abs() < 1e-3, "{last} {steady:?}");
    // Halfway it is before it is nearly there, and warmer than the steady state never.
    let first = slab.heat(0.0, 0.1).expect("a solution").surface;
    let at = |share: f64| time_to_warm(&slab, &capacities, flux, first + share * (steady.surface - first));
    assert!(at(0.5).expect("a time") < at(0.9).expect("a time"));
    assert_eq!(at(1.001), Err(Unwarmed::Never));
    assert_eq!(time_to_warm(&slab, &[Some(1.9e6), None, None, Some(0.8e6)], flux, 22.0), Err(Unwarmed::Capacity(1)));
}

const STORE: &str = "kit k {\n  output 400 W at 230 V\n  length 40 m\n  diameter 6 mm\n}\nmaterial slab {\n  conductivity 1.2 W/mK\n  heat-capacity 2 MJ/m3K\n}\n\
    room r {\n  outline (0, 0) (2600, 0) (2600, 1700) (0, 1700)\n  floor concrete {\n    tile 10 mm porcelain\n    bed 40 mm slab cable at 20 mm\n    board 30 mm insulation\n    base 100 mm concrete\n  }\n  \
    inside 20 degC\n  below room 15 degC\n  heat-loss 200 W\n  cable a {\n    kit k\n    start (80, 100)\n    loops 16 of 2400 east, stepping 100 north\n  }\n}\n";

#[test]
fn a_plan_tells_how_long_its_floor_takes_and_what_it_runs_at() {
    let heat_up = |text: &str| {
        let plan = plan_with_kits(text);
        assert!(plan.faults.is_empty(), "{:#?}", plan.faults);
        let measured = Measured::new(plan);
        let room = measured.room(0).expect("a room");
        (room.heat_up(200.0), room.running_power(200.0), room.heat_flows())
    };
    let (warmed, running, flows) = heat_up(STORE);
    let ((time, energy), (running, (up, down))) =
        (warmed.expect("a time"), (running.expect("a power"), flows.expect("flows")));
    assert!((energy - time * (up + down)).abs() < 1e-6 * energy);
    // It makes up for the loss and for what is lost below while it does, which is less than at full power.
    assert!(running > 200.0 && running < 200.0 / up * (up + down) * 1.05, "{running} {up} {down}");
    // A floor of a slab that holds twice as much takes longer, but for the tiles not twice as long.
    let (slower, ..) = heat_up(&STORE.replace("2 MJ/m3K", "4 MJ/m3K"));
    let ratio = slower.expect("a time").0 / time;
    assert!(ratio > 1.3 && ratio < 2.0, "{ratio}");
    assert!(heat_up(&STORE.replace("  heat-capacity 2 MJ/m3K\n", "")).0.is_err());
}
