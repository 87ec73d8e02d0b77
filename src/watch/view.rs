//! What the page shows, as data.

use serde::Serialize;

use crate::checker::Report;
use crate::draw::sheet::Scales;
use crate::draw::{Request, draw, inline};
use crate::finding::Finding;
use crate::measure::plan::Measured;
use crate::report::Summary;
use crate::source::FileId;

/// A plan as the page shows it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct View {
    /// The plan's file.
    pub file: String,
    /// How much was found, in words.
    pub summary: String,
    /// A drawing a room.
    pub rooms: Vec<RoomView>,
    /// In the order that numbers them.
    pub findings: Vec<FindingView>,
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
}

/// A finding.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FindingView {
    /// By which the drawing marks it.
    pub number: usize,
    /// `error`, `warning` or `note`.
    pub severity: &'static str,
    /// The rule that found it.
    pub rule: String,
    /// One sentence.
    pub message: String,
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
                    paper: None,
                    scales: Scales::default(),
                    date,
                    findings: true,
                    found: &report.findings,
                    unchecked: report.rules_unchecked(),
                    heat: None,
                    ghost: None,
                    sheet: (number, count),
                };
                draw(room, &request)
            })
            .collect();
        let spot = |finding: &Finding| {
            let room = plan.rooms.iter().position(|room| Some(&room.name.text) == finding.room.as_ref())?;
            let at = drawings[room].sheet.on_paper(finding.at?);
            Some((room, at.x, at.y))
        };
        let finding = |(number, finding): (usize, &Finding)| FindingView {
            number,
            severity: finding.severity.word(),
            rule: finding.rule.to_string(),
            message: finding.message.clone(),
            advice: finding.advice.clone().filter(|_| finding.accepted.is_none()),
            agreed: finding.accepted.as_ref().map(|accepted| accepted.reason.clone()),
            place: plan.sources.file_and_line(finding.place()),
            spot: spot(finding),
        };
        let mut summary = Summary::default();
        summary.add(report);
        let rooms = plan.rooms.iter().zip(&drawings).zip(1..).map(|((room, drawing), number)| {
            let svg = inline(&drawing.svg, &format!("room-{number}-"))?;
            Ok(RoomView { name: room.name.text.clone(), title: drawing.title.clone(), svg })
        });
        Ok(View {
            file: plan.sources.get(FileId(0)).map_or_else(String::new, |file| file.name.clone()),
            summary: summary.findings(),
            rooms: rooms.collect::<Result<_, String>>()?,
            findings: (1..).zip(&report.findings).map(finding).collect(),
        })
    }
}
