//! The handover: read back by a browser's HTML parser; what the record says, what is blank, words that must stay words.

use std::collections::HashSet;

use layrule::model::Plan;
use scraper::{ElementRef, Html, Selector};

use crate::common::program::Folder;
use crate::common::{handover_page, plan, plan_with_kits, root};

fn all<'h>(page: &'h Html, selector: &str) -> Vec<ElementRef<'h>> {
    page.select(&Selector::parse(selector).expect("a selector")).collect()
}

fn text(element: ElementRef<'_>) -> String {
    element.text().collect::<String>().split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The table under a caption.
fn table<'h>(page: &'h Html, caption: &str) -> ElementRef<'h> {
    let tables = all(page, "table");
    let found = tables
        .into_iter()
        .find(|table| table.select(&Selector::parse("caption").expect("a selector")).any(|own| text(own) == caption));
    found.unwrap_or_else(|| panic!("no table `{caption}`"))
}

fn rows(table: ElementRef<'_>) -> Vec<Vec<String>> {
    let row = Selector::parse("tbody tr").expect("a selector");
    table.select(&row).map(|row| row.child_elements().map(text).collect()).collect()
}

/// What holds of every page. WCAG 2.2: 1.3.1 (structure), 1.1.1 (text for pictures), 2.4.6 and 3.1.1 (headings, language).
fn is_sound(html: &str) -> Html {
    assert!(html.starts_with("<!DOCTYPE html>"), "{}", &html[..60]);
    let page = Html::parse_document(html);
    assert!(page.errors.is_empty(), "{:?}", page.errors);
    assert_eq!(all(&page, "html[lang=en]").len(), 1);
    for barred in ["script", "link", "img", "iframe", "object", "[src]", "[href^=http]", "[onload]", "foreignObject"] {
        assert!(all(&page, barred).is_empty(), "{barred}");
    }
    let mut last = 0;
    for heading in all(&page, "h1, h2, h3, h4") {
        let level = heading.value().name()[1..].parse::<u32>().expect("a level");
        assert!(level <= last + 1, "{} follows a heading of level {last}", text(heading));
        last = level;
    }
    assert_eq!(all(&page, "h1").len(), 1);
    for table in all(&page, "table") {
        let one = |selector: &str| table.select(&Selector::parse(selector).expect("a selector")).count();
        assert_eq!(one("caption"), 1);
        assert_eq!(one("th:not([scope])"), 0);
        let columns = one("thead th[scope=col]");
        for row in rows(table) {
            assert_eq!(row.len(), columns, "{row:?}");
        }
        assert_eq!(one("tbody th[scope=row]"), one("tbody tr"));
    }
    for picture in all(&page, "svg") {
        assert_eq!(picture.value().attr("role"), Some("img"));
        let named: Vec<&str> = picture.child_elements().map(|child| child.value().name()).take(2).collect();
        assert_eq!(named, ["title", "desc"]);
    }
    let mut names = HashSet::new();
    for element in all(&page, "[id]") {
        let name = element.value().attr("id").expect("a name");
        assert!(names.insert(name.to_string()), "two elements are called {name}");
    }
    for element in all(&page, "*") {
        for (_, value) in element.value().attrs() {
            if let Some(name) = value.strip_prefix("url(#").and_then(|rest| rest.strip_suffix(')')) {
                assert!(names.contains(name), "nothing is called {name}");
            }
        }
    }
    let outside = html.match_indices("url(").find(|(at, needle)| !html[at + needle.len()..].starts_with('#'));
    assert_eq!(outside, None, "this leads out of the page");
    let caution = layrule::draw::CAUTIONS.trim();
    assert!(all(&page, "main .warning").iter().any(|own| text(*own) == caution));
    page
}

fn example(name: &str) -> Plan {
    let library = layrule::model::load::Library::new(&layrule::source::Disk, root(), root());
    let path = root().join(format!("examples/{name}.lay"));
    layrule::model::resolve::resolve(library.load(&path, &format!("{name}.lay")).expect("the example is there"))
}

#[test]
fn every_example_has_a_sound_page() {
    for name in ["bathroom", "boot-room", "flat-6", "garden-room", "hall", "loft", "two-bays"] {
        let plan = example(name);
        let html = handover_page(&plan);
        assert_eq!(html, handover_page(&plan), "{name} is another page the second time");
        let page = is_sound(&html);
        assert_eq!(all(&page, "section.room").len(), plan.rooms.len());
        assert_eq!(all(&page, "figure.sheet svg").len(), plan.rooms.len());
        let cables: usize = plan.rooms.iter().map(|room| room.cables.len()).sum();
        assert_eq!(all(&page, "figure.chart svg").len(), cables);
        // Every reading is a mark on the chart.
        let readings: usize = plan.rooms.iter().flat_map(|room| &room.record).map(|record| record.readings.len()).sum();
        assert_eq!(all(&page, "figure.chart [data-ohm]").len(), readings);
    }
}

/// The bathroom's kit: 94 ohm, 5 % less to 10 % more, is 89.3 to 103.4 ohm; tiled on 16 October and 14 days to dry is 30 October.
#[test]
fn a_record_is_shown_with_its_bands_and_its_days() {
    let page = is_sound(&handover_page(&example("bathroom")));
    let readings = rows(table(&page, "Readings of cable a"));
    assert_eq!(readings.len(), 5);
    assert_eq!(
        readings[0],
        [
            "On delivery",
            "2026-10-12",
            "89.3 Ω to 103.4 Ω",
            "95 Ω",
            "1 MΩ or more at 500 V",
            "500 MΩ",
            "500 V",
            "to be filled in",
            "insulation tester no. 2",
            "to be filled in"
        ]
    );
    assert_eq!(readings[4][7], "0.6 Ω");
    assert_eq!(rows(table(&page, "Labels of the kits")), [["a", "W-560", "560-0418", "31-26"]]);
    let rcd = rows(table(&page, "Tests of RCDs"));
    assert_eq!(rcd, [["flat-4", "2026-11-04", "30 mA", "22 ms", "RCD tester no. 1", "to be filled in"]]);
    let sensor = rows(table(&page, "Readings of sensor s"));
    assert_eq!(sensor[0], ["Before tiling", "2026-10-15", "11900 Ω", "insulation tester no. 2", "to be filled in"]);
    assert_eq!(sensor.len(), 2);
    assert!(rows(table(&page, "Built otherwise than drawn"))[0][2].starts_with("the conduit of the sensor"));
    let when = rows(table(&page, "Tiling, drying and switching on"));
    let cells: Vec<&str> = when.iter().map(|row| row[1].as_str()).collect();
    assert_eq!(
        cells,
        ["2026-10-16", "14 days, by the record", "2026-10-30", "2026-11-04", "electrician for flat 4, 2026-11-04"]
    );
    assert_eq!(rows(table(&page, "Schedule of cables"))[0][..6], ["a", "W-560", "55.6 m", "56 m", "61", "80 mm"]);
}

/// What the thermostat's floor limit is set to stands beside what it is rated.
#[test]
fn a_floor_limit_is_handed_over() {
    let lay = include_str!("../../examples/bathroom.lay").replace(" rated 10 A", " rated 10 A limit 29 degC");
    let page = is_sound(&handover_page(&plan_with_kits(&lay)));
    assert_eq!(rows(table(&page, "Thermostats and what they switch"))[0][2], "29 °C");
    let page = is_sound(&handover_page(&example("bathroom")));
    assert!(rows(table(&page, "Thermostats and what they switch"))[0].iter().all(|cell| !cell.contains("°C")));
}

/// The leaflet says in words what lies where, and leaves room for what the plan doesn't know.
#[test]
fn the_leaflet_says_what_lies_where() {
    let page = is_sound(&handover_page(&example("bathroom")));
    let leaflet = rows(table(&page, "What lies in this floor"));
    let said = |what: &str| leaflet.iter().find(|row| row[0] == what).map(|row| row[1].as_str());
    let kit = "heating cable of fixed length with two conductors, 56 m, 560 W at 230 V: 10 W/m cable, 560 W";
    assert_eq!(said("Cable a"), Some(kit));
    assert_eq!(said("Cold joint of cable a"), Some("80 mm from wall 2, 110 mm from wall 1 (“passage wall”)"));
    assert_eq!(said("Junction box j"), Some("100 mm behind wall 1 (“passage wall”), 80 mm from wall 2"));
    assert_eq!(said("Tip of floor sensor s"), Some("280 mm from wall 2, 610 mm from wall 1 (“passage wall”)"));
    let button = "30 mA, type A; press its test button every three months: the floor must go dead";
    assert_eq!(said("RCD of thermostat t"), Some(button));
    assert_eq!(said("Floor limit set on thermostat t"), Some("to be filled in"));
    let words = text(page.root_element());
    assert!(words.contains("Do not drill") && words.contains("beside the distribution board"));
}

/// A reading's height on the chart is where it lies between the edges of the band; one far off is an arrow at the edge of the chart.
#[test]
fn a_chart_is_to_scale() {
    let lay = include_str!("../../examples/bathroom.lay")
        .replace("after-tiling         2026-10-19 cable a 95", "after-tiling         2026-10-19 cable a 9500");
    let page = is_sound(&handover_page(&plan_with_kits(&lay)));
    let number = |element: ElementRef<'_>, name: &str| -> f64 {
        element.value().attr(name).and_then(|text| text.parse().ok()).unwrap_or_else(|| panic!("{name}"))
    };
    let band = all(&page, "figure.chart .band rect")[0];
    let (top, high) = (number(band, "y"), number(band, "height"));
    let dots = all(&page, "figure.chart circle[data-ohm]");
    assert_eq!(dots.len(), 4);
    for dot in dots {
        let share = (number(dot, "data-ohm") - 94.0 * 0.95) / (94.0 * 0.15);
        assert!((number(dot, "cy") - (top + high * (1.0 - share))).abs() < 0.01, "{share}");
    }
    assert_eq!(all(&page, "figure.chart path[data-ohm]").len(), 1);
}

#[test]
fn what_is_not_recorded_is_left_blank() {
    // No record at all: all five stages, to be filled in.
    let page = is_sound(&handover_page(&example("flat-6")));
    let readings = rows(table(&page, "Readings of cable bed"));
    assert_eq!(readings.len(), 5);
    let blank = "to be filled in";
    for row in &readings {
        assert_eq!([&row[1], &row[3], &row[5], &row[6], &row[7], &row[8]], [blank; 6], "{row:?}");
        assert!(row[2].contains("Ω to "), "{row:?}");
    }
    // A record half-filled: two stages read, the others blank.
    let page = is_sound(&handover_page(&example("two-bays")));
    let readings = rows(table(&page, "Readings of cable west"));
    let dates: Vec<&str> = readings.iter().map(|row| row[1].as_str()).collect();
    assert_eq!(dates, ["2026-11-19", "2026-11-23", blank, blank, blank]);
    assert_eq!(rows(table(&page, "Tiling, drying and switching on"))[2][1], blank);
    for row in rows(table(&page, "Names and signatures")) {
        assert_eq!(row[1..], [blank; 3]);
    }
}

#[test]
fn a_reading_beyond_its_band_is_said_to_be() {
    let lay = std::fs::read_to_string(root().join("examples/faults/resistance-reading.lay")).expect("the example");
    let library = layrule::model::load::Library::new(&layrule::source::Disk, root(), root());
    let plan = layrule::model::resolve::resolve(library.load_text(&root().join("examples/faults/x.lay"), "x.lay", lay));
    let page = is_sound(&handover_page(&plan));
    assert!(all(&page, "td").iter().any(|cell| text(*cell).ends_with(", not as expected")));
    let found = rows(table(&page, "Open findings"));
    assert!(found.iter().any(|row| row[2] == "resistance-reading"), "{found:?}");
    assert!(all(&page, "figure.sheet .finding-number").len() >= found.len());
}

fn tested(resistance: f64, voltage: f64) -> layrule::model::InsulationTest {
    layrule::model::InsulationTest { resistance: Some(resistance), over: false, voltage: Some(voltage) }
}

#[test]
fn an_insulation_reading_that_falls_short_is_said_to_be() {
    let plan = example("bathroom");
    let mut short = plan.clone();
    let record = short.rooms[0].record.as_mut().expect("a record");
    // Half a megohm, and a test at 100 V.
    record.readings[0].insulation = Some(tested(0.5e6, 500.0));
    record.readings[1].insulation = Some(tested(500e6, 100.0));
    let rows = rows(table(&is_sound(&handover_page(&short)), "Readings of cable a"));
    assert_eq!([rows[0][5].as_str(), rows[0][6].as_str()], ["0.5 MΩ, not as expected", "500 V"]);
    assert_eq!([rows[1][5].as_str(), rows[1][6].as_str()], ["500 MΩ", "100 V, not as expected"]);
}

/// What the record of a plan that was built otherwise holds, by hand from its text.
#[test]
fn what_was_built_is_listed() {
    let page = is_sound(&handover_page(&example("as-built/bathroom")));
    let noted = rows(table(&page, "Built otherwise than drawn"));
    assert_eq!(
        noted[1],
        ["2", "2026-10-14", "run 33 is laid 15 mm nearer to run 31, off a stone", "(1255, 1200)", "stone.jpg"]
    );
    assert_eq!(rows(table(&page, "Photographs")), [["3", "2026-10-14", "all-runs.jpg", "–"]]);
    let readings = rows(table(&page, "Readings of cable a"));
    assert_eq!(readings[1][8..], ["insulation tester no. 2, serial 20-118", "electrician for flat 4"]);
    let list = rows(table(&page, "Checklist"));
    let said: Vec<(&str, &str)> = list.iter().map(|row| (row[0].as_str(), row[1].as_str())).collect();
    assert_eq!(
        said,
        [
            ("Surface primed", "2026-10-13"),
            ("Cable photographed before it was covered", "stone.jpg, all-runs.jpg"),
            ("Positions of joints and ends noted", "cable a: (2520, 110) and (120, 2100)"),
            (
                "Resistance and insulation of every cable read",
                "on delivery, laid, not covered, before tiling, after tiling, before switching on"
            ),
            ("Screen of every cable read", "cable a: 2026-11-04"),
            ("Floor sensor read before and after tiling", "sensor s: 2026-10-15, 2026-10-19"),
            ("RCD tested", "flat-4: 2026-11-04"),
            ("Serial numbers of the kits noted", "cable a"),
            ("First switched on", "2026-11-04"),
            ("Record signed", "electrician for flat 4, 2026-11-04"),
        ]
    );
    assert!(list.iter().all(|row| row[2] == "to be filled in"));
    // Before the work all but where the joints are drawn is blank.
    let bare =
        include_str!("../../examples/bathroom.lay").split("  record {").next().expect("a plan").to_string() + "}\n";
    let page = is_sound(&handover_page(&plan_with_kits(&bare)));
    let blank = rows(table(&page, "Checklist"));
    let filled: Vec<&str> = blank.iter().filter(|row| row[1] != "to be filled in").map(|row| row[0].as_str()).collect();
    assert_eq!(filled, ["Positions of joints and ends noted"]);
}

/// On a phone rows are cards: each cell says which column it is of; drawings are enlarged by links alone, and back.
#[test]
fn cells_know_their_columns_and_links_lead_somewhere() {
    let page = is_sound(&handover_page(&example("flat-6")));
    for table in all(&page, "table") {
        let columns: Vec<String> = table.select(&Selector::parse("thead th").expect("a selector")).map(text).collect();
        for row in table.select(&Selector::parse("tbody tr").expect("a selector")) {
            let cells =
                row.child_elements().skip(1).map(|cell| cell.value().attr("data-label").expect("a label").to_string());
            assert_eq!(cells.collect::<Vec<_>>(), columns[1..]);
        }
    }
    let links = all(&page, "a");
    assert_eq!(links.len(), 2 * all(&page, "figure").len());
    for link in links {
        let name = link.value().attr("href").and_then(|href| href.strip_prefix('#')).expect("a place of the page");
        assert_eq!(all(&page, &format!("[id='{name}']")).len(), 1, "nothing is called {name}");
    }
}

/// The running title of printed pages is a string of CSS whatever it holds (CSS Syntax Level 3, 4.3.5: a backslash and a number for a character).
#[test]
fn the_running_title_stays_a_string() {
    let hostile = "\\'}</style><b>;*{color:red}";
    let lay = format!("room r \"{hostile}\" {{\n outline (0, 0) (2000, 0) (2000, 2000) (0, 2000)\n}}\n");
    let page = is_sound(&handover_page(&plan(&lay)));
    let style = text(all(&page, "style")[0]);
    assert_eq!(all(&page, "style").len(), 1);
    let head = style.split("@top-left { content: \"").nth(1).and_then(|rest| rest.split('"').next()).expect("a head");
    assert_eq!(
        head,
        "Handover of floor heating\\3a \\5c \\27 \\7d \\3c \\2f style\\3e \\3c b\\3e \\3b \\2a \\7b color\\3a red\\7d "
    );
    assert!(style.contains("\"Page \" counter(page) \" of \" counter(pages)"));
}

#[test]
fn agreed_deviations_are_listed_with_their_reasons() {
    let page = is_sound(&handover_page(&example("garden-room")));
    let agreed = rows(table(&page, "Deviations agreed to"));
    let sill = agreed.iter().find(|row| row[1] == "doorway").expect("its row");
    assert!(sill[5].starts_with("sill is bonded to the slab"), "{agreed:?}");
}

/// Whatever a plan says is text.
#[test]
fn no_word_of_a_plan_is_markup() {
    let hostile = "</script><script>alert(1)</script><svg onload=alert(1)>'&amp;";
    let lay = include_str!("../../examples/bathroom.lay")
        .replace(
            "use \"kits.lay\"",
            &format!("kit W-560 \"{hostile}\" {{\n output 560 W at 230 V\n length 56 m\n resistance 94 ohm\n}}"),
        )
        .replace("\"Bathroom\"", &format!("\"{hostile}\""))
        .replace("insulation tester no. 2", hostile)
        .replace("electrician for flat 4", hostile)
        .replace("\"river wall\"", &format!("\"{hostile}\""))
        .replace("  inside     24 degC", &format!("  deviation spacing \"{hostile}\"\n  inside     24 degC"));
    let plan = plan(&lay);
    assert!(plan.faults.is_empty(), "{:#?}", plan.faults);
    let page = is_sound(&handover_page(&plan));
    assert_eq!(text(all(&page, "h2#room-1")[0]), hostile);
    assert_eq!(rows(table(&page, "Readings of cable a"))[0][8], hostile);
    assert!(rows(table(&page, "Tiling, drying and switching on"))[4][1].starts_with(hostile));
    assert_eq!(all(&page, "title").iter().filter(|title| text(**title).ends_with(hostile)).count(), 2);
}

#[test]
fn odd_plans_have_a_page_too() {
    let long = "x".repeat(500);
    for lay in [
        "room e {\n outline (0, 0) (2000, 0) (2000, 2000) (0, 2000)\n}\n".to_string(),
        format!("room r \"{long}\" {{\n outline (0, 0) (200 m, 0) (200 m, 200 m) (0, 200 m)\n cable a {{\n start (100, 100)\n run east 100 m\n }}\n}}\n"),
        "room a {\n outline (0, 0) (900, 0) (900, 900 (0, 900)\n}\nroom b {\n outline (0, 0) (900, 0) (900, 900) (0, 900)\n loops\n record {\n laid 2026-11-25 cable z 4 ohm\n }\n}\n".into(),
        String::new(),
        "room r {\n outline (0, 0) (2000, 0) (2000, 2000) (0, 2000)\n cable a {\n start (100, 100)\n run east 900\n }\n record {\n delivered 2026-11-25 cable a 1000000 ohm\n tiled 9999-12-31\n }\n}\n".into(),
    ] {
        is_sound(&handover_page(&plan(&lay)));
    }
}

#[test]
fn the_command_writes_it_whole_or_not_at_all() {
    let plan = include_str!("../../examples/boot-room.lay");
    let folder = Folder::new(&[
        ("p.lay", plan),
        ("kits.lay", include_str!("../../examples/kits.lay")),
        ("bad.lay", "room r {\n outline (0, 0) (900, 0) (900, 900) (0, 900)\n cable\n}\n"),
    ]);
    let (code, out, said) = folder.run(&["handover", "p.lay", "--date", "2026-11-25"]);
    assert_eq!((code, said.as_str()), (0, ""));
    is_sound(&out);
    let (code, nothing, _) = folder.run(&["handover", "p.lay", "--date", "2026-11-25", "-o", "p.html"]);
    assert_eq!((code, nothing.as_str()), (0, ""));
    assert_eq!(std::fs::read_to_string(folder.path("p.html")).expect("a file"), out);
    for arguments in [
        &["handover", "p.lay", "-o", "gone/p.html"][..],
        &["handover", "p.lay", "-o", "p.lay"],
        &["handover", "gone.lay", "-o", "new.html"],
        &["handover", "p.lay", "--rules", "gone.rule"],
        &["handover", "p.lay", "--date", "soon"],
    ] {
        let (code, out, said) = folder.run(arguments);
        assert_eq!((code, out.as_str()), (2, ""), "{arguments:?}: {said}");
    }
    assert!(!folder.path("new.html").exists());
    assert_eq!(std::fs::read_to_string(folder.path("p.lay")).expect("a file"), plan);
    let (code, out, said) = folder.run(&["handover", "bad.lay"]);
    assert_eq!(code, 1);
    assert!(said.contains("bad.lay:3"), "{said}");
    assert!(out.contains("could not be read whole"));
    is_sound(&out);
}

#[test]
fn one_room_has_a_page_of_its_own() {
    let plan = include_str!("../../examples/flat-6.lay");
    let folder = Folder::new(&[("flat.lay", plan), ("kits.lay", include_str!("../../examples/kits.lay"))]);
    let rule = "rule named {\n  about \"A room\"\n  severity note\n  basis practice\n  check room in rooms\n  message \"{room} is here\"\n}\n";
    std::fs::write(folder.path("named.rule"), rule).expect("a file");
    let page = |arguments: &[&str]| {
        let (code, out, said) = folder.run(&[&["handover", "flat.lay", "--rules", "named.rule"], arguments].concat());
        assert_eq!((code, said.as_str()), (0, ""));
        is_sound(&out)
    };
    let (all, one) = (page(&[]), page(&["--room", "shower-room"]));
    let found = |page: &Html| rows(table(page, "Open findings")).len();
    assert_eq!((found(&all), found(&one)), (2, 1));
    let drawings = |page: &Html| page.select(&Selector::parse("figure svg").expect("a selector")).count();
    assert!(drawings(&one) < drawings(&all) && drawings(&one) > 0);
    let words = text(one.root_element());
    assert!(words.contains("Shower room") && !words.contains("Bedroom"), "{words}");
}
