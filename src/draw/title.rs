//! The title block, in the lower right corner (ISO 7200): whose drawing it is, what it shows, who drew and checked it.

use super::canvas::{Frame, Item, group, number, straight};
use super::lettering::{self, size};
use super::palette as color;
use super::palette::width;
use super::{Request, View};
use crate::model::{By, Point};
use crate::source::FileId;

/// Height of a row, mm; three of them make the block.
const ROW: f64 = super::sheet::TITLE_HEIGHT / 3.0;
/// Gap between a field's edge and its words, mm.
const INSET: f64 = 1.2;

/// A field: what it is called, what it says, how wide it is, mm, and whether it stands out.
struct Field {
    name: &'static str,
    text: String,
    wide: f64,
    large: bool,
}

fn field(name: &'static str, text: impl Into<String>, wide: f64) -> Field {
    Field { name, text: text.into(), wide, large: false }
}

/// Who did something, and when.
fn by(by: Option<&By>) -> String {
    let date = |by: &By| by.date.map(|date| format!(", {date}")).unwrap_or_default();
    by.map(|by| format!("{}{}", by.name, date(by))).unwrap_or_default()
}

/// The name of the plan's file; where it lies on somebody's machine is nobody's business.
fn file_name(view: &View<'_>) -> String {
    let name = view.plan.sources.get(FileId(0)).map_or("", |file| file.name.as_str());
    name.rsplit(['/', '\\']).next().unwrap_or_default().to_string()
}

/// The rows of fields, each as wide as the block.
fn rows(view: &View<'_>, request: &Request<'_>, shows: &str) -> [Vec<Field>; 3] {
    let block = &view.plan.title_block;
    let said = |text: &Option<String>| text.clone().unwrap_or_default();
    let (sheet, count) = request.sheet;
    let name = view.room.title.as_deref().unwrap_or(&view.room.name.text);
    let date = request.date.map(|date| date.to_string()).unwrap_or_default();
    let paper = view.sheet.paper.word();
    let scale =
        if view.sheet.scale > 0.0 { format!("1:{}, {paper}", number(view.sheet.scale, 0)) } else { paper.to_string() };
    [
        vec![
            field("owner", said(&block.owner), 56.0),
            Field { large: true, ..field("title", name, 72.0) },
            field("drawing number", said(&block.number), 34.0),
            field("revision", said(&block.revision), 18.0),
        ],
        vec![
            field("address", said(&block.address), 56.0),
            field("shows", shows, 56.0),
            field("scale, paper", scale, 24.0),
            field("sheet", format!("{sheet} of {count}"), 20.0),
            field("date", date, 24.0),
        ],
        vec![
            field("drawn", by(block.drawn.as_ref()), 45.0),
            field("checked", by(block.checked.as_ref()), 45.0),
            field("approved", by(block.approved.as_ref()), 45.0),
            field("plan, drawn with layrule", file_name(view), 45.0),
        ],
    ]
}

/// The block on its sheet. `shows` is the kind of document, such as a layout.
pub(super) fn block(view: &View<'_>, request: &Request<'_>, shows: &str) -> Item {
    let frame: Frame = view.sheet.title;
    let p = |x: f64, y: f64| Point { x, y };
    let mut whole = group("title-block");
    for (index, row) in rows(view, request, shows).into_iter().enumerate() {
        let top = frame.top + ROW * index as f64;
        let edge = if index == 0 { width::BROAD } else { width::THIN };
        whole.push(straight(p(frame.left, top), p(frame.right, top), color::INK, edge));
        let mut left = frame.left;
        for field in row {
            let most = field.wide - 2.0 * INSET;
            let letters = if field.large { size::TITLE } else { size::BODY };
            let text = lettering::shorten(&field.text, letters, field.large, most);
            let name = lettering::line(field.name, p(left + INSET, top + 3.0), size::SMALL, false);
            let text = lettering::line(&text, p(left + INSET, top + 7.3), letters, field.large);
            whole.push(name.set("fill", color::GREY));
            whole.push(text.set("data-field", field.name));
            if left > frame.left {
                whole.push(straight(p(left, top), p(left, top + ROW), color::INK, width::THIN));
            }
            left += field.wide;
        }
    }
    whole.with(straight(p(frame.left, frame.top), p(frame.left, frame.bottom), color::INK, width::BROAD))
}

/// Marks in the middle of each side, by which a copy is lined up (ISO 5457, recalled).
pub(super) fn centring_marks(view: &View<'_>) -> Item {
    let sheet = &view.sheet;
    let frame = sheet.frame();
    let p = |x: f64, y: f64| Point { x, y };
    let (x, y) = (sheet.width / 2.0, sheet.height / 2.0);
    let mark = |a: Point, b: Point| straight(a, b, color::INK, 0.7);
    group("centring-marks")
        .with(mark(p(x, frame.top), p(x, frame.top - 5.0)))
        .with(mark(p(x, frame.bottom), p(x, frame.bottom + 5.0)))
        .with(mark(p(frame.left, y), p(frame.left - 5.0, y)))
        .with(mark(p(frame.right, y), p(frame.right + 5.0, y)))
}
