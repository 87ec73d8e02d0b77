//! Lays the cables of one room.

use geo::{Area as _, BooleanOps as _, Distance as _, Euclidean, MultiPolygon, Polygon};

use super::choose::{EVEN, Nearest, UNMENDED};
use super::conduit::{self, Wanted, conduits};
use super::fit::{Cable, Floor, Layout};
use super::frame::Frame;
use super::judge::Before;
use super::leads::{BORDERS, End, Led, Strip, tail};
use super::limits::Limits;
use super::named::{free_name, kit_of, thermostat_of};
use super::search::Search;
use super::spiral::Spirals;
use super::text::{RoomText, SensorText, Unlaid, indent, kept_lines, rooms};
use super::until::Until;
use super::ways::{Kind, Source, Ways};
use super::{Asked, Setting, Stop, region, share, stop, write};
use crate::checker::mend::apply;
use crate::checker::untried_until;
use crate::finding::Edit;
use crate::geometry::ring::edges;
use crate::geometry::{Bounds, Piece, Point, distance};
use crate::measure::TOUCH;
use crate::measure::across::FARTHEST_NEIGHBOUR;
use crate::measure::length::line_length;
use crate::model::{Area, AreaKind, Kit, LayerBody, LineKind, Room, Shape, Thermostat};
use crate::source::{FileId, Place, Span};

/// How many layouts of a room are held to the rules, at the most.
const MOST_JUDGED: usize = 120;

/// How many spacings at which rows alone fit are tried before what they leave bare is filled.
const PLAIN_FIRST: usize = 2;

/// How many conduits are tried with each.
const CONDUITS: usize = 2;

/// How far a tail keeps off runs, mm, and where it has little room.
const TAIL_CLEAR: [f64; 2] = [25.0, 12.0];

/// A room about to be laid.
pub(super) struct Job<'j> {
    pub(super) text: &'j str,
    pub(super) said: &'j RoomText,
    pub(super) unlaid: Vec<Unlaid>,
    pub(super) kits: Vec<&'j Kit>,
    room: &'j Room,
    pub(super) limits: &'j Limits,
    /// The floor as if nothing were drilled in it.
    undrilled: MultiPolygon<f64>,
    /// The floor that is not to stay cold.
    free: MultiPolygon<f64>,
    thermostats: Vec<Option<&'j Thermostat>>,
    /// The sensors that go along.
    sensors: Vec<&'j SensorText>,
    /// How long leads of sensors are, by their names, mm.
    lead: Option<f64>,
}

/// One cable laid: its way and its tails.
#[derive(Debug, Clone)]
pub(super) struct Laid {
    pub(super) layout: Layout,
    pub(super) tail: Option<(usize, Vec<Point>)>,
    pub(super) second: Option<(usize, Vec<Point>)>,
}

/// Lays the cables of a room that have no way, or one of the kit `added`. The plan's text with them, and what they come to.
///
/// # Errors
/// What stands in the way.
pub fn lay(
    text: &str,
    name: &str,
    added: Option<&String>,
    asked: &Asked,
    setting: &Setting<'_>,
) -> Result<(String, Vec<String>), Stop> {
    let all = rooms(text);
    let Some(said) = all.iter().find(|room| room.name == name) else {
        return Err(stop(format!("room `{name}` could not be read"), "`layrule check` shows what is wrong with it"));
    };
    let mut unlaid = said.unlaid.clone();
    if let Some(kit) = added {
        let end = Span::new(said.end..said.end);
        let free = free_name(&said.names, &["a", "b", "c", "d", "heating"]);
        unlaid.push(Unlaid { room: name.into(), name: free, kit: Some(kit.clone()), by: None, span: end });
    }
    let original = (setting.read)(text);
    let bare = without(text, said, said.laid == 0).unwrap_or_default();
    let measured = (setting.read)(&bare);
    let plan = measured.plan();
    let Some(room) = plan.rooms.iter().find(|room| room.name.text == name) else {
        return Err(stop(format!("room `{name}` could not be read"), "`layrule check` shows what is wrong with it"));
    };
    if let Some(why) = &room.incomplete {
        return Err(stop(format!("room `{name}` isn't whole: {why}"), "put right what `layrule check` finds first"));
    }
    let limits = Limits::of(setting.rules);
    let kits = unlaid.iter().map(|cable| kit_of(cable, plan)).collect::<Result<Vec<_>, _>>()?;
    let thermostats = unlaid.iter().map(|cable| thermostat_of(cable, room)).collect::<Result<Vec<_>, _>>()?;
    let sensors: Vec<&SensorText> = if said.laid == 0 { said.sensors.iter().collect() } else { Vec::new() };
    let lead =
        original.plan().rooms.iter().find(|room| room.name.text == name).and_then(|room| room.sensors.first()?.lead);
    let undrilled = region::for_cable_over(room, &limits, None, &|area| area.kind != AreaKind::Drill);
    let free = region::free(room, &limits);
    let job = Job { undrilled, free, text, said, unlaid, kits, room, limits: &limits, thermostats, sensors, lead };
    let before = Before::of(&untried_until(&measured, setting.rules, setting.today, setting.stop));
    job.lay(&before, asked, setting)
}

/// A text without a room's cables that have no way and, where they go along, without its sensors.
fn without(text: &str, said: &RoomText, sensors: bool) -> Option<String> {
    let cables = said.unlaid.iter().map(|cable| cable.span);
    let sensors = said.sensors.iter().map(|sensor| sensor.span).filter(|_| sensors);
    let edits: Vec<Edit> = cables.chain(sensors).map(|span| edit(span, String::new())).collect();
    apply(text, &edits)
}

pub(super) fn edit(span: Span, text: String) -> Edit {
    Edit { place: Place { file: FileId(0), span }, text }
}

impl Job<'_> {
    fn lay(&self, before: &Before, asked: &Asked, setting: &Setting<'_>) -> Result<(String, Vec<String>), Stop> {
        let until = Until { time: asked.until, stop: setting.stop };
        let floors = self.floors()?;
        let frames = self.frames(asked)?;
        let junctions: Vec<Option<usize>> = self
            .thermostats
            .iter()
            .zip(&floors)
            .map(|(thermostat, floor)| self.junction(*thermostat, Some(floor)))
            .collect();
        let strips: Vec<Strip> = BORDERS.iter().map(|border| Strip::new(self.room, self.limits, *border)).collect();
        let mut nearest = Nearest::default();
        let mut first: Option<Vec<Vec<Layout>>> = None;
        // Rows alone where they do; what they leave bare is filled where they don't. By turns, since there is no telling which it will be.
        let ways_of = |kind: Kind| {
            let each = (0..self.kits.len()).map(|own| self.sources(own, &floors, &frames, junctions[own], kind));
            Ways::new(each.collect())
        };
        let mut ways: Vec<Ways> = asked.pattern.kinds().iter().map(|kind| ways_of(*kind)).collect();
        let mut at_last = asked.pattern.at_last();
        let mut turn = 0;
        while !ways.is_empty() {
            let number = if turn < PLAIN_FIRST { 0 } else { turn % ways.len() };
            let way = &mut ways[number];
            let Some(each) = way.next(until).filter(|_| way.judged < MOST_JUDGED) else {
                ways.remove(number);
                if ways.is_empty() {
                    ways.extend(at_last.take().map(ways_of));
                }
                continue;
            };
            let before_these = nearest.judged;
            let hold = (before, until, setting);
            if let Some(clean) = self.best_clean(&each, &junctions, &strips, hold, &mut nearest) {
                // Where it isn't so even, the next spacing may give a better one.
                let next = if clean.quality.uneven() > EVEN { way.next(until) } else { None };
                let other = next.and_then(|each| self.best_clean(&each, &junctions, &strips, hold, &mut nearest));
                let best = other.filter(|other| other.quality < clean.quality).unwrap_or(clean);
                return Ok((best.text, best.told));
            }
            way.judged += nearest.judged - before_these;
            if turn >= UNMENDED {
                let mended = self.mended(&way.sources, &junctions, &strips, hold, &mut nearest);
                if let Some(clean) = mended {
                    return Ok(clean);
                }
            }
            first.get_or_insert(each);
            turn += 1;
        }
        match first {
            Some(each) => Err(self.why_not(nearest, &each, until)),
            None => Err(self.why_none(&floors, &frames, &junctions, (asked.pattern, until))),
        }
    }

    /// What goes through the layouts of a cable (an index) on its part of the floor, in each direction.
    fn sources(
        &self,
        own: usize,
        floors: &[MultiPolygon<f64>],
        frames: &[Frame],
        junction: Option<usize>,
        kind: Kind,
    ) -> Vec<Source> {
        let Some((kit, floor)) = self.kits.get(own).zip(floors.get(own)) else { return Vec::new() };
        let cable = self.cable(kit, floor, junction);
        match kind {
            Kind::Spiral => vec![Source::Spirals(Box::new(Spirals::new(floor, self.open(floor), cable)))],
            Kind::Rows | Kind::Filled | Kind::ManyFilled => {
                let rows = self.searches_for(cable, floor, frames, kind.filled());
                rows.into_iter().map(|search| Source::Rows(Box::new(search))).collect()
            }
        }
    }

    /// All the floor that may not stay cold, of one cable that has the room to itself; of several each its part.
    fn open<'f>(&'f self, floor: &'f MultiPolygon<f64>) -> &'f MultiPolygon<f64> {
        let alone = self.kits.len() == 1 && self.room.cables.is_empty() && !self.free.0.is_empty();
        if alone { &self.free } else { floor }
    }

    pub(super) fn searches_for(
        &self,
        cable: Cable,
        floor: &MultiPolygon<f64>,
        frames: &[Frame],
        filled: usize,
    ) -> Vec<Search> {
        let open = self.open(floor);
        let each = frames
            .iter()
            .map(|frame| Search::new(&self.ground(&self.without_slivers(floor, *frame)), open, *frame, cable, filled));
        each.collect()
    }

    /// The part of the floor that each cable heats.
    fn floors(&self) -> Result<Vec<MultiPolygon<f64>>, Stop> {
        let levels = self
            .room
            .areas
            .iter()
            .enumerate()
            .filter(|(_, area)| matches!(area.kind, AreaKind::Level { height: Some(_) }));
        let grounds = std::iter::once(None).chain(levels.map(|(index, _)| Some(index)));
        let mut whole: Vec<_> = grounds.flat_map(|level| region::for_cable(self.room, self.limits, level).0).collect();
        let lengths: Vec<f64> = self.kits.iter().map(|kit| kit.length).collect();
        let area: f64 = whole.iter().map(|part| part.unsigned_area()).sum();
        let pitch = area / lengths.iter().sum::<f64>();
        for run in self.room.cables.iter().flat_map(|cable| &cable.runs) {
            let laid = region::around(run.start, run.end, pitch.max(self.limits.least_spacing));
            whole = whole.iter().flat_map(|part| part.difference(&laid).0).collect();
        }
        whole.sort_by(|a, b| b.unsigned_area().total_cmp(&a.unsigned_area()));
        let count = whole.len();
        let parts: Vec<String> =
            whole.iter().take(4).map(|part| format!("{:.1} m²", part.unsigned_area() / 1e6)).collect();
        let home = self
            .junction(self.thermostats.iter().flatten().next().copied(), None)
            .map(|index| self.room.junctions[index].at);
        let gap = (pitch - 40.0).max(self.limits.least_spacing - 40.0).max(0.0);
        share::shared(whole, &lengths, gap, home).ok_or_else(|| match count {
            0 => stop(
                format!("room `{}` has no floor left for a cable", self.said.name),
                "what stands there, and what rules keep free round it, takes all of it",
            ),
            _ => stop(
                format!(
                    "the floor of room `{}` is cut into {count} parts ({}) and has {} for them",
                    self.said.name,
                    parts.join(", "),
                    crate::text::counted(self.unlaid.len(), "cable")
                ),
                "name a cable for each part: a cable crosses no joint, no step and no partition",
            ),
        })
    }

    /// The directions that runs may go in: along walls and across them, those first that most wall goes in.
    fn frames(&self, asked: &Asked) -> Result<Vec<Frame>, Stop> {
        let walls: Vec<Piece> = edges(&self.room.corners).collect();
        if let Some(number) = asked.along {
            let wall = number.checked_sub(1).and_then(|index| walls.get(index)).ok_or_else(|| {
                stop(
                    format!("room `{}` has no wall {number}", self.said.name),
                    format!("its walls are numbered from 1 to {}", walls.len()),
                )
            })?;
            return Ok(vec![Frame::along(wall.step())]);
        }
        let mut frames: Vec<(Frame, f64)> = Vec::new();
        // Rows go along what stands on the floor as they do along walls.
        let standing = self.room.areas.iter().filter(|area| matches!(area.kind, AreaKind::Fixture { .. }));
        let standing = standing.filter_map(|area| match &area.shape {
            Shape::Polygon(corners) => Some(edges(corners)),
            Shape::Circle { .. } => None,
        });
        let sides: Vec<Piece> = walls.iter().copied().chain(standing.flatten()).collect();
        for wall in &sides {
            let across = Point { x: -wall.step().y, y: wall.step().x };
            for step in [wall.step(), across] {
                let frame = Frame::along(step);
                let length = if step == wall.step() { wall.length() } else { 0.0 };
                match frames.iter_mut().find(|(known, _)| known.is_near(frame)) {
                    Some((_, sum)) => *sum += length,
                    None => frames.push((frame, length)),
                }
            }
        }
        frames.sort_by(|a, b| b.1.total_cmp(&a.1));
        // The two across each other that most walls go in.
        let first = frames.first().map(|(frame, _)| *frame);
        let chosen = frames
            .iter()
            .filter(|(frame, _)| first.is_some_and(|first| first.is_near(*frame) || first.is_across(*frame)));
        Ok(chosen.map(|(frame, _)| *frame).collect())
    }

    /// A part of the floor without a strip beside what is so slim that runs on both sides of it count as neighbours, seen past its end: with it
    /// they lie too far apart for that.
    fn without_slivers(&self, floor: &MultiPolygon<f64>, frame: Frame) -> MultiPolygon<f64> {
        let mut left = floor.clone();
        for area in &self.room.areas {
            let (AreaKind::Fixture { .. }, Shape::Polygon(corners)) = (&area.kind, &area.shape) else { continue };
            let turned: Vec<Point> = corners.iter().map(|corner| frame.turned(*corner)).collect();
            let bounds = Bounds::around(&turned);
            let slim = bounds.high.y - bounds.low.y;
            let lacking = (FARTHEST_NEIGHBOUR + 1.0 - slim) / 2.0;
            if lacking <= self.limits.fixture
                || lacking > self.limits.fixture + MOST_LEFT
                || area.kind.clear_below().is_some()
            {
                continue;
            }
            let aside = self.limits.fixture;
            let corner = |x: f64, y: f64| frame.back(Point { x, y });
            let (west, east) = (bounds.low.x - aside, bounds.high.x + aside);
            let (south, north) = (bounds.low.y - lacking, bounds.high.y + lacking);
            let taken =
                region::polygon(&[corner(west, south), corner(east, south), corner(east, north), corner(west, north)]);
            left = left.difference(&taken);
        }
        left.0.retain(|part| part.unsigned_area() > LEAST_FLOOR);
        left
    }

    /// A part of the floor, with the small places that runs can be led round: where it is drilled.
    fn ground(&self, floor: &MultiPolygon<f64>) -> Floor {
        let spots: Vec<(Point, f64)> = self.room.areas.iter().filter_map(|area| self.spot(area)).collect();
        let near = |(at, _): &(Point, f64)| Euclidean.distance(&geo::Point::from(*at), floor) <= MOST_SPOT;
        let spots: Vec<(Point, f64)> = spots.into_iter().filter(near).collect();
        let round = |(at, radius): &(Point, f64)| region::disc(*at, *radius);
        let discs: Vec<Polygon<f64>> = spots.iter().map(round).collect();
        // Only where the floor goes on round it: a disc added at a wall would lead cable into the wall.
        let whole = floor.union(&geo::unary_union(&discs)).intersection(&self.undrilled);
        Floor { without_spots: floor.clone(), with_spots: whole, spots }
    }

    /// The middle of a drill zone that is small enough to be led round, and how far cable keeps from it, mm.
    fn spot(&self, area: &Area) -> Option<(Point, f64)> {
        match (&area.kind, &area.shape) {
            (AreaKind::Drill, Shape::Circle { centre, radius }) => {
                let keeps = radius + self.limits.drill;
                (keeps <= MOST_SPOT).then_some((*centre, keeps + 0.5))
            }
            _ => None,
        }
    }

    pub(super) fn cable(&self, kit: &Kit, floor: &MultiPolygon<f64>, junction: Option<usize>) -> Cable {
        let widest = self.limits.most_spacing;
        let thick = self.room.floor.as_ref().and_then(|floor| match &floor.layers.get(floor.cable()?.0)?.body {
            LayerBody::Solid { thickness, .. } => Some(*thickness),
            LayerBody::Resistance(_) => None,
        });
        let most = if thick.is_some_and(|thick| thick >= widest.screed) { widest.in_screed } else { widest.thin };
        let ideal = floor.unsigned_area() / kit.length;
        let power = match &self.room.floor {
            Some(floor) if floor.timber => self.limits.power.0,
            Some(_) => self.limits.power.1,
            None => f64::INFINITY,
        };
        Cable {
            dense: (kit.output / kit.length / power).min(ideal * MOST_DENSE),
            length: kit.length,
            bend_radius: kit.bend_radius.unwrap_or(0.0),
            comes_home: kit.cores == 1,
            over: self.limits.length.0 * OVER_SHARE,
            spacing: (self.limits.least_spacing, most.min(ideal * 2.0)),
            uneven: self.limits.uneven * EVEN_SHARE,
            alongside: self.limits.alongside,
            cold: self.limits.cold,
            crumb: self.limits.crumb.0 * CRUMBS,
            slim: (self.limits.crumb.1 - 2.0 * self.limits.margins.clearance).max(0.0),
            straight: self.limits.straight + SPARE,
            home: junction.map(|index| (self.room.junctions[index].at, self.reach(kit, index))),
        }
    }

    /// The layouts of that rank, each with its tails; nothing where one has none.
    pub(super) fn with_tails(
        &self,
        each: &[Vec<Layout>],
        rank: usize,
        junctions: &[Option<usize>],
        strips: &[Strip],
        until: Until<'_>,
    ) -> Option<Vec<Laid>> {
        let chosen = each.iter().map(|found| found.get(rank.min(found.len().saturating_sub(1))).cloned());
        self.tails_of(chosen.collect::<Option<_>>()?, junctions, strips, until)
    }

    /// Layouts with their tails; nothing where one has none.
    pub(super) fn tails_of(
        &self,
        layouts: Vec<Layout>,
        junctions: &[Option<usize>],
        strips: &[Strip],
        until: Until<'_>,
    ) -> Option<Vec<Laid>> {
        let runs = self.runs(&layouts);
        let mut others: Vec<Vec<Point>> = Vec::new();
        let mut laid = Vec::new();
        let mut first = 0;
        for (number, layout) in layouts.into_iter().enumerate() {
            let [at, next, ..] = layout.line[..] else { return None };
            let [.., before, last] = layout.line[..] else { return None };
            let far = first + layout.line.len() - 2;
            let ends = [End { at, inward: next, run: first }, End { at: last, inward: before, run: far }];
            first = far + 1;
            let mut one = Laid { layout, tail: None, second: None };
            let kit = self.kits[number];
            if let Some(index) = junctions.get(number).copied().flatten() {
                let (from, most) = (self.room.junctions[index].at, self.reach(kit, index));
                let mut drawn = |end: End| {
                    let ways = strips.iter().flat_map(|strip| TAIL_CLEAR.map(|clear| (strip, clear)));
                    let found = ways.map_while(|(strip, clear)| {
                        let led = Led { runs: &runs, others: &others, from, most, clear };
                        (!until.is_over()).then(|| tail(strip, end, led))
                    });
                    let mut found = found.flatten();
                    // Where two come home, the one may bar the other's usual way but for a long one round the room.
                    let way = match kit.cores == 1 {
                        true => found.min_by(|a, b| line_length(a).total_cmp(&line_length(b))),
                        false => found.next(),
                    }?;
                    others.push(std::iter::once(from).chain(way.iter().copied()).collect());
                    Some((index, way))
                };
                one.tail = Some(drawn(ends[0])?);
                if kit.cores == 1 {
                    one.second = Some(drawn(ends[1])?);
                }
            }
            laid.push(one);
        }
        Some(laid)
    }

    /// The runs of some layouts, then those that lie in the room already.
    fn runs(&self, layouts: &[Layout]) -> Vec<Piece> {
        let laid = self.room.cables.iter().flat_map(|cable| cable.runs.iter().map(|run| run.piece()));
        layouts.iter().flat_map(|layout| Piece::of_line(&layout.line)).chain(laid).collect()
    }

    /// How long the tail of a kit is on the floor at the most, from a junction box (an index), mm.
    fn reach(&self, kit: &Kit, junction: usize) -> f64 {
        let height = self.room.junctions[junction].height.unwrap_or(0.0);
        kit.tail.map_or(FAR, |tail| tail - self.limits.tail_allowance - height)
    }

    /// The junction box that a tail leads to: the one nearest to the floor that its cable heats; of several as near, and where that isn't told, the
    /// one nearest to the thermostat.
    pub(super) fn junction(&self, thermostat: Option<&Thermostat>, floor: Option<&MultiPolygon<f64>>) -> Option<usize> {
        let far = |at: Point| {
            let floor = floor.map_or(0.0, |floor| Euclidean.distance(&geo::Point::from(at), floor).round());
            (floor, thermostat.map_or(0.0, |thermostat| distance(at, thermostat.at)))
        };
        let nearer = |a: Point, b: Point| {
            let (a, b) = (far(a), far(b));
            a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
        };
        let junctions = self.room.junctions.iter().enumerate();
        junctions.min_by(|a, b| nearer(a.1.at, b.1.at)).map(|(index, _)| index)
    }

    /// The plan's texts with a layout, one for each conduit that is worth a try, and whether a thermostat lacks one.
    pub(super) fn texts(&self, laid: &[Laid], strips: &[Strip]) -> (Vec<String>, bool) {
        let mut cables: Vec<Edit> = Vec::new();
        for (unlaid, one) in self.unlaid.iter().zip(laid) {
            cables.push(edit(unlaid.span, self.cable_text(unlaid, one)));
        }
        let mut thermostats: Vec<&Thermostat> = self.thermostats.iter().flatten().copied().collect();
        thermostats.dedup_by_key(|thermostat| thermostat.place);
        // Of several thermostats each has its own sensor.
        let mut versions: Vec<Vec<Edit>> = vec![Vec::new()];
        let mut lacking = false;
        for thermostat in thermostats {
            let own = self.sensors.iter().find(|sensor| sensor.from == thermostat.name.text);
            if self.said.laid > 0 && own.is_none() {
                continue;
            }
            let written = self.sensor_edits(thermostat, own.copied(), laid, strips);
            if written.is_empty() {
                lacking = true;
                continue;
            }
            versions = versions
                .iter()
                .flat_map(|edits| written.iter().map(move |one| edits.iter().chain([one]).cloned().collect()))
                .take(CONDUITS)
                .collect();
        }
        let with = |edits: Vec<Edit>| {
            let mut all: Vec<Edit> = Vec::new();
            // What goes in at one place goes in as one.
            for edit in cables.iter().chain(&edits) {
                match all.iter_mut().find(|known| known.place == edit.place) {
                    Some(known) => known.text.push_str(&edit.text),
                    None => all.push(edit.clone()),
                }
            }
            apply(self.text, &all)
        };
        (versions.into_iter().filter_map(with).collect(), lacking)
    }

    /// The statements of a thermostat's sensor, the likeliest first.
    fn sensor_edits(
        &self,
        thermostat: &Thermostat,
        own: Option<&SensorText>,
        laid: &[Laid],
        strips: &[Strip],
    ) -> Vec<Edit> {
        let numbers = self.thermostats.iter().enumerate();
        let mine = numbers.filter(|(_, of)| of.is_some_and(|of| of.name == thermostat.name)).map(|(index, _)| index);
        let pitch = mine.clone().filter_map(|index| laid.get(index)).map(|one| one.layout.pitch).fold(0.0, f64::max);
        let own_runs: Vec<Piece> =
            mine.filter_map(|index| laid.get(index)).flat_map(|one| Piece::of_line(&one.layout.line)).collect();
        let tails: Vec<Vec<Point>> = laid
            .iter()
            .flat_map(|one| [&one.tail, &one.second])
            .flatten()
            .map(|(junction, way)| {
                std::iter::once(self.room.junctions[*junction].at).chain(way.iter().copied()).collect()
            })
            .collect();
        let height = thermostat.height.unwrap_or(0.0);
        let most = self.lead.map_or(FAR, |lead| lead - self.limits.sensor_allowance - height);
        let (depth, give) = self.limits.sensor_depth;
        let wanted = Wanted { from: thermostat.at, depth, give, most, pitch, beside: self.limits.beside_conduit };
        let walls: Vec<Piece> = edges(&self.room.corners).collect();
        let layouts: Vec<Layout> = laid.iter().map(|one| one.layout.clone()).collect();
        let runs = self.runs(&layouts);
        let floor = conduit::Laid { own: &own_runs, runs: &runs, tails: &tails, walls: &walls };
        let ways = strips.iter().map(|strip| conduits(strip, floor, wanted, CONDUITS));
        let ways = ways.into_iter().find(|ways| !ways.is_empty()).unwrap_or_default();
        let to_edit = |conduit: conduit::Conduit| {
            let points = write::points(&conduit.points);
            match own {
                Some(own) => {
                    let lead = if own.lead.is_empty() { String::new() } else { format!(" {}", own.lead) };
                    edit(own.span, format!("sensor {} from {} {points}{lead}", own.name, own.from))
                }
                None => {
                    let name = free_name(&self.said.names, &["s", "sensor", "probe"]);
                    let at = Span::new(self.said.end..self.said.end);
                    edit(at, format!("\n{}sensor {name} from {} {points}", self.indent(), thermostat.name.text))
                }
            }
        };
        ways.into_iter().map(to_edit).collect()
    }

    /// What the statements of the room are indented by.
    fn indent(&self) -> &str {
        match self.said.end {
            0 => "  ",
            end => indent(self.text, end),
        }
    }

    pub(super) fn cable_text(&self, unlaid: &Unlaid, one: &Laid) -> String {
        let range = unlaid.span.range();
        let block = &self.text[range.clone()];
        let (pad, added) = match block.is_empty() {
            true => (self.indent(), true),
            false => (indent(self.text, range.start), false),
        };
        let wide = if one.second.is_some() { 13 } else { 7 };
        let mut lines: Vec<String> = match added {
            true => unlaid.kit.iter().map(|kit| format!("kit {kit}")).collect(),
            false => kept_lines(block),
        };
        let named = |index: usize| &self.room.junctions[index].name.text;
        let led = |(index, way): &(usize, Vec<Point>)| {
            format!("{} {}{}", named(*index), write::points(way), self.sleeves(*index, way))
        };
        lines.extend(one.tail.as_ref().map(|tail| format!("tail {}", led(tail))));
        lines.extend(write::path(&one.layout.line));
        lines.extend(one.second.as_ref().map(|tail| format!("second-tail {}", led(tail))));
        let mut text = if added { format!("\n{pad}") } else { String::new() };
        text.push_str(&format!("cable {} {{\n", unlaid.name));
        for line in lines {
            let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((&line, ""));
            match line.starts_with('#') {
                true => text.push_str(&format!("{pad}  {line}\n")),
                false => text.push_str(&format!("{pad}  {word:<wide$}{}\n", rest.trim_start())),
            }
        }
        text.push_str(&format!("{pad}}}"));
        text
    }

    /// The sleeves in which a tail crosses joints, as they are written behind its points.
    fn sleeves(&self, junction: usize, way: &[Point]) -> String {
        let whole: Vec<Point> = std::iter::once(self.room.junctions[junction].at).chain(way.iter().copied()).collect();
        let joints = self.room.lines.iter().filter(|line| line.kind == LineKind::Joint);
        let crossed = joints.filter(|joint| {
            Piece::of_line(&joint.points)
                .any(|piece| Piece::of_line(&whole).any(|own| own.approach(piece).distance <= TOUCH))
        });
        let names: Vec<&str> = crossed.map(|joint| joint.name.text.as_str()).collect();
        if names.is_empty() { String::new() } else { format!(" sleeve {}", names.join(", ")) }
    }

    pub(super) fn told(&self, laid: &[Laid]) -> Vec<String> {
        let told = |(unlaid, one): (&Unlaid, &Laid)| {
            format!("cable `{}`: {} mm from run to run", unlaid.name, write::number(one.layout.pitch))
        };
        self.unlaid.iter().zip(laid).map(told).collect()
    }
}

/// Up to so far from its middle cable is led round a place that is drilled, mm.
const MOST_SPOT: f64 = 120.0;

/// How much more than its clearance may be left beside something slim, mm, and the least floor that is worth a run, mm2.
const MOST_LEFT: f64 = 70.0;
const LEAST_FLOOR: f64 = 20_000.0;

/// How much of what a rule lets spacings differ by, and of what it lets a cable be left over, is made use of.
const EVEN_SHARE: f64 = 0.64;
const OVER_SHARE: f64 = 0.8;
/// How much more than the rule's straight cable lies at its ends, mm.
const SPARE: f64 = 10.0;

/// A kit that lies too close for its floor anyhow is told of by the rule; its rows are spread as others are.
const MOST_DENSE: f64 = 0.9;

/// How much floor may be cold in all by the grid, in crumbs that are passed over: it lies in several places.
const CRUMBS: f64 = 4.0;

/// Farther than any lead reaches, mm.
const FAR: f64 = 1e6;
