//! Sheets: scales, paper, the title block, north, laying tables, tiles.

use std::path::Path;

use layrule::measure::plan::Measured;
use layrule::model::length::laid_length;
use layrule::model::load::Library;
use layrule::model::resolve::resolve;
use layrule::source::Disk;
use roxmltree::Document;

use crate::common::program::layrule;
use crate::common::root;

fn run(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    let output = layrule(folder, arguments).output().expect("the program runs");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
    (output.status.code().expect("a code"), text(output.stdout), text(output.stderr))
}

/// What a field of the title block says.
fn field(svg: &str, name: &str) -> String {
    let document = Document::parse(svg).expect("XML");
    let field = document.descendants().find(|node| node.attribute("data-field") == Some(name));
    field.and_then(|node| node.text()).map(str::trim).unwrap_or_default().to_string()
}

const ROOM: &str = "room r \"Porch\" {\n outline (0, 0) (2000, 0) (2000, 1500) (0, 1500)\n}\n";

#[test]
fn scales_are_those_of_the_standard_unless_asked_for() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("r.lay"), ROOM).expect("a file");
    let scale =
        |arguments: &[&str]| field(&run(folder.path(), &[&["draw", "r.lay"], arguments].concat()).1, "scale, paper");
    // ISO 5455: 1:20, 1:50, 1:100.
    assert_eq!(scale(&[]), "1:20, A4");
    assert_eq!(scale(&["--scale", "1:25"]), "1:25, A4");
    assert_eq!(scale(&["--scale", "30"]), "1:30, A4");
    // 2000 mm at 1:5 are 400 mm: more than A3 has beside its panel, less than A2.
    assert_eq!(scale(&["--scale", "1:5"]), "1:5, A2");
    let (code, _, said) = run(folder.path(), &["draw", "r.lay", "--scale", "1:2"]);
    assert!(code == 2 && said.contains("has no room on A2 at 1:2"), "{said}");
    let (code, _, said) = run(folder.path(), &["draw", "r.lay", "--scale", "1:40"]);
    assert!(code == 2 && said.contains("1:25 or 1:30"), "{said}");
}

#[test]
fn the_title_block_says_what_the_plan_says_and_no_path() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::create_dir(folder.path().join("deep")).expect("a folder");
    let office = "drawing {\n owner \"Harrow Mill Residents\"\n number \"HM-1\"\n}\n";
    let plan = format!(
        "use \"office.lay\"\nnorth 30 deg\ndrawing {{\n number \"HM-7\"\n revision \"B\"\n address \"Third floor\"\n \
         drawn \"R. Ansell\" 2026-10-02\n checked \"J. Pryor\"\n approved \"M. Tarn\" 2026-10-05\n}}\n{ROOM}"
    );
    std::fs::write(folder.path().join("deep/office.lay"), office).expect("a file");
    std::fs::write(folder.path().join("deep/r.lay"), plan).expect("a file");
    let path = folder.path().join("deep/r.lay");
    let (code, svg, said) = run(folder.path(), &["draw", path.to_str().expect("a path"), "--date", "2026-11-25"]);
    assert_eq!(code, 0, "{said}");
    let said: Vec<String> =
        ["owner", "address", "drawing number", "revision", "drawn", "checked", "approved", "date", "title"]
            .map(|name| field(&svg, name))
            .to_vec();
    // The plan's own number goes before that of the file it uses.
    assert_eq!(
        said,
        [
            "Harrow Mill Residents",
            "Third floor",
            "HM-7",
            "B",
            "R. Ansell, 2026-10-02",
            "J. Pryor",
            "M. Tarn, 2026-10-05",
            "2026-11-25",
            "Porch"
        ]
    );
    assert_eq!(field(&svg, "plan, drawn with layrule"), "r.lay");
    let place = folder.path().to_str().expect("a path");
    assert!(!svg.contains(place) && !svg.contains("deep"), "no place on a machine");
    let document = Document::parse(&svg).expect("XML");
    let north = document.descendants().find(|node| node.attribute("class") == Some("north")).expect("an arrow");
    assert_eq!(north.attribute("data-degrees"), Some("30"));
    let words: Vec<&str> = north
        .descendants()
        .filter(|node| node.is_text())
        .filter_map(|node| node.text())
        .map(str::trim)
        .filter(|text| !text.is_empty())
        .collect();
    assert_eq!(words, ["N"]);
}

/// Where the plan doesn't say how the building lies, its own north is called that.
#[test]
fn the_plans_own_north_is_called_so() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("r.lay"), ROOM).expect("a file");
    let svg = run(folder.path(), &["draw", "r.lay"]).1;
    assert!(svg.contains(">plan<") || svg.contains("plan\n"), "{svg}");
    assert!(!svg.contains("data-degrees"));
}

/// Lettering is 1.8 mm high at the least (ISO 3098-1); capitals of the font are 0.714 of its size.
#[test]
fn no_lettering_is_smaller_than_the_standard_has() {
    for name in ["boot-room", "loft", "bathroom"] {
        let path = root().join(format!("examples/{name}.lay"));
        let svg = run(&root(), &["draw", path.to_str().expect("a path"), "--heat"]).1;
        let document = Document::parse(&svg).expect("XML");
        for text in document.descendants().filter(|node| node.has_tag_name("text")) {
            let size: f64 = text.attribute("font-size").expect("a size").parse().expect("a number");
            assert!(size * 0.714 >= 1.8, "{name}: {:?} is {size}", text.text());
        }
    }
}

#[test]
fn the_laying_table_has_every_run_and_ends_with_what_is_laid() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = root().join("examples/boot-room.lay");
    let (code, _, said) =
        run(folder.path(), &["draw", path.to_str().expect("a path"), "--laying-table", "-o", "b.svg"]);
    assert_eq!(code, 0, "{said}");
    let table = std::fs::read_to_string(folder.path().join("b.laying-table.svg")).expect("a sheet of its own");
    assert_eq!(field(&table, "sheet"), "2 of 2");
    assert_eq!(field(&std::fs::read_to_string(folder.path().join("b.svg")).expect("it"), "sheet"), "1 of 2");
    let document = Document::parse(&table).expect("XML");
    let rows: Vec<Vec<String>> = document
        .descendants()
        .filter(|node| node.attribute("class") == Some("run"))
        .map(|row| {
            let cells = row.descendants().filter(|node| node.has_tag_name("text")).filter_map(|node| node.text());
            cells.map(|text| text.trim().to_string()).collect()
        })
        .collect();
    let library = Library::new(&Disk, root(), root());
    let measured = Measured::new(resolve(library.load(&path, "boot-room.lay").expect("a plan")));
    let cable = &measured.plan().rooms[0].cables[0];
    assert_eq!(rows.len(), cable.runs.len());
    // As written: 3400 less 74 on both sides, westward; then a step north by the pitch.
    assert_eq!(rows[0][..3], ["1", "west", "3252"]);
    assert_eq!(rows[1][..3], ["2", "north", "110"]);
    let radius = measured.plan().kits[cable.kit.expect("a kit")].bend_radius.expect("a radius");
    assert_eq!(rows[rows.len() - 1][3], format!("{:.2}", laid_length(&cable.runs, radius) / 1e3));
}

/// Tiles are of A4, overlap, and together show all of the larger sheet.
#[test]
fn tiles_show_the_whole_sheet_and_overlap() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = root().join("examples/loft.lay");
    let (code, _, said) = run(folder.path(), &["draw", path.to_str().expect("a path"), "--tile", "-o", "l.svg"]);
    assert_eq!(code, 0, "{said}");
    let mut windows: Vec<[f64; 4]> = Vec::new();
    for number in 1.. {
        let Ok(svg) = std::fs::read_to_string(folder.path().join(format!("l.tile-{number}.svg"))) else { break };
        let document = Document::parse(&svg).expect("XML");
        let sides =
            ["width", "height"].map(|side| document.root_element().attribute(side).expect("a side").to_string());
        assert!([["210mm", "297mm"], ["297mm", "210mm"]].iter().any(|page| sides == *page), "{sides:?}");
        let window = document.root_element().children().find(|node| node.has_tag_name("svg")).expect("a window");
        let view = window.attribute("viewBox").expect("it");
        let view: Vec<f64> = view.split(' ').map(|figure| figure.parse().expect("a number")).collect();
        // A millimetre stays a millimetre.
        let side = |name: &str| window.attribute(name).expect("a side").parse::<f64>().expect("a number");
        assert!(view[2] == side("width") && view[3] == side("height"), "{view:?}");
        assert!(svg.contains("overlap-marks"));
        windows.push([view[0], view[1], view[0] + view[2], view[1] + view[3]]);
    }
    assert!(windows.len() > 3, "{}", windows.len());
    // Every place of A2's frame (20 mm and 10 mm in from its edges) stands on a tile, and those 5 mm beside a seam on two.
    for x in (21..584).step_by(3) {
        for y in (11..410).step_by(3) {
            let on = |window: &&[f64; 4]| {
                let (x, y) = (f64::from(x), f64::from(y));
                window[0] <= x && x <= window[2] && window[1] <= y && y <= window[3]
            };
            assert!(windows.iter().any(|window| on(&window)), "({x}, {y}) stands on no tile");
        }
    }
    let beside = windows.iter().filter(|other| other[1] == windows[0][1] && other[0] > windows[0][0]);
    let next = beside.map(|other| other[0]).fold(f64::INFINITY, f64::min);
    assert!((windows[0][2] - next - 10.0).abs() < 1e-6, "{windows:?}");
}

/// A door's leaf and the way up a flight of stairs are drawn where the plan tells them.
#[test]
fn swings_and_flights_are_drawn_as_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = "room r {\n outline (0, 0) (4000, 0) (4000, 3000) (0, 3000)\n door a wall 1 from 500 to 1300 hinged left\n \
                level steps stairs down south rect (3000, 1000) (4000, 3000)\n partition p (2000, 1000) (2000, 3000)\n}\n";
    std::fs::write(folder.path().join("r.lay"), text).expect("a file");
    let (code, svg, said) = run(folder.path(), &["draw", "r.lay"]);
    assert_eq!(code, 0, "{said}");
    let document = Document::parse(&svg).expect("XML");
    let class = |class: &str| document.descendants().find(|node| node.attribute("class") == Some(class));
    // Facing the southern wall from inside, left is east: hinges at 1300, the leaf 800 into the room.
    let leaf = class("swing").and_then(|node| node.attribute("d")).expect("a leaf");
    assert_eq!(leaf, "M500 0A800 800 0 0 0 1300 800L1300 0");
    // Down to the south is up to the north.
    let flight = class("flight").and_then(|node| node.attribute("d")).expect("an arrow");
    assert!(flight.starts_with("M3500 1160L3500 2840"), "{flight}");
    for word in ["partition", "stairs, the way up", "door"] {
        assert!(svg.contains(word), "{word}");
    }
}

/// Rows of dimensions stand beyond a leaf that opens outward, nothing is written across it or across the arrow up a stair, and the door is named.
#[test]
fn swings_and_flights_are_kept_clear() {
    let text = "room hall {\n outline (0, 0) (1900, 0) (1900, 5000) (0, 5000)\n door store wall 2 from 2000 to 2800 hinged left outward\n \
                door hall wall 4 from 1000 to 1800 hinged right\n level up stairs up north rect (0, 4000) (1200, 5000)\n}\n";
    let measured = layrule::measure::plan::Measured::new(crate::common::plan(text));
    let drawing = layrule::draw::draw(measured.room(0).expect("a room"), &layrule::draw::Request::new(&[]));
    let document = roxmltree::Document::parse(&drawing.svg).expect("XML");
    let on = |x: f64, y: f64| drawing.sheet.on_paper(layrule::model::Point { x, y });
    // The leaf of the store reaches 800 mm beyond the wall to the east.
    let edge = on(2700.0, 0.0).x;
    let rows = document.descendants().filter(|node| node.attribute("data-side") == Some("east"));
    let lines = rows.flat_map(|row| row.descendants()).filter(|node| node.attribute("class") == Some("dimension"));
    let across = lines.filter_map(|node| node.children().find(|child| child.has_tag_name("line"))?.attribute("x1"));
    let across: Vec<f64> = across.map(|x| x.parse().expect("a number")).collect();
    assert!(!across.is_empty() && across.iter().all(|x| *x > edge), "{across:?} beyond {edge}");
    let swept =
        [((1900.0, 2800.0), (2700.0, 2800.0)), ((0.0, 1000.0), (800.0, 1000.0)), ((600.0, 4080.0), (600.0, 4920.0))];
    let mut names = Vec::new();
    for node in document.descendants() {
        let Some(frame) = node.attribute("data-frame") else { continue };
        let sides: Vec<f64> = frame.split(' ').map(|side| side.parse().expect("a number")).collect();
        let frame = layrule::draw::canvas::Frame { left: sides[0], top: sides[1], right: sides[2], bottom: sides[3] };
        let words: String = node.descendants().filter(roxmltree::Node::is_text).filter_map(|own| own.text()).collect();
        for ((a, b), (c, d)) in swept {
            assert!(!frame.cut_by(on(a, b), on(c, d)), "{words}");
        }
        names.push(words.trim().to_string());
    }
    assert!(names.contains(&"door store".to_string()) && names.contains(&"door hall".to_string()), "{names:?}");
}

/// Whoever asks for a picture may be a thread with 64 KiB of stack: what draws it has a stack of its own.
#[test]
fn pictures_are_drawn_from_a_small_stack() {
    let measured = Measured::new(crate::common::plan(ROOM));
    let drawing = layrule::draw::draw(measured.room(0).expect("a room"), &layrule::draw::Request::new(&[]));
    let here = layrule::draw::export::png(&drawing).expect("a picture");
    let small = std::thread::Builder::new().stack_size(64 * 1024);
    let there = small.spawn(move || layrule::draw::export::png(&drawing)).expect("a thread").join().expect("it ends");
    assert_eq!(there.expect("a picture"), here);
}

/// Of an outline of very many corners the walls are drawn and not dimensioned one by one, which the sheet says.
#[test]
fn very_many_walls_are_not_dimensioned_one_by_one() {
    let room = |corners: u32| {
        let turn = |corner: u32| (f64::from(corner) / f64::from(corners) * std::f64::consts::TAU).sin_cos();
        let points = (0..corners).map(turn).map(|(y, x)| format!("({:.3}, {:.3})", 3e3 + 2e3 * x, 3e3 + 2e3 * y));
        let text = format!("room r {{\n  outline {}\n}}\n", points.collect::<Vec<_>>().join("\n    "));
        let measured = Measured::new(crate::common::plan(&text));
        layrule::draw::draw(measured.room(0).expect("a room"), &layrule::draw::Request::new(&[])).svg
    };
    let (few, many) = (room(24), room(2_000));
    let lacking = |svg: &str, walls: &str| svg.split("Not dimensioned").nth(1).is_some_and(|rest| rest.contains(walls));
    assert!(lacking(&many, "2000 walls") && !lacking(&few, "24 walls"));
    // The whole of it is dimensioned all the same: twice the radius.
    assert!(many.contains(">4000<"), "{}", many.len());
}
