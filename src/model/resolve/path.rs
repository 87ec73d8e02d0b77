//! Walks the ways of cables over the floor.

use super::reach::what;
use super::resolver::Resolver;
use crate::geometry::dot;
use crate::geometry::tolerance::TOUCH;
use crate::layout::tree::{Cable, CableEntry, Expr, ExprKind, Heading, LoopCount, Loops, PointExpr, Reach, ValueName};
use crate::model::fault::Fault;
use crate::model::values::direction;
use crate::model::{Point, Room, Run, length};
use crate::quantity::Dimension;
use crate::source::{Place, Span};

/// The most runs that the cables of a plan may have in all: of a hall of 15 000 m2 laid at 75 mm, were none longer than 1 m.
pub const MOST_RUNS: usize = 200_000;

/// How often the length of a last run is halved in: to far less than any length is told by.
const HALVINGS: usize = 60;

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

/// What a cable's way is walked by, besides its own statements.
pub(super) struct Around<'r> {
    /// The cable's name.
    pub(super) cable: &'r str,
    /// Its kit (an index), where it names one; none where that is not known.
    pub(super) kit: Option<Option<usize>>,
    /// The room, with all that walls and fixtures say of it.
    pub(super) room: &'r Room,
}

impl Resolver {
    /// The place of a cable's start and its straight pieces, or nothing where a statement of its path is at fault.
    pub(super) fn runs(&mut self, cable: &Cable, place: Place, around: &Around<'_>) -> Option<(Place, Vec<Run>)> {
        let Cable { entries, broken, .. } = cable;
        let name = around.cable;
        let mut walk = Walk::default();
        let mut whole = true;
        for entry in entries {
            let Some((done, span)) = self.step(entry, around, &mut walk)? else { continue };
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

    /// One statement of a cable: whether it could be walked, and where it stands; nothing within for one that leads nowhere, and nothing at
    /// all where no more of the way can be told.
    fn step(&mut self, entry: &CableEntry, around: &Around<'_>, walk: &mut Walk) -> Option<Option<(bool, Span)>> {
        let begun = walk.start.is_some();
        let (done, span) = match entry {
            CableEntry::Kit(_) | CableEntry::Tail(_) | CableEntry::SecondTail(_) | CableEntry::By(_) => {
                return Some(None);
            }
            CableEntry::Start(_, span) if begun => {
                self.fault(self.place(*span), Fault::StartsTwice { cable: around.cable.into() });
                return None;
            }
            CableEntry::Start(point, span) => (self.start(point, *span, walk), *span),
            CableEntry::Run(heading, length, span) => (self.run(*heading, length, *span, walk), *span),
            CableEntry::RunTo(point, span) => (self.run_to(point, *span, walk), *span),
            CableEntry::RunReach(heading, reach, span) => {
                (begun && self.run_reach(*heading, reach, *span, walk, around.room), *span)
            }
            // A plan may call a value so, and then means that.
            CableEntry::RunRest(heading, word, span) if self.values.has(&word.text) => {
                let value = Expr { kind: ExprKind::Operand(ValueName(word.text.clone())), span: word.span };
                (self.run(*heading, &value, *span, walk), *span)
            }
            CableEntry::RunRest(heading, _, span) => (begun && self.run_rest(*heading, *span, walk, around), *span),
            CableEntry::Loops(loops) => (begun && self.loops(loops, walk, around.room), loops.span),
        };
        Some(Some((done, span)))
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

    /// `run HEADING to wall N less LENGTH`
    fn run_reach(&mut self, heading: Heading, reach: &Reach, span: Span, walk: &mut Walk, room: &Room) -> bool {
        let less = self.less(reach);
        let (Some(less), Some(here)) = (less, walk.here) else { return false };
        let Some(ahead) = self.ahead(reach, room, [here, here], heading) else { return false };
        if ahead - less < TOUCH {
            self.fault(self.place(reach.span), Fault::ReachesNoFurther { what: what(reach), ahead, less });
            return false;
        }
        self.lay(here + direction(heading) * (ahead - less), span, walk)
    }

    /// `run HEADING rest`
    fn run_rest(&mut self, heading: Heading, span: Span, walk: &mut Walk, around: &Around<'_>) -> bool {
        let Some(kit) = around.kit else {
            self.fault(self.place(span), Fault::RestOfNoKit { cable: around.cable.into() });
            return false;
        };
        let (Some(kit), Some(here)) = (kit.and_then(|kit| self.kits.get(kit)), walk.here) else { return false };
        let (supplied, bend_radius) = (kit.length, kit.bend_radius.unwrap_or(0.0));
        let place = self.place(span);
        let mut runs = walk.runs.clone();
        let laid = length::laid_length(&runs, bend_radius);
        let mut with = |rest: f64| {
            runs.truncate(walk.runs.len());
            runs.push(Run { start: here, end: here + direction(heading) * rest, before: walk.laid, place });
            length::laid_length(&runs, bend_radius)
        };
        // The corner before it saves cable, more of it the longer the run is; so what is laid grows with the run, and never by more than that does.
        let (mut short, mut long) = (0.0, supplied.max(1.0) * 2.0);
        if laid >= supplied || with(long) < supplied {
            self.fault(place, Fault::NoRest { cable: around.cable.into(), supplied, laid });
            return false;
        }
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(short, long);
            if with(middle) < supplied { short = middle } else { long = middle }
        }
        self.lay(here + direction(heading) * long, span, walk)
    }

    /// `run to (x, y)`
    fn run_to(&mut self, point: &PointExpr, span: Span, walk: &mut Walk) -> bool {
        self.point(point).is_some_and(|end| self.lay(end, span, walk))
    }

    /// `loops N of LENGTH HEADING, stepping PITCH HEADING`
    fn loops(&mut self, loops: &Loops, walk: &mut Walk, room: &Room) -> bool {
        let count = match &loops.count {
            LoopCount::Counted(count) => self.positive(count, Dimension::NUMBER).map(Some),
            LoopCount::Fitting(_) => Some(None),
        };
        let length = self.positive(&loops.length, Dimension::LENGTH);
        let pitch = self.positive(&loops.pitch, Dimension::LENGTH);
        let (Some(count), Some(length), Some(pitch)) = (count, length, pitch) else { return false };
        let across = direction(loops.heading);
        let along = direction(loops.stepping);
        if dot(across, along).abs() > 0.5 {
            self.fault(self.place(loops.span), Fault::LoopsAlongRuns);
            return false;
        }
        let counted = match (&loops.count, count) {
            (LoopCount::Counted(written), Some(count)) => self.loop_count(count, written.span),
            (LoopCount::Fitting(reach), _) => {
                let Some(here) = walk.here else { return false };
                self.fitting(reach, room, [here, here + across * length], pitch, loops.stepping)
            }
            (LoopCount::Counted(_), None) => None,
        };
        let (Some(count), Some(origin)) = (counted, walk.here) else { return false };
        // Each end is reckoned from the first, so that a thousand loops add up no rounding.
        (0..count).all(|index| {
            let foot = origin + along * (pitch * index as f64);
            let head = foot + across * length;
            let (from, to) = if index % 2 == 0 { (foot, head) } else { (head, foot) };
            (index == 0 || self.lay(from, loops.span, walk)) && self.lay(to, loops.span, walk)
        })
    }

    /// How many loops `pitch` (mm) apart lie before what is reached for, the first of them from one point to another.
    fn fitting(
        &mut self,
        reach: &Reach,
        room: &Room,
        first: [Point; 2],
        pitch: f64,
        stepping: Heading,
    ) -> Option<usize> {
        let less = self.less(reach)?;
        let ahead = self.ahead(reach, room, first, stepping)?;
        if ahead - less < -TOUCH {
            self.fault(self.place(reach.span), Fault::ReachesNoFurther { what: what(reach), ahead, less });
            return None;
        }
        self.loop_count(((ahead - less + TOUCH) / pitch).floor() + 1.0, reach.span)
    }

    /// How many loops there are, where a cable can have so many.
    fn loop_count(&mut self, count: f64, span: Span) -> Option<usize> {
        let place = self.place(span);
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
