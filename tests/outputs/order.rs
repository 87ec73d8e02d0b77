//! Order lists: what many plans take, against the take-offs of each by itself.

use std::collections::BTreeMap;

use serde_json::Value as Json;

use crate::common::program::Folder;

/// What stands under a header in each row of a table of comma-separated values, as an independent reader has it.
fn rows(bytes: &str) -> Vec<BTreeMap<String, String>> {
    csv::Reader::from_reader(bytes.as_bytes()).deserialize().map(|row| row.expect("a row")).collect()
}

const SHARED: &str = "kit K { output 240 W at 230 V\n length 24 m\n diameter 6 mm\n tail 3 m\n}\n";

fn room(name: &str, kit: &str, sensors: usize) -> String {
    let sensors: String =
        (0..sensors).map(|n| format!(" sensor s{n} from t (1900, {}) lead 3 m\n", 650 + 100 * n)).collect();
    format!(
        "use \"kits.lay\"\nroom {name} {{\n outline (0, 0) (2400, 0) (2400, 1400) (0, 1400)\n floor concrete {{\n tile 10 mm porcelain\n adhesive 8 mm cable at 3 mm\n }}\n \
         junction j (2400, 100) height 300\n thermostat t (2400, 650) height 1200 rated 10 A\n cable a {{\n {kit}\n start (400, 100)\n loops 12 of 1900 east, stepping 100 north\n }}\n{sensors}}}\n"
    )
}

fn house() -> Folder {
    let other = SHARED.replace("24 m", "30 m").replace("240 W", "300 W");
    Folder::new(&[
        ("ground/kits.lay", SHARED),
        ("ground/bath.lay", &room("bath", "kit K", 1)),
        ("ground/hall.lay", &room("hall", "kit K", 2)),
        ("upper/kits.lay", &other),
        ("upper/bath.lay", &room("bath", "kit K", 0)),
    ])
}

/// Each sum worked by hand: two kits of 24 m and one of 30 m that bears their name; three thermostats; of three conduits each 1200 mm of wall, and
/// 500 mm of floor but for one of 500 by 100 mm; thrice 2400 by 1400 mm of tile.
#[test]
fn rooms_are_ordered_for_together() {
    let folder = house();
    let (code, text, said) = folder.run(&["measure", ".", "--total"]);
    assert_eq!((code, said.as_str()), (0, ""), "{text}");
    let sum: Vec<&str> =
        text.lines().skip_while(|line| *line != "in sum").take_while(|line| !line.is_empty()).collect();
    let has = |name: &str, amounts: &str| {
        let line = sum.iter().find(|line| line.trim_start().starts_with(name));
        let line = line.unwrap_or_else(|| panic!("no {name}: {text}"));
        assert!(line.ends_with(amounts), "{line}");
    };
    has("kit K, 24 m", "count 2, cable length 48 m, cold tails 6 m");
    has("kit K, 30 m", "count 1, cable length 30 m, cold tails 3 m");
    has("thermostat, 10 A", "number 3");
    has("floor sensor on 3 m of cable", "number 3, conduit length 5.11 m");
    has("tile, 10 mm", "layer area 10.1 m², volume 100.8 l");
    let rooms: Vec<&str> = text.lines().filter(|line| line.contains(".lay: ")).collect();
    assert_eq!(rooms, ["./ground/bath.lay: bath", "./ground/hall.lay: hall", "./upper/bath.lay: bath"]);
    assert!(text.starts_with("order list: 3 plans, 3 rooms\n"));
}

/// The list's sums are those of the take-offs of each plan, which have their own tests.
#[test]
fn sums_are_those_of_the_take_offs() {
    let folder = house();
    let mut apart: BTreeMap<(String, String), f64> = BTreeMap::new();
    for file in ["ground/bath.lay", "ground/hall.lay", "upper/bath.lay"] {
        let (_, out, _) = folder.run(&["measure", file, "--output", "csv"]);
        for row in rows(&out) {
            let of = (row["kind"].clone(), row["figure"].clone());
            *apart.entry(of).or_default() += row["value"].parse::<f64>().unwrap_or(0.0);
        }
    }
    let (_, out, _) = folder.run(&["measure", "ground", "upper", "--total", "--output", "csv"]);
    let mut together: BTreeMap<(String, String), f64> = BTreeMap::new();
    let mut by_room = 0.0;
    for row in rows(&out) {
        let value: f64 = row["value"].parse().expect("a number");
        if row["file"].is_empty() {
            *together.entry((row["kind"].clone(), row["figure"].clone())).or_default() += value;
        } else {
            by_room += value;
        }
    }
    let own = together.iter().filter(|((_, figure), _)| figure != "number");
    assert!(own.clone().count() >= 7, "{together:?}");
    for (of, sum) in own {
        assert!((sum - apart[of]).abs() < 1e-3, "{of:?}: {sum} and {}", apart[of]);
    }
    assert!((together.values().sum::<f64>() - by_room).abs() < 1e-3);
}

#[test]
fn outputs_of_the_list_say_the_same() {
    let folder = house();
    let schema: Json = serde_json::from_str(include_str!("../../grammar/order.schema.json")).expect("JSON");
    let schema = jsonschema::validator_for(&schema).expect("a schema");
    let (_, out, _) = folder.run(&["measure", ".", "--total", "--output", "json"]);
    let json: Json = serde_json::from_str(&out).expect("JSON");
    let faults: Vec<String> = schema.iter_errors(&json).map(|error| error.to_string()).collect();
    assert!(faults.is_empty(), "{faults:#?}");
    let (_, table, _) = folder.run(&["measure", ".", "--total", "--output", "csv"]);
    let table = rows(&table);
    let sums: Vec<f64> =
        table.iter().filter(|row| row["file"].is_empty()).map(|row| row["value"].parse().expect("a number")).collect();
    let figures =
        json["items"].as_array().expect("items").iter().flat_map(|item| item["figures"].as_array().expect("figures"));
    let read: Vec<f64> = figures.map(|figure| figure["sum"].as_f64().expect("a sum")).collect();
    assert_eq!(sums, read);
    let (_, page, _) = folder.run(&["measure", ".", "--total", "--output", "markdown"]);
    assert!(page.contains("| kit K, 24 m | count 2, cable length 48 m, cold tails 6 m |"), "{page}");
    let (_, kits, _) = folder.run(&["measure", ".", "--total", "--part", "kit"]);
    assert!(kits.contains("kit K") && !kits.contains("tile"), "{kits}");
}

#[test]
fn what_is_not_told_is_said_and_a_list_is_whole_or_none() {
    let folder = house();
    std::fs::write(folder.path("upper/hall.lay"), room("hall", "", 0)).expect("written");
    std::fs::write(folder.path("upper/odd.lay"), "room \"=1+1\" {\n").expect("written");
    let (code, text, said) = folder.run(&["measure", "upper", "--total"]);
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("odd.lay") && text.contains("Not all of every plan could be read"), "{text}");
    assert!(text.contains("kit K, 30 m") && text.contains("count 1"), "{text}");
    for (arguments, says) in [
        (&["measure", "upper"][..], "`--total` reckons"),
        (&["measure", "ground/bath.lay", "upper/bath.lay"], "`--total` reckons"),
        (&["measure", "ground", "gone.lay", "--total"], "gone.lay"),
        (&["measure", "ground", "--total", "--output", "csv=ground/bath.lay"], "never written over"),
        (&["measure", "ground", "--total", "--room", "bath"], "--room"),
    ] {
        let (code, out, said) = folder.run(arguments);
        assert_eq!((code, out.as_str()), (2, ""), "{arguments:?}: {said}");
        assert!(said.contains(says), "{said}");
    }
}
