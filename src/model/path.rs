//! Walks the paths of outlines and cables.

use super::resolve::Resolver;
use super::values::direction;
use super::{Point, Run, Wall};
use crate::finding::{Finding, ids};
use crate::layout::tree::{CableEntry, Heading, Leg, Loops, Outline};
use crate::quantity::Dimension;
use crate::source::{FileId, Place};

/// The most runs that the cables of a plan may have in all: of a hall of 15 000 m2 laid at 75 mm, were none longer than 1 m.
pub const MOST_RUNS: usize = 200_000;

/// The shortest that a run or a wall can be, mm: below what lengths are compared to.
pub const SHORTEST: f64 = 1e-3;

impl Resolver {
    /// The corners of an outline and the walls between them.
    pub(super) fn outline(&mut self, file: FileId, outline: &Outline) -> Option<(Vec<Point>, Vec<Wall>)> {
        let first = self.values.point(file, &outline.first)?;
        let mut corners = vec![first];
        let mut walls = Vec::with_capacity(outline.legs.len() + 1);
        let mut last_span = outline.first.span;
        let mut here = first;
        let mut whole = true;
        for leg in &outline.legs {
            let (next, span) = match leg {
                Leg::To(point) => (self.values.point(file, point), last_span.to(point.span)),
                Leg::Along(heading, length, span) => {
                    let place = Place { file, span: *span };
                    let end = self
                        .values
                        .quantity(file, length, Dimension::LENGTH)
                        .map(|length| here + direction(*heading) * length);
                    (end.filter(|end| self.values.within_reach(*end, place)), *span)
                }
            };
            let Some(next) = next else {
                whole = false;
                continue;
            };
            walls.push(Wall { title: None, outside: false, place: Place { file, span } });
            last_span = match leg {
                Leg::To(point) => point.span,
                Leg::Along(.., span) => *span,
            };
            corners.push(next);
            here = next;
        }
        if !whole {
            return None;
        }
        // A walk may end by stepping back onto its first corner; the closing wall is then drawn already.
        if corners.len() > 1 && (here - first).x.hypot((here - first).y) < SHORTEST {
            corners.pop();
        } else {
            walls.push(Wall { title: None, outside: false, place: Place { file, span: last_span } });
        }
        Some((corners, walls))
    }

    /// The place of a cable's start and its straight pieces, or nothing where a statement of its path is at fault.
    pub(super) fn runs(
        &mut self,
        file: FileId,
        entries: &[CableEntry],
        name: &str,
        place: Place,
    ) -> Option<(Place, Vec<Run>)> {
        let mut walk = Walk { file, here: None, before: 0.0, runs: Vec::new() };
        let mut started = None;
        let mut whole = true;
        for entry in entries {
            let (done, span) = match entry {
                CableEntry::Kit(_) | CableEntry::Tail(..) | CableEntry::By(_) => continue,
                CableEntry::Start(point, span) => {
                    let place = Place { file, span: *span };
                    if started.is_some() {
                        self.fault(Finding::reading(
                            ids::PLAN,
                            format!("cable `{name}` starts twice"),
                            place,
                            "a cable can't be cut and begun again",
                        ));
                        return None;
                    }
                    started = Some(place);
                    walk.here = self.values.point(file, point);
                    (walk.here.is_some(), *span)
                }
                CableEntry::Run(heading, length, span) => {
                    let length = self.values.positive(file, length, Dimension::LENGTH);
                    let done = started.is_some()
                        && length.is_some_and(|length| walk.along(self, *heading, length, Place { file, span: *span }));
                    (done, *span)
                }
                CableEntry::RunTo(point, span) => {
                    let end = self.values.point(file, point);
                    (started.is_some() && end.is_some_and(|end| walk.to(self, end, Place { file, span: *span })), *span)
                }
                CableEntry::Loops(loops) => (started.is_some() && walk.loops(self, loops), loops.span),
            };
            if started.is_none() {
                self.fault(
                    Finding::reading(
                        ids::PLAN,
                        format!("cable `{name}` runs before it has a start"),
                        Place { file, span },
                        "no `start` above this",
                    )
                    .advise("write `start (x, y)` before its first run"),
                );
                return None;
            }
            if !done {
                whole = false;
                // Where the rest would lie can't be told; its own quantities have been read for faults of theirs.
                walk.here = None;
            }
        }
        let Some(start) = started else {
            self.fault(
                Finding::reading(ids::PLAN, format!("cable `{name}` has no start"), place, "no `start` in this block")
                    .advise("write `start (x, y)` and then its runs"),
            );
            return None;
        };
        if whole && walk.runs.is_empty() {
            self.fault(
                Finding::reading(ids::PLAN, format!("cable `{name}` has no run"), place, "it starts and goes nowhere")
                    .advise("write its way on, such as `run west 1800`"),
            );
            return None;
        }
        whole.then_some((start, walk.runs))
    }
}

struct Walk {
    file: FileId,
    /// Where the cable has got to; none after a fault.
    here: Option<Point>,
    before: f64,
    runs: Vec<Run>,
}

impl Walk {
    fn along(&mut self, resolver: &mut Resolver, heading: Heading, length: f64, place: Place) -> bool {
        self.here.is_some_and(|here| self.to(resolver, here + direction(heading) * length, place))
    }

    fn to(&mut self, resolver: &mut Resolver, end: Point, place: Place) -> bool {
        let Some(start) = self.here else { return false };
        let run = Run { start, end, before: self.before, place };
        let length = run.length();
        if length < SHORTEST {
            resolver.fault(Finding::reading(ids::PLAN, "this run has no length", place, "it ends where it begins"));
            return false;
        }
        if resolver.laid == MOST_RUNS {
            let message = format!("the cables of a plan have more than {MOST_RUNS} runs in all");
            let fault = Finding::reading(ids::PLAN, message, place, "one too many here");
            resolver.fault(fault.advise("check the counts of loops, or draw some of the rooms in a plan of their own"));
            return false;
        }
        if !resolver.values.within_reach(end, place) {
            return false;
        }
        resolver.laid += 1;
        self.runs.push(run);
        self.before += length;
        self.here = Some(end);
        true
    }

    fn loops(&mut self, resolver: &mut Resolver, loops: &Loops) -> bool {
        let place = Place { file: self.file, span: loops.span };
        let count = resolver.values.positive(self.file, &loops.count, Dimension::NUMBER);
        let length = resolver.values.positive(self.file, &loops.length, Dimension::LENGTH);
        let pitch = resolver.values.positive(self.file, &loops.pitch, Dimension::LENGTH);
        let (Some(count), Some(length), Some(pitch)) = (count, length, pitch) else { return false };
        if count.fract() != 0.0 || count < 1.0 {
            resolver.fault(Finding::reading(
                ids::QUANTITY,
                "loops are counted in whole numbers",
                Place { file: self.file, span: loops.count.span },
                format!("this is {count}"),
            ));
            return false;
        }
        if count * 2.0 > MOST_RUNS as f64 {
            resolver.fault(
                Finding::reading(
                    ids::QUANTITY,
                    format!("{count} loops are more than a cable can have ({})", MOST_RUNS / 2),
                    Place { file: self.file, span: loops.count.span },
                    "too many",
                )
                .advise("check the count"),
            );
            return false;
        }
        let across = direction(loops.heading);
        let along = direction(loops.stepping);
        if (across.x * along.x + across.y * along.y).abs() > 0.5 {
            resolver.fault(
                Finding::reading(
                    ids::PLAN,
                    "these loops step along their own runs",
                    place,
                    "the runs and the steps go one way",
                )
                .advise("step at right angles to the runs: north or south for runs east or west"),
            );
            return false;
        }
        let Some(origin) = self.here else { return false };
        // Each end is reckoned from the first, so that a thousand loops add up no rounding.
        for index in 0..count as usize {
            let foot = origin + along * (pitch * index as f64);
            let (from, to) =
                if index % 2 == 0 { (foot, foot + across * length) } else { (foot + across * length, foot) };
            if index > 0 && !self.to(resolver, from, place) {
                return false;
            }
            if !self.to(resolver, to, place) {
                return false;
            }
        }
        true
    }
}
