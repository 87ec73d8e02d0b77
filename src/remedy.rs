//! Definite changes to a plan's text: a run moved, a sensor's tip put elsewhere, loops stepped wider, a statement taken out.
//!
//! Each reads the statements that it changes once more, for the places of their numbers. Nothing is given where the text leaves open how
//! the change is to be written: where a number belongs to a whole set of loops, or stands in a `let`.

use crate::finding::{Edit, Fix};
use crate::geometry::Bounds;
use crate::geometry::tolerance::TOUCH;
use crate::layout::parse::{cable_statement, room_statement};
use crate::layout::tree::{self, CableEntry, Expr, ExprKind, PointExpr, RoomEntry};
use crate::measure::index::RunId;
use crate::model::values::direction;
use crate::model::{Deviation, Plan, Point, Room, Run, Sensor};
use crate::quantity::{Dimension, Quantity, Unit};
use crate::source::{Place, Span};

/// Lengths are written to this many parts of a millimetre, the grain by which they are compared.
const PARTS: f64 = 1_000.0;

/// A length as it is written: in its unit, without needless decimals.
fn written(length: f64, unit: Option<&Unit>) -> String {
    let rounded = (length * PARTS).round() / PARTS;
    match unit {
        Some(unit) => Quantity::new(rounded, Dimension::LENGTH).written_in(unit),
        // Adding nothing keeps `-0` from being written.
        None => format!("{}", rounded + 0.0),
    }
}

/// A statement of the plan and its text.
struct Statement<'p> {
    place: Place,
    text: &'p str,
}

impl<'p> Statement<'p> {
    fn at(plan: &'p Plan, place: Place) -> Self {
        Statement { place, text: plan.sources.text(place) }
    }

    fn cable(&self) -> Option<CableEntry> {
        cable_statement(self.text)
    }

    /// A change to a part of it.
    fn edit(&self, span: Span, text: String) -> Edit {
        let start = self.place.span.start;
        let span = Span { start: start + span.start, end: start + span.end };
        Edit { place: Place { file: self.place.file, span }, text }
    }

    /// A length changed by so much; a number is written anew, anything else goes on as a sum.
    fn shift(&self, length: &Expr, by: f64) -> Edit {
        let number = match &length.kind {
            ExprKind::Number(value, unit) => Some((*value, *unit)),
            ExprKind::Negated(inner) => match inner.kind {
                ExprKind::Number(value, unit) => Some((-value, unit)),
                _ => None,
            },
            _ => None,
        };
        let text = match number {
            Some((value, unit)) => written(value * unit.map_or(1.0, |unit| unit.factor) + by, unit),
            None => {
                let own = self.text.get(length.span.range()).unwrap_or("");
                format!("{own} {} {}", if by < 0.0 { '-' } else { '+' }, written(by.abs(), None))
            }
        };
        self.edit(length.span, text)
    }

    /// A point moved by so much.
    fn shift_point(&self, point: &PointExpr, by: Point, edits: &mut Vec<Edit>) {
        for (coordinate, by) in [(&point.x, by.x), (&point.y, by.y)] {
            if (by * PARTS).round() != 0.0 {
                edits.push(self.shift(coordinate, by));
            }
        }
    }
}

/// Makes a run longer by `by`, which must lie along it; nothing where its statement gives no length of its own for that.
fn stretch(plan: &Plan, run: &Run, by: Point) -> Option<Edit> {
    let statement = Statement::at(plan, run.place);
    let CableEntry::Run(heading, length, _) = statement.cable()? else { return None };
    let heading = direction(heading);
    let along = heading.x * by.x + heading.y * by.y;
    let aside = heading.x * by.y - heading.y * by.x;
    (aside == 0.0 && run.length() + along > 0.0).then(|| statement.shift(&length, along))
}

/// Whether a run still goes its way, and has a length, once it starts further on by `by`.
fn along_still(way: Point, by: Point) -> bool {
    let left = way - by;
    left.x * way.x + left.y * way.y > 0.0 && left.x.hypot(left.y) > TOUCH
}

/// Moves a run by `by` (mm) at right angles to itself, away from what lies beside it in the box `from`. What comes before it gets longer
/// or shorter, and what comes after it too, so that the rest stays where it is. Nothing where the box lies off one of its ends: moving
/// it aside is then no help.
pub fn move_run(plan: &Plan, room: &Room, id: RunId, by: f64, from: Bounds) -> Option<Fix> {
    let cable = room.cables.get(id.cable as usize)?;
    let number = id.run as usize;
    let run = cable.runs.get(number)?;
    let along = run.end - run.start;
    // Runs at a slant have neighbours that no one length moves.
    if along.x != 0.0 && along.y != 0.0 {
        return None;
    }
    let Bounds { low, high } = from;
    let beside = |from: f64, to: f64, low: f64, high: f64| to.max(from).min(high) - to.min(from).max(low);
    let overlap = match along.y == 0.0 {
        true => beside(run.start.x, run.end.x, low.x, high.x),
        false => beside(run.start.y, run.end.y, low.y, high.y),
    };
    let middle = (low + high) / 2.0;
    let side = along.x * (middle.y - run.start.y) - along.y * (middle.x - run.start.x);
    if overlap <= TOUCH || side == 0.0 {
        return None;
    }
    let left = Point { x: -along.y, y: along.x } / run.length();
    let by = left * if side > 0.0 { -by } else { by };
    let mut edits = Vec::new();
    match number.checked_sub(1).and_then(|before| cable.runs.get(before)) {
        Some(before) => edits.push(stretch(plan, before, by)?),
        None => {
            let start = Statement::at(plan, cable.start);
            let CableEntry::Start(point, _) = start.cable()? else { return None };
            start.shift_point(&point, by, &mut edits);
            if !cable.tail.is_empty() {
                let tail = Statement::at(plan, cable.tail_place);
                let CableEntry::Tail(own) = tail.cable()? else { return None };
                tail.shift_point(own.points.last()?, by, &mut edits);
            }
        }
    }
    let own = Statement::at(plan, run.place);
    match own.cable()? {
        CableEntry::Run(..) => {}
        CableEntry::RunTo(point, _) => own.shift_point(&point, by, &mut edits),
        // One of a set of loops moves with all of them.
        _ => return None,
    }
    if let Some(after) = cable.runs.get(number + 1) {
        let to_a_point = matches!(Statement::at(plan, after.place).cable()?, CableEntry::RunTo(..));
        // What is drawn to a point gets there from anywhere; it must not come to lie at a slant.
        let way = after.end - after.start;
        match to_a_point {
            true if way.x * by.y == way.y * by.x && along_still(way, by) => {}
            true => return None,
            false => edits.push(stretch(plan, after, Point { x: -by.x, y: -by.y })?),
        }
    }
    let moved = written(by.x.hypot(by.y), None);
    Some(Fix { title: format!("move run {} of cable `{}` by {moved} mm", number + 1, cable.name.text), edits })
}

/// Puts the tip of a sensor at a point.
pub fn put_sensor(plan: &Plan, sensor: &Sensor, at: Point) -> Option<Fix> {
    let statement = Statement::at(plan, sensor.place);
    let RoomEntry::Sensor(tree::Sensor { points, .. }) = room_statement(statement.text)? else { return None };
    let tip = sensor.conduit.last()?;
    let mut edits = Vec::new();
    statement.shift_point(points.last()?, at - *tip, &mut edits);
    let title =
        format!("put the tip of sensor `{}` at ({}, {})", sensor.name.text, written(at.x, None), written(at.y, None));
    (!edits.is_empty()).then_some(Fix { title, edits })
}

/// Steps the loops that a run belongs to by `pitch` (mm).
pub fn step_loops(plan: &Plan, run: &Run, pitch: f64) -> Option<Fix> {
    let statement = Statement::at(plan, run.place);
    let CableEntry::Loops(loops) = statement.cable()? else { return None };
    let ExprKind::Number(value, unit) = loops.pitch.kind else { return None };
    let own = value * unit.map_or(1.0, |unit| unit.factor);
    if own >= pitch {
        return None;
    }
    // Rounded up, so that the step is never less than asked.
    let pitch = (pitch * PARTS - 0.5).ceil() / PARTS;
    let text = written(pitch, unit);
    let title = format!("step these loops by {}", if unit.is_some() { text.clone() } else { format!("{text} mm") });
    Some(Fix { title, edits: vec![statement.edit(loops.pitch.span, text)] })
}

/// Takes a deviation out, with the line that it stands on by itself.
pub fn take_out(plan: &Plan, deviation: &Deviation) -> Option<Fix> {
    let text = &plan.sources.get(deviation.place.file)?.text;
    let range = deviation.place.span.range();
    let (before, after) = (text.get(..range.start)?, text.get(range.end..)?);
    let indent = before.len() - before.trim_end_matches([' ', '\t']).len();
    let rest = after.len() - after.trim_start_matches([' ', '\t', '\r']).len();
    let alone = before[..before.len() - indent].ends_with('\n') && after[rest..].starts_with('\n');
    let range = if alone { range.start - indent..range.end + rest + 1 } else { range };
    let place = Place { file: deviation.place.file, span: Span::new(range) };
    Some(Fix {
        title: format!("take out the deviation from `{}`", deviation.rule.text),
        edits: vec![Edit { place, text: String::new() }],
    })
}
