//! Cold tails and conduits: where they lead, and how they lie to the runs, to each other and to what is on and in the floor.

use std::rc::Rc;

use super::cover::Capsule;
use super::index::RunId;
use super::room::{Feature, RoomMeasure, kept};
use super::sensor::{self, shared};
use super::zones::Zone;
use super::{TOUCH, length};
use crate::geometry::{Piece, distance, dot};
use crate::model::{AreaKind, Cable, LineKind, Point, SecondTail, Shape, Thermostat};

/// A cold tail (of a cable) or a conduit (of a sensor), by its index.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lead {
    /// The cold tail at the start of this cable.
    Tail(usize),
    /// The cold tail at the far end of this cable.
    SecondTail(usize),
    /// The conduit of this sensor.
    Conduit(usize),
}

/// A lead that comes near something on or in the floor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NearLead {
    /// Which.
    pub lead: Lead,
    /// What it comes near.
    pub feature: Feature,
    /// The distance between them, mm; 0 where they touch or overlap.
    pub distance: f64,
    /// Length of the lead strictly inside an area, mm; 0 for a line.
    pub inside: f64,
    /// Whether they share a point beyond the lead's first, where its box or its thermostat stands.
    pub crosses: bool,
}

/// A cold tail that lies alongside a sensor's conduit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BesideConduit {
    /// The tail.
    pub tail: Lead,
    /// The sensor (an index).
    pub sensor: usize,
    /// Length of the tail that lies alongside, mm.
    pub length: f64,
    /// How near that is, mm.
    pub within: f64,
}

/// An end of a cable: a cold joint, or the termination at the far end of one that has a single cold tail.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CableEnd {
    /// The cable (an index).
    pub cable: usize,
    /// Whether it is the far end rather than the start.
    pub far: bool,
}

/// What a lead is held against.
enum Obstacle<'a> {
    Area(&'a Shape, &'a Zone),
    Line(&'a [Point]),
}

impl Obstacle<'_> {
    /// How a lead's route comes near it; nothing where it stays farther off than `minimum` (mm) and doesn't touch it.
    fn near(&self, lead: Lead, route: &[Point], feature: Feature, minimum: f64) -> Option<NearLead> {
        let reach = minimum.max(TOUCH);
        let (mut least, mut inside, mut crosses) = (f64::INFINITY, 0.0, false);
        let first = route.first().copied().unwrap_or_default();
        let beyond = |at: Point| distance(at, first) > TOUCH;
        match self {
            Obstacle::Area(shape, zone) => {
                let own = shape.bounds();
                let wanted = own.widened(reach);
                for piece in Piece::of_line(route).filter(|piece| piece.bounds().meets(&wanted)) {
                    least = zone.distance(piece).min(least);
                    if piece.bounds().meets(&own) {
                        inside += zone.length_inside(piece);
                    }
                }
                // What is shorter than lengths are compared to is none.
                inside = if inside > TOUCH { inside } else { 0.0 };
                crosses = inside > 0.0;
            }
            Obstacle::Line(points) => {
                for piece in Piece::of_line(points) {
                    let wanted = piece.bounds().widened(reach);
                    for own in Piece::of_line(route).filter(|own| own.bounds().meets(&wanted)) {
                        least = piece.approach(own).distance.min(least);
                        crosses |= shared(own, piece).any(beyond);
                    }
                }
            }
        }
        let near = least < minimum - TOUCH || least <= TOUCH;
        near.then_some(NearLead { lead, feature, distance: least, inside, crosses })
    }
}

/// The length of a route within `clearance` (mm) of another, mm.
pub fn length_alongside(route: &[Point], other: &[Point], clearance: f64) -> f64 {
    let mut whole = 0.0;
    for piece in Piece::of_line(route) {
        let capsules = Piece::of_line(other).map(|piece| Capsule { piece, radius: clearance });
        let mut stretches: Vec<(f64, f64)> = capsules.filter_map(|capsule| capsule.stretch(piece)).collect();
        stretches.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut reached = 0.0_f64;
        let mut covered = 0.0;
        for (from, to) in stretches {
            covered += (to - from.max(reached)).max(0.0);
            reached = reached.max(to);
        }
        whole += covered * piece.length();
    }
    whole
}

impl RoomMeasure<'_> {
    /// The length of a cable's tails outside the walls once they have come in, mm.
    pub fn tails_off_floor(&self, cable: &Cable) -> f64 {
        let first = if cable.tail.is_empty() { 0.0 } else { self.off_floor(&self.tail(cable)) };
        first + cable.second_tail.as_ref().map_or(0.0, |tail| self.off_floor(&self.second_tail(tail)))
    }

    /// The length of a sensor's conduit outside the walls once it has come in, mm; all of it where it never does.
    pub fn conduit_off_floor(&self, sensor: usize) -> f64 {
        self.off_floor(&self.conduit(sensor))
    }

    /// The length of a lead outside the walls once it has come in, mm; all of it where it never does.
    fn off_floor(&self, route: &[Point]) -> f64 {
        let outline = self.outline();
        let (mut before, mut came_in, mut off) = (0.0, false, 0.0);
        for piece in Piece::of_line(route).filter(|piece| piece.length() > TOUCH) {
            let mut cuts = vec![0.0, 1.0];
            outline.cuts(piece, &mut cuts);
            cuts.sort_by(f64::total_cmp);
            for cut in cuts.windows(2) {
                let long = (cut[1] - cut[0]) * piece.length();
                let middle = piece.along(f64::midpoint(cut[0], cut[1]));
                if long <= TOUCH {
                    continue;
                }
                if outline.contains(middle) || outline.nearest(Piece::at(middle)).1.distance <= TOUCH {
                    came_in = true;
                } else if came_in {
                    off += long;
                } else {
                    before += long;
                }
            }
        }
        if came_in { off } else { before }
    }

    /// How far a thermostat that stands in the room stands from what it could hang on: walls, partitions, what stands on the floor; mm.
    pub fn hangs_off(&self, thermostat: &Thermostat) -> f64 {
        let at = Piece::at(thermostat.at);
        if !self.outline().contains(thermostat.at) {
            return 0.0;
        }
        let walls = self.outline().nearest(at).1.distance;
        let partitions = self.room.lines.iter().filter(|line| matches!(line.kind, LineKind::Partition(_)));
        let lines = partitions.flat_map(|line| Piece::of_line(&line.points)).map(|piece| piece.distance(thermostat.at));
        let standing =
            self.room.areas.iter().zip(self.zones()).filter(|(area, _)| matches!(area.kind, AreaKind::Fixture { .. }));
        let fixtures = standing.map(|(_, zone)| zone.distance(at));
        lines.chain(fixtures).fold(walls, f64::min)
    }

    /// The length a cold tail needs from its junction box, down from it and along the floor to the cable, mm; nothing where no tail is
    /// drawn, or its box's height isn't given.
    pub fn tail_route(&self, cable: &Cable) -> Option<f64> {
        let junction = &self.room.junctions[cable.junction?];
        (!cable.tail.is_empty()).then_some(junction.height? + length::line_length(&self.tail(cable)))
    }

    /// The length that the cold tail at a cable's far end needs from its junction box, down from it and along the floor to the cable, mm;
    /// nothing where it has no box, or its box's height isn't given.
    pub fn second_tail_route(&self, tail: &SecondTail) -> Option<f64> {
        let junction = &self.room.junctions[tail.junction?];
        Some(junction.height? + length::line_length(&self.second_tail(tail)))
    }

    /// A cable's cold tail from below its junction box, or from the far end of the cable it comes from, to the cable, without pieces
    /// of no length.
    pub(super) fn tail(&self, cable: &Cable) -> Vec<Point> {
        let from = match (cable.junction, cable.tail_from) {
            (Some(junction), _) => Some(self.room.junctions[junction].at),
            (None, Some(other)) => self.far_end(other),
            (None, None) => None,
        };
        joined(from, &cable.tail)
    }

    pub(super) fn second_tail(&self, tail: &SecondTail) -> Vec<Point> {
        joined(tail.junction.map(|junction| self.room.junctions[junction].at), &tail.route)
    }

    /// Every cold tail, cable by cable, with its route.
    fn tails(&self) -> impl Iterator<Item = (Lead, Vec<Point>)> {
        self.room.cables.iter().enumerate().flat_map(|(index, cable)| {
            let first = (!cable.tail.is_empty()).then(|| (Lead::Tail(index), self.tail(cable)));
            let second = cable.second_tail.as_ref().map(|tail| (Lead::SecondTail(index), self.second_tail(tail)));
            first.into_iter().chain(second)
        })
    }

    /// The route of a cold tail or a conduit.
    pub fn route_of(&self, lead: Lead) -> Vec<Point> {
        match lead {
            Lead::Tail(cable) => self.tail(&self.room.cables[cable]),
            Lead::SecondTail(cable) => {
                self.room.cables[cable].second_tail.as_ref().map_or_else(Vec::new, |tail| self.second_tail(tail))
            }
            Lead::Conduit(sensor) => self.conduit(sensor),
        }
    }

    /// Every cold tail and every conduit, with its route.
    fn leads(&self) -> impl Iterator<Item = (Lead, Vec<Point>)> {
        let conduits = self.room.sensors.iter().enumerate();
        self.tails().chain(conduits.map(|(index, _)| (Lead::Conduit(index), self.conduit(index))))
    }

    /// The cold tails and conduits nearer than `minimum` (mm) to some areas and lines of the room, or in them, each with every one of these.
    pub fn near_leads(&self, features: &[Feature], minimum: f64) -> Vec<NearLead> {
        if features.is_empty() {
            return Vec::new();
        }
        let obstacles: Vec<(Feature, Obstacle<'_>)> = features
            .iter()
            .filter_map(|feature| {
                let obstacle = match *feature {
                    Feature::Area(index) => Obstacle::Area(&self.room.areas[index].shape, &self.zones()[index]),
                    Feature::Line(index) => Obstacle::Line(&self.room.lines[index].points),
                    Feature::ShowerHead(_) => return None,
                };
                Some((*feature, obstacle))
            })
            .collect();
        let near = |(lead, route): (Lead, Vec<Point>)| {
            let near = obstacles.iter().filter_map(|(feature, own)| own.near(lead, &route, *feature, minimum));
            near.collect::<Vec<_>>()
        };
        self.leads().flat_map(near).collect()
    }

    /// The same for all areas and lines of the room.
    pub fn leads_near_any(&self, minimum: f64) -> Rc<Vec<NearLead>> {
        // Several rules ask for the same.
        kept(&self.kept.near_leads, minimum.to_bits(), || self.near_leads(&self.features(|_, _| true), minimum))
    }

    /// Whether a cold tail crosses a joint, or what else it comes near, in a sleeve.
    pub fn is_sleeved(&self, near: &NearLead) -> bool {
        let sleeves = match near.lead {
            Lead::Tail(cable) => &self.room.cables[cable].sleeves[..],
            Lead::SecondTail(cable) => {
                self.room.cables[cable].second_tail.as_ref().map_or(&[][..], |tail| &tail.sleeves)
            }
            Lead::Conduit(_) => return true,
        };
        matches!(near.feature, Feature::Line(line) if sleeves.contains(&line))
    }

    /// The cold tails that lie within `clearance` (mm) of a sensor's conduit somewhere, each with how long they do.
    pub fn beside_conduits(&self, clearance: f64) -> Vec<BesideConduit> {
        let conduits: Vec<(usize, Vec<Point>)> =
            self.room.sensors.iter().enumerate().map(|(index, _)| (index, self.conduit(index))).collect();
        let beside = |(tail, route): (Lead, Vec<Point>)| {
            let each = conduits.iter().map(move |(sensor, conduit)| BesideConduit {
                tail,
                sensor: *sensor,
                length: length_alongside(&route, conduit, clearance),
                within: clearance,
            });
            each.filter(|beside| beside.length > TOUCH).collect::<Vec<_>>()
        };
        self.tails().flat_map(beside).collect()
    }

    /// The runs that a cold tail crosses or touches, each with a point they share. Where the tail joins its own cable, or leaves the last
    /// run of the cable it comes from, it meets that run in one point; only what it shares with it beyond counts.
    pub fn tail_crossed(&self, index: usize) -> Vec<(Lead, RunId, Point)> {
        let cable = &self.room.cables[index];
        let last = |of: usize| {
            let run = self.room.cables[of].runs.len().checked_sub(1)?;
            Some((RunId::new(of, run), self.far_end(of)?))
        };
        let crossed = |lead: Lead, route: &[Point], joints: &[(RunId, Point)]| {
            let mut crossed = sensor::crossed(&self.index(), route, joints);
            crossed.dedup_by_key(|(id, _)| *id);
            crossed.into_iter().map(move |(id, at)| (lead, id, at))
        };
        let mut all = Vec::new();
        if !cable.tail.is_empty() {
            let joins = cable.runs.first().map(|run| (RunId::new(index, 0), run.start));
            let joints: Vec<(RunId, Point)> = joins.into_iter().chain(cable.tail_from.and_then(last)).collect();
            all.extend(crossed(Lead::Tail(index), &self.tail(cable), &joints));
        }
        if let Some(tail) = &cable.second_tail {
            let joints: Vec<(RunId, Point)> = last(index).into_iter().collect();
            all.extend(crossed(Lead::SecondTail(index), &self.second_tail(tail), &joints));
        }
        all
    }

    /// Where a cable (an index) ends.
    fn far_end(&self, cable: usize) -> Option<Point> {
        self.room.cables[cable].runs.last().map(|run| run.end)
    }

    /// The cable (an index) that another (an index) is joined to in series: the one from whose far end its tail comes, or at whose far
    /// end it starts itself.
    pub fn in_series_with(&self, cable: usize) -> Option<usize> {
        let own = &self.room.cables[cable];
        let start = own.runs.first()?.start;
        let touches =
            |other: &usize| *other != cable && self.far_end(*other).is_some_and(|end| distance(end, start) <= TOUCH);
        own.tail_from.or_else(|| (0..self.room.cables.len()).find(touches))
    }

    /// The length of straight cable between an end and the first turn, mm; all of it where it doesn't turn.
    pub fn straight_at(&self, end: CableEnd) -> f64 {
        let cable = end.cable;
        let runs = &self.room.cables[cable].runs;
        let turns = self.turns(cable);
        let whole = length::drawn_length(runs);
        let laid = |run: usize| runs.get(run).map_or(whole, |run| run.before + run.length());
        match end.far {
            false => turns.first().map_or(whole, |turn| laid(turn.run)),
            true => whole - turns.last().map_or(0.0, |turn| laid(turn.run)),
        }
    }

    /// By how much the way changes its direction at an end, from the cold tail into the heating cable, radians; nothing where no tail is
    /// drawn to it.
    pub fn bend_at(&self, end: CableEnd) -> Option<f64> {
        let cable = &self.room.cables[end.cable];
        let (route, into) = match end.far {
            false => (if cable.tail.is_empty() { Vec::new() } else { self.tail(cable) }, cable.runs.first()?.piece()),
            true => (self.second_tail(cable.second_tail.as_ref()?), cable.runs.last()?.piece().reversed()),
        };
        let [.., before, at] = &route[..] else { return None };
        let (tail, cable) = (*at - *before, into.step());
        let cosine = dot(tail, cable) / (dot(tail, tail) * dot(cable, cable)).sqrt();
        Some(cosine.clamp(-1.0, 1.0).acos())
    }

    /// Where an end lies.
    pub fn end_at(&self, end: CableEnd) -> Option<Point> {
        let cable = &self.room.cables[end.cable];
        if end.far { self.far_end(end.cable) } else { cable.runs.first().map(|run| run.start) }
    }

    /// Whether an end lies on the room's floor, clear of its walls.
    pub fn is_on_floor(&self, end: CableEnd) -> bool {
        let inside =
            |at: Point| self.outline().contains(at) && self.outline().nearest(Piece::at(at)).1.distance > TOUCH;
        self.end_at(end).is_some_and(inside)
    }
}

/// A route from where it begins, without pieces of no length.
fn joined(from: Option<Point>, points: &[Point]) -> Vec<Point> {
    let mut route: Vec<Point> = from.into_iter().chain(points.iter().copied()).collect();
    route.dedup();
    route
}
