//! Leads a sensor's conduit into the channel between two runs that a plan names: along the wall at which its thermostat stands, then straight in, midway
//! between the two. What it meets on the way is for the rules to find.

use super::resolver::Resolver;
use crate::geometry::ring::edges;
use crate::geometry::tolerance::TOUCH;
use crate::geometry::{Piece, Point, cross, distance, dot};
use crate::layout::kinds::Kind;
use crate::layout::tree::{Channel, Word};
use crate::model::fault::Fault;
use crate::model::{Cable, Room};
use crate::quantity::Dimension;

/// How much, as a sine, runs may turn away from each other and still be taken for parallel.
const PARALLEL: f64 = 1e-6;

/// The floor between two parallel runs.
struct Between {
    /// A point of its middle line.
    origin: Point,
    /// Along it; one mm.
    along: Point,
    /// From where both runs lie beside it to where they no longer do, mm along it.
    both: (f64, f64),
    /// From where either of them does, mm.
    either: (f64, f64),
}

impl Between {
    /// The channel between two runs, or why there is none.
    fn new(one: Piece, other: Piece) -> Result<Self, &'static str> {
        let length = one.length();
        let along = (one.end - one.start) / length;
        if (cross(along, other.end - other.start) / other.length()).abs() > PARALLEL {
            return Err("they don't lie parallel");
        }
        let aside = Point { x: -along.y, y: along.x };
        let off = dot(other.start - one.start, aside);
        if off.abs() <= TOUCH {
            return Err("they lie in one line");
        }
        let at = |point: Point| dot(point - one.start, along);
        let (low, high) = (at(other.start).min(at(other.end)), at(other.start).max(at(other.end)));
        let both = (low.max(0.0), high.min(length));
        if both.1 - both.0 <= TOUCH {
            return Err("they don't lie beside each other");
        }
        let origin = one.start + aside * (off / 2.0);
        Ok(Between { origin, along, both, either: (low.min(0.0), high.max(length)) })
    }

    /// The point so far along its middle line, mm.
    fn at(&self, along: f64) -> Point {
        self.origin + self.along * along
    }

    /// Where the heated floor begins at its start or its far end, the way in from there, and how far in both runs lie beside it, mm.
    fn end(&self, far: bool) -> (Point, Point, f64) {
        match far {
            false => (self.at(self.either.0), self.along, self.both.1 - self.either.0),
            true => (self.at(self.either.1), self.along * -1.0, self.either.1 - self.both.0),
        }
    }

    /// Where its middle line, going out of an end, meets a wall.
    fn meets(&self, (end, inward, _): (Point, Point, f64), wall: Piece) -> Option<Point> {
        let way = wall.end - wall.start;
        let slant = cross(inward, way);
        if slant.abs() <= PARALLEL * wall.length() {
            return None;
        }
        let out = cross(wall.start - end, way) / slant;
        let at = end + inward * out;
        (out <= TOUCH && wall.distance(at) <= TOUCH).then_some(at)
    }
}

impl Resolver {
    /// The points of a conduit that is led into a channel from a thermostat (an index).
    pub(super) fn led_in(
        &mut self,
        item: &Channel,
        thermostat: usize,
        sensor: &str,
        room: &Room,
    ) -> Option<Vec<Point>> {
        let depth = self.positive(&item.depth, Dimension::LENGTH);
        let cable = self.channel_cable(item, sensor, room)?;
        let numbers = [self.run_number(&item.runs[0], cable)?, self.run_number(&item.runs[1], cable)?];
        let (first, second) = (numbers[0].min(numbers[1]), numbers[0].max(numbers[1]));
        let place = self.place(item.span);
        let told = |what: usize| what + 1;
        let run = |number: usize| cable.runs.get(number).map(|run| run.piece());
        let between = match Between::new(run(first)?, run(second)?) {
            Ok(between) => between,
            Err(why) => {
                self.fault(place, Fault::NoChannel { first: told(first), second: told(second), why });
                return None;
            }
        };
        let depth = depth?;
        let at = room.thermostats.get(thermostat)?.at;
        let walls = edges(&room.corners).enumerate();
        let (wall, edge) = walls.min_by(|a, b| a.1.distance(at).total_cmp(&b.1.distance(at)))?;
        // A turn closes the far end of the first of two runs that it joins.
        let ends = if second - first == 2 { &[false][..] } else { &[false, true][..] };
        let ways = ends.iter().map(|far| between.end(*far));
        let ways = ways.filter_map(|end| Some((between.meets(end, edge)?, end)));
        let Some((corner, (end, inward, long))) = ways.min_by(|a, b| distance(a.0, at).total_cmp(&distance(b.0, at)))
        else {
            let fault = Fault::NoWayIn { first: told(first), second: told(second), wall: wall + 1 };
            self.fault(place, fault);
            return None;
        };
        if depth > long + TOUCH {
            self.fault(place, Fault::ChannelTooShort { first: told(first), second: told(second), long, depth });
            return None;
        }
        let tip = end + inward * depth;
        Some(if distance(corner, at) <= TOUCH { vec![tip] } else { vec![corner, tip] })
    }

    /// The cable of the runs that are named: the only one, where none is.
    fn channel_cable<'r>(&mut self, item: &Channel, sensor: &str, room: &'r Room) -> Option<&'r Cable> {
        if let Some(word) = &item.cable {
            return self.find(Kind::Cable, word, &room.cables).and_then(|index| room.cables.get(index));
        }
        match &room.cables[..] {
            [only] => Some(only),
            // A cable that could not be read is told of where it stands.
            [] if room.incomplete.is_some() => None,
            cables => {
                let one = cables.first().map(|cable| cable.name.text.clone());
                self.fault(self.place(item.span), Fault::RunsOfWhichCable { sensor: sensor.into(), one });
                None
            }
        }
    }

    /// The index of a run that is named by its number.
    fn run_number(&mut self, word: &Word, cable: &Cable) -> Option<usize> {
        let index = word.text.parse::<usize>().ok().and_then(|number| number.checked_sub(1));
        let index = index.filter(|index| *index < cable.runs.len());
        if index.is_none() {
            let (number, cable, runs) = (word.text.clone(), cable.name.text.clone(), cable.runs.len());
            self.fault(self.place(word.span), Fault::UnknownRun { number, cable, runs });
        }
        index
    }
}
