//! Where on the floor what is measured of two things is so: where they are nearest, and over which stretches they are too near.

use std::collections::{BTreeMap, BTreeSet};

use super::TOUCH;
use super::across::Side;
use super::cover::{Capsule, Patch};
use super::index::RunId;
use super::leads::{BesideConduit, CableEnd, Lead};
use super::room::{Feature, RoomMeasure};
use super::strips::{ALIKE, Spacing};
use super::zones::Zone;
use crate::geometry::tolerance::ROUNDING;
use crate::geometry::{Piece, Point, Site};
use crate::model::{Cable, SecondTail};

/// The most stretches that a place is marked by.
const MOST_STRETCHES: usize = 200;

/// Shares of a piece put together where they overlap or touch, in order.
fn joined(mut shares: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    shares.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut joined: Vec<(f64, f64)> = Vec::new();
    for (from, to) in shares {
        match joined.last_mut() {
            Some(last) if from <= last.1 => last.1 = last.1.max(to),
            _ => joined.push((from, to)),
        }
    }
    joined
}

/// The stretches of a piece between some shares of it.
fn stretches(piece: Piece, shares: Vec<(f64, f64)>) -> impl Iterator<Item = Piece> {
    let cut = move |(from, to): (f64, f64)| Piece::new(piece.along(from), piece.along(to));
    joined(shares).into_iter().map(cut).filter(|stretch| stretch.length() > ROUNDING).take(MOST_STRETCHES)
}

/// The stretches of a piece nearer than `limit` (mm) to any of some others.
fn stretches_near(piece: Piece, others: &[Piece], limit: f64) -> impl Iterator<Item = Piece> + use<> {
    let near = others.iter().filter_map(|other| Capsule { piece: *other, radius: limit }.stretch(piece));
    stretches(piece, near.collect())
}

/// The stretches of a piece on one side of a zone's edge.
fn stretches_inside(piece: Piece, cuts: Vec<f64>, inside: impl Fn(Point) -> bool) -> impl Iterator<Item = Piece> {
    let mut cuts = cuts;
    cuts.extend([0.0, 1.0]);
    cuts.sort_by(f64::total_cmp);
    let whole = piece.length();
    let within = |pair: &[f64]| {
        let (from, to) = (pair[0], pair[1]);
        let long = (to - from) * whole > ROUNDING;
        (long && inside(piece.along(f64::midpoint(from, to)))).then_some((from, to))
    };
    stretches(piece, cuts.windows(2).filter_map(within).collect())
}

/// Where some pieces are nearest to some others: how near, and the points. Of pieces that lie alongside each other, the middle of where they do.
fn nearest(pieces: &[Piece], others: &[Piece]) -> Option<(f64, Point, Point)> {
    let pairs = pieces.iter().flat_map(|piece| others.iter().map(move |other| (*piece, *other)));
    let nearest = pairs.map(|(piece, other)| (piece.approach(other), piece, other));
    let (near, piece, other) = nearest.min_by(|a, b| a.0.distance.total_cmp(&b.0.distance))?;
    let alike = Capsule { piece: other, radius: near.distance + TOUCH }.stretch(piece);
    let share = alike.map_or(near.first, |(from, to)| f64::midpoint(from, to));
    let at = piece.along(share);
    Some((near.distance, at, other.along(other.nearest_share(at))))
}

/// The site of pieces nearer than `limit` to others; where they are nearest, and what of them is so near.
fn site_near(pieces: &[Piece], others: &[Piece], limit: f64) -> Option<Site> {
    let (distance, at, other) = nearest(pieces, others)?;
    let near = pieces.iter().flat_map(|piece| stretches_near(*piece, others, limit));
    let site = if distance <= TOUCH { Site::at(at) } else { Site::of_pair(at, other) };
    Some(Site { stretches: near.take(MOST_STRETCHES).collect(), ..site })
}

/// How many runs are asked for those that lie as far apart as others: more than a room that can be read has.
const MOST_RUNS_ASKED: usize = 5_000;

/// How much is shown of what meets at a bend, mm.
const BEND_SHOWN: f64 = 100.0;

/// The first so many mm of pieces that follow each other.
fn first_of(pieces: &[Piece], length: f64) -> Vec<Piece> {
    let mut left = length;
    let mut first = Vec::new();
    for piece in pieces {
        if left <= ROUNDING {
            break;
        }
        let own = piece.length();
        first.push(if own <= left { *piece } else { Piece::new(piece.start, piece.along(left / own)) });
        left -= own;
    }
    first
}

/// Where something ends that follows a route from its last point on for `reach` mm, and what of the route it doesn't reach.
fn beyond_reach(route: &[Point], reach: f64) -> Option<Site> {
    let whole: f64 = Piece::of_line(route).map(|piece| piece.length()).sum();
    let short = first_of(&Piece::of_line(route).collect::<Vec<_>>(), whole - reach.max(0.0));
    let end = short.last().map(|piece| piece.end).or(route.first().copied())?;
    Some(Site { stretches: short, ..Site::at(end) })
}

impl RoomMeasure<'_> {
    /// Where pieces lie in a feature of the room or, where they don't, come nearest to it, with what of them is nearer than `limit` (mm).
    fn site_at(&self, pieces: &[Piece], feature: Feature, limit: f64) -> Option<Site> {
        let near = |others: &[Piece]| site_near(pieces, others, limit);
        match feature {
            Feature::Area(index) => {
                let zone = self.zones().get(index)?;
                let cuts = |piece: Piece| {
                    let mut cuts = Vec::new();
                    zone.cuts(piece, &mut cuts);
                    cuts
                };
                let inside = pieces.iter().flat_map(|piece| {
                    stretches_inside(*piece, cuts(*piece), |point| {
                        zone.contains(point) && zone.edge_distance(point) > TOUCH
                    })
                });
                let inside: Vec<Piece> = inside.take(MOST_STRETCHES).collect();
                if !inside.is_empty() {
                    return Site::of_stretches(inside);
                }
                match zone {
                    Zone::Ring(ring) => {
                        let reach = |piece: &Piece| {
                            let far = limit.max(ring.nearest(*piece).1.distance) + TOUCH;
                            ring.edges_near(piece.bounds().widened(far)).collect::<Vec<_>>()
                        };
                        near(&pieces.iter().flat_map(reach).collect::<Vec<_>>())
                    }
                    Zone::Circle(centre, radius) => {
                        // As near to the edge as to the centre, less the radius.
                        let site = site_near(pieces, &[Piece::at(*centre)], limit + radius)?;
                        let away = site.at - *centre;
                        let off = away.x.hypot(away.y);
                        let edge = if off > 0.0 { *centre + away * (radius / off) } else { *centre };
                        Some(Site { nearest: (off > radius + TOUCH).then_some(edge), ..site })
                    }
                }
            }
            Feature::Line(index) => near(&Piece::of_line(&self.room.lines.get(index)?.points).collect::<Vec<_>>()),
            Feature::ShowerHead(index) => near(&[Piece::at(self.room.shower_heads.get(index)?.at)]),
        }
    }

    /// Where a run lies in a feature of the room, or comes nearest to it, with what of it is nearer than `limit` (mm).
    pub fn site_of_meeting(&self, run: RunId, feature: Feature, limit: f64) -> Option<Site> {
        self.site_at(&[self.index().run(run).piece()], feature, limit)
    }

    /// As [`site_of_meeting`](Self::site_of_meeting), of a cold tail or a conduit.
    pub fn site_of_lead(&self, lead: Lead, feature: Feature, limit: f64) -> Option<Site> {
        let route = self.route_of(lead);
        self.site_at(&Piece::of_line(&route).collect::<Vec<_>>(), feature, limit)
    }

    /// Where a run comes nearest to a wall, with what of it is nearer than `limit` (mm) to any.
    pub fn site_at_wall(&self, run: RunId, limit: f64) -> Option<Site> {
        let piece = self.index().run(run).piece();
        let far = limit.max(self.wall_distance(run).distance) + TOUCH;
        let walls: Vec<Piece> = self.outline().edges_near(piece.bounds().widened(far)).collect();
        site_near(&[piece], &walls, limit)
    }

    /// Where a run lies outside the room.
    pub fn site_off_floor(&self, run: RunId) -> Option<Site> {
        let piece = self.index().run(run).piece();
        let mut cuts = Vec::new();
        self.outline().cuts(piece, &mut cuts);
        Site::of_stretches(stretches_inside(piece, cuts, |point| !self.outline().contains(point)).collect())
    }

    /// Where a run lies on another level than its cable's.
    pub fn site_off_level(&self, run: RunId) -> Option<Site> {
        let piece = self.index().run(run).piece();
        let whole = piece.length();
        let shares = self.stretches_off_level(run).iter().map(|(from, to)| (from / whole, to / whole));
        Site::of_stretches(stretches(piece, shares.collect()).collect())
    }

    /// Where two runs are nearest, with what of each is nearer than `limit` (mm) to the other. What follows on another comes near to it where it
    /// turns: of these the place alone is told.
    pub fn site_of_runs(&self, first: RunId, second: RunId, at: Point, limit: f64) -> Option<Site> {
        let (a, b) = (self.index().run(first).piece(), self.index().run(second).piece());
        if first.cable == second.cable && first.run.abs_diff(second.run) < 2 {
            return Some(Site::of_pair(at, b.along(b.nearest_share(at))));
        }
        let site = site_near(&[a], &[b], limit)?;
        let more = stretches_near(b, &[a], limit);
        Some(Site { stretches: site.stretches.iter().copied().chain(more).collect(), ..site })
    }

    /// Where the first pair of runs that have a spacing lie alongside each other, with what of all runs lies so.
    pub fn site_of_spacing(&self, spacing: &Spacing) -> Option<Site> {
        let piece = |run: RunId| self.index().run(run).piece();
        let first = site_near(&[piece(spacing.first)], &[piece(spacing.second)], spacing.distance + TOUCH)?;
        let mut shares: BTreeMap<RunId, Vec<(f64, f64)>> = BTreeMap::new();
        for (one, other) in self.pairs_of(spacing) {
            for (own, beside) in [(one, other), (other, one)] {
                let near = Capsule { piece: piece(beside), radius: spacing.distance + ALIKE }.stretch(piece(own));
                shares.entry(own).or_default().extend(near);
            }
        }
        let all = shares.into_iter().flat_map(|(run, shares)| stretches(piece(run), shares));
        let all: Vec<Piece> = all.take(MOST_STRETCHES).collect();
        Some(if all.is_empty() { first } else { Site { stretches: all, ..first } })
    }

    /// The pairs of runs that have a spacing, the earlier run first.
    fn pairs_of(&self, spacing: &Spacing) -> BTreeSet<(RunId, RunId)> {
        let index = self.index();
        let mut pairs = BTreeSet::new();
        let runs = index.runs().map(|(run, _)| run).skip_while(|run| *run < spacing.first);
        for first in runs.take_while(|run| run.cable == spacing.first.cable).take(MOST_RUNS_ASKED) {
            let beside = self.sides().of(&index, first).into_iter().flatten().flat_map(Side::stretches);
            let alike = beside.filter_map(|beside| {
                let second = beside.run().filter(|run| *run > first && run.cable == spacing.second.cable)?;
                let distance = beside.distance(f64::midpoint(beside.from, beside.to))?;
                ((distance - spacing.distance).abs() <= ALIKE).then_some((first, second))
            });
            pairs.extend(alike);
            if pairs.len() >= spacing.pairs {
                break;
            }
        }
        pairs
    }

    /// What of a cable's cold tail a reach of so many mm, from the cable on, leaves short of its junction box: where it ends, and the way from
    /// there. Where it ends below the box, that.
    pub fn site_of_tail(&self, cable: &Cable, reach: f64) -> Option<Site> {
        beyond_reach(&self.tail(cable), reach)
    }

    /// As [`site_of_tail`](Self::site_of_tail), of the tail at a cable's far end.
    pub fn site_of_second_tail(&self, tail: &SecondTail, reach: f64) -> Option<Site> {
        beyond_reach(&self.second_tail(tail), reach)
    }

    /// The pieces of a cable from one of its ends on.
    fn pieces_from(&self, end: CableEnd) -> Vec<Piece> {
        let runs = self.room.cables[end.cable].runs.iter().map(|run| run.piece());
        if end.far {
            runs.rev().map(Piece::reversed).take(MOST_STRETCHES).collect()
        } else {
            runs.take(MOST_STRETCHES).collect()
        }
    }

    /// An end of a cable, with what lies straight from there to the first turn.
    pub fn site_of_straight(&self, end: CableEnd) -> Option<Site> {
        let straight = first_of(&self.pieces_from(end), self.straight_at(end));
        Some(Site { stretches: straight, ..Site::at(self.end_at(end)?) })
    }

    /// An end of a cable, with a little of the cold tail and of the cable that meet there.
    pub fn site_of_bend(&self, end: CableEnd) -> Option<Site> {
        let cable = &self.room.cables[end.cable];
        let route = if end.far { self.second_tail(cable.second_tail.as_ref()?) } else { self.tail(cable) };
        let mut tail: Vec<Piece> = Piece::of_line(&route).map(Piece::reversed).collect();
        tail.reverse();
        let mut shown = first_of(&tail, BEND_SHOWN);
        shown.extend(first_of(&self.pieces_from(end), BEND_SHOWN));
        Some(Site { stretches: shown, ..Site::at(self.end_at(end)?) })
    }

    /// Where a cold tail lies alongside a sensor's conduit.
    pub fn site_beside(&self, beside: &BesideConduit) -> Option<Site> {
        let (tail, conduit) = (self.route_of(beside.tail), self.route_of(Lead::Conduit(beside.sensor)));
        let conduit: Vec<Piece> = Piece::of_line(&conduit).collect();
        Site::of_stretches(
            Piece::of_line(&tail).flat_map(|piece| stretches_near(piece, &conduit, beside.within)).collect(),
        )
    }

    /// A cold patch with its border, of those that were looked for.
    pub fn site_of_patch(&self, patch: &Patch) -> Option<Site> {
        let kept = self.kept.on_floor.patches.borrow();
        let outlined = kept.values().filter_map(|found| found.as_ref().as_ref()).flatten();
        let own = outlined.into_iter().find(|outlined| outlined.patch == *patch)?;
        Some(Site::of_area(within(&own.rings).unwrap_or(patch.at), own.rings.clone(), false))
    }
}

/// A point well inside an area, as people would point at it.
fn within(rings: &[Vec<Point>]) -> Option<Point> {
    use geo::InteriorPoint as _;
    let line = |ring: &Vec<Point>| geo::LineString::new(ring.clone());
    let (first, holes) = rings.split_first()?;
    geo::Polygon::new(line(first), holes.iter().map(line).collect()).interior_point().map(|point| point.0)
}
