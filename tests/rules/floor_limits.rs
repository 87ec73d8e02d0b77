//! Every rule of a floor's build-up, its heat and its bays at its limit, and one step beyond.
//!
//! The limits are common practice in the trade unless a rule's own `basis` says otherwise.

use layrule::measure::heat::{Below, Slab, SlabHeat, SlabLayer};
use layrule::measure::plan::Measured;

use crate::common::check;
use crate::common::limits::{border, finds, room};

/// A heated floor: 20 m of cable of `power` (W) in four runs from (500, `start`), 100 mm apart; `layers` with the cable in one of them,
/// `rest` of the room.
fn warmed(power: f64, start: u32, kind: &str, layers: &str, rest: &str) -> String {
    format!(
        "material flooring {{\n  conductivity 0.2 W/mK\n}}\nkit k {{\n  output {power} W at 230 V\n  length 20 m\n  diameter 6 mm\n}}\n"
    ) + &room(&format!(
        "wall 1 outside\nfloor {kind} {{\n{layers}\n}}\ninside 20 degC\nthermostat t (4000, 650) height 300 rated 16 A\n{rest}\n\
             cable a {{\nkit k\nstart (500, {start})\nloops 4 of 2500 east, stepping 100 north\n}}"
    ))
}

/// Tile, adhesive, board and plywood over a room of 18 degC, as the slab and as the plan's layers.
const USUAL: &str = "tile 10 mm\nadhesive 10 mm cable at 3 mm\nboard 10 mm\nplywood 18 mm";
const OVER_ROOM: &str = "below room 18 degC";

fn slab(top: SlabLayer, below: f64) -> Slab {
    let solid = |thickness: f64, conductivity: f64| SlabLayer::Solid { thickness, conductivity };
    Slab {
        layers: vec![top, solid(0.01, 1.0), solid(0.01, 0.035), solid(0.018, 0.13)],
        cable_layer: 1,
        cable_height: 0.003,
        cable_radius: 0.003,
        below: Below::Room(below),
        inside: 20.0,
    }
}

const TILE: SlabLayer = SlabLayer::Solid { thickness: 0.01, conductivity: 1.3 };

/// The steady state of the usual floor with 20 m of cable of `power` (W) at 100 mm, by what is held to finite elements.
fn heat_of(power: f64) -> SlabHeat {
    slab(TILE, 18.0).heat(power / 20.0, 0.1).expect("a solution")
}

/// Where what grows from `low` to `high` comes to `limit`.
fn meets(limit: f64, mut low: f64, mut high: f64, of: impl Fn(f64) -> f64) -> f64 {
    assert!(of(low) < limit && limit < of(high), "{} {limit} {}", of(low), of(high));
    for _ in 0..80 {
        let middle = f64::midpoint(low, high);
        if of(middle) < limit { low = middle } else { high = middle }
    }
    low
}

/// Just below a figure and just above it, short enough to write.
fn about(figure: f64) -> (f64, f64) {
    ((figure * 1e3).floor() / 1e3, (figure * 1e3).ceil() / 1e3)
}

/// A floor that is laid close on one half and wide on the other is held to its close half: 10 W/m at 50 mm is 200 W/m2, at 60 mm 167.
#[test]
fn uneven_floors_are_held_at_their_worst() {
    let laid = |path: &str, length: u32| {
        format!(
            "kit k {{\n output {} W at 230 V\n length {length} m\n diameter 6 mm\n}}\nroom r {{\n outline (0, 0) (3200, 0) (3200, 3200) (0, 3200)\n \
             floor timber {{\n{USUAL}\n}}\n inside 20 degC\n below room 18 degC\n cable a {{\n kit k\n start (3050, 100)\n{path}\n}}\n}}\n",
            length * 10
        )
    };
    let halves = |first: (u32, u32), second: (u32, u32)| {
        let back = if first.0.is_multiple_of(2) { "west" } else { "east" };
        let length = (f64::from(first.0 + second.0) * 2.9 + 2.5).round() as u32;
        laid(
            &format!(
                "loops {} of 2900 west, stepping {} north\nrun north 140\nloops {} of 2900 {back}, stepping {} north",
                first.0, first.1, second.0, second.1
            ),
            length,
        )
    };
    for (first, second, density) in [((12, 50), (13, 167), 200.0), ((14, 60), (15, 135), 1000.0 / 6.0)] {
        let text = halves(first, second);
        assert!(finds(&text, "power-density") && finds(&text, "even-spacing"), "{text}");
        let plan = crate::common::plan(&text);
        let measured = Measured::new(plan);
        let measure = measured.room(0).expect("a room");
        let strips = measure.strips_heated(0).expect("strips");
        let greatest = measure.stretch_density(strips.narrowest).expect("a density");
        assert!((greatest - density).abs() < 1e-6, "{greatest}");
        assert!((strips.narrowest.width - f64::from(first.1)).abs() < 1e-6, "{strips:?}");
        // The widest lies among the wide rows, or between the first of them and the last of the others.
        let between = f64::midpoint(140.0, f64::from(second.1)).max(f64::from(second.1));
        assert!((strips.widest.width - between).abs() < 1e-6, "{strips:?}");
        // In the mean it is what the strips of both halves take, which the room has.
        let rows = |(rows, pitch): (u32, u32)| f64::from(rows) * f64::from(pitch) * 2900.0;
        let about = rows(first) + rows(second);
        assert!(
            (strips.area - about).abs() < 0.08 * about && strips.area < measure.area(),
            "{} of {about}",
            strips.area
        );
    }
    // In the corners of a spiral the run that goes on lies beside the one that ends: nowhere is it wider than its spacing.
    let mut spiral = String::from("run west 2900\nrun north 2900\n");
    let mut side = 2900;
    for heading in ["east", "south", "west", "north"].iter().cycle().take(24) {
        spiral += &format!("run {heading} {side}\n");
        side -= if *heading == "east" || *heading == "west" { 100 } else { 0 };
    }
    let plan = crate::common::plan(&laid(&spiral, 60));
    let measured = Measured::new(plan);
    let strips = measured.room(0).expect("a room").strips_heated(0).expect("strips");
    assert!((strips.narrowest.width - 100.0).abs() < 1.0 && strips.widest.width < 101.0, "{strips:?}");
    // Laid evenly it is all one.
    let even = halves((12, 100), (13, 100)).replace("run north 140", "run north 100");
    assert!(!finds(&even, "power-density") && !finds(&even, "even-spacing"), "{even}");
}

#[test]
fn sensor_place() {
    // Ten runs 100 mm apart with the sensor between two of them, and ten more at a spacing of their own on the same thermostat.
    let beside = |pitch: f64, power: u32| {
        format!(
            "kit k {{\n output {power} W at 230 V\n length 26 m\n diameter 6 mm\n}}\nroom r {{\n outline (0, 0) (3000, 0) (3000, 3200) (0, 3200)\n \
             floor timber {{\n{USUAL}\n}}\n inside 20 degC\n below room 18 degC\n thermostat t (0, 550) rated 16 A\n \
             cable a {{\n kit k\n start (100, 100)\n loops 10 of 2600 east, stepping 100 north\n}}\n \
             cable b {{\n kit k\n start (100, 3100)\n loops 10 of 2600 east, stepping {pitch} south\n}}\n sensor s from t (600, 550)\n}}\n"
        )
    };
    // 15 % more on each square metre than at the sensor: 100 mm over 1.15.
    border("sensor-place", &beside(87.0, 300), &beside(86.9, 300));
    // What can't get too warm even at full power needs no limit.
    assert!(!finds(&beside(80.0, 100), "sensor-place"));
    // Vinyl bears less than something else that conducts as it does.
    let covered = |covering: &str, power: u32| {
        let text = beside(80.0, power).replace("tile 10 mm", &format!("{covering} 3 mm"));
        format!("material sheet {{\n conductivity 0.25 W/mK\n}}\n{text}")
    };
    let softer = |power: &u32| {
        finds(&covered("vinyl", *power), "sensor-place") && !finds(&covered("sheet", *power), "sensor-place")
    };
    assert!((100..240).step_by(10).any(|power| softer(&power)));
}

/// W/mK, of the foam of [`held`].
const FOAM: f64 = 0.03;

/// EN 1264-2: `q = 8.92 (θ - θi)^1.1` leaves a floor. By hand for the floor of [`held`]: what its cables give on each square metre, W/m2, while the
/// mean of its surface is so warm, degC. From the cable up there are 10 mm and half of 10 mm at 1 W/mK, from it down that other half, 30 mm at
/// 0.03 W/mK and 100 mm at 2 W/mK over ground of 10 degC.
fn given_at(surface: f64) -> f64 {
    let upward = 8.92 * (surface - 20.0).powf(1.1);
    let at_cable = surface + upward * (0.010 / 1.0 + 0.005 / 1.0);
    upward + (at_cable - 10.0) / (0.005 / 1.0 + 0.030 / FOAM + 0.100 / 2.0)
}

/// How warm the mean of that surface is where so much is given, degC.
fn surface_at(given: f64) -> f64 {
    let (mut low, mut high) = (20.0, 90.0);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if given_at(middle) < given { low = middle } else { high = middle }
    }
    low
}

/// Ten runs 100 mm apart with the sensor between two of them, and ten more 80 mm apart on the same thermostat.
fn held(limit: f64) -> String {
    let material =
        |(name, conductivity): (&str, f64)| format!("material {name} {{\n conductivity {conductivity} W/mK\n}}\n");
    let materials: String = [("stone", 1.0), ("bed", 1.0), ("foam", FOAM), ("slab", 2.0)].map(material).concat();
    format!(
        "{materials}kit k {{\n output 300 W at 230 V\n length 26 m\n diameter 6 mm\n}}\nroom r {{\n outline (0, 0) (3000, 0) (3000, 3200) \
         (0, 3200)\n floor concrete {{\n stone 10 mm\n bed 10 mm cable at 5 mm\n foam 30 mm\n slab 100 mm\n}}\n inside 20 degC\n \
         below ground 10 degC\n thermostat t (0, 550) rated 16 A limit {limit} degC\n \
         cable a {{\n kit k\n start (100, 100)\n loops 10 of 2600 east, stepping 100 north\n}}\n \
         cable b {{\n kit k\n start (100, 3100)\n loops 10 of 2600 east, stepping 80 south\n}}\n sensor s from t (600, 550)\n}}\n"
    )
}

#[test]
fn a_sensor_holds_what_lies_unlike_it_by_the_law_of_the_floor() {
    let measured = Measured::new(crate::common::plan(&held(27.0)));
    let room = measured.room(0).expect("a room");
    let narrowest = room.strips_heated(1).expect("strips").narrowest;
    let while_held = |limit: f64| room.heat_while_held(narrowest, 0, limit).expect("heat").expect("runs beside it");
    // A quarter more is given there on each square metre, at whatever share of the power.
    for limit in [23.0, 25.0, 27.0] {
        let (found, by_hand) = (while_held(limit).surface, surface_at(1.25 * given_at(limit)));
        assert!((found - by_hand).abs() < 0.01, "at {limit}: {found}, by hand {by_hand}");
    }
    // At full power 300 W / 26 m on 80 mm.
    assert!((while_held(60.0).surface - surface_at(300.0 / 26.0 / 0.08)).abs() < 0.01);
    // Right over the run it is warmer by so much, which `reference_heat.rs` holds to finite elements. 9 K over the room is the most.
    let over = |limit: f64| while_held(limit).warmest - while_held(limit).surface;
    let (mut low, mut high) = (20.0, 29.0);
    while high - low > 1e-3 {
        let limit = f64::midpoint(low, high);
        if surface_at(1.25 * given_at(limit)) + over(limit) < 29.0 { low = limit } else { high = limit }
    }
    border("sensor-place", &held(low - 0.02), &held(low + 0.02));
    // What lies like the sensor's place is held with it.
    assert!(!finds(&held(29.0).replace("stepping 80", "stepping 87"), "sensor-place"));
}

#[test]
fn power_density() {
    // 20 m at 100 mm heat 2 m2.
    let on = |kind: &str, layers: &str, power: f64| warmed(power, 500, kind, layers, OVER_ROOM);
    let wood = USUAL.replace("tile", "hardwood");
    border("power-density", &on("timber", USUAL, 300.0), &on("timber", USUAL, 300.1));
    border("power-density", &on("concrete", USUAL, 400.0), &on("concrete", USUAL, 400.1));
    border("power-density", &on("concrete", &wood, 200.0), &on("concrete", &wood, 200.1));
}

#[test]
fn surface_temperature() {
    let plan = |power: f64, start: u32| warmed(power, start, "timber", USUAL, OVER_ROOM);
    // EN 1264-2: 9 K over the room where people stay, 15 K within a metre of an outside wall. No sensor limits these.
    let edge = about(meets(35.0, 100.0, 800.0, |power| heat_of(power).warmest));
    border("surface-temperature", &plan(edge.0, 500), &plan(edge.1, 500));
    let (at, beyond) = about(meets(29.0, 100.0, 800.0, |power| heat_of(power).warmest));
    border("surface-temperature", &plan(at, 900), &plan(beyond, 900));
    // None where a bath stands, none where the strip is the whole room, and never over 35 degC.
    let bath = |text: String| {
        text.replace("wall 1 outside", "wall 1 outside\nfixture tub bath rect (3000, 2000) (3900, 2900)")
    };
    border("surface-temperature", &bath(plan(at, 500)), &bath(plan(beyond, 500)));
    let narrow =
        |text: String, depth: u32| text.replace("(4000, 3000) (0, 3000)", &format!("(4000, {depth}) (0, {depth})"));
    border("surface-temperature", &narrow(plan(beyond, 500), 1001), &narrow(plan(beyond, 500), 1000));
    let warm_edge = |power: f64| plan(power, 500).replace("inside 20", "inside 24");
    let warm = Slab { inside: 24.0, ..slab(TILE, 18.0) };
    let greatest = about(meets(35.0, 100.0, 800.0, |power| warm.heat(power / 20.0, 0.1).expect("a solution").warmest));
    border("surface-temperature", &warm_edge(greatest.0), &warm_edge(greatest.1));
    // The runs at 700 to 1000 lie in the edge zone, those at 701 to 1001 no longer.
    border("surface-temperature", &plan(edge.0, 700), &plan(edge.0, 701));
    // A bathroom kept at 24 degC may have a floor of 33 degC.
    let bathroom = |power: f64| plan(power, 900).replace("inside 20", "inside 24");
    let warm = Slab { inside: 24.0, ..slab(TILE, 18.0) };
    let (at, beyond) =
        about(meets(33.0, 100.0, 800.0, |power| warm.heat(power / 20.0, 0.1).expect("a solution").warmest));
    border("surface-temperature", &bathroom(at), &bathroom(beyond));
    // The covering's own limit: 27 degC on timber by practice, else what its material says.
    let wood = SlabLayer::Solid { thickness: 0.01, conductivity: 0.18 };
    let oak = |power: f64| warmed(power, 500, "timber", &USUAL.replace("tile", "hardwood"), OVER_ROOM);
    let (at, beyond) =
        about(meets(27.0, 50.0, 800.0, |power| slab(wood, 18.0).heat(power / 20.0, 0.1).expect("a solution").warmest));
    border("surface-temperature", &oak(at), &oak(beyond));
    let cork = SlabLayer::Solid { thickness: 0.01, conductivity: 0.065 };
    let corked = |power: f64| warmed(power, 500, "timber", &USUAL.replace("tile", "cork"), OVER_ROOM);
    let (at, beyond) =
        about(meets(27.0, 50.0, 800.0, |power| slab(cork, 18.0).heat(power / 20.0, 0.1).expect("a solution").warmest));
    border("surface-temperature", &corked(at), &corked(beyond));
    let said = |limit: f64| {
        plan(150.0, 500)
            .replace("10 mm\nadhesive", "10 mm flooring\nadhesive")
            .replace("0.2 W/mK", &format!("0.2 W/mK\nsurface-limit {limit} degC"))
    };
    let flooring = SlabLayer::Solid { thickness: 0.01, conductivity: 0.2 };
    let (beyond, at) = about(slab(flooring, 18.0).heat(7.5, 0.1).expect("a solution").warmest);
    border("surface-temperature", &said(at), &said(beyond));
    // A sensor limits the floor: then what the room loses decides.
    let limited = |loss: f64| {
        warmed(600.0, 900, "timber", USUAL, &format!("{OVER_ROOM}\nheat-loss {loss} W\nsensor s from t (2400, 950)"))
    };
    let (at, beyond) = about(2.0 * heat_of(meets(29.0, 100.0, 800.0, |power| heat_of(power).warmest)).upward);
    border("surface-temperature", &limited(at), &limited(beyond));
    // Not knowing what the room loses, it can't tell.
    let unknown = warmed(600.0, 900, "timber", USUAL, &format!("{OVER_ROOM}\nsensor s from t (2400, 950)"));
    assert!(check(&unknown).unchecked.iter().any(|unchecked| &*unchecked.rule == "surface-temperature"));
}

#[test]
fn sheath_temperature() {
    let rug = format!("rug 0.4 m2K/W\n{USUAL}").replace("tile 10 mm\n", "");
    let plan = |power: f64| warmed(power, 500, "concrete", &rug, OVER_ROOM);
    let under = slab(SlabLayer::Resistance(0.4), 18.0);
    let (at, beyond) =
        about(meets(80.0, 50.0, 1500.0, |power| under.heat(power / 20.0, 0.1).expect("a solution").sheath));
    border("sheath-temperature", &plan(at), &plan(beyond));
}

/// The usual floor on concrete with a rug over the middle of its four runs, and what else is said.
fn with_rug(power: f64, layers: &str, rugs: &str) -> String {
    warmed(power, 500, "concrete", layers, &format!("{OVER_ROOM}\n{rugs}"))
}

const RUG: &str = "rug r rect (1500, 400) (2000, 900) resistance 0.4 m2K/W";

#[test]
fn rug_sheath() {
    // What lies all over the floor is a layer, of which finite elements tell.
    let mut under = slab(TILE, 18.0);
    under.layers.insert(0, SlabLayer::Resistance(0.4));
    under.cable_layer = 2;
    let sheath = |power: f64| under.heat(power / 20.0, 0.1).expect("a solution").sheath;
    let (at, beyond) = about(meets(80.0, 50.0, 1500.0, sheath));
    border("rug-sheath", &with_rug(at, USUAL, RUG), &with_rug(beyond, USUAL, RUG));
    let finds_rug = |rugs: &str| finds(&with_rug(beyond, USUAL, rugs), "rug-sheath");
    // Of two that overlap the resistances add up; side by side they don't.
    let halves = |second: &str| {
        format!("rug r rect (1500, 400) (2000, 900) resistance 0.25 m2K/W\nrug q {second} resistance 0.15 m2K/W")
    };
    assert!(finds_rug(&halves("circle (2000, 650) radius 200")) && !finds_rug(&halves("rect (2000, 400) (2500, 900)")));
    // Where no cable lies, nothing gets hot.
    assert!(!finds_rug("rug r rect (1500, 1000) (2000, 1500) resistance 3 m2K/W"));
    // What a thermostat does or an agreement says counts for nothing.
    let agreed = with_rug(beyond, USUAL, &format!("{RUG}\ndeviation rug-sheath rug r \"agreed\""));
    assert!(
        check(&agreed).findings.iter().any(|finding| finding.message.contains("binds") || &*finding.rule == "plan")
    );
}

#[test]
fn rug_surface() {
    let wood = USUAL.replace("tile 10 mm", "hardwood 10 mm");
    let rug = RUG.replace("0.4", "0.1");
    // As a layer of its own: below it the surface is warmer than above by what goes through it.
    let mut under = slab(SlabLayer::Solid { thickness: 0.01, conductivity: 0.18 }, 18.0);
    under.layers.insert(0, SlabLayer::Resistance(0.1));
    under.cable_layer = 2;
    let surface = |power: f64| {
        let heat = under.heat(power / 20.0, 0.1).expect("a solution");
        let film = heat.upward / (heat.surface - 20.0);
        heat.warmest + 0.1 * film * (heat.warmest - 20.0)
    };
    let (at, beyond) = about(meets(27.0, 10.0, 1500.0, surface));
    border("rug-surface", &with_rug(at, &wood, &rug), &with_rug(beyond, &wood, &rug));
    // Tile has no limit of its own, unless the plan gives its material one.
    assert!(!finds(&with_rug(400.0, USUAL, &rug), "rug-surface"));
    let limited = format!(
        "material stone {{\n conductivity 0.18 W/mK\n surface-limit 27 degC\n}}\n{}",
        with_rug(beyond, &wood.replace("hardwood", "stone"), &rug)
    );
    assert!(finds(&limited, "rug-surface"));
    // A sensor below the same rug holds the floor there.
    let sensor = |x: u32| format!("{rug}\nsensor s from t (4000, 650) ({x}, 650)");
    assert!(finds(&with_rug(beyond, &wood, &sensor(2200)), "rug-surface"));
    assert!(!finds(&with_rug(beyond, &wood, &sensor(1900)), "rug-surface"));
    // It can be agreed to, by the rug's name.
    let agreed = with_rug(
        beyond,
        &wood,
        &format!("{rug}\ndeviation rug-surface rug r \"lifted every week, agreed with the owner\""),
    );
    assert!(
        check(&agreed).findings.iter().any(|finding| &*finding.rule == "rug-surface" && finding.accepted.is_some())
    );
}

/// Below a rug the narrowest strip counts that lies below it, not that of the whole cable.
#[test]
fn a_rug_is_held_to_what_lies_below_it() {
    let plan = |rug: &str| {
        format!(
            "kit k {{\n output 600 W at 230 V\n length 60 m\n diameter 6 mm\n}}\nroom r {{\n outline (0, 0) (3200, 0) (3200, 3200) (0, 3200)\n \
             floor timber {{\n{USUAL}\n}}\n inside 20 degC\n below room 18 degC\n {rug}\n cable a {{\n kit k\n start (100, 100)\n \
             loops 10 of 2900 east, stepping 60 north\n run north 120\n loops 10 of 2900 east, stepping 120 north\n}}\n}}\n"
        )
    };
    let width = |rug: &str| {
        let measured = Measured::new(crate::common::plan(&plan(rug)));
        let room = measured.room(0).expect("a room");
        let under: Vec<_> = room.under_rugs().iter().map(|under| under.clone().expect("a stretch")).collect();
        assert_eq!(under.len(), 1, "{under:?}");
        (under[0].stretch.width, under[0].stretch.run.run, under[0].resistance)
    };
    let wide = width("rug r rect (1000, 1200) (2000, 1700) resistance 0.1 m2K/W");
    assert!((wide.0 - 120.0).abs() < 1e-6 && wide.2 == 0.1, "{wide:?}");
    let close = width("rug r rect (1000, 500) (2000, 1700) resistance 0.1 m2K/W");
    assert!((close.0 - 60.0).abs() < 1e-6, "{close:?}");
}

#[test]
fn rugs_that_cannot_be_are_refused() {
    let told = |rug: &str| {
        let report = check(&with_rug(200.0, USUAL, rug));
        report
            .findings
            .iter()
            .find(|finding| ["quantity", "plan", "name", "syntax"].contains(&&*finding.rule))
            .map(|f| f.message.clone())
    };
    let rect = "rug r rect (500, 500) (900, 900)";
    assert_eq!(
        told(&format!("{rect} resistance 0 m2K/W")).as_deref(),
        Some("a thermal resistance must be more than nothing here")
    );
    assert_eq!(
        told(&format!("{rect} resistance 200 m2K/W")).as_deref(),
        Some("nothing in a floor or on it resists heat like this")
    );
    assert!(told(&format!("{rect} resistance 20 mm")).is_some() && told(rect).is_some());
    assert!(
        told("rug r rect (9000, 500) (9900, 900) resistance 0.1 m2K/W").is_some_and(|told| told.contains("rug `r`"))
    );
    assert!(told(&format!("{rect} resistance 0.1 m2K/W\n{rect} resistance 0.1 m2K/W")).is_some());
    assert_eq!(told(&format!("{rect} resistance 0.1 m2K/W")), None);
}

#[test]
fn even_warmth() {
    let plan = |power: f64| warmed(power, 500, "concrete", USUAL, OVER_ROOM);
    let (at, beyond) = about(meets(5.0, 50.0, 1500.0, |power| heat_of(power).warmest - heat_of(power).coolest));
    border("even-warmth", &plan(at), &plan(beyond));
    // The pitch at which a cable would be even enough that gives as much, and half a millimetre more.
    let plan = layrule::measure::plan::Measured::new(crate::common::plan_with_kits(&plan(600.0)));
    let pitch = plan.room(0).expect("a room").even_pitch(0, 5.0).expect("a pitch") * 1e3;
    let ripple = |pitch: f64| {
        let heat = slab(TILE, 18.0).heat(300.0 * pitch / 1e3, pitch / 1e3).expect("a solution");
        heat.warmest - heat.coolest
    };
    assert!(ripple(pitch - 0.2) <= 5.0 && ripple(pitch + 0.5) > 5.0, "{pitch}");
}

#[test]
fn downward_loss() {
    let plan = |layers: &str, below: f64| warmed(200.0, 500, "concrete", layers, &format!("below room {below} degC"));
    let lost = |below: f64| slab(TILE, below).heat(10.0, 0.1).expect("a solution").downward / 100.0;
    let (beyond, at) = about(-meets(0.2, -25.0, 10.0, |below| lost(-below)));
    border("downward-loss", &plan(USUAL, at), &plan(USUAL, beyond));
    // With the board it advises, rounded up to whole millimetres, it passes.
    let report = check(&plan(USUAL, 5.0));
    let advice =
        report.findings.iter().find(|finding| &*finding.rule == "downward-loss").and_then(|f| f.advice.clone());
    let more: f64 = advice.expect("advice").split(' ').nth(1).and_then(|n| n.parse().ok()).expect("a thickness");
    let thicker = |more: f64| USUAL.replace("board 10 mm", &format!("board {} mm", 10.0 + more));
    border("downward-loss", &plan(&thicker(more), 5.0), &plan(&thicker(more - 1.0), 5.0));
}

#[test]
fn heat_demand() {
    let plan = |loss: f64| warmed(200.0, 500, "timber", USUAL, &format!("{OVER_ROOM}\nheat-loss {loss} W"));
    let (at, beyond) = about(2.0 * heat_of(200.0).upward);
    border("heat-demand", &plan(at), &plan(beyond));
}

#[test]
fn overboarding() {
    let over =
        |board: f64| warmed(200.0, 500, "timber", &USUAL.replace("board 10", &format!("board {board}")), OVER_ROOM);
    border("overboarding", &over(6.0), &over(5.9));
    let cement = |board: f64| {
        let board = format!("cement-board {board}");
        warmed(200.0, 500, "timber", &USUAL.replace("board 10", &board), OVER_ROOM)
    };
    border("overboarding", &cement(6.0), &cement(5.9));
    // A wood-based board on the deck needs 15 mm, and a decoupling layer or a backer board over it (BS 5385-3:2024, as quoted
    // publicly); the deck alone, what insulates, or what hangs under it, doesn't do.
    let under = |layers: &str| {
        warmed(200.0, 500, "timber", &format!("tile 10 mm\nadhesive 10 mm cable at 3 mm\n{layers}"), OVER_ROOM)
    };
    border(
        "overboarding",
        &under("decoupling 3 mm\nplywood 15 mm\nsoftwood 22 mm"),
        &under("decoupling 3 mm\nplywood 14.9 mm\nsoftwood 22 mm"),
    );
    border(
        "overboarding",
        &under("board 4 mm\nplywood 15 mm\nsoftwood 22 mm"),
        &under("plywood 15 mm\nsoftwood 22 mm"),
    );
    assert!(finds(&under("plywood 18 mm"), "overboarding"));
    assert!(finds(&under("mineral-wool 40 mm\nsoftwood 22 mm"), "overboarding"));
    assert!(finds(&under("decoupling 3 mm\nsoftwood 22 mm"), "overboarding"));
    assert!(finds(&under("plywood 18 mm\nquilt 100 mm mineral-wool\ncavity 0.2 m2K/W"), "overboarding"));
    assert!(!finds(&under("plywood 18 mm").replace("floor timber", "floor concrete"), "overboarding"));
}

#[test]
fn insulation() {
    // 5.25 mm over 0.035 W/mK are 0.15 m2K/W.
    let on = |layers: &str| {
        warmed(
            200.0,
            500,
            "concrete",
            &format!("tile 10 mm\nadhesive 10 mm cable at 3 mm\n{layers}\nconcrete 150 mm"),
            OVER_ROOM,
        )
    };
    border("insulation", &on("board 5.25 mm"), &on("board 5.24 mm"));
    border("insulation", &on("quilt 0.15 m2K/W"), &on("quilt 0.149 m2K/W"));
    // Over the cable it doesn't count.
    let over = warmed(
        200.0,
        500,
        "concrete",
        "tile 10 mm\nboard 10 mm\nadhesive 10 mm cable at 3 mm\nconcrete 150 mm",
        OVER_ROOM,
    );
    assert!(finds(&over, "insulation"));
}

#[test]
fn bay_size() {
    let floor = |width: u32, depth: u32, rest: &str| {
        format!(
            "room r {{\n  outline (0, 0) ({width}, 0) ({width}, {depth}) (0, {depth})\n{rest}\ncable a {{\nstart (500, 500)\nrun east 1000\n}}\n}}\n"
        )
    };
    border("bay-size", &floor(8000, 5000, ""), &floor(8000, 5001, ""));
    border("bay-size", &floor(8000, 3000, ""), &floor(8001, 3000, ""));
    // A joint from wall to wall makes two of it, one that stops short doesn't.
    let joint =
        |end: u32| floor(16000, 5000, &format!("joint j (8000, 0) (8000, 2500)\njoint k (8000, 2500) (8000, {end})"));
    border("bay-size", &joint(5000), &joint(4999));
    // Another level is a bay of its own; a large bay without cable doesn't matter.
    let level = |x: u32| floor(16000, 2000, &format!("level l +100 rect ({x}, 0) (16000, 2000)"));
    border("bay-size", &level(8000), &level(8001));
    assert!(finds(&floor(16000, 2000, "floor concrete {\ntile 10 mm\n}"), "bay-size"));
    assert!(!finds(&floor(16000, 2000, "floor concrete {\ncarpet 10 mm\n}"), "bay-size"));
    // A bay is heated by what only crosses it; and what shows of a level under stairs is no larger than that.
    let crossed = |end: u32| {
        format!(
            "room r {{\n  outline (0, 0) (12000, 0) (12000, 6000) (0, 6000)\njoint j (4000, 0) (4000, 6000)\n\
             cable a {{\nstart (500, 500)\nrun east {end}\n}}\n}}\n"
        )
    };
    border("bay-size", &crossed(3500), &crossed(4500));
    let stairs = |x: u32| {
        floor(9000, 3000, &format!("level l +100 rect (0, 0) (9000, 3000)\nlevel s stairs rect ({x}, 0) (9000, 3000)"))
    };
    border("bay-size", &stairs(8000), &stairs(8001));
    // Joints take nothing off the figures that are shown.
    let report = check(&floor(32000, 3000, "joint j (16000, 0) (16000, 3000)"));
    let finding = report.findings.iter().find(|finding| &*finding.rule == "bay-size").expect("a finding");
    assert!(finding.message.contains("measures 16 m by 3000 mm, 48 m²"), "{}", finding.message);
}

#[test]
fn cover() {
    let lies = |thickness: f64, height: f64| {
        warmed(
            200.0,
            500,
            "timber",
            &USUAL.replace("10 mm cable at 3", &format!("{thickness} mm cable at {height}")),
            OVER_ROOM,
        )
    };
    // A cable of 6 mm in a bed of 8 mm: nothing under it, 2 mm over it.
    border("cover", &lies(8.0, 3.0), &lies(8.0, 3.1));
    border("cover", &lies(8.0, 3.0), &lies(8.0, 2.9));
    border("cover", &lies(8.0, 3.0), &lies(7.9, 3.0));
}

#[test]
fn covering_resistance() {
    // 7 mm of adhesive over the cable's centre are 0.007 m2K/W; with what lies above it 0.15 at the most (EN 1264, by analogy).
    let under = |above: f64, power: f64| {
        let layers = USUAL.replace("tile 10 mm", &format!("mat {above} m2K/W"));
        warmed(power, 500, "concrete", &layers, OVER_ROOM)
    };
    border("covering-resistance", &under(0.143, 100.0), &under(0.144, 100.0));
    // Where the cable gets too hot, `sheath-temperature` says it.
    let hot = under(0.4, 600.0);
    assert!(finds(&hot, "sheath-temperature") && !finds(&hot, "covering-resistance"));
}

#[test]
fn insulation_at_cable() {
    let on = |layers: &str| warmed(100.0, 500, "concrete", layers, OVER_ROOM);
    // The cable is 6 mm across: 2 mm of the bed between it and the insulation, under it or over it.
    let below = |height: f64| {
        on(&format!("tile 10 mm\nadhesive 12 mm cable at {height} mm\ninsulation 20 mm\nconcrete 100 mm"))
    };
    border("insulation-at-cable", &below(5.0), &below(4.9));
    let above = |height: f64| on(&format!("mineral-wool 5 mm\nadhesive 12 mm cable at {height} mm\nconcrete 100 mm"));
    border("insulation-at-cable", &above(7.0), &above(7.1));
    assert!(finds(&on("tile 10 mm\ninsulation 30 mm cable at 15 mm\nconcrete 100 mm"), "insulation-at-cable"));
    // Backer board is made to lie against a cable.
    assert!(!finds(
        &on("tile 10 mm\nadhesive 12 mm cable at 3 mm\nboard 20 mm\nconcrete 100 mm"),
        "insulation-at-cable"
    ));
}

#[test]
fn combustible_floor() {
    // 20 m at 100 mm heat 2 m2.
    let on = |layers: &str, power: f64| {
        let layers = format!("tile 10 mm\nadhesive 10 mm cable at 3 mm\n{layers}");
        warmed(power, 500, "timber", &layers, OVER_ROOM)
    };
    let decoupled = "decoupling 3 mm\nplywood 18 mm\nsoftwood 22 mm";
    border("combustible-floor", &on(decoupled, 200.0), &on(decoupled, 200.1));
    border("combustible-floor", &on("plywood 18 mm", 200.0), &on("plywood 18 mm", 200.1));
    assert!(!finds(&on("board 10 mm\nplywood 18 mm", 300.0), "combustible-floor"));
}

#[test]
fn floor_limit() {
    let held = |covering: &str, limit: &str| {
        let layers = USUAL.replace("tile 10 mm", covering);
        let text = warmed(100.0, 500, "timber", &layers, &format!("{OVER_ROOM}\nsensor s from t (2400, 550)"));
        text.replace("rated 16 A", &format!("rated 16 A {limit}"))
    };
    border("floor-limit", &held("tile 10 mm", "limit 35 degC"), &held("tile 10 mm", "limit 35.1 degC"));
    // 27 degC on timber, cork and the like: common practice. These need one, tiles don't.
    border("floor-limit", &held("cork 6 mm", "limit 27 degC"), &held("cork 6 mm", "limit 27.1 degC"));
    border("floor-limit", &held("tile 10 mm", ""), &held("hardwood 10 mm", ""));
    // The maker's limit comes first.
    let said = |limit: &str| held("top 10 mm flooring", limit).replace("0.2 W/mK", "0.2 W/mK\nsurface-limit 29 degC");
    border("floor-limit", &said("limit 29 degC"), &said("limit 29.1 degC"));
    // Without a sensor nothing is limited.
    assert!(!finds(&held("hardwood 10 mm", "").replace("sensor s from t (2400, 550)", ""), "floor-limit"));
}

#[test]
fn bays_are_neither_long_and_narrow_nor_round_a_corner() {
    let floor = |outline: &str| {
        format!("room r {{\n outline {outline}\n cable a {{\n start (500, 500)\n run east 400\n }}\n}}\n")
    };
    let sides = |length: u32, width: u32| floor(&format!("(0, 0) ({length}, 0) ({length}, {width}) (0, {width})"));
    border("bay-proportion", &sides(7000, 3500), &sides(7000, 3499));
    border("bay-proportion", &sides(6000, 1000), &sides(6001, 1000));
    border("bay-proportion", &sides(8001, 1000), &sides(8000, 1000));
    // 75 % of the rectangle round it: 7.5 m2 of 30 m2 may lack.
    let notched = |notch: u32| {
        floor(&format!("(0, 0) (6000, 0) (6000, 3000) ({}, 3000) ({}, 5000) (0, 5000)", 6000 - notch, 6000 - notch))
    };
    border("bay-corner", &notched(3750), &notched(3752));
    // With a joint from the inner corner each bay is a rectangle.
    let joined = notched(4000).replace(" cable a", " joint j (2000, 3000) (0, 3000)\n cable a");
    assert!(finds(&notched(4000), "bay-corner") && !finds(&joined, "bay-corner"));
}

#[test]
fn doorway_joint() {
    let joint = |away: u32, through: &str| {
        room(&format!(
            "  door d wall 1 from 1000 to 1800 {through}\n  joint j (900, {away}) (1900, {away})\n  cable a {{\n  start (500, 900)\n  run east 900\n  }}"
        ))
    };
    border("doorway-joint", &joint(150, "through"), &joint(151, "through"));
    assert!(!finds(&joint(900, ""), "doorway-joint"));
    // One that ends half way across the doorway doesn't do.
    assert!(finds(&joint(100, "through").replace("(1900, 100)", "(1400, 100)"), "doorway-joint"));
}
