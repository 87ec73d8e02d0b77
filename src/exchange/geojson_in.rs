//! What a GeoJSON file (RFC 7946) draws, in mm: rooms, doors and what stands in rooms, as plane coordinates.
//!
//! The standard has degrees of longitude and latitude; maps of buildings are as often drawn in metres from a corner of theirs. These are
//! read; degrees are told of.

use geojson::{Feature, GeoJson, Geometry, GeometryValue, JsonObject, Position};

use super::sorts::{Sort, sort};
use super::{Form, Item, Label, MOST_CORNERS, MOST_THINGS, Traced, Unit, Unreadable};
use crate::geometry::Point;
use crate::source::one_line;
use crate::text::counted;

/// The properties that say what a thing is, in the order in which they are asked.
const SORTS: [&str; 8] = ["kind", "category", "class", "type", "feature_type", "layer", "indoor", "room"];
/// The properties that say what it is called.
const NAMES: [&str; 5] = ["name", "title", "label", "ref", "number"];

/// What a file draws. Its unit is the metre unless another is given.
///
/// # Errors
/// Where it can't be read, or draws more than is looked at.
pub fn trace(bytes: &[u8], given: Option<Unit>) -> Result<Traced, Unreadable> {
    if bytes.len() > LARGEST {
        let what = format!("it is larger than {} MiB, the most that is read of GeoJSON", LARGEST / 1024 / 1024);
        return Err(Unreadable::new(what, "export the storey that is wanted by itself"));
    }
    let text = std::str::from_utf8(bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes))
        .map_err(|_| Unreadable::new("it is not UTF-8 text, which GeoJSON is", "save it as UTF-8"))?;
    let read: GeoJson = text.parse().map_err(|error: geojson::Error| {
        Unreadable::new(format!("it can't be read as GeoJSON: {error}"), "export it again as GeoJSON (RFC 7946)")
    })?;
    let features = match read {
        GeoJson::FeatureCollection(all) => all.features,
        GeoJson::Feature(one) => vec![one],
        GeoJson::Geometry(geometry) => vec![Feature { geometry: Some(geometry), ..Feature::default() }],
    };
    let unit = given.or_else(|| Unit::of_word("m")).unwrap_or(super::UNITS[0]);
    let mut tracing = Tracing { mm: unit.mm, traced: Traced::default(), corners: 0, holes: 0 };
    let how = if given.is_some() {
        "as the command line has it"
    } else {
        "as GeoJSON is taken to be where no `--unit` is given"
    };
    tracing.traced.remarks.push(format!("Drawn in {}, {how}.", unit.word));
    for feature in &features {
        tracing.feature(feature)?;
    }
    if tracing.holes > 0 {
        let holes = counted(tracing.holes, "hole");
        tracing
            .traced
            .remarks
            .push(format!("Not told: what fills {holes} in outlines; each is taken for something that stands there."));
    }
    Ok(tracing.traced)
}

/// The largest file that is read, bytes: in memory it takes many times as much.
const LARGEST: usize = 16 * 1024 * 1024;

struct Tracing {
    mm: f64,
    traced: Traced,
    corners: usize,
    holes: usize,
}

/// A property as a text, where it is one or a number.
fn told(properties: Option<&JsonObject>, keys: &[&str]) -> Vec<String> {
    let value = |key: &&str| match properties?.get(*key)? {
        geojson::JsonValue::String(text) => Some(text.chars().take(200).collect()),
        geojson::JsonValue::Number(number) => Some(number.to_string()),
        // Maps in several languages: whichever comes first.
        geojson::JsonValue::Object(by_language) => {
            by_language.values().find_map(|text| text.as_str()).map(|text| text.chars().take(200).collect())
        }
        _ => None,
    };
    keys.iter().filter_map(value).map(|text: String| one_line(&text)).collect()
}

impl Tracing {
    fn feature(&mut self, feature: &Feature) -> Result<(), Unreadable> {
        let properties = feature.properties.as_ref();
        let sorts = told(properties, &SORTS);
        let name = told(properties, &NAMES).into_iter().next();
        let known = sorts.iter().map(|word| sort(word)).find(|found| *found != Sort::Unknown);
        let found = known.or_else(|| name.as_deref().map(sort)).unwrap_or(Sort::Unknown);
        let layer = sorts.into_iter().next().unwrap_or_else(|| "no kind".into());
        let like =
            Item { form: Form::Line(Vec::new()), layer, name, sort: found, tag: None, curved: false, height: None };
        // Collections hold collections; they are gone through by a list.
        let mut open: Vec<&Geometry> = feature.geometry.iter().collect();
        while let Some(geometry) = open.pop() {
            match &geometry.value {
                GeometryValue::GeometryCollection { geometries } => open.extend(geometries),
                GeometryValue::Point { coordinates } => self.label(coordinates, &like),
                GeometryValue::MultiPoint { coordinates } => coordinates.iter().for_each(|at| self.label(at, &like)),
                GeometryValue::LineString { coordinates } => self.line(coordinates, &like)?,
                GeometryValue::MultiLineString { coordinates } => {
                    coordinates.iter().try_for_each(|line| self.line(line, &like))?;
                }
                GeometryValue::Polygon { coordinates } => self.polygon(coordinates, &like)?,
                GeometryValue::MultiPolygon { coordinates } => {
                    coordinates.iter().try_for_each(|polygon| self.polygon(polygon, &like))?;
                }
            }
        }
        Ok(())
    }

    fn point(&self, position: &Position) -> Option<Point> {
        match position.as_slice() {
            [x, y, ..] => {
                let point = Point { x: x * self.mm, y: y * self.mm };
                let near = |at: f64| at.is_finite() && at.abs() < 1e12;
                (near(point.x) && near(point.y)).then_some(point)
            }
            _ => None,
        }
    }

    fn label(&mut self, position: &Position, like: &Item) {
        if let (Some(at), Some(name)) = (self.point(position), &like.name)
            && self.traced.labels.len() < MOST_THINGS
        {
            self.traced.labels.push(Label { text: name.clone(), at, height: 0.0 });
        }
    }

    fn push(&mut self, item: Item, corners: usize) -> Result<(), Unreadable> {
        self.corners += corners;
        if self.traced.items.len() >= MOST_THINGS || self.corners > MOST_CORNERS {
            return Err(Unreadable::too_much());
        }
        self.traced.items.push(item);
        Ok(())
    }

    fn line(&mut self, line: &[Position], like: &Item) -> Result<(), Unreadable> {
        let points: Vec<Point> = line.iter().filter_map(|position| self.point(position)).collect();
        if points.len() < 2 {
            return Ok(());
        }
        let count = points.len();
        self.push(Item { form: Form::Line(points), ..like.clone() }, count)
    }

    /// The first ring is a polygon's edge, the others are holes in it.
    fn polygon(&mut self, rings: &[Vec<Position>], like: &Item) -> Result<(), Unreadable> {
        for (index, ring) in rings.iter().enumerate() {
            let mut points: Vec<Point> = ring.iter().filter_map(|position| self.point(position)).collect();
            // A ring's last position is its first again.
            if points.len() > 1 && points.first() == points.last() {
                points.pop();
            }
            if points.len() < 3 {
                continue;
            }
            let count = points.len();
            let mut item = Item { form: Form::Ring(points), ..like.clone() };
            if index > 0 {
                self.holes += 1;
                item.name = Some("hole".into());
                item.layer = format!("a hole in {}", like.layer);
                item.sort = Sort::Fixture(None);
            }
            self.push(item, count)?;
        }
        Ok(())
    }
}
