//! Drawings: their geometry read back out of the SVG and compared with the model; what they are made of; bad input.

use std::collections::HashMap;
use std::path::Path;

use layrule::checker::{self, Report};
use layrule::draw::sheet::{Paper, SCALES};
use layrule::draw::{Drawing, Request, draw, export};
use layrule::finding::{Finding, Severity};
use layrule::geometry::{Bounds, Ring};
use layrule::measure::length::laid_length;
use layrule::measure::plan::Measured;
use layrule::model::load::Library;
use layrule::model::resolve::resolve;
use layrule::model::{Plan, Point};
use layrule::source::Disk;
use roxmltree::{Document, Node};

use crate::common::program::layrule;
use crate::common::{RULES, TODAY, plan, plan_with_kits, root};

const EXAMPLES: &[&str] =
    &["bathroom", "boot-room", "flat-6", "garden-room", "hall", "kitchen", "living-room", "loft", "studio", "two-bays"];

fn example(name: &str) -> Plan {
    let library = Library::new(&Disk, root(), root());
    let path = root().join(format!("examples/{name}.lay"));
    resolve(library.load(&path, &format!("{name}.lay")).expect("the example is there"))
}

fn request(found: &[Finding]) -> Request<'_> {
    Request::new(found)
}

/// Every room of a plan, drawn without findings.
fn drawn(plan: &Plan) -> Vec<Drawing> {
    Measured::new(plan.clone()).rooms().map(|room| draw(room, &request(&plan.faults))).collect()
}

/// The first room of a plan.
fn draw_first(plan: &Plan, request: &Request<'_>) -> Drawing {
    draw(Measured::new(plan.clone()).room(0).expect("a room"), request)
}

/// The first room of a text's plan.
fn first(text: &str) -> Drawing {
    drawn(&plan(text)).swap_remove(0)
}

fn by_class<'d>(document: &'d Document<'_>, class: &str) -> Vec<Node<'d, 'd>> {
    document.descendants().filter(|node| node.attribute("class") == Some(class)).collect()
}

/// The numbers of a path's data, command by command.
fn commands(data: &str) -> Vec<(char, Vec<f64>)> {
    let mut found: Vec<(char, Vec<f64>)> = Vec::new();
    let mut word = String::new();
    for c in data.chars().chain([' ']) {
        if c.is_ascii_alphabetic() || c == ' ' || c == ',' {
            if !word.is_empty() {
                found.last_mut().expect("a command").1.push(word.parse().expect("a number"));
                word.clear();
            }
            if c.is_ascii_alphabetic() {
                found.push((c, Vec::new()));
            }
        } else {
            word.push(c);
        }
    }
    found
}

/// The corners and the length of a path of straight pieces and arcs.
fn walk(data: &str) -> (Vec<Point>, f64) {
    let mut points: Vec<Point> = Vec::new();
    let mut length = 0.0;
    for (command, numbers) in commands(data) {
        let end = match command {
            'M' | 'L' => Point { x: numbers[0], y: numbers[1] },
            'A' => Point { x: numbers[5], y: numbers[6] },
            'Z' => continue,
            other => panic!("`{other}` is not drawn with"),
        };
        if let Some(last) = points.last() {
            let chord = (end.x - last.x).hypot(end.y - last.y);
            // An arc of radius r over a chord c takes 2·r·asin(c / 2r); none drawn here is larger than half a circle.
            length +=
                if command == 'A' { 2.0 * numbers[0] * (chord / (2.0 * numbers[0])).min(1.0).asin() } else { chord };
        }
        points.push(end);
    }
    (points, length)
}

fn near(a: Point, b: Point) -> bool {
    (a.x - b.x).abs() < 0.01 && (a.y - b.y).abs() < 0.01
}

#[test]
fn geometry_reads_back_to_a_hundredth_of_a_millimetre() {
    for name in EXAMPLES {
        let plan = example(name);
        assert!(plan.faults.is_empty(), "{name}");
        for (room, drawing) in plan.rooms.iter().zip(drawn(&plan)) {
            let document = Document::parse(&drawing.svg).expect("XML");
            let whole = document.descendants().find(|node| node.attribute("id") == Some("plan")).expect("the floor");
            let scale: f64 = whole.attribute("data-scale").expect("a scale").parse().expect("a number");
            assert!(SCALES.contains(&scale), "{name}: 1:{scale}");
            let transform = whole.attribute("transform").expect("a transform");
            let numbers: Vec<f64> = transform
                .trim_start_matches("matrix(")
                .trim_end_matches(')')
                .split(' ')
                .map(|number| number.parse().expect("a number"))
                .collect();
            assert_eq!(numbers[..4], [1.0 / scale, 0.0, 0.0, -1.0 / scale], "{name}: north is up, and to scale");

            let outline = document.descendants().find(|node| node.attribute("id") == Some("outline")).expect("it");
            let (corners, _) = walk(outline.attribute("d").expect("a path"));
            assert_eq!(corners.len(), room.corners.len());
            for (read, corner) in corners.iter().zip(&room.corners) {
                assert!(near(*read, *corner), "{name}: {read:?} for {corner:?}");
                // On paper, within what is drawn.
                let paper = (numbers[4] + read.x / scale, numbers[5] - read.y / scale);
                assert!(paper.0 > 20.0 && paper.0 < drawing.sheet.width - 10.0, "{name}: {paper:?}");
                assert!(paper.1 > 10.0 && paper.1 < drawing.sheet.height - 10.0, "{name}: {paper:?}");
            }
            let cables = by_class(&document, "runs");
            assert_eq!(cables.len(), room.cables.len());
            for (read, cable) in cables.iter().zip(&room.cables) {
                let radius = plan.kits[cable.kit.expect("a kit")].bend_radius.expect("a radius");
                let (points, length) = walk(read.attribute("d").expect("a path"));
                let expected = laid_length(&cable.runs, radius);
                assert!((length - expected).abs() < 0.01, "{name}: {length} for {expected}");
                assert!(near(points[0], cable.runs[0].start), "{name}");
                assert!(near(points[points.len() - 1], cable.runs.last().expect("a run").end), "{name}");
                for point in points {
                    let off = cable.runs.iter().map(|run| run.piece().distance(point));
                    assert!(off.fold(f64::INFINITY, f64::min) < 0.01, "{name}: {point:?} lies on no run");
                }
            }
            let lengths: Vec<f64> = by_class(&document, "dimension")
                .iter()
                .map(|node| node.attribute("data-mm").expect("a length").parse().expect("a number"))
                .collect();
            for (index, corner) in room.corners.iter().enumerate() {
                let next = room.corners[(index + 1) % room.corners.len()];
                let length = (next.x - corner.x).hypot(next.y - corner.y);
                assert!(
                    lengths.iter().any(|read| (read - length).abs() < 0.01),
                    "{name}: wall {} is {length}",
                    index + 1
                );
            }
            for (read, sensor) in by_class(&document, "conduit").iter().zip(&room.sensors) {
                let (points, _) = walk(read.attribute("d").expect("a path"));
                let tip = *points.last().expect("a tip");
                assert!(near(tip, *sensor.conduit.last().expect("a tip")), "{name}");
            }
        }
    }
}

#[test]
fn sheets_are_iso_216_and_sized_in_millimetres() {
    for name in EXAMPLES {
        for drawing in drawn(&example(name)) {
            let document = Document::parse(&drawing.svg).expect("XML");
            let svg = document.root_element();
            let mut sides = [drawing.sheet.width, drawing.sheet.height];
            assert_eq!(svg.attribute("width"), Some(&*format!("{}mm", sides[0])));
            assert_eq!(svg.attribute("height"), Some(&*format!("{}mm", sides[1])));
            assert_eq!(svg.attribute("viewBox"), Some(&*format!("0 0 {} {}", sides[0], sides[1])));
            sides.sort_by(f64::total_cmp);
            // ISO 216: A2 420 mm by 594 mm, A3 297 mm by 420 mm, A4 210 mm by 297 mm.
            assert!([[420.0, 594.0], [297.0, 420.0], [210.0, 297.0]].contains(&sides), "{name}: {sides:?}");
        }
    }
}

/// What a label covers, and what it says.
fn frames(document: &Document<'_>) -> Vec<([f64; 4], String)> {
    document
        .descendants()
        .filter_map(|node| {
            let frame = node.attribute("data-frame")?;
            let numbers: Vec<f64> = frame.split(' ').map(|number| number.parse().expect("a number")).collect();
            let words = node.descendants().filter(Node::is_text).filter_map(|node| node.text()).collect::<String>();
            Some(([numbers[0], numbers[1], numbers[2], numbers[3]], words))
        })
        .collect()
}

#[test]
fn labels_cover_neither_each_other_nor_a_cable() {
    // The hall is so narrow that one label finds no free spot; `drawing_overlaps` holds its sheet to that.
    for name in EXAMPLES.iter().filter(|name| **name != "hall") {
        let plan = example(name);
        for (room, drawing) in plan.rooms.iter().zip(drawn(&plan)) {
            let document = Document::parse(&drawing.svg).expect("XML");
            let labels = frames(&document);
            assert!(labels.len() > 10, "{name}");
            for (index, (a, words)) in labels.iter().enumerate() {
                for (b, other) in &labels[index + 1..] {
                    let apart = a[2] <= b[0] || b[2] <= a[0] || a[3] <= b[1] || b[3] <= a[1];
                    assert!(apart, "{name}: `{words}` and `{other}` lie on each other");
                }
                let frame = layrule::draw::canvas::Frame { left: a[0], top: a[1], right: a[2], bottom: a[3] };
                // A run's number stands on its own run, and on no other.
                let on = words.trim().parse::<usize>().ok();
                for (number, run) in room.cables.iter().flat_map(|cable| (1..).zip(&cable.runs)) {
                    let (start, end) = (drawing.sheet.on_paper(run.start), drawing.sheet.on_paper(run.end));
                    if on == Some(number) {
                        continue;
                    }
                    assert!(!frame.cut_by(start, end), "{name}: `{words}` lies on a cable");
                }
            }
        }
    }
}

#[test]
fn drawings_are_the_same_to_the_byte() {
    let plan = example("bathroom");
    let (one, two) = (drawn(&plan), drawn(&example("bathroom")));
    assert_eq!(one, two);
    assert_eq!(export::png(&one[0]).expect("PNG"), export::png(&two[0]).expect("PNG"));
    assert_eq!(export::pdf(&one).expect("PDF"), export::pdf(&two).expect("PDF"));
    // The record's own notes are dated.
    let day = |svg: &str| {
        let document = Document::parse(svg).expect("XML");
        let field = document.descendants().find(|node| node.attribute("data-field") == Some("date"));
        field.and_then(|node| node.text()).map(str::trim).map(String::from).unwrap_or_default()
    };
    assert_eq!(day(&one[0].svg), "", "no date but the one that is given");
    assert!(one[0].svg.contains("2026-10-14: the conduit of the sensor"));
    let dated = draw_first(&plan, &Request { date: Some(TODAY), ..request(&[]) });
    assert_eq!(day(&dated.svg), "2026-11-25");
}

#[test]
fn six_plans_look_as_they_did() {
    for name in ["boot-room", "living-room", "bathroom", "garden-room", "loft"] {
        let drawing = drawn(&example(name)).swap_remove(0);
        insta::assert_snapshot!(format!("drawing-{name}"), drawing.svg);
    }
    let (plan, report) = fault("crossing");
    let with_findings = Request { findings: true, date: Some(TODAY), ..request(&report.findings) };
    insta::assert_snapshot!("drawing-crossing", draw_first(&plan, &with_findings).svg);
}

fn fault(name: &str) -> (Plan, Report) {
    let library = Library::new(&Disk, root(), root());
    let path = root().join(format!("examples/faults/{name}.lay"));
    let plan = resolve(library.load(&path, &format!("{name}.lay")).expect("the example is there"));
    let report = checker::check_plan(&Measured::new(plan.clone()), &RULES, TODAY);
    (plan, report)
}

#[test]
fn what_was_not_checked_is_counted() {
    let (plan, report) = fault("crossing");
    let said = |unchecked: usize| {
        let request = Request { findings: true, unchecked, ..request(&report.findings) };
        let measured = Measured::new(plan.clone());
        let drawing = draw(measured.room(0).expect("a room"), &request);
        let document = Document::parse(&drawing.svg).expect("XML");
        document.descendants().filter_map(|node| node.text()).collect::<Vec<_>>().join(" ")
    };
    assert!(said(12).contains("12 rules not checked") && said(1).contains("1 rule not checked"), "{}", said(12));
    assert!(!said(0).contains("not checked"));
    // A line by itself, behind the list, and where there is none.
    let request = Request { findings: true, unchecked: 3, ..request(&report.findings) };
    for (found, before) in [(&report.findings[..], "list-entry"), (&[], "")] {
        let drawing = draw_first(&plan, &Request { found, ..request });
        let document = Document::parse(&drawing.svg).expect("XML");
        let line = document.descendants().find(|node| node.text() == Some("3 rules not checked")).expect("a line");
        let own = line.ancestors().find(|node| node.attribute("class") == Some("finding-list")).expect("the list");
        let first = own.children().find(|node| node.is_element()).expect("something");
        assert_eq!(first.attribute("class").unwrap_or_default(), before);
    }
}

/// The legend has a sample of each kind of mark that the sheet bears, and of no other.
#[test]
fn marks_of_findings_are_in_the_legend() {
    const WORDS: [(&str, &str); 3] = [
        ("fault-stretch", "stretch of a finding"),
        ("fault-patch", "floor of a finding"),
        ("fault-bay", "bay of a finding"),
    ];
    let mut seen = [0; 3];
    for name in ["wall-clearance", "cold-patch", "bay-size", "crossing", "rcd-type"] {
        let (plan, report) = fault(name);
        let drawing = draw_first(&plan, &Request { findings: true, ..request(&report.findings) });
        let document = Document::parse(&drawing.svg).expect("XML");
        let legend = by_class(&document, "legend")[0];
        let says = |words: &str| legend.descendants().any(|node| node.text() == Some(words));
        for ((class, words), seen) in WORDS.iter().zip(&mut seen) {
            let any = !by_class(&document, class).is_empty();
            assert_eq!(says(words), any, "{name}: {words}");
            *seen += usize::from(any);
        }
        for (severity, words) in
            [(Severity::Error, "error, by its number"), (Severity::Warning, "warning, by its number")]
        {
            let any = report.findings.iter().any(|finding| finding.severity == severity && finding.accepted.is_none());
            assert_eq!(says(words), any, "{name}: {words}");
        }
        let without = draw_first(&plan, &request(&[]));
        assert!(WORDS.iter().all(|(_, words)| !without.svg.contains(words)), "{name}");
    }
    assert!(seen.iter().all(|count| *count > 0), "{seen:?}");
}

#[test]
fn findings_are_marked_where_they_are_and_listed() {
    let (plan, report) = fault("crossing");
    let request = Request { findings: true, ..request(&report.findings) };
    let drawing = draw_first(&plan, &request);
    let document = Document::parse(&drawing.svg).expect("XML");
    let spots = by_class(&document, "spot");
    let groups = layrule::alike::together(&report.findings);
    let placed: Vec<Point> =
        groups.iter().flat_map(|group| group.all.iter().filter_map(|finding| finding.at())).collect();
    assert!(!placed.is_empty());
    assert_eq!(spots.len(), placed.len());
    for (spot, at) in spots.iter().zip(&placed) {
        let read = |name: &str| spot.attribute(name).expect("a number").parse::<f64>().expect("a number");
        let paper = drawing.sheet.on_paper(*at);
        // The marks stand in paper coordinates, to 0.001 mm of it.
        assert!((read("cx") - paper.x).abs() < 0.001 && (read("cy") - paper.y).abs() < 0.001);
    }
    let text: String = document.descendants().filter_map(|node| node.text()).collect::<Vec<_>>().join(" ");
    for finding in &report.findings {
        assert!(text.contains(&*format!("{} {}", finding.severity.word(), finding.rule)), "{text}");
    }
}

/// A finding's place is one on the floor that has to do with it, for every rule that speaks of one.
#[test]
fn faults_have_a_place_on_the_floor() {
    let mut places = HashMap::new();
    for name in [
        "wall-clearance",
        "crossing",
        "spacing",
        "cold-patch",
        "drill-zone",
        "bend-radius",
        "sensor-crossed",
        "doorway",
    ] {
        let (plan, report) = fault(name);
        let finding = report.findings.iter().find(|finding| &*finding.rule == name).expect("its finding");
        let at = finding.at().expect("a place");
        let Bounds { low, high } = Bounds::around(&plan.rooms[0].corners);
        assert!(at.x >= low.x && at.x <= high.x && at.y >= low.y && at.y <= high.y, "{name}: {at:?}");
        places.insert(name, at);
    }
    assert_eq!(places.len(), 8);
}

const HOSTILE: &str = r#"
room r "<script>alert('x')</script> & "  {
  outline (0, 0) (2000, 0) (2000, 1500) (0, 1500)
  wall 1 "<b> & \u{7} ' ]]>" outside
  fixture f rect (0, 0) (500, 500)
}
"#;

#[test]
fn names_are_shown_as_they_are_written() {
    let drawing = first(&HOSTILE.replace("\\u{7}", "\u{7}"));
    let document = Document::parse(&drawing.svg).expect("XML");
    assert!(document.descendants().all(|node| !node.has_tag_name("script") && !node.has_tag_name("b")));
    let texts: Vec<&str> = document.descendants().filter_map(|node| node.text()).collect();
    assert!(texts.iter().any(|text| text.contains("<script>alert('x')</script>")), "{texts:?}");
    assert!(texts.iter().any(|text| text.contains("<b> & \u{fffd} ' ]]>")), "{texts:?}");
    assert!(!drawing.svg.contains("<script"));
}

#[test]
fn unusual_rooms_are_drawn() {
    // No cable, nothing in it.
    let empty = first("room r {\n outline (0, 0) (2000, 0) (2000, 1500) (0, 1500)\n}\n");
    assert!(empty.svg.contains("id=\"outline\""));
    // 200 m long.
    let long = first(
        "room r {\n outline (0, 0) (200 m, 0) (200 m, 3 m) (0, 3 m)\n cable a {\n start (100, 100)\n run east 199 m\n}\n}\n",
    );
    assert_eq!((long.sheet.paper, long.sheet.scale), (Paper::A2, 500.0));
    // Smaller than a hand.
    let small = first("room r {\n outline (0, 0) (90, 0) (90, 60) (0, 60)\n}\n");
    assert_eq!(small.sheet.paper, Paper::A4);
    // A name of 500 characters.
    let name = "n".repeat(500);
    let named = first(&format!(
        "room {name} \"{name}\" {{\n outline (0, 0) (2000, 0) (2000, 1500) (0, 1500)\n wall 1 \"{name}\"\n fixture {name} rect (0, 0) (500, 500)\n}}\n"
    ));
    let document = Document::parse(&named.svg).expect("XML");
    for node in document.descendants().filter(|node| node.has_tag_name("text")) {
        let at: f64 = node.attribute("x").expect("a place").parse().expect("a number");
        let long: f64 = node.attribute("textLength").unwrap_or("0").parse().expect("a number");
        let upright = node.attribute("transform").is_some();
        assert!(long < 100.0 && (upright || at + long < named.sheet.width), "{node:?}");
    }
    assert!([&empty, &long, &small, &named].iter().all(|drawing| drawing.sheet.fits));
    for drawing in [empty, long, small, named] {
        export::pdf(&[drawing]).expect("PDF");
    }
}

/// Both tails of a single-conductor cable are drawn, and the sleeve where one crosses a joint.
#[test]
fn second_tails_and_sleeves_are_drawn() {
    let drawing = first(
        "room r {\n outline (0, 0) (4000, 0) (4000, 3000) (0, 3000)\n junction j (0, 1000)\n joint m (200, 0) (200, 3000)\n cable a {\n \
         tail j (400, 1000) sleeve m\n second-tail j (100, 1200) (400, 1200)\n start (400, 1000)\n run east 2000\n run north 200\n \
         run west 2000\n }\n}\n",
    );
    let document = Document::parse(&drawing.svg).expect("it is SVG");
    let tails: Vec<_> =
        by_class(&document, "tail").iter().map(|tail| walk(tail.attribute("d").expect("it")).0).collect();
    let p = |x: f64, y: f64| Point { x, y };
    let wanted = [vec![p(0.0, 1000.0), p(400.0, 1000.0)], vec![p(0.0, 1000.0), p(100.0, 1200.0), p(400.0, 1200.0)]];
    assert_eq!(tails.len(), 2);
    for (tail, wanted) in tails.iter().zip(wanted) {
        assert!(tail.len() == wanted.len() && tail.iter().zip(wanted).all(|(a, b)| near(*a, b)), "{tail:?}");
    }
    // A line on each side of the tail, over the joint.
    let sleeve: Vec<_> =
        by_class(&document, "sleeve").iter().map(|side| walk(side.attribute("d").expect("it")).0).collect();
    assert_eq!(sleeve.len(), 2);
    assert!(sleeve.iter().all(|side| side[0].x < 200.0 && side[1].x > 200.0 && (side[0].y - 1000.0).abs() < 60.0));
    assert!(drawing.svg.contains(">sleeve<"));
}

/// ISO 32000-1, 14.8.4: the drawing is a figure with words in its stead, findings are a list, an item each, the title block is a table of
/// heads and cells; what says nothing is no part of it.
#[test]
fn parts_of_a_page_are_tagged() {
    let (plan, report) = fault("under-partition");
    let numbers = layrule::alike::together(&report.findings).len();
    let drawing = draw_first(&plan, &Request { findings: true, ..request(&report.findings) });
    let document = Document::parse(&drawing.svg).expect("XML");
    let fields = document.descendants().filter(|node| node.has_attribute("data-field"));
    let fields = fields.filter(|node| node.text().is_some_and(|text| !text.trim().is_empty())).count();
    let pdf = export::pdf(std::slice::from_ref(&drawing)).expect("PDF");
    let text = String::from_utf8_lossy(&pdf).replace("/S /", "/S/");
    let count = |tag: &str| {
        let wanted = format!("/S/{tag}");
        let after = text.split(&wanted).skip(1);
        after.filter(|rest| !rest.starts_with(|c: char| c.is_ascii_alphanumeric())).count()
    };
    assert_eq!((count("Figure"), count("L"), count("LI")), (1, 1, numbers));
    assert!(text.contains(&drawing.shows), "words in its stead");
    // The title block, cables, areas, loads and supplies; each row has a head.
    assert_eq!(count("Table"), 5);
    assert!(fields > 4 && count("TR") >= fields && count("TH") >= count("TR") - 1, "{fields}");
    let blocks = by_class(&document, "block").len();
    assert_eq!(count("H1"), blocks);
}

#[test]
fn very_many_runs_stay_small() {
    let text = "room r {\n outline (0, 0) (40 m, 0) (40 m, 400 m) (0, 400 m)\n cable a {\n start (100, 100)\n loops 5000 of 39 m east, stepping 75 north\n}\n}\n";
    let plan = plan(text);
    assert_eq!(plan.rooms[0].cables[0].runs.len(), 9999);
    let drawing = drawn(&plan).swap_remove(0);
    assert!(drawing.svg.len() < 5_000_000, "{}", drawing.svg.len());
}

#[test]
fn pictures_and_pages_have_the_size_of_their_sheets() {
    let sheets = drawn(&example("flat-6"));
    let png = export::png(&sheets[0]).expect("PNG");
    assert_eq!(&png[..8], b"\x89PNG\r\n\x1a\n");
    let side = |from: usize| u32::from_be_bytes(png[from..from + 4].try_into().expect("four bytes"));
    let pixels = |mm: f64| (mm / 25.4 * 200.0).round() as u32;
    assert_eq!((side(16), side(20)), (pixels(sheets[0].sheet.width), pixels(sheets[0].sheet.height)));
    let pdf = export::pdf(&sheets).expect("PDF");
    let text = String::from_utf8_lossy(&pdf);
    assert!(text.starts_with("%PDF-"));
    assert!(text.contains("/Count 2"), "a page a room");
    assert!(!text.contains("CreationDate"), "no day but the one that is given");
    // ISO 32000-1: 7.9.2 the language of the whole, 12.3.3 bookmarks, 14.7 the tree of tags.
    assert!(text.contains("/Lang(en)") || text.contains("/Lang (en)"), "{text}");
    assert!(text.contains("/Outlines") && text.contains("/StructTreeRoot") && text.contains("/Marked true"));
    // PNG (W3C 2003), 11.3.5.3: pixels per metre, then the unit 1; 200 an inch are 7874 a metre.
    let at = png.windows(4).position(|word| word == b"pHYs").expect("a resolution");
    assert_eq!(png[at + 4..at + 13], [0, 0, 0x1e, 0xc2, 0, 0, 0x1e, 0xc2, 1]);
}

fn run(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    let output = layrule(folder, arguments).output().expect("the program runs");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
    (output.status.code().expect("a code"), text(output.stdout), text(output.stderr))
}

#[test]
fn files_are_written_by_their_endings() {
    let folder = tempfile::tempdir().expect("a folder");
    let plan = root().join("examples/flat-6.lay");
    let plan = plan.to_str().expect("a path");
    let here = folder.path();
    assert_eq!(run(here, &["draw", plan, "-o", "flat.svg"]).0, 0);
    let mut names: Vec<_> = std::fs::read_dir(here).expect("it").map(|entry| entry.expect("it").file_name()).collect();
    names.sort();
    assert_eq!(names, ["flat-bedroom.svg", "flat-shower-room.svg"]);
    assert_eq!(run(here, &["draw", plan, "--room", "bedroom", "-o", "one.png"]).0, 0);
    assert!(std::fs::read(here.join("one.png")).expect("it").starts_with(b"\x89PNG"));
    assert_eq!(run(here, &["draw", plan, "-o", "flat.pdf"]).0, 0);
    assert!(std::fs::read(here.join("flat.pdf")).expect("it").starts_with(b"%PDF"));
    let (code, out, _) = run(here, &["draw", plan, "--room", "shower-room"]);
    assert_eq!(code, 0);
    assert_eq!(
        out,
        std::fs::read_to_string(here.join("flat-shower-room.svg")).expect("it").replace("2 of 2", "1 of 1")
    );
}

#[test]
fn what_cant_be_drawn_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let here = folder.path();
    let plan = root().join("examples/flat-6.lay");
    let flat = plan.to_str().expect("a path");
    let kits = root().join("examples/kits.lay");
    std::fs::write(here.join("old.svg"), "kept").expect("a file");
    for (arguments, said) in [
        (vec!["draw", flat], "has 2 rooms, and standard output takes one sheet"),
        (vec!["draw", flat, "--room", "bedrom"], "did you mean `bedroom`?"),
        (vec!["draw", flat, "-o", "flat.txt"], "end it in `.svg`, `.png`, `.pdf` or `.dxf`"),
        (vec!["draw", flat, "-o", "nowhere/flat.pdf"], "can't be written"),
        (vec!["draw", flat, "-o", ".", "--format", "pdf"], "it is a folder"),
        (vec!["draw", kits.to_str().expect("a path"), "-o", "old.svg"], "holds no room that can be drawn"),
        (vec!["draw", "nothing.lay"], "there is no such file"),
        (vec!["draw", flat, "--date", "25.11.2026"], "write year, month and day"),
    ] {
        let (code, out, error) = run(here, &arguments);
        assert_eq!((code, out.as_str()), (2, ""), "{arguments:?}");
        assert!(error.contains(said), "{arguments:?}: {error}");
    }
    assert_eq!(std::fs::read_to_string(here.join("old.svg")).expect("it"), "kept");
    assert_eq!(std::fs::read_dir(here).expect("it").count(), 1, "nothing half written is left");
}

#[test]
fn a_plan_with_syntax_errors_is_drawn_as_far_as_it_goes() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = "room r {\n outline (0, 0) (2000, 0) (2000, 1500) (0, 1500)\n fixture f rect (0, 0) (500\n cable a {\n start (600, 60)\n run east 1300\n}\n}\n";
    std::fs::write(folder.path().join("plan.lay"), text).expect("a file");
    let (code, out, error) = run(folder.path(), &["draw", "plan.lay"]);
    assert_eq!(code, 1, "{error}");
    assert!(error.contains("error[syntax]"), "{error}");
    let document = Document::parse(&out).expect("XML");
    assert!(document.descendants().any(|node| node.attribute("id") == Some("outline")));
    assert_eq!(by_class(&document, "runs").len(), 1);
    let words: String = document.descendants().filter_map(|node| node.text()).collect::<Vec<_>>().join(" ");
    assert!(words.contains("What can't be read") && words.contains("error syntax"), "{words}");
}

#[test]
fn warmth_is_shaded_from_light_to_dark() {
    use layrule::draw::heat::{EDGES, color};
    // Luminance by the coefficients of ITU-R BT.709.
    let grey = |temperature: f64| {
        let color = color(temperature);
        let part = |from: usize| f64::from(u8::from_str_radix(&color[from..from + 2], 16).expect("hexadecimal"));
        0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
    };
    let shades: Vec<f64> = std::iter::once(10.0).chain(EDGES).map(grey).collect();
    assert!(shades.windows(2).all(|pair| pair[0] > pair[1] + 5.0), "{shades:?}");
    // What lies between two edges has one colour, so that a floor warmer by a few tenths here than there has no more than two.
    assert!(EDGES.windows(2).all(|pair| color(pair[0]) == color(pair[1] - 0.01) && color(pair[0]) != color(pair[1])));
}

/// The corners of a path in floor coordinates, ring by ring.
fn rings(data: &str) -> Vec<Vec<Point>> {
    let ring = |ring: &str| {
        let corners = ring.split(['M', 'L']).filter(|corner| !corner.is_empty());
        corners
            .map(|corner| {
                let (x, y) = corner.split_once(' ').expect("two numbers");
                Point { x: x.parse().expect("a number"), y: y.parse().expect("a number") }
            })
            .collect()
    };
    data.split('Z').filter(|ring| !ring.is_empty()).map(ring).collect()
}

/// What a drawing's shading says of a place is what the map says of it.
#[test]
fn shading_read_back_is_the_map_of_the_floor() {
    let (code, svg, _) = run(&root(), &["draw", "examples/bathroom.lay", "--heat"]);
    assert_eq!(code, 0);
    let document = Document::parse(&svg).expect("XML");
    let shaded: Vec<(f64, Vec<Ring>)> = by_class(&document, "warmth")
        .iter()
        .filter_map(|node| {
            let edge = node.attribute("data-degC")?.parse().expect("a number");
            let rings = rings(node.attribute("d").expect("a path"));
            Some((edge, rings.iter().map(|corners| Ring::new(corners)).collect()))
        })
        .collect();
    assert!(shaded.len() >= 2, "{svg}");
    let measured = Measured::new(example("bathroom"));
    let map = measured.room(0).and_then(|room| room.temperature_map().ok()).expect("a map");
    let raster = map.raster();
    let mut asked = 0;
    for cell in (0..raster.cells()).step_by(97).filter(|cell| map.inside()[*cell]) {
        for (edge, rings) in &shaded {
            // Within a cell of where it crosses an edge a line may be straightened.
            if (map.cells()[cell] - edge).abs() > 0.4 {
                let inside = rings.iter().filter(|ring| ring.contains(raster.middle(cell))).count() % 2 == 1;
                assert_eq!(inside, map.cells()[cell] > *edge, "{edge} at {:?}", raster.middle(cell));
                asked += 1;
            }
        }
    }
    assert!(asked > 500, "{asked}");
    let words: Vec<&str> = ["isotherm", "extreme"]
        .iter()
        .flat_map(|class| by_class(&document, class))
        .filter_map(|node| node.descendants().filter_map(|one| one.text()).map(str::trim).find(|text| !text.is_empty()))
        .collect();
    let free = measured.room(0).expect("a room").free_cells(&map, 0.0);
    let warmest = map.warmest(&free).expect("a floor");
    assert!(words.contains(&&*format!("warmest {:.1} °C", warmest.temperature)), "{words:?}");
    let seen = |edge: &f64| (0..raster.cells()).any(|cell| free[cell] && map.cells()[cell] < *edge);
    assert!(
        shaded.iter().filter(|(edge, _)| seen(edge)).all(|(edge, _)| words.contains(&&*format!("{edge}"))),
        "{words:?}"
    );
}

/// A level is shaded like the rest of the floor, and hidden by nothing.
#[test]
fn levels_are_shaded_too() {
    let text = "kit k {\n  output 400 W at 230 V\n  length 40 m\n}\nroom r {\n  outline (0, 0) (3000, 0) (3000, 2500) (0, 2500)\n  level dais +150 rect (0, 0) (3000, 2500)\n  \
        floor timber {\n    tile 10 mm porcelain\n    bed 10 mm adhesive cable at 3 mm\n    deck 18 mm plywood\n  }\n  inside 20 degC\n  below room 18 degC\n  \
        cable a {\n    kit k\n    start (150, 150)\n    loops 15 of 2500 east, stepping 100 north\n  }\n}\n";
    let measured = Measured::new(crate::common::plan(text));
    let room = measured.room(0).expect("a room");
    let map = room.temperature_map().expect("a map");
    let svg = draw(room, &Request { heat: Some(&map), ..request(&[]) }).svg;
    let document = Document::parse(&svg).expect("XML");
    assert!(by_class(&document, "warmth").len() > 3, "{svg}");
    let level = by_class(&document, "level")[0];
    let filled = level.descendants().filter_map(|node| node.attribute("fill")).filter(|fill| *fill != "none");
    assert_eq!(filled.collect::<Vec<_>>(), Vec::<&str>::new());
}

/// The floor is shaded as if no rug lay on it, and the sheet says so.
#[test]
fn a_floor_is_shaded_without_its_rugs() {
    let words = |rug: &str| {
        let text = format!(
            "kit k {{\n  output 400 W at 230 V\n  length 40 m\n}}\nroom r {{\n  outline (0, 0) (3000, 0) (3000, 2500) (0, 2500)\n  {rug}\n  \
             floor timber {{\n    tile 10 mm porcelain\n    bed 10 mm adhesive cable at 3 mm\n    deck 18 mm plywood\n  }}\n  inside 20 degC\n  \
             below room 18 degC\n  cable a {{\n    kit k\n    start (150, 150)\n    loops 15 of 2500 east, stepping 100 north\n  }}\n}}\n"
        );
        let measured = Measured::new(crate::common::plan(&text));
        let room = measured.room(0).expect("a room");
        let map = room.temperature_map().expect("a map");
        let svg = draw(room, &Request { heat: Some(&map), ..request(&[]) }).svg;
        let document = Document::parse(&svg).expect("XML");
        let shades: Vec<String> = by_class(&document, "warmth")
            .iter()
            .map(|node| node.attribute("d").unwrap_or_default().to_owned())
            .collect();
        let heading = |words: &str| svg.contains(&format!("Floor surface at full power{words}, °C"));
        (heading(""), heading(" without rugs"), shades)
    };
    let (bare, covered) = (words(""), words("rug m rect (500, 500) (1500, 1200) resistance 0.2 m2K/W"));
    assert_eq!((bare.0, bare.1, covered.0, covered.1), (true, false, false, true));
    assert_eq!(bare.2, covered.2);
}

#[test]
fn a_floor_whose_heat_is_not_known_is_drawn_without_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let bare = "room bare {\n  outline (0, 0) (2000, 0) (2000, 1000) (0, 1000)\n  cable a {\n    start (100, 100)\n    run east 1000\n  }\n}\n";
    std::fs::write(folder.path().join("bare.lay"), bare).expect("a file");
    let (_, svg, said) = run(folder.path(), &["draw", "bare.lay", "--heat"]);
    assert!(said.contains("`bare` is drawn without its heat"), "{said}");
    assert!(svg.contains("</svg>") && !svg.contains("\"warmth\""));
}

#[test]
fn every_sheet_bears_the_cautions() {
    for name in EXAMPLES {
        for drawing in drawn(&example(name)) {
            let document = Document::parse(&drawing.svg).expect("XML");
            let words: Vec<&str> = document
                .descendants()
                .filter(|node| node.has_tag_name("text"))
                .filter_map(|node| node.text())
                .collect();
            let words = words.join(" ");
            for caution in [
                "qualified person under the local wiring rules",
                "local codes come first",
                "A clean check is not an approval",
            ] {
                assert!(words.contains(caution), "{name}: {words}");
            }
        }
    }
}

/// Mats, open doorways and notes of the record are drawn; a joint under a door is not hidden by its threshold.
#[test]
fn mats_open_doorways_and_notes_are_shown() {
    let mat = drawn(&example("wash-room")).swap_remove(0).svg;
    assert!(mat.contains("class=\"mat\"") && mat.contains("mat: cable on its mesh"), "{mat}");
    let plan = |through: &str| {
        let lay = include_str!("../../examples/wash-room.lay").replace(
            "from 400 to 1200",
            &format!("from 400 to 1200{through}\n  joint    under  (2120, 400) (2120, 1200)"),
        );
        drawn(&plan_with_kits(&lay)).swap_remove(0).svg
    };
    let (open, closed) = (plan(" through"), plan(""));
    assert!(open.contains("door, tiles go through") && !closed.contains("tiles go through"), "{open}");
    for svg in [&open, &closed] {
        let thresholds = svg.split("<g class=\"thresholds\">").nth(1).and_then(|rest| rest.split("</g>").next());
        assert!(thresholds.is_some_and(|group| group.contains("#3C3C44")), "no joint over the threshold:\n{svg}");
    }
    let noted = drawn(&example("bathroom")).swap_remove(0).svg;
    assert!(noted.contains("Built otherwise than drawn") && !noted.contains("data-note"));
    // Notes and photographs that have a place bear their numbers there, a cross on the very spot.
    let record = "record {\n note 2026-10-14 \"an, unplaced\"\n note 2026-10-14 \"moved\" at (600, 500)\n photo 2026-10-14 \"p.jpg\" at (900, 700)\n }";
    let lay = format!("room r {{\n outline (0, 0) (2000, 0) (2000, 1000) (0, 1000)\n {record}\n}}\n");
    let placed = drawn(&plan_with_kits(&lay)).swap_remove(0);
    let document = roxmltree::Document::parse(&placed.svg).expect("SVG");
    let class = |name: &'static str| document.descendants().filter(move |node| node.attribute("class") == Some(name));
    let numbers: Vec<_> = class("notes-at")
        .flat_map(|group| group.descendants())
        .filter_map(|node| node.attribute("data-note"))
        .collect();
    assert_eq!(numbers, ["2", "3"]);
    let spots: Vec<String> = class("spot").filter_map(|node| node.attribute("d")).map(str::to_string).collect();
    let at = |x: f64, y: f64| {
        let at = placed.sheet.on_paper(layrule::model::Point { x, y });
        let number = layrule::draw::canvas::number;
        format!("M{} {}h", number(at.x - 0.7, 3), number(at.y, 3))
    };
    assert!(spots[0].starts_with(&at(600.0, 500.0)) && spots[1].starts_with(&at(900.0, 700.0)), "{spots:?}");
    assert!(placed.svg.contains("note or photograph"));
}
