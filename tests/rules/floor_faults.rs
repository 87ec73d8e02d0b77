//! What a floor can't be, and what of it can't be told: each in words that say where, what and what to do.

use layrule::finding::Finding;

use crate::common::check;

/// A plan with a floor of these layers and one cable, of the kit lines given.
fn floor(layers: &str, kit: &str, rest: &str) -> String {
    format!(
        "kit k {{\n  output 200 W at 230 V\n  length 20 m\n{kit}\n}}\nroom r {{\n  outline (0, 0) (4000, 0) (4000, 3000) (0, 3000)\n\
         floor concrete {{\n{layers}\n}}\n{rest}\ncable a {{\nkit k\nstart (500, 500)\nloops 4 of 2500 east, stepping 100 north\n}}\n}}\n"
    )
}

const REST: &str = "inside 20 degC\nbelow room 18 degC\nheat-loss 100 W";

/// That a floor of these layers is refused, by a finding of that name at just that text.
fn refused(layers: &str, name: &str, message: &str, at: &str) {
    let text = floor(layers, "diameter 6 mm", REST);
    let report = check(&text);
    let of = |finding: &&Finding| &*finding.rule == name && finding.message.contains(message);
    let found = report.findings.iter().find(of).unwrap_or_else(|| panic!("{:#?}", report.findings));
    assert_eq!(&text[found.marks[0].place.span.range()], at, "{found:#?}");
    // Whatever needs the floor is then not checked, rather than passed.
    assert!(
        report.unchecked.iter().any(|unchecked| &*unchecked.rule == "sheath-temperature"),
        "{:#?}",
        report.unchecked
    );
}

#[test]
fn layers_that_cannot_be_are_refused() {
    let bed = "adhesive 10 mm cable at 3 mm";
    refused(&format!("tile 0 mm\n{bed}"), "quantity", "must be more than nothing", "0 mm");
    refused(&format!("tile -5 mm\n{bed}"), "quantity", "must be more than nothing", "-5 mm");
    refused("tile 10 mm\nadhesive 10 mm cable at 11 mm", "plan", "the cable lies above layer `adhesive`", "11 mm");
    refused("tile 10 mm\nadhesive 10 mm cable at -1 mm", "quantity", "can't be less than nothing", "-1 mm");
    refused(&format!("{bed}\ncavity 0 m2K/W"), "quantity", "must be more than nothing", "0 m2K/W");
    refused(&format!("{bed}\ncavity -0.2 m2K/W"), "quantity", "must be more than nothing", "-0.2 m2K/W");
    refused(&format!("{bed}\ncavity 101 m2K/W"), "quantity", "resists heat like this", "101 m2K/W");
    refused("rug 0.2 m2K/W cable at 3 mm", "plan", "has no thickness for a cable in it", "3 mm");
    refused(
        "tile 10 mm gold-leaf\nadhesive 10 mm cable at 3 mm",
        "name",
        "no material is called `gold-leaf`",
        "gold-leaf",
    );
    let many = |count: usize| format!("{}{bed}", "tile 1 mm\n".repeat(count - 1));
    refused(&many(31), "plan", "more than 30 layers", "floor concrete");
    assert!(check(&floor(&many(30), "diameter 6 mm", REST)).findings.iter().all(|finding| &*finding.rule != "plan"));
}

#[test]
fn materials_that_cannot_be_are_refused() {
    for (line, name, message) in [
        ("conductivity 0 W/mK", "quantity", "must be more than nothing"),
        ("conductivity 501 W/mK", "quantity", "no material conducts heat like this"),
        ("conductivity 0.0009 W/mK", "quantity", "no material conducts heat like this"),
        ("kind timber", "plan", "gives no conductivity"),
        ("conductivity 1 W/mK\n  kind timber\n  kind tile", "plan", "the kind is given twice"),
        ("conductivity 1 W/mK\n  conductivity 2 W/mK", "plan", "the conductivity is given twice"),
        ("conductivity 1 W/mK\n  surface-limit 27 W", "quantity", "a temperature is needed here"),
        ("conductivity 1 W/mK\n  kind wood", "syntax", "wood"),
    ] {
        let report = check(&format!("material m {{\n  {line}\n}}\n"));
        let found = |finding: &Finding| &*finding.rule == name && format!("{finding:?}").contains(message);
        assert!(report.findings.iter().any(found), "{line}: {:#?}", report.findings);
        assert_eq!(report.findings.len(), 1, "{line}: {:#?}", report.findings);
    }
}

#[test]
fn what_lies_below_is_given_once_and_in_words_it_knows() {
    let bed = "adhesive 10 mm cable at 3 mm";
    for (rest, name, message) in [
        ("below room 18 degC\nbelow ground 10 degC", "plan", "what lies below is given twice"),
        ("below room 18 mm", "quantity", "a temperature is needed here"),
        ("below room -300 degC", "quantity", "nothing is as cold as this"),
        ("below sky 10 degC", "syntax", "`room` or `ground`"),
    ] {
        let report = check(&floor(bed, "diameter 6 mm", rest));
        let found = |finding: &Finding| &*finding.rule == name && format!("{finding:?}").contains(message);
        assert!(report.findings.iter().any(found), "{rest}: {:#?}", report.findings);
    }
}

#[test]
fn what_a_plan_does_not_say_is_not_checked_and_said_so() {
    let bed = "tile 10 mm\nadhesive 10 mm cable at 3 mm\nboard 10 mm\nconcrete 150 mm";
    let loose = bed.replace(" cable at 3 mm", "");
    // Its centre on the edge of its layer: the series doesn't settle.
    let edge = bed.replace("at 3 mm", "at 0 mm");
    for (layers, kit, rest, rule, reason) in [
        (
            bed,
            "diameter 6 mm",
            REST.replace("below room 18 degC\n", ""),
            "downward-loss",
            "room `r` doesn't say what lies below its floor",
        ),
        (
            bed,
            "diameter 6 mm",
            REST.replace("inside 20 degC\n", ""),
            "heat-demand",
            "room `r` gives no inside temperature",
        ),
        (bed, "", REST.into(), "sheath-temperature", "kit `k` gives no diameter"),
        (
            &*loose,
            "diameter 6 mm",
            REST.into(),
            "even-warmth",
            "the floor of room `r` doesn't say where the cable lies",
        ),
        (
            &*edge,
            "diameter 6 mm",
            REST.into(),
            "even-warmth",
            "the cable's centre lies too near to the edge of its layer",
        ),
    ] {
        let report = check(&floor(layers, kit, &rest));
        let told =
            report.unchecked.iter().any(|unchecked| &*unchecked.rule == rule && unchecked.reason.contains(reason));
        assert!(told, "{rule}, {reason}: {:#?}", report.unchecked);
        assert!(report.findings.iter().all(|finding| &*finding.rule != rule), "{:#?}", report.findings);
    }
    // What doesn't depend on the diameter is held to all the same.
    let report = check(&floor(bed, "", REST));
    assert!(report.unchecked.iter().all(|unchecked| &*unchecked.rule != "even-warmth"), "{:#?}", report.unchecked);
    // A room without a floor: not checked, by every rule that needs one.
    let bare = floor(bed, "diameter 6 mm", REST).replace(&format!("floor concrete {{\n{bed}\n}}\n"), "");
    let report = check(&bare);
    for rule in [
        "power-density",
        "surface-temperature",
        "sheath-temperature",
        "even-warmth",
        "downward-loss",
        "heat-demand",
        "overboarding",
        "insulation",
        "cover",
    ] {
        assert!(report.unchecked.iter().any(|unchecked| &*unchecked.rule == rule), "{rule}: {:#?}", report.unchecked);
    }
}

/// Thousands of cables whose series hardly settle cost no more than a room's share.
#[test]
fn a_room_made_to_be_slow_is_bounded() {
    let mut text = String::from(
        "kit k {\n  output 200 W at 230 V\n  length 20 m\n  diameter 1 mm\n}\nroom r {\n  outline (0, 0) (900000, 0) (900000, 900000) (0, 900000)\n  inside 20 degC\n  below room 18 degC\n  heat-loss 100 W\n  floor concrete {\n",
    );
    text += &"    tile 1 mm\n".repeat(29);
    text += "    adhesive 10 mm cable at 9.9 mm\n  }\n";
    for cable in 0..1500 {
        text += &format!(
            "  cable c{cable} {{\n    kit k\n    start (100, {})\n    loops 2 of 2500 east, stepping {} north\n  }}\n",
            100 + 500 * cable,
            200.0 + f64::from(cable) / 1e2
        );
    }
    text += "}\n";
    let report = check(&text);
    assert!(
        report.unchecked.iter().any(|unchecked| unchecked.reason.contains("takes too many steps")),
        "{:#?}",
        report.unchecked
    );
}
