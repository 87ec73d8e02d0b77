//! Definite changes to a plan's text: a run moved, a sensor's conduit led in elsewhere, loops stepped wider or laid anew, a statement taken out.
//!
//! Each reads the statements that it changes once more, for the places of their numbers. Nothing is given where the text leaves open how
//! the change is to be written: where a number belongs to a whole set of loops, or stands in a `let`.

use crate::finding::{Edit, Fix, OtherKit};
use crate::geometry::tolerance::TOUCH;
use crate::geometry::{Bounds, cross, dot};
use crate::layout::parse::{cable_statement, floor_layer, room_statement};
use crate::layout::tree::{self, CableEntry, Expr, ExprKind, Heading, LoopCount, Loops, PointExpr, RoomEntry};
use crate::measure::index::RunId;
use crate::measure::lay_anew::{Layout, Place as LoopsPlace};
use crate::measure::room::RoomMeasure;
use crate::model::values::direction;
use crate::model::{Cable, Deviation, Floor, LayerBody, Plan, Point, Room, Run, Sensor};
use crate::quantity::{Dimension, Quantity, Unit};
use crate::source::{Place, Span};
use crate::worded::Worded as _;

/// Lengths are written to this many parts of a millimetre, the grain by which they are compared.
const PARTS: f64 = 1_000.0;

/// Advice is given in whole millimetres: on site nothing less is measured. Kits are told by the tenth of a metre.
const WHOLE_KIT: f64 = 100.0;

/// A length rounded up to whole millimetres, what is one already left as it is.
fn up(length: f64) -> f64 {
    (length - 1.0 / PARTS).ceil().max(1.0)
}

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
        let start = self.place.span.start();
        let span = Span::new(start + span.start()..start + span.end());
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

/// Moves a run by `by` (mm, rounded up to whole ones) at right angles to itself, away from what lies beside it in the box `from`. What comes before it gets longer
/// or shorter, and what comes after it too, so that the rest stays where it is. Nothing where the box lies off one of its ends: moving
/// it aside is then no help.
pub fn move_run(plan: &Plan, room: &Room, id: RunId, by: f64, from: Bounds) -> Option<Fix> {
    let cable = room.cables.get(id.in_room())?;
    let number = id.in_cable();
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
    let by = left * if side > 0.0 { -up(by) } else { up(by) };
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
    Some(Fix::new(format!("move run {} of cable `{}` by {moved} mm", number + 1, cable.name.text), edits))
}

/// Puts the tip of a sensor at a point; nothing where its conduit would then end askew.
pub fn put_sensor(measured: &RoomMeasure<'_>, sensor: usize, at: Point) -> Option<Fix> {
    let (plan, own) = (measured.plan, measured.room.sensors.get(sensor)?);
    let statement = Statement::at(plan, own.place);
    let RoomEntry::Sensor(tree::Sensor { points, .. }) = room_statement(statement.text)? else { return None };
    let (tip, rest) = own.conduit.split_last()?;
    let before = rest.last().copied().unwrap_or(measured.room.thermostats.get(own.thermostat)?.at);
    let (now, then) = (*tip - before, at - before);
    if cross(now, then).abs() > TOUCH * dot(now, now).sqrt() || dot(now, then) <= 0.0 {
        return None;
    }
    let mut edits = Vec::new();
    statement.shift_point(points.last()?, at - *tip, &mut edits);
    let title =
        format!("put the tip of sensor `{}` at ({}, {})", own.name.text, written(at.x, None), written(at.y, None));
    (!edits.is_empty()).then(|| Fix::new(title, edits))
}

/// A line of points as a statement has it.
fn points_written(points: &[Point]) -> String {
    let each: Vec<String> =
        points.iter().map(|point| format!("({}, {})", written(point.x, None), written(point.y, None))).collect();
    each.join(" ")
}

/// Writes a sensor's conduit anew.
fn conduit_edit(plan: &Plan, sensor: &Sensor, conduit: &[Point]) -> Option<Edit> {
    let statement = Statement::at(plan, sensor.place);
    let RoomEntry::Sensor(tree::Sensor { points, .. }) = room_statement(statement.text)? else { return None };
    let span = points.first()?.span.to(points.last()?.span);
    Some(statement.edit(span, points_written(conduit)))
}

/// Leads a sensor's conduit in where loops are open, `depth` mm into the heated floor.
pub fn lead_in(measured: &RoomMeasure<'_>, sensor: usize, depth: f64) -> Option<Fix> {
    let own = measured.room.sensors.get(sensor)?;
    let conduit = measured.lead_in(sensor, depth)?;
    let edit = conduit_edit(measured.plan, own, &conduit)?;
    let title = format!("lead the conduit of sensor `{}` along {}", own.name.text, points_written(&conduit));
    (measured.plan.sources.text(edit.place) != edit.text).then(|| Fix::new(title, vec![edit]))
}

/// The length that a kit is advised by, mm.
fn kit_advised(length: f64) -> f64 {
    ((length / WHOLE_KIT).round() * WHOLE_KIT).max(WHOLE_KIT)
}

fn other_kit(measured: &RoomMeasure<'_>, cable: &Cable, length: f64) -> (OtherKit, String) {
    let title = format!("choose a kit of {} m for cable `{}`", written(length / 1e3, None), cable.name.text);
    (OtherKit { room: measured.room.name.text.clone(), cable: cable.name.text.clone(), length }, title)
}

/// Takes a cable to be of a kit of `length` mm.
pub fn choose_kit(measured: &RoomMeasure<'_>, cable: usize, length: f64) -> Option<Fix> {
    let (kit, title) = other_kit(measured, measured.room.cables.get(cable)?, kit_advised(length));
    Some(Fix { kits: vec![kit], advised_only: true, ..Fix::new(title, Vec::new()) })
}

/// The loops that a cable ends with, from the first statement of them to the last.
struct LastLoops<'p> {
    statement: Statement<'p>,
    loops: Box<Loops>,
    /// Where the statement counts them.
    count: Span,
    /// Where the last statement ends.
    end: usize,
    place: LoopsPlace,
}

/// The loops that a cable ends with: parallel runs as long as each other, but for a shorter last one, begun by a statement of loops in numbers.
fn last_loops<'p>(plan: &'p Plan, cable: &Cable, number: usize) -> Option<LastLoops<'p>> {
    let mut firsts = cable.runs.iter().enumerate().filter(|(at, run)| {
        let before = at.checked_sub(1).and_then(|before| cable.runs.get(before));
        before.is_none_or(|before| before.place != run.place)
    });
    firsts.find_map(|(first, run)| {
        let statement = Statement::at(plan, run.place);
        // Most statements of a cable drawn run by run are told by their first letters.
        if !statement.text.starts_with("loops") {
            return None;
        }
        let Some(CableEntry::Loops(loops)) = statement.cable() else { return None };
        let is_number = |expr: &Expr| matches!(expr.kind, ExprKind::Number(..));
        let (along, stepping) = (direction(loops.heading), direction(loops.stepping));
        let length = run.length();
        let (rows, last) = (&cable.runs[first..], cable.runs.last()?);
        // Rows and steps by turns, rows to and fro.
        let as_they_should = rows.iter().enumerate().all(|(at, run)| {
            let (way, long) = (run.end - run.start, run.length());
            let wanted = match at % 4 {
                0 => along,
                2 => along * -1.0,
                _ => stepping,
            };
            let straight = (way - wanted * long).x.abs() + (way - wanted * long).y.abs() <= TOUCH;
            let shorter = run == last && long <= length + TOUCH;
            straight && (at % 2 == 1 || shorter || (long - length).abs() <= TOUCH)
        });
        let LoopCount::Counted(count) = &loops.count else { return None };
        let numbers = [count, &loops.length, &loops.pitch].into_iter().all(is_number);
        if !numbers || !as_they_should || rows.len().is_multiple_of(2) || last.place.file != run.place.file {
            return None;
        }
        // Notes between the statements would be lost.
        let text = &plan.sources.get(run.place.file)?.text;
        let whole = text.get(run.place.span.range().start..last.place.span.range().end)?;
        if whole.contains('#') {
            return None;
        }
        let extent = dot(last.end - run.start, stepping);
        let place = LoopsPlace { cable: number, first, along, stepping, length, extent };
        let count = count.span;
        Some(LastLoops { statement, loops, count, end: last.place.span.end(), place })
    })
}

fn opposite(heading: Heading) -> Heading {
    match heading {
        Heading::East => Heading::West,
        Heading::West => Heading::East,
        Heading::North => Heading::South,
        Heading::South => Heading::North,
    }
}

impl LastLoops<'_> {
    /// The changes that lay them otherwise, and what they come to in words.
    fn laid(&self, plan: &Plan, layout: &Layout) -> Option<(Vec<Edit>, String)> {
        let Loops { length, pitch, heading, stepping, .. } = &*self.loops;
        let mut edits = vec![
            self.statement.edit(self.count, layout.loops.to_string()),
            self.statement.edit(length.span, written(layout.length, None)),
            self.statement.edit(pitch.span, written(layout.pitch, None)),
        ];
        let mut words = format!(
            "in {} loops of {} {}, stepping {} {}",
            layout.loops,
            written(layout.length, None),
            heading.word(),
            written(layout.pitch, None),
            stepping.word()
        );
        let back = if layout.loops % 2 == 1 { opposite(*heading) } else { *heading };
        let mut more = String::new();
        if let Some(last) = layout.last {
            words.push_str(&format!(", and a last run of {} {}", written(last, None), back.word()));
            // Under the loops, in their columns.
            let file = &plan.sources.get(self.statement.place.file)?.text;
            let start = self.statement.place.span.range().start;
            let indent = &file[file[..start].rfind('\n').map_or(0, |at| at + 1)..start];
            if !indent.chars().all(|c| c == ' ' || c == '\t') {
                return None;
            }
            let wide = self.statement.text.find(|c: char| c.is_ascii_digit())?;
            for (heading, length) in [(*stepping, layout.pitch), (back, last)] {
                more.push_str(&format!("\n{indent}{:wide$}{} {}", "run", heading.word(), written(length, None)));
            }
        }
        let own = self.statement.place;
        let span = Span::new(own.span.end()..self.end);
        if !span.range().is_empty() || !more.is_empty() {
            edits.push(Edit { place: Place { file: own.file, span }, text: more });
        }
        Some((edits, words))
    }
}

/// Lays the last loops of some cables of a room anew, `clear` mm from walls and what stands on the floor, so that the whole kit lies there: each
/// of the ways for each cable, or with kits of other lengths, `kits` mm in all, each of the ways for all of them. Sensors that then would
/// lie wrong go along.
pub fn lay_anew(measured: &RoomMeasure<'_>, cables: &[usize], kits: Option<f64>, clear: f64) -> Vec<Fix> {
    let kit_of = |cable: usize| measured.room.cables.get(cable)?.kit.and_then(|kit| measured.plan.kits.get(kit));
    let in_all: f64 = cables.iter().filter_map(|cable| kit_of(*cable)).map(|kit| kit.length).sum();
    let mut each = Vec::new();
    for number in cables {
        let Some((cable, kit)) = measured.room.cables.get(*number).zip(kit_of(*number)) else { return Vec::new() };
        let Some(last) = last_loops(measured.plan, cable, *number) else {
            match kits {
                None => continue,
                Some(_) => return Vec::new(),
            }
        };
        let length = kits.map_or(kit.length, |kits| kit_advised(kits * kit.length / in_all));
        let layouts = measured.layouts(last.place, length, kit.bend_radius.unwrap_or(0.0), clear);
        each.push((cable, last, length, layouts));
    }
    let ways = each.iter().map(|(.., layouts)| layouts.len()).max().unwrap_or_default();
    let one_by_one = kits.is_none();
    let mut fixes = Vec::new();
    for way in 0..ways {
        let chosen: Vec<_> = each
            .iter()
            .filter_map(|(cable, last, length, layouts)| {
                let layout = if one_by_one { layouts.get(way) } else { layouts.get(way).or(layouts.last()) };
                Some((*cable, last, *length, layout?))
            })
            .collect();
        if one_by_one {
            fixes.extend(chosen.iter().filter_map(|one| laid_together(measured, std::slice::from_ref(one), false)));
        } else if chosen.len() == each.len() {
            fixes.extend(laid_together(measured, &chosen, true));
        }
    }
    fixes
}

/// A cable, its loops, the length of its kit (mm), and how they are to lie.
type Laid<'l, 'p> = (&'l Cable, &'l LastLoops<'p>, f64, &'l Layout);

/// The change that lays some cables anew at once, and leads in the sensors that go along.
fn laid_together(measured: &RoomMeasure<'_>, cables: &[Laid<'_, '_>], other_kits: bool) -> Option<Fix> {
    let (mut edits, mut words, mut kits) = (Vec::new(), Vec::new(), Vec::new());
    for (cable, last, length, layout) in cables {
        let (own, phrase) = last.laid(measured.plan, layout)?;
        edits.extend(own);
        words.push(if other_kits {
            let (kit, choose) = other_kit(measured, cable, *length);
            kits.push(kit);
            format!("{choose} and lay it {phrase}")
        } else {
            format!("lay cable `{}` {phrase}", cable.name.text)
        });
    }
    let changes: Vec<(LoopsPlace, Layout)> =
        cables.iter().map(|(_, last, _, layout)| (last.place, (*layout).clone())).collect();
    for (sensor, conduit) in measured.sensors_with(&changes)? {
        let own = measured.room.sensors.get(sensor)?;
        edits.push(conduit_edit(measured.plan, own, &conduit)?);
        words.push(format!("lead the conduit of sensor `{}` along {}", own.name.text, points_written(&conduit)));
    }
    Some(Fix { advised_only: !kits.is_empty(), kits, ..Fix::new(words.join("; "), edits) })
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
    let pitch = up(pitch);
    let text = written(pitch, unit);
    let title = format!("step these loops by {}", if unit.is_some() { text.clone() } else { format!("{text} mm") });
    Some(Fix::new(title, vec![statement.edit(loops.pitch.span, text)]))
}

/// Lays so much insulated backer board (mm, rounded up to whole ones) under a floor's cable, which may lie against it.
pub fn insulate(plan: &Plan, floor: &Floor, by: f64) -> Option<Fix> {
    let (holding, _) = floor.cable()?;
    let place = floor.layers.get(holding)?.name.place;
    let text = &plan.sources.get(place.file)?.text;
    let start = place.span.range().start;
    let indent = &text[text[..start].rfind('\n').map_or(0, |at| at + 1)..start];
    let end = start + text[start..].find('\n')?;
    if !indent.chars().all(|c| c == ' ' || c == '\t') {
        return None;
    }
    let thick = written(up(by), None);
    let edit = Edit {
        place: Place { file: place.file, span: Span::new(end..end) },
        text: format!("\n{indent}board  {thick} mm"),
    };
    let title = format!("lay {thick} mm of insulating board under the cable");
    Some(Fix { advised_only: true, ..Fix::new(title, vec![edit]) })
}

/// Puts the centre of a floor's cable `at` (mm) over the underside of its layer, and makes that `thickness` (mm, rounded up to whole ones) where
/// it is thinner.
pub fn embed(plan: &Plan, floor: &Floor, at: f64, thickness: f64) -> Option<Fix> {
    let (holding, height) = floor.cable()?;
    let layer = floor.layers.get(holding)?;
    let LayerBody::Solid { thickness: there, .. } = layer.body else { return None };
    let statement = Statement::at(plan, layer.place);
    let line = floor_layer(statement.text)?;
    let mut edits = vec![statement.shift(line.cable.as_ref()?, at - height)];
    let (name, at) = (&layer.name.text, written(at, None));
    let title = if there < thickness {
        let thickness = up(thickness);
        edits.insert(0, statement.shift(&line.thickness, thickness - there));
        format!(
            "make `{name}` {} mm thick, with the cable's centre {at} mm over its underside",
            written(thickness, None)
        )
    } else {
        format!("let the cable's centre lie {at} mm over the underside of `{name}`")
    };
    Some(Fix { advised_only: true, ..Fix::new(title, edits) })
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
    let title = format!("take out the deviation from `{}`", deviation.rule.text);
    Some(Fix::new(title, vec![Edit { place, text: String::new() }]))
}
