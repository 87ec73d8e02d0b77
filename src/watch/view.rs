//! What the page shows, as data.

use serde::Serialize;

use crate::alike::{Alike, together};
use crate::checker::Report;
use crate::draw::{Request, draw, inline};
use crate::finding::Finding;
use crate::measure::plan::Measured;
use crate::model::{Plan, Room, Run};
use crate::report::Summary;
use crate::source::{FileId, Place, printable};

/// A plan as the page shows it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct View {
    /// The plan's file.
    pub file: String,
    /// How much was found, in words.
    pub summary: String,
    /// A drawing a room.
    pub rooms: Vec<RoomView>,
    /// In the order that numbers them; those that go together once.
    pub findings: Vec<FindingView>,
    /// The lines of the plan's own file; none where there are too many.
    pub lines: Vec<String>,
}

/// The drawing of a room.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RoomView {
    /// The room's name.
    pub name: String,
    /// What people call it.
    pub title: String,
    /// The drawing.
    pub svg: String,
    /// mm of floor in one of paper.
    pub scale: f64,
    /// Where the plan's origin lies on the paper, mm.
    pub origin: (f64, f64),
    /// The names of its cables.
    pub cables: Vec<String>,
    /// Where each run lies and what lays it.
    pub runs: Vec<RunView>,
}

/// A run: its start and end, mm of floor; the index of its cable, its number there, and the line of the plan's own file that lays it, or 0.
pub type RunView = (f64, f64, f64, f64, usize, usize, usize);

/// The most lines of a plan that are shown.
const MOST_LINES: usize = 10_000;

fn runs(plan: &Plan, room: &Room) -> Vec<RunView> {
    let near = |value: f64| (value * 10.0).round() / 10.0;
    let line = |place: Place| {
        let file = plan.sources.get(place.file).filter(|_| place.file == FileId(0));
        file.map_or(0, |file| file.line_and_column(place.span.start()).0)
    };
    let cables = room.cables.iter().enumerate();
    let runs =
        cables.flat_map(|(index, cable)| cable.runs.iter().zip(1..).map(move |(run, number)| (index, run, number)));
    let view = |(cable, run, number): (usize, &Run, usize)| {
        (near(run.start.x), near(run.start.y), near(run.end.x), near(run.end.y), cable, number, line(run.place))
    };
    runs.map(view).collect()
}

/// A finding.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FindingView {
    /// By which the drawing marks it.
    pub number: u32,
    /// `error`, `warning` or `note`.
    pub severity: &'static str,
    /// The rule that found it.
    pub rule: String,
    /// One sentence.
    pub message: String,
    /// That there are more like it, where there are.
    pub others: Option<String>,
    /// What to do.
    pub advice: Option<String>,
    /// Why it was agreed to, where it was.
    pub agreed: Option<String>,
    /// File and line.
    pub place: String,
    /// Where it is on a drawing: the room's number, from 0, and the point, mm of paper; nothing where it is at no one place.
    pub spot: Option<(usize, f64, f64)>,
}

impl View {
    /// A plan with what was found in it.
    ///
    /// # Errors
    /// When a drawing can't be put into a page.
    pub fn of(measured: &Measured, report: &Report, date: Option<jiff::civil::Date>) -> Result<View, String> {
        let plan = measured.plan();
        let count = plan.rooms.len();
        let drawings: Vec<_> = measured
            .rooms()
            .zip(1..)
            .map(|(room, number)| {
                let request = Request {
                    date,
                    findings: true,
                    list: false,
                    unchecked: report.rules_unchecked(),
                    sheet: (number, count),
                    ..Request::new(&report.findings)
                };
                draw(room, &request)
            })
            .collect();
        let spot = |finding: &Finding| {
            let room = plan.rooms.iter().position(|room| Some(&room.name.text) == finding.room.as_ref())?;
            let at = drawings[room].sheet.on_paper(finding.at()?);
            Some((room, at.x, at.y))
        };
        let finding = |found: Alike<'_>| {
            let finding = found.worst;
            FindingView {
                number: found.number(),
                severity: finding.severity.word(),
                rule: finding.rule.to_string(),
                message: finding.message.clone(),
                others: found.others(),
                advice: finding.advice.clone().filter(|_| finding.accepted.is_none()),
                agreed: finding.accepted.as_ref().map(|accepted| accepted.reason.clone()),
                place: plan.sources.file_and_line(finding.place()),
                spot: spot(finding).or_else(|| found.all.iter().find_map(|finding| spot(finding))),
            }
        };
        let text = plan.sources.get(FileId(0)).map_or("", |file| file.shown());
        let lines: Vec<String> = text.lines().take(MOST_LINES + 1).map(|line| printable(line.to_string())).collect();
        let lines = if lines.len() > MOST_LINES { Vec::new() } else { lines };
        let mut summary = Summary::default();
        summary.add(report);
        let rooms = plan.rooms.iter().zip(&drawings).zip(1..).map(|((room, drawing), number)| {
            let svg = inline(&drawing.svg, &format!("room-{number}-"))?;
            let (scale, origin) = (drawing.sheet.scale, (drawing.sheet.origin.x, drawing.sheet.origin.y));
            let cables = room.cables.iter().map(|cable| cable.name.text.clone()).collect();
            let (name, title, runs) = (room.name.text.clone(), drawing.title.clone(), runs(plan, room));
            Ok(RoomView { name, title, svg, scale, origin, cables, runs })
        });
        Ok(View {
            file: plan.sources.get(FileId(0)).map_or_else(String::new, |file| file.name.clone()),
            summary: summary.findings(),
            rooms: rooms.collect::<Result<_, String>>()?,
            findings: together(&report.findings).into_iter().map(finding).collect(),
            lines,
        })
    }
}
