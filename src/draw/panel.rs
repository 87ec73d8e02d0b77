//! What is written beside the floor: cables, areas, loads, legend, findings, cautions, title.

use super::canvas::{Frame, Item, group, number, straight};
use super::finding_list::{self, Entry, List};
use super::heat;
use super::legend::legend;
use super::lettering::{self, size};
use super::palette as color;
use super::palette::width;
use super::sheet::{COLUMN, FOOT_LENGTH, GAP, Sheet, TITLE_WIDTH};
use super::{Request, View};
use crate::alike::Alike;
use crate::measure::areas::Margins;
use crate::measure::length::laid_length;
use crate::model::{Cable, Point, Stated};
use crate::text::counted;
use crate::worded::Worded as _;

/// The cautions that every sheet bears.
pub const CAUTIONS: &str = include_str!("cautions.txt");

/// Height of a line of text, mm.
const LINE: f64 = 3.7;
/// Height of a line of cautions and notes, mm.
const NOTE_LINE: f64 = 3.4;
/// Height of a heading with the rule above it, mm.
const HEADING: f64 = 6.2;
/// Gap below a block, mm.
const AFTER: f64 = 3.0;

/// Something written, and its height with the gap after it, mm.
struct Block {
    item: Item,
    height: f64,
}

fn p(x: f64, y: f64) -> Point {
    Point { x, y }
}

/// A block with a heading.
fn headed(title: &str, wide: f64, content: Item, height: f64) -> Block {
    let item = group("block")
        .with(straight(p(0.0, 0.0), p(wide, 0.0), color::RULE, width::THIN))
        .with(lettering::line(title, p(0.0, 3.9), size::HEADING, true))
        .with(content.set("transform", format!("translate(0 {HEADING})")));
    Block { item, height: HEADING + height + AFTER }
}

/// Metres for a length in mm.
fn metres(length: f64) -> String {
    format!("{:.1} m", length / 1e3)
}

/// Square metres for an area in mm2.
fn square_metres(area: f64) -> String {
    format!("{:.2} m²", area / 1e6)
}

/// What can be said of a cable, in the order of [`COLUMNS`]; a dash for what can't.
fn cable_row(view: &View<'_>, index: usize, cable: &Cable) -> [String; 7] {
    let kit = cable.kit.and_then(|kit| view.plan.kits.get(kit));
    let dash = |value: Option<String>| value.unwrap_or_else(|| "–".into());
    let laid = match kit.and_then(|kit| kit.bend_radius) {
        Some(radius) => laid_length(&cable.runs, radius),
        None => cable.runs.last().map_or(0.0, |run| run.before + run.length()),
    };
    [
        cable.name.text.clone(),
        dash(kit.map(|kit| kit.name.text.clone())),
        metres(laid),
        dash(kit.map(|kit| metres(kit.length))),
        dash(view.measure.pitch(index).map(|pitch| format!("{} mm", number(pitch, 1)))),
        dash(view.measure.power(cable).map(|power| format!("{power:.0} W"))),
        dash(kit.map(|kit| format!("{} Ω", number(kit.resistance, 1)))),
    ]
}

/// Headings of the table of cables, and where each column ends as a share of the width; the first two columns start there instead.
const COLUMNS: [(&str, f64); 7] = [
    ("cable", 0.0),
    ("kit", 0.16),
    ("laid", 0.47),
    ("supplied", 0.62),
    ("spacing", 0.765),
    ("power", 0.88),
    ("at 20 °C", 1.0),
];

/// The most cables that the table lists.
const MOST_ROWS: usize = 12;

fn cables(view: &View<'_>, wide: f64) -> Option<Block> {
    if view.room.cables.is_empty() {
        return None;
    }
    let mut content = group("cables-table");
    let mut row_at = |row: &[String; 7], y: f64, stroke: &str| {
        for (index, (text, (_, at))) in row.iter().zip(COLUMNS).enumerate() {
            let room = if index < 2 { COLUMNS[index + 1].1 - at - if index == 1 { 0.14 } else { 0.01 } } else { 0.15 };
            let text = lettering::shorten(text, size::SMALL, false, room * wide);
            let at = p(at * wide, y);
            let line = if index < 2 {
                lettering::line(&text, at, size::SMALL, false)
            } else {
                lettering::line_to(&text, at, size::SMALL, false)
            };
            content.push(line.set("fill", stroke));
        }
    };
    row_at(&COLUMNS.map(|(name, _)| name.to_string()), 1.8, color::GREY);
    let mut y = 1.8 + LINE;
    for (index, cable) in view.room.cables.iter().enumerate().take(MOST_ROWS) {
        row_at(&cable_row(view, index, cable), y, color::INK);
        y += LINE;
    }
    if view.room.cables.len() > MOST_ROWS {
        let words = format!("and {} more", view.room.cables.len() - MOST_ROWS);
        content.push(lettering::line(&words, p(0.0, y), size::SMALL, false));
        y += LINE;
    }
    Some(headed("Cables", wide, content, y - LINE + 0.6))
}

/// A list of what is said on the left and how much it is on the right.
fn rows(title: &str, wide: f64, rows: &[(String, String)]) -> Option<Block> {
    if rows.is_empty() {
        return None;
    }
    let mut content = group("rows");
    for (index, (words, value)) in rows.iter().enumerate() {
        let y = 1.8 + LINE * index as f64;
        let taken = lettering::width(value, size::BODY, false) + 2.0;
        let words = lettering::shorten(words, size::BODY, false, wide - taken);
        content.push(lettering::line(&words, p(0.0, y), size::BODY, false));
        content.push(lettering::line_to(value, p(wide, y), size::BODY, false));
    }
    Some(headed(title, wide, content, LINE * rows.len() as f64 - 1.3))
}

fn areas(view: &View<'_>, wide: f64) -> Option<Block> {
    if view.room.corners.is_empty() {
        return None;
    }
    // What a rule keeps clear is the rules' to say: here the floor counts up to whatever stands on it.
    let margins = Margins { clearance: 0.0, free_height: 0.0 };
    let mut found = vec![("room".to_string(), square_metres(view.measure.area()))];
    if !view.room.areas.is_empty() {
        let free = view.measure.free_area(margins).map(square_metres);
        found.extend(free.map(|free| ("free of fixtures and unheated levels".into(), free)));
    }
    if !view.room.cables.is_empty() {
        let heated = view.measure.heated_area(margins).map(square_metres);
        found.extend(heated.map(|heated| ("heated, edge strips included".into(), heated)));
    }
    rows("Areas", wide, &found)
}

fn loads(view: &View<'_>, wide: f64) -> Option<Block> {
    let mut found = Vec::new();
    for (index, thermostat) in view.room.thermostats.iter().enumerate().take(MOST_ROWS) {
        let cables = || view.measure.cables_of(index).map(|cable| &view.room.cables[cable]);
        let power: Option<f64> = cables().map(|cable| view.measure.power(cable)).sum();
        let current: Option<f64> = cables().map(|cable| view.measure.current(cable)).sum();
        let value = match (power, current) {
            // A cable that could not be read may hang on any of them.
            // A sum of nothing is below nothing in its sign.
            (Some(power), Some(current)) if view.room.incomplete.is_none() => {
                format!("{:.0} W, {:.1} A", power + 0.0, current + 0.0)
            }
            _ => "–".into(),
        };
        let own = format!("{}, rated {} A", thermostat.name.text, number(thermostat.rated, 1));
        // What a contactor switches is no load of the thermostat's.
        let contactor = view.room.contactors.iter().find(|contactor| contactor.thermostat == index);
        if let Some(contactor) = contactor {
            let category = contactor.category.map(|category| format!(" {}", category.word())).unwrap_or_default();
            let rated = number(contactor.rated, 1);
            let words = format!("{}, rated {rated} A{category}, for {}", contactor.name.text, thermostat.name.text);
            found.push((words, value));
            found.push((own, "contactor's coil".into()));
        } else {
            found.push((own, value));
        }
    }
    rows("Load by thermostat", wide, &found)
}

/// The supplies that the room's thermostats are on.
fn supplies(view: &View<'_>, wide: f64) -> Option<Block> {
    let mut found: Vec<(String, String)> = Vec::new();
    let fed = |index: usize| view.room.thermostats.iter().any(|thermostat| thermostat.supply == Some(index));
    let supplies = view.plan.supplies.iter().enumerate().filter(|(index, _)| fed(*index));
    for (_, supply) in supplies.take(MOST_ROWS) {
        let figure = |value: &Option<Stated<f64>>| value.as_ref().map(|stated| stated.value);
        let mut parts: Vec<String> = Vec::new();
        parts.extend(figure(&supply.voltage).map(|voltage| format!("{} V", number(voltage, 1))));
        let kind = supply.rcd_type.map(|kind| format!(" type {}", kind.word())).unwrap_or_default();
        parts.extend(figure(&supply.rcd).map(|rcd| format!("RCD {} mA{kind}", number(rcd * 1e3, 1))));
        parts.extend(figure(&supply.breaker).map(|breaker| format!("breaker {} A", number(breaker, 1))));
        parts.extend(figure(&supply.fuse).map(|fuse| format!("fuse {} A", number(fuse, 1))));
        found.push((supply.name.text.clone(), parts.join(", ")));
    }
    rows("Supply", wide, &found)
}

/// The most lines that a note takes, and all of them.
const NOTE_LINES: (usize, usize) = (3, 8);

/// What the record says was built otherwise than drawn.
fn notes(view: &View<'_>, wide: f64) -> Option<Block> {
    let notes = &view.room.record.as_ref()?.notes;
    let lines = (1..).zip(notes).flat_map(|(number, note)| {
        let words = format!("{number}  {}: {}", note.date, note.text);
        lettering::wrap(&words, size::SMALL, false, wide, NOTE_LINES.0)
    });
    let mut lines: Vec<String> = lines.take(NOTE_LINES.1 + 1).collect();
    if lines.len() > NOTE_LINES.1 {
        lines.truncate(NOTE_LINES.1 - 1);
        lines.push("… and more, in the record".into());
    }
    if lines.is_empty() {
        return None;
    }
    let mut content = group("notes");
    for (index, line) in lines.iter().enumerate() {
        content.push(lettering::line(line, p(0.0, 1.8 + NOTE_LINE * index as f64), size::SMALL, false));
    }
    Some(headed("Built otherwise than drawn", wide, content, NOTE_LINE * lines.len() as f64 - 0.7))
}

/// What there was no room for to dimension.
fn lacking(view: &View<'_>, wide: f64) -> Option<Block> {
    if view.lacking.is_empty() {
        return None;
    }
    let lines = lettering::wrap(&view.lacking.join(", "), size::SMALL, false, wide, NOTE_LINES.0);
    let mut content = group("lacking");
    for (index, line) in lines.iter().enumerate() {
        content.push(lettering::line(line, p(0.0, 1.8 + NOTE_LINE * index as f64), size::SMALL, false));
    }
    Some(headed("Not dimensioned, for want of room", wide, content, NOTE_LINE * lines.len() as f64 - 0.7))
}

/// What stands over the list of what was found.
fn list_title(request: &Request<'_>) -> &'static str {
    if request.findings { "Findings" } else { "What can't be read" }
}

/// That rules could not be held to the plan, where some could not.
pub(super) fn unchecked(request: &Request<'_>) -> Option<String> {
    let count = request.unchecked;
    (request.findings && count > 0).then(|| format!("{} not checked", counted(count, "rule")))
}

/// In place of a list: that there is none, or where it is.
fn in_place_of_list(request: &Request<'_>, found: &[Alike<'_>], wide: f64) -> Block {
    let words = match found {
        [] => "none found; that is no approval".to_string(),
        _ => format!("{}, by their numbers in the list", found.len()),
    };
    let lines: Vec<String> = std::iter::once(words).chain(unchecked(request)).collect();
    let mut content = group("finding-list");
    for (index, line) in lines.iter().enumerate() {
        content.push(lettering::line(line, p(0.0, 1.8 + LINE * index as f64), size::BODY, false));
    }
    headed(list_title(request), wide, content, 2.0 + LINE * (lines.len() - 1) as f64)
}

/// A part of the list under its heading.
fn list_block<'e>(title: &str, wide: f64, entries: impl Iterator<Item = &'e Entry>) -> Block {
    let (content, height) = finding_list::column(entries);
    headed(title, wide, content, height)
}

fn cautions(wide: f64) -> Block {
    let mut content = group("cautions");
    let mut y = 1.8;
    for line in lettering::wrap(CAUTIONS, size::SMALL, false, wide, 12) {
        content.push(lettering::line(&line, p(0.0, y), size::SMALL, false));
        y += NOTE_LINE;
    }
    headed("Cautions", wide, content, y - NOTE_LINE + 0.6)
}

/// Which blocks stand in which column, top to bottom, and what stands at the foot of the last one.
struct Columns {
    columns: Vec<Vec<Block>>,
    foot: Vec<Block>,
}

impl Columns {
    /// How high the blocks of a column are, with what stands at its foot, mm.
    fn height(&self, column: usize) -> f64 {
        let foot = if column + 1 == self.columns.len() { height_of(&self.foot) + INSET / 2.0 } else { 0.0 };
        height_of(&self.columns[column]) + foot
    }
}

/// What is written in one column beside the floor, or in two below it. Findings go at the end of the first column.
fn columns(view: &View<'_>, request: &Request<'_>, count: usize) -> Columns {
    let wide = column_width(count);
    let heat_block = || {
        let (content, height) = heat::scale(wide);
        // Below a rug the floor gets warmer than is shaded; rules are held to that.
        let rugs = if view.room.rugs.is_empty() { "" } else { " without rugs" };
        headed(&format!("Floor surface at full power{rugs}, °C"), wide, content, height)
    };
    let (legend_item, legend_height) = legend(view, wide);
    let measured =
        view.figures.then(|| [cables(view, wide), areas(view, wide), loads(view, wide), supplies(view, wide)]);
    let facts = measured.into_iter().flatten().chain([notes(view, wide)]).flatten();
    let key = [Some(headed("Legend", wide, legend_item, legend_height)), lacking(view, wide)];
    let key = key.into_iter().flatten().chain(request.heat.map(|_| heat_block()));
    if count == 1 {
        return Columns { columns: vec![facts.chain(key).collect()], foot: Vec::new() };
    }
    Columns { columns: vec![facts.collect(), key.collect()], foot: vec![cautions(wide)] }
}

/// Gap between what is written and the frame, mm.
const INSET: f64 = 3.0;

/// How many columns as narrow as two below a floor stand in a width, mm.
fn columns_in(wide: f64) -> usize {
    // A little more, so that two stand in the width that they are reckoned from.
    let count = (wide - 2.0 * INSET + GAP) / (column_width(2) + GAP) + 1e-6;
    (count as usize).max(1)
}

/// How wide what is written is, in one column or in several, mm.
fn column_width(count: usize) -> f64 {
    if count == 1 { COLUMN + GAP - 2.0 * INSET } else { (TITLE_WIDTH - 2.0 * INSET - GAP) / 2.0 }
}

fn height_of(blocks: &[Block]) -> f64 {
    blocks.iter().map(|block| block.height).sum()
}

/// Higher than any sheet, mm: what a list needs beyond that makes no difference to where it goes.
const BEYOND: f64 = 1_000.0;

/// Room for one finding of several lines, and its heading, mm.
const ONE_FINDING: f64 = 34.0;

impl Columns {
    /// How many entries of a list go into each column, below what stands there, on a panel so high; and how many are left over.
    fn spread(&self, entries: &[Entry], high: f64) -> (Vec<usize>, usize) {
        let room = |column: usize| high - TOP - self.height(column) - HEADING - AFTER;
        let rooms: Vec<f64> = (0..self.columns.len()).map(room).collect();
        let counts = finding_list::poured(entries, &rooms);
        let left = entries.len() - counts.iter().sum::<usize>();
        (counts, left)
    }
}

/// How high the written part is in two columns side by side: the least, and with every finding listed that a sheet could hold, mm.
pub(super) fn heights(view: &View<'_>, request: &Request<'_>, listed: Option<&List<'_, '_>>) -> (f64, f64) {
    let count = 2;
    let all = columns(view, request, count);
    let least = (0..all.columns.len()).map(|column| all.height(column)).fold(0.0, f64::max) + TOP;
    let Some(listed) = listed else { return (least, least) };
    let wide = column_width(count);
    let own = all.height(0) + TOP;
    if listed.found.is_empty() || !request.list {
        let high = least.max(own + in_place_of_list(request, listed.found, wide).height);
        return (high, high);
    }
    let entries = listed.entries(count, wide);
    // The lowest panel that holds all of it, to a few millimetres.
    let (mut low, mut high) = (least, BEYOND);
    if all.spread(entries, least).1 == 0 {
        high = least;
    }
    while high - low > 2.0 {
        let middle = f64::midpoint(low, high);
        if all.spread(entries, middle).1 == 0 { high = middle } else { low = middle }
    }
    let first = entries.first().map_or(0.0, |entry| entry.height + HEADING + AFTER);
    (least.max(own + first.min(ONE_FINDING)), high)
}

/// Gap between the panel's edge and its first block, mm.
const TOP: f64 = 2.0;

/// The written part on its sheet, and how many findings of the list found room on it.
pub(super) fn panel(view: &View<'_>, request: &Request<'_>, listed: Option<&List<'_, '_>>) -> (Item, usize) {
    let sheet: &Sheet = &view.sheet;
    let frame: Frame = sheet.panel;
    let beside = sheet.beside;
    let count = if beside { 1 } else { 2 };
    let wide = column_width(count);
    let mut all = columns(view, request, count);
    let mut done = 0;
    match listed {
        None => {}
        Some(listed) if listed.found.is_empty() || !request.list => {
            all.columns[0].push(in_place_of_list(request, listed.found, wide));
            done = listed.len();
        }
        Some(listed) => {
            let entries = listed.entries(count, wide);
            let (spread, left) = all.spread(entries, frame.height());
            let mut rest = entries.iter();
            let mut title = list_title(request);
            for (column, count) in spread.into_iter().enumerate().filter(|(_, count)| *count > 0) {
                all.columns[column].push(list_block(title, wide, rest.by_ref().take(count)));
                title = CONTINUED;
            }
            done = entries.len() - left;
        }
    }
    let mut whole = group("panel");
    place(&mut whole, frame, all);
    let end = if beside { p(frame.left, frame.bottom) } else { p(frame.right, frame.top) };
    whole.push(straight(p(frame.left, frame.top), end, color::RULE, width::THIN));
    if beside {
        // Beside the title block, to the right of scale bar and north.
        let left = sheet.frame().left + FOOT_LENGTH + INSET;
        let wide = sheet.title.left - left - INSET;
        let block = cautions(wide);
        let top = sheet.title.bottom - block.height;
        stack(&mut whole, vec![block], left, top);
        let edge = p(sheet.frame().left, sheet.title.top);
        whole.push(straight(edge, p(sheet.title.left, sheet.title.top), color::RULE, width::THIN));
    }
    (whole, done)
}

/// What stands over the list where it goes on.
const CONTINUED: &str = "Findings, continued";

/// A sheet that goes on with the list behind what is `done` of it, and how many findings found room on it; one at least.
pub(super) fn more(view: &View<'_>, list: &List<'_, '_>, done: usize) -> (Item, usize) {
    let frame = Frame { bottom: view.sheet.title.top, ..view.sheet.frame() };
    let count = columns_in(frame.width());
    let wide = column_width(count);
    let columns = (0..count).map(|_| Vec::new()).collect();
    let mut all = Columns { columns, foot: vec![cautions(wide)] };
    let entries = &list.entries(count, wide)[done..];
    let (spread, left) = all.spread(entries, frame.height());
    let mut rest = entries.iter();
    for (column, count) in spread.into_iter().enumerate().filter(|(_, count)| *count > 0) {
        all.columns[column].push(list_block(CONTINUED, wide, rest.by_ref().take(count)));
    }
    let mut whole = group("panel");
    place(&mut whole, frame, all);
    (whole, (entries.len() - left).max(1))
}

/// Puts columns into a frame side by side, what stands at the foot of the last at its bottom.
fn place(whole: &mut Item, frame: Frame, all: Columns) {
    let count = all.columns.len();
    let step = if count == 1 { 0.0 } else { (frame.width() - 2.0 * INSET - column_width(count)) / (count - 1) as f64 };
    let left = frame.left + INSET;
    for (index, blocks) in all.columns.into_iter().enumerate() {
        stack(whole, blocks, left + step * index as f64, frame.top + TOP);
    }
    let foot = frame.bottom - height_of(&all.foot) - INSET / 2.0;
    stack(whole, all.foot, left + step * (count - 1) as f64, foot);
}

/// Puts blocks one below the other.
fn stack(whole: &mut Item, blocks: Vec<Block>, x: f64, top: f64) {
    let mut y = top;
    for block in blocks {
        let moved = format!("translate({} {})", number(x, 3), number(y, 3));
        y += block.height;
        whole.push(block.item.set("transform", moved));
    }
}
