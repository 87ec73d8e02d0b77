//! Walks the ways of cables over the floor.

use super::resolver::Resolver;
use crate::geometry::dot;
use crate::geometry::tolerance::TOUCH;
use crate::layout::tree::{Cable, CableEntry, Expr, Heading, Loops, PointExpr};
use crate::model::fault::Fault;
use crate::model::values::direction;
use crate::model::{Point, Run};
use crate::quantity::Dimension;
use crate::source::{Place, Span};

/// The most runs that the cables of a plan may have in all: of a hall of 15 000 m2 laid at 75 mm, were none longer than 1 m.
pub const MOST_RUNS: usize = 200_000;

/// A cable's way as far as it is walked.
#[derive(Default)]
struct Walk {
    /// Its start.
    start: Option<Place>,
    /// Where the cable has got to; none after a fault.
    here: Option<Point>,
    /// How much cable is laid, mm.
    laid: f64,
    runs: Vec<Run>,
}

impl Resolver {
    /// The place of a cable's start and its straight pieces, or nothing where a statement of its path is at fault.
    pub(super) fn runs(&mut self, cable: &Cable, name: &str, place: Place) -> Option<(Place, Vec<Run>)> {
        let Cable { entries, broken, .. } = cable;
        let mut walk = Walk::default();
        let mut whole = true;
        for entry in entries {
            let (done, span) = match entry {
                CableEntry::Kit(_) | CableEntry::Tail(_) | CableEntry::SecondTail(_) | CableEntry::By(_) => continue,
                CableEntry::Start(_, span) if walk.start.is_some() => {
                    self.fault(self.place(*span), Fault::StartsTwice { cable: name.into() });
                    return None;
                }
                CableEntry::Start(point, span) => (self.start(point, *span, &mut walk), *span),
                CableEntry::Run(heading, length, span) => (self.run(*heading, length, *span, &mut walk), *span),
                CableEntry::RunTo(point, span) => (self.run_to(point, *span, &mut walk), *span),
                CableEntry::Loops(loops) => (walk.start.is_some() && self.loops(loops, &mut walk), loops.span),
            };
            // What seems to be missing may stand in a line that could not be read.
            if walk.start.is_none() {
                if *broken {
                    return None;
                }
                self.fault(self.place(span), Fault::RunsBeforeStart { cable: name.into() });
                return None;
            }
            if !done {
                whole = false;
                // Where the rest would lie can't be told; its own quantities are read all the same, for faults of theirs.
                walk.here = None;
            }
        }
        if *broken {
            return None;
        }
        let Some(start) = walk.start else {
            self.fault(place, Fault::NoStart { cable: name.into() });
            return None;
        };
        if whole && walk.runs.is_empty() {
            self.fault(place, Fault::NoRun { cable: name.into() });
            return None;
        }
        whole.then_some((start, walk.runs))
    }

    /// `start (x, y)`
    fn start(&mut self, point: &PointExpr, span: Span, walk: &mut Walk) -> bool {
        walk.start = Some(self.place(span));
        walk.here = self.point(point);
        walk.here.is_some()
    }

    /// `run HEADING LENGTH`
    fn run(&mut self, heading: Heading, length: &Expr, span: Span, walk: &mut Walk) -> bool {
        let Some(length) = self.positive(length, Dimension::LENGTH) else { return false };
        let Some(here) = walk.here else { return false };
        self.lay(here + direction(heading) * length, span, walk)
    }

    /// `run to (x, y)`
    fn run_to(&mut self, point: &PointExpr, span: Span, walk: &mut Walk) -> bool {
        self.point(point).is_some_and(|end| self.lay(end, span, walk))
    }

    /// `loops N of LENGTH HEADING, stepping PITCH HEADING`
    fn loops(&mut self, loops: &Loops, walk: &mut Walk) -> bool {
        let count = self.positive(&loops.count, Dimension::NUMBER);
        let length = self.positive(&loops.length, Dimension::LENGTH);
        let pitch = self.positive(&loops.pitch, Dimension::LENGTH);
        let (Some(count), Some(length), Some(pitch)) = (count, length, pitch) else { return false };
        let Some(count) = self.loop_count(count, loops) else { return false };
        let across = direction(loops.heading);
        let along = direction(loops.stepping);
        if dot(across, along).abs() > 0.5 {
            self.fault(self.place(loops.span), Fault::LoopsAlongRuns);
            return false;
        }
        let Some(origin) = walk.here else { return false };
        // Each end is reckoned from the first, so that a thousand loops add up no rounding.
        (0..count).all(|index| {
            let foot = origin + along * (pitch * index as f64);
            let head = foot + across * length;
            let (from, to) = if index % 2 == 0 { (foot, head) } else { (head, foot) };
            (index == 0 || self.lay(from, loops.span, walk)) && self.lay(to, loops.span, walk)
        })
    }

    /// How many loops there are, where a cable can have so many.
    fn loop_count(&mut self, count: f64, loops: &Loops) -> Option<usize> {
        let place = self.place(loops.count.span);
        if count.fract() != 0.0 || count < 1.0 {
            self.fault(place, Fault::LoopsInParts { count });
            return None;
        }
        if count * 2.0 > MOST_RUNS as f64 {
            self.fault(place, Fault::TooManyLoops { count, most: MOST_RUNS / 2 });
            return None;
        }
        Some(count as usize)
    }

    /// Lays a straight piece from where the cable has got to.
    fn lay(&mut self, end: Point, span: Span, walk: &mut Walk) -> bool {
        let Some(start) = walk.here else { return false };
        let place = self.place(span);
        let run = Run { start, end, before: walk.laid, place };
        let length = run.length();
        if length < TOUCH {
            self.fault(place, Fault::RunOfNoLength);
            return false;
        }
        if self.laid == MOST_RUNS {
            self.fault(place, Fault::TooManyRuns { most: MOST_RUNS });
            return false;
        }
        if !self.values.within_reach(end, place) {
            return false;
        }
        self.laid += 1;
        walk.runs.push(run);
        walk.laid += length;
        walk.here = Some(end);
        true
    }
}
