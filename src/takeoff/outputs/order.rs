//! The order list in each form.

use std::fmt::Write as _;

use serde::Serialize;
use textwrap::core::display_width;

use super::{DASH, Form, rounded, titled};
use crate::report::Worded as _;
use crate::report::csv_text::plain;
use crate::report::markdown::escaped;
use crate::takeoff::order::{Item, Order, Sum};
use crate::takeoff::{Told, Value};
use crate::text::counted;

/// The version of the JSON form; it grows when a reader of an older one could go wrong.
pub const VERSION: u32 = 1;

/// An order list in a form. Text is broken to `width` columns, where there is one.
pub fn write_order(order: &Order, form: Form, width: Option<usize>) -> Vec<u8> {
    match form {
        Form::Text => text(order, width).into_bytes(),
        Form::Json => json(order),
        Form::Csv => csv(order),
        Form::Markdown => markdown(order).into_bytes(),
    }
}

/// What is said of what the sums leave out.
fn left_out(order: &Order) -> Vec<String> {
    let mut said = Vec::new();
    if !order.complete {
        said.push("Not all of every plan could be read; this is as far as it goes.".to_string());
    }
    if order.items.iter().flat_map(Item::sums).any(|sum| sum.missing > 0) {
        said.push("A sum with + is of what could be told; rooms with a dash take more.".to_string());
    }
    said
}

fn heading(order: &Order) -> String {
    format!("{}, {}", counted(order.plans, "plan"), counted(order.rooms, "room"))
}

fn shown(value: &Told<Value>) -> String {
    value.as_ref().map_or_else(|_| DASH.into(), Value::text)
}

fn shown_sum(sum: &Sum) -> String {
    match (&sum.told, sum.missing) {
        (None, _) => DASH.into(),
        (Some(value), 0) => value.text(),
        (Some(value), _) => format!("{} +", value.text()),
    }
}

/// One part of the list: what heads it, and a row an item, its name and what is ordered of it.
struct Section {
    heading: String,
    rows: Vec<(String, String)>,
}

/// What all rooms take, then each room's share.
fn sections(order: &Order) -> Vec<Section> {
    let row = |item: &Item, amounts: Vec<String>| {
        let amounts = item.figures.iter().zip(amounts).map(|(what, amount)| format!("{} {amount}", what.words()));
        (item.name.clone(), amounts.collect::<Vec<_>>().join(", "))
    };
    let sums = order.items.iter().map(|item| row(item, item.sums().iter().map(shown_sum).collect()));
    let mut sections = vec![Section { heading: "in sum".into(), rows: sums.collect() }];
    let places = order.items.iter().flat_map(|item| item.places.iter().map(move |place| (item, place)));
    let mut places: Vec<_> = places.collect();
    // In the order of the plans and their rooms; within a room that of the items.
    places.sort_by_key(|(_, place)| place.room_number);
    for room in places.chunk_by(|(_, one), (_, next)| one.room_number == next.room_number) {
        let (_, first) = room[0];
        let heading = format!("{}: {}", first.file, titled(&first.room, first.title.as_deref()));
        let rows = room.iter().map(|(item, place)| row(item, place.values.iter().map(shown).collect()));
        sections.push(Section { heading, rows: rows.collect() });
    }
    sections
}

/// How wide the names of items are shown at the most; a longer one pushes the rest along.
const NAME: usize = 36;

fn text(order: &Order, columns: Option<usize>) -> String {
    let mut text = format!("order list: {}\n", heading(order));
    if order.items.is_empty() {
        text.push_str("\nnothing to order\n");
        return text;
    }
    let names = order.items.iter().map(|item| display_width(&item.name));
    let width = names.max().unwrap_or(0).min(NAME);
    for section in sections(order) {
        let _ = writeln!(text, "\n{}", section.heading);
        for (name, amounts) in section.rows {
            let blanks = " ".repeat(width.saturating_sub(display_width(&name)));
            let _ = writeln!(text, "  {name}{blanks}  {amounts}");
        }
    }
    for line in left_out(order) {
        let _ = write!(text, "\n{line}\n");
    }
    let _ = writeln!(text, "\n{}", super::text::wrapped(crate::CAUTION, columns));
    text
}

fn markdown(order: &Order) -> String {
    let mut text = format!("## Order list: {}\n", heading(order));
    for section in sections(order) {
        let _ = writeln!(text, "\n### {}\n\n| item | amounts |\n| --- | --- |", escaped(&section.heading));
        for (name, amounts) in section.rows {
            let _ = writeln!(text, "| {} | {} |", escaped(&name), escaped(&amounts));
        }
    }
    for line in left_out(order) {
        let _ = write!(text, "\n{line}\n");
    }
    let _ = writeln!(text, "\n{}", escaped(crate::CAUTION));
    text
}

const HEADER: [&str; 8] = ["kind", "item", "figure", "file", "room", "value", "unit", "missing"];

/// A row a figure and room; those of the sums name no file and no room.
fn csv(order: &Order) -> Vec<u8> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    // Writing to memory doesn't fail.
    let mut row = |cells: [String; 8]| drop(writer.write_record(cells));
    row(HEADER.map(String::from));
    for item in &order.items {
        for (number, (what, sum)) in item.figures.iter().zip(item.sums()).enumerate() {
            let mut cells = |file: &str, room: &str, value: Option<&Value>, missing: String| {
                let (value, unit) = value.and_then(Value::measured).unzip();
                row([
                    item.kind.word().into(),
                    plain(&item.name),
                    what.name.into(),
                    plain(file),
                    plain(room),
                    value.map_or_else(String::new, |value| rounded(value).to_string()),
                    unit.unwrap_or_default(),
                    missing,
                ]);
            };
            for place in &item.places {
                let value = place.values[number].as_ref();
                let why = value.err().map_or_else(String::new, |why| plain(why));
                cells(&place.file, &place.room, value.ok(), why);
            }
            let missing = if sum.missing > 0 { format!("of {}", counted(sum.missing, "room")) } else { String::new() };
            cells("", "", sum.told.as_ref(), missing);
        }
    }
    writer.into_inner().unwrap_or_default()
}

#[derive(Serialize)]
struct JsonOrder<'o> {
    format: &'static str,
    version: u32,
    plans: usize,
    rooms: usize,
    complete: bool,
    items: Vec<JsonItem<'o>>,
    caution: &'static str,
}

#[derive(Serialize)]
struct JsonItem<'o> {
    kind: &'static str,
    name: &'o str,
    figures: Vec<JsonFigure<'o>>,
}

#[derive(Serialize)]
struct JsonFigure<'o> {
    name: &'static str,
    unit: Option<String>,
    sum: Option<f64>,
    missing: usize,
    rooms: Vec<JsonPlace<'o>>,
}

#[derive(Serialize)]
struct JsonPlace<'o> {
    file: &'o str,
    room: &'o str,
    value: Option<f64>,
    missing: Option<&'o str>,
}

fn json_figure(item: &Item, number: usize, sum: Sum) -> JsonFigure<'_> {
    let (total, unit) = sum.told.as_ref().and_then(Value::measured).unzip();
    let places = item.places.iter().map(|place| {
        let value = place.values[number].as_ref();
        JsonPlace {
            file: &place.file,
            room: &place.room,
            value: value.ok().and_then(Value::measured).map(|(value, _)| rounded(value)),
            missing: value.err().map(String::as_str),
        }
    });
    let name = item.figures[number].name;
    JsonFigure { name, unit, sum: total.map(rounded), missing: sum.missing, rooms: places.collect() }
}

fn json(order: &Order) -> Vec<u8> {
    let items = order.items.iter().map(|item| JsonItem {
        kind: item.kind.word(),
        name: &item.name,
        figures: item.sums().into_iter().enumerate().map(|(number, sum)| json_figure(item, number, sum)).collect(),
    });
    let whole = JsonOrder {
        format: "layrule-order",
        version: VERSION,
        plans: order.plans,
        rooms: order.rooms,
        complete: order.complete,
        items: items.collect(),
        caution: crate::CAUTION,
    };
    super::json::bytes(&whole)
}
