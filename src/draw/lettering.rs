//! Text: measured by the font that goes with the program, so that a drawing is the same on a machine without fonts.
//!
//! Letters that the font lacks are given the room that those of their kind take, and are left to the fonts of whoever shows the drawing;
//! [`super::export`] looks for such fonts itself, and refuses what none has.

use std::sync::LazyLock;

use ttf_parser::Face;
use unicode_width::UnicodeWidthChar as _;

use super::canvas::{Item, clean, item, number};
use super::palette::{INK, PAPER};
use crate::model::Point;

/// The family that drawings name, with what serves where it isn't there.
pub const FAMILY: &str = "'Noto Sans', 'DejaVu Sans', Arial, sans-serif";

/// Sizes of type on paper, mm. Capitals are 0.714 of it high: 2.53 gives the 1.8 mm that ISO 3098-1 starts from, and nothing is smaller.
pub mod size {
    /// Room title.
    pub const TITLE: f64 = 3.5;
    /// Headings.
    pub const HEADING: f64 = 2.8;
    /// Everything else.
    pub const BODY: f64 = 2.53;
    /// Run numbers, and what is said by the way.
    pub const SMALL: f64 = BODY;
}

/// Height of a capital or a figure, as a share of the size.
pub const CAPITAL: f64 = 0.714;
/// How far letters reach below the line.
pub const BELOW: f64 = 0.22;

struct Faces {
    regular: Option<Face<'static>>,
    bold: Option<Face<'static>>,
}

static FACES: LazyLock<Faces> = LazyLock::new(|| Faces {
    regular: Face::parse(ttf_noto_sans::REGULAR, 0).ok(),
    bold: Face::parse(ttf_noto_sans::BOLD, 0).ok(),
});

/// Width of a letter that the font lacks, as a share of the size: of one that takes two columns of a terminal, as Chinese ones do, and of
/// any other. A sign that stands over another takes none.
const WIDE: f64 = 1.0;
const OTHER: f64 = 0.66;

fn unknown(c: char) -> f64 {
    match c.width() {
        Some(2) => WIDE,
        Some(1) => OTHER,
        _ => 0.0,
    }
}

/// Whether the font that goes with the program has a character.
pub fn has(c: char) -> bool {
    FACES.regular.as_ref().is_some_and(|face| face.glyph_index(c).is_some())
}

/// Whether letters of a text stand one after the other as the font has them: of scripts from Hebrew to Khmer some run the other way, join or
/// change places.
fn is_plain(text: &str) -> bool {
    text.chars().all(|c| has(c) && !matches!(c, '\u{590}'..='\u{109f}' | '\u{1780}'..='\u{17ff}'))
}

/// The width of a text, mm.
///
/// ```
/// use layrule::draw::lettering::width;
/// assert!((width("0123456789", 2.5, false) - 25.0 * 0.572).abs() < 0.01);
/// ```
pub fn width(text: &str, size: f64, bold: bool) -> f64 {
    let face = if bold { &FACES.bold } else { &FACES.regular };
    let Some(face) = face else { return text.chars().count() as f64 * size * 0.6 };
    let em = f64::from(face.units_per_em());
    let advance = |c: char| {
        let glyph = face.glyph_index(c)?;
        Some(f64::from(face.glyph_hor_advance(glyph)?) / em)
    };
    text.chars().map(|c| advance(c).unwrap_or_else(|| unknown(c))).sum::<f64>() * size
}

/// A text cut to a width, mm, with an ellipsis where it was longer.
pub fn shorten(text: &str, size: f64, bold: bool, most: f64) -> String {
    let text = clean(text);
    if width(&text, size, bold) <= most {
        return text;
    }
    let mut kept = String::new();
    let mut so_far = width("…", size, bold);
    for c in text.chars() {
        so_far += width(c.encode_utf8(&mut [0; 4]), size, bold);
        if so_far > most {
            break;
        }
        kept.push(c);
    }
    format!("{}…", kept.trim_end())
}

/// A text broken into lines of a width, mm, at its spaces; a word longer than a line is broken too. No more than `most` lines, the last then
/// ending in an ellipsis.
pub fn wrap(text: &str, size: f64, bold: bool, line: f64, most: usize) -> Vec<String> {
    let text = clean(text);
    let mut lines: Vec<String> = Vec::new();
    let mut current = String::new();
    let mut rest = text.split_whitespace();
    let mut pending: Option<String> = None;
    while let Some(word) = pending.take().or_else(|| rest.next().map(String::from)) {
        let joined = if current.is_empty() { word.clone() } else { format!("{current} {word}") };
        if width(&joined, size, bold) <= line {
            current = joined;
        } else if !current.is_empty() {
            lines.push(std::mem::take(&mut current));
            pending = Some(word);
        } else {
            let mut head = String::new();
            let mut so_far = 0.0;
            for c in word.chars() {
                so_far += width(c.encode_utf8(&mut [0; 4]), size, bold);
                if so_far > line && !head.is_empty() {
                    break;
                }
                head.push(c);
            }
            pending = word.get(head.len()..).filter(|tail| !tail.is_empty()).map(String::from);
            lines.push(head);
        }
        if lines.len() > most {
            break;
        }
    }
    if !current.is_empty() {
        lines.push(current);
    }
    if lines.len() > most {
        lines.truncate(most);
        if let Some(last) = lines.last_mut() {
            *last = shorten(&format!("{last} …………"), size, bold, line.min(width(last, size, bold) + size));
        }
    }
    lines
}

/// A line of text that starts at a point of its base line. Its measured length goes with it where it is lettered by the program's own font, so
/// that another takes no more room.
pub fn line(text: &str, at: Point, size: f64, bold: bool) -> Item {
    let text = clean(text);
    let long = width(&text, size, bold);
    let mut written = item("text").num("x", at.x).num("y", at.y).num("font-size", size);
    // What is shaped, or comes from another font, is as long as it comes out: made to fit, it would be stretched.
    if text.chars().count() > 1 && is_plain(&text) {
        written = written.set("textLength", number(long, 3)).set("lengthAdjust", "spacingAndGlyphs");
    }
    if bold {
        written = written.set("font-weight", "bold");
    }
    written.text(&text)
}

/// A line of text that ends at the point.
pub fn line_to(text: &str, at: Point, size: f64, bold: bool) -> Item {
    line(text, Point { x: at.x - width(text, size, bold), y: at.y }, size, bold)
}

/// Written text turned to be read from the right, starting at the point and going up.
pub fn upright(written: Item, at: Point) -> Item {
    written.set("transform", format!("rotate(-90 {} {})", number(at.x, 3), number(at.y, 3)))
}

/// Written text with the paper's colour round its letters, to be read over lines.
pub fn haloed(written: Item) -> Item {
    written
        .set("paint-order", "stroke")
        .set("stroke", PAPER)
        .set("stroke-width", "0.5")
        .set("stroke-linejoin", "round")
        .set("fill", INK)
}
