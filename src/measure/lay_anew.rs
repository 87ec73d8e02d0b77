//! How the loops of a cable could be laid otherwise, so that its whole kit lies on the floor that is there: how many, how long, how far apart,
//! and how long the last run.

use super::length;
use super::room::{Kept, RoomMeasure};
use super::zones::Zone;
use crate::geometry::Piece;
use crate::model::{AreaKind, Point, Run};
use crate::source;

/// How far loops are spread at the most, mm: farther than any room in which one cable lies.
const FARTHEST: f64 = 50_000.0;

/// The most loops that are tried.
const MOST_LOOPS: usize = 2_000;

/// The loops that are to be laid otherwise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// The cable, an index into the room's.
    pub cable: usize,
    /// The first of its runs that the loops lay. All from there to its end are laid anew.
    pub first: usize,
    /// Which way the first of them goes; one mm.
    pub along: Point,
    /// Which way they are stepped; one mm.
    pub stepping: Point,
    /// How long each is now, mm.
    pub length: f64,
    /// From the first of them to the last, mm.
    pub extent: f64,
}

/// Loops laid otherwise. All lengths are whole millimetres.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// How many loops.
    pub loops: usize,
    /// How long each is, mm.
    pub length: f64,
    /// From one to the next, and from the last of them to the last run, mm.
    pub pitch: f64,
    /// How long a last run after them is, mm; none where they end with a loop.
    pub last: Option<f64>,
    /// The runs that they lay, mm.
    pub runs: Vec<Piece>,
}

impl RoomMeasure<'_> {
    /// How a kit of `kit` mm, bent to `bend_radius` (mm) at the least, could be laid in some place: as wide and deep as the loops lie now, then
    /// as far as the floor goes from there, `clear` mm from walls, fixtures and other runs. Each is laid anew with as many loops as take
    /// the kit, evenly spaced, and the rest of it as a last run.
    pub fn layouts(&self, place: Place, kit: f64, bend_radius: f64, clear: f64) -> Vec<Layout> {
        let (length, extent) = (place.length.floor(), place.extent.floor());
        let mut floors = vec![(length, extent)];
        // What is left beside the loops: first as wide as they are, then as deep.
        if self.is_clear(place, length, extent, clear) {
            let deeper = self.most(|extent| self.is_clear(place, length, extent, clear), extent);
            let longer = self.most(|length| self.is_clear(place, length, extent, clear), length);
            let both = self.most(|length| self.is_clear(place, length, deeper, clear), length);
            floors.extend([(length, deeper), (longer, extent), (both, deeper)]);
        }
        let mut layouts: Vec<Layout> = Vec::new();
        for (length, extent) in floors {
            for layout in self.filled(place, length, extent, kit, bend_radius) {
                if !layouts.contains(&layout) {
                    layouts.push(layout);
                }
            }
        }
        layouts
    }

    /// The most, from what is known to do and by whole millimetres, that still does.
    fn most(&self, does: impl Fn(f64) -> bool, known: f64) -> f64 {
        let (mut low, mut high) = (known, FARTHEST);
        while high - low > 1.0 {
            let middle = f64::midpoint(low, high).floor();
            if does(middle) { low = middle } else { high = middle }
        }
        low
    }

    /// Whether a piece of floor keeps clear of walls, of what stands on the floor, and of runs that stay.
    fn is_clear(&self, place: Place, length: f64, extent: f64, clear: f64) -> bool {
        let Some(origin) = self.origin(place) else { return false };
        let (along, across) = (place.along * length, place.stepping * extent);
        let corners = [origin, origin + along, origin + along + across, origin + across];
        let sides = [0, 1, 2, 3].map(|side| Piece::new(corners[side], corners[(side + 1) % 4]));
        let middle = (corners[0] + corners[2]) / 2.0;
        let bounds = Piece::new(corners[0], corners[2]).bounds();
        // A piece lies inside or nearer than wanted.
        let hit = |piece: Piece| {
            let inside = bounds.widened(0.0).meets(&Piece::at(piece.start).bounds());
            inside || sides.iter().any(|side| side.approach(piece).distance < clear - super::TOUCH)
        };
        if !self.outline().contains(middle) || self.outline().edges().any(hit) {
            return false;
        }
        let standing = self.room.areas.iter().zip(self.zones());
        for (area, zone) in standing {
            if matches!(area.kind, AreaKind::Fixture { raised: Some(_), .. } | AreaKind::Drill) {
                continue;
            }
            let blocks = match zone {
                Zone::Ring(ring) => ring.contains(middle) || ring.edges().any(hit),
                Zone::Circle(centre, radius) => {
                    hit(Piece::at(*centre)) || sides.iter().any(|side| side.distance(*centre) < radius + clear)
                }
            };
            if blocks {
                return false;
            }
        }
        let own = |id: super::index::RunId| id.in_room() == place.cable && id.in_cable() + 1 >= place.first;
        let index = self.index();
        !index.near(bounds, clear).any(|id| !own(id) && hit(index.run(id).piece()))
    }

    /// Where the loops start.
    fn origin(&self, place: Place) -> Option<Point> {
        self.room.cables.get(place.cable)?.runs.get(place.first).map(|run| run.start)
    }

    /// A kit laid on a piece of floor: in loops alone where they need be but little longer or shorter, a quarter or half of their spacing; and with
    /// a last run. Nothing where it is too short for two runs, or where they would lie less than 1 mm apart.
    fn filled(&self, place: Place, length: f64, extent: f64, kit: f64, bend_radius: f64) -> Vec<Layout> {
        let runs = self.room.cables.get(place.cable).and_then(|cable| cable.runs.get(..place.first));
        let Some(before) = runs else { return Vec::new() };
        let laid = |rows: usize, length: f64, pitch: f64, last: f64| {
            let runs = self.runs(place, before, rows, length, pitch, last);
            length::laid_length(&runs, bend_radius)
        };
        let pitch = |rows: usize| (extent / (rows.max(2) - 1) as f64).floor();
        let drawn = length::drawn_length(before);
        let mut rows = (((kit - drawn) / (length + 1.0)) as usize).clamp(2, MOST_LOOPS);
        while rows > 2 && laid(rows - 1, length, pitch(rows - 1), length) >= kit {
            rows -= 1;
        }
        while rows < MOST_LOOPS && laid(rows, length, pitch(rows), length) < kit {
            rows += 1;
        }
        if pitch(rows) < 1.0 || laid(rows, length, pitch(rows), length) < kit || rows < 3 {
            return Vec::new();
        }
        let layout = |rows: usize, length: f64, pitch: f64, last: f64| {
            let whole = last == length;
            let runs = self.runs(place, before, rows, length, pitch, last);
            Layout {
                loops: if whole { rows } else { rows - 1 },
                length,
                pitch,
                last: (!whole).then_some(last),
                runs: runs[place.first..].iter().map(Run::piece).collect(),
            }
        };
        let mut layouts = Vec::new();
        for rows in [rows - 1, rows] {
            let missing = kit - laid(rows, length, pitch(rows), length);
            let each = (length + missing / rows as f64).round();
            if each > length - pitch(rows) / 2.0 && each <= length + pitch(rows) / 4.0 {
                layouts.push(layout(rows, each, pitch(rows), each));
            }
        }
        let pitch = pitch(rows);
        let over = laid(rows, length, pitch, length) - kit;
        // A last run as short as a turn is none: the others then give it some of theirs.
        let lacking = (pitch - (length - over)).max(0.0);
        let length = length - (lacking / (rows - 1) as f64).ceil();
        let over = laid(rows, length, pitch, length) - kit;
        let last = (length - over).round();
        if last >= 1.0 && last <= length {
            layouts.push(layout(rows, length, pitch, last));
        }
        layouts
    }

    /// The runs of the cable, those before the loops as they are.
    fn runs(&self, place: Place, before: &[Run], rows: usize, length: f64, pitch: f64, last: f64) -> Vec<Run> {
        let origin = self.origin(place).unwrap_or_default();
        let mut runs = before.to_vec();
        let mut here = origin;
        let mut to = |end: Point| {
            let before = length::drawn_length(&runs);
            runs.push(Run { start: here, end, before, place: place_of(&runs) });
            here = end;
        };
        for row in 0..rows {
            let foot = origin + place.stepping * (pitch * row as f64);
            let (from, end) = (foot, foot + place.along * length);
            let (from, end) = if row % 2 == 0 { (from, end) } else { (end, from) };
            if row > 0 {
                to(from);
            }
            let share = if row + 1 == rows { last / length } else { 1.0 };
            to(from + (end - from) * share);
        }
        runs
    }

    /// The sensors (indices) that would no longer lie as they should with loops laid otherwise, each with the conduit that it then needs, as
    /// deep in the heated floor as now; nothing where there is none.
    pub fn sensors_with(&self, changes: &[(Place, Layout)]) -> Option<Vec<(usize, Vec<Point>)>> {
        let mut room = self.room.clone();
        for (place, layout) in changes {
            let cable = room.cables.get_mut(place.cable)?;
            cable.runs.truncate(place.first);
            for piece in &layout.runs {
                let before = length::drawn_length(&cable.runs);
                cable.runs.push(Run { start: piece.start, end: piece.end, before, place: place_of(&cable.runs) });
            }
        }
        let kept = Kept::new(&room);
        let then = RoomMeasure::new(self.plan, &room, &kept);
        let mut moved = Vec::new();
        for sensor in 0..room.sensors.len() {
            let off = |of: &RoomMeasure<'_>| of.neighbours(sensor).off_centre().unwrap_or(f64::INFINITY);
            let crossed = |of: &RoomMeasure<'_>| of.conduit_crossed(sensor).len();
            let depth = self.sensor_depth(sensor)?;
            let as_deep = then.sensor_depth(sensor).is_some_and(|then| (then - depth).abs() <= 1.0);
            if off(&then) <= off(self) + super::TOUCH && crossed(&then) <= crossed(self) && as_deep {
                continue;
            }
            moved.push((sensor, then.lead_in(sensor, depth)?));
        }
        Some(moved)
    }
}

/// What stands for the statement of a run that none lays yet.
fn place_of(before: &[Run]) -> source::Place {
    before.last().map(|run| run.place).unwrap_or_default()
}
