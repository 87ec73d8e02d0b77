//! Where findings are: on the floor, against sums worked by hand; on drawings, read back; in lists, each once and by one number everywhere.

use layrule::alike::together;
use layrule::checker::{self, Report};
use layrule::draw::{Drawing, Request, sheets};
use layrule::finding::Finding;
use layrule::geometry::{Piece, Point, Site};
use layrule::measure::plan::Measured;
use layrule::model::load::Library;
use layrule::model::resolve::resolve;
use layrule::source::Disk;
use roxmltree::{Document, Node};

use crate::common::{RULES, TODAY, plan, root};

fn p(x: f64, y: f64) -> Point {
    Point { x, y }
}

fn near(a: Point, b: Point) -> bool {
    (a.x - b.x).abs() < 0.01 && (a.y - b.y).abs() < 0.01
}

fn found(text: &str) -> (Measured, Report) {
    let measured = Measured::new(plan(text));
    let report = checker::check_plan(&measured, &RULES, TODAY);
    (measured, report)
}

/// The places of what a rule finds in a room of 3 m by 2 m that holds these lines.
fn sites(rule: &str, lines: &str) -> Vec<Site> {
    let (_, report) = found(&format!("room r {{\n outline (0, 0) (3000, 0) (3000, 2000) (0, 2000)\n {lines}\n}}\n"));
    let own = report.findings.into_iter().filter(|finding| &*finding.rule == rule);
    own.map(|finding| finding.site.expect("a place")).collect()
}

fn site(rule: &str, lines: &str) -> Site {
    let mut all = sites(rule, lines);
    assert_eq!(all.len(), 1, "{all:?}");
    all.swap_remove(0)
}

fn is_piece(piece: &Piece, from: Point, to: Point) -> bool {
    (near(piece.start, from) && near(piece.end, to)) || (near(piece.start, to) && near(piece.end, from))
}

/// A run along a wall, 40 mm from it, is marked all along; one that slants towards it only where it is nearer than 50 mm.
#[test]
fn stretches_too_near_to_a_wall() {
    let level = site("wall-clearance", "cable a {\n start (500, 40)\n run east 1000\n }");
    assert!(
        near(level.at, p(1000.0, 40.0)) && level.nearest.is_some_and(|wall| near(wall, p(1000.0, 0.0))),
        "{level:?}"
    );
    assert!(is_piece(&level.stretches[0], p(500.0, 40.0), p(1500.0, 40.0)), "{level:?}");
    // From 140 mm to 40 mm over 1000 mm: 50 mm from the wall after 900 mm.
    let slant = site("wall-clearance", "cable a {\n start (500, 140)\n run to (1500, 40)\n }");
    assert!(near(slant.at, p(1500.0, 40.0)), "{slant:?}");
    assert!(is_piece(&slant.stretches[0], p(1400.0, 50.0), p(1500.0, 40.0)), "{slant:?}");
}

/// What lies outside the room, on another level, and in a fixture.
#[test]
fn stretches_where_no_cable_lies() {
    let out = site("off-floor", "cable a {\n start (2000, 1000)\n run east 1400\n }");
    assert!(
        near(out.at, p(3200.0, 1000.0)) && is_piece(&out.stretches[0], p(3000.0, 1000.0), p(3400.0, 1000.0)),
        "{out:?}"
    );
    let up = "level dais +150 rect (2000, 0) (3000, 2000)\n cable a {\n start (500, 1000)\n run east 1800\n }";
    let up = site("single-level", up);
    assert!(
        near(up.at, p(2150.0, 1000.0)) && is_piece(&up.stretches[0], p(2000.0, 1000.0), p(2300.0, 1000.0)),
        "{up:?}"
    );
    let under = "fixture sink unit rect (1000, 500) (1600, 1500)\n cable a {\n start (500, 1000)\n run east 1800\n }";
    let under = site("fixture-overlap", under);
    assert!(near(under.at, p(1300.0, 1000.0)), "{under:?}");
    assert!(is_piece(&under.stretches[0], p(1000.0, 1000.0), p(1600.0, 1000.0)), "{under:?}");
    let round = "drill stop circle (1000, 1060) radius 30\n cable a {\n start (500, 1000)\n run east 1800\n }";
    let round = site("drill-zone", round);
    // 60 mm from the centre, so 30 mm from the edge; within 80 mm of the centre over 2·√(80² − 60²) mm.
    assert!(
        near(round.at, p(1000.0, 1000.0)) && round.nearest.is_some_and(|edge| near(edge, p(1000.0, 1030.0))),
        "{round:?}"
    );
    let half = (80.0_f64.powi(2) - 60.0_f64.powi(2)).sqrt();
    assert!(is_piece(&round.stretches[0], p(1000.0 - half, 1000.0), p(1000.0 + half, 1000.0)), "{round:?}");
}

/// Two runs 40 mm apart that lie alongside each other from x = 1000 to x = 1500 mm; each is within 50 mm of the other up to √(50² − 40²) mm beyond.
#[test]
fn nearest_points_of_a_pair() {
    let two = "cable a {\n start (500, 1000)\n run east 1000\n }\n cable b {\n start (1000, 1040)\n run east 1000\n }";
    let two = site("spacing", two);
    // The middle of where they lie alongside each other, to what lengths are compared to.
    assert!((two.at.x - 1250.0).abs() < 1.0 && two.at.y == 1000.0, "{two:?}");
    assert!(two.nearest.is_some_and(|other| near(other, p(two.at.x, 1040.0))), "{two:?}");
    let wanted = [(p(970.0, 1000.0), p(1500.0, 1000.0)), (p(1000.0, 1040.0), p(1530.0, 1040.0))];
    assert_eq!(two.stretches.len(), 2);
    assert!(two.stretches.iter().zip(wanted).all(|(piece, (from, to))| is_piece(piece, from, to)), "{two:?}");
    let joint =
        site("movement-joint", "joint j (1500, 0) (1500, 2000)\n cable a {\n start (500, 1000)\n run east 1800\n }");
    assert!(near(joint.at, p(1500.0, 1000.0)) && joint.nearest.is_none(), "{joint:?}");
    assert!(is_piece(&joint.stretches[0], p(1450.0, 1000.0), p(1550.0, 1000.0)), "{joint:?}");
}

/// A kit of which the tail is 2 m long, and a box that hangs 300 mm above the floor.
fn site_with_kit(rule: &str, lines: &str) -> Vec<Site> {
    let kit = "kit k {\n output 130 W at 230 V\n length 13 m\n tail 2 m\n bend-radius 25 mm\n}\n";
    let room = format!(
        "room r {{\n outline (0, 0) (3000, 0) (3000, 2000) (0, 2000)\n junction j (40, 0) height 300\n {lines}\n}}\n"
    );
    let (measured, report) = found(&format!("{kit}{room}"));
    assert!(measured.plan().faults.is_empty(), "{:?}", measured.plan().faults);
    let own = report.findings.into_iter().filter(|finding| &*finding.rule == rule);
    own.map(|finding| finding.site.expect("a place")).collect()
}

/// A tail that is too short ends where it does, and what it doesn't reach is marked; at a bend its curve; at a joint what lies there.
#[test]
fn leads_turns_and_joints_are_marked_along_what_is_wrong() {
    // 40 mm + 2500 mm along the floor; 2 m less 200 mm to connect it with reach 1800 mm from the cable: to x = 2540 − 1800.
    let line = "cable a {\n kit k\n tail j (40, 40) (2540, 40)\n start (2540, 40)\n run north 1000\n }";
    let tail = site_with_kit("tail-reach", line).swap_remove(0);
    assert!(near(tail.at, p(740.0, 40.0)), "{tail:?}");
    let wanted = [(p(40.0, 0.0), p(40.0, 40.0)), (p(40.0, 40.0), p(740.0, 40.0))];
    assert_eq!(tail.stretches.len(), 2, "{tail:?}");
    assert!(tail.stretches.iter().zip(wanted).all(|(piece, (from, to))| is_piece(piece, from, to)), "{tail:?}");
    // As long as the floor's part and no longer, it ends below the box.
    let line = "cable a {\n kit k\n tail j (40, 40) (1740, 40)\n start (1740, 40)\n run north 1000\n }";
    let below = site_with_kit("tail-reach", line).swap_remove(0);
    assert!(near(below.at, p(40.0, 0.0)) && below.stretches.is_empty(), "{below:?}");
    // A jog of 30 mm has room for a radius of 15 mm: a quarter round (985, 515).
    let line = "cable a {\n kit k\n start (500, 500)\n run east 500\n run north 30\n run east 500\n }";
    let bend = site_with_kit("bend-radius", line).swap_remove(0);
    let middle = 15.0 * std::f64::consts::FRAC_1_SQRT_2;
    assert!(near(bend.at, p(985.0 + middle, 515.0 - middle)), "{bend:?}");
    let ends = bend.stretches.first().zip(bend.stretches.last()).map(|(first, last)| (first.start, last.end));
    assert!(ends.is_some_and(|(from, to)| near(from, p(985.0, 500.0)) && near(to, p(1000.0, 515.0))), "{bend:?}");
    let off = |at: Point| ((at.x - 985.0).hypot(at.y - 515.0) - 15.0).abs();
    assert!(bend.stretches.iter().all(|piece| off(piece.start) < 0.01 && off(piece.end) < 0.01), "{bend:?}");
    // 40 mm of cable between the joint and the first turn.
    let short = site("cold-joint", "cable a {\n start (500, 500)\n run east 40\n run north 1000\n }");
    assert!(near(short.at, p(500.0, 500.0)), "{short:?}");
    assert!(short.stretches.len() == 1 && is_piece(&short.stretches[0], p(500.0, 500.0), p(540.0, 500.0)), "{short:?}");
    let line = "cable a {\n tail j (500, 200) (500, 500)\n start (500, 500)\n run east 1000\n }";
    let turned = site_with_kit("cold-joint", line).swap_remove(0);
    let wanted = [(p(500.0, 500.0), p(500.0, 400.0)), (p(500.0, 500.0), p(600.0, 500.0))];
    assert_eq!(turned.stretches.len(), 2, "{turned:?}");
    assert!(turned.stretches.iter().zip(wanted).all(|(piece, (from, to))| is_piece(piece, from, to)), "{turned:?}");
}

/// Three rows 60 mm apart, six more 100 mm apart: the three are marked, each once, all along.
#[test]
fn all_runs_of_an_uneven_spacing_are_marked() {
    let line = "cable a {\n start (200, 200)\n loops 3 of 2600 east, stepping 60 north\n run north 100\n loops 6 of 2600 west, \
                stepping 100 north\n }";
    let uneven = site("even-spacing", line);
    let mut rows = uneven.stretches.clone();
    rows.sort_by(|a, b| a.start.y.total_cmp(&b.start.y));
    assert_eq!(rows.len(), 3, "{uneven:?}");
    for (row, y) in rows.iter().zip([200.0, 260.0, 320.0]) {
        assert!(is_piece(row, p(200.0, y), p(2800.0, y)), "{uneven:?}");
    }
}

/// The border of a cold patch holds its area; a bay has the corners of what joints make of the room.
#[test]
fn areas_have_their_borders() {
    let area = |ring: &[Point]| {
        let next = ring.iter().skip(1).chain(ring.first());
        ring.iter().zip(next).map(|(a, b)| a.x * b.y - a.y * b.x).sum::<f64>().abs() / 2.0
    };
    // A run along x = 2700 mm leaves what lies more than 250 mm to its west, 50 mm off the walls: 2400 mm by 1900 mm, but for what rounds
    // its ends.
    let cold = sites("cold-patch", "cable a {\n start (2700, 100)\n run north 1800\n }");
    let cold = cold.into_iter().max_by(|a, b| area(&a.area[0]).total_cmp(&area(&b.area[0]))).expect("a patch");
    assert!((area(&cold.area[0]) / (2400.0 * 1900.0) - 1.0).abs() < 0.02, "{}", area(&cold.area[0]));
    assert!(cold.at.x < 2450.0 && cold.at.x > 50.0 && !cold.bay, "{cold:?}");
    let text = "room r {\n outline (0, 0) (9000, 0) (9000, 2000) (0, 2000)\n joint j (200, 0) (200, 2000)\n cable a {\n start (500, 500)\n run east 8000\n }\n}\n";
    let (_, report) = found(text);
    let bay = report.findings.iter().find(|finding| &*finding.rule == "bay-size").expect("a bay");
    let bay = bay.site.clone().expect("a place");
    assert!(bay.bay && (area(&bay.area[0]) - 8800.0 * 2000.0).abs() < 2_000.0, "{bay:?}");
}

/// A plan of `examples/faults`, checked.
fn fault(name: &str) -> (Measured, Report) {
    let library = Library::new(&Disk, root(), root());
    let path = root().join(format!("examples/faults/{name}.lay"));
    let measured = Measured::new(resolve(library.load(&path, &format!("{name}.lay")).expect("the example is there")));
    let report = checker::check_plan(&measured, &RULES, TODAY);
    (measured, report)
}

fn faults() -> impl Iterator<Item = String> {
    let files = std::fs::read_dir(root().join("examples/faults")).expect("faults");
    files.filter_map(|file| Some(file.ok()?.file_name().to_str()?.strip_suffix(".lay")?.to_string()))
}

fn request(report: &Report) -> Request<'_> {
    Request { findings: true, ..Request::new(&report.findings) }
}

fn drawn(measured: &Measured, report: &Report) -> Vec<Drawing> {
    sheets(measured.room(0).expect("a room"), &request(report))
}

fn attribute(node: &Node<'_, '_>, name: &str) -> f64 {
    node.attribute(name).expect("it is there").parse().expect("a number")
}

fn number_of(node: &Node<'_, '_>) -> Option<u32> {
    node.attribute("data-finding")?.parse().ok()
}

/// The straight pieces of a path, from point to point.
fn pieces(data: &str) -> Vec<Piece> {
    let point = |text: &str| {
        let (x, y) = text.split_once(' ').expect("two numbers");
        p(x.parse().expect("a number"), y.parse().expect("a number"))
    };
    let lines = data.split('M').filter(|line| !line.is_empty());
    lines
        .flat_map(|line| {
            let points: Vec<Point> = line.trim_end_matches('Z').split('L').map(point).collect();
            points.windows(2).map(|pair| Piece::new(pair[0], pair[1])).collect::<Vec<_>>()
        })
        .collect()
}

/// What drawings mark is what findings say, over all faults: every place has its dot, the worst of a number its disc's leader, and stretches
/// are drawn where they are.
#[test]
fn marks_read_back_are_the_places_of_findings() {
    let (mut dots, mut thick, mut shaded) = (0, 0, 0);
    for name in faults() {
        let (measured, report) = fault(&name);
        let sheet = &drawn(&measured, &report)[0];
        let document = Document::parse(&sheet.svg).expect("XML");
        let class =
            |class: &'static str| document.descendants().filter(move |node| node.attribute("class") == Some(class));
        for group in together(&report.findings) {
            let number = group.number();
            let own_sites: Vec<&Site> = group.all.iter().filter_map(|finding| finding.site.as_ref()).collect();
            let mark = class("finding").find(|node| number_of(node) == Some(number));
            let Some(mark) = mark else {
                assert!(own_sites.is_empty(), "{name}: {number} is marked nowhere");
                continue;
            };
            let within =
                |class: &'static str| mark.descendants().filter(move |node| node.attribute("class") == Some(class));
            let spots: Vec<Point> =
                within("spot").map(|node| p(attribute(&node, "cx"), attribute(&node, "cy"))).collect();
            assert_eq!(spots.len(), own_sites.len(), "{name}");
            for own in &own_sites {
                let paper = sheet.sheet.on_paper(own.at);
                assert!(
                    spots.iter().any(|spot| (spot.x - paper.x).abs() < 0.002 && (spot.y - paper.y).abs() < 0.002),
                    "{name}"
                );
                dots += 1;
            }
            let leader = within("leader").next().unwrap_or_else(|| panic!("{name}: {number} has no disc"));
            let worst = group.worst.at().or(group.all.iter().find_map(|finding| finding.at())).expect("a place");
            let worst = sheet.sheet.on_paper(worst);
            assert!(
                (attribute(&leader, "x2") - worst.x).abs() < 0.002
                    && (attribute(&leader, "y2") - worst.y).abs() < 0.002,
                "{name}"
            );
            let path = |class_: &'static str| {
                let own = class(class_).find(|node| number_of(node) == Some(number));
                own.map(|node| pieces(node.attribute("d").expect("a path"))).unwrap_or_default()
            };
            let drawn = path("fault-stretch");
            let told: Vec<&Piece> = own_sites.iter().flat_map(|site| &site.stretches).collect();
            assert_eq!(drawn.len(), told.len(), "{name}");
            for piece in told {
                assert!(drawn.iter().any(|own| is_piece(own, piece.start, piece.end)), "{name}: {piece:?}");
                thick += 1;
            }
            let areas: usize = own_sites.iter().flat_map(|site| &site.area).map(|ring| ring.len() - 1).sum();
            assert_eq!(path("fault-patch").len() + path("fault-bay").len(), areas, "{name}");
            shaded += areas;
        }
    }
    assert!(dots > 100 && thick > 60 && shaded > 10, "{dots} {thick} {shaded}");
}

/// A hall with so many runs, each laid by a line of its own, across joints and another cable.
fn hall(rows: usize) -> String {
    let mut text = format!(
        "room hall \"Harrow Mill\" {{\n outline (0, 0) (5000, 0) (5000, {high}) (0, {high})\n joint slab (2600, 0) (2600, {high})\n cable a {{\n start (100, 100)\n",
        high = rows * 180 + 200
    );
    for row in 0..rows {
        let way = if row % 2 == 0 { "east" } else { "west" };
        text.push_str(&format!(" run {way} 4800\n run north 180\n"));
    }
    text.push_str(" }\n cable b {\n start (150, 130)\n");
    for column in 0..18 {
        let way = if column % 2 == 0 { "north" } else { "south" };
        text.push_str(&format!(" run {way} {}\n run east 250\n", rows * 180 - 60));
    }
    text + " }\n}\n"
}

/// However many findings there are, each number stands once in the list, in order, over as many sheets as that takes, and no list says that
/// it leaves anything out.
#[test]
fn lists_leave_nothing_out() {
    for rows in [4, 16, 30] {
        let (measured, report) = found(&hall(rows));
        assert!(report.findings.len() > 17 * rows, "{}", report.findings.len());
        let numbers: Vec<u32> = together(&report.findings).iter().map(layrule::alike::Alike::number).collect();
        assert_eq!(numbers, (1..=numbers.len() as u32).collect::<Vec<_>>());
        let sheets = drawn(&measured, &report);
        assert_eq!(sheets.len() > 1, rows > 4, "{rows}");
        let mut listed = Vec::new();
        for sheet in &sheets {
            let document = Document::parse(&sheet.svg).expect("XML");
            let entries = document.descendants().filter(|node| node.attribute("class") == Some("list-entry"));
            listed.extend(
                entries.flat_map(|entry| entry.descendants().collect::<Vec<_>>()).filter_map(|node| number_of(&node)),
            );
            assert!(!sheet.svg.contains("lists them all"));
        }
        assert_eq!(listed, numbers, "{rows}");
    }
}

/// What the outputs for hosts and build servers say, their escapes taken away.
fn said_to_hosts(run: impl Fn(&[&str]) -> String) -> Vec<(&'static str, String)> {
    let told = |form: &str| run(&["check", "p.lay", "--output", form]);
    let xml = |form: &str| -> String {
        let text = told(form);
        let page = Document::parse(&text).expect("XML");
        let attributes = page.descendants().flat_map(|node| node.attributes().map(|own| own.value().to_string()));
        let texts = page.descendants().filter(Node::is_text).filter_map(|node| node.text()).map(String::from);
        attributes.chain(texts).collect::<Vec<_>>().join("\n")
    };
    let list: serde_json::Value = serde_json::from_str(&told("gitlab")).expect("JSON");
    let words = list.as_array().expect("a list").iter().map(|own| own["description"].as_str().expect("words"));
    let github = told("github").replace("%0A", "\n").replace("%25", "%");
    vec![
        ("github", github),
        ("gitlab", words.collect::<Vec<_>>().join("\n")),
        ("checkstyle", xml("checkstyle")),
        ("junit", xml("junit")),
    ]
}

/// One number on every face: JSON, SARIF, Markdown, text, what hosts and build servers read, the drawing, the handover.
#[test]
fn a_finding_has_one_number_everywhere() {
    let folder = crate::common::program::Folder::new(&[("p.lay", &hall(4))]);
    let run = |arguments: &[&str]| folder.run(arguments).1;
    let json: serde_json::Value = serde_json::from_str(&run(&["check", "p.lay", "--output", "json"])).expect("JSON");
    let findings = json["plans"][0]["findings"].as_array().expect("findings");
    let number = |finding: &serde_json::Value| finding["number"].as_u64().expect("a number");
    let told: Vec<(u64, &str)> =
        findings.iter().map(|one| (number(one), one["message"].as_str().expect("words"))).collect();
    assert!(told.iter().map(|(number, _)| number).max().is_some_and(|most| *most > 4 && (*most as usize) < told.len()));
    let sarif: serde_json::Value = serde_json::from_str(&run(&["check", "p.lay", "--output", "sarif"])).expect("SARIF");
    for result in sarif["runs"][0]["results"].as_array().expect("results") {
        let words = result["message"]["text"].as_str().expect("words").replace("{{", "{").replace("}}", "}");
        let (own, _) = told.iter().find(|(_, message)| words.starts_with(message)).expect("its finding");
        assert_eq!(result["properties"]["number"].as_u64(), Some(*own), "{words}");
    }
    let text = run(&["check", "p.lay"]).replace("\n  ", " ");
    let markdown = run(&["check", "p.lay", "--output", "markdown"]);
    let handed = run(&["handover", "p.lay"]);
    let hosts = said_to_hosts(run);
    for group in together(&found(&hall(4)).1.findings) {
        let (own, message) = (u64::from(group.number()), group.worst.message.as_str());
        assert!(told.contains(&(own, message)), "{message}");
        assert!(text.contains(&format!("{message} (no. {own})")), "{own} {message}\n{text}");
        for (form, said) in &hosts {
            assert!(said.contains(&format!("{message} (no. {own})")), "{form}: {own} {message}\n{said}");
        }
        let row = markdown.lines().find(|line| line.contains(&layrule::report::markdown::escaped(message)));
        assert!(row.is_some_and(|row| row.starts_with(&format!("| {own} |"))), "{row:?}");
        let plain = message.replace('`', "");
        let row = handed.split("<tr").find(|row| row.contains(&plain));
        assert!(row.is_some_and(|row| row.contains(&format!(">{own}</th>"))), "{own} {row:?}");
    }
}

/// A plan of which some findings are known already calls the others as the drawing does.
#[test]
fn numbers_stay_where_others_are_left_out() {
    let (_, report) = found(&hall(4));
    let last = report.findings.iter().map(|finding: &Finding| finding.number).max();
    let mut other = report.clone();
    other.findings.retain(|finding| Some(finding.number) == last);
    assert_eq!(together(&other.findings)[0].number(), last.expect("a finding"));
}

type Box4 = [f64; 4];

fn meet(a: &Box4, b: &Box4) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

fn around(at: Point, half: f64) -> Box4 {
    [at.x - half, at.y - half, at.x + half, at.y + half]
}

fn holds(box4: &Box4, at: Point) -> bool {
    (box4[0]..=box4[2]).contains(&at.x) && (box4[1]..=box4[3]).contains(&at.y)
}

fn cuts(box4: &Box4, line: &Piece) -> bool {
    layrule::draw::canvas::Frame { left: box4[0], top: box4[1], right: box4[2], bottom: box4[3] }
        .cut_by(line.start, line.end)
}

/// A numbered disc on a sheet: its middle, and the leader to its place.
struct Disc {
    at: Point,
    leader: Piece,
}

/// What of a sheet discs are held to.
struct Marked {
    labels: Vec<Box4>,
    /// What leads from labels to their things.
    leads: Vec<Piece>,
    discs: Vec<Disc>,
    cables: Vec<Piece>,
    /// Walls, dimensions with what leads to them, tails and conduits.
    lines: Vec<Piece>,
    /// Boxes, thermostats, tips of sensors.
    signs: Vec<Box4>,
    area: Box4,
}

impl Marked {
    fn read(sheet: &Drawing, measured: &Measured) -> Self {
        let document = Document::parse(&sheet.svg).expect("XML");
        let class =
            |class: &'static str| document.descendants().filter(move |node| node.attribute("class") == Some(class));
        let labels = document.descendants().filter_map(|node| {
            let numbers: Vec<f64> =
                node.attribute("data-frame")?.split(' ').map(|number| number.parse().expect("a number")).collect();
            Some([numbers[0], numbers[1], numbers[2], numbers[3]])
        });
        let end = |node: &Node<'_, '_>, name: &str| {
            p(attribute(node, &format!("x{name}")), attribute(node, &format!("y{name}")))
        };
        let piece = |node: Node<'_, '_>| Piece::new(end(&node, "1"), end(&node, "2"));
        let leads = document.descendants().filter(|node| node.has_attribute("data-frame"));
        let leads = leads.filter_map(|node| node.children().find(|child| child.has_tag_name("line"))).map(piece);
        let discs = class("leader").map(|leader| {
            let disc = leader.next_siblings().skip(1).find(Node::is_element).expect("its disc");
            let ring = disc.children().find(|node| node.has_tag_name("circle")).expect("a ring");
            Disc { at: p(attribute(&ring, "cx"), attribute(&ring, "cy")), leader: piece(leader) }
        });
        let paper = |at: Point| sheet.sheet.on_paper(at);
        let room = measured.room(0).expect("a room").room;
        let runs = room.cables.iter().flat_map(|cable| &cable.runs);
        let own = class("dimension").filter_map(|node| node.children().find(|child| child.has_tag_name("line")));
        let next = room.corners.iter().skip(1).chain(room.corners.first());
        let turned = if layrule::geometry::ring::signed_area(&room.corners) < 0.0 { -1.0 } else { 1.0 };
        let walls = room.corners.iter().zip(next).flat_map(|(a, b)| {
            // The band of a wall, 1.6 mm of paper, on its outer side.
            let (step, scale) = (*b - *a, sheet.sheet.scale * turned);
            let side = p(step.y, -step.x) / step.x.hypot(step.y) * scale;
            [0.0, 0.8, 1.6].map(|by| Piece::new(paper(*a + side * by), paper(*b + side * by)))
        });
        let routes = super::drawing_overlaps::routes(room, sheet).into_iter().map(|(a, b)| Piece::new(a, b));
        let devices = super::drawing_overlaps::devices(room, sheet);
        let drawing = sheet.sheet.drawing;
        Marked {
            labels: labels.collect(),
            leads: leads.collect(),
            discs: discs.collect(),
            cables: runs.map(|run| Piece::new(paper(run.start), paper(run.end))).collect(),
            lines: own.chain(class("leads")).map(piece).chain(walls).chain(routes).collect(),
            signs: devices.map(|at| around(at, 1.2)).collect(),
            area: [drawing.left, drawing.top, drawing.right, drawing.bottom - 12.0],
        }
    }

    /// What a disc lies on that stands there, or what of labels, signs, discs and leaders its own leader crosses.
    fn met(&self, own: usize, at: Point, half: f64) -> Option<&'static str> {
        let frame = around(at, half);
        let to = self.discs[own].leader.end;
        // A leader comes from the edge of the box that is kept free for a disc.
        let edge = around(at, 2.1);
        let from = p(to.x.clamp(edge[0], edge[2]), to.y.clamp(edge[1], edge[3]));
        let leader = Piece::new(from, to);
        let inside =
            frame[0] > self.area[0] && frame[1] > self.area[1] && frame[2] < self.area[2] && frame[3] < self.area[3];
        let others = || self.discs.iter().enumerate().filter(|(index, _)| *index != own).map(|(_, disc)| disc);
        let leaders = |disc: &Disc| {
            disc.leader.length() > 0.0 && disc.leader.end != to && disc.leader.approach(leader).distance < 0.01
        };
        let lead = |lead: &Piece| lead.end != to && lead.approach(leader).distance < 0.01;
        // The cheapest first.
        let met: [(&dyn Fn() -> bool, &str); 12] = [
            (&|| !inside, "the edge"),
            (&|| self.labels.iter().any(|label| meet(label, &frame)), "a label"),
            (&|| self.labels.iter().any(|label| cuts(label, &leader)), "a label, by its leader"),
            (&|| self.cables.iter().any(|run| cuts(&frame, run)), "a cable"),
            (&|| self.lines.iter().any(|line| cuts(&frame, line)), "a wall, a dimension or a tail"),
            (&|| self.signs.iter().any(|sign| meet(sign, &frame)), "a box"),
            (&|| self.signs.iter().any(|sign| !holds(sign, to) && cuts(sign, &leader)), "a box, by its leader"),
            (&|| others().any(|disc| meet(&around(disc.at, 1.9), &frame)), "a disc"),
            (&|| others().any(leaders) || self.leads.iter().any(lead), "a leader, by its own"),
            (&|| others().any(|disc| cuts(&frame, &disc.leader)), "a leader"),
            (&|| self.leads.iter().any(|lead| cuts(&frame, lead)), "a leader"),
            (&|| others().any(|disc| cuts(&around(disc.at, 1.9), &leader)), "a disc, by its leader"),
        ];
        met.into_iter().find(|(met, _)| met()).map(|(_, what)| what)
    }

    /// Discs that stand badly although there is a better place within 40 mm, found by trying every half millimetre; with what they lie on.
    fn badly(&self) -> Vec<(Point, &'static str)> {
        let bad = (0..self.discs.len()).filter_map(|own| Some((own, self.met(own, self.discs[own].at, 1.9)?)));
        let better = |(own, _): &(usize, &str)| {
            let place = self.discs[*own].leader.end;
            let steps = || (-80..=80).map(|step| f64::from(step) * 0.5);
            steps().any(|x| steps().any(|y| self.met(*own, p(place.x + x, place.y + y), 2.4).is_none()))
        };
        bad.filter(better).map(|(own, what)| (self.discs[own].at, what)).collect()
    }
}

/// Over all examples, faults and first tries discs lie on nothing and their leaders cross nothing, but where there is no other place for them; over
/// 300 plans as they vary, so do all but one or two, where several findings lie within a millimetre.
#[test]
fn discs_stand_clear_wherever_they_can() {
    let (mut discs, mut badly) = (0, Vec::new());
    let mut hold = |name: &str, measured: &Measured| {
        let report = checker::untried(measured, &RULES, TODAY);
        let Some(room) = measured.room(0) else { return };
        let sheet = layrule::draw::draw(room, &request(&report));
        let marked = Marked::read(&sheet, measured);
        discs += marked.discs.len();
        badly.extend(marked.badly().into_iter().map(|(at, on)| format!("{name} at {at:?} on {on}")));
    };
    for folder in ["examples", "examples/faults", "examples/first-tries"] {
        for file in std::fs::read_dir(root().join(folder)).expect("a folder").filter_map(Result::ok) {
            let path = file.path();
            if path.extension().is_some_and(|ending| ending == "lay") {
                let name = path.file_name().and_then(|name| name.to_str()).expect("a name").to_string();
                let library = Library::new(&Disk, root(), root());
                hold(&name, &Measured::new(resolve(library.load(&path, &name).expect("the example"))));
            }
        }
    }
    for number in 0..300 {
        hold(&format!("varied {number}"), &Measured::new(plan(&crate::varied::plan(number))));
    }
    for rows in [4, 16] {
        hold(&format!("hall {rows}"), &found(&hall(rows)).0);
    }
    assert!(discs > 300, "{discs}");
    assert!(badly.len() * 300 < discs, "{} of {discs}\n{}", badly.len(), badly.join("\n"));
    assert!(badly.iter().all(|name| name.starts_with("varied")), "{}", badly.join("\n"));
}
