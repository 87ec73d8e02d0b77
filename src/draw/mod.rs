//! The plan as a picture: one sheet a room, to scale, as SVG; from that, PNG and PDF.
//!
//! One unit of a sheet is 1 mm of paper. The floor is drawn in its own coordinates (mm, y to the north) under one transform, so that what a
//! drawing says of the floor can be read back from it. A drawing knows nothing of rules; it shows the findings it is handed.

mod cable;
pub mod canvas;
mod devices;
mod dimensions;
pub mod export;
mod finding_list;
mod findings;
mod ghost;
pub mod heat;
mod inline;
mod labels;
mod laying_table;
mod legend;
pub mod lettering;
mod notes;
pub mod palette;
mod panel;
mod parts;
mod room;
mod setting_out;
pub mod sheet;
mod tiles;
mod title;

use crate::alike::{Alike, together};
use crate::finding::Finding;
use crate::geometry::Bounds;
use crate::measure::room::RoomMeasure;
use crate::measure::temperature_map::TemperatureMap;
use crate::model::{Plan, Point, Room};
use canvas::{Frame, Item, finished, group, item, number};
use finding_list::List;
use labels::Labels;
use setting_out::SettingOut;
use sheet::{Paper, Scales, Sheet};

pub use ghost::Ghost;
pub use inline::inline;
pub use laying_table::{heading, laying_table, running};
pub use panel::CAUTIONS;
pub use tiles::tiles;

/// What is asked of a drawing.
#[derive(Debug, Clone, Copy)]
pub struct Request<'a> {
    /// The paper; chosen to fit where not given.
    pub paper: Option<Paper>,
    /// The scales that it may have.
    pub scales: Scales,
    /// The date that the title block bears.
    pub date: Option<jiff::civil::Date>,
    /// Whether `found` are the findings of rules too, rather than what reading the plan found alone.
    pub findings: bool,
    /// What was found in the plan.
    pub found: &'a [Finding],
    /// Whether that is listed on the sheet, and on as many more as it takes, rather than elsewhere.
    pub list: bool,
    /// How many rules could not be held to the plan.
    pub unchecked: usize,
    /// The temperatures to shade the floor by.
    pub heat: Option<&'a TemperatureMap>,
    /// The room as it was, which is shown behind it.
    pub ghost: Option<Ghost<'a>>,
    /// Which sheet this is, and of how many.
    pub sheet: (usize, usize),
}

impl<'a> Request<'a> {
    /// Asks for nothing in particular: one sheet of whatever size suits, with what reading the plan found listed.
    pub fn new(found: &'a [Finding]) -> Self {
        Request {
            paper: None,
            scales: Scales::Standard,
            date: None,
            findings: false,
            found,
            list: true,
            unchecked: 0,
            heat: None,
            ghost: None,
            sheet: (1, 1),
        }
    }
}

/// A sheet drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// What it shows.
    pub title: String,
    /// Its paper and scale.
    pub sheet: Sheet,
    /// That in a sentence, for those who don't see it.
    pub shows: String,
    /// SVG, as a file holds it.
    pub svg: String,
}

/// A room as it is being drawn.
#[derive(Clone)]
struct View<'a> {
    plan: &'a Plan,
    room: &'a Room,
    measure: RoomMeasure<'a>,
    ghost: Option<Ghost<'a>>,
    sheet: Sheet,
    /// Whether lengths laid, spacings, clearances, areas and loads are shown.
    figures: bool,
    /// What there was no room for to dimension.
    lacking: &'a [String],
    /// How findings are marked on the sheet.
    marks: findings::Marks,
}

/// Draws a measured room on one sheet; [`sheets`] has those that go on with a list for which it has no room.
pub fn draw(measure: RoomMeasure<'_>, request: &Request<'_>) -> Drawing {
    drawn(measure, request, true, 1).0
}

/// The most sheets that a list goes on over.
const MOST_SHEETS: usize = 200;

/// Draws a measured room, and goes on with the list of what was found over as many sheets as it takes.
pub fn sheets(measure: RoomMeasure<'_>, request: &Request<'_>) -> Vec<Drawing> {
    let (first, more) = drawn(measure, request, true, MOST_SHEETS);
    std::iter::once(first).chain(more).collect()
}

/// The sheets of a room.
#[derive(Debug, Clone, PartialEq)]
pub struct RoomSheets {
    /// Its drawing, and those that go on with the list.
    pub drawn: Vec<Drawing>,
    /// Its laying table, where that is asked for.
    pub table: Vec<Drawing>,
}

/// The sheets of some rooms, each with its laying table if so asked, numbered through.
pub fn sheets_of_rooms<'r, 'a: 'r>(
    rooms: impl Iterator<Item = (RoomMeasure<'a>, Request<'r>)> + Clone,
    tables: bool,
) -> Vec<RoomSheets> {
    let of = |counts: &[usize]| -> Vec<RoomSheets> {
        let all = counts.iter().sum();
        let before = |index: usize| counts.iter().take(index).sum::<usize>();
        let numbered = rooms.clone().enumerate();
        let room = |(index, (room, request)): (usize, (RoomMeasure<'a>, Request<'r>))| {
            let first = before(index) + 1;
            let drawn = sheets(room, &Request { sheet: (first, all), ..request });
            let sheet = (first + drawn.len(), all);
            let table = if tables { laying_table(room, &Request { sheet, ..request }) } else { Vec::new() };
            RoomSheets { drawn, table }
        };
        numbered.map(room).collect()
    };
    let ones: Vec<usize> = rooms.clone().map(|_| 1).collect();
    let drawn = of(&ones);
    // How many there are in all is known once they are drawn, and mostly each is one.
    let counts: Vec<usize> = drawn.iter().map(|room| room.drawn.len() + room.table.len()).collect();
    if counts == ones { drawn } else { of(&counts) }
}

/// Draws a measured room for somebody who is to find what is wrong with it: without lengths laid, spacings, clearances, areas, loads and
/// findings. `sheet` says which sheet it is, and of how many.
pub fn draw_unmeasured(measure: RoomMeasure<'_>, paper: Option<Paper>, sheet: (usize, usize)) -> Drawing {
    let request = Request { paper, scales: Scales::Close, list: false, sheet, ..Request::new(&[]) };
    drawn(measure, &request, false, 1).0
}

/// A sheet, and more of them that go on with its list, so many in all at the most.
fn drawn(measure: RoomMeasure<'_>, request: &Request<'_>, figures: bool, most: usize) -> (Drawing, Vec<Drawing>) {
    let RoomMeasure { plan, room, .. } = measure;
    let mut bounds = extent(room);
    if let Some(ghost) = request.ghost {
        let Bounds { low, high } = extent(ghost.room);
        bounds = Bounds::around(&[bounds.low, bounds.high, low + ghost.offset, high + ghost.offset]);
    }
    let own = request.found.iter().filter(|finding| finding.room.as_ref().is_none_or(|name| *name == room.name.text));
    let found: Vec<Alike<'_>> = together(own);
    let marks = if request.findings { findings::Marks::of(&found) } else { findings::Marks::default() };
    let sheet = Sheet::blank();
    let blank = View { plan, room, measure, ghost: request.ghost, sheet, figures, lacking: &[], marks };
    let list = List::new(&blank, &found, panel::unchecked(request));
    let listed = (request.findings || !found.is_empty()).then_some(&list);
    let fit = |out: &SettingOut| {
        Sheet::fit(&sheet::Wanted {
            bounds,
            surround: setting_out::surround(&out.rows),
            paper: request.paper,
            scales: request.scales,
            heights: &|| panel::heights(&View { lacking: &out.lacking, ..blank.clone() }, request, listed),
        })
    };
    let (mut out, mut sheet) = setting_out::fitted(&blank, fit);
    // What in slanting walls has no room beside them is known once it has been tried.
    let lacks = |sheet: &Sheet, out: &SettingOut| {
        let view = View { sheet: sheet.clone(), ..blank.clone() };
        if setting_out::slanting(&view).is_empty() {
            return Vec::new();
        }
        dimensions::walls(&view, &mut labels(&view), bounds, &out.rows).1
    };
    let slanting = lacks(&sheet, &out);
    if !slanting.is_empty() {
        let before = out.lacking.len();
        out.lacking.extend(slanting);
        sheet = fit(&out);
        let again = lacks(&sheet, &out);
        out.lacking.truncate(before);
        out.lacking.extend(again);
    }
    let SettingOut { rows: dimensions, lacking, .. } = out;
    let view = View { sheet, lacking: &lacking, ..blank.clone() };
    let title = room.title.clone().unwrap_or_else(|| room.name.text.clone());
    let drawing = |shows: String, svg: String| Drawing { title: title.clone(), shows, sheet: view.sheet.clone(), svg };
    let (first, mut done) = write(&view, request, &found, listed, (bounds, &dimensions));
    let mut more = Vec::new();
    while let Some(list) = listed.filter(|list| done < list.len() && more.len() + 1 < most) {
        let sheet = (request.sheet.0 + more.len() + 1, request.sheet.1);
        let (svg, count) = write_more(&view, &Request { sheet, ..*request }, list, done);
        more.push(drawing(CONTINUED.to_string(), svg));
        done += count;
    }
    (drawing(describe(&view), first), more)
}

/// The box round everything in a room, mm.
fn extent(room: &Room) -> Bounds {
    let runs = room.cables.iter().flat_map(|cable| cable.runs.iter().flat_map(|run| [run.start, run.end]));
    let tails = room.cables.iter().flat_map(|cable| {
        let second = cable.second_tail.iter().flat_map(|tail| tail.route.iter().copied());
        cable.tail.iter().copied().chain(second)
    });
    let boxes = room.junctions.iter().map(|junction| junction.at);
    let thermostats = room.thermostats.iter().map(|thermostat| thermostat.at);
    let conduits = room.sensors.iter().flat_map(|sensor| sensor.conduit.iter().copied());
    let shapes = room.areas.iter().map(|area| &area.shape).chain(room.rugs.iter().map(|rug| &rug.shape));
    let areas = shapes.flat_map(|shape| shape.bounds().corners());
    let lines = room.lines.iter().flat_map(|line| line.points.iter().copied());
    let leaves = room.lines.iter().filter_map(|line| room::open_leaf(room, line)).flatten();
    let noted = room.record.iter().flat_map(|record| record.marks().map(|(_, at)| at));
    let points: Vec<Point> = room
        .corners
        .iter()
        .copied()
        .chain(runs)
        .chain(tails)
        .chain(boxes)
        .chain(thermostats)
        .chain(conduits)
        .chain(areas)
        .chain(lines)
        .chain(leaves)
        .chain(noted)
        .collect();
    Bounds::around(&points)
}

/// The sheet with the floor, and how many findings of the list found room on it.
fn write(
    view: &View<'_>,
    request: &Request<'_>,
    found: &[Alike<'_>],
    listed: Option<&List<'_, '_>>,
    (bounds, dimensions): (Bounds, &[setting_out::Row]),
) -> (String, usize) {
    let sheet = &view.sheet;
    let mut floor = group("plan")
        .set("id", "plan")
        .set("transform", sheet.transform())
        .set("data-scale", number(sheet.scale, 0))
        .with(room::hatches(view))
        .with(room::walls(view));
    let shading = request.heat.filter(|_| !view.room.corners.is_empty());
    floor.extend(shading.map(|map| heat::floor(view, map)));
    floor = floor.with(room::areas(view, shading.is_some()));
    floor.extend(ghost::ghost(view));
    floor = floor.with(room::lines(view)).with(cable::cables(view));
    floor.extend((!view.room.rugs.is_empty()).then(|| room::rugs(view)));
    if !view.room.corners.is_empty() {
        floor = floor.with(room::outline(view)).with(room::thresholds(view));
    }
    floor = floor.with(devices::devices(view));
    let found = if request.findings { found } else { &[] };
    floor.extend(findings::on_floor(view, found));

    let mut labels = labels(view);
    // What must be there first, what may be left out last.
    let mut words = group("labels").with(dimensions::walls(view, &mut labels, bounds, dimensions).0);
    // These have one place each, and names many.
    words.extend(view.figures.then(|| dimensions::clearances(view, &mut labels)));
    words = words
        .with(room::labels(view, &mut labels))
        .with(devices::labels(view, &mut labels))
        .with(dimensions::wall_names(view, &mut labels));
    words = words.with(cable::end_labels(view, &mut labels));
    words.extend(notes::marks(view, &mut labels));
    words = words
        .with(findings::marks(view, found, &mut labels))
        .with(cable::run_numbers(view, &mut labels))
        .with(cable::metre_numbers(view, &mut labels));

    words.extend(shading.map(|map| heat::labels(view, map, &mut labels)));

    let (panel, done) = panel::panel(view, request, listed);
    let drawn = [floor, words, legend::scale_bar(view), panel];
    (page(view, request, &describe(view), drawn), done)
}

/// A sheet on which nothing is written yet, what is drawn barred.
fn labels(view: &View<'_>) -> Labels {
    let sheet = &view.sheet;
    let mut labels = Labels::new(sheet.drawing.grown(-1.0), cable::pieces(view));
    if !sheet.beside {
        let foot = Frame {
            top: sheet.drawing.bottom - sheet::FOOT,
            right: sheet.drawing.left + sheet::FOOT_LENGTH,
            ..sheet.drawing
        };
        labels.bar(foot, labels::BARRED);
    }
    room::obstacles(view, &mut labels);
    devices::obstacles(view, &mut labels);
    labels
}

/// What a sheet shows that goes on with the list.
const CONTINUED: &str = "The list of findings, continued.";

/// A sheet that goes on with the list, and how many findings found room on it.
fn write_more(view: &View<'_>, request: &Request<'_>, list: &List<'_, '_>, done: usize) -> (String, usize) {
    let (panel, count) = panel::more(view, list, done);
    (page(view, request, CONTINUED, [panel]), count)
}

/// A sheet with what is drawn on it, as a file holds it.
fn page(view: &View<'_>, request: &Request<'_>, description: &str, drawn: impl IntoIterator<Item = Item>) -> String {
    let sheet = &view.sheet;
    let name = view.room.title.as_deref().unwrap_or(&view.room.name.text);
    let border = sheet.frame();
    let mut whole = svg(sheet, &format!("Heating cable layout: {name}"), description)
        .with(Frame::new(0.0, 0.0, sheet.width, sheet.height).item().set("fill", palette::PAPER));
    whole.extend(drawn);
    let whole = whole.with(title::block(view, request, "heating cable layout")).with(title::centring_marks(view));
    finished(&whole.with(border.item().set("class", "border").line(palette::INK, palette::width::BROAD)))
}

/// What the drawing shows, for those who don't see it.
fn describe(view: &View<'_>) -> String {
    use crate::text::counted;
    let room = view.room;
    let runs: usize = room.cables.iter().map(|cable| cable.runs.len()).sum();
    format!(
        "A room of {} with {} in {}, drawn 1:{}.",
        counted(room.walls.len(), "wall"),
        counted(room.cables.len(), "heating cable"),
        counted(runs, "run"),
        number(view.sheet.scale, 0)
    )
}

/// The outermost element of a sheet, with what it is called and what it shows.
fn svg(sheet: &Sheet, title: &str, shows: &str) -> Item {
    item("svg")
        .set("xmlns", "http://www.w3.org/2000/svg")
        .set("width", format!("{}mm", number(sheet.width, 2)))
        .set("height", format!("{}mm", number(sheet.height, 2)))
        .set("viewBox", format!("0 0 {} {}", number(sheet.width, 2), number(sheet.height, 2)))
        .set("font-family", lettering::FAMILY)
        .set("fill", palette::INK)
        .set("role", "img")
        .with(item("title").text(title))
        .with(item("desc").text(shows))
}
