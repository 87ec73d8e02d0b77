//! Names in any script: lettered by the program's own font where it has them, by the machine's where not, and refused where none does.

use layrule::draw::lettering::{has, line, width};
use layrule::draw::{Request, draw};
use layrule::exchange::{dxf_in, dxf_out, rooms::rooms};
use layrule::geometry::Point;
use layrule::measure::plan::Measured;

use crate::common::plan;
use crate::common::program::Folder;

fn room(title: &str) -> String {
    format!("room r \"{title}\" {{\n  outline (0, 0) (3000, 0) (3000, 2000) (0, 2000)\n}}\n")
}

fn svg(title: &str) -> String {
    let measured = Measured::new(plan(&room(title)));
    let request = Request::new(&[]);
    draw(measured.room(0).expect("a room"), &request).svg
}

/// The elements that hold a text.
fn written(svg: &str, text: &str) -> Vec<String> {
    let document = roxmltree::Document::parse(svg).expect("XML");
    let own = document.descendants().filter(|node| node.has_tag_name("text") && node.text() == Some(text));
    own.map(|node| svg[node.range()].to_string()).collect()
}

#[test]
fn greek_and_cyrillic_are_lettered_by_the_programs_own_font() {
    let folder = Folder::new(&[]);
    for title in ["Λουτρό", "Ванная комната", "Łazienka"] {
        assert!(title.chars().all(|c| c == ' ' || has(c)), "{title}");
        let drawn = written(&svg(title), title);
        assert!(!drawn.is_empty() && drawn.iter().all(|text| text.contains("textLength")), "{title}: {drawn:?}");
        std::fs::write(folder.path("r.lay"), room(title)).expect("written");
        assert_eq!(folder.run(&["draw", "r.lay", "-o", "r.png"]).0, 0, "{title}");
    }
}

/// What another font letters is as long as it comes out there; made to fit, it would be stretched.
#[test]
fn other_scripts_stay_whole_and_are_never_stretched() {
    for title in ["浴室", "حمام", "חדר אמבטיה", "स्नानघर"] {
        let drawn = written(&svg(title), title);
        assert!(!drawn.is_empty() && drawn.iter().all(|text| !text.contains("textLength")), "{title}: {drawn:?}");
    }
    let plain = line("bath", Point { x: 0.0, y: 0.0 }, 2.5, false).write();
    assert!(plain.contains("textLength"), "{plain}");
}

/// Chinese letters fill their square (Unicode Standard Annex 11), and a sign over a letter takes no room of its own.
#[test]
fn letters_of_other_fonts_take_the_room_of_their_kind() {
    assert!(!has('浴') && (width("浴室", 2.5, false) - 5.0).abs() < 1e-9);
    let (bare, marked) = (width("ש", 2.5, false), width("ש\u{5b8}", 2.5, false));
    assert!(bare > 1.0 && (bare - marked).abs() < 1e-9, "{bare} {marked}");
}

/// A letter for private use, which no font has: nothing is drawn in its place.
#[test]
fn letters_that_no_font_has_are_refused() {
    let folder = Folder::new(&[("r.lay", &room("Bath \u{10fffd}"))]);
    for file in ["r.png", "r.pdf"] {
        let (code, _, said) = folder.run(&["draw", "r.lay", "-o", file]);
        let said = said.split_whitespace().filter(|word| *word != "│").collect::<Vec<_>>().join(" ");
        assert!(
            code == 2
                && said.contains("no font on this machine has U+10FFFD; install a font for that script, or write SVG"),
            "{said}"
        );
        assert!(!folder.path(file).exists());
    }
    assert_eq!(folder.run(&["draw", "r.lay", "-o", "r.svg"]).0, 0);
}

#[test]
fn names_of_any_script_go_through_a_dxf() {
    for title in ["Ванная", "浴室", "حمام", "स्नानघर", "Küche 100 %%d ^I"] {
        let plan = plan(&room(title));
        let drawn = dxf_out::draw(&plan, &[&plan.rooms[0]]).expect("drawn");
        let traced = dxf_in::trace(&drawn.bytes, None).expect("read");
        let found = rooms(&traced, None).expect("a room");
        assert_eq!(found[0].title.as_deref(), Some(title));
    }
}
