//! Where a floor sensor goes: midway between two runs that no turn joins, its conduit led in along the walls.

use super::leads::{Strip, Way};
use crate::geometry::index::Index;
use crate::geometry::{Piece, Point, cross, distance, dot};
use crate::measure::leads::length_alongside;

/// A conduit, from where it comes down from its thermostat to the tip.
#[derive(Debug, Clone, PartialEq)]
pub struct Conduit {
    /// Its points.
    pub points: Vec<Point>,
    /// Its length on the floor, from below the thermostat on, mm.
    pub length: f64,
}

/// What a conduit is led by.
#[derive(Debug, Clone, Copy)]
pub struct Wanted {
    /// The thermostat.
    pub from: Point,
    /// How deep its tip lies in the heated floor, mm.
    pub depth: f64,
    /// How much less it may.
    pub give: f64,
    /// How long it is on the floor at the most, mm.
    pub most: f64,
    /// From run to run, mm.
    pub pitch: f64,
    /// How near a tail may lie to it, and for how long nearer than that, mm.
    pub beside: (f64, f64),
}

/// How many channels a way is looked for into, those first that lie nearest.
const MOST_TRIED: usize = 24;

/// How far channels may differ from the pitch, a share.
const ALIKE: f64 = 0.3;

/// What lies on the floor that a conduit is led over.
#[derive(Debug, Clone, Copy)]
pub struct Laid<'l> {
    /// The runs between which its tip may lie.
    pub own: &'l [Piece],
    /// The runs of all cables.
    pub runs: &'l [Piece],
    /// Cold tails.
    pub tails: &'l [Vec<Point>],
    /// The walls of the room.
    pub walls: &'l [Piece],
}

/// Conduits into channels of a cable, the shortest first, at most `count` of them.
pub fn conduits(strip: &Strip, laid: Laid<'_>, wanted: Wanted, count: usize) -> Vec<Conduit> {
    let Laid { own, runs, tails, walls } = laid;
    let Some(foot) = strip.feet(wanted.from).into_iter().next() else { return Vec::new() };
    let mut pieces = runs.to_vec();
    pieces.extend(tails.iter().flat_map(|tail| Piece::of_line(tail)));
    let way = Way::new(strip, &pieces, pieces.len(), 10.0);
    let mut mouths = mouths(own, walls, wanted);
    mouths.sort_by(|a, b| distance(foot, a[0]).total_cmp(&distance(foot, b[0])));
    let mut found: Vec<Conduit> = Vec::new();
    for [inner, tip] in mouths.into_iter().take(MOST_TRIED) {
        // As far before the channel as it is free: there the conduit comes along the wall.
        let outward = (inner - tip) / distance(inner, tip);
        let before = |far: &f64| {
            let mouth = inner + outward * *far;
            Point { x: tenths(mouth.x), y: tenths(mouth.y) }
        };
        let free = |mouth: &Point| way.is_free(Piece::new(*mouth, tip), None);
        let Some(mouth) = BEFORE.iter().map(before).find(free) else { continue };
        let most = wanted.most - distance(wanted.from, foot) - distance(mouth, tip);
        // Where the thermostat stands right before the channel, the conduit goes straight in.
        let straight = Piece::new(wanted.from, tip);
        let line = if on_line(wanted.from, mouth, tip) && way.is_free(Piece::new(foot, tip), None) {
            Some(vec![wanted.from, straight.end])
        } else {
            way.shortest(foot, mouth, most).map(|mut line| {
                line.push(tip);
                super::walk::corners(&line)
            })
        };
        let Some(points) = line else { continue };
        let whole: Vec<Point> = std::iter::once(wanted.from).chain(points.iter().copied()).collect();
        let beside = |tail: &Vec<Point>| length_alongside(tail, &whole, wanted.beside.0) <= wanted.beside.1;
        if tails.iter().all(beside) {
            let length = crate::measure::length::line_length(&whole);
            found.push(Conduit { points, length });
        }
    }
    found.sort_by(|a, b| a.length.total_cmp(&b.length));
    found.truncate(count);
    found
}

fn on_line(from: Point, mouth: Point, tip: Point) -> bool {
    let (one, other) = (tip - mouth, mouth - from);
    let whole = distance(mouth, tip);
    cross(one, other).abs() <= whole && dot(one, other) > 0.0
}

/// Where channels between two runs are open, and where in them a sensor's tip would lie.
fn mouths(runs: &[Piece], walls: &[Piece], wanted: Wanted) -> Vec<[Point; 2]> {
    let index = Index::new(runs.iter().copied());
    let longest = wanted.depth + wanted.pitch;
    let depths = [wanted.depth, wanted.depth - wanted.give * 0.6, wanted.depth - wanted.give];
    let mut found = Vec::new();
    for run in runs.iter().filter(|run| run.length() >= longest.min(4.0 * wanted.pitch)) {
        let step = run.step() / run.length();
        let left = Point { x: -step.y, y: step.x };
        for (end, inward) in [(run.start, step), (run.end, step * -1.0)] {
            for aside in [left, left * -1.0] {
                let Some(gap) =
                    gap(&index, runs, *run, end + inward * (wanted.depth.min(run.length() / 2.0)), aside, wanted)
                else {
                    continue;
                };
                let at = |along: f64| end + aside * (gap / 2.0) + inward * along;
                for depth in depths {
                    // The heated floor begins half a spacing before the runs' ends.
                    let tip = at(depth - gap / 2.0);
                    let mouth = at(0.0);
                    let [tip, mouth] = [tip, mouth].map(|point| Point { x: tenths(point.x), y: tenths(point.y) });
                    if depth_from_wall(walls, wanted.from, tip) >= wanted.depth - wanted.give + gap {
                        found.push([mouth, tip]);
                        break;
                    }
                }
            }
        }
    }
    found
}

/// How far before the ends of runs a conduit may turn into a channel, mm.
const BEFORE: [f64; 10] = [90.0, 80.0, 70.0, 60.0, 50.0, 45.0, 40.0, 35.0, 30.0, 20.0];

fn tenths(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

/// How far a run's neighbour lies on one side of a point of it, where it is about a spacing, mm.
fn gap(index: &Index, runs: &[Piece], own: Piece, at: Point, aside: Point, wanted: Wanted) -> Option<f64> {
    let ray = Piece::new(at + aside * 1.0, at + aside * (wanted.pitch * (1.0 + ALIKE)));
    let others = index.near(ray.bounds()).map(|other| runs[other]).filter(|other| *other != own);
    let met = others.filter_map(|other| {
        let near = ray.approach(other);
        (near.distance <= crate::measure::TOUCH).then(|| distance(at, ray.along(near.first)))
    });
    let gap = met.min_by(f64::total_cmp)?;
    (gap >= wanted.pitch * (1.0 - ALIKE)).then_some(gap)
}

/// How far a tip lies from the wall that a thermostat stands at, mm.
fn depth_from_wall(walls: &[Piece], thermostat: Point, tip: Point) -> f64 {
    let wall = walls.iter().min_by(|a, b| a.distance(thermostat).total_cmp(&b.distance(thermostat)));
    wall.map_or(f64::INFINITY, |wall| wall.distance(tip))
}
